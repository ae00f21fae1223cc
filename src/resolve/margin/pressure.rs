//! The wall a pressure wants against the wall there is.

use crate::catalogue::figures;
use crate::diag::Span;
use crate::fits::SourceKind;
use crate::physics::pressure::pressure_wall;
use crate::quantity::Stress;
use crate::resolve::strength::{self, Lasting};
use crate::resolve::world::{World, at};

use super::said::{Demand, NotShown, Said, Why};
use super::{Asked, Band, Margin, Source, Told, sourced, wall};

/// Whether a pressure is stated; what is only to be tight has none to bear.
pub(super) fn is_stated(world: &World<'_>) -> bool {
    world.stated().pressure.is_some()
}

pub(super) fn pressure(asked: &Asked<'_, '_>) -> Option<Margin> {
    let world = asked.world;
    let stated = world.stated();
    let (pressure, at) = (stated.pressure.as_ref()?.value, stated.pressure.as_ref()?.lines());
    let material = world.material(asked.choice)?;
    let lasts = strength::lasting_across(world, asked.choice[at::MATERIAL]?);
    let limit = lasts
        .as_ref()
        .map(|(lasting, _)| Stress::mpa(lasting.to_mpa() * world.knowledge.catalogue.value(figures::PRESSURE_SHARE)));
    if limit.is_some_and(|limit| limit.to_mpa() <= pressure.to_mpa()) {
        return Some(too_much(asked, at, pressure, lasts.map(|(_, working)| working)));
    }
    let (Some(bore), Some(wall)) = (stated.pressure_bore.as_ref().map(|b| b.value), wall::that_counts(world)) else {
        let said = || NotShown::new(Demand::Bar(pressure), Why::NoBore);
        return Some(asked.not_shown(said, at));
    };
    let ((_, working), limit) = lasts.zip(limit)?;
    let wanted = pressure_wall(pressure, bore, limit).ok();
    let ratio = wanted.map_or(0.0, |wanted| wall.to_mm() / wanted.to_mm().max(1e-9));
    Some(Margin {
        demand: wanted.map(Band::exactly),
        capacity: Some(Band::exactly(wall)),
        ratio: Some(ratio),
        told: asked.words(|| Told {
            said: Said::Pressure { pressure, bore, wanted, wall, ratio, working },
            at,
            source: vec![sourced(&material.strength_across), Source::of(SourceKind::Computed, "wall by Lame")],
        }),
        ..asked.margin()
    })
}

/// The inside of a wall bears at least the pressure itself: beyond what lasts no wall is thick enough, whatever there is.
fn too_much(asked: &Asked<'_, '_>, at: Vec<Span>, pressure: Stress, working: Option<Lasting>) -> Margin {
    Margin {
        ratio: Some(0.0),
        told: asked.words(|| Told {
            said: Said::PressureTooMuch { pressure, wall: wall::that_counts(asked.world), working },
            at,
            source: vec![Source::of(SourceKind::Computed, "")],
        }),
        ..asked.margin()
    }
}
