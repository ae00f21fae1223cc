//! Which facet lies across each side of each facet.

use std::sync::Arc;

use super::health::edges::Topology;
use super::mesh::Mesh;

/// No facet across.
pub const NONE: u32 = super::health::edges::NONE;

/// Returns, for half-edge `3 t + k` (side of triangle `t` from corner `k` to the next), the half-edge across it, or
/// [`NONE`] where the edge is open or more than two facets share it.
pub fn twins(mesh: &Mesh) -> Arc<Vec<u32>> {
    if mesh.triangles.len() > Mesh::MOST_TRIANGLES {
        return Arc::new(vec![NONE; mesh.triangles.len().saturating_mul(3)]);
    }
    Topology::new(mesh, |t| {
        let [a, b, c] = mesh.triangles[t];
        a != b && b != c && c != a
    })
    .twin
}
