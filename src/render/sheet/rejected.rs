//! What was not taken; choices that fall for the same reason share a line.

use super::{RejectedLine, capital, cited, inline, shortly};
use crate::recipe::{Choice, Reason, Recipe, Rejected, Sentence};
use crate::rulebook::Decision;

/// Returns the rejected choices, those that differ in nothing but their name on one line. A runner-up is not among
/// them: it stands under "Second best", with the same reason.
pub(super) fn rejected(recipe: &Recipe) -> Vec<RejectedLine> {
    let mut groups: Vec<(Reason, Vec<&Rejected>)> = Vec::new();
    for r in recipe.rejected.iter().filter(|r| !is_runner_up(recipe, r)) {
        let alike = named(r, "each");
        match groups.iter_mut().find(|(a, all)| *a == alike && all.first().is_some_and(|f| f.decision == r.decision)) {
            Some((_, group)) => group.push(r),
            None => groups.push((alike, vec![r])),
        }
    }
    groups.iter().filter_map(|(alike, group)| line(recipe, alike, group)).collect()
}

/// Returns what was not taken for a decision, in short: the refused by what refuses them, then what would have done.
pub(super) fn not_taken(recipe: &Recipe, decision: Decision) -> Vec<String> {
    let mut groups: Vec<(Reason, Vec<&Rejected>)> = Vec::new();
    let of = |r: &&Rejected| r.decision == decision && !is_runner_up(recipe, r);
    for r in recipe.rejected.iter().filter(of) {
        let alike = decisive(named(r, "each"));
        match groups.iter_mut().find(|(a, _)| *a == alike) {
            Some((_, group)) => group.push(r),
            None => groups.push((alike, vec![r])),
        }
    }
    groups.sort_by_key(|(_, group)| costlier(group).is_some());
    let (costly, refused): (Vec<_>, Vec<_>) = groups.iter().partition(|(_, group)| costlier(group).is_some());
    let mut lines: Vec<String> = refused.iter().filter_map(|(alike, group)| out(recipe, alike, group)).collect();
    let would: Vec<String> = costly.iter().flat_map(|(_, group)| group.iter().filter_map(|r| worse(r))).collect();
    if !would.is_empty() {
        lines.push(format!("would do, and worse: {}", would.join("; ")));
    }
    lines
}

/// The reason without the names of what refuses it besides, which differ among those that fall together.
fn decisive(reason: Reason) -> Reason {
    let text = match reason.text {
        Sentence::Choice(choice) => match *choice {
            Choice::Refused { said, colour, .. } => Choice::Refused { said, colour, also: Vec::new() }.into(),
            other => other.into(),
        },
        other => other,
    };
    Reason { text, ..reason }
}

fn out(recipe: &Recipe, alike: &Reason, group: &[&Rejected]) -> Option<String> {
    let first = group.first()?;
    let because = if group.len() > 1 { alike.clone() } else { decisive(first.because.clone()) };
    let values: Vec<String> = group.iter().map(|r| inline(&r.value)).collect();
    let also: Vec<String> = group.iter().filter_map(|r| besides(r, group.len() > 1)).collect();
    let also = if also.is_empty() { String::new() } else { format!("; besides {}", also.join(", ")) };
    Some(format!("{} out: {}{also}", values.join(", "), shortly(recipe, &because)))
}

/// The rules that refuse a choice besides the decisive one.
fn besides(r: &Rejected, name: bool) -> Option<String> {
    let Sentence::Choice(choice) = &r.because.text else { return None };
    let Choice::Refused { also, .. } = &**choice else { return None };
    let rules = inline(&also.join(" and "));
    (!also.is_empty()).then(|| if name { format!("{} {rules}", inline(&r.value)) } else { rules })
}

fn costlier(group: &[&Rejected]) -> Option<()> {
    let Sentence::Choice(choice) = &group.first()?.because.text else { return None };
    matches!(**choice, Choice::Costlier { .. }).then_some(())
}

/// A choice that would do, by how much it is worse, and the heaviest of what makes it so.
fn worse(r: &Rejected) -> Option<String> {
    let Sentence::Choice(choice) = &r.because.text else { return None };
    let Choice::Costlier { by } = &**choice else { return None };
    let heaviest =
        by.first().map_or_else(String::new, |w| format!(" ({}{w})", if by.len() > 1 { "most: " } else { "" }));
    Some(inline(&format!("{} by {}{heaviest}", r.value, crate::recipe::total(by).plain())))
}

/// Whether a choice would do and is the next best of its decision. One that a rule forbids is told with its rule.
fn is_runner_up(recipe: &Recipe, r: &Rejected) -> bool {
    let Some(decisions) = recipe.decisions.as_ref().filter(|_| r.because.rule.is_none()) else { return false };
    let next = |d: &crate::recipe::Decided| d.runner_up.as_ref().is_some_and(|next| next.value == r.value);
    decisions.all().iter().any(|(of, d)| *of == r.decision && next(d))
}

fn line(recipe: &Recipe, alike: &Reason, group: &[&Rejected]) -> Option<RejectedLine> {
    let first = group.first()?;
    let because = if group.len() > 1 { alike } else { &first.because };
    let values: Vec<String> = group.iter().map(|r| inline(&r.value)).collect();
    Some(RejectedLine {
        decision: capital(first.decision.word()),
        value: values.join(", "),
        because: cited(recipe, because),
    })
}

/// The reason with a word in place of the choice's own name.
fn named(r: &Rejected, word: &str) -> Reason {
    let text = r.because.text.clone().calling(r.decision.word(), word);
    Reason { text, ..r.because.clone() }
}
