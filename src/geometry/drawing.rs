//! The part in its pose as a line drawing: which edges are seen, which are hidden, and hatching for regions.
//!
//! Parallel projection. Edges are those a draughtsman would draw: folds sharper than an angle, outlines, and the rims of
//! open meshes. What hides what is decided in a depth picture of bounded size, so the cost is bounded too.

pub(crate) mod chains;
pub(crate) mod depth;

use super::adjacency::NONE;
use super::mesh::{Mesh, Point};
use super::pose::Pose;
use super::vector::{Vector, dot, rotate, scale, sub};
use chains::{Line, chain};
use depth::DepthPicture;

/// At most this many edges are drawn, the longest on paper first.
const MOST_EDGES: usize = 60_000;
/// At most this many hatching lines cross one region.
const MOST_HATCHES: usize = 160;

/// A place on paper, mm at scale 1:1, x to the right and y up.
pub type OnPaper = [f64; 2];

/// From where and how finely to draw.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DrawingOptions {
    /// Viewer's direction about the vertical, degrees from the printer's x axis; -60 is from the front, a little right.
    pub azimuth_deg: f64,
    /// Viewer's height, degrees above the bed; negative looks at the underside.
    pub elevation_deg: f64,
    /// Turn of the part about the vertical before it is drawn, degrees.
    pub turn_deg: f64,
    /// Folds sharper than this are drawn, degrees.
    pub fold_deg: f64,
    /// Cells of the depth picture along its longer side.
    pub cells: usize,
    /// Distance between hatching lines on paper, mm.
    pub hatch_mm: f64,
}

impl Default for DrawingOptions {
    fn default() -> Self {
        Self { azimuth_deg: -60.0, elevation_deg: 30.0, turn_deg: 0.0, fold_deg: 25.0, cells: 900, hatch_mm: 1.5 }
    }
}

/// Hatching of one set of facets.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Hatching {
    /// Lines in front of the part.
    pub visible: Vec<[OnPaper; 2]>,
    /// Lines that the part covers.
    pub hidden: Vec<[OnPaper; 2]>,
}

/// A finished drawing, and the means to place labels on it.
pub struct Drawing {
    /// Folds that are seen.
    pub visible: Vec<Line>,
    /// Outlines that are seen: to be drawn with the heavier line.
    pub outline: Vec<Line>,
    /// Folds behind something.
    pub hidden: Vec<Line>,
    /// Hatching of each set of facets asked for, in their order.
    pub hatchings: Vec<Hatching>,
    /// Corners of the bed under the part, grown a little, in order around.
    pub bed: [OnPaper; 4],
    camera: Camera,
}

/// Turns places in the part into places on paper.
#[derive(Debug, Clone, PartialEq)]
pub struct Camera {
    /// Rows: right, up, towards the viewer; in part axes.
    rows: [Vector; 3],
    centre: Point,
}

impl Camera {
    /// Returns the camera that looks at a part in a pose.
    pub fn new(pose: &Pose, options: &DrawingOptions, centre: Point) -> Self {
        let placed = pose.rotation();
        let (s, c) = options.turn_deg.to_radians().sin_cos();
        let turned =
            [0, 1, 2].map(|k| [c * placed[0][k] - s * placed[1][k], s * placed[0][k] + c * placed[1][k], placed[2][k]]);
        let (sa, ca) = options.azimuth_deg.to_radians().sin_cos();
        let (se, ce) = options.elevation_deg.to_radians().sin_cos();
        let view = [[-sa, ca, 0.0], [-se * ca, -se * sa, ce], [ce * ca, ce * sa, se]];
        // Column k of `turned` is what the part's axis k has become.
        let rows = view.map(|row| [0, 1, 2].map(|k| dot(row, turned[k])));
        Self { rows, centre }
    }

    /// Returns where a place in the part comes to lie on paper, and how far towards the viewer it is, mm.
    #[inline]
    pub fn see(&self, p: Point) -> (OnPaper, f64) {
        let [x, y, z] = rotate(&self.rows, sub(p, self.centre));
        ([x, y], z)
    }

