//! The plan of a run: how many of each part to start, on which plates, where and when, from which spools, at what cost.
//!
//! Plain data, serialisable. What is decided of each part comes from its recipes ([`routing`]); how many, where and when comes
//! from the crate `planner`, which knows neither specs nor workshops; [`build`] goes between the two.

mod build;
pub mod calendar;
mod cost;
mod drying;
mod feeding;
pub mod floor;
mod late;
pub mod learned;
pub mod pace;
mod question;
pub mod record;
mod risk;
pub mod routing;
pub(crate) mod said;
pub mod symptoms;

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

pub use build::plan;

use crate::catalogue::{Catalogue, Shop};
use crate::recipe::Input;
use crate::resolve::shop::Bench;
use crate::semantics::run::{Moment, Run};
use floor::Floor;
use routing::Routing;

/// Names the shape of the machine-readable plan; it changes when a key changes its meaning or goes away.
pub const SCHEMA: &str = "makeready-plan/1";

/// A part of the run that can be made.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// As its spec names it.
    pub name: String,
    /// Good pieces wanted.
    pub wanted: u32,
    /// The day they are wanted by, and perhaps a time of that day.
    pub by: Option<(String, Option<u16>)>,
    /// Digest of its recipe for the whole run.
    pub recipe: String,
    /// As each machine makes it, the one its recipe chose first; at least one.
    pub routings: Vec<Routing>,
    /// What the records of the run say of whole plates of it.
    pub plates: record::PlatesDone,
}

/// What is asked of a plan.
pub struct Asked<'a> {
    /// The run file.
    pub run: &'a Run,
    /// What can be made of it.
    pub parts: &'a [Part],
    /// The workshop as the search sees it.
    pub bench: &'a Bench<'a>,
    /// The workshop as its file has it.
    pub shop: &'a Shop,
    /// Figures.
    pub catalogue: &'a Catalogue,
    /// What is where when the plan begins.
    pub floor: &'a Floor,
    /// The number of each printer's last round, where some are recorded.
    pub numbers: &'a BTreeMap<String, usize>,
    /// Until when a printer is busy with what it prints now.
    pub busy: &'a BTreeMap<String, Moment>,
    /// By machine, what the records of the run say of its pace, beyond what the workshop's file says of it.
    pub paces: &'a BTreeMap<String, f64>,
}

/// A whole plan.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Plan {
    /// The version of the form.
    pub schema: String,
    /// The run's name.
    pub run: String,
    /// When it begins, `2026-12-07 07:00`, as all moments here.
    pub from: String,
    /// How many of each part to start.
    pub start: Vec<Start>,
    /// Each printing of a plate, in the order in which they begin.
    pub rounds: Vec<Round>,
    /// Rounds of an earlier plan that print now; they stay.
    pub printing: Vec<Round>,
    /// What is changed between them.
    pub changeovers: Changeovers,
    /// Time of spools in the dryer before they are printed from.
    pub drying: Vec<Dried>,
    /// Parts that are done after the day they are wanted by.
    pub late: Vec<Late>,
    /// Parts that are in time, and late where everything takes as long as it may.
    pub at_risk: Vec<AtRisk>,
    /// What the stock lacks.
    pub buy: Vec<Buy>,
    /// In the workshop's money.
    pub cost: Cost,
    /// How far from the best there can be.
    pub bound: Bound,
    /// Rounds that are done, with the hours that were reckoned for them.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub done: Vec<pace::Done>,
    /// By machine, what its printing times are multiplied by, where that is not 1.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    pub pace: BTreeMap<String, f64>,
    /// Rows of the run's records that this plan knows.
    pub recorded: usize,
    /// What is made otherwise than the parts' own recipes have it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub otherwise: Vec<Otherwise>,
    /// Parts of the run that are not planned, and why.
    pub left_out: Vec<LeftOut>,
    /// What was taken where nothing is said, and what differs from the specs.
    pub told: Vec<String>,
    /// Everything that went in, with a digest.
    #[serde(skip_deserializing)]
    pub inputs: Vec<Input>,
}

impl Plan {
    /// Returns the round of a name, among those that print now as well.
    pub fn round(&self, name: &str) -> Option<&Round> {
        self.rounds.iter().chain(&self.printing).find(|r| r.name == name)
    }
}

/// How many of a part to start.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Start {
    /// As its spec names it.
    pub part: String,
    /// Good pieces wanted.
    pub wanted: u32,
    /// Pieces to start.
    pub start: u32,
    /// The chance that as many as wanted are good.
    pub confidence: f64,
    /// What the number rests on.
    pub basis: String,
    /// The first digits of the BLAKE3 digest of its recipe for this run, as YAML.
    pub recipe: String,
    /// How many of the lot are measured, where the run asks for a sample.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sample: Option<String>,
}

/// One printing of a plate.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Round {
    /// The machine and a running number.
    pub name: String,
    /// By its name in the workshop, as all of these.
    pub printer: String,
    /// Fitted.
    pub nozzle: String,
    /// On the bed.
    pub surface: String,
    /// Laid on the surface; none where nothing is.
    pub agent: Option<String>,
    /// By the catalogue's name.
    pub material: String,
    /// In the order in which they are used.
    pub spools: Vec<Draw>,
    /// What lies on the plate.
    pub parts: Vec<OnPlate>,
    /// What is changed first.
    pub changes: Vec<Change>,
    /// When somebody begins to clear, change and prepare.
    pub setup: String,
    /// When printing begins.
    pub begin: String,
    /// When it ends.
    pub end: String,
    /// Printing time; expect [`Bound::time_low`] to [`Bound::time_high`] times as much.
    pub hours: f64,
    /// Filament of the plate.
    pub mass_g: f64,
    /// Some of the time nobody is there.
    pub unattended: bool,
    /// When it ends if printing takes as long as it may, where nobody is there any more by then and somebody is by the end planned.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub after_hours: Option<String>,
}

