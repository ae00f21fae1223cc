//! Area, centroid, second moments, principal axes and section moduli.

use super::nest::pairs;
use super::{Point2, Section};

/// Properties of a section, in the coordinates of its frame; lengths in mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SectionProperties {
    /// Area of the section.
    pub area_mm2: f64,
    /// Centroid, mm.
    pub centroid: Point2,
    /// Second moments about the centroid: ∫ v² dA (about the u axis), ∫ u² dA, ∫ u v dA.
    pub i_u_mm4: f64,
    /// Second moment about the v axis.
    pub i_v_mm4: f64,
    /// Product moment.
    pub i_uv_mm4: f64,
    /// The larger and the smaller principal second moment.
    pub principal_mm4: [f64; 2],
    /// The axis of the larger one, as an angle from u towards v, in radians, within (-π/2, π/2].
    pub principal_angle: f64,
}

/// ∫ dA, u, v, v², u², u v dA over an outline, by its sides.
fn sums(outline: &[Point2], origin: Point2) -> [f64; 6] {
    let mut s = [0.0; 6];
    for (p, q) in pairs(outline) {
        let ([x0, y0], [x1, y1]) = ([p[0] - origin[0], p[1] - origin[1]], [q[0] - origin[0], q[1] - origin[1]]);
        let c = x0 * y1 - x1 * y0;
        s[0] += c / 2.0;
        s[1] += c * (x0 + x1) / 6.0;
        s[2] += c * (y0 + y1) / 6.0;
        s[3] += c * (y0 * y0 + y0 * y1 + y1 * y1) / 12.0;
        s[4] += c * (x0 * x0 + x0 * x1 + x1 * x1) / 12.0;
        s[5] += c * (x0 * y1 + 2.0 * x0 * y0 + 2.0 * x1 * y1 + x1 * y0) / 24.0;
    }
    s
}

impl SectionProperties {
    /// Returns the properties of all regions together; `None` for a section without area.
    pub fn of(section: &Section) -> Option<Self> {
        // Sums about a point of the section, so that a section far from its frame's origin loses nothing.
        let origin = *section.regions.first()?.outer.first()?;
        let mut s = [0.0; 6];
        for outline in section.outlines() {
            for (total, part) in s.iter_mut().zip(sums(outline, origin)) {
                *total += part;
            }
        }
        let [area, su, sv, vv, uu, uv] = s;
        if area <= 0.0 || !area.is_finite() {
            return None;
        }
        let (cu, cv) = (su / area, sv / area);
        let (i_u, i_v, i_uv) = (vv - area * cv * cv, uu - area * cu * cu, uv - area * cu * cv);
        let middle = (i_u + i_v) / 2.0;
        let half = (i_u - i_v) / 2.0;
        let radius = half.hypot(i_uv);
        // tan 2θ = -2 Iuv / (Iu - Iv); atan2 picks the axis of the larger moment.
        let angle = 0.5 * (-i_uv).atan2(half);
        Some(Self {
            area_mm2: area,
            centroid: [cu + origin[0], cv + origin[1]],
            i_u_mm4: i_u,
            i_v_mm4: i_v,
            i_uv_mm4: i_uv,
            principal_mm4: [middle + radius, middle - radius],
            principal_angle: if radius <= 1e-12 * middle { 0.0 } else { angle },
        })
    }

    /// Returns the second moment about the axis through the centroid along `direction` (in the frame), mm⁴.
    pub fn second_moment(&self, direction: Point2) -> f64 {
        let length2 = direction[0] * direction[0] + direction[1] * direction[1];
        let [a, b] = direction;
        (self.i_u_mm4 * a * a + self.i_v_mm4 * b * b - 2.0 * self.i_uv_mm4 * a * b) / length2
    }

    /// Returns how far the section reaches to the right and to the left of the axis through the centroid along
    /// `direction`, both positive, mm.
    pub fn reach(&self, section: &Section, direction: Point2) -> [f64; 2] {
        let length = direction[0].hypot(direction[1]);
        let offset =
            |p: &Point2| (direction[0] * (p[1] - self.centroid[1]) - direction[1] * (p[0] - self.centroid[0])) / length;
        section.outlines().flatten().map(offset).fold([0.0, 0.0], |[right, left], o| [right.max(-o), left.max(o)])
    }

    /// Returns the elastic section modulus about the axis through the centroid along `direction`, for the side that
    /// reaches farther, mm³: bending moment over this is the largest stress if the axis is a principal one.
    pub fn modulus(&self, section: &Section, direction: Point2) -> f64 {
        let [right, left] = self.reach(section, direction);
        self.second_moment(direction) / right.max(left)
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Frame, Region};
    use super::*;

    fn section(regions: Vec<Region>) -> Section {
        let frame = Frame::new([0.0; 3], [0.0, 0.0, 1.0]).expect("a frame");
        let mut s = Section { frame, regions, open_outlines: 0, uneven: false, properties: None };
        s.properties = SectionProperties::of(&s);
        s
    }

    fn close(found: f64, truth: f64, relative: f64) {
        assert!((found - truth).abs() <= relative * truth.abs().max(1e-6), "{found}, should be {truth}");
    }

    fn rectangle(x: [f64; 2], y: [f64; 2]) -> Vec<Point2> {
        vec![[x[0], y[0]], [x[1], y[0]], [x[1], y[1]], [x[0], y[1]]]
    }

    /// E. P. Popov, Engineering Mechanics of Solids, example 6.3, p. 293 (case BM-04, handbook).
    #[test]
    fn rectangle_with_an_eccentric_hole_as_popov_has_it() {
        let mut hole = rectangle([10.0, 30.0], [20.0, 50.0]);
        hole.reverse();
        let s = section(vec![Region { outer: rectangle([0.0, 40.0], [0.0, 60.0]), holes: vec![hole] }]);
        let p = s.properties.expect("an area");
        close(p.area_mm2, 1800.0, 1e-12);
        close(p.centroid[1], 28.333_333_333, 1e-9);
        close(p.i_u_mm4, 655_000.0, 1e-9);
        close(p.i_v_mm4, 300_000.0, 1e-9);
        close(p.i_uv_mm4, 0.0, 1e-6);
        // The far side is the top: 60 - 28.333.
        close(p.modulus(&s, [1.0, 0.0]), 655_000.0 / 31.666_666_667, 1e-9);
    }

    /// A. Pytel and J. Kiusalaas, Mechanics of Materials, example A.4, p. 495 (case BM-05, handbook): web 30 x 200,
    /// foot 130 x 30.
    #[test]
    fn l_section_principal_moments_as_pytel_has_them() {
        let outer = vec![[0.0, 0.0], [160.0, 0.0], [160.0, 30.0], [30.0, 30.0], [30.0, 200.0], [0.0, 200.0]];
        let p = section(vec![Region { outer, holes: Vec::new() }]).properties.expect("an area");
        close(p.centroid[0], 46.515, 1e-4);
        close(p.centroid[1], 66.515, 1e-4);
        close(p.i_u_mm4, 37.370e6, 1e-4);
        close(p.i_v_mm4, 21.070e6, 1e-4);
        close(p.i_uv_mm4, -16.073e6, 1e-4);
        close(p.principal_mm4[0], 47.2407e6, 1e-4);
        close(p.principal_mm4[1], 11.1988e6, 1e-4);
        close(p.principal_angle.to_degrees(), 31.56, 1e-3);
        let axis = [p.principal_angle.cos(), p.principal_angle.sin()];
        close(p.second_moment(axis), p.principal_mm4[0], 1e-9);
    }
}
