//! Where a number of the spec turns the choice: the stretches of it between which another thing is chosen, found by solving.

use rayon::prelude::*;

use super::decide::{best, fixed};
use super::part::Part;
use super::problem::Rules;
use super::world::{COUNT, World};
use crate::quantity::{Dimension, Quantity};
use crate::semantics::requirements::{Eases, Line, NumberOf, Requirement, requirements};
use crate::semantics::spec::Spec;

/// What is chosen, by its name for each decision.
pub type Made = [String; COUNT];

/// A number of the spec and what is chosen along it.
#[derive(Debug, Clone)]
pub struct Breaks {
    /// The line that states it.
    pub requirement: Requirement,
    /// Which number of the line.
    pub number: NumberOf,
    /// The line, parted at the number; `None` where a name stands for it.
    pub line: Option<Line>,
    /// As it is stated.
    pub stated: Quantity,
    /// The least value that was looked at.
    pub low: Quantity,
    /// In rising order, each up to where the next begins.
    pub stretches: Vec<Stretch>,
}

/// A stretch of a number along which one thing is chosen.
#[derive(Debug, Clone, PartialEq)]
pub struct Stretch {
    /// The last value of it; of the last stretch as far as was looked.
    pub to: Quantity,
    /// `None` where nothing stands.
    pub made: Option<Made>,
}

/// Values that are looked at along a number before borders between them are sought.
const POINTS: usize = 9;
/// Halvings for a border: a two-hundred-and-fiftieth of the way between two points.
const STEPS: usize = 8;
/// How far numbers are followed, as a factor either way; temperatures beyond what is stated, K. Where looking ends, no judgement.
const FACTOR: f64 = 10.0;
const BEYOND_K: f64 = 80.0;
/// The temperature of a room, at which looking begins.
const ROOM_K: f64 = 293.15;
/// The zero of the scale people read temperatures by, K.
const ZERO_C: f64 = 273.15;

/// A number and the values it is followed along.
struct Scale {
    number: NumberOf,
    low: Quantity,
    high: Quantity,
    whole: bool,
}

impl Scale {
    fn of(spec: &Spec, number: NumberOf) -> Option<Self> {
        let stated = number.value(spec)?;
        let of = |si| Quantity::new(si, stated.dimension);
        let whole = number.number.eases == Eases::DownToOnePiece;
        let (low, high) = if stated.dimension == Dimension::TEMPERATURE {
            match number.number.eases {
                Eases::UpToRoom => (stated.si - BEYOND_K, ROOM_K.max(stated.si)),
                _ => (ROOM_K.min(stated.si), stated.si + BEYOND_K),
            }
        } else if matches!(number.number.eases, Eases::DownToOne | Eases::DownToOnePiece) {
            (1.0, stated.si * FACTOR)
        } else {
            (stated.si / FACTOR, stated.si * FACTOR)
        };
        (stated.si > 0.0 && low < high).then(|| Self { number, low: of(low), high: of(high), whole })
    }

    /// Returns the value at a share of the way, as finely as somebody would write it.
    fn at(&self, share: f64) -> Quantity {
        let (low, high) = (self.low.si, self.high.si);
        let si = match self.low.dimension {
            Dimension::TEMPERATURE => (low + (high - low) * share - ZERO_C).round() + ZERO_C,
            _ => low * (high / low).powf(share),
        };
        let si = if self.whole { si.round() } else { si };
        Quantity::new(si, self.low.dimension)
    }

    /// Returns where a value lies on the way.
    fn share(&self, of: Quantity) -> f64 {
        let (low, high) = (self.low.si, self.high.si);
        match self.low.dimension {
            Dimension::TEMPERATURE => (of.si - low) / (high - low),
            _ => (of.si / low).ln() / (high / low).ln(),
        }
    }
}

/// Finds for each number of a spec the stretches along which one thing is chosen, those that turn the choice first.
pub fn find(rules: &Rules<'_, '_>) -> Vec<Breaks> {
    let world = rules.world;
    let numbers: Vec<(Requirement, NumberOf)> = requirements(world.spec, world.knowledge.sources)
        .into_iter()
        .flat_map(|r| r.key.numbers(world.spec).into_iter().map(move |n| (r.clone(), n)))
        .collect();
    let each = numbers.into_par_iter().filter_map(|(requirement, number)| along(world, requirement, number));
    let mut found: Vec<Breaks> = each.collect();
    found.sort_by_key(|b| b.stretches.len() == 1);
    found
}

fn along(world: &World<'_>, requirement: Requirement, number: NumberOf) -> Option<Breaks> {
    let stated = number.value(world.spec)?;
    let scale = Scale::of(world.spec, number.clone())?;
    let ask = |to: Quantity| chosen(world, &scale.number.replaced(world.spec, to)?);
    let mut shares: Vec<f64> = (0..POINTS).map(|i| i as f64 / (POINTS - 1) as f64).collect();
    // What is stated is looked at as it stands, so that its stretch is the recipe's own.
    shares.push(scale.share(stated).clamp(0.0, 1.0));
    shares.sort_by(f64::total_cmp);
    let at = |share: f64| if share == scale.share(stated).clamp(0.0, 1.0) { stated } else { scale.at(share) };
    let mut points: Vec<(f64, Option<Made>)> = shares.iter().map(|&s| (s, ask(at(s)))).collect();
    points.dedup_by(|b, a| at(a.0).si == at(b.0).si);
    let mut stretches: Vec<Stretch> = Vec::new();
    let mut put = |to: Quantity, made: &Option<Made>| match stretches.last_mut().filter(|last| last.made == *made) {
        Some(last) => last.to = to,
        None => stretches.push(Stretch { to, made: made.clone() }),
    };
    for pair in points.windows(2) {
        let [(from, before), (to, after)] = pair else { continue };
        put(at(*from), before);
        if before == after {
            continue;
        }
        // What lies between two points may be several borders; the one behind `before` is found, then the next.
        let (mut low, mut made) = (*from, before.clone());
        while made != *after {
            let (mut yes, mut no) = (low, *to);
            for _ in 0..STEPS {
                let middle = f64::midpoint(yes, no);
                if ask(scale.at(middle)) == made { yes = middle } else { no = middle }
            }
            put(scale.at(yes), &made);
            let next = ask(scale.at(no));
            // Nearer than can be told apart it is the next point's.
            if no <= low || next == made {
                break;
            }
            (low, made) = (no, next);
            put(scale.at(low), &made);
        }
    }
    if let Some((share, made)) = points.last() {
        put(at(*share), made);
    }
    let line = number.line(world.spec, world.knowledge.sources, &requirement);
    Some(Breaks { requirement, number, line, stated, low: scale.low, stretches })
}

/// Returns what is chosen for another spec of the same part.
fn chosen(world: &World<'_>, spec: &Spec) -> Option<Made> {
    let part: Option<Part> = world.part.asked_as(world.spec, spec);
    let variant = World::variant(world, spec, part.as_ref().unwrap_or(world.part), None);
    made(&Rules::new(&variant))
}

/// Returns what is chosen, by name.
pub fn made(rules: &Rules<'_, '_>) -> Option<Made> {
    let choice = fixed(&best(rules)?.choice);
    let names: Vec<String> = choice.iter().enumerate().map(|(d, &v)| rules.world.name(d, v)).collect();
    names.try_into().ok()
}
