//! Another number in a line of the spec: the nearest with which the job can be made.

use super::retry::Retry;
use super::{Change, Freed, Way};
use crate::quantity::Quantity;
use crate::semantics::requirements::{NumberOf, Requirement, Which};
use crate::semantics::spec::Spec;

/// Finds for the numbers of a requirement the nearest with which the job can be made.
///
/// The first that holds is enough: a load comes down before it is held for less long, and only then with less in hand.
pub(super) fn by_number(retry: &Retry<'_, '_>, spec: &Spec, requirement: &Requirement) -> Vec<Freed> {
    let mut found: Vec<Freed> = Vec::new();
    for number in requirement.key.numbers(spec) {
        if found.iter().any(|f| !f.way.fails()) && number.number.which == Which::Factor {
            break;
        }
        found.extend(one_number(retry, spec, requirement, &number));
    }
    if found.iter().any(|f| !f.way.fails()) {
        found.retain(|f| !f.way.fails());
    }
    found
}

/// Finds the nearest number in place of a requirement's own with which the job can be made, by bisection.
fn one_number(retry: &Retry<'_, '_>, spec: &Spec, requirement: &Requirement, number: &NumberOf) -> Option<Freed> {
    let from = number.value(spec)?;
    let mild = number.number.eases.mildest(from)?;
    let stands = |q: Quantity| number.replaced(spec, q).is_some_and(|s| retry.stands(&s));
    if !stands(mild) {
        return None;
    }
    let good = bisect(number, from, mild, 40, stands);
    let (to, way) = rounded(retry, spec, number, from, mild, good)?;
    let freed = |to, way| {
        let (requirement, number) = (requirement.clone(), number.clone());
        Freed { change: Change::Number { requirement, number, from, to }, way }
    };
    if !way.fails() {
        return Some(freed(to, way));
    }
    // The rules let it pass, yet something would not hold: ease it further until everything does.
    let sound = |q: Quantity| number.replaced(spec, q).and_then(|s| retry.freed(&s)).is_some_and(|w| !w.fails());
    if sound(mild)
        && let Some((to, way)) = rounded(retry, spec, number, from, mild, bisect(number, good, mild, 12, sound))
        && !way.fails()
    {
        return Some(freed(to, way));
    }
    Some(freed(to, way))
}

/// Returns the number nearest to `bad` at which `holds` still is true; it is at `good`.
fn bisect(
    number: &NumberOf,
    bad: Quantity,
    good: Quantity,
    steps: usize,
    holds: impl Fn(Quantity) -> bool,
) -> Quantity {
    let (mut no, mut yes) = (bad.si, good.si);
    for _ in 0..steps {
        let middle = 0.5 * (no + yes);
        let middle = if number.number.eases.is_whole() { middle.floor() } else { middle };
        if (yes - no).abs() <= 1e-4 * bad.si.abs().max(1e-12) || middle == yes || middle == no {
            break;
        }
        if holds(Quantity::new(middle, bad.dimension)) {
            yes = middle;
        } else {
            no = middle;
        }
    }
    Quantity::new(yes, bad.dimension)
}

/// Rounds to a figure a person would write, the bad side of the border first (it may be just as good: a limit that is met
/// exactly), and makes sure that it still stands.
fn rounded(
    retry: &Retry<'_, '_>,
    spec: &Spec,
    number: &NumberOf,
    from: Quantity,
    mild: Quantity,
    good: Quantity,
) -> Option<(Quantity, Way)> {
    for digits in 2..=4 {
        for toward in [from, mild] {
            let tried = round_towards(good, toward, digits);
            // Rounded back to where it came from it is no change.
            if tried.si != from.si
                && let Some(way) = number.replaced(spec, tried).and_then(|s| retry.freed(&s))
                && (toward.si != from.si || !way.fails())
            {
                return Some((tried, way));
            }
        }
    }
    None
}

/// A year in seconds, as quantities count it.
const YEAR_S: f64 = 365.25 * 86_400.0;

/// Rounds to so many significant digits (whole degrees Celsius for a temperature), towards `toward`.
fn round_towards(value: Quantity, toward: Quantity, digits: i32) -> Quantity {
    use crate::quantity::Dimension;
    let (offset, factor) = match value.dimension {
        Dimension::TEMPERATURE => (273.15, 1.0),
        Dimension::LENGTH => (0.0, 1e-3),
        Dimension::STRESS => (0.0, 1e5),
        Dimension::TIME if value.si >= YEAR_S => (0.0, YEAR_S),
        // Days, and from where they are shown as months, those.
        Dimension::TIME if value.si >= 60.0 * 86_400.0 => (0.0, YEAR_S / 12.0),
        Dimension::TIME => (0.0, 86_400.0),
        _ => (0.0, 1.0),
    };
    let shown = (value.si - offset) / factor;
    if shown == 0.0 {
        return value;
    }
    // Whole degrees are as fine as anyone writes a temperature.
    let step = if value.dimension == Dimension::TEMPERATURE {
        1.0
    } else {
        10f64.powi(shown.abs().log10().floor() as i32 + 1 - digits)
    };
    let down = toward.si < value.si;
    let rounded = if down { (shown / step).floor() * step } else { (shown / step).ceil() * step };
    Quantity::new(rounded * factor + offset, value.dimension)
}
