//! Stress anywhere in a solved body, averaged over balls, and where it is greatest.

use std::collections::HashMap;
use std::sync::Arc;

use rayon::prelude::*;

use super::basis::{NODES, gradients};
use super::cut::Columns;
use super::law::Stiffness;
use super::level::Nodal;
use super::lines::height;
use super::parts::Layout;
use crate::geometry::mesh::Point;
use crate::geometry::vector::{Vector, add, cross, dot, norm, normalise, perpendiculars, scale, sub};

/// A stress tensor: xx, yy, zz, xy, yz, zx, tension positive.
pub type Stress = [f64; 6];

/// What is sought the greatest of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Measure {
    /// The first principal stress.
    Principal,
    /// Tension across layers with this normal.
    Across(Vector),
    /// Shear between layers with this normal.
    Between(Vector),
}

/// A greatest value, and where.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Peak {
    /// The greatest value, MPa.
    pub value: f64,
    /// Where it is, mm.
    pub at: Point,
}

impl Measure {
    /// Returns the measure of one stress, in the stress's own unit.
    pub fn of(&self, s: &Stress) -> f64 {
        match *self {
            Self::Principal => principal(s)[0],
            Self::Across(n) => dot(traction(s, n), n),
            Self::Between(n) => {
                let t = traction(s, n);
                norm(sub(t, scale(n, dot(t, n))))
            }
        }
    }
}

fn traction(s: &Stress, n: Vector) -> Vector {
    [
        s[0] * n[0] + s[3] * n[1] + s[5] * n[2],
        s[3] * n[0] + s[1] * n[1] + s[4] * n[2],
        s[5] * n[0] + s[4] * n[1] + s[2] * n[2],
    ]
}

/// Returns the three principal stresses, greatest first (closed form by the angle of the deviator: O. K. Smith,
/// Communications of the ACM 4, 1961, cited from memory).
pub fn principal(s: &Stress) -> [f64; 3] {
    let mean = (s[0] + s[1] + s[2]) / 3.0;
    let d = [s[0] - mean, s[1] - mean, s[2] - mean];
    let off = s[3] * s[3] + s[4] * s[4] + s[5] * s[5];
    let p = ((d[0] * d[0] + d[1] * d[1] + d[2] * d[2] + 2.0 * off) / 6.0).sqrt();
    if p == 0.0 || !p.is_finite() {
        return [mean; 3];
    }
    let det =
        d[0] * (d[1] * d[2] - s[4] * s[4]) - s[3] * (s[3] * d[2] - s[4] * s[5]) + s[5] * (s[3] * s[4] - d[1] * s[5]);
    let angle = (det / (2.0 * p * p * p)).clamp(-1.0, 1.0).acos() / 3.0;
    let at = |turn: f64| mean + 2.0 * p * (angle + turn).cos();
    let third = std::f64::consts::TAU / 3.0;
    let (a, c) = (at(0.0), at(third));
    [a, 3.0 * mean - a - c, c]
}

/// Returns the direction of a principal stress.
pub fn direction(s: &Stress, value: f64) -> Vector {
    // Square to two rows of what is left when it is taken off; of the three pairs the one farthest from parallel.
    let m = [[s[0] - value, s[3], s[5]], [s[3], s[1] - value, s[4]], [s[5], s[4], s[2] - value]];
    let pairs = [cross(m[0], m[1]), cross(m[1], m[2]), cross(m[2], m[0])];
    let best = pairs.into_iter().max_by(|a, b| norm(*a).total_cmp(&norm(*b))).unwrap_or([0.0; 3]);
    let way = normalise(best);
    if norm(way) > 0.5 { way } else { [1.0, 0.0, 0.0] }
}

/// What presses is at least so many times what pulls where a place is pressed rather than sheared or bent.
const PRESSED: f64 = 2.0;
/// What of a pressed stress stays, so that something does.
const TRACE: f64 = 1e-3;

/// Returns what pulls of a stress that presses most; any other as it is.
pub fn without_pressing(s: &Stress) -> Stress {
    let [high, middle, low] = principal(s);
    if low >= 0.0 || -low < PRESSED * high {
        return *s;
    }
    let one = |value: f64, way: Vector| -> Stress {
        [(0, 0), (1, 1), (2, 2), (0, 1), (1, 2), (2, 0)].map(|(a, b)| value * way[a] * way[b])
    };
    let pulls = match (high > 0.0, middle > 0.0) {
        (false, _) => [0.0; 6],
        (true, false) => one(high, direction(s, high)),
        (true, true) => {
            let pressed = one(low, direction(s, low));
            std::array::from_fn(|c| s[c] - pressed[c])
        }
    };
    std::array::from_fn(|c| pulls[c] + TRACE * s[c])
}

/// Parts of the surface that something presses on: right beside them what presses is a matter of bearing.
#[derive(Default)]
pub struct Beside(Vec<Near>);

impl Beside {
    /// Takes triangles, each list with how far beside them counts, mm.
    pub fn new(parts: Vec<(Vec<[Vector; 3]>, f64)>) -> Self {
        Self(parts.into_iter().map(|(triangles, reach)| Near::new(triangles, reach)).collect())
    }

    /// Whether a place lies beside any of them.
    pub fn holds(&self, p: Point) -> bool {
        self.0.iter().any(|near| near.touches(p))
    }
}

