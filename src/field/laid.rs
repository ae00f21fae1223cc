//! Patches of a stated size laid on the surface: flat where there is a flat for them, else bent over what is round there.

use std::f64::consts::{PI, TAU};

use super::surface::{Extent, Surface, in_face, spread_over};
use crate::geometry::adjacency;
use crate::geometry::anchor::Anchor;
use crate::geometry::mesh::Point;
use crate::geometry::vector::{Vector, add, cross, dot, norm, normalise, scale, sub};
use elasticity::Region;

/// What of a patch must lie on a flat for it to be laid flat.
const WHOLE: f64 = 0.98;
/// Cosine of the angle by which two facets of one round face turn from each other at most: 35°, as inner edges are sharp from.
pub(super) const SMOOTH: f64 = 0.819;
/// Cosine of the angle to the middle's normal up to which a patch is bent: what stands steeper is pushed along, not on.
const STEEP: f64 = 0.5;
/// Corners of the polygon that stands for a disc bent over a face.
const AROUND: usize = 48;
/// How often the middle's normal is taken anew as the mean over the patch.
const TURNS: usize = 3;
/// Nothing of a length, as a part of the patch's size.
const HAIR: f64 = 1e-6;

impl Extent {
    /// Returns its area, mm².
    pub fn area(self) -> f64 {
        match self {
            Self::Across(d) => PI * d * d / 4.0,
            Self::Over([a, b]) => a * b,
        }
    }

    /// Returns how far from its middle it reaches at most, mm.
    fn radius(self) -> f64 {
        match self {
            Self::Across(d) => 0.5 * d,
            Self::Over([a, b]) => 0.5 * a.hypot(b),
        }
    }
}

impl Surface<'_> {
    /// Lays a patch about a place of the plane of a facet.
    pub(super) fn laid(&self, centre: Point, facet: u32, extent: Extent) -> Region {
        let flat = flat(centre, self.mesh.normal_area(facet as usize).0, extent);
        let area = flat.area(self.mesh);
        if area >= WHOLE * extent.area() {
            return flat;
        }
        let bent = self.bent(centre, facet, extent);
        if bent.area(self.mesh) > area { bent } else { flat }
    }

    /// Bends a patch over the round face that a facet is of: its sides are measured along the face, so that it is as large as stated
    /// whatever the number of facets.
    fn bent(&self, centre: Point, facet: u32, extent: Extent) -> Region {
        let mesh = self.mesh;
        let twins = adjacency::twins(mesh);
        let mut normal = mesh.normal_area(facet as usize).0;
        let mut region = Region::Facets(Vec::new());
        for _ in 0..TURNS {
            let near = |t: u32| {
                Anchor::nearest(mesh, Some(&[t]), centre).is_some_and(|a| norm(sub(a.point, centre)) <= extent.radius())
            };
            let facets = spread_over(&twins, facet, usize::MAX, |from, t| {
                let [before, (n, area)] = [from, t].map(|t| mesh.normal_area(t as usize));
                area > 0.0 && dot(n, before.0) > SMOOTH && dot(n, normal) > STEEP && near(t)
            });
            let corners = self.corners_on(&facets, centre, normal, extent);
            region = Region::Bent { facets, corners, normal };
            let turned = region.spread(mesh).into_iter().fold([0.0; 3], |sum, (_, area)| add(sum, area));
            if norm(turned) > 0.0 {
                normal = normalise(turned);
            }
        }
        region
    }

    /// Returns the corners of a patch in the plane square to a normal, each as far out as its way along the facets is long.
    fn corners_on(&self, facets: &[u32], centre: Point, normal: Vector, extent: Extent) -> Vec<Point> {
        let [u, v] = in_face(normal);
        let out = |way: Vector, length: f64| scale(way, self.level(facets, centre, normal, way, length));
        match extent {
            Extent::Across(d) => {
                // As large as the circle, not within it.
                let angle = TAU / AROUND as f64;
                let radius = 0.5 * d * (angle / angle.sin()).sqrt();
                let corner = |i: usize| {
                    let (sin, cos) = (i as f64 * angle).sin_cos();
                    add(centre, out(add(scale(u, cos), scale(v, sin)), radius))
                };
                (0..AROUND).map(corner).collect()
            }
            Extent::Over([a, b]) => {
                let [right, left] = [u, scale(u, -1.0)].map(|way| out(way, 0.5 * a));
                let [up, down] = [v, scale(v, -1.0)].map(|way| out(way, 0.5 * b));
                [(left, down), (right, down), (right, up), (left, up)].map(|(s, t)| add(centre, add(s, t))).to_vec()
            }
        }
    }

    /// Returns how far a way of a length along facets leads in the plane square to the normal; where the facets end, it goes on
    /// straight.
    fn level(&self, facets: &[u32], centre: Point, normal: Vector, way: Vector, length: f64) -> f64 {
        let aside = cross(normal, way);
        let (mut far, mut left) = (0.0, length);
        let mut steps: Vec<[f64; 3]> = facets.iter().filter_map(|&t| self.step(t, centre, way, aside)).collect();
        steps.sort_by(|a, b| a[0].total_cmp(&b[0]));
        for [from, to, along] in steps {
            let ahead = to - from.max(far);
            if from > far + HAIR * length || ahead <= 0.0 {
                continue;
            }
            let along = along * ahead / (to - from);
            if along >= left {
                return far + ahead * left / along;
            }
            (far, left) = (to, left - along);
        }
        far + left
    }

    /// Returns where a facet begins and ends along a way ahead of a place, and how long the way is on it.
    fn step(&self, t: u32, centre: Point, way: Vector, aside: Vector) -> Option<[f64; 3]> {
        let corners = self.mesh.corners(t as usize).map(|c| sub(c, centre));
        let mut ends = Vec::new();
        for k in 0..3 {
            let (a, b) = (corners[k], corners[(k + 1) % 3]);
            let (s, r) = (dot(a, aside), dot(b, aside));
            if (s >= 0.0) != (r >= 0.0) {
                ends.push(add(a, scale(sub(b, a), s / (s - r))));
            }
        }
        let [a, b] = ends.try_into().ok()?;
        let (mut from, mut to) = (dot(a, way), dot(b, way));
        if from > to {
            (from, to) = (to, from);
        }
        let along = norm(sub(b, a));
        if to <= from.max(0.0) {
            return None;
        }
        let ahead = (to - from.max(0.0)) / (to - from);
        Some([from.max(0.0), to, along * ahead])
    }
}

/// Returns a patch laid flat.
fn flat(centre: Point, normal: Vector, extent: Extent) -> Region {
    match extent {
        Extent::Across(d) => Region::Disc { centre, normal, radius: 0.5 * d },
        Extent::Over([a, b]) => {
            let [u, v] = in_face(normal);
            let corner = |s: f64, t: f64| add(centre, add(scale(u, 0.5 * s * a), scale(v, 0.5 * t * b)));
            let corners = vec![corner(-1.0, -1.0), corner(1.0, -1.0), corner(1.0, 1.0), corner(-1.0, 1.0)];
            Region::Polygon { corners, normal }
        }
    }
}
