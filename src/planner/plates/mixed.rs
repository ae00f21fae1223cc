//! All pieces on plates: those of one kind by themselves, or several kinds together.

use super::body::{Bodies, Body, turns};
use super::boxes::{Item, RULES, Rooms, Rule, pack};
use super::complete::{Found, fits};
use super::polygon::{bounds, tidied};
use super::sheet::Sheet;
use super::single::{area_of, box_of, may_quarter, most, place_of_box, room_um, size_um};
use super::{Because, Bed, Full, Kind, Options, Place, Plates, Policy, Shape, Turn, bound, dual};
use crate::Effort;
use crate::dice::Dice;
use crate::refusal::{About, Refusal};

pub(super) fn plates(bed: &Bed, kinds: &[Kind], options: &Options) -> Result<Plates, Refusal> {
    let fulls = fulls(bed, kinds, options)?;
    let alone = || -> Vec<Vec<Place>> {
        (0..kinds.len()).flat_map(|k| of_one_kind(k, kinds[k].count, &fulls[k].places, options.policy)).collect()
    };
    let used = kinds.iter().filter(|k| k.count > 0).count();
    if !options.mixed || used < 2 {
        let at_least = (0..kinds.len()).map(|k| kinds[k].count.div_ceil(fulls[k].at_most.max(1))).sum();
        let because = fulls.iter().map(|f| f.because).next_back().unwrap_or(Because::Area);
        return Ok(Plates { plates: alone(), at_least, because });
    }
    let (at_least, because) = at_least(bed, kinds, &fulls, options.gap_mm);
    let mut mixing = Mixing { bed, kinds, options, fulls: &fulls, at_least, steps: options.effort.0 };
    let mut best = Plates { plates: alone(), at_least, because };
    mixing.improve(&mut best);
    if options.policy == Policy::Balanced {
        mixing.balance(&mut best);
    }
    Ok(best)
}

/// As many of each kind as go on a plate.
fn fulls(bed: &Bed, kinds: &[Kind], options: &Options) -> Result<Vec<Full>, Refusal> {
    let share = Options { effort: Effort(options.effort.0 / kinds.len().max(1) as u64), ..*options };
    let mut fulls = Vec::new();
    for (index, kind) in kinds.iter().enumerate() {
        // No more than are wanted need be looked for, but for the bound.
        let limit = kind.most_per_plate.unwrap_or(usize::MAX).min(kind.count.max(1));
        let limited = Kind { most_per_plate: Some(limit), ..kind.clone() };
        let full = most(bed, &limited, &share).map_err(|r| Refusal::new(About::Piece(index), r.why))?;
        if full.places.is_empty() && kind.count > 0 {
            return Err(Refusal::new(About::Piece(index), "expected a piece that goes on the empty bed"));
        }
        fulls.push(full);
    }
    Ok(fulls)
}

/// Plates of one kind, each a part of the full one.
fn of_one_kind(kind: usize, count: usize, full: &[Place], policy: Policy) -> Vec<Vec<Place>> {
    let plates = count.div_ceil(full.len().max(1));
    (0..plates)
        .map(|plate| {
            let pieces = match policy {
                Policy::Balanced => count / plates + usize::from(plate < count % plates),
                Policy::FillFirst => full.len().min(count - plate * full.len()),
            };
            full.iter().take(pieces).map(|p| Place { kind, ..*p }).collect()
        })
        .collect()
}

/// Whether a kind is a rectangle whose sides lie along the bed's, so that boxes say all.
fn is_plain(kind: &Kind) -> bool {
    matches!(kind.shape, Shape::Rectangle { .. }) && kind.turn != Turn::Any && kind.brim_mm == 0.0
}

/// Fewer plates than this cannot do.
fn at_least(bed: &Bed, kinds: &[Kind], fulls: &[Full], gap: f64) -> (usize, Because) {
    let room = [bed.width_mm, bed.depth_mm].map(|side| side - 2.0 * bed.edge_mm);
    let area: f64 = kinds.iter().map(|k| k.count as f64 * bound::grown_area(k, gap / 2.0)).sum();
    let mut best = ((area / bound::grown_room(room, gap).max(1e-9) - 1e-9).ceil().max(0.0) as usize, Because::Area);
    let mut offer = |n: usize, because: Because| {
        if n > best.0 {
            best = (n, because);
        }
    };
    for (kind, full) in kinds.iter().zip(fulls) {
        offer(kind.count.div_ceil(full.at_most.max(1)), full.because);
    }
    if kinds.iter().all(is_plain) {
        let sizes: Vec<([i64; 2], usize)> = kinds.iter().map(|k| (box_um(k, gap), k.count)).collect();
        let turn = kinds.iter().any(|k| may_quarter(k.turn));
        let (n, plain) = dual::at_least(room_um(bed, gap), &sizes, turn);
        offer(n, if plain { Because::Area } else { Because::ScaledArea });
    }
    best
}

