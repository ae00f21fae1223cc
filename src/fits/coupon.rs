//! Coupons: small pieces with a fit's feature in steps, printed before the part to find the size that fits.

mod digits;
mod plate;

use super::FitError;
use super::allowance::{AllowanceLine, Origin, Route, Verdict};
use super::feature::{FeatureAxis, FeatureContext, FeatureKind};
use super::function::FitFunction;
use super::practice::Practice;
use super::said::Named;
use super::{Provenance, SourceKind};
use crate::quantity::{Duration, Length, Mass, Money, Volume, trim_number};

pub use plate::CouponMesh;

/// The outline of a coupon's features.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outline {
    /// A circle drawn with this many flats.
    Round(u32),
    /// A hexagon, its size across flats.
    Hexagon,
}

/// A coupon: one plate with a row of features in steps.
#[derive(Debug, Clone, PartialEq)]
pub struct CouponPlan {
    /// The fit it is for.
    pub fit: Named,
    /// Hole or outside.
    pub kind: FeatureKind,
    /// How the axis of the part's feature lies in its pose; the coupon is printed the same way.
    pub axis: FeatureAxis,
    /// The features' outline.
    pub outline: Outline,
    /// Modelled sizes, smallest first; each is written in raised figures below its feature.
    pub sizes: Vec<Length>,
    /// Depth of the holes, or height of the pegs.
    pub depth: Length,
    /// Least material round a hole.
    pub wall: Length,
}

/// Number of steps on a coupon.
const STEPS: i32 = 7;

/// Features wider than this cost as much as a part if they are tried like small ones (own judgement).
const LARGE_MM: f64 = 15.0;
/// Steps, depth and least wall of a large feature: the printer's offset shows on a thin rim as well, and the row still
/// spans the expected deviation to either side (own judgement).
const LARGE_STEPS: i32 = 5;
const LARGE_DEPTH_MM: f64 = 4.0;
const LARGE_WALL_MM: f64 = 2.0;

/// Facets of a coupon's circles where the part's own are not known.
const FACETS: u32 = 96;

impl CouponPlan {
    /// Plans the coupon for a fit: the part's own kind of feature, axis and facets, in steps about the size to model.
    ///
    /// The step is half the expected deviation, rounded to 0.05 mm, so that the row spans what the default leaves open.
    /// A large feature gets fewer steps in a thin plate with narrow rims.
    pub fn for_fit(
        fit: &FitFunction,
        line: &AllowanceLine,
        context: &FeatureContext,
        depth: Option<Length>,
    ) -> Result<Self, FitError> {
        let step = ((line.spread.to_mm() / 2.0 / 0.05).round() * 0.05).clamp(0.05, 0.25);
        let centre = (line.size_to_model.to_mm() / 0.05).round() * 0.05;
        let large = centre > LARGE_MM;
        let steps = if large { LARGE_STEPS } else { STEPS };
        let sizes: Vec<Length> = (0..steps)
            .map(|i| Length::mm(centre + step * f64::from(i - steps / 2)))
            .filter(|s| s.to_mm() > 0.5)
            .collect();
        if sizes.len() < 3 {
            let words = format!("`{}` is too small for a coupon of printed features", line.function);
            return Err(FitError::new("", words, "drill it instead"));
        }
        let facets = context.facets.filter(|n| (3..=720).contains(n)).unwrap_or(FACETS);
        let outline = if matches!(fit, FitFunction::Nut { .. }) { Outline::Hexagon } else { Outline::Round(facets) };
        let (deepest, wall) = if large { (LARGE_DEPTH_MM, LARGE_WALL_MM) } else { (20.0, 3.0) };
        let deep = depth.map(Length::to_mm).filter(|d| d.is_finite()).unwrap_or(8.0);
        Ok(Self {
            fit: line.function.clone(),
            kind: context.kind,
            axis: context.axis,
            outline,
            sizes,
            depth: Length::mm(deep.clamp(3.0, deepest)),
            wall: Length::mm(wall),
        })
    }

    /// Returns the coupon as a closed mesh in the pose it is printed in: the features' axis lies as it does in the part.
    pub fn build(&self) -> Result<CouponMesh, FitError> {
        self.check()?;
        Ok(plate::build(self))
    }

