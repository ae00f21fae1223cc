//! The decisions of the recipe: value, what to know at the machine, the reasons, and what stood next.

use std::collections::BTreeMap;

use crate::catalogue::figures;
use crate::geometry::pose;
use crate::geometry::survey::PoseFacts;
use crate::quantity::{Area, Duration, Length, Volume};
use crate::recipe::lying;
use crate::recipe::points::{Points, compared, own_first, separating, total};
use crate::recipe::reasons::{reason, touches};
use crate::recipe::{
    Against, Along, Apart, Choice, Cost, Decided, Decisions, Detail, OtherColour, PoseRow, Reason, Rejected, RunnerUp,
    Spool, Weighed,
};
use crate::resolve::decide::{self, Why, full};
use crate::resolve::loads::direction_words;
use crate::resolve::problem::{Rules, Said};
use crate::resolve::run;
use crate::resolve::world::{COUNT, DECISIONS, Partial, World, at};
use crate::rulebook::facts::{Bond, RootFacts};
use crate::rulebook::{Decision, Root};
use crate::semantics::spec::Decision as SpecDecision;

/// Builds all decisions.
pub fn decisions(rules: &Rules<'_, '_>, decided: &decide::Decided) -> Decisions {
    let of = |d: usize| decision(rules, decided, d);
    Decisions {
        printer: of(at::PRINTER),
        material: of(at::MATERIAL),
        nozzle: of(at::NOZZLE),
        surface: of(at::SURFACE),
        agent: of(at::AGENT),
        pose: of(at::POSE),
        supports: of(at::SUPPORTS),
        build_up: of(at::BUILD_UP),
    }
}

/// A value as a person says it: the words of the rule language are joined by hyphens, those of a page are not.
fn shown(world: &World<'_>, d: usize, value: usize) -> String {
    let name = world.name(d, value);
    if d == at::SUPPORTS { name.replace('-', " ") } else { name }
}

fn decision(rules: &Rules<'_, '_>, decided: &decide::Decided, d: usize) -> Decided {
    let world = rules.world;
    let value = decided.choice[d];
    let runner_up = decided.runners_up[d].as_ref();
    let mut because = pinned(rules, d);
    because.extend(ruled_out(rules, decided, d));
    because.extend(least_penalty(rules, decided, d));
    Decided {
        value: shown(world, d, value),
        detail: detail(rules, decided, d),
        because,
        runner_up: runner_up.map(|r| RunnerUp {
            value: shown(world, d, r.value),
            penalty: total(&separating(rules, &r.separated_by)),
            separated_by: separating(rules, &own_first(rules, d, &r.separated_by)),
            run_apart: run_apart(world, &decided.choice, &r.choice),
        }),
    }
}

/// Returns by how much a run differs from another in time and money.
fn run_apart(world: &World<'_>, ours: &[usize], theirs: &[usize]) -> Option<Apart> {
    let of = |choice: &[usize]| {
        let choice = decide::full(choice);
        let plan = world.plan(&choice)?;
        run::totals(world, &choice, &plan).ok()
    };
    let (ours, theirs) = (of(ours)?, of(theirs)?);
    let cost = Cost { amount: theirs.cost - ours.cost, currency: world.bench.currency.as_deref().map(str::to_owned) };
    Some(Apart { time: Duration::s(theirs.time_s - ours.time_s), cost })
}

fn pinned(rules: &Rules<'_, '_>, d: usize) -> Vec<Reason> {
    let world = rules.world;
    let same = |decision: SpecDecision| {
        matches!(
            (decision, d),
            (SpecDecision::Printer, at::PRINTER)
                | (SpecDecision::Material | SpecDecision::Spool, at::MATERIAL)
                | (SpecDecision::Nozzle, at::NOZZLE)
                | (SpecDecision::Surface, at::SURFACE)
                | (SpecDecision::Agent, at::AGENT)
                | (SpecDecision::Pose, at::POSE)
                | (SpecDecision::Supports, at::SUPPORTS)
                | (SpecDecision::BuildUp, at::BUILD_UP)
        )
    };
    let pins = world.spec.pins.iter().filter(|p| same(p.decision.value));
    pins.map(|p| Reason {
        text: Choice::Pinned { because: p.because.clone() }.into(),
        places: vec![world.knowledge.sources.cite(p.span)],
        ..Reason::default()
    })
    .collect()
}

