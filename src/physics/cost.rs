//! What a run costs: material, machine time, hands, and the pieces that fail.

use super::registry::{Function, apply, input, number};
use super::{Checked, SourceNote, not_negative, positive, sound, within};
use crate::quantity::{Dimension, Duration, Mass, MassPrice, Money, TimePrice};

const SUM: SourceNote = SourceNote::new("computed", "plain sum of material, machine and hand time");

/// Cost of material: `m x price`.
pub fn material_cost(mass: Mass, price: MassPrice) -> Checked<Money> {
    let kg = not_negative("a mass", mass.to_kg())?;
    sound(Money::of(kg * not_negative("a price", price.to_per_kg())?))
}

/// Cost of time: `t x rate`.
pub fn time_cost(time: Duration, rate: TimePrice) -> Checked<Money> {
    let h = not_negative("a time", time.to_h())?;
    sound(Money::of(h * not_negative("a rate", rate.to_per_h())?))
}

/// Cost of one good piece when a run of `started` pieces at `total` yields a share of good ones: `total/(started x yield)`.
pub fn cost_per_good(total: Money, started: f64, yield_share: f64) -> Checked<Money> {
    let all = not_negative("a sum of money", total.amount())?;
    let n = positive("a number of pieces started", started)?;
    let y = within("a yield", yield_share, 1e-6, 1.0)?;
    sound(Money::of(all / (n * y)))
}

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        name: "material_cost",
        inputs: &[
            input("mass", Dimension::MASS, "material used"),
            input("price", Dimension::MONEY_PER_MASS, "price of the material"),
        ],
        output: Dimension::MONEY,
        formula: "m x price",
        source: SUM,
        help: "cost of material",
        example: &["120 g", "25 money/kg"],
        evaluate: apply!(material_cost; 0 1),
    },
    Function {
        name: "time_cost",
        inputs: &[
            input("time", Dimension::TIME, "time used"),
            input("rate", Dimension::MONEY_PER_TIME, "price of the time"),
        ],
        output: Dimension::MONEY,
        formula: "t x rate",
        source: SUM,
        help: "cost of machine or hand time",
        example: &["6 h", "1.5 money/h"],
        evaluate: apply!(time_cost; 0 1),
    },
    Function {
        name: "cost_per_good",
        inputs: &[
            input("total", Dimension::MONEY, "cost of the whole run"),
            number("started", "pieces started"),
            number("yield", "share that comes out good, above 0"),
        ],
        output: Dimension::MONEY,
        formula: "total/(started x yield)",
        source: SUM,
        help: "cost of one good piece",
        example: &["60 money", "12", "0.9"],
        evaluate: apply!(cost_per_good; 0 1 2),
    },
];
