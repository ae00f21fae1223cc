//! How a feature comes to its size.

use std::fmt::{self, Display, Formatter};

use super::{both, rough, size};
use crate::fits::allowance::Route;
use crate::fits::said::Work;

/// Setting an insert, drilled for or not.
const SET: &str = "set the insert hot, flush or up to 0.2 mm below the face, and let it cool under a flat block";

impl Display for Route {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Self::PrintToSize => f.write_str("print to size"),
            Self::PrintThen { then } if matches!(then.step, Work::TryAndFit | Work::FileFlats) => {
                write!(f, "print at the middle of the limits, then {}", then.step)
            }
            Self::PrintThen { then } if matches!(then.step, Work::DrillByMate | Work::FileFromPin) => then.step.fmt(f),
            Self::PrintThen { then } => write!(f, "print to size, then {}", then.step),
            Self::PrintUnder { then, stock } => {
                write!(f, "print with {} left to cut, then {}", rough(*stock), then.step)
            }
            Self::PrintOver { then, room } => write!(f, "print with {} room, then {}", rough(*room), then.step),
            Self::Replace { then } => write!(f, "do not print it: {}", then.step),
        }
    }
}

impl Display for Work {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Self::Ream { cut, limits } => {
                write!(f, "ream {} ({}), slowly and cool, by hand or in a drill press", size(*cut), both(limits))
            }
            Self::Open { cut, limits } => write!(
                f,
                "open it to {} ({}) with a step drill or a boring tool, or file it to a gauge; a twist drill of that size grabs",
                size(*cut),
                both(limits)
            ),
            Self::Drill { cut, limits } => {
                write!(f, "drill {} ({}), sharp drill, slow, lifting often", size(*cut), both(limits))
            }
            Self::Tap { drill, thread } => write!(f, "drill {} and tap {thread}", size(*drill)),
            Self::SetInsert { drill: None } => f.write_str(SET),
            Self::SetInsert { drill: Some(drill) } => write!(f, "drill {}; {SET}", size(*drill)),
            Self::ClampOrBond => f.write_str("bond the mate in, or split the seat and clamp it with a screw"),
            Self::CrushRibs(None) => f.write_str("press onto three crush ribs in the model"),
            Self::CrushRibs(Some(ribs)) => write!(
                f,
                "press onto three crush ribs, {} wide at their tips and modelled with these on a circle of {}",
                size(ribs.width),
                size(ribs.tips)
            ),
            Self::Bush(limits) => write!(
                f,
                "put in a bought metal bush with a bore of {} by its data sheet, and model the hole as a fit for its outside",
                both(limits)
            ),
            Self::Turn { limits, fine: true } => write!(f, "turn to {}", both(limits)),
            Self::Turn { limits, fine: false } => write!(f, "turn, file or sand to {}", both(limits)),
            Self::BoughtPin { size: of, limits } => write!(
                f,
                "put in a bought metal pin of {} ({}), and model the hole as a fit for it",
                size(*of),
                both(limits)
            ),
            Self::TurnedPin(limits) => {
                write!(f, "put in a metal pin turned to {}, and model the hole as a fit for it", both(limits))
            }
            Self::TryAndReprint { by } => write!(
                f,
                "try the first piece on its mate; too loose or too tight, model it {} tighter or wider and print it again: \
                 rubber gives way before a file, a reamer or a drill",
                size(*by)
            ),
            Self::File(limits) => write!(f, "file or scrape it to {}", both(limits)),
            Self::FileFlats => f.write_str(
                "try each piece with its own mate, a test pair first; file or scrape the flats where it binds, the corners first: \
                 nothing that turns cuts them",
            ),
            Self::PrintThread { thread } => write!(
                f,
                "run an {thread} screw in and out by hand until it goes freely, burrs cut away at its first turn"
            ),
            Self::OpenWhereTight { cut } => write!(
                f,
                "push its screw through each; only where one binds, drill that hole {}",
                size(*cut)
            ),
            Self::DrillByMate => f.write_str(
                "draw one of the two holes 1 mm under size, as a pilot, and open it through the mate, or through a template \
                 drilled to the distance; or draw it as a slot toward the other",
            ),
            Self::FileFromPin => f.write_str(
                "draw the face proud by a few tenths and file it to the distance, measured from a pin in the hole",
            ),
            Self::TryTheArm => f.write_str(
                "try each on its mate: in, held, out; too stiff or too loose, change its thickness in the model by what the caliper \
                 tells and print it again: an arm is not filed",
            ),
            Self::TryAndFit => {
                f.write_str("try each piece with its own mate, a test pair first; scrape or file where it binds")
            }
        }
    }
}
