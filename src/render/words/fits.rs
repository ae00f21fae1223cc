//! What is said of fits: the sum of an allowance here, the rest in a file for each kind of saying.

mod checks;
mod named;
mod route;
mod terms;
mod told;
mod why;

use std::fmt::{self, Display, Formatter};

use crate::fits::allowance::Verdict as Held;
use crate::fits::feature::FeatureAxis;

use super::quantities::{limits, size};
use crate::fits::function::Limits;
use crate::quantity::{Length, trim_number};
use crate::recipe::{Allowance, Counted, Effect, FitNote, Found, Term};

/// Stands where a line has no size.
const NONE: &str = "–";

impl FeatureAxis {
    /// Says how it lies, in a fitter's words.
    pub(crate) const fn in_words(self) -> &'static str {
        match self {
            Self::AlongLayers => "axis along the layers",
            Self::AcrossLayers => "axis across the layers",
        }
    }
}

/// Writes one after the other.
fn listed<'a>(f: &mut Formatter<'_>, all: impl Iterator<Item = &'a dyn Display>) -> fmt::Result {
    all.enumerate().try_for_each(|(i, one)| if i == 0 { one.fmt(f) } else { write!(f, "; {one}") })
}

/// A size in millimetres with two decimals at most: no finer than a fitter reads it.
fn rough(length: Length) -> String {
    format!("{} mm", trim_number(length.to_mm(), 2))
}

/// Both limits, each with its unit.
fn both(limits: &Limits) -> String {
    format!("{} to {}", size(limits.low), size(limits.high))
}

impl Display for FitNote {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let mm = |l: &crate::quantity::Length| trim_number(l.to_mm(), 3);
        match self {
            FitNote::Why { reasons, warnings, cautions } => {
                let all = reasons.iter().map(|r| r as &dyn Display);
                let all = all.chain(warnings.iter().map(|w| w as &dyn Display));
                listed(f, all.chain(cautions.iter().map(|c| c as &dyn Display)))
            }
            FitNote::Warning(warning) => warning.fmt(f),
            FitNote::Effect { note, source: None } => note.fmt(f),
            FitNote::Effect { note, source: Some(source) } => write!(f, "{note}; {source}"),
            FitNote::Route(route) => route.fmt(f),
            FitNote::Pair(held) => f.write_str(match held {
                Held::Holds => "print, then any pair will do",
                Held::Marginal => "print, then try every pair; swap the few that bind or rattle",
                Held::CannotHold => {
                    "print, then pair by trying (selective fit), widen the wanted clearance, or finish one of the two"
                }
            }),
            FitNote::Shared { wanted, aim, expected, capability, warnings } => {
                write!(
                    f,
                    "clearance wanted {} to {} mm on the diameter, shared half and half: this side aims at {} mm; a pair \
                     taken at random is expected to have {} to {} mm ({capability})",
                    mm(&wanted.low),
                    mm(&wanted.high),
                    mm(aim),
                    mm(&expected.low),
                    mm(&expected.high)
                )?;
                warnings.iter().try_for_each(|warning| write!(f, "; {warning}"))
            }
            FitNote::PairByTrying { fit, half, spread } => write!(
                f,
                "\"{fit}\" fits its mate within ± {} mm for certain, and this printer spreads it by ± {}: most pieces lie \
                 outside. Try piece with piece and keep pairs together, or give the two more play.",
                mm(half),
                size(*spread)
            ),
            FitNote::PairBecause => {
                f.write_str("limits that exclude a clash of any two pieces are narrower than a print")
            }
        }
    }
}

impl Display for Effect {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let mm = self.shift.to_mm();
        if mm.abs() < 5e-4 {
            write!(f, "prints to size ({})", self.from)
        } else {
            let which = if mm < 0.0 { "smaller" } else { "larger" };
            write!(f, "prints {:.2} mm {which} ({})", mm.abs(), self.from)
        }
    }
}

impl Display for Found {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Found::None(None) => Ok(()),
            Found::None(Some(count)) => write!(f, ", {count} of them"),
            Found::Features(features) => match features.as_slice() {
                [one] => write!(f, ": {one}"),
                many => write!(f, ", {} of them: {}", many.len(), many.join("; ")),
            },
        }
    }
}

impl Term {
    /// Returns the amount; one that does not enter the sum says so.
    pub fn words(&self) -> String {
        let counted = match self.counted {
            Counted::InSum => "",
            Counted::InRecord => ", not added: within the record",
            Counted::Local => ", not added: local",
        };
        format!("{:+.3} mm{counted}", self.value.to_mm())
    }
}

impl Allowance {
    /// Returns what the fit is for, which features of the mesh are its, and what it mates with.
    pub fn function_words(&self) -> String {
        let mate = self.mate.as_ref();
        let mate = mate.map_or(String::new(), |m| format!("; mates with fit \"{}\" of part \"{}\"", m.fit, m.part));
        format!("{}{}{mate}", self.function, self.found)
    }

    /// Returns the limits the finished feature must keep.
    pub fn target_words(&self) -> String {
        limits(&self.target)
    }

    /// Returns the size to model; a dash where a bought part takes its place.
    pub fn model_words(&self) -> String {
        self.model_size.map_or_else(|| NONE.to_owned(), size)
    }

    /// Returns how far one piece may differ, both ways; a dash where a bought part takes its place.
    pub fn spread_words(&self) -> String {
        self.spread.map_or_else(|| NONE.to_owned(), |spread| format!("± {} mm", trim_number(spread.to_mm(), 2)))
    }
}
