//! A picture of depths: for each small cell of paper, how near the nearest surface is.

use super::OnPaper;

/// Most cells along one side.
const MOST_CELLS: usize = 2000;

/// The picture. Larger depths are nearer to the viewer.
pub struct DepthPicture {
    origin: OnPaper,
    cell_mm: f64,
    width: usize,
    height: usize,
    depth: Vec<f64>,
}

impl DepthPicture {
    /// An empty picture over the rectangle of paper, `cells` along its longer side.
    pub fn new([low, high]: [OnPaper; 2], cells: usize) -> Self {
        let (w, h) = ((high[0] - low[0]).max(0.0), (high[1] - low[1]).max(0.0));
        let cells = cells.clamp(16, MOST_CELLS) as f64;
        let longer = w.max(h);
        let cell_mm = if longer > 0.0 && longer.is_finite() { longer / cells } else { 1.0 };
        // Two cells of margin, so that outlines have an outside.
        let count = |side: f64| ((side / cell_mm).ceil() as usize + 5).min(MOST_CELLS + 8);
        let (width, height) = (count(w), count(h));
        Self {
            origin: [low[0] - 2.0 * cell_mm, low[1] - 2.0 * cell_mm],
            cell_mm,
            width,
            height,
            depth: vec![f64::NEG_INFINITY; width * height],
        }
    }

    /// Side of a cell on paper, mm.
    pub fn cell_mm(&self) -> f64 {
        self.cell_mm
    }

    fn grid(&self, p: OnPaper) -> [f64; 2] {
        [0, 1].map(|k| (p[k] - self.origin[k]) / self.cell_mm)
    }

    /// Puts a facet into the picture: wherever it is nearer than what was there.
    pub fn put(&mut self, corners: [(OnPaper, f64); 3]) {
        let p = corners.map(|(p, _)| self.grid(p));
        let z = corners.map(|(_, z)| z);
        let turn = (p[1][0] - p[0][0]) * (p[2][1] - p[0][1]) - (p[1][1] - p[0][1]) * (p[2][0] - p[0][0]);
        if turn == 0.0 || !turn.is_finite() {
            return;
        }
        let range = |k: usize, most: usize| {
            let (l, h) = p.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), q| (l.min(q[k]), h.max(q[k])));
            ((l - 0.5).ceil().max(0.0) as usize, ((h - 0.5).floor().max(-1.0) + 1.0).min(most as f64) as usize)
        };
        let ((x0, x1), (y0, y1)) = (range(0, self.width), range(1, self.height));
        for y in y0..y1 {
            let cy = y as f64 + 0.5;
            let (from, to) = between(p, turn, cy, x0, x1);
            for x in from..to {
                let cx = x as f64 + 0.5;
                let edge =
                    |i: usize, j: usize| (p[j][0] - p[i][0]) * (cy - p[i][1]) - (p[j][1] - p[i][1]) * (cx - p[i][0]);
                let (a, b, c) = (edge(1, 2) / turn, edge(2, 0) / turn, edge(0, 1) / turn);
                if a < 0.0 || b < 0.0 || c < 0.0 {
                    continue;
                }
                let depth = a * z[0] + b * z[1] + c * z[2];
                let cell = y * self.width + x;
                self.depth[cell] = self.depth[cell].max(depth);
            }
        }
    }

    /// Whether a point of the surface is seen: nothing in all the cells around it is nearer by more than a hair.
    /// Surfaces that the line itself borders lie in some of those cells, so a line on an edge is seen.
    pub fn is_seen(&self, p: OnPaper, depth: f64) -> bool {
        let g = self.grid(p);
        let (x, y) = (g[0].floor() as i64, g[1].floor() as i64);
        let bias = 0.75 * self.cell_mm;
        for dy in -1..=1 {
            for dx in -1..=1 {
                let (cx, cy) = (x + dx, y + dy);
                if cx < 0 || cy < 0 || cx >= self.width as i64 || cy >= self.height as i64 {
                    return true;
                }
                if depth + bias >= self.depth[cy as usize * self.width + cx as usize] {
                    return true;
                }
            }
        }
        false
    }

    /// Cuts a line into stretches that are seen and stretches that are not.
    pub fn parts(&self, [(a, za), (b, zb)]: [(OnPaper, f64); 2], mut found: impl FnMut([OnPaper; 2], bool)) {
        let length = (b[0] - a[0]).hypot(b[1] - a[1]);
        let steps = ((length / self.cell_mm).ceil() as usize).clamp(1, 4 * MOST_CELLS);
        let at = |t: f64| [a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])];
        let seen = |i: usize| {
            let t = (i as f64 + 0.5) / steps as f64;
            self.is_seen(at(t), za + t * (zb - za))
        };
        let mut start = 0;
        let mut now = seen(0);
        for i in 1..=steps {
            let next = i < steps && seen(i);
            if i == steps || next != now {
                found([at(start as f64 / steps as f64), at(i as f64 / steps as f64)], now);
                (start, now) = (i, next);
            }
        }
    }
}

/// Returns the cells of a row, of those from `x0` to before `x1`, among which are all that lie inside a triangle: the boxes
/// round slanting slivers hold many times more.
fn between(p: [OnPaper; 3], turn: f64, cy: f64, x0: usize, x1: usize) -> (usize, usize) {
    let (mut low, mut high) = (x0 as f64, x1 as f64);
    for (i, j) in [(1, 2), (2, 0), (0, 1)] {
        let (dx, dy) = (p[j][0] - p[i][0], p[j][1] - p[i][1]);
        // A side almost along the row crosses it where rounding has it.
        if dy.abs() < 1e-6 {
            continue;
        }
        let crossing = p[i][0] + dx * (cy - p[i][1]) / dy;
        // One cell more on either side than there should be: the corners decide, this only spares looking.
        if (dy > 0.0) == (turn > 0.0) {
            high = high.min(crossing + 1.5);
        } else {
            low = low.max(crossing - 1.5);
        }
    }
    (low.max(0.0) as usize, (high.ceil().max(0.0) as usize).min(x1))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(500))]
        #[test]
        fn the_stretch_of_a_row_holds_every_cell_inside(
            p in proptest::array::uniform3(proptest::array::uniform2(-20.0..60.0_f64)),
            flat in 0.0..1e-5_f64, level in any::<bool>(),
        ) {
            let mut p = p;
            if level {
                p[1][1] = p[0][1] + flat;
            }
            let turn = (p[1][0] - p[0][0]) * (p[2][1] - p[0][1]) - (p[1][1] - p[0][1]) * (p[2][0] - p[0][0]);
            prop_assume!(turn != 0.0);
            let (mut inside, mut looked_at) = (0, 0);
            for y in 0..40 {
                let cy = y as f64 + 0.5;
                let (from, to) = between(p, turn, cy, 0, 40);
                looked_at += to.saturating_sub(from);
                for x in 0..40_usize {
                    let cx = x as f64 + 0.5;
                    let is_in = [(1, 2), (2, 0), (0, 1)].iter().all(|&(i, j): &(usize, usize)| {
                        ((p[j][0] - p[i][0]) * (cy - p[i][1]) - (p[j][1] - p[i][1]) * (cx - p[i][0])) / turn >= 0.0
                    });
                    inside += usize::from(is_in);
                    prop_assert!(!is_in || (from..to).contains(&x), "{x} {y} of {from}..{to}");
                }
            }
            // Three cells of slack on either side of each row, and no more.
            prop_assert!(looked_at <= inside + 40 * 7 || level);
        }
    }
}
