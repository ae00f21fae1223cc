//! Joining corners that are the same point.
//!
//! By default only bit-equal positions are joined (minus zero counts as zero): nothing is moved, so nothing is repaired
//! silently. [`weld_within`] joins near points as well and exists to *report* cracks, not to mend them.

pub mod facets;

use std::collections::HashMap;
use std::hash::{BuildHasher, RandomState};

use super::mesh::{Mesh, Point};

/// Numbers points in order of first appearance, equal positions alike.
///
/// An open-addressing table of (hash tag, index) words: most look-ups touch one word and one point. The hash seed is
/// drawn at random so that no file can be made to collide; the numbering does not depend on it.
pub struct Welder {
    /// Tag in the high 32 bits, point index in the low 32; [`FREE`] where empty.
    table: Vec<u64>,
    /// Words of points met lately, by hash: neighbouring facets share points, and this fits the processor's cache.
    lately: Vec<u64>,
    seed: [u64; 2],
    points: Vec<Point>,
}

const FREE: u64 = u64::MAX;
const LATELY: usize = 1 << 13;
const TAG: u64 = 0xffff_ffff_0000_0000;

impl Welder {
    /// Makes a welder; `expected` is a hint for the number of distinct points and must stem from data at hand.
    pub fn new(expected: usize) -> Self {
        let random = RandomState::new();
        let slots = (expected.max(8) * 2).next_power_of_two();
        let lately = vec![FREE; LATELY.min(slots)];
        Self {
            table: vec![FREE; slots],
            lately,
            seed: [random.hash_one(1), random.hash_one(2)],
            points: Vec::with_capacity(expected),
        }
    }

    /// Returns the index of `p`, or `None` once 32-bit indices are used up. `p` must not hold a NaN.
    #[inline]
    pub fn index(&mut self, p: Point) -> Option<u32> {
        // Adding zero turns minus zero into zero.
        let p = [p[0] + 0.0, p[1] + 0.0, p[2] + 0.0];
        let hash = self.hash(p);
        let tag = hash & TAG;
        let late = hash as usize & (self.lately.len() - 1);
        if self.holds(self.lately[late], tag, p) {
            return Some(self.lately[late] as u32);
        }
        let mask = self.table.len() - 1;
        let mut slot = hash as usize & mask;
        loop {
            let word = self.table[slot];
            if word == FREE {
                break;
            }
            if self.holds(word, tag, p) {
                self.lately[late] = word;
                return Some(word as u32);
            }
            slot = (slot + 1) & mask;
        }
        let index = u32::try_from(self.points.len()).ok().filter(|&i| i != u32::MAX)?;
        self.table[slot] = tag | u64::from(index);
        self.lately[late] = tag | u64::from(index);
        self.points.push(p);
        if self.points.len() * 2 > self.table.len() {
            self.grow();
        }
        Some(index)
    }

    #[inline]
    fn holds(&self, word: u64, tag: u64, p: Point) -> bool {
        word & TAG == tag && word != FREE && self.points.get((word & !TAG) as usize) == Some(&p)
    }

    /// Returns the distinct points in order of first appearance.
    pub fn into_points(self) -> Vec<Point> {
        self.points
    }

    #[inline]
    fn hash(&self, p: Point) -> u64 {
        let fold = |a: u64, b: u64| {
            let wide = u128::from(a) * u128::from(b);
            (wide as u64) ^ ((wide >> 64) as u64)
        };
        let first = fold(p[0].to_bits() ^ self.seed[0], p[1].to_bits() ^ self.seed[1]);
        fold(first ^ p[2].to_bits(), 0x9e37_79b9_7f4a_7c15 ^ self.seed[0].rotate_left(32))
    }

    fn grow(&mut self) {
        let slots = self.table.len() * 2;
        let mut table = vec![FREE; slots];
        for (i, &p) in self.points.iter().enumerate() {
            let hash = self.hash(p);
            let mut slot = hash as usize & (slots - 1);
            while table[slot] != FREE {
                slot = (slot + 1) & (slots - 1);
            }
            table[slot] = (hash & TAG) | i as u64;
        }
        self.table = table;
    }
}

/// Returns the mesh with bit-equal vertices joined and unused vertices left out; the triangles keep their order.
pub fn weld_exact(mesh: &Mesh) -> Mesh {
    let mut welder = Welder::new(mesh.vertices.len());
    let mut triangles = Vec::with_capacity(mesh.triangles.len());
    for t in &mesh.triangles {
        // The distinct points cannot outnumber the vertices, which fit u32 already.
        triangles.push(t.map(|v| welder.index(mesh.vertices[v as usize]).unwrap_or(0)));
    }
    Mesh { vertices: welder.into_points(), triangles }
}

