//! Fits from the outside: what is found in the mesh, coupons, calibration, assemblies, the examples.

use std::collections::BTreeMap;
use std::io::Read as _;

use makeready::fits::calibration::{Judging, Measurement, fit_records};
use makeready::fits::feature::{FeatureAxis, FeatureKind};
use makeready::geometry::features;
use makeready::geometry::read::read;
use makeready::geometry::survey::Prepared;
use makeready::quantity::Length;
use serde_json::Value;

use crate::workshop::shapes::{self, plate};
use crate::workshop::{Workshop, root};

fn fit<'a>(recipe: &'a Value, name: &str) -> &'a Value {
    let all = recipe["allowances"].as_array().unwrap();
    all.iter().find(|a| a["fit"] == name).unwrap_or_else(|| panic!("no fit {name}"))
}

fn text<'a>(value: &'a Value, key: &str) -> &'a str {
    value[key].as_str().unwrap()
}

/// A size or its limits as a person writes them; what has no size is told so.
fn size(value: &Value, key: &str) -> String {
    let number = |of: &str| value[key][of].as_f64().map(|n| n.to_string());
    let unit = value[key]["unit"].as_str().unwrap_or("");
    match (number("value"), number("low"), number("high")) {
        (Some(value), ..) => format!("{value} {unit}"),
        (None, Some(low), Some(high)) => format!("{low} to {high} {unit}"),
        _ => "none".to_owned(),
    }
}

/// The features of the mesh that are a fit's, how many they are before them.
fn found(line: &Value) -> String {
    let all: Vec<&str> = line["found"].as_array().unwrap().iter().map(|f| f.as_str().unwrap()).collect();
    format!("{} of them: {}", all.len(), all.join("; "))
}

/// A length in mm.
fn mm(value: &Value, key: &str) -> f64 {
    assert_eq!(value[key]["unit"], "mm");
    value[key]["value"].as_f64().unwrap()
}

/// A plate with holes of these sizes, and these lines in its spec.
fn job(sizes: &[f64], fits: &str) -> Workshop {
    let spec = format!("part \"plate\" {{\n  mesh \"plate.3mf\"\n{fits}\n}}\n");
    Workshop::empty().with("plate.3mf", plate(FeatureKind::Hole, sizes)).with("plate.partspec", spec)
}

#[test]
fn four_holes_are_found_and_named() {
    let home = job(&[5.5, 5.5, 5.5, 5.5, 8.0], "  fit \"wall\" clearance M5 medium count 4");
    let recipe = home.json("plate.partspec");
    let function = found(fit(&recipe, "wall"));
    assert!(function.contains("4 of them: hole 1 (d 5.5 mm at"), "{function}");
    assert!(function.contains("hole 4 (d 5.5 mm at") && !function.contains("hole 5"), "{function}");
}

#[test]
fn too_few_too_many_wrong_and_contested_holes_are_told_at_their_line() {
    let told = |sizes: &[f64], fits: &str| {
        let home = job(sizes, fits);
        let out = home.run(&["compile", "plate.partspec"]);
        assert_eq!(out.code, 1, "{}", out.stderr);
        assert!(!home.path("plate.recipe.md").exists(), "a spec with errors writes nothing");
        out.stderr
    };
    let few = told(&[5.5, 5.5, 5.5, 5.8], "  fit \"wall\" clearance M5 medium count 5");
    assert!(
        few.contains("fit/not-on-mesh") && few.contains("expected 5 x hole of 5.5 mm") && few.contains("found 4"),
        "{few}"
    );
    assert!(few.contains("plate.partspec:3:"), "{few}");
    let many = told(&[5.5, 5.5, 5.5], "  fit \"wall\" clearance M5 medium count 2");
    assert!(many.contains("found 3: hole 1 (d 5.5 mm, at") && many.contains("state `count 3`"), "{many}");
    let wrong = told(&[6.6, 6.6], "  fit \"wall\" clearance M5 medium count 2");
    assert!(
        wrong.contains("found 0") && wrong.contains("near ones of another size or axis: hole 1 (d 6.6 mm"),
        "{wrong}"
    );
    let two = told(&[5.5], "  fit \"wall\" clearance M5 medium\n  fit \"pin\" bore 5.5 mm H9");
    assert!(two.contains("claimed by fit `wall` and fit `pin`"), "{two}");
    assert_eq!(two.matches("error[").count(), 1, "one mistake is told once: {two}");
    assert!(two.contains("this one") && two.contains("and this one"), "at both places: {two}");
    let axis = told(&[5.5, 5.5], "  fit \"wall\" clearance M5 medium count 2 along x");
    assert!(axis.contains("found 0"), "{axis}");
    let place = told(&[5.5, 5.5], "  fit \"wall\" clearance M5 medium at (200 mm, 0 mm, 0 mm)");
    assert!(place.contains("no hole for fit \"wall\" at 200, 0, 0"), "{place}");
}

