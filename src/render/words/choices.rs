//! Why a choice was taken or not, and what to know of it at the machine.

use std::fmt::{self, Display, Formatter};

use super::joined;
use crate::catalogue::words::Role;
use crate::catalogue::words::Stored;
use crate::recipe::{Against, Along, Choice, Detail, Lay, Layers, OtherColour, Points, Weighed, total};
use crate::resolve::loads::direction_words;

/// How many penalties a sentence names.
const NAMED: usize = 4;

impl Display for Points {
    /// With its sign, as what is added.
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        write!(f, "{:+.2}", self.as_f64())
    }
}

impl Points {
    /// Returns a difference that is told without its sign.
    pub fn plain(self) -> String {
        format!("{:.2}", self.as_f64())
    }
}

impl Display for Weighed {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        f.write_str(&self.rule)?;
        if let Some(about) = &self.about {
            write!(f, " ({about})")?;
        }
        write!(f, " {}", self.points)
    }
}

/// Returns the first of what separates two choices in words, and the sum of the rest: together they add up.
pub fn named_and_smaller(weighed: &[Weighed]) -> Vec<String> {
    let (named, rest) = weighed.split_at(weighed.len().min(NAMED));
    let mut words: Vec<String> = named.iter().map(ToString::to_string).collect();
    match rest {
        [] => {}
        [one] => words.push(one.to_string()),
        more => {
            let last = named.last().map(|w| w.points);
            words.push(format!("and {} {} {}", more.len(), smaller(more.len(), total(more), last), total(more)));
        }
    }
    words
}

/// Returns what to call those that are not named: smaller, but where they outweigh what was named last.
fn smaller(count: usize, rest: Points, last: Option<Points>) -> &'static str {
    let outweighs = |last: Points| rest.max(-rest) > last.max(-last);
    match (last.is_some_and(outweighs), count) {
        (true, 1) => "other",
        (true, _) => "others",
        (false, _) => "smaller",
    }
}

impl Display for Choice {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Choice::Pinned { because } if because.is_empty() => f.write_str("pinned by the spec"),
            Choice::Pinned { because } => write!(f, "pinned by the spec: {because}"),
            Choice::RuledOut { values, said, because } => write!(f, "{} out ({said}): {because}", values.join(", ")),
            Choice::OnlyOne => f.write_str("the only one there is"),
            Choice::OnlyStanding { with: None } => f.write_str("the only one that stands"),
            Choice::OnlyStanding { with: Some(with) } => write!(f, "the only one that stands with {with}"),
            Choice::AsGoodAs { other } => write!(f, "as good as {other}; the first by name is taken"),
            Choice::Better { than, along, by, against } => {
                write!(f, "better than {than}")?;
                if !along.is_empty() {
                    write!(f, " (which goes with {})", joined(along, ", "))?;
                }
                write!(f, " by {}", total(by).plain())?;
                if against.is_empty() {
                    return Ok(());
                }
                write!(f, ": {}", joined(against, "; "))?;
                // Together they come to the sum that is told.
                let rest = against.iter().fold(total(by), |rest, a| rest + -a.points);
                match by.len().saturating_sub(against.len()) {
                    0 => Ok(()),
                    n => write!(f, "; and {n} {} ({rest})", smaller(n, rest, against.last().map(|a| a.points))),
                }
            }
            Choice::ByTheSpec { forbidden: true, because } => write!(f, "forbidden by the spec: {because}"),
            Choice::ByTheSpec { forbidden: false, because } => write!(f, "another is pinned by the spec: {because}"),
            Choice::Refused { said, colour, also } => {
                write!(f, "{said}")?;
                if let Some(colour) = colour {
                    write!(f, " ({colour})")?;
                }
                if also.is_empty() { Ok(()) } else { write!(f, "; also {}", also.join(", ")) }
            }
            Choice::Costlier { by } => {
                write!(f, "would do, worse by {}: {}", total(by).plain(), named_and_smaller(by).join(", "))
            }
        }
    }
}

impl Display for Against {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let own = if self.own { "" } else { "with it, " };
        write!(f, "{own}{} ({})", self.said, self.points)
    }
}

impl Display for Along {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Along::Value(name) => name,
            Along::BuildUp(name) => return write!(f, "the build-up {name}"),
            Along::NoAgent => "no agent",
            Along::Supports(true) => "supports",
            Along::Supports(false) => "no supports",
        })
    }
}

impl Display for OtherColour {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let percent = |share: f64| (share * 100.0).round();
        write!(
            f,
            "{}, which takes up {} % of the sunlight; the colour of this part takes up {} %",
            self.why,
            percent(self.theirs),
            percent(self.ours)
        )
    }
}

