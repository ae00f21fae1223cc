//! What a printer does to a hole or a boss: the calibration record where there is one, else named defaults.
//!
//! The defaults are from memory or common practice and carry a range; they are a place to start measuring from.

use super::calibration::{CalibrationRecord, FEW_PIECES};
use super::feature::{FeatureAxis, FeatureContext, FeatureKind};
use super::{Provenance, SourceKind};
use crate::quantity::{Length, trim_number};
use std::f64::consts::PI;

/// How a term enters the size to model.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TermUse {
    /// Added up in the size to model.
    InSum,
    /// Already within the measured record: named, not added again.
    InRecord,
    /// Only part of the feature shows it: mended in the model or by hand, not added.
    Local,
}

/// One named effect on the printed diameter: negative makes the feature smaller.
#[derive(Debug, Clone, PartialEq)]
pub struct Term {
    pub name: &'static str,
    pub value: Length,
    pub used: TermUse,
    pub source: Provenance,
    /// What to do about it, or why it counts.
    pub note: String,
}

/// Where the printer's behaviour is taken from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Origin {
    Record,
    Default,
}

/// The printer's effect on the feature: printed = model (1 + sum of factors) + sum of constants.
#[derive(Debug, Clone, PartialEq)]
pub struct Behaviour {
    pub origin: Origin,
    pub source: Provenance,
    /// Expected deviation of one piece about the mean, two-sided 95 %.
    pub spread: Length,
    pub(crate) effects: Vec<Effect>,
    /// Weak points: too few pieces, other sizes, an old record, a default.
    pub warnings: Vec<String>,
}

/// A term before the model size is known.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Effect {
    pub name: &'static str,
    /// Share of the modelled size.
    pub factor: f64,
    pub constant: Length,
    pub used: TermUse,
    pub source: Provenance,
    pub note: String,
}

impl Effect {
    fn constant(name: &'static str, constant: Length, source: Provenance, note: impl Into<String>) -> Self {
        Self { name, factor: 0.0, constant, used: TermUse::InSum, source, note: note.into() }
    }

    fn share(name: &'static str, factor: f64, source: Provenance, note: impl Into<String>) -> Self {
        Self { name, factor, constant: Length::mm(0.0), used: TermUse::InSum, source, note: note.into() }
    }

    fn used(mut self, used: TermUse) -> Self {
        self.used = used;
        self
    }

    /// Returns the term for a modelled size.
    pub(crate) fn at(&self, model: Length) -> Term {
        Term {
            name: self.name,
            value: Length::um(self.factor * model.to_um() + self.constant.to_um()),
            used: self.used,
            source: self.source.clone(),
            note: self.note.clone(),
        }
    }
}

/// Default behaviour of one polymer, in millimetres for a 0.4 mm bore and as fractions of the size.
struct Polymer {
    /// The name, or its beginning, in capital letters without separators.
    prefix: &'static str,
    hole: f64,
    outside: f64,
    spread: f64,
    shrinkage: f64,
    moisture: f64,
    annealing: f64,
}

const fn polymer(prefix: &'static str, v: [f64; 6]) -> Polymer {
    let [hole, outside, spread, shrinkage, moisture, annealing] = v;
    Polymer { prefix, hole, outside, spread, shrinkage, moisture, annealing }
}

