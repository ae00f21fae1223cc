//! What changed between two states of a project's files, piece by piece: statements of specs and rules, entries of a
//! workshop file, meshes whole.

use std::collections::BTreeMap;
use std::ops::Range;

use crate::diag::SourceId;
use crate::syntax;
use crate::syntax::tree::{ExprKind, Statement, join};

/// One change of one file.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Edit {
    pub file: String,
    /// What was changed, by the words and names of its blocks; empty for a whole file.
    pub path: String,
    pub how: How,
    change: Change,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum How {
    Changed,
    Added,
    Removed,
}

#[derive(Debug, Clone, PartialEq)]
enum Change {
    /// In the text before: this range becomes this text.
    Piece(Range<usize>, String),
    /// The file becomes this, or goes.
    Whole(Option<Vec<u8>>),
}

impl Edit {
    /// Returns the change in words: `shop.yaml: spools/asa-grey-1 (taken out)`.
    pub(super) fn words(&self) -> String {
        let path = if self.path.is_empty() { String::new() } else { format!(": {}", self.path) };
        let how = match self.how {
            How::Changed => "",
            How::Added => " (new)",
            How::Removed => " (taken out)",
        };
        format!("{}{path}{how}", self.file)
    }
}

/// The files of a state, by name.
pub(super) type Files = BTreeMap<String, Vec<u8>>;

/// Returns what changed between two states, in order of file and place.
pub(super) fn edits(before: &Files, now: &Files) -> Vec<Edit> {
    let mut names: Vec<&String> = before.keys().chain(now.keys()).collect();
    names.sort();
    names.dedup();
    names.into_iter().flat_map(|name| of_file(name, before.get(name), now.get(name))).collect()
}

/// Returns the files before with some of the edits made.
pub(super) fn with(before: &Files, edits: &[&Edit]) -> Files {
    let mut files = before.clone();
    for (name, old) in before {
        let mut pieces: Vec<(&Range<usize>, &str)> = edits
            .iter()
            .filter(|e| e.file == *name)
            .filter_map(|e| match &e.change {
                Change::Piece(range, text) => Some((range, text.as_str())),
                Change::Whole(_) => None,
            })
            .collect();
        if pieces.is_empty() {
            continue;
        }
        // From the end on, so that the places of those before stay; of two at one place the later one first.
        pieces.reverse();
        pieces.sort_by_key(|(range, _)| std::cmp::Reverse((range.start, range.end)));
        let mut text = String::from_utf8_lossy(old).into_owned();
        for (range, new) in pieces {
            if text.get(range.clone()).is_some() {
                text.replace_range(range.clone(), new);
            }
        }
        files.insert(name.clone(), text.into_bytes());
    }
    for edit in edits {
        match &edit.change {
            Change::Whole(Some(bytes)) => drop(files.insert(edit.file.clone(), bytes.clone())),
            Change::Whole(None) => drop(files.remove(&edit.file)),
            Change::Piece(..) => {}
        }
    }
    files
}

fn of_file(name: &str, before: Option<&Vec<u8>>, now: Option<&Vec<u8>>) -> Vec<Edit> {
    if before == now {
        return Vec::new();
    }
    let how = match (before, now) {
        (Some(_), Some(_)) => How::Changed,
        (None, _) => How::Added,
        (_, None) => How::Removed,
    };
    let whole = || vec![Edit { file: name.to_owned(), path: String::new(), how, change: Change::Whole(now.cloned()) }];
    let text = |bytes: Option<&Vec<u8>>| bytes.and_then(|b| String::from_utf8(b.clone()).ok());
    let (Some(old), Some(new)) = (text(before), text(now)) else { return whole() };
    let pieces: fn(&str) -> Option<Piece> = match name.rsplit('.').next() {
        Some("partspec" | "rules") => of_language,
        Some("yaml" | "yml") => of_yaml,
        _ => return whole(),
    };
    let (Some(one), Some(other)) = (pieces(&old), pieces(&new)) else { return whole() };
    let mut found = Found { file: name, old: &old, new: &new, edits: Vec::new() };
    found.differences(&one, &other, "");
    // A comment, an empty line or another order: nothing that could be done piece by piece.
    if found.edits.is_empty() { Vec::new() } else { found.edits }
}

