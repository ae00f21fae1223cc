//! From files to recipes: the one place where the phases are joined.

use std::path::{Path, PathBuf};

use std::cell::Cell;
use std::collections::{BTreeMap, HashSet};
use std::sync::{Arc, LazyLock, Mutex};

use super::cache::{Cache, Key};
use super::digest::{self, short, statement};
use super::knowledge::{self, Loaded};
use super::listing;
use super::meshes::{self, Read, check_size};
use super::of_run::OfRun;
use super::shared::Shared;
use super::world::{Located, World};
use crate::catalogue::figures;
use crate::diag::{Diagnostic, Severity, Source, SourceId, Sources, Span, nearest};
use crate::recipe::{self, Input, Recipe};
use crate::render::pages::{Entry, RulePage, Table};
use crate::render::picture;
use crate::resolve::elastic::{Asked, Figures};
use crate::resolve::part;
use crate::resolve::shop::Bench;
use crate::resolve::world::{BenchRecords, Knowledge, at};
use crate::rulebook::{self, Registry};
use crate::semantics::spec::{MeshUse, Spec, SpecFile};
use crate::semantics::{self, Found, LoadError, Loader};
use crate::syntax::tree::Tree;
use crate::{fits, resolve};

/// What changes how specs are read, beside the specs themselves.
#[derive(Debug, Clone, Default)]
pub struct Options {
    /// A workshop file to use instead of the nearest one.
    pub shop: Option<PathBuf>,
    /// Count assumptions and open questions as errors.
    pub strict: bool,
    /// Text to take for the workshop file's, to see what a change of it would do.
    pub shop_text: Option<String>,
    /// Draw each part as it lies on the bed.
    pub pictures: bool,
    /// Where facts of meshes are kept between runs.
    pub cache: Option<Cache>,
    /// Ask nothing of what this process has measured already, only of the cache.
    pub afresh: bool,
    /// A way up that is looked at only to say why it was not taken.
    pub asked: Option<[f64; 3]>,
    /// The run it is made for.
    pub run: Option<Arc<OfRun>>,
    /// Entries laid over the catalogue, to see what other values would do.
    pub catalogue: Option<String>,
}

/// What is called with each part as it was decided, while everything it rests on is at hand.
pub(super) type Visit<'v> = dyn FnMut(&resolve::problem::Rules<'_, '_>, &resolve::Outcome, &Recipe) + 'v;

/// One part's results.
#[derive(Debug)]
pub struct Part {
    /// How it is made, or why it cannot be.
    pub recipe: Recipe,
    /// The picture of the part as it lies on the bed, as SVG, where the mesh can be drawn.
    pub picture: Option<String>,
}

/// What became of one spec file, and what was made of each of its parts.
#[derive(Debug)]
pub struct Compiled<T = Part> {
    /// One for each part of the spec; empty where a diagnostic is an error.
    pub parts: Vec<T>,
    /// What is to be said of the spec, in the order of the text.
    pub diagnostics: Vec<Diagnostic>,
    /// What the diagnostics point into.
    pub sources: Sources,
}

impl<T> Default for Compiled<T> {
    fn default() -> Self {
        Self { parts: Vec::new(), diagnostics: Vec::new(), sources: Sources::default() }
    }
}

impl Compiled {
    fn failed(found: Diagnostic, sources: Sources) -> Self {
        Self { parts: Vec::new(), diagnostics: vec![found], sources }
    }

    /// What holds no part holds none of any kind.
    fn without_parts<T>(self) -> Compiled<T> {
        Compiled { parts: Vec::new(), diagnostics: self.diagnostics, sources: self.sources }
    }
}

/// What is made of a part as soon as it is decided and nothing is added to it any more, with what the places in it point into: of
/// ten thousand parts the recipes themselves would fill the memory.
pub(super) type Keep<'k, T> = dyn FnMut(Part, &Sources) -> T + 'k;

/// Compiles one spec file.
pub fn compile_one(world: &World, spec: &Path, options: &Options) -> Compiled {
    compile_visiting(world, spec, options, &mut |_, _, _| {})
}

/// Compiles one spec file and keeps of each part what `keep` makes of it.
pub(super) fn compile_keeping<T>(world: &World, spec: &Path, options: &Options, keep: &mut Keep<'_, T>) -> Compiled<T> {
    match read_job(world, spec, options) {
        Ok(job) => compile_job(world, &job, options, &mut |_, _, _| {}, keep),
        Err(compiled) => compiled.without_parts(),
    }
}

/// Compiles one spec file and shows each decided part to `visit`.
pub(super) fn compile_visiting(world: &World, spec: &Path, options: &Options, visit: &mut Visit<'_>) -> Compiled {
    match read_job(world, spec, options) {
        Ok(job) => compile_job(world, &job, options, visit, &mut |part, _| part),
        Err(compiled) => compiled,
    }
}

