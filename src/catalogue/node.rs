//! YAML text to a tree with places: the only module that touches the YAML reader.
//!
//! The reader stops at its first error, so it is asked only for the bare tree; what the tree means is decided in
//! [`super::decode`], which collects every finding. Duplicate keys are passed through and reported there, both
//! places shown, because a silently kept last value is a wrong part.

use crate::diag::{Diagnostic, SourceId, Sources, Span};
use serde::de::{Deserialize, Deserializer, Error as _, MapAccess, SeqAccess, Visitor};
use serde_yaml::{DuplicateKeyPolicy, MergeKeyPolicy, Spanned};
use std::fmt;

/// Deepest nesting accepted; the catalogue needs five.
const MAX_DEPTH: usize = 24;
/// Most nodes accepted in one file; the whole built-in catalogue has about a tenth of that.
const MAX_EVENTS: usize = 600_000;

/// One YAML value and where it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Node {
    pub content: Content,
    pub at: Span,
}

/// What a [`Node`] holds. Scalars keep the text as it was written.
#[derive(Debug, Clone, PartialEq)]
pub enum Content {
    Empty,
    Scalar(String),
    List(Vec<Node>),
    Map(Vec<(Key, Node)>),
}

/// A map key and where it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Key {
    pub text: String,
    pub at: Span,
}

impl Node {
    /// Returns whether this or anything within stands at a place.
    pub fn holds(&self, place: Span) -> bool {
        self.at == place
            || match &self.content {
                Content::Map(entries) => entries.iter().any(|(_, value)| value.holds(place)),
                Content::List(items) => items.iter().any(|item| item.holds(place)),
                Content::Scalar(_) | Content::Empty => false,
            }
    }

    /// Takes the values at these places out, with their keys.
    pub fn leave_out(&mut self, places: &[Span]) {
        match &mut self.content {
            Content::Map(entries) => {
                entries.retain(|(_, value)| !places.contains(&value.at));
                entries.iter_mut().for_each(|(_, value)| value.leave_out(places));
            }
            Content::List(items) => items.iter_mut().for_each(|item| item.leave_out(places)),
            Content::Scalar(_) | Content::Empty => {}
        }
    }

    /// Returns the entry of a map under `key`.
    pub fn get(&self, key: &str) -> Option<&Node> {
        match &self.content {
            Content::Map(entries) => entries.iter().find(|(k, _)| k.text == key).map(|(_, v)| v),
            _ => None,
        }
    }

    /// Returns the entries of a map, or none for anything else.
    pub fn entries(&self) -> &[(Key, Node)] {
        match &self.content {
            Content::Map(entries) => entries,
            _ => &[],
        }
    }

    fn push_values(&self, path: &str, out: &mut String) {
        match &self.content {
            Content::Empty => out.push_str(&format!("{path}\n")),
            Content::Scalar(text) => out.push_str(&format!("{path} {text:?}\n")),
            Content::List(items) => items.iter().for_each(|item| item.push_values(&format!("{path}/-"), out)),
            Content::Map(entries) => {
                entries.iter().for_each(|(key, node)| node.push_values(&format!("{path}/{:?}", key.text), out));
            }
        }
    }

    /// Returns the text of a scalar.
    pub fn text(&self) -> Option<&str> {
        match &self.content {
            Content::Scalar(text) => Some(text),
            _ => None,
        }
    }

    /// Returns "a list", "a map" and so on, for messages.
    pub fn describe(&self) -> String {
        match &self.content {
            Content::Empty => "nothing".to_owned(),
            Content::Scalar(text) => format!("`{}`", shorten(text)),
            Content::List(_) => "a list".to_owned(),
            Content::Map(_) => "a map".to_owned(),
        }
    }
}

/// The keys and values of a text in one form, without what only a person reads: comments, empty lines, how it is written.
#[derive(Debug, PartialEq)]
pub struct Values {
    /// Of all sections but those below.
    pub rest: String,
    /// Of each entry of the sections asked for: the section, the key or the number in the list, and what it says.
    pub entries: Vec<(String, EntryName, String)>,
}

/// By what an entry of a section is found.
#[derive(Debug, Clone, PartialEq)]
pub enum EntryName {
    Key(String),
    /// Its number in the list.
    Item(usize),
}

