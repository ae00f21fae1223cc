//! What the facets alone say about a pose: the fast pass over many poses that comes before any layer is cut.

use rayon::prelude::*;
use serde::Serialize;

use super::Pose;
use super::footprint::{Point2, area, convex_hull, depth_within};
use crate::geometry::mesh::{Bounds, Mesh, Point};
use crate::geometry::vector::{Vector, add, cross, distance, dot, norm, perpendiculars, scale, sub};

/// Facets are summed in blocks of this many, and the blocks in order, so that threads cannot change a sum.
const BLOCK: usize = 8192;
/// Facets handled together between two looks for facets that lie on the bed.
const CHUNK: usize = 256;
/// Sine of the slack given to the limit angle: single-precision files tilt facets by this much.
pub(crate) const LIMIT_SLACK: f64 = 1e-4;
/// A facet may lie on the bed when its normal is within 0.8 degree of straight down.
const FLAT_DOWN: f64 = -0.9999;

/// Facet normals and areas laid out for fast sums, with the few whole-mesh facts every pose needs.
#[derive(Debug, Clone)]
pub struct FacetTable {
    nx: Vec<f64>,
    ny: Vec<f64>,
    nz: Vec<f64>,
    area: Vec<f64>,
    /// Corners of the convex hull (all vertices where there is no hull); enough for heights and footprints.
    pub hull_points: Vec<Point>,
    /// Centroid of the volume; of the surface where the mesh encloses none.
    pub centroid: Point,
    pub bounds: Bounds,
    /// Diameter about the centroid, mm; unlike the bounds it does not change when the file is turned.
    pub size_mm: f64,
    /// Whole surface, mm².
    pub surface_mm2: f64,
    /// Facets whose corners are this near the lowest point lie on the bed, mm.
    pub bed_tolerance_mm: f64,
}

/// What the facets say about one pose.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct FacetFacts {
    /// Area of the facets that face down more steeply than the limit, those lying on the bed left out, mm².
    pub overhang_mm2: f64,
    /// Area of the facets lying on the bed, mm².
    pub contact_mm2: f64,
    /// Height of the part in this pose, mm.
    pub height_mm: f64,
    /// How far within the outline of the bed contact the centroid stands, mm; negative when it is outside.
    pub stability_mm: f64,
    /// Height of the centroid above the bed, mm.
    pub centroid_height_mm: f64,
}

impl FacetFacts {
    /// Whether the part would stand on its contact by its own weight.
    pub fn stable(&self) -> bool {
        self.stability_mm > 0.0
    }
}

impl FacetTable {
    /// Builds the table; `hull` gives the corners of the convex hull where there is one.
    pub fn new(mesh: &Mesh, hull: Option<&Mesh>) -> Self {
        let count = mesh.triangles.len();
        let rows: Vec<(Vector, f64)> = (0..count).into_par_iter().map(|t| mesh.normal_area(t)).collect();
        let column = |k: usize| rows.iter().map(|(n, _)| n[k]).collect::<Vec<f64>>();
        let area: Vec<f64> = rows.iter().map(|(_, a)| *a).collect();
        let bounds = mesh.bounds();
        let hull_points = hull.map_or_else(|| used_vertices(mesh), |h| h.vertices.clone());
        let surface_mm2 = area.iter().sum();
        let centroid = centroid(mesh, &bounds);
        let size_mm = 2.0 * hull_points.iter().map(|&p| distance(p, centroid)).fold(0.0, f64::max);
        Self {
            nx: column(0),
            ny: column(1),
            nz: column(2),
            area,
            hull_points,
            centroid,
            size_mm,
            bounds,
            surface_mm2,
            bed_tolerance_mm: bed_tolerance(&bounds),
        }
    }

