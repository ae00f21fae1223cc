//! The page of `explain SPEC load "NAME"`: the hand sum beside the field's answer, and every factor of what is borne.

use std::fmt::Write;

use super::pages::{margin, push_text};
use crate::geometry::vector::{Vector, norm, sub};
use crate::quantity::{significant, trim_number};
use crate::recipe::{InLayers, LoadSums, LowTypical, Margin, Recipe};
use crate::resolve::elastic::NotKnown;
use crate::resolve::strength::hand::{Acting, Hand, OnSection};

/// What is explained of a load.
pub(crate) struct LoadPage<'a> {
    pub recipe: &'a Recipe,
    /// `load "gust"`.
    pub load: &'a str,
    /// Of what choice: `ASA on Loft, -z down`; and whether it is only the nearest to what was asked.
    pub choice: &'a str,
    pub refused: bool,
    pub margins: &'a [Margin],
    pub hand: &'a Result<Hand, NotKnown>,
}

/// Returns the page.
pub(crate) fn text(page: &LoadPage<'_>) -> String {
    let mut out = String::new();
    let near = if page.refused { ", the nearest there is to what was asked" } else { "" };
    push_text(&mut out, &format!("{}, for {}{near}", page.load, page.choice), "");
    match page.hand {
        Ok(hand) => hand_sum(&mut out, hand),
        Err(why) => {
            out.push('\n');
            push_text(&mut out, &format!("By hand: nothing to set beside it, since {why}"), "");
        }
    }
    if let Some(sums) = page.margins.iter().find_map(|m| m.sums.as_deref()) {
        borne(&mut out, sums);
    }
    for m in page.margins {
        out.push('\n');
        out.push_str(&margin(page.recipe, m));
    }
    out
}

/// Writing into a text cannot fail.
fn row(out: &mut String, name: &str, words: &str) {
    let _ = writeln!(out, "  {name:<12}{words}");
}

fn hand_sum(out: &mut String, hand: &Hand) {
    out.push_str("\nBy hand, in N and mm\n");
    let most = Most::of(hand);
    for load in &hand.loads {
        row(out, "acts", &acting(load));
    }
    for hold in &hand.holds {
        row(out, "held", &format!("{}, its middle at ({})", hold.hold, vector(hold.acting.at)));
    }
    if let [hold] = hand.holds.as_slice() {
        let about = hold.acting.at;
        let (force, moment) = (hand.total(), hand.moment_about(about));
        row(
            out,
            "statics",
            &format!(
                "the hold must bear ({}) N and ({}) N mm about its middle",
                most.force(force),
                most.moment(moment)
            ),
        );
        if norm(force) > 0.0 && norm(moment) > NOTHING * most.newton_mm {
            let lever = format!("{} N x {} mm", significant(norm(force)), significant(norm(moment) / norm(force)));
            row(out, "lever", &format!("{} N mm = {lever}", significant(norm(moment))));
        }
    }
    for hold in &hand.holds {
        let does = format!("({}) N and ({}) N mm", most.force(hold.acting.newtons), most.moment(hold.acting.newton_mm));
        let mean = norm(hold.acting.newtons) / hold.area_mm2.max(f64::MIN_POSITIVE);
        let over =
            format!("{} MPa in the mean over the {} mm2 it holds", significant(mean), significant(hold.area_mm2));
        row(out, "field", &format!("{} does {does} to the part, {over}", hold.hold));
    }
    row(
        out,
        "left over",
        &format!("{} % of the load, between what acts and what holds", trim_number(100.0 * hand.left_over(), 2)),
    );
    let pull = |mpa: f64| if mpa < 0.0 { "compression" } else { "tension" };
    match &hand.section {
        Err(why) => row(out, "section", &why.to_string()),
        Ok(s) => on_section(out, s, &most),
    }
    let sudden =
        if hand.sudden > 1.0 { format!("; x {} since it comes on suddenly", hand.sudden) } else { String::new() };
    row(
        out,
        "field there",
        &format!(
            "{} MPa of {} at ({}), along ({}){sudden}",
            significant(hand.field_mpa.abs()),
            pull(hand.field_mpa),
            vector(hand.at),
            vector(hand.toward)
        ),
    );
    if let Ok(s) = &hand.section
        && s.beam_mpa() > 0.0
    {
        let times = hand.field_mpa.abs() / s.beam_mpa();
        row(
            out,
            "ratio",
            &format!(
                "{} times the beam's stress: a beam sees no corner, no hole and no spreading from where the load acts",
                significant(times)
            ),
        );
    }
}

fn on_section(out: &mut String, s: &OnSection, most: &Most) {
    let [i, j] = s.inertia_mm4.map(significant);
    let [c, d] = s.reach_mm.map(significant);
    row(
        out,
        "section",
        &format!("through ({}), square to ({}): {} mm2", vector(s.centre), vector(s.normal), significant(s.area_mm2)),
    );
    row(out, "", &format!("second moments {i} and {j} mm4, farthest fibres at {c} and {d} mm"));
    if s.shared {
        row(
            out,
            "",
            "the same plane cuts the part elsewhere too: other limbs share what passes, and the sum below is too large",
        );
    }
    row(
        out,
        "passes",
        &format!(
            "{} N along, {} N across, {} N mm bending, {} N mm twisting",
            beside(s.newtons[0], most.newtons),
            beside(s.newtons[1], most.newtons),
            beside(s.newton_mm[0], most.newton_mm),
            beside(s.newton_mm[1], most.newton_mm)
        ),
    );
    row(
        out,
        "beam",
        &format!(
            "N/A {} + M c/I {} = {} MPa; 1.5 V/A {} MPa",
            beside(s.direct_mpa, s.beam_mpa()),
            beside(s.bending_mpa, s.beam_mpa()),
            significant(s.beam_mpa()),
            beside(s.shear_mpa, s.beam_mpa())
        ),
    );
}

