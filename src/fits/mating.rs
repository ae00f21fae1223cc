//! Printed against printed: one clearance, two printed features, each with its own behaviour and spread.

use super::FitError;
use super::allowance::{Capability, judge, size_to_model};
use super::behaviour::{Term, bore_factor};
use super::feature::{FeatureContext, FeatureKind};
use super::function::{Limits, mm};
use super::practice::Room;
use super::said::Warning;
use super::{Provenance, SourceKind};
use crate::quantity::Length;

/// How the wanted clearance is shared between the two parts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Share {
    /// Half in the hole, half in the peg.
    Even,
    /// The peg stays nominal.
    InHole,
    /// The hole stays nominal.
    InPeg,
    /// The hole is made already and measures this; the peg takes the rest.
    HoleMade(Length),
    /// The peg is made already and measures this; the hole takes the rest.
    PegMade(Length),
}

/// One of the two parts.
#[derive(Debug, Clone, PartialEq)]
pub struct Side {
    /// What the printed feature should measure.
    pub aim: Length,
    /// Two-sided 95 % deviation; zero where the part is made already.
    pub spread: Length,
    /// None where the part is made already.
    pub size_to_model: Option<Length>,
    /// What adds up from the size to model to the aim.
    pub terms: Vec<Term>,
    /// What was assumed, or may go wrong; a sentence each.
    pub warnings: Vec<Warning>,
}

/// A clearance shared between two printed parts.
#[derive(Debug, Clone, PartialEq)]
pub struct SharedFit {
    /// The printed hole.
    pub hole: Side,
    /// The printed peg.
    pub peg: Side,
    /// Wanted clearance on the diameter.
    pub wanted: Limits,
    /// Clearance to expect of a pair taken at random, two-sided 95 %.
    pub expected: Limits,
    /// Whether a pair taken at random keeps the wanted clearance.
    pub capability: Capability,
}

/// Shares a wanted clearance (on the diameter) between a printed hole and a printed peg of one nominal size.
///
/// The spreads add as independent ones (root of the sum of squares).
pub fn share(
    size: Length,
    wanted: Limits,
    how: Share,
    hole: &FeatureContext,
    peg: &FeatureContext,
) -> Result<SharedFit, FitError> {
    check(size, wanted, hole, peg)?;
    let clearance = wanted.middle().to_um();
    let (hole_aim, peg_aim) = match how {
        Share::Even => (size.to_um() + clearance / 2.0, size.to_um() - clearance / 2.0),
        Share::InHole => (size.to_um() + clearance, size.to_um()),
        Share::InPeg => (size.to_um(), size.to_um() - clearance),
        Share::HoleMade(made) => (made.to_um(), made.to_um() - clearance),
        Share::PegMade(made) => (made.to_um() + clearance, made.to_um()),
    };
    let side = |aim: f64, context: &FeatureContext, made: bool| side(Length::um(aim), context, made);
    let hole_context = hole;
    let hole = side(hole_aim, hole, matches!(how, Share::HoleMade(_)))?;
    let peg = side(peg_aim, peg, matches!(how, Share::PegMade(_)))?;
    let spread = Length::um(hole.spread.to_um().hypot(peg.spread.to_um()));
    let middle = hole_aim - peg_aim;
    let expected = Limits::new(Length::um(middle - spread.to_um()), Length::um(middle + spread.to_um()));
    let capability = judge(wanted, wanted.middle(), spread, None, &hole_context.practice);
    Ok(SharedFit { hole, peg, wanted, expected, capability })
}

fn check(size: Length, wanted: Limits, hole: &FeatureContext, peg: &FeatureContext) -> Result<(), FitError> {
    if hole.kind != FeatureKind::Hole || peg.kind != FeatureKind::Outside {
        return Err(FitError::new(
            "",
            format!("a pair needs a hole and an outside feature, found {} and {}", hole.kind, peg.kind),
            "one part has the hole or slot, the other the peg or tenon",
        ));
    }
    let sound = size.to_mm().is_finite() && size.to_mm() > 0.0 && wanted.low.to_mm().is_finite();
    if sound && wanted.high.to_um() > wanted.low.to_um() && wanted.high.to_mm() < size.to_mm() {
        return Ok(());
    }
    Err(FitError::new(
        format!("{} .. {}", mm(wanted.low), mm(wanted.high)),
        "the wanted clearance runs from a smallest to a larger value, smaller than the size itself",
        "write for example `0.1 mm .. 0.4 mm`",
    ))
}

fn side(aim: Length, context: &FeatureContext, made: bool) -> Result<Side, FitError> {
    if made {
        let none = Length::mm(0.0);
        return Ok(Side { aim, spread: none, size_to_model: None, terms: Vec::new(), warnings: Vec::new() });
    }
    let (model, terms, behaviour) = size_to_model(context, aim)?;
    Ok(Side { aim, spread: behaviour.spread, size_to_model: Some(model), terms, warnings: behaviour.warnings })
}

/// The shop's own test of printed-in-place gaps: the smallest that came free.
#[derive(Debug, Clone, PartialEq)]
pub struct GapRecord {
    /// Smallest gap all round that came free, sideways (within a layer).
    pub sideways: Length,
    /// Smallest gap that came free upward (between layers).
    pub upward: Length,
    /// Which test it was, for the reason.
    pub citation: String,
}

/// What gap all round two parts printed together want; between the two some pieces fuse.
#[derive(Debug, Clone, PartialEq)]
pub struct InPlaceGap {
    /// Below this they fuse.
    pub fuses: Length,
    /// The smallest gap to model: from here on they come free.
    pub free: Length,
    /// The record, or the figure of the trade.
    pub source: Provenance,
}

