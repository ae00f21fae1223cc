//! What a part must do, checked: the typed form of a `part` in a spec file.
//!
//! Plain data. Every stated value keeps the place it was stated at, so that a reason can cite it and the conflict
//! search can take a statement away and ask again.

use crate::diag::{Outline, SourceId, Span};
use crate::quantity::{
    Angle, Area, Duration, Force, Length, Mass, Speed, Stress, Temperature, TemperatureDifference, Torque,
};

/// A value and the place it was stated at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stated<T> {
    pub value: T,
    pub span: Span,
}

/// All parts of a spec file, with the assemblies that mate them.
#[derive(Debug, Clone, Default)]
pub struct SpecFile {
    pub parts: Vec<Spec>,
    pub assemblies: Vec<Assembly>,
    /// What the places of each text are called, for [`Sources::set_outline`](crate::diag::Sources::set_outline).
    pub outlines: Vec<(SourceId, Outline)>,
}

/// One part spec.
#[derive(Debug, Clone)]
pub struct Spec {
    pub name: Stated<String>,
    pub profiles: Vec<Stated<String>>,
    pub revision: Option<Stated<String>>,
    pub purpose: Option<Stated<String>>,
    pub stage: Option<Stated<Stage>>,
    pub consequence: Option<Stated<Consequence>>,
    pub meshes: Vec<MeshUse>,
    pub size: Option<Stated<[Length; 3]>>,
    pub quantity: Option<Stated<u32>>,
    /// The date the parts are wanted by, `2026-12-01`, as written; never compared with a clock.
    pub wanted_by: Option<Stated<String>>,
    pub service: Service,
    pub loads: Vec<Load>,
    pub fits: Vec<Fit>,
    pub faces: Vec<Face>,
    pub wall: Option<Stated<Length>>,
    pub pressure: Option<Pressure>,
    pub deflection: Option<Deflection>,
    /// Sliding wear against a named partner.
    pub wear: Option<Stated<String>>,
    pub impact: Option<Stated<Impact>>,
    pub treatments: Vec<Stated<Treatment>>,
    pub asks: Vec<Stated<Ask>>,
    /// In order of preference.
    pub preferences: Vec<Stated<Preference>>,
    pub pins: Vec<Choice>,
    pub forbids: Vec<Choice>,
    pub waivers: Vec<Waiver>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stage {
    FitPrototype,
    Functional,
    Production,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Consequence {
    Nuisance,
    Damage,
    Injury,
}

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
    pub span: Span,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum MeshUnit {
    Micrometre,
    Millimetre,
    Centimetre,
    Metre,
    Inch,
    Foot,
}

#[derive(Debug, Clone, Default)]
pub struct Service {
    /// Air temperature, lowest to highest, long term.
    pub air: Option<Stated<(Temperature, Temperature)>>,
    /// Short-term highest temperature of the part or its surroundings.
    pub peak: Option<Stated<Temperature>>,
    pub place: Option<Stated<Place>>,
    pub sun: Option<Stated<Sun>>,
    pub colour: Option<Stated<String>>,
    pub wet: Option<Stated<Wet>>,
    pub contacts: Vec<Contact>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Place {
    Indoors,
    Outdoors,
    BehindGlass,
    VehicleCabin,
    Dashboard,
    NearHeat,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sun {
    pub exposure: SunExposure,
    /// How long the part is to live in it; `None` = not stated.
    pub duration: Option<Duration>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum SunExposure {
    None,
    Shaded,
    Direct,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Wet {
    Dry,
    Damp,
    Rain,
    Immersed,
}

#[derive(Debug, Clone)]
pub struct Contact {
    /// As written; resolved against the catalogue's chemicals and their other names.
    pub chemical: Stated<String>,
    pub kind: ContactKind,
    pub temperature: Option<Stated<Temperature>>,
    pub span: Span,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum ContactKind {
    Vapour,
    Splash,
    Wiped,
    Immersed,
}

/// A direction in part axes (unit vector).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Direction(pub [f64; 3]);

/// Where on the part: a declared face by name, or a place in mesh coordinates.
#[derive(Debug, Clone, PartialEq)]
pub enum Where {
    Face(String),
    Point([Length; 3]),
}

#[derive(Debug, Clone)]
pub struct Load {
    pub name: Stated<String>,
    pub force: Option<Stated<Force>>,
    pub torque: Option<Stated<Torque>>,
    pub direction: Option<Stated<Direction>>,
    pub at: Option<Stated<Where>>,
    pub fixed: Option<Stated<Where>>,
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
    pub span: Span,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Course {
    Steady,
    Shock,
    Cyclic,
}

#[derive(Debug, Clone)]
pub struct Fit {
    pub name: Stated<String>,
    pub function: Stated<FitFunction>,
    pub count: Option<Stated<u32>>,
    /// Axis of the feature in part axes.
    pub along: Option<Stated<Direction>>,
    /// Centre in mesh coordinates.
    pub at: Option<Stated<[Length; 3]>>,
    pub depth: Option<Stated<Length>>,
    pub finish: Option<Stated<FitFinish>>,
    /// The model already holds the allowance (so that it is not given twice).
    pub compensated: Option<Stated<bool>>,
    pub span: Span,
}

/// How a fitted feature is to be finished when the spec insists.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum FitFinish {
    AsPrinted,
    Reamed,
    Drilled,
    Tapped,
}

#[derive(Debug, Clone, PartialEq)]
pub enum FitFunction {
    /// `clearance M5 medium`
    Clearance { thread: String, series: Series },
    /// `sliding 12 mm`: printed bore or shaft that moves on a bought partner
    Sliding { size: Length, inner: bool, play: Option<Length> },
    /// `press 8 mm`: a bought pin or shaft pressed in
    Press { size: Length, inner: bool, symbol: Option<String> },
    /// `bearing 608`
    BearingSeat { designation: String },
    /// `bore 8 mm H9 for shaft h6`, `shaft 8 mm g6 in bore H7`
    Iso { size: Length, own: String, partner: Option<String>, inner: bool },
    /// `thread M10` (`x1.5`)
    Thread { designation: String },
    /// `insert M3`
    Insert { thread: String },
    /// `nut M6`
    Nut { thread: String },
    /// `dowel 6 mm`
    Dowel { size: Length },
    /// `magnet 10 mm x 3 mm`
    Magnet { diameter: Length, height: Length },
    /// `hinge 4 mm` (a bought pin), `hinge in-place 4 mm` (pin and eye printed together) or `hinge living 0.5 mm`
    Hinge { size: Length, living: bool, in_place: bool },
    /// `snap 1.2 mm reach 12 mm thick 2 mm`
    Snap { undercut: Length, reach: Length, thickness: Length },
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Series {
    Fine,
    Medium,
    Coarse,
}

#[derive(Debug, Clone)]
pub struct Face {
    pub name: Stated<String>,
    pub toward: Option<Stated<Direction>>,
    pub near: Option<Stated<[Length; 3]>>,
    pub cosmetic: bool,
    pub no_support: bool,
    pub no_seam: bool,
    pub marking: Option<String>,
    /// The face must lie on the bed.
    pub on_bed: bool,
    pub span: Span,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Pressure {
    pub pressure: Option<Stated<Stress>>,
    pub medium: Option<Stated<String>>,
    /// Leak-tight asked for.
    pub tight: bool,
    /// Inner diameter, where the spec gives it.
    pub bore: Option<Stated<Length>>,
    pub span: Span,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Deflection {
    pub limit: Stated<Length>,
    /// The load it is measured under.
    pub under: Option<Stated<String>>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Impact {
    /// A drop of the part, or of something on it, from a height.
    Drop(Length),
    Blow {
        mass: Mass,
        speed: Speed,
    },
    Stated,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Treatment {
    Anneal,
    Seal,
    Paint,
    Condition,
}

/// What the tool must answer honestly, never with a certificate word.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Ask {
    ElectricalInsulation,
    MainsVoltage,
    StaticDissipation,
    FlameRetardance,
    Food,
    SkinContact,
    Toy,
    Lifting,
    PeopleBeneath,
    Medical,
    /// Soft to the touch, as a stop or a grip is.
    Softness,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Preference {
    Strength,
    Finish,
    Speed,
    Cost,
}

/// A decision a spec can pin or a choice it can forbid.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Decision {
    Printer,
    Material,
    Spool,
    Nozzle,
    Surface,
    Agent,
    Pose,
    Supports,
    BuildUp,
    /// A setting by name, `pin layer_height 0.2 mm`.
    Setting,
}

/// `pin nozzle 0.6 mm because "..."`, `forbid material "ABS" because "..."`
#[derive(Debug, Clone)]
pub struct Choice {
    pub decision: Stated<Decision>,
    /// For [`Decision::Setting`]: which.
    pub setting: Option<String>,
    pub value: Stated<ChoiceValue>,
    pub because: String,
    pub span: Span,
}

#[derive(Debug, Clone, PartialEq)]
pub enum ChoiceValue {
    /// A name as in catalogue or shop ("PETG", "Bench", "brass-04").
    Named(String),
    /// A quantity: nozzle bore, layer height.
    Length(Length),
    Temperature(Temperature),
    TemperatureDifference(TemperatureDifference),
    Area(Area),
    Angle(Angle),
    Speed(Speed),
    Number(f64),
    /// A pose by the direction that points up, or `flat on` a declared face.
    Up(Direction),
    OnFace(String),
}

#[derive(Debug, Clone)]
pub struct Waiver {
    pub rule: Stated<String>,
    pub because: String,
    pub span: Span,
}

/// One part's fit that mates with another part's.
#[derive(Debug, Clone)]
pub struct Assembly {
    pub name: Stated<String>,
    pub mates: Vec<Mate>,
}

#[derive(Debug, Clone)]
pub struct Mate {
    /// (part, fit)
    pub first: Stated<(String, String)>,
    pub second: Stated<(String, String)>,
    pub span: Span,
}

impl Spec {
    /// Returns what a failure would do; damage where the spec does not say, which the recipe lists as an assumption.
    pub fn consequence(&self) -> Consequence {
        self.consequence.map_or(Consequence::Damage, |c| c.value)
    }

    /// Puts what is named into the order of its names, so that the order of lines in a file decides nothing.
    pub fn in_name_order(mut self) -> Self {
        self.loads.sort_by(|a, b| a.name.value.cmp(&b.name.value));
        self.fits.sort_by(|a, b| a.name.value.cmp(&b.name.value));
        self.faces.sort_by(|a, b| a.name.value.cmp(&b.name.value));
        self.service.contacts.sort_by(|a, b| a.chemical.value.cmp(&b.chemical.value));
        self.treatments.sort_by_key(|t| t.value);
        self.asks.sort_by_key(|a| a.value);
        let key = |c: &Choice| (c.decision.value, c.setting.clone(), format!("{:?}", c.value.value));
        self.pins.sort_by_key(key);
        self.forbids.sort_by_key(key);
        self.waivers.sort_by(|a, b| a.rule.value.cmp(&b.rule.value));
        self
    }
}
