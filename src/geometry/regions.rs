//! What cannot simply be laid on the layer below: the regions of a part in a pose, told apart by what holds them.
//!
//! A region is a patch of facets steeper than the limit, so its area and its borders are the part's own and do not
//! depend on where layers happen to fall. Layers decide what a region rests on: whatever lies less than one layer below
//! it holds it, and whatever begins a layer or more above everything around it begins in the air.

pub mod judge;
pub mod limits;
pub(crate) mod minima;
pub(crate) mod patch;
pub(crate) mod span;
mod spread;
pub(crate) mod words;

use std::f64::consts::TAU;

use serde::{Serialize, Serializer};

use super::adjacency::NONE;
use super::features::cylinders::circle;
use super::mesh::Point;
use super::pose::footprint::{area, convex_hull};
use super::rays::Rays;
use super::reach::{LEAST_OPEN, glance, just_off, openness};
use super::vector::{Vector, add, cross, dot, normalise, perpendiculars, scale, sub};
use limits::Limits;
use minima::{Beginning, Fans, beginnings};
use patch::{FLAT_DEG, Patch, Patches, View, patches};

/// Regions beyond this number, the smallest ones, are only summed up.
pub const MOST_REGIONS: usize = 256;
/// Places from which reach is looked at closely: this many for the largest regions, fewer from a rank on; and how many
/// times as many are glanced at.
const LOOKS_OUT: [(usize, usize); 3] = [(16, 3), (64, 2), (MOST_REGIONS, 1)];
const QUICK_LOOKS: usize = 8;
/// Looks down from one region: this many for each mm², within these bounds.
const SAMPLES_PER_MM2: f64 = 1.0;
const SAMPLES: (usize, usize) = (12, 128);

/// A ceiling is a dome where it bows no more than so many times as much one way as the other. A pipe bent upright bows
/// along its bend by the bend's radius and its own, across by its own alone: a bend that does not cut into itself makes
/// that at least 2 (own judgement between this and the 1 of a ball).
const ROUNDER: f64 = 1.6;
/// ... and where its total curvature is this part of what so much bowing over its shadow would come to.
const DOME: f64 = 0.25;

/// What holds a region, or does not.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "for-tests", derive(schemars::JsonSchema), schemars(rename = "RegionKind"))]
pub enum Kind {
    /// Begins in the air: nothing beneath it at all.
    Island,
    /// A ceiling held at both ends.
    Bridge,
    /// A ceiling held on one side.
    Ledge,
    /// A slope beyond the limit.
    Steep,
    /// The ceiling of a lying round hole.
    HoleCrown,
}

/// What is to be done about a region.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "for-tests", derive(schemars::JsonSchema), schemars(rename = "RegionVerdict"))]
pub enum Verdict {
    /// Nothing: it prints as it is.
    None,
    /// It prints as a bridge.
    Bridge,
    /// It needs support, which can be taken out.
    Support,
    /// It needs support, which could not be taken out.
    Trapped,
    /// It needs support, which could not even be put there.
    Redesign,
    /// It is left to hang without support, and comes out rough.
    Left,
}

/// One region of a part in a pose.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Region {
    /// What holds it.
    pub kind: Kind,
    /// Lowest and highest point above the bed, mm.
    pub z_mm: [f64; 2],
    /// Area of its facets, mm²; for a tip, the area of its first layer.
    pub area_mm2: f64,
    /// Length between the held ends, mm, where there are two; across a hole crown, the chord of its flat part.
    pub span_mm: Option<f64>,
    /// Height of the material that rests on it, mm.
    pub above_mm: f64,
    /// Farthest point from whatever holds it, seen from above, mm.
    pub reach_mm: Option<f64>,
    /// Steepest slope from vertical, degrees; a ceiling has 90.
    pub angle_deg: f64,
    /// A place on it, in part axes, mm.
    pub at: Point,
    /// What is to be done about it, by the limits it was judged by.
    pub verdict: Verdict,
    /// Whether support below it could be taken out.
    pub removable: bool,
    /// Why: the measure against the limit, and where the limit comes from.
    pub because: String,
    /// Direction of the span, in part axes.
    #[serde(skip)]
    pub direction: Option<Vector>,
    /// Diameter of the round hole it crowns, mm.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub diameter_mm: Option<f64>,
    /// Volume below it down to the bed or the part, mm³.
    #[serde(serialize_with = "rounded")]
    pub below_mm3: f64,
    /// Part of its area with the part itself below, where support would stand on the part, mm².
    pub on_part_mm2: f64,
    /// Part of all directions that lead from it to the outside.
    pub openness: f64,
    /// Its facets.
    #[serde(skip)]
    pub facets: Vec<u32>,
    /// Room below it where the part itself is below most of it, mm.
    #[serde(skip)]
    pub room_mm: Option<f64>,
    /// Whether it rises from the bed.
    #[serde(skip)]
    pub rises_from_bed: bool,
}

