//! Spools for the rounds of each material, in the order in which they are printed.

use super::{Feed, Round, Run};
use crate::order::{Schedule, Span};
use crate::refusal::Refusal;
use crate::spools::{self, Stock};

pub(super) fn feeds(run: &Run, rounds: &[Round], schedule: &Schedule) -> Result<Vec<Feed>, Refusal> {
    let Some(aspect) = run.material else { return Ok(Vec::new()) };
    let mut slots: Vec<_> = schedule.machines.iter().flatten().collect();
    slots.sort_by_key(|s| (s.begin_min, s.machine));
    let mut feeds = Vec::new();
    for (material, spools) in run.spools.iter().enumerate() {
        let Some(spools) = spools else { continue };
        let of_it: Vec<_> = slots.iter().filter(|s| rounds[s.job].state.get(aspect) == Some(&material)).collect();
        if of_it.is_empty() {
            continue;
        }
        let stock = Stock {
            plates_g: of_it.iter().map(|s| rounds[s.job].mass_g).collect(),
            spools_g: spools.left_g.clone(),
            loss_at_change_g: spools.loss_at_change_g,
            scrap_below_g: spools.scrap_below_g,
            printed: of_it.iter().map(|s| Span { from_min: s.begin_min, to_min: s.end_min }).collect(),
        };
        let answer = spools::plan(&stock, run.effort)?;
        feeds.push(Feed { material, rounds: of_it.iter().map(|s| s.job).collect(), answer });
    }
    Ok(feeds)
}
