//! Decisions a practitioner would sign, on parts that nobody tuned to: rubber that is pressed, arms that bend, water, oil.

use makeready::physics::sustained::fatigue_band;

use crate::workshop::read::Recipe;
use crate::workshop::reading::{margin, material, rejection};
use crate::workshop::shapes::{block, blocks, plate_with_hole, revolved};
use crate::workshop::{Workshop, one_spool};

const SHOP: &str = "name: Trial bench
currency: EUR
printers:
  - { name: Closed, build: [240 mm, 200 mm, 220 mm], nozzle_limit: 280 °C, bed_limit: 110 °C, enclosed: yes, chamber: 45 °C, drive: direct }
nozzles:
  - { name: brass-04, bore: 0.4 mm, metal: brass }
surfaces: [smooth-pei, textured-pei]
agents: [pva-glue]
spools:
  - { name: pla-1, material: PLA, colour: white, left: 1000 g }
  - { name: petg-1, material: PETG, colour: black, left: 1000 g }
  - { name: asa-1, material: ASA, colour: black, left: 1000 g }
  - { name: pa12-1, material: PA12, colour: natural, left: 1000 g }
  - { name: tpu-1, material: TPU-95A, colour: black, left: 1000 g }
";

const INDOORS: &str = "service { place indoors; air 10 °C .. 25 °C }";

fn trial(mesh: String, lines: &str) -> Workshop {
    let spec = format!("part \"trial\" {{\n  mesh \"trial.stl\" in mm\n{lines}\n}}\n");
    Workshop::empty().with("shop.yaml", SHOP).with("trial.stl", mesh).with("trial.partspec", spec)
}

/// The recipe, and its page.
fn compiled(mesh: String, lines: &str) -> (Recipe, String) {
    let workshop = trial(mesh, lines);
    let recipe = workshop.recipe("trial.partspec");
    workshop.run(&["compile", "trial.partspec"]);
    let page = workshop.read("trial.recipe.md");
    (recipe, page.split_whitespace().collect::<Vec<_>>().join(" "))
}

fn pose(recipe: &Recipe) -> &str {
    &recipe.decisions.as_ref().unwrap_or_else(|| panic!("refused: {}", recipe.headline)).pose.value
}

/// A puck with a hole through it, wide on the floor.
fn puck(height: f64, wide: f64) -> String {
    revolved(&[[3.3, 0.0], [wide, 0.0], [wide - 3.0, height], [3.3, height]])
}

fn pressed(newtons: f64) -> String {
    format!(
        "{INDOORS}
  load \"weight\" {{ force {newtons} N toward -z at face \"top\"; fixed at face \"floor\"; held 5 years }}
  face \"top\" toward +z
  face \"floor\" toward -z
  ask softness"
    )
}

/// Pads of rubber bear for years what they bear: whatever their form they lie on their flat side, and nothing pulls layers
/// apart that are pressed together.
#[test]
fn a_pad_of_rubber_that_is_pressed_lies_flat() {
    for (height, wide) in [(20.0, 20.0), (8.0, 25.0), (15.0, 12.0)] {
        let (made, page) = compiled(puck(height, wide), &pressed(120.0));
        assert_eq!(material(&made), "TPU-95A", "{height} x {wide}: {}", made.headline);
        assert!(["-z down", "+z down"].contains(&pose(&made)), "{height} x {wide}: {}", pose(&made));
        assert!(!page.contains("pulled apart"));
        assert!(!page.contains("pulls at"));
        assert!(page.contains("where pressed as pads of rubber are"));
    }
    // It does not bear everything: some strains of a rubber are too much for years.
    let (made, _) = compiled(puck(20.0, 20.0), &pressed(4000.0));
    assert!(made.decisions.is_none(), "{}", made.headline);
}

/// Who splashes oil is told to wipe it off; who keeps it in is told what a print does as a vessel.
#[test]
fn what_burns_is_warned_of_by_how_much_and_where() {
    let said = |lines: &str| {
        let (made, _) = compiled(puck(20.0, 20.0), &format!("service {{ place indoors; air 10 °C .. 25 °C; {lines}"));
        made.cautions
            .iter()
            .map(|c| c.text.to_string())
            .filter(|c| c.starts_with("engine oil burns"))
            .collect::<Vec<_>>()
    };
    for kind in ["splash", "wiped"] {
        let told = said(&format!("contact \"engine oil\" {kind} }}"));
        assert!(told.len() == 1 && told[0].contains("wipe off") && !told[0].contains("tank"), "{told:?}");
    }
    for lines in ["contact \"engine oil\" immersed }", "contact \"engine oil\" splash }\ntight against \"oil\""] {
        let told = said(lines);
        assert!(told.len() == 1 && told[0].contains("tank"), "{lines}: {told:?}");
    }
}

