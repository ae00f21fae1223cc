//! What was not taken; choices that fall for the same reason share a line.

use super::{RejectedLine, capital, citation, cited, inline, named};
use crate::recipe::{Recipe, Rejected};

/// Returns the rejected choices, those that differ in nothing but their name on one line. A runner-up is not among
/// them: it stands under "Second best", with the same reason.
pub(super) fn rejected(recipe: &Recipe) -> Vec<RejectedLine> {
    let mut groups: Vec<(String, Vec<&Rejected>)> = Vec::new();
    for r in recipe.rejected.iter().filter(|r| !is_runner_up(recipe, r)) {
        let shape = shape(r);
        match groups.iter_mut().find(|(s, all)| *s == shape && all.first().is_some_and(|f| f.decision == r.decision)) {
            Some((_, group)) => group.push(r),
            None => groups.push((shape, vec![r])),
        }
    }
    groups.iter().filter_map(|(_, group)| rejected_line(group)).collect()
}

/// Whether a choice would do and is the next best of its decision. One that a rule forbids is told with its rule.
fn is_runner_up(recipe: &Recipe, r: &Rejected) -> bool {
    let Some(decisions) = recipe.decisions.as_ref().filter(|_| r.because.rule.is_none()) else { return false };
    // `surface` for `Build surface`, `support` for `Supports`.
    let of = |name: &str| name.to_lowercase().contains(&r.decision.to_lowercase());
    let next = |d: &crate::recipe::Decided| d.runner_up.as_ref().is_some_and(|next| next.value == r.value);
    !r.decision.is_empty() && named(decisions).iter().any(|(name, d)| of(name) && next(d))
}

fn rejected_line(group: &[&Rejected]) -> Option<RejectedLine> {
    let first = group.first()?;
    let mut because = first.because.clone();
    if group.len() > 1 {
        because.text = named_as(&because.text, &first.value, "each");
    }
    let values: Vec<String> = group.iter().map(|r| inline(&r.value)).collect();
    Some(RejectedLine {
        decision: capital(&inline(&first.decision)),
        value: values.join(", "),
        because: cited(&because),
    })
}

/// What a reason says when the choice's own name is left out of it.
fn shape(r: &Rejected) -> String {
    format!("{}\n{}", named_as(&r.because.text, &r.value, "\u{0}"), citation(&r.because))
}

/// Replaces a name where it stands as a word of its own: `PA6` is not in `PA6-CF`.
fn named_as(text: &str, name: &str, other: &str) -> String {
    if name.is_empty() {
        return text.to_owned();
    }
    let part_of_word = |c: char| c.is_alphanumeric() || c == '-' || c == '_';
    let mut out = String::new();
    let mut rest = text;
    while let Some((before, after)) = rest.split_once(name) {
        let joined = before.chars().next_back().or(out.chars().next_back()).is_some_and(part_of_word)
            || after.chars().next().is_some_and(part_of_word);
        out.push_str(before);
        out.push_str(if joined { name } else { other });
        rest = after;
    }
    out + rest
}

#[cfg(test)]
mod tests {
    use super::named_as;

    #[test]
    fn names_are_words() {
        assert_eq!(named_as("PA6 creeps; PA6-CF less than PA6", "PA6", "it"), "it creeps; PA6-CF less than it");
        assert_eq!(named_as("another is pinned", "PA6", "it"), "another is pinned");
    }
}
