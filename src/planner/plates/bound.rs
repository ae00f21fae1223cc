//! What no arrangement of equal pieces on a plate can beat.

use std::f64::consts::{FRAC_1_SQRT_2, PI, SQRT_2};

use super::polygon::{cross, tidied};
use super::{Because, Bed, Kind, Point, Shape};

/// The area of a piece grown by a radius all round, corners round: never more than it is.
pub(super) fn grown_area(kind: &Kind, radius: f64) -> f64 {
    let radius_all = radius + kind.brim_mm;
    match &kind.shape {
        Shape::Rectangle { width_mm: w, depth_mm: d } => {
            w * d + 2.0 * (w + d) * radius_all + PI * radius_all * radius_all
        }
        Shape::Disc { diameter_mm } => PI * (diameter_mm / 2.0 + radius_all).powi(2),
        Shape::Outline(points) => grown_outline(&tidied(points), radius_all),
    }
}

fn grown_outline(points: &[Point], radius: f64) -> f64 {
    let n = points.len();
    let plain = super::polygon::area(points);
    let mut grown = plain;
    for i in 0..n {
        let (before, here, after) = (points[(i + n - 1) % n], points[i], points[(i + 1) % n]);
        let (u, v) = ([here[0] - before[0], here[1] - before[1]], [after[0] - here[0], after[1] - here[1]]);
        let (one, two) = (u[0].hypot(u[1]), v[0].hypot(v[1]));
        let turn = cross(before, here, after).atan2(u[0] * v[0] + u[1] * v[1]);
        grown += two * radius;
        if turn >= 0.0 {
            grown += turn / 2.0 * radius * radius;
        } else {
            let cut = radius * (-turn / 2.0).tan();
            // In a notch too narrow for the radius the sides' strips lie over each other: then only what is sure counts.
            if cut * 2.0 > one.min(two) {
                return plain;
            }
            grown -= cut * radius;
        }
    }
    // Strips of sides that face each other across less than the gap lie over each other; the plain area is always right.
    if faces_itself(points, 2.0 * radius) { plain } else { grown }
}

/// Whether two sides that are no neighbours face each other from outside, nearer than a distance.
fn faces_itself(points: &[Point], distance: f64) -> bool {
    let n = points.len();
    (0..n).any(|i| {
        (0..n).any(|j| {
            let next = (i + 1) % n;
            if j == i || j == next || (j + 1) % n == i || (next + 1) % n == j {
                return false;
            }
            let (a, b, p) = (points[i], points[next], points[j]);
            let side = [b[0] - a[0], b[1] - a[1]];
            let length = side[0].hypot(side[1]).max(1e-12);
            let out = -cross(a, b, p) / length;
            let along = ((p[0] - a[0]) * side[0] + (p[1] - a[1]) * side[1]) / length;
            out > -1e-9 && out < distance && along > -distance && along < length + distance
        })
    })
}

/// The most by area at any angle: each piece with half the gap round it, in the room with half the gap round it.
pub(super) fn by_area(bed: &Bed, kind: &Kind, gap: f64) -> usize {
    let room = [bed.width_mm - 2.0 * bed.edge_mm, bed.depth_mm - 2.0 * bed.edge_mm];
    if room[0] <= 0.0 || room[1] <= 0.0 {
        return 0;
    }
    let all = grown_room(room, gap);
    (all / grown_area(kind, gap / 2.0) + 1e-9).floor() as usize
}

pub(super) fn grown_room(room: Point, gap: f64) -> f64 {
    let half = gap / 2.0;
    room[0] * room[1] + 2.0 * (room[0] + room[1]) * half + PI * half * half
}

/// Largest least distance of 2 to 10 points in a unit square, all proven: Schaer, Melissen, de Groot, Peikert and others
/// 1964-1990, as collected by Peikert, Discrete Math. (from memory).
const SPREAD: [f64; 9] = [
    SQRT_2,
    1.035_276_180_5,
    1.0,
    FRAC_1_SQRT_2,
    0.600_925_212_6,
    0.535_898_384_9,
    0.517_638_090_3,
    0.5,
    0.421_279_543_9,
];

/// The most discs: middles at least a distance apart in a room.
///
/// Oler 1961 (from memory): at most 2/sqrt(3) A/d^2 + P/(2 d) + 1 points; in squares up to ten the proven distances.
pub(super) fn discs(room_of_middles: Point, distance: f64) -> (usize, Because) {
    let [w, d] = room_of_middles;
    if w < -1e-9 || d < -1e-9 {
        return (0, Because::Area);
    }
    let (w, d) = (w.max(0.0), d.max(0.0));
    let oler = 2.0 / 3.0_f64.sqrt() * w * d / (distance * distance) + (w + d) / distance + 1.0;
    let by_oler = (oler + 1e-9).floor() as usize;
    let side = w.max(d);
    // Seven digits of the table are sure.
    let by_table = SPREAD.iter().position(|spread| spread * side < distance * (1.0 - 1e-7)).map(|i| i + 1);
    match by_table {
        Some(n) if n < by_oler => (n, Because::Literature),
        _ => (by_oler, Because::Area),
    }
}