/// A lid with two arms of a thickness and length, as a print lies on its plate: the arms stand.
fn lid(arm: f64, reach: f64) -> String {
    let x = [0.0, 5.0, 5.0 + arm, 45.0 - arm, 45.0, 50.0];
    blocks(
        [&x, &[0.0, 12.0, 20.0, 32.0], &[0.0, 3.0, 3.0 + reach]],
        |[x, y, z]| z == 0 || y == 1 && (x == 1 || x == 3),
        |p| p,
    )
}

fn catch(undercut: f64, along: &str) -> String {
    format!("{INDOORS}\n fit \"catch\" snap {undercut} mm reach 12 mm thick 1.6 mm count 2 {along}")
}

fn borne(made: &Recipe) -> f64 {
    margin(made, "snap \"catch\"").ratio.unwrap()
}

/// The margin says what the caution says: an arm that stands bears half of what a lying one bears, on one page.
#[test]
fn a_snap_arm_is_judged_as_it_lies() {
    let pin = "pin pose \"-z down\" because \"to compare\"\n pin material \"PA12\" because \"to compare\"";
    let (standing, page) = compiled(lid(1.6, 12.0), &format!("{}\n{pin}", catch(0.8, "along z")));
    let (lying, _) = compiled(lid(1.6, 12.0), &format!("{}\n{pin}", catch(0.8, "along x")));
    assert!((borne(&standing) / borne(&lying) - 0.5).abs() < 1e-6, "{} {}", borne(&standing), borne(&lying));
    assert!(page.contains("stands across the layers"));
    assert!(page.contains("strained across the layers, which counts x 0.5"));
    // What a standing arm does not bear is refused in that pose, and another that bears it is taken where there is one.
    let (free, _) =
        compiled(lid(1.6, 12.0), &format!("{}\n pin material \"PA12\" because \"to compare\"", catch(1.6, "along z")));
    assert!(free.decisions.is_none() || !["-z down", "+z down"].contains(&pose(&free)), "{}", free.headline);
}

/// An arm drawn thicker than stated is asked about: the page counts what is stated, and says what the mesh has.
#[test]
fn a_snap_arm_drawn_thicker_than_stated_is_asked_about() {
    let pin = "pin material \"PA12\" because \"to compare\"";
    let lines = format!("{}\n{pin}", catch(0.5, "along x"));
    let (stated, _) = compiled(lid(1.6, 12.0), &lines);
    assert!(!stated.headline.contains("no wall of the mesh"), "{}", stated.headline);
    let (drawn, _) = compiled(lid(2.4, 12.0), &lines);
    assert!(
        drawn.headline.contains("thinner than 2.4 mm: drawn so it is strained 1.5 times as much"),
        "{}",
        drawn.headline
    );
}

/// Water is water: that a part lies in it, must hold it, or is touched by it for good, are one thing to a polymer.
#[test]
fn water_is_one_thing_however_it_is_said() {
    let x: &[f64] = &[0.0, 2.0, 78.0, 80.0];
    let tray = || blocks([x, x, &[0.0, 2.0, 20.0]], |[x, y, z]| z == 0 || x != 1 || y != 1, |p| p);
    let of = |service: &str, more: &str| {
        let lines = format!("service {{ place indoors; air 5 °C .. 30 °C; {service} }}\n{more}\nwall at least 2 mm");
        compiled(tray(), &lines)
    };
    let said = [
        of("wet immersed", ""),
        of("contact \"water\" immersed", ""),
        of("contact \"tap water\" immersed", ""),
        of("wet dry", "tight against \"water\""),
        of("wet immersed; contact \"water\" immersed", "tight against \"water\""),
    ];
    for (made, _) in &said {
        assert_eq!(material(made), material(&said[0].0), "{}", made.headline);
        assert_eq!(made.margins.iter().filter(|m| m.what.starts_with("contact")).count(), 1);
        assert!(rejection(made, "PLA").contains("only limited against"), "{}", rejection(made, "PLA"));
    }
    // What is said of it plainly goes before: how warm it is, or that it only splashes.
    let (hot, _) = of("wet immersed; contact \"water\" immersed at 70 °C", "");
    assert_ne!(material(&hot), material(&said[0].0));
    let (_, page) = of("contact \"engine oil\" splash", "tight against \"engine oil\"");
    assert_eq!(page.matches("| Contact \"engine oil\"").count(), 1);
}

