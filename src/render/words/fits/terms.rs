//! What each effect on a printed size comes from.

use std::fmt::{self, Display, Formatter};

use super::rough;
use crate::fits::feature::FeatureKind;
use crate::fits::said::Note;

impl Display for Note {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Measured => "printed less modelled, measured",
            Self::MeasuredScale => "measured, grows with the size",
            Self::Usual { polymer, kind, bore } => {
                let polymer = polymer.as_deref().unwrap_or("any polymer");
                return write!(f, "default for {polymer}, {kind}, bore {}", rough(*bore));
            }
            Self::InRecord => "within the measured record",
            Self::BeyondRecord { largest } => {
                return write!(f, "of what lies beyond {}, the largest that was measured", rough(*largest));
            }
            Self::ShrinksWithPart => "hole and boss shrink with the part",
            Self::WholeLength => "of the whole length; the part is scaled for it, once",
            Self::Wall => "the wall stands off by half of what a boss is wide over",
            Self::Crown => "the height of the hole only; a teardrop or a flat-topped crown in the model removes it",
            Self::OutsideFlats => {
                "the corners of an outside polygon keep the full diameter; its flats are smaller and do no harm"
            }
            Self::Flats(flats) => return write!(f, "the mesh draws the circle with {flats} flats"),
            Self::AtTheBed(FeatureKind::Hole) => {
                "at the bed edge only: a 0.4 mm chamfer in the model, or a countersink by hand"
            }
            Self::AtTheBed(FeatureKind::Outside) => {
                "at the bed edge only: a 0.4 mm chamfer in the model, or a blade by hand"
            }
            Self::PrintedDry => {
                "printed dry, gauged after it has taken up moisture; measured dry it is this much smaller"
            }
            Self::Annealed => "finish and gauge after annealing",
        })
    }
}
