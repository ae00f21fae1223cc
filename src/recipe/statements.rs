//! What became of each statement of the spec: one that nothing in the recipe rests on is said to be so, never passed over.

use std::collections::BTreeSet;

use crate::day::days_before;
use crate::diag::Cite;
use crate::fits::SourceKind;
use crate::recipe::{Assumption, Cited, Margin, Open, Phase, Reason, Recipe, Sentence, Stage, Step, Use, Work};
use crate::resolve::decide::Decided;
use crate::resolve::heat::part_heat;
use crate::resolve::margin::MarginKind;
use crate::resolve::pins;
use crate::resolve::problem::{Rules, Said};
use crate::resolve::questions;
use crate::resolve::strength;
use crate::resolve::together;
use crate::resolve::world::{World, at};
use crate::rulebook;
use crate::semantics::requirements::{Key, Kind, Requirement, requirements, without};
use crate::semantics::spec::{Face, FitFunction, Impact, Load, Place};

/// What the recipe rests on: the names its reasons read, and the places they cite.
struct Grounds<'r> {
    names: BTreeSet<&'r str>,
    places: Vec<&'r Cite>,
}

impl<'r> Grounds<'r> {
    fn of(rules: &'r Rules<'_, '_>, decided: &Decided, recipe: &'r Recipe) -> Self {
        let mut grounds = Self { names: BTreeSet::new(), places: Vec::new() };
        for reason in reasons(recipe) {
            grounds.names.extend(reason.values.iter().map(|v| v.name.as_str()));
            grounds.places.extend(&reason.places);
        }
        // Penalties decide without a line of their own.
        let apart = decided.runners_up.iter().flatten().flat_map(|r| &r.separated_by);
        let poses = decided.poses.iter().flat_map(|row| &row.penalties);
        for (constraint, _) in decided.penalties.iter().chain(apart).chain(poses) {
            grounds.names.extend(rules.rule(*constraint).names.iter().map(String::as_str));
        }
        grounds
    }

    /// Returns whether something that decided reads what a statement says.
    fn reads(&self, key: &Key) -> bool {
        self.names.iter().any(|name| key.makes(name))
    }

    /// Returns whether a statement or something within it is cited.
    fn cites(&self, requirement: &Requirement) -> bool {
        self.places.iter().any(|place| requirement.holds(place))
    }
}

/// Returns every reason of a recipe.
pub(super) fn reasons(recipe: &Recipe) -> Vec<&Reason> {
    let mut all: Vec<&Reason> = Vec::new();
    if let Some(d) = &recipe.decisions {
        all.extend(d.all().into_iter().flat_map(|(_, decided)| &decided.because));
    }
    all.extend(recipe.settings.iter().map(|s| &s.because));
    all.extend(recipe.allowances.iter().map(|a| &a.because));
    all.extend(recipe.margins.iter().map(|m| &m.because));
    all.extend(recipe.checklist.iter().flat_map(|p| &p.steps).map(|s| &s.because));
    all.extend(recipe.cautions.iter().map(|c| &c.because));
    all.extend(recipe.broken.iter().map(|b| &b.because));
    all.extend(recipe.rejected.iter().map(|r| &r.because));
    all.extend(recipe.nearest.iter().flat_map(|n| &n.breaks));
    all
}

/// Adds the steps that faces ask for and no rule has.
pub(super) fn add_face_steps(world: &World<'_>, recipe: &mut Recipe) {
    let ruled = |name: &str| world.knowledge.rulebook.rules.iter().any(|r| r.names.iter().any(|n| *n == *name));
    for face in &world.spec.faces {
        let step = |text: Work, blank: &str, because: Work| Step {
            text: text.into(),
            blanks: vec![blank.to_owned()],
            because: Reason {
                text: because.into(),
                places: vec![world.knowledge.sources.cite(face.span)],
                source: vec![Cited::bare(SourceKind::CommonPractice)],
                ..Reason::default()
            },
            fit: None,
        };
        let name = || face.name.value.clone();
        if face.no_seam && !ruled("face.no_seam") {
            let seam = step(Work::SeamElsewhere { face: name() }, "seen by", Work::SeamBecause);
            add_step(recipe, rulebook::Phase::Prepare, seam);
        }
        if let Some(marking) = face.marking.as_ref().filter(|_| !ruled("face.marking")) {
            let read = Work::ReadMarking { face: name(), marking: marking.clone() };
            add_step(recipe, rulebook::Phase::Inspect, step(read, "readable?", Work::MarkingBecause));
        }
    }
}

