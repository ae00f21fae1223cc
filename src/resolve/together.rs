//! Loads that act at once: which they are, and what they leave of the part between them.
//!
//! Unless a load is said to act alone, every steady load counts as being there all the time and every cyclic one as coming at its
//! height with all others; each shock comes on top of all of them, and two shocks do not meet. Their stresses are added place by
//! place (`strength::together`).

use crate::resolve::margin::said::{Combination, Taken};
use crate::resolve::strength::Between;
use crate::semantics::spec::{Course, Load, Spec};

/// Returns the loads that act together with one, itself among them, in the order of the spec; `None` where it has none
/// to act with, or where the same combination is stated at an earlier load.
///
/// Only loads of one hold are added: a part held elsewhere is another beam.
pub fn combination(spec: &Spec, load: usize) -> Option<Vec<usize>> {
    let this = spec.loads.get(load).filter(|l| l.alone.is_none())?;
    let meets = |l: &Load| meets_others(l) && l.alone.is_none() && same_hold(l, this);
    let all: Vec<usize> =
        spec.loads.iter().enumerate().filter(|(i, l)| *i == load || meets(l)).map(|(i, _)| i).collect();
    let stated_before = meets_others(this) && all.first() != Some(&load);
    (all.len() > 1 && !stated_before).then_some(all)
}

/// Whether a load is there, or comes so often that it meets any other.
fn meets_others(load: &Load) -> bool {
    matches!(load.course.value, Course::Steady | Course::Cyclic)
}

/// Loads named one by one in a line.
pub const MOST_NAMED: usize = 8;

/// Names loads: `"boots" and "rope"`.
pub fn names(spec: &Spec, loads: &[usize]) -> String {
    let names: Vec<&str> = loads.iter().filter_map(|&i| spec.loads.get(i)).map(|l| l.name.value.as_str()).collect();
    quoted(&names)
}

/// Names some of a kind, each in quotes.
pub fn quoted(names: &[&str]) -> String {
    let quoted: Vec<String> = names.iter().map(|name| format!("\"{name}\"")).collect();
    match quoted.as_slice() {
        some if some.len() > MOST_NAMED => {
            format!("{} and {} others", some[..MOST_NAMED].join(", "), some.len() - MOST_NAMED)
        }
        [first @ .., last] if !first.is_empty() => format!("{} and {last}", first.join(", ")),
        some => some.concat(),
    }
}

/// Returns what each of some loads takes where they fail the part first.
pub fn taken(spec: &Spec, loads: &[usize], between: &Between) -> Combination {
    let taken = |(place, &load): (usize, &usize)| {
        let load = spec.loads.get(load)?.name.value.as_str().into();
        let counts = between.counts.get(place).is_none_or(|counts| *counts);
        Some(Taken { load, share: between.shares.get(place).copied(), counts })
    };
    Combination { at: between.at, loads: loads.iter().enumerate().filter_map(taken).collect() }
}

/// Returns the loads that would act together were they of one hold, if there are such: one of each hold, and how it is held
/// differently is for the reader to judge.
pub fn held_apart(spec: &Spec) -> Option<Vec<usize>> {
    let free = || spec.loads.iter().enumerate().filter(|(_, l)| l.alone.is_none());
    let apart = |i: usize, l: &Load| {
        free().any(|(j, other)| i != j && !same_hold(l, other) && (meets_others(l) || meets_others(other)))
    };
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diag::{Source, Sources};

    fn spec(lines: &str) -> Spec {
        let text =
            format!("part \"p\" {{ mesh \"p.stl\" in mm; face \"a\" toward -z; face \"b\" toward +z; {lines} }}");
        let mut sources = Sources::default();
        let id = sources.add(Source::new("p.partspec", text.as_str()));
        let tree = crate::syntax::parse(id, &text).value.unwrap();
        crate::semantics::check(&[tree], &sources).value.unwrap().parts.remove(0)
    }

    #[test]
    fn loads_of_two_holds_stand_apart_where_one_of_them_is_steady() {
        let load = |name: &str, face: &str, course: &str| {
            format!("load \"{name}\" {{ force 3 N toward +x; fixed at face \"{face}\"; {course} }}; ")
        };
        let apart = |one: &str, other: &str| held_apart(&spec(&(load("x", "a", one) + &load("y", "b", other))));
        assert_eq!(apart("held 1 hour", "shock"), Some(vec![0, 1]));
        assert_eq!(apart("held 1 hour", "held 1 hour"), Some(vec![0, 1]));
        assert_eq!(apart("cyclic 100", "cyclic 100"), Some(vec![0, 1]));
        // Two blows never meet.
        assert_eq!(apart("shock", "shock"), None);
        assert_eq!(held_apart(&spec(&(load("x", "a", "held 1 hour") + &load("y", "a", "shock")))), None);
    }

    #[test]
    fn what_comes_again_and_again_meets_all_but_what_is_alone_and_each_blow_comes_on_top() {
        let loads = |courses: &[&str]| {
            let load = |(i, course): (usize, &&str)| {
                format!("load \"l{i}\" {{ force 3 N toward +x; fixed at face \"a\"; {course} }}; ")
            };
            spec(&courses.iter().enumerate().map(load).collect::<String>())
        };
        let all = |courses: &[&str]| {
            let spec = loads(courses);
            (0..courses.len()).filter_map(|i| combination(&spec, i)).collect::<Vec<_>>()
        };
        assert_eq!(all(&["cyclic 100", "cyclic 100"]), [[0, 1]]);
        assert_eq!(all(&["cyclic 100", "held 1 day", "cyclic 100; alone"]), [[0, 1]]);
        assert_eq!(all(&["shock", "cyclic 100", "shock"]), [[0, 1], [1, 2]]);
        assert_eq!(all(&["shock", "shock"]), Vec::<Vec<usize>>::new());
    }

    #[test]
    fn as_many_are_named_as_a_line_takes_and_the_rest_counted() {
        let of =
            |count: usize| quoted(&["rope", "boots", "wind", "snow", "ice", "rain", "sun", "salt", "dust"][..count]);
        assert_eq!(of(1), "\"rope\"");
        assert_eq!(of(3), "\"rope\", \"boots\" and \"wind\"");
        assert!(of(MOST_NAMED).ends_with("\"sun\" and \"salt\""), "{}", of(MOST_NAMED));
        assert!(of(MOST_NAMED + 1).ends_with("\"salt\" and 1 others"), "{}", of(MOST_NAMED + 1));
    }
}
