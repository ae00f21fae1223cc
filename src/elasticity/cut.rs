//! How much of each cell the body fills, exactly: the surface is cut along the grid, and the divergence theorem turns
//! what is in a cell into integrals over the pieces of surface in and above it.

use rayon::prelude::*;

use super::basis::{Fitting, G, POINTS, WEIGHT, whole};
use super::grid::Grid;
use crate::geometry::vector::{Vector, add, cross, norm, scale, sub};

/// A convex polygon of few corners.
#[derive(Debug, Clone, Copy)]
pub struct Polygon {
    pub corners: [Vector; 24],
    pub count: usize,
}

impl Polygon {
    pub fn triangle(t: [Vector; 3]) -> Self {
        let mut corners = [[0.0; 3]; 24];
        corners[..3].copy_from_slice(&t);
        Self { corners, count: 3 }
    }

    /// Keeps the part where `side` (an affine function) is not negative.
    #[inline]
    pub fn keep(&mut self, side: impl Fn(Vector) -> f64, settle: impl Fn(&mut Vector)) {
        let old = *self;
        let mut n = 0;
        for i in 0..old.count {
            let (a, b) = (old.corners[i], old.corners[(i + 1) % old.count]);
            let (da, db) = (side(a), side(b));
            if da >= 0.0 && n < self.corners.len() {
                self.corners[n] = a;
                n += 1;
            }
            if ((da > 0.0 && db < 0.0) || (da < 0.0 && db > 0.0)) && n < self.corners.len() {
                let mut p = add(a, scale(sub(b, a), da / (da - db)));
                settle(&mut p);
                self.corners[n] = p;
                n += 1;
            }
        }
        self.count = if n < 3 { 0 } else { n };
    }

    /// Keeps the part between two grid lines across `axis`.
    pub fn between(&mut self, axis: usize, from: f64, to: f64) {
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for c in &self.corners[..self.count] {
            low = low.min(c[axis]);
            high = high.max(c[axis]);
        }
        if low < from {
            self.keep(|p| p[axis] - from, |p| p[axis] = from);
        }
        if high > to && self.count > 0 {
            self.keep(|p| to - p[axis], |p| p[axis] = to);
        }
    }

    /// Returns the least and the greatest coordinate along an axis.
    pub fn span(&self, axis: usize) -> (f64, f64) {
        let of = self.corners[..self.count].iter().map(|c| c[axis]);
        of.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), x| (a.min(x), b.max(x)))
    }
}

/// Quadrature rules on the triangle with corners (0,0), (1,0), (0,1): Gauss points collapsed to a corner (Stroud,
/// Approximate Calculation of Multiple Integrals); the weights sum to 1/2.
pub struct TriangleRules(Vec<Vec<([f64; 2], f64)>>);

impl TriangleRules {
    pub fn new() -> Self {
        Self((0..=7).map(|n| if n == 0 { Vec::new() } else { collapsed(n) }).collect())
    }

    pub fn of(&self, n: usize) -> &[([f64; 2], f64)] {
        &self.0[n]
    }
}

fn collapsed(n: usize) -> Vec<([f64; 2], f64)> {
    let (x, w) = gauss_legendre(n);
    let mut rule = Vec::new();
    for i in 0..n {
        for j in 0..n {
            rule.push(([x[i], (1.0 - x[i]) * x[j]], w[i] * w[j] * (1.0 - x[i])));
        }
    }
    rule
}

/// Returns the Gauss points and weights of order `n` on 0..1, by Newton's method on the Legendre polynomial.
pub fn gauss_legendre(n: usize) -> (Vec<f64>, Vec<f64>) {
    let (mut xs, mut ws) = (vec![0.0; n], vec![0.0; n]);
    for i in 0..n {
        let mut x = (std::f64::consts::PI * (i as f64 + 0.75) / (n as f64 + 0.5)).cos();
        let mut slope = 1.0;
        for _ in 0..50 {
            let (mut p, mut before) = (1.0, 0.0);
            for d in 0..n {
                let next = ((2 * d + 1) as f64 * x * p - d as f64 * before) / (d + 1) as f64;
                (before, p) = (p, next);
            }
            slope = n as f64 * (x * p - before) / (x * x - 1.0);
            let step = p / slope;
            x -= step;
            if step.abs() < 1e-15 {
                break;
            }
        }
        xs[i] = 0.5 * (1.0 - x);
        ws[i] = 1.0 / ((1.0 - x * x) * slope * slope);
    }
    (xs, ws)
}

