//! Reads a table of measured features (CSV) for calibration; every bad cell is reported with its line and column.

use super::calibration::Measurement;
use super::feature::{FeatureAxis, FeatureKind};
use crate::day::is_day;
use crate::quantity::{Dimension, Length, Quantity};

/// The columns of the table; the first five are needed. Sizes are millimetres unless they carry a unit.
pub const COLUMNS: [&str; 9] =
    ["feature", "nominal", "axis", "measured", "material", "printer", "nozzle", "date", "gauge"];
const NEEDED: usize = 5;

/// More rows than this are refused, to bound the cost.
const MOST_ROWS: usize = 100_000;

/// One thing wrong in the table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CellError {
    /// Line in the file, from 1.
    pub line: usize,
    /// Name of the column, or empty where the whole line is at fault.
    pub column: String,
    pub message: String,
    pub hint: String,
}

impl std::fmt::Display for CellError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "line {}", self.line)?;
        if !self.column.is_empty() {
            write!(f, ", column `{}`", self.column)?;
        }
        write!(f, ": {}", self.message)?;
        if self.hint.is_empty() { Ok(()) } else { write!(f, "; {}", self.hint) }
    }
}

/// How far a measured size may be from its nominal and still be of the same feature: at least, and as a share of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Off {
    /// At least.
    pub least: Length,
    /// As a share of the nominal size.
    pub share: f64,
}

/// Reads the table: a header line, then one measured feature a line; `,` or `;` between cells, `#` begins a comment line.
pub fn read(text: &str, off: Off) -> Result<Vec<Measurement>, Vec<CellError>> {
    let text = text.trim_start_matches('\u{feff}');
    let mut lines = text
        .lines()
        .enumerate()
        .map(|(i, line)| (i + 1, line))
        .filter(|(_, line)| !line.trim().is_empty() && !line.trim_start().starts_with('#'));
    let example = "begin with `feature,nominal,axis,measured,material,printer,nozzle,date,gauge`";
    let Some((header_line, header)) = lines.next() else {
        return Err(vec![error(1, "", "the table is empty", example)]);
    };
    let separator = if header.contains(';') { ';' } else { ',' };
    let names: Vec<String> = cells(header, separator).iter().map(|c| column_name(c)).collect();
    let missing: Vec<&str> = COLUMNS.iter().take(NEEDED).filter(|c| !names.iter().any(|n| n == *c)).copied().collect();
    if !missing.is_empty() {
        return Err(vec![error(header_line, "", &format!("missing column: {}", missing.join(", ")), example)]);
    }
    let (mut rows, mut errors) = (Vec::new(), Vec::new());
    for (line, content) in lines {
        if rows.len() + errors.len() >= MOST_ROWS {
            errors.push(error(line, "", "too many rows for one table", "split the table"));
            break;
        }
        match read_row(line, &names, &cells(content, separator), off) {
            Ok(row) => rows.push(row),
            Err(mut found) => errors.append(&mut found),
        }
    }
    if rows.is_empty() && errors.is_empty() {
        errors.push(error(
            header_line,
            "",
            "the table has a header and no measurements",
            "add a line for each measured feature",
        ));
    }
    if errors.is_empty() { Ok(rows) } else { Err(errors) }
}

fn error(line: usize, column: &str, message: &str, hint: &str) -> CellError {
    CellError { line, column: column.to_owned(), message: message.to_owned(), hint: hint.to_owned() }
}

/// Takes `Nominal [mm]`, `nominal_mm` and `nominal` for the same column.
fn column_name(cell: &str) -> String {
    let lower = cell.trim().to_lowercase();
    lower.split(['[', '(']).next().unwrap_or("").trim().trim_end_matches("_mm").trim_end_matches(" mm").to_owned()
}

/// Splits a line at the separator outside double quotes.
fn cells(line: &str, separator: char) -> Vec<String> {
    let (mut cells, mut cell, mut quoted) = (Vec::new(), String::new(), false);
    for c in line.chars() {
        match c {
            '"' => quoted = !quoted,
            c if c == separator && !quoted => cells.push(std::mem::take(&mut cell)),
            c => cell.push(c),
        }
    }
    cells.push(cell);
    cells.into_iter().map(|c| c.trim().to_owned()).collect()
}

fn read_row(line: usize, names: &[String], cells: &[String], off: Off) -> Result<Measurement, Vec<CellError>> {
    let get =
        |column: &str| names.iter().position(|n| n == column).and_then(|i| cells.get(i)).map_or("", String::as_str);
    let what = feature(get("feature")).ok_or_else(|| {
        error(line, "feature", &format!("`{}` is no kind of feature", get("feature")), "write `hole` or `outside`")
    });
    let axis = axis(get("axis")).ok_or_else(|| {
        let hint = "write `along-layers` (a horizontal hole) or `across-layers` (a vertical one)";
        error(line, "axis", &format!("`{}` is no axis", get("axis")), hint)
    });
    let nominal = size(line, "nominal", get("nominal"));
    let measured = size(line, "measured", get("measured"));
    let date = date(line, get("date"));
    let material = if get("material").is_empty() {
        Err(error(
            line,
            "material",
            "the material is missing",
            "write the generic polymer by its short name in the catalogue",
        ))
    } else {
        Ok(get("material").to_owned())
    };
    match (what, axis, nominal, measured, date, material) {
        (Ok(what), Ok(axis), Ok(nominal), Ok(measured), Ok(date), Ok(material)) => {
            plausible(line, nominal, measured, off).map_or_else(
                || {
                    Ok(Measurement {
                        line,
                        what,
                        axis,
                        nominal,
                        measured,
                        printer: get("printer").to_owned(),
                        nozzle: get("nozzle").to_owned(),
                        material,
                        date,
                        gauge: get("gauge").to_owned(),
                    })
                },
                |e| Err(vec![e]),
            )
        }
        (a, b, c, d, e, f) => {
            Err([a.err(), b.err(), c.err(), d.err(), e.err(), f.err()].into_iter().flatten().collect())
        }
    }
}