/// Where the sun and a load each stand in the way, the white spool on the shelf frees the half that is the sun's.
#[test]
fn a_lighter_spool_frees_the_sun_s_half_of_a_refusal() {
    let lines = "service { place outdoors; air -25 °C .. 28 °C; sun direct for 5 years; colour black; wet rain }
  load \"tug\" { force 900 N toward -z at face \"end\"; fixed at face \"root\"; shock }
  face \"end\" toward +x
  face \"root\" toward -x";
    let shop =
        SHOP.replace("{ name: pa12-1, material: PA12, colour: natural", "{ name: asa-2, material: ASA, colour: white");
    let workshop = trial(block([60.0, 10.0, 6.0]), lines).with("shop.yaml", shop);
    let made = workshop.recipe("trial.partspec");
    assert!(made.decisions.is_none(), "{}", made.headline);
    let ways: Vec<String> = made.relaxations.iter().map(|r| r.text.to_string()).collect();
    assert!(ways.iter().any(|w| w.contains("white") && w.contains("asa-2") && w.contains("ASA would do")), "{ways:#?}");
}

/// A use is withheld once, however many things bring it up, and a page that says "a question first" has one.
#[test]
fn what_is_withheld_is_said_once_and_asked() {
    let x: &[f64] = &[0.0, 2.0, 78.0, 80.0];
    let tray = blocks([x, x, &[0.0, 2.0, 20.0]], |[x, y, z]| z == 0 || x != 1 || y != 1, |p| p);
    let lines = "service { place indoors; air 5 °C .. 30 °C; contact \"engine oil\" splash; contact \"diesel\" splash }
  tight against \"diesel\"";
    let (made, _) = compiled(tray, lines);
    assert_eq!(made.headline.matches("Not for keeping in what burns").count(), 1, "{}", made.headline);
    assert!(!made.headline.contains("burns, keeping"), "{}", made.headline);
    assert!(made.headline.contains("A question first: Is it meant for that"), "{}", made.headline);
    // Whoever asks what is open hears of it too.
    let asked = trial(blocks([x, x, &[0.0, 2.0, 20.0]], |[x, y, z]| z == 0 || x != 1 || y != 1, |p| p), lines)
        .run(&["ask", "trial.partspec"]);
    assert!(asked.stdout.contains("meant for that (keeping in what burns)"), "{}", asked.stdout);
}

#[test]
fn a_cell_in_the_purpose_is_asked_about() {
    let (_, page) = compiled(
        block([60.0, 10.0, 6.0]),
        &format!("{INDOORS}\n purpose \"Holds the spare battery pack of the radio\""),
    );
    assert!(page.contains("Leave them room to swell"));
}

/// The shares that repetition leaves stand beside what was tested: pulled prints broke at half their strength after some
/// thousands of cycles, and low ends together stay beside the design curve that 90 % survived (EZEH19: 0.1 at 2e6, slope 5.5).
#[test]
fn repetition_takes_what_tests_say_it_does() {
    let share = |n: f64| fatigue_band(n, 0.0).unwrap();
    for (cycles, tested) in [(200.0, 0.8), (3_000.0, 0.5)] {
        assert!((share(cycles).typical - tested).abs() < 0.15, "{cycles}: {:?}", share(cycles));
    }
    // PETG: 32 of 43 MPa is the low end of a strength.
    for cycles in [500.0, 3_000.0, 20_000.0, 1e5, 1e6] {
        let design = 0.1 * (2e6_f64 / cycles).powf(1.0 / 5.5);
        assert!(share(cycles).low * 32.0 / 43.0 < design * 1.1, "{cycles}: {:?}, {design}", share(cycles));
    }
    let (below, above) = (share(999_999.0), share(1_000_001.0));
    assert!((below.low - above.low).abs() < 1e-6, "{below:?} {above:?}");
}

