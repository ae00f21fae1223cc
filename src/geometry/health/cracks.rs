//! Open edges that only look open: cracks between points that nearly meet, and T-junctions.
//!
//! Only reported, never closed: the mesh stays as it is. What it tells is how wide the cracks are, and whether the mesh
//! would bound a solid if they were closed.

use std::collections::BTreeMap;

use super::edges::{end, start};
use crate::geometry::mesh::{Mesh, Point};
use crate::geometry::vector::{distance, dot, scale, sub};
use crate::geometry::weld::weld_within;

/// What the open edges turn out to be.
#[derive(Debug, Default)]
pub struct Cracks {
    /// Open edges that close when near points are joined, and the first one's middle.
    pub cracks: Vec<u32>,
    /// Open edges that close when they are split at the points that lie on them.
    pub junctions: Vec<u32>,
    /// Open edges that stay open.
    pub left: Vec<u32>,
    /// The distance within which points had to be joined or taken to lie on an edge, mm.
    pub tolerance_mm: f64,
    /// Whether there were too many open edges to look.
    pub given_up: bool,
}

/// The widest gap that counts as a crack rather than an opening, mm.
const WIDEST: f64 = 0.05;
/// Distances tried, mm.
const TRIED: [f64; 15] = [1e-6, 2e-6, 5e-6, 1e-5, 2e-5, 5e-5, 1e-4, 2e-4, 5e-4, 1e-3, 2e-3, 5e-3, 1e-2, 2e-2, WIDEST];
/// More open edges than this are not looked at.
const MOST_EDGES: usize = 100_000;
/// Comparisons of edges with points at most.
const MOST_COMPARISONS: usize = 100_000_000;

/// Sorts the open edges into cracks, T-junctions and true openings.
pub fn sort_out(mesh: &Mesh, open: &[u32]) -> Cracks {
    if open.is_empty() || open.len() > MOST_EDGES {
        return Cracks { left: open.to_vec(), given_up: open.len() > MOST_EDGES, ..Cracks::default() };
    }
    let widest = widest_sensible(mesh, open);
    let border = Border::new(mesh, open);
    let unclosed = |tolerance: f64| border.close(tolerance).iter().filter(|c| **c == Closing::Open).count();
    let least = unclosed(widest);
    // The narrowest distance that closes as much as the widest one does; found by halving, as wider closes more.
    let first = TRIED.partition_point(|&t| t < widest && unclosed(t) > least);
    let tolerance = TRIED.get(first).copied().unwrap_or(widest).min(widest);
    let mut cracks = Cracks { tolerance_mm: tolerance, ..Cracks::default() };
    for (&half, closing) in open.iter().zip(border.close(tolerance)) {
        match closing {
            Closing::Open => cracks.left.push(half),
            Closing::Joined => cracks.cracks.push(half),
            Closing::Split => cracks.junctions.push(half),
        }
    }
    cracks
}

