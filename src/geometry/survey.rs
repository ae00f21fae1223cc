//! One call for all the facts: of a mesh, of a mesh in a pose, and of the poses worth choosing from.

pub mod measure;

use std::sync::{Arc, OnceLock};

use rayon::prelude::*;

use super::adjacency::twins;
use super::health::{Connected, Health, examine_connected};
use super::hull::{Hull, convex};
use super::mesh::Mesh;
use super::pose::candidates::{Wanted, candidates};
use super::pose::facets::{FacetFacts, FacetTable};
use super::pose::footprint::{Footprint, area, convex_hull, smallest_rectangle};
use super::pose::{Pose, SAME_DIRECTION};
use super::rays::Rays;
use super::regions::limits::Limits;
use super::regions::minima::Fans;
use super::regions::patch::View;
use super::regions::{Regions, regions};
use super::vector::{Vector, dot, normalise};

/// The names of the default score's parts.
pub const PENALTIES: [&str; 5] = ["overhang", "support", "contact", "tipping", "height"];

/// A side with this share of the part's surface is a large one.
const LARGE_SIDE: f64 = 0.01;
/// Two poses are the same but for symmetry when all their facts agree to this part.
const SAME_FACTS: f64 = 1e-3;

/// Cosine of the angle within which two directions are one.
const SAME_WAY: f64 = 1.0 - 0.5 * SAME_DIRECTION * SAME_DIRECTION;

/// What to look for among the ways up.
#[derive(Debug, Clone)]
pub struct PoseOptions {
    /// What prints without support, and where that is known from.
    pub limits: Limits,
    /// Candidates beside those the part's own shape gives.
    pub wanted: Wanted,
    /// Directions (loads, faces with a demand) that tell poses apart which the bare shape makes equal.
    pub distinguish: Vec<Vector>,
    /// How many poses to return at most, the best first.
    pub keep: usize,
    /// What counts as a flat side to stand on. The largest sides are kept however they rank, ...
    pub flat: Flat,
    /// ... up to so many.
    pub flat_sides: usize,
}

/// What makes a side of the part one that it can stand on.
#[derive(Debug, Clone, Copy)]
pub struct Flat {
    /// Area on the bed that always does, mm².
    pub contact_mm2: f64,
    /// Share of what the part shades that must lie on the bed: less is an edge, or a few tips.
    pub share: f64,
    /// How many times as high as what stands on the bed is wide.
    pub slenderness: f64,
}

impl Default for Flat {
    /// Common practice; a caller who knows better figures puts them in.
    fn default() -> Self {
        Self { contact_mm2: 20.0, share: 0.01, slenderness: 10.0 }
    }
}

impl PoseOptions {
    /// How many poses are kept in which the part does not stand: all there is room for where it never does.
    fn leaning(&self, sides: usize) -> usize {
        if sides == 0 { self.keep } else { self.keep.div_ceil(3) }
    }
}

impl PoseOptions {
    /// Whether a way up is one of those that are kept however they rank.
    fn is_plain(&self, up: Vector) -> bool {
        self.wanted.plain.iter().any(|&d| dot(normalise(d), up).abs() > SAME_WAY)
    }
}

impl Flat {
    /// Whether so much lies on the bed that the part is held by a face, not by an edge or a few tips.
    pub fn is_footed(&self, contact_mm2: f64, shadow_mm2: f64) -> bool {
        contact_mm2 >= self.contact_mm2.min(0.5 * shadow_mm2) && contact_mm2 > self.share * shadow_mm2
    }
}

impl Default for PoseOptions {
    fn default() -> Self {
        Self {
            limits: Limits::default(),
            wanted: Wanted::default(),
            distinguish: Vec::new(),
            keep: 12,
            flat: Flat::default(),
            flat_sides: 8,
        }
    }
}

