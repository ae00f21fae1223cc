//! A bounding-box tree over the facets, for neighbours and for lines along z.
//!
//! Facets are put in order of the Morton code of their centre (G. M. Morton, 1966) and grouped four to a leaf; the tree
//! over the leaves is a complete binary one without pointers. Boxes are f32 relative to the middle of the mesh, rounded
//! outward.

use rayon::prelude::*;

use crate::geometry::bounds::Bounds;
use crate::geometry::mesh::{Mesh, Point};
use crate::geometry::vector::sub;

pub const LEAF: usize = 4;

/// A box in f32.
#[derive(Clone, Copy)]
pub struct Box3 {
    pub min: [f32; 3],
    pub max: [f32; 3],
}

impl Box3 {
    const EMPTY: Self = Self { min: [f32::INFINITY; 3], max: [f32::NEG_INFINITY; 3] };

    #[inline]
    pub fn touches(&self, other: &Self) -> bool {
        // Without short circuit: the comparisons run side by side.
        (self.min[0] <= other.max[0])
            & (other.min[0] <= self.max[0])
            & (self.min[1] <= other.max[1])
            & (other.min[1] <= self.max[1])
            & (self.min[2] <= other.max[2])
            & (other.min[2] <= self.max[2])
    }

    fn union(&self, other: &Self) -> Self {
        Self {
            min: [0, 1, 2].map(|k| self.min[k].min(other.min[k])),
            max: [0, 1, 2].map(|k| self.max[k].max(other.max[k])),
        }
    }
}

pub struct Tree {
    origin: Point,
    /// Facets in tree order.
    pub facets: Vec<u32>,
    /// The box of each facet, in tree order.
    pub boxes: Vec<Box3>,
    /// Inner boxes: the children of node `i` are `2i + 1` and `2i + 2`; the last `leaves` nodes are the leaves.
    nodes: Vec<Box3>,
    leaves: usize,
}

impl Tree {
    /// Builds a tree over the facets for which `counts` is true.
    pub fn new(mesh: &Mesh, bounds: &Bounds, counts: impl Fn(usize) -> bool) -> Self {
        let origin = bounds.centre();
        let largest = bounds.size().into_iter().fold(0.0, f64::max);
        let to_grid = if largest > 0.0 { 1023.99 / largest } else { 0.0 };
        let mut order: Vec<u64> = (0..mesh.triangles.len())
            .filter(|&t| counts(t))
            .map(|t| {
                let c = sub(mesh.centre(t), bounds.min);
                let cell = c.map(|c| spread((c * to_grid) as u32));
                u64::from(cell[0] | cell[1] << 1 | cell[2] << 2) << 32 | t as u64
            })
            .collect();
        order.par_sort_unstable();
        let facets: Vec<u32> = order.iter().map(|&o| o as u32).collect();
        let boxes: Vec<Box3> = facets.par_iter().map(|&t| facet_box(mesh, t as usize, origin)).collect();
        let leaves = facets.len().div_ceil(LEAF).next_power_of_two();
        let mut nodes = vec![Box3::EMPTY; 2 * leaves - 1];
        for (leaf, group) in boxes.chunks(LEAF).enumerate() {
            nodes[leaves - 1 + leaf] = group.iter().fold(Box3::EMPTY, |b, o| b.union(o));
        }
        for node in (0..leaves - 1).rev() {
            nodes[node] = nodes[2 * node + 1].union(&nodes[2 * node + 2]);
        }
        Self { origin, facets, boxes, nodes, leaves }
    }

    /// Returns the number of leaves that hold facets.
    pub fn leaves(&self) -> usize {
        self.facets.len().div_ceil(LEAF)
    }

    /// Returns the places (in tree order) of a leaf's facets.
    #[inline]
    pub fn leaf(&self, leaf: usize) -> std::ops::Range<usize> {
        LEAF * leaf..(LEAF * leaf + LEAF).min(self.facets.len())
    }

    /// Calls `found` with each leaf at or after `leaf` whose box touches it, until `found` returns false.
    #[inline]
    pub fn touching_from(&self, leaf: usize, mut found: impl FnMut(usize) -> bool) {
        let home = self.nodes[self.leaves - 1 + leaf];
        self.visit(
            |first, width, node| first + width > leaf && node.touches(&home),
            |other| other < leaf || found(other),
        );
    }

    /// Calls `found` with each facet whose box the line upward from `p` meets.
    pub fn above(&self, p: Point, mut found: impl FnMut(u32)) {
        let q = sub(p, self.origin);
        let (low, high) = (q.map(below), q.map(above));
        let meets = |b: &Box3| (0..2).all(|k| b.min[k] <= high[k] && low[k] <= b.max[k]) && low[2] <= b.max[2];
        self.visit(
            |_, _, node| meets(node),
            |leaf| {
                for i in self.leaf(leaf).filter(|&i| meets(&self.boxes[i])) {
                    found(self.facets[i]);
                }
                true
            },
        );
    }

    /// Walks down from the root where `enter(first leaf, number of leaves, box)` is true.
    #[inline]
    fn visit(&self, enter: impl Fn(usize, usize, &Box3) -> bool, mut leaf: impl FnMut(usize) -> bool) {
        // Depth is at most 32, and each level leaves at most one sibling waiting.
        let mut stack = [(0_u32, 0_u32, 0_u32); 64];
        stack[0] = (0, 0, self.leaves as u32);
        let mut top = 1;
        while top > 0 {
            top -= 1;
            let (node, first, width) = stack[top];
            if !enter(first as usize, width as usize, &self.nodes[node as usize]) {
                continue;
            }
            if width == 1 {
                if !leaf(first as usize) {
                    return;
                }
                continue;
            }
            let half = width / 2;
            stack[top] = (2 * node + 2, first + half, half);
            stack[top + 1] = (2 * node + 1, first, half);
            top += 2;
        }
    }
}

/// Spreads the low ten bits so that two free bits follow each.
fn spread(x: u32) -> u32 {
    let x = (x | x << 16) & 0x0300_00ff;
    let x = (x | x << 8) & 0x0300_f00f;
    let x = (x | x << 4) & 0x030c_30c3;
    (x | x << 2) & 0x0924_9249
}

#[inline]
fn below(x: f64) -> f32 {
    let y = x as f32;
    if f64::from(y) > x { y.next_down() } else { y }
}

#[inline]
fn above(x: f64) -> f32 {
    let y = x as f32;
    if f64::from(y) < x { y.next_up() } else { y }
}

fn facet_box(mesh: &Mesh, t: usize, origin: Point) -> Box3 {
    let [a, b, c] = mesh.corners(t).map(|p| sub(p, origin));
    Box3 {
        min: [0, 1, 2].map(|k| below(a[k].min(b[k]).min(c[k]))),
        max: [0, 1, 2].map(|k| above(a[k].max(b[k]).max(c[k]))),
    }
}