    fn towards(&self) -> Vector {
        self.rows[2]
    }
}

/// Draws a part in a pose. `twin` gives the facet across each side; `hatched` the sets of facets to be hatched.
pub fn draw(mesh: &Mesh, twin: &[u32], pose: &Pose, options: &DrawingOptions, hatched: &[&[u32]]) -> Drawing {
    let bounds = mesh.bounds();
    let camera = Camera::new(pose, options, bounds.centre());
    let seen: Vec<(OnPaper, f64)> = mesh.vertices.iter().map(|&p| camera.see(p)).collect();
    let paper = extent(mesh, &seen);
    let mut picture = DepthPicture::new(paper, options.cells);
    for corners in &mesh.triangles {
        picture.put(corners.map(|v| seen[v as usize]));
    }
    let sketch = Sketch { mesh, twin, camera: &camera, seen: &seen, picture: &picture };
    let (visible, outline, hidden) = sketch.edges(options.fold_deg);
    let hatchings = hatched.iter().map(|facets| sketch.hatch(facets, options.hatch_mm)).collect();
    let bed = bed(mesh, pose, options, &camera);
    Drawing { visible, outline, hidden, hatchings, bed, camera }
}

impl Drawing {
    /// Returns where a place in the part lies on paper.
    pub fn place(&self, p: Point) -> OnPaper {
        self.camera.see(p).0
    }
}

fn extent(mesh: &Mesh, seen: &[(OnPaper, f64)]) -> [OnPaper; 2] {
    let mut paper = [[f64::INFINITY; 2], [f64::NEG_INFINITY; 2]];
    for &v in mesh.triangles.iter().flatten() {
        let (p, _) = seen[v as usize];
        for k in 0..2 {
            paper[0][k] = paper[0][k].min(p[k]);
            paper[1][k] = paper[1][k].max(p[k]);
        }
    }
    if paper[0][0] > paper[1][0] { [[0.0; 2]; 2] } else { paper }
}

/// The rectangle of bed below the part, 10 % larger, in printer axes and then on paper.
fn bed(mesh: &Mesh, pose: &Pose, options: &DrawingOptions, camera: &Camera) -> [OnPaper; 4] {
    let placed = pose.rotation();
    let (s, c) = options.turn_deg.to_radians().sin_cos();
    let axes = [[c, -s], [s, c]].map(|[a, b]| super::vector::add(scale(placed[0], a), scale(placed[1], b)));
    let along = |d: Vector| {
        let all = mesh.triangles.iter().flatten().map(|&v| dot(mesh.vertices[v as usize], d));
        all.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), t| (l.min(t), h.max(t)))
    };
    let ((x0, x1), (y0, y1), (z0, _)) = (along(axes[0]), along(axes[1]), along(pose.up));
    if x0 > x1 {
        return [[0.0; 2]; 4];
    }
    let edge = 0.05 * (x1 - x0).max(y1 - y0);
    let corner = |x: f64, y: f64| {
        let p = super::vector::add(scale(axes[0], x), super::vector::add(scale(axes[1], y), scale(pose.up, z0)));
        camera.see(p).0
    };
    [(x0 - edge, y0 - edge), (x1 + edge, y0 - edge), (x1 + edge, y1 + edge), (x0 - edge, y1 + edge)]
        .map(|(x, y)| corner(x, y))
}

struct Sketch<'a> {
    mesh: &'a Mesh,
    twin: &'a [u32],
    camera: &'a Camera,
    seen: &'a [(OnPaper, f64)],
    picture: &'a DepthPicture,
}