fn box_um(kind: &Kind, gap: f64) -> [i64; 2] {
    let (low, high) = box_of(kind, 0.0);
    size_um([high[0] - low[0], high[1] - low[1]], gap)
}

struct Mixing<'a> {
    bed: &'a Bed,
    kinds: &'a [Kind],
    options: &'a Options,
    fulls: &'a [Full],
    at_least: usize,
    steps: u64,
}

/// More pieces than this are not mixed all together: full plates of one kind are set aside first.
const MOST_MIXED: usize = 3_000;

impl Mixing<'_> {
    fn improve(&mut self, best: &mut Plates) {
        let all: Vec<usize> = self.kinds.iter().map(|k| k.count).collect();
        let rest: Vec<usize> = (0..all.len()).map(|k| all[k] % self.fulls[k].places.len().max(1)).collect();
        let full: Vec<Vec<Place>> = (0..all.len())
            .flat_map(|k| of_one_kind(k, all[k] - rest[k], &self.fulls[k].places, Policy::FillFirst))
            .collect();
        let offer = |found: Option<Vec<Vec<Place>>>, best: &mut Plates, full: &[Vec<Place>]| {
            if let Some(found) = found.filter(|f| f.len() + full.len() < best.plates.len()) {
                best.plates = full.iter().cloned().chain(found).collect();
            }
        };
        let small = all.iter().sum::<usize>() <= MOST_MIXED;
        offer(self.boxes(&rest, i128::MAX, 1), best, &full);
        if small {
            offer(self.boxes(&all, i128::MAX, 40), best, &[]);
        }
        if !self.kinds.iter().all(is_plain) && best.plates.len() > self.at_least {
            offer(self.nest(&rest), best, &full);
            if small && full.len() < 4 {
                offer(self.nest(&all), best, &[]);
            }
        }
        if best.plates.len() > self.at_least {
            self.complete(&all, best);
        }
    }

    /// The boxes of so many of each kind, in several orders; the fewest plates.
    fn boxes(&mut self, counts: &[usize], most_area: i128, rounds: usize) -> Option<Vec<Vec<Place>>> {
        let gap = self.options.gap_mm;
        let taken: Vec<_> = self.bed.taken.iter().map(|t| bounds(&tidied(t))).collect();
        let mut rooms = Rooms::new(room_um(self.bed, gap), &taken, self.bed.edge_mm, gap);
        rooms.most_area = most_area;
        let items: Vec<Item> = (0..counts.len())
            .map(|k| Item {
                size: box_um(&self.kinds[k], gap),
                turn: may_quarter(self.kinds[k].turn),
                kind: k,
                most: self.kinds[k].most_per_plate.unwrap_or(usize::MAX),
            })
            .collect();
        let mut order: Vec<usize> = (0..items.len()).filter(|k| counts[*k] > 0).collect();
        let mut best: Option<Vec<Vec<super::boxes::Laid>>> = None;
        let mut dice = Dice::new(5);
        for round in 0..rounds.max(3) {
            let key = |k: usize| -> i64 {
                let s = items[k].size;
                match round {
                    0 => -(s[0] / 100) * (s[1] / 100),
                    1 => -s[0].max(s[1]),
                    _ => -s[0].min(s[1]),
                }
            };
            if round < 3 {
                order.sort_by_key(|k| (key(*k), *k));
            } else {
                let (a, b) = (dice.below(order.len()), dice.below(order.len()));
                order.swap(a, b);
            }
            let sequence: Vec<Item> = order.iter().flat_map(|k| std::iter::repeat_n(items[*k], counts[*k])).collect();
            let rules: &[Rule] = if sequence.len() > MOST_MIXED { &RULES[..1] } else { &RULES };
            for rule in rules {
                let found = pack(&rooms, &sequence, *rule, &mut self.steps);
                if let Some(found) = found.filter(|f| best.as_ref().is_none_or(|b| f.len() < b.len())) {
                    best = Some(found);
                }
            }
            if best.as_ref().is_some_and(|b| b.len() <= self.at_least) || self.steps == 0 {
                break;
            }
        }
        let place = |(at, turned, k): (_, bool, usize)| {
            let corner = <[i64; 2]>::map(at, |um| um as f64 / 1000.0 + self.bed.edge_mm);
            place_of_box(&self.kinds[k], k, corner, if turned { 90.0 } else { 0.0 })
        };
        best.map(|plates| plates.into_iter().map(|p| p.into_iter().map(place).collect()).collect())
    }

    /// By true outlines, the largest first, each on the first plate that takes it.
    fn nest(&mut self, counts: &[usize]) -> Option<Vec<Vec<Place>>> {
        if counts.iter().sum::<usize>() > 400 {
            return None;
        }
        let mut bodies = Bodies::new(self.bed);
        let ways: Vec<Vec<usize>> = self
            .kinds
            .iter()
            .enumerate()
            .map(|(k, kind)| {
                let of_kind = turns(kind).into_iter();
                of_kind.map(|t| bodies.add(Body::new(kind, k, t, self.options.gap_mm))).collect()
            })
            .collect();
        let mut order: Vec<usize> = (0..counts.len()).collect();
        order.sort_by(|a, b| area_of(&self.kinds[*b]).total_cmp(&area_of(&self.kinds[*a])).then(a.cmp(b)));
        let mut sheets: Vec<Sheet> = Vec::new();
        let mut used = 0;
        for k in order {
            let limit = self.kinds[k].most_per_plate.unwrap_or(usize::MAX);
            let mut from = 0;
            for _ in 0..counts[k] {
                loop {
                    if used > self.steps {
                        self.steps = 0;
                        return None;
                    }
                    if from == sheets.len() {
                        sheets.push(Sheet::default());
                    }
                    let of_kind = sheets[from].placed.iter().filter(|p| ways[k].contains(&p.0)).count();
                    let spots = ways[k].iter().filter_map(|way| {
                        let at = sheets[from].lowest(&mut bodies, *way, &mut used)?;
                        Some((at[1] + bodies.all[*way].high[1], at[0], *way, at))
                    });
                    let spot = spots.min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
                    match spot.filter(|_| of_kind < limit) {
                        Some((_, _, way, at)) => {
                            sheets[from].placed.push((way, at));
                            break;
                        }
                        None if sheets[from].placed.is_empty() => return None,
                        None => from += 1,
                    }
                }
            }
        }
        self.steps = self.steps.saturating_sub(used);
        Some(sheets.iter().map(|s| s.places(&bodies)).collect())
    }

    /// Few plain rectangles: every mix is tried, and the fewest mixes that make up the counts are taken.
    fn complete(&mut self, all: &[usize], best: &mut Plates) {
        const MOST_MIXES: usize = 1_500;
        let used: Vec<usize> = (0..all.len()).filter(|k| all[*k] > 0).collect();
        let mixes = used.iter().try_fold(1_usize, |n, k| n.checked_mul(all[*k] + 1)).unwrap_or(usize::MAX);
        let turn = used.iter().all(|k| may_quarter(self.kinds[*k].turn));
        let one_way = used.iter().all(|k| !may_quarter(self.kinds[*k].turn));
        let plain = used.iter().all(|k| is_plain(&self.kinds[*k])) && self.bed.taken.is_empty() && (turn || one_way);
        if mixes > MOST_MIXES || !plain {
            return;
        }
        let table = Table::new(self, &used, all, turn, mixes);
        let (sure, _) = table.fewest(false);
        let (possible, _) = table.fewest(true);
        if possible > best.at_least {
            best.at_least = possible;
            best.because = Because::Search;
            self.at_least = possible;
        }
        if sure < best.plates.len() {
            best.plates = table.plates(self, &used);
        }
    }

    /// As many plates, their area as even as a few limits allow.
    fn balance(&mut self, best: &mut Plates) {
        let counts: Vec<usize> = self.kinds.iter().map(|k| k.count).collect();
        if best.plates.len() < 2 || counts.iter().sum::<usize>() > MOST_MIXED {
            return;
        }
        let gap = self.options.gap_mm;
        let areas: Vec<i128> =
            self.kinds.iter().map(|k| box_um(k, gap)).map(|s| i128::from(s[0]) * i128::from(s[1])).collect();
        let of = |plate: &[Place]| plate.iter().map(|p| areas[p.kind]).sum::<i128>();
        let fullest = best.plates.iter().map(|p| of(p)).max().unwrap_or(0);
        let all: i128 = (0..counts.len()).map(|k| areas[k] * counts[k] as i128).sum();
        let even = all / best.plates.len() as i128;
        self.steps = self.steps.max(self.options.effort.0 / 4);
        for percent in [102, 106, 112, 120, 130, 145] {
            let limit = even * percent / 100;
            if limit >= fullest {
                return;
            }
            if let Some(found) = self.boxes(&counts, limit, 3).filter(|f| f.len() <= best.plates.len()) {
                best.plates = found;
                return;
            }
        }
    }
}