/// A solved body.
pub struct Field<'a> {
    pub layout: &'a Layout,
    pub material: &'a [u32],
    pub laws: &'a [Stiffness],
    pub displacement: &'a Nodal<f64>,
    pub facets: &'a [[Vector; 3]],
    pub columns: &'a Columns,
    /// The grid the columns belong to.
    pub fine: &'a super::grid::Grid,
}

/// The order in which a ball is filled with points: a quasi-random sequence (M. Roberts, 2018: powers of the root of
/// x⁴ = x + 1), its points within the ball.
pub fn ball(points: usize) -> Vec<Vector> {
    let g: f64 = 1.220_744_084_605_759_5;
    let step = [1.0 / g, 1.0 / (g * g), 1.0 / (g * g * g)];
    let mut out = Vec::new();
    let mut i = 1.0;
    while out.len() < points {
        let p = step.map(|s| 2.0 * (0.5 + s * i).fract() - 1.0);
        if dot(p, p) <= 1.0 {
            out.push(p);
        }
        i += 1.0;
    }
    out
}

impl Field<'_> {
    /// Returns the displacement in a part.
    pub fn displacement_in(&self, part: usize, within: Vector) -> Vector {
        let n = super::basis::shapes(within);
        let mut u = [0.0; 3];
        for (a, &v) in self.layout.nodes[part].iter().enumerate() {
            u = add(u, scale(self.displacement[v as usize], n[a]));
        }
        u
    }

    /// Returns the displacement gradient in a part from those of its shapes in the cell's own coordinates: row by component.
    fn gradient_by(&self, part: usize, d: &[[f64; 3]; NODES]) -> [[f64; 3]; 3] {
        let widths = self.layout.grid.widths(self.layout.cells[part]);
        let mut g = [[0.0; 3]; 3];
        for (a, &v) in self.layout.nodes[part].iter().enumerate() {
            let u = self.displacement[v as usize];
            for c in 0..3 {
                for k in 0..3 {
                    g[c][k] += u[c] * d[a][k];
                }
            }
        }
        for row in &mut g {
            for k in 0..3 {
                row[k] *= 2.0 / widths[k];
            }
        }
        g
    }

    fn stress_by(&self, part: usize, d: &[[f64; 3]; NODES]) -> Stress {
        let g = self.gradient_by(part, d);
        let strain = [g[0][0], g[1][1], g[2][2], g[0][1] + g[1][0], g[1][2] + g[2][1], g[2][0] + g[0][2]];
        self.laws[self.material[part] as usize].stress(strain)
    }

    /// Returns the stress in a part.
    pub fn stress_in(&self, part: usize, within: Vector) -> Stress {
        self.stress_by(part, &gradients(within))
    }

    /// Returns the stress at a point, or none where it lies outside the body.
    pub fn stress(&self, p: Point) -> Option<Stress> {
        let part = self.part(p)?;
        Some(self.stress_in(part, self.layout.grid.within(self.layout.cells[part], p)))
    }

    /// Returns the part that a point lies in, or none where it lies outside the body.
    pub fn part(&self, p: Point) -> Option<usize> {
        let cell = self.layout.grid.find(p);
        let part = self.layout.part_at(cell, p)?;
        let bounded = (0..3).all(|a| {
            let lines = &self.layout.grid.axes[a].lines;
            lines[0] <= p[a] && p[a] <= lines[lines.len() - 1]
        });
        (bounded && (self.layout.cut[part] == u32::MAX || self.inside(p))).then_some(part)
    }

    /// Returns whether a point lies in the body: an odd number of facets above it.
    fn inside(&self, p: Point) -> bool {
        let [i, j] = [0, 1].map(|a| self.fine.axes[a].find(p[a]));
        let list = self.columns.of(i * self.fine.axes[1].cells() + j);
        let above = |t: &[Vector; 3]| {
            // Most facets of a column lie beside the point or below it.
            let beside = t.iter().all(|c| c[1] < p[1]) || t.iter().all(|c| c[1] > p[1]);
            !beside && t.iter().any(|c| c[2] > p[2]) && height(t, p[0], p[1]).is_some_and(|z| z > p[2])
        };
        list.iter().filter(|&&f| above(&self.facets[f as usize])).count() % 2 == 1
    }

    /// Returns the mean stress over the part of a ball that lies in the body, and the share of the ball that does.
    pub fn mean(&self, centre: Point, radius: f64, ball: &[Vector]) -> Option<(Stress, f64)> {
        let weights = self.weights(centre, radius, ball);
        Some((self.weighed(&weights)?, weights.points as f64 / ball.len() as f64))
    }

    /// Returns the mean stress over a ball as it is judged: at the rim of what is left out about a corner in which a hold ends, that
    /// of the hold's edge.
    pub fn judged(&self, centre: Point, radius: f64, ball: &[Vector], corners: &Near) -> Option<Stress> {
        self.judged_as(&self.judged_by(centre, radius, ball, corners))
    }

    /// Returns how that hangs on the displacements: by the mean there, and at the rim by the mean that far off again.
    pub fn judged_by(&self, centre: Point, radius: f64, ball: &[Vector], corners: &Near) -> [Option<Weights>; 2] {
        let beyond = corners.beyond(centre).filter(|p| self.part(*p).is_some());
        [Some(centre), beyond].map(|at| at.map(|at| self.weights(at, radius, ball)))
    }

    /// Returns the stress as it is judged, where it is known how it hangs on the displacements of this layout.
    pub fn judged_as(&self, by: &[Option<Weights>; 2]) -> Option<Stress> {
        let [here, beyond] = by;
        let of = |weights: &Option<Weights>| self.weighed(weights.as_ref()?);
        let here = of(here)?;
        Some(of(beyond).map_or(here, |beyond| carried_on(here, beyond)))
    }

    /// Returns how the mean stress over a ball hangs on the displacements of its parts, whatever these are.
    pub fn weights(&self, centre: Point, radius: f64, ball: &[Vector]) -> Weights {
        let mut weights = Weights { parts: Vec::new(), points: 0 };
        for b in ball {
            let p = add(centre, scale(*b, radius));
            let Some(part) = self.part(p) else { continue };
            weights.points += 1;
            let own = match weights.parts.iter().position(|(known, _)| *known == part) {
                Some(own) => own,
                None => {
                    weights.parts.push((part, [[0.0; 3]; NODES]));
                    weights.parts.len() - 1
                }
            };
            let sums = &mut weights.parts[own].1;
            for (sum, d) in sums.iter_mut().zip(&gradients(self.layout.grid.within(self.layout.cells[part], p))) {
                for k in 0..3 {
                    sum[k] += d[k];
                }
            }
        }
        weights
    }

    /// Returns the mean stress of a ball whose weights on this layout are known.
    pub fn weighed(&self, weights: &Weights) -> Option<Stress> {
        let mut sum = [0.0; 6];
        for (part, d) in &weights.parts {
            let stress = self.stress_by(*part, d);
            for c in 0..6 {
                sum[c] += stress[c];
            }
        }
        (weights.points > 0).then(|| sum.map(|s| s / weights.points as f64))
    }
}

