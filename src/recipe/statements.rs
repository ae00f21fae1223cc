//! What became of each statement of the spec: one that nothing in the recipe rests on is said to be so, never passed over.

use std::collections::BTreeSet;

use crate::recipe::{Assumption, Phase, Reason, Recipe, Step};
use crate::resolve::decide::Decided;
use crate::resolve::heat::part_heat;
use crate::resolve::pins;
use crate::resolve::problem::{Rules, Said};
use crate::resolve::together;
use crate::resolve::world::{World, at};
use crate::semantics::requirements::{Key, Kind, Requirement, requirements, without};
use crate::semantics::spec::{Face, FitFunction, Impact, Load, Place, Where};

/// How the line of a statement begins that nothing rests on, and of one of which something is passed over.
const UNUSED: &str = "not used in deciding: ";
const IN_PART: &str = "used only in part: ";
/// Of one that rules ask after: they were content, which may be just what it is for.
const QUIET: &str = "looked at, and nothing more to say: ";

/// Returns whether an assumption says what became of a statement, rather than what was left open.
pub fn tells_of_use(assumption: &Assumption) -> bool {
    [UNUSED, IN_PART, QUIET].iter().any(|start| assumption.text.starts_with(start))
}

/// What the recipe rests on: the names its reasons read, and the places they cite.
struct Cited<'r> {
    names: BTreeSet<&'r str>,
    texts: Vec<&'r str>,
}

impl<'r> Cited<'r> {
    fn of(rules: &'r Rules<'_, '_>, decided: &Decided, recipe: &'r Recipe) -> Self {
        let mut cited = Self { names: BTreeSet::new(), texts: Vec::new() };
        for reason in reasons(recipe) {
            cited.names.extend(reason.values.iter().map(|v| v.name.as_str()));
            cited.texts.extend(reason.places.iter().map(String::as_str));
            cited.texts.push(&reason.text);
        }
        // Penalties decide without a line of their own.
        let apart = decided.runners_up.iter().flatten().flat_map(|r| &r.separated_by);
        let poses = decided.poses.iter().flat_map(|(_, _, penalties)| penalties);
        for (constraint, _) in decided.penalties.iter().chain(apart).chain(poses) {
            cited.names.extend(rules.rule(*constraint).names.iter().map(String::as_str));
        }
        cited
    }

    /// Returns whether something that decided reads what a statement says.
    fn reads(&self, key: &Key) -> bool {
        self.names.iter().any(|name| key.makes(name))
    }

    /// Returns whether a `file:line` is cited: as it is, not as the beginning of a longer one.
    fn place(&self, place: &str) -> bool {
        let whole = |text: &str| {
            text.match_indices(place).any(|(i, _)| !text[i + place.len()..].starts_with(|c: char| c.is_ascii_digit()))
        };
        self.texts.iter().any(|t| whole(t))
    }
}

/// Returns every reason of a recipe.
pub(super) fn reasons(recipe: &Recipe) -> Vec<&Reason> {
    let mut all: Vec<&Reason> = Vec::new();
    if let Some(d) = &recipe.decisions {
        for decided in [&d.printer, &d.material, &d.nozzle, &d.surface, &d.agent, &d.pose, &d.supports] {
            all.extend(&decided.because);
        }
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
        let name = &face.name.value;
        let because = |text: &str| Reason {
            text: text.to_owned(),
            places: vec![world.knowledge.sources.place(face.span)],
            source: Some("common-practice".to_owned()),
            ..Reason::default()
        };
        if face.no_seam && !ruled("face.no_seam") {
            let step = Step {
                text: format!(
                    "Put the seam (where each outer line begins and ends) on another side than the face \"{name}\"."
                ),
                blanks: vec!["seen by".to_owned()],
                because: because("every layer's outline is closed somewhere, and there it leaves a mark"),
            };
            add_step(recipe, "prepare", "Prepare", step);
        }
        if let Some(marking) = face.marking.as_ref().filter(|_| !ruled("face.marking")) {
            let step = Step {
                text: format!(
                    "Read the marking \"{marking}\" on the face \"{name}\" at arm's length; cut, paint or label it anew where a letter is closed up."
                ),
                blanks: vec!["readable?".to_owned()],
                because: because("strokes narrower than a line of the nozzle run together or are left out"),
            };
            add_step(recipe, "inspect", "Inspect", step);
        }
    }
}

