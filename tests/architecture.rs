//! The form of the house, held by tests: which phase may know which, where the world is touched, what no file may lack.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use makeready::rulebook::{Expect, Rule};

use crate::rulebook::committed;
use crate::workshop::root;

/// A source file: its path from the repository, and its text.
struct File {
    path: String,
    text: String,
}

impl File {
    /// The folder of `src` it belongs to, by its module's name: `resolve` for `src/resolve.rs` and all below.
    fn phase(&self) -> &str {
        let within = self.path.strip_prefix("src/").expect("a file of the library");
        within.split('/').next().unwrap().trim_end_matches(".rs")
    }
}

/// The Rust files below a folder, in order.
fn files(folder: &str) -> Vec<File> {
    let mut found = Vec::new();
    let mut folders = vec![root().join(folder)];
    while let Some(folder) = folders.pop() {
        for path in fs::read_dir(&folder).unwrap().map(|e| e.unwrap().path()) {
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|e| e == "rs") {
                let text = fs::read_to_string(&path).unwrap();
                found.push(File { path: from_root(&path), text });
            }
        }
    }
    assert!(found.len() > 10, "{folder}");
    found.sort_by(|a, b| a.path.cmp(&b.path));
    found
}

fn from_root(path: &Path) -> String {
    path.strip_prefix(root()).unwrap().to_string_lossy().replace('\\', "/")
}

/// The names a text takes from the crate's root: `crate::a::B` and `use crate::{a::{B, C}, d}` give a and d.
fn taken_from_crate(text: &str) -> BTreeSet<String> {
    let word = |s: &str| s.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect::<String>();
    let mut taken = BTreeSet::new();
    for after in text.split("crate::").skip(1) {
        let Some(group) = after.strip_prefix('{') else {
            taken.insert(word(after));
            continue;
        };
        let (mut depth, mut start) = (0, true);
        for (at, c) in group.char_indices() {
            match c {
                '}' if depth == 0 => break,
                '{' => depth += 1,
                '}' => depth -= 1,
                ',' if depth == 0 => start = true,
                c if c.is_whitespace() => {}
                _ if start => {
                    taken.insert(word(&group[at..]));
                    start = false;
                }
                _ => {}
            }
        }
    }
    taken.remove("");
    taken
}

/// The phases in the order that `src/lib.rs` gives, the foundations among them.
fn order() -> Vec<String> {
    let lib = fs::read_to_string(root().join("src/lib.rs")).unwrap();
    let mut lines = lib.lines().skip_while(|l| !l.contains("Each imports only from those before it"));
    let line = lines.find(|l| l.contains(" < ")).expect("the order of the modules in src/lib.rs");
    let developers = fs::read_to_string(root().join("DEVELOPERS.md")).unwrap();
    let order = line.trim_start_matches("//!").trim();
    assert!(developers.contains(order), "DEVELOPERS.md gives another order than src/lib.rs: {order}");
    order.split(" < ").map(str::to_owned).collect()
}

#[test]
fn names_taken_from_the_crate_are_found() {
    let text = "use crate::a::B;\nuse crate::{\n    c::{D, e::F},\n    g, h as i,\n};\nlet x = crate::j::k();";
    assert_eq!(taken_from_crate(text), ["a", "c", "g", "h", "j"].map(String::from).into());
}

/// An earlier phase never imports a later one. Tests within a file are held to it too.
#[test]
fn phases_go_one_way() {
    let order = order();
    let place = |name: &str| order.iter().position(|o| o == name);
    let declared = fs::read_to_string(root().join("src/lib.rs")).unwrap();
    for module in declared.lines().filter_map(|l| l.split("mod ").nth(1)?.strip_suffix(';')) {
        assert!(place(module).is_some(), "src/lib.rs declares `{module}` and gives it no place in the order");
    }
    let mut back = Vec::new();
    let mut imports = 0;
    // What a crate of its own takes from `crate::` is its own; Cargo holds it to what its manifest names.
    let own_crate = |f: &File| root().join("src").join(f.phase()).join("Cargo.toml").exists();
    let of_ours = |f: &&File| !["lib", "main", "build"].contains(&f.phase()) && !own_crate(f);
    for file in files("src").iter().filter(of_ours) {
        let here = place(file.phase()).unwrap_or_else(|| panic!("{} has no place in the order", file.path));
        for taken in taken_from_crate(&file.text) {
            imports += 1;
            if place(&taken).is_none_or(|there| there > here) {
                back.push(format!("{} imports crate::{taken}", file.path));
            }
        }
    }
    assert!(imports > 300, "{imports}: imports are no longer found");
    assert!(back.is_empty(), "a later phase is imported: {back:#?}");
}