/// Groups the values that rules refuse by the rule that refuses them, so that a decision says what left it standing.
fn ruled_out(rules: &Rules<'_, '_>, decided: &decide::Decided, d: usize) -> Vec<Reason> {
    let mut groups: BTreeMap<usize, (Vec<String>, &Said)> = BTreeMap::new();
    for rejected in decided.rejected.iter().filter(|r| r.decision == d) {
        if let Why::Refused { decisive, .. } = &rejected.why {
            let entry = groups.entry(decisive.constraint.rule).or_insert_with(|| (Vec::new(), decisive.as_ref()));
            entry.0.push(shown(rules.world, d, rejected.value));
        }
    }
    let mut groups: Vec<(Vec<String>, &Said)> = groups.into_values().collect();
    groups.sort_by_key(|(names, said)| (std::cmp::Reverse(names.len()), said.constraint));
    groups
        .into_iter()
        .map(|(values, said)| {
            let because = rules.rule(said.constraint).because.clone();
            let base = reason(rules, said);
            let text = Choice::RuledOut { values, said: base.text, because }.into();
            Reason { text, values: Vec::new(), ..base }
        })
        .collect()
}

fn least_penalty(rules: &Rules<'_, '_>, decided: &decide::Decided, d: usize) -> Vec<Reason> {
    let world = rules.world;
    let text = match &decided.runners_up[d] {
        None if world.domains()[d] == 1 => Choice::OnlyOne,
        None if d == at::MATERIAL => Choice::OnlyStanding { with: None },
        None => Choice::OnlyStanding { with: Some(world.name(at::MATERIAL, decided.choice[at::MATERIAL])) },
        Some(next) if next.more == 0 => Choice::AsGoodAs { other: shown(world, d, next.value) },
        Some(next) => return vec![better_than(rules, decided, next, d)],
    };
    let beyond = decided.runners_up[d].as_ref().and_then(|next| next.beyond.as_deref());
    let told = beyond.map(|next| better_than(rules, decided, next, d));
    std::iter::once(Reason::computed(text.into())).chain(told).collect()
}

/// Returns what another choice decides otherwise besides a decision.
fn along(world: &World<'_>, ours: &[usize; COUNT], theirs: &[usize; COUNT], d: usize) -> impl Iterator<Item = Along> {
    (0..COUNT).filter(move |&other| other != d && theirs[other] != ours[other]).map(move |other| match other {
        at::AGENT if theirs[other] == 0 => Along::NoAgent,
        at::SUPPORTS => Along::Supports(theirs[other] != 0),
        at::BUILD_UP => Along::BuildUp(shown(world, other, theirs[other])),
        _ => Along::Value(shown(world, other, theirs[other])),
    })
}

/// How many penalties a reason tells in words.
const TOLD_AGAINST: usize = 3;

/// Says what speaks against the runner-up: what the decision itself brings first, then what comes along with it.
fn better_than(rules: &Rules<'_, '_>, decided: &decide::Decided, next: &decide::RunnerUp, d: usize) -> Reason {
    let world = rules.world;
    let slight = world.knowledge.catalogue.value(figures::SLIGHT_POINTS);
    let theirs = full(&next.choice);
    let all = own_first(rules, d, &next.separated_by);
    let counts = |(_, p): &&_| Points::of(*p).as_f64() >= slight;
    // Where nothing counts for much, the first of what there is: a choice has its reason and the source of that.
    let few = if all.iter().any(|of| counts(&of)) { TOLD_AGAINST } else { 1 };
    let against: Vec<_> = all.iter().filter(|of| few == 1 || counts(of)).collect();
    let (mut told, mut lead) = (Vec::new(), None);
    for (constraint, penalty) in against.into_iter().take(few) {
        let said = reason(rules, &rules.explain(*constraint, &theirs));
        let own = touches(rules.rule(*constraint), d);
        told.push(Against { said: said.text.clone(), points: Points::of(*penalty), own });
        lead.get_or_insert(said);
    }
    let text = Choice::Better {
        than: shown(world, d, next.value),
        along: along(world, &decided.choice, &next.choice, d).collect(),
        by: separating(rules, &next.separated_by),
        against: told,
    };
    Reason { text: text.into(), values: Vec::new(), ..lead.unwrap_or_default() }
}