fn rounded<S: Serializer>(value: &f64, s: S) -> Result<S::Ok, S::Error> {
    s.serialize_f64((value * 1e6).round() / 1e6)
}

impl Region {
    /// Whether support is to be put below it.
    pub fn needs_support(&self) -> bool {
        matches!(self.verdict, Verdict::Support | Verdict::Trapped | Verdict::Redesign)
    }
}

/// All regions of a part in a pose, largest first, and the sums over them.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Regions {
    /// The largest first, as many as are listed.
    pub list: Vec<Region>,
    /// How many regions are too small or too many to be listed.
    pub unlisted: usize,
    /// Area of those not listed, mm².
    pub unlisted_mm2: f64,
    /// Volume to fill with support below the regions that need it, mm³.
    pub support_mm3: f64,
    /// Area that support would touch from below, mm².
    pub support_contact_mm2: f64,
    /// Area of the part on which that support would stand, mm².
    pub support_on_part_mm2: f64,
}

/// Finds the regions of `view`; `fans` is asked for only where something begins in the air.
pub fn regions<'f>(
    view: &View,
    rays: &Rays,
    fans: impl FnOnce() -> &'f Fans,
    size_mm: f64,
    limits: &Limits,
) -> Regions {
    let patches = patches(view, limits.overhang());
    let starts = beginnings(view, fans, limits.layer_mm);
    let mut begins = vec![false; patches.list.len()];
    let mut tips: Vec<&Beginning> = Vec::new();
    for start in &starts {
        match start.facets.iter().map(|&t| patches.of_facet[t as usize]).find(|&p| p != NONE) {
            Some(patch) => begins[patch as usize] = true,
            None => tips.push(start),
        }
    }
    let worker = Worker { view, rays, patches: &patches, limits, size_mm };
    let mut order: Vec<usize> = (0..patches.list.len()).collect();
    // By what they are, not by the facet that came first in the file.
    let key = |i: usize| {
        let patch = &patches.list[i];
        let [x, y] = view.flat(patch.middle);
        [-patch.area_mm2, patch.z_mm[0], patch.z_mm[1], x, y].map(|n| (n * 1e6).round() + 0.0)
    };
    order.sort_by(|&a, &b| {
        key(a).iter().zip(key(b)).map(|(m, n)| m.total_cmp(&n)).find(|o| o.is_ne()).unwrap_or(a.cmp(&b))
    });
    // Facets smaller than a line's width either way cannot be told from the grain of the layers.
    let least = 0.25 * limits.line_mm * limits.line_mm;
    let mut found = Regions::default();
    for (rank, &i) in order.iter().enumerate() {
        let patch = &patches.list[i];
        if rank >= MOST_REGIONS || patch.area_mm2 < least {
            found.unlisted += 1;
            found.unlisted_mm2 += patch.area_mm2;
        } else if let Some(region) = worker.region(patch, i as u32, begins[i], looks_out(rank)) {
            found.list.push(region);
        }
    }
    found.unlisted += tips.len().saturating_sub(MOST_REGIONS);
    found.list.extend(tips.iter().take(MOST_REGIONS).filter_map(|t| worker.tip(t)));
    found.sum();
    found
}

