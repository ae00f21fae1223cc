//! `makeready plan`: a run file in; a plan and its travellers out.

mod making;
mod otherwise;
mod sheets;

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use super::args::{Detail, InputArgs, PlanArgs, RecipeForm};
use super::compile::{Files, LINES_UP_TO, Written, options, template_or, with_end};
use super::digest::{BUILT_IN, short};
use super::exit::Exit;
use super::pipeline;
use super::record;
use super::runs::{self, Read, RunFile};
use super::terminal::Terminal;
use super::world::{Located, World, shown};
use super::writing::{Batch, file_stem};
use crate::diag::{Diagnostic, Severity, Sources};
use crate::plan::pace;
use crate::plan::record::{Row, Tally};
use crate::plan::{Asked, Plan, floor::Floor};
use crate::recipe::Input;
use crate::render::html::{self, Leaf};
use crate::render::markdown::{Template, TemplateFault};
use crate::render::traveller::{self, Level};
use crate::render::{plan as page, yaml};
use crate::resolve::history::Recorded;
use crate::resolve::shop::{Bench, Printer};
use crate::semantics::run::Moment;

/// A plan with its sheets.
struct Planned {
    plan: Plan,
    /// The traveller's; none where data alone is printed.
    leaves: Vec<Leaf>,
    /// The HTML of the traveller.
    traveller: String,
}

/// The pages to lay out; none where data alone is printed.
struct Pages {
    plan: Template,
    traveller: Template,
    level: Level,
}

impl Pages {
    fn of(args: &PlanArgs, terminal: &Terminal) -> Result<Self, Exit> {
        Ok(Self {
            plan: template_or(args.template.as_deref(), page::template, terminal)?,
            traveller: template_or(args.traveller_template.as_deref(), traveller::template, terminal)?,
            level: match args.detail {
                Detail::Short => Level::Short,
                Detail::Usual => Level::Usual,
                Detail::Full => Level::Full,
            },
        })
    }
}

pub(super) fn run(args: &PlanArgs, terminal: &Terminal) -> Result<Exit, Exit> {
    pipeline::load_knowledge();
    let wanted = !matches!(args.print, Some(RecipeForm::Yaml | RecipeForm::Json));
    let pages = if wanted { Some(Pages::of(args, terminal)?) } else { None };
    if args.runs.len() > 1 {
        let message = "each run is planned as if it had the workshop to itself";
        let found = Diagnostic::new(Severity::Warning, "run/several", message);
        let hint = "write what is made in the same days into one run file";
        terminal.findings(&[found.hint(hint)], &Sources::default());
    }
    let (mut exit, mut plans) = (Exit::Done, Vec::new());
    for path in &args.runs {
        let mut told = Findings::default();
        let made = one(path, args, pages.as_ref(), &mut told, terminal)?;
        told.all.iter().for_each(|(found, sources)| terminal.findings(found, sources));
        exit = exit.max(told.exit());
        plans.extend(made.map(|made| (path, made)));
    }
    for (_, made) in &plans {
        let unmet = !made.plan.left_out.is_empty() || !made.plan.late.is_empty();
        exit = exit.max(if unmet { Exit::Wrong } else { Exit::Done });
    }
    match args.print {
        Some(form) => print(&plans, form, pages.as_ref(), terminal)?,
        None => {
            for (path, made) in &plans {
                write(path, made, args, pages.as_ref(), terminal)?;
            }
        }
    }
    Ok(exit)
}

/// What is said of a run, in order.
#[derive(Default)]
struct Findings {
    all: Vec<(Vec<Diagnostic>, Sources)>,
}

impl Findings {
    fn add(&mut self, found: Vec<Diagnostic>, sources: Sources) {
        if !found.is_empty() {
            self.all.push((found, sources));
        }
    }

    fn one(&mut self, found: Diagnostic) {
        self.add(vec![found], Sources::default());
    }

    fn exit(&self) -> Exit {
        self.all.iter().map(|(found, _)| Exit::of(found)).max().unwrap_or(Exit::Done)
    }
}

