//! Fits: from what two parts must do to each other to the size to model, the way to finish it and the way to gauge it.
//!
//! ```text
//! iso286      limits and fits of the ISO code system            (tables and rules of ISO 286-1)
//! hardware    clearance holes, threads, nuts, heads, bearings ... (ISO tables, each value with its source)
//! lookup      "20 mm H7/g6", "bearing 608" -> numbers and source
//! function    what a fit is for -> the limits the finished feature must keep
//! allowance   limits + this printer's behaviour -> size to model, spread, capability, route, inspection
//! calibration measured sizes -> scale, offset, spread by least squares
//! measurements the table calibration reads; behaviour what a printer does to a feature, by record or default
//! practice    what the trade knows of printed features, from the catalogue
//! mating      printed against printed, printed-in-place gaps
//! matching    which features of the mesh can be the ones a fit speaks of
//! said        what is said of a fit, as data
//! coupon      step pieces to print before the part; inspection: how and when to gauge
//! ```
//!
//! Everything is pure: values in, values out.

pub mod allowance;
pub(crate) mod behaviour;
pub mod calibration;
pub mod coupon;
pub(crate) mod cutters;
pub mod feature;
pub mod function;
pub mod general;
pub mod groove;
pub mod hardware;
pub(crate) mod inspection;
pub mod iso286;
pub mod living_hinge;
pub(crate) mod lookup;
pub(crate) mod matching;
pub mod mating;
pub(crate) mod measurements;
pub mod practice;
pub(crate) mod press;
pub mod said;
mod student_t;

use serde::Serialize;
use std::borrow::Cow;
use std::fmt;

/// What kind of source a value comes from; never one passed off as another.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum SourceKind {
    /// A table or rule of a standard.
    Standard,
    /// A textbook, or the guide of an authority.
    Handbook,
    /// A published paper.
    Paper,
    /// A public software library or data collection.
    Library,
    /// What the trade does, without a single source.
    CommonPractice,
    /// Recollection, not looked up.
    FromMemory,
    /// Own arithmetic from a stated formula.
    Computed,
    /// Measured on the shop's own pieces.
    Measured,
}

impl SourceKind {
    /// Returns the word that recipes and files write, `common-practice`.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Standard => "standard",
            Self::Handbook => "handbook",
            Self::Paper => "paper",
            Self::Library => "library",
            Self::CommonPractice => "common-practice",
            Self::FromMemory => "from-memory",
            Self::Computed => "computed",
            Self::Measured => "measured",
        }
    }
}

impl fmt::Display for SourceKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

/// Where a value comes from: its kind and the citation that lets a reader look it up.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Provenance {
    /// How firm it is.
    pub kind: SourceKind,
    /// Standard and table, book and page; whose record it is, for a measured one.
    pub citation: Cow<'static, str>,
}

impl Provenance {
    /// Takes a citation written in the code.
    pub const fn new(kind: SourceKind, citation: &'static str) -> Self {
        Self { kind, citation: Cow::Borrowed(citation) }
    }

    /// Takes a citation put together at run time.
    pub fn owned(kind: SourceKind, citation: impl Into<String>) -> Self {
        Self { kind, citation: Cow::Owned(citation.into()) }
    }
}

impl fmt::Display for Provenance {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} ({})", self.citation, self.kind)
    }
}

/// Why a fit cannot be worked out: what is wrong, what to write instead, and the words of the input that are at fault.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FitError {
    /// Lower case, one line, no full stop.
    pub message: String,
    /// What to write instead.
    pub hint: String,
    /// The piece of the input at fault, as it was written; empty where there is none.
    pub part: String,
}

impl FitError {
    /// Takes the piece at fault as written, what is wrong with it, and what to write instead.
    pub fn new(part: impl Into<String>, message: impl Into<String>, hint: impl Into<String>) -> Self {
        Self { message: message.into(), hint: hint.into(), part: part.into() }
    }
}

impl fmt::Display for FitError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)?;
        if self.hint.is_empty() { Ok(()) } else { write!(f, "; {}", self.hint) }
    }
}

impl std::error::Error for FitError {}

/// Serialises a number without a fraction where it has none (21, not 21.0; 12.5 stays).
pub(crate) fn plain_number<S: serde::Serializer>(value: &f64, serializer: S) -> Result<S::Ok, S::Error> {
    if value.fract() == 0.0 && value.abs() < 1e15 {
        serializer.serialize_i64(*value as i64)
    } else {
        serializer.serialize_f64(*value)
    }
}