/// For every mix of counts whether it goes on one plate.
struct Table {
    counts: Vec<usize>,
    found: Vec<Found>,
}

impl Table {
    fn new(mixing: &mut Mixing, used: &[usize], all: &[usize], turn: bool, mixes: usize) -> Self {
        let counts: Vec<usize> = used.iter().map(|k| all[*k]).collect();
        let gap = mixing.options.gap_mm;
        let room = room_um(mixing.bed, gap);
        let sizes: Vec<[i64; 2]> = used.iter().map(|k| box_um(&mixing.kinds[*k], gap)).collect();
        let limits: Vec<usize> = used.iter().map(|k| mixing.kinds[*k].most_per_plate.unwrap_or(usize::MAX)).collect();
        let mut table = Self { counts, found: Vec::with_capacity(mixes) };
        for index in 0..mixes {
            let mix = table.mix(index);
            // One less of a kind that does not fit: then this does not either.
            let less = (0..mix.len()).filter(|k| mix[*k] > 0).map(|k| index - table.step(k));
            let barred = (0..mix.len()).any(|k| mix[k] > limits[k]);
            if barred || less.clone().any(|i| table.found[i] == Found::Not) {
                table.found.push(Found::Not);
                continue;
            }
            let pieces: Vec<([i64; 2], usize)> = sizes.iter().copied().zip(mix).collect();
            let mut steps = (mixing.steps / 8).min(2_000_000);
            let before = steps;
            let found = match dual::at_least(room, &pieces, turn) {
                (n, _) if n > 1 => Found::Not,
                _ => fits(room, &pieces, turn, &mut steps),
            };
            mixing.steps = mixing.steps.saturating_sub(before - steps);
            table.found.push(found);
        }
        table
    }

