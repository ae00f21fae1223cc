//! The smoother of a level: Chebyshev steps on the diagonal, with the badly cut cells inverted as blocks.
//!
//! A cell of which the body fills little makes a basis nearly dependent on itself; solving its block exactly takes that
//! away (additive Schwarz for cut cells: de Prenter and others, Comput. Methods Appl. Mech. Engng 316, 2017; Chebyshev
//! smoothing: Adams and others, J. Comput. Phys. 188, 2003; both cited from memory).

use std::collections::BTreeMap;

use rayon::prelude::*;

use super::basis::NODES;
use super::element::{DOF, Room};
use super::lanes::{LANES, Pack};
use super::level::{Level, Nodal};

/// Cells filled less than this are blocks.
const BADLY_CUT: f64 = 0.3;
/// At most so many blocks on a level (each takes 13 kB); the least filled first.
const MOST_BLOCKS: usize = 40_000;
/// The part of the spectrum that is smoothed: from a fifteenth of the largest eigenvalue.
const SPAN: f64 = 15.0;
const STEPS: usize = 3;
/// Steps of the power iteration, and how much larger than what it finds the largest eigenvalue may be: what lies beyond it is not
/// smoothed but blown up, and the cycle is then no preconditioner (of a hollow box twelve steps found 0.82 of it).
const POWERS: usize = 20;
const BEYOND: f64 = 1.2;
const LOWER: usize = DOF * (DOF + 1) / 2;

/// Eight factorised blocks, scaled to a unit diagonal.
struct Blocks {
    nodes: [[u32; LANES]; NODES],
    scale: [[Pack<f32>; NODES]; 3],
    factor: Vec<Pack<f32>>,
}

pub struct Smoother {
    inverse: Vec<[f32; 3]>,
    blocks: Vec<Blocks>,
    start: Vec<u32>,
    entries: Vec<u32>,
    largest: f64,
}

/// Vectors a smoother works with.
pub struct Scratch {
    pub residual: Nodal<f32>,
    pub step: Nodal<f32>,
    pub other: Nodal<f32>,
    pub buffer: Nodal<f32>,
    blocks: Nodal<f32>,
}

impl Smoother {
    pub fn new(level: &Level) -> Self {
        let diagonal = diagonal(level);
        let chosen = chosen(level);
        let blocks = factorise(level, &chosen);
        let mut count = vec![0u32; level.nodes() + 1];
        for &p in &chosen {
            for &n in &level.layout.nodes[p as usize] {
                count[n as usize + 1] += 1;
            }
        }
        let share: Vec<f32> = count[1..].iter().map(|&c| 1.0 / (c.max(1) as f32).sqrt()).collect();
        let inverse = diagonal
            .iter()
            .zip(&count[1..])
            .map(|(d, &c)| if c > 0 { [0.0; 3] } else { d.map(|d| if d > 0.0 { 1.0 / d } else { 0.0 }) })
            .collect();
        for n in 0..level.nodes() {
            count[n + 1] += count[n];
        }
        let mut next = count.clone();
        let mut entries = vec![0u32; chosen.len() * NODES];
        for (s, &p) in chosen.iter().enumerate() {
            for (a, &n) in level.layout.nodes[p as usize].iter().enumerate() {
                entries[next[n as usize] as usize] = ((s / LANES * NODES + a) * LANES + s % LANES) as u32;
                next[n as usize] += 1;
            }
        }
        let mut smoother = Self { inverse, blocks, start: count, entries, largest: 1.0 };
        for b in &mut smoother.blocks {
            for a in 0..NODES {
                for l in 0..LANES {
                    for c in 0..3 {
                        b.scale[c][a].0[l] *= share[b.nodes[a][l] as usize];
                    }
                }
            }
        }
        smoother.largest = smoother.largest_eigenvalue(level);
        smoother
    }

    pub fn scratch(&self, level: &Level) -> Scratch {
        let n = || vec![[0.0; 3]; level.nodes()];
        Scratch {
            residual: n(),
            step: n(),
            other: n(),
            buffer: level.buffer(),
            blocks: vec![[0.0; 3]; self.blocks.len() * NODES * LANES],
        }
    }

