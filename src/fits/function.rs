//! From what a fit is for to the limits the finished feature must keep.

use super::feature::{FeatureAxis, FeatureContext, FeatureKind, Finishing};
use super::groove::{self, Seat};
use super::hardware::{self, Dimension, Series};
use super::iso286::{self, Grade, Member, Zone};
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
const SEAT: Provenance = Provenance::new(
    SourceKind::CommonPractice,
    "housing H7 for an outer ring at rest, shaft h6 for an inner ring by hand; limits by ISO 286-1",
);
const CLEARANCE: Provenance = Provenance::new(
    SourceKind::Computed,
    "limits: own choice, the neighbouring series of ISO 273:1979; the aim is the standard's hole",
);
const CORE: Provenance = Provenance::new(
    SourceKind::CommonPractice,
    "usual tap drill; limits of the core hole by ISO 724 and ISO 965-1 6H (formula from memory)",
);
const STATED: Provenance = Provenance::new(SourceKind::Computed, "limits: nominal size and deviations of the spec");
const KEYWAY: Provenance = Provenance::new(
    SourceKind::FromMemory,
    "key and keyway by ISO 773 (DIN 6885-1), recalled, those of shafts over 38 mm compared with a published table; width JS9 by ISO 286-1",
);
const ISO: Provenance = Provenance::new(SourceKind::Standard, "limits by ISO 286-1");

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

