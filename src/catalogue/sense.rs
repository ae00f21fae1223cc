//! What a value can be at all, by what it measures and by the key it stands under: a slip of the pen is told where it stands.

use super::decode::example_of;
use crate::diag::{Diagnostic, Span};
use crate::quantity::{
    Acceleration, Conductivity, Dimension, EnergyPrice, Impact, MassPrice, Power, Quantity, TimePrice, Torque,
};

/// The ends of what a value can be, in SI units.
type Ends = (f64, f64);

/// Code of what is found here: the value was read, so that it can be looked at further.
pub(super) const SENSELESS: &str = "catalogue/senseless";

const MM: f64 = 1e-3;
const FREEZING_K: f64 = 273.15;

/// What quantities of a kind can be in a workshop, wherever they stand. Nothing here is a judgement of good and bad: beyond
/// these ends a unit or a sign is wrong.
fn of_kind(dimension: Dimension) -> Ends {
    const KINDS: &[(Dimension, Ends)] = &[
        (Dimension::NONE, (0.0, f64::INFINITY)),
        (Dimension::LENGTH, (0.0, 10.0)),
        (Dimension::MASS, (0.0, 1000.0)),
        (Dimension::TIME, (0.0, f64::INFINITY)),
        (Dimension::TEMPERATURE, (FREEZING_K - 150.0, FREEZING_K + 700.0)),
        (Dimension::TEMPERATURE_DIFFERENCE, (0.0, 1000.0)),
        (Dimension::ANGLE, (0.0, std::f64::consts::FRAC_PI_2)),
        (Dimension::STRESS, (0.0, 1e12)),
        (Dimension::DENSITY, (10.0, 25_000.0)),
        (Dimension::SPEED, (2.0 * MM, 5.0)),
        (Dimension::FLOW, (0.05e-9, 5000e-9)),
        (Dimension::EXPANSION, (-1e-3, 1e-3)),
        (Dimension::IRRADIANCE, (0.0, 2000.0)),
        (Dimension::MONEY, (0.0, f64::INFINITY)),
        (MassPrice::DIMENSION, (0.0, f64::INFINITY)),
        (TimePrice::DIMENSION, (0.0, f64::INFINITY)),
        (EnergyPrice::DIMENSION, (0.0, f64::INFINITY)),
        (Acceleration::DIMENSION, (10.0 * MM, 200.0)),
        (Power::DIMENSION, (1.0, 50_000.0)),
        (Torque::DIMENSION, (0.0, 200.0)),
        (Impact::DIMENSION, (0.0, f64::INFINITY)),
        (Conductivity::DIMENSION, (0.0, 5000.0)),
    ];
    KINDS.iter().find(|(d, _)| *d == dimension).map_or((f64::NEG_INFINITY, f64::INFINITY), |(_, ends)| *ends)
}

/// What stands under these keys can be less, or more, than others of its kind.
fn of_key(key: &str) -> Option<Ends> {
    const DIAMETER: Ends = (-5.0 * MM, 5.0 * MM);
    const WARM: f64 = FREEZING_K + 25.0;
    const MELTS: f64 = FREEZING_K + 100.0;
    // What is hotter than any there is is told by the figure of the hottest.
    const HOTTEST: f64 = f64::INFINITY;
    const KEYS: &[(&str, Ends)] = &[
        // Signed: what comes out small is below nothing.
        ("offset", DIAMETER),
        ("hole_undersize", DIAMETER),
        ("boss_oversize", DIAMETER),
        ("anneal_strain_along", (-0.5, 0.5)),
        ("shrinkage", (-0.2, 0.2)),
        // Printed over modelled length.
        ("scale", (0.5, 2.0)),
        ("absorptance", (0.0, 1.0)),
        ("emittance", (0.0, 1.0)),
        ("spread", (0.0, 5.0 * MM)),
        ("gap", (0.0, 5.0 * MM)),
        ("span", (0.5 * MM, 1.0)),
        ("filament", (1.0 * MM, 5.0 * MM)),
        ("nozzle_limit", (MELTS, HOTTEST)),
        ("bed_limit", (FREEZING_K, HOTTEST)),
        ("chamber", (FREEZING_K, HOTTEST)),
        ("dryer_limit", (WARM, HOTTEST)),
        ("oven_limit", (WARM, HOTTEST)),
        ("spool_limit", (WARM, HOTTEST)),
    ];
    KEYS.iter().find(|(k, _)| *k == key).map(|(_, ends)| *ends)
}

/// Reports a value that cannot be: below nothing, or beyond all there is.
pub(super) fn check(key: &str, at: Span, values: [Option<Quantity>; 3], out: &mut Vec<Diagnostic>) {
    for value in values.into_iter().flatten() {
        let (least, most) = of_key(key).unwrap_or_else(|| of_kind(value.dimension));
        // A hair beside the end is rounding.
        let slack = 1e-9 * value.si.abs();
        if value.si < least - slack || value.si > most + slack {
            out.push(finding(key, at, value, (least, most)));
            return;
        }
    }
}

/// Reports a figure below nothing; its upper end is a matter of judgement.
pub(super) fn check_sign(key: &str, at: Span, values: [Option<Quantity>; 3], out: &mut Vec<Diagnostic>) {
    let below = values.into_iter().flatten().find(|value| !value.dimension.point && value.si < 0.0);
    out.extend(below.map(|value| finding(key, at, value, (0.0, f64::INFINITY))));
}

fn finding(key: &str, at: Span, value: Quantity, (least, most): Ends) -> Diagnostic {
    let end = |si: f64| Quantity::new(si, value.dimension);
    let range = match (least.is_finite(), most.is_finite()) {
        (true, true) => format!("lies between {} and {}", end(least), end(most)),
        (true, false) => format!("is {} at the least", end(least)),
        (false, true) => format!("is {} at the most", end(most)),
        (false, false) => "is a number".to_owned(),
    };
    let message = format!("`{key}` cannot be {value}: it {range}");
    let hint = format!("look at sign and unit; written for example `{key}: {}`", sample(key, value.dimension));
    Diagnostic::error(SENSELESS, at, message).hint(hint)
}

/// A value as it may stand under a key.
fn sample(key: &str, dimension: Dimension) -> &'static str {
    const SAMPLES: &[(&str, &str)] = &[
        ("nozzle_limit", "290 °C"),
        ("filament", "1.75 mm"),
        ("offset", "-0.16 mm"),
        ("scale", "0.998"),
        ("span", "15 mm"),
    ];
    SAMPLES.iter().find(|(k, _)| *k == key).map_or_else(|| example_of(dimension), |(_, written)| written)
}