#[test]
fn a_point_tells_holes_apart_and_a_fit_without_count_takes_all() {
    // The cells of the plate are 15 mm wide or so: the second hole lies between 15 and 30 mm along x.
    let home = job(&[5.5, 5.5, 5.5], "  fit \"all\" clearance M5 medium");
    let all = home.json("plate.partspec");
    assert!(found(fit(&all, "all")).contains("3 of them"));
    let assumed =
        all["assumptions"].as_array().unwrap().iter().any(|a| text(a, "text").contains("count is not stated"));
    assert!(assumed);
    let function = found(fit(&all, "all"));
    let at = function.split("hole 2 (d 5.5 mm at ").nth(1).unwrap().split(')').next().unwrap();
    let point: Vec<String> = at.split(", ").map(|c| format!("{c} mm")).collect();
    let spec = format!(
        "part \"plate\" {{\n  mesh \"plate.3mf\"\n  fit \"one\" clearance M5 medium at ({})\n}}\n",
        point.join(", ")
    );
    home.write("plate.partspec", spec);
    let one = home.json("plate.partspec");
    assert!(found(fit(&one, "one")).ends_with(&format!(": hole 2 (d 5.5 mm at {at})")));
}

/// Limits against the published tables: ISO 286-1 H7 at 22 mm +21/0 µm and at 6 mm +12/0, H9 at 8 mm +36/0; ISO 273 medium
/// holes M4 4.5 mm and M5 5.5 mm.
#[test]
fn the_examples_read_right_to_a_fitter() {
    let home = Workshop::hut();
    let block = home.json("spindle-block/spindle-block.partspec");
    let (bearing, dowels, bolts) = (fit(&block, "bearing"), fit(&block, "dowels"), fit(&block, "bolts"));
    assert_eq!(size(bearing, "target"), "22 to 22.021 mm");
    assert!(found(bearing).contains("hole 6 (d 22 mm at 30, 16.5, 22)"));
    assert!(text(bearing, "route").contains("bond the mate in, or split the seat and clamp it"));
    assert_eq!(size(dowels, "target"), "6 to 6.012 mm");
    assert!(text(dowels, "route").contains("ream 6 mm") && mm(dowels, "model_size") < 6.0);
    assert_eq!(size(bolts, "nominal"), "4.5 mm");
    let bracket = home.json("vane-bracket/vane-bracket.partspec");
    assert_eq!(size(fit(&bracket, "wall"), "nominal"), "5.5 mm");
    assert_eq!(size(fit(&bracket, "pivot"), "target"), "8 to 8.036 mm");
    let cover = fit(&bracket, "cover");
    assert_eq!(size(cover, "nominal"), "4 mm", "the shop's own insert");
    assert!(text(cover, "route").contains("set the insert hot"));
    let form = bracket["checklist"].as_array().unwrap().iter().find(|p| p["phase"] == "first-article").unwrap();
    assert!(
        form["steps"].as_array().unwrap().iter().any(|s| text(s, "text").contains("\"wall\"")),
        "two pieces: the first is checked whole"
    );
    let phases: Vec<&str> = bracket["checklist"].as_array().unwrap().iter().map(|p| text(p, "phase")).collect();
    let place = |phase: &str| phases.iter().position(|p| *p == phase).unwrap();
    assert!(place("removal") < place("first-article") && place("first-article") < place("finish"), "{phases:?}");
}

/// A gauge pin in a hole with ribs meets the ribs' tips (8.016 mm less what it prints smaller), not the room between them
/// (8.05 mm at the least): it would refuse every good piece.
#[test]
fn a_hole_with_ribs_is_measured_between_them() {
    let home = Workshop::hut();
    let fork = home.json("pulley-fork/pulley-fork.partspec");
    let steps: Vec<&str> = fork["checklist"]
        .as_array()
        .unwrap()
        .iter()
        .flat_map(|p| p["steps"].as_array().unwrap())
        .map(|s| text(s, "text"))
        .collect();
    let place = |start: &str| steps.iter().position(|s| s.starts_with(start)).unwrap_or_else(|| panic!("{start}"));
    let pin = steps[place("Measure \"pin\"")];
    assert!(pin.contains("between the ribs") && !pin.contains("largest that enters"), "{pin}");
    // Of five pieces there is no tenth.
    assert!(pin.contains("the first and the last piece"), "{pin}");
    assert!(place("Drill, sand and cut PA12-CF wet") < place("Press the mate of \"pin\""));
}

