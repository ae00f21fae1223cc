//! How many of a lot to inspect: ISO 2859-1 single sampling at normal inspection, and samples without one failure.
//!
//! The master table runs along diagonals, so it is rebuilt from the start letter of each AQL column; the tests compare
//! every cell with the published table.

use crate::refusal::{About, Refusal, within};

/// Inspection levels of ISO 2859-1 table 1, the special ones first.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Level {
    /// Special level S-1, the smallest samples.
    S1,
    /// Special level S-2.
    S2,
    /// Special level S-3.
    S3,
    /// Special level S-4.
    S4,
    /// General level I: less is at stake than usual.
    I,
    /// General level II, the usual one.
    II,
    /// General level III: more is at stake.
    III,
}

/// A single sampling plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Plan {
    /// Code letter of the lot.
    pub letter: char,
    /// Letter whose plan is used after following the arrows of the table.
    pub plan_letter: char,
    /// Pieces to inspect; the whole lot if the plan asks for as many or more.
    pub sample: u64,
    /// With so many faulty pieces the lot is taken.
    pub accept: u32,
    /// With so many it is not.
    pub reject: u32,
    /// Whether every piece is looked at.
    pub whole_lot: bool,
}

const LETTERS: [(char, u64); 16] = [
    ('A', 2),
    ('B', 3),
    ('C', 5),
    ('D', 8),
    ('E', 13),
    ('F', 20),
    ('G', 32),
    ('H', 50),
    ('J', 80),
    ('K', 125),
    ('L', 200),
    ('M', 315),
    ('N', 500),
    ('P', 800),
    ('Q', 1_250),
    ('R', 2_000),
];

/// AQL in percent and the index of the letter at which its column begins with Ac 0.
const COLUMNS: [(f64, usize); 11] = [
    (0.065, 10),
    (0.1, 9),
    (0.15, 8),
    (0.25, 7),
    (0.4, 6),
    (0.65, 5),
    (1.0, 4),
    (1.5, 3),
    (2.5, 2),
    (4.0, 1),
    (6.5, 0),
];

/// Table 1: largest lot of the row, letters for S-1, S-2, S-3, S-4, I, II, III.
const LOTS: [(u64, [char; 7]); 15] = [
    (8, ['A', 'A', 'A', 'A', 'A', 'A', 'B']),
    (15, ['A', 'A', 'A', 'A', 'A', 'B', 'C']),
    (25, ['A', 'A', 'B', 'B', 'B', 'C', 'D']),
    (50, ['A', 'B', 'B', 'C', 'C', 'D', 'E']),
    (90, ['B', 'B', 'C', 'C', 'C', 'E', 'F']),
    (150, ['B', 'B', 'C', 'D', 'D', 'F', 'G']),
    (280, ['B', 'C', 'D', 'E', 'E', 'G', 'H']),
    (500, ['B', 'C', 'D', 'E', 'F', 'H', 'J']),
    (1_200, ['C', 'C', 'E', 'F', 'G', 'J', 'K']),
    (3_200, ['C', 'D', 'E', 'G', 'H', 'K', 'L']),
    (10_000, ['C', 'D', 'F', 'G', 'J', 'L', 'M']),
    (35_000, ['C', 'D', 'F', 'H', 'K', 'M', 'N']),
    (150_000, ['D', 'E', 'G', 'J', 'L', 'N', 'P']),
    (500_000, ['D', 'E', 'G', 'J', 'M', 'P', 'Q']),
    (u64::MAX, ['D', 'E', 'H', 'K', 'N', 'Q', 'R']),
];

/// Acceptance numbers down a column from its start letter; the arrows are resolved in [`follow`].
const ACCEPT: [Option<u32>; 11] =
    [Some(0), None, None, Some(1), Some(2), Some(3), Some(5), Some(7), Some(10), Some(14), Some(21)];

/// Returns the code letter of a lot (table 1).
pub fn code_letter(lot: u64, level: Level) -> Result<char, Refusal> {
    if lot < 2 {
        return Err(Refusal::number("expected a lot of at least two pieces; a single piece is simply inspected"));
    }
    LOTS.iter()
        .find(|row| lot <= row.0)
        .and_then(|row| row.1.get(level as usize).copied())
        .ok_or_else(|| Refusal::number("no code letter for that lot"))
}

