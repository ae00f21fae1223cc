//! Reasons from what rules said: the text with its numbers, the rule, the places and the values it read.

use std::collections::BTreeSet;

use crate::diag::Sources;
use crate::recipe::{Reason, UsedValue};
use crate::resolve::problem::{Rules, Said, instance_words};
use crate::resolve::world::DECISIONS;
use crate::rulebook::value::Origin;
use crate::rulebook::{Filled, Judgement, Rule, Used, show};

/// Returns the reason a judged rule gives: its complaint if it broke, else its own because.
pub fn reason(rules: &Rules<'_, '_>, said: &Said) -> Reason {
    let rule = rules.rule(said.constraint);
    let text = said
        .judgements
        .iter()
        .find_map(|j| match j {
            Judgement::Broken { text } | Judgement::Penalty { text, .. } => Some(text.clone()),
            _ => None,
        })
        .unwrap_or_else(|| Filled::plain(&rule.because));
    let text = text.priced_in(rules.world.bench.currency.as_ref());
    let told = rule.each.is_some_and(|root| text.names(root.word()));
    let text = match instance_words(rules.world, rule, said.constraint.instance).filter(|_| !told) {
        Some(words) => format!("{words}: {text}"),
        None => text.to_string(),
    };
    from_trace(rule, text, &said.trace.used, rules.world.knowledge.sources)
}

/// Returns a reason with the rule's name and source and the values it read.
pub fn from_trace(rule: &Rule, text: String, used: &[Used], sources: &Sources) -> Reason {
    Reason {
        text,
        rule: Some(rule.name.clone()),
        places: places(used, sources),
        values: used.iter().filter(|u| u.value.is_known()).map(|u| used_value(u, sources)).collect(),
        source: Some(rule.source.clone()),
    }
}

/// Returns the places of the spec and the shop that were read, in order, each once.
fn places(used: &[Used], sources: &Sources) -> Vec<String> {
    let mut seen = BTreeSet::new();
    used.iter()
        .filter_map(|u| match &u.origin {
            Origin::Stated { at } => Some(sources.place(*at)),
            _ => None,
        })
        .filter(|place| !place.starts_with("recipes/"))
        .filter(|p| seen.insert(p.clone()))
        .collect()
}

fn used_value(used: &Used, sources: &Sources) -> UsedValue {
    UsedValue { name: used.name.clone(), value: show(&used.value), from: origin_words(&used.origin, sources) }
}

/// Says where a value comes from.
pub fn origin_words(origin: &Origin, sources: &Sources) -> String {
    match origin {
        Origin::None => String::new(),
        Origin::Stated { at } => sources.place(*at),
        Origin::Sourced { at, kind, source, low, high } => {
            let range = match (low, high) {
                (Some(low), Some(high)) => format!(", range {low} to {high}"),
                _ => String::new(),
            };
            let key = source.as_ref().map_or(String::new(), |s| format!(" {s}"));
            format!("{kind}{key}{range} ({})", sources.place(*at))
        }
        Origin::Measured => "measured on the mesh".to_owned(),
        Origin::Computed { working } => working.to_string(),
        Origin::Assumed { text } => format!("assumed: {text}"),
    }
}

/// Returns whether a rule reads something that a decision settles.
pub fn touches(rule: &Rule, decision: usize) -> bool {
    DECISIONS.get(decision).is_some_and(|d| rule.touches.contains(*d))
}
