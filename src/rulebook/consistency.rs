//! Rules against each other and against themselves: cycles, contradictions, conditions that can never hold.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::check::is_judgement;
use super::code::{Code, Comparison, Val};
use super::names::Type;
use super::rule::{Rule, Verdict};
use crate::diag::Diagnostic;

/// Returns the settings in an order in which each follows those it depends on; a cycle is an error.
pub(super) fn setting_order(rules: &[Rule], diagnostics: &mut Vec<Diagnostic>) -> Vec<Arc<str>> {
    let mut needs: BTreeMap<Arc<str>, BTreeSet<String>> = BTreeMap::new();
    for rule in rules {
        for verdict in &rule.verdicts {
            if let Verdict::Derive { setting, .. } = verdict
                && !is_judgement(setting)
            {
                needs.entry(setting.clone()).or_default().extend(rule.settings_used.iter().cloned());
            }
        }
    }
    let mut order: Vec<Arc<str>> = Vec::new();
    let mut done: BTreeSet<String> = BTreeSet::new();
    loop {
        let ready: Vec<Arc<str>> = needs
            .iter()
            .filter(|(s, on)| !done.contains(s.as_ref()) && on.iter().all(|o| done.contains(o)))
            .map(|(s, _)| s.clone())
            .collect();
        if ready.is_empty() {
            break;
        }
        done.extend(ready.iter().map(|s| s.to_string()));
        order.extend(ready);
    }
    let stuck: Vec<&str> = needs.keys().map(AsRef::as_ref).filter(|s| !done.contains(*s)).collect();
    if let Some(first) = stuck.first() {
        let span = rules.iter().find(|r| derives(r, first)).map(|r| r.span);
        if let Some(span) = span {
            diagnostics.push(
                Diagnostic::error(
                    "rule/derive-cycle",
                    span,
                    format!("the settings {} derive from each other", stuck.join(", ")),
                )
                .hint("let one of them follow from the decisions alone"),
            );
        }
    }
    order
}

fn derives(rule: &Rule, name: &str) -> bool {
    rule.verdicts.iter().any(|v| matches!(v, Verdict::Derive { setting, .. } if setting.as_ref() == name))
}

/// Reports rules that can never fire, requirements that can never hold or always do, and pairs that cannot both hold.
pub(super) fn contradictions(rules: &[Rule], diagnostics: &mut Vec<Diagnostic>) {
    for rule in rules {
        never_fires(rule, diagnostics);
        constant_requirements(rule, diagnostics);
    }
    twice_derived(rules, diagnostics);
    opposed(rules, diagnostics);
}

fn never_fires(rule: &Rule, diagnostics: &mut Vec<Diagnostic>) {
    if let Some(why) = unsatisfiable(&rule.when.iter().collect::<Vec<_>>()) {
        diagnostics.push(
            Diagnostic::error(
                "rule/never-fires",
                rule.span,
                format!("the rule `{}` can never apply: {why}", rule.name),
            )
            .hint("widen its `when`, or remove the rule"),
        );
    }
}

fn constant_requirements(rule: &Rule, diagnostics: &mut Vec<Diagnostic>) {
    for verdict in &rule.verdicts {
        let Verdict::Require { condition, written } = verdict else { continue };
        match condition.constant() {
            Some(Val::Bool(true)) => diagnostics.push(Diagnostic::warning(
                "rule/always-holds",
                rule.span,
                format!("`require {written}` always holds: it refuses nothing"),
            )),
            Some(Val::Bool(false)) if rule.when.is_empty() => diagnostics.push(
                Diagnostic::error(
                    "rule/never-holds",
                    rule.span,
                    format!("`require {written}` never holds: nothing could be printed"),
                )
                .hint("say by `when` where it applies"),
            ),
            _ => {}
        }
        let mut all: Vec<&Code> = rule.when.iter().collect();
        let had = unsatisfiable(&all).is_some();
        all.push(condition);
        if !had && condition.constant().is_none() && !rule.when.is_empty() && unsatisfiable(&all).is_some() {
            diagnostics.push(
                Diagnostic::warning(
                    "rule/never-holds",
                    rule.span,
                    format!("where `{}` applies, `require {written}` never holds", rule.name),
                )
                .hint("a refusal without a way out is clearer as `require false`"),
            );
        }
    }
}

