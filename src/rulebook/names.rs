//! The one table of names a rule may use: root, field, type, the decisions it touches, one line of help.
//!
//! Which decisions a rule touches is never written in a rule; it follows from the names in it, by this table. A name
//! stands here only if it can be computed from spec, catalogue, workshop, mesh or physics.

use std::fmt;

use super::value::{Record, Value};
use crate::catalogue::figures;
use crate::quantity::Dimension;

/// What a name belongs to: the first part of a dotted name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Root {
    Service,
    Part,
    Mesh,
    Contact,
    Load,
    Fit,
    Face,
    Printer,
    Material,
    Spool,
    Nozzle,
    Surface,
    Agent,
    Bond,
    Pose,
    Piece,
    Supports,
    Settings,
    Shop,
    Run,
    Figure,
}

impl Root {
    pub const ALL: [Root; 21] = [
        Root::Service,
        Root::Part,
        Root::Mesh,
        Root::Contact,
        Root::Load,
        Root::Fit,
        Root::Face,
        Root::Printer,
        Root::Material,
        Root::Spool,
        Root::Nozzle,
        Root::Surface,
        Root::Agent,
        Root::Bond,
        Root::Pose,
        Root::Piece,
        Root::Supports,
        Root::Settings,
        Root::Shop,
        Root::Run,
        Root::Figure,
    ];

    /// Returns the word as it stands in rules.
    pub const fn word(self) -> &'static str {
        match self {
            Root::Service => "service",
            Root::Part => "part",
            Root::Mesh => "mesh",
            Root::Contact => "contact",
            Root::Load => "load",
            Root::Fit => "fit",
            Root::Face => "face",
            Root::Printer => "printer",
            Root::Material => "material",
            Root::Spool => "spool",
            Root::Nozzle => "nozzle",
            Root::Surface => "surface",
            Root::Agent => "agent",
            Root::Bond => "bond",
            Root::Pose => "pose",
            Root::Piece => "piece",
            Root::Supports => "supports",
            Root::Settings => "settings",
            Root::Shop => "shop",
            Root::Run => "run",
            Root::Figure => "figure",
        }
    }

    pub fn parse(word: &str) -> Option<Root> {
        Root::ALL.into_iter().find(|r| r.word() == word)
    }

    /// Returns whether a rule that names this root is judged once per instance (per load, per fit ...).
    pub const fn is_each(self) -> bool {
        matches!(self, Root::Contact | Root::Load | Root::Fit | Root::Face)
    }

    /// Returns the decisions that any name of this root touches.
    pub const fn touches(self) -> Touches {
        match self {
            Root::Printer => Touches::of(&[Decision::Printer]),
            Root::Material => Touches::of(&[Decision::Material]),
            Root::Spool => Touches::of(&[Decision::Material, Decision::Spool]),
            Root::Nozzle => Touches::of(&[Decision::Nozzle]),
            Root::Surface => Touches::of(&[Decision::Surface]),
            Root::Agent => Touches::of(&[Decision::Agent]),
            Root::Bond => Touches::of(&[Decision::Material, Decision::Surface, Decision::Agent]),
            Root::Pose => Touches::of(&[Decision::Pose]),
            Root::Piece => Touches::of(&[
                Decision::Printer,
                Decision::Material,
                Decision::Nozzle,
                Decision::Pose,
                Decision::Supports,
            ]),
            Root::Supports => Touches::of(&[Decision::Supports]),
            // A plan of plates is made for a full choice only.
            Root::Run => Touches::of(&Decision::ALL),
            _ => Touches::NONE,
        }
    }

    /// Returns the fields of this root; those of `settings` come from the `derive` rules instead.
    pub const fn fields(self) -> &'static [Field] {
        match self {
            Root::Service => SERVICE,
            Root::Part => PART,
            Root::Mesh => MESH,
            Root::Contact => CONTACT,
            Root::Load => LOAD,
            Root::Fit => FIT,
            Root::Face => FACE,
            Root::Printer => PRINTER,
            Root::Material => MATERIAL,
            Root::Spool => SPOOL,
            Root::Nozzle => NOZZLE,
            Root::Surface => SURFACE,
            Root::Agent => AGENT,
            Root::Bond => BOND,
            Root::Pose => POSE,
            Root::Piece => PIECE,
            Root::Supports => SUPPORTS,
            Root::Settings => &[],
            Root::Shop => SHOP,
            Root::Run => RUN,
            Root::Figure => FIGURE,
        }
    }

    pub fn field(self, name: &str) -> Option<&'static Field> {
        self.fields().iter().find(|f| f.name == name)
    }
}

/// What the resolver decides; settings follow from these by `derive` rules.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Decision {
    Printer,
    Material,
    /// Goes with the material.
    Spool,
    Nozzle,
    Surface,
    Agent,
    Pose,
    Supports,
}

impl Decision {
    pub const ALL: [Decision; 8] = [
        Decision::Printer,
        Decision::Material,
        Decision::Spool,
        Decision::Nozzle,
        Decision::Surface,
        Decision::Agent,
        Decision::Pose,
        Decision::Supports,
    ];

