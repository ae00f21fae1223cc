//! The wall a pressure wants against the wall there is.

use crate::catalogue::figures;
use crate::diag::Span;
use crate::fits::SourceKind;
use crate::physics::pressure::pressure_wall;
use crate::quantity::{Stress, trim_number};
use crate::resolve::strength;
use crate::resolve::world::at;

use super::{Asked, Band, Margin, Source, Told, sourced, times, wall};

pub(super) fn pressure(asked: &Asked<'_, '_>) -> Option<Margin> {
    let world = asked.world;
    let stated = world.spec.pressure.as_ref()?;
    let pressure = stated.pressure?.value;
    let material = world.material(asked.choice)?;
    let bar = || format!("{} bar", trim_number(pressure.to_mpa() * 10.0, 2));
    let lasts = strength::lasting_across(world, asked.choice[at::MATERIAL]?);
    let limit = lasts
        .as_ref()
        .map(|(lasting, _)| Stress::mpa(lasting.to_mpa() * world.knowledge.catalogue.value(figures::PRESSURE_SHARE)));
    if limit.is_some_and(|limit| limit.to_mpa() <= pressure.to_mpa()) {
        return Some(too_much(asked, stated.span, bar(), lasts.map(|(_, working)| working).unwrap_or_default()));
    }
    let (Some(bore), Some(wall)) = (stated.bore.map(|b| b.value), wall::that_counts(world)) else {
        return Some(asked.not_shown(|| Told {
            demand: bar(),
            capacity: "not known".to_owned(),
            basis: "the bore or the wall is not stated: no stress can be computed".to_owned(),
            at: vec![stated.span],
            ..Told::default()
        }));
    };
    let ((_, working), limit) = lasts.zip(limit)?;
    let wanted = pressure_wall(pressure, bore, limit).ok();
    let ratio = wanted.map_or(0.0, |wanted| wall.to_mm() / wanted.to_mm().max(1e-9));
    Some(Margin {
        demand: wanted.map(Band::exactly),
        capacity: Some(Band::exactly(wall)),
        ratio: Some(ratio),
        told: asked.words(|| {
            let wanted =
                wanted.map_or("no wall is thick enough".to_owned(), |w| format!("{:.2} mm of solid wall", w.to_mm()));
            Told {
                demand: format!("{} in a bore of {bore}: {wanted}", bar()),
                capacity: format!("{} mm of wall", trim_number(wall.to_mm(), 2)),
                spare: times(ratio),
                basis: format!(
                    "hoop stress at the bore to a third of what lasts: {working}; \
                     bends, steps and leaks between layers not counted: test it with water"
                ),
                at: vec![stated.span],
                source: vec![sourced(&material.strength_across), Source::of(SourceKind::Computed, "wall by Lame")],
            }
        }),
        ..asked.margin()
    })
}

/// The inside of a wall bears at least the pressure itself: beyond what lasts no wall is thick enough, whatever there is.
fn too_much(asked: &Asked<'_, '_>, at: Span, bar: String, working: String) -> Margin {
    Margin {
        ratio: Some(0.0),
        told: asked.words(|| Told {
            demand: format!("{bar}: no wall is thick enough"),
            capacity: wall::that_counts(asked.world)
                .map_or("not known".to_owned(), |wall| format!("{} mm of wall", trim_number(wall.to_mm(), 2))),
            spare: times(0.0),
            basis: format!(
                "the inside of a wall bears at least the pressure itself, and less than that lasts: {working}"
            ),
            at: vec![at],
            source: vec![Source::of(SourceKind::Computed, "")],
        }),
        ..asked.margin()
    }
}
