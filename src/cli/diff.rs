//! `makeready diff`: what two states of a project decide differently, and which of their inputs made the difference.
//!
//! Both states are compiled by this program. A difference is put down to an input by solving again: the earlier state
//! with that one change, then with two of them, then with all. What the earlier state decides today otherwise than its
//! committed recipe says is put down to the program and its built-in knowledge.

mod blame;
mod entries;
pub(super) mod impact;
mod inputs;
mod page;
mod revision;

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use rayon::prelude::*;
use serde_json::Value;

use super::args::{DiffArgs, DiffForm, InputArgs};
use super::compile::{WORKER_STACK, options};
use super::exit::Exit;
use super::pipeline::{self, Compiled, Options};
use super::terminal::Terminal;
use super::world::{World, shown};
use crate::diag::{Diagnostic, Severity, Sources};
use crate::recipe::{Detail, Recipe};
use blame::Blamed;
use entries::{Entries, SPOOL, entries};
use page::{PartChange, What};
use revision::Revision;

pub(super) fn run(args: &DiffArgs, terminal: &Terminal) -> Result<Exit, Exit> {
    let fail = |found: Diagnostic| {
        terminal.findings(&[found], &Sources::default());
        Exit::Misuse
    };
    let (_checked_out, pairs) = pairs(args).map_err(fail)?;
    report(&pairs, &args.inputs, args.print, &|_| (0, 0), terminal)
}

/// Compares pairs and prints what differs, the parts of least `order` first.
fn report(
    pairs: &[Pair],
    inputs: &InputArgs,
    form: DiffForm,
    order: &dyn Fn(&PartChange) -> (u8, usize),
    terminal: &Terminal,
) -> Result<Exit, Exit> {
    let options = options(inputs, false);
    pipeline::load_knowledge();
    let one = |pair: &Pair| compare(pair, inputs.allow_outside, &options);
    let pool = rayon::ThreadPoolBuilder::new().stack_size(WORKER_STACK).build().map_err(|_| Exit::Misuse)?;
    let done: Vec<Compared> = pool.install(|| pairs.par_iter().map(one).collect());
    for compared in &done {
        for (found, sources) in &compared.told {
            terminal.findings(found, sources);
        }
    }
    let mut changes: Vec<&PartChange> = done.iter().flat_map(|c| &c.parts).collect();
    changes.sort_by_key(|change| order(change));
    let unread = done.iter().filter(|c| c.unread).count();
    let compared = page::Count { compared: pairs.len() - unread, unread };
    let text = match form {
        DiffForm::Text => page::text(&changes, compared),
        DiffForm::Md => page::markdown(&changes, compared),
        DiffForm::Json => page::json(&changes),
    };
    terminal.result(&text)?;
    Ok(if unread > 0 || !changes.is_empty() { Exit::Wrong } else { Exit::Done })
}

/// A spec before and now; one of the two may be missing.
struct Pair {
    /// As it is named to the reader.
    name: String,
    before: Option<PathBuf>,
    now: Option<PathBuf>,
}

/// What became of one pair.
#[derive(Default)]
pub(super) struct Compared {
    parts: Vec<PartChange>,
    told: Vec<(Vec<Diagnostic>, Sources)>,
    /// One of the two states cannot be read.
    unread: bool,
}

/// Returns the pairs of specs to compare, and the folder of the earlier state, which goes when it is dropped.
fn pairs(args: &DiffArgs) -> Result<(Option<Revision>, Vec<Pair>), Diagnostic> {
    if let Some(asked) = &args.from {
        let paths = if args.paths.is_empty() { vec![PathBuf::from(".")] } else { args.paths.clone() };
        let revision = Revision::check_out(asked, paths.first().map_or(Path::new("."), PathBuf::as_path))?;
        let mut found = BTreeMap::new();
        for path in &paths {
            let before = revision.path_of(path)?;
            pair_up(&before, path, &mut found);
        }
        return some(found).map(|pairs| (Some(revision), pairs));
    }
    let [before, now] = args.paths.as_slice() else {
        return Err(misuse(
            "`diff` compares two files or folders, or with --from a revision with the files as they are",
        )
        .hint("write `makeready diff OLD NEW`, or `makeready diff --from HEAD~1 PATH`"));
    };
    let mut found = BTreeMap::new();
    pair_up(before, now, &mut found);
    some(found).map(|pairs| (None, pairs))
}