/// How a mean stress hangs on displacements: by part the sums of its shapes' gradients over points, and how many those are.
pub struct Weights {
    parts: Vec<(usize, [[f64; 3]; NODES])>,
    points: usize,
}

/// Things to keep away from, found by where they are.
pub struct Near {
    reach: f64,
    things: Vec<[Vector; 3]>,
    /// As far as each reaches, and all of them.
    boxes: Vec<Reach>,
    all: Reach,
    bins: Bins,
}

/// Which things reach into which bin of a box, things in their order.
struct Bins {
    low: Vector,
    size: f64,
    counts: [usize; 3],
    /// By bin where its things begin in the list, and where the last one's end.
    starts: Vec<u32>,
    list: Vec<u32>,
}

/// Bins along an axis.
const MOST_BINS: f64 = 64.0;

impl Bins {
    fn new(all: &Reach, boxes: &[Reach], size: f64) -> Self {
        let Reach([low, high]) = *all;
        let sides = [0, 1, 2].map(|a| (high[a] - low[a]).max(0.0));
        let size = sides.iter().fold(size, |size, side| size.max(side / MOST_BINS));
        let counts = sides.map(|side| if side.is_finite() { (side / size) as usize + 1 } else { 0 });
        let mut bins =
            Self { low, size, counts, starts: vec![0; counts.iter().product::<usize>() + 1], list: Vec::new() };
        let within = |b: &Reach| {
            let [first, last] = b.0.map(|end| bins.cell(&end));
            let ranges = [0, 1, 2].map(|a| first[a]..last[a] + 1);
            let [x, y, z] = ranges;
            x.flat_map(move |i| {
                let z = z.clone();
                y.clone().flat_map(move |j| z.clone().map(move |k| [i, j, k]))
            })
        };
        let pairs: Vec<(u32, u32)> = (boxes.iter().zip(0_u32..))
            .flat_map(|(b, i)| within(b).map(move |cell| (cell, i)))
            .map(|(cell, i)| (bins.place(cell) as u32, i))
            .collect();
        for (bin, _) in &pairs {
            bins.starts[*bin as usize + 1] += 1;
        }
        for bin in 1..bins.starts.len() {
            bins.starts[bin] += bins.starts[bin - 1];
        }
        let mut next = bins.starts.clone();
        bins.list = vec![0; pairs.len()];
        for (bin, i) in pairs {
            bins.list[next[bin as usize] as usize] = i;
            next[bin as usize] += 1;
        }
        bins
    }

    /// Returns the bin of a point of the box, by axis.
    fn cell(&self, p: &Vector) -> [usize; 3] {
        [0, 1, 2].map(|a| (((p[a] - self.low[a]) / self.size) as usize).min(self.counts[a].saturating_sub(1)))
    }

    fn place(&self, [i, j, k]: [usize; 3]) -> usize {
        (i * self.counts[1] + j) * self.counts[2] + k
    }

    /// Returns the things that reach into the bin of a point of the box.
    fn of(&self, p: &Vector) -> &[u32] {
        let bin = self.place(self.cell(p));
        &self.list[self.starts[bin] as usize..self.starts[bin + 1] as usize]
    }
}

/// A box: its low and its high corner.
#[derive(Clone, Copy)]
struct Reach([Vector; 2]);

impl Reach {
    const NOWHERE: Self = Self([[f64::INFINITY; 3], [f64::NEG_INFINITY; 3]]);

    /// Returns the box of a triangle.
    fn of(t: &[Vector; 3]) -> Self {
        let ends = |a: usize| (t[0][a].min(t[1][a]).min(t[2][a]), t[0][a].max(t[1][a]).max(t[2][a]));
        Self([[0, 1, 2].map(|a| ends(a).0), [0, 1, 2].map(|a| ends(a).1)])
    }

