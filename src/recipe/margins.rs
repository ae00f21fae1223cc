//! The margins of a decided job, as the recipe shows them. They are made in `resolve::margin`; here they are only put into
//! the recipe's form.

use crate::recipe::{Cited, Margin, MarginTold, Reason};
use crate::resolve::decide::full;
use crate::resolve::margin;
use crate::resolve::world::World;

/// Returns the margins of a decided job.
pub fn margins(world: &World<'_>, choice: &[usize]) -> Vec<Margin> {
    let choice = full(choice);
    let every = margin::all(world.spec).into_iter();
    every.filter_map(|about| margin::of(world, about, &choice, true)).map(|found| shown(world, found)).collect()
}

fn shown(world: &World<'_>, found: margin::Margin) -> Margin {
    let margin::Told { demand, capacity, spare, basis, at, source } = found.told.unwrap_or_default();
    Margin {
        what: found.about.words(world.spec),
        kind: found.about.kind,
        of: found.about.of(world.spec),
        demand: found.demand,
        capacity: found.capacity,
        ratio: found.ratio,
        spare: found.spare,
        verdict: found.verdict,
        cracks: found.cracks,
        told: MarginTold { demand: demand.into(), capacity: capacity.into(), margin: spare.into() },
        because: Reason {
            text: basis.into(),
            places: at.into_iter().map(|span| world.knowledge.sources.cite(span)).collect(),
            source: source.into_iter().map(|s| cited(world, s)).collect(),
            ..Reason::default()
        },
    }
}

fn cited(world: &World<'_>, source: margin::Source) -> Cited {
    let margin::Source { kind, keys, citation, of, at } = source;
    Cited { kind, keys, citation, of, place: at.map(|span| world.knowledge.sources.cite(span)) }
}
