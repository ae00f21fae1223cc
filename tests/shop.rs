//! The workshop's file from the outside: what each of its keys does to a recipe, and what is said of mistakes in it.

use std::collections::BTreeSet;

use makeready::catalogue::shop::reference;
use makeready::cli::pipeline::Compiled;
use makeready::fits::feature::FeatureKind;
use makeready::render::yaml::yaml;

use crate::workshop::read::Recipe;
use crate::workshop::shapes::plate;
use crate::workshop::{Workshop, first, reading, root, shapes};

/// A block of which nothing is asked.
const BLOCK: &str = r#"part "block" {
  mesh "block.stl" in mm
  service { place indoors; air 5 °C .. 30 °C }
  consequence nuisance
  @
}
"#;

/// Two machines of one make.
const TWO: &str = "name: Yard
printers:
  - name: Alder
    build: [240 mm, 200 mm, 220 mm]
    nozzle_limit: 285 °C
    bed_limit: 110 °C
    enclosed: no
    drive: direct
    now: { material: PETG, spool: petg-a, nozzle: brass-04, surface: textured-pei, levelled: yes }
  - name: Birch
    build: [240 mm, 200 mm, 220 mm]
    nozzle_limit: 285 °C
    bed_limit: 110 °C
    enclosed: no
    drive: direct
    now: { material: PETG, spool: petg-b, nozzle: brass-06, surface: glass, levelled: yes }
nozzles:
  - { name: brass-04, bore: 0.4 mm, metal: brass }
  - { name: brass-06, bore: 0.6 mm, metal: brass }
surfaces: [textured-pei, glass]
agents: [pva-glue]
spools:
  - { name: petg-a, material: PETG, colour: black, left: 860 g }
  - { name: petg-b, material: PETG, colour: grey, left: 900 g }
";

/// The recipe of a block in a workshop, with these lines more.
fn recipe(shop: &str, lines: &str) -> Recipe {
    first(compiled(shop, lines))
}

fn compiled(shop: &str, lines: &str) -> Compiled {
    let mesh = std::fs::read(root().join("examples/spindle-block/spindle-block.stl")).unwrap();
    let made = Workshop::empty().with("shop.yaml", shop).with("block.stl", mesh);
    let made = made.with("posts.3mf", plate(FeatureKind::Outside, &[8.0]));
    let spec = match lines.contains("mesh ") {
        true => BLOCK.replace("  mesh \"block.stl\" in mm\n", ""),
        false => BLOCK.to_owned(),
    };
    made.with("block.partspec", spec.replace('@', lines)).compile("block.partspec")
}

fn steps(recipe: &Recipe) -> Vec<&str> {
    recipe.checklist.iter().flat_map(|phase| &phase.steps).map(|step| step.text.as_str()).collect()
}

fn says(recipe: &Recipe, words: &str) -> bool {
    steps(recipe).iter().any(|step| step.contains(words))
}

const ON_ALDER: &str = "pin printer \"Alder\" because \"the other runs\"";

/// A run in one colour does not go on from a spool of another; what is short is bought before anything begins.
#[test]
fn what_a_run_is_short_of_is_bought_first() {
    let short = |colour: &str, other: &str| {
        let shop = crate::workshop::one_spool("PETG", "white").replace("left: 900 g", "left: 200 g");
        let shop = format!("{shop}  - {{ name: two, material: PETG, colour: {other}, left: 900 g }}\n");
        let spec = format!(
            "part \"block\" {{ mesh \"block.stl\" in mm; quantity 20; service {{ place indoors; air 10 °C .. 25 °C; {colour} }} }}\n"
        );
        let home = Workshop::empty().with("shop.yaml", shop).with("block.partspec", spec);
        let recipe = home.with("block.stl", shapes::block([60.0, 30.0, 15.0])).recipe("block.partspec");
        let steps: Vec<String> = reading::steps(&recipe).iter().map(|s| (*s).to_owned()).collect();
        steps.iter().any(|s| s.starts_with("Buy ") && s.contains("PETG"))
    };
    assert!(short("colour \"white\"", "black"));
    assert!(!short("colour \"white\"", "white"));
}

#[test]
fn what_another_machine_holds_is_taken_only_in_so_many_words() {
    let lines = format!(
        "{ON_ALDER}\n  pin nozzle \"brass-06\" because \"wide\"\n  pin spool \"petg-b\" because \"grey\"\n  pin surface \"glass\" because \"flat\""
    );
    let taken = recipe(TWO, &lines);
    for words in [
        "brass-06 is in Birch: tell whoever runs Birch",
        "Take brass-06 out of Birch: heat it there to 240 °C, unload PETG",
        "Take petg-b out of Birch",
        "Take glass off Birch",
        "Bring back what was taken",
    ] {
        assert!(says(&taken, words), "{words}: {:#?}", steps(&taken));
    }
    let decided = taken.decisions.unwrap();
    assert!(decided.nozzle.detail.contains("in Birch now"), "{}", decided.nozzle.detail);
    assert!(decided.material.detail.contains("in Birch now"), "{}", decided.material.detail);
    assert!(decided.surface.detail.contains("on Birch now"), "{}", decided.surface.detail);
}

