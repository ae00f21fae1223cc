//! What rule expressions compute with: values that may be unknown, and records of named facts.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::diag::Span;
use crate::quantity::Quantity;

/// A value of the rule language. Anything computed from an unknown is unknown (except where `and`/`or` settle it).
#[derive(Debug, Clone, PartialEq, Default)]
pub enum Value {
    #[default]
    Unknown,
    Bool(bool),
    Quantity(Quantity),
    Range(Quantity, Quantity),
    Text(Arc<str>),
    /// A word of a closed set: `hardened`, `styrene`, `outdoors`.
    Word(Arc<str>),
    List(Arc<[Value]>),
    /// A thing with facts of its own: a material, a nozzle, a chemical.
    Record(Arc<Record>),
}

/// Where a fact comes from, for reasons.
#[derive(Debug, Clone, PartialEq, Default)]
pub enum Origin {
    /// Nothing to cite (an intermediate).
    #[default]
    None,
    /// A place in the spec, a profile, the shop, the catalogue or the rules.
    Stated { at: Span },
    /// A catalogue value: place, kind of source and citation key.
    Sourced { at: Span, kind: &'static str, source: Option<Arc<str>>, low: Option<Quantity>, high: Option<Quantity> },
    /// Computed from the mesh.
    Measured,
    /// Computed by a function of the registry, with its working.
    Computed { working: Arc<str> },
    /// Assumed because nothing was said; the text says what and why.
    Assumed { text: Arc<str> },
}

/// One named fact and where it comes from.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Fact {
    pub value: Value,
    pub origin: Origin,
}

/// Facts by name, and how the thing is called in texts.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Record {
    pub title: String,
    pub facts: BTreeMap<Arc<str>, Fact>,
}

impl Record {
    pub fn new(title: impl Into<String>) -> Self {
        Self { title: title.into(), facts: BTreeMap::new() }
    }

    pub fn set(&mut self, name: &str, value: impl Into<Value>, origin: Origin) {
        self.facts.insert(Arc::from(name), Fact { value: value.into(), origin });
    }

    pub fn insert(&mut self, name: &Arc<str>, fact: Fact) {
        self.facts.insert(Arc::clone(name), fact);
    }

    pub fn is_empty(&self) -> bool {
        self.facts.is_empty()
    }

    pub fn get(&self, name: &str) -> Option<&Fact> {
        self.facts.get(name)
    }
}

impl Value {
    pub fn word(text: &str) -> Self {
        Value::Word(Arc::from(text))
    }

    pub fn text(text: &str) -> Self {
        Value::Text(Arc::from(text))
    }

    pub fn is_known(&self) -> bool {
        !matches!(self, Value::Unknown)
    }

    pub fn as_bool(&self) -> Option<bool> {
        if let Value::Bool(b) = self { Some(*b) } else { None }
    }

    pub fn as_quantity(&self) -> Option<Quantity> {
        if let Value::Quantity(q) = self { Some(*q) } else { None }
    }
}

impl From<bool> for Value {
    fn from(value: bool) -> Self {
        Value::Bool(value)
    }
}

impl From<Quantity> for Value {
    fn from(value: Quantity) -> Self {
        Value::Quantity(value)
    }
}

impl<T: Into<Value>> From<Option<T>> for Value {
    fn from(value: Option<T>) -> Self {
        value.map_or(Value::Unknown, Into::into)
    }
}