/// What is known about the part in one pose.
#[derive(Debug, Clone, PartialEq)]
pub struct PoseFacts {
    /// Which way up.
    pub pose: Pose,
    /// Other ways up in which a symmetry of the part makes everything the same.
    pub equals: Vec<Vector>,
    /// Facets steeper than the limit, those lying on the bed left out, mm².
    pub overhang_mm2: f64,
    /// Facets lying on the bed, mm².
    pub contact_mm2: f64,
    /// Above the bed, mm.
    pub height_mm: f64,
    /// Longer and shorter side of the smallest rectangle around the outline seen from above, mm.
    pub footprint_mm: [f64; 2],
    /// Turn about the vertical that lays the longer side along the printer's x, degrees.
    pub turn_deg: f64,
    /// Area of the outline's convex hull seen from above, mm².
    pub shadow_mm2: f64,
    /// Volume to be filled with support, mm³: below the regions that need it where those are known, else below every
    /// overhanging facet down to the bed (an upper bound).
    pub support_mm3: f64,
    /// The regions of the part in this pose, where they were looked for.
    pub regions: Option<Regions>,
    /// How far within the contact outline the centroid stands, mm; negative: it tips over.
    pub stability_mm: f64,
    /// Of the volume, above the bed, mm.
    pub centroid_height_mm: f64,
    /// Shorter side of the smallest rectangle around what touches the bed, mm.
    pub footing_mm: f64,
    /// Whether it stands by itself.
    pub stable: bool,
    /// The default score, by named parts, all dimensionless; less is better.
    pub penalties: Vec<(&'static str, f64)>,
    /// Whether it stands where support holds what hangs over, by itself or by that.
    pub propped: bool,
}

/// What of a pose hangs on the limits.
#[derive(Debug, Clone, PartialEq)]
pub struct Overhangs {
    /// See [`PoseFacts::overhang_mm2`].
    pub overhang_mm2: f64,
    /// See [`PoseFacts::support_mm3`].
    pub support_mm3: f64,
    /// See [`PoseFacts::regions`].
    pub regions: Option<Regions>,
    /// See [`PoseFacts::propped`].
    pub propped: bool,
}

impl Overhangs {
    /// Returns those that the pose was ranked by.
    pub fn of(facts: &PoseFacts) -> Self {
        let PoseFacts { overhang_mm2, support_mm3, regions, propped, .. } = facts;
        Self { overhang_mm2: *overhang_mm2, support_mm3: *support_mm3, regions: regions.clone(), propped: *propped }
    }

    /// Judges the regions by other limits; see [`Regions::judged`].
    pub fn judged(self, limits: &Limits) -> Self {
        let regions = self.regions.map(|r| r.judged(limits));
        let support_mm3 = regions.as_ref().map_or(self.support_mm3, |r| r.support_mm3);
        Self { support_mm3, regions, ..self }
    }
}

impl PoseFacts {
    /// Whether the part lies on a face, not on an edge or a few tips.
    pub fn is_footed(&self, flat: &Flat) -> bool {
        flat.is_footed(self.contact_mm2, self.shadow_mm2)
    }

    /// How many times as high the part is as what it stands on is wide.
    pub fn slenderness(&self) -> f64 {
        self.height_mm / self.footing_mm.max(1e-6)
    }

    /// Whether the part stands on a flat side: held by a face, its weight over it, and not too slender.
    pub fn stands(&self, flat: &Flat) -> bool {
        self.is_footed(flat) && self.stable && self.slenderness() <= flat.slenderness
    }

    /// Returns the sum of the penalties of the default score.
    pub fn total(&self) -> f64 {
        self.penalties.iter().map(|p| p.1).sum()
    }
}

/// Everything that several questions about one mesh share; built once.
///
/// What only some questions need is built when first asked for.
pub struct Prepared<'a> {
    /// The mesh all this is of.
    pub mesh: &'a Mesh,
    /// Its convex hull; `None` where its points span no volume.
    pub hull: Option<Hull>,
    /// What every pose asks of every facet.
    pub table: FacetTable,
    twins: OnceLock<Arc<Vec<u32>>>,
    rays: OnceLock<Rays<'a>>,
    fans: OnceLock<Fans>,
}

/// Cosine of the angle within which two ways up are one to whoever lays a part down.
const ONE_WAY_UP: f64 = 0.9998;

