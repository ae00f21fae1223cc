//! Equal rectangles in whole micrometres: guillotine layouts by dynamic programming, then five blocks round a middle one
//! (Bischoff and Dowsland 1982; Morabito and Morales, J. Oper. Res. Soc. 49 (1998); from memory).

/// A lower left corner in micrometres, and whether the piece is turned.
pub type Spot = ([i64; 2], bool);

/// More cut positions than this per axis and the pieces are so small that a plain two-orientation mix loses little.
const MOST_CUTS: usize = 120;

/// Pinwheels looked at for one bed, at most.
const MOST_PINWHEELS: u64 = 3_000_000;

/// Returns how many the area would hold.
pub fn area_bound(bed: [i64; 2], piece: [i64; 2]) -> usize {
    if bed[0] <= 0 || bed[1] <= 0 {
        return 0;
    }
    let (long, short) = (piece[0].max(piece[1]), piece[0].min(piece[1]));
    if bed[0].min(bed[1]) < short || bed[0].max(bed[1]) < long {
        return 0;
    }
    let ratio = (bed[0] as i128 * bed[1] as i128) / (piece[0] as i128 * piece[1] as i128).max(1);
    usize::try_from(ratio).unwrap_or(usize::MAX)
}

/// Returns where the pieces go; in a fixed order for the same input.
pub fn arrange(bed: [i64; 2], piece: [i64; 2]) -> Vec<Spot> {
    if area_bound(bed, piece) == 0 {
        return Vec::new();
    }
    let (cuts_x, cuts_y) = (cut_positions(bed[0], piece), cut_positions(bed[1], piece));
    let (Some(xs), Some(ys)) = (cuts_x, cuts_y) else { return two_blocks(bed, piece) };
    let mut table = Table::build(xs, ys, piece);
    let top = [table.xs.len() - 1, table.ys.len() - 1];
    let bound = area_bound(bed, piece);
    if table.count(top) < bound {
        table.turn_pinwheels(top, bound);
    }
    let mut spots = Vec::new();
    table.lay(top, [0, 0], &mut spots);
    spots
}

/// Sums of the two sides up to the length of the bed, 0 first and the length itself last; `None` if there are too many.
fn cut_positions(length: i64, piece: [i64; 2]) -> Option<Vec<i64>> {
    let mut sums = vec![0];
    for i in 0..=(length / piece[0].max(1)) {
        let mut sum = i * piece[0];
        while sum <= length {
            sums.push(sum);
            if sums.len() > 40 * MOST_CUTS {
                return None;
            }
            sum += piece[1];
        }
    }
    sums.sort_unstable();
    sums.dedup();
    // Only positions that are the largest sum below some rest of the bed matter (raster points).
    let mut raster: Vec<i64> = sums
        .iter()
        .filter_map(|s| {
            let rest = length - s;
            sums.get(sums.partition_point(|c| *c <= rest).checked_sub(1)?).copied()
        })
        .collect();
    raster.push(length);
    raster.push(0);
    raster.sort_unstable();
    raster.dedup();
    (raster.len() <= MOST_CUTS).then_some(raster)
}

fn grid_count(space: [i64; 2], piece: [i64; 2]) -> usize {
    ((space[0] / piece[0].max(1)) * (space[1] / piece[1].max(1))).max(0) as usize
}

/// Returns how many pieces stand in plain rows, turned or not, whichever is more.
pub fn in_rows(bed: [i64; 2], piece: [i64; 2]) -> usize {
    grid_count(bed, piece).max(grid_count(bed, [piece[1], piece[0]]))
}

/// Returns where pieces go in plain rows, none of them turned.
pub fn rows(bed: [i64; 2], piece: [i64; 2]) -> Vec<Spot> {
    let mut spots = Vec::new();
    lay_grid(bed, piece, [0, 0], false, &mut spots);
    spots
}

fn lay_grid(space: [i64; 2], piece: [i64; 2], at: [i64; 2], turned: bool, out: &mut Vec<Spot>) {
    for row in 0..space[1] / piece[1].max(1) {
        for column in 0..space[0] / piece[0].max(1) {
            out.push(([at[0] + column * piece[0], at[1] + row * piece[1]], turned));
        }
    }
}

