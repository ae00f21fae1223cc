//! The convex hull and its flat faces: what a part can be laid on.
//!
//! The hull itself is computed by a library (quickhull). Points that cannot be on it are thrown away first, after
//! S. G. Akl and G. T. Toussaint, "A fast convex hull algorithm", Inf. Process. Lett. 7(5), 1978, here by direction: the
//! farthest point of each of some hundred directions spans an inner hull, and what lies nearer the middle than that
//! inner hull does anywhere in its direction is inside.

use parry3d_f64::math::Vector3;
use parry3d_f64::transformation::try_convex_hull;

use super::bounds::Bounds;
use super::mesh::{Mesh, Point};
use super::vector::{Vector, add, cross, dot, norm, normalise, scale, sub};

/// A flat face of the hull: coplanar hull triangles that hang together.
#[derive(Debug, Clone, PartialEq)]
pub struct HullFace {
    /// Outward, of length one.
    pub normal: Vector,
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
    // To a unit box around zero: the library's tolerances are absolute.
    let (centre, unit) = (bounds.centre(), 1.0 / size.into_iter().fold(0.0, f64::max));
    let points: Vec<Point> = mesh.vertices.iter().map(|&p| scale(sub(p, centre), unit)).collect();
    let few = if points.len() > 4 * CELLS { outer_points(&points).unwrap_or(points) } else { points };
    let mut hull = library_hull(&few)?;
    for v in &mut hull.vertices {
        *v = add(scale(*v, 1.0 / unit), centre);
    }
    let faces = merge_faces(&hull)?;
    Some(Hull { mesh: hull, faces })
}

fn library_hull(points: &[Point]) -> Option<Mesh> {
    let points: Vec<Vector3> = points.iter().map(|p| Vector3::new(p[0], p[1], p[2])).collect();
    let (vertices, triangles) = try_convex_hull(&points).ok()?;
    // Collinear and coplanar points come back as a hull of fewer corners, without an error.
    (vertices.len() >= 4 && triangles.len() >= 4)
        .then(|| Mesh { vertices: vertices.into_iter().map(|p| [p.x, p.y, p.z]).collect(), triangles })
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

/// Returns the points that may be corners of the hull, or `None` if the middle is not well inside.
fn outer_points(points: &[Point]) -> Option<Vec<Point>> {
    let mut farthest: Vec<Option<(f64, u32)>> = vec![None; CELLS];
    for (i, &p) in points.iter().enumerate() {
        let slot = &mut farthest[cell(p)];
        let r2 = dot(p, p);
        if slot.is_none_or(|(best, _)| r2 > best) {
            *slot = Some((r2, i as u32));
        }
    }
    let chosen: Vec<Point> = farthest.iter().flatten().map(|&(_, i)| points[i as usize]).collect();
    let inner = library_hull(&chosen)?;
    let planes: Vec<(Vector, f64)> = (0..inner.triangles.len())
        .map(|t| {
            let n = inner.normal_area(t).0;
            (n, dot(n, inner.corners(t)[0]))
        })
        .filter(|(n, _)| *n != [0.0; 3])
        .collect();
    if planes.iter().any(|&(_, d)| d < 1e-6) {
        return None;
    }
    let least: Vec<f64> = (0..CELLS).map(|c| least_radius(&planes, c)).collect();
    Some(points.iter().copied().filter(|&p| dot(p, p) >= least[cell(p)]).collect())
}

/// Returns the square of a radius below which every point of a cell lies inside all planes.
fn least_radius(planes: &[(Vector, f64)], cell: usize) -> f64 {
    let (middle, cos_cone) = cone(cell);
    let sin_cone = (1.0 - cos_cone * cos_cone).max(0.0).sqrt();
    let mut least = f64::INFINITY;
    for &(n, d) in planes {
        let cos = dot(n, middle);
        // The direction of the cell that goes straightest at the plane, at best head-on.
        let straightest =
            if cos >= cos_cone { 1.0 } else { cos * cos_cone + (1.0 - cos * cos).max(0.0).sqrt() * sin_cone };
        if straightest > 0.0 {
            least = least.min(d / straightest);
        }
    }
    // A hair less, so that rounding never throws away a point on the hull.
    let least = least * (1.0 - 1e-6);
    least * least
}

/// Gathers hull triangles that lie in the plane of a larger neighbour.
fn merge_faces(hull: &Mesh) -> Option<Vec<HullFace>> {
    let n = hull.triangles.len();
    let flat: Vec<(Vector, f64)> = (0..n).map(|t| hull.normal_area(t)).collect();
    let mut by_area: Vec<usize> = (0..n).collect();
    by_area.sort_by(|&a, &b| flat[b].1.total_cmp(&flat[a].1).then(a.cmp(&b)));
    let topology = super::health::edges::Topology::new(hull, |_| true);
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
                if twin != super::health::edges::NONE && !taken[other] && coplanar(other) {
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
        let fewer = outer_points(&mesh.vertices).expect("filter applies");
        assert!(fewer.len() < mesh.vertices.len());
        let (all, some) = (library_hull(&mesh.vertices).expect("hull"), library_hull(&fewer).expect("hull"));
        assert_eq!(all.vertices.len(), some.vertices.len());
        assert!((volume(&all) - volume(&some)).abs() < 1e-12);
    }

    #[test]
    fn flat_and_empty_meshes_have_no_hull() {
        assert_eq!(convex(&Mesh::default()), None);
        assert_eq!(convex(&cloud(50, |x, y, _| [x, y, 0.0])), None);
        assert_eq!(convex(&cloud(50, |x, _, _| [x, x, x])), None);
    }
}
