//! Equal convex pieces and discs at any angle: pushed apart until none is too near another, and rows laid aslant.
//!
//! A search by chance (with the same numbers each time): what it finds is measured and right, what it does not find may
//! still exist.

use super::Point;
use super::polygon::turned;
use crate::dice::Dice;

/// What is pushed about.
#[derive(Debug, Clone)]
pub(super) enum Free {
    /// A disc of this radius.
    Disc(f64),
    /// A convex polygon about its middle, anticlockwise.
    Convex(Vec<Point>),
}

/// Where a piece's middle is, and its turn in degrees.
pub(super) type Pose = (Point, f64);

/// Pieces are pushed this much further apart than they must be, so that they get there at all.
const MARGIN: f64 = 2e-4;

struct Push<'a> {
    free: &'a Free,
    room: Point,
    gap: f64,
    /// A turn by one unit moves the corners about as far as a shift by one.
    arm: f64,
    n: usize,
}

/// Returns poses of `n` pieces within a room, from its corner, with the gap between them; none if none were found.
pub(super) fn jostle(free: &Free, room: Point, gap: f64, n: usize, steps: &mut u64) -> Option<Vec<Pose>> {
    let arm = match free {
        Free::Disc(_) => 1.0,
        Free::Convex(points) => points.iter().map(|p| p[0].hypot(p[1])).fold(0.0, f64::max) * 0.7,
    };
    let push = Push { free, room, gap, arm, n };
    let corners = match free {
        Free::Disc(_) => 2,
        Free::Convex(points) => points.len() * points.len() * 2,
    };
    let cost = (n * n * corners) as u64 / 16 + 1;
    let mut dice = Dice::new(n as u64 * 7919 + 17);
    let mut round = 0;
    while *steps > 600 * cost {
        let start = push.start(round, &mut dice);
        if let Some(found) = push.settle(start, cost, steps) {
            return Some(found);
        }
        round += 1;
    }
    *steps = 0;
    None
}

