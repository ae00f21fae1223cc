//! What sits between flats and only pushes: a square in its socket, a key, a shaft with a flat.
//!
//! A stiff mate moves as a whole, and presses where it moves into the wall, as much harder as it moves farther: the law by
//! which the edge of a square socket is pressed with 3 T / (a² L). The flats of a socket that is turned are pressed hardest at
//! their edges, and what beds in there has rounded them out.

use super::bearing::Bearing;
use super::patch::SurfacePoint;
use crate::geometry::vector::{Vector, add, cross, dot, norm, scale, sub};

/// A point of the surface that a mate may press on.
#[derive(Debug, Clone, Copy)]
pub struct Wall {
    pub at: Vector,
    /// Outward of the body.
    pub normal: Vector,
    pub area: f64,
}

impl From<&SurfacePoint> for Wall {
    fn from(p: &SurfacePoint) -> Self {
        Self { at: p.at, normal: p.normal, area: p.area }
    }
}

/// A force and a moment about the origin, or a motion and a turn.
type Six = [f64; 6];

const TURNS: usize = 100;
/// Of what the mate does, the part that may be left over: friction takes it.
const LEFT: f64 = 0.02;
const ENOUGH: f64 = 1e-9;
/// Steadies motions that press on nothing, as a part of the stiffest.
const STEADY: f64 = 1e-9;

/// Returns the pressure at each point under which the mate does a force and a moment about a place to the body; `None` where
/// pushing alone cannot.
pub fn pressures(walls: &[Wall], about: Vector, newtons: Vector, newton_mm: Vector) -> Option<Vec<f64>> {
    let reach = walls.iter().map(|w| norm(sub(w.at, about))).fold(0.0, f64::max);
    let size = norm(newtons) + norm(newton_mm) / reach;
    if !(size > 0.0 && size.is_finite() && reach > 0.0) {
        return None;
    }
    // Turns are counted at the farthest point, so that all six are lengths.
    let rows: Vec<(Six, f64)> = walls.iter().map(|w| (row(w, about, reach), w.area)).collect();
    let wanted: Six = std::array::from_fn(|i| if i < 3 { newtons[i] } else { newton_mm[i - 3] / reach });
    let moved = settled(&rows, &wanted)?;
    let found: Vec<f64> = rows.iter().map(|(b, _)| product(b, &moved).max(0.0)).collect();
    let done = rows.iter().zip(&found).fold([0.0; 6], |sum, ((b, area), mpa)| plus(&sum, b, mpa * area));
    let left: Six = std::array::from_fn(|i| wanted[i] - done[i]);
    (product(&left, &left).sqrt() <= LEFT * size).then_some(found)
}

/// Returns what pressing by a unit does to the body at a point: which is also how far a motion goes into the wall there.
fn row(w: &Wall, about: Vector, reach: f64) -> Six {
    let push = scale(w.normal, -1.0);
    let turn = scale(cross(sub(w.at, about), push), 1.0 / reach);
    [push[0], push[1], push[2], turn[0], turn[1], turn[2]]
}

/// Returns the motion at which what presses does what is wanted: the least of a convex energy, by Newton's steps.
fn settled(rows: &[(Six, f64)], wanted: &Six) -> Option<Six> {
    let energy = |q: &Six| {
        let pressed = |(b, area): &(Six, f64)| 0.5 * area * product(b, q).max(0.0).powi(2);
        rows.iter().map(pressed).sum::<f64>() - product(wanted, q)
    };
    // At first all of the wall is taken to hold.
    let mut q = step(rows.iter(), wanted)?;
    for _ in 0..TURNS {
        let active: Vec<&(Six, f64)> = rows.iter().filter(|(b, _)| product(b, &q) > 0.0).collect();
        let done = active.iter().fold([0.0; 6], |sum, (b, area)| plus(&sum, b, product(b, &q) * area));
        let left: Six = std::array::from_fn(|i| wanted[i] - done[i]);
        if product(&left, &left) <= ENOUGH * product(wanted, wanted) {
            break;
        }
        let ahead = if active.is_empty() { *wanted } else { step(active.into_iter(), &left)? };
        let (now, mut share) = (energy(&q), 1.0);
        while energy(&plus(&q, &ahead, share)) > now && share > ENOUGH {
            share *= 0.5;
        }
        q = plus(&q, &ahead, share);
    }
    Some(q)
}