    pub const fn word(self) -> &'static str {
        match self {
            Decision::Printer => "printer",
            Decision::Material => "material",
            Decision::Spool => "spool",
            Decision::Nozzle => "nozzle",
            Decision::Surface => "surface",
            Decision::Agent => "agent",
            Decision::Pose => "pose",
            Decision::Supports => "supports",
        }
    }
}

/// A set of decisions.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Touches(pub u16);

impl Touches {
    pub const NONE: Self = Touches(0);

    pub const fn of(decisions: &[Decision]) -> Self {
        let mut bits = 0;
        let mut i = 0;
        while i < decisions.len() {
            bits |= 1 << decisions[i] as u16;
            i += 1;
        }
        Touches(bits)
    }

    pub const fn union(self, other: Self) -> Self {
        Touches(self.0 | other.0)
    }

    pub const fn contains(self, decision: Decision) -> bool {
        self.0 & (1 << decision as u16) != 0
    }

    /// Returns whether every decision of `self` is in `decided`: then the rule can be asked.
    pub const fn within(self, decided: Self) -> bool {
        self.0 & !decided.0 == 0
    }

    pub const fn is_empty(self) -> bool {
        self.0 == 0
    }

    pub const fn count(self) -> u32 {
        self.0.count_ones()
    }

    pub fn iter(self) -> impl Iterator<Item = Decision> {
        Decision::ALL.into_iter().filter(move |d| self.contains(*d))
    }
}

impl fmt::Display for Touches {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let words: Vec<&str> = self.iter().map(Decision::word).collect();
        f.write_str(if words.is_empty() { "nothing: it follows from the spec alone" } else { "" })?;
        f.write_str(&words.join(", "))
    }
}

/// The type of a name or an expression.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Type {
    Bool,
    Quantity(Dimension),
    Range(Dimension),
    Text,
    /// One of a closed set of words in rising order; words compare by that order.
    Word(&'static [&'static str]),
    List(&'static Type),
    Record(Root),
}

impl Type {
    /// Returns a noun for messages.
    pub fn noun(self) -> String {
        match self {
            Type::Bool => "yes or no".to_owned(),
            Type::Quantity(d) => d.name(),
            Type::Range(d) => format!("a range ({})", d.name()),
            Type::Text => "a text".to_owned(),
            Type::Word(words) => format!("one of {}", words.join(", ")),
            Type::List(of) => format!("a list ({})", of.noun()),
            Type::Record(root) => format!("a {}", root.word()),
        }
    }

    /// Returns whether a value could be of this type; an unknown value always can.
    pub fn admits(self, value: &Value) -> bool {
        match (self, value) {
            (_, Value::Unknown) | (Type::Bool, Value::Bool(_)) | (Type::Text, Value::Text(_)) => true,
            (Type::Quantity(d), Value::Quantity(q)) => q.dimension == d,
            (Type::Range(d), Value::Range(low, high)) => low.dimension == d && high.dimension == d,
            (Type::Word(words), Value::Word(w)) => words.contains(&w.as_ref()),
            (Type::List(of), Value::List(items)) => items.iter().all(|i| of.admits(i)),
            (Type::Record(_), Value::Record(_)) => true,
            _ => false,
        }
    }
}

/// One field of a root.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Field {
    pub name: &'static str,
    pub kind: Type,
    /// Decisions it touches beyond those of its root.
    pub also: Touches,
    pub help: &'static str,
}

/// Returns what is wrong with a record as facts of `root`: names the table lacks, values of another type.
///
/// For whoever fills records: a fact the table does not know is invisible to rules, one of the wrong type is unknown.
pub fn audit(root: Root, record: &Record) -> Vec<String> {
    if root == Root::Settings {
        return Vec::new();
    }
    let mut findings = Vec::new();
    for (name, fact) in record.all() {
        match root.field(name.as_ref()) {
            None => findings.push(format!("`{}.{name}` is not a name of the rule language", root.word())),
            Some(field) if !field.kind.admits(&fact.value) => findings.push(format!(
                "`{}.{name}` should be {}, found {:?}",
                root.word(),
                field.kind.noun(),
                fact.value
            )),
            Some(_) => {}
        }
    }
    findings
}

const fn f(name: &'static str, kind: Type, help: &'static str) -> Field {
    Field { name, kind, also: Touches::NONE, help }
}

const fn t(name: &'static str, kind: Type, also: &[Decision], help: &'static str) -> Field {
    Field { name, kind, also: Touches::of(also), help }
}

