//! Changing a workshop file without disturbing it: only the numbers of a record change, or a line is added; comments,
//! order and every other byte stay as they are.

use super::node::{Content, Node, parse_text};
use crate::diag::{Diagnostic, SourceId};
use crate::fits::calibration::CalibrationRecord;
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
            Self::TooFew => "not written: fewer than three pieces give no spread",
            Self::FarOut => {
                "not written: a piece lies far from the rest; measure it again, or say --far-out take or leave"
            }
        }
    }
}

/// Fewer pieces than this are no record.
pub const LEAST_PIECES: u32 = 3;

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
pub fn put_records(text: &str, records: &[CalibrationRecord]) -> Result<(String, Vec<Change>), Diagnostic> {
    let tree = parse_text(text, SourceId(0))?;
    let list = tree.get("calibration");
    let items: &[Node] = match list.map(|l| &l.content) {
        None | Some(Content::Empty) => &[],
        Some(Content::List(items)) => items,
        Some(_) => {
            return Err(Diagnostic::new(
                crate::diag::Severity::Error,
                "shop/calibration-form",
                "`calibration` in the workshop file is not a list",
            )
            .hint("write each record as a line of its own below it, beginning with `- {`"));
        }
    };
    let (mut edits, mut changes, mut added) = (Vec::new(), Vec::new(), Vec::new());
    for record in records {
        if record.count < LEAST_PIECES {
            changes.push(Change::TooFew);
            continue;
        }
        let same = items.iter().filter(|item| is_about(item, record));
        match same.max_by(|a, b| date(a).cmp(date(b))) {
            Some(item) if date(item) > record.on.as_str() => changes.push(Change::OlderThanTheFile),
            Some(item) => {
                let new = update(text, item, record);
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
        edits.push(insertion(text, &tree, items, &added));
    }
    Ok((apply(text, edits), changes))
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

/// The numbers of a record under the keys of the file; `None` where the key has nothing to say.
fn numbers(record: &CalibrationRecord) -> Vec<(&'static str, Option<String>)> {
    let mm = |l: Length| format!("{} mm", trim_number(l.to_mm(), 4));
    let scaled = (record.scale - 1.0).abs() > 1e-12;
    vec![
        ("offset", Some(mm(record.offset))),
        ("scale", scaled.then(|| trim_number(record.scale, 6))),
        ("spread", Some(mm(record.spread))),
        ("from", record.range.map(|r| mm(r.0))),
        ("to", record.range.map(|r| mm(r.1))),
        ("count", Some(record.count.to_string())),
        ("on", Some(record.on.clone())),
    ]
}

fn update(text: &str, item: &Node, record: &CalibrationRecord) -> Vec<Edit> {
    let mut edits = Vec::new();
    let mut missing = Vec::new();
    for (key, value) in numbers(record) {
        match (item.get(key), value) {
            (Some(node), value) => {
                // A key the new record has no use for must not keep its old number.
                let value = value.unwrap_or_else(|| "1".to_owned());
                if node.text() != Some(value.as_str()) {
                    let (from, to) = scalar_range(text, node);
                    edits.push(Edit { from, to, text: value });
                }
            }
            (None, Some(value)) => missing.push(format!("{key}: {value}")),
            (None, None) => {}
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
fn insertion(text: &str, tree: &Node, items: &[Node], added: &[String]) -> Edit {
    let eol = end_of_line(text);
    let lines = |indent: &str| added.iter().map(|line| format!("{eol}{indent}- {line}")).collect::<String>();
    let key = tree.entries().iter().find(|(k, _)| k.text == "calibration");
    let Some((key, list)) = key else {
        let newline = if text.is_empty() || text.ends_with('\n') { "" } else { eol };
        let gap = if text.is_empty() { "" } else { eol };
        let text_added = format!("{newline}{gap}calibration:{}{eol}", lines("  "));
        return Edit { from: text.len(), to: text.len(), text: text_added };
    };
    let after_key = key.at.start as usize + "calibration".len();
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
        let (new, changes) = put_records(SHOP, &[record("PLA", -0.2, 1.0, "2026-11-20")]).unwrap();
        assert_eq!(changes, [Change::Updated]);
        let expected = SHOP
            .replace("-0.16 mm", "-0.2 mm")
            .replace("0.04 mm", "0.03 mm")
            .replace("count: 12, on: 2026-10-20 }", "count: 20, on: 2026-11-20, from: 3 mm, to: 12 mm }");
        assert_eq!(new, expected);
        let (again, changes) = put_records(&new, &[record("PLA", -0.2, 1.0, "2026-11-20")]).unwrap();
        assert_eq!((again, changes), (new, vec![Change::Same]));
    }

    #[test]
    fn a_new_record_is_a_new_line_and_nothing_else_changes() {
        let (new, changes) = put_records(SHOP, &[record("PETG", -0.2, 0.998, "2026-11-20")]).unwrap();
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
        assert_eq!(put_records(SHOP, &[few]).unwrap(), (SHOP.to_owned(), vec![Change::TooFew]));
    }

    #[test]
    fn a_later_record_of_the_file_stays() {
        let (new, changes) = put_records(SHOP, &[record("PLA", -0.2, 1.0, "2026-09-01")]).unwrap();
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
            let (new, _) = put_records(text, &[record("PLA", -0.2, 1.0, "2026-11-20")]).unwrap();
            assert_eq!(new, expected);
            assert!(parse_text(&new, SourceId(0)).is_ok(), "{new}");
        }
    }

    #[test]
    fn an_item_of_several_lines_keeps_its_form() {
        let text = "calibration:\n- printer: Bench # ours\n  nozzle: brass-04\n  material: PLA\n  what: hole\n  axis: across-layers\n  offset: \"-0.1 mm\"\n  count: 3\n  on: 2026-01-01\n# end\nname: A\n";
        let (new, changes) = put_records(text, &[record("PLA", -0.2, 1.0, "2026-11-20")]).unwrap();
        assert_eq!(changes, [Change::Updated]);
        let expected = text
            .replace("-0.1 mm", "-0.2 mm")
            .replace("count: 3", "count: 20")
            .replace("on: 2026-01-01", "on: 2026-11-20\n  spread: 0.03 mm\n  from: 3 mm\n  to: 12 mm");
        assert_eq!(new, expected);
        let (more, _) = put_records(&new, &[record("PETG", -0.2, 1.0, "2026-11-20")]).unwrap();
        assert!(more.contains("  to: 12 mm\n- { printer: Bench"), "{more}");
        assert!(parse_text(&more, SourceId(0)).is_ok());
    }

    #[test]
    fn what_is_no_list_is_told() {
        assert_eq!(put_records("calibration: yes\n", &[]).unwrap_err().code, "shop/calibration-form");
        assert_eq!(put_records("a: [\n", &[]).unwrap_err().code, "yaml/syntax");
    }
}
