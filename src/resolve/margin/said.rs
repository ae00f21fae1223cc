//! What is said of a margin, its numbers still numbers. `render::words::margins` has the English of each.

use std::sync::Arc;

use crate::catalogue::Figure;
use crate::catalogue::words::{Stands, Weathering};
use crate::fits::press::Interference;
use crate::fits::said as fits;
use crate::geometry::vector::Vector;
use crate::quantity::{
    Area, Duration, Expansion, Force, Length, Quantity, Stress, Temperature, TemperatureDifference, Torque,
};
use crate::resolve::elastic::NotKnown;
use crate::resolve::heat::Sum;
use crate::resolve::strain::Bent;
use crate::resolve::strength::said::{BearsPressed, Buckles, Gives, Stiffness};
use crate::resolve::strength::{Lasting, Sums, Thick};
use crate::semantics::spec::{Impact, Opened};

use super::Verdict;

/// A margin as it is told.
#[derive(Debug, Clone, PartialEq)]
pub enum Said {
    /// Asked, and not shown.
    NotShown(NotShown),
    Heat {
        gets: Temperature,
        limit: Ends<Temperature>,
        spare: TemperatureDifference,
        working: Arc<Sum>,
        /// With the unfavourable end of each figure, where that is more; whether the sun heats it.
        hottest: Option<(Temperature, bool)>,
    },
    Sun {
        wanted: Duration,
        life: Ends<Duration>,
        ratio: f64,
        weathering: Weathering,
        /// It is painted, and from one coat to the next nobody said how long.
        coat_unsaid: bool,
    },
    Cold {
        gets: Temperature,
        limit: Ends<Temperature>,
        spare: TemperatureDifference,
    },
    Contact {
        at: Option<Temperature>,
        /// And the class of chemicals that is known of.
        stands: Option<(Stands, String)>,
        /// In which it may crack under load.
        may_crack: bool,
        /// And would do but for that.
        only_cracks: bool,
    },
    Load {
        demand: Stress,
        /// Of a solid part.
        solid: Stress,
        ratio: f64,
        /// With typical strengths.
        typical: f64,
        printed: Printed,
        /// How far apart two grids are, as a share, where that alone leaves open whether it holds.
        coarse: Option<f64>,
        sums: Option<Arc<Sums>>,
        moves: Option<Unlimited>,
        thicker: Option<Thicker>,
    },
    Together {
        /// Of what is borne, as a share.
        taken: f64,
        ratio: f64,
        printed: Printed,
        combination: Combination,
    },
    Buckling {
        size: Option<Quantity>,
        ratio: f64,
        foam: Option<Foam>,
        working: Buckles,
        /// By what share it would have to be thicker and wider throughout.
        thicker: Option<f64>,
    },
    Bearing {
        /// What presses, and on how much.
        force: Force,
        area_mm2: f64,
        /// Whether the edges of flats are pressed, and counted.
        edge: bool,
        /// The hold, or the load where it acts.
        of: String,
        acts: bool,
        /// With what acts at the same time, factors counted.
        demand: Stress,
        solid: Stress,
        ratio: f64,
        typical: f64,
        infill: f64,
        share: f64,
        working: BearsPressed,
        wider: Option<Thicker>,
    },
    Deflection {
        tip: Length,
        /// Were it solid.
        solid: Length,
        allowed: Length,
        ratio: f64,
        foam: Option<Foam>,
        working: Gives,
    },
    Pressure {
        pressure: Stress,
        bore: Length,
        /// `None` where none is thick enough.
        wanted: Option<Length>,
        wall: Length,
        ratio: f64,
        working: Lasting,
    },
    /// More than lasts, whatever the wall.
    PressureTooMuch {
        pressure: Stress,
        wall: Option<Length>,
        working: Option<Lasting>,
    },
    Wall {
        wanted: Length,
        found: Length,
        at: Vector,
        spare: Length,
        /// By how much facets may make it look thinner.
        facets: Length,
        /// What tapers to less.
        edge: Option<(Length, Vector)>,
    },
    Slit {
        wanted: Length,
        nozzle: String,
        gap: Length,
        at: Option<Vector>,
    },
    BedRoom {
        /// Of the footprint, brim counted.
        sides: [Length; 2],
        brim: Length,
        bed: [Length; 2],
        edge: Length,
        room: Length,
    },
    Depth {
        wanted: Length,
        there: Length,
        through: bool,
        need: Need,
        from: DepthFrom,
    },
    Boss {
        /// By the usual table.
        wanted: Length,
        /// What it must not be thinner than.
        least: Length,
        /// Solid round the hole.
        wall: Length,
        /// Infill behind that.
        behind: Option<Length>,
        across: Length,
        enough: bool,
    },
    Strain {
        strain: f64,
        breaks: f64,
        /// Shares of the elongation at break that may be used once and often, and whose figures they are.
        once: f64,
        often: f64,
        kind: crate::catalogue::SourceKind,
        ratio: f64,
        /// Whether it is strained across the layers, where that is known, and the share that counts then.
        lies: Option<bool>,
        across: f64,
        bent: Bent,
        folds: Vec<fits::Caution>,
        /// How often it is opened, where that was said.
        opened: Option<Opened>,
    },
    Gap {
        free: Length,
        gap: Length,
        eye: Length,
        pin: Length,
        /// Whether the workshop has tried it.
        proven: bool,
    },
    Press(Box<Press>),
    Grip(Box<Grip>),
}

