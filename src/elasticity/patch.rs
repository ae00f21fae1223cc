//! Parts of the surface that are held or loaded, and points on them to integrate over.

use std::f64::consts::TAU;

use super::cut::Polygon;
use super::parts::Layout;
use crate::geometry::bounds::Bounds;
use crate::geometry::mesh::{Mesh, Point};
use crate::geometry::vector::{Vector, add, cross, dot, norm, normalise, perpendiculars, scale, sub};

/// A part of the surface. Lengths in mm; normals are outward and need not be of length one.
#[derive(Debug, Clone, PartialEq)]
pub enum Region {
    /// These facets of the mesh.
    Facets(Vec<u32>),
    /// The plane face with this normal through `near`; with `within`, only facets whose middles lie in that box.
    Face {
        /// Outward.
        normal: Vector,
        /// A point on the face or near it, mm.
        near: Point,
        /// The box, mm; the whole face without.
        within: Option<Bounds>,
    },
    /// A disc on a plane face.
    Disc {
        /// Middle of the disc, mm.
        centre: Point,
        /// The face's outward normal.
        normal: Vector,
        /// Of the disc, mm.
        radius: f64,
    },
    /// A ring on a plane face, as under a screw's head.
    Annulus {
        /// Middle of the ring, mm.
        centre: Point,
        /// The face's outward normal.
        normal: Vector,
        /// Inner radius, mm.
        inner: f64,
        /// Outer radius, mm.
        outer: f64,
    },
    /// A convex polygon on a plane face, its corners in order round it.
    Polygon {
        /// At least three, mm.
        corners: Vec<Point>,
        /// The face's outward normal.
        normal: Vector,
    },
    /// What of these facets lies within a convex polygon as seen along a normal: a patch bent over a round face.
    Bent {
        /// Of the mesh.
        facets: Vec<u32>,
        /// At least three, mm, in order round it.
        corners: Vec<Point>,
        /// Outward, in the middle of the patch.
        normal: Vector,
    },
    /// A round face by its axis, a point on the axis and its radius: of a bore (`inside`) or a shaft; `half` keeps the half
    /// on that side of the axis.
    Cylinder {
        /// Direction of the axis; its sense does not matter.
        axis: Vector,
        /// A point on the axis, mm.
        centre: Point,
        /// Of the face, mm.
        radius: f64,
        /// A bore, not a shaft.
        inside: bool,
        /// From the axis toward the half that is kept; the whole face without.
        half: Option<Vector>,
        /// Only facets within this length along the axis, its middle at `centre`; all that lie in line where there is none.
        length: Option<f64>,
    },
    /// The facets of closed inner surfaces within a box.
    Inner(Bounds),
    /// All of these together.
    Several(Vec<Region>),
}

/// A point of a patch.
#[derive(Debug, Clone, Copy)]
pub struct SurfacePoint {
    pub at: Point,
    /// Outward.
    pub normal: Vector,
    pub area: f64,
    pub part: u32,
    pub within: Vector,
}

/// Cosine of the angle up to which a facet's normal counts as that of a plane face.
const SAME_WAY: f64 = 0.999;
/// How far off the plane, as a part of the mesh's size, a facet of it may lie.
const OFF_PLANE: f64 = 2e-5;
/// How far from the axis, as a part of the radius, the sides of a round face lie at least that few of them make up: six.
const SIDES_OFF: f64 = 0.86;
/// How far off the radius, as a part of it, the corners of a round face may lie.
const OFF_ROUND: f64 = 0.02;
/// Cosine within which the normal of a facet is that of its round.
const ROUNDED: f64 = 0.95;
/// Corners of the polygon that stands for a circle (of the same area).
const CIRCLE: usize = 96;

/// A convex piece cut out of the surface: kept where all sides are positive.
type Sides = Vec<(Vector, f64)>;

