//! One level of the grid as a linear operator: stiffness and holds, applied cell by cell.

use std::collections::BTreeMap;
use std::sync::Arc;

use rayon::prelude::*;

use super::basis::{NODES, POINTS, shapes, whole};
use super::element::{DOF, Halves, Room, beside};
use super::kernel::{self, Field, Shape, Weights};
use super::lanes::{LANES, Pack, Real};
use super::law::{Anisotropic, Isotropic, Stiffness, lame};
use super::parts::Layout;

/// The stiffness that empty space in a cut cell is given, over that of the material.
pub const FLOOR: f64 = 1e-5;

/// A vector over the nodes of a level.
pub type Nodal<T> = Vec<[T; 3]>;

/// A spring on the surface: where, and the stiffness tensor (per length) times the area.
#[derive(Debug, Clone, Copy)]
pub struct Spring {
    pub part: u32,
    pub within: [f64; 3],
    /// xx, yy, zz, xy, yz, zx.
    pub tensor: [f64; 6],
}

/// Where a spring sits: its part, and where in it.
#[derive(Debug, Clone, Copy)]
pub struct Site {
    pub part: u32,
    pub within: [f64; 3],
}

/// What a spring had and has: its number, and what its tensor gained.
pub type Change = (usize, [f64; 6]);

/// The springs of a part, summed: for each component of the tensor in use a symmetric matrix over its nodes.
#[derive(Default)]
struct Springs {
    /// The sums, of which the upper half counts, by component; empty where none is in use.
    sums: [Vec<f64>; 6],
    /// As they are applied.
    terms: Vec<([usize; 2], Vec<f32>)>,
}

enum BatchLaw {
    Isotropic { lambda: [f64; LANES], mu: [f64; LANES] },
    Any(Box<[[f64; LANES]; 21]>),
}

/// Eight cells of a kind.
struct Batch {
    parts: [u32; LANES],
    nodes: [[u32; LANES]; NODES],
    scale: [[f64; LANES]; 3],
    eighth: [f64; LANES],
    law: BatchLaw,
    weights: Option<Box<Weights>>,
    springs: Vec<(usize, u32)>,
}

/// The operator of one level.
pub struct Level {
    pub layout: Arc<Layout>,
    /// The material of each part.
    pub material: Arc<Vec<u32>>,
    pub laws: Arc<Vec<Stiffness>>,
    batches: Vec<Batch>,
    /// Where each part stands: its batch and lane.
    seats: Vec<(u32, u8)>,
    springs: Vec<Springs>,
    spring_of: BTreeMap<u32, u32>,
    /// Where each spring of the body sits in this level.
    sites: Vec<Site>,
    /// For each node the places in the cells' buffer whose sum it is.
    start: Vec<u32>,
    entries: Vec<u32>,
}

fn pack<T: Real>(x: &[f64; LANES]) -> Pack<T> {
    Pack(x.map(T::from_f64))
}

impl Level {
    pub fn new(layout: Layout, material: Vec<u32>, laws: Vec<Stiffness>, springs: &[Spring]) -> Self {
        let mut kinds: BTreeMap<(bool, bool), Vec<u32>> = BTreeMap::new();
        for p in 0..layout.cells.len() {
            let any = matches!(laws[material[p] as usize], Stiffness::Any(_));
            kinds.entry((layout.cut[p] != u32::MAX, any)).or_default().push(p as u32);
        }
        let groups: Vec<&[u32]> = kinds.values().flat_map(|parts| parts.chunks(LANES)).collect();
        let batches: Vec<Batch> =
            groups.par_iter().with_min_len(32).map(|g| Batch::new(&layout, &material, &laws, g)).collect();
        let mut seats = vec![(0, 0); layout.cells.len()];
        for (b, batch) in batches.iter().enumerate() {
            for (l, &p) in batch.parts.iter().enumerate().filter(|(_, p)| **p != u32::MAX) {
                seats[p as usize] = (b as u32, l as u8);
            }
        }
        let (start, entries) = gather_lists(&layout, &seats);
        let mut level = Self {
            layout: Arc::new(layout),
            material: Arc::new(material),
            laws: Arc::new(laws),
            batches,
            seats,
            springs: Vec::new(),
            spring_of: BTreeMap::new(),
            sites: springs.iter().map(|s| Site { part: s.part, within: s.within }).collect(),
            start,
            entries,
        };
        let tensors: Vec<[f64; 6]> = springs.iter().map(|s| s.tensor).collect();
        level.set_springs(&tensors);
        level
    }

