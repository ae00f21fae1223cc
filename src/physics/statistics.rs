//! Counting and measuring: how many to start, how many to test, capability, sampling plans.

pub mod binomial;
pub mod capability;
mod distributions;
pub mod sampling {
    //! Sampling plans of ISO 2859-1: those of the planner, whose table this is.

    pub use planner::sampling::{Level, Plan, code_letter, plan};

    use crate::physics::Checked;

    /// The plan at the usual level II, from numbers (the AQL as a share: 1 % is 0.01), for the registry.
    pub(super) fn level_two(lot: f64, aql: f64) -> Checked<Plan> {
        plan(super::whole("a lot", lot, 2, 1_000_000_000)?, Level::II, aql * 100.0).map_err(|refusal| refusal.why)
    }
}

use super::registry::{Function, Parameter, apply, input, number};
use super::{Checked, SourceNote};
use crate::quantity::Dimension;

/// Reads a count that came as a number.
pub(super) fn whole(what: &str, value: f64, low: u64, high: u64) -> Checked<u64> {
    if value.is_finite() && value.fract() == 0.0 && value >= low as f64 && value <= high as f64 {
        Ok(value as u64)
    } else {
        Err(format!("expected {what} as a whole number from {low} to {high}, found {}", super::found(value)))
    }
}

const BINOMIAL: SourceNote =
    SourceNote::new("handbook", "binomial distribution; Miller and Freund, Probability and Statistics for Engineers");
const SUCCESS_RUN: SourceNote =
    SourceNote::new("handbook", "success-run testing, Quality Digest, 16 Dec 2015: ln(1 - C)/ln R");
const CAPABILITY: SourceNote =
    SourceNote::new("handbook", "Miller and Freund, Probability and Statistics for Engineers, p. 470");
const ISO2859: SourceNote =
    SourceNote::new("standard", "ISO 2859-1:1999, tables 1 and 2-A, single sampling, normal inspection");

const LOWER: Parameter = input("lower", Dimension::LENGTH, "lower limit");
const UPPER: Parameter = input("upper", Dimension::LENGTH, "upper limit");
const SPREAD: Parameter = input("spread", Dimension::LENGTH, "standard deviation");
const CONFIDENCE: Parameter = number("confidence", "confidence wanted, below 1");
const YIELD: Parameter = number("yield", "share that comes out good");

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        name: "start_count",
        inputs: &[number("good", "good pieces wanted"), YIELD, CONFIDENCE],
        output: Dimension::NONE,
        formula: "least n with P[Binomial(n, yield) >= good] >= confidence",
        source: BINOMIAL,
        help: "pieces to start so that enough come out good",
        example: &["24", "0.85", "0.9"],
        evaluate: apply!(binomial::start_count_number; 0 1 2),
    },
    Function {
        name: "chance_of_enough",
        inputs: &[number("started", "pieces started"), number("good", "good pieces wanted"), YIELD],
        output: Dimension::NONE,
        formula: "P[Binomial(started, yield) >= good]",
        source: BINOMIAL,
        help: "chance that enough of the pieces started come out good",
        example: &["31", "24", "0.85"],
        evaluate: apply!(binomial::chance_number; 0 1 2),
    },
    Function {
        name: "yield_lower_bound",
        inputs: &[number("good", "good pieces so far"), number("started", "pieces started so far"), CONFIDENCE],
        output: Dimension::NONE,
        formula: "one-sided Clopper-Pearson limit: p with P[Binomial(started, p) >= good] = 1 - confidence",
        source: SourceNote::new("handbook", "exact binomial confidence limit (Clopper and Pearson 1934)"),
        help: "yield the record lets one count on",
        example: &["22", "22", "0.9"],
        evaluate: apply!(binomial::yield_bound_number; 0 1 2),
    },
    Function {
        name: "zero_failure_count",
        inputs: &[number("reliability", "share that must hold, below 1"), CONFIDENCE],
        output: Dimension::NONE,
        formula: "ceil(ln(1 - C)/ln R)",
        source: SUCCESS_RUN,
        help: "pieces to test without a failure to show a reliability",
        example: &["0.9", "0.9"],
        evaluate: apply!(|r, c| binomial::zero_failure_count(r, c).map(|n| n as f64); 0 1),
    },
    Function {
        name: "process_capability",
        inputs: &[LOWER, UPPER, SPREAD],
        output: Dimension::NONE,
        formula: "Cp = (U - L)/(6 s)",
        source: CAPABILITY,
        help: "capability Cp: tolerance over six standard deviations",
        example: &["7.9 mm", "8.1 mm", "0.02 mm"],
        evaluate: apply!(capability::cp; 0 1 2),
    },
    Function {
        name: "process_capability_centred",
        inputs: &[LOWER, UPPER, input("mean", Dimension::LENGTH, "mean of what is made"), SPREAD],
        output: Dimension::NONE,
        formula: "Cpk = min(U - m, m - L)/(3 s)",
        source: CAPABILITY,
        help: "capability Cpk: room from the mean to the nearer limit over three standard deviations",
        example: &["7.9 mm", "8.1 mm", "8.03 mm", "0.02 mm"],
        evaluate: apply!(capability::cpk; 0 1 2 3),
    },
    Function {
        name: "inspection_sample",
        inputs: &[
            number("lot", "pieces in the lot, 2 or more"),
            number("aql", "acceptance quality limit, 0.065 % to 6.5 %"),
        ],
        output: Dimension::NONE,
        formula: "ISO 2859-1 single plan, level II, normal: sample size (the whole lot if it is smaller)",
        source: ISO2859,
        help: "pieces to inspect from a lot",
        example: &["500", "1 %"],
        evaluate: apply!(|n, q| sampling::level_two(n, q).map(|p| p.sample as f64); 0 1),
    },
    Function {
        name: "inspection_accept",
        inputs: &[
            number("lot", "pieces in the lot, 2 or more"),
            number("aql", "acceptance quality limit, 0.065 % to 6.5 %"),
        ],
        output: Dimension::NONE,
        formula: "ISO 2859-1 single plan, level II, normal: acceptance number",
        source: ISO2859,
        help: "bad pieces in the sample up to which the lot is accepted",
        example: &["500", "1 %"],
        evaluate: apply!(|n, q| sampling::level_two(n, q).map(|p| f64::from(p.accept)); 0 1),
    },
];
