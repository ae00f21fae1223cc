//! What stands on the bench: nozzles, build surfaces and what is put on them.

use super::decode::record;
use super::value::{Datum, Fact, Field, Figure, Located, Plain, Shape};
use super::words::{Flexes, Hardness};
use crate::diag::Span;
use crate::quantity::{Dimension, Length, Quantity, Ratio, Temperature, TemperatureDifference};

record! {
    /// A metal (or gem, or carbide) that nozzles are made of.
    pub struct NozzleMetal("a nozzle metal") {
        /// The name shops use.
        name: String,
        /// The name in full.
        title: Located<String>,
        /// soft, medium, hardened or very-hard.
        hardness: Fact<Hardness>,
        /// Highest nozzle temperature in continuous use.
        temperature_limit: Figure<Temperature>,
        /// Melting rate against a brass nozzle.
        flow_factor: Figure<Ratio>,
        /// How much hotter to set it than brass for the same melt.
        temperature_shift: Option<Figure<TemperatureDifference>>,
        /// What is to be said when food is near.
        food: Fact<String>,
        /// What else one should know.
        remarks: Option<Fact<Vec<String>>>,
    }
}

record! {
    /// A bore that nozzles are sold with.
    pub struct Bore("a bore") {
        /// The bore as written.
        name: String,
        /// Diameter of the bore.
        bore: Located<Length>,
        /// Volume flow against a 0.4 mm bore.
        flow_factor: Figure<Ratio>,
        /// What it is good for.
        use_for: Fact<String>,
    }
}

record! {
    /// A build surface.
    pub struct Surface("a build surface") {
        /// The name shops use.
        name: String,
        /// Another surface whose values stand in where this one gives none.
        like: Option<Located<String>>,
        /// The name in full.
        title: Located<String>,
        /// flex or rigid.
        flexes: Fact<Flexes>,
        /// Whether it is glass or carries a glass pane.
        glass: Fact<bool>,
        /// Whether it is a stick-on build sheet that a part can weld to.
        adhesive_sheet: Fact<bool>,
        /// Highest bed temperature it stands.
        temperature_limit: Figure<Temperature>,
        /// How the part comes off.
        removal: Fact<String>,
        /// Bed temperature below which to try.
        release_at: Option<Figure<Temperature>>,
        /// How to set the first layer's gap on it.
        first_layer: Fact<String>,
        /// How to clean it.
        cleaning: Fact<String>,
        /// The underside it gives.
        finish: Fact<String>,
        /// Whether it is used up.
        consumable: Fact<bool>,
        /// What can go wrong with it.
        cautions: Option<Fact<Vec<String>>>,
    }
}

record! {
    /// What is put on a surface so that a part holds, or lets go.
    pub struct Agent("an agent") {
        /// The name shops use.
        name: String,
        /// The name in full.
        title: Located<String>,
        /// How to put it on.
        apply: Fact<String>,
        /// How it comes off.
        cleaning: Fact<String>,
        /// Whether it or its vapour burns.
        flammable: Fact<bool>,
        /// Whether it is sprayed.
        aerosol: Fact<bool>,
        /// Whether it must be put on away from the machine, heaters off.
        apply_away: Fact<bool>,
        /// What can go wrong with it.
        cautions: Option<Fact<Vec<String>>>,
    }
}

/// A nozzle: a bore in a metal.
#[derive(Debug, Clone, PartialEq)]
pub struct Nozzle {
    /// `hardened-steel 0.6`, or the name a shop gives it.
    pub name: String,
    /// Width of the hole, 0.4 mm being usual.
    pub bore: Length,
    /// Says how it wears and how well it leads heat.
    pub metal: NozzleMetal,
    /// Flow against a 0.4 mm bore, from the bore alone (the metal has its own factor).
    pub bore_flow: Ratio,
    /// Whether the shop knows it to be worn, as far as it says.
    pub worn: Option<bool>,
    /// How many of it the shop has.
    pub count: u32,
    /// Where the bore is stated.
    pub at: Span,
}

impl Nozzle {
    /// Names and shapes of what [`Nozzle::datum`] knows besides the fields of its metal.
    pub const FIELDS: &'static [Field] = &[
        Field { name: "name", shape: Shape::Text, needed: true, help: "the name the shop gives it" },
        Field { name: "bore", shape: Shape::Quantity(Dimension::LENGTH), needed: true, help: "diameter of the bore" },
        Field { name: "metal", shape: Shape::Text, needed: true, help: "what it is made of" },
        Field {
            name: "bore_flow",
            shape: Shape::Quantity(Dimension::NONE),
            needed: true,
            help: "volume flow against a 0.4 mm bore",
        },
    ];

    /// Returns a value by its name, of the nozzle or of its metal.
    pub fn datum(&self, name: &str) -> Option<Datum> {
        let stated = |value: Plain| Some(Datum { value, low: None, high: None, from: None, at: self.at });
        match name {
            "name" => stated(Plain::Text(self.name.clone())),
            "bore" => stated(Plain::Quantity(self.bore.into())),
            "metal" => stated(Plain::Word(self.metal.name.clone())),
            "bore_flow" => stated(Plain::Quantity(Quantity::from(self.bore_flow))),
            _ => self.metal.datum(name),
        }
    }
}
