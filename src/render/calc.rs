//! What `calc` prints: the computations that rules may call, and the working of one, as data and as text.

use std::fmt::Write;

use serde::Serialize;

use crate::physics::registry::Function;
use crate::quantity::Quantity;

/// Every computation.
#[derive(Debug, Serialize)]
pub struct List {
    /// By name.
    pub functions: Vec<Entry>,
}

/// A computation as it is listed.
#[derive(Debug, Serialize)]
pub struct Entry {
    /// What rules and `calc` call it.
    pub name: &'static str,
    /// What it is given, in order.
    pub inputs: Vec<Input>,
    /// What kind of quantity comes out.
    pub output: String,
    /// As a person would write it.
    pub formula: &'static str,
    /// Kind and citation.
    pub source: String,
    /// One line.
    pub help: &'static str,
    /// A call that makes sense.
    pub example: String,
}

/// An input of a computation.
#[derive(Debug, Serialize)]
pub struct Input {
    /// Its name.
    pub name: &'static str,
    /// What kind of quantity it is.
    pub quantity: String,
    /// What it means.
    pub help: &'static str,
}

/// A computation done.
#[derive(Debug, Serialize)]
pub struct Worked {
    /// Its name.
    pub name: &'static str,
    /// What came out, in the unit a person would write.
    pub value: String,
    /// That unit; empty for a plain number.
    pub unit: String,
    /// In base units.
    pub si: f64,
    /// The call with its numbers, the result, the formula.
    pub working: String,
    /// Kind and citation.
    pub source: String,
}

fn source(of: &Function) -> String {
    format!("{}: {}", of.source.kind, of.source.citation)
}

impl Entry {
    /// Returns the entry of a computation.
    pub fn of(f: &Function) -> Self {
        let inputs = f.inputs.iter().map(|p| Input { name: p.name, quantity: p.dimension.name(), help: p.help });
        let given: Vec<String> = f.inputs.iter().zip(f.example).map(|(p, e)| format!("\"{}={e}\"", p.name)).collect();
        Self {
            name: f.name,
            inputs: inputs.collect(),
            output: f.output.name(),
            formula: f.formula,
            source: source(f),
            help: f.help,
            example: format!("makeready calc {} {}", f.name, given.join(" ")),
        }
    }
}

impl Worked {
    /// Returns a computation done.
    pub fn of(f: &Function, args: &[Quantity], result: Quantity) -> Self {
        let (value, unit) = result.in_practice();
        Self {
            name: f.name,
            value,
            unit: unit.into_owned(),
            si: result.si,
            working: f.working(args),
            source: source(f),
        }
    }

    /// Returns it as text.
    pub fn text(&self) -> String {
        format!("{}\n  source  {}\n", self.working, self.source)
    }
}

impl List {
    /// Returns it as text.
    pub fn text(&self) -> String {
        let mut out = String::new();
        for f in &self.functions {
            // Writing into a text cannot fail.
            let _ = writeln!(out, "{}: {}", f.name, f.help);
            for i in &f.inputs {
                let _ = writeln!(out, "  {:<10} {}: {}", i.name, i.quantity, i.help);
            }
            let _ = write!(
                out,
                "  gives      {}\n  formula    {}\n  source     {}\n  example    {}\n\n",
                f.output, f.formula, f.source, f.example
            );
        }
        out
    }
}
