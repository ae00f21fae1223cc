//! What a rule is judged against: one record of facts per root, and the trail of what it read.

use std::fmt;

use super::names::Root;
use super::value::{Origin, Record, Value};

/// Facts that are only made when a rule comes to read them.
pub trait Facts {
    /// Returns the record of a root, the same one every time it is asked for.
    fn record(&self, root: Root) -> Option<&Record>;
}

/// The facts in view: at most one record per root. Cheap to copy, so that a solver can extend it candidate by candidate.
#[derive(Clone, Copy, Default)]
pub struct Scope<'a> {
    records: [Option<&'a Record>; Root::ALL.len()],
    /// Asked for the roots that have no record above.
    rest: Option<&'a dyn Facts>,
}

impl fmt::Debug for Scope<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Scope").field("records", &self.records).finish_non_exhaustive()
    }
}

impl<'a> Scope<'a> {
    /// Returns a scope in which everything is unknown.
    pub fn new() -> Self {
        Self::default()
    }

    /// Returns the scope with this record for the root, in place of any other.
    #[must_use]
    pub fn with(mut self, root: Root, record: &'a Record) -> Self {
        self.set(root, record);
        self
    }

    /// Puts a record in view, in place of any other of that root.
    pub fn set(&mut self, root: Root, record: &'a Record) {
        if let Some(slot) = self.records.get_mut(root as usize) {
            *slot = Some(record);
        }
    }

    /// Puts the settings known so far in view.
    pub fn set_settings(&mut self, settings: &'a Record) {
        self.set(Root::Settings, settings);
    }

    /// Returns a scope whose records are made when they are read.
    pub fn of(rest: &'a dyn Facts) -> Self {
        Self { rest: Some(rest), ..Self::default() }
    }

    /// Returns the record of a root; `None` where nothing of it is known.
    pub fn get(&self, root: Root) -> Option<&'a Record> {
        self.records.get(root as usize).copied().flatten().or_else(|| self.rest?.record(root))
    }
}

/// What a judgement read, in order of first reading.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Trace {
    /// Each name once.
    pub used: Vec<Used>,
}

/// One fact that was read: its full name, value and origin.
#[derive(Debug, Clone, PartialEq)]
pub struct Used {
    /// As written in the rule: `printer.chamber`.
    pub name: String,
    /// As it was read; may be unknown.
    pub value: Value,
    /// What a reason cites for it.
    pub origin: Origin,
}

impl Trace {
    pub(super) fn note(&mut self, name: &str, value: Value, origin: Origin) {
        if !self.used.iter().any(|u| u.name == name) {
            self.used.push(Used { name: name.to_owned(), value, origin });
        }
    }
}