impl Region {
    /// Returns the pieces of the surface in the region, as convex polygons, each with its facet.
    pub fn pieces(&self, mesh: &Mesh) -> Vec<(u32, Polygon)> {
        match self {
            Self::Facets(list) => whole(mesh, list.iter().copied().filter(|&f| (f as usize) < mesh.triangles.len())),
            Self::Face { normal, near, within } => {
                let inside = |t: u32| within.as_ref().is_none_or(|b| holds(b, mesh.centre(t as usize)));
                whole(mesh, on_plane(mesh, *normal, *near).filter(|&t| inside(t)))
            }
            Self::Disc { centre, normal, radius } => {
                on_face(mesh, *normal, *centre, &[circle(*centre, *normal, *radius)])
            }
            Self::Annulus { centre, normal, inner, outer } => {
                on_face(mesh, *normal, *centre, &ring(*centre, *normal, *inner, *outer))
            }
            Self::Polygon { corners, normal } => match corners.first() {
                Some(&near) => on_face(mesh, *normal, near, &[sides(corners, *normal)]),
                None => Vec::new(),
            },
            Self::Bent { facets, corners, normal } => {
                let known = facets.iter().copied().filter(|&f| (f as usize) < mesh.triangles.len());
                cut_out(mesh, known, &[sides(corners, *normal)])
            }
            Self::Cylinder { axis, centre, radius, inside, half, length } => {
                let axis = normalise(*axis);
                let mut list = round(mesh, axis, *centre, *radius, *inside);
                if let Some(length) = length {
                    let reach = (0.5 + OFF_ROUND) * length;
                    list.retain(|&t| dot(sub(mesh.centre(t as usize), *centre), axis).abs() <= reach);
                }
                match half {
                    None => whole(mesh, list.into_iter()),
                    Some(towards) => {
                        let side = normalise(sub(*towards, scale(axis, dot(axis, *towards))));
                        cut_out(mesh, list.into_iter(), &[vec![(side, dot(side, *centre))]])
                    }
                }
            }
            Self::Inner(bounds) => {
                let grown = Bounds { min: bounds.min.map(|c| c - 1e-3), max: bounds.max.map(|c| c + 1e-3) };
                let all_in = |t: u32| mesh.corners(t as usize).iter().all(|&c| holds(&grown, c));
                whole(mesh, (0..mesh.triangles.len() as u32).filter(|&t| all_in(t)))
            }
            Self::Several(list) => list.iter().flat_map(|r| r.pieces(mesh)).collect(),
        }
    }

    /// Returns the direction out of the body at a point of it, square to the round face it lies on; elsewhere its facet's.
    pub(crate) fn smooth_normal(&self, p: Point, facet: Vector) -> Vector {
        let off = |axis: Vector, centre: Point| {
            let (axis, d) = (normalise(axis), sub(p, centre));
            sub(d, scale(axis, dot(d, axis)))
        };
        match self {
            Self::Cylinder { axis, centre, .. } => {
                let out = normalise(off(*axis, *centre));
                if dot(out, facet) < 0.0 { scale(out, -1.0) } else { out }
            }
            // Of several bores the one whose face is nearest.
            Self::Several(all) => {
                let far = |r: &Self| match r {
                    Self::Cylinder { axis, centre, radius, .. } => (norm(off(*axis, *centre)) - radius).abs(),
                    _ => f64::INFINITY,
                };
                let nearest = all.iter().min_by(|a, b| far(a).total_cmp(&far(b))).filter(|r| far(r).is_finite());
                let smooth = nearest.map_or(facet, |r| r.smooth_normal(p, facet));
                // A flat beside a round is none.
                let flats = all.iter().any(|r| !matches!(r, Self::Cylinder { .. }));
                if flats && dot(smooth, normalise(facet)) < ROUNDED { facet } else { smooth }
            }
            _ => facet,
        }
    }

    /// Returns the triangles that make up the region: the middle of each, and its area as a vector out of the body, mm².
    pub fn spread(&self, mesh: &Mesh) -> Vec<(Vector, Vector)> {
        let fan = |p: &Polygon| -> Vec<(Vector, Vector)> {
            let Some((&first, rest)) = p.corners[..p.count].split_first() else { return Vec::new() };
            let of = |pair: &[Vector]| {
                let (u, v) = (sub(pair[0], first), sub(pair[1], first));
                (add(first, scale(add(u, v), 1.0 / 3.0)), scale(cross(u, v), 0.5))
            };
            rest.windows(2).map(of).collect()
        };
        self.pieces(mesh).iter().flat_map(|(_, p)| fan(p)).collect()
    }

