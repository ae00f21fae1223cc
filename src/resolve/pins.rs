//! Pins and forbiddings: obeyed as narrowed domains; what they name must exist on the bench.

use crate::catalogue::Catalogue;
use crate::diag::{Diagnostic, Span, nearest};
use crate::quantity::Quantity;
use crate::rulebook::Rulebook;
use crate::rulebook::value::{Fact, Origin, Record, Text};
use crate::semantics::spec::{Choice, ChoiceValue, Decision, Spec, Waiver};

use super::search::Allowed;
use super::shop::Bench;
use super::world::{COUNT, Knowledge, SUPPORTS, World, at};

use super::part::ONE_POSE;

fn index(decision: Decision) -> Option<usize> {
    match decision {
        Decision::Printer => Some(at::PRINTER),
        Decision::Material | Decision::Spool => Some(at::MATERIAL),
        Decision::Nozzle => Some(at::NOZZLE),
        Decision::Surface => Some(at::SURFACE),
        Decision::Agent => Some(at::AGENT),
        Decision::Pose => Some(at::POSE),
        Decision::Supports => Some(at::SUPPORTS),
        Decision::BuildUp => Some(at::BUILD_UP),
        Decision::Setting => None,
    }
}

/// Returns the settings a spec pins.
pub fn settings(spec: &Spec) -> Record {
    let mut record = Record::new("settings");
    for pin in spec.pins.iter().filter(|p| p.decision.value == Decision::Setting) {
        if let (Some(name), Some(value)) = (&pin.setting, quantity(&pin.value.value)) {
            let origin = Origin::Computed { working: format!("pinned by the spec: {}", pin.because).into() };
            record.insert(Text::shared(name), Fact { value: value.into(), origin });
        }
    }
    record
}

fn quantity(value: &ChoiceValue) -> Option<Quantity> {
    Some(match value {
        ChoiceValue::Length(l) => (*l).into(),
        ChoiceValue::Temperature(t) => (*t).into(),
        ChoiceValue::TemperatureDifference(t) => (*t).into(),
        ChoiceValue::Area(a) => (*a).into(),
        ChoiceValue::Angle(a) => (*a).into(),
        ChoiceValue::Speed(s) => (*s).into(),
        ChoiceValue::Number(n) => Quantity::number(*n),
        ChoiceValue::Named(_) | ChoiceValue::Up(_) | ChoiceValue::OnFace(_) => return None,
    })
}

/// Returns whether a value of a decision is what a pin or forbidding names.
fn is_meant(world: &World<'_>, choice: &Choice, decision: usize, value: usize) -> bool {
    match (&choice.value.value, decision) {
        (ChoiceValue::Up(direction), at::POSE) => {
            world.part.poses.get(value).is_some_and(|p| crate::geometry::vector::dot(p.pose.up, direction.0) > ONE_POSE)
        }
        (ChoiceValue::OnFace(face), at::POSE) => {
            let index = world.spec.faces.iter().position(|f| f.name.value == *face);
            index.is_some_and(|i| world.part.lies_down(i, value) == Some(true))
        }
        (ChoiceValue::Named(name), at::POSE) => crate::geometry::pose::read(name).is_some_and(|up| {
            let pose = world.part.poses.get(value);
            pose.is_some_and(|p| crate::geometry::vector::dot(p.pose.up, up) > ONE_POSE)
        }),
        _ => is_meant_on(&world.bench, choice, decision, value),
    }
}

