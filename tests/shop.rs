//! The workshop's file from the outside: what each of its keys does to a recipe, and what is said of mistakes in it.

use makeready::cli::pipeline::Compiled;
use makeready::recipe::Recipe;

use crate::workshop::{Workshop, first, root};

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
    made.with("block.partspec", BLOCK.replace('@', lines)).compile("block.partspec")
}

fn steps(recipe: &Recipe) -> Vec<&str> {
    recipe.checklist.iter().flat_map(|phase| &phase.steps).map(|step| step.text.as_str()).collect()
}

fn says(recipe: &Recipe, words: &str) -> bool {
    steps(recipe).iter().any(|step| step.contains(words))
}

const ON_ALDER: &str = "pin printer \"Alder\" because \"the other runs\"";

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
