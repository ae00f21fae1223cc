//! The recipe: plain data, serialisable, every line with its reason. It knows no text format and makes no words.
//!
//! Values are quantities and words of closed sets; what is to be said is a [`Sentence`], which names what it says and holds
//! the values in it. `render::words` puts it into English, for the page and for the machine form alike; `SCHEMA` names the
//! shape of the latter.

mod allowances;
mod build;
mod decisions;
mod lying;
mod margins;
pub(crate) mod mates;
mod mesh;
mod oversize;
mod points;
mod reasons;
pub(crate) mod refusal;
mod run;
mod sentence;
mod settings;
mod statements;
mod status;
mod weak;

pub(crate) use build::build;
pub(crate) use points::total;
pub use points::{Points, Weighed};
pub(crate) use sentence::*;
pub use sentence::{Choice, Detail, Limits, MeshValue, Sentence};
pub(crate) use weak::weaknesses;

use serde::Serialize;

use crate::diag::Cite;
use crate::fits::SourceKind;
use crate::geometry::regions::{Kind as RegionKind, Verdict as RegionVerdict};
use crate::quantity::{Area, Duration, Length, Mass, Quantity, Volume};
use crate::resolve::margin::{Band, MarginKind};
use crate::rulebook::value::Value;
use crate::rulebook::{CautionKind, Decision};

pub use crate::resolve::margin::Verdict;

/// Names the shape of the machine-readable recipe; it changes when a key changes its meaning or goes away.
pub const SCHEMA: &str = "makeready-recipe/3";

/// Why a line is as it is. The reason is part of the value; nobody rebuilds it later.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Reason {
    /// One sentence, numbers included.
    pub text: Sentence,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rule: Option<String>,
    /// Places in the spec, profile, shop or catalogue it rests on: `file: path`.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub places: Vec<Cite>,
    /// The values it used, each with its own origin.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub values: Vec<UsedValue>,
    /// Where it is known from, the kinds and their citations.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub source: Vec<Cited>,
}

/// A source, and what of the line it is the source of.
#[derive(Debug, Clone, PartialEq)]
pub struct Cited {
    pub kind: SourceKind,
    /// Keys into the list of sources.
    pub keys: Vec<String>,
    /// What to look up, where it has no key.
    pub citation: Option<String>,
    /// What of the line is from there, where that is not all of it.
    pub of: &'static str,
    /// Where in the catalogue or the shop's file the value stands.
    pub place: Option<Cite>,
}

impl Cited {
    /// Returns a source of a kind that has no citation.
    pub fn bare(kind: SourceKind) -> Self {
        Self { kind, keys: Vec::new(), citation: None, of: "", place: None }
    }

    /// Returns the source of a part of the line only.
    pub fn of(kind: SourceKind, of: &'static str) -> Self {
        Self { of, ..Self::bare(kind) }
    }
}

/// A value that was read.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct UsedValue {
    pub name: String,
    pub value: Shown,
    /// Place or source of the value.
    #[serde(skip_serializing_if = "Basis::is_nothing")]
    pub from: Basis,
}

/// A value as it is shown: a quantity in the unit a person would use, a share as a percentage.
#[derive(Debug, Clone, PartialEq)]
pub enum Shown {
    Value(Value),
    Percent(f64),
}

/// Where a value comes from.
#[derive(Debug, Clone, Default, PartialEq)]
pub enum Basis {
    #[default]
    Nothing,
    /// A place in the spec, a profile, the shop or the rules.
    Stated(Cite),
    /// A value of the catalogue, with its range.
    Sourced {
        source: Cited,
        range: Option<(Quantity, Quantity)>,
    },
    /// Measured on the mesh.
    Measured,
    /// Computed, with its working.
    Computed(std::sync::Arc<str>),
    Assumed(std::sync::Arc<str>),
}

