//! What a place of a solved body says besides its stress: the governing direction, and how thick the body is there.

use super::{Options, Stress, principal};
use crate::geometry::anchor::Anchor;
use crate::geometry::mesh::Mesh;
use crate::geometry::rays::meet;
use crate::geometry::vector::{Vector, add, dot, norm, scale, sub};
use elasticity::{direction, sharp_inner_edges};

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

/// The sharp inner corners of a body, about which stresses are not read off.
#[derive(Debug)]
pub struct Corners(Vec<[Vector; 2]>);

/// A place no farther from a corner than so many times what is left out about it is strained by that corner.
const BESIDE: f64 = 2.0;

impl Corners {
    /// Finds them.
    pub fn of(mesh: &Mesh) -> Self {
        Self(sharp_inner_edges(mesh, Options::default().sharp_degrees))
    }

    /// Returns the nearest place of a corner that a place lies beside, if it lies beside one.
    pub fn beside(&self, at: Vector) -> Option<Vector> {
        let reach = BESIDE * Options::default().off_edges_mm;
        let nearest = |[a, b]: &[Vector; 2]| {
            let (along, off) = (sub(*b, *a), sub(at, *a));
            let long = dot(along, along);
            let share = if long > 0.0 { (dot(off, along) / long).clamp(0.0, 1.0) } else { 0.0 };
            add(*a, scale(along, share))
        };
        let all = self.0.iter().map(nearest).map(|p| (norm(sub(at, p)), p));
        all.filter(|(far, _)| *far <= reach).min_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, p)| p)
    }
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
