//! Margins choose: what makes them hold is taken, and a workshop's own rule moves choice, verdict, caution and status together.

use makeready::recipe::Status;

use crate::workshop::read::Recipe;
use crate::workshop::reading::{margin, material, setting};
use crate::workshop::shapes::{block, blocks, plate, plate_with_hole};
use crate::workshop::{Workshop, bar, one_spool};
use makeready::fits::feature::FeatureKind;

const COOL: &str = "  service { place indoors; air 10 °C .. 23 °C }\n";

fn load(newton: f64) -> String {
    format!(
        "{COOL}  load \"tip\" {{ force {newton} N toward -z at face \"end\"; fixed at face \"root\"; held 1 day; factor 1 }}\n"
    )
}

fn build_up(recipe: &Recipe) -> &str {
    recipe.decisions.as_ref().map_or("none", |d| d.build_up.value.as_str())
}

fn beam(lines: &str) -> Recipe {
    bar(Some(&one_spool("PETG", "white")), [60.0, 10.0, 10.0], lines)
}

#[test]
fn the_lightest_inside_that_bears_the_load_is_taken() {
    let (light, heavy) = (beam(&load(0.7)), beam(&load(11.0)));
    assert_ne!(setting(&light, "infill"), "100 %", "{:#?}", light.margins);
    assert_eq!(margin(&light, "load \"tip\"").verdict, "holds");
    // As a foam of half infill it would bear a tenth.
    assert_eq!(setting(&heavy, "infill"), "100 %", "{:#?}", heavy.margins);
    assert!(margin(&heavy, "load \"tip\"").verdict.starts_with("holds"));
    let plain = beam(COOL);
    assert_eq!(build_up(&plain), "plain");
}

#[test]
fn what_a_pin_leaves_unshown_is_a_question_first_unless_it_is_a_nuisance() {
    let pinned = format!("{}  pin infill 20 % because \"it is lighter\"\n", load(11.0));
    let damage = beam(&format!("{pinned}  consequence damage"));
    assert_eq!(margin(&damage, "load \"tip\"").verdict, "not shown");
    assert_eq!(damage.status, Status::QuestionFirst, "{}", damage.headline);
    assert!(damage.assumptions.iter().any(|a| a.question && a.text.starts_with("load \"tip\": not shown")));
    let nuisance = beam(&format!("{pinned}  consequence nuisance"));
    assert_eq!(nuisance.status, Status::ReadyWithCautions, "{}", nuisance.headline);
    let solid = beam(&format!("{}  pin build-up solid because \"no doubt\"", load(2.0)));
    assert_eq!((build_up(&solid), setting(&solid, "infill")), ("solid", "100 %"));
}

#[test]
fn a_wall_thinner_than_asked_is_broken_never_narrow() {
    let thin = bar(Some(&one_spool("PETG", "white")), [60.0, 20.0, 2.0], &format!("{COOL}  wall at least 3 mm"));
    assert_eq!(margin(&thin, "wall").verdict, "broken");
    assert_eq!(thin.status, Status::DoesNotHold);
    let thick = bar(Some(&one_spool("PETG", "white")), [60.0, 20.0, 3.0], &format!("{COOL}  wall at least 3 mm"));
    assert_eq!(margin(&thick, "wall").verdict, "holds");
}

/// A gap of 0.4 mm fuses through 0.6 mm and comes free through 0.4 mm.
#[test]
fn a_gap_that_fuses_through_the_fitted_nozzle_takes_a_finer_one() {
    let shop = one_spool("PETG", "white").replace(
        "nozzles:\n  - { name: brass-04, bore: 0.4 mm, metal: brass }",
        "nozzles:\n  - { name: brass-04, bore: 0.4 mm, metal: brass }\n  - { name: brass-06, bore: 0.6 mm, metal: brass }",
    );
    let shop = shop.replace("nozzle: brass-04, surface", "nozzle: brass-06, surface");
    let made = |fit: &str| {
        let spec = format!("part \"lid\" {{\n  mesh \"lid.3mf\"\n{COOL}{fit}}}\n");
        let home = Workshop::empty().with("lid.3mf", plate(FeatureKind::Hole, &[8.8])).with("shop.yaml", &shop);
        home.with("lid.partspec", spec).recipe("lid.partspec")
    };
    let fit = "  fit \"pin\" hinge in-place 8 mm count 1\n";
    let (free, pinned) = (made(fit), made(&format!("{fit}  pin nozzle \"brass-06\" because \"it is in\"\n")));
    assert_ne!(
        margin(&pinned, "gap \"pin\"").verdict,
        "holds",
        "through 0.6 mm it fuses in some pieces, whichever way up"
    );
    let nozzle = &free.decisions.as_ref().expect("it can be printed").nozzle;
    assert_eq!((nozzle.value.as_str(), margin(&free, "gap \"pin\"").verdict.as_str()), ("brass-04", "holds"));
    let next = nozzle.runner_up.as_ref().expect("the coarser one");
    assert!(next.separated_by.iter().any(|s| s.rule.starts_with("margin-")), "{:?}", next.separated_by);
}

