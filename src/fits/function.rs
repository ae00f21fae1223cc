//! From what a fit is for to the limits the finished feature must keep.

mod pressed;
mod sized;
mod threaded;

pub use pressed::usual_interference;
use pressed::{bearing_seat, dowel, press, stretched};
use sized::{distance, flats, iso, keyway, lid, ring_groove, sized, slot, stated};
use threaded::{clearance, head, insert, nut, printed_thread, thread};

use super::feature::{FeatureContext, FeatureKind};
use super::groove::Seat;
use super::hardware;
use super::hardware::{Dimension, Series};
use super::iso286::Grade;
use super::practice::{Practice, Room};
use super::said::{Caution, Gauge, Named, Reason};
use super::{FitError, Provenance, SourceKind};
use crate::quantity::{Length, trim_number};
use crate::seen::Seen;

/// What a fit is for. Sizes are the nominal sizes of the drawing.
#[derive(Debug, Clone, PartialEq)]
pub enum FitFunction {
    /// A screw passes through.
    Clearance {
        /// The screw's thread, `M5`.
        thread: String,
        /// How wide the hole is, by ISO 273.
        series: Series,
    },
    /// Another part slides or turns in it by hand.
    Sliding {
        /// Diameter of the part that moves in it.
        size: Length,
        /// Play wanted on the diameter; none takes the usual room.
        play: Option<Length>,
    },
    /// A pin or bush is pressed in; smallest and largest interference on the diameter, or the usual one.
    Press {
        /// Diameter of the pin or bush.
        size: Length,
        /// Smallest and largest interference wanted, on the diameter.
        interference: Option<(Length, Length)>,
    },
    /// Seat of a deep-groove bearing: the housing for a hole, the shaft for an outside feature.
    BearingSeat {
        /// The bearing's number, `608`.
        designation: String,
    },
    /// An ISO 286 class (`H9`) or pair (`H9/h6`, of which the feature takes its own member).
    Iso {
        /// Nominal size.
        size: Length,
        /// The class or pair as written.
        symbol: String,
    },
    /// A size with the limits the spec states, which the context carries.
    Sized {
        /// Nominal size.
        size: Length,
    },
    /// The room between two flat walls.
    Slot {
        /// Nominal width.
        size: Length,
        /// The class as written; none where the spec states limits.
        symbol: Option<String>,
    },
    /// A socket between flats all about, or the tongue or square in it.
    Flats {
        /// Nominal width.
        size: Length,
        /// Nominal length; none of a square.
        length: Option<Length>,
        /// The class as written; none takes the usual play, or the limits the spec states.
        symbol: Option<String>,
    },
    /// The rim of a box, or the lip of its lid.
    Lid {
        /// Width, or diameter of a round one.
        size: Length,
        /// Length; none of a round one.
        length: Option<Length>,
    },
    /// The groove of an O-ring.
    Groove {
        /// Where it is.
        seat: Seat,
        /// Inside of the ring.
        inside: Length,
        /// Section of the ring.
        section: Length,
    },
    /// The keyway of a hub for a parallel key.
    Keyway {
        /// Diameter of the shaft.
        shaft: Length,
    },
    /// How far two axes are apart, with the limits the spec states.
    Distance {
        /// Nominal distance.
        size: Length,
    },
    /// A metric thread, cut after printing.
    Thread {
        /// Thread and pitch, `M10x1.25`; the coarse pitch may be left out.
        designation: String,
    },
    /// A heat-set threaded insert.
    Insert {
        /// The insert's inner thread, `M5`.
        thread: String,
    },
    /// A dowel pin that locates.
    Dowel {
        /// Diameter of the pin.
        size: Length,
    },
    /// A hinge on a pin; `in_place` when pin and eye are printed together.
    Hinge {
        /// Diameter of the pin.
        pin: Length,
        /// Pin and eye are printed together.
        in_place: bool,
    },
    /// The width of a snap hook or of its window.
    Snap {
        /// Width of hook or window.
        size: Length,
    },
    /// A pocket for a hexagon nut.
    Nut {
        /// The nut's thread, `M6`.
        thread: String,
    },
    /// A counterbore for a socket screw's head.
    Head {
        /// The screw's thread, `M5`.
        thread: String,
    },
    /// A pocket for a disc magnet.
    Magnet {
        /// Diameter of the disc.
        diameter: Length,
        /// Thickness of the disc, which sets the pocket's depth.
        thickness: Option<Length>,
    },
}