impl Display for Detail {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Detail::Nothing => Ok(()),
            Detail::Told(text) => f.write_str(text),
            Detail::BuildUp { beads, above, below, infill } => {
                let count = |n: &Option<f64>| n.map_or("?".to_owned(), |n| format!("{n:.0}"));
                let (beads, above, below) = (count(beads), count(above), count(below));
                let infill = infill.map_or("?".to_owned(), |share| format!("{:.0} %", share * 100.0));
                write!(f, "{beads} beads a wall, {above} closed layers above and {below} below, infill {infill}")
            }
            Detail::Surface { title, held } => {
                f.write_str(title)?;
                held.iter().try_for_each(|p| write!(f, ", on {p} now"))
            }
            Detail::Printer { shop, loaded, fitted, mounted } => {
                shop.iter().try_for_each(|shop| write!(f, "{shop}; "))?;
                f.write_str("now: ")?;
                match loaded {
                    Some(loaded) => write!(f, "{loaded} loaded")?,
                    None => f.write_str("what is loaded is not recorded")?,
                }
                fitted.iter().try_for_each(|nozzle| write!(f, ", {nozzle} fitted"))?;
                mounted.iter().try_for_each(|surface| write!(f, ", {surface} on the bed"))
            }
            Detail::Material { title, spool } => {
                f.write_str(title)?;
                let Some(spool) = spool else { return Ok(()) };
                write!(f, "; spool {}", spool.name)?;
                spool.colour.iter().try_for_each(|colour| write!(f, ", {colour}"))?;
                spool.left.iter().try_for_each(|left| write!(f, ", {left} left"))?;
                spool
                    .kept
                    .iter()
                    .filter(|_| spool.held.is_none())
                    .try_for_each(|kept| write!(f, ", {}", kept_in(*kept)))?;
                spool.held.iter().try_for_each(|p| write!(f, ", in {p} now"))
            }
            Detail::Nozzle { metal, bore, held } => {
                write!(f, "{metal}, {} mm bore", bore.to_mm())?;
                held.iter().try_for_each(|p| write!(f, ", in {p} now"))
            }
            Detail::Bond { role, strength } => match role {
                Some(Role::Release) => write!(f, "as release: it lowers the bond ({strength})"),
                Some(Role::Adhesive) => write!(f, "as adhesive: the part would not hold without it ({strength})"),
                _ => write!(f, "bond {strength}"),
            },
            Detail::Pose { lay, layers, notation, turned, askew, footprint, height } => {
                write!(f, "{lay}{layers}; ")?;
                notation.iter().try_for_each(|order| write!(f, "orientation {order} (ISO 17295), "))?;
                turned.iter().try_for_each(|deg| write!(f, "turned {deg:.0}° about the vertical, "))?;
                let [long, short] = footprint.map(|side| side.to_mm());
                write!(f, "{long:.0} x {short:.0} mm on the bed, {:.1} mm high", height.to_mm())?;
                askew.iter().try_for_each(|(deg, [from, to], room)| {
                    write!(f, "; it fits the bed only askew: turned {deg:.0}° from the bed's first side ({from:.0}° to {to:.0}° fit), {:.1} mm of room on each side", room.to_mm())
                })
            }
        }
    }
}

impl Detail {
    /// Returns whether there is nothing more to say.
    pub fn is_nothing(&self) -> bool {
        matches!(self, Detail::Nothing)
    }
}

impl Display for Lay {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Lay::Face { name, upright: true } => write!(f, "stand it on its face \"{name}\""),
            Lay::Face { name, upright: false } => write!(f, "lay it on its face \"{name}\""),
            Lay::Edge { down } => {
                write!(f, "it stands on an edge or a point, with {} of the file down", direction_words(*down))
            }
            Lay::End { down } => write!(f, "stand it on the end that faces {} in the file", direction_words(*down)),
            Lay::Part { down } => write!(f, "set it down on what faces {} in the file", direction_words(*down)),
            Lay::Flat { down } => {
                write!(f, "lay it on the flat side that faces {} in the file", direction_words(*down))
            }
        }
    }
}

impl Display for Layers {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Layers::Nothing => Ok(()),
            Layers::Across(loads) => {
                let loads = loads.iter().map(|name| format!("\"{name}\""));
                write!(f, ", although the layers are pulled apart by {}", joined(loads, ", "))
            }
            Layers::AlongOne(load) => write!(f, ", so that the layers run with the stress of \"{load}\""),
            Layers::AlongAll => f.write_str(", so that the layers run with the stress of every load"),
        }
    }
}

/// Says where a spool lies.
const fn kept_in(stored: Stored) -> &'static str {
    match stored {
        Stored::Open => "open",
        Stored::Bag => "in its bag",
        Stored::DryBox => "in the dry box",
        Stored::Sealed => "sealed",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn how_to_lay_it_in_words() {
        let down = [0.0, 0.0, -1.0];
        assert_eq!(Lay::Flat { down }.to_string(), "lay it on the flat side that faces -z in the file");
        assert_eq!(Lay::Face { name: "foot".to_owned(), upright: false }.to_string(), "lay it on its face \"foot\"");
        assert_eq!(Lay::End { down: [1.0, 0.0, 0.0] }.to_string(), "stand it on the end that faces +x in the file");
    }

    #[test]
    fn what_is_named_and_what_is_smaller_add_up() {
        let each = [500, 400, 300, 200, -100, 50].map(|n| Weighed {
            rule: "r".to_owned(),
            about: None,
            points: Points::hundredths(n),
        });
        assert_eq!(named_and_smaller(&each), ["r +5.00", "r +4.00", "r +3.00", "r +2.00", "and 2 smaller -0.50"]);
        assert_eq!(named_and_smaller(&each[..5]).last().map(String::as_str), Some("r -1.00"));
        // What outweighs all that is named is not called smaller.
        let each = [300, 52, 5, 4, -300, 1].map(|n| Weighed { points: Points::hundredths(n), ..each[0].clone() });
        assert_eq!(named_and_smaller(&each).last().map(String::as_str), Some("and 2 others -2.99"));
    }
}
