//! Facets that cross one another.
//!
//! Method: the interval test of T. Möller, "A fast triangle-triangle intersection test", J. Graphics Tools 2(2), 1997,
//! with a tolerance: a crossing must go deeper than what rounding of the file's numbers can feign. Coplanar overlap and
//! plain contact are no crossings. Facets that share an edge are not compared.

use std::collections::BTreeSet;

use rayon::prelude::*;

use super::tree::{LEAF, Tree};
use crate::geometry::mesh::{Mesh, Point};
use crate::geometry::vector::{Vector, cross, dot, normalise, sub};

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

/// Leaves handled between two looks at the budget; fixed, so that giving up does not depend on the threads.
const BATCH: usize = 8192;
/// Leaves one leaf is compared with at most.
const MOST_NEIGHBOURS: usize = 4096;
/// Pairs of shells remembered.
const MOST_SHELL_PAIRS: usize = 1000;

#[derive(Default)]
struct Found {
    compared: usize,
    pairs: Vec<(u32, u32)>,
    cut: bool,
}

/// Searches the mesh for crossing facets; `tolerance` in mm. Cost is about linear, and bounded, in the facets.
pub fn search(mesh: &Mesh, tree: &Tree, shell_of: &[u32], tolerance: f64) -> Crossings {
    let mut all = Crossings::default();
    let budget = 400 * tree.facets.len() + 50_000_000;
    let mut compared = 0;
    for start in (0..tree.leaves()).step_by(BATCH) {
        let leaves = start..(start + BATCH).min(tree.leaves());
        let found: Vec<Found> =
            leaves.into_par_iter().with_min_len(64).map(|leaf| leaf_crossings(mesh, tree, leaf, tolerance)).collect();
        for f in found {
            compared += f.compared;
            all.given_up |= f.cut;
            all.take(&f.pairs, shell_of);
        }
        if compared > budget {
            all.given_up = true;
            break;
        }
    }
    all
}

impl Crossings {
    fn take(&mut self, pairs: &[(u32, u32)], shell_of: &[u32]) {
        self.pairs += pairs.len();
        for &pair in pairs {
            if self.first.is_none_or(|f| pair < f) {
                self.first = Some(pair);
            }
            let (a, b) = (shell_of[pair.0 as usize], shell_of[pair.1 as usize]);
            if a != b && self.shells.len() < MOST_SHELL_PAIRS {
                self.shells.insert((a.min(b), a.max(b)));
            }
        }
    }
}

/// A facet made ready for comparing.
#[derive(Clone, Copy)]
struct Ready {
    number: u32,
    vertices: [u32; 3],
    corners: [Point; 3],
}

/// A facet's normal, of any length, and the square of that length.
#[derive(Clone, Copy)]
struct Plane {
    through: Point,
    normal: Vector,
    length2: f64,
}

impl Ready {
    const NONE: Self = Self { number: 0, vertices: [0; 3], corners: [[0.0; 3]; 3] };

    #[inline]
    fn new(mesh: &Mesh, number: u32) -> Self {
        Self { number, vertices: mesh.triangles[number as usize], corners: mesh.corners(number as usize) }
    }

    fn crosses(&self, plane: &Plane, other: &Self, tolerance: f64) -> bool {
        let Some(of_other) = plane.straddled_by(&other.corners, tolerance * tolerance) else { return false };
        if shared_corners(self.vertices, other.vertices) >= 2 {
            return false;
        }
        let plane_of_other = Plane::new(&other.corners);
        let Some(of_self) = plane_of_other.straddled_by(&self.corners, tolerance * tolerance) else { return false };
        let line = normalise(cross(normalise(plane.normal), normalise(plane_of_other.normal)));
        if line == [0.0; 3] {
            return false;
        }
        let along = |corner: Point| dot(line, sub(corner, self.corners[0]));
        let (u, v) = (interval(self.corners.map(along), of_self), interval(other.corners.map(along), of_other));
        let (Some(u), Some(v)) = (u, v) else { return false };
        u[1].min(v[1]) - u[0].max(v[0]) > tolerance
    }
}

impl Plane {
    const NONE: Self = Self { through: [0.0; 3], normal: [0.0; 3], length2: 0.0 };

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

fn leaf_crossings(mesh: &Mesh, tree: &Tree, leaf: usize, tolerance: f64) -> Found {
    let mut found = Found::default();
    let mut neighbours = 0;
    let home = tree.leaf(leaf);
    let mut own = [(Ready::NONE, Plane::NONE); LEAF];
    for (slot, &t) in own.iter_mut().zip(&tree.facets[home.clone()]) {
        let ready = Ready::new(mesh, t);
        *slot = (ready, Plane::new(&ready.corners));
    }
    let home_box = tree.leaf_box(leaf);
    tree.touching_from(leaf, |other| {
        neighbours += 1;
        for j in tree.leaf(other) {
            let box_j = &tree.boxes[j];
            if !box_j.touches(home_box) {
                continue;
            }
            let mut ready: Option<Ready> = None;
            for (i, (own, plane)) in home.clone().zip(&own) {
                if i >= j || !tree.boxes[i].touches(box_j) {
                    continue;
                }
                found.compared += 1;
                let other = ready.get_or_insert_with(|| Ready::new(mesh, tree.facets[j]));
                if own.crosses(plane, other, tolerance) {
                    found.pairs.push((own.number.min(other.number), own.number.max(other.number)));
                }
            }
        }
        found.cut = neighbours >= MOST_NEIGHBOURS;
        !found.cut
    });
    found
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
        let crosses = |second| {
            let mesh = pair(second);
            let (first, second) = (Ready::new(&mesh, 0), Ready::new(&mesh, 1));
            first.crosses(&Plane::new(&first.corners), &second, 1e-6)
        };
        assert!(crosses([[1.0, 1.0, -1.0], [1.0, 1.0, 1.0], [1.5, 0.5, 1.0]]));
        assert!(!crosses([[1.0, 1.0, 0.0], [1.0, 1.0, 1.0], [1.5, 0.5, 1.0]]), "corner rests on the face");
        assert!(!crosses([[5.0, 5.0, -1.0], [5.0, 5.0, 1.0], [6.0, 5.0, 1.0]]), "passes beside");
        assert!(!crosses([[1.0, 1.0, 0.0], [2.0, 1.0, 0.0], [1.0, 2.0, 0.0]]), "coplanar");
        assert!(!crosses([[1.0, 1.0, -1e-7], [1.0, 1.0, 1.0], [1.5, 0.5, 1.0]]), "within the tolerance");
    }
}
