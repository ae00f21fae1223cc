//! Recipes as pages: two made by hand, read by a person, kept as snapshots.

mod fixtures;

use fixtures::{infeasible, printable};
use makeready::recipe::{Points, Recipe, Status};
use makeready::render::html::{Sheet, page};
use makeready::render::markdown::{DEFAULT_TEMPLATE, Template, markdown};
use makeready::render::{pages, yaml};

/// Words that would certify what no recipe can establish.
const CERTIFYING: &[&str] =
    &["safe", "approved", "rated", "certified", "guaranteed", "compliant", "waterproof", "food-grade"];

#[test]
fn a_printable_recipe_as_a_page() {
    insta::assert_snapshot!(markdown(&printable(), Some("vane-bracket.recipe.svg")).unwrap());
}

#[test]
fn an_infeasible_recipe_as_a_page() {
    insta::assert_snapshot!(markdown(&infeasible(), None).unwrap());
}

#[test]
fn recipes_as_yaml() {
    insta::assert_snapshot!("printable_yaml", yaml::yaml(&printable()).unwrap());
    insta::assert_snapshot!("infeasible_yaml", yaml::yaml(&infeasible()).unwrap());
}

#[test]
fn yaml_and_json_hold_the_same() {
    for recipe in [printable(), infeasible()] {
        let from_yaml: serde_json::Value = serde_yaml::from_str(&yaml::yaml(&recipe).unwrap()).unwrap();
        let from_json: serde_json::Value = serde_json::from_str(&yaml::json(&recipe).unwrap()).unwrap();
        assert_eq!(from_yaml, from_json);
        assert_eq!(from_json["schema"], "makeready-recipe/3");
    }
}

#[test]
fn a_page_that_is_not_printable_holds_nothing_to_print_from() {
    // Even where the data wrongly carries settings and steps along.
    let recipe = Recipe { status: Status::NotPrintableAsSpecified, ..printable() };
    let page = markdown(&recipe, None).unwrap();
    for heading in
        ["## Settings", "## Checklist", "## Why these decisions", "## At the machine", "## Sizes", "## The run"]
    {
        assert!(!page.contains(heading), "{heading}");
    }
    assert!(!page.contains("- [ ]"));
    assert!(page.lines().next().is_some_and(|l| l.contains("not printable as specified")));
}

#[test]
fn the_sections_stand_in_the_order_of_reading() {
    let page = markdown(&printable(), None).unwrap();
    let order = [
        "At the machine",
        "Settings",
        "Watch",
        "Checklist",
        "Cautions",
        "Open questions",
        "For the review",
        "Requirements this recipe breaks",
        "Why these decisions",
        "Margins",
        "Sizes",
        "Why these settings",
        "Why these steps and cautions",
        "The run",
        "Assumed",
        "Poses looked at",
        "The mesh",
        "Sources",
        "What went in",
    ];
    let places: Vec<usize> = order.iter().map(|h| page.find(&format!("\n## {h}\n")).expect(h)).collect();
    assert!(places.is_sorted(), "{places:?}");
}

#[test]
fn what_hardly_holds_is_watched_in_order_of_consequence() {
    let page = markdown(&printable(), None).unwrap();
    let (watch, rest) = page.split_once("\n## Watch\n").unwrap().1.split_once("\n## ").unwrap();
    let watch: Vec<&str> = watch.split("\n- ").skip(1).collect();
    assert_eq!(watch.len(), 3, "as many as one keeps in mind: {watch:?}");
    assert!(watch[0].contains("**Breaks:** ASA wants an enclosure"), "{watch:?}");
    assert!(watch[1].contains("**Injury.**"), "{watch:?}");
    assert!(watch[2].contains("**Strength.** Load") && watch[2].contains("holds narrowly"), "{watch:?}");
    for told in watch {
        assert!(!rest.split("## For the review").next().unwrap().contains(told), "told once: {told}");
    }
}

#[test]
fn choices_that_fall_for_one_reason_share_a_line() {
    let mut recipe = printable();
    for value in ["PA6", "PA6-CF"] {
        recipe.rejected.push(fixtures::refused(value, "contact \"grease\": ", " does not stand grease", "stands"));
    }
    let page = markdown(&recipe, None).unwrap();
    let flat = page.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flat.contains("- PA6, PA6-CF out: contact \"grease\": each does not stand grease "), "{page}");
    assert!(flat.contains("- PVB, PMMA out: each is not in the shop "), "{page}");
}

