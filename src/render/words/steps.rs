//! Work that no rule tells.

use std::fmt::{self, Display, Formatter};

use super::quantities::limits;
use crate::recipe::{Wanted, Work};

impl Display for Work {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Work::SeamElsewhere { face } => write!(
                f,
                "Put the seam (where each outer line begins and ends) on another side than the face \"{face}\"."
            ),
            Work::SeamBecause => f.write_str("every layer's outline is closed somewhere, and there it leaves a mark"),
            Work::ReadMarking { face, marking } => write!(
                f,
                "Read the marking \"{marking}\" on the face \"{face}\" at arm's length; cut, paint or label it anew where a \
                 letter is closed up."
            ),
            Work::MarkingBecause => {
                f.write_str("strokes narrower than a line of the nozzle run together or are left out")
            }
            Work::FirstArticle => f.write_str(
                "Take the first good piece by itself through all that follows below and fill in these lines on the way; the \
                 others follow only if every line is within.",
            ),
            Work::FirstArticleBecause => f.write_str("what is wrong with the first piece is wrong with all of them"),
            Work::Check { fit, what, wanted: Wanted::Limits(l) } => write!(f, "\"{fit}\", {what}: {}.", limits(l)),
            Work::Check { fit, what, wanted: Wanted::Gauge(gauge) } => write!(f, "\"{fit}\", {what}: {gauge}."),
        }
    }
}
