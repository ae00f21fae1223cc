//! Pins and forbiddings: obeyed as narrowed domains; what they name must exist on the bench.

use crate::diag::{Diagnostic, nearest};
use crate::quantity::Quantity;
use crate::rulebook::value::{Origin, Record};
use crate::semantics::spec::{Choice, ChoiceValue, Decision, Spec};

use super::search::Allowed;
use super::world::{World, at};

fn index(decision: Decision) -> Option<usize> {
    match decision {
        Decision::Printer => Some(at::PRINTER),
        Decision::Material | Decision::Spool => Some(at::MATERIAL),
        Decision::Nozzle => Some(at::NOZZLE),
        Decision::Surface => Some(at::SURFACE),
        Decision::Agent => Some(at::AGENT),
        Decision::Pose => Some(at::POSE),
        Decision::Supports => Some(at::SUPPORTS),
        Decision::Setting => None,
    }
}

/// Returns the settings a spec pins.
pub fn settings(spec: &Spec) -> Record {
    let mut record = Record::new("settings");
    for pin in spec.pins.iter().filter(|p| p.decision.value == Decision::Setting) {
        if let (Some(name), Some(value)) = (&pin.setting, quantity(&pin.value.value)) {
            record.set(name, value, Origin::Computed { working: format!("pinned by the spec: {}", pin.because) });
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
    let b = &world.bench;
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
            let wanted = matches!(name.as_str(), "none" | "no");
            (value == 0) == wanted
        }
        (ChoiceValue::Named(name), _) => same(&world.name(decision, value), name),
        (ChoiceValue::Length(bore), at::NOZZLE) => {
            b.nozzles.get(value).is_some_and(|n| (n.bore.to_mm() - bore.to_mm()).abs() < 1e-6)
        }
        (ChoiceValue::Up(direction), at::POSE) => {
            world.part.poses.get(value).is_some_and(|p| crate::geometry::vector::dot(p.pose.up, direction.0) > 0.9995)
        }
        (ChoiceValue::OnFace(face), at::POSE) => {
            let index = world.spec.faces.iter().position(|f| f.name.value == *face);
            index.is_some_and(|i| world.part.lies_down(i, value) == Some(true))
        }
        _ => false,
    }
}

fn same(a: &str, b: &str) -> bool {
    let plain = |t: &str| t.trim().replace([' ', '_'], "-").to_lowercase();
    plain(a) == plain(b)
}

/// Returns the domains left by the spec's pins and forbiddings.
pub fn allowed(world: &World<'_>, domains: &[usize; 7]) -> Allowed {
    let mut allowed: Allowed = domains.iter().map(|&n| vec![true; n]).collect();
    let mut narrow = |choice: &Choice, keep: bool| {
        let Some(decision) = index(choice.decision.value) else { return };
        for (value, slot) in allowed[decision].iter_mut().enumerate() {
            *slot &= is_meant(world, choice, decision, value) == keep;
        }
    };
    world.spec.pins.iter().for_each(|p| narrow(p, true));
    world.spec.forbids.iter().for_each(|f| narrow(f, false));
    allowed
}

/// Says which pin or forbidding takes a value away.
pub fn excluded_by(world: &World<'_>, decision: usize, value: usize) -> Option<String> {
    let of = |list: &'_ [Choice], keep: bool, verb: &str| {
        list.iter()
            .find(|c| index(c.decision.value) == Some(decision) && is_meant(world, c, decision, value) != keep)
            .map(|c| format!("{verb} by the spec ({}): {}", world.knowledge.sources.place(c.span), c.because))
    };
    of(&world.spec.forbids, false, "forbidden").or_else(|| of(&world.spec.pins, true, "another is pinned"))
}

/// Finds pins and forbiddings that name nothing there is, and waivers of rules that do not exist.
pub fn check(world: &World<'_>) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    let domains = world.domains();
    for (choice, pinned) in
        world.spec.pins.iter().map(|p| (p, true)).chain(world.spec.forbids.iter().map(|f| (f, false)))
    {
        let Some(decision) = index(choice.decision.value) else {
            unknown_setting(world, choice, &mut found);
            continue;
        };
        if (0..domains[decision]).any(|v| is_meant(world, choice, decision, v)) {
            continue;
        }
        let names: Vec<String> = (0..domains[decision]).map(|v| world.name(decision, v)).collect();
        let written = world.knowledge.sources.text(choice.value.span);
        let mut diagnostic = if pinned {
            Diagnostic::error("pin/not-there", choice.value.span, format!("nothing on this bench is {written}"))
        } else {
            Diagnostic::warning("forbid/not-there", choice.value.span, format!("nothing on this bench is {written}"))
        };
        if let ChoiceValue::Named(name) = &choice.value.value
            && let Some(near) = nearest(name, names.iter().map(String::as_str))
        {
            diagnostic = diagnostic.hint(format!("did you mean \"{near}\"?"));
        }
        found.push(diagnostic.hint(format!("there is: {}", names.join(", "))));
    }
    let rules = &world.knowledge.rulebook.rules;
    for waiver in &world.spec.waivers {
        if world.knowledge.rulebook.get(&waiver.rule.value).is_none() {
            let message = format!("there is no rule \"{}\" to waive", waiver.rule.value);
            let mut diagnostic = Diagnostic::error("waive/no-such-rule", waiver.rule.span, message);
            if let Some(near) = nearest(&waiver.rule.value, rules.iter().map(|r| r.name.as_str())) {
                diagnostic = diagnostic.hint(format!("did you mean \"{near}\"?"));
            }
            found.push(diagnostic);
        }
    }
    found
}

fn unknown_setting(world: &World<'_>, choice: &Choice, found: &mut Vec<Diagnostic>) {
    let Some(name) = &choice.setting else { return };
    let known = &world.knowledge.rulebook.settings;
    let Some(kind) = known.get(name.as_str()) else {
        let mut diagnostic =
            Diagnostic::error("pin/no-such-setting", choice.decision.span, format!("there is no setting `{name}`"));
        if let Some(near) = nearest(name, known.keys().map(String::as_str)) {
            diagnostic = diagnostic.hint(format!("did you mean `{near}`?"));
        }
        found.push(diagnostic);
        return;
    };
    let fits = quantity(&choice.value.value).is_some_and(|q| kind.admits(&q.into()));
    if !fits {
        let message = format!("`{name}` is {}, which this is not", kind.noun());
        found.push(Diagnostic::error("pin/wrong-kind", choice.value.span, message));
    }
}
