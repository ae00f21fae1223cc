//! Beams, rods and shafts: small-deflection elastic formulas.

use super::registry::{Function, Parameter, apply, input, number};
use super::section::Section;
use super::{Checked, SourceNote, finite, not_negative, positive, sound, within};
use crate::quantity::{Angle, Area, Dimension, Force, Length, LineLoad, SecondMoment, SectionModulus, Stress, Torque};
use std::f64::consts::PI;

const HANDBOOK: SourceNote =
    SourceNote::new("handbook", "elastic beam theory, e.g. Pytel and Kiusalaas, Mechanics of Materials, ch. 5-6");
const SHAFT: SourceNote = SourceNote::new("handbook", "Beer, Johnston, DeWolf, Mechanics of Materials, ch. 3");

/// Bending stress at the root of a cantilever with a load at its tip: `σ = F L / W`.
pub fn cantilever_stress(force: Force, length: Length, modulus: SectionModulus) -> Checked<Stress> {
    let f = not_negative("a force", force.to_n())?;
    let l = positive("a length", length.to_mm())?;
    let w = positive("a section modulus", modulus.to_mm3())?;
    sound(Stress::mpa(f * l / w))
}

/// Tip deflection of a cantilever with a load at its tip: `F L³/(3 E I)`.
///
/// Slender beams (length above about 10 heights; shear is left out) and small deflections (below about L/10).
pub fn cantilever_deflection(force: Force, length: Length, e: Stress, i: SecondMoment) -> Checked<Length> {
    let f = not_negative("a force", force.to_n())?;
    deflection(f * positive("a length", length.to_mm())?.powi(3) / 3.0, e, i)
}

/// Tip deflection of a cantilever under a uniform load: `w L⁴/(8 E I)`.
pub fn cantilever_uniform_deflection(load: LineLoad, length: Length, e: Stress, i: SecondMoment) -> Checked<Length> {
    let w = not_negative("a load per length", load.to_n_per_mm())?;
    deflection(w * positive("a length", length.to_mm())?.powi(4) / 8.0, e, i)
}

/// Root stress of a cantilever under a uniform load: `w L²/(2 W)`.
pub fn cantilever_uniform_stress(load: LineLoad, length: Length, modulus: SectionModulus) -> Checked<Stress> {
    let q = not_negative("a load per length", load.to_n_per_mm())?;
    let l = positive("a length", length.to_mm())?;
    let w = positive("a section modulus", modulus.to_mm3())?;
    sound(Stress::mpa(q * l * l / (2.0 * w)))
}

/// Mid deflection of a beam on two supports with a load in the middle: `F L³/(48 E I)`.
pub fn supported_deflection(force: Force, span: Length, e: Stress, i: SecondMoment) -> Checked<Length> {
    let f = not_negative("a force", force.to_n())?;
    deflection(f * positive("a span", span.to_mm())?.powi(3) / 48.0, e, i)
}

/// Load in the middle of a beam on two supports that gives a deflection: `48 E I δ/L³`.
///
/// With a creep modulus in place of E: the load it holds for that time (Crawford p. 56).
pub fn supported_load(deflection: Length, span: Length, e: Stress, i: SecondMoment) -> Checked<Force> {
    let d = not_negative("a deflection", deflection.to_mm())?;
    let l = positive("a span", span.to_mm())?;
    let e = positive("a modulus", e.to_mpa())?;
    let i = positive("a second moment", i.to_mm4())?;
    sound(Force::n(48.0 * e * i * d / l.powi(3)))
}

/// Stress in the middle of a beam on two supports with a load in the middle: `F L/(4 W)`.
pub fn supported_stress(force: Force, span: Length, modulus: SectionModulus) -> Checked<Stress> {
    let f = not_negative("a force", force.to_n())?;
    let l = positive("a span", span.to_mm())?;
    let w = positive("a section modulus", modulus.to_mm3())?;
    sound(Stress::mpa(f * l / (4.0 * w)))
}

/// Deflection `numerator / (E I)`, numerator in N mm³.
fn deflection(numerator: f64, e: Stress, i: SecondMoment) -> Checked<Length> {
    let e = positive("a modulus", e.to_mpa())?;
    let i = positive("a second moment", i.to_mm4())?;
    sound(Length::mm(numerator / (e * i)))
}

