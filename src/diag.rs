//! Diagnostics as data: what is wrong, where, and what to write instead.
//!
//! Text comes last: `render::diagnostics` prints these for people and as JSON.

#[path = "diag/keys.rs"]
mod keys;
#[path = "diag/outline.rs"]
mod outline;
#[path = "diag/renamed.rs"]
pub mod renamed;

use std::fmt;
use std::sync::{Arc, OnceLock};

pub use outline::Outline;

/// Identifies one source text within [`Sources`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SourceId(pub u32);

/// A byte range in one source text.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Span {
    /// The text it lies in.
    pub source: SourceId,
    /// First byte, counted from the start of the text.
    pub start: u32,
    /// The byte after the last.
    pub end: u32,
}

impl Span {
    /// Takes byte offsets from the start of the text.
    pub fn new(source: SourceId, start: usize, end: usize) -> Self {
        Self { source, start: start as u32, end: end as u32 }
    }

    /// Returns the span from the start of `self` to the end of `other` (same source).
    pub fn to(self, other: Span) -> Span {
        Span { source: self.source, start: self.start.min(other.start), end: self.end.max(other.end) }
    }
}

/// One source text: its project-relative name (never a machine path) and its content.
#[derive(Debug, Clone)]
pub struct Source {
    /// Project-relative, with `/` between folders.
    pub name: String,
    /// The whole content.
    pub text: String,
    line_starts: Vec<u32>,
    /// The keys of a YAML text, found when they are first asked for: a text is read by many jobs.
    keys: OnceLock<keys::Keys>,
}

impl Source {
    /// Takes a project-relative name and the whole content.
    pub fn new(name: impl Into<String>, text: impl Into<String>) -> Self {
        let text = text.into();
        // A mark at the beginning is no character of the first line; a carriage return by itself ends one as well.
        let begin = if text.starts_with('\u{FEFF}') { '\u{FEFF}'.len_utf8() } else { 0 };
        let bytes = text.as_bytes();
        let ends = |at: &usize| match bytes.get(*at) {
            Some(b'\n') => true,
            Some(b'\r') => bytes.get(at + 1) != Some(&b'\n'),
            _ => false,
        };
        let behind = (0..bytes.len()).filter(ends).map(|at| at as u32 + 1);
        let line_starts = std::iter::once(begin as u32).chain(behind).collect();
        Self { name: name.into(), text, line_starts, keys: OnceLock::new() }
    }

    /// Returns the 1-based line and column (in characters) of a byte offset; offsets past the end give the last place.
    pub fn line_column(&self, offset: u32) -> (usize, usize) {
        let offset = (offset as usize).min(self.text.len());
        let line = self.line_starts.partition_point(|&s| s as usize <= offset).max(1);
        let start = self.line_starts[line - 1] as usize;
        let column = self.text.get(start..offset).map_or(offset.saturating_sub(start), |s| s.chars().count());
        (line, column + 1)
    }
}

#[derive(Debug, Clone)]
struct File {
    source: Arc<Source>,
    outline: Option<Arc<Outline>>,
}

/// A place in a text by the names of what it stands in; it is the same for a person as long as file and path are.
#[derive(Debug, Clone, Default)]
pub struct Cite {
    /// Where it is just now.
    pub at: Option<Span>,
    /// The file's project-relative name.
    pub file: String,
    /// Empty for the whole file.
    pub path: String,
}

impl PartialEq for Cite {
    fn eq(&self, other: &Self) -> bool {
        (&self.file, &self.path) == (&other.file, &other.path)
    }
}

impl Eq for Cite {}

impl fmt::Display for Cite {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.file.as_str(), self.path.as_str()) {
            ("", path) => f.write_str(path),
            (file, "") => f.write_str(file),
            (file, path) => write!(f, "{file}: {path}"),
        }
    }
}

impl Cite {
    /// Returns whether the place is another or lies within it, by their paths; a file of which no places are known is one place.
    pub fn lies_in(&self, outer: &Cite) -> bool {
        let within = |path: &str| path.is_empty() || path.starts_with('/');
        self.file == outer.file && self.path.strip_prefix(outer.path.as_str()).is_some_and(within)
    }

