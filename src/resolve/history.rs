//! What the shop's own history says of the share of good pieces.

use super::world::{Partial, World, at};

/// Returns the share of good pieces the shop recorded for the printer and material, and where it says so.
///
/// The lower 50 % bound is used, so that ten good of ten do not count as certainty.
pub fn yield_share(world: &World<'_>, choice: &Partial) -> Option<(f64, String)> {
    let printer = choice[at::PRINTER].and_then(|p| world.bench.printers.get(p))?;
    let material = world.material(choice)?;
    super::shop_file::yields(world.bench.shop, &printer.name, &material.name).and_then(|(good, started, span)| {
        let share = crate::physics::statistics::binomial::yield_lower_bound(good, started, 0.5).ok()?;
        let place = world.knowledge.sources.place(span);
        (share > 0.0).then(|| (share.min(0.999), format!("{good} good of {started} recorded for {} on {} ({place})", material.name, printer.name)))
    })
}