/// Bending stress at the outermost fibre: `σ = M / W`.
pub fn bending_stress(moment: Torque, modulus: SectionModulus) -> Checked<Stress> {
    let m = finite("moment", moment.to_nm())? * 1e3;
    let w = positive("a section modulus", modulus.to_mm3())?;
    sound(Stress::mpa(m / w))
}

/// Axial stress: `σ = F / A`.
pub fn axial_stress(force: Force, area: Area) -> Checked<Stress> {
    let f = finite("force", force.to_n())?;
    sound(Stress::mpa(f / positive("an area", area.to_mm2())?))
}

/// Largest shear stress of a beam section under a transverse force: `k F/A`, k = 1.5 rectangle, 4/3 round, 2 thin tube.
///
/// Source: elastic beam theory (handbook).
pub fn transverse_shear_stress(force: Force, area: Area, shape_factor: f64) -> Checked<Stress> {
    let k = within("a shape factor", shape_factor, 1.0, 10.0)?;
    axial_stress(force, area).and_then(|s| sound(Stress::mpa(k * s.to_mpa())))
}

/// Shear stress from torsion: `τ = T / Wt`, Wt the torsion modulus (twice the bending one for rounds and tubes).
pub fn torsion_stress(torque: Torque, modulus: SectionModulus) -> Checked<Stress> {
    bending_stress(torque, modulus)
}

/// Angle of twist: `φ = T L/(G J)`.
pub fn twist_angle(torque: Torque, length: Length, shear_modulus: Stress, j: SecondMoment) -> Checked<Angle> {
    let t = finite("torque", torque.to_nm())? * 1e3;
    let l = positive("a length", length.to_mm())?;
    let g = positive("a shear modulus", shear_modulus.to_mpa())?;
    sound(Angle::rad(t * l / (g * positive("a torsion constant", j.to_mm4())?)))
}

/// Shear modulus of an isotropic material: `G = E/(2(1 + ν))`. A printed part is not isotropic: an estimate.
pub fn shear_modulus(e: Stress, poisson: f64) -> Checked<Stress> {
    let nu = within("a Poisson ratio", poisson, 0.0, 0.5)?;
    sound(Stress::mpa(positive("a modulus", e.to_mpa())? / (2.0 * (1.0 + nu))))
}

/// Euler buckling force of a straight strut: `F = π² E I/(K L)²`, K = 1 pinned ends, 2 one end free, 0.5 both fixed.
///
/// Source: Euler (handbook). Slender struts only: a stocky one is crushed first.
pub fn buckling_force(e: Stress, i: SecondMoment, length: Length, end_factor: f64) -> Checked<Force> {
    let e = positive("a modulus", e.to_mpa())?;
    let i = positive("a second moment", i.to_mm4())?;
    let l = positive("a length", length.to_mm())? * within("an end factor", end_factor, 0.5, 2.5)?;
    sound(Force::n(PI * PI * e * i / (l * l)))
}

/// A force on a beam, in the axes of a section: x and y in its plane, the third along its normal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SectionLoad {
    /// Its components.
    pub force: [Force; 3],
    /// From the centroid of the section to where the force acts.
    pub lever: [Length; 3],
}

/// Stresses of a section, by kind. Tension is positive.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SectionStress {
    /// Of the pull or push alone.
    pub axial: Stress,
    /// Largest and smallest normal stress, bending included.
    pub highest: Stress,
    /// The smallest; below zero where something is pressed.
    pub lowest: Stress,
    /// Largest transverse shear stress.
    pub shear: Stress,
    /// Largest shear stress of torsion.
    pub torsion: Stress,
}

