//! The English of a recipe: each sentence once, for the page, the machine form and the terminal alike.

mod calibration;
mod cases;
mod choices;
mod fits;
mod lacks;
mod margins;
mod mesh;
mod open;
mod plan;
mod quantities;
mod refused;
mod run;
mod steps;
mod strength;

use std::fmt::{self, Display, Formatter};

use crate::quantity::trim_number;
use crate::recipe::{About, Beside, Cited, Failing, Headline, MarginNote, RunNote, Sentence, Stage, Unshown};
use crate::resolve::shop::Unread;
use crate::rulebook::{CautionKind, Decision, Phase};

pub use choices::named_and_smaller;
pub use quantities::{hours, mass};

impl Display for Sentence {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Sentence::Nothing => Ok(()),
            Sentence::Told(text) => f.write_str(text),
            Sentence::Rule { about: None, text } => text.fmt(f),
            Sentence::Rule { about: Some(about), text } => write!(f, "{about}: {text}"),
            Sentence::Headline(said) => said.fmt(f),
            Sentence::Choice(said) => said.fmt(f),
            Sentence::Run(said) => said.fmt(f),
            Sentence::Margin(said) => said.fmt(f),
            Sentence::Called(margin) => margin.fmt(f),
            Sentence::OfMargin(said) => said.fmt(f),
            Sentence::Open(said) => said.fmt(f),
            Sentence::Use(said) => said.fmt(f),
            Sentence::Step(said) => said.fmt(f),
            Sentence::Fit(said) => said.fmt(f),
            Sentence::Refused(said) => said.fmt(f),
            Sentence::LeadsTo(said) => said.fmt(f),
            Sentence::Whole(said) => {
                let words = said.to_string();
                let mut rest = words.chars();
                rest.next().map_or(Ok(()), |first| write!(f, "{}{}.", first.to_uppercase(), rest.as_str()))
            }
        }
    }
}

impl Display for About {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        write!(f, "{} \"{}\"", self.kind, self.name)
    }
}

impl Display for Cited {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let kind = self.kind.as_str();
        let keys: String = self.keys.iter().map(|key| format!(" {key}")).collect();
        match &self.citation {
            Some(citation) => write!(f, "{citation}{keys} ({kind})")?,
            None => write!(f, "{kind}{keys}")?,
        }
        if let Some(place) = &self.place {
            write!(f, " ({place})")?;
        }
        if self.of.is_empty() { Ok(()) } else { write!(f, ": {}", self.of) }
    }
}

impl Headline {
    /// Returns what it says first, without a stop: what is printed, or what stands against that.
    pub fn lead(&self) -> String {
        match self {
            Headline::Print { failing, first, asked, .. } => match (failing.as_slice(), first.as_slice()) {
                ([], []) => self.printed(),
                ([], first) => {
                    // What is asked for after this says why; else its first clause is enough here, the rest stands with the margin.
                    let clause = |m: &Unshown| m.why.to_string().split("; ").next().map(str::to_owned);
                    let why = |m: &Unshown| match clause(m) {
                        Some(clause) if asked.is_empty() => format!(" ({clause})"),
                        _ => String::new(),
                    };
                    let each = first.iter().map(|m| format!("{}{}", m.what, why(m)));
                    format!("{NOT_SHOWN}: {}", joined(each, ", "))
                }
                (failing, _) => format!("{DOES_NOT_HOLD}: {}", each(failing)),
            },
            Headline::Withheld(_) => "Not printable as specified".to_owned(),
            Headline::InTheWay { things, places, .. } => {
                let all = match *things > 1 {
                    true => format!(" {things} things stand in the way, and each must be freed;"),
                    false => String::new(),
                };
                format!("Not printable as specified:{all} see {}", joined(places, ", "))
            }
            Headline::Unanswered { beside, .. } => {
                let asked = &beside.asked;
                let first = if asked.len() > 1 { "Questions first" } else { "A question first" };
                format!("{first}: {}", joined(asked, " "))
            }
            Headline::TooLarge(_) => {
                "Not printable as specified: the part is larger than every machine here".to_owned()
            }
            Headline::Bench(_) => "Not printable as specified: see what stands in the way below".to_owned(),
        }
    }

    /// Says what is printed, of what, on what and how.
    fn printed(&self) -> String {
        let Headline::Print { material, spool, printer, nozzle, surface, agent, pose, supports, .. } = self else {
            return String::new();
        };
        let spool = spool.as_ref().map_or(String::new(), |s| format!(" (spool {s})"));
        let agent = agent.as_ref().map_or(String::new(), |a| format!(" with {a}"));
        let supports = if *supports { "supports where needed" } else { "no supports" };
        format!("Print {material}{spool} on {printer}, nozzle {nozzle}, on {surface}{agent}, {pose}, {supports}")
    }
}

impl Display for Headline {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Headline::Print { failing, first, asked, not_for, .. } => {
                write!(f, "{}.", self.printed())?;
                if !failing.is_empty() || !first.is_empty() {
                    write!(f, " {}.", self.lead())?;
                }
                not_for_and_asked(not_for, asked, f)
            }
            Headline::Withheld(failing) => {
                write!(f, "{}. {DOES_NOT_HOLD}: {}.", self.lead(), each(failing))?;
                Beside { by_use: true, ..Beside::default() }.fmt(f)
            }
            Headline::InTheWay { beside, .. } | Headline::TooLarge(beside) | Headline::Bench(beside) => {
                write!(f, "{}.", self.lead())?;
                beside.fmt(f)
            }
            Headline::Unanswered { places, beside } => {
                f.write_str(&self.lead())?;
                let it = if beside.asked.len() > 1 { "they are" } else { "it is" };
                write!(
                    f,
                    " Nothing is printed from this page until {it} answered; as it is taken now, see {}.",
                    joined(places, ", ")
                )?;
                Beside { asked: Vec::new(), ..beside.clone() }.fmt(f)
            }
        }
    }
}

