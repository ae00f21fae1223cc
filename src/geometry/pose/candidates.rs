//! The ways up that are worth looking at, found from the part's own shape so that turning the file changes nothing.

use super::{Pose, SAME_DIRECTION, angle};
use crate::geometry::mesh::Mesh;
use crate::geometry::vector::{Vector, add, cross, dot, norm, normalise, perpendiculars, scale, sub};

/// Hull facets within this angle form one resting face (radians, about 0.3 degree).
const FLAT: f64 = 0.005;
/// At most this many resting faces are tried, the largest ones.
const MOST_RESTING_FACES: usize = 64;
/// Resting faces below this part of the hull's surface are not worth a try.
const LEAST_RESTING_PART: f64 = 2e-4;
/// Steps along each edge of the cube whose surface lattice covers the sphere: 6 n² + 2 = 218 directions.
const COVER_STEPS: i32 = 6;

/// A flat side of the convex hull, on which the part could rest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RestingFace {
    /// Outward unit normal.
    pub normal: Vector,
    pub area_mm2: f64,
}

/// Directions that others want to see among the candidates.
#[derive(Debug, Clone, Default)]
pub struct Wanted {
    /// Both ways along each of these is tried: hole axes, loads, planar faces.
    pub along: Vec<Vector>,
    /// The six axis directions of the file too. They mean nothing in a turned file, so they are left out as a rule.
    pub axes: bool,
    /// Leaves out the uniform cover of the sphere.
    pub no_cover: bool,
}

/// Returns the convex hull; `None` for points that span no volume.
pub fn hull(mesh: &Mesh) -> Option<Mesh> {
    use parry3d_f64::math::Vector as PVector;
    let points: Vec<PVector> = mesh.vertices.iter().map(|p| PVector::new(p[0], p[1], p[2])).collect();
    let (vertices, triangles) = parry3d_f64::transformation::try_convex_hull(&points).ok()?;
    (vertices.len() >= 4).then(|| Mesh { vertices: vertices.iter().map(|p| [p.x, p.y, p.z]).collect(), triangles })
}

/// Returns the flat sides of a convex hull, largest first.
pub fn resting_faces(hull: &Mesh) -> Vec<RestingFace> {
    let mut facets: Vec<(Vector, f64)> = (0..hull.triangles.len()).map(|t| hull.normal_area(t)).collect();
    let total: f64 = facets.iter().map(|f| f.1).sum();
    facets.retain(|f| f.1 > 0.0);
    facets.sort_by(|a, b| b.1.total_cmp(&a.1).then_with(|| compare(a.0, b.0)));
    let mut sums: Vec<(Vector, Vector, f64)> = Vec::new();
    // Many-sided hulls are bounded by taking only so many seeds; the rest of the facets still join them.
    for (normal, area) in facets {
        let place = sums.iter().position(|(seed, ..)| dot(*seed, normal) > 0.9 && angle(*seed, normal) < FLAT);
        match place {
            Some(i) => sums[i] = (sums[i].0, add(sums[i].1, scale(normal, area)), sums[i].2 + area),
            None if sums.len() < 4 * MOST_RESTING_FACES => sums.push((normal, scale(normal, area), area)),
            None => {}
        }
    }
    let mut faces: Vec<RestingFace> =
        sums.into_iter().map(|(_, sum, area_mm2)| RestingFace { normal: normalise(sum), area_mm2 }).collect();
    faces.retain(|f| f.area_mm2 >= LEAST_RESTING_PART * total);
    faces.sort_by(|a, b| b.area_mm2.total_cmp(&a.area_mm2).then_with(|| compare(a.normal, b.normal)));
    faces.truncate(MOST_RESTING_FACES);
    faces
}