impl Basis {
    fn is_nothing(&self) -> bool {
        matches!(self, Basis::Nothing)
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Status {
    Ready,
    ReadyWithCautions,
    /// Something that decides is not shown, and its failure would do damage or hurt: it is to be settled first.
    QuestionFirst,
    /// It can be printed, no rule refuses it, and yet one of its margins is broken.
    DoesNotHold,
    NotPrintableAsSpecified,
}

impl Status {
    pub const ALL: [Status; 5] = [
        Status::Ready,
        Status::ReadyWithCautions,
        Status::QuestionFirst,
        Status::DoesNotHold,
        Status::NotPrintableAsSpecified,
    ];

    /// Returns whether the part may be printed by the recipe as it stands; else the program's exit code says that it may not.
    pub fn may_print(self) -> bool {
        self <= Status::ReadyWithCautions
    }

    pub fn words(self) -> &'static str {
        match self {
            Status::Ready => "ready",
            Status::ReadyWithCautions => "ready with cautions",
            Status::QuestionFirst => "a question first",
            Status::DoesNotHold => "does not hold as specified",
            Status::NotPrintableAsSpecified => "not printable as specified",
        }
    }
}

#[derive(Debug, Clone, Serialize)]
pub struct Recipe {
    pub schema: &'static str,
    pub part: String,
    /// The spec's file; places in it are told by their path alone.
    pub spec: String,
    pub revision: Option<String>,
    pub purpose: Option<String>,
    pub status: Status,
    /// One sentence for the top of the page.
    pub headline: Sentence,
    /// `None` where it can't be printed as specified.
    pub decisions: Option<Decisions>,
    pub settings: Vec<Setting>,
    pub allowances: Vec<Allowance>,
    pub margins: Vec<Margin>,
    pub run: Option<Run>,
    pub checklist: Vec<Phase>,
    /// In order of consequence; only those that apply to this job.
    pub cautions: Vec<Caution>,
    /// Requirements a pin or a waiver breaks, in plain sight.
    pub broken: Vec<Broken>,
    pub rejected: Vec<Rejected>,
    /// Where nothing is left: the smallest sets of requirements that cannot stand together.
    pub conflicts: Vec<Conflict>,
    pub nearest: Vec<NearMiss>,
    /// Smallest changes that free it, each verified by solving again.
    pub relaxations: Vec<Relaxation>,
    pub assumptions: Vec<Assumption>,
    pub mesh: Vec<MeshFact>,
    /// The other poses looked at, best first.
    pub poses: Vec<PoseRow>,
    /// What of the part in the chosen pose does not simply lie on the layer below, and what is to be done about it.
    pub regions: Vec<RegionRow>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub more_regions: Option<Unlisted>,
    pub sources: Vec<SourceEntry>,
    /// Everything that went in, with a digest.
    pub inputs: Vec<Input>,
}

impl Recipe {
    /// Returns the status in words, waivers in plain sight.
    pub fn status_line(&self) -> String {
        let waived: Vec<&str> = self.broken.iter().filter_map(|b| b.because.rule.as_deref()).collect();
        match waived.as_slice() {
            [] => self.status.words().to_owned(),
            [one] => format!("{}, rule {one} waived", self.status.words()),
            many => format!("{}, rules {} waived", self.status.words(), many.join(", ")),
        }
    }
}

#[derive(Debug, Clone, Serialize)]
pub struct Decisions {
    pub printer: Decided,
    pub material: Decided,
    pub nozzle: Decided,
    pub surface: Decided,
    pub agent: Decided,
    pub pose: Decided,
    pub supports: Decided,
    /// Beads of the walls, closed layers, infill.
    pub build_up: Decided,
}

impl Decisions {
    /// Returns the decisions with their names, in the order in which a person at the machine acts on them.
    pub fn all(&self) -> [(Decision, &Decided); 8] {
        [
            (Decision::Printer, &self.printer),
            (Decision::Material, &self.material),
            (Decision::Nozzle, &self.nozzle),
            (Decision::Surface, &self.surface),
            (Decision::Agent, &self.agent),
            (Decision::Pose, &self.pose),
            (Decision::Supports, &self.supports),
            (Decision::BuildUp, &self.build_up),
        ]
    }
}

#[derive(Debug, Clone, Serialize)]
pub struct Decided {
    /// By its name on the bench; a pose and a support policy in words.
    pub value: String,
    /// What a person at the machine needs besides: the spool, the bed temperature, how to lay it.
    pub detail: Detail,
    pub because: Vec<Reason>,
    pub runner_up: Option<RunnerUp>,
}

#[derive(Debug, Clone, Serialize)]
pub struct RunnerUp {
    pub value: String,
    /// How much worse in total penalty.
    pub penalty: Points,
    /// The named penalties that separated them, heaviest first; they add up to `penalty`.
    pub separated_by: Vec<Weighed>,
}

#[derive(Debug, Clone, Serialize)]
pub struct Setting {
    /// As a `pin` and a rule name it: `bed_temperature`.
    pub name: String,
    pub group: Group,
    pub value: Shown,
    /// The same in another measure, where that is how a person thinks of it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub detail: Option<Quantity>,
    pub because: Reason,
}

/// What a setting is about, in working order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Group {
    Heat,
    FirstLayer,
    Layers,
    Wall,
    ClosedLayers,
    Inside,
    Pace,
    Air,
    Feed,
    Support,
    OfTheShop,
}

