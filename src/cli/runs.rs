//! Run files: read, checked, and held against the workshop and the specs they name.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

use super::digest::short;
use super::knowledge::Loaded;
use super::of_run::Text;
use super::pipeline::{Compiled, Files, Options, knowledge_for};
use super::world::{Located, World};
use crate::diag::{Diagnostic, Severity, Source, Sources, Span, nearest};
use crate::recipe::Input;
use crate::semantics;
use crate::semantics::run::Run;
use crate::semantics::spec::Stated;

/// What the name of a run file ends in.
pub(super) const ENDING: &str = "runspec";

/// Returns whether a file is a run by its name.
pub(super) fn is_run(path: &Path) -> bool {
    path.extension().is_some_and(|e| e == ENDING)
}

/// A run file with all it names.
pub(super) struct RunFile {
    /// Its text, for the specs it builds to cite.
    pub text: Arc<Text>,
    /// What it asks for.
    pub run: Run,
    /// The file of each of its builds, in their order; none where there is no such file, which has been told.
    pub specs: Vec<Option<Located>>,
    /// The workshop it is run in.
    pub loaded: Arc<Loaded>,
    /// The run's file, the workshop's and its rules, whole.
    pub inputs: Vec<Input>,
}

/// What was read of a run file, and what is to be said of it.
pub(super) struct Read {
    /// None where it says too little for a plan.
    pub run: Option<RunFile>,
    pub diagnostics: Vec<Diagnostic>,
    pub sources: Sources,
}

/// Reads a run file as far as it can be read.
pub(super) fn read(world: &World, path: &Path, options: &Options) -> Read {
    let fail = |found: Diagnostic| Read { run: None, diagnostics: vec![found], sources: Sources::default() };
    let file = match world.asked_for(path) {
        Ok(file) => file,
        Err(found) => return fail(found),
    };
    match world.text(&file, None) {
        Ok(text) => read_text(world, file, text, options),
        Err(found) => fail(found),
    }
}

/// Reads the text of a run file that stands, or would stand, at a place.
pub(super) fn read_text(world: &World, file: Located, text: String, options: &Options) -> Read {
    let source = Source::new(file.name.clone(), text);
    let (loaded, workshop) = match knowledge_for(world, &file, options) {
        Ok(found) => found,
        Err(found) => return Read { run: None, diagnostics: vec![found], sources: Sources::default() },
    };
    let mut sources = loaded.sources.clone();
    let mut files = Files { world, known: vec![file.clone()], read: Vec::new() };
    let trees = semantics::load(source.clone(), &mut files, &mut sources);
    let mut diagnostics = loaded.findings.clone();
    diagnostics.extend(trees.diagnostics);
    let checked = semantics::check(trees.value.as_deref().unwrap_or(&[]), &sources);
    diagnostics.extend(checked.diagnostics);
    let mut spec = checked.value.unwrap_or_default();
    let outline = spec.outlines.drain(..).next().map(|(_, outline)| outline).unwrap_or_default();
    diagnostics.extend(spec.parts.iter().map(|part| strange(part.name.span, "part", "partspec")));
    if spec.runs.is_empty() && !diagnostics.iter().any(Diagnostic::is_error) {
        let message = format!("`{}` says nothing of a run", file.name);
        let hint = "write `run \"NAME\" { from 2026-12-07 07:00; hours monday .. friday 07:00 .. 19:00; build \"part.partspec\" }`";
        diagnostics.push(Diagnostic::new(Severity::Error, "run/none", message).hint(hint));
    }
    let run = spec.runs.into_iter().next().map(|run| {
        diagnostics.extend(printers_known(&run, &loaded));
        let specs = specs(world, &file, &run, &mut diagnostics);
        let whole = |name: &str| {
            let text = sources.iter().find(|(_, s)| s.name == name).map(|(_, s)| s.text.as_bytes());
            Input { name: name.to_owned(), digest: text.map(|t| short(&blake3::hash(t))).unwrap_or_default() }
        };
        let names = std::iter::once(source.name.as_str()).chain(workshop.iter().map(|i| i.name.as_str()));
        let inputs = names.map(whole).collect();
        RunFile { text: Arc::new(Text { source, outline }), run, specs, loaded, inputs }
    });
    // In the order of the text; what has no place comes first.
    diagnostics.sort_by_key(|d| d.labels.first().map(|l| (l.span.source, l.span.start)));
    Read { run, diagnostics, sources }
}

/// Looks for mistakes in a run file, without planning it.
pub(super) fn check(world: &World, path: &Path, options: &Options) -> Compiled {
    let Read { diagnostics, sources, .. } = read(world, path, options);
    Compiled { diagnostics, sources, ..Compiled::default() }
}

/// Says that a statement stands in a file of another kind.
pub(super) fn strange(at: Span, what: &str, ending: &str) -> Diagnostic {
    let message = format!("a `{what}` stands in a file whose name ends in .{ending}");
    Diagnostic::error("run/misplaced", at, message).hint(format!("move it into NAME.{ending}"))
}

/// Every printer that is named must be one of the workshop's.
fn printers_known(run: &Run, loaded: &Loaded) -> Vec<Diagnostic> {
    let Some(shop) = &loaded.shop else { return Vec::new() };
    let known: Vec<&str> = shop.printers.iter().map(|p| p.name.value.as_str()).collect();
    let named = run.printers.iter().chain(run.without.iter().flat_map(|w| &w.printers));
    let unknown = named.filter(|p| !known.contains(&p.value.as_str()));
    let told = |printer: &Stated<String>| {
        let message = format!("the workshop has no printer \"{}\"", printer.value);
        let hint = match nearest(&printer.value, known.iter().copied()) {
            Some(near) => format!("did you mean `{near}`?"),
            None => format!("it has {}; a new one is written into the workshop's file", known.join(", ")),
        };
        Diagnostic::error("run/printer", printer.span, message).hint(hint)
    };
    unknown.map(told).collect()
}

/// Finds the spec of each build; one that is built twice over is so on purpose only where the dates differ.
fn specs(world: &World, file: &Located, run: &Run, found: &mut Vec<Diagnostic>) -> Vec<Option<Located>> {
    let mut seen: BTreeMap<(String, Option<String>, Option<String>), Span> = BTreeMap::new();
    let mut locate = |build: &semantics::run::Build| {
        let spec = world.named_by(file, &build.spec.value, build.spec.span).map_err(|d| found.push(d)).ok()?;
        if !spec.name.ends_with(".partspec") {
            let message = format!("`{}` is no part spec", build.spec.value);
            let hint = "name a spec, whose name ends in .partspec";
            found.push(Diagnostic::error("run/no-spec", build.spec.span, message).hint(hint));
            return None;
        }
        let by = build.by.as_ref().map(|by| by.value.0.clone());
        let key = (spec.name.clone(), build.part.as_ref().map(|p| p.value.clone()), by);
        if let Some(first) = seen.insert(key, build.span) {
            let diagnostic = Diagnostic::warning("run/built-twice", build.span, "the same spec for the same day again");
            let hint = "both are made; write one line with the sum, or leave one out";
            found.push(diagnostic.label(first, "first here").hint(hint));
        }
        Some(spec)
    };
    run.builds.iter().map(&mut locate).collect()
}
