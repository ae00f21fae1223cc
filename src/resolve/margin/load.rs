//! What loads take of the strength, alone and together, and what strikes the part.

use std::sync::Arc;

use crate::catalogue::figures;
use crate::fits::SourceKind;
use crate::physics::foam;
use crate::quantity::{Area, Length, Quantity, Stress};
use crate::resolve::strength;
use crate::resolve::together;
use crate::resolve::world::{Partial, World, at};
use crate::semantics::spec::{Ask, Course, Load};

use super::said::{Demand, NotShown, Printed, Said, Thicker, Unlimited, Why};
use super::{Asked, Band, Margin, Source, Told, sourced};

/// Returns what of the strength of a solid section the printed one has: at least (its skin, as thin as it is anywhere,
/// pulled through, and a foam of its infill within) and at most (its skin as thick as it is anywhere, bent, with the infill as strong as its share).
///
/// A hollow section has of a full one what its area has pulled, and what its second moment has bent (handbook: Gere, *Mechanics of
/// Materials*, ch. 5). What presses on a skin over its infill by itself is not in it.
fn as_printed(world: &World<'_>, choice: &Partial, across: &strength::Across) -> Printed {
    let number = |name: &str| world.setting(name, choice).and_then(|v| v.as_quantity()).map(|q| q.si);
    let infill = number("infill").unwrap_or(1.0);
    if infill > super::SOLID {
        return Printed { infill, share: 1.0, best: 1.0, section: None };
    }
    let skins = skins(world, choice);
    let section = across.section(world);
    // Where the section is not known, the least is no skin at all and the most is a solid.
    let within = |t: f64| section.as_ref().map(|s| s.within(t));
    let pulled = within(skins.into_iter().fold(f64::INFINITY, f64::min)).map_or(1.0, |core| core.area);
    let bent = within(skins.into_iter().fold(0.0, f64::max)).map_or(0.0, |core| core.least_bent());
    let section = section.map(|s| (Area::mm2(s.area_mm2), Length::mm(s.outline_mm)));
    let share = 1.0 - pulled + pulled * foam::strength(infill);
    Printed { infill, share, best: 1.0 - bent * (1.0 - infill.clamp(0.0, 1.0)), section }
}

pub(super) fn load(asked: &Asked<'_, '_>) -> Option<Margin> {
    let (world, load) = (asked.world, asked.about.index);
    let stated = world.spec.loads.get(load)?;
    let found = world.load_margin(load, asked.choice[at::MATERIAL]?, asked.choice[at::POSE]?);
    let m = match found {
        Ok(m) => m,
        Err(why) => {
            let size = stated.size().map_or(Demand::Unsaid, Demand::Size);
            return Some(asked.not_shown(|| NotShown::new(size, Why::NotKnown(why)), vec![stated.span]));
        }
    };
    let stiff = stiff(world, asked.choice, &m.across);
    let [pulls, pulls_least] = mass_share(asked, stated).unwrap_or([1.0; 2]);
    let (demand_mpa, margin, typical) = (m.demand_mpa * pulls, m.margin / pulls, m.typical / pulls);
    let m = strength::LoadMargin { demand_mpa, margin, typical, ..(*m).clone() };
    let printed = as_printed(world, asked.choice, &m.across);
    let (share, best) = (printed.share, printed.best);
    if let Some(said) = moves_far(asked, &m, m.margin * best * m.slack, stiff) {
        return Some(asked.not_shown(|| said, vec![stated.span]));
    }
    if let Some(said) = closes_first(asked, &m, m.margin * best * m.slack, stiff) {
        return Some(asked.not_shown(|| said, vec![stated.span]));
    }
    let thicker = thicker(world, &m, best);
    // How far what breaks moves is told to whoever looks, and asked by no rule.
    let bears = m.margin * best * m.slack >= 1.0;
    let moves = (bears || asked.tell.is_some()).then(|| unlimited(asked, stiff)).flatten();
    let capacity = Quantity::from(Stress::mpa(m.capacity_mpa * share));
    let typical = Quantity::from(Stress::mpa(m.demand_mpa * m.typical * share));
    let sums =
        asked.tell.and_then(|_| strength::sums(world, load, asked.choice[at::MATERIAL]?, asked.choice[at::POSE]?).ok());
    let sums =
        sums.map(|sums| strength::Sums { skin: [share, best], stress_mpa: sums.stress_mpa.map(|s| s * pulls), ..sums });
    Some(Margin {
        demand: Some(Band::exactly(Stress::mpa(m.demand_mpa))),
        capacity: Some(Band { low: capacity, typical, high: typical }),
        ratio: Some(m.margin * share),
        // What holds by its walls alone holds filled, and what breaks with its infill counted in full breaks.
        ratio_at_best: Some(m.margin * best * m.slack * pulls / pulls_least),
        would_hold: thicker,
        moves,
        corner: strength::corner(world, m.across.at),
        told: asked.words(|| Told {
            said: Said::Load {
                demand: Stress::mpa(m.demand_mpa),
                solid: Stress::mpa(m.capacity_mpa),
                ratio: m.margin * share,
                typical: m.typical * share,
                printed,
                coarse: (m.margin * best < 1.0 && m.margin * best * m.slack >= 1.0).then_some(m.apart),
                sums: sums.map(Arc::new),
                moves,
                thicker,
            },
            at: vec![stated.span],
            source: sources(asked, stated),
        }),
        ..asked.margin()
    })
}

