//! What the recipe says of a load, and `explain SPEC load "NAME"`: enough that a person can work it out again.

use serde_json::Value;

use crate::workshop::Workshop;
use crate::workshop::shapes::{block, plate_with_hole};

/// A bar of 100 x 10 x 20 mm held at one end, 10 N down at the other.
fn arm(more: &str) -> Workshop {
    let spec = format!(
        "part \"arm\" {{\n  mesh \"arm.stl\" in mm\n  service {{ place indoors; air 10 °C .. 23 °C }}\n  face \"back\" toward -x\n  face \"tip\" toward +x\n  load \"coat\" {{ force 10 N toward -z at face \"tip\"; fixed at face \"back\"; {more} }}\n  pin material PETG because \"to compare\"\n  pin pose up +y because \"it lies flat\"\n  pin build-up solid because \"to compare\"\n}}\n"
    );
    Workshop::empty().with("arm.stl", block([100.0, 10.0, 20.0])).with("arm.partspec", spec)
}

fn load_margin(recipe: &Value) -> &Value {
    let margins = recipe["margins"].as_array().unwrap();
    margins.iter().find(|m| m["kind"] == "load").unwrap_or_else(|| panic!("{recipe}"))
}

/// Tsai-Hill by the figures of the recipe alone (R. J. Crawford, *Plastics Engineering*, 3rd ed. 1998, p. 235, handbook).
fn worked_again(sums: &Value) -> f64 {
    let number = |v: &Value| v.as_f64().unwrap_or_else(|| panic!("{sums}"));
    let left = |of: &str| sums["left"].as_array().unwrap().iter().map(|l| number(&l[of]["low"])).product::<f64>();
    let strength = |of: &str| number(&sums["strength_mpa"][of]["low"]);
    let stress = |of: &str| number(&sums["stress_mpa"][of]) * number(&sums["factor"]);
    let (x, y, s) =
        (strength("along") * left("along"), strength("across") * left("across"), strength("between") * left("across"));
    let (s1, s2, t) = (stress("along"), stress("across"), stress("between"));
    let index = (s1 / x).powi(2) - s1 * s2 / (x * x) + (s2 / y).powi(2) + (t / s).powi(2);
    let plain = [s1 / x, s2 / y, t / s].into_iter().map(f64::abs).fold(0.0, f64::max);
    number(&sums["skin"]) / number(&sums["grids"]) / index.sqrt().max(plain)
}

#[test]
fn a_load_can_be_worked_out_again_from_the_recipe() {
    for more in ["held 2 years", "shock", "cyclic 1e4 times", "held 10 s; factor 3; temperature 50 °C"] {
        let recipe = arm(more).json("arm.partspec");
        let m = load_margin(&recipe);
        let (again, told) = (worked_again(&m["sums"]), m["ratio"].as_f64().unwrap());
        assert!((again / told - 1.0).abs() < 1e-3, "{more}: {again} by the figures, {told} told: {m}");
    }
}

#[test]
fn a_load_says_where_it_breaks_first_by_what_the_spec_calls_it_and_what_governs() {
    let recipe = arm("held 2 years").json("arm.partspec");
    let m = load_margin(&recipe);
    let sums = &m["sums"];
    assert!(sums["near"].as_str().unwrap().ends_with("face \"back\""), "{sums}");
    assert_eq!(sums["governs"], "along");
    assert_eq!(sums["held_at"][0], "face \"back\"");
    assert_eq!(sums["grid"]["settled"], true);
    let text = m["because"]["text"].as_str().unwrap();
    assert!(text.starts_with("tension along the layers governs, at ("), "{text}");
}

// As the deflection of a spec that limits it is computed; tests/bearing.rs holds that against F L³ / (3 E I).
#[test]
fn a_deflection_that_nobody_limited_is_told_beside_a_usual_one() {
    let text = load_margin(&arm("held 10 s").json("arm.partspec"))["because"]["text"].as_str().unwrap().to_owned();
    let mm = number_after(&text, "it moves ");
    assert!(text.contains("within the usual 0.67 mm, for what is 100 mm from its hold"), "{text}");
    let limited =
        arm("held 10 s").change("arm.partspec", "  pin material", "  deflection at most 5 mm\n  pin material");
    let recipe = limited.json("arm.partspec");
    assert!(!load_margin(&recipe)["because"]["text"].as_str().unwrap().contains("nobody limited"));
    let margins = recipe["margins"].as_array().unwrap();
    let deflection = margins.iter().find(|m| m["kind"] == "deflection").unwrap();
    let computed = deflection["demand"]["value"].as_f64().unwrap();
    assert!((mm / computed - 1.0).abs() < 0.02, "{mm} told, {deflection}");
}

fn number_after(text: &str, word: &str) -> f64 {
    let rest = text.split(word).nth(1).unwrap_or_else(|| panic!("no `{word}` in {text}"));
    rest.split_whitespace().next().unwrap().trim_end_matches(',').parse().unwrap_or_else(|_| panic!("{rest}"))
}