/// A cell the body fills wholly (no weights) or in part.
#[derive(Debug, Clone)]
pub struct Filled {
    pub cell: [u32; 3],
    pub fill: f64,
    pub weights: Option<Box<[f64; POINTS]>>,
}

/// Less of a cell than this is nothing, and less missing from one is a whole: the pieces' rounding.
const NOTHING: f64 = 1e-7;

/// The facets of a mesh, their corners moved onto grid lines that they lie on but for rounding.
pub fn settled_facets(mesh: &crate::geometry::mesh::Mesh, grid: &Grid) -> Vec<[Vector; 3]> {
    let bounds = mesh.bounds();
    let far = [0, 1, 2].map(|a| bounds.max[a].abs().max(bounds.min[a].abs())).into_iter().fold(0.0, f64::max);
    let near = 5e-7 * far;
    let vertices: Vec<Vector> = mesh
        .vertices
        .iter()
        .map(|v| {
            [0, 1, 2].map(|a| {
                let lines = &grid.axes[a].lines;
                let i = lines.partition_point(|&l| l <= v[a]);
                let close = |j: usize| lines.get(j).copied().filter(|l| (l - v[a]).abs() <= near);
                close(i).or_else(|| i.checked_sub(1).and_then(close)).unwrap_or(v[a])
            })
        })
        .collect();
    mesh.triangles.iter().map(|t| t.map(|v| vertices[v as usize])).collect()
}

/// Lists of facets by column of cells.
pub struct Columns {
    start: Vec<u32>,
    facets: Vec<u32>,
}

impl Columns {
    pub fn new(grid: &Grid, facets: &[[Vector; 3]]) -> Self {
        let [nx, ny, _] = grid.cells();
        let over = |t: &[Vector; 3]| {
            [0, 1].map(|a| {
                let (low, high) = (t[0][a].min(t[1][a]).min(t[2][a]), t[0][a].max(t[1][a]).max(t[2][a]));
                (grid.axes[a].find(low), grid.axes[a].find(high))
            })
        };
        let mut start = vec![0u32; nx * ny + 1];
        for t in facets {
            let [(i0, i1), (j0, j1)] = over(t);
            for i in i0..=i1 {
                for j in j0..=j1 {
                    start[i * ny + j + 1] += 1;
                }
            }
        }
        for c in 0..nx * ny {
            start[c + 1] += start[c];
        }
        let mut next = start.clone();
        let mut list = vec![0u32; start[nx * ny] as usize];
        for (f, t) in facets.iter().enumerate() {
            let [(i0, i1), (j0, j1)] = over(t);
            for i in i0..=i1 {
                for j in j0..=j1 {
                    list[next[i * ny + j] as usize] = f as u32;
                    next[i * ny + j] += 1;
                }
            }
        }
        Self { start, facets: list }
    }

    pub fn of(&self, column: usize) -> &[u32] {
        &self.facets[self.start[column] as usize..self.start[column + 1] as usize]
    }
}

/// Returns the cells with material, in the order of x, y, z.
pub fn fill(grid: &Grid, facets: &[[Vector; 3]]) -> Vec<Filled> {
    let columns = Columns::new(grid, facets);
    let [nx, ny, _] = grid.cells();
    let (fit, rules) = (Fitting::new(), TriangleRules::new());
    let filled: Vec<Vec<Filled>> = (0..nx * ny)
        .into_par_iter()
        .with_min_len(8)
        .map_init(
            || Column::new(grid.cells()[2]),
            |column, c| {
                let list = columns.of(c);
                if list.is_empty() {
                    return Vec::new();
                }
                let at = [(c / ny) as u32, (c % ny) as u32];
                for &f in list {
                    column.add(grid, &fit, &rules, at, &facets[f as usize]);
                }
                column.take(at)
            },
        )
        .collect();
    filled.into_iter().flatten().collect()
}