/// Returns the candidate poses: on each resting face, along each wanted direction, and a uniform cover of the sphere
/// laid by the part's own faces. No two are closer than half a degree; the earlier kind wins.
pub fn candidates(hull: Option<&Mesh>, wanted: &Wanted) -> Vec<Pose> {
    let faces = hull.map(resting_faces).unwrap_or_default();
    let mut ups: Vec<Vector> = faces.iter().map(|f| scale(f.normal, -1.0)).collect();
    for &d in &wanted.along {
        let d = normalise(d);
        ups.extend([d, scale(d, -1.0)]);
    }
    if wanted.axes || faces.is_empty() {
        ups.extend([
            [0.0, 0.0, 1.0],
            [0.0, 0.0, -1.0],
            [1.0, 0.0, 0.0],
            [-1.0, 0.0, 0.0],
            [0.0, 1.0, 0.0],
            [0.0, -1.0, 0.0],
        ]);
    }
    if !wanted.no_cover {
        ups.extend(cover(&own_frame(&faces)));
    }
    let mut poses: Vec<Pose> = Vec::new();
    for up in ups {
        if let Some(pose) = Pose::new(up) {
            if poses.iter().all(|p| dot(p.up, pose.up) < 0.9 || angle(p.up, pose.up) > SAME_DIRECTION) {
                poses.push(pose);
            }
        }
    }
    poses
}

/// Returns a frame that turns with the part: its largest resting face, then the largest that stands across it.
fn own_frame(faces: &[RestingFace]) -> [Vector; 3] {
    let first = faces.first().map_or([0.0, 0.0, 1.0], |f| f.normal);
    let across = |n: Vector| sub(n, scale(first, dot(n, first)));
    let second = faces.iter().map(|f| across(f.normal)).find(|a| norm(*a) > 0.35);
    let second = second.map_or_else(|| perpendiculars(first).0, normalise);
    [first, second, cross(first, second)]
}

/// Returns the lattice points of a cube's surface pushed out to the sphere. The cube's symmetry makes it
/// indifferent which of the part's faces came first.
fn cover(frame: &[Vector; 3]) -> Vec<Vector> {
    let n = COVER_STEPS;
    let mut directions = Vec::new();
    for i in -n / 2..=n / 2 {
        for j in -n / 2..=n / 2 {
            for k in -n / 2..=n / 2 {
                if i.abs().max(j.abs()).max(k.abs()) == n / 2 {
                    // The tangent spaces the points evenly in angle along each edge.
                    let [a, b, c] =
                        [i, j, k].map(|s| (f64::from(s) / f64::from(n) * std::f64::consts::FRAC_PI_2).tan());
                    directions.push(add(add(scale(frame[0], a), scale(frame[1], b)), scale(frame[2], c)));
                }
            }
        }
    }
    directions
}

fn compare(a: Vector, b: Vector) -> std::cmp::Ordering {
    a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])).then(a[2].total_cmp(&b[2]))
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;

    /// A closed box with one corner at the origin.
    pub(crate) fn block(size: [f64; 3]) -> Mesh {
        let vertices = (0..8).map(|i| [0, 1, 2].map(|k| if i >> k & 1 == 1 { size[k] } else { 0.0 })).collect();
        let quads = [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
        let triangles = quads.iter().flat_map(|q| [[q[0], q[1], q[2]], [q[0], q[2], q[3]]]).collect();
        Mesh { vertices, triangles }
    }

    #[test]
    fn a_block_rests_on_six_faces_and_the_cover_has_218_directions() {
        let hull = hull(&block([40.0, 20.0, 10.0])).unwrap();
        let faces = resting_faces(&hull);
        assert_eq!(faces.len(), 6);
        assert!((faces[0].area_mm2 - 800.0).abs() < 1e-9 && (faces[5].area_mm2 - 200.0).abs() < 1e-9);
        assert_eq!(candidates(Some(&hull), &Wanted::default()).len(), 218);
    }

    #[test]
    fn turning_the_file_turns_the_candidates() {
        let part = block([40.0, 20.0, 10.0]);
        let turn = Pose::new([0.3, -0.5, 0.7]).unwrap();
        let turned = part.transformed(&turn.rotation(), [5.0, 6.0, 7.0]);
        let here = candidates(hull(&part).as_ref(), &Wanted::default());
        let there = candidates(hull(&turned).as_ref(), &Wanted::default());
        assert_eq!(here.len(), there.len());
        for pose in &here {
            let up = turn.turn(pose.up);
            assert!(there.iter().any(|q| q.angle_to(up) < 1e-6), "{pose:?}");
        }
    }
}
