//! What a part must do, checked: the typed form of a `part` in a spec file.
//!
//! Plain data. Every stated value keeps the place it was stated at, so that a reason can cite it and the conflict
//! search can take a statement away and ask again.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::diag::{Outline, SourceId, Span};
use crate::quantity::{
    Acceleration, Angle, Area, Duration, Force, Length, Mass, Quantity, Speed, Stress, Temperature,
    TemperatureDifference, Torque,
};

/// A value and the place it was stated at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stated<T> {
    /// What is stated.
    pub value: T,
    /// Where it is stated.
    pub span: Span,
}

/// All parts of a spec file, with the assemblies that mate them.
#[derive(Debug, Clone, Default)]
pub struct SpecFile {
    /// In the order of the file.
    pub parts: Vec<Spec>,
    /// In the order of the file.
    pub assemblies: Vec<Assembly>,
    /// In the order of the file.
    pub runs: Vec<super::run::Run>,
    /// What the places of each text are called, for [`Sources::set_outline`](crate::diag::Sources::set_outline).
    pub outlines: Vec<(SourceId, Outline)>,
}

/// One part spec.
#[derive(Debug, Clone)]
pub struct Spec {
    /// Its name in quotes.
    pub name: Stated<String>,
    /// The profiles it takes requirements from, in the order given.
    pub profiles: Vec<Stated<String>>,
    /// Of the drawing or model, free text.
    pub revision: Option<Stated<String>>,
    /// What the part is for, a sentence.
    pub purpose: Option<Stated<String>>,
    /// How finished the part must be.
    pub stage: Option<Stated<Stage>>,
    /// The worst that its failure would do; what is left in hand hangs on it.
    pub consequence: Option<Stated<Consequence>>,
    /// Its mesh files; several where a set is printed together.
    pub meshes: Vec<MeshUse>,
    /// Overall size by x, y and z of the mesh, a check on the mesh and its unit.
    pub size: Option<Stated<[Length; 3]>>,
    /// Good pieces wanted; at least one.
    pub quantity: Option<Stated<u32>>,
    /// The date the parts are wanted by, `2026-12-01`, as written; never compared with a clock.
    pub wanted_by: Option<Stated<String>>,
    /// Where the part lives.
    pub service: Service,
    /// Every `load`, those of its profiles among them.
    pub loads: Vec<Load>,
    /// Every `fit`, likewise.
    pub fits: Vec<Fit>,
    /// Every `face`, likewise.
    pub faces: Vec<Face>,
    /// The smallest wall the part may have.
    pub wall: Option<Stated<Length>>,
    /// Pressure of a fluid within, or that the part must not leak.
    pub pressure: Option<Pressure>,
    /// How far the part may give.
    pub deflection: Option<Deflection>,
    /// A second colour, and from which height above the bed.
    pub second_colour: Option<Stated<SecondColour>>,
    /// Sliding wear against a named partner.
    pub wear: Option<Stated<String>>,
    /// That the part is dropped or struck.
    pub impact: Option<Stated<Impact>>,
    /// What is done to the part after printing, as asked for.
    pub treatments: Vec<Stated<Treatment>>,
    /// Uses about which the recipe must say what it cannot establish.
    pub asks: Vec<Stated<Ask>>,
    /// Uses the spec says are none of this part.
    pub denials: Vec<Denial>,
    /// In order of preference.
    pub preferences: Vec<Stated<Preference>>,
    /// Decisions the spec fixes.
    pub pins: Vec<Choice>,
    /// Choices the spec rules out.
    pub forbids: Vec<Choice>,
    /// Rules the spec sets aside.
    pub waivers: Vec<Waiver>,
    /// What reaches the part by other lines than its contacts, as the catalogue knows it.
    pub implied: Vec<Implied>,
    /// Where its numbers are written.
    pub written: Arc<Written>,
}

/// Where the numbers of statements stand: by the head of the statement and the name of the argument, which the vocabulary gives.
pub type Written = BTreeMap<(Span, &'static str), Span>;

/// A contact that another line of the spec brings along.
#[derive(Debug, Clone)]
pub struct Implied {
    /// As if it were stated, at the line that brings it.
    pub contact: Contact,
    /// That line.
    pub by: ImpliedBy,
    /// Contacts that say it themselves, and better, by their chemicals as written.
    pub unless: Vec<String>,
}

/// The line that brings a contact along.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ImpliedBy {
    /// `wet immersed`
    Wet,
    /// `tight against`, `pressure of`
    Fluid,
}