fn twice_derived(rules: &[Rule], diagnostics: &mut Vec<Diagnostic>) {
    let mut seen: BTreeMap<&str, Vec<&Rule>> = BTreeMap::new();
    for rule in rules {
        for verdict in &rule.verdicts {
            let Verdict::Derive { setting, .. } = verdict else { continue };
            // A margin may be judged by many: the worst verdict counts.
            if is_judgement(setting) {
                continue;
            }
            let before = seen.entry(setting.as_ref()).or_default();
            if let Some(first) = before.iter().rfind(|r| r.when == rule.when) {
                let message = format!("`{}` and `{}` both derive `{setting}` in the same cases", first.name, rule.name);
                diagnostics.push(
                    Diagnostic::error("rule/contradiction", rule.span, message)
                        .label(first.span, "the other one")
                        .hint("give one of them a `when`, or remove it"),
                );
            }
            before.push(rule);
        }
    }
}

/// Two requirements that exclude each other wherever both apply, as far as they speak about one name each.
fn opposed(rules: &[Rule], diagnostics: &mut Vec<Diagnostic>) {
    let required: Vec<(&Rule, &Code, &str)> = rules
        .iter()
        .flat_map(|r| {
            r.verdicts.iter().filter_map(move |v| match v {
                Verdict::Require { condition, written } => Some((r, condition, written.as_str())),
                _ => None,
            })
        })
        .collect();
    for (i, (a, code_a, written_a)) in required.iter().enumerate() {
        for (b, code_b, written_b) in required.iter().skip(i + 1) {
            // Under other conditions they may never meet.
            if a.name == b.name || !(a.when.is_empty() && b.when.is_empty() || a.when == b.when) {
                continue;
            }
            let negation = Code::Not(Box::new((*code_a).clone()));
            let plainly = negation == **code_b || negated(code_a).as_ref() == Some(*code_b);
            if plainly || unsatisfiable(&[*code_a, *code_b]).is_some() {
                let message = format!("`require {written_a}` and `require {written_b}` cannot both hold");
                diagnostics.push(
                    Diagnostic::error("rule/contradiction", b.span, message)
                        .label(a.span, "the other one")
                        .hint("say by `when` where each applies"),
                );
            }
        }
    }
}

fn negated(code: &Code) -> Option<Code> {
    match code {
        Code::Compare { op, left, right } => {
            Some(Code::Compare { op: op.negated(), left: left.clone(), right: right.clone() })
        }
        Code::Not(inner) => Some((**inner).clone()),
        _ => None,
    }
}

/// What a name can still be under a set of conditions.
#[derive(Debug, Clone)]
enum Domain {
    Numbers {
        low: f64,
        low_open: bool,
        high: f64,
        high_open: bool,
    },
    /// Bits of a closed set (or of no and yes).
    Words {
        left: u32,
    },
}

/// Returns why conditions that must all hold cannot, where that shows on single names; `None` is no proof of the contrary.
fn unsatisfiable(conditions: &[&Code]) -> Option<String> {
    let mut flat = Vec::new();
    let mut todo: Vec<&Code> = conditions.to_vec();
    while let Some(code) = todo.pop() {
        match code {
            Code::And(all) => todo.extend(all),
            other => flat.push(other),
        }
    }
    let mut domains: BTreeMap<&str, Domain> = BTreeMap::new();
    for code in flat {
        if let Some(Val::Bool(false)) = code.constant() {
            return Some("a condition is always false".to_owned());
        }
        let Some((name, kind, narrowing)) = narrowing(code) else { continue };
        let domain = domains.entry(name).or_insert_with(|| whole(kind));
        narrow(domain, narrowing);
        if empty(domain) {
            return Some(format!("nothing is left for `{name}`"));
        }
    }
    None
}

enum Narrowing {
    Number(Comparison, f64),
    Between(f64, f64),
    Words(u32),
}

fn whole(kind: Type) -> Domain {
    match kind {
        Type::Quantity(_) => {
            Domain::Numbers { low: f64::NEG_INFINITY, low_open: false, high: f64::INFINITY, high_open: false }
        }
        Type::Word(words) => Domain::Words { left: low_bits(words.len()) },
        _ => Domain::Words { left: 0b11 },
    }
}

