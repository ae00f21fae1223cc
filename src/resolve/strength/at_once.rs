//! What loads that act at once leave of the strength: their stresses added place by place, or solved as one case where what the
//! part rests on only pushes.

use std::sync::Arc;

use super::{Across, Factors, Pick, Reduction, Warmth, factor, held, solved, sound, strengths, sudden};
use crate::field::{self, Stress as Tensor};
use crate::geometry::vector::Vector;
use crate::physics::strength::{self as law, LoadCase, Strengths};
use crate::quantity::Stress;
use crate::resolve::elastic::at_once::MOST_ADDED;
use crate::resolve::elastic::said::{NotKnown, Of};
use crate::resolve::elastic::solved::{Solved, Spot};
use crate::resolve::world::World;
use crate::semantics::spec::{Course, Load};

/// Loads that are left out in every way to see which of them relieve the others; of more, one after the other.
const TRIED_IN_EVERY_WAY: usize = 4;

/// Bits of a share that do not count: what is eased by one share is rounded each time.
const NOISE: u64 = (1 << 16) - 1;

/// Returns what each weight is beside the largest, without the bits that do not count.
fn shares(weights: impl Iterator<Item = f64>) -> Vec<f64> {
    let weights: Vec<f64> = weights.collect();
    let largest = weights.iter().copied().fold(0.0, f64::max);
    let of_note = |share: f64| f64::from_bits(share.to_bits().saturating_add(NOISE / 2) & !NOISE);
    weights.iter().map(|w| if largest > 0.0 { of_note(w / largest) } else { 0.0 }).collect()
}

/// A bound that was rounded is as much larger as this.
const ROUNDING: f64 = 1.0 + 1e-9;

/// What loads acting at once leave.
#[derive(Debug, Clone)]
pub struct Between {
    /// Of a solid.
    pub margin: f64,
    /// Where they fail it first, and the section there.
    pub at: Vector,
    pub across: Across,
    /// What each takes there by itself, the inverse of its margin; none where they were solved as one.
    pub shares: Vec<f64>,
    /// Whether it counts there: one that relieves the others does not.
    pub counts: Vec<bool>,
    /// How much larger the margin may be, where a stress still hangs on the grid.
    pub slack: f64,
}

/// What the place where loads fail a material first hangs on; heat and time count for all places alike.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Sum {
    /// By the loads' places in the spec asked first, and what each counts by beside the one that counts most, as bits.
    weights: Vec<(usize, u64)>,
    pose: usize,
    material: usize,
    reduced: [u64; 5],
}

/// The index of a place, and which of the loads count there, as bits.
pub type Worst = (usize, u32);

/// Returns what loads acting at once leave of the strength; the error says why that is not known.
///
/// Of loads that are held for unlike times, strength is that for the one over soonest, and of those held longer again for the
/// one over soonest among them, down to the longest (as timber is judged: EN 1995-1-1, 3.1.3(2), from memory; common
/// practice for plastics). A load that relieves the others at a place does not count there, since it may be gone.
pub fn together(world: &World<'_>, loads: &[usize], material: usize, pose: usize) -> Result<Between, NotKnown> {
    let asked = Together { world, loads, material, pose };
    let fields: Vec<&Solved> = loads.iter().map(|&l| solved(world, l)).collect::<Result<_, _>>()?;
    if loads.len() > MOST_ADDED || fields.iter().any(|f| f.rests) {
        return asked.as_one();
    }
    let fields: Vec<&Solved> = fields.into_iter().map(sound).collect::<Result<_, _>>()?;
    let places = fields.first().map_or(0, |f| f.shared.len());
    if places == 0 || fields.iter().any(|f| f.shared.len() != places) {
        return Err(NotKnown::NotTogether);
    }
    asked.added(&fields)
}

/// Returns how warm the part is while some loads act: the warmest any of them says, since one that comes with a warmth of its
/// own, as snow does, is there at that alone; as it usually is where none says.
fn warmth(world: &World<'_>, loads: impl Iterator<Item = usize>, material: usize) -> Option<Warmth> {
    let stated = loads.filter_map(|l| world.spec.loads.get(l)?.temperature).map(|t| t.value);
    match stated.max_by(|a, b| a.to_kelvin().total_cmp(&b.to_kelvin())) {
        Some(highest) => Some(Warmth { highest, usual: None, sunlit: false, shade: None }),
        None => Warmth::unstated(world, material),
    }
}