impl Regions {
    /// Returns the same regions judged by other limits. The overhang limit must be the one they were found with: it
    /// decides what is a region at all.
    pub fn judged(&self, limits: &Limits) -> Self {
        let mut other = self.clone();
        other.list.iter_mut().for_each(|region| judge::judge(region, limits));
        other.sum();
        other
    }

    fn sum(&mut self) {
        (self.support_mm3, self.support_contact_mm2, self.support_on_part_mm2) = (0.0, 0.0, 0.0);
        for region in self.list.iter().filter(|r| r.needs_support()) {
            self.support_mm3 += region.below_mm3;
            self.support_contact_mm2 += region.area_mm2;
            self.support_on_part_mm2 += region.on_part_mm2;
        }
    }
}

struct Worker<'a> {
    view: &'a View<'a>,
    rays: &'a Rays<'a>,
    patches: &'a Patches,
    limits: &'a Limits,
    size_mm: f64,
}

/// What looking down from a region found.
#[derive(Debug, Default)]
struct Below {
    /// Mean height of the room below, mm, and the least.
    gap_mm: f64,
    least_mm: f64,
    /// Mean height of the material above.
    above_mm: f64,
    /// Parts of the region that lie on another body or in it, and that have the part below.
    resting: f64,
    over_part: f64,
    /// Places just below the region.
    places: Vec<Point>,
}

