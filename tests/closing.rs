//! What moves so far that the sum no longer holds: a gap of the part that a load closes, and a part that moves more than a tenth of its
//! length.

use makeready::catalogue::built_in;

use crate::workshop::read::Recipe;
use crate::workshop::reading::margin;
use crate::workshop::{Workshop, bar, shapes};

const COOL: &str = "  service { place indoors; air 10 °C .. 23 °C }\n  consequence nuisance\n";
const SOLID: &str =
    "  pin build-up solid because \"to compare\"\n  pin material PETG because \"its figures are known\"\n";

/// A fork of two prongs 40 x 4 mm, 10 mm wide and 2 mm apart, one pushed toward the other near its end.
fn fork(newtons: f64) -> Recipe {
    let outline =
        [[0.0, 0.0], [60.0, 0.0], [60.0, 4.0], [20.0, 4.0], [20.0, 6.0], [60.0, 6.0], [60.0, 10.0], [0.0, 10.0]];
    let spec = format!(
        "part \"fork\" {{\n  mesh \"fork.stl\" in mm\n{COOL}{SOLID}  face \"root\" toward -x\n  load \"push\" {{ force {newtons} N toward -y at (57 mm, 10 mm, 5 mm) across 4 mm; fixed at face \"root\"; held 10 s; factor 1 }}\n}}\n"
    );
    Workshop::empty()
        .with("fork.stl", shapes::pulled(&outline, 10.0))
        .with("fork.partspec", spec)
        .recipe("fork.partspec")
}

/// F = 3 E I d / L³ (Gere, *Mechanics of Materials*, ch. 9): 37 mm to the load, the end a little farther out; d the gap.
#[test]
fn a_gap_that_closes_before_the_load_acts_is_said_and_what_is_beyond_is_not_shown() {
    let (catalogue, _) = built_in();
    let modulus = catalogue.materials["PETG"].modulus.as_ref().unwrap().low().to_mpa();
    let inertia = 10.0 * 64.0 / 12.0;
    let (arm, end) = (37.0_f64, 40.0);
    let by_hand = 6.0 * modulus * inertia * 2.0 / (arm * arm * (3.0 * end - arm));
    let recipe = fork(1.5 * by_hand);
    let m = margin(&recipe, "load \"push\"");
    assert_eq!(m.verdict, "not shown", "{m:#?}");
    let text = &m.because.text;
    let at: f64 = {
        let after = text.split("closes first, at ").nth(1).unwrap_or_else(|| panic!("{text}"));
        after.split_whitespace().next().unwrap().parse().unwrap()
    };
    // The root gives, so it closes a little sooner.
    assert!((0.8..1.02).contains(&(at / by_hand)), "{at} for {by_hand}: {text}");
    assert!(text.contains("the gap of 2"), "{text}");
    // Half of that leaves it open, and is judged.
    assert_eq!(margin(&fork(0.5 * by_hand), "load \"push\"").verdict, "holds");
}

// A bar of mostly air moves about twice as far as a solid one: 6 mm of its 100 that way is more than a tenth.
#[test]
fn what_moves_far_with_its_infill_is_not_shown() {
    let made = |infill: &str, newtons: f64| {
        let lines = format!(
            "{COOL}  pin infill {infill} because \"to see\"\n  pin material PETG because \"its figures are known\"\n  load \"tip\" {{ force {newtons} N toward -z at face \"end\"; fixed at face \"root\"; held 10 s; factor 1 }}"
        );
        bar(None, [100.0, 10.0, 10.0], &lines)
    };
    let told = |infill: &str, newtons: f64| {
        let recipe = made(infill, newtons);
        let m = margin(&recipe, "load \"tip\"");
        (m.verdict.clone(), m.because.text.clone())
    };
    let (catalogue, _) = built_in();
    let modulus = catalogue.materials["PETG"].modulus.as_ref().unwrap().low().to_mpa();
    // 3 E I d / L³.
    let six = 3.0 * modulus * 1e4 / 12.0 * 6.0 / 1e6;
    let (solid, filled) = (told("100 %", six), told("10 %", six));
    assert!(!solid.1.contains("beyond 10 mm"), "{}", solid.1);
    assert!(filled.0 == "not shown" && filled.1.contains("beyond 10 mm"), "{}: {}", filled.0, filled.1);
}
