//! Joining the corners of very many facets at once.
//!
//! The corners are first dealt into buckets by a hash of where they are, as one does for joining tables that do not fit the
//! processor's cache (A. Shatdal, C. Kant, J. F. Naughton, "Cache conscious algorithms for relational query processing",
//! VLDB 1994); each bucket then needs a small table only. Both go on on all threads at once. The numbering follows the
//! first appearance of each point and so does not depend on the threads.

use std::hash::{BuildHasher, RandomState};
use std::sync::atomic::{AtomicU32, Ordering};

use rayon::prelude::*;

use crate::mesh::{Mesh, Point};

/// The corners of a facet as a file gives them.
pub type Corners = [[f32; 3]; 3];

/// Facets dealt out in one go.
const DEAL: usize = 1 << 15;
/// Corners meant for one bucket, and buckets at most.
const BUCKET: usize = 1 << 13;
const MOST_BUCKETS: usize = 1 << 10;
/// No place in a table, and a corner of a facet that is left out.
const NONE: u32 = u32::MAX;

/// Welds bit-equal corners of facets `0..count` (minus zero counts as zero); those for which `facet` gives `None` are left
/// out. Coordinates must be finite. Returns `None` for more than [`Mesh::MOST_TRIANGLES`].
pub fn weld_facets(count: usize, facet: impl Fn(usize) -> Option<Corners> + Sync) -> Option<Mesh> {
    if count > Mesh::MOST_TRIANGLES {
        return None;
    }
    let random = RandomState::new();
    let buckets = (3 * count / BUCKET).next_power_of_two().min(MOST_BUCKETS);
    let hasher = Hasher { seed: [random.hash_one(1), random.hash_one(2)], buckets };
    let dealt: Vec<Dealt> = (0..count.div_ceil(DEAL))
        .into_par_iter()
        .map(|d| Dealt::new(d * DEAL..((d + 1) * DEAL).min(count), &facet, hasher))
        .collect();
    let mut firsts: Vec<[AtomicU32; 3]> = Vec::with_capacity(count);
    firsts.resize_with(count, || [NONE; 3].map(AtomicU32::new));
    (0..buckets).into_par_iter().for_each_init(Table::default, |table, bucket| {
        table.join(dealt.iter().map(|d| d.bucket(bucket)), hasher, &firsts);
    });
    drop(dealt);
    Some(number(firsts, &facet))
}

/// A corner's place in bits, so that equal places are equal words.
type Key = [u32; 3];

fn keys(corners: Corners) -> [Key; 3] {
    // Adding zero turns minus zero into zero.
    corners.map(|c| c.map(|x| (x + 0.0).to_bits()))
}

/// The seed is drawn at random so that no file can be made to collide.
#[derive(Clone, Copy)]
struct Hasher {
    seed: [u64; 2],
    buckets: usize,
}

impl Hasher {
    #[inline]
    fn hash(&self, [x, y, z]: Key) -> u64 {
        let fold = |a: u64, b: u64| {
            let wide = u128::from(a) * u128::from(b);
            (wide as u64) ^ ((wide >> 64) as u64)
        };
        let first = fold((u64::from(x) << 32 | u64::from(y)) ^ self.seed[0], u64::from(z) ^ self.seed[1]);
        fold(first, 0x9e37_79b9_7f4a_7c15)
    }

    #[inline]
    fn bucket(&self, hash: u64) -> usize {
        (hash >> 40) as usize & (self.buckets - 1)
    }
}

/// The corners of some facets, by bucket, in their order within each.
struct Dealt {
    corners: Vec<(Key, u32)>,
    ends: Vec<u32>,
}

impl Dealt {
    fn new(range: std::ops::Range<usize>, facet: &impl Fn(usize) -> Option<Corners>, hasher: Hasher) -> Self {
        let all = || range.clone().filter_map(|t| facet(t).map(|c| (t, keys(c))));
        let mut ends = vec![0_u32; hasher.buckets];
        all().flat_map(|(_, keys)| keys).for_each(|key| ends[hasher.bucket(hasher.hash(key))] += 1);
        let mut sum = 0;
        for end in &mut ends {
            sum += std::mem::replace(end, sum);
        }
        let mut corners = vec![([0; 3], 0); sum as usize];
        for (t, keys) in all() {
            for (k, key) in keys.into_iter().enumerate() {
                let slot = &mut ends[hasher.bucket(hasher.hash(key))];
                corners[*slot as usize] = (key, (3 * t + k) as u32);
                *slot += 1;
            }
        }
        Self { corners, ends }
    }

    fn bucket(&self, bucket: usize) -> &[(Key, u32)] {
        let start = bucket.checked_sub(1).map_or(0, |before| self.ends[before]);
        &self.corners[start as usize..self.ends[bucket] as usize]
    }
}

