//! What rule expressions compute with: values that may be unknown, and records of named facts.

use std::fmt;
use std::sync::Arc;
use std::sync::atomic::AtomicU32;
use std::sync::atomic::Ordering::Relaxed;

use crate::catalogue::SourceKind;
use crate::diag::Span;
use crate::quantity::Quantity;
use crate::semantics::spec::Consequence;

/// A value of the rule language. Anything computed from an unknown is unknown (except where `and`/`or` settle it).
#[derive(Debug, Clone, PartialEq, Default)]
pub enum Value {
    /// Nothing is known of it; unlike a value that is none.
    #[default]
    Unknown,
    /// Yes or no.
    Bool(bool),
    /// An amount in SI with its dimension; a number has none.
    Quantity(Quantity),
    /// Low and high, of one dimension.
    Range(Quantity, Quantity),
    /// Free words: a name, a reason.
    Text(Text),
    /// A word of a closed set: `hardened`, `styrene`, `outdoors`.
    Word(Text),
    /// Values of one type.
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
    Stated {
        /// Where it was said.
        at: Span,
    },
    /// A catalogue value.
    Sourced {
        /// Where the catalogue has it.
        at: Span,
        /// Kind of source: `standard`, `from-memory`.
        kind: &'static str,
        /// Key of the citation; `None` for a kind that cites nothing.
        source: Option<Arc<str>>,
        /// The least the source allows, where it gives a range about the value.
        low: Option<Quantity>,
        /// The most the source allows.
        high: Option<Quantity>,
    },
    /// Computed from the mesh.
    Measured,
    /// Computed by a function of the registry, with its working.
    Computed {
        /// Function and inputs, as the reason prints them.
        working: Arc<str>,
    },
    /// Assumed because nothing was said.
    Assumed(Assumed),
}

/// What is assumed where nothing was said.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Assumed {
    /// One piece is wanted.
    OnePiece,
    /// A failure does damage, and hurts nobody.
    Damage,
    /// No spools are listed: every material counts as at hand.
    EveryMaterial,
    /// A load that states no factor has the usual one.
    LoadFactor {
        /// It.
        factor: f64,
        /// Of a failure, which it is for.
        consequence: Consequence,
        /// Where it is from.
        kind: SourceKind,
    },
}

/// One named fact and where it comes from.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Fact {
    /// What it is.
    pub value: Value,
    /// What a reason cites for it.
    pub origin: Origin,
}

/// A text that is part of the program, as names of fields and words of closed sets are, or that is shared.
#[derive(Clone)]
pub enum Text {
    /// Part of the program; costs nothing to copy.
    Fixed(&'static str),
    /// Read from a file; copies share it.
    Shared(Arc<str>),
}

/// Facts by name, and how the thing is called in texts.
///
/// There are few facts in a record, so that looking at each in turn finds one sooner than a tree would.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Record {
    /// As it stands in texts: the name of the material, the label of the load.
    pub title: String,
    /// Its own, in the order they were set; not those of the record it stands upon (see [`Record::all`]).
    pub facts: Vec<(Text, Fact)>,
    /// A record whose facts are in view too, behind its own.
    upon: Option<Arc<Record>>,
}

impl Record {
    /// Returns a record without facts.
    pub fn new(title: impl Into<String>) -> Self {
        Self { title: title.into(), ..Self::default() }
    }

    /// Returns a record of that title that adds to the facts of another.
    pub fn upon(record: Arc<Record>) -> Self {
        Self { title: record.title.clone(), facts: Vec::new(), upon: Some(record) }
    }

    /// Sets a fact whose name comes from a text (a setting, a figure, a name of an example), in place of any other of that name.
    /// Facts of the table are added by their structs (`rulebook::facts`), which know name and type.
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

    /// Returns whether no fact is in view.
    pub fn is_empty(&self) -> bool {
        self.facts.is_empty() && self.upon.as_ref().is_none_or(|r| r.is_empty())
    }

    /// Returns the fact of that name, its own before that of the record it stands upon.
    pub fn get(&self, name: &str) -> Option<&Fact> {
        self.find(name).map(|(_, fact)| fact)
    }

    /// Returns a fact as [`Record::get`] does, looking first where it stood the last time: records of one kind are made alike.
    pub(super) fn get_near(&self, name: &str, near: &Near) -> Option<&Fact> {
        let at = near.0.load(Relaxed) as usize;
        if let Some((known, fact)) = self.facts.get(at)
            && is_named(known, name)
        {
            return Some(fact);
        }
        let (at, fact) = self.find(name)?;
        near.0.store(u32::try_from(at).unwrap_or(0), Relaxed);
        Some(fact)
    }

    /// Returns a fact with its place, those of the record it stands upon counted behind its own.
    fn find(&self, name: &str) -> Option<(usize, &Fact)> {
        match self.facts.iter().position(|(known, _)| is_named(known, name)) {
            Some(at) => Some((at, &self.facts.get(at)?.1)),
            None => self.upon.as_ref()?.find(name).map(|(at, fact)| (self.facts.len() + at, fact)),
        }
    }
}

/// Names of one length mostly differ in their last letter, and looking at that is cheaper than comparing them.
fn is_named(known: &Text, name: &str) -> bool {
    let known = known.as_ref();
    known.len() == name.len()
        && known.as_bytes().last() == name.as_bytes().last()
        && (std::ptr::eq(known, name) || known == name)
}

/// Where in a record a fact was found the last time: a hint, so that none is ever equal to another or not.
#[derive(Debug, Default)]
pub(super) struct Near(AtomicU32);

impl Clone for Near {
    fn clone(&self) -> Self {
        Self::default()
    }
}

impl PartialEq for Near {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

impl Value {
    /// Returns a word of a closed set.
    pub fn word(text: impl Into<Text>) -> Self {
        Value::Word(text.into())
    }

    /// Returns a free text.
    pub fn text(text: &str) -> Self {
        Value::Text(Text::shared(text))
    }

    /// Returns whether anything is known.
    pub fn is_known(&self) -> bool {
        !matches!(self, Value::Unknown)
    }

    /// Returns yes or no; `None` for every other value.
    pub fn as_bool(&self) -> Option<bool> {
        if let Value::Bool(b) = self { Some(*b) } else { None }
    }

    /// Returns the amount; `None` for every other value, a range too.
    pub fn as_quantity(&self) -> Option<Quantity> {
        if let Value::Quantity(q) = self { Some(*q) } else { None }
    }
}

impl Text {
    /// Returns a text read from a file.
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fact_looked_for_where_it_stood_last_is_the_one_of_that_name() {
        let record = |names: &[&'static str]| {
            let mut record = Record::new("x");
            names.iter().enumerate().for_each(|(i, name)| {
                record.insert(*name, Fact { value: Quantity::number(i as f64).into(), origin: Origin::None })
            });
            record
        };
        let below = Arc::new(record(&["height", "weight"]));
        let mut upon = Record::upon(Arc::clone(&below));
        upon.insert("weight", Fact { value: true.into(), origin: Origin::None });
        let near = Near::default();
        // The same hint for records that are not made alike, and for names at the same place.
        for record in
            [&record(&["weight", "height"]), &record(&["width", "length", "height"]), &upon, &below, &record(&[])]
        {
            for name in ["height", "weight", "length", "depth"] {
                assert_eq!(record.get_near(name, &near), record.get(name), "{name} of {record:?}");
            }
        }
    }
}
