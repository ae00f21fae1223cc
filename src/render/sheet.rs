//! The recipe as a page sees it: ready-made strings in the order of reading, escaped, numbers with their units.
//!
//! A template (ours, or a shop's own) only places these; it computes nothing and cannot forget to escape.

use serde::Serialize;

mod glance;
mod ground;
mod rejected;
mod settings;
mod whys;

pub use settings::setting_rows;
pub(super) use settings::spoken;

use super::inline::inline;
use super::words::{caution_kind, decision, hours, mass, named_and_smaller};
use crate::fits::SourceKind;
use crate::recipe::{
    Allowance, Caution, Choice, Decided, PoseRow, Reason, Recipe, RegionRow, Run, Sentence, Stage, Status, Step,
    Unlisted,
};
use crate::resolve::facts::place;
use crate::rulebook::{Decision, Phase};

/// How many rules a decision names in its cell; the rest are counted.
const RULES_NAMED: usize = 2;
/// How many characters of a digest a page shows: they tell any two files apart that a person would compare.
const DIGEST_SHOWN: usize = 16;
/// Where a value comes from, if longer than this, is not said twice.
const LONG_ORIGIN: usize = 40;
/// How many poses a page shows one by one.
const BEST_POSES: usize = 3;
/// A place to write a measured value by hand.
pub(super) const BLANK: &str = "______";

/// Everything a page can show. Every string is Markdown, in one line; an empty one means "nothing to say".
#[derive(Debug, Serialize)]
pub struct Sheet {
    pub part: String,
    pub revision: String,
    pub purpose: String,
    pub status: String,
    pub headline: String,
    /// Whether there is anything to print from; where not, decisions, settings, run and checklist are empty.
    pub printable: bool,
    /// File name of the picture beside the page; empty where there is none.
    pub figure: String,
    pub glance: Vec<Line>,
    /// What is to be watched on this very job, the worst first; as many as a person keeps in mind.
    pub watch: Vec<String>,
    /// The steps that take hours or days, or a purchase, before anything else can begin.
    pub ahead: Vec<StepLine>,
    /// What is changed in the model before it goes to the machine.
    pub model: Vec<StepLine>,
    pub broken: Vec<BrokenLine>,
    pub decisions: Vec<DecisionLine>,
    /// Every reason of every decision.
    pub reasons: Vec<ReasonsLines>,
    pub runners_up: Vec<RunnerUpLine>,
    /// The same for the review: reasons in short, what comes second, and what was not taken, by decision.
    pub decided: Vec<ReasonsLines>,
    /// One row for each group of settings.
    pub setting_rows: Vec<Line>,
    /// Every setting by itself, with its reason.
    pub settings: Vec<Line>,
    /// A line for each group of settings: each value with its reason.
    pub setting_reasons: Vec<Line>,
    pub allowances: Vec<AllowanceLine>,
    pub margins: Vec<MarginLine>,
    pub run: Vec<Line>,
    pub run_because: Vec<String>,
    /// The run in one line: what comes out of it and what it costs.
    pub run_words: String,
    /// Every step in the order of work, those ahead and in the model among them.
    pub checklist: Vec<PhaseLines>,
    /// What is left of the checklist behind the steps ahead and those in the model.
    pub work: Vec<PhaseLines>,
    pub cautions: Vec<CautionLine>,
    /// The cautions that are not among what is to be watched.
    pub further_cautions: Vec<CautionLine>,
    /// Why steps and cautions stand as they do, each reason once, by phase.
    pub whys: Vec<Line>,
    pub rejected: Vec<RejectedLine>,
    pub conflicts: Vec<ConflictLines>,
    pub relaxations: Vec<RelaxationLine>,
    pub nearest: Vec<NearestLines>,
    pub not_for: Vec<NotForLine>,
    pub questions: Vec<AssumptionLine>,
    pub assumptions: Vec<AssumptionLine>,
    pub poses: Vec<PoseLine>,
    /// The best of the poses.
    pub best_poses: Vec<PoseLine>,
    /// How many more were looked at, and what they come to.
    pub further_poses: String,
    pub regions: Vec<RegionLine>,
    /// The regions, those alike in one line.
    pub overhangs: Vec<String>,
    pub mesh: Vec<MeshLine>,
    /// What was measured of the mesh and calls for nothing, in one line.
    pub mesh_words: String,
    /// What went in, in one line: name and digest.
    pub input_words: String,
    pub sources: Vec<Line>,
    pub inputs: Vec<Line>,
}