/// A polymer that was tested keeps what it kept there: polyamide and ASA bear being pulled again and again.
#[test]
fn what_bears_repetition_is_told_from_what_does_not() {
    let lines = "service { place indoors; air 10 °C .. 23 °C }
  load \"pull\" { force 1 N toward -z at face \"end\"; fixed at face \"root\"; cyclic 1000000 times; factor 1 }
  face \"end\" toward +x
  face \"root\" toward -x";
    let kept = |polymer: &str| {
        let pin = format!("{lines}\n pin material \"{polymer}\" because \"to compare\"");
        let made = trial(block([60.0, 10.0, 10.0]), &pin).recipe("trial.partspec");
        let said = made.margins.iter().find(|m| m.what.contains("pull")).map(|m| m.because.text.to_string());
        let said = said.unwrap_or_else(|| panic!("{polymer}: {}", made.headline));
        let at = said.find(" along and").unwrap_or_else(|| panic!("{said}"));
        said[..at].rsplit(' ').next().and_then(|n| n.parse::<f64>().ok()).unwrap_or_else(|| panic!("{said}"))
    };
    let (petg, polyamide, asa) = (kept("PETG"), kept("PA12"), kept("ASA"));
    assert!(petg < polyamide && polyamide < asa, "{petg} {polyamide} {asa}");
}

/// Who leaves out how long a load is held is asked where a moment would do and a day would not, not refused.
#[test]
fn what_a_moment_would_bear_is_asked_not_refused() {
    let lines = format!(
        "{INDOORS}
  load \"grip\" {{ force 45 N toward -z at face \"end\"; fixed at face \"root\" }}
  face \"end\" toward +x
  face \"root\" toward -x"
    );
    let (made, page) = compiled(block([60.0, 10.0, 10.0]), &lines);
    assert!(made.headline.starts_with("A question first: Load \"grip\""), "{}", made.headline);
    assert!(page.contains("`load \"grip\" { held 60 s }`"), "{page}");
}

/// The hint writes what the writer wrote, not the example of the language.
#[test]
fn a_hint_names_what_was_written() {
    let found =
        trial(block([60.0, 10.0, 6.0]), "service { place indoors; contact \"water\" wet }").compile("trial.partspec");
    let told = found.diagnostics.iter().find(|d| d.message.contains("`contact`")).unwrap();
    assert!(told.hints[0].starts_with("write `contact \"water\" splash`, or `"), "{:?}", told.hints);
    // Who names no mesh is told of those that lie there.
    let bare = Workshop::empty()
        .with("shop.yaml", SHOP)
        .with("lid.stl", block([60.0, 10.0, 6.0]))
        .with("bare.partspec", "part \"bare\" { service { place indoors } }\n");
    let told = bare.compile("bare.partspec").diagnostics;
    let told = told.iter().find(|d| d.code == "part/no-mesh").unwrap();
    assert_eq!(told.hints[0], "write `mesh \"lid.stl\" in mm`, with its unit");
}

/// Two fluids that burn are one use withheld, which names both.
#[test]
fn what_is_withheld_names_all_that_brings_it_up() {
    let x: &[f64] = &[0.0, 2.0, 78.0, 80.0];
    let tray = blocks([x, x, &[0.0, 2.0, 20.0]], |[x, y, z]| z == 0 || x != 1 || y != 1, |p| p);
    let lines = "service { place indoors; air 5 °C .. 30 °C; contact \"engine oil\" splash; contact \"diesel\" splash }
  tight against \"diesel\"";
    let (_, page) = compiled(tray, lines);
    assert_eq!(page.matches("**Not for keeping in what burns.**").count(), 1, "{page}");
    assert!(page.contains("keep diesel and engine oil in vessels"), "{page}");
}

/// Which of two places is meant is asked with what each would lead to, and no question where both lead to the same.
#[test]
fn each_reading_of_a_face_says_what_it_leads_to() {
    let stepped = |high: f64| {
        let solid = |[x, _, z]: [usize; 3]| z == 0 || x == 1;
        blocks([&[0.0, 30.0, 60.0], &[0.0, 20.0], &[0.0, 8.0, high]], solid, |p| p)
    };
    let lines = |newtons: f64| {
        format!(
            "{INDOORS}
  load \"press\" {{ force {newtons} N toward -z at face \"top\"; fixed at face \"floor\"; held 1 h }}
  face \"top\" toward +z
  face \"floor\" toward -z"
        )
    };
    let (made, page) = compiled(stepped(16.0), &lines(5.0));
    let asked = made.assumptions.iter().find(|a| a.text.to_string().contains("2 places look +z")).unwrap();
    let write: Vec<&str> = asked.answers.iter().map(|a| a.0.as_str()).collect();
    assert_eq!(
        write,
        ["face \"top\" toward +z near (15 mm, 10 mm, 8 mm)", "face \"top\" toward +z near (45 mm, 10 mm, 16 mm)"]
    );
    assert!(!made.headline.contains("places look"), "both lead to the same: {}", made.headline);
    assert!(page.contains("near (45 mm, 10 mm, 16 mm)"), "{page}");
}

