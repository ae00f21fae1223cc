//! From a resolution to the recipe: plain data, every line with its reason.

use crate::catalogue::figures;
use std::collections::{BTreeMap, HashSet};

use crate::quantity::trim_number;
use crate::recipe::reasons::{from_trace, reason};
use crate::recipe::{
    Assumption, Broken, Caution, Conflict, Decisions, Input, Margin, Phase, Reason, Recipe, Requirement, Run, SCHEMA,
    SourceEntry, Status, Step,
};
use crate::resolve::decide::{Decided, full};
use crate::resolve::problem::{Rules, Said, instance_words};
use crate::resolve::world::{Partial, World, at};
use crate::resolve::{Outcome, run, strength};
use crate::rulebook::value::Origin;
use crate::rulebook::{self, CautionKind, Judgement};
use crate::semantics::spec::Consequence;

use super::{allowances, decisions, margins, mesh, refusal, settings, statements};

/// Builds the recipe of a resolved job. `inputs` are the digests of everything that went in.
pub fn build(rules: &Rules<'_, '_>, outcome: &Outcome, inputs: Vec<Input>) -> Recipe {
    let world = rules.world;
    let mut recipe = Recipe {
        schema: SCHEMA,
        part: world.spec.name.value.clone(),
        revision: world.spec.revision.as_ref().map(|r| r.value.clone()),
        purpose: world.spec.purpose.as_ref().map(|p| p.value.clone()),
        status: Status::NotPrintableAsSpecified,
        headline: String::new(),
        decisions: None,
        settings: Vec::new(),
        allowances: Vec::new(),
        margins: Vec::new(),
        run: None,
        checklist: Vec::new(),
        cautions: Vec::new(),
        broken: Vec::new(),
        rejected: Vec::new(),
        conflicts: Vec::new(),
        nearest: Vec::new(),
        relaxations: Vec::new(),
        assumptions: Vec::new(),
        mesh: mesh::facts(world),
        poses: Vec::new(),
        regions: Vec::new(),
        sources: Vec::new(),
        inputs,
    };
    match outcome {
        Outcome::Decided(decided) => printable(rules, decided, &mut recipe),
        Outcome::Refused(refused) => refusal::fill(rules, refused, &mut recipe),
    }
    recipe.sources = sources(world, &recipe);
    recipe
}

fn printable(rules: &Rules<'_, '_>, decided: &Decided, recipe: &mut Recipe) {
    let world = rules.world;
    let choice = full(&decided.choice);
    let said = rules.all(&choice);
    recipe.settings = settings::settings(rules, decided);
    recipe.allowances = allowances::allowances(world, &choice);
    recipe.margins = margins::margins(world, &decided.choice);
    recipe.run = run_of(world, decided);
    recipe.checklist = checklist(rules, &said);
    allowances::first_article(world, &choice, &mut recipe.checklist);
    recipe.cautions = with_margins(world, cautions(rules, &said), &recipe.margins);
    recipe.broken = broken(rules, decided);
    recipe.rejected = decisions::rejected(rules, decided);
    recipe.poses = decisions::poses(rules, decided);
    recipe.regions = mesh::regions(world, &choice);
    recipe.mesh.extend(mesh::first_layer(world, &choice));
    recipe.assumptions = assumptions(rules, decided, &said);
    let decided_on = decisions::decisions(rules, decided);
    recipe.headline = headline(world, decided, &decided_on);
    recipe.decisions = Some(decided_on);
    statements::add_face_steps(world, recipe);
    let unused = statements::unused(rules, decided, recipe);
    recipe.assumptions.extend(unused);
    recipe.status = status(recipe);
    let failing = failing(recipe);
    if !failing.is_empty() {
        let stated = world.spec.consequence.is_some_and(|c| c.value == Consequence::Injury);
        match stated {
            true => withhold(recipe, &failing),
            false => {
                recipe.status = Status::DoesNotHold;
                recipe.headline.push_str(&failing_words(&failing));
            }
        }
    }
}

/// Returns the margins that do not hold although no waiver set a rule aside.
fn failing(recipe: &Recipe) -> Vec<Margin> {
    let broken = recipe.margins.iter().filter(|m| m.verdict == margins::BROKEN && recipe.broken.is_empty());
    broken.cloned().collect()
}