const BOOL: Type = Type::Bool;
const TEXT: Type = Type::Text;
const NUMBER: Type = Type::Quantity(Dimension::NONE);
const LENGTH: Type = Type::Quantity(Dimension::LENGTH);
const AREA: Type = Type::Quantity(Dimension::AREA);
const VOLUME: Type = Type::Quantity(Dimension::VOLUME);
const MASS: Type = Type::Quantity(Dimension::MASS);
const TIME: Type = Type::Quantity(Dimension::TIME);
const TEMPERATURE: Type = Type::Quantity(Dimension::TEMPERATURE);
const DIFFERENCE: Type = Type::Quantity(Dimension::TEMPERATURE_DIFFERENCE);
const ANGLE: Type = Type::Quantity(Dimension::ANGLE);
const FORCE: Type = Type::Quantity(Dimension::FORCE);
const TORQUE: Type = Type::Quantity(Dimension::TORQUE);
const STRESS: Type = Type::Quantity(Dimension::STRESS);
const DENSITY: Type = Type::Quantity(Dimension::DENSITY);
const FLOW: Type = Type::Quantity(Dimension::FLOW);
const EXPANSION: Type = Type::Quantity(Dimension::EXPANSION);
const MONEY: Type = Type::Quantity(Dimension::MONEY);
/// Money per mass.
const MASS_PRICE: Type = Type::Quantity(Dimension { mass: -1, money: 1, ..Dimension::NONE });
/// Money per time.
const HOUR_RATE: Type = Type::Quantity(Dimension { time: -1, money: 1, ..Dimension::NONE });

pub const PLACE: &[&str] = &["indoors", "outdoors", "behind-glass", "vehicle-cabin", "dashboard", "near-heat"];
pub const SUN: &[&str] = &["none", "shaded", "direct"];
pub const WET: &[&str] = &["dry", "damp", "rain", "immersed"];
pub const STAGE: &[&str] = &["fit-prototype", "functional", "production"];
pub const CONSEQUENCE: &[&str] = &["nuisance", "damage", "injury"];
pub const CONTACT_KIND: &[&str] = &["vapour", "splash", "wiped", "immersed"];
pub const RATING: &[&str] = &["poor", "limited", "good", "excellent"];
pub const COURSE: &[&str] = &["steady", "shock", "cyclic"];
pub const FUNCTION: &[&str] =
    &["clearance", "sliding", "press", "bearing", "iso", "thread", "insert", "nut", "dowel", "magnet", "hinge", "snap"];
/// How a fitted feature gets its size.
pub const ROUTE: &[&str] = &["print", "ream", "drill", "tap", "insert", "glue", "ribs", "try", "turn", "buy"];
/// What the mesh holds of a fit: nothing found, the nominal size, the size to model, that size to be added to once more,
/// another size.
pub const MODELLED: &[&str] = &["unknown", "nominal", "compensated", "twice", "other"];
pub const DRIVE: &[&str] = &["direct", "bowden"];
pub const MORPHOLOGY: &[&str] = &["amorphous", "semi-crystalline", "elastomer"];
pub const NEED: &[&str] = &["none", "helpful", "required"];
pub const STORED: &[&str] = &["open", "bag", "dry-box", "sealed"];
pub const LEVEL: &[&str] = &["low", "medium", "high"];
pub const WARP: &[&str] = &["low", "medium", "high", "very-high"];
pub const WEATHERING: &[&str] = &["poor", "fair", "good"];
/// The order ranks nothing but `none` and `low`; compare the others by name.
pub const FUMES: &[&str] = &[
    "none",
    "low",
    "styrene",
    "caprolactam",
    "laurolactam",
    "formaldehyde",
    "methacrylate",
    "isocyanate",
    "sulphur",
    "other",
];
pub const HARDNESS: &[&str] = &["soft", "medium", "hardened", "very-hard"];
pub const HOLD: &[&str] = &["none", "weak", "good", "strong", "too-strong"];
pub const ROLE: &[&str] = &["none", "adhesive", "release", "forbidden"];
pub const SUPPORT_KIND: &[&str] = &["none", "where-needed"];

const SERVICE: &[Field] = &[
    f("air_low", TEMPERATURE, "lowest air temperature in service"),
    f("air_high", TEMPERATURE, "highest air temperature in service"),
    f("peak", TEMPERATURE, "highest short-term temperature stated"),
    t(
        "part_temperature",
        TEMPERATURE,
        &[Decision::Material],
        "highest temperature the part itself reaches, sun and place counted",
    ),
    t(
        "lasting_strength",
        STRESS,
        &[Decision::Material],
        "low end of the strength across the layers that is left for years at the temperature of the part and its contacts",
    ),
    t(
        "part_temperature_high",
        TEMPERATURE,
        &[Decision::Material],
        "the same with the unfavourable end of each figure: still air, peak sun, nothing that cools its back",
    ),
    t("part_temperature_low", TEMPERATURE, &[Decision::Material], "lowest temperature the part itself reaches"),
    f("place", Type::Word(PLACE), "where the part lives"),
    f("sun", Type::Word(SUN), "how the sun reaches it"),
    f("sun_duration", TIME, "how long it is to live in the sun"),
    f("wet", Type::Word(WET), "how wet it gets"),
    f("colour", TEXT, "the colour asked for"),
    f("absorptance", NUMBER, "share of the sun's heat its colour takes up"),
    f("has_contacts", BOOL, "whether the spec names a chemical"),
];

