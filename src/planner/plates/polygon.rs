//! Polygons as the packing needs them: turned, cut in convex parts, grown, and the positions at which two of them meet.

use std::f64::consts::PI;

use super::Point;

/// A convex polygon, anticlockwise.
pub(super) type Convex = Vec<Point>;

/// Corners of an outline beyond this are given up, the outline growing a little where they were.
const MOST_CORNERS: usize = 48;

pub(super) fn cross(o: Point, a: Point, b: Point) -> f64 {
    (a[0] - o[0]) * (b[1] - o[1]) - (a[1] - o[1]) * (b[0] - o[0])
}

/// Signed area: positive anticlockwise.
pub(super) fn area(points: &[Point]) -> f64 {
    let next = points.iter().cycle().skip(1);
    points.iter().zip(next).map(|(a, b)| a[0] * b[1] - a[1] * b[0]).sum::<f64>() / 2.0
}

pub(super) fn bounds<'a>(points: impl IntoIterator<Item = &'a Point>) -> (Point, Point) {
    points.into_iter().fold(([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]), |(low, high), p| {
        ([low[0].min(p[0]), low[1].min(p[1])], [high[0].max(p[0]), high[1].max(p[1])])
    })
}

/// Sine and cosine, exact for quarter turns.
pub(super) fn sine_cosine(turn_deg: f64) -> (f64, f64) {
    let quarters = turn_deg / 90.0;
    if quarters.fract() == 0.0 {
        return match quarters.rem_euclid(4.0) as u8 {
            0 => (0.0, 1.0),
            1 => (1.0, 0.0),
            2 => (0.0, -1.0),
            _ => (-1.0, 0.0),
        };
    }
    turn_deg.to_radians().sin_cos()
}

/// A point turned about the origin.
pub(super) fn turned(p: Point, turn_deg: f64) -> Point {
    let (sine, cosine) = sine_cosine(turn_deg);
    [p[0] * cosine - p[1] * sine, p[0] * sine + p[1] * cosine]
}

/// The outline anticlockwise, without repeated corners and corners that are none.
pub(super) fn tidied(outline: &[Point]) -> Vec<Point> {
    let mut points = outline.to_vec();
    if area(&points) < 0.0 {
        points.reverse();
    }
    let mut index = 0;
    while points.len() > 3 && index < points.len() {
        let n = points.len();
        let (a, b, c) = (points[(index + n - 1) % n], points[index], points[(index + 1) % n]);
        let reach = ((c[0] - a[0]).abs() + (c[1] - a[1]).abs()).max(1.0);
        if cross(a, b, c).abs() < 1e-9 * reach {
            points.remove(index);
            index = index.saturating_sub(1);
        } else {
            index += 1;
        }
    }
    points
}

/// Whether no two sides cross or touch but at shared corners.
pub(super) fn is_simple(points: &[Point]) -> bool {
    let n = points.len();
    let side = |i: usize| (points[i], points[(i + 1) % n]);
    for i in 0..n {
        for j in i + 2..n {
            if i == 0 && j == n - 1 {
                continue;
            }
            let ((a, b), (c, d)) = (side(i), side(j));
            let (one, two) = (cross(a, b, c) * cross(a, b, d), cross(c, d, a) * cross(c, d, b));
            if one < 0.0 && two < 0.0 {
                return false;
            }
        }
    }
    area(points).abs() > 1e-9
}

/// An outline that covers the given one, with fewer corners where there were very many.
pub(super) fn simplified(outline: &[Point]) -> Vec<Point> {
    let points = tidied(outline);
    if points.len() <= MOST_CORNERS {
        return points;
    }
    let (own, round) = (with_fewer_corners(points), with_fewer_corners(tidied(&hull(outline))));
    if own.len() <= MOST_CORNERS && area(&own) <= area(&round) { own } else { round }
}

fn with_fewer_corners(mut points: Vec<Point>) -> Vec<Point> {
    while points.len() > MOST_CORNERS {
        let n = points.len();
        let cheapest = (0..n).filter_map(|i| Some((saving(&points, i)?, i)));
        let Some(((_, replaced), index)) = cheapest.min_by(|a, b| a.0.0.total_cmp(&b.0.0)) else { break };
        match replaced {
            None => {
                points.remove(index);
            }
            Some(corner) => {
                points[index] = corner;
                points.remove((index + 1) % n);
            }
        }
    }
    points
}

