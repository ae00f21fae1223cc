//! The first layer: what holds the part to the bed, and what could pull it off or tip it over.

use serde::Serialize;

use super::layers::cut;
use super::mesh::Point;
use super::polygon::{Contour, Filling, Polygons};
use super::pose::footprint::{Footprint, area, convex_hull, smallest_rectangle};
use super::regions::patch::View;
use super::vector::{add, scale};

/// An outer corner sharper than this is one that lifts first (degrees inside the corner).
const SHARP_DEG: f64 = 100.0;
/// ... where both its sides are at least this long, mm: shorter ones round it off.
const LEAST_SIDE_MM: f64 = 1.5;
/// Places listed at most.
const MOST_CORNERS: usize = 64;

/// The outline of the first layer and what follows from it.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct FirstLayer {
    /// Area of the facets lying on the bed, mm².
    pub contact_mm2: f64,
    /// Area of the cut through the middle of the first layer, mm².
    pub area_mm2: f64,
    /// Length of its outlines, outer ones and holes, mm.
    pub perimeter_mm: f64,
    /// Separate pieces of it: feet, islands.
    pub patches: usize,
    /// Longest straight distance between two points of it, mm.
    pub longest_mm: f64,
    /// Longer and shorter side of the smallest rectangle around it, mm.
    pub rectangle_mm: [f64; 2],
    /// Outer corners sharper than 100 degrees, which lift first.
    pub sharp_corners: usize,
    /// Places of the sharp corners, in part axes, mm; beyond a number none are listed.
    #[serde(skip)]
    pub corners_at: Vec<Point>,
    /// Height of the part over the shorter side of the rectangle.
    pub slenderness: f64,
    /// Lean at which the part would tip over, standing loose, degrees; 0 or less when it does not stand at all.
    pub tip_deg: f64,
    /// Longest distance over the thickness of the part above the bed: long and low parts curl up at their ends. The
    /// shape's part of a warp index; the material's part is physics.
    pub warp_length_mm: f64,
    /// The outlines on the plane of the bed, by two axes square to the build direction, outer ones counter-clockwise.
    #[serde(skip)]
    pub outline: Vec<Contour>,
}

impl FirstLayer {
    /// Returns why there are no patches, in words.
    pub fn missing(&self) -> &'static str {
        if self.contact_mm2 > 0.0 {
            "cannot be told: the part lies on the bed, but its outline there does not close (see defects)"
        } else {
            "nothing of the part lies in it"
        }
    }
}

/// Measures the first layer. `stability_mm` and `centroid_height_mm` as the facet pass gives them.
pub fn first_layer(
    view: &View,
    filling: Filling,
    layer_mm: f64,
    contact_mm2: f64,
    stability_mm: f64,
    centroid_height_mm: f64,
) -> FirstLayer {
    let height = view.heights.iter().copied().fold(0.0, f64::max);
    let z = (0.5 * layer_mm).min(0.5 * height);
    let cuts = cut(view, &[z]);
    let polygons = cuts.first().map_or_else(Polygons::default, |l| l.polygons(filling));
    let outline: Vec<Contour> = polygons.contours().cloned().collect();
    let hull = convex_hull(&outline.iter().flatten().copied().collect::<Vec<_>>());
    let rectangle =
        if hull.len() >= 2 { smallest_rectangle(&hull) } else { Footprint { size_mm: [0.0; 2], turn_deg: 0.0 } };
    let corners = sharp_corners(&outline);
    let low = view.heights.iter().zip(&view.mesh.vertices).find(|(h, _)| **h <= view.bed_mm);
    let base = low.map_or(0.0, |(h, p)| super::vector::dot(*p, view.up) - h);
    let lift = |c: [f64; 2]| {
        let flat = add(scale(view.across[0], c[0]), scale(view.across[1], c[1]));
        add(flat, scale(view.up, base))
    };
    let narrow = rectangle.size_mm[1];
    FirstLayer {
        contact_mm2,
        area_mm2: polygons.area(),
        perimeter_mm: outline.iter().map(perimeter).sum::<f64>() + 0.0,
        patches: polygons.shapes().len(),
        longest_mm: longest(&hull),
        rectangle_mm: rectangle.size_mm,
        sharp_corners: corners.len(),
        corners_at: corners.iter().take(MOST_CORNERS).map(|&c| lift(c)).collect(),
        slenderness: if narrow > 0.0 { height / narrow } else { 0.0 },
        tip_deg: stability_mm.atan2(centroid_height_mm.max(1e-9)).to_degrees(),
        warp_length_mm: longest(&hull) * (longest(&hull) / (longest(&hull) + height)).max(0.0),
        outline,
    }
}

fn perimeter(contour: &Contour) -> f64 {
    (0..contour.len())
        .map(|i| {
            let (a, b) = (contour[i], contour[(i + 1) % contour.len()]);
            (b[0] - a[0]).hypot(b[1] - a[1])
        })
        .sum()
}

/// The widest distance between two hull corners. Hulls are small; thinned out evenly beyond 1000 corners.
fn longest(hull: &[[f64; 2]]) -> f64 {
    let few: Vec<&[f64; 2]> = hull.iter().step_by(hull.len() / 1000 + 1).collect();
    let pairs =
        few.iter().enumerate().flat_map(|(i, a)| few[i + 1..].iter().map(move |b| (b[0] - a[0]).hypot(b[1] - a[1])));
    pairs.fold(0.0, f64::max)
}

/// Returns the outer corners sharper than the limit.
fn sharp_corners(outline: &[Contour]) -> Vec<[f64; 2]> {
    let mut corners = Vec::new();
    for contour in outline.iter().filter(|c| area(c) > 0.0) {
        let sides = straightened(contour);
        for i in 0..sides.len() {
            let (a, b, c) = (sides[i], sides[(i + 1) % sides.len()], sides[(i + 2) % sides.len()]);
            let (u, v) = ([b[0] - a[0], b[1] - a[1]], [c[0] - b[0], c[1] - b[1]]);
            if u[0].hypot(u[1]) < LEAST_SIDE_MM || v[0].hypot(v[1]) < LEAST_SIDE_MM {
                continue;
            }
            let turn = (u[0] * v[1] - u[1] * v[0]).atan2(u[0] * v[0] + u[1] * v[1]).to_degrees();
            if 180.0 - turn < SHARP_DEG && turn > 0.0 {
                corners.push(b);
            }
        }
    }
    corners
}

/// Drops points at which the outline hardly turns, so that a side cut into pieces is one side.
fn straightened(contour: &Contour) -> Contour {
    let n = contour.len();
    let turns = |i: usize| {
        let (a, b, c) = (contour[(i + n - 1) % n], contour[i], contour[(i + 1) % n]);
        let (u, v) = ([b[0] - a[0], b[1] - a[1]], [c[0] - b[0], c[1] - b[1]]);
        (u[0] * v[1] - u[1] * v[0]).abs() > 0.01 * u[0].hypot(u[1]) * v[0].hypot(v[1])
    };
    (0..n).filter(|&i| turns(i)).map(|i| contour[i]).collect()
}
