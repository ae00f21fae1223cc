//! Strength along and across the layers: the printed part as a ply, 1 in the layer plane, 2 along the build direction.

use super::registry::{Function, apply, input};
use super::sustained::Retention;
use super::{Checked, SourceNote, finite, not_negative, positive, sound, within};
use crate::quantity::{Angle, Dimension, Duration, Stress, Temperature};

const TSAI_HILL: SourceNote = SourceNote::new(
    "handbook",
    "Tsai-Hill criterion, R. J. Crawford, Plastics Engineering, 3rd ed. 1998, Ex. 3.19, p. 235; printed PLA: Yao et al. 2019",
);
const HOT: SourceNote =
    SourceNote::new("from-memory", "linear working rule for amorphous plastics, tabulated with the project's sources");

/// Stresses in the axes of the load, in the plane that holds the load and the build direction. Tension is positive.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlaneStress {
    /// Along the load.
    pub x: Stress,
    /// Square to the load.
    pub y: Stress,
    /// Shear between the two.
    pub xy: Stress,
}

/// Stresses in the axes of the layers. Tension is positive.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LayerStress {
    /// In the layer plane.
    pub along: Stress,
    /// Along the build direction, pulling layers apart.
    pub across: Stress,
    /// Sliding layers over each other.
    pub shear: Stress,
}

impl PlaneStress {
    /// Turns the stresses into layer axes, `theta` from load axis to layer plane.
    ///
    /// `s1 = c² sx + s² sy + 2 cs txy`, `s2 = s² sx + c² sy - 2 cs txy`, `t12 = -cs sx + cs sy + (c² - s²) txy`
    /// (handbook: Kaw, *Mechanics of Composite Materials*, ch. 2).
    pub fn in_layer_axes(self, theta: Angle) -> Checked<LayerStress> {
        let (s, c) = finite("angle", theta.to_rad())?.sin_cos();
        let (x, y, t) = (self.x.to_mpa(), self.y.to_mpa(), self.xy.to_mpa());
        for v in [x, y, t] {
            finite("stress", v)?;
        }
        Ok(LayerStress {
            along: sound(Stress::mpa(c * c * x + s * s * y + 2.0 * c * s * t))?,
            across: sound(Stress::mpa(s * s * x + c * c * y - 2.0 * c * s * t))?,
            shear: sound(Stress::mpa(-c * s * x + c * s * y + (c * c - s * s) * t))?,
        })
    }
}

impl LayerStress {
    /// Turns the two extremes of a section's stresses into layer axes; assess both and keep the smaller margin.
    ///
    /// `angle` lies between the normal of the section (the beam's axis) and the layer plane: 0 for a beam lying flat, 90°
    /// for one printed standing. Shear and torsion are added to the layer shear in full, on the strict side: where they
    /// act and which way depends on the section.
    pub fn of_section(stress: &super::beam::SectionStress, angle: Angle) -> Checked<[LayerStress; 2]> {
        let extra = stress.shear.to_mpa().abs() + stress.torsion.to_mpa().abs();
        let turn = |normal: Stress| -> Checked<LayerStress> {
            let plain = PlaneStress { x: normal, y: Stress::mpa(0.0), xy: Stress::mpa(0.0) }.in_layer_axes(angle)?;
            Ok(LayerStress { shear: sound(Stress::mpa(plain.shear.to_mpa().abs() + extra))?, ..plain })
        };
        Ok([turn(stress.highest)?, turn(stress.lowest)?])
    }

    fn sizes(&self) -> [f64; 3] {
        [self.along.to_mpa().abs(), self.across.to_mpa().abs(), self.shear.to_mpa().abs()]
    }
}

/// Strengths of the printed material. Compression values default to the tensile ones, which is the cautious side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Strengths {
    /// In tension along the layers.
    pub along: Stress,
    /// Pulling layers apart.
    pub across: Stress,
    /// Sliding layers over each other.
    pub shear: Stress,
    /// Pressed along the layers, where that is known.
    pub along_compression: Option<Stress>,
    /// Pressed across them, where that is known.
    pub across_compression: Option<Stress>,
}

impl Strengths {
    /// Returns strengths whose compression is taken to be as the tension.
    pub fn tensile(along: Stress, across: Stress, shear: Stress) -> Self {
        Self { along, across, shear, along_compression: None, across_compression: None }
    }

