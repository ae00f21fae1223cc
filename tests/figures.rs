//! A workshop's own figures of the process count in its recipes, and the built-in ones are those of the physics.

use makeready::catalogue::{built_in, figures};
use makeready::physics::sustained::Retention;

use crate::workshop::reading::margin;
use crate::workshop::{bar, one_spool};

const BAR: [f64; 3] = [60.0, 10.0, 10.0];
fn made(own: &str, lines: &str) -> makeready::recipe::Recipe {
    let figures = if own.is_empty() { String::new() } else { format!("catalogue:\n  figures:\n    {own}\n") };
    bar(Some(&format!("{}{figures}", one_spool("PETG", "white"))), BAR, lines)
}

fn load(more: &str) -> String {
    format!(
        "  service {{ place indoors; air 10 °C .. 23 °C }}\n  load \"w\" {{ force 2 N toward -z at face \"end\"; fixed at face \"root\"; {more} }}\n"
    )
}

/// The ratio of a margin with a figure of the shop's own to that without.
fn ratio(own: &str, lines: &str) -> f64 {
    let of = |own: &str| -> f64 {
        let recipe = made(own, lines);
        let found = recipe.margins.iter().find(|m| m.what.contains("\"w\"")).expect("a margin of the load");
        let text = margin(&recipe, &found.what).because.text.clone();
        let words: Vec<&str> = found.margin.split([' ', ',']).collect();
        let number = words.iter().find_map(|w| w.parse::<f64>().ok());
        number.unwrap_or_else(|| panic!("{} ({text})", found.margin))
    };
    of(own) / of("")
}

#[test]
fn a_workshop_may_have_its_own_figures_of_time_and_repetition() {
    let day = load("held 1 day; factor 1");
    let found = ratio("sustained_days: { typ: 0.3, low: 0.2, kind: from-memory }", &day);
    assert!((found - 0.5).abs() < 0.02, "0.2 for 0.4: {found}");
    let often = load("cyclic 1000000; factor 1");
    let found = ratio(
        "fatigue_along: { typ: 0.1, low: 0.05, kind: from-memory }\n    fatigue_across: { typ: 0.05, low: 0.025, kind: from-memory }",
        &often,
    );
    assert!((found - 0.5).abs() < 0.02, "half of both: {found}");
}

#[test]
fn a_workshop_may_have_its_own_factor_and_room_on_the_plate() {
    let plain = load("held 1 min");
    let found = ratio("load_factor: { damage: { typ: 4, kind: common-practice } }", &plain);
    assert!((found - 0.5).abs() < 0.02, "4 for 2: {found}");
    let many = format!("{plain}  quantity 40\n");
    let said = |own: &str| serde_json::to_string(&made(own, &many)).unwrap();
    assert!(said("").contains("8 mm between and 5 mm to the edge"), "{}", said(""));
    assert!(said("plate_gap: { typ: 12 mm, kind: common-practice }").contains("12 mm between and 5 mm to the edge"));
    assert!(said("yield_assumed: { typ: 0.8, kind: from-memory }").contains("80 % good assumed (from memory)"));
}

/// What the rules' functions of time and repetition run through is what the catalogue says.
#[test]
fn the_usual_shares_are_those_of_the_catalogue() {
    let (catalogue, _) = built_in();
    let band = |key| catalogue.band(key);
    let (days, years) = (band(figures::SUSTAINED_DAYS), band(figures::SUSTAINED_YEARS));
    let (along, across) = (band(figures::FATIGUE_ALONG), band(figures::FATIGUE_ACROSS));
    assert_eq!(Retention { days, years, along, across }, Retention::USUAL);
}
