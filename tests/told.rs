//! What the user is told, from the outside: refusals and their ways out, statements that nothing rests on, places that
//! are not on the part.

use std::fs;

use crate::workshop::read::{Recipe, Relaxation};
use makeready::cli::world::World;
use makeready::recipe::Status;
use makeready::render::yaml::yaml;

use crate::workshop::shapes::{self, blocks};
use crate::workshop::{Workshop, bar, first, one_spool, root};

/// The coat peg of `makeready new` as a spec of its own, with room for more lines.
const PEG: &str = r#"part "peg" {
  mesh "peg.stl" in mm
  size 60 mm x 20 mm x 40 mm
  quantity 4
  consequence nuisance
  service {
    air 5 °C .. 30 °C
  }
  load "coat" { force 25 N toward -x at (30 mm, 10 mm, 38 mm); fixed at face "back"; held 5 years; factor 2 }
  face "back" toward -z
  @
}
"#;

const SPEC: &str = "peg.partspec";

/// The starter's workshop and its peg, and this spec.
fn with(spec: &str) -> Workshop {
    let starter = Workshop::starter("peg");
    let bytes = |file: &str| fs::read(starter.path(file)).unwrap();
    Workshop::empty().with("peg.stl", bytes("peg/peg.stl")).with("shop.yaml", bytes("peg/shop.yaml")).with(SPEC, spec)
}

fn peg(more: &str) -> Workshop {
    with(&PEG.replace('@', more))
}

/// A mesh of the test collection and the hut's workshop.
fn of_mesh(mesh: &str, spec: &str) -> Workshop {
    let shop = fs::read(root().join("examples/shop.yaml")).unwrap();
    Workshop::empty().with_mesh(mesh, "part.stl").with("shop.yaml", shop).with(SPEC, spec)
}

fn relaxation<'r>(recipe: &'r Recipe, start: &str) -> &'r Relaxation {
    let plain = |r: &Relaxation| r.text.trim_start_matches("giving up most of what was asked: ").starts_with(start);
    let found = recipe.relaxations.iter().find(|r| plain(r));
    found.unwrap_or_else(|| panic!("none begins with `{start}`: {:#?}", recipe.relaxations))
}

/// Every line a refusal says to write is put in its place and compiled: it must do as promised, and nothing may fail.
fn every_written_line_works(spec: &str, bench: impl Fn(&str) -> Workshop) {
    let refused = bench(spec).recipe(SPEC);
    assert_eq!(refused.status, Status::NotPrintableAsSpecified);
    let mut tried = 0;
    for way in refused.relaxations.iter().filter(|r| r.write.is_some()) {
        let line = spec[..way.at.unwrap().0].lines().count().max(1);
        let written = way.write.as_ref().unwrap();
        let lines: Vec<&str> = spec.lines().enumerate().map(|(i, l)| if i + 1 == line { written } else { l }).collect();
        let recipe = bench(&lines.join("\n")).recipe(SPEC);
        assert_ne!(recipe.status, Status::NotPrintableAsSpecified, "{}", way.text);
        let failing: Vec<_> = recipe.margins.iter().filter(|m| m.verdict == "broken").collect();
        assert!(failing.is_empty() || way.text.contains("broken"), "{}: {failing:#?}", way.text);
        let material = &recipe.decisions.as_ref().unwrap().material.value;
        assert!(way.text.contains(material.as_str()), "{}: {material}", way.text);
        tried += 1;
    }
    assert!(tried > 0, "{:#?}", refused.relaxations);
}

#[test]
fn a_load_too_large_is_offered_the_largest_that_works() {
    let spec = PEG.replace('@', "").replace("25 N", "120 N");
    let recipe = with(&spec).recipe(SPEC);
    let way = relaxation(&recipe, "with a load of ");
    let newtons: f64 = way.text["with a load of ".len()..].split(' ').next().unwrap().parse().unwrap();
    // The largest that a person would write: it works, and one newton more does not.
    for (force, works) in [(newtons, true), (newtons + 1.0, false)] {
        let asked = with(&spec.replace("120 N", &format!("{force} N"))).recipe(SPEC);
        assert_eq!(asked.status != Status::NotPrintableAsSpecified, works, "{force} N");
    }
    assert!(!recipe.relaxations.iter().any(|r| r.text.contains("a factor of")), "{:#?}", recipe.relaxations);
    every_written_line_works(&spec, with);
}

