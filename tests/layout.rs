//! The layout that `makeready fmt` writes: it says what the file said, and it is one.

use std::fs;
use std::path::PathBuf;

use makeready::diag::SourceId;
use makeready::syntax::layout::{layout, says_the_same};
use makeready::syntax::parse;
use proptest::prelude::*;

use crate::workshop::{Workshop, root};

/// Every text of the language that is committed, by its path.
fn committed() -> Vec<(PathBuf, String)> {
    let mut found = Vec::new();
    let mut folders = vec![root().join("examples"), root().join("recipes"), root().join("tests")];
    while let Some(folder) = folders.pop() {
        for path in fs::read_dir(&folder).unwrap().map(|e| e.unwrap().path()) {
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|e| e == "partspec" || e == "rules") {
                let text = fs::read_to_string(&path).unwrap();
                found.push((path, text));
            }
        }
    }
    assert!(found.len() > 20);
    found.sort();
    found
}

fn laid_out(text: &str) -> Option<String> {
    layout(SourceId(0), text).value
}

fn same(one: &str, other: &str) -> bool {
    let read = |text: &str| parse(SourceId(0), text).value.unwrap();
    says_the_same(&read(one), &read(other))
}

#[test]
fn a_text_laid_out_says_what_it_said_and_is_laid_out_already() {
    let mut seen = 0;
    for (path, text) in committed() {
        let Some(once) = laid_out(&text) else { continue };
        seen += 1;
        assert!(same(&text, &once), "{}", path.display());
        assert_eq!(laid_out(&once).as_ref(), Some(&once), "{}", path.display());
        let comments = |t: &str| t.matches("//").count();
        assert_eq!(comments(&text), comments(&once), "{}", path.display());
    }
    assert!(seen > 20, "{seen} texts could be read");
}

/// Puts other blanks, tabs, line ends and comments where the text has a line end or a blank outside its texts.
fn mangled(text: &str, dice: &[u8]) -> String {
    let mut dice = dice.iter().cycle();
    let mut out = String::new();
    for line in text.lines() {
        // A line with a text or a comment keeps its inside: only its ends change.
        let inside = if line.contains(['"', '“']) || line.contains("//") {
            line.trim().to_owned()
        } else {
            line.trim()
                .split(' ')
                .filter(|w| !w.is_empty())
                .collect::<Vec<_>>()
                .join([" ", "  ", " \t"][pick(&mut dice, 3)])
        };
        out.push_str(["", " ", "\t", "        "][pick(&mut dice, 4)]);
        out.push_str(&inside);
        out.push_str(["\n", "\r\n", "\n\n", "  \n\n\n"][pick(&mut dice, 4)]);
    }
    out
}

fn pick<'d>(dice: &mut impl Iterator<Item = &'d u8>, of: usize) -> usize {
    usize::from(*dice.next().unwrap()) % of
}

fn without_empty_lines(text: &str) -> String {
    text.lines().filter(|line| !line.is_empty()).collect::<Vec<_>>().join("\n")
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    /// However a text was spaced, its layout is one (but for where empty lines stood).
    #[test]
    fn one_text_has_one_layout(dice in prop::collection::vec(any::<u8>(), 37), which in any::<prop::sample::Index>()) {
        let texts = committed();
        let (path, text) = which.get(&texts);
        if let Some(canonical) = laid_out(text) {
            let other = mangled(text, &dice);
            let again = laid_out(&other);
            prop_assert!(again.is_some(), "{}", path.display());
            let again = again.unwrap_or_default();
            prop_assert!(same(&other, &again));
            prop_assert_eq!(without_empty_lines(&again), without_empty_lines(&canonical), "{}", path.display());
        }
    }
}

const SPEC: &str = "part \"peg\" {\n mesh \"peg.stl\" in mm // as exported\n quantity 4 }\n";

#[test]
fn fmt_names_what_would_change_then_changes_it_once() {
    let shop = Workshop::empty();
    shop.write("peg.partspec", SPEC);
    let told = shop.run(&["fmt", "--check"]);
    assert_eq!((told.code, told.stdout.as_str()), (1, ""));
    assert!(told.stderr.contains("would change: ./peg.partspec, from line 2"), "{}", told.stderr);
    assert_eq!(shop.read("peg.partspec"), SPEC);

    assert_eq!(shop.run(&["fmt"]).code, 0);
    assert_eq!(
        shop.read("peg.partspec"),
        "part \"peg\" {\n  mesh      \"peg.stl\" in mm  // as exported\n  quantity  4\n}\n"
    );
    assert_eq!(shop.run(&["fmt", "--check", "peg.partspec"]).code, 0);
}

#[test]
fn fmt_leaves_what_it_cannot_read_and_lays_out_its_neighbours() {
    let shop = Workshop::empty();
    let broken = "part \"a\" {\n  wall 2 mm\n";
    shop.write("broken.partspec", broken);
    shop.write("peg.partspec", SPEC);
    let told = shop.run(&["fmt"]);
    assert_eq!(told.code, 1);
    assert!(told.stderr.contains("syntax/unclosed-block"), "{}", told.stderr);
    assert_eq!(shop.read("broken.partspec"), broken);
    assert_ne!(shop.read("peg.partspec"), SPEC);
    assert_eq!(shop.run(&["fmt", "missing.partspec"]).code, 2);
}