    /// Returns the lowest and highest value of `p · up` over the part.
    pub fn extent(&self, up: Vector) -> (f64, f64) {
        self.hull_points
            .iter()
            .map(|&p| dot(p, up))
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), h| (lo.min(h), hi.max(h)))
    }

    /// Returns the facts of every pose, in order. `limit` is the steepest slope from vertical that prints, radians.
    pub fn pass(&self, mesh: &Mesh, poses: &[Pose], limit: f64) -> Vec<FacetFacts> {
        let steep = -(limit.sin() + LIMIT_SLACK);
        let beds: Vec<f64> = poses.iter().map(|p| self.extent(p.up).0 + self.bed_tolerance_mm).collect();
        let blocks = self.area.len().div_ceil(BLOCK);
        let partial: Vec<Vec<[f64; 2]>> = (0..blocks)
            .into_par_iter()
            .map(|b| {
                let range = b * BLOCK..((b + 1) * BLOCK).min(self.area.len());
                poses.iter().zip(&beds).map(|(p, &bed)| self.block(mesh, range.clone(), p.up, steep, bed)).collect()
            })
            .collect();
        poses.iter().enumerate().map(|(i, pose)| self.facts(pose, partial.iter().map(|b| b[i]))).collect()
    }

    fn facts(&self, pose: &Pose, sums: impl Iterator<Item = [f64; 2]>) -> FacetFacts {
        let [overhang, contact] = sums.fold([0.0; 2], |t, s| [t[0] + s[0], t[1] + s[1]]);
        let (low, high) = self.extent(pose.up);
        let (stability_mm, centroid_height_mm) = self.stability(pose.up, low);
        FacetFacts {
            // Taking the bed facets back out leaves rounding, not area.
            overhang_mm2: if overhang < 1e-9 * self.surface_mm2 { 0.0 } else { overhang },
            contact_mm2: contact,
            height_mm: (high - low).max(0.0),
            stability_mm,
            centroid_height_mm,
        }
    }

    /// Returns overhang and contact area of one block of facets.
    fn block(&self, mesh: &Mesh, range: std::ops::Range<usize>, up: Vector, steep: f64, bed: f64) -> [f64; 2] {
        let (mut overhang, mut contact) = (0.0, 0.0);
        let mut start = range.start;
        while start < range.end {
            let end = (start + CHUNK).min(range.end);
            let (sum, least) = self.chunk(start..end, up, steep);
            overhang += sum;
            if least < FLAT_DOWN {
                let lying = self.lying(mesh, start..end, up, bed);
                contact += lying;
                overhang -= if FLAT_DOWN < steep { lying } else { 0.0 };
            }
            start = end;
        }
        [overhang, contact]
    }

    /// Sums the area of facets below `steep`, eight lanes at a time, and finds the most downward normal.
    #[inline]
    fn chunk(&self, range: std::ops::Range<usize>, up: Vector, steep: f64) -> (f64, f64) {
        const LANES: usize = 8;
        let (nx, ny, nz) = (&self.nx[range.clone()], &self.ny[range.clone()], &self.nz[range.clone()]);
        let area = &self.area[range];
        let (mut sums, mut least) = ([0.0; LANES], [1.0_f64; LANES]);
        let whole = area.len() / LANES * LANES;
        for i in (0..whole).step_by(LANES) {
            let (x, y, z, a) = (&nx[i..i + LANES], &ny[i..i + LANES], &nz[i..i + LANES], &area[i..i + LANES]);
            for k in 0..LANES {
                let down = x[k] * up[0] + y[k] * up[1] + z[k] * up[2];
                sums[k] += if down < steep { a[k] } else { 0.0 };
                least[k] = if down < least[k] { down } else { least[k] };
            }
        }
        for i in whole..area.len() {
            let down = nx[i] * up[0] + ny[i] * up[1] + nz[i] * up[2];
            sums[0] += if down < steep { area[i] } else { 0.0 };
            least[0] = least[0].min(down);
        }
        (sums.iter().sum(), least.iter().fold(1.0, |l, d| l.min(*d)))
    }

    fn lying(&self, mesh: &Mesh, range: std::ops::Range<usize>, up: Vector, bed: f64) -> f64 {
        range
            .filter(|&t| dot([self.nx[t], self.ny[t], self.nz[t]], up) < FLAT_DOWN)
            .filter(|&t| mesh.corners(t).iter().all(|&p| dot(p, up) <= bed))
            .map(|t| self.area[t])
            .sum()
    }

    /// Returns how far the centroid stands within the contact outline, and its height.
    fn stability(&self, up: Vector, low: f64) -> (f64, f64) {
        let (u, v) = perpendiculars(up);
        let flat = |p: Point| -> Point2 { [dot(p, u), dot(p, v)] };
        let touching = self.hull_points.iter().filter(|&&p| dot(p, up) <= low + self.bed_tolerance_mm);
        let outline = convex_hull(&touching.map(|&p| flat(p)).collect::<Vec<_>>());
        let inside = if area(&outline) > 0.0 { depth_within(&outline, flat(self.centroid)) } else { f64::NEG_INFINITY };
        let inside = if inside.is_finite() { inside } else { -self.bounds.diagonal() };
        (inside, dot(self.centroid, up) - low)
    }

    /// Returns the volume between the overhanging facets and the bed, mm³: an upper bound for the support needed, since
    /// it takes no account of the part itself standing in between.
    pub fn support_below(&self, mesh: &Mesh, up: Vector, limit: f64) -> f64 {
        let steep = -(limit.sin() + LIMIT_SLACK);
        let low = self.extent(up).0;
        let sums: Vec<f64> = (0..self.area.len().div_ceil(BLOCK))
            .into_par_iter()
            .map(|b| {
                (b * BLOCK..((b + 1) * BLOCK).min(self.area.len())).map(|t| self.column(mesh, t, up, steep, low)).sum()
            })
            .collect();
        sums.iter().sum()
    }

    fn column(&self, mesh: &Mesh, t: usize, up: Vector, steep: f64, low: f64) -> f64 {
        let down = dot([self.nx[t], self.ny[t], self.nz[t]], up);
        if down >= steep {
            return 0.0;
        }
        let height = dot(mesh.centre(t), up) - low;
        if height <= self.bed_tolerance_mm { 0.0 } else { -down * self.area[t] * height }
    }
}

