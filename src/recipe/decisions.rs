//! The decisions of the recipe: value, what to know at the machine, the reasons, and what stood next.

use std::collections::BTreeMap;

use crate::catalogue::words::Role;
use crate::recipe::lying;
use crate::recipe::points::{Points, compared, own_first, separating, total};
use crate::recipe::reasons::{reason, touches};
use crate::recipe::{Decided, Decisions, PoseRow, Reason, Rejected, RunnerUp, UsedValue, Weighed, named_and_smaller};
use crate::resolve::decide::{self, Why, full};
use crate::resolve::loads::direction_words;
use crate::resolve::problem::{Rules, Said};
use crate::resolve::world::{DECISIONS, Partial, World, at};
use crate::rulebook::facts::{Bond, RootFacts};
use crate::semantics::spec::Decision as SpecDecision;

/// Most poses in the table.
const POSES: usize = 6;

/// Builds all seven decisions.
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
        }),
    }
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
        )
    };
    let pins = world.spec.pins.iter().filter(|p| same(p.decision.value));
    pins.map(|p| Reason {
        text: format!("pinned by the spec: {}", p.because),
        places: vec![world.knowledge.sources.place(p.span)],
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
        .map(|(names, said)| {
            let rule = rules.rule(said.constraint);
            let mut base = reason(rules, said);
            base.text = format!("{} out ({}): {}", names.join(", "), base.text, rule.because);
            base.values.clear();
            base
        })
        .collect()
}

fn least_penalty(rules: &Rules<'_, '_>, decided: &decide::Decided, d: usize) -> Option<Reason> {
    let world = rules.world;
    let text = match &decided.runners_up[d] {
        None if world.domains()[d] == 1 => "the only one there is".to_owned(),
        None if d == at::MATERIAL => "the only one that stands".to_owned(),
        None => format!("the only one that stands with {}", world.name(at::MATERIAL, decided.choice[at::MATERIAL])),
        Some(next) if next.more == 0 => {
            format!("as good as {}; the first by name is taken", shown(world, d, next.value))
        }
        Some(next) => return Some(better_than(rules, decided, next, d)),
    };
    Some(Reason { text, ..Reason::default() })
}

/// Penalties below this are not worth a word in a reason.
const SLIGHT: Points = Points::hundredths(30);

/// Says what speaks against the runner-up: what the decision itself brings first, then what comes along with it.
fn better_than(rules: &Rules<'_, '_>, decided: &decide::Decided, next: &decide::RunnerUp, d: usize) -> Reason {
    let world = rules.world;
    let theirs = full(&next.choice);
    let against: Vec<_> =
        own_first(rules, d, &next.separated_by).into_iter().filter(|(_, p)| Points::of(*p) >= SLIGHT).collect();
    let along: Vec<String> = (0..next.choice.len())
        .filter(|&other| other != d && next.choice[other] != decided.choice[other])
        .map(|other| match other {
            at::AGENT if next.choice[other] == 0 => "no agent".to_owned(),
            at::SUPPORTS if next.choice[other] == 0 => "no supports".to_owned(),
            at::SUPPORTS => "supports".to_owned(),
            _ => shown(world, other, next.choice[other]),
        })
        .collect();
    let mut words = Vec::new();
    let mut lead: Option<Reason> = None;
    for (constraint, penalty) in against.iter().take(3) {
        let said = reason(rules, &rules.explain(*constraint, &theirs));
        let own = if touches(rules.rule(*constraint), d) { "" } else { "with it, " };
        words.push(format!("{own}{} ({})", said.text, Points::of(*penalty)));
        lead.get_or_insert(said);
    }
    let with = if along.is_empty() { String::new() } else { format!(" (which goes with {})", along.join(", ")) };
    let why = if words.is_empty() { String::new() } else { format!(": {}", words.join("; ")) };
    let text = format!(
        "better than {}{with} by {}{why}",
        shown(world, d, next.value),
        total(&separating(rules, &next.separated_by)).plain()
    );
    let lead = lead.unwrap_or_default();
    Reason { text, rule: lead.rule, source: lead.source, places: lead.places, ..Reason::default() }
}

fn detail(rules: &Rules<'_, '_>, decided: &decide::Decided, d: usize) -> String {
    let world = rules.world;
    let choice = full(&decided.choice);
    match d {
        at::PRINTER => printer_detail(rules, decided.choice[d]),
        at::MATERIAL => {
            let spool = world.bench.spool(choice[at::PRINTER], decided.choice[d], world.spec, world.part);
            let title = world.material(&choice).map_or(String::new(), |m| m.title.value.clone());
            match spool {
                Some(s) => {
                    let colour = s.colour.as_ref().map_or(String::new(), |c| format!(", {c}"));
                    let left = s.left.map_or(String::new(), |l| format!(", {l} left"));
                    let held = held_words(world, world.bench.spool_holder(decided.choice[at::PRINTER], &s.name), "in");
                    format!("{title}; spool {}{colour}{left}{held}", s.name)
                }
                None => title,
            }
        }
        at::NOZZLE => world.nozzle(&choice).map_or(String::new(), |n| {
            let held =
                held_words(world, world.bench.nozzle_holder(decided.choice[at::PRINTER], decided.choice[d]), "in");
            format!("{}, {} mm bore{held}", n.metal.title.value, n.bore.to_mm())
        }),
        at::SURFACE => world.bench.surfaces.get(decided.choice[d]).map_or(String::new(), |s| {
            let held =
                held_words(world, world.bench.surface_holder(decided.choice[at::PRINTER], decided.choice[d]), "on");
            format!("{}{held}", s.kind.title.value)
        }),
        at::AGENT => bond_words(rules, decided),
        at::POSE => pose_detail(rules, &choice),
        _ => String::new(),
    }
}

/// Says which other machine has a thing now.
fn held_words(world: &World<'_>, holder: Option<usize>, place: &str) -> String {
    holder.map_or(String::new(), |p| format!(", {place} {} now", world.name(at::PRINTER, p)))
}

fn printer_detail(rules: &Rules<'_, '_>, printer: usize) -> String {
    let world = rules.world;
    let Some(p) = world.bench.printers.get(printer) else { return String::new() };
    let loaded = p
        .loaded_spool
        .clone()
        .or_else(|| p.loaded.clone())
        .map_or("what is loaded is not recorded".to_owned(), |l| format!("{l} loaded"));
    let fitted =
        p.fitted.and_then(|n| world.bench.nozzles.get(n)).map_or(String::new(), |n| format!(", {} fitted", n.name));
    let mounted = p
        .mounted
        .and_then(|s| world.bench.surfaces.get(s))
        .map_or(String::new(), |s| format!(", {} on the bed", s.name));
    let of = if world.bench.assumed { String::new() } else { format!("{}; ", world.bench.name) };
    format!("{of}now: {loaded}{fitted}{mounted}")
}

fn bond_words(rules: &Rules<'_, '_>, decided: &decide::Decided) -> String {
    let choice = full(&decided.choice);
    let record = rules.world.record(crate::rulebook::Root::Bond, 0, &choice);
    let facts = record.map(|record| Bond::of(&record)).unwrap_or_default();
    match (facts.role.map(|r| r.value), facts.strength.map(|s| s.value)) {
        (Some(Role::Release), Some(hold)) => format!("as release: it lowers the bond ({hold})"),
        (Some(Role::Adhesive), Some(hold)) => format!("as adhesive: the part would not hold without it ({hold})"),
        (_, Some(hold)) => format!("bond {hold}"),
        _ => String::new(),
    }
}

fn pose_detail(rules: &Rules<'_, '_>, choice: &Partial) -> String {
    let world = rules.world;
    let Some(pose) = choice[at::POSE] else { return String::new() };
    let Some(facts) = world.part.poses.get(pose) else { return String::new() };
    // A part that fits only aslant, or is smaller so, has to be laid so.
    let aslant = facts.turn_deg.rem_euclid(90.0);
    let [long, short] = facts.footprint_mm;
    let turned = if (0.5..89.5).contains(&aslant) && short < 0.98 * long {
        format!("turned {:.0}° about the vertical, ", facts.turn_deg)
    } else {
        String::new()
    };
    let order = lying::notation(facts).map_or(String::new(), |order| format!("orientation {order} (ISO 17295), "));
    format!(
        "{}; {order}{turned}{long:.0} x {short:.0} mm on the bed, {:.1} mm high",
        lying::sentence(world, pose),
        facts.height_mm
    )
}

/// Builds the list of what was not taken.
pub fn rejected(rules: &Rules<'_, '_>, decided: &decide::Decided) -> Vec<Rejected> {
    decided
        .rejected
        .iter()
        .map(|r| {
            let because = match &r.why {
                Why::ByTheSpec(text) => Reason { text: text.clone(), ..Reason::default() },
                Why::Refused { decisive, also } => {
                    let mut base = reason(rules, decisive);
                    base.text.push_str(&other_colour(rules, decided, r, decisive));
                    let also: Vec<&str> = also.iter().map(|c| rules.rule(*c).name.as_str()).collect();
                    if !also.is_empty() {
                        base.text = format!("{}; also {}", base.text, also.join(", "));
                    }
                    base.values.clear();
                    base
                }
                Why::Costlier { separated_by, .. } => {
                    let by = separating(rules, separated_by);
                    let text =
                        format!("would do, worse by {}: {}", total(&by).plain(), named_and_smaller(&by).join(", "));
                    Reason { text, ..Reason::default() }
                }
            };
            Rejected {
                decision: DECISIONS.get(r.decision).map_or("", |d| d.word()).to_owned(),
                value: shown(rules.world, r.decision, r.value),
                because,
            }
        })
        .collect()
}

/// Says why a refused material gets warmer or cooler in the sun than the one that was taken: it is sold in one colour only.
fn other_colour(rules: &Rules<'_, '_>, decided: &decide::Decided, rejected: &decide::Rejected, said: &Said) -> String {
    let world = rules.world;
    let warmth = rules.rule(said.constraint).names.iter().any(|n| **n == *"service.part_temperature");
    let (Some(theirs), Some(ours)) = (
        world.heat(rejected.value).filter(|_| rejected.decision == at::MATERIAL && warmth),
        world.heat(decided.choice[at::MATERIAL]),
    ) else {
        return String::new();
    };
    let Some(why) = &theirs.instead else { return String::new() };
    if !theirs.sunlit || theirs.absorptance == ours.absorptance || theirs.temperature == ours.temperature {
        return String::new();
    }
    let percent = |h: &crate::resolve::heat::PartHeat| (h.absorptance * 100.0).round();
    format!(
        " ({why}, which takes up {} % of the sunlight; the colour of this part takes up {} %)",
        percent(theirs),
        percent(ours)
    )
}

/// Builds the table of poses.
pub fn poses(rules: &Rules<'_, '_>, decided: &decide::Decided) -> Vec<PoseRow> {
    let rows: Vec<_> = decided.poses.iter().take(POSES).collect();
    let penalties: Vec<_> = rows.iter().map(|(_, _, penalties)| penalties.as_slice()).collect();
    let row = |(pose, penalties): (usize, Vec<Weighed>)| {
        let facts = rules.world.part.poses.get(pose)?;
        let mut choice = full(&decided.choice);
        choice[at::POSE] = Some(pose);
        let overhangs = rules.world.overhangs(&choice)?;
        let used = |name: &str, value: String| UsedValue { name: name.to_owned(), value, from: String::new() };
        Some(PoseRow {
            pose: format!("{} up", direction_words(facts.pose.up)),
            plain: rules.world.pose_words(pose),
            total: total(&penalties),
            penalties,
            facts: vec![
                used("overhang", format!("{:.0} mm²", overhangs.overhang_mm2)),
                used("on the bed", format!("{:.0} mm²", facts.contact_mm2)),
                used("height", format!("{:.1} mm", facts.height_mm)),
                used("support", format!("{:.1} cm³", overhangs.support_mm3 / 1000.0)),
            ],
        })
    };
    rows.iter().map(|(pose, ..)| *pose).zip(compared(rules, &penalties)).filter_map(row).collect()
}
