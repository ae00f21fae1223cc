//! The recipe: plain data, serialisable, every line with its reason. It knows no text format and makes no words.
//!
//! Values are quantities and words of closed sets; what is to be said is a [`Sentence`], which names what it says and holds
//! the values in it. `render::words` puts it into English, for the page and for the machine form alike; `SCHEMA` names the
//! shape of the latter.

pub mod alike;
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
mod sums;
mod weak;

pub(crate) use build::build;
pub(crate) use decisions::against;
pub(crate) use margins::of_load;
pub(crate) use points::total;
pub use points::{Points, Weighed};
pub(crate) use sentence::*;
pub use sentence::{Choice, Detail, Limits, MeshValue, Sentence};
pub use sums::{Governs, InLayers, LeftBy, LoadSums, LowTypical, SolvedOn};
pub(crate) use weak::weaknesses;

use serde::Serialize;

use crate::diag::{Cite, Span};
use crate::fits::SourceKind;
use crate::fits::allowance::Cause;
use crate::fits::said::Named;
use crate::geometry::regions::{Kind as RegionKind, Verdict as RegionVerdict};
use crate::quantity::{Area, Duration, Length, Mass, Quantity, Volume};
use crate::resolve::margin::{Band, MarginKind};
use crate::resolve::shop::Unread;
use crate::rulebook::value::Value;
use crate::rulebook::{CautionKind, Decision};
use crate::semantics::requirements::Key;
use crate::word::words;

pub use crate::resolve::margin::{Name as MarginName, Verdict};

/// Names the shape of the machine-readable recipe; it changes when a key changes its meaning or goes away.
pub const SCHEMA: &str = "makeready-recipe/3";

/// Why a line is as it is. The reason is part of the value; nobody rebuilds it later.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Reason {
    /// One sentence, numbers included.
    pub text: Sentence,
    /// Name of the rule; `None` where no rule says it.
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

impl Reason {
    /// A reason that is arithmetic of the program's own.
    pub fn computed(text: Sentence) -> Self {
        Self { text, source: vec![Cited::bare(SourceKind::Computed)], ..Self::default() }
    }
}

/// A source, and what of the line it is the source of.
#[derive(Debug, Clone, PartialEq)]
pub struct Cited {
    /// How good a source it is.
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
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct UsedValue {
    /// As rules name it: `material.warp`.
    pub name: String,
    /// As it was read; may be unknown.
    pub value: Shown,
    /// Place or source of the value.
    #[serde(skip_serializing_if = "Basis::is_nothing")]
    pub from: Basis,
}

/// A value as it is shown: a quantity in the unit a person would use, a share as a percentage.
#[derive(Debug, Clone, PartialEq)]
pub enum Shown {
    /// An amount, a word, or nothing known.
    Value(Value),
    /// A share of 1, shown times 100.
    Percent(f64),
}

/// Where a value comes from.
#[derive(Debug, Clone, Default, PartialEq)]
pub enum Basis {
    /// Nothing to cite: an intermediate.
    #[default]
    Nothing,
    /// A place in the spec, a profile, the shop or the rules.
    Stated(Cite),
    /// A value of the catalogue, with its range.
    Sourced {
        /// The kind of source, and what to look up.
        source: Cited,
        /// Least and most, where the source gives more than one figure.
        range: Option<(Quantity, Quantity)>,
    },
    /// Measured on the mesh.
    Measured,
    /// Computed, with its working.
    Computed(std::sync::Arc<str>),
    /// Assumed, since nothing was said.
    Assumed(crate::rulebook::value::Assumed),
}

impl Basis {
    fn is_nothing(&self) -> bool {
        matches!(self, Basis::Nothing)
    }
}

/// What may be done with a recipe, the best first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Status {
    /// It may be printed, and nothing needs watching beyond the usual.
    Ready,
    /// It may be printed; the cautions name what to watch.
    ReadyWithCautions,
    /// Something that decides is not shown, and its failure would do damage or hurt: it is to be settled first.
    QuestionFirst,
    /// It can be printed, no rule refuses it, and yet one of its margins is broken.
    DoesNotHold,
    /// Rules refuse everything this shop could make it of or with.
    NotPrintableAsSpecified,
}

impl Status {
    /// Every status, the best first.
    pub const ALL: [Status; 5] = [
        Status::Ready,
        Status::ReadyWithCautions,
        Status::QuestionFirst,
        Status::DoesNotHold,
        Status::NotPrintableAsSpecified,
    ];

