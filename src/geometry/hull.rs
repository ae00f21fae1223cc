//! The convex hull and its flat faces: what a part can be laid on.
//!
//! Points that cannot be on it are thrown away first, after S. G. Akl and G. T. Toussaint, "A fast convex hull
//! algorithm", Inf. Process. Lett. 7(5), 1978, here by direction: the farthest point of each of some hundred directions
//! spans an inner hull, and what lies nearer the middle than that inner hull does anywhere in its direction is inside.
//! The inner hull then grows by the points beyond it.

use rayon::prelude::*;

use super::bounds::Bounds;
use super::health::edges::{NONE, Topology};
use super::mesh::{Mesh, Point};
use super::vector::{Vector, add, cross, dot, norm, normalise, scale, sub};

mod quick;

use quick::Quick;

/// A flat face of the hull: coplanar hull triangles that hang together.
#[derive(Debug, Clone, PartialEq)]
pub struct HullFace {
    /// Outward, of length one.
    pub normal: Vector,
    /// Of its surface, mm².
    pub area_mm2: f64,
    /// The middle of the face's area.
    pub centre: Point,
}

/// The convex hull of a mesh.
#[derive(Debug, Clone, PartialEq)]
pub struct Hull {
    /// Closed, facing outward.
    pub mesh: Mesh,
    /// The largest face first; equal areas by normal, then by place.
    pub faces: Vec<HullFace>,
}

/// Returns the hull of the mesh's vertices, or `None` where they span no volume.
pub fn convex(mesh: &Mesh) -> Option<Hull> {
    let bounds = Bounds::of(mesh.vertices.iter().copied());
    let size = bounds.size();
    if size.iter().any(|&s| !(s > 0.0 && s.is_finite())) {
        return None;
    }
    // To a unit box around zero: tolerances are absolute.
    let (centre, unit) = (bounds.centre(), 1.0 / size.into_iter().fold(0.0, f64::max));
    let points: Vec<Point> = mesh.vertices.iter().map(|&p| scale(sub(p, centre), unit)).collect();
    let few = points.len() <= 4 * CELLS;
    let mut hull = if few { None } else { in_two_steps(&points) }.or_else(|| plain(&points))?;
    for v in &mut hull.vertices {
        *v = add(scale(*v, 1.0 / unit), centre);
    }
    let faces = merge_faces(&hull)?;
    Some(Hull { mesh: hull, faces })
}

/// Returns the hull of all points, none left out.
fn plain(points: &[Point]) -> Option<Mesh> {
    let all: Vec<u32> = (0..points.len() as u32).collect();
    Quick::new(points, &all, FINE).map(|hull| hull.mesh())
}

/// Returns the hull of many points, or `None` if their middle is not well inside it.
fn in_two_steps(points: &[Point]) -> Option<Mesh> {
    let cells: Vec<u16> = points.par_iter().with_min_len(8192).map(|&p| cell(p) as u16).collect();
    let mut hull = Quick::new(points, &farthest_by_cell(points, &cells), SLACK)?;
    let planes = planes(&hull)?;
    let mut reach2 = [0.0_f64; CELLS];
    for (&p, &cell) in points.iter().zip(&cells) {
        let far = &mut reach2[usize::from(cell)];
        *far = far.max(dot(p, p));
    }
    let guards: Vec<Guard> =
        reach2.par_iter().enumerate().map(|(c, &far2)| Guard::new(&planes, c, far2.sqrt())).collect();
    let beyond: Vec<u32> = points
        .par_iter()
        .zip(&cells)
        .with_min_len(8192)
        .map(|(&p, &cell)| guards[usize::from(cell)].beyond(p, &planes))
        .collect();
    for (p, &plane) in beyond.iter().enumerate().filter(|(_, plane)| **plane != NONE) {
        // The plane of a sliver is mostly rounding: what lies beyond it may in truth lie beyond another.
        if !hull.wait_at(p as u32, planes[plane as usize].facet) {
            hull.wait_anywhere(p as u32);
        }
    }
    hull.grow();
    Some(hull.mesh())
}

/// Cells along each side of the six squares of directions.
const SIDE: usize = 12;
const CELLS: usize = 6 * SIDE * SIDE;