    /// Sums the springs on the surface anew.
    pub fn set_springs(&mut self, tensors: &[[f64; 6]]) {
        self.springs.clear();
        self.spring_of.clear();
        self.batches.iter_mut().for_each(|b| b.springs.clear());
        let held = |(i, t): (usize, &[f64; 6])| t.iter().any(|c| *c != 0.0).then_some((i, *t));
        let all: Vec<Change> = tensors.iter().enumerate().filter_map(held).collect();
        self.change_springs(&all);
    }

    /// Adds to the tensors of some springs, and leaves all others as they are.
    pub fn change_springs(&mut self, changes: &[Change]) {
        let mut by_part: BTreeMap<u32, Vec<Change>> = BTreeMap::new();
        for change in changes {
            by_part.entry(self.sites[change.0].part).or_default().push(*change);
        }
        for &p in by_part.keys() {
            let next = self.springs.len() as u32;
            if let std::collections::btree_map::Entry::Vacant(seat) = self.spring_of.entry(p) {
                seat.insert(next);
                self.springs.push(Springs::default());
                let (b, l) = self.seats[p as usize];
                self.batches[b as usize].springs.push((l as usize, next));
            }
        }
        let (sites, spring_of) = (&self.sites, &self.spring_of);
        let mut own: Vec<Option<Vec<Change>>> = vec![None; self.springs.len()];
        for (p, list) in by_part {
            own[spring_of[&p] as usize] = Some(list);
        }
        self.springs.par_iter_mut().zip(own).for_each(|(springs, list)| {
            if let Some(list) = list {
                springs.change(sites, &list);
            }
        });
    }

    /// Returns the displacement where a spring of the body sits.
    pub fn moved_at(&self, spring: usize, u: &[[f64; 3]]) -> [f64; 3] {
        let Site { part, within } = self.sites[spring];
        let n = shapes(within);
        self.layout.nodes[part as usize].iter().zip(n).fold([0.0; 3], |s, (&v, n)| {
            let u = u[v as usize];
            [s[0] + n * u[0], s[1] + n * u[1], s[2] + n * u[2]]
        })
    }

    pub fn nodes(&self) -> usize {
        self.layout.lattice.len()
    }

    /// Returns room for the cells' forces.
    pub fn buffer<T: Real>(&self) -> Nodal<T> {
        vec![[T::default(); 3]; self.batches.len() * NODES * LANES]
    }

    /// Calculates `y = A x`.
    pub fn apply<T: Real>(&self, x: &[[T; 3]], y: &mut [[T; 3]], buffer: &mut [[T; 3]]) {
        buffer.par_chunks_mut(NODES * LANES).zip(&self.batches).with_min_len(16).for_each_init(
            Field::new,
            |field, (out, batch)| {
                let mut u = batch.gather(x);
                let before = (!batch.springs.is_empty()).then_some(u);
                batch.work(&mut u, field);
                if let Some(x) = before {
                    for &(l, s) in &batch.springs {
                        self.springs[s as usize].add(&x, &mut u, l);
                    }
                }
                for a in 0..NODES {
                    for l in 0..LANES {
                        out[a * LANES + l] = [u[0][a].0[l], u[1][a].0[l], u[2][a].0[l]];
                    }
                }
            },
        );
        self.sum(buffer, y);
    }