/// What a plate takes from a spool.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Draw {
    /// By its name in the workshop; one to be bought by its material and colour.
    pub name: String,
    /// How much.
    pub mass_g: f64,
}

/// Pieces of one part on a plate.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct OnPlate {
    /// As its spec names it.
    pub part: String,
    /// How many.
    pub count: u32,
    /// Where each lies.
    pub places: Vec<Place>,
    /// What a piece covers, its lower left corner at the origin, mm; for drawing.
    #[serde(skip)]
    pub outline: Vec<[f64; 2]>,
}

/// Where a piece lies: its outline is turned about its own lower left corner, anticlockwise, then moved so that this corner
/// comes here, from the front left corner of the bed.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Place {
    /// To the right.
    pub x_mm: f64,
    /// To the back.
    pub y_mm: f64,
    /// Anticlockwise, seen from above.
    pub turn_deg: f64,
}

/// One thing that is changed on a machine.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Change {
    /// `material`, `nozzle` or `surface`.
    pub what: String,
    /// What is there before.
    pub from: String,
    /// What is there after.
    pub to: String,
    /// A person's time.
    pub minutes: i64,
    /// Filament purged.
    pub purge_g: f64,
}

/// What is changed between rounds.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Changeovers {
    /// Rounds before which anything is changed.
    pub count: i64,
    /// A person's time for all of them.
    pub minutes: i64,
    /// Filament purged for all of them.
    pub purge_g: f64,
}

/// Time of a spool in the dryer.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Dried {
    /// By its name in the workshop, or by material and colour.
    pub spool: String,
    /// When it goes in.
    pub from: String,
    /// When it may come out.
    pub to: String,
    /// How hot.
    pub at: String,
    /// The first round that is printed from it.
    pub round: String,
}

/// A part that is done late.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Late {
    /// As its spec names it.
    pub part: String,
    /// When it is wanted by; none where it has no date, and yet no place in the hours of the run.
    pub by: Option<String>,
    /// When its last round is done; none where it found no place.
    pub done: Option<String>,
    /// Changes that would make it in time, each found by planning again.
    pub would_free: Vec<String>,
}

/// A part that may be late.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct AtRisk {
    /// As its spec names it.
    pub part: String,
    /// When it is wanted by.
    pub by: String,
    /// When its last round is done by the plan.
    pub done: String,
    /// When it would be, did every round take as long as it may.
    pub latest: String,
}

/// Something to buy.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Buy {
    /// What it is.
    pub what: String,
    /// How much filament, in grams.
    pub mass_g: f64,
    /// When it must be there.
    pub by: String,
    /// Why.
    pub because: String,
}

/// What the run costs; nothing where the workshop's file states no price for it.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Cost {
    /// Filament, what is purged with it.
    pub material: f64,
    /// Hours of the machines.
    pub machine: Option<f64>,
    /// Their electricity.
    pub electricity: Option<f64>,
    /// A person's time at plates and changes.
    pub handling: Option<f64>,
    /// What of the total is spent on pieces that are expected not to come out good.
    pub scrap: f64,
    /// All but `scrap`, which is part of it.
    pub total: f64,
    /// The total by the pieces wanted.
    pub per_good: f64,
    /// By part: what one more plate of it costs a piece, so that rework can be held against printing again.
    pub reprint: Vec<Reprint>,
    /// As the workshop's file writes it; none where it states none.
    pub currency: Option<String>,
}

/// What another piece costs.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Reprint {
    /// As its spec names it.
    pub part: String,
    /// A piece among others on a full plate.
    pub among_others: f64,
    /// A piece on a plate of its own, a person's time at it counted.
    pub by_itself: f64,
}

/// How far from the best there can be.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Bound {
    /// Plates, and the number that fewer cannot do, for each lot of parts that may share them.
    pub plates: Vec<Plates>,
    /// The goals in their order, what the plan comes to in each and what no order of these plates can beat.
    pub order: Vec<Reached>,
    /// No better order of these plates exists.
    pub order_proven: bool,
    /// Least a printing time may come to, as a multiple.
    pub time_low: f64,
    /// Most it may come to.
    pub time_high: f64,
}

/// Plates against their bound.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Plates {
    /// The parts on them.
    pub parts: Vec<String>,
    /// So many were found.
    pub found: usize,
    /// Fewer cannot do.
    pub at_least: usize,
}

/// A goal and how far it was reached.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Reached {
    /// What is to be little.
    pub goal: String,
    /// What the plan comes to.
    pub found: i64,
    /// No order can beat this; none where no bound is known.
    pub at_least: Option<i64>,
}

/// A part that is not planned.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct LeftOut {
    /// As its spec names it, or the spec's file where it could not be read.
    pub part: String,
    /// What its recipe says of it.
    pub status: String,
    /// Why, and what would help.
    pub why: String,
}

/// A decision that the plan takes otherwise than the part's own recipe, which knows nothing of the run.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Otherwise {
    /// As its spec names it.
    pub part: String,
    /// `material`, `spool`, `printer`, ...
    pub decision: String,
    /// What its own recipe has.
    pub before: String,
    /// What is planned.
    pub now: String,
    /// What of the run makes the difference, found by compiling again.
    pub why: String,
}