/// How finished the part must be.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stage {
    /// To see whether it goes together; carries nothing.
    FitPrototype,
    /// Used, in one piece or a few.
    Functional,
    /// Made in number, each like the other.
    Production,
}

/// The worst that a failure would do, in rising order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Consequence {
    /// Trouble, nothing more.
    Nuisance,
    /// Something else is spoilt.
    Damage,
    /// Somebody is hurt.
    Injury,
}

/// One `mesh` of a part.
#[derive(Debug, Clone)]
pub struct MeshUse {
    /// Relative to the spec file, as written.
    pub path: Stated<String>,
    /// The unit of length the numbers of the file are in; `None` = not stated.
    pub unit: Option<Stated<MeshUnit>>,
    /// One object of a file that holds several.
    pub object: Option<Stated<String>>,
    /// How many of this mesh make one set.
    pub count: Option<Stated<u32>>,
    /// The whole statement.
    pub span: Span,
}

/// Unit of the numbers in a mesh file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum MeshUnit {
    /// 10⁻⁶ m.
    Micrometre,
    /// The usual one; `mm`.
    Millimetre,
    /// 10 mm.
    Centimetre,
    /// 1000 mm.
    Metre,
    /// 25.4 mm.
    Inch,
    /// 304.8 mm.
    Foot,
}

impl MeshUnit {
    /// Returns its name, for what is many of them.
    pub fn plural(self) -> &'static str {
        match self {
            Self::Micrometre => "micrometres",
            Self::Millimetre => "millimetres",
            Self::Centimetre => "centimetres",
            Self::Metre => "metres",
            Self::Inch => "inches",
            Self::Foot => "feet",
        }
    }
}

/// Where the part lives. What is not stated is not known, and may be asked for.
#[derive(Debug, Clone, Default)]
pub struct Service {
    /// Air temperature, lowest to highest, long term.
    pub air: Option<Stated<(Temperature, Temperature)>>,
    /// Short-term highest temperature of the part or its surroundings.
    pub peak: Option<Stated<Temperature>>,
    /// Temperature of the part most of the time.
    pub usual: Option<Stated<Temperature>>,
    /// Where it stands, for how hot it may grow.
    pub place: Option<Stated<Place>>,
    /// Sunlight on it.
    pub sun: Option<Stated<Sun>>,
    /// A colour of the catalogue, or free text; dark ones grow hot in the sun.
    pub colour: Option<Stated<String>>,
    /// Whether air passes behind what the sun lights.
    pub back: Option<Stated<Back>>,
    /// Water on it.
    pub wet: Option<Stated<Wet>>,
    /// Chemicals that reach it.
    pub contacts: Vec<Contact>,
}

/// Where a part stands. What the place means in degrees is in the catalogue.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Place {
    /// In a room.
    Indoors,
    /// In the open.
    Outdoors,
    /// Behind a window in the sun.
    BehindGlass,
    /// Inside a parked vehicle, not on the dashboard.
    VehicleCabin,
    /// On the dashboard or at the windscreen.
    Dashboard,
    /// Beside something hot.
    NearHeat,
}

/// Sunlight on the part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sun {
    /// How much of it.
    pub exposure: SunExposure,
    /// How long the part is to live in it; `None` = not stated.
    pub duration: Option<Duration>,
}

/// How the sun reaches the part.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum SunExposure {
    /// It does not.
    None,
    /// Scattered light only.
    Shaded,
    /// It shines on the part.
    Direct,
}

/// What is behind the side that the sun lights.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Back {
    /// Air that passes.
    Free,
    /// A wall, or the still air of a closed box.
    Covered,
}

/// Water on the part.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Wet {
    /// None beyond the air's.
    Dry,
    /// Moist air or dew.
    Damp,
    /// Wet now and then.
    Rain,
    /// Under water.
    Immersed,
}

