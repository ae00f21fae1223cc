//! What presses on a part where it is held and where a load acts: judged by the mean pressure there, and the body by the rest.

use makeready::recipe::Status;

use crate::workshop::read::Recipe;
use crate::workshop::reading::{margin, refusals};
use crate::workshop::{Workshop, bar, one_spool, shapes};

const COOL: &str = "  service { place indoors; air 10 °C .. 23 °C }\n  consequence nuisance\n";
const SOLID: &str =
    "  pin build-up solid because \"to compare\"\n  pin material PETG because \"its figures are known\"\n";

/// A post of 30 x 30 x 60 mm lying along x, held by its whole root, pushed by a patch on its end.
fn post(newtons: f64, across: &str) -> Recipe {
    let load = format!(
        "  load \"push\" {{ force {newtons} N toward -x at (60 mm, 15 mm, 15 mm) {across}; fixed at face \"root\"; held 10 s; factor 1 }}\n"
    );
    bar(None, [60.0, 30.0, 30.0], &format!("{COOL}{SOLID}{load}"))
}

fn mpa(words: &str) -> f64 {
    words.split_whitespace().next().unwrap().parse().unwrap()
}

/// F over A (Gere, *Mechanics of Materials*, ch. 1): 250 N on 8 mm across, 50.27 mm².
#[test]
fn a_patch_bears_the_mean_pressure_on_it() {
    let recipe = post(250.0, "across 8 mm");
    let m = margin(&recipe, "bearing under \"push\"");
    assert!((mpa(&m.demand) / (250.0 / 50.27) - 1.0).abs() < 0.02, "{m:#?}");
    let text = &m.because.text;
    assert!(text.contains("250 N press on 50.") && text.contains("where it acts"), "{text}");
    // Twice the force on 10 mm, and on the same.
    let wide = mpa(&margin(&post(500.0, "across 10 mm"), "bearing under \"push\"").demand);
    assert!((wide / mpa(&m.demand) / (2.0 * 0.64) - 1.0).abs() < 0.02, "{wide}");
    let twice = mpa(&margin(&post(500.0, "across 8 mm"), "bearing under \"push\"").demand);
    assert!((twice / mpa(&m.demand) / 2.0 - 1.0).abs() < 0.01, "{twice}");
}

// What a wider patch is said to do, it does.
#[test]
fn a_patch_pressed_beyond_what_it_bears_is_refused_and_the_wider_one_told_holds() {
    let told = refusals(&post(4000.0, "across 8 mm"));
    assert!(told.contains("presses harder "), "{told}");
    let wanted: f64 = {
        let from = told.split("what would hold: ").nth(1).unwrap();
        from.split_whitespace().next().unwrap().parse().unwrap()
    };
    assert!(wanted > 50.3 && wanted < 200.0, "{told}");
    let across = (4.0 * wanted / std::f64::consts::PI).sqrt();
    let wider = post(4000.0, &format!("across {:.2} mm", across + 0.01));
    assert_ne!(wider.status, Status::NotPrintableAsSpecified, "{:#?}", wider.conflicts);
}

// A prism pressed from end to end has no place that is not pressed: F over A decides there too.
#[test]
fn a_block_that_is_only_pressed_is_crushed_all_the_same() {
    let pressed = |newtons: f64| {
        let load = format!(
            "  load \"push\" {{ force {newtons} N toward -x at face \"end\"; fixed at face \"root\"; held 10 s; factor 1 }}\n"
        );
        bar(None, [8.0, 20.0, 20.0], &format!("{COOL}{SOLID}{load}"))
    };
    // PETG bears some 30 to 60 MPa pressed: 400 mm² of it 12 to 24 kN.
    assert!(refusals(&pressed(40_000.0)).contains("presses harder "));
    assert_ne!(pressed(4_000.0).status, Status::NotPrintableAsSpecified);
}

