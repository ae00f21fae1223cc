//! What time and cycles leave of a short-term strength: working bands, own reading of papers or from memory, bracketed
//! by published points.

use super::registry::{Function, apply, input, number};
use super::{Band, Checked, SourceNote, interpolate, not_negative, positive, within};
use crate::quantity::{Dimension, Duration, Stress, Temperature};

const SUSTAINED: SourceNote = SourceNote::new(
    "from-memory",
    "working band: 0.55 (0.34 to 0.7) three days, own reading of papers named in the catalogue; 0.2 (0.15 to 0.3) years, from memory; BSI CP 312 safe long-term stresses give 0.15 to 0.19; straight over log time, so that decades of time lose alike where nobody measured otherwise",
);
const FATIGUE: SourceNote = SourceNote::new(
    "from-memory",
    "working band at a million cycles: 0.11 (0.06 to 0.27) along beads, own reading of papers named in the catalogue; 0.05 (0.03 to 0.11) across layers, from memory; straight over log N from 1 at one cycle, as printed PLA and ABS pulled at half their strength for some thousands of cycles (from memory)",
);

/// Share of the short-term strength that may be held for `duration` at room temperature, with its band.
///
/// 1 up to a minute (the length of a tensile test), 0.55 (0.34 to 0.7) after three days (the catalogue's
/// `sustained_days` names the papers), 0.2 (0.15 to 0.3) from a year on (from memory); straight lines over log time
/// between. Good to about 25 years. Published points near it: PP keeps 0.41 of its stress after a week (Crawford p. 55)
/// and 0.22 of its modulus after a year (Crawford p. 56).
pub fn sustained_band(duration: Duration) -> Checked<Band> {
    Retention::USUAL.held(duration)
}

/// The shares of a short-term strength that the bands run through. Those of the catalogue (`sustained_days`,
/// `sustained_years`, `fatigue_along`, `fatigue_across`) count in margins, so that a workshop may have its own.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Retention {
    /// From an hour on, where prints of a polymer were measured to lose so much so soon; else what lies straight between a minute
    /// and three days over log time.
    pub hour: Option<Band>,
    /// After three days.
    pub days: Band,
    /// From a year on.
    pub years: Band,
    /// After a million cycles along the beads and across the layers.
    pub along: Band,
    /// After a million cycles across the layers.
    pub across: Band,
    /// After a million cycles where the material is pressed.
    pub pressed: Band,
}

impl Retention {
    /// The working bands of the catalogue.
    pub const USUAL: Self = Self {
        hour: None,
        days: Band { low: 0.34, typical: 0.55, high: 0.7 },
        years: Band { low: 0.15, typical: 0.2, high: 0.3 },
        along: Band { low: 0.06, typical: 0.11, high: 0.27 },
        across: Band { low: 0.03, typical: 0.05, high: 0.11 },
        pressed: Band { low: 0.35, typical: 0.5, high: 0.7 },
    };

    /// As [`sustained_band`], through these shares.
    pub fn held(&self, duration: Duration) -> Checked<Band> {
        held(duration, self)
    }

    /// As [`fatigue_band`], through these shares.
    pub fn cycled(&self, cycles: f64, across: f64) -> Checked<Band> {
        let share = within("a share across the layers", across, 0.0, 1.0)?;
        let (along, cross) = (&self.along, &self.across);
        let between = |a: f64, b: f64| a + (b - a) * share;
        let million = Band {
            low: between(along.low, cross.low),
            typical: between(along.typical, cross.typical),
            high: between(along.high, cross.high),
        };
        after(cycles, &million)
    }

    /// The same where the material is pressed: no crack opens there.
    pub fn cycled_pressed(&self, cycles: f64) -> Checked<Band> {
        after(cycles, &self.pressed)
    }
}

/// The line through the share left by a million cycles, see [`fatigue_band`].
fn after(cycles: f64, million: &Band) -> Checked<Band> {
    let n = within("a number of cycles", cycles, 1.0, 1e8)?;
    let at = |f6: f64| -> Checked<f64> {
        let f6 = positive("a share left by a million cycles", f6)?;
        let decades = n.log10() / 6.0;
        // Beyond a million cycles few tested: the line goes on by the power law, which never comes to nothing.
        Ok(if decades <= 1.0 { 1.0 + (f6 - 1.0) * decades } else { f6.powf(decades) })
    };
    Ok(Band { low: at(million.low)?, typical: at(million.typical)?, high: at(million.high)? })
}