/// The beads of the plain inside are hardly half the wall the insert wants; what holds it is taken, what does not is told.
#[test]
fn a_boss_takes_the_inside_that_holds_its_insert() {
    let made = |lines: &str| {
        let spec =
            format!("part \"lid\" {{\n  mesh \"lid.stl\" in mm\n{COOL}  fit \"h\" insert M4 along z\n{lines}}}\n");
        let home =
            Workshop::empty().with("lid.stl", plate_with_hole(5.6)).with("shop.yaml", one_spool("PETG", "white"));
        home.with("lid.partspec", spec).recipe("lid.partspec")
    };
    let (free, plain) = (made(""), made("  pin build-up plain because \"it is light\"\n"));
    assert_eq!(margin(&plain, "boss \"h\"").verdict, "broken", "{:#?}", plain.margins);
    assert_eq!(plain.status, Status::DoesNotHold);
    assert_ne!(build_up(&free), "plain");
    assert!(margin(&free, "boss \"h\"").verdict.starts_with("holds"), "{:#?}", free.margins);
}

/// A slit of 0.35 mm stays open through 0.4 mm and may close through 0.6 mm; whether that matters is a question.
#[test]
fn a_narrow_gap_takes_the_nozzle_that_leaves_it_open() {
    let shop = one_spool("PETG", "white").replace(
        "nozzles:\n  - { name: brass-04, bore: 0.4 mm, metal: brass }",
        "nozzles:\n  - { name: brass-04, bore: 0.4 mm, metal: brass }\n  - { name: brass-06, bore: 0.6 mm, metal: brass }",
    );
    let shop = shop.replace("nozzle: brass-04, surface", "nozzle: brass-06, surface");
    let made = |slit: f64, lines: &str| {
        let (x, y, z) = ([0.0, 15.0, 15.0 + slit, 30.0], [0.0, 20.0], [0.0, 3.0, 12.0]);
        let fork = blocks([&x, &y, &z], |c| c[0] != 1 || c[2] == 0, |p| p);
        let spec = format!("part \"fork\" {{\n  mesh \"fork.stl\" in mm\n{COOL}{lines}}}\n");
        let home = Workshop::empty().with("fork.stl", fork).with("shop.yaml", &shop);
        home.with("fork.partspec", spec).recipe("fork.partspec")
    };
    let coarse = "  pin nozzle \"brass-06\" because \"it is in\"\n";
    let (free, pinned, wide) = (made(0.35, ""), made(0.35, coarse), made(2.0, coarse));
    let told = margin(&pinned, "narrowest gap");
    assert_eq!((told.verdict.as_str(), pinned.status), ("not shown", Status::ReadyWithCautions), "{}", pinned.headline);
    assert!(told.demand.starts_with("0.45 mm"), "{}", told.demand);
    assert_eq!(free.decisions.as_ref().expect("it can be printed").nozzle.value, "brass-04");
    assert_eq!(margin(&free, "narrowest gap").verdict, "holds");
    assert!(wide.margins.iter().all(|m| m.what != "narrowest gap"), "nothing to tell of a wide one");
}

/// The bed of 220 mm leaves 210 within its edges: 5 mm on each side of this plate, and no room for a brim of 8.
#[test]
fn a_brim_counts_on_the_bed() {
    let shop = one_spool("PETG", "white").replace("220 mm, 220 mm, 250 mm", "220 mm, 220 mm, 100 mm");
    let made =
        |brim: u32| bar(Some(&shop), [200.0, 200.0, 4.0], &format!("{COOL}  pin brim {brim} mm because \"it warps\""));
    let (bare, wide) = (made(0), made(8));
    let room = margin(&bare, "room on the bed");
    assert_eq!((room.verdict.as_str(), room.margin.as_str()), ("holds", "+5.0 mm on each side"));
    assert_eq!(wide.status, Status::NotPrintableAsSpecified);
    assert!(crate::workshop::reading::refusals(&wide).contains("brim of 8 mm"), "{}", wide.headline);
    let small = beam(COOL);
    assert!(small.margins.iter().all(|m| m.what != "room on the bed"), "nothing to tell of a small part");
}

