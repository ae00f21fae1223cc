//! What figures of strength and stiffness are worked out from, as data; `render::words::strength` has the English of each.

use std::sync::Arc;

use crate::geometry::vector::Vector;
use crate::quantity::{Duration, Stress, Temperature};

use super::Ends;

/// The stress that governs in a pose, and where.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Governs {
    /// Above zero it pulls; what comes on suddenly is counted.
    pub stress: Stress,
    pub at: Vector,
    pub sudden: bool,
    /// It shears the layers against each other.
    pub sheared: bool,
}

/// Where a load fails a material first, and the factor on it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fails {
    pub at: Vector,
    pub factor: f64,
}

/// A beam's stress at its worst section.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Beam {
    pub stress: Stress,
    pub area_mm2: f64,
    pub at: Vector,
}

/// What is left of a modulus.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stiffness {
    /// The low end of the figure.
    pub low: Stress,
    /// Shares: with the moisture of the air in it, at a temperature, held for long.
    pub moist: f64,
    pub hot: Option<(f64, Temperature)>,
    pub held: Option<(f64, Duration)>,
}

impl Stiffness {
    /// Returns the modulus, MPa.
    pub fn mpa(&self) -> f64 {
        let [hot, held] = [self.hot.map(|(share, _)| share), self.held.map(|(share, _)| share)];
        self.low.to_mpa() * (hot.unwrap_or(1.0) * held.unwrap_or(1.0)) * self.moist
    }
}

/// How far a load moves the part.
#[derive(Debug, Clone, PartialEq)]
pub struct Gives {
    pub load: Arc<str>,
    pub cells: usize,
    /// Whether it is the most of any place, and not the mean of where the load acts.
    pub most: bool,
    pub stiffness: Stiffness,
    /// Why it hangs on the grid, by the words of the field, and how many times what the grids are apart counts for that.
    pub open: Option<(Arc<str>, f64)>,
}

/// How far a load is from buckling the part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Buckles {
    /// Of two grids, as a share.
    pub apart: f64,
    pub stiffness: Stiffness,
    pub factor: f64,
}

/// What a material bears pressed, at its low end.
#[derive(Debug, Clone, PartialEq)]
pub struct BearsPressed {
    pub material: Arc<str>,
    /// New, dry and cool, across the layers or along them.
    pub strength: Stress,
    pub across: bool,
    /// Shares of it left.
    pub hot: (f64, Temperature),
    pub held: (f64, Duration),
    pub repeated: f64,
    /// What is given back for low ends not being there all at once.
    pub relief: f64,
    /// What it bears more for what lies round the patch, were it solid.
    pub confined: f64,
    pub factor: f64,
}

/// A place by what the spec calls it.
#[derive(Debug, Clone, PartialEq)]
pub enum Near {
    /// The spec names nothing.
    Nothing,
    /// Right at it.
    At(Named),
    /// So far from the nearest there is.
    From { mm: f64, named: Named },
}

/// What a spec names.
#[derive(Debug, Clone, PartialEq)]
pub enum Named {
    Face(Arc<str>),
    Fit(Arc<str>),
    /// Where the load acts.
    Load,
}

/// What something leaves of a strength, along the layers and across them (and between them).
#[derive(Debug, Clone, PartialEq)]
pub struct Left {
    pub by: By,
    pub along: Ends,
    pub across: Ends,
}

/// What takes something of a strength.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum By {
    /// That of the air in it.
    Moisture,
    Heat(Temperature),
    Held {
        time: Duration,
        /// The whole, where that is the share of it that is as warm.
        of: Option<Duration>,
        /// Where it softens: so near to that nothing lasts.
        softens: Option<Temperature>,
        /// As pads of rubber are.
        as_pads: bool,
    },
    /// Nothing: it is over at once.
    Momentary,
    Cycles {
        count: f64,
        /// The whole, where those are the share that is as warm.
        of: Option<f64>,
        /// How often was tested, where that is less.
        tested: Option<f64>,
        pressed: bool,
    },
    /// Given back: not every figure is at its low end at once.
    LowEnds,
}

impl By {
    /// Returns its word in the machine form.
    pub fn word(&self) -> &'static str {
        match self {
            Self::Moisture => "moisture",
            Self::Heat(_) => "heat",
            Self::Held { .. } | Self::Momentary => "held",
            Self::Cycles { .. } => "cycles",
            Self::LowEnds => "low ends",
        }
    }
}

/// Why a hand sum has no section.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoSection {
    /// None that can be measured.
    Unmeasured,
    /// The one square to the stress parts no load from a hold.
    PartsNothing,
}
