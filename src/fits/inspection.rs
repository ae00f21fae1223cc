//! Inspection: with what, when and how many, for every fit.

use super::allowance::{Capability, Route, Verdict};
use super::feature::{FeatureContext, FeatureKind};
use super::function::{Demand, FinishKind, Limits, mm};
use super::practice::Practice;
use crate::quantity::Length;

/// How many pieces are gauged.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sample {
    Every,
    /// The first, the last and every n-th between.
    FirstLastAndEvery(u32),
}

impl Sample {
    /// Returns the number gauged of a run of `pieces`.
    pub fn of(self, pieces: u32) -> u32 {
        match self {
            Self::Every => pieces,
            Self::FirstLastAndEvery(n) if pieces > 2 => {
                let between = (pieces - 2) / n.max(1);
                2 + between
            }
            Self::FirstLastAndEvery(_) => pieces,
        }
    }

    pub fn in_words(self) -> String {
        match self {
            Self::Every => "every piece".to_owned(),
            Self::FirstLastAndEvery(n) => format!("the first, the last and every {n}th piece"),
        }
    }
}

/// One check: what, within which limits or by which trial, with what, when, how many.
#[derive(Debug, Clone, PartialEq)]
pub struct Check {
    pub what: String,
    /// None where the check is a trial and not a measurement.
    pub limits: Option<Limits>,
    /// The gauge, or the trial and what passes it.
    pub gauge: String,
    /// Instruments of which any one does, by the words a shop lists them by; none where its mate or a hand judges.
    pub instruments: &'static [&'static str],
    pub when: &'static str,
    pub sample: Sample,
}

/// The checks of one fit, in order of work: as printed, where finishing follows; then finished.
#[derive(Debug, Clone, PartialEq)]
pub struct Inspection {
    pub checks: Vec<Check>,
}

impl Inspection {
    /// Returns the check of the finished feature.
    pub fn finished(&self) -> Option<&Check> {
        self.checks.last()
    }
}

/// Returns the gauge for a feature: its error should be within about a tenth of the tolerance (common practice).
pub fn gauge(kind: FeatureKind, size: Length, tolerance: Length, practice: &Practice) -> String {
    let fine = tolerance.to_um() <= practice.fine_tolerance.to_um();
    match (kind, fine) {
        (FeatureKind::Hole, true) => format!("plug gauge or bore gauge for {}", mm(size)),
        (FeatureKind::Hole, false) if size.to_um() <= practice.gauge_pin_hole.to_um() => {
            "gauge pins or drill shanks, largest that enters (a caliper reads small holes too small)".to_owned()
        }
        (FeatureKind::Hole, false) => "caliper, inside jaws, two directions".to_owned(),
        (FeatureKind::Outside, true) => "micrometer, two directions".to_owned(),
        (FeatureKind::Outside, false) => "caliper, outside jaws, two directions".to_owned(),
    }
}

/// Returns the instruments that [`gauge`] names, any of which does.
pub fn instruments(kind: FeatureKind, size: Length, tolerance: Length, practice: &Practice) -> &'static [&'static str] {
    let fine = tolerance.to_um() <= practice.fine_tolerance.to_um();
    match (kind, fine) {
        (FeatureKind::Hole, true) => &["plug gauge", "bore gauge", "gauge pin", "pin gauge"],
        (FeatureKind::Hole, false) if size.to_um() <= practice.gauge_pin_hole.to_um() => {
            &["gauge pin", "pin gauge", "plug gauge", "drill shank"]
        }
        (FeatureKind::Outside, true) => &["micrometer"],
        (FeatureKind::Hole | FeatureKind::Outside, false) => &["caliper"],
    }
}

/// A hole with ribs in it has two sizes; the room the printer needs is that between them.
const BETWEEN_RIBS: &str = "caliper, inside jaws, between the ribs, two directions (a gauge pin meets their tips)";

pub(crate) fn plan(
    demand: &Demand,
    context: &FeatureContext,
    capability: &Capability,
    route: &Route,
    printed: Limits,
) -> Inspection {
    // A polymer that takes up water changes its size with it.
    let moist = context.moist && context.polymer.moisture > 0.0;
    let when = match (context.annealed, moist) {
        (true, _) => "after annealing, at room temperature",
        (false, true) => "after conditioning to the air of service",
        (false, false) => "after cooling to room temperature",
    };
    let measured = |what: String, limits: Limits, when: &'static str, sample: Sample| {
        let gauge = demand
            .gauge
            .map_or_else(|| gauge(context.kind, demand.nominal, limits.width(), &context.practice), str::to_owned);
        let instruments = match demand.gauge {
            None => instruments(context.kind, demand.nominal, limits.width(), &context.practice),
            Some(_) => &[],
        };
        Check { what, limits: Some(limits), gauge, instruments, when, sample }
    };
    let some = Sample::FirstLastAndEvery(context.practice.sample_every.clamp(1.0, f64::from(u16::MAX)) as u32);
    let mut checks = Vec::new();
    match route {
        Route::PrintToSize => {
            let sample = if capability.verdict == Verdict::Holds { some } else { Sample::Every };
            checks.push(measured(demand.words.clone(), demand.limits, when, sample));
        }
        // Nothing to measure that printing could be held to: its mate judges it.
        Route::PrintThen { then } if then.kind == FinishKind::TryAndFit => {}
        // Printed to size and then joined: the size that counts is the printed one.
        Route::PrintThen { .. } => {
            checks.push(measured(format!("{}, as printed", demand.words), demand.limits, when, Sample::Every));
        }
        Route::PrintUnder { .. } | Route::PrintOver { .. } => {
            let mut check = measured(format!("{}, as printed", demand.words), printed, when, some);
            if context.kind == FeatureKind::Hole && route.finish().is_some_and(|f| f.kind == FinishKind::CrushRibs) {
                check.gauge = BETWEEN_RIBS.to_owned();
                check.instruments = &["caliper"];
            }
            checks.push(check);
        }
        Route::Replace { .. } => {}
    }
    if let Some(then) = route.finish() {
        let after = "after finishing, cool";
        checks.push(match trial(then.kind) {
            Some(gauge) => {
                let what = demand.words.clone();
                Check {
                    what,
                    limits: None,
                    gauge: gauge.to_owned(),
                    instruments: &[],
                    when: after,
                    sample: Sample::Every,
                }
            }
            None => measured(demand.words.clone(), demand.limits, after, Sample::Every),
        });
    }
    Inspection { checks }
}

/// The trial that judges a finish which leaves nothing to measure.
fn trial(kind: FinishKind) -> Option<&'static str> {
    match kind {
        FinishKind::Ream | FinishKind::Drill | FinishKind::Turn => None,
        FinishKind::Tap => Some("a screw of the size (or a thread gauge) runs in by hand to full depth, without play"),
        FinishKind::SetInsert | FinishKind::DrillAndSetInsert => {
            Some("insert flush and square, no melt in its thread; a screw runs in by hand")
        }
        FinishKind::ClampOrBond => {
            Some("the mate sits at its depth, square and without play; a bearing turns as freely as before")
        }
        FinishKind::CrushRibs => Some("pressed home square, no crack; holds the agreed pull or turn"),
        FinishKind::Bush | FinishKind::MetalPin => Some("the bought part sits square and without play"),
        FinishKind::TryAndFit => Some("goes together with its own mate as the fit asks"),
    }
}