fn borne(out: &mut String, s: &LoadSums) {
    let _ = writeln!(out, "\nWhat is borne, in MPa (low ends count; typical in brackets)");
    let three = |v: &InLayers<f64>| {
        let [along, across, between] = small([v.along, v.across, v.between]);
        format!("along {along}, across {across}, between {between}")
    };
    row(out, "place", &format!("({}) mm, {}", vector(s.at_mm), s.near));
    let doubled = if s.sudden > 1.0 { format!(" (x {} for coming on suddenly)", s.sudden) } else { String::new() };
    row(out, "stress", &format!("{}{doubled}; x {} the factor", three(&s.stress_mpa), s.factor));
    let x = &s.strength_mpa;
    row(out, "strength", &format!("along {}, across {}, between {}", ends(x.along), ends(x.across), ends(x.between)));
    for left in &s.left {
        let same = left.along == left.across;
        let shares = match same {
            true => format!("x {}", ends(left.along)),
            false => format!("x {} along, x {} across and between", ends(left.along), ends(left.across)),
        };
        row(out, left.by, &format!("{shares} {}", left.what));
    }
    let ([along, across, between], borne) = s.worked();
    let used = |u: f64| format!("{:.0} %", 100.0 * u);
    row(out, "used", &format!("along {}, across {}, between {}: Tsai-Hill", used(along), used(across), used(between)));
    let settled = if s.grid.settled { "" } else { ", not settled" };
    row(
        out,
        "grid",
        &format!(
            "over {}: {} cells of {} mm, {:.0} % from cells twice as wide{settled}",
            trim_number(s.grids, 2),
            s.grid.cells,
            significant(s.grid.cell_mm),
            100.0 * s.grid.apart
        ),
    );
    if s.skin < 1.0 {
        row(
            out,
            "skin",
            &format!("x {} of a solid section, at best {}", significant(s.skin), significant(s.skin_at_best)),
        );
    }
    row(out, "in all", &format!("the load could be {} times as large", significant(borne)));
}

fn ends(e: LowTypical) -> String {
    match e.low == e.typical {
        true => significant(e.low),
        false => format!("{} ({})", significant(e.low), significant(e.typical)),
    }
}

fn acting(a: &Acting) -> String {
    let mut words = Vec::new();
    if norm(a.newtons) > 0.0 {
        words.push(format!("({}) N", vector(a.newtons)));
    }
    if norm(a.newton_mm) > 0.0 {
        words.push(format!("a couple of ({}) N mm", vector(a.newton_mm)));
    }
    format!("{}, its middle at ({})", words.join(" and "), vector(a.at))
}

/// What is so much smaller than the largest of its kind is the rounding of the solver.
const NOTHING: f64 = 1e-3;

/// The greatest force and the greatest moment there may be between what acts and what holds.
struct Most {
    newtons: f64,
    newton_mm: f64,
}

impl Most {
    /// A force is as much as it turns by the part's span, and a couple as it pulls at its ends.
    fn of(hand: &Hand) -> Self {
        let all = || hand.loads.iter().chain(hand.holds.iter().map(|h| &h.acting));
        let most = |of: &dyn Fn(&Acting) -> f64| all().map(of).fold(0.0, f64::max);
        let (force, couple) = (most(&|a| norm(a.newtons)), most(&|a| norm(a.newton_mm)));
        let span = all().flat_map(|a| all().map(|b| norm(sub(a.at, b.at)))).fold(0.0, f64::max);
        let pulls = if span > 0.0 { couple / span } else { 0.0 };
        Self { newtons: force.max(pulls), newton_mm: couple.max(force * span) }
    }

    fn force(&self, v: Vector) -> String {
        among(v, self.newtons).join(", ")
    }

    fn moment(&self, v: Vector) -> String {
        among(v, self.newton_mm).join(", ")
    }
}

fn vector(v: Vector) -> String {
    small(v).join(", ")
}

/// Returns three numbers that belong together.
fn small(v: Vector) -> [String; 3] {
    among(v, 0.0)
}

/// Returns three numbers that belong together, among others of their kind of which this is the greatest.
fn among(v: Vector, greatest: f64) -> [String; 3] {
    let largest = v.iter().map(|c| c.abs()).fold(greatest, f64::max);
    v.map(|c| if c.abs() <= NOTHING * largest { "0".to_owned() } else { signed(c) })
}

/// Returns a number that stands beside another.
fn beside(one: f64, other: f64) -> String {
    if one <= NOTHING * other { "0".to_owned() } else { significant(one) }
}

fn signed(x: f64) -> String {
    let sign = if x < 0.0 { "-" } else { "" };
    format!("{sign}{}", significant(x.abs()))
}
