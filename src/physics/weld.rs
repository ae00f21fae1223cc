//! How well one layer welds to the next.

use super::registry::{Function, apply, input};
use super::{Checked, SourceNote, not_negative, positive};
use crate::quantity::{Dimension, Duration, Temperature};

const HEALING: SourceNote = SourceNote::new(
    "from-memory",
    "fourth-root healing law; equivalent isothermal weld time after Seppala et al. (NIST) 2017",
);

/// Strength of a weld against a fully healed one: `(t/t_heal)^(1/4)`, never above 1.
///
/// `t` is the time spent hot enough, as an equivalent time at one reference temperature (Seppala et al. 2017); the
/// fourth-root law of chains crossing an interface is recalled. Needs a healing time measured for that polymer.
pub fn weld_ratio(time: Duration, healing_time: Duration) -> Checked<f64> {
    let t = not_negative("a weld time", time.to_s())?;
    let heal = positive("a healing time", healing_time.to_s())?;
    Ok((t / heal).powf(0.25).min(1.0))
}

/// Time a bead stays above a temperature such as its glass transition while cooling: [`super::cooling::cooling_time`],
/// 0 if it starts colder.
///
/// `Err` when the air is at or above that temperature: the bead then never cools below it.
pub fn time_above(start: Temperature, level: Temperature, air: Temperature, tau: Duration) -> Checked<Duration> {
    if start.to_kelvin() <= level.to_kelvin() {
        return Ok(Duration::s(0.0));
    }
    super::cooling::cooling_time(start, level, air, tau)
}

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        name: "weld_ratio",
        inputs: &[
            input("time", Dimension::TIME, "equivalent time hot enough to weld"),
            input("healing_time", Dimension::TIME, "time for a full weld at that temperature"),
        ],
        output: Dimension::NONE,
        formula: "min(1, (t/t_heal)^(1/4))",
        source: HEALING,
        help: "strength of a weld between layers against a fully healed one",
        example: &["0.5 s", "5 s"],
        evaluate: apply!(weld_ratio; 0 1),
    },
    Function {
        name: "time_above",
        inputs: &[
            input("start", Dimension::TEMPERATURE, "temperature of the fresh bead"),
            input("level", Dimension::TEMPERATURE, "temperature of interest, e.g. the glass transition"),
            input("air", Dimension::TEMPERATURE, "temperature of the air around"),
            input("time_constant", Dimension::TIME, "cooling time constant"),
        ],
        output: Dimension::TIME,
        formula: "t = tau ln((T0 - Ta)/(T - Ta)); 0 if T0 is below T",
        source: SourceNote::new("computed", "lumped cooling"),
        help: "time a bead stays above a temperature while it cools",
        example: &["240 °C", "105 °C", "40 °C", "2.7 s"],
        evaluate: apply!(time_above; 0 1 2 3),
    },
];
