//! How fast a bead or a layer cools: the lumped model, good for thin beads in moving air.

use super::registry::{Function, Parameter, apply, input};
use super::{Checked, SourceNote, not_negative, positive, sound};
use crate::quantity::{Density, Dimension, Duration, Length, SpecificHeat, SurfaceCoefficient, Temperature};
use std::f64::consts::PI;

const LUMPED: SourceNote =
    SourceNote::new("computed", "lumped cooling, one temperature per bead; contact below left out");

/// Time constant of a bead cooled all round: `τ = ρ cp A/(h P)`, `P = 2(w - h) + π h`.
///
/// Computed (lumped body). The bead below takes heat too, so a real bead on a cold layer cools faster at first.
pub fn bead_cooling_time_constant(
    width: Length,
    height: Length,
    density: Density,
    specific_heat: SpecificHeat,
    coefficient: SurfaceCoefficient,
) -> Checked<Duration> {
    let area = super::bead::bead_area(width, height)?.to_mm2();
    let (w, h) = (width.to_mm(), height.to_mm());
    let perimeter = 2.0 * (w - h) + PI * h;
    time_constant(area / perimeter, density, specific_heat, coefficient)
}

/// Time constant of a whole layer cooled from above: `τ = ρ cp h / h_c`.
///
/// 7.4 s for 0.2 mm PLA at 60 W/m²K; from 210 to 60 °C in 25 °C air takes 12.4 s, in line with the 10 s shop rule.
pub fn layer_cooling_time_constant(
    height: Length,
    density: Density,
    specific_heat: SpecificHeat,
    coefficient: SurfaceCoefficient,
) -> Checked<Duration> {
    time_constant(positive("a layer height", height.to_mm())?, density, specific_heat, coefficient)
}

fn time_constant(depth_mm: f64, rho: Density, cp: SpecificHeat, h: SurfaceCoefficient) -> Checked<Duration> {
    let rho = positive("a density", rho.to_g_per_cm3())? * 1000.0;
    let cp = positive("a specific heat", cp.to_j_per_kg_k())?;
    let h = positive("a surface coefficient", h.to_w_per_m2_k())?;
    sound(Duration::s(rho * cp * depth_mm * 1e-3 / h))
}

/// Temperature after a time: `T = Ta + (T0 - Ta) exp(-t/τ)`.
pub fn temperature_after(start: Temperature, air: Temperature, time: Duration, tau: Duration) -> Checked<Temperature> {
    let t = not_negative("a time", time.to_s())?;
    let tau = positive("a time constant", tau.to_s())?;
    let (t0, ta) = (start.to_kelvin(), air.to_kelvin());
    sound(Temperature::kelvin(ta + (t0 - ta) * (-t / tau).exp()))
}

/// Time to cool to a temperature: `t = τ ln((T0 - Ta)/(T - Ta))`.
///
/// Needs `start >= end > air`; a temperature at or below the air is never reached.
pub fn cooling_time(start: Temperature, end: Temperature, air: Temperature, tau: Duration) -> Checked<Duration> {
    let tau = positive("a time constant", tau.to_s())?;
    let above = positive("an end temperature above the air, a difference", end.to_kelvin() - air.to_kelvin())?;
    let first = super::finite("start temperature", start.to_kelvin() - air.to_kelvin())?;
    if first < above {
        return Err("expected a start temperature no lower than the end temperature".to_owned());
    }
    sound(Duration::s(tau * (first / above).ln()))
}

const WIDTH: Parameter = input("width", Dimension::LENGTH, "bead width");
const HEIGHT: Parameter = input("height", Dimension::LENGTH, "layer height");
const DENSITY: Parameter = input("density", Dimension::DENSITY, "density");
const HEAT: Parameter = input("specific_heat", Dimension::SPECIFIC_HEAT, "specific heat");
const COEFFICIENT: Parameter = input(
    "surface_coefficient",
    Dimension::SURFACE_COEFFICIENT,
    "about 60 W/m2/K with a fan, 20 without (from memory)",
);
const START: Parameter = input("start", Dimension::TEMPERATURE, "temperature at the start");
const AIR: Parameter = input("air", Dimension::TEMPERATURE, "temperature of the air around");
const TAU: Parameter = input("time_constant", Dimension::TIME, "cooling time constant");

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        name: "bead_cooling_time_constant",
        inputs: &[WIDTH, HEIGHT, DENSITY, HEAT, COEFFICIENT],
        output: Dimension::TIME,
        formula: "tau = rho cp A/(h P), P = 2(w - h) + pi h",
        source: LUMPED,
        help: "cooling time constant of a single bead in air",
        example: &["0.45 mm", "0.2 mm", "1.24 g/cm3", "1800 J/kg/K", "60 W/m2/K"],
        evaluate: apply!(bead_cooling_time_constant; 0 1 2 3 4),
    },
    Function {
        name: "layer_cooling_time_constant",
        inputs: &[HEIGHT, DENSITY, HEAT, COEFFICIENT],
        output: Dimension::TIME,
        formula: "tau = rho cp h / h_c",
        source: LUMPED,
        help: "cooling time constant of a layer cooled from above",
        example: &["0.2 mm", "1.24 g/cm3", "1800 J/kg/K", "60 W/m2/K"],
        evaluate: apply!(layer_cooling_time_constant; 0 1 2 3),
    },
    Function {
        name: "temperature_after",
        inputs: &[START, AIR, input("time", Dimension::TIME, "time since the start"), TAU],
        output: Dimension::TEMPERATURE,
        formula: "T = Ta + (T0 - Ta) exp(-t/tau)",
        source: LUMPED,
        help: "temperature of a cooling bead after a time",
        example: &["210 °C", "25 °C", "2 s", "2.68 s"],
        evaluate: apply!(temperature_after; 0 1 2 3),
    },
    Function {
        name: "cooling_time",
        inputs: &[START, input("end", Dimension::TEMPERATURE, "temperature to reach, above the air"), AIR, TAU],
        output: Dimension::TIME,
        formula: "t = tau ln((T0 - Ta)/(T - Ta))",
        source: LUMPED,
        help: "time a bead or layer takes to cool to a temperature",
        example: &["210 °C", "60 °C", "25 °C", "7.4 s"],
        evaluate: apply!(cooling_time; 0 1 2 3),
    },
];
