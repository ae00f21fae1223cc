//! `makeready compile`: specs in, recipes out.

use std::collections::BTreeMap;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::time::Duration;

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use rayon::prelude::*;

use super::args::{CompileArgs, InputArgs, RecipeForm};
use super::cache::Cache;
use super::exit::Exit;
use super::kept::{Kept, Text};
use super::pipeline::{self, Compiled, Options, Part};
use super::terminal::Terminal;
use super::withdrawn;
use super::world::{World, shown};
use super::writing::{Batch, file_stem};
use crate::diag::{Cite, Diagnostic, Severity, Source, Sources, Span};
use crate::recipe::{Recipe, SCHEMA, Status};
use crate::render::markdown::{Template, TemplateFault};
use crate::render::{html, yaml};

/// From how many specs on a progress bar is worth its line.
const BAR_FROM: usize = 8;
/// How long nothing is told of what is under way, and how often it is told from then on.
const UNTOLD: Duration = Duration::from_millis(1500);
const TICK: Duration = Duration::from_millis(500);
/// Up to how many parts each gets a line of its own on stderr.
pub(super) const LINES_UP_TO: usize = 24;
/// Compiling walks trees; a worker's usual 2 MB would be a thin margin. Pages are only taken when touched.
pub(super) const WORKER_STACK: usize = 16 << 20;

pub(super) fn run(args: &CompileArgs, terminal: &Terminal) -> Result<Exit, Exit> {
    let (specs, nothing) = specs_of(&args.specs);
    terminal.findings(&nothing, &Sources::default());
    let mut options = options(&args.inputs, false);
    // Drawing takes longer than deciding; only files and HTML pages show it.
    options.pictures = matches!(args.print, None | Some(RecipeForm::Html));
    // Reading the template takes about as long as a job does, and data needs none.
    let wanted = !matches!(args.print, Some(RecipeForm::Yaml | RecipeForm::Json));
    let template = || (wanted || args.template.is_some()).then(|| template(args.template.as_deref(), terminal));
    // Before any worker begins: a worker that waits while loading would take up another spec, and wait for itself.
    let (template, ()) = rayon::join(template, pipeline::load_knowledge);
    let form = Form { print: args.print, template: template.transpose()?, sheet: args.sheet, kept: Kept::default() };
    let done = compile_all(&specs, &args.inputs, args.jobs, &options, &form, terminal)?;
    for told in &done {
        terminal.findings(&told.diagnostics, &told.sources);
    }
    let found = done.iter().map(|c| Exit::of(&c.diagnostics)).max().unwrap_or(Exit::Done).max(Exit::of(&nothing));
    let parts: Vec<(&PathBuf, &Told)> =
        specs.iter().zip(&done).flat_map(|(spec, c)| c.parts.iter().map(move |p| (spec, p))).collect();
    let out = match args.print {
        Some(print) => form.print(&parts, print, terminal)?,
        None => {
            let exit = form.write(&parts, args.out.as_deref(), terminal)?;
            withdraw(&specs, &done, &parts, args.out.as_deref(), terminal);
            exit
        }
    };
    if let Some(file) = &args.depfile {
        let rule = |(spec, part): &(&PathBuf, &Told)| {
            let world = World::around(spec, true).ok()?;
            let targets = ["recipe.md", "recipe.yaml"].map(|end| with_end(&head(spec, part, args.out.as_deref()), end));
            Some((targets.to_vec(), super::depfile::files(&world, part.inputs.keys().map(String::as_str))))
        };
        super::depfile::write(file, &parts.iter().filter_map(rule).collect::<Vec<_>>(), terminal)?;
    }
    let unmet = parts.iter().any(|(_, p)| !p.status.may_print());
    Ok(found.max(out).max(if unmet { Exit::Wrong } else { Exit::Done }))
}

/// In what form recipes are wanted.
struct Form {
    /// On stdout; `None` = as files.
    print: Option<RecipeForm>,
    template: Option<Template>,
    /// Only what hangs at the machine.
    sheet: bool,
    /// The texts that were made, until all are.
    kept: Kept,
}

/// What became of one spec file, put into text.
type Done = Compiled<Told>;

