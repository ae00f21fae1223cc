//! Judgement: rules in makeready's own language, checked and evaluated.
//!
//! ```text
//! facts        every fact a rule may read, declared once; names: the table that follows, with types and decisions
//! check        statements -> rules; lower: expressions -> code; template: texts; filled: a text with its values
//! named        thresholds named once
//! consistency  cycles, contradictions, rules that can never fire
//! code         evaluation, three-valued, over SI numbers
//! rule         what a rule says about a scope
//! settings     all `derive` rules in order of dependence
//! example      the examples in rules, run as tests
//! reference    the language, from its tables
//! ```
//!
//! A rule knows nothing of specs, catalogues or meshes: it sees a [`Scope`] of records, and computations through
//! [`Functions`].

mod check;
mod code;
mod consistency;
mod example;
pub(crate) mod facts;
mod filled;
mod functions;
mod lower;
mod named;
pub(crate) mod names;
mod reference;
mod rule;
mod scope;
mod settings;
mod template;
pub mod value;

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

pub(crate) use check::STATEMENTS as RULE_WORDS;
pub use check::build;
pub(crate) use check::{ASKS_FIRST, VERDICT, build_with};
pub(crate) use code::show;
pub(crate) use example::ExampleOutcome;
pub use example::{Example, Expect, run_examples, without_examples};
pub use filled::{Filled, FilledPart};
pub(crate) use functions::help_of_function;
pub use functions::{Functions, NoFunctions, Registry};
pub(crate) use named::Named;
pub(crate) use names::Field as FactField;
pub use names::{Decision, Root, Touches, Type};
pub use reference::reference;
pub(crate) use rule::Verdict;
pub use rule::{CautionKind, Judgement, Phase, Rule};
pub(crate) use scope::{Facts, Used};
pub use scope::{Scope, Trace};
pub(crate) use settings::{Settled, SettledBy};

/// All rules in force.
#[derive(Debug, Clone, Default)]
pub struct Rulebook {
    /// Sorted by name.
    pub rules: Vec<Rule>,
    /// The settings and their types.
    pub settings: BTreeMap<String, Type>,
    /// Settings whose rules speak of percentages; they are shares, and are shown as percentages.
    pub shares: BTreeSet<String>,
    /// The named thresholds.
    pub names: BTreeMap<String, Arc<Named>>,
    setting_order: Vec<Arc<str>>,
    /// For each setting the rules that derive it, those with a `when` first.
    derivers: BTreeMap<Arc<str>, Vec<usize>>,
}

impl Rulebook {
    fn assemble(rules: Vec<Rule>, settings: BTreeMap<String, Type>, setting_order: Vec<Arc<str>>) -> Self {
        let mut derivers: BTreeMap<Arc<str>, Vec<usize>> = BTreeMap::new();
        for (index, rule) in rules.iter().enumerate() {
            for verdict in &rule.verdicts {
                if let Verdict::Derive { setting, .. } = verdict {
                    derivers.entry(setting.clone()).or_default().push(index);
                }
            }
        }
        for list in derivers.values_mut() {
            // Stable: by name within each group.
            list.sort_by_key(|i| rules.get(*i).is_some_and(|r| r.when.is_empty()));
        }
        Self { rules, settings, shares: BTreeSet::new(), names: BTreeMap::new(), setting_order, derivers }
    }

    /// Prints the value of a setting for a person: `20 %` where its rules speak of percentages.
    pub fn show_setting(&self, name: &str, value: &value::Value) -> String {
        match value {
            value::Value::Quantity(_) if self.shares.contains(name) => code::percent_words(value),
            other => show(other),
        }
    }

    /// Returns the rule of that name.
    pub fn get(&self, name: &str) -> Option<&Rule> {
        let index = self.rules.binary_search_by(|r| r.name.as_str().cmp(name)).ok()?;
        self.rules.get(index)
    }

    /// Returns the settings in order of dependence.
    pub fn setting_order(&self) -> &[Arc<str>] {
        &self.setting_order
    }
}
