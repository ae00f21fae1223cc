//! What stands on the bed: outlines in the plane, their smallest box, and whether the weight is over them.

use std::f64::consts::FRAC_PI_2;

use super::Pose;
use crate::mesh::Mesh;
use crate::vector::dot;

/// A place on the bed, millimetres.
pub type Point2 = [f64; 2];

fn turn(o: Point2, a: Point2, b: Point2) -> f64 {
    (a[0] - o[0]) * (b[1] - o[1]) - (a[1] - o[1]) * (b[0] - o[0])
}

/// Returns the convex hull, counter-clockwise, without collinear points (Andrew's monotone chain, 1979).
///
/// Fewer than three points that span an area give that fewer points back.
pub fn convex_hull(points: &[Point2]) -> Vec<Point2> {
    let mut sorted: Vec<Point2> = points.iter().copied().filter(|p| p[0].is_finite() && p[1].is_finite()).collect();
    sorted.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    sorted.dedup();
    if sorted.len() < 3 {
        return sorted;
    }
    let mut hull = half_hull(sorted.iter().copied());
    hull.pop();
    hull.extend(half_hull(sorted.iter().rev().copied()));
    hull.pop();
    hull
}

fn half_hull(points: impl Iterator<Item = Point2>) -> Vec<Point2> {
    let mut hull: Vec<Point2> = Vec::new();
    for p in points {
        while hull.len() >= 2 && turn(hull[hull.len() - 2], hull[hull.len() - 1], p) <= 0.0 {
            hull.pop();
        }
        hull.push(p);
    }
    hull
}

/// The smallest rectangle around an outline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Footprint {
    /// Longer and shorter side, millimetres.
    pub size_mm: [f64; 2],
    /// Turn about the vertical, in degrees in (-90, 90], that lays the longer side along x.
    pub turn_deg: f64,
}

/// A rectangle smaller by less than this share is not worth a turn (own judgement): the flats a round is drawn with gain as much.
const WORTH_A_TURN: f64 = 0.02;
/// Nobody lays a part to less than this, degrees (own judgement).
const LEAST_TURN_DEG: f64 = 1.0;

/// Returns the rectangle of least area around a convex outline; it shares a side with the outline
/// (Freeman and Shapira, Communications of the ACM 18(7), 1975). Where a turn gains next to nothing, or is next to none, the
/// rectangle along the axes is returned.
pub fn smallest_rectangle(hull: &[Point2]) -> Footprint {
    let straight = rectangle_along(hull, [1.0, 0.0]);
    let best = least_rectangle(hull, straight);
    let area = |f: Footprint| f.size_mm[0] * f.size_mm[1];
    let aslant = best.turn_deg.rem_euclid(90.0);
    let next_to_none = aslant.min(90.0 - aslant) < LEAST_TURN_DEG;
    if next_to_none || area(best) > area(straight) * (1.0 - WORTH_A_TURN) { straight } else { best }
}

fn least_rectangle(hull: &[Point2], straight: Footprint) -> Footprint {
    let mut best = straight;
    for i in 0..hull.len() {
        let (a, b) = (hull[i], hull[(i + 1) % hull.len()]);
        let length = (b[0] - a[0]).hypot(b[1] - a[1]);
        if length <= 0.0 {
            continue;
        }
        let candidate = rectangle_along(hull, [(b[0] - a[0]) / length, (b[1] - a[1]) / length]);
        // A gain below a millionth is rounding: the earlier, less turned one stays.
        if candidate.size_mm[0] * candidate.size_mm[1] < best.size_mm[0] * best.size_mm[1] * (1.0 - 1e-6) {
            best = candidate;
        }
    }
    best
}

fn rectangle_along(hull: &[Point2], d: Point2) -> Footprint {
    let extent = |x: f64, y: f64| {
        let (lo, hi) = hull.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), p| {
            let t = p[0] * x + p[1] * y;
            (lo.min(t), hi.max(t))
        });
        (hi - lo).max(0.0)
    };
    let (along, across) = (extent(d[0], d[1]), extent(-d[1], d[0]));
    let angle = d[1].atan2(d[0]);
    let (size, direction) =
        if along >= across { ([along, across], angle) } else { ([across, along], angle + FRAC_PI_2) };
    let mut turn = (-direction).to_degrees() % 180.0;
    if turn > 90.0 {
        turn -= 180.0;
    } else if turn <= -90.0 {
        turn += 180.0;
    }
    Footprint { size_mm: size, turn_deg: turn + 0.0 }
}

/// Returns the area of a simple outline (positive when counter-clockwise), mm².
pub fn area(outline: &[Point2]) -> f64 {
    let Some(&o) = outline.first() else { return 0.0 };
    // Relative to the first point: far from the origin the plain shoelace sum loses its digits.
    0.5 * outline.windows(2).map(|w| turn(o, w[0], w[1])).sum::<f64>()
}

