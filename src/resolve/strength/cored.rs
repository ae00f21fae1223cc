//! The section of the part through a place that a load strains, and what of it lies inside a skin: how much of it is printed as
//! infill, whatever its shape and however it lies in its file.

use std::sync::Arc;

use crate::field::{self, Stress};
use crate::geometry::section::depths::{Core, Depths};
use crate::geometry::section::slicer::Slicer;
use crate::geometry::vector::{Vector, add, scale};
use crate::resolve::world::World;

use super::hand::by_the_file;

/// A section by a place of it, and the direction it is square to: that of the stress that governs there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Across {
    pub at: Vector,
    pub toward: Vector,
}

/// How far a place may lie off the part, mm: stresses are told on the surface, less than a bead from its facets.
const OFF_MM: f64 = 0.2;

/// How far before and behind a place the part is cut, mm: where it steps, one of the two says more.
const BESIDE_MM: f64 = 0.05;

/// Parts of one that a direction is told to.
const FINE: f64 = 1e9;

/// What is known of a section.
pub type Cored = Depths;

impl Across {
    /// Returns the section square to what governs of a stress, the one that the hand sum is of.
    pub fn of(at: Vector, stress: &Stress) -> Self {
        // Loads eased by one share leave the direction but for rounding.
        Self { at, toward: by_the_file(field::governing(stress).1).map(|c| (c * FINE).round() / FINE) }
    }

    /// Returns the section, once for whoever asks: the one of which most lies deep, where the part steps there. `None` where the
    /// plane meets nothing.
    pub fn section(&self, world: &World<'_>) -> Option<Arc<Cored>> {
        let [[a, b, c], [d, e, f]] = [self.at, self.toward].map(|v| v.map(f64::to_bits));
        world.load_facts.sections.of([a, b, c, d, e, f], || {
            let slicer = Slicer::new(&world.part.mesh);
            let cut = |off: f64| slicer.near(add(self.at, scale(self.toward, off)), self.toward, OFF_MM);
            let both = [BESIDE_MM, -BESIDE_MM].into_iter().filter_map(|off| Depths::of(&cut(off)?));
            both.max_by(|a, b| a.mean_mm().total_cmp(&b.mean_mm())).map(Arc::new)
        })
    }

    /// Returns what of the section lies inside a skin; `None` where no section is known.
    pub fn core(&self, world: &World<'_>, skin_mm: f64) -> Option<Core> {
        self.section(world).map(|section| section.within(skin_mm))
    }
}
