//! Knocks where the part gets cold: below its brittle point a polymer shatters where it would have bent.

use crate::diag::Span;
use crate::quantity::{Quantity, TemperatureDifference};
use crate::resolve::world::at;
use crate::semantics::spec::{Course, Spec};

use super::said::{Demand, Ends, NotShown, Said, Why};
use super::{Asked, Band, Margin, Told, sourced, strikes};

/// Returns the line of the spec that asks for knocks to be borne: a blow, or a load that comes as a shock.
pub(super) fn stated(spec: &Spec) -> Option<Span> {
    let blow = spec.impact.filter(|i| strikes(i.value)).map(|i| i.span);
    blow.or_else(|| spec.loads.iter().find(|l| l.course.value == Course::Shock).map(|l| l.span))
}

/// Builds the margin of a part that is struck, where it is known how cold it gets.
pub(super) fn cold(asked: &Asked<'_, '_>) -> Option<Margin> {
    let stated = stated(asked.world.spec)?;
    let low = asked.world.heat(asked.choice[at::MATERIAL]?)?.low?;
    let Some(limit) = &asked.world.material(asked.choice)?.cold_limit else {
        let said = || NotShown::new(Demand::Knocks(low), Why::NoBrittlePoint);
        return Some(asked.not_shown(said, vec![stated]));
    };
    let kelvins = |limit: crate::quantity::Temperature| low.to_kelvin() - limit.to_kelvin();
    let room = kelvins(limit.typ);
    Some(Margin {
        demand: Some(Band::exactly(low)),
        capacity: Some(Band::of(limit)),
        spare: Some(Quantity::from(TemperatureDifference::k(room))),
        room: Some(TemperatureDifference::k(room)),
        room_at_worst: Some(TemperatureDifference::k(kelvins(limit.high()))),
        told: asked.words(|| Told {
            said: Said::Cold { gets: low, limit: Ends::of(limit), spare: TemperatureDifference::k(room) },
            at: vec![stated],
            source: vec![sourced(limit)],
        }),
        ..asked.margin()
    })
}
