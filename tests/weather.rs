//! What sun, still air, glass and chemicals do to a choice, from the outside.

use makeready::recipe::Status;

use crate::workshop::reading::{margin, refusals};
use crate::workshop::{bar, one_spool};

const BAR: [f64; 3] = [60.0, 10.0, 10.0];
const LOAD: &str =
    "  load \"w\" { force 2 N toward -z at face \"end\"; fixed at face \"root\"; held 10 s; factor 2 }\n";

#[test]
fn the_sun_sees_the_spool_and_not_the_wish() {
    // In black it gets hotter than anybody gives the polymer; at 30 °C of air it lies within what is known of its limit.
    let wish = "  service { place outdoors; air -10 °C .. 36 °C; sun direct for 1 year; colour \"white\" }\n";
    let white = bar(Some(&one_spool("PETG", "white")), BAR, &format!("{wish}  consequence nuisance"));
    assert_ne!(white.status, Status::NotPrintableAsSpecified, "{:#?}", white.conflicts);
    let said = refusals(&bar(Some(&one_spool("PETG", "black")), BAR, &format!("{wish}  consequence nuisance")));
    assert!(said.contains("PETG holds to 62 °C under light load"), "{said}");
    // Paint covers what the spool has.
    let painted = bar(Some(&one_spool("PETG", "black")), BAR, &format!("{wish}  consequence nuisance\n  treat paint"));
    assert_ne!(painted.status, Status::NotPrintableAsSpecified, "{:#?}", painted.conflicts);
    // A spool in another colour is told, sun or none.
    let indoors = "  service { place indoors; air 10 °C .. 25 °C; colour \"white\" }\n";
    let other = bar(Some(&one_spool("PETG", "black")), BAR, indoors);
    assert!(other.cautions.iter().any(|c| c.text.contains("the spool is black")), "{:#?}", other.cautions);
}

#[test]
fn the_windless_hour_counts_where_people_can_be_hurt() {
    let sun = |more: &str| {
        format!(
            "  service {{ place outdoors; air -10 °C .. 12 °C; sun direct for 2 years; colour \"black\" }}\n{LOAD}  {more}"
        )
    };
    let hurts = refusals(&bar(Some(&one_spool("ASA", "black")), BAR, &sun("consequence injury")));
    assert!(hurts.contains("gives way at 88 °C at the latest"), "{hurts}");
    let damage = bar(Some(&one_spool("ASA", "black")), BAR, &sun("consequence damage"));
    assert_ne!(damage.status, Status::NotPrintableAsSpecified, "{:#?}", damage.conflicts);
    assert!(damage.cautions.iter().any(|c| c.text.contains("In still air and peak sun")), "{:#?}", damage.cautions);
}

/// The catalogue's figure for the place stands in where the spec says nothing of the air.
#[test]
fn air_behind_glass_is_not_that_of_a_room() {
    let lines = "  service { place behind glass; colour \"white\" }\n  pin material PETG because \"to see\"";
    let recipe = bar(Some(&one_spool("PETG", "white")), BAR, lines);
    let said = serde_json::to_string(&recipe).unwrap();
    assert!(said.contains("highest air temperature not stated: 45 °C assumed"), "{said}");
}

#[test]
fn what_cracks_in_a_chemical_does_not_carry_what_can_hurt() {
    let lines = |more: &str| {
        format!(
            "  service {{ place indoors; air 10 °C .. 25 °C; contact \"isopropanol\" wiped }}\n{LOAD}  pin material PC because \"to see\"\n  {more}"
        )
    };
    let pc = one_spool("PC", "natural");
    let hurts = refusals(&bar(Some(&pc), BAR, &lines("consequence injury")));
    assert!(hurts.contains("PC may crack in isopropanol"), "{hurts}");
    let damage = bar(Some(&pc), BAR, &lines("consequence damage"));
    assert_eq!(margin(&damage, "contact \"isopropanol\"").verdict, "holds narrowly");
}

/// What the shop's own figure says of its place counts in the sum: less sun or more, a hotter cabin.
#[test]
fn a_shop_that_knows_its_sun_is_heard() {
    let outside = "  service { place outdoors; air 0 °C .. 20 °C; sun direct for 1 year; colour \"white\" }\n  consequence nuisance";
    let own = "catalogue:
  places:
    outdoors: { irradiance: { typ: 500 W/m2, high: 600 W/m2, kind: from-memory } }
    vehicle-cabin: { service_temperature: { typ: 55 °C, high: 58 °C, kind: from-memory } }
  figures:
    sun_film_coefficient: { typ: 10 W/m2/K, kind: from-memory }
    sky_loss: { typ: 0 W/m2, kind: from-memory }
";
    let shop = one_spool("PETG", "white") + own;
    // By hand: 20 °C + 0.3 x 500 / 10 K.
    assert_eq!(margin(&bar(Some(&shop), BAR, outside), "heat").demand, "35 °C");
    let cabin = "  service { place vehicle-cabin; air 0 °C .. 20 °C }\n  consequence nuisance";
    assert_eq!(margin(&bar(Some(&shop), BAR, cabin), "heat").demand, "55 °C");
}

/// Names of one shade are one colour: `dark-gray` on the spool is the dark grey asked for.
#[test]
fn a_colour_goes_by_all_its_names() {
    let asked = "  service { place indoors; air 10 °C .. 25 °C; colour \"dark grey\" }\n";
    let recipe = bar(Some(&one_spool("PETG", "anthracite")), BAR, asked);
    assert!(!recipe.cautions.iter().any(|c| c.text.contains("Asked for is")), "{:#?}", recipe.cautions);
}

/// A pressure pulls at the wall as a load does.
#[test]
fn what_cracks_in_a_chemical_holds_no_pressure() {
    let lines = "  service { place indoors; air 10 °C .. 25 °C; contact \"isopropanol\" wiped }\n  pressure 0.4 bar of \"water\" bore 4 mm\n  wall at least 3 mm\n  consequence injury\n  pin material PC because \"to see\"";
    let said = refusals(&bar(Some(&one_spool("PC", "natural")), BAR, lines));
    assert!(said.contains("PC may crack in isopropanol"), "{said}");
}

/// Of two spools of one material and colour with enough on each the one on the machine is taken: nothing need be changed.
#[test]
fn the_spool_on_the_machine_goes_first() {
    let two = one_spool("PETG", "black") + "  - { name: fuller, material: PETG, colour: black, left: 5000 g }\n";
    let recipe = bar(Some(&two), BAR, "  service { place indoors; air 10 °C .. 25 °C }");
    let material = &recipe.decisions.as_ref().unwrap().material;
    assert!(material.detail.contains("spool one"), "{}", material.detail);
}