fn compile_job<T>(
    world: &World,
    job: &Job,
    options: &Options,
    visit: &mut Visit<'_>,
    keep: &mut Keep<'_, T>,
) -> Compiled<T> {
    let mut compiled =
        Compiled { parts: Vec::new(), diagnostics: job.diagnostics.clone(), sources: job.sources.clone() };
    // A profile's line is looked at again in every part that uses it.
    let mut known: HashSet<Diagnostic> = compiled.diagnostics.iter().cloned().collect();
    let unknown = job.spec.parts.iter().flat_map(|part| job.unknown_names(part));
    compiled.diagnostics.extend(unknown.filter(|found| known.insert(found.clone())));
    // In the order of the text, whichever phase found it; what has no place comes first.
    compiled.diagnostics.sort_by_key(|d| d.labels.first().map(|l| (l.span.source, l.span.start)));
    if compiled.diagnostics.iter().any(Diagnostic::is_error) {
        return compiled;
    }
    // What parts that are joined owe each other is known when all of them are decided; others wait for none.
    let joined = !job.spec.assemblies.is_empty();
    let (mut ends, mut waiting, mut strictly) = (Vec::new(), Vec::new(), Vec::new());
    let mut see = |rules: &resolve::problem::Rules<'_, '_>, outcome: &resolve::Outcome, recipe: &Recipe| {
        if joined {
            ends.extend(recipe::mates::ends(rules, outcome));
        }
        visit(rules, outcome, recipe);
    };
    let mut finish = |mut part: Part, parts: &mut Vec<T>| {
        recipe::alike::say_once(&mut part.recipe);
        if options.strict {
            strictly.extend(assumed(&part.recipe, &job.spec));
        }
        parts.push(keep(part, &job.sources));
    };
    for part in &job.spec.parts {
        let mut part = part.clone().in_name_order();
        part.implied = resolve::names::implied(&part, &job.loaded.catalogue);
        match compile_part(world, job, &part, options.cache.as_ref(), &mut compiled.diagnostics, &mut see) {
            Some(done) if joined => waiting.extend(done),
            // With an error there will be no recipes, and what is said then is told of no part.
            Some(_) if compiled.diagnostics.iter().any(Diagnostic::is_error) => {}
            Some(done) => done.into_iter().for_each(|part| finish(part, &mut compiled.parts)),
            None => debug_assert!(compiled.diagnostics.iter().any(Diagnostic::is_error)),
        }
    }
    // A part with errors has no recipe, and why has been said.
    if !compiled.diagnostics.iter().any(Diagnostic::is_error) {
        let mut recipes: Vec<&mut Recipe> = waiting.iter_mut().map(|p: &mut Part| &mut p.recipe).collect();
        compiled.diagnostics.extend(recipe::mates::join(&job.spec.assemblies, &ends, &mut recipes, &job.sources));
        waiting.into_iter().for_each(|part| finish(part, &mut compiled.parts));
    }
    compiled.diagnostics.extend(strictly);
    if compiled.diagnostics.iter().any(Diagnostic::is_error) {
        compiled.parts.clear();
    }
    compiled
}

/// Looks for mistakes in one file: a rule file has its examples run, a spec is taken as far as its recipe.
pub fn check_one(world: &World, path: &Path, options: &Options) -> Compiled {
    check_keeping(world, path, options, &mut |part, _| part)
}

/// Looks for mistakes in one file and keeps of each part what `keep` makes of it.
pub(super) fn check_keeping<T>(world: &World, path: &Path, options: &Options, keep: &mut Keep<'_, T>) -> Compiled<T> {
    if path.extension().is_some_and(|e| e == "rules") {
        return check_rules(world, path).without_parts();
    }
    if path.extension().is_some_and(|e| e == "yaml" || e == "yml") {
        return check_shop(world, path).without_parts();
    }
    if super::runs::is_run(path) {
        return super::runs::check(world, path, options).without_parts();
    }
    let job = match read_job(world, path, options) {
        Ok(job) => job,
        Err(compiled) => return compiled.without_parts(),
    };
    let mut cannot = Vec::new();
    let mut look = |part: Part, sources: &Sources| {
        cannot.extend(cannot_be_made(&part.recipe, &job.spec));
        keep(part, sources)
    };
    let mut compiled = compile_job(world, &job, options, &mut |_, _, _| {}, &mut look);
    // Of parts that came to nothing by another's errors nothing is said.
    if !compiled.parts.is_empty() {
        compiled.diagnostics.extend(cannot);
    }
    compiled
}

/// What a spec says, without its mesh: what can be told at once.
pub(super) struct Glance {
    /// What is to be said of it, in the order of the text.
    pub diagnostics: Vec<Diagnostic>,
    /// What the diagnostics point into.
    pub sources: Sources,
    /// What is known of materials, workshop and rules.
    pub loaded: Option<Arc<Loaded>>,
    /// The spec as it was read, then what it imports; and what each says, statement by statement.
    pub trees: Vec<Tree>,
    pub said: Vec<Vec<Found>>,
}

/// Reads a spec as far as that goes without its mesh.
pub(super) fn glance(world: &World, path: &Path, options: &Options) -> Glance {
    match read_job(world, path, options) {
        Ok(job) => {
            let mut diagnostics = job.diagnostics.clone();
            let mut known: HashSet<Diagnostic> = diagnostics.iter().cloned().collect();
            let unknown = job.spec.parts.iter().flat_map(|part| job.unknown_names(part));
            diagnostics.extend(unknown.filter(|found| known.insert(found.clone())));
            diagnostics.sort_by_key(|d| d.labels.first().map(|l| (l.span.source, l.span.start)));
            Glance { diagnostics, sources: job.sources, loaded: Some(job.loaded), trees: job.trees, said: job.said }
        }
        Err(Compiled { diagnostics, sources, .. }) => {
            Glance { diagnostics, sources, loaded: None, trees: Vec::new(), said: Vec::new() }
        }
    }
}

