//! Growth with temperature, and what it does where something holds against it.

use super::registry::{Function, Parameter, apply, input};
use super::{Checked, SourceNote, finite, positive, sound};
use crate::quantity::{Dimension, Expansion, Length, Stress, TemperatureDifference};

const FREE: SourceNote = SourceNote::new("handbook", "R. K. Bansal, Strength of Materials, ch. 1: thermal strain");

/// Growth of a length (of its own sign): `a ΔT L`.
///
/// For a coefficient that stays the same over the range: across the glass transition it does not.
pub fn thermal_expansion(length: Length, expansion: Expansion, rise: TemperatureDifference) -> Checked<Length> {
    let l = finite("length", length.to_mm())?;
    let a = finite("expansion coefficient", expansion.to_per_k())?;
    sound(Length::mm(l * a * finite("temperature rise", rise.to_k())?))
}

/// Stress of a part that cannot grow: `E a ΔT`, given as its size (compression when heated, tension when cooled).
pub fn restrained_stress(expansion: Expansion, modulus: Stress, rise: TemperatureDifference) -> Checked<Stress> {
    let a = finite("expansion coefficient", expansion.to_per_k())?;
    let e = positive("a modulus", modulus.to_mpa())?;
    sound(Stress::mpa((e * a * finite("temperature rise", rise.to_k())?).abs()))
}

const EXPANSION: Parameter = input("expansion", Dimension::EXPANSION, "linear expansion coefficient");
const RISE: Parameter = input("rise", Dimension::TEMPERATURE_DIFFERENCE, "temperature rise; negative for cooling");

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        name: "thermal_expansion",
        inputs: &[input("length", Dimension::LENGTH, "length"), EXPANSION, RISE],
        output: Dimension::LENGTH,
        formula: "a dT L",
        source: FREE,
        help: "growth of a free length",
        example: &["200 mm", "70e-6 1/K", "40 K"],
        evaluate: apply!(thermal_expansion; 0 1 2),
    },
    Function {
        name: "restrained_stress",
        inputs: &[EXPANSION, input("modulus", Dimension::STRESS, "modulus"), RISE],
        output: Dimension::STRESS,
        formula: "|E a dT|",
        source: FREE,
        help: "stress of a part that cannot grow",
        example: &["69e-6 1/K", "1.5 GPa", "80 K"],
        evaluate: apply!(restrained_stress; 0 1 2),
    },
    Function {
        name: "expansion_mismatch",
        inputs: &[
            input("length", Dimension::LENGTH, "common length"),
            EXPANSION,
            input("other_expansion", Dimension::EXPANSION, "expansion coefficient of the other part"),
            RISE,
        ],
        output: Dimension::LENGTH,
        formula: "(a - a_other) dT L",
        source: FREE,
        help: "by how much one part outgrows the other",
        example: &["40 mm", "80e-6 1/K", "11e-6 1/K", "80 K"],
        evaluate: apply!(expansion_mismatch; 0 1 2 3),
    },
];

/// By how much a part outgrows another of the same length: `(a1 - a2) ΔT L`.
pub fn expansion_mismatch(
    length: Length,
    a1: Expansion,
    a2: Expansion,
    rise: TemperatureDifference,
) -> Checked<Length> {
    thermal_expansion(length, Expansion::per_k(a1.to_per_k() - a2.to_per_k()), rise)
}