/// One part's recipe as text, and what is said of it on the terminal.
struct Told {
    part: String,
    status: Status,
    /// The status in words, waivers in plain sight.
    line: String,
    refusal: Vec<String>,
    /// Names and digests of what it was made from.
    inputs: BTreeMap<String, String>,
    texts: Result<Texts<Text>, Unwritten>,
}

/// The texts of a recipe that were wanted.
#[derive(Default)]
struct Texts<T = String> {
    markdown: T,
    /// As YAML, or as JSON where that was wanted.
    data: T,
    picture: Option<T>,
    /// Part and revision, for the foot of every sheet of paper.
    running: String,
}

impl Form {
    fn told(&self, part: Part, sources: &Sources) -> Told {
        let texts = self.texts(&part);
        let Part { recipe, picture } = part;
        Told {
            line: recipe.status_line(),
            refusal: refusal(&recipe, sources),
            inputs: recipe.inputs.into_iter().map(|input| (input.name, input.digest)).collect(),
            part: recipe.part,
            status: recipe.status,
            texts: texts.map(|t| Texts {
                markdown: self.kept.put(t.markdown),
                data: self.kept.put(t.data),
                picture: picture.map(|svg| self.kept.put(svg)),
                running: t.running,
            }),
        }
    }

    /// Returns the texts of a part that were put away.
    fn texts_of(&self, part: &Told, terminal: &Terminal) -> Result<Texts, Exit> {
        let kept = part.texts.as_ref().map_err(|e| e.tell(terminal))?;
        let back = |text: &Text| self.back(text, terminal);
        Ok(Texts {
            markdown: back(&kept.markdown)?,
            data: back(&kept.data)?,
            picture: kept.picture.as_ref().map(back).transpose()?,
            running: kept.running.clone(),
        })
    }

    fn back(&self, text: &Text, terminal: &Terminal) -> Result<String, Exit> {
        self.kept.get(text).map_err(|why| {
            terminal.say(&format!("error[file/unreadable]: {why}"));
            Exit::Misuse
        })
    }

    fn texts(&self, part: &Part) -> Result<Texts, Unwritten> {
        let revision = part.recipe.revision.as_ref().map_or_else(String::new, |r| format!(", revision {r}"));
        let mut texts = Texts { running: format!("{}{revision}", part.recipe.part), ..Texts::default() };
        // On an HTML page the picture itself takes the place of the link; a page on stdout has no file beside it to link.
        let link = match self.print {
            None => with_end(Path::new(&file_stem(&part.recipe.part)), "recipe.svg").to_string_lossy().into_owned(),
            Some(_) => "picture.svg".to_owned(),
        };
        let shown = part.picture.is_some() && matches!(self.print, None | Some(RecipeForm::Html));
        if matches!(self.print, None | Some(RecipeForm::Md | RecipeForm::Html)) {
            let template = self.template.as_ref().ok_or_else(|| Unwritten::Ours("no template was read".to_owned()))?;
            texts.markdown =
                template.render(&part.recipe, shown.then_some(link.as_str())).map_err(Unwritten::Template)?;
            if self.print.is_none() {
                texts.markdown = withdrawn::sealed(&texts.markdown);
            }
            if self.sheet {
                texts.markdown = machine_part(&texts.markdown);
            }
        }
        match self.print {
            None | Some(RecipeForm::Yaml) => texts.data = yaml::yaml(&part.recipe).map_err(Unwritten::Ours)?,
            Some(RecipeForm::Json) => texts.data = yaml::json(&part.recipe).map_err(Unwritten::Ours)?,
            Some(RecipeForm::Md | RecipeForm::Html) => {}
        }
        Ok(texts)
    }
}

/// Returns the page up to its first rule, behind which stands what the review reads.
pub(super) fn machine_part(page: &str) -> String {
    page.split_once("\n---\n").map_or_else(|| page.to_owned(), |(machine, _)| format!("{}\n", machine.trim_end()))
}