/// What it adds to the area to leave out a corner: one that points inwards itself, or the side after it, its neighbours
/// drawn out to where they meet.
fn saving(points: &[Point], index: usize) -> Option<(f64, Option<Point>)> {
    let n = points.len();
    let at = |offset: usize| points[(index + offset) % n];
    let (before, here, after, beyond) = (at(n - 1), at(0), at(1), at(2));
    let turn = cross(before, here, after);
    let empty = |triangle: [Point; 3]| {
        points
            .iter()
            .all(|p| triangle.contains(p) || (0..3).any(|k| cross(triangle[k], triangle[(k + 1) % 3], *p) < 0.0))
    };
    if turn <= 0.0 {
        return empty([before, after, here]).then_some((-turn / 2.0, None));
    }
    if cross(here, after, beyond) <= 0.0 {
        return None;
    }
    let corner = meeting(before, here, beyond, after)?;
    let added = cross(here, corner, after).abs() / 2.0;
    // Ahead of both, or the sides part and never meet.
    let ahead = cross(here, after, corner) < 0.0;
    (ahead && empty([here, corner, after])).then_some((added, Some(corner)))
}

/// Where the lines a b and c d meet.
fn meeting(a: Point, b: Point, c: Point, d: Point) -> Option<Point> {
    let (u, v) = ([b[0] - a[0], b[1] - a[1]], [d[0] - c[0], d[1] - c[1]]);
    let under = u[0] * v[1] - u[1] * v[0];
    if under.abs() < 1e-12 {
        return None;
    }
    let t = ((c[0] - a[0]) * v[1] - (c[1] - a[1]) * v[0]) / under;
    Some([a[0] + t * u[0], a[1] + t * u[1]])
}

/// Cuts a simple outline (anticlockwise) in convex parts: ears, then neighbours joined while they stay convex.
///
/// An outline on which that fails is covered by its hull.
pub(super) fn convex_parts(outline: &[Point]) -> Vec<Convex> {
    let Some(mut parts) = ears(outline) else { return vec![hull(outline)] };
    loop {
        let pairs = (0..parts.len()).flat_map(|i| (i + 1..parts.len()).map(move |j| (i, j)));
        let found = pairs.filter_map(|(i, j)| Some((i, j, joined(&parts[i], &parts[j])?))).next();
        let Some((i, j, joined)) = found else { return parts };
        parts[i] = joined;
        parts.remove(j);
    }
}

fn ears(outline: &[Point]) -> Option<Vec<Convex>> {
    let mut rest = outline.to_vec();
    let mut parts = Vec::new();
    while rest.len() > 3 {
        let n = rest.len();
        let ear = |i: usize| {
            let (a, b, c) = (rest[(i + n - 1) % n], rest[i], rest[(i + 1) % n]);
            let inside =
                |p: &Point| cross(a, b, *p) >= -1e-12 && cross(b, c, *p) >= -1e-12 && cross(c, a, *p) >= -1e-12;
            cross(a, b, c) > 1e-12 && !rest.iter().any(|p| *p != a && *p != b && *p != c && inside(p))
        };
        let index = (0..n).find(|i| ear(*i))?;
        parts.push(vec![rest[(index + n - 1) % n], rest[index], rest[(index + 1) % n]]);
        rest.remove(index);
    }
    parts.push(rest);
    Some(parts)
}

/// Two convex parts that share a side, as one; none if that is not convex.
fn joined(a: &Convex, b: &Convex) -> Option<Convex> {
    let (n, m) = (a.len(), b.len());
    for i in 0..n {
        for j in 0..m {
            if a[i] != b[(j + 1) % m] || a[(i + 1) % n] != b[j] {
                continue;
            }
            let of_a = (1..=n).map(|k| a[(i + k) % n]);
            let of_b = (2..m).map(|k| b[(j + k) % m]);
            let whole: Convex = of_a.chain(of_b).collect();
            let corners = whole.len();
            let convex = (0..corners).all(|k| {
                let (p, q, r) = (whole[k], whole[(k + 1) % corners], whole[(k + 2) % corners]);
                cross(p, q, r) >= -1e-9 * ((r[0] - p[0]).abs() + (r[1] - p[1]).abs()).max(1.0)
            });
            return convex.then_some(whole);
        }
    }
    None
}

