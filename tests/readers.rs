//! What the catalogue and the registry hold is read by something: a field or a function without a reader stands in a list
//! here with its reason, and the lists may only shrink.

use std::collections::BTreeSet;

use makeready::catalogue::material::Material;
use makeready::physics::registry;

use crate::figures::sources;
use crate::workshop::Workshop;

/// Fields of a material that no code names: prose for a person, shown with all others on the material's page.
const SHOWN: [&str; 1] = ["remarks"];

/// Functions of the registry whose use is `makeready calc` and a workshop's own rules, by what a person at the bench reckons with
/// each (`tests/stress.rs` runs every one as its page says). A rule's or the program's call takes one off the list.
const HAND_SUMS: &[(&str, &[&str])] = &[
    (
        "what a line takes of filament, time and heat, for whoever sets a printer up by hand",
        &[
            "bead_area",
            "filament_feed",
            "filament_length",
            "melt_power",
            "filament_heating_time",
            "flow_for_layer_time",
        ],
    ),
    (
        "the sum by hand beside a stress that was computed from the whole body",
        &[
            "cantilever_stress",
            "cantilever_deflection",
            "cantilever_uniform_deflection",
            "cantilever_uniform_stress",
            "supported_deflection",
            "supported_load",
            "supported_stress",
            "bending_stress",
            "axial_stress",
            "transverse_shear_stress",
            "torsion_stress",
            "twist_angle",
            "shear_modulus",
            "buckling_force",
        ],
    ),
    (
        "how long a layer or a bead takes to stiffen, to set a layer's least time by",
        &["bead_cooling_time_constant", "layer_cooling_time_constant", "temperature_after", "cooling_time"],
    ),
    ("a price's parts, to check a quotation by", &["material_cost", "time_cost", "cost_per_good"]),
    (
        "a surface's temperature in the sun, to check a place of one's own by",
        &["sol_air_temperature", "sol_air_temperature_under_sky", "sunlit_temperature", "clear_sky_irradiance"],
    ),
    (
        "how steep and how round a roof may be, to shape a part by",
        &["bead_support_fraction", "steepest_supported_angle", "hole_roof_chord", "hole_roof_height", "teardrop_apex"],
    ),
    ("how many pieces a bed takes, before there is a spec", &["pieces_on_bed"]),
    (
        "a press fit's stress and heat, to check one against its hub",
        &["interference_pressure", "hub_hoop_stress", "heating_for_assembly"],
    ),
    (
        "stress in a vessel, to check a pressure's margin by",
        &["hoop_pressure_stress", "end_pressure_stress", "thin_hoop_stress"],
    ),
    ("time and mass of a print, before there is a mesh", &["laid_volume", "mass_of", "laying_time"]),
    (
        "the sum by hand beside a stress that was computed from the whole body: the section it starts from",
        &[
            "rectangle_second_moment",
            "rectangle_section_modulus",
            "tube_second_moment",
            "tube_section_modulus",
            "tube_torsion_constant",
            "rectangle_torsion_constant",
            "rectangle_torsion_modulus",
            "section_modulus",
        ],
    ),
    (
        "strain and forces of a snap arm, to shape one by",
        &["tapered_snap_strain", "snap_deflection", "snap_bending_force", "snap_push_force"],
    ),
    (
        "how many to start, and what a count of good pieces shows, before there is a spec",
        &["start_count", "chance_of_enough", "yield_lower_bound", "zero_failure_count"],
    ),
    (
        "the sum by hand beside a load's margin: the direction of the stress",
        &["across_layer_strength", "tsai_hill_reserve"],
    ),
    (
        "the sum by hand beside a stress that was computed from the whole body: holes in it",
        &["hole_in_strip_factor", "hole_in_strip_stress", "concentrated_stress"],
    ),
    (
        "the sum by hand beside a load's margin: time and cycles, from one number in place of a polymer's own",
        &["sustained_factor", "sustained_factor_low", "sustained_factor_at", "fatigue_factor", "combined_utilisation"],
    ),
    (
        "how much two materials move against each other, to size a joint by",
        &["thermal_expansion", "restrained_stress", "expansion_mismatch"],
    ),
    ("how far a plate would lift, to compare two shapes by", &["free_contraction", "plate_lift"]),
    ("how well a layer welds, to compare two temperatures by", &["weld_ratio", "time_above"]),
];