/// From memory, typical values; holes range over about 0.15 mm either way. Shrinkage: typical print shrinkage in the plane,
/// the same numbers as the catalogue's `print_shrinkage_xy`. Moisture: growth from dry to about 50 % relative humidity.
/// Annealing: shrinkage in the plane. The longest matching prefix wins.
const POLYMERS: [Polymer; 27] = [
    //                     hole   outside spread shrink moist anneal
    polymer("PLA", [-0.15, 0.05, 0.10, 0.002, 0.0, 0.015]),
    polymer("PETG", [-0.20, 0.08, 0.12, 0.003, 0.0, 0.005]),
    polymer("PETGCF", [-0.15, 0.05, 0.10, 0.002, 0.0, 0.003]),
    polymer("PET", [-0.20, 0.08, 0.12, 0.003, 0.0, 0.010]),
    polymer("ABS", [-0.15, 0.05, 0.12, 0.006, 0.0, 0.005]),
    polymer("ASA", [-0.15, 0.05, 0.12, 0.006, 0.0, 0.005]),
    polymer("HIPS", [-0.15, 0.05, 0.12, 0.005, 0.0, 0.005]),
    polymer("PC", [-0.15, 0.05, 0.12, 0.006, 0.0, 0.003]),
    polymer("PCABS", [-0.15, 0.05, 0.12, 0.006, 0.0, 0.004]),
    polymer("PMMA", [-0.15, 0.05, 0.12, 0.005, 0.001, 0.004]),
    polymer("PVB", [-0.15, 0.05, 0.12, 0.003, 0.0, 0.003]),
    polymer("PA", [-0.20, 0.08, 0.15, 0.010, 0.004, 0.005]),
    polymer("PA6", [-0.20, 0.08, 0.15, 0.010, 0.006, 0.005]),
    polymer("PA66", [-0.20, 0.08, 0.15, 0.010, 0.006, 0.005]),
    polymer("PA12", [-0.20, 0.08, 0.15, 0.009, 0.0015, 0.005]),
    polymer("PACF", [-0.15, 0.05, 0.12, 0.0025, 0.002, 0.002]),
    polymer("PA6CF", [-0.15, 0.05, 0.12, 0.0025, 0.002, 0.002]),
    polymer("PA12CF", [-0.15, 0.05, 0.12, 0.0025, 0.001, 0.002]),
    polymer("PAGF", [-0.15, 0.05, 0.12, 0.004, 0.003, 0.002]),
    polymer("PP", [-0.20, 0.08, 0.20, 0.016, 0.0, 0.005]),
    polymer("PE", [-0.20, 0.08, 0.20, 0.025, 0.0, 0.005]),
    polymer("POM", [-0.20, 0.08, 0.20, 0.020, 0.001, 0.005]),
    polymer("TPU", [-0.30, 0.10, 0.20, 0.007, 0.0, 0.0]),
    polymer("TPE", [-0.30, 0.10, 0.20, 0.010, 0.0, 0.0]),
    polymer("PPS", [-0.15, 0.05, 0.12, 0.009, 0.0, 0.010]),
    polymer("PEI", [-0.15, 0.05, 0.12, 0.007, 0.001, 0.003]),
    polymer("PEEK", [-0.15, 0.05, 0.12, 0.011, 0.0, 0.010]),
];

const UNKNOWN: Polymer = polymer("", [-0.20, 0.08, 0.20, 0.006, 0.0, 0.005]);

const OFFSET_DEFAULT: Provenance = Provenance::new(
    SourceKind::FromMemory,
    "usual deviation of printed holes and bosses by polymer and axis, range about 0.15 mm either way",
);
const SHRINKAGE: Provenance =
    Provenance::new(SourceKind::FromMemory, "typical print shrinkage in the plane; part and path dependent");
const MOISTURE: Provenance =
    Provenance::new(SourceKind::FromMemory, "growth from dry to about 50 % relative humidity, typical of the polymer");
const ANNEALING: Provenance =
    Provenance::new(SourceKind::FromMemory, "shrinkage in the plane on annealing; varies widely with part and oven");
const CHORD: Provenance =
    Provenance::new(SourceKind::Computed, "d (1 - cos(pi/n)): the flats of an n-sided hole lie inside its circle");
const SAG: Provenance = Provenance::new(
    SourceKind::FromMemory,
    "crown of a horizontal hole hangs about 0.05 mm and 1 % of the diameter, at most 0.4 mm",
);
const BULGE: Provenance =
    Provenance::new(SourceKind::CommonPractice, "first layers are pressed wide: about 0.1 mm a side at the bed");

fn find_polymer(name: &str) -> Option<&'static Polymer> {
    let plain: String = name.chars().filter(char::is_ascii_alphanumeric).map(|c| c.to_ascii_uppercase()).collect();
    POLYMERS.iter().filter(|p| plain.starts_with(p.prefix)).max_by_key(|p| p.prefix.len())
}

