//! Inspection: with what, when and how many, for every fit.

use super::allowance::{Capability, Route, Verdict};
use super::feature::{FeatureContext, FeatureKind};
use super::function::{Demand, FinishKind, Limits};
use super::practice::Practice;
use super::said::{Gauge, Looked, When};
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
}

/// One check: what, within which limits or by which trial, with what, when, how many.
#[derive(Debug, Clone, PartialEq)]
pub struct Check {
    pub what: Looked,
    /// None where the check is a trial and not a measurement.
    pub limits: Option<Limits>,
    /// The gauge, or the trial and what passes it.
    pub gauge: Gauge,
    /// Instruments of which any one does, by the words a shop lists them by; none where its mate or a hand judges.
    pub instruments: &'static [&'static str],
    pub when: When,
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
pub fn gauge(kind: FeatureKind, size: Length, tolerance: Length, practice: &Practice) -> Gauge {
    let fine = tolerance.to_um() <= practice.fine_tolerance.to_um();
    match (kind, fine) {
        (FeatureKind::Hole, true) => Gauge::PlugOrBore(size),
        (FeatureKind::Hole, false) if size.to_um() <= practice.gauge_pin_hole.to_um() => Gauge::Pins,
        (FeatureKind::Hole, false) => Gauge::CaliperInside,
        (FeatureKind::Outside, true) => Gauge::Micrometer,
        (FeatureKind::Outside, false) => Gauge::CaliperOutside,
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
        (true, _) => When::Annealed,
        (false, true) => When::Conditioned,
        (false, false) => When::Cooled,
    };
    let looked = |as_printed: bool| Looked { fit: demand.named.clone(), as_printed };
    let measured = |what: Looked, limits: Limits, when: When, sample: Sample| {
        let usual = || gauge(context.kind, demand.nominal, limits.width(), &context.practice);
        let gauge = demand.gauge.unwrap_or_else(usual);
        let instruments = match demand.gauge {
            None => instruments(context.kind, demand.nominal, limits.width(), &context.practice),
            Some(Gauge::BetweenWalls) => &["caliper"],
            Some(_) => &[],
        };
        Check { what, limits: Some(limits), gauge, instruments, when, sample }
    };
    let some = Sample::FirstLastAndEvery(context.practice.sample_every.clamp(1.0, f64::from(u16::MAX)) as u32);
    let mut checks = Vec::new();
    match route {
        Route::PrintToSize => {
            let sample = if capability.verdict == Verdict::Holds { some } else { Sample::Every };
            checks.push(measured(looked(false), demand.limits, when, sample));
        }
        // Nothing to measure that printing could be held to: its mate judges it.
        Route::PrintThen { then }
            if matches!(
                then.kind,
                FinishKind::TryAndFit
                    | FinishKind::PrintThread
                    | FinishKind::OpenWhereTight
                    | FinishKind::TryTheArm
                    | FinishKind::SetOut
            ) => {}
        // Printed to size and then joined: the size that counts is the printed one.
        Route::PrintThen { .. } => {
            checks.push(measured(looked(true), demand.limits, when, Sample::Every));
        }
        Route::PrintUnder { .. } | Route::PrintOver { .. } => {
            let mut check = measured(looked(true), printed, when, some);
            if context.kind == FeatureKind::Hole && route.finish().is_some_and(|f| f.kind == FinishKind::CrushRibs) {
                // A hole with ribs in it has two sizes; the room the printer needs is that between them.
                check.gauge = Gauge::BetweenRibs;
                check.instruments = &["caliper"];
            }
            checks.push(check);
        }
        Route::Replace { .. } => {}
    }
    if let Some(then) = route.finish() {
        let after = When::Finished;
        checks.push(match then.kind {
            FinishKind::Ream | FinishKind::Drill | FinishKind::Turn | FinishKind::File | FinishKind::SetOut => {
                measured(looked(false), demand.limits, after, Sample::Every)
            }
            // It leaves nothing to measure: a trial judges it.
            kind => Check {
                what: looked(false),
                limits: None,
                gauge: Gauge::Trial(kind),
                instruments: &[],
                when: after,
                sample: Sample::Every,
            },
        });
    }
    Inspection { checks }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_the_last_and_every_so_many_between_are_gauged() {
        let of = |pieces| Sample::FirstLastAndEvery(10).of(pieces);
        assert_eq!([of(1), of(2), of(3), of(12), of(52)], [1, 2, 2, 3, 7]);
        assert_eq!(Sample::Every.of(7), 7);
    }
}