fn detail(rules: &Rules<'_, '_>, decided: &decide::Decided, d: usize) -> Detail {
    let world = rules.world;
    let choice = full(&decided.choice);
    let printer = decided.choice[at::PRINTER];
    match d {
        at::PRINTER => printer_detail(world, printer),
        at::MATERIAL => {
            let spool = world.bench.spool(choice[at::PRINTER], decided.choice[d], world.spec, world.part);
            let spool = spool.map(|s| Spool {
                name: s.name.clone(),
                colour: s.colour.clone(),
                left: s.left,
                kept: s.stored.filter(|_| !is_loaded(world, printer, &s.name)),
                held: held(world, world.bench.spool_holder(printer, &s.name)),
            });
            let title = world.material(&choice).map_or(String::new(), |m| m.title.value.clone());
            Detail::Material { title, spool }
        }
        at::NOZZLE => world.nozzle(&choice).map_or(Detail::Nothing, |n| Detail::Nozzle {
            metal: n.metal.title.value.clone(),
            bore: n.bore,
            held: held(world, world.bench.nozzle_holder(printer, decided.choice[d])),
        }),
        at::SURFACE => {
            let surface = world.bench.surfaces.get(decided.choice[d]);
            surface.map_or(Detail::Nothing, |s| Detail::Surface {
                title: s.kind.title.value.clone(),
                held: held(world, world.bench.surface_holder(printer, decided.choice[d])),
            })
        }
        at::AGENT => bond(world, &choice),
        at::POSE => pose_detail(world, &choice),
        at::BUILD_UP => build_up_detail(world, &choice),
        _ => Detail::Nothing,
    }
}

/// Returns the name of the other machine that has a thing now.
fn held(world: &World<'_>, holder: Option<usize>) -> Option<String> {
    holder.map(|p| world.name(at::PRINTER, p))
}

fn build_up_detail(world: &World<'_>, choice: &Partial) -> Detail {
    let number = |name: &str| world.setting(name, choice).and_then(|v| v.as_quantity()).map(|q| q.si);
    Detail::BuildUp {
        beads: number("wall_beads"),
        above: number("closed_above"),
        below: number("closed_below"),
        infill: number("infill"),
    }
}

/// Whether a spool is in the machine already.
fn is_loaded(world: &World<'_>, printer: usize, spool: &str) -> bool {
    world.bench.printers.get(printer).is_some_and(|p| p.loaded_spool.as_deref() == Some(spool))
}

fn printer_detail(world: &World<'_>, printer: usize) -> Detail {
    let bench = &world.bench;
    let Some(p) = bench.printers.get(printer) else { return Detail::Nothing };
    Detail::Printer {
        shop: (!bench.assumed).then(|| bench.name.clone()),
        loaded: p.loaded_spool.clone().or_else(|| p.loaded.clone()),
        fitted: p.fitted.and_then(|n| bench.nozzles.get(n)).map(|n| n.name.clone()),
        mounted: p.mounted.and_then(|s| bench.surfaces.get(s)).map(|s| s.name.clone()),
    }
}

fn bond(world: &World<'_>, choice: &Partial) -> Detail {
    let facts = world.record(Root::Bond, 0, choice).map(|record| Bond::of(&record)).unwrap_or_default();
    let strength = facts.strength.map(|s| s.value.to_string());
    strength.map_or(Detail::Nothing, |strength| Detail::Bond { role: facts.role.map(|r| r.value), strength })
}

fn pose_detail(world: &World<'_>, choice: &Partial) -> Detail {
    let Some((pose, facts)) = choice[at::POSE].and_then(|p| Some((p, world.part.poses.get(p)?))) else {
        return Detail::Nothing;
    };
    // A part that is smaller aslant has to be laid so; quarters of a turn are nothing to tell.
    let is_turned = facts.turn_deg.rem_euclid(90.0) != 0.0;
    Detail::Pose {
        lay: lying::lay(world, pose, facts),
        layers: lying::layers(world, pose),
        notation: lying::notation(facts, &world.part.flat),
        turned: is_turned.then_some(facts.turn_deg),
        askew: askew(world, choice, facts),
        footprint: facts.footprint_mm.map(Length::mm),
        height: Length::mm(facts.height_mm),
    }
}

/// Builds the list of what was not taken.
pub fn rejected(rules: &Rules<'_, '_>, decided: &decide::Decided) -> Vec<Rejected> {
    decided.rejected.iter().map(|r| not_taken(rules, decided, r)).collect()
}

