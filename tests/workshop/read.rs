//! A recipe as a person reads it: every value in the words it is told with, so that a test can ask what is said.

use makeready::recipe::{self as made, Status};
use makeready::render::{hours, mass};
use serde::Serialize;

#[derive(Debug, Clone, Serialize)]
pub struct Recipe {
    pub part: String,
    pub status: Status,
    #[serde(skip)]
    pub status_line: String,
    pub headline: String,
    pub decisions: Option<Decisions>,
    pub settings: Vec<Setting>,
    pub allowances: Vec<Allowance>,
    pub margins: Vec<Margin>,
    pub run: Option<Run>,
    pub checklist: Vec<Phase>,
    /// What it is not for, and what would establish that.
    pub not_for: Vec<(String, String)>,
    pub cautions: Vec<Caution>,
    pub broken: Vec<Broken>,
    pub rejected: Vec<Rejected>,
    pub conflicts: Vec<Conflict>,
    pub nearest: Vec<NearMiss>,
    pub relaxations: Vec<Relaxation>,
    pub assumptions: Vec<Assumption>,
    pub mesh: Vec<MeshFact>,
    pub poses: Vec<Pose>,
    pub regions: Vec<Region>,
    pub sources: Vec<made::SourceEntry>,
}

#[derive(Debug, Clone, Default, Serialize)]
pub struct Reason {
    pub text: String,
    pub rule: Option<String>,
    pub places: Vec<String>,
    pub values: Vec<(String, String)>,
    pub source: String,
}

#[derive(Debug, Clone, Serialize)]
pub struct Decisions {
    pub printer: Decided,
    pub material: Decided,
    pub nozzle: Decided,
    pub surface: Decided,
    pub agent: Decided,
    pub pose: Decided,
    pub supports: Decided,
    pub build_up: Decided,
}

#[derive(Debug, Clone, Serialize)]
pub struct Decided {
    pub value: String,
    pub detail: String,
    pub because: Vec<Reason>,
    pub runner_up: Option<made::RunnerUp>,
}

#[derive(Debug, Clone, Serialize)]
pub struct Setting {
    pub name: String,
    pub value: String,
    pub because: Reason,
}

#[derive(Debug, Clone, Serialize)]
pub struct Allowance {
    pub fit: String,
    pub function: String,
    pub target: String,
    pub printer_effect: String,
    pub terms: Vec<(String, String)>,
    pub model_size: String,
    pub spread: String,
    pub route: String,
    pub because: Reason,
}

#[derive(Debug, Clone, Serialize)]
pub struct Margin {
    pub what: String,
    pub demand: String,
    pub capacity: String,
    pub margin: String,
    pub ratio: Option<f64>,
    pub verdict: String,
    pub because: Reason,
}

#[derive(Debug, Clone, Serialize)]
pub struct Run {
    pub wanted: u32,
    pub start: u32,
    pub per_round: u32,
    pub rounds: u32,
    pub time_each: String,
    pub time_total: String,
    pub mass_each: String,
    pub mass_total: String,
    pub cost: String,
    pub because: Vec<Reason>,
}

#[derive(Debug, Clone, Serialize)]
pub struct Phase {
    pub phase: String,
    pub steps: Vec<Step>,
}

#[derive(Debug, Clone, Serialize)]
pub struct Step {
    pub text: String,
    pub blanks: Vec<String>,
    pub because: Reason,
}

#[derive(Debug, Clone, Serialize)]
pub struct Caution {
    pub kind: String,
    pub text: String,
    pub because: Reason,
}

#[derive(Debug, Clone, Serialize)]
pub struct Broken {
    pub text: String,
    pub allowed_by: String,
    pub because: Reason,
}

#[derive(Debug, Clone, Serialize)]
pub struct Rejected {
    pub decision: String,
    pub value: String,
    pub because: Reason,
}

#[derive(Debug, Clone, Serialize)]
pub struct Conflict {
    pub requirements: Vec<Requirement>,
    pub text: String,
}

#[derive(Debug, Clone, Serialize)]
pub struct Requirement {
    pub text: String,
    /// `file: path`
    pub place: String,
}

#[derive(Debug, Clone, Serialize)]
pub struct NearMiss {
    pub value: String,
    pub breaks: Vec<Reason>,
}

#[derive(Debug, Clone, Serialize)]
pub struct Relaxation {
    pub text: String,
    pub place: String,
    pub write: Option<String>,
    /// The bytes of the first text it changes.
    #[serde(skip)]
    pub at: Option<(usize, usize)>,
}

#[derive(Debug, Clone, Serialize)]
pub struct Assumption {
    pub text: String,
    pub effect: String,
    pub question: bool,
    pub tells_of_use: bool,
    /// What to write, and what it leads to.
    pub answers: Vec<(String, String)>,
}

#[derive(Debug, Clone, Serialize)]
pub struct MeshFact {
    pub name: String,
    pub value: String,
    pub warning: bool,
}

#[derive(Debug, Clone, Serialize)]
pub struct Pose {
    pub pose: String,
    pub plain: String,
    pub equals: Vec<String>,
    pub height: makeready::quantity::Length,
    pub total: made::Points,
    pub penalties: Vec<made::Weighed>,
    pub overhang: makeready::quantity::Area,
}

#[derive(Debug, Clone, Serialize)]
pub struct Region {
    pub kind: String,
    pub extent: String,
    pub verdict: String,
    pub because: String,
    pub sources: Vec<String>,
}

fn all<'a, A: 'a, B>(list: impl IntoIterator<Item = &'a A>, of: impl Fn(&'a A) -> B) -> Vec<B> {
    list.into_iter().map(of).collect()
}

