//! What is pressed in or held by stretch: pins, seats of bearings, dowels.

use super::super::feature::{FeatureContext, FeatureKind};
use super::super::practice::Practice;
use super::super::said::{Caution, Named, Reason};
use super::super::{FitError, Provenance, SourceKind, hardware};
use super::sized::iso;
use super::{Demand, FinishKind, Limits, mm, plain, plus};
use crate::quantity::{Length, trim_number};

pub(super) const SEAT: Provenance = Provenance::new(
    SourceKind::CommonPractice,
    "housing H7 for an outer ring at rest, shaft h6 for an inner ring by hand; limits by ISO 286-1",
);

/// Returns the usual smallest and largest interference on the diameter for a press into printed plastic.
pub fn usual_interference(size: Length, practice: &Practice) -> (Length, Length) {
    let ((least, most), at_least) = (practice.press_share, practice.press_least);
    let of = |share: f64, least: Length| Length::mm(share * size.to_mm()).max(least);
    (of(least, at_least.least), of(most, at_least.most))
}

pub(super) fn press(
    size: Length,
    given: Option<(Length, Length)>,
    kind: FeatureKind,
    practice: &Practice,
) -> Result<Demand, FitError> {
    let (least, most) = given.unwrap_or_else(|| usual_interference(size, practice));
    let (a, b) = (least.to_mm(), most.to_mm());
    if !(a.is_finite() && b.is_finite() && a >= 0.0 && b > a && b < size.to_mm() / 2.0) {
        return Err(FitError::new(
            format!("{} .. {}", mm(least), mm(most)),
            "the interference of a press fit runs from a smallest to a larger value, both above zero",
            "write for example `interference 0.03 mm .. 0.10 mm`",
        ));
    }
    let limits = match kind {
        FeatureKind::Hole => Limits::new(plus(size, -b), plus(size, -a)),
        FeatureKind::Outside => Limits::new(plus(size, a), plus(size, b)),
    };
    let source = match given {
        Some(_) => Provenance::new(SourceKind::Computed, "the spec's own interference"),
        None => pressed(practice),
    };
    let mut demand = plain(Named::Press(size), size, limits, source);
    demand.finishes = match kind {
        FeatureKind::Hole => vec![FinishKind::Ream, FinishKind::CrushRibs, FinishKind::ClampOrBond],
        FeatureKind::Outside => vec![FinishKind::Turn, FinishKind::ClampOrBond],
    };
    demand.reasons.push(Reason::Interference { least, most });
    demand.cautions.push(Caution::PressLoosens);
    Ok(demand)
}

pub(super) fn pressed(practice: &Practice) -> Provenance {
    let percent = |share: f64| trim_number(100.0 * share, 2);
    let words = format!(
        "press into printed plastic: interference {} % to {} % of the diameter, at least {}; confirm by the press-fit \
         computation and a test piece",
        percent(practice.press_share.0),
        percent(practice.press_share.1),
        practice.press_least.in_words()
    );
    Provenance::owned(practice.press_least.kind, words)
}

/// What is rubbery holds by its stretch: no hundredth of a millimetre counts, and nothing cuts it to one.
pub(super) fn stretched(mut demand: Demand, context: &FeatureContext) -> Demand {
    let [usual, least, most] = context.practice.grip_stretch;
    let size = demand.nominal.to_mm();
    let by = |share: f64| match context.kind {
        FeatureKind::Hole => plus(demand.nominal, -share * size),
        FeatureKind::Outside => plus(demand.nominal, share * size),
    };
    let ends = [by(least), by(most)];
    let percent = |share: f64| trim_number(100.0 * share, 2);
    let words = format!(
        "a rubbery print grips by its stretch: {} % of the mate's size, {} to {} %",
        percent(usual),
        percent(least),
        percent(most)
    );
    demand.limits = Limits::new(ends[0].min(ends[1]), ends[0].max(ends[1]));
    demand.aim = by(usual);
    demand.source = Provenance::owned(context.practice.grip_kind, words);
    demand.grade = None;
    demand.stretches = true;
    demand.finishes = vec![FinishKind::TryAndFit];
    demand.always = true;
    demand.reasons.retain(|r| !matches!(r, Reason::Interference { .. } | Reason::Zone { .. }));
    demand.cautions.retain(|c| *c != Caution::PressLoosens);
    demand.cautions.push(Caution::StretchSlackens);
    demand
}

pub(super) fn bearing_seat(designation: &str, kind: FeatureKind, practice: &Practice) -> Result<Demand, FitError> {
    let b = hardware::find_bearing(designation)?;
    let (size, symbol) = match kind {
        FeatureKind::Hole => (b.outside, "H7"),
        FeatureKind::Outside => (b.bore, "h6"),
    };
    let mut demand = iso(size, symbol, kind, practice)?;
    demand.named = Named::Bearing { designation: b.designation.to_owned(), seat: kind, size, class: symbol };
    demand.source = SEAT;
    demand.companions = hardware::bearing(designation)?
        .dimensions
        .into_iter()
        .filter(|d| matches!(d.key, "width_mm" | "shoulder_opening_mm"))
        .collect();
    demand.finishes = match kind {
        FeatureKind::Hole => vec![FinishKind::Ream, FinishKind::ClampOrBond, FinishKind::Bush],
        FeatureKind::Outside => vec![FinishKind::MetalPin, FinishKind::Turn],
    };
    demand.cautions.push(match kind {
        FeatureKind::Hole => Caution::OuterRingOnly { opening: Limits::new(b.bore, b.outside).middle() },
        FeatureKind::Outside => Caution::ShaftCreeps,
    });
    Ok(demand)
}

pub(super) fn dowel(size: Length, practice: &Practice) -> Result<Demand, FitError> {
    let data = hardware::dowel(size)?;
    let mut demand = iso(size, "H7", FeatureKind::Hole, practice)?;
    demand.named = Named::Dowel(size);
    demand.finishes = vec![FinishKind::Ream, FinishKind::ClampOrBond];
    demand.companions = data.dimensions.into_iter().filter(|d| d.key.starts_with("pin_")).collect();
    demand.reasons.push(Reason::DowelLocates);
    Ok(demand)
}
