//! The hand sum beside the field: stress in parts whose way from hold to load turns corners or runs slantwise, against statics done by hand.

use crate::workshop::read::Recipe;

use crate::workshop::Workshop;
use crate::workshop::reading::margin;
use crate::workshop::shapes::prism;

/// A bracket: upright `tall` high, arm `long`, both `thick`.
fn bracket(tall: f64, long: f64, thick: f64, width: f64) -> String {
    let t = thick;
    let profile = [[0.0, 0.0], [t, 0.0], [long, 0.0], [long, t], [t, t], [t, tall], [0.0, tall], [0.0, t]];
    prism(&profile, &[[0, 1, 4], [0, 4, 7], [1, 2, 3], [1, 3, 4], [7, 4, 5], [7, 5, 6]], width, 0.0)
}

/// The hook of an upright of 4 x 60, an arm of 30 x 4 and a lip up to 18, 12 wide.
fn hook() -> String {
    let profile = [
        [0.0, 0.0],
        [4.0, 0.0],
        [26.0, 0.0],
        [30.0, 0.0],
        [30.0, 4.0],
        [30.0, 18.0],
        [26.0, 18.0],
        [26.0, 4.0],
        [4.0, 4.0],
        [4.0, 60.0],
        [0.0, 60.0],
        [0.0, 4.0],
    ];
    let quads = [[0, 1, 8, 11], [1, 2, 7, 8], [2, 3, 4, 7], [7, 4, 5, 6], [11, 8, 9, 10]];
    let ears: Vec<[usize; 3]> = quads.iter().flat_map(|&[a, b, c, d]| [[a, b, c], [a, c, d]]).collect();
    prism(&profile, &ears, 12.0, 0.0)
}

fn compile(mesh: &str, lines: &str) -> Recipe {
    let spec = format!(
        "part \"limb\" {{\n  mesh \"limb.stl\" in mm\n  service {{ place indoors; air 10 °C .. 23 °C }}\n{lines}\n}}\n"
    );
    Workshop::empty().with("limb.stl", mesh).with("limb.partspec", spec).recipe("limb.partspec")
}

/// The hand sum beside the field: the stress a load makes per newton on the section that is stressed most, MPa.
fn stress(mesh: &str, toward: &str, at: [f64; 3], fixed: &str) -> f64 {
    let [x, y, z] = at;
    let face = if fixed.starts_with("face") { "  face \"back\" toward -x\n" } else { "" };
    let recipe = compile(
        mesh,
        &format!(
            "{face}  load \"w\" {{ force 3 N toward {toward} at ({x} mm, {y} mm, {z} mm); fixed at {fixed}; held 10 s; factor 1 }}\n  pin material PETG because \"to compare\"\n  pin pose up +z because \"it lies flat\"\n  pin build-up solid because \"to compare\""
        ),
    );
    let found = margin(&recipe, "load \"w\"");
    let text = &found.because.text;
    let rest = text.split("by hand: a beam has ").nth(1).unwrap_or_else(|| panic!("{text}"));
    rest.split_whitespace().next().unwrap().parse::<f64>().unwrap() / 3.0
}

/// Statics (M/W + N/A; Gere, *Mechanics of Materials*, ch. 5, handbook). The arm: F (x - t) / W at its root. The upright, a
/// beam from the middle of the face it is held at: F (x - t/2) / W + F / A. What is said lies no lower than the worse of
/// the two, and at most 10 % above.
#[test]
fn hooks_and_brackets_are_stressed_as_statics_has_it() {
    let case = |name: &str, mesh: &str, fixed: &str, width: f64, thick: f64, x: f64| {
        let (w, a) = (width * thick * thick / 6.0, width * thick);
        let statics = f64::max((x - thick) / w, (x - thick / 2.0) / w + 1.0 / a);
        let said = stress(mesh, "-y", [x, thick, width / 2.0], fixed);
        assert!((0.99 * statics..1.1 * statics).contains(&said), "{name}, {fixed}, x {x}: {said} against {statics}");
    };
    for x in [15.0, 20.0, 25.0, 28.0] {
        case("hook", &hook(), "face \"back\"", 12.0, 4.0, x);
    }
    for x in [15.0, 20.0, 28.0] {
        case("bracket", &bracket(60.0, 30.0, 4.0, 12.0), "face \"back\"", 12.0, 4.0, x);
    }
    for y in [15, 25, 30, 35, 40, 45, 55] {
        let fixed = format!("(0 mm, {y} mm, 10 mm)");
        case("point", &bracket(60.0, 40.0, 4.0, 20.0), &fixed, 20.0, 4.0, 38.0);
    }
    for thick in [6.0, 8.0] {
        case("thick", &bracket(60.0, 40.0, thick, 20.0), "face \"back\"", 20.0, thick, 36.0);
    }
}

/// A load on the lip: the arm's lever is the same, and what hangs on the lip alone counts too.
#[test]
fn a_load_on_the_lip_is_borne_by_arm_and_upright() {
    let said = stress(&hook(), "-y", [28.0, 18.0, 6.0], "face \"back\"");
    let statics = 26.0 / 32.0 + 1.0 / 48.0;
    assert!((0.99 * statics..1.1 * statics).contains(&said), "{said} against {statics}");
    // Pulled outward at the lip's end: F y / W at the upright, y from the load to the middle of the hold or the arm.
    let said = stress(&hook(), "+x", [30.0, 18.0, 6.0], "face \"back\"");
    let statics = f64::max((18.0 - 2.0) / 32.0 + 1.0 / 48.0, 14.0 / 32.0);
    assert!((0.99 * statics..1.1 * statics).contains(&said), "{said} against {statics}");
}

/// A bar of 100 x 4 x 12 turned about z: the same stress as lying straight, F L / W + ... at its root.
#[test]
fn a_slanting_bar_is_cut_square_to_its_axis() {
    let profile = [[0.0, 0.0], [100.0, 0.0], [100.0, 4.0], [0.0, 4.0]];
    for turned in [0.0, 20.0, 35.0, 60.0] {
        let mesh = prism(&profile, &[[0, 1, 2], [0, 2, 3]], 12.0, turned);
        let (sin, cos) = f64::to_radians(turned).sin_cos();
        let place = |x: f64, y: f64| [x * cos - y * sin, x * sin + y * cos, 6.0];
        let [hx, hy, hz] = place(0.0, 2.0);
        // Once loaded on its side: the line from the hold then runs a little slantwise.
        for (x, y) in [(100.0, 2.0), (60.0, 4.0), (30.0, 2.0)] {
            let at = place(x, y);
            let said = stress(&mesh, "+z", at, &format!("({hx} mm, {hy} mm, {hz} mm)"));
            // Bent about the weak side of the width: W = 4 x 12² / 6; cuts begin 1/48 of the way from the hold.
            let statics = x / 96.0;
            assert!((0.97 * statics..1.1 * statics).contains(&said), "{turned}°, ({x}, {y}): {said} against {statics}");
        }
    }
}