fn failing_words(failing: &[Margin]) -> String {
    let words: Vec<String> =
        failing.iter().map(|m| format!("{} ({} against {})", m.what, m.demand, m.capacity)).collect();
    format!(" It does not hold as specified: {}.", words.join("; "))
}

/// Where a failure can hurt someone, what does not hold is not to be printed from: no rule may have refused it, the margin does.
fn withhold(recipe: &mut Recipe, failing: &[Margin]) {
    recipe.status = Status::NotPrintableAsSpecified;
    recipe.headline = format!("Not printable as specified.{}", failing_words(failing));
    recipe.conflicts = failing
        .iter()
        .map(|m| {
            let text = format!("{}: {} against {}, and a failure could hurt someone", m.what, m.demand, m.capacity);
            let at = |place: &String| Requirement { text: m.what.clone(), place: place.clone() };
            Conflict { requirements: m.because.places.iter().map(at).collect(), text }
        })
        .collect();
    recipe.decisions = None;
    recipe.run = None;
    recipe.settings.clear();
    recipe.allowances.clear();
    recipe.margins.clear();
    recipe.checklist.clear();
    recipe.cautions.clear();
    recipe.rejected.clear();
    recipe.poses.clear();
    recipe.regions.clear();
}

fn headline(world: &World<'_>, decided: &Decided, d: &Decisions) -> String {
    let spool =
        world.bench.spool(Some(decided.choice[at::PRINTER]), decided.choice[at::MATERIAL], world.spec, world.part);
    let spool = spool.map_or(String::new(), |s| format!(" (spool {})", s.name));
    let agent = if decided.choice[at::AGENT] == 0 { String::new() } else { format!(" with {}", d.agent.value) };
    let supports = if decided.choice[at::SUPPORTS] == 0 { "no supports" } else { "supports where needed" };
    format!(
        "Print {}{spool} on {}, nozzle {}, on {}{agent}, {}, {supports}.",
        d.material.value, d.printer.value, d.nozzle.value, d.surface.value, d.pose.value
    )
}

/// Ready with cautions where something about this very job is to be watched: a margin, a waiver, a question, a hazard.
fn status(recipe: &Recipe) -> Status {
    let narrow = recipe.margins.iter().any(|m| m.verdict != margins::HOLDS);
    let grave =
        recipe.cautions.iter().any(|c| matches!(c.kind.as_str(), "load" | "damage" | "fire" | "health" | "injury"));
    let open = recipe.assumptions.iter().any(|a| a.question);
    let damaged = recipe.mesh.iter().any(|m| m.warning);
    if narrow || grave || open || damaged || !recipe.broken.is_empty() {
        Status::ReadyWithCautions
    } else {
        Status::Ready
    }
}

fn run_of(world: &World<'_>, decided: &Decided) -> Option<Run> {
    let choice = full(&decided.choice);
    let each = run::piece(world, &choice).ok()?;
    let plan = world.plan(&choice)?;
    let run::Totals { time_s: time, mass_g: mass, cost, shares } = run::totals(world, &choice, &plan).ok()?;
    let money = |amount: f64| match &world.bench.currency {
        None => format!("{amount:.2} (no currency stated)"),
        Some(currency) => format!("{amount:.2} {currency}"),
    };
    let note = |text: String, source: &str| Reason { text, source: Some(source.to_owned()), ..Reason::default() };
    let mut because = vec![
        note(plan.start_words.clone(), "computed"),
        note(plan.plate_words.clone(), "common-practice"),
        note(format!("time and mass: {}", each.basis), "computed, allowances from-memory"),
        note(cost_words(&shares, world, &choice), "computed"),
    ];
    if plan.plates > 1
        && time > world.knowledge.catalogue.value(figures::LONG_RUN).to_s()
        && world.bench.printers.len() > 1
    {
        because.push(note(sharing(world, decided), "computed"));
    }
    Some(Run {
        wanted: plan.wanted,
        start: plan.start,
        per_round: plan.per_plate,
        rounds: plan.plates,
        time_each: hours(each.time.to_s()),
        time_total: hours(time),
        mass_each: mass_words(each.mass.to_g()),
        mass_total: mass_words(mass),
        cost: money(cost),
        because,
    })
}

