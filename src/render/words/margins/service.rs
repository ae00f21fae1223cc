//! Heat, sun, cold and what touches the part.

use super::{ends, one_of, times};
use crate::resolve::margin::said::{Part, Said};

pub(super) fn words(said: &Said, part: Part) -> String {
    match said {
        Said::Heat { gets, limit, spare, working, hottest } => one_of(
            part,
            || gets.to_string(),
            || ends(limit),
            || format!("{:.0} K", spare.to_k()),
            || match hottest {
                None => working.clone(),
                Some((high, true)) => format!("{working}; up to {high} in still air and peak sun"),
                Some((high, false)) => format!("{working}; up to {high} with the unfavourable end of each figure"),
            },
        ),
        Said::Sun { wanted, life, ratio, weathering } => one_of(
            part,
            || wanted.to_string(),
            || format!("{}, unprotected", ends(life)),
            || times(*ratio),
            || format!("weathering {weathering}"),
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
