//! Mixed rectangles over as many plates as needed: maximal free rectangles, several orders tried, the best kept.

use super::{Grid, Plate};
use crate::physics::Checked;
use crate::quantity::Length;

/// So many pieces of one size.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Item {
    pub size: [Length; 2],
    pub count: usize,
}

/// More pieces than this in one call are refused, so that the cost stays bounded.
const MOST_PIECES: usize = 2_000;

#[derive(Debug, Clone, Copy)]
struct Piece {
    item: usize,
    size: [i64; 2],
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Free {
    at: [i64; 2],
    size: [i64; 2],
}

/// Spreads mixed pieces over plates; fewest plates, then the emptiest last plate.
///
/// Maximal-rectangles packing, best short-side fit, four sort orders (method: Jylänki 2010, recalled). A heuristic: it
/// may need a plate more than the optimum. `Err` names a piece that fits on no empty bed.
pub fn mixed_plates(bed: [Length; 2], items: &[Item], gap: Length, margin: Length) -> Checked<Vec<Plate>> {
    let grid = Grid::new(bed, gap, margin)?;
    let pieces = spell_out(&grid, items)?;
    let mut best: Option<(usize, f64, Vec<Plate>)> = None;
    for order in [by_long_side, by_area, by_short_side, by_perimeter] {
        let mut sorted = pieces.clone();
        sorted.sort_by_key(|p| (std::cmp::Reverse(order(p)), p.item));
        let plates = pack(&grid, sorted);
        let last = plates.last().map_or(0.0, |p| p.fill);
        if best.as_ref().is_none_or(|(n, f, _)| (plates.len(), last) < (*n, *f)) {
            best = Some((plates.len(), last, plates));
        }
    }
    Ok(best.map(|b| b.2).unwrap_or_default())
}

fn spell_out(grid: &Grid, items: &[Item]) -> Checked<Vec<Piece>> {
    let mut pieces = Vec::new();
    for (index, item) in items.iter().enumerate() {
        let size = grid.piece(item.size)?;
        let fits = |s: [i64; 2]| s[0] <= grid.bed[0] && s[1] <= grid.bed[1];
        if !fits(size) && !fits([size[1], size[0]]) {
            let [w, d] = item.size;
            return Err(format!("piece {} of {w} x {d} is larger than the bed", index + 1));
        }
        if item.count > MOST_PIECES || pieces.len() + item.count > MOST_PIECES {
            return Err(format!("expected at most {MOST_PIECES} pieces in one run"));
        }
        pieces.extend(std::iter::repeat_n(Piece { item: index, size }, item.count));
    }
    Ok(pieces)
}

fn by_long_side(p: &Piece) -> (i64, i64) {
    (p.size[0].max(p.size[1]), p.size[0].min(p.size[1]))
}

fn by_short_side(p: &Piece) -> (i64, i64) {
    (p.size[0].min(p.size[1]), p.size[0].max(p.size[1]))
}

fn by_area(p: &Piece) -> (i64, i64) {
    (p.size[0].saturating_mul(p.size[1]), p.size[0].max(p.size[1]))
}

fn by_perimeter(p: &Piece) -> (i64, i64) {
    (p.size[0] + p.size[1], p.size[0].max(p.size[1]))
}

fn pack(grid: &Grid, mut waiting: Vec<Piece>) -> Vec<Plate> {
    let mut plates = Vec::new();
    while !waiting.is_empty() {
        let mut free = vec![Free { at: [0, 0], size: grid.bed }];
        let mut places = Vec::new();
        let mut left = Vec::new();
        for piece in waiting {
            match best_spot(&free, piece.size) {
                Some((at, size, turned)) => {
                    places.push(grid.place(piece.item, at, size, turned));
                    free = without(&free, Free { at, size });
                }
                None => left.push(piece),
            }
        }
        if places.is_empty() {
            // Each piece fits an empty bed, so this cannot repeat for ever; stop all the same.
            break;
        }
        let fill = grid.fill(&places);
        plates.push(Plate { places, fill });
        waiting = left;
    }
    plates
}

/// How good a spot is (shorter rest, longer rest, y, x: less is better), where, the size as laid, and whether turned.
type Spot = ((i64, i64, i64, i64), [i64; 2], [i64; 2], bool);

/// Returns the free corner where the shorter rest is least; ties by rest, then lowest, then leftmost.
fn best_spot(free: &[Free], size: [i64; 2]) -> Option<([i64; 2], [i64; 2], bool)> {
    let mut best: Option<Spot> = None;
    for space in free {
        for (turned, s) in [(false, size), (true, [size[1], size[0]])] {
            let rest = [space.size[0] - s[0], space.size[1] - s[1]];
            if rest[0] < 0 || rest[1] < 0 {
                continue;
            }
            let key = (rest[0].min(rest[1]), rest[0].max(rest[1]), space.at[1], space.at[0]);
            if best.as_ref().is_none_or(|b| key < b.0) {
                best = Some((key, space.at, s, turned));
            }
        }
    }
    best.map(|(_, at, s, turned)| (at, s, turned))
}

/// Returns the maximal free rectangles that remain after `used` is taken.
fn without(free: &[Free], used: Free) -> Vec<Free> {
    let mut pieces = Vec::with_capacity(free.len() + 4);
    for space in free {
        if overlaps(space, &used) {
            cut(space, &used, &mut pieces);
        } else {
            pieces.push(*space);
        }
    }
    let mut kept: Vec<Free> = Vec::with_capacity(pieces.len());
    for (i, a) in pieces.iter().enumerate() {
        let covered = pieces.iter().enumerate().any(|(j, b)| i != j && inside(a, b) && (a != b || j < i));
        if !covered {
            kept.push(*a);
        }
    }
    kept
}

fn overlaps(a: &Free, b: &Free) -> bool {
    (0..2).all(|k| a.at[k] < b.at[k] + b.size[k] && b.at[k] < a.at[k] + a.size[k])
}

fn inside(a: &Free, b: &Free) -> bool {
    (0..2).all(|k| a.at[k] >= b.at[k] && a.at[k] + a.size[k] <= b.at[k] + b.size[k])
}

fn cut(space: &Free, used: &Free, out: &mut Vec<Free>) {
    for k in 0..2 {
        let before = used.at[k] - space.at[k];
        if before > 0 {
            let mut rest = *space;
            rest.size[k] = before;
            out.push(rest);
        }
        let end = used.at[k] + used.size[k];
        let after = space.at[k] + space.size[k] - end;
        if after > 0 {
            let mut rest = *space;
            rest.at[k] = end;
            rest.size[k] = after;
            out.push(rest);
        }
    }
}