/// Says what the cost is made of, and what of it the shop's file states no price for.
fn cost_words(shares: &run::Shares, world: &World<'_>, choice: &Partial) -> String {
    let power = choice[at::PRINTER].and_then(|p| world.bench.printers.get(p)?.power);
    let no_power = match (world.bench.electricity, power) {
        (Some(_), None) => "electricity (the printer's `power` is not stated)",
        _ => "electricity",
    };
    let parts = [
        ("filament", Some(shares.filament)),
        ("machine hours", shares.machine),
        (no_power, shares.electricity),
        ("a person's time at the plates", shares.labour),
    ];
    let counted: Vec<String> = parts.iter().filter_map(|(what, c)| Some(format!("{what} {:.2}", (*c)?))).collect();
    let left_out: Vec<&str> = parts.iter().filter(|(_, c)| c.is_none()).map(|(what, _)| *what).collect();
    match left_out.as_slice() {
        [] => format!("cost: {}", counted.join(", ")),
        _ => format!("cost: {}; not counted: {}", counted.join(", "), left_out.join(", ")),
    }
}

/// Says what a second machine would save of a long run, or that none here can take a share.
fn sharing(world: &World<'_>, decided: &Decided) -> String {
    let next = decided.runners_up[at::PRINTER].as_ref();
    let shared = next.and_then(|next| run::shared(world, &full(&decided.choice), &full(&next.choice)));
    let Some(shared) = shared else {
        return "a long run for one machine: no other machine here can take a share of it as it stands".to_owned();
    };
    let besides = match shared.twice.as_slice() {
        [] => String::new(),
        twice => format!("; needed twice and here once: {}", twice.join(", ")),
    };
    format!(
        "shared with {0} ({1}) it takes about {2}, with as many started in all{besides}; the recipe of that share: \
         `pin printer \"{0}\"` in a copy of the spec. Pieces of two machines differ in size: measure the first of each",
        shared.printer,
        shared.with,
        hours(shared.time.to_s()),
    )
}

/// A mass with as many digits as mean something: a crumb is not nothing, and no one weighs tons in grams.
fn mass_words(grams: f64) -> String {
    if grams >= 10_000.0 {
        format!("{:.1} kg", grams / 1000.0)
    } else if grams >= 10.0 {
        format!("{grams:.0} g")
    } else if grams >= 0.1 {
        format!("{} g", trim_number(grams, 1))
    } else if grams >= 1e-3 {
        format!("{} g", trim_number(grams, 3))
    } else {
        "under 0.001 g".to_owned()
    }
}

/// A working time as hours and minutes; a long run as days of running without a break besides.
fn hours(seconds: f64) -> String {
    let minutes = (seconds / 60.0).round() as u64;
    match (minutes / 60, minutes % 60) {
        (h, _) if h >= 100 => format!("{h} h ({:.0} days without a break)", seconds / 86_400.0),
        (0, m) => format!("{m} min"),
        (h, 0) => format!("{h} h"),
        (h, m) => format!("{h} h {m} min"),
    }
}

fn checklist(rules: &Rules<'_, '_>, said: &[Said]) -> Vec<Phase> {
    let mut steps: BTreeMap<rulebook::Phase, Vec<(i32, usize, Step)>> = BTreeMap::new();
    for s in said {
        for judgement in &s.judgements {
            if let Judgement::Step { phase, order, text, blanks } = judgement {
                let rule = rules.rule(s.constraint);
                let because = from_trace(rule, rule.because.clone(), &s.trace.used, rules.world.knowledge.sources);
                let step = Step { text: text.to_string(), blanks: blanks.clone(), because };
                let list = steps.entry(*phase).or_default();
                // Two fits that ask for the same work ask for it once.
                if !list.iter().any(|(_, _, known)| known.text == step.text) {
                    list.push((*order, s.constraint.rule, step));
                }
            }
        }
    }
    steps
        .into_iter()
        .map(|(phase, mut list)| {
            list.sort_by_key(|(order, rule, _)| (*order, *rule));
            Phase {
                phase: phase.word().to_owned(),
                title: title(phase).to_owned(),
                steps: list.into_iter().map(|(_, _, step)| step).collect(),
            }
        })
        .collect()
}

fn title(phase: rulebook::Phase) -> &'static str {
    match phase {
        rulebook::Phase::Prepare => "Prepare",
        rulebook::Phase::ChangeOver => "Change over",
        rulebook::Phase::FirstLayer => "First layer",
        rulebook::Phase::During => "While it prints",
        rulebook::Phase::Removal => "Removal",
        rulebook::Phase::Finish => "Finish",
        rulebook::Phase::Inspect => "Inspect",
    }
}

