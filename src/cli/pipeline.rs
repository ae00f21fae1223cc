//! From files to recipes: the one place where the phases are joined.
//!
//! ```text
//! job        a spec read with all it goes by
//! workshops  what is known for a spec: built in, and of its workshop
//! memory     meshes read and measured, kept within a run and in the cache
//! pages      pages of what is known, without a job
//! ```

mod job;
mod memory;
mod pages;
mod workshops;

pub(super) use job::Files;
use job::{Job, read_job};
use memory::{OfMesh, read_mesh};
pub use pages::look_up_fit;
pub(super) use pages::rule_page_of;
pub(crate) use pages::{catalogue_entry, catalogue_table, rule_page};
pub use workshops::load_knowledge;
use workshops::{check_rules, check_shop};
pub(super) use workshops::{knowledge_for, workshop};

use std::path::{Path, PathBuf};

use std::cell::Cell;
use std::collections::HashSet;
use std::sync::Arc;

use super::cache::Cache;
use super::digest;
use super::knowledge::Loaded;
use super::meshes::check_size;
use super::of_run::OfRun;
use super::world::World;
use crate::catalogue::figures;
use crate::diag::{Diagnostic, Severity, Sources};
use crate::recipe;
use crate::recipe::{Input, Recipe};
use crate::render::picture;
use crate::resolve;
use crate::resolve::elastic::Asked;
use crate::resolve::part;
use crate::resolve::shop::Bench;
use crate::resolve::world::{BenchRecords, at};
use crate::semantics::Found;
use crate::semantics::spec::{MeshUse, Spec, SpecFile};
use crate::syntax::tree::Tree;

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
