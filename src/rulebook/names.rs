//! What the table of names a rule may use is made of: root, field, type, the decisions it touches, one line of help. The
//! names themselves are declared in [`facts`], each once.
//!
//! Which decisions a rule touches is never written in a rule; it follows from the names in it, by this table. A name
//! stands here only if it can be computed from spec, catalogue, workshop, mesh or physics.

use std::fmt;

use super::facts;
use super::value::Value;
use crate::quantity::Dimension;

/// Joins the roots to the declarations of their facts; they are listed in the order of the reference.
macro_rules! roots {
    ($($root:ident),+ $(,)?) => {
        /// What a name belongs to: the first part of a dotted name.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Root { $($root),+ }

        impl Root {
            pub const ALL: [Root; [$(Root::$root),+].len()] = [$(Root::$root),+];

            const fn declared(self) -> &'static Declared {
                match self { $(Root::$root => &facts::$root::DECLARED),+ }
            }
        }
    };
}

roots!(
    Service, Part, Mesh, Contact, Load, Fit, Face, Margin, Printer, Material, Spool, Nozzle, Surface, Agent, Bond,
    Pose, Piece, Supports, BuildUp, Settings, Shop, Run, Figure,
);

/// What the declaration of a root's facts says: see [`facts`].
#[derive(Debug, Clone, Copy)]
pub struct Declared {
    pub word: &'static str,
    pub each: bool,
    pub touches: Touches,
    pub fields: &'static [Field],
}

impl Root {
    /// Returns the word as it stands in rules.
    pub const fn word(self) -> &'static str {
        self.declared().word
    }

    pub fn parse(word: &str) -> Option<Root> {
        Root::ALL.into_iter().find(|r| r.word() == word)
    }

    /// Returns whether a rule that names this root is judged once per instance (per load, per fit ...).
    pub const fn is_each(self) -> bool {
        self.declared().each
    }

    /// Returns the decisions that any name of this root touches.
    pub const fn touches(self) -> Touches {
        self.declared().touches
    }

    /// Returns the fields of this root; those of `settings` come from the `derive` rules instead.
    pub const fn fields(self) -> &'static [Field] {
        self.declared().fields
    }

    pub fn field(self, name: &str) -> Option<&'static Field> {
        self.fields().iter().find(|f| f.name == name)
    }
}

/// What the resolver decides; settings follow from these by `derive` rules.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Decision {
    Printer,
    Material,
    /// Goes with the material.
    Spool,
    Nozzle,
    Surface,
    Agent,
    Pose,
    Supports,
    /// Beads of the walls, closed layers and infill.
    BuildUp,
}

impl Decision {
    pub const ALL: [Decision; 9] = [
        Decision::Printer,
        Decision::Material,
        Decision::Spool,
        Decision::Nozzle,
        Decision::Surface,
        Decision::Agent,
        Decision::Pose,
        Decision::Supports,
        Decision::BuildUp,
    ];

    pub const fn word(self) -> &'static str {
        match self {
            Decision::Printer => "printer",
            Decision::Material => "material",
            Decision::Spool => "spool",
            Decision::Nozzle => "nozzle",
            Decision::Surface => "surface",
            Decision::Agent => "agent",
            Decision::Pose => "pose",
            Decision::Supports => "supports",
            Decision::BuildUp => "build-up",
        }
    }
}

/// A set of decisions.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Touches(pub u16);

impl Touches {
    pub const NONE: Self = Touches(0);

    pub const fn of(decisions: &[Decision]) -> Self {
        let mut bits = 0;
        let mut i = 0;
        while i < decisions.len() {
            bits |= 1 << decisions[i] as u16;
            i += 1;
        }
        Touches(bits)
    }

    pub const fn union(self, other: Self) -> Self {
        Touches(self.0 | other.0)
    }

    pub const fn contains(self, decision: Decision) -> bool {
        self.0 & (1 << decision as u16) != 0
    }

    /// Returns whether every decision of `self` is in `decided`: then the rule can be asked.
    pub const fn within(self, decided: Self) -> bool {
        self.0 & !decided.0 == 0
    }

    pub const fn is_empty(self) -> bool {
        self.0 == 0
    }

    pub const fn count(self) -> u32 {
        self.0.count_ones()
    }

    pub fn iter(self) -> impl Iterator<Item = Decision> {
        Decision::ALL.into_iter().filter(move |d| self.contains(*d))
    }
}

impl fmt::Display for Touches {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let words: Vec<&str> = self.iter().map(Decision::word).collect();
        f.write_str(if words.is_empty() { "nothing: it follows from the spec alone" } else { "" })?;
        f.write_str(&words.join(", "))
    }
}

/// The type of a name or an expression.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Type {
    Bool,
    Quantity(Dimension),
    Range(Dimension),
    Text,
    /// One of a closed set of words in rising order; words compare by that order.
    Word(&'static [&'static str]),
    List(&'static Type),
    Record(Root),
}

impl Type {
    /// Returns a noun for messages.
    pub fn noun(self) -> String {
        match self {
            Type::Bool => "yes or no".to_owned(),
            Type::Quantity(d) => d.name(),
            Type::Range(d) => format!("a range ({})", d.name()),
            Type::Text => "a text".to_owned(),
            Type::Word(words) => format!("one of {}", words.join(", ")),
            Type::List(of) => format!("a list ({})", of.noun()),
            Type::Record(root) => format!("a {}", root.word()),
        }
    }

    /// Returns whether a value could be of this type; an unknown value always can.
    pub fn admits(self, value: &Value) -> bool {
        match (self, value) {
            (_, Value::Unknown) | (Type::Bool, Value::Bool(_)) | (Type::Text, Value::Text(_)) => true,
            (Type::Quantity(d), Value::Quantity(q)) => q.dimension == d,
            (Type::Range(d), Value::Range(low, high)) => low.dimension == d && high.dimension == d,
            (Type::Word(words), Value::Word(w)) => words.contains(&w.as_ref()),
            (Type::List(of), Value::List(items)) => items.iter().all(|i| of.admits(i)),
            (Type::Record(_), Value::Record(_)) => true,
            _ => false,
        }
    }
}

/// One field of a root.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Field {
    pub name: &'static str,
    pub kind: Type,
    /// Decisions it touches beyond those of its root.
    pub also: Touches,
    pub help: &'static str,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_is_in_order() {
        for root in Root::ALL {
            assert_eq!(Root::parse(root.word()), Some(root));
            let mut seen = std::collections::BTreeSet::new();
            for field in root.fields() {
                assert!(seen.insert(field.name), "{}.{} twice", root.word(), field.name);
                assert!(!field.help.is_empty() && !field.help.ends_with('.'));
            }
        }
    }
}
