//! Process capability: does what is made lie within its limits, and how sure is that.

use super::distributions::{chi_square_quantile, normal_quantile};
use crate::physics::{Checked, finite, positive, sound, within};
use crate::quantity::Length;

/// A capability index with its two-sided confidence limits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Capability {
    pub value: f64,
    pub low: f64,
    pub high: f64,
}

/// `Cp = (U - L)/(6 s)`. Source: Miller and Freund p. 470.
pub fn cp(lower: Length, upper: Length, spread: Length) -> Checked<f64> {
    let s = positive("a standard deviation", spread.to_mm())?;
    let width = positive("a distance between the limits", upper.to_mm() - lower.to_mm())?;
    sound(width / (6.0 * s))
}

/// `Cpk = min(U - m, m - L)/(3 s)`; negative when the mean lies outside. Source: Miller and Freund p. 470.
pub fn cpk(lower: Length, upper: Length, mean: Length, spread: Length) -> Checked<f64> {
    let s = positive("a standard deviation", spread.to_mm())?;
    positive("a distance between the limits", upper.to_mm() - lower.to_mm())?;
    let m = finite("mean", mean.to_mm())?;
    sound((upper.to_mm() - m).min(m - lower.to_mm()) / (3.0 * s))
}

/// Confidence limits of Cp: `Cp sqrt(chi²/(n - 1))` (handbook; normal data).
pub fn cp_limits(value: f64, sample: u32, confidence: f64) -> Checked<Capability> {
    let (n, c) = sample_and_confidence(sample, confidence)?;
    let value = positive("a Cp", value)?;
    let limit = |p: f64| value * (chi_square_quantile(p, n - 1.0) / (n - 1.0)).sqrt();
    Ok(Capability { value, low: sound(limit((1.0 - c) / 2.0))?, high: sound(limit((1.0 + c) / 2.0))? })
}

/// Approximate confidence limits of Cpk: `Cpk ± z sqrt(1/(9n) + Cpk²/(2(n - 1)))` (handbook; normal data, n from about 10).
pub fn cpk_limits(value: f64, sample: u32, confidence: f64) -> Checked<Capability> {
    let (n, c) = sample_and_confidence(sample, confidence)?;
    let value = finite("Cpk", value)?;
    let half = normal_quantile((1.0 + c) / 2.0) * (1.0 / (9.0 * n) + value * value / (2.0 * (n - 1.0))).sqrt();
    Ok(Capability { value, low: sound(value - half)?, high: sound(value + half)? })
}

fn sample_and_confidence(sample: u32, confidence: f64) -> Checked<(f64, f64)> {
    if !(2..=1_000_000).contains(&sample) {
        return Err("expected a sample of 2 to a million".to_owned());
    }
    Ok((f64::from(sample), within("a confidence", confidence, 0.01, 1.0 - 1e-9)?))
}