/// A named line: what, its value, and why where that is told.
#[derive(Debug, Serialize)]
pub struct Line {
    pub what: String,
    pub value: String,
    pub because: String,
}

#[derive(Debug, Serialize)]
pub struct BrokenLine {
    pub text: String,
    pub allowed_by: String,
    pub because: String,
}

#[derive(Debug, Serialize)]
pub struct DecisionLine {
    pub what: String,
    pub value: String,
    pub detail: String,
    pub because: String,
}

#[derive(Debug, Serialize)]
pub struct ReasonsLines {
    pub what: String,
    pub value: String,
    pub reasons: Vec<String>,
}

#[derive(Debug, Serialize)]
pub struct RunnerUpLine {
    pub what: String,
    pub value: String,
    pub worse_by: String,
    /// What the run would take more or less.
    pub apart: String,
    pub separated_by: String,
}

#[derive(Debug, Serialize)]
pub struct AllowanceLine {
    pub fit: String,
    pub function: String,
    pub nominal: String,
    pub target: String,
    pub printer_effect: String,
    pub terms: Vec<Line>,
    /// The sum from the size aimed at to the size to model, in one line; empty where nothing is modelled.
    pub sum: String,
    pub model_size: String,
    pub spread: String,
    pub route: String,
    pub because: String,
}

#[derive(Debug, Serialize)]
pub struct MarginLine {
    pub what: String,
    pub demand: String,
    pub capacity: String,
    pub margin: String,
    pub verdict: String,
    /// In the table; empty where it is too long for that.
    pub because: String,
    /// Else below it, clause by clause.
    pub clauses: Vec<String>,
}

#[derive(Debug, Serialize)]
pub struct PhaseLines {
    pub title: String,
    pub steps: Vec<StepLine>,
}

#[derive(Debug, Clone, Serialize)]
pub struct StepLine {
    pub text: String,
    /// `measured ______, by ______`
    pub blanks: String,
    pub because: String,
}

#[derive(Debug, Clone, Serialize)]
pub struct CautionLine {
    pub kind: String,
    pub text: String,
    pub because: String,
}

#[derive(Debug, Serialize)]
pub struct RejectedLine {
    pub decision: String,
    pub value: String,
    pub because: String,
}

#[derive(Debug, Serialize)]
pub struct ConflictLines {
    pub number: String,
    pub text: String,
    pub requirements: Vec<Line>,
}

#[derive(Debug, Serialize)]
pub struct RelaxationLine {
    pub text: String,
    pub place: String,
    /// A line of the spec, between backticks.
    pub write: String,
}

#[derive(Debug, Serialize)]
pub struct NearestLines {
    pub value: String,
    pub breaks: Vec<String>,
}

#[derive(Debug, Serialize)]
pub struct AssumptionLine {
    pub text: String,
    pub effect: String,
    pub answers: Vec<AnswerLine>,
}

#[derive(Debug, Serialize)]
pub struct AnswerLine {
    pub write: String,
    pub leads_to: String,
}

#[derive(Debug, Serialize)]
pub struct NotForLine {
    pub usage: String,
    pub until: String,
    pub because: String,
}

#[derive(Debug, Clone, Serialize)]
pub struct PoseLine {
    pub pose: String,
    pub plain: String,
    pub total: String,
    pub penalties: String,
    pub facts: String,
}

/// A region of the chosen pose.
#[derive(Debug, Serialize)]
pub struct RegionLine {
    pub kind: String,
    pub height: String,
    pub at: String,
    pub area: String,
    pub extent: String,
    pub verdict: String,
    pub because: String,
}

#[derive(Debug, Serialize)]
pub struct MeshLine {
    pub what: String,
    pub value: String,
    pub warning: bool,
}

