//! Workshop files as three of their owners wrote them from the page of the language alone: as they should be, and with the slips
//! and absurd values such files have.

use crate::catalogue::{check_annotated, with_shop};
use crate::workshop::Workshop;

/// One machine on a table at home.
const HOBBY: &str = include_str!("cases/shops/hobby.yaml");
/// Ten machines of one make in a school.
const SCHOOL: &str = include_str!("cases/shops/school.yaml");
/// Two closed machines for fibre.
const FIBRE: &str = include_str!("cases/shops/fibre.yaml");

#[test]
fn they_are_read_without_a_finding_and_print_the_starters_peg() {
    let starter = Workshop::starter("peg");
    for (file, printer) in [(HOBBY, "Little one"), (SCHOOL, "Desk 1"), (FIBRE, "Box")] {
        let (_, _, _, found) = with_shop(file);
        assert_eq!(found, vec![]);
        let mesh = std::fs::read(starter.path("peg/peg.stl")).unwrap();
        let spec = "part \"peg\" { mesh \"peg.stl\" in mm; consequence nuisance; service { place indoors; air 10 °C .. 30 °C } }";
        let made = Workshop::empty().with("peg.stl", mesh).with("shop.yaml", file).with("peg.partspec", spec);
        let recipe = made.recipe("peg.partspec");
        assert_eq!(recipe.decisions.unwrap().printer.value, printer);
    }
}

#[test]
fn slips_and_absurd_values_each_get_their_message() {
    for (name, file) in [
        ("hobby", include_str!("cases/shops/hobby-slips.yaml")),
        ("school", include_str!("cases/shops/school-slips.yaml")),
        ("fibre", include_str!("cases/shops/fibre-slips.yaml")),
    ] {
        let (_, sources, _, found) = with_shop(file);
        check_annotated(name, file, &sources, sources.iter().last().unwrap().0, &found);
    }
}

#[test]
fn a_name_of_an_older_program_is_told_with_what_to_write_now() {
    let rule = "rule \"thick-skin\" {\n  when settings.skin_above < 5\n  prefer another 2\n  otherwise \"thin\"\n  because \"ours leak\"\n  source from-memory\n}\n";
    let run = Workshop::empty().with("own.rules", rule).run(&["check", "own.rules"]);
    let told = format!("{}{}", run.stdout, run.stderr);
    assert!(told.contains("`skin_above` is named `closed_above` now"), "{told}");
    assert!(told.contains("write `settings.closed_above`") && told.contains("own.rules:2"), "{told}");
    for (lines, message, write) in [
        (
            "figures:\n    text_stroke: { typ: 1 mm, kind: from-memory }",
            "nothing reads `text_stroke` any more",
            "leave it out",
        ),
        (
            "materials:\n    PLA:\n      price_class: { is: low, kind: from-memory }",
            "nothing reads `price_class` any more",
            "a price is counted",
        ),
        (
            "process:\n    plate_gap: { typ: 1 mm, kind: from-memory }",
            "`process` is named `figures` now",
            "write `figures:`",
        ),
    ] {
        let (_, _, _, found) = with_shop(&format!("{HOBBY}catalogue:\n  {lines}\n"));
        let met = |d: &makeready::diag::Diagnostic| d.message == message && d.hints.iter().any(|h| h.contains(write));
        assert!(found.len() == 1 && found.iter().all(met), "{found:?}");
    }
}