/// The convex hull, anticlockwise (Andrew's monotone chain).
pub(super) fn hull(points: &[Point]) -> Convex {
    let mut sorted = points.to_vec();
    sorted.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    sorted.dedup();
    let chain = |points: &mut dyn Iterator<Item = Point>| {
        let mut chain: Vec<Point> = Vec::new();
        for p in points {
            while chain.len() >= 2 && cross(chain[chain.len() - 2], chain[chain.len() - 1], p) <= 0.0 {
                chain.pop();
            }
            chain.push(p);
        }
        chain.pop();
        chain
    };
    let mut whole = chain(&mut sorted.iter().copied());
    whole.extend(chain(&mut sorted.iter().rev().copied()));
    whole
}

/// The convex parts of an outline grown by a radius: all sides lie just so far off, corners are cut no closer than the arc,
/// and nothing sticks out where parts meet.
pub(super) fn grown_parts(outline: &[Point], parts: &[Convex], radius: f64) -> Vec<Convex> {
    if radius <= 0.0 {
        return parts.to_vec();
    }
    let n = outline.len();
    let corners: Vec<Vec<Point>> =
        (0..n).map(|i| grown_corner(outline[(i + n - 1) % n], outline[i], outline[(i + 1) % n], radius)).collect();
    let around = |p: &Point| match outline.iter().position(|o| o == p) {
        Some(i) => corners[i].clone(),
        None => disc(2.0 * radius).iter().map(|d| [p[0] + d[0], p[1] + d[1]]).collect(),
    };
    parts.iter().map(|part| hull(&part.iter().flat_map(around).collect::<Vec<Point>>())).collect()
}

/// What a grown outline has about a corner: the arc by its tangents, or in a notch just the ends of the sides' strips.
fn grown_corner(before: Point, here: Point, after: Point, radius: f64) -> Vec<Point> {
    let (from, to) = (normal_angle(before, here), normal_angle(here, after));
    let at = |angle: f64, out: f64| [here[0] + out * angle.cos(), here[1] + out * angle.sin()];
    if cross(before, here, after) <= 0.0 {
        return vec![at(from, radius), at(to, radius)];
    }
    let turn = (to - from).rem_euclid(2.0 * PI);
    let steps = (turn / (PI / 8.0) - 1e-9).ceil().max(1.0);
    let step = turn / steps;
    let out = radius / (step / 2.0).cos();
    (0..steps as usize).map(|k| at(from + (k as f64 + 0.5) * step, out)).collect()
}

fn normal_angle(a: Point, b: Point) -> f64 {
    (a[0] - b[0]).atan2(b[1] - a[1])
}

/// A circle as a polygon about it, with sides square to the axes.
pub(super) fn disc(diameter_mm: f64) -> Vec<Point> {
    const SIDES: usize = 32;
    let out = diameter_mm / 2.0 / (PI / SIDES as f64).cos();
    (0..SIDES)
        .map(|k| {
            let angle = (k as f64 + 0.5) * 2.0 * PI / SIDES as f64;
            [out * angle.cos(), out * angle.sin()]
        })
        .collect()
}

/// Where the second's origin must not be, if the first stays: the sum of the first and the second turned end for end.
pub(super) fn no_fit(fixed: &Convex, moved: &Convex) -> Convex {
    let mirrored: Convex = moved.iter().map(|p| [-p[0], -p[1]]).collect();
    let (a, b) = (from_lowest(fixed), from_lowest(&mirrored));
    let (mut i, mut j) = (0, 0);
    let mut sum = Vec::with_capacity(a.len() + b.len());
    while i < a.len() || j < b.len() {
        let (p, q) = (a[i % a.len()], b[j % b.len()]);
        sum.push([p[0] + q[0], p[1] + q[1]]);
        let (u, v) = (a[(i + 1) % a.len()], b[(j + 1) % b.len()]);
        let turn = (u[0] - p[0]) * (v[1] - q[1]) - (u[1] - p[1]) * (v[0] - q[0]);
        let (more_a, more_b) = (i < a.len(), j < b.len());
        // Sides that go the same way, but for rounding, are one side.
        let alike = turn.abs()
            <= 1e-12 * ((u[0] - p[0]).abs() + (u[1] - p[1]).abs()) * ((v[0] - q[0]).abs() + (v[1] - q[1]).abs());
        if more_a && (!more_b || turn > 0.0 || alike) {
            i += 1;
        }
        if more_b && (!more_a || turn < 0.0 || alike) {
            j += 1;
        }
    }
    sum
}

