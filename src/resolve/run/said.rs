//! What a run rests on, as data; `render::words::run` has the English of each.

use crate::catalogue::SourceKind;
use crate::quantity::Length;
use crate::rulebook::names::Decision;

/// Why a run is not estimated.
#[derive(Debug, Clone, PartialEq)]
pub enum NoRun {
    /// What it hangs on is not decided.
    Undecided(Decision),
    /// The mesh encloses nothing.
    NoVolume,
    /// Nothing of the mesh is seen from above.
    NoShadow,
    /// By the words of the law that could not be applied.
    Law(String),
}

/// What the number to start rests on.
#[derive(Debug, Clone, PartialEq)]
pub enum Started {
    /// So many on this plate, by the plan of a run.
    ByPlan(u32),
    One,
    /// Enough with some confidence.
    Enough {
        start: u32,
        wanted: u32,
        confidence: f64,
        good: Good,
    },
    /// No number can be told, by the words of the law: as many as are wanted.
    AsWanted(String),
}

/// What the share of good pieces is from.
#[derive(Debug, Clone, PartialEq)]
pub enum Good {
    /// A record of the shop, by its words.
    Recorded(String),
    Usual {
        share: f64,
        kind: SourceKind,
    },
}

/// How the pieces of a plate lie.
#[derive(Debug, Clone, PartialEq)]
pub struct Beside {
    /// The footprint of one.
    pub piece: [Length; 2],
    pub gap: Length,
    pub edge: Length,
    /// Around each, where there is one.
    pub brim: Option<Length>,
}

/// What a figure of a run is added up from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Summed {
    Masses,
    Times,
    WholeDays,
}

impl From<String> for NoRun {
    fn from(why: String) -> Self {
        Self::Law(why)
    }
}
