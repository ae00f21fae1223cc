//! Poses: which way up a part is printed, and what the facets alone say about each way.
//!
//! A pose names the part direction that points up in the printer (ISO 17295 build direction +Z); the turn about the
//! vertical is chosen afterwards, to make the footprint small.

pub mod candidates;
pub mod facets;
pub mod footprint;

use super::mesh::{Mesh, Point};
use super::vector::{Vector, cross, dot, normalise, rotate};

/// Two directions closer than this are one (radians, about half a degree).
pub(crate) const SAME_DIRECTION: f64 = 0.009;

/// A way up: the unit vector, in part axes, that points along the build direction.
#[derive(Debug, Clone, PartialEq)]
pub struct Pose {
    /// Unit vector, in part axes.
    pub up: Vector,
    /// `+z`, or the components where it is no axis; `as placed (+z)` for the pose of the file.
    pub label: String,
}

impl Pose {
    /// Returns the pose with `up` made a unit vector and a label of its own; `None` where `up` has no direction.
    pub fn new(up: Vector) -> Option<Self> {
        let up = normalise(up);
        if up == [0.0; 3] || !up.iter().all(|c| c.is_finite()) {
            return None;
        }
        let up = settle(up);
        Some(Self { up, label: name(up) })
    }

    /// The pose in which the file itself places the part: its z axis up.
    pub fn as_placed() -> Self {
        let up = [0.0, 0.0, 1.0];
        Self { up, label: name(up) }
    }

    /// Returns the rotation from part axes to printer axes, by rows; `up` becomes +z by the shortest turn.
    pub fn rotation(&self) -> [[f64; 3]; 3] {
        let [x, y, z] = self.up;
        // Beyond the equator the shortest turn loses digits, so the part is first tipped over about x.
        let flip = if z < -0.5 { -1.0 } else { 1.0 };
        let (y, z) = (flip * y, flip * z);
        let k = 1.0 / (1.0 + z);
        let rows = [[1.0 - x * x * k, -x * y * k, -x], [-x * y * k, 1.0 - y * y * k, -y], [x, y, z]];
        rows.map(|r| [r[0], flip * r[1], flip * r[2]])
    }

    /// Returns the mesh in printer axes, resting on z = 0 and centred on the vertical axis; also the offset used.
    pub fn place(&self, mesh: &Mesh) -> (Mesh, Point) {
        let rotation = self.rotation();
        let turned = mesh.transformed(&rotation, [0.0; 3]);
        let bounds = turned.bounds();
        if bounds.is_empty() {
            return (turned, [0.0; 3]);
        }
        let centre = bounds.centre();
        let offset = [-centre[0], -centre[1], -bounds.min[2]];
        let mut placed = turned;
        for v in &mut placed.vertices {
            *v = super::vector::add(*v, offset);
        }
        (placed, offset)
    }

    /// Returns where a point in printer axes (as [`Self::place`] made them) lies in the part.
    pub fn to_part(&self, offset: Point, printed: Point) -> Point {
        let r = self.rotation();
        let p = super::vector::sub(printed, offset);
        [0, 1, 2].map(|k| dot([r[0][k], r[1][k], r[2][k]], p))
    }

    /// Returns the angle between the two up directions, in radians.
    pub fn angle_to(&self, up: Vector) -> f64 {
        angle(self.up, up)
    }

    /// Returns a printer-axes direction for a part direction.
    pub fn turn(&self, direction: Vector) -> Vector {
        rotate(&self.rotation(), direction)
    }
}

/// Returns the angle between two unit vectors in radians; exact for small angles too.
pub(crate) fn angle(a: Vector, b: Vector) -> f64 {
    super::vector::norm(cross(a, b)).atan2(dot(a, b))
}

/// Snaps a direction that is an axis but for rounding to that axis.
fn settle(up: Vector) -> Vector {
    for k in 0..3 {
        let mut axis = [0.0; 3];
        axis[k] = 1.0_f64.copysign(up[k]);
        // Single-precision mesh files carry normals to about 1e-5.
        if angle(axis, up) < 2e-5 {
            return axis;
        }
    }
    up
}

/// The name of a pose, the same wherever one is named: the axis of the file that points down, and by how much the part leans
/// from it, as seen along the third axis.
pub fn name(up: Vector) -> String {
    let down = up.map(|c| -c);
    let mut axes = [0, 1, 2];
    axes.sort_by(|a, b| down[*b].abs().total_cmp(&down[*a].abs()));
    let signed = |axis: usize| format!("{}{}", if down[axis] > 0.0 { "+" } else { "-" }, ["x", "y", "z"][axis]);
    let [near, rest @ ..] = axes;
    let tilts: Vec<String> = rest
        .iter()
        .map(|&axis| (axis, down[axis].abs().atan2(down[near].abs()).to_degrees()))
        .filter(|(_, degrees)| *degrees >= SAME_DIRECTION.to_degrees())
        .map(|(axis, degrees)| format!("{degrees:.0}° toward {}", signed(axis)))
        .collect();
    match tilts.is_empty() {
        true => format!("{} down", signed(near)),
        false => format!("{} down, tilted {}", signed(near), tilts.join(" and ")),
    }
}

