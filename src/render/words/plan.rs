//! What a plan of a run says in sentences.

use std::fmt::{self, Display, Formatter};

use planner::order::Goal;

use crate::plan::said::{Aim, Apart, Lost, Measured, Sampled, StartBasis, Told, Wanting, WayOut};
use crate::quantity::trim_number;

impl Display for Sampled {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let Self { lot, level, limit_percent, measured } = self;
        match measured {
            Measured::Every => write!(f, "Every one of the {lot} pieces is measured")?,
            Measured::AtRandom { sample, accept, reject } => write!(
                f,
                "Take {sample} of the {lot} pieces at random and measure each. With {accept} faulty ones or fewer the lot stands; with \
                 {reject} or more go through all of them"
            )?,
            Measured::Unplanned(why) => write!(f, "Every piece is measured: {why}")?,
        }
        write!(f, " (ISO 2859-1, single sampling, normal inspection, level {level}, limit {limit_percent} %).")
    }
}

fn percent(share: f64) -> String {
    format!("{:.0} %", share * 100.0)
}

impl Display for StartBasis {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let (asked_for, usual, kind) =
            (percent(self.confidence), percent(self.usual), self.kind.as_str().replace('-', " "));
        match &self.recorded {
            Some((record, weight)) => write!(
                f,
                "beta-binomial, {asked_for} asked for: {record}; before any record {usual} good was taken ({kind}), with the weight of \
                 {weight} pieces"
            )?,
            None => write!(
                f,
                "binomial, {asked_for} asked for: {usual} good assumed ({kind}), the shop has no record of such a job"
            )?,
        }
        self.lost.iter().try_for_each(|Lost { plates, of, usual, weight }| {
            let usual = percent(*usual);
            write!(
                f,
                "; {plates} of {of} plates lost whole in this run, before which {usual} was taken, with the weight of {weight} plates"
            )
        })
    }
}

impl Display for Told {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Told::ConfidenceUnsaid(taken) => write!(
                f,
                "how sure the count is to be is not said: {:.0} % taken; write `confidence 95 %`",
                taken * 100.0
            ),
            Told::NightsUnsaid => f.write_str(
                "whether machines may print while nobody is there is not said: taken as no; write `nights unattended yes` or `no`",
            ),
            Told::NotAlone(machines) => write!(
                f,
                "nights unattended yes: not on {}, of which the workshop's file does not say `unattended: yes`",
                machines.join(", ")
            ),
            Told::Watched(parts) => write!(
                f,
                "nights unattended yes: not with {}, whose recipe warns of fire and is to be watched to its end",
                parts.join(", ")
            ),
            Told::Apart { parts, why } => {
                let why = match why {
                    Apart::NotAllPlanned => "and not all of them are planned: see there",
                    Apart::OtherSettings => "and their recipes ask for different settings: each has plates of its own",
                    Apart::FewerPlates => "and fewer plates come of printing them apart",
                };
                write!(f, "{} are to be printed together, {why}", parts.join(", "))
            }
            Told::Pace { printer, pace, counts } => {
                let [middle, least, most] = [pace.middle, pace.least, pace.most].map(|n| trim_number(n, 2));
                let counts = match counts {
                    true => "that pace counts",
                    false => "that is more than a machine's pace and does not count: were the ends noted late?",
                };
                write!(
                    f,
                    "{printer}: the {} rounds done took {middle} times the hours reckoned in the middle, {least} to {most}; {counts}",
                    pace.rounds
                )
            }
        }
    }
}

impl Display for Aim {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        f.write_str(match self.0 {
            Goal::Left => "plates without a place",
            Goal::Lateness => "greatest lateness, minutes",
            Goal::Tardiness => "greatest lateness, minutes, early as none",
            Goal::TotalTardiness => "all lateness, minutes",
            Goal::ChangeMinutes => "minutes of change",
            Goal::Changeovers => "rounds with a change",
            Goal::Changes => "single changes",
            Goal::Cost => "cost of machines and changes, thousandths of the currency",
            Goal::Makespan => "minutes to the last end",
        })
    }
}

impl Display for Wanting {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Wanting::Short(grams) => write!(f, "the stock is short by {grams:.0} g"),
            Wanting::TooSmall => f.write_str(
                "what is left lies on spools too small for the plates, or is wanted on two machines at once",
            ),
        }
    }
}

impl Display for WayOut {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            WayOut::Unattended => f.write_str(
                "printing while nobody is there (`nights unattended yes`), where parts and machines allow it",
            ),
            WayOut::Dry => {
                f.write_str("its filament dry when the run begins: into the dryer days before, or from a sealed spool")
            }
            WayOut::SecondMachine(name) => write!(f, "a second machine like {name}"),
            WayOut::Later { part, by } => write!(f, "{part} wanted by {by} instead"),
        }
    }
}
