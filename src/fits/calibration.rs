//! Calibration: what this printer makes of a modelled size, from the shop's own measurements.

use super::feature::{FeatureAxis, FeatureKind};
use super::student_t::student_t_975;
use crate::quantity::{Length, trim_number};

/// One calibration record: printed size = scale x modelled size + offset, with the spread of single pieces.
#[derive(Debug, Clone, PartialEq)]
pub struct CalibrationRecord {
    /// The printer's name in the shop file.
    pub printer: String,
    /// The nozzle as the shop names it.
    pub nozzle: String,
    /// The material's name in the catalogue.
    pub material: String,
    /// Hole or outside.
    pub what: FeatureKind,
    /// How the axis of the pieces lay.
    pub axis: FeatureAxis,
    /// Printed minus modelled, negative for a hole that comes out small.
    pub offset: Length,
    /// 1 where only an offset was recorded.
    pub scale: f64,
    /// Standard deviation of single pieces about the fitted line.
    pub spread: Length,
    /// Number of pieces measured.
    pub count: u32,
    /// Date of measuring, `2026-11-05`.
    pub on: String,
    /// Smallest and largest modelled size measured, where known.
    pub range: Option<(Length, Length)>,
}

impl CalibrationRecord {
    /// Returns the line by which a recipe cites the record.
    pub fn citation(&self) -> String {
        let mm = |l: Length| trim_number(l.to_mm(), 2);
        let sizes = self.range.map_or_else(String::new, |(from, to)| format!(" of {} to {} mm", mm(from), mm(to)));
        format!(
            "shop record: {} with {}, {}, {} {}, {} pieces{sizes}, {}",
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
pub fn yaml_word(text: &str) -> String {
    let plain = !text.is_empty()
        && text.chars().all(|c| c.is_alphanumeric() || matches!(c, '-' | '_' | '.' | ' '))
        && text.starts_with(|c: char| c.is_alphanumeric())
        && !text.ends_with(' ')
        // A bare number or truth word would be read as one.
        && text.parse::<f64>().is_err()
        && !matches!(text.to_ascii_lowercase().as_str(), "true" | "false" | "yes" | "no" | "on" | "off" | "null");
    if plain { text.to_owned() } else { format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\"")) }
}

impl FittedRecord {
    /// Returns the pieces so far from the rest that a person has to say whether they count.
    pub fn far_out(&self) -> impl Iterator<Item = &Outlier> {
        self.outliers.iter().filter(|o| o.far_out)
    }
}

impl CalibrationRecord {
    /// Returns the deviation of one new piece to expect about the fitted line, two-sided 95 %.
    ///
    /// Student's t times s times sqrt(1 + 1/n): a prediction for one piece, so few pieces widen it.
    pub fn expected_deviation(&self) -> Length {
        let n = f64::from(self.count.max(2));
        Length::um(student_t_975(self.count.saturating_sub(1)) * self.spread.to_um() * (1.0 + 1.0 / n).sqrt())
    }
}

/// A straight line by least squares, y = intercept + slope x.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// The y at x = 0.
    pub intercept: f64,
    /// Change of y over change of x.
    pub slope: f64,
    /// Standard error of the intercept.
    pub intercept_error: f64,
    /// Standard error of the slope.
    pub slope_error: f64,
    /// Residual standard deviation with n - 2 degrees of freedom.
    pub residual_sd: f64,
    /// Share of the spread of y that the line explains, 0 to 1.
    pub r_squared: f64,
    /// Number of points.
    pub count: usize,
}