/// The sum by hand: printed = modelled + offset, so 0.10 mm more shrinkage of holes is 0.10 mm more in the model.
#[test]
fn the_allowance_follows_the_record() {
    let home = Workshop::hut();
    let spec = "spindle-block/spindle-block.partspec";
    let before = mm(fit(&home.json(spec), "bolts"), "model_size");
    let text_before = home.read("shop.yaml");
    assert!(text_before.contains("offset: -0.24 mm"));
    home.write("shop.yaml", text_before.replace("offset: -0.24 mm", "offset: -0.34 mm"));
    let after = home.json(spec);
    let bolts = fit(&after, "bolts");
    assert!((mm(bolts, "model_size") - before - 0.1).abs() < 2e-3, "{before} {}", size(bolts, "model_size"));
    assert!(
        text(&bolts["printer_effect"], "from").contains("shop record: Loft with brass-06, PETG, hole along-layers")
    );
}

/// A mesh that already holds the allowance must not get it again.
#[test]
fn an_allowance_given_twice_is_detected() {
    let home = job(&[5.5], "  fit \"wall\" clearance M5 medium count 1");
    let model = mm(fit(&home.json("plate.partspec"), "wall"), "model_size");
    let home = job(&[model], "  fit \"wall\" clearance M5 medium count 1 allowance in recipe");
    let twice = home.json("plate.partspec");
    let why = text(&fit(&twice, "wall")["because"], "text").to_owned();
    assert!(why.contains("already carries the allowance") && why.contains("add it again"), "{why}");
    let asked = twice["assumptions"].as_array().unwrap().iter().any(|a| text(a, "text").contains("add it again"));
    assert!(asked && twice["status"] != "ready", "{}", twice["status"]);
}

fn steps(recipe: &Value) -> Vec<String> {
    let phases = recipe["checklist"].as_array().unwrap();
    let steps = phases.iter().flat_map(|p| p["steps"].as_array().unwrap());
    steps.map(|s| text(s, "text").to_owned()).collect()
}

/// What the checklist says to draw, drawn: the recipe then has nothing more to say about the model.
#[test]
fn a_model_drawn_as_the_checklist_says_needs_no_change() {
    let fits = "  service { place indoors; air 5 °C .. 30 °C }\n  fit \"wall\" clearance M5 medium count 1\n  \
                fit \"pins\" dowel 4 mm count 1\n  fit \"seat\" bearing 608 count 1\n  fit \"lid\" thread M10 count 1";
    let nominal = [5.5, 4.0, 22.0, 8.5];
    let home = job(&nominal, fits);
    let first = home.json("plate.partspec");
    let drawn: Vec<f64> = ["wall", "pins", "seat", "lid"].iter().map(|f| mm(fit(&first, f), "model_size")).collect();
    let of_model = |recipe: &Value| {
        let all = steps(recipe);
        (
            all.iter().filter(|s| s.starts_with("In the CAD model set")).count(),
            all.iter().any(|s| s.starts_with("Export")),
        )
    };
    assert_eq!(of_model(&first), (4, true), "{drawn:?}");
    home.write("plate.3mf", plate(FeatureKind::Hole, &drawn));
    let again = home.json("plate.partspec");
    assert_eq!(of_model(&again), (0, false), "{drawn:?}: {:#?}", steps(&again));
    let why = text(&fit(&again, "seat")["because"], "text").to_owned();
    assert!(why.contains("already carries the allowance"), "{why}");
}

/// Each route has its own step, and no fit has two checks of the finished feature.
#[test]
fn every_route_has_its_step_and_every_fit_one_check() {
    let home = Workshop::hut();
    let block = steps(&home.json("spindle-block/spindle-block.partspec"));
    let bracket = steps(&home.json("vane-bracket/vane-bracket.partspec"));
    let fork = steps(&home.json("pulley-fork/pulley-fork.partspec"));
    let has = |steps: &[String], start: &str| steps.iter().filter(|s| s.starts_with(start)).count();
    assert_eq!(has(&block, "Bond the mate of \"bearing\""), 1);
    assert_eq!(has(&block, "Ream \"dowels\" (dowel 6 mm, 2 in all) by hand with 6 mm H7"), 1);
    assert_eq!(has(&block, "Measure \"bearing\" (bearing 608):"), 0, "a bonded seat is not gauged as H7");
    assert_eq!(has(&block, "Try \"bearing\""), 1);
    assert_eq!(has(&bracket, "Drill \"cover\" (insert M3, 2 in all) with 4 mm"), 1);
    assert_eq!(has(&bracket, "Set the M3 inserts of \"cover\", 2 in all"), 1);
    assert_eq!(has(&bracket, "Measure \"cover\" (insert M3) as printed"), 1);
    assert_eq!(has(&bracket, "Measure \"cover\" (insert M3):"), 0, "after setting, a screw judges it");
    assert_eq!(has(&fork, "Press the mate of \"pin\""), 1);
    assert_eq!(has(&fork, "Drill \"bolts\""), 0, "a screw has only to pass");
    assert_eq!(has(&fork, "\"bolts\" (clearance") + has(&fork, "Measure \"bolts\""), 1);
    for steps in [&block, &bracket, &fork] {
        let at = |start: &str| steps.iter().position(|s| s.starts_with(start)).unwrap_or_else(|| panic!("{start}"));
        let order = ["In the CAD", "Export", "Enter every line", "Start ", "Stay for", "Let the bed"];
        let places: Vec<usize> = order.iter().map(|s| at(s)).collect();
        assert!(places.is_sorted(), "{places:?}");
    }
}

