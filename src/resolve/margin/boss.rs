//! How much plastic stands round what is melted into it.

use crate::catalogue::figures;
use crate::fits::function::FitFunction as Function;
use crate::fits::hardware;
use crate::quantity::{Length, Quantity};
use crate::resolve::fits;
use crate::semantics::spec::FitFunction;

use super::said::{Said, is_enough};
use super::{Asked, Band, Margin, Told};

/// Whether a fit is melted into the plastic.
pub(super) fn is_melted_in(fit: &FitFunction) -> bool {
    matches!(fits::function(fit).0, Function::Insert { .. })
}

/// Builds the margin of the wall round a heat-set insert; none where the mesh holds no such hole.
pub(super) fn boss(asked: &Asked<'_, '_>) -> Option<Margin> {
    let world = asked.world;
    let fit = world.spec.fits.get(asked.about.index)?;
    let Function::Insert { thread } = fits::function(&fit.function.value).0 else { return None };
    let usual = hardware::insert(&thread, &world.bench.fit_tools.inserts).ok()?;
    let size = |key: &str| usual.dimensions.iter().find(|d| d.key == key);
    let boss = size("boss_mm")?;
    let wanted = 0.5 * (boss.value - size("hole_mm")?.value);
    let modelled = world.round_wall(asked.about.index)?;
    let wall = super::solid_of(world, asked.choice, modelled)?;
    let slack = world.knowledge.catalogue.value(figures::WALL_FACETS).to_mm();
    let least = world.knowledge.catalogue.value(figures::BOSS_LEAST) * wanted;
    Some(Margin {
        demand: Some(Band::exactly(Length::mm(least))),
        usual: Some(Quantity::from(Length::mm(wanted - slack))),
        capacity: Some(Band::exactly(Length::mm(wall))),
        ratio: Some(wall / least.max(1e-9)),
        told: asked.words(|| Told {
            said: Said::Boss {
                wanted: Length::mm(wanted),
                least: Length::mm(least),
                wall: Length::mm(wall),
                behind: (modelled > wall + slack).then(|| Length::mm(modelled - wall)),
                across: Length::mm(boss.value),
                enough: is_enough(asked.tell),
            },
            at: vec![fit.span],
            source: vec![(&boss.source).into()],
        }),
        ..asked.margin()
    })
}
