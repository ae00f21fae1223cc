//! How many to start and how many to test.

use super::distributions::{beta_i, bisect};
use super::whole;
use crate::physics::{Checked, within};

/// Counts above this are refused: no shop starts so many, and the sums stay exact.
const MOST: u64 = 10_000_000;

/// Chance that at least `good` of `started` come out good: `P[Binomial(n, p) >= k] = I_p(k, n - k + 1)`.
///
/// Exact (handbook: Abramowitz and Stegun 26.5.24); assumes pieces fail independently of each other.
pub fn chance_of_enough(started: u64, good: u64, yield_share: f64) -> Checked<f64> {
    let p = within("a yield", yield_share, 0.0, 1.0)?;
    if started > MOST {
        return Err(format!("expected at most {MOST} pieces"));
    }
    if good == 0 {
        return Ok(1.0);
    }
    if good > started {
        return Ok(0.0);
    }
    Ok(beta_i(good as f64, (started - good) as f64 + 1.0, p))
}

/// Least number to start so that at least `good` come out good with the confidence wanted.
///
/// `Err` for a yield of 0, a confidence of 1 with a yield below 1, or more than ten million pieces.
pub fn start_count(good: u64, yield_share: f64, confidence: f64) -> Checked<u64> {
    let p = within("a yield", yield_share, 0.0, 1.0)?;
    let c = within("a confidence", confidence, 0.0, 1.0)?;
    if good == 0 || p >= 1.0 {
        return Ok(good);
    }
    if p <= 0.0 || c >= 1.0 || good > MOST {
        return Err(
            "no finite number of pieces is enough: the yield must be above 0 and the confidence below 1".to_owned()
        );
    }
    // Two routes to the same limit differ in the last digits; a tie counts as enough.
    let enough = |n: u64| chance_of_enough(n, good, p).map(|chance| chance >= c - 1e-12);
    let mut high = good;
    while !enough(high)? {
        if high >= MOST {
            return Err(format!("more than {MOST} pieces would be needed: the yield is too low"));
        }
        high = (high.saturating_mul(2)).min(MOST);
    }
    let mut low = good;
    while low < high {
        let middle = low + (high - low) / 2;
        if enough(middle)? {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    Ok(high)
}

/// One-sided lower confidence limit of the yield after `good` of `started` (Clopper-Pearson, exact).
pub fn yield_lower_bound(good: u64, started: u64, confidence: f64) -> Checked<f64> {
    let c = within("a confidence", confidence, 0.0, 1.0 - 1e-9)?;
    if started == 0 || good > started || started > MOST {
        return Err(format!("expected 1 to {MOST} pieces started and no more good ones than that"));
    }
    if good == 0 {
        return Ok(0.0);
    }
    let (a, b) = (good as f64, (started - good) as f64 + 1.0);
    Ok(bisect(0.0, 1.0, 1.0 - c, |p| beta_i(a, b, p)))
}

/// Number to test without one failure to show a reliability: `ceil(ln(1 - C)/ln R)`.
///
/// Source: success-run testing (Quality Digest 2015). Some calculators use a uniform prior and give one fewer.
pub fn zero_failure_count(reliability: f64, confidence: f64) -> Checked<u64> {
    let r = within("a reliability", reliability, 1e-9, 1.0 - 1e-9)?;
    let c = within("a confidence", confidence, 0.0, 1.0 - 1e-15)?;
    // An exact integer must not be pushed up by rounding: C = R = 0.5 gives 1.
    let n = ((1.0 - c).ln() / r.ln() - 1e-9).ceil().max(1.0);
    Ok(n as u64)
}

pub(super) fn start_count_number(good: f64, yield_share: f64, confidence: f64) -> Checked<f64> {
    start_count(whole("good pieces", good, 0, MOST)?, yield_share, confidence).map(|n| n as f64)
}

pub(super) fn chance_number(started: f64, good: f64, yield_share: f64) -> Checked<f64> {
    chance_of_enough(whole("pieces started", started, 0, MOST)?, whole("good pieces", good, 0, MOST)?, yield_share)
}

pub(super) fn yield_bound_number(good: f64, started: f64, confidence: f64) -> Checked<f64> {
    yield_lower_bound(whole("good pieces", good, 0, MOST)?, whole("pieces started", started, 1, MOST)?, confidence)
}
