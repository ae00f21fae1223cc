//! Stress concentration at a hole in a strip.

use super::registry::{Function, Parameter, apply, input, number};
use super::{Checked, SourceNote, finite, positive, sound, within};
use crate::quantity::{Dimension, Force, Length, Stress};

const ROARK: SourceNote =
    SourceNote::new("handbook", "Roark's Formulas for Stress and Strain, hole in a strip in tension");

/// Concentration factor on the net section of a strip with a central hole in tension.
///
/// `Kt = 3 - 3.13 x + 3.66 x² - 1.53 x³`, `x = d/w` (Roark). Good for 0 to 0.6 tabulated here; the polynomial is used
/// to 1. Elastic; a tough plastic evens out at a steady load, a brittle or cycled one does not.
pub fn hole_in_strip_factor(diameter: Length, width: Length) -> Checked<f64> {
    let x = ratio(diameter, width)?;
    sound(3.0 - 3.13 * x + 3.66 * x * x - 1.53 * x.powi(3))
}

fn ratio(diameter: Length, width: Length) -> Checked<f64> {
    let d = positive("a hole diameter", diameter.to_mm())?;
    let w = positive("a strip width", width.to_mm())?;
    if d >= w {
        return Err("expected a hole smaller than the strip is wide".to_owned());
    }
    Ok(d / w)
}

/// Peak stress beside the hole of a strip pulled by `force`: `Kt F / ((w - d) t)`.
pub fn hole_in_strip_stress(force: Force, width: Length, thickness: Length, diameter: Length) -> Checked<Stress> {
    let kt = hole_in_strip_factor(diameter, width)?;
    let t = positive("a thickness", thickness.to_mm())?;
    let f = finite("force", force.to_n())?;
    sound(Stress::mpa(kt * f / ((width.to_mm() - diameter.to_mm()) * t)))
}

/// Stress with a concentration factor: `Kt σ`.
pub fn concentrated_stress(nominal: Stress, factor: f64) -> Checked<Stress> {
    let k = within("a stress concentration factor", factor, 1.0, 1e3)?;
    sound(Stress::mpa(k * finite("stress", nominal.to_mpa())?))
}

const DIAMETER: Parameter = input("diameter", Dimension::LENGTH, "hole diameter");
const WIDTH: Parameter = input("width", Dimension::LENGTH, "width of the strip");

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        name: "hole_in_strip_factor",
        inputs: &[DIAMETER, WIDTH],
        output: Dimension::NONE,
        formula: "Kt = 3 - 3.13 x + 3.66 x^2 - 1.53 x^3, x = d/w, on the net section",
        source: ROARK,
        help: "stress concentration at a central hole in a strip pulled lengthwise",
        example: &["5 mm", "20 mm"],
        evaluate: apply!(hole_in_strip_factor; 0 1),
    },
    Function {
        name: "hole_in_strip_stress",
        inputs: &[
            input("force", Dimension::FORCE, "pull"),
            WIDTH,
            input("thickness", Dimension::LENGTH, "thickness of the strip"),
            DIAMETER,
        ],
        output: Dimension::STRESS,
        formula: "Kt F/((w - d) t)",
        source: ROARK,
        help: "peak stress beside a central hole in a strip pulled lengthwise",
        example: &["80 N", "20 mm", "4 mm", "5 mm"],
        evaluate: apply!(hole_in_strip_stress; 0 1 2 3),
    },
    Function {
        name: "concentrated_stress",
        inputs: &[
            input("nominal", Dimension::STRESS, "nominal stress"),
            number("factor", "concentration factor, 1 or more"),
        ],
        output: Dimension::STRESS,
        formula: "Kt s",
        source: SourceNote::new("handbook", "definition of the stress concentration factor"),
        help: "peak stress at a notch",
        example: &["5 MPa", "2.4"],
        evaluate: apply!(concentrated_stress; 0 1),
    },
];