/// Returns what a text says, the entries of these sections each by itself. `None` where it is no YAML.
pub fn values(text: &str, apart: &[&str]) -> Option<Values> {
    let tree = parse_text(text, SourceId(0)).ok()?;
    let said = |node: &Node, path: &str| {
        let mut out = String::new();
        node.push_values(path, &mut out);
        out
    };
    let mut values = Values { rest: String::new(), entries: Vec::new() };
    for (section, node) in tree.entries() {
        let path = format!("/{:?}", section.text);
        let mut add = |name, node: &Node| values.entries.push((section.text.clone(), name, said(node, &path)));
        match &node.content {
            Content::Map(entries) if apart.contains(&section.text.as_str()) => {
                entries.iter().for_each(|(key, node)| add(EntryName::Key(key.text.clone()), node));
            }
            Content::List(items) if apart.contains(&section.text.as_str()) => {
                items.iter().enumerate().for_each(|(i, node)| add(EntryName::Item(i), node));
            }
            _ => values.rest.push_str(&said(node, &path)),
        }
    }
    Some(values)
}

fn shorten(text: &str) -> String {
    let mut short: String = text.chars().take(40).collect();
    if short.len() < text.len() {
        short.push('…');
    }
    short
}

/// Reads one source as YAML. An empty file is an empty map.
///
/// # Errors
/// Returns the syntax error with its place.
pub fn parse(sources: &Sources, id: SourceId) -> Result<Node, Diagnostic> {
    let text = sources.get(id).map_or("", |s| s.text.as_str());
    let tree = parse_text(text, id)?;
    match decimal_comma(text) {
        None => Ok(tree),
        Some((start, end)) => {
            let written = text.get(start..end).unwrap_or("").to_owned();
            let span = Span::new(id, start, end);
            let message = format!("`{written}` is two values here: between brackets a comma separates");
            let hint = format!("write `{}`; for two values put a space behind the comma", written.replace(',', "."));
            Err(Diagnostic::error("yaml/decimal-comma", span, message).hint(hint))
        }
    }
}

/// Finds the first number with a decimal comma within `[ ]` or `{ }`, where YAML takes it for two values.
fn decimal_comma(text: &str) -> Option<(usize, usize)> {
    let bytes = text.as_bytes();
    let digit = |i: usize| bytes.get(i).is_some_and(u8::is_ascii_digit);
    let (mut depth, mut quote, mut before, mut i) = (0usize, None, b'\n', 0);
    while let Some(&b) = bytes.get(i) {
        match (quote, b) {
            (Some(q), _) if b == q => quote = None,
            (Some(_), _) => {}
            (None, b'#') if i == 0 || bytes.get(i - 1).is_some_and(u8::is_ascii_whitespace) => {
                i += text.get(i..).and_then(|rest| rest.find('\n')).unwrap_or(text.len() - i);
                continue;
            }
            // A quote or a bracket counts where a value begins, not within a text.
            (None, b'"' | b'\'') if b"\n:,[{-".contains(&before) => quote = Some(b),
            (None, b'[' | b'{') if depth > 0 || b"\n:-".contains(&before) => depth += 1,
            (None, b']' | b'}') => depth = depth.saturating_sub(1),
            (None, b',') if depth > 0 && i > 0 && digit(i - 1) && digit(i + 1) => {
                let start = (0..i).rev().take_while(|&k| digit(k)).last().unwrap_or(i);
                let end = (i + 1..bytes.len()).find(|&k| !digit(k)).unwrap_or(bytes.len());
                return Some((start, end));
            }
            _ => {}
        }
        if b == b'\n' || !b.is_ascii_whitespace() {
            before = b;
        }
        i += 1;
    }
    None
}

/// As [`parse`], for a text that is not (yet) among the sources.
pub fn parse_text(text: &str, id: SourceId) -> Result<Node, Diagnostic> {
    let options = serde_yaml::options! {
        budget: serde_yaml::budget! { max_depth: MAX_DEPTH, flow_nesting_limit: MAX_DEPTH, max_events: MAX_EVENTS, max_aliases: 0, max_anchors: 0 },
        duplicate_keys: DuplicateKeyPolicy::PassThrough,
        merge_keys: MergeKeyPolicy::Error,
        strict_booleans: true,
    };
    let raw: Result<Option<Raw<'_>>, _> = serde_yaml::from_str_with_options(text, options);
    let placer = Placer { text, id };
    match raw {
        Ok(None) => Ok(Node { content: Content::Map(Vec::new()), at: Span::new(id, 0, 0) }),
        Ok(Some(raw)) => Ok(placer.place(raw, Span::new(id, 0, 0))),
        Err(error) => Err(syntax_error(text, id, &error)),
    }
}