impl Worker<'_> {
    fn region(&self, patch: &Patch, id: u32, begins: bool, looks: usize) -> Option<Region> {
        let below = self.look_down(patch, id);
        if below.resting > 0.9 {
            return None;
        }
        let span = span::span(patch);
        let dome = is_round(patch) && self.is_dome(patch, id);
        let kind = kind(patch, span.is_some(), begins, dome);
        let chord = span.map(|s| s.length_mm).filter(|_| matches!(kind, Kind::Bridge | Kind::HoleCrown));
        let reach = matches!(kind, Kind::Ledge | Kind::Steep | Kind::Island).then(|| {
            // A dome is held all round, and reaches farthest in its middle.
            let facets = patch.facets.iter().filter(|_| dome);
            let within: Vec<[f64; 2]> = facets.map(|&t| self.view.flat(self.view.mesh.centre(t as usize))).collect();
            span::reach(patch, &within)
        });
        let mut region = Region {
            kind,
            z_mm: patch.z_mm,
            area_mm2: patch.area_mm2,
            span_mm: chord,
            above_mm: below.above_mm,
            reach_mm: reach,
            angle_deg: patch.angle_deg,
            at: self.place(patch),
            verdict: Verdict::None,
            removable: true,
            because: String::new(),
            direction: span.filter(|_| chord.is_some()).map(|s| self.lift(s.direction)),
            diameter_mm: None,
            below_mm3: below.gap_mm * patch.shadow_mm2,
            on_part_mm2: below.over_part * patch.area_mm2,
            openness: self.openness(&below, looks),
            facets: patch.facets.clone(),
            room_mm: (below.over_part > 0.5).then_some(below.gap_mm),
            rises_from_bed: !patch.footing.is_empty(),
        };
        if kind == Kind::HoleCrown {
            let flat = self.limits.overhang().cos();
            // Facets end where they end; the round they stand for has its chord at the limit itself.
            region.diameter_mm = round_diameter(self.view, patch).or(chord.map(|c| c / flat));
        }
        region.removable = region.openness >= LEAST_OPEN;
        judge::judge(&mut region, self.limits);
        Some(region)
    }

    /// Whether a hollow patch is curved alike both ways, as the ceiling of a ball is and that of a tube, straight or bent,
    /// is not.
    ///
    /// A tube bent upright is curved both ways too, but much more across it than along it, and is held from both its sides
    /// at every place: see [`ROUNDER`]. That it is curved at all both ways is asked of its total curvature: the mean slopes
    /// of two bores that cross are alike in all directions, though each is straight.
    fn is_dome(&self, patch: &Patch, id: u32) -> bool {
        let Some([most, least]) = bows(self.view, patch) else { return false };
        least > 0.0 && most < ROUNDER * least && self.curvature(patch, id) > DOME * most * least * patch.shadow_mm2
    }

    /// Returns the total curvature of a patch but for its rim, which is the sum over the inner vertices of what the angles
    /// around each lack of a full turn (R. Descartes, about 1630; in today's words the discrete theorem of Gauss and Bonnet).
    fn curvature(&self, patch: &Patch, id: u32) -> f64 {
        let (mesh, mut angles, mut rim) = (self.view.mesh, Vec::new(), Vec::new());
        for &t in &patch.facets {
            let (corners, at) = (mesh.triangles[t as usize], mesh.corners(t as usize));
            for k in 0..3 {
                let to = |j: usize| normalise(sub(at[(k + j) % 3], at[k]));
                angles.push((corners[k], super::pose::angle(to(1), to(2))));
                let across = self.view.twin[3 * t as usize + k];
                if across == NONE || self.patches.of_facet[across as usize / 3] != id {
                    rim.extend([corners[k], corners[(k + 1) % 3]]);
                }
            }
        }
        angles.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
        rim.sort_unstable();
        let inner = angles.chunk_by(|a, b| a.0 == b.0).filter(|around| rim.binary_search(&around[0].0).is_err());
        inner.map(|around| TAU - around.iter().map(|a| a.1).sum::<f64>()).sum()
    }

    /// A point or a keel at which something begins without any facet being too steep.
    fn tip(&self, start: &Beginning) -> Option<Region> {
        let at = self.view.mesh.vertices[start.lowest as usize];
        let down = scale(self.view.up, -1.0);
        let away = 1e-4 * self.size_mm.min(1.0);
        let hit = self.rays.hit(add(at, scale(down, away)), down, self.size_mm * 2.0);
        let on_part = hit.is_some_and(|h| dot(self.view.facet(h.facet).0, self.view.up) > 0.0);
        let gap = hit.map_or(start.height_mm, |h| h.distance + away);
        // Inside another body, or less than a layer above it: held.
        if hit.is_some() && (!on_part || gap < self.limits.layer_mm) {
            return None;
        }
        let flat: Vec<[f64; 2]> =
            start.vertices.iter().map(|&v| self.view.flat(self.view.mesh.vertices[v as usize])).collect();
        let first_layer = area(&convex_hull(&flat));
        let openness = openness(self.rays, just_off(at, down, gap), self.size_mm);
        let mut region = Region {
            kind: Kind::Island,
            z_mm: [start.height_mm, start.height_mm + self.limits.layer_mm],
            area_mm2: first_layer,
            span_mm: None,
            above_mm: self.above(at),
            reach_mm: Some(0.0),
            angle_deg: 90.0,
            at,
            verdict: Verdict::None,
            removable: openness >= LEAST_OPEN,
            because: String::new(),
            direction: None,
            diameter_mm: None,
            below_mm3: gap * first_layer,
            on_part_mm2: if on_part { first_layer } else { 0.0 },
            openness,
            facets: Vec::new(),
            room_mm: on_part.then_some(gap),
            rises_from_bed: false,
        };
        judge::judge(&mut region, self.limits);
        Some(region)
    }

    /// Height of the material straight above a place of the surface, mm.
    fn above(&self, p: Point) -> f64 {
        let hair = 1e-6 * self.size_mm;
        let hit = self.rays.hit(add(p, scale(self.view.up, hair)), self.view.up, 2.0 * self.size_mm);
        hit.map_or(0.0, |h| h.distance + hair)
    }

    /// Looks straight down from places spread evenly over the patch.
    fn look_down(&self, patch: &Patch, id: u32) -> Below {
        // Rounded up from a little below, so that an area of whole mm² has one number however it was added up.
        let count = ((patch.shadow_mm2 * SAMPLES_PER_MM2 - 1e-6).ceil() as usize).clamp(SAMPLES.0, SAMPLES.1);
        let down = scale(self.view.up, -1.0);
        let mut below = Below { least_mm: f64::INFINITY, ..Below::default() };
        let foreign = |t: u32| self.patches.of_facet[t as usize] != id;
        let places = spread::places(self.view, patch, count);
        let share = 1.0 / places.len().max(1) as f64;
        for p in places {
            let height = dot(sub(p, self.view.mesh.vertices[0]), self.view.up) + self.view.heights[0];
            // From a hair inside, so that a body that lies flush below is met too.
            let hair = 1e-6 * self.size_mm;
            let hit = self.rays.hit_where(sub(p, scale(down, hair)), down, 2.0 * self.size_mm, foreign);
            let faces_up = |t: u32| dot(self.view.facet(t).0, self.view.up) > 0.0;
            let gap = hit.map_or(height, |h| (h.distance - hair).max(0.0)).max(0.0);
            let part_below = hit.is_some_and(|h| faces_up(h.facet));
            let inside = hit.is_some() && !part_below;
            if inside || (part_below && gap < self.limits.layer_mm) {
                below.resting += share;
            } else {
                below.gap_mm += gap * share;
                below.over_part += if part_below { share } else { 0.0 };
                below.least_mm = below.least_mm.min(gap);
                below.places.push(just_off(p, down, gap));
            }
        }
        below.gap_mm /= (1.0 - below.resting).max(1e-9);
        let few = spread::places(self.view, patch, SAMPLES.0);
        below.above_mm = few.iter().map(|&p| self.above(p)).sum::<f64>() / few.len().max(1) as f64;
        below
    }

    /// Returns the least openness below the region, since all of its support must come out: of the places that a quick
    /// look finds closed in most, a few are looked at closely.
    fn openness(&self, below: &Below, looks: usize) -> f64 {
        let step = (below.places.len() / (QUICK_LOOKS * looks)).max(1);
        let some = below.places.iter().step_by(step);
        let mut seen: Vec<(f64, Point)> = some.map(|&p| (glance(self.rays, p, self.size_mm), p)).collect();
        seen.sort_by(|a, b| a.0.total_cmp(&b.0));
        let closely = seen.iter().take(looks).map(|&(_, p)| openness(self.rays, p, self.size_mm));
        closely.min_by(f64::total_cmp).unwrap_or(0.0)
    }

    /// Returns the middle of the patch if that lies on it, else the middle of the facet nearest to it.
    fn place(&self, patch: &Patch) -> Point {
        let distance = |t: u32| super::vector::distance(self.view.mesh.centre(t as usize), patch.middle);
        let from = add(patch.middle, scale(self.view.up, -1e-3 * self.size_mm));
        let own = |t: u32| self.patches.of_facet[t as usize] != NONE;
        let near = self.rays.hit_where(from, self.view.up, 2e-3 * self.size_mm, own);
        if near.is_some_and(|h| patch.facets.contains(&h.facet)) {
            return patch.middle;
        }
        let nearest = patch.facets.iter().copied().min_by(|&a, &b| distance(a).total_cmp(&distance(b)));
        nearest.map_or(patch.middle, |t| self.view.mesh.centre(t as usize))
    }

    /// Returns a direction on the bed plane in part axes.
    fn lift(&self, d: [f64; 2]) -> Vector {
        add(scale(self.view.across[0], d[0]), scale(self.view.across[1], d[1])).map(|c| c + 0.0)
    }
}