    /// Returns the place as it is told beside a file of that name: within it the path is enough.
    pub fn beside(&self, file: &str) -> String {
        if self.file == file && !self.path.is_empty() { self.path.clone() } else { self.to_string() }
    }
}

/// All source texts that diagnostics and reasons can point into.
#[derive(Debug, Clone, Default)]
pub struct Sources {
    /// Shared, so that the built-in knowledge is not copied for every spec.
    files: Vec<File>,
}

impl Sources {
    /// Takes a text in and returns what spans into it carry.
    pub fn add(&mut self, source: Source) -> SourceId {
        self.files.push(File { source: Arc::new(source), outline: None });
        SourceId(self.files.len() as u32 - 1)
    }

    /// Returns the text; nothing for an id of other sources.
    pub fn get(&self, id: SourceId) -> Option<&Source> {
        self.files.get(id.0 as usize).map(|file| file.source.as_ref())
    }

    /// Returns the texts in the order they were added.
    pub fn iter(&self) -> impl Iterator<Item = (SourceId, &Source)> {
        self.files.iter().enumerate().map(|(i, s)| (SourceId(i as u32), s.source.as_ref()))
    }

    /// Returns `file:line`, the form in which reasons cite a place.
    pub fn place(&self, span: Span) -> String {
        match self.get(span.source) {
            Some(source) => format!("{}:{}", source.name, source.line_column(span.start).0),
            None => "(unknown place)".to_owned(),
        }
    }

    /// Returns the place of a span as a recipe cites it, by the names of what it stands in: no comment moves it.
    pub fn cite(&self, span: Span) -> Cite {
        let Some(source) = self.get(span.source) else { return Cite::default() };
        let is_yaml = [".yaml", ".yml"].iter().any(|end| source.name.ends_with(end));
        let path = match self.path(span) {
            Some(path) => path.to_owned(),
            None if is_yaml => {
                let keys = source.keys.get_or_init(|| keys::Keys::of(&source.text));
                keys.path(&source.text, span.start).unwrap_or_default()
            }
            None => String::new(),
        };
        Cite { at: Some(span), file: source.name.clone(), path }
    }

    /// Says what the places of a text are called.
    pub fn set_outline(&mut self, id: SourceId, outline: Outline) {
        if let Some(file) = self.files.get_mut(id.0 as usize) {
            file.outline = Some(Arc::new(outline));
        }
    }

    /// Returns the path of the statement a span lies in, `service/air`; `None` where the text has no outline or the span
    /// lies outside every named place.
    pub fn path(&self, span: Span) -> Option<&str> {
        self.files
            .get(span.source.0 as usize)?
            .outline
            .as_ref()?
            .path(span.start, span.end)
            .filter(|path| !path.is_empty())
    }

    /// Returns the text a span covers, or an empty string where the span does not fit.
    pub fn text(&self, span: Span) -> &str {
        self.get(span.source).and_then(|s| s.text.get(span.start as usize..span.end as usize)).unwrap_or("")
    }
}

/// How much a finding weighs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// Nothing can be compiled until it is mended.
    Error,
    /// It compiles, but is likely not what was meant.
    Warning,
    /// Worth knowing; nothing to mend.
    Note,
}

impl fmt::Display for Severity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Severity::Error => "error",
            Severity::Warning => "warning",
            Severity::Note => "note",
        })
    }
}

/// A place and what is to be said about it.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Label {
    /// The place that is underlined.
    pub span: Span,
    /// What is said at the place; empty where the message says it all.
    pub text: String,
}

/// A text to stand in place of another.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Edit {
    /// What is taken out; empty where something is only put in.
    pub span: Span,
    /// What is put in.
    pub text: String,
}

/// A way to mend a finding: edits that are made together.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Fix {
    /// What it does, as an editor offers it: `write \`quantity\``.
    pub title: String,
    /// No two overlap.
    pub edits: Vec<Edit>,
}

