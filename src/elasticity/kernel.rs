//! Stiffness times displacement, eight cells at a time, without a matrix.
//!
//! The nodal values of a cell are turned into Legendre coefficients, in which a derivative is a shift. In a whole cell
//! the coefficients are orthogonal, so the integral is a sum over them; in a cut one the derivatives are evaluated on the
//! Gauss grid that carries the cell's weights, direction by direction (sum factorisation; Orszag, J. Comput. Phys. 37,
//! 1980, cited from memory).

use super::basis::{G, NODES, POINTS};
use super::lanes::{LANES, Pack, Real};
use super::law::Law;

/// The displacements of a cell, three components of 27 values.
pub type Values<T> = [[Pack<T>; NODES]; 3];

/// What a kernel must know of eight cells.
#[derive(Debug, Clone, Copy)]
pub struct Shape<T> {
    /// Two over the width, by axis.
    pub scale: [Pack<T>; 3],
    /// An eighth of the volume.
    pub eighth: Pack<T>,
}

/// Steps of the three indices of node `9 i + 3 j + k`.
const STEP: [usize; 3] = [9, 3, 1];
const THIRD: f64 = 1.0 / 3.0;

/// Turns nodal values into Legendre coefficients, in place.
#[inline(always)]
pub fn to_modes<T: Real>(u: &mut [Pack<T>; NODES]) {
    let (half, third, two) = (Pack::splat(0.5), Pack::splat(THIRD), Pack::splat(2.0 * THIRD));
    for step in STEP {
        for a in (0..NODES).filter(|a| a / step % 3 == 0) {
            let (l, m, r) = (u[a], u[a + step], u[a + 2 * step]);
            let mean = (l + r) * half;
            u[a] = mean * third + m * two;
            u[a + step] = (r - l) * half;
            u[a + 2 * step] = (mean - m) * two;
        }
    }
}

/// The transpose of [`to_modes`].
#[inline(always)]
pub fn from_modes<T: Real>(r: &mut [Pack<T>; NODES]) {
    let (half, third, sixth, two) =
        (Pack::splat(0.5), Pack::splat(THIRD), Pack::splat(0.5 * THIRD), Pack::splat(2.0 * THIRD));
    for step in STEP {
        for a in (0..NODES).filter(|a| a / step % 3 == 0) {
            let (c0, c1, c2) = (r[a], r[a + step], r[a + 2 * step]);
            let (even, odd) = (c0 * sixth + c2 * third, c1 * half);
            r[a] = even - odd;
            r[a + step] = (c0 - c2) * two;
            r[a + 2 * step] = even + odd;
        }
    }
}

/// Replaces the displacements of whole cells by the forces of their stiffness.
pub fn whole<T: Real, L: Law<T>>(u: &mut Values<T>, shape: &Shape<T>, law: &L) {
    for c in u.iter_mut() {
        to_modes(c);
    }
    let three = Pack::splat(3.0);
    let mut r = [[Pack::zero(); NODES]; 3];
    for mode in 0..NODES {
        let index = [mode / 9, mode / 3 % 3, mode % 3];
        let mut g = [[Pack::zero(); 3]; 3];
        for d in 0..3 {
            if index[d] < 2 {
                for c in 0..3 {
                    let next = u[c][mode + STEP[d]];
                    g[c][d] = if index[d] == 0 { next * shape.scale[d] } else { next * three * shape.scale[d] };
                }
            }
        }
        let norm: f64 = index.iter().map(|&l| 2.0 / (2 * l + 1) as f64).product();
        let weight = shape.eighth.by(norm);
        let s = law.stress(&g);
        for d in 0..3 {
            if index[d] < 2 {
                let back = weight * shape.scale[d];
                let back = if index[d] == 0 { back } else { back * three };
                for c in 0..3 {
                    r[c][mode + STEP[d]] += s[c][d] * back;
                }
            }
        }
    }
    for c in r.iter_mut() {
        from_modes(c);
    }
    *u = r;
}

const INNER: f64 = super::basis::GAUSS[3];
const OUTER: f64 = super::basis::GAUSS[4];
const P2_INNER: f64 = 1.5 * INNER * INNER - 0.5;
const P2_OUTER: f64 = 1.5 * OUTER * OUTER - 0.5;

/// Evaluates three Legendre coefficients at the five points.
#[inline(always)]
fn value<T: Real>(c: [Pack<T>; 3]) -> [Pack<T>; G] {
    let (a, b) = (c[0] + c[2].by(P2_INNER), c[0] + c[2].by(P2_OUTER));
    let (da, db) = (c[1].by(INNER), c[1].by(OUTER));
    [b - db, a - da, c[0] - c[2].by(0.5), a + da, b + db]
}

