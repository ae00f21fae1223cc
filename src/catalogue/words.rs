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
    pub enum Need {
        /// The room will do.
        None = "none",
        /// Prints without, and warps less with it.
        Helpful = "helpful",
        /// Warps or splits without one.
        Required = "required",
    }
}
words! {
    /// How many bends a thin strip bears.
    pub enum Endurance {
        /// Breaks after a few.
        Few = "few",
        /// Tens of bends: opened now and then.
        Some = "some",
        /// A hinge in daily use.
        Many = "many",
    }
}
words! {
    /// A rough amount.
    pub enum Level {
        /// Little of it; seldom worth a precaution.
        Low = "low",
        /// Enough of it to reckon with.
        Medium = "medium",
        /// So much of it that it decides.
        High = "high",
    }
}
words! {
    /// How strongly a part tends to lift from the bed.
    pub enum Warp {
        /// Corners stay down.
        Low = "low",
        /// Corners of large flat parts may lift.
        Medium = "medium",
        /// Corners lift unless something is done about it.
        High = "high",
        /// Lifts, and may split between layers.
        VeryHigh = "very-high",
    }
}
words! {
    /// How an unprotected surface stands sun and weather.
    pub enum Weathering {
        /// Soon fades, cracks or turns brittle outdoors.
        Poor = "poor",
        /// Loses colour and strength slowly.
        Fair = "fair",
        /// Keeps outdoors without paint.
        Good = "good",
    }
}
words! {
    /// What is given off when printing, beyond fine particles, which every hot end gives off. The order ranks nothing but
    /// `none` and `low`; compare the others by name.
    pub enum Fumes {
        /// Nothing beyond the fine particles.
        None = "none",
        /// Little, and of no one vapour worth naming.
        Low = "low",
        /// Monomer vapour.
        Styrene = "styrene",
        /// Monomer vapour.
        Caprolactam = "caprolactam",
        /// Monomer vapour.
        Laurolactam = "laurolactam",
        /// A product of breakdown; it harms when breathed in.
        Formaldehyde = "formaldehyde",
        /// Monomer vapour with a strong smell.
        Methacrylate = "methacrylate",
        /// A product of breakdown; it can sensitise.
        Isocyanate = "isocyanate",
        /// Sulphur compounds, a product of breakdown.
        Sulphur = "sulphur",
        /// Another vapour; the entry's note may name it.
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
        /// Hardened tool steel: for fibre fillers.
        Hardened = "hardened",
        /// Carbide, gemstone.
        VeryHard = "very-hard",
    }
}
words! {
    /// How well a first layer holds.
    pub enum Hold {
        /// The first layer does not stay.
        None = "none",
        /// It stays under small parts, and lifts under large ones.
        Weak = "weak",
        /// It stays, and comes off when cold or with little force.
        Good = "good",
        /// It stays under parts that warp, and comes off with a blade or by bending the surface.
        Strong = "strong",
        /// The part does not come off without harm to it or to the surface.
        TooStrong = "too-strong",
    }
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
    pub enum Stands {
        /// No rating was found.
        Unknown = "unknown",
        /// Softens, swells or worse.
        Poor = "poor",
        /// Mildly attacked.
        Limited = "limited",
        /// Slightly attacked.
        Good = "good",
        /// No effect.
        Excellent = "excellent",
    }
}
words! {
    /// How far a source was opened.
    pub enum Opened {
        /// The text itself was read.
        Seen = "seen",
        /// Only its abstract was read.
        Abstract = "abstract",
        /// It is cited from memory.
        Recalled = "recalled",
    }
}
words! {
    /// Whether a surface bends to let the part go.
    pub enum Flexes {
        /// A plate that stays flat: the part is prised off or let go by cooling.
        Rigid = "rigid",
        /// A sheet that is taken off and bent.
        Flex = "flex",
    }
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
    pub enum MeltZone {
        /// The usual one; its flow is the figure `flow_short_melt_zone`.
        Short = "short",
        /// Made for high flow: the figure `flow_long_melt_zone`.
        Long = "long",
        /// Longer still, or the melt split: the figure `flow_very_long_melt_zone`.
        VeryLong = "very-long",
    }
}
words! {
    /// What a calibration record measured.
    pub enum Measured {
        /// Width of printed holes against the model.
        Hole = "hole",
        /// Width of printed outsides against the model.
        Outside = "outside",
        /// The flattest slope that still prints well without support.
        Overhang = "overhang",
        /// The longest bridge that prints well.
        Bridge = "bridge",
        /// The most the hot end melts, as volume per time.
        Flow = "flow",
        /// Long distances against the model.
        Shrinkage = "shrinkage",
        /// The smallest gap of a part printed in place that came free.
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
        /// It was measured along the machine's x.
        X = "x",
        /// It was measured along the machine's y.
        Y = "y",
        /// It was measured upward, across the layers.
        Z = "z",
    }
}
words! {
    /// How a spool is kept.
    pub enum Stored {
        /// In the room's air.
        Open = "open",
        /// A closed bag with desiccant.
        Bag = "bag",
        /// A closed box with desiccant that it is printed from.
        DryBox = "dry-box",
        /// As it came, not opened yet.
        Sealed = "sealed",
    }
}