/// Returns whether a value of the bench is what a pin or forbidding names; poses are the part's.
fn is_meant_on(b: &Bench<'_>, choice: &Choice, decision: usize, value: usize) -> bool {
    match (&choice.value.value, decision) {
        (ChoiceValue::Named(name), at::MATERIAL) if choice.decision.value == Decision::Spool => {
            b.spools.iter().any(|s| same(&s.name, name) && b.materials.get(value).is_some_and(|m| m.name == s.material))
        }
        (ChoiceValue::Named(name), at::SURFACE) => b
            .surfaces
            .get(value)
            .is_some_and(|s| same(&s.name, name) || same(&s.kind.name, name) || same(&s.kind.title.value, name)),
        (ChoiceValue::Named(name), at::AGENT) => b.agents.get(value).is_some_and(|a| {
            same(&a.name, name) || a.kind.is_some_and(|k| same(&k.name, name) || same(&k.title.value, name))
        }),
        (ChoiceValue::Named(name), at::NOZZLE) => b.nozzles.get(value).is_some_and(|n| {
            same(&n.name, name)
                || same(&n.metal.name, name)
                || same(&n.metal.title.value, name)
                || same(&format!("{} {}", n.metal.name, n.bore.to_mm()), name)
        }),
        (ChoiceValue::Named(name), at::SUPPORTS) => {
            // Anything else is no answer: `off` must not come to mean supports where they are needed.
            let wanted = if matches!(name.as_str(), "none" | "no") { SUPPORTS[0].as_str() } else { name.as_str() };
            SUPPORTS.get(value).is_some_and(|s| same(s.as_str(), wanted))
        }
        (ChoiceValue::Named(name), _) => names(b, decision).get(value).is_some_and(|n| same(n, name)),
        (ChoiceValue::Length(bore), at::NOZZLE) => {
            b.nozzles.get(value).is_some_and(|n| (n.bore.to_mm() - bore.to_mm()).abs() < 1e-6)
        }
        _ => false,
    }
}

/// Returns what the values of a decision are called; none for poses, which are the part's.
fn names(b: &Bench<'_>, decision: usize) -> Vec<String> {
    match decision {
        at::PRINTER => b.printers.iter().map(|p| p.name.clone()).collect(),
        at::MATERIAL => b.materials.iter().map(|m| m.name.clone()).collect(),
        at::NOZZLE => b.nozzles.iter().map(|n| n.name.clone()).collect(),
        at::SURFACE => b.surfaces.iter().map(|s| s.name.clone()).collect(),
        at::AGENT => b.agents.iter().map(|a| a.name.clone()).collect(),
        at::SUPPORTS => SUPPORTS.iter().map(ToString::to_string).collect(),
        at::BUILD_UP => b.build_ups.iter().map(|b| b.name.clone()).collect(),
        _ => Vec::new(),
    }
}

fn same(a: &str, b: &str) -> bool {
    let plain = |t: &str| t.trim().replace([' ', '_'], "-").to_lowercase();
    plain(a) == plain(b)
}

/// Returns the domains left by the spec's pins and forbiddings.
pub fn allowed(world: &World<'_>, domains: &[usize; COUNT]) -> Allowed {
    let mut allowed: Allowed = domains.iter().map(|&n| vec![true; n]).collect();
    let mut narrow = |choice: &Choice, keep: bool| {
        let Some(decision) = index(choice.decision.value) else { return };
        for (value, slot) in allowed[decision].iter_mut().enumerate() {
            *slot &= is_meant(world, choice, decision, value) == keep;
        }
    };
    world.spec.pins.iter().for_each(|p| narrow(p, true));
    world.spec.forbids.iter().for_each(|f| narrow(f, false));
    as_pinned(world, &mut allowed[at::BUILD_UP]);
    // It is looked at to say why it was not taken.
    if let Some(slot) = world.part.asked.and_then(|pose| allowed[at::POSE].get_mut(pose)) {
        *slot = false;
    }
    allowed
}

/// Leaves of the build-ups that differ only in what the spec pins as settings the first: the pins make one of them.
fn as_pinned(world: &World<'_>, allowed: &mut [bool]) {
    let pinned = |setting: &str| world.pinned.get(setting).is_some();
    if !["wall_beads", "closed_above", "closed_below", "infill"].into_iter().any(pinned) {
        return;
    }
    let free = |si: f64, pinned: bool| (!pinned).then_some(si);
    let closed = pinned("closed_above") && pinned("closed_below");
    let mut seen = Vec::new();
    for (step, slot) in world.bench.build_ups.iter().zip(allowed) {
        let left = [
            free(step.walls.typ.to_mm(), pinned("wall_beads")),
            free(step.closed.typ.to_mm(), closed),
            free(Quantity::from(step.infill.typ).si, pinned("infill")),
        ];
        if *slot && seen.contains(&left) {
            *slot = false;
        } else if *slot {
            seen.push(left);
        }
    }
}

/// Returns whether a forbidding takes any value away.
pub fn excludes(world: &World<'_>, forbidding: &Choice) -> bool {
    let Some(decision) = index(forbidding.decision.value) else { return false };
    (0..world.domains()[decision]).any(|value| is_meant(world, forbidding, decision, value))
}

