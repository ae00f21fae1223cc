//! The parts of the body in each cell, which of them hang together, and the nodes they share.
//!
//! A gap narrower than a cell splits the cell: each connected part of the body within it is a cell of its own, and two
//! cells share nodes only where material passes from one to the other (phantom nodes: Hansbo, Hansbo, Comput. Methods
//! Appl. Mech. Engng 193, 2004, cited from memory). What is connected is told by 64 lines along z in each cell, so gaps
//! and bridges narrower than about an eighth of a cell across are not seen.

use std::collections::BTreeMap;

use rayon::prelude::*;

use super::basis::{Fitting, G, NODES, POINTS, add_child, whole};
use super::cut::Filled;
use super::grid::Grid;
use super::lines::Lines;
use crate::geometry::vector::Vector;

/// Lines a direction in a cell, and where: close to the ends, so that a thin layer at a cell's face is met.
const SIDE: usize = 8;
const PLACE: [f64; SIDE] = [0.015, 0.13, 0.28, 0.43, 0.57, 0.72, 0.87, 0.985];
const SHARE: [f64; SIDE] = [0.0725, 0.1325, 0.15, 0.145, 0.145, 0.15, 0.1325, 0.0725];

/// A stretch of a line within one part of a cell that has several.
#[derive(Debug, Clone, Copy)]
pub struct Stretch {
    pub xy: [f64; 2],
    pub z: [f64; 2],
    pub part: u32,
}

/// The parts of one grid level and their nodes.
pub struct Layout {
    pub grid: Grid,
    /// The cell of each part, in the order of x, y, z.
    pub cells: Vec<[u32; 3]>,
    pub fill: Vec<f64>,
    /// The number of a part's weights in `weights`; `u32::MAX` for a whole cell.
    pub cut: Vec<u32>,
    pub weights: Vec<[f32; POINTS]>,
    /// Pairs of parts joined across a face, lower one first on that axis.
    pub links: [Vec<(u32, u32)>; 3],
    pub nodes: Vec<[u32; NODES]>,
    /// Each node's place on the lattice of half cells.
    pub lattice: Vec<[u32; 3]>,
    columns: Vec<u32>,
    several: BTreeMap<[u32; 3], Vec<Stretch>>,
}

impl Layout {
    /// Returns a level as it is before its parts are put in.
    fn without_parts(grid: Grid, links: [Vec<(u32, u32)>; 3], several: BTreeMap<[u32; 3], Vec<Stretch>>) -> Self {
        Self {
            grid,
            cells: Vec::new(),
            fill: Vec::new(),
            cut: Vec::new(),
            weights: Vec::new(),
            links,
            nodes: Vec::new(),
            lattice: Vec::new(),
            columns: Vec::new(),
            several,
        }
    }

    /// Returns the finest level: the filled cells, split by what the lines tell.
    pub fn finest(grid: Grid, filled: Vec<Filled>, facets: &[[Vector; 3]]) -> Self {
        let places = |a: usize| {
            let axis = &grid.axes[a];
            (0..axis.cells()).flat_map(|i| PLACE.map(|p| axis.lines[i] + p * axis.width(i))).collect::<Vec<_>>()
        };
        let lines = Lines::new(facets, 2, [places(0), places(1)]);
        let [nx, ny, _] = grid.cells();
        let columns = columns_of(&filled.iter().map(|f| f.cell).collect::<Vec<_>>(), nx, ny);
        let pillars: Vec<Pillar> = (0..nx * ny)
            .into_par_iter()
            .with_min_len(8)
            .map(|c| {
                Pillar::new(&grid, &filled[columns[c] as usize..columns[c + 1] as usize], &lines, [c / ny, c % ny])
            })
            .collect();
        let first: Vec<u32> = pillars
            .iter()
            .scan(0, |sum, p| {
                let before = *sum;
                *sum += p.parts.len() as u32;
                Some(before)
            })
            .collect();
        let mut links = [Vec::new(), Vec::new(), Vec::new()];
        for c in 0..nx * ny {
            links[2].extend(pillars[c].up.iter().map(|&(a, b)| (a + first[c], b + first[c])));
        }
        for (axis, step, end) in [(0, ny, nx - 1), (1, 1, ny - 1)] {
            let found: Vec<Vec<(u32, u32)>> = (0..nx * ny)
                .into_par_iter()
                .with_min_len(8)
                .map(|c| {
                    let at = if axis == 0 { c / ny } else { c % ny };
                    if at == end {
                        return Vec::new();
                    }
                    let joined = pillars[c].beside(&pillars[c + step], axis);
                    joined.into_iter().map(|(a, b)| (a + first[c], b + first[c + step])).collect()
                })
                .collect();
            links[axis] = found.into_iter().flatten().collect();
        }
        let mut layout = Self::without_parts(grid, links, BTreeMap::new());
        for (pillar, first) in pillars.into_iter().zip(first) {
            for part in pillar.parts {
                layout.push(part.cell, part.fill, part.weights.map(|w| w.map(|x| x as f32)));
            }
            for mut s in pillar.stretches {
                s.part += first;
                let cell = layout.cells[s.part as usize];
                layout.several.entry(cell).or_default().push(s);
            }
        }
        layout.number();
        layout
    }

