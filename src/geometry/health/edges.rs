//! Which facet meets which: edges, their uses, fans around vertices, shells.
//!
//! A half-edge is numbered `3 t + k`: the side of triangle `t` from corner `k` to the next corner.

use std::sync::Arc;

use rayon::prelude::*;

use crate::mesh::Mesh;

/// No half-edge, no shell.
pub const NONE: u32 = u32::MAX;

/// The uses of every edge, in order of the lower vertex, then the higher.
pub struct Topology {
    /// For each half-edge the one other half-edge on the same edge, where there are exactly two; else [`NONE`].
    pub twin: Arc<Vec<u32>>,
    /// Half-edges of edges that one facet alone uses.
    pub open: Vec<u32>,
    /// One half-edge of each edge that two facets use in the same direction.
    pub flipped: Vec<u32>,
    /// Edges that three or more facets use.
    pub crowded: Vec<CrowdedEdge>,
}

/// An edge with three or more uses.
pub struct CrowdedEdge {
    pub half_edges: Vec<u32>,
    /// Uses from the lower to the higher vertex, and back.
    pub ways: [u32; 2],
}

impl CrowdedEdge {
    /// Returns whether the edge is passed as often one way as the other, as where two solids touch along it.
    pub fn is_balanced(&self) -> bool {
        self.ways[0] == self.ways[1]
    }
}

/// Returns the vertex a half-edge starts from.
#[inline]
pub fn start(mesh: &Mesh, half: u32) -> u32 {
    mesh.triangles[half as usize / 3][half as usize % 3]
}

/// Returns the vertex a half-edge ends at.
#[inline]
pub fn end(mesh: &Mesh, half: u32) -> u32 {
    start(mesh, next(half))
}

/// Returns the next side of the same facet.
#[inline]
fn next(half: u32) -> u32 {
    if half % 3 == 2 { half - 2 } else { half + 1 }
}

/// Returns the previous side of the same facet.
#[inline]
fn previous(half: u32) -> u32 {
    if half.is_multiple_of(3) { half + 2 } else { half - 1 }
}

impl Topology {
    /// Sorts the half-edges of all facets for which `counts` is true by edge. Linear in facets and vertices.
    pub fn new(mesh: &Mesh, counts: impl Fn(usize) -> bool) -> Self {
        let (starts, entries) = bucket(mesh, &counts);
        let mut topology = Self { twin: Arc::default(), open: Vec::new(), flipped: Vec::new(), crowded: Vec::new() };
        let mut twin = vec![NONE; mesh.triangles.len() * 3];
        let mut entries = entries;
        for window in starts.windows(2) {
            let bucket = &mut entries[window[0] as usize..window[1] as usize];
            if bucket.len() > 32 {
                bucket.sort_unstable();
            } else {
                insertion_sort(bucket);
            }
            topology.take(bucket, &mut twin);
        }
        topology.twin = Arc::new(twin);
        topology
    }

    /// Takes the uses of all edges whose lower vertex is the same; `bucket` is sorted by the higher vertex.
    #[inline]
    fn take(&mut self, bucket: &[u64], twin: &mut [u32]) {
        let mut rest = bucket;
        while let Some(&first) = rest.first() {
            let uses = rest.iter().take_while(|&&e| e >> 32 == first >> 32).count();
            let (edge, others) = rest.split_at(uses);
            rest = others;
            match *edge {
                [only] => self.open.push(only as u32 >> 1),
                [a, b] => {
                    let (ha, hb) = (a as u32 >> 1, b as u32 >> 1);
                    twin[ha as usize] = hb;
                    twin[hb as usize] = ha;
                    if a & 1 == b & 1 {
                        self.flipped.push(ha);
                    }
                }
                _ => {
                    let back = edge.iter().filter(|&&e| e & 1 == 1).count() as u32;
                    let half_edges = edge.iter().map(|&e| e as u32 >> 1).collect();
                    self.crowded.push(CrowdedEdge { half_edges, ways: [uses as u32 - back, back] });
                }
            }
        }
    }
}

/// Puts the half-edges into buckets by their lower vertex: bucket starts, and (higher vertex, half-edge, way) words.
fn bucket(mesh: &Mesh, counts: &impl Fn(usize) -> bool) -> (Vec<u32>, Vec<u64>) {
    let mut starts = vec![0_u32; mesh.vertices.len() + 1];
    for (t, corners) in mesh.triangles.iter().enumerate() {
        if counts(t) {
            let [a, b, c] = *corners;
            for lower in [a.min(b), b.min(c), c.min(a)] {
                starts[lower as usize + 1] += 1;
            }
        }
    }
    for v in 1..starts.len() {
        starts[v] += starts[v - 1];
    }
    let mut next = starts.clone();
    let mut entries = vec![0_u64; starts.last().copied().unwrap_or(0) as usize];
    for (t, corners) in mesh.triangles.iter().enumerate() {
        if counts(t) {
            for k in 0..3 {
                let (a, b) = (corners[k], corners[(k + 1) % 3]);
                let half = (3 * t + k) as u64;
                let slot = &mut next[a.min(b) as usize];
                entries[*slot as usize] = u64::from(a.max(b)) << 32 | half << 1 | u64::from(a > b);
                *slot += 1;
            }
        }
    }
    (starts, entries)
}

