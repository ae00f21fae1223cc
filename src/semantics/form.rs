//! What a statement's arguments may be: the types of which the vocabulary's patterns are made.

use crate::quantity::{Dimension, Quantity};

/// A physical quantity as an argument: its dimension, a unit to show in hints, and the limits beyond which it is a slip.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measure {
    /// What the quantity measures.
    pub dimension: Dimension,
    /// The unit that examples and hints use, and in which the limits are given.
    pub unit: &'static str,
    /// Least value, in `unit`.
    pub low: f64,
    /// Greatest value, in `unit`.
    pub high: f64,
    /// Whether `low` itself is allowed (a zero load is not).
    pub low_allowed: bool,
}

impl Measure {
    /// A quantity above zero and up to `high`, in `unit`.
    pub const fn positive(dimension: Dimension, unit: &'static str, high: f64) -> Self {
        Self { dimension, unit, low: 0.0, high, low_allowed: false }
    }

    /// Both ends allowed; limits in `unit`.
    pub const fn between(dimension: Dimension, unit: &'static str, low: f64, high: f64) -> Self {
        Self { dimension, unit, low, high, low_allowed: true }
    }

    /// Returns a limit as a quantity.
    pub(crate) fn limit(&self, value: f64) -> Option<Quantity> {
        Quantity::with_unit(value, self.unit).ok()
    }
}

/// What one argument may be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Kind {
    /// `"in quotes"`
    Text,
    /// A name: a word, or a text in quotes.
    Name,
    /// A word, a text, or a name given by `let` to a text.
    Term,
    /// Names, separated by commas.
    Names,
    /// A number with a unit, within limits.
    Measure(Measure),
    /// `low .. high`
    Range(Measure),
    /// A whole number from 1 up to the given one.
    Count(u32),
    /// A plain number within limits.
    Number {
        /// Least value, allowed.
        low: f64,
        /// Greatest value, allowed.
        high: f64,
    },
    /// `+x`, `-z`, `x`, or a vector `(1, 0, -1)`
    Direction,
    /// `(170 mm, 30 mm, 40 mm)`
    Point,
    /// `face "name"` or a point
    Where,
    /// `M5`, `M10x1`
    Thread,
    /// An ISO 286 zone of a hole: `H7`
    HoleSymbol,
    /// An ISO 286 zone of a shaft: `h6`
    ShaftSymbol,
    /// `H7` or the pair `H7/g6`
    HoleSymbolOrPair,
    /// `g6` or the pair `H7/g6`
    ShaftSymbolOrPair,
    /// A part number: `608`, `6000-2RS`
    Designation,
    /// `2026-12-01`
    Date,
    /// `2026-12-01 .. 2026-12-03`, or one day alone
    Dates,
    /// `07:00`
    Clock,
    /// `07:00 .. 19:00`
    Clocks,
    /// `monday .. friday`, or one day of the week alone
    Weekdays,
    /// One or more of the words, in order, separated by `,` or `, then`.
    Words(&'static [&'static str]),
    /// A decision or the name of a setting.
    Decision,
    /// What is chosen; depends on the decision.
    Choice,
    /// Anything a `let` can hold: a quantity, a range, a text.
    Constant,
    /// An expression, a template or facts: checked where rules are checked.
    Free,
}

impl Kind {
    /// Returns the noun of messages: "expected a length".
    pub fn noun(&self) -> String {
        match self {
            Kind::Text => "a text in double quotes".to_owned(),
            Kind::Name => "a name".to_owned(),
            Kind::Term => "a word or a text".to_owned(),
            Kind::Names => "one or more names, separated by commas".to_owned(),
            Kind::Measure(m) => m.dimension.name(),
            Kind::Range(m) => format!("a range from {0} to {0}", m.dimension.name()),
            Kind::Count(_) => "a whole number".to_owned(),
            Kind::Number { .. } => "a plain number".to_owned(),
            Kind::Direction => "a direction".to_owned(),
            Kind::Point => "a place (x, y, z)".to_owned(),
            Kind::Where => "a face or a place".to_owned(),
            Kind::Thread => "a metric thread".to_owned(),
            Kind::HoleSymbol => "the tolerance zone of a hole".to_owned(),
            Kind::ShaftSymbol => "the tolerance zone of a shaft".to_owned(),
            Kind::HoleSymbolOrPair => "the tolerance zone of a hole, or a pair".to_owned(),
            Kind::ShaftSymbolOrPair => "the tolerance zone of a shaft, or a pair".to_owned(),
            Kind::Designation => "a part number".to_owned(),
            Kind::Date => "a date".to_owned(),
            Kind::Dates => "a date, or a range of dates".to_owned(),
            Kind::Clock => "a time of day".to_owned(),
            Kind::Clocks => "a range of times of day".to_owned(),
            Kind::Weekdays => "a day of the week, or a range of them".to_owned(),
            Kind::Words(words) => format!("one or more of {}", list(words)),
            Kind::Decision => "a decision or the name of a setting".to_owned(),
            Kind::Choice => "what is chosen".to_owned(),
            Kind::Constant => "a quantity, a range or a text".to_owned(),
            Kind::Free => "an expression".to_owned(),
        }
    }

