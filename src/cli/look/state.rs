//! What the page shows: compiled when it is asked for, and again when one of the files it was made from has changed.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant, SystemTime};

use serde_json::{Value, json};

use super::GLANCE;
use crate::cli::args::DiffForm;
use crate::cli::compile::machine_part;
use crate::cli::diff;
use crate::cli::explain::what_if::{self, Asked};
use crate::cli::pipeline::{self, Options, Part};
use crate::cli::world::World;
use crate::diag::{Diagnostic, Sources};
use crate::geometry::mesh::Mesh;
use crate::geometry::regions::{Region, Verdict};
use crate::quantity::Quantity;
use crate::recipe::refusal::rewritten;
use crate::render::{html, markdown};
use crate::resolve::breaks::{self, Breaks};
use crate::resolve::problem::Rules;
use crate::resolve::world::at;
use crate::resolve::{Outcome, decide};
use crate::semantics::form::Context;

/// How long a question for changes waits before it is answered that there are none.
const PATIENCE: Duration = Duration::from_secs(20);
/// Most regions and holes that are named in the drawing.
const NAMED: usize = 60;

/// What one page shows.
pub(super) struct Shown {
    world: World,
    spec: PathBuf,
    options: Options,
    made: Mutex<Option<Made>>,
}

/// The page as it was last made.
struct Made {
    version: u64,
    /// When each file it was made from was last changed.
    files: BTreeMap<PathBuf, Option<SystemTime>>,
    state: Value,
    meshes: Vec<Vec<u8>>,
    /// Along each number of the first part, once somebody asked.
    breaks: Option<Vec<Breaks>>,
}

impl Shown {
    pub(super) fn new(world: World, spec: PathBuf, options: Options) -> Self {
        Self { world, spec, options, made: Mutex::new(None) }
    }

    /// Does something with the page as its files are now, and makes it anew where one has changed.
    fn with<T>(&self, use_it: impl FnOnce(&mut Made) -> T) -> T {
        let mut made = self.made.lock().unwrap_or_else(PoisonError::into_inner);
        let version = made.as_ref().map_or(0, |m| m.version);
        let mut now = match made.take() {
            Some(made) if !made.is_stale() => made,
            _ => self.make(version + 1),
        };
        let answer = use_it(&mut now);
        *made = Some(now);
        answer
    }

    /// Returns all but meshes and numbers.
    pub(super) fn state(&self) -> Value {
        self.with(|made| made.state.clone())
    }

    /// Waits until a later version can be made than the one that is shown.
    pub(super) fn wait(&self, since: u64) -> Value {
        let until = Instant::now() + PATIENCE;
        loop {
            let version = {
                let made = self.made.lock().unwrap_or_else(PoisonError::into_inner);
                made.as_ref().map_or(0, |m| m.version + u64::from(m.is_stale()))
            };
            if version > since || Instant::now() >= until {
                return json!({ "version": version });
            }
            std::thread::sleep(GLANCE);
        }
    }

    /// Returns a part's mesh: three places of three numbers for each triangle, little-endian.
    pub(super) fn mesh(&self, part: usize) -> Option<Vec<u8>> {
        self.with(|made| made.meshes.get(part).cloned())
    }

    /// Returns along each number of the spec what would be chosen.
    pub(super) fn numbers(&self) -> Value {
        let (version, known) = self.with(|made| (made.version, made.breaks.clone()));
        // Solved while others may ask for the rest.
        let found = known.unwrap_or_else(|| self.breaks());
        let answer = json!(found.iter().map(along).collect::<Vec<_>>());
        self.with(|made| {
            if made.version == version {
                made.breaks = Some(found);
            }
        });
        answer
    }

    fn breaks(&self) -> Vec<Breaks> {
        let mut found = Vec::new();
        pipeline::with_rules(&self.world, &self.spec, &self.options, &mut |rules| {
            if found.is_empty() {
                found = breaks::find(rules);
            }
        });
        found
    }

    /// Returns what another value of a number would decide differently, as `explain --with` tells it.
    pub(super) fn suppose(&self, number: usize, value: f64) -> Value {
        let line = self.with(|made| {
            let along = made.breaks.as_ref()?.get(number)?;
            let to = Quantity::new(value, along.stated.dimension);
            let line = rewritten(along.line.as_ref()?, along.stated, to);
            let in_service = along.requirement.key.row().context == Context::Service;
            Some(if in_service { format!("service {{ {line} }}") } else { line })
        });
        let Some(line) = line else { return json!({ "text": "" }) };
        let asked = [Asked::With(line.clone())];
        let with = |_: &[usize]| what_if::changed(&self.world, &self.spec, &asked, &self.options).ok();
        let changes = diff::Supposed { words: asked.iter().map(Asked::words).collect(), with: &with };
        let mut told = diff::Compared::default();
        let options = Options { pictures: false, ..self.options.clone() };
        let text = diff::supposed_text(&self.spec, &self.world, &changes, (&options, DiffForm::Text), &mut told);
        json!({ "line": line, "text": text.unwrap_or_else(|| "It cannot be read so.".to_owned()) })
    }

