//! Snap arms: strain at full deflection, force to bend and to push on.

use super::registry::{Function, Parameter, apply, input, number};
use super::{Checked, SourceNote, finite, not_negative, positive, sound, within};
use crate::quantity::{Angle, Dimension, Force, Length, Stress};

const SNAP: SourceNote = SourceNote::new(
    "handbook",
    "cantilever snap arm, beam theory; R. J. Crawford, Plastics Engineering, sec. 2.8; university plastics design notes",
);

/// Strain coefficient k of a tapered arm and where along it the strain peaks (0 root, 1 tip).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SnapCoefficient {
    /// The coefficient: 1.5 for an arm of one thickness and width.
    pub k: f64,
    /// Where the strain peaks, 0 at the root, 1 at the tip.
    pub place: f64,
}

/// Integrates the beam equation for an arm whose thickness and width taper straight from root to tip.
///
/// `k` in `ε = k h Y/L²` with h the root thickness: 1.5 constant section, 0.92 thickness halved, 1.17 width quartered
/// (all published; reproduced by the tests). Below a thickness ratio of 1/2 the strain peaks away from the root, which
/// the root formula misses. Ratios tip over root, 0.1 to 1.
pub fn snap_coefficient(thickness_ratio: f64, width_ratio: f64) -> Checked<SnapCoefficient> {
    let rt = within("a thickness ratio", thickness_ratio, 0.1, 1.0)?;
    let rw = within("a width ratio", width_ratio, 0.1, 1.0)?;
    // x from the tip, lengths in L, thickness in h, curvature M/(E I) in P L/(E b h³/12).
    let thickness = |x: f64| rt + (1.0 - rt) * x;
    let curvature = |x: f64| x / ((rw + (1.0 - rw) * x) * thickness(x).powi(3));
    const STEPS: usize = 2000;
    let (mut deflection, mut peak, mut place) = (0.0, 0.0, 1.0);
    for i in 0..=STEPS {
        let x = i as f64 / STEPS as f64;
        let weight = match i {
            0 | STEPS => 1.0,
            _ if i % 2 == 1 => 4.0,
            _ => 2.0,
        };
        deflection += weight * curvature(x) * x;
        let strain = curvature(x) * thickness(x) / 2.0;
        if strain > peak {
            (peak, place) = (strain, x);
        }
    }
    deflection /= 3.0 * STEPS as f64;
    Ok(SnapCoefficient { k: sound(peak / deflection)?, place: 1.0 - place })
}

/// Largest strain of a snap arm of constant section bent by `deflection` at its tip: `ε = 1.5 h Y/L²`.
///
/// Small deflections of a stiffly held arm; a wall that bends too lowers it, so leaving that out errs on the strict side.
pub fn snap_strain(thickness: Length, deflection: Length, length: Length) -> Checked<f64> {
    strain(1.5, thickness, deflection, length)
}

/// The same for an arm that tapers, ratios tip over root as for [`snap_coefficient`].
pub fn tapered_snap_strain(
    thickness: Length,
    deflection: Length,
    length: Length,
    thickness_ratio: f64,
    width_ratio: f64,
) -> Checked<f64> {
    strain(snap_coefficient(thickness_ratio, width_ratio)?.k, thickness, deflection, length)
}

fn strain(k: f64, thickness: Length, deflection: Length, length: Length) -> Checked<f64> {
    let h = positive("an arm thickness", thickness.to_mm())?;
    let y = not_negative("a deflection", deflection.to_mm())?;
    let l = positive("an arm length", length.to_mm())?;
    sound(k * h * y / (l * l))
}

/// Largest deflection of a snap arm of constant section within a strain: `Y = ε L²/(1.5 h)`.
pub fn snap_deflection(strain: f64, thickness: Length, length: Length) -> Checked<Length> {
    let e = positive("a strain", strain)?;
    let h = positive("an arm thickness", thickness.to_mm())?;
    let l = positive("an arm length", length.to_mm())?;
    sound(Length::mm(e * l * l / (1.5 * h)))
}