struct Together<'a, 'w> {
    world: &'a World<'w>,
    loads: &'a [usize],
    material: usize,
    pose: usize,
}

/// Whether loads are all there for good; one of them is then judged at the last by itself.
fn is_all_steady(loads: &[&Load]) -> bool {
    loads.iter().all(|l| l.course.value == Course::Steady)
}

/// What is judged of loads that act at once: those that are there while one of them, for which strength is left, is.
struct Turn {
    one: usize,
    there: Vec<bool>,
}

impl Together<'_, '_> {
    fn strengths(&self) -> Result<Strengths, NotKnown> {
        let entry = self.world.bench.materials.get(self.material).ok_or(NotKnown::NoSuch(Of::Material))?;
        Ok(strengths(entry, self.world.knowledge.catalogue, Pick::Low))
    }

    fn up(&self) -> Result<Vector, NotKnown> {
        Ok(self.world.part.poses.get(self.pose).ok_or(NotKnown::NoSuch(Of::Pose))?.pose.up)
    }

    /// Which loads are judged at once, by the strength left for each of them in turn.
    fn turns(&self) -> Vec<Turn> {
        let (spec, catalogue) = (self.world.spec, self.world.knowledge.catalogue);
        let stated: Vec<_> = self.loads.iter().filter_map(|&l| spec.loads.get(l)).collect();
        let lasting: Vec<f64> =
            stated.iter().map(|l| held(l, catalogue, &mut Vec::new()).map_or(0.0, |d| d.to_s())).collect();
        let is = |i: usize, course: Course| stated.get(i).is_some_and(|l| l.course.value == course);
        // What a blow comes on top of is judged by itself as a combination of its own.
        let blow = (0..stated.len()).find(|&i| is(i, Course::Shock));
        // What comes and goes meets all others at their height; what stays bears for long what stays as long.
        let meets = |one: usize, other: usize| {
            !is(one, Course::Steady) || is(other, Course::Steady) && lasting.get(other) >= lasting.get(one)
        };
        let there = |one: usize| (0..stated.len()).map(|other| meets(one, other)).collect::<Vec<bool>>();
        let all = (0..stated.len()).filter(|&i| blow.is_none_or(|b| b == i));
        let steady_alone = |turn: &Turn| {
            is(turn.one, Course::Steady)
                && turn.there.iter().filter(|there| **there).count() == 1
                && !is_all_steady(&stated)
        };
        all.map(|one| Turn { one, there: there(one) }).filter(|turn| !steady_alone(turn)).collect()
    }

    /// What heat, time and repetition leave of the strength for one of the loads while others are there, its factor not counted.
    fn left_for(&self, Turn { one, there }: &Turn) -> Result<Factors, NotKnown> {
        let &load = self.loads.get(*one).ok_or(NotKnown::NoSuch(Of::Load))?;
        let stated = self.world.spec.loads.get(load).ok_or(NotKnown::NoSuch(Of::Load))?;
        let entry = *self.world.bench.materials.get(self.material).ok_or(NotKnown::NoSuch(Of::Material))?;
        let catalogue = self.world.knowledge.catalogue;
        let with = self.loads.iter().zip(there).filter(|(_, there)| **there).map(|(load, _)| *load);
        let warmth = warmth(self.world, with, self.material).ok_or(NotKnown::Warmth)?;
        let hurts = self.world.spec.consequence();
        let all = Reduction::each(stated, entry, warmth, (1.0, hurts), catalogue, &mut Vec::new())?;
        let left = |f: &Factors| f.hot * f.sustained * f.fatigue_along.min(f.fatigue_across);
        Ok(Reduction::worst(all, left)?.low)
    }

    fn factor(&self, load: usize) -> f64 {
        let stated = self.world.spec.loads.get(load);
        stated.map_or(1.0, |l| factor(self.world.spec, l, self.world.knowledge.catalogue))
    }