#[test]
fn where_a_term_comes_from_is_said_at_the_first_fit() {
    let mut recipe = printable();
    let long = "typical print shrinkage in the plane; part and path dependent (from-memory)";
    let mut first = recipe.allowances[0].clone();
    first.terms[0].from = long.into();
    first.fit = "first".to_owned();
    let mut second = first.clone();
    second.fit = "second".to_owned();
    let mut third = first.clone();
    third.fit = "third".to_owned();
    third.terms[0].from = "this printer's record of 2026-11-24, eleven pieces".into();
    recipe.allowances = vec![first, second, third];
    let page = markdown(&recipe, None).unwrap();
    let flat = page.split_whitespace().collect::<Vec<_>>().join(" ");
    assert_eq!(flat.matches("typical print shrinkage in the plane").count(), 1, "{page}");
    assert_eq!(flat.matches(": as for first").count(), 1, "{page}");
    assert!(flat.contains("eleven pieces"), "{page}");
}

#[test]
fn a_runner_up_stands_once_and_with_its_reason() {
    let mut recipe = printable();
    let rejected = |value: &str, rule: Option<&str>| makeready::recipe::Rejected {
        decision: makeready::rulebook::Decision::Surface,
        value: value.to_owned(),
        because: makeready::recipe::Reason {
            text: makeready::recipe::Choice::Costlier { by: vec![fixtures::weighed("surface-change-is-work", 200)] }
                .into(),
            rule: rule.map(str::to_owned),
            ..Default::default()
        },
    };
    recipe.decisions.as_mut().unwrap().surface.runner_up = Some(makeready::recipe::RunnerUp {
        value: "felt-sheet".to_owned(),
        penalty: Points::hundredths(200),
        separated_by: vec![fixtures::weighed("surface-change-is-work", 200)],
        run_apart: None,
    });
    recipe.rejected.extend([rejected("felt-sheet", None), rejected("slate", None)]);
    let page = markdown(&recipe, None).unwrap();
    let told = "second best: felt-sheet, worse by 2.00: surface-change-is-work +2.00";
    assert_eq!(page.matches("felt-sheet").count(), 1, "{page}");
    assert!(page.contains(told), "{page}");
    assert!(page.contains("would do, and worse: slate by 2.00 (surface-change-is-work +2.00)"), "{page}");
    // What a rule forbids stays with its rule.
    recipe.rejected.push(rejected("felt-sheet", Some("bond")));
    let page = markdown(&recipe, None).unwrap();
    let flat = page.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flat.contains("felt-sheet by 2.00"), "told with its rule: {page}");
}

/// A helper runs the job from the first page: what takes hours stands before all, then the model, then the machine.
#[test]
fn the_first_page_begins_with_what_takes_hours() {
    let step = |text: &str| makeready::recipe::Step {
        text: text.into(),
        blanks: vec!["in at".to_owned()],
        because: makeready::recipe::Reason::default(),
        fit: None,
    };
    let mut recipe = printable();
    let phase =
        |of, text| makeready::recipe::Phase { phase: makeready::recipe::Stage::Of(of), steps: vec![step(text)] };
    recipe.checklist.insert(0, phase(makeready::rulebook::Phase::Model, "Set the bore to 8.2 mm."));
    recipe.checklist.insert(0, phase(makeready::rulebook::Phase::Ahead, "Dry the spool at 80 °C for 4 h."));
    let page = markdown(&recipe, None).unwrap();
    let order =
        ["## Hours ahead", "Dry the spool", "## In the model", "Set the bore", "## At the machine", "## Checklist"];
    let places: Vec<usize> = order.iter().map(|h| page.find(h).expect(h)).collect();
    assert!(places.is_sorted(), "{places:?}");
    assert_eq!(page.matches("Dry the spool").count(), 1, "told once: {page}");
    assert!(page.contains("In at ______"), "{page}");
}

/// No tick is followed by its reason: that stands in the review, once.
#[test]
fn reasons_of_steps_stand_in_the_review() {
    let page = markdown(&printable(), None).unwrap();
    let (machine, review) = page.split_once("\n---\n").unwrap();
    assert!(!machine.contains("*("), "{machine}");
    assert!(review.contains("## Why these steps and cautions"), "{review}");
}