impl Sheet {
    /// Lays a recipe out. `figure` is the file name of the picture beside the page, if there is one.
    pub fn of(recipe: &Recipe, figure: Option<&str>) -> Self {
        // A page that refuses, or asks before anything is chosen, holds nothing to print from, whatever the data carries.
        let printable = recipe.status != Status::NotPrintableAsSpecified && recipe.decisions.is_some();
        let decisions = recipe.decisions.as_ref().filter(|_| printable);
        let run = recipe.run.as_ref().filter(|_| printable);
        let (questions, assumptions) = assumptions(recipe);
        let checklist = if printable { checklist(recipe) } else { Vec::new() };
        let watched = glance::watched(recipe, printable);
        let cautions: Vec<CautionLine> = recipe.cautions.iter().map(|c| caution_line(recipe, c)).collect();
        let poses: Vec<PoseLine> = recipe.poses.iter().map(pose_line).collect();
        Self {
            part: inline(&recipe.part),
            revision: recipe.revision.as_deref().map_or_else(String::new, inline),
            purpose: recipe.purpose.as_deref().map_or_else(String::new, inline),
            status: recipe.status_line(),
            headline: inline(&recipe.headline.to_string()),
            printable,
            figure: figure.map_or_else(String::new, file_link),
            glance: decisions.map_or_else(Vec::new, |d| glance::glance(recipe, d, run)),
            watch: if printable { watched.words } else { Vec::new() },
            ahead: steps_of(recipe, printable, Phase::Ahead),
            model: steps_of(recipe, printable, Phase::Model),
            broken: broken(recipe),
            decided: decisions.map_or_else(Vec::new, |d| whys::decided(recipe, d)),
            decisions: decisions.map_or_else(Vec::new, |d| d.all().iter().map(|d| decision_line(recipe, d)).collect()),
            reasons: decisions
                .map_or_else(Vec::new, |d| d.all().iter().filter_map(|d| reasons_lines(recipe, d)).collect()),
            runners_up: decisions.map_or_else(Vec::new, |d| d.all().iter().filter_map(runner_up_line).collect()),
            setting_rows: if printable { setting_rows(&recipe.settings) } else { Vec::new() },
            settings: if printable { settings::lines(recipe) } else { Vec::new() },
            setting_reasons: if printable { settings::reasons(recipe) } else { Vec::new() },
            allowances: if printable { allowance_lines(recipe) } else { Vec::new() },
            margins: margins(recipe),
            run: run.map_or_else(Vec::new, run_lines),
            run_because: run.map_or_else(Vec::new, |r| r.because.iter().map(|b| cited(recipe, b)).collect()),
            run_words: run.map_or_else(String::new, whys::run_words),
            work: work(recipe, printable),
            checklist,
            further_cautions: cautions
                .iter()
                .enumerate()
                .filter(|(i, _)| !watched.cautions.contains(i))
                .map(|(_, c)| c.clone())
                .collect(),
            cautions,
            whys: whys::whys(recipe, printable),
            rejected: rejected::rejected(recipe),
            conflicts: conflicts(recipe),
            relaxations: relaxations(recipe),
            nearest: nearest(recipe),
            not_for: not_for(recipe),
            questions,
            assumptions,
            best_poses: poses.iter().take(BEST_POSES).cloned().collect(),
            further_poses: ground::further_poses(recipe, BEST_POSES),
            poses,
            regions: if printable { regions(recipe) } else { Vec::new() },
            overhangs: if printable { ground::overhangs(recipe) } else { Vec::new() },
            mesh: mesh(recipe),
            mesh_words: ground::mesh_words(recipe),
            input_words: ground::input_words(recipe),
            sources: recipe.sources.iter().map(|s| line(&s.key, &s.citation)).collect(),
            inputs: recipe.inputs.iter().map(|i| line(&i.name, &shortened(&i.digest))).collect(),
        }
    }
}

/// Returns the reason in one piece: the sentence, then places, rule and source in brackets, set apart by emphasis.
pub fn cited(recipe: &Recipe, reason: &Reason) -> String {
    let (text, cites) = (in_words(&reason.text), inline(&citation(recipe, reason)));
    match (text.is_empty(), cites.is_empty()) {
        (_, true) => text,
        (true, false) => format!("*({cites})*"),
        (false, false) => format!("{text} *({cites})*"),
    }
}

fn in_words(sentence: &Sentence) -> String {
    inline(&source_words(&sentence.to_string()))
}

/// Returns the reason as the review reads it: the rule's name says where, and its source only where that is more than
/// common practice. Where no rule speaks, all of its places.
fn shortly(recipe: &Recipe, reason: &Reason) -> String {
    let text = in_words(&reason.text);
    let cites = inline(&short_citation(recipe, reason));
    match (text.is_empty(), cites.is_empty()) {
        (_, true) => text,
        (true, false) => format!("*({cites})*"),
        (false, false) => format!("{text} *({cites})*"),
    }
}

