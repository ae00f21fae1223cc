//! Loads alone and together, buckling, deflection.

use std::fmt::{self, Display, Formatter};

use super::{mpa, one_of, place, times};
use crate::quantity::{Quantity, trim_number};
use crate::resolve::margin::said::{Combination, Foam, Part, Printed, Said, Taken, Thicker};
use crate::resolve::together::{MOST_NAMED, quoted};

pub(super) fn words(said: &Said, part: Part) -> String {
    match said {
        Said::Load { demand, solid, ratio, typical, printed, working, thicker } => one_of(
            part,
            || mpa(*demand),
            || match printed.share < 1.0 {
                false => mpa(*solid),
                true => format!("{:.2} MPa, {} were it solid", solid.to_mpa() * printed.share, mpa(*solid)),
            },
            || format!("{} ({} with typical strengths)", times(*ratio), times(*typical)),
            || {
                let solid = if printed.share < 1.0 { "" } else { ", solid" };
                let thicker = thicker.map_or(String::new(), |thicker| format!("; would hold with {thicker}"));
                format!("{working}; Tsai-Hill in the layers of this way up{solid}{}{thicker}", skin(printed))
            },
        ),
        Said::Together { taken, ratio, printed, combination } => one_of(
            part,
            || format!("{:.0} % of what is borne", (100.0 * taken).min(MOST_PERCENT)),
            || "100 %".to_owned(),
            || times(*ratio),
            || format!("{combination}{}; `alone` in a load says that it never acts with another", skin(printed)),
        ),
        Said::Buckling { size, ratio, foam, working, thicker } => one_of(
            part,
            || size.as_ref().map_or(String::new(), Quantity::to_string),
            || format!("buckles at {ratio:.2} times that, its factor counted"),
            || times(*ratio),
            || {
                let foam = foam.map_or(String::new(), |Foam { infill, share }| {
                    format!("; as a foam of {:.0} % throughout: x {share:.3}", infill * 100.0)
                });
                let thicker = thicker.map_or(String::new(), |more| {
                    let more = 100.0 * more;
                    format!("; would hold {more:.0} % thicker and wider throughout, by the law of sections")
                });
                format!("{working}{foam}{thicker}")
            },
        ),
        Said::Deflection { tip, solid, allowed, ratio, foam, working } => one_of(
            part,
            || {
                let of_solid = foam.map_or(String::new(), |_| format!(", {:.2} mm were it solid", solid.to_mm()));
                format!("{:.2} mm{of_solid}", tip.to_mm())
            },
            || format!("{allowed} allowed"),
            || times(*ratio),
            || match foam {
                None => working.clone(),
                Some(Foam { infill, share }) => format!(
                    "{working}; as a foam of {:.0} % throughout, its walls not counted: stiffness x {share:.3}",
                    infill * 100.0
                ),
            },
        ),
        _ => String::new(),
    }
}

/// More of what is borne than this is no figure.
const MOST_PERCENT: f64 = 1e6;

/// Says what of a section that is not solid counts.
fn skin(printed: &Printed) -> String {
    if printed.share >= 1.0 {
        return String::new();
    }
    format!(
        "; the section there is {} mm, of which with {:.0} % infill the skin counts alone, as if pulled through: x {:.2} \
         (bent, and its infill counted in full: at most x {:.2})",
        printed.section_mm.map(|s| trim_number(s, 1)).join(" x "),
        printed.infill * 100.0,
        printed.share,
        printed.best,
    )
}

/// Says where some loads take most of the strength between them, and what each takes there.
impl Display for Combination {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let at = place(self.at);
        if self.loads.iter().all(|l| l.share.is_none()) {
            return write!(
                f,
                "elasticity of the solid part under all of them at once, most at {at}, by the least strength left for any of them and the greatest factor"
            );
        }
        let share = |taken: &Taken| taken.share.map(|share| format!("{:.0} % for \"{}\"", share * 100.0, taken.load));
        let counted: Vec<String> = self.loads.iter().take(MOST_NAMED).filter(|l| l.counts).filter_map(share).collect();
        let relieving: Vec<&str> = self.loads.iter().filter(|l| !l.counts).map(|l| &*l.load).collect();
        let rest = if self.loads.len() > MOST_NAMED { " and those of the others" } else { "" };
        let left_out = match relieving.is_empty() {
            true => String::new(),
            false => format!(
                "; not counted there, since without it less holds or it is over by then: {}",
                quoted(&relieving)
            ),
        };
        write!(
            f,
            "stresses added place by place; most at {at}, where each by itself takes of the strength left for the one over soonest: {}{rest}{left_out}",
            counted.join(", ")
        )
    }
}

impl Display for Thicker {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Thicker::Beyond { times, place: thick } => {
                let there = trim_number(thick.mm, 1);
                write!(f, "no thickness up to {times} times the {there} mm at {}", place(thick.at))
            }
            Thicker::To { wanted_mm, place: thick } => write!(
                f,
                "{} mm of thickness in place of {} mm at {}, by the law of sections ({})",
                // Rounded up: what is said must hold.
                trim_number((wanted_mm * 10.0).ceil() / 10.0, 1),
                trim_number(thick.mm, 1),
                place(thick.at),
                if thick.bends { "bending" } else { "pulled or pressed through" }
            ),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_combination_names_what_counts_and_what_does_not() {
        let taken = |load: &str, share, counts| Taken { load: load.into(), share: Some(share), counts };
        let all =
            Combination { at: [1.0, 2.0, 3.04], loads: vec![taken("boots", 0.4, true), taken("rope", 0.2, false)] };
        let words = all.to_string();
        assert!(words.contains("most at (1, 2, 3) mm") && words.contains("40 % for \"boots\""), "{words}");
        assert!(words.ends_with("over by then: \"rope\""), "{words}");
    }
}
