//! What looks as if it could be printed from and no longer stands is out of the way; what somebody wrote is never lost.

use crate::workshop::Workshop;

const SPEC: &str = "peg-tags/peg-tag.partspec";

fn names(home: &Workshop, part: &str) -> Vec<String> {
    let mut names = home.names("peg-tags");
    names.retain(|n| n.contains(part));
    names.sort();
    names
}

#[test]
fn a_spec_that_turns_bad_takes_its_recipe_along() {
    let home = Workshop::hut();
    home.run(&["compile", SPEC]);
    assert!(names(&home, ".recipe.").iter().all(|n| !n.ends_with("withdrawn")));
    let good = home.read(SPEC);
    home.write(SPEC, good.replacen("quantity", "quantitty", 1));
    let bad = home.run(&["compile", SPEC]);
    assert_eq!(bad.code, 1, "{}", bad.stderr);
    assert!(bad.stderr.contains("note[recipe/withdrawn]"), "{}", bad.stderr);
    let left = names(&home, "peg-tag.recipe.");
    assert_eq!(
        left,
        ["peg-tag.recipe.md.withdrawn", "peg-tag.recipe.svg.withdrawn", "peg-tag.recipe.yaml.withdrawn"],
        "{left:?}"
    );
    home.write(SPEC, good);
    home.run(&["compile", SPEC]);
    let again = names(&home, "peg-tag.recipe.");
    assert_eq!(again, ["peg-tag.recipe.md", "peg-tag.recipe.svg", "peg-tag.recipe.yaml"], "{again:?}");
}

#[test]
fn a_refusal_leaves_no_picture_of_a_part_that_could_be_made() {
    let home = Workshop::hut();
    home.run(&["compile", SPEC]);
    let spec = home.read(SPEC);
    home.write(SPEC, spec.replacen("quantity", "service { air 20 °C .. 900 °C }\n  quantity", 1));
    let told = home.run(&["compile", SPEC]);
    assert_eq!(told.code, 1, "{}", told.stderr);
    let left = names(&home, "peg-tag.recipe.svg");
    assert_eq!(left, ["peg-tag.recipe.svg.withdrawn"], "{}", told.stderr);
}

#[test]
fn a_part_that_is_called_otherwise_leaves_no_recipe_under_its_old_name() {
    let home = Workshop::hut();
    home.run(&["compile", SPEC]);
    let spec = home.read(SPEC);
    home.write(SPEC, spec.replacen("part \"peg-tag\"", "part \"hook-tag\"", 1));
    let told = home.run(&["compile", SPEC]);
    assert!(told.stderr.contains("note[recipe/withdrawn]"), "{}", told.stderr);
    assert!(names(&home, "peg-tag.recipe.").iter().all(|n| n.ends_with(".withdrawn")), "{:?}", names(&home, ""));
    assert!(names(&home, "hook-tag.recipe.").contains(&"hook-tag.recipe.md".to_owned()));
}

#[test]
fn a_page_that_somebody_wrote_into_is_kept() {
    let home = Workshop::hut();
    home.run(&["compile", SPEC]);
    let page = "peg-tags/peg-tag.recipe.md";
    let ticked = home.read(page).replacen("- [ ]", "- [x]", 1);
    home.write(page, &ticked);
    let told = home.run(&["compile", SPEC]);
    assert!(
        told.stderr.contains("note[page/edited]") && told.stderr.contains("peg-tag.recipe.md.edited"),
        "{}",
        told.stderr
    );
    assert_eq!(home.read("peg-tags/peg-tag.recipe.md.edited"), ticked);
    assert!(!home.read(page).contains("[x]"));
    // As it is written it is nobody's writing.
    let quiet = home.run(&["compile", SPEC]);
    assert!(!quiet.stderr.contains("page/edited"), "{}", quiet.stderr);
}

#[test]
fn the_sheet_for_the_machine_prints_alone() {
    let home = Workshop::hut();
    let whole = home.run(&["compile", SPEC, "--print", "md"]).stdout;
    let sheet = home.run(&["compile", SPEC, "--print", "md", "--sheet"]).stdout;
    assert!(whole.starts_with(sheet.trim_end()), "{sheet}");
    assert!(whole.contains("## For the review") && !sheet.contains("For the review"), "{sheet}");
    assert!(sheet.contains("## Checklist") && sheet.contains("## At the machine"), "{sheet}");
    let paper = home.run(&["compile", SPEC, "--print", "html", "--sheet"]).stdout;
    assert!(paper.contains("@bottom-left { content: \"peg-tag") && !paper.contains("For the review"));
    let alone = home.run(&["compile", SPEC, "--sheet"]);
    assert_eq!(alone.code, 2, "only what is printed: {}", alone.stderr);
}