fn joined<'a, T: std::fmt::Display + 'a>(list: impl IntoIterator<Item = &'a T>) -> String {
    all(list, ToString::to_string).join(", ")
}

impl From<&made::Reason> for Reason {
    fn from(r: &made::Reason) -> Self {
        Self {
            text: r.text.to_string(),
            rule: r.rule.clone(),
            places: all(&r.places, ToString::to_string),
            values: all(&r.values, |v| (v.name.clone(), v.value.to_string())),
            source: joined(&r.source),
        }
    }
}

impl From<&made::Decided> for Decided {
    fn from(d: &made::Decided) -> Self {
        Self {
            value: d.value.clone(),
            detail: d.detail.to_string(),
            because: all(&d.because, Reason::from),
            runner_up: d.runner_up.clone(),
        }
    }
}

impl From<&made::Decisions> for Decisions {
    fn from(d: &made::Decisions) -> Self {
        Self {
            printer: (&d.printer).into(),
            material: (&d.material).into(),
            nozzle: (&d.nozzle).into(),
            surface: (&d.surface).into(),
            agent: (&d.agent).into(),
            pose: (&d.pose).into(),
            supports: (&d.supports).into(),
            build_up: (&d.build_up).into(),
        }
    }
}

impl From<&made::Run> for Run {
    fn from(r: &made::Run) -> Self {
        Self {
            wanted: r.wanted,
            start: r.start,
            per_round: r.per_round,
            rounds: r.rounds,
            time_each: hours(r.time_each),
            time_total: hours(r.time_total),
            mass_each: mass(r.mass_each),
            mass_total: mass(r.mass_total),
            cost: r.cost.to_string(),
            because: all(&r.because, Reason::from),
        }
    }
}

impl From<&made::Allowance> for Allowance {
    fn from(a: &made::Allowance) -> Self {
        Self {
            fit: a.fit.clone(),
            function: a.function_words(),
            target: a.target_words(),
            printer_effect: a.printer_effect.to_string(),
            terms: all(&a.terms, |t| (t.name.as_str().to_owned(), t.words())),
            model_size: a.model_words(),
            spread: a.spread_words(),
            route: a.route.to_string(),
            because: (&a.because).into(),
        }
    }
}

impl From<&made::Recipe> for Recipe {
    fn from(r: &made::Recipe) -> Self {
        Self {
            part: r.part.clone(),
            status: r.status,
            status_line: r.status_line(),
            headline: r.headline.to_string(),
            decisions: r.decisions.as_ref().map(Decisions::from),
            settings: all(&r.settings, |s| Setting {
                name: s.name.clone(),
                value: s.value.to_string(),
                because: (&s.because).into(),
            }),
            allowances: all(&r.allowances, Allowance::from),
            margins: all(&r.margins, |m| Margin {
                what: m.what.to_string(),
                demand: m.told.demand.to_string(),
                capacity: m.told.capacity.to_string(),
                margin: m.told.margin.to_string(),
                ratio: m.ratio,
                verdict: m.verdict.words().to_owned(),
                because: (&m.because).into(),
            }),
            run: r.run.as_ref().map(Run::from),
            checklist: all(&r.checklist, |p| Phase {
                phase: p.phase.word().to_owned(),
                steps: all(&p.steps, |s| Step {
                    text: s.text.to_string(),
                    blanks: s.blanks.clone(),
                    because: (&s.because).into(),
                }),
            }),
            not_for: r.not_for.iter().map(|n| (n.usage.to_string(), n.until.to_string())).collect(),
            cautions: all(&r.cautions, |c| Caution {
                kind: c.kind.word().to_owned(),
                text: c.text.to_string(),
                because: (&c.because).into(),
            }),
            broken: all(&r.broken, |b| Broken {
                text: b.text.to_string(),
                allowed_by: format!("{}: {}", b.allowed_by.place, b.allowed_by.because),
                because: (&b.because).into(),
            }),
            rejected: all(&r.rejected, |x| Rejected {
                decision: x.decision.word().to_owned(),
                value: x.value.clone(),
                because: (&x.because).into(),
            }),
            conflicts: all(&r.conflicts, |c| Conflict {
                requirements: all(&c.requirements, |q| Requirement {
                    text: q.text.to_string(),
                    place: q.place.to_string(),
                }),
                text: c.text.to_string(),
            }),
            nearest: all(&r.nearest, |n| NearMiss { value: n.value.clone(), breaks: all(&n.breaks, Reason::from) }),
            relaxations: all(&r.relaxations, |x| Relaxation {
                text: x.text.to_string(),
                place: joined(&x.places),
                write: x.write.clone(),
                at: x.places.first().and_then(|p| p.at).map(|at| (at.start as usize, at.end as usize)),
            }),
            assumptions: all(&r.assumptions, |a| Assumption {
                text: a.text.to_string(),
                effect: a.effect.to_string(),
                question: a.question,
                tells_of_use: a.tells_of_use(),
                answers: a.answers.iter().map(|x| (x.write.clone(), x.leads_to.to_string())).collect(),
            }),
            mesh: all(&r.mesh, |m| MeshFact {
                name: m.name.to_owned(),
                value: m.value.to_string(),
                warning: m.warning,
            }),
            poses: all(&r.poses, |p| Pose {
                pose: p.pose.clone(),
                plain: p.plain.clone(),
                equals: p.equals.clone(),
                height: p.height,
                total: p.total,
                penalties: p.penalties.clone(),
                overhang: p.overhang,
            }),
            regions: all(&r.regions, |x| Region {
                kind: x.kind.words().to_owned(),
                extent: x.extent.clone(),
                verdict: x.verdict.words().to_owned(),
                because: x.because.clone(),
                sources: x.sources.clone(),
            }),
            sources: r.sources.clone(),
        }
    }
}
