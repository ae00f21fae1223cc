//! What the spec leaves open, what became of its statements, and the work that no rule tells.

use super::{About, Sentence};
use crate::fits::said as fits;
use crate::quantity::{Duration, Length, Temperature};
use crate::resolve::elastic::{Assumed, Taken};
use crate::resolve::{heat, margin};
use crate::rulebook::value;

/// What was taken for granted, and what hangs on it.
#[derive(Debug, Clone, PartialEq)]
pub enum Open {
    NoShop,
    NoShopEffect,
    /// What is assumed of the job.
    Assumed(value::Assumed),
    NoSpoolsEffect,
    OnePieceEffect,
    DamageEffect,
    Millimetres,
    MillimetresEffect,
    NoSize,
    NoSizeEffect,
    UsedByRule(String),
    /// A use the spec denies, and why.
    Denied {
        of: String,
        because: String,
    },
    DeniedEffect,
    /// Nothing is open but uses that are withheld: who answers for them.
    WhoAnswers {
        uses: Vec<Sentence>,
    },
    PlaceUnsaid,
    PlaceOpenEffect,
    SunUnsaid,
    SunOpenEffect,
    BackUnsaid,
    BackOpenEffect,
    /// Loads that come and go, and the heat they are counted at.
    WarmUnsaid {
        loads: Vec<String>,
        counted: Temperature,
    },
    WarmOpenEffect,
    SunTermUnsaid,
    SunTermOpenEffect,
    /// What is taken for granted about the part's heat.
    Heat(heat::Taken),
    HeatEffect(heat::Taken),
    /// What is taken of a load.
    OfLoad(Assumed),
    /// What is taken alike of each of some loads.
    OfLoads {
        /// Their names.
        loads: Vec<String>,
        /// What is taken.
        taken: Taken,
    },
    OfLoadEffect(Taken),
    /// A margin that is not shown, and why.
    NotShown {
        what: margin::Name,
        why: Sentence,
    },
    NotShownEffect,
    RuleNotAsked {
        about: Option<About>,
        rule: String,
        missing: Vec<String>,
    },
    AxisAssumed {
        fit: String,
    },
    AxisEffect,
    OfFit {
        fit: String,
        told: Sentence,
    },
    ModelledOff {
        model: Length,
    },
    /// Several features are of a fit's size, and how many it means is not stated.
    FewFound {
        fit: String,
        found: usize,
    },
    CountAssumed,
    Steady {
        load: String,
    },
    SteadyEffect,
    HeldApart {
        loads: String,
    },
    HeldApartEffect,
    /// The search for conflicts and ways out.
    CutShort,
    CutShortEffect,
}

/// What became of a statement of the spec, and why that is so.
#[derive(Debug, Clone, PartialEq)]
pub enum Use {
    /// Statements that nothing rests on, as written.
    Unused(Vec<String>),
    UnusedEffect,
    InPart(String),
    /// Statements that rules ask after and were content with.
    Quiet(Vec<String>),
    QuietEffect,
    /// A line within a load that changes nothing: its words, and the load.
    UnusedOfLoad {
        written: String,
        load: String,
    },
    /// A line within a fit that is checked and no more.
    InPartOfFit {
        written: String,
        fit: String,
    },
    ReachedAnyway(Temperature),
    NoCompany,
    FluidAsGasOrNone {
        chemical: Option<String>,
    },
    NoWall,
    NoBore,
    Depth {
        found: bool,
    },
    NotLookedFor,
    NotMeasured,
    Wanted {
        time: Duration,
        printer: String,
        rounds: u32,
        /// The latest day on which it can begin, running day and night.
        begin: Option<String>,
    },
    OnlyStruck,
    NoPeak,
    NoLoadPlaced,
    NothingSetAside,
}

/// Work no rule tells.
#[derive(Debug, Clone, PartialEq)]
pub enum Work {
    SeamElsewhere {
        face: String,
    },
    SeamBecause,
    ReadMarking {
        face: String,
        marking: String,
    },
    MarkingBecause,
    FirstArticle,
    FirstArticleBecause,
    /// A line of the first-article form.
    Check {
        fit: String,
        what: fits::Looked,
        wanted: Wanted,
    },
}

/// What a gauge must show.
#[derive(Debug, Clone, PartialEq)]
pub enum Wanted {
    Limits(Limits),
    Gauge(fits::Gauge),
}

/// Two ends of a size.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// The least it may be.
    pub low: Length,
    /// The most it may be.
    pub high: Length,
}