/// Plans one run; none where that can't be done, which has been told.
fn one(
    path: &Path,
    args: &PlanArgs,
    pages: Option<&Pages>,
    told: &mut Findings,
    terminal: &Terminal,
) -> Result<Option<Planned>, Exit> {
    let options = options(&args.inputs, false);
    let world = match World::around(path, args.inputs.allow_outside) {
        Ok(world) => world,
        Err(found) => {
            told.one(found);
            return Ok(None);
        }
    };
    let Read { run, diagnostics, sources } = match path.is_dir() {
        true => folder(&world, path, args, &options),
        false if !runs::is_run(path) => {
            let message = format!("`{}` is no run file", shown(path));
            let hint = "runs end in .runspec; a folder of specs is planned as one of each, with `--from 'DAY TIME'`";
            told.one(Diagnostic::new(Severity::Error, "usage/not-a-run", message).hint(hint));
            return Ok(None);
        }
        false => runs::read(&world, path, &options),
    };
    told.add(diagnostics, sources);
    let Some(mut run) = run.filter(|_| told.exit() == Exit::Done) else { return Ok(None) };
    let records = match record::recorded(path, &run.run.name.value) {
        Ok(records) => records,
        Err(found) => {
            told.add(found, Sources::default());
            return Ok(None);
        }
    };
    // What cannot be read of the workshop has been told with the run.
    let Some(start) = Start::of(&run, &records) else { return Err(Exit::Wrong) };
    let day = start.day(&run);
    let mut made = making::make(&world, &run, &options, (start.recorded(), day), args.jobs, terminal)?;
    std::mem::take(&mut made.told).into_iter().for_each(|(found, sources)| told.add(found, sources));
    let before = head(path, &run.run.name.value, None);
    let old = record::plan_beside(&before);
    match plan_of(&mut run, &mut made, &start, old.as_ref()) {
        Ok(plan) => {
            told.add(otherwise::notes(&plan.otherwise), Sources::default());
            Ok(Some(match pages {
                Some(pages) => {
                    let recipes = sheets::of(&world, &run, &plan, &made, &start.floor, &options);
                    sheets_of(plan, &made, &recipes, pages, terminal)?
                }
                None => Planned { plan, leaves: Vec::new(), traveller: String::new() },
            }))
        }
        Err(message) => {
            told.one(Diagnostic::new(Severity::Error, "run/no-plan", message));
            Ok(None)
        }
    }
}

/// From where the records of a run leave the workshop.
struct Start {
    floor: Floor,
    tally: Tally,
    /// What is recorded.
    records: Vec<Row>,
}

impl Start {
    /// Adds up records; none where the workshop's file cannot be read, which has been told.
    fn of(run: &RunFile, records: &[Row]) -> Option<Self> {
        let bench = Bench::of(run.loaded.shop.as_ref()?, &run.loaded.catalogue, run.loaded.assumed);
        let mut floor = Floor::of(&bench);
        let tally = crate::plan::record::tally(records, &mut floor);
        Some(Self { floor, tally, records: records.to_vec() })
    }

    /// The day from which on it is printed.
    fn day(&self, run: &RunFile) -> String {
        let from = &run.run.from.value;
        self.tally.latest.as_ref().map_or(from, |latest| latest.max(from)).day.clone()
    }

    /// The state that specs are compiled for, where it is another than that of the workshop's file.
    fn recorded(&self) -> Option<&Floor> {
        (!self.records.is_empty()).then_some(&self.floor)
    }
}

/// Plans what is left of a run.
fn plan_of(run: &mut RunFile, made: &mut making::Made, start: &Start, old: Option<&Plan>) -> Result<Plan, String> {
    let loaded = std::sync::Arc::clone(&run.loaded);
    let shop = loaded.shop.as_ref().ok_or("the workshop's file cannot be read")?;
    let mut bench = Bench::of(shop, &loaded.catalogue, loaded.assumed);
    let Start { floor, tally, records } = start;
    let rows = records.len();
    floor.lay_over(&mut bench);
    let mut told = Vec::new();
    if loaded.assumed {
        told.push("there is no workshop file: a well-equipped bench is assumed".to_owned());
    }
    if let Some(latest) = tally.latest.as_ref().filter(|at| **at > run.run.from.value) {
        told.push(format!("planned from {latest} on, the latest that the records know; {rows} rows are recorded"));
        run.run.from.value = latest.clone();
    }
    take_off(made, tally, &bench, &run.run.name.value, &mut told);
    let busy = busy(tally, old, run, &mut told);
    let done = pace::done(records, old);
    let (mut paces, words) = pace::counted(&pace::of(&done, records), &loaded.catalogue);
    told.extend(words.iter().map(ToString::to_string));
    // The workshop's file may count it already.
    let own = |printer: &String| bench.printers.iter().find(|p| p.name == *printer).and_then(|p| p.pace);
    paces.iter_mut().for_each(|(printer, pace)| *pace /= own(printer).unwrap_or(1.0));
    let asked = Asked {
        run: &run.run,
        parts: &made.parts,
        bench: &bench,
        shop,
        catalogue: &loaded.catalogue,
        floor,
        numbers: &tally.numbers,
        busy: &busy,
        paces: &paces,
    };
    let mut plan = crate::plan::plan(&asked)?;
    plan.left_out = std::mem::take(&mut made.left_out);
    plan.otherwise = otherwise::settled(&plan.rounds, &made.origins);
    plan.recorded = rows;
    let whole = |p: &Printer| p.pace.unwrap_or(1.0) * paces.get(&p.name).copied().unwrap_or(1.0);
    let whole = bench.printers.iter().map(|p| (p.name.clone(), whole(p))).filter(|(_, pace)| *pace != 1.0);
    (plan.done, plan.pace) = (done, whole.collect());
    let prints = tally.busy.values().filter_map(|(round, _)| old?.round(round));
    plan.printing = prints.cloned().collect();
    told.append(&mut plan.told);
    plan.told = told;
    plan.inputs = run.inputs.clone();
    // Of the workshop and the built-in rules a recipe's digest is of what the part reads; here they count whole.
    let apart = |name: &str| name == BUILT_IN || plan.inputs.iter().any(|i| i.name == name);
    let mut specs: Vec<Input> = made.inputs.iter().filter(|i| !apart(&i.name)).cloned().collect();
    specs.sort_by(|a, b| a.name.cmp(&b.name));
    specs.dedup();
    plan.inputs.extend(specs);
    Ok(plan)
}

