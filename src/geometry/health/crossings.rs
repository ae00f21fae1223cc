//! Facets that cross one another.
//!
//! Method: the interval test of T. Möller, "A fast triangle-triangle intersection test", J. Graphics Tools 2(2), 1997,
//! with a tolerance: a crossing must go deeper than what rounding of the file's numbers can feign. Coplanar overlap and
//! plain contact are no crossings. Facets that share an edge are not compared.

use std::collections::BTreeSet;

use crate::mesh::{Mesh, Point};
use crate::tree::{Boxes, Budget, Tree};
use crate::vector::{Vector, cross, dot, normalise, sub};

/// What was found.
#[derive(Debug, Default)]
pub struct Crossings {
    /// The number of pairs of facets that cross.
    pub pairs: usize,
    /// The lowest-numbered such pair.
    pub first: Option<(u32, u32)>,
    /// Pairs of different shells that cross, lower number first.
    pub shells: BTreeSet<(u32, u32)>,
    /// Whether the search was given up before its end because too many facets lie within one another's boxes.
    pub given_up: bool,
}

/// Pairs of shells remembered.
const MOST_SHELL_PAIRS: usize = 1000;

/// Searches the mesh for crossing facets among those that count; `tolerance` in mm. Cost is about linear, and bounded, in
/// the facets.
pub fn search(
    mesh: &Mesh,
    (tree, boxes): (&Tree, &Boxes),
    counts: &(dyn Fn(usize) -> bool + Sync),
    shell_of: &[u32],
    tolerance: f64,
) -> Crossings {
    let budget = Budget { all: 400 * mesh.triangles.len() + 50_000_000 };
    let compare = |found: &mut Crossings, one: u32, other: u32| {
        let (one, other) = (one.min(other), one.max(other));
        // Neighbours share an edge, and are not compared; on a fine surface they are many of the pairs.
        let corners = (mesh.triangles[one as usize], mesh.triangles[other as usize]);
        if shared_corners(corners.0, corners.1) < 2 && cross_each_other(mesh, one, other, tolerance) {
            found.take((one, other), shell_of);
        }
    };
    let (parts, given_up) = tree.touching_pairs(boxes, counts, budget, compare);
    let mut all = Crossings { given_up, ..Crossings::default() };
    parts.into_iter().for_each(|part| all.add(part));
    all
}

impl Crossings {
    fn take(&mut self, pair: (u32, u32), shell_of: &[u32]) {
        self.pairs += 1;
        if self.first.is_none_or(|f| pair < f) {
            self.first = Some(pair);
        }
        let (a, b) = (shell_of[pair.0 as usize], shell_of[pair.1 as usize]);
        if a != b && self.shells.len() < MOST_SHELL_PAIRS {
            self.shells.insert((a.min(b), a.max(b)));
        }
    }

    fn add(&mut self, part: Self) {
        self.pairs += part.pairs;
        self.first = [self.first, part.first].into_iter().flatten().min();
        let room = MOST_SHELL_PAIRS.saturating_sub(self.shells.len());
        self.shells.extend(part.shells.into_iter().take(room));
    }
}

/// A facet's normal, of any length, and the square of that length.
#[derive(Clone, Copy)]
struct Plane {
    through: Point,
    normal: Vector,
    length2: f64,
}

fn cross_each_other(mesh: &Mesh, one: u32, other: u32, tolerance: f64) -> bool {
    let (one, other) = (mesh.corners(one as usize), mesh.corners(other as usize));
    let plane = Plane::new(&one);
    let Some(of_other) = plane.straddled_by(&other, tolerance * tolerance) else { return false };
    let plane_of_other = Plane::new(&other);
    let Some(of_one) = plane_of_other.straddled_by(&one, tolerance * tolerance) else { return false };
    let line = normalise(cross(normalise(plane.normal), normalise(plane_of_other.normal)));
    if line == [0.0; 3] {
        return false;
    }
    let along = |corner: Point| dot(line, sub(corner, one[0]));
    let (u, v) = (interval(one.map(along), of_one), interval(other.map(along), of_other));
    let (Some(u), Some(v)) = (u, v) else { return false };
    u[1].min(v[1]) - u[0].max(v[0]) > tolerance
}

impl Plane {
    #[inline]
    fn new(corners: &[Point; 3]) -> Self {
        let normal = cross(sub(corners[1], corners[0]), sub(corners[2], corners[0]));
        Self { through: corners[0], normal, length2: dot(normal, normal) }
    }

    /// Returns how far a facet's corners lie from this plane (times the normal's length), if they lie on both sides of
    /// it, farther than the tolerance.
    #[inline]
    fn straddled_by(&self, facet: &[Point; 3], tolerance2: f64) -> Option<[f64; 3]> {
        let d = facet.map(|c| dot(self.normal, sub(c, self.through)));
        let (low, high) = (d[0].min(d[1]).min(d[2]), d[0].max(d[1]).max(d[2]));
        // Compared by squares, to spare the root: nearly all pairs end here.
        let limit2 = tolerance2 * self.length2;
        let apart = low >= 0.0 || high <= 0.0 || low * low <= limit2 || high * high <= limit2;
        (!apart).then_some(d)
    }
}

#[inline]
fn shared_corners(a: [u32; 3], b: [u32; 3]) -> usize {
    a.iter().map(|v| usize::from(*v == b[0]) + usize::from(*v == b[1]) + usize::from(*v == b[2])).sum()
}

/// Returns where a triangle meets the other's plane, as an interval along the common line.
fn interval(along: [f64; 3], distance: [f64; 3]) -> Option<[f64; 2]> {
    let mut range = [f64::INFINITY, f64::NEG_INFINITY];
    for i in 0..3 {
        let j = (i + 1) % 3;
        let (a, b) = (distance[i], distance[j]);
        let meets = (a <= 0.0 && b > 0.0) || (a > 0.0 && b <= 0.0);
        if meets {
            let at = along[i] + (along[j] - along[i]) * (a / (a - b));
            range = [range[0].min(at), range[1].max(at)];
        }
    }
    (range[0] <= range[1]).then_some(range)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pair(second: [Point; 3]) -> Mesh {
        let mut vertices = vec![[0.0, 0.0, 0.0], [4.0, 0.0, 0.0], [0.0, 4.0, 0.0]];
        vertices.extend(second);
        Mesh { vertices, triangles: vec![[0, 1, 2], [3, 4, 5]] }
    }

    #[test]
    fn piercing_crosses_and_touching_does_not() {
        let crosses = |second| cross_each_other(&pair(second), 0, 1, 1e-6);
        assert!(crosses([[1.0, 1.0, -1.0], [1.0, 1.0, 1.0], [1.5, 0.5, 1.0]]));
        assert!(!crosses([[1.0, 1.0, 0.0], [1.0, 1.0, 1.0], [1.5, 0.5, 1.0]]), "corner rests on the face");
        assert!(!crosses([[5.0, 5.0, -1.0], [5.0, 5.0, 1.0], [6.0, 5.0, 1.0]]), "passes beside");
        assert!(!crosses([[1.0, 1.0, 0.0], [2.0, 1.0, 0.0], [1.0, 2.0, 0.0]]), "coplanar");
        assert!(!crosses([[1.0, 1.0, -1e-7], [1.0, 1.0, 1.0], [1.5, 0.5, 1.0]]), "within the tolerance");
    }
}