#[test]
fn a_coupon_reads_back_with_the_right_holes() {
    let home = Workshop::hut();
    let out = home.run(&["coupon", "spindle-block/spindle-block.partspec", "--out", "try"]);
    assert_eq!(out.code, 0, "{}", out.stderr);
    let page = home.read("try/spindle-block.coupon.recipe.md");
    let bytes = std::fs::read(home.path("try/spindle-block.coupon.3mf")).unwrap();
    let back = read(&bytes, "c.3mf", None).unwrap();
    assert!(page.contains("Print all of it in one go") && !page.contains("CAD model"), "{page}");
    let names: Vec<&str> = back.objects.iter().map(|o| o.name.as_str()).collect();
    assert_eq!(names, ["coupon bearing", "coupon bolts", "coupon dowels"]);
    for object in &back.objects {
        let name = object.name.trim_start_matches("coupon ");
        let stated = stated_sizes(&page, name);
        let prepared = Prepared::new(&object.mesh);
        let found = features::find(&object.mesh, &prepared.table, prepared.twins(), prepared.rays());
        let sizes: Vec<f64> = found.holes.iter().map(|h| h.diameter_mm).collect();
        // A large seat is tried in fewer steps.
        let steps = if name == "bearing" { 5 } else { 7 };
        assert_eq!(sizes.len(), steps, "{name}");
        for (hole, stated) in found.holes.iter().zip(&stated) {
            assert!((hole.diameter_mm - stated).abs() < 1e-3, "{name}: {sizes:?} {stated}");
            // The bearing's seat stands upright in the part's pose, the other holes lie.
            assert_eq!(hole.axis[2].abs() > 0.9, name == "bearing", "{name}");
        }
        // The same without our reader or our search for features.
        let by_hand = diameters_by_hand(&bytes, &object.name, name == "bearing", steps as f64);
        assert_eq!(by_hand.len(), stated.len());
        for (d, stated) in by_hand.iter().zip(&stated) {
            assert!((d - stated).abs() < 1e-6, "{name}: {by_hand:?}");
        }
    }
    for part in ["PETG", "Loft", "brass-06", "a scrapped part", "EUR", "hole,4.65,along-layers,,PETG,Loft,brass-06,,"] {
        assert!(page.contains(part), "{part}\n{page}");
    }
}

#[test]
fn a_coupon_without_a_currency_says_so() {
    let home = Workshop::hut();
    let text = home.read("shop.yaml");
    let without: Vec<&str> = text.lines().filter(|l| !l.trim_start().starts_with("currency:")).collect();
    assert!(without.len() < text.lines().count());
    home.write("shop.yaml", without.join("\n") + "\n");
    let out = home.run(&["coupon", "spindle-block/spindle-block.partspec", "--out", "try"]);
    assert_eq!(out.code, 0, "{}", out.stderr);
    let page = home.read("try/spindle-block.coupon.recipe.md");
    let told = out.stdout.clone() + &out.stderr + &page;
    assert!(told.contains("(no currency stated)") && !told.contains("money"), "{told}");
}

/// The sizes of a row of the coupon's table.
fn stated_sizes(page: &str, fit: &str) -> Vec<f64> {
    let row = page.lines().find(|l| l.starts_with(&format!("| {fit} |"))).unwrap();
    row.split('|').nth(3).unwrap().split(',').map(|s| s.trim().parse().unwrap()).collect()
}

