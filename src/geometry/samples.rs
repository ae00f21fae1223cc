//! Simple bodies for tests, here and in what uses this crate.

use crate::mesh::Mesh;

/// A closed box with one corner at the origin, sides in mm.
pub fn block(size: [f64; 3]) -> Mesh {
    let vertices = (0..8).map(|i| [0, 1, 2].map(|k| if i >> k & 1 == 1 { size[k] } else { 0.0 })).collect();
    let quads = [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
    let triangles = quads.iter().flat_map(|q| [[q[0], q[1], q[2]], [q[0], q[2], q[3]]]).collect();
    Mesh { vertices, triangles }
}
