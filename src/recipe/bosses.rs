//! How much plastic stands round what is melted into it.

use crate::fits::function::FitFunction as Function;
use crate::fits::hardware;
use crate::quantity::trim_number;
use crate::recipe::{Margin, Reason};
use crate::resolve::fits;
use crate::resolve::world::World;

use super::joints::thinnest_wall;
use super::margins::{BROKEN, HOLDS, NARROWLY};

/// With less than this share of the usual wall there is hardly a boss left (own judgement).
const LEAST_SHARE: f64 = 0.5;
/// A wall as modelled may be this much thinner than wanted by its facets, mm.
const SLACK_MM: f64 = 0.05;

/// Builds the margin of the wall round a heat-set insert; none where the mesh holds no such hole.
pub(super) fn margin(world: &World<'_>, index: usize) -> Option<Margin> {
    let fit = world.spec.fits.get(index)?;
    let Function::Insert { thread } = fits::function(&fit.function.value).0 else { return None };
    let usual = hardware::insert(&thread, &world.bench.fit_tools.inserts).ok()?;
    let size = |key: &str| usual.dimensions.iter().find(|d| d.key == key);
    let boss = size("boss_mm")?;
    let wanted = 0.5 * (boss.value - size("hole_mm")?.value);
    let features = world.fit_places.get(index).map_or(&[][..], |p| p.features.as_slice());
    let wall = thinnest_wall(world, features)?;
    let verdict = match wall {
        w if w >= wanted - SLACK_MM => HOLDS,
        w if w >= LEAST_SHARE * wanted => NARROWLY,
        _ => BROKEN,
    };
    let shown = |mm: f64| format!("{} mm", trim_number(mm, 1));
    let advice = if verdict == HOLDS { "" } else { ": thicken the boss in the model, or take a smaller insert" };
    Some(Margin {
        what: format!("boss \"{}\"", fit.name.value),
        demand: format!("{} of wall round the hole", shown(wanted)),
        capacity: shown(wall),
        margin: format!("x {:.1}", wall / wanted.max(1e-9)),
        verdict: verdict.to_owned(),
        because: Reason {
            text: format!(
                "a boss is to be at least {} across for this insert; a thinner one bulges as the insert melts in and splits \
                 when the screw is tightened{advice}",
                shown(boss.value)
            ),
            places: vec![world.knowledge.sources.place(fit.span)],
            source: Some(boss.source.to_string()),
            ..Reason::default()
        },
    })
}
