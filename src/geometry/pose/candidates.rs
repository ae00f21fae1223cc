//! The ways up that are worth looking at, found from the part's own shape so that turning the file changes nothing.

use super::{Pose, SAME_DIRECTION, angle};
use crate::hull::{Hull, HullFace};
use crate::vector::{Vector, add, cross, dot, norm, normalise, perpendiculars, scale, sub};

/// At most this many resting faces are tried, the largest ones.
const MOST_RESTING_FACES: usize = 64;
/// Resting faces below this part of the hull's surface are not worth a try.
const LEAST_RESTING_PART: f64 = 2e-4;
/// Steps along each edge of the cube whose surface lattice covers the sphere: 6 n² + 2 = 218 directions.
const COVER_STEPS: i32 = 6;

/// Directions that others want to see among the candidates.
#[derive(Debug, Clone, Default)]
pub struct Wanted {
    /// Both ways along each of these is tried: hole axes, loads, planar faces.
    pub along: Vec<Vector>,
    /// Both ways along each of these is tried, and kept however it ranks: ways up that a person would think of.
    pub plain: Vec<Vector>,
    /// The six axis directions of the file too. They mean nothing in a turned file, so they are left out as a rule.
    pub axes: bool,
    /// Leaves out the uniform cover of the sphere.
    pub no_cover: bool,
}

/// Returns the flat sides of a convex hull on which the part could rest, largest first.
pub fn resting_faces(hull: &Hull) -> Vec<HullFace> {
    let total: f64 = hull.faces.iter().map(|f| f.area_mm2).sum();
    let large = hull.faces.iter().filter(|f| f.area_mm2 >= LEAST_RESTING_PART * total);
    large.take(MOST_RESTING_FACES).cloned().collect()
}

/// Returns the candidate poses: on each resting face, along each wanted direction, and a uniform cover of the sphere
/// laid by the part's own faces. No two are closer than half a degree, but for plain ones; the earlier kind wins.
pub fn candidates(hull: Option<&Hull>, wanted: &Wanted) -> Vec<Pose> {
    let faces = hull.map(resting_faces).unwrap_or_default();
    let mut ups: Vec<Vector> = faces.iter().map(|f| scale(f.normal, -1.0)).collect();
    for &d in wanted.plain.iter().chain(&wanted.along) {
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
    for pose in ups.into_iter().filter_map(Pose::new) {
        if poses.iter().all(|p| dot(p.up, pose.up) < 0.9 || angle(p.up, pose.up) > SAME_DIRECTION) {
            poses.push(pose);
        }
    }
    // A face of the hull may reach from a base to what ends a hair above it: of the two, what lies on more is taken.
    let plain = wanted.plain.iter().map(|&d| normalise(d)).flat_map(|d| [d, scale(d, -1.0)]).filter_map(Pose::new);
    for pose in plain {
        if poses.iter().all(|p| angle(p.up, pose.up) > SAME_PLAIN) {
            poses.push(pose);
        }
    }
    poses
}

/// Plain ways up closer than this are one, radians.
const SAME_PLAIN: f64 = 1e-5;

/// Returns a frame that turns with the part: its largest resting face, then the largest that stands across it.
fn own_frame(faces: &[HullFace]) -> [Vector; 3] {
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hull::convex;
    use crate::samples::block;

    #[test]
    fn a_block_rests_on_six_faces_and_the_cover_has_218_directions() {
        let hull = convex(&block([40.0, 20.0, 10.0])).unwrap();
        let faces = resting_faces(&hull);
        assert_eq!(faces.len(), 6);
        assert!((faces[0].area_mm2 - 800.0).abs() < 1e-9 && (faces[5].area_mm2 - 200.0).abs() < 1e-9);
        assert_eq!(candidates(Some(&hull), &Wanted::default()).len(), 218);
    }

    /// Paws that end a hair above a base tilt the face of the hull: the base itself is tried too.
    #[test]
    fn a_plain_way_up_is_tried_beside_a_face_of_the_hull_that_misses_it_by_a_hair() {
        let hair = f64::to_radians(0.07);
        let off = Pose::new([0.0, hair.sin(), hair.cos()]).unwrap();
        let part = block([40.0, 20.0, 10.0]).transformed(&off.rotation(), [0.0; 3]);
        let tried = |plain: Vec<Vector>| {
            let wanted = Wanted { plain, ..Wanted::default() };
            let found = candidates(convex(&part).as_ref(), &wanted);
            found.iter().filter(|p| dot(p.up, [0.0, 0.0, 1.0]) > 1.0 - 1e-5).count()
        };
        assert_eq!((tried(Vec::new()), tried(vec![[0.0, 0.0, 1.0]])), (1, 2));
    }

    #[test]
    fn turning_the_file_turns_the_candidates() {
        let part = block([40.0, 20.0, 10.0]);
        let turn = Pose::new([0.3, -0.5, 0.7]).unwrap();
        let turned = part.transformed(&turn.rotation(), [5.0, 6.0, 7.0]);
        let here = candidates(convex(&part).as_ref(), &Wanted::default());
        let there = candidates(convex(&turned).as_ref(), &Wanted::default());
        assert_eq!(here.len(), there.len());
        for pose in &here {
            let up = turn.turn(pose.up);
            assert!(there.iter().any(|q| q.angle_to(up) < 1e-6), "{pose:?}");
        }
    }
}