/// The files of one part's recipe as they would be written.
pub(super) struct Files {
    /// What each file's name begins with.
    pub head: PathBuf,
    /// Their ends and texts: the page, the data, the picture if there is one.
    pub texts: Vec<(&'static str, String)>,
    /// Names and digests of what the recipe was made from.
    pub inputs: BTreeMap<String, String>,
}

/// What `compile` would write for some specs, and what it would say of them; nothing is written.
pub(super) struct Written {
    pub files: Vec<Files>,
    pub diagnostics: Vec<(Vec<Diagnostic>, Sources)>,
    /// A part of them cannot be made as it stands.
    pub unmet: bool,
}

/// Returns what `compile` would write.
pub(super) fn would_write(
    asked: &[PathBuf],
    inputs: &InputArgs,
    out: Option<&Path>,
    page: Option<&Path>,
    terminal: &Terminal,
) -> Result<Written, Exit> {
    let (specs, nothing) = specs_of(asked);
    let mut options = options(inputs, false);
    options.pictures = true;
    let (template, ()) = rayon::join(|| template(page, terminal), pipeline::load_knowledge);
    let form = Form { print: None, template: Some(template?), sheet: false, kept: Kept::default() };
    let done = compile_all(&specs, inputs, None, &options, &form, terminal)?;
    let mut written = Written { files: Vec::new(), diagnostics: vec![(nothing, Sources::default())], unmet: false };
    for (spec, Done { parts, diagnostics, sources }) in specs.iter().zip(done) {
        written.diagnostics.push((diagnostics, sources));
        for part in parts {
            written.unmet |= !part.status.may_print();
            let head = head(spec, &part, out);
            let texts = form.texts_of(&part, terminal)?;
            let picture = texts.picture.map(|svg| ("recipe.svg", svg));
            let texts =
                [("recipe.md", texts.markdown), ("recipe.yaml", texts.data)].into_iter().chain(picture).collect();
            written.files.push(Files { head, texts, inputs: part.inputs });
        }
    }
    Ok(written)
}

/// The options of the pipeline that were typed.
pub(super) fn options(inputs: &InputArgs, strict: bool) -> Options {
    let cache = Cache::of_the_user(inputs.no_cache);
    Options { shop: inputs.shop.clone(), strict, cache, ..Options::default() }
}

/// Returns the specs to compile, in order, each once: a folder stands for every spec in it and below.
fn specs_of(asked: &[PathBuf]) -> (Vec<PathBuf>, Vec<Diagnostic>) {
    let (mut specs, mut found) = (Vec::new(), Vec::new());
    for path in asked {
        if !path.is_dir() {
            specs.push(path.clone());
            continue;
        }
        let inside: Vec<PathBuf> =
            super::check::below(path).into_iter().filter(|p| p.extension().is_some_and(|e| e == "partspec")).collect();
        if inside.is_empty() {
            let message = format!("there is no part spec in the folder `{}`", shown(path));
            let hint = "specs end in .partspec; `makeready new NAME` makes one to begin with";
            found.push(Diagnostic::new(Severity::Error, "file/nothing", message).hint(hint));
        }
        specs.extend(inside);
    }
    // The same file named twice (`*.partspec` and by name) is compiled once.
    let mut seen = std::collections::BTreeSet::new();
    specs.retain(|s| seen.insert(std::fs::canonicalize(s).unwrap_or_else(|_| s.clone())));
    (specs, found)
}

fn compile_all(
    specs: &[PathBuf],
    inputs: &InputArgs,
    jobs: Option<u16>,
    options: &Options,
    form: &Form,
    terminal: &Terminal,
) -> Result<Vec<Done>, Exit> {
    let bar = bar(specs.len(), terminal);
    let one = |spec: &PathBuf| {
        let mut told = |part: Part, sources: &Sources| form.told(part, sources);
        let done = match World::around(spec, inputs.allow_outside) {
            Ok(world) => pipeline::compile_keeping(&world, spec, options, &mut told),
            Err(found) => Compiled { diagnostics: vec![found], ..Compiled::default() },
        };
        bar.inc(1);
        done
    };
    // One pool for the specs and for what is done within each: a heavy one takes the cores the others leave.
    let workers = jobs.map_or(0, usize::from);
    let pool = rayon::ThreadPoolBuilder::new().num_threads(workers).stack_size(WORKER_STACK).build().map_err(|e| {
        terminal.say(&format!("error: no worker threads: {e}"));
        Exit::Misuse
    })?;
    // `collect` keeps the order of the specs, whatever order they are done in.
    let done = pool.install(|| specs.par_iter().map(one).collect());
    bar.finish_and_clear();
    Ok(done)
}

pub(super) fn bar(specs: usize, terminal: &Terminal) -> ProgressBar {
    if !terminal.is_watched() {
        return ProgressBar::hidden();
    }
    // Of a few specs one may take a minute: then it is said that work goes on, and since when.
    let template = match specs {
        ..BAR_FROM => "working, {elapsed} so far, {pos} of {len} done",
        _ => "compiling {wide_bar} {pos} of {len} specs, {elapsed} so far",
    };
    let style = ProgressStyle::with_template(template).unwrap_or_else(|_| ProgressStyle::default_bar());
    let hidden = ProgressDrawTarget::hidden();
    let bar = ProgressBar::with_draw_target(Some(specs as u64), hidden).with_style(style);
    let shown = bar.clone();
    // What is done before anybody wonders shows nothing; the thread ends with the program.
    std::thread::spawn(move || {
        std::thread::sleep(UNTOLD);
        if !shown.is_finished() {
            shown.set_draw_target(ProgressDrawTarget::stderr());
            shown.enable_steady_tick(TICK);
        }
    });
    bar
}

/// Reads the shop's template, or the built-in one.
fn template(path: Option<&Path>, terminal: &Terminal) -> Result<Template, Exit> {
    template_or(path, Template::built_in, terminal)
}

/// Reads a template of the shop's own, or takes one that is built in.
pub(super) fn template_or(
    path: Option<&Path>,
    built_in: fn() -> Result<Template, TemplateFault>,
    terminal: &Terminal,
) -> Result<Template, Exit> {
    let Some(path) = path else {
        return built_in().map_err(|fault| tell_fault(&fault, None, terminal));
    };
    let read = World::around(path, true).and_then(|w| {
        let file = w.asked_for(path)?;
        Ok((w.text(&file, None)?, file.name))
    });
    match read {
        Ok((text, name)) => Template::parse(&text).map_err(|f| tell_fault(&f, Some((&name, &text)), terminal)),
        Err(found) => {
            terminal.findings(std::slice::from_ref(&found), &Sources::default());
            Err(Exit::of(&[found]))
        }
    }
}

/// Tells what is wrong with a template; without a source it is the built-in one, and the mistake ours.
pub(super) fn tell_fault(fault: &TemplateFault, source: Option<(&str, &str)>, terminal: &Terminal) -> Exit {
    let mut sources = Sources::default();
    let found = match source {
        None => Diagnostic::new(Severity::Error, "internal/template", fault.message.clone()),
        Some((name, text)) => {
            let at = offset(text, fault.line.unwrap_or(1), fault.column.unwrap_or(1));
            let id = sources.add(Source::new(name, text));
            Diagnostic::error("template/fault", Span::new(id, at, at), fault.message.clone())
                .hint("the names a template can use are those in recipes/templates/recipe.md.hbs")
        }
    };
    terminal.findings(std::slice::from_ref(&found), &sources);
    Exit::of(&[found])
}

/// Returns the byte offset of a place given as line and column (characters), both from 1.
fn offset(text: &str, line: usize, column: usize) -> usize {
    let start: usize = text.split_inclusive('\n').take(line.saturating_sub(1)).map(str::len).sum();
    let rest = text.get(start..).unwrap_or("");
    start + rest.char_indices().nth(column.saturating_sub(1)).map_or(rest.len(), |(i, _)| i)
}

/// Why a recipe did not become text.
enum Unwritten {
    Template(TemplateFault),
    Ours(String),
}

impl Unwritten {
    fn tell(&self, terminal: &Terminal) -> Exit {
        match self {
            Self::Template(fault) => {
                let place = fault.line.map_or_else(String::new, |l| format!(" (line {l} of the template)"));
                terminal.say(&format!("error[template/fault]: {}{place}", fault.message));
                terminal.say("  hint: the names a template can use are those in recipes/templates/recipe.md.hbs");
                Exit::Wrong
            }
            Self::Ours(message) => {
                terminal.say(&format!("internal error: the recipe can't be put into text: {message}"));
                Exit::OurBug
            }
        }
    }
}

impl Form {
    fn print(&self, parts: &[(&PathBuf, &Told)], form: RecipeForm, terminal: &Terminal) -> Result<Exit, Exit> {
        if parts.is_empty() {
            return Ok(Exit::Done);
        }
        // All of them before the first is printed: nothing is half-written.
        let texts = parts.iter().map(|(_, p)| p.texts.as_ref().map_err(|e| e.tell(terminal)));
        let texts = texts.collect::<Result<Vec<&Texts<Text>>, Exit>>()?;
        // Piece by piece: of a thousand recipes one text of them all would be the larger part of the memory.
        let [open, between, close] = match form {
            RecipeForm::Md => ["", "\n", ""],
            RecipeForm::Yaml => ["", "---\n", ""],
            RecipeForm::Json if texts.len() > 1 => yaml::JSON_LIST,
            RecipeForm::Json => ["", "", ""],
            RecipeForm::Html => {
                let sheet = |(_, part): &(&PathBuf, &Told)| {
                    let Texts { markdown, picture, running, .. } = self.texts_of(part, terminal)?;
                    Ok(html::Sheet { markdown, picture, running })
                };
                let sheets = parts.iter().map(sheet).collect::<Result<Vec<_>, Exit>>()?;
                terminal.result(&html::page(&title(parts), &sheets))?;
                return Ok(Exit::Done);
            }
        };
        terminal.result(open)?;
        for (i, text) in texts.iter().enumerate() {
            let one = self.back(if form == RecipeForm::Md { &text.markdown } else { &text.data }, terminal)?;
            let one = if form == RecipeForm::Json && texts.len() > 1 { yaml::json_item(&one) } else { one };
            terminal.results([if i > 0 { between } else { "" }, one.as_str()])?;
        }
        terminal.result(close)?;
        Ok(Exit::Done)
    }
}

fn title(parts: &[(&PathBuf, &Told)]) -> String {
    parts.iter().map(|(_, p)| p.part.as_str()).take(3).collect::<Vec<_>>().join(", ")
}

/// Returns the lines that cannot stand together first, and the first change that would free the job.
fn refusal(recipe: &Recipe, sources: &Sources) -> Vec<String> {
    let mut lines = Vec::new();
    if let Some(conflict) = recipe.conflicts.first() {
        // On the terminal a place is a line one can go to.
        let place = |cite: &Cite| cite.at.map_or_else(|| cite.to_string(), |at| sources.place(at));
        let each = conflict.requirements.iter().map(|r| format!("  cannot stand: {} ({})", r.text, place(&r.place)));
        lines.extend(each);
        if conflict.requirements.is_empty() {
            lines.push(format!("  {}", conflict.text));
        }
    }
    lines.extend(recipe.relaxations.first().map(|r| format!("  would free it: {}", r.text)));
    lines
}

impl Form {
    /// Writes the recipes of all parts, each part's files together.
    fn write(&self, parts: &[(&PathBuf, &Told)], out: Option<&Path>, terminal: &Terminal) -> Result<Exit, Exit> {
        if let Some(folder) = out.filter(|_| !parts.is_empty()) {
            std::fs::create_dir_all(folder).map_err(|e| {
                terminal.say(&format!("error: the folder `{}` can't be made: {}", shown(folder), e.kind()));
                Exit::Misuse
            })?;
        }
        let heads: Vec<PathBuf> = parts.iter().map(|(spec, p)| head(spec, p, out)).collect();
        // Names that differ in case only are one file on many systems.
        let folded = |head: &Path| head.to_string_lossy().to_lowercase();
        let mut users: BTreeMap<String, usize> = BTreeMap::new();
        heads.iter().for_each(|h| *users.entry(folded(h)).or_default() += 1);
        let older = heads.iter().filter_map(|h| older_form(&with_end(h, "recipe.yaml"))).min();
        let mut exit = Exit::Done;
        for ((spec, part), head) in parts.iter().zip(&heads) {
            if users.get(&folded(head)).is_some_and(|n| *n > 1) {
                exit = exit.max(same_name(spec, part, head, terminal));
                continue;
            }
            write_part(head, &self.texts_of(part, terminal)?, terminal)?;
            if parts.len() <= LINES_UP_TO {
                let page = with_end(head, "recipe.md");
                terminal.say(&format!("{}: {} -> {}", part.part, part.line, shown(&page)));
                part.refusal.iter().for_each(|line| terminal.say(line));
            }
        }
        if parts.len() > LINES_UP_TO {
            terminal.say(&summary(parts));
        }
        if let Some(older) = older {
            terminal.say(&format!(
            "note[recipe/older-form]: recipes written before were of the form `{older}`, these are `{SCHEMA}`: a program that \
             reads them needs a change\n  hint: grammar/recipe.md says what each key holds, and under Version 3 what is \
             otherwise"
        ));
        }
        Ok(exit)
    }
}

/// Takes recipes out of the way that looked as if they could be printed from and no longer stand.
fn withdraw(specs: &[PathBuf], done: &[Done], parts: &[(&PathBuf, &Told)], out: Option<&Path>, terminal: &Terminal) {
    let written = parts.iter().map(|(spec, part)| withdrawn::bare(&head(spec, part, out))).collect();
    for (spec, done) in specs.iter().zip(done) {
        // A file that could not be read says nothing of its recipes.
        let read = Exit::of(&done.diagnostics) <= Exit::Wrong;
        if read && (done.parts.is_empty() || out.is_none()) {
            withdrawn::of_spec(spec, out.or(spec.parent()).unwrap_or(Path::new("")), &written, terminal);
        }
    }
}

/// Returns the form of a recipe that stands where another is about to be written, where it is not today's.
fn older_form(path: &Path) -> Option<String> {
    let mut start = [0; 64];
    let read = std::fs::File::open(path).and_then(|mut file| file.read(&mut start)).ok()?;
    let text = String::from_utf8_lossy(start.get(..read)?);
    let form = text.lines().next()?.strip_prefix("schema: ")?.to_owned();
    (form != SCHEMA).then_some(form)
}

fn same_name(spec: &Path, part: &Told, head: &Path, terminal: &Terminal) -> Exit {
    let (name, file) = (&part.part, with_end(head, "recipe.md"));
    let message =
        format!("another part would write `{}` too: `{name}` of {} is not written", shown(&file), shown(spec));
    let found = Diagnostic::new(Severity::Error, "part/same-name", message);
    let hint = "give each part a name of its own; small and capital letters make no difference, as on many systems";
    terminal.findings(&[found.hint(hint)], &Sources::default());
    Exit::Wrong
}

fn summary(parts: &[(&PathBuf, &Told)]) -> String {
    let count = |status| parts.iter().filter(|(_, p)| p.status == status).count();
    let told: Vec<String> =
        Status::ALL.iter().filter(|s| count(**s) > 0).map(|s| format!("{} {}", count(*s), s.words())).collect();
    format!("{} recipes: {}", parts.len(), told.join(", "))
}

fn head(spec: &Path, part: &Told, out: Option<&Path>) -> PathBuf {
    let folder = out.or(spec.parent()).unwrap_or(Path::new(""));
    folder.join(file_stem(&part.part))
}

pub(super) fn with_end(head: &Path, end: &str) -> PathBuf {
    let mut name = head.as_os_str().to_owned();
    name.push(".");
    name.push(end);
    PathBuf::from(name)
}

fn write_part(head: &Path, texts: &Texts, terminal: &Terminal) -> Result<(), Exit> {
    let mut batch = Batch::default();
    let page = with_end(head, "recipe.md");
    if !std::fs::read_to_string(&page).is_ok_and(|old| old == texts.markdown) {
        withdrawn::keep_aside(&page, terminal);
    }
    batch
        .add(&page, &texts.markdown)
        .and_then(|()| batch.add(&with_end(head, "recipe.yaml"), &texts.data))
        .and_then(|()| texts.picture.as_ref().map_or(Ok(()), |svg| batch.add(&with_end(head, "recipe.svg"), svg)))
        .and_then(|()| batch.finish())
        .map(|()| {
            withdrawn::stands_again(head);
            if texts.picture.is_none() {
                withdrawn::without_picture(head, terminal);
            }
        })
        .map_err(|message| {
            terminal.say(&format!("error[file/unwritable]: {message}"));
            Exit::Misuse
        })
}