/// Hole diameters straight from the package's XML: the plate's own corners lie on whole millimetres, so whatever does not
/// is a corner of a hole; two opposite corners of an even-sided hole lie a diameter apart.
fn diameters_by_hand(package: &[u8], object: &str, upright: bool, steps: f64) -> Vec<f64> {
    let mut archive = zip::ZipArchive::new(std::io::Cursor::new(package)).unwrap();
    let mut xml = String::new();
    archive.by_name("3D/3dmodel.model").unwrap().read_to_string(&mut xml).unwrap();
    let body = xml.split(&format!("name=\"{object}\"")).nth(1).unwrap().split("</object>").next().unwrap();
    let value = |line: &str, key: &str| -> f64 {
        line.split(&format!(" {key}=\"")).nth(1).unwrap().split('"').next().unwrap().parse().unwrap()
    };
    let other = if upright { "y" } else { "z" };
    let points: Vec<[f64; 2]> =
        body.lines().filter(|l| l.starts_with("<vertex ")).map(|l| [value(l, "x"), value(l, other)]).collect();
    let width = points.iter().map(|p| p[0]).fold(0.0, f64::max);
    let cell = width / steps;
    let whole = |v: f64| (v - v.round()).abs() < 1e-9;
    let mut cells: BTreeMap<usize, Vec<[f64; 2]>> = BTreeMap::new();
    for p in points.iter().filter(|p| !(whole(p[0]) && whole(p[1]))) {
        cells.entry((p[0] / cell) as usize).or_default().push(*p);
    }
    let apart = |a: [f64; 2], b: [f64; 2]| (a[0] - b[0]).hypot(a[1] - b[1]);
    let widest = |c: &Vec<[f64; 2]>| c.iter().flat_map(|a| c.iter().map(move |b| apart(*a, *b))).fold(0.0, f64::max);
    cells.values().map(widest).collect()
}

/// Normal deviates from a linear congruential generator (constants of Knuth's MMIX) by the sum of twelve.
struct Deviates(u64);

impl Deviates {
    fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }

    fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.uniform()).sum::<f64>() - 6.0
    }
}

fn measured(seed: u64, count: usize) -> Vec<(f64, f64)> {
    let mut deviates = Deviates(seed);
    let sizes = [3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 16.0, 20.0, 24.0];
    sizes.iter().cycle().take(count).map(|d| (*d, 0.990 * d - 0.21 + 0.02 * deviates.normal())).collect()
}

/// Theory: the true value lies within one standard error in 68 of 100 samples, within two in 95.
#[test]
fn the_standard_errors_mean_what_they_say() {
    let (mut one, mut two) = ([0, 0], [0, 0]);
    for seed in 1..=300 {
        let rows: Vec<Measurement> = measured(seed * 7919, 40)
            .into_iter()
            .enumerate()
            .map(|(i, (nominal, size))| Measurement {
                line: i + 2,
                what: FeatureKind::Hole,
                axis: FeatureAxis::AcrossLayers,
                nominal: Length::mm(nominal),
                measured: Length::mm(size),
                printer: "Bench".to_owned(),
                nozzle: "brass-04".to_owned(),
                material: "PLA".to_owned(),
                date: "2026-11-20".to_owned(),
                gauge: String::new(),
            })
            .collect();
        let by = Judging { few: 5, sizes_apart: 1.5, scale_errors: 2.0, far_out_score: 6.0 };
        let line = fit_records(&rows, by)[0].line.unwrap();
        let off = [(line.slope - 0.990) / line.slope_error, (line.intercept + 0.21) / line.intercept_error];
        for (k, z) in off.into_iter().enumerate() {
            one[k] += i32::from(z.abs() < 1.0);
            two[k] += i32::from(z.abs() < 2.0);
        }
    }
    for k in 0..2 {
        assert!((180..=228).contains(&one[k]), "of 300 within one: {one:?}");
        assert!((272..=298).contains(&two[k]), "of 300 within two: {two:?}");
    }
}

fn table(seed: u64) -> String {
    let mut csv = "feature,nominal,axis,measured,material,printer,nozzle,date,gauge\n".to_owned();
    for (nominal, size) in measured(seed, 40) {
        csv.push_str(&format!("hole,{nominal},along-layers,{size:.4},PETG,Loft,brass-06,2026-11-24,pins\n"));
    }
    csv
}

