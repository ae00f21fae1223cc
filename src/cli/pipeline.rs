//! From files to recipes: the one place where the phases are joined.

use std::path::{Path, PathBuf};

use super::world::World;
use crate::diag::{Diagnostic, Severity, Source, Sources};
use crate::recipe::Recipe;
use crate::render::pages::{Entry, RulePage, Table};
use crate::syntax;

/// What changes how specs are read, beside the specs themselves.
#[derive(Debug, Clone, Default)]
pub struct Options {
    /// A workshop file to use instead of the nearest one.
    pub shop: Option<PathBuf>,
    /// Count assumptions and open questions as errors.
    pub strict: bool,
}

/// One part's results.
#[derive(Debug)]
pub struct Part {
    pub recipe: Recipe,
    /// The picture of the part as it lies on the bed, as SVG, where the mesh can be drawn.
    pub picture: Option<String>,
}

/// What became of one spec file.
#[derive(Debug, Default)]
pub struct Compiled {
    /// One for each part of the spec; empty where a diagnostic is an error.
    pub parts: Vec<Part>,
    pub diagnostics: Vec<Diagnostic>,
    /// What the diagnostics point into.
    pub sources: Sources,
}

impl Compiled {
    fn failed(found: Diagnostic, sources: Sources) -> Self {
        Self { parts: Vec::new(), diagnostics: vec![found], sources }
    }
}

/// Compiles one spec file.
pub fn compile_one(world: &World, spec: &Path, options: &Options) -> Compiled {
    let _ = options;
    let mut compiled = read_spec(world, spec);
    if !compiled.diagnostics.iter().any(Diagnostic::is_error) {
        let told = "the phases behind the parser are not joined yet";
        compiled.diagnostics.push(Diagnostic::new(Severity::Error, "internal/unjoined", told));
    }
    compiled
}

/// Looks for mistakes in one file without compiling it further than needed.
pub fn check_one(world: &World, path: &Path, options: &Options) -> Compiled {
    let _ = options;
    read_spec(world, path)
}

fn read_spec(world: &World, spec: &Path) -> Compiled {
    let mut sources = Sources::default();
    let read = world.asked_for(spec).and_then(|file| Ok((world.text(&file, None)?, file)));
    let (text, file) = match read {
        Ok(read) => read,
        Err(found) => return Compiled::failed(found, sources),
    };
    let id = sources.add(Source::new(file.name, text.clone()));
    let report = syntax::parse(id, &text);
    Compiled { parts: Vec::new(), diagnostics: report.diagnostics, sources }
}

/// How a mesh is to be measured; the texts are those that were typed.
#[derive(Debug, Clone)]
pub struct MeasureOptions {
    pub unit: Option<String>,
    pub pose: String,
    pub limit: String,
    pub layer: String,
    pub json: bool,
}

/// Measures a mesh and returns the result as text or JSON.
///
/// # Errors
///
/// Returns what is wrong with the mesh or with an option.
pub fn measure(world: &World, mesh: &Path, options: &MeasureOptions) -> Result<String, Vec<Diagnostic>> {
    let _ = (world, mesh, options);
    Err(vec![unjoined("measuring")])
}

/// Looks up a fit, a thread, a clearance hole, a nut or a bearing, and returns it as text or JSON.
///
/// # Errors
///
/// Returns what is not understood, or not in the tables.
pub fn look_up_fit(text: &str, json: bool) -> Result<String, Diagnostic> {
    let _ = (text, json);
    Err(unjoined("looking up fits"))
}

/// Returns the entries of a kind, or the kinds.
///
/// # Errors
///
/// Returns `catalogue/unknown-kind` with the nearest there is.
pub fn catalogue_table(kind: Option<&str>) -> Result<Table, Diagnostic> {
    let _ = kind;
    Err(unjoined("the catalogue"))
}

/// Returns everything known of one entry.
///
/// # Errors
///
/// Returns `catalogue/unknown-kind` or `catalogue/unknown-name` with the nearest there is.
pub fn catalogue_entry(kind: &str, name: &str) -> Result<Entry, Diagnostic> {
    let _ = (kind, name);
    Err(unjoined("the catalogue"))
}

/// Returns the page of a rule.
///
/// # Errors
///
/// Returns `rule/unknown` with the nearest name there is.
pub fn rule_page(name: &str) -> Result<RulePage, Diagnostic> {
    let _ = name;
    Err(unjoined("the rulebook"))
}

fn unjoined(what: &str) -> Diagnostic {
    Diagnostic::new(Severity::Error, "internal/unjoined", format!("this build has no way to {what} yet"))
}
