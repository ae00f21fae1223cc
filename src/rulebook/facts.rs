//! The facts rules read, each declared once: name, type, help, and the decisions it hangs on.
//!
//! The declaration of a root gives the struct that whoever knows the facts fills, the table the checker, the reference and
//! the hover work from, and the [`Record`] rules read. A fact that is misspelt, of another type or forgotten where a record
//! is begun does not compile.
//!
//! ```text
//! asked   of the spec: service, part, hint, contact, load, fit, face, margin
//! shape   of the mesh: mesh, pose, piece, supports, build_up, run
//! bench   of workshop and catalogue: printer, material, spool, nozzle, surface, agent, bond, shop
//! figure  the named figures of the catalogue
//! words   the closed sets of words that are not the catalogue's own
//! ```

mod asked;
mod bench;
mod figure;
mod shape;
pub mod words;

pub use asked::{Contact, Face, Fit, Hint, Load, Margin, Part, Service};
pub use bench::{Agent, Bond, Material, Nozzle, Printer, Shop, Spool, Surface};
pub use figure::Figure;
pub use shape::{BuildUp, Mesh, Piece, Pose, Run, Supports};

use std::sync::Arc;

use super::names::{Decision, Root, Touches, Type};
use super::value::{Fact, Origin, Record, Text, Value};
use crate::diag::Span;
use crate::quantity::{self, Quantity};
use crate::word::Word;

/// The facts of one root.
pub trait RootFacts: Sized {
    const ROOT: Root;
    /// How the thing is called in texts.
    fn title(&mut self) -> &mut String;
    /// Adds what is known to a record.
    fn add_to(self, record: &mut Record);
    /// Reads a record back.
    fn of(record: &Record) -> Self;

    /// Returns the record rules read.
    fn record(mut self) -> Record {
        let mut record = Record::new(std::mem::take(self.title()));
        self.add_to(&mut record);
        record
    }

    /// Returns a record that adds what is known here to the facts of another.
    fn upon(self, below: Arc<Record>) -> Record {
        let mut record = Record::upon(below);
        self.add_to(&mut record);
        record
    }
}

/// A type a fact may have.
pub trait Kind: Sized {
    const TYPE: Type;
    fn lower(self) -> Value;
    /// Reads a value back, if it is known and of this type.
    fn read(value: &Value) -> Option<Self>;
}

/// A value that is known, and where it comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct Known<T> {
    pub value: T,
    pub origin: Origin,
}

impl<T> Known<T> {
    /// Returns the lines that state it; none where it is stated nowhere.
    pub fn lines(&self) -> Vec<Span> {
        if let Origin::Stated { at } = self.origin { vec![at] } else { Vec::new() }
    }
}

impl Origin {
    /// Returns a value, if there is one, as a fact that comes from here.
    pub fn of<T>(&self, value: impl Into<Option<T>>) -> Option<Known<T>> {
        value.into().map(|value| Known { value, origin: self.clone() })
    }
}

impl Record {
    /// Adds a fact that it has not yet.
    fn add<T: Kind>(&mut self, name: &'static str, known: Option<Known<T>>) {
        if let Some(Known { value, origin }) = known {
            self.facts.push((Text::Fixed(name), Fact { value: value.lower(), origin }));
        }
    }

    fn known<T: Kind>(&self, name: &str) -> Option<Known<T>> {
        let fact = self.get(name)?;
        Some(Known { value: T::read(&fact.value)?, origin: fact.origin.clone() })
    }
}

impl<W: Word> Kind for W {
    const TYPE: Type = Type::Word(W::WORDS);
    fn lower(self) -> Value {
        Value::word(self.word())
    }
    fn read(value: &Value) -> Option<Self> {
        if let Value::Word(word) = value { W::from_word(word.as_ref()) } else { None }
    }
}

impl Kind for bool {
    const TYPE: Type = Type::Bool;
    fn lower(self) -> Value {
        Value::Bool(self)
    }
    fn read(value: &Value) -> Option<Self> {
        value.as_bool()
    }
}

