//! Plane sections of a mesh and their properties.
//!
//! Cut edges are matched by their vertices, not by place, so a closed mesh always gives closed outlines. Section
//! properties are the exact polygon sums (shoelace and its higher moments; e.g. E. P. Popov, "Engineering Mechanics of
//! Solids", ch. 6, handbook); torsion is solved numerically.

use super::mesh::{Mesh, Point};
use super::vector::{Vector, add, dot, normalise, perpendiculars, scale, sub};
use properties::SectionProperties;

pub mod depths;
mod nest;
mod parting;
pub(crate) mod properties;
pub mod slicer;
pub mod torsion;

/// A point of a section in its plane's own coordinates, mm.
pub type Point2 = [f64; 2];

/// A plane with coordinates: `origin + a u + b v`; seen against `normal`, `u` to `v` turns counter-clockwise.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Frame {
    /// A point of the plane, in part axes, mm.
    pub origin: Point,
    /// Unit vector of the plane's first axis.
    pub u: Vector,
    /// Unit vector of the second, square to the first.
    pub v: Vector,
    /// Unit vector out of the plane.
    pub normal: Vector,
}

impl Frame {
    /// Makes a frame on the plane through `point` across `normal`; `None` where `normal` has no direction.
    pub fn new(point: Point, normal: Vector) -> Option<Self> {
        let normal = normalise(normal);
        let (u, v) = perpendiculars(normal);
        (normal != [0.0; 3] && point.iter().all(|c| c.is_finite())).then_some(Self { origin: point, u, v, normal })
    }

    /// Returns where a point lies in the plane, seen along its normal.
    pub fn to_plane(&self, p: Point) -> Point2 {
        let d = sub(p, self.origin);
        [dot(d, self.u), dot(d, self.v)]
    }

    /// Returns the place in part axes, mm, of a point of the plane.
    pub fn to_space(&self, p: Point2) -> Point {
        add(self.origin, add(scale(self.u, p[0]), scale(self.v, p[1])))
    }

    /// Returns the direction in space of a direction in the plane.
    pub fn direction(&self, d: Point2) -> Vector {
        add(scale(self.u, d[0]), scale(self.v, d[1]))
    }
}

/// A region of a section: an outer outline, counter-clockwise, and its holes, clockwise. Outlines are not closed by
/// repeating the first point.
#[derive(Debug, Clone, PartialEq)]
pub struct Region {
    /// The outline around it.
    pub outer: Vec<Point2>,
    /// Outlines of what is not material in it.
    pub holes: Vec<Vec<Point2>>,
}

/// A section.
#[derive(Debug, Clone, PartialEq)]
pub struct Section {
    /// Where the plane lies.
    pub frame: Frame,
    /// Material regions; islands within holes are regions of their own.
    pub regions: Vec<Region>,
    /// Outlines that do not close, because the mesh is open there; they are left out of everything else.
    pub open_outlines: usize,
    /// Whether outlines ran the wrong way round (a mesh with flipped facets) and were nested by even and odd instead.
    pub uneven: bool,
    /// `None` for a section without area.
    pub properties: Option<SectionProperties>,
}

impl Section {
    /// Returns all outlines, outer ones and holes.
    pub fn outlines(&self) -> impl Iterator<Item = &Vec<Point2>> {
        self.regions.iter().flat_map(|r| std::iter::once(&r.outer).chain(&r.holes))
    }
}

/// Cuts the mesh with the plane through `point` across `normal`; `None` where `normal` has no direction.
///
/// A plane through a face gives the section just beyond it, on the side `normal` points to.
pub fn cut(mesh: &Mesh, point: Point, normal: Vector) -> Option<Section> {
    let frame = Frame::new(point, normal)?;
    let height: Vec<f64> = mesh.vertices.iter().map(|&p| dot(sub(p, frame.origin), frame.normal)).collect();
    let segments = segments(&mesh.triangles, |v| height[v as usize]);
    Some(joined(mesh, frame, &segments).0)
}