    /// Calculates `z = P r`, the preconditioner alone.
    fn precondition(
        &self,
        r: &[[f32; 3]],
        buffer: &mut [[f32; 3]],
        use_it: impl Fn(usize, [f32; 3], &mut [f32; 3]) + Sync,
        z: &mut [[f32; 3]],
    ) {
        buffer.par_chunks_mut(NODES * LANES).zip(&self.blocks).with_min_len(2).for_each(|(out, b)| b.solve(r, out));
        let buffer = &*buffer;
        z.par_iter_mut().enumerate().with_min_len(4096).for_each(|(n, z)| {
            let d = self.inverse[n];
            let mut s = [d[0] * r[n][0], d[1] * r[n][1], d[2] * r[n][2]];
            for &e in &self.entries[self.start[n] as usize..self.start[n + 1] as usize] {
                let f = buffer[e as usize];
                s = [s[0] + f[0], s[1] + f[1], s[2] + f[2]];
            }
            use_it(n, s, z);
        });
    }

    /// Power iteration: an upper end of the spectrum, if a rough one, is all that Chebyshev's method asks.
    fn largest_eigenvalue(&self, level: &Level) -> f64 {
        let mut scratch = self.scratch(level);
        let mut x: Nodal<f32> = (0..level.nodes()).map(|n| [0, 1, 2].map(|c| scatter(3 * n as u64 + c))).collect();
        let mut largest = 1.0;
        for _ in 0..POWERS {
            level.apply(&x, &mut scratch.other, &mut scratch.buffer);
            self.precondition(&scratch.other, &mut scratch.blocks, |_, s, z| *z = s, &mut x);
            let size = super::multigrid::dot(&x, &x).sqrt();
            largest = size;
            let inverse = if size > 0.0 { (1.0 / size) as f32 } else { 0.0 };
            x.par_iter_mut().with_min_len(8192).for_each(|x| *x = x.map(|v| v * inverse));
        }
        BEYOND * largest
    }

    /// Smooths `A x = b` from `x = 0` (`fresh`) or from what `x` holds.
    pub fn smooth(&self, level: &Level, x: &mut Nodal<f32>, b: &Nodal<f32>, fresh: bool, scratch: &mut Scratch) {
        let Scratch { residual, step, other, buffer, blocks } = scratch;
        if fresh {
            residual.copy_from_slice(b);
        } else {
            level.apply(x, other, buffer);
            residual.par_iter_mut().zip(&*other).zip(b).with_min_len(8192).for_each(|((r, a), b)| {
                *r = [b[0] - a[0], b[1] - a[1], b[2] - a[2]];
            });
        }
        let (low, high) = (self.largest / SPAN, self.largest);
        let (middle, half) = (0.5 * (high + low), 0.5 * (high - low));
        let sigma = middle / half;
        let mut rho = 1.0 / sigma;
        let first = (1.0 / middle) as f32;
        self.precondition(residual, blocks, |_, s, z| *z = s.map(|v| v * first), step);
        for k in 0..STEPS {
            if k == 0 && fresh {
                x.copy_from_slice(step);
            } else {
                x.par_iter_mut()
                    .zip(&*step)
                    .with_min_len(8192)
                    .for_each(|(x, d)| *x = [x[0] + d[0], x[1] + d[1], x[2] + d[2]]);
            }
            if k + 1 == STEPS {
                break;
            }
            level.apply(step, other, buffer);
            residual
                .par_iter_mut()
                .zip(&*other)
                .with_min_len(8192)
                .for_each(|(r, a)| *r = [r[0] - a[0], r[1] - a[1], r[2] - a[2]]);
            let next = 1.0 / (2.0 * sigma - rho);
            let (keep, add) = ((next * rho) as f32, (2.0 * next / half) as f32);
            self.precondition(residual, blocks, |_, s, d| *d = [0, 1, 2].map(|c| keep * d[c] + add * s[c]), step);
            rho = next;
        }
    }
}

/// Returns a number between -1 and 1 that looks like chance (the finaliser of SplitMix64, Steele and others 2014).
pub fn scatter(n: u64) -> f32 {
    let mut z = n.wrapping_add(1).wrapping_mul(0x9e37_79b9_7f4a_7c15);
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    ((z >> 40) as f32) / (1u64 << 23) as f32 - 1.0
}