    fn check(&self) -> Result<(), FitError> {
        let sound = |l: Length, from: f64, to: f64| l.to_mm().is_finite() && (from..=to).contains(&l.to_mm());
        let sizes_sound = (1..=50).contains(&self.sizes.len()) && self.sizes.iter().all(|s| sound(*s, 0.2, 200.0));
        let outline_sound = match self.outline {
            Outline::Round(n) => (3..=720).contains(&n),
            Outline::Hexagon => true,
        };
        if sizes_sound && outline_sound && sound(self.depth, 1.0, 100.0) && sound(self.wall, 0.4, 50.0) {
            return Ok(());
        }
        Err(FitError::new(
            "",
            format!("a coupon for {} cannot be made with these sizes", self.fit),
            "1 to 50 features of 0.2 to 200 mm, 1 to 100 mm deep, with a wall of 0.4 to 50 mm",
        ))
    }

    /// Returns the label of one feature: its modelled size in millimetres.
    pub fn label(size: Length) -> String {
        trim_number(size.to_mm(), 2)
    }
}

/// What a piece costs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cost {
    /// Of the coupon's material.
    pub mass: Mass,
    /// On the printer.
    pub time: Duration,
    /// In the shop's money, material and machine time.
    pub money: Money,
}

/// Whether to print the coupon first.
#[derive(Debug, Clone, PartialEq)]
pub struct Worth {
    /// Print it before the part.
    pub recommended: bool,
    /// Chance that the first part is out of limits without a coupon.
    pub risk: f64,
    /// The formula it was weighed by.
    pub source: Provenance,
}

/// Returns the chance that a feature comes out of limits at the first try: the spread of pieces and, without a record, the
/// doubt about the default, as independent normal deviations.
fn first_try_risk(line: &AllowanceLine, practice: &Practice) -> f64 {
    let doubt = if line.origin == Origin::Default { practice.offset_doubt.to_mm() / 2.0 } else { 0.0 };
    let sigma = (line.spread.to_mm() / 2.0).hypot(doubt).max(1e-6);
    let aim = line.printed.middle();
    let limits = match line.route {
        Route::PrintToSize | Route::PrintThen { .. } => line.target,
        // Finishing takes the printed spread out again; what counts is whether the printed size allows it.
        _ => line.printed,
    };
    let z = |l: Length| (l.to_mm() - aim.to_mm()) / sigma;
    (1.0 - (normal(z(limits.high)) - normal(z(limits.low)))).clamp(0.0, 1.0)
}

/// Normal distribution function by Abramowitz and Stegun 26.2.17 (handbook), absolute error below 7.5e-8.
fn normal(z: f64) -> f64 {
    let t = 1.0 / (1.0 + 0.231_641_9 * z.abs());
    let poly =
        t * (0.319_381_530 + t * (-0.356_563_782 + t * (1.781_477_937 + t * (-1.821_255_978 + t * 1.330_274_429))));
    let tail = (-z * z / 2.0).exp() / (2.0 * std::f64::consts::PI).sqrt() * poly;
    if z >= 0.0 { 1.0 - tail } else { tail }
}

/// Weighs the coupon against the parts that would be scrapped: it pays where risk times the part's cost (money, else time,
/// else mass) is more than the coupon's.
pub fn worth(line: &AllowanceLine, coupon: Cost, part: Cost, practice: &Practice) -> Worth {
    let risk = first_try_risk(line, practice);
    let pairs = [
        (coupon.money.amount(), part.money.amount()),
        (coupon.time.to_h(), part.time.to_h()),
        (coupon.mass.to_g(), part.mass.to_g()),
    ];
    let usable = |v: f64| v.is_finite() && v > 0.0;
    let ratio = pairs.iter().find(|(c, p)| usable(*c) && usable(*p)).map_or(f64::INFINITY, |(c, p)| c / p);
    let recommended = risk > ratio && (line.capability.verdict != Verdict::Holds || risk > practice.scrap_chance);
    let source = Provenance::new(SourceKind::Computed, "risk times the part's cost against the coupon's");
    Worth { recommended, risk, source }
}

/// Returns the volume of a coupon mesh by the divergence theorem (signed tetrahedra about the origin).
pub fn volume(mesh: &CouponMesh) -> Volume {
    let point = |i: u32| mesh.points.get(i as usize).copied().unwrap_or([0.0; 3]);
    let six: f64 = mesh
        .triangles
        .iter()
        .map(|[a, b, c]| {
            let (a, b, c) = (point(*a), point(*b), point(*c));
            a[0] * (b[1] * c[2] - b[2] * c[1]) + a[1] * (b[2] * c[0] - b[0] * c[2]) + a[2] * (b[0] * c[1] - b[1] * c[0])
        })
        .sum();
    Volume::mm3(six / 6.0)
}