    fn and(self, other: &Self) -> Self {
        let ([low, high], [l, h]) = (self.0, other.0);
        Self([[0, 1, 2].map(|a| low[a].min(l[a])), [0, 1, 2].map(|a| high[a].max(h[a]))])
    }

    #[inline]
    fn holds(&self, p: &Point) -> bool {
        let [low, high] = &self.0;
        (0..3).all(|a| low[a] <= p[a] && p[a] <= high[a])
    }

    /// Returns the same with so much more on every side.
    fn wider(self, by: f64) -> Self {
        let [low, high] = self.0;
        Self([low.map(|c| c - by), high.map(|c| c + by)])
    }

    /// Returns the square of how far a point is from it.
    #[inline]
    fn square_to(&self, p: &Point) -> f64 {
        let [low, high] = &self.0;
        let [x, y, z] = [0, 1, 2].map(|a| (low[a] - p[a]).max(p[a] - high[a]).max(0.0));
        x * x + y * y + z * z
    }
}

impl Near {
    /// Takes triangles (an edge is one with two corners alike) and how far to keep from them.
    pub fn new(things: Vec<[Vector; 3]>, reach: f64) -> Self {
        let boxes: Vec<Reach> = things.iter().map(Reach::of).collect();
        let wide: Vec<Reach> = boxes.iter().map(|b| b.wider(RIM * reach)).collect();
        let all = wide.iter().fold(Reach::NOWHERE, Reach::and);
        let bins = Bins::new(&all, &wide, reach.max(0.5));
        Self { reach, things, boxes, all, bins }
    }

    /// Whether a point lies within reach of any of them.
    pub fn touches(&self, p: Point) -> bool {
        if !self.all.holds(&p) {
            return false;
        }
        let square = self.reach * self.reach;
        let near = |i: usize| self.boxes[i].square_to(&p) <= square && norm(self.away(i, p)) <= self.reach;
        self.bins.of(&p).iter().any(|&i| near(i as usize))
    }

    /// Returns the way to a point from the nearest place of one of them.
    fn away(&self, i: usize, p: Point) -> Vector {
        sub(p, nearest(&self.things[i], p))
    }

    /// Returns the way to a point from the nearest of them, and how far that is; `None` where it is out of reach and of its rim.
    fn nearest_way(&self, p: Point) -> Option<(f64, Vector)> {
        if !self.all.holds(&p) {
            return None;
        }
        let (mut least, mut found) = ((RIM * self.reach).powi(2), None);
        for &i in self.bins.of(&p) {
            if self.boxes[i as usize].square_to(&p) > least {
                continue;
            }
            let way = self.away(i as usize, p);
            let square = dot(way, way);
            if square < least {
                (least, found) = (square, Some(way));
            }
        }
        found.map(|way| (norm(way), way))
    }

    /// Returns the nearest place that is just out of reach, for a point not too deep within it.
    fn pushed(&self, p: Point) -> Option<Point> {
        let (far, way) = self.nearest_way(p)?;
        (far > 0.5 * self.reach).then(|| add(p, scale(way, self.reach * 1.000_1 / far - 1.0)))
    }

    /// Returns the place as far off again, for one that lies just out of reach.
    fn beyond(&self, p: Point) -> Option<Point> {
        let (far, way) = self.nearest_way(p)?;
        (self.reach < far).then(|| add(p, scale(way, self.reach / far)))
    }
}

/// Which of what is kept off are the corners that holds end in.
pub const CORNERS: usize = 2;
/// Reaches from a corner within which a place is at the rim of what is left out about it.
const RIM: f64 = 1.01;
/// At most this part of the stress at the rim is added for what is left out.
const GROWS_BY: f64 = 0.5;

/// Returns the stress at the edge of a hold, from that at the rim of what is left out about it and that as far off again: on as it
/// grows, as the structural hot spot stress is extrapolated to the toe of a weld (A. Hobbacher, Recommendations for Fatigue Design
/// of Welded Joints and Components, IIW-2259-15, section 2.2.3, from memory: there from 0.4 and 1.0 of a thickness). Where a hold
/// ends in an inner corner the body widens at once: without this a shank held up to its head would be judged by the head.
fn carried_on(rim: Stress, beyond: Stress) -> Stress {
    let square = |s: &Stress| s.iter().enumerate().map(|(c, v)| if c < 3 { v * v } else { 2.0 * v * v }).sum::<f64>();
    let (at, less) = (square(&rim).sqrt(), square(&beyond).sqrt());
    let grows = if at > less { (1.0 - less / at).min(GROWS_BY) } else { 0.0 };
    rim.map(|c| c * (1.0 + grows))
}