/// Returns the parts that are to be blocks, in order.
fn chosen(level: &Level) -> Vec<u32> {
    let layout = &level.layout;
    let bad = |p: &u32| layout.cut[*p as usize] != u32::MAX && layout.fill[*p as usize] < BADLY_CUT;
    let mut list: Vec<u32> = (0..layout.cells.len() as u32).filter(bad).collect();
    if list.len() > MOST_BLOCKS {
        list.sort_by(|&a, &b| layout.fill[a as usize].total_cmp(&layout.fill[b as usize]).then(a.cmp(&b)));
        list.truncate(MOST_BLOCKS);
        list.sort_unstable();
    }
    list
}

/// Returns the matrices of the classes of whole cells, by class.
fn classes(level: &Level, of: impl Iterator<Item = u32>) -> BTreeMap<[u64; 4], Vec<f32>> {
    let mut one: BTreeMap<[u64; 4], u32> = BTreeMap::new();
    for p in of {
        if let Some(class) = level.class(p) {
            one.entry(class).or_insert(p);
        }
    }
    let parts: Vec<u32> = one.values().copied().collect();
    let made: Vec<Vec<f32>> =
        parts.par_chunks(LANES).map_init(Room::new, |room, c| level.matrices(c, room)).flatten().collect();
    one.into_keys().zip(made).collect()
}

fn diagonal(level: &Level) -> Nodal<f32> {
    let count = level.layout.cells.len() as u32;
    let of_class: BTreeMap<[u64; 4], Vec<f32>> =
        classes(level, 0..count).into_iter().map(|(k, m)| (k, (0..DOF).map(|d| m[d * DOF + d]).collect())).collect();
    let rest: Vec<u32> = (0..count).filter(|&p| level.class(p).is_none()).collect();
    let own: Vec<f32> = rest
        .par_chunks(LANES)
        .map_init(Room::new, |room, c| {
            level
                .matrices(c, room)
                .iter()
                .flat_map(|m| (0..DOF).map(|d| m[d * DOF + d]).collect::<Vec<_>>())
                .collect::<Vec<f32>>()
        })
        .flatten()
        .collect();
    let mut place = vec![u32::MAX; count as usize];
    for (i, &p) in rest.iter().enumerate() {
        place[p as usize] = i as u32;
    }
    let mut sum = vec![[0.0; 3]; level.nodes()];
    level.scatter(&mut sum, &mut level.buffer(), |p, out| {
        let list = match level.class(p as u32) {
            Some(class) => of_class.get(&class).map_or(&[][..], |d| &d[..]),
            None => &own[place[p] as usize * DOF..(place[p] as usize + 1) * DOF],
        };
        for (d, v) in list.iter().enumerate() {
            out[d / 3][d % 3] = *v;
        }
    });
    sum
}

fn factorise(level: &Level, chosen: &[u32]) -> Vec<Blocks> {
    let whole = classes(level, 0..level.layout.cells.len() as u32);
    chosen
        .par_chunks(4 * LANES)
        .map_init(Room::new, |room, group| {
            let mut touched: Vec<u32> = Vec::new();
            for &p in group {
                for &n in &level.layout.nodes[p as usize] {
                    level.around(n as usize, |q, _| touched.push(q));
                }
            }
            touched.sort_unstable();
            touched.dedup();
            let single: Vec<u32> = touched.iter().copied().filter(|&q| level.class(q).is_none()).collect();
            let matrices: BTreeMap<u32, Vec<f32>> = single.iter().copied().zip(level.matrices(&single, room)).collect();
            let of = |q: u32| matrices.get(&q).or_else(|| level.class(q).and_then(|c| whole.get(&c)));
            group.chunks(LANES).map(|g| Blocks::new(level, g, of)).collect::<Vec<_>>()
        })
        .flatten()
        .collect()
}

/// Returns the operator restricted to the nodes of a part.
fn restricted<'a>(level: &Level, part: u32, of: &impl Fn(u32) -> Option<&'a Vec<f32>>) -> Vec<f32> {
    let mut meets: Vec<(u32, usize, usize)> = Vec::new();
    for (a, &n) in level.layout.nodes[part as usize].iter().enumerate() {
        level.around(n as usize, |q, b| meets.push((q, b, a)));
    }
    meets.sort_unstable();
    let mut block = vec![0.0f32; DOF * DOF];
    for same in meets.chunk_by(|x, y| x.0 == y.0) {
        let Some(m) = of(same[0].0) else { continue };
        for &(_, b, a) in same {
            for &(_, bb, aa) in same {
                for c in 0..3 {
                    let (row, from) = ((3 * a + c) * DOF + 3 * aa, (3 * b + c) * DOF + 3 * bb);
                    for d in 0..3 {
                        block[row + d] += m[from + d];
                    }
                }
            }
        }
    }
    block
}