/// Stresses a force makes in a section it acts on from a distance: pull, unsymmetrical bending, shear, torsion.
///
/// `M = r × F`; bending `σ = a x + b y` from `Ixy a + Ixx b = Mx`, `Iyy a + Ixy b = -My`, taken at the corners of the
/// box round the section: exact for rectangles, on the strict side for rounds in skew bending. Shear is 1.5 V/A, torsion
/// as [`Section::torsion_modulus_estimate`]. Source: elastic beam theory (Pytel ch. 5-6, handbook). A short stub is no
/// beam: within one depth of the fixing these figures are only an order of size.
pub fn section_stress(section: &Section, load: &SectionLoad) -> Checked<SectionStress> {
    let [fx, fy, fn_] = load.force.map(Force::to_n);
    let [rx, ry, rn] = load.lever.map(Length::to_mm);
    for v in [fx, fy, fn_, rx, ry, rn] {
        finite("force or lever", v)?;
    }
    let area = positive("a section area", section.area.to_mm2())?;
    let (mx, my, mn) = (ry * fn_ - rn * fy, rn * fx - rx * fn_, rx * fy - ry * fx);
    let (ixx, iyy, ixy) = (section.i_xx.to_mm4(), section.i_yy.to_mm4(), section.i_xy.to_mm4());
    let determinant = positive("a product of second moments", ixx * iyy - ixy * ixy)?;
    let a = (-my * ixx - mx * ixy) / determinant;
    let b = (mx * iyy + my * ixy) / determinant;
    let axial = fn_ / area;
    let [left, right, down, up] = section.fibres.map(Length::to_mm);
    let (mut highest, mut lowest) = (axial, axial);
    for x in [-left, right] {
        for y in [-down, up] {
            let s = axial + a * x + b * y;
            highest = highest.max(s);
            lowest = lowest.min(s);
        }
    }
    let torsion = if mn == 0.0 { 0.0 } else { mn.abs() / section.torsion_modulus_estimate()?.to_mm3() };
    Ok(SectionStress {
        axial: sound(Stress::mpa(axial))?,
        highest: sound(Stress::mpa(highest))?,
        lowest: sound(Stress::mpa(lowest))?,
        shear: sound(Stress::mpa(1.5 * fx.hypot(fy) / area))?,
        torsion: sound(Stress::mpa(torsion))?,
    })
}