/// Returns the point of a triangle nearest to `p` (C. Ericson, Real-Time Collision Detection, 2005, section 5.1.5).
fn nearest(t: &[Vector; 3], p: Point) -> Point {
    let (ab, ac, ap) = (sub(t[1], t[0]), sub(t[2], t[0]), sub(p, t[0]));
    let (d1, d2) = (dot(ab, ap), dot(ac, ap));
    if d1 <= 0.0 && d2 <= 0.0 {
        return t[0];
    }
    let bp = sub(p, t[1]);
    let (d3, d4) = (dot(ab, bp), dot(ac, bp));
    if d3 >= 0.0 && d4 <= d3 {
        return t[1];
    }
    let vc = d1 * d4 - d3 * d2;
    if vc <= 0.0 && d1 >= 0.0 && d3 <= 0.0 && d1 > d3 {
        return add(t[0], scale(ab, d1 / (d1 - d3)));
    }
    let cp = sub(p, t[2]);
    let (d5, d6) = (dot(ab, cp), dot(ac, cp));
    if d6 >= 0.0 && d5 <= d6 {
        return t[2];
    }
    let vb = d5 * d2 - d1 * d6;
    if vb <= 0.0 && d2 >= 0.0 && d6 <= 0.0 && d2 > d6 {
        return add(t[0], scale(ac, d2 / (d2 - d6)));
    }
    let va = d3 * d6 - d5 * d4;
    if va <= 0.0 && d4 >= d3 && d5 >= d6 && d4 - d3 + d5 - d6 > 0.0 {
        let w = (d4 - d3) / ((d4 - d3) + (d5 - d6));
        return add(t[1], scale(sub(t[2], t[1]), w));
    }
    let sum = va + vb + vc;
    if sum == 0.0 {
        return t[0];
    }
    add(t[0], add(scale(ab, vb / sum), scale(ac, vc / sum)))
}

/// Returns the inner edges of a mesh that are sharper than an angle (in degrees, 0 is flat).
pub fn sharp_inner_edges(mesh: &crate::geometry::mesh::Mesh, degrees: f64) -> Vec<[Point; 2]> {
    let least = degrees.to_radians().cos();
    let ends = |half: usize| [0, 1].map(|k| mesh.triangles[half / 3][(half + k) % 3]);
    let edges: HashMap<[u32; 2], usize> = (0..3 * mesh.triangles.len()).map(|half| (ends(half), half)).collect();
    let mut out = Vec::new();
    for half in 0..3 * mesh.triangles.len() {
        let [a, b] = ends(half);
        let Some(&twin) = edges.get(&[b, a]).filter(|&&twin| twin > half) else { continue };
        let (t, o) = (half / 3, twin / 3);
        let (n, m) = (mesh.normal_area(t).0, mesh.normal_area(o).0);
        let from = mesh.vertices[mesh.triangles[t][half % 3] as usize];
        let to = mesh.vertices[mesh.triangles[t][(half + 1) % 3] as usize];
        // Inner: the neighbour's facet rises before this one.
        if dot(n, m) < least && dot(cross(n, m), sub(to, from)) < 0.0 {
            out.push([from, to]);
        }
    }
    out
}

/// A place where stress is looked at.
#[derive(Debug, Clone, Copy)]
pub struct Spot {
    pub at: Point,
    pub part: u32,
    /// The stress at the point itself.
    pub raw: Stress,
}

/// A place that may be worth looking at, whatever acts: with the direction into the body, for one on the surface.
struct Place {
    at: Point,
    inward: Option<Vector>,
    /// The part it lies in, if it lies in the body.
    part: Option<u32>,
    /// Whether it is too near to what all load cases keep off, and the place beside that in its stead, with its part.
    near: bool,
    beside: Option<(Point, u32)>,
}

/// The places of a level worth looking at under any load: over the surface and within, a spacing apart.
pub struct Places(Vec<Place>);

impl Places {
    /// Finds them, with what lies too near to what all cases are to keep off.
    pub fn new(field: &Field, spacing: f64, common: &[Arc<Near>]) -> Self {
        let mut places = surface_places(field.facets, spacing);
        places.par_extend(inner_places(field, spacing));
        let place = |(at, inward)| {
            let near = common.iter().position(|n| n.touches(at));
            let beside = near.and_then(|near| {
                let at = beside(field, (at, inward), common.get(near)?, common)?;
                Some((at, seat(field, at, inward)?))
            });
            Place { at, inward, part: seat(field, at, inward), near: near.is_some(), beside }
        };
        Self(places.into_par_iter().with_min_len(64).map(place).collect())
    }
}

/// Returns the part a place lies in, just below the surface for one on it.
fn seat(field: &Field, p: Point, inward: Option<Vector>) -> Option<u32> {
    let part = match inward {
        Some(n) => (0..4).find_map(|i| {
            let q = add(p, scale(n, 1e-6 * 10f64.powi(i)));
            field.layout.part_at(field.layout.grid.find(q), q)
        }),
        None => field.part(p),
    };
    part.map(|part| part as u32)
}

/// Returns the places worth looking at with the stress there: those not near what is to be kept off (the first
/// `common` of it all cases keep off).
pub fn spots(field: &Field, places: &Places, off: &[Arc<Near>], common: usize) -> Vec<Spot> {
    let own = off.get(common..).unwrap_or_default();
    let spot = |place: &Place| {
        let near = || own.iter().find(|n| n.touches(place.at));
        let (at, part) = match place.near {
            true => place.beside.filter(|(at, _)| !own.iter().any(|n| n.touches(*at)))?,
            false => match near() {
                None => (place.at, place.part?),
                Some(near) => {
                    let at = beside(field, (place.at, place.inward), near, off)?;
                    (at, seat(field, at, place.inward)?)
                }
            },
        };
        let within = field.layout.grid.within(field.layout.cells[part as usize], at);
        let here = field.stress_in(part as usize, within);
        let beyond = off.get(CORNERS).filter(|_| place.near).and_then(|corners| field.stress(corners.beyond(at)?));
        Some(Spot { at, part, raw: beyond.map_or(here, |beyond| carried_on(here, beyond)) })
    };
    places.0.par_iter().with_min_len(64).filter_map(spot).collect()
}

