//! Where the numbers of a margin are known from.

use crate::catalogue;
use crate::diag::Span;
use crate::fits::{Provenance, SourceKind};

/// A source of a margin, or of a part of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Source {
    pub kind: SourceKind,
    /// Keys into the list of sources.
    pub keys: Vec<String>,
    /// What to look up, where it has no key.
    pub citation: Option<String>,
    /// What is from there, where that is not all.
    pub of: &'static str,
    /// Where in the catalogue or the shop's file the value stands.
    pub at: Option<Span>,
}

impl Source {
    pub fn of(kind: SourceKind, of: &'static str) -> Self {
        Self { kind, keys: Vec::new(), citation: None, of, at: None }
    }

    pub fn key(kind: SourceKind, key: &str) -> Self {
        Self { keys: vec![key.to_owned()], ..Self::of(kind, "") }
    }

    pub fn cited(kind: SourceKind, citation: &str) -> Self {
        Self { citation: Some(citation.to_owned()), ..Self::of(kind, "") }
    }

    /// Returns the source of a value of the catalogue.
    pub fn figure(kind: catalogue::SourceKind, key: Option<&String>, at: Span) -> Self {
        Self { keys: key.into_iter().cloned().collect(), at: Some(at), ..Self::of(kind.into(), "") }
    }
}

impl From<&Provenance> for Source {
    fn from(from: &Provenance) -> Self {
        Self::cited(from.kind, &from.citation)
    }
}

impl From<catalogue::SourceKind> for SourceKind {
    fn from(kind: catalogue::SourceKind) -> Self {
        match kind {
            catalogue::SourceKind::Standard => Self::Standard,
            catalogue::SourceKind::Handbook => Self::Handbook,
            catalogue::SourceKind::Paper => Self::Paper,
            catalogue::SourceKind::Library => Self::Library,
            catalogue::SourceKind::CommonPractice => Self::CommonPractice,
            catalogue::SourceKind::Computed => Self::Computed,
            catalogue::SourceKind::FromMemory => Self::FromMemory,
        }
    }
}
