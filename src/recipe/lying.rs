//! How the part is laid on the bed, in a plain sentence and in the terms of ISO 17295.

use crate::catalogue::figures;
use crate::geometry::survey::{Flat, PoseFacts};
use crate::recipe::{Lay, Layers};
use crate::resolve::strength;
use crate::resolve::world::World;

/// Sides within this of each other are equally long.
const EQUAL: f64 = 0.01;

/// Says what the part is to lie on.
pub fn lay(world: &World<'_>, pose: usize, facts: &PoseFacts) -> Lay {
    let named = (0..world.spec.faces.len()).find(|&face| world.part.lies_down(face, pose) == Some(true));
    let face = named.and_then(|face| world.spec.faces.get(face)).map(|face| face.name.value.as_str());
    let [on_end, flat_share] =
        [figures::ON_END, figures::LIES_FLAT_SHARE].map(|key| world.knowledge.catalogue.value(key));
    placed(facts, face, &world.part.flat, [on_end, flat_share])
}

fn placed(facts: &PoseFacts, face: Option<&str>, flat: &Flat, [on_end, flat_share]: [f64; 2]) -> Lay {
    let down = facts.pose.up.map(|c| -c);
    let share = if facts.shadow_mm2 > 0.0 { facts.contact_mm2 / facts.shadow_mm2 } else { 0.0 };
    let upright = facts.height_mm > on_end * facts.footprint_mm[0];
    match face {
        Some(face) => Lay::Face { name: face.to_owned(), upright },
        None if !facts.is_footed(flat) => Lay::Edge { down },
        None if upright => Lay::End { down },
        None if share < flat_share => Lay::Part { down },
        None => Lay::Flat { down },
    }
}

/// How the layers lie to the loads: with all of them, or which they are pulled across by.
pub fn layers(world: &World<'_>, pose: usize) -> Layers {
    let of = |i: usize| {
        let found = strength::in_pose(world, i, pose)?;
        // What presses most where it governs parts no layers, whatever pulls a little elsewhere.
        let pulls = found.pulls && found.working.stress.to_mpa() > 0.0;
        Some((world.spec.loads.get(i)?.name.value.as_str(), found.angle.to_degrees(), pulls))
    };
    let angles: Vec<(&str, f64, bool)> = (0..world.spec.loads.len()).filter_map(of).collect();
    let catalogue = world.knowledge.catalogue;
    let [along_deg, across_deg] =
        [figures::LAYERS_ALONG, figures::LAYERS_ACROSS].map(|key| catalogue.value(key).to_deg());
    let across = angles.iter().filter(|(_, angle, pulls)| *pulls && *angle > across_deg);
    let across: Vec<String> = across.map(|(name, ..)| (*name).to_owned()).collect();
    if !across.is_empty() {
        return Layers::Across(across);
    }
    let along = angles.iter().all(|(_, angle, _)| *angle < along_deg);
    match angles.as_slice() {
        [(name, ..)] if along => Layers::AlongOne((*name).to_owned()),
        [_, _, ..] if along => Layers::AlongAll,
        _ => Layers::Nothing,
    }
}

/// Returns the orientation in the notation of ISO 17295 (formerly ISO/ASTM 52921): the machine's axes in the order of the
/// box's sides along them, the longest first. Sides of equal length keep the order X, Y, Z.
///
/// The box is that of the part as it lies; for a part that lies on none of its faces the standard wants the smallest box
/// turned any way, and the notation does not apply: `None`.
pub fn notation(facts: &PoseFacts, flat: &Flat) -> Option<String> {
    if !facts.is_footed(flat) {
        return None;
    }
    let [x, y] = facts.footprint_mm;
    let mut left = vec![('X', x), ('Y', y), ('Z', facts.height_mm)];
    let mut order = String::new();
    while !left.is_empty() {
        let longest = left.iter().map(|s| s.1).fold(0.0, f64::max);
        let next = left.iter().position(|s| s.1 >= (1.0 - EQUAL) * longest)?;
        order.push(left.remove(next).0);
    }
    Some(order)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::pose::Pose;
    use crate::geometry::samples::block;
    use crate::geometry::survey::{PoseOptions, facts_in_pose};

    /// The six orientations of ISO/ASTM 52921:2013, figure A.3 (standard, from memory): a bar lying, on edge, upright.
    #[test]
    fn a_bar_is_named_by_its_sides() {
        let bar = block([80.0, 10.0, 4.0]);
        let flat = Flat::default();
        let of = |up| notation(&facts_in_pose(&bar, &Pose::new(up).unwrap(), &PoseOptions::default()), &flat);
        assert_eq!(of([0.0, 0.0, 1.0]).as_deref(), Some("XYZ"));
        assert_eq!(of([0.0, 1.0, 0.0]).as_deref(), Some("XZY"));
        assert_eq!(of([1.0, 0.0, 0.0]).as_deref(), Some("ZXY"));
        assert_eq!(of([1.0, 1.0, 0.0]), None);
        let cube = block([20.0, 20.0, 20.0]);
        let facts = facts_in_pose(&cube, &Pose::as_placed(), &PoseOptions::default());
        assert_eq!(notation(&facts, &flat).as_deref(), Some("XYZ"));
    }

    #[test]
    fn how_to_lay_it() {
        let bar = block([80.0, 10.0, 4.0]);
        let facts = |up| facts_in_pose(&bar, &Pose::new(up).unwrap(), &PoseOptions::default());
        let of = |up, face| placed(&facts(up), face, &Flat::default(), [1.5, 0.5]);
        assert_eq!(of([0.0, 0.0, 1.0], None), Lay::Flat { down: [-0.0, -0.0, -1.0] });
        assert_eq!(of([0.0, 0.0, 1.0], Some("foot")), Lay::Face { name: "foot".to_owned(), upright: false });
        assert_eq!(of([-1.0, 0.0, 0.0], None), Lay::End { down: [1.0, -0.0, -0.0] });
        assert!(matches!(of([0.0, 1.0, 1.0], None), Lay::Edge { .. }));
    }
}
