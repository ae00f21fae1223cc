//! What must hold of every recipe, seen over all examples as they are compiled today.

use std::fs;
use std::path::{Path, PathBuf};

use makeready::cli::pipeline::Options;
use makeready::recipe::{Points, Recipe, Weighed};
use makeready::render::markdown::markdown;
use makeready::render::yaml::yaml;

use crate::workshop::{Workshop, compile, makeready_on_cores, root};

fn examples() -> PathBuf {
    root().join("examples")
}

fn specs() -> Vec<PathBuf> {
    let folders = fs::read_dir(examples()).unwrap().flatten().map(|e| e.path()).filter(|p| p.is_dir());
    let files = folders.flat_map(|folder| fs::read_dir(folder).unwrap().flatten().map(|e| e.path()));
    let is_spec = |p: &PathBuf| p.extension().is_some_and(|e| e == "partspec");
    // What others `use` is no part by itself.
    let mut found: Vec<PathBuf> = files.filter(is_spec).filter(|p| !p.ends_with("workshop/common.partspec")).collect();
    found.sort();
    assert!(found.len() >= 7, "{found:?}");
    found
}

fn recipes() -> Vec<Recipe> {
    let compiled = specs().into_iter().map(|spec| compile(&spec, &Options::default()));
    compiled.flat_map(|c| c.parts).map(|p| p.recipe).collect()
}

fn sum(weighed: &[Weighed]) -> Points {
    weighed.iter().map(|w| w.points).sum()
}

/// The numbers with a sign in a cell, as hundredths.
fn signed(cell: &str) -> i64 {
    let words = cell.split([' ', ',', ';']).filter(|w| w.starts_with(['+', '-']) && w.contains('.'));
    words.map(|w| (w.parse::<f64>().unwrap() * 100.0).round() as i64).sum()
}

/// The numbers with a sign that stand alone in brackets, as hundredths.
fn in_brackets(text: &str) -> i64 {
    let words = text.split(['(', ')']).filter(|w| w.starts_with(['+', '-']));
    words.filter_map(|w| w.parse::<f64>().ok()).map(|n| (n * 100.0).round() as i64).sum()
}

/// The rows of the first table behind a heading.
fn table(page: &str, heading: &str) -> Vec<Vec<String>> {
    let behind = page.split_once(&format!("\n{heading}\n")).map_or("", |(_, rest)| rest);
    let rows = behind.lines().skip_while(|l| !l.starts_with('|')).take_while(|l| l.starts_with('|')).skip(2);
    rows.map(|l| l.trim_matches('|').split(" | ").map(|c| c.trim().to_owned()).collect()).collect()
}

#[test]
fn penalties_shown_add_up_to_the_total_shown() {
    let (mut poses, mut next, mut told_sums) = (0, 0, 0);
    for recipe in recipes() {
        for row in &recipe.poses {
            assert_eq!(sum(&row.penalties), row.total, "{}: {row:?}", recipe.part);
            poses += 1;
        }
        for decided in recipe.decisions.iter().flat_map(|d| [&d.printer, &d.material, &d.nozzle, &d.surface, &d.pose]) {
            let Some(next_best) = &decided.runner_up else { continue };
            assert_eq!(sum(&next_best.separated_by), next_best.penalty, "{}: {next_best:?}", recipe.part);
            next += 1;
        }
        let page = markdown(&recipe, None).unwrap();
        // Of a next best the page names a few of what keeps it back, and the sum of the rest: they come to what is said.
        let flat = page.split_whitespace().collect::<Vec<_>>().join(" ");
        for told in flat.split("better than ").skip(1) {
            let Some((worse, rest)) = told.split_once(": ").filter(|(head, _)| head.contains(" by ")) else { continue };
            let worse = worse.rsplit(' ').next().unwrap();
            if worse.parse::<f64>().is_err() {
                continue;
            }
            let by = rest.split(" *(").next().unwrap();
            assert_eq!(signed(&format!("+{worse}")), in_brackets(by), "{told}");
            told_sums += 1;
        }
        for row in table(&page, "## Poses looked at") {
            let [_, total, by, _] = row.as_slice() else { panic!("{row:?}") };
            assert_eq!(signed(&format!("+{total}")), signed(by), "{row:?}");
        }
    }
    assert!(poses > 10 && next > 10 && told_sums > 5, "{poses} {next} {told_sums}");
}

