//! A value of the catalogue: never a bare number, always with its range, its kind and its source.

use crate::diag::Span;
use crate::quantity::{Dimension, Quantity};
use crate::word::words;

words! {
    /// What kind of source a value has; the first are the firmest.
    pub enum SourceKind {
        /// Text or table of a standard or code.
        Standard = "standard",
        /// Textbook or handbook, or the guide of an authority; none that was only seen repeated elsewhere.
        Handbook = "handbook",
        /// Peer-reviewed paper or preprint.
        Paper = "paper",
        /// A public software library or data collection.
        Library = "library",
        /// Consensus of the trade without a single source, or with one that repeats it (an encyclopedia).
        CommonPractice = "common-practice",
        /// Own arithmetic from a stated formula.
        Computed = "computed",
        /// The writer's recollection, unconfirmed.
        FromMemory = "from-memory",
    }
}

impl SourceKind {
    /// Returns whether a value of this kind must name a source.
    pub fn needs_source(self) -> bool {
        matches!(self, Self::Standard | Self::Handbook | Self::Paper | Self::Library)
    }
}

/// Where a value comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct Provenance {
    /// How firm it is.
    pub kind: SourceKind,
    /// Key into `sources.yaml`.
    pub source: Option<String>,
    /// What the file remarks on it: test conditions, how it was read, what is doubted.
    pub note: Option<String>,
    /// The line of the catalogue (or shop) file that says so.
    pub at: Span,
}

/// A measured or customary quantity: the typical value and the range it is found in.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure<T> {
    /// What to reckon with where nothing more is known.
    pub typ: T,
    /// Lower end of the range it is found in; none where no range is known.
    pub low: Option<T>,
    /// Upper end of the range it is found in; none where no range is known.
    pub high: Option<T>,
    /// How firm it is.
    pub kind: SourceKind,
    /// Key into `sources.yaml`; none where the kind needs no source.
    pub source: Option<String>,
    /// What the file remarks on it.
    pub note: Option<String>,
    /// The value's place in its file.
    pub at: Span,
}

impl<T: Copy> Figure<T> {
    /// Returns the lower end of the range, or the typical value where no range is known.
    pub fn low(&self) -> T {
        self.low.unwrap_or(self.typ)
    }

    /// Returns the upper end of the range, or the typical value where no range is known.
    pub fn high(&self) -> T {
        self.high.unwrap_or(self.typ)
    }
}

impl<T> Figure<T> {
    /// Returns where the value comes from, without the value.
    pub fn provenance(&self) -> Provenance {
        Provenance { kind: self.kind, source: self.source.clone(), note: self.note.clone(), at: self.at }
    }
}

/// A word, a yes or no, or a text, with the same backing as a [`Figure`].
#[derive(Debug, Clone, PartialEq)]
pub struct Fact<T> {
    /// What is stated.
    pub value: T,
    /// How firm it is.
    pub kind: SourceKind,
    /// Key into `sources.yaml`; none where the kind needs no source.
    pub source: Option<String>,
    /// What the file remarks on it.
    pub note: Option<String>,
    /// The value's place in its file.
    pub at: Span,
}

impl<T> Fact<T> {
    /// Returns where the value comes from, without the value.
    pub fn provenance(&self) -> Provenance {
        Provenance { kind: self.kind, source: self.source.clone(), note: self.note.clone(), at: self.at }
    }
}

/// A value a person states about their own workshop: no source needed, but a place.
#[derive(Debug, Clone, PartialEq)]
pub struct Located<T> {
    /// What is stated.
    pub value: T,
    /// Where it is stated.
    pub at: Span,
}

/// What a field holds, for help texts and for checking names and units in rules.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shape {
    /// A number with a unit of this dimension.
    Quantity(Dimension),
    /// One of these words, in rising order where there is an order.
    Word(&'static [&'static str]),
    /// `yes` or `no`.
    Flag,
    /// Free text.
    Text,
    /// A list of words or names.
    Words,
    /// A block or list of blocks of its own.
    Block,
}

/// One named field of a record.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Field {
    /// The key as it is written in files.
    pub name: &'static str,
    /// What may stand behind the key.
    pub shape: Shape,
    /// Whether it must be there.
    pub needed: bool,
    /// What the field means, for help and the reference.
    pub help: &'static str,
}

/// A field's value seen uniformly, whatever its type: what rules, `explain` and the catalogue listing read.
#[derive(Debug, Clone, PartialEq)]
pub struct Datum {
    /// The value itself; of a quantity the typical one.
    pub value: Plain,
    /// Range, where one is known (quantities only).
    /// Lower end of the range; quantities only.
    pub low: Option<Quantity>,
    /// Upper end of the range.
    pub high: Option<Quantity>,
    /// Absent for what a shop states about itself.
    pub from: Option<Provenance>,
    /// The value's place in its file.
    pub at: Span,
}

/// The bare value of a [`Datum`].
#[derive(Debug, Clone, PartialEq)]
pub enum Plain {
    /// A number with its dimension.
    Quantity(Quantity),
    /// A word of a closed set, or a name of the catalogue.
    Word(String),
    /// Yes or no.
    Flag(bool),
    /// Free text.
    Text(String),
    /// A list of words or names.
    Words(Vec<String>),
}
