//! Straight looks through the part: where a ray meets the surface first.

use std::sync::Arc;

use super::mesh::{Mesh, Point};
use super::tree::{Boxes, Tree};
use super::vector::{Vector, cross, dot, sub};

/// A tree over the facets of one mesh.
pub struct Rays<'a> {
    mesh: &'a Mesh,
    tree: Arc<Tree>,
}

/// Where a ray met the surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hit {
    /// Distance from the origin, in units of the direction's length.
    pub distance: f64,
    /// The facet it met.
    pub facet: u32,
}

impl<'a> Rays<'a> {
    /// Builds the tree: O(n log n) in facets.
    pub fn new(mesh: &'a Mesh) -> Self {
        Self::through(mesh, Arc::new(Tree::new(mesh)))
    }

    /// Takes a tree built over the same mesh before.
    pub fn through(mesh: &'a Mesh, tree: Arc<Tree>) -> Self {
        Self { mesh, tree }
    }

    /// Builds the tree, and keeps the boxes of the facets; see [`Tree::with_boxes`].
    pub fn with_boxes(mesh: &'a Mesh) -> (Self, Boxes) {
        let (tree, boxes) = Tree::with_boxes(mesh);
        (Self::through(mesh, Arc::new(tree)), boxes)
    }

    /// Returns the tree that the rays go through.
    pub fn tree(&self) -> &Tree {
        &self.tree
    }

    /// Returns the first facet met within `farthest`, from either side, if any.
    pub fn hit(&self, origin: Point, direction: Vector, farthest: f64) -> Option<Hit> {
        self.hit_where(origin, direction, farthest, |_| true)
    }

    /// Returns the first facet met for which `counts` is true; of several met at the same distance the lowest.
    pub fn hit_where(
        &self,
        origin: Point,
        direction: Vector,
        farthest: f64,
        counts: impl Fn(u32) -> bool,
    ) -> Option<Hit> {
        let meet = |t| self.meet(t, origin, direction).filter(|_| counts(t));
        let nearest = self.tree.nearest(origin, direction, farthest, false, meet);
        nearest.map(|(distance, facet)| Hit { distance, facet })
    }

    /// Returns the outward normal of a facet.
    pub fn normal(&self, facet: u32) -> Vector {
        self.mesh.normal_area(facet as usize).0
    }

    /// Returns whether any facet is met within `farthest`: cheaper than asking for the first.
    pub fn blocked(&self, origin: Point, direction: Vector, farthest: f64) -> bool {
        let meet = |t| self.meet(t, origin, direction);
        self.tree.nearest(origin, direction, farthest, true, meet).is_some()
    }

    #[inline]
    fn meet(&self, t: u32, origin: Point, direction: Vector) -> Option<f64> {
        meet(self.mesh.corners(t as usize), origin, direction)
    }
}

