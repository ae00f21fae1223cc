//! What can be computed: pure functions of quantities, each with its formula, source and range of validity.
//!
//! Nothing here knows of specs, rules or files. Functions that rules may call are registered once, beside their code
//! (`FUNCTIONS` in each module), and gathered by [`registry`]. An input outside the range a formula is good for is an
//! `Err` with a plain reason, never a NaN and never a panic.

pub mod bead;
pub mod beam;
pub mod cooling;
pub mod cost;
pub mod foam;
pub mod heat;
pub mod overhang;
pub mod packing;
pub mod press_fit;
pub mod pressure;
pub mod print_time;
pub mod registry;
pub mod section;
pub mod snap;
pub mod statistics;
pub mod strength;
pub mod stress_concentration;
pub mod sustained;
pub mod thermal;
pub mod warp;
pub mod weld;

use crate::quantity::Quantity;

/// A result, or the plain reason why the formula has none.
pub type Checked<T> = Result<T, String>;

/// Where a formula or a constant comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SourceNote {
    /// `standard`, `handbook`, `paper`, `library`, `common-practice`, `from-memory` or `computed`.
    pub kind: &'static str,
    /// Standard and clause, book and page, paper; or a word on where it comes from.
    pub citation: &'static str,
}

impl SourceNote {
    /// Returns a note of this kind.
    pub const fn new(kind: &'static str, citation: &'static str) -> Self {
        Self { kind, citation }
    }
}

/// A factor or property with the range a cautious reader should keep in mind.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// The low end.
    pub low: f64,
    /// What is usual.
    pub typical: f64,
    /// The high end.
    pub high: f64,
}

/// Returns `value` if it is finite and above zero.
fn positive(what: &str, value: f64) -> Checked<f64> {
    if value.is_finite() && value > 0.0 {
        Ok(value)
    } else {
        Err(format!("expected {what} above zero, found {}", found(value)))
    }
}

/// Returns `value` if it is finite and not below zero.
fn not_negative(what: &str, value: f64) -> Checked<f64> {
    if value.is_finite() && value >= 0.0 {
        Ok(value)
    } else {
        Err(format!("expected {what} of zero or more, found {}", found(value)))
    }
}

/// Returns `value` if it is finite.
fn finite(what: &str, value: f64) -> Checked<f64> {
    if value.is_finite() { Ok(value) } else { Err(format!("expected a finite {what}, found {}", found(value))) }
}

/// Returns `value` if it lies in `low..=high`.
fn within(what: &str, value: f64, low: f64, high: f64) -> Checked<f64> {
    if value >= low && value <= high {
        Ok(value)
    } else {
        Err(format!("expected {what} between {low} and {high}, found {}", found(value)))
    }
}

fn found(value: f64) -> String {
    if value.is_finite() { crate::quantity::significant(value) } else { "no finite number".to_owned() }
}

/// Lets a result pass only if it is a number that can exist: finite, and no temperature below absolute zero.
fn sound<T: Copy + Into<Quantity>>(value: T) -> Checked<T> {
    let q: Quantity = value.into();
    if !q.si.is_finite() {
        Err("the inputs are too extreme: the result is not a finite number".to_owned())
    } else if q.dimension.point && q.si < 0.0 {
        Err("the inputs give a temperature below absolute zero".to_owned())
    } else {
        Ok(value)
    }
}

/// Interpolates linearly in points sorted by the first value; level outside them. Not for empty tables (gives 0).
fn interpolate(points: &[(f64, f64)], x: f64) -> f64 {
    let Some(&first) = points.first() else { return 0.0 };
    let mut before = first;
    for &(px, py) in points {
        if x <= px {
            let step = px - before.0;
            return if step > 0.0 && x > before.0 { before.1 + (py - before.1) * (x - before.0) / step } else { py };
        }
        before = (px, py);
    }
    before.1
}