fn short_citation(recipe: &Recipe, reason: &Reason) -> String {
    let Some(rule) = &reason.rule else { return citation(recipe, reason) };
    let more = |s: &&crate::recipe::Cited| !(s.kind == SourceKind::CommonPractice && s.of.is_empty());
    let sources = reason.source.iter().filter(more).map(|s| source_words(&s.to_string()));
    std::iter::once(rule.clone()).chain(sources).collect::<Vec<_>>().join("; ")
}

/// Returns where a reason comes from, compactly: `load "gust"; rule heat-margin; paper SPOERK18`. Within the recipe's own
/// spec the path says where.
pub fn citation(recipe: &Recipe, reason: &Reason) -> String {
    let mut parts: Vec<String> = reason.places.iter().map(|place| place.beside(&recipe.spec)).collect();
    parts.extend(reason.rule.as_ref().map(|r| format!("rule {r}")));
    parts.extend(reason.source.iter().map(|source| source_words(&source.to_string())));
    parts.join("; ")
}

/// The kinds of source are words of the data; on a page they are words of a sentence.
pub(super) fn source_words(source: &str) -> String {
    source.replace("common-practice", "common practice").replace("from-memory", "from memory")
}

/// The reason that decided, in one cell; of those that only left others out, the rules are named.
fn brief(recipe: &Recipe, reasons: &[Reason]) -> String {
    let is_pin = |r: &Reason| matches!(&r.text, Sentence::Choice(c) if matches!(**c, Choice::Pinned { .. }));
    let pinned = reasons.iter().position(is_pin);
    let Some(decisive) = pinned.or(reasons.len().checked_sub(1)) else { return String::new() };
    let mut rules: Vec<&str> = Vec::new();
    for (i, reason) in reasons.iter().enumerate() {
        let rule = reason.rule.as_deref().filter(|r| i != decisive && pinned.is_none() && !rules.contains(r));
        rules.extend(rule);
    }
    let more = rules.len().saturating_sub(RULES_NAMED);
    rules.truncate(RULES_NAMED);
    let told = reasons.get(decisive).map(|r| cited(recipe, r)).unwrap_or_default();
    match (rules.is_empty(), more) {
        (true, _) => told,
        (false, 0) => format!("others are out by rule {}; {told}", inline(&rules.join(" and "))),
        (false, more) => format!("others are out by rule {} and {more} more; {told}", inline(&rules.join(", "))),
    }
}

/// A reason on the line of what it explains.
fn after(recipe: &Recipe, reason: &Reason) -> String {
    let told = cited(recipe, reason);
    if reason.text.is_nothing() { told } else { dashed(&told) }
}

fn decision_line(recipe: &Recipe, (what, d): &(Decision, &Decided)) -> DecisionLine {
    DecisionLine {
        what: decision(*what).to_owned(),
        value: inline(&d.value),
        detail: inline(&d.detail.to_string()),
        because: brief(recipe, &d.because),
    }
}

/// The built-in page says reasons here only: the first screen has said already what was decided.
fn reasons_lines(recipe: &Recipe, (what, d): &(Decision, &Decided)) -> Option<ReasonsLines> {
    let reasons: Vec<String> = d.because.iter().map(|r| cited(recipe, r)).filter(|r| !r.is_empty()).collect();
    (!reasons.is_empty()).then(|| ReasonsLines { what: decision(*what).to_owned(), value: inline(&d.value), reasons })
}

fn runner_up_line((what, d): &(Decision, &Decided)) -> Option<RunnerUpLine> {
    let next = d.runner_up.as_ref()?;
    Some(RunnerUpLine {
        what: decision(*what).to_owned(),
        value: inline(&next.value),
        worse_by: next.penalty.plain(),
        apart: next.run_apart.as_ref().map_or_else(String::new, |apart| inline(&apart.to_string())),
        separated_by: named_and_smaller(&next.separated_by).iter().map(|s| inline(s)).collect::<Vec<_>>().join("; "),
    })
}

/// Where a term comes from is said at the first fit it enters; at the next, that it is said there.
fn allowance_lines(recipe: &Recipe) -> Vec<AllowanceLine> {
    let mut lines: Vec<AllowanceLine> = Vec::new();
    for allowance in &recipe.allowances {
        let mut line = allowance_line(recipe, allowance);
        for term in line.terms.iter_mut().filter(|t| t.because.chars().count() > LONG_ORIGIN) {
            let same = |t: &Line| t.what == term.what && t.because == term.because;
            if let Some(first) = lines.iter().find(|l| l.terms.iter().any(same)) {
                term.because = format!("as for {}", first.fit);
            }
        }
        lines.push(line);
    }
    lines
}