// F L = 1000 N mm, A = 200 mm², I = 10 x 20³ / 12 = 6667 mm⁴ (Gere, *Mechanics of Materials*, ch. 5, handbook).
#[test]
fn the_hand_sum_of_a_load_stands_beside_the_fields_answer() {
    let done = arm("held 2 years").run(&["explain", "arm.partspec", "load", "coat"]);
    let text = &done.stdout;
    for said in ["10 N x 100 mm", "1000 N mm", "200 mm2", "6667", "By hand", "What is borne", "face \"back\""] {
        assert!(text.contains(said), "`{said}`: {text}\n{}", done.stderr);
    }
    // At the worst place, which is a little off the hold, a beam has as much as the field.
    let ratio = number_after(text, "  ratio       ");
    assert!((0.8..1.2).contains(&ratio), "{text}");
    assert!(number_after(text, "  left over   ") < 0.1, "{text}");
    // (10 N x 100 mm) c / I at the hold is 1.5 MPa.
    let bending = number_after(text, "M c/I ");
    assert!((1.2..1.5).contains(&bending), "{text}");
    assert!(text.contains("load \"coat\": "), "the margin itself stands below: {text}");
}

#[test]
fn a_load_that_breaks_is_explained_for_the_nearest_choice() {
    let heavy = arm("held 2 years").change("arm.partspec", "10 N", "300 N");
    let done = heavy.run(&["explain", "arm.partspec", "load", "coat"]);
    let text = done.stdout.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("the nearest there is to what was asked"), "{text}{}", done.stderr);
    assert!(text.contains("300 N x 100 mm"), "{text}");
}

#[test]
fn a_load_that_is_not_there_is_told_with_those_that_are() {
    let done = arm("held 2 years").run(&["explain", "arm.partspec", "load", "coal"]);
    assert!(
        done.stderr.contains("no load \"coal\"") && done.stderr.contains("did you mean \"coat\"?"),
        "{}",
        done.stderr
    );
}

#[test]
fn what_hangs_on_the_infill_is_said_to_be_at_best() {
    let filled = arm("held 2 years; factor 3").change("arm.partspec", "10 N", "100 N");
    let filled = filled.change(
        "arm.partspec",
        "pin build-up solid because \"to compare\"",
        "pin infill 20 % because \"to compare\"",
    );
    let page = filled.run(&["compile", "arm.partspec", "--print", "md"]).stdout;
    let page = page.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(page.contains("bears at best ") && page.contains("taken in its favour"), "{page}");
}

#[test]
fn the_load_that_comes_nearest_to_breaking_a_part_is_drawn() {
    let made = arm("held 2 years");
    let done = made.run(&["compile", "arm.partspec"]);
    let drawn = made.read("arm.recipe.svg");
    let (title, _) = drawn.split_once("</title>").unwrap_or_else(|| panic!("{drawn}{}", done.stderr));
    // It turns the bar about y: so it is seen.
    assert!(title.contains("load &quot;coat&quot;, seen along y: pulled or pressed along the layers"), "{title}");
    assert!(title.contains("dashed: how it moves, "), "{title}");
    for said in ["class=\"q5\"", "class=\"m\"", "fails first here", "held: face"] {
        assert!(drawn.contains(said), "{said}: {drawn}");
    }
    // Darkest at the hold, white at the middle fibre: the fifth shade is drawn at the left end of the bar alone.
    let dark = drawn.lines().find(|l| l.contains("class=\"q5\"")).unwrap();
    let light = drawn.lines().find(|l| l.contains("class=\"q1\"")).unwrap();
    let rightmost = |line: &str| {
        let path = line.split("d=\"").nth(1).unwrap().split('"').next().unwrap();
        path.split('M').skip(1).map(|m| m.split(' ').next().unwrap().parse::<f64>().unwrap()).fold(0.0, f64::max)
    };
    assert!(rightmost(dark) < rightmost(light) - 30.0, "{dark}\n{light}");
    assert!(drawn.len() < 40_000, "{} bytes", drawn.len());
}

// A place on the rim of a wheel may lie in the hole of its set screw: a pull there is a pull in that hole.
#[test]
fn a_load_at_a_place_in_a_hole_says_that_it_acts_in_the_hole() {
    let spec = "part \"plate\" {\n  mesh \"plate.stl\" in mm\n  service { place indoors; air 10 °C .. 23 °C }\n  face \"edge\" toward -x\n  load \"rope\" { force 5 N toward +z at (HOLE); fixed at face \"edge\"; held 1 day }\n}\n";
    let mesh = plate_with_hole(6.0);
    let corners: Vec<[f64; 3]> = mesh
        .lines()
        .filter_map(|l| l.trim().strip_prefix("vertex "))
        .map(|l| l.split_whitespace().map(|x| x.parse().unwrap()).collect::<Vec<f64>>().try_into().unwrap())
        .collect();
    // The hole is in the middle of the plate.
    let ends = |k: usize| corners.iter().map(|c| c[k]).fold((f64::MAX, f64::MIN), |(a, b), x| (a.min(x), b.max(x)));
    let middle = [0, 1, 2].map(|k| 0.5 * (ends(k).0 + ends(k).1)).map(|x| format!("{x} mm")).join(", ");
    let made = Workshop::empty().with("plate.stl", &mesh).with("plate.partspec", spec.replace("HOLE", &middle));
    let recipe = made.json("plate.partspec").to_string();
    assert!(recipe.contains("acts in the hole 6 mm across that the place given lies in"), "{recipe}");
}

#[test]
fn cycles_that_nobody_tested_are_said_to_be_carried_on() {
    let text = |times: &str| {
        arm(&format!("cyclic {times} times; factor 1"))
            .change("arm.partspec", "10 N", "1 N")
            .json("arm.partspec")
            .to_string()
    };
    let (many, few) = (text("1e8"), text("1e5"));
    assert!(many.contains("after 100000000 cycles, the line of tests up to 2000000 carried on"), "{many}");
    assert!(!few.contains("carried on"), "{few}");
}
