//! Other numbers in lines of the spec: the nearest with which the job can be made.

use super::retry::Retry;
use super::{Change, Freed, Way};
use crate::quantity::{Dimension, Quantity};
use crate::semantics::requirements::{NumberOf, Requirement, Which};
use crate::semantics::spec::Spec;

/// Numbers that are eased together, each by the same share of its way.
pub(super) struct Easing {
    each: Vec<Eased>,
}

struct Eased {
    requirement: Requirement,
    number: NumberOf,
    from: Quantity,
    /// Where it asks for next to nothing.
    mild: Quantity,
}

/// Steps of a bisection: enough for a ten-thousandth of the way.
const STEPS: usize = 14;
/// Steps where each is a full answer.
const FULL_STEPS: usize = 10;

/// How much of the way to the mildest is tried where what stands is left open.
const MILDER: [f64; 5] = [0.02, 0.05, 0.1, 0.2, 0.4];
/// Digits of such a number.
const DIGITS: i32 = 2;

impl Eased {
    fn of(spec: &Spec, requirement: &Requirement, number: NumberOf) -> Option<Self> {
        let from = number.value(spec)?;
        let mild = number.number.eases.mildest(from)?;
        Some(Self { requirement: requirement.clone(), number, from, mild })
    }

    /// Returns the number at a share of its way: from 0, as stated, to 1, where it asks for next to nothing.
    ///
    /// Temperatures go by differences, all else by ratios: half of a load and a tenth of it are as far apart as a tenth and a
    /// fiftieth.
    fn at(&self, share: f64) -> Quantity {
        self.milder(self.from, share)
    }

    /// Returns a number so much of the way from another to the mildest.
    fn milder(&self, than: Quantity, share: f64) -> Quantity {
        let (from, mild) = (than.si, self.mild.si);
        let si = match self.from.dimension {
            Dimension::TEMPERATURE => from + (mild - from) * share,
            _ => from * (mild / from).powf(share),
        };
        Quantity::new(if self.number.number.eases.is_whole() { si.floor().max(1.0) } else { si }, self.from.dimension)
    }

    fn changed(&self, to: Quantity) -> Change {
        Change::Number { requirement: self.requirement.clone(), number: self.number.clone(), from: self.from, to }
    }
}