fn allowance_line(recipe: &Recipe, a: &Allowance) -> AllowanceLine {
    let term = |t: &crate::recipe::Term| Line {
        what: inline(t.name.as_str()),
        value: inline(&t.words()),
        because: inline(&source_words(&t.from.to_string())),
    };
    AllowanceLine {
        fit: inline(&a.fit),
        function: inline(&a.function_words()),
        nominal: inline(&crate::resolve::fits::shown(a.nominal)),
        target: inline(&a.target_words()),
        printer_effect: inline(&source_words(&a.printer_effect.to_string())),
        terms: a.terms.iter().map(term).collect(),
        sum: inline(&whys::sum(a)),
        model_size: inline(&a.model_words()),
        spread: inline(&a.spread_words()),
        route: inline(&a.route.to_string()),
        because: cited(recipe, &a.because),
    }
}

/// What stands in a cell of a table in one glance, characters.
const ONE_CELL: usize = 240;

fn margins(recipe: &Recipe) -> Vec<MarginLine> {
    let of = |m: &crate::recipe::Margin| {
        let because = cited(recipe, &m.because);
        let long = because.chars().count() > ONE_CELL;
        MarginLine {
            what: capital(&inline(&m.what.to_string())),
            demand: in_words(&m.told.demand),
            capacity: in_words(&m.told.capacity),
            margin: in_words(&m.told.margin),
            verdict: m.verdict.words().to_owned(),
            clauses: if long { clauses(&because) } else { Vec::new() },
            because: if long { "below".to_owned() } else { because },
        }
    };
    recipe.margins.iter().map(of).collect()
}

/// Cuts a long reason at its semicolons, those in brackets aside, and puts its sources by themselves.
fn clauses(text: &str) -> Vec<String> {
    let (said, sources) = text.rfind(" *(").map_or((text, ""), |at| text.split_at(at));
    let (mut all, mut depth) = (vec![String::new()], 0_usize);
    for c in said.chars() {
        match c {
            '(' => depth += 1,
            ')' => depth = depth.saturating_sub(1),
            _ => {}
        }
        match all.last_mut() {
            _ if c == ';' && depth == 0 => all.push(String::new()),
            Some(last) => last.push(c),
            None => {}
        }
    }
    all.push(sources.to_owned());
    all.iter().map(|clause| clause.trim().to_owned()).filter(|clause| !clause.is_empty()).collect()
}

fn run_lines(r: &Run) -> Vec<Line> {
    let rounds = match (r.rounds, r.per_round) {
        (1, _) => format!("one, with {}", r.start),
        (rounds, 1) => format!("{rounds}, one piece each"),
        (rounds, each) => format!("{rounds}, up to {each} pieces each"),
    };
    vec![
        line("Pieces wanted", &r.wanted.to_string()),
        line("Pieces to start", &r.start.to_string()),
        line("Rounds", &rounds),
        line("Time", &time_words(r)),
        line("Mass", &format!("{} each, {} in all", mass(r.mass_each), mass(r.mass_total))),
        line("Cost", &r.cost.to_string()),
    ]
}

/// Pieces on one plate share what a plate takes once, so that the time of one alone does not add up to that of all.
fn time_words(r: &Run) -> String {
    let each = if r.per_round > 1 && r.start > 1 { "for one by itself" } else { "each" };
    format!("{} {each}, {} in all", hours(r.time_each), hours(r.time_total))
}

fn checklist(recipe: &Recipe) -> Vec<PhaseLines> {
    let filled = recipe.checklist.iter().filter(|p| !p.steps.is_empty());
    filled.map(|p| PhaseLines { title: p.phase.title().to_owned(), steps: step_lines(recipe, &p.steps) }).collect()
}

/// The steps of one phase; none where nothing is to be printed.
fn steps_of(recipe: &Recipe, printable: bool, phase: Phase) -> Vec<StepLine> {
    let of = recipe.checklist.iter().find(|p| printable && p.phase == Stage::Of(phase));
    of.map_or_else(Vec::new, |p| step_lines(recipe, &p.steps))
}

