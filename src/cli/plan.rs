//! `makeready plan`: a run file in, a plan out.

mod making;

use std::path::{Path, PathBuf};

use super::args::{PlanArgs, RecipeForm};
use super::compile::{LINES_UP_TO, options, template_or, with_end};
use super::digest::BUILT_IN;
use super::exit::Exit;
use super::pipeline;
use super::runs::{self, Read, RunFile};
use super::terminal::Terminal;
use super::world::{Located, World, shown};
use super::writing::{Batch, file_stem};
use crate::diag::{Diagnostic, Severity, Sources};
use crate::plan::{Asked, Plan, floor::Floor};
use crate::recipe::Input;
use crate::render::markdown::Template;
use crate::render::{html, plan as page, yaml};
use crate::resolve::shop::Bench;

pub(super) fn run(args: &PlanArgs, terminal: &Terminal) -> Result<Exit, Exit> {
    pipeline::load_knowledge();
    let wanted = !matches!(args.print, Some(RecipeForm::Yaml | RecipeForm::Json));
    let template = wanted.then(|| template_or(args.template.as_deref(), page::template, terminal)).transpose()?;
    if args.runs.len() > 1 {
        let message = "each run is planned as if it had the workshop to itself";
        let found = Diagnostic::new(Severity::Warning, "run/several", message);
        terminal.findings(&[found.hint("write what is made in the same days into one run file")], &Sources::default());
    }
    let (mut exit, mut plans) = (Exit::Done, Vec::new());
    for path in &args.runs {
        let (ended, made) = one(path, args, terminal)?;
        exit = exit.max(ended);
        plans.extend(made.map(|made| (path, made)));
    }
    for (_, made) in &plans {
        let unmet = !made.left_out.is_empty() || !made.late.is_empty();
        exit = exit.max(if unmet { Exit::Wrong } else { Exit::Done });
    }
    match args.print {
        Some(form) => print(&plans, form, template.as_ref(), terminal)?,
        None => {
            for (path, plan) in &plans {
                write(path, plan, args.out.as_deref(), template.as_ref(), terminal)?;
            }
        }
    }
    Ok(exit)
}

/// Plans one run.
fn one(path: &Path, args: &PlanArgs, terminal: &Terminal) -> Result<(Exit, Option<Plan>), Exit> {
    let told = |found: &[Diagnostic], sources: &Sources| {
        terminal.findings(found, sources);
        Exit::of(found)
    };
    let options = options(&args.inputs, false);
    let world = match World::around(path, args.inputs.allow_outside) {
        Ok(world) => world,
        Err(found) => return Ok((told(&[found], &Sources::default()), None)),
    };
    let Read { run, diagnostics, sources } = match path.is_dir() {
        true => folder(&world, path, args, &options),
        false if !runs::is_run(path) => {
            let message = format!("`{}` is no run file", shown(path));
            let hint = "runs end in .runspec; a folder of specs is planned as one of each, with `--from 'DAY TIME'`";
            let found = Diagnostic::new(Severity::Error, "usage/not-a-run", message).hint(hint);
            return Ok((told(&[found], &Sources::default()), None));
        }
        false => runs::read(&world, path, &options),
    };
    let exit = told(&diagnostics, &sources);
    let Some(run) = run.filter(|_| exit == Exit::Done) else { return Ok((exit, None)) };
    let made = making::make(&world, &run, &options, args.jobs, terminal)?;
    let mut exit = exit;
    for (found, sources) in &made.told {
        exit = exit.max(told(found, sources));
    }
    match plan_of(&run, made) {
        Ok(plan) => Ok((exit, Some(plan))),
        Err(message) => {
            let found = Diagnostic::new(Severity::Error, "run/no-plan", message);
            Ok((exit.max(told(&[found], &Sources::default())), None))
        }
    }
}

fn plan_of(run: &RunFile, made: making::Made) -> Result<Plan, String> {
    let shop = run.loaded.shop.as_ref().ok_or("the workshop's file cannot be read")?;
    let bench = Bench::of(shop, &run.loaded.catalogue, run.loaded.assumed);
    let floor = Floor::of(&bench);
    let asked = Asked {
        run: &run.run,
        parts: &made.parts,
        bench: &bench,
        shop,
        catalogue: &run.loaded.catalogue,
        floor: &floor,
    };
    let mut plan = crate::plan::plan(&asked)?;
    plan.left_out = made.left_out;
    if run.loaded.assumed {
        plan.told.insert(0, "there is no workshop file: a well-equipped bench is assumed".to_owned());
    }
    plan.inputs = run.inputs.clone();
    // Of the workshop and the built-in rules a recipe's digest is of what the part reads; here they count whole.
    let apart = |name: &str| name == BUILT_IN || plan.inputs.iter().any(|i| i.name == name);
    let mut specs: Vec<Input> = made.inputs.into_iter().filter(|i| !apart(&i.name)).collect();
    specs.sort_by(|a, b| a.name.cmp(&b.name));
    specs.dedup();
    plan.inputs.extend(specs);
    Ok(plan)
}

