//! What is said of a fit, its numbers still numbers. `render::words::fits` has the English of each; what a table of bought
//! parts says of itself, and citations, come as the words of the table.

use super::Provenance;
use super::allowance::Capability;
use super::feature::{FeatureAxis, FeatureKind, Finishing, SecondKind};
use super::function::{FinishKind, Limits};
use super::groove::{Groove, Seat};
use super::hardware::Series;
use super::iso286::Zone;
use super::practice::Room;
use crate::quantity::Length;

/// What a fit is, with its size: `clearance M4 medium`.
#[derive(Debug, Clone, PartialEq)]
pub enum Named {
    /// A hole that a screw passes through.
    Clearance {
        /// Of the screw, as the standard writes it.
        thread: String,
        /// Of ISO 273.
        series: Series,
    },
    /// It slides on a mate of that size.
    Sliding(Length),
    /// It is pressed onto a mate of that size.
    Press(Length),
    /// The seat of a rolling bearing.
    Bearing {
        /// By its number.
        designation: String,
        /// The housing, or the shaft inside it.
        seat: FeatureKind,
        /// Of the ring that sits there.
        size: Length,
        /// Of ISO 286.
        class: &'static str,
    },
    /// A size in a class of ISO 286.
    Class {
        /// Nominal.
        size: Length,
        /// As the spec writes it, `H7`, `H7/g6`.
        class: String,
    },
    /// A size whose limits the spec states.
    Size(Length),
    /// A distance between two features.
    Distance(Length),
    /// A socket for a square, or the square.
    Square {
        /// Across its flats.
        size: Length,
        /// Socket or square.
        side: FeatureKind,
    },
    /// A rectangular pocket, or the tongue in it.
    Pocket {
        /// Width and length.
        size: [Length; 2],
        /// Pocket or tongue.
        side: FeatureKind,
    },
    /// The rim of a box, or the lip of its lid.
    Lid {
        /// Width, or diameter of a round one.
        size: Length,
        /// Length; none of a round one.
        length: Option<Length>,
        /// Rim or lip.
        side: FeatureKind,
    },
    /// The groove of an O-ring.
    Groove {
        /// Where it is.
        seat: Seat,
        /// Of the ring.
        inside: Length,
        /// Of the ring.
        section: Length,
    },
    /// A keyway in a hub.
    Keyway {
        /// Of the key and its way.
        width: Length,
        /// Of the key.
        height: Length,
        /// The shaft's diameter.
        shaft: Length,
    },
    /// A thread cut in the part.
    Thread(String),
    /// A thread that is printed.
    PrintedThread(String),
    /// The hole of an insert with that thread.
    Insert(String),
    /// The hole of a dowel pin of that size.
    Dowel(Length),
    /// The bore or pin of a hinge.
    Hinge {
        /// The pin's diameter.
        pin: Length,
        /// Whether it is printed with its pin in it.
        in_place: bool,
    },
    /// A snap hook or its window, of that width.
    Snap(Length),
    /// The pocket of a nut.
    NutPocket(String),
    /// The counterbore of a socket head.
    Counterbore(String),
    /// The pocket of a magnet of that diameter.
    MagnetPocket(Length),
}

/// How a feature is brought to its size.
#[derive(Debug, Clone, PartialEq)]
pub enum Work {
    /// Cut with a reamer of that size.
    Ream {
        /// The reamer's size.
        cut: Length,
        /// What it must come to.
        limits: Limits,
    },
    /// Opened to a size at which a twist drill grabs.
    Open {
        /// The size.
        cut: Length,
        /// What it must come to.
        limits: Limits,
    },
    /// Drilled.
    Drill {
        /// The drill's size.
        cut: Length,
        /// What it must come to.
        limits: Limits,
    },
    /// Drilled and tapped.
    Tap {
        /// The drill's size.
        drill: Length,
        /// The tap's thread.
        thread: String,
    },
    /// An insert is set; drilled for it before, where a size is given.
    SetInsert {
        /// The drill's size.
        drill: Option<Length>,
    },
    /// Clamped or bonded.
    ClampOrBond,
    /// Pressed onto ribs in the model.
    CrushRibs(Option<Ribs>),
    /// A bought bush is put in.
    Bush(Limits),
    /// An outside feature is cut.
    Turn {
        /// What it must come to.
        limits: Limits,
        /// No file comes to such limits.
        fine: bool,
    },
    /// A bought pin takes its place.
    BoughtPin {
        /// As it is sold.
        size: Length,
        /// What it must be within.
        limits: Limits,
    },
    /// A turned pin takes its place.
    TurnedPin(Limits),
    /// Filed or scraped to limits between flat walls.
    File(Limits),
    /// Tried with its own mate.
    TryAndFit,
    /// A thread is printed, drawn with play on all its diameters.
    PrintThread {
        /// The thread.
        thread: String,
    },
    /// Tried with its screw, and drilled only where that binds.
    OpenWhereTight {
        /// The drill's size.
        cut: Length,
    },
    /// One of two holes is drilled where the mate or a template has it.
    DrillByMate,
    /// A face is filed to its distance from a pin in the hole.
    FileFromPin,
    /// Tried with its mate as a spring, and printed again with another thickness.
    TryTheArm,
    /// Tried with its own mate, and filed at its flats: nothing that turns cuts them.
    FileFlats,
    /// Tried with its mate, and printed again with another size: nothing cuts rubber to one.
    TryAndReprint {
        /// By how much the next is made tighter or wider.
        by: Length,
    },
}

