//! The coupon's geometry: a plate of square cells on a one-millimetre grid, each with a hole or a peg, and a strip of raised
//! figures below.
//!
//! All faces share the grid's points along their common edges, so the mesh is closed without any joining afterwards.

use super::{CouponPlan, Outline, digits};
use crate::fits::feature::{FeatureAxis, FeatureKind};
use crate::quantity::{Length, Volume};
use std::collections::BTreeMap;
use std::f64::consts::PI;

/// Edge of a pixel and of the grid, in millimetres.
const PITCH: f64 = 1.0;
/// Height of the raised figures, three usual layers.
const RAISED: f64 = 0.6;
/// Empty rows below and above the figures.
const MARGIN: usize = 1;
/// Thickness of the plate pegs stand on.
const BASE: f64 = 3.0;

/// A closed, outward-oriented triangle mesh, in millimetres.
#[derive(Debug, Clone, PartialEq)]
pub struct CouponMesh {
    /// Corners in mm, each once.
    pub points: Vec<[f64; 3]>,
    /// Indices into the points, counter-clockwise seen from outside.
    pub triangles: Vec<[u32; 3]>,
    /// Centre of each feature on the face it is tried from, in the order of the plan's sizes.
    pub centres: Vec<[f64; 3]>,
    /// Volume of the plain plate and of the raised figures, for checking.
    pub plate_volume: Volume,
    /// Volume of the raised figures alone.
    pub label_volume: Volume,
}

#[derive(Default)]
struct Shell {
    points: Vec<[f64; 3]>,
    index: BTreeMap<[i64; 3], u32>,
    triangles: Vec<[u32; 3]>,
}

impl Shell {
    /// Returns the index of a point, one for all points within a nanometre.
    fn point(&mut self, p: [f64; 3]) -> u32 {
        let key = p.map(|c| (c * 1e6).round() as i64);
        let next = self.points.len() as u32;
        let points = &mut self.points;
        *self.index.entry(key).or_insert_with(|| {
            points.push(p);
            next
        })
    }

    fn triangle(&mut self, a: [f64; 3], b: [f64; 3], c: [f64; 3]) {
        let t = [self.point(a), self.point(b), self.point(c)];
        self.triangles.push(t);
    }

    /// Adds a flat quadrilateral, counter-clockwise as seen from outside.
    fn quad(&mut self, a: [f64; 3], b: [f64; 3], c: [f64; 3], d: [f64; 3]) {
        self.triangle(a, b, c);
        self.triangle(a, c, d);
    }

    /// Adds a horizontal triangle that faces up, or down if turned.
    fn level(&mut self, a: [f64; 2], b: [f64; 2], c: [f64; 2], z: f64, up: bool) {
        let at = |p: [f64; 2]| [p[0], p[1], z];
        if up { self.triangle(at(a), at(b), at(c)) } else { self.triangle(at(a), at(c), at(b)) }
    }

    fn level_square(&mut self, x: f64, y: f64, z: f64, up: bool) {
        let [a, b, c, d] = [[x, y], [x + PITCH, y], [x + PITCH, y + PITCH], [x, y + PITCH]];
        self.level(a, b, c, z, up);
        self.level(a, c, d, z, up);
    }
}

/// Pixel sizes of the plate.
struct Layout {
    /// Cells are squares of this many pixels.
    cell: usize,
    /// Rows of the strip with the figures.
    strip: usize,
    cells: usize,
    thickness: f64,
}

impl Layout {
    fn new(plan: &CouponPlan) -> Self {
        let largest = plan.sizes.iter().map(|s| across(plan.outline, s.to_mm())).fold(0.0, f64::max);
        let room = ((largest + 2.0 * plan.wall.to_mm()) / PITCH).ceil() as usize;
        let text = plan.sizes.iter().map(|s| digits::columns(&CouponPlan::label(*s)).len()).max().unwrap_or(0);
        let thickness = match plan.kind {
            FeatureKind::Hole => plan.depth.to_mm(),
            FeatureKind::Outside => BASE,
        };
        Self { cell: room.max(text + 2), strip: digits::HEIGHT + 2 * MARGIN, cells: plan.sizes.len(), thickness }
    }

    fn columns(&self) -> usize {
        self.cell * self.cells
    }

    fn rows(&self) -> usize {
        self.strip + self.cell
    }
}

/// Largest width of an outline of a given size.
fn across(outline: Outline, size: f64) -> f64 {
    match outline {
        Outline::Round(_) => size,
        Outline::Hexagon => size * 2.0 / 3f64.sqrt(),
    }
}

/// Returns the corners of the outline about the origin, counter-clockwise.
fn corners(outline: Outline, size: f64) -> Vec<[f64; 2]> {
    let (n, radius) = match outline {
        Outline::Round(n) => (n, size / 2.0),
        Outline::Hexagon => (6, size / 3f64.sqrt()),
    };
    (0..n)
        .map(|i| {
            let angle = 2.0 * PI * f64::from(i) / f64::from(n);
            [radius * angle.cos(), radius * angle.sin()]
        })
        .collect()
}

