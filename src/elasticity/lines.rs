//! Where lines along one axis run within the body: for what is connected in a cell, and for walls' thickness.

use rayon::prelude::*;

use crate::geometry::vector::{Vector, cross, norm, sub};

/// A crossing of a line and the surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Crossing {
    pub at: f64,
    pub facet: u32,
    /// +1 where the line, going up, enters the body.
    pub enters: i8,
}

/// A bundle of lines along `axis`, at every pair of the two lists of places on the next two axes.
pub struct Lines {
    pub across: [Vec<f64>; 2],
    start: Vec<u32>,
    crossings: Vec<Crossing>,
}

impl Lines {
    /// Follows the lines through a closed surface. The lines' places on the axes `axis + 1` and `axis + 2` must ascend.
    pub fn new(facets: &[[Vector; 3]], axis: usize, across: [Vec<f64>; 2]) -> Self {
        let (u, v) = ((axis + 1) % 3, (axis + 2) % 3);
        let rows = across[0].len();
        let mut by_row = vec![Vec::new(); rows];
        for (f, t) in facets.iter().enumerate() {
            let (low, high) = (t[0][u].min(t[1][u]).min(t[2][u]), t[0][u].max(t[1][u]).max(t[2][u]));
            let from = across[0].partition_point(|&x| x < low);
            let to = across[0].partition_point(|&x| x < high);
            for row in by_row.iter_mut().take(to).skip(from) {
                row.push(f as u32);
            }
        }
        let found: Vec<(Vec<u32>, Vec<Crossing>)> = by_row
            .par_iter()
            .enumerate()
            .with_min_len(8)
            .map(|(i, list)| row(facets, list, across[0][i], &across[1], [u, v, axis]))
            .collect();
        let (mut start, mut crossings) = (vec![0u32], Vec::new());
        for (counts, list) in found {
            for n in counts {
                start.push(start.last().copied().unwrap_or(0) + n);
            }
            crossings.extend(list);
        }
        Self { across, start, crossings }
    }

    /// Returns the crossings of line `(i, j)`, from below.
    pub fn of(&self, i: usize, j: usize) -> &[Crossing] {
        let line = i * self.across[1].len() + j;
        &self.crossings[self.start[line] as usize..self.start[line + 1] as usize]
    }

    /// Calls `found` with each stretch of line `(i, j)` within the body.
    pub fn within(&self, i: usize, j: usize, mut found: impl FnMut(&Crossing, &Crossing)) {
        let list = self.of(i, j);
        let balanced = list.iter().map(|c| i32::from(c.enters)).sum::<i32>() == 0;
        let (mut depth, mut open) = (0i32, None);
        for c in list {
            // Where a facet seen edge-on upset the count of in and out, every other crossing leaves.
            let step = if balanced { i32::from(c.enters) } else { 1 - 2 * (depth & 1) };
            let before = depth;
            depth += step;
            if before <= 0 && depth > 0 {
                open = Some(c);
            } else if before > 0
                && depth <= 0
                && let Some(from) = open.take()
            {
                found(from, c);
            }
        }
    }
}

/// Returns where the upright line at `(x, y)` meets a facet; of two facets that share an edge one alone is met.
pub fn height(t: &[Vector; 3], x: f64, y: f64) -> Option<f64> {
    let [low, high] = slice(t, x, [0, 1, 2])?;
    (low[0] < y && y <= high[0]).then(|| low[1] + (y - low[0]) / (high[0] - low[0]) * (high[1] - low[1]))
}