/// Returns from how many places below the region of this rank one looks out.
fn looks_out(rank: usize) -> usize {
    LOOKS_OUT.iter().find(|(until, _)| rank < *until).map_or(1, |(_, looks)| *looks)
}

/// Returns the diameter of the lying round whose ceiling the patch is; `None` where it is no cylinder (a dome).
fn round_diameter(view: &View, patch: &Patch) -> Option<f64> {
    let normal = |t: u32| view.facet(t).0;
    let top =
        patch.facets.iter().copied().min_by(|&a, &b| dot(normal(a), view.up).total_cmp(&dot(normal(b), view.up)))?;
    let mut axis = [0.0; 3];
    for &t in &patch.facets {
        let turn = cross(normal(top), normal(t));
        axis = add(axis, if dot(turn, axis) < 0.0 { scale(turn, -1.0) } else { turn });
    }
    let (u, v) = perpendiculars(normalise(axis));
    let corners = patch.facets.iter().flat_map(|&t| view.mesh.corners(t as usize)).map(|p| sub(p, patch.middle));
    let flat: Vec<[f64; 2]> = corners.map(|p| [dot(p, u), dot(p, v)]).collect();
    let (middle, radius) = circle(&flat)?;
    let worst = flat.iter().map(|p| ((p[0] - middle[0]).hypot(p[1] - middle[1]) - radius).abs()).fold(0.0, f64::max);
    (worst < 0.01 * radius).then_some(2.0 * radius)
}