#[test]
fn what_counts_alike_against_every_pose_is_in_no_row() {
    for recipe in recipes().iter().filter(|r| r.poses.len() > 1) {
        for weighed in &recipe.poses[0].penalties {
            let also = |row: &makeready::recipe::PoseRow| row.penalties.iter().any(|w| w.rule == weighed.rule);
            assert!(!recipe.poses.iter().all(also), "{}: {weighed:?}", recipe.part);
        }
    }
}

/// A comment moves every line of a text, and none of its statements.
#[test]
fn a_comment_on_top_changes_nothing_but_digests() {
    let told = |home: &Workshop, spec: &str| {
        let compiled = home.compile(spec);
        let recipes: Vec<String> = compiled.parts.iter().map(|p| yaml(&p.recipe).unwrap()).collect();
        assert!(!recipes.is_empty(), "{spec}: {:#?}", compiled.diagnostics);
        recipes.join("\n").lines().filter(|l| !l.contains("digest:")).collect::<Vec<_>>().join("\n")
    };
    for spec in specs() {
        let name = spec.strip_prefix(examples()).unwrap().to_string_lossy().into_owned();
        let home = Workshop::hut();
        let before = told(&home, &name);
        let texts = [name.as_str(), "workshop/common.partspec"].map(|text| (text, "// One more.\n// And another.\n"));
        for (text, comment) in texts.into_iter().chain([("shop.yaml", "# One more.\n")]) {
            home.write(text, format!("{comment}{}", home.read(text)));
            let after = told(&home, &name);
            let differs = before.lines().zip(after.lines()).find(|(a, b)| a != b);
            assert!(before == after, "{name}, {text}: {differs:?}");
        }
    }
}

/// Sixteen digits of a hash stand for any others.
fn without_digests(text: &str) -> String {
    let is_digest = |word: &str| word.len() == 16 && word.bytes().all(|b| matches!(b, b'0'..=b'9' | b'a'..=b'f'));
    let hidden = |piece: &str| match piece.trim_end_matches(|c: char| !c.is_ascii_alphanumeric()) {
        word if is_digest(word) => format!("digest{}", &piece[word.len()..]),
        _ => piece.to_owned(),
    };
    text.split_inclusive(|c: char| !c.is_ascii_alphanumeric()).map(hidden).collect()
}

/// Between any two lines of a spec with loads, and in every form that is written: data, page and picture.
#[test]
fn a_comment_between_any_two_lines_changes_nothing_but_digests() {
    let (home, spec) = (Workshop::hut(), "vane-bracket/vane-bracket.partspec");
    let text = home.read(spec);
    assert!(text.matches("load \"").count() >= 2 && text.lines().count() > 10, "{text}");
    let told = || {
        home.run(&["compile", spec]);
        ["yaml", "md", "svg"].map(|form| home.read(&format!("vane-bracket/vane-bracket.recipe.{form}")))
    };
    let before = told();
    let commented: Vec<String> = text.lines().map(|line| format!("{line}\n// One more.\n")).collect();
    home.write(spec, commented.concat());
    let after = told();
    assert!(before[0] != after[0] && before[1] != after[1], "the digest of the spec is not the same");
    for (before, after) in before.iter().zip(&after).map(|(a, b)| (without_digests(a), without_digests(b))) {
        let differs = before.lines().zip(after.lines()).find(|(a, b)| a != b);
        assert!(before == after, "{differs:?}");
    }
}

#[test]
fn a_recipe_of_an_older_form_that_is_overwritten_is_told() {
    let home = Workshop::hut();
    let spec = "peg-tags/peg-tag.partspec";
    let first = home.run(&["compile", spec]);
    assert!(!first.stderr.contains("older-form"), "{}", first.stderr);
    let written = home.read("peg-tags/peg-tag.recipe.yaml");
    home.write("peg-tags/peg-tag.recipe.yaml", written.replacen("makeready-recipe/3", "makeready-recipe/2", 1));
    let again = home.run(&["compile", spec]);
    assert!(
        again.stderr.contains("note[recipe/older-form]") && again.stderr.contains("makeready-recipe/2"),
        "{}",
        again.stderr
    );
    assert_eq!(home.read("peg-tags/peg-tag.recipe.yaml"), written);
}

