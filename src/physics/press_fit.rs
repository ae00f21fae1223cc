//! Interference fits of two materials: pressure, stresses, hold, and what heat and time leave of them.

use super::registry::{Function, Parameter, apply, input, number};
use super::{Checked, SourceNote, finite, not_negative, positive, sound, within};
use crate::quantity::{Dimension, Duration, Expansion, Force, Length, Stress, TemperatureDifference, Torque};
use std::f64::consts::PI;

const SHIGLEY: SourceNote =
    SourceNote::new("handbook", "Budynas and Nisbett, Shigley's Mechanical Engineering Design, 9th ed., Eq. 3-56");
const LAME: SourceNote = SourceNote::new(
    "handbook",
    "Lame, thick-walled cylinder: Boresi and Schmidt, Advanced Mechanics of Materials, ch. 11",
);

/// Radial and hoop stress (MPa, tension positive) at radius `r` of a ring a..b under inner and outer pressure.
///
/// `(p_i a² - p_o b²)/(b² - a²) ∓ (p_i - p_o) a² b²/(r² (b² - a²))`; a = 0 is a solid disc (needs p_i = 0). Source: Lame
/// (Boresi ch. 11). Radii in mm; kept to this module's family because it speaks bare numbers.
pub(super) fn lame(a: f64, b: f64, inner: f64, outer: f64, r: f64) -> Checked<(f64, f64)> {
    let a = not_negative("an inner radius", a)?;
    let b = positive("an outer radius", b)?;
    if a >= b {
        return Err("expected an inner radius smaller than the outer one".to_owned());
    }
    let slack = 1e-9 * b;
    within("a radius inside the ring", r, a - slack, b + slack)?;
    let ring = b * b - a * a;
    let mean = (inner * a * a - outer * b * b) / ring;
    if a == 0.0 {
        return Ok((mean, mean));
    }
    let swing = (inner - outer) * a * a * b * b / (r * r * ring);
    Ok((mean - swing, mean + swing))
}

/// Elastic constants of one partner.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Elastic {
    /// Modulus of elasticity.
    pub modulus: Stress,
    /// Poisson's ratio.
    pub poisson: f64,
}

impl Elastic {
    fn check(&self) -> Checked<(f64, f64)> {
        let e = positive("a modulus", self.modulus.to_mpa())?;
        Ok((e, within("a Poisson ratio", self.poisson, 0.0, 0.5)?))
    }
}

/// A hub pressed on a shaft (or a bush pressed into a hole). Diameters; `bore` of the shaft is 0 when it is solid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PressFit {
    /// Where they meet.
    pub diameter: Length,
    /// Outside of the hub.
    pub hub_outer: Length,
    /// Inside of a hollow shaft.
    pub shaft_bore: Length,
    /// What the hub is made of.
    pub hub: Elastic,
    /// What the shaft is made of.
    pub shaft: Elastic,
}

impl PressFit {
    /// Returns (1/E_o)(...) + (1/E_i)(...): interference over diameter per pressure, in 1/MPa.
    fn compliance(&self) -> Checked<f64> {
        let d = positive("a fit diameter", self.diameter.to_mm())?;
        let outer = positive("a hub outer diameter", self.hub_outer.to_mm())?;
        let bore = not_negative("a shaft bore", self.shaft_bore.to_mm())?;
        if !(bore < d && d < outer) {
            return Err("expected shaft bore < fit diameter < hub outer diameter".to_owned());
        }
        let (eo, no) = self.hub.check()?;
        let (ei, ni) = self.shaft.check()?;
        let (o2, d2, b2) = (outer * outer, d * d, bore * bore);
        Ok(((o2 + d2) / (o2 - d2) + no) / eo + ((d2 + b2) / (d2 - b2) - ni) / ei)
    }

    /// Returns the pressure a diametral interference makes; zero for a clearance (negative interference).
    ///
    /// Source: Shigley 9th ed. Eq. 3-56; long partners of equal length. Use the short-term modulus at assembly and a
    /// relaxed one for the grip that remains.
    pub fn pressure(&self, interference: Length) -> Checked<Stress> {
        let delta = finite("interference", interference.to_mm())?.max(0.0);
        sound(Stress::mpa(delta / (self.diameter.to_mm() * self.compliance()?)))
    }

    /// Returns the tensile hoop stress at the bore of the hub, its highest: `p (o² + d²)/(o² - d²)`.
    pub fn hub_hoop(&self, pressure: Stress) -> Checked<Stress> {
        self.compliance()?;
        let (d, o) = (self.diameter.to_mm() / 2.0, self.hub_outer.to_mm() / 2.0);
        sound(Stress::mpa(lame(d, o, not_negative("a pressure", pressure.to_mpa())?, 0.0, d)?.1))
    }

    /// Returns the diametral interference after a temperature change: `δ + d (a_shaft - a_hub) ΔT`; negative is loose.
    pub fn interference_at(
        &self,
        interference: Length,
        shaft: Expansion,
        hub: Expansion,
        rise: TemperatureDifference,
    ) -> Checked<Length> {
        interference_at(interference, self.diameter, shaft, hub, rise)
    }

