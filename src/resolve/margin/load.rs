//! What loads take of the strength, alone and together, and what strikes the part.

use crate::catalogue::figures;
use crate::fits::SourceKind;
use crate::quantity::{Length, Quantity, Stress, trim_number};
use crate::resolve::strength;
use crate::resolve::together;
use crate::resolve::world::{Partial, World, at};
use crate::semantics::spec::{Ask, Impact};

use super::{Asked, Band, Margin, Source, Told, times};

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

/// Says what of a section that is not solid counts.
fn skin_words(infill: f64, [share, best]: [f64; 2], section_mm: [f64; 2]) -> String {
    if share >= 1.0 {
        return String::new();
    }
    format!(
        "; the section there is {} mm, of which with {:.0} % infill the skin counts alone, as if pulled through: x {share:.2} \
         (bent, and its infill counted in full: at most x {best:.2})",
        section_mm.map(|s| trim_number(s, 1)).join(" x "),
        infill * 100.0,
    )
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
        ratio_at_best: Some(m.margin * best * m.slack),
        would_hold: thicker(world, &m, best),
        told: asked.words(|| Told {
            demand: format!("{:.2} MPa", m.demand_mpa),
            capacity: match share < 1.0 {
                false => format!("{:.2} MPa", m.capacity_mpa),
                true => format!("{:.2} MPa, {:.2} MPa were it solid", m.capacity_mpa * share, m.capacity_mpa),
            },
            spare: format!("{} ({} with typical strengths)", times(m.margin * share), times(m.typical * share)),
            basis: match share < 1.0 {
                false => {
                    format!(
                        "{}; Tsai-Hill in the layers of this way up, solid{}",
                        m.working,
                        would_hold(world, &m, best)
                    )
                }
                true => format!(
                    "{}; Tsai-Hill in the layers of this way up{}{}",
                    m.working,
                    skin_words(infill, [share, best], m.section_mm),
                    would_hold(world, &m, best)
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

/// Says how thick a place that breaks would have to be, of which at best a share counts.
///
/// What would have to be drawn many times thicker is another part: of that no size is told.
fn thicker(world: &World<'_>, m: &strength::LoadMargin, best: f64) -> Option<String> {
    let most = world.knowledge.catalogue.value(figures::REDRAWN_MOST);
    m.thick.filter(|_| m.margin < 1.0 && best > 0.0).map(|thick| {
        let wanted_mm = thick.wanted_mm / if thick.bends { best.sqrt() } else { best };
        if wanted_mm > most * thick.mm {
            let now = trim_number(thick.mm, 1);
            return format!("no thickness up to {most} times the {now} mm at {}", strength::place(thick.at));
        }
        format!(
            "{} mm of thickness in place of {} mm at {}, by the law of sections ({})",
            // Rounded up: what is said must hold.
            trim_number((wanted_mm * 10.0).ceil() / 10.0, 1),
            trim_number(thick.mm, 1),
            strength::place(thick.at),
            if thick.bends { "bending" } else { "pulled or pressed through" }
        )
    })
}

fn would_hold(world: &World<'_>, m: &strength::LoadMargin, best: f64) -> String {
    thicker(world, m, best).map_or(String::new(), |thick| format!("; would hold with {thick}"))
}

/// What the loads that act at once with one take between them.
pub(super) fn together(asked: &Asked<'_, '_>) -> Option<Margin> {
    let (world, spec) = (asked.world, asked.world.spec);
    let all = together::combination(spec, asked.about.index)?;
    let at: Vec<_> = all.iter().filter_map(|&l| spec.loads.get(l)).map(|l| l.span).collect();
    let (material, pose) = (asked.choice[at::MATERIAL]?, asked.choice[at::POSE]?);
    let between = match strength::together(world, &all, material, pose) {
        Ok(between) => between,
        Err(why) => {
            return Some(asked.not_shown(|| Told {
                demand: "not known".to_owned(),
                basis: format!("what they do together is not known: {why}"),
                at,
                ..Told::default()
            }));
        }
    };
    let (infill, [share, best]) = as_printed(world, asked.choice, between.section_mm);
    let taken = 1.0 / (between.margin * share);
    Some(Margin {
        demand: Some(Band::exactly(Quantity::number(taken.min(1e6)))),
        capacity: Some(Band::exactly(Quantity::number(1.0))),
        ratio: Some(between.margin * share),
        ratio_at_best: Some(between.margin * best * between.slack),
        told: asked.words(|| Told {
            demand: format!("{:.0} % of what is borne", (100.0 * taken).min(1e6)),
            capacity: "100 %".to_owned(),
            spare: times(between.margin * share),
            basis: format!(
                "{}{}; `alone` in a load says that it never acts with another",
                together::between_words(spec, &all, &between),
                skin_words(infill, [share, best], between.section_mm)
            ),
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
