//! The parts of a run compiled: as its recipe chooses, and as the other printers of the run would make it.

use std::path::Path;
use std::sync::Arc;

use rayon::prelude::*;

use super::super::compile::{WORKER_STACK, bar};
use super::super::digest::short;
use super::super::exit::Exit;
use super::super::of_run::OfRun;
use super::super::pipeline::{self, Options};
use super::super::runs::RunFile;
use super::super::terminal::Terminal;
use super::super::world::{Located, World};
use super::otherwise::{Differences, Values};
use crate::diag::{Diagnostic, Severity, Sources, nearest};
use crate::plan::floor::Floor;
use crate::plan::record::PlatesDone;
use crate::plan::routing::Routing;
use crate::plan::{LeftOut, Otherwise, Part};
use crate::recipe::{Input, Recipe, Sentence, Status};
use crate::render::yaml;
use crate::resolve::Outcome;
use crate::semantics::run::Build;
use crate::semantics::spec::Decision;

/// The parts of a run.
pub(super) struct Made {
    pub parts: Vec<Part>,
    /// Where each of the parts comes from, in their order.
    pub origins: Vec<Origin>,
    pub left_out: Vec<LeftOut>,
    /// What is to be said of each spec.
    pub told: Vec<(Vec<Diagnostic>, Sources)>,
    /// What went into the recipes.
    pub inputs: Vec<Input>,
}

/// Where a part of the run comes from, to compile it again.
pub(super) struct Origin {
    pub spec: Located,
    /// What the part is pinned by: its name in the spec.
    pub spec_name: String,
    pub asked: OfRun,
    /// Of the whole run.
    pub recipe: Recipe,
    /// What its spec alone decides, as far as that is known.
    pub own: Option<Values>,
    /// What is decided otherwise for the run.
    pub otherwise: Vec<Otherwise>,
}

/// Compiles every part of a run.
pub(super) fn make(
    world: &World,
    run: &RunFile,
    options: &Options,
    (floor, day): (Option<&Floor>, String),
    jobs: Option<u16>,
    terminal: &Terminal,
) -> Result<Made, Exit> {
    let barred = barred(run);
    let floor = floor.map(|f| Arc::new(f.clone()));
    let bar = bar(run.run.builds.len(), terminal);
    let one = |(build, spec): (&Build, &Option<Located>)| {
        let made = spec.as_ref().map(|spec| {
            let asked = OfRun {
                floor: floor.clone(),
                day: Some(day.clone()),
                ..OfRun::of(&run.run, build, &run.text, &barred)
            };
            one(world, run, build, spec, options, asked)
        });
        bar.inc(1);
        made.unwrap_or_default()
    };
    let workers = jobs.map_or(0, usize::from);
    let pool = rayon::ThreadPoolBuilder::new().num_threads(workers).stack_size(WORKER_STACK).build().map_err(|e| {
        terminal.say(&format!("error: no worker threads: {e}"));
        Exit::Misuse
    })?;
    let done: Vec<One> = pool.install(|| run.run.builds.par_iter().zip(run.specs.par_iter()).map(one).collect());
    bar.finish_and_clear();
    let mut made =
        Made { parts: Vec::new(), origins: Vec::new(), left_out: Vec::new(), told: Vec::new(), inputs: Vec::new() };
    for one in done {
        made.parts.extend(one.parts);
        made.origins.extend(one.origins);
        made.left_out.extend(one.left_out);
        made.told.push(one.told);
        made.inputs.extend(one.inputs);
    }
    let unknown = together(run, &made);
    if !unknown.is_empty() {
        let mut sources = Sources::default();
        // The only text of this list is the run's own.
        sources.add(run.text.source.clone());
        made.told.push((unknown, sources));
    }
    Ok(made)
}

/// What became of one build.
#[derive(Default)]
struct One {
    parts: Vec<Part>,
    origins: Vec<Origin>,
    left_out: Vec<LeftOut>,
    told: (Vec<Diagnostic>, Sources),
    inputs: Vec<Input>,
}