/// A close fit is printed where holes were measured, when all that costs is another nozzle.
#[test]
fn a_close_fit_goes_where_holes_were_measured() {
    let shop = SHOP.replace("surfaces:", "  - { name: brass-06, bore: 0.6 mm, metal: brass }\nsurfaces:");
    let lines = format!("{INDOORS}\n fit \"seat\" bearing 608 along z");
    let nozzle = |shop: &str| {
        let made = trial(plate_with_hole(22.0), &lines).with("shop.yaml", shop).recipe("trial.partspec");
        made.decisions.unwrap_or_else(|| panic!("refused: {}", made.headline)).nozzle.value
    };
    let of = |material: &str| {
        format!(
            "  - {{ printer: Closed, nozzle: brass-06, material: {material}, what: hole, axis: across-layers, offset: -0.2 mm, spread: 0.04 mm, count: 10, on: 2026-11-01 }}\n"
        )
    };
    let measured = format!("{shop}calibration:\n{}", ["PLA", "PETG", "ASA", "PA12"].map(of).concat());
    assert_eq!(nozzle(&shop), "brass-04");
    assert_eq!(nozzle(&measured), "brass-06");
}

/// A wide bore that is fitted and would weld better does not print a seat that was measured with another one at hand.
#[test]
fn a_close_fit_is_worth_the_change_to_the_nozzle_that_was_measured() {
    let shop = SHOP
        .replace("drive: direct }", "drive: direct, now: { spool: petg-1, nozzle: brass-08, surface: textured-pei } }")
        .replace("surfaces:", "  - { name: brass-08, bore: 0.8 mm, metal: brass }\nsurfaces:");
    let record = "calibration:\n  - { printer: Closed, nozzle: brass-04, material: PETG, what: hole, axis: across-layers, offset: -0.16 mm, spread: 0.04 mm, count: 10, on: 2026-11-01 }\n";
    let nozzle = |shop: &str, fit: &str| {
        let lines =
            format!("{INDOORS}\n {fit} along z\n prefer strength\n pin material \"PETG\" because \"to compare\"");
        let made = trial(plate_with_hole(22.0), &lines).with("shop.yaml", shop).recipe("trial.partspec");
        made.decisions.unwrap_or_else(|| panic!("refused: {}", made.headline)).nozzle.value
    };
    let measured = format!("{shop}{record}");
    assert_eq!(nozzle(&shop, "fit \"seat\" bearing 608"), "brass-08", "nothing was measured");
    assert_eq!(nozzle(&measured, "fit \"seat\" bearing 608"), "brass-04");
    assert_eq!(
        nozzle(&measured, "fit \"pole\" bore 22 mm +1 mm -1 mm"),
        "brass-08",
        "what is not close needs no record"
    );
}

/// Two ways to build the same solid part say nothing of why it is solid: the next that is lighter does.
#[test]
fn why_the_inside_is_solid_is_told() {
    let lines = format!(
        "{INDOORS}\n consequence damage\n load \"jar\" {{ force 60 N toward -z at face \"end\"; held 1 year }}\n face \"end\" toward +x"
    );
    let (made, page) = compiled(block([60.0, 30.0, 20.0]), &lines);
    let decisions = made.decisions.unwrap_or_else(|| panic!("refused: {}", made.headline));
    assert_eq!(decisions.build_up.value, "solid");
    let told = page.split("Build-up: solid").nth(1).unwrap().split("## ").next().unwrap().to_owned();
    assert!(told.contains("as good as thick-walled-solid"), "{told}");
    assert!(told.contains("better than") && told.contains("nothing speaks for"), "{told}");
}

/// A reason that two cautions share stands once, with both their rules.
#[test]
fn a_shared_reason_stands_once() {
    let shop = SHOP
        .replace("drive: direct }", "drive: direct, now: { spool: petg-1, nozzle: brass-08, surface: textured-pei } }")
        .replace("surfaces:", "  - { name: brass-08, bore: 0.8 mm, metal: brass }\nsurfaces:");
    let lines = format!("{INDOORS}\n pin nozzle \"brass-04\" because \"to change it\"");
    let home = trial(block([40.0, 30.0, 8.0]), &lines).with("shop.yaml", shop);
    home.run(&["compile", "trial.partspec"]);
    let page = home.read("trial.recipe.md").split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(page.contains("*(hot-bed, hot-nozzle-change; from memory)*"), "{page}");
}

