//! What the shop's own history says of the share of good pieces.

use std::collections::BTreeSet;

use crate::catalogue::figures;
use crate::physics::statistics::binomial::yield_lower_bound;

use super::shop::Yield;
use super::world::{Partial, World, at};

/// What the shop recorded of a job.
#[derive(Debug, Clone, PartialEq)]
pub struct Recorded {
    /// Good pieces.
    pub good: u64,
    /// Pieces started.
    pub started: u64,
    /// Of this very part.
    pub own: bool,
    /// The same with what it was and where it stands.
    pub words: String,
}

/// Returns the good pieces of those started that the shop recorded for the printer and material, and where it says so.
pub fn recorded(world: &World<'_>, choice: &Partial) -> Option<Recorded> {
    let printer = choice[at::PRINTER].and_then(|p| world.bench.printers.get(p))?;
    let material = world.material(choice)?;
    let matches = |own: &Option<String>, name: &str| own.as_ref().is_none_or(|o| o == name);
    let about = |y: &Yield| matches(&y.printer, &printer.name) && matches(&y.material, &material.name);
    let of_this_part = |y: &&Yield| y.part.as_deref() == Some(world.spec.name.value.as_str());
    // Runs of this very part say more of it than all the others.
    let all: Vec<&Yield> = world.bench.yields.iter().filter(|y| about(y.peek())).map(|y| &**y).collect();
    let own = all.iter().any(of_this_part);
    let records = all.into_iter().filter(|y| !own || of_this_part(y));
    let (mut good, mut started, mut at, mut runs) = (0, 0, None, BTreeSet::new());
    for y in records {
        good += y.good;
        started += y.started;
        at = at.or(Some(y.at));
        runs.extend(y.run.as_ref());
    }
    let place = world.knowledge.sources.cite(at?);
    let what = if own { "of this part, in" } else { "for" };
    let runs: String = runs.iter().map(|run| format!(", run \"{run}\"")).collect();
    let words =
        format!("{good} good of {started} recorded {what} {} on {}{runs} ({place})", material.name, printer.name);
    Some(Recorded { good, started, own, words })
}

/// Returns the share of good pieces the shop recorded for the printer and material, and where it says so.
///
/// The lower 50 % bound is used, so that ten good of ten do not count as certainty.
pub fn yield_share(world: &World<'_>, choice: &Partial) -> Option<(f64, String)> {
    let Recorded { good, started, words, .. } = recorded(world, choice)?;
    let share = yield_lower_bound(good, started, world.knowledge.catalogue.value(figures::YIELD_CONFIDENCE)).ok()?;
    (share > 0.0).then(|| (share.min(0.999), words))
}
