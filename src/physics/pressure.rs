//! Pipes and vessels under inner pressure.

use super::press_fit::lame;
use super::registry::{Function, Parameter, apply, input};
use super::{Checked, SourceNote, not_negative, positive, sound};
use crate::quantity::{Dimension, Length, Stress};

const LAME: SourceNote = SourceNote::new(
    "handbook",
    "Lame, thick-walled cylinder: Boresi and Schmidt, Advanced Mechanics of Materials, ch. 11",
);
const THIN: SourceNote = SourceNote::new("handbook", "thin-walled vessel formula, e.g. Gere, Mechanics of Materials");

/// Largest hoop stress of a pipe, at the bore: `p (b² + a²)/(b² - a²)`, any wall.
///
/// Source: Lame (Boresi ch. 11). A pipe printed standing up carries it along its layers; see [`end_pressure_stress`].
pub fn hoop_pressure_stress(pressure: Stress, inner: Length, wall: Length) -> Checked<Stress> {
    let (p, a, b) = pipe(pressure, inner, wall)?;
    sound(Stress::mpa(lame(a, b, p, 0.0, a)?.1))
}

/// Lengthwise stress of a closed pipe: `p a²/(b² - a²)`; across the layers if the pipe was printed standing.
pub fn end_pressure_stress(pressure: Stress, inner: Length, wall: Length) -> Checked<Stress> {
    let (p, a, b) = pipe(pressure, inner, wall)?;
    sound(Stress::mpa(p * a * a / (b * b - a * a)))
}

/// Hoop stress by the thin-wall formula `p D/(2 t)` on the inner diameter; refuses a wall above a tenth of the radius.
pub fn thin_hoop_stress(pressure: Stress, inner: Length, wall: Length) -> Checked<Stress> {
    let (p, a, b) = pipe(pressure, inner, wall)?;
    if b - a > 0.1 * a {
        return Err("the wall is over a tenth of the radius: use hoop_pressure_stress".to_owned());
    }
    sound(Stress::mpa(p * a / (b - a)))
}

/// Wall a pipe needs to keep the hoop stress at the bore at a limit: `b = a sqrt((s + p)/(s - p))`, wall `b - a`.
///
/// `Err` if the limit is not above the pressure: then no wall is thick enough.
pub fn pressure_wall(pressure: Stress, inner: Length, limit: Stress) -> Checked<Length> {
    let p = not_negative("a pressure", pressure.to_mpa())?;
    let a = positive("an inner diameter", inner.to_mm())? / 2.0;
    let s = positive("a stress limit", limit.to_mpa())?;
    if s <= p {
        return Err("the allowed stress is not above the pressure: no wall is thick enough".to_owned());
    }
    sound(Length::mm(a * ((s + p) / (s - p)).sqrt() - a))
}

/// Returns pressure in MPa and both radii in mm.
fn pipe(pressure: Stress, inner: Length, wall: Length) -> Checked<(f64, f64, f64)> {
    let p = not_negative("a pressure", pressure.to_mpa())?;
    let a = positive("an inner diameter", inner.to_mm())? / 2.0;
    Ok((p, a, a + positive("a wall", wall.to_mm())?))
}

const PRESSURE: Parameter = input("pressure", Dimension::STRESS, "inner over outer pressure");
const INNER: Parameter = input("inner_diameter", Dimension::LENGTH, "inner diameter");
const WALL: Parameter = input("wall", Dimension::LENGTH, "wall thickness");

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        name: "hoop_pressure_stress",
        inputs: &[PRESSURE, INNER, WALL],
        output: Dimension::STRESS,
        formula: "p (b^2 + a^2)/(b^2 - a^2)",
        source: LAME,
        help: "largest hoop stress of a pipe under inner pressure, any wall",
        example: &["4 bar", "20 mm", "3 mm"],
        evaluate: apply!(hoop_pressure_stress; 0 1 2),
    },
    Function {
        name: "end_pressure_stress",
        inputs: &[PRESSURE, INNER, WALL],
        output: Dimension::STRESS,
        formula: "p a^2/(b^2 - a^2)",
        source: LAME,
        help: "lengthwise stress of a closed pipe under inner pressure",
        example: &["4 bar", "20 mm", "3 mm"],
        evaluate: apply!(end_pressure_stress; 0 1 2),
    },
    Function {
        name: "thin_hoop_stress",
        inputs: &[PRESSURE, INNER, WALL],
        output: Dimension::STRESS,
        formula: "p D/(2 t), walls up to a tenth of the radius",
        source: THIN,
        help: "hoop stress of a thin pipe under inner pressure",
        example: &["2 bar", "60 mm", "2 mm"],
        evaluate: apply!(thin_hoop_stress; 0 1 2),
    },
    Function {
        name: "pressure_wall",
        inputs: &[PRESSURE, INNER, input("limit", Dimension::STRESS, "stress allowed")],
        output: Dimension::LENGTH,
        formula: "a sqrt((s + p)/(s - p)) - a",
        source: LAME,
        help: "wall a pipe needs under inner pressure",
        example: &["4 bar", "20 mm", "3 MPa"],
        evaluate: apply!(pressure_wall; 0 1 2),
    },
];
