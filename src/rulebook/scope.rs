//! What a rule is judged against: one record of facts per root, and the trail of what it read.

use super::names::Root;
use super::value::{Origin, Record, Value};

/// The facts in view: at most one record per root. Cheap to copy, so that a solver can extend it candidate by candidate.
#[derive(Debug, Clone, Copy, Default)]
pub struct Scope<'a> {
    records: [Option<&'a Record>; Root::ALL.len()],
}

impl<'a> Scope<'a> {
    pub fn new() -> Self {
        Self::default()
    }

    /// Returns the scope with this record for the root, in place of any other.
    #[must_use]
    pub fn with(mut self, root: Root, record: &'a Record) -> Self {
        self.set(root, record);
        self
    }

    pub fn set(&mut self, root: Root, record: &'a Record) {
        if let Some(slot) = self.records.get_mut(root as usize) {
            *slot = Some(record);
        }
    }

    pub fn set_settings(&mut self, settings: &'a Record) {
        self.set(Root::Settings, settings);
    }

    pub fn get(&self, root: Root) -> Option<&'a Record> {
        self.records.get(root as usize).copied().flatten()
    }
}

/// What a judgement read, in order of first reading.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Trace {
    pub used: Vec<Used>,
}

/// One fact that was read: its full name, value and origin.
#[derive(Debug, Clone, PartialEq)]
pub struct Used {
    pub name: String,
    pub value: Value,
    pub origin: Origin,
}

impl Trace {
    pub(super) fn note(&mut self, name: &str, value: Value, origin: Origin) {
        if !self.used.iter().any(|u| u.name == name) {
            self.used.push(Used { name: name.to_owned(), value, origin });
        }
    }
}