/// Takes what is done, and what prints now, off what is still wanted; pieces of this run count as records of their part.
fn take_off(made: &mut making::Made, tally: &Tally, bench: &Bench<'_>, run: &str, told: &mut Vec<String>) {
    for part in &mut made.parts {
        let (good, done) = tally.done.get(&part.name).copied().unwrap_or_default();
        let printing = tally.printing.get(&part.name).copied().unwrap_or_default();
        if done > 0 || printing > 0 {
            let prints =
                if printing > 0 { format!(", {printing} print now and are counted as good") } else { String::new() };
            told.push(format!("{}: {good} good of {done} recorded{prints}; {} were wanted", part.name, part.wanted));
        }
        part.wanted = part.wanted.saturating_sub(good + printing);
        // What the workshop's file has taken over of this run it counts already.
        let taken = bench.yields.iter().map(|y| y.peek());
        let taken = taken.filter(|y| y.run.as_deref() == Some(run) && y.part.as_deref() == Some(part.name.as_str()));
        let (took_good, took) = taken.fold((0, 0), |(good, of), y| (good + y.good, of + y.started));
        let good = good.saturating_sub(u32::try_from(took_good).unwrap_or(u32::MAX));
        let done = done.saturating_sub(u32::try_from(took).unwrap_or(u32::MAX));
        // Pieces of a plate that was lost whole did not fail each for itself.
        part.plates = tally.plates.get(&part.name).copied().unwrap_or_default();
        let done = done.saturating_sub(part.plates.lost_pieces);
        for routing in part.routings.iter_mut().filter(|_| done > 0) {
            // As in the workshop's file, pieces of this very part outweigh those of others.
            let before = routing.recorded.take().filter(|r| r.own);
            let (known_good, known) = before.as_ref().map_or((0, 0), |r| (r.good, r.started));
            let own = format!("{good} good of {done} recorded in this run");
            routing.recorded = Some(Recorded {
                good: known_good + u64::from(good),
                started: known + u64::from(done),
                own: true,
                words: before.map_or(own.clone(), |r| format!("{}, {own}", r.words)),
            });
        }
    }
    let kept: Vec<bool> = made.parts.iter().map(|p| p.wanted > 0).collect();
    let mut keep = kept.iter();
    made.origins.retain(|_| keep.next().copied().unwrap_or(true));
    made.parts.retain(|p| p.wanted > 0);
}

/// Until when machines are busy with what they print now, by the plan of before.
fn busy(tally: &Tally, old: Option<&Plan>, run: &RunFile, told: &mut Vec<String>) -> BTreeMap<String, Moment> {
    let mut busy = BTreeMap::new();
    for (printer, (round, begin)) in &tally.busy {
        let hours = old.and_then(|p| p.round(round)).map(|r| r.hours);
        let Some(hours) = hours else {
            told.push(format!(
                "{printer} prints {round} since {begin}; when it is done is not known, and it is planned as free"
            ));
            continue;
        };
        let calendar = crate::plan::calendar::Calendar::of(&run.run, 0);
        let from = calendar.minutes(&begin.day, begin.minute).unwrap_or(0);
        let until = calendar.moment(from + (hours * 60.0).ceil() as i64);
        told.push(format!("{printer} prints {round} since {begin}, until about {until}; that stays"));
        busy.insert(printer.clone(), until);
    }
    busy
}

