//! The narrowest gap between walls of the part against what closes: neighbouring walls touch where their beads bulge, and
//! wider beads bulge further.

use crate::catalogue::figures;
use crate::fits::SourceKind;
use crate::quantity::{Length, Quantity};
use crate::resolve::world::World;

use super::said::Said;
use super::{Asked, Band, Margin, Source, Told};

/// Whether the part has a gap that closes through some nozzle of the bench.
pub(super) fn may_close(world: &World<'_>) -> bool {
    let widest = world.bench.nozzles.iter().map(|n| n.bore).max_by(|a, b| a.to_mm().total_cmp(&b.to_mm()));
    world.part.min_gap_mm.zip(widest).is_some_and(|(gap, bore)| gap < closes(world, bore))
}

/// Returns the gap below which walls printed through a bore may meet, mm. A finer bore than the usual is given no credit.
fn closes(world: &World<'_>, bore: Length) -> f64 {
    let catalogue = world.knowledge.catalogue;
    let times = bore.to_mm() / catalogue.value(figures::USUAL_BORE).to_mm().max(f64::MIN_POSITIVE);
    catalogue.value(figures::GAP_FUSES).to_mm() * times.max(1.0).min(catalogue.value(figures::WIDEST_BORE_FACTOR))
}

pub(super) fn slit(asked: &Asked<'_, '_>) -> Option<Margin> {
    let (world, part) = (asked.world, asked.world.part);
    let nozzle = world.nozzle(asked.choice)?;
    let (gap, wanted) = (part.min_gap_mm?, closes(world, nozzle.bore));
    Some(Margin {
        demand: Some(Band::exactly(Length::mm(wanted))),
        capacity: Some(Band::exactly(Length::mm(gap))),
        ratio: Some(gap / wanted.max(f64::MIN_POSITIVE)),
        spare: Some(Quantity::from(Length::mm(gap - wanted))),
        told: asked.words(|| Told {
            said: Said::Slit {
                wanted: Length::mm(wanted),
                nozzle: nozzle.name.clone(),
                gap: Length::mm(gap),
                at: part.min_gap_at,
            },
            at: Vec::new(),
            source: vec![
                super::sourced(&world.knowledge.catalogue.figure(figures::GAP_FUSES)),
                Source::of(SourceKind::Computed, "narrowest gap measured on the mesh"),
            ],
        }),
        ..asked.margin()
    })
}