#[test]
fn calibrate_recovers_offset_and_scale_and_leaves_the_rest_alone() {
    let home = Workshop::hut();
    let before = home.read("shop.yaml").replace("on: 2026-11-05 }", "on: 2026-11-05 }  # by the window");
    home.write("shop.yaml", &before);
    home.write("measured.csv", table(2026));
    // Two specs are enough to see which change.
    for other in ["coat-hook", "coolant-elbow", "door-bumper", "peg-tags", "pulley-fork"] {
        std::fs::remove_dir_all(home.path(other)).unwrap();
    }

    let dry = home.run(&["calibrate", "measured.csv", "--dry-run"]);
    assert_eq!(dry.code, 0, "{}", dry.stderr);
    assert_eq!(home.read("shop.yaml"), before);
    assert!(dry.stdout.contains("spindle-block: fit \"bolts\""), "{}", dry.stdout);

    let out = home.run(&["calibrate", "measured.csv", "--print", "json"]);
    assert_eq!(out.code, 0, "{}", out.stderr);
    let told = out.json();
    let line = &told["records"][0]["line"];
    let number = |key: &str| line[key].as_f64().unwrap();
    assert!((number("scale") - 0.990).abs() < 2.0 * number("scale_error"), "{line}");
    assert!((number("offset_mm") + 0.21).abs() < 2.0 * number("offset_error_mm"), "{line}");
    assert!(number("scale_error") < 1e-3 && number("offset_error_mm") < 0.01);
    assert_eq!(told["written"], true);
    let changed: Vec<&str> = told["recipes"].as_array().unwrap().iter().map(|r| text(r, "what")).collect();
    assert!(changed.contains(&"fit \"bolts\"") && changed.contains(&"fit \"dowels\""), "{changed:?}");

    // One line differs, and its comment is still there.
    let after = home.read("shop.yaml");
    let differing: Vec<(&str, &str)> = before.lines().zip(after.lines()).filter(|(a, b)| a != b).collect();
    assert_eq!((differing.len(), before.lines().count()), (1, after.lines().count()));
    assert!(
        differing[0].1.contains("what: hole, axis: along-layers") && differing[0].1.ends_with("}  # by the window")
    );

    // The recipe takes the record at once, and cites it; a second run has nothing to do.
    let recipe = home.json("spindle-block/spindle-block.partspec");
    let from = text(&fit(&recipe, "bolts")["printer_effect"], "from").to_owned();
    assert!(from.contains("40 pieces of ") && from.contains("mm, 2026-11-24"), "{from}");
    let again = home.run(&["calibrate", "measured.csv"]);
    assert!(again.stdout.contains("unchanged") && again.stdout.contains("No recipe of the project changes"));
    assert_eq!(home.read("shop.yaml"), after);
}

#[test]
fn a_table_that_cannot_be_used_is_told_by_line() {
    let home = Workshop::hut();
    let told = |csv: &str| {
        home.write("m.csv", csv);
        let out = home.run(&["calibrate", "m.csv"]);
        assert_eq!(out.code, 1);
        out.stderr
    };
    let head = "feature,nominal,axis,measured,material,printer,nozzle,date,gauge\n";
    let before = home.read("shop.yaml");
    let unknown = told(&format!("{head}hole,5,along-layers,4.8,PETG,Lof,brass-06,2026-11-24,\n"));
    assert!(unknown.contains("m.csv:2:1") && unknown.contains("did you mean `Loft`?"), "{unknown}");
    let several = told(&format!("{head}hole,5,along-layers,4.8,PETG,,brass-06,2026-11-24,\n"));
    assert!(several.contains("the workshop has several"), "{several}");
    let undated = told(&format!("{head}hole,5,along-layers,4.8,PETG,Loft,brass-06,,\n"));
    assert!(undated.contains("the day it was measured"), "{undated}");
    let cell = told(&format!("{head}hole,5,sideways,4.8,PETG,Loft,brass-06,2026-11-24,\n"));
    assert!(cell.contains("`sideways` is no axis"), "{cell}");
    assert!(told("").contains("the table is empty"));
    assert_eq!(home.read("shop.yaml"), before);
    assert_eq!(home.run(&["calibrate", "no-such.csv"]).code, 2);
}

/// By hand: sliding 12 mm wants 0.05 to 0.35 mm on the diameter, so its middle 0.20 mm is shared: the bore aims at 12.10 mm,
/// the peg at 11.90 mm.
#[test]
fn a_printed_pair_shares_one_clearance() {
    let home = Workshop::empty();
    home.write("case.3mf", plate(FeatureKind::Hole, &[12.0]));
    home.write("bolt.3mf", plate(FeatureKind::Outside, &[12.0]));
    let spec = "part \"case\" {\n  mesh \"case.3mf\"\n  fit \"slot\" sliding bore 12 mm count 1\n}\n\
                part \"bolt\" {\n  mesh \"bolt.3mf\"\n  fit \"slide\" sliding shaft 12 mm count 1\n}\n\
                assembly \"latch\" { mate \"bolt\" fit \"slide\" with \"case\" fit \"slot\" }\n";
    home.write("latch.partspec", spec);
    let both = home.json("latch.partspec");
    let (slot, slide) = (fit(&both[0], "slot"), fit(&both[1], "slide"));
    assert!(text(&slot["because"], "text").contains("this side aims at 12.1 mm"), "{slot}");
    assert!(text(&slide["because"], "text").contains("this side aims at 11.9 mm"), "{slide}");
    assert!(slide["mate"]["fit"] == "slot" && slide["mate"]["part"] == "case");
    assert!(mm(slot, "model_size") > 12.1, "holes print small");
    // The steps at the machine say the same sizes as the table.
    for (recipe, line) in both.as_array().unwrap().iter().zip([slot, slide]) {
        let steps = recipe["checklist"].as_array().unwrap().iter().flat_map(|p| p["steps"].as_array().unwrap());
        let said: Vec<&str> =
            steps.map(|s| text(s, "text")).filter(|s| s.starts_with("In the CAD model set")).collect();
        assert_eq!(said.len(), 1, "{said:?}");
        assert!(said[0].contains(&format!("to {}", size(line, "model_size"))), "{said:?} beside {line}");
    }

    // A play of 0.1 mm wants 0.05 to 0.15 mm: two pieces at the ends of their limits still have the 0.05 mm.
    let close = spec.replace("sliding bore 12 mm", "sliding bore 12 mm play 0.1 mm");
    home.write("latch.partspec", close);
    let both = home.json("latch.partspec");
    let ends = |line: &Value| -> Vec<f64> {
        let target = size(line, "target");
        let words: Vec<&str> = target.split(' ').collect();
        words.iter().filter_map(|w| w.parse().ok()).collect()
    };
    let (slot, slide) = (ends(fit(&both[0], "slot")), ends(fit(&both[1], "slide")));
    assert!((slot[0] - slide[1] - 0.05).abs() < 2e-3 && (slot[1] - slide[0] - 0.15).abs() < 2e-3, "{slot:?} {slide:?}");
    for recipe in both.as_array().unwrap() {
        let cautions = recipe["cautions"].as_array().unwrap();
        assert!(cautions.iter().any(|c| text(c, "text").contains("Try piece with piece")), "{cautions:?}");
    }

    home.write("latch.partspec", spec.replace("shaft 12 mm", "shaft 11.8 mm"));
    let out = home.run(&["compile", "latch.partspec"]);
    assert_eq!(out.code, 1);
    assert!(out.stderr.contains("assembly/size"), "{}", out.stderr);
}