    /// Calculates `y = -G x`, where `G` is the geometric stiffness of the stresses under the displacement `state` (Cook
    /// and others, Concepts and Applications of Finite Element Analysis, chapter on stress stiffening).
    pub fn apply_pressed(&self, state: &[[f64; 3]], x: &[[f64; 3]], y: &mut [[f64; 3]], buffer: &mut [[f64; 3]]) {
        let one = whole().map(|w| w as f32);
        let whole = beside([&one; LANES]);
        let room = || (Field::new(), Field::new());
        buffer.par_chunks_mut(NODES * LANES).zip(&self.batches).with_min_len(16).for_each_init(
            room,
            |(stress, field), (out, batch)| {
                let mut u = batch.gather(state);
                let mut v = batch.gather(x);
                batch.press(&mut u, &mut v, &whole, stress, field);
                for a in 0..NODES {
                    for l in 0..LANES {
                        out[a * LANES + l] = [v[0][a].0[l], v[1][a].0[l], v[2][a].0[l]];
                    }
                }
            },
        );
        self.sum(buffer, y);
    }

    /// Calculates the sum at each node of the cells' buffer.
    pub fn sum<T: Real>(&self, buffer: &[[T; 3]], y: &mut [[T; 3]]) {
        y.par_iter_mut().enumerate().with_min_len(4096).for_each(|(n, y)| {
            let mut s = [T::default(); 3];
            for &e in &self.entries[self.start[n] as usize..self.start[n + 1] as usize] {
                let f = buffer[e as usize];
                s = [s[0] + f[0], s[1] + f[1], s[2] + f[2]];
            }
            *y = s;
        });
    }

    /// Fills the cells' buffer part by part (`fill` gets the part's number and its 27 places), and sums at the nodes.
    pub fn scatter<T: Real>(
        &self,
        y: &mut [[T; 3]],
        buffer: &mut [[T; 3]],
        fill: impl Fn(usize, &mut [[T; 3]; NODES]) + Sync,
    ) {
        buffer.par_chunks_mut(NODES * LANES).zip(&self.batches).with_min_len(16).for_each(|(out, batch)| {
            for l in 0..LANES {
                if batch.parts[l] != u32::MAX {
                    let mut own = [[T::default(); 3]; NODES];
                    fill(batch.parts[l] as usize, &mut own);
                    for a in 0..NODES {
                        out[a * LANES + l] = own[a];
                    }
                }
            }
        });
        self.sum(buffer, y);
    }

    /// Calls `each` for the parts that have `node`, with the node's number in them.
    pub fn around(&self, node: usize, mut each: impl FnMut(u32, usize)) {
        for &e in &self.entries[self.start[node] as usize..self.start[node + 1] as usize] {
            let (slot, l) = (e as usize / LANES, e as usize % LANES);
            each(self.batches[slot / NODES].parts[l], slot % NODES);
        }
    }

    /// Returns the stiffness matrices (with holds) of some parts.
    pub fn matrices(&self, parts: &[u32], room: &mut Room) -> Vec<Vec<f32>> {
        let mut out = Vec::with_capacity(parts.len());
        for group in parts.chunks(LANES) {
            let batch = Batch::new(&self.layout, &self.material, &self.laws, group);
            let one = whole().map(|w| w as f32);
            let weights = batch.weights.unwrap_or_else(|| beside([&one; LANES]));
            let made = room.matrices(
                &weights,
                &Shape { scale: batch.scale.map(|s| pack(&s)), eighth: pack(&batch.eighth) },
                &halves(&batch.law),
            );
            for (&p, mut m) in group.iter().zip(made) {
                if let Some(&s) = self.spring_of.get(&p) {
                    self.springs[s as usize].add_to(&mut m);
                }
                out.push(m);
            }
        }
        out
    }

    /// Returns a key that is the same for whole cells with the same matrix; `None` for any other part.
    pub fn class(&self, part: u32) -> Option<[u64; 4]> {
        let p = part as usize;
        let whole = self.layout.cut[p] == u32::MAX && !self.spring_of.contains_key(&part);
        let widths = self.layout.grid.widths(self.layout.cells[p]);
        whole.then(|| {
            let rounded = widths.map(|w| (w as f32).to_bits() as u64);
            [rounded[0], rounded[1], rounded[2], u64::from(self.material[p])]
        })
    }
}

fn halves(law: &BatchLaw) -> Halves {
    match law {
        BatchLaw::Any(m) => m.map(|x| pack(&x)),
        BatchLaw::Isotropic { lambda, mu } => {
            let mut h = [Pack::zero(); 21];
            let (lambda, mu) = (pack::<f32>(lambda), pack::<f32>(mu));
            for i in 0..3 {
                for j in i..3 {
                    h[super::law::half(i, j)] = if i == j { lambda + mu + mu } else { lambda };
                }
                h[super::law::half(i + 3, i + 3)] = mu;
            }
            h
        }
    }
}