/// Whether the word stands in the text by itself.
fn has(text: &str, word: &str) -> bool {
    let part = |c: char| c.is_ascii_alphanumeric() || c == '_';
    text.match_indices(word).any(|(at, _)| !text[..at].ends_with(part) && !text[at + word.len()..].starts_with(part))
}

/// The program without its tests, file by file.
fn program() -> Vec<(String, String)> {
    let cut = |text: &str| text.split("#[cfg(test)]\nmod tests").next().unwrap_or_default().to_owned();
    sources("src", "rs").iter().map(|(path, text)| (path.clone(), cut(text))).collect()
}

/// The facts of a material and the fields each is lowered from, by the lines of `resolve/facts.rs`.
fn facts_of(field: &str, lowering: &str) -> Vec<String> {
    let takes = |line: &&str| has(line, &format!("m.{field}"));
    let names = lowering.lines().filter(takes).flat_map(|line| {
        let made = line.trim().strip_prefix("let ").unwrap_or(line.trim());
        let made = made.split(['=', ':']).next().unwrap_or_default();
        made.split(|c: char| !(c.is_ascii_alphanumeric() || c == '_')).map(str::to_owned).collect::<Vec<_>>()
    });
    names.filter(|name| !name.is_empty()).collect()
}

#[test]
fn every_field_of_a_material_has_a_reader() {
    let program = program();
    let lowering = &program.iter().find(|(p, _)| p.ends_with("resolve/facts.rs")).unwrap().1;
    let elsewhere = |(path, _): &&(String, String)| !path.ends_with("resolve/facts.rs");
    let rust: String = program.iter().filter(elsewhere).map(|(_, text)| text.as_str()).collect();
    let rules: String = sources("recipes/rules", "rules").iter().map(|(_, text)| text.as_str()).collect();
    let read = |field: &str| {
        let by_rule =
            |fact: &String| has(&rules, &format!("material.{fact}")) || has(&rust, &format!("MATERIAL.{fact}"));
        dotted(&rust, field) || facts_of(field, lowering).iter().any(by_rule)
    };
    let unread: BTreeSet<&str> = Material::FIELDS.iter().map(|f| f.name).filter(|f| !read(f)).collect();
    assert_eq!(unread, SHOWN.into(), "a field without a reader is put to use, or goes");
    let page = Workshop::empty().run(&["catalogue", "material", "ABS"]).stdout;
    let shown = page.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(shown.contains("not years of ultraviolet"), "{page}");
}

/// Whether a field of that name is read somewhere: `.name`, and no call.
fn dotted(text: &str, field: &str) -> bool {
    let ends = |rest: &str| !rest.starts_with(|c: char| c.is_ascii_alphanumeric() || matches!(c, '_' | '('));
    let name = format!(".{field}");
    text.match_indices(&name).any(|(at, _)| ends(&text[at + name.len()..]))
}

/// A registered function is called by a rule, or the computation behind it by the program outside physics.
#[test]
fn every_function_of_the_registry_has_a_reader() {
    let program = program();
    let (physics, above): (Vec<_>, Vec<_>) = program.iter().partition(|(path, _)| path.contains("/src/physics"));
    let physics: String = physics.iter().map(|(_, text)| text.as_str()).collect();
    let above: String = above.iter().map(|(_, text)| text.as_str()).collect();
    let rules: String = sources("recipes/rules", "rules").iter().map(|(_, text)| text.as_str()).collect();
    let read = |name: &str| {
        let row = physics.split(&format!("name: \"{name}\"")).nth(1).unwrap();
        let evaluate = row.split("evaluate:").nth(1).unwrap().split("\n    }").next().unwrap();
        let computation = evaluate.split(['!', '(', ')', ';', ',']).map(|w| w.trim().rsplit("::").next().unwrap());
        let computation = computation
            .filter(|w| !w.is_empty() && *w != "apply" && w.chars().all(|c| c.is_alphanumeric() || c == '_'));
        has(&rules, name) || computation.into_iter().next().is_some_and(|f| has(&above, f))
    };
    let unread: BTreeSet<&str> = registry::functions().iter().map(|f| f.name).filter(|f| !read(f)).collect();
    let known: BTreeSet<&str> = HAND_SUMS.iter().flat_map(|(_, names)| names.iter().copied()).collect();
    assert_eq!(unread, known, "a function without a reader is put to use, or goes");
    assert!(known.len() <= 79, "the list may only shrink");
}