/// Returns a recipe's assumptions and open questions as errors.
fn assumed(recipe: &Recipe, spec: &SpecFile) -> Vec<Diagnostic> {
    // What nothing rests on was said, not left open.
    let open = recipe.assumptions.iter().filter(|a| !a.tells_of_use());
    let told = open.map(|assumption| {
        let message = format!("{}: {}", recipe.part, assumption.text);
        let found = at_its_part(Diagnostic::new(Severity::Error, "strict/assumed", message), recipe, spec);
        found.hint(assumption.effect.to_string())
    });
    told.collect()
}

/// Places a finding at the part a recipe is of; a part of several meshes has several, named by it first.
fn at_its_part(found: Diagnostic, recipe: &Recipe, spec: &SpecFile) -> Diagnostic {
    let of = spec.parts.iter().filter(|p| recipe.part.starts_with(p.name.value.as_str()));
    match of.max_by_key(|p| p.name.value.len()) {
        Some(part) => found.label(part.name.span, ""),
        None => found,
    }
}

/// Most of what stands in the way that a check names.
const STANDING_IN_THE_WAY: usize = 3;

/// Says of a part that cannot be made as specified that it cannot: a check that found nothing would be taken for leave.
fn cannot_be_made(recipe: &Recipe, spec: &SpecFile) -> Option<Diagnostic> {
    if recipe.status.may_print() {
        return None;
    }
    let message = format!("{}: {}", recipe.part, recipe.headline);
    let found = Diagnostic::new(Severity::Warning, "spec/cannot-be-made", message);
    let stands = recipe.conflicts.iter().take(STANDING_IN_THE_WAY);
    let found = stands.fold(at_its_part(found, recipe, spec), |found, c| found.hint(format!("in the way: {}", c.text)));
    Some(
        found
            .hint("`makeready compile` writes the page that says which lines stand in the way, and what would free it"),
    )
}

/// A spec file with all it needs, read and checked.
struct Job {
    file: Located,
    spec: SpecFile,
    sources: Sources,
    diagnostics: Vec<Diagnostic>,
    loaded: Arc<Loaded>,
    /// Name and digest of every text that went in.
    inputs: Vec<Input>,
    pictures: bool,
    afresh: bool,
    asked: Option<[f64; 3]>,
    /// The run it is made for, and the place of its text.
    run: Option<(Arc<OfRun>, SourceId)>,
    /// The spec as it was read, then what it imports; and what each says, statement by statement.
    trees: Vec<Tree>,
    said: Vec<Vec<Found>>,
}

impl Job {
    /// Returns what of catalogue and shelf the answers to loads hang on.
    fn elastic(&self) -> Figures {
        let (catalogue, shop) = (&self.loaded.catalogue, self.loaded.shop.as_ref());
        let on_the_shelf = |name: &str| {
            let spools = shop.and_then(|shop| shop.spools.as_ref());
            spools.is_none_or(|spools| spools.iter().any(|s| s.material.value == name))
        };
        Figures::of(catalogue).with_materials(catalogue, on_the_shelf)
    }

    fn knowledge(&self) -> Knowledge<'_> {
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
    fn unknown_names(&self, spec: &Spec) -> Vec<Diagnostic> {
        let mut found = resolve::names::check(spec, &self.loaded.catalogue);
        if let Some(shop) = &self.loaded.shop {
            let bench = Bench::of(shop, &self.loaded.catalogue, self.loaded.assumed);
            found.extend(resolve::pins::check(spec, &bench, self.knowledge()));
            found.extend(resolve::matching::impossible(spec, &bench.fit_tools, &self.loaded.catalogue));
        }
        found
    }
}

pub(super) struct Files<'a> {
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

fn load_error(found: &Diagnostic) -> LoadError {
    match found.code {
        "file/missing" => LoadError::NotFound,
        "file/outside-project" => LoadError::Outside,
        "file/not-text" => LoadError::NotText,
        _ => LoadError::Other(found.message.clone()),
    }
}

fn input(name: &str, bytes: &[u8]) -> Input {
    Input { name: name.to_owned(), digest: short(&blake3::hash(bytes)) }
}

/// Knowledge by the digest of all it is made from, so that a thousand specs of one workshop load it once.
type Workshops = BTreeMap<Key, Arc<Loaded>>;
/// Most workshops that are kept at a time.
const MOST_WORKSHOPS: usize = 64;
static WORKSHOPS: LazyLock<Mutex<Workshops>> = LazyLock::new(Mutex::default);

/// Loads what is built in, if it is not loaded yet.
pub fn load_knowledge() {
    knowledge::built_in();
}

