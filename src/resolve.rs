//! From spec, mesh facts and knowledge to decisions: least total penalty, with the reason for each and what stood next.
//!
//! ```text
//! part      what the mesh says for this spec: faces, loads, poses, features
//! shop      the bench: candidates and stock        equip: what a bench could be given
//! facts     everything lowered to records of named facts, each with its origin
//! hints     words of the spec that point to a use with dangers of its own
//! matching  which features of the mesh each fit speaks of        flats, flatted, grooves, spacing: what is not round
//! hanging   all places of fits with their facets
//! elastic   a load of the spec as a problem of elasticity: surfaces that are held and loaded
//! heat, loads, limits, strength, strain, fits, run: the facts that need computing
//! margin    what must be borne against what can be, for a partial choice
//! world     candidates, their names, the facts rules see about any partial choice, what was worked out of them
//! reading   what each rule reads, and on which decisions that hangs
//! problem   the rulebook as a search problem       search: least penalty, narrow rules first
//! pins      what the spec pins and forbids         places: points off the part, faces several places answer to
//! questions what the spec leaves open, and what each answer would lead to
//! breaks    where along a number of the spec another thing is chosen
//! decide    the choice, runners-up, rejections     conflict: why nothing is left, and what frees it
//! ```

pub(crate) mod breaks;
pub(crate) mod conflict;
pub(crate) mod decide;
pub(crate) mod elastic;
pub(crate) mod equip;
pub(crate) mod facts;
pub(crate) mod fits;
mod flats;
mod flatted;
mod grooves;
pub mod hanging;
pub(crate) mod heat;
mod hints;
pub(crate) mod history;
pub(crate) mod limits;
pub(crate) mod loads;
pub(crate) mod margin;
pub(crate) mod matching;
mod mixing;
pub(crate) mod names;
pub(crate) mod part;
pub(crate) mod pins;
pub(crate) mod places;
pub(crate) mod problem;
pub(crate) mod purge;
pub(crate) mod questions;
mod reading;
pub(crate) mod run;
pub(crate) mod search;
pub(crate) mod shop;
mod spacing;
pub(crate) mod strain;
pub(crate) mod strength;
pub(crate) mod together;
pub(crate) mod world;

pub use facts::figures;
pub use margin::{Band, MarginKind};

use conflict::{Judge, Refusal};
use decide::Decided;
use problem::Rules;

/// What came of a job.
#[derive(Debug, Clone)]
pub(crate) enum Outcome {
    /// What was chosen, and why.
    Decided(Box<Decided>),
    /// What is in the way, and what would free it.
    Refused(Box<Refusal>),
}

/// Decides a job, or works out why it cannot be done; `judge` says what would be weak about a way out.
pub(crate) fn resolve(rules: &Rules<'_, '_>, judge: &Judge<'_>) -> Outcome {
    match decide::decide(rules) {
        Some(decided) => {
            let questions = questions::ask(rules.world, judge);
            Outcome::Decided(Box::new(Decided { questions, ..decided }))
        }
        None => Outcome::Refused(Box::new(conflict::refuse(rules.world, rules, judge))),
    }
}