/// Leaves out what lies on next to nothing where almost the same way up lies flat: an axis of the mass half a degree off a base
/// is that base, missed.
fn but_almost_flat(poses: Vec<(Pose, FacetFacts)>) -> Vec<(Pose, FacetFacts)> {
    let flatter = |(pose, f): &(Pose, FacetFacts)| {
        let beside = |(other, g): &(Pose, FacetFacts)| {
            dot(pose.up, other.up) > ONE_WAY_UP && g.contact_mm2 > 2.0 * f.contact_mm2
        };
        poses.iter().any(beside)
    };
    let keep: Vec<bool> = poses.par_iter().with_min_len(16).map(|one| !flatter(one)).collect();
    poses.into_iter().zip(keep).filter_map(|(one, keep)| keep.then_some(one)).collect()
}

impl<'a> Prepared<'a> {
    /// Finds the hull and lays out the table; the mesh must have facets.
    pub fn new(mesh: &'a Mesh) -> Self {
        Self::with_hull(mesh, convex(mesh))
    }

    fn with_hull(mesh: &'a Mesh, hull: Option<Hull>) -> Self {
        let table = FacetTable::new(mesh, hull.as_ref().map(|h| &h.mesh));
        Self { mesh, hull, table, twins: OnceLock::new(), rays: OnceLock::new(), fans: OnceLock::new() }
    }

    /// Prepares a mesh and calls `meanwhile` with it while its health is examined, which shares the tree and the twins;
    /// one after the other this takes longer, and more memory.
    pub fn examined<R: Send>(mesh: &'a Mesh, meanwhile: impl FnOnce(&Self) -> R + Send) -> (Self, Health, R) {
        let (connected, ((rays, boxes), hull)) =
            rayon::join(|| Connected::new(mesh), || rayon::join(|| Rays::with_boxes(mesh), || convex(mesh)));
        let mut prepared = Self::with_hull(mesh, hull);
        prepared.rays = OnceLock::from(rays);
        if let Some(twins) = connected.twins(mesh) {
            prepared.twins = OnceLock::from(twins);
        }
        let (health, result) =
            rayon::join(|| examine_connected(mesh, &connected, prepared.rays().tree(), boxes), || meanwhile(&prepared));
        (prepared, health, result)
    }

    /// Returns the facet across each side of each facet; see [`twins`].
    pub fn twins(&self) -> &[u32] {
        self.twins.get_or_init(|| twins(self.mesh))
    }

