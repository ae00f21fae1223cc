//! Catalogue, workshop and spec lowered to records of facts, each with its origin, under the names rules use.

use std::sync::Arc;

use crate::catalogue::{Agent, Bond, Catalogue, Datum, Material, Nozzle, Plain, Rating, Surface};
use crate::diag::Span;
use crate::geometry::mesh::Point;
use crate::quantity::{Dimension, Quantity};
use crate::rulebook::names::Root;
use crate::rulebook::value::{Origin, Record, Text, Value};
use crate::semantics::spec::{
    Ask, Consequence, Contact, ContactKind, Course, Face, Impact, Place, Preference, Spec, Stage, SunExposure,
    Treatment, Wet,
};

use super::part::Part;

/// Names of the catalogue's material fields whose rule name differs.
const MATERIAL_NAMES: &[(&str, &str)] = &[
    ("layer_time", "layer_dwell"),
    ("bridge_span", "bridge_limit"),
    ("uv_years", "uv_life"),
    ("moulded_limit", "service_limit"),
    ("food", "food_note"),
    ("burning", "burning_note"),
];

/// Fields whose ends of range rules may use, as `NAME_low` and `NAME_high`.
const WITH_RANGE: &[&str] = &["print_temperature", "bed_temperature", "heat_limit", "uv_years"];

fn origin(datum: &Datum) -> Origin {
    match &datum.from {
        Some(from) => Origin::Sourced {
            at: from.at,
            kind: from.kind.as_str(),
            source: from.source.as_deref().map(Arc::from),
            low: datum.low,
            high: datum.high,
        },
        None => Origin::Stated { at: datum.at },
    }
}

fn set(record: &mut Record, root: Root, name: &str, datum: &Datum) {
    let Some(field) = root.field(name) else { return };
    let value = value_of(&datum.value);
    if field.kind.admits(&value) {
        record.set(field.name, value, origin(datum));
    }
}

/// Lowers the named figures, each with its range and source.
pub fn figures(catalogue: &Catalogue) -> Record {
    let mut record = Record::new("figures");
    for (name, figure) in catalogue.figures.all() {
        let origin = Origin::Sourced {
            at: figure.at,
            kind: figure.kind.as_str(),
            source: figure.source.as_deref().map(Arc::from),
            low: figure.low,
            high: figure.high,
        };
        record.set(name, figure.typ, origin);
    }
    record
}

/// Lowers a material, with the ends of those ranges that rules use.
pub fn material(material: &Material) -> Record {
    let mut record = Record::new(material.name.clone());
    let at = Origin::Stated { at: material.at };
    record.set("name", Value::text(&material.name), at);
    for field in Material::FIELDS {
        let Some(datum) = material.datum(field.name) else { continue };
        let name = MATERIAL_NAMES.iter().find(|(from, _)| *from == field.name).map_or(field.name, |(_, to)| *to);
        set(&mut record, Root::Material, name, &datum);
        if WITH_RANGE.contains(&field.name) {
            let end = |q: Option<Quantity>| q.map_or_else(|| datum.value.clone(), Plain::Quantity);
            let (low, high) = (end(datum.low), end(datum.high));
            set(&mut record, Root::Material, &format!("{name}_low"), &Datum { value: low, ..datum.clone() });
            set(&mut record, Root::Material, &format!("{name}_high"), &Datum { value: high, ..datum.clone() });
        }
    }
    if let Some(printed) = material.datum("printed_elongation") {
        set(&mut record, Root::Material, "elongation", &printed);
    }
    anneal_shrinkage(material, &mut record);
    let text = "the top of its printing range, and 20 K more for the minutes of a purge unless it is heat-sensitive"
        .to_owned();
    let limit = super::purge::residue_limit(material);
    record.set("residue_limit", Quantity::from(limit), Origin::Computed { working: text.into() });
    record
}

fn anneal_shrinkage(material: &Material, record: &mut Record) {
    if let Some(datum) = material.datum("anneal_strain_along")
        && let Plain::Quantity(strain) = datum.value
    {
        record.set("anneal_shrinkage", Quantity::number(-strain.si), origin(&datum));
    }
}