/// Returns the cell of directions a point lies in, seen from zero.
#[inline]
fn cell(p: Point) -> usize {
    let (x, y, z) = (p[0].abs(), p[1].abs(), p[2].abs());
    let (axis, u, v) = if x >= y && x >= z {
        (0, p[1] / x, p[2] / x)
    } else if y >= z {
        (1, p[2] / y, p[0] / y)
    } else {
        (2, p[0] / z, p[1] / z)
    };
    // Zero itself gives NaN, which the cast turns into 0.
    let step = |c: f64| ((0.5 * (c + 1.0) * SIDE as f64) as usize).min(SIDE - 1);
    let square = 2 * axis + usize::from(p[axis] < 0.0);
    (square * SIDE + step(u)) * SIDE + step(v)
}

/// Returns the middle direction of a cell and the cosine of the angle to its farthest corner.
fn cone(cell: usize) -> (Vector, f64) {
    let (square, u, v) = (cell / (SIDE * SIDE), cell / SIDE % SIDE, cell % SIDE);
    let (axis, sign) = (square / 2, if square.is_multiple_of(2) { 1.0 } else { -1.0 });
    let direction = |u: f64, v: f64| {
        let mut d = [0.0; 3];
        d[axis] = sign;
        d[(axis + 1) % 3] = 2.0 * u / SIDE as f64 - 1.0;
        d[(axis + 2) % 3] = 2.0 * v / SIDE as f64 - 1.0;
        normalise(d)
    };
    let (u, v) = (u as f64, v as f64);
    let middle = direction(u + 0.5, v + 0.5);
    let corners = [(0.0, 0.0), (1.0, 0.0), (0.0, 1.0), (1.0, 1.0)];
    let widest = corners.iter().map(|&(a, b)| dot(middle, direction(u + a, v + b))).fold(1.0, f64::min);
    (middle, widest)
}

/// Returns the point farthest from zero in each cell of directions.
fn farthest_by_cell(points: &[Point], cells: &[u16]) -> Vec<u32> {
    let mut farthest = [(-1.0, NONE); CELLS];
    for (i, (&p, &cell)) in points.iter().zip(cells).enumerate() {
        let slot = &mut farthest[usize::from(cell)];
        let r2 = dot(p, p);
        if r2 > slot.0 {
            *slot = (r2, i as u32);
        }
    }
    farthest.iter().map(|f| f.1).filter(|&i| i != NONE).collect()
}

/// The plane of a facet of the inner hull: `normal · p = distance` on it.
struct Plane {
    normal: Vector,
    distance: f64,
    facet: usize,
}

/// Returns the planes of a hull, `None` unless zero lies well inside.
fn planes(hull: &Quick) -> Option<Vec<Plane>> {
    let facets = (0..hull.made()).filter_map(|facet| hull.plane(facet).map(|plane| (facet, plane)));
    let planes: Vec<Plane> = facets
        .map(|(facet, (normal, corners))| {
            let normal = normalise(normal);
            let distance = corners.iter().map(|&v| dot(normal, v)).fold(f64::NEG_INFINITY, f64::max);
            Plane { normal, distance, facet }
        })
        .collect();
    planes.iter().all(|p| p.distance > 1e-6).then_some(planes)
}

/// What decides for one cell of directions which points may lie outside the inner hull.
struct Guard {
    /// The square of a radius below which every point of the cell lies inside.
    least2: f64,
    /// The planes of the inner hull that a point of the cell can lie beyond.
    planes: Vec<u32>,
}

impl Guard {
    fn new(planes: &[Plane], cell: usize, farthest: f64) -> Self {
        let (middle, cos_cone) = cone(cell);
        let sin_cone = (1.0 - cos_cone * cos_cone).max(0.0).sqrt();
        let mut guard = Self { least2: f64::INFINITY, planes: Vec::new() };
        for (i, plane) in planes.iter().enumerate() {
            let cos = dot(plane.normal, middle);
            // No direction of the cell goes straighter at the plane than this, and few planes need a closer look.
            let near = plane.distance * (1.0 - SLACK);
            if (cos * cos_cone + sin_cone) * farthest <= near && cos < cos_cone {
                continue;
            }
            // The direction of the cell that goes straightest at the plane, at best head-on.
            let straightest =
                if cos >= cos_cone { 1.0 } else { cos * cos_cone + (1.0 - cos * cos).max(0.0).sqrt() * sin_cone };
            // A hair more, so that rounding never throws away a point on the hull.
            if straightest * farthest > near {
                let least = near / straightest;
                guard.least2 = guard.least2.min(least * least);
                guard.planes.push(i as u32);
            }
        }
        guard
    }

    /// Returns the plane that a point lies farthest beyond, or [`NONE`].
    #[inline]
    fn beyond(&self, p: Point, planes: &[Plane]) -> u32 {
        let mut most = (SLACK, NONE);
        if dot(p, p) >= self.least2 {
            for &i in &self.planes {
                let plane = &planes[i as usize];
                let by = dot(plane.normal, p) - plane.distance;
                if by > most.0 {
                    most = (by, i);
                }
            }
        }
        most.1
    }
}