pub(super) fn cautions(rules: &Rules<'_, '_>, said: &[Said]) -> Vec<Caution> {
    let mut found: Vec<(CautionKind, usize, Caution)> = Vec::new();
    for s in said {
        for judgement in &s.judgements {
            if let Judgement::Caution { kind, text } = judgement {
                let rule = rules.rule(s.constraint);
                if found.iter().any(|(_, _, known)| known.text == text.to_string()) {
                    continue;
                }
                let because = from_trace(rule, rule.because.clone(), &s.trace.used, rules.world.knowledge.sources);
                found.push((
                    *kind,
                    s.constraint.rule,
                    Caution { kind: kind.word().to_owned(), text: text.to_string(), margin: String::new(), because },
                ));
            }
        }
    }
    found.sort_by_key(|(kind, rule, _)| (*kind, *rule));
    found.into_iter().map(|(_, _, c)| c).collect()
}

/// Puts every margin that does not plainly hold before the cautions of its kind: it is what to watch. Of loads the rules
/// speak themselves, unless one is broken under a waiver.
fn with_margins(world: &World<'_>, cautions: Vec<Caution>, margins: &[crate::recipe::Margin]) -> Vec<Caution> {
    let injury = world.spec.consequence.as_ref().is_some_and(|c| c.value == Consequence::Injury);
    let spoken = |m: &crate::recipe::Margin| m.what.starts_with("load") && m.verdict != "broken";
    let mut close: Vec<&crate::recipe::Margin> =
        margins.iter().filter(|m| m.verdict != "holds" && !spoken(m)).collect();
    close.sort_by_key(|m| m.rank());
    let close = close.into_iter().map(|m| {
        let kind = match m.what.starts_with("load") {
            _ if injury => "injury",
            true => "load",
            false => "damage",
        };
        let text = match m.verdict.as_str() {
            // Asked and not answered: why, and what to do about it, is all there is to say.
            margins::NOT_SHOWN if m.what == "impact" => {
                format!("{}, {}: not shown: {}.", m.what, m.demand, m.because.text)
            }
            verdict => format!("{}: asked is {}; there is {}: {verdict}.", m.what, m.demand, m.capacity),
        };
        // How the numbers come about stands with the margin; here it would hide the caution.
        let because = Reason { text: String::new(), values: Vec::new(), ..m.because.clone() };
        Caution { kind: kind.to_owned(), text, margin: m.verdict.clone(), because }
    });
    let mut all: Vec<Caution> = close.chain(cautions).collect();
    let rank = |c: &Caution| CautionKind::ALL.iter().position(|k| k.word() == c.kind);
    all.sort_by_key(rank);
    all
}

fn broken(rules: &Rules<'_, '_>, decided: &Decided) -> Vec<Broken> {
    decided
        .waived
        .iter()
        .map(|said| {
            let because = reason(rules, said);
            let rule = rules.rule(said.constraint);
            let waiver = rules.world.spec.waivers.iter().find(|w| w.rule.value == rule.name);
            Broken {
                text: because.text.clone(),
                allowed_by: waiver.map_or(String::new(), |w| {
                    format!("waived ({}): {}", rules.world.knowledge.sources.place(w.span), w.because)
                }),
                because,
            }
        })
        .collect()
}

fn assumptions(rules: &Rules<'_, '_>, decided: &Decided, said: &[Said]) -> Vec<Assumption> {
    let world = rules.world;
    let mut result = base_assumptions(world);
    let mut add = |text: String, effect: String, question: bool| {
        if !result.iter().any(|a: &Assumption| a.text == text) {
            result.push(Assumption { text, effect, question });
        }
    };
    if let Some(heat) = world.heat(decided.choice[at::MATERIAL]) {
        for (text, effect) in &heat.assumed {
            add(text.clone(), effect.clone(), true);
        }
    }
    for (text, effect) in load_assumptions(world, &decided.choice) {
        add(text, effect, true);
    }
    for (text, effect, question) in allowances::assumptions(world, &full(&decided.choice)) {
        add(text, effect, question);
    }
    for s in said {
        let rule = rules.rule(s.constraint);
        for used in &s.trace.used {
            if let Origin::Assumed { text } = &used.origin {
                add(text.to_string(), format!("used by rule {}", rule.name), false);
            }
        }
        for judgement in &s.judgements {
            if let Judgement::Undetermined { missing } = judgement
                && rule.can_refuse()
            {
                let names = missing.join(", ");
                let about =
                    instance_words(world, rule, s.constraint.instance).map_or(String::new(), |w| format!("{w}: "));
                let text = format!("{about}rule {} could not be asked: {names} not known", rule.name);
                add(text, rule.because.clone(), true);
            }
        }
    }
    result
}