/// Returns the grid points round a square cell of side `n` about the origin, counter-clockwise from the angle 0.
fn cell_border(n: usize) -> Vec<[f64; 2]> {
    let half = n as f64 * PITCH / 2.0;
    let step = |i: usize| -half + i as f64 * PITCH;
    let mut border: Vec<[f64; 2]> = (0..n).map(|i| [half, step(i)]).collect();
    border.extend((0..n).map(|i| [-step(i), half]));
    border.extend((0..n).map(|i| [-half, -step(i)]));
    border.extend((0..n).map(|i| [step(i), -half]));
    // Turn the ring so that it begins at the first point at or after the angle 0.
    let first = border.iter().position(|p| p[1] >= 0.0).unwrap_or(0);
    border.rotate_left(first);
    border
}

fn angle(p: [f64; 2]) -> f64 {
    let a = p[1].atan2(p[0]);
    if a < -1e-12 { a + 2.0 * PI } else { a.max(0.0) }
}

/// Fills the ring between a cell's border and an outline, both counter-clockwise about `centre` from the angle 0.
///
/// Both rings are star-shaped about the centre and the outline is convex, so stepping along whichever comes next by angle
/// gives triangles that do not overlap.
fn ring(shell: &mut Shell, centre: [f64; 2], border: &[[f64; 2]], outline: &[[f64; 2]], z: f64, up: bool) {
    let moved = |p: [f64; 2]| [p[0] + centre[0], p[1] + centre[1]];
    let at = |ring: &[[f64; 2]], i: usize| ring.get(i % ring.len().max(1)).copied().unwrap_or([0.0, 0.0]);
    let angle_at = |ring: &[[f64; 2]], i: usize| {
        if i >= ring.len() { 2.0 * PI + angle(at(ring, i)) } else { angle(at(ring, i)) }
    };
    let (mut outer, mut inner) = (0, 0);
    while outer < border.len() || inner < outline.len() {
        let step_outer = inner >= outline.len()
            || outer < border.len() && angle_at(border, outer + 1) <= angle_at(outline, inner + 1);
        let (a, b) = (moved(at(border, outer)), moved(at(outline, inner)));
        if step_outer {
            outer += 1;
            shell.level(a, moved(at(border, outer)), b, z, up);
        } else {
            inner += 1;
            shell.level(a, moved(at(outline, inner)), b, z, up);
        }
    }
}

/// Adds the wall of an outline from one height to another; its faces look inward for a hole and outward for a peg.
fn wall(shell: &mut Shell, centre: [f64; 2], outline: &[[f64; 2]], z: [f64; 2], outward: bool) {
    for (i, a) in outline.iter().enumerate() {
        let b = outline.get((i + 1) % outline.len()).unwrap_or(a);
        let at = |p: &[f64; 2], z: f64| [p[0] + centre[0], p[1] + centre[1], z];
        let [low, high] = z;
        if outward {
            shell.quad(at(a, low), at(b, low), at(b, high), at(a, high));
        } else {
            shell.quad(at(b, low), at(a, low), at(a, high), at(b, high));
        }
    }
}

fn cap(shell: &mut Shell, centre: [f64; 2], outline: &[[f64; 2]], z: f64) {
    let moved = |p: &[f64; 2]| [p[0] + centre[0], p[1] + centre[1]];
    for (i, a) in outline.iter().enumerate() {
        let b = outline.get((i + 1) % outline.len()).unwrap_or(a);
        shell.level(centre, moved(a), moved(b), z, true);
    }
}

/// Builds the plate lying flat, then turns it into the pose it is printed in.
pub(super) fn build(plan: &CouponPlan) -> CouponMesh {
    let layout = Layout::new(plan);
    let mut shell = Shell::default();
    let raised = label_pixels(plan, &layout);
    strip(&mut shell, &layout, &raised);
    let centres: Vec<[f64; 2]> = (0..layout.cells)
        .map(|i| {
            let half = layout.cell as f64 / 2.0;
            [(i as f64 * layout.cell as f64 + half) * PITCH, (layout.strip as f64 + half) * PITCH]
        })
        .collect();
    for (size, centre) in plan.sizes.iter().zip(&centres) {
        feature(&mut shell, plan, &layout, *size, *centre);
    }
    sides(&mut shell, &layout);
    let pixels = raised.iter().flatten().filter(|p| **p).count();
    let face = match plan.kind {
        FeatureKind::Hole => layout.thickness,
        FeatureKind::Outside => layout.thickness + plan.depth.to_mm(),
    };
    let lift = turned_height(plan, &layout);
    let pose = |p: [f64; 3]| in_pose(p, plan.axis, lift);
    CouponMesh {
        points: shell.points.iter().map(|p| pose(*p)).collect(),
        triangles: shell.triangles,
        centres: centres.iter().map(|c| pose([c[0], c[1], face])).collect(),
        plate_volume: Volume::mm3((layout.columns() * layout.rows()) as f64 * PITCH * PITCH * layout.thickness),
        label_volume: Volume::mm3(pixels as f64 * PITCH * PITCH * RAISED),
    }
}