/// A wheel in the sun: with air behind it black does in ASA, flat against a wall it does not; unsaid, the refusal asks.
#[test]
fn what_hangs_free_in_the_sun_is_asked_about_not_refused() {
    let of = |back: &str| {
        let service = format!(
            "service {{ place outdoors; air -15 °C .. 35 °C; sun direct for 1 year; colour black; wet rain; {back} }}"
        );
        compiled(revolved(&[[11.0, 0.0], [32.0, 0.0], [32.0, 12.0], [11.0, 12.0]]), &service)
    };
    let (free, page) = of("back free");
    assert_eq!(material(&free), "ASA", "{}", free.headline);
    assert!(page.contains("mount it a finger's width off"), "{page}");
    let (covered, _) = of("back covered");
    assert!(covered.decisions.is_none(), "{}", covered.headline);
    let (unsaid, page) = of("");
    assert!(unsaid.headline.starts_with("A question first: Whether air passes behind"), "{}", unsaid.headline);
    assert!(page.contains("`service { back free }`: ASA"), "{page}");
}

/// What stands on an edge and is not shown to hold is no better than what falls short by a little on its flat side.
#[test]
fn no_part_is_stood_on_an_edge_to_leave_a_doubt_open() {
    for newtons in [20.0, 60.0, 120.0, 200.0, 400.0] {
        let lines = format!(
            "{INDOORS}
  load \"weight\" {{ force {newtons} N toward -x at face \"end\"; fixed at face \"root\"; held 1 year }}
  face \"end\" toward +x
  face \"root\" toward -x"
        );
        let (made, _) = compiled(block([40.0, 24.0, 12.0]), &lines);
        let decisions = made.decisions.as_ref().unwrap_or_else(|| panic!("{newtons} N: {}", made.headline));
        assert!(!decisions.pose.value.contains("tilted"), "{newtons} N: {}", made.headline);
    }
}

/// What lies at the low end of what a polymer stands goes behind one with room, where both are at hand.
#[test]
fn heat_within_its_doubt_is_worth_another_spool() {
    let lines = "service { place indoors; air 10 °C .. 40 °C; peak 60 °C }\n fit \"lid\" insert M3 count 1 along z";
    let (made, _) = compiled(plate_with_hole(4.0), lines);
    assert_eq!(material(&made), "ASA", "{}", made.headline);
}

/// A kelvin below that end is no other world: what it costs fades over a few.
#[test]
fn heat_near_its_doubt_is_not_all_or_nothing() {
    let at = |air: f64| {
        let lines =
            format!("service {{ place indoors; air 10 °C .. {air} °C }}\n fit \"lid\" insert M3 count 1 along z");
        let spec = format!("part \"trial\" {{\n  mesh \"trial.stl\" in mm\n{lines}\n}}\n");
        // The spool of PLA is on the machine, the other on the shelf.
        let shop = one_spool("PLA", "white") + "  - { name: two, material: PETG, colour: white, left: 900 g }\n";
        let home = Workshop::empty().with("shop.yaml", shop).with("trial.stl", plate_with_hole(4.0));
        home.with("trial.partspec", spec).recipe("trial.partspec")
    };
    // The low end of what PLA stands is 40 °C.
    let cooler = at(30.0);
    assert_eq!(material(&cooler), "PLA", "{}", cooler.headline);
    for air in [39.0, 40.0, 41.0] {
        let made = at(air);
        assert_eq!(material(&made), "PETG", "{air} °C: {}", made.headline);
    }
}

/// A slot has flat walls: nothing that turns finishes it.
#[test]
fn a_slot_is_not_drilled() {
    let x: &[f64] = &[0.0, 12.0, 21.0, 33.0];
    let socket = blocks([x, x, &[0.0, 4.0, 16.0]], |[x, y, z]| z == 0 || x != 1 || y != 1, |p| p);
    let lines = format!("{INDOORS}\n fit \"square\" slot 9 mm +0.15 mm +0.05 mm along z");
    let (_, page) = compiled(socket, &lines);
    assert!(!page.contains("sharp drill") && !page.contains("Drill \"square\""), "{page}");
}

/// An arm that bears being opened once and not often is asked about: how often it is opened decides.
#[test]
fn how_often_a_catch_is_opened_is_asked_where_it_decides() {
    let pin = "pin material \"PETG\" because \"to compare\"";
    let asked = |undercut: f64| {
        let (made, _) = compiled(lid(1.6, 12.0), &format!("{}\n{pin}", catch(undercut, "along x")));
        made.assumptions.iter().any(|a| a.text.to_string().starts_with("How often is"))
    };
    assert!(!asked(0.2));
    assert!(asked(0.7));
}