fn feature(text: &str) -> Option<FeatureKind> {
    match text.to_lowercase().as_str() {
        "hole" | "bore" | "pocket" | "slot" => Some(FeatureKind::Hole),
        "outside" | "peg" | "pin" | "boss" | "shaft" => Some(FeatureKind::Outside),
        _ => None,
    }
}

fn axis(text: &str) -> Option<FeatureAxis> {
    match text.to_lowercase().as_str() {
        "along-layers" | "along layers" | "along" | "horizontal" => Some(FeatureAxis::AlongLayers),
        "across-layers" | "across layers" | "across" | "vertical" => Some(FeatureAxis::AcrossLayers),
        _ => None,
    }
}

fn size(line: usize, column: &str, text: &str) -> Result<Length, CellError> {
    let quantity =
        Quantity::parse(text).map_err(|e| error(line, column, &e.to_string(), "write `8.02` or `8.02 mm`"))?;
    let length = if quantity.dimension == Dimension::NONE {
        Some(Length::mm(quantity.si))
    } else {
        Length::try_from(quantity).ok()
    };
    match length {
        Some(l) if l.to_mm() > 0.0 && l.to_mm() <= 3150.0 => Ok(l),
        Some(_) => Err(error(line, column, &format!("`{text}` is no size"), "sizes are over 0 up to 3150 mm")),
        None => Err(error(
            line,
            column,
            &format!("expected a length, found {}", quantity.dimension.name()),
            "write `8.02 mm`",
        )),
    }
}

fn date(line: usize, text: &str) -> Result<String, CellError> {
    if text.is_empty() || is_day(text) {
        return Ok(text.to_owned());
    }
    Err(error(line, "date", &format!("`{text}` is no date"), "write year-month-day: `2026-11-05`"))
}

/// A measured size far from its nominal is a slip of the pen or the wrong feature.
fn plausible(line: usize, nominal: Length, measured: Length, off: Off) -> Option<CellError> {
    let apart = (nominal.to_mm() - measured.to_mm()).abs();
    (apart > off.least.to_mm().max(off.share * nominal.to_mm())).then(|| {
        error(
            line,
            "measured",
            &format!("{measured} measured on a nominal {nominal} cannot be the same feature"),
            "check the line for a slip",
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn off() -> Off {
        Off { least: Length::mm(2.0), share: 0.1 }
    }

    #[test]
    fn reads_what_a_shop_writes() {
        let rows = read(
            "# coupon of 5 Nov\nFeature;Nominal [mm];Axis;Measured [mm];Material;Printer;Nozzle;Date;Gauge\n\
             hole;8;vertical;7,82;PETG;Bench;brass-04;2026-11-05;pins\nouter;8;along;8.05 mm;PETG;;;;\n",
            off(),
        )
        .unwrap_err();
        assert_eq!(rows.len(), 1);
        assert_eq!(
            rows[0].to_string(),
            "line 4, column `feature`: `outer` is no kind of feature; write `hole` or `outside`"
        );
        let rows = read("feature,nominal,axis,measured,material\nhole,8,along-layers,7.81,PETG\n", off()).unwrap();
        assert_eq!(rows[0].line, 2);
        assert!((rows[0].measured.to_mm() - 7.81).abs() < 1e-12);
    }

    #[test]
    fn every_bad_cell_is_named() {
        let errors = read(
            "feature,nominal,axis,measured,material,date\nhole,eight,sideways,-1,,2026-02-31\nhole,8,along,80,PLA,\n",
            off(),
        )
        .unwrap_err();
        let date = errors.iter().find(|e| e.column == "date").unwrap();
        assert_eq!(
            date.to_string(),
            "line 2, column `date`: `2026-02-31` is no date; write year-month-day: `2026-11-05`"
        );
        let columns: Vec<&str> = errors.iter().map(|e| e.column.as_str()).collect();
        assert_eq!(columns, ["axis", "nominal", "measured", "date", "material", "measured"]);
        assert!(read("", off()).unwrap_err()[0].message.contains("empty"));
        assert!(read("a,b\n1,2\n", off()).unwrap_err()[0].message.contains("missing column: feature, nominal"));
    }

    proptest::proptest! {
        #[test]
        fn no_table_panics(text in "(feature,nominal,axis,measured,material\n)?[a-z0-9,;\"\n. -]{0,120}") {
            let _ = read(&text, off());
        }
    }
}
