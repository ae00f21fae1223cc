//! A kind of piece as it lies, turned one way, and what keeps bodies apart.

use super::polygon::{Convex, bounds, convex_parts, disc, grown_parts, no_fit, simplified, turned};
use super::{Bed, Kind, Point, Shape, Turn};

/// Lengths nearer than this are the same.
pub(super) const SAME: f64 = 1e-6;

/// The corners of what a piece covers, without its brim.
pub(super) fn outline(shape: &Shape) -> Vec<Point> {
    match shape {
        Shape::Rectangle { width_mm: w, depth_mm: d } => vec![[0.0, 0.0], [*w, 0.0], [*w, *d], [0.0, *d]],
        Shape::Disc { diameter_mm } => disc(*diameter_mm),
        Shape::Outline(points) => simplified(points),
    }
}

/// Some pieces of one kind or several, rigid to each other: mostly one.
#[derive(Debug, Clone)]
pub(super) struct Body {
    /// Each piece: its kind, where its origin is, how it is turned.
    pub(super) pieces: Vec<(usize, Point, f64)>,
    /// Convex parts grown by half the gap.
    pub(super) parts: Vec<Convex>,
    /// Convex parts with their brim alone.
    pub(super) bare: Vec<Convex>,
    /// Bounds of those.
    pub(super) low: Point,
    pub(super) high: Point,
}

impl Body {
    pub(super) fn new(kind: &Kind, index: usize, turn_deg: f64, gap_mm: f64) -> Self {
        let points: Vec<Point> = outline(&kind.shape).into_iter().map(|p| turned(p, turn_deg)).collect();
        let cut = convex_parts(&points);
        let bare = grown_parts(&points, &cut, kind.brim_mm);
        let parts = grown_parts(&points, &cut, kind.brim_mm + gap_mm / 2.0);
        Self::of(vec![(index, [0.0; 2], turn_deg)], parts, bare)
    }

    fn of(pieces: Vec<(usize, Point, f64)>, parts: Vec<Convex>, bare: Vec<Convex>) -> Self {
        let (low, high) = bounds(bare.iter().flatten());
        Self { pieces, parts, bare, low, high }
    }

    /// Both, the second moved.
    pub(super) fn with(&self, other: &Self, at: Point) -> Self {
        let move_all = |parts: &[Convex]| -> Vec<Convex> {
            parts.iter().map(|c| c.iter().map(|p| [p[0] + at[0], p[1] + at[1]]).collect()).collect()
        };
        let pieces = other.pieces.iter().map(|(k, p, t)| (*k, [p[0] + at[0], p[1] + at[1]], *t));
        Self::of(
            self.pieces.iter().copied().chain(pieces).collect(),
            self.parts.iter().cloned().chain(move_all(&other.parts)).collect(),
            self.bare.iter().cloned().chain(move_all(&other.bare)).collect(),
        )
    }

    pub(super) fn size(&self) -> Point {
        [self.high[0] - self.low[0], self.high[1] - self.low[1]]
    }
}

/// The angles worth trying for a kind: those allowed that are quarters, and some that lay a side along the bed.
pub(super) fn turns(kind: &Kind) -> Vec<f64> {
    let mut angles = match kind.turn {
        Turn::Fixed => vec![0.0],
        Turn::Half => vec![0.0, 180.0],
        Turn::Quarter | Turn::Any => vec![0.0, 90.0, 180.0, 270.0],
    };
    if let Shape::Disc { .. } = kind.shape {
        return vec![0.0];
    }
    if kind.turn == Turn::Any {
        let quarters = angles.clone();
        for lean in leans(&outline(&kind.shape)) {
            angles.extend(quarters.iter().map(|q| q + lean));
        }
    }
    // What looks the same after a turn needs no second look.
    let shape = |angle: f64| {
        let points: Vec<Point> = outline(&kind.shape).into_iter().map(|p| turned(p, angle)).collect();
        let (low, _) = bounds(&points);
        let mut moved: Vec<[i64; 2]> =
            points.iter().map(|p| [0, 1].map(|k| ((p[k] - low[k]) * 1e4).round() as i64)).collect();
        moved.sort_unstable();
        moved
    };
    let mut seen: Vec<Vec<[i64; 2]>> = Vec::new();
    angles.retain(|angle| {
        let this = shape(*angle);
        let new = !seen.contains(&this);
        seen.push(this);
        new
    });
    angles
}

/// Angles (within a quarter) that lay one of the longest sides along the bed.
fn leans(points: &[Point]) -> Vec<f64> {
    let n = points.len();
    let mut sides: Vec<(f64, f64)> = (0..n)
        .map(|i| {
            let (a, b) = (points[i], points[(i + 1) % n]);
            let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
            let lean = (-dy.atan2(dx).to_degrees()).rem_euclid(90.0);
            (-dx.hypot(dy), lean)
        })
        .filter(|(_, lean)| *lean > 0.01 && *lean < 89.99)
        .collect();
    sides.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let mut leans: Vec<f64> = Vec::new();
    for (_, lean) in sides {
        if leans.len() < 2 && leans.iter().all(|l| (l - lean).abs() > 0.01) {
            leans.push(lean);
        }
    }
    leans
}

/// All bodies of a question, and for each two where they are too near.
pub(super) struct Bodies<'a> {
    pub(super) bed: &'a Bed,
    pub(super) all: Vec<Body>,
    /// By fixed and moved body.
    apart: Vec<Vec<Option<Vec<Convex>>>>,
    /// What is taken of the bed, as convex parts.
    taken: Vec<Convex>,
    /// By moved body.
    from_taken: Vec<Option<Vec<Convex>>>,
}

impl<'a> Bodies<'a> {
    pub(super) fn new(bed: &'a Bed) -> Self {
        let taken = bed.taken.iter().flat_map(|outline| convex_parts(&simplified(outline))).collect();
        Self { bed, all: Vec::new(), apart: Vec::new(), taken, from_taken: Vec::new() }
    }

    pub(super) fn add(&mut self, body: Body) -> usize {
        self.all.push(body);
        self.from_taken.push(None);
        for row in &mut self.apart {
            row.push(None);
        }
        self.apart.push(vec![None; self.all.len()]);
        self.all.len() - 1
    }

    /// Where the moved body's origin is too near the fixed one, whose origin is at nought.
    pub(super) fn apart(&mut self, fixed: usize, moved: usize) -> &[Convex] {
        let (a, b) = (&self.all[fixed], &self.all[moved]);
        self.apart[fixed][moved].get_or_insert_with(|| pairs(&a.parts, &b.parts))
    }

    pub(super) fn off_taken(&mut self, moved: usize) -> &[Convex] {
        let body = &self.all[moved];
        self.from_taken[moved].get_or_insert_with(|| pairs(&self.taken, &body.bare))
    }

    /// Where the origin of a body may be for it to lie within the edge: least and greatest corner; none if it is too large.
    pub(super) fn room(&self, body: usize) -> Option<(Point, Point)> {
        let (bed, body) = (self.bed, &self.all[body]);
        let edge = bed.edge_mm;
        let low = [edge - body.low[0], edge - body.low[1]];
        let high = [bed.width_mm - edge - body.high[0], bed.depth_mm - edge - body.high[1]];
        let inside = (0..2).all(|k| high[k] >= low[k] - SAME);
        inside.then(|| (low, [high[0].max(low[0]), high[1].max(low[1])]))
    }
}

fn pairs(fixed: &[Convex], moved: &[Convex]) -> Vec<Convex> {
    fixed.iter().flat_map(|a| moved.iter().map(|b| no_fit(a, b))).collect()
}