/// Returns the ends of the cut of a facet with the plane where coordinate `u` is `x`: their `v` and `w`, lower `v` first.
fn slice(t: &[Vector; 3], x: f64, [u, v, w]: [usize; 3]) -> Option<[[f64; 2]; 2]> {
    let below = t.map(|c| c[u] <= x);
    if below[0] == below[1] && below[1] == below[2] {
        return None;
    }
    let mut ends = [[0.0; 2]; 2];
    let mut n = 0;
    for e in 0..3 {
        let next = (e + 1) % 3;
        if below[e] != below[next] && n < 2 {
            let (mut a, mut b) = (t[e], t[next]);
            // Both facets of an edge must see it alike.
            if a > b {
                (a, b) = (b, a);
            }
            let s = (x - a[u]) / (b[u] - a[u]);
            ends[n] = [a[v] + s * (b[v] - a[v]), a[w] + s * (b[w] - a[w])];
            n += 1;
        }
    }
    if ends[0][0] > ends[1][0] {
        ends.swap(0, 1);
    }
    (n == 2).then_some(ends)
}

/// Returns the number of crossings of each line of a row, and the crossings.
fn row(
    facets: &[[Vector; 3]],
    list: &[u32],
    x: f64,
    places: &[f64],
    [u, v, w]: [usize; 3],
) -> (Vec<u32>, Vec<Crossing>) {
    let mut hits: Vec<(u32, Crossing)> = Vec::new();
    for &f in list {
        let t = &facets[f as usize];
        let Some([low, high]) = slice(t, x, [u, v, w]) else { continue };
        let from = places.partition_point(|&y| y <= low[0]);
        let to = places.partition_point(|&y| y <= high[0]);
        let n = cross(sub(t[1], t[0]), sub(t[2], t[0]));
        let enters = if n[w] > 1e-14 * norm(n) { -1 } else { 1 };
        for j in from..to {
            let s = (places[j] - low[0]) / (high[0] - low[0]);
            hits.push((j as u32, Crossing { at: low[1] + s * (high[1] - low[1]), facet: f, enters }));
        }
    }
    hits.sort_by(|a, b| {
        a.0.cmp(&b.0).then(a.1.at.total_cmp(&b.1.at)).then(b.1.enters.cmp(&a.1.enters)).then(a.1.facet.cmp(&b.1.facet))
    });
    let mut counts = vec![0u32; places.len()];
    for h in &hits {
        counts[h.0 as usize] += 1;
    }
    (counts, hits.into_iter().map(|h| h.1).collect())
}

/// Returns the body's thicknesses as `(mm, area in mm²)`, measured along the three axes between opposite faces.
pub fn thicknesses(facets: &[[Vector; 3]], low: Vector, high: Vector, spacing: f64) -> Vec<(f64, f64)> {
    let along = |axis: usize| {
        let mut all = Vec::new();
        let places = |a: usize| {
            let n = (((high[a] - low[a]) / spacing).ceil() as usize).clamp(1, 400);
            let step = (high[a] - low[a]) / n as f64;
            (step, (0..n).map(|i| low[a] + step * (i as f64 + 0.483)).collect::<Vec<_>>())
        };
        let ((du, us), (dv, vs)) = (places((axis + 1) % 3), places((axis + 2) % 3));
        let lines = Lines::new(facets, axis, [us, vs]);
        let slant = |c: &Crossing| {
            let t = &facets[c.facet as usize];
            let n = cross(sub(t[1], t[0]), sub(t[2], t[0]));
            (n[axis].abs() / norm(n).max(1e-300), n)
        };
        for i in 0..lines.across[0].len() {
            for j in 0..lines.across[1].len() {
                lines.within(i, j, |a, b| {
                    let ((sa, na), (sb, nb)) = (slant(a), slant(b));
                    let facing = -(na[0] * nb[0] + na[1] * nb[1] + na[2] * nb[2]) / (norm(na) * norm(nb)).max(1e-300);
                    if sa > 0.57 && sb > 0.57 && facing > 0.8 {
                        all.push(((b.at - a.at) * 0.5 * (sa + sb), du * dv / sa));
                    }
                });
            }
        }
        all
    };
    let mut all: Vec<(f64, f64)> = (0..3).into_par_iter().flat_map_iter(along).collect();
    all.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    all
}
