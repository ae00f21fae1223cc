//! What each rule and each setting reads, and on which decisions that hangs: worked out once for a rulebook, because the
//! search asks the same rules thousands of times.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::rulebook::names::{Decision, Root, Touches};
use crate::rulebook::{Rule, Rulebook};

use super::world::{DECISIONS, Partial};

/// For each decision, whether it counts.
pub(super) type Mask = [bool; 7];

/// A partial choice as a key: one more than each value, 0 where it is open.
pub(super) type Key = [u32; 7];

/// Returns the key of a choice; no bench has so many of anything that two values could meet.
pub(super) fn key(choice: &Partial) -> Key {
    choice.map(|value| value.map_or(0, |v| u32::try_from(v).unwrap_or(u32::MAX - 1) + 1))
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
    pub of_the_bench: bool,
}

/// What one setting is made from.
#[derive(Debug)]
pub(super) struct Derivation {
    pub name: Arc<str>,
    /// The rules that give it, in the order in which they are asked.
    pub rules: Vec<usize>,
    pub touches: Mask,
    pub of_the_bench: bool,
}

/// What all rules and settings of a rulebook read.
#[derive(Debug)]
pub(super) struct Readings {
    pub rules: Vec<Reading>,
    /// In the order of dependence.
    pub settings: Vec<Derivation>,
    by_name: BTreeMap<Arc<str>, usize>,
}

impl Readings {
    pub fn of(rulebook: &Rulebook) -> Self {
        let order = rulebook.setting_order();
        let by_name: BTreeMap<Arc<str>, usize> = order.iter().enumerate().map(|(i, name)| (name.clone(), i)).collect();
        let mut rules: Vec<Reading> = rulebook.rules.iter().map(|rule| Reading::of(rule, &by_name)).collect();
        let mut settings: Vec<Derivation> = Vec::with_capacity(order.len());
        for name in order {
            let deriving: Vec<usize> = rulebook.deriving(name).map(|(index, _)| index).collect();
            let mut touches = [false; 7];
            let mut of_the_bench = true;
            for &index in &deriving {
                let reading = &rules[index];
                touches = std::array::from_fn(|i| touches[i] || reading.touches[i]);
                // A setting comes behind those it rests on, so what those rest on is known by now.
                let rests_on_bench = |&s: &usize| settings.get(s).is_some_and(|d| d.of_the_bench);
                of_the_bench &= reading.of_the_bench && reading.settings.iter().all(rests_on_bench);
            }
            settings.push(Derivation { name: name.clone(), rules: deriving, touches, of_the_bench });
        }
        for reading in &mut rules {
            reading.of_the_bench &= reading.settings.iter().all(|&s| settings[s].of_the_bench);
        }
        Self { rules, settings, by_name }
    }

    /// Returns the place of a setting in the order of dependence.
    pub fn setting(&self, name: &str) -> Option<usize> {
        self.by_name.get(name).copied()
    }
}

impl Reading {
    fn of(rule: &Rule, settings: &BTreeMap<Arc<str>, usize>) -> Self {
        let roots = roots_of(rule);
        let touches = mask(rule.touches);
        let records = roots.iter().filter(|r| **r != Root::Settings && (!r.is_each() || Some(**r) == rule.each));
        Self {
            roots: records.map(|&r| (r, both(mask(read_of(rule, r)), touches))).collect(),
            settings: rule.settings_used().filter_map(|name| settings.get(name).copied()).collect(),
            touches,
            asked: indices(touches),
            asked_without_records: indices(mask(rule.touches_without_records())),
            of_the_bench: roots.iter().all(|&r| r == Root::Settings || of_the_bench(r)),
        }
    }
}

/// Whether the facts of a root hang on nothing but bench, catalogue and choice.
pub(super) fn of_the_bench(root: Root) -> bool {
    use Root::{Agent, Bond, Material, Nozzle, Printer, Shop, Supports, Surface};
    matches!(root, Material | Agent | Supports | Printer | Nozzle | Surface | Bond | Shop)
}

/// Returns the decisions any field of a root may hang on.
pub(super) fn depends(root: Root) -> Touches {
    use Decision::{Agent, Material, Nozzle, Pose, Printer, Supports, Surface};
    match root {
        Root::Service | Root::Contact | Root::Material | Root::Spool => Touches::of(&[Material]),
        Root::Part | Root::Load => Touches::of(&[Material, Pose]),
        Root::Fit => Touches::of(&[Printer, Material, Nozzle, Pose]),
        Root::Face => Touches::of(&[Pose, Supports, Printer, Material, Nozzle]),
        Root::Printer => Touches::of(&[Printer]),
        Root::Nozzle => Touches::of(&[Nozzle, Printer]),
        Root::Surface => Touches::of(&[Surface, Printer]),
        Root::Agent => Touches::of(&[Agent]),
        Root::Bond => Touches::of(&[Material, Surface, Agent]),
        Root::Pose => Touches::of(&[Printer, Material, Nozzle, Pose]),
        Root::Piece => Touches::of(&[Printer, Material, Nozzle, Pose, Supports]),
        Root::Supports => Touches::of(&[Supports]),
        Root::Shop => Touches::of(&[Printer, Material]),
        Root::Run => Touches::of(&Decision::ALL),
        Root::Mesh | Root::Settings => Touches::NONE,
    }
}

/// Returns the choice with every decision outside `mask` open.
pub(super) fn masked(choice: &Partial, mask: &Mask) -> Partial {
    let mut result: Partial = [None; 7];
    for ((slot, value), counts) in result.iter_mut().zip(choice).zip(mask) {
        if *counts {
            *slot = *value;
        }
    }
    result
}

/// Returns which decisions are touched; a spool is chosen with its material.
pub(super) fn mask(touches: Touches) -> Mask {
    DECISIONS.map(|decision| {
        touches.contains(decision) || (decision == Decision::Material && touches.contains(Decision::Spool))
    })
}

fn indices(mask: Mask) -> Vec<usize> {
    (0..mask.len()).filter(|&i| mask[i]).collect()
}

pub(super) fn both(a: Mask, b: Mask) -> Mask {
    std::array::from_fn(|i| a[i] && b[i])
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
fn roots_of(rule: &Rule) -> Vec<Root> {
    let mut roots: Vec<Root> =
        rule.names.iter().filter_map(|n| Root::parse(n.split('.').next().unwrap_or(n))).collect();
    roots.extend(rule.each);
    roots.sort_unstable();
    roots.dedup();
    roots
}