/// Smallest and largest size.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// Least size, on the diameter.
    pub low: Length,
    /// Greatest size, on the diameter.
    pub high: Length,
}

impl Limits {
    /// Takes the least and the greatest size.
    pub const fn new(low: Length, high: Length) -> Self {
        Self { low, high }
    }

    /// Returns the tolerance: greatest less least.
    pub fn width(&self) -> Length {
        Length::um(self.high.to_um() - self.low.to_um())
    }

    /// Returns the size half-way between.
    pub fn middle(&self) -> Length {
        Length::um((self.high.to_um() + self.low.to_um()) / 2.0)
    }
}

/// How a feature is brought to size where printing alone cannot.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FinishKind {
    /// Cut the hole to an ISO class with a reamer.
    Ream,
    /// Open the hole with a twist drill.
    Drill,
    /// Cut a thread with a tap.
    Tap,
    /// Set a threaded insert with heat.
    SetInsert,
    /// Print with clearance, then clamp (a split with a screw) or bond.
    ClampOrBond,
    /// Print with clearance for a bought bush, and bond it in.
    Bush,
    /// Turn, file or sand an outside feature.
    Turn,
    /// File or scrape between flat walls, measured on the way.
    File,
    /// Use a bought metal pin instead of the printed one.
    MetalPin,
    /// Crush ribs in the model, inside a hole that is printed with room.
    CrushRibs,
    /// Drill to the insert's hole, then set it.
    DrillAndSetInsert,
    /// Try each piece with its mate; scrape or file where it binds.
    TryAndFit,
    /// Print the thread itself, and run its screw through.
    PrintThread,
    /// Try a through hole with its screw; drill only those that bind.
    OpenWhereTight,
    /// Bring two features to their distance by more than printing: one is drilled through the mate or a template, or filed from
    /// the other.
    SetOut,
    /// Try a spring with its mate; print it again with another thickness, since a filed arm breaks at the scratch.
    TryTheArm,
}

/// What the finished feature must be.
#[derive(Debug, Clone, PartialEq)]
pub struct Demand {
    /// What the fit is, with its size.
    pub named: Named,
    /// Diameter or width the fit is named by.
    pub nominal: Length,
    /// Limits of the finished feature.
    pub limits: Limits,
    /// Where within the limits a printed feature is aimed at.
    pub aim: Length,
    /// Where the limits come from.
    pub source: Provenance,
    /// The ISO grade asked for, if one was.
    pub grade: Option<Grade>,
    /// A rubbery print holds its mate by being stretched or squeezed.
    pub stretches: bool,
    /// Ways to reach the limits where printing does not, best first.
    pub finishes: Vec<FinishKind>,
    /// Whether the first of the finishes is done in any case (a tap, an insert).
    pub always: bool,
    /// What it is tried with, where a measuring tool would tell less than the mate.
    pub gauge: Option<Gauge>,
    /// Depths, bosses, drills and the like that belong to the fit.
    pub companions: Vec<Dimension>,
    /// Why these limits.
    pub reasons: Vec<Reason>,
    /// Where somebody or the part could come to harm.
    pub cautions: Vec<Caution>,
}

pub(crate) fn mm(length: Length) -> String {
    format!("{} mm", trim_number(length.to_mm(), 3))
}

fn plus(length: Length, by_mm: f64) -> Length {
    Length::um(length.to_um() + by_mm * 1000.0)
}

impl Room {
    /// Returns both ends in millimetres.
    fn ends(&self) -> (f64, f64) {
        (self.least.to_mm(), self.most.to_mm())
    }

