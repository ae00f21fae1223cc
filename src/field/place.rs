//! What a place of a solved body says besides its stress: the governing direction, and how thick the body is there.

use super::{Stress, principal};
use crate::geometry::anchor::Anchor;
use crate::geometry::mesh::Mesh;
use crate::geometry::rays::meet;
use crate::geometry::vector::{Vector, add, scale};
use elasticity::direction;

/// Returns the principal stress of the greatest size, and its direction.
pub fn governing(s: &Stress) -> (f64, Vector) {
    let [high, _, low] = principal(s);
    let value = if high.abs() >= low.abs() { high } else { low };
    (value, direction(s, value))
}

/// Returns the principal stress that pulls most (or presses least), and its direction.
pub fn most_pulled(s: &Stress) -> (f64, Vector) {
    let [high, ..] = principal(s);
    (high, direction(s, high))
}

/// Less than this part of the body's size is no thickness: the facet itself, met again.
const HAIR: f64 = 1e-4;

/// Returns how thick a body is under the place of its surface nearest to a point, square to it, mm, and the place opposite.
pub fn thickness_at(mesh: &Mesh, at: Vector) -> Option<(f64, Vector)> {
    let on = Anchor::nearest(mesh, None, at)?;
    let inward = scale(mesh.normal_area(on.facet as usize).0, -1.0);
    let hair = HAIR * mesh.bounds().diagonal();
    let from = add(on.point, scale(inward, hair));
    let hits = (0..mesh.triangles.len()).filter_map(|t| meet(mesh.corners(t), from, inward));
    let mm = hair + hits.reduce(f64::min)?;
    Some((mm, add(on.point, scale(inward, mm))))
}