pub fn nozzle(nozzle: &Nozzle, fitted: Option<bool>) -> Record {
    let mut record = Record::new(nozzle.name.clone());
    for name in ["name", "bore", "hardness"] {
        if let Some(datum) = nozzle.datum(name) {
            set(&mut record, Root::Nozzle, name, &datum);
        }
    }
    let at = Origin::Stated { at: nozzle.at };
    record.set("metal", Value::text(&nozzle.metal.title.value), at.clone());
    if let Some(datum) = nozzle.datum("temperature_limit") {
        set(&mut record, Root::Nozzle, "limit", &datum);
    }
    if let Some(shift) = &nozzle.metal.temperature_shift {
        let from = Origin::Sourced {
            at: shift.at,
            kind: shift.kind.as_str(),
            source: shift.source.as_deref().map(Arc::from),
            low: None,
            high: None,
        };
        record.set("temperature_shift", Quantity::from(shift.typ), from);
    }
    let flow = Quantity::from(nozzle.bore_flow).si * Quantity::from(nozzle.metal.flow_factor.typ).si;
    record.set("flow_factor", Quantity::number(flow), at.clone());
    record.set("fitted", fitted.map_or(Value::Unknown, Value::Bool), at);
    record
}

pub fn surface(surface: &Surface, name: &str, mounted: Option<bool>, at: Span) -> Record {
    let mut record = Record::new(name);
    let at = Origin::Stated { at };
    record.set("name", Value::text(name), at.clone());
    record.set("kind", Value::text(&surface.name), at.clone());
    let of = |field: &str| surface.datum(field);
    if let Some(datum) = of("flexes") {
        record.set("flexible", datum.value == Plain::Word("flex".to_owned()), origin(&datum));
    }
    if let Some(datum) = of("temperature_limit") {
        set(&mut record, Root::Surface, "limit", &datum);
    }
    for field in ["glass", "adhesive_sheet", "cleaning"] {
        if let Some(datum) = of(field) {
            set(&mut record, Root::Surface, field, &datum);
        }
    }
    record.set("mounted", mounted.map_or(Value::Unknown, Value::Bool), at);
    record
}

pub fn agent(agent: Option<(&Agent, &str)>) -> Record {
    let Some((agent, name)) = agent else {
        let mut record = Record::new("no agent");
        record.set("name", Value::text("none"), Origin::None);
        record.set("kind", Value::text("none"), Origin::None);
        record.set("present", false, Origin::None);
        record.set("flammable", false, Origin::None);
        record.set("aerosol", false, Origin::None);
        return record;
    };
    let mut record = Record::new(name);
    record.set("name", Value::text(name), Origin::None);
    record.set("kind", Value::text(&agent.name), Origin::None);
    record.set("present", agent.name != "none", Origin::None);
    for field in ["flammable", "aerosol"] {
        if let Some(datum) = agent.datum(field) {
            set(&mut record, Root::Agent, field, &datum);
        }
    }
    record
}

/// Lowers a bond, with what the catalogue says of the same material on the same surface without an agent.
pub fn bond(bond: Option<&Bond>, bare: Option<&Bond>, title: String) -> Record {
    let mut record = Record::new(title);
    if let Some(bare) = bare {
        record.set("bare", Value::word(bare.hold_high.as_str()), Origin::None);
    }
    let Some(bond) = bond else {
        record.set("shown", false, Origin::None);
        return record;
    };
    let origin = Origin::Sourced {
        at: bond.at,
        kind: bond.from.kind.as_str(),
        source: bond.from.source.as_deref().map(Arc::from),
        low: None,
        high: None,
    };
    if let Some(datum) = bond.datum("bed_temperature") {
        set(&mut record, Root::Bond, "bed_temperature", &datum);
    }
    record.set("shown", true, origin.clone());
    record.set("strength", Value::word(bond.hold.as_str()), origin.clone());
    record.set("strength_high", Value::word(bond.hold_high.as_str()), origin.clone());
    record.set("role", Value::word(bond.role.as_str()), origin.clone());
    record.set("risk", Value::word(bond.damage.as_str()), origin);
    record
}