/// For very small pieces: some columns (or rows) one way, the rest of the bed the other way.
fn two_blocks(bed: [i64; 2], piece: [i64; 2]) -> Vec<Spot> {
    let turned = [piece[1], piece[0]];
    let mut best: (usize, usize, i64) = (0, 0, 0);
    for axis in 0..2 {
        for k in 0..=(bed[axis] / piece[axis].max(1)) {
            let (first, rest) = split(bed, axis, k * piece[axis]);
            let count = grid_count(first, piece) + grid_count(rest, turned);
            if count > best.0 {
                best = (count, axis, k * piece[axis]);
            }
        }
    }
    let (_, axis, cut) = best;
    let (first, rest) = split(bed, axis, cut);
    let mut corner = [0, 0];
    corner[axis] = cut;
    let mut spots = Vec::new();
    lay_grid(first, piece, [0, 0], false, &mut spots);
    lay_grid(rest, turned, corner, true, &mut spots);
    spots
}

fn split(bed: [i64; 2], axis: usize, cut: i64) -> ([i64; 2], [i64; 2]) {
    let (mut first, mut rest) = (bed, bed);
    first[axis] = cut;
    rest[axis] = bed[axis] - cut;
    (first, rest)
}

/// Two positions along each side, in order: where a pinwheel's blocks meet.
type Pinwheel = [usize; 4];

#[derive(Debug, Clone, Copy)]
enum Layout {
    Grid {
        turned: bool,
    },
    /// Cut across the axis at the first of the two block sizes (indices); the second fills the rest.
    Cut {
        axis: usize,
        at: usize,
        rest: usize,
    },
    Five(Pinwheel),
}

/// Best guillotine count for every block size between cut positions.
struct Table {
    xs: Vec<i64>,
    ys: Vec<i64>,
    piece: [i64; 2],
    cells: Vec<(usize, Layout)>,
}

type Block = [usize; 2];

impl Table {
    fn build(xs: Vec<i64>, ys: Vec<i64>, piece: [i64; 2]) -> Self {
        let cells = Vec::with_capacity(xs.len() * ys.len());
        let mut table = Self { xs, ys, piece, cells };
        for iy in 0..table.ys.len() {
            for ix in 0..table.xs.len() {
                let cell = table.best([ix, iy]);
                table.cells.push(cell);
            }
        }
        table
    }

    fn best(&self, block: Block) -> (usize, Layout) {
        let space = self.size(block);
        let plain = grid_count(space, self.piece);
        let turned = grid_count(space, [self.piece[1], self.piece[0]]);
        let mut best = (plain.max(turned), Layout::Grid { turned: turned > plain });
        for axis in 0..2 {
            for at in 1..block[axis] {
                let rest = self.floor(axis, self.line(axis)[block[axis]] - self.line(axis)[at]);
                let (mut first, mut second) = (block, block);
                first[axis] = at;
                second[axis] = rest;
                let count = self.count(first) + self.count(second);
                if count > best.0 {
                    best = (count, Layout::Cut { axis, at, rest });
                }
            }
        }
        best
    }

    fn line(&self, axis: usize) -> &[i64] {
        if axis == 0 { &self.xs } else { &self.ys }
    }

    fn size(&self, block: Block) -> [i64; 2] {
        [self.xs[block[0]], self.ys[block[1]]]
    }

    fn floor(&self, axis: usize, length: i64) -> usize {
        self.line(axis).partition_point(|v| *v <= length).saturating_sub(1)
    }

    fn count(&self, block: Block) -> usize {
        self.cells[block[1] * self.xs.len() + block[0]].0
    }