/// Says which pin or forbidding takes a value away.
pub fn excluded_by(world: &World<'_>, decision: usize, value: usize) -> Option<Excluded> {
    let of = |list: &'_ [Choice], forbidden: bool| {
        list.iter()
            .find(|c| index(c.decision.value) == Some(decision) && is_meant(world, c, decision, value) == forbidden)
            .map(|c| Excluded { forbidden, at: c.span, because: c.because.clone() })
    };
    of(&world.spec.forbids, true).or_else(|| of(&world.spec.pins, false))
}

/// A line of the spec that takes a value away.
#[derive(Debug, Clone, PartialEq)]
pub struct Excluded {
    /// It is forbidden, rather than another pinned.
    pub forbidden: bool,
    pub at: Span,
    pub because: String,
}

/// Every choice the spec makes, and whether it is a pin.
fn choices(spec: &Spec) -> impl Iterator<Item = (&Choice, bool)> {
    spec.pins.iter().map(|p| (p, true)).chain(spec.forbids.iter().map(|f| (f, false)))
}

/// Finds pins and forbiddings that name nothing on the bench, and waivers that set nothing aside.
///
/// It needs no part, so that a spec is told of them together with whatever else is wrong with it.
pub fn check(spec: &Spec, bench: &Bench<'_>, knowledge: Knowledge<'_>) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    for (choice, pinned) in choices(spec) {
        match index(choice.decision.value) {
            None => unknown_setting(knowledge, choice, pinned, &mut found),
            Some(at::POSE) => {}
            Some(decision) => {
                let there = names(bench, decision);
                if !(0..there.len()).any(|v| is_meant_on(bench, choice, decision, v)) {
                    let spools = choice.decision.value == Decision::Spool;
                    let there = if spools { bench.spools.iter().map(|s| s.name.clone()).collect() } else { there };
                    found.push(not_there(knowledge, choice, pinned, &there));
                }
            }
        }
    }
    found.extend(spec.waivers.iter().filter_map(|w| useless_waiver(knowledge.rulebook, w)));
    found
}

/// Finds pins and forbiddings of poses that are none of this part's.
pub fn check_poses(world: &World<'_>) -> Vec<Diagnostic> {
    let count = world.domains()[at::POSE];
    choices(world.spec)
        .filter(|(choice, _)| index(choice.decision.value) == Some(at::POSE))
        .filter(|(choice, _)| !(0..count).any(|v| is_meant(world, choice, at::POSE, v)))
        .map(|(choice, pinned)| {
            let verb = if pinned { "pin" } else { "forbid" };
            let poses: Vec<String> =
                (0..count).filter_map(|v| written(world, v)).map(|p| format!("`{verb} pose {p}`")).collect();
            not_there(world.knowledge, choice, pinned, &poses)
        })
        .collect()
}

/// Returns a pose as a spec writes it, so that it can be copied: a face of the spec that lies down, an axis, or a vector.
fn written(world: &World<'_>, pose: usize) -> Option<String> {
    let up = world.part.poses.get(pose)?.pose.up;
    let face = world.spec.faces.iter().enumerate().find(|(i, _)| world.part.lies_down(*i, pose) == Some(true));
    if let Some((_, face)) = face {
        return Some(format!("on face \"{}\"", face.name.value));
    }
    let axis = (0..3).find(|&k| up[k].abs() > ONE_POSE);
    Some(match axis {
        Some(k) => format!("up {}{}", if up[k] > 0.0 { "+" } else { "-" }, ["x", "y", "z"][k]),
        None => format!("up ({})", up.map(|c| crate::quantity::trim_number(c, 4)).join(", ")),
    })
}