/// Returns how many times `direction` from `origin` a ray meets a facet.
///
/// Möller and Trumbore, "Fast, minimum storage ray/triangle intersection", J. Graphics Tools 2(1), 1997.
/// The borders are widened by a hair: a ray down the seam of two facets must not slip through.
#[inline]
pub fn meet([a, b, c]: [Point; 3], origin: Point, direction: Vector) -> Option<f64> {
    const HAIR: f64 = 1e-9;
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reach::direction;

    /// Facets of all sizes in all places, from a fixed sequence.
    fn litter(count: usize) -> Mesh {
        let mut state = 1_u64;
        let mut next = || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (state >> 40) as f64 / (1_u64 << 24) as f64 - 0.5
        };
        let mut mesh = Mesh::default();
        for i in 0..count as u32 {
            let (middle, size) = ([next(), next(), next()], 10_f64.powi(i as i32 % 4 - 4));
            for _ in 0..3 {
                mesh.vertices.push([0, 1, 2].map(|k| 100.0 * (middle[k] + size * next())));
            }
            mesh.triangles.push([3 * i, 3 * i + 1, 3 * i + 2]);
        }
        mesh
    }

    #[test]
    fn the_tree_finds_what_looking_at_every_facet_finds() {
        let mesh = litter(20_000);
        let rays = Rays::new(&mesh);
        for i in 0..300 {
            let (from, way) = (mesh.centre(i * 61).map(|c| 1.2 * c), direction(i, 300));
            let each = (0..mesh.triangles.len() as u32).filter_map(|t| rays.meet(t, from, way).map(|d| (d, t)));
            let nearest = each.min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
            let found = rays.hit(from, way, f64::MAX).map(|h| (h.distance, h.facet));
            assert_eq!(found, nearest, "{i}");
            let near = found.map_or(50.0, |f| f.0);
            assert!(!rays.blocked(from, way, near), "{i}");
            assert_eq!(rays.blocked(from, way, near * 1.001 + 1e-6), found.is_some(), "{i}");
        }
    }

    /// The library parry3d (0.31): the same places, but for the last digits.
    #[test]
    fn parry_meets_the_same_places() {
        use parry3d_f64::math::Vector3;
        use parry3d_f64::query::{Ray, RayCast};
        let mesh = litter(4000);
        let point = |p: Point| Vector3::new(p[0], p[1], p[2]);
        let vertices = mesh.vertices.iter().map(|&p| point(p)).collect();
        let theirs = parry3d_f64::shape::TriMesh::new(vertices, mesh.triangles.clone()).unwrap();
        let rays = Rays::new(&mesh);
        let mut met = 0;
        for i in 0..2000 {
            let (from, way) = (mesh.centre(i).map(|c| 0.5 * c), direction(i, 2000));
            let ours = rays.hit(from, way, 1e3).map(|h| h.distance);
            let theirs = theirs.cast_local_ray(&Ray::new(point(from), point(way)), 1e3, false);
            match (ours, theirs) {
                (None, None) => {}
                (Some(a), Some(b)) => assert!((a - b).abs() < 1e-9 * b.max(1.0), "{i}: {a} {b}"),
                _ => panic!("{i}: {ours:?} {theirs:?}"),
            }
            met += usize::from(ours.is_some());
        }
        assert!(met > 100, "{met}");
    }

    #[test]
    fn along_an_axis_and_down_a_seam_nothing_slips_through() {
        use crate::samples::block;
        for scale in [1e-9, 1.0, 1e9] {
            let part = block([4.0 * scale, 2.0 * scale, scale]);
            let rays = Rays::new(&part);
            // Down an edge, across a diagonal, and through the open.
            for at in [[0.0, 1.0], [2.0, 1.0], [1.0, 0.5], [4.0, 2.0]] {
                let from = [at[0] * scale, at[1] * scale, 3.0 * scale];
                let hit = rays.hit(from, [0.0, 0.0, -1.0], f64::MAX).unwrap();
                assert!((hit.distance / scale - 2.0).abs() < 1e-12, "{at:?} {hit:?}");
            }
            assert_eq!(rays.hit([4.1 * scale, scale, 3.0 * scale], [0.0, 0.0, -1.0], f64::MAX), None);
            assert_eq!(rays.hit([scale; 3].map(|c| 3.0 * c), [0.0; 3], f64::MAX), None);
        }
    }

    #[test]
    fn a_mesh_without_facets_or_in_one_place_is_no_trouble() {
        let none = Mesh::default();
        assert_eq!(Rays::new(&none).hit([0.0; 3], [0.0, 0.0, 1.0], 1.0), None);
        let point = Mesh { vertices: vec![[1.0; 3]; 3], triangles: vec![[0, 1, 2]; 50_000] };
        assert_eq!(Rays::new(&point).hit([1.0, 1.0, 0.0], [0.0, 0.0, 1.0], 10.0), None);
        let huge = block_of(1e100);
        assert!(Rays::new(&huge).hit([0.1e100, 0.2e100, -1e100], [0.0, 0.0, 1.0], f64::MAX).is_some());
    }

    fn block_of(size: f64) -> Mesh {
        crate::samples::block([size; 3])
    }
}
