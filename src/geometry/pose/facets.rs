//! What the facets alone say about a pose: the fast pass over many poses that comes before any layer is cut.

use rayon::prelude::*;
use serde::Serialize;

use super::Pose;
use super::footprint::{Point2, area, convex_hull, depth_within, smallest_rectangle};
use crate::mesh::{Bounds, Mesh, Point};
use crate::vector::{Vector, add, cross, distance, dot, perpendiculars, scale, sub};

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
    /// The box along the file's axes, mm.
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
    /// Shorter side of the smallest rectangle around what touches the bed, mm.
    pub footing_mm: f64,
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
        let [mut nx, mut ny, mut nz, mut area] = [(); 4].map(|()| vec![0.0; count]);
        let columns = nx.par_chunks_mut(BLOCK).zip(ny.par_chunks_mut(BLOCK)).zip(nz.par_chunks_mut(BLOCK));
        let sums: Vec<Moments> = columns
            .zip(area.par_chunks_mut(BLOCK))
            .enumerate()
            .map(|(b, (((x, y), z), a))| {
                let anchor = mesh.corners(0)[0];
                let mut sum = Moments::default();
                for i in 0..x.len() {
                    let corners = mesh.corners(b * BLOCK + i);
                    let (normal, size) = mesh.normal_area(b * BLOCK + i);
                    (x[i], y[i], z[i], a[i]) = (normal[0], normal[1], normal[2], size);
                    sum.take(corners.map(|p| sub(p, anchor)), size);
                }
                sum
            })
            .collect();
        let bounds = sums.iter().fold(Bounds::EMPTY, |all, s| all.union(&s.bounds));
        let anchor = if count > 0 { mesh.corners(0)[0] } else { [0.0; 3] };
        let bounds =
            if count > 0 { Bounds { min: add(bounds.min, anchor), max: add(bounds.max, anchor) } } else { bounds };
        let whole = sums.iter().fold(Moments::default(), |all, s| all.plus(s));
        let hull_points = hull.map_or_else(|| used_vertices(mesh), |h| h.vertices.clone());
        let centroid = whole.centroid(anchor, &bounds);
        let size_mm = 2.0 * hull_points.iter().map(|&p| distance(p, centroid)).fold(0.0, f64::max);
        let (surface_mm2, bed_tolerance_mm) = (whole.area, bed_tolerance(&bounds));
        Self { nx, ny, nz, area, hull_points, centroid, bounds, size_mm, surface_mm2, bed_tolerance_mm }
    }

    /// Returns the unit normal and the area of a facet.
    #[inline]
    pub fn facet(&self, t: usize) -> (Vector, f64) {
        ([self.nx[t], self.ny[t], self.nz[t]], self.area[t])
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
                self.block(mesh, range, poses, &beds, steep)
            })
            .collect();
        poses.iter().enumerate().map(|(i, pose)| self.facts(pose, partial.iter().map(|b| b[i]))).collect()
    }

    fn facts(&self, pose: &Pose, sums: impl Iterator<Item = [f64; 2]>) -> FacetFacts {
        let [overhang, contact] = sums.fold([0.0; 2], |t, s| [t[0] + s[0], t[1] + s[1]]);
        let (low, high) = self.extent(pose.up);
        let (stability_mm, centroid_height_mm, footing_mm) = self.stability(pose.up, low);
        FacetFacts {
            // Taking the bed facets back out leaves rounding, not area.
            overhang_mm2: if overhang < 1e-9 * self.surface_mm2 { 0.0 } else { overhang },
            contact_mm2: contact,
            height_mm: (high - low).max(0.0),
            stability_mm,
            centroid_height_mm,
            footing_mm,
        }
    }

    /// Returns overhang and contact area of one block of facets for each pose.
    fn block(
        &self,
        mesh: &Mesh,
        range: std::ops::Range<usize>,
        poses: &[Pose],
        beds: &[f64],
        steep: f64,
    ) -> Vec<[f64; 2]> {
        let mut sums = vec![[0.0; 2]; poses.len()];
        // All poses look at one chunk after the other: it stays in the processor's nearest cache.
        for start in range.clone().step_by(CHUNK) {
            let chunk = start..(start + CHUNK).min(range.end);
            for ((pose, &bed), [overhang, contact]) in poses.iter().zip(beds).zip(&mut sums) {
                let (sum, least) = self.chunk(chunk.clone(), pose.up, steep);
                *overhang += sum;
                if least < FLAT_DOWN {
                    let lying = self.lying(mesh, chunk.clone(), pose.up, bed);
                    *contact += lying;
                    *overhang -= if FLAT_DOWN < steep { lying } else { 0.0 };
                }
            }
        }
        sums
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

    /// Returns how far the centroid stands within the contact outline, its height, and how wide the outline is.
    fn stability(&self, up: Vector, low: f64) -> (f64, f64, f64) {
        let (u, v) = perpendiculars(up);
        let flat = |p: Point| -> Point2 { [dot(p, u), dot(p, v)] };
        let touching = self.hull_points.iter().filter(|&&p| dot(p, up) <= low + self.bed_tolerance_mm);
        let outline = convex_hull(&touching.map(|&p| flat(p)).collect::<Vec<_>>());
        let inside = if area(&outline) > 0.0 { depth_within(&outline, flat(self.centroid)) } else { f64::NEG_INFINITY };
        let inside = if inside.is_finite() { inside } else { -self.bounds.diagonal() };
        let width = if area(&outline) > 0.0 { smallest_rectangle(&outline).size_mm[1] } else { 0.0 };
        (inside, dot(self.centroid, up) - low, width)
    }

    /// Whether the centroid stands over what lies on the bed together with what hangs over beyond the limit: supported there, the part
    /// does not tip. That the part itself may stand beneath is not looked at.
    pub fn propped(&self, mesh: &Mesh, up: Vector, limit: f64) -> bool {
        let (steep, low) = (-(limit.sin() + LIMIT_SLACK), self.extent(up).0);
        let (u, v) = perpendiculars(up);
        let flat = |p: Point| -> Point2 { [dot(p, u), dot(p, v)] };
        let on_bed = |p: Point| dot(p, up) <= low + self.bed_tolerance_mm;
        let hangs = |t: &usize| dot([self.nx[*t], self.ny[*t], self.nz[*t]], up) < steep;
        let held = (0..self.area.len()).filter(hangs).flat_map(|t| mesh.corners(t)).map(flat);
        let touching = self.hull_points.iter().filter(|&&p| on_bed(p)).map(|&p| flat(p));
        let outline = convex_hull(&touching.chain(held).collect::<Vec<_>>());
        area(&outline) > 0.0 && depth_within(&outline, flat(self.centroid)) > 0.0
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

/// Returns the area of the facets that lean between two angles from vertical and do not lie on the bed, mm², and the steepest
/// of them, degrees; `None` where there are none.
pub fn leaning(mesh: &Mesh, up: Vector, [from_deg, to_deg]: [f64; 2]) -> Option<(f64, f64)> {
    let low = mesh.vertices.iter().map(|&v| dot(v, up)).fold(f64::INFINITY, f64::min);
    let bed = low + bed_tolerance(&mesh.bounds());
    let within = |t: &usize| !mesh.corners(*t).iter().all(|&p| dot(p, up) <= bed);
    let leans = |t: usize| {
        let (normal, area) = mesh.normal_area(t);
        let degrees = (-dot(normal, up)).clamp(-1.0, 1.0).asin().to_degrees();
        (degrees >= from_deg - LIMIT_SLACK.to_degrees() && degrees <= to_deg + LIMIT_SLACK.to_degrees())
            .then_some((area, degrees))
    };
    (0..mesh.triangles.len()).filter(within).filter_map(leans).fold(None, |sum, (area, degrees)| {
        let (all, most) = sum.unwrap_or((0.0, 0.0_f64));
        Some((all + area, most.max(degrees)))
    })
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

/// Sums for the centroids of volume and of surface, about an anchor on the part.
#[derive(Debug, Clone, Copy)]
struct Moments {
    volume: f64,
    moment: Vector,
    area: f64,
    surface: Vector,
    bounds: Bounds,
}

impl Default for Moments {
    fn default() -> Self {
        Self { volume: 0.0, moment: [0.0; 3], area: 0.0, surface: [0.0; 3], bounds: Bounds::EMPTY }
    }
}

impl Moments {
    fn take(&mut self, [a, b, c]: [Point; 3], area: f64) {
        let volume = dot(a, cross(b, c));
        let middle = add(add(a, b), c);
        self.volume += volume;
        self.moment = add(self.moment, scale(middle, volume / 4.0));
        self.area += area;
        self.surface = add(self.surface, scale(middle, area / 3.0));
        [a, b, c].iter().for_each(|&p| self.bounds.include(p));
    }

    fn plus(&self, o: &Self) -> Self {
        Self {
            volume: self.volume + o.volume,
            moment: add(self.moment, o.moment),
            area: self.area + o.area,
            surface: add(self.surface, o.surface),
            bounds: self.bounds.union(&o.bounds),
        }
    }

    fn centroid(&self, anchor: Point, bounds: &Bounds) -> Point {
        let solid = add(anchor, scale(self.moment, 1.0 / self.volume));
        // An open mesh has no centroid of volume; what the sum gives may then lie anywhere.
        let inside = (0..3).all(|k| solid[k] >= bounds.min[k] && solid[k] <= bounds.max[k]);
        if self.volume > 1e-9 * bounds.diagonal().powi(3) && inside {
            return solid;
        }
        add(anchor, scale(self.surface, if self.area > 0.0 { 1.0 / self.area } else { 0.0 }))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::samples::block;

    fn facet_pass(mesh: &Mesh, poses: &[Pose], limit: f64) -> Vec<FacetFacts> {
        let hull = crate::hull::convex(mesh);
        FacetTable::new(mesh, hull.as_ref().map(|h| &h.mesh)).pass(mesh, poses, limit)
    }

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
    fn a_face_near_the_limit_is_seen_with_its_angle() {
        let cube = block([10.0; 3]);
        let up = Pose::new([1.0, 0.0, 1.0]).unwrap().up;
        let (area, steepest) = leaning(&cube, up, [40.0, 45.0]).unwrap();
        assert!((area - 200.0).abs() < 1e-9 && (steepest - 45.0).abs() < 1e-9);
        assert_eq!(leaning(&cube, up, [30.0, 44.0]), None);
        assert_eq!(leaning(&cube, [0.0, 0.0, 1.0], [40.0, 90.0]), None);
    }

    #[test]
    fn a_face_exactly_at_the_limit_is_no_overhang() {
        let cube = block([10.0; 3]);
        let facts = facet_pass(&cube, &[Pose::new([1.0, 0.0, 1.0]).unwrap()], 45_f64.to_radians());
        assert_eq!(facts[0].overhang_mm2, 0.0);
    }
}
