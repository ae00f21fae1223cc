//! Parts of a mesh's surface by what a person calls them.

use std::collections::BTreeSet;

use super::laid::SMOOTH;
use crate::geometry::adjacency;
use crate::geometry::anchor::{self, Anchor};
use crate::geometry::bounds::Bounds;
use crate::geometry::features::Features;
use crate::geometry::mesh::{Mesh, Point};
use crate::geometry::patch::{self, Patch};
use crate::geometry::vector::{Vector, add, cross, distance, dot, norm, normalise, perpendiculars, scale, sub};
use elasticity::Region;

/// How much of a face about a place is meant, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Extent {
    /// A disc of this diameter.
    Across(f64),
    /// A rectangle: along the first of the file's axes that lies in the face, then along the other.
    Over([f64; 2]),
}

/// A round surface: a bore, a pin, the bowl of a hook.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Round {
    /// Unit vector along it.
    pub axis: Vector,
    /// Halfway along it.
    pub centre: Point,
    /// Of its circle, mm.
    pub radius: f64,
    /// Along the axis, mm.
    pub length: f64,
    /// Whether it is a bore rather than a pin.
    pub hollow: bool,
}

impl Round {
    /// Returns whether what acts in a direction acts along it rather than across it.
    pub fn is_along(&self, direction: Vector) -> bool {
        dot(direction, self.axis).abs() > ALONG
    }

    /// Returns all of it.
    pub fn region(&self) -> Region {
        Region::Cylinder {
            axis: self.axis,
            centre: self.centre,
            radius: self.radius,
            inside: self.hollow,
            half: None,
            length: Some(self.length),
        }
    }

    /// Returns how far a point is from the axis, and how far beyond its ends.
    fn off(&self, p: Point) -> (f64, f64) {
        let d = sub(p, self.centre);
        let along = dot(d, self.axis);
        (norm(sub(d, scale(self.axis, along))), (along.abs() - 0.5 * self.length).max(0.0))
    }
}

/// Facets seen at a smaller cosine than this are passed by.
pub const SEEN: f64 = 0.05;
/// Cells a load is judged on: few first, more where the two grids are not near enough, most where they bound nothing yet.
pub const JUDGED_CELLS: [usize; 3] = [2_500, 9_000, 20_000];
/// Cells a load is solved on again where what is said of it hangs on how far those grids are apart.
pub const FINER_CELLS: [usize; 3] = [2_500, 20_000, 60_000];
/// A finer grid is not begun where it may take more work than this, in iterations times nodes: thin shells that only rest
/// on something would take minutes. What is said of the load then allows for how far the grids are apart.
pub const MOST_WORK: f64 = 25e6;
/// Cells on which a load is tried that may break the part whatever a finer grid says.
pub const FEW_CELLS: usize = 600;
/// Stresses of two grids this near, as a part of them, are not asked of a finer one.
pub const NEAR: f64 = 0.12;
/// How far from sharp inner edges stresses are looked at where arms are as thin as those of snap hooks, mm.
pub const OFF_SNAP_ROOTS_MM: f64 = 1.5;
/// Strengths across and between layers over that along them by which places are ranked that may decide: those of a good
/// bond, of a usual and of a poor one.
pub const RANKING: [[f64; 2]; 3] = [[1.0, 0.6], [0.5, 0.55], [0.25, 0.3]];
/// Places kept for each way up and each of those.
pub const TELLING: usize = 8;
/// Cosine of the angle to a bore's axis below which a force acts along it.
const ALONG: f64 = 0.75;
/// A place on a round face may lie this far off it, mm, and as a part of its radius.
const NEAR_ROUND: f64 = 1.0;
const NEAR_ROUND_SHARE: f64 = 0.05;
/// A place this far from the middle of a face, as a part of the face's size, is a place of its own.
const OFF_MIDDLE: f64 = 0.1;
/// What of the ring under a head must be there.
const RING: f64 = 0.6;
/// Sine of half the angle of a cone that a countersunk head sits in, 60 to 120 degrees and what facets take of it; how far off the
/// rim of its hole it may begin, how wide it is at least, and at most, as parts of the hole's radius.
const CONE: std::ops::Range<f64> = 0.45..0.9;
const ON_RIM: f64 = 0.05;
const LEAST_CONE: f64 = 1.2;
const WIDEST_CONE: f64 = 3.5;
/// Facets a cylinder is fitted to, the cosine up to which they may be turned from the first, and how far off it, as a part of
/// the radius, a corner may lie.
const FITTED: usize = 48;
const BENT: f64 = 0.5;
const ROUND: f64 = 0.02;
/// Cosine of the angle to the axis that normals may have.
const SQUARE: f64 = 0.1;
const POWERS: usize = 50;
const STRAIGHT: f64 = 0.9994;
/// Cosine within which facets lie in one plane, and how far off it, as a part of the mesh's size.
const SAME_WAY: f64 = 0.999;
const OFF_PLANE: f64 = 2e-5;

