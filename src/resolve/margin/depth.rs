//! How deep the features of fits are against what goes into them: inserts, threads, magnets.

use crate::catalogue::{Catalogue, figures};
use crate::fits::SourceKind;
use crate::fits::function::FitFunction as Function;
use crate::fits::hardware;
use crate::quantity::{Length, Quantity};
use crate::resolve::fits;
use crate::resolve::world::World;
use crate::seen::Seen;
use crate::semantics::spec::{Fit, FitFunction, Load, Where};

use super::said::{self, DepthFrom, Said};
use super::{Asked, Band, Margin, Source, Told};

/// A depth as modelled may be this much less than wanted by rounding, mm.
const SLACK_MM: f64 = 0.05;

/// What a depth is held against, mm.
struct Need {
    wanted: f64,
    /// Below this it does not do at all.
    least: f64,
    said: said::Need,
    source: Source,
}

/// Returns the depth that counts: what the spec states, or what the mesh has where that is less.
pub(super) fn that_counts(world: &World<'_>, index: usize, fit: &Fit) -> Option<Length> {
    let stated = fit.depth.map(|d| d.value.to_mm());
    let found = world.fit_places.get(index).and_then(|p| p.depth()).map(Length::to_mm);
    stated.into_iter().chain(found).reduce(f64::min).map(Length::mm)
}

/// Whether something of a known length goes into a fit.
pub(super) fn is_filled_to_a_depth(fit: &FitFunction) -> bool {
    matches!(fits::function(fit).0, Function::Insert { .. } | Function::Thread { .. } | Function::Magnet { .. })
}

/// Builds the margin of a fit's depth, where something of a known length goes into it.
pub(super) fn depth(asked: &Asked<'_, '_>) -> Option<Margin> {
    let (world, index) = (asked.world, asked.about.index);
    let fit = world.spec.fits.get(index)?;
    let mut need =
        need(&fits::function(&fit.function.value).0, &world.bench.fit_tools.inserts, world.knowledge.catalogue)?;
    if let said::Need::Thread { least, .. } = &mut need.said
        && is_tightened_by_hand(world, index)
    {
        // A fine thread that nothing pulls at: of a gland, a plug, a lens ring.
        let by_hand = world.knowledge.catalogue.value(figures::THREAD_BY_HAND);
        need.least *= by_hand / *least;
        *least = by_hand;
    }
    let found = world.fit_places.get(index).map_or(&[][..], |p| p.features.as_slice());
    let through = !found.is_empty() && found.iter().all(|f| !f.blind);
    let depth = that_counts(world, index, fit)?.to_mm();
    let least = need.least - SLACK_MM;
    Some(Margin {
        demand: Some(Band::exactly(Length::mm(least))),
        usual: Some(Quantity::from(Length::mm(need.wanted - SLACK_MM))),
        capacity: Some(Band::exactly(Length::mm(depth))),
        ratio: Some(depth / least.max(1e-9)),
        told: asked.words(|| {
            let from = match (fit.depth, found) {
                (Some(_), []) => DepthFrom::SpecUnmeasured,
                (Some(stated), _) if stated.value.to_mm() <= depth => DepthFrom::Spec,
                _ => DepthFrom::Mesh,
            };
            let (wanted, there) = (Length::mm(need.wanted), Length::mm(depth));
            Told {
                said: Said::Depth { wanted, there, through, need: need.said, from },
                at: vec![fit.span],
                source: vec![need.source],
            }
        }),
        ..asked.margin()
    })
}

/// Whether a thread is a fine one that no load of the spec acts on or is held by.
fn is_tightened_by_hand(world: &World<'_>, index: usize) -> bool {
    let Some(fit) = world.spec.fits.get(index) else { return false };
    let fine = match &fits::function(&fit.function.value).0 {
        Function::Thread { designation } => hardware::normal_thread(designation).contains('x'),
        _ => false,
    };
    let of_it = |place: &Where| matches!(place, Where::Fit(name) if *name == fit.name.value);
    fine && !world.spec.loads.iter().flat_map(Load::places).any(|(place, _)| of_it(place))
}

fn need(function: &Function, inserts: &Seen<Vec<hardware::InsertData>>, catalogue: &Catalogue) -> Option<Need> {
    match function {
        Function::Insert { thread } => {
            let data = hardware::insert_data(thread, inserts).ok()?;
            let length = data.length.to_mm();
            let below = catalogue.value(figures::MELT_ROOM);
            let said = said::Need::Insert { length: data.length, below };
            Some(Need { wanted: length + below.to_mm(), least: length, said, source: (&data.source).into() })
        }
        Function::Thread { designation } => {
            let name = hardware::normal_thread(designation);
            let d = hardware::major_diameter(name.split('x').next().unwrap_or(&name)).ok()?.to_mm();
            let engaged = catalogue.band(figures::THREAD_ENGAGEMENT);
            let said = said::Need::Thread { usual: engaged.typical, least: engaged.low };
            let source = Source::of(SourceKind::CommonPractice, "");
            Some(Need { wanted: engaged.typical * d, least: engaged.low * d, said, source })
        }
        Function::Magnet { thickness: Some(thickness), .. } => {
            let t = thickness.to_mm();
            let bond = catalogue.value(figures::MAGNET_BOND);
            let said = said::Need::Magnet { bond };
            Some(Need { wanted: t + bond.to_mm(), least: t, said, source: Source::of(SourceKind::CommonPractice, "") })
        }
        _ => None,
    }
}
