//! Changing a workshop file without disturbing it: only the numbers of a record change, or a line is added; comments,
//! order and every other byte stay as they are.

use super::node::{Content, Node, parse_text};
use crate::diag::{Diagnostic, SourceId};
use crate::fits::calibration::{CalibrationRecord, yaml_word};
use crate::quantity::{Length, trim_number};

/// What became of one record.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Change {
    /// The file had no record of this printer, nozzle, material, feature and axis.
    Added,
    /// Its numbers were replaced.
    Updated,
    /// The file holds the same numbers already.
    Same,
    /// The file holds a later record, which stays.
    OlderThanTheFile,
    /// So few pieces say nothing of the spread, and a record without a spread would promise what no printer keeps.
    TooFew,
    /// A piece lies far from the rest, and nobody has said whether it counts.
    FarOut,
}

impl Change {
    /// Returns the change in a word or two.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Added => "added",
            Self::Updated => "updated",
            Self::Same => "unchanged",
            Self::OlderThanTheFile => "not written: the file has a later one",
            Self::TooFew => "not written: so few pieces give no spread",
            Self::FarOut => {
                "not written: a piece lies far from the rest; measure it again, or say --far-out take or leave"
            }
        }
    }
}

/// A piece of the text to replace.
struct Edit {
    from: usize,
    to: usize,
    text: String,
}

/// Puts calibration records into the text of a workshop file; returns the new text and what became of each record.
///
/// # Errors
///
/// The syntax error of a text that is no YAML, or `shop/calibration-form` where `calibration` is no list.
///
/// What fewer than `least` pieces gave is no record.
pub fn put_records(text: &str, records: &[CalibrationRecord], least: u32) -> Result<(String, Vec<Change>), Diagnostic> {
    let tree = parse_text(text, SourceId(0))?;
    let items = items(&tree, CALIBRATION)?;
    let (mut edits, mut changes, mut added) = (Vec::new(), Vec::new(), Vec::new());
    for record in records {
        if record.count < least {
            changes.push(Change::TooFew);
            continue;
        }
        let same = items.iter().filter(|item| is_about(item, record));
        match same.max_by(|a, b| date(a).cmp(date(b))) {
            Some(item) if date(item) > record.on.as_str() => changes.push(Change::OlderThanTheFile),
            Some(item) => {
                let new = set(text, item, &numbers(record, item));
                changes.push(if new.is_empty() { Change::Same } else { Change::Updated });
                edits.extend(new);
            }
            None => {
                changes.push(Change::Added);
                added.push(record.to_yaml_flow());
            }
        }
    }
    if !added.is_empty() {
        edits.push(insertion(text, &tree, CALIBRATION, items, &added));
    }
    Ok((apply(text, edits), changes))
}

/// The list of records.
const CALIBRATION: &str = "calibration";

/// What the file shall say in one block of one of its lists.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// The list: `spools`.
    pub list: &'static str,
    /// Keys and values by which the block is known: `name: pla-1`. They are written where it is new.
    pub about: Vec<(&'static str, String)>,
    /// The block within the block; none for the block itself.
    pub within: Option<&'static str>,
    /// What its keys shall say, as it is written in YAML.
    pub says: Vec<(&'static str, String)>,
}

/// Puts entries into the text of a workshop file; returns the new text and what became of each.
///
/// # Errors
///
/// The syntax error of a text that is no YAML, or `shop/list-form` where a list is none.
pub fn put_entries(text: &str, entries: &[Entry]) -> Result<(String, Vec<Change>), Diagnostic> {
    let (mut text, mut changes) = (text.to_owned(), Vec::new());
    // One by one: an entry may change a block that another changes too.
    for entry in entries {
        let tree = parse_text(&text, SourceId(0))?;
        let items = items(&tree, entry.list)?;
        let known = |item: &&Node| entry.about.iter().all(|(key, value)| scalar(item, key) == value);
        let flow = |pairs: &[(&'static str, String)]| {
            let pairs: Vec<String> = pairs.iter().map(|(key, value)| format!("{key}: {value}")).collect();
            format!("{{ {} }}", pairs.join(", "))
        };
        let says = entry.says.clone();
        let edits = match (items.iter().find(known), entry.within) {
            (Some(item), None) => set(&text, item, &says),
            (Some(item), Some(inner)) => match item.get(inner).filter(|n| matches!(n.content, Content::Map(_))) {
                Some(inner) => set(&text, inner, &says),
                None => set(&text, item, &[(inner, flow(&says))]),
            },
            (None, within) => {
                let mut pairs: Vec<_> = entry.about.iter().map(|(k, v)| (*k, yaml_word(v))).collect();
                match within {
                    Some(inner) => pairs.push((inner, flow(&says))),
                    None => pairs.extend(says),
                }
                let new = insertion(&text, &tree, entry.list, items, &[flow(&pairs)]);
                changes.push(Change::Added);
                text = apply(&text, vec![new]);
                continue;
            }
        };
        changes.push(if edits.is_empty() { Change::Same } else { Change::Updated });
        text = apply(&text, edits);
    }
    Ok((text, changes))
}

/// The blocks of a list of the file.
fn items<'a>(tree: &'a Node, list: &str) -> Result<&'a [Node], Diagnostic> {
    match tree.get(list).map(|l| &l.content) {
        None | Some(Content::Empty) => Ok(&[]),
        Some(Content::List(items)) => Ok(items),
        Some(_) => {
            let code = if list == CALIBRATION { "shop/calibration-form" } else { "shop/list-form" };
            let message = format!("`{list}` in the workshop file is not a list");
            Err(Diagnostic::new(crate::diag::Severity::Error, code, message)
                .hint("write each record as a line of its own below it, beginning with `- {`"))
        }
    }
}

