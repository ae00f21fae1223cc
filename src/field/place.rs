//! What a place of a solved body says besides its stress: the governing direction, and how far the body reaches across it.

use super::surface::SEEN;
use super::{Stress, principal};
use crate::geometry::anchor::Anchor;
use crate::geometry::mesh::Mesh;
use crate::geometry::rays::{Rays, meet};
use crate::geometry::vector::{Vector, add, dot, scale};
use elasticity::direction;

/// How far from a place on the surface a way across the part starts, mm: more than rounding, less than a bead.
const OFF_SURFACE_MM: f64 = 0.01;

/// How far beside a place on an edge its ways across are taken, mm: likewise.
const BESIDE_MM: f64 = 0.05;

/// Returns how far the part reaches at a place across the direction of the governing stress, along two axes of the file.
pub fn reach_across(rays: &Rays<'_>, at: Vector, stress: &Stress) -> [f64; 2] {
    let (_, way) = governing(stress);
    let along = (0..3).max_by(|&a, &b| way[a].abs().total_cmp(&way[b].abs())).unwrap_or(0);
    [(along + 1) % 3, (along + 2) % 3].map(|axis| {
        let reach = |at: Vector, sign: f64| {
            let mut d = [0.0; 3];
            d[axis] = sign;
            // From within, a facet is met from behind; on the surface the way out meets none or one from before. The way in
            // starts below the facet the place lies on, which would be met from before.
            let from = add(at, scale(d, OFF_SURFACE_MM));
            let hit = rays.hit_where(from, d, f64::INFINITY, |t| dot(rays.normal(t), d).abs() > SEEN);
            hit.filter(|h| dot(rays.normal(h.facet), d) > 0.0).map_or(0.0, |h| h.distance + OFF_SURFACE_MM)
        };
        // A way in the plane of a side that the place lies on is neither in the part nor out of it, and the worst places lie on
        // edges: of four ways beside it those out of the part are short.
        let beside = [(1.0, 1.0), (1.0, -1.0), (-1.0, 1.0), (-1.0, -1.0)];
        let lengths = beside.map(|(a, b)| {
            let mut from = at;
            from[(axis + 1) % 3] += a * BESIDE_MM;
            from[(axis + 2) % 3] += b * BESIDE_MM;
            reach(from, 1.0) + reach(from, -1.0)
        });
        lengths.into_iter().fold(0.0, f64::max)
    })
}

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
