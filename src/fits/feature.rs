//! What a fit needs to know about the feature it sits on and the printer that makes it.

use super::calibration::CalibrationRecord;
use super::hardware::InsertData;
use super::practice::{Polymer, Practice};
use crate::quantity::Length;
use crate::seen::Seen;
use serde::Serialize;
use std::fmt;

/// Whether material surrounds the feature (a hole, pocket or slot) or the feature is material (a peg, boss or tenon).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum FeatureKind {
    /// Material around it: a bore, a slot, a pocket.
    Hole,
    /// Material inside it: a boss, a peg, a rail.
    Outside,
}

impl FeatureKind {
    /// Returns the word of specs and calibration records.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Hole => "hole",
            Self::Outside => "outside",
        }
    }
}

impl fmt::Display for FeatureKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

/// How the feature's axis lies while printing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum FeatureAxis {
    /// The axis lies in the layers: a horizontal hole, round only in steps of the layer height.
    AlongLayers,
    /// The axis stands across the layers: a vertical hole, drawn as a circle in every layer.
    AcrossLayers,
}

impl FeatureAxis {
    /// Returns the word of calibration records.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::AlongLayers => "along-layers",
            Self::AcrossLayers => "across-layers",
        }
    }
}

impl fmt::Display for FeatureAxis {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

/// Where the allowance is put in: it must be in exactly one place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Default)]
#[serde(rename_all = "kebab-case")]
pub enum Compensation {
    /// Nothing was declared; the mesh is looked at and the finding is reported.
    #[default]
    Undeclared,
    /// The designer puts the size to model into the mesh.
    InModel,
    /// The mesh stays nominal and the recipe's settings carry the difference.
    InRecipe,
}

/// A finish the spec insists on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Finishing {
    /// Nothing cuts it.
    AsPrinted,
    /// Cut to an ISO class with a reamer.
    Reamed,
    /// Cut with a twist drill.
    Drilled,
    /// A thread is cut with a tap.
    Tapped,
}

impl Finishing {
    /// Returns the word of the spec.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::AsPrinted => "as printed",
            Self::Reamed => "reamed",
            Self::Drilled => "drilled",
            Self::Tapped => "tapped",
        }
    }
}

/// Which second measure a feature has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SecondKind {
    /// From a flat to the far side of its round.
    Flat,
    /// Across two flats of a round, one opposite the other.
    Flats,
    /// Along a pocket or a tongue.
    Length,
}

/// A second measure of a feature that is not round all about: it takes the allowance of the first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Second {
    /// Which it is.
    pub what: SecondKind,
    /// Nominal.
    pub size: Length,
    /// As the mesh has it, where it was found.
    pub modelled: Option<Length>,
}

/// What the shop has to finish a feature with. An empty list with `known` set means there is none. Each list remembers whether
/// a job looked into it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Tools {
    /// Whether the shop stated its tools at all; if not, routes name the tool without saying it is there.
    pub known: bool,
    /// Diameters it cuts.
    pub reamers: Seen<Vec<Length>>,
    /// Diameters of twist drills.
    pub drills: Seen<Vec<Length>>,
    /// Thread sizes, `M5`, `M10x1.25`.
    pub taps: Seen<Vec<String>>,
    /// Threaded inserts in stock, with their holes.
    pub inserts: Seen<Vec<InsertData>>,
    /// Whether a lathe turns outside features.
    pub lathe: Seen<bool>,
}

/// The feature, the printer and the service it is judged for.
#[derive(Debug, Clone, PartialEq)]
pub struct FeatureContext {
    /// Whether a load of the spec acts on it, or is held there.
    pub loaded: bool,
    /// Hole or outside.
    pub kind: FeatureKind,
    /// How its axis lies in the pose.
    pub axis: FeatureAxis,
    /// Diameter (or width) found in the mesh, where the feature was found.
    pub modelled: Option<Length>,
    /// Number of flats the mesh makes of the circle, where known.
    pub facets: Option<u32>,
    /// Whether the feature begins on the bed, where the first layers bulge.
    pub on_bed: bool,
    /// What the printed polymer does to features.
    pub polymer: Polymer,
    /// What the trade knows of printed features.
    pub practice: Practice,
    /// Bore of the nozzle.
    pub nozzle_bore: Length,
    /// Height of the layers the feature is in.
    pub layer_height: Length,
    /// The shop's own measurement for this printer, nozzle and material, where there is one.
    pub record: Option<CalibrationRecord>,
    /// Whether the part is annealed before it is finished and gauged.
    pub annealed: bool,
    /// Whether the polymer is rubbery: it gives way before a cutting edge.
    pub flexible: bool,
    /// Whether it takes up moisture in service (matters for polyamides).
    pub moist: bool,
    /// Where the spec puts the allowance.
    pub compensation: Compensation,
    /// How far the finished size may be off the nominal one, where the spec states it.
    pub within: Option<[Length; 2]>,
    /// It is what lies between two features, not one of them: it shrinks, and has no edge of its own.
    pub between: bool,
    /// It lies between two flat walls: it has no crown, and nothing that turns (a reamer, a drill) finishes it.
    pub flat: bool,
    /// It lies between an axis and a wall: 1 where the wall's growth adds to it, -1 where it takes away.
    pub wall: Option<f64>,
    /// Its second measure, where it has one.
    pub second: Option<Second>,
    /// How it must be finished; none leaves the route to what the printer holds and the tools there are.
    pub finish: Option<Finishing>,
    /// What the shop can finish it with.
    pub tools: Tools,
    /// The job's date (`2026-11-25`) to judge the record's age by; none leaves the age unjudged.
    pub as_of: Option<String>,
}

impl FeatureContext {
    /// Returns a context with nothing known but the feature and the polymer: the usual bore, layers of half of it, no record.
    pub fn new(kind: FeatureKind, axis: FeatureAxis, polymer: Polymer, practice: Practice) -> Self {
        Self {
            loaded: false,
            kind,
            axis,
            modelled: None,
            facets: None,
            on_bed: false,
            polymer,
            practice,
            nozzle_bore: practice.usual_bore,
            layer_height: Length::um(practice.usual_bore.to_um() / 2.0),
            record: None,
            annealed: false,
            flexible: false,
            moist: false,
            compensation: Compensation::Undeclared,
            within: None,
            between: false,
            flat: false,
            wall: None,
            second: None,
            finish: None,
            tools: Tools::default(),
            as_of: None,
        }
    }
}