/// Returns what of a solid's mass the printed part has at most and at least, where it is its own mass that pulls: its surface
/// everywhere under the thickest skin there is, and no skin at all. `None` for other loads.
fn mass_share(asked: &Asked<'_, '_>, load: &Load) -> Option<[f64; 2]> {
    load.acceleration?;
    let part = asked.world.part;
    let number = |name: &str| asked.world.setting(name, asked.choice).and_then(|v| v.as_quantity()).map(|q| q.si);
    let infill = number("infill").filter(|infill| *infill <= super::SOLID && *infill > 0.0).unwrap_or(1.0);
    let skin = skins(asked.world, asked.choice).into_iter().fold(0.0, f64::max);
    let shell = part.volume_mm3.map_or(1.0, |volume| (part.area_mm2 * skin / volume).min(1.0));
    Some([shell + infill * (1.0 - shell), infill])
}

/// Returns how thick the beads of the outline, the closed layers above and those below are, mm.
pub(super) fn skins(world: &World<'_>, choice: &Partial) -> [f64; 3] {
    let number = |name: &str| world.setting(name, choice).and_then(|v| v.as_quantity()).map(|q| q.si);
    let walls = || Some(number("wall_beads")? * number("bead_width")?);
    let closed = |name: &str| Some(number(name)? * number("layer_height")?);
    [walls(), closed("closed_above"), closed("closed_below")].map(|t| t.map_or(0.0, |t| Length::m(t).to_mm()))
}

/// Returns how far a load moves the part where nobody limited that, beside what is usual.
fn unlimited(asked: &Asked<'_, '_>, stiff: f64) -> Option<Unlimited> {
    let (world, load) = (asked.world, asked.about.index);
    let stated = world.spec.loads.get(load)?;
    if world.spec.deflection.as_ref().is_some_and(|d| d.is_under(&stated.name.value)) {
        return None;
    }
    let (solid, modulus) = strength::moves(world, load, asked.choice[at::MATERIAL]?)?;
    let lever = strength::hand::lever_mm(world, load)?;
    let moves = solid / stiff;
    let most = world.knowledge.catalogue.value(figures::SMALL_DISPLACEMENT) * world.part.longest_mm();
    let usual = world.knowledge.catalogue.value(figures::USUAL_DEFLECTION) * lever;
    let [moves, usual, lever, most] = [moves, usual, lever, most].map(Length::mm);
    Some(Unlimited { moves, usual, lever, most, modulus })
}

/// Returns where the strengths are from, what time or repetition leaves of them, and how they are put together.
fn sources(asked: &Asked<'_, '_>, load: &Load) -> Vec<Source> {
    let catalogue = asked.world.knowledge.catalogue;
    let part = |of: &'static str, source: Source| Source { of, ..source };
    let mut all = vec![part("stresses put together", Source::key(SourceKind::Handbook, "CRAW3-p234"))];
    let Some(material) = asked.world.material(asked.choice) else { return all };
    all.push(part("strength along", sourced(&material.strength_along)));
    all.push(part("strength across", sourced(&material.strength_across)));
    match load.course.value {
        Course::Steady => {
            let held = material.sustained.as_ref().map(sourced);
            let usual = || sourced(&catalogue.figure(figures::SUSTAINED_YEARS));
            all.push(part("held for long", held.unwrap_or_else(usual)));
        }
        Course::Cyclic => {
            let own = material.fatigue.as_ref().map(sourced);
            all.push(part("repeated", own.unwrap_or_else(|| sourced(&catalogue.figure(figures::FATIGUE_ALONG)))));
        }
        _ => {}
    }
    all.push(Source::of(SourceKind::FromMemory, "what heat leaves, strength sheared"));
    all
}

/// Says so where a load that would be borne moves the part too far for what small displacements say.
fn moves_far(asked: &Asked<'_, '_>, m: &strength::LoadMargin, at_best: f64, stiff: f64) -> Option<NotShown> {
    let most = asked.world.knowledge.catalogue.value(figures::SMALL_DISPLACEMENT) * asked.world.part.longest_mm();
    // What breaks need not be asked how far it moves.
    let moves =
        (at_best >= 1.0).then(|| strength::moves(asked.world, asked.about.index, asked.choice[at::MATERIAL]?))??;
    let moves = moves.0 / stiff;
    let why = Why::MovesFar { moves: Length::mm(moves), most: Length::mm(most) };
    (moves > most).then(|| NotShown::new(Demand::Stress(Stress::mpa(m.demand_mpa)), why))
}