#[test]
fn what_is_at_hand_is_preferred_to_what_another_machine_holds() {
    let own = recipe(TWO, ON_ALDER);
    let decided = own.decisions.as_ref().unwrap();
    assert_eq!(decided.nozzle.value, "brass-04");
    assert_eq!(decided.surface.value, "textured-pei");
    assert!(decided.material.detail.contains("petg-a"), "{}", decided.material.detail);
    assert!(!steps(&own).iter().any(|step| step.contains("Birch")), "{:#?}", steps(&own));
    // With two of it there is one left in the drawer.
    let spare = TWO.replace("bore: 0.6 mm, metal: brass", "bore: 0.6 mm, metal: brass, count: 2");
    let fitted = recipe(&spare, &format!("{ON_ALDER}\n  pin nozzle \"brass-06\" because \"wide\""));
    assert!(!says(&fitted, "Birch"), "{:#?}", steps(&fitted));
}

#[test]
fn a_spool_on_the_shelf_comes_before_one_in_another_machine() {
    let shelf = TWO.replace(
        "  - { name: petg-b,",
        "  - { name: petg-c, material: PETG, colour: red, left: 300 g }\n  - { name: petg-b,",
    );
    let forbid = format!("{ON_ALDER}\n  pin spool \"petg-b\" because \"x\"");
    assert!(recipe(&shelf, &forbid).decisions.unwrap().material.detail.contains("petg-b"));
    let short = shelf.replace("left: 860 g", "left: 1 g");
    let taken = recipe(&short, ON_ALDER).decisions.unwrap().material.detail;
    assert!(taken.contains("petg-c"), "{taken}");
    // Where the shelf does not reach, the other machine's is taken, and said to be.
    let shorter = short.replace("left: 300 g", "left: 1 g");
    let last = recipe(&shorter, ON_ALDER);
    assert!(last.decisions.as_ref().unwrap().material.detail.contains("petg-b"));
    assert!(says(&last, "Take petg-b out of Birch"));
}

#[test]
fn a_machine_with_other_work_is_waited_for_or_left() {
    let busy =
        |day: &str| TWO.replacen("    drive: direct\n", &format!("    drive: direct\n    free_from: {day}\n"), 1);
    let free = recipe(TWO, "");
    assert_eq!(free.decisions.as_ref().unwrap().printer.value, "Alder");
    let other = recipe(&busy("2026-12-03"), "");
    assert_eq!(other.decisions.as_ref().unwrap().printer.value, "Birch");
    let waits = recipe(&busy("2026-12-03"), ON_ALDER);
    assert!(says(&waits, "Wait until Alder is free, 2026-12-03"));
    // Free on the day before the one wanted there is a day for the run, on the day itself there is none.
    let by = |day: &str| recipe(&busy("2026-12-03"), &format!("{ON_ALDER}\n  wanted by {day}"));
    assert!(by("2026-12-04").decisions.is_some());
    let late = by("2026-12-03");
    assert!(late.decisions.is_none());
    let lines: Vec<&str> = late.conflicts.iter().flat_map(|c| &c.requirements).map(|r| r.text.as_str()).collect();
    assert!(
        lines.iter().any(|l| l.contains("wanted by")) && lines.iter().any(|l| l.contains("pin printer")),
        "{lines:?}"
    );
}

/// A workshop that states every key there is; the words in front of `@` are replaced by the cases below.
const RICH: &str = "name: Full yard
currency: EUR
electricity: 0.40 money/kWh
labour: 30 money/h
extraction: yes
printers:
  - name: Alder
    build: [240 mm, 200 mm, 220 mm]
    edge: 6 mm
    nozzle_limit: 285 °C
    bed_limit: 110 °C
    enclosed: yes
    chamber: 45 °C
    drive: direct
    filament: 1.75 mm
    melt_zone: long
    flow: 20 mm3/s
    speed: 70 mm/s
    acceleration: 900 mm/s2
    pace: 1.2
    power: 130 W
    hour_rate: 1.10 money/h
    nozzle_torque: 1.5 Nm
    nozzles: [brass-04, brass-06, steel-04]
    surfaces: [sheet, glass]
    level_due: yes
    free_from: 2026-12-03
    now: { material: PETG, spool: petg-a, nozzle: brass-04, surface: sheet, agent: stick, levelled: yes }
  - name: Birch
    build: [240 mm, 200 mm, 220 mm]
    nozzle_limit: 285 °C
    bed_limit: 110 °C
    enclosed: no
    drive: bowden
    now: { spool: petg-b, nozzle: steel-04, surface: glass, levelled: yes }
