//! Places on the surface of a part, and the way from one to another through its body.

use super::mesh::{Mesh, Point};
use super::rays::meet;
use super::vector::{Vector, add, distance, dot, norm, scale, sub};

mod geodesic;

pub use geodesic::along_surface;

/// A place on the surface: a point of a facet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Anchor {
    /// Where, mm.
    pub point: Point,
    /// The facet's number in the mesh.
    pub facet: u32,
}

impl Anchor {
    /// Returns the place on the surface, or on some facets of it, nearest to a point; of several the lowest facet's.
    pub fn nearest(mesh: &Mesh, facets: Option<&[u32]>, to: Point) -> Option<Self> {
        let mut best: Option<(f64, Self)> = None;
        let mut look = |facet: u32| {
            let [a, b, c] = mesh.corners(facet as usize);
            let point = nearest_on(to, a, b, c);
            let far = distance(point, to);
            if far.is_finite() && best.as_ref().is_none_or(|(least, _)| far < *least) {
                best = Some((far, Self { point, facet }));
            }
        };
        match facets {
            Some(some) => some.iter().filter(|&&t| (t as usize) < mesh.triangles.len()).for_each(|&t| look(t)),
            None => (0..mesh.triangles.len() as u32).for_each(look),
        }
        best.map(|(_, anchor)| anchor)
    }
}

/// Returns where what acts at a point meets the part: on what lies ahead of it; else, where the point is in the air, at the
/// nearest place and at one across from it about as near (a pin between two cheeks bears on both); else at the nearest.
pub fn meeting(mesh: &Mesh, at: Point, ahead: Vector) -> Vec<Anchor> {
    let Some(nearest) = Anchor::nearest(mesh, None, at) else { return Vec::new() };
    let (out, far) = (sub(at, nearest.point), distance(at, nearest.point));
    let hair = 1e-4 * mesh.bounds().diagonal();
    if far <= hair || inside(mesh, at) {
        return vec![nearest];
    }
    let reach = scale(ahead, mesh.bounds().diagonal());
    let struck = (0..mesh.triangles.len() as u32)
        .filter_map(|t| Some((meets(mesh.corners(t as usize), at, reach)?, t)))
        .min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    if let Some((share, facet)) = struck {
        return vec![Anchor { point: add(at, scale(reach, share)), facet }];
    }
    // Facets wholly on the other side of the point from the nearest place.
    let across: Vec<u32> = (0..mesh.triangles.len() as u32)
        .filter(|&t| mesh.corners(t as usize).iter().all(|&c| dot(sub(c, at), out) >= 0.5 * far * distance(c, at)))
        .collect();
    let other = Anchor::nearest(mesh, Some(&across), at).filter(|a| distance(a.point, at) <= 1.25 * far);
    std::iter::once(nearest).chain(other).collect()
}

/// Returns whether a point lies within the material: an odd number of facets in a direction that no part is likely to share.
pub fn inside(mesh: &Mesh, at: Point) -> bool {
    let away =
        scale([0.432_1, 0.765_4, 0.476_9], 2.0 * (mesh.bounds().diagonal() + distance(at, mesh.bounds().centre())));
    (0..mesh.triangles.len()).filter(|&t| meets(mesh.corners(t), at, away).is_some()).count() % 2 == 1
}

/// Returns whether the straight line between two places runs within the material all the way: O(n) in facets.
///
/// Both ends are moved a hair inward, so that a line along a face counts and one over a gap between two faces does not.
pub fn within(mesh: &Mesh, ends: [&Anchor; 2]) -> bool {
    let hair = 1e-4 * mesh.bounds().diagonal();
    let inward = |end: &Anchor| add(end.point, scale(mesh.normal_area(end.facet as usize).0, -hair));
    let (from, to) = (inward(ends[0]), inward(ends[1]));
    let way = sub(to, from);
    if norm(way) <= 2.0 * hair {
        return true;
    }
    (0..mesh.triangles.len()).all(|t| meets(mesh.corners(t), from, way).is_none())
}

/// Returns where the line `from + s way`, s from 0 to 1, meets a facet.
fn meets(corners: [Point; 3], from: Point, way: Vector) -> Option<f64> {
    meet(corners, from, way).filter(|s| *s <= 1.0)
}

/// Returns the point of a triangle nearest to `p` (Ericson, *Real-Time Collision Detection*, 2005, ch. 5).
fn nearest_on(p: Point, a: Point, b: Point, c: Point) -> Point {
    let (ab, ac, ap) = (sub(b, a), sub(c, a), sub(p, a));
    let (d1, d2) = (dot(ab, ap), dot(ac, ap));
    if d1 <= 0.0 && d2 <= 0.0 {
        return a;
    }
    let bp = sub(p, b);
    let (d3, d4) = (dot(ab, bp), dot(ac, bp));
    if d3 >= 0.0 && d4 <= d3 {
        return b;
    }
    let vc = d1 * d4 - d3 * d2;
    if vc <= 0.0 && d1 >= 0.0 && d3 <= 0.0 {
        return add(a, scale(ab, d1 / (d1 - d3)));
    }
    let cp = sub(p, c);
    let (d5, d6) = (dot(ab, cp), dot(ac, cp));
    if d6 >= 0.0 && d5 <= d6 {
        return c;
    }
    let vb = d5 * d2 - d1 * d6;
    if vb <= 0.0 && d2 >= 0.0 && d6 <= 0.0 {
        return add(a, scale(ac, d2 / (d2 - d6)));
    }
    let va = d3 * d6 - d5 * d4;
    if va <= 0.0 && d4 - d3 >= 0.0 && d5 - d6 >= 0.0 {
        return add(b, scale(sub(c, b), (d4 - d3) / ((d4 - d3) + (d5 - d6))));
    }
    let sum = va + vb + vc;
    add(a, add(scale(ab, vb / sum), scale(ac, vc / sum)))
}
