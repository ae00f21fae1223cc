//! How far a patch spans between the edges that hold it, and how far it reaches out from them.

use super::patch::{Border, Patch};

/// Lines drawn across a patch in each direction.
const LINES: usize = 48;
/// Directions tried: along the normals of the longest held edges, and this many spread evenly from there.
const SPREAD: usize = 8;
const NORMALS: usize = 6;
/// A patch is a bridge where this part of it lies between held edges.
const MOSTLY: f64 = 0.75;
/// Border edges beyond these numbers are thinned out evenly, to bound the work.
const MOST_POINTS: usize = 600;

/// A span found: its length and its direction on the bed plane.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Span {
    pub length_mm: f64,
    pub direction: [f64; 2],
}

/// Returns the least span over which the patch hangs between held edges; `None` where no direction has most of it so.
pub fn span(patch: &Patch) -> Option<Span> {
    if patch.held_mm <= 0.0 {
        return None;
    }
    let mut best: Option<Span> = None;
    for direction in directions(&patch.border) {
        let Some(length_mm) = across(&patch.border, direction) else { continue };
        if best.is_none_or(|b| length_mm < b.length_mm * (1.0 - 1e-9)) {
            best = Some(Span { length_mm, direction });
        }
    }
    best
}

/// Returns the directions worth trying, laid by the held edges so that they turn with the part.
fn directions(border: &[Border]) -> Vec<[f64; 2]> {
    let mut sums: Vec<([f64; 2], f64)> = Vec::new();
    for b in border.iter().filter(|b| b.held) {
        let run = [b.to[0] - b.from[0], b.to[1] - b.from[1]];
        let length = run[0].hypot(run[1]);
        if length <= 0.0 {
            continue;
        }
        let normal = [-run[1] / length, run[0] / length];
        match sums.iter().position(|(n, _)| (n[0] * normal[1] - n[1] * normal[0]).abs() < 0.02) {
            Some(i) => sums[i].1 += length,
            None if sums.len() < 256 => sums.push((normal, length)),
            None => {}
        }
    }
    sums.sort_by(|a, b| b.1.total_cmp(&a.1));
    sums.truncate(NORMALS);
    let mut directions: Vec<[f64; 2]> = sums.iter().map(|s| s.0).collect();
    let base = directions.first().copied().unwrap_or([1.0, 0.0]);
    for i in 1..SPREAD {
        let (s, c) = (i as f64 * std::f64::consts::PI / SPREAD as f64).sin_cos();
        directions.push([base[0] * c - base[1] * s, base[0] * s + base[1] * c]);
    }
    directions
}

/// Returns the longest chord in the direction, if most of the patch lies on chords held at both ends.
fn across(border: &[Border], d: [f64; 2]) -> Option<f64> {
    let along = |p: [f64; 2]| p[0] * d[0] + p[1] * d[1];
    let beside = |p: [f64; 2]| p[1] * d[0] - p[0] * d[1];
    let (low, high) = border
        .iter()
        .flat_map(|b| [beside(b.from), beside(b.to)])
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), t| (l.min(t), h.max(t)));
    let step = (high - low) / LINES as f64;
    if !step.is_finite() || step <= 0.0 {
        return None;
    }
    let mut crossings: Vec<Vec<(f64, i32, bool)>> = vec![Vec::new(); LINES];
    for b in border {
        let (s, t) = (beside(b.from), beside(b.to));
        let way = if s < t { 1 } else { -1 };
        let (near, far) = (s.min(t), s.max(t));
        let first = (((near - low) / step - 0.5).ceil().max(0.0)) as usize;
        for (i, line) in crossings.iter_mut().enumerate().skip(first) {
            let at = low + (i as f64 + 0.5) * step;
            if at >= far {
                break;
            }
            let part = (at - s) / (t - s);
            line.push((along(b.from) + part * (along(b.to) - along(b.from)), way, b.held));
        }
    }
    let (mut whole, mut between, mut longest) = (0.0, 0.0, 0.0_f64);
    for line in &mut crossings {
        line.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        chords(line, |length, both| {
            whole += length;
            if both {
                between += length;
                longest = longest.max(length);
            }
        });
    }
    (whole > 0.0 && between >= MOSTLY * whole).then_some(longest)
}

/// Calls `found(length, held at both ends)` for each stretch of a line that lies on the patch.
fn chords(line: &[(f64, i32, bool)], mut found: impl FnMut(f64, bool)) {
    let (mut depth, mut start) = (0, (0.0, false));
    for &(at, way, held) in line {
        let before = depth;
        depth += way;
        if before == 0 {
            start = (at, held);
        } else if depth == 0 && at > start.0 {
            found(at - start.0, held && start.1);
        }
    }
}

/// Returns the farthest that any point of the border, or of these points within, stands from what holds the patch, seen
/// from above, mm.
pub fn reach(patch: &Patch, within: &[[f64; 2]]) -> f64 {
    let held: Vec<&Border> = patch.border.iter().filter(|b| b.held).collect();
    let free: Vec<[f64; 2]> = patch
        .border
        .iter()
        .filter(|b| !b.held)
        .flat_map(|b| [b.from, [0.5 * (b.from[0] + b.to[0]), 0.5 * (b.from[1] + b.to[1])]])
        .chain(within.iter().copied())
        .collect();
    if held.is_empty() && patch.footing.is_empty() {
        return extent(&free);
    }
    let nearest = |p: [f64; 2]| {
        let edges = held.iter().step_by(held.len() / 8000 + 1).map(|b| to_segment(p, b.from, b.to));
        let points = patch.footing.iter().step_by(patch.footing.len() / 2000 + 1).map(|q| [q[0] - p[0], q[1] - p[1]]);
        // Squares are compared, many times over; one root in the end.
        let mut best = (f64::INFINITY, [f64::INFINITY; 2]);
        for way in edges.chain(points) {
            let square = way[0] * way[0] + way[1] * way[1];
            if square < best.0 {
                best = (square, way);
            }
        }
        best.1[0].hypot(best.1[1])
    };
    free.iter().step_by(free.len() / MOST_POINTS + 1).map(|&p| nearest(p)).fold(0.0, f64::max)
}

fn extent(points: &[[f64; 2]]) -> f64 {
    let hull = crate::pose::footprint::convex_hull(points);
    crate::pose::footprint::smallest_rectangle(&hull).size_mm[1]
}

/// Returns the way from the nearest point of a segment.
fn to_segment(p: [f64; 2], a: [f64; 2], b: [f64; 2]) -> [f64; 2] {
    let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
    let square = dx * dx + dy * dy;
    let t = if square > 0.0 { (((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / square).clamp(0.0, 1.0) } else { 0.0 };
    [p[0] - a[0] - t * dx, p[1] - a[1] - t * dy]
}