#[test]
fn a_load_of_a_spec_with_several_is_eased_alone() {
    let more = r#"load "broom" { force 130 N toward -x at (30 mm, 10 mm, 30 mm); fixed at face "back"; held 5 years; factor 2 }"#;
    let spec = PEG.replace('@', more);
    let recipe = with(&spec).recipe(SPEC);
    let way = relaxation(&recipe, "with a load of ");
    assert!(way.write.as_ref().unwrap().starts_with("load \"broom\""), "{way:?}");
    every_written_line_works(&spec, with);
}

#[test]
fn temperatures_are_eased_and_what_is_weak_stands_beside() {
    let spec = PEG
        .replace('@', "pin material \"PLA\" because \"on the shelf\"")
        .replace("30 °C", "60 °C")
        .replace("25 N", "4 N");
    let recipe = with(&spec).recipe(SPEC);
    let way = relaxation(&recipe, "with 40 °C instead of 60 °C");
    assert!(way.text.contains("but heat: asked is 40 °C, there is 45 °C"), "{}", way.text);
    relaxation(&recipe, "without `pin material \"PLA\"");
    every_written_line_works(&spec, with);
}

#[test]
fn a_pin_is_offered_to_be_dropped_beside_its_number() {
    let spec = PEG.replace('@', "pin nozzle_temperature 400 °C because \"it was so\"");
    let recipe = with(&spec).recipe(SPEC);
    relaxation(&recipe, "without `pin nozzle_temperature 400 °C");
    assert!(recipe.relaxations.iter().all(|r| !r.text.contains("would do on Bench so equipped")));
}

#[test]
fn the_coolant_elbow_is_told_what_would_be_weak() {
    const ELBOW: &str = "coolant-elbow/coolant-elbow.partspec";
    let recipe = Workshop::hut().change(ELBOW, "pressure 1.5 bar", "pressure 0.6 bar").recipe(ELBOW);
    let way = relaxation(&recipe, "with 40 °C instead of 140 °C");
    assert!(way.text.contains("the best pose on a face"), "{}", way.text);
    // With less pressure a machine would do it, but none of those of the shop.
    let recipe = Workshop::hut().change(ELBOW, "pressure 1.5 bar", "pressure 0.3 bar").recipe(ELBOW);
    let bench = recipe.relaxations.iter().find(|r| r.place == "shop.yaml").unwrap();
    assert!(bench.text.contains("hot end 300 °C"), "{}", bench.text);
    assert!(bench.text.contains("on a machine of the size of"), "{}", bench.text);
}

#[test]
fn a_spool_no_printer_here_can_print_is_offered_with_the_printer_it_needs() {
    // PPS prints from 300 °C, which Loft reaches, but usually at 320 °C, which it does not.
    let recipe = of_mesh("wedge_30.stl", HOT).recipe(SPEC);
    let bench = recipe.relaxations.iter().find(|r| r.place == "shop.yaml").unwrap();
    assert!(bench.text.contains("a spool of PPS, a printer with a hot end for 320 °C"), "{}", bench.text);
    assert!(bench.text.contains("none here can print it; Loft comes nearest: hot end 300 °C"), "{}", bench.text);
}

#[test]
fn a_long_run_says_what_a_second_machine_would_save() {
    let spec = |quantity: &str, more: &str| {
        HOT.replace("120 °C", "35 °C").replace("quantity 1", &format!("quantity {quantity}\n  {more}"))
    };
    let told = |spec: &str| {
        let run = of_mesh("wedge_30.stl", spec).recipe(SPEC).run.unwrap();
        run.because.iter().find(|r| r.text.contains("machine here") || r.text.contains("shared with")).cloned()
    };
    let petg = "pin material \"PETG\" because \"on the shelf\"";
    let total = |quantity: &str, more: &str| {
        of_mesh("wedge_30.stl", &spec(quantity, more)).recipe(SPEC).run.unwrap().time_total
    };
    let long = told(&spec("900", petg)).unwrap().text;
    assert!(long.starts_with("shared with Bench (nozzle "), "{long}");
    // Both together need less than the one alone, and at the least half of that.
    let hours = |words: &str| words.split(" h").next().and_then(|h| h.rsplit(' ').next()?.parse::<f64>().ok()).unwrap();
    let (shared, alone) = (hours(long.split("it takes about ").nth(1).unwrap()), hours(&total("900", petg)));
    assert!(shared < alone && shared > 0.4 * alone, "{shared} h shared, {alone} h alone: {long}");
    assert!(long.contains("needed twice and here once: a spool of PETG"), "{long}");
    let alone = told(&spec("900", &format!("{petg}\n  forbid printer \"Bench\" because \"lent\""))).unwrap().text;
    assert!(alone.contains("no other machine here"), "{alone}");
    assert!(told(&spec("1", petg)).is_none());
}

