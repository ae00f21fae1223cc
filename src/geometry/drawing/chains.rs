//! Short pieces joined into long lines, and lines freed of points that bend them less than can be seen.

use std::collections::BTreeMap;

use super::OnPaper;

/// A line through several points.
pub type Line = Vec<OnPaper>;

/// Joins pieces end to end wherever their ends meet, and straightens what bends less than half of `step`.
pub fn chain(pieces: Vec<[OnPaper; 2]>, step: f64) -> Vec<Line> {
    // Ends within a quarter of a step are one. Cells, not floats, are the keys: they have an order.
    let key = |p: OnPaper| [(p[0] / (0.25 * step)).round() as i64, (p[1] / (0.25 * step)).round() as i64];
    let mut ends: BTreeMap<[i64; 2], Vec<u32>> = BTreeMap::new();
    for (i, piece) in pieces.iter().enumerate() {
        piece.iter().for_each(|&p| ends.entry(key(p)).or_default().push(i as u32));
    }
    let mut used = vec![false; pieces.len()];
    let mut lines = Vec::new();
    for seed in 0..pieces.len() {
        if used[seed] {
            continue;
        }
        used[seed] = true;
        let mut line: Line = pieces[seed].to_vec();
        for _ in 0..2 {
            // Only where exactly two pieces meet does the line go on: three or more are a corner.
            while let Some(next) = line.last().and_then(|&end| follow(&ends[&key(end)], &used)) {
                used[next] = true;
                let [a, b] = pieces[next];
                let at_end = line.last().is_some_and(|&end| key(end) == key(a));
                line.push(if at_end { b } else { a });
            }
            line.reverse();
        }
        lines.push(straightened(&line, 0.5 * step));
    }
    lines
}

fn follow(meeting: &[u32], used: &[bool]) -> Option<usize> {
    if meeting.len() != 2 {
        return None;
    }
    meeting.iter().map(|&i| i as usize).find(|&i| !used[i])
}

/// Douglas and Peucker, "Algorithms for the reduction of the number of points", Cartographica 10(2), 1973; with a stack
/// of its own instead of recursion.
fn straightened(line: &Line, tolerance: f64) -> Line {
    let mut keep = vec![false; line.len()];
    let last = line.len().saturating_sub(1);
    keep[0] = true;
    keep[last] = true;
    let mut stack = vec![(0, last)];
    while let Some((from, to)) = stack.pop() {
        let farthest =
            (from + 1..to).map(|i| (off(line[i], line[from], line[to]), i)).max_by(|a, b| a.0.total_cmp(&b.0));
        if let Some((distance, i)) = farthest {
            if distance > tolerance {
                keep[i] = true;
                stack.push((from, i));
                stack.push((i, to));
            }
        }
    }
    line.iter().zip(keep).filter_map(|(&p, k)| k.then_some(p)).collect()
}

/// Distance of a point from the stretch between two others.
fn off(p: OnPaper, a: OnPaper, b: OnPaper) -> f64 {
    let d = [b[0] - a[0], b[1] - a[1]];
    let square = d[0] * d[0] + d[1] * d[1];
    let t = if square > 0.0 { (((p[0] - a[0]) * d[0] + (p[1] - a[1]) * d[1]) / square).clamp(0.0, 1.0) } else { 0.0 };
    (p[0] - a[0] - t * d[0]).hypot(p[1] - a[1] - t * d[1])
}
