//! A spec read with all it goes by: its imports, its workshop, the run it is made for.

use std::path::Path;
use std::sync::Arc;

use super::super::digest::short;
use super::super::knowledge::Loaded;
use super::super::of_run::OfRun;
use super::super::runs;
use super::super::world::{Located, World};
use super::workshops::knowledge_for;
use super::{Compiled, Options};
use crate::diag::{Diagnostic, Severity, Source, SourceId, Sources, Span};
use crate::recipe::Input;
use crate::resolve::elastic::Figures;
use crate::resolve::shop::Bench;
use crate::resolve::world::Knowledge;
use crate::rulebook::Registry;
use crate::semantics::spec::{Spec, SpecFile};
use crate::semantics::{Found, LoadError, Loader};
use crate::syntax::tree::Tree;
use crate::{resolve, semantics};

/// A spec file with all it needs, read and checked.
pub(super) struct Job {
    pub(super) file: Located,
    pub(super) spec: SpecFile,
    pub(super) sources: Sources,
    pub(super) diagnostics: Vec<Diagnostic>,
    pub(super) loaded: Arc<Loaded>,
    /// Name and digest of every text that went in.
    pub(super) inputs: Vec<Input>,
    pub(super) pictures: bool,
    pub(super) afresh: bool,
    pub(super) asked: Option<[f64; 3]>,
    /// The run it is made for, and the place of its text.
    pub(super) run: Option<(Arc<OfRun>, SourceId)>,
    /// The spec as it was read, then what it imports; and what each says, statement by statement.
    pub(super) trees: Vec<Tree>,
    pub(super) said: Vec<Vec<Found>>,
}

impl Job {
    /// Returns what of catalogue and shelf the answers to loads hang on.
    pub(super) fn elastic(&self) -> Figures {
        let (catalogue, shop) = (&self.loaded.catalogue, self.loaded.shop.as_ref());
        let on_the_shelf = |name: &str| {
            let spools = shop.and_then(|shop| shop.spools.as_ref());
            spools.is_none_or(|spools| spools.iter().any(|s| s.material.value == name))
        };
        Figures::of(catalogue).with_materials(catalogue, on_the_shelf)
    }

    pub(super) fn knowledge(&self) -> Knowledge<'_> {
        Knowledge {
            catalogue: &self.loaded.catalogue,
            rulebook: &self.loaded.rulebook,
            functions: &Registry,
            sources: &self.sources,
        }
    }

    /// Returns what is wrong with the names in a spec that only catalogue, rulebook, workshop and tables can know.
    ///
    /// None of it needs the mesh, or a spec that is otherwise right: all mistakes of a file are told in one run.
    pub(super) fn unknown_names(&self, spec: &Spec) -> Vec<Diagnostic> {
        let mut found = resolve::names::check(spec, &self.loaded.catalogue);
        if let Some(shop) = &self.loaded.shop {
            let bench = Bench::of(shop, &self.loaded.catalogue, self.loaded.assumed);
            found.extend(resolve::pins::check(spec, &bench, self.knowledge()));
            found.extend(resolve::matching::impossible(spec, &bench.fit_tools, &self.loaded.catalogue));
        }
        found
    }
}

pub(in crate::cli) struct Files<'a> {
    pub world: &'a World,
    /// Project-relative names to places.
    pub known: Vec<Located>,
    pub read: Vec<Input>,
}

impl Loader for Files<'_> {
    fn load(&mut self, from: &str, path: &str) -> Result<Source, LoadError> {
        let Some(from) = self.known.iter().find(|f| f.name == from).cloned() else { return Err(LoadError::NotFound) };
        // The place of a message is the business of whoever asked; any span will do here.
        let nowhere = Span::new(SourceId(0), 0, 0);
        let found = self.world.named_by(&from, path, nowhere).map_err(|d| load_error(&d))?;
        let text = self.world.text(&found, None).map_err(|d| load_error(&d))?;
        self.read.push(input(&found.name, text.as_bytes()));
        let name = found.name.clone();
        if !self.known.iter().any(|f| f.name == name) {
            self.known.push(found);
        }
        Ok(Source::new(name, text))
    }
}