const PART: &[Field] = &[
    f("name", TEXT, "the name of the part"),
    f("quantity", NUMBER, "how many are wanted"),
    f("stage", Type::Word(STAGE), "what the print is for"),
    f("consequence", Type::Word(CONSEQUENCE), "what happens if it fails"),
    f("wall", LENGTH, "the smallest wall asked for"),
    f("pressure", STRESS, "fluid pressure it must hold"),
    f("pressure_bore", LENGTH, "inner diameter of what holds the pressure"),
    f("pressure_gas", BOOL, "whether a gas is under the pressure"),
    f("tight", BOOL, "whether it must be leak-tight"),
    f("wear", BOOL, "whether it slides against a partner"),
    f("impact", BOOL, "whether it takes blows or drops"),
    f("anneal", BOOL, "whether annealing is asked for"),
    f("seal", BOOL, "whether sealing is asked for"),
    f("paint", BOOL, "whether painting is asked for"),
    f("condition", BOOL, "whether conditioning (taking up moisture on purpose) is asked for"),
    f("insulation", BOOL, "whether it is to insulate electrically"),
    f("mains", BOOL, "whether mains voltage is near"),
    f("static", BOOL, "whether it is to bleed off static charge"),
    f("flame", BOOL, "whether it is to resist flame"),
    f("food", BOOL, "whether it touches food or drink"),
    f("skin", BOOL, "whether it stays on skin"),
    f("toy", BOOL, "whether children play with it"),
    f("lifting", BOOL, "whether it lifts or hangs loads"),
    f("people_beneath", BOOL, "whether people are beneath it, or held by it"),
    f("medical", BOOL, "whether it is for medical use"),
    f("soft", BOOL, "whether it is to be soft"),
    f("deflection_limit", LENGTH, "the largest deflection allowed"),
    t("deflection", LENGTH, &[Decision::Material, Decision::Pose], "the deflection estimated under its load"),
    f("prefers_strength", NUMBER, "weight of strength among the preferences, 0 to 1"),
    f("prefers_finish", NUMBER, "weight of looks among the preferences, 0 to 1"),
    f("prefers_speed", NUMBER, "weight of speed among the preferences, 0 to 1"),
    f("prefers_cost", NUMBER, "weight of cost among the preferences, 0 to 1"),
    f("loaded", BOOL, "whether the spec states a load"),
    f("has_fits", BOOL, "whether the spec states a fit"),
    f("tight_fits", BOOL, "whether a fit needs better than 0.1 mm"),
    f("has_cosmetic", BOOL, "whether a face is cosmetic"),
    f("treated", BOOL, "whether any treatment follows the print"),
];

const MESH: &[Field] = &[
    f("volume", VOLUME, "volume of the model"),
    f("area", AREA, "surface of the model"),
    f("longest", LENGTH, "longest side of its box"),
    f("height", LENGTH, "height of its box as modelled"),
    f("closed", BOOL, "whether the mesh is a closed surface"),
    f("min_wall", LENGTH, "thinnest wall found"),
    f("min_wall_at", TEXT, "where the thinnest wall is, in the axes of the mesh file"),
    f("broad_wall", LENGTH, "thinnest wall of parallel sides that is more than a spot"),
    f("broad_wall_at", TEXT, "a place on that wall, in the axes of the mesh file"),
    f("min_gap", LENGTH, "narrowest gap found"),
    f("min_gap_at", TEXT, "where the narrowest gap is, in the axes of the mesh file"),
    f("pieces", NUMBER, "separate bodies in the mesh"),
];

const CONTACT: &[Field] = &[
    f("chemical", TEXT, "the chemical"),
    f("kind", Type::Word(CONTACT_KIND), "how it meets the part"),
    f("temperature", TEMPERATURE, "its temperature"),
    f("hot", BOOL, "whether it is warmer than 40 °C"),
    t("rating", Type::Word(RATING), &[Decision::Material], "how the material stands it, from the catalogue"),
    t(
        "cracks_under_load",
        BOOL,
        &[Decision::Material],
        "whether the material may crack in it where something pulls at it",
    ),
    f("flammable", BOOL, "whether it burns"),
    f("strength", TEXT, "how strong the liquid is that the catalogue rates, where the name alone does not say"),
];

const LOAD: &[Field] = &[
    f("name", TEXT, "its name"),
    f("force", FORCE, "its force"),
    f("torque", TORQUE, "its torque"),
    f("course", Type::Word(COURSE), "steady, shock or cyclic"),
    f("held", TIME, "how long a steady load is held"),
    f("cycles", NUMBER, "how often a cyclic load comes"),
    f("factor", NUMBER, "the safety factor asked for or given by consequence"),
    t("angle", ANGLE, &[Decision::Pose], "angle of the governing stress to the layer plane; 90° pulls layers apart"),
    t("stress", STRESS, &[Decision::Pose], "largest stress estimated from it"),
    t(
        "capacity",
        STRESS,
        &[Decision::Material, Decision::Pose],
        "stress the printed material bears there, heat, time and layers counted",
    ),
    t("margin", NUMBER, &[Decision::Material, Decision::Pose], "capacity over stress times factor"),
    t("shown", BOOL, &[Decision::Material, Decision::Pose], "whether stress and capacity could be computed at all"),
    f("together", TEXT, "the loads that act at once with it, itself among them, where there are others"),
    t(
        "together_margin",
        NUMBER,
        &[Decision::Material, Decision::Pose],
        "what they leave between them: 1 over the sum of 1 over each one's margin",
    ),
];

