//! A mesh made ready to be cut many times: planes pass over what is far from them.

use super::nest::pairs;
use super::parting;
use super::properties::SectionProperties;
use super::{Edge, Frame, Point2, Region, Section, joined, segments};
use crate::anchor::Anchor;
use crate::bounds::Bounds;
use crate::mesh::{Mesh, Point};
use crate::vector::{Vector, dot, sub};

/// Facets that share a box: neighbours in the file mostly are neighbours on the part.
const RUN: usize = 128;

/// A mesh with the boxes of its runs of facets.
pub struct Slicer<'m> {
    mesh: &'m Mesh,
    runs: Vec<Bounds>,
}

impl<'m> Slicer<'m> {
    /// Looks at every facet once.
    pub fn new(mesh: &'m Mesh) -> Self {
        let around =
            |run: &[[u32; 3]]| Bounds::of(run.iter().flatten().filter_map(|&v| mesh.vertices.get(v as usize).copied()));
        Self { mesh, runs: mesh.triangles.chunks(RUN).map(around).collect() }
    }

    /// Returns the mesh.
    pub fn mesh(&self) -> &'m Mesh {
        self.mesh
    }

    /// Returns what of a plane's section parts one place of the part from another: see [`parting`]. `None` where the plane
    /// does not part them, or `normal` has no direction.
    pub fn between(&self, point: Point, normal: Vector, ends: &[Vec<Anchor>; 2]) -> Option<Section> {
        let (section, on_edges) = self.cut(point, normal)?;
        parting::between(self.mesh, section, &on_edges, ends)
    }

    /// Returns that region of a plane's section which the point lies in or on the rim of; `None` where there is none.
    pub fn local(&self, point: Point, normal: Vector) -> Option<Section> {
        // What rounding makes of a point on the surface.
        self.near(point, normal, 1e-6 * point.iter().fold(1.0, |most: f64, c| most.max(c.abs())))
    }

    /// Returns the same of a point that may lie so far off the part, mm.
    pub fn near(&self, point: Point, normal: Vector, off_mm: f64) -> Option<Section> {
        let (section, _) = self.cut(point, normal)?;
        let away = |r: &Region| {
            let contains = inside(&r.outer) && !r.holes.iter().any(|h| inside(h));
            let rims = || std::iter::once(&r.outer).chain(&r.holes).map(|o| off(o)).fold(f64::INFINITY, f64::min);
            if contains { 0.0 } else { rims() }
        };
        let nearest = section.regions.iter().map(|r| (away(r), r)).min_by(|a, b| a.0.total_cmp(&b.0));
        let region = nearest.filter(|(away, _)| *away <= off_mm)?.1.clone();
        if section.regions.len() == 1 {
            return section.properties.is_some().then_some(section);
        }
        let mut part = Section { regions: vec![region], properties: None, ..section };
        part.properties = SectionProperties::of(&part);
        part.properties.is_some().then_some(part)
    }

    fn cut(&self, point: Point, normal: Vector) -> Option<(Section, Vec<(Point2, Edge)>)> {
        let frame = Frame::new(point, normal)?;
        let height = |v: u32| dot(sub(self.mesh.vertices[v as usize], frame.origin), frame.normal);
        let runs = self.mesh.triangles.chunks(RUN).zip(&self.runs);
        let near = runs.filter(|(_, around)| crosses(&frame, around)).flat_map(|(run, _)| run);
        Some(joined(self.mesh, frame, &segments(near, height)))
    }
}

/// Returns how far an outline is from the frame's origin.
fn off(outline: &[Point2]) -> f64 {
    let to_side = |(p, q): (Point2, Point2)| {
        let d = [q[0] - p[0], q[1] - p[1]];
        let long = d[0] * d[0] + d[1] * d[1];
        let t = if long > 0.0 { (-(p[0] * d[0] + p[1] * d[1]) / long).clamp(0.0, 1.0) } else { 0.0 };
        (p[0] + t * d[0]).hypot(p[1] + t * d[1])
    };
    pairs(outline).map(to_side).fold(f64::INFINITY, f64::min)
}

/// Returns whether the frame's origin lies within an outline: an odd number of sides to its right.
fn inside(outline: &[Point2]) -> bool {
    let right =
        |(p, q): &(Point2, Point2)| (p[1] > 0.0) != (q[1] > 0.0) && p[0] - p[1] * (q[0] - p[0]) / (q[1] - p[1]) > 0.0;
    pairs(outline).filter(right).count() % 2 == 1
}

/// Returns whether a plane may meet what is in a box.
fn crosses(frame: &Frame, around: &Bounds) -> bool {
    let (mut middle, mut reach) = (0.0, 0.0);
    for k in 0..3 {
        middle += frame.normal[k] * ((around.min[k] + around.max[k]) / 2.0 - frame.origin[k]);
        reach += frame.normal[k].abs() * (around.max[k] - around.min[k]) / 2.0;
    }
    // A hair more, for rounding: a facet looked at in vain costs little.
    middle.abs() <= reach * (1.0 + 1e-9) + 1e-9
}
