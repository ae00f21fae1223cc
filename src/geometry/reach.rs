//! Whether something can be put to a place and taken out again: how much of the outside is seen from there.

use super::mesh::Point;
use super::rays::Rays;
use super::vector::{Vector, add, scale};

/// Directions looked in at first, and in all.
const FIRST_LOOK: usize = 48;
/// A place is open at a glance where one direction in so many leads out.
const AT_A_GLANCE: usize = 8;
const LOOKS: usize = 512;
/// Directions looked in where the first answer is near the limit: with few of them it would hang on how the part is turned in
/// its file.
const CLOSE_LOOKS: usize = 8192;
/// A place is within reach when this part of all directions leads out. An opening of width w seen from depth L takes
/// (w / L)² / 16 of them, so this is an opening a little more than half as wide as the place is deep (own judgement of what a pair
/// of pliers or a pick can do).
pub const LEAST_OPEN: f64 = 0.018;

/// Returns the part of all directions in which nothing stands in the way from `place` to the outside.
///
/// Only where fewer than an eighth of 48 directions lead out, which is far above the least, are 512 looked in, and many
/// more where these do not settle it.
pub fn openness(rays: &Rays, place: Point, size_mm: f64) -> f64 {
    let glanced = glance(rays, place, size_mm);
    if glanced >= 1.0 / AT_A_GLANCE as f64 {
        return glanced;
    }
    let share =
        |looks: usize| (0..looks).filter(|&i| open(rays, place, size_mm, i, looks)).count() as f64 / looks as f64;
    let seen = share(LOOKS);
    if (0.5 * LEAST_OPEN..2.0 * LEAST_OPEN).contains(&seen) { share(CLOSE_LOOKS) } else { seen }
}

/// Returns the same, roughly: of 48 directions, and no more of them than it takes until an eighth of all leads out.
pub fn glance(rays: &Rays, place: Point, size_mm: f64) -> f64 {
    let mut found = 0;
    for i in 0..FIRST_LOOK {
        // 29 and 48 have no common factor, so the steps reach every direction, far apart one after the other.
        found += usize::from(open(rays, place, size_mm, i * 29 % FIRST_LOOK, FIRST_LOOK));
        if found * AT_A_GLANCE >= FIRST_LOOK {
            return found as f64 / (i + 1) as f64;
        }
    }
    found as f64 / FIRST_LOOK as f64
}

fn open(rays: &Rays, place: Point, size_mm: f64, i: usize, all: usize) -> bool {
    !rays.blocked(place, direction(i, all), 2.0 * size_mm)
}

/// Returns direction `i` of `count` spread evenly over the sphere (Swinbank and Purser, Quarterly Journal of the Royal
/// Meteorological Society 132, 2006: the golden-section spiral).
pub(crate) fn direction(i: usize, count: usize) -> Vector {
    let z = 1.0 - (2.0 * i as f64 + 1.0) / count as f64;
    let turn = i as f64 * std::f64::consts::PI * (3.0 - 5_f64.sqrt());
    let r = (1.0 - z * z).max(0.0).sqrt();
    [r * turn.cos(), r * turn.sin(), z]
}

/// Returns a place a little way off a surface point, on the side `away` points to and no farther than half the gap.
pub fn just_off(p: Point, away: Vector, gap_mm: f64) -> Point {
    add(p, scale(away, (0.5 * gap_mm).min(0.5)))
}