/// Returns the facts of every pose, in order; see [`FacetTable::pass`], which saves building the table twice.
pub fn facet_pass(mesh: &Mesh, poses: &[Pose], limit: f64) -> Vec<FacetFacts> {
    let hull = crate::geometry::hull::convex(mesh);
    FacetTable::new(mesh, hull.as_ref().map(|h| &h.mesh)).pass(mesh, poses, limit)
}

fn used_vertices(mesh: &Mesh) -> Vec<Point> {
    let mut used = vec![false; mesh.vertices.len()];
    mesh.triangles.iter().flatten().for_each(|&v| used[v as usize] = true);
    mesh.vertices.iter().zip(used).filter_map(|(&p, u)| u.then_some(p)).collect()
}

/// Coordinates in files carry seven digits of the part's size and of its distance from the origin.
pub(crate) fn bed_tolerance(bounds: &Bounds) -> f64 {
    if bounds.is_empty() {
        return 0.0;
    }
    let size = bounds.diagonal();
    let far = bounds.min.iter().chain(&bounds.max).fold(0.0_f64, |m, c| m.max(c.abs()));
    (size * 2e-6).max(far * 2.4e-7).max((size * 1e-3).min(1e-3))
}

fn centroid(mesh: &Mesh, bounds: &Bounds) -> Point {
    let anchor = bounds.centre();
    let (mut volume, mut moment, mut area, mut surface) = (0.0, [0.0; 3], 0.0, [0.0; 3]);
    for t in 0..mesh.triangles.len() {
        let [a, b, c] = mesh.corners(t).map(|p| sub(p, anchor));
        let n = cross(sub(b, a), sub(c, a));
        let (v, s, middle) = (dot(a, n), norm(n), add(add(a, b), c));
        volume += v;
        moment = add(moment, scale(middle, v / 4.0));
        area += s;
        surface = add(surface, scale(middle, s / 3.0));
    }
    let solid = scale(moment, 1.0 / volume);
    let half = scale(bounds.size(), 0.5);
    // An open mesh has no centroid of volume; what the sum gives may then lie anywhere.
    let plausible =
        volume > 1e-9 * bounds.diagonal().powi(3) && (0..3).all(|k| solid[k].abs() <= half[k] * (1.0 + 1e-9));
    let middle = if plausible { solid } else { scale(surface, if area > 0.0 { 1.0 / area } else { 0.0 }) };
    add(anchor, middle)
}

#[cfg(test)]
mod tests {
    use super::super::candidates::tests::block;
    use super::*;

    #[test]
    fn a_cube_has_contact_and_no_overhang_on_its_face_and_the_reverse_on_its_corner() {
        let cube = block([10.0; 3]);
        let poses = [Pose::as_placed(), Pose::new([1.0, 1.0, 1.0]).unwrap()];
        let facts = facet_pass(&cube, &poses, 45_f64.to_radians());
        assert!((facts[0].contact_mm2 - 100.0).abs() < 1e-9 && facts[0].overhang_mm2 == 0.0 && facts[0].stable());
        assert!((facts[0].stability_mm - 5.0).abs() < 1e-9);
        // On its corner the three lower faces lean 54.7 degrees from horizontal, 35.3 from vertical: they print.
        assert!(facts[1].overhang_mm2 == 0.0 && facts[1].contact_mm2 == 0.0 && !facts[1].stable());
        assert!((facts[1].height_mm - 300_f64.sqrt()).abs() < 1e-9);
        let strict = facet_pass(&cube, &poses, 30_f64.to_radians());
        assert!((strict[1].overhang_mm2 - 300.0).abs() < 1e-9);
    }

    #[test]
    fn a_face_exactly_at_the_limit_is_no_overhang() {
        let cube = block([10.0; 3]);
        let facts = facet_pass(&cube, &[Pose::new([1.0, 0.0, 1.0]).unwrap()], 45_f64.to_radians());
        assert_eq!(facts[0].overhang_mm2, 0.0);
    }
}
