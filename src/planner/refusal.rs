//! Why a question has no answer: what it is about, and what was expected of it.

use std::fmt;

/// What of the question is wrong, by its place in the list it came in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum About {
    /// A number that stands for itself, such as a confidence.
    Number,
    /// The bed, its edge, gap or areas taken.
    Bed,
    /// A kind of piece.
    Piece(usize),
    /// A plate.
    Plate(usize),
    /// A spool.
    Spool(usize),
    /// A machine.
    Machine(usize),
    /// A job.
    Job(usize),
    /// A part of a run.
    Part(usize),
    /// One thing of a machine's state, such as the material.
    Aspect(usize),
    /// A span of working hours.
    Hours(usize),
}

/// A question that cannot be answered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refusal {
    /// What it is about.
    pub about: About,
    /// What was expected and what was found, in a sentence without capital and full stop.
    pub why: String,
}

impl Refusal {
    /// Returns one.
    pub(crate) fn new(about: About, why: impl Into<String>) -> Self {
        Self { about, why: why.into() }
    }

    /// Returns one about a number.
    pub(crate) fn number(why: impl Into<String>) -> Self {
        Self::new(About::Number, why)
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.why)
    }
}

impl std::error::Error for Refusal {}

/// Refuses a number outside `low..=high`, or none at all.
pub(crate) fn within(about: About, what: &str, value: f64, low: f64, high: f64) -> Result<f64, Refusal> {
    if value.is_finite() && value >= low && value <= high {
        Ok(value)
    } else {
        Err(Refusal::new(about, format!("expected {what} from {low} to {high}, found {value}")))
    }
}
