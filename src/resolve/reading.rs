//! What each rule and each setting reads, and on which decisions that hangs: worked out once for a rulebook, because the
//! search asks the same rules thousands of times.

use std::sync::Arc;

use crate::rulebook::names::{Decision, Root, Touches};
use crate::rulebook::{Rule, Rulebook};

use super::mixing::QuickMap;
use super::run::PACED_BY;
use super::world::{DECISIONS, Partial};

/// A partial choice in one number: per decision a bit field with one more than its value, 0 where it is open. Compared, masked and
/// hashed thousands of times a job, which a list of optional values would make the larger part of the work.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) struct Key(u128);

/// The bit fields of the decisions that count.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Mask(u128);

/// Bits of a field; no bench has so many of anything that two values could meet.
const BITS: usize = 16;
const ONES: u128 = (1 << BITS) - 1;

impl Key {
    pub fn of(choice: &Partial) -> Self {
        let bits = |value: usize| (value as u128 + 1).min(ONES);
        let fields = choice.iter().enumerate().map(|(i, value)| value.map_or(0, bits) << (BITS * i));
        Self(fields.fold(0, |sum, field| sum | field))
    }

    /// Returns the choice it stands for.
    pub fn choice(self) -> Partial {
        std::array::from_fn(|i| match (self.0 >> (BITS * i)) & ONES {
            0 => None,
            value => Some(value as usize - 1),
        })
    }

    /// Returns whether every decision of the mask is made.
    pub fn decides(self, mask: Mask) -> bool {
        mask.places().into_iter().all(|i| (self.0 >> (BITS * i)) & ONES != 0)
    }

    /// Returns the key with every decision outside the mask open.
    pub fn masked(self, mask: Mask) -> Self {
        Self(self.0 & mask.0)
    }
}

impl Mask {
    pub const NONE: Self = Self(0);

    /// Returns the mask of decisions by their places in a choice.
    pub const fn of(places: &[usize]) -> Self {
        let (mut mask, mut i) = (0, 0);
        while i < places.len() {
            mask |= ONES << (BITS * places[i]);
            i += 1;
        }
        Self(mask)
    }

    /// Returns the mask of what is touched; a spool is chosen with its material.
    pub fn touched(touches: Touches) -> Self {
        let counts =
            |d: Decision| touches.contains(d) || (d == Decision::Material && touches.contains(Decision::Spool));
        let places: Vec<usize> = (0..DECISIONS.len()).filter(|&i| counts(DECISIONS[i])).collect();
        Self::of(&places)
    }

    pub fn with(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }

    pub fn within(self, other: Self) -> Self {
        Self(self.0 & other.0)
    }

    /// Returns the places of the decisions that count.
    pub fn places(self) -> Vec<usize> {
        (0..DECISIONS.len()).filter(|i| (self.0 >> (BITS * i)) & ONES != 0).collect()
    }
}

/// What one rule reads.
#[derive(Debug)]
pub(super) struct Reading {
    /// The roots that records are made for, each with the decisions its record may hang on for this rule.
    pub roots: Vec<(Root, Mask)>,
    /// Settings, by their place in the order of dependence.
    pub settings: Vec<usize>,
    pub touches: Mask,
    /// Indices of the decisions the rule is asked about, and of those where the shop has no record of what its printers leave
    /// without support: that then hangs on the material alone, and no rule need be asked again for every printer and nozzle.
    pub asked: Vec<usize>,
    pub asked_without_records: Vec<usize>,
    /// Whether all it reads hangs on bench and catalogue alone, settings counted (unless the spec pins one).
    pub job_independent: bool,
    /// The facts of the part it reads besides, where what it reads is the bench and what a spec asks of its part whatever is
    /// chosen.
    pub asks: Option<Vec<&'static str>>,
    /// Of a rule judged for each margin, what it touches besides the margin: what that hangs on differs from kind to kind.
    pub beside_the_margin: Option<Mask>,
}

/// What one setting is made from.
#[derive(Debug)]
pub(super) struct Derivation {
    pub name: Arc<str>,
    /// The rules that give it, in the order in which they are asked.
    pub rules: Vec<usize>,
    pub touches: Mask,
    pub job_independent: bool,
    /// Whether it is the same in two jobs on one bench whose parts are asked the same.
    pub as_asked: bool,
}

/// What all rules and settings of a rulebook read.
#[derive(Debug)]
pub(super) struct Readings {
    pub rules: Vec<Reading>,
    /// In the order of dependence.
    pub settings: Vec<Derivation>,
    /// The facts of the part that settings are made from besides the bench.
    pub asked: Vec<&'static str>,
    by_name: QuickMap<Arc<str>, usize>,
}

