//! Open edges that only look open: cracks between points that nearly meet, and T-junctions.
//!
//! Only reported, never closed: the mesh stays as it is. What it tells is how wide the cracks are, and whether the mesh
//! would bound a solid if they were closed.

use rayon::prelude::*;

use super::edges::{end, start};
use crate::mesh::{Mesh, Point};
use crate::tree::{Budget, Tree};
use crate::vector::{add, distance, dot, scale, sub};
use crate::weld::weld_within;

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
    /// Whether too many open edges lie in one another's way to look.
    pub given_up: bool,
}

/// The widest gap that counts as a crack rather than an opening, mm.
const WIDEST: f64 = 0.05;
/// Distances tried, mm.
const TRIED: [f64; 15] = [1e-6, 2e-6, 5e-6, 1e-5, 2e-5, 5e-5, 1e-4, 2e-4, 5e-4, 1e-3, 2e-3, 5e-3, 1e-2, 2e-2, WIDEST];
/// Sorts the open edges into cracks, T-junctions and true openings.
pub fn sort_out(mesh: &Mesh, open: &[u32]) -> Cracks {
    if open.is_empty() {
        return Cracks::default();
    }
    let given_up = || Cracks { left: open.to_vec(), given_up: true, ..Cracks::default() };
    let widest = widest_sensible(mesh, open);
    let border = Border::new(mesh, open);
    let unclosed = |tolerance: f64| {
        border.close(tolerance).map_or(0, |closed| closed.iter().filter(|c| **c == Closing::Open).count())
    };
    let Some(closed) = border.close(widest) else { return given_up() };
    let least = closed.iter().filter(|c| **c == Closing::Open).count();
    // The narrowest distance that closes as much as the widest one does; found by halving, as wider closes more.
    let first = TRIED.partition_point(|&t| t < widest && unclosed(t) > least);
    let tolerance = TRIED.get(first).copied().unwrap_or(widest).min(widest);
    let mut cracks = Cracks { tolerance_mm: tolerance, ..Cracks::default() };
    let Some(closed) = border.close(tolerance) else { return given_up() };
    for (&half, closing) in open.iter().zip(closed) {
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

    /// Joins points within the tolerance, splits edges at points on them, and matches what runs both ways; `None` where that
    /// would cost too much.
    fn close(&self, tolerance: f64) -> Option<Vec<Closing>> {
        let joined = weld_within(&self.points, tolerance, |_| true);
        let edges: Vec<[u32; 2]> = self.edges.iter().map(|e| e.map(|v| joined[v as usize])).collect();
        let pieces = self.split(&edges, tolerance)?;
        let unbalanced = unbalanced(&pieces);
        let closes = |piece: &Vec<u32>| piece.windows(2).all(|w| unbalanced.binary_search(&key(w[0], w[1])).is_err());
        let mut result: Vec<Closing> = pieces
            .iter()
            .map(|piece| match (closes(piece), piece.len() == 2) {
                (false, _) => Closing::Open,
                (true, true) => Closing::Joined,
                (true, false) => Closing::Split,
            })
            .collect();
        // The short edges that lie along a split one belong to the same T-junction.
        let split = pieces.iter().zip(&result).filter(|(_, c)| **c == Closing::Split);
        let mut along: Vec<(u32, u32)> = split.flat_map(|(p, _)| p.windows(2).map(|w| key(w[0], w[1]))).collect();
        along.sort_unstable();
        for (piece, closing) in pieces.iter().zip(&mut result) {
            let whole = key(piece[0], piece[piece.len() - 1]);
            if *closing == Closing::Joined && along.binary_search(&whole).is_ok() {
                *closing = Closing::Split;
            }
        }
        Some(result)
    }

    /// Returns each edge as the row of points it passes, its ends included; `None` where too many lie in one another's way.
    ///
    /// Edges and points are put into one tree, an edge in pieces of the usual length, so that a long one aslant has no
    /// large box.
    fn split(&self, edges: &[[u32; 2]], tolerance: f64) -> Option<Vec<Vec<u32>>> {
        let at = |v: u32| self.points[v as usize];
        let mut points: Vec<u32> = edges.iter().flatten().copied().collect();
        points.sort_unstable();
        points.dedup();
        let (mut near, owners) = self.chopped(edges);
        for &v in &points {
            let reach = [tolerance; 3];
            push(&mut near, sub(at(v), reach), add(at(v), reach));
        }
        let (tree, boxes) = Tree::with_boxes(&near);
        let pieces = owners.len() as u32;
        let compare = |found: &mut Vec<(u32, f64, u32)>, one: u32, other: u32| {
            let (piece, point) = (one.min(other), one.max(other));
            if piece >= pieces || point < pieces {
                return;
            }
            let (owner, v) = (owners[piece as usize], points[(point - pieces) as usize]);
            let [a, b] = edges[owner as usize];
            if v != a
                && v != b
                && let Some(place) = place_on(at(a), at(b), at(v), tolerance)
            {
                found.push((owner, place, v));
            }
        };
        let budget = Budget { all: 200 * near.triangles.len() + 20_000_000 };
        let (found, given_up) = tree.touching_pairs(&boxes, &|_| true, budget, compare);
        if given_up {
            return None;
        }
        let mut on: Vec<(u32, f64, u32)> = found.into_iter().flatten().collect();
        on.par_sort_unstable_by(|p, q| p.0.cmp(&q.0).then(p.1.total_cmp(&q.1)).then(p.2.cmp(&q.2)));
        on.dedup();
        let mut on = on.as_slice();
        let row = |(owner, &[a, b]): (usize, &[u32; 2])| {
            let count = on.iter().take_while(|o| o.0 as usize == owner).count();
            let (own, rest) = on.split_at(count);
            on = rest;
            std::iter::once(a).chain(own.iter().map(|o| o.2)).chain([b]).collect()
        };
        Some(edges.iter().enumerate().map(row).collect())
    }

    /// Returns the edges, long ones in pieces, as facets without area, and whose piece each is.
    fn chopped(&self, edges: &[[u32; 2]]) -> (Mesh, Vec<u32>) {
        let ends = |e: &[u32; 2]| e.map(|v| self.points[v as usize]);
        let length = |e: &[u32; 2]| {
            let [a, b] = ends(e);
            distance(a, b)
        };
        let usual = edges.iter().map(length).sum::<f64>() / edges.len().max(1) as f64;
        let (mut mesh, mut owners) = (Mesh::default(), Vec::new());
        for (i, edge) in edges.iter().enumerate() {
            let [a, b] = ends(edge);
            // Together no more than two for each edge.
            let pieces = ((length(edge) / usual) as usize).clamp(1, 2 * edges.len());
            let place = |k: usize| add(a, scale(sub(b, a), k as f64 / pieces as f64));
            for k in 0..pieces {
                push(&mut mesh, place(k), place(k + 1));
                owners.push(i as u32);
            }
        }
        (mesh, owners)
    }
}

/// Adds a facet without area from one point to another.
fn push(mesh: &mut Mesh, a: Point, b: Point) {
    let v = mesh.vertices.len() as u32;
    mesh.vertices.extend([a, b]);
    mesh.triangles.push([v, v + 1, v + 1]);
}

fn key(a: u32, b: u32) -> (u32, u32) {
    (a.min(b), a.max(b))
}

/// Returns the pieces, by their two ends, that are passed more often one way than the other, in ascending order.
fn unbalanced(rows: &[Vec<u32>]) -> Vec<(u32, u32)> {
    let steps = rows.iter().flat_map(|row| row.windows(2)).filter(|w| w[0] != w[1]);
    let mut passed: Vec<((u32, u32), i32)> =
        steps.map(|w| (key(w[0], w[1]), if w[0] < w[1] { 1 } else { -1 })).collect();
    passed.par_sort_unstable();
    let same = passed.chunk_by(|a, b| a.0 == b.0);
    same.filter(|uses| uses.iter().map(|u| u.1).sum::<i32>() != 0).map(|uses| uses[0].0).collect()
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

#[cfg(test)]
mod tests {
    use super::super::{DefectKind, examine};
    use super::*;

    /// A sheet of squares, each two triangles, cut along every line of one direction; what stands on one side of a cut
    /// has twice as many squares, where `halved`.
    fn strips(side: u32, halved: bool, gap: f64) -> Mesh {
        let mut mesh = Mesh::default();
        for i in 0..side {
            let parts = if halved && i % 2 == 1 { 2 * side } else { side };
            let step = f64::from(side) / f64::from(parts);
            let first = mesh.vertices.len() as u32;
            let y = f64::from(i) + gap * f64::from(i % 3);
            for j in 0..=parts {
                mesh.vertices.extend([[f64::from(j) * step, y, 0.0], [f64::from(j) * step, f64::from(i + 1), 0.0]]);
            }
            for j in 0..parts {
                let [a, b, c, d] = [0, 2, 3, 1].map(|k| first + 2 * j + k);
                mesh.triangles.extend([[a, b, c], [a, c, d]]);
            }
        }
        mesh
    }

    #[test]
    fn very_many_open_edges_are_sorted_out() {
        // 114,000 and 172,000 open edges where that does not take a minute.
        let side: u32 = if cfg!(debug_assertions) { 60 } else { 240 };
        let health = examine(&strips(side, false, 1e-5));
        assert_eq!(health.defect(DefectKind::Crack).map(|d| d.count), Some((2 * side * (side - 1)) as usize));
        assert!(health.not_searched.is_empty(), "{:?}", health.not_searched);
        // Left is the rim.
        assert_eq!(health.defect(DefectKind::OpenEdge).map(|d| d.count), Some(4 * side as usize));
        let health = examine(&strips(side, true, 0.0));
        assert_eq!(health.defect(DefectKind::TJunction).map(|d| d.count), Some((3 * side * (side - 1)) as usize));
        assert!(health.not_searched.is_empty());
    }

    #[test]
    fn one_long_edge_aslant_meets_all_its_points() {
        // A fan from far away against a row of fine triangles along a diagonal.
        let n = 3000;
        let at = |i: u32| [f64::from(i), f64::from(i), 0.0];
        let mut mesh = Mesh { vertices: vec![at(0), at(n), [0.0, 9e3, 0.0], at(0)], triangles: vec![[0, 1, 2]] };
        let first = mesh.vertices.len() as u32 - 1;
        mesh.vertices.extend((1..=n).map(at));
        mesh.vertices.push([9e3, 0.0, 0.0]);
        let tip = mesh.vertices.len() as u32 - 1;
        mesh.triangles.extend((0..n).map(|i| [first + i + 1, first + i, tip]));
        let health = examine(&mesh);
        assert_eq!(health.defect(DefectKind::TJunction).map(|d| d.count), Some(3001), "{:?}", health.defects);
    }
}