/// A digit that slipped holds the part elsewhere: what is named near, and lies far off, is told with how far.
#[test]
fn a_face_far_from_where_it_is_said_to_be_is_told() {
    let told = |near: &str| {
        let lines = format!("{INDOORS}\n face \"end\" toward +x near {near} cosmetic");
        let found = trial(block([60.0, 20.0, 10.0]), &lines).compile("trial.partspec").diagnostics;
        found.into_iter().find(|d| d.code == "face/far-from-near").map(|d| d.message)
    };
    assert_eq!(told("(60 mm, 10 mm, 5 mm)"), None);
    assert_eq!(told("(58.5 mm, 9 mm, 4 mm)"), None, "near need only be near");
    let said = told("(46 mm, 10 mm, 5 mm)").unwrap();
    assert!(said.contains("14 mm off"), "{said}");
}

/// A load of hours need not meet the hottest hour: where that decides, it is asked, and what is written settles it.
#[test]
fn how_warm_a_part_is_under_a_load_of_hours_is_asked_not_refused() {
    let of = |at: &str, held: &str| {
        let lines = format!(
            "service {{ place outdoors; air -10 °C .. 35 °C; sun direct for 1 year; colour black; back free }}
  load \"box\" {{ force 40 N toward -z at face \"end\"; fixed at face \"root\"; {held}; {at} }}
  face \"end\" toward +x
  face \"root\" toward -x
  forbid material \"PC\" because \"to compare\""
        );
        compiled(block([60.0, 12.0, 12.0]), &lines)
    };
    let (unsaid, page) = of("", "held 2 h");
    assert!(unsaid.headline.starts_with("A question first: How warm the part is"), "{}", unsaid.headline);
    assert!(page.contains("`load \"box\" { temperature 35 °C }`: "), "{page}");
    assert!(of("temperature 35 °C", "held 2 h").0.decisions.is_some());
    // What stands for years meets every hour there is.
    let (years, _) = of("", "held 5 years");
    assert!(!years.headline.contains("how warm the part is while"), "{}", years.headline);
}

/// Of a load that comes again and again, only the share that comes so warm is counted at the greatest heat, where the spec says
/// how warm the part usually is.
#[test]
fn of_repeated_loads_the_share_so_warm_is_counted_hot() {
    let of = |usual: &str| {
        let lines = format!(
            "service {{ place outdoors; air -10 °C .. 35 °C; sun direct for 1 year; colour white; back free; {usual} }}
  load \"lever\" {{ force 3 N toward -z at face \"end\"; fixed at face \"root\"; cyclic 20000 }}
  face \"end\" toward +x
  face \"root\" toward -x
  pin material \"ASA\" because \"to compare\""
        );
        let (made, page) = compiled(block([60.0, 12.0, 12.0]), &lines);
        (margin(&made, "load \"lever\"").ratio.unwrap(), page)
    };
    let ((open, _), (usual, page)) = (of(""), of("usual 15 °C"));
    assert!(open <= usual, "{open} {usual}");
    assert!(page.contains("after 600 cycles of the 20000"), "{page}");
}

/// What sits on an engine is shaken: a spec with steady loads alone is asked, one that says how it is shaken is not.
#[test]
fn what_shakes_is_asked_for_its_load() {
    let of = |lines: &str| {
        let lines = format!(
            "{INDOORS}
  purpose \"Holds a hose beside the engine\"
  load \"hose\" {{ force 5 N toward -z at face \"end\"; fixed at face \"root\"; held 5 years }}
  face \"end\" toward +x
  face \"root\" toward -x
  {lines}"
        );
        compiled(block([40.0, 12.0, 12.0]), &lines)
    };
    let (unsaid, page) = of("");
    assert!(unsaid.decisions.is_some() && page.contains("is the part shaken along with it?"), "{page}");
    assert!(of("ask vibration").0.headline.contains("How is it shaken?"));
    for settled in [
        "no vibration because \"the hose is rubber\"",
        "ask vibration\n load \"shake\" { acceleration 50 m/s2 toward -z; fixed at face \"root\"; cyclic 1000000 }",
    ] {
        let (made, page) = of(settled);
        assert!(!page.contains("shaken along") && !made.headline.contains("How is it shaken"), "{settled}: {page}");
    }
}

