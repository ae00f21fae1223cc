//! The rectilinear grid: lines on the body's flat faces, and evenly between them.

use crate::geometry::mesh::Mesh;

/// The grid lines across one axis, ascending; `flat[i]` says that line `i` lies on a flat face of the body.
#[derive(Debug, Clone, PartialEq)]
pub struct Axis {
    pub lines: Vec<f64>,
    pub flat: Vec<bool>,
}

/// A rectilinear grid.
#[derive(Debug, Clone, PartialEq)]
pub struct Grid {
    pub axes: [Axis; 3],
}

/// A facet counts as square to an axis when its normal's share along it is above this.
const SQUARE: f64 = 0.999_99;
/// Coordinates nearer than this part of the body's size are one plane (a file's 32-bit numbers resolve no more).
const SAME_PLANE: f64 = 4e-7;
/// A plane gets a line if its faces are larger than this many squares of the spacing ..
const LEAST_FACE: f64 = 0.3;
/// .. and it lies further than this many spacings from the lines of larger faces.
const LEAST_GAP: f64 = 0.35;

/// Between planes further apart than so many spacings there is no wall across.
const THIN: f64 = 4.5;
/// How much longer than asked a cell may be along the walls of a body that is all flat faces square to the axes, and the
/// share of its surface that they must be.
const ALONG: f64 = 1.8;
const ALL_FLAT: f64 = 0.98;

impl Axis {
    /// Returns the number of cells across.
    pub fn cells(&self) -> usize {
        self.lines.len() - 1
    }

    /// Returns the cell that holds `x`; places beyond the ends fall to the end cells.
    #[inline]
    pub fn find(&self, x: f64) -> usize {
        self.lines.partition_point(|&l| l <= x).saturating_sub(1).min(self.cells() - 1)
    }

    /// Returns the width of cell `i`.
    #[inline]
    pub fn width(&self, i: usize) -> f64 {
        self.lines[i + 1] - self.lines[i]
    }

    fn fitted(planes: &[(f64, f64)], ends: [f64; 2], h: f64, along: f64) -> Self {
        let mut at = vec![(ends[0], true), (ends[1], true)];
        let mut by_area: Vec<&(f64, f64)> = planes.iter().collect();
        by_area.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.total_cmp(&b.0)));
        for &&(x, area) in &by_area {
            if area > LEAST_FACE * h * h && at.iter().all(|p| (p.0 - x).abs() > LEAST_GAP * h) {
                at.push((x, true));
            }
        }
        at.sort_by(|a, b| a.0.total_cmp(&b.0));
        let (mut lines, mut flat) = (vec![at[0].0], vec![true]);
        for pair in at.windows(2) {
            let (from, to) = (pair[0].0, pair[1].0);
            // Across a wall the cells are no wider than asked; along it they may be.
            let width = if to - from > THIN * h { along * h } else { h };
            let n = (((to - from) / width - 1e-6).ceil() as usize).max(1);
            for i in 1..=n {
                lines.push(if i == n { to } else { from + (to - from) * i as f64 / n as f64 });
                flat.push(i == n);
            }
        }
        Self { lines, flat }
    }

    /// Returns the axis with neighbours joined up to twice the largest width, and the parent of each cell.
    fn coarser(&self, keep_flat: bool) -> (Self, Vec<u32>) {
        let widest = (0..self.cells()).map(|i| self.width(i)).fold(0.0, f64::max);
        let reach = 2.0 * widest * (1.0 + 1e-9);
        let (mut lines, mut flat, mut parent) = (vec![self.lines[0]], vec![self.flat[0]], Vec::new());
        let mut i = 0;
        while i < self.cells() {
            let start = self.lines[i];
            let mut end = i + 1;
            while end < self.cells() && self.lines[end + 1] - start <= reach && !(keep_flat && self.flat[end]) {
                end += 1;
            }
            parent.extend(std::iter::repeat_n(lines.len() as u32 - 1, end - i));
            lines.push(self.lines[end]);
            flat.push(self.flat[end]);
            i = end;
        }
        (Self { lines, flat }, parent)
    }
}

/// What of a body's surface a grid is fitted to.
pub struct Faces {
    planes: [Vec<(f64, f64)>; 3],
    low: [f64; 3],
    high: [f64; 3],
    surface: f64,
}