fn held(duration: Duration, kept: &Retention) -> Checked<Band> {
    const MINUTE: f64 = 60.0;
    const HOUR: f64 = 3_600.0;
    const DAYS: f64 = 3.0 * 86_400.0;
    const YEAR: f64 = 365.25 * 86_400.0;
    let seconds = not_negative("a duration", duration.to_s())?;
    if seconds > 100.0 * YEAR {
        return Err("no working value for loads held longer than 100 years".to_owned());
    }
    let at = |of: fn(&Band) -> f64| {
        let hour = kept.hour.as_ref().map(|hour| (HOUR.log10(), of(hour)));
        let later = [(DAYS.log10(), of(&kept.days)), (YEAR.log10(), of(&kept.years))];
        let points: Vec<(f64, f64)> = [(MINUTE.log10(), 1.0)].into_iter().chain(hour).chain(later).collect();
        interpolate(&points, seconds.max(1.0).log10())
    };
    Ok(Band { low: at(|b| b.low), typical: at(|b| b.typical), high: at(|b| b.high) })
}

/// Returns the typical value of [`sustained_band`].
pub fn sustained_factor(duration: Duration) -> Checked<f64> {
    sustained_band(duration).map(|b| b.typical)
}

/// Returns the low end of [`sustained_band`], for parts whose failure can hurt.
pub fn sustained_factor_low(duration: Duration) -> Checked<f64> {
    sustained_band(duration).map(|b| b.low)
}

/// Share that may be held at a temperature: as [`sustained_factor`], but nothing within 20 K below the limit.
///
/// The limit is the glass transition of an amorphous plastic. From memory ("do not load", 0 to 0.1). A momentary load of
/// a minute or less is not sustained and keeps its factor; the hot-strength factor covers it.
pub fn sustained_factor_at(duration: Duration, temperature: Temperature, limit: Temperature) -> Checked<f64> {
    let base = sustained_factor(duration)?;
    Ok(if bears_nothing(duration, temperature, limit)? { 0.0 } else { base })
}

/// This near to its limit, in kelvins, a polymer holds nothing for longer than a minute (from memory: creep).
pub const NEAR_LIMIT_K: f64 = 20.0;

/// Returns whether a load is held for more than a minute within [`NEAR_LIMIT_K`] of the limit; see [`sustained_factor_at`].
pub(super) fn bears_nothing(duration: Duration, temperature: Temperature, limit: Temperature) -> Checked<bool> {
    let below = super::finite("distance to the limit", limit.to_kelvin() - temperature.to_kelvin())?;
    Ok(below < NEAR_LIMIT_K && duration.to_s() > 60.0)
}

/// Share of the static strength that may be cycled: straight over log N from 1 at one cycle to f6 at 1e6, beyond it `f6^(log10 N / 6)`.
///
/// `across` is the share of the load that crosses the layers, 0 to 1 (f6 = 0.11 along, 0.05 across). Good to
/// 1e8 cycles; it keeps falling past 1e6 since not every plastic has an endurance limit.
///
/// Why straight: pulled prints of PLA and ABS broke after about 200 cycles at 0.8, some thousands at half their strength
/// (from memory), where a power law through 1 at one cycle leaves 0.27. Low end times the low end of a strength (0.74 of the
/// typical) stays beside the design curve of EZEH19, `0.1 (2e6 / N)^(1/5.5)`, which 90 % of printed PLA survived: 0.43 for 0.45
/// at 500 cycles, 0.34 for 0.33 at 3000, 0.24 for 0.23 at 20,000, and below it from there on (computed).
pub fn fatigue_band(cycles: f64, across: f64) -> Checked<Band> {
    Retention::USUAL.cycled(cycles, across)
}

/// Returns the typical value of [`fatigue_band`].
pub fn fatigue_factor(cycles: f64, across: f64) -> Checked<f64> {
    fatigue_band(cycles, across).map(|b| b.typical)
}

/// Share of its capacity a part uses under a steady and an alternating stress together: `Kf sa / sf + sm / sc`.
///
/// Source: Crawford, *Plastics Engineering*, 3rd ed., p. 144, Ex. 2.21: times the safety factor this must not pass 1.
/// `sa` is the amplitude; `sf` the fatigue limit, `sc` the creep rupture stress for the life wanted.
pub fn combined_utilisation(
    alternating: Stress,
    mean: Stress,
    fatigue_limit: Stress,
    creep_rupture: Stress,
    notch_factor: f64,
) -> Checked<f64> {
    let sa = not_negative("an alternating stress", alternating.to_mpa())?;
    let sm = not_negative("a mean stress", mean.to_mpa())?;
    let sf = positive("a fatigue limit", fatigue_limit.to_mpa())?;
    let sc = positive("a creep rupture stress", creep_rupture.to_mpa())?;
    let kf = within("a notch factor", notch_factor, 1.0, 100.0)?;
    super::sound(kf * sa / sf + sm / sc)
}