    fn step(&self, kind: usize) -> usize {
        self.counts[kind + 1..].iter().map(|c| c + 1).product()
    }

    fn mix(&self, index: usize) -> Vec<usize> {
        (0..self.counts.len()).map(|k| index / self.step(k) % (self.counts[k] + 1)).collect()
    }

    /// The fewest plates for all, and the first mix taken for each rest; what is not known may count as fitting.
    fn fewest(&self, hopeful: bool) -> (usize, Vec<usize>) {
        let may = |i: usize| matches!(self.found[i], Found::Fits(_)) || hopeful && self.found[i] == Found::Unknown;
        let mixes = self.found.len();
        let all: Vec<Vec<usize>> = (0..mixes).map(|i| self.mix(i)).collect();
        let mut fewest = vec![usize::MAX; mixes];
        let mut taken = vec![0; mixes];
        fewest[0] = 0;
        for rest in 1..mixes {
            for mix in (1..=rest).filter(|i| may(*i)) {
                if (0..self.counts.len()).all(|k| all[mix][k] <= all[rest][k]) {
                    let plates = fewest[rest - mix].saturating_add(1);
                    if plates < fewest[rest] {
                        fewest[rest] = plates;
                        taken[rest] = mix;
                    }
                }
            }
        }
        (fewest[mixes - 1], taken)
    }

    fn plates(&self, mixing: &Mixing, used: &[usize]) -> Vec<Vec<Place>> {
        let (_, taken) = self.fewest(false);
        let gap = mixing.options.gap_mm;
        let mut plates = Vec::new();
        let mut rest = self.found.len() - 1;
        while rest > 0 && taken[rest] > 0 {
            if let Found::Fits(laid) = &self.found[taken[rest]] {
                let places = laid.iter().map(|(at, size, k)| {
                    let kind = &mixing.kinds[used[*k]];
                    let corner = at.map(|um| um as f64 / 1000.0 + mixing.bed.edge_mm);
                    place_of_box(kind, used[*k], corner, if *size == box_um(kind, gap) { 0.0 } else { 90.0 })
                });
                plates.push(places.collect());
            }
            rest -= taken[rest];
        }
        plates
    }
}