/// A wedge in 120 °C, of which nothing else is asked.
const HOT: &str = r#"part "wedge" {
  mesh "part.stl" in mm
  quantity 1
  consequence nuisance
  service { air 5 °C .. 120 °C }
}
"#;

#[test]
fn a_plate_larger_than_every_machine_is_told_how_to_be_split() {
    let spec = "part \"plate\" { mesh \"part.stl\" in mm; service { air 5 °C .. 30 °C } }";
    let recipe = of_mesh("huge_plate_600.stl", spec).recipe(SPEC);
    assert!(recipe.headline.contains("larger than every machine"), "{}", recipe.headline);
    assert!(recipe.conflicts[0].requirements[0].text.starts_with("mesh \"part.stl\""), "{:?}", recipe.conflicts);
    let text = &recipe.conflicts[0].text;
    for told in [
        "600 x 500 x 10 mm",
        "that of Loft, is 240 x 240 x 240 mm",
        "600 mm and 500 mm are too long",
        "9 pieces (3 x 3 x 1",
    ] {
        assert!(text.contains(told), "{text}");
    }
    // At most one miss for each machine: what misses the same and more says nothing new.
    let misses: Vec<&str> = recipe.nearest.iter().map(|n| n.value.as_str()).collect();
    let of = |machine: &str| misses.iter().filter(|m| m.ends_with(machine)).count();
    assert!(of("Bench") <= 1 && of("Loft") == 1 && misses.len() == of("Bench") + of("Loft"), "{misses:?}");
}

/// Of machines of one size the first of the workshop's file is named.
#[test]
fn of_two_largest_machines_the_first_is_named() {
    let other = "  - { name: Attic, build: [250 mm, 220 mm, 220 mm], nozzle_limit: 290 °C, bed_limit: 110 °C, enclosed: no, drive: direct }\n";
    for (before, named) in [("  - name: Bench", "Attic"), ("nozzles:\n", "Bench")] {
        let shop = one_spool("PETG", "white").replacen(before, &format!("{other}{before}"), 1);
        let recipe = bar(Some(&shop), [600.0, 500.0, 10.0], "");
        let text = &recipe.conflicts[0].text;
        assert!(text.contains(&format!("that of {named}, is ")), "{text}");
    }
}

#[test]
fn all_mistakes_of_a_file_are_told_in_one_run_in_order() {
    let more = r#"pin wals 3 because "x"
  service { contact "coolent" splash }
  pin material "PLAA" because "x"
  waive "heat-margni" because "y"
  waive "material-change-is-work" because "y"
  fit "s" bearing 999
  fit "t" thread M5.5"#;
    let found = peg(more).compile(SPEC).diagnostics;
    let codes: Vec<&str> = found.iter().map(|d| d.code).collect();
    assert_eq!(
        codes,
        [
            "pin/no-such-setting",
            "contact/unknown-chemical",
            "pin/not-there",
            "waive/no-such-rule",
            "waive/refuses-nothing",
            "fit/impossible",
            "fit/impossible"
        ]
    );
    assert!(found.iter().all(|d| !d.hints.is_empty() && !d.labels.is_empty()), "{found:#?}");
}

