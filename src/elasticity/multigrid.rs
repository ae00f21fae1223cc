//! The levels together: conjugate gradients, preconditioned by one cycle over the coarser grids.
//!
//! The space on a coarse grid lies within that on the next finer one, and a coarse cell's weights are the sum of its
//! children's: the coarse operators are those that projection would give (but for the material's mean), and the problem
//! on twice the spacing is one of the levels.

use rayon::prelude::*;

use super::basis::{NODES, shape};
use super::coarsest::Direct;
use super::lanes::Real;
use super::law::Stiffness;
use super::level::{Change, Level, Nodal, Spring};
use super::parts::Layout;
use super::smoother::{Scratch, Smoother};

/// A level of at most so many nodes is solved directly.
const FEW_NODES: usize = 300;
const MOST_LEVELS: usize = 12;
/// From this level on the next coarser one is worked twice: there thin walls are too stiff in bending for one cycle to be near
/// (shells and slit tubes take half the iterations), and it costs next to nothing. A long slender bar is too soft in bending for
/// what single precision leaves of a residual: there the cycle is no positive one, and each level is worked once.
const TWICE_BELOW: usize = 1;

/// From the nodes of a level to those of the next coarser one.
struct Transfer {
    /// The part of the coarser level each node lies in, and where.
    parent: Vec<u32>,
    within: Vec<[f32; 3]>,
    /// The nodes by part of the coarser level.
    start: Vec<u32>,
    nodes: Vec<u32>,
}

pub struct Multigrid {
    pub levels: Vec<Level>,
    transfers: Vec<Transfer>,
    smoothers: Vec<Smoother>,
    direct: Direct,
    /// Of the springs, as they are.
    tensors: Vec<[f64; 6]>,
    /// Whether sums were worked out from what differed.
    touched: bool,
}

/// Vectors of one level during a cycle.
struct Work {
    x: Nodal<f32>,
    b: Nodal<f32>,
    scratch: Option<Scratch>,
}

/// What conjugate gradients came to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outcome {
    pub iterations: usize,
    /// The last residual over the first, in the energy of the preconditioner.
    pub residual: f64,
}

/// Returns the scalar product, summed in blocks of a fixed size so that it is the same on any number of threads.
pub fn dot<T: Real>(a: &[[T; 3]], b: &[[T; 3]]) -> f64 {
    let parts: Vec<f64> = a
        .par_chunks(4096)
        .zip(b.par_chunks(4096))
        .map(|(a, b)| a.iter().zip(b).map(|(a, b)| (0..3).map(|c| a[c].to_f64() * b[c].to_f64()).sum::<f64>()).sum())
        .collect();
    parts.iter().sum()
}

impl Multigrid {
    /// Builds the levels below a finest one.
    pub fn new(finest: Layout, material: Vec<u32>, laws: Vec<Stiffness>, springs: &[Spring]) -> Self {
        let mut levels = vec![Level::new(finest, material, laws, springs)];
        let mut transfers = Vec::new();
        let mut springs = springs.to_vec();
        loop {
            let fine = &levels[levels.len() - 1];
            if levels.len() > 1 && (fine.nodes() <= FEW_NODES || levels.len() == MOST_LEVELS) {
                break;
            }
            let (layout, parent) = fine.layout.coarser(levels.len() == 1);
            if layout.lattice.len() >= fine.nodes() {
                break;
            }
            transfers.push(Transfer::new(&fine.layout, &layout, &parent));
            springs = coarser_springs(&fine.layout, &layout, &parent, &springs);
            let (material, laws) = coarser_material(fine, &layout, &parent);
            levels.push(Level::new(layout, material, laws, &springs));
        }
        let direct = Direct::new(&levels[levels.len() - 1]);
        let smoothers = levels[..levels.len() - 1].iter().map(Smoother::new).collect();
        let tensors = springs.iter().map(|s| s.tensor).collect();
        Self { levels, transfers, smoothers, direct, tensors, touched: false }
    }

    /// Replaces the tensors of the springs on all levels, each where it is. The smoothers stay: they need only be near.
    fn set_springs(&mut self, tensors: &[[f64; 6]]) {
        self.levels.iter_mut().for_each(|level| level.set_springs(tensors));
        self.tensors = tensors.to_vec();
        self.touched = false;
        self.direct = Direct::new(&self.levels[self.levels.len() - 1]);
    }

    /// Makes the springs those of a start again, to the last digit.
    pub fn restart_springs(&mut self, tensors: &[[f64; 6]]) {
        if self.touched || self.tensors != tensors {
            self.set_springs(tensors);
        }
    }