impl Blocks {
    fn new<'a>(level: &Level, group: &[u32], of: impl Fn(u32) -> Option<&'a Vec<f32>>) -> Self {
        let mut factor = vec![Pack::<f32>::zero(); LOWER];
        let mut scale = [[Pack::zero(); NODES]; 3];
        let mut nodes = [[0u32; LANES]; NODES];
        for l in 0..LANES {
            match group.get(l) {
                None => (0..DOF).for_each(|d| factor[d * (d + 1) / 2 + d].0[l] = 1.0),
                Some(&p) => {
                    let m = restricted(level, p, &of);
                    let least = 1e-9 * (0..DOF).map(|d| m[d * DOF + d]).fold(f32::MIN_POSITIVE, f32::max);
                    let s: Vec<f32> = (0..DOF).map(|d| 1.0 / m[d * DOF + d].max(least).sqrt()).collect();
                    for r in 0..DOF {
                        for c in 0..=r {
                            factor[r * (r + 1) / 2 + c].0[l] = m[r * DOF + c] * s[r] * s[c];
                        }
                        scale[r % 3][r / 3].0[l] = s[r];
                    }
                    for a in 0..NODES {
                        nodes[a][l] = level.layout.nodes[p as usize][a];
                    }
                }
            }
        }
        cholesky(&mut factor);
        Self { nodes, scale, factor }
    }

    fn solve(&self, r: &[[f32; 3]], out: &mut [[f32; 3]]) {
        let mut x = [Pack::<f32>::zero(); DOF];
        for a in 0..NODES {
            for l in 0..LANES {
                let v = r[self.nodes[a][l] as usize];
                for c in 0..3 {
                    x[3 * a + c].0[l] = v[c];
                }
            }
            for c in 0..3 {
                x[3 * a + c] = x[3 * a + c] * self.scale[c][a];
            }
        }
        for i in 0..DOF {
            let row = &self.factor[i * (i + 1) / 2..i * (i + 1) / 2 + i + 1];
            let mut s = [x[i], Pack::zero(), Pack::zero(), Pack::zero()];
            for (j, f) in row[..i].iter().enumerate() {
                s[j % 4] = s[j % 4] - *f * x[j];
            }
            // The diagonal is kept inverted.
            x[i] = ((s[0] + s[1]) + (s[2] + s[3])) * row[i];
        }
        for i in (0..DOF).rev() {
            let row = &self.factor[i * (i + 1) / 2..i * (i + 1) / 2 + i + 1];
            x[i] = x[i] * row[i];
            let v = x[i];
            for (j, f) in row[..i].iter().enumerate() {
                x[j] = x[j] - *f * v;
            }
        }
        for a in 0..NODES {
            for c in 0..3 {
                let v = x[3 * a + c] * self.scale[c][a];
                for l in 0..LANES {
                    out[a * LANES + l][c] = v.0[l];
                }
            }
        }
    }
}

/// Factorises eight matrices of unit diagonal; pivots lost to rounding are held up. The diagonal is left inverted.
fn cholesky(m: &mut [Pack<f32>]) {
    for i in 0..DOF {
        let (before, rest) = m.split_at_mut(i * (i + 1) / 2);
        let row = &mut rest[..=i];
        for j in 0..=i {
            let mut s = [row[j], Pack::zero(), Pack::zero(), Pack::zero()];
            if j < i {
                let other = &before[j * (j + 1) / 2..j * (j + 1) / 2 + j + 1];
                for k in 0..j {
                    s[k % 4] = s[k % 4] - row[k] * other[k];
                }
                row[j] = ((s[0] + s[1]) + (s[2] + s[3])) * other[j];
            } else {
                for k in 0..j {
                    s[k % 4] = s[k % 4] - row[k] * row[k];
                }
                let d = (s[0] + s[1]) + (s[2] + s[3]);
                row[j] = Pack(d.0.map(|d| 1.0 / d.max(3e-6).sqrt()));
            }
        }
    }
}
