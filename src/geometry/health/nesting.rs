//! Which shell lies in which, and whether each faces as its place demands.
//!
//! A line upward from a point of each shell is followed through the others; what it crosses more often one way than the
//! other lies around it. The crossing test is watertight: a line through an edge or vertex counts for exactly one of
//! the facets there, because both see the same rounded numbers.

use std::collections::BTreeMap;

use super::edges::NONE;
use super::{Shell, is_flat};
use crate::mesh::{Mesh, Point};
use crate::tree::Tree;
use crate::vector::{add, cross, scale, sub};

/// Fills in `contained_in`, `depth`, `inside_out` and `redundant`.
pub fn nest(mesh: &Mesh, tree: &Tree, shell_of: &[u32], shells: &mut [Shell]) {
    let around: Vec<Vec<usize>> = if shells.len() == 1 {
        vec![Vec::new()]
    } else {
        let points = points_on_shells(mesh, shell_of, shells.len());
        (0..shells.len()).map(|s| around(mesh, tree, shell_of, shells, s, points[s])).collect()
    };
    let sign = |s: &Shell| s.volume_mm3.map_or(0, |v| if v < 0.0 { -1 } else { 1 });
    for s in 0..shells.len() {
        let innermost = around[s].iter().copied().min_by(|&a, &b| {
            let size = |i: usize| shells[i].volume_mm3.map_or(f64::INFINITY, f64::abs);
            size(a).total_cmp(&size(b)).then(a.cmp(&b))
        });
        let winding: i32 = around[s].iter().map(|&o| sign(&shells[o])).sum();
        let own = sign(&shells[s]);
        let shell = &mut shells[s];
        shell.contained_in = innermost;
        shell.depth = around[s].len();
        // Right are: facing outward in the open (winding 0), and facing inward within material (winding 1).
        shell.inside_out = (own < 0 && winding <= 0) || (own > 0 && winding < 0);
        shell.redundant = (own > 0 && winding > 0) || (own < 0 && winding > 1);
    }
}

/// Returns the middle of the largest facet of each shell.
fn points_on_shells(mesh: &Mesh, shell_of: &[u32], shells: usize) -> Vec<Option<Point>> {
    let mut best: Vec<Option<(f64, usize)>> = vec![None; shells];
    for (t, &shell) in shell_of.iter().enumerate() {
        if shell == NONE || is_flat(mesh, t) {
            continue;
        }
        let area = mesh.normal_area(t).1;
        let slot = &mut best[shell as usize];
        if slot.is_none_or(|(a, _)| area > a) {
            *slot = Some((area, t));
        }
    }
    best.into_iter().map(|b| b.map(|(_, t)| mesh.centre(t))).collect()
}

/// Returns the closed shells around a point of shell `s`, ascending.
fn around(mesh: &Mesh, tree: &Tree, shell_of: &[u32], shells: &[Shell], s: usize, point: Option<Point>) -> Vec<usize> {
    let Some(p) = point else { return Vec::new() };
    let mut crossed: BTreeMap<usize, i32> = BTreeMap::new();
    tree.above(mesh, p, |t| {
        let other = shell_of[t as usize] as usize;
        // A facet left out is of no shell.
        if other != s && shell_of[t as usize] != NONE && shells[other].volume_mm3.is_some() {
            let way = crossing(mesh, t, p);
            if way != 0 {
                *crossed.entry(other).or_default() += way;
            }
        }
    });
    crossed.into_iter().filter(|&(_, n)| n != 0).map(|(shell, _)| shell).collect()
}

/// Returns 1 or -1 where the line upward from `p` crosses facet `t` (the sign of its normal's z), else 0.
fn crossing(mesh: &Mesh, t: u32, p: Point) -> i32 {
    let corners = mesh.triangles[t as usize];
    let mut sides = 0;
    for k in 0..3 {
        let (a, b) = (corners[k], corners[(k + 1) % 3]);
        // Always computed from the lower vertex to the higher, so that both facets of an edge get the same number.
        let way = if a < b { 1 } else { -1 };
        let (low, high) = (mesh.vertices[a.min(b) as usize], mesh.vertices[a.max(b) as usize]);
        let left = (high[0] - low[0]) * (p[1] - low[1]) - (high[1] - low[1]) * (p[0] - low[0]) >= 0.0;
        sides += if left { way } else { -way };
    }
    if sides != 3 && sides != -3 {
        return 0;
    }
    let [a, b, c] = mesh.corners(t as usize);
    let n = cross(sub(b, a), sub(c, a));
    if n[2] == 0.0 {
        return 0;
    }
    let centre = scale(add(add(a, b), c), 1.0 / 3.0);
    let height = centre[2] - p[2] - (n[0] * (p[0] - centre[0]) + n[1] * (p[1] - centre[1])) / n[2];
    if height > 0.0 { if n[2] > 0.0 { 1 } else { -1 } } else { 0 }
}
