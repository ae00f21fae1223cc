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

/// A key of the top that cannot be read hides nothing below it, and what cannot be read is not called missing.
#[test]
fn all_is_told_at_once() {
    let file = "name: [A, B]\nelectricity: much\nspools:\n  - { name: s, material: PLAA, left: -3 g }\nnozzles: brass\n\
                printers:\n  - { name: P, build: [1 m, 1 m, 1 m], nozzle_limit: 900 °C, bed_limit: 90 °C, enclosed: no, drive: direct, edge: wide }\n\
                calibration:\n  - { printer: Q, nozzle: n, material: PLA, what: hole, axis: across-layers, offset: small, spread: 0.1 mm, count: 3, on: 2026-11-05 }\n";
    let (_, _, shop, found) = with_shop(file);
    assert!(shop.is_none());
    let told: Vec<&str> = found.iter().map(|d| d.code).collect();
    let wanted = [
        "catalogue/wrong-form",
        "catalogue/not-a-quantity",
        "catalogue/unknown-name",
        "catalogue/senseless",
        "catalogue/wrong-form",
        "shop/hotter-than-any",
        "catalogue/not-a-quantity",
        "catalogue/unknown-name",
        "catalogue/unknown-name",
        "catalogue/not-a-quantity",
    ];
    assert_eq!(told, wanted, "{found:#?}");
}

/// A sign or a unit that cannot be is told at its place, under whatever key of whatever record.
#[test]
fn a_value_below_nothing_is_told_under_every_key() {
    use makeready::catalogue::shop::{
        Calibration, Insert, Printer, Shop, ShopNozzle, ShopSurface, Spool, Tools, Yield,
    };
    use makeready::catalogue::value::Shape;
    use makeready::quantity::{Dimension, Quantity};
    let records = [
        (Shop::FIELDS, "@"),
        (Printer::FIELDS, "printers:\n  - name: P\n    @"),
        (ShopNozzle::FIELDS, "nozzles:\n  - name: n\n    metal: brass\n    @"),
        (ShopSurface::FIELDS, "surfaces:\n  - kind: glass\n    @"),
        (Spool::FIELDS, "spools:\n  - name: s\n    material: PLA\n    @"),
        (Tools::FIELDS, "tools:\n    @"),
        (Insert::FIELDS, "tools:\n  inserts:\n  - thread: M3\n    @"),
        (Yield::FIELDS, "yields:\n  - part: peg\n    @"),
        (Calibration::FIELDS, "calibration:\n  - what: hole\n    @"),
    ];
    let mut looked_at = 0;
    for (fields, at) in records {
        for field in fields {
            let Shape::Quantity(dimension) = field.shape else { continue };
            let least = match dimension {
                Dimension::TEMPERATURE => 20.0,
                // Signed by nature: far from any.
                _ if field.name == "offset" => -1.0,
                _ => -0.01,
            };
            let text = match field.name {
                "electricity" => "-0.3 money/kWh".to_owned(),
                "labour" | "hour_rate" => "-30 money/h".to_owned(),
                "price" => "-20 money/kg".to_owned(),
                "acceleration" => "-1500 mm/s2".to_owned(),
                _ => Quantity::new(least, dimension).to_string(),
            };
            let file = format!("name: A\n{}\n", at.replace('@', &format!("{}: {text}", field.name)));
            let (_, sources, _, found) = with_shop(&file);
            let line = |d: &makeready::diag::Diagnostic| {
                let span = d.labels[0].span;
                sources.get(span.source).unwrap().line_column(span.start).0
            };
            let told = found.iter().filter(|d| d.is_error() && line(d) == file.lines().count());
            let codes: Vec<&str> = told.map(|d| d.code).filter(|code| *code != "catalogue/missing-key").collect();
            assert!(
                codes.iter().any(|c| [
                    "catalogue/senseless",
                    "catalogue/whole-number",
                    "shop/bore",
                    "shop/label",
                    "unit/below-absolute-zero"
                ]
                .contains(c)),
                "{}: {text}: {found:?}",
                field.name
            );
            looked_at += 1;
        }
    }
    assert!(looked_at > 35, "{looked_at}");
    // A figure has a sign too.
    let (_, _, _, found) =
        with_shop("name: A\ncatalogue:\n  figures:\n    plate_gap: { typ: -8 mm, kind: from-memory }\n");
    assert!(found.iter().any(|d| d.code == "catalogue/senseless" && d.message.contains("`plate_gap`")), "{found:?}");
}

#[test]
fn a_name_of_an_older_program_is_told_with_what_to_write_now() {
    let rule = "rule \"thick-skin\" {\n  when settings.skin_above < 5\n  prefer another 2\n  otherwise \"thin\"\n  because \"ours leak\"\n  source from-memory\n}\n";
    let run = Workshop::empty().with("own.rules", rule).run(&["check", "own.rules"]);
    let told = format!("{}{}", run.stdout, run.stderr);
    assert!(told.contains("`skin_above` is named `closed_above` now"), "{told}");
    assert!(told.contains("write `settings.closed_above`") && told.contains("own.rules:2"), "{told}");
    for (fact, message, write) in [
        ("pose.time > 2 h", "`pose` has no `time` any more", "write `piece.time`"),
        ("pose.cost > 2", "`pose` has no `cost` any more", "write `piece.cost`"),
        ("process.plate_gap > 2 mm", "nothing is named `process` any more", "write `figure.NAME`"),
        ("service.air > 2 °C", "`service` has no `air` any more", "write `service.air_low`"),
        ("service.contact == 2", "`service` has no `contact` any more", "write `contact.NAME`"),
        ("fit.model == \"x\"", "`fit` has no `model` any more", "write `fit.model_size`"),
    ] {
        let rule = rule.replace("settings.skin_above < 5", fact);
        let run = Workshop::empty().with("own.rules", rule).run(&["check", "own.rules"]);
        let told = format!("{}{}", run.stdout, run.stderr);
        assert!(told.contains(message) && told.contains(write), "{fact}: {told}");
    }
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

/// A price in a currency is answered with itself in the file's money.
#[test]
fn a_price_in_a_currency_is_answered_with_the_line_to_write() {
    for (written, meant) in [("22 EUR/kg", "22 money/kg"), ("22.5 €/kg", "22.5 money/kg"), ("19CHF/kg", "19 money/kg")]
    {
        let (_, _, _, found) = with_shop(&HOBBY.replace("19 money/kg", written));
        let hints: Vec<&String> = found.iter().flat_map(|d| &d.hints).collect();
        assert!(hints.iter().any(|h| h.contains(&format!("write `{meant}`"))), "{written}: {hints:?}");
    }
}
