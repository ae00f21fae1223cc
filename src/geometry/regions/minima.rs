//! Where material begins in the air: lowest points of the surface that nothing lower leads up to.

use super::patch::View;
use crate::mesh::Mesh;
use crate::vector::{add, dot, scale};

/// The facets around each vertex, as compressed lists.
pub struct Fans {
    starts: Vec<u32>,
    facets: Vec<u32>,
}

impl Fans {
    pub fn new(mesh: &Mesh) -> Self {
        let mut starts = vec![0_u32; mesh.vertices.len() + 1];
        mesh.triangles.iter().flatten().for_each(|&v| starts[v as usize + 1] += 1);
        for v in 1..starts.len() {
            starts[v] += starts[v - 1];
        }
        let mut next = starts.clone();
        let mut facets = vec![0_u32; mesh.triangles.len() * 3];
        for (t, corners) in mesh.triangles.iter().enumerate() {
            for &v in corners {
                facets[next[v as usize] as usize] = t as u32;
                next[v as usize] += 1;
            }
        }
        Self { starts, facets }
    }

    /// Returns the facets that have the vertex as a corner.
    pub fn around(&self, v: u32) -> &[u32] {
        &self.facets[self.starts[v as usize] as usize..self.starts[v as usize + 1] as usize]
    }
}

/// A place where material begins: the vertices of its lowest layer.
pub struct Beginning {
    pub lowest: u32,
    pub height_mm: f64,
    pub vertices: Vec<u32>,
    /// The facets around the lowest vertex.
    pub facets: Vec<u32>,
}

/// Returns every place above the bed from which the surface rises on all sides by at least `layer` (a hollow that is
/// deeper than that from below; shallower ones are filled by the layer itself), and where the material lies above.
pub fn beginnings<'f>(view: &View, fans: impl FnOnce() -> &'f Fans, layer: f64) -> Vec<Beginning> {
    let mut lowest = lowest_vertices(view);
    if lowest.is_empty() {
        return Vec::new();
    }
    let fans = fans();
    lowest.sort_by(|&a, &b| view.heights[a as usize].total_cmp(&view.heights[b as usize]).then(a.cmp(&b)));
    let mut done = vec![false; view.mesh.vertices.len()];
    let mut found = Vec::new();
    for v in lowest {
        if done[v as usize] {
            continue;
        }
        let (vertices, is_lowest) = flood(view, fans, v, layer, &mut done);
        if is_lowest && faces_down(view, fans, v) {
            let facets = fans.around(v).to_vec();
            found.push(Beginning { lowest: v, height_mm: view.heights[v as usize], vertices, facets });
        }
    }
    found
}

/// Vertices above the bed without a lower neighbour.
fn lowest_vertices(view: &View) -> Vec<u32> {
    let mut higher = vec![true; view.mesh.vertices.len()];
    let mut used = vec![false; view.mesh.vertices.len()];
    for corners in &view.mesh.triangles {
        let least = corners.iter().map(|&v| view.heights[v as usize]).fold(f64::INFINITY, f64::min);
        for &v in corners {
            used[v as usize] = true;
            higher[v as usize] &= view.heights[v as usize] <= least + 1e-9;
        }
    }
    (0..view.mesh.vertices.len() as u32)
        .filter(|&v| used[v as usize] && higher[v as usize] && view.heights[v as usize] > view.bed_mm)
        .collect()
}

/// Walks over all vertices less than `layer` above `seed`; the flag says whether none of them was lower.
fn flood(view: &View, fans: &Fans, seed: u32, layer: f64, done: &mut [bool]) -> (Vec<u32>, bool) {
    let floor = view.heights[seed as usize] - 1e-6;
    let top = view.heights[seed as usize] + layer;
    let mut vertices = vec![seed];
    done[seed as usize] = true;
    let (mut next, mut is_lowest) = (0, true);
    while next < vertices.len() {
        let v = vertices[next];
        next += 1;
        for &t in fans.around(v) {
            for w in view.mesh.triangles[t as usize] {
                let h = view.heights[w as usize];
                is_lowest &= h >= floor;
                if h >= floor && h < top && !done[w as usize] {
                    done[w as usize] = true;
                    vertices.push(w);
                }
            }
        }
    }
    (vertices, is_lowest)
}

/// Whether the surface around the vertex faces down on the whole: material above, not the floor of a pocket.
fn faces_down(view: &View, fans: &Fans, v: u32) -> bool {
    let sum = fans.around(v).iter().fold([0.0; 3], |s, &t| {
        let (n, _) = view.facet(t);
        add(s, scale(n, corner_angle(view.mesh, t as usize, v)))
    });
    dot(sum, view.up) < 0.0
}

/// Angle of a facet at one corner: weighting by it makes the sum independent of how the surface is cut up.
fn corner_angle(mesh: &Mesh, t: usize, v: u32) -> f64 {
    let k = mesh.triangles[t].iter().position(|&w| w == v).unwrap_or(0);
    let p = mesh.corners(t);
    let to = |j: usize| crate::vector::normalise(crate::vector::sub(p[(k + j) % 3], p[k]));
    crate::pose::angle(to(1), to(2))
}