/// A named piece of a text, and the pieces within it.
#[derive(Debug)]
struct Piece {
    name: String,
    range: Range<usize>,
    /// What stands before its inner pieces: `part "a" is outdoor`.
    head: Range<usize>,
    /// Where an inner piece more would go, and what stands before and behind it there.
    end: usize,
    around: (&'static str, &'static str),
    inner: Vec<Piece>,
}

struct Found<'t> {
    file: &'t str,
    old: &'t str,
    new: &'t str,
    edits: Vec<Edit>,
}

impl Found<'_> {
    fn differences(&mut self, old: &Piece, new: &Piece, path: &str) {
        let texts = |range: (&Range<usize>, &Range<usize>)| {
            let one = self.old.get(range.0.clone()).unwrap_or_default();
            (one.trim() == self.new.get(range.1.clone()).unwrap_or_default().trim(), one)
        };
        if texts((&old.range, &new.range)).0 {
            return;
        }
        if old.inner.is_empty() || new.inner.is_empty() {
            return self.put(path, How::Changed, old.range.clone(), new.range.clone(), ("", ""));
        }
        if !texts((&old.head, &new.head)).0 {
            self.put(path, How::Changed, old.head.clone(), new.head.clone(), ("", ""));
        }
        let within = |name: &str| if path.is_empty() { name.to_owned() } else { format!("{path}/{name}") };
        for piece in &old.inner {
            match new.inner.iter().find(|p| p.name == piece.name) {
                Some(other) => self.differences(piece, other, &within(&piece.name)),
                None => self.put(&within(&piece.name), How::Removed, piece.range.clone(), 0..0, ("", "")),
            }
        }
        for piece in new.inner.iter().filter(|p| old.inner.iter().all(|o| o.name != p.name)) {
            self.put(&within(&piece.name), How::Added, old.end..old.end, piece.range.clone(), old.around);
        }
    }

    fn put(&mut self, path: &str, how: How, old: Range<usize>, new: Range<usize>, around: (&str, &str)) {
        let text = format!("{}{}{}", around.0, self.new.get(new).unwrap_or_default(), around.1);
        let change = Change::Piece(old, text);
        self.edits.push(Edit { file: self.file.to_owned(), path: path.to_owned(), how, change });
    }
}

/// Numbers pieces of one name, so that each has its own.
fn numbered(mut pieces: Vec<Piece>) -> Vec<Piece> {
    let mut seen: BTreeMap<String, usize> = BTreeMap::new();
    for piece in &mut pieces {
        let nth = seen.entry(piece.name.clone()).or_default();
        *nth += 1;
        if *nth > 1 {
            piece.name = format!("{} [{nth}]", piece.name);
        }
    }
    pieces
}

/// Returns the statements of a spec or rule file; none where it cannot be read.
fn of_language(text: &str) -> Option<Piece> {
    let report = syntax::parse(SourceId(0), text);
    if report.has_errors() {
        return None;
    }
    let inner = report.value?.statements.iter().map(statement).collect();
    let (whole, end) = (0..text.len(), text.len());
    Some(Piece { name: String::new(), range: whole, head: 0..0, end, around: ("\n", "\n"), inner: numbered(inner) })
}

