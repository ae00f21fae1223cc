//! What a printer does to a hole or a boss: the calibration record where there is one, else named defaults.
//!
//! The defaults are from memory or common practice and carry a range; they are a place to start measuring from.

use super::calibration::CalibrationRecord;
use super::feature::{FeatureAxis, FeatureContext, FeatureKind};
use super::practice::{Polymer, Practice};
use super::said::{Note, Warning};
use super::{Provenance, SourceKind};
use crate::quantity::{Length, trim_number};
use crate::word::words;
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
    /// What it stands off at one end: in what is printed, and not in what the whole part is scaled by.
    AtTheWall,
}

words! {
    /// What makes a printed feature other than its model.
    pub enum Cause {
        /// What the printer does to every size alike.
        Offset = "printer's offset",
        /// What it does in proportion.
        Scale = "printer's scale",
        /// The polymer as it cools.
        Shrinkage = "shrinkage",
        /// The crown of a lying hole.
        CrownSag = "crown sag",
        /// The flats of a hole drawn with corners.
        FacetChord = "facet chord",
        /// The first layer, pressed wide.
        FirstLayerBulge = "first-layer bulge",
        /// Water taken up after printing.
        Moisture = "moisture growth",
        /// The polymer as it is annealed.
        Annealing = "annealing",
    }
}

/// One effect on the printed diameter: negative makes the feature smaller.
#[derive(Debug, Clone, PartialEq)]
pub struct Term {
    /// What the effect is.
    pub cause: Cause,
    /// Change of the diameter.
    pub value: Length,
    /// Whether it counts in the sum.
    pub used: TermUse,
    /// Where the number comes from.
    pub source: Provenance,
    /// What to do about it, or why it counts.
    pub note: Note,
}

/// Where the printer's behaviour is taken from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Origin {
    /// The shop measured it.
    Record,
    /// A default of the trade, from the catalogue.
    Default,
}

/// The printer's effect on the feature: printed = model (1 + sum of factors) + sum of constants.
#[derive(Debug, Clone, PartialEq)]
pub struct Behaviour {
    /// By record or by default.
    pub origin: Origin,
    /// The record, or the source of the default.
    pub source: Provenance,
    /// Expected deviation of one piece about the mean, two-sided 95 %.
    pub spread: Length,
    pub(crate) effects: Vec<Effect>,
    /// Weak points: too few pieces, other sizes, an old record, a default.
    pub warnings: Vec<Warning>,
}

/// A term before the model size is known.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Effect {
    pub cause: Cause,
    /// Share of the modelled size.
    pub factor: f64,
    pub constant: Length,
    pub used: TermUse,
    pub source: Provenance,
    pub note: Note,
}

impl Effect {
    fn constant(cause: Cause, constant: Length, source: Provenance, note: Note) -> Self {
        Self { cause, factor: 0.0, constant, used: TermUse::InSum, source, note }
    }

    fn share(cause: Cause, factor: f64, source: Provenance, note: Note) -> Self {
        Self { cause, factor, constant: Length::mm(0.0), used: TermUse::InSum, source, note }
    }

    fn used(mut self, used: TermUse) -> Self {
        self.used = used;
        self
    }

    /// Returns the term for a modelled size.
    pub(crate) fn at(&self, model: Length) -> Term {
        Term {
            cause: self.cause,
            value: Length::um(self.factor * model.to_um() + self.constant.to_um()),
            used: self.used,
            source: self.source.clone(),
            note: self.note.clone(),
        }
    }
}

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
/// Returns what the printer does to the feature of a demand that is aimed at `aim`.
pub(crate) fn behaviour(context: &FeatureContext, aim: Length) -> Behaviour {
    if context.between {
        return between(context, aim);
    }
    let of_such = context.record.as_ref().filter(|r| r.what == context.kind && r.axis == context.axis);
    let serves = of_such.filter(|r| reaches(r, aim, &context.practice));
    let mut behaviour = match serves {
        Some(record) => from_record(context, record, aim),
        None => from_default(context, of_such, aim),
    };
    if context.record.is_some() && of_such.is_none() {
        behaviour.warnings.push(Warning::RecordOfAnother);
    }
    let values = &context.polymer;
    let recorded = behaviour.origin == Origin::Record;
    behaviour.effects.extend(shrinkage(context, serves, aim));
    behaviour.effects.extend(crown_sag(context, aim, recorded));
    behaviour.effects.extend(facet_chord(context));
    behaviour.effects.extend(first_layer_bulge(context));
    behaviour.effects.extend(moisture(context, values));
    if let Some(effect) = annealing(context, values) {
        let extra = context.practice.annealing_doubt * effect.factor.abs() * aim.to_um();
        behaviour.spread = Length::um(behaviour.spread.to_um().hypot(extra));
        behaviour.effects.push(effect);
    }
    behaviour
}

