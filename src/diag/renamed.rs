//! Names that files may still carry from an older program, and what is written now.

/// A name that is no longer, and what took its place.
#[derive(Debug, Clone, Copy)]
pub struct Renamed {
    /// As older files write it.
    pub old: &'static str,
    /// A name that is known where the old one stood: that of today, or of a neighbour where nothing took its place.
    known_by: &'static str,
    /// Whether that is its name of today.
    lives_on: bool,
    /// What to write in its place.
    write: &'static str,
}

const fn now(old: &'static str, new: &'static str, write: &'static str) -> Renamed {
    Renamed { old, known_by: new, lives_on: true, write }
}

/// What nothing reads any more, where a neighbour tells the place.
const fn gone(old: &'static str, beside: &'static str, write: &'static str) -> Renamed {
    Renamed { old, known_by: beside, lives_on: false, write }
}

const BY_CONSEQUENCE: &str = "write `load_factor: { nuisance: .., damage: .., injury: .. }`";
const NOT_READ: &str = "leave it out";

/// Every name that was renamed or dropped: keys of the workshop's file and the catalogue, figures, settings.
pub const RENAMED: &[Renamed] = &[
    now(
        "process",
        "figures",
        "write `figures:`; the factors on loads are `load_factor: { nuisance: .., damage: .., injury: .. }`",
    ),
    now("load_factor_nuisance", "load_factor", BY_CONSEQUENCE),
    now("load_factor_damage", "load_factor", BY_CONSEQUENCE),
    now("load_factor_injury", "load_factor", BY_CONSEQUENCE),
    now("purge_overheat", "overheat", "write `overheat`"),
    now("skin_above", "closed_above", "write `settings.closed_above`"),
    now("skin_below", "closed_below", "write `settings.closed_below`"),
    gone(
        "price_class",
        "glass_transition",
        "leave it out; a price is counted: `price: { typ: 24 money/kg, kind: .. }`",
    ),
    gone("min_layer_time", "glass_transition", NOT_READ),
    gone("conductivity", "glass_transition", NOT_READ),
    gone("water_uptake", "glass_transition", NOT_READ),
    gone("anneal_strain_across", "glass_transition", NOT_READ),
    gone("food_note", "glass_transition", NOT_READ),
    gone("service_limit", "glass_transition", "leave it out; `heat_limit` is what is read"),
    gone(
        "bridge_limit",
        "glass_transition",
        "leave it out; a shop's own bridge is a record: `calibration: - { what: bridge, .. }`",
    ),
    gone("cantilever_free", "plate_gap", NOT_READ),
    gone("clearance_loose", "plate_gap", NOT_READ),
    gone(
        "clearance_sliding",
        "plate_gap",
        "leave it out; the play of a fit is stated with the fit: `sliding .. play 0.2 mm`",
    ),
    gone("layer_time_for_strength", "plate_gap", NOT_READ),
    gone(
        "overhang_tuned",
        "plate_gap",
        "leave it out; a shop's own overhang is a record: `calibration: - { what: overhang, .. }`",
    ),
    gone("pin_diameter", "plate_gap", NOT_READ),
    gone("pp_design_strain", "plate_gap", NOT_READ),
    gone("room_temperature", "plate_gap", NOT_READ),
    gone("round_hole_roof", "plate_gap", NOT_READ),
    gone("sustained_near_glass_transition", "plate_gap", NOT_READ),
    gone("text_stroke", "plate_gap", NOT_READ),
    gone("wall_gap", "plate_gap", NOT_READ),
    gone("warmth_assumed", "plate_gap", NOT_READ),
];

/// Returns what is wrong with a name of an older program and what to write, where the names known in its place tell that it
/// is one.
pub fn renamed<'a>(name: &str, mut known: impl Iterator<Item = &'a str>) -> Option<(String, &'static str)> {
    let row = RENAMED.iter().find(|row| row.old == name)?;
    known.find(|k| *k == row.known_by)?;
    let message = match row.lives_on {
        true => format!("`{name}` is named `{}` now", row.known_by),
        false => format!("nothing reads `{name}` any more"),
    };
    Some((message, row.write))
}

/// Facts that rules of an older program read, by root and name (none: the whole root), and what to write in their place.
const FACTS: &[(&str, Option<&str>, &str)] = &[
    ("pose", Some("time"), "write `piece.time`"),
    ("pose", Some("cost"), "write `piece.cost`"),
    ("process", None, "write `figure.NAME`, as in `figure.load_close`"),
    ("service", Some("air"), "write `service.air_low` or `service.air_high`"),
    ("service", Some("contact"), "write `contact.NAME`: the rule is judged for each contact"),
    ("fit", Some("model"), "write `fit.model_size`"),
];

/// Returns what to write for a fact that rules of an older program read; `None` where it never was one.
pub fn renamed_fact(root: &str, name: Option<&str>) -> Option<&'static str> {
    FACTS.iter().find(|(of, fact, _)| *of == root && *fact == name).map(|(.., write)| *write)
}
