//! What rule expressions compute with: values that may be unknown, and records of named facts.

use std::fmt;
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
    Text(Text),
    /// A word of a closed set: `hardened`, `styrene`, `outdoors`.
    Word(Text),
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

/// A text that is part of the program, as names of fields and words of closed sets are, or that is shared.
#[derive(Clone)]
pub enum Text {
    Fixed(&'static str),
    Shared(Arc<str>),
}

/// Facts by name, and how the thing is called in texts.
///
/// There are few facts in a record, so that looking at each in turn finds one sooner than a tree would.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Record {
    pub title: String,
    pub facts: Vec<(Text, Fact)>,
    /// A record whose facts are in view too, behind its own.
    upon: Option<Arc<Record>>,
}

impl Record {
    pub fn new(title: impl Into<String>) -> Self {
        Self { title: title.into(), ..Self::default() }
    }

    /// Returns a record of that title that adds to the facts of another.
    pub fn upon(record: Arc<Record>) -> Self {
        Self { title: record.title.clone(), facts: Vec::new(), upon: Some(record) }
    }

    /// Sets a fact, in place of any other of that name.
    pub fn set(&mut self, name: impl Into<Text>, value: impl Into<Value>, origin: Origin) {
        self.insert(name, Fact { value: value.into(), origin });
    }

    pub fn insert(&mut self, name: impl Into<Text>, fact: Fact) {
        let name = name.into();
        match self.facts.iter_mut().find(|(known, _)| *known == name) {
            Some((_, slot)) => *slot = fact,
            None => self.facts.push((name, fact)),
        }
    }

    /// Returns every fact in view.
    pub fn all(&self) -> Box<dyn Iterator<Item = &(Text, Fact)> + '_> {
        Box::new(self.facts.iter().chain(self.upon.iter().flat_map(|r| r.all())))
    }

    pub fn is_empty(&self) -> bool {
        self.facts.is_empty() && self.upon.as_ref().is_none_or(|r| r.is_empty())
    }

    pub fn get(&self, name: &str) -> Option<&Fact> {
        // Names of one length mostly differ in their last letter, and looking at that is cheaper than comparing them.
        let last = name.as_bytes().last();
        let is = |known: &str| known.len() == name.len() && known.as_bytes().last() == last && known == name;
        let own = self.facts.iter().find(|(known, _)| is(known.as_ref()));
        own.map(|(_, fact)| fact).or_else(|| self.upon.as_ref()?.get(name))
    }
}

impl Value {
    pub fn word(text: impl Into<Text>) -> Self {
        Value::Word(text.into())
    }

    pub fn text(text: &str) -> Self {
        Value::Text(Text::shared(text))
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

impl Text {
    pub fn shared(text: &str) -> Self {
        Text::Shared(Arc::from(text))
    }
}

impl AsRef<str> for Text {
    fn as_ref(&self) -> &str {
        match self {
            Text::Fixed(text) => text,
            Text::Shared(text) => text,
        }
    }
}

impl From<&'static str> for Text {
    fn from(text: &'static str) -> Self {
        Text::Fixed(text)
    }
}

impl From<&Arc<str>> for Text {
    fn from(text: &Arc<str>) -> Self {
        Text::Shared(Arc::clone(text))
    }
}

impl PartialEq for Text {
    fn eq(&self, other: &Self) -> bool {
        self.as_ref() == other.as_ref()
    }
}

impl fmt::Debug for Text {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Debug::fmt(self.as_ref(), f)
    }
}

impl fmt::Display for Text {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.as_ref())
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
