//! What a rule sees of a choice: the facts it reads, made when it reads them, and the settings that follow from rules.

use std::borrow::Cow;
use std::cell::OnceCell;
use std::sync::Arc;

use super::{Partial, World};
use crate::quantity::Quantity;
use crate::resolve::problem::Ruling;
use crate::resolve::reading::{Key, Reading};
use crate::rulebook::names::Root;
use crate::rulebook::value::{Fact, Record, Value};
use crate::rulebook::{Facts, Scope, Settled};

/// The facts a rule reads of a choice, each made when it is first read.
struct Held<'h, 'a> {
    world: &'h World<'a>,
    reading: &'h Reading,
    instance: usize,
    choice: Key,
    purpose: Purpose,
    /// In the order of the reading's roots; few rules read more than there is room for here.
    records: [OnceCell<Option<Arc<Record>>>; ROOM],
    more: Vec<OnceCell<Option<Arc<Record>>>>,
    settings: OnceCell<Record>,
}

/// Roots of a rule for which no memory is asked.
const ROOM: usize = 6;

/// What facts are read for.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Purpose {
    /// To judge by them.
    Judging,
    /// To make a setting of them: what rests on settings is open, and so are the things a rule may be judged for each of, for
    /// a setting speaks of none of them.
    Deriving,
}

/// Whether the facts of a root are made from settings: time and cost, and the plan of plates, which counts the brim.
fn rests_on_settings(root: Root) -> bool {
    matches!(root, Root::Piece | Root::Run)
}

impl Facts for Held<'_, '_> {
    fn record(&self, root: Root) -> Option<&Record> {
        if root == Root::Settings {
            let used = &self.reading.settings;
            let make = || self.world.settings_record(used, self.choice.masked(self.reading.touches));
            return (!used.is_empty()).then(|| self.settings.get_or_init(make));
        }
        let (place, (_, hangs_on)) = self.reading.roots.iter().copied().enumerate().find(|(_, (r, _))| *r == root)?;
        let hangs_on = match self.purpose {
            Purpose::Deriving if rests_on_settings(root) || root.is_each() => return None,
            _ if root == Root::Margin => self.world.margin_hangs_on(self.instance),
            _ => hangs_on,
        };
        let instance = match root {
            root if !root.is_each() => 0,
            Root::Margin => self.instance,
            // Of a rule that judges margins: what the margin speaks of.
            root if self.reading.beside_the_margin.is_some() => self.world.subject(self.instance, root)?,
            _ => self.instance,
        };
        let make = || self.world.cached(root, instance, self.choice.masked(hangs_on));
        self.records.get(place).or_else(|| self.more.get(place - ROOM))?.get_or_init(make).as_deref()
    }
}

impl World<'_> {
    /// Hands the scope of a rule of the rulebook for a partial choice to `ask`. Decisions it does not touch are left out.
    pub fn with_scope<R>(
        &self,
        rule: usize,
        instance: usize,
        choice: &Partial,
        ask: impl FnOnce(&Scope<'_>) -> R,
    ) -> R {
        self.with_reading(rule, instance, Key::of(choice), Purpose::Judging, ask)
    }

    pub(super) fn with_reading<R>(
        &self,
        rule: usize,
        instance: usize,
        choice: Key,
        purpose: Purpose,
        ask: impl FnOnce(&Scope<'_>) -> R,
    ) -> R {
        let Some(reading) = self.readings.rules.get(rule) else { return ask(&Scope::new()) };
        let records = [const { OnceCell::new() }; ROOM];
        let more = (ROOM..reading.roots.len()).map(|_| OnceCell::new()).collect();
        let settings = OnceCell::new();
        ask(&Scope::of(&Held { world: self, reading, instance, choice, purpose, records, more, settings }))
    }

    /// Returns the decisions a rule is asked about for an instance, by their indices.
    pub(in crate::resolve) fn asked(&self, rule: usize, instance: usize) -> Cow<'_, [usize]> {
        match self.readings.rules.get(rule) {
            Some(Reading { beside_the_margin: Some(beside), .. }) => {
                Cow::Owned(beside.with(self.margin_hangs_on(instance)).places())
            }
            Some(reading) if self.bench.limit_records.is_empty() => Cow::Borrowed(&reading.asked_without_records),
            Some(reading) => Cow::Borrowed(&reading.asked),
            None => Cow::Borrowed(&[]),
        }
    }

    /// Whether all a rule reads hangs on bench and catalogue alone.
    pub(in crate::resolve) fn is_job_independent(&self, rule: usize) -> bool {
        self.readings.rules.get(rule).is_some_and(|r| r.job_independent)
    }

    /// Returns what a rule that reads the bench alone said of a choice, where it was asked before; else asks `judge`.
    pub(in crate::resolve) fn ruling(&self, rule: usize, choice: &Partial, judge: impl FnOnce() -> Ruling) -> Ruling {
        if !self.is_job_independent(rule) {
            return judge();
        }
        self.memory.rulings.of((rule, Key::of(choice)), judge)
    }

    /// Returns the settings for a partial choice, with the rule behind each and what it read.
    pub fn settled(&self, choice: &Partial) -> Settled {
        let open = |r: Root| r == Root::Settings || rests_on_settings(r) || r.is_each();
        let held: Vec<(Root, Arc<Record>)> = (Root::ALL.into_iter().filter(|r| !open(*r)))
            .filter_map(|root| Some((root, self.record(root, 0, choice)?)))
            .collect();
        let mut scope = Scope::new();
        for (root, record) in &held {
            scope.set(*root, record);
        }
        self.knowledge.rulebook.settle(&scope, self.knowledge.functions, &self.pinned)
    }

    /// Returns one setting for a partial choice.
    pub fn setting(&self, name: &str, choice: &Partial) -> Option<Value> {
        self.setting_at(self.readings.setting(name)?, Key::of(choice)).map(|fact| fact.value)
    }

    /// Returns one setting for a partial choice, if it is a number.
    pub(in crate::resolve) fn number(&self, name: &str, choice: Key) -> Option<Quantity> {
        self.read_setting(self.readings.setting(name)?, choice, |fact| fact?.value.as_quantity())
    }

    /// Returns a setting by its place in the order of dependence.
    fn setting_at(&self, setting: usize, choice: Key) -> Option<Fact> {
        self.read_setting(setting, choice, |fact| fact.cloned())
    }

    /// Reads a setting, made once for all choices that agree in what it hangs on.
    fn read_setting<R>(&self, setting: usize, choice: Key, read: impl FnOnce(Option<&Fact>) -> R) -> R {
        let Some(derivation) = self.readings.settings.get(setting) else { return read(None) };
        if let Some(fact) = self.pinned.get(&derivation.name) {
            return read(Some(fact));
        }
        let choice = choice.masked(derivation.touches);
        let (rulebook, functions) = (self.knowledge.rulebook, self.knowledge.functions);
        let derived = |rule: usize| {
            self.with_reading(rule, 0, choice, Purpose::Deriving, |scope| {
                rulebook.derived(rule, &derivation.name, scope, functions)
            })
        };
        let make = || derivation.rules.iter().find_map(|&rule| derived(rule));
        self.memory.settings.read((setting, choice), make, |fact| read(fact.as_ref()))
    }

    fn settings_record(&self, settings: &[usize], choice: Key) -> Record {
        let mut record = Record::new("settings");
        for &setting in settings {
            if let (Some(fact), Some(d)) = (self.setting_at(setting, choice), self.readings.settings.get(setting)) {
                record.insert(&d.name, fact);
            }
        }
        record
    }
}