    /// Judges all loads as the one case they were solved as, each counted there by its own factor beside the greatest, by the
    /// least that is left for any of them while others are there. What is there by itself is judged as a load of its own.
    fn as_one(&self) -> Result<Between, NotKnown> {
        let known = self.world.part.at_once.iter().find(|one| one.loads == self.loads);
        let known = known.ok_or(NotKnown::NotAsOne)?;
        let solved = sound(known.answer.as_ref().map_err(Clone::clone)?)?;
        let turned = super::turned(&solved.spots, self.up()?, solved.doubt);
        let load = self.loads.iter().map(|&l| self.factor(l)).fold(0.0, f64::max);
        let mut worst: Option<(f64, usize)> = None;
        for turn in self.turns().iter().filter(|t| t.there.iter().filter(|there| **there).count() > 1) {
            let left = Factors { load, ..self.left_for(turn)? };
            let (found, place) = super::least(&turned, &self.strengths()?, &left).ok_or(NotKnown::Unstressed)?;
            if worst.is_none_or(|(least, _)| found.margin < least) {
                worst = Some((found.margin, place));
            }
        }
        let (margin, place) = worst.ok_or(NotKnown::NoLoads)?;
        let spot = solved.spots.get(place).ok_or(NotKnown::Unstressed)?;
        Ok(Between {
            margin,
            at: spot.at,
            across: Across::of(spot.at, &spot.judged()),
            shares: Vec::new(),
            counts: vec![true; self.loads.len()],
            slack: solved.slack(),
        })
    }

    /// Judges the loads by the sum of their stresses, by the strength left for each of them in turn.
    fn added(&self, fields: &[&Solved]) -> Result<Between, NotKnown> {
        let mut worst: Option<Between> = None;
        let mut tried: Vec<(Vec<bool>, Factors)> = Vec::new();
        for turn in self.turns() {
            let left = self.left_for(&turn)?;
            // Loads held for as long, as warm and as often ask the same.
            if tried.iter().any(|(t, l)| *t == turn.there && *l == left) {
                continue;
            }
            let found = self.by_one(fields, &turn.there, &left)?;
            tried.push((turn.there, left));
            if worst.as_ref().is_none_or(|w| found.margin < w.margin) {
                worst = Some(found);
            }
        }
        worst.ok_or(NotKnown::NoLoads)
    }

    /// Returns the sizes of the loads' stresses in the layers of the pose, of each load as it was asked first.
    fn sizes(&self, fields: &[&Solved]) -> Option<Vec<Sizes>> {
        let up = self.up().ok()?;
        let of = |(&load, field): (&usize, &&Solved)| {
            let known = self.world.loads.get(load)?;
            Some(self.world.load_facts.sizes.of((known.load, self.pose), || {
                let size = |spot: &Spot| sizes_of(spot, up).map(|s| s / known.ratio);
                Arc::new(field.shared.iter().map(size).collect())
            }))
        };
        self.loads.iter().zip(fields).map(of).collect()
    }

    /// Returns where loads that count by these weights fail the material first, and which of them count there.
    ///
    /// That hangs on what each weighs beside the others, not on how large all of them are: loads that are eased by one share
    /// fail where they failed before.
    fn place(&self, adding: &Adding<'_>, by_place: &Factors, fields: &[&Solved]) -> Result<Option<Worst>, NotKnown> {
        let known = self.loads.iter().map(|&l| self.world.loads.get(l)).collect::<Option<Vec<_>>>();
        let known = known.ok_or(NotKnown::NoSuch(Of::Load))?;
        let shares = shares(adding.weights.iter().zip(&known).map(|(weight, k)| weight * k.ratio));
        let key = Sum {
            weights: known.iter().zip(&shares).map(|(k, share)| (k.load, share.to_bits())).collect(),
            pose: self.pose,
            material: self.material,
            reduced: super::bits(by_place),
        };
        Ok(self.world.load_facts.together.of(key, || {
            let weights: Vec<f64> = shares.iter().zip(&known).map(|(share, k)| share / k.ratio).collect();
            let adding = Adding { weights: &weights, shared: adding.shared.clone(), ..*adding };
            adding.worst(by_place, &self.sizes(fields)?, &shares)
        }))
    }