/// The surface of a part.
pub struct Surface<'a> {
    /// Its facets.
    pub mesh: &'a Mesh,
    /// The holes, bosses and roundings found in it.
    pub features: &'a Features,
}

/// A flank of a groove is pressed on where it faces the force at least so far as the one that faces it most.
const FLANK: f64 = 0.3;

impl Surface<'_> {
    fn rounds(&self) -> Vec<Round> {
        let f = self.features;
        let holes = f.holes.iter().map(|h| (h.axis, h.centre_mm, 0.5 * h.diameter_mm, h.depth_mm, true));
        let bosses = f.bosses.iter().map(|b| (b.axis, b.centre_mm, 0.5 * b.diameter_mm, b.height_mm, false));
        let others = f.roundings.iter().map(|r| (r.axis, r.centre_mm, r.radius_mm, r.length_mm, r.hollow));
        let round = |(axis, centre, radius, length, hollow)| Round { axis, centre, radius, length, hollow };
        holes.chain(bosses).chain(others).map(round).collect()
    }

    /// Returns the round surface that a place lies on.
    pub fn round_at(&self, p: Point) -> Option<Round> {
        let far = |r: &Round| {
            let (out, beyond) = r.off(p);
            (out - r.radius).abs() + beyond
        };
        // Of a wide one a share of the radius would reach to other faces.
        let near = |r: &Round| far(r) <= (NEAR_ROUND_SHARE * r.radius).clamp(NEAR_ROUND, 2.0 * NEAR_ROUND);
        let listed = self.rounds().into_iter().filter(near).min_by(|a, b| far(a).total_cmp(&far(b)));
        listed.or_else(|| self.grown(p).filter(near))
    }

    /// Fits a cylinder to the facets about a place: for surfaces cut up in other ways than drawing programs do.
    fn grown(&self, p: Point) -> Option<Round> {
        let mesh = self.mesh;
        let twins = adjacency::twins(mesh);
        let start = Anchor::nearest(mesh, None, p)?.facet;
        let first = mesh.normal_area(start as usize).0;
        let hollow_at = |r: &Cylinder| dot(first, r.out(mesh.centre(start as usize))) < 0.0;
        let mut all = spread(&twins, start, FITTED, |t| dot(mesh.normal_area(t as usize).0, first) > BENT);
        let mut round = Cylinder::through(mesh, &all)?;
        // Normals of few facets tell the axis roughly: fitted again to more and more that lie on the surface found.
        for slack in [4.0 * ROUND, 2.0 * ROUND, ROUND] {
            all = spread(&twins, start, usize::MAX, |t| round.holds(mesh, t, slack));
            round = Cylinder::through(mesh, &all)?;
        }
        all = spread(&twins, start, usize::MAX, |t| round.holds(mesh, t, ROUND));
        let hollow = hollow_at(&round);
        let Cylinder { axis, centre, radius } = round;
        let along = all.iter().flat_map(|&t| mesh.corners(t as usize)).map(|c| dot(sub(c, centre), axis));
        let (low, high) = along.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), a| (l.min(a), h.max(a)));
        let centre = add(centre, scale(axis, 0.5 * (low + high)));
        (high > low).then_some(Round { axis, centre, radius, length: high - low, hollow })
    }

    /// Returns the bore that a place lies within, in the air.
    pub fn bore_about(&self, p: Point) -> Option<Round> {
        let f = self.features;
        let holes = f.holes.iter().map(|h| Round {
            axis: h.axis,
            centre: h.centre_mm,
            radius: 0.5 * h.diameter_mm,
            length: h.depth_mm,
            hollow: true,
        });
        let within = |r: &Round| {
            let (out, beyond) = r.off(p);
            out < (1.0 - NEAR_ROUND_SHARE) * r.radius && beyond <= 0.0
        };
        holes.filter(within).min_by(|a, b| a.radius.total_cmp(&b.radius))
    }

    /// Returns where on the surface what acts at a place meets the part.
    pub fn meeting(&self, p: Point, ahead: Vector) -> Vec<Point> {
        anchor::meeting(self.mesh, p, ahead).into_iter().map(|a| a.point).collect()
    }

    /// Returns how far a place lies off the part, mm, and the nearest point of it, where it lies farther off than a patch about it
    /// reaches.
    pub fn off_by(&self, p: Point, extent: Extent) -> Option<(f64, Point)> {
        let nearest = Anchor::nearest(self.mesh, None, p)?;
        let to = sub(p, nearest.point);
        // Not by the nearest facet: at an edge it may be square to what lies beyond it.
        (norm(to) > reach(extent) && !anchor::inside(self.mesh, p)).then_some((norm(to), nearest.point))
    }

    /// Returns whether a place lies over the mouth of a hole, in the plane of a face at its rim that a patch about it reaches.
    pub fn is_over_a_mouth(&self, p: Point, extent: Extent) -> bool {
        let hair = 1e-4 * self.mesh.bounds().diagonal();
        let Some(nearest) = Anchor::nearest(self.mesh, None, p) else { return false };
        let far = distance(nearest.point, p);
        let rim = |t: u32| {
            let (normal, area) = self.mesh.normal_area(t as usize);
            let in_plane = dot(sub(p, self.mesh.corners(t as usize)[0]), normal).abs() <= hair;
            let near = || Anchor::nearest(self.mesh, Some(&[t]), p).is_some_and(|a| distance(a.point, p) <= far + hair);
            area > 0.0 && in_plane && near()
        };
        far > hair && far <= reach(extent) && (0..self.mesh.triangles.len() as u32).any(rim)
    }

    /// Returns whether a place lies well off the middle of a face whose middle is on it.
    pub fn is_off_middle(&self, patch: &Patch, p: Point) -> bool {
        let size = Bounds::of(patch.facets.iter().flat_map(|&t| self.mesh.corners(t as usize))).diagonal();
        let whole = Anchor::nearest(self.mesh, Some(&patch.facets), patch.centre)
            .is_some_and(|a| distance(a.point, patch.centre) < 1e-3 * size);
        whole && distance(p, patch.centre) > OFF_MIDDLE * size
    }

    /// Returns a patch of a stated size about a place on a face.
    pub fn patch_on(&self, patch: &Patch, near: Point, extent: Extent) -> Option<Region> {
        let on = Anchor::nearest(self.mesh, Some(&patch.facets), near)?;
        let normal = self.mesh.normal_area(on.facet as usize).0;
        // At the mouth of a hole, about its middle: all of its rim is as near.
        let level = sub(near, scale(normal, dot(sub(near, on.point), normal)));
        let centre = if distance(level, on.point) <= reach(extent) { level } else { on.point };
        Some(self.laid(centre, on.facet, extent))
    }

    /// Returns a patch of a stated size about a place on the surface; at an edge, on the face that is pressed on; in the bottom of a
    /// groove, on all its flanks that are.
    pub fn patch_at(&self, p: Point, pressed: Vector, extent: Extent) -> Option<Region> {
        let nearest = Anchor::nearest(self.mesh, None, p)?;
        let hair = 1e-4 * self.mesh.bounds().diagonal();
        let far = distance(nearest.point, p);
        let lean = |t: u32| dot(self.mesh.normal_area(t as usize).0, pressed);
        let touching = (0..self.mesh.triangles.len() as u32).filter(|&t| {
            let one = Anchor::nearest(self.mesh, Some(&[t]), p);
            self.mesh.normal_area(t as usize).1 > 0.0 && one.is_some_and(|a| distance(a.point, p) <= far + hair)
        });
        // At the mouth of a hole the place is in the plane of one of the faces at its rim.
        let off_plane =
            |t: u32| (dot(sub(p, self.mesh.corners(t as usize)[0]), self.mesh.normal_area(t as usize).0)).abs();
        let (on, off): (Vec<u32>, Vec<u32>) = touching.partition(|&t| off_plane(t) <= hair);
        let all = if on.is_empty() { off } else { on };
        let facet = all.iter().copied().min_by(|&a, &b| lean(a).total_cmp(&lean(b)).then(a.cmp(&b)))?;
        let lay = |facet: u32| {
            let on = Anchor::nearest(self.mesh, Some(&[facet]), p)?;
            let normal = self.mesh.normal_area(facet as usize).0;
            let level = sub(p, scale(normal, dot(sub(p, on.point), normal)));
            let centre = if distance(level, on.point) <= reach(extent) { level } else { on.point };
            Some(self.laid(centre, facet, extent))
        };
        let mut flanks = vec![facet];
        for t in all {
            let pressed = lean(t) < FLANK * lean(facet);
            if pressed && flanks.iter().all(|&f| self.is_across_a_groove(f, t)) {
                flanks.push(t);
            }
        }
        match flanks.as_slice() {
            [one] => lay(*one),
            several => Some(Region::Several(several.iter().filter_map(|&f| lay(f)).collect())),
        }
    }

    /// Whether two facets face each other over an inner edge.
    fn is_across_a_groove(&self, a: u32, b: u32) -> bool {
        let [(n, _), (m, _)] = [a, b].map(|t| self.mesh.normal_area(t as usize));
        let ahead = |of: u32, normal: Vector, t: u32| {
            dot(sub(self.mesh.centre(t as usize), self.mesh.corners(of as usize)[0]), normal) > 0.0
        };
        dot(n, m) < SMOOTH && ahead(a, n, b) && ahead(b, m, a)
    }

    /// Returns the plane a face lies in with all places of the part in it, where nothing of the part lies beyond, and how
    /// many places there are; else the face alone.
    pub fn outermost(&self, face: &Patch) -> (Region, usize) {
        let n = normalise(face.normal);
        let slip = OFF_PLANE * self.mesh.bounds().diagonal();
        let level = dot(face.centre, n);
        let plane = |t: u32| {
            dot(self.mesh.normal_area(t as usize).0, n) > SAME_WAY
                && self.mesh.corners(t as usize).iter().all(|&c| (dot(c, n) - level).abs() < slip)
        };
        let beyond = self.mesh.vertices.iter().any(|&v| dot(v, n) > level + slip);
        if beyond || !face.facets.iter().all(|&t| plane(t)) {
            return (Region::Facets(face.facets.clone()), 1);
        }
        let there: Vec<Patch> =
            patch::facing(self.mesh, n).into_iter().filter(|p| p.facets.iter().all(|&t| plane(t))).collect();
        (Region::Facets(there.iter().flat_map(|p| p.facets.iter().copied()).collect()), there.len())
    }

    /// Returns the ring under a head at one end of a hole.
    pub fn ring(&self, hole: &Round, side: f64, across: f64) -> Option<Region> {
        let normal = scale(hole.axis, side);
        let (inner, outer) = (hole.radius, 0.5 * across);
        let centre = add(hole.centre, scale(normal, 0.5 * hole.length));
        let ring = Region::Annulus { centre, normal, inner, outer };
        let ideal = std::f64::consts::PI * (outer * outer - inner * inner);
        (ideal > 0.0 && ring.area(self.mesh) >= RING * ideal).then_some(ring)
    }

    /// Returns the cone at one end of a hole that a countersunk head sits in.
    pub fn cone(&self, hole: &Round, side: f64) -> Option<Region> {
        let out = scale(hole.axis, side);
        let (rim, far) = (0.5 * hole.length - ON_RIM * hole.radius, WIDEST_CONE * hole.radius);
        let places = |t: u32| {
            self.mesh.corners(t as usize).map(|p| {
                let d = sub(p, hole.centre);
                let along = dot(d, out);
                (along, norm(sub(d, scale(out, along))))
            })
        };
        let is_of_cone = |&t: &u32| {
            let (normal, _) = self.mesh.normal_area(t as usize);
            let [a, b, c] = self.mesh.corners(t as usize);
            let middle = sub(scale(add(add(a, b), c), 1.0 / 3.0), hole.centre);
            let inward = dot(normal, sub(middle, scale(out, dot(middle, out)))) < 0.0;
            let within = |&(along, off): &(f64, f64)| {
                (rim..rim + far).contains(&along) && ((1.0 - ON_RIM) * hole.radius..far).contains(&off)
            };
            inward && CONE.contains(&dot(normal, out)) && places(t).iter().all(within)
        };
        let facets: Vec<u32> = (0..self.mesh.triangles.len() as u32).filter(is_of_cone).collect();
        let wide = facets.iter().flat_map(|&t| places(t)).map(|(_, off)| off).fold(0.0, f64::max);
        let seen: f64 = (facets.iter().map(|&t| self.mesh.normal_area(t as usize)))
            .map(|(normal, area)| dot(normal, out) * area)
            .sum();
        let ideal = std::f64::consts::PI * (wide * wide - hole.radius * hole.radius);
        (wide > LEAST_CONE * hole.radius && seen >= RING * ideal).then_some(Region::Facets(facets))
    }

    /// Returns the skins of what the part encloses.
    pub fn enclosed(&self) -> Option<Region> {
        let mesh = self.mesh;
        let mut root: Vec<u32> = (0..mesh.vertices.len() as u32).collect();
        fn find(root: &mut [u32], mut v: u32) -> u32 {
            while root[v as usize] != v {
                root[v as usize] = root[root[v as usize] as usize];
                v = root[v as usize];
            }
            v
        }
        for t in &mesh.triangles {
            for k in 1..3 {
                let (a, b) = (find(&mut root, t[0]), find(&mut root, t[k]));
                root[a.max(b) as usize] = a.min(b);
            }
        }
        let mut volume = vec![0.0; mesh.vertices.len()];
        for (t, corners) in mesh.triangles.iter().enumerate() {
            let [a, b, c] = mesh.corners(t);
            volume[find(&mut root, corners[0]) as usize] += dot(a, cross(b, c)) / 6.0;
        }
        let facets: Vec<u32> = (0..mesh.triangles.len() as u32)
            .filter(|&t| volume[find(&mut root, mesh.triangles[t as usize][0]) as usize] < 0.0)
            .collect();
        (!facets.is_empty()).then_some(Region::Facets(facets))
    }
}