#[test]
fn points_off_the_part_are_errors_at_their_place() {
    for (more, what) in [
        (r#"load "far" force 5 N toward -z at (300 mm, 10 mm, 40 mm) fixed at face "back""#, "`at` of load \"far\""),
        (
            r#"load "far" force 5 N toward -z at (30 mm, 10 mm, 40 mm) fixed at (30 mm, 10 mm, -9 mm)"#,
            "`fixed at` of load",
        ),
        (r#"face "f" toward +z near (30 mm, 10 mm, 90 mm)"#, "`near` of face \"f\""),
        (r#"fit "f" clearance M4 at (10 mm, 10 mm, 50 mm)"#, "`at` of fit \"f\""),
    ] {
        let found = peg(more).compile(SPEC).diagnostics;
        let told =
            found.iter().find(|d| d.code == "place/off-the-part").unwrap_or_else(|| panic!("{more}: {found:#?}"));
        assert!(told.is_error() && told.message.starts_with(what), "{}", told.message);
        assert!(told.hints[0].contains("x 0 to 60, y 0 to 20, z 0 to 40 mm"), "{:?}", told.hints);
    }
}

#[test]
fn a_face_several_places_answer_to_is_told_with_the_places() {
    let found = peg(r#"face "top" toward +z cosmetic"#).compile(SPEC).diagnostics;
    let told = found.iter().find(|d| d.code == "face/ambiguous").unwrap();
    assert!(!told.is_error());
    // The plate's upper face around the peg, and the end of the peg: 1200 - 256 - two holes of 15.9, and 16 x 16.
    for place in ["912 mm² around (", "256 mm² around (30 mm, 10 mm, 40 mm)"] {
        assert!(told.message.contains(place), "{}", told.message);
    }
    // The middle of the upper face lies under the peg: what the hint names lies on it.
    let written = told.hints[0].split('`').find(|piece| piece.starts_with("near ")).unwrap();
    let named = peg(&format!("face \"top\" toward +z cosmetic {written}")).compile(SPEC).diagnostics;
    assert!(named.iter().all(|d| !d.code.starts_with("face/") && !d.code.starts_with("place/")), "{named:#?}");
    let near = peg(r#"face "top" toward +z cosmetic near (30 mm, 10 mm, 40 mm)"#).compile(SPEC).diagnostics;
    assert!(near.iter().all(|d| d.code != "face/ambiguous"), "{near:#?}");
}

#[test]
fn what_nothing_rests_on_is_said_and_a_day_to_be_met_is_asked_about() {
    let recipe = peg("wanted by 2026-12-01; wall at least 9 mm; waive \"heat-margin\" because \"old\"").recipe(SPEC);
    let line = |start: &str| {
        let found = recipe.assumptions.iter().find(|a| a.text.starts_with(start));
        found.unwrap_or_else(|| panic!("{start}: {:#?}", recipe.assumptions))
    };
    // The day counts: spools and records are as old as on it, and a run of some hours begins on the day before. Whether it
    // can begin then is for whoever knows the queue: that is asked.
    let wanted = line("used only in part: `wanted");
    assert!(wanted.question && wanted.effect.contains("no clock is read"));
    assert!(wanted.effect.contains("begins on 2026-11-30 at the latest"), "{}", wanted.effect);
    let waived = line("not used in deciding: `waive");
    assert!(waived.effect.contains("the rule holds here without it") && !waived.question);
    assert_eq!(recipe.status, Status::DoesNotHold, "the wall is 5 mm");
}

/// The smallest wall asked for is judged on the mesh: the plate of the peg is 5 mm thick, as its maker drew it.
#[test]
fn a_flat_wall_is_judged_by_what_it_measures() {
    let wall = |asked: &str| {
        let recipe = peg(&format!("wall at least {asked}")).recipe(SPEC);
        assert!(recipe.assumptions.iter().all(|a| !a.text.contains("wall at least")), "{:#?}", recipe.assumptions);
        let margin = recipe.margins.iter().find(|m| m.what == "wall").unwrap();
        (margin.verdict.clone(), margin.capacity.clone(), margin.because.text.clone())
    };
    let (verdict, capacity, _) = wall("4 mm");
    assert!(verdict == "holds" && capacity.starts_with("5.00 mm at ("), "{capacity}");
    // Flat on both sides, it is as thick as it measures.
    let (verdict, _, text) = wall("5.03 mm");
    assert!(verdict == "broken" && text.contains("0.03 mm less than asked, between flat sides"), "{text}");
    let (verdict, _, text) = wall("9 mm");
    assert!(verdict == "broken" && text.contains("4.00 mm less than asked"), "{text}");
    // Facets of a round lie within what was drawn.
    let tube = shapes::revolved(&[[10.0, 0.0], [13.0, 0.0], [13.0, 30.0], [10.0, 30.0]]);
    let spec =
        r#"part "peg" { mesh "peg.stl" in mm; service { place indoors; air 5 °C .. 20 °C }; wall at least 3.03 mm }"#;
    let recipe = with(spec).with("peg.stl", tube).recipe(SPEC);
    let margin = recipe.margins.iter().find(|m| m.what == "wall").unwrap();
    let text = &margin.because.text;
    assert!(margin.verdict == "holds" && text.contains("within the 0.05 mm"), "{} {text}", margin.verdict);
}

#[test]
fn faces_leave_their_steps() {
    let recipe =
        peg(r#"face "side" { toward -y; near (30 mm, 0 mm, 2.5 mm); no seam; marking "MAX 12" }"#).recipe(SPEC);
    let steps: Vec<&str> = recipe.checklist.iter().flat_map(|p| &p.steps).map(|s| s.text.as_str()).collect();
    assert!(steps.iter().any(|s| s.contains("seam") && s.contains("\"side\"")), "{steps:#?}");
    assert!(steps.iter().any(|s| s.contains("MAX 12")), "{steps:#?}");
}

#[test]
fn a_margin_that_does_not_hold_is_in_the_headline_and_withheld_where_people_can_be_hurt() {
    let recipe = peg("wall at least 9 mm").recipe(SPEC);
    assert!(recipe.margins.iter().any(|m| m.what == "wall" && m.verdict == "broken"));
    assert!(recipe.headline.contains("does not hold as specified: wall"), "{}", recipe.headline);
    assert_eq!(recipe.status, Status::DoesNotHold);
    let spec = r#"part "peg" { mesh "peg.stl" in mm; consequence injury; service { air 5 °C .. 20 °C }
      pin material "PETG" because "x"
      wall at least 9 mm }"#;
    let recipe = with(spec).recipe(SPEC);
    assert_eq!(recipe.status, Status::NotPrintableAsSpecified, "{}", recipe.headline);
    assert!(recipe.settings.is_empty() && recipe.checklist.is_empty() && recipe.decisions.is_none());
    assert!(recipe.conflicts[0].requirements[0].place.ends_with(": wall"), "{:?}", recipe.conflicts);
}

/// Each comment of the starter that says "write this and see that" is tried.
#[test]
fn the_starters_comments_are_true() {
    let home = Workshop::starter("peg");
    let starter = home.read("peg/peg.partspec");
    let recipe = |from: &str, to: &str| {
        assert!(starter.contains(from), "the starter holds no `{from}`");
        home.write("peg/peg.partspec", starter.replacen(from, to, 1));
        let compiled = home.compile("peg/peg.partspec");
        assert!(compiled.diagnostics.iter().all(|d| !d.is_error()), "{:#?}", compiled.diagnostics);
        first(compiled)
    };
    let material = |r: &Recipe| r.decisions.as_ref().map(|d| d.material.value.clone());
    let as_it_is = recipe("quantity", "quantity");
    assert!(material(&as_it_is).is_some());
    assert!(starter.contains("Write 65 °C for 30 °C and see the material change."));
    let warmer = recipe(".. 30 °C", ".. 65 °C");
    assert!(material(&warmer).is_some() && material(&warmer) != material(&as_it_is));
    assert!(starter.contains("Add `sun direct for 5 years` and see what is asked"));
    let sunny = recipe("wet     damp", "wet     damp\n    sun direct for 5 years");
    assert_eq!(sunny.status, Status::QuestionFirst);
    assert!(starter.contains("add `back covered` as well and see it refused"));
    let covered = recipe("wet     damp", "wet     damp\n    sun direct for 5 years\n    back covered");
    assert_eq!(covered.status, Status::NotPrintableAsSpecified);
    assert!(starter.contains("Write 120 N for 25 N and see the answer turn into a refusal"));
    let heavy = recipe("force   25 N", "force   120 N");
    assert!(heavy.conflicts[0].requirements[0].place.ends_with(": load \"wet coat\""), "{:?}", heavy.conflicts);
    assert!(heavy.relaxations.iter().any(|r| r.text.starts_with("with a load of ")));
    home.write("peg/peg.partspec", &starter);
    let strict = home.run(&["check", "peg/peg.partspec", "--strict"]);
    assert!(strict.stdout.contains("consequence of failure not stated"));
}

#[test]
fn a_folder_stands_for_every_spec_in_it() {
    let bench = peg("");
    let more = bench.read(SPEC).replace("part \"peg\"", "part \"hook\"").replace("peg.stl", "../peg.stl");
    bench.write("more/hook.partspec", more);
    fs::create_dir(bench.path("none")).unwrap();
    let done = bench.run(&["compile", "."]);
    assert_eq!(done.code, 0, "{}", done.stderr);
    assert!(bench.path("peg.recipe.md").exists());
    assert!(bench.path("more/hook.recipe.md").exists());
    let nothing = bench.run(&["compile", "none"]);
    assert_eq!(nothing.code, 2);
    assert!(nothing.stderr.contains("there is no part spec in the folder"));
}

#[test]
fn what_is_no_spec_is_told_what_to_do() {
    let bench = peg("");
    bench.write("empty.partspec", "// nothing\n");
    for (file, code, hint) in [
        ("shop.yaml", "usage/not-a-spec", "makeready check shop.yaml"),
        ("peg.stl", "usage/mesh-for-spec", "write a spec that names it"),
        ("empty.partspec", "spec/empty", "three lines are enough"),
    ] {
        let found = bench.compile(file).diagnostics;
        assert_eq!(found[0].code, code);
        assert!(found[0].is_error() && found[0].hints[0].contains(hint), "{:?}", found[0].hints);
    }
    let missing = World::around(&bench.path("peq.partspec"), false).unwrap_err();
    assert_eq!(missing.hints, ["there is a `peg.partspec` in that folder"]);
}

/// Whatever way up a spec pins is looked at, and what a recipe calls a pose is what a spec may call it.
#[test]
fn a_pose_is_pinned_by_the_name_recipes_give_it() {
    let pinned = |pose: &str| peg(&format!("pin pose {pose} because \"x\"")).compile(SPEC);
    let named = |pose: &str| {
        let made = pinned(pose);
        assert!(made.diagnostics.iter().all(|d| !d.code.starts_with("pin/")), "{pose}: {:?}", made.diagnostics);
        made.parts[0].recipe.decisions.as_ref().map(|d| d.pose.value.clone())
    };
    let table: Vec<String> = peg("").compile(SPEC).parts[0].recipe.poses.iter().map(|p| p.plain.clone()).collect();
    assert!(table.len() >= 3, "{table:?}");
    for pose in &table {
        assert_eq!(named(&format!("\"{pose}\"")).as_ref(), Some(pose));
    }
    assert_eq!(named("up (1, 2, 3)").as_deref(), Some("-z down, tilted 34° toward -y and 18° toward -x"));
}

/// A finish the spec insists on is the route; one that cannot lead to the limits is refused at its word.
#[test]
fn a_finish_is_followed_or_refused_in_plain_words() {
    // The holes of the peg are 4.5 mm: H12 is 0.12 mm wide (ISO 286-1, IT12 over 3 to 6 mm), more than a printer's tenth.
    let route = |fit: &str| {
        let recipe = peg(&format!("fit \"f\" {fit}")).recipe(SPEC);
        let line = recipe.allowances.iter().find(|a| a.fit == "f").unwrap();
        (line.route.clone(), line.because.text.clone())
    };
    let (reamed, why) = route("bore 4.5 mm H9 finish reamed");
    assert!(reamed.contains("then ream 4.5 mm") && why.contains("the spec asks for it reamed"), "{reamed}: {why}");
    let (drilled, _) = route("clearance M4 finish drilled");
    assert!(drilled.contains("left to cut, then drill 4.5 mm"), "{drilled}");
    let refused = peg("fit \"f\" bore 4.5 mm H7 finish as printed").compile(SPEC);
    let told = refused.diagnostics.iter().find(|d| d.code == "fit/impossible").unwrap();
    assert!(told.message.starts_with("no printer holds IT7 as printed"), "{}", told.message);
    assert_eq!(refused.sources.text(told.labels[0].span), "finish as printed");
    // Play of 0.04 to 0.12 mm: no printer of the starter's bench holds that as printed, and the job says so.
    let compiled = peg("fit \"f\" sliding bore 4.4 mm play 0.08 mm finish as printed").compile(SPEC);
    let recipe = &compiled.parts[0].recipe;
    assert_eq!(recipe.status, Status::NotPrintableAsSpecified, "{}", recipe.headline);
    let said = yaml(recipe).unwrap();
    assert!(said.contains("is to stay as printed within 4.44 to 4.52 mm"), "{said}");
}

/// A stated depth is held against the mesh, and the joint is computed with what is there.
#[test]
fn a_depth_is_held_against_the_mesh_and_computed_with() {
    let depth = |fit: &str| peg(&format!("fit \"f\" {fit}"));
    let shallow = depth("thread M5 depth 9 mm").compile(SPEC);
    let told = shallow.diagnostics.iter().find(|d| d.code == "fit/depth").unwrap();
    assert!(told.is_error() && told.message.contains("5 mm deep, and 9 mm is stated"), "{}", told.message);
    assert_eq!(told.hints, ["deepen it in the model, or write `depth 5 mm`"]);
    let recipe = depth("thread M5 depth 5 mm").recipe(SPEC);
    let margin = recipe.margins.iter().find(|m| m.what == "depth \"f\"").unwrap();
    // Two diameters of engagement are wanted, one is the least.
    assert_eq!((margin.demand.as_str(), margin.verdict.as_str()), ("10 mm", "holds narrowly"), "{margin:?}");
}

/// A bow handle stands on two feet in one plane, and the underside of its grip looks the same way and is larger.
#[test]
fn a_load_held_at_one_of_two_places_asks_which() {
    let home = Workshop::hut();
    let solid = |at: [usize; 3]| at[2] == 1 || at[0] != 1;
    home.write("bow.stl", blocks([&[0.0, 12.0, 108.0, 120.0], &[0.0, 16.0], &[0.0, 22.0, 32.0]], solid, |p| p));
    let spec = |newtons: f64, near: &str| {
        format!(
            "part \"bow\" {{ mesh \"bow.stl\" in mm; consequence nuisance; service {{ place indoors; air 5 °C .. 30 °C }}\n  \
             load \"pull\" {{ force {newtons} N toward +z at (60 mm, 8 mm, 32 mm); fixed at face \"feet\"; held 1 h }}\n  \
             face \"feet\" toward -z{near} }}\n"
        )
    };
    home.write("bow.partspec", spec(300.0, ""));
    let asked = home.json("bow.partspec");
    assert_eq!(asked["status"], "question-first");
    let questions = asked["assumptions"].as_array().unwrap();
    let which = questions.iter().find(|a| a["text"].as_str().unwrap().contains("2 places look -z")).unwrap();
    assert!(which["text"].as_str().unwrap().contains("384 mm² in 2 patches"), "{which}");
    assert!(which["effect"].as_str().unwrap().contains("near ("), "{which}");

    // Each reading with what it leads to, and none that decides nothing is settled first.
    assert_eq!(which["answers"].as_array().unwrap().len(), 2, "{which}");
    home.write("bow.partspec", spec(2.0, ""));
    assert_ne!(home.json("bow.partspec")["status"], "question-first");
    home.write("bow.partspec", spec(20.0, " near (6 mm, 8 mm, 0 mm)"));
    assert_ne!(home.json("bow.partspec")["status"], "question-first");
}

/// A line that stands in the way can be asked about by its own word, or by the name in it.
#[test]
fn a_line_that_stands_in_the_way_is_explained() {
    let spec = PEG.replace('@', "  deflection at most 0.001 mm");
    let workshop = with(&spec);
    assert_eq!(workshop.recipe(SPEC).status, Status::NotPrintableAsSpecified);
    let told = workshop.run(&["explain", SPEC, "deflection"]);
    assert_eq!(told.code, 0, "{}", told.stderr);
    assert!(
        told.stdout.contains("deflection at most 0.001 mm") && told.stdout.contains("would free it"),
        "{}",
        told.stdout
    );
    let other = workshop.run(&["explain", SPEC, "deflexion"]);
    assert!(other.stderr.contains("`deflection`"), "{}", other.stderr);
}