/// The sums of one column of cells while its pieces come in.
struct Column {
    /// Weights of each cell, from the pieces in it.
    own: Vec<[f64; POINTS]>,
    /// What each cell's pieces lay on the cells below, by x and y.
    below: Vec<[f64; G * G]>,
    top: usize,
}

impl Column {
    fn new(height: usize) -> Self {
        Self { own: vec![[0.0; POINTS]; height], below: vec![[0.0; G * G]; height], top: 0 }
    }

    fn add(&mut self, grid: &Grid, fit: &Fitting, rules: &TriangleRules, at: [u32; 2], facet: &[Vector; 3]) {
        let flat = cross(sub(facet[1], facet[0]), sub(facet[2], facet[0]));
        if flat[2].abs() <= 1e-13 * norm(flat) {
            return;
        }
        let mut piece = Polygon::triangle(*facet);
        for a in 0..2 {
            let lines = &grid.axes[a].lines;
            piece.between(a, lines[at[a] as usize], lines[at[a] as usize + 1]);
            if piece.count == 0 {
                return;
            }
        }
        let z = &grid.axes[2];
        let (low, high) = piece.span(2);
        for k in z.find(low)..=z.find(high) {
            let mut part = piece;
            part.between(2, z.lines[k], z.lines[k + 1]);
            if part.count > 0 {
                self.integrate(grid, fit, rules, [at[0], at[1], k as u32], &part);
            }
        }
    }

    fn integrate(&mut self, grid: &Grid, fit: &Fitting, rules: &TriangleRules, cell: [u32; 3], part: &Polygon) {
        let mut corners = part.corners;
        for c in &mut corners[..part.count] {
            *c = grid.within(cell, *c);
        }
        let k = cell[2] as usize;
        self.top = self.top.max(k + 1);
        for f in 1..part.count - 1 {
            let (o, a, b) = (corners[0], sub(corners[f], corners[0]), sub(corners[f + 1], corners[0]));
            let twice = a[0] * b[1] - a[1] * b[0];
            if twice.abs() < 1e-15 {
                continue;
            }
            for &([u, v], w) in rules.of(order([a, b, sub(a, b)])) {
                let p = [0, 1, 2].map(|d| o[d] + u * a[d] + v * b[d]);
                let (x, y, z) = (fit.at(p[0]), fit.at(p[1]), fit.until(p[2]));
                for gx in 0..G {
                    for gy in 0..G {
                        let e = w * twice * x[gx] * y[gy];
                        self.below[k][gx * G + gy] += e;
                        for gz in 0..G {
                            self.own[k][(gx * G + gy) * G + gz] += e * z[gz];
                        }
                    }
                }
            }
        }
    }

    /// Returns the column's cells, from the lowest up, and clears it.
    fn take(&mut self, at: [u32; 2]) -> Vec<Filled> {
        let mut out = Vec::new();
        let mut above = [0.0; G * G];
        for k in (0..self.top).rev() {
            let mut w = self.own[k];
            for xy in 0..G * G {
                for z in 0..G {
                    w[xy * G + z] += above[xy] * WEIGHT[z];
                }
                above[xy] += self.below[k][xy];
            }
            self.own[k] = [0.0; POINTS];
            self.below[k] = [0.0; G * G];
            let fill = w.iter().sum::<f64>() / 8.0;
            if fill > NOTHING {
                let whole = fill > 1.0 - NOTHING && is_whole(&w);
                out.push(Filled { cell: [at[0], at[1], k as u32], fill, weights: (!whole).then(|| Box::new(w)) });
            }
        }
        self.top = 0;
        out.reverse();
        out
    }
}

fn is_whole(w: &[f64; POINTS]) -> bool {
    w.iter().zip(whole()).all(|(a, b)| (a - b).abs() < 1e-5)
}

/// Returns how many points a direction a piece needs: the integrand is of degree 13, and a small piece sees little of it.
fn order(edges: [Vector; 3]) -> usize {
    let extent = |d: usize| edges.iter().map(|e| e[d].abs()).fold(0.0, f64::max) / 2.0;
    let (flat, high) = (extent(0).max(extent(1)), extent(2));
    match flat.max(high) {
        s if s > 0.6 && high > 1e-9 => 7,
        s if s > 0.3 => 5,
        s if s > 0.12 => 4,
        s if s > 0.04 => 3,
        _ => 2,
    }
}