fn gather_lists(layout: &Layout, seats: &[(u32, u8)]) -> (Vec<u32>, Vec<u32>) {
    let mut start = vec![0u32; layout.lattice.len() + 1];
    for nodes in &layout.nodes {
        for &n in nodes {
            start[n as usize + 1] += 1;
        }
    }
    for n in 0..layout.lattice.len() {
        start[n + 1] += start[n];
    }
    let mut next = start.clone();
    let mut entries = vec![0u32; layout.nodes.len() * NODES];
    for (p, nodes) in layout.nodes.iter().enumerate() {
        let (b, l) = seats[p];
        for (a, &n) in nodes.iter().enumerate() {
            entries[next[n as usize] as usize] = (b as usize * NODES + a) as u32 * LANES as u32 + u32::from(l);
            next[n as usize] += 1;
        }
    }
    (start, entries)
}

impl Batch {
    fn new(layout: &Layout, material: &[u32], laws: &[Stiffness], group: &[u32]) -> Self {
        let mut parts = [u32::MAX; LANES];
        parts[..group.len()].copy_from_slice(group);
        let mut nodes = [[0; LANES]; NODES];
        let (mut scale, mut eighth) = ([[1.0; LANES]; 3], [0.0; LANES]);
        let any = group.iter().any(|&p| matches!(laws[material[p as usize] as usize], Stiffness::Any(_)));
        let (mut lambda, mut mu) = ([0.0; LANES], [0.0; LANES]);
        let mut matrix = Box::new([[0.0; LANES]; 21]);
        let mut cut =
            group.iter().any(|&p| layout.cut[p as usize] != u32::MAX).then(|| Box::new([[0.0f32; LANES]; POINTS]));
        let one = whole();
        for (l, &p) in group.iter().enumerate() {
            let p = p as usize;
            for a in 0..NODES {
                nodes[a][l] = layout.nodes[p][a];
            }
            let widths = layout.grid.widths(layout.cells[p]);
            for d in 0..3 {
                scale[d][l] = 2.0 / widths[d];
            }
            eighth[l] = widths[0] * widths[1] * widths[2] / 8.0;
            match laws[material[p] as usize] {
                Stiffness::Isotropic { modulus, poisson } if !any => (lambda[l], mu[l]) = lame(modulus, poisson),
                law => {
                    let m = law.matrix();
                    for i in 0..6 {
                        for j in i..6 {
                            matrix[super::law::half(i, j)][l] = m[i][j];
                        }
                    }
                }
            }
            if let Some(w) = &mut cut {
                let own = layout.cut[p];
                for q in 0..POINTS {
                    w[q][l] = match own {
                        u32::MAX => one[q] as f32,
                        n => layout.weights[n as usize][q] + (FLOOR * one[q]) as f32,
                    };
                }
            }
        }
        let law = if any { BatchLaw::Any(matrix) } else { BatchLaw::Isotropic { lambda, mu } };
        Self { parts, nodes, scale, eighth, law, weights: cut, springs: Vec::new() }
    }

    #[inline(always)]
    fn gather<T: Real>(&self, x: &[[T; 3]]) -> kernel::Values<T> {
        let mut u = [[Pack::zero(); NODES]; 3];
        for a in 0..NODES {
            for l in 0..LANES {
                let v = x[self.nodes[a][l] as usize];
                u[0][a].0[l] = v[0];
                u[1][a].0[l] = v[1];
                u[2][a].0[l] = v[2];
            }
        }
        u
    }