/// Fits a straight line by ordinary least squares, with standard errors.
///
/// Sums are taken about the means, which keeps nine digits on the NIST Norris data. None for fewer than three points or
/// fewer than two different x, or where a number is not finite.
pub fn least_squares(points: &[(f64, f64)]) -> Option<Line> {
    let n = points.len() as f64;
    if points.len() < 3 || points.iter().any(|(x, y)| !x.is_finite() || !y.is_finite()) {
        return None;
    }
    let (mean_x, mean_y) = (mean(points.iter().map(|p| p.0)), mean(points.iter().map(|p| p.1)));
    let sum = |f: &dyn Fn(f64, f64) -> f64| points.iter().map(|(x, y)| f(x - mean_x, y - mean_y)).sum::<f64>();
    let (sxx, sxy, syy) = (sum(&|x, _| x * x), sum(&|x, y| x * y), sum(&|_, y| y * y));
    if sxx <= 0.0 {
        return None;
    }
    let slope = sxy / sxx;
    let intercept = mean_y - slope * mean_x;
    let residuals = sum(&|x, y| (y - slope * x).powi(2));
    let residual_sd = (residuals / (n - 2.0)).sqrt();
    Some(Line {
        intercept,
        slope,
        intercept_error: residual_sd * (1.0 / n + mean_x * mean_x / sxx).sqrt(),
        slope_error: residual_sd / sxx.sqrt(),
        residual_sd,
        r_squared: if syy > 0.0 { 1.0 - residuals / syy } else { 1.0 },
        count: points.len(),
    })
}

fn mean(values: impl Iterator<Item = f64> + Clone) -> f64 {
    let count = values.clone().count().max(1) as f64;
    values.sum::<f64>() / count
}

/// One measured feature.
#[derive(Debug, Clone, PartialEq)]
pub struct Measurement {
    /// Line in the measurement file, from 1, so that a doubtful value can be found again.
    pub line: usize,
    /// Hole or outside.
    pub what: FeatureKind,
    /// How its axis lay in the print.
    pub axis: FeatureAxis,
    /// The modelled size.
    pub nominal: Length,
    /// The size gauged.
    pub measured: Length,
    /// The printer's name.
    pub printer: String,
    /// The nozzle as named.
    pub nozzle: String,
    /// The material's name.
    pub material: String,
    /// `YYYY-MM-DD`, or empty.
    pub date: String,
    /// What it was gauged with, in the measurer's words; may be empty.
    pub gauge: String,
}

/// A value far from its neighbours.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outlier {
    /// Line in the measurement file, from 1.
    pub line: usize,
    /// Distance from the robust line.
    pub residual: Length,
    /// Modified z-score.
    pub score: f64,
    /// Whether it can hardly be scatter, so that a person has to say whether it counts.
    pub far_out: bool,
}

/// What a record is judged by.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Judging {
    /// Fewer pieces than this give a spread that is hardly known.
    pub few: usize,
    /// How many times the smallest size the largest must be for a scale to be told from an offset.
    pub sizes_apart: f64,
    /// Standard errors by which a scale must differ from 1 to count.
    pub scale_errors: f64,
    /// Score above which a value can hardly be scatter.
    pub far_out_score: f64,
}

/// What makes a fitted record doubtful.
#[derive(Debug, Clone, PartialEq)]
pub enum Warning {
    /// So few pieces that their spread is hardly known.
    Few {
        /// Pieces measured.
        measured: usize,
        /// From how many on a spread means something.
        needed: usize,
    },
    /// Sizes too near to one another to tell a scale from an offset.
    SizesAlike,
    /// Measurements far from the rest; they are kept.
    FarOut {
        /// Lines of the file.
        lines: Vec<usize>,
        /// What the offset would be without them.
        offset: Length,
        /// And the spread.
        spread: Length,
    },
}

/// One group of measurements (printer, nozzle, material, kind of feature, axis) and what was made of it.
#[derive(Debug, Clone, PartialEq)]
pub struct FittedRecord {
    /// The record for the shop file: scale and offset where the scale is significant, else the offset alone.
    pub record: CalibrationRecord,
    /// Standard error of the record's offset.
    pub offset_error: Length,
    /// The full line, where the sizes allow one; the intercept is in millimetres.
    pub line: Option<Line>,
    /// Values that the median line does not explain; they stay in the fit.
    pub outliers: Vec<Outlier>,
    /// What makes the record doubtful: few pieces, one size, outliers.
    pub warnings: Vec<Warning>,
}

/// Modified z-score above which a value is flagged: 0.6745 times its distance from the median line over the median absolute
/// deviation, 3.5 (Iglewicz and Hoaglin 1993; NIST/SEMATECH e-Handbook 1.3.5.17, from memory). The line is Theil and Sen's,
/// which one wild value does not pull.
pub const OUTLIER_SCORE: f64 = 3.5;

/// More points than this in one group are not searched for outliers, to bound the cost.
const MOST_FOR_OUTLIERS: usize = 1000;