    /// Returns the corners of its pieces.
    pub fn corners(&self, mesh: &Mesh) -> Vec<Point> {
        self.pieces(mesh).iter().flat_map(|(_, p)| p.corners[..p.count].to_vec()).collect()
    }

    /// Returns the area in mm².
    pub fn area(&self, mesh: &Mesh) -> f64 {
        self.pieces(mesh).iter().map(|(_, p)| area(p)).sum()
    }
}

fn holds(b: &Bounds, p: Point) -> bool {
    (0..3).all(|a| b.min[a] <= p[a] && p[a] <= b.max[a])
}

/// Returns the area of a convex polygon.
pub fn area(p: &Polygon) -> f64 {
    (1..p.count.max(2) - 1)
        .map(|i| 0.5 * norm(cross(sub(p.corners[i], p.corners[0]), sub(p.corners[i + 1], p.corners[0]))))
        .sum()
}

fn whole(mesh: &Mesh, list: impl Iterator<Item = u32>) -> Vec<(u32, Polygon)> {
    list.map(|t| (t, Polygon::triangle(mesh.corners(t as usize)))).collect()
}

fn on_plane(mesh: &Mesh, normal: Vector, near: Point) -> impl Iterator<Item = u32> {
    let normal = normalise(normal);
    let size = mesh.bounds();
    let off = OFF_PLANE * norm(sub(size.max, size.min)).max(norm(size.max)).max(norm(size.min));
    (0..mesh.triangles.len() as u32).filter(move |&t| {
        let corners = mesh.corners(t as usize);
        dot(mesh.normal_area(t as usize).0, normal) > SAME_WAY
            && corners.iter().all(|&c| dot(sub(c, near), normal).abs() < off)
    })
}

fn round(mesh: &Mesh, axis: Vector, centre: Point, radius: f64, inside: bool) -> Vec<u32> {
    let outward = |p: Point| {
        let d = sub(p, centre);
        sub(d, scale(axis, dot(d, axis)))
    };
    (0..mesh.triangles.len() as u32)
        .filter(|&t| {
            let corners = mesh.corners(t as usize);
            let (normal, _) = mesh.normal_area(t as usize);
            let faces = dot(normal, normalise(outward(mesh.centre(t as usize))));
            let fits = corners.iter().all(|&c| (norm(outward(c)) - radius).abs() < OFF_ROUND * radius);
            // The corners of a flat lie on the circle too, its plane does not.
            let near = corners.iter().all(|&c| dot(normal, outward(c)).abs() > SIDES_OFF * radius);
            fits && near && dot(normal, axis).abs() < 0.05 && if inside { faces < -0.7 } else { faces > 0.7 }
        })
        .collect()
}

/// Returns the sides of a convex polygon: planes square to `normal` through its edges.
fn sides(corners: &[Point], normal: Vector) -> Sides {
    let n = corners.len() as f64;
    let middle = scale(corners.iter().fold([0.0; 3], |s, &c| add(s, c)), 1.0 / n);
    let mut list = Vec::new();
    for (i, &a) in corners.iter().enumerate() {
        let b = corners[(i + 1) % corners.len()];
        let inward = normalise(cross(normal, sub(b, a)));
        let inward = if dot(inward, sub(middle, a)) < 0.0 { scale(inward, -1.0) } else { inward };
        list.push((inward, dot(inward, a)));
    }
    list
}

fn on_circle(centre: Point, normal: Vector, radius: f64) -> Vec<Point> {
    let (u, v) = perpendiculars(normalise(normal));
    // As large as the circle, not within it.
    let r = radius * (TAU / (CIRCLE as f64 * (TAU / CIRCLE as f64).sin())).sqrt();
    let at = |i: usize| (TAU * i as f64 / CIRCLE as f64).sin_cos();
    (0..CIRCLE).map(|i| add(centre, add(scale(u, r * at(i).1), scale(v, r * at(i).0)))).collect()
}

fn circle(centre: Point, normal: Vector, radius: f64) -> Sides {
    sides(&on_circle(centre, normal, radius), normal)
}