fn scalar<'a>(item: &'a Node, key: &str) -> &'a str {
    item.get(key).and_then(Node::text).unwrap_or("")
}

fn date(item: &Node) -> &str {
    scalar(item, "on")
}

fn is_about(item: &Node, record: &CalibrationRecord) -> bool {
    scalar(item, "printer") == record.printer
        && scalar(item, "nozzle") == record.nozzle
        && scalar(item, "material") == record.material
        && scalar(item, "what") == record.what.as_str()
        && scalar(item, "axis") == record.axis.as_str()
}

/// The numbers of a record under the keys of the file.
fn numbers(record: &CalibrationRecord, item: &Node) -> Vec<(&'static str, String)> {
    let mm = |l: Length| format!("{} mm", trim_number(l.to_mm(), 4));
    // A scale that the new record has no use for must not keep its old number.
    let scaled = (record.scale - 1.0).abs() > 1e-12 || item.get("scale").is_some();
    let all = [
        ("offset", Some(mm(record.offset))),
        ("scale", scaled.then(|| trim_number(record.scale, 6))),
        ("spread", Some(mm(record.spread))),
        ("from", record.range.map(|r| mm(r.0))),
        ("to", record.range.map(|r| mm(r.1))),
        ("count", Some(record.count.to_string())),
        ("on", Some(record.on.clone())),
    ];
    all.into_iter().filter_map(|(key, value)| Some((key, value?))).collect()
}