    /// Returns (X, Y, S) in MPa, X and Y by the sign of the stresses.
    fn for_signs(&self, stress: &LayerStress) -> Checked<(f64, f64, f64)> {
        let pick = |s: Stress, tension: Stress, compression: Option<Stress>| {
            if s.to_mpa() < 0.0 { compression.unwrap_or(tension) } else { tension }
        };
        Ok((
            positive("a strength along the layers", pick(stress.along, self.along, self.along_compression).to_mpa())?,
            positive(
                "a strength across the layers",
                pick(stress.across, self.across, self.across_compression).to_mpa(),
            )?,
            positive("a shear strength", self.shear.to_mpa())?,
        ))
    }
}

/// What a failure criterion says broke first.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mode {
    /// Tension or compression within the layers.
    Along,
    /// Layers pulled apart (or pressed together).
    Across,
    /// Layers slid over each other.
    Shear,
}

/// Maximum-stress strength under a single load at `theta` to the layers: least of `X/cos²`, `Y/sin²`, `S/(sin cos)`.
///
/// Source: Crawford Ex. 3.19 (handbook). Can exceed X near 15 to 30°: for design use [`across_layer_strength`].
pub fn maximum_stress_strength(along: Stress, across: Stress, shear: Stress, theta: Angle) -> Checked<(Stress, Mode)> {
    let (s, c) = finite("angle", theta.to_rad())?.sin_cos();
    let (s, c) = (s.abs(), c.abs());
    let cases = [
        (positive("a strength along the layers", along.to_mpa())?, c * c, Mode::Along),
        (positive("a strength across the layers", across.to_mpa())?, s * s, Mode::Across),
        (positive("a shear strength", shear.to_mpa())?, s * c, Mode::Shear),
    ];
    let mut best = (f64::INFINITY, Mode::Along);
    for (strength, share, mode) in cases {
        // Divisors at rounding level (cos 90°) mean the mode is not loaded at all.
        if share > 1e-15 && strength / share < best.0 {
            best = (strength / share, mode);
        }
    }
    Ok((sound(Stress::mpa(best.0))?, best.1))
}

/// Strength under a single tensile load at `angle` between load and layer plane (0 along, 90° across).
///
/// Tsai-Hill: `1/σ² = cos⁴/X² + (1/S² - 1/X²) sin² cos² + sin⁴/Y²`, never more than X (the formula exceeds X when
/// S > 0.58 X). Source: Crawford p. 235 (handbook). A part standing upright and pulled upwards has 90°.
pub fn across_layer_strength(along: Stress, across: Stress, shear: Stress, angle: Angle) -> Checked<Stress> {
    let x = positive("a strength along the layers", along.to_mpa())?;
    let y = positive("a strength across the layers", across.to_mpa())?;
    let shear = positive("a shear strength", shear.to_mpa())?;
    let (s, c) = finite("angle", angle.to_rad())?.sin_cos();
    let (s2, c2) = (s * s, c * c);
    let inverse = c2 * c2 / (x * x) + (1.0 / (shear * shear) - 1.0 / (x * x)) * s2 * c2 + s2 * s2 / (y * y);
    // The middle term can be negative for S > X; the cap at X covers that too.
    let strength = if inverse > 1.0 / (x * x) { (1.0 / inverse).sqrt() } else { x };
    sound(Stress::mpa(strength))
}

/// Tsai-Hill index `(s1/X)² - s1 s2/X² + (s2/Y)² + (t/S)²`; 1 is failure, and stresses may grow by `1/sqrt(index)`.
///
/// Source: Crawford p. 235; Kaw ch. 2. X and Y are chosen by the sign of the stress (a single Y misjudges compression).
pub fn tsai_hill_index(stress: &LayerStress, strengths: &Strengths) -> Checked<f64> {
    let (x, y, s) = strengths.for_signs(stress)?;
    let (s1, s2, t) = (stress.along.to_mpa(), stress.across.to_mpa(), stress.shear.to_mpa());
    sound((s1 / x).powi(2) - s1 * s2 / (x * x) + (s2 / y).powi(2) + (t / s).powi(2))
}