/// A chemical that reaches the part.
#[derive(Debug, Clone)]
pub struct Contact {
    /// As written; resolved against the catalogue's chemicals and their other names.
    pub chemical: Stated<String>,
    /// How it reaches it.
    pub kind: ContactKind,
    /// Of the chemical; none = as the service is.
    pub temperature: Option<Stated<Temperature>>,
    /// The whole statement.
    pub span: Span,
}

/// How a chemical reaches the part.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum ContactKind {
    /// As vapour.
    Vapour,
    /// Now and then in drops.
    Splash,
    /// Rubbed over it, as a cleaner is.
    Wiped,
    /// The part lies in it.
    Immersed,
}

/// A direction in part axes (unit vector).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Direction(pub [f64; 3]);

/// Where on the part: a declared face or fit by name, a place in mesh coordinates, or the skin of what it encloses.
#[derive(Debug, Clone, PartialEq)]
pub enum Where {
    /// The name of a `face` of the spec.
    Face(String),
    /// The name of a `fit` of the spec.
    Fit(String),
    /// A point, by the mesh's x, y and z.
    Point([Length; 3]),
    /// All round what the part encloses.
    Inside,
    /// All of the part, by its mass.
    Throughout,
}

impl Where {
    /// Returns the name of the face it speaks of.
    pub fn face(&self) -> Option<&str> {
        if let Self::Face(name) = self { Some(name) } else { None }
    }
}

/// How much of the surface at a place is meant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Extent {
    /// A disc, or the outside of a screw's head, of this diameter.
    Across(Length),
    /// A rectangle: along the first of the file's axes that lies in the face, then along the other.
    Over([Length; 2]),
}

/// Where the part is held, and how.
#[derive(Debug, Clone, PartialEq)]
pub struct Hold {
    /// Where.
    pub at: Where,
    /// How much of the surface there.
    pub extent: Option<Extent>,
    /// The side of the holes that the heads of screws are on.
    pub heads: Option<Direction>,
    /// It rests on something that only pushes, rather than being held.
    pub rests: bool,
}

/// One load; it may have a force, a torque or both.
#[derive(Debug, Clone)]
pub struct Load {
    /// Its name in quotes.
    pub name: Stated<String>,
    /// Size of the force.
    pub force: Option<Stated<Force>>,
    /// Size of the torque.
    pub torque: Option<Stated<Torque>>,
    /// Pressure square to the surface, in place of a force.
    pub pressure: Option<Stated<Stress>>,
    /// What all of the part is accelerated by, in place of a force: its own weight, or a machine that moves it.
    pub acceleration: Option<Stated<Acceleration>>,
    /// Whether that is the part's own weight, which no line can ease.
    pub own_weight: bool,
    /// The way the force or the part's own mass pushes, or the axis of the torque.
    pub direction: Option<Stated<Direction>>,
    /// Where it acts.
    pub at: Option<Stated<Where>>,
    /// How much of the surface there it acts on.
    pub extent: Option<Extent>,
    /// Where the part is held while it acts; none stated = not known.
    pub holds: Vec<Stated<Hold>>,
    /// How it comes; steady where nothing is stated.
    pub course: Stated<Course>,
    /// Whether the course is stated, rather than taken to be steady.
    pub course_stated: bool,
    /// How long it is held (steady loads); `None` = not stated.
    pub held: Option<Stated<Duration>>,
    /// How often (cyclic loads).
    pub cycles: Option<Stated<f64>>,
    /// Safety factor asked for; `None` = the rulebook's, by consequence.
    pub factor: Option<Stated<f64>>,
    /// Where it is said never to act together with another load.
    pub alone: Option<Span>,
    /// Temperature while loaded, where it differs from the service temperature.
    pub temperature: Option<Stated<Temperature>>,
    /// The whole statement.
    pub span: Span,
}

impl Load {
    /// Returns its size: a force, a torque, a pressure or an acceleration.
    pub fn size(&self) -> Option<Quantity> {
        let force = self.force.map(|f| f.value.into());
        let surface = force.or(self.torque.map(|t| t.value.into())).or(self.pressure.map(|p| p.value.into()));
        surface.or(self.acceleration.map(|a| a.value.into()))
    }