    fn lay(&self, block: Block, at: [i64; 2], out: &mut Vec<Spot>) {
        match self.cells[block[1] * self.xs.len() + block[0]].1 {
            Layout::Grid { turned } => {
                let piece = if turned { [self.piece[1], self.piece[0]] } else { self.piece };
                lay_grid(self.size(block), piece, at, turned, out);
            }
            Layout::Cut { axis, at: cut, rest } => {
                let (mut first, mut second) = (block, block);
                first[axis] = cut;
                second[axis] = rest;
                let mut corner = at;
                corner[axis] += self.line(axis)[cut];
                self.lay(first, at, out);
                self.lay(second, corner, out);
            }
            Layout::Five([x1, x2, y1, y2]) => {
                let (dx, dy) = (self.differences(0), self.differences(1));
                let blocks = Self::five(block, [x1, x2, y1, y2], &dx, &dy);
                let (x, y) = (|i: usize| at[0] + self.xs[i], |i: usize| at[1] + self.ys[i]);
                let corners = [at, [x(x1), at[1]], [x(x2), y(y1)], [at[0], y(y2)], [x(x1), y(y1)]];
                for (block, corner) in blocks.into_iter().zip(corners) {
                    self.lay(block, corner, out);
                }
            }
        }
    }

    /// Five blocks round a middle one, in every block that more might go into, small blocks first: pinwheels in pinwheels.
    ///
    /// The whole bed comes first and last: where the small ones take too long it has had its turn.
    fn turn_pinwheels(&mut self, top: Block, bound: usize) {
        let mut left = MOST_PINWHEELS;
        let difference = [self.differences(0), self.differences(1)];
        self.turn_one(top, &difference, &mut left);
        if self.count(top) >= bound {
            return;
        }
        for iy in 0..self.ys.len() {
            for ix in 0..self.xs.len() {
                let block = [ix, iy];
                let (simple, _) = self.best(block);
                if simple > self.count(block) {
                    let index = self.index(block);
                    self.cells[index] = self.best(block);
                }
                if self.count(block) < area_bound(self.size(block), self.piece) {
                    self.turn_one(block, &difference, &mut left);
                }
                if left == 0 {
                    return;
                }
            }
        }
    }

    fn index(&self, block: Block) -> usize {
        block[1] * self.xs.len() + block[0]
    }

    /// Tries all pinwheels in a block: (0,0)-(x1,y2), (x1,0)-(L,y1), (x2,y1)-(L,W), (0,y2)-(x2,W), the middle (x1,y1)-(x2,y2).
    fn turn_one(&mut self, block: Block, difference: &[Vec<Vec<usize>>; 2], left: &mut u64) {
        let ([nx, ny], [dx, dy]) = (block, difference);
        let most = area_bound(self.size(block), self.piece);
        let mut best = (self.count(block), None);
        for x1 in 1..nx {
            for x2 in x1..nx {
                let Some(rest) = left.checked_sub((ny * ny / 2) as u64) else {
                    *left = 0;
                    return;
                };
                *left = rest;
                for y1 in 1..ny {
                    for y2 in y1..ny {
                        let pinwheel = [x1, x2, y1, y2];
                        let count = Self::five(block, pinwheel, dx, dy).iter().map(|b| self.count(*b)).sum();
                        if count > best.0 {
                            best = (count, Some(pinwheel));
                        }
                    }
                }
                if best.0 >= most {
                    break;
                }
            }
        }
        if let (count, Some(pinwheel)) = best {
            let index = self.index(block);
            self.cells[index] = (count, Layout::Five(pinwheel));
        }
    }

    fn five([nx, ny]: Block, [x1, x2, y1, y2]: Pinwheel, dx: &[Vec<usize>], dy: &[Vec<usize>]) -> [Block; 5] {
        [[x1, y2], [dx[nx][x1], y1], [dx[nx][x2], dy[ny][y1]], [x2, dy[ny][y2]], [dx[x2][x1], dy[y2][y1]]]
    }

    /// `differences[i][j]`: index of the largest block not longer than position i minus position j (j <= i).
    fn differences(&self, axis: usize) -> Vec<Vec<usize>> {
        let line = self.line(axis);
        (0..line.len()).map(|i| (0..=i).map(|j| self.floor(axis, line[i] - line[j])).collect()).collect()
    }
}
