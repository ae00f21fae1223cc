//! What loads take of the strength, alone and together, and what strikes the part.

use crate::catalogue::figures;
use crate::fits::SourceKind;
use crate::quantity::{Length, Quantity, Stress, trim_number};
use crate::resolve::strength;
use crate::resolve::together;
use crate::resolve::world::{Partial, World, at};
use crate::semantics::spec::{Ask, Impact};

use super::{Asked, Band, Margin, Source, Told, times};

/// Returns the share of a solid's strength that a foam of it has, `0.3 f^1.5` for open cells (handbook, recalled: Gibson and
/// Ashby, *Cellular Solids*, 2nd ed. 1997, ch. 5): less than a print of that infill bears, which has walls besides.
fn foam_strength(filled: f64) -> f64 {
    0.3 * filled.clamp(0.0, 1.0).powf(1.5)
}

/// How much of the inside is filled, and the share of a solid's strength that counts.
fn filling(world: &World<'_>, choice: &Partial) -> (f64, f64) {
    let infill = world.setting("infill", choice).and_then(|v| v.as_quantity()).map_or(1.0, |q| q.si);
    (infill, if infill > super::SOLID { 1.0 } else { foam_strength(infill) })
}

/// Returns the infill, and what of the strength of a solid section the printed one has: at least (its skin alone, as thin as it is
/// anywhere, pulled through) and at most (its skin as thick as it is anywhere, bent, with the infill as strong as its share).
///
/// Section moduli of a hollow rectangle: `1 - u v` pulled, `1 - u v³` bent, u and v the inner sides over the outer ones (handbook:
/// Gere, *Mechanics of Materials*, appendix). What presses on a skin over its infill by itself is not in it.
fn as_printed(world: &World<'_>, choice: &Partial, section_mm: [f64; 2]) -> (f64, [f64; 2]) {
    let number = |name: &str| world.setting(name, choice).and_then(|v| v.as_quantity()).map(|q| q.si);
    let in_mm = |t: Option<f64>| t.map_or(0.0, |t| Length::m(t).to_mm());
    let infill = number("infill").unwrap_or(1.0);
    if infill > super::SOLID {
        return (infill, [1.0; 2]);
    }
    let walls = || Some(number("wall_beads")? * number("bead_width")?);
    let closed = |name: &str| Some(number(name)? * number("layer_height")?);
    let skins = [walls(), closed("closed_above"), closed("closed_below")].map(in_mm);
    // Where the section is not known, the least is no skin at all and the most is a solid.
    let inner =
        |t: f64, unknown: f64| section_mm.map(|s| if s > 0.0 { (1.0 - 2.0 * t / s).clamp(0.0, 1.0) } else { unknown });
    let [u, v] = inner(skins.into_iter().fold(f64::INFINITY, f64::min), 1.0);
    let [p, q] = inner(skins.into_iter().fold(0.0, f64::max), 0.0);
    let bent = (p * q.powi(3)).min(p.powi(3) * q);
    (infill, [1.0 - u * v, 1.0 - bent * (1.0 - infill.clamp(0.0, 1.0))])
}

pub(super) fn load(asked: &Asked<'_, '_>) -> Option<Margin> {
    let (world, load) = (asked.world, asked.about.index);
    let stated = world.spec.loads.get(load)?;
    let found = strength::margin(world, load, asked.choice[at::MATERIAL]?, asked.choice[at::POSE]?);
    let m = match found {
        Ok(m) => m,
        Err(why) => {
            return Some(asked.not_shown(|| Told {
                demand: stated.size().map_or(String::new(), |s| s.to_string()),
                capacity: "not known".to_owned(),
                basis: why,
                at: vec![stated.span],
                ..Told::default()
            }));
        }
    };
    if let Some(told) = moves_far(asked, &m) {
        return Some(asked.not_shown(|| Told { at: vec![stated.span], ..told }));
    }
    let (infill, [share, best]) = as_printed(world, asked.choice, m.section_mm);
    let capacity = Quantity::from(Stress::mpa(m.capacity_mpa * share));
    let typical = Quantity::from(Stress::mpa(m.demand_mpa * m.typical * share));
    Some(Margin {
        demand: Some(Band::exactly(Stress::mpa(m.demand_mpa))),
        capacity: Some(Band { low: capacity, typical, high: typical }),
        ratio: Some(m.margin * share),
        // What holds by its walls alone holds filled, and what breaks with its infill counted in full breaks.
        ratio_at_best: Some(m.margin * best),
        told: asked.words(|| Told {
            demand: format!("{:.2} MPa", m.demand_mpa),
            capacity: match share < 1.0 {
                false => format!("{:.2} MPa", m.capacity_mpa),
                true => format!("{:.2} MPa, {:.2} MPa were it solid", m.capacity_mpa * share, m.capacity_mpa),
            },
            spare: format!("{} ({} with typical strengths)", times(m.margin * share), times(m.typical * share)),
            basis: match share < 1.0 {
                false => format!("{}; Tsai-Hill in the layers of this way up, solid{}", m.working, thicker(&m)),
                true => format!(
                    "{}; Tsai-Hill in the layers of this way up; the section there is {} mm, of which with {:.0} % infill the skin counts alone, \
                     as if pulled through: x {share:.2} (bent, and its infill counted in full: at most x {best:.2}){}",
                    m.working,
                    m.section_mm.map(|s| trim_number(s, 1)).join(" x "),
                    infill * 100.0,
                    thicker(&m)
                ),
            },
            at: vec![stated.span],
            source: vec![
                Source::key(SourceKind::Handbook, "CRAW3"),
                Source::of(SourceKind::FromMemory, "most strengths and reductions"),
            ],
        }),
        ..asked.margin()
    })
}