/// The phases behind those that stand on the first page.
fn work(recipe: &Recipe, printable: bool) -> Vec<PhaseLines> {
    let first = [Phase::Ahead, Phase::Model].map(Stage::Of);
    let phases = recipe.checklist.iter().filter(|p| printable && !first.contains(&p.phase) && !p.steps.is_empty());
    phases.map(|p| PhaseLines { title: p.phase.title().to_owned(), steps: step_lines(recipe, &p.steps) }).collect()
}

/// A reason said at one step of a phase needs no saying at the next.
pub(super) fn step_lines(recipe: &Recipe, steps: &[Step]) -> Vec<StepLine> {
    let mut said: Vec<String> = Vec::new();
    let mut lines = Vec::new();
    for step in steps {
        let because = brief_citation(recipe, &step.because);
        let known = said.contains(&because);
        lines.push(step_line(step, if known { String::new() } else { because.clone() }));
        said.push(because);
    }
    lines
}

/// The reason of a step with rule and source. Where in spec and shop its numbers stand is told by the recipe for
/// machines, and here only where no rule speaks.
/// All of it is set apart by emphasis, so that at the machine the step itself is read first.
fn brief_citation(recipe: &Recipe, reason: &Reason) -> String {
    let places = if reason.rule.is_some() { Vec::new() } else { reason.places.clone() };
    let told = Reason { places, ..reason.clone() };
    let (text, cites) = (in_words(&told.text), inline(&citation(recipe, &told)));
    match (text.is_empty(), cites.is_empty()) {
        (true, true) => String::new(),
        (true, false) => format!("*({cites})*"),
        (false, true) => format!("*— {text}*"),
        (false, false) => format!("*— {text} ({cites})*"),
    }
}

fn step_line(step: &Step, because: String) -> StepLine {
    let blanks = step.blanks.iter().map(|b| format!("{} {BLANK}", inline(b))).collect::<Vec<_>>().join(", ");
    StepLine { text: inline(&step.text.to_string()), blanks: capital(&blanks), because }
}

fn caution_line(recipe: &Recipe, c: &Caution) -> CautionLine {
    CautionLine {
        kind: caution_kind(c.kind).to_owned(),
        text: capital(&inline(&c.text.to_string())),
        because: after(recipe, &c.because),
    }
}

fn broken(recipe: &Recipe) -> Vec<BrokenLine> {
    let of = |b: &crate::recipe::Broken| BrokenLine {
        text: inline(&b.text.to_string()),
        allowed_by: inline(&format!("{}: {}", b.allowed_by.place.beside(&recipe.spec), b.allowed_by.because)),
        because: after(recipe, &b.because),
    };
    recipe.broken.iter().map(of).collect()
}

fn conflicts(recipe: &Recipe) -> Vec<ConflictLines> {
    let of = |(i, c): (usize, &crate::recipe::Conflict)| ConflictLines {
        number: (i + 1).to_string(),
        text: capital(&inline(&c.text.to_string())),
        requirements: c.requirements.iter().map(|r| line(&r.text.to_string(), &r.place.beside(&recipe.spec))).collect(),
    };
    recipe.conflicts.iter().enumerate().map(of).collect()
}

fn relaxations(recipe: &Recipe) -> Vec<RelaxationLine> {
    let of = |r: &crate::recipe::Relaxation| RelaxationLine {
        text: capital(&inline(&r.text.to_string())),
        place: inline(&r.places.iter().map(|p| p.beside(&recipe.spec)).collect::<Vec<_>>().join(", ")),
        write: r.write.as_deref().map_or_else(String::new, code),
    };
    recipe.relaxations.iter().map(of).collect()
}

fn nearest(recipe: &Recipe) -> Vec<NearestLines> {
    let of = |n: &crate::recipe::NearMiss| NearestLines {
        value: inline(&n.value),
        breaks: n.breaks.iter().map(|b| cited(recipe, b)).collect(),
    };
    recipe.nearest.iter().map(of).collect()
}

fn assumptions(recipe: &Recipe) -> (Vec<AssumptionLine>, Vec<AssumptionLine>) {
    let of = |question: bool| {
        recipe
            .assumptions
            .iter()
            .filter(|a| a.question == question)
            .map(|a| AssumptionLine {
                text: inline(&a.text.to_string()),
                effect: dashed(&inline(&a.effect.to_string())),
                answers: a.answers.iter().map(answer).collect(),
            })
            .collect()
    };
    (of(true), of(false))
}