fn add_step(recipe: &mut Recipe, phase: rulebook::Phase, step: Step) {
    let stage = Stage::Of(phase);
    match recipe.checklist.iter_mut().find(|p| p.phase == stage) {
        Some(phase) => phase.steps.push(step),
        None => {
            // In the order of work; the first good piece has no phase of its own there and keeps its place.
            let later = |p: &Phase| matches!(p.phase, Stage::Of(other) if other > phase);
            let at = recipe.checklist.iter().position(later).unwrap_or(recipe.checklist.len());
            recipe.checklist.insert(at, Phase { phase: stage, steps: vec![step] });
        }
    }
}

/// Returns a line for each statement that nothing in the recipe rests on, or only in part.
pub(super) fn unused(rules: &Rules<'_, '_>, decided: &Decided, recipe: &Recipe) -> Vec<Assumption> {
    let world = rules.world;
    let grounds = Grounds::of(rules, decided, recipe);
    let mut plain = Vec::new();
    let mut result = Vec::new();
    for requirement in requirements(world.spec, world.knowledge.sources) {
        let written = format!("`{}`", requirement.text.trim());
        if let Some(remark) = remark(rules, decided, recipe, &requirement) {
            let dated = requirement.key.kind == Kind::Wanted;
            let in_part = dated || requirement.key.kind == Kind::Impact || settles(world, &requirement.key);
            let said = if in_part { Use::InPart(written) } else { Use::Unused(vec![written]) };
            result.push(line(said, remark, dated));
        } else if !is_used(world, decided, recipe, &grounds, &requirement) {
            plain.push((requirement.key, written));
        }
    }
    result.extend(of_loads(world));
    result.extend(loaded_as_warm_as_the_service(world, decided));
    result.extend(alone_in_any_case(world));
    result.extend(held_apart(world));
    result.extend(of_fits(world, recipe));
    result.extend(of_pressure(world));
    let (quiet, idle): (Vec<_>, Vec<_>) = plain.into_iter().partition(|(key, _)| is_asked_after(world, key));
    let written = |list: Vec<(Key, String)>| list.into_iter().map(|(_, written)| written).collect::<Vec<_>>();
    for (list, said, effect) in
        [(idle, Use::Unused as fn(Vec<String>) -> Use, Use::UnusedEffect), (quiet, Use::Quiet, Use::QuietEffect)]
    {
        let list = written(list);
        result.extend((!list.is_empty()).then(|| line(said(list), effect, false)));
    }
    result
}

fn line(text: impl Into<Sentence>, effect: impl Into<Sentence>, question: bool) -> Assumption {
    Assumption::new(text, effect, question)
}

/// Returns whether any rule reads what a statement says.
fn is_asked_after(world: &World<'_>, key: &Key) -> bool {
    world.knowledge.rulebook.rules.iter().any(|r| r.names.iter().any(|name| key.makes(name)))
}

/// Says of each load that states no course what is taken.
fn of_loads(world: &World<'_>) -> Vec<Assumption> {
    // What is held for a time is steady.
    let unsaid = world.spec.loads.iter().filter(|l| l.held.is_none() && !l.course_stated);
    unsaid.map(|l| line(Open::Steady { load: l.name.value.clone() }, Open::SteadyEffect, false)).collect()
}

/// Says of each temperature of a load that is what the part reaches anyway that it changes nothing.
fn loaded_as_warm_as_the_service(world: &World<'_>, decided: &Decided) -> Vec<Assumption> {
    let Some(heat) = world.heat(decided.choice[at::MATERIAL]) else { return Vec::new() };
    let same =
        // Of one held long it says besides that it is that warm all that time.
        |l: &&Load| {
            !strength::hangs_on_usual_heat(world, l, decided.choice[at::MATERIAL])
                && l.temperature.is_some_and(|t| (t.value.to_kelvin() - heat.temperature.to_kelvin()).abs() < 0.05)
        };
    let told = |l: &Load| {
        let written = format!("temperature {}", heat.temperature);
        let unused = Use::UnusedOfLoad { written, load: l.name.value.clone() };
        line(unused, Use::ReachedAnyway(heat.temperature), false)
    };
    world.spec.loads.iter().filter(same).map(told).collect()
}

