//! The vocabulary: every statement, where it may stand, what its arguments are, how often, and one line of help.
//!
//! One table. The checker works from it and the language reference is generated from it. The limits are those of
//! a slip of the pen, not of the trade: what a part can stand is the rulebook's business.

use super::form::{
    Body::{self, Block, InlineOrBlock},
    Context::{self, Assembly, Contact, Face, File, Fit, Load, Mesh, Part, Pressure, Profile, Rule, Run, Service},
    Entry,
    Item::{self, Maybe, Noise, OneOf, Value, Word},
    Kind::{self, Choice, Constant, Count, Decision, Direction, Free, Name, Names, Number, Point, Text, Where, Words},
    Measure,
    Repeat::{self, Any, Once, OncePerName},
};
use crate::quantity::Dimension as D;

const PART: &[Context] = &[Part, Profile];

/// A detail of a feature: from a tenth of a micrometre's neighbourhood up to a metre.
const DETAIL: Kind = Kind::Measure(Measure::positive(D::LENGTH, "mm", 1_000.0));
const DIAMETER: Kind = Kind::Measure(Measure::positive(D::LENGTH, "mm", 3_150.0));
/// How far a finished size may be off its nominal one.
const DEVIATION: Kind = Kind::Range(Measure::between(D::LENGTH, "mm", -100.0, 100.0));
const SIZE: Kind = Kind::Measure(Measure::positive(D::LENGTH, "mm", 10_000.0));
const WALL: Kind = Kind::Measure(Measure::positive(D::LENGTH, "mm", 100.0));
const DROP: Kind = Kind::Measure(Measure::positive(D::LENGTH, "m", 1_000.0));
const FORCE: Kind = Kind::Measure(Measure::positive(D::FORCE, "N", 1e6));
const TORQUE: Kind = Kind::Measure(Measure::positive(D::TORQUE, "Nm", 1e5));
const PRESSURE: Kind = Kind::Measure(Measure::positive(D::STRESS, "bar", 1_000.0));
const ACCELERATION: Kind = Kind::Measure(Measure::positive(D::ACCELERATION, "m/s²", 1e5));
const MASS: Kind = Kind::Measure(Measure::positive(D::MASS, "kg", 1e5));
const SPEED: Kind = Kind::Measure(Measure::positive(D::SPEED, "m/s", 1_000.0));
/// Longer than any printed part has existed is a slip of the pen.
const LIFETIME: Kind = Kind::Measure(Measure::positive(D::TIME, "years", 100.0));
const TEMPERATURE: Measure = Measure::between(D::TEMPERATURE, "°C", -200.0, 500.0);
const WARMTH: Kind = Kind::Measure(TEMPERATURE);

/// More than evens, less than certain: nothing printed is certain.
const CONFIDENCE: Kind = Kind::Measure(Measure::between(D::NONE, "%", 50.0, 99.9));
/// The columns of ISO 2859-1 that count faulty pieces, not faults.
const FAULTY: Kind = Kind::Measure(Measure::between(D::NONE, "%", 0.065, 6.5));

pub(crate) const ANSWERS: &[&str] = &["yes", "no"];
pub(crate) const LEVELS: &[&str] = &["I", "II", "III", "S-1", "S-2", "S-3", "S-4"];
pub(crate) const STAGES: &[&str] = &["fit prototype", "functional", "production"];
pub(crate) const CONSEQUENCES: &[&str] = &["nuisance", "damage", "injury"];
pub(crate) const PLACES: &[&str] = &["indoors", "outdoors", "behind glass", "vehicle cabin", "dashboard", "near heat"];
pub(crate) const SUNS: &[&str] = &["none", "shaded", "direct"];
pub(crate) const BACKS: &[&str] = &["free", "covered"];
pub(crate) const WETS: &[&str] = &["dry", "damp", "rain", "immersed"];
pub(crate) const CONTACTS: &[&str] = &["vapour", "splash", "wiped", "immersed"];
pub(crate) const MESH_UNITS: &[&str] = &["µm", "um", "mm", "cm", "m", "in", "inch", "ft"];
pub(crate) const SERIES: &[&str] = &["fine", "medium", "coarse"];
pub(crate) const SIDES: &[&str] = &["bore", "shaft"];
pub(crate) const GROOVES: &[&str] = &["face", "shaft", "bore"];
const SQUARE: &[&str] = &["square"];
pub(crate) const FINISHES: &[&str] = &["as printed", "reamed", "drilled", "tapped"];
pub(crate) const ALLOWANCES: &[&str] = &["in model", "in recipe"];
pub(crate) const TREATMENTS: &[&str] = &["anneal", "seal", "paint", "condition"];
pub(crate) const PREFERENCES: &[&str] = &["strength", "finish", "speed", "cost"];
pub(crate) const ASKS: &[&str] = &[
    "electrical insulation",
    "mains voltage",
    "static dissipation",
    "flame retardance",
    "food contact",
    "skin contact",
    "toy",
    "lifting",
    "people beneath",
    "medical",
    "vibration",
    "softness",
    "clear inside",
];
pub(crate) const DECISIONS: &[&str] =
    &["printer", "material", "spool", "nozzle", "surface", "agent", "pose", "supports", "build-up"];

