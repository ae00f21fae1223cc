//! A run of parts as numbers: how many to start, what to inspect, how pieces lie on plates, which spool feeds which plate,
//! and what is printed where and when.
//!
//! A crate of its own, since it is compiled with optimisation where the rest is not. It knows no specs, files or clock:
//! lengths are mm, masses g, times whole minutes from the start of the run, angles degrees anticlockwise. Machines, jobs,
//! kinds of piece and values of a state are indices into the lists they came in.
//!
//! The same input gives the same answer: work is bounded by counted steps ([`Effort`]), never by time. Every answer says
//! how far it is from the best there can be: a bound, and whether it is proven least.
//!
//! - [`start`]: how many pieces to start so that enough are good.
//! - [`sampling`]: how many of a lot to inspect.
//! - [`plates`]: where pieces lie, on as few plates as can be found.
//! - [`spools`]: part-used spools to plates.
//! - [`order`]: jobs to machines, with changes between them, dates, working hours and one pair of hands.
//! - [`run`]: all of these for a whole run.

#![warn(missing_docs)]

mod dice;
pub mod order;
pub mod plates;
mod refusal;
pub mod run;
pub mod sampling;
pub mod spools;
pub mod start;

#[cfg(test)]
mod tests;

pub use refusal::{About, Refusal};

/// How much work a search may do, in counted steps: more finds better answers and proves more of them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Effort(pub u64);

impl Default for Effort {
    /// About a second for one question.
    fn default() -> Self {
        Self(20_000_000)
    }
}