    /// Returns a size with this room over it.
    fn over(&self, size: Length) -> Limits {
        Limits::new(plus(size, self.least.to_mm()), plus(size, self.most.to_mm()))
    }

    /// Returns a size with the larger end either way.
    fn either_way(&self, size: Length) -> Limits {
        Limits::new(plus(size, -self.most.to_mm()), plus(size, self.most.to_mm()))
    }

    fn source(&self, what: &str, how: &str) -> Provenance {
        Provenance::owned(self.kind, format!("{what} {} {how}", self.in_words()))
    }
}

fn checked(size: Length, what: &str) -> Result<Length, FitError> {
    let value = size.to_mm();
    if value.is_finite() && value > 0.0 && value <= 3150.0 {
        return Ok(size);
    }
    let part = format!("{} mm", trim_number(value, 3));
    Err(FitError::new(part.clone(), format!("{part} is no size for {what}"), "sizes are over 0 up to 3150 mm"))
}

const PLAY: Provenance =
    Provenance::new(SourceKind::Computed, "half to one and a half times the play the spec states, on the diameter");
impl FitFunction {
    /// Returns the size by which the feature is found in the mesh.
    pub fn nominal(&self, kind: FeatureKind, practice: &Practice) -> Result<Length, FitError> {
        self.demand_for(kind, &Seen::default(), practice).map(|d| d.nominal)
    }

    /// Returns what the finished feature must be.
    pub fn demand(&self, context: &FeatureContext) -> Result<Demand, FitError> {
        let mut demand = self.demand_for(context.kind, &context.tools.inserts, &context.practice)?;
        if context.flat {
            demand.finishes.retain(|f| !matches!(f, FinishKind::Ream | FinishKind::Drill | FinishKind::Turn));
            if demand.finishes.is_empty() {
                demand.finishes.push(FinishKind::TryAndFit);
            }
        }
        if let Some(printed) = printed_thread(self, context)? {
            demand = printed;
        }
        if context.within.is_some() {
            // Limits of a drawing are kept, where a screw alone only has to pass.
            demand.finishes.retain(|f| *f != FinishKind::OpenWhereTight);
        }
        if context.second.is_some() {
            // Whatever turns cuts a flat away.
            demand.finishes = vec![FinishKind::TryAndFit];
            demand.gauge = Some(Gauge::MateAndCaliper);
        }
        if context.wall.is_some() {
            demand.gauge = Some(Gauge::FaceToPin);
            demand.reasons.retain(|r| *r != Reason::DistanceOtherwise);
            demand.reasons.push(Reason::FaceOtherwise);
        }
        if matches!(self, Self::Flats { .. }) && context.kind == FeatureKind::Hole {
            let relief = Length::mm(context.practice.corner_relief * context.nozzle_bore.to_mm());
            demand.reasons.push(Reason::Corners(relief));
        }
        if context.flexible && context.within.is_none() && self.grips(&demand, context.kind) {
            demand = stretched(demand, context);
        }
        match context.within {
            Some(within) => stated(demand, within),
            None => Ok(demand),
        }
    }

    /// Returns what the finished feature must be by its function alone, whatever prints it.
    ///
    /// # Errors
    ///
    /// Says what of the sizes is wrong.
    pub fn limits(&self, kind: FeatureKind, practice: &Practice) -> Result<Demand, FitError> {
        self.demand_for(kind, &Seen::default(), practice)
    }