/// Returns why each decision that has a value of this name, in any case, was not decided so; nothing where none has.
pub fn against(rules: &Rules<'_, '_>, decided: &decide::Decided, name: &str) -> Vec<Rejected> {
    let is = |decision: usize, value: usize| shown(rules.world, decision, value).eq_ignore_ascii_case(name);
    let all = rules.world.domains().into_iter().enumerate().flat_map(|(d, size)| (0..size).map(move |v| (d, v)));
    let named = all.filter(|&(d, v)| is(d, v)).filter_map(|(d, v)| decide::not_taken(rules, decided, d, v));
    named.map(|r| not_taken(rules, decided, &r)).collect()
}

fn not_taken(rules: &Rules<'_, '_>, decided: &decide::Decided, r: &decide::Rejected) -> Rejected {
    let because = match &r.why {
        Why::ByTheSpec(by) => Reason {
            text: Choice::ByTheSpec { forbidden: by.forbidden, because: by.because.clone() }.into(),
            places: vec![rules.world.knowledge.sources.cite(by.at)],
            ..Reason::default()
        },
        Why::Refused { decisive, also } => {
            let base = reason(rules, decisive);
            let colour = other_colour(rules, decided, r, decisive);
            let also = also.iter().map(|c| rules.rule(*c).name.clone()).collect();
            Reason { text: Choice::Refused { said: base.text, colour, also }.into(), values: Vec::new(), ..base }
        }
        Why::Costlier { separated_by, .. } => {
            Reason::computed(Choice::Costlier { by: separating(rules, separated_by) }.into())
        }
    };
    Rejected {
        decision: DECISIONS.get(r.decision).copied().unwrap_or(Decision::Material),
        value: shown(rules.world, r.decision, r.value),
        because,
    }
}

/// Says why a refused material gets warmer or cooler in the sun than the one that was taken: it is sold in one colour only.
fn other_colour(
    rules: &Rules<'_, '_>,
    decided: &decide::Decided,
    rejected: &decide::Rejected,
    said: &Said,
) -> Option<OtherColour> {
    let world = rules.world;
    let warmth = rules.rule(said.constraint).names.iter().any(|n| **n == *"service.part_temperature");
    let theirs = world.heat(rejected.value).filter(|_| rejected.decision == at::MATERIAL && warmth)?;
    let ours = world.heat(decided.choice[at::MATERIAL])?;
    let differs = theirs.absorptance != ours.absorptance && theirs.temperature != ours.temperature;
    let why = theirs.instead.clone().filter(|_| theirs.sunlit && differs)?;
    Some(OtherColour { why, theirs: theirs.absorptance, ours: ours.absorptance })
}

/// Says how a part lies that fits the bed only askew.
fn askew(world: &World<'_>, choice: &Partial, facts: &PoseFacts) -> Option<(f64, [f64; 2], Length)> {
    let lying = world.bench.lie_on(choice[at::PRINTER]?, facts)?;
    Some((lying.turn_deg, lying.askew_deg?, Length::mm(lying.room_mm)))
}

/// Names the sides of the file that are the same as a pose; ways that lean are too many to name.
fn equals(facts: &PoseFacts) -> Vec<String> {
    let mut names: Vec<String> = facts.equals.iter().map(|&up| pose::name(up)).filter(|n| !n.contains(',')).collect();
    names.sort();
    names
}

/// Builds the table of poses.
pub fn poses(rules: &Rules<'_, '_>, decided: &decide::Decided) -> Vec<PoseRow> {
    let rows = &decided.poses;
    let penalties: Vec<_> = rows.iter().map(|row| row.penalties.as_slice()).collect();
    let row = |(row, penalties): (&decide::PoseTotal, Vec<Weighed>)| {
        let pose = row.pose;
        let facts = rules.world.part.poses.get(pose)?;
        let overhangs = rules.world.overhangs(&full(&row.choice))?;
        Some(PoseRow {
            pose: format!("{} up", direction_words(facts.pose.up)),
            plain: rules.world.pose_words(pose),
            along: along(rules.world, &decided.choice, &row.choice, at::POSE)
                .filter(|along| !matches!(along, Along::Supports(_)))
                .map(|along| along.to_string())
                .collect(),
            equals: equals(facts),
            total: total(&penalties),
            penalties,
            overhang: Area::mm2(overhangs.overhang_mm2),
            on_the_bed: Area::mm2(facts.contact_mm2),
            height: Length::mm(facts.height_mm),
            support: Volume::mm3(overhangs.support_mm3),
        })
    };
    rows.iter().zip(compared(rules, &penalties)).filter_map(row).collect()
}
