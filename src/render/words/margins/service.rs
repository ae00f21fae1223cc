//! Heat, sun, cold and what touches the part.

use std::fmt::{self, Display, Formatter};

use super::{ends, one_of, times};
use crate::resolve::heat::{Fixed, Look, Peak, Sum};
use crate::resolve::margin::said::{Part, Said};

const COAT_UNSAID: &str = "; paint keeps the light off only where and while it is whole: write `sun direct for` with the time \
                           from one coat to the next, and the part is held to that";

pub(super) fn words(said: &Said, part: Part) -> String {
    match said {
        Said::Heat { gets, limit, spare, working, hottest } => one_of(
            part,
            || gets.to_string(),
            || ends(limit),
            || format!("{:.0} K", spare.to_k()),
            || match hottest {
                None => working.to_string(),
                Some((high, true)) => format!("{working}; up to {high} in still air and peak sun"),
                Some((high, false)) => format!("{working}; up to {high} with the unfavourable end of each figure"),
            },
        ),
        Said::Sun { wanted, life, ratio, weathering, coat_unsaid } => one_of(
            part,
            || wanted.to_string(),
            || format!("{}, unprotected", ends(life)),
            || times(*ratio),
            || {
                let coat = if *coat_unsaid { COAT_UNSAID } else { "" };
                format!("weathering {weathering}{coat}")
            },
        ),
        Said::Cold { gets, limit, spare } => one_of(
            part,
            || format!("knocks at {gets}"),
            || ends(limit),
            || format!("{:.0} K", spare.to_k()),
            || "the lowest temperature it gets against its brittle point".to_owned(),
        ),
        Said::Contact { at, stands, may_crack, only_cracks } => one_of(
            part,
            || at.map_or_else(|| "nobody knows how warm".to_owned(), |t| format!("at {t}")),
            || {
                let known = stands.as_ref().map(|(stands, class)| format!("{stands} against {class}"));
                let known = known.unwrap_or_else(|| "not known".to_owned());
                if *only_cracks { format!("{known}; may crack under load in it") } else { known }
            },
            String::new,
            || if *may_crack { "may crack under load in it".to_owned() } else { String::new() },
        ),
        _ => String::new(),
    }
}

impl Display for Sum {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match &self.peak {
            Some(Peak::Before { stated, place }) => {
                write!(f, "stated peak {stated}, which goes before what is usual in a {place}: ")?;
            }
            Some(Peak::Above(stated)) => write!(f, "stated peak {stated} (above the sum: ")?,
            None => {}
        }
        for (i, term) in self.terms.iter().enumerate() {
            let between = if i == 0 { "" } else { "; " };
            write!(f, "{between}{}", term.label)?;
            if let Some(colour) = self.colour.as_ref().filter(|_| term.of_the_sun) {
                write!(f, " ({colour})")?;
            }
            write!(f, " {}", term.value)?;
        }
        // A sum of one is no sum.
        if self.terms.len() != 1 {
            write!(f, " = {}", self.comes_to)?;
        }
        if matches!(self.peak, Some(Peak::Above(_))) { f.write_str(")") } else { Ok(()) }
    }
}

impl Display for Look {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Look::Known(colour) => f.write_str(colour),
            Look::BlackAssumed => f.write_str("black assumed"),
        }
    }
}

impl Display for Fixed {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Fixed::Spool { name, colour } => write!(f, "the spool {name} is {colour}"),
            Fixed::SoldOnly(only) => write!(f, "it comes in {only} only"),
        }
    }
}