impl Easing {
    /// Eases of each requirement the first number it states; those without one are left out.
    pub fn of<'q>(spec: &Spec, requirements: impl IntoIterator<Item = &'q Requirement>) -> Self {
        let first = |r: &Requirement| {
            let numbers = r.key.numbers(spec);
            numbers.into_iter().find_map(|number| Eased::of(spec, r, number))
        };
        Self { each: requirements.into_iter().filter_map(first).collect() }
    }

    fn with(&self, spec: &Spec, numbers: &[Quantity]) -> Option<Spec> {
        let pairs = self.each.iter().zip(numbers);
        pairs.into_iter().try_fold(spec.clone(), |spec, (eased, to)| {
            if to.si == eased.from.si { Some(spec) } else { eased.number.replaced(&spec, *to) }
        })
    }

    fn at(&self, share: f64) -> Vec<Quantity> {
        self.each.iter().map(|e| e.at(share)).collect()
    }

    /// Returns the least share at which `holds` is true, which it must be at 1; `None` where it is not.
    fn least(&self, steps: usize, from: f64, holds: impl Fn(&[Quantity]) -> Option<bool>) -> Option<f64> {
        if !holds(&self.at(1.0))? {
            return None;
        }
        let (mut no, mut yes) = (from, 1.0);
        for _ in 0..steps {
            let middle = 0.5 * (no + yes);
            if holds(&self.at(middle))? {
                yes = middle;
            } else {
                no = middle;
            }
        }
        Some(yes)
    }

    /// Finds the numbers nearest to those stated with which the job can be made, all eased alike; those that turn out to do as
    /// stated are left so. Returns only those that change.
    pub fn together(&self, retry: &Retry<'_, '_>, spec: &Spec) -> Option<(Vec<Change>, Spec)> {
        let numbers = self.nearest(&|numbers| retry.stands(&self.with(spec, numbers)?))?;
        let made = |numbers: &[Quantity]| -> Option<(Vec<Change>, Spec)> {
            let spec = self.with(spec, numbers)?;
            let changed = self.each.iter().zip(numbers).filter(|(e, to)| to.si != e.from.si);
            Some((changed.map(|(e, to)| e.changed(*to)).collect(), spec))
        };
        let does = |(changes, spec): &(Vec<Change>, Spec)| {
            retry.freed(spec).is_some_and(|way| changes.iter().all(|change| change.does(&way)))
        };
        let found = made(&numbers)?;
        if does(&found) {
            return Some(found);
        }
        // What no rule refuses may be left open by how it was solved: a little milder it is not.
        let milder = |(eased, than): (&Eased, &Quantity), share: f64| match than.si == eased.from.si {
            true => *than,
            false => round_towards(eased.milder(*than, share), eased.mild, DIGITS),
        };
        let tried = |share: f64| self.each.iter().zip(&numbers).map(|of| milder(of, share)).collect::<Vec<_>>();
        let milder = MILDER.into_iter().find_map(|share| made(&tried(share)).filter(does));
        Some(milder.unwrap_or(found))
    }

    /// Finds the numbers nearest to those stated that stand, all eased by one share; those that do as stated are left so.
    fn nearest(&self, stands: &dyn Fn(&[Quantity]) -> Option<bool>) -> Option<Vec<Quantity>> {
        let share = self.least(STEPS, 0.0, stands)?;
        let round = |digits, toward: fn(&Eased) -> Quantity| -> Vec<Quantity> {
            self.each.iter().map(|e| round_towards(e.at(share), toward(e), digits)).collect()
        };
        // Nearer to what is stated first: a border that is met exactly is met.
        let both = |digits| [round(digits, |e| e.from), round(digits, |e| e.mild)];
        let mut numbers = (2..=4).flat_map(both).find(|numbers| stands(numbers) == Some(true))?;
        for i in 0..numbers.len() {
            let eased = numbers[i];
            numbers[i] = self.each[i].from;
            if stands(&numbers) != Some(true) {
                numbers[i] = eased;
            }
        }
        Some(numbers)
    }
}

/// Finds for the numbers of a requirement the nearest with which the job can be made.
///
/// The first that holds is enough: a load comes down before it is held for less long, and only then with less in hand.
pub(super) fn by_number(retry: &Retry<'_, '_>, spec: &Spec, requirement: &Requirement) -> Vec<Freed> {
    let mut found: Vec<Freed> = Vec::new();
    for number in requirement.key.numbers(spec) {
        if found.iter().any(Freed::does) && number.number.which == Which::Factor {
            break;
        }
        let eased = Eased::of(spec, requirement, number);
        found.extend(eased.and_then(|eased| one_number(retry, spec, eased)));
    }
    if found.iter().any(Freed::does) {
        found.retain(Freed::does);
    }
    found
}

/// Finds the nearest number in place of one of a requirement's own with which the job can be made, by bisection.
fn one_number(retry: &Retry<'_, '_>, spec: &Spec, eased: Eased) -> Option<Freed> {
    let easing = Easing { each: vec![eased] };
    let good = easing.least(STEPS, 0.0, |numbers| retry.stands(&easing.with(spec, numbers)?))?;
    let (to, way) = rounded(retry, spec, &easing, good, &|_| true)?;
    let freed = |to, way| Some(Freed::by(easing.each.first()?.changed(to), way));
    let found = freed(to, way)?;
    if !found.does() {
        // The rules let it pass, yet something would not hold, or nobody knows: ease it further until everything does.
        let sound = |numbers: &[Quantity]| {
            let way = retry.freed(&easing.with(spec, numbers)?);
            Some(way.is_some_and(|way| found.change.does(&way)))
        };
        // A round number on the far side of the border stands as little as the one that was found.
        if let Some(good) = easing.least(FULL_STEPS, good, sound)
            && let Some((to, way)) = rounded(retry, spec, &easing, good, &|way| found.change.does(way))
        {
            return freed(to, way);
        }
    }
    Some(found)
}