/// Lays out the sheets of a plan.
fn sheets_of(
    plan: Plan,
    made: &making::Made,
    recipes: &[Vec<crate::recipe::Recipe>],
    pages: &Pages,
    terminal: &Terminal,
) -> Result<Planned, Exit> {
    let data = yaml::any(&plan).map_err(|e| ours(&e, terminal))?;
    let record = format!("{}:{}", file_stem(&plan.run), short(&blake3::hash(data.as_bytes())));
    let bed_of = |round: &crate::plan::Round| {
        let mut routings = made.parts.iter().flat_map(|p| &p.routings);
        routings.find(|w| w.printer == round.printer).map_or([0.0; 3], |w| w.bed)
    };
    let rounds = plan.rounds.iter().zip(recipes);
    let rounds = rounds.map(|(round, recipes)| traveller::RoundSheet {
        round,
        recipes: recipes.iter().collect(),
        bed: bed_of(round),
    });
    let parts = made.parts.iter().zip(&made.origins).map(|(part, origin)| traveller::PartSheet {
        recipe: &origin.recipe,
        symptoms: part.routings.first().map(|w| crate::plan::symptoms::of(w, &origin.recipe)).unwrap_or_default(),
    });
    let sheets = traveller::Traveller {
        plan: &plan,
        record,
        rounds: rounds.collect(),
        parts: parts.collect(),
        level: pages.level,
    };
    let leaves =
        traveller::leaves(&sheets, &pages.traveller).map_err(|fault| tell(&fault, "traveller.md.hbs", terminal))?;
    let page = traveller::page(&sheets, &leaves);
    Ok(Planned { plan, leaves, traveller: page })
}

/// What the names of a run's files begin with.
pub(super) fn head(run: &Path, name: &str, out: Option<&Path>) -> PathBuf {
    let folder = match out {
        Some(out) => out.to_path_buf(),
        None if run.is_dir() => run.to_path_buf(),
        None => run.parent().map(Path::to_path_buf).unwrap_or_default(),
    };
    folder.join(file_stem(name))
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
    plans: &[(&PathBuf, Planned)],
    form: RecipeForm,
    pages: Option<&Pages>,
    terminal: &Terminal,
) -> Result<(), Exit> {
    let mut texts = Vec::new();
    for (_, made) in plans {
        texts.push(match form {
            RecipeForm::Json => yaml::json(&made.plan).map_err(|e| ours(&e, terminal))?,
            RecipeForm::Yaml => yaml::any(&made.plan).map_err(|e| ours(&e, terminal))?,
            RecipeForm::Md | RecipeForm::Html => markdown(&made.plan, pages, terminal)?,
        });
    }
    match form {
        RecipeForm::Json => match texts.as_slice() {
            [one] => terminal.result(one),
            all => terminal.result(&yaml::json_list(all.iter().map(String::as_str))),
        },
        RecipeForm::Html => {
            let leaf = |markdown: String| Leaf { markdown, pictures: Vec::new() };
            let leaves: Vec<Leaf> = texts.into_iter().map(leaf).collect();
            terminal.result(&html::leaves("Plan", "", &leaves))
        }
        _ => terminal.results(texts.iter().map(String::as_str)),
    }
}

/// The name of a file within its project, where it is there.
fn head_name(file: &Path, world: &World) -> Option<String> {
    Some(world.asked_for(file).ok()?.name)
}

fn ours(message: &str, terminal: &Terminal) -> Exit {
    terminal.say(&format!("internal error: the plan can't be put into text: {message}"));
    Exit::OurBug
}

fn tell(fault: &TemplateFault, template: &str, terminal: &Terminal) -> Exit {
    let place = fault.line.map_or_else(String::new, |l| format!(" (line {l} of the template)"));
    terminal.say(&format!("error[template/fault]: {}{place}", fault.message));
    terminal.say(&format!("  hint: the names a template can use are those in recipes/templates/{template}"));
    Exit::Wrong
}

fn markdown(plan: &Plan, pages: Option<&Pages>, terminal: &Terminal) -> Result<String, Exit> {
    let pages = pages.ok_or_else(|| ours("no template was read", terminal))?;
    page::markdown(plan, &pages.plan).map_err(|fault| tell(&fault, "plan.md.hbs", terminal))
}