/// How many times the stresses could grow by the maximum-stress criterion, and the component that stops them first.
///
/// Source: Kaw ch. 2 (handbook). Strengths chosen by sign. `Err` without any stress.
pub fn maximum_stress_reserve(stress: &LayerStress, strengths: &Strengths) -> Checked<(f64, Mode)> {
    let (x, y, s) = strengths.for_signs(stress)?;
    let (sizes, allowed) = (stress.sizes(), [x, y, s]);
    let mode = governing(&sizes, &allowed)?;
    let reserve = allowed[mode as usize] / sizes[mode as usize];
    Ok((sound(reserve)?, mode))
}

/// Hot-strength factor `max(0, 1 - 0.8 (T - 23)/(limit - 23))`, zero above `limit - 5 K`, 1 below 23 °C.
///
/// `limit` is the glass transition (amorphous) or the softening limit the catalogue names in its place. From memory.
pub fn hot_strength_factor(temperature: Temperature, limit: Temperature) -> Checked<f64> {
    let t = finite("temperature", temperature.to_celsius())?;
    let limit = finite("temperature limit", limit.to_celsius())?;
    if t >= limit - 5.0 {
        return Ok(0.0);
    }
    if t <= 23.0 {
        return Ok(1.0);
    }
    // Here limit > t + 5 > 28, so the divisor is above 5.
    Ok((1.0 - 0.8 * (t - 23.0) / (limit - 23.0)).clamp(0.0, 1.0))
}

/// What reduces strength and raises demand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Factors {
    /// Hot-strength factor, 0 to 1.
    pub hot: f64,
    /// Sustained-load factor, 0 to 1.
    pub sustained: f64,
    /// The same where the material is pressed, for what bears that longer than a pull: rubber. Otherwise as `sustained`.
    pub sustained_pressed: Option<f64>,
    /// Fatigue factor along and across the layers, 0 to 1.
    pub fatigue_along: f64,
    /// The same across the layers.
    pub fatigue_across: f64,
    /// The same where the material is pressed; as along and across where it is none.
    pub fatigue_pressed: Option<f64>,
    /// What is given back of strengths and factors that were each taken at their low end, since they are not all there at once;
    /// 1 or more, see [`relief`].
    pub relief: f64,
    /// Stress concentration, 1 or more, on every stress.
    pub concentration: f64,
    /// The factor the spec asks for on the load, above 0.
    pub load: f64,
}

impl Factors {
    /// Nothing is taken off.
    pub const NONE: Self = Self {
        hot: 1.0,
        sustained: 1.0,
        sustained_pressed: None,
        fatigue_along: 1.0,
        fatigue_across: 1.0,
        fatigue_pressed: None,
        relief: 1.0,
        concentration: 1.0,
        load: 1.0,
    };

    /// Returns the sustained-load factor of what is pressed.
    pub fn pressed(&self) -> f64 {
        self.sustained_pressed.unwrap_or(self.sustained)
    }

    /// Returns the fatigue factor of a stress that is left `pulled` of where it pulls.
    fn tired(&self, stress: Stress, pulled: f64) -> f64 {
        if stress.to_mpa() < 0.0 { self.fatigue_pressed.map_or(pulled, |pressed| pressed.max(pulled)) } else { pulled }
    }

    /// Returns the fatigue factors along and across, where it is stressed so: pressed or pulled.
    pub fn cycled(&self, along: Stress, across: Stress) -> [f64; 2] {
        [self.tired(along, self.fatigue_along), self.tired(across, self.fatigue_across)]
    }

    /// Returns what of these factors counts for one place of a part more than for another: repetition, and how what is pulled
    /// stands to what is pressed; the larger of those two is 1.
    pub fn by_place(&self) -> Self {
        let most = self.sustained.max(self.pressed());
        let share = |of: f64| if most > 0.0 { of / most } else { 1.0 };
        Self {
            sustained: share(self.sustained),
            sustained_pressed: self.sustained_pressed.map(share),
            fatigue_along: self.fatigue_along,
            fatigue_across: self.fatigue_across,
            fatigue_pressed: self.fatigue_pressed,
            ..Self::NONE
        }
    }

    fn check(&self) -> Checked<()> {
        within("a hot-strength factor", self.hot, 0.0, 1.0)?;
        within("a sustained-load factor", self.sustained, 0.0, 1.0)?;
        within("a sustained-load factor of what is pressed", self.pressed(), 0.0, 1.0)?;
        within("a fatigue factor along the layers", self.fatigue_along, 0.0, 1.0)?;
        within("a fatigue factor across the layers", self.fatigue_across, 0.0, 1.0)?;
        within("a fatigue factor of what is pressed", self.fatigue_pressed.unwrap_or(1.0), 0.0, 1.0)?;
        within("what is given back of low ends", self.relief, 1.0, 1e6)?;
        within("a stress concentration factor", self.concentration, 1.0, 1e3)?;
        within("a load factor", self.load, 1e-6, 1e6)?;
        Ok(())
    }
}