fn statement(statement: &Statement) -> Piece {
    let at = |at: u32| at as usize;
    let start = at(statement.keyword.span.start);
    let head = start..at(statement.head.end);
    let mut piece =
        Piece { name: name(statement), range: head.clone(), head, end: 0, around: ("\n", "\n"), inner: Vec::new() };
    if let Some(block) = &statement.block {
        piece.range.end = at(block.span.end);
        piece.end = at(block.span.end).saturating_sub(1);
        // Of a rule, a load or a fit the whole is one change; parts, profiles and services are read line by line.
        if ["part", "profile", "service", "assembly"].contains(&statement.keyword.text.as_str()) {
            piece.inner = numbered(block.statements.iter().map(self::statement).collect());
        }
    }
    piece
}

/// Returns what a statement is called: its keyword and, if it is a text or a name, its first argument.
fn name(statement: &Statement) -> String {
    let keyword = &statement.keyword.text;
    let named =
        ["part", "profile", "assembly", "rule", "let", "load", "fit", "face", "contact", "pin", "forbid", "waive"];
    let first = statement.arguments.first().filter(|_| named.contains(&keyword.as_str()));
    match first.map(|e| &e.kind) {
        Some(ExprKind::Text(text)) => format!("{keyword} \"{text}\""),
        Some(ExprKind::Name(parts)) => format!("{keyword} {}", join(parts)),
        _ => keyword.clone(),
    }
}

/// Returns the entries of a workshop file by their lines: top-level keys, and the items or keys set in below each.
fn of_yaml(text: &str) -> Option<Piece> {
    let lines = lines(text);
    let tops: Vec<usize> = (0..lines.len()).filter(|&i| lines[i].indent == Some(0)).collect();
    let inner = tops.iter().enumerate().map(|(nth, &from)| {
        let to = tops.get(nth + 1).copied().unwrap_or(lines.len());
        entry(text, &lines, from, to)
    });
    let inner = numbered(inner.collect());
    Some(Piece { name: String::new(), range: 0..text.len(), head: 0..0, end: text.len(), around: ("\n", "\n"), inner })
}

/// A line of a YAML text: where it lies, and how far it is set in if it holds more than a comment.
struct Line {
    range: Range<usize>,
    indent: Option<usize>,
}

fn lines(text: &str) -> Vec<Line> {
    let mut at = 0;
    text.split_inclusive('\n')
        .map(|line| {
            let range = at..at + line.len();
            at = range.end;
            let bare = line.trim_start();
            let empty = bare.is_empty() || bare.starts_with('#');
            Line { range, indent: (!empty).then_some(line.len() - bare.len()) }
        })
        .collect()
}

fn entry(text: &str, lines: &[Line], from: usize, to: usize) -> Piece {
    let range_of = |from: usize, to: usize| lines[from].range.start..lines[to - 1].range.end;
    let key = |line: &Line| {
        let line = text[line.range.clone()].trim();
        line.split(':').next().unwrap_or(line).trim_matches('"').to_owned()
    };
    let below = lines[from + 1..to].iter().find_map(|l| l.indent);
    let starts: Vec<usize> = (from + 1..to).filter(|&i| below.is_some() && lines[i].indent == below).collect();
    let inner = starts.iter().enumerate().map(|(nth, &start)| {
        let end = starts.get(nth + 1).copied().unwrap_or(to);
        let range = range_of(start, end);
        let item = text[range.clone()].trim_start().starts_with("- ");
        let name = if item { item_name(&text[range.clone()], nth) } else { key(&lines[start]) };
        Piece { name, head: range.clone(), range, end: 0, around: ("", ""), inner: Vec::new() }
    });
    let range = range_of(from, to);
    let inner = numbered(inner.collect());
    Piece { name: key(&lines[from]), head: lines[from].range.clone(), end: range.end, range, around: ("", "\n"), inner }
}

