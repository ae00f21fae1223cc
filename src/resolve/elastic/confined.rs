//! How far the part reaches about what is pressed: what lies round a patch holds it up.
//!
//! EN 1992-1-1, 6.7 lets a partially loaded area bear √(A1/A0) times as much, where A1 is the largest area of like shape about
//! the same middle that lies in the body, and the pressure can spread to it at a slope of two to one.

use std::f64::consts::PI;

use super::Case;
use crate::field::{self, HoldKind, Region};
use crate::geometry::mesh::Mesh;
use crate::geometry::vector::{Vector, add, norm, normalise, perpendiculars, scale, sub};

/// No patch is looked at farther out than this many times its radius.
const FARTHEST: f64 = 3.0;
/// Halvings of what is not known of it.
const STEPS: usize = 8;
/// What of a ring about a patch must be there for it to lie in the part.
const WHOLE: f64 = 0.99;
/// How much of a patch's area must face one way for it to be flat.
const FLAT: f64 = 0.999;

/// Returns, for everything that presses in the order of a solution's bearings, how many times as wide the pressure can spread; 1
/// where that is not known.
pub(super) fn widths(case: &Case, mesh: &Mesh, bearings: usize) -> Vec<f64> {
    let mut all: Vec<f64> = Vec::new();
    for hold in &case.holds {
        match &hold.on {
            _ if hold.kind == HoldKind::Mating => all.push(1.0),
            Region::Several(places) => all.extend(places.iter().map(|on| spreads(on, mesh))),
            on => all.push(spreads(on, mesh)),
        }
    }
    // A load that presses on nothing has no bearing: then whose the others are is not known.
    if all.len() + case.loads.len() == bearings {
        all.extend(case.loads.iter().map(|load| load.kind.region().map_or(1.0, |on| spreads(on, mesh))));
    }
    all.resize(bearings, 1.0);
    all
}

/// A flat patch as a circle about it.
struct Patch {
    centre: Vector,
    normal: Vector,
    radius: f64,
    /// A place on it.
    at: Vector,
}

impl Patch {
    fn of(on: &Region, mesh: &Mesh) -> Option<Self> {
        let across = |normal: Vector, mm: f64| scale(perpendiculars(normalise(normal)).0, mm);
        match on {
            Region::Cylinder { .. } | Region::Inner(_) | Region::Several(_) => None,
            Region::Annulus { centre, normal, inner, outer } => {
                let at = add(*centre, across(*normal, 0.5 * (inner + outer)));
                Some(Self { centre: *centre, normal: *normal, radius: *outer, at })
            }
            Region::Disc { centre, normal, radius } => {
                Some(Self { centre: *centre, normal: *normal, radius: *radius, at: *centre })
            }
            _ => {
                let (mut middle, mut vector, mut area) = ([0.0; 3], [0.0; 3], 0.0);
                for (centre, part) in on.spread(mesh) {
                    middle = add(middle, scale(centre, norm(part)));
                    (vector, area) = (add(vector, part), area + norm(part));
                }
                if area <= 0.0 || norm(vector) < FLAT * area {
                    return None;
                }
                let centre = scale(middle, 1.0 / area);
                let radius = on.corners(mesh).iter().map(|c| norm(sub(*c, centre))).fold(0.0, f64::max);
                Some(Self { centre, normal: normalise(vector), radius, at: centre })
            }
        }
    }
}

fn spreads(on: &Region, mesh: &Mesh) -> f64 {
    let Some(Patch { centre, normal, radius, at }) = Patch::of(on, mesh).filter(|p| p.radius > 0.0) else { return 1.0 };
    let is_whole = |times: f64| {
        let outer = times * radius;
        let ring = Region::Annulus { centre, normal, inner: radius, outer };
        ring.area(mesh) >= WHOLE * PI * (outer * outer - radius * radius)
    };
    let (mut known, mut beyond) = (1.0, FARTHEST);
    for _ in 0..STEPS {
        let middle = 0.5 * (known + beyond);
        if is_whole(middle) { known = middle } else { beyond = middle }
    }
    // Two deep for each that it is wider, on both sides together.
    let deep = field::thickness_at(mesh, at).map_or(0.0, |(mm, _)| mm);
    known.min(1.0 + deep / (2.0 * radius))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::field::tests::block;

    /// A head of 10 mm in the middle of a plate 40 mm wide spreads as far as the plate is deep: 2 to 1 (by hand); at 6 mm from
    /// its edge to 6/5, right at the edge not at all.
    #[test]
    fn what_is_pressed_spreads_as_far_as_the_part_reaches() {
        let head = |x: f64| Region::Disc { centre: [x, 20.0, 30.0], normal: [0.0, 0.0, 1.0], radius: 5.0 };
        let thick = block([40.0, 40.0, 30.0]);
        assert!((spreads(&head(20.0), &thick) - FARTHEST).abs() < 0.02);
        assert!((spreads(&head(6.0), &thick) - 1.2).abs() < 0.06);
        assert!(spreads(&head(5.0), &thick) < 1.06);
        let thin = block([40.0, 40.0, 5.0]);
        let on_thin = Region::Disc { centre: [20.0, 20.0, 5.0], normal: [0.0, 0.0, 1.0], radius: 5.0 };
        assert!((spreads(&on_thin, &thin) - 1.5).abs() < 0.02);
        // All of a face has nothing round it.
        let whole = Region::Face { normal: [0.0, 0.0, 1.0], near: [20.0, 20.0, 30.0], within: None };
        assert!(spreads(&whole, &thick) < 1.01);
    }
}
