//! The coarsest level, solved directly: Cholesky's factors within the envelope (A. George, J. W. Liu, Computer Solution
//! of Large Sparse Positive Definite Systems, 1981, cited from memory).

use std::collections::VecDeque;

use super::element::{DOF, Room};
use super::level::Level;

pub struct Direct {
    /// The new number of each node.
    order: Vec<u32>,
    /// The first column of each row, and where the row starts in `values`.
    first: Vec<u32>,
    start: Vec<usize>,
    values: Vec<f64>,
}

impl Direct {
    pub fn new(level: &Level) -> Self {
        let order = numbering(level);
        let n = 3 * level.nodes();
        let mut first: Vec<u32> = (0..n as u32).collect();
        for nodes in &level.layout.nodes {
            let lowest = nodes.iter().map(|&v| order[v as usize]).min().unwrap_or(0);
            for &v in nodes {
                for c in 0..3 {
                    let row = 3 * order[v as usize] + c;
                    first[row as usize] = first[row as usize].min(3 * lowest);
                }
            }
        }
        let mut start = vec![0];
        for r in 0..n {
            start.push(start[r] + r + 1 - first[r] as usize);
        }
        let mut values = vec![0.0; start[n]];
        let parts: Vec<u32> = (0..level.layout.cells.len() as u32).collect();
        let mut room = Room::new();
        for (p, m) in parts.iter().zip(level.matrices(&parts, &mut room)) {
            let nodes = &level.layout.nodes[*p as usize];
            for i in 0..DOF {
                let r = 3 * order[nodes[i / 3] as usize] as usize + i % 3;
                for j in 0..DOF {
                    let c = 3 * order[nodes[j / 3] as usize] as usize + j % 3;
                    if c <= r {
                        values[start[r] + c - first[r] as usize] += f64::from(m[i * DOF + j]);
                    }
                }
            }
        }
        let mut direct = Self { order, first, start, values };
        direct.factorise();
        direct
    }

    fn factorise(&mut self) {
        let n = self.first.len();
        for i in 0..n {
            let (before, rest) = self.values.split_at_mut(self.start[i]);
            let (fi, row) = (self.first[i] as usize, &mut rest[..i + 1 - self.first[i] as usize]);
            let whole = row[i - fi];
            for j in fi..i {
                let fj = self.first[j] as usize;
                let from = fi.max(fj);
                let other = &before[self.start[j]..self.start[j + 1]];
                let s = row[j - fi] - product(&row[from - fi..j - fi], &other[from - fj..j - fj]);
                row[j - fi] = s * other[j - fj];
            }
            let d = row[i - fi] - product(&row[..i - fi], &row[..i - fi]);
            // The diagonal is kept inverted; a pivot lost to rounding is held up.
            row[i - fi] = 1.0 / d.max(1e-9 * whole).max(f64::MIN_POSITIVE).sqrt();
        }
    }

    pub fn solve(&self, b: &[[f32; 3]], x: &mut [[f32; 3]]) {
        let n = self.first.len();
        let mut v = vec![0.0; n];
        for (node, b) in b.iter().enumerate() {
            for c in 0..3 {
                v[3 * self.order[node] as usize + c] = f64::from(b[c]);
            }
        }
        for i in 0..n {
            let (f, row) = (self.first[i] as usize, &self.values[self.start[i]..self.start[i + 1]]);
            v[i] = (v[i] - product(&row[..i - f], &v[f..i])) * row[i - f];
        }
        for i in (0..n).rev() {
            let (f, row) = (self.first[i] as usize, &self.values[self.start[i]..self.start[i + 1]]);
            v[i] *= row[i - f];
            let own = v[i];
            for (v, r) in v[f..i].iter_mut().zip(row) {
                *v -= r * own;
            }
        }
        for (node, x) in x.iter_mut().enumerate() {
            *x = [0, 1, 2].map(|c| v[3 * self.order[node] as usize + c] as f32);
        }
    }
}

/// Returns the scalar product, in a fixed order that the processor can take four at a time.
fn product(a: &[f64], b: &[f64]) -> f64 {
    let mut s = [0.0; 8];
    let (ca, cb) = (a.chunks_exact(8), b.chunks_exact(8));
    let rest: f64 = ca.remainder().iter().zip(cb.remainder()).map(|(x, y)| x * y).sum();
    for (x, y) in ca.zip(cb) {
        for l in 0..8 {
            s[l] += x[l] * y[l];
        }
    }
    rest + ((s[0] + s[1]) + (s[2] + s[3])) + ((s[4] + s[5]) + (s[6] + s[7]))
}

/// Returns the number of each node when the nodes are taken ring by ring from one end (Cuthill and McKee, reversed).
fn numbering(level: &Level) -> Vec<u32> {
    let n = level.nodes();
    let neighbours = |v: u32| {
        let mut list = Vec::new();
        level.around(v as usize, |p, _| list.extend_from_slice(&level.layout.nodes[p as usize]));
        list.sort_unstable();
        list.dedup();
        list
    };
    let mut order = vec![u32::MAX; n];
    let mut next = n as u32;
    for seed in 0..n as u32 {
        if order[seed as usize] != u32::MAX {
            continue;
        }
        let far = ring_by_ring(seed, n, &neighbours, |v| order[v as usize] == u32::MAX).pop().unwrap_or(seed);
        for v in ring_by_ring(far, n, &neighbours, |v| order[v as usize] == u32::MAX) {
            next -= 1;
            order[v as usize] = next;
        }
    }
    order
}

fn ring_by_ring(seed: u32, n: usize, neighbours: &impl Fn(u32) -> Vec<u32>, free: impl Fn(u32) -> bool) -> Vec<u32> {
    let mut seen = vec![false; n];
    let (mut waiting, mut out) = (VecDeque::from([seed]), Vec::new());
    seen[seed as usize] = true;
    while let Some(v) = waiting.pop_front() {
        out.push(v);
        for w in neighbours(v) {
            if !seen[w as usize] && free(w) {
                seen[w as usize] = true;
                waiting.push_back(w);
            }
        }
    }
    out
}