#[cfg(test)]
mod tests {
    use super::super::allowance::allowance;
    use super::super::hardware::Series;
    use super::*;
    use std::collections::BTreeMap;
    use std::f64::consts::PI;

    fn plan(kind: FeatureKind, axis: FeatureAxis, outline: Outline) -> CouponPlan {
        CouponPlan {
            fit: Named::Size(Length::mm(5.5)),
            kind,
            axis,
            outline,
            sizes: [5.5, 5.6, 5.7, 12.05].map(Length::mm).to_vec(),
            depth: Length::mm(6.0),
            wall: Length::mm(3.0),
        }
    }

    /// Every directed edge has exactly one partner the other way: closed, manifold, consistently oriented.
    fn closed(mesh: &CouponMesh) -> bool {
        let mut edges: BTreeMap<(u32, u32), u32> = BTreeMap::new();
        for [a, b, c] in &mesh.triangles {
            for edge in [(*a, *b), (*b, *c), (*c, *a)] {
                *edges.entry(edge).or_default() += 1;
            }
        }
        edges.iter().all(|((a, b), n)| *n == 1 && edges.get(&(*b, *a)) == Some(&1))
    }

    fn area(outline: Outline, d: f64) -> f64 {
        match outline {
            // A regular n-gon in a circle: n/2 r² sin(2 pi/n); a hexagon across flats s: s² sqrt(3)/2.
            Outline::Round(n) => f64::from(n) / 2.0 * (d / 2.0).powi(2) * (2.0 * PI / f64::from(n)).sin(),
            Outline::Hexagon => d * d * 3f64.sqrt() / 2.0,
        }
    }

    #[test]
    fn coupons_are_closed_outward_and_of_the_right_volume() {
        for kind in [FeatureKind::Hole, FeatureKind::Outside] {
            for axis in [FeatureAxis::AlongLayers, FeatureAxis::AcrossLayers] {
                for outline in [Outline::Round(96), Outline::Round(5), Outline::Hexagon] {
                    let plan = plan(kind, axis, outline);
                    let mesh = plan.build().unwrap();
                    assert!(closed(&mesh), "{kind} {axis} {outline:?}");
                    let features: f64 = plan.sizes.iter().map(|s| area(outline, s.to_mm()) * 6.0).sum();
                    let body = mesh.plate_volume.to_mm3() + mesh.label_volume.to_mm3();
                    let expected = if kind == FeatureKind::Hole { body - features } else { body + features };
                    assert!((volume(&mesh).to_mm3() - expected).abs() < 1e-6 * expected, "{kind} {axis} {outline:?}");
                    assert!(mesh.points.iter().all(|p| p.iter().all(|c| *c >= -1e-9)), "stands on the bed");
                }
            }
        }
    }

    /// Level faces all face away from the solid: with the volume this excludes triangles that overlap.
    #[test]
    fn level_faces_do_not_fold_over() {
        for outline in [Outline::Round(96), Outline::Round(5), Outline::Hexagon] {
            let mesh = plan(FeatureKind::Hole, FeatureAxis::AcrossLayers, outline).build().unwrap();
            let mut level = 0;
            for t in &mesh.triangles {
                let [a, b, c] = t.map(|i| mesh.points[i as usize]);
                if a[2] == b[2] && b[2] == c[2] {
                    let area = (b[0] - a[0]) * (c[1] - a[1]) - (c[0] - a[0]) * (b[1] - a[1]);
                    assert!(if a[2] > 0.0 { area > 0.0 } else { area < 0.0 }, "{outline:?} {a:?} {b:?} {c:?}");
                    level += 1;
                }
            }
            assert!(level > 1000);
        }
    }

    #[test]
    fn the_figures_can_be_read_back() {
        let mesh = plan(FeatureKind::Hole, FeatureAxis::AcrossLayers, Outline::Round(96)).build().unwrap();
        // "5.5" has 11 + 1 + 11 raised pixels, 5.6: 11 + 1 + 12, 5.7: 11 + 1 + 7, 12.05: 5 + 11 + 1 + 12 + 11, counted by hand.
        let pixels = 23.0 + 24.0 + 19.0 + 40.0;
        assert!(
            (mesh.label_volume.to_mm3() / (pixels * 0.6) - 1.0).abs() < 1e-9,
            "{}",
            mesh.label_volume.to_mm3() / 0.6
        );
    }

