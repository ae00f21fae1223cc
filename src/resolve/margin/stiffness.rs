//! How far the part gives under its loads against what is allowed.

use crate::fits::SourceKind;
use crate::quantity::Length;
use crate::resolve::strength;
use crate::resolve::world::at;

use super::{Asked, Band, Margin, Source, Told, times};

pub(super) fn deflection(asked: &Asked<'_, '_>) -> Option<Margin> {
    let limit = asked.world.spec.deflection.as_ref()?;
    let allowed = || format!("{} allowed", limit.limit.value);
    let Some((tip, working)) = strength::deflection(asked.world, asked.choice[at::MATERIAL]?) else {
        return Some(asked.not_shown(|| Told {
            demand: "not known".to_owned(),
            capacity: allowed(),
            basis: "no load could be placed on the mesh, or no modulus is known".to_owned(),
            at: vec![limit.limit.span],
            ..Told::default()
        }));
    };
    let ratio = limit.limit.value.to_mm() / tip.max(1e-9);
    Some(Margin {
        demand: Some(Band::exactly(Length::mm(tip))),
        capacity: Some(Band::exactly(limit.limit.value)),
        ratio: Some(ratio),
        told: asked.words(|| Told {
            demand: format!("{tip:.2} mm"),
            capacity: allowed(),
            spare: times(ratio),
            basis: working,
            at: vec![limit.limit.span],
            source: vec![
                Source::of(SourceKind::Computed, "beam statics"),
                Source::of(SourceKind::FromMemory, "modulus and most reductions"),
            ],
        }),
        ..asked.margin()
    })
}
