//! Lines that are the same for several fits stand once and name them all: six equal holes are reamed alike, whatever they are called.

use crate::rulebook::Filled;

use super::{Caution, Phase, Reason, Recipe, Sentence, Step, Work};

/// The names of several things within one pair of quotes, closed and opened between them.
fn quoted(names: &[&str]) -> String {
    match names {
        [others @ .., last] if !others.is_empty() => format!("{}\" and \"{last}", others.join("\", \"")),
        _ => names.concat(),
    }
}

/// Puts the lines of steps and cautions together that differ only in the fit they speak of.
pub fn say_once(recipe: &mut Recipe) {
    for Phase { steps, .. } in &mut recipe.checklist {
        *steps = together(std::mem::take(steps), one_step);
    }
    recipe.cautions = together(std::mem::take(&mut recipe.cautions), one_caution);
}

/// Joins each with the others that make one line with it; the line stands where the first of them did.
fn together<T: Clone>(all: Vec<T>, join: impl Fn(&[&T]) -> Option<T>) -> Vec<T> {
    let mut groups: Vec<Vec<T>> = Vec::new();
    for one in all {
        let alike = |group: &&mut Vec<T>| {
            let with: Vec<&T> = group.iter().chain([&one]).collect();
            join(&with).is_some()
        };
        match groups.iter_mut().find(alike) {
            Some(group) => group.push(one),
            None => groups.push(vec![one]),
        }
    }
    groups
        .into_iter()
        .flat_map(|group| match group.as_slice() {
            [_] => group,
            several => join(&several.iter().collect::<Vec<_>>()).map_or(group.clone(), |one| vec![one]),
        })
        .collect()
}

fn one_step(all: &[&Step]) -> Option<Step> {
    let (first, rest) = all.split_first()?;
    let of_one_kind = |s: &&Step| s.because.rule == first.because.rule && s.blanks == first.blanks;
    if !rest.iter().all(of_one_kind) {
        return None;
    }
    let text = one_text(all.iter().map(|s| &s.text))?;
    Some(Step { text, fit: None, because: reason(all.iter().map(|s| &s.because))?, blanks: first.blanks.clone() })
}

fn one_caution(all: &[&Caution]) -> Option<Caution> {
    let (first, rest) = all.split_first()?;
    let of_one_kind = |c: &&Caution| {
        c.kind == first.kind && c.margin.is_none() && c.because.rule.is_some() && c.because.rule == first.because.rule
    };
    if first.margin.is_some() || !rest.iter().all(of_one_kind) {
        return None;
    }
    let text = one_text(all.iter().map(|c| &c.text))?;
    Some(Caution { text, because: reason(all.iter().map(|c| &c.because))?, ..(*first).clone() })
}

/// One text for all, where they differ in the name of a fit and how many of it there are.
fn one_text<'s>(all: impl Iterator<Item = &'s Sentence> + Clone) -> Option<Sentence> {
    let rules: Option<Vec<&Filled>> = all.clone().map(of_rule).collect();
    if let Some(texts) = rules {
        let text = Filled::of_alike(&texts, "fit.name", "fit.count", quoted)?;
        return Some(Sentence::Rule { about: None, text });
    }
    let rows: Option<Vec<&Work>> = all.map(of_form).collect();
    let rows = rows?;
    let Some(Work::Check { what, wanted, .. }) = rows.first() else { return None };
    let mut names = Vec::new();
    for row in &rows {
        let Work::Check { fit, what: other, wanted: limits } = row else { return None };
        if other != what || limits != wanted {
            return None;
        }
        names.push(fit.as_str());
    }
    Some(Work::Check { fit: quoted(&names), what: what.clone(), wanted: wanted.clone() }.into())
}

fn of_rule(sentence: &Sentence) -> Option<&Filled> {
    match sentence {
        Sentence::Rule { about: None, text } => Some(text),
        _ => None,
    }
}

fn of_form(sentence: &Sentence) -> Option<&Work> {
    match sentence {
        Sentence::Step(work) => Some(work),
        _ => None,
    }
}

/// The reason of the first, with the places of all.
fn reason<'r>(mut all: impl Iterator<Item = &'r Reason>) -> Option<Reason> {
    let first = all.next()?.clone();
    Some(all.fold(first, |mut reason, next| {
        let more: Vec<_> = next.places.iter().filter(|place| !reason.places.contains(place)).cloned().collect();
        reason.places.extend(more);
        reason
    }))
}