    /// Replaces them, worked out from what differs; sums then hang in their last digits on what they were before.
    pub fn change_springs(&mut self, tensors: &[[f64; 6]]) {
        let gained = |(i, (new, old)): (usize, (&[f64; 6], &[f64; 6]))| {
            (new != old).then(|| (i, std::array::from_fn(|t| new[t] - old[t])))
        };
        let changes: Vec<Change> = tensors.iter().zip(&self.tensors).enumerate().filter_map(gained).collect();
        if changes.is_empty() {
            return;
        }
        self.levels.iter_mut().for_each(|level| level.change_springs(&changes));
        self.tensors = tensors.to_vec();
        self.touched = true;
        self.direct = Direct::new(&self.levels[self.levels.len() - 1]);
    }

    /// Carries values from level `l + 1` to level `l`.
    pub fn refine<T: Real>(&self, l: usize, coarse: &[[T; 3]]) -> Nodal<T> {
        let mut fine = vec![[T::default(); 3]; self.levels[l].nodes()];
        self.transfers[l].up(&self.levels[l + 1].layout, coarse, &mut fine, false);
        fine
    }

    /// Carries forces from level `l` to level `l + 1`.
    pub fn coarsen<T: Real>(&self, l: usize, fine: &[[T; 3]]) -> Nodal<T> {
        let mut coarse = vec![[T::default(); 3]; self.levels[l + 1].nodes()];
        let mut buffer = self.levels[l + 1].buffer();
        self.transfers[l].down(&self.levels[l + 1], fine, &mut coarse, &mut buffer);
        coarse
    }

    fn work(&self, from: usize) -> Vec<Work> {
        let of = |l: usize| {
            let n = || vec![[0.0; 3]; self.levels[l].nodes()];
            Work { x: n(), b: n(), scratch: self.smoothers.get(l).map(|s| s.scratch(&self.levels[l])) }
        };
        (from..self.levels.len()).map(of).collect()
    }

    /// One cycle on `work[0].b`, from zero, into `work[0].x`; `work[0]` belongs to level `l`.
    fn cycle(&self, l: usize, work: &mut [Work], twice: bool) {
        let Some((own, rest)) = work.split_first_mut() else { return };
        let (Some(scratch), Some(smoother)) = (own.scratch.as_mut(), self.smoothers.get(l)) else {
            self.direct.solve(&own.b, &mut own.x);
            return;
        };
        smoother.smooth(&self.levels[l], &mut own.x, &own.b, true, scratch);
        self.levels[l].apply(&own.x, &mut scratch.other, &mut scratch.buffer);
        scratch.residual.par_iter_mut().zip(&scratch.other).zip(&own.b).with_min_len(8192).for_each(|((r, a), b)| {
            *r = [b[0] - a[0], b[1] - a[1], b[2] - a[2]];
        });
        let next = &mut rest[0];
        match next.scratch.as_mut() {
            Some(s) => self.transfers[l].down(&self.levels[l + 1], &scratch.residual, &mut next.b, &mut s.buffer),
            None => next.b = self.coarsen(l, &scratch.residual),
        }
        self.cycle(l + 1, rest, twice);
        if twice && l >= TWICE_BELOW {
            self.again(l + 1, rest);
        }
        self.transfers[l].up(&self.levels[l + 1].layout, &rest[0].x, &mut own.x, true);
        smoother.smooth(&self.levels[l], &mut own.x, &own.b, false, scratch);
    }

    /// Improves what a cycle on `work[0]` came to by another one.
    fn again(&self, l: usize, work: &mut [Work]) {
        let Some(own) = work.first_mut() else { return };
        let Some(scratch) = own.scratch.as_mut() else { return };
        let (x, b) = (own.x.clone(), own.b.clone());
        self.levels[l].apply(&x, &mut scratch.other, &mut scratch.buffer);
        own.b.par_iter_mut().zip(&scratch.other).with_min_len(8192).for_each(|(b, a)| {
            *b = [b[0] - a[0], b[1] - a[1], b[2] - a[2]];
        });
        self.cycle(l, work, true);
        if let Some(own) = work.first_mut() {
            own.b = b;
            own.x.par_iter_mut().zip(&x).with_min_len(8192).for_each(|(sum, x)| {
                *sum = [sum[0] + x[0], sum[1] + x[1], sum[2] + x[2]];
            });
        }
    }