/// Returns a place moved to the edge of what is to be kept off (where stress is often greatest), if that is still on or in
/// the body.
fn beside(field: &Field, place: (Point, Option<Vector>), near: &Near, off: &[Arc<Near>]) -> Option<Point> {
    let (at, inward) = place;
    let q = near.pushed(at).filter(|q| !off.iter().any(|n| n.touches(*q)))?;
    let within = inward.map_or(q, |n| add(q, scale(n, 1e-5)));
    field.part(within).map(|_| q)
}

/// Returns points over the facets, with the direction into the body.
fn surface_places(facets: &[[Vector; 3]], spacing: f64) -> Vec<(Point, Option<Vector>)> {
    let mut seen: HashMap<[i64; 3], ()> = HashMap::new();
    let mut out = Vec::new();
    // A third of the spacing apart they are one; the first one stays.
    let mut push = |p: Point, n: Vector, out: &mut Vec<(Point, Option<Vector>)>| {
        let key = p.map(|c| (c / (0.4 * spacing)).round() as i64);
        if seen.insert(key, ()).is_none() {
            out.push((p, Some(n)));
        }
    };
    for t in facets {
        let n = scale(normalise(cross(sub(t[1], t[0]), sub(t[2], t[0]))), -1.0);
        for c in t {
            push(*c, n, &mut out);
        }
    }
    for t in facets {
        let n = scale(normalise(cross(sub(t[1], t[0]), sub(t[2], t[0]))), -1.0);
        let longest = (0..3).map(|e| norm(sub(t[(e + 1) % 3], t[e]))).fold(0.0, f64::max);
        let steps = (longest / spacing).ceil() as usize;
        if steps < 2 {
            continue;
        }
        // Along the two edges from the corner opposite the longest edge, and between.
        for i in 0..=steps {
            for j in 0..=steps - i {
                let (u, v) = (i as f64 / steps as f64, j as f64 / steps as f64);
                push(add(t[0], add(scale(sub(t[1], t[0]), u), scale(sub(t[2], t[0]), v))), n, &mut out);
            }
        }
    }
    out
}

fn inner_places<'a>(field: &'a Field, spacing: f64) -> impl ParallelIterator<Item = (Point, Option<Vector>)> + 'a {
    (0..field.layout.cells.len()).into_par_iter().flat_map_iter(move |p| {
        let cell = field.layout.cells[p];
        let widths = field.layout.grid.widths(cell);
        let low = [0, 1, 2].map(|a| field.layout.grid.axes[a].lines[cell[a] as usize]);
        let n = widths.map(|w| ((w / spacing).ceil() as usize).clamp(1, 3));
        (0..n[0] * n[1] * n[2]).map(move |i| {
            let at = [i / (n[1] * n[2]), i / n[2] % n[1], i % n[2]];
            ([0, 1, 2].map(|a| low[a] + widths[a] * (at[a] as f64 + 0.5) / n[a] as f64), None)
        })
    })
}

/// Places whose rough mean is taken, and whose mean over the whole ball, for each measure.
const LOOKED_AT: usize = 1200;
const CLOSELY: usize = 48;
/// In a cell filled less than this the stress at a point says little; its mean is looked at in any case.
const SLIVER: f64 = 0.1;