/// Says of each load that is to act alone and has none to be combined with that the word changes nothing.
fn alone_in_any_case(world: &World<'_>) -> Vec<Assumption> {
    let loads = world.spec.loads.iter().enumerate();
    let idle = loads.filter(|(i, l)| l.alone.is_some() && !together::would_be_combined(world.spec, *i));
    let unused = |l: &Load| Use::UnusedOfLoad { written: "alone".to_owned(), load: l.name.value.clone() };
    idle.map(|(_, l)| line(unused(l), Use::NoCompany, false)).collect()
}

/// Says of loads of different holds that they are not added.
fn held_apart(world: &World<'_>) -> Option<Assumption> {
    let apart = together::held_apart(world.spec)?;
    let loads = together::names(world.spec, &apart);
    Some(line(Open::HeldApart { loads }, Open::HeldApartEffect, true))
}

/// Says what of a stated pressure was counted: the fluid only by its kind, the wall only where the bore is known.
fn of_pressure(world: &World<'_>) -> Vec<Assumption> {
    let Some(pressure) = &world.spec.pressure else { return Vec::new() };
    let mut result = Vec::new();
    if let Some(medium) = &pressure.medium {
        let known = world.spec.touching().any(|c| c.chemical.value == medium.value);
        let effect = Use::FluidAsGasOrNone { chemical: (!known).then(|| medium.value.clone()) };
        let line_of = if pressure.pressure.is_some() { "pressure of" } else { "tight against" };
        result.push(line(Use::InPart(format!("{line_of} \"{}\"", medium.value)), effect, !known));
    }
    if pressure.pressure.is_some() {
        let wall = world.stated().wall.is_some() || world.part.broad_wall.is_some();
        let effect = match pressure.bore {
            // The margin of the wall says it.
            Some(_) if wall => return result,
            Some(_) => Use::NoWall,
            None => Use::NoBore,
        };
        result.push(line(Use::InPart("pressure".to_owned()), effect, true));
    }
    result
}

/// Says of each fit what of its block is checked and no more.
fn of_fits(world: &World<'_>, recipe: &Recipe) -> Vec<Assumption> {
    let mut result = Vec::new();
    for (index, fit) in world.spec.fits.iter().enumerate() {
        let name = &fit.name.value;
        let mut told = |span, effect: Use| {
            let written = world.knowledge.sources.text(span).trim().to_owned();
            result.push(line(Use::InPartOfFit { written, fit: name.clone() }, effect, false));
        };
        let found = world.fit_places.get(index).is_some_and(|p| !p.features.is_empty());
        let deep = [MarginKind::Depth, MarginKind::Press, MarginKind::Grip];
        let computed = recipe.margins.iter().any(|m| deep.contains(&m.kind) && is_of_fit(m, name));
        if let Some(depth) = fit.depth.filter(|_| !computed) {
            told(depth.span, Use::Depth { found });
        }
        if let Some(at) = fit.at.filter(|_| !found) {
            told(at.span, Use::NotLookedFor);
        }
        if let Some(home) = fit.compensated.filter(|home| home.value && !found) {
            told(home.span, Use::NotMeasured);
        }
    }
    result
}

/// Returns what is to be said of a statement that is used in part, or for which a general word would be too little.
fn remark(rules: &Rules<'_, '_>, decided: &Decided, recipe: &Recipe, requirement: &Requirement) -> Option<Use> {
    let world = rules.world;
    let spec = world.spec;
    match requirement.key.kind {
        Kind::Wanted => {
            let run = recipe.run.as_ref()?;
            let printer = world.name(at::PRINTER, decided.choice[at::PRINTER]);
            let days = (run.time_total.to_s() / 86_400.0).ceil() as i64;
            let begin = spec.wanted_by.as_ref().and_then(|day| days_before(&day.value, days));
            Some(Use::Wanted { time: run.time_total, printer, rounds: run.rounds, begin })
        }
        Kind::Impact => match spec.impact?.value {
            Impact::Stated => None,
            Impact::Drop(_) | Impact::Blow { .. } => Some(Use::OnlyStruck),
        },
        Kind::Place if spec.service.place?.value == Place::NearHeat && spec.service.peak.is_none() => Some(Use::NoPeak),
        Kind::Deflection if !has_margin(recipe, MarginKind::Deflection) => Some(Use::NoLoadPlaced),
        Kind::Waive => {
            let set_aside = |said: &Said| requirement.key.is(&rules.rule(said.constraint).name);
            let needed = decided.waived.iter().any(set_aside);
            (!needed).then_some(Use::NothingSetAside)
        }
        _ => None,
    }
}