#[inline]
fn insertion_sort(words: &mut [u64]) {
    for i in 1..words.len() {
        let word = words[i];
        let mut j = i;
        while j > 0 && words[j - 1] > word {
            words[j] = words[j - 1];
            j -= 1;
        }
        words[j] = word;
    }
}

/// The facets grouped into shells that hang together by their edges.
pub struct Shells {
    /// The shell of each facet, numbered by first facet; [`NONE`] for facets left out.
    pub of: Vec<u32>,
    pub count: usize,
    /// Facets whose winding is against the majority of their shell.
    pub against: Vec<u32>,
    /// For each shell, whether its facets cannot all be wound alike (a one-sided surface).
    pub one_sided: Vec<bool>,
}

/// Groups facets joined by edges with exactly two uses, and by crowded edges unless two solids merely touch there.
pub fn shells(mesh: &Mesh, topology: &Topology, counts: impl Fn(usize) -> bool) -> Shells {
    let mut walk = Walk::new(mesh.triangles.len());
    for t in 0..mesh.triangles.len() {
        if walk.of[t] == NONE && counts(t) {
            walk.shell_from(mesh, topology, t as u32);
        }
    }
    walk.finish(topology)
}

struct Walk {
    of: Vec<u32>,
    /// Whether a facet is wound against the first facet of its shell.
    turned: Vec<bool>,
    one_sided: Vec<bool>,
    stack: Vec<u32>,
}

impl Walk {
    fn new(facets: usize) -> Self {
        Self { of: vec![NONE; facets], turned: vec![false; facets], one_sided: Vec::new(), stack: Vec::new() }
    }

    fn shell_from(&mut self, mesh: &Mesh, topology: &Topology, first: u32) {
        let shell = self.one_sided.len() as u32;
        self.one_sided.push(false);
        self.of[first as usize] = shell;
        self.stack.push(first);
        // Looking up which way a neighbour runs costs more than all the rest; without flipped edges it is known.
        let even = topology.flipped.is_empty();
        while let Some(t) = self.stack.pop() {
            let turned = self.turned[t as usize];
            for half in 3 * t..3 * t + 3 {
                let twin = topology.twin[half as usize];
                if twin == NONE {
                    continue;
                }
                let other = twin as usize / 3;
                let turns = turned ^ (!even && start(mesh, half) == start(mesh, twin));
                if self.of[other] == NONE {
                    self.of[other] = shell;
                    self.turned[other] = turns;
                    self.stack.push(other as u32);
                } else if self.turned[other] != turns {
                    self.one_sided[shell as usize] = true;
                }
            }
        }
    }

    fn finish(self, topology: &Topology) -> Shells {
        let parts = self.one_sided.len();
        let mut counts = vec![[0_usize; 2]; parts];
        for (&shell, &turned) in self.of.iter().zip(&self.turned) {
            if shell != NONE {
                counts[shell as usize][usize::from(turned)] += 1;
            }
        }
        let minority = |shell: u32| {
            let [straight, turned] = counts[shell as usize];
            turned <= straight
        };
        let facets = 0..self.of.len();
        let against = facets
            .filter(|&t| self.of[t] != NONE && self.turned[t] == minority(self.of[t]) && self.mixed(&counts, t))
            .map(|t| t as u32)
            .collect();
        let (number, count) = join(parts, topology, &self.of);
        let mut one_sided = vec![false; count];
        for (part, &odd) in self.one_sided.iter().enumerate() {
            one_sided[number[part] as usize] |= odd;
        }
        let of = self.of.iter().map(|&s| if s == NONE { NONE } else { number[s as usize] }).collect();
        Shells { of, count, against, one_sided }
    }

    fn mixed(&self, counts: &[[usize; 2]], t: usize) -> bool {
        counts[self.of[t] as usize].iter().all(|&n| n > 0)
    }
}

/// Joins parts that meet at an unbalanced crowded edge; returns the new number of each part and how many there are.
fn join(parts: usize, topology: &Topology, of: &[u32]) -> (Vec<u32>, usize) {
    let mut root: Vec<u32> = (0..parts as u32).collect();
    fn find(root: &mut [u32], mut a: u32) -> u32 {
        while root[a as usize] != a {
            root[a as usize] = root[root[a as usize] as usize];
            a = root[a as usize];
        }
        a
    }
    for edge in topology.crowded.iter().filter(|e| !e.is_balanced()) {
        let mut shells = edge.half_edges.iter().map(|&h| of[h as usize / 3]);
        let Some(first) = shells.next() else { continue };
        for other in shells {
            let (a, b) = (find(&mut root, first), find(&mut root, other));
            // The lower number stays the root, so that shells remain numbered by first facet.
            root[a.max(b) as usize] = a.min(b);
        }
    }
    let mut number = vec![NONE; parts];
    let mut count = 0;
    for part in 0..parts as u32 {
        let r = find(&mut root, part) as usize;
        if number[r] == NONE {
            number[r] = count;
            count += 1;
        }
        number[part as usize] = number[r];
    }
    (number, count as usize)
}

