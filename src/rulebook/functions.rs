//! What rules may call: the registry of physics behind a small trait, and the language's own arithmetic.

use crate::physics::registry;
use crate::quantity::{Dimension, Quantity};

/// A registry of named computations. Rules see only this, so that they can be tested without physics.
pub trait Functions {
    /// Returns the dimensions of the inputs and of the result.
    fn signature(&self, name: &str) -> Option<(Vec<Dimension>, Dimension)>;
    /// Computes; the error says in words why there is no value.
    fn call(&self, name: &str, arguments: &[Quantity]) -> Result<Quantity, String>;
    /// Returns the names in order, for nearest-name suggestions.
    fn names(&self) -> Vec<&'static str>;
}

/// A registry without functions.
#[derive(Debug, Clone, Copy, Default)]
pub struct NoFunctions;

impl Functions for NoFunctions {
    fn signature(&self, _: &str) -> Option<(Vec<Dimension>, Dimension)> {
        None
    }
    fn call(&self, name: &str, _: &[Quantity]) -> Result<Quantity, String> {
        Err(format!("no function `{name}`"))
    }
    fn names(&self) -> Vec<&'static str> {
        Vec::new()
    }
}

/// The functions of [`crate::physics::registry`].
#[derive(Debug, Clone, Copy, Default)]
pub struct Registry;

impl Functions for Registry {
    fn signature(&self, name: &str) -> Option<(Vec<Dimension>, Dimension)> {
        let function = registry::function(name)?;
        Some((function.inputs.iter().map(|p| p.dimension).collect(), function.output))
    }
    fn call(&self, name: &str, arguments: &[Quantity]) -> Result<Quantity, String> {
        registry::function(name).ok_or_else(|| format!("no function `{name}`"))?.call(arguments)
    }
    fn names(&self) -> Vec<&'static str> {
        registry::functions().iter().map(|f| f.name).collect()
    }
}

/// The language's own arithmetic.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Builtin {
    Min,
    Max,
    Clamp,
    Round,
    RoundUp,
    RoundDown,
    Abs,
    Count,
    Choose,
    Given,
    ByConsequence,
}

/// Name, arguments and help of each function of the language itself.
pub const BUILTINS: &[(&str, Builtin, &str, &str)] = &[
    ("min", Builtin::Min, "a, b, ...", "the smallest"),
    ("max", Builtin::Max, "a, b, ...", "the largest"),
    ("clamp", Builtin::Clamp, "x, low, high", "x, but not below low nor above high"),
    ("round", Builtin::Round, "x, step", "x to the nearest whole step"),
    ("round_up", Builtin::RoundUp, "x, step", "x to the next whole step above"),
    ("round_down", Builtin::RoundDown, "x, step", "x to the next whole step below"),
    ("abs", Builtin::Abs, "x", "x without its sign"),
    ("count", Builtin::Count, "list", "how many the list holds"),
    ("choose", Builtin::Choose, "condition, a, b", "a if the condition holds, else b"),
    ("given", Builtin::Given, "x, fallback", "x if it is known, else the fallback"),
    (
        "by_consequence",
        Builtin::ByConsequence,
        "nuisance, damage, injury",
        "the one for what a failure of the part would do (`part.consequence`)",
    ),
];

/// Returns how a function is called and what it gives: one of the language itself or of the registry.
pub fn help_of_function(name: &str) -> Option<(String, &'static str)> {
    let own = BUILTINS.iter().find(|b| b.0 == name).map(|b| (format!("{}({})", b.0, b.2), b.3));
    own.or_else(|| crate::physics::registry::function(name).map(|f| (f.signature(), f.help)))
}

pub fn builtin(name: &str) -> Option<Builtin> {
    BUILTINS.iter().find(|b| b.0 == name).map(|b| b.1)
}
