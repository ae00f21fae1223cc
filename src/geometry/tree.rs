//! A bounding-box tree over the facets of a mesh: for rays, for facets near one another, and for lines along z.
//!
//! Built from the top down by the surface area heuristic over bins along the longest side of the centres (I. Wald, "On
//! fast construction of SAH-based bounding volume hierarchies", IEEE Symposium on Interactive Ray Tracing 2007), both
//! halves of a node at once on as many threads as there are; what is built does not depend on their number. Boxes are in
//! 32-bit numbers about the middle of the mesh, on a scale at which the mesh is about one across, and wider than the
//! facets by [`MARGIN`], which covers all rounding of the tests against them.

use rayon::prelude::*;

use super::bounds::Bounds;
use super::mesh::{Mesh, Point};

mod build;
mod pairs;

pub use pairs::Budget;

/// Boxes are wider than what they hold by this, on the scale of the tree.
///
/// A 32-bit number of size 1 is right to 2^-25. A box's side, a ray's origin, their difference, the inverse of the
/// direction and the product each round once, at lengths up to 4: together less than 2^-21.
const MARGIN: f64 = 1.0 / (1 << 20) as f64;
/// Facets in a leaf at most.
pub const LEAF: usize = 4;
/// No leaf lies deeper: from half of this on, nodes are halved by number.
const DEEPEST: usize = 96;

/// A box in 32-bit numbers, on the scale of the tree.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Box3 {
    /// Lowest corner.
    pub min: [f32; 3],
    /// Highest corner.
    pub max: [f32; 3],
}

impl Box3 {
    const EMPTY: Self = Self { min: [f32::INFINITY; 3], max: [f32::NEG_INFINITY; 3] };

    /// Returns whether the boxes have a point in common.
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

    #[inline]
    fn include(&mut self, other: &Self) {
        for k in 0..3 {
            // Not by `min`, which would look for what is no number.
            self.min[k] = if other.min[k] < self.min[k] { other.min[k] } else { self.min[k] };
            self.max[k] = if other.max[k] > self.max[k] { other.max[k] } else { self.max[k] };
        }
    }

    /// Returns half the surface.
    #[inline]
    fn half_area(&self) -> f32 {
        let [x, y, z] = [0, 1, 2].map(|k| self.max[k] - self.min[k]);
        x * y + y * z + z * x
    }

    /// Returns twice the middle.
    #[inline]
    fn middle(&self, k: usize) -> f32 {
        self.min[k] + self.max[k]
    }
}

/// Inner where `count` is zero: its children are the nodes `first` and `first + 1`. Else a leaf: its facets stand at
/// `first` and after.
#[derive(Debug, Clone, Copy)]
struct Node {
    around: Box3,
    first: u32,
    count: u32,
}

/// The tree; see the module. It holds numbers of facets, no facets.
#[derive(Debug)]
pub struct Tree {
    frame: Frame,
    nodes: Vec<Node>,
    /// Facets in tree order.
    facets: Vec<u32>,
}

/// The boxes of the facets: much memory, which only few questions need.
#[derive(Debug)]
pub struct Boxes(Vec<build::Item>);

/// Where the tree's numbers are and how large: `(p - origin) * unit`, done so that nothing overflows on the way.
#[derive(Debug, Clone, Copy)]
struct Frame {
    origin: Point,
    unit: f64,
}

impl Frame {
    fn new(bounds: &Bounds) -> Self {
        let largest = bounds.size().into_iter().fold(0.0, f64::max);
        // A power of two, so that scaling rounds nothing.
        let exponent = if largest > 0.0 && largest.is_finite() { largest.log2().ceil() } else { 1023.0 };
        let unit = if largest > 0.0 { (-exponent).clamp(-1000.0, 1000.0).exp2() } else { 1.0 };
        Self { origin: bounds.centre().map(|c| c * unit), unit }
    }

    #[inline]
    fn to_tree(self, p: Point) -> Point {
        [0, 1, 2].map(|k| p[k] * self.unit - self.origin[k])
    }

    #[inline]
    fn around(self, mesh: &Mesh, t: usize) -> Box3 {
        let [a, b, c] = mesh.corners(t).map(|p| self.to_tree(p));
        Box3 {
            min: [0, 1, 2].map(|k| (a[k].min(b[k]).min(c[k]) - MARGIN) as f32),
            max: [0, 1, 2].map(|k| (a[k].max(b[k]).max(c[k]) + MARGIN) as f32),
        }
    }
}

impl Tree {
    /// Builds the tree over all facets: O(n log n).
    pub fn new(mesh: &Mesh) -> Self {
        Self::with_boxes(mesh).0
    }

    /// Builds the tree, and keeps the box of each facet, in tree order, for [`Self::touching_pairs`].
    pub fn with_boxes(mesh: &Mesh) -> (Self, Boxes) {
        let bounds = Bounds::of(mesh.vertices.iter().copied());
        let frame = Frame::new(&bounds);
        let mut items: Vec<build::Item> = (0..mesh.triangles.len())
            .into_par_iter()
            .with_min_len(4096)
            .map(|t| build::Item { around: frame.around(mesh, t), facet: t as u32 })
            .collect();
        let nodes = build::nodes(&mut items);
        let facets = items.par_iter().with_min_len(8192).map(|i| i.facet).collect();
        (Self { frame, nodes, facets }, Boxes(items))
    }