/// Modulus that remains after holding a strain for a time: the short-term modulus times [`sustained_factor`].
///
/// From memory; within the band of the published PP points named there.
pub fn relaxed_modulus(modulus: Stress, duration: Duration) -> Checked<Stress> {
    let e = positive("a modulus", modulus.to_mpa())?;
    super::sound(Stress::mpa(e * sustained_factor(duration)?))
}

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        name: "sustained_factor",
        inputs: &[input("duration", Dimension::TIME, "how long the load is held")],
        output: Dimension::NONE,
        formula: "1 to a minute, 0.55 at 3 days, 0.2 from a year; linear in log time between",
        source: SUSTAINED,
        help: "share of the short-term strength that may be held that long at room temperature",
        example: &["6 months"],
        evaluate: apply!(sustained_factor; 0),
    },
    Function {
        name: "sustained_factor_low",
        inputs: &[input("duration", Dimension::TIME, "how long the load is held")],
        output: Dimension::NONE,
        formula: "1 to a minute, 0.34 at 3 days, 0.15 from a year; linear in log time between",
        source: SUSTAINED,
        help: "low end of the band of sustained_factor",
        example: &["6 months"],
        evaluate: apply!(sustained_factor_low; 0),
    },
    Function {
        name: "sustained_factor_at",
        inputs: &[
            input("duration", Dimension::TIME, "how long the load is held"),
            input("temperature", Dimension::TEMPERATURE, "temperature of the part"),
            input("reference_limit", Dimension::TEMPERATURE, "glass transition (amorphous)"),
        ],
        output: Dimension::NONE,
        formula: "0 within 20 K below the limit for loads over a minute, else sustained_factor(duration)",
        source: SUSTAINED,
        help: "share of the short-term strength that may be held that long at that temperature",
        example: &["6 months", "40 °C", "105 °C"],
        evaluate: apply!(sustained_factor_at; 0 1 2),
    },
    Function {
        name: "fatigue_factor",
        inputs: &[
            number("cycles", "number of load cycles, 1 to 1e8"),
            number("across", "share of the load across the layers, 0 (along) to 1 (across)"),
        ],
        output: Dimension::NONE,
        formula: "1 - (1 - f6) log10(N)/6 to a million, f6^(log10(N)/6) beyond; f6 = 0.11 along, 0.05 across",
        source: FATIGUE,
        help: "share of the static strength that may be cycled that often",
        example: &["1e6", "1"],
        evaluate: apply!(fatigue_factor; 0 1),
    },
    Function {
        name: "fatigue_factor_low",
        inputs: &[
            number("cycles", "number of load cycles, 1 to 1e8"),
            number("across", "share of the load across the layers, 0 (along) to 1 (across)"),
        ],
        output: Dimension::NONE,
        formula: "1 - (1 - f6) log10(N)/6 to a million, f6^(log10(N)/6) beyond; f6 = 0.06 along, 0.03 across",
        source: FATIGUE,
        help: "low end of the band of fatigue_factor",
        example: &["1e6", "1"],
        evaluate: apply!(|n, a| fatigue_band(n, a).map(|b| b.low); 0 1),
    },
    Function {
        name: "combined_utilisation",
        inputs: &[
            input("alternating", Dimension::STRESS, "amplitude of the alternating stress"),
            input("mean", Dimension::STRESS, "steady stress"),
            input("fatigue_limit", Dimension::STRESS, "fatigue limit for the life wanted"),
            input("creep_rupture", Dimension::STRESS, "creep rupture stress for the life wanted"),
            number("notch_factor", "fatigue notch factor, 1 or more"),
        ],
        output: Dimension::NONE,
        formula: "Kf sa / sf + sm / sc",
        source: SourceNote::new("handbook", "R. J. Crawford, Plastics Engineering, 3rd ed. 1998, Ex. 2.21, p. 144"),
        help: "share of capacity used by a steady and an alternating stress together; 1 is failure",
        example: &["3.13 MPa", "1.56 MPa", "13 MPa", "40 MPa", "1.5"],
        evaluate: apply!(combined_utilisation; 0 1 2 3 4),
    },
    Function {
        name: "relaxed_modulus",
        inputs: &[
            input("modulus", Dimension::STRESS, "short-term modulus"),
            input("duration", Dimension::TIME, "how long the strain is held"),
        ],
        output: Dimension::STRESS,
        formula: "E(t) = E0 x sustained_factor(t)",
        source: SUSTAINED,
        help: "modulus left after holding a strain that long",
        example: &["2 GPa", "1 year"],
        evaluate: apply!(relaxed_modulus; 0 1),
    },
];
