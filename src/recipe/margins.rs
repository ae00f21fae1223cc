//! The margins of a decided job, as the recipe shows them. They are made in `resolve::margin`; here they are only put into
//! the recipe's form.

use crate::recipe::{Margin, Reason};
use crate::resolve::decide::full;
use crate::resolve::margin::{self, Told, Verdict};
use crate::resolve::world::World;

/// The verdicts on a margin.
pub(super) const HOLDS: &str = Verdict::Holds.words();
pub(super) const BROKEN: &str = Verdict::Broken.words();
pub(super) const NOT_SHOWN: &str = Verdict::NotShown.words();

/// Returns the margins of a decided job.
pub fn margins(world: &World<'_>, choice: &[usize]) -> Vec<Margin> {
    let choice = full(choice);
    let every = margin::all(world.spec).into_iter();
    every.filter_map(|about| margin::of(world, about, &choice, true)).map(|found| shown(world, found)).collect()
}

fn shown(world: &World<'_>, found: margin::Margin) -> Margin {
    let Told { demand, capacity, spare, basis, at, source } = found.told.unwrap_or_default();
    let places = at.into_iter().map(|span| world.knowledge.sources.place(span)).collect();
    Margin {
        what: found.about.words(world.spec),
        demand,
        capacity,
        margin: spare,
        verdict: found.verdict.words().to_owned(),
        because: Reason { text: basis, places, source, ..Reason::default() },
    }
}