/// Printers of the workshop that the run does not name.
fn barred(run: &RunFile) -> Vec<String> {
    let uses = |name: &String| run.run.printers.is_empty() || run.run.printers.iter().any(|p| p.value == *name);
    let all = run.loaded.shop.iter().flat_map(|s| &s.printers).map(|p| p.name.value.clone());
    all.filter(|name| !uses(name)).collect()
}

/// A part as it was decided.
pub(super) struct Decided {
    pub routing: Result<Routing, String>,
    pub recipe: Recipe,
    /// What the part is pinned by: its name in the spec.
    pub spec_name: String,
}

fn one(world: &World, run: &RunFile, build: &Build, spec: &Located, options: &Options, asked: OfRun) -> One {
    let (mut decided, told) = compiled(world, &spec.path, options, Some(asked.clone()));
    let mut one = One { told, ..One::default() };
    if one.told.0.iter().any(Diagnostic::is_error) {
        let why = "its spec has errors, told above".to_owned();
        one.left_out.push(LeftOut { part: spec.name.clone(), status: "not read".to_owned(), why });
        return one;
    }
    let meant =
        |d: &&Decided| build.part.as_ref().is_none_or(|part| part.value == d.spec_name || part.value == d.recipe.part);
    if let Some(part) = build.part.as_ref().filter(|_| !decided.iter().any(|d| meant(&d))) {
        let names: Vec<&str> = decided.iter().map(|d| d.spec_name.as_str()).collect();
        let message = format!("`{}` has no part \"{}\"", spec.name, part.value);
        let hint = match nearest(&part.value, names.iter().copied()) {
            Some(near) => format!("did you mean \"{near}\"?"),
            None => format!("it has {}", names.join(", ")),
        };
        let at = one.told.1.add(run.text.source.clone());
        let span = crate::diag::Span { source: at, ..part.span };
        one.told.0.push(Diagnostic::error("run/no-part", span, message).hint(hint));
        return one;
    }
    let differences = Differences::of(world, spec, options, &asked);
    for decided in &mut decided {
        if !meant(&&*decided) {
            continue;
        }
        let (own, otherwise) = differences.told(decided);
        one.inputs.extend(decided.recipe.inputs.iter().cloned());
        match part(world, run, build, spec, options, &asked, decided) {
            Ok(part) => {
                one.parts.push(part);
                one.origins.push(Origin {
                    spec: spec.clone(),
                    spec_name: decided.spec_name.clone(),
                    asked: asked.clone(),
                    recipe: decided.recipe.clone(),
                    own,
                    otherwise,
                });
            }
            Err(left_out) => one.left_out.push(left_out),
        }
    }
    one
}

/// Compiles a spec for the run, or for itself.
pub(super) fn compiled(
    world: &World,
    spec: &Path,
    options: &Options,
    asked: Option<OfRun>,
) -> (Vec<Decided>, (Vec<Diagnostic>, Sources)) {
    let options = Options { run: asked.map(Arc::new), ..options.clone() };
    let mut decided = Vec::new();
    let compiled = pipeline::compile_visiting(world, spec, &options, &mut |rules, outcome, recipe| {
        let routing = match outcome {
            Outcome::Decided(choice) => Routing::of(rules.world, choice, recipe).map_err(|why| why.to_string()),
            _ => Err("no choice stands".to_owned()),
        };
        decided.push(Decided { routing, recipe: recipe.clone(), spec_name: rules.world.spec.name.value.clone() });
    });
    (decided, (compiled.diagnostics, compiled.sources))
}

