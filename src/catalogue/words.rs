//! The closed sets of words of the catalogue.

use crate::word::words;

words! {
    /// How the polymer is built, which says what limits it in heat.
    pub enum Morphology {
        /// Limited by its glass transition.
        Amorphous = "amorphous",
        /// Limited by creep and oxidation, not by melting.
        SemiCrystalline = "semi-crystalline",
        /// Rubbery at room temperature.
        Elastomer = "elastomer",
    }
}
words! {
    /// Whether a warm chamber is needed.
    pub enum Need { None = "none", Helpful = "helpful", Required = "required" }
}
words! {
    /// How many bends a thin strip bears.
    pub enum Endurance { Few = "few", Some = "some", Many = "many" }
}
words! {
    /// A rough amount.
    pub enum Level { Low = "low", Medium = "medium", High = "high" }
}
words! {
    /// How strongly a part tends to lift from the bed.
    pub enum Warp { Low = "low", Medium = "medium", High = "high", VeryHigh = "very-high" }
}
words! {
    /// How an unprotected surface stands sun and weather.
    pub enum Weathering { Poor = "poor", Fair = "fair", Good = "good" }
}
words! {
    /// What is given off when printing, beyond fine particles, which every hot end gives off. The order ranks nothing but
    /// `none` and `low`; compare the others by name.
    pub enum Fumes {
        None = "none",
        Low = "low",
        Styrene = "styrene",
        Caprolactam = "caprolactam",
        Laurolactam = "laurolactam",
        Formaldehyde = "formaldehyde",
        Methacrylate = "methacrylate",
        Isocyanate = "isocyanate",
        Sulphur = "sulphur",
        Other = "other",
    }
}
words! {
    /// Hardness of a nozzle's bore against fillers.
    pub enum Hardness {
        /// Brass, bronze, copper: worn out of size by fibre and metal fillers.
        Soft = "soft",
        /// Stainless steel: outlasts brass, but not meant for fibres.
        Medium = "medium",
        Hardened = "hardened",
        /// Carbide, gemstone.
        VeryHard = "very-hard",
    }
}
words! {
    /// How well a first layer holds.
    pub enum Hold { None = "none", Weak = "weak", Good = "good", Strong = "strong", TooStrong = "too-strong" }
}
words! {
    /// What an agent does on a pair of material and surface.
    pub enum Role {
        /// It does nothing needed (or there is none).
        None = "none",
        /// The part would not hold without it.
        Adhesive = "adhesive",
        /// The part would hold too hard without it.
        Release = "release",
        /// It harms the surface, the part or the person.
        Forbidden = "forbidden",
    }
}
words! {
    /// How a material stands a chemical. `Unknown` is what must be treated as not shown.
    pub enum Stands { Unknown = "unknown", Poor = "poor", Limited = "limited", Good = "good", Excellent = "excellent" }
}
words! {
    /// How far a source was opened.
    pub enum Opened { Seen = "seen", Abstract = "abstract", Recalled = "recalled" }
}
words! {
    /// Whether a surface bends to let the part go.
    pub enum Flexes { Rigid = "rigid", Flex = "flex" }
}
words! {
    /// How filament is driven to the hot end.
    pub enum Drive {
        /// The drive sits on the hot end.
        Direct = "direct",
        /// The drive pushes through a guide tube.
        Bowden = "bowden",
    }
}
words! {
    /// How fast the hot end melts.
    pub enum MeltZone { Short = "short", Long = "long", VeryLong = "very-long" }
}
words! {
    /// What a calibration record measured.
    pub enum Measured {
        Hole = "hole",
        Outside = "outside",
        Overhang = "overhang",
        Bridge = "bridge",
        Flow = "flow",
        Shrinkage = "shrinkage",
        Gap = "gap",
    }
}
words! {
    /// How the measured feature lay.
    pub enum Axis {
        /// Its axis lies in the layers.
        AlongLayers = "along-layers",
        /// Its axis stands upright.
        AcrossLayers = "across-layers",
        X = "x",
        Y = "y",
        Z = "z",
    }
}
words! {
    /// How a spool is kept.
    pub enum Stored {
        Open = "open",
        /// A closed bag with desiccant.
        Bag = "bag",
        DryBox = "dry-box",
        /// As it came, not opened yet.
        Sealed = "sealed",
    }
}