/// Points beyond the hull of many by no more than this, on the scale of a unit box, are taken to lie on it: a flat side
/// holds very many that add nothing but the rounding of the file's 32-bit numbers.
const SLACK: f64 = f32::EPSILON as f64;
/// ... and beyond the hull of few: a hair above the rounding of 64-bit numbers.
const FINE: f64 = 100.0 * f64::EPSILON;

/// Gathers hull triangles that lie in the plane of a larger neighbour.
fn merge_faces(hull: &Mesh) -> Option<Vec<HullFace>> {
    let n = hull.triangles.len();
    let flat: Vec<(Vector, f64)> = (0..n).map(|t| hull.normal_area(t)).collect();
    let mut by_area: Vec<usize> = (0..n).collect();
    by_area.sort_by(|&a, &b| flat[b].1.total_cmp(&flat[a].1).then(a.cmp(&b)));
    let topology = Topology::new(hull, |_| true);
    let bounds = hull.bounds();
    let reach = bounds.min.iter().chain(&bounds.max).fold(bounds.diagonal(), |m, c| m.max(c.abs()));
    let tolerance = 2.0 * f64::from(f32::EPSILON) * reach;
    let mut taken = vec![false; n];
    let mut faces = Vec::new();
    for &seed in &by_area {
        if std::mem::replace(&mut taken[seed], true) {
            continue;
        }
        let (normal, _) = flat[seed];
        let level = dot(normal, hull.corners(seed)[0]);
        let mut group = vec![seed];
        let mut next = 0;
        while next < group.len() {
            for half in 3 * group[next]..3 * group[next] + 3 {
                let twin = topology.twin[half];
                let other = twin as usize / 3;
                let coplanar = |t: usize| {
                    hull.corners(t).iter().all(|&p| (dot(normal, p) - level).abs() <= tolerance)
                        && (flat[t].1 < 1e-9 * flat[seed].1 || dot(flat[t].0, normal) > 0.999_96)
                };
                if twin != NONE && !taken[other] && coplanar(other) {
                    taken[other] = true;
                    group.push(other);
                }
            }
            next += 1;
        }
        faces.push(face(hull, &group));
    }
    faces.sort_by(|a, b| {
        let order = |x: Vector, y: Vector| (0..3).fold(std::cmp::Ordering::Equal, |o, k| o.then(x[k].total_cmp(&y[k])));
        b.area_mm2.total_cmp(&a.area_mm2).then(order(a.normal, b.normal)).then(order(a.centre, b.centre))
    });
    faces.iter().all(|f| f.area_mm2.is_finite()).then_some(faces)
}

fn face(hull: &Mesh, group: &[usize]) -> HullFace {
    let mut product = [0.0; 3];
    let mut moment = [0.0; 3];
    let mut area = 0.0;
    for &t in group {
        let [a, b, c] = hull.corners(t);
        let n = cross(sub(b, a), sub(c, a));
        let own = 0.5 * norm(n);
        product = add(product, n);
        moment = add(moment, scale(hull.centre(t), own));
        area += own;
    }
    let centre = if area > 0.0 { scale(moment, 1.0 / area) } else { hull.centre(group[0]) };
    HullFace { normal: normalise(product), area_mm2: area, centre }
}

#[cfg(test)]
mod tests {
    use super::super::vector::distance;
    use super::*;

    fn cloud(n: u32, f: impl Fn(f64, f64, f64) -> Point) -> Mesh {
        // A fixed low-discrepancy sequence (Kronecker, plastic number), so that the test is the same on every run.
        let at = |i: u32, a: f64| (f64::from(i) * a).fract();
        let points = (1..=n).map(|i| f(at(i, 0.819_172_513), at(i, 0.671_043_607), at(i, 0.549_700_478)));
        Mesh { vertices: points.collect(), triangles: Vec::new() }
    }

    fn volume(mesh: &Mesh) -> f64 {
        (0..mesh.triangles.len())
            .map(|t| {
                let [a, b, c] = mesh.corners(t);
                dot(a, cross(b, c)) / 6.0
            })
            .sum()
    }

