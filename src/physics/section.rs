//! Properties of cross-sections: rectangles, rounds, tubes, polygons with holes; bending and torsion constants.

use super::registry::{Function, Parameter, apply, input};
use super::{Checked, SourceNote, finite, interpolate, positive, sound};
use crate::quantity::{Angle, Area, Dimension, Length, SecondMoment, SectionModulus};
use std::f64::consts::PI;

const HANDBOOK: SourceNote =
    SourceNote::new("handbook", "mechanics of materials, e.g. Gere; Popov, Engineering Mechanics of Solids, ch. 6");
const SAINT_VENANT: SourceNote = SourceNote::new(
    "handbook",
    "Saint-Venant series, Timoshenko and Goodier, Theory of Elasticity, torsion of rectangular bars",
);

/// Bending properties about the centroid, axes parallel to the drawing axes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Section {
    /// Of the material.
    pub area: Area,
    /// Centroid in the drawing axes.
    pub centroid: [Length; 2],
    /// ∫y² dA: resists bending in y.
    pub i_xx: SecondMoment,
    /// ∫x² dA: resists bending in x.
    pub i_yy: SecondMoment,
    /// ∫xy dA: zero where the axes are principal.
    pub i_xy: SecondMoment,
    /// Distances from the centroid to the outermost fibres: [-x, +x, -y, +y].
    pub fibres: [Length; 4],
}

/// Principal second moments and the angle from the x axis to the axis of the larger one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Principal {
    /// The larger principal second moment.
    pub larger: SecondMoment,
    /// The smaller one.
    pub smaller: SecondMoment,
    /// Of the larger's axis from x.
    pub angle: Angle,
}

impl Section {
    /// Returns the properties of a polygon with holes, corners in mm; the outer ring counter-clockwise, holes clockwise.
    ///
    /// Shoelace sums (handbook). `Err` if a corner is not finite or the signed area is not above zero.
    pub fn polygon(rings: &[Vec<[f64; 2]>]) -> Checked<Section> {
        let mut sums = Sums::default();
        // About a corner of the section itself: far from the origin the sums would cancel most of their digits.
        let origin = rings.iter().find_map(|r| r.first()).copied().unwrap_or_default();
        let local = |p: &[f64; 2]| [p[0] - origin[0], p[1] - origin[1]];
        for ring in rings {
            for (i, a) in ring.iter().enumerate() {
                finite("corner", a[0] + a[1])?;
                let b = ring.get(i + 1).or_else(|| ring.first()).unwrap_or(a);
                sums.add(local(a), local(b));
            }
        }
        let mut section = sums.section()?;
        let [x, y] = section.centroid.map(Length::to_mm);
        section.centroid = [sound(Length::mm(x + origin[0]))?, sound(Length::mm(y + origin[1]))?];
        Ok(section)
    }

    /// Returns the torsion modulus of a solid section, taken as the rectangle of its area and ratio of principal moments.
    ///
    /// An estimate for compact solid sections (computed); hollow or branched ones need a finite-element solution.
    pub fn torsion_modulus_estimate(&self) -> Checked<SectionModulus> {
        let p = self.principal();
        let small = positive("a smaller principal moment", p.smaller.to_mm4())?;
        let ratio = (p.larger.to_mm4() / small).sqrt();
        let short = (self.area.to_mm2() / ratio).sqrt();
        rectangle_torsion_modulus(Length::mm(short * ratio), Length::mm(short))
    }

    /// Returns the principal second moments: `(Ix+Iy)/2 ± sqrt(((Ix-Iy)/2)² + Ixy²)`, `tan 2θ = -2 Ixy/(Ix - Iy)`.
    pub fn principal(&self) -> Principal {
        let (x, y, xy) = (self.i_xx.to_mm4(), self.i_yy.to_mm4(), self.i_xy.to_mm4());
        let middle = 0.5 * (x + y);
        let radius = (0.25 * (x - y).powi(2) + xy * xy).sqrt();
        Principal {
            larger: SecondMoment::mm4(middle + radius),
            smaller: SecondMoment::mm4((middle - radius).max(0.0)),
            angle: Angle::rad(0.5 * (-2.0 * xy).atan2(x - y)),
        }
    }
}

#[derive(Default)]
struct Sums {
    area: f64,
    sx: f64,
    sy: f64,
    xx: f64,
    yy: f64,
    xy: f64,
    bounds: Option<[f64; 4]>,
}

impl Sums {
    fn add(&mut self, a: [f64; 2], b: [f64; 2]) {
        let ([x0, y0], [x1, y1]) = (a, b);
        let c = x0 * y1 - x1 * y0;
        self.area += c / 2.0;
        self.sx += c * (y0 + y1) / 6.0;
        self.sy += c * (x0 + x1) / 6.0;
        self.xx += c * (y0 * y0 + y0 * y1 + y1 * y1) / 12.0;
        self.yy += c * (x0 * x0 + x0 * x1 + x1 * x1) / 12.0;
        self.xy += c * (x0 * y1 + 2.0 * x0 * y0 + 2.0 * x1 * y1 + x1 * y0) / 24.0;
        let [l, r, d, u] = self.bounds.unwrap_or([x0, x0, y0, y0]);
        self.bounds = Some([l.min(x0), r.max(x0), d.min(y0), u.max(y0)]);
    }