    /// Returns the status that data name so; `None` where an older recipe names one that is no longer.
    pub fn of(slug: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|status| status.slug() == slug)
    }

    /// Returns how data name it.
    pub const fn slug(self) -> &'static str {
        match self {
            Status::Ready => "ready",
            Status::ReadyWithCautions => "ready-with-cautions",
            Status::QuestionFirst => "question-first",
            Status::DoesNotHold => "does-not-hold",
            Status::NotPrintableAsSpecified => "not-printable-as-specified",
        }
    }

    /// Returns whether the part may be printed by the recipe as it stands; else the program's exit code says that it may not.
    pub fn may_print(self) -> bool {
        self <= Status::ReadyWithCautions
    }

    /// Returns the status as a person reads it.
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

/// All that is known of how to make a part, or of why it cannot be made.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Recipe {
    /// The version of the form.
    #[cfg_attr(test, schemars(extend("const" = SCHEMA)))]
    pub schema: &'static str,
    /// The part's name, as its spec has it.
    pub part: String,
    /// The spec's file; places in it are told by their path alone.
    pub spec: String,
    /// As the spec has it; `None` where it states none.
    pub revision: Option<String>,
    /// What the part is for, as the spec has it.
    pub purpose: Option<String>,
    /// The worst that holds of anything below.
    pub status: Status,
    /// One sentence for the top of the page.
    pub headline: Sentence,
    /// `None` where it can't be printed as specified.
    pub decisions: Option<Decisions>,
    /// In working order, those only rules of this shop derive last; empty where it can't be printed.
    pub settings: Vec<Setting>,
    /// One for each fit, in the order of the spec.
    pub allowances: Vec<Allowance>,
    /// In the order of [`MarginKind`].
    pub margins: Vec<Margin>,
    /// `None` where it can't be printed as specified.
    pub run: Option<Run>,
    /// In the order of work, phases without steps left out.
    pub checklist: Vec<Phase>,
    /// Uses the print is not for, until what each says is shown.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub not_for: Vec<NotFor>,
    /// Entries of the workshop's file that nothing looked at for this job. Neither page nor data hold them, or a tool that no
    /// part asks for would move every recipe.
    #[serde(skip)]
    pub unread: Vec<Unread>,
    /// In order of consequence; only those that apply to this job.
    pub cautions: Vec<Caution>,
    /// Requirements a pin or a waiver breaks, in plain sight.
    pub broken: Vec<Broken>,
    /// Materials, printers, nozzles and surfaces that were not taken, by decision.
    pub rejected: Vec<Rejected>,
    /// Where nothing is left: the smallest sets of requirements that cannot stand together.
    pub conflicts: Vec<Conflict>,
    /// Where nothing is left: the choices that break least.
    pub nearest: Vec<NearMiss>,
    /// Smallest changes that free it, each verified by solving again.
    pub relaxations: Vec<Relaxation>,
    /// What the spec leaves open and what was taken for it, then what became of statements that changed nothing.
    pub assumptions: Vec<Assumption>,
    /// What was measured of it, and what of that to look at.
    pub mesh: Vec<MeshFact>,
    /// The other poses looked at, best first.
    pub poses: Vec<PoseRow>,
    /// What of the part in the chosen pose does not simply lie on the layer below, and what is to be done about it.
    pub regions: Vec<RegionRow>,
    /// `None` where every region is in the list.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub more_regions: Option<Unlisted>,
    /// The citations behind the keys, by key; only those that are cited.
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

/// What is decided, and why each so.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Decisions {
    /// Which machine.
    pub printer: Decided,
    /// Which polymer, and from which spool.
    pub material: Decided,
    /// Which nozzle of the bench.
    pub nozzle: Decided,
    /// What the first layer is laid on.
    pub surface: Decided,
    /// What goes between surface and part; `none` is an answer too.
    pub agent: Decided,
    /// Which way up.
    pub pose: Decided,
    /// Where support is printed.
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

/// One decision.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Decided {
    /// By its name on the bench; a pose and a support policy in words.
    pub value: String,
    /// What a person at the machine needs besides: the spool, the bed temperature, how to lay it.
    pub detail: Detail,
    /// The pins that ask for it, then what rules others out, then what makes it the cheapest of those left.
    pub because: Vec<Reason>,
    /// What would have come next; `None` where nothing else stands.
    pub runner_up: Option<RunnerUp>,
}