fn answer(answer: &crate::recipe::Answer) -> AnswerLine {
    AnswerLine { write: code(&answer.write), leads_to: in_words(&answer.leads_to) }
}

fn not_for(recipe: &Recipe) -> Vec<NotForLine> {
    let of = |n: &crate::recipe::NotFor| NotForLine {
        usage: inline(&n.usage.to_string()),
        until: inline(&n.until.to_string()),
        because: cited(recipe, &n.because),
    };
    recipe.not_for.iter().map(of).collect()
}

fn pose_line(p: &PoseRow) -> PoseLine {
    PoseLine {
        pose: inline(&p.pose),
        plain: inline(&named(p)),
        total: p.total.plain(),
        penalties: p.penalties.iter().map(|w| inline(&w.to_string())).collect::<Vec<_>>().join(", "),
        facts: pose_facts(p),
    }
}

/// A pose with the sides that are the same.
fn named(p: &PoseRow) -> String {
    let along = if p.along.is_empty() { String::new() } else { format!(", with {}", p.along.join(", ")) };
    let equals = if p.equals.is_empty() { String::new() } else { format!(" (the same: {})", p.equals.join(", ")) };
    format!("{}{along}{equals}", p.plain)
}

fn pose_facts(p: &PoseRow) -> String {
    format!(
        "overhang {:.0} mm², on the bed {:.0} mm², height {:.1} mm, support {:.1} cm³",
        p.overhang.to_mm2(),
        p.on_the_bed.to_mm2(),
        p.height.to_mm(),
        p.support.to_cm3()
    )
}

fn regions(recipe: &Recipe) -> Vec<RegionLine> {
    recipe.regions.iter().map(region_line).chain(recipe.more_regions.iter().map(more_regions)).collect()
}

fn region_line(r: &RegionRow) -> RegionLine {
    let [low, high] = r.height.map(|z| z.to_mm());
    RegionLine {
        kind: capital(r.kind.words()),
        height: if high - low < 0.005 { format!("{low:.2} mm") } else { format!("{low:.2} to {high:.2} mm") },
        at: inline(&place(r.at)),
        area: format!("{:.1} mm²", r.area.to_mm2()),
        extent: inline(&r.extent),
        verdict: r.verdict.words().to_owned(),
        because: inline(&r.because),
    }
}

fn more_regions(more: &Unlisted) -> RegionLine {
    RegionLine {
        kind: format!("{} more", more.count),
        height: String::new(),
        at: String::new(),
        area: format!("{:.1} mm² in all", more.area.to_mm2()),
        extent: String::new(),
        verdict: String::new(),
        because: inline("smaller, or too small to tell from the grain of the layers; `measure` lists them"),
    }
}

fn mesh(recipe: &Recipe) -> Vec<MeshLine> {
    let of = |m: &crate::recipe::MeshFact| MeshLine {
        what: capital(m.name),
        value: inline(&m.value.to_string()),
        warning: m.warning,
    };
    recipe.mesh.iter().map(of).collect()
}

fn line(what: &str, value: &str) -> Line {
    Line { what: inline(what), value: inline(value), because: String::new() }
}

/// Sets a reason off from the line it belongs to.
fn dashed(text: &str) -> String {
    if text.is_empty() { String::new() } else { format!("— {text}") }
}

fn shortened(digest: &str) -> String {
    digest.chars().take(DIGEST_SHOWN).collect()
}

/// Returns the text with a first letter that suits the start of a cell or sentence; `ABS` and `µm` stay.
fn capital(text: &str) -> String {
    let mut chars = text.chars();
    match chars.next() {
        Some(first) if first.is_ascii_lowercase() => first.to_ascii_uppercase().to_string() + chars.as_str(),
        _ => text.to_owned(),
    }
}

/// Returns the text as a code span. Line ends and backticks, which could end it, become blanks and quotes.
fn code(text: &str) -> String {
    let flat = text.split_whitespace().collect::<Vec<_>>().join(" ").replace('`', "'").replace('|', r"\|");
    if flat.is_empty() { String::new() } else { format!("`{flat}`") }
}

/// Returns a file name as the target of a Markdown link.
fn file_link(name: &str) -> String {
    name.chars()
        .flat_map(|c| match c {
            ' ' | '(' | ')' | '<' | '>' | '"' | '\\' | '|' | '%' | '#' | '?' => {
                format!("%{:02X}", c as u32).chars().collect::<Vec<_>>()
            }
            c => vec![c],
        })
        .collect()
}