    #[test]
    fn a_box_has_six_faces_however_many_points_it_holds() {
        for n in [0, 100, 20_000] {
            let mut mesh = cloud(n, |x, y, z| [30.0 * x, 20.0 * y, 10.0 * z]);
            for i in 0..8_u32 {
                let bit = |k: u32| f64::from(i >> k & 1);
                mesh.vertices.push([30.0 * bit(0), 20.0 * bit(1), 10.0 * bit(2)]);
            }
            let hull = convex(&mesh).expect("a hull");
            let areas: Vec<f64> = hull.faces.iter().map(|f| f.area_mm2).collect();
            assert_eq!(areas.len(), 6, "{n} points: {areas:?}");
            for (found, truth) in areas.iter().zip([600.0, 600.0, 300.0, 300.0, 200.0, 200.0]) {
                assert!((found - truth).abs() < 1e-6 * truth, "{n} points: {areas:?}");
            }
            assert!((volume(&hull.mesh) - 6000.0).abs() < 1e-6);
        }
    }

    #[test]
    fn throwing_points_away_does_not_change_the_hull() {
        // A thick noisy ball: many points come close to the hull.
        let mesh = cloud(30_000, |x, y, z| {
            let (phi, c) = (std::f64::consts::TAU * x, 2.0 * y - 1.0);
            let r = 0.45 + 0.05 * z;
            let s = (1.0 - c * c).sqrt();
            [r * s * phi.cos(), r * s * phi.sin(), r * c]
        });
        let all = plain(&mesh.vertices).expect("hull");
        let some = in_two_steps(&mesh.vertices).expect("hull");
        assert_eq!(all.vertices, some.vertices);
        assert!((volume(&all) - volume(&some)).abs() < 1e-12);
        // The library parry3d by its own quickhull, with its own tolerances.
        let theirs = library_hull(&mesh.vertices).expect("hull");
        assert!((volume(&all) - volume(&theirs)).abs() < 1e-9, "{} {}", volume(&all), volume(&theirs));
    }

    fn library_hull(points: &[Point]) -> Option<Mesh> {
        use parry3d_f64::math::Vector3;
        let points: Vec<Vector3> = points.iter().map(|p| Vector3::new(p[0], p[1], p[2])).collect();
        let (vertices, triangles) = parry3d_f64::transformation::try_convex_hull(&points).ok()?;
        Some(Mesh { vertices: vertices.into_iter().map(|p| [p.x, p.y, p.z]).collect(), triangles })
    }

    /// Every point lies inside every facet, and every edge has its one partner the other way round.
    fn assert_hull_of(points: &[Point], hull: &Mesh) {
        let mut edges = std::collections::BTreeSet::new();
        for t in 0..hull.triangles.len() {
            let (n, area) = hull.normal_area(t);
            let [a, b, c] = hull.corners(t);
            let longest = [distance(a, b), distance(b, c), distance(c, a)].into_iter().fold(0.0, f64::max);
            // The normal of a facet no wider than rounding (1e-23 was met, by exact sides) is noise: its neighbours tell.
            for &p in points.iter().filter(|_| area > 1e-12 * longest) {
                assert!(dot(n, sub(p, a)) < 1e-6, "{p:?} lies outside by {}", dot(n, sub(p, a)));
            }
            for k in 0..3 {
                let [from, to] = [k, (k + 1) % 3].map(|k| hull.triangles[t][k]);
                assert!(edges.insert((from, to)), "an edge twice");
            }
        }
        assert!(edges.iter().all(|&(a, b)| edges.contains(&(b, a))), "a hull is closed");
    }

    proptest::proptest! {
        /// Points on a coarse lattice: coplanar, collinear and equal ones without end.
        #[test]
        fn hulls_of_lattice_points_are_closed_and_hold_them_all(
            raw in proptest::collection::vec([0..5_i32, 0..5_i32, 0..4_i32], 1..80),
            slip in 0.0..1e-7_f64,
        ) {
            let points: Vec<Point> = raw
                .iter()
                .enumerate()
                .map(|(i, p)| p.map(|c| f64::from(c) * 0.2 - 0.4 + slip * (i as f64 * 0.618).fract()))
                .collect();
            if let Some(hull) = plain(&points) {
                assert_hull_of(&points, &hull);
            }
            let many: Vec<Point> = points.iter().cycle().take(5 * CELLS).copied().collect();
            if let Some(hull) = in_two_steps(&many) {
                assert_hull_of(&points, &hull);
            }
        }
    }

    #[test]
    fn flat_and_empty_meshes_have_no_hull() {
        assert_eq!(convex(&Mesh::default()), None);
        assert_eq!(convex(&cloud(50, |x, y, _| [x, y, 0.0])), None);
        assert_eq!(convex(&cloud(50, |x, _, _| [x, x, x])), None);
    }
}
