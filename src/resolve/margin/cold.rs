//! Knocks where the part gets cold: below its brittle point a polymer shatters where it would have bent.

use crate::diag::Span;
use crate::quantity::{Quantity, TemperatureDifference};
use crate::resolve::world::at;
use crate::semantics::requirements::{Key, Kind};
use crate::semantics::spec::{Course, Impact, Spec};

use super::said::{Demand, Ends, NotShown, Said, Why};
use super::{Asked, Band, Margin, Told, sourced};

/// Whether a blow is one at all: a drop from no height is none.
pub(super) fn strikes(impact: Impact) -> bool {
    !matches!(impact, Impact::Drop(height) if height.to_mm() <= 0.0)
}

/// Returns what of the spec asks for knocks to be borne, and where: a blow, or a load that comes as a shock.
fn struck(spec: &Spec) -> Option<(Key, Span)> {
    let blow = spec.impact.filter(|i| strikes(i.value)).map(|i| (Key::of(Kind::Impact), i.span));
    let shock = || spec.loads.iter().find(|l| l.course.value == Course::Shock);
    blow.or_else(|| shock().map(|l| (Key::named(Kind::Load, &l.name.value), l.span)))
}

/// Returns the line of the spec that asks for knocks to be borne.
pub(super) fn stated(spec: &Spec) -> Option<Span> {
    struck(spec).map(|(_, at)| at)
}

/// Returns the requirement that asks for knocks to be borne.
pub(super) fn asked_by(spec: &Spec) -> Option<Key> {
    struck(spec).map(|(key, _)| key)
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