/// What a fit's allowance hangs on.
const ON_THE_LINE: &[Decision] = &[Decision::Printer, Decision::Material, Decision::Nozzle, Decision::Pose];

const FIT: &[Field] = &[
    f("name", TEXT, "its name"),
    f("function", Type::Word(FUNCTION), "what the fit does"),
    f("size", LENGTH, "nominal size"),
    f("outside", BOOL, "whether it is a peg, boss or shaft rather than a hole"),
    t("vertical", BOOL, &[Decision::Pose], "whether its axis stands upright in this pose"),
    f("tolerance", LENGTH, "the tolerance it must keep"),
    t("spread", LENGTH, ON_THE_LINE, "spread to expect from this printer"),
    f("as_printed", BOOL, "whether the spec wants nothing done to it after printing"),
    t("holds", BOOL, ON_THE_LINE, "whether printing alone keeps its limits, for most pieces at least"),
    t("route", Type::Word(ROUTE), ON_THE_LINE, "how it gets its size"),
    t("cutter", LENGTH, ON_THE_LINE, "size of the drill or reamer that finishes it, where one does"),
    t("step", TEXT, ON_THE_LINE, "the work after printing, as a text with its sizes"),
    f("strain", NUMBER, "largest strain of a snap arm pushed on, or of a living hinge folded flat"),
    t(
        "strain_limit",
        NUMBER,
        &[Decision::Material],
        "strain the material bears once: half of that at which a print of it breaks, its low end",
    ),
    f("count", NUMBER, "how many there are: as stated, else as found on the mesh"),
    f("thread", TEXT, "thread designation, where it has one"),
    f("designation", TEXT, "what the spec calls it, as `bore 8 mm H9` or `bearing 608`"),
    f("target", TEXT, "the limits of the finished feature, as a text"),
    t("model_size", TEXT, ON_THE_LINE, "the size to model, as a text"),
    t("correction", TEXT, ON_THE_LINE, "size to model less the nominal size, with its sign, as a text"),
    t("modelled", Type::Word(MODELLED), ON_THE_LINE, "what the mesh holds of it, compared with the size to model"),
    f("shoulder", BOOL, "whether every hole found for it ends at a floor or a narrower hole"),
    f("found", TEXT, "the size the mesh has, as a text, where the feature was found"),
    f("settings_carry", BOOL, "whether the spec leaves its allowance to the settings of the print job"),
    t("printed", TEXT, ON_THE_LINE, "the limits to find as printed, where finishing follows, as a text"),
    t("printed_gauge", TEXT, ON_THE_LINE, "with what, when and on how many pieces it is measured before finishing"),
    t("gauge", TEXT, ON_THE_LINE, "with what, when and on how many pieces the finished feature is measured, if it is"),
    t("trial", TEXT, ON_THE_LINE, "the trial that judges it, where nothing is left to measure"),
    t("tool_present", BOOL, ON_THE_LINE, "whether the shop has the reamer, drill, tap or inserts it needs"),
    t("calibrated", BOOL, ON_THE_LINE, "whether a calibration record of this shop covers it"),
];

/// Where support would touch hangs on the pose and on what prints without it.
const SCARRED: &[Decision] =
    &[Decision::Pose, Decision::Supports, Decision::Printer, Decision::Material, Decision::Nozzle];

const FACE: &[Field] = &[
    f("name", TEXT, "its name"),
    f("cosmetic", BOOL, "whether its look matters"),
    f("no_support", BOOL, "whether support must not touch it"),
    f("no_seam", BOOL, "whether the seam must stay away from it"),
    f("on_bed", BOOL, "whether it is to lie on the bed"),
    f("marking", TEXT, "marking it carries"),
    t("scarred", AREA, SCARRED, "area of it that support would touch"),
    t("down", BOOL, &[Decision::Pose], "whether it lies on the bed in this pose"),
];

const PRINTER: &[Field] = &[
    f("name", TEXT, "its name"),
    f("build_x", LENGTH, "build volume, x"),
    f("build_y", LENGTH, "build volume, y"),
    f("build_z", LENGTH, "build volume, z"),
    f("nozzle_limit", TEMPERATURE, "hottest nozzle it reaches"),
    f("bed_limit", TEMPERATURE, "hottest bed it reaches"),
    f("chamber", TEMPERATURE, "temperature the air round the part reaches"),
    f("enclosed", BOOL, "whether it is enclosed"),
    f("drive", Type::Word(DRIVE), "how filament is driven"),
    f("flow", FLOW, "melting rate of its hot end with PLA through 0.4 mm brass"),
    f("loaded", Type::Record(Root::Material), "the material in it now"),
    f("loaded_spool", TEXT, "the spool on it now"),
    f("fitted", Type::Record(Root::Nozzle), "the nozzle in it now"),
    f("mounted", Type::Record(Root::Surface), "the surface on it now"),
    f("level_due", BOOL, "whether levelling is due for a reason of its own"),
    f("hour_rate", HOUR_RATE, "cost of an hour on it"),
];

