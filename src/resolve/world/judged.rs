//! The margins of a job: what each hangs on, what judges it, and its verdict for a partial choice.

use std::sync::Arc;

use super::view::Purpose;
use super::{COUNT, Partial, World};
use crate::quantity::Ratio;
use crate::resolve::facts;
use crate::resolve::margin::{self, About, Verdict};
use crate::resolve::reading::{Key, Mask};
use crate::rulebook::facts::{self as rules, Kind, RootFacts};
use crate::rulebook::names::Root;
use crate::rulebook::value::{Fact, Origin, Record, Value};
use crate::rulebook::{ASKS_FIRST, Rule, VERDICT};
use crate::semantics::requirements::MarginKind;

/// A margin the job may have, and what judges it.
pub(super) struct Judged {
    about: About,
    /// What is known of it before any choice.
    named: Arc<Record>,
    hangs_on: Mask,
    /// The rules that may derive its verdict, and those that may have it settled first.
    rules: Vec<usize>,
    first: Vec<usize>,
    /// Of what a load does besides: the margin of the load itself, by its place among the margins.
    beside: Option<usize>,
}

/// What comes of making margins with less than all decided.
#[cfg(test)]
#[derive(Default)]
pub(crate) struct MadeOtherwise {
    /// Margins that hang on more than their kind says.
    pub otherwise: Vec<String>,
    /// How many of each kind there were.
    pub made: std::collections::BTreeMap<MarginKind, usize>,
    /// Of each kind and decision that it hangs on, whether it is missed where it is left out; what hangs only on its settings is
    /// left out together.
    pub missed: std::collections::BTreeMap<MarginKind, std::collections::BTreeMap<&'static str, bool>>,
}

