//! Local thickness and clearance: how far it is straight through the material, and straight across to the next surface.
//!
//! From places spread over the surface a ray goes inward along the normal (wall) and outward (gap); it counts where it
//! meets a surface that lies about parallel and faces back, so that the taper of a wedge or an inner corner is no wall
//! and no gap. Thickness by opposed surfaces is the "ray method" of casting practice.

use rayon::prelude::*;
use serde::Serialize;

use super::health::is_flat;
use super::mesh::{Mesh, Point};
use super::rays::Rays;
use super::vector::{Vector, add, dot, scale, sub};

/// Rays cast at most, each way.
const MOST_SAMPLES: usize = 16_000;
/// Most places on one facet.
const MOST_ON_FACET: usize = 48;
/// Surfaces within 20 degrees of parallel stand opposite each other.
pub(super) const OPPOSED: f64 = -0.94;
/// Cosine of 6 degrees: sides that run together faster than this are a taper and no wall of one thickness.
const PARALLEL: f64 = 0.9945;

/// A thickness or clearance and where it was found.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Extreme {
    /// Thickness or clearance, mm.
    pub mm: f64,
    /// The middle between the two surfaces, in part axes, mm.
    pub at: Point,
}

/// One place of the map.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// The facet it lies on.
    pub facet: u32,
    /// Part of the surface this place stands for, mm².
    pub area_mm2: f64,
    /// In part axes, mm.
    pub at: Point,
    /// Thickness of the material below, mm, where a surface stands opposite.
    pub wall_mm: Option<f64>,
    /// Cosine of the angle between the two sides of that wall; 1 where they are parallel, 0 where there is no wall.
    pub wall_parallel: f64,
    /// Clearance to the next surface outside, mm.
    pub gap_mm: Option<f64>,
}

/// The map and its extremes.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Walls {
    /// Places looked at, in the order of their facets.
    pub samples: Vec<Sample>,
    /// The thinnest wall; `None` where no two sides stand opposite.
    pub thinnest: Option<Extreme>,
    /// The narrowest gap; `None` where no two surfaces face each other.
    pub narrowest: Option<Extreme>,
}

impl Walls {
    /// Returns the thinnest wall that is more than a spot: walls of parallel sides, no thicker than this one, have
    /// `spot_mm2` of surface or more, both sides counted. A taper and a web between two rounds have less.
    ///
    /// `surface_mm2` is the whole surface, of which the places are samples. The place is one within it.
    pub fn thinnest_beyond(&self, mesh: &Mesh, spot_mm2: f64, surface_mm2: f64) -> Option<Extreme> {
        let looked_at: f64 = self.samples.iter().map(|s| s.area_mm2).sum();
        let each = if looked_at > 0.0 { surface_mm2 / looked_at } else { 0.0 };
        let flat = self.samples.iter().filter(|s| s.wall_parallel > PARALLEL);
        let mut walls: Vec<(f64, &Sample)> = flat.filter_map(|s| s.wall_mm.map(|mm| (mm, s))).collect();
        // Stable, so that equal walls keep the order of the facets.
        walls.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut area = 0.0;
        let (mm, _) = walls.iter().copied().find(|(_, s)| {
            area += s.area_mm2 * each;
            area >= spot_mm2
        })?;
        let upto = walls.partition_point(|w| w.0 <= mm);
        let (thick, sample) = walls.get(upto / 2).copied()?;
        let (normal, _) = mesh.normal_area(sample.facet as usize);
        Some(Extreme { mm, at: add(sample.at, scale(normal, -0.5 * thick)) })
    }

    /// Returns the thinnest place between parallel sides, however small: a lug or a web, but no tapering edge.
    pub fn thinnest_parallel(&self, mesh: &Mesh) -> Option<Extreme> {
        let flat = self.samples.iter().filter(|s| s.wall_parallel > PARALLEL);
        let walls = flat.filter_map(|s| s.wall_mm.map(|mm| (mm, s)));
        // The first of equal ones, whatever rounding says.
        let (mm, sample) = walls.reduce(|best, now| if now.0 < best.0 * (1.0 - 1e-6) { now } else { best })?;
        let (normal, _) = mesh.normal_area(sample.facet as usize);
        Some(Extreme { mm, at: add(sample.at, scale(normal, -0.5 * mm)) })
    }

