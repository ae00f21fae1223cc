//! What a plan says in sentences, as data; `render::words::plan` has the English of each. A plan keeps the words, since it is read
//! again as what was planned before.

use planner::order::Goal;

use super::pace::Pace;
use crate::catalogue::SourceKind;

/// How many pieces of a lot are measured (ISO 2859-1).
#[derive(Debug, Clone, PartialEq)]
pub struct Sampled {
    pub lot: u64,
    pub level: &'static str,
    pub limit_percent: f64,
    pub measured: Measured,
}

/// Which of them.
#[derive(Debug, Clone, PartialEq)]
pub enum Measured {
    Every,
    AtRandom {
        sample: u64,
        accept: u32,
        reject: u32,
    },
    /// No plan of the standard does, by the words of whoever looked.
    Unplanned(String),
}

/// What the number of pieces to start rests on.
#[derive(Debug, Clone, PartialEq)]
pub struct StartBasis {
    /// That as many come out good as are wanted.
    pub confidence: f64,
    /// What the workshop's record says, and with how many pieces the usual share weighs beside it.
    pub recorded: Option<(String, f64)>,
    /// Share of good pieces where nothing is known.
    pub usual: f64,
    pub kind: SourceKind,
    pub lost: Option<Lost>,
}

/// Plates lost whole in this run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lost {
    pub plates: u32,
    pub of: u32,
    /// The share taken before the run, and with how many plates it weighs.
    pub usual: f64,
    pub weight: f64,
}

/// What was taken where a run says nothing, or what becomes of what it says.
#[derive(Debug, Clone, PartialEq)]
pub enum Told {
    ConfidenceUnsaid(f64),
    NightsUnsaid,
    /// Machines that print alone by the run and not by the workshop's file.
    NotAlone(Vec<String>),
    /// Parts whose recipes warn of fire.
    Watched(Vec<String>),
    /// Parts that are to be printed together, and why they are not.
    Apart {
        parts: Vec<String>,
        why: Apart,
    },
    /// What a machine's rounds took, and whether it counts.
    Pace {
        printer: String,
        pace: Pace,
        counts: bool,
    },
}

/// Why parts are not printed together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Apart {
    NotAllPlanned,
    OtherSettings,
    FewerPlates,
}

/// What plans are held against each other by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Aim(pub Goal);

/// Why a spool is to be bought.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Wanting {
    /// Grams.
    Short(f64),
    /// What is left is of no use to the plates as they are.
    TooSmall,
}

/// What would make a part be in time.
#[derive(Debug, Clone, PartialEq)]
pub enum WayOut {
    Unattended,
    Dry,
    SecondMachine(String),
    Later { part: String, by: String },
}
