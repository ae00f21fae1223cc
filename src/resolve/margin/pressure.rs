//! The wall a pressure wants against the wall there is.

use crate::catalogue::figures;
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
    let (Some(bore), Some(wall)) = (stated.bore.map(|b| b.value), wall::that_counts(world)) else {
        return Some(asked.not_shown(|| Told {
            demand: bar(),
            capacity: "not known".to_owned(),
            basis: "the bore or the wall is not stated: no stress can be computed".to_owned(),
            at: vec![stated.span],
            ..Told::default()
        }));
    };
    let (lasting, working) = strength::lasting_across(world, asked.choice[at::MATERIAL]?)?;
    // Where the pressure is more than the limit no wall is thick enough.
    let wanted = pressure_wall(
        pressure,
        bore,
        Stress::mpa(lasting.to_mpa() * world.knowledge.catalogue.value(figures::PRESSURE_SHARE)),
    )
    .ok();
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