/// One finding: message = what is wrong (lower case, one line, no full stop), labels = where, hints = what to write instead.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Diagnostic {
    /// How much it weighs.
    pub severity: Severity,
    /// A readable code, `area/what`, e.g. `unit/missing`.
    pub code: &'static str,
    /// What is wrong.
    pub message: String,
    /// The first label is the primary place.
    pub labels: Vec<Label>,
    /// What to write instead, each a line of its own.
    pub hints: Vec<String>,
    /// The hints that are one certain text, as edits; the likeliest first.
    pub fixes: Vec<Fix>,
}

impl Diagnostic {
    /// A finding with no place yet, for what is wrong with a whole file or with the command line.
    pub fn new(severity: Severity, code: &'static str, message: impl Into<String>) -> Self {
        Self { severity, code, message: message.into(), labels: Vec::new(), hints: Vec::new(), fixes: Vec::new() }
    }

    /// An error at a place, which becomes the primary one.
    pub fn error(code: &'static str, span: Span, message: impl Into<String>) -> Self {
        Self::new(Severity::Error, code, message).label(span, "")
    }

    /// A warning at a place, which becomes the primary one.
    pub fn warning(code: &'static str, span: Span, message: impl Into<String>) -> Self {
        Self::new(Severity::Warning, code, message).label(span, "")
    }

    /// Adds a place; the first added is the primary one.
    #[must_use]
    pub fn label(mut self, span: Span, text: impl Into<String>) -> Self {
        self.labels.push(Label { span, text: text.into() });
        self
    }

    /// Gives the primary label its text.
    #[must_use]
    pub fn here(mut self, text: impl Into<String>) -> Self {
        if let Some(first) = self.labels.first_mut() {
            first.text = text.into();
        }
        self
    }

    /// Adds a line on what to write instead.
    #[must_use]
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hints.push(hint.into());
        self
    }

    /// Adds the hint to write a text in place of the primary label's, and the edit that does it.
    #[must_use]
    pub fn write(self, text: impl Into<String>) -> Self {
        let text = text.into();
        self.hint(format!("write `{text}`")).in_place(text)
    }

    /// Adds the hint that a name near to the one written was meant, and the edit that writes it.
    #[must_use]
    pub fn meant(self, name: &str) -> Self {
        self.hint(format!("did you mean `{name}`?")).in_place(name)
    }

    /// The same for a name that stands in quotes.
    #[must_use]
    pub fn meant_text(self, name: &str) -> Self {
        self.hint(format!("did you mean \"{name}\"?")).in_place(format!("\"{name}\""))
    }

    /// Adds the edit that puts a text in place of the primary label's, for a hint of other words.
    #[must_use]
    pub fn in_place(self, text: impl Into<String>) -> Self {
        let text = text.into();
        match self.labels.first().map(|label| label.span) {
            Some(span) => {
                let title = format!("write `{text}`");
                self.fix(title, vec![Edit { span, text }])
            }
            None => self,
        }
    }

    /// Adds a way to mend it.
    #[must_use]
    pub fn fix(mut self, title: impl Into<String>, edits: Vec<Edit>) -> Self {
        self.fixes.push(Fix { title: title.into(), edits });
        self
    }

    /// Tells whether it stops the compilation.
    pub fn is_error(&self) -> bool {
        self.severity == Severity::Error
    }
}

/// A value, perhaps, and everything found on the way.
#[derive(Debug, Clone)]
pub struct Report<T> {
    /// Nothing where the errors leave nothing to go on with.
    pub value: Option<T>,
    /// In the order they were found.
    pub diagnostics: Vec<Diagnostic>,
}

impl<T> Report<T> {
    /// Tells whether anything found stops the compilation.
    pub fn has_errors(&self) -> bool {
        self.diagnostics.iter().any(Diagnostic::is_error)
    }
}

/// Says what is wrong with a character that cannot be seen: a control character, or one that makes what follows it read in
/// another order than it stands (Unicode's embeddings, overrides and isolates). Names go to pages and terminals as they are.
pub fn unseen(c: char) -> Option<&'static str> {
    match c {
        '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' => Some("turns the direction of what follows"),
        '\n' | '\r' | '\t' => None,
        c if c.is_control() => Some("is a control character"),
        _ => None,
    }
}

