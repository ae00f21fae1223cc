//! Loads that act at once: which they are, and what they leave of the part between them.
//!
//! Unless a load is said to act alone, every steady load counts as being there all the time, and each shock and each cyclic
//! load as coming on top of all of them. Their stresses are added place by place (`strength::together`).

use crate::quantity::trim_number;
use crate::resolve::strength::Between;
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

/// Says where some loads take most of the strength between them, and what each takes there.
pub fn between_words(spec: &Spec, loads: &[usize], between: &Between) -> String {
    let at = between.at.map(|c| trim_number(c, 1)).join(", ");
    if between.shares.is_empty() {
        return format!(
            "elasticity of the solid part under all of them at once, most at ({at}) mm, by the least strength left for any of them and the greatest factor"
        );
    }
    let named = loads.iter().zip(&between.shares).zip(&between.counts).take(MOST_NAMED);
    let share = |(&load, share): (&usize, &f64)| format!("{:.0} % for {}", share * 100.0, names(spec, &[load]));
    let counted: Vec<String> = named.clone().filter(|(_, counts)| **counts).map(|(one, _)| share(one)).collect();
    let relieving: Vec<usize> =
        loads.iter().zip(&between.counts).filter(|(_, counts)| !**counts).map(|(&load, _)| load).collect();
    let rest = if loads.len() > MOST_NAMED { " and those of the others" } else { "" };
    let left_out = match relieving.is_empty() {
        true => String::new(),
        false => format!(
            "; not counted there, since without it less holds or it is over by then: {}",
            names(spec, &relieving)
        ),
    };
    format!(
        "stresses added place by place; most at ({at}) mm, where each by itself takes of the strength left for the one over soonest: {}{rest}{left_out}",
        counted.join(", ")
    )
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
