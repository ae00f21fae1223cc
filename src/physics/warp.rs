//! Warp: what a free plate contracts and how far its ends lift.

use super::registry::{Function, Parameter, apply, input, number};
use super::{Checked, SourceNote, finite, positive, sound, within};
use crate::quantity::{Dimension, Expansion, Length, Temperature};

const PLATE: SourceNote = SourceNote::new(
    "from-memory",
    "layer warp model of Wang, Xi, Jin 2007 (recalled); equals Timoshenko's bimetal strip of equal moduli",
);

/// Free contraction of an amorphous plastic from where it stiffens to the air: `a (Tg - Ta)`; 0 if the air is hotter.
///
/// Computed. Semi-crystalline plastics shrink more, by crystallising: use their mould shrinkage.
pub fn free_contraction(expansion: Expansion, glass_transition: Temperature, air: Temperature) -> Checked<f64> {
    let a = positive("an expansion coefficient", expansion.to_per_k())?;
    let drop = finite("temperature drop", glass_transition.to_kelvin() - air.to_kelvin())?;
    sound(a * drop.max(0.0))
}

/// Shape of the plate and its material for [`warp_radius`] and [`plate_lift`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WarpPlate {
    /// Layers in the plate, two or more (a fraction is accepted for thickness over layer height).
    pub layers: f64,
    /// Of one layer.
    pub layer_height: Length,
    /// Of the material below its glass transition.
    pub expansion: Expansion,
    /// Below it contraction makes stress.
    pub glass_transition: Temperature,
    /// Temperature of the air around the growing part.
    pub chamber: Temperature,
}

/// Radius a free plate bends to: `R = n³ Δh / (6 a (Tg - Te)(n - 1))`; `None` if the chamber is at or above Tg (no warp).
///
/// Source: Wang 2007, recalled; equals the bimetal strip of equal moduli, hence plausible. Real parts are held by the
/// bed and peak at other thicknesses: a ranking, not a prediction.
pub fn warp_radius(plate: &WarpPlate) -> Checked<Option<Length>> {
    let n = within("a number of layers", plate.layers, 2.0, 1e6)?;
    let dh = positive("a layer height", plate.layer_height.to_mm())?;
    let shrink = free_contraction(plate.expansion, plate.glass_transition, plate.chamber)?;
    if shrink <= 0.0 {
        return Ok(None);
    }
    sound(Length::mm(n.powi(3) * dh / (6.0 * shrink * (n - 1.0)))).map(Some)
}

/// Lift of the ends of a free plate: `R (1 - cos(L/2R))`.
///
/// Source and limits as [`warp_radius`]. A plate that would curl past a half circle is an `Err`: the model has left its
/// range long before. A result beyond about a tenth of the length only says "much".
pub fn plate_lift(
    layers: f64,
    layer_height: Length,
    expansion: Expansion,
    glass_transition: Temperature,
    chamber: Temperature,
    length: Length,
) -> Checked<Length> {
    let l = positive("a length", length.to_mm())?;
    let plate = WarpPlate { layers, layer_height, expansion, glass_transition, chamber };
    let Some(radius) = warp_radius(&plate)? else { return Ok(Length::mm(0.0)) };
    let r = radius.to_mm();
    let angle = l / (2.0 * r);
    if angle > std::f64::consts::FRAC_PI_2 {
        return Err("the plate would curl past a half circle: outside the range of the warp model".to_owned());
    }
    // 2 sin²(x/2) is 1 - cos x without the cancellation at small angles.
    sound(Length::mm(2.0 * r * (angle / 2.0).sin().powi(2)))
}

const EXPANSION: Parameter = input("expansion", Dimension::EXPANSION, "linear expansion coefficient");
const GLASS: Parameter = input("glass_transition", Dimension::TEMPERATURE, "glass transition");

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        name: "free_contraction",
        inputs: &[EXPANSION, GLASS, input("air", Dimension::TEMPERATURE, "temperature it cools to")],
        output: Dimension::NONE,
        formula: "a (Tg - Ta), 0 if the air is hotter",
        source: SourceNote::new("computed", "expansion from the glass transition down; amorphous plastics"),
        help: "share of its length an amorphous plastic contracts from where it stiffens",
        example: &["90e-6 1/K", "115 °C", "25 °C"],
        evaluate: apply!(free_contraction; 0 1 2),
    },
    Function {
        name: "plate_lift",
        inputs: &[
            number("layers", "number of layers, 2 or more"),
            input("layer_height", Dimension::LENGTH, "layer height"),
            EXPANSION,
            GLASS,
            input("chamber", Dimension::TEMPERATURE, "temperature of the air around the growing part"),
            input("length", Dimension::LENGTH, "longest length on the bed"),
        ],
        output: Dimension::LENGTH,
        formula: "R = n^3 dh/(6 a (Tg - Te)(n - 1)); lift = R (1 - cos(L/2R))",
        source: PLATE,
        help: "lift of the ends of a free plate: for ranking, not a prediction",
        example: &["20", "0.25 mm", "90e-6 1/K", "105 °C", "70 °C", "100 mm"],
        evaluate: apply!(plate_lift; 0 1 2 3 4 5),
    },
];