impl Display for Beside {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        if self.by_use {
            f.write_str(
                " What a part is used for is no setting of a print: take a bought part made for it, or have someone licensed \
                 for such work answer for the design.",
            )?;
        }
        if self.for_people {
            f.write_str(" Local codes come first: have someone licensed for such work answer for the design.")?;
        }
        not_for_and_asked(&self.not_for, &self.asked, f)
    }
}

fn not_for_and_asked(not_for: &[Sentence], asked: &[Sentence], f: &mut Formatter<'_>) -> fmt::Result {
    if !not_for.is_empty() {
        write!(f, " Not for {}.", joined(not_for, ", "))?;
    }
    match asked {
        [] => Ok(()),
        [one] => write!(f, " A question first: {one}"),
        many => write!(f, " Questions first: {}", joined(many, " ")),
    }
}

const NOT_SHOWN: &str = "A question first: not shown";
const DOES_NOT_HOLD: &str = "It does not hold as specified";

/// Names margins, with what is asked and what is there.
fn each(margins: &[Failing]) -> String {
    let each = margins.iter().map(|m| match (m.demand.to_string().is_empty(), m.capacity.to_string().is_empty()) {
        (false, false) => format!("{} ({} against {})", m.what, m.demand, m.capacity),
        _ => m.what.to_string(),
    });
    each.collect::<Vec<_>>().join("; ")
}

impl Display for MarginNote {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match &self.why {
            Some(why) => write!(f, "{}, {}: {}: {why}.", self.what, self.demand, self.verdict.words()),
            None => {
                let verdict = self.verdict.words();
                write!(f, "{}: asked is {}; there is {}: {verdict}.", self.what, self.demand, self.capacity)
            }
        }
    }
}

impl Display for RunNote {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            RunNote::Estimate { basis, pace: None } => write!(f, "time and mass: {basis}"),
            RunNote::Estimate { basis, pace: Some(pace) } => {
                write!(
                    f,
                    "time and mass: {basis}; times {}, this machine's own pace by the workshop's records",
                    trim_number(*pace, 3)
                )
            }
            RunNote::Costs { filament, machine, electricity, labour, no_power } => {
                let no_power =
                    if *no_power { "electricity (the printer's `power` is not stated)" } else { "electricity" };
                let parts = [
                    ("filament", Some(*filament)),
                    ("machine hours", *machine),
                    (no_power, *electricity),
                    ("a person's time at the plates", *labour),
                ];
                let counted = parts.iter().filter_map(|(what, cost)| Some(format!("{what} {:.2}", (*cost)?)));
                let left_out = joined(parts.iter().filter(|(_, cost)| cost.is_none()).map(|(what, _)| what), ", ");
                write!(f, "cost: {}", joined(counted, ", "))?;
                if left_out.is_empty() { Ok(()) } else { write!(f, "; not counted: {left_out}") }
            }
            RunNote::NoShare => {
                f.write_str("a long run for one machine: no other machine here can take a share of it as it stands")
            }
            RunNote::Shared(shared) => shared.fmt(f),
            RunNote::Started(started) => started.fmt(f),
            RunNote::Beside(beside) => beside.fmt(f),
        }
    }
}

impl Stage {
    /// Returns the word of the phase in the machine form.
    pub fn word(self) -> &'static str {
        match self {
            Stage::Of(phase) => phase.word(),
            Stage::FirstArticle => "first-article",
        }
    }

    /// Returns the heading of the phase.
    pub fn title(self) -> &'static str {
        match self {
            Stage::Of(Phase::Ahead) => "Hours ahead",
            Stage::Of(Phase::Model) => "In the model",
            Stage::Of(Phase::Prepare) => "Prepare",
            Stage::Of(Phase::ChangeOver) => "Change over",
            Stage::Of(Phase::FirstLayer) => "First layer",
            Stage::Of(Phase::During) => "While it prints",
            Stage::Of(Phase::Removal) => "Removal",
            Stage::Of(Phase::Finish) => "Finish",
            Stage::Of(Phase::Inspect) => "Inspect",
            Stage::FirstArticle => "First article",
        }
    }
}

/// What a decision is called on a page.
pub fn decision(decision: Decision) -> &'static str {
    match decision {
        Decision::Printer => "Printer",
        Decision::Material => "Material",
        Decision::Spool => "Spool",
        Decision::Nozzle => "Nozzle",
        Decision::Surface => "Build surface",
        Decision::Agent => "Agent",
        Decision::Pose => "Pose",
        Decision::Supports => "Supports",
        Decision::BuildUp => "Build-up",
    }
}

/// A caution's kind as its label: `load` is what the part bears, not what the machine is loaded with.
pub fn caution_kind(kind: CautionKind) -> &'static str {
    match kind {
        CautionKind::Injury => "Injury",
        CautionKind::Fire => "Fire",
        CautionKind::Health => "Health",
        CautionKind::Load => "Strength",
        CautionKind::Damage => "Damage",
        CautionKind::Quality => "Quality",
        CautionKind::Usual => "As always",
    }
}

/// Joins what can be told by a word between.
fn joined<T: Display>(each: impl IntoIterator<Item = T>, between: &str) -> String {
    each.into_iter().map(|one| one.to_string()).collect::<Vec<_>>().join(between)
}

impl Display for Unread {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Unread::Key("printers", "unattended") => {
                f.write_str("printers.unattended (asked by the plan of a run alone)")
            }
            Unread::Key(section, key) => write!(f, "{section}.{key}"),
            Unread::Item(section, at) => write!(f, "{section} ({})", at + 1),
        }
    }
}