impl Sketch<'_> {
    /// Returns the folds seen, the outlines seen, and what is hidden, each joined into long lines.
    fn edges(&self, fold_deg: f64) -> (Vec<Line>, Vec<Line>, Vec<Line>) {
        let mut edges = self.drawn(fold_deg);
        let length = |e: &(u32, u32, bool)| {
            let (a, b) = (self.seen[e.0 as usize].0, self.seen[e.1 as usize].0);
            (b[0] - a[0]).hypot(b[1] - a[1])
        };
        if edges.len() > MOST_EDGES {
            edges.sort_by(|a, b| length(b).total_cmp(&length(a)).then(a.cmp(b)));
            edges.truncate(MOST_EDGES);
            edges.sort_unstable();
        }
        let (mut folds, mut outlines, mut hidden) = (Vec::new(), Vec::new(), Vec::new());
        for (a, b, is_outline) in edges {
            let ends = [self.seen[a as usize], self.seen[b as usize]];
            self.picture.parts(ends, |piece, visible| match (visible, is_outline) {
                (true, true) => outlines.push(piece),
                (true, false) => folds.push(piece),
                (false, _) => hidden.push(piece),
            });
        }
        let step = self.picture.cell_mm();
        (chain(folds, step), chain(outlines, step), chain(hidden, step))
    }

    /// Returns the edges to be drawn, as vertex pairs; the flag tells outlines from folds.
    fn drawn(&self, fold_deg: f64) -> Vec<(u32, u32, bool)> {
        let towards = self.camera.towards();
        let sharp = fold_deg.to_radians().cos();
        let mut edges = Vec::new();
        for (half, &across) in self.twin.iter().enumerate() {
            if across != NONE && across < half as u32 {
                continue;
            }
            let t = half / 3;
            let (normal, area) = self.mesh.normal_area(t);
            let corners = self.mesh.triangles[t];
            let (a, b) = (corners[half % 3], corners[(half + 1) % 3]);
            if across == NONE {
                if area > 0.0 {
                    edges.push((a, b, true));
                }
                continue;
            }
            let (other, far) = self.mesh.normal_area(across as usize / 3);
            if area <= 0.0 || far <= 0.0 {
                continue;
            }
            let outline = (dot(normal, towards) > 0.0) != (dot(other, towards) > 0.0);
            if outline || dot(normal, other) < sharp {
                edges.push((a, b, outline));
            }
        }
        edges
    }

    /// Hatches a set of facets with lines at 45 degrees on paper.
    fn hatch(&self, facets: &[u32], spacing: f64) -> Hatching {
        let side = std::f64::consts::FRAC_1_SQRT_2;
        let (along, across) = ([side, side], [-side, side]);
        let to = |p: OnPaper, d: [f64; 2]| p[0] * d[0] + p[1] * d[1];
        let corners = |t: u32| self.mesh.triangles[t as usize].map(|v| self.seen[v as usize]);
        let reach = facets.iter().flat_map(|&t| corners(t)).map(|(p, _)| to(p, across));
        let (low, high) = reach.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), s| (l.min(s), h.max(s)));
        let mut hatching = Hatching::default();
        if !(high > low && spacing > 0.0) {
            return hatching;
        }
        let step = spacing.max((high - low) / MOST_HATCHES as f64);
        let first = (low / step).ceil();
        let count = ((high / step).floor() - first + 1.0).clamp(0.0, MOST_HATCHES as f64 + 1.0) as usize;
        let mut lines: Vec<Vec<[(f64, f64); 2]>> = vec![Vec::new(); count];
        for &t in facets {
            let c = corners(t).map(|(p, z)| (to(p, across), to(p, along), z));
            let (near, far) = c.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), p| (l.min(p.0), h.max(p.0)));
            let from = ((near / step).ceil() - first).max(0.0) as usize;
            for (i, line) in lines.iter_mut().enumerate().skip(from) {
                let s = (first + i as f64) * step;
                if s > far {
                    break;
                }
                line.extend(crossing(&c, s));
            }
        }
        for (i, mut line) in lines.into_iter().enumerate() {
            let s = (first + i as f64) * step;
            let point = |t: f64| [along[0] * t + across[0] * s, along[1] * t + across[1] * s];
            line.sort_by(|a, b| a[0].0.total_cmp(&b[0].0));
            for [(from, near), (to, far)] in joined(line) {
                self.picture.parts([(point(from), near), (point(to), far)], |piece, visible| {
                    if visible { hatching.visible.push(piece) } else { hatching.hidden.push(piece) }
                });
            }
        }
        hatching
    }
}