    /// Returns the next coarser level, and the parent of each part.
    pub fn coarser(&self, keep_flat: bool) -> (Self, Vec<u32>) {
        let (grid, up) = self.grid.coarser(keep_flat);
        let cell_of = |p: usize| [0, 1, 2].map(|a| up[a][self.cells[p][a] as usize]);
        let mut groups = Union::new(self.cells.len());
        for &(a, b) in self.links.iter().flatten() {
            if cell_of(a as usize) == cell_of(b as usize) {
                groups.join(a, b);
            }
        }
        let mut heads: Vec<([u32; 3], u32)> = Vec::new();
        for p in 0..self.cells.len() as u32 {
            if groups.find(p) == p {
                heads.push((cell_of(p as usize), p));
            }
        }
        heads.sort_unstable();
        let mut number = vec![0u32; self.cells.len()];
        for (i, h) in heads.iter().enumerate() {
            number[h.1 as usize] = i as u32;
        }
        let parent: Vec<u32> = (0..self.cells.len() as u32).map(|p| number[groups.find(p) as usize]).collect();
        let mut children = vec![Vec::new(); heads.len()];
        for (p, &h) in parent.iter().enumerate() {
            children[h as usize].push(p as u32);
        }
        let fit = Fitting::new();
        let one = whole();
        let made: Vec<(f64, Option<[f32; POINTS]>)> = heads
            .par_iter()
            .zip(&children)
            .with_min_len(64)
            .map(|(&(cell, _), children)| self.joined(&grid, cell, children, &fit, &one))
            .collect();
        let mut links = [0, 1, 2].map(|a| {
            let across = self.links[a].iter().map(|&(p, q)| (parent[p as usize], parent[q as usize]));
            across.filter(|(p, q)| p != q).collect::<Vec<_>>()
        });
        for l in &mut links {
            l.sort_unstable();
            l.dedup();
        }
        let mut several: BTreeMap<[u32; 3], Vec<Stretch>> = BTreeMap::new();
        for s in self.several.values().flatten() {
            let part = parent[s.part as usize];
            several.entry(heads[part as usize].0).or_default().push(Stretch { part, ..*s });
        }
        let mut layout = Self::without_parts(grid, links, several);
        for ((cell, _), (fill, weights)) in heads.into_iter().zip(made) {
            layout.push(cell, fill, weights);
        }
        layout.number();
        (layout, parent)
    }

    fn joined(
        &self,
        grid: &Grid,
        cell: [u32; 3],
        children: &[u32],
        fit: &Fitting,
        one: &[f64; POINTS],
    ) -> (f64, Option<[f32; POINTS]>) {
        let mut w = [0.0; POINTS];
        for &c in children {
            let of = self.cells[c as usize];
            let ends = |e: u32| [0, 1, 2].map(|a| self.grid.axes[a].lines[(of[a] + e) as usize]);
            let (from, to) = (grid.within(cell, ends(0)), grid.within(cell, ends(1)));
            match self.cut[c as usize] {
                u32::MAX => add_child(fit, &mut w, one, from, to),
                n => add_child(fit, &mut w, &self.weights[n as usize].map(f64::from), from, to),
            }
        }
        let fill = w.iter().sum::<f64>() / 8.0;
        let all_whole = children.iter().all(|&c| self.cut[c as usize] == u32::MAX);
        (fill, (!(all_whole && fill > 1.0 - 1e-7)).then(|| w.map(|x| x as f32)))
    }

    fn push(&mut self, cell: [u32; 3], fill: f64, weights: Option<[f32; POINTS]>) {
        self.cells.push(cell);
        self.fill.push(fill);
        self.cut.push(match weights {
            Some(w) => {
                self.weights.push(w);
                self.weights.len() as u32 - 1
            }
            None => u32::MAX,
        });
    }