impl World<'_> {
    /// Finds what judges a margin and what it hangs on.
    fn judged_by(&self, about: About) -> Judged {
        let named = Arc::new(about.named(self.spec));
        let open = Key::of(&[None; COUNT]);
        let silent = |index: usize, rule: &Rule| {
            self.with_reading(index, 0, open, Purpose::Judging, |scope| {
                rule.is_silent(&scope.with(Root::Margin, &named), self.knowledge.functions)
            })
        };
        let judging = |name: &str| -> Vec<usize> {
            let all = self.knowledge.rulebook.deriving(name);
            all.filter(|(index, rule)| !silent(*index, rule)).map(|(index, _)| index).collect()
        };
        let (rules, first) = (judging(VERDICT), judging(ASKS_FIRST));
        let own = self.made_from(about.kind);
        let beside = rules.iter().chain(&first).filter_map(|&rule| self.readings.rules.get(rule)?.beside_the_margin);
        Judged { about, named, hangs_on: beside.fold(own, Mask::with), rules, first, beside: None }
    }

    /// Finds what judges all margins of a job; what presses or buckles under a load hangs on all that its own margin does.
    pub(super) fn judged_by_all(&self, all: Vec<About>) -> Vec<Judged> {
        let mut judged: Vec<Judged> = all.into_iter().map(|about| self.judged_by(about)).collect();
        for i in 0..judged.len() {
            let About { kind, index } = judged[i].about;
            let Some(kind) = kind.beside() else { continue };
            judged[i].beside = judged.iter().position(|m| m.about == About { kind, index });
            judged[i].hangs_on =
                judged[i].beside.map_or(judged[i].hangs_on, |b| judged[i].hangs_on.with(judged[b].hangs_on));
        }
        judged
    }

    /// Returns the decisions that a margin of a kind is made from, by itself and by the settings it reads.
    fn made_from(&self, kind: MarginKind) -> Mask {
        let (decisions, settings) = kind.hangs_on();
        settings.iter().fold(Mask::of(decisions), |sum, s| sum.with(self.readings.touches_of(s)))
    }

    /// Returns the margins the job may have, in the order in which they are told.
    pub fn margins(&self) -> impl Iterator<Item = About> {
        self.judged.iter().map(|m| m.about)
    }

    /// Returns the least material round the features of a fit, mm, as the mesh has it.
    pub(in crate::resolve) fn round_wall(&self, fit: usize) -> Option<f64> {
        let wall = || margin::press::thinnest_wall(self, &self.fit_places.get(fit)?.features);
        self.memory.round_walls.of(fit, wall)
    }

    /// Returns which contact, load or fit a margin speaks of, if it speaks of one.
    pub(super) fn subject(&self, margin: usize, root: Root) -> Option<usize> {
        let about = self.judged.get(margin)?.about;
        (about.kind.speaks_of() == Some(root)).then_some(about.index)
    }

    pub(super) fn margin_hangs_on(&self, margin: usize) -> Mask {
        self.judged.get(margin).map_or(Mask::NONE, |m| m.hangs_on)
    }

    /// Returns the verdict on a margin by its place among them; `None` where a full choice has no such margin.
    pub fn verdict(&self, margin: usize, choice: &Partial) -> Option<Verdict> {
        let record = self.record(Root::Margin, margin, choice)?;
        Some(rules::Margin::of(&record).verdict.map_or(Verdict::NotShown, |known| known.value))
    }

    /// Returns the rule that derives the verdict on a margin, the first of those that derive the worst; `None` where none does.
    pub fn judge(&self, margin: usize, choice: &Partial) -> Option<&Rule> {
        let record = self.record(Root::Margin, margin, choice)?;
        let Origin::Stated { at } = rules::Margin::of(&record).verdict?.origin else { return None };
        let rules = self.judged.get(margin)?.rules.iter();
        rules.filter_map(|&rule| self.knowledge.rulebook.rules.get(rule)).find(|rule| rule.span == at)
    }

    /// Returns whether a margin of a full choice is to be settled before printing.
    pub fn asks_first(&self, margin: usize, choice: &Partial) -> bool {
        let record = self.record(Root::Margin, margin, choice);
        record.is_some_and(|r| rules::Margin::of(&r).asks_first.is_some_and(|known| known.value))
    }

    /// The facts of a margin with its verdict: the worst that any rule derives, and not shown where none does.
    pub(super) fn margin_record(&self, margin: usize, choice: Key) -> Option<Record> {
        let of = self.judged.get(margin)?;
        let Some(found) = margin::of(self, of.about, &choice.choice(), None) else {
            // Where all it hangs on is decided, there is none.
            let open = || Record::upon(Arc::clone(&of.named));
            return (!choice.decides(of.hangs_on)).then(open);
        };
        let mut record = found.facts().upon(Arc::clone(&of.named));
        let (rulebook, functions) = (self.knowledge.rulebook, self.knowledge.functions);
        let derived = |rule: usize, name: &str, record: &Record| {
            self.with_reading(rule, margin, choice, Purpose::Judging, |scope| {
                rulebook.derived(rule, name, &scope.with(Root::Margin, record), functions)
            })
        };
        let verdicts = of.rules.iter().filter_map(|&rule| derived(rule, VERDICT, &record));
        let known = |fact: Fact| fact.origin.of(Verdict::read(&fact.value)?);
        let worst = verdicts.filter_map(known).min_by_key(|known| known.value);
        let verdict = worst.or_else(|| Origin::None.of(Verdict::NotShown));
        let of_the_load = of.beside.and_then(|beside| self.verdict(beside, &choice.choice()));
        let counted = of_the_load.zip(verdict.as_ref()).map(|(load, own)| load <= own.value);
        let counted = Origin::None.of(counted);
        rules::Margin { verdict, counted, ..rules::Margin::default() }.add_to(&mut record);
        let first = |&rule: &usize| derived(rule, ASKS_FIRST, &record).is_some_and(|f| f.value == Value::Bool(true));
        let first = of.first.iter().any(first);
        rules::Margin { asks_first: Origin::None.of(first), ..rules::Margin::default() }.add_to(&mut record);
        Some(record)
    }

    /// Makes each margin for many choices, once with all decided, once with only what it is said to hang on, and once for each of
    /// these decisions without it.
    #[cfg(test)]
    pub(crate) fn margins_made_otherwise(&self) -> MadeOtherwise {
        let domains = self.domains();
        let last = |d: usize| domains[d].saturating_sub(1);
        let mut choices: Vec<[usize; COUNT]> = vec![[0; COUNT], std::array::from_fn(last)];
        for d in 0..COUNT {
            choices.extend((0..domains[d]).map(|value| std::array::from_fn(|i| if i == d { value } else { 0 })));
            choices
                .extend((0..domains[d]).map(|value| std::array::from_fn(|i| if i == d { value } else { last(i) / 2 })));
        }
        let mut found = MadeOtherwise::default();
        for of in &self.judged {
            let kind = of.about.kind;
            let made = |choice: &Partial| {
                margin::of(self, of.about, choice, None).map(|m| (m.demand, m.capacity, m.facts().record()))
            };
            for choice in &choices {
                let full = choice.map(Some);
                let less = Key::of(&full).masked(self.made_from(kind)).choice();
                let [with_all, with_its_own] = [&full, &less].map(made);
                *found.made.entry(kind).or_default() += usize::from(with_all.is_some());
                if with_all != with_its_own {
                    found.otherwise.push(format!("{:?} of {choice:?}: {with_all:?}, {with_its_own:?}", of.about));
                }
                let (own, missed) = (kind.hangs_on().0, found.missed.entry(kind).or_default());
                let mut leave_out = |some: &[usize], called: &'static str| {
                    let without = std::array::from_fn(|d| less[d].filter(|_| !some.contains(&d)));
                    *missed.entry(called).or_default() |= made(&without) != with_all;
                };
                own.iter().for_each(|d| leave_out(&[*d], super::DECISIONS[*d].word()));
                let by_settings: Vec<usize> = (0..COUNT).filter(|d| less[*d].is_some() && !own.contains(d)).collect();
                if !by_settings.is_empty() {
                    leave_out(&by_settings, "settings");
                }
            }
        }
        found
    }

    /// What a build-up is made of; what the spec pins of it counts as pinned.
    pub(super) fn build_up_facts(&self, index: usize) -> Option<rules::BuildUp> {
        let mut facts = facts::build_up(self.bench.build_ups.get(index)?);
        if let Some(pinned) = self.pinned.get("infill") {
            facts.infill = Kind::read(&pinned.value).and_then(|infill: Ratio| pinned.origin.of(infill));
        }
        Some(facts)
    }
}
