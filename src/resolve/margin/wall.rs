//! The wall a spec asks for against the thinnest the mesh has.

use crate::catalogue::{Catalogue, figures};
use crate::fits::SourceKind;
use crate::quantity::{Length, Quantity};
use crate::resolve::world::World;

use super::said::{Demand, NotShown, Said, Why};
use super::{Asked, Band, Margin, Source, Told};

/// Half a hundredth is what the figure shown is rounded by.
pub const ROUNDED_MM: f64 = 5e-3;

/// Returns by how much facets may make a wall of this size look thinner than it was drawn, mm: export lays the corners of its
/// facets on curved faces and the facets within, and rounds.
fn tolerance(catalogue: &Catalogue, wall_mm: f64) -> f64 {
    let most = catalogue.value(figures::WALL_FACETS).to_mm();
    most.min(catalogue.value(figures::WALL_FACETS_SHARE) * wall_mm)
}

/// Returns the wall that counts: what is asked for, or what the mesh has where that is less.
pub(super) fn that_counts(world: &World<'_>) -> Option<Length> {
    let stated = world.stated().wall.as_ref().map(|w| w.value.to_mm());
    let found = world.part.broad_wall.map(|w| w.mm);
    let least = stated.into_iter().chain(found).reduce(f64::min);
    least.map(Length::mm)
}

/// Builds the margin of the smallest wall, where the spec asks for one.
pub(super) fn wall(asked: &Asked<'_, '_>) -> Option<Margin> {
    let world = asked.world;
    let stated = world.stated().wall.as_ref()?;
    let Some(found) = world.part.broad_wall else {
        let said = || NotShown::new(Demand::Wall(stated.value), Why::NoWall);
        return Some(asked.not_shown(said, stated.lines()));
    };
    let wanted = stated.value.to_mm();
    // A lug or a web between parallel sides is a wall, however small; an edge that tapers is none.
    let found = world.part.parallel_wall.filter(|w| w.mm < found.mm).unwrap_or(found);
    // Between flat sides it is what it measures.
    let facets = if world.part.is_of_a_round(found.at) { tolerance(world.knowledge.catalogue, wanted) } else { 0.0 };
    let at_best = found.mm + facets.max(ROUNDED_MM);
    let spare = found.mm - wanted;
    let short = |mm: f64| mm + facets.max(ROUNDED_MM) < wanted;
    let edge = world.part.min_wall_mm.zip(world.part.min_wall_at).filter(|(edge, _)| !short(found.mm) && short(*edge));
    let measured = Length::mm(found.mm).into();
    Some(Margin {
        demand: Some(Band::exactly(stated.value)),
        capacity: Some(Band { low: measured, typical: measured, high: Length::mm(at_best).into() }),
        ratio: Some(found.mm / wanted.max(1e-9)),
        ratio_at_best: Some(at_best / wanted.max(1e-9)),
        spare: Some(Quantity::from(Length::mm(spare))),
        told: asked.words(|| Told {
            said: Said::Wall {
                wanted: stated.value,
                found: Length::mm(found.mm),
                at: found.at,
                spare: Length::mm(spare),
                facets: Length::mm(facets),
                edge: edge.map(|(mm, at)| (Length::mm(mm), at)),
            },
            at: stated.lines(),
            source: vec![
                Source::of(SourceKind::Computed, ""),
                Source::of(SourceKind::CommonPractice, "tolerance of facets"),
            ],
        }),
        ..asked.margin()
    })
}

#[cfg(test)]
mod tests {
    use super::tolerance;
    use crate::catalogue::built_in;

    #[test]
    fn facets_account_for_hundredths_and_less_on_thin_walls() {
        let (known, _) = built_in();
        assert!((tolerance(&known, 3.0) - 0.05).abs() < 1e-9 && (tolerance(&known, 0.8) - 0.016).abs() < 1e-9);
    }
}