/// Returns by what a product of low ends is too low, where the figures behind them are not all at their low ends at once: each
/// `[low, typical]` of one figure, `correlation` between any two of them (0: each by itself; 1: all together, and nothing is
/// given back). 1 where a low end is nothing.
///
/// Source: law of propagation of uncertainty for correlated inputs (JCGM 100:2008, 5.2.2, recalled), on logarithms, since the
/// figures multiply: `u² = (1 - r) Σ uᵢ² + r (Σ uᵢ)²` with `uᵢ = ln(typical/low)`; then `exp(Σ uᵢ - u)`.
pub fn relief(figures: &[[f64; 2]], correlation: f64) -> Checked<f64> {
    let r = within("a correlation", correlation, 0.0, 1.0)?;
    if figures.iter().any(|[low, _]| *low <= 0.0) {
        return Ok(1.0);
    }
    let apart = || figures.iter().map(|[low, typical]| (typical / low).ln().max(0.0));
    let (sum, squares) = (apart().sum::<f64>(), apart().map(|u| u * u).sum::<f64>());
    sound((sum - ((1.0 - r) * squares + r * sum * sum).sqrt()).exp().max(1.0))
}

/// How a load comes, as far as it decides what the material can bear.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoadHistory {
    /// Longest time the load is held without a rest; zero for a momentary one.
    pub held: Duration,
    /// How often it comes; 1 for once.
    pub cycles: f64,
    /// Comes suddenly: doubles the stress of an elastic part (handbook: suddenly applied load).
    pub shock: bool,
    /// The factor the spec asks for.
    pub factor: f64,
    /// Stress concentration at the worst place, 1 for none.
    pub concentration: f64,
}

/// Which end of the bands to take: the low one where a failure can hurt.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outlook {
    /// The middle of each band.
    Typical,
    /// The low end of each.
    Low,
}

impl Factors {
    /// Returns the factors for a load on a part at a temperature; `limit` as for [`hot_strength_factor`].
    ///
    /// Sustained and fatigue factors multiply, which is on the strict side: published data for both at once are rare.
    pub fn for_load(
        load: &LoadHistory,
        temperature: Temperature,
        limit: Temperature,
        outlook: Outlook,
        retention: &Retention,
    ) -> Checked<Self> {
        let pick = |band: super::Band| if outlook == Outlook::Low { band.low } else { band.typical };
        let near_limit = super::sustained::bears_nothing(load.held, temperature, limit)?;
        let held = pick(retention.held(load.held)?);
        let sustained = if near_limit { 0.0 } else { held };
        let factors = Self {
            hot: hot_strength_factor(temperature, limit)?,
            sustained,
            sustained_pressed: None,
            fatigue_along: pick(retention.cycled(load.cycles, 0.0)?),
            fatigue_across: pick(retention.cycled(load.cycles, 1.0)?),
            fatigue_pressed: (load.cycles > 1.0).then(|| retention.cycled_pressed(load.cycles)).transpose()?.map(pick),
            relief: 1.0,
            concentration: load.concentration,
            load: load.factor * if load.shock { 2.0 } else { 1.0 },
        };
        factors.check()?;
        Ok(factors)
    }
}

/// A load as the stresses it makes at the worst place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoadCase {
    /// There, in the axes of the layers.
    pub stress: LayerStress,
}

/// Demand against capacity. The margin counts how many times the (factored) load could be raised: 1 is failure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Margin {
    /// Size of the governing stress component, with stress concentration and load factor.
    pub demand: Stress,
    /// What that component could reach with all others in proportion, after all factors.
    pub capacity: Stress,
    /// Capacity over demand.
    pub margin: f64,
    /// The component that uses the largest share of its own strength.
    pub governing: Mode,
}