    #[test]
    fn a_coupon_steps_about_the_size_to_model() {
        let fit = FitFunction::Clearance { thread: "M5".to_owned(), series: Series::Medium };
        let context = FeatureContext::usual(FeatureKind::Hole, FeatureAxis::AlongLayers, "PETG");
        let line = allowance(&fit, &context).unwrap();
        let plan = CouponPlan::for_fit(&fit, &line, &context, None).unwrap();
        assert_eq!(plan.sizes.len(), 7);
        let middle = plan.sizes[3].to_mm();
        assert!((middle - line.size_to_model.to_mm()).abs() <= 0.025 + 1e-9);
        assert!(closed(&plan.build().unwrap()));
        assert_eq!(plan.axis, FeatureAxis::AlongLayers);
        let mut bad = plan.clone();
        bad.sizes = vec![Length::mm(f64::NAN)];
        assert!(bad.build().is_err());
    }

    /// Seats of 22 mm bearings in seven cells of 8 mm depth and 3 mm wall took 29 x 38 x 7 x 8 mm less the holes.
    #[test]
    fn a_large_seat_is_tried_in_a_thin_plate_of_fewer_steps() {
        let fit = FitFunction::BearingSeat { designation: "608".to_owned() };
        let context = FeatureContext::usual(FeatureKind::Hole, FeatureAxis::AcrossLayers, "PETG");
        let line = allowance(&fit, &context).unwrap();
        let plan = CouponPlan::for_fit(&fit, &line, &context, Some(Length::mm(8.0))).unwrap();
        assert_eq!(plan.sizes.len(), 5);
        assert!((plan.sizes[2].to_mm() - line.size_to_model.to_mm()).abs() <= 0.025 + 1e-9);
        let mesh = plan.build().unwrap();
        assert!(closed(&mesh));
        let full = CouponPlan { depth: Length::mm(8.0), wall: Length::mm(3.0), ..plan.clone() };
        let mut seven = full.clone();
        seven.sizes.extend([plan.sizes[0], plan.sizes[4]]);
        let before = volume(&seven.build().unwrap()).to_mm3();
        assert!(volume(&mesh).to_mm3() < before / 2.5, "{} of {before}", volume(&mesh).to_mm3());
    }

    /// Standard normal table: Phi(1.96) = 0.9750, Phi(-1) = 0.1587.
    #[test]
    fn a_coupon_is_weighed_against_the_scrap() {
        assert!((normal(1.96) - 0.975_002).abs() < 1e-6 && (normal(-1.0) - 0.158_655).abs() < 1e-6);
        let fit = FitFunction::Clearance { thread: "M5".to_owned(), series: Series::Medium };
        let context = FeatureContext::usual(FeatureKind::Hole, FeatureAxis::AlongLayers, "PETG");
        let line = allowance(&fit, &context).unwrap();
        let cost =
            |g: f64, h: f64, money: f64| Cost { mass: Mass::g(g), time: Duration::h(h), money: Money::of(money) };
        assert!(worth(&line, cost(8.0, 0.5, 0.5), cost(300.0, 20.0, 30.0), &context.practice).recommended);
        assert!(!worth(&line, cost(8.0, 0.5, 0.5), cost(4.0, 0.3, 0.3), &context.practice).recommended);
    }

    /// Limits at twice the standard deviation leave 4.55 % out (the normal distribution); the doubt about a default widens it.
    #[test]
    fn the_risk_of_the_first_try_is_that_of_the_normal_distribution() {
        let fit = FitFunction::Sized { size: Length::mm(8.0) };
        let mut context = FeatureContext::usual(FeatureKind::Hole, FeatureAxis::AcrossLayers, "PETG");
        context.within = Some([Length::mm(-0.1), Length::mm(0.1)]);
        let mut line = allowance(&fit, &context).unwrap();
        line.route = Route::PrintToSize;
        (line.printed, line.spread, line.origin) = (line.target, Length::mm(0.1), Origin::Record);
        assert!((first_try_risk(&line, &context.practice) - 0.0455).abs() < 1e-5);
        line.origin = Origin::Default;
        // Spread and doubt alike: the deviation is the square root of two times as wide, and 15.7 % lie outside.
        let practice = Practice { offset_doubt: Length::mm(0.1), ..context.practice };
        assert!((first_try_risk(&line, &practice) - 0.1573).abs() < 1e-4);
    }
}