/// Returns what is known for a spec: built in, with the nearest (or the given) workshop and its rules on top.
pub(super) fn knowledge_for(
    world: &World,
    spec: &Located,
    options: &Options,
) -> Result<(Arc<Loaded>, Vec<Input>), Diagnostic> {
    let found = match &options.shop {
        Some(path) => Some(world.asked_for(path)?),
        None => world.shop_near(spec),
    };
    let Some(file) = found else { return Ok((Arc::clone(knowledge::built_in()), Vec::new())) };
    let text = match &options.shop_text {
        Some(text) => text.clone(),
        None => world.text(&file, None)?,
    };
    let (name, mut inputs) = (file.name.clone(), Vec::new());
    let mut rules = Vec::new();
    for own in world.rules_beside(&file)? {
        let text = world.text(&own, None)?;
        inputs.push(Input { name: own.name.clone(), digest: String::new() });
        rules.push(Source::new(own.name, text));
    }
    // The names count as well as the texts: places and reasons cite them.
    let made_of: Vec<&[u8]> = [file.name.as_bytes(), text.as_bytes()]
        .into_iter()
        .chain(rules.iter().flat_map(|rule: &Source| [rule.name.as_bytes(), rule.text.as_bytes()]))
        .collect();
    let key = digest_of(&made_of);
    let mut known = WORKSHOPS.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
    // A workshop file that is being written is another one at each keystroke.
    if known.len() >= MOST_WORKSHOPS && !known.contains_key(&key) {
        known.clear();
    }
    let loaded =
        known.entry(key).or_insert_with(|| Arc::new(knowledge::with_shop(Source::new(file.name, text), rules)));
    inputs.insert(0, Input { name, digest: String::new() });
    Ok((Arc::clone(loaded), inputs))
}

/// Checks a workshop file, with the catalogue values and the rules of its own.
fn check_shop(world: &World, path: &Path) -> Compiled {
    let loaded = world.asked_for(path).and_then(|file| {
        let text = world.text(&file, None)?;
        let mut rules = Vec::new();
        for own in world.rules_beside(&file)? {
            let text = world.text(&own, None)?;
            rules.push(Source::new(own.name, text));
        }
        Ok(knowledge::with_shop(Source::new(file.name, text), rules))
    });
    match loaded {
        Ok(loaded) => Compiled { parts: Vec::new(), diagnostics: loaded.findings, sources: loaded.sources },
        Err(found) => Compiled::failed(found, Sources::default()),
    }
}

/// Reads a workshop file by itself: what it lists, and what is wrong with it.
pub(super) fn workshop(name: &str, text: &str) -> Loaded {
    knowledge::with_shop(Source::new(name, text), Vec::new())
}

/// Checks a rule file together with the built-in rules, and runs its examples.
fn check_rules(world: &World, path: &Path) -> Compiled {
    let read = world.asked_for(path).and_then(|file| Ok((world.text(&file, None)?, file)));
    let (text, file) = match read {
        Ok(read) => read,
        Err(found) => return Compiled::failed(found, Sources::default()),
    };
    let name = file.name.clone();
    let loaded = knowledge::with_rules(vec![Source::new(file.name, text)]);
    let mut diagnostics = loaded.findings.clone();
    let of_file = |place: &str| place.starts_with(&format!("{name}:"));
    for outcome in knowledge::run_examples(&loaded) {
        if of_file(&outcome.place) && !outcome.passed {
            let message = format!("rule \"{}\": {}", outcome.rule, outcome.text);
            diagnostics.push(Diagnostic::error("rule/example-fails", outcome.span, message));
        }
    }
    Compiled { parts: Vec::new(), diagnostics, sources: loaded.sources }
}