impl Push<'_> {
    fn start(&self, round: usize, dice: &mut Dice) -> Vec<f64> {
        let mut at = Vec::with_capacity(3 * self.n);
        for i in 0..self.n {
            let upright = 90.0 * dice.below(4) as f64;
            let mut middle = [dice.share() * self.room[0], dice.share() * self.room[1]];
            // Every other start puts one aslant in the middle.
            let angle = match (round % 4, i) {
                (0, _) => dice.share() * 360.0,
                (2, _) => upright + dice.share() * 4.0 - 2.0,
                (_, 0) => {
                    middle = [0, 1].map(|k| self.room[k] * (0.45 + 0.1 * dice.share()));
                    30.0 + 30.0 * dice.share()
                }
                _ => upright,
            };
            at.extend([middle[0], middle[1], angle.to_radians() * self.arm]);
        }
        at
    }

    /// Goes downhill with momentum that is lost where it leads up (FIRE, Bitzek and others 2006, from memory).
    fn settle(&self, mut at: Vec<f64>, cost: u64, steps: &mut u64) -> Option<Vec<Pose>> {
        let size = at.len();
        let (mut speed, mut force) = (vec![0.0; size], vec![0.0; size]);
        let (mut step, mut mix, mut good) = (0.2_f64, 0.1_f64, 0);
        let mut before = f64::INFINITY;
        for iteration in 0..3_000 {
            *steps = steps.checked_sub(cost)?;
            let (energy, worst) = self.force(&at, &mut force);
            if worst <= 0.0 {
                return Some(self.poses(&at));
            }
            // Stuck: no longer falling, and not there.
            if iteration % 200 == 199 {
                if energy > before * 0.9 && energy > 1e-4 {
                    return None;
                }
                before = energy;
            }
            let power: f64 = speed.iter().zip(&force).map(|(v, f)| v * f).sum();
            if power > 0.0 {
                let (v, f) = (norm(&speed), norm(&force).max(1e-300));
                for (v_i, f_i) in speed.iter_mut().zip(&force) {
                    *v_i = (1.0 - mix) * *v_i + mix * v * f_i / f;
                }
                good += 1;
                if good > 5 {
                    step = (step * 1.1).min(0.5);
                    mix *= 0.99;
                }
            } else {
                speed.fill(0.0);
                step *= 0.5;
                mix = 0.1;
                good = 0;
            }
            for i in 0..size {
                speed[i] += step * force[i];
                at[i] += step * speed[i];
            }
        }
        None
    }

    fn poses(&self, at: &[f64]) -> Vec<Pose> {
        at.chunks(3).map(|p| ([p[0], p[1]], (p[2] / self.arm).to_degrees())).collect()
    }

    /// The energy of all that is too near, the push on each, and how far the worst is from what is wanted.
    fn force(&self, at: &[f64], force: &mut [f64]) -> (f64, f64) {
        force.fill(0.0);
        match self.free {
            Free::Disc(radius) => self.force_discs(*radius, at, force),
            Free::Convex(points) => self.force_polygons(points, at, force),
        }
    }

    fn force_discs(&self, radius: f64, at: &[f64], force: &mut [f64]) -> (f64, f64) {
        let (mut energy, mut worst) = (0.0, 0.0_f64);
        for i in 0..self.n {
            for k in 0..2 {
                for (sign, depth) in [(1.0, radius - at[3 * i + k]), (-1.0, at[3 * i + k] + radius - self.room[k])] {
                    let wanted = depth + MARGIN;
                    if wanted > 0.0 {
                        energy += wanted * wanted / 2.0;
                        worst = worst.max(depth);
                        force[3 * i + k] += sign * wanted;
                    }
                }
            }
            for j in 0..i {
                let d = [at[3 * i] - at[3 * j], at[3 * i + 1] - at[3 * j + 1]];
                let apart = d[0].hypot(d[1]).max(1e-9);
                let depth = 2.0 * radius + self.gap - apart;
                let wanted = depth + MARGIN;
                if wanted > 0.0 {
                    energy += wanted * wanted / 2.0;
                    worst = worst.max(depth);
                    for k in 0..2 {
                        force[3 * i + k] += wanted * d[k] / apart / 2.0;
                        force[3 * j + k] -= wanted * d[k] / apart / 2.0;
                    }
                }
            }
        }
        (energy, worst)
    }

    fn force_polygons(&self, points: &[Point], at: &[f64], force: &mut [f64]) -> (f64, f64) {
        let corners: Vec<Vec<Point>> = (0..self.n)
            .map(|i| {
                let angle = at[3 * i + 2] / self.arm;
                let (s, c) = angle.sin_cos();
                points.iter().map(|p| [p[0] * c - p[1] * s + at[3 * i], p[0] * s + p[1] * c + at[3 * i + 1]]).collect()
            })
            .collect();
        let (mut energy, mut worst) = (0.0, 0.0_f64);
        for i in 0..self.n {
            for p in &corners[i] {
                for k in 0..2 {
                    for (sign, depth) in [(1.0, -p[k]), (-1.0, p[k] - self.room[k])] {
                        let wanted = depth + MARGIN;
                        if wanted > 0.0 {
                            energy += wanted * wanted / 2.0;
                            worst = worst.max(depth);
                            let mut normal = [0.0; 2];
                            normal[k] = sign;
                            self.push(force, at, i, *p, normal, wanted);
                        }
                    }
                }
            }
            for j in 0..i {
                let reach = 2.0 * self.arm / 0.7 + self.gap + MARGIN;
                if (at[3 * i] - at[3 * j]).hypot(at[3 * i + 1] - at[3 * j + 1]) > reach {
                    continue;
                }
                let (one, other) = (apart(&corners[i], &corners[j]), apart(&corners[j], &corners[i]));
                let (distance, normal, at_point, from) =
                    if one.0 >= other.0 { (one.0, one.1, one.2, i) } else { (other.0, other.1, other.2, j) };
                let depth = self.gap - distance;
                let wanted = depth + MARGIN;
                if wanted > 0.0 {
                    energy += wanted * wanted / 2.0;
                    worst = worst.max(depth);
                    let away = if from == i { j } else { i };
                    self.push(force, at, away, at_point, normal, wanted / 2.0);
                    self.push(force, at, from, at_point, [-normal[0], -normal[1]], wanted / 2.0);
                }
            }
        }
        (energy, worst)
    }

    /// Pushes a piece at a point.
    fn push(&self, force: &mut [f64], at: &[f64], i: usize, point: Point, normal: Point, by: f64) {
        let lever = [point[0] - at[3 * i], point[1] - at[3 * i + 1]];
        force[3 * i] += by * normal[0];
        force[3 * i + 1] += by * normal[1];
        force[3 * i + 2] += by * (lever[0] * normal[1] - lever[1] * normal[0]) / self.arm;
    }
}