/// Settings of the built-in rulebook a spec may pin, with the dimension their value must have. A shop's rules may derive
/// others; those are known to the resolver only, so here any quantity will do for them.
pub(crate) const SETTINGS: &[(&str, D, &str)] = &[
    ("nozzle_temperature", D::TEMPERATURE, "°C"),
    ("bed_temperature", D::TEMPERATURE, "°C"),
    ("chamber_temperature", D::TEMPERATURE, "°C"),
    ("first_temperature", D::TEMPERATURE, "°C"),
    ("first_height", D::LENGTH, "mm"),
    ("first_speed", D::SPEED, "mm/s"),
    ("brim", D::LENGTH, "mm"),
    ("layer_height", D::LENGTH, "mm"),
    ("bead_width", D::LENGTH, "mm"),
    ("wall_beads", D::NONE, ""),
    ("closed_above", D::NONE, ""),
    ("closed_below", D::NONE, ""),
    ("infill", D::NONE, "%"),
    ("speed", D::SPEED, "mm/s"),
    ("outside_speed", D::SPEED, "mm/s"),
    ("fan", D::NONE, "%"),
    ("fan_starts", D::NONE, ""),
    ("retraction", D::LENGTH, "mm"),
    ("support_beyond", D::ANGLE, "deg"),
    ("support_gap", D::LENGTH, "mm"),
];

const fn entry(
    keyword: &'static str,
    places: &'static [Context],
    form: &'static [Item],
    repeat: Repeat,
    help: &'static str,
    example: &'static str,
) -> Entry {
    Entry { keyword, places, form, body: Body::None, repeat, help, example }
}

const fn with(entry: Entry, body: Body) -> Entry {
    Entry { body, ..entry }
}