/// Returns how far `p` lies within a convex, counter-clockwise outline, millimetres; negative outside.
pub fn depth_within(hull: &[Point2], p: Point2) -> f64 {
    if hull.len() < 3 {
        return -hull.iter().map(|q| (q[0] - p[0]).hypot(q[1] - p[1])).fold(f64::INFINITY, f64::min);
    }
    let edges = (0..hull.len()).map(|i| (hull[i], hull[(i + 1) % hull.len()]));
    let signed = edges.map(|(a, b)| turn(a, b, p) / (b[0] - a[0]).hypot(b[1] - a[1]));
    signed.fold(f64::INFINITY, f64::min)
}

/// Returns the outline of a part's shadow on the bed, turned about the vertical by an angle in degrees, its lower left
/// corner at the origin, millimetres; `None` where the shadow spans no area.
pub fn shadow(mesh: &Mesh, pose: &Pose, turn_deg: f64) -> Option<Vec<Point2>> {
    let placed = pose.rotation();
    let (s, c) = turn_deg.to_radians().sin_cos();
    let points: Vec<Point2> = mesh
        .vertices
        .iter()
        .map(|&v| {
            let (x, y) = (dot(placed[0], v), dot(placed[1], v));
            [c * x - s * y, s * x + c * y]
        })
        .collect();
    let hull = convex_hull(&points);
    let low = [0, 1].map(|k| hull.iter().fold(f64::INFINITY, |least: f64, p| least.min(p[k])));
    (hull.len() >= 3).then(|| hull.iter().map(|p| [p[0] - low[0], p[1] - low[1]]).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_hull_of_a_square_with_extras_is_the_square() {
        let points = [[0.0, 0.0], [2.0, 0.0], [1.0, 0.0], [2.0, 2.0], [0.0, 2.0], [1.0, 1.0]];
        assert_eq!(convex_hull(&points), vec![[0.0, 0.0], [2.0, 0.0], [2.0, 2.0], [0.0, 2.0]]);
        assert_eq!(convex_hull(&[[1.0, 1.0], [1.0, 1.0]]).len(), 1);
    }

    #[test]
    fn a_turned_rectangle_is_found_with_its_turn() {
        let (c, s) = (30_f64.to_radians().cos(), 30_f64.to_radians().sin());
        let corners =
            [[0.0, 0.0], [40.0, 0.0], [40.0, 10.0], [0.0, 10.0]].map(|[x, y]: Point2| [c * x - s * y, s * x + c * y]);
        let found = smallest_rectangle(&convex_hull(&corners));
        assert!((found.size_mm[0] - 40.0).abs() < 1e-9 && (found.size_mm[1] - 10.0).abs() < 1e-9);
        assert!((found.turn_deg + 30.0).abs() < 1e-9, "{}", found.turn_deg);
    }

    /// A round is a polygon: along one of its flats it is a little smaller, and nobody turns it for that.
    #[test]
    fn a_turn_that_gains_nothing_is_not_made() {
        let round = |n: u32, from: f64| -> Vec<Point2> {
            let at = |k: u32| (f64::from(k) + from) * std::f64::consts::TAU / f64::from(n);
            convex_hull(&(0..n).map(|k| [30.0 * at(k).cos(), 30.0 * at(k).sin()]).collect::<Vec<_>>())
        };
        for (n, from) in [(64, 0.0), (64, 0.2), (180, 0.0), (101, 0.3)] {
            assert_eq!(smallest_rectangle(&round(n, from)).turn_deg.rem_euclid(90.0), 0.0, "{n} flats from {from}");
        }
        // Drawn askew by half a degree, a plate is laid as it is drawn.
        let (s, c) = 0.5_f64.to_radians().sin_cos();
        let plate =
            [[0.0, 0.0], [80.0, 0.0], [80.0, 5.0], [0.0, 5.0]].map(|[x, y]: Point2| [c * x - s * y, s * x + c * y]);
        assert_eq!(smallest_rectangle(&convex_hull(&plate)).turn_deg, 0.0);
    }

    #[test]
    fn the_shadow_of_a_turned_block_lies_at_the_origin() {
        let up = Pose::new([1.0, 0.0, 0.0]).unwrap();
        let outline = shadow(&crate::samples::block([3.0, 4.0, 5.0]), &up, 90.0).unwrap();
        let size = [0, 1].map(|k| outline.iter().fold(0.0, |most: f64, p| most.max(p[k])));
        let low = [0, 1].map(|k| outline.iter().fold(f64::INFINITY, |least: f64, p| least.min(p[k])));
        assert!(low.iter().all(|l| l.abs() < 1e-9), "{low:?}");
        let mut sides = size;
        sides.sort_by(f64::total_cmp);
        assert!((sides[0] - 4.0).abs() < 1e-9 && (sides[1] - 5.0).abs() < 1e-9, "{size:?}");
        assert!((area(&outline) - 20.0).abs() < 1e-9);
    }

    #[test]
    fn depth_is_negative_outside() {
        let square = [[0.0, 0.0], [2.0, 0.0], [2.0, 2.0], [0.0, 2.0]];
        assert!((depth_within(&square, [0.5, 1.0]) - 0.5).abs() < 1e-12);
        assert!((depth_within(&square, [-1.0, 1.0]) + 1.0).abs() < 1e-12);
        assert!((area(&square) - 4.0).abs() < 1e-12);
    }
}