/// Returns what the printer does to the feature of a demand that is aimed at `aim`.
pub(crate) fn behaviour(context: &FeatureContext, aim: Length) -> Behaviour {
    let polymer = find_polymer(&context.polymer);
    let mut behaviour = match context.record.as_ref().filter(|r| r.what == context.kind && r.axis == context.axis) {
        Some(record) => from_record(context, record, aim),
        None => from_default(context, polymer),
    };
    if context.record.is_some() && behaviour.origin == Origin::Default {
        behaviour.warnings.push("the record given is for another kind of feature or axis and was not used".to_owned());
    }
    let values = polymer.unwrap_or(&UNKNOWN);
    let recorded = behaviour.origin == Origin::Record;
    behaviour.effects.extend(shrinkage(context, values, recorded));
    behaviour.effects.extend(crown_sag(context, aim, recorded));
    behaviour.effects.extend(facet_chord(context));
    behaviour.effects.extend(first_layer_bulge(context));
    behaviour.effects.extend(moisture(context, values));
    if let Some(effect) = annealing(context, values) {
        // The shrinkage on annealing is known to no better than half itself.
        let extra = 0.5 * effect.factor.abs() * aim.to_um();
        behaviour.spread = Length::um(behaviour.spread.to_um().hypot(extra));
        behaviour.effects.push(effect);
    }
    behaviour
}

fn from_record(context: &FeatureContext, record: &CalibrationRecord, aim: Length) -> Behaviour {
    let source = Provenance::owned(SourceKind::Measured, record.citation());
    let mut effects =
        vec![Effect::constant("printer's offset", record.offset, source.clone(), "printed less modelled, measured")];
    if (record.scale - 1.0).abs() > 1e-12 {
        effects.push(Effect::share(
            "printer's scale",
            record.scale - 1.0,
            source.clone(),
            "measured, grows with the size",
        ));
    }
    let mut warnings = record_warnings(context, record, aim);
    let fallback = default_spread(context, find_polymer(&context.polymer));
    let spread = if record.count < 2 || record.spread.to_um() <= 0.0 {
        warnings.push(format!("the record gives no spread; the default of ±{} stands in", show(fallback)));
        fallback
    } else {
        record.expected_deviation()
    };
    Behaviour { origin: Origin::Record, source, spread, effects, warnings }
}

fn show(length: Length) -> String {
    format!("{} mm", trim_number(length.to_mm(), 2))
}

fn record_warnings(context: &FeatureContext, record: &CalibrationRecord, aim: Length) -> Vec<String> {
    let mut warnings = Vec::new();
    if record.count < FEW_PIECES {
        warnings.push(format!("the record rests on {} pieces; measure at least {FEW_PIECES}", record.count));
    }
    if let Some((from, to)) = record.range
        && (aim.to_um() < 0.5 * from.to_um() || aim.to_um() > 2.0 * to.to_um())
    {
        warnings.push(format!(
            "the record was measured from {} to {}, this feature is {}",
            show(from),
            show(to),
            show(aim)
        ));
    }
    if !record.material.eq_ignore_ascii_case(&context.polymer) {
        warnings.push(format!("the record is for {}, the part is {}", record.material, context.polymer));
    }
    if let Some(days) = context.as_of.as_deref().and_then(|today| super::calibration::days_between(&record.on, today))
        && days > super::calibration::OLD_DAYS
    {
        warnings.push(format!("the record is {days} days old; measure again"));
    }
    warnings
}

/// Horizontal features are drawn in steps of the layer height and rest on their supports or sag: their spread is wider.
fn default_spread(context: &FeatureContext, polymer: Option<&Polymer>) -> Length {
    let base = polymer.unwrap_or(&UNKNOWN).spread;
    let axis = if context.axis == FeatureAxis::AlongLayers { 1.5 } else { 1.0 };
    Length::mm(base * axis * bore_factor(context))
}

/// Wider lines cut corners more; a finer bore than 0.4 mm is given no credit by default.
fn bore_factor(context: &FeatureContext) -> f64 {
    let bore = context.nozzle_bore.to_mm();
    if bore.is_finite() { (bore / 0.4).clamp(1.0, 3.0) } else { 1.0 }
}

