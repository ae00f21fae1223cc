//! What sits between flats only pushes: sockets, D-bores and keys that a torque turns, against sums by hand.

use makeready::recipe::Status;

use crate::workshop::Workshop;
use crate::workshop::read::{Margin, Recipe};
use crate::workshop::reading::{margin, refusals};
use crate::workshop::shapes::{blocks, d_outline, ring};

/// Across its flats and deep, mm.
const A: f64 = 9.0;
const DEEP: f64 = 14.0;
const COOL: &str = "  service { place indoors; air 10 °C .. 23 °C }
  pin material PETG because \"its strength is known\"
";
const FACES: &str = "  face \"tip\" toward +x
  face \"s1\" toward +x near (-4.5 mm, 0 mm, 7 mm)
  face \"s2\" toward -x near (4.5 mm, 0 mm, 7 mm)
  face \"s3\" toward +y near (0 mm, -4.5 mm, 7 mm)
  face \"s4\" toward -y near (0 mm, 4.5 mm, 7 mm)
  fit \"spindle\" bore square 9 mm along z
";

/// An arm with a square socket at one end and its tip 90 mm from that.
fn crank() -> String {
    let (x, y) = ([-15.0, -0.5 * A, 0.5 * A, 15.0, 90.0], [-12.0, -0.5 * A, 0.5 * A, 12.0]);
    blocks([&x, &y, &[0.0, DEEP]], |[i, j, _]| [i, j] != [1, 1], |p| p)
}

fn on(mesh: String, lines: &str) -> Recipe {
    let spec = format!("part \"trial\" {{\n  mesh \"trial.stl\" in mm\n{COOL}{lines}}}\n");
    Workshop::empty().with("trial.stl", mesh).with("trial.partspec", spec).recipe("trial.partspec")
}

fn mpa(margin: &Margin) -> f64 {
    margin.demand.trim_end_matches(" MPa").parse().unwrap_or_else(|_| panic!("{margin:?}"))
}

fn turned(lines: &str) -> f64 {
    let recipe = on(crank(), &format!("{FACES}{lines}"));
    let found = margin(&recipe, "bearing under \"turning\"");
    assert!(found.because.text.contains("most at its edge"), "{found:?}");
    mpa(found)
}

// A square that turns in its socket presses the edge of each flat with 3 T / (a² L): four wedges of p a L / 4, each at a lever
// of a / 3 (statics, by hand). The force itself adds F / (a L) on one flat.
#[test]
fn a_socket_held_by_its_square_is_pressed_at_the_edges_of_its_flats() {
    let load = |holds: &str| {
        format!("  load \"turning\" {{ force 20 N toward +y at face \"tip\"; {holds}; held 10 s; factor 1 }}\n")
    };
    let by_hand = 3.0 * 20.0 * 90.0 / (A * A * DEEP) + 20.0 / (A * DEEP);
    let fit = turned(&load("fixed at fit \"spindle\""));
    assert!((fit / by_hand - 1.0).abs() < 0.1, "{fit} {by_hand}");
    // Whoever writes its flats one by one means the same: nothing glues a socket to its square.
    let faces: Vec<String> = (1..5).map(|i| format!("fixed at face \"s{i}\"")).collect();
    let faces = turned(&load(&faces.join("; ")));
    assert!((faces - fit).abs() < 1e-9, "{faces} {fit}");
}

#[test]
fn a_torque_brought_in_by_a_square_presses_as_hard() {
    let by_hand = 3.0 * 1800.0 / (A * A * DEEP);
    let found = turned(
        "  load \"turning\" { torque 1.8 Nm about +z at fit \"spindle\"; fixed at face \"tip\"; held 10 s; factor 1 }\n",
    );
    assert!((found / by_hand - 1.0).abs() < 0.1, "{found} {by_hand}");
}

// A D-bore that its flat keeps from turning: the flat's half is pressed, and the round opposite pushes back.
#[test]
fn the_flat_of_a_bore_keeps_it_from_turning() {
    let lines =
        "  load \"turning\" { torque 0.3 Nm about +z at face \"rim\"; fixed at fit \"shaft\"; held 10 s; factor 1 }
  face \"rim\" round near (0 mm, 15 mm, 6 mm)
  fit \"shaft\" bore 10 mm +0.2 mm +0.0 mm flat 8 mm along z
";
    let recipe = on(ring(&d_outline(10.0, 8.0), 15.0, 12.0), lines);
    let found = margin(&recipe, "load \"turning\"");
    assert!(!found.because.text.contains("free to move"), "{found:?}");
    // By hand: the flat is 8 mm wide (2 sqrt(5² - 3²)). A shaft that turns presses a wedge w wide at its end, p w L / 2, and is
    // pressed against the round opposite with as much, by the same law: w² = (4 - w) 5 pi, w = 3.304 mm. The push back
    // passes through the axis, so p = T / (w L / 2 (4 - w / 3)).
    let pressed = mpa(margin(&recipe, "bearing under \"turning\""));
    let by_hand = 300.0 / (3.304 * 12.0 / 2.0 * (4.0 - 3.304 / 3.0));
    assert!((pressed / by_hand - 1.0).abs() < 0.05, "{pressed} {by_hand}");
}

