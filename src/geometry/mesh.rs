//! The indexed triangle mesh that every measurement works on.

pub use super::bounds::Bounds;
use super::vector::{Vector, add, cross, norm, normalise, rotate, scale, sub};

/// A place, in millimetres, always.
pub type Point = Vector;

/// A welded, indexed triangle mesh in millimetres; the winding is outward when the mesh is healthy.
///
/// Invariant kept by every reader: all indices are in range and all coordinates are finite.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Mesh {
    /// Places in part axes, mm.
    pub vertices: Vec<Point>,
    /// Three indices into the vertices each, counter-clockwise seen from outside.
    pub triangles: Vec<[u32; 3]>,
}

impl Mesh {
    /// More triangles than this are refused on reading: half-edges are numbered with 32 bits, one kept for direction.
    pub const MOST_TRIANGLES: usize = (u32::MAX / 6) as usize - 1;

    /// Returns the three corners of triangle `t`.
    #[inline]
    pub fn corners(&self, t: usize) -> [Point; 3] {
        self.triangles[t].map(|v| self.vertices[v as usize])
    }

    /// Returns the unit normal by the right-hand rule (zero for a degenerate triangle) and the area in mm².
    #[inline]
    pub fn normal_area(&self, t: usize) -> (Vector, f64) {
        let [a, b, c] = self.corners(t);
        let n = cross(sub(b, a), sub(c, a));
        (normalise(n), 0.5 * norm(n))
    }

    /// Returns the mean of the three corners of triangle `t`.
    #[inline]
    pub fn centre(&self, t: usize) -> Point {
        let [a, b, c] = self.corners(t);
        scale(add(add(a, b), c), 1.0 / 3.0)
    }

    /// Returns the bounds of the triangles; vertices no triangle uses are left out.
    pub fn bounds(&self) -> Bounds {
        Bounds::of((0..self.triangles.len()).flat_map(|t| self.corners(t)))
    }

    /// Returns the mesh with `p -> rotation * p + offset` applied (`rotation` by rows).
    ///
    /// A mirroring matrix (negative determinant) also turns every triangle round, so that outward stays outward.
    #[must_use]
    pub fn transformed(&self, rotation: &[[f64; 3]; 3], offset: Point) -> Mesh {
        let mirrors = super::vector::determinant(rotation) < 0.0;
        let turn = |t: &[u32; 3]| if mirrors { [t[0], t[2], t[1]] } else { *t };
        Mesh {
            vertices: self.vertices.iter().map(|&v| add(rotate(rotation, v), offset)).collect(),
            triangles: self.triangles.iter().map(turn).collect(),
        }
    }

    /// Adds all of `other`'s triangles as they are, without welding.
    ///
    /// Returns false, and adds nothing, where the vertex count would no longer fit 32-bit indices.
    #[must_use]
    pub fn append(&mut self, other: &Mesh) -> bool {
        let Ok(base) = u32::try_from(self.vertices.len()) else { return false };
        if self.vertices.len() + other.vertices.len() > u32::MAX as usize {
            return false;
        }
        self.vertices.extend_from_slice(&other.vertices);
        self.triangles.extend(other.triangles.iter().map(|t| t.map(|v| v + base)));
        true
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tetrahedron() -> Mesh {
        Mesh {
            vertices: vec![[0.0; 3], [1.0, 0.0, 0.0], [0.0, 2.0, 0.0], [0.0, 0.0, 3.0]],
            triangles: vec![[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]],
        }
    }

    #[test]
    fn normals_point_outward_by_the_right_hand_rule() {
        let (n, area) = tetrahedron().normal_area(0);
        assert_eq!((n, area), ([0.0, 0.0, -1.0], 1.0));
    }

    #[test]
    fn a_mirrored_mesh_keeps_its_outside_outside() {
        let mirrored = tetrahedron().transformed(&[[-1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]], [0.0; 3]);
        assert_eq!(mirrored.normal_area(0).0, [0.0, 0.0, -1.0]);
        assert_eq!(mirrored.bounds(), Bounds { min: [-1.0, 0.0, 0.0], max: [0.0, 2.0, 3.0] });
    }
}
