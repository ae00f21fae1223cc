//! Reasons from what rules said: the text with its numbers, the rule, the places and the values it read.

use crate::catalogue;
use crate::diag::{Cite, Sources};
use crate::recipe::{About, Basis, Cited, Reason, Sentence, Shown, UsedValue};
use crate::resolve::problem::{Rules, Said};
use crate::resolve::world::{DECISIONS, World};
use crate::rulebook::names::Root;
use crate::rulebook::value::Origin;
use crate::rulebook::{Filled, Judgement, Rule, Used};

/// The folder of the files that come with the program.
const BUILT_IN: &str = "recipes/";

/// Returns the reason a judged rule gives: its complaint if it broke, else its own because.
pub fn reason(rules: &Rules<'_, '_>, said: &Said) -> Reason {
    let rule = rules.rule(said.constraint);
    let text = said
        .judgements
        .iter()
        .find_map(|j| match j {
            Judgement::Broken { text, .. } | Judgement::Penalty { text, .. } => Some(text.clone()),
            _ => None,
        })
        .unwrap_or_else(|| Filled::plain(&rule.because));
    let text = text.priced_in(rules.world.bench.currency.as_ref());
    // A margin is named by itself or by what it speaks of.
    let told = match rule.each {
        Some(Root::Margin) => Root::ALL.into_iter().any(|root| root.is_each() && text.names(root.word())),
        each => each.is_some_and(|root| text.names(root.word())),
    };
    let about = about(rules.world, rule, said.constraint.instance).filter(|_| !told);
    from_trace(rule, Sentence::Rule { about, text }, &said.trace.used, rules.world.knowledge.sources)
}

/// Returns the load, fit, face or contact a rule is asked for, where it is asked for each.
pub fn about(world: &World<'_>, rule: &Rule, instance: usize) -> Option<About> {
    let (root, instance) = match rule.each? {
        Root::Margin => {
            let margin = world.margins().nth(instance)?;
            (margin.kind.speaks_of()?, margin.index)
        }
        root => (root, instance),
    };
    let name = match root {
        Root::Contact => world.spec.touching().nth(instance).map(|c| c.chemical.value.clone()),
        Root::Load => world.spec.loads.get(instance).map(|l| l.name.value.clone()),
        Root::Fit => world.spec.fits.get(instance).map(|f| f.name.value.clone()),
        Root::Face => world.spec.faces.get(instance).map(|f| f.name.value.clone()),
        _ => None,
    }?;
    Some(About { kind: root.word(), name })
}

/// Returns a reason with the rule's name and source and the values it read.
pub fn from_trace(rule: &Rule, text: Sentence, used: &[Used], sources: &Sources) -> Reason {
    Reason {
        text,
        rule: Some(rule.name.clone()),
        places: places(used, sources),
        values: used.iter().filter(|u| u.value.is_known()).map(|u| used_value(u, sources)).collect(),
        source: vec![of_rule(rule)],
    }
}

/// Returns a rule's own words as a sentence.
pub fn because(rule: &Rule) -> Sentence {
    Sentence::told(&rule.because)
}

/// Returns where a rule is from.
pub fn of_rule(rule: &Rule) -> Cited {
    let kind = catalogue::SourceKind::parse(&rule.source_kind).unwrap_or(catalogue::SourceKind::FromMemory);
    Cited { keys: rule.citations.clone(), ..Cited::bare(kind.into()) }
}

/// Returns the places of the spec and the shop that were read, in order, each once.
fn places(used: &[Used], sources: &Sources) -> Vec<Cite> {
    let mut found: Vec<Cite> = Vec::new();
    for used in used {
        let Origin::Stated { at } = used.origin else { continue };
        let place = sources.cite(at);
        // What comes with the program is told by its source, not by its place.
        if !place.file.starts_with(BUILT_IN) && !found.contains(&place) {
            found.push(place);
        }
    }
    found
}

fn used_value(used: &Used, sources: &Sources) -> UsedValue {
    UsedValue { name: used.name.clone(), value: Shown::Value(used.value.clone()), from: basis(&used.origin, sources) }
}

/// Says where a value comes from.
pub fn basis(origin: &Origin, sources: &Sources) -> Basis {
    match origin {
        Origin::None => Basis::Nothing,
        Origin::Stated { at } => Basis::Stated(sources.cite(*at)),
        Origin::Sourced { at, kind, source, low, high } => {
            let kind = catalogue::SourceKind::parse(kind).unwrap_or(catalogue::SourceKind::FromMemory);
            let keys = source.iter().map(ToString::to_string).collect();
            let source = Cited { keys, place: Some(sources.cite(*at)), ..Cited::bare(kind.into()) };
            Basis::Sourced { source, range: (*low).zip(*high) }
        }
        Origin::Measured => Basis::Measured,
        Origin::Computed { working } => Basis::Computed(working.clone()),
        Origin::Assumed(assumed) => Basis::Assumed(*assumed),
    }
}

/// Returns whether a rule reads something that a decision settles.
pub fn touches(rule: &Rule, decision: usize) -> bool {
    DECISIONS.get(decision).is_some_and(|d| rule.touches.contains(*d))
}
