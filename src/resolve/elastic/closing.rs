//! Gaps of the part that a load closes: from there on the part touches itself, and a field of it by itself says nothing more.

use crate::field::Solution;
use crate::geometry::mesh::{Mesh, Point};
use crate::geometry::vector::{Vector, add, dot, norm, scale, sub};
use crate::resolve::part::Part;

/// The gap that a load closes first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Closing {
    /// How wide it is where it closes, mm, and the middle of it.
    pub gap_mm: f64,
    pub at: Vector,
    /// The modulus with which the load just closes it, MPa; with one twice as large twice the load does.
    pub modulus_mpa: f64,
}

/// Gaps this much wider than the narrowest are looked at besides.
const WIDE: f64 = 4.0;
/// Cosine of the angle between the normals of two walls below which they face each other.
const FACING: f64 = -0.5;
/// From a wall outward the way across begins so far off it, and movements are read so far under it, mm.
const OFF_MM: f64 = 1e-3;
const UNDER_MM: f64 = 0.02;
/// Places looked at on a facet along each of its sides, and over the part at most.
const ALONG: usize = 6;
const MOST: usize = 6_000;

/// Returns the gap between walls of the part that a load closes first, if it brings any of them nearer.
pub fn first(s: &Solution, part: &Part) -> Option<Closing> {
    let reach = WIDE * part.min_gap_mm?;
    let rays = part.rays();
    let across = |(from, n): (Point, Vector)| {
        let hit = rays.hit(add(from, scale(n, OFF_MM)), n, reach)?;
        let gap_mm = hit.distance + OFF_MM;
        let moved = |p: Point| s.displacement(p);
        let here = moved(sub(from, scale(n, UNDER_MM)))?;
        let there = moved(add(from, scale(n, gap_mm + UNDER_MM)))?;
        let nearer = dot(sub(here, there), n);
        let faces = dot(rays.normal(hit.facet), n) < FACING && nearer > 0.0;
        faces.then(|| Closing { gap_mm, at: add(from, scale(n, 0.5 * gap_mm)), modulus_mpa: nearer / gap_mm })
    };
    let first = |a: Closing, b: Closing| if b.modulus_mpa > a.modulus_mpa { b } else { a };
    places(&part.mesh, reach).into_iter().filter_map(across).reduce(first)
}

/// Returns places all over the surface, no nearer than a gap is wide, with the way out there.
fn places(mesh: &Mesh, apart: f64) -> Vec<(Point, Vector)> {
    let count = mesh.triangles.len();
    let each = (MOST / count.max(1)).clamp(1, ALONG * ALONG);
    let along = |t: usize| {
        let [a, b, c] = mesh.corners(t);
        let longest = [sub(b, a), sub(c, b), sub(a, c)].map(norm).into_iter().fold(0.0, f64::max);
        let wanted = (longest / apart.max(f64::MIN_POSITIVE)).ceil().clamp(1.0, ALONG as f64) as usize;
        wanted.min((each as f64).sqrt() as usize).max(1)
    };
    let of = |t: usize| {
        let ([a, b, c], n) = (mesh.corners(t), along(t));
        let (u, v) = (scale(sub(b, a), 1.0 / n as f64), scale(sub(c, a), 1.0 / n as f64));
        let normal = mesh.normal_area(t).0;
        // The middles of the small triangles whose corner is nearest to that of the facet: none lies on its rim.
        let middle =
            move |i: usize, j: usize| add(a, add(scale(u, i as f64 + 1.0 / 3.0), scale(v, j as f64 + 1.0 / 3.0)));
        (0..n).flat_map(move |i| (0..n - i).map(move |j| (middle(i, j), normal)))
    };
    (0..count).step_by(count.div_ceil(MOST).max(1)).flat_map(of).collect()
}
