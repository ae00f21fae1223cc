//! How many rectangles a plate can hold at most: areas in which lengths stand for others that fit no better.
//!
//! Dual feasible functions: Fekete and Schepers, Math. Methods Oper. Res. 60 (2004) 311-329 (from memory). A length as a
//! share x of the side may be taken for u(x) or t(x) without making any row of lengths that fits longer than the side.

/// A share of a side as a whole number over a whole number.
type Ratio = (i128, i128);

#[derive(Debug, Clone, Copy)]
enum Scale {
    Length,
    /// Steps of 1/k: x where (k + 1) x is whole, else the whole part of (k + 1) x, over k.
    Steps(i128),
    /// All of the side above 1 - e, nothing below e.
    Threshold(i128, i128),
}

impl Scale {
    fn of(self, length: i128, side: i128) -> Ratio {
        match self {
            Self::Length => (length, side),
            Self::Steps(k) if (length * (k + 1)) % side == 0 => (length, side),
            Self::Steps(k) => ((length * (k + 1)) / side, k),
            Self::Threshold(over, under) => {
                if length * under > side * (under - over) {
                    (1, 1)
                } else if length * under < side * over {
                    (0, 1)
                } else {
                    (length, side)
                }
            }
        }
    }
}

fn scales(lengths: &[i128], side: i128) -> Vec<Scale> {
    let steps = (1..=12).map(Scale::Steps);
    let thresholds = [(1, 2), (1, 3), (1, 4), (1, 5), (2, 5)].map(|(a, b)| Scale::Threshold(a, b));
    let own = lengths.iter().filter(|l| **l * 2 <= side).map(|l| Scale::Threshold(*l, side));
    std::iter::once(Scale::Length).chain(steps).chain(thresholds).chain(own).collect()
}

fn times(a: Ratio, b: Ratio) -> Ratio {
    (a.0 * b.0, a.1 * b.1)
}

/// Returns how many equal rectangles a room holds at most, turned by quarters if they may be; whether plain area says so.
pub(super) fn at_most(room: [i64; 2], piece: [i64; 2], turn: bool) -> (usize, bool) {
    let room = room.map(i128::from);
    let ways = ways(room, piece, turn);
    let Some(first) = ways.first() else { return (0, true) };
    let plain = (room[0] * room[1]) / (first[0] * first[1]).max(1);
    let mut best = plain;
    let lengths = [i128::from(piece[0]), i128::from(piece[1])];
    for f in scales(&lengths, room[0]) {
        for g in scales(&lengths, room[1]) {
            let areas = ways.iter().map(|w| times(f.of(w[0], room[0]), g.of(w[1], room[1])));
            let least = areas.min_by(|a, b| (a.0 * b.1).cmp(&(b.0 * a.1)));
            if let Some((over, under)) = least.filter(|a| a.0 > 0) {
                best = best.min(under / over);
            }
        }
    }
    (usize::try_from(best).unwrap_or(usize::MAX), best == plain)
}

/// Returns how many rooms some rectangles (size, how many) need at least; whether plain area says so.
pub(super) fn at_least(room: [i64; 2], pieces: &[([i64; 2], usize)], turn: bool) -> (usize, bool) {
    let room = room.map(i128::from);
    let mut lengths: Vec<i128> = pieces.iter().flat_map(|p| p.0).map(i128::from).collect();
    lengths.sort_unstable();
    lengths.dedup();
    // Many sizes: a few of them stand for all, or the work grows with their cube.
    let step = lengths.len().div_ceil(12).max(1);
    let lengths: Vec<i128> = lengths.into_iter().step_by(step).collect();
    let need = |f: Scale, g: Scale| -> f64 {
        let each = pieces.iter().map(|(size, count)| {
            let areas = ways(room, *size, turn).into_iter().map(|w| {
                let (over, under) = times(f.of(w[0], room[0]), g.of(w[1], room[1]));
                over as f64 / under as f64
            });
            areas.fold(f64::INFINITY, f64::min).min(1.0) * *count as f64
        });
        each.sum()
    };
    let plain = (need(Scale::Length, Scale::Length) - 1e-9).ceil();
    let mut best = plain;
    for f in scales(&lengths, room[0]) {
        for g in scales(&lengths, room[1]) {
            best = best.max((need(f, g) - 1e-9).ceil());
        }
    }
    (best.max(0.0) as usize, best == plain)
}

/// The ways a rectangle goes into a room.
fn ways(room: [i128; 2], piece: [i64; 2], turn: bool) -> Vec<[i128; 2]> {
    let piece = piece.map(i128::from);
    let mut ways = vec![piece];
    if turn && piece[0] != piece[1] {
        ways.push([piece[1], piece[0]]);
    }
    ways.retain(|w| w[0] > 0 && w[1] > 0 && w[0] <= room[0] && w[1] <= room[1]);
    ways
}