    /// Returns the tree that rays are shot through.
    pub fn rays(&self) -> &Rays<'a> {
        self.rays.get_or_init(|| Rays::new(self.mesh))
    }

    /// Returns the facets around each vertex.
    pub fn fans(&self) -> &Fans {
        self.fans.get_or_init(|| Fans::new(self.mesh))
    }

    /// Returns the part as seen in a pose.
    pub fn view(&self, pose: &Pose) -> View<'_> {
        View::new(self.mesh, &self.table, self.twins(), pose.up)
    }

    /// Returns the regions of the part in a pose.
    pub fn regions(&self, pose: &Pose, limits: &Limits) -> Regions {
        let view = self.view(pose);
        regions(&view, self.rays(), || self.fans(), self.table.size_mm, limits)
    }

    /// Returns the poses worth choosing from, best first by the default score, symmetric equals left out.
    pub fn poses(&self, options: &PoseOptions) -> Vec<PoseFacts> {
        self.poses_and(options, None).0
    }

    /// Returns the poses, and the facts of one that is wanted in any case, where those in full do not have it.
    pub(crate) fn poses_and(
        &self,
        options: &PoseOptions,
        wanted: Option<&Pose>,
    ) -> (Vec<PoseFacts>, Option<PoseFacts>) {
        let tried = candidates(self.hull.as_ref(), &options.wanted);
        let limit = options.limits.overhang();
        let facets = self.table.pass(self.mesh, &tried, limit);
        let mut promising: Vec<(Pose, FacetFacts)> = but_almost_flat(tried.into_iter().zip(facets).collect());
        promising.sort_by(|a, b| self.promise(&a.1).total_cmp(&self.promise(&b.1)).then_with(|| rank_up(&a.0, &b.0)));
        let mut distinct: Vec<(Pose, FacetFacts, Vec<Vector>)> = Vec::new();
        let mut sides = 0;
        for (pose, f) in promising {
            let told_apart =
                |p: &Pose| options.distinguish.iter().any(|&d| (dot(p.up, d) - dot(pose.up, d)).abs() > 1e-2);
            if let Some((.., equals)) = distinct.iter_mut().find(|(p, g, _)| alike(g, &f) && !told_apart(p)) {
                equals.push(pose.up);
                continue;
            }
            // A large flat side is looked at however it ranks: somebody will ask why it was not taken.
            let side = f.contact_mm2 >= LARGE_SIDE * self.table.surface_mm2 && sides < 2 * options.flat_sides;
            sides += usize::from(side);
            if side || options.is_plain(pose.up) || distinct.len() < 2 * options.keep {
                distinct.push((pose, f, Vec::new()));
            }
        }
        let mut facts: Vec<PoseFacts> = distinct
            .into_par_iter()
            .map(|(pose, f, equals)| PoseFacts { equals, ..self.complete(pose, f, limit) })
            .collect();
        let order = |a: &PoseFacts, b: &PoseFacts| {
            b.stands(&options.flat).cmp(&a.stands(&options.flat)).then_with(|| rank(a, b))
        };
        facts.sort_by(order);
        let mut kept: Vec<PoseFacts> = Vec::new();
        let mut sides = 0;
        for f in facts {
            if let Some(known) = kept.iter_mut().find(|k| same(k, &f, &options.distinguish)) {
                known.equals.push(f.pose.up);
                known.equals.extend(f.equals);
                continue;
            }
            let stands = f.stands(&options.flat);
            sides += usize::from(stands);
            // Sides come first; of what leans the best few show why it is no better.
            let most = if stands {
                options.flat_sides
            } else {
                options.keep.min(sides.min(options.flat_sides) + options.leaning(sides))
            };
            if kept.len() < most || options.is_plain(f.pose.up) {
                kept.push(f);
            }
        }
        // All that are kept are looked at in full: one of which less is known would win by what is not known of it.
        let missing = wanted.filter(|pose| !kept.iter().any(|k| k.pose.up == pose.up));
        let (_, extra) = rayon::join(
            || kept.par_iter_mut().for_each(|f| self.deepen(f, &options.limits)),
            || missing.map(|pose| self.facts_in_pose(pose, options)),
        );
        kept.sort_by(order);
        (kept, extra)
    }

    /// A first guess at the score, from what the facet pass alone tells; rounded so that rounding cannot decide.
    fn promise(&self, f: &FacetFacts) -> f64 {
        let part = |value: f64, whole: f64| if whole > 0.0 { value / whole } else { 0.0 };
        let held = if part(f.contact_mm2, self.table.surface_mm2) < 0.005 { 2.0 } else { 0.0 };
        let tipping = if f.stable() { 0.0 } else { 5.0 };
        let overhang = 10.0 * part(f.overhang_mm2, self.table.surface_mm2);
        ((overhang + held + tipping + part(f.height_mm, self.table.size_mm)) * 1e4).round()
    }

    /// Finds the regions of a pose and makes its score from them.
    fn deepen(&self, facts: &mut PoseFacts, limits: &Limits) {
        let found = self.regions(&facts.pose, limits);
        facts.support_mm3 = found.support_mm3;
        facts.regions = Some(found);
        facts.penalties = self.penalties(facts);
    }

    /// Returns what changes of some poses when another overhang limit is asked about, one for each, in their order.
    ///
    /// Regions are found where the pose has them already, and only where the limit makes a difference.
    pub fn at_limit(&self, poses: &[PoseFacts], limits: &Limits) -> Vec<Overhangs> {
        let (tried, limit): (Vec<Pose>, f64) = (poses.iter().map(|p| p.pose.clone()).collect(), limits.overhang());
        let facets = self.table.pass(self.mesh, &tried, limit);
        let one = |(known, facets): (&PoseFacts, &FacetFacts)| {
            // No facet lies between the two limits: both see the same.
            if (facets.overhang_mm2 - known.overhang_mm2).abs() <= 1e-9 * self.table.surface_mm2 {
                return Overhangs::of(known).judged(limits);
            }
            let regions = known.regions.as_ref().map(|_| self.regions(&known.pose, limits));
            let below = || self.table.support_below(self.mesh, known.pose.up, limit);
            Overhangs {
                overhang_mm2: facets.overhang_mm2,
                support_mm3: regions.as_ref().map_or_else(below, |r| r.support_mm3),
                regions,
                propped: known.stable || self.table.propped(self.mesh, known.pose.up, limit),
            }
        };
        poses.par_iter().zip(&facets).map(one).collect()
    }

    /// Returns the facts of one pose.
    pub fn facts_in_pose(&self, pose: &Pose, options: &PoseOptions) -> PoseFacts {
        let limit = options.limits.overhang();
        let facets = self.table.pass(self.mesh, std::slice::from_ref(pose), limit);
        let nothing = FacetFacts {
            overhang_mm2: 0.0,
            contact_mm2: 0.0,
            height_mm: 0.0,
            stability_mm: 0.0,
            centroid_height_mm: 0.0,
            footing_mm: 0.0,
        };
        let mut facts = self.complete(pose.clone(), facets.first().copied().unwrap_or(nothing), limit);
        self.deepen(&mut facts, &options.limits);
        facts
    }

    fn complete(&self, pose: Pose, facets: FacetFacts, limit: f64) -> PoseFacts {
        let (footprint, shadow_mm2) = self.footprint(&pose);
        let mut facts = PoseFacts {
            equals: Vec::new(),
            overhang_mm2: facets.overhang_mm2,
            contact_mm2: facets.contact_mm2,
            height_mm: facets.height_mm,
            footprint_mm: footprint.size_mm,
            turn_deg: footprint.turn_deg,
            shadow_mm2,
            support_mm3: self.table.support_below(self.mesh, pose.up, limit),
            stability_mm: facets.stability_mm,
            centroid_height_mm: facets.centroid_height_mm,
            footing_mm: facets.footing_mm,
            stable: facets.stable(),
            regions: None,
            penalties: Vec::new(),
            propped: facets.stable() || self.table.propped(self.mesh, pose.up, limit),
            pose,
        };
        facts.penalties = self.penalties(&facts);
        facts
    }

    fn footprint(&self, pose: &Pose) -> (Footprint, f64) {
        let rows = pose.rotation();
        let flat: Vec<[f64; 2]> = self.table.hull_points.iter().map(|&p| [dot(rows[0], p), dot(rows[1], p)]).collect();
        let outline = convex_hull(&flat);
        (smallest_rectangle(&outline), area(&outline))
    }

    /// The default score. Weights are judgement (common practice): support outweighs everything, then standing firm,
    /// then a good hold on the bed, then a low part.
    fn penalties(&self, f: &PoseFacts) -> Vec<(&'static str, f64)> {
        let part = |value: f64, whole: f64| if whole > 0.0 { value / whole } else { 0.0 };
        let box_volume = f.footprint_mm[0] * f.footprint_mm[1] * f.height_mm;
        let lean = (part(f.stability_mm, f.centroid_height_mm).max(0.0) / 0.3).min(1.0);
        let held = part(f.contact_mm2, f.shadow_mm2).min(1.0);
        // What prints unsupported still looks the worse for it.
        let marked = f.regions.as_ref().map_or(f.overhang_mm2, |r| {
            r.support_contact_mm2 + 0.1 * (f.overhang_mm2 - r.support_contact_mm2).max(0.0)
        });
        let values = [
            10.0 * part(marked, self.table.surface_mm2),
            10.0 * part(f.support_mm3, box_volume),
            // Standing on edges or points is hardly a hold at all.
            1.0 - held + if held < 0.01 { 2.0 } else { 0.0 },
            if f.stable { 1.0 - lean } else { 5.0 },
            part(f.height_mm, self.table.size_mm),
        ];
        PENALTIES.into_iter().zip(values).collect()
    }
}

