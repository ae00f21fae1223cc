//! Straight-line fits for calibration: offset, scale, their standard errors, and readings that do not belong.

use super::distributions::t_quantile;
use crate::physics::{Checked, finite, sound};

/// A least-squares line `y = offset + scale x`.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    pub offset: f64,
    pub scale: f64,
    pub offset_error: f64,
    pub scale_error: f64,
    /// Standard deviation of the residuals, n - 2 degrees of freedom.
    pub residual: f64,
    pub r_squared: f64,
    pub count: usize,
    /// Indices of readings that do not belong, in order; see [`Line::fit`].
    pub outliers: Vec<usize>,
}

impl Line {
    /// Fits a line to points (x, y) by ordinary least squares; needs three points and two different x.
    ///
    /// Checked against NIST StRD Norris (standard). Outliers: externally studentised residual beyond the two-sided 5 %
    /// limit of Student's t shared among all n readings (Bonferroni; handbook practice). Four or fewer readings cannot
    /// show one. Flagged, never dropped.
    pub fn fit(points: &[(f64, f64)]) -> Checked<Line> {
        let n = points.len();
        if n < 3 {
            return Err(format!("expected at least three readings for a line, found {n}"));
        }
        for (x, y) in points {
            finite("reading", x + y)?;
        }
        let count = n as f64;
        let mean_x = points.iter().map(|p| p.0).sum::<f64>() / count;
        let mean_y = points.iter().map(|p| p.1).sum::<f64>() / count;
        // Centred sums: the textbook one-pass form loses most digits on the reference data.
        let sxx: f64 = points.iter().map(|p| (p.0 - mean_x).powi(2)).sum();
        let sxy: f64 = points.iter().map(|p| (p.0 - mean_x) * (p.1 - mean_y)).sum();
        let syy: f64 = points.iter().map(|p| (p.1 - mean_y).powi(2)).sum();
        if sxx <= 0.0 {
            return Err("expected readings at two different nominal values at least".to_owned());
        }
        let scale = sound(sxy / sxx)?;
        let offset = sound(mean_y - scale * mean_x)?;
        let left: Vec<f64> = points.iter().map(|p| p.1 - offset - scale * p.0).collect();
        let sse: f64 = left.iter().map(|r| r * r).sum();
        let residual = (sse / (count - 2.0)).sqrt();
        let leverage: Vec<f64> = points.iter().map(|p| 1.0 / count + (p.0 - mean_x).powi(2) / sxx).collect();
        Ok(Line {
            offset,
            scale,
            offset_error: sound(residual * (1.0 / count + mean_x * mean_x / sxx).sqrt())?,
            scale_error: sound(residual / sxx.sqrt())?,
            residual: sound(residual)?,
            r_squared: if syy > 0.0 { (1.0 - sse / syy).clamp(0.0, 1.0) } else { 1.0 },
            count: n,
            outliers: outliers(&left, &leverage, sse),
        })
    }

    /// Returns what to command so that `wanted` comes out: `(wanted - offset)/scale`; `None` for a scale of zero.
    pub fn command_for(&self, wanted: f64) -> Option<f64> {
        let command = (wanted - self.offset) / self.scale;
        command.is_finite().then_some(command)
    }

    /// Returns what comes out for a nominal value.
    pub fn predict(&self, nominal: f64) -> f64 {
        self.offset + self.scale * nominal
    }

    /// Returns the half width of the two-sided confidence interval of offset and scale; `None` outside 0 to 1.
    pub fn confidence(&self, confidence: f64) -> Option<(f64, f64)> {
        if !(confidence > 0.0 && confidence < 1.0) {
            return None;
        }
        let t = t_quantile((1.0 + confidence) / 2.0, self.count as f64 - 2.0);
        Some((t * self.offset_error, t * self.scale_error))
    }
}

fn outliers(left: &[f64], leverage: &[f64], sse: f64) -> Vec<usize> {
    let n = left.len() as f64;
    if n < 5.0 {
        return Vec::new();
    }
    let limit = t_quantile(1.0 - 0.05 / (2.0 * n), n - 3.0);
    let mut found = Vec::new();
    for (i, (r, h)) in left.iter().zip(leverage).enumerate() {
        let free = 1.0 - h;
        // A reading alone at its x fits by force, and rounding noise of a perfect fit is no outlier.
        if free <= 1e-9 || r.abs() <= 1e-12 * (1.0 + sse.sqrt()) {
            continue;
        }
        let without = ((sse - r * r / free) / (n - 3.0)).max(0.0);
        if r.abs() > limit * (without * free).sqrt() {
            found.push(i);
        }
    }
    found
}

/// Mean, standard deviation (n - 1) and standard error of the mean of repeated readings; needs two.
pub fn spread(readings: &[f64]) -> Checked<(f64, f64, f64)> {
    let n = readings.len() as f64;
    if readings.len() < 2 {
        return Err(format!("expected at least two readings for a spread, found {}", readings.len()));
    }
    for r in readings {
        finite("reading", *r)?;
    }
    let mean = readings.iter().sum::<f64>() / n;
    let deviation = (readings.iter().map(|r| (r - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt();
    Ok((sound(mean)?, sound(deviation)?, sound(deviation / n.sqrt())?))
}