    fn demand_for(
        &self,
        kind: FeatureKind,
        inserts: &Seen<Vec<hardware::InsertData>>,
        practice: &Practice,
    ) -> Result<Demand, FitError> {
        self.check_kind(kind)?;
        match self {
            Self::Clearance { thread, series } => clearance(thread, *series),
            Self::Sliding { size, play } => sliding(checked(*size, "a sliding fit")?, *play, kind, practice),
            Self::Press { size, interference } => press(checked(*size, "a press fit")?, *interference, kind, practice),
            Self::BearingSeat { designation } => bearing_seat(designation, kind, practice),
            Self::Iso { size, symbol } => iso(checked(*size, "an ISO 286 fit")?, symbol, kind, practice),
            Self::Sized { size } => Ok(sized(checked(*size, "a bore or shaft")?, kind)),
            Self::Slot { size, symbol } => slot(checked(*size, "a slot")?, symbol.as_deref(), practice),
            Self::Flats { size, length, symbol } => {
                let width = checked(*size, "a square, a pocket or a tongue")?;
                length.map_or(Ok(width), |l| checked(l, "a pocket or a tongue"))?;
                flats(width, *length, symbol.as_deref(), kind, practice)
            }
            Self::Lid { size, length } => {
                let width = checked(*size, "a rim or a lip")?;
                length.map_or(Ok(width), |l| checked(l, "a rim or a lip"))?;
                Ok(lid(width, *length, kind, practice))
            }
            Self::Groove { seat, inside, section } => ring_groove(*seat, *inside, *section, practice),
            Self::Keyway { shaft } => keyway(checked(*shaft, "a shaft")?),
            Self::Distance { size } => Ok(distance(checked(*size, "a distance")?)),
            Self::Thread { designation } => thread(designation),
            Self::Insert { thread } => insert(thread, inserts, practice),
            Self::Dowel { size } => dowel(checked(*size, "a dowel")?, practice),
            Self::Hinge { pin, in_place } => Ok(hinge(checked(*pin, "a hinge pin")?, *in_place, kind, practice)),
            Self::Snap { size } => Ok(snap(checked(*size, "a snap hook")?, kind, practice)),
            Self::Nut { thread } => nut(thread, practice),
            Self::Head { thread } => head(thread, practice),
            Self::Magnet { diameter, thickness } => magnet(*diameter, *thickness, practice),
        }
    }

    /// Returns whether what a fit asks for is to hold on its mate by force: the whole zone lies beyond the mate's size.
    pub fn grips(&self, demand: &Demand, kind: FeatureKind) -> bool {
        let [low, high, size] = [demand.limits.low, demand.limits.high, demand.nominal].map(|l| l.to_um());
        match (self, kind) {
            (Self::Press { .. }, _) | (Self::BearingSeat { .. }, FeatureKind::Hole) => true,
            (Self::Iso { .. }, FeatureKind::Hole) => high <= size && low < size,
            (Self::Iso { .. }, FeatureKind::Outside) => low >= size && high > size,
            _ => false,
        }
    }

    fn check_kind(&self, kind: FeatureKind) -> Result<(), FitError> {
        let only_holes = match self {
            Self::Clearance { .. } => "a clearance fit",
            Self::Slot { .. } => "a slot",
            Self::Keyway { .. } => "a keyway",
            Self::Insert { .. } => "an insert",
            Self::Dowel { .. } => "a dowel fit",
            Self::Nut { .. } => "a nut pocket",
            Self::Head { .. } => "a counterbore",
            Self::Magnet { .. } => "a magnet pocket",
            Self::Thread { .. } => "a cut thread",
            _ => return Ok(()),
        };
        if kind == FeatureKind::Hole {
            return Ok(());
        }
        let hint = match self {
            Self::Thread { .. } => {
                "for an outside thread print the rod as a sliding size and cut it with a die, or use a stud"
            }
            _ => "point the fit at a hole, or write `sliding` or an ISO class such as `h9` for an outside feature",
        };
        Err(FitError::new("", format!("{only_holes} needs a hole, the feature is an outside one"), hint))
    }
}

fn plain(named: Named, nominal: Length, limits: Limits, source: Provenance) -> Demand {
    Demand {
        named,
        nominal,
        aim: limits.middle(),
        limits,
        source,
        grade: None,
        stretches: false,
        finishes: Vec::new(),
        always: false,
        gauge: None,
        companions: Vec::new(),
        reasons: Vec::new(),
        cautions: Vec::new(),
    }
}