const MATERIAL: &[Field] = &[
    f("name", TEXT, "its short name"),
    f("family", TEXT, "base polymer"),
    f("morphology", Type::Word(MORPHOLOGY), "how the polymer is built, which says what limits it in heat"),
    f("density", DENSITY, "density of the solid filament"),
    f("glass_transition", TEMPERATURE, "where an amorphous polymer loses its stiffness"),
    f("melting", TEMPERATURE, "where its crystals melt"),
    f("heat_limit", TEMPERATURE, "highest service temperature of a printed part under light load"),
    f("heat_limit_low", TEMPERATURE, "the low end of that limit"),
    f("heat_limit_high", TEMPERATURE, "the high end of that limit: there it gives way by itself"),
    f("service_limit", TEMPERATURE, "highest continuous service temperature published for mouldings"),
    f("cold_limit", TEMPERATURE, "temperature down to which it still takes knocks"),
    f("print_temperature", TEMPERATURE, "nozzle temperature to begin with"),
    f("print_temperature_low", TEMPERATURE, "lowest nozzle temperature"),
    f("print_temperature_high", TEMPERATURE, "highest nozzle temperature: above it the polymer breaks down"),
    f("bed_temperature", TEMPERATURE, "bed temperature to begin with"),
    f("bed_temperature_low", TEMPERATURE, "lowest bed temperature"),
    f("bed_temperature_high", TEMPERATURE, "highest bed temperature"),
    f("chamber_need", Type::Word(NEED), "whether it needs a warm chamber"),
    f("chamber_temperature", TEMPERATURE, "chamber temperature that keeps it from lifting"),
    f("chamber_limit", TEMPERATURE, "warmest air in which the filament still feeds"),
    f("fan", NUMBER, "share of full part cooling"),
    f("drying_temperature", TEMPERATURE, "drying temperature of the filament"),
    f("drying_time", TIME, "drying time of the filament"),
    f("moisture", Type::Word(LEVEL), "how much the filament suffers from moisture"),
    f("strength_along", STRESS, "printed strength along the beads"),
    f("strength_across", STRESS, "printed strength across the layers"),
    f("modulus", STRESS, "stiffness"),
    f(
        "elongation",
        NUMBER,
        "strain at which a print breaks in the layer plane, where that is known, else a moulded bar",
    ),
    f("shrinkage", NUMBER, "shrinkage of a print in the layer plane"),
    f("expansion", EXPANSION, "thermal expansion"),
    f("abrasive", BOOL, "whether its filler wears a soft nozzle"),
    f("smallest_bore", LENGTH, "smallest bore its filler does not clog"),
    f("uv", Type::Word(WEATHERING), "how an unprotected surface stands sun and weather"),
    f("uv_life", TIME, "time in full sun before strength or looks have plainly gone"),
    f("uv_life_low", TIME, "low end of that time"),
    f("uv_life_high", TIME, "high end of that time"),
    f("warp", Type::Word(WARP), "how strongly it lifts at the corners"),
    f("fumes", Type::Word(FUMES), "what it gives off when printed"),
    f("heat_sensitive", BOOL, "whether it chars or gives off what hurts not far above its printing range"),
    f(
        "residue_limit",
        TEMPERATURE,
        "hottest that rests of it may get in a nozzle while another material takes them out",
    ),
    f("flexible", BOOL, "whether filament and part are rubbery"),
    f("water_soluble", BOOL, "whether water dissolves it"),
    f("annealed", BOOL, "whether the entry describes parts annealed after printing"),
    f("anneal_temperature", TEMPERATURE, "oven temperature for annealing"),
    f("anneal_time", TIME, "time in the oven at that temperature"),
    f("anneal_shrinkage", NUMBER, "share by which it shortens in the layer plane on annealing"),
    f("filled", BOOL, "whether it carries fibre, metal, mineral or wood filler"),
    f("fibre", BOOL, "whether the filler is fibre"),
    f("support_only", BOOL, "whether it only serves as support for another material"),
    f("static_control", BOOL, "whether it bleeds off static charge"),
    f("price", MASS_PRICE, "price of filament"),
    f("layer_dwell", TIME, "shortest time for a layer"),
    f("overhang_limit", ANGLE, "overhang from vertical it prints unsupported"),
    f("bridge_limit", LENGTH, "bridge with a good underside"),
    f("flow_factor", NUMBER, "melting rate against PLA"),
    f("food_note", TEXT, "what is to be said when food is near"),
    f("burning_note", TEXT, "how it usually burns"),
];

/// Which spool of a material is taken hangs on the printer: what it takes, and what is on it already.
const OF_THE_SPOOL: &[Decision] = &[Decision::Printer];

