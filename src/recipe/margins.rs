//! The margins of a decided job, as the recipe shows them. They are made in `resolve::margin`; here they are only put into
//! the recipe's form.

use std::sync::Arc;

use crate::recipe::{Cited, Margin, MarginTold, OfMargin, Reason, Sentence};
use crate::resolve::decide::full;
use crate::resolve::margin::said::Part;
use crate::resolve::margin::{self, About, Verdict};
use crate::resolve::world::World;

/// Returns the margins of a decided job.
pub fn margins(world: &World<'_>, choice: &[usize]) -> Vec<Margin> {
    let choice = full(choice);
    let told = |(place, about): (usize, About)| {
        let verdict = world.verdict(place, &choice)?;
        let found = margin::of(world, about, &choice, Some(verdict))?;
        let asks_first = world.asks_first(place, &choice);
        Some(Margin { asks_first, ..shown(world, verdict, found) })
    };
    world.margins().enumerate().filter_map(told).collect()
}

fn shown(world: &World<'_>, verdict: Verdict, found: margin::Margin) -> Margin {
    let (told, at, source) = found.told.map_or_else(Default::default, |t| (Some(Arc::new(t.said)), t.at, t.source));
    let say = |part: Part| match &told {
        Some(said) if said.says(part) => Sentence::OfMargin(OfMargin { said: Arc::clone(said), part }),
        _ => Sentence::Nothing,
    };
    Margin {
        what: found.about.words(world.spec),
        kind: found.about.kind,
        of: found.about.of(world.spec),
        demand: found.demand,
        capacity: found.capacity,
        ratio: found.ratio,
        spare: found.spare,
        verdict,
        asks_first: false,
        cracks: found.cracks,
        told: MarginTold { demand: say(Part::Demand), capacity: say(Part::Capacity), margin: say(Part::Spare) },
        because: Reason {
            text: say(Part::Basis),
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