fn low_bits(n: usize) -> u32 {
    if n >= 32 { u32::MAX } else { (1 << n) - 1 }
}

/// Reads a condition as a restriction of one name.
fn narrowing(code: &Code) -> Option<(&str, Type, Narrowing)> {
    match code {
        Code::Field(place) if place.kind == Type::Bool => Some((&place.name, Type::Bool, Narrowing::Words(0b10))),
        Code::Not(inner) => match narrowing(inner)? {
            (name, kind @ Type::Bool, Narrowing::Words(bits)) => Some((name, kind, Narrowing::Words(!bits & 0b11))),
            (name, kind @ Type::Word(words), Narrowing::Words(bits)) => {
                Some((name, kind, Narrowing::Words(!bits & low_bits(words.len()))))
            }
            (name, kind, Narrowing::Number(op, n)) => Some((name, kind, Narrowing::Number(op.negated(), n))),
            _ => None,
        },
        Code::Compare { op, left, right } => {
            let (place, op, value) = match (left.as_ref(), right.as_ref()) {
                (Code::Field(place), other) => (place, *op, other.constant()?),
                (other, Code::Field(place)) => (place, op.swapped(), other.constant()?),
                _ => return None,
            };
            let kind = place.shown_kind();
            match value {
                Val::Number(n) => Some((&place.name, kind, Narrowing::Number(op, n))),
                Val::Word(w) => Some((&place.name, kind, Narrowing::Words(word_bits(kind, op, w)))),
                Val::Bool(b) => Some((&place.name, kind, Narrowing::Words(word_bits(kind, op, u8::from(b))))),
                _ => None,
            }
        }
        Code::Within { of, low, high } => match (of.as_ref(), low.constant()?, high.constant()?) {
            (Code::Field(place), Val::Number(a), Val::Number(b)) => {
                Some((&place.name, place.shown_kind(), Narrowing::Between(a, b)))
            }
            _ => None,
        },
        Code::OneOf { of, options } => {
            let Code::Field(place) = of.as_ref() else { return None };
            let mut bits = 0;
            for option in options {
                let Val::Word(w) = option.constant()? else { return None };
                bits |= 1u32.checked_shl(u32::from(w)).unwrap_or(0);
            }
            Some((&place.name, place.shown_kind(), Narrowing::Words(bits)))
        }
        _ => None,
    }
}

fn word_bits(kind: Type, op: Comparison, word: u8) -> u32 {
    let count = if let Type::Word(words) = kind { words.len().min(32) } else { 2 };
    (0..count as u8).filter(|i| op.holds(i.cmp(&word))).fold(0, |bits, i| bits | 1 << i)
}

fn narrow(domain: &mut Domain, by: Narrowing) {
    match (domain, by) {
        (Domain::Words { left }, Narrowing::Words(bits)) => *left &= bits,
        (Domain::Numbers { low, low_open, high, high_open }, Narrowing::Number(op, n)) => {
            let (from_below, from_above) = match op {
                Comparison::Greater => (Some((n, true)), None),
                Comparison::GreaterOrEqual => (Some((n, false)), None),
                Comparison::Less => (None, Some((n, true))),
                Comparison::LessOrEqual => (None, Some((n, false))),
                Comparison::Equal => (Some((n, false)), Some((n, false))),
                Comparison::NotEqual => (None, None),
            };
            if let Some((n, open)) = from_below
                && (n > *low || n == *low && open)
            {
                (*low, *low_open) = (n, open);
            }
            if let Some((n, open)) = from_above
                && (n < *high || n == *high && open)
            {
                (*high, *high_open) = (n, open);
            }
        }
        (domain @ Domain::Numbers { .. }, Narrowing::Between(a, b)) => {
            narrow(domain, Narrowing::Number(Comparison::GreaterOrEqual, a));
            narrow(domain, Narrowing::Number(Comparison::LessOrEqual, b));
        }
        _ => {}
    }
}

fn empty(domain: &Domain) -> bool {
    match domain {
        Domain::Words { left } => *left == 0,
        Domain::Numbers { low, low_open, high, high_open } => low > high || low == high && (*low_open || *high_open),
    }
}
