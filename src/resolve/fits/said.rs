//! What rules are told of a fit in words, as data; `render::words::fits` has the English of each.

use crate::fits::feature::SecondKind;
use crate::fits::function::Limits;
use crate::fits::inspection::{Check, Sample};
use crate::quantity::Length;

/// Of what the size of a fit is the size.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Dimension {
    ThicknessOfArms,
    Width,
    AcrossFlats,
    Depth,
    FloorDiameter,
    Length,
    Diameter,
}

/// A second measure, after the first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Also(pub SecondKind, pub Length);

/// How wide the groove of a ring is to be drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GrooveWidth(pub Limits);

/// What brings a fit to its size, by the words a shop has for it.
#[derive(Debug, Clone, PartialEq)]
pub enum Tool {
    Reamer(Option<Length>),
    Drill(Option<Length>),
    /// With the drill of its hole.
    Tap {
        thread: String,
        drill: Option<Length>,
    },
    Iron,
    Adhesive,
    Abrasive,
    /// For flat walls.
    File,
    Pin,
    Bush,
}

/// How and when a feature is looked at, and on how many pieces.
#[derive(Debug, Clone, Copy)]
pub struct Checked<'a> {
    pub check: &'a Check,
    pub pieces: Pieces,
}

/// The pieces that are looked at.
#[derive(Debug, Clone, Copy)]
pub enum Pieces {
    /// There is but one.
    One,
    Every,
    /// So few that there is no tenth.
    FirstAndLast,
    Of(Sample),
}

impl Pieces {
    /// Returns which of so many are looked at.
    pub fn of(sample: Sample, pieces: u32) -> Self {
        match pieces {
            1 => Self::One,
            n if sample.of(n) == n => Self::Every,
            n if sample.of(n) == 2 => Self::FirstAndLast,
            _ => Self::Of(sample),
        }
    }
}

/// The share that counts of the elongation at which a print breaks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OfBreaking {
    pub share: f64,
    pub breaks: f64,
}