    fn make(&self, version: u64) -> Made {
        let (mut drawn, mut meshes) = (Vec::new(), Vec::new());
        let compiled = pipeline::compile_visiting(&self.world, &self.spec, &self.options, &mut |rules, outcome, _| {
            meshes.push(bytes_of(&rules.world.part.mesh));
            drawn.push(drawing(rules, outcome));
        });
        let parts: Vec<Value> = compiled.parts.iter().zip(drawn).map(|(part, drawn)| shown(part, &drawn)).collect();
        let files = self.files(&compiled.parts, &compiled.sources);
        let findings: Vec<Value> = compiled.diagnostics.iter().map(|d| finding(d, &compiled.sources)).collect();
        let state = json!({ "version": version, "parts": parts, "findings": findings });
        Made { version, files, state, meshes, breaks: None }
    }

    /// Returns the files a page was made from, with the time of each: those of the recipes, and of whatever a finding may be in.
    fn files(&self, parts: &[Part], sources: &Sources) -> BTreeMap<PathBuf, Option<SystemTime>> {
        let inputs = parts.iter().flat_map(|p| &p.recipe.inputs).map(|i| i.name.clone());
        let read = sources.iter().map(|(_, s)| s.name.clone());
        let root = self.world.root();
        let named = inputs.chain(read).map(|name| root.join(name)).filter(|path| path.is_file());
        named
            .chain([self.spec.clone()])
            .map(|path| {
                let at = changed_at(&path);
                (path, at)
            })
            .collect()
    }
}

impl Made {
    fn is_stale(&self) -> bool {
        self.files.iter().any(|(path, at)| changed_at(path) != *at)
    }
}

fn changed_at(path: &Path) -> Option<SystemTime> {
    std::fs::metadata(path).and_then(|about| about.modified()).ok()
}

fn bytes_of(mesh: &Mesh) -> Vec<u8> {
    let corners = mesh.triangles.iter().flatten().filter_map(|&v| mesh.vertices.get(v as usize));
    corners.flatten().flat_map(|c| (*c as f32).to_le_bytes()).collect()
}

/// What the drawing shows: which way up, what hangs over, holes.
fn drawing(rules: &Rules<'_, '_>, outcome: &Outcome) -> Value {
    let part = rules.world.part;
    let pose = match outcome {
        Outcome::Decided(decided) => Some(decided.choice[at::POSE]),
        Outcome::Refused(refused) => refused.nearest.first().and_then(|(near, _)| near.choice.get(at::POSE).copied()),
    };
    let up = pose.and_then(|p| part.poses.get(p)).map(|p| p.pose.up);
    let limits = match outcome {
        Outcome::Decided(decided) => Some(rules.world.limits(&decide::full(&decided.choice))),
        Outcome::Refused(_) => None,
    };
    let regions = pose.zip(limits).and_then(|(pose, limits)| part.regions(pose, &limits));
    let regions = regions.iter().flat_map(|r| &r.list).take(NAMED);
    // What prints as it is is in the list alone: the drawing names what asks for something.
    let named = |r: &Region| if r.verdict == Verdict::None { String::new() } else { r.kind.words().to_owned() };
    let words = |r: &Region| format!("{}: {}; {}", r.kind.words(), r.verdict.words(), r.because);
    let regions: Vec<Value> = regions.map(|r| json!({ "at": r.at, "name": named(r), "words": words(r) })).collect();
    let short = |name: &str| name.split(':').next().unwrap_or_default().to_owned();
    let holes = part.features.holes.iter().take(NAMED);
    let holes: Vec<Value> =
        holes.map(|h| json!({ "at": h.centre_mm, "name": short(&h.name), "words": h.name })).collect();
    json!({ "up": up, "regions": regions, "holes": holes })
}

fn shown(part: &Part, drawn: &Value) -> Value {
    let recipe = &part.recipe;
    let link = part.picture.as_ref().map(|_| "picture.svg");
    let text = markdown::markdown(recipe, link).unwrap_or_default();
    // The page for the machine; the part for the review begins behind the rule.
    let sheet = html::Sheet { markdown: machine_part(&text), picture: part.picture.clone(), running: String::new() };
    json!({
        "name": recipe.part,
        "status": recipe.status.words(),
        "headline": recipe.headline.to_string(),
        "html": html::fragment(&sheet),
        "triangles": drawn,
    })
}

fn finding(d: &Diagnostic, sources: &Sources) -> Value {
    let place = d.labels.first().map(|l| sources.place(l.span)).unwrap_or_default();
    json!({ "severity": d.severity.to_string(), "message": d.message, "place": place, "hints": d.hints })
}

fn along(breaks: &Breaks) -> Value {
    let stretches: Vec<Value> = breaks
        .stretches
        .iter()
        .map(|s| json!({ "to": s.to.si, "words": s.to.to_string(), "made": s.made.as_ref().map(|m| m.iter().take(2).rev().cloned().collect::<Vec<_>>().join(" on ")) }))
        .collect();
    let stated = breaks.stated;
    json!({
        "name": crate::render::breaks::title(breaks),
        "stated": stated.si,
        "offset": if stated.dimension.point { 273.15 } else { 0.0 },
        "low": breaks.low.si,
        "high": breaks.stretches.last().map_or(stated.si, |s| s.to.si),
        "stretches": stretches,
    })
}