    /// Returns the pressure left after a time, the moduli of the plastic partners relaxed (see `sustained_factor`).
    ///
    /// From memory for the factor; `hub_relaxes`/`shaft_relaxes` say which partner is plastic.
    pub fn pressure_after(
        &self,
        interference: Length,
        duration: Duration,
        hub_relaxes: bool,
        shaft_relaxes: bool,
    ) -> Checked<Stress> {
        let mut aged = *self;
        if hub_relaxes {
            aged.hub.modulus = super::sustained::relaxed_modulus(self.hub.modulus, duration)?;
        }
        if shaft_relaxes {
            aged.shaft.modulus = super::sustained::relaxed_modulus(self.shaft.modulus, duration)?;
        }
        aged.pressure(interference)
    }
}

/// Diametral interference after a temperature change: `δ + d (a_shaft - a_hub) ΔT`.
///
/// Source: Shigley sec. 3-16 with free expansion of both partners. Negative: the fit has come loose.
pub fn interference_at(
    interference: Length,
    diameter: Length,
    shaft: Expansion,
    hub: Expansion,
    rise: TemperatureDifference,
) -> Checked<Length> {
    let delta = finite("interference", interference.to_mm())?;
    let d = positive("a fit diameter", diameter.to_mm())?;
    let da = finite("expansion difference", shaft.to_per_k() - hub.to_per_k())?;
    sound(Length::mm(delta + d * da * finite("temperature rise", rise.to_k())?))
}

/// Temperature rise that opens a hub by `clearance + interference` for assembly: `ΔT = u/(a d)`, diametral.
pub fn heating_for_assembly(opening: Length, diameter: Length, hub: Expansion) -> Checked<TemperatureDifference> {
    let u = not_negative("an opening", opening.to_mm())?;
    let d = positive("a fit diameter", diameter.to_mm())?;
    sound(TemperatureDifference::k(u / (positive("an expansion coefficient", hub.to_per_k())? * d)))
}

/// Axial force a press fit holds: `π d L p μ`.
pub fn hold_force(diameter: Length, length: Length, pressure: Stress, friction: f64) -> Checked<Force> {
    let d = positive("a fit diameter", diameter.to_mm())?;
    let l = positive("an engaged length", length.to_mm())?;
    let p = not_negative("a pressure", pressure.to_mpa())?;
    sound(Force::n(PI * d * l * p * within("a friction coefficient", friction, 0.0, 2.0)?))
}

/// Torque a press fit holds: `π d² L p μ/2`.
pub fn hold_torque(diameter: Length, length: Length, pressure: Stress, friction: f64) -> Checked<Torque> {
    let f = hold_force(diameter, length, pressure, friction)?.to_n();
    sound(Torque::nm(f * diameter.to_m() / 2.0))
}

/// [`PressFit::pressure`] with all inputs spelt out, for the registry.
#[expect(clippy::too_many_arguments, reason = "the registry needs every number by name")]
pub fn interference_pressure(
    interference: Length,
    diameter: Length,
    hub_outer: Length,
    shaft_bore: Length,
    hub_modulus: Stress,
    hub_poisson: f64,
    shaft_modulus: Stress,
    shaft_poisson: f64,
) -> Checked<Stress> {
    let hub = Elastic { modulus: hub_modulus, poisson: hub_poisson };
    let shaft = Elastic { modulus: shaft_modulus, poisson: shaft_poisson };
    PressFit { diameter, hub_outer, shaft_bore, hub, shaft }.pressure(interference)
}

/// Hoop stress at the bore of a hub under a fit pressure, for the registry: `p (o² + d²)/(o² - d²)`.
pub fn hub_hoop_stress(pressure: Stress, diameter: Length, hub_outer: Length) -> Checked<Stress> {
    let d = positive("a fit diameter", diameter.to_mm())? / 2.0;
    let p = not_negative("a pressure", pressure.to_mpa())?;
    sound(Stress::mpa(lame(d, hub_outer.to_mm() / 2.0, p, 0.0, d)?.1))
}

const DIAMETER: Parameter = input("diameter", Dimension::LENGTH, "diameter of the fit");
const INTERFERENCE: Parameter =
    input("interference", Dimension::LENGTH, "shaft larger than hole, on diameter; negative is clearance");