/// What changes where the keys of a block are to say this, each value as it is written in YAML.
fn set(text: &str, item: &Node, says: &[(&'static str, String)]) -> Vec<Edit> {
    let mut edits = Vec::new();
    let mut missing = Vec::new();
    for (key, value) in says {
        match item.get(key) {
            Some(node) => {
                // A value stays in the quotes it stands in.
                let bare = value.strip_prefix('"').and_then(|v| v.strip_suffix('"')).unwrap_or(value);
                if node.text() != Some(bare) {
                    let (from, to) = scalar_range(text, node);
                    let quoted = text.get(..from).is_some_and(|t| t.ends_with('"'));
                    let new = if quoted { bare.to_owned() } else { value.clone() };
                    edits.push(Edit { from, to, text: new });
                }
            }
            None => missing.push(format!("{key}: {value}")),
        }
    }
    if missing.is_empty() {
        return edits;
    }
    let start = item.at.start as usize;
    if text.get(start..).is_some_and(|t| t.starts_with('{')) {
        let end = closing(text, start);
        let body = text.get(start..end).unwrap_or("").trim_end();
        let at = start + body.len();
        let comma = if body.ends_with(',') { " " } else { ", " };
        edits.push(Edit { from: at, to: at, text: format!("{comma}{}", missing.join(", ")) });
    } else {
        // In an item of several lines every key has its own, as far in as its first.
        let at = line_end(text, last_place(item));
        let first = item.entries().first().map_or(start, |(key, _)| key.at.start as usize);
        let indent = " ".repeat(column(text, first));
        let lines: String = missing.iter().map(|m| format!("{}{indent}{m}", end_of_line(text))).collect();
        edits.push(Edit { from: at, to: at, text: lines });
    }
    edits
}

/// The bytes of a scalar as it is written, quotes included.
fn scalar_range(text: &str, node: &Node) -> (usize, usize) {
    let start = node.at.start as usize;
    let rest = text.get(start..).unwrap_or("");
    if let Some(quote) = rest.chars().next().filter(|c| matches!(c, '"' | '\'')) {
        let close = rest.get(1..).and_then(|r| r.find(quote)).map_or(rest.len(), |i| i + 2);
        return (start, start + close);
    }
    let written = node.text().unwrap_or("");
    let length = if rest.starts_with(written) { written.len() } else { (node.at.end - node.at.start) as usize };
    (start, start + length)
}

/// Returns the offset of the bracket that closes the one at `start`; quotes and comments are passed over.
fn closing(text: &str, start: usize) -> usize {
    let mut depth = 0_usize;
    let mut quote: Option<char> = None;
    let mut comment = false;
    let mut before = ' ';
    for (i, c) in text.get(start..).unwrap_or("").char_indices() {
        match (quote, c) {
            _ if comment => comment = c != '\n',
            (Some(q), _) if c == q => quote = None,
            (Some(_), _) => {}
            // An apostrophe within a word is no quote.
            (None, '"' | '\'') if !before.is_alphanumeric() => quote = Some(c),
            (None, '#') if before.is_whitespace() => comment = true,
            (None, '{' | '[') => depth += 1,
            (None, '}' | ']') => {
                depth = depth.saturating_sub(1);
                if depth == 0 {
                    return start + i;
                }
            }
            _ => {}
        }
        before = c;
    }
    text.len()
}

/// The last byte that belongs to a node.
fn last_place(node: &Node) -> usize {
    let inner = match &node.content {
        Content::List(items) => items.iter().map(last_place).max(),
        Content::Map(entries) => entries.iter().map(|(_, v)| last_place(v)).max(),
        Content::Empty | Content::Scalar(_) => None,
    };
    inner.unwrap_or(0).max((node.at.end as usize).max(node.at.start as usize))
}

fn line_end(text: &str, at: usize) -> usize {
    let end = text.get(at..).and_then(|t| t.find('\n')).map_or(text.len(), |i| at + i);
    if text.get(..end).is_some_and(|t| t.ends_with('\r')) { end - 1 } else { end }
}

fn line_start(text: &str, at: usize) -> usize {
    text.get(..at).and_then(|t| t.rfind('\n')).map_or(0, |i| i + 1)
}

fn column(text: &str, at: usize) -> usize {
    text.get(line_start(text, at)..at).map_or(0, |t| t.chars().count())
}

fn end_of_line(text: &str) -> &'static str {
    if text.contains("\r\n") { "\r\n" } else { "\n" }
}

/// Where new records go: behind the last one, in the form the list has.
fn insertion(text: &str, tree: &Node, name: &str, items: &[Node], added: &[String]) -> Edit {
    let eol = end_of_line(text);
    let lines = |indent: &str| added.iter().map(|line| format!("{eol}{indent}- {line}")).collect::<String>();
    let key = tree.entries().iter().find(|(k, _)| k.text == name);
    let Some((key, list)) = key else {
        let newline = if text.is_empty() || text.ends_with('\n') { "" } else { eol };
        let gap = if text.is_empty() { "" } else { eol };
        let text_added = format!("{newline}{gap}{name}:{}{eol}", lines("  "));
        return Edit { from: text.len(), to: text.len(), text: text_added };
    };
    let after_key = key.at.start as usize + name.len();
    let opening = text.get(after_key..).and_then(|t| t.find(':')).map_or(after_key, |i| after_key + i + 1);
    let same_line = text.get(opening..line_end(text, opening)).unwrap_or("");
    if same_line.trim_start().starts_with('[') {
        let start = opening + (same_line.len() - same_line.trim_start().len());
        let end = closing(text, start);
        let body = text.get(start..end).unwrap_or("").trim_end();
        let at = start + body.len();
        let comma = if items.is_empty() || body.ends_with(',') { "" } else { "," };
        let space = if items.is_empty() { "" } else { " " };
        return Edit { from: at, to: at, text: format!("{comma}{space}{}", added.join(", ")) };
    }
    let Some(last) = items.last() else {
        let at = line_end(text, opening.max(list.at.start as usize));
        return Edit { from: at, to: at, text: lines("  ") };
    };
    let start = last.at.start as usize;
    let from = line_start(text, start);
    let dash = text.get(from..start).and_then(|t| t.find('-')).unwrap_or(2);
    let end =
        if text.get(start..).is_some_and(|t| t.starts_with('{')) { closing(text, start) } else { last_place(last) };
    let at = line_end(text, end);
    Edit { from: at, to: at, text: lines(&" ".repeat(dash)) }
}

fn apply(text: &str, mut edits: Vec<Edit>) -> String {
    edits.sort_by_key(|e| (e.from, e.to));
    let mut out = String::with_capacity(text.len() + 256);
    let mut at = 0;
    for edit in edits {
        out.push_str(text.get(at..edit.from).unwrap_or(""));
        out.push_str(&edit.text);
        at = edit.to.max(at);
    }
    out.push_str(text.get(at..).unwrap_or(""));
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fits::feature::{FeatureAxis, FeatureKind};

    fn record(material: &str, offset: f64, scale: f64, on: &str) -> CalibrationRecord {
        CalibrationRecord {
            printer: "Bench".to_owned(),
            nozzle: "brass-04".to_owned(),
            material: material.to_owned(),
            what: FeatureKind::Hole,
            axis: FeatureAxis::AcrossLayers,
            offset: Length::mm(offset),
            scale,
            spread: Length::mm(0.03),
            count: 20,
            on: on.to_owned(),
            range: Some((Length::mm(3.0), Length::mm(12.0))),
        }
    }

    const SHOP: &str = "# our shop\nname: Hut   # the name\ncalibration:\n  # holes first\n  - { printer: Bench, nozzle: brass-04, material: PLA, what: hole, axis: across-layers, offset: -0.16 mm, spread: 0.04 mm, count: 12, on: 2026-10-20 }  # by hand\n  # and the rest\nyields: []\n";

    #[test]
    fn only_the_numbers_of_a_known_record_change() {
        let (new, changes) = put_records(SHOP, &[record("PLA", -0.2, 1.0, "2026-11-20")], 3).unwrap();
        assert_eq!(changes, [Change::Updated]);
        let expected = SHOP
            .replace("-0.16 mm", "-0.2 mm")
            .replace("0.04 mm", "0.03 mm")
            .replace("count: 12, on: 2026-10-20 }", "count: 20, on: 2026-11-20, from: 3 mm, to: 12 mm }");
        assert_eq!(new, expected);
        let (again, changes) = put_records(&new, &[record("PLA", -0.2, 1.0, "2026-11-20")], 3).unwrap();
        assert_eq!((again, changes), (new, vec![Change::Same]));
    }

    #[test]
    fn a_new_record_is_a_new_line_and_nothing_else_changes() {
        let (new, changes) = put_records(SHOP, &[record("PETG", -0.2, 0.998, "2026-11-20")], 3).unwrap();
        assert_eq!(changes, [Change::Added]);
        let lines: Vec<&str> = new.lines().collect();
        assert_eq!(lines[5], format!("  - {}", record("PETG", -0.2, 0.998, "2026-11-20").to_yaml_flow()));
        let rest: String = new.lines().enumerate().filter(|(i, _)| *i != 5).map(|(_, l)| format!("{l}\n")).collect();
        assert_eq!(rest, SHOP);
    }

    #[test]
    fn two_pieces_are_no_record() {
        let mut few = record("PLA", -0.2, 1.0, "2026-11-20");
        few.count = 2;
        assert_eq!(put_records(SHOP, &[few], 3).unwrap(), (SHOP.to_owned(), vec![Change::TooFew]));
    }

    #[test]
    fn a_later_record_of_the_file_stays() {
        let (new, changes) = put_records(SHOP, &[record("PLA", -0.2, 1.0, "2026-09-01")], 3).unwrap();
        assert_eq!((new.as_str(), changes), (SHOP, vec![Change::OlderThanTheFile]));
    }

    #[test]
    fn every_form_of_list_takes_a_record() {
        let line = record("PLA", -0.2, 1.0, "2026-11-20").to_yaml_flow();
        for (text, expected) in [
            ("name: A\n", format!("name: A\n\ncalibration:\n  - {line}\n")),
            ("name: A", format!("name: A\n\ncalibration:\n  - {line}\n")),
            ("calibration: []  # none yet\n", format!("calibration: [{line}]  # none yet\n")),
            ("calibration:   # none yet\nname: A\n", format!("calibration:   # none yet\n  - {line}\nname: A\n")),
            ("name: A\r\n", format!("name: A\r\n\r\ncalibration:\r\n  - {line}\r\n")),
        ] {
            let (new, _) = put_records(text, &[record("PLA", -0.2, 1.0, "2026-11-20")], 3).unwrap();
            assert_eq!(new, expected);
            assert!(parse_text(&new, SourceId(0)).is_ok(), "{new}");
        }
    }

    #[test]
    fn an_item_of_several_lines_keeps_its_form() {
        let text = "calibration:\n- printer: Bench # ours\n  nozzle: brass-04\n  material: PLA\n  what: hole\n  axis: across-layers\n  offset: \"-0.1 mm\"\n  count: 3\n  on: 2026-01-01\n# end\nname: A\n";
        let (new, changes) = put_records(text, &[record("PLA", -0.2, 1.0, "2026-11-20")], 3).unwrap();
        assert_eq!(changes, [Change::Updated]);
        let expected = text
            .replace("-0.1 mm", "-0.2 mm")
            .replace("count: 3", "count: 20")
            .replace("on: 2026-01-01", "on: 2026-11-20\n  spread: 0.03 mm\n  from: 3 mm\n  to: 12 mm");
        assert_eq!(new, expected);
        let (more, _) = put_records(&new, &[record("PETG", -0.2, 1.0, "2026-11-20")], 3).unwrap();
        assert!(more.contains("  to: 12 mm\n- { printer: Bench"), "{more}");
        assert!(parse_text(&more, SourceId(0)).is_ok());
    }

    /// Read by hand: the spool's rest changes where it stands, a machine gets what it had not, a record is added, and once only.
    #[test]
    fn what_a_run_taught_is_put_where_it_belongs() {
        let shop = "printers:\n  - name: Bench\n    enclosed: no   # open\n    now: { material: PLA, spool: a }\n  - name: Loft\n    enclosed: yes\nspools:\n  - { name: a, left: 640 g }  # half\nyields: []\n";
        let entry = |list, about: &[(&'static str, &str)], within, says: &[(&'static str, &str)]| {
            let pairs = |p: &[(&'static str, &str)]| p.iter().map(|(k, v)| (*k, (*v).to_owned())).collect();
            Entry { list, about: pairs(about), within, says: pairs(says) }
        };
        let entries = [
            entry("spools", &[("name", "a")], None, &[("left", "512 g"), ("dried", "2026-12-07")]),
            entry("printers", &[("name", "Bench")], Some("now"), &[("material", "PETG"), ("spool", "a")]),
            entry("printers", &[("name", "Loft")], Some("now"), &[("nozzle", "\"b: 4\"")]),
            entry("printers", &[("name", "Loft")], None, &[("pace", "1.12")]),
            entry("yields", &[("run", "week"), ("part", "peg")], None, &[("started", "9"), ("good", "8")]),
        ];
        let (new, changes) = put_entries(shop, &entries).unwrap();
        assert_eq!(changes, [Change::Updated, Change::Updated, Change::Updated, Change::Updated, Change::Added]);
        let expected = "printers:\n  - name: Bench\n    enclosed: no   # open\n    now: { material: PETG, spool: a }\n  - name: Loft\n    enclosed: yes\n    now: { nozzle: \"b: 4\" }\n    pace: 1.12\nspools:\n  - { name: a, left: 512 g, dried: 2026-12-07 }  # half\nyields: [{ run: week, part: peg, started: 9, good: 8 }]\n";
        assert_eq!(new, expected);
        let (again, changes) = put_entries(&new, &entries).unwrap();
        assert_eq!((again, changes), (new, vec![Change::Same; 5]));
        assert_eq!(put_entries("spools: 4\n", &entries).unwrap_err().code, "shop/list-form");
    }

    #[test]
    fn what_is_no_list_is_told() {
        assert_eq!(put_records("calibration: yes\n", &[], 3).unwrap_err().code, "shop/calibration-form");
        assert_eq!(put_records("a: [\n", &[], 3).unwrap_err().code, "yaml/syntax");
    }
}