/// Says what is wrong with a name: that it would be taken for an option or for another name, or could not be seen whole. Names become
/// the names of files and stand in pages and commands.
pub fn strange_name(name: &str) -> Option<String> {
    if name.starts_with(['-', '\u{2212}']) {
        return Some("begins with `-`, which a command would take for an option".to_owned());
    }
    let code = |c: char| format!("U+{:04X}", u32::from(c));
    if let Some(c) = name.chars().find(|c| c.is_control() || matches!(c, '\u{2028}' | '\u{2029}')) {
        return Some(format!("holds {}, a line end or control character", code(c)));
    }
    let unseen = |c: &char| matches!(c, '\u{ad}' | '\u{200b}'..='\u{200f}' | '\u{2060}'..='\u{2064}' | '\u{feff}');
    if let Some(c) = name.chars().find(unseen) {
        return Some(format!("holds {}, which is not seen", code(c)));
    }
    // A letter of another script among Latin ones is taken for the Latin one it looks like.
    for word in name.split(|c: char| !c.is_alphabetic()) {
        let latin = word.chars().any(|c| c.is_ascii_alphabetic());
        let other = word.chars().find(|c| matches!(c, '\u{370}'..='\u{3ff}' | '\u{400}'..='\u{52f}'));
        if let Some(c) = other.filter(|_| latin) {
            let script = if c < '\u{400}' { "Greek" } else { "Cyrillic" };
            return Some(format!("holds {} (`{c}`), a {script} letter among Latin ones", code(c)));
        }
    }
    None
}

/// What a word begins with that denies the rest.
const DENYING: [&str; 5] = ["in", "un", "non", "non-", "not-"];

/// Returns the known name nearest to `name`, if one is near enough to be what was meant.
pub fn nearest<'a>(name: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let limit = (name.chars().count() / 3).max(1) + 1;
    let length = name.chars().count();
    known
        .into_iter()
        // The difference in length is the least number of edits: this spares the work, and bounds it for a name of a megabyte.
        .filter(|candidate| candidate.chars().count().abs_diff(length) <= limit.min(candidate.chars().count()))
        // A swap of neighbours counts as one edit.
        .map(|candidate| (strsim::osa_distance(&name.to_lowercase(), &candidate.to_lowercase()), candidate))
        .filter(|(distance, candidate)| *distance <= limit && *distance < candidate.chars().count().max(2))
        // `indirect` is no slip for `direct`.
        .filter(|(_, candidate)| !DENYING.iter().any(|not| name.strip_prefix(not) == Some(candidate)))
        .min()
        .map(|(_, candidate)| candidate)
}

/// Whether two words are a slip apart for every four letters of the first: a letter more, less, changed, or two swapped.
pub fn one_slip(name: &str, known: &str) -> bool {
    let slips = name.chars().count().max(4) / 4;
    strsim::osa_distance(&name.to_lowercase(), &known.to_lowercase()) <= slips
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nearest_finds_the_slip_and_refuses_the_stranger() {
        let known = ["quantity", "service", "load", "face", "fit"];
        assert_eq!(nearest("quantiy", known), Some("quantity"));
        assert_eq!(nearest("serivce", known), Some("service"));
        assert_eq!(nearest("zzzzzz", known), None);
        // What denies a word does not mean it.
        assert_eq!(nearest("indirect", ["none", "shaded", "direct"]), None);
        assert_eq!(nearest("unstable", ["stable"]), None);
    }

    #[test]
    fn a_mark_at_the_beginning_and_any_line_end_move_no_place() {
        for end in ["\n", "\r\n", "\r"] {
            for mark in ["", "\u{FEFF}"] {
                let text = format!("{mark}ab{end}cd{end}");
                let source = Source::new("a.partspec", text.as_str());
                let at = |word: &str| source.line_column(text.find(word).unwrap() as u32);
                assert_eq!([at("ab"), at("b"), at("cd")], [(1, 1), (1, 2), (2, 1)], "{text:?}");
                assert_eq!(source.line_column(0), (1, 1));
            }
        }
    }

    #[test]
    fn places_count_characters_not_bytes() {
        let source = Source::new("a.partspec", "a\nµm x");
        assert_eq!(source.line_column(0), (1, 1));
        assert_eq!(source.line_column(6), (2, 4));
        assert_eq!(source.line_column(999), (2, 5));
    }
}
