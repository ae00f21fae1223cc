//! Boxes of different sizes on plates: the largest free rectangles are kept, and each box goes where it fits best.
//!
//! Maximal rectangles (Jylänki 2010, from memory), several orders of the boxes and several meanings of best.

use super::{Point, single::gap_um};

/// A box to be laid: its size with a gap, in micrometres, whether it may be turned, its kind.
#[derive(Debug, Clone, Copy)]
pub(super) struct Item {
    pub(super) size: [i64; 2],
    pub(super) turn: bool,
    pub(super) kind: usize,
    /// No more of its kind than this on a plate.
    pub(super) most: usize,
}

/// A box that lies: its lower left corner, whether turned, its kind.
pub(super) type Laid = ([i64; 2], bool, usize);

/// Which of the places in which a box fits is best.
#[derive(Debug, Clone, Copy)]
pub(super) enum Rule {
    /// That in which the shorter rest is least.
    ShortRest,
    /// The lowest, then leftmost.
    Lowest,
    /// The smallest.
    Area,
}

pub(super) const RULES: [Rule; 3] = [Rule::ShortRest, Rule::Lowest, Rule::Area];

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Space {
    low: [i64; 2],
    high: [i64; 2],
}

impl Space {
    fn holds(&self, other: &Self) -> bool {
        (0..2).all(|k| self.low[k] <= other.low[k] && self.high[k] >= other.high[k])
    }

    fn meets(&self, other: &Self) -> bool {
        (0..2).all(|k| self.low[k] < other.high[k] && self.high[k] > other.low[k])
    }
}

/// A plate being filled.
#[derive(Debug, Clone)]
struct Open {
    free: Vec<Space>,
    laid: Vec<Laid>,
    area: i128,
}

/// The rooms to fill: their size, what is taken of them, and how much area may go on one.
#[derive(Debug, Clone)]
pub(super) struct Rooms {
    size: [i64; 2],
    taken: Vec<Space>,
    pub(super) most_area: i128,
}

impl Rooms {
    /// Areas taken count with their bounds; a piece's own gap towards them is not needed but kept.
    pub(super) fn new(size: [i64; 2], taken: &[(Point, Point)], edge_mm: f64, gap_mm: f64) -> Self {
        let gap = gap_um(gap_mm);
        let um = |mm: f64| (mm - edge_mm) * 1000.0;
        let taken = taken.iter().map(|(low, high)| Space {
            low: [0, 1].map(|k| um(low[k]).floor() as i64),
            high: [0, 1].map(|k| um(high[k]).ceil() as i64),
        });
        // A box carries its gap at its upper right: there it may reach over what is taken.
        let taken =
            taken.map(|s| Space { low: s.low.map(|v| v + gap), ..s }).filter(|s| (0..2).all(|k| s.low[k] < s.high[k]));
        Self { size, taken: taken.collect(), most_area: i128::MAX }
    }

    fn open(&self) -> Open {
        let whole = Space { low: [0, 0], high: self.size };
        let mut open = Open { free: vec![whole], laid: Vec::new(), area: 0 };
        for space in &self.taken {
            open.cut(*space);
        }
        open
    }
}

impl Open {
    /// Where a box would lie best.
    fn best(&self, item: &Item, rule: Rule, steps: &mut u64) -> Option<([i64; 2], bool)> {
        let mut best: Option<([i64; 2], [i64; 2], bool)> = None;
        *steps = steps.saturating_sub(self.free.len() as u64);
        for turned in [false, true] {
            if turned && (!item.turn || item.size[0] == item.size[1]) {
                continue;
            }
            let size = if turned { [item.size[1], item.size[0]] } else { item.size };
            for space in &self.free {
                let rest = [0, 1].map(|k| space.high[k] - space.low[k] - size[k]);
                if rest[0] < 0 || rest[1] < 0 {
                    continue;
                }
                let score = match rule {
                    Rule::ShortRest => [rest[0].min(rest[1]), rest[0].max(rest[1])],
                    Rule::Lowest => [space.low[1] + size[1], space.low[0]],
                    Rule::Area => [
                        ((space.high[0] - space.low[0]) / 100) * ((space.high[1] - space.low[1]) / 100),
                        rest[0].min(rest[1]),
                    ],
                };
                if best.is_none_or(|b| (score, space.low) < (b.0, b.1)) {
                    best = Some((score, space.low, turned));
                }
            }
        }
        best.map(|b| (b.1, b.2))
    }

    fn put(&mut self, item: &Item, at: [i64; 2], turned: bool) {
        let size = if turned { [item.size[1], item.size[0]] } else { item.size };
        self.cut(Space { low: at, high: [at[0] + size[0], at[1] + size[1]] });
        self.laid.push((at, turned, item.kind));
        self.area += i128::from(size[0]) * i128::from(size[1]);
    }

    fn cut(&mut self, taken: Space) {
        let mut pieces = Vec::new();
        self.free.retain(|space| {
            if !space.meets(&taken) {
                return true;
            }
            for k in 0..2 {
                let (mut before, mut after) = (*space, *space);
                before.high[k] = taken.low[k];
                after.low[k] = taken.high[k];
                pieces.extend([before, after].into_iter().filter(|s| s.low[k] < s.high[k]));
            }
            false
        });
        for i in 0..pieces.len() {
            let covered = self.free.iter().any(|s| s.holds(&pieces[i]))
                || (0..pieces.len())
                    .any(|j| j != i && pieces[j].holds(&pieces[i]) && (pieces[j] != pieces[i] || j < i));
            if !covered {
                self.free.push(pieces[i]);
            }
        }
    }
}

/// Lays all boxes in their order, each on the first plate that takes it; none where the steps run out or one fits nowhere.
pub(super) fn pack(rooms: &Rooms, items: &[Item], rule: Rule, steps: &mut u64) -> Option<Vec<Vec<Laid>>> {
    let mut plates: Vec<Open> = Vec::new();
    // Plates before this one have no room for a box like the last one.
    let (mut last, mut from): (Option<Item>, usize) = (None, 0);
    for item in items {
        if *steps == 0 {
            return None;
        }
        if last.is_none_or(|l| l.size != item.size || l.turn != item.turn || l.kind != item.kind) {
            from = 0;
        }
        last = Some(*item);
        let area = i128::from(item.size[0]) * i128::from(item.size[1]);
        loop {
            if from == plates.len() {
                plates.push(rooms.open());
            }
            let plate = &mut plates[from];
            let of_kind =
                if item.most == usize::MAX { 0 } else { plate.laid.iter().filter(|l| l.2 == item.kind).count() };
            let may = of_kind < item.most && (plate.laid.is_empty() || plate.area + area <= rooms.most_area);
            match plate.best(item, rule, steps).filter(|_| may) {
                Some((at, turned)) => {
                    plate.put(item, at, turned);
                    break;
                }
                None if plate.laid.is_empty() => return None,
                None => from += 1,
            }
        }
    }
    Some(plates.into_iter().map(|p| p.laid).collect())
}