/// What would have been decided instead.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct RunnerUp {
    /// By its name on the bench, as the decision's own.
    pub value: String,
    /// How much worse in total penalty.
    pub penalty: Points,
    /// The named penalties that separated them, heaviest first; they add up to `penalty`.
    pub separated_by: Vec<Weighed>,
    /// How much more the whole run would take with it; `None` where either cannot be told.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub run_apart: Option<Apart>,
}

/// By how much the run of one choice differs from that of another.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Apart {
    /// Longer, or shorter where negative.
    pub time: Duration,
    /// Dearer, or cheaper where negative.
    pub cost: Cost,
}

/// One value to enter on the print job.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Setting {
    /// As a `pin` and a rule name it: `bed_temperature`.
    pub name: String,
    /// Under which heading it stands.
    pub group: Group,
    /// What to enter.
    pub value: Shown,
    /// The same in another measure, where that is how a person thinks of it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub detail: Option<Quantity>,
    /// The rule that gave it, or the pin.
    pub because: Reason,
}

words! {
    /// What a setting is about, in working order.
    pub enum Group {
        /// Temperatures of nozzle, bed and chamber.
        Heat = "heat",
        /// What differs while the first layer is laid.
        FirstLayer = "first layer",
        /// Heights of the layers.
        Layers = "layers",
        /// Lines of the walls.
        Wall = "wall",
        /// What closes the part above and below.
        ClosedLayers = "closed layers",
        /// Infill.
        Inside = "inside",
        /// Speeds, accelerations, flow.
        Pace = "pace",
        /// Fan.
        Air = "air",
        /// Retraction and the feed of the filament.
        Feed = "feed",
        /// Supports and what keeps them off the part.
        Support = "support",
        /// What only rules of this shop derive.
        OfTheShop = "of the shop",
    }
}

/// How a fit gets its size: from the nominal one to that in the model.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Allowance {
    /// As the spec calls it.
    pub fit: String,
    /// What it does, with its designation: `clearance M4 medium`.
    pub function: Named,
    /// The features of the mesh that are the fit's, in words; how many are meant where none was found.
    pub found: Found,
    /// The size the fit is named by.
    pub nominal: Length,
    /// The limits the finished feature must keep.
    pub target: Limits,
    /// What this printer does to such a feature.
    pub printer_effect: Effect,
    /// The sum, line by line.
    pub terms: Vec<Term>,
    /// `None` where a bought part takes its place.
    pub model_size: Option<Length>,
    /// Half the two-sided deviation of one piece.
    pub spread: Option<Length>,
    /// How the feature is made to size.
    pub route: Sentence,
    /// What it takes besides the printer: cutters, and bought parts for one piece.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub fetch: Vec<Fetched>,
    /// The fit and the part it mates with, where an assembly says so.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mate: Option<Mated>,
    /// What its limits come from.
    pub because: Reason,
}

/// Something to have at hand for a fit.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Fetched {
    /// In words: `reamer 6 mm`, `bearing 608`.
    pub what: String,
    /// How many go into one piece; `None` for a tool.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub each: Option<u32>,
    /// Whether the shop's file lists it; `None` where it does not say.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub there: Option<bool>,
}

/// The other side of a mated pair.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Mated {
    /// As the other part's spec calls it.
    pub fit: String,
    /// Name of the other part.
    pub part: String,
}

/// What of the mesh is a fit's.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Found {
    /// In the order of the mesh's own list of features.
    Features(Vec<String>),
    /// None was found; so many are meant, where that is stated.
    None(Option<u32>),
}

/// What a printer does to a feature, and where that is known from.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Effect {
    /// Printed size less modelled size.
    pub shift: Length,
    /// The record or the default it rests on, in words.
    pub from: String,
}

/// One effect on a printed size.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Term {
    /// What does it: shrinkage, chord, bulge.
    pub name: Cause,
    /// On the whole size; positive makes it larger.
    pub value: Length,
    /// Whether the model makes up for it.
    pub counted: Counted,
    /// What it comes from, and its source, where the printer's effect does not name the same one.
    pub from: Sentence,
}

/// Whether a term is in the sum; one that is not is shown all the same.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Counted {
    /// Added.
    InSum,
    /// Not added: the printer's record holds it already.
    InRecord,
    /// Not added: it is in one place only, such as the first layer.
    Local,
}