// What breaks at its flat is told where, and how long the bore would have to be; drawn so, it holds.
#[test]
fn a_socket_too_short_is_told_how_long_and_that_holds() {
    let of = |high: f64| {
        let lines = format!(
            "  load \"turning\" {{ torque 3 Nm about +z at face \"rim\"; fixed at fit \"shaft\"; held 10 s; factor 1 }}
  face \"rim\" round near (0 mm, 15 mm, {} mm)
  fit \"shaft\" bore 10 mm +0.2 mm +0.0 mm flat 8 mm along z
  pin build-up solid because \"to compare\"
",
            0.5 * high
        );
        on(ring(&d_outline(10.0, 8.0), 15.0, high), &lines)
    };
    let told = refusals(&of(12.0));
    assert!(told.contains("presses harder at fit ") && told.contains("than PETG bears pressed"), "{told}");
    let times: f64 = {
        let from = told.split("what would hold: flats ").nth(1).unwrap_or_else(|| panic!("{told}"));
        from.split_whitespace().next().unwrap().parse().unwrap()
    };
    assert!(times > 1.1 && times < 4.0, "{told}");
    let longer = of(12.0 * times * 1.02);
    assert_ne!(longer.status, Status::NotPrintableAsSpecified, "{times}: {:#?}", longer.conflicts);
}

// However deep the flat of a D: the corners of its facets lie on the circle too.
#[test]
fn a_deep_flat_keeps_a_shaft_from_turning() {
    let lines =
        "  load \"turning\" { torque 0.1 Nm about +z at face \"rim\"; fixed at fit \"shaft\"; held 10 s; factor 1 }
  face \"rim\" round near (0 mm, 12 mm, 6 mm)
  fit \"shaft\" bore 6 mm H11 flat 4.5 mm along z
";
    let recipe = on(ring(&d_outline(6.0, 4.5), 12.0, 12.0), lines);
    let found = margin(&recipe, "load \"turning\"");
    assert!(!found.because.text.contains("free to move") && found.ratio.is_some(), "{found:?}");
    assert!(margin(&recipe, "bearing under \"turning\"").because.text.contains("one flat"), "{found:?}");
}

// A nut that is turned presses the corners of its pocket: six wedges p b L / 2 on half a flat, b, each at a lever of 2 b / 3 make
// T = 2 p b² L (statics, by hand).
#[test]
fn a_turned_nut_presses_the_corners_of_its_pocket() {
    const ACROSS: f64 = 10.2;
    const HIGH: f64 = 5.5;
    let side = ACROSS / 3.0_f64.sqrt();
    let corner = |i: usize| {
        let (sin, cos) = (60.0 * i as f64).to_radians().sin_cos();
        [side * cos, side * sin]
    };
    let step = |i: usize, t: usize| {
        let ([ax, ay], [bx, by]) = (corner(i), corner(i + 1));
        let t = t as f64 / 6.0;
        [ax + (bx - ax) * t, ay + (by - ay) * t]
    };
    let hole: Vec<[f64; 2]> = (0..6).flat_map(|i| (0..6).map(move |t| (i, t))).map(|(i, t)| step(i, t)).collect();
    let lines = "  load \"turning\" { torque 1 Nm about +z at face \"rim\"; fixed at fit \"nut\"; held 10 s; factor 1 }
  face \"rim\" round near (0 mm, -15 mm, 3 mm)
  fit \"nut\" nut M6 along z
";
    let recipe = on(ring(&hole, 15.0, HIGH), lines);
    let pressed = mpa(margin(&recipe, "bearing under \"turning\""));
    let by_hand = 1000.0 / (2.0 * (0.5 * side).powi(2) * HIGH);
    assert!((pressed / by_hand - 1.0).abs() < 0.05, "{pressed} {by_hand}");
}

// A key pushes one wall of its way, and the shaft pushes back from the bore: T over the lever to the middle of the wall, on the
// wall's height and length, in the mean (as keys are reckoned: DIN 6892, method C); the outer edge, farther from the axis, more.
#[test]
fn a_key_presses_the_wall_of_its_way() {
    let (wide, top, radius) = (3.0_f64, 12.8_f64, 10.0_f64);
    let from = 90.0 + (wide / radius).asin().to_degrees();
    let mut hole = crate::workshop::shapes::arc([0.0, 0.0], radius, from, from + 360.0 - 2.0 * (from - 90.0), 72);
    hole.extend([[wide, top], [-wide, top]]);
    let lines = "  load \"turning\" { torque 4 Nm about +z at fit \"key\"; fixed at face \"rim\"; held 10 s; factor 1 }
  face \"rim\" round near (0 mm, -25 mm, 7 mm)
  fit \"key\" keyway for shaft 20 mm at (0 mm, 11 mm, 7 mm)
";
    let recipe = on(ring(&hole, 25.0, 15.0), lines);
    let pressed = mpa(margin(&recipe, "bearing under \"turning\""));
    let foot = (radius * radius - wide * wide).sqrt();
    let mean = 4000.0 / (0.5 * (foot + top)) / ((top - foot) * 15.0);
    assert!((mean..1.3 * mean).contains(&pressed), "{pressed} {mean}");
}
