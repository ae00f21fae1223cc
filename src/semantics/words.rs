//! The closed sets of the spec and the words of the vocabulary they are written with, in one place and both ways.

use super::spec::{
    Ask, Back, Consequence, ContactKind, FitFinish, MeshUnit, Place, Preference, Series, Stage, SunExposure, Treatment,
    Wet,
};

/// Gives a closed set its words: `word` writes one, `read` reads it back.
macro_rules! words {
    ($type:ident { $($variant:ident = $word:literal $(| $other:literal)*),+ $(,)? }) => {
        impl $type {
            /// Returns the word it is written with in a spec.
            pub fn word(self) -> &'static str {
                match self { $(Self::$variant => $word,)+ }
            }

            /// Returns what a word of a spec stands for.
            pub fn read(word: &str) -> Option<Self> {
                match word { $($word $(| $other)* => Some(Self::$variant),)+ _ => None }
            }
        }
    };
}

words!(Stage { FitPrototype = "fit prototype", Functional = "functional", Production = "production" });
words!(Consequence { Nuisance = "nuisance", Damage = "damage", Injury = "injury" });
words!(MeshUnit {
    Micrometre = "µm" | "um",
    Millimetre = "mm",
    Centimetre = "cm",
    Metre = "m",
    Inch = "in" | "inch",
    Foot = "ft",
});
words!(Place {
    Indoors = "indoors",
    Outdoors = "outdoors",
    BehindGlass = "behind glass",
    VehicleCabin = "vehicle cabin",
    Dashboard = "dashboard",
    NearHeat = "near heat",
});
words!(SunExposure { None = "none", Shaded = "shaded", Direct = "direct" });
words!(Back { Free = "free", Covered = "covered" });
words!(Wet { Dry = "dry", Damp = "damp", Rain = "rain", Immersed = "immersed" });
words!(ContactKind { Vapour = "vapour", Splash = "splash", Wiped = "wiped", Immersed = "immersed" });
words!(Series { Fine = "fine", Medium = "medium", Coarse = "coarse" });
words!(FitFinish { AsPrinted = "as printed", Reamed = "reamed", Drilled = "drilled", Tapped = "tapped" });
words!(Treatment { Anneal = "anneal", Seal = "seal", Paint = "paint", Condition = "condition" });
words!(Preference { Strength = "strength", Finish = "finish", Speed = "speed", Cost = "cost" });
words!(Ask {
    ElectricalInsulation = "electrical insulation",
    MainsVoltage = "mains voltage",
    StaticDissipation = "static dissipation",
    FlameRetardance = "flame retardance",
    Food = "food contact",
    SkinContact = "skin contact",
    Toy = "toy",
    Lifting = "lifting",
    PeopleBeneath = "people beneath",
    Medical = "medical",
    Vibration = "vibration",
    Softness = "softness",
    ClearInside = "clear inside",
});

#[cfg(test)]
mod tests {
    use super::super::vocabulary as v;
    use super::*;

    #[test]
    fn every_word_of_the_vocabulary_is_read() {
        assert!(v::STAGES.iter().all(|w| Stage::read(w).is_some()));
        assert!(v::CONSEQUENCES.iter().all(|w| Consequence::read(w).is_some()));
        assert!(v::MESH_UNITS.iter().all(|w| MeshUnit::read(w).is_some()));
        assert!(v::PLACES.iter().all(|w| Place::read(w).is_some()));
        assert!(v::SUNS.iter().all(|w| SunExposure::read(w).is_some()));
        assert!(v::BACKS.iter().all(|w| Back::read(w).is_some()));
        assert!(v::WETS.iter().all(|w| Wet::read(w).is_some()));
        assert!(v::CONTACTS.iter().all(|w| ContactKind::read(w).is_some()));
        assert!(v::SERIES.iter().all(|w| Series::read(w).is_some()));
        assert!(v::FINISHES.iter().all(|w| FitFinish::read(w).is_some()));
        assert!(v::TREATMENTS.iter().all(|w| Treatment::read(w).is_some()));
        assert!(v::PREFERENCES.iter().all(|w| Preference::read(w).is_some()));
        assert!(v::ASKS.iter().all(|w| Ask::read(w).is_some()));
    }
}