/// Evaluates the derivative at the five points.
#[inline(always)]
fn slope<T: Real>(c: [Pack<T>; 3]) -> [Pack<T>; G] {
    let (a, b) = (c[2].by(3.0 * INNER), c[2].by(3.0 * OUTER));
    [c[1] - b, c[1] - a, c[1], c[1] + a, c[1] + b]
}

#[inline(always)]
fn value_back<T: Real>(v: [Pack<T>; G]) -> [Pack<T>; 3] {
    let (outer, inner) = (v[0] + v[4], v[1] + v[3]);
    [
        outer + inner + v[2],
        (v[4] - v[0]).by(OUTER) + (v[3] - v[1]).by(INNER),
        outer.by(P2_OUTER) + inner.by(P2_INNER) - v[2].by(0.5),
    ]
}

#[inline(always)]
fn slope_back<T: Real>(v: [Pack<T>; G]) -> [Pack<T>; 3] {
    [Pack::zero(), (v[0] + v[4]) + (v[1] + v[3]) + v[2], ((v[4] - v[0]).by(OUTER) + (v[3] - v[1]).by(INNER)).by(3.0)]
}

/// The nine derivatives on the Gauss grid: component, direction, point.
pub struct Field<T>(Vec<[Pack<T>; POINTS]>);

impl<T: Real> Field<T> {
    pub fn new() -> Self {
        Self(vec![[Pack::zero(); POINTS]; 9])
    }

    #[inline(always)]
    pub fn gradient(&self, q: usize) -> [[Pack<T>; 3]; 3] {
        [0, 1, 2].map(|c| [0, 1, 2].map(|d| self.0[3 * c + d][q]))
    }

    #[inline(always)]
    pub fn set(&mut self, q: usize, s: &[[Pack<T>; 3]; 3]) {
        for c in 0..3 {
            for d in 0..3 {
                self.0[3 * c + d][q] = s[c][d];
            }
        }
    }

    /// Fills in the gradients in the reference cell of the displacements whose Legendre coefficients are `u`.
    pub fn evaluate(&mut self, u: &Values<T>) {
        let mut z = [[Pack::zero(); 9 * G]; 2];
        let mut yz = [[Pack::zero(); 3 * G * G]; 3];
        for c in 0..3 {
            for l in 0..9 {
                let m = [u[c][3 * l], u[c][3 * l + 1], u[c][3 * l + 2]];
                z[0][l * G..l * G + G].copy_from_slice(&value(m));
                z[1][l * G..l * G + G].copy_from_slice(&slope(m));
            }
            for l in 0..3 {
                for q in 0..G {
                    let at = |t: usize| [z[t][3 * l * G + q], z[t][(3 * l + 1) * G + q], z[t][(3 * l + 2) * G + q]];
                    let (a, b, d) = (value(at(0)), slope(at(0)), value(at(1)));
                    for y in 0..G {
                        yz[0][(l * G + y) * G + q] = a[y];
                        yz[1][(l * G + y) * G + q] = b[y];
                        yz[2][(l * G + y) * G + q] = d[y];
                    }
                }
            }
            for q in 0..G * G {
                let at = |t: usize| [yz[t][q], yz[t][G * G + q], yz[t][2 * G * G + q]];
                let (a, b, d) = (slope(at(0)), value(at(1)), value(at(2)));
                for x in 0..G {
                    self.0[3 * c][x * G * G + q] = a[x];
                    self.0[3 * c + 1][x * G * G + q] = b[x];
                    self.0[3 * c + 2][x * G * G + q] = d[x];
                }
            }
        }
    }

    /// The transpose of [`Self::evaluate`].
    pub fn gather(&self, r: &mut Values<T>) {
        let mut z = [[Pack::zero(); 9 * G]; 2];
        let mut yz = [[Pack::zero(); 3 * G * G]; 3];
        for c in 0..3 {
            for q in 0..G * G {
                let at = |d: usize| [0, 1, 2, 3, 4].map(|x| self.0[3 * c + d][x * G * G + q]);
                let (a, b, d) = (slope_back(at(0)), value_back(at(1)), value_back(at(2)));
                for l in 0..3 {
                    yz[0][l * G * G + q] = a[l];
                    yz[1][l * G * G + q] = b[l];
                    yz[2][l * G * G + q] = d[l];
                }
            }
            for l in 0..3 {
                for q in 0..G {
                    let at = |t: usize| [0, 1, 2, 3, 4].map(|y| yz[t][(l * G + y) * G + q]);
                    let (a, b, d) = (value_back(at(0)), slope_back(at(1)), value_back(at(2)));
                    for m in 0..3 {
                        z[0][(3 * l + m) * G + q] = a[m] + b[m];
                        z[1][(3 * l + m) * G + q] = d[m];
                    }
                }
            }
            for l in 0..9 {
                let at = |t: usize| [0, 1, 2, 3, 4].map(|q| z[t][l * G + q]);
                let (a, b) = (value_back(at(0)), slope_back(at(1)));
                for k in 0..3 {
                    r[c][3 * l + k] = a[k] + b[k];
                }
            }
        }
    }
}