pub fn contact(contact: &Contact, catalogue: &Catalogue, rating: Option<Option<Rating>>) -> Record {
    let known = catalogue.chemical(&contact.chemical.value);
    let mut record = Record::new(known.map_or(contact.chemical.value.clone(), |c| c.name.clone()));
    let at = stated(contact.span);
    record.set("chemical", Value::text(&contact.chemical.value), at.clone());
    let kind = match contact.kind {
        ContactKind::Vapour => "vapour",
        ContactKind::Splash => "splash",
        ContactKind::Wiped => "wiped",
        ContactKind::Immersed => "immersed",
    };
    record.set("kind", Value::word(kind), at.clone());
    if let Some(temperature) = contact.temperature {
        record.set("temperature", Quantity::from(temperature.value), at.clone());
        record.set("hot", temperature.value > crate::catalogue::COLD_CONTACT, at.clone());
    } else {
        record.set("hot", false, at.clone());
    }
    for name in ["flammable", "strength"] {
        if let Some(datum) = known.and_then(|c| c.datum(name)) {
            set(&mut record, Root::Contact, name, &datum);
        }
    }
    if let Some(rating) = rating {
        set_rating(&mut record, rating);
    }
    record
}

pub fn part(spec: &Spec, part: &Part) -> Record {
    let mut record = Record::new(spec.name.value.clone());
    record.set("name", Value::text(&spec.name.value), Origin::None);
    match spec.quantity {
        Some(q) => record.set("quantity", Quantity::number(f64::from(q.value)), stated(q.span)),
        None => record.set(
            "quantity",
            Quantity::number(1.0),
            Origin::Assumed { text: "quantity not stated: one piece".into() },
        ),
    }
    if let Some(stage) = spec.stage {
        record.set("stage", Value::word(stage_word(stage.value)), stated(stage.span));
    }
    match spec.consequence {
        Some(c) => record.set("consequence", Value::word(consequence_word(c.value)), stated(c.span)),
        None => record.set(
            "consequence",
            Value::word("damage"),
            Origin::Assumed { text: "consequence of failure not stated: damage assumed".into() },
        ),
    }
    if let Some(wall) = spec.wall {
        record.set("wall", Quantity::from(wall.value), stated(wall.span));
    }
    if let Some(p) = &spec.pressure {
        record.set("pressure", p.pressure.map(|s| Quantity::from(s.value)), stated(p.span));
        let gas = p.medium.as_ref().is_some_and(|m| is_gas(&m.value));
        record.set("pressure_gas", gas, stated(p.span));
        record.set("pressure_bore", p.bore.map(|b| Quantity::from(b.value)), stated(p.span));
    }
    record.set("tight", spec.pressure.as_ref().is_some_and(|p| p.tight), Origin::None);
    record.set("wear", spec.wear.is_some(), Origin::None);
    record.set("impact", spec.impact.is_some_and(|i| impact_matters(i.value)), Origin::None);
    if let Some(limit) = &spec.deflection {
        record.set("deflection_limit", Quantity::from(limit.limit.value), stated(limit.limit.span));
    }
    part_flags(spec, part, &mut record);
    record
}

