//! What sits between flats only pushes: sockets, D-bores and keys that a torque turns, against sums by hand.

use crate::workshop::Workshop;
use crate::workshop::read::{Margin, Recipe};
use crate::workshop::reading::margin;
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