/// Solves for the motion under which points that hold both ways do what is asked.
fn step<'a>(rows: impl Iterator<Item = &'a (Six, f64)>, asked: &Six) -> Option<Six> {
    let mut m = [[0.0; 7]; 6];
    for (b, area) in rows {
        for (i, line) in m.iter_mut().enumerate() {
            for (j, cell) in line.iter_mut().take(6).enumerate() {
                *cell += area * b[i] * b[j];
            }
        }
    }
    let most = (0..6).map(|i| m[i][i]).fold(0.0, f64::max);
    for (i, line) in m.iter_mut().enumerate() {
        line[i] += STEADY * most;
        line[6] = asked[i];
    }
    // Symmetric and positive: no pivot is needed.
    for k in 0..6 {
        let pivot = m[k];
        for line in m.iter_mut().skip(k + 1) {
            let times = line[k] / pivot[k];
            for (cell, p) in line.iter_mut().zip(pivot) {
                *cell -= times * p;
            }
        }
    }
    let mut q = [0.0; 6];
    for k in (0..6).rev() {
        let known: f64 = (k + 1..6).map(|j| m[k][j] * q[j]).sum();
        q[k] = (m[k][6] - known) / m[k][k];
    }
    q.iter().all(|c| c.is_finite()).then_some(q)
}

fn product(a: &Six, b: &Six) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

fn plus(a: &Six, b: &Six, times: f64) -> Six {
    std::array::from_fn(|i| a[i] + times * b[i])
}

/// Normals this near to that of the place pressed hardest are of its flat, or of the same side of its round.
const SAME_SIDE: f64 = 0.7;

/// Returns what a mate that does a force and a moment presses with at the place it presses hardest: as a force on so much of
/// the surface that their quotient is the pressure there.
pub fn bearing(name: &str, walls: &[Wall], about: Vector, newtons: Vector, newton_mm: Vector) -> Option<Bearing> {
    let pressures = pressures(walls, about, newtons, newton_mm)?;
    let (hardest, mpa) = walls.iter().zip(&pressures).max_by(|a, b| a.1.total_cmp(b.1))?;
    let side = walls.iter().zip(&pressures).filter(|(w, _)| dot(w.normal, hardest.normal) > SAME_SIDE);
    let newtons = side.fold([0.0; 3], |sum, (w, mpa)| add(sum, scale(w.normal, -mpa * w.area)));
    let area_mm2 = norm(newtons) / mpa;
    (area_mm2.is_finite() && area_mm2 > 0.0).then(|| Bearing { of: name.to_owned(), newtons, area_mm2, edge: true })
}

#[cfg(test)]
mod tests {
    use super::*;

    const A: f64 = 9.0;
    const L: f64 = 14.0;

    /// The four walls of a square socket about z.
    fn square(fine: usize) -> Vec<Wall> {
        let at = |i: usize, n: usize, whole: f64| ((i as f64 + 0.5) / n as f64 - 0.5) * whole;
        let area = A / fine as f64 * L / 4.0;
        let mut all = Vec::new();
        for (x, y) in [(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)] {
            for (i, k) in (0..fine).flat_map(|i| (0..4).map(move |k| (i, k))) {
                let s = at(i, fine, A);
                let p = [0.5 * A * x - s * y, 0.5 * A * y + s * x, at(k, 4, L)];
                all.push(Wall { at: p, normal: [-x, -y, 0.0], area });
            }
        }
        all
    }

    // A stiff square that turns in its socket presses on half of each flat, linearly, most at the edge: four wedges of force
    // p a L / 4 at levers of a / 3 make T = p a² L / 3 (statics, by hand).
    #[test]
    fn a_turned_square_presses_the_edges_of_its_socket_with_3t_over_a2l() {
        let (walls, t) = (square(400), 9000.0);
        let b = bearing("spindle", &walls, [0.0; 3], [0.0; 3], [0.0, 0.0, t]).unwrap();
        let by_hand = 3.0 * t / (A * A * L);
        assert!((b.mpa() / by_hand - 1.0).abs() < 0.01, "{} {by_hand}", b.mpa());
        assert!((norm(b.newtons) - t / (4.0 * A / 3.0)).abs() < 8.0, "{b:?}");
        // The other way round alike, and twice as hard twice as much.
        let back = bearing("spindle", &walls, [0.0; 3], [0.0; 3], [0.0, 0.0, -2.0 * t]).unwrap();
        assert!((back.mpa() / (2.0 * b.mpa()) - 1.0).abs() < 1e-6);
    }

    // Pushed sideways it lies on one wall, evenly: F / (a L).
    #[test]
    fn a_pushed_square_lies_on_one_wall() {
        let b = bearing("spindle", &square(40), [0.0; 3], [300.0, 0.0, 0.0], [0.0; 3]).unwrap();
        assert!((b.mpa() - 300.0 / (A * L)).abs() < 1e-6 && (b.newtons[0] - 300.0).abs() < 1e-6, "{b:?}");
    }

    // Nothing that only pushes draws a socket along its axis.
    #[test]
    fn a_square_does_not_pull_along_its_axis() {
        assert_eq!(pressures(&square(40), [0.0; 3], [0.0, 0.0, 50.0], [0.0; 3]), None);
    }
}