/// Fits one record to each group of measurements, sorted by group.
pub fn fit_records(measurements: &[Measurement], by: Judging) -> Vec<FittedRecord> {
    let mut groups: std::collections::BTreeMap<_, Vec<&Measurement>> = std::collections::BTreeMap::new();
    for m in measurements {
        groups.entry((&m.printer, &m.nozzle, &m.material, m.what, m.axis)).or_default().push(m);
    }
    groups.values().filter_map(|group| fit_group(group, by)).collect()
}

fn fit_group(group: &[&Measurement], by: Judging) -> Option<FittedRecord> {
    let points: Vec<(f64, f64)> = group.iter().map(|m| (m.nominal.to_mm(), m.measured.to_mm())).collect();
    let first = group.first()?;
    let line = spans_sizes(&points, by).then(|| least_squares(&points)).flatten();
    let fitted = summary(&points, line, by);
    let outliers = outliers(group, &points, fitted.scale, by);
    let mut warnings = sample_warnings(points.len(), line.is_some(), by.few);
    warnings.extend(outlier_warning(&points, group, &outliers, by));
    let sizes = || points.iter().map(|p| p.0);
    let record = CalibrationRecord {
        printer: first.printer.clone(),
        nozzle: first.nozzle.clone(),
        material: first.material.clone(),
        what: first.what,
        axis: first.axis,
        offset: Length::mm(fitted.offset),
        scale: fitted.scale,
        spread: Length::mm(fitted.spread),
        count: u32::try_from(points.len()).unwrap_or(u32::MAX),
        on: group.iter().map(|m| m.date.as_str()).max().unwrap_or("").to_owned(),
        range: Some((Length::mm(sizes().fold(f64::INFINITY, f64::min)), Length::mm(sizes().fold(0.0, f64::max)))),
    };
    Some(FittedRecord { record, offset_error: Length::mm(fitted.offset_error), line, outliers, warnings })
}

/// Whether the sizes lie far enough apart to tell a scale from an offset: three of them, the largest so many times the smallest.
fn spans_sizes(points: &[(f64, f64)], by: Judging) -> bool {
    let mut sizes: Vec<f64> = points.iter().map(|p| p.0).collect();
    sizes.sort_by(f64::total_cmp);
    sizes.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
    matches!((sizes.first(), sizes.last()), (Some(a), Some(b)) if sizes.len() >= 3 && *b >= by.sizes_apart * a)
}

struct Summary {
    scale: f64,
    offset: f64,
    offset_error: f64,
    spread: f64,
}

/// Takes the line where its slope differs from 1 by more than so many standard errors; else the mean deviation.
fn summary(points: &[(f64, f64)], line: Option<Line>, by: Judging) -> Summary {
    if let Some(l) = line
        && points.len() >= by.few
        && (l.slope - 1.0).abs() > by.scale_errors * l.slope_error
    {
        return Summary { scale: l.slope, offset: l.intercept, offset_error: l.intercept_error, spread: l.residual_sd };
    }
    let n = points.len() as f64;
    let offset = mean(points.iter().map(|(x, y)| y - x));
    let squares: f64 = points.iter().map(|(x, y)| (y - x - offset).powi(2)).sum();
    let spread = if points.len() > 1 { (squares / (n - 1.0)).sqrt() } else { 0.0 };
    Summary { scale: 1.0, offset, offset_error: spread / n.max(1.0).sqrt(), spread }
}

fn sample_warnings(count: usize, line: bool, few: usize) -> Vec<Warning> {
    let mut warnings = Vec::new();
    if count < few {
        warnings.push(Warning::Few { measured: count, needed: few });
    }
    if !line {
        warnings.push(Warning::SizesAlike);
    }
    warnings
}

fn median(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    let middle = values.len() / 2;
    let upper = *values.get(middle)?;
    if values.len() % 2 == 1 {
        Some(upper)
    } else {
        values.get(middle.checked_sub(1)?).map(|lower| (lower + upper) / 2.0)
    }
}

/// Theil and Sen's slope: the median of the slopes of all pairs.
fn median_slope(points: &[(f64, f64)]) -> Option<f64> {
    let mut slopes = Vec::new();
    for (i, a) in points.iter().enumerate() {
        slopes
            .extend(points.iter().skip(i + 1).filter(|b| (b.0 - a.0).abs() > 1e-6).map(|b| (b.1 - a.1) / (b.0 - a.0)));
    }
    median(slopes)
}