/// What is struck is held against the cold: PLA shatters where PC still bends.
#[test]
fn knocks_in_the_cold_take_what_still_bends() {
    let shop = one_spool("PLA", "white") + "  - { name: two, material: PC, colour: white, left: 900 g }\n";
    let cold = |shop: &str, low: i32, lines: &str| {
        let air = format!("  service {{ place indoors; air {low} °C .. 20 °C }}\n{lines}");
        bar(Some(shop), [60.0, 10.0, 10.0], &air)
    };
    let blow = "  impact drop 0.5 m";
    let free = cold(&shop, -25, blow);
    assert_eq!(material(&free), "PC", "{}", free.headline);
    assert_eq!(margin(&free, "knocks in the cold").verdict, "holds");
    let alone = one_spool("PLA", "white");
    assert_eq!(cold(&alone, -25, blow).status, Status::NotPrintableAsSpecified);
    let near = cold(&alone, -12, blow);
    assert_eq!(margin(&near, "knocks in the cold").verdict, "holds narrowly", "{:#?}", near.margins);
    assert!(cold(&alone, -25, "").margins.iter().all(|m| m.what != "knocks in the cold"), "nothing strikes it");
}

/// One number: where the workshop's rule asks for more room, the material, the verdict, the caution and the status follow.
#[test]
fn a_rule_of_the_workshop_moves_choice_verdict_caution_and_status_together() {
    let shop = one_spool("PETG", "white") + "  - { name: two, material: ASA, colour: white, left: 900 g }\n";
    let spec = "part \"bar\" {\n  mesh \"bar.stl\" in mm\n  service { place indoors; air 10 °C .. 50 °C }\n}\n";
    let home = |shop: &str| {
        let made = Workshop::empty().with("bar.stl", block([60.0, 10.0, 10.0])).with("shop.yaml", shop);
        made.with("bar.partspec", spec)
    };
    let rule = |name: &str, room: &str, verdict: &str| {
        format!(
            "rule \"{name}\" replaces {{\n  when margin.kind == heat and margin.room < {room}\n  derive margin.verdict = {verdict}\n  because \"our summers are hotter than the record\"\n  source common-practice\n  example derives {verdict} {{ margin {{ kind heat; room 3 K }} }}\n  example quiet {{ margin {{ kind heat; room 90 K }} }}\n}}\n"
        )
    };
    let plain = home(&shop).recipe("bar.partspec");
    assert_eq!((material(&plain), margin(&plain, "heat").verdict.as_str()), ("PETG", "holds"), "{:#?}", plain.margins);
    let heat_cautions = |r: &Recipe| r.cautions.iter().filter(|c| c.text.to_lowercase().starts_with("heat")).count();
    assert_eq!(heat_cautions(&plain), 0);
    // With 20 K of room wanted PETG does not hold; ASA is taken.
    let strict = home(&shop).with("own.rules", rule("heat-short", "20 K", "broken")).recipe("bar.partspec");
    assert_eq!(
        (material(&strict), margin(&strict, "heat").verdict.as_str()),
        ("ASA", "holds"),
        "{:#?}",
        strict.margins
    );
    // Called narrow below 20 K, PETG alone stays, with its caution.
    let alone = one_spool("PETG", "white");
    let wary = home(&alone).with("own.rules", rule("heat-close", "20 K", "narrow")).recipe("bar.partspec");
    assert_eq!((material(&wary), margin(&wary, "heat").verdict.as_str()), ("PETG", "holds narrowly"));
    assert_eq!((heat_cautions(&wary), wary.status), (1, Status::ReadyWithCautions));
    // And with nothing else on the shelf the job is refused, by the rule's own number.
    let refused = home(&alone).with("own.rules", rule("heat-short", "20 K", "broken")).recipe("bar.partspec");
    assert_eq!(refused.status, Status::NotPrintableAsSpecified);
}