fn syntax_error(text: &str, id: SourceId, error: &serde_yaml::Error) -> Diagnostic {
    let place = error.location().map_or(0, |l| byte_of(text, l.line(), l.column()));
    let message = error.without_snippet().to_string();
    let line = message.lines().next().unwrap_or("").trim().trim_end_matches('.');
    let line = line.split(" at line ").next().unwrap_or(line);
    let (message, hint) = told(line);
    Diagnostic::error("yaml/syntax", Span::new(id, place, (place + 1).min(text.len())), message).hint(hint)
}

/// Puts the reader's finding into words of the file's writer.
fn told(line: &str) -> (String, &'static str) {
    let has = |word: &str| line.to_lowercase().contains(word);
    if has("anchor") || has("alias") {
        let message = "anchors and aliases (`&name`, `*name`) are not read here".to_owned();
        return (message, "write the value out at each place where it counts");
    }
    if has("recursion limit") || has("depth") || has("nesting") {
        return (format!("nested more than {MAX_DEPTH} deep"), "no file of a workshop needs more than five levels");
    }
    if has("budget") {
        return ("longer than anything a workshop can hold".to_owned(), "leave out what is not of this workshop");
    }
    let hint = "indent with spaces; one `key: value` a line; quote a text that holds `: ` or begins with a sign such as `%`, `@` or `*`";
    (format!("not readable as YAML: {line}"), hint)
}

/// Returns the byte offset of a 1-based line and column (in characters).
fn byte_of(text: &str, line: u64, column: u64) -> usize {
    let line = usize::try_from(line).unwrap_or(1).max(1);
    let start: usize = text.split_inclusive('\n').take(line - 1).map(str::len).sum();
    let column = usize::try_from(column).unwrap_or(1).max(1);
    let rest = text.get(start..).unwrap_or("");
    start + rest.char_indices().nth(column - 1).map_or(0, |(i, _)| i)
}

/// A value as the YAML reader hands it over.
///
/// The reader's own spans cost three times what the reading itself does. Nearly every key and text is a slice of the
/// source, so its place is where it lies in memory; the reader is asked for a place only in lists.
enum Raw<'a> {
    /// A number or a truth value: its text is taken from the source, so that `0.40` stays `0.40`.
    Plain,
    Nothing,
    /// A word or quoted text as it stands in the source.
    Slice(&'a str),
    /// A text that had to be unescaped or joined.
    Text(String),
    List(Vec<Spanned<Raw<'a>>>),
    Map(Vec<(Raw<'a>, Raw<'a>)>),
}

impl<'de> Deserialize<'de> for Raw<'de> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(RawVisitor)
    }
}

struct RawVisitor;

impl<'de> Visitor<'de> for RawVisitor {
    type Value = Raw<'de>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a word, a text, a list or a map")
    }
    fn visit_bool<E>(self, _: bool) -> Result<Raw<'de>, E> {
        Ok(Raw::Plain)
    }
    fn visit_i64<E>(self, _: i64) -> Result<Raw<'de>, E> {
        Ok(Raw::Plain)
    }
    fn visit_u64<E>(self, _: u64) -> Result<Raw<'de>, E> {
        Ok(Raw::Plain)
    }
    fn visit_i128<E>(self, _: i128) -> Result<Raw<'de>, E> {
        Ok(Raw::Plain)
    }
    fn visit_u128<E>(self, _: u128) -> Result<Raw<'de>, E> {
        Ok(Raw::Plain)
    }
    fn visit_f64<E>(self, _: f64) -> Result<Raw<'de>, E> {
        Ok(Raw::Plain)
    }
    fn visit_unit<E>(self) -> Result<Raw<'de>, E> {
        Ok(Raw::Nothing)
    }
    fn visit_none<E>(self) -> Result<Raw<'de>, E> {
        Ok(Raw::Nothing)
    }
    fn visit_borrowed_str<E>(self, text: &'de str) -> Result<Raw<'de>, E> {
        Ok(Raw::Slice(text))
    }
    fn visit_str<E>(self, text: &str) -> Result<Raw<'de>, E> {
        Ok(Raw::Text(text.to_owned()))
    }
    fn visit_string<E>(self, text: String) -> Result<Raw<'de>, E> {
        Ok(Raw::Text(text))
    }
    fn visit_bytes<E: serde::de::Error>(self, _: &[u8]) -> Result<Raw<'de>, E> {
        Err(E::custom("binary data has no meaning here"))
    }
    fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<Raw<'de>, A::Error> {
        let mut items = Vec::new();
        while let Some(item) = seq.next_element()? {
            items.push(item);
        }
        Ok(Raw::List(items))
    }
    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Raw<'de>, A::Error> {
        let mut entries = Vec::new();
        while let Some(entry) = map.next_entry()? {
            entries.push(entry);
            if entries.len() > MAX_EVENTS {
                return Err(A::Error::custom("too many entries"));
            }
        }
        Ok(Raw::Map(entries))
    }
}