    /// Gives nodes to the parts: those on a shared face of linked parts are one.
    fn number(&mut self) {
        let [nx, ny, _] = self.grid.cells();
        self.columns = columns_of(&self.cells, nx, ny);
        let mut same = Union::new(self.cells.len() * NODES);
        for (axis, links) in self.links.iter().enumerate() {
            let step = [9, 3, 1][axis];
            for &(p, q) in links {
                for a in (0..NODES).filter(|a| a / step % 3 == 0) {
                    same.join(p * NODES as u32 + (a + 2 * step) as u32, q * NODES as u32 + a as u32);
                }
            }
        }
        let mut number = vec![u32::MAX; self.cells.len() * NODES];
        self.nodes = Vec::with_capacity(self.cells.len());
        for p in 0..self.cells.len() {
            let mut own = [0u32; NODES];
            for (a, own) in own.iter_mut().enumerate() {
                let root = same.find((p * NODES + a) as u32) as usize;
                if number[root] == u32::MAX {
                    number[root] = self.lattice.len() as u32;
                    let c = self.cells[p];
                    self.lattice.push([
                        2 * c[0] + (a / 9) as u32,
                        2 * c[1] + (a / 3 % 3) as u32,
                        2 * c[2] + (a % 3) as u32,
                    ]);
                }
                *own = number[root];
            }
            self.nodes.push(own);
        }
    }

    /// Returns the parts of a cell, as a range; empty where there is no material.
    pub fn parts_of(&self, cell: [usize; 3]) -> std::ops::Range<usize> {
        let column = cell[0] * self.grid.axes[1].cells() + cell[1];
        let (from, to) = (self.columns[column] as usize, self.columns[column + 1] as usize);
        let list = &self.cells[from..to];
        let k = cell[2] as u32;
        from + list.partition_point(|c| c[2] < k)..from + list.partition_point(|c| c[2] <= k)
    }

    /// Returns the part of the body in `cell` that `p` lies in or nearest to.
    pub fn part_at(&self, cell: [usize; 3], p: Vector) -> Option<usize> {
        let range = self.parts_of(cell);
        if range.len() < 2 {
            return range.into_iter().next();
        }
        let stretches = self.several.get(&cell.map(|c| c as u32))?;
        let off = |s: &Stretch| {
            let dz = (s.z[0] - p[2]).max(p[2] - s.z[1]).max(0.0);
            (s.xy[0] - p[0]).powi(2) + (s.xy[1] - p[1]).powi(2) + dz * dz
        };
        stretches.iter().min_by(|a, b| off(a).total_cmp(&off(b)).then(a.part.cmp(&b.part))).map(|s| s.part as usize)
    }

    /// Returns the coordinates of a node.
    pub fn place(&self, node: usize) -> Vector {
        [0, 1, 2].map(|a| self.place_along(a, self.lattice[node][a]))
    }

    /// Returns the coordinate of a plane of the lattice of half cells.
    pub fn place_along(&self, axis: usize, half: u32) -> f64 {
        let lines = &self.grid.axes[axis].lines;
        let i = (half / 2) as usize;
        if half.is_multiple_of(2) { lines[i] } else { 0.5 * (lines[i] + lines[i + 1]) }
    }

    /// Returns the number of the connected body each part belongs to, and the number of bodies.
    pub fn bodies(&self) -> (Vec<u32>, usize) {
        let mut groups = Union::new(self.cells.len());
        for &(a, b) in self.links.iter().flatten() {
            groups.join(a, b);
        }
        let mut number = vec![u32::MAX; self.cells.len()];
        let mut count = 0;
        let of = (0..self.cells.len() as u32)
            .map(|p| {
                let root = groups.find(p) as usize;
                if number[root] == u32::MAX {
                    number[root] = count;
                    count += 1;
                }
                number[root]
            })
            .collect();
        (of, count as usize)
    }
}

fn columns_of(cells: &[[u32; 3]], nx: usize, ny: usize) -> Vec<u32> {
    let mut start = vec![0u32; nx * ny + 1];
    for c in cells {
        start[c[0] as usize * ny + c[1] as usize + 1] += 1;
    }
    for c in 0..nx * ny {
        start[c + 1] += start[c];
    }
    start
}

/// Groups of numbers, joined pair by pair; the head of a group is its lowest number.
pub struct Union(Vec<u32>);

impl Union {
    pub fn new(n: usize) -> Self {
        Self((0..n as u32).collect())
    }

    pub fn find(&mut self, mut a: u32) -> u32 {
        while self.0[a as usize] != a {
            let up = self.0[self.0[a as usize] as usize];
            self.0[a as usize] = up;
            a = up;
        }
        a
    }