    /// Calls `found` with each facet whose box the line upward from `p` meets.
    pub fn above(&self, mesh: &Mesh, p: Point, mut found: impl FnMut(u32)) {
        let q = self.frame.to_tree(p).map(|c| c as f32);
        let meets = |b: &Box3| (0..2).all(|k| b.min[k] <= q[k] && q[k] <= b.max[k]) && q[2] <= b.max[2];
        let mut waiting = vec![0];
        while let Some(node) = waiting.pop() {
            let Some(node) = self.nodes.get(node as usize).filter(|n| meets(&n.around)) else { continue };
            if node.count == 0 {
                waiting.extend([node.first + 1, node.first]);
            }
            for &t in self.leaf(node) {
                if meets(&self.frame.around(mesh, t as usize)) {
                    found(t);
                }
            }
        }
    }

    /// Returns the facets of a leaf; none of an inner node.
    #[inline]
    fn leaf(&self, node: &Node) -> &[u32] {
        if node.count == 0 { &[] } else { &self.facets[node.first as usize..(node.first + node.count) as usize] }
    }

    /// Returns the facet for which `meet(facet, best)` gives the least distance along the ray, up to `farthest`, and that
    /// distance; of equal ones the lowest facet. `meet` returns a distance, or `None` where the ray passes or nothing is
    /// to be met.
    ///
    /// With `any`, the first that is found is as good as the nearest.
    #[inline]
    pub fn nearest(
        &self,
        origin: Point,
        direction: Point,
        farthest: f64,
        any: bool,
        meet: impl Fn(u32) -> Option<f64>,
    ) -> Option<(f64, u32)> {
        let ray = Ray::new(self.frame, origin, direction)?;
        let mut best = (farthest, u32::MAX);
        let mut limit = ray.limit(farthest);
        let mut stack = [(0.0_f32, 0_u32); DEEPEST + 4];
        let mut top = 1;
        ray.enters(&self.nodes.first()?.around, limit)?;
        while top > 0 {
            top -= 1;
            let (enters, number) = stack[top];
            if enters > limit {
                continue;
            }
            let mut node = &self.nodes[number as usize];
            while node.count == 0 {
                let (left, right) = (&self.nodes[node.first as usize], &self.nodes[node.first as usize + 1]);
                match (ray.enters(&left.around, limit), ray.enters(&right.around, limit)) {
                    (Some(l), Some(r)) => {
                        let (nearer, later) =
                            if l <= r { (left, (r, node.first + 1)) } else { (right, (l, node.first)) };
                        stack[top] = later;
                        top += 1;
                        node = nearer;
                    }
                    (Some(_), None) => node = left,
                    (None, Some(_)) => node = right,
                    (None, None) => break,
                }
            }
            for &t in self.leaf(node) {
                let Some(d) = meet(t) else { continue };
                if d < best.0 || (d == best.0 && t < best.1 && best.1 != u32::MAX) {
                    best = (d, t);
                    limit = ray.limit(d);
                    if any {
                        return Some(best);
                    }
                }
            }
        }
        (best.1 != u32::MAX).then_some(best)
    }
}

/// A ray on the scale of the tree.
struct Ray {
    start: [f32; 3],
    inverse: [f32; 3],
    /// Distance on the tree's scale, in units of the longest component of the direction, for one along the ray.
    step: f64,
}

impl Ray {
    fn new(frame: Frame, origin: Point, direction: Point) -> Option<Self> {
        let longest = direction.iter().fold(0.0_f64, |m, c| m.max(c.abs()));
        if longest == 0.0 || !longest.is_finite() {
            return None;
        }
        let inverse = direction.map(|c| {
            let c = (c / longest) as f32;
            // A ray as good as along a side: this far aslant it is off by nothing, and 0 times infinity is no number.
            if c.abs() < 1e-18 { 1e18 } else { 1.0 / c }
        });
        Some(Self { start: frame.to_tree(origin).map(|c| c as f32), inverse, step: longest * frame.unit })
    }

    /// Returns a distance no less than `distance` on the scale of the tree.
    #[inline]
    fn limit(&self, distance: f64) -> f32 {
        (distance * self.step * (1.0 + 1e-6) + MARGIN) as f32
    }

    /// Returns where the ray enters a box, if it does before `limit`. Slab test (Kay and Kajiya, SIGGRAPH 1986).
    #[inline]
    fn enters(&self, b: &Box3, limit: f32) -> Option<f32> {
        let less = |a: f32, b: f32| if a < b { a } else { b };
        let more = |a: f32, b: f32| if a > b { a } else { b };
        let (mut near, mut far) = (0.0, limit);
        for k in 0..3 {
            let (a, b) = ((b.min[k] - self.start[k]) * self.inverse[k], (b.max[k] - self.start[k]) * self.inverse[k]);
            near = more(near, less(a, b));
            far = less(far, more(a, b));
        }
        (near <= far).then_some(near)
    }
}