    /// Returns the first place it is held at, other than one it only rests on.
    pub fn fixed(&self) -> Option<&Where> {
        self.holds.iter().find(|h| !h.value.rests).map(|h| &h.value.at)
    }

    /// Returns every place it speaks of.
    pub fn places(&self) -> impl Iterator<Item = (&Where, Span)> {
        let holds = self.holds.iter().map(|h| (&h.value.at, h.span));
        self.at.iter().map(|w| (&w.value, w.span)).chain(holds)
    }

    /// Returns whether it is held as another one is.
    pub fn is_held_like(&self, other: &Load) -> bool {
        self.holds.iter().map(|h| &h.value).eq(other.holds.iter().map(|h| &h.value))
    }
}

/// How a load comes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Course {
    /// It stays.
    Steady,
    /// As a blow or a gust.
    Shock,
    /// It comes and goes.
    Cyclic,
}

/// A second colour of the part.
#[derive(Debug, Clone, PartialEq)]
pub struct SecondColour {
    /// A colour of the catalogue, or free text.
    pub colour: String,
    /// Height above the bed from which the part has it.
    pub from: Length,
}

/// A feature that must fit something.
#[derive(Debug, Clone)]
pub struct Fit {
    /// Its name in quotes.
    pub name: Stated<String>,
    /// What it must fit, and how.
    pub function: Stated<FitFunction>,
    /// How many such features the part has; none = one.
    pub count: Option<Stated<u32>>,
    /// Axis of the feature in part axes.
    pub along: Option<Stated<Direction>>,
    /// Centre in mesh coordinates.
    pub at: Option<Stated<[Length; 3]>>,
    /// Depth of the feature from its face.
    pub depth: Option<Stated<Length>>,
    /// A flat on a round feature: from it to the far side.
    pub flat: Option<Stated<Length>>,
    /// It has two of them, one opposite the other: `flat` is then across the two.
    pub two_flats: bool,
    /// How far the finished size may be off its nominal one, least and most, where the spec says it itself.
    pub within: Option<Stated<[Length; 2]>>,
    /// How it must be finished; none leaves it to the recipe.
    pub finish: Option<Stated<FitFinish>>,
    /// How often what it strains in use is strained; none where nothing was said.
    pub opened: Option<Stated<Opened>>,
    /// The model already holds the allowance (so that it is not given twice).
    pub compensated: Option<Stated<bool>>,
    /// The whole statement.
    pub span: Span,
}

/// How often a snap or a living hinge is opened.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Opened {
    /// Once, or a few times in its life.
    Seldom,
    /// Again and again.
    Often,
}

impl Opened {
    /// Returns what a word of the language says.
    pub fn read(word: &str) -> Option<Self> {
        Some(match word {
            "once" | "seldom" => Self::Seldom,
            "often" => Self::Often,
            _ => return None,
        })
    }

    /// Returns its word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Seldom => "seldom",
            Self::Often => "often",
        }
    }
}

/// How a fitted feature is to be finished when the spec insists.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum FitFinish {
    /// Nothing may cut it.
    AsPrinted,
    /// Cut to size with a reamer.
    Reamed,
    /// Cut with a twist drill.
    Drilled,
    /// The thread is cut with a tap.
    Tapped,
}

