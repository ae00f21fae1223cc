//! What is taken of a load that its spec does not say, why a load makes no case, and why nothing is known of what it does: as
//! data. `render::words::cases` has the English of each.

use std::sync::Arc;

use crate::geometry::vector::Vector;
use crate::quantity::{Area, Duration, Length, Temperature};

/// What is taken of a load.
#[derive(Debug, Clone, PartialEq)]
pub struct Assumed {
    /// The load's name.
    pub load: String,
    pub taken: Taken,
}

impl Taken {
    /// Whether it is so, and no answer of the spec's writer changes it: a note, and no question.
    pub fn is_a_note(&self) -> bool {
        matches!(
            self,
            Taken::NotGlued { .. }
                | Taken::Tightened { .. }
                | Taken::Squeezed { .. }
                | Taken::UnderHead { .. }
                | Taken::InCone { .. }
        )
    }
}

/// What is taken for granted.
#[derive(Debug, Clone, PartialEq)]
pub enum Taken {
    /// A place given without a size lies in a hole so large, and stands for that.
    InHole {
        held: bool,
        across: Length,
    },
    /// A place without a size stands for a patch so large.
    Spot(Length),
    /// A patch of a stated size finds less of the part.
    LessThere {
        asked: Area,
        found: Area,
    },
    /// A face lies in a plane that the part stands on at several places.
    AllPlaces {
        face: String,
        places: usize,
    },
    /// A face is a flat of a fit, and what sits there only pushes.
    NotGlued {
        face: String,
        fit: String,
    },
    /// What screws are tightened with does not count.
    Tightened {
        thread: String,
    },
    /// What a fit squeezes or spreads the part with does not count.
    Squeezed {
        fit: String,
    },
    /// The ring under a screw's head.
    UnderHead {
        thread: String,
        across: Length,
    },
    /// The cone that a countersunk head sits in.
    InCone {
        thread: String,
    },
    /// The side of the part that heads are on.
    HeadsToward {
        fit: String,
        toward: Vector,
    },
    /// It does not say how long it is held.
    Held(Duration),
    /// It comes again and again and does not say how often.
    Comes(f64),
    /// The greatest heat counts for all of the time it is held.
    WarmThroughout {
        at: Temperature,
        held: Duration,
    },
    /// The sun heats it so for a share of the time, halfway for another, and else it is as warm as the warmest air.
    InTheSun {
        hottest: (Temperature, f64),
        plain: (Temperature, f64),
        air: Temperature,
    },
    /// For the statics of a beam: where the part is held, where the load acts, which way it acts or turns.
    HeldAtLargest {
        area: Area,
        facing: Vector,
    },
    AtFarthest(Vector),
    Pushing,
    Turning,
}

/// Why a load makes no problem: what is missing or wrong, and what to write.
#[derive(Debug, Clone, PartialEq)]
pub enum Unsaid {
    /// Nothing says where the part is held under the load.
    Hold {
        load: String,
    },
    HeldWithin,
    NoFace {
        face: String,
    },
    /// The mesh has no such face as it is described.
    FaceNotFound {
        face: String,
    },
    NoRound {
        face: String,
    },
    /// The mesh has no hole or pin of it.
    NoSeat {
        fit: String,
    },
    /// The tables have no head of such a screw.
    NoHead {
        thread: String,
    },
    /// Nothing flat for a head to press on about a hole, by the hole's words.
    NoRing {
        hole: String,
        across: Length,
    },
    At {
        load: String,
    },
    Toward {
        load: String,
    },
    Axis {
        load: String,
    },
    /// It acts inside and is no pressure.
    Inside {
        load: String,
    },
    EnclosesNothing,
    PressureExtent,
    PressureThroughout,
    OffThePart,
    /// It acts at a place that far off the part.
    InTheAir {
        load: String,
        off: Length,
        nearest: Vector,
    },
}

/// Why nothing is known of what a load does.
#[derive(Debug, Clone, PartialEq)]
pub enum NotKnown {
    Unsaid(Unsaid),
    /// The field could not be solved, by its own words, and where.
    Refused {
        why: Arc<str>,
        at: Option<Vector>,
    },
    /// The equations could not be solved on as fine a grid as is wanted, by the words of the field.
    OnGrid {
        cells: usize,
        cell: Length,
        why: Arc<str>,
    },
    NotSolved,
    /// No such load, material or pose.
    NoSuch(Of),
    NoLoads,
    /// How warm the part gets.
    Warmth,
    /// Nothing that is looked at is stressed.
    Unstressed,
    /// Stresses that cannot be added, since they are not at the same places.
    NotTogether,
    /// What the part rests on only pushes, and the loads were not solved as one.
    NotAsOne,
    /// By the words of the law that could not be applied.
    Law(Arc<str>),
}

/// What a number stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Of {
    Load,
    Material,
    Pose,
}

impl From<Unsaid> for NotKnown {
    fn from(unsaid: Unsaid) -> Self {
        Self::Unsaid(unsaid)
    }
}

/// Laws of physics tell in words why they do not apply.
impl From<String> for NotKnown {
    fn from(why: String) -> Self {
        Self::Law(why.into())
    }
}
