//! Straight looks through the part: where a ray meets the surface first.

use parry3d_f64::bounding_volume::Aabb;
use parry3d_f64::math::Vector as PVector;
use parry3d_f64::partitioning::{Bvh, BvhBuildStrategy};
use parry3d_f64::query::Ray;

use super::mesh::{Mesh, Point};
use super::vector::{Vector, cross, dot, sub};

/// A tree over the facets of one mesh.
pub struct Rays<'a> {
    mesh: &'a Mesh,
    tree: Bvh,
}

/// Where a ray met the surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hit {
    /// Distance from the origin, in units of the direction's length.
    pub distance: f64,
    pub facet: u32,
}

impl<'a> Rays<'a> {
    /// Builds the tree: O(n log n) in facets.
    pub fn new(mesh: &'a Mesh) -> Self {
        let vector = |p: Point| PVector::new(p[0], p[1], p[2]);
        let boxes: Vec<Aabb> = (0..mesh.triangles.len())
            .map(|t| {
                let [a, b, c] = mesh.corners(t).map(vector);
                Aabb::new(a.min(b).min(c), a.max(b).max(c))
            })
            .collect();
        Self { mesh, tree: Bvh::from_leaves(BvhBuildStrategy::Binned, &boxes) }
    }

    /// Returns the first facet met within `farthest`, from either side, if any.
    pub fn hit(&self, origin: Point, direction: Vector, farthest: f64) -> Option<Hit> {
        self.hit_where(origin, direction, farthest, |_| true)
    }

    /// Returns the first facet met for which `counts` is true.
    pub fn hit_where(
        &self,
        origin: Point,
        direction: Vector,
        farthest: f64,
        counts: impl Fn(u32) -> bool,
    ) -> Option<Hit> {
        let ray = Ray::new(
            PVector::new(origin[0], origin[1], origin[2]),
            PVector::new(direction[0], direction[1], direction[2]),
        );
        let leaf = |t: u32, best: f64| {
            let d = self.meet(t, origin, direction)?;
            (d < best && counts(t)).then_some(d)
        };
        self.tree.cast_ray(&ray, farthest, leaf).map(|(facet, distance)| Hit { distance, facet })
    }

    /// Möller and Trumbore, "Fast, minimum storage ray/triangle intersection", J. Graphics Tools 2(1), 1997.
    /// The borders are widened by a hair: a ray down the seam of two facets must not slip through.
    #[inline]
    fn meet(&self, t: u32, origin: Point, direction: Vector) -> Option<f64> {
        const HAIR: f64 = 1e-9;
        let [a, b, c] = self.mesh.corners(t as usize);
        let (e, f) = (sub(b, a), sub(c, a));
        let p = cross(direction, f);
        let det = dot(e, p);
        if det == 0.0 {
            return None;
        }
        let s = sub(origin, a);
        let u = dot(s, p) / det;
        if !(-HAIR..=1.0 + HAIR).contains(&u) {
            return None;
        }
        let q = cross(s, e);
        let v = dot(direction, q) / det;
        if v < -HAIR || u + v > 1.0 + HAIR {
            return None;
        }
        let d = dot(f, q) / det;
        (d >= 0.0).then_some(d)
    }
}