nozzles:
  - { name: brass-04, bore: 0.4 mm, metal: brass, worn: yes }
  - { name: brass-06, bore: 0.6 mm, metal: brass }
  - { name: steel-04, bore: 0.4 mm, metal: hardened-steel, count: 1 }
surfaces:
  - { name: sheet, kind: smooth-pei, limit: 75 °C }
  - { name: glass, kind: glass, count: 1 }
agents:
  - { name: stick, kind: pva-glue }
spools:
  - { name: petg-a, material: PETG, colour: black, left: 900 g, price: 23 money/kg, filament: 1.75 mm, opened: 2026-10-30, dried: 2026-11-02, stored: dry-box, print_temperature: 246 °C, bed_temperature: 74 °C, spool_limit: 60 °C }
  - { name: petg-b, material: PETG, colour: grey, left: 300 g }
  - { name: abs-a, material: ABS, colour: black, left: 900 g }
  - { name: pla-a, material: PLA, colour: black, left: 900 g }
tools:
  dryer_limit: 90 °C
  oven_limit: 140 °C
  reamers: [6 mm H7, 8 mm H7]
  drills: [4.5 mm, 5 mm]
  taps: [M5]
  inserts:
    - { thread: M4, hole: 5.7 mm, outside: 6.4 mm, length: 8.2 mm, count: 3 }
  gauges: [caliper]
  lathe: yes
  iron: no
  scale: yes
  drill_press: yes
yields:
  - { printer: Alder, material: PETG, part: block, run: autumn, started: 40, good: 30, on: 2026-11-20 }
calibration:
  - { printer: Alder, nozzle: brass-04, material: PETG, what: hole, axis: across-layers, offset: -0.21 mm, scale: 1.001, spread: 0.05 mm, from: 3 mm, to: 30 mm, count: 12, on: 2026-11-03 }
  - { printer: Alder, nozzle: brass-04, material: PETG, what: overhang, angle: 61 deg, count: 3, on: 2026-11-03 }
  - { printer: Alder, nozzle: brass-04, material: PETG, what: bridge, span: 24 mm, count: 3, on: 2026-11-03 }
  - { printer: Alder, nozzle: brass-04, material: PETG, what: flow, flow: 5 mm3/s, count: 3, on: 2026-11-03 }
  - { printer: Alder, nozzle: brass-04, material: PETG, what: shrinkage, axis: x, scale: 0.98, count: 3, on: 2026-11-03 }
catalogue:
  figures:
    work_per_plate: { typ: 25 min, kind: computed, note: timed }
";

/// The two holes of the block's foot, the bearing's seat, and what else makes the tools count.
const ASKED: &str = "quantity 90
  pin printer \"Alder\" because \"it is\"
  pin material \"PETG\" because \"it is\"
  pin nozzle \"brass-04\" because \"it is\"
  pin surface \"sheet\" because \"it is\"
  pin pose up +z because \"it is\"
  fit \"dowels\" dowel 6 mm count 2 along z";

/// What a case begins from: the file above and the lines above, with a piece of either replaced.
struct Case {
    key: &'static str,
    /// The piece of the shop's file that states the key.
    stated: &'static str,
    /// What stands in its place: nothing, and values that are absurd or at least other.
    instead: &'static [&'static str],
    /// Lines of the spec in place of those above, where it takes others to show the effect.
    lines: Option<&'static str>,
}

const fn case(key: &'static str, stated: &'static str, instead: &'static [&'static str]) -> Case {
    Case { key, stated, instead, lines: None }
}

