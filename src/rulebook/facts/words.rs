//! The words facts are told in, where they are not the catalogue's.

use crate::catalogue::words::Stands;
use crate::semantics::spec::{Ask, Back, Consequence, ContactKind, Course, Opened, Place, Stage, SunExposure, Wet};
use crate::word::{worded, words};

worded!(Place {
    Indoors = "indoors",
    Outdoors = "outdoors",
    BehindGlass = "behind-glass",
    VehicleCabin = "vehicle-cabin",
    Dashboard = "dashboard",
    NearHeat = "near-heat",
});
worded!(SunExposure { None = "none", Shaded = "shaded", Direct = "direct" });
worded!(Back { Free = "free", Covered = "covered" });
worded!(Wet { Dry = "dry", Damp = "damp", Rain = "rain", Immersed = "immersed" });
worded!(Stage { FitPrototype = "fit-prototype", Functional = "functional", Production = "production" });
worded!(Opened { Seldom = "seldom", Often = "often" });
worded!(Consequence { Nuisance = "nuisance", Damage = "damage", Injury = "injury" });
worded!(ContactKind { Vapour = "vapour", Splash = "splash", Wiped = "wiped", Immersed = "immersed" });
worded!(Course { Steady = "steady", Shock = "shock", Cyclic = "cyclic" });
worded!(Ask {
    ElectricalInsulation = "insulation",
    MainsVoltage = "mains",
    StaticDissipation = "static",
    FlameRetardance = "flame",
    Food = "food",
    SkinContact = "skin",
    Toy = "toy",
    Lifting = "lifting",
    PeopleBeneath = "people-beneath",
    Medical = "medical",
    Vibration = "vibration",
    Softness = "softness",
    ClearInside = "clear-inside",
});

words! {
    /// How a material stands a chemical, where that is known.
    pub enum Rating { Poor = "poor", Limited = "limited", Good = "good", Excellent = "excellent" }
}
words! {
    /// What a fit does.
    pub enum Function {
        Clearance = "clearance",
        Sliding = "sliding",
        Press = "press",
        Bearing = "bearing",
        Iso = "iso",
        /// A size with limits of its own.
        Sized = "sized",
        /// The width of a slot.
        Slot = "slot",
        /// A square, or the socket for one.
        Square = "square",
        /// A rectangular pocket, or the tongue in it.
        Pocket = "pocket",
        /// The rim of a box, or the lip of its lid.
        Lid = "lid",
        /// The groove of an O-ring.
        Groove = "groove",
        /// The width of a keyway.
        Keyway = "keyway",
        /// How far two axes are apart.
        Distance = "distance",
        Thread = "thread",
        Insert = "insert",
        Nut = "nut",
        Dowel = "dowel",
        Magnet = "magnet",
        Hinge = "hinge",
        Snap = "snap",
    }
}
words! {
    /// How a fitted feature gets its size.
    pub enum Route {
        Print = "print",
        Ream = "ream",
        Drill = "drill",
        Tap = "tap",
        Insert = "insert",
        Glue = "glue",
        Ribs = "ribs",
        File = "file",
        Try = "try",
        PrintThread = "print-thread",
        OpenWhereTight = "open-where-tight",
        TryTheArm = "try-the-arm",
        SetOut = "set-out",
        Turn = "turn",
        Buy = "buy",
    }
}
words! {
    /// What the mesh holds of a fit.
    pub enum Modelled {
        /// Nothing was found.
        Unknown = "unknown",
        Nominal = "nominal",
        /// The size to model.
        Compensated = "compensated",
        /// The size to model, with the correction in it once more.
        Twice = "twice",
        /// Another size.
        Other = "other",
    }
}
words! {
    /// The policy of support.
    pub enum SupportKind { None = "none", WhereNeeded = "where-needed" }
}

impl Rating {
    /// Returns a rating of the catalogue; an unknown one is none.
    pub fn of(stands: Stands) -> Option<Self> {
        match stands {
            Stands::Unknown => None,
            Stands::Poor => Some(Self::Poor),
            Stands::Limited => Some(Self::Limited),
            Stands::Good => Some(Self::Good),
            Stands::Excellent => Some(Self::Excellent),
        }
    }
}

words! {
    /// The verdict on a margin, worst first.
    pub enum MarginVerdict {
        /// The demand is above the capacity.
        Broken = "broken",
        /// Something it rests on is not known.
        NotShown = "unshown",
        /// Holds, but by less than is asked for what a failure would do.
        Narrow = "narrow",
        /// Computed, and by enough.
        Holds = "holds",
    }
}
