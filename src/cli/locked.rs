//! `makeready check --locked`: are the recipes beside the specs what `compile` writes today, and the plans what `plan` does?

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use serde::Deserialize;

use super::args::{CheckArgs, FindingForm};
use super::check::{Told, below};
use super::compile::{Files, with_end, would_write};
use super::exit::Exit;
use super::fmt::first_difference;
use super::pipeline::Compiled;
use super::terminal::Terminal;
use super::world::shown;
use super::{plan, runs};
use crate::diag::{Diagnostic, Severity, Sources};

/// What the names of a recipe's files end with.
const ENDS: [&str; 3] = ["recipe.md", "recipe.yaml", "recipe.svg"];

pub(super) fn run(args: &CheckArgs, terminal: &Terminal) -> Result<Exit, Exit> {
    let (specs, runs) = sorted(&args.paths);
    let mut told = Told::default();
    let mut tell = |all: Vec<(Vec<Diagnostic>, Sources)>| {
        for (diagnostics, sources) in all {
            told.join::<()>(Compiled { parts: Vec::new(), diagnostics, sources });
        }
    };
    let mut files = Vec::new();
    if !specs.is_empty() || runs.is_empty() {
        let written = would_write(&specs, &args.inputs, args.out.as_deref(), args.template.as_deref(), terminal)?;
        tell(written.diagnostics);
        files = written.files;
    }
    let mut plans = Vec::new();
    for run in &runs {
        let Some(written) = plan::would_write(run, &args.inputs, terminal)? else { continue };
        // Of what a run's specs are told, their own recipes were told above.
        tell(written.diagnostics.into_iter().map(|(found, sources)| (wrong(found), sources)).collect());
        plans.extend(written.files.into_iter().map(|files| (run, files)));
    }
    let broken = told.found.iter().any(Diagnostic::is_error);
    let of_recipes = files.iter().filter_map(|made| difference(made, &RECIPE, folder(&made.head)));
    let of_plans = plans.iter().filter_map(|(run, made)| difference(made, &PLAN, run));
    let stale: Vec<Diagnostic> = of_recipes.chain(of_plans).collect();
    // The recipe of a spec that cannot be read today has not lost its part.
    let left = if broken { Vec::new() } else { withdrawn(&files) };
    let (kept, wrong) = (files.len() + plans.len() - stale.len(), stale.len() + left.len());
    told.found.extend(stale.into_iter().chain(left));
    if args.strict {
        told.found.iter_mut().filter(|d| d.severity == Severity::Warning).for_each(|d| d.severity = Severity::Error);
    }
    terminal.result(&terminal.form(&told.found, &told.sources, args.print))?;
    if args.print == FindingForm::Text {
        terminal.say(&format!("{kept} recipes and plans are what `compile` and `plan` write today, {wrong} are not"));
    }
    Ok(Exit::of(&told.found))
}

/// A folder stands for itself among the specs and for the runs in it.
fn sorted(paths: &[PathBuf]) -> (Vec<PathBuf>, Vec<PathBuf>) {
    let (mut runs, specs): (Vec<PathBuf>, Vec<PathBuf>) = paths.iter().cloned().partition(|p| runs::is_run(p));
    for folder in specs.iter().filter(|p| p.is_dir()) {
        runs.extend(below(folder).into_iter().filter(|p| runs::is_run(p)));
    }
    runs.sort();
    runs.dedup();
    (specs, runs)
}

/// What keeps a plan from being made.
fn wrong(found: Vec<Diagnostic>) -> Vec<Diagnostic> {
    found.into_iter().filter(Diagnostic::is_error).collect()
}

/// What a generated set of files is called.
struct Called {
    /// The end of its page's name, and of its data's.
    page: &'static str,
    data: &'static str,
    noun: &'static str,
    command: &'static str,
}

const RECIPE: Called = Called { page: "recipe.md", data: "recipe.yaml", noun: "recipe", command: "compile" };
const PLAN: Called = Called { page: "plan.md", data: "plan.yaml", noun: "plan", command: "plan" };