/// The same words and the same exit code from both commands, for every example and for one of each status.
#[test]
fn check_and_compile_agree() {
    let hut = Workshop::hut();
    let shop = one_spool("PETG", "white");
    let part = |lines: &str| {
        format!(
            "part \"bar\" {{\n  mesh \"bar.stl\" in mm\n  face \"root\" toward -x\n  face \"end\" toward +x\n{lines}\n}}\n"
        )
    };
    let own = Workshop::empty().with("bar.stl", block([60.0, 10.0, 10.0])).with("shop.yaml", shop);
    let own = own
        .with("asked.partspec", part(&format!("{}  pin infill 20 % because \"light\"", load(30.0))))
        .with("thin.partspec", part(&format!("{COOL}  wall at least 12 mm")))
        .with("hot.partspec", part("  service { air 10 °C .. 200 °C }"));
    let specs = |home: &Workshop, specs: &[&str]| {
        for spec in specs {
            let (made, checked) = (home.run(&["compile", spec]), home.run(&["check", spec]));
            assert_eq!(made.code, checked.code, "{spec}: {}\n{}", made.stderr, checked.stderr);
            let lines = made.stderr.lines().filter_map(|l| l.split_once(" -> ").map(|(line, _)| line));
            for line in lines {
                assert!(checked.stderr.lines().any(|l| l == line), "{spec}: no {line} in {}", checked.stderr);
            }
        }
    };
    specs(
        &hut,
        &[
            "coat-hook/coat-hook.partspec",
            "coolant-elbow/coolant-elbow.partspec",
            "door-bumper/door-bumper.partspec",
            "peg-tags/peg-tag.partspec",
            "pulley-fork/pulley-fork.partspec",
            "spindle-block/spindle-block.partspec",
            "vane-bracket/vane-bracket.partspec",
        ],
    );
    specs(&own, &["asked.partspec", "thin.partspec", "hot.partspec"]);
    let codes = ["asked.partspec", "thin.partspec", "hot.partspec"].map(|s| own.run(&["compile", s]).code);
    assert_eq!(codes, [1, 1, 1]);
}

/// The same of the case book.
#[test]
fn check_and_compile_agree_on_the_case_book() {
    let cases = crate::workshop::root().join("tests/cases");
    let mut specs: Vec<String> = Vec::new();
    let mut folders = vec![cases];
    while let Some(folder) = folders.pop() {
        for path in std::fs::read_dir(&folder).into_iter().flatten().map(|e| e.unwrap().path()) {
            match path.is_dir() {
                true => folders.push(path),
                false if path.extension().is_some_and(|e| e == "partspec") => specs.push(path.display().to_string()),
                false => {}
            }
        }
    }
    specs.sort();
    assert!(specs.len() > 9, "{specs:?}");
    let home = Workshop::empty();
    let out = home.path("out").display().to_string();
    let mut told = 0;
    // A call with many specs prints no line for each.
    for few in specs.chunks(4) {
        let run = |first: &[&str]| {
            let args: Vec<&str> = first.iter().copied().chain(few.iter().map(String::as_str)).collect();
            home.run(&args)
        };
        let (made, checked) = (run(&["compile", "--out", &out]), run(&["check"]));
        assert_eq!(made.code, checked.code, "{}\n{}", made.stderr, checked.stderr);
        let lines: Vec<&str> = made.stderr.lines().filter_map(|l| Some(l.split_once(" -> ")?.0)).collect();
        told += lines.len();
        let missing: Vec<&&str> = lines.iter().filter(|line| !checked.stderr.lines().any(|l| l == **line)).collect();
        assert!(missing.is_empty(), "{missing:#?}\n{}", checked.stderr);
    }
    // A spec with errors has no status to agree in.
    assert!(told * 10 >= specs.len() * 9, "{told} of {}", specs.len());
}

#[test]
fn a_waiver_stands_in_the_status_line() {
    let spec = format!("{COOL}  service {{ air 10 °C .. 70 °C }}\n  waive rule \"heat-margin\" because \"a trial\"")
        .replace(COOL, "");
    let recipe = beam(&spec);
    assert_eq!(recipe.status, Status::ReadyWithCautions, "{}", recipe.headline);
    assert!(recipe.status_line.contains("heat-margin waived"), "{}", recipe.status_line);
    assert_eq!(margin(&recipe, "heat").verdict, "broken");
}