    /// Judges some of the loads by the strength left for one of them.
    fn by_one(&self, fields: &[&Solved], there: &[bool], left: &Factors) -> Result<Between, NotKnown> {
        let raise = |l: usize| self.world.spec.loads.get(l).map_or(1.0, sudden);
        let weighs = |l: usize| super::weighs(self.world, l, self.material);
        // What the coarser grids say otherwise counts against the part.
        let weights: Vec<f64> = (self.loads.iter().zip(fields).zip(there))
            .map(|((&l, f), &there)| if there { self.factor(l) * raise(l) * f.doubt * weighs(l) } else { 0.0 })
            .collect();
        let adding = Adding {
            shared: fields.iter().map(|f| f.shared.as_slice()).collect(),
            weights: &weights,
            up: self.up()?,
            strengths: self.strengths()?,
        };
        let (place, counts) = self.place(&adding, &left.by_place(), fields)?.ok_or(NotKnown::Unstressed)?;
        let spot = fields.first().and_then(|f| f.shared.get(place)).ok_or(NotKnown::Unstressed)?;
        let all = fields.len();
        let alone = |i: usize| adding.margin(place, 1 << i, left).map_or(0.0, |m| 1.0 / m.max(0.0));
        Ok(Between {
            margin: adding.margin(place, counts, left).ok_or(NotKnown::Unstressed)?,
            at: spot.at,
            across: Across::of(spot.at, &Spot { stress: adding.sum(place, counts), ..*spot }.judged()),
            shares: (0..all).map(|i| if there[i] { alone(i) } else { 0.0 }).collect(),
            counts: (0..all).map(|i| counts >> i & 1 == 1).collect(),
            slack: fields.iter().map(|f| f.slack()).fold(1.0, f64::max),
        })
    }
}

/// Returns the sizes of a load's stress along, across and between layers, which those of a sum never exceed added up. Beside
/// what is pressed on only what pulls of the sum counts: no part of that is larger than the greatest principal stresses added.
fn sizes_of(spot: &Spot, up: Vector) -> [f64; 3] {
    if spot.beside {
        let most = field::principal(&spot.stress).into_iter().map(f64::abs).fold(0.0, f64::max);
        return [most; 3];
    }
    field::in_layers(&spot.stress, up).map(f64::abs)
}

/// The sizes of a load's stresses along, across and between the layers at the places it shares, MPa.
pub type Sizes = Arc<Vec<[f64; 3]>>;

/// Stresses of loads at the same places, to be added.
struct Adding<'a> {
    shared: Vec<&'a [Spot]>,
    weights: &'a [f64],
    up: Vector,
    strengths: Strengths,
}

