//! Process capability: does what is made lie within its limits.

use crate::physics::{Checked, finite, positive, sound};
use crate::quantity::Length;

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