    /// Returns a preconditioner for level `l`, from forces to displacements: one that is positive on any body.
    pub fn preconditioner(&self, l: usize) -> Preconditioner<'_> {
        Preconditioner { grid: self, level: l, work: self.work(l), twice: false }
    }

    /// Solves `A x = b` on level `l`, from what `x` holds, to `tolerance` of the first error of a start from zero.
    pub fn solve(&self, l: usize, b: &[[f64; 3]], x: &mut Nodal<f64>, tolerance: f64, most: usize) -> Outcome {
        let start = x.clone();
        let quick = self.solve_by(Preconditioner { twice: true, ..self.preconditioner(l) }, b, x, tolerance, most);
        if quick.residual <= tolerance {
            return quick;
        }
        let mut slow = start;
        let found = self.solve_by(self.preconditioner(l), b, &mut slow, tolerance, most);
        // Where neither gets there, the nearer.
        if found.residual <= quick.residual {
            *x = slow;
            return Outcome { iterations: quick.iterations + found.iterations, ..found };
        }
        quick
    }

    fn solve_by(
        &self,
        mut precondition: Preconditioner<'_>,
        b: &[[f64; 3]],
        x: &mut Nodal<f64>,
        tolerance: f64,
        most: usize,
    ) -> Outcome {
        let l = precondition.level;
        let level = &self.levels[l];
        let n = level.nodes();
        let zero = || vec![[0.0f64; 3]; n];
        let (mut r, mut z, mut q) = (zero(), zero(), zero());
        let mut buffer = level.buffer();
        precondition.apply(b, &mut z);
        let scale = dot(b, &z);
        if scale.is_nan() || scale <= 0.0 {
            x.iter_mut().for_each(|x| *x = [0.0; 3]);
            let nothing = b.iter().all(|b| *b == [0.0; 3]);
            return Outcome { iterations: 0, residual: if nothing { 0.0 } else { f64::INFINITY } };
        }
        level.apply(x, &mut q, &mut buffer);
        combine(&mut r, b, -1.0, &q);
        precondition.apply(&r, &mut z);
        let mut p = z.clone();
        let mut energy = dot(&r, &z);
        let mut iterations = 0;
        while energy > tolerance * tolerance * scale && iterations < most {
            level.apply(&p, &mut q, &mut buffer);
            let step = energy / dot(&p, &q);
            if !step.is_finite() || step <= 0.0 {
                break;
            }
            add_to(x, step, &p);
            add_to(&mut r, -step, &q);
            precondition.apply(&r, &mut z);
            let next = dot(&r, &z);
            // Polak and Ribière's form allows for a preconditioner in single precision: the new z against the change of r.
            let change = -step * dot(&z, &q);
            let beta = (change / energy).max(0.0);
            p.par_iter_mut().zip(&z).with_min_len(8192).for_each(|(p, z)| *p = [0, 1, 2].map(|c| z[c] + beta * p[c]));
            energy = next;
            iterations += 1;
        }
        // Below zero the preconditioner was no positive one, and nothing has converged.
        Outcome { iterations, residual: (energy.abs() / scale).sqrt() }
    }
}

/// A cycle over the coarser grids, with its room.
pub struct Preconditioner<'a> {
    grid: &'a Multigrid,
    level: usize,
    work: Vec<Work>,
    /// Whether coarser grids are worked twice in a cycle.
    twice: bool,
}

impl Preconditioner<'_> {
    /// Calculates `z`, near to `A⁻¹ r`.
    pub fn apply(&mut self, r: &[[f64; 3]], z: &mut [[f64; 3]]) {
        // Scaled, so that single precision holds forces and displacements of any size.
        let size = (dot(r, r) / r.len().max(1) as f64).sqrt();
        if size == 0.0 || !size.is_finite() {
            z.iter_mut().for_each(|z| *z = [0.0; 3]);
            return;
        }
        let inverse = 1.0 / size;
        self.work[0].b.par_iter_mut().zip(r).with_min_len(8192).for_each(|(b, r)| *b = r.map(|v| (v * inverse) as f32));
        self.grid.cycle(self.level, &mut self.work, self.twice);
        z.par_iter_mut().zip(&self.work[0].x).with_min_len(8192).for_each(|(z, x)| *z = x.map(|v| f64::from(v) * size));
    }
}

/// Calculates `out = a + factor b`.
fn combine(out: &mut [[f64; 3]], a: &[[f64; 3]], factor: f64, b: &[[f64; 3]]) {
    out.par_iter_mut()
        .zip(a)
        .zip(b)
        .with_min_len(8192)
        .for_each(|((o, a), b)| *o = [0, 1, 2].map(|c| a[c] + factor * b[c]));
}

/// Calculates `x += factor d`.
pub fn add_to(x: &mut [[f64; 3]], factor: f64, d: &[[f64; 3]]) {
    x.par_iter_mut().zip(d).with_min_len(8192).for_each(|(x, d)| *x = [0, 1, 2].map(|c| x[c] + factor * d[c]));
}

