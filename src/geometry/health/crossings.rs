//! Facets that cross one another.
//!
//! Method: the interval test of T. Möller, "A fast triangle-triangle intersection test", J. Graphics Tools 2(2), 1997,
//! with a tolerance: a crossing must go deeper than what rounding of the file's numbers can feign. Coplanar overlap and
//! plain contact are no crossings. Facets that share an edge are not compared.

use std::collections::BTreeSet;

use rayon::prelude::*;

use super::tree::Tree;
use crate::geometry::mesh::{Mesh, Point};
use crate::geometry::vector::{cross, dot, norm, sub};

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

fn leaf_crossings(mesh: &Mesh, tree: &Tree, leaf: usize, tolerance: f64) -> Found {
    let mut found = Found::default();
    let mut neighbours = 0;
    tree.touching_from(leaf, |other| {
        neighbours += 1;
        for i in tree.leaf(leaf) {
            for j in tree.leaf(other) {
                if (other > leaf || j > i) && tree.boxes[i].touches(&tree.boxes[j]) {
                    found.compared += 1;
                    let (a, b) = (tree.facets[i], tree.facets[j]);
                    if cross_each_other(mesh, a, b, tolerance) {
                        found.pairs.push((a.min(b), a.max(b)));
                    }
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

fn cross_each_other(mesh: &Mesh, a: u32, b: u32, tolerance: f64) -> bool {
    let (ta, tb) = (mesh.triangles[a as usize], mesh.triangles[b as usize]);
    if shared_corners(ta, tb) >= 2 {
        return false;
    }
    let (p, q) = (mesh.corners(a as usize), mesh.corners(b as usize));
    let Some((np, dq)) = straddle(p, q, tolerance) else { return false };
    let Some((nq, dp)) = straddle(q, p, tolerance) else { return false };
    let line = cross(np, nq);
    let length = norm(line);
    if length < 1e-9 {
        return false;
    }
    let along = |corner: Point| dot(line, sub(corner, p[0])) / length;
    let (Some(u), Some(v)) = (interval(p.map(along), dp), interval(q.map(along), dq)) else { return false };
    u[1].min(v[1]) - u[0].max(v[0]) > tolerance
}

/// Returns the unit normal of `plane` and the distances of `other`'s corners from it, if these lie on both sides.
#[inline]
fn straddle(plane: [Point; 3], other: [Point; 3], tolerance: f64) -> Option<(Point, [f64; 3])> {
    let n = cross(sub(plane[1], plane[0]), sub(plane[2], plane[0]));
    let d = other.map(|c| dot(n, sub(c, plane[0])));
    let length2 = dot(n, n);
    let (low, high) = (d[0].min(d[1]).min(d[2]), d[0].max(d[1]).max(d[2]));
    // Compared by squares first, to spare the root: nearly all pairs end here.
    let limit2 = tolerance * tolerance * length2;
    if low >= 0.0 || high <= 0.0 || low * low <= limit2 || high * high <= limit2 {
        return None;
    }
    let length = length2.sqrt();
    Some((n.map(|c| c / length), d.map(|c| c / length)))
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