fn sliding(size: Length, play: Option<Length>, kind: FeatureKind, practice: &Practice) -> Result<Demand, FitError> {
    // Half and half again of the play wanted: what a printed feature can be asked for.
    let (least, most) = play.map_or_else(|| practice.sliding.ends(), |p| (0.5 * p.to_mm(), 1.5 * p.to_mm()));
    if !(least > 0.0 && most < size.to_mm() / 2.0) {
        let part = play.map_or_else(String::new, mm);
        return Err(FitError::new(
            part,
            "the play of a sliding fit is above zero and small against its size",
            "such as `play 0.2 mm`",
        ));
    }
    let limits = match kind {
        FeatureKind::Hole => Limits::new(plus(size, least), plus(size, most)),
        FeatureKind::Outside => Limits::new(plus(size, -most), plus(size, -least)),
    };
    let usual = || practice.sliding.source("printed sliding fit", "on the diameter against a part of nominal size");
    let source = if play.is_some() { PLAY } else { usual() };
    let mut demand = plain(Named::Sliding(size), size, limits, source);
    demand.finishes = match kind {
        FeatureKind::Hole => vec![FinishKind::Ream, FinishKind::Drill, FinishKind::TryAndFit],
        FeatureKind::Outside => vec![FinishKind::Turn, FinishKind::TryAndFit],
    };
    demand.reasons.push(Reason::MateTaken(size));
    Ok(demand)
}

fn hinge(pin: Length, in_place: bool, kind: FeatureKind, practice: &Practice) -> Demand {
    let (room, source) = if in_place {
        let governs = "on the diameter; the printer's own gap test governs";
        (practice.hinge_in_place, practice.hinge_in_place.source("printed-in-place gap", governs))
    } else {
        (practice.hinge, practice.hinge.source("hinge pin gap", "on the diameter, assembled"))
    };
    let (low, high) = room.ends();
    let limits = match kind {
        FeatureKind::Hole => Limits::new(plus(pin, low), plus(pin, high)),
        FeatureKind::Outside => Limits::new(plus(pin, -high), plus(pin, -low)),
    };
    let mut demand = plain(Named::Hinge { pin, in_place }, pin, limits, source);
    if in_place {
        demand.gauge = Some(Gauge::ComesFree);
    } else {
        demand.finishes = match kind {
            FeatureKind::Hole => vec![FinishKind::Ream, FinishKind::Drill, FinishKind::TryAndFit],
            FeatureKind::Outside => vec![FinishKind::MetalPin, FinishKind::Turn],
        };
    }
    demand
}

fn snap(size: Length, kind: FeatureKind, practice: &Practice) -> Demand {
    let (least, most) = practice.snap_window.ends();
    let limits = match kind {
        FeatureKind::Hole => Limits::new(plus(size, least), plus(size, most)),
        // The arm keeps its thickness, with which its strain and its force go; the play belongs to the window.
        FeatureKind::Outside => {
            let arm = practice.snap_arm.to_mm();
            Limits::new(plus(size, -arm), plus(size, arm))
        }
    };
    let source = practice.snap_window.source("snap hook in its window:", "room across the width");
    let mut demand = plain(Named::Snap(size), size, limits, source);
    demand.finishes = match kind {
        FeatureKind::Hole => vec![FinishKind::TryAndFit],
        FeatureKind::Outside => vec![FinishKind::TryTheArm],
    };
    demand.gauge = Some(Gauge::MateAndCaliper);
    demand.cautions.push(Caution::HookLies(practice.snap_window));
    demand
}

fn magnet(diameter: Length, thickness: Option<Length>, practice: &Practice) -> Result<Demand, FitError> {
    let data = hardware::magnet(diameter, thickness)?;
    let limits = practice.pocket.over(diameter);
    let source = practice.pocket.source("magnet pocket", "over the magnet, bonded");
    let mut demand = plain(Named::MagnetPocket(diameter), diameter, limits, source);
    demand.companions = data.dimensions.into_iter().filter(|d| d.key == "pocket_depth_mm").collect();
    demand.finishes = vec![FinishKind::TryAndFit];
    demand.gauge = Some(Gauge::OwnMagnet);
    demand.cautions.push(Caution::Magnet);
    Ok(demand)
}
