//! What is weak about a choice that no rule refuses: said beside every change that would free a job, before anyone makes it.

use crate::resolve::conflict::Weakness;
use crate::resolve::decide::full;
use crate::resolve::problem::Rules;
use crate::resolve::world::at;

use super::margins::{BROKEN, HOLDS, margins};

/// Below this much of it on the bed a part stands on an edge or a point, mm² (common practice; as the rulebook has it).
const EDGE_MM2: f64 = 20.0;

/// Returns the weak points of a full choice: margins that do not plainly hold, cracking in a chemical, a footing that is none.
pub fn weaknesses(rules: &Rules<'_, '_>, choice: &[usize; 7]) -> Vec<Weakness> {
    let mut result = Vec::new();
    let mut add = |text: String, fails: bool| result.push(Weakness { text, fails });
    for margin in margins(rules, choice) {
        if margin.verdict != HOLDS {
            let numbers = format!("asked is {}, there is {}", margin.demand, margin.capacity);
            add(format!("{}: {numbers}: {}", margin.what, margin.verdict), margin.verdict == BROKEN);
        }
        // It may hold the chemical well and crack all the same where it is under load.
        if margin.verdict == HOLDS && margin.because.text.contains("crack under load") {
            add(format!("{}: {}", margin.what, margin.because.text), false);
        }
    }
    let world = rules.world;
    let contact = world.part.poses.get(choice[at::POSE]).map(|p| p.contact_mm2);
    if contact.is_some_and(|mm2| mm2 < EDGE_MM2) && full(choice)[at::SUPPORTS] != Some(0) {
        add(format!("it would stand on an edge, held by supports: {}", world.pose_words(choice[at::POSE])), false);
    }
    result
}