/// The distinct corners of one bucket: an open-addressing table of places in a list.
#[derive(Default)]
struct Table {
    slots: Vec<u32>,
    distinct: Vec<(Key, u32)>,
}

impl Table {
    /// Notes for each corner the first one at the same place.
    fn join<'d>(
        &mut self,
        parts: impl Iterator<Item = &'d [(Key, u32)]> + Clone,
        hasher: Hasher,
        firsts: &[[AtomicU32; 3]],
    ) {
        let corners = parts.clone().map(<[_]>::len).sum::<usize>();
        self.slots.clear();
        self.slots.resize((2 * corners).next_power_of_two(), NONE);
        self.distinct.clear();
        let mask = self.slots.len() - 1;
        for &(key, corner) in parts.flatten() {
            let mut slot = hasher.hash(key) as usize & mask;
            let first = loop {
                match self.distinct.get(self.slots[slot] as usize) {
                    None => {
                        self.slots[slot] = self.distinct.len() as u32;
                        self.distinct.push((key, corner));
                        break corner;
                    }
                    Some(&(other, first)) if other == key => break first,
                    Some(_) => slot = (slot + 1) & mask,
                }
            };
            firsts[corner as usize / 3][corner as usize % 3].store(first, Ordering::Relaxed);
        }
    }
}

/// Numbers the points by first appearance.
fn number(firsts: Vec<[AtomicU32; 3]>, facet: &impl Fn(usize) -> Option<Corners>) -> Mesh {
    let mut triangles: Vec<[u32; 3]> = firsts.into_iter().map(|f| f.map(AtomicU32::into_inner)).collect();
    let mut vertices: Vec<Point> = Vec::with_capacity(triangles.len() / 2 + 2);
    let mut left_out = false;
    for t in 0..triangles.len() {
        let Some(corners) = (triangles[t][0] != NONE).then(|| facet(t)).flatten() else {
            left_out = true;
            continue;
        };
        for k in 0..3 {
            let first = triangles[t][k] as usize;
            // An earlier corner holds its point's number by now.
            triangles[t][k] = if first == 3 * t + k {
                vertices.push(corners[k].map(|x| f64::from(x + 0.0)));
                vertices.len() as u32 - 1
            } else {
                triangles[first / 3][first % 3]
            };
        }
    }
    if left_out {
        triangles.retain(|t| t[0] != NONE);
    }
    Mesh { vertices, triangles }
}

#[cfg(test)]
mod tests {
    use super::super::Welder;
    use super::*;

    /// A grid of facets, each point shared by six, in an order that goes back and forth.
    fn grid(side: u32) -> Vec<Corners> {
        let at = |i: u32, j: u32| [i as f32 * 0.1, j as f32 * 0.1 - 3.0, (i * j % 7) as f32 * -0.0];
        let squares = (0..side * side).map(|s| s * 7919 % (side * side)).map(|s| (s / side, s % side));
        squares
            .flat_map(|(i, j)| {
                let [a, b, c, d] = [at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1)];
                [[a, b, c], [a, c, d]]
            })
            .collect()
    }

    #[test]
    fn it_welds_as_one_by_one() {
        for side in [1, 2, 40, 250] {
            let facets = grid(side);
            let mut welder = Welder::new(8);
            let one_by_one: Vec<[u32; 3]> =
                facets.iter().map(|f| f.map(|c| welder.index(c.map(f64::from)).unwrap())).collect();
            let mesh = weld_facets(facets.len(), |t| Some(facets[t])).unwrap();
            assert_eq!(mesh.triangles, one_by_one);
            assert_eq!(mesh.vertices, welder.into_points());
            assert_eq!(mesh.vertices.len(), ((side + 1) * (side + 1)) as usize);
        }
    }

    #[test]
    fn facets_left_out_leave_no_points() {
        let facets = grid(30);
        let kept: Vec<Corners> = facets.iter().copied().enumerate().filter(|(t, _)| t % 3 != 0).map(|f| f.1).collect();
        let some = weld_facets(facets.len(), |t| (t % 3 != 0).then_some(facets[t])).unwrap();
        assert_eq!(some, weld_facets(kept.len(), |t| Some(kept[t])).unwrap());
        assert_eq!(weld_facets(9, |_| None), Some(Mesh::default()));
        assert_eq!(weld_facets(0, |_| None), Some(Mesh::default()));
        assert_eq!(weld_facets(Mesh::MOST_TRIANGLES + 1, |_| None), None);
    }

    #[test]
    fn all_in_one_place_is_one_point() {
        let mesh = weld_facets(100_000, |_| Some([[0.0, -0.0, 1.0]; 3])).unwrap();
        assert_eq!((mesh.vertices, mesh.triangles.len()), (vec![[0.0, 0.0, 1.0]], 100_000));
    }
}