/// What a feature must fit.
#[derive(Debug, Clone, PartialEq)]
pub enum FitFunction {
    /// `clearance M5 medium`
    Clearance {
        /// Of the screw, `M5`.
        thread: String,
        /// Of ISO 273.
        series: Series,
    },
    /// `sliding 12 mm`: printed bore or shaft that moves on a bought partner
    Sliding {
        /// Nominal diameter.
        size: Length,
        /// The feature is a bore, not a shaft.
        inner: bool,
        /// Play wanted on the diameter; none takes the usual.
        play: Option<Length>,
    },
    /// `press 8 mm`: a bought pin or shaft pressed in
    Press {
        /// Nominal diameter.
        size: Length,
        /// The feature is a bore, not a shaft.
        inner: bool,
        /// A zone or a pair by ISO 286; none takes the usual interference.
        symbol: Option<String>,
    },
    /// `bearing 608`
    BearingSeat {
        /// The bearing's number.
        designation: String,
    },
    /// `bore 8 mm H9 for shaft h6`, `shaft 8 mm g6 in bore H7`
    Iso {
        /// Nominal diameter.
        size: Length,
        /// The feature's own zone, `H9`.
        own: String,
        /// The zone of what goes with it, `h6`.
        partner: Option<String>,
        /// The feature is a bore, not a shaft.
        inner: bool,
    },
    /// `bore 20 mm +-0.1 mm`
    Sized {
        /// Nominal diameter.
        size: Length,
        /// How far the finished one may be off it.
        within: [Length; 2],
        /// The feature is a bore, not a shaft.
        inner: bool,
    },
    /// `slot 6 mm H11`, or with the fit's own limits
    Slot {
        /// Width.
        size: Length,
        /// A zone by ISO 286; none where the fit states its limits.
        own: Option<String>,
    },
    /// `bore square 9 mm`, `shaft square 9 mm h11`
    Square {
        /// Across its flats.
        size: Length,
        /// A zone or a pair by ISO 286; none takes the usual play, or the fit's own limits.
        own: Option<String>,
        /// The feature is a socket, not the square itself.
        inner: bool,
    },
    /// `pocket 8 mm x 20 mm`, `tongue 8 mm x 20 mm`
    Pocket {
        /// Width and length, as they are written.
        size: [Length; 2],
        /// A zone or a pair by ISO 286; none takes the usual play, or the fit's own limits.
        own: Option<String>,
        /// The feature is a pocket, not a tongue.
        inner: bool,
    },
    /// `rim 60 mm x 40 mm`, `lip 60 mm`
    Lid {
        /// Width, or diameter of a round one.
        size: Length,
        /// Length; none of a round one.
        length: Option<Length>,
        /// The feature is the rim of a box, not the lip of its lid.
        inner: bool,
    },
    /// `groove shaft for ring 20 mm x 2.5 mm`
    Groove {
        /// Where it is.
        seat: GrooveSeat,
        /// Of the ring.
        inside: Length,
        /// Of the ring: how thick it is.
        section: Length,
    },
    /// `keyway for shaft 20 mm`
    Keyway {
        /// Diameter of the shaft, which says how large the key is.
        shaft: Length,
    },
    /// `distance 40 mm +-0.2 mm from "left" to "right"`
    Distance {
        /// Between the two axes, or a face and an axis.
        size: Length,
        /// The fit or the face it begins at.
        from: String,
        /// The fit or the face it ends at; none for the two features of the first.
        to: Option<String>,
    },
    /// `thread M10` (`x1.5`)
    Thread {
        /// Thread, with its pitch where it is not the coarse one.
        designation: String,
    },
    /// `insert M3`
    Insert {
        /// Of the screw that goes in.
        thread: String,
    },
    /// `nut M6`
    Nut {
        /// Of the nut.
        thread: String,
    },
    /// `dowel 6 mm`
    Dowel {
        /// Diameter of the pin.
        size: Length,
    },
    /// `magnet 10 mm x 3 mm`
    Magnet {
        /// Of the disc.
        diameter: Length,
        /// Of the disc, along its axis.
        height: Length,
    },
    /// `hinge 4 mm` (a bought pin), `hinge in-place 4 mm` (pin and eye printed together) or `hinge living 0.5 mm`
    Hinge {
        /// Diameter of the pin, or thickness of the strip of a living hinge.
        size: Length,
        /// A thin strip that bends; no pin.
        living: bool,
        /// Pin and eye are printed together.
        in_place: bool,
    },
    /// `snap 1.2 mm reach 12 mm thick 2 mm`
    Snap {
        /// How far the arm must bend to pass.
        undercut: Length,
        /// Length of the arm.
        reach: Length,
        /// Of the arm at its root.
        thickness: Length,
    },
}

/// Where the groove of an O-ring is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum GrooveSeat {
    /// In a flat face.
    Face,
    /// Round a shaft.
    Shaft,
    /// In a bore.
    Bore,
}

/// Clearance holes for screws, of ISO 273.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Series {
    /// The closest hole.
    Fine,
    /// The usual hole.
    Medium,
    /// The widest hole.
    Coarse,
}