/// Crush ribs as they are modelled.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ribs {
    /// At their tips.
    pub width: Length,
    /// The circle their tips lie on.
    pub tips: Length,
}

/// Why a fit is worked out as it is.
#[derive(Debug, Clone, PartialEq)]
pub enum Reason {
    /// A thread that is printed, and by how much it is drawn larger than the standard's.
    PrintedThread {
        /// The thread.
        thread: String,
        /// On the diameter.
        play: Length,
    },
    /// The screw's hole by ISO 273, and between which of its series it serves.
    ScrewHole {
        /// Of ISO 273.
        series: Series,
        /// Of the screw.
        thread: String,
        /// The standard's hole.
        hole: Length,
        /// Between which it serves.
        serves: Limits,
    },
    /// The size the mate is taken to have.
    MateTaken(Length),
    /// What a press has over its mate.
    Interference {
        /// At the least.
        least: Length,
        /// At the most.
        most: Length,
    },
    /// By how much of the mate's size a rubbery print is stretched on it: as aimed at, the loosest piece, the tightest.
    Stretch {
        /// The mate.
        size: Length,
        /// Shares of it.
        shares: [f64; 3],
    },
    /// The limits of a class.
    Zone {
        /// Of ISO 286.
        zone: Zone,
        /// Nominal.
        size: Length,
        /// Upper and lower deviation, µm.
        deviations_um: [f64; 2],
        /// What they come to.
        limits: Limits,
    },
    /// What holds a distance where printing does not.
    DistanceOtherwise,
    /// From the far side of the bore to the bottom of the keyway.
    KeywayBottom(Limits),
    /// The spec states them.
    Stated(Limits),
    /// A second measure takes the allowance of the first.
    Second {
        /// Which it is.
        what: SecondKind,
        /// Nominal.
        size: Length,
        /// As it is to be drawn.
        to_model: Length,
    },
    /// The groove of a ring and what belongs to it.
    Groove {
        /// Where it is.
        seat: Seat,
        /// The groove.
        groove: Groove,
        /// Shares of it that the ring fills.
        fill: [f64; 3],
    },
    /// Long thin walls bow.
    WallsBow,
    /// What holds a distance from a face where printing does not.
    FaceOtherwise,
    /// An inner corner wants a relief of that width.
    Corners(Length),
    /// The core hole of a thread.
    CoreHole {
        /// Of the tap.
        drill: Length,
        /// The tap's thread.
        thread: String,
    },
    /// The hole an insert takes.
    InsertHole {
        /// Its diameter.
        hole: Length,
        /// Where that is from.
        source: Provenance,
    },
    /// What H7 and m6 do to each other.
    DowelLocates,
    /// What the table of a bought part says of it.
    OfTable(&'static str),
    /// Whether printing keeps the limits.
    Capability(Capability),
    /// The spec asks for that finish.
    AskedFor(Finishing),
    /// The mesh carries the allowance.
    Carried,
}

/// What was assumed of a fit, or may go wrong.
#[derive(Debug, Clone, PartialEq)]
pub enum Warning {
    /// The record is of another kind of feature, or another axis.
    RecordOfAnother,
    /// The record is of one piece, or has none.
    NoSpread {
        /// What stands in.
        usual: Length,
    },
    /// The record is of few pieces.
    FewPieces {
        /// So many.
        pieces: u32,
        /// So many are wanted.
        wanted: f64,
    },
    /// The record is of other sizes.
    OtherSizes {
        /// Smallest and largest of the record.
        measured: [Length; 2],
        /// This feature's.
        size: Length,
        /// Whether it is taken all the same, with what shrinkage adds beyond those sizes.
        taken: bool,
    },
    /// The record states no sizes, and this feature is so large that shrinkage may come on top of it.
    NoSizes,
    /// The record is of another polymer.
    OtherPolymer {
        /// The record's.
        record: String,
        /// The part's.
        part: String,
    },
    /// The record is old.
    Old {
        /// Since it was made.
        days: i64,
    },
    /// Nothing was measured: a value of the trade stands in.
    NoRecord {
        /// `None` where the catalogue does not know it.
        polymer: Option<String>,
        /// Of what.
        kind: FeatureKind,
        /// How it lies.
        axis: FeatureAxis,
    },
    /// The catalogue has no values of the polymer.
    UnknownPolymer(String),
    /// A distance upward.
    Upright,
    /// The hole may close up.
    SmallHole(Length),
    /// The mesh carries the allowance, and is to get it again.
    CarriedTwice {
        /// What the mesh has.
        found: Length,
    },
    /// The mesh is said to carry the allowance, and does not.
    NotCarried {
        /// What the mesh has.
        found: Length,
        /// What it should have.
        to_model: Length,
    },
    /// The mesh is neither nominal nor as it should be.
    NeitherSize {
        /// What the mesh has.
        found: Length,
        /// What it should have.
        to_model: Length,
    },
    /// The shop's list has no tool for it.
    NoTool(Box<Work>),
    /// It is to stay as printed, and printing does not hold it.
    AsPrinted,
    /// Some of its features stand and some lie.
    Mixed,
    /// An axis leans from upright, degrees.
    Leans(f64),
    /// The mesh holds more than one size for the fit.
    Uneven([Length; 2]),
    /// There is a record for the other axis.
    OtherAxis {
        /// The record's.
        axis: FeatureAxis,
        /// What it says.
        offset: Length,
        /// When it was made.
        on: String,
    },
}

/// Where somebody or the part could come to harm.
#[derive(Debug, Clone, PartialEq)]
pub enum Caution {
    /// A press creeps loose.
    PressLoosens,
    /// A print's layers leave ways under a ring.
    RingLeaks,
    /// A stretched print slackens.
    StretchSlackens,
    /// A squeezed ring: on the outer one alone, through an opening of that size.
    OuterRingOnly {
        /// Of the shoulder.
        opening: Length,
    },
    /// A printed shaft creeps under a ring.
    ShaftCreeps,
    /// A key presses on one side of its hub.
    KeyPresses,
    /// A thread in plastic strips.
    ThreadStrips,