fn from_default(context: &FeatureContext, polymer: Option<&Polymer>) -> Behaviour {
    let values = polymer.unwrap_or(&UNKNOWN);
    let offset = match context.kind {
        FeatureKind::Hole => values.hole,
        FeatureKind::Outside => values.outside,
    } * bore_factor(context);
    let name = if values.prefix.is_empty() { "any polymer" } else { context.polymer.as_str() };
    let mut warnings = vec![format!(
        "no calibration record for {name}, {} {}: the default stands in; print the coupon and measure",
        context.kind, context.axis
    )];
    if polymer.is_none() {
        warnings.push(format!("`{}` is in no default table: a wide general value is used", context.polymer));
    }
    Behaviour {
        origin: Origin::Default,
        source: OFFSET_DEFAULT,
        spread: default_spread(context, polymer),
        effects: vec![Effect::constant(
            "printer's offset",
            Length::mm(offset),
            OFFSET_DEFAULT,
            format!("default for {name}, {}, bore {}", context.kind, show(context.nozzle_bore)),
        )],
        warnings,
    }
}

fn shrinkage(context: &FeatureContext, values: &Polymer, recorded: bool) -> Option<Effect> {
    let share = context.shrinkage.filter(|s| s.is_finite() && s.abs() < 0.2).unwrap_or(values.shrinkage);
    let used = if recorded { TermUse::InRecord } else { TermUse::InSum };
    let note = if recorded { "within the measured record" } else { "hole and boss shrink with the part" };
    (share != 0.0).then(|| Effect::share("shrinkage", -share, SHRINKAGE, note).used(used))
}

fn crown_sag(context: &FeatureContext, aim: Length, recorded: bool) -> Option<Effect> {
    if context.kind != FeatureKind::Hole || context.axis != FeatureAxis::AlongLayers {
        return None;
    }
    let sag = Length::mm(-(0.05 + 0.01 * aim.to_mm()).clamp(0.0, 0.4));
    let used = if recorded { TermUse::InRecord } else { TermUse::InSum };
    let note = "the height of the hole only; a teardrop or a flat-topped crown in the model removes it";
    Some(Effect::constant("crown sag", sag, SAG, note).used(used))
}

fn facet_chord(context: &FeatureContext) -> Option<Effect> {
    let n = context.facets.filter(|n| *n >= 3)?;
    if context.kind == FeatureKind::Outside {
        let note = "the corners of an outside polygon keep the full diameter; its flats are smaller and do no harm";
        return Some(Effect::share("facet chord", 0.0, CHORD, note).used(TermUse::Local));
    }
    let share = (PI / f64::from(n)).cos() - 1.0;
    Some(Effect::share("facet chord", share, CHORD, format!("the mesh draws the circle with {n} flats")))
}

fn first_layer_bulge(context: &FeatureContext) -> Option<Effect> {
    if !context.on_bed || context.axis != FeatureAxis::AcrossLayers {
        return None;
    }
    let (sign, note) = match context.kind {
        FeatureKind::Hole => (-1.0, "at the bed edge only: a 0.4 mm chamfer in the model, or a countersink by hand"),
        FeatureKind::Outside => (1.0, "at the bed edge only: a 0.4 mm chamfer in the model, or a blade by hand"),
    };
    Some(Effect::constant("first-layer bulge", Length::mm(0.2 * sign), BULGE, note).used(TermUse::Local))
}

fn moisture(context: &FeatureContext, values: &Polymer) -> Option<Effect> {
    (context.moist && values.moisture > 0.0).then(|| {
        let note = "printed dry, gauged after it has taken up moisture; measured dry it is this much smaller";
        Effect::share("moisture growth", values.moisture, MOISTURE, note)
    })
}

fn annealing(context: &FeatureContext, values: &Polymer) -> Option<Effect> {
    (context.annealed && values.annealing > 0.0)
        .then(|| Effect::share("annealing", -values.annealing, ANNEALING, "finish and gauge after annealing"))
}