/// Returns where a line `across = s` runs through a triangle: two (along, depth) pairs.
fn crossing(c: &[(f64, f64, f64); 3], s: f64) -> Option<[(f64, f64); 2]> {
    let mut cuts = (0..3).filter_map(|k| {
        let (a, b) = (c[k], c[(k + 1) % 3]);
        let part = (s - a.0) / (b.0 - a.0);
        ((a.0 <= s) != (b.0 <= s)).then_some((a.1 + part * (b.1 - a.1), a.2 + part * (b.2 - a.2)))
    });
    let (p, q) = (cuts.next()?, cuts.next()?);
    Some(if p.0 <= q.0 { [p, q] } else { [q, p] })
}

/// Joins stretches that touch, so that the hatching of neighbouring facets is one line.
fn joined(line: Vec<[(f64, f64); 2]>) -> Vec<[(f64, f64); 2]> {
    let mut joined: Vec<[(f64, f64); 2]> = Vec::new();
    for stretch in line {
        match joined.last_mut() {
            Some(last) if stretch[0].0 <= last[1].0 + 1e-6 => {
                if stretch[1].0 > last[1].0 {
                    last[1] = stretch[1];
                }
            }
            _ => joined.push(stretch),
        }
    }
    joined
}

#[cfg(test)]
mod tests {
    use super::super::adjacency::twins;
    use super::*;
    use crate::samples::block;

    fn length(lines: &[Line]) -> f64 {
        lines.iter().flat_map(|l| l.windows(2)).map(|w| (w[1][0] - w[0][0]).hypot(w[1][1] - w[0][1])).sum()
    }

    #[test]
    fn a_box_from_above_shows_nine_edges_and_hides_three() {
        let mesh = block([40.0, 20.0, 10.0]);
        let drawing = draw(&mesh, &twins(&mesh), &Pose::as_placed(), &DrawingOptions::default(), &[]);
        let camera = Camera::new(&Pose::as_placed(), &DrawingOptions::default(), [20.0, 10.0, 5.0]);
        let on_paper = |d: Vector| {
            let [x, y, _] = rotate(&camera.rows, d);
            x.hypot(y)
        };
        let (x, y, z) =
            (40.0 * on_paper([1.0, 0.0, 0.0]), 20.0 * on_paper([0.0, 1.0, 0.0]), 10.0 * on_paper([0.0, 0.0, 1.0]));
        let near = |a: f64, b: f64| assert!((a - b).abs() < 0.02 * b, "{a} {b}");
        near(length(&drawing.outline), 2.0 * (x + y + z));
        near(length(&drawing.visible), x + y + z);
        near(length(&drawing.hidden), x + y + z);
    }

    #[test]
    fn hatching_covers_the_face_at_the_spacing_asked_for() {
        let mesh = block([20.0, 20.0, 10.0]);
        let options =
            DrawingOptions { azimuth_deg: -90.0, elevation_deg: 90.0, hatch_mm: 1.0, ..DrawingOptions::default() };
        let top: Vec<u32> = (0..12).filter(|&t| mesh.normal_area(t as usize).0[2] > 0.5).collect();
        let drawing = draw(&mesh, &twins(&mesh), &Pose::as_placed(), &options, &[&top]);
        let hatched: f64 = drawing.hatchings[0].visible.iter().map(|[a, b]| (b[0] - a[0]).hypot(b[1] - a[1])).sum();
        assert!((hatched - 400.0).abs() < 12.0, "{hatched}");
        assert!(drawing.hatchings[0].hidden.is_empty());
    }
}