/// Returns the greatest mean over balls of a measure, among spots.
pub fn greatest(field: &Field, spots: &[Spot], measure: Measure, radius: f64, off: &[Arc<Near>]) -> Option<Peak> {
    let (few, many) = (ball(32), ball(400));
    let sliver = |s: &Spot| field.layout.fill[s.part as usize] < SLIVER;
    let mut order: Vec<(f64, u32)> =
        spots.iter().enumerate().filter(|(_, s)| !sliver(s)).map(|(i, s)| (measure.of(&s.raw), i as u32)).collect();
    if order.len() > LOOKED_AT {
        order.select_nth_unstable_by(LOOKED_AT, |a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        order.truncate(LOOKED_AT);
    }
    let slivers = spots.iter().enumerate().filter(|(_, s)| sliver(s)).map(|(i, _)| i as u32);
    let mut rough: Vec<(f64, u32)> = order
        .iter()
        .map(|o| o.1)
        .chain(slivers)
        .collect::<Vec<_>>()
        .into_par_iter()
        .with_min_len(16)
        .filter_map(|i| Some((measure.of(&field.mean(spots[i as usize].at, radius, &few)?.0), i)))
        .collect();
    rough.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    let mut chosen: Vec<Point> = Vec::new();
    for (_, i) in rough {
        let p = spots[i as usize].at;
        if chosen.iter().all(|c| norm(sub(*c, p)) > radius) {
            chosen.push(p);
            if chosen.len() == CLOSELY {
                break;
            }
        }
    }
    let value = |p: Point| field.mean(p, radius, &many).map(|m| Peak { value: measure.of(&m.0), at: p });
    let better = |a: &Peak, b: &Peak| {
        a.value.total_cmp(&b.value).then_with(|| b.at.partial_cmp(&a.at).unwrap_or(std::cmp::Ordering::Equal))
    };
    let found: Vec<Peak> = chosen.par_iter().with_min_len(2).filter_map(|&p| value(p)).collect();
    let best = found.into_iter().max_by(better)?;
    // From the best place uphill, as far as that is allowed.
    let climbed = uphill(field, best.at, radius, off, |_, s| measure.of(s));
    Some(value(climbed).into_iter().chain([best]).max_by(better).unwrap_or(best))
}

/// Returns a stress by layers square to a direction, MPa: along them (the two within the layer as one by the criterion of
/// plane stress, with the sign of the larger), across them, and between them.
pub fn in_layers(s: &Stress, up: Vector) -> [f64; 3] {
    let row = |a: usize| [[s[0], s[3], s[5]], [s[3], s[1], s[4]], [s[5], s[4], s[2]]][a];
    let times = |v: Vector| [dot(row(0), v), dot(row(1), v), dot(row(2), v)];
    let traction = times(up);
    let across = dot(traction, up);
    let between = norm(sub(traction, scale(up, across)));
    let (u, v) = perpendiculars(up);
    let (a, b, c) = (dot(u, times(u)), dot(v, times(v)), dot(u, times(v)));
    let (middle, reach) = (0.5 * (a + b), (0.25 * (a - b) * (a - b) + c * c).sqrt());
    let (high, low) = (middle + reach, middle - reach);
    let size = (high * high - high * low + low * low).sqrt();
    [if high.abs() >= low.abs() { size.copysign(high) } else { size.copysign(low) }, across, between]
}

/// Returns how far a stress goes in layers square to a direction, for strengths across and between them over that along. What
/// presses layers together parts none: it counts as along them.
fn rank_of([a, n, t]: [f64; 3], [across, between]: [f64; 2]) -> f64 {
    let across = if n < 0.0 { across.max(1.0) } else { across };
    (a * a + (n / across).powi(2) + (t / between).powi(2)).sqrt()
}

/// Returns a stress by layers as it is judged beside what is pressed on: what pulls of it where it presses most, and all of
/// the shear between the layers: layers that are pressed do not part, but slide.
pub fn in_layers_beside(s: &Stress, up: Vector) -> [f64; 3] {
    let pulled = without_pressing(s);
    in_layers_of(s, Some(&pulled).filter(|pulled| *pulled != s), up)
}

/// The same where it is known what pulls of it; none where all of it is judged.
fn in_layers_of(s: &Stress, pulled: Option<&Stress>, up: Vector) -> [f64; 3] {
    let Some(pulled) = pulled else { return in_layers(s, up) };
    let ([along, across, least], [.., between]) = (in_layers(pulled, up), in_layers(s, up));
    [along, across, between.max(least)]
}

/// Returns how far a stress goes, see `rank_of`, beside what is pressed on or elsewhere.
pub fn rank_at(s: &Stress, beside: bool, up: Vector, strengths: [f64; 2]) -> f64 {
    let parts = if beside { in_layers_beside(s, up) } else { in_layers(s, up) };
    rank_of(parts, strengths)
}

/// Points of the ball by which the way uphill is found.
const CLIMBED: usize = 64;
/// Places of the greatest stress at a point that a gauge has looked at more closely.
const PROMISING: usize = 160;

/// What may decide: a way up, and strengths pulled across and sheared between its layers over that along them.
pub type Gauge = (Vector, [f64; 2]);

/// Gauges of which the first says what the others do: layers are the same whichever of their sides is up.
struct Alike {
    /// Directions, each of the two ways along it once.
    ups: Vec<Vector>,
    /// Gauges that differ: the first of them, its direction, its strengths.
    kinds: Vec<(usize, usize, [f64; 2])>,
    /// Which of those each gauge is.
    of: Vec<usize>,
}

impl Alike {
    fn of(gauges: &[Gauge]) -> Self {
        let mut alike = Self { ups: Vec::new(), kinds: Vec::new(), of: Vec::new() };
        for (first, &(up, strengths)) in gauges.iter().enumerate() {
            let along = alike.ups.iter().position(|&known| known == up || known == scale(up, -1.0));
            let along = along.unwrap_or_else(|| {
                alike.ups.push(up);
                alike.ups.len() - 1
            });
            let kind = alike.kinds.iter().position(|kind| (kind.1, kind.2) == (along, strengths));
            alike.of.push(kind.unwrap_or_else(|| {
                alike.kinds.push((first, along, strengths));
                alike.kinds.len() - 1
            }));
        }
        alike
    }

    /// Returns what `take` makes of how far some stresses go, place by place, for each kind of gauge.
    fn each_rank<T: Send>(&self, stresses: &[(Stress, bool)], take: impl Fn(&[f64]) -> T + Sync) -> Vec<T> {
        // By itself what is pressed asks for its principal stresses, and those hang on no direction.
        let pulled: Vec<Option<Stress>> = stresses
            .par_iter()
            .with_min_len(64)
            .map(|(s, beside)| Some(without_pressing(s)).filter(|pulled| *beside && pulled != s))
            .collect();
        let along = |(along, up): (usize, &Vector)| {
            let of = |((s, _), pulled): (&(Stress, bool), &Option<Stress>)| in_layers_of(s, pulled.as_ref(), *up);
            let layers: Vec<[f64; 3]> = stresses.iter().zip(&pulled).map(of).collect();
            let mut ranks = Vec::with_capacity(layers.len());
            let kinds = self.kinds.iter().enumerate().filter(move |(_, kind)| kind.1 == along);
            let of_kind = |(at, &(_, _, strengths)): (usize, &(usize, usize, [f64; 2]))| {
                ranks.clear();
                ranks.extend(layers.iter().map(|parts| rank_of(*parts, strengths)));
                (at, take(&ranks))
            };
            kinds.map(of_kind).collect::<Vec<_>>()
        };
        let mut all: Vec<(usize, T)> = self.ups.par_iter().enumerate().flat_map_iter(along).collect();
        all.sort_by_key(|(at, _)| *at);
        all.into_iter().map(|(_, taken)| taken).collect()
    }
}

/// Places that may decide, with how far the stress goes there for each gauge.
pub struct Ranked {
    radius: f64,
    gauges: Vec<Gauge>,
    alike: Alike,
    places: Vec<Point>,
    /// By kind of gauge and place, from the mean over few points of the ball.
    ranks: Vec<Vec<f64>>,
}

impl Ranked {
    /// Takes the means over balls at the places where the stress at a point goes farthest for any of the gauges.
    pub fn new(
        field: &Field,
        spots: &[Spot],
        gauges: Vec<Gauge>,
        radius: f64,
        (beside, corners): (&Beside, &Near),
    ) -> Self {
        let few = ball(32);
        let alike = Alike::of(&gauges);
        let near: Vec<bool> = spots.par_iter().with_min_len(64).map(|s| beside.holds(s.at)).collect();
        let sliver = |s: &Spot| field.layout.fill[s.part as usize] < SLIVER;
        let (mut promising, whole): (Vec<u32>, Vec<u32>) =
            (0..spots.len() as u32).partition(|&i| sliver(&spots[i as usize]));
        let raw: Vec<(Stress, bool)> = whole.iter().map(|&i| (spots[i as usize].raw, near[i as usize])).collect();
        let best = |ranks: &[f64]| {
            let mut order: Vec<(f64, u32)> = ranks.iter().copied().zip(whole.iter().copied()).collect();
            let greater = |a: &(f64, u32), b: &(f64, u32)| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1));
            if order.len() > PROMISING {
                order.select_nth_unstable_by(PROMISING, greater);
                order.truncate(PROMISING);
            }
            order.into_iter().map(|o| o.1).collect::<Vec<_>>()
        };
        let best: Vec<Vec<u32>> = alike.each_rank(&raw, best);
        promising.extend(best.into_iter().flatten());
        promising.sort_unstable();
        promising.dedup();
        let mean = |i: u32| {
            let at = spots[i as usize].at;
            Some((at, (field.judged(at, radius, &few, corners)?, near[i as usize])))
        };
        let (places, means): (Vec<Point>, Vec<(Stress, bool)>) =
            promising.into_par_iter().with_min_len(16).filter_map(mean).unzip();
        let ranks = alike.each_rank(&means, <[f64]>::to_vec);
        Self { radius, gauges, alike, places, ranks }
    }

    /// Returns how far the stress goes at most, for each gauge.
    pub fn tops(&self) -> Vec<f64> {
        let top = |&kind: &usize| self.ranks[kind].iter().copied().fold(0.0, f64::max);
        self.alike.of.iter().map(top).collect()
    }

    /// Returns the means over balls where the stress goes farthest, a radius apart, at most `each` for each gauge.
    pub fn telling(&self, field: &Field, off: &[Arc<Near>], beside: &Beside, each: usize) -> Vec<(Point, Stress)> {
        let (rough, radius, many) = (&self.places, self.radius, ball(400));
        let mut chosen: Vec<(usize, usize)> = Vec::new();
        for (&(gauge, ..), ranks) in self.alike.kinds.iter().zip(&self.ranks) {
            let mut order: Vec<(f64, usize)> = ranks.iter().copied().zip(0..).collect();
            order.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
            let mut own: Vec<usize> = Vec::new();
            for (_, i) in order {
                if own.len() == each {
                    break;
                }
                if own.iter().all(|&o| norm(sub(rough[o], rough[i])) > radius) {
                    own.push(i);
                }
            }
            chosen.extend(own.into_iter().map(|i| (gauge, i)));
        }
        chosen.sort_unstable_by_key(|c| (c.1, c.0));
        chosen.dedup_by_key(|c| c.1);
        chosen
            .into_par_iter()
            .with_min_len(2)
            .filter_map(|(gauge, i)| {
                let (up, s) = self.gauges[gauge];
                let corners = off.get(CORNERS)?;
                // The rim of such a corner is a place by itself.
                let at = match corners.beyond(rough[i]) {
                    Some(_) => rough[i],
                    None => uphill(field, rough[i], radius, off, |p, stress| rank_at(stress, beside.holds(p), up, s)),
                };
                Some((at, field.judged(at, radius, &many, corners)?))
            })
            .collect()
    }
}

/// Returns the place about one on which a measure of the mean over a ball is greatest, as far as balls lie apart: where the
/// places looked at happen to lie shall not decide.
fn uphill(
    field: &Field,
    from: Point,
    radius: f64,
    off: &[Arc<Near>],
    measure: impl Fn(Point, &Stress) -> f64,
) -> Point {
    let points = ball(CLIMBED);
    let value = |p: Point| field.mean(p, radius, &points).map(|m| measure(p, &m.0));
    let (mut best, mut top) = (from, value(from).unwrap_or(0.0));
    let inside = |p: &Point| field.part(*p).is_some() && !off.iter().any(|n| n.touches(*p));
    for step in [1.0, 1.0, 0.5, 0.5, 0.25].map(|s| s * radius) {
        let mut ways = Vec::new();
        for x in [-step, 0.0, step] {
            for y in [-step, 0.0, step] {
                ways.extend([-step, 0.0, step].map(|z| add(best, [x, y, z])));
            }
        }
        for p in ways.into_iter().filter(inside) {
            let v = value(p).unwrap_or(0.0);
            if v > top {
                (best, top) = (p, v);
            }
        }
    }
    best
}
