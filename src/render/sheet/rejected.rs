//! What was not taken; choices that fall for the same reason share a line.

use super::{RejectedLine, capital, cited, inline};
use crate::recipe::{Reason, Recipe, Rejected};

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