fn outliers(group: &[&Measurement], points: &[(f64, f64)], scale: f64, by: Judging) -> Vec<Outlier> {
    if points.len() < by.few || points.len() > MOST_FOR_OUTLIERS {
        return Vec::new();
    }
    let slope = if scale == 1.0 { 1.0 } else { median_slope(points).unwrap_or(scale) };
    let from_line: Vec<f64> = points.iter().map(|(x, y)| y - slope * x).collect();
    let Some(centre) = median(from_line.clone()) else { return Vec::new() };
    let distances: Vec<f64> = from_line.iter().map(|v| (v - centre).abs()).collect();
    let Some(mad) = median(distances.clone()) else { return Vec::new() };
    // More than half the values alike (a coarse gauge): the mean absolute deviation takes the median's place.
    let unit = if mad > 1e-9 { mad / 0.6745 } else { 1.253_314 * mean(distances.iter().copied()) };
    if unit <= 1e-9 {
        return Vec::new();
    }
    group
        .iter()
        .zip(&from_line)
        .map(|(m, v)| {
            let score = (v - centre).abs() / unit;
            Outlier { line: m.line, residual: Length::mm(v - centre), score, far_out: score > by.far_out_score }
        })
        .filter(|o| o.score > OUTLIER_SCORE)
        .collect()
}