const FORCE: Parameter = input("force", Dimension::FORCE, "load");
const LENGTH: Parameter = input("length", Dimension::LENGTH, "free length");
const SPAN: Parameter = input("span", Dimension::LENGTH, "distance between supports");
const W: Parameter = input("section_modulus", Dimension::VOLUME, "section modulus");
const E: Parameter = input("modulus", Dimension::STRESS, "modulus: short-term, or creep modulus for the time held");
const I: Parameter = input("second_moment", Dimension::SECOND_MOMENT, "second moment of area");
const LOAD: Parameter = input("load", Dimension::LINE_LOAD, "load per length");
const AREA: Parameter = input("area", Dimension::AREA, "area of the section");

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        name: "cantilever_stress",
        inputs: &[FORCE, LENGTH, W],
        output: Dimension::STRESS,
        formula: "F L/W",
        source: HANDBOOK,
        help: "bending stress at the root of an arm loaded at its tip",
        example: &["80 N", "60 mm", "640 mm3"],
        evaluate: apply!(cantilever_stress; 0 1 2),
    },
    Function {
        name: "cantilever_deflection",
        inputs: &[FORCE, LENGTH, E, I],
        output: Dimension::LENGTH,
        formula: "F L^3/(3 E I)",
        source: HANDBOOK,
        help: "deflection of an arm loaded at its tip",
        example: &["80 N", "60 mm", "2 GPa", "6400 mm4"],
        evaluate: apply!(cantilever_deflection; 0 1 2 3),
    },
    Function {
        name: "cantilever_uniform_deflection",
        inputs: &[LOAD, LENGTH, E, I],
        output: Dimension::LENGTH,
        formula: "w L^4/(8 E I)",
        source: HANDBOOK,
        help: "tip deflection of an arm under a load spread evenly",
        example: &["1000 N/m", "60 mm", "2 GPa", "6400 mm4"],
        evaluate: apply!(cantilever_uniform_deflection; 0 1 2 3),
    },
    Function {
        name: "cantilever_uniform_stress",
        inputs: &[LOAD, LENGTH, W],
        output: Dimension::STRESS,
        formula: "w L^2/(2 W)",
        source: HANDBOOK,
        help: "root stress of an arm under a load spread evenly",
        example: &["1000 N/m", "60 mm", "640 mm3"],
        evaluate: apply!(cantilever_uniform_stress; 0 1 2),
    },
    Function {
        name: "supported_deflection",
        inputs: &[FORCE, SPAN, E, I],
        output: Dimension::LENGTH,
        formula: "F L^3/(48 E I)",
        source: HANDBOOK,
        help: "mid deflection of a beam on two supports loaded in the middle",
        example: &["80 N", "120 mm", "2 GPa", "6400 mm4"],
        evaluate: apply!(supported_deflection; 0 1 2 3),
    },
    Function {
        name: "supported_load",
        inputs: &[input("deflection", Dimension::LENGTH, "deflection allowed"), SPAN, E, I],
        output: Dimension::FORCE,
        formula: "48 E I d/L^3",
        source: SourceNote::new("handbook", "R. J. Crawford, Plastics Engineering, 3rd ed. 1998, Ex. 2.2, p. 56"),
        help: "mid load that gives a beam on two supports a deflection",
        example: &["5 mm", "100 mm", "347 MPa", "28 mm4"],
        evaluate: apply!(supported_load; 0 1 2 3),
    },
    Function {
        name: "supported_stress",
        inputs: &[FORCE, SPAN, W],
        output: Dimension::STRESS,
        formula: "F L/(4 W)",
        source: HANDBOOK,
        help: "stress in the middle of a beam on two supports loaded in the middle",
        example: &["80 N", "120 mm", "640 mm3"],
        evaluate: apply!(supported_stress; 0 1 2),
    },
    Function {
        name: "bending_stress",
        inputs: &[input("moment", Dimension::TORQUE, "bending moment"), W],
        output: Dimension::STRESS,
        formula: "M/W",
        source: HANDBOOK,
        help: "bending stress at the outermost fibre",
        example: &["4.8 Nm", "640 mm3"],
        evaluate: apply!(bending_stress; 0 1),
    },
    Function {
        name: "axial_stress",
        inputs: &[FORCE, AREA],
        output: Dimension::STRESS,
        formula: "F/A",
        source: HANDBOOK,
        help: "stress of a straight pull or push",
        example: &["80 N", "40 mm2"],
        evaluate: apply!(axial_stress; 0 1),
    },
    Function {
        name: "transverse_shear_stress",
        inputs: &[FORCE, AREA, number("shape_factor", "1.5 rectangle, 4/3 round, 2 thin tube")],
        output: Dimension::STRESS,
        formula: "k F/A",
        source: HANDBOOK,
        help: "largest shear stress of a beam section",
        example: &["80 N", "40 mm2", "1.5"],
        evaluate: apply!(transverse_shear_stress; 0 1 2),
    },
    Function {
        name: "torsion_stress",
        inputs: &[
            input("torque", Dimension::TORQUE, "torque"),
            input("torsion_modulus", Dimension::VOLUME, "torsion modulus"),
        ],
        output: Dimension::STRESS,
        formula: "T/Wt",
        source: SHAFT,
        help: "largest shear stress from torsion",
        example: &["2 Nm", "1127 mm3"],
        evaluate: apply!(torsion_stress; 0 1),
    },
    Function {
        name: "twist_angle",
        inputs: &[
            input("torque", Dimension::TORQUE, "torque"),
            LENGTH,
            input("shear_modulus", Dimension::STRESS, "shear modulus"),
            input("torsion_constant", Dimension::SECOND_MOMENT, "torsion constant J"),
        ],
        output: Dimension::ANGLE,
        formula: "T L/(G J)",
        source: SHAFT,
        help: "angle a shaft twists",
        example: &["2 Nm", "100 mm", "0.8 GPa", "11232 mm4"],
        evaluate: apply!(twist_angle; 0 1 2 3),
    },
    Function {
        name: "shear_modulus",
        inputs: &[E, number("poisson", "Poisson ratio, 0 to 0.5")],
        output: Dimension::STRESS,
        formula: "E/(2 (1 + nu))",
        source: SourceNote::new("handbook", "isotropic elasticity; an estimate for printed parts"),
        help: "shear modulus from the modulus",
        example: &["2.1 GPa", "0.38"],
        evaluate: apply!(shear_modulus; 0 1),
    },
    Function {
        name: "buckling_force",
        inputs: &[E, I, LENGTH, number("end_factor", "1 pinned ends, 2 one end free, 0.5 both fixed")],
        output: Dimension::FORCE,
        formula: "pi^2 E I/(K L)^2",
        source: SourceNote::new("handbook", "Euler buckling of slender struts"),
        help: "push at which a slender strut buckles",
        example: &["2 GPa", "80 mm4", "100 mm", "1"],
        evaluate: apply!(buckling_force; 0 1 2 3),
    },
];