const SPOOL: &[Field] = &[
    f("in_stock", BOOL, "whether the shop has a spool of it"),
    t("name", TEXT, OF_THE_SPOOL, "the spool"),
    t("left", MASS, OF_THE_SPOOL, "filament left on it"),
    t("left_in_all", MASS, OF_THE_SPOOL, "filament left on all spools of the material"),
    t("needed", MASS, &[Decision::Pose], "filament the whole run needs"),
    t("enough", BOOL, &[Decision::Pose, Decision::Printer], "whether the shop's spools of it reach for the run"),
    t("colour", TEXT, OF_THE_SPOOL, "its colour"),
    t("colour_right", BOOL, OF_THE_SPOOL, "whether it is of the colour asked for"),
    t("stored", Type::Word(STORED), OF_THE_SPOOL, "how it is kept"),
    t(
        "since_dried",
        TIME,
        OF_THE_SPOOL,
        "time since it was dried, counted to the day the part is wanted or the latest the shop's file knows",
    ),
    t("since_opened", TIME, OF_THE_SPOOL, "time since it was opened, counted alike"),
    t("keeps_dry", TIME, OF_THE_SPOOL, "how long filament of its material stays dry enough, kept as it is"),
    t(
        "dried",
        BOOL,
        OF_THE_SPOOL,
        "whether it counts as dry: dried, or opened where that is enough, no longer ago than it keeps",
    ),
    t("print_temperature", TEMPERATURE, OF_THE_SPOOL, "nozzle temperature by its label"),
    t("bed_temperature", TEMPERATURE, OF_THE_SPOOL, "bed temperature by its label"),
    t("limit", TEMPERATURE, OF_THE_SPOOL, "hottest the spool body itself may be dried"),
    t("filament", LENGTH, OF_THE_SPOOL, "diameter of the filament on it"),
    t("suits", BOOL, OF_THE_SPOOL, "whether the printer takes filament of that diameter"),
    t("loaded", BOOL, OF_THE_SPOOL, "whether it is on the printer already"),
    t("holder", Type::Record(Root::Printer), OF_THE_SPOOL, "the other printer that has it now, if one has"),
];

const NOZZLE: &[Field] = &[
    f("name", TEXT, "its name"),
    f("bore", LENGTH, "bore"),
    f("metal", TEXT, "metal"),
    f("hardness", Type::Word(HARDNESS), "hardness of its bore"),
    f("limit", TEMPERATURE, "hottest it may run"),
    f("flow_factor", NUMBER, "melting rate against 0.4 mm brass"),
    f("temperature_shift", DIFFERENCE, "how much hotter than brass its metal is set for the same melt"),
    t("fitted", BOOL, &[Decision::Printer], "whether it is in the printer already"),
    t(
        "suits",
        BOOL,
        &[Decision::Printer],
        "whether it is on the printer's list of nozzles that fit, where there is one",
    ),
    t(
        "holder",
        Type::Record(Root::Printer),
        &[Decision::Printer],
        "the other printer it is in now, if none is left over",
    ),
    f("worn", BOOL, "whether it is known to be worn"),
    t("torque", TORQUE, &[Decision::Printer], "tightening torque given by the hot end's documentation"),
];

const SURFACE: &[Field] = &[
    f("name", TEXT, "its name"),
    f("kind", TEXT, "what it is made of, as in the catalogue"),
    f("flexible", BOOL, "whether it bends to let the part go"),
    f("glass", BOOL, "whether it is glass or carries a glass pane"),
    f("limit", TEMPERATURE, "hottest it may get"),
    t("mounted", BOOL, &[Decision::Printer], "whether it is on the printer already"),
    t(
        "suits",
        BOOL,
        &[Decision::Printer],
        "whether it is on the printer's list of surfaces that fit, where there is one",
    ),
    t(
        "holder",
        Type::Record(Root::Printer),
        &[Decision::Printer],
        "the other printer it is on now, if none is left over",
    ),
    f("cleaning", TEXT, "how it is cleaned"),
    f("adhesive_sheet", BOOL, "whether it is a stick-on build sheet that a part can weld to"),
];

const AGENT: &[Field] = &[
    f("name", TEXT, "its name"),
    f("kind", TEXT, "what it is, as in the catalogue; `none` without one"),
    f("present", BOOL, "whether an agent is used at all"),
    f("flammable", BOOL, "whether it or its propellant burns"),
    f("aerosol", BOOL, "whether it is sprayed"),
];

const BOND: &[Field] = &[
    f("strength", Type::Word(HOLD), "how a first layer of the material holds on the surface with the agent"),
    f("strength_high", Type::Word(HOLD), "how it may hold at best, where the catalogue gives a span"),
    f("bare", Type::Word(HOLD), "how it holds at best on the surface without any agent, where the catalogue knows"),
    f("role", Type::Word(ROLE), "what the agent does there"),
    f("bed_temperature", TEMPERATURE, "bed temperature for this combination, where it differs from the material's"),
    f("risk", Type::Word(LEVEL), "risk of damage to the surface on removal"),
    f("shown", BOOL, "whether the catalogue knows this combination"),
];

/// What prints without support hangs on the printer with its nozzle and material.
pub const LIMITED: &[Decision] = &[Decision::Printer, Decision::Material, Decision::Nozzle];