/// What a person at the machine does is told before the review, and why it was decided only there.
#[test]
fn reasons_of_decisions_are_told_once() {
    let page = markdown(&printable(), None).unwrap();
    let (machine, review) = page.split_once("\n## For the review\n").unwrap();
    assert!(!machine.contains("better than"), "{machine}");
    for reason in printable().decisions.unwrap().material.because {
        let start: String = makeready::render::inline::inline(&reason.text.to_string()).chars().take(24).collect();
        assert!(review.contains(&start), "{start}");
    }
    let settings = machine.find("\n## Settings\n").unwrap();
    assert!(settings < machine.find("\n## Checklist\n").unwrap());
}

#[test]
fn lines_outside_tables_fit_on_paper() {
    for recipe in [printable(), infeasible()] {
        let page = markdown(&recipe, None).unwrap();
        let long: Vec<&str> =
            page.lines().filter(|l| !l.starts_with('|') && !l.starts_with('#') && l.chars().count() > 100).collect();
        assert!(long.is_empty(), "{long:?}");
    }
}

#[test]
fn no_page_of_ours_certifies_anything() {
    let mut texts = vec![DEFAULT_TEMPLATE.to_owned()];
    for recipe in [printable(), infeasible()] {
        texts.push(markdown(&recipe, None).unwrap());
        texts.push(pages::explain_all(&recipe));
    }
    for text in texts.iter().map(|t| t.to_lowercase()) {
        let words: Vec<&str> = text.split(|c: char| !c.is_alphanumeric() && c != '-').collect();
        for word in CERTIFYING {
            assert!(!words.contains(word), "{word}");
        }
    }
}

#[test]
fn the_same_recipe_gives_the_same_bytes() {
    let template = Template::built_in().unwrap();
    assert_eq!(template.render(&printable(), None).unwrap(), template.render(&printable(), None).unwrap());
    assert_eq!(yaml::yaml(&printable()).unwrap(), yaml::yaml(&printable()).unwrap());
}

#[test]
fn a_shops_own_template_is_used_and_its_slips_are_told() {
    let card = "{{part}}: {{#each glance}}{{what}}={{value}};{{/each}}\n";
    let page = Template::parse(card).unwrap().render(&printable(), None).unwrap();
    assert!(page.starts_with("vane-bracket: Machine=Bench"), "{page}");
    let fault = Template::parse("a\n{{no_such_name}}\n").unwrap().render(&printable(), None).unwrap_err();
    assert_eq!(fault.line, Some(2));
    assert!(fault.message.contains("no_such_name"), "{}", fault.message);
}

#[test]
fn words_of_the_user_cannot_break_the_page() {
    let mut recipe = printable();
    recipe.part = "a | b\n# c".to_owned();
    recipe.purpose = Some("<script>x</script> [y](z) `w` ~~v~~".to_owned());
    let text = markdown(&recipe, None).unwrap();
    assert_eq!(text.lines().filter(|l| l.starts_with("# ")).count(), 1);
    assert!(text.contains(r"a \| b # c"));
    let html = page(&recipe.part, &[Sheet { markdown: text, picture: None, running: String::new() }]);
    assert!(!html.contains("<script>") && html.contains("&lt;script&gt;"));
    assert!(html.contains("[y](z)"));
}

#[test]
fn a_recipe_as_html() {
    let text = markdown(&printable(), None).unwrap();
    let html = page("vane-bracket", &[Sheet { markdown: text, picture: None, running: String::new() }]);
    let body = html.split("<body>").nth(1).unwrap();
    insta::assert_snapshot!(body);
    assert!(!html.contains("http://") && !html.contains("https://"), "the page needs nothing from elsewhere");
}

#[test]
fn explain_speaks_of_decisions_settings_fits_margins_and_rejects() {
    let recipe = printable();
    insta::assert_snapshot!("explain_all", pages::explain_all(&recipe));
    for word in ["material", "Surface", "support", "supports", "layer height", "layer_height", "pivot", "heat"] {
        assert!(pages::explain(&recipe, word).is_some(), "{word}");
    }
    assert!(pages::explain(&recipe, "paint").is_none());
    insta::assert_snapshot!("explain_material", pages::explain(&recipe, "material").unwrap());
    insta::assert_snapshot!("explain_fit", pages::explain(&recipe, "pivot").unwrap());
    insta::assert_snapshot!("explain_not", pages::explain_not(&recipe, "petg").unwrap());
    assert!(pages::explain_not(&recipe, "ASA").unwrap().contains("is not rejected"));
    insta::assert_snapshot!("explain_infeasible", pages::explain_all(&infeasible()));
}