fn part_flags(spec: &Spec, part: &Part, record: &mut Record) {
    for (treatment, name) in [
        (Treatment::Anneal, "anneal"),
        (Treatment::Seal, "seal"),
        (Treatment::Paint, "paint"),
        (Treatment::Condition, "condition"),
    ] {
        let found = spec.treatments.iter().find(|t| t.value == treatment);
        let origin = found.map_or(Origin::None, |t| stated(t.span));
        record.set(name, found.is_some(), origin);
    }
    record.set("treated", !spec.treatments.is_empty(), Origin::None);
    for (ask, name) in [
        (Ask::ElectricalInsulation, "insulation"),
        (Ask::MainsVoltage, "mains"),
        (Ask::StaticDissipation, "static"),
        (Ask::FlameRetardance, "flame"),
        (Ask::Food, "food"),
        (Ask::SkinContact, "skin"),
        (Ask::Toy, "toy"),
        (Ask::Lifting, "lifting"),
        (Ask::PeopleBeneath, "people_beneath"),
        (Ask::Medical, "medical"),
        (Ask::Softness, "soft"),
    ] {
        let asked = spec.asks.iter().find(|a| a.value == ask).map(|a| a.span);
        let touched = spec.service.contacts.iter().find(|c| ask == Ask::Food && is_food(&c.chemical.value));
        let found = asked.or(touched.map(|c| c.span));
        let origin = found.map_or(Origin::None, stated);
        record.set(name, found.is_some(), origin);
    }
    for (preference, name) in [
        (Preference::Strength, "prefers_strength"),
        (Preference::Finish, "prefers_finish"),
        (Preference::Speed, "prefers_speed"),
        (Preference::Cost, "prefers_cost"),
    ] {
        // First 1, second 1/2, third 1/3: an order, not a scale.
        let rank = spec.preferences.iter().position(|p| p.value == preference);
        let weight = rank.map_or(0.0, |r| 1.0 / (r as f64 + 1.0));
        record.set(name, Quantity::number(weight), Origin::None);
    }
    record.set("loaded", !spec.loads.is_empty(), Origin::None);
    record.set("has_fits", !spec.fits.is_empty(), Origin::None);
    record.set("has_cosmetic", spec.faces.iter().any(|f| f.cosmetic), Origin::None);
    let tight = spec.fits.iter().any(|f| super::fits::is_tight(&f.function.value));
    record.set("tight_fits", tight, Origin::None);
    let _ = part;
}

pub fn mesh(part: &Part) -> Record {
    let mut record = Record::new("mesh");
    let volume = part.volume_mm3.map(|v| Quantity::new(v * 1e-9, Dimension::VOLUME));
    record.set("volume", volume, Origin::Measured);
    record.set("area", Quantity::new(part.area_mm2 * 1e-6, Dimension::AREA), Origin::Measured);
    record.set("longest", mm(part.longest_mm()), Origin::Measured);
    record.set("height", mm(part.size_mm()[2]), Origin::Measured);
    record.set("closed", part.closed, Origin::Measured);
    record.set("pieces", Quantity::number(part.pieces as f64), Origin::Measured);
    record.set("min_wall", part.min_wall_mm.map(measured), Origin::Measured);
    record.set("min_wall_at", part.min_wall_at.map(|p| Value::text(&place(p))), Origin::Measured);
    record.set("broad_wall", part.broad_wall.map(|w| measured(w.mm)), Origin::Measured);
    record.set("broad_wall_at", part.broad_wall.map(|w| Value::text(&place(w.at))), Origin::Measured);
    record.set("min_gap_at", part.min_gap_at.map(|p| Value::text(&place(p))), Origin::Measured);
    record.set("min_gap", part.min_gap_mm.map(measured), Origin::Measured);
    record
}

/// `scars` is the area that support would touch in a pose, mm², where that is decided.
pub fn face(face: &Face, index: usize, part: &Part, pose: Option<usize>, scars: Option<f64>) -> Record {
    let mut record = Record::new(format!("face \"{}\"", face.name.value));
    let at = stated(face.span);
    record.set("name", Value::text(&face.name.value), at.clone());
    for (name, value) in [
        ("cosmetic", face.cosmetic),
        ("no_support", face.no_support),
        ("no_seam", face.no_seam),
        ("on_bed", face.on_bed),
    ] {
        record.set(name, value, at.clone());
    }
    if let Some(marking) = &face.marking {
        record.set("marking", Value::text(marking), at);
    }
    if let Some(pose) = pose {
        record.set("down", part.lies_down(index, pose).map(Value::Bool), Origin::Measured);
        let area = scars.map(|a| Quantity::new(a * 1e-6, Dimension::AREA));
        record.set("scarred", area, Origin::Measured);
    }
    record
}

/// Something a text states at that place.
pub fn stated(at: Span) -> Origin {
    Origin::Stated { at }
}

/// What the table of names makes of a catalogue rating; an unknown one stays unknown.
fn set_rating(record: &mut Record, rating: Option<Rating>) {
    use crate::catalogue::words::Stands;
    let Some(rating) = rating else { return };
    let origin = match &rating.from {
        Some(from) => Origin::Sourced {
            at: from.at,
            kind: from.kind.as_str(),
            source: from.source.as_deref().map(Arc::from),
            low: None,
            high: None,
        },
        None => Origin::None,
    };
    record.set("cracks_under_load", rating.cracks_under_load.is_some(), origin.clone());
    if rating.stands != Stands::Unknown {
        record.set("rating", Value::word(rating.stands.as_str()), origin);
    }
}

