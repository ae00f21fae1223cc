//! A part that no machine here holds: which side is too long, for what, and into how many pieces it would have to go.

use crate::quantity::Length;
use crate::recipe::Oversize;
use crate::resolve::shop::Printer;
use crate::resolve::world::World;

/// Says why a part is too large for every machine of the bench; `None` where it fits one in some pose.
pub(super) fn oversize(world: &World<'_>) -> Option<Oversize> {
    let bench = &world.bench;
    let fits = |printer: usize| world.part.poses.iter().any(|pose| bench.fits(printer, pose));
    if bench.printers.is_empty() || (0..bench.printers.len()).any(fits) {
        return None;
    }
    let volume = |p: &Printer| p.build.map(Length::to_mm).iter().product::<f64>();
    // Of equal volumes the first in the shop file.
    let largest = bench.printers.iter().fold(None, |best: Option<&Printer>, p| match best {
        Some(b) if volume(p) <= volume(b) => Some(b),
        _ => Some(p),
    })?;
    let part = world.part.size_mm();
    let room = usable(largest);
    let long: Vec<Length> = too_long(part, room).into_iter().map(|(side, _)| Length::mm(side)).collect();
    if long.is_empty() {
        return None;
    }
    let (counts, piece) = split(part, room);
    Some(Oversize {
        part: part.map(Length::mm),
        printer: largest.name.clone(),
        build: largest.build,
        edge: largest.edge,
        long,
        counts,
        piece: piece.map(Length::mm),
    })
}

/// The sides of the room a part may take, mm.
fn usable(printer: &Printer) -> [f64; 3] {
    printer.free_mm().map(|side| side.max(1.0))
}

/// Returns the sides longer than what the room offers them, longest to longest.
fn too_long(part: [f64; 3], room: [f64; 3]) -> Vec<(f64, f64)> {
    let sorted = |mut sides: [f64; 3]| {
        sides.sort_by(|a, b| b.total_cmp(a));
        sides
    };
    sorted(part).into_iter().zip(sorted(room)).filter(|(p, r)| p > r).collect()
}

/// Returns into how many pieces each axis of the part must be cut, and the size of one, for the way of laying it that
/// needs the fewest. The shortest side stays upright: nobody prints a plate on its edge to spare a cut.
fn split(part: [f64; 3], room: [f64; 3]) -> ([usize; 3], [f64; 3]) {
    const TURNS: [[usize; 3]; 6] = [[0, 1, 2], [0, 2, 1], [1, 0, 2], [1, 2, 0], [2, 0, 1], [2, 1, 0]];
    let shortest = (0..3).min_by(|&a, &b| part[a].total_cmp(&part[b])).unwrap_or(2);
    let flat = TURNS.into_iter().filter(|turn| turn[shortest] == 2);
    let cut = |turn: [usize; 3]| [0, 1, 2].map(|i| (part[i] / room[turn[i]]).ceil().clamp(1.0, 1e6) as usize);
    let counts = flat.map(cut).min_by_key(|c| (c.iter().product::<usize>(), *c)).unwrap_or([1; 3]);
    (counts, [0, 1, 2].map(|i| part[i] / counts[i] as f64))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_just_fits_is_not_too_long() {
        assert_eq!(too_long([210.0, 100.0, 10.0], [250.0, 210.0, 210.0]), []);
        assert_eq!(too_long([250.0, 211.0, 210.0], [210.0, 250.0, 210.0]), [(211.0, 210.0)]);
    }

    #[test]
    fn a_plate_is_cut_across_both_long_sides() {
        let (counts, piece) = split([600.0, 500.0, 10.0], [210.0, 210.0, 250.0]);
        // 600 / 210 and 500 / 210 both round up to 3.
        assert_eq!(counts, [3, 3, 1]);
        assert_eq!(piece.map(f64::round), [200.0, 167.0, 10.0]);
        assert_eq!(too_long([600.0, 500.0, 10.0], [210.0, 210.0, 250.0]).len(), 2);
        assert_eq!(too_long([240.0, 200.0, 10.0], [210.0, 210.0, 250.0]).len(), 0);
    }
}