/// Facts are values and words of closed sets; what is said for a person is read by nobody else.
#[test]
fn no_sentence_is_read_to_learn_a_fact() {
    // What is looked into here is a text of a person's own or a name, not a sentence of ours.
    const ALLOWED: &[(&str, &str)] = &[
        ("refusal.rs", "requirement.text.contains"), // the line of the spec, whose number is to be written anew
        ("refusal.rs", "text.contains(&old)"),
        ("refusal.rs", "text.contains(&said)"),
        ("measurement.rs", "what.ends_with(\"ch\")"), // the plural of a word
        ("measurement.rs", "words.contains(' ')"),    // a direction that leans
        ("documents.rs", "text.starts_with('/')"),    // the path within an address
        ("record.rs", "text."),                       // a table of records, line by line
        ("calibration.rs", "text."),                  // a name as a person wrote it
        ("iso286.rs", "text."),
        ("written.rs", "word.text."),
        ("lookup.rs", "first.text."),
    ];
    let said = [
        "text", "because", "headline", "effect", "told", "words", "working", "message", "what", "verdict", "detail",
        "status",
    ];
    let reads = [".starts_with(", ".contains(", ".ends_with(", ".split(\". \")"];
    let (mut files, mut found) = (0, Vec::new());
    for folder in ["src/recipe", "src/resolve", "src/render", "src/cli", "src/plan", "src/fits"] {
        for file in rust_files(&root().join(folder)) {
            let text = fs::read_to_string(&file).unwrap();
            let code = text.split("#[cfg(test)]").next().unwrap();
            if file.ends_with("tests.rs") {
                continue;
            }
            files += 1;
            for (number, line) in code.lines().enumerate() {
                let name = file.file_name().unwrap().to_string_lossy();
                let is_read = |word: &str| reads.iter().any(|read| line.contains(&format!("{word}{read}")));
                let allowed = ALLOWED.iter().any(|(of, piece)| *of == name && line.contains(piece));
                if said.iter().any(|word| is_read(word)) && !allowed {
                    found.push(format!("{}:{}: {}", file.display(), number + 1, line.trim()));
                }
            }
        }
    }
    assert!(files > 150, "{files}");
    assert!(found.is_empty(), "{found:#?}");
}

fn rust_files(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for path in fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()) {
        match path.is_dir() {
            true => found.extend(rust_files(&path)),
            false if path.extension().is_some_and(|e| e == "rs") => found.push(path),
            false => {}
        }
    }
    found.sort();
    found
}

/// A digest of the workshop's file is of its values: what is written beside them for a person is in none.
#[test]
fn a_note_in_the_shop_changes_no_recipe_and_a_value_of_a_rejected_spool_does() {
    let home = Workshop::hut();
    let recipe = |home: &Workshop| yaml(&home.compile("vane-bracket/vane-bracket.partspec").parts[0].recipe).unwrap();
    let (before, shop) = (recipe(&home), home.read("shop.yaml"));
    let spool = shop.lines().find(|l| l.contains("name: pla-red-1")).unwrap();
    home.write("shop.yaml", shop.replace(spool, &format!("\n{spool} # bought for the lamps")));
    assert_eq!(recipe(&home), before);
    assert!(spool.contains("left: 910 g"), "{spool}");
    home.write("shop.yaml", shop.replace(spool, &spool.replace("left: 910 g", "left: 911 g")));
    assert_ne!(recipe(&home), before);
}

/// The files beside the examples' specs after compiling them all on so many cores, and what was said.
fn compiled_on(cores: usize) -> (String, Vec<(PathBuf, Vec<u8>)>) {
    let hut = Workshop::hut();
    let names: Vec<PathBuf> = specs().iter().map(|s| s.strip_prefix(examples()).unwrap().to_owned()).collect();
    let words = names.iter().map(|n| n.to_str().unwrap());
    let run = makeready_on_cores(hut.folder(), cores, &["compile"].into_iter().chain(words).collect::<Vec<_>>());
    assert!(run.code <= 1, "{}", run.stderr);
    let folders = names.iter().map(|n| hut.path(n.parent().unwrap().to_str().unwrap()));
    let files = folders.flat_map(|f| fs::read_dir(f).unwrap().map(|e| e.unwrap().path()));
    let recipes = files.filter(|f| f.to_string_lossy().contains(".recipe."));
    let mut read: Vec<_> =
        recipes.map(|f| (f.strip_prefix(hut.folder()).unwrap().to_owned(), fs::read(f).unwrap())).collect();
    read.sort();
    (run.stdout, read)
}

/// How many threads share the work, and which of them is the faster, leaves no mark.
#[test]
fn the_number_of_cores_changes_no_byte() {
    let (said, alone) = compiled_on(1);
    let (said_by_two, shared) = compiled_on(2);
    assert_eq!(said, said_by_two);
    assert!(alone.len() >= 2 * specs().len(), "{}", alone.len());
    for (one, two) in alone.iter().zip(&shared) {
        assert!(one == two, "{} and {} differ", one.0.display(), two.0.display());
    }
    assert_eq!(alone.len(), shared.len());
}