    pub fn join(&mut self, a: u32, b: u32) {
        let (a, b) = (self.find(a), self.find(b));
        if a != b {
            self.0[a.max(b) as usize] = a.min(b);
        }
    }
}

/// One column of cells: its parts, and where the lines run in them.
struct Pillar {
    parts: Vec<Filled>,
    up: Vec<(u32, u32)>,
    /// The stretches of lines along the four sides, for linking: side, line along it, ends, part.
    rim: Vec<Rim>,
    /// Parts that no line met, with their cell.
    unseen: Vec<(u32, u32)>,
    stretches: Vec<Stretch>,
}

#[derive(Debug, Clone, Copy)]
struct Rim {
    side: u8,
    line: u8,
    layer: u32,
    part: u32,
    z: [f64; 2],
}

/// A stretch of a line within a cell while its part is sought.
#[derive(Debug, Clone, Copy)]
struct Run {
    line: usize,
    z: [f64; 2],
}

impl Pillar {
    fn new(grid: &Grid, filled: &[Filled], lines: &Lines, at: [usize; 2]) -> Self {
        let mut pillar =
            Self { parts: Vec::new(), up: Vec::new(), rim: Vec::new(), unseen: Vec::new(), stretches: Vec::new() };
        if filled.is_empty() {
            return pillar;
        }
        let inside: Vec<Vec<[f64; 2]>> = (0..SIDE * SIDE)
            .map(|l| {
                let mut list = Vec::new();
                lines.within(at[0] * SIDE + l / SIDE, at[1] * SIDE + l % SIDE, |a, b| list.push([a.at, b.at]));
                list
            })
            .collect();
        let z = &grid.axes[2].lines;
        let mut below: Option<(u32, Vec<(Run, u32)>)> = None;
        for f in filled {
            let k = f.cell[2];
            let (low, high) = (z[k as usize], z[k as usize + 1]);
            let runs: Vec<Run> = if f.weights.is_none() {
                (0..SIDE * SIDE).map(|line| Run { line, z: [low, high] }).collect()
            } else {
                runs_in(&inside, low, high)
            };
            let owners = pillar.split(grid, f, &runs, f.weights.is_none());
            let current: Vec<(Run, u32)> = runs.into_iter().zip(owners).collect();
            if let Some((layer, before)) = below.take()
                && layer + 1 == k
            {
                pillar.link_up(&before, &current, low);
            }
            if current.is_empty() {
                pillar.unseen.push((k, pillar.parts.len() as u32 - 1));
            }
            pillar.keep_rim(k, &current);
            below = Some((k, current));
        }
        // A sliver that no line met belongs to what lies above and below it.
        for i in 0..pillar.unseen.len() {
            let (_, p) = pillar.unseen[i];
            for q in [p.wrapping_sub(1), p + 1] {
                if let Some(other) = pillar.parts.get(q as usize)
                    && other.cell[2].abs_diff(pillar.parts[p as usize].cell[2]) == 1
                {
                    pillar.up.push((p.min(q), p.max(q)));
                }
            }
        }
        pillar.up.sort_unstable();
        pillar.up.dedup();
        pillar
    }

    /// Splits a cell into its connected parts and returns the part of each run.
    fn split(&mut self, grid: &Grid, f: &Filled, runs: &[Run], whole: bool) -> Vec<u32> {
        let first = self.parts.len() as u32;
        let mut groups = Union::new(runs.len());
        if !whole {
            join_runs(runs, &mut groups);
        }
        let mut number: BTreeMap<u32, u32> = BTreeMap::new();
        let owners: Vec<u32> = (0..runs.len() as u32)
            .map(|r| {
                let head = if whole { 0 } else { groups.find(r) };
                let next = number.len() as u32;
                first + *number.entry(head).or_insert(next)
            })
            .collect();
        if number.len() < 2 {
            self.parts.push(f.clone());
            return owners;
        }
        let mut shares = vec![[0.0; POINTS]; number.len()];
        let fit = Fitting::new();
        for (run, &owner) in runs.iter().zip(&owners) {
            let xy = [PLACE[run.line / SIDE], PLACE[run.line % SIDE]];
            let low =
                [0, 1].map(|a| grid.axes[a].lines[f.cell[a] as usize] + xy[a] * grid.axes[a].width(f.cell[a] as usize));
            let from = grid.within(f.cell, [low[0], low[1], run.z[0]]);
            let to = grid.within(f.cell, [low[0], low[1], run.z[1]]);
            let (x, y, z0, z1) = (fit.at(from[0]), fit.at(from[1]), fit.until(from[2]), fit.until(to[2]));
            let area = 4.0 * SHARE[run.line / SIDE] * SHARE[run.line % SIDE];
            let w = &mut shares[(owner - first) as usize];
            for q in 0..POINTS {
                w[q] += area * x[q / 25] * y[q / G % G] * (z1[q % G] - z0[q % G]);
            }
            self.stretches.push(Stretch { xy: low, z: run.z, part: owner });
        }
        // The lines' sums are near, the whole cell's exact: scaled to its volume, which keeps each part's sums positive.
        let all: f64 = shares.iter().flatten().sum();
        let factor = if all > 0.0 { 8.0 * f.fill / all } else { 1.0 };
        for w in shares {
            let w = w.map(|w| w * factor);
            let fill = (w.iter().sum::<f64>() / 8.0).max(1e-9);
            self.parts.push(Filled { cell: f.cell, fill, weights: Some(Box::new(w)) });
        }
        owners
    }