fn from_record(context: &FeatureContext, record: &CalibrationRecord, aim: Length) -> Behaviour {
    let source = Provenance::owned(SourceKind::Measured, record.citation());
    let mut effects = vec![Effect::constant(Cause::Offset, record.offset, source.clone(), Note::Measured)];
    if scaled(record) {
        effects.push(Effect::share(Cause::Scale, record.scale - 1.0, source.clone(), Note::MeasuredScale));
    }
    let mut warnings = record_warnings(context, record);
    let fallback = default_spread(context);
    let spread = if record.count < 2 || record.spread.to_um() <= 0.0 {
        warnings.push(Warning::NoSpread { usual: fallback });
        fallback
    } else {
        record.expected_deviation()
    };
    let size = aim;
    let spread = match beyond(record, aim) {
        Some((measured, over)) => {
            warnings.push(Warning::OtherSizes { measured, size, taken: true });
            let doubt = context.practice.shrinkage_doubt * context.polymer.shrinkage.abs() * over.to_um();
            // Nobody measured pieces of that size: they spread no less than where nothing was measured.
            Length::um(spread.to_um().max(fallback.to_um()).hypot(doubt))
        }
        None if of_no_sizes(context, record, aim) => {
            warnings.push(Warning::NoSizes);
            Length::um(spread.to_um().hypot(context.polymer.shrinkage.abs() * aim.to_um()))
        }
        None => spread,
    };
    Behaviour { origin: Origin::Record, source, spread, effects, warnings }
}

fn show(length: Length) -> String {
    format!("{} mm", trim_number(length.to_mm(), 2))
}

/// Returns whether a record serves a size: beyond so many times those measured it does not.
fn reaches(record: &CalibrationRecord, aim: Length, practice: &Practice) -> bool {
    let reach = practice.record_reach;
    record.range.is_none_or(|(from, to)| aim.to_um() >= from.to_um() / reach && aim.to_um() <= reach * to.to_um())
}

/// Returns the sizes a record was measured on and by how much a size is larger than the largest of them, where it lies beyond
/// them by more than single pieces differ.
fn beyond(record: &CalibrationRecord, aim: Length) -> Option<([Length; 2], Length)> {
    let (from, to) = record.range?;
    let (under, over) = (from.to_um() - aim.to_um(), aim.to_um() - to.to_um());
    (under.max(over) > record.spread.to_um()).then(|| ([from, to], Length::um(over.max(0.0))))
}

/// Whether a record that states no sizes may leave out more of this one's shrinkage than single pieces differ by.
fn of_no_sizes(context: &FeatureContext, record: &CalibrationRecord, aim: Length) -> bool {
    let shrinks = context.polymer.shrinkage.abs() * aim.to_um();
    record.range.is_none() && !scaled(record) && shrinks > record.spread.to_um()
}

/// Whether a record tells how the deviation grows with the size.
fn scaled(record: &CalibrationRecord) -> bool {
    (record.scale - 1.0).abs() > 1e-12
}

