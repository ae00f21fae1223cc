//! Where things stand on the page: the scale of the drawing, the columns of labels, the foot.

use super::{Callout, Figure, Point};

/// Page width, millimetres: A4 and Letter both hold it.
pub(super) const WIDTH: f64 = 180.0;
pub(super) const EDGE: f64 = 4.0;
/// Distance of text lines.
pub(super) const LINE: f64 = 3.9;
/// Columns for labels on both sides of the drawing.
const COLUMN: f64 = 36.0;
const DRAWING_HEIGHT: f64 = 92.0;
const FOOT: f64 = 40.0;
/// Characters to a line of a label; at 3.1 mm type they fill the column.
const LABEL_CHARS: usize = 20;
const LABEL_LINES: usize = 4;

/// The scale and place of the drawing on the page.
pub(super) struct Frame {
    scale: f64,
    low: Point,
    size: Point,
}

impl Frame {
    /// Fits everything that has a place on the part into the drawing's field.
    pub(super) fn around(f: &Figure) -> Self {
        let lines = f.outline.iter().chain(&f.visible).chain(&f.hidden).chain(&f.moved).flatten();
        let regions = f.regions.iter().flat_map(|r| r.rings.iter().flatten());
        let arrows = f.arrows.iter().flat_map(|a| [&a.tail, &a.head]);
        let points =
            lines.chain(regions).chain(arrows).chain(f.bed.iter().flatten()).chain(f.floor.iter().flatten()).copied();
        let (low, high) = bounds(points).unwrap_or(([0.0, 0.0], [1.0, 1.0]));
        let size = [(high[0] - low[0]).max(1e-3), (high[1] - low[1]).max(1e-3)];
        let room = [WIDTH - 2.0 * COLUMN, DRAWING_HEIGHT - 10.0];
        Self { scale: (room[0] / size[0]).min(room[1] / size[1]), low, size }
    }

    pub(super) fn on_paper(&self, p: Point) -> Point {
        let left = (WIDTH - self.size[0] * self.scale) / 2.0;
        let bottom = self.foot() - 6.0;
        [left + (p[0] - self.low[0]) * self.scale, bottom - (p[1] - self.low[1]) * self.scale]
    }

    /// The upper edge of the foot.
    pub(super) fn foot(&self) -> f64 {
        EDGE + 6.0 + (self.size[1] * self.scale).max(24.0) + 8.0
    }

    pub(super) fn height(&self) -> f64 {
        self.foot() + FOOT
    }

    /// Returns the length of the scale bar on paper and what it stands for: a round number of millimetres.
    pub(super) fn scale_bar(&self) -> (f64, String) {
        let wish = 30.0 / self.scale;
        let decade = 10f64.powf(wish.log10().floor());
        let round = [5.0, 2.0, 1.0].iter().map(|m| m * decade).find(|l| *l <= wish * 1.000_001).unwrap_or(decade);
        let decimals = if round >= 1.0 { 0 } else { (-round.log10().floor()).clamp(0.0, 6.0) as usize };
        (round * self.scale, format!("{round:.decimals$} mm"))
    }

    /// Gives every label a place in the column nearer to it, from top to bottom, without overlap.
    pub(super) fn place(&self, callouts: &[Callout]) -> Vec<Placed> {
        let mut all: Vec<Placed> = callouts.iter().map(|c| self.wish(c)).collect();
        all.sort_by(|a, b| a.left.cmp(&b.left).then(a.at[1].total_cmp(&b.at[1])).then(a.lines.cmp(&b.lines)));
        for side in [false, true] {
            let mut free = EDGE + LINE;
            let mut rest: f64 = all.iter().filter(|p| p.left == side).map(Placed::height).sum();
            for p in all.iter_mut().filter(|p| p.left == side) {
                // Low enough for those above, high enough for those that follow.
                let last = self.foot() - rest;
                let y = (p.at[1] + 1.0).min(last).max(free);
                p.text_at[1] = y;
                p.leader_from[1] = y - 1.0;
                free = y + p.height();
                rest -= p.height();
            }
        }
        all
    }

    fn wish(&self, callout: &Callout) -> Placed {
        let at = self.on_paper(callout.at);
        let left = at[0] < WIDTH / 2.0;
        let x = if left { COLUMN - 2.0 } else { WIDTH - COLUMN + 2.0 };
        let leader = if left { x + 0.8 } else { x - 0.8 };
        Placed { lines: fold(&callout.text), at, left, text_at: [x, at[1]], leader_from: [leader, at[1]] }
    }
}

/// A label with its place.
pub(super) struct Placed {
    pub lines: Vec<String>,
    /// The point it speaks of.
    pub at: Point,
    /// In the left column, its text ending at `text_at`.
    pub left: bool,
    pub text_at: Point,
    pub leader_from: Point,
}

impl Placed {
    fn height(&self) -> f64 {
        LINE * self.lines.len() as f64 + 1.4
    }
}

/// The field of the inset: left, top, right, bottom.
pub(super) fn inset_box(foot: f64) -> [f64; 4] {
    [WIDTH - EDGE - 62.0, foot + 3.0, WIDTH - EDGE, foot + FOOT - EDGE]
}

/// The field of the bed: left, top, right, bottom; between the legend and the inset.
pub(super) fn plate_box(foot: f64) -> [f64; 4] {
    let [left, top, _, bottom] = inset_box(foot);
    [left - 62.0, top, left - 4.0, bottom]
}

/// Returns the map that fits rings into a field, at its upper left.
pub(super) fn fitted(rings: &[Vec<Point>], field: [f64; 4]) -> impl Fn(Point) -> Point {
    let (low, high) = bounds(rings.iter().flatten().copied()).unwrap_or(([0.0, 0.0], [1.0, 1.0]));
    let size = [(high[0] - low[0]).max(1e-3), (high[1] - low[1]).max(1e-3)];
    let scale = ((field[2] - field[0]) / size[0]).min((field[3] - field[1]) / size[1]);
    move |p| [field[0] + (p[0] - low[0]) * scale, field[1] + (high[1] - p[1]) * scale]
}

fn bounds(points: impl Iterator<Item = Point>) -> Option<(Point, Point)> {
    points.fold(None, |sofar, p| {
        let (low, high) = sofar.unwrap_or((p, p));
        Some(([low[0].min(p[0]), low[1].min(p[1])], [high[0].max(p[0]), high[1].max(p[1])]))
    })
}

/// Breaks a label into lines; what does not fit is cut with an ellipsis, for a label only names.
fn fold(text: &str) -> Vec<String> {
    let mut lines: Vec<String> = vec![String::new()];
    for word in text.split_whitespace() {
        let word: String = word.chars().take(LABEL_CHARS).collect();
        match lines.last_mut() {
            Some(last) if last.is_empty() => *last = word,
            Some(last) if last.chars().count() + 1 + word.chars().count() <= LABEL_CHARS => {
                last.push(' ');
                last.push_str(&word);
            }
            _ => lines.push(word),
        }
    }
    if lines.len() > LABEL_LINES {
        lines.truncate(LABEL_LINES);
        if let Some(last) = lines.last_mut() {
            last.push('…');
        }
    }
    lines
}