/// Says so where a load closes a gap of the part before it breaks it, if it breaks it at all.
fn closes_first(asked: &Asked<'_, '_>, m: &strength::LoadMargin, at_best: f64, stiff: f64) -> Option<NotShown> {
    let load = asked.world.spec.loads.get(asked.about.index)?;
    let closes = strength::closes(asked.world, asked.about.index, asked.choice[at::MATERIAL]?, stiff)?;
    let size = load.size()?;
    let why = Why::Closes {
        gap: Length::mm(closes.gap_mm),
        at: closes.at,
        load: Quantity::new(size.si * closes.share, size.dimension),
        bears: m.margin / closes.share,
    };
    // What has softened closes nothing: it bears nothing.
    (closes.share > 0.0 && at_best >= closes.share)
        .then(|| NotShown::new(Demand::Stress(Stress::mpa(m.demand_mpa)), why))
}

/// Returns what of a solid's stiffness the printed part has at least where it is bent: its skin, as thin as it is anywhere, and a
/// foam of its infill within, in the section where it fails first (second moments of a hollow section: handbook, Gere,
/// *Mechanics of Materials*, ch. 5); where that is not known, a foam and no skin.
fn stiff(world: &World<'_>, choice: &Partial, across: &strength::Across) -> f64 {
    let infill = world.setting("infill", choice).and_then(|v| v.as_quantity()).map_or(1.0, |q| q.si);
    if infill > super::SOLID {
        return 1.0;
    }
    let skin = skins(world, choice).into_iter().fold(f64::INFINITY, f64::min);
    let core = across.core(world, skin).map_or(1.0, |core| core.most_bent());
    1.0 - core + core * foam::stiffness(infill)
}

/// Returns how thick a place that breaks would have to be, of which at best a share counts.
///
/// What would have to be drawn many times thicker is another part: of that no size is told.
fn thicker(world: &World<'_>, m: &strength::LoadMargin, best: f64) -> Option<Thicker> {
    let times = world.knowledge.catalogue.value(figures::REDRAWN_MOST);
    m.thick.filter(|_| m.margin > 0.0 && m.margin < 1.0 && best > 0.0).map(|place| {
        let wanted_mm = place.mm * place.law.times(m.margin * best);
        // Nobody draws a section thicker than the part is long.
        let times = times.min(world.part.longest_mm() / place.mm.max(f64::MIN_POSITIVE));
        if wanted_mm > times * place.mm { Thicker::Beyond { times, place } } else { Thicker::To { wanted_mm, place } }
    })
}

/// What the loads that act at once with one take between them.
pub(super) fn together(asked: &Asked<'_, '_>) -> Option<Margin> {
    let (world, spec) = (asked.world, asked.world.spec);
    let all = together::combination(spec, asked.about.index)?;
    let at: Vec<_> = all.iter().filter_map(|&l| spec.loads.get(l)).map(|l| l.span).collect();
    let (material, pose) = (asked.choice[at::MATERIAL]?, asked.choice[at::POSE]?);
    let between = match world.between(&all, material, pose) {
        Ok(between) => between,
        Err(why) => {
            return Some(asked.not_shown(|| NotShown::new(Demand::Unknown, Why::Together(why)), at));
        }
    };
    let printed = as_printed(world, asked.choice, &between.across);
    let (share, best) = (printed.share, printed.best);
    let taken = 1.0 / (between.margin * share);
    Some(Margin {
        demand: Some(Band::exactly(Quantity::number(taken.min(1e6)))),
        capacity: Some(Band::exactly(Quantity::number(1.0))),
        ratio: Some(between.margin * share),
        ratio_at_best: Some(between.margin * best * between.slack),
        told: asked.words(|| Told {
            said: Said::Together {
                taken,
                ratio: between.margin * share,
                printed,
                combination: together::taken(spec, &all, &between),
            },
            at,
            source: vec![Source::of(SourceKind::Computed, "the stresses of the loads above, added")],
        }),
        ..asked.margin()
    })
}

/// What strikes the part; what of it the part takes up is not computed.
pub(super) fn impact(asked: &Asked<'_, '_>) -> Option<Margin> {
    let stated = asked.world.spec.impact?;
    let material = asked.world.material(asked.choice)?;
    let soft = || asked.world.spec.asks.iter().any(|a| a.value == Ask::Softness) || material.flexible.value;
    let said = || NotShown::new(Demand::Blow(stated.value), Why::Blow { soft_unasked: !soft() });
    Some(asked.not_shown(said, vec![stated.span]))
}