fn some(found: BTreeMap<String, Pair>) -> Result<Vec<Pair>, Diagnostic> {
    if found.is_empty() {
        return Err(misuse("there is no part spec in either of the two").hint("specs end in .partspec"));
    }
    Ok(found.into_values().collect())
}

fn misuse(message: &str) -> Diagnostic {
    Diagnostic::new(Severity::Error, "usage/diff", message)
}

/// Adds the specs of two files or folders, paired by their path within them.
fn pair_up(before: &Path, now: &Path, found: &mut BTreeMap<String, Pair>) {
    let specs = |path: &Path| -> BTreeMap<PathBuf, PathBuf> {
        if !path.is_dir() {
            let alone = path.is_file().then(|| (PathBuf::new(), path.to_path_buf()));
            return alone.into_iter().collect();
        }
        let inside = super::check::below(path).into_iter().filter(|p| p.extension().is_some_and(|e| e == "partspec"));
        inside.map(|p| (p.strip_prefix(path).unwrap_or(&p).to_path_buf(), p)).collect()
    };
    let (mut before, mut after) = (specs(before), specs(now));
    let within: BTreeSet<PathBuf> = before.keys().chain(after.keys()).cloned().collect();
    for inner in within {
        let name = if inner.as_os_str().is_empty() { shown(now) } else { shown(&now.join(&inner)) };
        let pair = Pair { name: name.clone(), before: before.remove(&inner), now: after.remove(&inner) };
        found.insert(name, pair);
    }
}

/// A state of a spec, compiled.
struct State {
    root: PathBuf,
    spec: PathBuf,
    /// The recipes by part, in the form for machines.
    parts: BTreeMap<String, Value>,
}

fn compiled(spec: &Path, outside: bool, options: &Options, told: &mut Compared) -> Option<State> {
    match World::around(spec, outside) {
        Ok(world) => compiled_in(&world, spec, options, told),
        Err(found) => {
            told.told.push((vec![found], Sources::default()));
            None
        }
    }
}

fn compiled_in(world: &World, spec: &Path, options: &Options, told: &mut Compared) -> Option<State> {
    let Compiled { parts, diagnostics, sources } = pipeline::compile_one(world, spec, options);
    let wrong = diagnostics.iter().any(Diagnostic::is_error);
    told.told.push((diagnostics.into_iter().filter(Diagnostic::is_error).collect(), sources));
    let parts = parts.iter().filter_map(|p| Some((p.recipe.part.clone(), data(&p.recipe)?)));
    let state = State { root: world.root().to_path_buf(), spec: spec.to_path_buf(), parts: parts.collect() };
    (!wrong).then_some(state)
}

/// Changes of a spec that nobody has made, in words, and the project with some of them made.
pub(super) struct Supposed<'w> {
    pub words: Vec<String>,
    pub with: &'w dyn Fn(&[usize]) -> Option<World>,
}

/// Prints what a spec would decide differently with changes that nobody has made, each difference put down to one of them.
pub(super) fn supposed(
    spec: &Path,
    world: &World,
    changes: &Supposed<'_>,
    (options, form): (&Options, DiffForm),
    terminal: &Terminal,
) -> Result<Exit, Exit> {
    let mut told = Compared::default();
    let text = supposed_text(spec, world, changes, (options, form), &mut told);
    for (found, sources) in &told.told {
        terminal.findings(found, sources);
    }
    terminal.result(&text.ok_or(Exit::Wrong)?)?;
    Ok(Exit::Done)
}

