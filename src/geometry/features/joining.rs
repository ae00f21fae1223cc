//! Pieces of one cylinder that a slot or a crossing hole has parted, joined again.

use std::collections::BTreeMap;

use super::cylinders::{Cylinder, PARALLEL, ROUND, fit};
use super::faces::Faces;
use crate::mesh::{Mesh, Point};
use crate::vector::{cross, norm};

/// What goes this far round (degrees) lacks no piece.
const CLOSED_DEG: f64 = 359.0;
/// A piece longer than so many cells is looked at every time instead. Cells are as wide as pieces are long on the
/// average, so at most one piece in so many is.
const MOST_CELLS: f64 = 64.0;

/// Joins the pieces, each to the first of those before it that lies on the same cylinder.
///
/// Takes time in proportion to the pieces where they lie apart, as holes of a plate do.
pub(super) fn join(mesh: &Mesh, faces: &Faces, pieces: Vec<Cylinder>) -> Vec<Cylinder> {
    let mut joined: Vec<Cylinder> = Vec::with_capacity(pieces.len());
    let mut places = Places::new(&pieces);
    for piece in pieces {
        if piece.arc_deg >= CLOSED_DEG {
            joined.push(piece);
            continue;
        }
        let first = places.near(&piece).into_iter().map(|i| i as usize).find(|&i| {
            let other = &joined[i];
            other.arc_deg < CLOSED_DEG && one_surface(other, &piece)
        });
        let whole = first.and_then(|i| {
            let mut strips = joined[i].strips.clone();
            strips.extend(&piece.strips);
            strips.sort_unstable();
            fit(mesh, faces, &strips, joined[i].axis, piece.hollow).map(|whole| (i, whole))
        });
        let (at, cylinder) = whole.unwrap_or((joined.len(), piece));
        places.put(at as u32, &cylinder);
        match joined.get_mut(at) {
            Some(place) => *place = cylinder,
            None => joined.push(cylinder),
        }
    }
    joined
}

pub(super) fn one_surface(a: &Cylinder, b: &Cylinder) -> bool {
    a.hollow == b.hollow
        && norm(cross(a.axis, b.axis)) < PARALLEL
        && (a.radius_mm - b.radius_mm).abs() < ROUND * a.radius_mm
        && a.off(b.centre) < ROUND * a.radius_mm
        && a.along(b.centre).abs() < 0.5 * (a.length_mm + b.length_mm) * 1.01
}

/// Where pieces lie: by cells of space that the box round each one's axis touches.
struct Places {
    cell_mm: f64,
    cells: BTreeMap<[i64; 3], Vec<u32>>,
    long: Vec<u32>,
    count: u32,
}

impl Places {
    fn new(pieces: &[Cylinder]) -> Self {
        let open = pieces.iter().filter(|p| p.arc_deg < CLOSED_DEG).map(|p| {
            let [low, high] = reach(p);
            (0..3).map(|k| high[k] - low[k]).fold(0.0, f64::max)
        });
        let (sum, count) = open.fold((0.0, 0.0), |(s, n), size| (s + size, n + 1.0));
        Self {
            cell_mm: f64::max(sum / f64::max(count, 1.0), 1e-300),
            cells: BTreeMap::new(),
            long: Vec::new(),
            count: 0,
        }
    }

    /// Notes a piece under its number; one that has grown is noted again.
    fn put(&mut self, number: u32, piece: &Cylinder) {
        self.count = self.count.max(number + 1);
        match self.touched(piece) {
            Some(cells) => cells.for_each(|cell| self.cells.entry(cell).or_default().push(number)),
            None => self.long.push(number),
        }
    }

    /// Returns the numbers of all pieces that could lie on the cylinder of this one, each once and in order.
    fn near(&self, piece: &Cylinder) -> Vec<u32> {
        let Some(cells) = self.touched(piece) else { return (0..self.count).collect() };
        let mut near = self.long.clone();
        cells.filter_map(|cell| self.cells.get(&cell)).for_each(|numbers| near.extend(numbers));
        near.sort_unstable();
        near.dedup();
        near
    }

    fn touched(&self, piece: &Cylinder) -> Option<impl Iterator<Item = [i64; 3]> + use<>> {
        let [low, high] = reach(piece).map(|corner| corner.map(|c| (c / self.cell_mm).floor()));
        let count: f64 = (0..3).map(|k| high[k] - low[k] + 1.0).product();
        // Numbers too large for a cell of their own fail here too.
        let few = count <= MOST_CELLS && low.iter().chain(&high).all(|c| c.abs() < 9e15);
        let [low, high] = [low, high].map(|corner| corner.map(|c| c as i64));
        few.then(|| {
            (low[0]..=high[0])
                .flat_map(move |x| (low[1]..=high[1]).map(move |y| [x, y]))
                .flat_map(move |[x, y]| (low[2]..=high[2]).map(move |z| [x, y, z]))
        })
    }
}

/// Returns the box round a piece's axis, wide enough that those of two pieces on one cylinder meet.
///
/// The middle of the second lies within [`ROUND`] of the first's axis and no farther along it than half of both lengths,
/// and its axis is turned by no more than [`PARALLEL`]: walking from that middle along its own axis towards the first, one
/// strays by that angle at most.
fn reach(piece: &Cylinder) -> [Point; 2] {
    let half = 0.5 * piece.length_mm * 1.02;
    let slack = 2.0 * ROUND * piece.radius_mm + PARALLEL * half * 1.1;
    let corner = |way: f64| {
        let mut corner = piece.centre;
        (0..3).for_each(|k| corner[k] += way * (half * piece.axis[k].abs() + slack));
        corner
    };
    [corner(-1.0), corner(1.0)]
}