// A waist behind a wide foot is pressed by the body and not by what it stands on: the field decides.
#[test]
fn a_waist_behind_a_wide_foot_is_crushed() {
    let lines: [&[f64]; 3] = [&[0.0, 10.0, 22.0, 32.0], &[0.0, 14.0, 20.0, 34.0], &[0.0, 14.0, 20.0, 34.0]];
    let stl = shapes::blocks(lines, |[x, y, z]| x != 1 || (y == 1 && z == 1), |p| p);
    let spec = |newtons: f64| {
        format!(
            "part \"bone\" {{\n  mesh \"bone.stl\" in mm\n{COOL}{SOLID}  face \"root\" toward -x\n  face \"end\" toward +x\n  load \"push\" {{ force {newtons} N toward -x at face \"end\"; fixed at face \"root\"; held 10 s; factor 1 }}\n}}\n"
        )
    };
    let made = |newtons: f64| {
        Workshop::empty().with("bone.stl", stl.clone()).with("bone.partspec", spec(newtons)).recipe("bone.partspec")
    };
    // 36 mm² of waist: 3 kN are 83 MPa there, and 2.6 on the foot.
    let told = made(3_000.0);
    let breaks = |c: &str| c.contains("load \\\"push\\\" makes") || c.contains("load \"push\" makes");
    let said = serde_json::to_string(&told).unwrap();
    assert!(!told.conflicts.is_empty() && breaks(&said), "{said}");
    assert!(made(300.0).conflicts.is_empty());
}

/// What lies round a patch holds it up: well inside a face it bears more than as wide as the face, up to what the catalogue says
/// (1.5), and at most as its width to that which the pressure can spread to (EN 1992-1-1, 6.7): here 25 mm to 30 mm.
#[test]
fn a_patch_well_inside_a_face_bears_more_than_all_of_it() {
    let bears = |newtons: f64, across: &str| mpa(&margin(&post(newtons, across), "bearing under \"push\"").capacity);
    let (inside, nearly, whole) =
        (bears(600.0, "across 8 mm"), bears(5_000.0, "across 25 mm"), bears(7_000.0, "over 30 mm x 30 mm"));
    assert!((inside / whole - 1.5).abs() < 0.01, "{inside} {whole}");
    assert!((nearly / whole - 30.0 / 25.0).abs() < 0.05, "{nearly} {whole}");
}

/// What a load presses and what it bends are one place and one load: that it holds narrowly costs a choice once.
#[test]
fn a_load_that_is_narrow_in_two_ways_costs_once() {
    let lines = "  load \"push\" { force 900 N toward -x at (60 mm, 15 mm, 15 mm) across 12 mm; fixed at face \"root\"; held 10 s; factor 1 }\n";
    let spec = format!(
        "part \"bar\" {{\n  mesh \"bar.stl\" in mm\n  face \"root\" toward -x\n{COOL}{lines}  pin material PETG because \"its figures are known\"\n}}\n"
    );
    let home = Workshop::empty()
        .with("bar.stl", shapes::block([60.0, 30.0, 30.0]))
        .with("shop.yaml", one_spool("PETG", "white"));
    let pinned = spec.replace("  pin material", "  pin build-up firm because \"to compare\"\n  pin material");
    let firm = home.with("bar.partspec", pinned).recipe("bar.partspec");
    for what in ["load \"push\"", "bearing under \"push\""] {
        assert_eq!(margin(&firm, what).verdict, "holds narrowly", "{:#?}", firm.margins);
    }
    let home = Workshop::empty()
        .with("bar.stl", shapes::block([60.0, 30.0, 30.0]))
        .with("shop.yaml", one_spool("PETG", "white"))
        .with("bar.partspec", spec);
    let told = home.run(&["explain", "bar.partspec", "not", "firm"]).stdout;
    assert!(told.contains("margin-with-room (load \"push\") +4.00") && !told.contains("bearing under"), "{told}");
}