/// Turns the reader's tree into ours, with byte spans.
struct Placer<'a> {
    text: &'a str,
    id: SourceId,
}

impl Placer<'_> {
    fn span(&self, location: serde_yaml::Location) -> Span {
        let span = location.span();
        let offset = span.byte_offset().and_then(|o| usize::try_from(o).ok());
        let start =
            offset.unwrap_or_else(|| byte_of(self.text, location.line(), location.column())).min(self.text.len());
        let length = span.byte_len().and_then(|l| usize::try_from(l).ok()).unwrap_or(1);
        Span::new(self.id, start, start.saturating_add(length).min(self.text.len()))
    }

    /// Returns where a slice of the source stands, if it is one.
    fn place_of(&self, slice: &str) -> Option<Span> {
        let start = (slice.as_ptr() as usize).checked_sub(self.text.as_ptr() as usize)?;
        let end = start.checked_add(slice.len())?;
        (end <= self.text.len()).then(|| Span::new(self.id, start, end))
    }

    /// Places a value; `near` is the best known place for what has none of its own: its key, or the list item.
    fn place(&self, raw: Raw<'_>, near: Span) -> Node {
        match raw {
            Raw::Plain => Node { content: Content::Scalar(self.text_at(near).to_owned()), at: near },
            Raw::Nothing => Node { content: Content::Empty, at: near },
            Raw::Slice(text) => {
                Node { at: self.place_of(text).unwrap_or(near), content: Content::Scalar(text.to_owned()) }
            }
            Raw::Text(text) => Node { content: Content::Scalar(text), at: near },
            Raw::List(items) => {
                let items = items.into_iter().map(|i| self.item(i)).collect();
                Node { content: Content::List(items), at: near }
            }
            Raw::Map(entries) => {
                let entries = entries.into_iter().map(|(k, v)| self.entry(k, v, near)).collect();
                Node { content: Content::Map(entries), at: near }
            }
        }
    }

    fn item(&self, item: Spanned<Raw<'_>>) -> Node {
        let at = self.span(item.defined);
        self.place(item.value, at)
    }

    fn entry(&self, key: Raw<'_>, value: Raw<'_>, near: Span) -> (Key, Node) {
        let at = match &key {
            Raw::Slice(text) => self.place_of(text).unwrap_or(near),
            _ => near,
        };
        let text = match key {
            Raw::Slice(text) => text.to_owned(),
            Raw::Text(text) => text,
            // Numbers and the like are no names here; the checker will say so.
            _ => String::new(),
        };
        let value = match value {
            Raw::Plain => self.place(Raw::Plain, self.after_colon(at)),
            other => self.place(other, at),
        };
        (Key { text, at }, value)
    }

    /// Returns the place of the plain scalar that follows a key.
    fn after_colon(&self, key: Span) -> Span {
        let rest = self.text.get(key.end as usize..).unwrap_or("");
        let Some(colon) = rest.find(':') else { return key };
        let value = rest.get(colon + 1..).unwrap_or("");
        let begins = colon + 1 + (value.len() - value.trim_start().len());
        let value = value.trim_start();
        let ends = value.find([',', '}', ']', '\n', '#']).unwrap_or(value.len());
        let value = value.get(..ends).unwrap_or(value).trim_end();
        let start = key.end as usize + begins;
        Span::new(self.id, start, start + value.len())
    }

    fn text_at(&self, at: Span) -> &str {
        self.text.get(at.start as usize..at.end as usize).unwrap_or("").trim()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_decimal_comma_between_brackets_is_found() {
        let found = |text: &'static str| decimal_comma(text).and_then(|(a, b)| text.get(a..b));
        assert_eq!(found("- { name: n, bore: 0,4 mm }"), Some("0,4"));
        assert_eq!(found("drills: [3,3 mm, 5 mm]"), Some("3,3"));
        assert_eq!(found("a: [\n  5.5 mm,\n  12,25 mm]"), Some("12,25"));
        for fine in ["rate: 1,50 money/h", "a: [1 mm,2 mm]", "a: [1, 2]", "a: { b: \"1,5\" } # [1,5", "a: see [1,2]"] {
            assert_eq!(found(fine), None, "{fine}");
        }
    }

    #[test]
    fn scalars_keep_their_text_and_their_place() {
        let text = "a: 0.40\nb: { typ: 60 °C, low: 55 °C }\nc: \"x: y\"\nd:\n";
        let node = parse_text(text, SourceId(0)).unwrap();
        assert_eq!(node.get("a").unwrap().text(), Some("0.40"));
        let typ = node.get("b").unwrap().get("typ").unwrap();
        assert_eq!(typ.text(), Some("60 °C"));
        assert_eq!(&text[typ.at.start as usize..typ.at.end as usize], "60 °C");
        assert_eq!(node.get("c").unwrap().text(), Some("x: y"));
        assert_eq!(node.get("d").unwrap().content, Content::Empty);
        assert_eq!(&text[node.entries()[1].0.at.start as usize..node.entries()[1].0.at.end as usize], "b");
    }

    #[test]
    fn numbers_are_found_after_their_key_and_in_lists() {
        let text =
            "m: { a: 0.40, b: 7}\nn:\n  1e3 # x\n\"q\\x41\": true\nl: [1.50, 2]\ne:   \nk: {}\n3: x\nbig: \"a\\tb\"\n";
        let node = parse_text(text, SourceId(0)).unwrap();
        let m = node.get("m").unwrap();
        let here =
            |n: &Node| (n.text().unwrap_or("-").to_owned(), text[n.at.start as usize..n.at.end as usize].to_owned());
        assert_eq!(here(m.get("a").unwrap()), ("0.40".to_owned(), "0.40".to_owned()));
        assert_eq!(here(m.get("b").unwrap()), ("7".to_owned(), "7".to_owned()));
        assert_eq!(here(node.get("n").unwrap()), ("1e3".to_owned(), "1e3".to_owned()));
        let Content::List(items) = &node.get("l").unwrap().content else { panic!() };
        assert_eq!(here(&items[0]), ("1.50".to_owned(), "1.50".to_owned()));
        assert_eq!(node.get("e").unwrap().content, Content::Empty);
        // A map has the place of its key.
        assert_eq!(here(node.get("k").unwrap()).1, "k");
        assert_eq!(node.get("big").unwrap().text(), Some("a\tb"));
    }

    #[test]
    fn a_syntax_error_has_a_place() {
        let error = parse_text("a: 1\nb: [1, 2\nc: 3\n", SourceId(0)).unwrap_err();
        assert_eq!(error.code, "yaml/syntax");
        assert!(error.labels[0].span.start > 4, "{error:?}");
    }

    #[test]
    fn deep_nesting_and_aliases_are_refused_not_followed() {
        assert!(parse_text(&"[".repeat(10_000), SourceId(0)).is_err());
        assert!(parse_text(&format!("a: {}1{}", "[".repeat(200), "]".repeat(200)), SourceId(0)).is_err());
        let told = parse_text("a: &x 1\nb: *x\n", SourceId(0)).unwrap_err();
        assert!(told.message.contains("`&name`, `*name`"), "{told:?}");
        let told = parse_text(&"[".repeat(10_000), SourceId(0)).unwrap_err();
        assert!(told.message.starts_with("nested more than"), "{told:?}");
    }

    #[test]
    fn both_of_two_equal_keys_are_kept_for_the_report() {
        let node = parse_text("a: 1\na: 2\n", SourceId(0)).unwrap();
        assert_eq!(node.entries().len(), 2);
    }
}
