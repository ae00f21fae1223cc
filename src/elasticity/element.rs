//! Stiffness matrices of cells, written out: for diagonals, the blocks of badly cut cells, and the coarsest grid.

use super::basis::{G, GAUSS, NODES, POINTS, shape, slope};
use super::kernel::{Shape, Weights, weight};
use super::lanes::{LANES, Pack};
use super::law::{PLACE, half};

/// Degrees of freedom of a cell: `3 node + component`.
pub const DOF: usize = 3 * NODES;

type P = Pack<f32>;

/// Products of two of the three one-dimensional functions at the five points: values or slopes.
struct Products {
    /// By first and second being a slope, then pair, then point.
    table: [[[[f32; G]; 9]; 2]; 2],
}

impl Products {
    fn new() -> Self {
        let mut table = [[[[0.0; G]; 9]; 2]; 2];
        for q in 0..G {
            let of = [shape(GAUSS[q]), slope(GAUSS[q])];
            for (first, by_second) in table.iter_mut().enumerate() {
                for (second, pairs) in by_second.iter_mut().enumerate() {
                    for (pair, at) in pairs.iter_mut().enumerate() {
                        at[q] = (of[first][pair / 3] * of[second][pair % 3]) as f32;
                    }
                }
            }
        }
        Self { table }
    }
}

/// Room for the sums of eight matrices.
pub struct Room {
    products: Products,
    z: Vec<P>,
    yz: Vec<P>,
    /// Integrals of products of derivatives, for the six pairs of axes in Voigt's order: pairs of nodes by axis.
    pairs: Vec<Vec<P>>,
}

/// The law of eight cells as upper halves of their matrices.
pub type Halves = [P; 21];

impl Room {
    pub fn new() -> Self {
        Self {
            products: Products::new(),
            z: vec![P::zero(); 25 * 9],
            yz: vec![P::zero(); 5 * 81],
            pairs: vec![vec![P::zero(); 729]; 6],
        }
    }

    /// Calculates eight matrices, each row after row.
    pub fn matrices(&mut self, weights: &Weights, shape: &Shape<f32>, law: &Halves) -> Vec<Vec<f32>> {
        for (v, [i, j]) in super::law::VOIGT.into_iter().enumerate() {
            self.integrate(weights, v, i, j);
        }
        let mut out = vec![vec![0.0f32; DOF * DOF]; LANES];
        for a in 0..NODES {
            for b in a..NODES {
                let t = self.gradients(a, b, shape);
                for c in 0..3 {
                    for d in 0..3 {
                        let mut k = P::zero();
                        for i in 0..3 {
                            for j in 0..3 {
                                k += law[half(PLACE[c][i], PLACE[d][j])] * t[i][j];
                            }
                        }
                        let (r, s) = (3 * a + c, 3 * b + d);
                        for l in 0..LANES {
                            out[l][r * DOF + s] = k.0[l];
                            out[l][s * DOF + r] = k.0[l];
                        }
                    }
                }
            }
        }
        out
    }

    /// Returns the integrals of the products of the derivatives of nodes `a` (rows) and `b` (columns).
    fn gradients(&self, a: usize, b: usize, shape: &Shape<f32>) -> [[P; 3]; 3] {
        let index = |a: usize, b: usize| {
            let pair = |s: usize| (a / s % 3) * 3 + b / s % 3;
            (pair(9) * 9 + pair(3)) * 9 + pair(1)
        };
        let (ab, ba) = (index(a, b), index(b, a));
        let mut t = [[P::zero(); 3]; 3];
        for (v, [i, j]) in super::law::VOIGT.into_iter().enumerate() {
            let scale = shape.eighth * shape.scale[i] * shape.scale[j];
            t[i][j] = self.pairs[v][ab] * scale;
            t[j][i] = self.pairs[v][ba] * scale;
        }
        t
    }

    /// Integrates the products of derivative `i` of the first and `j` of the second node over all pairs.
    fn integrate(&mut self, weights: &Weights, v: usize, i: usize, j: usize) {
        let of = |axis: usize| &self.products.table[usize::from(i == axis)][usize::from(j == axis)];
        let (x, y, z) = (of(0), of(1), of(2));
        for xy in 0..25 {
            for p in 0..9 {
                let mut s = P::zero();
                for q in 0..G {
                    s += weight::<f32>(&weights[xy * G + q]) * Pack([z[p][q]; LANES]);
                }
                self.z[xy * 9 + p] = s;
            }
        }
        for qx in 0..G {
            for py in 0..9 {
                for pz in 0..9 {
                    let mut s = P::zero();
                    for q in 0..G {
                        s += self.z[(qx * G + q) * 9 + pz] * Pack([y[py][q]; LANES]);
                    }
                    self.yz[qx * 81 + py * 9 + pz] = s;
                }
            }
        }
        for px in 0..9 {
            for yz in 0..81 {
                let mut s = P::zero();
                for q in 0..G {
                    s += self.yz[q * 81 + yz] * Pack([x[px][q]; LANES]);
                }
                self.pairs[v][px * 81 + yz] = s;
            }
        }
    }
}

/// Returns the weights of eight cells side by side.
pub fn beside(of: [&[f32; POINTS]; LANES]) -> Box<Weights> {
    let mut w = Box::new([[0.0; LANES]; POINTS]);
    for q in 0..POINTS {
        for l in 0..LANES {
            w[q][l] = of[l][q];
        }
    }
    w
}