/// A bore turns on its pin: what is not shown says what would stop that.
#[test]
fn a_hold_that_lets_the_part_turn_is_told_what_would_stop_it() {
    let lines = format!(
        "{INDOORS}
  load \"hand\" {{ force 5 N toward -y at face \"end\"; fixed at fit \"hub\"; held 1 min }}
  face \"end\" toward +x
  fit \"hub\" bore 4.5 mm H9 along z"
    );
    let (_, page) = compiled(plate_with_hole(4.5), &lines);
    assert!(page.contains("say what stops that, a second `fixed at`"), "{page}");
}

/// What is laid on support is rough: the fit it touches is named, and a wall that must be tight is to be tried.
#[test]
fn what_support_touches_is_named() {
    // A stem between two discs: lying, it is laid on support; standing, the upper disc is.
    let spool = || {
        revolved(&[
            [4.0, 0.0],
            [30.0, 0.0],
            [30.0, 6.0],
            [10.0, 6.0],
            [10.0, 46.0],
            [30.0, 46.0],
            [30.0, 52.0],
            [4.0, 52.0],
        ])
    };
    let of = |pose: &str, more: &str| {
        let lines = format!(
            "{INDOORS}
  {more}
  fit \"stem\" shaft 20 mm +0.3 mm -0.3 mm along z
  pin pose \"{pose}\" because \"to compare\""
        );
        compiled(spool(), &lines).1
    };
    let (lying, standing) = (of("-y down", ""), of("-z down", "tight against \"water\""));
    assert!(lying.contains("Support is laid under \"stem\""), "{lying}");
    assert!(!standing.contains("Support is laid under"), "{standing}");
    assert!(standing.contains("laid on support") && !lying.contains("laid on support"), "{standing}");
}

/// What acts sideways over a hole acts on the face about it: its lever is that of the face, not of the wall within.
#[test]
fn a_sideways_load_over_a_hole_stays_on_its_face() {
    let lines = format!(
        "{INDOORS}
  load \"knock\" {{ force 20 N toward +x at (0 mm, 0 mm, 10 mm) over 16 mm x 16 mm; fixed at face \"under\"; shock }}
  face \"under\" toward -z"
    );
    let told = trial(plate_with_hole(6.0), &lines).run(&["explain", "trial.partspec", "load", "knock"]);
    assert!(told.stdout.contains("(20, 0, 0) N, its middle at (0, 0, 10)"), "{}", told.stdout);
}

/// A pin with play is held by what it lies against and not glued: nothing keeps it from being drawn out.
#[test]
fn a_loose_pin_is_not_glued_in_its_hole() {
    let pin = revolved(&[[0.0, 0.0], [8.0, 0.0], [8.0, 4.0], [2.5, 4.0], [2.5, 16.0], [0.0, 16.0]]);
    let lines = format!(
        "{INDOORS}
  load \"pull\" {{ force 10 N toward -z at face \"head\"; fixed at fit \"pin\"; held 1 min }}
  face \"head\" toward -z
  fit \"pin\" shaft 5 mm +0.1 mm -0.1 mm along z"
    );
    let (_, page) = compiled(pin, &lines);
    assert!(page.contains("free to move"), "{page}");
}

// A foot with a recess under it: what it rests on is its rim, not the larger ceiling of the recess.
#[test]
fn a_part_rests_on_the_outermost_of_the_faces_that_may_be_meant() {
    // A disc 60 across and 8 thick, hollowed 2 deep to 52 across.
    let outline = [[0.0, 8.0], [0.0, 2.0], [26.0, 2.0], [26.0, 0.0], [30.0, 0.0], [30.0, 8.0]];
    let home = Workshop::empty().with("foot.stl", revolved(&outline)).with(
        "foot.partspec",
        "part \"foot\" { mesh \"foot.stl\" in mm; face \"under\" toward -z; face \"top\" toward +z
           load \"weight\" { force 50 N toward -z at (0 mm, 0 mm, 8 mm) across 10 mm; rests on face \"under\"; held 1 min } }\n",
    );
    let run = home.run(&["stress", "foot.partspec", "--no-cache", "--print", "json"]);
    // It bends as a disc held at its rim: a disc that rested on its ceiling would only be pressed.
    let moves = run.json()["loads"][0].pointer("/elastic/displacement_mm").unwrap().as_f64().unwrap();
    assert!(moves > 0.01, "{moves} {}", run.stdout);
    let told = home.run(&["check", "foot.partspec", "--no-cache"]).stdout;
    assert!(told.contains("taken to be the outermost, since the part rests on it"), "{told}");
}