/// Assesses a load case: Tsai-Hill on derated strengths, `allowable = strength x k_hot x k_sustained x k_fatigue`.
///
/// Source: F4 of the project's sources (Tsai-Hill as [`tsai_hill_index`], factors as documented with each of them).
/// The margin is also never better than plain maximum stress, which caps Tsai-Hill's gain for stresses of equal sign.
/// No stress at all is an `Err`: there is nothing to assess.
pub fn assess(case: &LoadCase, strengths: &Strengths, factors: &Factors) -> Checked<Margin> {
    factors.check()?;
    let raise = factors.concentration * factors.load;
    let scale = |s: Stress| sound(Stress::mpa(s.to_mpa() * raise));
    let stress = LayerStress {
        along: scale(case.stress.along)?,
        across: scale(case.stress.across)?,
        shear: scale(case.stress.shear)?,
    };
    let allowed = allowed(&stress, strengths, factors)?;
    let sizes = stress.sizes();
    let governing = governing(&sizes, &allowed)?;
    let demand = Stress::mpa(sizes[governing as usize]);
    let margin = reserve(&stress, &allowed)?;
    Ok(Margin { demand, capacity: sound(Stress::mpa(demand.to_mpa() * margin))?, margin, governing })
}

/// Returns what is left of the strengths along, across and between for the signs of a stress, MPa.
fn allowed(stress: &LayerStress, strengths: &Strengths, factors: &Factors) -> Checked<[f64; 3]> {
    let (x, y, s) = strengths.for_signs(stress)?;
    let time = |stress: Stress| match stress.to_mpa() < 0.0 {
        true => factors.hot * factors.pressed() * factors.relief,
        false => factors.hot * factors.sustained * factors.relief,
    };
    // Interlayer shear tires like the interlayer bond does, and lasts as what acts across it: what pads of rubber are allowed
    // counts the shear with which they bulge.
    Ok([
        x * time(stress.along) * factors.tired(stress.along, factors.fatigue_along),
        y * time(stress.across) * factors.tired(stress.across, factors.fatigue_across),
        s * time(stress.across) * factors.fatigue_across,
    ])
}

/// Returns the least that is left of the strengths along, across and between whatever the signs, MPa.
pub fn least_allowed(strengths: &Strengths, factors: &Factors) -> Checked<[f64; 3]> {
    let mut least = [f64::INFINITY; 3];
    for (along, across) in [(1.0, 1.0), (1.0, -1.0), (-1.0, 1.0), (-1.0, -1.0)] {
        let [along, across] = [along, across].map(Stress::mpa);
        let signed = LayerStress { along, across, shear: Stress::mpa(1.0) };
        let here = allowed(&signed, strengths, factors)?;
        least = [0, 1, 2].map(|i| least[i].min(here[i]));
    }
    Ok(least)
}

/// Returns at most what share of its strength a stress takes, whatever its signs: along, across and between as sizes, over the
/// least that is left. Of stresses that are added it takes no more than the sum of what each does by itself: Tsai-Hill's
/// criterion with its one negative term turned about is a norm that grows with each size, and each size is one of the stress.
pub fn most_taken([a, n, t]: [f64; 3], [x, y, s]: [f64; 3]) -> f64 {
    // Beyond twice that along it would be no norm.
    let y = y.min(x);
    ((a * a + a * n) / (x * x) + n * n / (y * y) + t * t / (s * s)).sqrt()
}

fn governing(sizes: &[f64; 3], allowed: &[f64; 3]) -> Checked<Mode> {
    let mut best: Option<(f64, Mode)> = None;
    for (mode, (size, limit)) in [Mode::Along, Mode::Across, Mode::Shear].into_iter().zip(sizes.iter().zip(allowed)) {
        if *size <= 0.0 {
            continue;
        }
        let use_ = if *limit > 0.0 { size / limit } else { f64::INFINITY };
        if best.is_none_or(|(b, _)| use_ > b) {
            best = Some((use_, mode));
        }
    }
    best.map(|(_, mode)| mode).ok_or_else(|| "the load case has no stress: there is nothing to assess".to_owned())
}

/// Returns how many times the stresses could grow; zero if a loaded direction has no strength left.
fn reserve(stress: &LayerStress, allowed: &[f64; 3]) -> Checked<f64> {
    if allowed.iter().any(|&a| a <= 0.0) {
        return Ok(0.0);
    }
    let derated = Strengths::tensile(Stress::mpa(allowed[0]), Stress::mpa(allowed[1]), Stress::mpa(allowed[2]));
    let (plain, _) = maximum_stress_reserve(stress, &derated)?;
    let index = tsai_hill_index(stress, &derated)?;
    sound(if index > 0.0 { plain.min(1.0 / index.sqrt()) } else { plain })
}