/// Returns the poses worth choosing from, best first; see [`Prepared::poses`].
pub fn poses(mesh: &Mesh, options: &PoseOptions) -> Vec<PoseFacts> {
    Prepared::new(mesh).poses(options)
}

/// Returns the facts of one pose, its regions among them; see [`Prepared::facts_in_pose`].
pub fn facts_in_pose(mesh: &Mesh, pose: &Pose, options: &PoseOptions) -> PoseFacts {
    Prepared::new(mesh).facts_in_pose(pose, options)
}

/// Least total first; ties, which rounding may not decide, by contact, height, then direction.
fn rank(a: &PoseFacts, b: &PoseFacts) -> std::cmp::Ordering {
    let step = |v: f64| (v * 1e4).round();
    step(a.total())
        .total_cmp(&step(b.total()))
        .then_with(|| step(b.contact_mm2).total_cmp(&step(a.contact_mm2)))
        .then_with(|| step(a.height_mm).total_cmp(&step(b.height_mm)))
        .then_with(|| rank_up(&a.pose, &b.pose))
}

/// The last tie of all: the larger component of the up direction, x before y before z.
fn rank_up(a: &Pose, b: &Pose) -> std::cmp::Ordering {
    (0..3).map(|k| b.up[k].total_cmp(&a.up[k])).find(|o| o.is_ne()).unwrap_or(std::cmp::Ordering::Equal)
}

