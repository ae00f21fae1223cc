//! From spec, mesh facts and knowledge to decisions: least total penalty, with the reason for each and what stood next.
//!
//! ```text
//! part      what the mesh says for this spec: faces, loads, poses, features
//! shop      the bench: candidates and stock        equip: what a bench could be given
//! facts     everything lowered to records of named facts, each with its origin
//! matching  which features of the mesh each fit speaks of
//! heat, loads, limits, strength, strain, fits, run: the facts that need computing
//! margin    what must be borne against what can be, for a partial choice
//! world     the candidates, and the facts rules see about any partial choice
//! reading   what each rule reads, and on which decisions that hangs
//! problem   the rulebook as a search problem       search: least penalty, narrow rules first
//! pins      what the spec pins and forbids         places: points off the part, faces several places answer to
//! decide    the choice, runners-up, rejections     conflict: why nothing is left, and what frees it
//! ```

pub mod conflict;
pub mod decide;
mod equip;
pub mod facts;
pub mod fits;
pub mod heat;
mod history;
pub mod limits;
pub mod loads;
pub mod margin;
pub mod matching;
mod mixing;
pub mod names;
pub mod part;
pub mod pins;
mod places;
pub mod problem;
mod purge;
mod reading;
pub mod run;
pub mod search;
pub mod shop;
pub mod strain;
pub mod strength;
pub mod together;
pub mod world;

use conflict::{Judge, Refusal};
use decide::Decided;
use problem::Rules;

/// What came of a job.
#[derive(Debug, Clone)]
pub enum Outcome {
    Decided(Box<Decided>),
    Refused(Box<Refusal>),
}

/// Decides a job, or works out why it cannot be done; `judge` says what would be weak about a way out.
pub fn resolve(rules: &Rules<'_, '_>, judge: &Judge<'_>) -> Outcome {
    match decide::decide(rules) {
        Some(decided) => Outcome::Decided(Box::new(decided)),
        None => Outcome::Refused(Box::new(conflict::refuse(rules.world, rules, judge))),
    }
}