/// Returns how far from its middle a patch reaches at least, mm.
pub fn reach(extent: Extent) -> f64 {
    match extent {
        Extent::Across(d) => 0.5 * d,
        Extent::Over([a, b]) => 0.5 * a.min(b),
    }
}

/// A cylinder without ends.
struct Cylinder {
    axis: Vector,
    centre: Point,
    radius: f64,
}

impl Cylinder {
    /// Fits one: its axis is square to the normals, which turn about it.
    fn through(mesh: &Mesh, facets: &[u32]) -> Option<Self> {
        let first = mesh.normal_area(*facets.first()? as usize).0;
        let mut axis = [0.0; 3];
        for &t in facets {
            let (normal, area) = mesh.normal_area(t as usize);
            let c = scale(cross(first, normal), area);
            axis = add(axis, if dot(c, axis) < 0.0 { scale(c, -1.0) } else { c });
        }
        let mut axis = Some(normalise(axis)).filter(|a| norm(*a) > 0.5)?;
        // The direction the normals have least of, by powers; their tilts average out.
        let normals: Vec<(Vector, f64)> = facets.iter().map(|&t| mesh.normal_area(t as usize)).collect();
        for _ in 0..POWERS {
            let least = |v: Vector, (n, a): &(Vector, f64)| add(v, scale(sub(axis, scale(*n, dot(*n, axis))), *a));
            axis = normalise(normals.iter().fold([0.0; 3], least));
        }
        // Drawn along an axis of the file, it is meant so.
        if let Some(k) = (0..3).find(|&k| axis[k].abs() > STRAIGHT) {
            axis = [0.0; 3];
            axis[k] = 1.0;
        }
        let corners: Vec<Point> = facets.iter().flat_map(|&t| mesh.corners(t as usize)).collect();
        let (centre, radius) = circle_through(&corners, axis)?;
        Some(Self { axis, centre, radius })
    }

