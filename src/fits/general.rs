//! General tolerances for linear dimensions, ISO 2768-1:1989 Table 1.
//!
//! Written for cutting and forming: of use to name a class on a drawing and to compare, not a claim that printing keeps it.

use super::{FitError, Provenance, SourceKind};
use crate::quantity::{Length, trim_number};

/// Tolerance classes of ISO 2768-1.
pub const CLASSES: [(&str, &str); 4] = [("f", "fine"), ("m", "medium"), ("c", "coarse"), ("v", "very coarse")];

/// Upper bounds of the size bands in millimetres; the first begins at 0.5 mm.
const BANDS: [f64; 8] = [3.0, 6.0, 30.0, 120.0, 400.0, 1000.0, 2000.0, 4000.0];

/// Plus-minus in millimetres by class; zero where the standard leaves the cell empty.
const TABLE: [[f64; 8]; 4] = [
    [0.05, 0.05, 0.1, 0.15, 0.2, 0.3, 0.5, 0.0],
    [0.1, 0.1, 0.2, 0.3, 0.5, 0.8, 1.2, 2.0],
    [0.2, 0.3, 0.5, 0.8, 1.2, 2.0, 3.0, 4.0],
    [0.0, 0.5, 1.0, 1.5, 2.5, 4.0, 6.0, 8.0],
];

/// The source of the table.
pub const SOURCE: Provenance = Provenance::new(SourceKind::Standard, "ISO 2768-1:1989 Table 1");

/// Returns the general tolerance (plus-minus) of a linear dimension by class `f`, `m`, `c` or `v`.
pub fn linear(size: Length, class: &str) -> Result<Length, FitError> {
    let row = CLASSES.iter().position(|(c, _)| *c == class).and_then(|i| TABLE.get(i)).ok_or_else(|| {
        FitError::new(class, format!("ISO 2768-1 has no class `{class}`"), "the classes are f, m, c and v")
    })?;
    let mm = (size.to_mm() * 1e9).round() / 1e9;
    let value = if mm >= 0.5 { row.get(BANDS.partition_point(|b| *b < mm)).copied() } else { None };
    match value {
        Some(v) if v > 0.0 => Ok(Length::mm(v)),
        _ => {
            let part = format!("{} mm", trim_number(mm, 3));
            let hint = "the table runs from 0.5 mm to 4000 mm (class f to 2000 mm, class v from 3 mm); below, state the deviation";
            Err(FitError::new(part.clone(), format!("ISO 2768-1 gives no class {class} at {part}"), hint))
        }
    }
}