/// Returns the name an item of a list gives itself, else its number.
fn item_name(item: &str, nth: usize) -> String {
    let named = item.split("name:").nth(1).map(|rest| rest.trim_start());
    let name = named.and_then(|rest| rest.split([',', '}', '\n', '#']).next());
    name.map(|n| n.trim().trim_matches('"').to_owned()).filter(|n| !n.is_empty()).unwrap_or(format!("#{}", nth + 1))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn files(name: &str, text: &str) -> Files {
        [(name.to_owned(), text.as_bytes().to_vec())].into()
    }

    /// All edits together make the new text say what it says; each alone is named by its piece.
    fn between(name: &str, old: &str, new: &str) -> Vec<(String, String)> {
        let before = files(name, old);
        let edits = edits(&before, &files(name, new));
        let alone =
            edits.iter().map(|e| (e.words(), String::from_utf8(with(&before, &[e]).remove(name).unwrap()).unwrap()));
        alone.collect()
    }

    #[test]
    fn statements_of_a_spec_change_one_by_one() {
        let old = "part \"a\" {\n  quantity 2\n  service { air 5 °C .. 30 °C; wet damp }\n  wall 2 mm\n}\n";
        let new =
            "part \"a\" {\n  quantity 3\n  // more\n  service { air 5 °C .. 40 °C; wet damp }\n  treat anneal\n}\n";
        let found = between("a.partspec", old, new);
        let words: Vec<&str> = found.iter().map(|(w, _)| w.as_str()).collect();
        assert_eq!(
            words,
            [
                "a.partspec: part \"a\"/quantity",
                "a.partspec: part \"a\"/service/air",
                "a.partspec: part \"a\"/wall (taken out)",
                "a.partspec: part \"a\"/treat (new)",
            ]
        );
        assert_eq!(found[0].1, old.replace("quantity 2", "quantity 3"));
        assert_eq!(found[1].1, old.replace("30 °C", "40 °C"));
        assert!(found[3].1.contains("treat anneal\n}"), "{}", found[3].1);
        assert!(!syntax::parse(SourceId(0), &found[3].1).has_errors());
    }

    #[test]
    fn entries_of_a_workshop_change_one_by_one() {
        let old = "name: Hut\nspools:\n  # grey\n  - { name: pla-1, left: 640 g }\n  - name: petg-1\n    left: 100 g\nagents: [pva]\n";
        let new =
            "name: Hut\nspools:\n  - { name: pla-1, left: 600 g }\n  - name: asa-1\n    left: 900 g\nagents: [pva]\n";
        let found = between("shop.yaml", old, new);
        let words: Vec<&str> = found.iter().map(|(w, _)| w.as_str()).collect();
        assert_eq!(
            words,
            ["shop.yaml: spools/pla-1", "shop.yaml: spools/petg-1 (taken out)", "shop.yaml: spools/asa-1 (new)"]
        );
        assert!(found[0].1.contains("600 g") && found[0].1.contains("petg-1"), "{}", found[0].1);
        assert!(found[2].1.contains("left: 100 g\n  - name: asa-1"), "{}", found[2].1);
    }

    #[test]
    fn all_edits_together_give_the_new_state() {
        let old = "part \"a\" {\n  quantity 2\n  wall 2 mm\n}\n";
        let new = "part \"a\" is x {\n  quantity 3\n  treat anneal\n}\nprofile x { wet damp }\n";
        let (before, now) = (files("a.partspec", old), files("a.partspec", new));
        let edits = edits(&before, &now);
        let all = with(&before, &edits.iter().collect::<Vec<_>>());
        let read =
            |f: &Files| syntax::parse(SourceId(0), std::str::from_utf8(&f["a.partspec"]).unwrap()).value.unwrap();
        assert!(crate::syntax::layout::says_the_same(&read(&all), &read(&now)));
    }

    #[test]
    fn a_mesh_changes_whole_and_a_comment_not_at_all() {
        let (a, b) = (files("a.stl", "solid a"), files("a.stl", "solid b"));
        assert_eq!(edits(&a, &b)[0].words(), "a.stl");
        assert_eq!(between("a.partspec", "part \"a\" { wall 2 mm }\n", "// x\npart \"a\" { wall 2 mm }\n"), []);
    }
}