    fn link_up(&mut self, below: &[(Run, u32)], above: &[(Run, u32)], plane: f64) {
        let near = 1e-9 * plane.abs().max(1.0);
        for (a, p) in below.iter().filter(|(a, _)| a.z[1] >= plane - near) {
            for (_, q) in above.iter().filter(|(b, _)| b.line == a.line && b.z[0] <= plane + near) {
                self.up.push((*p, *q));
            }
        }
    }

    fn keep_rim(&mut self, layer: u32, runs: &[(Run, u32)]) {
        let last = SIDE - 1;
        for (run, part) in runs {
            let (i, j) = (run.line / SIDE, run.line % SIDE);
            for (side, on, line) in [(0, i == 0, j), (1, i == last, j), (2, j == 0, i), (3, j == last, i)] {
                if on {
                    self.rim.push(Rim { side, line: line as u8, layer, part: *part, z: run.z });
                }
            }
        }
    }

    /// Returns the parts joined across the side towards the next column on `axis`.
    fn beside(&self, next: &Self, axis: usize) -> Vec<(u32, u32)> {
        let (here, there) = ([1, 3][axis], [0, 2][axis]);
        let mut others: Vec<&Rim> = next.rim.iter().filter(|r| r.side == there).collect();
        others.sort_by_key(|r| (r.layer, r.line));
        let mut found = Vec::new();
        for a in self.rim.iter().filter(|r| r.side == here) {
            let from = others.partition_point(|b| (b.layer, b.line) < (a.layer, a.line));
            for b in others[from..].iter().take_while(|b| (b.layer, b.line) == (a.layer, a.line)) {
                if a.z[0].max(b.z[0]) < a.z[1].min(b.z[1]) {
                    found.push((a.part, b.part));
                }
            }
        }
        let mut lone = |from: &Self, to: &Self, turned: bool| {
            for &(layer, p) in &from.unseen {
                if let Some(q) = to.parts.iter().position(|f| f.cell[2] == layer) {
                    found.push(if turned { (q as u32, p) } else { (p, q as u32) });
                }
            }
        };
        lone(self, next, false);
        lone(next, self, true);
        found.sort_unstable();
        found.dedup();
        found
    }
}

/// Returns the stretches of the column's lines within one layer.
fn runs_in(inside: &[Vec<[f64; 2]>], low: f64, high: f64) -> Vec<Run> {
    let mut runs = Vec::new();
    for (line, list) in inside.iter().enumerate() {
        for s in list {
            let z = [s[0].max(low), s[1].min(high)];
            if z[1] - z[0] > 1e-9 * (high - low) {
                runs.push(Run { line, z });
            }
        }
    }
    runs
}

/// Joins runs of neighbouring lines that overlap.
fn join_runs(runs: &[Run], groups: &mut Union) {
    let mut first = [0usize; SIDE * SIDE + 1];
    for r in runs {
        first[r.line + 1] += 1;
    }
    for l in 0..SIDE * SIDE {
        first[l + 1] += first[l];
    }
    for (i, a) in runs.iter().enumerate() {
        let mut meet = |line: usize| {
            for (j, b) in runs.iter().enumerate().take(first[line + 1]).skip(first[line]) {
                if a.z[0].max(b.z[0]) < a.z[1].min(b.z[1]) {
                    groups.join(i as u32, j as u32);
                }
            }
        };
        if a.line % SIDE + 1 < SIDE {
            meet(a.line + 1);
        }
        if a.line / SIDE + 1 < SIDE {
            meet(a.line + SIDE);
        }
    }
}