fn not_there(knowledge: Knowledge<'_>, choice: &Choice, pinned: bool, there: &[String]) -> Diagnostic {
    let written = knowledge.sources.text(choice.value.span);
    let pose = choice.decision.value == Decision::Pose;
    let message = if pose {
        format!("none of the poses of this part is {written}")
    } else {
        format!("nothing on this bench is {written}")
    };
    let mut diagnostic = if pinned {
        Diagnostic::error("pin/not-there", choice.value.span, message)
    } else {
        Diagnostic::warning("forbid/not-there", choice.value.span, message)
    };
    if let ChoiceValue::Named(name) = &choice.value.value {
        let of_the_polymer = materials_called(knowledge.catalogue, name, there);
        if choice.decision.value == Decision::Material && !of_the_polymer.is_empty() {
            let list: Vec<String> = of_the_polymer.iter().map(|m| format!("\"{m}\"")).collect();
            diagnostic = diagnostic.hint(format!("{name} is written {}", list.join(" or ")));
        } else if let Some(near) = nearest(name, there.iter().map(String::as_str)) {
            diagnostic = diagnostic.meant_text(near);
        }
    }
    let list = if there.is_empty() {
        "there is none at all: list it in shop.yaml".to_owned()
    } else {
        let verb = if pose { "write" } else { "there is:" };
        format!("{verb} {}", there.join(if pose { " or " } else { ", " }))
    };
    diagnostic.hint(list)
}

/// Returns those of the materials there are that are of a polymer called by another name.
fn materials_called<'t>(catalogue: &Catalogue, name: &str, there: &'t [String]) -> Vec<&'t str> {
    let called: Vec<&str> = catalogue.materials_called(name).map(|m| m.name.as_str()).collect();
    there.iter().map(String::as_str).filter(|m| called.contains(m)).collect()
}

/// A waiver sets a refusal aside: of a rule there is, and of one that refuses.
fn useless_waiver(rulebook: &Rulebook, waiver: &Waiver) -> Option<Diagnostic> {
    let name = &waiver.rule.value;
    let Some(rule) = rulebook.get(name) else {
        let message = format!("there is no rule \"{name}\" to waive");
        let mut diagnostic = Diagnostic::error("waive/no-such-rule", waiver.rule.span, message);
        if let Some(near) = nearest(name, rulebook.rules.iter().map(|r| r.name.as_str())) {
            diagnostic = diagnostic.meant_text(near);
        }
        return Some(
            diagnostic.hint("`makeready catalogue rules` lists them; a recipe names the rule behind each line"),
        );
    };
    if rule.can_refuse() && rule.binding {
        let message = format!("no waiver sets the rule \"{name}\" aside");
        let hint = "take the line away: what the rule refuses is not decided by a spec";
        return Some(Diagnostic::error("waive/binding", waiver.rule.span, message).hint(hint));
    }
    if rule.can_refuse() {
        return None;
    }
    let (does, instead) = if rule.can_penalise() {
        ("only weighs one choice against another", "fix the choice instead: `pin material \"...\" because \"...\"`")
    } else {
        ("refuses nothing: what it says stands on the recipe", "take the line away, and read what the rule says")
    };
    let message = format!("the rule \"{name}\" {does}, so there is nothing to waive");
    let hint = format!("{instead}; `makeready explain --rule {name}` shows the rule");
    Some(Diagnostic::error("waive/refuses-nothing", waiver.rule.span, message).hint(hint))
}

fn unknown_setting(knowledge: Knowledge<'_>, choice: &Choice, pinned: bool, found: &mut Vec<Diagnostic>) {
    let Some(name) = &choice.setting else { return };
    let known = &knowledge.rulebook.settings;
    let Some(kind) = known.get(name.as_str()) else {
        let mut diagnostic =
            Diagnostic::error("pin/no-such-setting", choice.decision.span, format!("there is no setting `{name}`"));
        if let Some(near) = nearest(name, known.keys().map(String::as_str)) {
            diagnostic = diagnostic.meant(near);
        }
        let list: Vec<&str> = known.keys().map(String::as_str).collect();
        found.push(diagnostic.hint(format!("there is: {}", list.join(", "))));
        return;
    };
    if !pinned {
        // The built-in settings are refused where the spec is read; this one is a rule's of the shop.
        let message = format!("`{name}` is computed, not chosen from a list: no value of it can be forbidden");
        let hint = format!("say what it is to be: `pin {name} ... because \"...\"`, {}", kind.noun());
        found.push(Diagnostic::error("choice/forbidden-setting", choice.decision.span, message).hint(hint));
        return;
    }
    let fits = quantity(&choice.value.value).is_some_and(|q| kind.admits(&q.into()));
    if !fits {
        let message = format!("`{name}` is {}, which this is not", kind.noun());
        let hint = format!("write {} with its unit: `pin {name} ... because \"...\"`", kind.noun());
        found.push(Diagnostic::error("pin/wrong-kind", choice.value.span, message).hint(hint));
    }
}