    fn work<T: Real>(&self, u: &mut kernel::Values<T>, field: &mut Field<T>) {
        let shape = Shape { scale: [0, 1, 2].map(|d| pack(&self.scale[d])), eighth: pack(&self.eighth) };
        match (&self.law, &self.weights) {
            (BatchLaw::Isotropic { lambda, mu }, None) => {
                kernel::whole(u, &shape, &Isotropic { lambda: pack(lambda), mu: pack(mu) });
            }
            (BatchLaw::Isotropic { lambda, mu }, Some(w)) => {
                kernel::cut(u, &shape, &Isotropic { lambda: pack(lambda), mu: pack(mu) }, w, field);
            }
            (BatchLaw::Any(m), None) => kernel::whole(u, &shape, &Anisotropic(m.map(|x| pack(&x)))),
            (BatchLaw::Any(m), Some(w)) => kernel::cut(u, &shape, &Anisotropic(m.map(|x| pack(&x))), w, field),
        }
    }
}

impl Batch {
    fn press(
        &self,
        u: &mut kernel::Values<f64>,
        v: &mut kernel::Values<f64>,
        whole: &Weights,
        stress: &mut Field<f64>,
        field: &mut Field<f64>,
    ) {
        let shape = Shape { scale: [0, 1, 2].map(|d| pack(&self.scale[d])), eighth: pack(&self.eighth) };
        let empty = self.weights.is_some().then_some(FLOOR);
        let with = (&shape, self.weights.as_deref().unwrap_or(whole), empty);
        match &self.law {
            BatchLaw::Isotropic { lambda, mu } => {
                kernel::pressed(u, v, with, &Isotropic { lambda: pack(lambda), mu: pack(mu) }, stress, field);
            }
            BatchLaw::Any(m) => kernel::pressed(u, v, with, &Anisotropic(m.map(|x| pack(&x))), stress, field),
        }
    }
}

impl Springs {
    /// Adds what the tensors of some springs gain.
    fn change(&mut self, sites: &[Site], changes: &[Change]) {
        for &(i, gained) in changes {
            let n = shapes(sites[i].within);
            for (sum, k) in self.sums.iter_mut().zip(gained).filter(|(_, k)| *k != 0.0) {
                if sum.is_empty() {
                    *sum = vec![0.0; NODES * NODES];
                }
                // Symmetric: the upper half stands for both.
                for (a, row) in sum.as_chunks_mut::<NODES>().0.iter_mut().enumerate() {
                    let k = k * n[a];
                    for (m, n) in row[a..].iter_mut().zip(&n[a..]) {
                        *m += k * n;
                    }
                }
            }
        }
        let whole = |m: &[f64]| -> Vec<f32> {
            let at = |i: usize| [i / NODES, i % NODES];
            (0..m.len()).map(at).map(|[a, b]| m[a.min(b) * NODES + a.max(b)] as f32).collect()
        };
        let in_use = |(_, m): &(usize, &Vec<f64>)| m.iter().any(|x| *x != 0.0);
        let terms = self.sums.iter().enumerate().filter(in_use).map(|(t, m)| (super::law::VOIGT[t], whole(m)));
        self.terms = terms.collect();
    }

    fn add<T: Real>(&self, x: &kernel::Values<T>, y: &mut kernel::Values<T>, l: usize) {
        let lane = |c: usize| -> [T; NODES] { std::array::from_fn(|a| x[c][a].0[l]) };
        let own = [lane(0), lane(1), lane(2)];
        let mut sum = [[T::default(); NODES]; 3];
        for ([i, j], m) in &self.terms {
            // Symmetric: a column is a row, and so all nodes side by side are summed at once.
            for (b, column) in m.as_chunks::<NODES>().0.iter().enumerate() {
                let (xi, xj) = (own[*i][b], own[*j][b]);
                for a in 0..NODES {
                    sum[*i][a] += T::from_f32(column[a]) * xj;
                }
                if i != j {
                    for a in 0..NODES {
                        sum[*j][a] += T::from_f32(column[a]) * xi;
                    }
                }
            }
        }
        for (y, sum) in y.iter_mut().zip(sum) {
            y.iter_mut().zip(sum).for_each(|(y, s)| y.0[l] += s);
        }
    }

    fn add_to(&self, matrix: &mut [f32]) {
        for ([i, j], m) in &self.terms {
            for a in 0..NODES {
                for b in 0..NODES {
                    matrix[(3 * a + i) * DOF + 3 * b + j] += m[a * NODES + b];
                    if i != j {
                        matrix[(3 * a + j) * DOF + 3 * b + i] += m[a * NODES + b];
                    }
                }
            }
        }
    }
}