/// A length of so many millimetres.
/// A thickness found on the mesh, to a hundredth of a millimetre: the last bits of a coordinate of the file must not
/// make a wall of 0.8 mm too thin for two lines of 0.4 mm.
fn measured(value: f64) -> Quantity {
    mm(hundredth(value))
}

/// Rounds to a hundredth; a negative zero is a zero.
pub fn hundredth(value: f64) -> f64 {
    (value * 100.0).round() / 100.0 + 0.0
}

/// A place in the axes of the mesh file, in words.
pub fn place([x, y, z]: Point) -> String {
    format!("({:.2}, {:.2}, {:.2}) mm", hundredth(x), hundredth(y), hundredth(z))
}

pub fn mm(value: f64) -> Quantity {
    Quantity::new(value * 1e-3, Dimension::LENGTH)
}

fn value_of(plain: &Plain) -> Value {
    match plain {
        Plain::Quantity(q) => Value::Quantity(*q),
        Plain::Word(w) => Value::word(Text::shared(w)),
        Plain::Flag(b) => Value::Bool(*b),
        Plain::Text(t) => Value::text(t),
        Plain::Words(words) => Value::List(words.iter().map(|w| Value::text(w)).collect()),
    }
}

/// Returns whether something is eaten or drunk, by the words the catalogue knows it under.
fn is_food(chemical: &str) -> bool {
    let words =
        ["food", "milk", "beer", "wine", "spirits", "juice", "drinking", "vegetable oil", "cooking oil", "olive oil"];
    let plain = chemical.to_lowercase();
    words.iter().any(|w| plain.contains(w))
}

/// Returns whether a medium is a gas, by the words people use for it.
fn is_gas(medium: &str) -> bool {
    let words = [
        "air",
        "gas",
        "nitrogen",
        "oxygen",
        "argon",
        "helium",
        "hydrogen",
        "propane",
        "butane",
        "methane",
        "steam",
        "co2",
        "carbon dioxide",
        "vapour",
    ];
    let plain = medium.to_lowercase();
    words
        .iter()
        .any(|w| plain.split(|c: char| !c.is_alphanumeric()).any(|x| x == *w) || (w.contains(' ') && plain.contains(w)))
}

fn impact_matters(impact: Impact) -> bool {
    match impact {
        Impact::Drop(height) => height.to_mm() > 0.0,
        Impact::Blow { .. } | Impact::Stated => true,
    }
}

/// The word of the rule language for a stage.
pub fn stage_word(stage: Stage) -> &'static str {
    match stage {
        Stage::FitPrototype => "fit-prototype",
        Stage::Functional => "functional",
        Stage::Production => "production",
    }
}

pub fn consequence_word(consequence: Consequence) -> &'static str {
    match consequence {
        Consequence::Nuisance => "nuisance",
        Consequence::Damage => "damage",
        Consequence::Injury => "injury",
    }
}

pub fn place_word(place: Place) -> &'static str {
    match place {
        Place::Indoors => "indoors",
        Place::Outdoors => "outdoors",
        Place::BehindGlass => "behind-glass",
        Place::VehicleCabin => "vehicle-cabin",
        Place::Dashboard => "dashboard",
        Place::NearHeat => "near-heat",
    }
}

pub fn sun_word(sun: SunExposure) -> &'static str {
    match sun {
        SunExposure::None => "none",
        SunExposure::Shaded => "shaded",
        SunExposure::Direct => "direct",
    }
}

pub fn wet_word(wet: Wet) -> &'static str {
    match wet {
        Wet::Dry => "dry",
        Wet::Damp => "damp",
        Wet::Rain => "rain",
        Wet::Immersed => "immersed",
    }
}

pub fn course_word(course: Course) -> &'static str {
    match course {
        Course::Steady => "steady",
        Course::Shock => "shock",
        Course::Cyclic => "cyclic",
    }
}
