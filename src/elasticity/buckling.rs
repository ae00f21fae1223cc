//! The lowest factor by which the loads must grow until the body buckles.
//!
//! Linear buckling: `K v = factor (-G) v` with the geometric stiffness `G` of the solution's stresses. The greatest
//! `1 / factor` is sought by locally optimal conjugate gradients (A. Knyazev, SIAM J. Sci. Comput. 23, 2001, cited from
//! memory), preconditioned by the cycle over the grids.

use super::level::Nodal;
use super::multigrid::{Multigrid, add_to, dot};

const MOST_STEPS: usize = 60;
/// The factor is found when a step changes it by less than this part, twice running.
const STILL: f64 = 2e-4;
/// The same for one so large that nothing hangs on it.
const NEARLY_STILL: f64 = 5e-3;

/// A vector with what the two stiffnesses make of it.
#[derive(Clone)]
struct Triple {
    v: Nodal<f64>,
    k: Nodal<f64>,
    g: Nodal<f64>,
}

impl Triple {
    fn scale(&mut self, by: f64) {
        for list in [&mut self.v, &mut self.k, &mut self.g] {
            list.iter_mut().for_each(|x| *x = x.map(|c| c * by));
        }
    }

    fn add(&mut self, by: f64, other: &Self) {
        add_to(&mut self.v, by, &other.v);
        add_to(&mut self.k, by, &other.k);
        add_to(&mut self.g, by, &other.g);
    }

    /// Makes it of length one in the energy of `K`, and free of the others; false where nothing is left.
    fn orthonormal(&mut self, to: &[&Self]) -> bool {
        for _ in 0..2 {
            for o in to {
                let share = dot(&self.v, &o.k);
                self.add(-share, o);
            }
            let size = dot(&self.v, &self.k);
            if size.is_nan() || size <= 0.0 {
                return false;
            }
            self.scale(1.0 / size.sqrt());
        }
        true
    }
}

/// A buckling factor with its shape.
pub struct Buckling {
    pub factor: f64,
    pub shape: Nodal<f64>,
}

/// Returns the lowest factor on a level under the displacement `state`, from a `start` if there is one; none where the
/// loads press nothing. One that is beyond `far` is found less closely.
pub fn lowest(grid: &Multigrid, l: usize, state: &[[f64; 3]], start: Option<Nodal<f64>>, far: f64) -> Option<Buckling> {
    let level = &grid.levels[l];
    let mut buffer = level.buffer();
    let mut precondition = grid.preconditioner(l);
    let mut triple = |v: Nodal<f64>| {
        let mut t = Triple { k: v.clone(), g: v.clone(), v };
        level.apply(&t.v, &mut t.k, &mut buffer);
        level.apply_pressed(state, &t.v, &mut t.g, &mut buffer);
        t
    };
    let first = match start {
        Some(v) => v,
        None => {
            // Something that is not symmetric in any way, made smooth.
            let rough: Nodal<f64> = (0..level.nodes())
                .map(|n| [0, 1, 2].map(|c| super::smoother::scatter(3 * n as u64 + c).into()))
                .collect();
            let mut smooth = rough.clone();
            precondition.apply(&rough, &mut smooth);
            smooth
        }
    };
    let mut x = triple(first);
    x.orthonormal(&[]).then_some(())?;
    let mut along: Option<Triple> = None;
    let (mut value, mut still) = (dot(&x.v, &x.g), 0);
    for _ in 0..MOST_STEPS {
        let mut residual = x.g.clone();
        add_to(&mut residual, -value, &x.k);
        let mut w = residual.clone();
        precondition.apply(&residual, &mut w);
        let mut w = triple(w);
        if !w.orthonormal(&[&x]) {
            break;
        }
        let with_along = along.as_mut().is_some_and(|p| p.orthonormal(&[&x, &w]));
        let basis: Vec<&Triple> =
            std::iter::once(&x).chain([&w]).chain(along.as_ref().filter(|_| with_along)).collect();
        let mut small = [[0.0; 3]; 3];
        for (i, a) in basis.iter().enumerate() {
            for (j, b) in basis.iter().enumerate() {
                small[i][j] = dot(&a.v, &b.g);
            }
        }
        let (top, weights) = greatest_eigenpair(small, basis.len());
        let mut step = w.clone();
        step.scale(weights[1]);
        if let Some(p) = along.as_ref().filter(|_| with_along) {
            step.add(weights[2], p);
        }
        x.scale(weights[0]);
        x.add(1.0, &step);
        x.orthonormal(&[]).then_some(())?;
        along = Some(step);
        let close = if (0.0..1.0).contains(&(top * far)) { NEARLY_STILL } else { STILL };
        still = if (top - value).abs() <= close * top.abs() { still + 1 } else { 0 };
        value = top;
        if still == 2 {
            break;
        }
    }
    (value > 0.0 && value.is_finite()).then(|| Buckling { factor: 1.0 / value, shape: x.v })
}

/// Returns the greatest eigenvalue of a symmetric matrix of order `n` up to 3, and its vector (Jacobi's rotations).
fn greatest_eigenpair(mut a: [[f64; 3]; 3], n: usize) -> (f64, [f64; 3]) {
    let mut v = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
    for _ in 0..30 {
        for p in 0..n {
            for q in p + 1..n {
                if a[p][q] == 0.0 {
                    continue;
                }
                let t = 0.5 * (2.0 * a[p][q]).atan2(a[q][q] - a[p][p]);
                let (s, c) = t.sin_cos();
                for k in 0..3 {
                    let (x, y) = (a[k][p], a[k][q]);
                    (a[k][p], a[k][q]) = (c * x - s * y, s * x + c * y);
                }
                for k in 0..3 {
                    let (x, y) = (a[p][k], a[q][k]);
                    (a[p][k], a[q][k]) = (c * x - s * y, s * x + c * y);
                }
                for row in &mut v {
                    let (x, y) = (row[p], row[q]);
                    (row[p], row[q]) = (c * x - s * y, s * x + c * y);
                }
            }
        }
    }
    let best = (0..n).max_by(|&i, &j| a[i][i].total_cmp(&a[j][j])).unwrap_or(0);
    (a[best][best], v.map(|row| row[best]))
}