/// Joins the segments of a plane to a section; also returns, for each point of an outline, the mesh edge it lies on.
fn joined(mesh: &Mesh, frame: Frame, segments: &[(Edge, Edge)]) -> (Section, Vec<(Point2, Edge)>) {
    let (loops, open_outlines) = chain(segments);
    let height = |v: usize| dot(sub(mesh.vertices[v], frame.origin), frame.normal);
    let place = |edge: Edge| {
        let (a, b) = (edge.0 as usize, edge.1 as usize);
        let t = height(a) / (height(a) - height(b));
        frame.to_plane(add(mesh.vertices[a], scale(sub(mesh.vertices[b], mesh.vertices[a]), t)))
    };
    let mut on_edges = Vec::new();
    let outlines = loops
        .into_iter()
        .map(|edges| {
            let mut points: Vec<Point2> = edges.iter().map(|&e| place(e)).collect();
            on_edges.extend(points.iter().copied().zip(edges));
            points.dedup();
            points
        })
        .filter(|points| points.len() >= 3)
        .collect();
    let (regions, uneven) = nest::regions(outlines);
    let mut section = Section { frame, regions, open_outlines, uneven, properties: None };
    section.properties = SectionProperties::of(&section);
    (section, on_edges)
}

/// A mesh edge, lower vertex first.
type Edge = (u32, u32);

/// Returns, for each cut facet, the edges where the section enters and leaves it, material to the left.
fn segments<'t>(triangles: impl IntoIterator<Item = &'t [u32; 3]>, height: impl Fn(u32) -> f64) -> Vec<(Edge, Edge)> {
    let mut segments = Vec::new();
    for triangle in triangles {
        let above = triangle.map(|v| height(v) > 0.0);
        let count = above.iter().filter(|a| **a).count();
        if count == 0 || count == 3 {
            continue;
        }
        // The corner that is alone on its side.
        let Some(i) = (0..3).find(|&i| above[i] == (count == 1)) else { continue };
        let edge = |a: usize, b: usize| {
            let (a, b) = (triangle[a % 3], triangle[b % 3]);
            (a.min(b), a.max(b))
        };
        let (first, last) = (edge(i, i + 1), edge(i + 2, i));
        if first != last {
            segments.push(if count == 1 { (first, last) } else { (last, first) });
        }
    }
    segments
}

/// Joins segments end to start into closed rows of edges; also returns how many rows do not close.
fn chain(segments: &[(Edge, Edge)]) -> (Vec<Vec<Edge>>, usize) {
    let mut by_start: Vec<(Edge, u32)> = segments.iter().enumerate().map(|(i, s)| (s.0, i as u32)).collect();
    by_start.sort_unstable();
    let mut used = vec![false; segments.len()];
    let mut loops = Vec::new();
    let mut open = 0;
    // Rows that begin at a border first, so that no closed row is begun in their middle.
    let mut ends: Vec<Edge> = segments.iter().map(|s| s.1).collect();
    ends.sort_unstable();
    let starts_open = |i: &usize| ends.binary_search(&segments[*i].0).is_err();
    let order = (0..segments.len()).filter(starts_open).chain(0..segments.len());
    for first in order {
        if used[first] {
            continue;
        }
        let mut row = Vec::new();
        let mut current = first;
        loop {
            used[current] = true;
            row.push(segments[current].0);
            let end = segments[current].1;
            if end == segments[first].0 {
                loops.push(row);
                break;
            }
            let from = by_start.partition_point(|(e, _)| *e < end);
            let candidates = by_start[from..].iter().take_while(|(e, _)| *e == end);
            let Some(next) = candidates.map(|&(_, i)| i as usize).find(|&i| !used[i]) else {
                open += 1;
                break;
            };
            current = next;
        }
    }
    (loops, open)
}
