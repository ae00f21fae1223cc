//! What makes a fitted calibration record doubtful.

use std::fmt::{self, Display, Formatter};

use super::joined;
use crate::fits::calibration::Warning;
use crate::quantity::trim_number;

impl Display for Warning {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Warning::Few { measured, needed } => {
                write!(f, "only {measured} measured; at least {needed} are needed for a spread to mean something")
            }
            Warning::SizesAlike => {
                f.write_str("the sizes lie too close together to tell a scale from an offset: an offset was fitted")
            }
            Warning::FarOut { lines, offset, spread } => write!(
                f,
                "line {}: far from the rest. Without it: offset {} mm, spread {} mm",
                joined(lines, ", "),
                trim_number(offset.to_mm(), 3),
                trim_number(spread.to_mm(), 3)
            ),
        }
    }
}
