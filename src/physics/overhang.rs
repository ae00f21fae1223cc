//! Overhang geometry: how much of a bead rests on the one below, and the roof of a horizontal hole.

use super::registry::{Function, Parameter, apply, input, number};
use super::{Checked, SourceNote, positive, sound, within};
use crate::quantity::{Angle, Dimension, Length};

const GEOMETRY: SourceNote = SourceNote::new("computed", "geometry of stepped layers");

/// Share of a bead that rests on the layer below: `1 - h tan(t)/w`, `t` from the vertical.
///
/// Computed. 0.5 at 48.4° for 0.2 x 0.45 mm: the 45° rule is really a layer-to-width rule. Negative: no contact at all.
/// Needs `0 <= t < 90°` (a flat ceiling has no such share).
pub fn bead_support_fraction(height: Length, width: Length, angle: Angle) -> Checked<f64> {
    let h = positive("a layer height", height.to_mm())?;
    let w = positive("a bead width", width.to_mm())?;
    let t = within("an overhang angle in degrees", angle.to_deg(), 0.0, 89.9999)?;
    sound(1.0 - h * t.to_radians().tan() / w)
}

/// Overhang angle from the vertical at which a bead keeps a wanted share of support: `atan((1 - f) w/h)`.
pub fn steepest_supported_angle(height: Length, width: Length, fraction: f64) -> Checked<Angle> {
    let h = positive("a layer height", height.to_mm())?;
    let w = positive("a bead width", width.to_mm())?;
    let f = within("a supported share", fraction, 0.0, 1.0)?;
    sound(Angle::rad(((1.0 - f) * w / h).atan()))
}

/// Width of the flat part of the roof of a horizontal hole that no layer supports: `D cos t`, limit `t` from vertical.
pub fn hole_roof_chord(diameter: Length, limit: Angle) -> Checked<Length> {
    let d = positive("a hole diameter", diameter.to_mm())?;
    let t = limit_angle(limit)?;
    sound(Length::mm(d * t.cos()))
}

/// Height of the unsupported cap of a horizontal hole: `D/2 (1 - sin t)`.
pub fn hole_roof_height(diameter: Length, limit: Angle) -> Checked<Length> {
    let d = positive("a hole diameter", diameter.to_mm())?;
    let t = limit_angle(limit)?;
    sound(Length::mm(d / 2.0 * (1.0 - t.sin())))
}

/// Height above the centre of the point of a teardrop hole: `D / (2 sin t)`, i.e. D/√2 for 45°.
pub fn teardrop_apex(diameter: Length, limit: Angle) -> Checked<Length> {
    let d = positive("a hole diameter", diameter.to_mm())?;
    let t = positive("a limit angle", limit_angle(limit)?)?;
    sound(Length::mm(d / (2.0 * t.sin())))
}

fn limit_angle(limit: Angle) -> Checked<f64> {
    Ok(within("a limit angle from the vertical in degrees", limit.to_deg(), 0.0, 90.0)?.to_radians())
}

const HEIGHT: Parameter = input("height", Dimension::LENGTH, "layer height");
const WIDTH: Parameter = input("width", Dimension::LENGTH, "bead width");
const DIAMETER: Parameter = input("diameter", Dimension::LENGTH, "hole diameter");
const LIMIT: Parameter = input("limit", Dimension::ANGLE, "steepest overhang from the vertical that prints");

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        name: "bead_support_fraction",
        inputs: &[HEIGHT, WIDTH, input("angle", Dimension::ANGLE, "overhang angle from the vertical, below 90 deg")],
        output: Dimension::NONE,
        formula: "1 - h tan(t)/w",
        source: GEOMETRY,
        help: "share of a bead that rests on the layer below; negative is no contact",
        example: &["0.2 mm", "0.45 mm", "45 deg"],
        evaluate: apply!(bead_support_fraction; 0 1 2),
    },
    Function {
        name: "steepest_supported_angle",
        inputs: &[HEIGHT, WIDTH, number("fraction", "share of the bead that shall rest on the layer below")],
        output: Dimension::ANGLE,
        formula: "atan((1 - f) w/h)",
        source: GEOMETRY,
        help: "overhang angle from the vertical at which a bead keeps that share of support",
        example: &["0.2 mm", "0.45 mm", "0.5"],
        evaluate: apply!(steepest_supported_angle; 0 1 2),
    },
    Function {
        name: "hole_roof_chord",
        inputs: &[DIAMETER, LIMIT],
        output: Dimension::LENGTH,
        formula: "D cos t",
        source: GEOMETRY,
        help: "span to bridge at the roof of a horizontal hole",
        example: &["10 mm", "45 deg"],
        evaluate: apply!(hole_roof_chord; 0 1),
    },
    Function {
        name: "hole_roof_height",
        inputs: &[DIAMETER, LIMIT],
        output: Dimension::LENGTH,
        formula: "D/2 (1 - sin t)",
        source: GEOMETRY,
        help: "height of the cap of a horizontal hole that no layer supports",
        example: &["10 mm", "45 deg"],
        evaluate: apply!(hole_roof_height; 0 1),
    },
    Function {
        name: "teardrop_apex",
        inputs: &[DIAMETER, LIMIT],
        output: Dimension::LENGTH,
        formula: "D/(2 sin t)",
        source: GEOMETRY,
        help: "height above the centre of the point of a teardrop hole",
        example: &["6 mm", "45 deg"],
        evaluate: apply!(teardrop_apex; 0 1),
    },
];
