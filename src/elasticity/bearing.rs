//! What presses on parts of the surface: holds and loads as pressures between bodies, not within one.

use crate::geometry::vector::{Vector, add, dot, norm, normalise, scale};

/// What something presses on the body with.
#[derive(Debug, Clone, PartialEq)]
pub struct Bearing {
    /// The name of the hold or load.
    pub of: String,
    /// What presses, N, into the body: pulls and shears are none of it.
    pub newtons: Vector,
    /// Of the surface that is pressed, as seen along that force, mm²: of a bore its diameter times its length.
    pub area_mm2: f64,
    /// Whether it presses on flats by their edges, as what turns in a socket does: then that is the hardest pressed place's share of
    /// it, and the quotient is the pressure there; else all of the surface bears.
    pub edge: bool,
}

/// Less than this share of all that presses and pulls on a patch is a couple and no force.
const COUPLE: f64 = 0.1;

impl Bearing {
    /// Adds up the points of a patch: outward normal, area, and the force on the body by area there. What pulls at one side of what is
    /// modelled as stuck presses less, and all of the surface counts though its rim is pressed most: a head, a foot or a pin beds
    /// in there and bears on the rest. `None` where it does not press on the whole.
    pub fn of(name: &str, points: impl Iterator<Item = (Vector, f64, Vector)>) -> Option<Self> {
        let all: Vec<(Vector, f64, f64)> =
            points.map(|(normal, area, traction)| (normal, area, -dot(traction, normal))).collect();
        let newtons = all.iter().fold([0.0; 3], |sum, (normal, area, mpa)| add(sum, scale(*normal, -mpa * area)));
        let way = normalise(newtons);
        let area_mm2: f64 = all.iter().map(|(normal, area, _)| area * (-dot(*normal, way)).max(0.0)).sum();
        // What presses here and pulls there as much turns, and bears on nothing.
        let gross: f64 = all.iter().map(|(_, area, mpa)| (mpa * area).abs()).sum();
        (norm(newtons) > COUPLE * gross && area_mm2 > 0.0).then(|| Self {
            of: name.to_owned(),
            newtons,
            area_mm2,
            edge: false,
        })
    }

    /// Returns a place that nothing presses on.
    pub fn none(name: &str) -> Self {
        Self { of: name.to_owned(), newtons: [0.0; 3], area_mm2: 0.0, edge: false }
    }

    /// Returns the mean pressure, MPa; at edges that at the hardest pressed place.
    pub fn mpa(&self) -> f64 {
        if self.area_mm2 > 0.0 { norm(self.newtons) / self.area_mm2 } else { 0.0 }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::{PI, TAU};

    // The bearing stress of a pin is its force over diameter times length (Gere, *Mechanics of Materials*, ch. 1): a bore of
    // 10 mm, 6 mm long, pressed by p0 cos(angle) on one half, whose forces add up to p0 pi d l / 4.
    #[test]
    fn a_pin_bears_on_its_diameter_times_its_length() {
        let n = 3600;
        let area = PI * 10.0 * 6.0 / f64::from(n);
        let at = |i: i32| {
            let (sin, cos) = (TAU * (f64::from(i) + 0.5) / f64::from(n)).sin_cos();
            // Outward of the body is toward the axis; what presses pushes away from it.
            ([-cos, -sin, 0.0], area, [8.0 * cos.max(0.0) * cos, 8.0 * cos.max(0.0) * sin, 0.0])
        };
        let b = Bearing::of("pin", (0..n).map(at)).unwrap();
        assert!((b.area_mm2 - 60.0).abs() < 0.01 && (b.mpa() - 8.0 * PI / 4.0).abs() < 0.01, "{b:?}");
        assert!(b.newtons[0] > 0.0 && b.newtons[1].abs() < 1e-9);
        // A ring that is pressed by 3 on one half and pulled by 1 on the other is pressed by 1.
        let halves = || [-3.0, 1.0].into_iter().map(|t| ([0.0, 0.0, 1.0], 10.0, [0.0, 0.0, t]));
        assert!((Bearing::of("head", halves()).unwrap().mpa() - 1.0).abs() < 1e-9);
        // A couple is none.
        let couple = [-3.0, 2.9].into_iter().map(|t| ([0.0, 0.0, 1.0], 10.0, [0.0, 0.0, t]));
        assert_eq!(Bearing::of("key", couple), None);
        // What only pulls does not press.
        assert_eq!(Bearing::of("pull", std::iter::once(([0.0, 0.0, 1.0], 4.0, [0.0, 0.0, 3.0]))), None);
    }
}