/// A face and what it must be.
#[derive(Debug, Clone)]
pub struct Face {
    /// Its name in quotes.
    pub name: Stated<String>,
    /// It is a round surface: a bore, the bowl of a hook, a pin.
    pub round: bool,
    /// The way it looks.
    pub toward: Option<Stated<Direction>>,
    /// A place on it or near it, by the mesh's x, y and z.
    pub near: Option<Stated<[Length; 3]>>,
    /// It is looked at.
    pub cosmetic: bool,
    /// No support may touch it.
    pub no_support: bool,
    /// No seam may run over it.
    pub no_seam: bool,
    /// A text on it that must be readable.
    pub marking: Option<String>,
    /// The face must lie on the bed.
    pub on_bed: bool,
    /// The whole statement.
    pub span: Span,
}

impl Face {
    /// Returns a face of which nothing is said.
    pub fn plain(span: Span) -> Self {
        Self {
            name: Stated { value: String::new(), span },
            round: false,
            toward: None,
            near: None,
            cosmetic: false,
            no_support: false,
            no_seam: false,
            marking: None,
            on_bed: false,
            span,
        }
    }
}

/// A fluid within the part.
#[derive(Debug, Clone, PartialEq)]
pub struct Pressure {
    /// Above the air outside; none where only tightness is asked for.
    pub pressure: Option<Stated<Stress>>,
    /// The fluid, as written.
    pub medium: Option<Stated<String>>,
    /// Leak-tight asked for.
    pub tight: bool,
    /// Inner diameter, where the spec gives it.
    pub bore: Option<Stated<Length>>,
    /// The whole statement.
    pub span: Span,
}

/// How far the part may give.
#[derive(Debug, Clone, PartialEq)]
pub struct Deflection {
    /// The most it may move where the load acts.
    pub limit: Stated<Length>,
    /// The load it is measured under.
    pub under: Option<Stated<String>>,
}

impl Deflection {
    /// Returns whether it is measured under a load.
    pub fn is_under(&self, load: &str) -> bool {
        self.under.as_ref().is_none_or(|u| u.value == load)
    }
}

/// A blow to the part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Impact {
    /// A drop of the part, or of something on it, from a height.
    Drop(Length),
    /// Something strikes it.
    Blow {
        /// Of what strikes.
        mass: Mass,
        /// At which it strikes.
        speed: Speed,
    },
    /// It is struck, and nothing says how hard.
    Stated,
}

/// What is done to a part after printing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Treatment {
    /// Warm it below melting, to relax it or let it crystallise.
    Anneal,
    /// Close its pores with a coat.
    Seal,
    /// Paint it.
    Paint,
    /// Let it take up moisture before it is used.
    Condition,
}

/// What the tool must answer honestly, never with a certificate word.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Ask {
    /// It keeps current from a person or a part.
    ElectricalInsulation,
    /// The same at mains voltage.
    MainsVoltage,
    /// It leads static charge away.
    StaticDissipation,
    /// It does not carry a flame on.
    FlameRetardance,
    /// It touches food.
    Food,
    /// It lies on skin.
    SkinContact,
    /// A child plays with it.
    Toy,
    /// A load hangs from it.
    Lifting,
    /// People are under what it carries.
    PeopleBeneath,
    /// It serves treatment or diagnosis.
    Medical,
    /// It is shaken: beside an engine, on something driven.
    Vibration,
    /// Soft to the touch, as a stop or a grip is.
    Softness,
    /// Nothing may be left in it or come loose from its inside: a duct, a clean room.
    ClearInside,
}

/// What matters where there is a choice.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Preference {
    /// More in hand against breaking.
    Strength,
    /// How it looks and feels.
    Finish,
    /// Less time on the printer.
    Speed,
    /// Less money.
    Cost,
}

/// A decision a spec can pin or a choice it can forbid.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Decision {
    /// Which printer of the shop.
    Printer,
    /// Which material.
    Material,
    /// Which spool of it.
    Spool,
    /// Which nozzle.
    Nozzle,
    /// Which build surface.
    Surface,
    /// What is put on the surface.
    Agent,
    /// Which way up.
    Pose,
    /// Whether support is printed.
    Supports,
    /// How the inside is built.
    BuildUp,
    /// A setting by name, `pin layer_height 0.2 mm`.
    Setting,
}

