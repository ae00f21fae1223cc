//! Hatching: parallel strokes cut to a region, even-odd.

use super::Point;

/// More strokes than this would be a black area, not hatching.
const MOST: usize = 400;

/// Returns the strokes of a hatching at an angle (degrees from the horizontal) and a distance, in paper millimetres.
///
/// The strokes of different regions lie on the same grid, so that neighbours look like one.
pub(super) fn strokes(rings: &[Vec<Point>], degrees: f64, distance: f64) -> Vec<Vec<Point>> {
    let (sin, cos) = (degrees.to_radians().sin(), degrees.to_radians().cos());
    let turned = |p: Point| [p[0] * cos + p[1] * sin, p[1] * cos - p[0] * sin];
    let back = |x: f64, y: f64| [x * cos - y * sin, x * sin + y * cos];
    let rings: Vec<Vec<Point>> = rings.iter().map(|r| r.iter().map(|p| turned(*p)).collect()).collect();
    let heights = || rings.iter().flatten().map(|p| p[1]);
    let (low, high) = (heights().fold(f64::INFINITY, f64::min), heights().fold(f64::NEG_INFINITY, f64::max));
    let first = (low / distance).ceil();
    let count = ((high / distance).floor() - first + 1.0).clamp(0.0, MOST as f64) as usize;
    let mut out = Vec::new();
    for i in 0..count {
        let y = (first + i as f64) * distance;
        let crossings = crossings(&rings, y);
        for pair in crossings.chunks_exact(2) {
            if let [a, b] = pair
                && b - a > 0.05
            {
                out.push(vec![back(*a, y), back(*b, y)]);
            }
        }
    }
    out
}

/// Where a level line crosses the rings, from left to right. An edge owns its lower end and not its upper one, so that
/// a corner on the line counts once or twice, as it must.
fn crossings(rings: &[Vec<Point>], y: f64) -> Vec<f64> {
    let mut all: Vec<f64> = Vec::new();
    for ring in rings {
        for (i, a) in ring.iter().enumerate() {
            let Some(b) = ring.get((i + 1) % ring.len()) else { continue };
            if (a[1] <= y) != (b[1] <= y) {
                all.push(a[0] + (y - a[1]) / (b[1] - a[1]) * (b[0] - a[0]));
            }
        }
    }
    all.sort_by(f64::total_cmp);
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn strokes_stay_inside_and_leave_holes_out() {
        let square = |a: f64, b: f64| vec![[a, a], [b, a], [b, b], [a, b]];
        let strokes = strokes(&[square(0.25, 10.25), square(3.25, 7.25)], 0.0, 1.0);
        // Ten lines; the four that cross the hole come in two pieces.
        assert_eq!(strokes.len(), 14);
        let length: f64 = strokes.iter().map(|s| s[1][0] - s[0][0]).sum();
        assert!((length - (10.0 * 10.0 - 4.0 * 4.0)).abs() < 1e-9);
    }

    #[test]
    fn slanted_strokes_cover_the_area() {
        let square = vec![[0.0, 0.0], [20.0, 0.0], [20.0, 20.0], [0.0, 20.0]];
        let distance = 0.1;
        let length: f64 = strokes(&[square], 45.0, distance)
            .iter()
            .map(|s| ((s[1][0] - s[0][0]).powi(2) + (s[1][1] - s[0][1]).powi(2)).sqrt())
            .sum();
        assert!((length * distance - 400.0).abs() < 4.0, "{length}");
    }
}