#[derive(Debug, Clone, Serialize)]
pub struct Allowance {
    pub fit: String,
    pub function: String,
    /// The features of the mesh that are the fit's, in words; how many are meant where none was found.
    pub found: Found,
    pub nominal: Length,
    /// The limits the finished feature must keep.
    pub target: Limits,
    pub printer_effect: Effect,
    /// The sum, line by line.
    pub terms: Vec<Term>,
    /// `None` where a bought part takes its place.
    pub model_size: Option<Length>,
    /// Half the two-sided deviation of one piece.
    pub spread: Option<Length>,
    pub route: String,
    /// The fit and the part it mates with, where an assembly says so.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mate: Option<Mated>,
    pub because: Reason,
}

/// The other side of a mated pair.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Mated {
    pub fit: String,
    pub part: String,
}

/// What of the mesh is a fit's.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Found {
    Features(Vec<String>),
    /// None was found; so many are meant, where that is stated.
    None(Option<u32>),
}

/// What a printer does to a feature, and where that is known from.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Effect {
    /// Printed size less modelled size.
    pub shift: Length,
    pub from: String,
}

/// One effect on a printed size.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Term {
    pub name: &'static str,
    pub value: Length,
    pub counted: Counted,
    #[serde(skip_serializing_if = "String::is_empty")]
    pub from: String,
}

/// Whether a term is in the sum; one that is not is shown all the same.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Counted {
    InSum,
    InRecord,
    Local,
}

/// A margin: what must be borne, what can be, and how much lies between.
#[derive(Debug, Clone, Serialize)]
pub struct Margin {
    /// `heat`, `load "gust"`, `sunlight`, ...
    pub what: String,
    pub kind: MarginKind,
    /// The load, fit or contact it is of.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub of: Option<String>,
    pub demand: Option<Band>,
    pub capacity: Option<Band>,
    /// Capacity over demand, the unfavourable end of both.
    pub ratio: Option<f64>,
    /// Capacity less demand, of what is no matter of multiples.
    pub spare: Option<Quantity>,
    pub verdict: Verdict,
    /// It is to be settled before printing.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub asks_first: bool,
    /// Whether it may crack in the chemical where something pulls at it.
    #[serde(skip)]
    pub cracks: bool,
    pub told: MarginTold,
    pub because: Reason,
}

/// A margin as a person reads it.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct MarginTold {
    pub demand: Sentence,
    pub capacity: Sentence,
    pub margin: Sentence,
}

impl Caution {
    /// The order of worry: cautions about margins by their verdict, then the others.
    pub(crate) fn rank(&self) -> usize {
        self.margin.map_or(usize::MAX, |verdict| verdict as usize)
    }
}

#[derive(Debug, Clone, Serialize)]
pub struct Run {
    pub wanted: u32,
    pub start: u32,
    /// Pieces on the bed at a time.
    pub per_round: u32,
    /// How often the bed is filled.
    pub rounds: u32,
    pub time_each: Duration,
    pub time_total: Duration,
    pub mass_each: Mass,
    pub mass_total: Mass,
    pub cost: Cost,
    pub because: Vec<Reason>,
}

/// An amount of money, in the shop's currency where it states one.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Cost {
    pub amount: f64,
    pub currency: Option<String>,
}

#[derive(Debug, Clone)]
pub struct Phase {
    pub phase: Stage,
    pub steps: Vec<Step>,
}