impl Kind for Text {
    const TYPE: Type = Type::Text;
    fn lower(self) -> Value {
        Value::Text(self)
    }
    fn read(value: &Value) -> Option<Self> {
        if let Value::Text(text) = value { Some(text.clone()) } else { None }
    }
}

/// A plain number.
impl Kind for f64 {
    const TYPE: Type = Type::Quantity(quantity::Dimension::NONE);
    fn lower(self) -> Value {
        Quantity::number(self).into()
    }
    fn read(value: &Value) -> Option<Self> {
        value.as_quantity()?.try_into().ok()
    }
}

macro_rules! quantities {
    ($($name:ident),+ $(,)?) => { $(
        impl Kind for quantity::$name {
            const TYPE: Type = Type::Quantity(quantity::$name::DIMENSION);
            fn lower(self) -> Value {
                Quantity::from(self).into()
            }
            fn read(value: &Value) -> Option<Self> {
                value.as_quantity()?.try_into().ok()
            }
        }
    )+ };
}

quantities!(
    Angle,
    Area,
    Density,
    Duration,
    Expansion,
    Flow,
    Force,
    Impact,
    Length,
    Mass,
    MassPrice,
    Money,
    Ratio,
    Stress,
    Temperature,
    TemperatureDifference,
    Speed,
    TimePrice,
    Torque,
    Volume,
);

/// A fact that is a thing with facts of its own.
#[derive(Debug, Clone)]
pub struct Nested<F>(pub Box<F>);

impl<F> From<F> for Nested<F> {
    fn from(facts: F) -> Self {
        Self(Box::new(facts))
    }
}

impl<F: RootFacts> Kind for Nested<F> {
    const TYPE: Type = Type::Record(F::ROOT);
    fn lower(self) -> Value {
        Value::Record(Arc::new(self.0.record()))
    }
    fn read(value: &Value) -> Option<Self> {
        if let Value::Record(record) = value { Some(F::of(record).into()) } else { None }
    }
}

