//! The groove of an O-ring at rest: how deep, how wide, and how wide its mate is.

use super::FitError;
use super::function::Limits;
use super::practice::Practice;
use crate::quantity::{Length, trim_number};

/// Where the groove is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Seat {
    /// In a flat face, closed by another.
    Face,
    /// Round a shaft, closed by a bore.
    Shaft,
    /// In a bore, closed by a shaft.
    Bore,
}

impl Seat {
    /// Returns the word of specs.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Face => "face",
            Self::Shaft => "shaft",
            Self::Bore => "bore",
        }
    }
}

/// A groove for a ring.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Groove {
    /// What is held: the depth of one in a face, else the diameter of its floor.
    pub size: Length,
    /// Limits of that, from the least squeeze of the ring to the most.
    pub limits: Limits,
    /// From its floor to the mate: what the ring is squeezed to.
    pub depth: Length,
    /// Across the groove: from the fullest to the emptiest.
    pub width: Limits,
    /// Of one in a face the diameter of its outer wall, else of the mate.
    pub other: Length,
    /// Shares of the ring's section it is squeezed by: as aimed at, least, most.
    pub squeeze: [f64; 3],
    /// Share of its inside by which the ring is stretched.
    pub stretch: f64,
}

/// Works out the groove of a ring by its inside and its section.
///
/// A stretched ring gets thinner: its volume stays, so its section falls with the root of its length (computed).
///
/// # Errors
///
/// Says what is wrong with the ring's sizes.
pub fn groove(seat: Seat, inside: Length, section: Length, practice: &Practice) -> Result<Groove, FitError> {
    let (d1, d2) = (inside.to_mm(), section.to_mm());
    if !(d1.is_finite() && d2.is_finite() && d2 > 0.0 && d1 > d2) {
        let part = format!("{} mm x {} mm", trim_number(d1, 3), trim_number(d2, 3));
        let told = format!("{part} is no O-ring: its inside comes first and is larger than its section");
        return Err(FitError::new(part, told, "write for example `groove shaft for ring 20 mm x 2.5 mm`"));
    }
    let stretch = if seat == Seat::Face { 0.0 } else { practice.ring_stretch };
    let thin = d2 / (1.0 + stretch).sqrt();
    let squeeze = if seat == Seat::Face { practice.ring_squeeze_face } else { practice.ring_squeeze };
    let depth = squeeze.map(|share| thin * (1.0 - share));
    let area = std::f64::consts::PI * thin * thin / 4.0;
    let [_, emptiest, fullest] = practice.ring_fill;
    let width = Limits::new(Length::mm(area / (depth[0] * fullest)), Length::mm(area / (depth[0] * emptiest)));
    let on = d1 * (1.0 + stretch);
    // The ring lies on the floor of a shaft's groove, and on the shaft itself in a bore's.
    let [size, slack, tight, other] = match seat {
        Seat::Face => [depth[0], depth[1], depth[2], d1 + 2.0 * d2],
        Seat::Bore => [on + 2.0 * depth[0], on + 2.0 * depth[1], on + 2.0 * depth[2], on],
        Seat::Shaft => {
            let bore = on + 2.0 * depth[0];
            [on, bore - 2.0 * depth[1], bore - 2.0 * depth[2], bore]
        }
    };
    Ok(Groove {
        size: Length::mm(size),
        limits: Limits::new(Length::mm(slack.min(tight)), Length::mm(slack.max(tight))),
        depth: Length::mm(depth[0]),
        width,
        other: Length::mm(other),
        squeeze,
        stretch,
    })
}
