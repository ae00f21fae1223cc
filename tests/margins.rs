//! Margins choose: what makes them hold is taken, and a workshop's own rule moves choice, verdict, caution and status together.

use makeready::recipe::Status;
use makeready::resolve::{Band, MarginKind};

use crate::workshop::read::Recipe;
use crate::workshop::reading::{margin, material, setting};
use crate::workshop::shapes::{block, blocks, plate, plate_with_hole};
use crate::workshop::{Workshop, bar, one_spool, shapes};
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
    let (light, heavy) = (beam(&load(0.7)), beam(&load(13.0)));
    assert_ne!(setting(&light, "infill"), "100 %", "{:#?}", light.margins);
    assert_eq!(margin(&light, "load \"tip\"").verdict, "holds");
    // Solid it leaves 1.15; by its skin alone less than the load.
    assert_eq!(setting(&heavy, "infill"), "100 %", "{:#?}", heavy.margins);
    assert!(margin(&heavy, "load \"tip\"").verdict.starts_with("holds"));
    let plain = beam(COOL);
    assert_eq!(build_up(&plain), "plain");
}

#[test]
fn what_a_pin_leaves_unshown_is_a_question_first_unless_it_is_a_nuisance() {
    let pinned = format!("{}  pin infill 20 % because \"it is lighter\"\n", load(18.0));
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

/// A job of this mesh by a workshop of one machine and one spool, as data.
fn as_data(mesh: String, shop: &str, lines: &str) -> makeready::recipe::Recipe {
    let spec = format!("part \"bar\" {{ mesh \"bar.stl\" in mm; {lines} }}\n");
    let made = Workshop::empty().with("bar.stl", mesh).with("shop.yaml", shop).with("bar.partspec", spec);
    let mut compiled = made.compile("bar.partspec");
    assert!(compiled.parts.len() == 1, "{:?}", compiled.diagnostics);
    compiled.parts.remove(0).recipe
}

/// Demand, capacity and room of a margin in millimetres or megapascals, each where it is known.
fn numbers(recipe: &makeready::recipe::Recipe, kind: MarginKind) -> [f64; 3] {
    let found = recipe.margins.iter().find(|m| m.kind == kind).unwrap_or_else(|| panic!("{:#?}", recipe.margins));
    let shown = |q: makeready::quantity::Quantity| q.in_unit("mm").or_else(|| q.in_unit("MPa")).unwrap_or(q.si);
    let typical = |band: Option<Band>| band.map_or(f64::NAN, |b| shown(b.typical));
    let near = |x: f64| (1e4 * x).round() / 1e4;
    [near(typical(found.demand)), near(typical(found.capacity)), near(found.spare.map_or(f64::NAN, shown))]
}

const INSIDE: &str = "service { place indoors; air 10 °C .. 23 °C }; consequence nuisance";

#[test]
fn a_margin_carries_the_numbers_it_is_judged_by() {
    let petg = one_spool("PETG", "white");
    // A brim is laid round on both sides, and so is the room left.
    let bed = as_data(block([200.0, 200.0, 4.0]), &petg, &format!("{INSIDE}; pin brim 2 mm because \"x\""));
    assert_eq!(numbers(&bed, MarginKind::BedRoom), [204.0, 210.0, 3.0]);
    // A finer bore than the usual is given no credit for a slit.
    let fork = || {
        let x: &[f64] = &[0.0, 15.0, 15.25, 30.0];
        blocks([x, &[0.0, 20.0], &[0.0, 3.0, 12.0]], |c| c[0] != 1 || c[2] == 0, |p| p)
    };
    for bore in ["0.4 mm", "0.25 mm"] {
        let shop = petg.replace("bore: 0.4 mm", &format!("bore: {bore}"));
        let [demand, capacity, spare] = numbers(&as_data(fork(), &shop, INSIDE), MarginKind::Slit);
        assert_eq!([demand, capacity, spare], [0.3, 0.25, -0.05], "{bore}");
    }
    // The lesser of what is asked for and what is there counts, of a wall under pressure and of a depth.
    let lines = format!("{INSIDE}; pressure 2 bar of \"water\" bore 4 mm; wall at least 2 mm");
    assert_eq!(numbers(&as_data(block([60.0, 10.0, 10.0]), &petg, &lines), MarginKind::Pressure)[1], 2.0);
    let lines = format!("{INSIDE}; fit \"h\" insert M6 along z depth 8 mm");
    let insert = as_data(plate_with_hole(8.0), &petg, &lines);
    assert_eq!(numbers(&insert, MarginKind::Depth)[1], 8.0);
    // A fin between parallel sides is the wall, however small.
    let fin = |wide: f64| {
        let x = [0.0, 30.0, 30.0 + wide, 60.0];
        blocks([&x, &[0.0, 4.0, 6.0, 10.0], &[0.0, 10.0, 12.0]], |c| c[2] == 0 || (c[0] == 1 && c[1] == 1), |p| p)
    };
    let thin = as_data(fin(0.5), &petg, &format!("{INSIDE}; wall at least 3 mm"));
    assert_eq!(numbers(&thin, MarginKind::Wall)[1], 0.5);
    // Where one nozzle lays one line there, that is told of the fin and of the wall beyond it; where all lay two, of neither.
    let walls = |wide: f64| {
        let mesh = as_data(fin(wide), &petg, INSIDE).mesh;
        let walls = mesh.into_iter().filter(|m| m.name.starts_with("thinnest wall"));
        walls.map(|m| (m.name, m.warning)).collect::<Vec<_>>()
    };
    assert_eq!(walls(0.5), [("thinnest wall", false), ("thinnest wall beyond spots", false)]);
    assert_eq!(walls(1.0), [("thinnest wall", false)]);
}

#[test]
fn a_boss_counts_the_beads_round_its_hole_and_all_of_a_wall_they_fill() {
    let tube = |outer: f64| shapes::revolved(&[[4.0, 0.0], [outer, 0.0], [outer, 20.0], [4.0, 20.0]]);
    let lines = format!("{INSIDE}; fit \"h\" insert M6 along z; pin infill 20 % because \"x\"");
    let boss = |outer: f64| as_data(tube(outer), &one_spool("PETG", "white"), &lines);
    // The beads of both sides meet in two millimetres, not in eight.
    let thin = numbers(&boss(6.0), MarginKind::Boss)[1];
    assert!((thin - 2.0).abs() < 0.03, "{thin}: facets take a little");
    let thick = boss(12.0);
    let [demand, capacity, _] = numbers(&thick, MarginKind::Boss);
    assert!(capacity < 4.0, "{capacity}");
    // Hardly a boss left is less than what is usual.
    let told = thick.margins.iter().find(|m| m.kind == MarginKind::Boss).unwrap().told.demand.to_string();
    // "2.3 mm of wall round the hole at the least, 4.7 mm usual": what is asked is what counts, the usual stands beside it.
    let asked: f64 = told.split(' ').next().unwrap().parse().unwrap();
    assert!((asked - demand).abs() < 0.06, "{told}");
    let usual: f64 = told.split("least, ").nth(1).unwrap().split(' ').next().unwrap().parse().unwrap();
    let share = makeready::catalogue::built_in().0.value(makeready::catalogue::figures::BOSS_LEAST);
    assert!((demand - share * usual).abs() < 0.06 && share < 1.0, "{demand} of {usual}");
}

#[test]
fn a_snap_bears_a_band_of_strains() {
    let lines = format!("{INSIDE}; fit \"s\" snap 0.5 mm reach 20 mm thick 1.5 mm");
    let recipe = as_data(block([60.0, 10.0, 10.0]), &one_spool("PETG", "white"), &lines);
    let snap = recipe.margins.iter().find(|m| m.kind == MarginKind::Snap).unwrap();
    let (band, demand) = (snap.capacity.unwrap(), snap.demand.unwrap());
    assert!(band.low.si < band.typical.si && band.typical.si <= band.high.si, "{band:?}");
    assert!((snap.ratio.unwrap() - band.low.si / demand.high.si).abs() < 1e-9, "the low end counts");
}

#[test]
fn a_ring_pulled_across_its_layers_bears_less() {
    let press = |up: &str| {
        let lines = format!("{INSIDE}; fit \"h\" press 8 mm along z; pin pose up {up} because \"x\"");
        numbers(&as_data(plate_with_hole(8.0), &one_spool("PETG", "white"), &lines), MarginKind::Press)[1]
    };
    assert!(press("+z") > press("+x"), "{} {}", press("+z"), press("+x"));
}

/// What paint is worth nobody computes: what keeps it up is asked, and the years between two coats are what the part is held to.
#[test]
fn under_paint_the_sun_is_asked_about_and_never_called_narrow() {
    let made = |years: u32, consequence: &str, more: &str| {
        let lines = format!(
            "service {{ place outdoors; air -5 °C .. 25 °C; sun direct for {years} years; colour \"white\" }}; consequence {consequence}{more}"
        );
        as_data(block([60.0, 10.0, 10.0]), &one_spool("PETG", "white"), &lines)
    };
    let sun = |recipe: &makeready::recipe::Recipe| {
        recipe.margins.iter().find(|m| m.kind == MarginKind::Sun).map(|m| m.verdict.words())
    };
    assert_eq!(made(10, "nuisance", "").status, Status::NotPrintableAsSpecified);
    for (consequence, status) in
        [("injury", Status::QuestionFirst), ("damage", Status::QuestionFirst), ("nuisance", Status::ReadyWithCautions)]
    {
        let recipe = made(10, consequence, "; treat paint");
        assert_eq!((sun(&recipe), recipe.status), (Some("not shown"), status), "{consequence}: {}", recipe.headline);
        let margin = recipe.margins.iter().find(|m| m.kind == MarginKind::Sun).unwrap();
        assert!(margin.because.text.to_string().contains("from one coat to the next"), "{}", margin.because.text);
    }
    // Stated as the time from coat to coat it is judged as any other.
    let recoated = made(1, "damage", "; treat paint");
    assert_eq!(sun(&recoated), Some("holds narrowly"));
}

/// The numbers that cautions print are those of the margin they speak of, infill counted.
#[test]
fn a_load_of_a_filled_part_is_cautioned_by_its_own_margin_and_tried() {
    let made = |loads: &str| {
        let lines = format!(
            "service {{ place indoors; air 10 °C .. 23 °C }}; consequence damage; face \"root\" toward -x; face \"end\" toward +x; {loads} pin infill 20 % because \"light\""
        );
        as_data(block([80.0, 30.0, 30.0]), &one_spool("PETG", "white"), &lines)
    };
    let load = |name: &str, newton: u32| {
        format!(
            "load \"{name}\" {{ force {newton} N toward -z at face \"end\"; fixed at face \"root\"; held 1 day; factor 1.5 }};"
        )
    };
    let ratio = |recipe: &makeready::recipe::Recipe, kind: MarginKind| {
        let margin = recipe.margins.iter().find(|m| m.kind == kind).unwrap();
        assert_eq!(margin.verdict.words(), "holds narrowly", "{:#?}", margin.ratio);
        margin.ratio.unwrap()
    };
    let told = |recipe: &makeready::recipe::Recipe, start: &str| {
        let cautions = recipe.cautions.iter().map(|c| c.text.to_string());
        let number = |text: &String| text.split("a margin of ").nth(1)?.split(' ').next()?.parse::<f64>().ok();
        cautions
            .filter(|text| text.starts_with(start))
            .find_map(|text| number(&text))
            .expect("a caution with its number")
    };
    let tried = |recipe: &makeready::recipe::Recipe, start: &str| {
        let mut steps = recipe.checklist.iter().flat_map(|p| &p.steps);
        steps.any(|s| s.text.to_string().starts_with(start))
    };
    let one = made(&load("tip", 90));
    assert!((told(&one, "The load \"tip\"") - ratio(&one, MarginKind::Load)).abs() < 0.006);
    assert!(tried(&one, "Try \"tip\" on one piece with 135 N"), "what holds narrowly is tried");
    let pair = made(&(load("a", 40) + &load("b", 40)));
    assert!((told(&pair, "The loads ") - ratio(&pair, MarginKind::LoadsTogether)).abs() < 0.006);
    // What holds with room is neither.
    let light = made(&load("tip", 20));
    assert!(light.margins.iter().any(|m| m.kind == MarginKind::Load && m.verdict.words() == "holds"));
    assert!(!tried(&light, "Try "));
}

/// A flat wall is as thick as it measures: only facets of a round make one look thinner than it was drawn.
#[test]
fn a_flat_wall_has_no_facets_to_make_up_for_it() {
    let petg = one_spool("PETG", "white");
    let asked = format!("{INSIDE}; wall at least 3 mm");
    let verdict = |mesh: String| {
        let recipe = as_data(mesh, &petg, &asked);
        let wall = recipe.margins.iter().find(|m| m.kind == MarginKind::Wall).unwrap();
        (wall.verdict.words(), numbers(&recipe, MarginKind::Wall)[1])
    };
    assert_eq!(verdict(block([60.0, 20.0, 2.96])), ("broken", 2.96));
    assert_eq!(verdict(block([60.0, 20.0, 2.998])), ("holds", 2.998), "3.00 mm as it is told");
    let tube = |outer: f64| shapes::revolved(&[[10.0, 0.0], [outer, 0.0], [outer, 30.0], [10.0, 30.0]]);
    let (word, measured) = verdict(tube(13.0));
    assert!(word == "holds" && measured < 2.9999, "{word} {measured}");
    assert_eq!(verdict(tube(12.8)).0, "broken");
}

/// The rule that judged a margin stands with it, the workshop's own too.
#[test]
fn a_margin_says_which_rule_judged_it() {
    let shop = one_spool("PETG", "white");
    let home = || {
        let made = Workshop::empty().with("bar.stl", block([60.0, 10.0, 10.0])).with("shop.yaml", &shop);
        made.with(
            "bar.partspec",
            "part \"bar\" {\n  mesh \"bar.stl\" in mm\n  service { place indoors; air 10 °C .. 50 °C }\n}\n",
        )
    };
    let rule = |recipe: &Recipe| margin(recipe, "heat").because.rule.clone();
    assert_eq!(rule(&home().recipe("bar.partspec")).as_deref(), Some("heat-met"));
    let own = "rule \"our-summers\" {\n  when margin.kind == heat and margin.room < 20 K\n  derive margin.verdict = narrow\n  because \"our summers are hotter than the record\"\n  source common-practice\n  example derives narrow { margin { kind heat; room 3 K } }\n  example quiet { margin { kind heat; room 90 K } }\n}\n";
    let own = home().with("own.rules", own).recipe("bar.partspec");
    assert_eq!(rule(&own).as_deref(), Some("our-summers"));
    // Nobody judged what no rule could.
    let blow = bar(Some(&shop), [60.0, 10.0, 10.0], &format!("{COOL}  impact drop 0.5 m"));
    assert_eq!(rule_of(&blow, "impact"), None);
}

fn rule_of(recipe: &Recipe, what: &str) -> Option<String> {
    margin(recipe, what).because.rule.clone()
}

/// Where people can be hurt the worst counts: the windless hour is held against the last the material stands, not against where it begins to give.
#[test]
fn the_windless_hour_counts_where_people_can_be_hurt() {
    let status = |air: u32, years: u32, consequence: &str| {
        let lines = format!(
            "service {{ place outdoors; air -5 °C .. {air} °C; sun direct for {years} years; colour \"grey\" }}; consequence {consequence}"
        );
        as_data(block([60.0, 10.0, 10.0]), &one_spool("ASA", "grey"), &lines).status
    };
    let refused = Status::NotPrintableAsSpecified;
    assert!(status(20, 1, "injury") != refused && status(30, 1, "nuisance") != refused);
    assert_eq!(status(30, 1, "injury"), refused);
    // And so is the early end of its life in the sun: six years of six to fifteen.
    assert!(status(20, 8, "nuisance") != refused);
    assert_eq!(status(20, 8, "injury"), refused);
}

#[test]
fn a_part_longer_than_the_bed_less_its_edges_is_cut_for_what_is_left() {
    let recipe = as_data(block([430.0, 100.0, 10.0]), &one_spool("PETG", "white"), INSIDE);
    let told = recipe.conflicts.iter().map(|c| c.text.to_string()).collect::<String>();
    assert!(told.contains("3 pieces"), "two of 215 mm do not lie on 210 mm: {told}");
}

// What is warm for hours is not held warm for years: between all of the time at the peak and none of it. Not said, the peak
// counts for all of it, and the recipe says so.
#[test]
fn a_load_held_for_years_counts_the_peak_for_a_part_of_them() {
    let held = |service: &str| {
        beam(&format!(
            "  service {{ place indoors; {service} }}\n  load \"tip\" {{ force 2 N toward -z at face \"end\"; fixed at face \"root\"; held 10 months; factor 1 }}\n"
        ))
    };
    let ratio = |recipe: &Recipe| margin(recipe, "load \"tip\"").ratio.unwrap();
    let [all, part, none] = ["air 10 °C .. 50 °C", "air 10 °C .. 50 °C; usual 20 °C", "air 10 °C .. 20 °C"].map(held);
    // Ten times as long takes a twentieth of what pipes keep (CP 312 and ASTM D2837 bracket it).
    assert!(ratio(&all) < 0.98 * ratio(&part), "{} {}", ratio(&all), ratio(&part));
    assert!(ratio(&part) < 0.95 * ratio(&none), "{} {}", ratio(&part), ratio(&none));
    let says = |recipe: &Recipe| recipe.assumptions.iter().any(|a| a.text.contains("most of the time is not stated"));
    assert_eq!([says(&all), says(&part), says(&none)], [true, false, false]);
}

/// What the sun heats is no warmer than the air by night: it is not at its hottest for all of some years. Where people can be
/// hurt that is not taken for granted.
#[test]
fn in_the_sun_a_load_of_years_is_not_held_at_noon_all_the_time() {
    let held = |service: &str, consequence: &str| {
        beam(&format!(
            "  consequence {consequence}\n  service {{ place outdoors; air 5 °C .. 25 °C; back free; sun direct for 1 year; {service} }}\n  load \"tip\" {{ force 1 N toward -z at face \"end\"; fixed at face \"root\"; held 10 months; factor 1 }}\n"
        ))
    };
    let ratio = |recipe: &Recipe| margin(recipe, "load \"tip\"").ratio.unwrap();
    let [open, cool, always] = ["", "usual 5 °C", "peak 60 °C"].map(|s| held(s, "damage"));
    assert!(ratio(&open) <= ratio(&cool), "{} {}", ratio(&open), ratio(&cool));
    assert!(ratio(&open) > 1.05 * ratio(&always), "{} {}", ratio(&open), ratio(&always));
    let told = |recipe: &Recipe| recipe.assumptions.iter().any(|a| a.text.contains("for 3 hours in a hundred"));
    assert_eq!([told(&open), told(&cool), told(&held("", "injury"))], [true, false, false]);
}

/// A limit of 62 °C is known as 58 to 68 °C: half a kelvin over its middle is no refusal, and no promise either.
#[test]
fn a_border_within_its_band_is_not_shown_but_where_people_can_be_hurt() {
    let made = |air: f64, more: &str| {
        beam(&format!("  service {{ place indoors; air 5 °C .. {air} °C }}\n  consequence {more}"))
    };
    for (air, consequence, status) in [
        (61.5, "damage", Status::ReadyWithCautions),
        (62.5, "damage", Status::QuestionFirst),
        (67.5, "damage", Status::NotPrintableAsSpecified),
        (62.5, "nuisance", Status::ReadyWithCautions),
        (67.5, "nuisance", Status::ReadyWithCautions),
        (68.5, "nuisance", Status::NotPrintableAsSpecified),
        (62.5, "injury", Status::NotPrintableAsSpecified),
    ] {
        let recipe = made(air, consequence);
        assert_eq!(recipe.status, status, "{air} °C, {consequence}: {}", recipe.headline);
        if status == Status::QuestionFirst || consequence == "nuisance" && status == Status::ReadyWithCautions {
            assert_eq!(margin(&recipe, "heat").verdict, "not shown");
            assert!(recipe.cautions.iter().any(|c| c.text.contains("lay it for a day at")), "{:#?}", recipe.cautions);
        }
    }
    // What stands it plainly goes first, however much work it is.
    let shop = one_spool("PETG", "white") + "  - { name: two, material: ABS, colour: white, left: 900 g }\n";
    let recipe =
        bar(Some(&shop), [60.0, 10.0, 10.0], "  service { place indoors; air 5 °C .. 62.5 °C }\n  consequence damage");
    assert_eq!(material(&recipe), "ABS", "{}", recipe.headline);
}

/// What is a nuisance only is not bought three times as dear for half a kelvin within a band of eight.
#[test]
fn a_hair_over_a_limit_costs_little_where_failure_is_a_nuisance() {
    let shop = one_spool("ASA", "black") + "  - { name: two, material: PA12-CF, colour: black, left: 900 g }\n";
    for air in [79.5, 80.5] {
        let lines = format!("  service {{ place indoors; air 5 °C .. {air} °C }}\n  consequence nuisance");
        let recipe = bar(Some(&shop), [60.0, 10.0, 10.0], &lines);
        assert_eq!(material(&recipe), "ASA", "{air} °C: {}", recipe.headline);
    }
}