/// A folder of specs as a run of one of each.
fn folder(world: &World, path: &Path, args: &PlanArgs, options: &pipeline::Options) -> Read {
    let fail = |found: Diagnostic| Read { run: None, diagnostics: vec![found], sources: Sources::default() };
    let specs: Vec<PathBuf> =
        super::check::below(path).into_iter().filter(|p| p.extension().is_some_and(|e| e == "partspec")).collect();
    let Some(from) = &args.from else {
        let message = format!("when the run of `{}` begins is not said, and no clock is read", shown(path));
        let found = Diagnostic::new(Severity::Error, "usage/no-start", message);
        return fail(found.hint("add `--from '2026-12-07 07:00'`"));
    };
    let whole = match std::fs::canonicalize(path) {
        Ok(whole) => whole,
        Err(e) => {
            let message = format!("`{}` can't be read: {}", shown(path), e.kind());
            return fail(Diagnostic::new(Severity::Error, "file/unreadable", message));
        }
    };
    let name = whole.file_name().map_or_else(|| "run".to_owned(), |n| n.to_string_lossy().into_owned());
    let mut text = format!("run {} {{\n  from {from}\n  hours {ASSUMED_HOURS}\n", quoted(&name));
    for spec in &specs {
        let relative = spec.strip_prefix(path).unwrap_or(spec);
        let parts: Vec<_> = relative.components().map(|c| c.as_os_str().to_string_lossy().into_owned()).collect();
        text.push_str(&format!("  build {} 1\n", quoted(&parts.join("/"))));
    }
    text.push_str("}\n");
    let file =
        Located { name: format!("{name}.{}", runs::ENDING), path: whole.join(format!("{name}.{}", runs::ENDING)) };
    let mut read = runs::read_text(world, file, text, options);
    if specs.is_empty() {
        let message = format!("there is no part spec in the folder `{}`", shown(path));
        read.diagnostics =
            vec![Diagnostic::new(Severity::Error, "file/nothing", message).hint("specs end in .partspec")];
        read.run = None;
    } else {
        let message = format!("when somebody is there is not said: {ASSUMED_HOURS} is assumed");
        let hint = "write a run file: it says hours, dates and counts";
        read.diagnostics.push(Diagnostic::new(Severity::Warning, "run/hours-assumed", message).hint(hint));
    }
    read
}

/// The working week that is taken for a folder of specs, and told.
const ASSUMED_HOURS: &str = "monday .. friday 08:00 .. 17:00";

fn quoted(text: &str) -> String {
    format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\""))
}

fn print(
    plans: &[(&PathBuf, Plan)],
    form: RecipeForm,
    template: Option<&Template>,
    terminal: &Terminal,
) -> Result<(), Exit> {
    let mut texts = Vec::new();
    for (_, plan) in plans {
        texts.push(match form {
            RecipeForm::Json => yaml::json(plan).map_err(|e| ours(&e, terminal))?,
            RecipeForm::Yaml => yaml::any(plan).map_err(|e| ours(&e, terminal))?,
            RecipeForm::Md | RecipeForm::Html => markdown(plan, template, terminal)?,
        });
    }
    match form {
        RecipeForm::Json => match texts.as_slice() {
            [one] => terminal.result(one),
            all => terminal.result(&yaml::json_list(all.iter().map(String::as_str))),
        },
        RecipeForm::Html => {
            let sheets: Vec<html::Sheet> =
                texts.into_iter().map(|markdown| html::Sheet { markdown, picture: None }).collect();
            terminal.result(&html::page("Plan", &sheets))
        }
        _ => terminal.results(texts.iter().map(String::as_str)),
    }
}

fn ours(message: &str, terminal: &Terminal) -> Exit {
    terminal.say(&format!("internal error: the plan can't be put into text: {message}"));
    Exit::OurBug
}

fn markdown(plan: &Plan, template: Option<&Template>, terminal: &Terminal) -> Result<String, Exit> {
    let template = template.ok_or_else(|| ours("no template was read", terminal))?;
    page::markdown(plan, template).map_err(|fault| {
        let place = fault.line.map_or_else(String::new, |l| format!(" (line {l} of the template)"));
        terminal.say(&format!("error[template/fault]: {}{place}", fault.message));
        terminal.say("  hint: the names a template can use are those in recipes/templates/plan.md.hbs");
        Exit::Wrong
    })
}

/// Writes the files of a plan, all or none.
fn write(
    run: &Path,
    plan: &Plan,
    out: Option<&Path>,
    template: Option<&Template>,
    terminal: &Terminal,
) -> Result<(), Exit> {
    let folder = match out {
        Some(out) => out.to_path_buf(),
        None if run.is_dir() => run.to_path_buf(),
        None => run.parent().map(Path::to_path_buf).unwrap_or_default(),
    };
    if out.is_some() {
        std::fs::create_dir_all(&folder).map_err(|e| {
            terminal.say(&format!("error: the folder `{}` can't be made: {}", shown(&folder), e.kind()));
            Exit::Misuse
        })?;
    }
    let head = folder.join(file_stem(&plan.run));
    let markdown = markdown(plan, template, terminal)?;
    let html = html::page(&format!("Plan: {}", plan.run), &[html::Sheet { markdown: markdown.clone(), picture: None }]);
    let data = yaml::any(plan).map_err(|e| ours(&e, terminal))?;
    let mut batch = Batch::default();
    batch
        .add(&with_end(&head, "plan.md"), &markdown)
        .and_then(|()| batch.add(&with_end(&head, "plan.html"), &html))
        .and_then(|()| batch.add(&with_end(&head, "plan.yaml"), &data))
        .and_then(|()| batch.finish())
        .map_err(|message| {
            terminal.say(&format!("error[file/unwritable]: {message}"));
            Exit::Misuse
        })?;
    terminal.say(&format!("{}: {} -> {}", plan.run, page::summary(plan), shown(&with_end(&head, "plan.md"))));
    let lines = plan.left_out.iter().map(|l| format!("  left out: {} ({}): {}", l.part, l.status, l.why));
    let late = plan.late.iter().map(|l| {
        let (by, done) = (l.by.as_deref().unwrap_or("any day"), l.done.as_deref().unwrap_or(page::NEVER));
        format!("  late: {} wanted by {by}, done {done}", l.part)
    });
    lines.chain(late).take(LINES_UP_TO).for_each(|line| terminal.say(&line));
    Ok(())
}
