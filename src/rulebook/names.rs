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
    ($($(#[$what:meta])* $root:ident),+ $(,)?) => {
        /// What a name belongs to: the first part of a dotted name.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Root { $($(#[$what])* $root),+ }

        impl Root {
            /// Every root, in the order of the reference.
            pub const ALL: [Root; [$(Root::$root),+].len()] = [$(Root::$root),+];

            const fn declared(self) -> &'static Declared {
                match self { $(Root::$root => &facts::$root::DECLARED),+ }
            }
        }
    };
}

roots!(
    /// What the part is used in: temperatures, sun, water, how long.
    Service,
    /// What is asked of the part as a whole.
    Part,
    /// What is measured of the mesh, whichever way up.
    Mesh,
    /// Words of the spec that point to a use with dangers of its own.
    Hint,
    /// One substance the part meets.
    Contact,
    /// One load.
    Load,
    /// One fit.
    Fit,
    /// One face the spec asks something of, as the pose has it.
    Face,
    /// One margin: what is asked, what is there, between what bounds.
    Margin,
    /// The printer of the candidate.
    Printer,
    /// The polymer of the candidate.
    Material,
    /// The spool of the candidate.
    Spool,
    /// The nozzle of the candidate.
    Nozzle,
    /// What the candidate's first layer is laid on.
    Surface,
    /// What the candidate has between surface and part.
    Agent,
    /// How material and surface hold on to each other with that agent.
    Bond,
    /// Which way up, and what is measured of it.
    Pose,
    /// One of the pieces of a mesh that is not all of a piece.
    Piece,
    /// The supports of the candidate.
    Supports,
    /// Walls, closed layers and infill of the candidate.
    BuildUp,
    /// What `derive` rules gave, by the names they give.
    Settings,
    /// The workshop beside its printers and stock.
    Shop,
    /// How many, on how many plates.
    Run,
    /// The named figures of the catalogue.
    Figure,
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

    /// Returns the root a rule means by a word.
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

    /// Returns the field of that name, if the table has one.
    pub fn field(self, name: &str) -> Option<&'static Field> {
        self.fields().iter().find(|f| f.name == name)
    }
}

/// What the resolver decides; settings follow from these by `derive` rules.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Decision {
    /// Which of the workshop's printers.
    Printer,
    /// Which polymer, as the catalogue names it.
    Material,
    /// Goes with the material.
    Spool,
    /// Diameter, make and hardness together: one entry of the workshop.
    Nozzle,
    /// What the first layer is laid on.
    Surface,
    /// What goes between surface and part; one agent is none.
    Agent,
    /// Which way up the part is printed.
    Pose,
    /// Whether and of what kind supports are printed.
    Supports,
    /// Beads of the walls, closed layers and infill.
    BuildUp,
}

impl Decision {
    /// Every decision, in the order they are printed.
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

    /// Returns the word as it stands in recipes and the reference.
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
pub struct Touches(pub(super) u16);

impl Touches {
    /// No decision: what follows from the spec alone.
    pub const NONE: Self = Touches(0);

    /// Returns the set of these.
    pub const fn of(decisions: &[Decision]) -> Self {
        let mut bits = 0;
        let mut i = 0;
        while i < decisions.len() {
            bits |= 1 << decisions[i] as u16;
            i += 1;
        }
        Touches(bits)
    }

    /// Returns the decisions of either.
    pub const fn union(self, other: Self) -> Self {
        Touches(self.0 | other.0)
    }

    /// Returns whether that decision is in the set.
    pub const fn contains(self, decision: Decision) -> bool {
        self.0 & (1 << decision as u16) != 0
    }

    /// Returns whether every decision of `self` is in `decided`: then the rule can be asked.
    pub const fn within(self, decided: Self) -> bool {
        self.0 & !decided.0 == 0
    }

    /// Returns whether no decision is in the set.
    pub const fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// Returns how many decisions are in the set.
    pub const fn count(self) -> u32 {
        self.0.count_ones()
    }

    /// Returns the decisions in the order of [`Decision::ALL`].
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
    /// Yes or no.
    Bool,
    /// An amount of this dimension; a bare number is one without dimension.
    Quantity(Dimension),
    /// A low and a high amount of this dimension.
    Range(Dimension),
    /// Free words, compared only whole.
    Text,
    /// One of a closed set of words in rising order; words compare by that order.
    Word(&'static [&'static str]),
    /// Several values of one type.
    List(&'static Type),
    /// A thing with the facts of that root.
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
    /// As it stands behind the dot.
    pub name: &'static str,
    /// What a rule may do with it.
    pub kind: Type,
    /// Decisions it touches beyond those of its root.
    pub also: Touches,
    /// One line for reference and hover.
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
