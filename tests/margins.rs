//! Margins choose: what makes them hold is taken, and a workshop's own rule moves choice, verdict, caution and status together.

use makeready::recipe::Status;

use crate::workshop::read::Recipe;
use crate::workshop::reading::{margin, material, setting};
use crate::workshop::shapes::{block, plate};
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
    let (light, heavy) = (beam(&load(2.0)), beam(&load(30.0)));
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
    let pinned = format!("{}  pin infill 20 % because \"it is lighter\"\n", load(30.0));
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

#[test]
fn a_waiver_stands_in_the_status_line() {
    let spec = format!("{COOL}  service {{ air 10 °C .. 70 °C }}\n  waive rule \"heat-margin\" because \"a trial\"")
        .replace(COOL, "");
    let recipe = beam(&spec);
    assert_eq!(recipe.status, Status::ReadyWithCautions, "{}", recipe.headline);
    assert!(recipe.status_line.contains("heat-margin waived"), "{}", recipe.status_line);
    assert_eq!(margin(&recipe, "heat").verdict, "broken");
}