    fn section(self) -> Checked<Section> {
        let area = positive("a section area (outer ring counter-clockwise, holes clockwise), an area", self.area)?;
        let [l, r, d, u] = self.bounds.unwrap_or_default();
        let (cx, cy) = (self.sy / area, self.sx / area);
        Ok(Section {
            area: sound(Area::mm2(area))?,
            centroid: [sound(Length::mm(cx))?, sound(Length::mm(cy))?],
            i_xx: sound(SecondMoment::mm4(self.xx - area * cy * cy))?,
            i_yy: sound(SecondMoment::mm4(self.yy - area * cx * cx))?,
            i_xy: sound(SecondMoment::mm4(self.xy - area * cx * cy))?,
            fibres: [cx - l, r - cx, cy - d, u - cy].map(Length::mm),
        })
    }
}

/// Section modulus `I / c`.
pub fn section_modulus(second_moment: SecondMoment, fibre: Length) -> Checked<SectionModulus> {
    let i = positive("a second moment", second_moment.to_mm4())?;
    let c = positive("a fibre distance", fibre.to_mm())?;
    sound(SectionModulus::mm3(i / c))
}

/// Second moment of a rectangle, `b h³/12`, bending in the direction of `height`.
pub fn rectangle_second_moment(width: Length, height: Length) -> Checked<SecondMoment> {
    let b = positive("a width", width.to_mm())?;
    let h = positive("a height", height.to_mm())?;
    sound(SecondMoment::mm4(b * h.powi(3) / 12.0))
}

/// Section modulus of a rectangle, `b h²/6`.
pub fn rectangle_section_modulus(width: Length, height: Length) -> Checked<SectionModulus> {
    let b = positive("a width", width.to_mm())?;
    let h = positive("a height", height.to_mm())?;
    sound(SectionModulus::mm3(b * h * h / 6.0))
}

/// Second moment of a round or tube, `π (D⁴ - d⁴)/64`; `inner` 0 for a solid one.
pub fn tube_second_moment(outer: Length, inner: Length) -> Checked<SecondMoment> {
    let (outer, inner) = tube(outer, inner)?;
    sound(SecondMoment::mm4(PI * (outer.powi(4) - inner.powi(4)) / 64.0))
}

/// Section modulus of a round or tube in bending, `π (D⁴ - d⁴)/(32 D)`; twice that resists torsion.
pub fn tube_section_modulus(outer: Length, inner: Length) -> Checked<SectionModulus> {
    let (outer, inner) = tube(outer, inner)?;
    sound(SectionModulus::mm3(PI * (outer.powi(4) - inner.powi(4)) / (32.0 * outer)))
}

/// Torsion constant of a round or tube, `J = π (D⁴ - d⁴)/32`.
pub fn tube_torsion_constant(outer: Length, inner: Length) -> Checked<SecondMoment> {
    tube_second_moment(outer, inner).and_then(|i| sound(SecondMoment::mm4(2.0 * i.to_mm4())))
}

fn tube(outer: Length, inner: Length) -> Checked<(f64, f64)> {
    let o = positive("an outer diameter", outer.to_mm())?;
    let i = super::not_negative("an inner diameter", inner.to_mm())?;
    if i >= o {
        return Err("expected an inner diameter smaller than the outer one".to_owned());
    }
    Ok((o, i))
}

/// Saint-Venant coefficients of rectangles by side ratio: (ratio, α, β) for `τ = T/(α a b²)`, `J = β a b³`.
const TORSION: [(f64, f64, f64); 11] = [
    (1.0, 0.2082, 0.1406),
    (1.2, 0.2189, 0.1661),
    (1.5, 0.2310, 0.1958),
    (2.0, 0.2459, 0.2287),
    (2.5, 0.2576, 0.2494),
    (3.0, 0.2672, 0.2633),
    (4.0, 0.2817, 0.2808),
    (5.0, 0.2915, 0.2913),
    (6.0, 0.2984, 0.2983),
    (8.0, 0.3071, 0.3071),
    (10.0, 0.3123, 0.3123),
];

/// Returns (α, β, long side, short side) in mm; both coefficients go to 1/3 for a thin strip.
fn rectangle_torsion(side_a: Length, side_b: Length) -> Checked<(f64, f64, f64, f64)> {
    let (p, q) = (positive("a side", side_a.to_mm())?, positive("a side", side_b.to_mm())?);
    let (long, short) = (p.max(q), p.min(q));
    let ratio = long / short;
    if ratio > 10.0 {
        // (1 - 0.63/ratio)/3: the same series for thin strips, continuous with the table to 0.1 %.
        let thin = (1.0 - 0.63 / ratio) / 3.0;
        return Ok((thin, thin, long, short));
    }
    let column = |pick: fn(&(f64, f64, f64)) -> f64| {
        let points = TORSION.map(|row| (row.0, pick(&row)));
        interpolate(&points, ratio)
    };
    Ok((column(|r| r.1), column(|r| r.2), long, short))
}