    /// Returns an example of such an argument as it is written.
    pub fn example(&self) -> String {
        match self {
            Kind::Text => "\"text\"".to_owned(),
            Kind::Name | Kind::Names | Kind::Term => "\"name\"".to_owned(),
            Kind::Measure(m) => sample(m, 2.0),
            Kind::Range(m) => format!("{} .. {}", sample(m, -10.0), sample(m, 30.0)),
            Kind::Count(_) => "24".to_owned(),
            Kind::Number { .. } => "2".to_owned(),
            Kind::Direction => "-z".to_owned(),
            Kind::Point => "(10 mm, 20 mm, 0 mm)".to_owned(),
            Kind::Where => "face \"seat\"".to_owned(),
            Kind::Thread => "M5".to_owned(),
            Kind::HoleSymbol => "H7".to_owned(),
            Kind::ShaftSymbol => "h6".to_owned(),
            Kind::HoleSymbolOrPair | Kind::ShaftSymbolOrPair => "H7/g6".to_owned(),
            Kind::Designation => "608".to_owned(),
            Kind::Date => "2026-12-01".to_owned(),
            Kind::Dates => "2026-12-24 .. 2026-12-26".to_owned(),
            Kind::Clock => "07:00".to_owned(),
            Kind::Clocks => "07:00 .. 19:00".to_owned(),
            Kind::Weekdays => "monday .. friday".to_owned(),
            Kind::Words(words) => words.first().map(|w| (*w).to_owned()).unwrap_or_default(),
            Kind::Decision => "nozzle".to_owned(),
            Kind::Choice => "0.6 mm".to_owned(),
            Kind::Constant => "140 N".to_owned(),
            Kind::Free => "material.abrasive".to_owned(),
        }
    }
}

fn sample(measure: &Measure, value: f64) -> String {
    let value = value.clamp(measure.low, measure.high);
    format!("{} {}", crate::quantity::significant(value), measure.unit)
}

/// Lists words for a message: `a`, `b` or `c`.
pub(crate) fn list(words: &[&str]) -> String {
    let quoted: Vec<String> = words.iter().map(|w| format!("`{w}`")).collect();
    match quoted.split_last() {
        None => String::new(),
        Some((only, [])) => only.clone(),
        Some((last, rest)) => format!("{} or {last}", rest.join(", ")),
    }
}

/// One piece of a statement's argument pattern.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Item {
    /// A value that must stand here.
    Value(&'static str, Kind),
    /// A word that must stand here.
    Word(&'static str),
    /// A word that may stand here and changes nothing.
    Noise(&'static str),
    /// One of these words (or groups of words) must stand here.
    OneOf(&'static str, &'static [&'static str]),
    /// May stand here; neighbouring optional groups stand in any order.
    Maybe(&'static [Item]),
}

/// How often a statement may stand in one block.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Repeat {
    /// A second one is an error, and names the first.
    Once,
    /// Once for each name (the first argument).
    OncePerName,
    /// Each adds to those before.
    Any,
}

/// Where a statement may stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Context {
    /// Outside any block.
    File,
    /// In a `part`.
    Part,
    /// In a `profile`.
    Profile,
    /// Behind or in a `mesh`.
    Mesh,
    /// In a `service`.
    Service,
    /// Behind or in a `contact`.
    Contact,
    /// Behind or in a `load`.
    Load,
    /// Behind or in a `fit`.
    Fit,
    /// Behind or in a `face`.
    Face,
    /// Behind or in a `pressure`.
    Pressure,
    /// In an `assembly`.
    Assembly,
    /// In a `run`.
    Run,
    /// In a `rule`.
    Rule,
    /// In the `example` of a rule.
    Example,
}

impl Context {
    /// All of them, in the order of the reference.
    pub const ALL: [Self; 14] = [
        Self::File,
        Self::Part,
        Self::Profile,
        Self::Mesh,
        Self::Service,
        Self::Contact,
        Self::Load,
        Self::Fit,
        Self::Face,
        Self::Pressure,
        Self::Assembly,
        Self::Run,
        Self::Rule,
        Self::Example,
    ];

    /// Tells whether its statements may share a line: those that say one thing together.
    pub fn shares_lines(self) -> bool {
        matches!(self, Self::Mesh | Self::Contact | Self::Load | Self::Fit | Self::Face | Self::Pressure)
    }

    /// Returns how messages name the block.
    pub fn name(self) -> &'static str {
        match self {
            Self::File => "the file itself",
            Self::Part => "`part`",
            Self::Profile => "`profile`",
            Self::Mesh => "`mesh`",
            Self::Service => "`service`",
            Self::Contact => "`contact`",
            Self::Load => "`load`",
            Self::Fit => "`fit`",
            Self::Face => "`face`",
            Self::Pressure => "`pressure`",
            Self::Assembly => "`assembly`",
            Self::Run => "`run`",
            Self::Rule => "`rule`",
            Self::Example => "`example`",
        }
    }
}

/// What may follow a statement's own arguments.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Body {
    /// Nothing may follow.
    None,
    /// Statements of this context in a block.
    Block(Context),
    /// Statements of this context on the same line, in a block, or both.
    InlineOrBlock(Context),
}

/// One statement of the language.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Entry {
    /// The word it begins with.
    pub keyword: &'static str,
    /// Where it may stand.
    pub places: &'static [Context],
    /// Its arguments in order.
    pub form: &'static [Item],
    /// What may follow them.
    pub body: Body,
    /// How often it may stand in one block.
    pub repeat: Repeat,
    /// One line of help: what it says, not how.
    pub help: &'static str,
    /// The statement as a person would write it, for hints and the reference.
    pub example: &'static str,
}
