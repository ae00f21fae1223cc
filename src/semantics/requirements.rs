//! The requirements of a spec: one identity for each, and what can be done with it: taken away, eased, told.
//!
//! ```text
//! table      one row for each statement that asks for something
//! margin     the kinds of margin that a requirement may be held against
//! number     the numbers that govern a requirement: read, replaced, and which way they ease
//! ```
//!
//! Whatever comes after the spec speaks of a [`Requirement`] by its [`Key`], never by a line or a text.

mod margin;
mod number;
mod table;

use std::fmt;
use std::sync::Arc;

pub use margin::MarginKind;
pub use number::{Eases, Number, Which};
pub use table::{Gives, Kind, ROWS, Row};

use super::spec::Spec;
use crate::diag::{Cite, Sources, Span};
use crate::quantity::Quantity;

/// Which requirement of a spec: its kind, and the name or word that tells it from others of the kind.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Key {
    /// Which statement it is.
    pub kind: Kind,
    /// The name of a load, the chemical of a contact, what is asked, the decision that is pinned; none where the statement
    /// stands but once.
    pub subject: Option<Arc<str>>,
}

impl Key {
    /// Names a statement that stands but once.
    pub const fn of(kind: Kind) -> Self {
        Self { kind, subject: None }
    }

    /// Names one of several statements of a kind.
    pub fn named(kind: Kind, subject: &str) -> Self {
        Self { kind, subject: Some(subject.into()) }
    }

    /// Returns what is known of the kind of statement.
    pub fn row(&self) -> &'static Row {
        self.kind.row()
    }

    /// Returns whether a name under which rules read a fact, `load.force`, stands for something the statement says.
    pub fn makes(&self, fact: &str) -> bool {
        self.row().makes(self.subject.as_deref(), fact)
    }

    pub(crate) fn is(&self, subject: &str) -> bool {
        self.subject.as_deref() == Some(subject)
    }

    /// Returns the numbers that govern it and are stated, the one to ease first in front.
    pub fn numbers(&self, spec: &Spec) -> Vec<NumberOf> {
        let stated = self.row().numbers.iter().filter(|n| n.read(spec, self).is_some());
        stated.map(|number| NumberOf { key: self.clone(), number }).collect()
    }
}

impl fmt::Display for Key {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let row = self.row();
        f.write_str(row.keyword)?;
        match &self.subject {
            Some(subject) if row.quoted => write!(f, " \"{subject}\""),
            Some(subject) => write!(f, " {subject}"),
            None => Ok(()),
        }
    }
}

/// One number of a requirement.
#[derive(Debug, Clone)]
pub struct NumberOf {
    /// Whose number it is.
    pub key: Key,
    /// Which of the requirement's numbers, and how it eases.
    pub number: &'static Number,
}

impl NumberOf {
    /// Returns the number as the spec states it.
    pub fn value(&self, spec: &Spec) -> Option<Quantity> {
        self.number.read(spec, &self.key)
    }

    /// Returns the line that states it, parted where the number stands; `None` where no number stands there but a name or a sum, or
    /// where it is written beside the line: to write the line anew would be wrong then.
    pub fn line(&self, spec: &Spec, sources: &Sources, of: &Requirement) -> Option<Line> {
        let at = self.number.place(spec, &self.key, sources)?;
        let inside = at.source == of.span.source && of.span.start <= at.start && at.end <= of.span.end;
        let number = sources.text(at).to_owned();
        let stated = self.value(spec)?;
        let written = Quantity::parse(&number).ok().filter(|q| q.dimension == stated.dimension && inside)?;
        if (written.si - stated.si).abs() > 1e-9 * stated.si.abs().max(1e-12) {
            return None;
        }
        let text = sources.text(of.span);
        let (start, end) = ((at.start - of.span.start) as usize, (at.end - of.span.start) as usize);
        let marked = one_line(&format!("{}{MARK}{}", text.get(..start)?, text.get(end..)?));
        let (front, back) = marked.trim().split_once(MARK)?;
        Some(Line { front: front.to_owned(), number, back: back.to_owned() })
    }

    /// Returns the spec with another number in its place; `None` where there is none, or it is of another dimension.
    pub fn replaced(&self, spec: &Spec, to: Quantity) -> Option<Spec> {
        self.value(spec).filter(|q| q.dimension == to.dimension)?;
        let mut eased = spec.clone();
        self.number.write(&mut eased, &self.key, to)?;
        Some(eased)
    }
}

/// Stands for a number while a line is parted at it; no text of a spec holds it.
const MARK: char = '\0';

/// A line of a spec, parted at one of its numbers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// What stands before the number, on one line.
    pub front: String,
    /// The number as it is written, with its unit.
    pub number: String,
    /// What stands behind it, on one line.
    pub back: String,
}

impl Line {
    /// Returns the line with another number in that place.
    pub fn with(&self, number: &str) -> String {
        format!("{}{number}{}", self.front, self.back)
    }
}

/// One requirement of a spec.
#[derive(Debug, Clone, PartialEq)]
pub struct Requirement {
    /// By which everything after the spec speaks of it.
    pub key: Key,
    /// The statement as written, on one line.
    pub text: String,
    /// Where it is stated.
    pub span: Span,
    /// The file and the path of the statement in it, `service/air`, which no comment moves.
    pub place: Cite,
}

impl Requirement {
    /// Returns whether a cited place is the statement or something within it.
    pub fn holds(&self, place: &Cite) -> bool {
        place.lies_in(&self.place)
    }
}

/// Returns everything the spec asks for, in a fixed order; what only names or describes the part is left out.
pub fn requirements(spec: &Spec, sources: &Sources) -> Vec<Requirement> {
    let made = |(key, span)| Requirement { key, text: one_line(sources.text(span)), span, place: sources.cite(span) };
    ROWS.iter().flat_map(|row| row.find(spec)).map(made).collect()
}

/// Returns the spec without some of its requirements; one it does not have changes nothing.
pub fn without<'k>(spec: &Spec, keys: impl IntoIterator<Item = &'k Key>) -> Spec {
    let mut rest = spec.clone();
    // A face goes last: whether its name is still needed hangs on what else goes.
    let (faces, others): (Vec<&Key>, Vec<&Key>) = keys.into_iter().partition(|k| k.kind == Kind::Face);
    for key in others.into_iter().chain(faces) {
        key.row().remove(&mut rest, key);
    }
    rest
}

/// Returns a text on one line: line breaks and runs of spaces become one space, comments are left out.
fn one_line(text: &str) -> String {
    let lines = text.lines().map(without_comment);
    lines.flat_map(str::split_whitespace).collect::<Vec<_>>().join(" ")
}

fn without_comment(line: &str) -> &str {
    let mut in_text = false;
    for (i, c) in line.char_indices() {
        match c {
            '"' => in_text = !in_text,
            '/' if !in_text && line[i..].starts_with("//") => return &line[..i],
            _ => {}
        }
    }
    line
}

#[cfg(test)]
mod tests;
