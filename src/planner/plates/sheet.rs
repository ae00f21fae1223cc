//! One plate filled piece by piece, each at the lowest, then leftmost place where it keeps its distance: exact for
//! outlines, by the polygons in which two bodies are too near (no-fit polygons; Art 1966, from memory).

use super::body::{Bodies, SAME};
use super::polygon::{Convex, bounds};
use super::{Place, Point};

/// A polygon in which an origin must not lie, where it stands.
struct Barred {
    points: Convex,
    low: Point,
    high: Point,
}

/// A plate on which some bodies lie.
#[derive(Debug, Clone, Default)]
pub(super) struct Sheet {
    pub(super) placed: Vec<(usize, Point)>,
}

impl Sheet {
    /// The pieces of all bodies.
    pub(super) fn places(&self, bodies: &Bodies) -> Vec<Place> {
        let mut places = Vec::new();
        for (body, at) in &self.placed {
            for (kind, origin, turn_deg) in &bodies.all[*body].pieces {
                let [x_mm, y_mm] = [origin[0] + at[0], origin[1] + at[1]];
                places.push(Place { kind: *kind, x_mm, y_mm, turn_deg: *turn_deg });
            }
        }
        places
    }

    /// Where a body would come lowest, then leftmost; none where there is no room. Steps taken are counted.
    pub(super) fn lowest(&self, bodies: &mut Bodies, body: usize, steps: &mut u64) -> Option<Point> {
        let (low, high) = bodies.room(body)?;
        let barred = self.barred(bodies, body, low, high);
        let mut heights = heights(&barred, low[1], high[1], steps);
        heights.sort_by(f64::total_cmp);
        heights.dedup_by(|a, b| (*a - *b).abs() < SAME / 10.0);
        let mut cuts: Vec<(f64, f64)> = Vec::new();
        for y in heights {
            *steps += 1 + barred.len() as u64;
            cuts.clear();
            cuts.extend(barred.iter().filter_map(|b| cut(b, y)));
            cuts.sort_by(|a, b| a.0.total_cmp(&b.0));
            let mut x = low[0];
            for (from, to) in &cuts {
                if x <= from + SAME {
                    break;
                }
                x = x.max(*to);
            }
            if x <= high[0] + SAME {
                return Some([x.min(high[0].max(low[0])), y]);
            }
        }
        None
    }

    fn barred(&self, bodies: &mut Bodies, body: usize, low: Point, high: Point) -> Vec<Barred> {
        let mut all = Vec::new();
        let mut add = |convex: &Convex, at: Point| {
            let (a, b) = bounds(convex);
            let (a, b) = ([a[0] + at[0], a[1] + at[1]], [b[0] + at[0], b[1] + at[1]]);
            if (0..2).all(|k| a[k] < high[k] - SAME / 2.0 + SAME && b[k] > low[k] - SAME) {
                let points = convex.iter().map(|p| [p[0] + at[0], p[1] + at[1]]).collect();
                all.push(Barred { points, low: a, high: b });
            }
        };
        for (fixed, at) in &self.placed {
            for convex in bodies.apart(*fixed, body) {
                add(convex, *at);
            }
        }
        for convex in bodies.off_taken(body) {
            add(convex, [0.0; 2]);
        }
        all
    }
}

/// Whether a point lies inside a convex polygon, not merely on its rim.
pub(super) fn holds(convex: &Convex, at: Point) -> bool {
    let n = convex.len();
    (0..n).all(|i| {
        let (a, b) = (convex[i], convex[(i + 1) % n]);
        let side = [b[0] - a[0], b[1] - a[1]];
        let length = side[0].hypot(side[1]);
        side[0] * (at[1] - a[1]) - side[1] * (at[0] - a[0]) > SAME * length
    })
}

/// The stretch of a height within a polygon, its rim left out.
fn cut(barred: &Barred, y: f64) -> Option<(f64, f64)> {
    if y <= barred.low[1] + SAME || y >= barred.high[1] - SAME {
        return None;
    }
    let points = &barred.points;
    let n = points.len();
    let mut reach = (f64::INFINITY, f64::NEG_INFINITY);
    for i in 0..n {
        let (a, b) = (points[i], points[(i + 1) % n]);
        if (a[1] - y) * (b[1] - y) <= 0.0 && (a[1] - b[1]).abs() > 1e-12 {
            let x = a[0] + (y - a[1]) / (b[1] - a[1]) * (b[0] - a[0]);
            reach = (reach.0.min(x), reach.1.max(x));
        }
    }
    (reach.1 - reach.0 > 2.0 * SAME).then_some(reach)
}

/// Heights at which the lowest free place can be: the bottom, corners, and where slanting sides cross.
fn heights(barred: &[Barred], low: f64, high: f64, steps: &mut u64) -> Vec<f64> {
    let mut heights = vec![low];
    let within = |y: f64| y > low && y <= high + SAME;
    for b in barred {
        heights.extend(b.points.iter().map(|p| p[1]).filter(|y| within(*y)));
    }
    let slanting = |b: &Barred| -> Vec<(Point, Point)> {
        let n = b.points.len();
        let sides = (0..n).map(|i| (b.points[i], b.points[(i + 1) % n]));
        sides.filter(|(p, q)| (p[1] - q[1]).abs() > SAME).collect()
    };
    let sides: Vec<Vec<(Point, Point)>> = barred.iter().map(slanting).collect();
    for i in 0..barred.len() {
        for j in i + 1..barred.len() {
            if (0..2).any(|k| barred[i].high[k] < barred[j].low[k] || barred[j].high[k] < barred[i].low[k]) {
                continue;
            }
            *steps += (sides[i].len() * sides[j].len()) as u64;
            for (a, b) in &sides[i] {
                for (c, d) in &sides[j] {
                    heights.extend(crossing(*a, *b, *c, *d).filter(|y| within(*y)));
                }
            }
        }
        // Where a slanting side meets the side of the bed the place is found by its corners or not at all; it is rare.
    }
    heights.iter().map(|y| y.min(high)).collect()
}

/// The height at which two sides cross.
fn crossing(a: Point, b: Point, c: Point, d: Point) -> Option<f64> {
    let (u, v) = ([b[0] - a[0], b[1] - a[1]], [d[0] - c[0], d[1] - c[1]]);
    let under = u[0] * v[1] - u[1] * v[0];
    if under.abs() < 1e-9 {
        return None;
    }
    let t = ((c[0] - a[0]) * v[1] - (c[1] - a[1]) * v[0]) / under;
    let s = ((c[0] - a[0]) * u[1] - (c[1] - a[1]) * u[0]) / under;
    let on = |t: f64| (-1e-9..=1.0 + 1e-9).contains(&t);
    (on(t) && on(s)).then(|| a[1] + t * u[1])
}