/// Returns what printed-in-place gap (all round, not on the diameter) a printer wants.
///
/// Without a record the trade's figures: sideways one gap is doubtful and a wider one free, growing with the bore above the usual;
/// upward one layer fuses, two layers and at least the figure for it come free.
pub fn in_place_gap(upward: bool, context: &FeatureContext, record: Option<&GapRecord>) -> InPlaceGap {
    let practice = &context.practice;
    let (fuses, free, source) = match record {
        Some(r) => {
            let tested = if upward { r.upward } else { r.sideways };
            // The smallest that came free once is no proof for the next piece.
            (
                tested,
                Length::um(tested.to_um() * practice.gap_record_margin),
                Provenance::owned(SourceKind::Measured, r.citation.clone()),
            )
        }
        None => {
            let (wide, layer) = (bore_factor(context), context.layer_height.to_mm());
            let Room { least, most, kind } = practice.in_place;
            let (fuses, free) = match upward {
                true => (layer, (2.0 * layer).max(practice.in_place_upward.to_mm())),
                false => (least.to_mm() * wide, most.to_mm() * wide),
            };
            let words = format!("printed-in-place gaps {} all round", practice.in_place.in_words());
            let source = Provenance::owned(kind, words);
            (Length::mm(fuses), Length::mm(free), source)
        }
    };
    InPlaceGap { fuses, free, source }
}

#[cfg(test)]
mod tests {
    use super::super::calibration::CalibrationRecord;
    use super::super::feature::FeatureAxis;
    use super::*;

    fn context(kind: FeatureKind, offset: f64) -> FeatureContext {
        let mut context = FeatureContext::usual(kind, FeatureAxis::AcrossLayers, "PLA");
        context.record = Some(CalibrationRecord {
            printer: "Bench".to_owned(),
            nozzle: "brass-04".to_owned(),
            material: "PLA".to_owned(),
            what: kind,
            axis: FeatureAxis::AcrossLayers,
            offset: Length::mm(offset),
            scale: 1.0,
            spread: Length::mm(0.03),
            count: 31,
            on: "2026-11-05".to_owned(),
            range: None,
        });
        context
    }

    /// By hand: size 10, clearance 0.1..0.5 (middle 0.3), even: hole 10.15, peg 9.85; holes print 0.2 small, pegs 0.1 large.
    #[test]
    fn the_clearance_is_shared_and_both_are_compensated() {
        let wanted = Limits::new(Length::mm(0.1), Length::mm(0.5));
        let (hole, peg) = (context(FeatureKind::Hole, -0.2), context(FeatureKind::Outside, 0.1));
        let fit = share(Length::mm(10.0), wanted, Share::Even, &hole, &peg).unwrap();
        assert!((fit.hole.size_to_model.unwrap().to_mm() - 10.35).abs() < 1e-9);
        assert!((fit.peg.size_to_model.unwrap().to_mm() - 9.75).abs() < 1e-9);
        // Each ±t(30) 0.03 sqrt(1 + 1/31); together times sqrt(2).
        let each = 2.042 * 0.03 * (1.0f64 + 1.0 / 31.0).sqrt();
        assert!((fit.capability.spread.to_mm() - each * 2f64.sqrt()).abs() < 1e-9);
        assert!((fit.expected.low.to_mm() - (0.3 - each * 2f64.sqrt())).abs() < 1e-9);
        let made = share(Length::mm(10.0), wanted, Share::HoleMade(Length::mm(9.9)), &hole, &peg).unwrap();
        assert_eq!(made.hole.size_to_model, None);
        assert!((made.peg.aim.to_mm() - 9.6).abs() < 1e-9);
        assert!(share(Length::mm(10.0), wanted, Share::Even, &peg, &hole).is_err());
        assert!(share(Length::mm(10.0), Limits::new(wanted.high, wanted.low), Share::Even, &hole, &peg).is_err());
    }

    #[test]
    fn gaps_follow_the_shops_own_test() {
        let c = FeatureContext::usual(FeatureKind::Hole, FeatureAxis::AcrossLayers, "PLA");
        let limits = |record: Option<&GapRecord>| {
            let found = in_place_gap(false, &c, record);
            [found.fuses.to_mm(), found.free.to_mm()]
        };
        assert_eq!(limits(None), [0.3, 0.4]);
        let record = GapRecord { sideways: Length::mm(0.2), upward: Length::mm(0.2), citation: "gap test".to_owned() };
        assert_eq!(limits(Some(&record)), [0.2, 0.25]);
    }

    /// A wider bead fuses over a wider gap, up to three times 0.4 mm; upward it is the layers that count.
    #[test]
    fn gaps_follow_the_bore_sideways_and_the_layers_upward() {
        let gap = |upward: bool, bore: f64, layer: f64| {
            let mut c = FeatureContext::usual(FeatureKind::Hole, FeatureAxis::AcrossLayers, "PLA");
            (c.nozzle_bore, c.layer_height) = (Length::mm(bore), Length::mm(layer));
            let found = in_place_gap(upward, &c, None);
            [found.fuses.to_mm(), found.free.to_mm()].map(|mm| (mm * 1e6).round() / 1e6)
        };
        assert_eq!(gap(false, 0.25, 0.1), [0.3, 0.4]);
        assert_eq!(gap(false, 0.6, 0.3), [0.45, 0.6]);
        assert_eq!(gap(false, 2.0, 0.8), [0.9, 1.2]);
        assert_eq!(gap(true, 0.6, 0.1), [0.1, 0.3]);
        assert_eq!(gap(true, 0.6, 0.3), [0.3, 0.6]);
    }
}