fn ring(centre: Point, normal: Vector, inner: f64, outer: f64) -> Vec<Sides> {
    let (i, o) = (on_circle(centre, normal, inner.max(0.0)), on_circle(centre, normal, outer));
    (0..CIRCLE)
        .map(|k| {
            let n = (k + 1) % CIRCLE;
            sides(&[o[k], o[n], i[n], i[k]], normal)
        })
        .collect()
}

fn on_face(mesh: &Mesh, normal: Vector, near: Point, shapes: &[Sides]) -> Vec<(u32, Polygon)> {
    cut_out(mesh, on_plane(mesh, normal, near), shapes)
}

/// Returns the parts of facets within each of the shapes.
fn cut_out(mesh: &Mesh, facets: impl Iterator<Item = u32>, shapes: &[Sides]) -> Vec<(u32, Polygon)> {
    let mut out = Vec::new();
    for t in facets {
        let corners = mesh.corners(t as usize);
        for sides in shapes {
            // Most facets lie wholly beyond one of the sides.
            if sides.iter().any(|(n, d)| corners.iter().all(|c| dot(*n, *c) < *d)) {
                continue;
            }
            let mut pieces = vec![Polygon::triangle(corners)];
            for (n, d) in sides {
                pieces = pieces.into_iter().flat_map(|p| kept(p, *n, *d)).collect();
            }
            out.extend(pieces.into_iter().filter(|p| area(p) > 0.0).map(|p| (t, p)));
        }
    }
    out
}

/// Keeps the side of a piece where `n · p >= d`, split in two before it has too many corners.
fn kept(mut p: Polygon, n: Vector, d: f64) -> Vec<Polygon> {
    p.keep(|x| dot(n, x) - d, |_| {});
    if p.count == 0 {
        return Vec::new();
    }
    if p.count < 16 {
        return vec![p];
    }
    let (mut a, mut b) = (p, p);
    let half = p.count / 2;
    a.count = half + 1;
    b.corners[0] = p.corners[0];
    for i in half..p.count {
        b.corners[i - half + 1] = p.corners[i];
    }
    b.count = p.count - half + 1;
    vec![a, b]
}

/// Returns points to integrate over a region, each in the part of the body behind it.
pub fn points(region: &Region, mesh: &Mesh, layout: &Layout) -> Vec<SurfacePoint> {
    let size = mesh.bounds();
    let behind = 1e-7 * norm(sub(size.max, size.min));
    let mut out = Vec::new();
    for (facet, piece) in region.pieces(mesh) {
        let normal = mesh.normal_area(facet as usize).0;
        let back = scale(normal, -behind);
        let mut moved = piece;
        for c in &mut moved.corners[..moved.count] {
            *c = add(*c, back);
        }
        for_cells(&moved, layout, &mut |cell, part| {
            for f in 1..part.count - 1 {
                let (o, a, b) =
                    (part.corners[0], sub(part.corners[f], part.corners[0]), sub(part.corners[f + 1], part.corners[0]));
                let twice = norm(cross(a, b));
                if twice <= 0.0 {
                    continue;
                }
                for &([u, v], w) in rule(0.5 * twice / face_of(layout, cell, normal)) {
                    let at = add(o, add(scale(a, u), scale(b, v)));
                    if let Some((part, within)) = seat(layout, cell, at, normal) {
                        out.push(SurfacePoint { at: sub(at, back), normal, area: w * twice, part, within });
                    }
                }
            }
        });
    }
    out
}

/// Points of a triangle, as shares of its two edges from a corner, with their weights over twice its area; of degree 1, 2 and 4
/// (G. R. Cowper, International Journal for Numerical Methods in Engineering 7, 1973, cited from memory; a test holds the degrees).
const ONE: [([f64; 2], f64); 1] = [([1.0 / 3.0, 1.0 / 3.0], 0.5)];
const THREE: [([f64; 2], f64); 3] =
    [([1.0 / 6.0, 1.0 / 6.0], 1.0 / 6.0), ([2.0 / 3.0, 1.0 / 6.0], 1.0 / 6.0), ([1.0 / 6.0, 2.0 / 3.0], 1.0 / 6.0)];