fn record_warnings(context: &FeatureContext, record: &CalibrationRecord) -> Vec<Warning> {
    let mut warnings = Vec::new();
    let Practice { record_pieces: few, record_days: old, .. } = context.practice;
    if f64::from(record.count) < few {
        warnings.push(Warning::FewPieces { pieces: record.count, wanted: few });
    }
    if !record.material.eq_ignore_ascii_case(&context.polymer.name) {
        warnings.push(Warning::OtherPolymer { record: record.material.clone(), part: context.polymer.name.clone() });
    }
    if let Some(days) = context.as_of.as_deref().and_then(|today| crate::day::days_between(&record.on, today))
        && days as f64 > old
    {
        warnings.push(Warning::Old { days });
    }
    warnings
}

/// Horizontal features are drawn in steps of the layer height and rest on their supports or sag: their spread is wider.
fn default_spread(context: &FeatureContext) -> Length {
    let axis = if context.axis == FeatureAxis::AlongLayers { context.practice.lying_spread } else { 1.0 };
    Length::mm(context.polymer.spread.to_mm() * axis * bore_factor(context))
}

/// Wider lines cut corners more; a finer bore than the usual one is given no credit by default.
pub(crate) fn bore_factor(context: &FeatureContext) -> f64 {
    let wide = context.nozzle_bore.to_mm() / context.practice.usual_bore.to_mm();
    if wide.is_finite() { wide.min(context.practice.widest_bore_factor).max(1.0) } else { 1.0 }
}

/// The default of the trade; a record of such features whose sizes are too far off is told.
fn from_default(context: &FeatureContext, record: Option<&CalibrationRecord>, aim: Length) -> Behaviour {
    let values = &context.polymer;
    let offset = match context.kind {
        FeatureKind::Hole => -values.hole_undersize.to_mm(),
        FeatureKind::Outside => values.boss_oversize.to_mm(),
    } * bore_factor(context);
    let polymer = || values.known.then(|| values.name.clone());
    let mut warnings = vec![match record.and_then(|r| r.range) {
        Some((from, to)) => Warning::OtherSizes { measured: [from, to], size: aim, taken: false },
        None => Warning::NoRecord { polymer: polymer(), kind: context.kind, axis: context.axis },
    }];
    if !values.known {
        warnings.push(Warning::UnknownPolymer(values.name.clone()));
    }
    Behaviour {
        origin: Origin::Default,
        source: OFFSET_DEFAULT,
        spread: default_spread(context),
        effects: vec![Effect::constant(
            Cause::Offset,
            Length::mm(offset),
            OFFSET_DEFAULT,
            Note::Usual { polymer: polymer(), kind: context.kind, bore: context.nozzle_bore },
        )],
        warnings,
    }
}

/// Shrinkage of a feature with its part: a record holds that of the sizes it was measured on, and no more, unless it tells how
/// the deviation grows with the size.
fn shrinkage(context: &FeatureContext, record: Option<&CalibrationRecord>, aim: Length) -> Vec<Effect> {
    let share = context.polymer.shrinkage;
    if share == 0.0 {
        return Vec::new();
    }
    let Some(record) = record else {
        return vec![Effect::share(Cause::Shrinkage, -share, SHRINKAGE, Note::ShrinksWithPart)];
    };
    let over = beyond(record, aim).map_or(0.0, |(_, over)| over.to_um());
    if scaled(record) || over <= 0.0 {
        return vec![Effect::share(Cause::Shrinkage, -share, SHRINKAGE, Note::InRecord).used(TermUse::InRecord)];
    }
    let largest = Length::um(aim.to_um() - over);
    let held = Length::um(-share * largest.to_um());
    let rest = Effect {
        constant: Length::um(-held.to_um()),
        ..Effect::share(Cause::Shrinkage, -share, SHRINKAGE, Note::BeyondRecord { largest })
    };
    vec![Effect::constant(Cause::Shrinkage, held, SHRINKAGE, Note::InRecord).used(TermUse::InRecord), rest]
}