fn folder(head: &Path) -> &Path {
    head.parent().filter(|f| !f.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

/// Returns in what the files of a recipe or plan differ from what would be written from what is at a path, and why.
fn difference(made: &Files, called: &Called, from: &Path) -> Option<Diagnostic> {
    let page = with_end(&made.head, called.page);
    let on_disk: Vec<Option<String>> =
        made.texts.iter().map(|(end, _)| std::fs::read_to_string(with_end(&made.head, end)).ok()).collect();
    let differs: Vec<(&str, usize)> = made
        .texts
        .iter()
        .zip(&on_disk)
        .filter_map(|((end, new), old)| {
            old.as_deref().filter(|old| old != new).map(|old| (*end, first_difference(old, new)))
        })
        .collect();
    let absent: Vec<&str> =
        made.texts.iter().zip(&on_disk).filter(|(_, old)| old.is_none()).map(|((end, _), _)| *end).collect();
    if differs.is_empty() && absent.is_empty() {
        return None;
    }
    let at = made.texts.iter().position(|(end, _)| *end == called.data);
    let data = at.and_then(|at| on_disk.get(at)).and_then(Option::as_deref);
    let told = |code, message: String| Some(error(code, message, called, from));
    if absent.len() == made.texts.len() {
        return told("recipe/missing", format!("there is no `{}`", shown(&page)));
    }
    let Some(before) = data.and_then(inputs) else {
        let unread = format!("can't be read as a {}", called.noun);
        let what = if data.is_some() { unread.as_str() } else { "is missing" };
        return told("recipe/stale", format!("`{}` {what}", shown(&with_end(&made.head, called.data))));
    };
    let changed = changed(&before, &made.inputs);
    if !changed.is_empty() {
        return told("recipe/stale", format!("`{}` was made before {}", shown(&page), changed.join(", ")));
    }
    if let (true, Some(end)) = (differs.is_empty(), absent.first()) {
        return told("recipe/missing", format!("there is no `{}`", shown(&with_end(&made.head, end))));
    }
    let places: Vec<String> =
        differs.iter().map(|(end, line)| format!("`{}` from line {line}", shown(&with_end(&made.head, end)))).collect();
    told("recipe/edited", format!("edited by hand, or laid out otherwise: {}", places.join(", ")))
}

fn error(code: &'static str, message: String, called: &Called, from: &Path) -> Diagnostic {
    let hint =
        format!("`makeready {} {}` writes it anew; read what moved, then commit it", called.command, shown(from));
    Diagnostic::new(Severity::Error, code, message).hint(hint)
}

/// Reads what a recipe says it was made from; none where the text is no recipe.
fn inputs(data: &str) -> Option<BTreeMap<String, String>> {
    let before: Before = serde_yaml::from_str(data).ok()?;
    Some(before.inputs.into_iter().map(|input| (input.name, input.digest)).collect())
}

/// What is read of a recipe written before, of whatever form.
#[derive(Deserialize)]
struct Before {
    inputs: Vec<Input>,
}

#[derive(Deserialize)]
struct Input {
    name: String,
    digest: String,
}

/// Says what became of each input since.
fn changed(before: &BTreeMap<String, String>, now: &BTreeMap<String, String>) -> Vec<String> {
    let names: BTreeSet<&String> = before.keys().chain(now.keys()).collect();
    let said = |name: &String| match (before.get(name), now.get(name)) {
        (Some(old), Some(new)) if old == new => None,
        (Some(_), Some(_)) => Some(format!("{name} changed")),
        (None, _) => Some(format!("{name} counted")),
        (Some(_), None) => Some(format!("{name} counted no longer")),
    };
    names.into_iter().filter_map(said).collect()
}

/// Returns the recipes in the folders of those made that belong to no part.
fn withdrawn(made: &[Files]) -> Vec<Diagnostic> {
    let bare = |path: &Path| path.strip_prefix("./").unwrap_or(path).to_path_buf();
    let heads: BTreeSet<PathBuf> = made.iter().map(|m| bare(&m.head)).collect();
    let folders: BTreeSet<PathBuf> = made
        .iter()
        .filter_map(|m| m.head.parent())
        .map(|f| if f.as_os_str().is_empty() { ".".into() } else { f.into() })
        .collect();
    let mut orphans = BTreeSet::new();
    for entry in folders.iter().filter_map(|f| std::fs::read_dir(f).ok()).flatten().filter_map(Result::ok) {
        let named = bare(&entry.path()).to_string_lossy().into_owned();
        for end in ENDS {
            let head = named.strip_suffix(end).and_then(|h| h.strip_suffix('.')).map(PathBuf::from);
            orphans.extend(head.filter(|h| !heads.contains(h)));
        }
    }
    let told = |head: &PathBuf| {
        let message = format!("`{}` belongs to no part of the specs beside it", shown(&with_end(head, "recipe.*")));
        Diagnostic::new(Severity::Error, "recipe/withdrawn", message)
            .hint("the part was renamed or taken out: delete its recipe, so that nobody prints from it")
    };
    orphans.iter().map(told).collect()
}
