//! Why nothing is left, and what would free the job.

use std::fmt::{self, Display, Formatter};
use std::sync::Arc;

use super::joined;
use crate::diag::Cite;
use crate::quantity::{Length, trim_number};
use crate::recipe::{Change, Does, LeadsTo, Oversize, Refused, Way};
use crate::resolve::conflict::Weak;
use crate::resolve::margin::said::{OfMargin, Part};

impl Display for Refused {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Refused::Together(1) => f.write_str("this one line cannot be met on this bench"),
            Refused::Together(n) => {
                write!(f, "these {n} lines cannot be met together on this bench; one of them must give way")
            }
            Refused::BenchAlone => f.write_str(
                "the bench alone stands in the way: even without a single requirement nothing on it can be printed from this \
                 mesh",
            ),
            Refused::Margin(m) => {
                write!(f, "{}: {} against {}, and a failure could hurt someone", m.what, m.demand, m.capacity)
            }
            Refused::Oversize(large) => large.fmt(f),
            Refused::Redrawn { so, material, printer } => {
                let so = joined(so, ", and ");
                write!(f, "in the model: {so}; then {material} would do on {printer} (by the rules, not tried)")
            }
            Refused::Changes { each, does: Does::Alone, hollow, way } => {
                let each = joined(each.iter().map(|(change, _)| change), ", and ");
                write!(f, "{}{each}, {way}", of_little_use(*hollow))
            }
            Refused::Changes { each, does, hollow, way } => {
                let told = |(change, places): &(Change, Vec<Cite>)| format!("{change} ({})", joined(places, ", "));
                let each = joined(each.iter().map(told), ", and ");
                let little = of_little_use(*hollow);
                let which = match does {
                    Does::WithoutPurchase => "no single change is enough without a purchase",
                    Does::Alone | Does::OnlyTogether => "no single change is enough",
                };
                write!(f, "{little}{which}; all of these together: {each}: {way}")
            }
        }
    }
}

fn of_little_use(hollow: bool) -> &'static str {
    if hollow { "giving up most of what was asked: " } else { "" }
}

impl Display for Oversize {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let [x, y, z] = self.build.map(|l| format!("{:.0}", l.to_mm()));
        let long = joined(self.long.iter().map(|l| format!("{:.0} mm", l.to_mm())), " and ");
        let pieces: usize = self.counts.iter().product();
        write!(
            f,
            "the part measures {}; the largest build volume here, that of {}, is {x} x {y} x {z} mm with {:.0} mm kept free \
             at the edges: {long} {} too long for it. Split it: {pieces} pieces ({} along x, y, z) of {} fit, joined with \
             dowels and glue or with a screwed lap; make each piece a part of its own and each joint a `fit`",
            sides(self.part),
            self.printer,
            self.edge.to_mm(),
            if self.long.len() == 1 { "is" } else { "are" },
            joined(self.counts, " x "),
            sides(self.piece),
        )
    }
}

fn sides(sides: [Length; 3]) -> String {
    format!("{} mm", joined(sides.map(|l| format!("{:.0}", l.to_mm())), " x "))
}