fn norm(v: &[f64]) -> f64 {
    v.iter().map(|x| x * x).sum::<f64>().sqrt()
}

/// The greatest distance by which a side of the first has all of the second before it (negative: how deep that lies),
/// the side's normal, and the second's nearest corner.
fn apart(a: &[Point], b: &[Point]) -> (f64, Point, Point) {
    let mut best = (f64::NEG_INFINITY, [1.0, 0.0], b[0]);
    for i in 0..a.len() {
        let (p, q) = (a[i], a[(i + 1) % a.len()]);
        let side = [q[0] - p[0], q[1] - p[1]];
        let length = side[0].hypot(side[1]).max(1e-12);
        let normal = [side[1] / length, -side[0] / length];
        let mut least = (f64::INFINITY, b[0]);
        for v in b {
            let d = (v[0] - p[0]) * normal[0] + (v[1] - p[1]) * normal[1];
            if d < least.0 {
                least = (d, *v);
            }
        }
        if least.0 > best.0 {
            best = (least.0, normal, least.1);
        }
    }
    best
}

/// Rows of rectangles laid aslant in a room, as many as any of the angles and offsets tried gives: poses of their middles.
pub(super) fn aslant(room: Point, size: Point, gap: f64) -> Vec<Pose> {
    let mut best: (usize, f64, f64) = (0, 0.0, 0.0);
    for quarter_degrees in 1..720 {
        let angle = f64::from(quarter_degrees) / 4.0;
        if angle == 90.0 {
            continue;
        }
        for part in 0..12 {
            let offset = (size[1] + gap) * f64::from(part) / 12.0;
            let count = rows(room, size, gap, angle, offset, None);
            if count > best.0 {
                best = (count, angle, offset);
            }
        }
    }
    let mut poses = Vec::new();
    if best.0 > 0 {
        rows(room, size, gap, best.1, best.2, Some(&mut poses));
    }
    poses
}

fn rows(room: Point, size: Point, gap: f64, angle: f64, offset: f64, mut out: Option<&mut Vec<Pose>>) -> usize {
    // In a frame along the rows the room is bounded by four lines.
    let corners = [[0.0, 0.0], [room[0], 0.0], room, [0.0, room[1]]].map(|p| turned(p, -angle));
    let low = corners.iter().map(|p| p[1]).fold(f64::INFINITY, f64::min);
    let high = corners.iter().map(|p| p[1]).fold(f64::NEG_INFINITY, f64::max);
    let mut count = 0;
    let mut v = low + offset;
    while v + size[1] <= high {
        if let Some((from, to)) = reach(&corners, size, v) {
            let more = ((to - from) / (size[0] + gap) + 1e-9).floor() as usize + 1;
            count += more;
            if let Some(out) = out.as_deref_mut() {
                out.extend((0..more).map(|k| {
                    let middle = [from + k as f64 * (size[0] + gap) + size[0] / 2.0, v + size[1] / 2.0];
                    (turned(middle, angle), angle)
                }));
            }
        }
        v += size[1] + gap;
    }
    count
}

/// From where to where the left end of a piece may be in a row that starts at v; none where it goes nowhere.
fn reach(corners: &[Point; 4], size: Point, v: f64) -> Option<(f64, f64)> {
    let (mut from, mut to) = (f64::NEG_INFINITY, f64::INFINITY);
    for i in 0..4 {
        let (p, q) = (corners[i], corners[(i + 1) % 4]);
        let side = [q[0] - p[0], q[1] - p[1]];
        // Left of the side: -sy (u - px) + sx (w - py) >= 0 for every corner of the piece.
        let worst_w = if side[0] >= 0.0 { v } else { v + size[1] };
        let along = side[0] * (worst_w - p[1]) + side[1] * p[0];
        if side[1] > 1e-12 {
            to = to.min(along / side[1] - size[0]);
        } else if side[1] < -1e-12 {
            from = from.max(along / side[1]);
        } else if side[0] * (worst_w - p[1]) < -1e-9 {
            return None;
        }
    }
    (to >= from).then_some((from, to))
}