/// The same as text; none where one of the two states has errors.
pub(super) fn supposed_text(
    spec: &Path,
    world: &World,
    changes: &Supposed<'_>,
    (options, form): (&Options, DiffForm),
    told: &mut Compared,
) -> Option<String> {
    let all: Vec<usize> = (0..changes.words.len()).collect();
    let mut state = |some: &[usize]| match some {
        [] => compiled_in(world, spec, options, told),
        some => (changes.with)(some).and_then(|world| compiled_in(&world, spec, options, told)),
    };
    let (before, now) = (state(&[])?, state(&all)?);
    let mut parts = Vec::new();
    for (part, recipe) in &now.parts {
        let (Some(old), new) = (before.parts.get(part).map(entries), entries(recipe)) else { continue };
        let differences = old.differences(&new);
        if differences.is_empty() {
            continue;
        }
        let solve = |some: &[usize]| {
            let world = (changes.with)(some)?;
            let state = compiled_in(&world, spec, options, &mut Compared::default())?;
            state.parts.get(part).map(entries)
        };
        let blamed = Blamed { by: blame::settled(&changes.words, &differences, &solve), inputs: changes.words.clone() };
        let (remade, mesh) = (old.remade(&new), old.mesh_moved(&new));
        let what = What::Changed { before: old.status(), now: new.status(), differences, blamed, remade, mesh };
        parts.push(PartChange { part: part.clone(), spec: shown(spec), what: Some(what), by_program: Vec::new() });
    }
    let parts: Vec<&PartChange> = parts.iter().collect();
    let count = page::Count { compared: 1, unread: 0 };
    Some(match form {
        DiffForm::Text => page::text(&parts, count),
        DiffForm::Md => page::markdown(&parts, count),
        DiffForm::Json => page::json(&parts),
    })
}

/// Returns a recipe in the form for machines, and with it what that form says in words only: which spool is taken.
fn data(recipe: &Recipe) -> Option<Value> {
    let mut data = serde_json::to_value(recipe).ok()?;
    if let Some(Detail::Material { spool: Some(spool), .. }) = recipe.decisions.as_ref().map(|d| &d.material.detail) {
        data[SPOOL] = Value::String(spool.name.clone());
    }
    Some(data)
}

fn compare(pair: &Pair, outside: bool, options: &Options) -> Compared {
    let mut done = Compared::default();
    let state = |spec: &Option<PathBuf>, done: &mut Compared| {
        let state = spec.as_deref().map(|spec| compiled(spec, outside, options, done));
        done.unread |= matches!(state, Some(None));
        state.flatten()
    };
    let (before, now) = (state(&pair.before, &mut done), state(&pair.now, &mut done));
    if done.unread {
        return done;
    }
    let parts = |s: &Option<State>| s.iter().flat_map(|s| s.parts.keys().cloned()).collect::<BTreeSet<String>>();
    let names: BTreeSet<String> = parts(&before).union(&parts(&now)).cloned().collect();
    for name in names {
        let recipe = |s: &Option<State>| s.as_ref().and_then(|s| s.parts.get(&name)).map(entries);
        let what = match (recipe(&before), recipe(&now)) {
            (Some(old), Some(new)) => changed(&name, &old, &new, before.as_ref(), now.as_ref(), options),
            (None, Some(new)) => Some(What::New { status: new.status() }),
            (Some(old), None) => Some(What::Gone { status: old.status() }),
            (None, None) => None,
        };
        let by_program = before.as_ref().map_or_else(Vec::new, |state| by_program(&name, state));
        if what.is_some() || !by_program.is_empty() {
            done.parts.push(PartChange { part: name, spec: pair.name.clone(), what, by_program });
        }
    }
    done
}

fn changed(
    part: &str,
    old: &Entries,
    new: &Entries,
    before: Option<&State>,
    now: Option<&State>,
    options: &Options,
) -> Option<What> {
    let differences = old.differences(new);
    if differences.is_empty() {
        return None;
    }
    let blamed = match (before, now) {
        (Some(before), Some(now)) => blame::blame(part, (before, old), (now, new), &differences, options),
        _ => Blamed::default(),
    };
    Some(What::Changed {
        before: old.status(),
        now: new.status(),
        differences,
        blamed,
        remade: old.remade(new),
        mesh: old.mesh_moved(new),
    })
}

/// Returns what the committed recipe of an earlier state says otherwise than this program decides from the same inputs.
fn by_program(part: &str, state: &State) -> Vec<entries::Difference> {
    let file = state.spec.with_file_name(format!("{}.recipe.yaml", super::writing::file_stem(part)));
    let committed: Option<Value> = std::fs::read_to_string(file).ok().and_then(|t| serde_yaml::from_str(&t).ok());
    let (Some(committed), Some(mut today)) = (committed, state.parts.get(part).cloned()) else { return Vec::new() };
    // A committed recipe says this in words only.
    today.as_object_mut().map(|today| today.remove(SPOOL));
    // A recipe of another form, or made from other inputs, says nothing of the program.
    let comparable = committed.get("schema") == today.get("schema") && entries::same_inputs(&committed, &today);
    if comparable { entries(&committed).differences(&entries(&today)) } else { Vec::new() }
}