/// How many facet corners lie at each vertex, and the half-edge that starts at one of them.
pub struct Corners {
    count: Vec<u32>,
    any: Vec<u32>,
}

impl Corners {
    pub fn new(mesh: &Mesh, counts: impl Fn(usize) -> bool) -> Self {
        let (mut count, mut any) = (vec![0_u32; mesh.vertices.len()], vec![NONE; mesh.vertices.len()]);
        for (t, triangle) in mesh.triangles.iter().enumerate() {
            if counts(t) {
                for (k, &v) in triangle.iter().enumerate() {
                    count[v as usize] += 1;
                    any[v as usize] = (3 * t + k) as u32;
                }
            }
        }
        Self { count, any }
    }

    /// Returns how many vertices the facets use.
    pub fn vertices(&self) -> usize {
        self.count.iter().filter(|&&n| n > 0).count()
    }
}

/// Returns the vertices at which facets meet in more than one fan, although every edge there is in order.
///
/// Walks once around every vertex; only where the walk does not meet all corners are the corners grouped one by one.
pub fn split_vertices(mesh: &Mesh, topology: &Topology, corners: &Corners, counts: impl Fn(usize) -> bool) -> Vec<u32> {
    let doubtful: Vec<u32> = (0..mesh.vertices.len())
        .into_par_iter()
        .with_min_len(4096)
        .filter(|&v| corners.count[v] > 0 && !one_fan(mesh, topology, corners.any[v], corners.count[v]))
        .map(|v| v as u32)
        .collect();
    if doubtful.is_empty() { doubtful } else { count_fans(mesh, topology, &doubtful, counts) }
}

/// Returns whether walking around the vertex at the start of `first` closes after exactly `corners` corners.
#[inline]
fn one_fan(mesh: &Mesh, topology: &Topology, first: u32, corners: u32) -> bool {
    let even = topology.flipped.is_empty();
    let vertex = start(mesh, first);
    let mut half = first;
    for step in 1..=corners {
        // The previous side of the facet ends at the vertex; its twin starts there, unless wound the other way.
        half = topology.twin[previous(half) as usize];
        if half == NONE || (!even && start(mesh, half) != vertex) {
            return false;
        }
        if half == first {
            return step == corners;
        }
    }
    false
}

/// Keeps those of the vertices (ascending) around which the facets form more than one fan.
///
/// Vertices of crowded edges are passed over: the edge is the defect there, and is reported as such.
fn count_fans(mesh: &Mesh, topology: &Topology, doubtful: &[u32], counts: impl Fn(usize) -> bool) -> Vec<u32> {
    let mut slot = vec![NONE; mesh.vertices.len()];
    for (i, &v) in doubtful.iter().enumerate() {
        slot[v as usize] = i as u32;
    }
    for &half in topology.crowded.iter().flat_map(|e| &e.half_edges) {
        slot[start(mesh, half) as usize] = NONE;
        slot[end(mesh, half) as usize] = NONE;
    }
    let mut around: Vec<(u32, u32)> = Vec::new();
    for (t, triangle) in mesh.triangles.iter().enumerate() {
        if counts(t) {
            let corners = triangle.iter().enumerate().filter(|&(_, &v)| slot[v as usize] != NONE);
            around.extend(corners.map(|(k, &v)| (v, (3 * t + k) as u32)));
        }
    }
    around.sort_unstable();
    around
        .chunk_by(|a, b| a.0 == b.0)
        .filter(|corners| fans(topology, corners) > 1)
        .map(|corners| corners[0].0)
        .collect()
}

/// Returns the number of fans that the corners around one vertex form; corners are (vertex, half-edge), ascending.
fn fans(topology: &Topology, corners: &[(u32, u32)]) -> usize {
    let find_facet = |half: u32| {
        let facet = half / 3;
        let at = corners.partition_point(|&(_, h)| h / 3 < facet);
        corners.get(at).is_some_and(|&(_, h)| h / 3 == facet).then_some(at)
    };
    let mut seen = vec![false; corners.len()];
    let mut stack = Vec::new();
    let mut fans = 0;
    for first in 0..corners.len() {
        if std::mem::replace(&mut seen[first], true) {
            continue;
        }
        fans += 1;
        stack.push(first);
        while let Some(at) = stack.pop() {
            let half = corners[at].1;
            for twin in [topology.twin[half as usize], topology.twin[previous(half) as usize]] {
                if twin != NONE
                    && let Some(other) = find_facet(twin)
                    && !std::mem::replace(&mut seen[other], true)
                {
                    stack.push(other);
                }
            }
        }
    }
    fans
}
