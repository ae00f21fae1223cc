//! Inspection: with what, when and how many, for every fit.

use super::allowance::{Capability, Route, Verdict};
use super::feature::{FeatureContext, FeatureKind};
use super::function::{Demand, Limits, mm};
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

/// One check: what, within which limits, with what, when, how many.
#[derive(Debug, Clone, PartialEq)]
pub struct Check {
    pub what: String,
    pub limits: Limits,
    pub gauge: String,
    pub when: &'static str,
    pub sample: Sample,
}

impl Check {
    /// Returns the check as a line with a blank for the measured value.
    pub fn line(&self) -> String {
        format!(
            "{}: {} to {}, {}, {}, {}; measured ______",
            self.what,
            mm(self.limits.low),
            mm(self.limits.high),
            self.gauge,
            self.when,
            self.sample.in_words()
        )
    }
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
pub fn gauge(kind: FeatureKind, size: Length, tolerance: Length) -> String {
    let fine = tolerance.to_mm() <= 0.06;
    match (kind, fine) {
        (FeatureKind::Hole, true) => format!("plug gauge or bore gauge for {}", mm(size)),
        (FeatureKind::Hole, false) if size.to_mm() <= 12.0 => {
            "gauge pins or drill shanks, largest that enters (a caliper reads small holes too small)".to_owned()
        }
        (FeatureKind::Hole, false) => "caliper, inside jaws, two directions".to_owned(),
        (FeatureKind::Outside, true) => "micrometer, two directions".to_owned(),
        (FeatureKind::Outside, false) => "caliper, outside jaws, two directions".to_owned(),
    }
}

pub(crate) fn plan(
    demand: &Demand,
    context: &FeatureContext,
    capability: &Capability,
    route: &Route,
    printed: Limits,
) -> Inspection {
    let when_printed = match (context.annealed, context.moist) {
        (true, _) => "after annealing, at room temperature",
        (false, true) => "after conditioning to the air of service",
        (false, false) => "after cooling to room temperature",
    };
    let mut checks = Vec::new();
    if route.finish().is_some() {
        checks.push(Check {
            what: format!("{}, as printed", demand.words),
            limits: printed,
            gauge: gauge(context.kind, printed.middle(), printed.width()),
            when: when_printed,
            sample: Sample::FirstLastAndEvery(10),
        });
    }
    let (when, sample) = match route {
        Route::PrintToSize if capability.verdict == Verdict::Holds => (when_printed, Sample::FirstLastAndEvery(10)),
        Route::PrintToSize => (when_printed, Sample::Every),
        _ => ("after finishing, cool", Sample::Every),
    };
    checks.push(Check {
        what: demand.words.clone(),
        limits: demand.limits,
        gauge: gauge(context.kind, demand.nominal, demand.limits.width()),
        when,
        sample,
    });
    Inspection { checks }
}

/// One row of a first-article form.
#[derive(Debug, Clone, PartialEq)]
pub struct FormRow {
    /// Running number, also drawn at the feature where there is a picture.
    pub number: usize,
    pub feature: String,
    pub low: Length,
    pub high: Length,
    pub gauge: String,
    pub when: &'static str,
}

/// Returns the rows of a first-article form: every check of every fit, numbered in order of work.
pub fn first_article<'a>(inspections: impl IntoIterator<Item = &'a Inspection>) -> Vec<FormRow> {
    inspections
        .into_iter()
        .flat_map(|i| i.checks.iter())
        .enumerate()
        .map(|(i, check)| FormRow {
            number: i + 1,
            feature: check.what.clone(),
            low: check.limits.low,
            high: check.limits.high,
            gauge: check.gauge.clone(),
            when: check.when,
        })
        .collect()
}
