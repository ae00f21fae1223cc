//! How the material stands what touches the part.

use crate::catalogue::words::Stands;
use crate::quantity::{Temperature, TemperatureDifference};
use crate::resolve::world::at;
use crate::semantics::spec::ContactKind;

use super::said::Said;
use super::{Asked, Margin, Source, Told};

pub(super) fn contact(asked: &Asked<'_, '_>) -> Option<Margin> {
    let world = asked.world;
    let contact = world.spec.touching().nth(asked.about.index)?;
    let material = world.material(asked.choice)?;
    let t = world.contact_temperature(contact, asked.choice[at::MATERIAL]);
    let rate = |t| world.knowledge.catalogue.chemical_rating(&material.name, &contact.chemical.value, t);
    let rating = t.and_then(rate);
    let may_crack = rating.as_ref().is_some_and(|r| r.cracks_under_load.is_some());
    let known = rating.filter(|r| r.stands != Stands::Unknown);
    // What cracks under load does not plainly hold where something pulls at it.
    let strained = !world.spec.loads.is_empty() || world.spec.pressure.is_some();
    let stands = known.as_ref().map_or(Stands::Unknown, |r| r.stands);
    let plainly = !matches!(stands, Stands::Unknown | Stands::Poor | Stands::Limited);
    let cracks = may_crack && strained;
    // A vapour or a drop on the outside brings no heat along.
    let heated = contact.temperature.as_ref().filter(|_| contact.kind >= ContactKind::Splash);
    let room = |limit: Temperature| heated.map(|t| TemperatureDifference::k(limit.to_kelvin() - t.value.to_kelvin()));
    Some(Margin {
        room: room(material.heat_limit.typ),
        stands: Some(stands),
        stays: contact.kind >= ContactKind::Wiped,
        cracks,
        told: asked.words(|| {
            let from = known.as_ref().and_then(|r| r.from.as_ref());
            Told {
                said: Said::Contact {
                    at: t,
                    stands: known.as_ref().map(|r| (r.stands, r.class.clone())),
                    may_crack,
                    only_cracks: cracks && plainly,
                },
                at: vec![contact.span],
                source: from.map(|f| Source::figure(f.kind, f.source.as_ref(), f.at)).into_iter().collect(),
            }
        }),
        ..asked.margin()
    })
}