    /// Returns the part of the looked-at surface whose wall is thinner than `mm`, and the thinnest place.
    pub fn thinner_than(&self, mm: f64) -> Option<(f64, Extreme)> {
        let thinnest = self.thinnest.filter(|t| t.mm < mm)?;
        let whole: f64 = self.samples.iter().map(|s| s.area_mm2).sum();
        let thin: f64 = self.samples.iter().filter(|s| s.wall_mm.is_some_and(|w| w < mm)).map(|s| s.area_mm2).sum();
        Some((if whole > 0.0 { thin / whole } else { 0.0 }, thinnest))
    }
}

/// Measures walls and gaps over the surface. Cost is bounded: on meshes of more facets than places, every so many
/// facets are looked at, the largest among them first.
pub fn measure(mesh: &Mesh, rays: &Rays, size_mm: f64) -> Walls {
    let places = places(mesh);
    let samples: Vec<Sample> =
        places.into_par_iter().map(|(t, p, area)| sample(mesh, rays, size_mm, t, p, area)).collect();
    let least = |of: fn(&Sample) -> Option<f64>, sign: f64| {
        let thin = samples.iter().filter_map(|s| of(s).map(|mm| (mm, s)));
        // Rounding must not decide between equal places: the first of them is taken.
        let thinnest = thin.fold(None::<(f64, &Sample)>, |best, now| match best {
            Some(b) if now.0 >= b.0 * (1.0 - 1e-6) => Some(b),
            _ => Some(now),
        });
        thinnest.map(|(mm, s)| {
            let (normal, _) = mesh.normal_area(s.facet as usize);
            Extreme { mm, at: add(s.at, scale(normal, 0.5 * sign * mm)) }
        })
    };
    Walls { thinnest: least(|s| s.wall_mm, -1.0), narrowest: least(|s| s.gap_mm, 1.0), samples }
}

fn sample(mesh: &Mesh, rays: &Rays, size_mm: f64, t: u32, p: Point, area_mm2: f64) -> Sample {
    let (normal, _) = mesh.normal_area(t as usize);
    let look = |direction: Vector| {
        let hit = rays.hit_where(p, direction, 1.5 * size_mm, |o| o != t && !is_flat(mesh, o as usize))?;
        let (other, _) = mesh.normal_area(hit.facet as usize);
        let facing = dot(normal, other);
        (facing < OPPOSED).then_some((hit.distance, -facing))
    };
    let wall = look(scale(normal, -1.0));
    Sample {
        facet: t,
        area_mm2,
        at: p,
        wall_mm: wall.map(|w| w.0),
        wall_parallel: wall.map_or(0.0, |w| w.1),
        gap_mm: look(normal).map(|g| g.0),
    }
}

/// Returns places on the surface: at least one on every facet looked at, more on larger ones.
fn places(mesh: &Mesh) -> Vec<(u32, Point, f64)> {
    let count = mesh.triangles.len();
    // A facet without height faces nowhere: what its normal says is rounding, and what stands "opposite" it lies beside it.
    let area = |t: usize| if is_flat(mesh, t) { 0.0 } else { mesh.normal_area(t).1 };
    let areas: Vec<f64> = (0..count).into_par_iter().map(area).collect();
    let total: f64 = areas.iter().sum();
    let step = count.div_ceil(MOST_SAMPLES / 2).max(1);
    let share = total / (MOST_SAMPLES as f64 / 2.0);
    let mut places = Vec::new();
    for (t, &area) in areas.iter().enumerate() {
        // A facet larger than its share is looked at even where its turn has not come.
        if area <= 0.0 || (t % step != 0 && area < share) {
            continue;
        }
        let wanted = ((area / share) as usize).clamp(1, MOST_ON_FACET);
        let [a, b, c] = mesh.corners(t);
        for i in 0..wanted {
            let (s, r) = barycentric(i, wanted);
            let p = add(a, add(scale(sub(b, a), s), scale(sub(c, a), r)));
            places.push((t as u32, p, area / wanted as f64));
        }
        if places.len() >= 2 * MOST_SAMPLES {
            break;
        }
    }
    places
}

/// Returns place `i` of `count` on a triangle: its middle where there is one only, else a low-discrepancy spread.
fn barycentric(i: usize, count: usize) -> (f64, f64) {
    if count == 1 {
        return (1.0 / 3.0, 1.0 / 3.0);
    }
    let n = i as f64 + 0.5;
    let (s, r) = ((n * 0.754_877_666_246_693).fract(), (n * 0.569_840_290_998_053).fract());
    if s + r > 1.0 { (1.0 - s, 1.0 - r) } else { (s, r) }
}
