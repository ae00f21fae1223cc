//! A short way over the surface from one place to another: where the straight line leaves the material, this does not.
//!
//! Dijkstra over the vertices and points set along the longer edges (Lanthier, Maheshwari and Sack, "Approximating
//! shortest paths on weighted polyhedral surfaces", Algorithmica 30, 2001): not the shortest way, but near it.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use super::Anchor;
use crate::mesh::{Mesh, Point};
use crate::vector::{add, distance, scale, sub};

/// Points along an edge as long as the part.
const ALONG: f64 = 40.0;
/// No more points than these are set along edges in all.
const MOST: f64 = 20_000.0;

/// Returns the points of a short way over the surface, both ends included; `None` where the surface is in two.
pub fn along_surface(mesh: &Mesh, from: &Anchor, to: &Anchor) -> Option<Vec<Point>> {
    let net = Net::over(mesh);
    let (start, goal) = (net.points.len(), net.points.len() + 1);
    let place = |n: usize| match n {
        n if n == start => from.point,
        n if n == goal => to.point,
        n => net.points[n],
    };
    let mut least = vec![f64::INFINITY; net.points.len() + 2];
    let mut before = vec![u32::MAX; net.points.len() + 2];
    least[start] = 0.0;
    // Distances are not negative, so their bits are in their order.
    let mut next = BinaryHeap::from([Reverse((0_u64, start as u32))]);
    while let Some(Reverse((bits, n))) = next.pop() {
        let n = n as usize;
        if n == goal {
            break;
        }
        if f64::from_bits(bits) > least[n] {
            continue;
        }
        let here = place(n);
        let facets = if n == start { std::slice::from_ref(&from.facet) } else { net.facets_of(n) };
        for &facet in facets {
            let beyond = (facet == to.facet).then_some(goal as u32);
            for &m in net.of_facet(facet).iter().chain(beyond.as_ref()) {
                let far = least[n] + distance(here, place(m as usize));
                if far < least[m as usize] {
                    least[m as usize] = far;
                    before[m as usize] = n as u32;
                    next.push(Reverse((far.to_bits(), m)));
                }
            }
        }
    }
    let mut way = vec![to.point];
    let mut at = goal;
    while at != start {
        at = usize::try_from(*before.get(at)?).ok()?;
        if at > goal {
            return None;
        }
        way.push(place(at));
    }
    way.reverse();
    Some(way)
}

/// Vertices and points along edges, and which lie on which facet.
struct Net {
    points: Vec<Point>,
    /// Points of facet `t`: those from `first[t]` to `first[t + 1]`.
    on: Vec<u32>,
    first: Vec<u32>,
    /// Facets of point `n`, in the same way.
    around: Vec<u32>,
    start: Vec<u32>,
}

impl Net {
    fn over(mesh: &Mesh) -> Self {
        let spacing = spacing(mesh);
        let mut edges: Vec<(u32, u32)> = mesh.triangles.iter().flat_map(edges_of).collect();
        edges.retain(|e| pieces(mesh, *e, spacing) > 1);
        edges.sort_unstable();
        edges.dedup();
        let mut points = mesh.vertices.clone();
        let mut begins = Vec::with_capacity(edges.len());
        for &(a, b) in &edges {
            begins.push(points.len() as u32);
            let count = pieces(mesh, (a, b), spacing);
            let (p, q) = (mesh.vertices[a as usize], mesh.vertices[b as usize]);
            points.extend((1..count).map(|i| add(p, scale(sub(q, p), i as f64 / count as f64))));
        }
        let (mut on, mut first) = (Vec::new(), vec![0]);
        for triangle in &mesh.triangles {
            on.extend(triangle);
            for edge in edges_of(triangle) {
                if let Ok(i) = edges.binary_search(&edge) {
                    on.extend((0..pieces(mesh, edge, spacing) as u32 - 1).map(|k| begins[i] + k));
                }
            }
            first.push(on.len() as u32);
        }
        let (around, start) = turned(&on, &first, points.len());
        Self { points, on, first, around, start }
    }

    fn of_facet(&self, t: u32) -> &[u32] {
        &self.on[self.first[t as usize] as usize..self.first[t as usize + 1] as usize]
    }

    fn facets_of(&self, n: usize) -> &[u32] {
        &self.around[self.start[n] as usize..self.start[n + 1] as usize]
    }
}

/// Turns "points of each facet" into "facets of each point".
fn turned(on: &[u32], first: &[u32], points: usize) -> (Vec<u32>, Vec<u32>) {
    let mut start = vec![0_u32; points + 1];
    on.iter().for_each(|&n| start[n as usize + 1] += 1);
    for n in 0..points {
        start[n + 1] += start[n];
    }
    let mut filled = start.clone();
    let mut around = vec![0_u32; on.len()];
    for (t, range) in first.windows(2).enumerate() {
        for &n in &on[range[0] as usize..range[1] as usize] {
            around[filled[n as usize] as usize] = t as u32;
            filled[n as usize] += 1;
        }
    }
    (around, start)
}

fn edges_of(&[a, b, c]: &[u32; 3]) -> [(u32, u32); 3] {
    [(a, b), (b, c), (c, a)].map(|(p, q)| (p.min(q), p.max(q)))
}

/// How many pieces an edge is divided into.
fn pieces(mesh: &Mesh, (a, b): (u32, u32), spacing: f64) -> usize {
    let long = distance(mesh.vertices[a as usize], mesh.vertices[b as usize]) / spacing;
    if long.is_finite() { (long.ceil() as usize).clamp(1, 2 * ALONG as usize) } else { 1 }
}

/// How far apart points are set: a share of the part, more where its edges are very long together.
fn spacing(mesh: &Mesh) -> f64 {
    let usual = mesh.bounds().diagonal() / ALONG;
    let length = |&(a, b): &(u32, u32)| distance(mesh.vertices[a as usize], mesh.vertices[b as usize]);
    // Each edge is seen from both its facets.
    let long = mesh.triangles.iter().flat_map(edges_of).map(|e| length(&e)).filter(|l| *l > usual);
    usual.max(long.sum::<f64>() / 2.0 / MOST).max(f64::MIN_POSITIVE)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::samples::block;

    /// Round the edge of a block: unfolded, a straight line (plane geometry).
    #[test]
    fn the_way_round_an_edge_is_the_unfolded_line() {
        let mesh = block([40.0, 30.0, 20.0]);
        let from = Anchor::nearest(&mesh, None, [10.0, 15.0, 20.0]).unwrap();
        let to = Anchor::nearest(&mesh, None, [40.0, 15.0, 12.0]).unwrap();
        let way = along_surface(&mesh, &from, &to).unwrap();
        let length: f64 = way.windows(2).map(|w| distance(w[0], w[1])).sum();
        assert!((38.0..38.0 * 1.02).contains(&length), "{length}");
    }
}