/// Returns what [`weld_exact`] does for a mesh that was welded, its vertices in order of appearance, before some of them were
/// moved; only those for which `moved` is true are compared.
pub fn weld_again(mut mesh: Mesh, moved: impl Fn(Point) -> bool) -> Mesh {
    let mut welder = Welder::new(8);
    let mut firsts: Vec<u32> = Vec::new();
    let mut joined: Vec<(u32, u32)> = Vec::new();
    for (v, &p) in mesh.vertices.iter().enumerate().filter(|(_, p)| moved(**p)) {
        let index = welder.index(p).unwrap_or(0) as usize;
        match firsts.get(index) {
            Some(&first) => joined.push((v as u32, first)),
            None => firsts.push(v as u32),
        }
    }
    if joined.is_empty() {
        return mesh;
    }
    let mut number: Vec<u32> = vec![0; mesh.vertices.len()];
    joined.iter().for_each(|&(v, _)| number[v as usize] = u32::MAX);
    for (next, n) in (0..).zip(number.iter_mut().filter(|n| **n == 0)) {
        *n = next;
    }
    let mut v = 0;
    mesh.vertices.retain(|_| {
        v += 1;
        number[v - 1] != u32::MAX
    });
    joined.iter().for_each(|&(v, first)| number[v as usize] = number[first as usize]);
    mesh.triangles.iter_mut().for_each(|t| *t = t.map(|v| number[v as usize]));
    mesh
}

/// Returns, for each vertex, the lowest-numbered vertex it can be joined with at most `tolerance` mm away.
///
/// Greedy in vertex order over a grid, so the result is the same on every run. Only vertices
/// for which `candidate` is true take part; the others keep their own number.
pub fn weld_within(vertices: &[Point], tolerance: f64, candidate: impl Fn(u32) -> bool) -> Vec<u32> {
    // Four times as wide as the distance: in most places one or two cells are all there is to look into.
    let cell = |p: Point| p.map(|c| (c / (4.0 * tolerance)).floor().clamp(-9e15, 9e15) as i64);
    let mut grid: HashMap<[i64; 3], Vec<u32>> = HashMap::new();
    let mut target: Vec<u32> = Vec::with_capacity(vertices.len());
    for (v, &p) in vertices.iter().enumerate() {
        let v = v as u32;
        if !candidate(v) {
            target.push(v);
            continue;
        }
        // A hair wider, for rounding.
        let (low, high) = (cell(p.map(|c| c - 1.01 * tolerance)), cell(p.map(|c| c + 1.01 * tolerance)));
        let home = cell(p);
        let mut best: Option<u32> = None;
        for n in 0..8 {
            let key = [0, 1, 2].map(|k| if n >> k & 1 == 0 { low[k] } else { high[k] });
            if (0..3).any(|k| n >> k & 1 == 1 && low[k] == high[k]) {
                continue;
            }
            // Cells hold representatives only, which lie `tolerance` apart, so a cell never holds more than a few dozen.
            for &other in grid.get(&key).map_or(&[][..], Vec::as_slice) {
                let near = super::vector::distance(vertices[other as usize], p) <= tolerance;
                if near && best.is_none_or(|b| other < b) {
                    best = Some(other);
                }
            }
        }
        if best.is_none() {
            grid.entry(home).or_default().push(v);
        }
        target.push(best.unwrap_or(v));
    }
    target
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn minus_zero_is_zero_and_nothing_else_moves() {
        let mut welder = Welder::new(1);
        assert_eq!(welder.index([0.0, 1.0, 2.0]), Some(0));
        assert_eq!(welder.index([-0.0, 1.0, 2.0]), Some(0));
        assert_eq!(welder.index([0.0, 1.0, 2.0_f64.next_up()]), Some(1));
        assert_eq!(welder.into_points().len(), 2);
    }

    #[test]
    fn numbering_follows_first_appearance_through_growth() {
        let mut welder = Welder::new(0);
        for round in 0..2 {
            for i in 0..10_000_u32 {
                let p = [f64::from(i % 100), f64::from(i / 100), 0.5];
                assert_eq!(welder.index(p), Some(i), "round {round}");
            }
        }
    }

    #[test]
    fn welding_again_is_welding() {
        // A row of points, every seventh of which fell to zero, some onto one another.
        let points =
            (0..400_u32).map(|i| if i % 7 == 0 { [0.0, f64::from(i % 3), 0.0] } else { [f64::from(i), 1.0, 2.0] });
        let triangles: Vec<[u32; 3]> = (0..398).map(|i| [i, i + 1, i + 2]).collect();
        let mesh = Mesh { vertices: points.collect(), triangles };
        let welded = weld_exact(&mesh);
        assert_eq!(welded.vertices.len(), 400 - 58 + 3);
        assert_eq!(weld_again(mesh, |p| p.contains(&0.0)), welded);
        assert_eq!(weld_again(welded.clone(), |p| p.contains(&0.0)), welded);
    }

    #[test]
    fn near_points_join_only_within_the_tolerance() {
        let points = [[0.0; 3], [0.9, 0.0, 0.0], [2.5, 0.0, 0.0], [0.05, 0.0, 0.0]];
        assert_eq!(weld_within(&points, 0.1, |_| true), [0, 1, 2, 0]);
        assert_eq!(weld_within(&points, 1.0, |_| true), [0, 0, 2, 0]);
        assert_eq!(weld_within(&points, 1.0, |v| v != 3), [0, 0, 2, 3]);
    }
}