/// Returns a part that may be printed, with all machines that may make it in the same way.
fn part(
    world: &World,
    run: &RunFile,
    build: &Build,
    spec: &Located,
    options: &Options,
    asked: &OfRun,
    decided: &Decided,
) -> Result<Part, LeftOut> {
    let recipe = &decided.recipe;
    let left_out = |why: String| LeftOut { part: recipe.part.clone(), status: recipe.status_line(), why };
    if !recipe.status.may_print() {
        return Err(left_out(why_not(recipe)));
    }
    let first = decided.routing.clone().map_err(&left_out)?;
    let mut routings = vec![first.clone()];
    let others = run.loaded.shop.iter().flat_map(|s| &s.printers).map(|p| p.name.value.clone());
    for printer in others.filter(|p| *p != first.printer && !asked.barred.contains(p)) {
        let mut pinned = asked.clone();
        let pins = [
            (Decision::Printer, &printer),
            (Decision::Material, &first.material),
            (Decision::Nozzle, &first.nozzle),
            (Decision::Surface, &first.surface),
        ];
        let pins = pins.map(|(decision, name)| (decision, name.clone())).to_vec();
        pinned.pins.insert(decided.spec_name.clone(), pins);
        let (made, _) = compiled(world, &spec.path, options, Some(pinned));
        let same = made.into_iter().find(|d| d.recipe.part == recipe.part && d.recipe.status.may_print());
        routings.extend(
            same.and_then(|d| d.routing.ok()).filter(|routing| routing.printer == printer && alike(routing, &first)),
        );
    }
    let by = build.by.as_ref().map(|by| by.value.clone());
    let text = yaml::yaml(recipe).map_err(|e| left_out(format!("its recipe cannot be written: {e}")))?;
    Ok(Part {
        name: recipe.part.clone(),
        wanted: recipe.run.as_ref().map_or(1, |r| r.wanted),
        by,
        recipe: short(&blake3::hash(text.as_bytes())),
        routings,
        plates: PlatesDone::default(),
    })
}

/// Why a part is not planned, and what to do about it.
fn why_not(recipe: &Recipe) -> String {
    let questions: Vec<String> =
        recipe.assumptions.iter().filter(|a| a.question).map(|a| a.text.to_string()).take(3).collect();
    let first = match &recipe.headline {
        Sentence::Headline(headline) => headline.lead(),
        other => other.to_string(),
    };
    match (recipe.status, questions.is_empty()) {
        (Status::QuestionFirst, false) => format!("asked first: {}", questions.join("; ")),
        _ => format!("{first}. Its recipe (`makeready compile`) says what would free it"),
    }
}

/// Whether two machines make a part with the same things, lying in the same way: then they share one round of the run.
fn alike(one: &Routing, other: &Routing) -> bool {
    let near = |a: &[f64; 2], b: &[f64; 2]| (a[0] - b[0]).abs() < 1e-3 && (a[1] - b[1]).abs() < 1e-3;
    let outline =
        one.outline.len() == other.outline.len() && one.outline.iter().zip(&other.outline).all(|(a, b)| near(a, b));
    outline
        && (one.brim_mm - other.brim_mm).abs() < 1e-9
        && (&one.material, &one.colour, &one.nozzle, &one.surface, &one.agent)
            == (&other.material, &other.colour, &other.nozzle, &other.surface, &other.agent)
}

/// Parts named by `together` must be parts of the run.
fn together(run: &RunFile, made: &Made) -> Vec<Diagnostic> {
    let known: Vec<&str> =
        made.parts.iter().map(|p| p.name.as_str()).chain(made.left_out.iter().map(|l| l.part.as_str())).collect();
    let unknown = run.run.together.iter().flatten().filter(|p| !known.contains(&p.value.as_str()));
    let told = |part: &crate::semantics::spec::Stated<String>| {
        let message = format!("the run has no part \"{}\"", part.value);
        let hint = match nearest(&part.value, known.iter().copied()) {
            Some(near) => format!("did you mean \"{near}\"?"),
            None => format!("it has {}", known.join(", ")),
        };
        let span = crate::diag::Span { source: crate::diag::SourceId(0), ..part.span };
        let mut found = Diagnostic::error("run/together-unknown", span, message).hint(hint);
        found.severity = Severity::Error;
        found
    };
    unknown.map(told).collect()
}