/// Says so where a load that would be borne moves the part too far for what small displacements say.
fn moves_far(asked: &Asked<'_, '_>, m: &strength::LoadMargin) -> Option<Told> {
    let most = asked.world.knowledge.catalogue.value(figures::SMALL_DISPLACEMENT) * asked.world.part.longest_mm();
    let moves = strength::moves(asked.world, asked.about.index, asked.choice[at::MATERIAL]?)?;
    (m.margin >= 1.0 && moves > most).then(|| Told {
        demand: format!("{:.2} MPa", m.demand_mpa),
        capacity: "not known".to_owned(),
        basis: format!(
            "it moves {} mm where it acts; beyond {} mm of that the load no longer acts as stated, and what is computed for small displacements says little",
            trim_number(moves, 1),
            trim_number(most, 1)
        ),
        ..Told::default()
    })
}

/// Says how much thicker a place that breaks would have to be.
fn thicker(m: &strength::LoadMargin) -> String {
    match m.thick.filter(|_| m.margin < 1.0) {
        Some(thick) => format!(
            "; would hold with {} mm of thickness in place of {} there, by the law of sections ({})",
            trim_number(thick.wanted_mm, 1),
            trim_number(thick.mm, 1),
            if thick.bends { "bending" } else { "pulled or pressed through" }
        ),
        None => String::new(),
    }
}

/// What the loads that act at once with one take between them.
pub(super) fn together(asked: &Asked<'_, '_>) -> Option<Margin> {
    let (world, spec) = (asked.world, asked.world.spec);
    let all = together::combination(spec, asked.about.index)?;
    let at: Vec<_> = all.iter().filter_map(|&l| spec.loads.get(l)).map(|l| l.span).collect();
    let (material, pose) = (asked.choice[at::MATERIAL]?, asked.choice[at::POSE]?);
    let Some((margin, shares)) = strength::together(world, &all, material, pose) else {
        return Some(asked.not_shown(|| Told {
            demand: "not known".to_owned(),
            basis: "the stress of one of them is not known, or what the part rests on only pushes: such loads are not added"
                .to_owned(),
            at,
            ..Told::default()
        }));
    };
    let (_, share) = filling(world, asked.choice);
    let taken = 1.0 / (margin * share);
    Some(Margin {
        demand: Some(Band::exactly(Quantity::number(taken.min(1e6)))),
        capacity: Some(Band::exactly(Quantity::number(1.0))),
        ratio: Some(margin * share),
        ratio_at_best: Some(margin),
        told: asked.words(|| {
            let foam = if share < 1.0 { format!("; as a foam of that filling: x {share:.3}") } else { String::new() };
            Told {
                demand: format!("{:.0} % of what is borne", (100.0 * taken).min(1e6)),
                capacity: "100 %".to_owned(),
                spare: times(margin * share),
                basis: format!(
                    "{}; on the safe side where they do not strain the same place; `alone` in a load says that it never acts with another{foam}",
                    together::shares_words(spec, &all, &shares)
                ),
                at,
                source: vec![Source::of(SourceKind::Computed, "the sum of the margins above")],
            }
        }),
        ..asked.margin()
    })
}

/// What strikes the part; what of it the part takes up is not computed.
pub(super) fn impact(asked: &Asked<'_, '_>) -> Option<Margin> {
    let stated = asked.world.spec.impact?;
    let material = asked.world.material(asked.choice)?;
    Some(asked.not_shown(|| {
        let soft = asked.world.spec.asks.iter().any(|a| a.value == Ask::Softness);
        let more = if soft || material.flexible.value { "" } else { "; must it be soft, write `ask softness`" };
        Told {
            demand: match stated.value {
                Impact::Drop(height) => format!("a drop of {height}"),
                Impact::Blow { mass, speed } => {
                    let (kg, m_s) = (Quantity::from(mass).si, Quantity::from(speed).si);
                    format!("a blow of {mass} at {speed}, {} J", trim_number(0.5 * kg * m_s * m_s, 2))
                }
                Impact::Stated => "blows or drops".to_owned(),
            },
            capacity: "not known".to_owned(),
            basis: format!(
                "the energy a print takes up before it breaks is not computed: strike a trial piece first{more}"
            ),
            at: vec![stated.span],
            ..Told::default()
        }
    }))
}