fn from_lowest(points: &Convex) -> Convex {
    let lowest = (0..points.len())
        .min_by(|a, b| points[*a][1].total_cmp(&points[*b][1]).then(points[*a][0].total_cmp(&points[*b][0])))
        .unwrap_or(0);
    points[lowest..].iter().chain(&points[..lowest]).copied().collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const ELL: [Point; 6] = [[0.0, 0.0], [40.0, 0.0], [40.0, 20.0], [20.0, 20.0], [20.0, 60.0], [0.0, 60.0]];

    #[test]
    fn convex_parts_cover_an_outline_once() {
        let parts = convex_parts(&ELL);
        assert_eq!(parts.len(), 2);
        let sum: f64 = parts.iter().map(|p| area(p)).sum();
        assert!((sum - area(&ELL)).abs() < 1e-9 && (sum - 1600.0).abs() < 1e-9);
    }

    #[test]
    fn a_grown_square_keeps_its_sides_and_covers_its_arcs() {
        let square = vec![[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]];
        let big = grown_parts(&square, std::slice::from_ref(&square), 2.0).remove(0);
        let (low, high) = bounds(&big);
        assert!((0..2).all(|k| (low[k] + 2.0).abs() < 1e-9 && (high[k] - 12.0).abs() < 1e-9), "{low:?} {high:?}");
        let exact = 100.0 + 4.0 * 20.0 + PI * 4.0;
        assert!(area(&big) >= exact && area(&big) < exact * 1.005, "{}", area(&big));
    }

    #[test]
    fn nothing_sticks_out_where_parts_meet() {
        let grown = grown_parts(&ELL, &convex_parts(&ELL), 1.0);
        // Off every side, over all its length, lies the rim and nothing else.
        for (k, side) in [(1, 40.0), (0, 40.0), (1, 20.0), (0, 20.0), (1, 60.0)].into_iter().enumerate() {
            let (axis, _) = side;
            let (a, b) = (ELL[k], ELL[k + 1]);
            for step in 0..=10 {
                let t = f64::from(step) / 10.0;
                let mut p = [a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])];
                let out = if axis == 1 { -(b[0] - a[0]).signum() } else { (b[1] - a[1]).signum() };
                p[axis] += out * 1.001;
                let notch = k == 2 && step == 10 || k == 3 && step == 0;
                assert!(notch || !grown.iter().any(|c| is_in(c, p)), "side {k} at {t}");
                p[axis] -= out * 0.002;
                assert!(grown.iter().any(|c| is_in(c, p)), "side {k} at {t}");
            }
        }
    }

    fn is_in(convex: &Convex, p: Point) -> bool {
        (0..convex.len()).all(|i| cross(convex[i], convex[(i + 1) % convex.len()], p) >= 0.0)
    }

    #[test]
    fn two_squares_meet_on_a_square_of_both() {
        let (a, b) = (
            vec![[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]],
            vec![[0.0, 0.0], [4.0, 0.0], [4.0, 4.0], [0.0, 4.0]],
        );
        let meet = no_fit(&a, &b);
        assert_eq!(bounds(&meet), ([-4.0, -4.0], [10.0, 10.0]));
        assert_eq!(meet.len(), 4);
    }

    #[test]
    fn fewer_corners_cover_what_many_did() {
        let wheel: Vec<Point> = (0..400)
            .map(|k| {
                let (angle, radius) = (f64::from(k) * PI / 200.0, if k % 8 < 4 { 50.0 } else { 46.0 });
                [radius * angle.cos(), radius * angle.sin()]
            })
            .collect();
        let plain = simplified(&wheel);
        assert!(plain.len() <= MOST_CORNERS && is_simple(&plain));
        assert!(area(&plain) > area(&wheel) && area(&plain) < 1.1 * PI * 2500.0, "{}", area(&plain));
        for p in &wheel {
            let inside = convex_parts(&plain)
                .iter()
                .any(|c| (0..c.len()).all(|i| cross(c[i], c[(i + 1) % c.len()], *p) >= -1e-6));
            assert!(inside, "{p:?}");
        }
    }
}