/// Every statement of the language, in the order of the reference.
#[rustfmt::skip]
pub const VOCABULARY: &[Entry] = &[
    // File
    entry("use", &[File], &[Value("file", Text)], Any,
        "Brings in the lets, profiles and rules of another file", r#"use "workshop/common.partspec""#),
    entry("let", &[File, Part, Profile], &[Value("name", Name), Word("="), Value("value", Constant)], OncePerName,
        "Names a quantity, a range or a text", "let gust = 140 N"),
    with(entry("profile", &[File], &[Value("name", Name), Maybe(&[Word("is"), Value("profiles", Names)])], OncePerName,
        "A named set of requirements that parts can share", "profile gable_outdoor { consequence damage }"), Block(Profile)),
    with(entry("part", &[File], &[Value("name", Text), Maybe(&[Word("is"), Value("profiles", Names)])], OncePerName,
        "One part: what it must do, kept beside its mesh", r#"part "coat-hook" is gable_outdoor { mesh "coat-hook.stl" in mm }"#), Block(Part)),
    with(entry("assembly", &[File], &[Value("name", Text)], OncePerName,
        "Parts of this file that mate with one another", r#"assembly "latch" { mate "bolt" fit "slide" with "case" fit "slot" }"#), Block(Assembly)),
    with(entry("run", &[File], &[Value("name", Text)], OncePerName,
        "What the workshop makes together, from when, by when and in which hours; in a file of its own whose name ends in .runspec", r#"run "spring service" { from 2026-12-07 07:00; hours monday .. friday 07:00 .. 19:00; build "bracket.partspec" 24 by 2026-12-18 }"#), Block(Run)),
    with(entry("rule", &[File], &[Value("name", Text)], OncePerName,
        "A rule of the shop: judgement with its reason and source", r#"rule "dry-first" { when material.moisture == high; step prepare 10 "Dry {material}."; because "what is wet foams"; source common-practice }"#), Block(Rule)),

    // Part and profile
    entry("revision", &[Part], &[Value("text", Text)], Once,
        "Revision of the drawing or model", r#"revision "B""#),
    entry("purpose", PART, &[Value("text", Text)], Once,
        "What the part is for, in a sentence", r#"purpose "Carries the cup sensor 180 mm off the wall""#),
    entry("stage", PART, &[OneOf("stage", STAGES)], Once,
        "How finished the part must be", "stage functional"),
    entry("consequence", PART, &[OneOf("consequence", CONSEQUENCES)], Once,
        "The worst that its failure would do", "consequence damage"),
    with(entry("mesh", &[Part], &[Value("file", Text)], Any,
        "The mesh file of the part, beside the spec; give the unit its numbers are in", r#"mesh "vane-bracket.stl" in mm"#), InlineOrBlock(Mesh)),
    entry("size", &[Part], &[Value("x", SIZE), Word("x"), Value("y", SIZE), Word("x"), Value("z", SIZE)], Once,
        "Overall size, as a check on the mesh and its unit", "size 180 mm x 60 mm x 40 mm"),
    entry("quantity", PART, &[Value("count", Count(1_000_000))], Once,
        "How many good pieces are wanted", "quantity 24"),
    entry("wanted", PART, &[Word("by"), Value("date", Kind::Date)], Once,
        "The day the pieces are wanted by", "wanted by 2026-12-01"),
    with(entry("service", PART, &[], Any,
        "Where the part lives: temperature, sun, water, chemicals", "service { air -25 °C .. 30 °C; sun direct for 5 years }"), Block(Service)),
    with(entry("load", PART, &[Value("name", Text)], OncePerName,
        "A load, its direction, where it acts and how long", r#"load "gust" { force 140 N toward -z at face "seat"; fixed at face "plate"; shock }"#), InlineOrBlock(Load)),
    with(entry("fit", PART, &[Value("name", Text)], OncePerName,
        "A feature that must fit something", r#"fit "pivot" bore 8 mm H9 for shaft h6"#), InlineOrBlock(Fit)),
    with(entry("face", PART, &[Value("name", Text)], OncePerName,
        "A face, by the way it looks or a place near it, and what it must be", r#"face "front" toward +y cosmetic"#), InlineOrBlock(Face)),
    entry("wall", PART, &[Noise("at least"), Value("thickness", WALL)], Once,
        "The smallest wall of the part", "wall at least 2.4 mm"),
    with(entry("pressure", PART, &[Value("pressure", PRESSURE)], Once,
        "Pressure of a fluid within the part, above the air outside", r#"pressure 2 bar of "water" tight bore 20 mm"#), InlineOrBlock(Pressure)),
    entry("tight", &[Part, Profile, Pressure], &[Maybe(&[Word("against"), Value("medium", Text)])], Once,
        "The part must not leak", r#"tight against "water""#),
    entry("deflection", PART, &[Noise("at most"), Value("limit", DETAIL), Maybe(&[Word("under"), Value("load", Text)])], Once,
        "How far the part may give under a load", r#"deflection at most 1.5 mm under "gust""#),
    entry("colour", PART, &[Value("colour", Kind::Term), Word("from"), Value("height", DETAIL)], Once,
        "A second colour, from this height above the bed up", r#"colour "white" from 2.4 mm"#),
    entry("wear", PART, &[Noise("against"), Value("partner", Text)], Once,
        "The part slides or rubs on this", r#"wear against "steel""#),
    entry("impact", PART, &[Maybe(&[Word("drop"), Value("height", DROP)]), Maybe(&[Word("blow"), Value("mass", MASS), Word("at"), Value("speed", SPEED)])], Once,
        "The part is dropped or struck", "impact drop 1 m"),
    entry("treat", PART, &[Value("treatments", Words(TREATMENTS))], Any,
        "A treatment after printing that is asked for", "treat anneal"),
    entry("ask", PART, &[Value("asks", Words(ASKS))], Any,
        "A use or property about which the recipe must say honestly what it can and cannot establish", "ask food contact"),
    entry("no", PART, &[OneOf("use", ASKS), Word("because"), Value("because", Text)], Any,
        "Says that a use the words of the spec point to is none of this part, with a reason; the recipe shows it", r#"no lifting because "the hoist is only drawn on it""#),
    entry("prefer", PART, &[Value("preferences", Words(PREFERENCES))], Once,
        "What matters most where there is a choice, first things first", "prefer strength, then cost"),
    entry("pin", PART, &[Value("decision", Decision), Value("choice", Choice), Word("because"), Value("because", Text)], Any,
        "Fixes a decision or a setting, with a reason", r#"pin nozzle 0.6 mm because "the spare 0.4 is kept for the lamp run""#),
    entry("forbid", PART, &[Value("decision", Decision), Value("choice", Choice), Word("because"), Value("because", Text)], Any,
        "Rules out one choice of a decision, with a reason; a setting is pinned instead", r#"forbid surface "glass" because "it is chipped""#),
    entry("waive", PART, &[Noise("rule"), Value("rule", Text), Word("because"), Value("because", Text)], Any,
        "Sets a rule aside for this part, with a reason; the recipe shows it", r#"waive rule "warp-needs-enclosure" because "tried in February, held with a brim""#),

    // Run
    entry("from", &[Run], &[Value("day", Kind::Date), Value("time", Kind::Clock)], Once,
        "When the work begins, by the clock on the wall; no other clock is read", "from 2026-12-07 07:00"),
    entry("build", &[Run], &[Value("spec", Text), Maybe(&[Value("count", Count(100_000))]), Maybe(&[Word("part"), Value("part", Text)]), Maybe(&[Word("by"), Value("day", Kind::Date), Maybe(&[Value("time", Kind::Clock)])])], Any,
        "A spec whose parts are to be made, how many good ones and by when; where it says neither, what the spec says holds. One part of a spec of several is named", r#"build "bracket.partspec" 24 by 2026-12-18"#),
    entry("printers", &[Run], &[Value("printers", Names)], Once,
        "The printers that the run may use; all of the workshop where nothing is said", "printers Bench, Loft"),
    entry("without", &[Run], &[Value("printers", Names), Noise("on"), Value("days", Kind::Dates)], Any,
        "Printers that are out of service on some days, both counted", "without Loft on 2026-12-09 .. 2026-12-10"),
    entry("hours", &[Run], &[Value("days", Kind::Weekdays), Value("times", Kind::Clocks)], Any,
        "When somebody is there to fill, empty and change over the machines", "hours monday .. friday 07:00 .. 19:00"),
    entry("closed", &[Run], &[Value("days", Kind::Dates)], Any,
        "Days on which nobody is there, both counted", "closed 2026-12-24 .. 2026-12-26"),
    entry("nights", &[Run], &[Word("unattended"), OneOf("answer", ANSWERS)], Once,
        "Whether a machine may print while nobody is there, where its part and the machine allow it; `no` where nothing is said", "nights unattended no"),
    entry("confidence", &[Run], &[Value("confidence", CONFIDENCE)], Once,
        "How sure it is to be that as many good pieces as wanted come out of those started", "confidence 95 %"),
    entry("together", &[Run], &[Value("parts", Names)], Any,
        "Parts that are printed on the same plates, in the proportion in which they are wanted", r#"together "box", "lid""#),
    entry("sample", &[Run], &[Word("level"), OneOf("level", LEVELS), Word("limit"), Value("limit", FAULTY)], Once,
        "How many of a lot are measured: ISO 2859-1, single sampling, normal inspection, by inspection level and acceptance quality limit", "sample level II limit 2.5 %"),

    // Mesh
    entry("in", &[Mesh], &[OneOf("unit", MESH_UNITS)], Once,
        "The unit of length the numbers of the file are in", r#"mesh "lid.stl" in mm"#),
    entry("object", &[Mesh], &[Value("object", Text)], Once,
        "One object of a file that holds several", r#"mesh "set.3mf" object "lid""#),

    // Service
    entry("air", &[Service], &[Value("range", Kind::Range(TEMPERATURE))], Once,
        "Air temperature, lowest to highest, day in day out", "air -25 °C .. 30 °C"),
    entry("peak", &[Service], &[Value("temperature", WARMTH)], Once,
        "Highest temperature of the part or its surroundings for a short while", "peak 60 °C"),
    entry("usual", &[Service], &[Value("temperature", WARMTH)], Once,
        "Temperature of the part most of the time; what is held long is counted at it, and the highest for a small part of the time", "usual 20 °C"),
    entry("place", &[Service], &[OneOf("place", PLACES)], Once,
        "Where it stands", "place outdoors"),
    entry("sun", &[Service], &[OneOf("exposure", SUNS), Maybe(&[Noise("for"), Value("duration", LIFETIME)])], Once,
        "Sunlight on the part, and how long it is to live in it", "sun direct for 5 years"),
    entry("colour", &[Service], &[Value("colour", Kind::Term)], Once,
        "Colour of the part; dark ones grow hot in the sun", "colour dark"),
    entry("back", &[Service], &[OneOf("back", BACKS)], Once,
        "Whether air passes behind what the sun lights; against a wall, or closing a box, it grows hotter", "back free"),
    entry("wet", &[Service], &[OneOf("wet", WETS)], Once,
        "Water on the part", "wet rain"),
    with(entry("contact", &[Service], &[Value("chemical", Text), OneOf("kind", CONTACTS)], OncePerName,
        "A chemical that reaches the part, and how", r#"contact "diesel" splash"#), InlineOrBlock(Contact)),

    // Load
    entry("force", &[Load], &[Value("force", FORCE)], Once,
        "Size of the force", "force 140 N toward -z"),
    entry("torque", &[Load], &[Value("torque", TORQUE)], Once,
        "Size of the torque; `about` gives its axis", "torque 2 Nm about +z"),
    entry("pressure", &[Load], &[Value("pressure", PRESSURE)], Once,
        "A pressure square to the surface there, in place of a force", "pressure 0.2 bar at face \"lid\""),
    entry("weight", &[Load], &[], Once,
        "The part's own weight, in place of a force; `toward` says which way it pulls while the part is used. Its mass is that of the material and the filling chosen", "weight toward -z"),
    entry("acceleration", &[Load], &[Value("acceleration", ACCELERATION)], Once,
        "What a machine accelerates the part by, in place of a force: its own mass pulls it `toward`", "acceleration 30 m/s² toward -x"),
    entry("toward", &[Load, Face], &[Value("direction", Direction)], Once,
        "The way the force or the part's own mass pushes or the face looks, in the axes of the mesh", "toward -z"),
    entry("about", &[Load], &[Value("direction", Direction)], Once,
        "Axis of the torque, in the axes of the mesh", "about +z"),
    entry("at", &[Load], &[Value("where", Where), Maybe(&[Word("across"), Value("diameter", DETAIL)]), Maybe(&[Word("over"), Value("width", DETAIL), Word("x"), Value("depth", DETAIL)])], Once,
        "Where the load acts: a face, a place (with how large a disc or rectangle there), a fit's bore by what sits in it, or `inside`, all round what the part encloses", r#"at face "seat""#),
    entry("fixed", &[Load], &[Noise("at"), Value("where", Where), Maybe(&[Word("across"), Value("diameter", DETAIL)]), Maybe(&[Word("over"), Value("width", DETAIL), Word("x"), Value("depth", DETAIL)]), Maybe(&[Word("heads"), Value("heads", Direction)])], Any,
        "Where the part is held: a face, a place, or a fit (by screws: a ring as large across as their heads, on the side `heads` tells; by what is pressed in: the bore; by what has play or sits between flats, a square, a key, a nut: it only pushes)", r#"fixed at face "plate""#),
    entry("rests", &[Load], &[Noise("on"), Value("where", Where), Maybe(&[Word("across"), Value("diameter", DETAIL)]), Maybe(&[Word("over"), Value("width", DETAIL), Word("x"), Value("depth", DETAIL)])], Any,
        "What the part rests on besides: it pushes and does not pull", r#"rests on face "back""#),
    entry("steady", &[Load], &[], Once, "The load stays", "steady"),
    entry("shock", &[Load], &[], Once, "The load comes as a blow or a gust", "shock"),
    entry("cyclic", &[Load], &[Maybe(&[Value("cycles", Number { low: 1.0, high: 1e12 }), Noise("times")])], Once,
        "The load comes and goes, so many times in all", "cyclic 100000 times"),
    entry("held", &[Load], &[Noise("for"), Value("duration", LIFETIME)], Once,
        "How long a steady load stays", "held 5 years"),
    entry("alone", &[Load], &[], Once,
        "The load never acts together with another; without it every steady load stays on, and shocks come on top", "alone"),
    entry("factor", &[Load], &[Value("factor", Number { low: 1.0, high: 100.0 })], Once,
        "Safety factor asked for; without it the rulebook's, by consequence", "factor 3"),
    entry("temperature", &[Load], &[Value("temperature", WARMTH)], Once,
        "Temperature while loaded, where it is not that of the service", "temperature 60 °C"),
    // Contact
    entry("at", &[Contact], &[Value("temperature", WARMTH)], Once,
        "Temperature of the chemical", r#"contact "coolant" immersed at 95 °C"#),

    // Fit
    entry("clearance", &[Fit], &[Value("thread", Kind::Thread), Maybe(&[OneOf("series", SERIES)])], Once,
        "A hole a screw passes through, of the ISO 273 series (medium unless said)", "clearance M5 medium"),
    entry("sliding", &[Fit], &[Maybe(&[OneOf("side", SIDES)]), Value("size", DIAMETER), Maybe(&[Word("play"), Value("play", DETAIL)])], Once,
        "A bore (or shaft) that slides or turns on a bought partner", "sliding bore 12 mm play 0.2 mm"),
    entry("press", &[Fit], &[Maybe(&[OneOf("side", SIDES)]), Value("size", DIAMETER), Maybe(&[Value("symbol", Kind::HoleSymbolOrPair)])], Once,
        "A bore (or shaft) pressed onto a bought partner", "press bore 8 mm"),
    entry("bearing", &[Fit], &[Value("designation", Kind::Designation)], Once,
        "The seat of a rolling bearing", "bearing 608"),
    entry("bore", &[Fit], &[Maybe(&[OneOf("form", SQUARE)]), Value("size", DIAMETER), Maybe(&[Value("own", Kind::HoleSymbolOrPair), Maybe(&[Word("for"), Noise("shaft"), Value("partner", Kind::ShaftSymbol)])]), Maybe(&[Value("within", DEVIATION)])], Once,
        "A bore with an ISO 286 tolerance zone, or with limits as a drawing has them: `bore 20 mm +-0.1 mm`, `bore 20 mm +0.2 mm -0.05 mm`; `bore square 9 mm` is a socket for a square", "bore 8 mm H9 for shaft h6"),
    entry("shaft", &[Fit], &[Maybe(&[OneOf("form", SQUARE)]), Value("size", DIAMETER), Maybe(&[Value("own", Kind::ShaftSymbolOrPair), Maybe(&[Word("in"), Noise("bore"), Value("partner", Kind::HoleSymbol)])]), Maybe(&[Value("within", DEVIATION)])], Once,
        "A shaft with an ISO 286 tolerance zone, or with limits as a drawing has them; `shaft square 9 mm` is a square", "shaft 8 mm g6 in bore H7"),
    entry("slot", &[Fit], &[Value("size", DIAMETER), Maybe(&[Value("own", Kind::HoleSymbolOrPair)]), Maybe(&[Value("within", DEVIATION)])], Once,
        "A slot with parallel sides, by its width: a class, or limits as a drawing has them", "slot 6 mm +0.2 mm"),
    entry("pocket", &[Fit], &[Value("width", DIAMETER), Word("x"), Value("length", DIAMETER), Maybe(&[Value("own", Kind::HoleSymbolOrPair)]), Maybe(&[Value("within", DEVIATION)])], Once,
        "A rectangular pocket for a tongue or a bar, width x length: with the usual play, a class, or limits as a drawing has them", "pocket 8 mm x 20 mm"),
    entry("tongue", &[Fit], &[Value("width", DIAMETER), Word("x"), Value("length", DIAMETER), Maybe(&[Value("own", Kind::ShaftSymbolOrPair)]), Maybe(&[Value("within", DEVIATION)])], Once,
        "A rectangular tongue that goes into a pocket, width x length: with the usual play, a class, or limits as a drawing has them", "tongue 8 mm x 20 mm"),
    entry("rim", &[Fit], &[Value("width", DIAMETER), Maybe(&[Word("x"), Value("length", DIAMETER)]), Maybe(&[Value("within", DEVIATION)])], Once,
        "The inside of a box's rim that a lid's lip goes into: width x length, or the diameter of a round one", "rim 60 mm x 40 mm"),
    entry("lip", &[Fit], &[Value("width", DIAMETER), Maybe(&[Word("x"), Value("length", DIAMETER)]), Maybe(&[Value("within", DEVIATION)])], Once,
        "The outside of a lid's lip that goes into a rim: width x length, or the diameter of a round one", "lip 60 mm x 40 mm"),
    entry("groove", &[Fit], &[OneOf("seat", GROOVES), Word("for"), Noise("ring"), Value("inside", DIAMETER), Word("x"), Value("section", DETAIL)], Once,
        "The groove of an O-ring at rest, by the ring's inside and its section: in a face, round a shaft or in a bore", "groove shaft for ring 20 mm x 2.5 mm"),
    entry("keyway", &[Fit], &[Word("for"), Noise("shaft"), Value("shaft", DIAMETER)], Once,
        "The keyway of a hub for a parallel key, by the diameter of its shaft (ISO 773)", "keyway for shaft 20 mm"),
    entry("distance", &[Fit], &[Value("size", SIZE), Value("within", DEVIATION), Word("from"), Value("from", Text), Maybe(&[Word("to"), Value("to", Text)])], Once,
        "How far the axes of two other fits are apart, those of the two features of one, or an axis from a face", r#"distance 40 mm +-0.2 mm from "left" to "right""#),
    entry("thread", &[Fit], &[Value("thread", Kind::Thread)], Once,
        "A thread in the part itself", "thread M10x1"),
    entry("insert", &[Fit], &[Value("thread", Kind::Thread)], Once,
        "A heat-set insert with this thread", "insert M3"),
    entry("nut", &[Fit], &[Value("thread", Kind::Thread)], Once,
        "A pocket for a hexagon nut", "nut M6"),
    entry("dowel", &[Fit], &[Value("size", DIAMETER)], Once,
        "A hole for a dowel pin", "dowel 6 mm"),
    entry("magnet", &[Fit], &[Value("diameter", DIAMETER), Word("x"), Value("height", DETAIL)], Once,
        "A pocket for a round magnet, diameter x height", "magnet 10 mm x 3 mm"),
    entry("hinge", &[Fit], &[Maybe(&[OneOf("form", &["living", "in-place"])]), Value("size", DETAIL)], Once,
        "A hinge on a pin of this diameter (in-place: pin and eye printed together), or a living hinge of this thickness", "hinge 4 mm"),
    entry("snap", &[Fit], &[Value("undercut", DETAIL), Word("reach"), Value("reach", DETAIL), Word("thick"), Value("thick", DETAIL)], Once,
        "A snap hook: undercut, length of the arm, its thickness at the root", "snap 1.2 mm reach 12 mm thick 2 mm"),
    entry("count", &[Mesh, Fit], &[Value("count", Count(10_000))], Once,
        "How many of them", "count 4"),
    entry("along", &[Fit], &[Value("direction", Direction)], Once,
        "Axis of the feature, in the axes of the mesh", "along x"),
    entry("at", &[Fit], &[Value("place", Point)], Once,
        "Centre of the feature, in the coordinates of the mesh", "at (20 mm, 0 mm, 5 mm)"),
    entry("depth", &[Fit], &[Value("depth", DETAIL)], Once,
        "Depth of the feature", "depth 12 mm"),
    entry("flat", &[Fit], &[Value("across", DIAMETER)], Once,
        "A flat on the round, as on a D-shaft: from the flat to the far side", "flat 5.5 mm"),
    entry("flats", &[Fit], &[Value("across", DIAMETER)], Once,
        "Two flats on the round, one opposite the other, as of a double D: across the two", "flats 5 mm"),
    entry("within", &[Fit], &[Value("within", DEVIATION)], Once,
        "How far the finished size may be off the nominal one, in place of the limits the fit has by itself", "within +-0.1 mm"),
    entry("finish", &[Fit], &[OneOf("finish", FINISHES)], Once,
        "How the feature is to be finished, where the spec insists", "finish reamed"),
    entry("opened", &[Fit], &[OneOf("how", &["once", "seldom", "often"])], Once,
        "How often a snap or a living hinge is opened: once or seldom, a few times in its life; often, again and again", "opened often"),
    entry("allowance", &[Fit], &[OneOf("home", ALLOWANCES)], Once,
        "Where the allowance is given: already in the model, or by the recipe (unless said)", "allowance in model"),

    // Face
    entry("near", &[Face], &[Value("place", Point)], Once,
        "A place on or near the face, in the coordinates of the mesh", "near (170 mm, 30 mm, 40 mm)"),
    entry("round", &[Face], &[], Once,
        "The face is round: a bore, the bowl of a hook, a pin; what presses on it bears on half of it", r#"face "bowl" round near (0 mm, 5 mm, -12 mm)"#),
    entry("cosmetic", &[Face], &[], Once, "The face is looked at", "cosmetic"),
    entry("no", &[Face], &[OneOf("what", &["support", "seam"])], Any,
        "No support may touch the face, or no seam may run over it", "no support"),
    entry("on", &[Face], &[Word("bed")], Once, "The face must lie on the bed", "on bed"),
    entry("marking", &[Face], &[Value("text", Text)], Once,
        "A text on the face that must be readable", r#"marking "MAX 12 kg""#),

    // Pressure
    entry("of", &[Pressure], &[Value("medium", Text)], Once, "The fluid", r#"pressure 2 bar of "water""#),
    entry("bore", &[Pressure], &[Value("size", DIAMETER)], Once, "Inner diameter of what holds the fluid", "pressure 2 bar bore 20 mm"),

    // Assembly
    entry("mate", &[Assembly], &[Value("part", Text), Noise("fit"), Value("fit", Text), Word("with"), Value("other part", Text), Noise("fit"), Value("other fit", Text)], Any,
        "Two fits that share one clearance", r#"mate "bolt" fit "slide" with "case" fit "slot""#),

    // Rule
    entry("when", &[Rule], &[Value("condition", Free)], Any,
        "The rule speaks only where this holds", "when material.abrasive"),
    entry("require", &[Rule], &[Value("condition", Free)], Any,
        "What must hold; a choice that breaks it is rejected", "require nozzle.hardness >= hardened"),
    entry("otherwise", &[Rule], &[Value("text", Free)], Once,
        "What to say of a choice that is rejected", r#"otherwise "{material} would wear the {nozzle.metal} nozzle out of size""#),
    entry("redraw", &[Rule], &[Value("text", Free)], Once,
        "How the part could be drawn so that the requirement holds: a way out of a refusal", r#"redraw "slope its roof at 45°""#),
    entry("prefer", &[Rule], &[Value("penalty", Free)], Any,
        "Adds a penalty with a name, so that less of something is better", "prefer less 4 per cm² of pose.scarred(face.cosmetic)"),
    entry("derive", &[Rule], &[Value("name", Free), Word("="), Value("value", Free)], Any,
        "Gives a setting its value", "derive settings.layer_height = clamp(nozzle.bore * 0.5, 0.1 mm, nozzle.bore * 0.75)"),
    entry("step", &[Rule], &[Value("phase", Free), Value("order", Free), Value("text", Free)], Any,
        "A line of the checklist: its phase, its order there, its text", r#"step change-over 20 "Load {material}.""#),
    entry("caution", &[Rule], &[Value("kind", Free), Value("text", Free)], Any,
        "A caution that stands on the recipe", r#"caution health "Vent: {material} gives off styrene.""#),
    entry("question", &[Rule], &[Value("when", Free), Value("text", Free)], Any,
        "A question the recipe asks: `open`, or `first`, to be settled before it is printed", r#"question open "Does {hint.word} mean that food touches the part?""#),
    entry("withhold", &[Rule], &[Value("use", Free), Value("text", Free)], Any,
        "A use that the page says the print is not for until something is shown", r#"withhold "food contact" "until an accredited laboratory has tested printed pieces""#),
    entry("binding", &[Rule], &[], Once,
        "No waiver sets the rule aside", "binding"),
    entry("defers", &[Rule], &[], Once,
        "The rule touches people: a page that refuses a job it speaks in defers to codes and licensed practice", "defers"),
    entry("because", &[Rule], &[Value("text", Free)], Once,
        "The reason", r#"because "carbon is harder than brass""#),
    entry("source", &[Rule], &[Value("source", Free)], Any,
        "Where it comes from: the key of a source, or `common-practice`", "source common-practice"),
    entry("example", &[Rule], &[Value("verdict", Free)], Any,
        "Facts, and what the rule must answer; `check` runs it", r#"example refuses { material { abrasive }; nozzle "brass 0.4" }"#),
];

/// Returns the statements that may stand in a context.
pub fn statements_of(context: Context) -> impl Iterator<Item = &'static Entry> {
    VOCABULARY.iter().filter(move |entry| entry.places.contains(&context))
}

/// Returns the statement with this keyword in a context.
pub fn find(context: Context, keyword: &str) -> Option<&'static Entry> {
    statements_of(context).find(|entry| entry.keyword == keyword)
}

/// Words people write from habit, and what to write instead.
pub(crate) const HABITS: &[(&str, &str)] = &[
    ("color", "write `colour dark` within `service`"),
    ("material", "write `pin material \"NAME\" because \"...\"`, or leave the choice to the compiler"),
    ("nozzle", "write `pin nozzle 0.6 mm because \"...\"`, or leave the choice to the compiler"),
    ("printer", "write `pin printer \"Bench\" because \"...\"`, or leave the choice to the compiler"),
    ("infill", "write `pin infill 40 % because \"...\"`, or leave the choice to the compiler"),
    ("layer", "write `pin layer_height 0.2 mm because \"...\"`, or leave the choice to the compiler"),
    ("start", "write `from 2026-12-07 07:00`"),
    ("begin", "write `from 2026-12-07 07:00`"),
    ("machines", "write `printers Bench, Loft`"),
    ("make", "write `build \"bracket.partspec\" 24`"),
    ("amount", "write `quantity 24`"),
    ("qty", "write `quantity 24`"),
    ("pieces", "write `quantity 24`"),
    ("model", "write `mesh \"part.stl\" in mm`"),
    ("file", "write `mesh \"part.stl\" in mm`"),
    ("stl", "write `mesh \"part.stl\" in mm`"),
    ("obj", "write `mesh \"part.obj\" in mm`"),
    ("soft", "write `ask softness`"),
    ("flexible", "write `ask softness`"),
    ("rubber", "write `ask softness`"),
    ("hardness", "write `ask softness`"),
    ("due", "write `wanted by 2026-12-01`"),
    ("deadline", "write `wanted by 2026-12-01`"),
    ("clip", "write `fit \"clip\" snap 1.2 mm reach 12 mm thick 2 mm`"),
    ("latch", "write `fit \"latch\" snap 1.2 mm reach 12 mm thick 2 mm`"),
    ("dimensions", "write `size 180 mm x 60 mm x 40 mm`"),
    ("thickness", "write `wall at least 2.4 mm`"),
    ("uv", "write `sun direct for 5 years` within `service`"),
    ("chemical", "write `contact \"diesel\" splash` within `service`"),
    ("hole", "write `fit \"name\" clearance M5` or `fit \"name\" bore 8 mm H9`"),
    ("tolerance", "write `fit \"name\" bore 8 mm H9`"),
    (
        "weight",
        "write `load \"name\" force 12 N toward -z`, or of the part itself `load \"own weight\" weight toward -z`",
    ),
    ("safety", "write `factor 3` within `load`"),
    ("outdoor", "write `service { place outdoors }`"),
    ("outdoors", "write `service { place outdoors }`"),
    ("food", "write `ask food contact`"),
    ("include", "write `use \"file.partspec\"`"),
    ("import", "write `use \"file.partspec\"`"),
    ("water", "write `wet rain`, or `contact \"water\" immersed`, within `service`"),
    ("humidity", "write `wet damp` within `service`"),
    ("name", "the name stands behind `part`: `part \"coat-hook\" { ... }`"),
    ("note", "write it behind `//`, or as `purpose \"...\"`"),
];