const fn with(key: &'static str, lines: &'static str, stated: &'static str, instead: &'static [&'static str]) -> Case {
    Case { key, stated, instead, lines: Some(lines) }
}

const STEEL: &str = "pin printer \"Alder\" because \"x\"\n  pin nozzle \"steel-04\" because \"x\"";
const ON_GLASS: &str = "pin printer \"Alder\" because \"x\"\n  pin surface \"glass\" because \"x\"";
const GREY: &str = "pin spool \"petg-b\" because \"x\"\n  service { colour \"grey\" }";
const INSERTS: &str = "quantity 8\n  pin printer \"Alder\" because \"x\"\n  fit \"bolts\" insert M4 count 2 along z";
const CLEARANCE: &str = "pin printer \"Alder\" because \"x\"\n  fit \"bolts\" clearance M4 fine count 2 along z";
const ANNEALED: &str = "pin printer \"Alder\" because \"x\"\n  pin material \"PLA\" because \"x\"\n  treat anneal";

/// Every key of the file, and what of it shows.
fn cases() -> Vec<Case> {
    let alder = "  - name: Alder\n";
    vec![
        case("name", "name: Full yard", &["name: Other yard"]),
        case("currency", "currency: EUR\n", &["", "currency: CHF\n"]),
        case("electricity", "electricity: 0.40 money/kWh\n", &["", "electricity: 900 money/kWh\n"]),
        case("labour", "labour: 30 money/h\n", &["", "labour: 9000 money/h\n"]),
        with("extraction", "pin material \"ABS\" because \"x\"", "extraction: yes\n", &["", "extraction: no\n"]),
        case("printers.name", alder, &["  - name: Aspen\n"]),
        case(
            "printers.build",
            "[240 mm, 200 mm, 220 mm]\n    edge",
            &["[24 mm, 20 mm, 22 mm]\n    edge", "[900 mm, 900 mm, 900 mm]\n    edge"],
        ),
        case("printers.edge", "    edge: 6 mm\n", &["    edge: 90 mm\n"]),
        case(
            "printers.nozzle_limit",
            "nozzle_limit: 285 °C\n    bed_limit: 110 °C\n    enclosed: yes",
            &["nozzle_limit: 190 °C\n    bed_limit: 110 °C\n    enclosed: yes"],
        ),
        case("printers.bed_limit", "bed_limit: 110 °C\n    enclosed: yes", &["bed_limit: 20 °C\n    enclosed: yes"]),
        with(
            "printers.enclosed",
            "pin material \"ABS\" because \"x\"\n  pin printer \"Alder\" because \"x\"",
            "enclosed: yes",
            &["enclosed: no"],
        ),
        with(
            "printers.chamber",
            "pin material \"ABS\" because \"x\"\n  pin printer \"Alder\" because \"x\"",
            "    chamber: 45 °C\n",
            &["", "    chamber: 160 °C\n"],
        ),
        case("printers.drive", "drive: direct", &["drive: bowden"]),
        case("printers.filament", "    filament: 1.75 mm\n", &["    filament: 2.85 mm\n"]),
        with(
            "printers.melt_zone",
            ON_BARE,
            "    melt_zone: long\n    flow: 20 mm3/s\n",
            &["    melt_zone: short\n", "    melt_zone: very-long\n"],
        ),
        with("printers.flow", ON_BARE, "    flow: 20 mm3/s\n", &["", "    flow: 1 mm3/s\n"]),
        with("printers.speed", ON_BARE, "    speed: 70 mm/s\n", &["", "    speed: 10 mm/s\n"]),
        case("printers.acceleration", "    acceleration: 900 mm/s2\n", &["", "    acceleration: 1 mm/s2\n"]),
        case("printers.pace", "    pace: 1.2\n", &["", "    pace: 40\n"]),
        case("printers.power", "    power: 130 W\n", &["", "    power: 90000 W\n"]),
        case("printers.hour_rate", "    hour_rate: 1.10 money/h\n", &["", "    hour_rate: 900 money/h\n"]),
        with("printers.nozzle_torque", STEEL, "    nozzle_torque: 1.5 Nm\n", &["", "    nozzle_torque: 3 Nm\n"]),
        case("printers.nozzles", "    nozzles: [brass-04, brass-06, steel-04]\n", &["    nozzles: [brass-06]\n"]),
        case("printers.surfaces", "    surfaces: [sheet, glass]\n", &["    surfaces: [glass]\n"]),
        case("printers.level_due", "    level_due: yes\n", &["", "    level_due: no\n"]),
        case("printers.free_from", "    free_from: 2026-12-03\n", &["", "    free_from: 2031-01-01\n"]),
        case("printers.now.material", "now: { material: PETG, spool: petg-a,", &["now: { material: PLA,", "now: {"]),
        case("printers.now.spool", "spool: petg-a, nozzle: brass-04", &["nozzle: brass-04"]),
        case(
            "printers.now.nozzle",
            "nozzle: brass-04, surface: sheet",
            &["surface: sheet", "nozzle: brass-06, surface: sheet"],
        ),
        case("printers.now.surface", "surface: sheet, agent: stick", &["agent: stick"]),
        with(
            "printers.now.agent",
            "pin agent none because \"x\"\n  pin material \"PLA\" because \"x\"\n  pin surface \"sheet\" because \"x\"\n  pin printer \"Alder\" because \"x\"",
            "agent: stick, ",
            &[""],
        ),
        with(
            "printers.now.levelled",
            "pin printer \"Birch\" because \"x\"",
            "surface: glass, levelled: yes",
            &["surface: glass, levelled: no"],
        ),
        case(
            "nozzles.name",
            "brass-04, bore: 0.4 mm, metal: brass, worn",
            &["brass-05, bore: 0.4 mm, metal: brass, worn"],
        ),
        case(
            "nozzles.bore",
            "bore: 0.4 mm, metal: brass, worn",
            &["bore: 0.8 mm, metal: brass, worn", "bore: 40 mm, metal: brass, worn"],
        ),
        case("nozzles.metal", "bore: 0.4 mm, metal: brass, worn", &["bore: 0.4 mm, metal: hardened-steel, worn"]),
        case("nozzles.worn", ", worn: yes", &["", ", worn: no"]),
        with("nozzles.count", STEEL, "metal: hardened-steel, count: 1", &["metal: hardened-steel, count: 2"]),
        case("surfaces.name", "{ name: sheet, kind: smooth-pei", &["{ name: plate, kind: smooth-pei"]),
        case(
            "surfaces.kind",
            "{ name: sheet, kind: smooth-pei",
            &["{ name: sheet, kind: textured-pei", "{ name: sheet, kind: g10"],
        ),
        case("surfaces.limit", ", limit: 75 °C", &[", limit: 30 °C", ", limit: 71 °C"]),
        with("surfaces.count", ON_GLASS, "kind: glass, count: 1", &["kind: glass, count: 2"]),
        case("agents.name", "{ name: stick, kind: pva-glue }", &["{ name: pot, kind: pva-glue }"]),
        case("agents.kind", "{ name: stick, kind: pva-glue }", &["{ name: stick, kind: lacquer }"]),
        case("spools.name", "{ name: petg-a, material", &["{ name: petg-z, material"]),
        case("spools.material", "{ name: petg-a, material: PETG", &["{ name: petg-a, material: PLA"]),
        with(
            "spools.colour",
            "service { colour \"red\" }\n  pin printer \"Alder\" because \"x\"",
            "colour: black, ",
            &["", "colour: red, "],
        ),
        case("spools.left", "left: 900 g, ", &["left: 1 g, ", ""]),
        case("spools.price", "price: 23 money/kg, ", &["", "price: 900 money/kg, "]),
        case("spools.filament", "filament: 1.75 mm, opened", &["filament: 2.85 mm, opened"]),
        with("spools.opened", ON_BARE, "opened: 2026-10-30, dried: 2026-11-02, ", &["", "opened: 2020-10-30, "]),
        case("spools.dried", "dried: 2026-11-02, ", &["dried: 2026-11-19, ", "dried: 2026-11-01, "]),
        case("spools.stored", "stored: dry-box, ", &["", "stored: open, ", "stored: bag, ", "stored: sealed, "]),
        case(
            "spools.print_temperature",
            "print_temperature: 246 °C, ",
            &["", "print_temperature: 250 °C, ", "print_temperature: 500 °C, "],
        ),
        case(
            "spools.bed_temperature",
            "bed_temperature: 74 °C, ",
            &["", "bed_temperature: 70 °C, ", "bed_temperature: 500 °C, "],
        ),
        with(
            "spools.spool_limit",
            ON_BARE,
            "dried: 2026-11-02, stored: dry-box, print_temperature: 246 °C, bed_temperature: 74 °C, spool_limit: 60 °C",
            &[
                "dried: 2026-11-02, print_temperature: 246 °C, bed_temperature: 74 °C",
                "dried: 2026-11-02, print_temperature: 246 °C, bed_temperature: 74 °C, spool_limit: 20 °C",
            ],
        ),
        with("tools.dryer_limit", GREY, "  dryer_limit: 90 °C\n", &["", "  dryer_limit: 30 °C\n"]),
        with("tools.oven_limit", ANNEALED, "  oven_limit: 140 °C\n", &["", "  oven_limit: 30 °C\n"]),
        case("tools.reamers", "[6 mm H7, 8 mm H7]", &["[8 mm H7]", "[6 mm H9]"]),
        with("tools.drills", CLEARANCE, "[4.5 mm, 5 mm]", &["[]", "[99 mm]"]),
        with(
            "tools.taps",
            "fit \"bolts\" thread M5 count 2 along z\n  pin printer \"Alder\" because \"x\"",
            "  taps: [M5]\n",
            &["  taps: [M3]\n"],
        ),
        with(
            "tools.inserts",
            INSERTS,
            "    - { thread: M4, hole: 5.7 mm, outside: 6.4 mm, length: 8.2 mm, count: 3 }\n",
            &["    - { thread: M3 }\n"],
        ),
        case("tools.gauges", "  gauges: [caliper]\n", &["", "  gauges: [caliper, plug gauge 6 H7]\n"]),
        with("tools.lathe", POST, "  lathe: yes\n", &["", "  lathe: no\n"]),
        with("tools.iron", INSERTS, "  iron: no\n", &["", "  iron: yes\n"]),
        case("tools.scale", "  scale: yes\n", &["", "  scale: no\n"]),
        case("tools.drill_press", "  drill_press: yes\n", &["", "  drill_press: no\n"]),
        with("tools.inserts.thread", INSERTS, "thread: M4, ", &["thread: M5, "]),
        with("tools.inserts.hole", INSERTS, "hole: 5.7 mm, ", &["", "hole: 9 mm, "]),
        with("tools.inserts.outside", INSERTS, "outside: 6.4 mm, ", &["", "outside: 60 mm, "]),
        with("tools.inserts.length", INSERTS, "length: 8.2 mm, ", &["", "length: 80 mm, "]),
        with("tools.inserts.count", INSERTS, ", count: 3 }\n  gauges", &[" }\n  gauges", ", count: 300 }\n  gauges"]),
        case("yields.printer", "printer: Alder, material: PETG, part", &["printer: Birch, material: PETG, part"]),
        case("yields.material", "material: PETG, part: block", &["material: PLA, part: block"]),
        case("yields.part", "part: block, run", &["part: peg, run", "run"]),
        case("yields.run", "run: autumn, ", &["", "run: winter, "]),
        case("yields.started", "started: 40", &["started: 400", "started: 0"]),
        case("yields.good", "good: 30", &["good: 40", "good: 99"]),
        case("yields.on", "on: 2026-11-20", &["on: 2030-11-20", "on: yesterday"]),
        case(
            "calibration.printer",
            "printer: Alder, nozzle: brass-04, material: PETG, what: hole",
            &["printer: Birch, nozzle: brass-04, material: PETG, what: hole"],
        ),
        case(
            "calibration.nozzle",
            "nozzle: brass-04, material: PETG, what: hole",
            &["nozzle: brass-06, material: PETG, what: hole"],
        ),
        case("calibration.material", "material: PETG, what: hole", &["material: PLA, what: hole"]),
        case("calibration.what", "what: hole", &["what: outside"]),
        case("calibration.axis", "axis: across-layers", &["axis: along-layers"]),
        case("calibration.offset", "offset: -0.21 mm", &["offset: -3 mm"]),
        case("calibration.scale", "scale: 1.001, ", &["", "scale: 2, "]),
        case("calibration.spread", "spread: 0.05 mm", &["spread: 5 mm"]),
        case("calibration.angle", "angle: 61 deg", &["angle: 20 deg"]),
        case("calibration.span", "span: 24 mm", &["span: 1 mm"]),
        case("calibration.flow", "what: flow, flow: 5 mm3/s", &["what: flow, flow: 2 mm3/s"]),
        case("calibration.from", "from: 3 mm", &["from: 20 mm"]),
        case("calibration.to", "to: 30 mm", &["to: 2 mm"]),
        case("calibration.count", "count: 12", &["count: 1"]),
        case(
            "calibration.on",
            "on: 2026-11-03 }\n  - { printer: Alder, nozzle: brass-04, material: PETG, what: overhang",
            &["on: 2019-11-03 }\n  - { printer: Alder, nozzle: brass-04, material: PETG, what: overhang"],
        ),
    ]
}

/// A post that is turned to size.
const POST: &str = "mesh \"posts.3mf\"\n  fit \"post\" shaft 8 mm h9 in bore H9\n  pin printer \"Alder\" because \"x\"";

const ON_BARE: &str = "pin printer \"Alder\" because \"x\"\n  pin nozzle \"brass-06\" because \"x\"\n  pin spool \"petg-a\" because \"x\"";

/// Keys that hold others, which have their cases, or that a case of their own tells below.
const BELOW: &[&str] = &[
    "printers",
    "nozzles",
    "surfaces",
    "agents",
    "spools",
    "tools",
    "yields",
    "calibration",
    "catalogue",
    "printers.now",
    "calibration.gap",
    // Read by plans alone: `runs::a_machine_prints_alone_only_where_workshop_and_run_say_so`.
    "printers.unattended",
];

/// What the job says, without the digests of what went in: the recipe, or what is wrong with the file.
fn told(shop: &str, lines: &str) -> String {
    let compiled = compiled(shop, lines);
    let found: Vec<String> = compiled.diagnostics.iter().map(|d| format!("{} {}", d.code, d.message)).collect();
    let recipes: Vec<String> = compiled.parts.iter().map(|p| yaml(&p.recipe).unwrap()).collect();
    let lines = recipes.iter().flat_map(|r| r.lines()).filter(|l| !l.contains("digest:"));
    lines.map(str::to_owned).chain(found).collect::<Vec<_>>().join("\n")
}

#[test]
fn every_key_has_its_case_and_its_words() {
    let keys: BTreeSet<String> = reference::keys().into_iter().collect();
    let cased: BTreeSet<String> =
        cases().iter().map(|c| c.key).chain(BELOW.iter().copied()).map(str::to_owned).collect();
    assert_eq!(cased, keys, "a key without a case, or a case without a key");
    let worded: BTreeSet<String> = reference::described().map(str::to_owned).collect();
    assert_eq!(worded, keys, "a key without words on the reference page, or words without a key");
}

#[test]
fn every_key_leaves_its_mark() {
    let mut silent = Vec::new();
    let plain = told(RICH, ASKED);
    for case in cases() {
        assert!(RICH.contains(case.stated), "{}: the file does not hold `{}`", case.key, case.stated);
        let lines = case.lines.unwrap_or(ASKED);
        let before = if case.lines.is_some() { told(RICH, lines) } else { plain.clone() };
        for instead in case.instead {
            if told(&RICH.replacen(case.stated, instead, 1), lines) == before {
                silent.push(format!("{}: `{}` and `{instead}` make the same recipe", case.key, case.stated));
            }
        }
    }
    assert!(silent.is_empty(), "{silent:#?}");
}

/// What no recipe reads of the file is said, and moves no recipe.
#[test]
fn what_a_part_reads_nothing_of_is_told() {
    let plain = "part \"bar\" {\n  mesh \"bar.stl\" in mm\n  service { place indoors; air 10 °C .. 23 °C }\n}\n";
    let home = |shop: &str| {
        let made = Workshop::empty().with("bar.stl", shapes::block([60.0, 10.0, 10.0])).with("shop.yaml", shop);
        made.with("bar.partspec", plain)
    };
    let shop = crate::workshop::one_spool("PETG", "white");
    let asked = format!(
        "{}tools: {{ reamers: [8 mm H7] }}\n",
        shop.replace("enclosed: yes", "enclosed: yes\n    unattended: yes")
    );
    let told = |shop: &str| {
        let run = home(shop).run(&["explain", "bar.partspec", "shop"]);
        assert_eq!(run.code, 0, "{}", run.stderr);
        run.stdout.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let said = told(&asked);
    assert!(
        said.contains("tools.reamers") && said.contains("printers.unattended (asked by the plan of a run alone)"),
        "{said}"
    );
    // One whose hole is reamed reads the reamers.
    let reamed = "part \"plate\" {\n  mesh \"plate.stl\" in mm\n  service { place indoors; air 10 °C .. 23 °C }\n  fit \"h\" bore 8 mm H7 along z\n}\n";
    let made = home(&asked).with("plate.stl", shapes::plate_with_hole(8.0)).with("plate.partspec", reamed);
    let run = made.run(&["explain", "plate.partspec", "shop"]);
    assert!(run.code == 0 && !run.stdout.contains("reamers"), "{}{}", run.stdout, run.stderr);
    let recipe = |shop: &str| yaml(&home(shop).compile("bar.partspec").parts[0].recipe).unwrap();
    let without_digests = |text: String| text.lines().filter(|l| !l.contains("digest:")).collect::<Vec<_>>().join("\n");
    assert_eq!(without_digests(recipe(&asked)), without_digests(recipe(&shop)));
}

#[test]
fn the_reference_page_is_made_from_the_records() {
    let path = root().join("grammar/shop.md");
    if std::env::var_os("UPDATE").is_some() {
        std::fs::write(&path, reference::page()).unwrap();
    }
    assert_eq!(std::fs::read_to_string(&path).unwrap_or_default(), reference::page(), "UPDATE=1 cargo test writes it");
}

/// Digests of the workshop's file, one of each recipe made.
fn shop_digests(compiled: &Compiled) -> Vec<String> {
    let shop = |p: &makeready::cli::pipeline::Part| p.recipe.inputs.iter().find(|i| i.name == "shop.yaml").cloned();
    compiled.parts.iter().filter_map(shop).map(|input| input.digest).collect()
}

#[test]
fn what_moves_the_recipe_moves_a_digest() {
    let mut unmoved = Vec::new();
    let mut looked = 0;
    for case in cases() {
        let lines = case.lines.unwrap_or(ASKED);
        let before = compiled(RICH, lines);
        for instead in case.instead {
            let now = compiled(&RICH.replacen(case.stated, instead, 1), lines);
            if now.parts.is_empty() {
                continue;
            }
            looked += 1;
            if shop_digests(&before) == shop_digests(&now) {
                unmoved.push(format!("{}: `{}` and `{instead}`", case.key, case.stated));
            }
        }
    }
    assert!(looked > 80 && unmoved.is_empty(), "{looked} {unmoved:#?}");
}

/// Replaces a piece of the file, and asks whether that moves the digest; where it is not to, the recipe must not move either.
fn moves_the_digest(lines: &str, pieces: &[(&str, &str, bool)]) {
    let plain = compiled(RICH, lines);
    for (stated, instead, counts) in pieces {
        let shop = RICH.replacen(stated, instead, 1);
        assert_ne!(shop, RICH, "{stated}");
        let now = compiled(&shop, lines);
        assert_eq!(shop_digests(&now) != shop_digests(&plain), *counts, "{instead}");
        if !counts {
            let yaml = |compiled: &Compiled| yaml(&compiled.parts[0].recipe).unwrap();
            assert!(yaml(&now) == yaml(&plain), "{instead}");
        }
    }
}

const OTHER_RUN: &str = "on: 2026-11-20 }\n  - { printer: Birch, material: PLA, started: 40, good: 3 }\n";
const OTHER_RECORD: &str = "scale: 0.98, count: 3, on: 2026-11-03 }\n  - { printer: Birch, nozzle: steel-04, material: PLA, what: hole, axis: across-layers, offset: -0.4 mm, spread: 0.1 mm, count: 9, on: 2026-11-03 }\n";

#[test]
fn what_a_part_does_not_read_moves_no_digest() {
    // No fit is asked for: what finishes and measures fits is read by nothing.
    let plain = "quantity 90\n  pin printer \"Alder\" because \"it is\"\n  pin material \"PETG\" because \"it is\"";
    let pieces = [
        ("reamers: [6 mm H7, 8 mm H7]", "reamers: [5 mm H7]", false),
        ("drills: [4.5 mm, 5 mm]", "drills: [1 mm]", false),
        ("taps: [M5]", "taps: [M3]", false),
        ("count: 3 }", "count: 30 }", false),
        ("gauges: [caliper]", "gauges: [caliper, plug gauge 6 H7]", false),
        ("lathe: yes", "lathe: no", false),
        ("iron: no", "iron: yes", false),
        ("drill_press: yes", "drill_press: no", false),
        ("scale: yes", "scale: no", true),
        ("left: 900 g", "left: 800 g", true),
        ("on: 2026-11-20 }\n", OTHER_RUN, false),
        ("good: 30", "good: 39", true),
        ("scale: 0.98, count: 3, on: 2026-11-03 }\n", OTHER_RECORD, false),
        ("offset: -0.21 mm", "offset: -0.4 mm", false),
        ("axis: x, scale: 0.98", "axis: x, scale: 0.97", false),
        ("angle: 61 deg", "angle: 50 deg", true),
        // Of a printer that is pinned away: a candidate all the same.
        ("    drive: bowden\n", "    drive: direct\n", true),
        ("  - { name: abs-a,", "  - { name: abs-b,", true),
    ];
    moves_the_digest(plain, &pieces);
    // Two holes for dowels: reamed by the record of this printer; nothing is tapped, turned or melted in.
    let dowels = [
        ("reamers: [6 mm H7, 8 mm H7]", "reamers: [8 mm H7]", true),
        ("offset: -0.21 mm", "offset: -0.4 mm", true),
        ("axis: x, scale: 0.98", "axis: x, scale: 0.97", true),
        ("gauges: [caliper]", "gauges: [caliper, plug gauge 6 H7]", true),
        ("drill_press: yes", "drill_press: no", true),
        ("taps: [M5]", "taps: [M3]", false),
        ("count: 3 }", "count: 30 }", false),
        ("lathe: yes", "lathe: no", false),
        ("on: 2026-11-20 }\n", OTHER_RUN, false),
        ("scale: 0.98, count: 3, on: 2026-11-03 }\n", OTHER_RECORD, false),
    ];
    moves_the_digest(ASKED, &dowels);
}

/// A workshop's own rules count with those that were judged, and what is assumed where there is no workshop only there.
#[test]
fn a_digest_is_of_the_rules_that_were_judged() {
    let own = "let most_here = 9 { because \"x\"; source common-practice }
rule \"few-here\" { require part.quantity < most_here
  because \"x\"
  source common-practice }
rule \"long-fits-here\" { when fit.function == press
  caution quality \"Oil it.\"
  because \"x\"
  source common-practice }
";
    let digests = |rules: &str| {
        let mesh = std::fs::read(root().join("examples/spindle-block/spindle-block.stl")).unwrap();
        let made = Workshop::empty().with("shop.yaml", TWO).with("block.stl", mesh).with("own.rules", rules);
        let made = made.with("block.partspec", BLOCK.replace('@', "quantity 2")).compile("block.partspec");
        assert_eq!(made.parts.len(), 1, "{:#?}", made.diagnostics);
        let of = |name: &str| made.parts[0].recipe.inputs.iter().find(|i| i.name == name).unwrap().digest.clone();
        [of("own.rules"), of("built-in catalogue and rules"), of("shop.yaml")]
    };
    let before = digests(own);
    assert_eq!(digests(&format!("// Kept by the loft.\n{own}")), before);
    assert_eq!(digests(&own.replace("Oil it.", "Wax it.")), before, "no fit, so it was never judged");
    for (stated, instead) in
        [("part.quantity < most_here", "part.quantity <= most_here"), ("most_here = 9", "most_here = 8")]
    {
        let now = digests(&own.replace(stated, instead));
        assert_ne!(now[0], before[0], "{instead}");
        assert_eq!(now[1..], before[1..]);
    }
}
