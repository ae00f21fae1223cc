//! Settings: what the `derive` rules give, in the order in which they depend on each other.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::Rulebook;
use super::code::{Context, Val};
use super::functions::Functions;
use super::names::Root;
use super::rule::{Rule, Verdict};
use super::scope::{Scope, Trace};
use super::value::{Fact, Origin, Record, Value};

/// The settings of a job, and why each is as it is.
#[derive(Debug, Clone, Default)]
pub struct Settled {
    /// Their values; a setting that cannot be known is not in it.
    pub record: Record,
    /// For each setting of the record, what gave it.
    pub by: BTreeMap<Arc<str>, SettledBy>,
    /// Settings that two rules gave different values in this very case: setting, the rule that was followed, the other.
    pub clashes: Vec<(Arc<str>, String, String)>,
}

/// Where a setting comes from.
#[derive(Debug, Clone, PartialEq)]
pub enum SettledBy {
    /// Given from outside: a pin of the spec.
    Pinned,
    /// By a rule.
    Rule {
        /// Index into [`Rulebook::rules`].
        rule: usize,
        /// What the rule read.
        trace: Trace,
    },
}

impl Rulebook {
    /// Returns every setting that can be known. A pinned value goes before any rule; a rule with a `when` that holds goes
    /// before one without; of two such rules the first by name is followed and the clash is reported.
    pub fn settle(&self, scope: &Scope<'_>, functions: &dyn Functions, pinned: &Record) -> Settled {
        let mut settled = Settled { record: Record::new("settings"), ..Settled::default() };
        for setting in &self.setting_order {
            if let Some(fact) = pinned.get(setting) {
                settled.record.insert(setting, fact.clone());
                settled.by.insert(setting.clone(), SettledBy::Pinned);
                continue;
            }
            self.settle_one(setting, scope, functions, &mut settled);
        }
        settled
    }

    /// Returns the settings alone.
    pub fn settings(&self, scope: &Scope<'_>, functions: &dyn Functions) -> Record {
        self.settle(scope, functions, &Record::default()).record
    }

    /// Returns what one rule makes of a setting, in a scope that holds the settings it rests on. Nothing is kept of how it
    /// came about, so that a search can ask often.
    pub fn derived(&self, rule: usize, setting: &str, scope: &Scope<'_>, functions: &dyn Functions) -> Option<Fact> {
        let rule = self.rules.get(rule)?;
        let value = derive(rule, setting, scope, functions, None)?;
        Some(Fact { value, origin: stated(rule) })
    }

    /// Returns the rules that derive a setting, in the order in which they are asked.
    pub fn deriving(&self, setting: &str) -> impl Iterator<Item = (usize, &Rule)> {
        let indices = self.derivers.get(setting).map_or(&[][..], Vec::as_slice);
        indices.iter().filter_map(|&index| Some((index, self.rules.get(index)?)))
    }

    fn settle_one(&self, setting: &Arc<str>, scope: &Scope<'_>, functions: &dyn Functions, settled: &mut Settled) {
        let mut best: Option<(usize, Value, Trace)> = None;
        let mut clash = None;
        for (index, rule) in self.deriving(setting) {
            let mut trace = Trace::default();
            let scope = scope.with(Root::Settings, &settled.record);
            let Some(value) = derive(rule, setting, &scope, functions, Some(&mut trace)) else { continue };
            match &best {
                None => best = Some((index, value, trace)),
                Some((first, chosen, _)) => {
                    let first = self.rules.get(*first);
                    if first.is_some_and(|f| !f.when.is_empty()) && !rule.when.is_empty() && *chosen != value {
                        let name = first.map_or(String::new(), |f| f.name.clone());
                        clash.get_or_insert((setting.clone(), name, rule.name.clone()));
                    }
                }
            }
        }
        settled.clashes.extend(clash);
        if let Some((rule, value, trace)) = best {
            let origin = self.rules.get(rule).map_or(Origin::None, stated);
            settled.record.insert(setting, Fact { value, origin });
            settled.by.insert(setting.clone(), SettledBy::Rule { rule, trace });
        }
    }
}

fn stated(rule: &Rule) -> Origin {
    Origin::Stated { at: rule.span }
}

fn derive(
    rule: &Rule,
    wanted: &str,
    scope: &Scope<'_>,
    functions: &dyn Functions,
    trace: Option<&mut Trace>,
) -> Option<Value> {
    let mut cx = Context { scope, functions, trace, missing: None };
    if !rule.applies(&mut cx) {
        return None;
    }
    rule.verdicts.iter().find_map(|verdict| match verdict {
        Verdict::Derive { setting, kind, code } if setting.as_ref() == wanted => match code.eval(&mut cx) {
            Val::Unknown => None,
            value => Some(value.to_value(*kind)),
        },
        _ => None,
    })
}