pub(super) fn load_error(found: &Diagnostic) -> LoadError {
    match found.code {
        "file/missing" => LoadError::NotFound,
        "file/outside-project" => LoadError::Outside,
        "file/not-text" => LoadError::NotText,
        _ => LoadError::Other(found.message.clone()),
    }
}

pub(super) fn input(name: &str, bytes: &[u8]) -> Input {
    Input { name: name.to_owned(), digest: short(&blake3::hash(bytes)) }
}

pub(super) fn read_job(world: &World, path: &Path, options: &Options) -> Result<Job, Compiled> {
    let fail = |found: Diagnostic| Compiled::failed(found, Sources::default());
    let file = world.asked_for(path).map_err(fail)?;
    let ending = path.extension().map(|e| e.to_string_lossy().to_lowercase()).unwrap_or_default();
    if ["stl", "3mf", "obj", "off", "step", "stp"].contains(&ending.as_str()) {
        let message = format!("`{}` is a mesh, not a part spec", file.name);
        let hint = "write a spec that names it, or see `makeready new` and `makeready measure`";
        return Err(fail(Diagnostic::new(Severity::Error, "usage/mesh-for-spec", message).hint(hint)));
    }
    if ["yaml", "yml", "rules"].contains(&ending.as_str()) {
        let what = if ending == "rules" { "a rule file" } else { "a YAML file, as a workshop is" };
        let message = format!("`{}` is {what}, not a part spec", file.name);
        let hint =
            format!("`makeready check {}` looks it over; compile takes specs, which end in .partspec", file.name);
        return Err(fail(Diagnostic::new(Severity::Error, "usage/not-a-spec", message).hint(hint)));
    }
    if runs::is_run(path) {
        let message = format!("`{}` is a run, not a part spec", file.name);
        let hint = format!("`makeready plan {}` plans it", file.name);
        return Err(fail(Diagnostic::new(Severity::Error, "usage/run-for-spec", message).hint(hint)));
    }
    let text = world.text(&file, None).map_err(fail)?;
    let (loaded, mut inputs) = knowledge_for(world, &file, options).map_err(fail)?;
    let loaded = options.catalogue.as_ref().map_or(Arc::clone(&loaded), |text| Arc::new(loaded.with_entries(text)));
    let mut sources = loaded.sources.clone();
    inputs.push(input(&file.name, text.as_bytes()));
    let mut files = Files { world, known: vec![file.clone()], read: Vec::new() };
    let trees = semantics::load(Source::new(file.name.clone(), text), &mut files, &mut sources);
    inputs.extend(files.read);
    let mut diagnostics = loaded.findings.clone();
    diagnostics.extend(trees.diagnostics);
    if trees.value.as_ref().and_then(|t| t.first()).is_some_and(|t| t.statements.is_empty())
        && !diagnostics.iter().any(Diagnostic::is_error)
    {
        let message = format!("`{}` says nothing yet", file.name);
        let hint = "three lines are enough: `part \"NAME\" { mesh \"part.stl\" in mm; service { air 5 °C .. 30 °C } }`";
        diagnostics.push(Diagnostic::new(Severity::Error, "spec/empty", message).hint(hint));
    }
    let trees = trees.value.unwrap_or_default();
    let (checked, said) = semantics::check_keeping(&trees, &sources);
    diagnostics.extend(checked.diagnostics);
    let mut spec = checked.value.unwrap_or_default();
    diagnostics.extend(spec.runs.iter().map(|run| runs::strange(run.span, "run", runs::ENDING)));
    for (id, outline) in std::mem::take(&mut spec.outlines) {
        sources.set_outline(id, outline);
    }
    let run = options.run.as_ref().map(|run| (Arc::clone(run), run.cited(&mut sources)));
    if let Some((run, at)) = &run {
        diagnostics.extend(spec.parts.iter().flat_map(|part| run.differences(part, *at)));
        spec.parts.iter_mut().for_each(|part| run.lay_over(part, *at));
        inputs.push(run.input());
    }
    Ok(Job {
        file,
        spec,
        sources,
        diagnostics,
        loaded,
        inputs,
        pictures: options.pictures,
        afresh: options.afresh,
        asked: options.asked,
        run,
        trees,
        said,
    })
}