fn crown_sag(context: &FeatureContext, aim: Length, recorded: bool) -> Option<Effect> {
    if context.kind != FeatureKind::Hole || context.axis != FeatureAxis::AlongLayers || context.flat {
        return None;
    }
    let Practice { crown_sag: base, crown_sag_share: share, crown_sag_most: most, .. } = context.practice;
    let sag = Length::mm(-(base.to_mm() + share * aim.to_mm()).min(most.to_mm()).max(0.0));
    let source = Provenance::owned(
        SourceKind::FromMemory,
        format!(
            "crown of a horizontal hole hangs about {} and {} % of the diameter, at most {}",
            show(base),
            trim_number(100.0 * share, 2),
            show(most)
        ),
    );
    let used = if recorded { TermUse::InRecord } else { TermUse::InSum };
    Some(Effect::constant(Cause::CrownSag, sag, source, Note::Crown).used(used))
}

fn facet_chord(context: &FeatureContext) -> Option<Effect> {
    let n = context.facets.filter(|n| *n >= 3)?;
    if context.kind == FeatureKind::Outside {
        return Some(Effect::share(Cause::FacetChord, 0.0, CHORD, Note::OutsideFlats).used(TermUse::Local));
    }
    let share = (PI / f64::from(n)).cos() - 1.0;
    Some(Effect::share(Cause::FacetChord, share, CHORD, Note::Flats(n)))
}

/// What lies between two features shrinks with the part in the plane of the layers; upward the layers are counted out.
fn between(context: &FeatureContext, aim: Length) -> Behaviour {
    let Practice { spacing_spread, shrinkage_doubt, .. } = context.practice;
    let shrinks = context.axis == FeatureAxis::AcrossLayers;
    let share = if shrinks { context.polymer.shrinkage } else { 0.0 };
    let doubt = shrinkage_doubt * share.abs() * aim.to_um();
    let mut effects: Vec<Effect> = (share != 0.0)
        .then(|| Effect::share(Cause::Shrinkage, -share, SHRINKAGE, Note::WholeLength))
        .into_iter()
        .collect();
    let plain = effects.len();
    effects.extend(annealing(context, &context.polymer));
    let extra: f64 =
        effects.iter().skip(plain).map(|e| context.practice.annealing_doubt * e.factor.abs() * aim.to_um()).sum();
    // A wall stands off by half of what a boss is wide over; what lies flat is laid in layers.
    let wall = context.wall.filter(|_| shrinks);
    let half = 0.5 * bore_factor(context);
    effects.extend(wall.map(|sign| {
        let off = Length::um(sign * half * context.polymer.boss_oversize.to_um());
        Effect::constant(Cause::Offset, off, OFFSET_DEFAULT, Note::Wall).used(TermUse::AtTheWall)
    }));
    let wall_spread = wall.map_or(0.0, |_| half * context.polymer.spread.to_um());
    let mut warnings = Vec::new();
    if !shrinks {
        warnings.push(Warning::Upright);
    }
    Behaviour {
        origin: Origin::Default,
        source: SHRINKAGE,
        spread: Length::um(spacing_spread.to_um().hypot(doubt).hypot(extra).hypot(wall_spread)),
        effects,
        warnings,
    }
}

/// What the first layer does to a rim on the bed.
fn first_layer_bulge(context: &FeatureContext) -> Option<Effect> {
    if !context.on_bed || context.axis != FeatureAxis::AcrossLayers {
        return None;
    }
    let sign = match context.kind {
        FeatureKind::Hole => -1.0,
        FeatureKind::Outside => 1.0,
    };
    let flare = context.practice.first_layer_flare;
    let source = Provenance::owned(
        SourceKind::CommonPractice,
        format!("first layers are pressed wide: about {} on the diameter at the bed", show(flare)),
    );
    let bulge = Length::um(sign * flare.to_um());
    Some(Effect::constant(Cause::FirstLayerBulge, bulge, source, Note::AtTheBed(context.kind)).used(TermUse::Local))
}

fn moisture(context: &FeatureContext, values: &Polymer) -> Option<Effect> {
    (context.moist && values.moisture > 0.0)
        .then(|| Effect::share(Cause::Moisture, values.moisture, MOISTURE, Note::PrintedDry))
}

fn annealing(context: &FeatureContext, values: &Polymer) -> Option<Effect> {
    (context.annealed && values.annealing > 0.0)
        .then(|| Effect::share(Cause::Annealing, -values.annealing, ANNEALING, Note::Annealed))
}