/// The weights of eight cut cells, point by point.
pub type Weights = [[f32; LANES]; POINTS];

#[inline(always)]
pub fn weight<T: Real>(w: &[f32; LANES]) -> Pack<T> {
    let mut p = Pack::zero();
    for l in 0..LANES {
        p.0[l] = T::from_f32(w[l]);
    }
    p
}

/// Replaces the displacements of cut cells by the forces of their stiffness.
pub fn cut<T: Real, L: Law<T>>(u: &mut Values<T>, shape: &Shape<T>, law: &L, weights: &Weights, field: &mut Field<T>) {
    for c in u.iter_mut() {
        to_modes(c);
    }
    field.evaluate(u);
    for q in 0..POINTS {
        let mut g = field.gradient(q);
        for row in &mut g {
            for d in 0..3 {
                row[d] = row[d] * shape.scale[d];
            }
        }
        let w = weight::<T>(&weights[q]) * shape.eighth;
        let mut s = law.stress(&g);
        for row in &mut s {
            for d in 0..3 {
                row[d] = row[d] * (w * shape.scale[d]);
            }
        }
        field.set(q, &s);
    }
    field.gather(u);
    for c in u.iter_mut() {
        from_modes(c);
    }
}

/// Replaces the displacements `v` by the forces of minus the geometric stiffness of the stresses under `u`.
///
/// In cut cells (`empty` is what their weights hold besides what is filled) the stress counts by its mean: the weights
/// integrate the square of a gradient exactly, but not its product with a stress that runs on into the empty part, which
/// made slivers buckle by themselves.
pub fn pressed<L: Law<f64>>(
    u: &mut Values<f64>,
    v: &mut Values<f64>,
    (shape, weights, empty): (&Shape<f64>, &Weights, Option<f64>),
    law: &L,
    stress: &mut Field<f64>,
    field: &mut Field<f64>,
) {
    for c in u.iter_mut().chain(v.iter_mut()) {
        to_modes(c);
    }
    stress.evaluate(u);
    field.evaluate(v);
    let physical = |mut g: [[Pack<f64>; 3]; 3]| {
        for row in &mut g {
            for d in 0..3 {
                row[d] = row[d] * shape.scale[d];
            }
        }
        g
    };
    let mean = empty.map(|empty| mean_stress(stress, weights, empty, |g| law.stress(&physical(g))));
    for q in 0..POINTS {
        let s = mean.unwrap_or_else(|| law.stress(&physical(stress.gradient(q))));
        let g = physical(field.gradient(q));
        let w = weight::<f64>(&weights[q]) * shape.eighth;
        let mut t = [[Pack::zero(); 3]; 3];
        for c in 0..3 {
            for d in 0..3 {
                let flow = g[c][0] * s[0][d] + g[c][1] * s[1][d] + g[c][2] * s[2][d];
                t[c][d] = Pack::zero() - flow * (w * shape.scale[d]);
            }
        }
        field.set(q, &t);
    }
    field.gather(v);
    for c in v.iter_mut() {
        from_modes(c);
    }
}

/// Returns the mean stress over what is filled of cut cells; none where that is no more than their rounding.
fn mean_stress(
    field: &Field<f64>,
    weights: &Weights,
    empty: f64,
    stress: impl Fn([[Pack<f64>; 3]; 3]) -> [[Pack<f64>; 3]; 3],
) -> [[Pack<f64>; 3]; 3] {
    let one = super::basis::whole();
    let (mut sum, mut filled) = ([[Pack::zero(); 3]; 3], Pack::<f64>::zero());
    for q in 0..POINTS {
        let s = stress(field.gradient(q));
        let w = weight::<f64>(&weights[q]) - Pack::splat(empty * one[q]);
        filled += w;
        for (sum, s) in sum.iter_mut().flatten().zip(s.iter().flatten()) {
            *sum += *s * w;
        }
    }
    let share = Pack(filled.0.map(|f| if f > empty * 8.0 { 1.0 / f } else { 0.0 }));
    sum.map(|row| row.map(|s| s * share))
}