/// Returns the plan for a lot, level and AQL in percent (0.065, 0.1, 0.15, 0.25, 0.4, 0.65, 1, 1.5, 2.5, 4, 6.5).
///
/// Source: ISO 2859-1:1999 tables 1 and 2-A; the columns 0.065 and 0.1 rest on the diagonal pattern alone. A later
/// edition may differ. An arrow sends to another letter's plan with its sample size, as the standard rules.
pub fn plan(lot: u64, level: Level, aql_percent: f64) -> Result<Plan, Refusal> {
    let letter = code_letter(lot, level)?;
    let start = COLUMNS.iter().find(|(aql, _)| (aql - aql_percent).abs() <= 1e-9).map(|c| c.1).ok_or_else(|| {
        Refusal::number("expected one of the AQL steps 0.065, 0.1, 0.15, 0.25, 0.4, 0.65, 1, 1.5, 2.5, 4, 6.5 %")
    })?;
    let index = LETTERS.iter().position(|l| l.0 == letter).unwrap_or(0);
    let (row, accept) = follow(index, start);
    let (plan_letter, size) = LETTERS.get(row).copied().ok_or_else(|| Refusal::number("no plan in the table"))?;
    let whole_lot = size >= lot;
    Ok(Plan { letter, plan_letter, sample: size.min(lot), accept, reject: accept + 1, whole_lot })
}

/// Follows the arrows from a letter to the letter whose plan holds, with its acceptance number.
fn follow(index: usize, start: usize) -> (usize, u32) {
    let last = ACCEPT.len() - 1;
    let step = match index.checked_sub(start) {
        None | Some(0 | 1) => 0,
        Some(2) => 3,
        Some(d) => d.min(last),
    };
    (start + step, ACCEPT.get(step).copied().flatten().unwrap_or(0))
}

/// A sample in which no piece may fail.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ZeroFailures {
    /// Pieces to inspect.
    pub sample: u64,
    /// Chance that a lot just at the limit passes all the same: at most one less the confidence.
    pub passes_at_limit: f64,
}

/// Two routes to one limit differ in the last digits; a tie counts as enough.
const TIE: f64 = 1e-12;

/// Returns the least sample without one failure that shows, with `confidence`, that at least `conforming` (a share) of
/// a large lot conforms: least n with `R^n <= 1 - C`.
///
/// Source: success-run testing (Quality Digest 2015).
pub fn zero_failures(conforming: f64, confidence: f64) -> Result<ZeroFailures, Refusal> {
    let r = within(About::Number, "a share that conforms", conforming, 1e-9, 1.0 - 1e-9)?;
    let c = within(About::Number, "a confidence", confidence, 0.0, 1.0 - 1e-9)?;
    let mut sample = ((1.0 - c).ln() / r.ln()).floor().max(1.0) as u64;
    let passes = |n: u64| (n as f64 * r.ln()).exp();
    while sample > 1 && passes(sample - 1) <= 1.0 - c + TIE {
        sample -= 1;
    }
    while passes(sample) > 1.0 - c + TIE {
        sample += 1;
    }
    Ok(ZeroFailures { sample, passes_at_limit: passes(sample) })
}

/// Returns the least sample without one failure of a finite lot, such that a lot with `bad` bad pieces shows none with a
/// chance of at most one less `confidence`: hypergeometric, the product over the sample of (good left) / (pieces left).
pub fn zero_failures_in_lot(lot: u64, bad: u64, confidence: f64) -> Result<ZeroFailures, Refusal> {
    let c = within(About::Number, "a confidence", confidence, 0.0, 1.0)?;
    if bad == 0 || bad > lot || lot > 100_000_000 {
        return Err(Refusal::number(format!("expected 1 to {lot} bad pieces to be caught, found {bad}")));
    }
    let (mut missed, mut sample) = (1.0, 0);
    while sample == 0 || missed > 1.0 - c + TIE {
        missed *= (lot - bad).saturating_sub(sample) as f64 / (lot - sample) as f64;
        sample += 1;
    }
    Ok(ZeroFailures { sample, passes_at_limit: missed })
}