/// What keeps a margin from being shown.
#[derive(Debug, Clone, PartialEq)]
pub struct NotShown {
    pub demand: Demand,
    /// What is allowed, where that is what is known.
    pub allowed: Option<Length>,
    pub why: Why,
}

/// What is asked of a margin that is not shown.
#[derive(Debug, Clone, PartialEq)]
pub enum Demand {
    /// It is not said.
    Unsaid,
    Unknown,
    /// A load's size, a time.
    Size(Quantity),
    Stress(Stress),
    Sun(Duration),
    Knocks(Temperature),
    Blow(Impact),
    Wall(Length),
    Bar(Stress),
    Strain(f64),
    Pressed(Interference),
}

/// Why a margin is not shown.
#[derive(Debug, Clone, PartialEq)]
pub enum Why {
    /// What the load does is not known.
    NotKnown(NotKnown),
    /// The stresses of a field could not be solved, by its own words.
    Unsolved(Arc<str>),
    /// It moves further than small displacements.
    MovesFar {
        moves: Length,
        most: Length,
    },
    /// It closes a gap of the part before all of it acts.
    Closes {
        gap: Length,
        at: Vector,
        /// What of it acts then, and how many times as large that could be.
        load: Quantity,
        bears: f64,
    },
    Together(NotKnown),
    Blow {
        /// Whether softness may have been meant, and was not asked for.
        soft_unasked: bool,
    },
    HangsOnGrid(Buckles),
    NoLoad,
    NoWall,
    NoBore,
    NoEye,
    NoLife,
    NoBrittlePoint,
    NoElongation(Bent, Vec<fits::Caution>),
    NoStiffness,
    NoHole,
}

/// How far a load moves the part where it acts and nobody limited that, beside what is usual at that lever.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unlimited {
    pub moves: Length,
    pub usual: Length,
    pub lever: Length,
    /// Beyond this, what is computed for small displacements says little.
    pub most: Length,
    /// What of the modulus is counted.
    pub modulus: Stiffness,
}

/// A figure with its ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ends<T> {
    pub typical: T,
    pub low: T,
    pub high: T,
}

impl<T: Copy> Ends<T>
where
    T: Into<Quantity>,
{
    pub(super) fn of(figure: &Figure<T>) -> Self {
        Self { typical: figure.typ, low: figure.low(), high: figure.high() }
    }
}

/// How much of a section that is not solid counts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Printed {
    pub infill: f64,
    /// Of its strength, at least and at most.
    pub share: f64,
    pub best: f64,
    /// Its area, and how long its outlines are; `None` where nothing is known of it, or it is solid.
    pub section: Option<(Area, Length)>,
}

