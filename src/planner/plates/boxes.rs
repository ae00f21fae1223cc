//! Bounding boxes at the lowest, then leftmost free corner: the plain way, which other ways are to beat.

use super::{Because, Bed, Full, Kind, Options, Place, Plates, Point, Policy, Shape, Turn};
use crate::refusal::{About, Refusal};

/// Lengths nearer than this are the same.
const SAME: f64 = 1e-6;

/// A kind's box about its origin, brim and all: least and greatest corner.
fn bounds(kind: &Kind, turned: bool) -> (Point, Point) {
    let (low, high) = match &kind.shape {
        Shape::Rectangle { width_mm, depth_mm } => ([0.0, 0.0], [*width_mm, *depth_mm]),
        Shape::Disc { diameter_mm } => ([-diameter_mm / 2.0; 2], [diameter_mm / 2.0; 2]),
        Shape::Outline(points) => of_points(points),
    };
    let (low, high) = if turned { ([-high[1], low[0]], [-low[1], high[0]]) } else { (low, high) };
    let brim = kind.brim_mm;
    ([low[0] - brim, low[1] - brim], [high[0] + brim, high[1] + brim])
}

fn of_points(points: &[Point]) -> (Point, Point) {
    points.iter().fold(([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]), |(low, high), p| {
        ([low[0].min(p[0]), low[1].min(p[1])], [high[0].max(p[0]), high[1].max(p[1])])
    })
}

/// A box that is taken, with the distance to keep from it.
struct Taken {
    low: Point,
    high: Point,
    gap: f64,
}

struct Sheet<'a> {
    bed: &'a Bed,
    gap: f64,
    taken: Vec<Taken>,
    places: Vec<Place>,
}

impl<'a> Sheet<'a> {
    fn new(bed: &'a Bed, gap: f64) -> Self {
        let taken = bed.taken.iter().map(|outline| {
            let (low, high) = of_points(outline);
            Taken { low, high, gap: 0.0 }
        });
        Self { bed, gap, taken: taken.collect(), places: Vec::new() }
    }

    /// Puts one piece down at the lowest, then leftmost corner where it fits; `false` where it fits nowhere.
    fn put(&mut self, kind: &Kind, index: usize) -> bool {
        let mut best: Option<(Point, Point, bool)> = None;
        for turned in [false, true] {
            if turned && matches!(kind.turn, Turn::Fixed | Turn::Half) {
                continue;
            }
            let (low, high) = bounds(kind, turned);
            let size = [high[0] - low[0], high[1] - low[1]];
            if let Some(at) = self.lowest(size)
                && best.as_ref().is_none_or(|(b, _, _)| [at[1], at[0]] < [b[1], b[0]])
            {
                best = Some((at, low, turned));
            }
        }
        let Some((at, low, turned)) = best else { return false };
        let (corner, other) = bounds(kind, turned);
        let size = [other[0] - corner[0], other[1] - corner[1]];
        self.taken.push(Taken { low: at, high: [at[0] + size[0], at[1] + size[1]], gap: self.gap });
        let turn_deg = if turned { 90.0 } else { 0.0 };
        self.places.push(Place { kind: index, x_mm: at[0] - low[0], y_mm: at[1] - low[1], turn_deg });
        true
    }

    fn lowest(&self, size: Point) -> Option<Point> {
        let edge = self.bed.edge_mm;
        let along = |axis: usize| {
            let mut all: Vec<f64> = self.taken.iter().map(|t| t.high[axis] + t.gap).chain([edge]).collect();
            all.retain(|v| *v >= edge);
            all.sort_by(f64::total_cmp);
            all.dedup();
            all
        };
        let xs = along(0);
        for y in along(1).into_iter().filter(|y| y + size[1] <= self.bed.depth_mm - edge + SAME) {
            for &x in xs.iter().filter(|x| *x + size[0] <= self.bed.width_mm - edge + SAME) {
                if self.taken.iter().all(|t| clear(t, [x, y], size)) {
                    return Some([x, y]);
                }
            }
        }
        None
    }
}

fn clear(taken: &Taken, at: Point, size: Point) -> bool {
    (0..2).any(|axis| {
        at[axis] + SAME >= taken.high[axis] + taken.gap || at[axis] + size[axis] <= taken.low[axis] - taken.gap + SAME
    })
}

fn area(kind: &Kind) -> f64 {
    match &kind.shape {
        Shape::Rectangle { width_mm, depth_mm } => width_mm * depth_mm,
        Shape::Disc { diameter_mm } => std::f64::consts::PI * diameter_mm * diameter_mm / 4.0,
        Shape::Outline(points) => {
            let next = points.iter().cycle().skip(1);
            points.iter().zip(next).map(|(a, b)| a[0] * b[1] - a[1] * b[0]).sum::<f64>().abs() / 2.0
        }
    }
}

fn room(bed: &Bed) -> f64 {
    let side = |length: f64| (length - 2.0 * bed.edge_mm).max(0.0);
    side(bed.width_mm) * side(bed.depth_mm)
}

pub(super) fn most(bed: &Bed, kind: &Kind, options: &Options) -> Result<Full, Refusal> {
    let by_area = (room(bed) / area(kind).max(1e-9) + SAME).floor() as usize;
    let limit = kind.most_per_plate.unwrap_or(usize::MAX);
    let mut sheet = Sheet::new(bed, options.gap_mm);
    while sheet.places.len() < limit && sheet.put(kind, 0) {}
    let because = if limit < by_area { Because::Limit } else { Because::Area };
    Ok(Full { places: sheet.places, at_most: by_area.min(limit), because })
}

pub(super) fn plates(bed: &Bed, kinds: &[Kind], options: &Options) -> Result<Plates, Refusal> {
    let mut plates = Vec::new();
    let mut at_least = 0;
    for (index, kind) in kinds.iter().enumerate().filter(|(_, k)| k.count > 0) {
        let full = most(bed, kind, options)?;
        if full.places.is_empty() {
            return Err(Refusal::new(About::Piece(index), "expected a piece that goes on the empty bed"));
        }
        let count = kind.count.div_ceil(full.places.len());
        at_least += kind.count.div_ceil(full.at_most);
        for plate in 0..count {
            let pieces = match options.policy {
                Policy::Balanced => kind.count / count + usize::from(plate < kind.count % count),
                Policy::FillFirst => full.places.len().min(kind.count - plate * full.places.len()),
            };
            plates.push(full.places.iter().take(pieces).map(|p| Place { kind: index, ..*p }).collect());
        }
    }
    let total: f64 = kinds.iter().map(|k| area(k) * k.count as f64).sum();
    let by_area = (total / room(bed).max(1e-9) - SAME).ceil().max(0.0) as usize;
    Ok(Plates { plates, at_least: if options.mixed { by_area } else { at_least }, because: Because::Area })
}