    /// The insert's hole is a usual value.
    InsertUsual,
    /// An insert is set hot.
    InsertHot,
    /// How a snap hook is to lie, and what room its window wants.
    HookLies(Room),
    /// A magnet is bonded in, and is dangerous to swallow.
    Magnet,
    /// A fold breaks after a few bends.
    FoldBreaks {
        /// Of what it is printed.
        polymer: String,
        /// What would do.
        better: Vec<String>,
    },
    /// A fold bears some tens of bends.
    FoldTires {
        /// Of what it is printed.
        polymer: String,
    },
    /// A fold across its layers.
    FoldPeels,
    /// A fold of less than two layers.
    FoldThin(Length),
    /// A fold too thick.
    FoldThick {
        /// As it is.
        thickness: Length,
        /// What strains less.
        better: Room,
    },
    /// How lines run in a fold.
    FoldLines,
}

/// What an effect on a size comes from.
#[derive(Debug, Clone, PartialEq)]
pub enum Note {
    /// The record's offset.
    Measured,
    /// The record's scale.
    MeasuredScale,
    /// A value of the trade.
    Usual {
        /// `None` where the catalogue does not know it.
        polymer: Option<String>,
        /// Of what.
        kind: FeatureKind,
        /// Through which it is printed.
        bore: Length,
    },
    /// It is within what was measured.
    InRecord,
    /// What a size shrinks beyond the largest that was measured.
    BeyondRecord {
        /// The largest of the record.
        largest: Length,
    },
    /// A feature shrinks with its part.
    ShrinksWithPart,
    /// A wall prints large by half of what a boss does.
    Wall,
    /// A distance shrinks with its part.
    WholeLength,
    /// The crown of a lying hole.
    Crown,
    /// The flats of an outside polygon.
    OutsideFlats,
    /// The mesh draws the circle with so many flats.
    Flats(u32),
    /// At the rim on the bed.
    AtTheBed(FeatureKind),
    /// It is printed dry.
    PrintedDry,
    /// It is annealed.
    Annealed,
}

/// What is looked at: the fit, as printed or finished.
#[derive(Debug, Clone, PartialEq)]
pub struct Looked {
    /// Which fit.
    pub fit: Named,
    /// Before it is finished.
    pub as_printed: bool,
}

/// With what a feature is measured, or tried.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Gauge {
    /// A plug or bore gauge of that size.
    PlugOrBore(Length),
    /// Pins or drill shanks.
    Pins,
    /// A caliper's inside jaws.
    CaliperInside,
    /// The same, along a slot.
    BetweenWalls,
    /// The same, between ribs.
    BetweenRibs,
    /// A micrometer.
    Micrometer,
    /// A caliper's outside jaws.
    CaliperOutside,
    /// A caliper from a face to a pin in a hole.
    FaceToPin,
    /// A depth rod at several places.
    Depth,
    /// A caliper over pins in two holes.
    OverPins,
    /// The key it is for.
    OwnKey,
    /// A hinge that comes free.
    ComesFree,
    /// The mate and a caliper.
    MateAndCaliper,
    /// The nut it is for.
    OwnNut,
    /// The screw it is for.
    OwnHead,
    /// The magnet it is for.
    OwnMagnet,
    /// What shows that a finish did its work.
    Trial(FinishKind),
}

/// When a feature is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum When {
    /// Cold.
    Cooled,
    /// When it has taken up the water it will hold.
    Conditioned,
    /// When it is annealed.
    Annealed,
    /// When it is finished.
    Finished,
}