    fn out(&self, p: Point) -> Vector {
        let d = sub(p, self.centre);
        sub(d, scale(self.axis, dot(d, self.axis)))
    }

    fn holds(&self, mesh: &Mesh, t: u32, slack: f64) -> bool {
        let on = |c: Point| (norm(self.out(c)) - self.radius).abs() < slack * self.radius;
        dot(mesh.normal_area(t as usize).0, self.axis).abs() < SQUARE && mesh.corners(t as usize).into_iter().all(on)
    }
}

/// Returns the facets reached from one over edges, as far as they are wanted, at most so many.
pub(super) fn spread(twins: &[u32], start: u32, most: usize, wanted: impl Fn(u32) -> bool) -> Vec<u32> {
    spread_over(twins, start, most, |_, t| wanted(t))
}

/// Returns the same where it hangs on the facet come from whether the next is wanted.
pub(super) fn spread_over(twins: &[u32], start: u32, most: usize, wanted: impl Fn(u32, u32) -> bool) -> Vec<u32> {
    let (mut list, mut seen) = (vec![start], BTreeSet::from([start]));
    let mut at = 0;
    while at < list.len() && list.len() < most {
        for k in 0..3 {
            let Some(&half) = twins.get(3 * list[at] as usize + k) else { continue };
            let t = half / 3;
            if half != u32::MAX && !seen.contains(&t) && wanted(list[at], t) {
                seen.insert(t);
                list.push(t);
            }
        }
        at += 1;
    }
    list
}

