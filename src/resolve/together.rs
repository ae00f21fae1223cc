//! Loads that act at once: which they are, and what they leave of the part between them.
//!
//! Unless a load is said to act alone, every steady load counts as being there all the time, and each shock and each cyclic
//! load as coming on top of all of them. What each takes of the strength, the inverse of its margin, is added
//! (`strength::together`). That is on the safe side: the loads need not strain the same place, nor the same way.

use crate::semantics::spec::{Course, Load, Spec};

/// Returns the loads that act together with one, itself among them, in the order of the spec; `None` where it has none
/// to act with, or where the same combination is stated at an earlier load.
///
/// Only loads of one hold are added: a part held elsewhere is another beam.
pub fn combination(spec: &Spec, load: usize) -> Option<Vec<usize>> {
    let this = spec.loads.get(load).filter(|l| l.alone.is_none())?;
    let steady = |l: &Load| l.course.value == Course::Steady && l.alone.is_none() && same_hold(l, this);
    let all: Vec<usize> =
        spec.loads.iter().enumerate().filter(|(i, l)| *i == load || steady(l)).map(|(i, _)| i).collect();
    let stated_before = this.course.value == Course::Steady && all.first() != Some(&load);
    (all.len() > 1 && !stated_before).then_some(all)
}

/// Loads named one by one in a line.
pub const MOST_NAMED: usize = 8;

/// Names loads: `"boots" and "rope"`.
pub fn names(spec: &Spec, loads: &[usize]) -> String {
    let quoted: Vec<String> =
        loads.iter().filter_map(|&i| spec.loads.get(i)).map(|l| format!("\"{}\"", l.name.value)).collect();
    match quoted.as_slice() {
        some if some.len() > MOST_NAMED => {
            format!("{} and {} others", some[..MOST_NAMED].join(", "), some.len() - MOST_NAMED)
        }
        [first @ .., last] if !first.is_empty() => format!("{} and {last}", first.join(", ")),
        some => some.concat(),
    }
}

/// Says what each of some loads takes of the strength.
pub fn shares_words(spec: &Spec, loads: &[usize], shares: &[f64]) -> String {
    let named = loads.iter().zip(shares).take(MOST_NAMED);
    let named: Vec<String> = named.map(|(&l, s)| format!("{:.0} % for {}", s * 100.0, names(spec, &[l]))).collect();
    let rest = if loads.len() > named.len() { " + those of the others" } else { "" };
    format!("what each takes of the strength left for the one over soonest: {}{rest}", named.join(" + "))
}

/// Returns the loads that would act together were they of one hold, if there are such: one of each hold, and how it is held
/// differently is for the reader to judge.
pub fn held_apart(spec: &Spec) -> Option<Vec<usize>> {
    let free = || spec.loads.iter().enumerate().filter(|(_, l)| l.alone.is_none());
    let steady = |l: &Load| l.course.value == Course::Steady;
    let apart =
        |i: usize, l: &Load| free().any(|(j, other)| i != j && !same_hold(l, other) && (steady(l) || steady(other)));
    let all: Vec<usize> = free().filter(|(i, l)| apart(*i, l)).map(|(i, _)| i).collect();
    (all.len() > 1).then_some(all)
}

/// Returns whether a load said to act alone would be combined with others if it were not.
pub fn would_be_combined(spec: &Spec, load: usize) -> bool {
    let mut other = spec.clone();
    if let Some(l) = other.loads.get_mut(load) {
        l.alone = None;
    }
    let joined = (0..other.loads.len()).filter_map(|i| combination(&other, i)).any(|all| all.contains(&load));
    joined || held_apart(&other).is_some_and(|all| all.contains(&load))
}

fn same_hold(a: &Load, b: &Load) -> bool {
    a.is_held_like(b)
}