fn add_step(recipe: &mut Recipe, word: &str, title: &str, step: Step) {
    match recipe.checklist.iter_mut().find(|p| p.phase == word) {
        Some(phase) => phase.steps.push(step),
        None => {
            let at = if word == "prepare" { 0 } else { recipe.checklist.len() };
            recipe.checklist.insert(at, Phase { phase: word.to_owned(), title: title.to_owned(), steps: vec![step] });
        }
    }
}

/// Returns a line for each statement that nothing in the recipe rests on, or only in part.
pub(super) fn unused(rules: &Rules<'_, '_>, decided: &Decided, recipe: &Recipe) -> Vec<Assumption> {
    let world = rules.world;
    let cited = Cited::of(rules, decided, recipe);
    let mut plain = Vec::new();
    let mut result = Vec::new();
    for requirement in requirements(world.spec, world.knowledge.sources) {
        let written = format!("`{}`", requirement.text.trim());
        if let Some(remark) = remark(rules, decided, recipe, &requirement) {
            let start = if requirement.key.kind == Kind::Impact { IN_PART } else { UNUSED };
            result.push(Assumption { text: format!("{start}{written}"), effect: remark, question: false });
        } else if !is_used(world, decided, recipe, &cited, &requirement) {
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
    for (start, list, effect) in [
        (UNUSED, idle, "no decision, setting, step, caution or margin of this recipe rests on it"),
        (
            QUIET,
            quiet,
            "the rules that ask after it were content with this choice: no line cites it; others it may have ruled out",
        ),
    ] {
        let written: Vec<String> = list.into_iter().map(|(_, written)| written).collect();
        if !written.is_empty() {
            let text = format!("{start}{}", written.join(", "));
            result.push(Assumption { text, effect: effect.to_owned(), question: false });
        }
    }
    result
}

/// Returns whether any rule reads what a statement says.
fn is_asked_after(world: &World<'_>, key: &Key) -> bool {
    world.knowledge.rulebook.rules.iter().any(|r| r.names.iter().any(|name| key.makes(name)))
}

/// Says of each load that states no course what is taken.
fn of_loads(world: &World<'_>) -> Vec<Assumption> {
    let said = |word: &str| ["steady", "shock", "cyclic"].iter().any(|course| word.starts_with(course));
    // What is held for a time is steady.
    let unsaid =
        world.spec.loads.iter().filter(|l| l.held.is_none() && !said(world.knowledge.sources.text(l.course.span)));
    let line = |l: &Load| Assumption {
        text: format!("load \"{}\": neither `steady`, `shock` nor `cyclic`: steady assumed", l.name.value),
        effect: "a load that comes suddenly counts double, one that comes and goes tires the part".to_owned(),
        question: false,
    };
    unsaid.map(line).collect()
}

/// Says of each temperature of a load that is what the part reaches anyway that it changes nothing.
fn loaded_as_warm_as_the_service(world: &World<'_>, decided: &Decided) -> Vec<Assumption> {
    let Some(heat) = world.heat(decided.choice[at::MATERIAL]) else { return Vec::new() };
    let same =
        |l: &&Load| l.temperature.is_some_and(|t| (t.value.to_kelvin() - heat.temperature.to_kelvin()).abs() < 0.05);
    let line = |l: &Load| Assumption {
        text: format!("{UNUSED}`temperature {}` of load \"{}\"", heat.temperature, l.name.value),
        effect: format!("the part reaches {} in any case", heat.temperature),
        question: false,
    };
    world.spec.loads.iter().filter(same).map(line).collect()
}

/// Says of each load that is to act alone and has none to be combined with that the word changes nothing.
fn alone_in_any_case(world: &World<'_>) -> Vec<Assumption> {
    let loads = world.spec.loads.iter().enumerate();
    let idle = loads.filter(|(i, l)| l.alone.is_some() && !together::would_be_combined(world.spec, *i));
    let line = |l: &Load| Assumption {
        text: format!("{UNUSED}`alone` of load \"{}\"", l.name.value),
        effect: "no other load would act together with it".to_owned(),
        question: false,
    };
    idle.map(|(_, l)| line(l)).collect()
}

/// Says of loads of different holds that they are not added.
fn held_apart(world: &World<'_>) -> Option<Assumption> {
    let apart = together::held_apart(world.spec)?;
    Some(Assumption {
        text: format!(
            "the loads {} are held at different places: those of different holds are not added",
            together::names(world.spec, &apart)
        ),
        effect:
            "do they act at once, the part bears more than any margin here counts: state one hold for all, or test a \
                 piece with all of them"
                .to_owned(),
        question: true,
    })
}

/// Says what of a stated pressure was counted: the fluid only by its kind, the wall only where the bore is known.
fn of_pressure(world: &World<'_>) -> Vec<Assumption> {
    let Some(pressure) = &world.spec.pressure else { return Vec::new() };
    let mut result = Vec::new();
    let mut add = |what: String, effect: String, question| {
        result.push(Assumption { text: format!("{IN_PART}{what}"), effect, question });
    };
    if let Some(medium) = &pressure.medium {
        let known = world.spec.service.contacts.iter().any(|c| c.chemical.value == medium.value);
        let more = format!("; write `contact \"{}\" immersed` for what it does to the plastic", medium.value);
        let effect = format!("the fluid counts only as a gas or none{}", if known { "" } else { &more });
        add(format!("pressure of \"{}\"", medium.value), effect, !known);
    }
    if pressure.pressure.is_some() {
        let wall = world.spec.wall.is_some() || world.part.broad_wall.is_some();
        match pressure.bore {
            // The margin of the wall says it.
            Some(_) if wall => {}
            Some(_) => add(
                "pressure".to_owned(),
                "no wall could be measured or is stated: whether it holds was not computed; write `wall at least 3 mm`"
                    .to_owned(),
                true,
            ),
            None => add(
                "pressure".to_owned(),
                "no bore is stated: whether the wall holds was not computed; write `bore 20 mm` behind the pressure"
                    .to_owned(),
                true,
            ),
        }
    }
    result
}

/// Says of each fit what of its block is checked and no more.
fn of_fits(world: &World<'_>, recipe: &Recipe) -> Vec<Assumption> {
    let mut result = Vec::new();
    for (index, fit) in world.spec.fits.iter().enumerate() {
        let name = &fit.name.value;
        let line = |span, effect: &str, question| Assumption {
            text: format!("{IN_PART}`{}` of fit \"{name}\"", world.knowledge.sources.text(span).trim()),
            effect: effect.to_owned(),
            question,
        };
        let found = world.fit_places.get(index).is_some_and(|p| !p.features.is_empty());
        let quoted = format!("\"{name}\"");
        let computed = recipe.margins.iter().any(|m| {
            m.what.ends_with(&quoted) && ["depth ", "press ", "grip "].iter().any(|start| m.what.starts_with(start))
        });
        if let Some(depth) = fit.depth.filter(|_| !computed) {
            let effect = match found {
                true => "it was held against the mesh; nothing is computed with it",
                false => {
                    "the feature was not measured on the mesh, and nothing is computed with it: check it in the model"
                }
            };
            result.push(line(depth.span, effect, false));
        }
        if let Some(at) = fit.at.filter(|_| !found) {
            result.push(line(at.span, "such a feature is not looked for on the mesh, there or elsewhere", false));
        }
        if let Some(home) = fit.compensated.filter(|home| home.value && !found) {
            let effect = "the feature was not measured on the mesh: whether the model has its allowance is not known";
            result.push(line(home.span, effect, false));
        }
    }
    result
}

/// Returns what is to be said of a statement that is used in part, or for which a general word would be too little.
fn remark(rules: &Rules<'_, '_>, decided: &Decided, recipe: &Recipe, requirement: &Requirement) -> Option<String> {
    let world = rules.world;
    let spec = world.spec;
    match requirement.key.kind {
        Kind::Wanted => {
            let run = recipe.run.as_ref()?;
            let plates = if run.rounds == 1 { "one round".to_owned() } else { format!("{} rounds", run.rounds) };
            let printer = world.name(at::PRINTER, decided.choice[at::PRINTER]);
            Some(format!(
                "no clock is read and no queue is known: the run takes about {} on {printer}, {plates}; work back from the day",
                run.time_total
            ))
        }
        Kind::Impact => match spec.impact?.value {
            Impact::Stated => None,
            Impact::Drop(_) | Impact::Blow { .. } => Some(
                "only that it is struck counts, for a tough material: no energy is computed; try one piece before the rest"
                    .to_owned(),
            ),
        },
        Kind::Place if spec.service.place?.value == Place::NearHeat && spec.service.peak.is_none() => {
            Some("how hot it gets near that heat is not stated: write `peak 60 °C` for what the part reaches".to_owned())
        }
        Kind::Deflection if !recipe.margins.iter().any(|m| m.what == "deflection") => {
            Some("there is no load placed on the mesh under which it could be computed".to_owned())
        }
        Kind::Waive => {
            let set_aside = |said: &Said| requirement.key.is(&rules.rule(said.constraint).name);
            let needed = decided.waived.iter().any(set_aside);
            (!needed).then(|| {
                "the rule holds here without it: nothing was set aside; take the line away, or it hides a break later".to_owned()
            })
        }
        _ => None,
    }
}

/// Returns whether anything in the recipe rests on a statement.
fn is_used(
    world: &World<'_>,
    decided: &Decided,
    recipe: &Recipe,
    cited: &Cited<'_>,
    requirement: &Requirement,
) -> bool {
    let spec = world.spec;
    let place = world.knowledge.sources.place(requirement.span);
    let key = &requirement.key;
    let margin = |what: &str| recipe.margins.iter().any(|m| m.what.contains(what));
    let read = || cited.place(&place) || cited.reads(key);
    match key.kind {
        // Checked against the mesh, counted in the run, or in the heat sum in any case; a wall has its margin.
        Kind::Size | Kind::Quantity | Kind::Wanted | Kind::Wall => true,
        Kind::Air => margin("heat"),
        Kind::Sun => cited.reads(key) || margin("sunlight") || heats(world, decided, key),
        Kind::Peak | Kind::Place | Kind::Colour | Kind::Wet => cited.reads(key) || heats(world, decided, key),
        Kind::Consequence => read() || lets_a_factor_be(world),
        Kind::Deflection => margin("deflection"),
        Kind::Stage | Kind::Pressure | Kind::Wear | Kind::Impact => read(),
        Kind::Prefer => {
            let weighs = |word: &str| cited.names.iter().any(|n| n.strip_prefix("part.prefers_") == Some(word));
            spec.preferences.iter().any(|p| weighs(p.value.word()))
        }
        Kind::Face => {
            let face = spec.faces.iter().find(|f| key.is(&f.name.value));
            face.is_some_and(|face| face_is_used(world, recipe, cited, face, &place))
        }
        Kind::Fit => {
            let Some(fit) = spec.fits.iter().find(|f| key.is(&f.name.value)) else { return false };
            let quoted = format!("\"{}\"", fit.name.value);
            let snapped = matches!(fit.function.value, FitFunction::Snap { .. } | FitFunction::Hinge { .. });
            recipe.allowances.iter().any(|a| a.fit == fit.name.value) || (snapped && margin(&quoted))
        }
        // What is forbidden was taken from the choices, whether or not it would have been the best.
        Kind::Forbid => {
            let forbidden = spec.forbids.iter().filter(|f| f.span == requirement.span);
            forbidden.into_iter().any(|f| pins::excludes(world, f)) || cited.place(&place)
        }
        // That it let the job pass, or that nothing was set aside, is said apart.
        Kind::Waive => true,
        Kind::Contact | Kind::Load | Kind::Treat | Kind::Ask | Kind::Pin => cited.place(&place),
    }
}

/// Returns whether a line of the service changes what the chosen material reaches.
fn heats(world: &World<'_>, decided: &Decided, key: &Key) -> bool {
    let coat = |spec| world.bench.coat(decided.choice[at::MATERIAL], spec, world.part);
    let sum = |spec| part_heat(spec, world.knowledge.catalogue, coat(spec)).map(|h| (h.working, h.assumed));
    sum(world.spec) != sum(&without(world.spec, [key]))
}

/// The consequence of failure gives the factor of every load that states none.
fn lets_a_factor_be(world: &World<'_>) -> bool {
    world.spec.loads.iter().any(|l| l.factor.is_none())
}

fn face_is_used(world: &World<'_>, recipe: &Recipe, cited: &Cited<'_>, face: &Face, place: &str) -> bool {
    let named = |w: &Option<crate::semantics::spec::Stated<Where>>| matches!(w.as_ref().map(|w| &w.value), Some(Where::Face(name)) if *name == face.name.value);
    let carries = world.spec.loads.iter().any(|l| named(&l.at) || named(&l.fixed));
    let quoted = format!("\"{}\"", face.name.value);
    let pose = recipe.decisions.as_ref().is_some_and(|d| d.pose.value.contains(&quoted));
    carries || pose || cited.place(place)
}