/// A bearing of 22 mm on a plate with a hole of 8 mm: with or without a count, there is nothing to make a seat of.
#[test]
fn a_fit_on_nothing_is_an_error() {
    for fit in ["  fit \"seat\" bearing 608", "  fit \"seat\" bearing 608 count 1"] {
        let home = job(&[8.0], fit);
        let out = home.run(&["compile", "plate.partspec"]);
        assert_eq!(out.code, 1, "{fit}");
        assert!(out.stderr.contains("found 0") && out.stderr.contains("plate.partspec:3"), "{}", out.stderr);
    }
}

/// Play 0.2 mm: the bore serves from 12.1 to 12.3 mm, half to one and a half times the play over the shaft.
#[test]
fn the_play_stated_is_the_play_made() {
    let home = job(&[12.0], "  fit \"guide\" sliding bore 12 mm play 0.2 mm count 1");
    assert_eq!(size(fit(&home.json("plate.partspec"), "guide"), "target"), "12.1 to 12.3 mm");
}

/// Snap strain by hand: 1.5 x 2 mm x 1.2 mm / (12 mm)² = 2.5 %.
#[test]
fn strained_fits_have_margins() {
    let home = job(&[8.0], "  fit \"pin\" press 8 mm count 1\n  fit \"hook\" snap 1.2 mm reach 12 mm thick 2 mm");
    let recipe = home.json("plate.partspec");
    let margins = recipe["margins"].as_array().unwrap();
    let margin =
        |what: &str| margins.iter().find(|m| m["what"] == what).unwrap_or_else(|| panic!("{what}: {margins:?}"));
    assert!(
        text(&margin("snap \"hook\"")["told"], "demand").starts_with("2.5 % strain"),
        "{}",
        margin("snap \"hook\"")
    );
    assert!(text(&margin("press \"pin\"")["told"], "demand").contains("MPa hoop"));
    let grip = margin("grip \"pin\"");
    assert!(
        text(&grip["told"], "capacity").contains(" N, ") && text(&grip["because"], "text").contains("relaxed over")
    );
}

/// One piece 1 mm off among forty: nobody but the person who measured knows whether it counts.
#[test]
fn a_piece_far_from_the_rest_waits_for_a_decision() {
    let home = Workshop::hut();
    let before = home.read("shop.yaml");
    for other in ["coat-hook", "coolant-elbow", "door-bumper", "peg-tags", "pulley-fork", "vane-bracket"] {
        std::fs::remove_dir_all(home.path(other)).unwrap();
    }
    let csv = table(2026) + "hole,8,along-layers,6.7,PETG,Loft,brass-06,2026-11-24,pins\n";
    home.write("measured.csv", &csv);
    let line = csv.lines().count();

    let out = home.run(&["calibrate", "measured.csv"]);
    assert_eq!(out.code, 1, "{}", out.stderr);
    assert!(out.stdout.contains("not written: a piece lies far from the rest"), "{}", out.stdout);
    assert!(out.stdout.contains(&format!("line {line}: off by")), "{}", out.stdout);
    assert_eq!(home.read("shop.yaml"), before);

    let count = |how: &str| {
        home.write("shop.yaml", &before);
        let out = home.run(&["calibrate", "measured.csv", "--far-out", how, "--print", "json"]);
        let told = out.json();
        assert_ne!(home.read("shop.yaml"), before);
        (told["records"][0]["count"].as_u64().unwrap(), told["left_out"].as_array().unwrap().len())
    };
    assert_eq!(count("take"), (41, 0));
    assert_eq!(count("leave"), (40, 1));
}

