//! What loads take of the strength, alone and together, and what strikes the part.

use crate::fits::SourceKind;
use crate::quantity::{Quantity, Stress, trim_number};
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

pub(super) fn load(asked: &Asked<'_, '_>) -> Option<Margin> {
    let (world, load) = (asked.world, asked.about.index);
    let stated = world.spec.loads.get(load)?;
    let found = strength::margin(world, load, asked.choice[at::MATERIAL]?, asked.choice[at::POSE]?);
    let m = match found {
        Ok(m) => m,
        Err(why) => {
            return Some(asked.not_shown(|| Told {
                demand: stated.force.map_or(String::new(), |f| f.value.to_string()),
                capacity: "not known".to_owned(),
                basis: why,
                at: vec![stated.span],
                ..Told::default()
            }));
        }
    };
    let (infill, share) = filling(world, asked.choice);
    let capacity = Quantity::from(Stress::mpa(m.capacity_mpa * share));
    let typical = Quantity::from(Stress::mpa(m.demand_mpa * m.typical * share));
    Some(Margin {
        demand: Some(Band::exactly(Stress::mpa(m.demand_mpa))),
        capacity: Some(Band { low: capacity, typical, high: typical }),
        ratio: Some(m.margin * share),
        // What holds as a foam holds with walls round it, and what breaks solid breaks filled; between them nobody knows.
        ratio_at_best: Some(m.margin),
        told: asked.words(|| Told {
            demand: format!("{:.2} MPa", m.demand_mpa),
            capacity: match share < 1.0 {
                false => format!("{:.2} MPa", m.capacity_mpa),
                true => format!("{:.2} MPa, {:.2} MPa were it solid", m.capacity_mpa * share, m.capacity_mpa),
            },
            spare: format!("{} ({} with typical strengths)", times(m.margin * share), times(m.typical * share)),
            basis: match share < 1.0 {
                false => format!("{}; Tsai-Hill, solid section, no notch counted", m.working),
                true => format!(
                    "{}; Tsai-Hill, no notch counted; as a foam of {:.0} % throughout, its walls not counted: x {share:.3}",
                    m.working,
                    infill * 100.0
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

/// What the loads that act at once with one take between them.
pub(super) fn together(asked: &Asked<'_, '_>) -> Option<Margin> {
    let (world, spec) = (asked.world, asked.world.spec);
    let all = together::combination(spec, asked.about.index)?;
    let at: Vec<_> = all.iter().filter_map(|&l| spec.loads.get(l)).map(|l| l.span).collect();
    let (material, pose) = (asked.choice[at::MATERIAL]?, asked.choice[at::POSE]?);
    let Some((margin, shares)) = strength::together(world, &all, material, pose) else {
        return Some(asked.not_shown(|| Told {
            demand: "not known".to_owned(),
            basis: "the stress of one of them could not be computed".to_owned(),
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