impl Readings {
    /// `never` are names that nothing on this bench can make known: a rule that reads of a root nothing else does not hang on it.
    pub fn of(rulebook: &Rulebook, never: &[&str]) -> Self {
        let order = rulebook.setting_order();
        let by_name: QuickMap<Arc<str>, usize> = order.iter().enumerate().map(|(i, name)| (name.clone(), i)).collect();
        let mut rules: Vec<Reading> = rulebook.rules.iter().map(|rule| Reading::of(rule, &by_name, never)).collect();
        let mut settings: Vec<Derivation> = Vec::with_capacity(order.len());
        for name in order {
            let deriving: Vec<usize> = rulebook.deriving(name).map(|(index, _)| index).collect();
            let mut touches = Mask::NONE;
            let (mut job_independent, mut as_asked) = (true, true);
            for &index in &deriving {
                let reading = &rules[index];
                touches = touches.with(reading.touches);
                // A setting comes behind those it rests on, so what those rest on is known by now.
                let rests_on_independent = |&s: &usize| settings.get(s).is_some_and(|d| d.job_independent);
                job_independent &= reading.job_independent && reading.settings.iter().all(rests_on_independent);
                let rests_on_asked = |&s: &usize| settings.get(s).is_some_and(|d| d.as_asked);
                as_asked &= reading.asks.is_some() && reading.settings.iter().all(rests_on_asked);
            }
            settings.push(Derivation { name: name.clone(), rules: deriving, touches, job_independent, as_asked });
        }
        let read = settings.iter().filter(|d| d.as_asked).flat_map(|d| &d.rules);
        let mut asked: Vec<&'static str> =
            read.filter_map(|&r| rules.get(r)?.asks.as_ref()).flatten().copied().collect();
        asked.sort_unstable();
        asked.dedup();
        for reading in &mut rules {
            if let Some(beside) = &mut reading.beside_the_margin {
                *beside = reading.settings.iter().fold(*beside, |sum, &s| sum.with(settings[s].touches));
            }
            reading.job_independent &= reading.settings.iter().all(|&s| settings[s].job_independent);
        }
        Self { rules, settings, asked, by_name }
    }

    /// Returns what a setting hangs on.
    pub fn touches_of(&self, setting: &str) -> Mask {
        self.setting(setting).and_then(|s| self.settings.get(s)).map_or(Mask::NONE, |s| s.touches)
    }

    /// Whether how fast a printer prints is the same in two jobs on one bench whose parts are asked the same.
    pub fn paces_are_as_asked(&self) -> bool {
        let is = |name: &&str| self.setting(name).and_then(|s| self.settings.get(s)).is_none_or(|d| d.as_asked);
        PACED_BY.iter().all(is)
    }

    /// Returns the place of a setting in the order of dependence.
    pub fn setting(&self, name: &str) -> Option<usize> {
        self.by_name.get(name).copied()
    }
}

impl Reading {
    fn of(rule: &Rule, settings: &QuickMap<Arc<str>, usize>, never: &[&str]) -> Self {
        let roots = roots_of(rule, never);
        let touches = Mask::touched(rule.touches);
        let records = roots.iter().filter(|r| {
            **r != Root::Settings && (!r.is_each() || Some(**r) == rule.each || rule.each == Some(Root::Margin))
        });
        Self {
            roots: records.map(|&r| (r, Mask::touched(read_of(rule, r)).within(touches))).collect(),
            settings: rule.settings_used().filter_map(|name| settings.get(name).copied()).collect(),
            touches,
            asked: touches.places(),
            asked_without_records: Mask::touched(rule.touches_without_records()).places(),
            job_independent: roots.iter().all(|&r| r == Root::Settings || job_independent(r)),
            asks: asks(rule, &roots),
            beside_the_margin: (rule.each == Some(Root::Margin)).then(|| {
                let others = roots.iter().filter(|r| !matches!(r, Root::Settings | Root::Margin));
                others.fold(Mask::NONE, |sum, &r| sum.with(Mask::touched(read_of(rule, r))))
            }),
        }
    }
}

/// Whether the facts of a root hang on nothing but bench, catalogue and choice.
pub(super) fn job_independent(root: Root) -> bool {
    use Root::{Agent, Bond, BuildUp, Figure, Material, Nozzle, Printer, Shop, Supports, Surface};
    matches!(root, Material | Agent | Supports | BuildUp | Printer | Nozzle | Surface | Bond | Shop | Figure)
}

/// Returns the facts of the part a rule reads, where it reads nothing else but the bench and they hang on no choice.
fn asks(rule: &Rule, roots: &[Root]) -> Option<Vec<&'static str>> {
    let plain =
        |&r: &Root| r == Root::Settings || job_independent(r) || (r == Root::Part && read_of(rule, r) == Touches::NONE);
    let field = |name: &String| {
        let (root, field) = name.split_once('.')?;
        (Root::parse(root)? == Root::Part).then(|| Root::Part.field(field.split('.').next()?).map(|f| f.name))?
    };
    roots.iter().all(plain).then(|| rule.names.iter().filter_map(field).collect())
}

/// Returns the decisions any field of a root may hang on.
pub(super) fn depends(root: Root) -> Touches {
    root.fields().iter().fold(root.touches(), |sum, field| sum.union(field.also))
}

/// Returns the decisions that the fields a rule reads of a root hang on.
fn read_of(rule: &Rule, root: Root) -> Touches {
    let field = |name: &String| {
        let mut words = name.split('.');
        (words.next().and_then(Root::parse) == Some(root)).then(|| words.next().and_then(|word| root.field(word)))?
    };
    rule.names.iter().filter_map(field).fold(root.touches(), |sum, field| sum.union(field.also))
}

/// Returns the roots a rule reads.
fn roots_of(rule: &Rule, never: &[&str]) -> Vec<Root> {
    let mut roots: Vec<Root> = rule
        .names
        .iter()
        .filter(|n| !never.contains(&&n[..]))
        .filter_map(|n| Root::parse(n.split('.').next().unwrap_or(n)))
        .collect();
    roots.extend(rule.each);
    roots.sort_unstable();
    roots.dedup();
    roots
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn a_key_stands_for_its_choice(choice in proptest::array::uniform8(proptest::option::of(0_usize..60_000)), counts in proptest::array::uniform8(any::<bool>())) {
            prop_assert_eq!(Key::of(&choice).choice(), choice);
            let places: Vec<usize> = (0..8).filter(|&i| counts[i]).collect();
            let narrow: Partial = std::array::from_fn(|i| choice[i].filter(|_| counts[i]));
            prop_assert_eq!(Key::of(&choice).masked(Mask::of(&places)), Key::of(&narrow));
            prop_assert_eq!(Mask::of(&places).places(), places);
        }
    }
}