const ALONG: super::registry::Parameter = input("along", Dimension::STRESS, "strength in the layer plane");
const ACROSS: super::registry::Parameter = input("across", Dimension::STRESS, "strength between layers");
const SHEAR: super::registry::Parameter = input("shear", Dimension::STRESS, "interlayer shear strength");
const ANGLE: super::registry::Parameter =
    input("angle", Dimension::ANGLE, "between load and layer plane; 90 deg is across");

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        name: "across_layer_strength",
        inputs: &[ALONG, ACROSS, SHEAR, ANGLE],
        output: Dimension::STRESS,
        formula: "1/s^2 = cos^4/X^2 + (1/S^2 - 1/X^2) sin^2 cos^2 + sin^4/Y^2, not above X",
        source: TSAI_HILL,
        help: "strength under a pull at an angle to the layers (Tsai-Hill, capped)",
        example: &["50 MPa", "30 MPa", "28 MPa", "45 deg"],
        evaluate: apply!(across_layer_strength; 0 1 2 3),
    },
    Function {
        name: "maximum_stress_strength",
        inputs: &[ALONG, ACROSS, SHEAR, ANGLE],
        output: Dimension::STRESS,
        formula: "least of X/cos^2, Y/sin^2, S/(sin cos); can exceed X: for comparison, not for design",
        source: SourceNote::new(
            "handbook",
            "maximum-stress criterion, R. J. Crawford, Plastics Engineering, 3rd ed. 1998, Ex. 3.19",
        ),
        help: "strength under a pull at an angle to the layers by the maximum-stress criterion",
        example: &["50 MPa", "30 MPa", "28 MPa", "45 deg"],
        evaluate: apply!(|x, y, s, a| maximum_stress_strength(x, y, s, a).map(|r| r.0); 0 1 2 3),
    },
    Function {
        name: "hot_strength_factor",
        inputs: &[
            input("temperature", Dimension::TEMPERATURE, "temperature of the part"),
            input("reference_limit", Dimension::TEMPERATURE, "glass transition, or the softening limit in its place"),
        ],
        output: Dimension::NONE,
        formula: "max(0, 1 - 0.8 (T - 23)/(limit - 23)); 0 above limit - 5 K; 1 below 23 °C",
        source: HOT,
        help: "share of the room-temperature strength left at a temperature",
        example: &["60 °C", "105 °C"],
        evaluate: apply!(hot_strength_factor; 0 1),
    },
    Function {
        name: "tsai_hill_reserve",
        inputs: &[
            input("along_stress", Dimension::STRESS, "stress in the layer plane, tension positive"),
            input("across_stress", Dimension::STRESS, "stress between layers, tension positive"),
            input("shear_stress", Dimension::STRESS, "interlayer shear stress"),
            ALONG,
            ACROSS,
            SHEAR,
        ],
        output: Dimension::NONE,
        formula: "1/sqrt((s1/X)^2 - s1 s2/X^2 + (s2/Y)^2 + (t/S)^2), not above plain maximum stress",
        source: TSAI_HILL,
        help: "how many times the stresses could be raised; 1 is failure",
        example: &["5 MPa", "4 MPa", "2 MPa", "50 MPa", "30 MPa", "28 MPa"],
        evaluate: apply!(tsai_hill_reserve; 0 1 2 3 4 5),
    },
];