/// Returns how much a ceiling bows downward in the direction it does most, and across that, 1/mm: the slopes of its facets
/// fitted linearly to their places on the bed plane, which for a paraboloid gives its principal curvatures. `None` where
/// the patch has no breadth.
fn bows(view: &View, patch: &Patch) -> Option<[f64; 2]> {
    let origin = view.flat(patch.middle);
    // Weight; sums of place, slope, place by place, and slope by place.
    let (mut weight, mut place, mut slope) = (0.0, [0.0; 2], [0.0; 2]);
    let (mut spread, mut product) = ([[0.0; 2]; 2], [[0.0; 2]; 2]);
    for &t in &patch.facets {
        let (normal, area) = view.facet(t);
        let down = -dot(normal, view.up);
        if down <= 0.0 {
            continue;
        }
        let shadow = area * down;
        let at = view.flat(view.mesh.centre(t as usize));
        let p = [at[0] - origin[0], at[1] - origin[1]];
        let g = view.across.map(|side| -dot(normal, side) / down);
        weight += shadow;
        for i in 0..2 {
            place[i] += shadow * p[i];
            slope[i] += shadow * g[i];
            for k in 0..2 {
                spread[i][k] += shadow * p[i] * p[k];
                product[i][k] += shadow * g[i] * p[k];
            }
        }
    }
    for i in 0..2 {
        for k in 0..2 {
            spread[i][k] -= place[i] * place[k] / weight;
            product[i][k] -= slope[i] * place[k] / weight;
        }
    }
    let det = spread[0][0] * spread[1][1] - spread[0][1] * spread[1][0];
    let trace = spread[0][0] + spread[1][1];
    if det.is_nan() || det <= 1e-9 * trace * trace {
        return None;
    }
    let inverse = [[spread[1][1] / det, -spread[0][1] / det], [-spread[1][0] / det, spread[0][0] / det]];
    let bow = |i: usize, k: usize| product[i][0] * inverse[0][k] + product[i][1] * inverse[1][k];
    let (a, b, c) = (bow(0, 0), 0.5 * (bow(0, 1) + bow(1, 0)), bow(1, 1));
    let (mean, half) = (0.5 * (a + c), (0.5 * (a - c)).hypot(b));
    Some([mean + half, mean - half])
}

/// Whether a patch is a ceiling bent round a void.
fn is_round(patch: &Patch) -> bool {
    let bent = patch.turn > 0.17 && patch.flat_mm2 < 0.95 * patch.area_mm2;
    bent && patch.hollow_mm > 4.0 * patch.bulging_mm && patch.angle_deg > FLAT_DEG
}

/// Tells what a patch is from what holds it and how it is bent.
fn kind(patch: &Patch, spans: bool, begins: bool, dome: bool) -> Kind {
    let ceiling = patch.flat_mm2 > 0.5 * patch.area_mm2;
    if begins || (patch.held_mm <= 0.0 && patch.footing.is_empty()) {
        Kind::Island
    } else if spans && is_round(patch) && !dome {
        Kind::HoleCrown
    } else if spans && ceiling {
        Kind::Bridge
    } else if ceiling {
        Kind::Ledge
    } else {
        Kind::Steep
    }
}