/// Returns the way up that a name means, as [`name`] writes it; `+z up` and a bare `-z down` are names too.
pub fn read(text: &str) -> Option<Vector> {
    let mut words = text.split([' ', ',']).filter(|w| !w.is_empty());
    let mut direction = axis(words.next()?)?;
    let way = match words.next()? {
        "down" => -1.0,
        "up" => 1.0,
        _ => return None,
    };
    let (near, mut rest) = (direction, words.skip_while(|w| matches!(*w, "tilted" | "leaning")).peekable());
    while rest.peek().is_some() {
        let degrees: f64 = rest.next()?.strip_suffix('°')?.parse().ok()?;
        let toward = rest.next().filter(|w| *w == "toward").and_then(|_| axis(rest.next()?))?;
        if !(0.0..90.0).contains(&degrees) || dot(near, toward) != 0.0 {
            return None;
        }
        direction = super::vector::add(direction, super::vector::scale(toward, degrees.to_radians().tan()));
        if rest.next_if_eq(&"and").is_none() && rest.peek().is_some() {
            return None;
        }
    }
    Some(super::vector::scale(normalise(direction), way))
}

fn axis(word: &str) -> Option<Vector> {
    let mut axis = [0.0; 3];
    let (sign, name) = word.split_at_checked(1)?;
    let k = ["x", "y", "z"].iter().position(|n| *n == name)?;
    axis[k] = match sign {
        "+" => 1.0,
        "-" => -1.0,
        _ => return None,
    };
    Some(axis)
}

/// The words of a direction: a signed axis, else its components.
pub(crate) fn label(up: Vector) -> String {
    for (k, name) in ["x", "y", "z"].iter().enumerate() {
        let mut axis = [0.0; 3];
        axis[k] = 1.0_f64.copysign(up[k]);
        if angle(axis, up) < SAME_DIRECTION {
            return format!("{}{name}", if up[k] < 0.0 { '-' } else { '+' });
        }
    }
    // Adding zero turns a rounded minus zero into zero.
    let r = up.map(|c| (c * 1000.0).round() / 1000.0 + 0.0);
    format!("({:.3}, {:.3}, {:.3})", r[0], r[1], r[2])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::vector::determinant;

    #[test]
    fn a_rotation_takes_up_to_z_and_keeps_hands() {
        let ups = [
            [0.0, 0.0, 1.0],
            [0.0, 0.0, -1.0],
            [1.0, 0.0, 0.0],
            [0.0, -1.0, 0.0],
            [1e-9, 0.0, -1.0],
            [1.0, -2.0, -3.0],
        ];
        for up in ups {
            let pose = Pose::new(up).unwrap();
            let r = pose.rotation();
            let z = pose.turn(pose.up);
            assert!((z[2] - 1.0).abs() < 1e-12 && z[0].abs() < 1e-12 && z[1].abs() < 1e-12, "{up:?} {z:?}");
            assert!((determinant(&r) - 1.0).abs() < 1e-12);
        }
        assert!(Pose::new([0.0; 3]).is_none());
        assert!(Pose::new([f64::NAN, 0.0, 1.0]).is_none());
    }

    #[test]
    fn a_printed_place_leads_back_to_the_part() {
        let mesh = Mesh {
            vertices: vec![[5.0, 6.0, 7.0], [6.0, 6.0, 7.0], [5.0, 8.0, 7.0], [5.0, 6.0, 10.0]],
            triangles: vec![[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]],
        };
        let pose = Pose::new([1.0, -2.0, -3.0]).unwrap();
        let (placed, offset) = pose.place(&mesh);
        assert!(placed.bounds().min[2].abs() < 1e-12);
        for (p, q) in placed.vertices.iter().zip(&mesh.vertices) {
            assert!(crate::vector::distance(pose.to_part(offset, *p), *q) < 1e-12);
        }
    }

    #[test]
    fn labels_are_signed_axes_or_components() {
        assert_eq!(label([0.0, -1.0, 0.0]), "-y");
        let r = std::f64::consts::FRAC_1_SQRT_2;
        assert_eq!(label([r, 0.0, r]), "(0.707, 0.000, 0.707)");
    }

    #[test]
    fn a_pose_is_named_by_what_is_down_and_says_every_lean() {
        let named = |up: Vector| Pose::new(up).unwrap().label;
        assert_eq!(named([0.0, -2.0, 0.0]), "+y down");
        assert_eq!(Pose::as_placed().label, "-z down");
        assert_eq!(named([1.0, 0.0, 1.0]), "-x down, tilted 45° toward -z");
        for up in [[0.0, -2.0, 0.0], [1.0, 0.0, 1.0], [0.3, -0.5, 0.7], [-0.2, 0.1, -0.9]] {
            let up = normalise(up);
            assert!(angle(read(&named(up)).unwrap(), up).to_degrees() < 0.8, "{}", named(up));
        }
        assert_eq!(read("+z up"), Some([0.0, 0.0, 1.0]));
        for no in [
            "",
            "z down",
            "-z",
            "-z sideways",
            "-z down, tilted 95° toward +x",
            "-z down, tilted 5° toward +z",
            "-z down, tilted 5°",
        ] {
            assert_eq!(read(no), None, "{no}");
        }
        // Two degrees are a lean: the part does not lie on its side.
        assert_eq!(named([0.035, 0.0, 1.0]), "-z down, tilted 2° toward -x");
        assert_eq!(named([0.004, 0.0, 1.0]), "-z down");
    }
}