/// Whether a margin is of what a fit asks for, and not of a load or a contact of the same name.
fn is_of_fit(margin: &Margin, fit: &str) -> bool {
    margin.asked_by.as_ref().is_some_and(|key| key.kind == Kind::Fit && key.is(fit))
}

fn has_margin(recipe: &Recipe, kind: MarginKind) -> bool {
    recipe.margins.iter().any(|m| m.kind == kind)
}

/// Returns whether anything in the recipe rests on a statement.
fn is_used(
    world: &World<'_>,
    decided: &Decided,
    recipe: &Recipe,
    grounds: &Grounds<'_>,
    requirement: &Requirement,
) -> bool {
    let spec = world.spec;
    let cited = || grounds.cites(requirement);
    let key = &requirement.key;
    let read = || cited() || grounds.reads(key);
    // By the table: a margin it is held against, and not one of the same name.
    let held = || recipe.margins.iter().any(|m| m.asked_by.as_ref() == Some(key));
    match key.kind {
        // Checked against the mesh, counted in the run, or in the heat sum in any case; a wall has its margin.
        Kind::Size | Kind::Quantity | Kind::Wanted | Kind::Wall => true,
        Kind::Air | Kind::Deflection => held(),
        Kind::Sun => grounds.reads(key) || held() || heats(world, decided, key) || settles(world, key),
        Kind::Peak | Kind::Place | Kind::Back => {
            grounds.reads(key) || heats(world, decided, key) || settles(world, key)
        }
        Kind::Colour | Kind::Wet => grounds.reads(key) || heats(world, decided, key),
        Kind::Usual => has_margin(recipe, MarginKind::Load),
        Kind::Consequence => read() || lets_a_factor_be(world),
        Kind::Stage | Kind::Pressure | Kind::SecondColour | Kind::Wear | Kind::Impact => read(),
        Kind::Prefer => {
            let weighs = |word: &str| grounds.names.iter().any(|n| n.strip_prefix("part.prefers_") == Some(word));
            spec.preferences.iter().any(|p| weighs(p.value.word()))
        }
        Kind::Face => {
            let face = spec.faces.iter().find(|f| key.is(&f.name.value));
            face.is_some_and(|face| face_is_used(world, decided, face) || cited())
        }
        Kind::Fit => {
            let Some(fit) = spec.fits.iter().find(|f| key.is(&f.name.value)) else { return false };
            let snapped = matches!(fit.function.value, FitFunction::Snap { .. } | FitFunction::Hinge { .. });
            recipe.allowances.iter().any(|a| a.fit == fit.name.value) || (snapped && held())
        }
        // What is forbidden was taken from the choices, whether or not it would have been the best.
        Kind::Forbid => {
            let forbidden = spec.forbids.iter().filter(|f| f.span == requirement.span);
            forbidden.into_iter().any(|f| pins::excludes(world, f)) || cited()
        }
        // That it let the job pass, or that nothing was set aside, is said apart.
        Kind::Waive | Kind::Denial => true,
        Kind::Contact | Kind::Load | Kind::Treat | Kind::Ask | Kind::Pin => cited(),
    }
}

/// Returns whether a line of the service changes what the chosen material reaches.
fn heats(world: &World<'_>, decided: &Decided, key: &Key) -> bool {
    let coat = |spec| world.bench.coat(decided.choice[at::MATERIAL], spec, world.part);
    let sum = |spec| {
        part_heat(spec, world.knowledge.catalogue, coat(spec), world.part.stoutness_mm())
            .map(|h| (h.working, h.assumed))
    };
    sum(world.spec) != sum(&without(world.spec, [key]))
}

/// Returns whether a line settles or raises a question that would otherwise be another one, or none.
fn settles(world: &World<'_>, key: &Key) -> bool {
    let open = |spec: &_| questions::open(spec, world.knowledge.catalogue);
    open(world.spec) != open(&without(world.spec, [key]))
}

/// The consequence of failure gives the factor of every load that states none.
fn lets_a_factor_be(world: &World<'_>) -> bool {
    world.spec.loads.iter().any(|l| l.factor.is_none())
}

/// Returns whether a load acts at a face or is held there, or the part is laid on it.
fn face_is_used(world: &World<'_>, decided: &Decided, face: &Face) -> bool {
    let mut places = world.spec.loads.iter().flat_map(Load::places);
    let carries = places.any(|(w, _)| w.face() == Some(face.name.value.as_str()));
    let index = world.spec.faces.iter().position(|f| f.name.value == face.name.value);
    carries || index.is_some_and(|i| world.part.lies_down(i, decided.choice[at::POSE]) == Some(true))
}
