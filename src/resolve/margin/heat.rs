//! How hot the part gets against what its material stands, and how long the sun is borne.

use crate::quantity::{Quantity, TemperatureDifference};
use crate::resolve::heat::PartHeat;
use crate::resolve::world::at;
use crate::semantics::spec::{SunExposure, Treatment};

use super::{Asked, Band, Margin, Told, sourced, times};

pub(super) fn heat(asked: &Asked<'_, '_>) -> Option<Margin> {
    let heat = asked.world.heat(asked.choice[at::MATERIAL]?)?;
    let limit = &asked.world.material(asked.choice)?.heat_limit;
    let spare = limit.typ.to_kelvin() - heat.temperature.to_kelvin();
    let low = heat.low.unwrap_or(heat.temperature);
    Some(Margin {
        demand: Some(Band { low: low.into(), typical: heat.temperature.into(), high: heat.high.into() }),
        capacity: Some(Band::of(limit)),
        spare: Some(Quantity::from(TemperatureDifference::k(spare))),
        room: Some(TemperatureDifference::k(spare)),
        // The last the material stands against the windless hour: beyond it, it gives way for certain.
        room_at_worst: Some(TemperatureDifference::k(limit.high().to_kelvin() - heat.high.to_kelvin())),
        told: asked.words(|| Told {
            demand: heat.temperature.to_string(),
            capacity: format!("{} ({} to {})", limit.typ, limit.low(), limit.high()),
            spare: format!("{spare:.0} K"),
            basis: hotter_words(heat),
            at: Vec::new(),
            source: vec![sourced(limit)],
        }),
        ..asked.margin()
    })
}

/// The sum, and how hot it may get beyond it where a figure in it has a band.
fn hotter_words(heat: &PartHeat) -> String {
    if heat.high.to_kelvin() < heat.temperature.to_kelvin() + 0.05 {
        heat.working.clone()
    } else if heat.sunlit {
        format!("{}; up to {} in still air and peak sun", heat.working, heat.high)
    } else {
        format!("{}; up to {} with the unfavourable end of each figure", heat.working, heat.high)
    }
}

pub(super) fn sun(asked: &Asked<'_, '_>) -> Option<Margin> {
    let sun = asked.world.spec.service.sun.filter(|s| s.value.exposure == SunExposure::Direct)?;
    let wanted = sun.value.duration?;
    let material = asked.world.material(asked.choice)?;
    let Some(years) = &material.uv_years else {
        return Some(asked.not_shown(|| Told {
            demand: wanted.to_string(),
            capacity: "not known".to_owned(),
            basis: "no figure for its life in the sun".to_owned(),
            at: vec![sun.span],
            ..Told::default()
        }));
    };
    let ratio = years.typ.to_s() / wanted.to_s().max(1e-9);
    Some(Margin {
        demand: Some(Band::exactly(wanted)),
        capacity: Some(Band::of(years)),
        ratio: Some(ratio),
        ratio_at_worst: Some(years.low().to_s() / wanted.to_s().max(1e-9)),
        // Paint all over keeps the light off as long as it holds.
        relieved: asked.world.spec.treatments.iter().any(|t| t.value == Treatment::Paint),
        told: asked.words(|| Told {
            demand: wanted.to_string(),
            capacity: format!("{} ({} to {}), unprotected", years.typ, years.low(), years.high()),
            spare: times(ratio),
            basis: format!("weathering {}", material.uv.value),
            at: vec![sun.span],
            source: vec![sourced(years)],
        }),
        ..asked.margin()
    })
}