/// A phase of the work; that of the first good piece stands before those it goes through.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stage {
    Of(crate::rulebook::Phase),
    FirstArticle,
}

#[derive(Debug, Clone, Serialize)]
pub struct Step {
    pub text: Sentence,
    /// Labels of blanks to fill in by hand ("measured", "by").
    pub blanks: Vec<String>,
    pub because: Reason,
    /// The fit the step is about, by its place in the spec.
    #[serde(skip)]
    pub fit: Option<usize>,
}

impl Step {
    /// Returns whether its rule read a fact of that root.
    pub fn reads(&self, root: &str) -> bool {
        self.because.values.iter().any(|v| v.name.split('.').next() == Some(root))
    }
}

#[derive(Debug, Clone, Serialize)]
pub struct Caution {
    /// The order is that of consequence.
    pub kind: CautionKind,
    pub text: Sentence,
    /// The verdict of the margin it speaks of, where that does not plainly hold; such a one is what to watch first.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub margin: Option<Verdict>,
    pub because: Reason,
}

#[derive(Debug, Clone, Serialize)]
pub struct Broken {
    pub text: Sentence,
    /// The waiver that allowed it, with its reason as given.
    pub allowed_by: AllowedBy,
    pub because: Reason,
}

#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AllowedBy {
    pub place: Cite,
    pub because: String,
}

#[derive(Debug, Clone, Serialize)]
pub struct Rejected {
    pub decision: Decision,
    pub value: String,
    pub because: Reason,
}

#[derive(Debug, Clone, Serialize)]
pub struct Conflict {
    /// Each requirement with its place.
    pub requirements: Vec<Requirement>,
    pub text: Sentence,
}

#[derive(Debug, Clone, Serialize)]
pub struct Requirement {
    pub text: Sentence,
    pub place: Cite,
}

#[derive(Debug, Clone, Serialize)]
pub struct NearMiss {
    pub value: String,
    pub breaks: Vec<Reason>,
}

#[derive(Debug, Clone, Serialize)]
pub struct Relaxation {
    /// "with 96 °C instead of 120 °C, ASA would do"
    pub text: Sentence,
    pub places: Vec<Cite>,
    /// The line to write instead, where it is a line of the spec.
    pub write: Option<String>,
}

#[derive(Debug, Clone, Serialize)]
pub struct Assumption {
    pub text: Sentence,
    pub effect: Sentence,
    /// A question whose answer could change the recipe (rather than a harmless default).
    pub question: bool,
}

impl Assumption {
    /// Returns whether it says what became of a statement, rather than what was left open.
    pub fn tells_of_use(&self) -> bool {
        matches!(self.text, Sentence::Use(_))
    }
}

#[derive(Debug, Clone, Serialize)]
pub struct MeshFact {
    pub name: &'static str,
    pub value: MeshValue,
    /// Something to look at before printing.
    pub warning: bool,
}

#[derive(Debug, Clone, Serialize)]
pub struct PoseRow {
    pub pose: String,
    pub plain: String,
    /// The sum of `penalties`; what counts against every pose of the table is in neither.
    pub total: Points,
    pub penalties: Vec<Weighed>,
    pub overhang: Area,
    pub on_the_bed: Area,
    pub height: Length,
    pub support: Volume,
}

/// A region of the part in the chosen pose.
#[derive(Debug, Clone, Serialize)]
pub struct RegionRow {
    pub kind: RegionKind,
    /// From where to where above the bed.
    pub height: [Length; 2],
    pub area: Area,
    /// The measure its verdict hangs on: span, reach, angle or diameter.
    pub extent: String,
    /// A place on it, in the axes of the mesh file, mm.
    pub at: [f64; 3],
    pub verdict: RegionVerdict,
    /// The measure against the limit, and where the limit comes from.
    pub because: String,
    /// Keys of the sources of the limits named there.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub sources: Vec<String>,
}

/// Regions not listed one by one.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Unlisted {
    pub count: usize,
    pub area: Area,
}

#[derive(Debug, Clone, Serialize)]
pub struct SourceEntry {
    pub key: String,
    pub citation: String,
}

#[derive(Debug, Clone, Serialize)]
pub struct Input {
    pub name: String,
    pub digest: String,
}
