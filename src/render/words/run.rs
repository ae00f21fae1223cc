//! What a run rests on.

use std::fmt::{self, Display, Formatter};

use super::quantities::hours;
use crate::resolve::run::Shared;
use crate::resolve::run::said::{Beside, Good, NoRun, Started, Summed};

impl Display for NoRun {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            NoRun::Undecided(decision) => write!(f, "no {} chosen", decision.word()),
            NoRun::NoVolume => f.write_str("the mesh encloses no volume"),
            NoRun::NoShadow => f.write_str("the mesh has no shadow"),
            NoRun::Law(why) => f.write_str(why),
        }
    }
}

impl Display for Started {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Started::ByPlan(pieces) => write!(f, "{pieces} on this plate, by the plan of the run"),
            Started::One => f.write_str("one piece: if it fails, start again"),
            Started::Enough { start, wanted, confidence, good } => write!(
                f,
                "{start} started give {wanted} good with {:.0} % confidence (binomial); {good}",
                confidence * 100.0
            ),
            Started::AsWanted(why) => write!(f, "as many as wanted: {why}"),
        }
    }
}

impl Display for Good {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Good::Recorded(words) => f.write_str(words),
            Good::Usual { share, kind } => {
                let kind = kind.as_str().replace('-', " ");
                write!(f, "{:.0} % good assumed ({kind}): the shop has no record of such a job", share * 100.0)
            }
        }
    }
}

impl Display for Beside {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let [x, y] = self.piece.map(|side| side.to_mm());
        write!(f, "{x:.0} x {y:.0} mm each with {} between and {} to the edge", self.gap, self.edge)?;
        self.brim.iter().try_for_each(|brim| write!(f, ", brim {:.0} mm counted", brim.to_mm()))
    }
}

impl Display for Summed {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Summed::Masses => "the masses of its plates, walls and infill counted",
            Summed::Times => "the times of its plates",
            Summed::WholeDays => "whole days, night and day",
        })
    }
}

impl Display for Shared {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let Shared { printer, nozzle, surface, time, .. } = self;
        let agent = self.agent.as_ref().map_or(String::new(), |agent| format!(" with {agent}"));
        let spool = self.spool_twice.iter().map(|material| format!("a spool of {material}"));
        let twice: Vec<String> = self.twice.iter().cloned().chain(spool).collect();
        let besides = match twice.as_slice() {
            [] => String::new(),
            twice => format!("; needed twice and here once: {}", twice.join(", ")),
        };
        write!(
            f,
            "shared with {printer} (nozzle {nozzle}, on {surface}{agent}) it takes about {}, with as many started in all{besides}; \
             the recipe of that share: `pin printer \"{printer}\"` in a copy of the spec. Pieces of two machines differ in size: \
             measure the first of each",
            hours(*time)
        )
    }
}
