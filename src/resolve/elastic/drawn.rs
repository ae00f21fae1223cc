//! The part drawn thicker at a place, and what its loads then do to it.
//!
//! As a person would in the model: all that lies beyond the middle of the wall is moved outward, so that the wall, and whatever
//! else the plane through its middle cuts, grows by as much, and nothing else changes its size.

use std::sync::Arc;

use crate::field::{Hold, JUDGED_CELLS, Load, LoadKind, Region};
use crate::geometry::bounds::Bounds;
use crate::geometry::mesh::{Mesh, Point};
use crate::geometry::vector::{Vector, add, dot, scale, sub};
use crate::resolve::part::Part;

use super::at_once::{Fields, Solving};
use super::{Asked, Case};

/// A wall drawn thicker.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Growth {
    /// A place of its middle plane.
    pub middle: Point,
    /// Square to it, of length one.
    pub way: Vector,
    pub by_mm: f64,
}

/// Cosine of the angle from an axis of the file within which a wall is taken to lie square to it: what runs along the axes then
/// stays flat.
const ABOUT_SQUARE: f64 = 0.94;

/// Grids that a body is looked at on that nobody has drawn yet: it is an offer, and what one grid leaves open counts against it.
const DRAWN_CELLS: [usize; 1] = [JUDGED_CELLS[0]];

impl Growth {
    /// Returns the growth of a wall through a place, into the part, from one thickness to another.
    pub fn of(at: Point, inward: Vector, from_mm: f64, to_mm: f64) -> Self {
        let axis = |k: usize| std::array::from_fn(|i| if i == k { inward[k].signum() } else { 0.0 });
        let way = (0..3).find(|&k| inward[k].abs() > ABOUT_SQUARE).map_or(inward, axis);
        Self { middle: add(at, scale(inward, 0.5 * from_mm)), way, by_mm: to_mm - from_mm }
    }

    fn point(&self, p: Point) -> Point {
        if dot(sub(p, self.middle), self.way) > 0.0 { add(p, scale(self.way, self.by_mm)) } else { p }
    }

    /// Returns the mesh drawn so.
    pub fn mesh(&self, mesh: &Mesh) -> Mesh {
        Mesh { vertices: mesh.vertices.iter().map(|&v| self.point(v)).collect(), triangles: mesh.triangles.clone() }
    }

    fn bounds(&self, b: &Bounds) -> Bounds {
        let [one, other] = [b.min, b.max].map(|c| self.point(c));
        Bounds { min: [0, 1, 2].map(|k| one[k].min(other[k])), max: [0, 1, 2].map(|k| one[k].max(other[k])) }
    }

    fn region(&self, on: &Region) -> Region {
        let mut on = on.clone();
        match &mut on {
            Region::Facets(_) => {}
            Region::Face { near, within, .. } => {
                *near = self.point(*near);
                *within = within.as_ref().map(|b| self.bounds(b));
            }
            Region::Disc { centre, .. } | Region::Annulus { centre, .. } | Region::Cylinder { centre, .. } => {
                *centre = self.point(*centre);
            }
            Region::Polygon { corners, .. } | Region::Bent { corners, .. } => {
                corners.iter_mut().for_each(|c| *c = self.point(*c))
            }
            Region::Inner(bounds) => *bounds = self.bounds(bounds),
            Region::Several(all) => all.iter_mut().for_each(|one| *one = self.region(one)),
        }
        on
    }

    fn load(&self, load: &Load) -> Load {
        let mut load = load.clone();
        match &mut load.kind {
            LoadKind::Force { on, .. } | LoadKind::Pressure { on, .. } | LoadKind::Torque { on, .. } => {
                *on = self.region(on);
            }
            LoadKind::Pin { on, centre, .. } | LoadKind::Mate { on, centre, .. } => {
                (*on, *centre) = (self.region(on), self.point(*centre))
            }
            LoadKind::Body { .. } => {}
        }
        load
    }

    pub(super) fn case(&self, case: Case) -> Case {
        Case {
            holds: case.holds.iter().map(|h| Hold { on: self.region(&h.on), ..h.clone() }).collect(),
            loads: case.loads.iter().map(|l| self.load(l)).collect(),
            off: case.off.iter().map(|on| self.region(on)).collect(),
            cells: &DRAWN_CELLS,
            ..case
        }
    }
}

/// Returns the part drawn so, its loads solved again; what else was measured of it stays as it was.
pub fn part_drawn(asked: Asked<'_>, growth: &Growth) -> Part {
    let mesh = Arc::new(growth.mesh(&asked.part.mesh));
    let mut drawn = asked.part.with_mesh(mesh);
    let Fields { each, at_once } = Solving::drawn(asked, &drawn, growth).all();
    (drawn.fields, drawn.at_once) = (each, at_once);
    drawn
}
