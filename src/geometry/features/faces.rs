//! Flat faces: facets that share edges and a plane, gathered into one.

use crate::geometry::mesh::{Mesh, Point};
use crate::geometry::vector::{Vector, add, cross, distance, dot, norm, normalise, scale};

/// No facet, no face.
pub const NONE: u32 = u32::MAX;
/// Facets of one face differ by less than this from its seed (radians, 0.2 degree): a 360-sided round keeps its sides.
const FLAT: f64 = 0.0035;

/// A flat face: its facets, plane, area and middle.
#[derive(Debug, Clone, PartialEq)]
pub struct Face {
    /// Outward unit normal, weighted by area.
    pub normal: Vector,
    pub area_mm2: f64,
    pub centre: Point,
    /// Where the facets of the face stand in [`Faces::facets`].
    first: u32,
    count: u32,
}

/// All flat faces of a mesh; every facet belongs to exactly one.
pub struct Faces {
    pub faces: Vec<Face>,
    /// The face of each facet.
    pub of_facet: Vec<u32>,
    facets: Vec<u32>,
}

impl Faces {
    /// Gathers the faces; `twin` gives, for half-edge `3 t + k`, the half-edge across it or [`NONE`].
    pub fn new(mesh: &Mesh, twin: &[u32]) -> Self {
        let grain = grain(mesh);
        let mut found = Self { faces: Vec::new(), of_facet: vec![NONE; mesh.triangles.len()], facets: Vec::new() };
        for seed in 0..mesh.triangles.len() {
            if found.of_facet[seed] == NONE && trust(mesh, seed, grain) < 2.0 * FLAT {
                found.grow(mesh, twin, seed as u32, grain);
            }
        }
        // Slivers, whose normal says little, only seed a face where no neighbour took them.
        for seed in 0..mesh.triangles.len() {
            if found.of_facet[seed] == NONE {
                found.grow(mesh, twin, seed as u32, grain);
            }
        }
        found
    }

    /// Returns the facets of a face.
    pub fn facets(&self, face: usize) -> &[u32] {
        let f = &self.faces[face];
        &self.facets[f.first as usize..(f.first + f.count) as usize]
    }

    fn grow(&mut self, mesh: &Mesh, twin: &[u32], seed: u32, grain: f64) {
        let (id, first) = (self.faces.len() as u32, self.facets.len());
        let (normal, _) = mesh.normal_area(seed as usize);
        self.of_facet[seed as usize] = id;
        self.facets.push(seed);
        let mut next = first;
        while next < self.facets.len() {
            let t = self.facets[next] as usize;
            next += 1;
            for k in 0..3 {
                let across = twin[3 * t + k];
                if across == NONE || self.of_facet[across as usize / 3] != NONE {
                    continue;
                }
                let o = across as usize / 3;
                let (other, _) = mesh.normal_area(o);
                let slack = trust(mesh, o, grain);
                if norm(cross(normal, other)) < slack && (dot(normal, other) > 0.0 || slack >= 1.0) {
                    self.of_facet[o] = id;
                    self.facets.push(o as u32);
                }
            }
        }
        let face = summary(mesh, &self.facets[first..], first as u32, normal);
        self.faces.push(face);
    }
}

/// The step between neighbouring coordinates in a single-precision file of this size.
fn grain(mesh: &Mesh) -> f64 {
    let bounds = mesh.bounds();
    if bounds.is_empty() {
        return 0.0;
    }
    bounds.min.iter().chain(&bounds.max).fold(0.0_f64, |m, c| m.max(c.abs())) * 1.2e-7
}

/// Returns how far, as a sine, a facet's normal may stand off for no other reason than rounded coordinates.
fn trust(mesh: &Mesh, t: usize, grain: f64) -> f64 {
    let [a, b, c] = mesh.corners(t);
    let longest = distance(a, b).max(distance(b, c)).max(distance(c, a));
    let (_, area) = mesh.normal_area(t);
    if area <= 0.0 || longest <= 0.0 {
        return 1.5;
    }
    FLAT + 2.0 * grain * longest / (2.0 * area)
}

fn summary(mesh: &Mesh, facets: &[u32], first: u32, seed: Vector) -> Face {
    let (mut area, mut sum, mut middle) = (0.0, [0.0; 3], [0.0; 3]);
    let anchor = facets.first().map_or([0.0; 3], |&t| mesh.centre(t as usize));
    for &t in facets {
        let (n, a) = mesh.normal_area(t as usize);
        area += a;
        sum = add(sum, scale(n, a));
        middle = add(middle, scale(crate::geometry::vector::sub(mesh.centre(t as usize), anchor), a));
    }
    let normal = if norm(sum) > 0.0 { normalise(sum) } else { seed };
    let centre = if area > 0.0 { add(anchor, scale(middle, 1.0 / area)) } else { anchor };
    Face { normal, area_mm2: area, centre, first, count: facets.len() as u32 }
}