/// A part whose stiffness is that of a foam throughout.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Foam {
    pub infill: f64,
    /// Of the stiffness of a solid.
    pub share: f64,
}

/// How thick a place that breaks would have to be, or how wide what presses on it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Thicker {
    /// So thick, by the law of sections.
    To { wanted_mm: f64, place: Thick },
    /// Pressed on so much, as by a washer or a wider patch.
    Wider { wanted_mm2: f64, there_mm2: f64 },
    /// Flats so many times as long along what turns between them.
    Longer { times: f64 },
    /// No thickness within so many times what is there: that would be another part.
    Beyond { times: f64, place: Thick },
}

/// Where a load presses on the part.
#[derive(Debug, Clone, PartialEq)]
pub enum Presses {
    /// Where it acts.
    Acting,
    /// On what holds the part, as `fit "key"`.
    On(String),
}

/// Loads at once, and what each takes where they fail it first.
#[derive(Debug, Clone, PartialEq)]
pub struct Combination {
    pub at: Vector,
    pub loads: Vec<Taken>,
}

/// What a load of a combination takes by itself.
#[derive(Debug, Clone, PartialEq)]
pub struct Taken {
    pub load: Arc<str>,
    /// `None` where they were solved as one.
    pub share: Option<f64>,
    /// Whether it counts there: one that relieves the others does not.
    pub counts: bool,
}

/// What a depth is held against.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Need {
    /// An insert, and room for melt below it.
    Insert { length: Length, below: Length },
    /// Diameters that a thread is to be engaged over: usual, and at the least.
    Thread { usual: f64, least: f64 },
    /// A magnet and what bonds it in.
    Magnet { bond: Length },
}

/// Where a depth is from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DepthFrom {
    SpecUnmeasured,
    Spec,
    Mesh,
}

/// A ring about a pin pressed into it.
#[derive(Debug, Clone, PartialEq)]
pub struct Press {
    pub hoop: Stress,
    pub strength: Stress,
    pub ratio: f64,
    pub coldest: Temperature,
    pub interference: Interference,
    /// The largest on the coldest day.
    pub tight: Length,
    pub pressure: Stress,
    /// Whether ribs crush first, and what a full ring would take then.
    pub full: Option<Stress>,
    pub lies: RingLies,
    pub wall: Length,
    pub diameter: Length,
}

/// How the pull round a hole runs in the print.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RingLies {
    InLayers,
    AcrossLayers,
}

/// What holds a pressed pin in the end.
#[derive(Debug, Clone, PartialEq)]
pub struct Grip {
    pub time: Duration,
    /// Whether the spec says how long.
    pub time_stated: bool,
    pub hottest: Temperature,
    pub left: Force,
    pub torque: Torque,
    pub first: Force,
    /// Of the loosest pair, when made and on the hottest day.
    pub fresh: Length,
    pub loose: Length,
    pub steel: Expansion,
    pub plastic: Expansion,
    pub friction: f64,
    pub length: Length,
}

/// A part of what is said of a margin.
#[derive(Debug, Clone, PartialEq)]
pub struct OfMargin {
    pub said: Arc<Said>,
    pub part: Part,
}

/// What of a margin is said: what is asked, what is there, what lies between, what that rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    Demand,
    Capacity,
    Spare,
    Basis,
}

impl Said {
    /// Whether there are words for a part of it.
    pub fn says(&self, part: Part) -> bool {
        match (self, part) {
            (Said::NotShown(_), Part::Spare) | (Said::Contact { .. }, Part::Spare) => false,
            (Said::NotShown(said), Part::Demand) => said.demand != Demand::Unsaid,
            (Said::Contact { may_crack, .. }, Part::Basis) => *may_crack,
            _ => true,
        }
    }
}

impl From<NotShown> for Said {
    fn from(said: NotShown) -> Self {
        Said::NotShown(said)
    }
}

impl NotShown {
    pub(super) fn new(demand: Demand, why: Why) -> Self {
        Self { demand, allowed: None, why }
    }
}

/// Whether a verdict needs advice.
pub(super) fn is_enough(verdict: Option<Verdict>) -> bool {
    verdict == Some(Verdict::Holds)
}