const SIX: [([f64; 2], f64); 6] = {
    let (a, b) = (0.445_948_490_915_965, 0.091_576_213_509_771);
    let (v, w) = (0.5 * 0.223_381_589_678_011, 0.5 * 0.109_951_743_655_322);
    [
        ([a, a], v),
        ([1.0 - 2.0 * a, a], v),
        ([a, 1.0 - 2.0 * a], v),
        ([b, b], w),
        ([1.0 - 2.0 * b, b], w),
        ([b, 1.0 - 2.0 * b], w),
    ]
};
/// Shares of a cell's face above which a piece has the points of the next finer rule: over a smaller one displacements change less.
const LARGE: f64 = 0.2;
const MIDDLING: f64 = 0.04;

/// Returns the points for a piece that is such a share of a cell's face.
fn rule(share: f64) -> &'static [([f64; 2], f64)] {
    match share {
        s if s > LARGE => &SIX,
        s if s > MIDDLING => &THREE,
        _ => &ONE,
    }
}

/// Returns the area of a cell's face that a direction looks through most, mm².
fn face_of(layout: &Layout, cell: [usize; 3], normal: Vector) -> f64 {
    let widths = layout.grid.widths(cell.map(|c| c as u32));
    let across = (0..3).max_by(|&a, &b| normal[a].abs().total_cmp(&normal[b].abs())).unwrap_or(0);
    widths[(across + 1) % 3] * widths[(across + 2) % 3]
}

/// Returns the part of the body at a point of the surface; where the cell holds too little to be kept, the one behind.
fn seat(layout: &Layout, cell: [usize; 3], at: Point, normal: Vector) -> Option<(u32, Vector)> {
    let widths = layout.grid.widths(cell.map(|c| c as u32));
    let thin = widths[0].min(widths[1]).min(widths[2]);
    for step in 0..6 {
        let p = sub(at, scale(normal, 0.2 * thin * f64::from(step)));
        let cell = if step == 0 { cell } else { layout.grid.find(p) };
        if let Some(part) = layout.part_at(cell, p) {
            return Some((part as u32, layout.grid.within(layout.cells[part], at)));
        }
    }
    None
}

fn for_cells(piece: &Polygon, layout: &Layout, each: &mut impl FnMut([usize; 3], &Polygon)) {
    let axes = &layout.grid.axes;
    let range = |a: usize, p: &Polygon| {
        let (low, high) = p.span(a);
        axes[a].find(low)..=axes[a].find(high)
    };
    for i in range(0, piece) {
        let mut x = *piece;
        x.between(0, axes[0].lines[i], axes[0].lines[i + 1]);
        if x.count == 0 {
            continue;
        }
        for j in range(1, &x) {
            let mut y = x;
            y.between(1, axes[1].lines[j], axes[1].lines[j + 1]);
            if y.count == 0 {
                continue;
            }
            for k in range(2, &y) {
                let mut z = y;
                z.between(2, axes[2].lines[k], axes[2].lines[k + 1]);
                if z.count > 2 {
                    each([i, j, k], &z);
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The integral of x^p y^q over the triangle of the unit axes is p! q! / (p + q + 2)!.
    #[test]
    fn rules_of_a_triangle_are_exact_to_their_degree() {
        let factorial = |n: u32| (1..=n).map(f64::from).product::<f64>();
        for (rule, degree) in [(&ONE[..], 1), (&THREE[..], 2), (&SIX[..], 4)] {
            for (p, q) in (0..=degree).flat_map(|p| (0..=degree - p).map(move |q| (p, q))) {
                let sum: f64 = rule.iter().map(|([x, y], w)| w * x.powi(p as i32) * y.powi(q as i32)).sum();
                let exact = factorial(p) * factorial(q) / factorial(p + q + 2);
                assert!((sum - exact).abs() < 1e-14, "x^{p} y^{q}: {sum}, not {exact}");
            }
            let next = degree + 1;
            let sum: f64 = rule.iter().map(|([x, _], w)| w * x.powi(next as i32)).sum();
            assert!((sum - factorial(next) / factorial(next + 2)).abs() > 1e-6, "more than said: {next}");
        }
    }
}
