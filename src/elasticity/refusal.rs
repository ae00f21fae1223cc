//! Why a body is not solved at all: never a number from something that is not a held, closed body.

use super::load::Load;
use super::model::{Hold, Options};
use crate::geometry::mesh::{Mesh, Point};

/// Kinds of refusal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reason {
    /// The mesh encloses nothing, or crosses itself.
    NotClosed,
    /// Smaller than what stress is averaged over, or not of finite size.
    Size,
    /// No hold at all, or one whose region the surface does not have.
    Hold,
    /// No load at all, one whose region the surface does not have, or not a finite one.
    Load,
    /// The holds leave the body, or a piece of it, free to move.
    Loose,
    /// A stiffness that is not positive.
    Material,
}

/// Why there is no solution, and where.
#[derive(Debug, Clone, PartialEq)]
pub struct Refusal {
    /// Of which kind it is.
    pub reason: Reason,
    /// A place where it shows, mm; none where it is not about a place.
    pub at: Option<Point>,
    /// What is wrong, in a sentence for the reader.
    pub why: String,
}

impl Refusal {
    /// Returns one.
    pub fn new(reason: Reason, at: Option<Point>, why: impl Into<String>) -> Self {
        Self { reason, at, why: why.into() }
    }
}

/// A body's smallest dimension must be at least this part of the ball's radius.
const LEAST_SIZE: f64 = 0.2;
/// Its largest must be at least so many radii.
const LEAST_EXTENT: f64 = 3.0;

/// Refuses what cannot be solved, as far as that can be told before there is a grid.
pub fn check(mesh: &Mesh, holds: &[Hold], loads: &[Load], options: &Options) -> Result<(), Refusal> {
    let size = mesh.bounds().size();
    let (least, most) = size.iter().fold((f64::INFINITY, 0.0_f64), |(a, b), &s| (a.min(s), b.max(s)));
    if !most.is_finite() || least < LEAST_SIZE * options.ball_mm || most < LEAST_EXTENT * options.ball_mm {
        let why = format!(
            "the body is {} mm, too small for stresses averaged over {} mm: is the mesh in another unit?",
            size.map(super::significant).join(" x "),
            super::significant(options.ball_mm)
        );
        return Err(Refusal::new(Reason::Size, None, why));
    }
    if holds.is_empty() {
        return Err(Refusal::new(Reason::Hold, None, "nothing holds the body"));
    }
    for h in holds {
        if !is_there(h.on.area(mesh)) {
            return Err(Refusal::new(
                Reason::Hold,
                None,
                format!("the surface has nothing of the region of the hold `{}`", h.name),
            ));
        }
    }
    if loads.is_empty() {
        return Err(Refusal::new(Reason::Load, None, "nothing loads the body"));
    }
    for l in loads {
        if l.kind.region().is_some_and(|on| !is_there(on.area(mesh))) {
            return Err(Refusal::new(
                Reason::Load,
                None,
                "the surface has nothing of the region that the load acts on",
            ));
        }
    }
    Ok(())
}

fn is_there(area: f64) -> bool {
    area.is_finite() && area > 0.0
}