impl Faces {
    pub fn of(mesh: &Mesh) -> Self {
        let (planes, bounds) = (planes(mesh), mesh.bounds());
        let surface = (0..mesh.triangles.len()).map(|t| mesh.normal_area(t).1).sum();
        Self { planes, low: bounds.min, high: bounds.max, surface }
    }

    /// Returns the surface that no lines lie on, mm².
    pub fn slanted_mm2(&self) -> f64 {
        (self.surface - self.planes.iter().flatten().map(|p| p.1).sum::<f64>()).max(0.0)
    }

    /// Returns a grid of cells no wider than `h` whose lines lie on the body's flat faces square to the axes.
    pub fn grid(&self, h: f64) -> Grid {
        let along = if self.slanted_mm2() < (1.0 - ALL_FLAT) * self.surface { ALONG } else { 1.0 };
        Grid { axes: [0, 1, 2].map(|a| Axis::fitted(&self.planes[a], [self.low[a], self.high[a]], h, along)) }
    }
}

/// Cells cut by a surface that no lines lie on, for each square of the spacing.
const CUT: f64 = 0.6;

impl Grid {
    /// Returns a grid of cells no wider than `h` whose lines lie on the body's flat faces square to the axes.
    pub fn fitted(mesh: &Mesh, h: f64) -> Self {
        Faces::of(mesh).grid(h)
    }

    /// Returns about how many cells hold a body of this volume.
    pub fn about(&self, volume_mm3: f64, slanted_mm2: f64, h: f64) -> f64 {
        let mean = [0, 1, 2].map(|a| {
            let lines = &self.axes[a].lines;
            (lines[lines.len() - 1] - lines[0]) / self.axes[a].cells() as f64
        });
        volume_mm3 / (mean[0] * mean[1] * mean[2]) + CUT * slanted_mm2 / (h * h)
    }

    pub fn cells(&self) -> [usize; 3] {
        [0, 1, 2].map(|a| self.axes[a].cells())
    }

    pub fn find(&self, p: [f64; 3]) -> [usize; 3] {
        [0, 1, 2].map(|a| self.axes[a].find(p[a]))
    }

    /// Returns the edges of a cell.
    pub fn widths(&self, cell: [u32; 3]) -> [f64; 3] {
        [0, 1, 2].map(|a| self.axes[a].width(cell[a] as usize))
    }

    /// Returns where `p` lies in the cell's own -1..1.
    #[inline]
    pub fn within(&self, cell: [u32; 3], p: [f64; 3]) -> [f64; 3] {
        [0, 1, 2].map(|a| {
            let lines = &self.axes[a].lines;
            let i = cell[a] as usize;
            2.0 * (p[a] - lines[i]) / (lines[i + 1] - lines[i]) - 1.0
        })
    }

    /// Returns the next coarser grid and each cell's parent by axis; the first coarsening keeps lines on flat faces.
    pub fn coarser(&self, keep_flat: bool) -> (Self, [Vec<u32>; 3]) {
        let [x, y, z] = [0, 1, 2].map(|a| self.axes[a].coarser(keep_flat));
        (Self { axes: [x.0, y.0, z.0] }, [x.1, y.1, z.1])
    }
}

/// Returns the planes square to each axis on which facets lie, with the area of those facets.
fn planes(mesh: &Mesh) -> [Vec<(f64, f64)>; 3] {
    let size = mesh.bounds();
    let same = SAME_PLANE * [0, 1, 2].map(|a| size.max[a].abs().max(size.min[a].abs())).into_iter().fold(0.0, f64::max);
    let mut found: [Vec<(f64, f64)>; 3] = [Vec::new(), Vec::new(), Vec::new()];
    for t in 0..mesh.triangles.len() {
        let (normal, area) = mesh.normal_area(t);
        if let Some(a) = (0..3).find(|&a| normal[a].abs() > SQUARE) {
            found[a].push((mesh.centre(t)[a], area));
        }
    }
    found.map(|mut list| {
        list.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
        let mut out: Vec<(f64, f64)> = Vec::new();
        for (x, area) in list {
            match out.last_mut() {
                Some(last) if x - last.0 <= same => last.1 += area,
                _ => out.push((x, area)),
            }
        }
        out
    })
}