/// `pin nozzle 0.6 mm because "..."`, `forbid material "ABS" because "..."`
/// A choice that is fixed or ruled out, with its reason.
#[derive(Debug, Clone)]
pub struct Choice {
    /// What is chosen.
    pub decision: Stated<Decision>,
    /// For [`Decision::Setting`]: which.
    pub setting: Option<String>,
    /// What is fixed or ruled out.
    pub value: Stated<ChoiceValue>,
    /// The reason, as it is shown in the recipe.
    pub because: String,
    /// The whole statement.
    pub span: Span,
}

/// What is chosen.
#[derive(Debug, Clone, PartialEq)]
pub enum ChoiceValue {
    /// A name as in catalogue or shop ("PETG", "Bench", "brass-04").
    Named(String),
    /// A quantity: nozzle bore, layer height.
    Length(Length),
    /// Of a setting.
    Temperature(Temperature),
    /// Of a setting.
    TemperatureDifference(TemperatureDifference),
    /// Of a setting.
    Area(Area),
    /// Of a setting.
    Angle(Angle),
    /// Of a setting.
    Speed(Speed),
    /// Of a setting: a count, or a share of 1.
    Number(f64),
    /// A pose by the direction that points up, or `flat on` a declared face.
    Up(Direction),
    /// A pose by the name of the face that lies on the bed.
    OnFace(String),
}

/// A use that is none of this part, with the reason as given.
#[derive(Debug, Clone)]
pub struct Denial {
    /// The use.
    pub of: Ask,
    /// The reason, as it is shown in the recipe.
    pub because: String,
    /// The whole statement.
    pub span: Span,
}

/// A rule set aside for this part.
#[derive(Debug, Clone)]
pub struct Waiver {
    /// The rule's name.
    pub rule: Stated<String>,
    /// The reason, as it is shown in the recipe.
    pub because: String,
    /// The whole statement.
    pub span: Span,
}

/// One part's fit that mates with another part's.
#[derive(Debug, Clone)]
pub struct Assembly {
    /// Its name in quotes.
    pub name: Stated<String>,
    /// In the order of the file.
    pub mates: Vec<Mate>,
}

/// Two fits that share one clearance.
#[derive(Debug, Clone)]
pub struct Mate {
    /// (part, fit)
    pub first: Stated<(String, String)>,
    /// (part, fit), of the other part
    pub second: Stated<(String, String)>,
    /// The whole statement.
    pub span: Span,
}

impl Spec {
    /// Returns what a failure would do; damage where the spec does not say, which the recipe lists as an assumption.
    pub fn consequence(&self) -> Consequence {
        self.consequence.map_or(Consequence::Damage, |c| c.value)
    }

    /// Returns what reaches the part: the contacts stated, and those that other lines bring along.
    pub fn touching(&self) -> impl Iterator<Item = &Contact> {
        let there = |implied: &&Implied| {
            let brought = match implied.by {
                ImpliedBy::Wet => self.service.wet.is_some_and(|w| w.value == Wet::Immersed),
                ImpliedBy::Fluid => self.pressure.is_some(),
            };
            brought && !self.service.contacts.iter().any(|c| implied.unless.contains(&c.chemical.value))
        };
        self.service.contacts.iter().chain(self.implied.iter().filter(there).map(|implied| &implied.contact))
    }

    /// Puts what is named into the order of its names, so that the order of lines in a file decides nothing.
    pub fn in_name_order(mut self) -> Self {
        self.loads.sort_by(|a, b| a.name.value.cmp(&b.name.value));
        self.fits.sort_by(|a, b| a.name.value.cmp(&b.name.value));
        self.faces.sort_by(|a, b| a.name.value.cmp(&b.name.value));
        self.service.contacts.sort_by(|a, b| a.chemical.value.cmp(&b.chemical.value));
        self.treatments.sort_by_key(|t| t.value);
        self.asks.sort_by_key(|a| a.value);
        self.denials.sort_by_key(|d| d.of);
        let key = |c: &Choice| (c.decision.value, c.setting.clone(), format!("{:?}", c.value.value));
        self.pins.sort_by_key(key);
        self.forbids.sort_by_key(key);
        self.waivers.sort_by(|a, b| a.rule.value.cmp(&b.rule.value));
        self
    }
}
