//! The bed about the part and its brim.

use crate::catalogue::figures;
use crate::fits::SourceKind;
use crate::quantity::{Length, Quantity};
use crate::resolve::world::{World, at};

use super::said::Said;
use super::{Asked, Band, Margin, Source, Told};

/// Whether on some printer the part, one way up or another, comes so near the edge of the bed that its brim may count.
/// A pose that does not fit at all is refused as such.
pub(super) fn is_near_its_edge(world: &World<'_>) -> bool {
    let told = world.knowledge.catalogue.value(figures::BED_ROOM_TOLD).to_mm();
    let near = |printer: usize| {
        let poses = world.part.poses.iter();
        poses.filter_map(|facts| world.bench.room(printer, facts, 0.0)).any(|room| (0.0..told).contains(&room))
    };
    (0..world.bench.printers.len()).any(near)
}

/// Builds the margin of the bed; none for a pose that does not fit even without a brim.
pub(super) fn room(asked: &Asked<'_, '_>) -> Option<Margin> {
    let world = asked.world;
    let (printer, pose) = (asked.choice[at::PRINTER]?, asked.choice[at::POSE]?);
    let (machine, facts) = (world.bench.printers.get(printer)?, world.part.poses.get(pose)?);
    let brim = world.setting("brim", asked.choice)?.as_quantity()?.in_unit("mm")?;
    if !world.bench.fits(printer, facts) {
        return None;
    }
    let room = world.bench.room(printer, facts, brim)?;
    let [long, short] = facts.footprint_mm.map(|side| side + 2.0 * brim);
    Some(Margin {
        demand: Some(Band::exactly(Length::mm(long))),
        capacity: Some(Band::exactly(Length::mm(long + 2.0 * room))),
        spare: Some(Quantity::from(Length::mm(room))),
        told: asked.words(|| Told {
            said: Said::BedRoom {
                sides: [Length::mm(long), Length::mm(short)],
                brim: Length::mm(brim),
                bed: [machine.build[0], machine.build[1]],
                edge: machine.edge,
                room: Length::mm(room),
            },
            at: Vec::new(),
            source: vec![Source::of(SourceKind::Computed, "")],
        }),
        ..asked.margin()
    })
}
