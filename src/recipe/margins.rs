//! The margins of a decided job, as the recipe shows them. They are made in `resolve::margin`; here they are only put into
//! the recipe's form.

use std::sync::Arc;

use crate::recipe::{Cited, LoadSums, Margin, MarginTold, Reason, Sentence};
use crate::resolve::decide::full;
use crate::resolve::margin::said::{OfMargin, Part, Said};
use crate::resolve::margin::{self, About, MarginKind, Verdict};
use crate::resolve::together;
use crate::resolve::world::World;

/// Returns the margins of a decided job.
pub fn margins(world: &World<'_>, choice: &[usize]) -> Vec<Margin> {
    those(world, choice, |_| true)
}

/// Returns the margins that speak of a load.
pub fn of_load(world: &World<'_>, choice: &[usize], load: usize) -> Vec<Margin> {
    let name = world.spec.loads.get(load).map(|l| l.name.value.as_str());
    let under = |name: &str| world.spec.deflection.as_ref().is_some_and(|d| d.is_under(name));
    those(world, choice, |about| match about.kind {
        MarginKind::Load | MarginKind::Buckling | MarginKind::Bearing => about.index == load,
        MarginKind::LoadsTogether => {
            together::combination(world.spec, about.index).is_some_and(|all| all.contains(&load))
        }
        MarginKind::Deflection => name.is_some_and(under),
        _ => false,
    })
}

fn those(world: &World<'_>, choice: &[usize], wanted: impl Fn(About) -> bool) -> Vec<Margin> {
    let choice = full(choice);
    let told = |(place, about): (usize, About)| {
        let verdict = world.verdict(place, &choice)?;
        let found = margin::of(world, about, &choice, Some(verdict))?;
        let asks_first = world.asks_first(place, &choice);
        let mut margin = Margin { asks_first, ..shown(world, verdict, found) };
        margin.because.rule = world.judge(place, &choice).map(|rule| rule.name.clone());
        Some(margin)
    };
    world.margins().enumerate().filter(|(_, about)| wanted(*about)).filter_map(told).collect()
}

fn shown(world: &World<'_>, verdict: Verdict, found: margin::Margin) -> Margin {
    let (told, at, source) = found.told.map_or_else(Default::default, |t| (Some(Arc::new(t.said)), t.at, t.source));
    let say = |part: Part| match &told {
        Some(said) if said.says(part) => Sentence::OfMargin(OfMargin { said: Arc::clone(said), part }),
        _ => Sentence::Nothing,
    };
    Margin {
        what: found.about.name(world.spec),
        kind: found.about.kind,
        of: found.about.of(world.spec).map(str::to_owned),
        asked_by: found.about.asked_by(world.spec),
        demand: found.demand,
        capacity: found.capacity,
        ratio: found.ratio,
        spare: found.spare,
        verdict,
        asks_first: false,
        cracks: found.cracks,
        sums: told.as_deref().and_then(sums),
        told: MarginTold { demand: say(Part::Demand), capacity: say(Part::Capacity), margin: say(Part::Spare) },
        because: Reason {
            text: say(Part::Basis),
            places: at.into_iter().map(|span| world.knowledge.sources.cite(span)).collect(),
            source: source.into_iter().map(|s| cited(world, s)).collect(),
            ..Reason::default()
        },
    }
}

fn sums(said: &Said) -> Option<Box<LoadSums>> {
    match said {
        Said::Load { sums: Some(sums), .. } => Some(Box::new(LoadSums::of(sums))),
        _ => None,
    }
}

fn cited(world: &World<'_>, source: margin::Source) -> Cited {
    let margin::Source { kind, keys, citation, of, at } = source;
    Cited { kind, keys, citation, of, place: at.map(|span| world.knowledge.sources.cite(span)) }
}
