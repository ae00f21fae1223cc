//! From a resolution to the recipe: plain data, every line with its reason.

use std::collections::{BTreeMap, BTreeSet};

use crate::recipe::reasons::{about, because, from_trace, reason};
use crate::recipe::{
    AllowedBy, Answer, Assumption, Basis, Broken, Caution, Decisions, Headline, Input, LeadsTo, Margin, MarginNote,
    NotFor, Open, Phase, Reason, Recipe, SCHEMA, Sentence, SourceEntry, Stage, Status, Step, Verdict,
};
use crate::resolve::conflict::{Change, Shape};
use crate::resolve::decide::{Decided, full};
use crate::resolve::elastic::{self, said::Taken};
use crate::resolve::margin::MarginKind;
use crate::resolve::problem::{Rules, Said};
use crate::resolve::world::{World, at};
use crate::resolve::{Outcome, places, questions, strength};
use crate::rulebook::names::Root;
use crate::rulebook::value::{Assumed, Origin};
use crate::rulebook::{self, CautionKind, Filled, Judgement};
use crate::semantics::spec::Consequence;

use super::refusal::would_be;
use super::{allowances, decisions, margins, mesh, refusal, run, settings, statements, status};

/// Builds the recipe of a resolved job. `inputs` are the digests of everything that went in.
pub(crate) fn build(rules: &Rules<'_, '_>, outcome: &Outcome, inputs: Vec<Input>) -> Recipe {
    let world = rules.world;
    let mut recipe = Recipe {
        schema: SCHEMA,
        part: world.spec.name.value.clone(),
        spec: world.knowledge.sources.get(world.spec.name.span.source).map_or(String::new(), |s| s.name.clone()),
        revision: world.spec.revision.as_ref().map(|r| r.value.clone()),
        purpose: world.spec.purpose.as_ref().map(|p| p.value.clone()),
        status: Status::NotPrintableAsSpecified,
        headline: Sentence::Nothing,
        decisions: None,
        settings: Vec::new(),
        allowances: Vec::new(),
        margins: Vec::new(),
        run: None,
        checklist: Vec::new(),
        not_for: Vec::new(),
        unread: Vec::new(),
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
        more_regions: None,
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
    recipe.run = run::run(world, decided);
    recipe.checklist = checklist(rules, &said);
    allowances::first_article(world, &choice, &mut recipe.checklist);
    recipe.cautions = with_margins(world, cautions(rules, &said), &recipe.margins);
    recipe.broken = broken(rules, decided);
    recipe.rejected = decisions::rejected(rules, decided);
    recipe.poses = decisions::poses(rules, decided);
    (recipe.regions, recipe.more_regions) = mesh::regions(world, &choice);
    recipe.mesh.extend(mesh::first_layer(world, &choice));
    recipe.assumptions = assumptions(rules, decided, &said);
    recipe.not_for = not_for(rules, &said);
    let decided_on = decisions::decisions(rules, decided);
    let headline = headline(world, decided, &decided_on);
    recipe.decisions = Some(decided_on);
    statements::add_face_steps(world, recipe);
    let unused = statements::unused(rules, decided, recipe);
    recipe.assumptions.extend(unused);
    status::settle(rules, decided, headline, &said, recipe);
}

fn headline(world: &World<'_>, decided: &Decided, d: &Decisions) -> Headline {
    let spool =
        world.bench.spool(Some(decided.choice[at::PRINTER]), decided.choice[at::MATERIAL], world.spec, world.part);
    Headline::Print {
        material: d.material.value.clone(),
        spool: spool.map(|s| s.name.clone()),
        printer: d.printer.value.clone(),
        nozzle: d.nozzle.value.clone(),
        surface: d.surface.value.clone(),
        agent: (decided.choice[at::AGENT] != 0).then(|| d.agent.value.clone()),
        pose: d.pose.value.clone(),
        supports: decided.choice[at::SUPPORTS] != 0,
        failing: Vec::new(),
        first: Vec::new(),
        asked: Vec::new(),
        not_for: Vec::new(),
    }
}

fn checklist(rules: &Rules<'_, '_>, said: &[Said]) -> Vec<Phase> {
    let mut steps: BTreeMap<rulebook::Phase, Vec<(i32, usize, Step)>> = BTreeMap::new();
    for s in said {
        for judgement in &s.judgements {
            if let Judgement::Step { phase, order, text, blanks } = judgement {
                let rule = rules.rule(s.constraint);
                let text = told(rules, text);
                let because = from_trace(rule, because(rule), &s.trace.used, rules.world.knowledge.sources);
                let fit = rule.each.filter(|root| *root == Root::Fit).map(|_| s.constraint.instance);
                let list = steps.entry(*phase).or_default();
                // Two fits that ask for the same work ask for it once.
                if !list.iter().any(|(_, _, known)| known.text == text) {
                    list.push((*order, s.constraint.rule, Step { text, blanks: blanks.clone(), because, fit }));
                }
            }
        }
    }
    let phase = |(phase, mut list): (rulebook::Phase, Vec<(i32, usize, Step)>)| {
        list.sort_by_key(|(order, rule, _)| (*order, *rule));
        Phase { phase: Stage::Of(phase), steps: list.into_iter().map(|(_, _, step)| step).collect() }
    };
    steps.into_iter().map(phase).collect()
}

/// A text of a rule as it stands on the page.
fn told(rules: &Rules<'_, '_>, text: &Filled) -> Sentence {
    Sentence::Rule { about: None, text: text.clone().priced_in(rules.world.bench.currency.as_ref()) }
}

/// Returns the uses that rules withhold the print from; one that several things bring up stands once and names them all.
pub(super) fn not_for(rules: &Rules<'_, '_>, said: &[Said]) -> Vec<NotFor> {
    let mut groups: Vec<Vec<(&Said, &Filled, &Filled)>> = Vec::new();
    for (s, judgement) in said.iter().flat_map(|s| s.judgements.iter().map(move |judgement| (s, judgement))) {
        let Judgement::Withhold { from, text } = judgement else { continue };
        let alike = |group: &&mut Vec<(&Said, &Filled, &Filled)>| {
            let texts: Vec<&Filled> = group.iter().map(|(_, _, text)| *text).chain([text]).collect();
            let same = group.first().is_some_and(|(g, of, _)| g.constraint.rule == s.constraint.rule && *of == from);
            same && Filled::of_several(&texts).is_some()
        };
        match groups.iter_mut().find(alike) {
            Some(group) => group.push((s, from, text)),
            None => groups.push(vec![(s, from, text)]),
        }
    }
    groups.iter().filter_map(|group| withheld(rules, group)).collect()
}

/// What is withheld, for all that bring it up.
fn withheld(rules: &Rules<'_, '_>, group: &[(&Said, &Filled, &Filled)]) -> Option<NotFor> {
    let texts: Vec<&Filled> = group.iter().map(|(_, _, text)| *text).collect();
    let until = Filled::of_several(&texts)?;
    let mut reasons = group.iter().map(|(s, ..)| {
        let rule = rules.rule(s.constraint);
        from_trace(rule, because(rule), &s.trace.used, rules.world.knowledge.sources)
    });
    let (first, rest) = (reasons.next()?, reasons);
    let because = rest.fold(first, |mut all, next| {
        let more: Vec<_> = next.places.into_iter().filter(|place| !all.places.contains(place)).collect();
        all.places.extend(more);
        all
    });
    let (_, from, _) = group.first()?;
    Some(NotFor { usage: told(rules, from), until: told(rules, &until), because })
}

/// Returns the questions that rules have settled before printing.
pub(super) fn asked_first(rules: &Rules<'_, '_>, said: &[Said]) -> Vec<Sentence> {
    let first = |judgement: &Judgement| match judgement {
        Judgement::Question { first: true, text } => Some(told(rules, text)),
        _ => None,
    };
    said.iter().flat_map(|s| &s.judgements).filter_map(first).collect()
}

/// Returns the questions of rules, as they stand among what is open.
pub(super) fn asked(rules: &Rules<'_, '_>, said: &[Said]) -> Vec<Assumption> {
    let each = said.iter().flat_map(|s| s.judgements.iter().map(move |judgement| (s, judgement)));
    let of = |(s, judgement): (&Said, &Judgement)| match judgement {
        Judgement::Question { text, .. } => {
            Some(Assumption::new(told(rules, text), because(rules.rule(s.constraint)), true))
        }
        _ => None,
    };
    each.filter_map(of).collect()
}

/// Says where a load is taken to act, or how, as its margin does among what was assumed.
fn placed(world: &World<'_>, load: usize, which: usize) -> (Sentence, Sentence) {
    let stated = world.spec.loads.get(load);
    let path = world.part.loads.get(load).and_then(Option::as_ref);
    let taken = path.and_then(|path| path.assumed.get(which));
    match (stated, taken) {
        (Some(load), Some(taken)) => of_load(elastic::Assumed { load: load.name.value.clone(), taken: taken.clone() }),
        _ => (Sentence::Nothing, Sentence::Nothing),
    }
}

/// Returns what the spec leaves open as a question with its answers.
pub(super) fn question(world: &World<'_>, asked: &questions::Asked) -> Assumption {
    let (text, effect) = open_words(world, asked.about);
    let mut question = Assumption::new(text, effect, true);
    question.answers = asked.answers.iter().map(answer).collect();
    question
}

pub(super) fn cautions(rules: &Rules<'_, '_>, said: &[Said]) -> Vec<Caution> {
    let mut found: Vec<(usize, Caution)> = Vec::new();
    for s in said {
        for judgement in &s.judgements {
            if let Judgement::Caution { kind, text } = judgement {
                let rule = rules.rule(s.constraint);
                let text = told(rules, text);
                if found.iter().any(|(_, known)| known.text == text) {
                    continue;
                }
                let because = from_trace(rule, because(rule), &s.trace.used, rules.world.knowledge.sources);
                found.push((s.constraint.rule, Caution { kind: *kind, text, margin: None, because }));
            }
        }
    }
    found.sort_by_key(|(rule, c)| (c.kind, *rule));
    found.into_iter().map(|(_, c)| c).collect()
}

/// Puts every margin that does not plainly hold before the cautions of its kind: it is what to watch. Of loads the rules
/// speak themselves, unless one is broken under a waiver, and of years in the sun.
fn with_margins(world: &World<'_>, cautions: Vec<Caution>, margins: &[Margin]) -> Vec<Caution> {
    let injury = world.spec.consequence.as_ref().is_some_and(|c| c.value == Consequence::Injury);
    let of_load = |m: &Margin| matches!(m.kind, MarginKind::Load | MarginKind::LoadsTogether);
    let of_sun = |m: &Margin| m.kind == MarginKind::Sun && m.verdict == Verdict::Narrow;
    let spoken = |m: &Margin| of_sun(m) || of_load(m) && m.verdict != Verdict::Broken;
    let mut close: Vec<&Margin> = margins.iter().filter(|m| m.verdict != Verdict::Holds && !spoken(m)).collect();
    close.sort_by_key(|m| m.verdict);
    let close = close.into_iter().map(|m| {
        let kind = match of_load(m) {
            _ if injury => CautionKind::Injury,
            true => CautionKind::Load,
            false => CautionKind::Damage,
        };
        let unanswered = m.verdict == Verdict::NotShown && m.kind == MarginKind::Impact;
        let text = MarginNote {
            what: m.what.clone(),
            demand: m.told.demand.clone(),
            capacity: m.told.capacity.clone(),
            verdict: m.verdict,
            why: unanswered.then(|| m.because.text.clone()),
        };
        // How the numbers come about stands with the margin; here it would hide the caution.
        let because = Reason { text: Sentence::Nothing, values: Vec::new(), ..m.because.clone() };
        Caution { kind, text: text.into(), margin: Some(m.verdict), because }
    });
    let mut all: Vec<Caution> = close.chain(cautions).collect();
    all.sort_by_key(|c| c.kind);
    all
}

fn broken(rules: &Rules<'_, '_>, decided: &Decided) -> Vec<Broken> {
    let sources = rules.world.knowledge.sources;
    let of = |said: &Said| {
        let because = reason(rules, said);
        let rule = rules.rule(said.constraint);
        let waiver = rules.world.spec.waivers.iter().find(|w| w.rule.value == rule.name)?;
        let allowed_by = AllowedBy { place: sources.cite(waiver.span), because: waiver.because.clone() };
        Some(Broken { text: because.text.clone(), allowed_by, because })
    };
    decided.waived.iter().filter_map(of).collect()
}

fn assumptions(rules: &Rules<'_, '_>, decided: &Decided, said: &[Said]) -> Vec<Assumption> {
    let world = rules.world;
    let mut result = base_assumptions(world);
    let mut add = |text: Sentence, effect: Sentence, question: bool| {
        if !result.iter().any(|a: &Assumption| a.text == text) {
            result.push(Assumption::new(text, effect, question));
        }
    };
    if let Some(heat) = world.heat(decided.choice[at::MATERIAL]) {
        for taken in &heat.assumed {
            add(Open::Heat(taken.clone()).into(), Open::HeatEffect(taken.clone()).into(), true);
        }
    }
    for taken in taken_of_loads(world, &decided.choice) {
        add(taken.text, taken.effect, taken.question);
    }
    for asked in &decided.questions {
        let (text, effect) = open_words(world, asked.about);
        if text != Sentence::Nothing {
            add(text, effect, asked.decides());
        }
    }
    for a in allowances::assumptions(world, &full(&decided.choice)) {
        add(a.text, a.effect, a.question);
    }
    for s in said {
        let rule = rules.rule(s.constraint);
        for used in &s.trace.used {
            if let Origin::Assumed(assumed) = used.origin {
                add(Open::Assumed(assumed).into(), Open::UsedByRule(rule.name.clone()).into(), false);
            }
        }
        for judgement in &s.judgements {
            if let Judgement::Question { text, .. } = judgement {
                add(told(rules, text), because(rule), true);
            }
            if let Judgement::Undetermined { missing } = judgement
                && rule.can_refuse()
            {
                let about = about(world, rule, s.constraint.instance);
                let asked = Open::RuleNotAsked { about, rule: rule.name.clone(), missing: missing.clone() };
                add(asked.into(), because(rule), true);
            }
        }
    }
    for asked in &decided.questions {
        let (text, _) = open_words(world, asked.about);
        // What every answer leads to alike is taken, and no question.
        if let Some(open) = result.iter_mut().find(|a| a.text == text) {
            open.question = asked.decides() || asked.answers.is_empty() || rests_on_a_guess(world, asked.about);
            open.answers = asked.answers.iter().map(answer).collect();
        }
    }
    let changes = |a: &Assumption| {
        let each = a.answers.iter().enumerate();
        each.filter(|(i, x)| a.answers.iter().take(*i).all(|earlier| earlier.leads_to != x.leads_to)).count()
    };
    result.sort_by_key(|a| std::cmp::Reverse(if a.question { changes(a) } else { 0 }));
    result
}

/// Whether what the answers lead to was worked out of a hold or a place of the load that nobody stated.
fn rests_on_a_guess(world: &World<'_>, about: questions::Open) -> bool {
    let questions::Open::Held(load) = about else { return false };
    world.spec.loads.get(load).is_some_and(|load| load.holds.is_empty() || load.at.is_none())
}

/// Says what the spec leaves open, and what hangs on it.
pub(super) fn open_words(world: &World<'_>, about: questions::Open) -> (Sentence, Sentence) {
    match about {
        questions::Open::Place => (Open::PlaceUnsaid.into(), Open::PlaceOpenEffect.into()),
        questions::Open::Sun => (Open::SunUnsaid.into(), Open::SunOpenEffect.into()),
        questions::Open::Back => (Open::BackUnsaid.into(), Open::BackOpenEffect.into()),
        questions::Open::Warm => warm(world),
        questions::Open::SunTerm => (Open::SunTermUnsaid.into(), Open::SunTermOpenEffect.into()),
        // What was taken stands in this order: the hold, the place, the direction.
        questions::Open::Hold(load) => placed(world, load, 0),
        questions::Open::At(load) => {
            let held = world.spec.loads.get(load).is_some_and(|l| !l.holds.is_empty());
            placed(world, load, usize::from(!held))
        }
        questions::Open::Toward(load) => {
            let path = world.part.loads.get(load).and_then(Option::as_ref);
            placed(world, load, path.map_or(0, |path| path.assumed.len().saturating_sub(1)))
        }
        questions::Open::Which(face) => {
            let unclear = places::unclear(world).into_iter().find(|(i, _)| *i == face);
            unclear.map_or((Sentence::Nothing, Sentence::Nothing), |(_, told)| {
                let write = told.hints.first().cloned().unwrap_or_default();
                (told.message.into(), write.into())
            })
        }
        questions::Open::Cycles(load) => {
            let load = world.spec.loads.get(load);
            let assumed = load.map(|l| strength::cycles_open(l, world.knowledge.catalogue));
            assumed.map_or((Sentence::Nothing, Sentence::Nothing), of_load)
        }
        questions::Open::Held(load) => {
            let load = world.spec.loads.get(load);
            let assumed = load.map(|l| strength::held_open(l, world.knowledge.catalogue));
            assumed.map_or((Sentence::Nothing, Sentence::Nothing), of_load)
        }
    }
}

/// Returns what is said of what is taken of a load, and of what hangs on it.
pub(super) fn of_load(assumed: elastic::Assumed) -> (Sentence, Sentence) {
    let effect = Open::OfLoadEffect(assumed.taken.clone());
    (Open::OfLoad(assumed).into(), effect.into())
}

/// Says of the loads that come and go at what heat they are counted.
fn warm(world: &World<'_>) -> (Sentence, Sentence) {
    let Some(counted) = questions::hottest(world) else { return (Sentence::Nothing, Sentence::Nothing) };
    let load = |index: usize| world.spec.loads.get(index).map(|load| load.name.value.clone());
    let loads = questions::passing(world.spec, world.knowledge.catalogue).filter_map(load).collect();
    (Open::WarmUnsaid { loads, counted }.into(), Open::WarmOpenEffect.into())
}

fn answer(answered: &questions::Answered) -> Answer {
    let drawn = answered.drawn.as_ref().and_then(|freed| match &freed.change {
        Change::Shape(Shape::Section { bent, pulled, .. }) => Some((&freed.way, *bent, *pulled)),
        _ => None,
    });
    let leads_to = match (&answered.way, drawn) {
        (Some(way), _) => LeadsTo::As(would_be(way)),
        (None, Some((way, bent, pulled))) => LeadsTo::Redrawn { way: would_be(way), bent, pulled },
        (None, None) => LeadsTo::Nothing,
    };
    Answer { write: answered.write.clone(), leads_to: leads_to.into() }
}

/// Returns what was taken of the loads: what another answer would change as questions, each of its load; what is so and no
/// answer changes as notes, once for all loads of which it was taken.
pub(super) fn taken_of_loads(world: &World<'_>, choice: &[usize]) -> Vec<Assumption> {
    let (notes, questions): (Vec<_>, Vec<_>) =
        load_assumptions(world, choice).into_iter().partition(|assumed| assumed.taken.is_a_note());
    let mut told: Vec<(Vec<String>, Taken)> = Vec::new();
    for note in notes {
        match told.iter_mut().find(|(_, taken)| *taken == note.taken) {
            Some((loads, _)) if loads.contains(&note.load) => {}
            Some((loads, _)) => loads.push(note.load),
            None => told.push((vec![note.load], note.taken)),
        }
    }
    let asked = questions.into_iter().map(|assumed| {
        let (text, effect) = of_load(assumed);
        Assumption::new(text, effect, true)
    });
    let noted = told.into_iter().map(|(loads, taken)| {
        let effect = Open::OfLoadEffect(taken.clone());
        Assumption::new(Open::OfLoads { loads, taken }, effect, false)
    });
    asked.chain(noted).collect()
}

/// Returns what was taken of each load that the spec does not say: where it acts, where the part is held, for how long.
fn load_assumptions(world: &World<'_>, choice: &[usize]) -> Vec<elastic::Assumed> {
    let (Some(&material), Some(&pose)) = (choice.get(at::MATERIAL), choice.get(at::POSE)) else { return Vec::new() };
    let of = |load: usize| strength::margin(world, load, material, pose).map_or(Vec::new(), |margin| margin.assumed);
    (0..world.spec.loads.len()).flat_map(of).collect()
}

/// Assumptions that hold whether or not the job can be made.
pub(super) fn base_assumptions(world: &World<'_>) -> Vec<Assumption> {
    let spec = world.spec;
    let no_unit = spec.meshes.iter().all(|m| m.unit.is_none());
    let found = [
        (world.bench.assumed, Open::NoShop, Open::NoShopEffect, true),
        (
            !world.bench.assumed && !world.bench.stock_listed,
            Open::Assumed(Assumed::EveryMaterial),
            Open::NoSpoolsEffect,
            false,
        ),
        (spec.quantity.is_none(), Open::Assumed(Assumed::OnePiece), Open::OnePieceEffect, false),
        (spec.consequence.is_none(), Open::Assumed(Assumed::Damage), Open::DamageEffect, false),
        (no_unit, Open::Millimetres, Open::MillimetresEffect, true),
        (!no_unit && spec.size.is_none(), Open::NoSize, Open::NoSizeEffect, false),
    ];
    let open = found.into_iter().filter(|(holds, ..)| *holds);
    let denied = spec.denials.iter().map(|d| {
        let text = Open::Denied { of: d.of.word().to_owned(), because: d.because.clone() };
        Assumption::new(text, Open::DeniedEffect, false)
    });
    open.map(|(_, text, effect, question)| Assumption::new(text, effect, question)).chain(denied).collect()
}

/// Returns the full citation of every source key that any reason of the recipe names.
fn sources(world: &World<'_>, recipe: &Recipe) -> Vec<SourceEntry> {
    let mut keys: BTreeSet<&str> = recipe.regions.iter().flat_map(|r| &r.sources).map(String::as_str).collect();
    for reason in statements::reasons(recipe) {
        keys.extend(reason.source.iter().flat_map(|cited| &cited.keys).map(String::as_str));
        let of_values = reason.values.iter().filter_map(|v| match &v.from {
            Basis::Sourced { source, .. } => Some(&source.keys),
            _ => None,
        });
        keys.extend(of_values.flatten().map(String::as_str));
    }
    let entry = |(key, c): (&String, &crate::catalogue::Citation)| SourceEntry {
        key: key.clone(),
        citation: format!("{} ({})", c.citation.value, c.status.value),
    };
    world.knowledge.catalogue.sources.iter().filter(|(key, _)| keys.contains(key.as_str())).map(entry).collect()
}