const PRESSURE: Parameter = input("pressure", Dimension::STRESS, "pressure in the fit");
const HUB_OUTER: Parameter = input("hub_outer_diameter", Dimension::LENGTH, "outer diameter of the hub");
const LENGTH: Parameter = input("length", Dimension::LENGTH, "engaged length");
const FRICTION: Parameter = number("friction", "friction coefficient");

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        name: "interference_pressure",
        inputs: &[
            INTERFERENCE,
            DIAMETER,
            HUB_OUTER,
            input("shaft_bore", Dimension::LENGTH, "bore of the shaft, 0 mm for solid"),
            input("hub_modulus", Dimension::STRESS, "modulus of the hub"),
            number("hub_poisson", "Poisson ratio of the hub"),
            input("shaft_modulus", Dimension::STRESS, "modulus of the shaft"),
            number("shaft_poisson", "Poisson ratio of the shaft"),
        ],
        output: Dimension::STRESS,
        formula: "p = i/(d [((o^2+d^2)/(o^2-d^2) + nu_o)/E_o + ((d^2+b^2)/(d^2-b^2) - nu_i)/E_i])",
        source: SHIGLEY,
        help: "pressure of an interference fit of two materials; 0 with clearance",
        example: &["0.05 mm", "22 mm", "34 mm", "8 mm", "2.1 GPa", "0.38", "206 GPa", "0.29"],
        evaluate: apply!(interference_pressure; 0 1 2 3 4 5 6 7),
    },
    Function {
        name: "hub_hoop_stress",
        inputs: &[PRESSURE, DIAMETER, HUB_OUTER],
        output: Dimension::STRESS,
        formula: "p (o^2 + d^2)/(o^2 - d^2)",
        source: LAME,
        help: "largest tensile stress of a hub under a fit pressure",
        example: &["2 MPa", "22 mm", "34 mm"],
        evaluate: apply!(hub_hoop_stress; 0 1 2),
    },
    Function {
        name: "interference_at",
        inputs: &[
            INTERFERENCE,
            DIAMETER,
            input("shaft_expansion", Dimension::EXPANSION, "expansion coefficient of the shaft"),
            input("hub_expansion", Dimension::EXPANSION, "expansion coefficient of the hub"),
            input("rise", Dimension::TEMPERATURE_DIFFERENCE, "temperature change; negative for cooling"),
        ],
        output: Dimension::LENGTH,
        formula: "i + d (a_shaft - a_hub) dT",
        source: SHIGLEY,
        help: "interference of a fit after a temperature change; negative is loose",
        example: &["0.05 mm", "22 mm", "11.7e-6 1/K", "90e-6 1/K", "40 K"],
        evaluate: apply!(interference_at; 0 1 2 3 4),
    },
    Function {
        name: "hold_force",
        inputs: &[DIAMETER, LENGTH, PRESSURE, FRICTION],
        output: Dimension::FORCE,
        formula: "pi d L p mu",
        source: SHIGLEY,
        help: "axial force a press fit holds",
        example: &["22 mm", "7 mm", "2 MPa", "0.15"],
        evaluate: apply!(hold_force; 0 1 2 3),
    },
    Function {
        name: "hold_torque",
        inputs: &[DIAMETER, LENGTH, PRESSURE, FRICTION],
        output: Dimension::TORQUE,
        formula: "pi d^2 L p mu/2",
        source: SHIGLEY,
        help: "torque a press fit holds",
        example: &["22 mm", "7 mm", "2 MPa", "0.15"],
        evaluate: apply!(hold_torque; 0 1 2 3),
    },
    Function {
        name: "heating_for_assembly",
        inputs: &[
            input("opening", Dimension::LENGTH, "interference plus clearance wanted, on diameter"),
            DIAMETER,
            input("hub_expansion", Dimension::EXPANSION, "expansion coefficient of the hub"),
        ],
        output: Dimension::TEMPERATURE_DIFFERENCE,
        formula: "dT = u/(a d)",
        source: LAME,
        help: "warming a hub needs so that the shaft drops in",
        example: &["0.1 mm", "22 mm", "90e-6 1/K"],
        evaluate: apply!(heating_for_assembly; 0 1 2),
    },
];

#[cfg(test)]
mod tests {
    use super::*;

    /// IF-01: Boresi and Schmidt, Advanced Mechanics of Materials, Ex. 11.1, p. 397: radii, radial and hoop stress.
    #[test]
    fn a_thick_ring_under_inner_pressure_is_stressed_as_published() {
        for (r, radial, hoop) in [(10.0, -300.0, 325.0), (25.0, -37.5, 62.5), (50.0, 0.0, 25.0)] {
            let (sr, st) = lame(10.0, 50.0, 300.0, 0.0, r).unwrap();
            assert!((sr - radial).abs() < 0.01 && (st - hoop).abs() < 0.01, "{r}: {sr}, {st}");
        }
    }

    /// IF-03, IF-04: Boresi and Schmidt, Ex. 11.3, p. 398: the shrunk pair under the published pressure of 189 MPa, the hub
    /// at its outside, the shaft at its surface and its bore.
    #[test]
    fn a_shrunk_pair_is_stressed_as_published() {
        for (a, b, inner, outer, r, hoop) in [
            (25.0, 50.0, 189.0, 0.0, 50.0, 126.0),
            (10.0, 25.0, 0.0, 189.0, 25.0, -261.0),
            (10.0, 25.0, 0.0, 189.0, 10.0, -449.9),
        ] {
            let (_, found) = lame(a, b, inner, outer, r).unwrap();
            assert!((found / hoop - 1.0).abs() < 0.002, "{found} is not {hoop}");
        }
    }
}