/// A record a year and more older than the newest date of the shop file is called old, with no clock read.
#[test]
fn an_old_record_is_told() {
    let home = Workshop::hut();
    let text = home.read("shop.yaml");
    assert!(text.contains("count: 10, on: 2026-11-05"));
    home.write("shop.yaml", text.replace("count: 10, on: 2026-11-05", "count: 10, on: 2024-11-05"));
    let block = home.json("spindle-block/spindle-block.partspec");
    let said = serde_json::to_string(fit(&block, "bolts")).unwrap();
    assert!(said.contains("days old; measure again"), "{said}");
}

/// Eye 8.8 mm round a pin of 8 mm leaves 0.4 mm all round. By default 0.4 mm comes free (common practice, bore 0.4 mm); a
/// shop whose own smallest was 0.35 mm asks for a quarter more, 0.4375 mm; one whose smallest was 0.5 mm says it fuses.
#[test]
fn a_gap_printed_in_place_is_held_against_the_shops_own_record() {
    let home = job(
        &[8.8],
        "  service { air 5 °C .. 30 °C }\n  fit \"lid\" hinge in-place 8 mm count 1\n  pin printer \"Bench\" because \"it was tested\"\n  pin nozzle \"brass-04\" because \"it was tested\"\n  pin material \"PLA\" because \"it was tested\"\n  pin pose up +z because \"it was tested\"",
    );
    let shop = std::fs::read_to_string(root().join("examples/shop.yaml")).unwrap();
    let verdict = |gaps: &str| {
        home.write("shop.yaml", format!("{shop}{gaps}"));
        let recipe = home.json("plate.partspec");
        let margins = recipe["margins"].as_array().unwrap();
        let row = margins.iter().find(|m| m["what"] == "gap \"lid\"").expect("a margin of the gap");
        (text(row, "verdict").to_owned(), row["because"].to_string())
    };
    let record = |gap: &str| {
        let one = |printer: &str, nozzle: &str, material: &str| {
            format!(
                "  - {{ printer: {printer}, nozzle: {nozzle}, material: {material}, what: gap, axis: across-layers, gap: {gap}, count: 5, on: 2026-11-01 }}\n"
            )
        };
        one("Bench", "brass-04", "PLA") + &one("Loft", "brass-06", "PETG")
    };
    assert_eq!(verdict(&record("0.35 mm")).0, "holds narrowly");
    let (word, because) = verdict(&record("0.5 mm"));
    assert_eq!(word, "broken");
    assert!(because.contains("shop record") && because.contains("5 pieces, 2026-11-01"), "{because}");
    assert!(verdict("").1.contains("print a gap test"));
}

#[test]
fn a_bore_with_a_flat_is_told_as_what_it_is() {
    // A knob with a bore of 6.1 mm, flat from 1.55 mm beside its axis.
    let turn = |i: usize| (i % 48) as f64 * std::f64::consts::TAU / 48.0;
    let outer = |i: usize, z: f64| [15.0 * turn(i).cos(), 15.0 * turn(i).sin(), z];
    let inner = |i: usize, z: f64| [(3.05 * turn(i).cos()).min(1.55), 3.05 * turn(i).sin(), z];
    let ring = (0..48).flat_map(|i| {
        [
            shapes::quad([outer(i, 0.0), outer(i + 1, 0.0), outer(i + 1, 12.0), outer(i, 12.0)]),
            shapes::quad([inner(i + 1, 0.0), inner(i, 0.0), inner(i, 12.0), inner(i + 1, 12.0)]),
            shapes::quad([inner(i, 12.0), outer(i, 12.0), outer(i + 1, 12.0), inner(i + 1, 12.0)]),
            shapes::quad([inner(i + 1, 0.0), outer(i + 1, 0.0), outer(i, 0.0), inner(i, 0.0)]),
        ]
        .concat()
    });
    let spec = "part \"knob\" { mesh \"knob.stl\" in mm; service { place indoors; air 5 °C .. 30 °C }
  fit \"spindle\" sliding bore 6 mm count 1 along z }";
    let home = Workshop::hut().with("knob.stl", shapes::stl(ring)).with("knob.partspec", spec);
    let told = home.run(&["compile", "knob.partspec"]).stderr;
    assert!(told.contains("a round of 6.1 mm with a flat") && told.contains("write `flat 4.6 mm`"), "{told}");
}