/// Outliers are kept in the fit, never dropped silently; the warning says what they change.
fn outlier_warning(
    points: &[(f64, f64)],
    group: &[&Measurement],
    outliers: &[Outlier],
    by: Judging,
) -> Option<Warning> {
    if outliers.is_empty() {
        return None;
    }
    let kept: Vec<(f64, f64)> =
        points.iter().zip(group).filter(|(_, m)| outliers.iter().all(|o| o.line != m.line)).map(|(p, _)| *p).collect();
    let line = spans_sizes(&kept, by).then(|| least_squares(&kept)).flatten();
    let without = summary(&kept, line, by);
    Some(Warning::FarOut {
        lines: outliers.iter().map(|o| o.line).collect(),
        offset: Length::mm(without.offset),
        spread: Length::mm(without.spread),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    const USUAL: Judging = Judging { few: 5, sizes_apart: 1.5, scale_errors: 2.0, far_out_score: 6.0 };

    fn measurement(line: usize, nominal: f64, measured: f64) -> Measurement {
        Measurement {
            line,
            what: FeatureKind::Hole,
            axis: FeatureAxis::AcrossLayers,
            nominal: Length::mm(nominal),
            measured: Length::mm(measured),
            printer: "Bench".to_owned(),
            nozzle: "brass-04".to_owned(),
            material: "PETG".to_owned(),
            date: "2026-11-05".to_owned(),
            gauge: "pins".to_owned(),
        }
    }

    /// Deterministic noise of unit variance, near enough normal (sum of twelve uniforms less six).
    fn noise(seed: &mut u64) -> f64 {
        let mut uniform = || {
            *seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (*seed >> 11) as f64 / (1u64 << 53) as f64
        };
        (0..12).map(|_| uniform()).sum::<f64>() - 6.0
    }

    #[test]
    fn recovers_a_known_scale_and_offset_within_its_standard_error() {
        let (mut seed, mut within) = (7, 0);
        for _ in 0..200 {
            let rows: Vec<Measurement> = (0..30)
                .map(|i| {
                    let nominal = 3.0 + 1.5 * f64::from(i);
                    measurement(i as usize + 2, nominal, 0.994 * nominal - 0.18 + 0.02 * noise(&mut seed))
                })
                .collect();
            let fitted = fit_records(&rows, USUAL);
            assert_eq!(fitted.len(), 1);
            let (record, line) = (&fitted[0].record, fitted[0].line.unwrap());
            let off = (record.offset.to_mm() + 0.18) / fitted[0].offset_error.to_mm();
            let scale = (record.scale - 0.994) / line.slope_error;
            assert!(off.abs() < 5.0 && scale.abs() < 5.0);
            within += usize::from(off.abs() < 1.0);
            assert!((record.spread.to_mm() - 0.02).abs() < 0.012);
        }
        // One standard error holds about 68 %: of 200, 137 within three sigma of 6.6.
        assert!((117..=157).contains(&within), "{within}");
    }

    #[test]
    fn an_offset_alone_where_the_sizes_are_alike_or_the_scale_is_not_significant() {
        let rows: Vec<Measurement> =
            [7.79, 7.82, 7.80, 7.83, 7.78, 7.80].iter().enumerate().map(|(i, m)| measurement(i + 2, 8.0, *m)).collect();
        let fitted = &fit_records(&rows, USUAL)[0];
        assert_eq!(fitted.record.scale, 1.0);
        assert!((fitted.record.offset.to_mm() + 0.19667).abs() < 1e-4);
        assert!((fitted.record.spread.to_mm() - 0.018_619).abs() < 1e-5);
        assert!(fitted.warnings.contains(&Warning::SizesAlike));
    }

    #[test]
    fn a_wild_value_is_flagged_and_kept() {
        let mut rows: Vec<Measurement> =
            (0..10).map(|i| measurement(i + 2, 8.0, 7.8 + 0.01 * ((i * 7) % 5) as f64)).collect();
        rows[6].measured = Length::mm(8.3);
        let fitted = &fit_records(&rows, USUAL)[0];
        assert_eq!(fitted.outliers.iter().map(|o| o.line).collect::<Vec<_>>(), [8]);
        assert_eq!(fitted.record.count, 10);
        let Some(Warning::FarOut { lines, offset, spread }) = fitted.warnings.last() else {
            panic!("{:?}", fitted.warnings)
        };
        assert_eq!(lines, &[8]);
        assert!((offset.to_mm() + 0.18).abs() < 0.005 && spread.to_mm() < 0.02, "{offset:?} {spread:?}");
    }

    #[test]
    fn the_record_is_written_as_the_shop_file_has_it() {
        let record = CalibrationRecord {
            printer: "Bench".to_owned(),
            nozzle: "brass-04".to_owned(),
            material: "PETG".to_owned(),
            what: FeatureKind::Hole,
            axis: FeatureAxis::AlongLayers,
            offset: Length::mm(-0.2),
            scale: 1.0,
            spread: Length::mm(0.05),
            count: 10,
            on: "2026-11-05".to_owned(),
            range: None,
        };
        assert_eq!(
            record.to_yaml_flow(),
            "{ printer: Bench, nozzle: brass-04, material: PETG, what: hole, axis: along-layers, offset: -0.2 mm, \
             spread: 0.05 mm, count: 10, on: 2026-11-05 }"
        );
        assert_eq!(yaml_word("a: b"), "\"a: b\"");
        assert_eq!(yaml_word("1.5"), "\"1.5\"");
    }

    /// Student's t by its own integral (Simpson), against the table.
    #[test]
    fn student_t_table_is_right() {
        for degrees in [1u32, 2, 4, 9, 29, 30, 60, 120] {
            let v = f64::from(degrees);
            let density = |t: f64| (1.0 + t * t / v).powf(-(v + 1.0) / 2.0);
            let integral = |to: f64, n: usize| {
                let h = to / n as f64;
                let inner: f64 = (1..n).map(|i| density(i as f64 * h) * if i % 2 == 1 { 4.0 } else { 2.0 }).sum();
                (density(0.0) + inner + density(to)) * h / 3.0
            };
            // The whole half-line by t = tan(u) would do; a long finite range with its tail estimated is enough here.
            let tail = |to: f64| density(to) * to / v;
            let half = integral(2000.0, 400_000) + tail(2000.0);
            let share = integral(student_t_975(degrees), 20_000) / half;
            assert!((share - 0.95).abs() < 4e-4, "{degrees}: {share}");
        }
    }

    #[test]
    fn one_piece_alone_is_fitted_without_a_spread() {
        let fitted = &fit_records(&[measurement(2, 8.0, 7.8)], USUAL)[0];
        assert!((fitted.record.offset.to_mm() + 0.2).abs() < 1e-9);
        assert_eq!(fitted.record.spread, Length::mm(0.0));
        assert_eq!(fitted.warnings, [Warning::Few { measured: 1, needed: 5 }, Warning::SizesAlike]);
    }
}