/// The ends of the names of a plan's files, and their texts.
fn texts(made: &Planned, pages: Option<&Pages>, terminal: &Terminal) -> Result<[(&'static str, String); 5], Exit> {
    let plan = &made.plan;
    let markdown = markdown(plan, pages, terminal)?;
    let leaf = Leaf { markdown: markdown.clone(), pictures: Vec::new() };
    Ok([
        ("plan.md", markdown),
        ("plan.yaml", yaml::any(plan).map_err(|e| ours(&e, terminal))?),
        ("traveller.md", traveller::markdown(&made.leaves)),
        ("plan.html", html::leaves(&format!("Plan: {}", plan.run), "", &[leaf])),
        ("traveller.html", made.traveller.clone()),
    ])
}

/// What `plan` would write for a run whose plan lies beside it, and what it would say of it; none for a run without one.
///
/// The pages that a browser shows are left out where they are not there: they say nothing that the others do not.
pub(super) fn would_write(run: &Path, inputs: &InputArgs, terminal: &Terminal) -> Result<Option<Written>, Exit> {
    let args = PlanArgs {
        runs: vec![run.to_path_buf()],
        from: None,
        out: None,
        print: None,
        depfile: None,
        inputs: inputs.clone(),
        template: None,
        detail: Detail::Usual,
        traveller_template: None,
        jobs: None,
    };
    let Some(head) = planned(run, inputs).filter(|head| with_end(head, PLAN).exists()) else { return Ok(None) };
    let pages = Pages::of(&args, terminal)?;
    let mut told = Findings::default();
    let made = one(run, &args, Some(&pages), &mut told, terminal)?;
    let mut written = Written { files: Vec::new(), diagnostics: told.all, unmet: false };
    if let Some(made) = made {
        written.unmet = !made.plan.left_out.is_empty() || !made.plan.late.is_empty();
        let texts = texts(&made, Some(&pages), terminal)?.into_iter();
        let texts = texts.filter(|(end, _)| !end.ends_with("html") || with_end(&head, end).exists()).collect();
        let inputs = made.plan.inputs.into_iter().map(|input| (input.name, input.digest)).collect();
        written.files.push(Files { head, texts, inputs });
    }
    Ok(Some(written))
}

/// What the names of the files of a run begin with, where the run can be read.
fn planned(run: &Path, inputs: &InputArgs) -> Option<PathBuf> {
    let world = World::around(run, inputs.allow_outside).ok()?;
    let read = runs::read(&world, run, &options(inputs, false)).run?;
    Some(head(run, &read.run.name.value, None))
}

/// The end of the name of a plan as data.
const PLAN: &str = "plan.yaml";

/// Writes the files of a plan, all or none.
fn write(run: &Path, made: &Planned, args: &PlanArgs, pages: Option<&Pages>, terminal: &Terminal) -> Result<(), Exit> {
    let plan = &made.plan;
    let head = head(run, &plan.run, args.out.as_deref());
    if let Some(folder) = &args.out {
        std::fs::create_dir_all(folder).map_err(|e| {
            terminal.say(&format!("error: the folder `{}` can't be made: {}", shown(folder), e.kind()));
            Exit::Misuse
        })?;
    }
    let files = texts(made, pages, terminal)?;
    let mut batch = Batch::default();
    let added = files.iter().try_for_each(|(end, text)| batch.add(&with_end(&head, end), text));
    added.and_then(|()| batch.finish()).map_err(|message| {
        terminal.say(&format!("error[file/unwritable]: {message}"));
        Exit::Misuse
    })?;
    if let Some(file) = &args.depfile
        && let Ok(world) = World::around(run, true)
    {
        let targets = ["plan.yaml", "plan.md"].map(|end| with_end(&head, end)).to_vec();
        let records = head_name(&with_end(&head, "records.csv"), &world);
        let names = plan.inputs.iter().map(|i| i.name.as_str()).chain(records.as_deref());
        super::depfile::write(file, &[(targets, super::depfile::files(&world, names))], terminal)?;
    }
    terminal.say(&format!("{}: {} -> {}", plan.run, page::summary(plan), shown(&with_end(&head, "plan.md"))));
    let lines = plan.left_out.iter().map(|l| format!("  left out: {} ({}): {}", l.part, l.status, l.why));
    let late = plan.late.iter().map(|l| {
        let (by, done) = (l.by.as_deref().unwrap_or("any day"), l.done.as_deref().unwrap_or(page::NEVER));
        format!("  late: {} wanted by {by}, done {done}", l.part)
    });
    lines.chain(late).take(LINES_UP_TO).for_each(|line| terminal.say(&line));
    Ok(())
}