/// A margin: what must be borne, what can be, and how much lies between.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Margin {
    /// `heat`, `load "gust"`, `sunlight`, ...
    pub what: MarginName,
    /// What it is about.
    pub kind: MarginKind,
    /// The load, fit or contact it is of.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub of: Option<String>,
    /// The requirement of the spec that asks for it; `None` where none does.
    #[serde(skip)]
    pub asked_by: Option<Key>,
    /// What must be borne; `None` where it is not known or no amount.
    pub demand: Option<Band>,
    /// What can be; `None` where it is not known or no amount.
    pub capacity: Option<Band>,
    /// Capacity over demand, the unfavourable end of both.
    pub ratio: Option<f64>,
    /// Capacity less demand, of what is no matter of multiples.
    pub spare: Option<Quantity>,
    /// As rules judged it, with the consequence of a failure in view.
    pub verdict: Verdict,
    /// It is to be settled before printing.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub asks_first: bool,
    /// Whether it may crack in the chemical where something pulls at it.
    #[serde(skip)]
    pub cracks: bool,
    /// The same in words.
    pub told: MarginTold,
    /// Of a load: what it can be worked out from again.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sums: Option<Box<LoadSums>>,
    /// What it rests on.
    pub because: Reason,
}

/// A margin as a person reads it.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct MarginTold {
    /// What must be borne.
    pub demand: Sentence,
    /// What can be.
    pub capacity: Sentence,
    /// What lies between.
    pub margin: Sentence,
}

impl Caution {
    /// The order of worry: cautions about margins by their verdict, then the others.
    pub(crate) fn rank(&self) -> usize {
        self.margin.map_or(usize::MAX, |verdict| verdict as usize)
    }
}

/// How many, in how many fillings of the bed, and what that takes.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Run {
    /// Good pieces asked for.
    pub wanted: u32,
    /// Pieces to start, spoilt ones allowed for.
    pub start: u32,
    /// Pieces on the bed at a time.
    pub per_round: u32,
    /// How often the bed is filled.
    pub rounds: u32,
    /// Of one piece.
    pub time_each: Duration,
    /// Of all plates.
    pub time_total: Duration,
    /// Of one piece, with its supports.
    pub mass_each: Mass,
    /// Of all plates.
    pub mass_total: Mass,
    /// Of the whole run.
    pub cost: Cost,
    /// What the plan, the time and the cost rest on.
    pub because: Vec<Reason>,
}

/// An amount of money, in the shop's currency where it states one.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Cost {
    /// In units of the currency.
    pub amount: f64,
    /// As the shop's file writes it; `None` where it states none.
    pub currency: Option<String>,
}

/// Steps that belong together.
#[derive(Debug, Clone)]
pub struct Phase {
    /// Which part of the work.
    pub phase: Stage,
    /// In the order of work.
    pub steps: Vec<Step>,
}

/// A phase of the work; that of the first good piece stands before those it goes through.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stage {
    /// One of the rules' phases.
    Of(crate::rulebook::Phase),
    /// The first good piece, before the rest is printed.
    FirstArticle,
}

/// One line of the checklist.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Step {
    /// What to do.
    pub text: Sentence,
    /// Labels of blanks to fill in by hand ("measured", "by").
    pub blanks: Vec<String>,
    /// The rule that asks for it.
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

/// Something to heed.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Caution {
    /// The order is that of consequence.
    pub kind: CautionKind,
    /// What, and what comes of it otherwise.
    pub text: Sentence,
    /// The verdict of the margin it speaks of, where that does not plainly hold; such a one is what to watch first.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub margin: Option<Verdict>,
    /// The rule that gives it.
    pub because: Reason,
}

/// A requirement that is broken on purpose.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Broken {
    /// What is broken.
    pub text: Sentence,
    /// The waiver that allowed it, with its reason as given.
    pub allowed_by: AllowedBy,
    /// The rule that is broken.
    pub because: Reason,
}

/// A waiver or a pin.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct AllowedBy {
    /// Where it stands.
    pub place: Cite,
    /// The reason its author gave.
    pub because: String,
}

/// A use that cannot be established from here.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct NotFor {
    /// The use, as it follows "not for".
    pub usage: Sentence,
    /// What would establish it, who decides, and the other ways.
    pub until: Sentence,
    /// The rule and what it rests on.
    pub because: Reason,
}

/// A choice that was not taken.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Rejected {
    /// What it would have decided.
    pub decision: Decision,
    /// By its name on the bench.
    pub value: String,
    /// What refuses it, or what it costs more.
    pub because: Reason,
}