/// Whether the facet pass sees no difference, as between poses that a symmetry of the part makes equal.
fn alike(a: &FacetFacts, b: &FacetFacts) -> bool {
    let size = a.height_mm.max(b.height_mm);
    let near = |x: f64, y: f64| (x - y).abs() <= SAME_FACTS * x.abs().max(y.abs()).max(size);
    near(a.overhang_mm2, b.overhang_mm2)
        && near(a.contact_mm2, b.contact_mm2)
        && near(a.height_mm, b.height_mm)
        && near(a.stability_mm, b.stability_mm)
        && near(a.centroid_height_mm, b.centroid_height_mm)
}

fn same(a: &PoseFacts, b: &PoseFacts, distinguish: &[Vector]) -> bool {
    let near = |x: f64, y: f64, size: f64| (x - y).abs() <= SAME_FACTS * x.abs().max(y.abs()).max(size);
    let size = a.height_mm.max(a.footprint_mm[0]);
    near(a.overhang_mm2, b.overhang_mm2, size)
        && near(a.contact_mm2, b.contact_mm2, size)
        && near(a.support_mm3, b.support_mm3, size)
        && near(a.height_mm, b.height_mm, 0.0)
        && near(a.footprint_mm[0], b.footprint_mm[0], 0.0)
        && near(a.footprint_mm[1], b.footprint_mm[1], 0.0)
        && near(a.stability_mm, b.stability_mm, size)
        && near(a.centroid_height_mm, b.centroid_height_mm, size)
        && distinguish.iter().all(|&d| (dot(a.pose.up, d) - dot(b.pose.up, d)).abs() < 1e-2)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::samples::block;

    /// A bear's base was passed over for the axis of its mass, half a degree off, on which it stood on nothing.
    #[test]
    fn what_lies_almost_flat_is_not_tried_beside_what_lies_flat() {
        let facts = |contact_mm2: f64| FacetFacts {
            overhang_mm2: 0.0,
            contact_mm2,
            height_mm: 80.0,
            stability_mm: 5.0,
            centroid_height_mm: 30.0,
            footing_mm: 8.0,
        };
        let leaning = |degrees: f64| {
            let (sin, cos) = f64::to_radians(degrees).sin_cos();
            Pose::new([sin, 0.0, cos]).unwrap()
        };
        let kept = |poses: Vec<(Pose, FacetFacts)>| -> Vec<f64> {
            but_almost_flat(poses).iter().map(|(_, f)| f.contact_mm2).collect()
        };
        assert_eq!(kept(vec![(leaning(0.5), facts(0.0)), (leaning(0.0), facts(273.0))]), [273.0]);
        // Two ways up, and two that lie as flat as each other.
        assert_eq!(kept(vec![(leaning(3.0), facts(0.0)), (leaning(0.0), facts(273.0))]), [0.0, 273.0]);
        assert_eq!(kept(vec![(leaning(0.5), facts(270.0)), (leaning(0.0), facts(273.0))]), [270.0, 273.0]);
    }

    #[test]
    fn a_block_lies_on_its_broad_side() {
        let found = poses(&block([40.0, 20.0, 10.0]), &PoseOptions::default());
        assert!((found[0].height_mm - 10.0).abs() < 1e-9 && found[0].overhang_mm2 == 0.0);
        assert!((found[0].footprint_mm[0] - 40.0).abs() < 1e-9 && (found[0].footprint_mm[1] - 20.0).abs() < 1e-9);
        assert!(found.len() <= 12);
        // The two broad sides are equal, so the next is the 40 x 10 side.
        assert!((found[1].height_mm - 20.0).abs() < 1e-9);
    }

    // A pose without regions has no support that could not come out, and no roof that sags: it beat those that had been looked at.
    #[test]
    fn every_pose_that_is_kept_is_looked_at_in_full() {
        // A ball of few facets: no two ways up are alike.
        let at = |i: usize, j: usize| {
            let (a, b) =
                (std::f64::consts::PI * j as f64 / 7.0, std::f64::consts::TAU * (i as f64 + 0.3 * j as f64) / 9.0);
            [20.0 * a.sin() * b.cos(), 21.0 * a.sin() * b.sin(), 22.5 * a.cos()]
        };
        let mut vertices = vec![[0.0, 0.0, 22.5], [0.0, 0.0, -22.5]];
        vertices.extend((1..7).flat_map(|j| (0..9).map(move |i| at(i, j))));
        let v = |i: usize, j: usize| (2 + 9 * (j - 1) + i % 9) as u32;
        let mut triangles: Vec<[u32; 3]> =
            (0..9).flat_map(|i| [[0, v(i, 1), v(i + 1, 1)], [1, v(i + 1, 6), v(i, 6)]]).collect();
        triangles.extend((1..6).flat_map(|j| {
            (0..9).flat_map(move |i| [[v(i, j), v(i, j + 1), v(i + 1, j + 1)], [v(i, j), v(i + 1, j + 1), v(i + 1, j)]])
        }));
        let found = poses(&Mesh { vertices, triangles }, &PoseOptions::default());
        assert!(found.len() > 5, "{}", found.len());
        assert!(
            found.iter().all(|f| f.regions.is_some()),
            "{:?}",
            found.iter().map(|f| f.regions.is_some()).collect::<Vec<_>>()
        );
    }

    #[test]
    fn a_named_direction_tells_equal_sides_apart() {
        let options = PoseOptions { distinguish: vec![[0.0, 0.0, 1.0]], ..PoseOptions::default() };
        let found = poses(&block([40.0, 20.0, 10.0]), &options);
        assert!((found[0].height_mm - 10.0).abs() < 1e-9 && (found[1].height_mm - 10.0).abs() < 1e-9);
    }

    #[test]
    fn a_turned_copy_comes_out_in_the_same_pose() {
        let part = block([40.0, 20.0, 10.0]);
        let turn = Pose::new([0.3, -0.5, 0.7]).unwrap();
        let turned = part.transformed(&turn.rotation(), [5.0, 6.0, 7.0]);
        let (here, there) = (poses(&part, &PoseOptions::default()), poses(&turned, &PoseOptions::default()));
        assert!((here[0].total() - there[0].total()).abs() < 1e-6);
        let back = turn.turn(here[0].pose.up);
        assert!((dot(back, there[0].pose.up).abs() - 1.0).abs() < 1e-9);
    }
}