/// Rounds to a figure a person would write, the bad side of the border first (it may be just as good: a limit that is met
/// exactly), and makes sure that it still stands, by a way that is taken.
fn rounded(
    retry: &Retry<'_, '_>,
    spec: &Spec,
    easing: &Easing,
    share: f64,
    taken: &dyn Fn(&Way) -> bool,
) -> Option<(Quantity, Way)> {
    let eased = easing.each.first()?;
    let good = eased.at(share);
    for digits in 2..=4 {
        for toward in [eased.from, eased.mild] {
            let tried = round_towards(good, toward, digits);
            // Rounded back to where it came from it is no change.
            if tried.si != eased.from.si
                && let Some(way) = easing.with(spec, &[tried]).and_then(|s| retry.freed(&s))
                && (toward.si != eased.from.si || !way.fails())
                && taken(&way)
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diag::{Source, Sources};
    use crate::semantics::requirements::{Kind, requirements};

    #[test]
    fn numbers_are_rounded_to_what_a_person_writes_on_the_side_that_is_asked_for() {
        let q = |text: &str| Quantity::parse(text).unwrap();
        let rounded = |value: &str, toward: &str, digits| round_towards(q(value), q(toward), digits).to_string();
        assert_eq!(rounded("87.34 N", "0.1 N", 2), "87 N");
        assert_eq!(rounded("87.34 N", "140 N", 2), "88 N");
        assert_eq!(rounded("87.34 N", "0.1 N", 3), "87.3 N");
        assert_eq!(rounded("61.7 °C", "20 °C", 2), "61 °C");
        assert_eq!(rounded("3.17 years", "1 h", 2), "3.1 years");
    }

    /// Two loads of 400 N and 100 N.
    fn loads() -> Easing {
        let text = "part \"p\" { mesh \"p.stl\" in mm; load \"a\" { force 400 N toward -z }; load \"b\" { force 100 N toward -z } }";
        let mut sources = Sources::default();
        let id = sources.add(Source::new("p.partspec", text));
        let tree = crate::syntax::parse(id, text).value.unwrap();
        let spec = crate::semantics::check(&[tree], &sources).value.unwrap().parts.remove(0);
        let lines = requirements(&spec, &sources);
        Easing::of(&spec, lines.iter().filter(|r| r.key.kind == Kind::Load))
    }

    fn newton(numbers: &[Quantity]) -> Vec<f64> {
        numbers.iter().map(|n| (n.si * 1e6).round() / 1e6).collect()
    }

    #[test]
    fn numbers_that_give_way_together_come_down_by_one_share_to_the_nearest_that_stand() {
        let loads = loads();
        assert_eq!(newton(&loads.at(0.0)), [400.0, 100.0]);
        let sum = |most: f64| loads.nearest(&move |n| Some(n[0].si + n[1].si <= most)).map(|n| newton(&n));
        // A fifth of each: 320 and 80 N, to two digits downwards.
        assert_eq!(sum(400.5), Some(vec![320.0, 80.0]));
        // Two digits would give up more than is asked: with a sum that must be met to the newton, three are tried.
        let exact = loads.nearest(&|n| Some(n[0].si + n[1].si <= 444.0));
        let exact = newton(&exact.unwrap());
        assert!(exact.iter().sum::<f64>() <= 444.0 && exact.iter().sum::<f64>() > 430.0, "{exact:?}");
        assert_eq!(sum(-1.0), None, "no share is enough");
    }

    #[test]
    fn a_number_that_does_as_stated_is_left_so() {
        let loads = loads();
        let first = loads.nearest(&|n| Some(n[0].si <= 200.0)).unwrap();
        assert_eq!(newton(&first), [200.0, 100.0]);
        let second = loads.nearest(&|n| Some(n[1].si <= 20.5)).unwrap();
        assert_eq!(newton(&second), [400.0, 20.0]);
        // What can no longer be asked is no answer.
        assert_eq!(loads.nearest(&|_| None), None);
    }
}
