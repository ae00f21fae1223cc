//! How hot the part gets against what its material stands, and how long the sun is borne.

use crate::quantity::{Quantity, Temperature, TemperatureDifference};
use crate::resolve::heat::PartHeat;
use crate::resolve::world::at;
use crate::semantics::spec::{Spec, SunExposure, Treatment};

use super::said::{Demand, Ends, NotShown, Said, Why};
use super::{Asked, Band, Margin, Told, Verdict, sourced};

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
        room_at_best: Some(TemperatureDifference::k(limit.high().to_kelvin() - heat.temperature.to_kelvin())),
        told: asked.words(|| Told {
            said: Said::Heat {
                gets: heat.temperature,
                limit: Ends::of(limit),
                spare: TemperatureDifference::k(spare),
                working: heat.working.clone(),
                hottest: hotter(heat),
            },
            at: Vec::new(),
            source: vec![sourced(limit)],
        }),
        ..asked.margin()
    })
}

/// How hot it may get beyond the sum where a figure in it has a band; whether the sun heats it.
fn hotter(heat: &PartHeat) -> Option<(Temperature, bool)> {
    let more = heat.high.to_kelvin() >= heat.temperature.to_kelvin() + 0.05;
    more.then_some((heat.high, heat.sunlit))
}

/// Whether the sun is to be borne, and for how long.
pub(super) fn is_for_years(spec: &Spec) -> bool {
    spec.service.sun.is_some_and(|s| s.value.exposure == SunExposure::Direct && s.value.duration.is_some())
}

pub(super) fn sun(asked: &Asked<'_, '_>) -> Option<Margin> {
    let sun = asked.world.spec.service.sun.filter(|s| s.value.exposure == SunExposure::Direct)?;
    let wanted = sun.value.duration?;
    let material = asked.world.material(asked.choice)?;
    let Some(years) = &material.uv_years else {
        let said = || NotShown::new(Demand::Sun(wanted), Why::NoLife);
        return Some(asked.not_shown(said, vec![sun.span]));
    };
    let ratio = years.typ.to_s() / wanted.to_s().max(1e-9);
    Some(Margin {
        demand: Some(Band::exactly(wanted)),
        capacity: Some(Band::of(years)),
        ratio: Some(ratio),
        ratio_at_worst: Some(years.low().to_s() / wanted.to_s().max(1e-9)),
        told: asked.words(|| Told {
            said: Said::Sun {
                wanted,
                life: Ends::of(years),
                ratio,
                weathering: material.uv.value,
                // Paint keeps the light off as long as it is kept up; who says how long a coat is to last is judged by that.
                coat_unsaid: asked.tell == Some(Verdict::NotShown)
                    && asked.world.spec.treatments.iter().any(|t| t.value == Treatment::Paint),
            },
            at: vec![sun.span],
            source: vec![sourced(years)],
        }),
        ..asked.margin()
    })
}
