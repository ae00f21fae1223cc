//! How a feature is gauged: what, with what, when, how many.

use std::fmt::{self, Display, Formatter};

use super::size;
use crate::fits::function::FinishKind;
use crate::fits::inspection::Sample;
use crate::fits::said::{Gauge, Looked, When};

impl Display for Looked {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let printed = if self.as_printed { ", as printed" } else { "" };
        write!(f, "{}{printed}", self.fit)
    }
}

impl Display for Gauge {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::PlugOrBore(of) => return write!(f, "plug gauge or bore gauge for {}", size(*of)),
            Self::Pins => "gauge pins or drill shanks, largest that enters (a caliper reads small holes too small)",
            Self::CaliperInside => "caliper, inside jaws, two directions",
            Self::BetweenWalls => "caliper, inside jaws, at both ends and in the middle",
            Self::BetweenRibs => {
                "caliper, inside jaws, between the ribs, two directions (a gauge pin meets their tips)"
            }
            Self::Micrometer => "micrometer, two directions",
            Self::CaliperOutside => "caliper, outside jaws, two directions",
            Self::OverPins => "caliper over two pins in the holes, less half of each pin",
            Self::FaceToPin => "caliper from the face to the far side of a pin in the hole, less half of the pin",
            Self::Depth => "the depth rod of a caliper, at four places round the groove",
            Self::OwnKey => "its own key, pushed in by hand",
            Self::ComesFree => "by hand: it comes free and turns through its whole angle",
            Self::MateAndCaliper => "the mating part and a caliper",
            Self::OwnNut => "the nut itself and a caliper across the flats",
            Self::OwnHead => "the screw's own head and a caliper",
            Self::OwnMagnet => "the magnet itself",
            Self::Trial(after) => trial(*after),
        })
    }
}

/// What passes a finish that leaves nothing to measure.
fn trial(after: FinishKind) -> &'static str {
    match after {
        FinishKind::Ream | FinishKind::Drill | FinishKind::Turn | FinishKind::File | FinishKind::SetOut => {
            "its limits, measured"
        }
        FinishKind::Tap => "a screw of the size (or a thread gauge) runs in by hand to full depth, without play",
        FinishKind::SetInsert | FinishKind::DrillAndSetInsert => {
            "insert flush and square, no melt in its thread; a screw runs in by hand"
        }
        FinishKind::ClampOrBond => {
            "the mate sits at its depth, square and without play; a bearing turns as freely as before"
        }
        FinishKind::CrushRibs => "pressed home square, no crack; holds the agreed pull or turn",
        FinishKind::Bush | FinishKind::MetalPin => "the bought part sits square and without play",
        FinishKind::PrintThread => "its screw runs in by hand to full depth, and shakes little",
        FinishKind::OpenWhereTight => "its screw drops through, and its head covers the hole",
        FinishKind::TryTheArm => "goes in, holds and comes out by hand; no white line at the root of an arm",
        FinishKind::TryAndFit => "goes together with its own mate as the fit asks",
    }
}

impl Display for When {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Cooled => "after cooling to room temperature",
            Self::Conditioned => "after conditioning to the air of service",
            Self::Annealed => "after annealing, at room temperature",
            Self::Finished => "after finishing, cool",
        })
    }
}

impl Display for Sample {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Self::Every => f.write_str("every piece"),
            Self::FirstLastAndEvery(n) => write!(f, "the first, the last and every {n}th piece"),
        }
    }
}