/// Measurement and physics know numbers and units only; neither specs nor the workshop.
#[test]
fn geometry_and_physics_know_nothing_of_jobs() {
    let geometry = fs::read_to_string(root().join("src/geometry/Cargo.toml")).unwrap();
    let ours: Vec<&str> = geometry.lines().filter(|l| l.contains("path = \"..")).collect();
    assert_eq!(ours, [r#"elasticity = { path = "../elasticity" }"#], "what geometry is built on of ours");
    for file in files("src").iter().filter(|f| f.phase() == "physics") {
        let own = [file.phase(), "quantity"];
        let strange: Vec<String> =
            taken_from_crate(&file.text).into_iter().filter(|t| !own.contains(&t.as_str())).collect();
        assert!(strange.is_empty(), "{} imports {strange:?}", file.path);
    }
}

/// What clippy refuses by `.clippy.toml` is allowed to the command line and the build script as a whole, and else only to
/// tests.
#[test]
fn only_the_command_line_and_the_build_script_touch_the_world() {
    let mut allowed = Vec::new();
    for file in files("src") {
        for (n, line) in file.text.lines().enumerate().filter(|(_, l)| l.contains("clippy::disallowed_methods")) {
            let tests = file.text.lines().take(n + 1).any(|l| l.trim() == "#[cfg(test)]");
            if !tests {
                allowed.push(file.path.clone());
                assert!(line.contains("#![allow") || !line.contains("#["), "{}:{}: {line}", file.path, n + 1);
            }
        }
    }
    assert_eq!(allowed, ["src/build.rs", "src/cli.rs"]);
    let banned = fs::read_to_string(root().join(".clippy.toml")).unwrap();
    for call in ["SystemTime::now", "Instant::now", "env::var", "fs::read", "fs::write", "File::open", "io::stdin"] {
        assert!(banned.contains(call), "{call} is no longer banned");
    }
    let lints = fs::read_to_string(root().join("Cargo.toml")).unwrap();
    for lint in ["unwrap_used", "panic", "print_stdout", "iter_over_hash_type", "disallowed_methods"] {
        assert!(lints.contains(&format!("{lint} = \"deny\"")), "{lint} is no longer denied");
    }
}

#[test]
fn every_file_says_what_it_is() {
    for file in files("src").iter().chain(&files("tests")) {
        let head = file.text.lines().next().unwrap_or_default();
        assert!(head.starts_with("//! ") && head.len() > 20, "{} has no `//!` head: {head}", file.path);
    }
}

/// A file that no `mod` declares is not compiled, and its tests are not run.
#[test]
fn no_file_is_forgotten() {
    let all: Vec<File> = files("src").into_iter().chain(files("tests")).collect();
    let text_of = |path: &str| all.iter().find(|f| f.path == path).map(|f| f.text.as_str());
    let manifest = fs::read_to_string(root().join("Cargo.toml")).unwrap();
    for file in &all {
        if manifest.contains(&format!("path = \"{}\"", file.path))
            || manifest.contains(&format!("build = \"{}\"", file.path))
        {
            continue;
        }
        let (folder, name) = file.path.rsplit_once('/').unwrap();
        let name = name.trim_end_matches(".rs");
        let parents = match folder {
            "src" => vec!["src/lib.rs".to_owned()],
            "tests" => vec!["tests/all.rs".to_owned()],
            // The root of a crate of its own.
            _ if name == "lib" => continue,
            _ => vec![
                format!("{folder}.rs"),
                format!("{folder}/lib.rs"),
                // What geometry and the solver share is declared there.
                "src/elasticity/geometry.rs".to_owned(),
            ],
        };
        let declared = parents
            .iter()
            .filter_map(|p| text_of(p))
            .any(|t| t.lines().map(str::trim).any(|l| l.ends_with(&format!("mod {name};"))));
        assert!(declared, "{} is declared nowhere: write `mod {name};` in {}", file.path, parents[0]);
    }
}

/// Tables and snapshots that nothing reads would look like tests.
#[test]
fn no_table_and_no_snapshot_is_left_over() {
    let tests: String = files("tests").into_iter().map(|f| f.text).collect();
    for path in entries("tests/published") {
        let name = path.file_name().unwrap().to_str().unwrap();
        assert!(tests.contains(&format!("published/{name}\"")), "nothing reads tests/published/{name}");
    }
    for path in entries("recipes/rules") {
        let name = path.file_name().unwrap().to_str().unwrap();
        assert!(tests.contains(&format!("rules/{name}\"")), "no test runs the examples of recipes/rules/{name}");
    }
    for path in entries("tests/snapshots") {
        let stem = path.file_stem().unwrap().to_str().unwrap();
        let name = stem.rsplit("__").next().unwrap();
        assert!(tests.contains(name), "no test takes the snapshot {stem}");
    }
}

fn entries(folder: &str) -> Vec<PathBuf> {
    let found: Vec<PathBuf> = fs::read_dir(root().join(folder)).unwrap().map(|e| e.unwrap().path()).collect();
    assert!(!found.is_empty(), "{folder}");
    found
}

/// A rule is a page: why, after whom, when it speaks and when it is quiet.
#[test]
fn every_rule_is_documented_cited_and_shown_both_ways() {
    let book = committed();
    assert!(book.rules.len() >= 70, "{}", book.rules.len());
    let cited = ["standard", "handbook", "paper", "library"];
    for rule in &book.rules {
        assert!(rule.because.split_whitespace().count() >= 3, "{}: because {}", rule.name, rule.because);
        assert!(!cited.contains(&rule.source_kind.as_str()) || !rule.citations.is_empty(), "{}", rule.name);
        let firing = |e: &Expect| !matches!(e, Expect::Accepts | Expect::Quiet | Expect::Undetermined);
        assert!(rule.examples.iter().any(|e| firing(&e.expect)), "{} never fires", rule.name);
        assert!(
            rule.examples.iter().any(|e| !firing(&e.expect)) || rule.names.is_empty() || always(rule),
            "{} is never quiet",
            rule.name
        );
    }
}

/// A rule without a condition that only gives a setting or a step has no quiet case but a missing fact.
fn always(rule: &Rule) -> bool {
    rule.when_written.is_empty() && rule.verdicts.iter().all(|v| matches!(v.verb(), "derive" | "step" | "caution"))
}

/// The walk that DEVELOPERS.md shows goes through rooms that are there: each file has the name that stands beside it.
#[test]
fn the_walk_of_a_requirement_goes_through_rooms_that_are_there() {
    let text = fs::read_to_string(root().join("DEVELOPERS.md")).unwrap();
    let (_, walk) = text.split_once("## One requirement, from spec to recipe").unwrap();
    let walk = walk.split("\n## ").next().unwrap();
    let mut rooms = BTreeSet::new();
    for row in walk.lines().filter(|l| l.starts_with("| ") && l.contains('`')) {
        let cells: Vec<&str> = row.split('|').map(str::trim).collect();
        let [room, file, name] = [1, 2, 3].map(|i| cells[i].trim_matches('`'));
        let of_file = fs::read_to_string(root().join(file)).unwrap_or_else(|e| panic!("{file}: {e}"));
        assert!(of_file.contains(name), "{file} has no `{name}`");
        assert!(rooms.insert(room), "{room} twice");
    }
    assert!(rooms.len() > 10, "{rooms:?}");
}

/// What the spec says of a wall is read where the fact is made; margins, ways out and the recipe go by the fact, and what eases
/// the line by its row among the requirements.
#[test]
fn a_wall_that_is_asked_for_is_read_in_one_room() {
    let reads = |file: &File| {
        let program = file.text.split("#[cfg(test)]").next().unwrap_or_default();
        let behind = program.split("spec.wall").skip(1);
        behind.into_iter().any(|rest| !rest.starts_with(|c: char| c.is_alphanumeric() || c == '_'))
    };
    let rooms: Vec<String> = files("src").iter().filter(|f| reads(f)).map(|f| f.path.clone()).collect();
    assert_eq!(rooms, ["src/resolve/facts.rs", "src/semantics/part.rs"]);
}

/// Whether some words of a text stand in a row as they do in a sentence.
fn is_a_sentence(text: &str) -> bool {
    let words: Vec<&str> = text.split(' ').collect();
    let plain = |word: &str, least: usize| word.len() >= least && word.bytes().all(|b| b.is_ascii_lowercase());
    words.windows(3).any(|w| plain(w[0], 2) && plain(w[1], 1) && plain(w[2], 2))
}

/// Whether a file writes sentences, outside its tests and comments.
fn writes_sentences(text: &str) -> bool {
    let own = text.split("#[cfg(test)]").next().unwrap_or_default();
    let code = own.lines().filter(|line| !line.trim_start().starts_with("//") && !line.contains("reason = \""));
    code.flat_map(|line| line.split('"').skip(1).step_by(2)).any(is_a_sentence)
}

#[test]
fn sentences_are_seen_where_they_are_written() {
    assert!(writes_sentences("fn f() { g(\"the part is {x} long\") }"));
    assert!(!writes_sentences("// \"the part is long\"\nfn f() { g(\"hot end\", \"wall-thicker-than\") }"));
    assert!(!writes_sentences("fn f() {}\n#[cfg(test)]\nmod tests { const T: &str = \"the part is long\"; }"));
}

/// What a recipe says is data, and its English is made in `render`: no file above it writes sentences, but for what is listed.
#[test]
fn words_are_made_in_render() {
    const INPUT: &[&str] = &[
        "fits/allowance.rs",
        "fits/allowance/asked.rs",
        "fits/coupon.rs",
        "fits/function.rs",
        "fits/function/pressed.rs",
        "fits/function/sized.rs",
        "fits/general.rs",
        "fits/groove.rs",
        "fits/hardware/keys.rs",
        "fits/hardware/likely.rs",
        "fits/iso286.rs",
        "fits/living_hinge.rs",
        "fits/lookup.rs",
        "fits/lookup/written.rs",
        "fits/matching.rs",
        "fits/mating.rs",
        "fits/measurements.rs",
        "plan/feeding.rs",
        "plan/record.rs",
        "recipe/mates.rs",
        "resolve/flats.rs",
        "resolve/flatted.rs",
        "resolve/grooves.rs",
        "resolve/matching.rs",
        "resolve/names.rs",
        "resolve/part.rs",
        "resolve/pins.rs",
        "resolve/places.rs",
        "resolve/spacing.rs",
    ];
    const CITED: &[&str] = &[
        "fits/behaviour.rs",
        "fits/function/threaded.rs",
        "fits/hardware.rs",
        "resolve/limits.rs",
        "resolve/margin/bearing.rs",
        "resolve/margin/load.rs",
        "resolve/margin/press.rs",
        "resolve/margin/slit.rs",
        "resolve/margin/stiffness.rs",
        "resolve/margin/wall.rs",
        "resolve/shop/joining.rs",
    ];
    const NAMES: &[&str] =
        &["recipe.rs", "recipe/mesh.rs", "resolve/fits/designation.rs", "resolve/hints.rs", "resolve/questions.rs"];
    let reasons = [
        (INPUT, "what is wrong with an input, and what to write instead"),
        (CITED, "what a source is named by, and words of tables"),
        (NAMES, "names of things and lines of a spec"),
    ];
    let above = ["fits", "resolve", "recipe", "plan"];
    let writes: BTreeSet<String> = (files("src").into_iter())
        .filter(|f| f.path.starts_with("src/") && above.contains(&f.phase()) && !f.path.contains("/tests"))
        .filter(|f| writes_sentences(&f.text))
        .map(|f| f.path.trim_start_matches("src/").to_owned())
        .collect();
    let listed: BTreeSet<String> =
        reasons.iter().flat_map(|(files, _)| files.iter()).map(|f| (*f).to_owned()).collect();
    let new: Vec<&String> = writes.difference(&listed).collect();
    assert!(new.is_empty(), "put the words into `render::words`, and data in their place: {new:#?}");
    let done: Vec<&String> = listed.difference(&writes).collect();
    assert!(done.is_empty(), "these write no sentences any more, take them off the list: {done:#?}");
}

/// A file is read at a sitting. What grows beyond this is parted by what it is about; lists of plain types may be longer.
#[test]
fn no_file_grows_beyond_what_is_read_at_a_sitting() {
    const LONGEST: usize = 850;
    const LONGER: [(&str, &str); 3] = [
        ("src/elasticity/stress.rs", "one search for the greatest stress, worked on at this time: to be parted after"),
        ("src/recipe.rs", "plain types of the recipe, one after another"),
        ("src/semantics/spec.rs", "plain types of the spec, one after another"),
    ];
    let lines = |text: &str| text.split("#[cfg(test)]\nmod tests").next().unwrap_or_default().lines().count();
    let program = files("src").into_iter().filter(|f| !f.path.contains("tests"));
    let long: Vec<String> = program.filter(|f| lines(&f.text) > LONGEST).map(|f| f.path).collect();
    assert_eq!(long, LONGER.map(|(path, _)| path), "part these by meaning, or take what is short again off the list");
}
