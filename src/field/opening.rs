//! Openings that are not round, as sockets for a key are: their walls, which what is put in turns against.

use super::surface::{Surface, spread};
use crate::geometry::adjacency;
use crate::geometry::anchor::Anchor;
use crate::geometry::mesh::Point;
use crate::geometry::vector::{Vector, add, distance, dot, norm, scale, sub};
use elasticity::Region;

/// Cosine of the angle between a wall's normal and the axis below which the wall runs along it: one with some draft does.
const LENGTHWISE: f64 = 0.1;
/// Walls all about an axis look every way alike; the normals of a single one add up to all of its area.
const ONE_SIDED: f64 = 0.2;
/// Nothing of the part is nearer to the place than the walls, but for this share.
const NEARER: f64 = 0.01;

impl Surface<'_> {
    /// Returns the walls of the opening that a place lies in, in the air: those that face the axis through it; of them, where that
    /// is stated, what lies as far along the axis as `reach_mm`, half to each side.
    pub fn walls_about(&self, p: Point, axis: Vector, reach_mm: Option<f64>) -> Option<Region> {
        let mesh = self.mesh;
        let faces = |t: u32| {
            let (normal, area) = mesh.normal_area(t as usize);
            let out = sub(mesh.centre(t as usize), p);
            let out = sub(out, scale(axis, dot(out, axis)));
            area > 0.0 && dot(normal, axis).abs() < LENGTHWISE && dot(normal, out) < 0.0
        };
        let facing: Vec<u32> = (0..mesh.triangles.len() as u32).filter(|&t| faces(t)).collect();
        let (wall, nearest) = (Anchor::nearest(mesh, Some(&facing), p)?, Anchor::nearest(mesh, None, p)?);
        let far = distance(wall.point, p);
        if far <= 1e-4 * mesh.bounds().diagonal() || distance(nearest.point, p) < (1.0 - NEARER) * far {
            return None;
        }
        let walls = spread(&adjacency::twins(mesh), wall.facet, usize::MAX, faces);
        let areas = walls.iter().map(|&t| mesh.normal_area(t as usize));
        let (sum, all) = areas.fold(([0.0; 3], 0.0), |(sum, all), (n, a)| (add(sum, scale(n, a)), all + a));
        if norm(sum) > ONE_SIDED * all {
            return None;
        }
        let Some(reach) = reach_mm else { return Some(Region::Facets(walls)) };
        let within = walls.iter().filter_map(|&t| {
            let corners = clipped(&mesh.corners(t as usize), p, axis, 0.5 * reach);
            (corners.len() >= 3).then(|| Region::Polygon { corners, normal: mesh.normal_area(t as usize).0 })
        });
        let within: Vec<Region> = within.collect();
        (!within.is_empty()).then_some(Region::Several(within))
    }
}

/// Returns what of a polygon lies no farther along an axis from a place (Sutherland and Hodgman, *Comm. ACM* 17, 1974, from
/// memory).
fn clipped(corners: &[Point], p: Point, axis: Vector, reach: f64) -> Vec<Point> {
    let mut left = corners.to_vec();
    for side in [1.0, -1.0] {
        let inside = |c: Point| reach - side * dot(sub(c, p), axis);
        let mut kept = Vec::new();
        for (i, &from) in left.iter().enumerate() {
            let to = left[(i + 1) % left.len()];
            let (a, b) = (inside(from), inside(to));
            if a >= 0.0 {
                kept.push(from);
            }
            if (a > 0.0 && b < 0.0) || (a < 0.0 && b > 0.0) {
                kept.push(add(from, scale(sub(to, from), a / (a - b))));
            }
        }
        left = kept;
    }
    left
}