/// The hole serves while it lies between the neighbouring series: below the fine hole a screw may bind, above the coarse
/// one the head loses its bearing. ISO 273's own field (H12 to H14) is stated for information and is narrower.
fn clearance(thread: &str, series: Series) -> Result<Demand, FitError> {
    let [fine, medium, coarse] = hardware::clearance_series(thread)?;
    let major = hardware::major_diameter(hardware::normal_thread(thread).split('x').next().unwrap_or(thread))
        .unwrap_or(Length::um(2.0 * fine.to_um() - medium.to_um()));
    let (aim, limits) = match series {
        Series::Fine => (fine, Limits::new(Limits::new(major, fine).middle(), medium)),
        Series::Medium => (medium, Limits::new(fine, coarse)),
        Series::Coarse => (coarse, Limits::new(medium, Length::um(2.0 * coarse.to_um() - medium.to_um()))),
    };
    let size = hardware::normal_thread(thread);
    let named = Named::Clearance { thread: size.clone(), series };
    let mut demand = plain(named, aim, limits, CLEARANCE);
    demand.aim = aim;
    // A fine hole guides its screw; a wider one only has to let it through, which most pieces do as printed.
    demand.finishes = match series {
        Series::Fine => vec![FinishKind::Drill],
        Series::Medium | Series::Coarse => vec![FinishKind::OpenWhereTight, FinishKind::Drill],
    };
    demand.reasons.push(Reason::ScrewHole { series, thread: size, hole: aim, serves: limits });
    Ok(demand)
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

/// Returns the usual smallest and largest interference on the diameter for a press into printed plastic.
pub fn usual_interference(size: Length, practice: &Practice) -> (Length, Length) {
    let ((least, most), at_least) = (practice.press_share, practice.press_least);
    let of = |share: f64, least: Length| Length::mm(share * size.to_mm()).max(least);
    (of(least, at_least.least), of(most, at_least.most))
}

fn press(
    size: Length,
    given: Option<(Length, Length)>,
    kind: FeatureKind,
    practice: &Practice,
) -> Result<Demand, FitError> {
    let (least, most) = given.unwrap_or_else(|| usual_interference(size, practice));
    let (a, b) = (least.to_mm(), most.to_mm());
    if !(a.is_finite() && b.is_finite() && a >= 0.0 && b > a && b < size.to_mm() / 2.0) {
        return Err(FitError::new(
            format!("{} .. {}", mm(least), mm(most)),
            "the interference of a press fit runs from a smallest to a larger value, both above zero",
            "write for example `interference 0.03 mm .. 0.10 mm`",
        ));
    }
    let limits = match kind {
        FeatureKind::Hole => Limits::new(plus(size, -b), plus(size, -a)),
        FeatureKind::Outside => Limits::new(plus(size, a), plus(size, b)),
    };
    let source = match given {
        Some(_) => Provenance::new(SourceKind::Computed, "the spec's own interference"),
        None => pressed(practice),
    };
    let mut demand = plain(Named::Press(size), size, limits, source);
    demand.finishes = match kind {
        FeatureKind::Hole => vec![FinishKind::Ream, FinishKind::CrushRibs, FinishKind::ClampOrBond],
        FeatureKind::Outside => vec![FinishKind::Turn, FinishKind::ClampOrBond],
    };
    demand.reasons.push(Reason::Interference { least, most });
    demand.cautions.push(Caution::PressLoosens);
    Ok(demand)
}

fn pressed(practice: &Practice) -> Provenance {
    let percent = |share: f64| trim_number(100.0 * share, 2);
    let words = format!(
        "press into printed plastic: interference {} % to {} % of the diameter, at least {}; confirm by the press-fit \
         computation and a test piece",
        percent(practice.press_share.0),
        percent(practice.press_share.1),
        practice.press_least.in_words()
    );
    Provenance::owned(practice.press_least.kind, words)
}

/// What is rubbery holds by its stretch: no hundredth of a millimetre counts, and nothing cuts it to one.
fn stretched(mut demand: Demand, context: &FeatureContext) -> Demand {
    let [usual, least, most] = context.practice.grip_stretch;
    let size = demand.nominal.to_mm();
    let by = |share: f64| match context.kind {
        FeatureKind::Hole => plus(demand.nominal, -share * size),
        FeatureKind::Outside => plus(demand.nominal, share * size),
    };
    let ends = [by(least), by(most)];
    let percent = |share: f64| trim_number(100.0 * share, 2);
    let words = format!(
        "a rubbery print grips by its stretch: {} % of the mate's size, {} to {} %",
        percent(usual),
        percent(least),
        percent(most)
    );
    demand.limits = Limits::new(ends[0].min(ends[1]), ends[0].max(ends[1]));
    demand.aim = by(usual);
    demand.source = Provenance::owned(context.practice.grip_kind, words);
    demand.grade = None;
    demand.stretches = true;
    demand.finishes = vec![FinishKind::TryAndFit];
    demand.always = true;
    demand.reasons.retain(|r| !matches!(r, Reason::Interference { .. } | Reason::Zone { .. }));
    demand.cautions.retain(|c| *c != Caution::PressLoosens);
    demand.cautions.push(Caution::StretchSlackens);
    demand
}

fn bearing_seat(designation: &str, kind: FeatureKind, practice: &Practice) -> Result<Demand, FitError> {
    let b = hardware::find_bearing(designation)?;
    let (size, symbol) = match kind {
        FeatureKind::Hole => (b.outside, "H7"),
        FeatureKind::Outside => (b.bore, "h6"),
    };
    let mut demand = iso(size, symbol, kind, practice)?;
    demand.named = Named::Bearing { designation: b.designation.to_owned(), seat: kind, size, class: symbol };
    demand.source = SEAT;
    demand.companions = hardware::bearing(designation)?
        .dimensions
        .into_iter()
        .filter(|d| matches!(d.key, "width_mm" | "shoulder_opening_mm"))
        .collect();
    demand.finishes = match kind {
        FeatureKind::Hole => vec![FinishKind::Ream, FinishKind::ClampOrBond, FinishKind::Bush],
        FeatureKind::Outside => vec![FinishKind::MetalPin, FinishKind::Turn],
    };
    demand.cautions.push(match kind {
        FeatureKind::Hole => Caution::OuterRingOnly { opening: Limits::new(b.bore, b.outside).middle() },
        FeatureKind::Outside => Caution::ShaftCreeps,
    });
    Ok(demand)
}

/// Picks the zone the feature takes: its own member of a pair, or the single class if it fits the feature.
fn own_zone(symbol: &str, kind: FeatureKind) -> Result<Zone, FitError> {
    let member = match kind {
        FeatureKind::Hole => Member::Hole,
        FeatureKind::Outside => Member::Shaft,
    };
    if symbol.contains('/') {
        let (hole, shaft) = iso286::parse_pair(symbol)?;
        return Ok(if member == Member::Hole { hole } else { shaft });
    }
    let zone = Zone::parse(symbol.trim())?;
    if zone.member == member {
        return Ok(zone);
    }
    let (found, wanted, letters) = match member {
        Member::Hole => ("a shaft", "hole", symbol.to_ascii_uppercase()),
        Member::Shaft => ("a hole", "shaft", symbol.to_ascii_lowercase()),
    };
    Err(FitError::new(
        symbol,
        format!("`{symbol}` is {found} class, the feature is a {wanted}"),
        format!("write `{letters}` for the {wanted}"),
    ))
}

fn iso(size: Length, symbol: &str, kind: FeatureKind, practice: &Practice) -> Result<Demand, FitError> {
    let zone = own_zone(symbol, kind)?;
    let deviations = iso286::limits(size, &zone)?;
    let limits = Limits::new(plus(size, deviations.lower_um / 1000.0), plus(size, deviations.upper_um / 1000.0));
    let mut demand = plain(Named::Class { size, class: symbol.to_owned() }, size, limits, ISO);
    demand.grade = Some(zone.grade);
    let grade = f64::from(zone.grade.number());
    demand.finishes = match kind {
        FeatureKind::Hole => vec![FinishKind::Ream, FinishKind::Bush],
        FeatureKind::Outside if grade <= practice.pinned_grade => vec![FinishKind::MetalPin, FinishKind::Turn],
        FeatureKind::Outside => vec![FinishKind::Turn, FinishKind::MetalPin],
    };
    if grade >= practice.drilled_grade && kind == FeatureKind::Hole {
        demand.finishes.insert(0, FinishKind::Drill);
    }
    let deviations_um = [deviations.upper_um, deviations.lower_um];
    demand.reasons.push(Reason::Zone { zone, size, deviations_um, limits });
    Ok(demand)
}

/// A size whose limits are stated: until they are, it is its nominal size.
fn sized(size: Length, kind: FeatureKind) -> Demand {
    let mut demand = plain(Named::Size(size), size, Limits::new(size, size), STATED);
    demand.finishes = match kind {
        FeatureKind::Hole => vec![FinishKind::Drill, FinishKind::Ream],
        FeatureKind::Outside => vec![FinishKind::Turn],
    };
    demand
}

/// Two holes drawn in one print keep their distance but for shrinkage; what printing cannot hold, drilling through the mate does.
fn distance(size: Length) -> Demand {
    let mut demand = plain(Named::Distance(size), size, Limits::new(size, size), STATED);
    demand.gauge = Some(Gauge::OverPins);
    demand.finishes = vec![FinishKind::SetOut];
    demand.reasons.push(Reason::DistanceOtherwise);
    demand
}

/// The room between two flat walls: no round tool cuts it, and no round gauge tells its width.
fn slot(size: Length, symbol: Option<&str>, practice: &Practice) -> Result<Demand, FitError> {
    let mut demand = match symbol {
        Some(symbol) => iso(size, symbol, FeatureKind::Hole, practice)?,
        None => sized(size, FeatureKind::Hole),
    };
    demand.finishes = vec![FinishKind::File, FinishKind::TryAndFit];
    demand.gauge = Some(Gauge::BetweenWalls);
    Ok(demand)
}

/// What lies between flats all about: no round tool cuts it, and its mate tells more than a gauge.
fn flats(
    size: Length,
    length: Option<Length>,
    symbol: Option<&str>,
    kind: FeatureKind,
    practice: &Practice,
) -> Result<Demand, FitError> {
    let mut demand = match symbol {
        Some(symbol) => iso(size, symbol, kind, practice)?,
        None => sliding(size, None, kind, practice)?,
    };
    demand.named = match length {
        Some(length) => Named::Pocket { size: [size, length], side: kind },
        None => Named::Square { size, side: kind },
    };
    demand.finishes = vec![FinishKind::TryAndFit];
    demand.gauge = Some(Gauge::MateAndCaliper);
    Ok(demand)
}

/// A lid's lip goes into its rim by hand, all round.
fn lid(size: Length, length: Option<Length>, kind: FeatureKind, practice: &Practice) -> Demand {
    let (least, most) = practice.lid.ends();
    let limits = match kind {
        FeatureKind::Hole => Limits::new(plus(size, least), plus(size, most)),
        FeatureKind::Outside => Limits::new(plus(size, -most), plus(size, -least)),
    };
    let source = practice.lid.source("lip of a lid in its rim:", "of play, against a mate of nominal size");
    let mut demand = plain(Named::Lid { size, length, side: kind }, size, limits, source);
    demand.finishes = vec![FinishKind::TryAndFit];
    demand.gauge = Some(Gauge::MateAndCaliper);
    demand.reasons.extend([Reason::MateTaken(size), Reason::WallsBow]);
    demand
}

/// The groove of a ring that does not move: its floor (or depth) by the squeeze of the ring.
fn ring_groove(seat: Seat, inside: Length, section: Length, practice: &Practice) -> Result<Demand, FitError> {
    let groove = groove::groove(seat, inside, section, practice)?;
    let percent = |share: f64| trim_number(100.0 * share, 1);
    let [_, least, most] = groove.squeeze;
    let words = format!(
        "limits: O-ring at rest, squeezed by {} to {} % of its section; the housings of ISO 3601-2 were not compared",
        percent(least),
        percent(most)
    );
    let source = Provenance::owned(practice.ring_kind, words);
    let mut demand = plain(Named::Groove { seat, inside, section }, groove.size, groove.limits, source);
    demand.aim = groove.size;
    demand.gauge = Some(if seat == Seat::Face { Gauge::Depth } else { Gauge::MateAndCaliper });
    demand.reasons.push(Reason::Groove { seat, groove, fill: practice.ring_fill });
    demand.cautions.push(Caution::RingLeaks);
    Ok(demand)
}

/// The hub's keyway: its width by ISO 773 for a free key, its depth beyond the bore from the same table.
fn keyway(shaft: Length) -> Result<Demand, FitError> {
    let key = hardware::parallel_key(shaft)?;
    let zone = Zone::parse(hardware::HUB_KEYWAY)?;
    let deviations = iso286::limits(key.width, &zone)?;
    let limits =
        Limits::new(plus(key.width, deviations.lower_um / 1000.0), plus(key.width, deviations.upper_um / 1000.0));
    let named = Named::Keyway { width: key.width, height: key.height, shaft };
    let mut demand = plain(named, key.width, limits, KEYWAY);
    demand.grade = Some(zone.grade);
    demand.finishes = vec![FinishKind::TryAndFit];
    demand.gauge = Some(Gauge::OwnKey);
    let bottom = plus(shaft, key.in_hub.to_mm());
    demand.reasons.push(Reason::KeywayBottom(Limits::new(bottom, plus(bottom, key.deeper.to_mm()))));
    demand.cautions.push(Caution::KeyPresses);
    Ok(demand)
}

/// The limits the spec states in place of those a fit has by itself; they are aimed at in the middle.
fn stated(mut demand: Demand, [low, high]: [Length; 2]) -> Result<Demand, FitError> {
    let limits = Limits::new(plus(demand.nominal, low.to_mm()), plus(demand.nominal, high.to_mm()));
    if !(limits.width().to_um() > 0.0 && limits.low.to_um() > 0.0) {
        let hint = "write the least and the greatest deviation, as in `+-0.1 mm`";
        return Err(FitError::new(
            "",
            format!("the limits {} to {} leave no size between them", mm(limits.low), mm(limits.high)),
            hint,
        ));
    }
    demand.limits = limits;
    demand.aim = limits.middle();
    demand.grade = None;
    demand.source = STATED;
    demand.reasons.push(Reason::Stated(limits));
    Ok(demand)
}

fn thread(designation: &str) -> Result<Demand, FitError> {
    let data = hardware::thread(designation)?;
    let get = |key| Length::mm(data.get(key).unwrap_or(0.0));
    let drill = get("tap_drill_mm");
    let limits = Limits::new(get("minor_diameter_internal_mm").min(drill), get("core_hole_max_mm").max(drill));
    let name = hardware::normal_thread(designation);
    let mut demand = plain(Named::Thread(name.clone()), drill, limits, CORE);
    demand.aim = drill;
    demand.finishes = vec![FinishKind::Tap];
    demand.always = true;
    demand.companions = data
        .dimensions
        .into_iter()
        .filter(|d| matches!(d.key, "tap_drill_mm" | "pitch_mm" | "minor_diameter_internal_mm"))
        .collect();
    demand.reasons.push(Reason::CoreHole { drill, thread: name });
    demand.cautions.push(Caution::ThreadStrips);
    Ok(demand)
}

/// A thread so large that it may be printed: upright, unloaded, its pitch wide against the bore, and asked for so or without a tap.
///
/// Its core is as much larger than that of the standard as the whole thread is drawn larger.
fn printed_thread(fit: &FitFunction, context: &FeatureContext) -> Result<Option<Demand>, FitError> {
    let FitFunction::Thread { designation } = fit else { return Ok(None) };
    let (data, practice) = (hardware::thread(designation)?, &context.practice);
    let get = |key| Length::mm(data.get(key).unwrap_or(0.0));
    let name = hardware::normal_thread(designation);
    let no_tap = context.tools.known && !context.tools.taps.iter().any(|t| hardware::normal_thread(t) == name);
    let wanted = match context.finish {
        Some(asked) => asked == Finishing::AsPrinted,
        None => no_tap,
    };
    let large = get("major_diameter_mm") >= practice.printed_thread;
    let drawn = get("pitch_mm").to_mm() >= practice.printed_thread_bores * context.nozzle_bore.to_mm();
    let bears = context.loaded || context.axis == FeatureAxis::AlongLayers;
    if !wanted || !large || !drawn || bears || context.flexible {
        return Ok(None);
    }
    let room = practice.printed_thread_play;
    let core = get("minor_diameter_internal_mm");
    let source = room.source("printed thread:", "of play, on all its diameters");
    let mut demand = plain(Named::PrintedThread(name.clone()), core, room.over(core), source);
    let play = Length::um(demand.aim.to_um() - core.to_um());
    demand.finishes = vec![FinishKind::PrintThread];
    demand.always = true;
    demand.companions =
        data.dimensions.into_iter().filter(|d| matches!(d.key, "pitch_mm" | "major_diameter_mm")).collect();
    demand.reasons.push(Reason::PrintedThread { thread: name, play });
    Ok(Some(demand))
}

fn insert(thread: &str, shop: &[hardware::InsertData], practice: &Practice) -> Result<Demand, FitError> {
    let data = hardware::insert_data(thread, shop)?;
    let own = data.source.kind == SourceKind::Measured;
    let limits = practice.insert_hole.either_way(data.hole);
    let words = format!(
        "insert hole within about {}: tighter squeezes out melt, wider does not hold",
        mm(practice.insert_hole.most)
    );
    let source = Provenance::owned(practice.insert_hole.kind, words);
    let mut demand = plain(Named::Insert(data.thread.clone()), data.hole, limits, source);
    demand.finishes = vec![FinishKind::SetInsert, FinishKind::DrillAndSetInsert];
    demand.always = true;
    demand.companions = hardware::insert(thread, shop)?
        .dimensions
        .into_iter()
        .filter(|d| matches!(d.key, "hole_depth_mm" | "boss_mm" | "outside_mm"))
        .collect();
    demand.reasons.push(Reason::InsertHole { hole: data.hole, source: data.source });
    if !own {
        demand.cautions.push(Caution::InsertUsual);
    }
    demand.cautions.push(Caution::InsertHot);
    Ok(demand)
}

fn dowel(size: Length, practice: &Practice) -> Result<Demand, FitError> {
    let data = hardware::dowel(size)?;
    let mut demand = iso(size, "H7", FeatureKind::Hole, practice)?;
    demand.named = Named::Dowel(size);
    demand.finishes = vec![FinishKind::Ream, FinishKind::ClampOrBond];
    demand.companions = data.dimensions.into_iter().filter(|d| d.key.starts_with("pin_")).collect();
    demand.reasons.push(Reason::DowelLocates);
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

fn nut(thread: &str, practice: &Practice) -> Result<Demand, FitError> {
    let data = hardware::nut(thread)?;
    let flats = Length::mm(data.get("across_flats_mm").unwrap_or(0.0));
    let limits = practice.pocket.over(flats);
    let source = practice.pocket.source("nut pocket", "over across flats: drops in and does not turn");
    let mut demand = plain(Named::NutPocket(hardware::normal_thread(thread)), flats, limits, source);
    demand.companions = data
        .dimensions
        .into_iter()
        .filter(|d| matches!(d.key, "height_mm" | "across_corners_min_mm" | "pocket_depth_mm"))
        .collect();
    demand.finishes = vec![FinishKind::TryAndFit];
    demand.gauge = Some(Gauge::OwnNut);
    demand.reasons.extend(data.notes.into_iter().map(Reason::OfTable));
    Ok(demand)
}

fn head(thread: &str, practice: &Practice) -> Result<Demand, FitError> {
    let data = hardware::socket_head(thread)?;
    let knurled = Length::mm(data.get("head_diameter_knurled_mm").unwrap_or(0.0));
    let limits = practice.head.over(knurled);
    let source = practice.head.source("counterbore", "over the knurled head");
    let mut demand = plain(Named::Counterbore(hardware::normal_thread(thread)), limits.middle(), limits, source);
    demand.companions = data.dimensions.into_iter().filter(|d| d.key == "counterbore_depth_mm").collect();
    // A counterbore has a flat floor: no twist drill makes it.
    demand.finishes = vec![FinishKind::TryAndFit];
    demand.gauge = Some(Gauge::OwnHead);
    Ok(demand)
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
