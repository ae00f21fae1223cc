//! `makeready check --locked`: a recipe that is not what `compile` writes today fails, and says why.

use std::fs;

use crate::workshop::{Run, Workshop};

/// A starter whose recipe is committed.
fn committed() -> Workshop {
    let shop = Workshop::starter("peg");
    assert_eq!(shop.run(&["compile", "peg"]).code, 0);
    shop
}

fn locked(shop: &Workshop) -> Run {
    shop.run(&["check", "--locked", "peg", "--print", "short"])
}

fn told(shop: &Workshop, code: &str, words: &str) {
    let run = locked(shop);
    assert_eq!(run.code, 1, "{}{}", run.stdout, run.stderr);
    let line = run.stdout.lines().find(|line| line.contains(code)).unwrap_or_else(|| panic!("{}", run.stdout));
    assert!(line.contains(words), "{line}");
}

#[test]
fn what_was_just_compiled_is_locked_and_nothing_is_written() {
    let shop = committed();
    let run = shop.run(&["check", "--locked", "peg"]);
    assert_eq!(run.code, 0, "{}{}", run.stdout, run.stderr);
    assert!(
        run.stderr.contains("1 recipes and plans are what `compile` and `plan` write today, 0 are not"),
        "{}",
        run.stderr
    );
}

#[test]
fn a_recipe_made_before_its_spec_or_workshop_changed_is_stale() {
    let shop = committed();
    let spec = shop.read("peg/peg.partspec");
    shop.write("peg/peg.partspec", spec.replace("quantity  4", "quantity  5"));
    told(&shop, "recipe/stale", "peg.partspec changed");

    shop.write("peg/peg.partspec", spec);
    shop.write("peg/shop.yaml", shop.read("peg/shop.yaml").replace("640 g", "600 g"));
    told(&shop, "recipe/stale", "shop.yaml changed");
}

#[test]
fn a_page_edited_by_hand_is_told_with_its_line() {
    let shop = committed();
    let page = shop.read("peg/peg.recipe.md").replace("## Settings", "## Settings, mine");
    let line = page.lines().position(|line| line == "## Settings, mine").unwrap() + 1;
    shop.write("peg/peg.recipe.md", &page);
    told(&shop, "recipe/edited", &format!("`peg/peg.recipe.md` from line {line}"));
    assert_eq!(shop.read("peg/peg.recipe.md"), page);
}

#[test]
fn a_recipe_that_is_missing_or_has_lost_its_part_is_told() {
    let shop = committed();
    fs::remove_file(shop.path("peg/peg.recipe.svg")).unwrap();
    told(&shop, "recipe/missing", "there is no `peg/peg.recipe.svg`");

    let spec = shop.read("peg/peg.partspec").replace("part \"peg\"", "part \"hook\"");
    shop.write("peg/peg.partspec", spec);
    told(&shop, "recipe/missing", "there is no `peg/hook.recipe.md`");
    told(&shop, "recipe/withdrawn", "`peg/peg.recipe.*` belongs to no part");
}

#[test]
fn the_recipe_of_a_spec_that_cannot_be_read_is_not_withdrawn() {
    let shop = committed();
    shop.write("peg/peg.partspec", shop.read("peg/peg.partspec").replace("mesh ", "mehs "));
    let run = locked(&shop);
    assert_eq!(run.code, 1);
    assert!(!run.stdout.contains("recipe/withdrawn"), "{}", run.stdout);
}