impl Adding<'_> {
    fn sum(&self, place: usize, counts: u32) -> Tensor {
        let mut sum = Tensor::default();
        for (i, (shared, weight)) in self.shared.iter().zip(self.weights).enumerate() {
            if let Some(spot) = shared.get(place).filter(|_| counts >> i & 1 == 1) {
                for (whole, part) in sum.iter_mut().zip(spot.stress) {
                    *whole += weight * part;
                }
            }
        }
        sum
    }

    /// Returns the margin some of the loads leave at a place; `None` where they strain nothing.
    fn margin(&self, place: usize, counts: u32, factors: &Factors) -> Option<f64> {
        let spot = *self.shared.first()?.get(place)?;
        let sum = Spot { stress: self.sum(place, counts), ..spot };
        let [along, across, shear] = sum.in_layers(self.up).map(Stress::mpa);
        let stress = law::LayerStress { along, across, shear };
        Some(law::assess(&LoadCase { stress }, &self.strengths, factors).ok()?.margin)
    }

    /// Returns the place with the least margin, and which loads count there. Places are looked at in the order of the most that
    /// any of the loads can take there, until none that is left can take as much as was found.
    ///
    /// `sizes` and what they `weigh` are those of the loads as they were asked first.
    fn worst(&self, factors: &Factors, sizes: &[Sizes], weigh: &[f64]) -> Option<Worst> {
        let allowed = law::least_allowed(&self.strengths, factors).ok()?;
        let most = |place: usize| {
            let each = sizes.iter().zip(weigh);
            let taken =
                each.map(|(sizes, weight)| sizes.get(place).map_or(0.0, |s| weight * law::most_taken(*s, allowed)));
            let taken: f64 = taken.sum();
            // Nothing over nothing: where there is no strength anything breaks.
            if taken.is_nan() { f64::INFINITY } else { taken }
        };
        let mut order: Vec<(f64, usize)> = (0..self.shared.first()?.len()).map(|place| (most(place), place)).collect();
        order.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        let mut worst: Option<(f64, Worst)> = None;
        for (most, place) in order {
            if worst.is_some_and(|(least, _)| most * ROUNDING * least < 1.0) {
                break;
            }
            let Some((margin, counts)) = self.worst_at(place, factors) else { continue };
            if worst.is_none_or(|(least, (first, _))| margin < least || (margin == least && place < first)) {
                worst = Some((margin, (place, counts)));
            }
        }
        worst.map(|(_, found)| found)
    }

    fn worst_at(&self, place: usize, factors: &Factors) -> Option<(f64, u32)> {
        let present = |i: &usize| self.weights.get(*i).is_some_and(|w| *w > 0.0);
        let bits: Vec<u32> = (0..self.shared.len()).filter(present).map(|i| 1 << i).collect();
        let all = bits.iter().fold(0, |all, bit| all | bit);
        let mut best: Option<(f64, u32)> = None;
        let mut look = |counts: u32| {
            let margin = self.margin(place, counts, factors);
            let better = margin.filter(|m| best.is_none_or(|(least, _)| *m < least));
            better.inspect(|m| best = Some((*m, counts))).is_some()
        };
        look(all);
        if bits.len() <= TRIED_IN_EVERY_WAY {
            (1..1u32 << bits.len())
                .map(|way| (0..bits.len()).filter(|i| way >> i & 1 == 1).fold(0, |counts, i| counts | bits[i]))
                .for_each(|counts| _ = look(counts));
            return best;
        }
        bits.iter().for_each(|&bit| _ = look(bit));
        // One that relieves the others goes, or comes back, as long as that makes it worse.
        let mut counts = all;
        for _ in 0..bits.len() {
            let before = counts;
            for &bit in &bits {
                if counts != bit && look(counts ^ bit) {
                    counts ^= bit;
                }
            }
            if counts == before {
                break;
            }
        }
        best
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Stresses drawn from a simple generator: any will do.
    fn drawn(places: usize, loads: usize) -> Vec<Vec<Spot>> {
        let mut state = 7_u64;
        let mut next = || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            (state >> 33) as f64 / f64::from(1_u32 << 31) - 0.5
        };
        let mut stress = || std::array::from_fn(|_| next());
        let mut spot = |at: usize| Spot { at: [0.0; 3], stress: stress(), beside: at.is_multiple_of(3) };
        (0..loads).map(|_| (0..places).map(&mut spot).collect()).collect()
    }

    #[test]
    fn what_is_eased_by_one_share_keeps_its_shares_to_the_bit() {
        let weights = [3.0, 0.7, 0.0, 6.1];
        let first = shares(weights.into_iter());
        assert!(first.iter().zip(weights).all(|(share, w)| (share - w / 6.1).abs() < 1e-11), "{first:?}");
        for eased in [0.93, 1.0 / 3.0, 1e-3, 7.7] {
            assert_eq!(shares(weights.into_iter().map(|w| w * eased)), first, "{eased}");
        }
        assert_ne!(shares([3.0, 0.7, 0.0, 6.2].into_iter()), first);
        assert_eq!(shares([0.0, 0.0].into_iter()), [0.0, 0.0]);
    }

    #[test]
    fn the_place_found_first_is_the_one_found_by_looking_at_all() {
        let strengths = super::super::neutral();
        for (loads, up) in [(2, [0.0, 0.0, 1.0]), (6, [0.6, 0.0, 0.8]), (12, [1.0, 0.0, 0.0])] {
            let shared = drawn(200, loads);
            let weights: Vec<f64> = (0..loads).map(|i| 1.0 + 0.3 * i as f64).collect();
            let adding =
                Adding { shared: shared.iter().map(Vec::as_slice).collect(), weights: &weights, up, strengths };
            let sizes: Vec<Sizes> =
                shared.iter().map(|s| Arc::new(s.iter().map(|s| sizes_of(s, up)).collect())).collect();
            for factors in [Factors::NONE, Factors { sustained: 0.2, sustained_pressed: Some(0.9), ..Factors::NONE }] {
                let all = (0..200).filter_map(|place| Some((adding.worst_at(place, &factors)?, place)));
                let (least, at) = all.min_by(|a, b| a.0.0.total_cmp(&b.0.0)).unwrap();
                assert_eq!(adding.worst(&factors, &sizes, &weights), Some((at, least.1)));
            }
        }
    }
}