/// Returns how many times the stresses could be raised before failure: [`assess`] without any factors.
pub fn tsai_hill_reserve(s1: Stress, s2: Stress, t: Stress, x: Stress, y: Stress, s: Stress) -> Checked<f64> {
    for stress in [s1, s2, t] {
        not_negative("a stress size", stress.to_mpa().abs())?;
    }
    let case = LoadCase { stress: LayerStress { along: s1, across: s2, shear: t } };
    assess(&case, &Strengths::tensile(x, y, s), &Factors::NONE).map(|m| m.margin)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::physics::beam::{SectionLoad, cantilever_stress, section_stress};
    use crate::physics::section::{Section, rectangle_section_modulus};
    use crate::quantity::{Force, Length};

    fn mpa(v: f64) -> Stress {
        Stress::mpa(v)
    }

    fn arm() -> Section {
        Section::polygon(&[vec![[0.0, 0.0], [10.0, 0.0], [10.0, 20.0], [0.0, 20.0]]]).unwrap()
    }

    fn load(force: [f64; 3], lever: [f64; 3]) -> SectionLoad {
        SectionLoad { force: force.map(Force::n), lever: lever.map(Length::mm) }
    }

    /// An arm of 10 x 20 mm, 60 mm long, 80 N down: the closed form F L / W, once bent and once twisted as well.
    #[test]
    fn a_force_on_an_arm_gives_the_closed_form() {
        let w = rectangle_section_modulus(Length::mm(10.0), Length::mm(20.0)).unwrap();
        let expected = cantilever_stress(Force::n(80.0), Length::mm(60.0), w).unwrap().to_mpa();
        let s = section_stress(&arm(), &load([0.0, -80.0, 0.0], [0.0, 0.0, 60.0])).unwrap();
        assert!((s.highest.to_mpa() - expected).abs() < 1e-9 && (s.lowest.to_mpa() + expected).abs() < 1e-9);
        assert!((s.shear.to_mpa() - 1.5 * 80.0 / 200.0).abs() < 1e-12 && s.torsion.to_mpa() == 0.0);
        let s = section_stress(&arm(), &load([0.0, -80.0, 0.0], [15.0, 0.0, 60.0])).unwrap();
        // alpha a b² of a 2:1 rectangle: 0.2459 x 20 x 100 (Saint-Venant table).
        assert!((s.torsion.to_mpa() - 80.0 * 15.0 / (0.2459 * 20.0 * 100.0)).abs() < 1e-6);
        // An eccentric pull bends towards the other side: tension where the force is.
        let s = section_stress(&arm(), &load([0.0, 0.0, 100.0], [0.0, 10.0, 0.0])).unwrap();
        assert!((s.axial.to_mpa() - 0.5).abs() < 1e-12);
        assert!((s.highest.to_mpa() - (0.5 + 1000.0 * 6.0 / (10.0 * 400.0))).abs() < 1e-9);
    }

    /// Lying flat the arm is stressed along its layers, standing across them: the weaker way has the smaller margin.
    #[test]
    fn a_standing_arm_is_weaker_than_a_lying_one() {
        let s = section_stress(&arm(), &load([0.0, -80.0, 0.0], [0.0, 0.0, 60.0])).unwrap();
        let strengths = Strengths::tensile(mpa(50.0), mpa(25.0), mpa(28.0));
        let margin = |angle: f64| {
            LayerStress::of_section(&s, Angle::deg(angle))
                .unwrap()
                .into_iter()
                .map(|stress| assess(&LoadCase { stress }, &strengths, &Factors::NONE).unwrap())
                .min_by(|a, b| a.margin.total_cmp(&b.margin))
                .unwrap()
        };
        let (flat, standing) = (margin(0.0), margin(90.0));
        assert_eq!((flat.governing, standing.governing), (Mode::Along, Mode::Across));
        assert!(flat.margin > 1.8 * standing.margin && flat.margin < 2.0 * standing.margin);
    }

    /// The quantile of a product of lognormal figures: with n alike and by themselves it lies `√n` times as far below the middle
    /// as that of one (closed form); with one, or with all tied to each other, nothing is given back.
    #[test]
    fn low_ends_of_independent_figures_are_not_all_there_at_once() {
        let (one, by_itself) = ([0.6, 1.0], |n: usize| relief(&vec![[0.6, 1.0]; n], 0.0).unwrap());
        for n in [1_usize, 2, 3, 4, 9] {
            let count = n as f64;
            let exact = 0.6_f64.powf(count.sqrt()) / 0.6_f64.powf(count);
            assert!((by_itself(n) - exact).abs() < 1e-12, "{n}");
        }
        assert!((relief(&[one, one, [0.9, 1.0]], 1.0).unwrap() - 1.0).abs() < 1e-12);
        let between = relief(&[one, one], 0.25).unwrap();
        assert!(between > 1.0 && between < by_itself(2), "{between}");
        assert_eq!(relief(&[one, [0.0, 0.3]], 0.0).unwrap(), 1.0, "what is nothing stays nothing");
        assert!(relief(&[one], 1.5).is_err());
    }

    #[test]
    fn factors_follow_the_history_of_the_load() {
        let once = LoadHistory { held: Duration::s(0.0), cycles: 1.0, shock: false, factor: 1.0, concentration: 1.0 };
        let at = |load: &LoadHistory, t: f64| {
            Factors::for_load(
                load,
                Temperature::celsius(t),
                Temperature::celsius(105.0),
                Outlook::Typical,
                &Retention::USUAL,
            )
            .unwrap()
        };
        assert_eq!(at(&once, 20.0), Factors::NONE);
        let held = LoadHistory { held: Duration::years(5.0), ..once };
        assert_eq!(at(&held, 20.0).sustained, 0.2);
        assert_eq!(at(&held, 90.0).sustained, 0.0, "within 20 K of the glass transition nothing is held");
        assert_eq!(at(&LoadHistory { shock: true, factor: 3.0, ..once }, 20.0).load, 6.0);
        let low = Factors::for_load(
            &held,
            Temperature::celsius(20.0),
            Temperature::celsius(105.0),
            Outlook::Low,
            &Retention::USUAL,
        )
        .unwrap();
        assert_eq!(low.sustained, 0.15);
        let cyclic = at(&LoadHistory { cycles: 1e6, ..once }, 20.0);
        assert!((cyclic.fatigue_along - 0.11).abs() < 1e-12 && (cyclic.fatigue_across - 0.05).abs() < 1e-12);
        let absurd = LoadHistory { factor: f64::NAN, ..once };
        assert!(
            Factors::for_load(
                &absurd,
                Temperature::celsius(20.0),
                Temperature::celsius(105.0),
                Outlook::Low,
                &Retention::USUAL
            )
            .is_err()
        );
    }

    /// Where pressing is borne for longer than a pull, it is the sign of each stress that says which counts.
    #[test]
    fn what_is_pressed_lasts_as_its_own_share_says() {
        let strengths = Strengths::tensile(mpa(10.0), mpa(10.0), mpa(10.0));
        let rubber = Factors { sustained: 0.05, sustained_pressed: Some(0.2), ..Factors::NONE };
        let at = |along: f64, f: &Factors| {
            let stress = LayerStress { along: mpa(along), across: mpa(0.0), shear: mpa(0.0) };
            assess(&LoadCase { stress }, &strengths, f).unwrap().margin
        };
        assert!((at(1.0, &rubber) - 0.5).abs() < 1e-12 && (at(-1.0, &rubber) - 2.0).abs() < 1e-12);
        let stiff = Factors { sustained_pressed: None, ..rubber };
        assert_eq!(at(1.0, &stiff), at(-1.0, &stiff));
        let place = rubber.by_place();
        assert!((place.sustained - 0.25).abs() < 1e-12 && place.pressed() == 1.0);
    }

    /// What pads of rubber are allowed, 1.00 G S of mean stress (AASHTO LRFD 14.7.6.3.2), with the stiffness of a pad after Gent
    /// and Lindley, E (1 + 2 S²) and E = 3 G, is a strain of at most 0.118, and of 0.074 at S = 1/4 and at 2: the band of the
    /// catalogue's `rubber_pressed_strain`.
    #[test]
    fn pads_of_rubber_are_pressed_by_about_a_tenth() {
        let strain = |s: f64| s / (3.0 * (1.0 + 2.0 * s * s));
        let most = (1..400).map(|i| strain(f64::from(i) / 100.0)).fold(0.0, f64::max);
        assert!((most - 0.118).abs() < 5e-4, "{most}");
        assert!((strain(0.25) - 0.074).abs() < 5e-4 && (strain(2.0) - 0.074).abs() < 5e-4);
    }

    /// Near the limit there is nothing left, and the margin says 0 rather than dividing by it.
    #[test]
    fn no_strength_left_is_a_margin_of_zero() {
        let stress = LayerStress { along: mpa(1.0), across: mpa(0.0), shear: mpa(0.0) };
        let strengths = Strengths::tensile(mpa(50.0), mpa(25.0), mpa(28.0));
        let m = assess(&LoadCase { stress }, &strengths, &Factors { hot: 0.0, ..Factors::NONE }).unwrap();
        assert_eq!((m.margin, m.capacity.to_mpa(), m.demand.to_mpa()), (0.0, 0.0, 1.0));
        assert_eq!(hot_strength_factor(Temperature::celsius(101.0), Temperature::celsius(105.0)), Ok(0.0));
        assert_eq!(hot_strength_factor(Temperature::celsius(-20.0), Temperature::celsius(105.0)), Ok(1.0));
    }
}