impl Display for Change {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Change::Number { of, held: true, from, to, .. } => write!(f, "{of}{to} instead of {from}"),
            Change::Number { of, model, from, to, .. } => {
                let model = if *model { ", here and in the model" } else { "" };
                write!(f, "with {of}{to} instead of {from}{model}")
            }
            Change::Wall { from, to, at, asked } => {
                let [x, y, z] = at.map(|c| trim_number(c, 1));
                let size = |l: &Length| trim_number(l.to_mm(), 2);
                let asked = if *asked { " and in this line" } else { "" };
                write!(
                    f,
                    "with no wall thinner than {} mm in the model{asked} (the thinnest now is {} mm at ({x}, {y}, {z}) mm)",
                    size(to),
                    size(from)
                )
            }
            Change::Thick { load, bends, from, to, at } => {
                let [x, y, z] = at.map(|c| trim_number(c, 1));
                let [from, to] = [from, to].map(|l| trim_number(l.to_mm(), 1));
                write!(
                    f,
                    "with {to} mm of thickness in place of {from} mm at ({x}, {y}, {z}) mm, where {} (solved again on \
                     the part moved apart there; measure the changed model again)",
                    if *bends { "it is strained most as it bends".to_owned() } else { format!("{load} breaks it") }
                )
            }
            Change::Section { load, bent, pulled } => write!(
                f,
                "with the section that {load} strains drawn {} times as deep if it is bent there, {} times if it is pulled \
                 (reckoned from the load that holds, stress falling with the square of the depth, or with the depth; measure \
                 the changed model again)",
                trim_number(*bent, 1),
                trim_number(*pulled, 1)
            ),
            Change::Colour { from, to, spool, buy } => {
                match from {
                    Some(from) if from == to => {
                        let material = buy.as_deref().unwrap_or_default();
                        return write!(f, "with a spool of {material} in {to}, as asked, to be bought");
                    }
                    Some(from) => write!(f, "in {to} instead of {from}")?,
                    None => write!(f, "in {to}")?,
                }
                match (spool, buy) {
                    (Some(spool), _) => write!(f, " (spool {spool})"),
                    (None, Some(material)) => write!(f, " or lighter (a spool of {material} in it is to be bought)"),
                    (None, None) => f.write_str(" or lighter"),
                }
            }
            Change::Without { line, no_less } => {
                let none = if *no_less { " (no milder number in it was found to do)" } else { "" };
                write!(f, "without `{line}`{none}")
            }
            Change::With(what) => write!(f, "with {what}"),
        }
    }
}

impl Display for Way {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let does = if self.fails { "could be printed" } else { "would do" };
        write!(f, "{} {does} on {}", self.material, On(self))?;
        if self.weak.is_empty() { Ok(()) } else { write!(f, ", but {}", joined(&self.weak, "; ")) }
    }
}

/// The machine of a way.
struct On<'w>(&'w Way);

impl Display for On<'_> {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self.0.equipped {
            true => write!(f, "a machine of the size of {} so equipped", self.0.printer),
            false => f.write_str(&self.0.printer),
        }
    }
}

impl Display for Weak {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Weak::Margin { what, said, verdict } => {
                let part = |part| OfMargin { said: Arc::clone(said), part };
                let (asked, there) = (part(Part::Demand), part(Part::Capacity));
                write!(f, "{what}: asked is {asked}, there is {there}: {}", verdict.words())
            }
            Weak::Cracks { what, said } => {
                write!(f, "{what}: {}", OfMargin { said: Arc::clone(said), part: Part::Basis })
            }
            Weak::TooHot { setting, set, most, material } => {
                write!(f, "{setting} {set} is above the {most} that {material} is printed at")
            }
            Weak::OnNoFace { pose, on_a_face } => {
                write!(f, "it would lie on no face, held by supports: {pose}")?;
                match on_a_face {
                    Some((pose, why)) => write!(f, " (the best pose on a face, {pose}: {why})"),
                    None => Ok(()),
                }
            }
        }
    }
}

impl Display for LeadsTo {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            LeadsTo::Nothing => f.write_str("nothing at hand would do"),
            LeadsTo::As(way) => to(way, f),
            LeadsTo::Redrawn { way, bent, pulled } => {
                f.write_str("nothing as it is drawn; ")?;
                to(way, f)?;
                let (bent, pulled) = (trim_number(*bent, 1), trim_number(*pulled, 1));
                write!(f, " with the section {bent} times as deep where it is bent, {pulled} times where it is pulled")
            }
        }
    }
}

/// What an answer would be printed of, and the first of it that does not hold.
fn to(way: &Way, f: &mut Formatter<'_>) -> fmt::Result {
    write!(f, "{} on {}", way.material, On(way))?;
    match way.weak.first().filter(|_| way.fails) {
        Some(weak) => write!(f, ", and it does not hold: {weak}"),
        None => Ok(()),
    }
}
