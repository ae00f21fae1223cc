//! Whether some rectangles fit in a room at all: every arrangement is tried, as far as the steps go.
//!
//! In an arrangement pushed down and left as far as it goes every corner is at a sum of sides (Herz 1972, from memory), so the
//! room falls into cells between such sums. The first cell that is not covered is either the corner of a piece or wasted,
//! and no more may be wasted than there is to spare.

use std::collections::HashSet;

/// What came of a search.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Found {
    /// They fit: for each piece its lower left corner, its size as it lies, and which it is.
    Fits(Vec<([i64; 2], [i64; 2], usize)>),
    /// They do not.
    Not,
    /// The steps ran out.
    Unknown,
}

/// More cells than this are not looked through.
const MOST_CELLS: usize = 4096;

struct Search<'a> {
    xs: Vec<i64>,
    ys: Vec<i64>,
    pieces: &'a [([i64; 2], usize)],
    turn: bool,
    covered: Vec<u64>,
    counts: Vec<usize>,
    left: usize,
    seen: HashSet<(Vec<u64>, Vec<usize>)>,
    steps: u64,
    laid: Vec<([i64; 2], [i64; 2], usize)>,
}

/// Returns whether the pieces (size, how many) fit in the room without overlap, sides along the room's.
pub(super) fn fits(room: [i64; 2], pieces: &[([i64; 2], usize)], turn: bool, steps: &mut u64) -> Found {
    let area: i128 = pieces.iter().map(|(s, n)| i128::from(s[0]) * i128::from(s[1]) * *n as i128).sum();
    let spare = i128::from(room[0].max(0)) * i128::from(room[1].max(0)) - area;
    if spare < 0 {
        return Found::Not;
    }
    let Some((xs, ys)) = lines(room, pieces, turn) else { return Found::Unknown };
    let cells = (xs.len() - 1) * (ys.len() - 1);
    if cells > MOST_CELLS {
        return Found::Unknown;
    }
    let counts: Vec<usize> = pieces.iter().map(|p| p.1).collect();
    let left = counts.iter().sum();
    let mut search = Search {
        xs,
        ys,
        pieces,
        turn,
        covered: vec![0; cells.div_ceil(64)],
        counts,
        left,
        seen: HashSet::new(),
        steps: *steps,
        laid: Vec::new(),
    };
    let found = search.place(0, spare);
    *steps = search.steps;
    match found {
        Some(true) => Found::Fits(search.laid),
        Some(false) => Found::Not,
        None => Found::Unknown,
    }
}

/// Sums of sides along both sides of the room, its ends with them.
fn lines(room: [i64; 2], pieces: &[([i64; 2], usize)], turn: bool) -> Option<(Vec<i64>, Vec<i64>)> {
    let along = |axis: usize| {
        let mut reach = std::collections::BTreeSet::from([0_i64]);
        for (size, count) in pieces {
            // A piece may stand in the row either way, but only so often as there are of it.
            for _ in 0..*count {
                let mut more = Vec::new();
                for at in &reach {
                    more.push(at + size[axis]);
                    if turn {
                        more.push(at + size[1 - axis]);
                    }
                }
                let before = reach.len();
                reach.extend(more.into_iter().filter(|m| *m < room[axis]));
                if reach.len() == before {
                    break;
                }
                if reach.len() > 2_000 {
                    return None;
                }
            }
        }
        reach.insert(room[axis]);
        Some(reach.into_iter().collect::<Vec<i64>>())
    };
    Some((along(0)?, along(1)?)).filter(|(x, y)| x.len() > 1 && y.len() > 1)
}

impl Search<'_> {
    fn columns(&self) -> usize {
        self.xs.len() - 1
    }

    fn is_covered(&self, cell: usize) -> bool {
        self.covered[cell / 64] >> (cell % 64) & 1 == 1
    }

    fn flip(&mut self, cell: usize) {
        self.covered[cell / 64] ^= 1 << (cell % 64);
    }

    /// Whether the rest fits, from a cell on; none where the steps ran out.
    fn place(&mut self, from: usize, spare: i128) -> Option<bool> {
        if self.left == 0 {
            return Some(true);
        }
        let cells = self.columns() * (self.ys.len() - 1);
        let Some(cell) = (from..cells).find(|c| !self.is_covered(*c)) else { return Some(false) };
        let key = (self.covered.clone(), self.counts.clone());
        if self.seen.contains(&key) {
            return Some(false);
        }
        let cost = 4 + self.covered.len() as u64;
        self.steps = self.steps.checked_sub(cost)?;
        let (column, row) = (cell % self.columns(), cell / self.columns());
        for kind in 0..self.pieces.len() {
            if self.counts[kind] == 0 {
                continue;
            }
            let size = self.pieces[kind].0;
            let ways = [size, [size[1], size[0]]];
            let ways = if self.turn && size[0] != size[1] { &ways[..] } else { &ways[..1] };
            for way in ways {
                if let Some((across, up, lost)) = self.room_for([column, row], *way).filter(|r| r.2 <= spare) {
                    self.cover([column, row], [across, up]);
                    self.counts[kind] -= 1;
                    self.left -= 1;
                    self.laid.push(([self.xs[column], self.ys[row]], *way, kind));
                    if self.place(cell + 1, spare - lost)? {
                        return Some(true);
                    }
                    self.laid.pop();
                    self.left += 1;
                    self.counts[kind] += 1;
                    self.cover([column, row], [across, up]);
                }
            }
        }
        let wasted = self.cell_area(column, row);
        if wasted <= spare {
            self.flip(cell);
            let found = self.place(cell + 1, spare - wasted)?;
            self.flip(cell);
            if found {
                return Some(true);
            }
        }
        if self.seen.len() < 2_000_000 {
            self.seen.insert(key);
        }
        Some(false)
    }

    fn cell_area(&self, column: usize, row: usize) -> i128 {
        i128::from(self.xs[column + 1] - self.xs[column]) * i128::from(self.ys[row + 1] - self.ys[row])
    }

    /// How many columns and rows a piece covers from a cell, and what is lost of the last ones; none where it cannot lie.
    fn room_for(&self, [column, row]: [usize; 2], size: [i64; 2]) -> Option<(usize, usize, i128)> {
        let (right, top) = (self.xs[column] + size[0], self.ys[row] + size[1]);
        if right > *self.xs.last()? || top > *self.ys.last()? {
            return None;
        }
        let across = self.xs.partition_point(|x| *x < right) - column;
        let up = self.ys.partition_point(|y| *y < top) - row;
        for r in row..row + up {
            if (column..column + across).any(|c| self.is_covered(r * self.columns() + c)) {
                return None;
            }
        }
        let covered =
            i128::from(self.xs[column + across] - self.xs[column]) * i128::from(self.ys[row + up] - self.ys[row]);
        Some((across, up, covered - i128::from(size[0]) * i128::from(size[1])))
    }

    fn cover(&mut self, [column, row]: [usize; 2], [across, up]: [usize; 2]) {
        for r in row..row + up {
            for c in column..column + across {
                self.flip(r * self.columns() + c);
            }
        }
    }
}