/// Returns what was taken of each load that the spec does not say: where it acts, where the part is held, for how long.
pub(super) fn load_assumptions(world: &World<'_>, choice: &[usize]) -> Vec<(String, String)> {
    let (Some(&material), Some(&pose)) = (choice.get(at::MATERIAL), choice.get(at::POSE)) else { return Vec::new() };
    let of = |load: usize| strength::margin(world, load, material, pose).map_or(Vec::new(), |margin| margin.assumed);
    (0..world.spec.loads.len()).flat_map(of).collect()
}

/// Assumptions that hold whether or not the job can be made.
pub(super) fn base_assumptions(world: &World<'_>) -> Vec<Assumption> {
    let mut result = Vec::new();
    let mut add = |text: &str, effect: &str, question: bool| {
        result.push(Assumption { text: text.to_owned(), effect: effect.to_owned(), question });
    };
    if world.bench.assumed {
        add(
            "no shop.yaml was found: a built-in, well-equipped bench is assumed",
            "printer, nozzle, surface and stock may not be what you have; write a shop.yaml",
            true,
        );
    } else if !world.bench.stock_listed {
        add("no spools are listed: every material counts as at hand", "a spool may have to be bought first", false);
    }
    if world.spec.quantity.is_none() {
        add("quantity not stated: one piece", "rounds, time and mass are for one", false);
    }
    if world.spec.consequence.is_none() {
        add(
            "consequence of failure not stated: damage assumed",
            "sets the factor on loads that state none; write `consequence nuisance`, `damage` or `injury`",
            false,
        );
    }
    if world.spec.meshes.iter().all(|m| m.unit.is_none()) {
        add(
            "unit of the mesh not stated: millimetres",
            "a part in inches would come out 25.4 times too small; write `in mm`",
            true,
        );
    } else if world.spec.size.is_none() {
        add(
            "overall size not stated",
            "the unit of the mesh could not be checked; write `size x mm x y mm x z mm`",
            false,
        );
    }
    result
}

/// Returns the full citation of every source key that any reason of the recipe names.
fn sources(world: &World<'_>, recipe: &Recipe) -> Vec<SourceEntry> {
    let mut text = String::new();
    let mut note = |r: &Reason| {
        text.push_str(r.source.as_deref().unwrap_or(""));
        text.push(' ');
        for v in &r.values {
            text.push_str(&v.from);
            text.push(' ');
        }
    };
    statements::reasons(recipe).into_iter().for_each(&mut note);
    for limit in recipe.regions.iter().flat_map(|r| &r.sources) {
        text.push_str(limit);
        text.push(' ');
    }
    let words: HashSet<&str> = text.split([' ', ',', ';', '(', ')']).collect();
    world
        .knowledge
        .catalogue
        .sources
        .iter()
        .filter(|(key, _)| words.contains(key.as_str()))
        .map(|(key, c)| SourceEntry {
            key: key.clone(),
            citation: format!("{} ({})", c.citation.value, c.status.value),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn masses_and_times_are_told_as_a_person_would() {
        for (grams, words) in [
            (0.0, "under 0.001 g"),
            (0.000_15, "under 0.001 g"),
            (0.0372, "0.037 g"),
            (0.5, "0.5 g"),
            (11.2, "11 g"),
            (9999.0, "9999 g"),
            (134_250.0, "134.2 kg"),
        ] {
            assert_eq!(mass_words(grams), words);
        }
        assert_eq!(hours(7.0 * 60.0), "7 min");
        assert_eq!(hours(5.0 * 3600.0 + 34.0 * 60.0), "5 h 34 min");
        assert_eq!(hours(3680.0 * 3600.0), "3680 h (153 days without a break)");
    }
}