/// Requirements that cannot stand together.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Conflict {
    /// Each requirement with its place.
    pub requirements: Vec<Requirement>,
    /// Why not, in a sentence.
    pub text: Sentence,
}

/// One line that is in the way.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Requirement {
    /// The line as written.
    pub text: Sentence,
    /// Where it stands.
    pub place: Cite,
}

/// A choice that breaks little.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct NearMiss {
    /// Material and printer.
    pub value: String,
    /// Each requirement it breaks.
    pub breaks: Vec<Reason>,
}

/// A change that frees it.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Relaxation {
    /// "with 96 °C instead of 120 °C, ASA would do"
    pub text: Sentence,
    /// The lines that change.
    pub places: Vec<Cite>,
    /// The line to write instead, where it is a line of the spec.
    pub write: Option<String>,
    /// Each change of the spec's text by itself; empty where one of them is of the workshop or the model.
    #[serde(skip)]
    pub rewrites: Vec<Rewrite>,
}

/// A change of a spec's text.
#[derive(Debug, Clone, PartialEq)]
pub struct Rewrite {
    /// The line that changes.
    pub at: Span,
    /// What to write in its place; nothing where it is to go.
    pub text: String,
    /// It is no line to change but the part's name: the text is a line more in its block.
    pub more: bool,
}

/// Something the spec does not say.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Assumption {
    /// What is not said, and what was taken.
    pub text: Sentence,
    /// What another answer would change.
    pub effect: Sentence,
    /// A question whose answer could change the recipe (rather than a harmless default).
    pub question: bool,
    /// Answers there are, and what each would lead to, found by solving again.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub answers: Vec<Answer>,
}

/// An answer to a question, and what it would lead to.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Answer {
    /// What to write in the spec.
    pub write: String,
    /// "PETG on Alder"
    pub leads_to: Sentence,
}

impl Assumption {
    /// Makes one without answers.
    pub fn new(text: impl Into<Sentence>, effect: impl Into<Sentence>, question: bool) -> Self {
        Self { text: text.into(), effect: effect.into(), question, answers: Vec::new() }
    }

    /// Returns whether it says what became of a statement, rather than what was left open.
    pub fn tells_of_use(&self) -> bool {
        matches!(self.text, Sentence::Use(_))
    }
}

/// One thing known of the mesh.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct MeshFact {
    /// What was measured: `size`, `thinnest wall`.
    pub name: &'static str,
    /// What was found.
    pub value: MeshValue,
    /// Something to look at before printing.
    pub warning: bool,
}

/// A pose that was looked at.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct PoseRow {
    /// The direction that is up: `+z up`.
    pub pose: String,
    /// How the part lies, as a person at the machine says it.
    pub plain: String,
    /// What is taken otherwise than chosen, where the pose does not stand with that: `steel-04`.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub along: Vec<String>,
    /// Sides of the file on which a symmetry of the part makes everything the same, by the same kind of name.
    pub equals: Vec<String>,
    /// The sum of `penalties`; what counts against every pose of the table is in neither.
    pub total: Points,
    /// The named penalties that tell the poses apart, heaviest first.
    pub penalties: Vec<Weighed>,
    /// Facets steeper than the limit.
    pub overhang: Area,
    /// Facets lying on the bed.
    pub on_the_bed: Area,
    /// Above the bed.
    pub height: Length,
    /// Room to be filled with support.
    pub support: Volume,
}

/// A region of the part in the chosen pose.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct RegionRow {
    /// What holds it.
    pub kind: RegionKind,
    /// From where to where above the bed.
    pub height: [Length; 2],
    /// Of its facets.
    pub area: Area,
    /// The measure its verdict hangs on: span, reach, angle or diameter.
    pub extent: String,
    /// A place on it, in the axes of the mesh file, mm.
    pub at: [f64; 3],
    /// What is to be done about it.
    pub verdict: RegionVerdict,
    /// The measure against the limit, and where the limit comes from.
    pub because: String,
    /// Keys of the sources of the limits named there.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub sources: Vec<String>,
}

/// Regions not listed one by one.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Unlisted {
    /// How many.
    pub count: usize,
    /// Of all their facets.
    pub area: Area,
}

/// A work that is cited.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct SourceEntry {
    /// As reasons cite it.
    pub key: String,
    /// In full, with how far it was looked up.
    pub citation: String,
}

/// A text that went in.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Input {
    /// File name, or what of the program it is.
    pub name: String,
    /// The first 16 hexadecimal digits of its BLAKE3 digest.
    pub digest: String,
}
