//! How thick a place that breaks would have to be: the laws of sections, and which of them holds there.

use super::hand::{self, OnSection};
use super::{Spot, World, solved};
use crate::field;
use crate::geometry::vector::{Vector, cross, norm, normalise, scale, sub};
use crate::resolve::elastic::solved as told;

/// The part at a place where it fails, square to its surface there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Thick {
    pub at: Vector,
    /// Into the part.
    pub inward: Vector,
    pub mm: f64,
    pub law: Law,
}

/// How a stress falls where a section is drawn thicker: what bends it with the square of its thickness, what pulls or presses
/// through it with the thickness (handbook: Gere, *Mechanics of Materials*, ch. 5: W = b t²/6, A = b t).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Law {
    /// The share of the stress that comes of bending across the thickness.
    pub bent: f64,
}

impl Law {
    const PULLED: Self = Self { bent: 0.0 };

    /// Returns how many times as thick a section has to be so that this share of the stress is left: `b/t² + (1 - b)/t`.
    pub fn times(self, left: f64) -> f64 {
        let b = self.bent.clamp(0.0, 1.0);
        let a = 1.0 - b;
        // Of the two ways to write the root, the one that stays whole where nothing bends.
        0.5 * (a + (a * a + 4.0 * b * left).sqrt()) / left
    }

    /// Whether most of it is bending.
    pub fn bends(self) -> bool {
        self.bent >= 0.5
    }
}

/// A section reaches as far across as the part is thick there, if it does not differ by more than this share: it is solid there.
const AS_DEEP: f64 = 0.15;

/// Returns how thick the part is at a place that a load strains, and by which law that counts.
pub fn thick(world: &World<'_>, load: usize, spot: &Spot) -> Option<Thick> {
    let known = world.loads.get(load)?.load;
    let key = (known, spot.at.map(f64::to_bits));
    world.load_facts.thickness.of(key, || {
        let (mm, across) = field::thickness_at(&world.part.mesh, spot.at)?;
        let inward = normalise(sub(across, spot.at));
        let solid = |s: &OnSection| s.deep(inward).is_some_and(|deep| (deep / mm - 1.0).abs() < AS_DEEP);
        let section = hand::section_at(world, load, spot).filter(|s| !s.shared);
        let law = match section.as_ref().filter(|s| solid(s)) {
            Some(section) => by_section(section, inward),
            None => by_the_other_side(world, load, spot, mm, across)?,
        };
        let through = Thick { at: spot.at, inward, mm, law };
        let deeper = section.and_then(|s| deeper(&s)).filter(|deeper| deeper.added() < through.added());
        Some(deeper.unwrap_or(through))
    })
}

/// Returns a solid section's depth across what bends it: a bar that bends over its high side is drawn higher, not wider.
fn deeper(s: &OnSection) -> Option<Thick> {
    let way = normalise(cross(s.normal, s.bends));
    let (mm, wide) = (s.deep(way)?, s.deep(cross(s.normal, way))?);
    if s.area_mm2 < FULL * mm * wide {
        return None;
    }
    Some(Thick { at: sub(s.centre, scale(way, 0.5 * mm)), inward: way, mm, law: by_section(s, way) })
}

impl Thick {
    /// Returns what is to be added for a stress to fall to two fifths, by which two ways to draw a place thicker are compared, mm.
    fn added(&self) -> f64 {
        self.mm * (self.law.times(COMPARED_AT) - 1.0)
    }
}

/// The share of the stress that is to be left by which two ways to draw a place thicker are compared.
const COMPARED_AT: f64 = 0.4;
/// A section that fills as much of its box is solid throughout: a disc fills 0.785 of it.
const FULL: f64 = 0.7;

/// Takes the law from a beam's stresses on the section: what bends it about the line in it that is square to the thickness.
fn by_section(s: &OnSection, inward: Vector) -> Law {
    let about = normalise(cross(s.normal, inward));
    let whole = s.beam_mpa();
    Law { bent: if whole > 0.0 { (s.bending_about(about) / whole).min(1.0) } else { 0.0 } }
}

/// Where no section says it (a plate held all round, the flange of a hollow section, a curved arm): by what strains the other side.
/// Through the thickness it goes straight from one to the other, so that half of what lies between them is bending.
fn by_the_other_side(world: &World<'_>, load: usize, spot: &Spot, mm: f64, across: Vector) -> Option<Law> {
    let solved = solved(world, load).ok()?;
    let (value, way) = field::governing(&spot.judged());
    let away = |s: &Spot| norm(sub(s.at, across));
    let nearest = solved.spots.iter().min_by(|a, b| away(a).total_cmp(&away(b))).filter(|s| away(s) < mm);
    let there = nearest.map(|s| told::along(&s.stress, way) / value);
    Some(there.map_or(Law::PULLED, |share| Law { bent: (0.5 * (1.0 - share)).clamp(0.0, 1.0) }))
}

#[cfg(test)]
mod tests {
    use super::*;

    // b/t² + (1 - b)/t by hand.
    #[test]
    fn both_laws_and_what_lies_between_them() {
        let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-9, "{a} {b}");
        near(Law::PULLED.times(0.25), 4.0);
        near(Law { bent: 1.0 }.times(0.25), 2.0);
        // Half of each, three times as thick: 0.5/9 + 0.5/3 = 2/9.
        near(Law { bent: 0.5 }.times(2.0 / 9.0), 3.0);
    }
}