/// Returns which pixels of the strip are raised, by column and row.
fn label_pixels(plan: &CouponPlan, layout: &Layout) -> Vec<Vec<bool>> {
    let mut raised = vec![vec![false; layout.strip]; layout.columns()];
    for (i, size) in plan.sizes.iter().enumerate() {
        let text = digits::columns(&CouponPlan::label(*size));
        let first = i * layout.cell + (layout.cell - text.len().min(layout.cell)) / 2;
        for (column, rows) in text.iter().enumerate() {
            for (row, on) in rows.iter().enumerate() {
                if let Some(pixel) = raised.get_mut(first + column).and_then(|c| c.get_mut(MARGIN + row)) {
                    *pixel = *on;
                }
            }
        }
    }
    raised
}

/// Adds top and bottom of the strip, with the raised figures and their walls.
fn strip(shell: &mut Shell, layout: &Layout, raised: &[Vec<bool>]) {
    let on = |c: Option<usize>, r: Option<usize>| {
        c.zip(r).and_then(|(c, r)| raised.get(c)?.get(r).copied()).unwrap_or(false)
    };
    let (low, high) = (layout.thickness, layout.thickness + RAISED);
    for (c, column) in raised.iter().enumerate() {
        for (r, up) in column.iter().enumerate() {
            let (x, y) = (c as f64 * PITCH, r as f64 * PITCH);
            shell.level_square(x, y, if *up { high } else { low }, true);
            shell.level_square(x, y, 0.0, false);
            if !up {
                continue;
            }
            let (right, far) = (x + PITCH, y + PITCH);
            if !on(c.checked_sub(1), Some(r)) {
                shell.quad([x, far, low], [x, y, low], [x, y, high], [x, far, high]);
            }
            if !on(Some(c + 1), Some(r)) {
                shell.quad([right, y, low], [right, far, low], [right, far, high], [right, y, high]);
            }
            if !on(Some(c), r.checked_sub(1)) {
                shell.quad([x, y, low], [right, y, low], [right, y, high], [x, y, high]);
            }
            if !on(Some(c), Some(r + 1)) {
                shell.quad([right, far, low], [x, far, low], [x, far, high], [right, far, high]);
            }
        }
    }
}

/// Adds one cell: its top and bottom with the hole through it, or with the peg on it.
fn feature(shell: &mut Shell, plan: &CouponPlan, layout: &Layout, size: Length, centre: [f64; 2]) {
    let outline = corners(plan.outline, size.to_mm());
    let border = cell_border(layout.cell);
    let top = layout.thickness;
    ring(shell, centre, &border, &outline, top, true);
    match plan.kind {
        FeatureKind::Hole => {
            ring(shell, centre, &border, &outline, 0.0, false);
            wall(shell, centre, &outline, [0.0, top], false);
        }
        FeatureKind::Outside => {
            let end = top + plan.depth.to_mm();
            wall(shell, centre, &outline, [top, end], true);
            cap(shell, centre, &outline, end);
            let half = layout.cell as f64 * PITCH / 2.0;
            for c in 0..layout.cell {
                for r in 0..layout.cell {
                    let (x, y) = (centre[0] - half + c as f64 * PITCH, centre[1] - half + r as f64 * PITCH);
                    shell.level_square(x, y, 0.0, false);
                }
            }
        }
    }
}

fn sides(shell: &mut Shell, layout: &Layout) {
    let (width, depth, top) = (layout.columns() as f64 * PITCH, layout.rows() as f64 * PITCH, layout.thickness);
    for c in 0..layout.columns() {
        let (x, right) = (c as f64 * PITCH, (c + 1) as f64 * PITCH);
        shell.quad([x, 0.0, 0.0], [right, 0.0, 0.0], [right, 0.0, top], [x, 0.0, top]);
        shell.quad([right, depth, 0.0], [x, depth, 0.0], [x, depth, top], [right, depth, top]);
    }
    for r in 0..layout.rows() {
        let (y, far) = (r as f64 * PITCH, (r + 1) as f64 * PITCH);
        shell.quad([width, y, 0.0], [width, far, 0.0], [width, far, top], [width, y, top]);
        shell.quad([0.0, far, 0.0], [0.0, y, 0.0], [0.0, y, top], [0.0, far, top]);
    }
}

/// Returns how far the turned plate reaches in front of its back face.
fn turned_height(plan: &CouponPlan, layout: &Layout) -> f64 {
    let features = if plan.kind == FeatureKind::Outside { plan.depth.to_mm() } else { 0.0 };
    layout.thickness + features.max(RAISED)
}

/// Across the layers the plate lies flat; along the layers it is turned a quarter about x and stands on the figures' edge.
fn in_pose(p: [f64; 3], axis: FeatureAxis, lift: f64) -> [f64; 3] {
    match axis {
        FeatureAxis::AcrossLayers => p,
        FeatureAxis::AlongLayers => [p[0], lift - p[2], p[1]],
    }
}