fn read_job(world: &World, path: &Path, options: &Options) -> Result<Job, Compiled> {
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
    if super::runs::is_run(path) {
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
    diagnostics.extend(spec.runs.iter().map(|run| super::runs::strange(run.span, "run", super::runs::ENDING)));
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

/// Most meshes named to somebody who named none.
const NAMED: usize = 3;

fn compile_part(
    world: &World,
    job: &Job,
    spec: &Spec,
    cache: Option<&Cache>,
    diagnostics: &mut Vec<Diagnostic>,
    visit: &mut Visit<'_>,
) -> Option<Vec<Part>> {
    if spec.meshes.is_empty() {
        let message = format!("part \"{}\" names no mesh", spec.name.value);
        let write = |name: &str| format!("`mesh \"{name}\" in mm`");
        let hint = match world.meshes_beside(&job.file).as_slice() {
            [] => format!("put the mesh beside this file and write {}, with its name and unit", write("part.3mf")),
            there => {
                let list: Vec<String> = there.iter().take(NAMED).map(|name| write(name)).collect();
                format!("write {}, with its unit", list.join(" or "))
            }
        };
        diagnostics.push(Diagnostic::error("part/no-mesh", spec.name.span, message).hint(hint));
        return None;
    }
    let mut done = Vec::new();
    for used in &spec.meshes {
        let (part, mesh) = measured(world, job, spec, used, cache, diagnostics, true)?;
        let named = named_for_mesh(spec, used);
        let mut inputs = job.inputs.clone();
        inputs.push(mesh);
        inputs.push(Input { name: digest::BUILT_IN.to_owned(), digest: String::new() });
        done.push(decide(job, &named, &part, inputs, diagnostics, visit)?);
    }
    (!diagnostics.iter().any(Diagnostic::is_error)).then_some(done)
}

/// Shows each part of a spec as it was measured, with its fits found, to `see`; returns what is to be said of the spec.
pub(super) fn with_parts(
    world: &World,
    path: &Path,
    options: &Options,
    see: &mut dyn FnMut(Asked<'_>, &str),
) -> (Vec<Diagnostic>, Sources) {
    let job = match read_job(world, path, options) {
        Ok(job) => job,
        Err(compiled) => return (compiled.diagnostics, compiled.sources),
    };
    let mut found = job.diagnostics.clone();
    found.extend(job.spec.parts.iter().flat_map(|part| job.unknown_names(part)));
    for part in &job.spec.parts {
        if found.iter().any(Diagnostic::is_error) {
            break;
        }
        let mut spec = part.clone().in_name_order();
        spec.implied = resolve::names::implied(&spec, &job.loaded.catalogue);
        for used in &spec.meshes {
            let Some((part, _)) = measured(world, &job, &spec, used, options.cache.as_ref(), &mut found, false) else {
                break;
            };
            let named = named_for_mesh(&spec, used);
            let tools = job.loaded.shop.as_ref().map(|s| Bench::of(s, &job.loaded.catalogue, job.loaded.assumed));
            let tools = tools.map(|bench| bench.fit_tools).unwrap_or_default();
            let fits = resolve::hanging::places(&spec, &part, &tools, &job.loaded.catalogue);
            let asked = Asked { spec: &named, part: &part, fits: &fits, figures: job.elastic() };
            see(asked, &named.name.value);
        }
    }
    (found, job.sources)
}

/// Shows each part of a spec to `see` with all it is decided by, and decides nothing; a spec with errors shows none.
pub(super) fn with_rules(
    world: &World,
    path: &Path,
    options: &Options,
    see: &mut dyn FnMut(&resolve::problem::Rules<'_, '_>),
) {
    let Ok(job) = read_job(world, path, options) else { return };
    let Some(shop) = &job.loaded.shop else { return };
    for part in &job.spec.parts {
        let mut spec = part.clone().in_name_order();
        spec.implied = resolve::names::implied(&spec, &job.loaded.catalogue);
        for used in &spec.meshes {
            let measured = measured(world, &job, &spec, used, options.cache.as_ref(), &mut Vec::new(), true);
            let Some((part, _)) = measured else { return };
            let named = named_for_mesh(&spec, used);
            let bench = Bench::of(shop, &job.loaded.catalogue, job.loaded.assumed);
            let resolver = resolve::world::World::new(job.knowledge(), &named, &part, bench, BenchRecords::default());
            see(&resolve::problem::Rules::new(&resolver));
        }
    }
}

/// Reads and measures a mesh for a spec, and solves its loads where that is wanted; `None` where it cannot be, which `diagnostics` says.
fn measured(
    world: &World,
    job: &Job,
    spec: &Spec,
    used: &MeshUse,
    cache: Option<&Cache>,
    diagnostics: &mut Vec<Diagnostic>,
    solve: bool,
) -> Option<(part::Part, Input)> {
    let (read, key, digest) = read_mesh(world, job, used).map_err(|d| diagnostics.push(d)).ok()?;
    if let Some(found) = check_size(spec, &read.mesh, &job.loaded.catalogue).filter(|_| spec.meshes.len() == 1) {
        let stop = found.is_error();
        diagnostics.push(found);
        if stop {
            return None;
        }
    }
    let bench = job.loaded.shop.as_ref().map(|shop| Bench::of(shop, &job.loaded.catalogue, job.loaded.assumed));
    let angles = bench.as_ref().map(resolve::limits::angles).unwrap_or_default();
    let memory = OfMesh { cache, mesh: key, facets: read.mesh.triangles.len(), afresh: job.afresh };
    let (flat, spot) = (part::flat(&job.loaded.catalogue), part::spot(&job.loaded.catalogue));
    let rival = job.loaded.catalogue.value(figures::RIVAL_PLACE);
    let means = part::Means { angles: &angles, flat, spot, rival, asked: job.asked, memory: Some(&memory) };
    let mut part = part::Part::measure(spec, Arc::clone(&read.mesh), means, diagnostics);
    part.notes.splice(0..0, read.notes.iter().cloned());
    if solve && !spec.loads.is_empty() {
        let tools = bench.map(|bench| bench.fit_tools).unwrap_or_default();
        let fits = resolve::hanging::places(spec, &part, &tools, &job.loaded.catalogue);
        let fields = resolve::elastic::solve_all(
            Asked { spec, part: &part, fits: &fits, figures: job.elastic() },
            Some(&memory),
        );
        (part.fields, part.at_once) = (fields.each, fields.at_once);
        let hanging = hanging_on_the_grid(job, spec, &part);
        if !hanging.is_empty() {
            let asked = Asked { spec, part: &part, fits: &fits, figures: job.elastic() };
            let fields = resolve::elastic::solve_finer(asked, &hanging, Some(&memory));
            (part.fields, part.at_once) = (fields.each, fields.at_once);
        }
    }
    Some((part, digest))
}

/// Returns the loads of which what is said hangs on how fine they were solved.
fn hanging_on_the_grid(job: &Job, spec: &Spec, part: &part::Part) -> Vec<usize> {
    let settled = part.fields.iter().flatten().all(|solved| solved.is_settled());
    let Some(shop) = job.loaded.shop.as_ref().filter(|_| !settled) else { return Vec::new() };
    let bench = Bench::of(shop, &job.loaded.catalogue, job.loaded.assumed);
    let world = resolve::world::World::new(job.knowledge(), spec, part, bench, BenchRecords::default());
    resolve::strength::hanging_on_the_grid(&world)
}

/// A part of several meshes gets a recipe for each, named by its file.
fn named_for_mesh(spec: &Spec, used: &MeshUse) -> Spec {
    let mut named = spec.clone();
    if spec.meshes.len() > 1 {
        let stem = Path::new(&used.path.value)
            .file_stem()
            .map_or(used.path.value.clone(), |s| s.to_string_lossy().into_owned());
        named.name.value = format!("{} {stem}", spec.name.value);
        named.meshes = vec![used.clone()];
        if let (Some(count), Some(quantity)) = (used.count, named.quantity.as_mut()) {
            quantity.value = quantity.value.saturating_mul(count.value);
        } else if let Some(count) = used.count {
            named.quantity = Some(count);
        }
    }
    named
}

fn decide(
    job: &Job,
    spec: &Spec,
    part: &part::Part,
    inputs: Vec<Input>,
    diagnostics: &mut Vec<Diagnostic>,
    visit: &mut Visit<'_>,
) -> Option<Part> {
    let knowledge = job.knowledge();
    let shop = job.loaded.shop.as_ref()?;
    let mut bench = Bench::of(shop, &job.loaded.catalogue, job.loaded.assumed);
    let mut made_for_run;
    let mut spec = spec;
    let mut as_filed = true;
    if let Some((run, at)) = &job.run {
        made_for_run = spec.clone();
        run.choose(&mut made_for_run, *at);
        spec = &made_for_run;
        bench.plate = run.plate;
        bench.printed.clone_from(&run.day);
        if let Some(floor) = &run.floor {
            floor.lay_over(&mut bench);
            as_filed = false;
        }
    }
    // What is kept of a bench from job to job is that of the workshop as its file has it.
    let records = if as_filed { records_of(&job.loaded) } else { BenchRecords::default() };
    let resolver = resolve::world::World::new(knowledge, spec, part, bench, records);
    let before = diagnostics.len();
    diagnostics.extend(resolve::pins::check_poses(&resolver));
    // A fit of a part of several meshes may be on any one of them.
    let several = job.spec.parts.iter().any(|p| p.name.span == spec.name.span && p.meshes.len() > 1);
    diagnostics.extend(resolve::matching::check(&resolver, several));
    if diagnostics.iter().skip(before).any(Diagnostic::is_error) {
        return None;
    }
    let rules = resolve::problem::Rules::new(&resolver);
    let outcome = resolve::resolve(&rules, &recipe::weaknesses);
    let mut recipe = recipe::build(&rules, &outcome, inputs);
    // Only now is it known what was read.
    digest::fill_in(&mut recipe, &job.loaded, &resolver);
    visit(&rules, &outcome, &recipe);
    let picture = match &outcome {
        resolve::Outcome::Decided(d) if job.pictures => {
            let limits = resolver.limits(&resolve::decide::full(&d.choice));
            let supported = d.choice[at::SUPPORTS] != 0;
            let pose = d.choice[at::POSE];
            let round = round(&resolver, &resolve::decide::full(&d.choice));
            let shown = resolve::strength::shown(&resolver, d.choice[at::MATERIAL], pose);
            let loaded = shown.as_ref().map(|s| picture::Loaded {
                load: &s.load,
                size: &s.size,
                up: s.up,
                view: &s.view,
                sums: &s.sums,
                hand: &s.hand,
                moves: s.moves,
            });
            picture::picture(
                spec,
                part,
                &resolver.fit_places,
                pose,
                &limits,
                supported,
                round.as_ref(),
                loaded.as_ref(),
            )
        }
        _ => None,
    };
    if as_filed {
        RECORDS.set(Some((Arc::clone(&job.loaded), resolver.bench_records())));
    }
    Some(Part { recipe, picture })
}

/// Returns what lies on the bed in a round.
fn round(world: &resolve::world::World<'_>, choice: &resolve::world::Partial) -> Option<picture::Round> {
    let (printer, pose) = (choice[at::PRINTER]?, world.part.poses.get(choice[at::POSE]?)?);
    let machine = world.bench.printers.get(printer)?;
    let plan = resolve::run::plates(world, choice).ok()?;
    let brim = world.setting("brim", choice).and_then(|v| v.as_quantity()).and_then(|q| q.in_unit("mm"));
    let askew = world.bench.lie_on(printer, pose).filter(|l| l.askew_deg.is_some());
    Some(picture::Round {
        bed: [machine.build[0], machine.build[1]],
        edge: machine.edge,
        gap: world.knowledge.catalogue.value(crate::catalogue::figures::PLATE_GAP),
        pieces: plan.per_plate.min(plan.start) as usize,
        brim: crate::quantity::Length::mm(brim.unwrap_or(0.0)),
        askew_deg: askew.map_or(0.0, |l| l.turn_deg),
    })
}

thread_local! {
    /// What the last job of this thread left of the bench it was made on: the next is likely to be made on the same.
    static RECORDS: Cell<Option<(Arc<Loaded>, BenchRecords)>> = const { Cell::new(None) };
}

/// Returns the records left by a job with the very same knowledge; none where the last one had another.
fn records_of(loaded: &Arc<Loaded>) -> BenchRecords {
    // Taken, not lent: a worker that waits for others may begin another job meanwhile.
    RECORDS.take().filter(|(of, _)| Arc::ptr_eq(of, loaded)).map(|(_, records)| records).unwrap_or_default()
}

/// Facets of all meshes kept in memory together: some hundred megabytes with what is known of them.
const ROOM_FACETS: usize = 1_000_000;

/// Meshes as read, by the digest of their bytes and of what the statement says of them.
static MESHES: Shared<Key, Read> = Shared::new(ROOM_FACETS);
/// Facts of meshes by the mesh's digest and the question: a thousand specs beside one mesh measure it once.
static FACTS: Shared<(Key, String), part::Facts> = Shared::new(ROOM_FACETS);

/// Bytes of the fields kept in memory.
const ROOM_FIELDS: usize = 64 << 20;
/// What loads do to meshes, by a digest of mesh and question.
static FIELDS: Shared<Key, Vec<u8>> = Shared::new(ROOM_FIELDS);

/// The facts of one mesh, kept for this run and in the cache.
struct OfMesh<'c> {
    cache: Option<&'c Cache>,
    mesh: Key,
    facets: usize,
    afresh: bool,
}

impl part::Memory for OfMesh<'_> {
    fn recall(&self, question: &str) -> Option<Arc<part::Facts>> {
        let key = (self.mesh, question.to_owned());
        if let Some(found) = FACTS.get(&key).filter(|_| !self.afresh) {
            return Some(found);
        }
        let cache = self.cache?;
        let bytes = cache.get(&cache.key("part", &[&self.mesh, question.as_bytes()]))?;
        let facts = Arc::new(part::Facts::from_bytes(&bytes)?);
        FACTS.put(key, &facts, self.facets);
        Some(facts)
    }

    fn recall_answer(&self, question: &str) -> Option<Vec<u8>> {
        let key = digest_of(&[b"field", &self.mesh, question.as_bytes()]);
        if let Some(found) = FIELDS.get(&key).filter(|_| !self.afresh) {
            return Some(Vec::clone(&found));
        }
        let cache = self.cache?;
        let found = cache.get(&cache.key("field", &[&self.mesh, question.as_bytes()]))?;
        FIELDS.put(key, &Arc::new(found.clone()), found.len());
        Some(found)
    }

    fn keep_answer(&self, question: &str, answer: &[u8]) {
        FIELDS.put(digest_of(&[b"field", &self.mesh, question.as_bytes()]), &Arc::new(answer.to_vec()), answer.len());
        if let Some(cache) = self.cache {
            cache.put(&cache.key("field", &[&self.mesh, question.as_bytes()]), answer);
        }
    }

    fn keep(&self, question: &str, facts: &Arc<part::Facts>) {
        FACTS.put((self.mesh, question.to_owned()), facts, self.facets);
        if let Some(cache) = self.cache {
            cache.put(&cache.key("part", &[&self.mesh, question.as_bytes()]), &facts.to_bytes());
        }
    }
}

fn read_mesh(world: &World, job: &Job, used: &MeshUse) -> Result<(Arc<Read>, Key, Input), Diagnostic> {
    let from = job.file.clone();
    let file = world.named_by(&from, &used.path.value, used.path.span)?;
    let bytes = world.mesh(&file, Some(used.path.span))?;
    // The bytes, and what of the statement decides which mesh they mean. The name's ending tells the format.
    let object = used.object.as_ref().map(|o| o.value.as_str());
    let meant = format!("{:?} {object:?} {:?}", used.unit.map(|u| u.value), file.name.rsplit('.').next());
    let content = blake3::hash(&bytes);
    let key = digest_of(&[meant.as_bytes(), content.as_bytes()]);
    // What is odd about a file may be said by its name, which other files with the same bytes do not have.
    let named = digest_of(&[&key, file.name.as_bytes()]);
    let digest = Input { digest: short(&content), name: file.name.clone() };
    if let Some(read) = MESHES.get(&named) {
        return Ok((read, key, digest));
    }
    let read = Arc::new(meshes::read(&bytes, &file.name, used)?);
    MESHES.put(named, &read, read.mesh.triangles.len());
    Ok((read, key, digest))
}

/// Returns a digest of several texts, of which no two lists run together to the same bytes.
fn digest_of(parts: &[&[u8]]) -> Key {
    let mut hasher = blake3::Hasher::new();
    for part in parts {
        hasher.update(&(part.len() as u64).to_le_bytes());
        hasher.update(part);
    }
    *hasher.finalize().as_bytes()
}

/// Looks up a fit, a thread, a clearance hole, a nut or a bearing, and returns it as text or JSON.
///
/// # Errors
///
/// Returns what is not understood, or not in the tables.
pub fn look_up_fit(text: &str, json: bool) -> Result<String, Box<(Diagnostic, Sources)>> {
    let found = fits::lookup::look_up(text, &knowledge::built_in().catalogue.practice()).map_err(|e| {
        let mut sources = Sources::default();
        let id = sources.add(Source::new("the text looked up", text));
        let span = Span::new(id, e.range.start.min(text.len()), e.range.end.min(text.len()));
        Box::new((Diagnostic::error("fit/look-up", span, e.message).hint(e.hint), sources))
    })?;
    if json {
        let mut text = serde_json::to_string_pretty(&found).unwrap_or_default();
        text.push('\n');
        Ok(text)
    } else {
        Ok(crate::render::pages::looked_up(&crate::render::look_up::text(&found)))
    }
}

/// Returns the entries of a kind, or the kinds.
///
/// # Errors
///
/// Returns `catalogue/unknown-kind` with the nearest there is.
pub(crate) fn catalogue_table(kind: Option<&str>) -> Result<Table, Diagnostic> {
    listing::table(knowledge::built_in(), kind)
}

/// Returns everything known of one entry.
///
/// # Errors
///
/// Returns `catalogue/unknown-kind` or `catalogue/unknown-name` with the nearest there is.
pub(crate) fn catalogue_entry(kind: &str, name: &str) -> Result<Entry, Diagnostic> {
    listing::entry(knowledge::built_in(), kind, name)
}

/// Returns the page of a rule.
///
/// # Errors
///
/// Returns `rule/unknown` with the nearest name there is.
pub(crate) fn rule_page(name: &str) -> Result<RulePage, Diagnostic> {
    rule_page_of(knowledge::built_in(), name)
}

/// The same of the rules of a workshop.
pub(super) fn rule_page_of(loaded: &Loaded, name: &str) -> Result<RulePage, Diagnostic> {
    let Some(rule) = loaded.rulebook.get(name) else {
        if let Some(named) = loaded.rulebook.names.get(name) {
            return Ok(threshold_page(loaded, named));
        }
        let found = Diagnostic::new(Severity::Error, "rule/unknown", format!("there is no rule \"{name}\""));
        let known = loaded.rulebook.rules.iter().map(|r| r.name.as_str());
        let near = nearest(name, known.chain(loaded.rulebook.names.keys().map(String::as_str)));
        return Err(match near {
            Some(near) => found.hint(format!("did you mean \"{near}\"?")),
            None => found.hint("`makeready catalogue rules` lists them"),
        });
    };
    Ok(RulePage {
        name: rule.name.clone(),
        touches: rule.touches.iter().map(|d| d.word().to_owned()).collect(),
        text: statement(&loaded.sources, rule.span).to_owned(),
        reads: reads(loaded, &rule.thresholds, &rule.names),
        because: rule.because.clone(),
        source: rule.source.clone(),
        place: rule.place.clone(),
    })
}

/// The page of a threshold that rules read by its name, and which do.
fn threshold_page(loaded: &Loaded, named: &rulebook::Named) -> RulePage {
    let readers = loaded.rulebook.rules.iter().filter(|r| r.thresholds.contains(&named.name));
    RulePage {
        name: named.name.clone(),
        text: statement(&loaded.sources, named.span).to_owned(),
        reads: readers.map(|r| (format!("by {}", r.name), r.because.clone(), r.place.clone())).collect(),
        because: named.because.clone(),
        source: named.source.clone(),
        place: named.place.clone(),
        ..RulePage::default()
    }
}

/// What a rule reads of thresholds and figures, with the value of each and where it is from.
fn reads(loaded: &Loaded, thresholds: &[String], names: &[String]) -> Vec<(String, String, String)> {
    let thresholds = thresholds.iter().filter_map(|name| loaded.rulebook.names.get(name));
    let thresholds =
        thresholds.map(|n| (n.name.clone(), n.written.clone(), format!("{}, {}", n.source.replace('-', " "), n.place)));
    let figures = loaded.catalogue.figures.all().filter_map(|(name, figure)| {
        let name = format!("figure.{name}");
        let key = figure.source.as_ref().map_or(String::new(), |s| format!(" {s}"));
        let from = format!("{}{key}, {}", figure.kind.as_str().replace('-', " "), loaded.sources.place(figure.at));
        names.contains(&name).then(|| (name, figure.typ.to_string(), from))
    });
    thresholds.chain(figures).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Knowledge is kept for the next spec of a workshop, and made anew as soon as any text it is made from differs.
    #[test]
    fn a_changed_rule_beside_an_unchanged_workshop_file_counts() {
        let home = tempfile::tempdir().unwrap();
        let write = |name: &str, text: &str| std::fs::write(home.path().join(name), text).unwrap();
        write("shop.yaml", include_str!("../../recipes/templates/starter.shop.yaml"));
        write("a.partspec", "part \"a\" { mesh \"a.stl\" in mm }\n");
        let rule = |says: &str| {
            format!("rule \"own\" {{ step prepare 10 \"{says}\"; because \"x\"; source common-practice }}\n")
        };
        let known = || {
            let world = World::around(&home.path().join("a.partspec"), false).unwrap();
            let spec = world.asked_for(&home.path().join("a.partspec")).unwrap();
            knowledge_for(&world, &spec, &Options::default()).unwrap().0
        };
        let has = |loaded: &Loaded, says: &str| loaded.sources.iter().any(|(_, s)| s.text.contains(says));
        write("own.rules", &rule("Sweep the bench."));
        let first = known();
        assert!(has(&first, "Sweep the bench.") && first.rulebook.get("own").is_some());
        assert!(Arc::ptr_eq(&first, &known()), "unchanged, it is loaded once");
        write("own.rules", &rule("Warm the loft."));
        assert!(has(&known(), "Warm the loft."));
        std::fs::rename(home.path().join("own.rules"), home.path().join("other.rules")).unwrap();
        assert!(known().sources.iter().any(|(_, s)| s.name == "other.rules"));
        std::fs::remove_file(home.path().join("other.rules")).unwrap();
        assert!(known().rulebook.get("own").is_none());
    }
}