const POSE: &[Field] = &[
    f("label", TEXT, "its short name"),
    f("up", TEXT, "the direction that points up"),
    t("overhang", AREA, LIMITED, "area that overhangs beyond `pose.overhang_limit` from vertical"),
    t("overhang_limit", ANGLE, LIMITED, "overhang from vertical that the printer is taken to print without support"),
    f("contact", AREA, "area on the bed"),
    f("height", LENGTH, "height"),
    t("support", VOLUME, LIMITED, "space under overhangs that support would fill"),
    t("bridge", LENGTH, LIMITED, "longest bridge"),
    t("bridge_limit", LENGTH, LIMITED, "longest bridge that the printer is taken to lay well"),
    t("bridged", AREA, LIMITED, "share of the overhanging area that is bridges held at both ends"),
    t("trapped", AREA, LIMITED, "area where support could not be reached again"),
    f("slenderness", NUMBER, "height over the least width of its base"),
    f("stable", BOOL, "whether its centre of mass stands over its base"),
    t("fits", BOOL, &[Decision::Printer], "whether it fits the build volume, turned about the vertical if that helps"),
    f("footprint_longest", LENGTH, "longest side of its footprint"),
    f("least_margin", NUMBER, "the smallest load margin in this pose over the best pose's, 0 to 1"),
];

const PIECE: &[Field] = &[
    f("time", TIME, "printing time of one piece, estimated"),
    f("cost", MONEY, "material and machine cost of one piece"),
];

const SUPPORTS: &[Field] = &[f("kind", Type::Word(SUPPORT_KIND), "whether support is printed where it is needed")];

const RUN: &[Field] = &[
    f("wanted", NUMBER, "good pieces wanted"),
    f("start", NUMBER, "pieces to start"),
    f("per_plate", NUMBER, "pieces on a full plate"),
    f("plates", NUMBER, "plates, the last one perhaps not full"),
    f("last_plate", NUMBER, "pieces on the last plate"),
    f("mass", MASS, "filament of all plates together, estimated with walls and infill"),
    f("plate_time", TIME, "printing time of a full plate, estimated"),
    f("gap", LENGTH, "room between pieces on a plate"),
    f("edge", LENGTH, "room from the pieces to the edge of the bed"),
    f("to_model", NUMBER, "fits whose size in the mesh is to be changed before printing"),
];

const SHOP: &[Field] = &[
    f("name", TEXT, "its name"),
    f("assumed", BOOL, "whether no shop file was found and a well-equipped bench is assumed"),
    f("has_dryer", BOOL, "whether it has a filament dryer"),
    f("dryer_limit", TEMPERATURE, "hottest its dryer gets"),
    f("has_oven", BOOL, "whether it has an oven for annealing"),
    f("oven_limit", TEMPERATURE, "hottest its oven gets"),
    f("extraction", BOOL, "whether fumes are drawn off"),
    t(
        "purge_direct",
        TEMPERATURE,
        &[Decision::Printer, Decision::Material],
        "temperature at which the next material takes the one in the machine out, both molten and neither overheated; unknown where there is none",
    ),
    t(
        "purge",
        Type::Record(Root::Material),
        &[Decision::Printer, Decision::Material],
        "a material in stock to purge through, where the next one cannot take the one in the machine out by itself",
    ),
    t(
        "purge_in",
        TEMPERATURE,
        &[Decision::Printer, Decision::Material],
        "temperature at which `shop.purge` takes the material in the machine out",
    ),
    t(
        "purge_out",
        TEMPERATURE,
        &[Decision::Printer, Decision::Material],
        "temperature at which the next material takes `shop.purge` out",
    ),
    t(
        "purge_gap",
        DIFFERENCE,
        &[Decision::Printer, Decision::Material],
        "print temperature of the next material less that of the one in the machine; negative when going cooler",
    ),
];

/// How many names the figures have: one each, and one for each consequence of those that hang on it.
const FIGURES: usize = {
    let (mut count, mut i) = (0, 0);
    while i < figures::TABLE.len() {
        count += if figures::TABLE[i].by_consequence.is_some() { 4 } else { 1 };
        i += 1;
    }
    count
};

/// The names of the figures, from the catalogue's table.
const FIGURE: &[Field] = &{
    let mut fields = [f("", BOOL, ""); FIGURES];
    let (mut count, mut i) = (0, 0);
    while i < figures::TABLE.len() {
        let row = figures::TABLE[i];
        fields[count] = f(row.name, Type::Quantity(row.dimension), row.help);
        count += 1;
        if let Some(names) = row.by_consequence {
            let mut k = 0;
            while k < names.len() {
                fields[count] = f(names[k], Type::Quantity(row.dimension), row.help);
                count += 1;
                k += 1;
            }
        }
        i += 1;
    }
    fields
};

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_is_in_order() {
        for root in Root::ALL {
            assert_eq!(Root::parse(root.word()), Some(root));
            let mut seen = std::collections::BTreeSet::new();
            for field in root.fields() {
                assert!(seen.insert(field.name), "{}.{} twice", root.word(), field.name);
                assert!(!field.help.is_empty() && !field.help.ends_with('.'));
            }
        }
    }

    #[test]
    fn audit_finds_strangers_and_wrong_types() {
        let mut m = Record::new("PLA");
        m.set("abrasive", false, super::super::value::Origin::None);
        assert_eq!(audit(Root::Material, &m), Vec::<String>::new());
        m.set("abrasiv", true, super::super::value::Origin::None);
        m.set("heat_limit", true, super::super::value::Origin::None);
        assert_eq!(audit(Root::Material, &m).len(), 2);
    }
}
