//! What the arguments of one statement turned out to be.

use super::spec::{ChoiceValue, Decision, Direction, Stated, Where};
use crate::diag::Span;
use crate::quantity::{Length, Quantity};

/// One argument's value.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Value {
    Quantity(Quantity),
    Range(Quantity, Quantity),
    Text(String),
    /// A word of the vocabulary, as the table spells it.
    Word(&'static str),
    Words(Vec<(&'static str, Span)>),
    Names(Vec<Stated<String>>),
    Count(u32),
    /// First and last day, both counted.
    Dates(String, String),
    /// Minutes after midnight.
    Clock(u16),
    /// From and to, minutes after midnight.
    Clocks(u16, u16),
    /// First and last day of the week, monday = 0, both counted.
    Weekdays(u8, u8),
    Number(f64),
    Direction(Direction),
    Point([Length; 3]),
    Where(Where),
    /// An ISO 286 zone, or a pair of them.
    Symbol(String),
    Decision(Decision, Option<String>),
    Choice(ChoiceValue),
    /// Nothing to keep: it was checked, and that is all.
    Seen,
}

impl Value {
    /// Whether it is a number or two, with or without a unit.
    pub fn is_a_number(&self) -> bool {
        matches!(self, Value::Quantity(_) | Value::Range(..) | Value::Count(_) | Value::Number(_) | Value::Choice(_))
    }
}

/// The arguments of one statement by their names in the vocabulary.
#[derive(Debug, Clone, Default)]
pub(crate) struct Values {
    list: Vec<(&'static str, Value, Span)>,
}

impl Values {
    pub fn push(&mut self, name: &'static str, value: Value, span: Span) {
        self.list.push((name, value, span));
    }

    /// Returns every value with its name in the pattern and its place, in the order of the text.
    pub fn iter(&self) -> impl Iterator<Item = (&'static str, &Value, Span)> {
        self.list.iter().map(|(name, value, span)| (*name, value, *span))
    }

    pub fn get(&self, name: &str) -> Option<&Value> {
        self.list.iter().find(|(n, ..)| *n == name).map(|(_, value, _)| value)
    }

    pub fn span(&self, name: &str) -> Option<Span> {
        self.list.iter().find(|(n, ..)| *n == name).map(|(.., span)| *span)
    }

    /// Returns a quantity as the typed one its dimension was checked for.
    pub fn measure<T: TryFrom<Quantity>>(&self, name: &str) -> Option<T> {
        match self.get(name)? {
            Value::Quantity(q) => T::try_from(*q).ok(),
            _ => None,
        }
    }

    pub fn range(&self, name: &str) -> Option<(Quantity, Quantity)> {
        if let Some(Value::Range(low, high)) = self.get(name) { Some((*low, *high)) } else { None }
    }

    pub fn text(&self, name: &str) -> Option<&str> {
        match self.get(name)? {
            Value::Text(text) | Value::Symbol(text) => Some(text),
            _ => None,
        }
    }

    pub fn stated_text(&self, name: &str) -> Option<Stated<String>> {
        Some(Stated { value: self.text(name)?.to_owned(), span: self.span(name)? })
    }

    pub fn word(&self, name: &str) -> Option<&'static str> {
        match self.get(name)? {
            Value::Word(word) => Some(word),
            _ => None,
        }
    }

    pub fn words(&self, name: &str) -> &[(&'static str, Span)] {
        match self.get(name) {
            Some(Value::Words(words)) => words,
            _ => &[],
        }
    }

    pub fn names(&self, name: &str) -> &[Stated<String>] {
        match self.get(name) {
            Some(Value::Names(names)) => names,
            _ => &[],
        }
    }

    pub fn count(&self, name: &str) -> Option<u32> {
        if let Some(Value::Count(n)) = self.get(name) { Some(*n) } else { None }
    }

    pub fn dates(&self, name: &str) -> Option<(String, String)> {
        if let Some(Value::Dates(a, b)) = self.get(name) { Some((a.clone(), b.clone())) } else { None }
    }

    pub fn clock(&self, name: &str) -> Option<u16> {
        if let Some(Value::Clock(minute)) = self.get(name) { Some(*minute) } else { None }
    }

    pub fn clocks(&self, name: &str) -> Option<(u16, u16)> {
        if let Some(Value::Clocks(from, to)) = self.get(name) { Some((*from, *to)) } else { None }
    }

    pub fn weekdays(&self, name: &str) -> Option<(u8, u8)> {
        if let Some(Value::Weekdays(first, last)) = self.get(name) { Some((*first, *last)) } else { None }
    }

    pub fn number(&self, name: &str) -> Option<f64> {
        if let Some(Value::Number(n)) = self.get(name) { Some(*n) } else { None }
    }

    pub fn direction(&self, name: &str) -> Option<Direction> {
        if let Some(Value::Direction(d)) = self.get(name) { Some(*d) } else { None }
    }

    pub fn point(&self, name: &str) -> Option<[Length; 3]> {
        if let Some(Value::Point(p)) = self.get(name) { Some(*p) } else { None }
    }

    pub fn place(&self, name: &str) -> Option<Where> {
        if let Some(Value::Where(w)) = self.get(name) { Some(w.clone()) } else { None }
    }
}