/// Force that bends the tip of an arm of constant section: `V = E b h³ Y/(4 L³)`.
///
/// Source: Crawford Eq. 2.21. Use the short-term (secant) modulus for assembly.
pub fn snap_bending_force(
    modulus: Stress,
    width: Length,
    thickness: Length,
    deflection: Length,
    length: Length,
) -> Checked<Force> {
    let e = positive("a modulus", modulus.to_mpa())?;
    let b = positive("an arm width", width.to_mm())?;
    let h = positive("an arm thickness", thickness.to_mm())?;
    let y = not_negative("a deflection", deflection.to_mm())?;
    let l = positive("an arm length", length.to_mm())?;
    sound(Force::n(e * b * h.powi(3) * y / (4.0 * l.powi(3))))
}

/// Force to push the hook on (or pull it off, with the angle of its back): `W = V (μ + tan a)/(1 - μ tan a)`.
///
/// Source: Crawford Eq. 2.21. `Err` when `μ tan a >= 1`: it locks and no force moves it.
pub fn snap_push_force(bending_force: Force, friction: f64, ramp: Angle) -> Checked<Force> {
    let v = not_negative("a bending force", bending_force.to_n())?;
    let mu = within("a friction coefficient", friction, 0.0, 2.0)?;
    let a = finite("ramp angle", within("a ramp angle in degrees", ramp.to_deg(), 0.0, 90.0)?)?.to_radians().tan();
    let below = 1.0 - mu * a;
    if below <= 1e-9 {
        return Err("the ramp is so steep that friction locks it: no force moves the hook".to_owned());
    }
    sound(Force::n(v * (mu + a) / below))
}

const THICKNESS: Parameter = input("thickness", Dimension::LENGTH, "arm thickness at the root");
const DEFLECTION: Parameter = input("deflection", Dimension::LENGTH, "deflection of the tip: the undercut");
const LENGTH: Parameter = input("length", Dimension::LENGTH, "length of the arm");

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        name: "snap_strain",
        inputs: &[THICKNESS, DEFLECTION, LENGTH],
        output: Dimension::NONE,
        formula: "1.5 h Y/L^2",
        source: SNAP,
        help: "largest strain of a snap arm of constant section",
        example: &["2 mm", "2.2 mm", "20 mm"],
        evaluate: apply!(snap_strain; 0 1 2),
    },
    Function {
        name: "tapered_snap_strain",
        inputs: &[
            THICKNESS,
            DEFLECTION,
            LENGTH,
            number("thickness_ratio", "thickness at the tip over that at the root, 0.1 to 1"),
            number("width_ratio", "width at the tip over that at the root, 0.1 to 1"),
        ],
        output: Dimension::NONE,
        formula: "k h Y/L^2; k by integrating the beam: 1.5 straight, 0.92 thickness halved, 1.17 width quartered",
        source: SNAP,
        help: "largest strain of a snap arm that tapers",
        example: &["2 mm", "2.2 mm", "20 mm", "0.5", "1"],
        evaluate: apply!(tapered_snap_strain; 0 1 2 3 4),
    },
    Function {
        name: "snap_deflection",
        inputs: &[number("strain", "strain allowed, e.g. 2 %"), THICKNESS, LENGTH],
        output: Dimension::LENGTH,
        formula: "Y = e L^2/(1.5 h)",
        source: SNAP,
        help: "undercut a snap arm of constant section can pass",
        example: &["2 %", "2 mm", "20 mm"],
        evaluate: apply!(snap_deflection; 0 1 2),
    },
    Function {
        name: "snap_bending_force",
        inputs: &[
            input("modulus", Dimension::STRESS, "short-term modulus"),
            input("width", Dimension::LENGTH, "arm width"),
            THICKNESS,
            DEFLECTION,
            LENGTH,
        ],
        output: Dimension::FORCE,
        formula: "V = E b h^3 Y/(4 L^3)",
        source: SNAP,
        help: "force that bends the tip of a snap arm",
        example: &["900 MPa", "18 mm", "2 mm", "2.2222 mm", "20 mm"],
        evaluate: apply!(snap_bending_force; 0 1 2 3 4),
    },
    Function {
        name: "snap_push_force",
        inputs: &[
            input("bending_force", Dimension::FORCE, "force that bends the tip"),
            number("friction", "friction coefficient"),
            input("ramp", Dimension::ANGLE, "angle of the ramp to the direction of pushing"),
        ],
        output: Dimension::FORCE,
        formula: "W = V (mu + tan a)/(1 - mu tan a)",
        source: SNAP,
        help: "force that pushes a snap hook on",
        example: &["9 N", "0.3", "30 deg"],
        evaluate: apply!(snap_push_force; 0 1 2),
    },
];
