//! Which facet lies across each side of each facet.

use super::mesh::Mesh;

/// No facet across.
pub const NONE: u32 = u32::MAX;

/// Returns, for half-edge `3 t + k` (side of triangle `t` from corner `k` to the next), the half-edge across it, or
/// [`NONE`] where the edge is open or more than two facets share it.
pub fn twins(mesh: &Mesh) -> Vec<u32> {
    let mut edges: Vec<(u64, u32)> = Vec::with_capacity(mesh.triangles.len() * 3);
    for (t, corners) in mesh.triangles.iter().enumerate() {
        for k in 0..3 {
            let (a, b) = (corners[k], corners[(k + 1) % 3]);
            edges.push((u64::from(a.min(b)) << 32 | u64::from(a.max(b)), (3 * t + k) as u32));
        }
    }
    edges.sort_unstable();
    let mut twin = vec![NONE; edges.len()];
    let mut i = 0;
    while i < edges.len() {
        let uses = edges[i..].iter().take_while(|e| e.0 == edges[i].0).count();
        if uses == 2 {
            twin[edges[i].1 as usize] = edges[i + 1].1;
            twin[edges[i + 1].1 as usize] = edges[i].1;
        }
        i += uses;
    }
    twin
}
