//! The bead: cross-section, melt flow, speed, feed of filament, and the heat it takes.

use super::registry::{Function, Parameter, apply, input};
use super::{Checked, SourceNote, positive, sound};
use crate::quantity::{
    Area, Density, Diffusivity, Dimension, Duration, Flow, Length, Mass, Power, SpecificHeat, Speed,
    TemperatureDifference,
};
use std::f64::consts::PI;

const STADIUM: SourceNote = SourceNote::new(
    "computed",
    "bead as a rectangle with half-round ends; real strands run from near round to flat with rounded edges (Comminal et al. 2018)",
);

/// Cross-section of a bead as a rectangle with half-round ends: `A = (w - h) h + π h²/4`.
///
/// Needs `h <= w`; the plain rectangle `w h` over-reads by 5 to 13 % for usual beads. Strands vary: Comminal et al. 2018.
pub fn bead_area(width: Length, height: Length) -> Checked<Area> {
    let w = positive("a bead width", width.to_mm())?;
    let h = positive("a layer height", height.to_mm())?;
    if h > w {
        return Err(
            "expected a layer height no larger than the bead width; a bead cannot be taller than wide".to_owned()
        );
    }
    sound(Area::mm2((w - h) * h + PI * h * h / 4.0))
}

/// Melt flow of a bead laid at a speed: `Q = A v`.
pub fn melt_flow(width: Length, height: Length, speed: Speed) -> Checked<Flow> {
    let v = positive("a speed", speed.to_mm_per_s())?;
    sound(Flow::mm3_per_s(bead_area(width, height)?.to_mm2() * v))
}

/// Speed at which a bead uses up a flow: `v = Q / A`.
pub fn speed_at_flow(flow: Flow, width: Length, height: Length) -> Checked<Speed> {
    let q = positive("a flow", flow.to_mm3_per_s())?;
    sound(Speed::mm_per_s(q / bead_area(width, height)?.to_mm2()))
}

/// Speed at which filament enters to give a flow: `Q / (π d²/4)`.
pub fn filament_feed(flow: Flow, diameter: Length) -> Checked<Speed> {
    let q = positive("a flow", flow.to_mm3_per_s())?;
    let d = positive("a filament diameter", diameter.to_mm())?;
    sound(Speed::mm_per_s(q / (PI * d * d / 4.0)))
}

/// Length of filament that weighs so much: `m / (ρ π d²/4)`.
pub fn filament_length(mass: Mass, density: Density, diameter: Length) -> Checked<Length> {
    let m = positive("a mass", mass.to_g())?;
    let rho = positive("a density", density.to_g_per_cm3())?;
    let d = positive("a filament diameter", diameter.to_mm())?;
    sound(Length::mm(m / rho * 1000.0 / (PI * d * d / 4.0)))
}

/// Power that brings a flow to melt: `P = ρ Q cp ΔT` (heat of fusion left out; add it as `ρ Q ΔHm` for crystalline ones).
///
/// Source: heat balance (computed). The heater is seldom the limit: conduction to the core is (Go et al. 2017).
pub fn melt_power(density: Density, flow: Flow, cp: SpecificHeat, rise: TemperatureDifference) -> Checked<Power> {
    let rho = positive("a density", density.to_g_per_cm3())?;
    let q = positive("a flow", flow.to_mm3_per_s())?;
    let cp = positive("a specific heat", cp.to_j_per_kg_k())?;
    let dt = positive("a temperature rise", rise.to_k())?;
    // g/cm3 * mm3/s = mg/s = 1e-6 kg/s
    sound(Power::w(rho * q * 1e-6 * cp * dt))
}

/// Time for heat to reach the core of the filament, `R²/α`: about 13 s for 1.75 mm PLA.
///
/// Source: Go et al., Addit. Manuf. 16 (2017): conduction to the core sets the flow limit. A scale, not a prediction.
pub fn filament_heating_time(diameter: Length, diffusivity: Diffusivity) -> Checked<Duration> {
    let d = positive("a filament diameter", diameter.to_mm())?;
    let a = positive("a thermal diffusivity", diffusivity.to_mm2_per_s())?;
    sound(Duration::s(d * d / 4.0 / a))
}

/// Time one layer takes at a melt flow: `area x height / flow` (solid; travel and slowing not counted).
pub fn layer_time(area: Area, height: Length, flow: Flow) -> Checked<Duration> {
    let a = positive("a layer area", area.to_mm2())?;
    let h = positive("a layer height", height.to_mm())?;
    let q = positive("a flow", flow.to_mm3_per_s())?;
    sound(Duration::s(a * h / q))
}

/// Flow at which a layer just takes a wanted time, e.g. the least time it needs to set.
pub fn flow_for_layer_time(area: Area, height: Length, time: Duration) -> Checked<Flow> {
    let a = positive("a layer area", area.to_mm2())?;
    let h = positive("a layer height", height.to_mm())?;
    let t = positive("a layer time", time.to_s())?;
    sound(Flow::mm3_per_s(a * h / t))
}

