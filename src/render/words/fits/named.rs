//! What a fit is, with its designation.

use std::fmt::{self, Display, Formatter};

use super::size;
use crate::fits::feature::FeatureKind;
use crate::fits::groove::Seat;
use crate::fits::said::Named;

impl Display for Named {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Self::Clearance { thread, series } => write!(f, "clearance {thread} {}", series.as_str()),
            Self::Sliding(of) => write!(f, "sliding {}", size(*of)),
            Self::Press(of) => write!(f, "press {}", size(*of)),
            Self::Bearing { designation, seat, size: of, class } => {
                let seat = match seat {
                    FeatureKind::Hole => "in housing",
                    FeatureKind::Outside => "on shaft",
                };
                write!(f, "bearing {designation} {seat} {} {class}", size(*of))
            }
            Self::Class { size: of, class } => write!(f, "{} {class}", size(*of)),
            Self::Size(of) => f.write_str(&size(*of)),
            Self::Distance(of) => write!(f, "distance {}", size(*of)),
            Self::Square { size: of, side: FeatureKind::Hole } => write!(f, "square socket {}", size(*of)),
            Self::Square { size: of, side: FeatureKind::Outside } => write!(f, "square {}", size(*of)),
            Self::Pocket { size: [width, length], side } => {
                let what = if *side == FeatureKind::Hole { "pocket" } else { "tongue" };
                write!(f, "{what} {} x {}", size(*width), size(*length))
            }
            Self::Lid { size: of, length, side } => {
                let what = if *side == FeatureKind::Hole { "rim" } else { "lip" };
                match length {
                    Some(length) => write!(f, "{what} of a lid {} x {}", size(*of), size(*length)),
                    None => write!(f, "{what} of a lid {}", size(*of)),
                }
            }
            Self::Groove { seat, inside, section } => {
                let seat = match seat {
                    Seat::Face => "in a face",
                    Seat::Shaft => "round a shaft",
                    Seat::Bore => "in a bore",
                };
                write!(f, "groove {seat} for an O-ring {} x {}", size(*inside), size(*section))
            }
            Self::Keyway { width, height, shaft } => {
                let [width, height, shaft] = [width, height, shaft].map(|l| size(*l));
                write!(f, "keyway {width} for a key {width} x {height}, shaft {shaft}")
            }
            Self::Thread(thread) => write!(f, "thread {thread}, tapped"),
            Self::PrintedThread(thread) => write!(f, "thread {thread}, printed"),
            Self::Insert(thread) => write!(f, "insert {thread}"),
            Self::Dowel(of) => write!(f, "dowel {} m6 in H7", size(*of)),
            Self::Hinge { pin, in_place: true } => write!(f, "hinge printed in place, pin {}", size(*pin)),
            Self::Hinge { pin, in_place: false } => write!(f, "hinge, pin {}", size(*pin)),
            Self::Snap(of) => write!(f, "snap {}", size(*of)),
            Self::NutPocket(thread) => write!(f, "nut {thread} pocket"),
            Self::Counterbore(thread) => write!(f, "counterbore {thread}"),
            Self::MagnetPocket(of) => write!(f, "magnet {} pocket", size(*of)),
        }
    }
}
