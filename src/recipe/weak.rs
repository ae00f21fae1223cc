//! What is weak about a choice that no rule refuses: said beside every change that would free a job, before anyone makes it.

use std::sync::Arc;

use crate::quantity::Quantity;
use crate::recipe::{Margin, Sentence};
use crate::resolve::conflict::{Weak, Weakness};
use crate::resolve::decide::full;
use crate::resolve::problem::Rules;
use crate::resolve::search::{Penalty, Search};
use crate::resolve::world::{COUNT, World, at};

use super::margins::margins;
use super::reasons::reason;
use crate::resolve::margin::Verdict;
use crate::resolve::margin::said::Said;

/// Says what speaks most against the best of the poses that lie on a face, all else as chosen.
fn against_lying(rules: &Rules<'_, '_>, choice: &[usize; COUNT]) -> Option<(String, String)> {
    let mut search = Search::new(rules);
    let poses = &rules.world.part.poses;
    let flat = &rules.world.part.flat;
    let lying = (0..poses.len()).filter(|&pose| poses.get(pose).is_some_and(|p| p.is_footed(flat)));
    let others = lying.flat_map(|pose| {
        [0, 1].map(|supports| {
            let mut other = *choice;
            (other[at::POSE], other[at::SUPPORTS]) = (pose, supports);
            other
        })
    });
    let mut weighed = |other: [usize; COUNT]| {
        let costs: Penalty = search.costs(&other).iter().map(|(_, cost)| cost).sum();
        (search.refusing(&other).len(), costs, other)
    };
    let (refusing, _, best) = others.map(&mut weighed).min()?;
    let own = search.costs(choice);
    let worst = match refusing {
        0 => {
            let beyond = |(c, cost): &(usize, Penalty)| {
                let ours = own.iter().find(|(o, _)| o == c).map_or(0, |(_, cost)| *cost);
                (cost - ours, std::cmp::Reverse(*c))
            };
            search.costs(&best).iter().max_by_key(|found| beyond(found))?.0
        }
        _ => *search.refusing(&best).first()?,
    };
    let said = rules.explain(rules.constraint(worst), &full(&best));
    Some((rules.world.pose_words(best[at::POSE]), reason(rules, &said).text.to_string()))
}

/// Says which temperatures lie above the range of the material: a value that no rule refuses is not yet one to recommend.
fn too_hot(world: &World<'_>, choice: &[usize; COUNT]) -> Vec<Weak> {
    let Some(material) = world.material(&full(choice)) else { return Vec::new() };
    let nozzle = material.print_temperature.high();
    let bed = material.bed_temperature.high();
    [("nozzle_temperature", nozzle), ("first_temperature", nozzle), ("bed_temperature", bed)]
        .into_iter()
        .filter_map(|(setting, most)| {
            // What no line of the spec pins is derived, and derived within what the material stands.
            world.pinned.get(setting)?;
            let (set, most) = (world.setting(setting, &full(choice))?.as_quantity()?, Quantity::from(most));
            (set.si > most.si).then(|| Weak::TooHot { setting, set, most, material: material.name.clone() })
        })
        .collect()
}

/// Returns the weak points of a full choice: margins that do not plainly hold, cracking in a chemical, a footing that is none.
pub fn weaknesses(rules: &Rules<'_, '_>, choice: &[usize; COUNT]) -> Vec<Weakness> {
    let mut result = Vec::new();
    let mut put = |what: Weak, fails: bool, open| result.push(Weakness { what, fails, open });
    for margin in margins(rules.world, choice) {
        let Some(said) = said(&margin) else { continue };
        let what = margin.what.clone();
        // It may hold the chemical well and crack all the same where it is under load.
        match margin.verdict {
            Verdict::Holds if margin.cracks => put(Weak::Cracks { what, said }, false, Vec::new()),
            Verdict::Holds => {}
            verdict => {
                let open = if verdict == Verdict::NotShown { margin.because.places.clone() } else { Vec::new() };
                put(Weak::Margin { what, said, verdict }, verdict == Verdict::Broken, open);
            }
        }
    }
    let mut add = |what: Weak, fails: bool| put(what, fails, Vec::new());
    let world = rules.world;
    // It is as it was pinned, whatever else is changed: told, and no reason to hide a way out.
    too_hot(world, choice).into_iter().for_each(|what| add(what, false));
    let footed = world.part.poses.get(choice[at::POSE]).is_none_or(|p| p.is_footed(&world.part.flat));
    if !footed && full(choice)[at::SUPPORTS] != Some(0) {
        let pose = world.pose_words(choice[at::POSE]);
        add(Weak::OnNoFace { pose, on_a_face: against_lying(rules, choice) }, false);
    }
    result
}

/// Returns what is said of a margin.
fn said(margin: &Margin) -> Option<Arc<Said>> {
    let told = &margin.told;
    [&told.demand, &told.capacity, &told.margin, &margin.because.text].into_iter().find_map(|part| match part {
        Sentence::OfMargin(part) => Some(Arc::clone(&part.said)),
        _ => None,
    })
}
