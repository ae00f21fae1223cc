//! Calibration: what this printer makes of a modelled size, from the shop's own measurements.

use super::feature::{FeatureAxis, FeatureKind};
use crate::quantity::{Length, trim_number};

/// One calibration record: printed size = scale x modelled size + offset, with the spread of single pieces.
#[derive(Debug, Clone, PartialEq)]
pub struct CalibrationRecord {
    pub printer: String,
    pub nozzle: String,
    pub material: String,
    pub what: FeatureKind,
    pub axis: FeatureAxis,
    /// Printed minus modelled, negative for a hole that comes out small.
    pub offset: Length,
    /// 1 where only an offset was recorded.
    pub scale: f64,
    /// Standard deviation of single pieces about the fitted line.
    pub spread: Length,
    pub count: u32,
    /// Date of measuring, `2026-11-05`.
    pub on: String,
    /// Smallest and largest modelled size measured, where known.
    pub range: Option<(Length, Length)>,
}

/// Fewer pieces than this give a spread that is hardly known.
pub const FEW_PIECES: u32 = 5;

impl CalibrationRecord {
    /// Returns the line by which a recipe cites the record.
    pub fn citation(&self) -> String {
        format!(
            "shop record: {} with {}, {}, {} {}, {} pieces, {}",
            self.printer, self.nozzle, self.material, self.what, self.axis, self.count, self.on
        )
    }

    /// Returns the record as a line of the shop file's `calibration` list.
    pub fn to_yaml_flow(&self) -> String {
        let mm = |l: Length| format!("{} mm", trim_number(l.to_mm(), 4));
        let mut line = format!(
            "{{ printer: {}, nozzle: {}, material: {}, what: {}, axis: {}, offset: {}, ",
            yaml_word(&self.printer),
            yaml_word(&self.nozzle),
            yaml_word(&self.material),
            self.what,
            self.axis,
            mm(self.offset)
        );
        if (self.scale - 1.0).abs() > 1e-12 {
            line.push_str(&format!("scale: {}, ", trim_number(self.scale, 6)));
        }
        line.push_str(&format!("spread: {}, count: {}, ", mm(self.spread), self.count));
        if let Some((from, to)) = self.range {
            line.push_str(&format!("from: {}, to: {}, ", mm(from), mm(to)));
        }
        line.push_str(&format!("on: {} }}", yaml_word(&self.on)));
        line
    }
}

/// Quotes a word for a YAML flow mapping where it is not a plain word.
fn yaml_word(text: &str) -> String {
    let plain = !text.is_empty()
        && text.chars().all(|c| c.is_alphanumeric() || matches!(c, '-' | '_' | '.' | ' '))
        && text.starts_with(|c: char| c.is_alphanumeric())
        && !text.ends_with(' ');
    if plain { text.to_owned() } else { format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\"")) }
}

/// A record older than this is called old (common practice: yearly, and after every change of nozzle or belt).
pub const OLD_DAYS: i64 = 365;

impl CalibrationRecord {
    /// Returns the deviation of one new piece to expect about the fitted line, two-sided 95 %.
    ///
    /// Student's t times s times sqrt(1 + 1/n): a prediction for one piece, so few pieces widen it.
    pub fn expected_deviation(&self) -> Length {
        let n = f64::from(self.count.max(2));
        Length::um(student_t_975(self.count.saturating_sub(1)) * self.spread.to_um() * (1.0 + 1.0 / n).sqrt())
    }
}

/// Student's t, 97.5 % point, by degrees of freedom (any statistics handbook; checked in the tests by its own integral).
const STUDENT_T: [f64; 30] = [
    12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228, 2.201, 2.179, 2.160, 2.145, 2.131, 2.120,
    2.110, 2.101, 2.093, 2.086, 2.080, 2.074, 2.069, 2.064, 2.060, 2.056, 2.052, 2.048, 2.045, 2.042,
];

/// Returns the 97.5 % point of Student's t; above 30 degrees of freedom by z + (z^3 + z)/(4 df), within 0.001.
pub fn student_t_975(degrees: u32) -> f64 {
    match degrees {
        0 => STUDENT_T[0],
        1..=30 => STUDENT_T.get(degrees as usize - 1).copied().unwrap_or(STUDENT_T[0]),
        _ => {
            let z = 1.959_964_f64;
            z + (z.powi(3) + z) / (4.0 * f64::from(degrees))
        }
    }
}

/// Returns the days from one `YYYY-MM-DD` to another, or none where either is no date.
pub fn days_between(from: &str, to: &str) -> Option<i64> {
    Some(day_number(to)? - day_number(from)?)
}

/// Days since 0000-03-01 in the proleptic Gregorian calendar.
fn day_number(date: &str) -> Option<i64> {
    let mut parts = date.trim().splitn(3, '-');
    let year: i64 = parts.next()?.parse().ok()?;
    let month: i64 = parts.next()?.parse().ok()?;
    let day: i64 = parts.next()?.parse().ok()?;
    if !(1..=9999).contains(&year) || !(1..=12).contains(&month) || !(1..=31).contains(&day) {
        return None;
    }
    let (y, m) = if month > 2 { (year, month - 3) } else { (year - 1, month + 9) };
    Some(365 * y + y / 4 - y / 100 + y / 400 + (153 * m + 2) / 5 + day - 1)
}
