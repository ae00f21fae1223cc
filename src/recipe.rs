//! The recipe: plain data, serialisable, every line with its reason. It knows no text format.
//!
//! The YAML and JSON forms are these structs as they are; `SCHEMA` names their version.

mod allowances;
mod build;
mod decisions;
mod lying;
mod margins;
pub mod mates;
mod mesh;
mod oversize;
mod points;
mod reasons;
pub(crate) mod refusal;
mod settings;
mod statements;
mod weak;

pub use build::build;
pub use points::{Points, Weighed, named_and_smaller};
pub use reasons::origin_words;
pub use statements::tells_of_use;
pub use weak::weaknesses;

use serde::Serialize;

/// Names the shape of the machine-readable recipe; it changes when a key changes its meaning or goes away.
pub const SCHEMA: &str = "makeready-recipe/2";

/// Why a line is as it is. The reason is part of the value; nobody rebuilds it later.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Reason {
    /// One sentence, numbers included.
    pub text: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rule: Option<String>,
    /// Places in the spec, profile, shop or catalogue it rests on, as `file:line`.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub places: Vec<String>,
    /// The values it used, each with its own origin.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub values: Vec<UsedValue>,
    /// `common-practice`, `from-memory`, `computed`, or kind and citation key (`paper SPOERK18`).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub source: Option<String>,
}

#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct UsedValue {
    pub name: String,
    pub value: String,
    /// Place or source of the value, in words.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub from: String,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Status {
    Ready,
    ReadyWithCautions,
    /// It can be printed, no rule refuses it, and yet one of its margins is broken.
    DoesNotHold,
    NotPrintableAsSpecified,
}

impl Status {
    pub fn words(self) -> &'static str {
        match self {
            Status::Ready => "ready",
            Status::ReadyWithCautions => "ready with cautions",
            Status::DoesNotHold => "does not hold as specified",
            Status::NotPrintableAsSpecified => "not printable as specified",
        }
    }
}

#[derive(Debug, Clone, Serialize)]
pub struct Recipe {
    pub schema: &'static str,
    pub part: String,
    pub revision: Option<String>,
    pub purpose: Option<String>,
    pub status: Status,
    /// One sentence for the top of the page.
    pub headline: String,
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
    pub sources: Vec<SourceEntry>,
    /// Everything that went in, with a digest.
    pub inputs: Vec<Input>,
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
}

#[derive(Debug, Clone, Serialize)]
pub struct Decided {
    pub value: String,
    /// What a person at the machine needs besides: the spool, the bed temperature, how to lay it.
    pub detail: String,
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
    /// `heat`, `first layer`, `layers`, `wall`, `skin`, `inside`, `pace`, `air`, `feed`, `support`, `of the shop`
    pub group: String,
    pub value: String,
    /// The same in another measure, where that is how a person thinks of it.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub detail: String,
    pub because: Reason,
}

#[derive(Debug, Clone, Serialize)]
pub struct Allowance {
    pub fit: String,
    pub function: String,
    pub nominal: String,
    /// The limits the finished feature must keep.
    pub target: String,
    /// What this printer does to such a feature, and where that is known from.
    pub printer_effect: String,
    /// The sum, line by line.
    pub terms: Vec<UsedValue>,
    pub model_size: String,
    pub spread: String,
    pub route: String,
    pub because: Reason,
}

#[derive(Debug, Clone, Serialize)]
pub struct Margin {
    /// `heat`, `load "gust"`, `sun`, ...
    pub what: String,
    pub demand: String,
    pub capacity: String,
    pub margin: String,
    /// `holds`, `holds narrowly`, `broken`, `not shown`
    pub verdict: String,
    pub because: Reason,
}

impl Margin {
    /// The order of worry: what does not hold, what cannot be shown to, what holds narrowly, what holds.
    pub(crate) fn rank(&self) -> usize {
        rank(&self.verdict)
    }
}

impl Caution {
    /// The order of worry: cautions about margins by their verdict, then the others.
    pub(crate) fn rank(&self) -> usize {
        if self.margin.is_empty() { usize::MAX } else { rank(&self.margin) }
    }
}

fn rank(verdict: &str) -> usize {
    let order = ["broken", "not shown", "holds narrowly"];
    order.iter().position(|v| *v == verdict).unwrap_or(order.len())
}

#[derive(Debug, Clone, Serialize)]
pub struct Run {
    pub wanted: u32,
    pub start: u32,
    /// Pieces on the bed at a time.
    pub per_round: u32,
    /// How often the bed is filled.
    pub rounds: u32,
    pub time_each: String,
    pub time_total: String,
    pub mass_each: String,
    pub mass_total: String,
    pub cost: String,
    pub because: Vec<Reason>,
}

#[derive(Debug, Clone, Serialize)]
pub struct Phase {
    /// `prepare`, `change-over`, `first-layer`, `during`, `removal`, `finish`, `inspect`, `first-article`
    pub phase: String,
    pub title: String,
    pub steps: Vec<Step>,
}

#[derive(Debug, Clone, Serialize)]
pub struct Step {
    pub text: String,
    /// Labels of blanks to fill in by hand ("measured", "by").
    pub blanks: Vec<String>,
    pub because: Reason,
}

#[derive(Debug, Clone, Serialize)]
pub struct Caution {
    /// `injury`, `fire`, `health`, `load`, `damage`, `quality`: the order is that of consequence
    pub kind: String,
    pub text: String,
    /// The verdict of the margin it speaks of, where that does not plainly hold; such a one is what to watch first.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub margin: String,
    pub because: Reason,
}

#[derive(Debug, Clone, Serialize)]
pub struct Broken {
    pub text: String,
    /// The pin or waiver that allowed it, with its reason as given.
    pub allowed_by: String,
    pub because: Reason,
}

#[derive(Debug, Clone, Serialize)]
pub struct Rejected {
    pub decision: String,
    pub value: String,
    pub because: Reason,
}

#[derive(Debug, Clone, Serialize)]
pub struct Conflict {
    /// Each requirement with its place.
    pub requirements: Vec<Requirement>,
    pub text: String,
}

#[derive(Debug, Clone, Serialize)]
pub struct Requirement {
    pub text: String,
    pub place: String,
}

#[derive(Debug, Clone, Serialize)]
pub struct NearMiss {
    pub value: String,
    pub breaks: Vec<Reason>,
}

#[derive(Debug, Clone, Serialize)]
pub struct Relaxation {
    /// "with 96 °C instead of 120 °C, ASA would do"
    pub text: String,
    pub place: String,
    /// The line to write instead, where it is a line of the spec.
    pub write: Option<String>,
}

#[derive(Debug, Clone, Serialize)]
pub struct Assumption {
    pub text: String,
    pub effect: String,
    /// A question whose answer could change the recipe (rather than a harmless default).
    pub question: bool,
}

#[derive(Debug, Clone, Serialize)]
pub struct MeshFact {
    pub name: String,
    pub value: String,
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
    pub facts: Vec<UsedValue>,
}

/// A region of the part in the chosen pose.
#[derive(Debug, Clone, Serialize)]
pub struct RegionRow {
    /// `bridge`, `ledge`, `hole crown`, ...
    pub kind: String,
    /// From where to where above the bed.
    pub height: String,
    pub area: String,
    /// The measure its verdict hangs on: span, reach, angle or diameter.
    pub extent: String,
    /// A place on it, in the axes of the mesh file.
    pub at: String,
    pub verdict: String,
    /// The measure against the limit, and where the limit comes from.
    pub because: String,
    /// Keys of the sources of the limits named there.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub sources: Vec<String>,
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