impl Transfer {
    fn new(fine: &Layout, coarse: &Layout, parent: &[u32]) -> Self {
        let n = fine.lattice.len();
        let mut of = vec![u32::MAX; n];
        for (p, nodes) in fine.nodes.iter().enumerate() {
            for &v in nodes {
                if of[v as usize] == u32::MAX {
                    of[v as usize] = parent[p];
                }
            }
        }
        let within =
            (0..n).map(|v| coarse.grid.within(coarse.cells[of[v] as usize], fine.place(v)).map(|x| x as f32)).collect();
        let mut start = vec![0u32; coarse.cells.len() + 1];
        for &p in &of {
            start[p as usize + 1] += 1;
        }
        for p in 0..coarse.cells.len() {
            start[p + 1] += start[p];
        }
        let mut next = start.clone();
        let mut nodes = vec![0u32; n];
        for (v, &p) in of.iter().enumerate() {
            nodes[next[p as usize] as usize] = v as u32;
            next[p as usize] += 1;
        }
        Self { parent: of, within, start, nodes }
    }

    fn up<T: Real>(&self, layout: &Layout, coarse: &[[T; 3]], fine: &mut [[T; 3]], add: bool) {
        fine.par_iter_mut().enumerate().with_min_len(2048).for_each(|(v, out)| {
            let own = &layout.nodes[self.parent[v] as usize];
            let s = self.within[v].map(|x| shape(f64::from(x)).map(T::from_f64));
            let mut sum = if add { *out } else { [T::default(); 3] };
            for i in 0..3 {
                for j in 0..3 {
                    let ij = s[0][i] * s[1][j];
                    for k in 0..3 {
                        let (w, c) = (ij * s[2][k], coarse[own[9 * i + 3 * j + k] as usize]);
                        sum = [sum[0] + w * c[0], sum[1] + w * c[1], sum[2] + w * c[2]];
                    }
                }
            }
            *out = sum;
        });
    }

    fn down<T: Real>(&self, coarse: &Level, fine: &[[T; 3]], out: &mut [[T; 3]], buffer: &mut [[T; 3]]) {
        coarse.scatter(out, buffer, |p, own: &mut [[T; 3]; NODES]| {
            for &v in &self.nodes[self.start[p] as usize..self.start[p + 1] as usize] {
                let s = self.within[v as usize].map(|x| shape(f64::from(x)).map(T::from_f64));
                let f = fine[v as usize];
                for i in 0..3 {
                    for j in 0..3 {
                        let ij = s[0][i] * s[1][j];
                        for k in 0..3 {
                            let (w, o) = (ij * s[2][k], &mut own[9 * i + 3 * j + k]);
                            *o = [o[0] + w * f[0], o[1] + w * f[1], o[2] + w * f[2]];
                        }
                    }
                }
            }
        });
    }
}

fn coarser_springs(fine: &Layout, coarse: &Layout, parent: &[u32], springs: &[Spring]) -> Vec<Spring> {
    let ends = |p: u32, e: u32| [0, 1, 2].map(|a| fine.grid.axes[a].lines[(fine.cells[p as usize][a] + e) as usize]);
    let moved = |s: &Spring| {
        let part = parent[s.part as usize];
        let cell = coarse.cells[part as usize];
        let (from, to) = (coarse.grid.within(cell, ends(s.part, 0)), coarse.grid.within(cell, ends(s.part, 1)));
        let within = [0, 1, 2].map(|a| from[a] + 0.5 * (s.within[a] + 1.0) * (to[a] - from[a]));
        Spring { part, within, ..*s }
    };
    springs.iter().map(moved).collect()
}

/// Returns the material of each coarse part: the mean of its children's by volume.
fn coarser_material(fine: &Level, coarse: &Layout, parent: &[u32]) -> (Vec<u32>, Vec<Stiffness>) {
    if fine.laws.len() == 1 {
        return (vec![0; coarse.cells.len()], fine.laws.to_vec());
    }
    let mut of: Vec<Vec<(f64, u32)>> = vec![Vec::new(); coarse.cells.len()];
    for (p, &up) in parent.iter().enumerate() {
        let w = fine.layout.grid.widths(fine.layout.cells[p]);
        of[up as usize].push((fine.layout.fill[p] * w[0] * w[1] * w[2], fine.material[p]));
    }
    let mut laws = fine.laws.to_vec();
    let material = of
        .into_iter()
        .map(|list| {
            if let Some(first) = list.first()
                && list.iter().all(|x| x.1 == first.1)
            {
                return first.1;
            }
            let parts: Vec<(f64, Stiffness)> = list.iter().map(|&(w, m)| (w, fine.laws[m as usize])).collect();
            laws.extend(Stiffness::mean(&parts));
            laws.len() as u32 - 1
        })
        .collect();
    (material, laws)
}