const WIDTH: Parameter = input("width", Dimension::LENGTH, "bead width");
const HEIGHT: Parameter = input("height", Dimension::LENGTH, "layer height, at most the width");
const FLOW: Parameter = input("flow", Dimension::FLOW, "melt flow");
const DIAMETER: Parameter = input("diameter", Dimension::LENGTH, "filament diameter");
const AREA: Parameter = input("area", Dimension::AREA, "filled area of the layer");
const GEOMETRY: SourceNote = SourceNote::new("computed", "volume balance");

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        name: "bead_area",
        inputs: &[WIDTH, HEIGHT],
        output: Dimension::AREA,
        formula: "A = (w - h) h + pi h^2/4",
        source: STADIUM,
        help: "cross-section of a bead",
        example: &["0.45 mm", "0.2 mm"],
        evaluate: apply!(bead_area; 0 1),
    },
    Function {
        name: "melt_flow",
        inputs: &[WIDTH, HEIGHT, input("speed", Dimension::SPEED, "speed the bead is laid at")],
        output: Dimension::FLOW,
        formula: "Q = ((w - h) h + pi h^2/4) v",
        source: STADIUM,
        help: "melt a bead needs at a speed",
        example: &["0.45 mm", "0.2 mm", "60 mm/s"],
        evaluate: apply!(melt_flow; 0 1 2),
    },
    Function {
        name: "speed_at_flow",
        inputs: &[FLOW, WIDTH, HEIGHT],
        output: Dimension::SPEED,
        formula: "v = Q / ((w - h) h + pi h^2/4)",
        source: STADIUM,
        help: "speed at which a bead uses up a flow",
        example: &["11.5 mm3/s", "0.45 mm", "0.2 mm"],
        evaluate: apply!(speed_at_flow; 0 1 2),
    },
    Function {
        name: "filament_feed",
        inputs: &[FLOW, DIAMETER],
        output: Dimension::SPEED,
        formula: "Q / (pi d^2/4)",
        source: GEOMETRY,
        help: "speed at which filament must enter",
        example: &["4.885 mm3/s", "1.75 mm"],
        evaluate: apply!(filament_feed; 0 1),
    },
    Function {
        name: "filament_length",
        inputs: &[
            input("mass", Dimension::MASS, "mass of filament"),
            input("density", Dimension::DENSITY, "density"),
            DIAMETER,
        ],
        output: Dimension::LENGTH,
        formula: "m / (rho pi d^2/4)",
        source: GEOMETRY,
        help: "length of filament that weighs so much",
        example: &["1 kg", "1.24 g/cm3", "1.75 mm"],
        evaluate: apply!(filament_length; 0 1 2),
    },
    Function {
        name: "melt_power",
        inputs: &[
            input("density", Dimension::DENSITY, "density"),
            FLOW,
            input("specific_heat", Dimension::SPECIFIC_HEAT, "specific heat"),
            input("rise", Dimension::TEMPERATURE_DIFFERENCE, "from room to print temperature"),
        ],
        output: Dimension::POWER,
        formula: "P = rho Q cp dT",
        source: SourceNote::new("computed", "heat balance, heat of fusion left out"),
        help: "heater power the melt takes",
        example: &["1.24 g/cm3", "10 mm3/s", "1800 J/kg/K", "190 K"],
        evaluate: apply!(melt_power; 0 1 2 3),
    },
    Function {
        name: "filament_heating_time",
        inputs: &[DIAMETER, input("diffusivity", Dimension::DIFFUSIVITY, "thermal diffusivity of the polymer")],
        output: Dimension::TIME,
        formula: "R^2 / alpha",
        source: SourceNote::new("paper", "Go et al., Addit. Manuf. 16 (2017) 1-11, doi 10.1016/j.addma.2017.03.007"),
        help: "time scale for heat to reach the core of the filament",
        example: &["1.75 mm", "0.06 mm2/s"],
        evaluate: apply!(filament_heating_time; 0 1),
    },
    Function {
        name: "layer_time",
        inputs: &[AREA, HEIGHT, FLOW],
        output: Dimension::TIME,
        formula: "t = A h / Q",
        source: GEOMETRY,
        help: "time a solid layer takes at a melt flow",
        example: &["900 mm2", "0.2 mm", "5 mm3/s"],
        evaluate: apply!(layer_time; 0 1 2),
    },
    Function {
        name: "flow_for_layer_time",
        inputs: &[AREA, HEIGHT, input("time", Dimension::TIME, "time the layer shall take")],
        output: Dimension::FLOW,
        formula: "Q = A h / t",
        source: GEOMETRY,
        help: "melt flow at which a layer takes a wanted time",
        example: &["200 mm2", "0.2 mm", "10 s"],
        evaluate: apply!(flow_for_layer_time; 0 1 2),
    },
];
