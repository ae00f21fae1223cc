//! Reasons from what rules said: the text with its numbers, the rule, the places and the values it read.

use std::collections::BTreeSet;

use crate::diag::Sources;
use crate::recipe::{Reason, UsedValue};
use crate::resolve::problem::{Constraint, Rules, Said, instance_words};
use crate::resolve::search::Penalty;
use crate::resolve::world::DECISIONS;
use crate::rulebook::value::Origin;
use crate::rulebook::{Judgement, Rule, Used, show};

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
        .unwrap_or_else(|| rule.because.clone());
    let text = match instance_words(rules.world, rule, said.constraint.instance) {
        Some(words) if !text.contains(&words) => format!("{words}: {text}"),
        _ => text,
    };
    from_trace(rule, in_currency(&text, &rules.world.bench.currency), &said.trace.used, rules.world.knowledge.sources)
}

/// Puts the shop's currency where a rule speaks of money; where the shop states none the bare figure stands.
fn in_currency(text: &str, currency: &str) -> String {
    let unit = if currency == "money" { String::new() } else { format!(" {currency}") };
    text.replace(" money", &unit)
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

/// Puts the rules that touch a decision before the others; within each the order stays.
pub fn own_first(
    rules: &Rules<'_, '_>,
    decision: usize,
    differences: &[(Constraint, Penalty)],
) -> Vec<(Constraint, Penalty)> {
    let mut ordered = differences.to_vec();
    ordered.sort_by_key(|(c, _)| !touches(rules.rule(*c), decision));
    ordered
}

/// Returns whether a rule reads something that a decision settles.
pub fn touches(rule: &Rule, decision: usize) -> bool {
    DECISIONS.get(decision).is_some_and(|d| rule.touches.contains(*d))
}

/// Says which penalties differ, `rule +1.2`, greatest first; at most four.
pub fn separated_by(rules: &Rules<'_, '_>, differences: &[(Constraint, Penalty)]) -> Vec<String> {
    let mut words: Vec<String> = differences
        .iter()
        .take(4)
        .map(|(c, p)| {
            let rule = rules.rule(*c);
            let about = instance_words(rules.world, rule, c.instance).map_or(String::new(), |w| format!(" ({w})"));
            format!("{}{about} {}", rule.name, signed(*p))
        })
        .collect();
    if differences.len() > 4 {
        words.push(format!("and {} smaller", differences.len() - 4));
    }
    words
}

/// A penalty as points with its sign.
pub fn signed(penalty: Penalty) -> String {
    format!("{}{:.2}", if penalty < 0 { "-" } else { "+" }, points(penalty.abs()))
}

pub fn points(penalty: Penalty) -> f64 {
    // Two decimals are shown; a thousandth more or less is not a difference anyone should read.
    (penalty as f64 / 1e4).round() / 100.0
}

#[cfg(test)]
mod tests {
    use super::in_currency;

    #[test]
    fn money_is_in_the_currency_of_the_shop() {
        assert_eq!(in_currency("a piece costs about 0.35 money", "EUR"), "a piece costs about 0.35 EUR");
        assert_eq!(in_currency("costs 22 money/kg", "EUR"), "costs 22 EUR/kg");
        assert_eq!(in_currency("a piece costs about 0.35 money", "money"), "a piece costs about 0.35");
    }
}