/// Joining points further apart than a quarter of the shorter edges would close what is meant to be open.
fn widest_sensible(mesh: &Mesh, open: &[u32]) -> f64 {
    let mut lengths: Vec<f64> = open
        .iter()
        .map(|&h| distance(mesh.vertices[start(mesh, h) as usize], mesh.vertices[end(mesh, h) as usize]))
        .filter(|&l| l > 0.0)
        .collect();
    lengths.sort_unstable_by(f64::total_cmp);
    let short = lengths.get(lengths.len() / 10).copied().unwrap_or(0.0);
    WIDEST.min(0.25 * short).max(1e-9)
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Closing {
    Open,
    Joined,
    Split,
}

/// The open edges and their points, numbered on their own.
struct Border {
    points: Vec<Point>,
    edges: Vec<[u32; 2]>,
}

impl Border {
    fn new(mesh: &Mesh, open: &[u32]) -> Self {
        let mut used: Vec<u32> = open.iter().flat_map(|&h| [start(mesh, h), end(mesh, h)]).collect();
        used.sort_unstable();
        used.dedup();
        let number = |v: u32| used.partition_point(|&u| u < v) as u32;
        let edges = open.iter().map(|&h| [number(start(mesh, h)), number(end(mesh, h))]).collect();
        Self { points: used.iter().map(|&v| mesh.vertices[v as usize]).collect(), edges }
    }

    /// Joins points within the tolerance, splits edges at points on them, and matches what runs both ways.
    fn close(&self, tolerance: f64) -> Vec<Closing> {
        let joined = weld_within(&self.points, tolerance, |_| true);
        let edges: Vec<[u32; 2]> = self.edges.iter().map(|e| e.map(|v| joined[v as usize])).collect();
        let pieces = self.split(&edges, tolerance);
        // How often each piece is passed, one way less the other, by its two ends.
        let mut balance: BTreeMap<(u32, u32), i32> = BTreeMap::new();
        for piece in &pieces {
            for w in piece.windows(2).filter(|w| w[0] != w[1]) {
                *balance.entry((w[0].min(w[1]), w[0].max(w[1]))).or_default() += if w[0] < w[1] { 1 } else { -1 };
            }
        }
        let closes = |piece: &Vec<u32>| {
            piece.windows(2).all(|w| balance.get(&(w[0].min(w[1]), w[0].max(w[1]))).is_none_or(|&b| b == 0))
        };
        let straight: Vec<bool> = pieces.iter().map(|p| p.len() == 2).collect();
        let mut result: Vec<Closing> = pieces
            .iter()
            .zip(&straight)
            .map(|(piece, &whole)| match (closes(piece), whole) {
                (false, _) => Closing::Open,
                (true, true) => Closing::Joined,
                (true, false) => Closing::Split,
            })
            .collect();
        // The short edges that lie along a split one belong to the same T-junction.
        let along_split: std::collections::BTreeSet<(u32, u32)> = pieces
            .iter()
            .zip(&result)
            .filter(|(_, c)| **c == Closing::Split)
            .flat_map(|(p, _)| p.windows(2).map(|w| (w[0].min(w[1]), w[0].max(w[1]))))
            .collect();
        for (piece, closing) in pieces.iter().zip(&mut result) {
            let key = (piece[0].min(piece[piece.len() - 1]), piece[0].max(piece[piece.len() - 1]));
            if *closing == Closing::Joined && along_split.contains(&key) {
                *closing = Closing::Split;
            }
        }
        result
    }

    /// Returns each edge as the row of points it passes, its ends included.
    fn split(&self, edges: &[[u32; 2]], tolerance: f64) -> Vec<Vec<u32>> {
        let at = |v: u32| self.points[v as usize];
        let axis = self.longest_axis();
        let mut order: Vec<u32> = edges.iter().flatten().copied().collect();
        order.sort_unstable_by(|&a, &b| at(a)[axis].total_cmp(&at(b)[axis]).then(a.cmp(&b)));
        order.dedup();
        let mut comparisons = 0;
        edges
            .iter()
            .map(|&[a, b]| {
                let (low, high) = (at(a)[axis].min(at(b)[axis]), at(a)[axis].max(at(b)[axis]));
                let from = order.partition_point(|&v| at(v)[axis] < low - tolerance);
                let until = order.partition_point(|&v| at(v)[axis] <= high + tolerance);
                comparisons += until - from;
                let mut on: Vec<(f64, u32)> = Vec::new();
                if comparisons < MOST_COMPARISONS {
                    let candidates = order[from..until].iter().filter(|&&v| v != a && v != b);
                    on.extend(candidates.filter_map(|&v| Some((place_on(at(a), at(b), at(v), tolerance)?, v))));
                    on.sort_unstable_by(|p, q| p.0.total_cmp(&q.0).then(p.1.cmp(&q.1)));
                }
                std::iter::once(a).chain(on.into_iter().map(|(_, v)| v)).chain([b]).collect()
            })
            .collect()
    }

    fn longest_axis(&self) -> usize {
        let size = crate::geometry::bounds::Bounds::of(self.points.iter().copied()).size();
        (0..3).max_by(|&i, &j| size[i].total_cmp(&size[j])).unwrap_or(0)
    }
}

/// Returns how far along the edge (0 to 1) a point lies, if it lies on it, away from the ends.
fn place_on(a: Point, b: Point, p: Point, tolerance: f64) -> Option<f64> {
    let edge = sub(b, a);
    let length2 = dot(edge, edge);
    let t = dot(sub(p, a), edge) / length2;
    let margin = tolerance / length2.sqrt();
    let inside = t > margin && t < 1.0 - margin;
    (inside && distance(sub(p, a), scale(edge, t)) <= tolerance).then_some(t)
}