/// Torsion constant of a rectangle, `J = β a b³` (a the longer side).
///
/// Source: Saint-Venant series (handbook table, linear between rows, at most 1 % low). Solid rectangles only.
pub fn rectangle_torsion_constant(side_a: Length, side_b: Length) -> Checked<SecondMoment> {
    let (_, beta, a, b) = rectangle_torsion(side_a, side_b)?;
    sound(SecondMoment::mm4(beta * a * b.powi(3)))
}

/// Torsion modulus of a rectangle, `α a b²`: the torque over it is the largest shear stress.
pub fn rectangle_torsion_modulus(side_a: Length, side_b: Length) -> Checked<SectionModulus> {
    let (alpha, _, a, b) = rectangle_torsion(side_a, side_b)?;
    sound(SectionModulus::mm3(alpha * a * b * b))
}

const WIDTH: Parameter = input("width", Dimension::LENGTH, "width");
const HEIGHT: Parameter = input("height", Dimension::LENGTH, "height in the direction of bending");
const OUTER: Parameter = input("outer_diameter", Dimension::LENGTH, "outer diameter");
const INNER: Parameter = input("inner_diameter", Dimension::LENGTH, "inner diameter, 0 mm for solid");
const SIDE_A: Parameter = input("side_a", Dimension::LENGTH, "one side");
const SIDE_B: Parameter = input("side_b", Dimension::LENGTH, "other side");

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        name: "rectangle_second_moment",
        inputs: &[WIDTH, HEIGHT],
        output: Dimension::SECOND_MOMENT,
        formula: "b h^3/12",
        source: HANDBOOK,
        help: "second moment of a rectangle",
        example: &["10 mm", "20 mm"],
        evaluate: apply!(rectangle_second_moment; 0 1),
    },
    Function {
        name: "rectangle_section_modulus",
        inputs: &[WIDTH, HEIGHT],
        output: Dimension::VOLUME,
        formula: "b h^2/6",
        source: HANDBOOK,
        help: "section modulus of a rectangle",
        example: &["10 mm", "20 mm"],
        evaluate: apply!(rectangle_section_modulus; 0 1),
    },
    Function {
        name: "tube_second_moment",
        inputs: &[OUTER, INNER],
        output: Dimension::SECOND_MOMENT,
        formula: "pi (D^4 - d^4)/64",
        source: HANDBOOK,
        help: "second moment of a round or tube",
        example: &["12 mm", "8 mm"],
        evaluate: apply!(tube_second_moment; 0 1),
    },
    Function {
        name: "tube_section_modulus",
        inputs: &[OUTER, INNER],
        output: Dimension::VOLUME,
        formula: "pi (D^4 - d^4)/(32 D)",
        source: HANDBOOK,
        help: "section modulus of a round or tube in bending",
        example: &["12 mm", "0 mm"],
        evaluate: apply!(tube_section_modulus; 0 1),
    },
    Function {
        name: "tube_torsion_constant",
        inputs: &[OUTER, INNER],
        output: Dimension::SECOND_MOMENT,
        formula: "pi (D^4 - d^4)/32",
        source: HANDBOOK,
        help: "torsion constant of a round or tube",
        example: &["12 mm", "8 mm"],
        evaluate: apply!(tube_torsion_constant; 0 1),
    },
    Function {
        name: "rectangle_torsion_constant",
        inputs: &[SIDE_A, SIDE_B],
        output: Dimension::SECOND_MOMENT,
        formula: "beta a b^3, beta by side ratio from 0.1406 to 1/3",
        source: SAINT_VENANT,
        help: "torsion constant of a solid rectangle",
        example: &["40 mm", "10 mm"],
        evaluate: apply!(rectangle_torsion_constant; 0 1),
    },
    Function {
        name: "rectangle_torsion_modulus",
        inputs: &[SIDE_A, SIDE_B],
        output: Dimension::VOLUME,
        formula: "alpha a b^2, alpha by side ratio from 0.2082 to 1/3",
        source: SAINT_VENANT,
        help: "torque over the largest shear stress of a solid rectangle",
        example: &["40 mm", "10 mm"],
        evaluate: apply!(rectangle_torsion_modulus; 0 1),
    },
    Function {
        name: "section_modulus",
        inputs: &[
            input("second_moment", Dimension::SECOND_MOMENT, "second moment of area"),
            input("fibre", Dimension::LENGTH, "distance from the neutral axis to the outermost fibre"),
        ],
        output: Dimension::VOLUME,
        formula: "I/c",
        source: HANDBOOK,
        help: "section modulus",
        example: &["6667 mm4", "10 mm"],
        evaluate: apply!(section_modulus; 0 1),
    },
];
