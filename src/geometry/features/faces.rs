//! Flat faces: facets that share edges and a plane, gathered into one.

use rayon::prelude::*;

use crate::mesh::{Mesh, Point};
use crate::pose::facets::FacetTable;
use crate::vector::{Vector, add, cross, distance, dot, norm, normalise, scale};

/// No facet, no face.
pub const NONE: u32 = u32::MAX;
/// Facets of one face differ by less than this from its seed (radians, 0.43 degree): a 360-sided round keeps its sides.
const FLAT: f64 = 0.0075;

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
    pub fn new(mesh: &Mesh, table: &FacetTable, twin: &[u32]) -> Self {
        let grain = grain(table);
        let trusts: Vec<f32> =
            (0..mesh.triangles.len()).into_par_iter().map(|t| trust(mesh, table, t, grain)).collect();
        let growth = Growth { mesh, table, twin, trusts: &trusts };
        // On a freeform surface nearly every facet stands alone, which all threads can find out beforehand.
        let alone: Vec<bool> = (0..trusts.len())
            .into_par_iter()
            .with_min_len(8192)
            .map(|t| !(0..3).any(|k| growth.joins(t, 3 * t + k)))
            .collect();
        let mut found = Self { faces: Vec::new(), of_facet: vec![NONE; mesh.triangles.len()], facets: Vec::new() };
        for (seed, &trust) in trusts.iter().enumerate() {
            if found.of_facet[seed] == NONE && f64::from(trust) < 2.0 * FLAT {
                found.grow(&growth, seed as u32, alone[seed]);
            }
        }
        // Slivers, whose normal says little, only seed a face where no neighbour took them.
        for seed in 0..mesh.triangles.len() {
            if found.of_facet[seed] == NONE {
                found.grow(&growth, seed as u32, alone[seed]);
            }
        }
        found
    }

    /// Returns the facets of a face.
    pub fn facets(&self, face: usize) -> &[u32] {
        let f = &self.faces[face];
        &self.facets[f.first as usize..(f.first + f.count) as usize]
    }

    fn grow(&mut self, growth: &Growth, seed: u32, alone: bool) {
        let (id, first) = (self.faces.len() as u32, self.facets.len());
        self.of_facet[seed as usize] = id;
        self.facets.push(seed);
        let mut next = first;
        while next < self.facets.len() && !alone {
            let t = self.facets[next] as usize;
            next += 1;
            for half in 3 * t..3 * t + 3 {
                let o = growth.twin[half] as usize / 3;
                if growth.twin[half] != NONE && self.of_facet[o] == NONE && growth.joins(seed as usize, half) {
                    self.of_facet[o] = id;
                    self.facets.push(o as u32);
                }
            }
        }
        let face = summary(growth, &self.facets[first..], first as u32, growth.table.facet(seed as usize).0);
        self.faces.push(face);
    }
}

/// What growing a face looks at.
struct Growth<'a> {
    mesh: &'a Mesh,
    table: &'a FacetTable,
    twin: &'a [u32],
    /// See [`trust`].
    trusts: &'a [f32],
}

impl Growth<'_> {
    /// Whether the facet across a half-edge lies in the plane of the seed, as far as its own normal can be trusted.
    #[inline]
    fn joins(&self, seed: usize, half: usize) -> bool {
        if self.twin[half] == NONE {
            return false;
        }
        let o = self.twin[half] as usize / 3;
        let ((normal, _), (other, _)) = (self.table.facet(seed), self.table.facet(o));
        let slack = f64::from(self.trusts[o]);
        norm(cross(normal, other)) < slack && (dot(normal, other) > 0.0 || slack >= 1.0)
    }
}

/// The step between neighbouring coordinates in a single-precision file of this size.
fn grain(table: &FacetTable) -> f64 {
    let bounds = table.bounds;
    if bounds.is_empty() {
        return 0.0;
    }
    bounds.min.iter().chain(&bounds.max).fold(0.0_f64, |m, c| m.max(c.abs())) * 1.2e-7
}

/// Returns how far, as a sine, a facet's normal may stand off for no other reason than rounded coordinates.
fn trust(mesh: &Mesh, table: &FacetTable, t: usize, grain: f64) -> f32 {
    let [a, b, c] = mesh.corners(t);
    let longest = distance(a, b).max(distance(b, c)).max(distance(c, a));
    let (_, area) = table.facet(t);
    if area <= 0.0 || longest <= 0.0 {
        return 1.5;
    }
    (FLAT + 2.0 * grain * longest / (2.0 * area)) as f32
}

fn summary(growth: &Growth, facets: &[u32], first: u32, seed: Vector) -> Face {
    let (mesh, table) = (growth.mesh, growth.table);
    let (mut area, mut sum, mut middle) = (0.0, [0.0; 3], [0.0; 3]);
    let anchor = facets.first().map_or([0.0; 3], |&t| mesh.centre(t as usize));
    for &t in facets {
        let (n, a) = table.facet(t as usize);
        area += a;
        sum = add(sum, scale(n, a));
        middle = add(middle, scale(crate::vector::sub(mesh.centre(t as usize), anchor), a));
    }
    let normal = if norm(sum) > 0.0 { normalise(sum) } else { seed };
    let centre = if area > 0.0 { add(anchor, scale(middle, 1.0 / area)) } else { anchor };
    Face { normal, area_mm2: area, centre, first, count: facets.len() as u32 }
}