/// Returns a name as rules know it: `static` is a word of Rust, and is written `r#static` there.
const fn plain(name: &'static str) -> &'static str {
    match name.as_bytes() {
        [b'r', b'#', ..] => name.split_at(2).1,
        _ => name,
    }
}

const fn one(decision: Decision) -> Touches {
    Touches::of(&[decision])
}

const PRINTER: Touches = one(Decision::Printer);
const MATERIAL: Touches = one(Decision::Material);
const SPOOL: Touches = one(Decision::Spool);
const NOZZLE: Touches = one(Decision::Nozzle);
const SURFACE: Touches = one(Decision::Surface);
const AGENT: Touches = one(Decision::Agent);
const POSE: Touches = one(Decision::Pose);
const SUPPORTS: Touches = one(Decision::Supports);
const BUILD_UP: Touches = one(Decision::BuildUp);
/// A plan of plates is made for a full choice only.
const EVERY: Touches = Touches::of(&Decision::ALL);
/// What prints without support hangs on the printer with its nozzle and material.
pub const LIMITED: Touches = PRINTER.union(MATERIAL).union(NOZZLE);
/// What a fit's allowance hangs on.
const ON_THE_LINE: Touches = LIMITED.union(POSE);
/// What some margin hangs on; of each no more counts than its kind hangs on.
const OF_ITS_KIND: Touches = ON_THE_LINE.union(BUILD_UP);
/// Where support would touch hangs on the pose and on what prints without it.
const SCARRED: Touches = ON_THE_LINE.union(SUPPORTS);

/// Declares the facts of a root.
///
/// ```text
/// facts! {
///     /// What it is.
///     Load "load" each [] {                its word in rules; `each`: judged once for each; what any fact of it hangs on
///         /// the line of help
///         margin: f64 [MATERIAL, POSE],    and the decisions this one hangs on beside
///     }
/// }
/// ```
macro_rules! facts {
    (
        $(#[doc = $doc:literal])+
        $name:ident $word:literal $($each:ident)? [$($touched:ident),*] {
            $( $(#[doc = $help:literal])+ $field:ident: $type:ty $([$($also:ident),+])?, )*
        }
    ) => {
        $(#[doc = $doc])+
        #[derive(Debug, Clone, Default)]
        pub struct $name {
            /// How it is called in texts.
            pub title: String,
            $( $(#[doc = $help])+ pub $field: Option<$crate::rulebook::facts::Known<$type>>, )*
        }

        impl $name {
            pub(in crate::rulebook) const DECLARED: $crate::rulebook::names::Declared = $crate::rulebook::names::Declared {
                word: $word,
                each: { let marked: &[&str] = &[$(stringify!($each))?]; !marked.is_empty() },
                touches: $crate::rulebook::names::Touches::NONE$(.union($touched))*,
                fields: &[ $( $crate::rulebook::names::Field {
                    name: $crate::rulebook::facts::plain(stringify!($field)),
                    kind: <$type as $crate::rulebook::facts::Kind>::TYPE,
                    also: $crate::rulebook::names::Touches::NONE$($(.union($also))+)?,
                    help: concat!($($help),+).trim_ascii_start(),
                }, )* ],
            };
        }

        impl $crate::rulebook::facts::RootFacts for $name {
            const ROOT: $crate::rulebook::names::Root = $crate::rulebook::names::Root::$name;

            fn title(&mut self) -> &mut String {
                &mut self.title
            }

            fn add_to(self, record: &mut $crate::rulebook::value::Record) {
                let known: [bool; Self::DECLARED.fields.len()] = [$(self.$field.is_some()),*];
                record.facts.reserve_exact(known.iter().filter(|known| **known).count());
                $( record.add(const { $crate::rulebook::facts::plain(stringify!($field)) }, self.$field); )*
            }

            fn of(record: &$crate::rulebook::value::Record) -> Self {
                Self { title: record.title.clone(), $( $field: record.known(const { $crate::rulebook::facts::plain(stringify!($field)) }), )* }
            }
        }
    };
}
use facts;

facts! {
    /// The settings, whose names and types come from the rules that derive them.
    Settings "settings" [] {}
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Force;
    use crate::semantics::spec::Course;

    #[test]
    fn a_record_holds_what_is_known_under_the_names_and_types_of_the_table() {
        let at = Origin::Measured;
        let load = Load {
            title: "load \"pull\"".to_owned(),
            name: at.of(Text::shared("pull")),
            force: at.of(Force::n(40.0)),
            course: at.of(Course::Shock),
            factor: Origin::None.of(2.0),
            shown: at.of(false),
            ..Load::default()
        };
        let record = load.clone().record();
        assert_eq!(record.title, load.title);
        let names: Vec<&str> = record.facts.iter().map(|(name, _)| name.as_ref()).collect();
        assert_eq!(names, ["name", "force", "course", "factor", "shown"]);
        for (name, fact) in &record.facts {
            assert!(Root::Load.field(name.as_ref()).unwrap().kind.admits(&fact.value), "{name}");
        }
        let read = Load::of(&record);
        assert_eq!((read.force, read.course, read.margin), (load.force, load.course, None));
    }

    #[test]
    fn a_thing_with_facts_of_its_own_is_a_record_within() {
        let at = Origin::Measured;
        let nozzle = Nozzle { bore: at.of(crate::quantity::Length::mm(0.6)), ..Nozzle::default() };
        let printer = Printer { fitted: at.of(Nested::from(nozzle)), ..Printer::default() }.record();
        let Some(Fact { value: Value::Record(inner), .. }) = printer.get("fitted") else { panic!("{printer:?}") };
        assert_eq!(inner.get("bore").unwrap().value.as_quantity().unwrap().to_string(), "0.6 mm");
        assert_eq!(Printer::of(&printer).fitted.unwrap().value.0.bore.unwrap().value.to_mm(), 0.6);
    }

    #[test]
    fn a_word_of_rust_is_a_name_like_any_other() {
        let part = Part { r#static: Origin::None.of(true), ..Part::default() };
        assert!(part.record().get("static").is_some());
        assert!(Root::Part.field("static").is_some());
    }
}