/// Returns the circle through points seen along an axis, by least squares (I. Kasa, IEEE Trans. Instrum. Meas. 25, 1976, from
/// memory), its centre in space.
fn circle_through(points: &[Point], axis: Vector) -> Option<(Point, f64)> {
    let (u, v) = perpendiculars(axis);
    let n = points.len() as f64;
    let middle = scale(points.iter().fold([0.0; 3], |s, &p| add(s, p)), 1.0 / n);
    let (mut a, mut b) = ([0.0; 3], [0.0; 2]);
    for p in points {
        let d = sub(*p, middle);
        let (x, y) = (dot(d, u), dot(d, v));
        let s = x * x + y * y;
        (a[0], a[1], a[2]) = (a[0] + x * x, a[1] + x * y, a[2] + y * y);
        (b[0], b[1]) = (b[0] + 0.5 * x * s, b[1] + 0.5 * y * s);
    }
    let det = a[0] * a[2] - a[1] * a[1];
    if det <= 1e-12 * (a[0] + a[2]).powi(2) {
        return None;
    }
    let (x, y) = ((b[0] * a[2] - b[1] * a[1]) / det, (b[1] * a[0] - b[0] * a[1]) / det);
    let radius = (x * x + y * y + (a[0] + a[2]) / n).sqrt();
    Some((add(middle, add(scale(u, x), scale(v, y))), radius))
}

/// Returns the directions in a face that go along the file's axes as far as they lie in it, in their order.
pub(super) fn in_face(normal: Vector) -> [Vector; 2] {
    let n = normalise(normal);
    let square = (0..3).max_by(|&a, &b| n[a].abs().total_cmp(&n[b].abs())).unwrap_or(2);
    let axis = (0..3).find(|&a| a != square).unwrap_or(0);
    let mut e = [0.0; 3];
    e[axis] = 1.0;
    let u = normalise(sub(e, scale(n, dot(e, n))));
    [u, cross(n, u)]
}
