//! Loads alone and together, buckling, deflection.

use std::fmt::{self, Display, Formatter};

use super::super::strength::pull;
use super::{mpa, one_of, place, times};
use crate::physics::strength::Mode;
use crate::quantity::{Quantity, significant, trim_number};
use crate::resolve::margin::said::{Combination, Foam, Part, Presses, Printed, Said, Taken, Thicker, Unlimited};
use crate::resolve::strength::{Left, Sums};
use crate::resolve::together::{MOST_NAMED, quoted};

pub(super) fn words(said: &Said, part: Part) -> String {
    match said {
        Said::Load { demand, solid, ratio, typical, printed, coarse, sums, moves, thicker } => one_of(
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
                let working = sums.as_deref().map_or(String::new(), Sums::to_string);
                let moves = moves.map_or(String::new(), |moves| format!("; {moves}"));
                let coarse = coarse.map_or(String::new(), |apart| {
                    format!(
                        "not shown because the sum is coarse here: two grids are {:.0} % apart, and there may be no more cells; by the finest it holds, by all they leave open it does not; ",
                        100.0 * apart
                    )
                });
                format!(
                    "{coarse}{working}; Tsai-Hill in the layers of this way up{solid}{}{thicker}{moves}",
                    skin(printed)
                )
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
        Said::Bearing {
            force,
            area_mm2,
            edge,
            of,
            acts,
            demand,
            solid,
            ratio,
            typical,
            infill,
            share,
            working,
            wider,
        } => one_of(
            part,
            || mpa(*demand),
            || match *share < 1.0 {
                false => mpa(*solid),
                true => format!("{:.2} MPa, {} were it solid", solid.to_mpa() * share, mpa(*solid)),
            },
            || format!("{} ({} with typical strengths)", times(*ratio), times(*typical)),
            || {
                let place = if *acts { "where it acts".to_owned() } else { format!("at {of}") };
                let filled = match *share < 1.0 {
                    true => format!(
                        "; with {:.0} % infill a foam of that filling and what shears through the skin round the patch: x {share:.2}",
                        infill * 100.0
                    ),
                    false => String::new(),
                };
                let wider = wider.map_or(String::new(), |wider| format!("; would hold with {wider}"));
                let [newtons, wide] = [force.to_n(), *area_mm2].map(|n| trim_number(n, 1));
                let pressed = match edge {
                    true => format!(
                        "{newtons} N press on one flat {place}, most at its edge, {} MPa there, by a stiff mate that only pushes: {working}{filled}",
                        significant(force.to_n() / area_mm2)
                    ),
                    false => format!("{newtons} N press on {wide} mm2 {place}, the mean counts: {working}{filled}"),
                };
                format!("{pressed}; right beside it what presses is judged by this alone{wider}")
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
                None => working.to_string(),
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

/// All that a load's margin is worked out from, in one sentence.
impl Display for Sums {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let [along, across, between] = self.stress_mpa;
        let [x, y, s] = self.strength_mpa.map(|ends| significant(ends[0]));
        let off = trim_number(crate::field::Options::default().off_holds_mm, 1);
        let hand = self.by_hand.as_ref().map_or(String::new(), |beam| format!("; by hand: {beam}"));
        let grids = match &self.open {
            Some(open) => format!("{open}; four times what they are apart counts against the part"),
            None => format!("{:.0} % apart on two grids", 100.0 * self.apart),
        };
        write!(
            f,
            "{} governs, at {}, {}: {:.2} MPa of {} along the layers, {:.2} MPa of {} across, {between:.2} MPa between, factor {}; \
             {} bears {x} MPa along{}, {y} MPa across{}, {s} MPa between (low ends), {}, over {:.2} for the grid ({} cells of {} mm, {grids}); \
             held at {}, within {off} mm of which nothing is read off{hand}",
            governing(self.governs, along, across),
            place(self.at),
            if self.beside {
                format!("{}, beside what is pressed on, where its pull alone counts", self.near)
            } else {
                self.near.to_string()
            },
            along.abs(),
            pull(along),
            across.abs(),
            pull(across),
            trim_number(self.factor, 2),
            self.material,
            pressed(along),
            pressed(across),
            self.left.iter().map(left).collect::<Vec<_>>().join(", "),
            self.grids,
            self.cells,
            significant(self.cell_mm),
            held(self),
        )
    }
}

fn governing(governs: Mode, along: f64, across: f64) -> String {
    match governs {
        Mode::Along => format!("{} along the layers", pull(along)),
        Mode::Across => format!("{} across the layers", pull(across)),
        Mode::Shear => "shear between the layers".to_owned(),
    }
}

/// Returns the holds, and how they leave the part free.
fn held(sums: &Sums) -> String {
    let held = sums.held.join(", ");
    match sums.free.as_slice() {
        [] => held,
        free => format!("{held}, free to {}, which the load does not move", free.join(" and to ")),
    }
}

fn pressed(stress: f64) -> &'static str {
    if stress < 0.0 { " pressed" } else { "" }
}

/// Says what something leaves of the strengths.
fn left(l: &Left) -> String {
    match (l.along[0], l.across[0]) {
        (1.0, 1.0) => l.by.to_string(),
        (along, across) if along == across => format!("x {along:.2} {}", l.by),
        (along, across) => format!("x {along:.3} along and x {across:.3} across {}", l.by),
    }
}

impl Display for Unlimited {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let beside = if self.moves > self.usual { "more than the" } else { "within the" };
        let [moves, usual] = [self.moves, self.usual].map(|l| significant(l.to_mm()));
        let lever = trim_number(self.lever.to_mm(), 0);
        if self.moves > self.most {
            let most = significant(self.most.to_mm());
            return write!(
                f,
                "it moves more than {most} mm where it acts: how far is not shown, since small displacements say little beyond a tenth of its length (usual: {usual} mm, for what is {lever} mm from its hold)"
            );
        }
        write!(
            f,
            "it moves {moves} mm where it acts, which nobody limited: {beside} usual {usual} mm, for what is {lever} mm from its hold ({})",
            self.modulus
        )
    }
}

/// Says what of a section that is not solid counts.
fn skin(printed: &Printed) -> String {
    if printed.share >= 1.0 {
        return String::new();
    }
    let section = match printed.section {
        Some((area, outline)) => format!("the section there is {area} within an outline of {outline}"),
        None => "the section there is not known".to_owned(),
    };
    format!(
        "; {section}, of which with {:.0} % infill the skin counts, as if pulled through, and a foam of that filling: x {:.2} \
         (bent, and its infill counted in full: at most x {:.2})",
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
                "elasticity of the solid part under all of them at once, most at {at}, each by its factor, by the least strength left for any of them while others are there"
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

impl Display for Presses {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Presses::Acting => f.write_str("where it acts"),
            Presses::On(hold) => write!(f, "at {hold}"),
        }
    }
}

impl Display for Thicker {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Thicker::Wider { wanted_mm2, there_mm2 } => write!(
                f,
                "{} mm2 to press on in place of {} mm2: a washer, or a wider patch (`across`, `over`)",
                // Rounded up: what is said must hold.
                wanted_mm2.ceil(),
                significant(*there_mm2),
            ),
            Thicker::Longer { times } => write!(
                f,
                "flats {} times as long along what turns between them, or a bush of metal that takes it",
                trim_number((times * 10.0).ceil() / 10.0, 1)
            ),
            Thicker::Beyond { times, place: thick } => {
                let there = trim_number(thick.mm, 1);
                write!(f, "no thickness up to {} times the {there} mm at {}", trim_number(*times, 1), place(thick.at))
            }
            Thicker::To { wanted_mm, place: thick } => write!(
                f,
                "{} mm of thickness in place of {} mm at {}, by the law of sections ({})",
                // Rounded up: what is said must hold.
                trim_number((wanted_mm * 10.0).ceil() / 10.0, 1),
                trim_number(thick.mm, 1),
                place(thick.at),
                if thick.law.bends() { "bending" } else { "pulled or pressed through" }
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
