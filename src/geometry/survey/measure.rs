//! Everything there is to say about a mesh alone, as one serialisable report.

use std::collections::BTreeMap;

use serde::Serialize;

use super::{PoseFacts, PoseOptions, Prepared};
use crate::bounds::Bounds;
use crate::cavity;
use crate::features::{self, Boss, Features, Hole, Plane};
use crate::first_layer::{FirstLayer, first_layer};
use crate::health::{self, DefectKind, Health};
use crate::mass;
use crate::mesh::{Mesh, Point};
use crate::polygon::Filling;
use crate::pose::Pose;
use crate::regions::Region;
use crate::regions::limits::Limits;
use crate::walls::{self, Extreme, Walls};

/// Which way up the report looks at the part.
#[derive(Debug, Clone, PartialEq, Default)]
pub enum PoseChoice {
    /// As the file places it: z up.
    #[default]
    AsPlaced,
    /// The best by the default score.
    Best,
    /// With this direction up.
    Up(Point),
}

/// What to measure and against what.
#[derive(Debug, Clone, Default)]
pub struct MeasureOptions {
    /// The pose that heights, overhangs and regions are those of.
    pub pose: PoseChoice,
    /// Which poses are ranked beside it, and by what limits.
    pub poses: PoseOptions,
}

/// The box around the part, in part axes.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BoundsReport {
    /// Lowest x, y and z, mm.
    pub min: Point,
    /// Highest x, y and z, mm.
    pub max: Point,
}

/// One kind of defect.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DefectReport {
    /// Stable name, see [`DefectKind::name`].
    pub kind: String,
    /// How often it occurs.
    pub count: usize,
    /// The first place, mm.
    pub at: Point,
    /// What more there is to say; left out where there is nothing.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub detail: String,
}

/// A hollow space.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CavityReport {
    /// Free volume, mm³.
    pub volume_mm3: f64,
    /// Whether nothing could get out.
    pub sealed: bool,
    /// Middle of its box, mm.
    pub at: Point,
}

/// The pose all else is measured in.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PoseReport {
    /// Unit vector.
    pub up: Point,
    /// How a person is told of it.
    pub label: String,
}

/// One of the poses compared, the best first.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RankedPose {
    /// Unit vector.
    pub up: Point,
    /// How a person is told of it.
    pub label: String,
    /// Parts of the score by name, without dimension.
    pub penalties: BTreeMap<String, f64>,
    /// Their sum; less is better.
    pub total: f64,
}

/// The report. All lengths in mm, all directions and places in part axes, `z_mm` above the bed.
///
/// What a damaged mesh has no answer for is null or empty, and `withheld` says why.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Measure {
    /// Facets of the mesh as read.
    pub triangles: usize,
    /// Whether every edge joins two facets.
    pub closed: bool,
    /// Number of separate shells.
    pub shells: usize,
    /// Of the material, mm³; `None` where the mesh bounds no solid.
    pub volume_mm3: Option<f64>,
    /// Of the whole surface, mm².
    pub area_mm2: f64,
    /// Of the volume; `None` where the mesh bounds no solid.
    pub centroid_mm: Option<Point>,
    /// The box around the part as the file has it.
    pub bounds_mm: BoundsReport,
    /// Each kind once; empty for a sound mesh.
    pub defects: Vec<DefectReport>,
    /// Hollows wholly inside the material.
    pub cavities: Vec<CavityReport>,
    /// The narrowest first.
    pub holes: Vec<Hole>,
    /// The narrowest first.
    pub bosses: Vec<Boss>,
    /// The largest first.
    pub planes: Vec<Plane>,
    /// Thinnest wall; `None` where no two sides stand opposite.
    pub min_wall: Option<Extreme>,
    /// Narrowest gap; `None` where no two surfaces face each other.
    pub min_gap: Option<Extreme>,
    /// The pose chosen, in which what follows is measured.
    pub pose: PoseReport,
    /// Of the part above the bed, mm.
    pub height_mm: f64,
    /// Longer and shorter side of the smallest rectangle around it from above, mm.
    pub footprint_mm: [f64; 2],
    /// Facets steeper than the limit; `None` where the outside cannot be told.
    pub overhang_mm2: Option<f64>,
    /// Facets on the bed; `None` where the outside cannot be told.
    pub contact_mm2: Option<f64>,
    /// What needs looking at from below, the largest first.
    pub regions: Vec<Region>,
    /// How many regions are too small to be listed.
    pub unlisted_regions: usize,
    /// Area of those not listed, mm².
    pub unlisted_mm2: f64,
    /// Room to be filled with support; `None` where the outside cannot be told.
    pub support_mm3: Option<f64>,
    /// What support would touch from below; `None` where the outside cannot be told.
    pub support_contact_mm2: Option<f64>,
    /// What lies on the bed and what follows from it.
    pub first_layer: FirstLayer,
    /// The poses compared, the best first; empty where the outside cannot be told.
    pub poses: Vec<RankedPose>,
    /// What regions and overhangs were judged by.
    pub limits: Limits,
    /// What was not measured, or only on conditions, and why.
    pub withheld: Vec<String>,
    /// Doubts about the unit, in words.
    pub doubts: Vec<String>,
}

impl Measure {
    /// Returns the report as JSON, lengths rounded to a nanometre: what lies beyond is rounding, and would differ from
    /// machine to machine.
    pub fn json(&self) -> serde_json::Value {
        let mut value = serde_json::to_value(self).unwrap_or(serde_json::Value::Null);
        round(&mut value);
        value
    }
}

/// Rounds every number below; the report is a few levels deep, never more.
fn round(value: &mut serde_json::Value) {
    use serde_json::Value;
    match value {
        Value::Number(n) if n.is_f64() => {
            let rounded = n.as_f64().map(|x| if x.abs() < 1e9 { (x * 1e6).round() / 1e6 + 0.0 } else { x });
            *value = rounded.and_then(serde_json::Number::from_f64).map_or(Value::Null, Value::Number);
        }
        Value::Array(items) => items.iter_mut().for_each(round),
        Value::Object(fields) => fields.values_mut().for_each(round),
        _ => {}
    }
}

/// The report with the facts behind it, for those who go on from there.
pub struct Survey {
    /// The report.
    pub measure: Measure,
    /// Defects, shells and doubts.
    pub health: Health,
    /// Holes, bosses, roundings and planes, of the part turned the right way round.
    pub features: Features,
    /// The map of thicknesses and gaps.
    pub walls: Walls,
    /// Facts of the pose chosen.
    pub pose: PoseFacts,
    /// Facts of the poses compared, the best first.
    pub poses: Vec<PoseFacts>,
}

/// Measures everything. The mesh must have facets; the readers see to that.
pub fn survey(mesh: &Mesh, options: &MeasureOptions) -> Survey {
    let (prepared, health, found) = Prepared::examined(mesh, |prepared| features_and_walls(mesh, prepared));
    let mut withheld: Vec<String> = health.not_searched.clone();
    // Facing inward, every facet would tell the opposite of the truth about overhangs and walls.
    let outside = all_inside_out(&health).then(|| turned_round(mesh));
    match &outside {
        None => finish(mesh, &prepared, found, health, withheld, options),
        Some(right) => {
            withheld.push(
                "every facet faces inward: features, walls and poses are those of a copy turned the right way round"
                    .to_owned(),
            );
            let prepared = Prepared::new(right);
            let found = features_and_walls(right, &prepared);
            finish(mesh, &prepared, found, health, withheld, options)
        }
    }
}

/// Finds features and walls, one beside the other.
pub fn features_and_walls(mesh: &Mesh, prepared: &Prepared) -> (Features, Walls) {
    rayon::join(
        || features::find(mesh, &prepared.table, prepared.twins(), prepared.rays()),
        || walls::measure(mesh, prepared.rays(), prepared.table.size_mm),
    )
}

/// Returns the report alone; see [`survey`].
pub fn measure(mesh: &Mesh, options: &MeasureOptions) -> Measure {
    survey(mesh, options).measure
}

fn all_inside_out(health: &Health) -> bool {
    health.has(DefectKind::InsideOut) && health.shells.iter().filter(|s| s.contained_in.is_none()).all(|s| s.inside_out)
}

/// Returns a closed mesh all of whose facets face inward, turned the right way round; `None` for every other.
pub fn outward(mesh: &Mesh) -> Option<Mesh> {
    // What encloses more than it leaves out faces outward somewhere: this spares the examination of every sound mesh.
    if mass::signed_volume_mm3(mesh) >= 0.0 {
        return None;
    }
    let health = health::examine(mesh);
    (health.closed && health.oriented && all_inside_out(&health)).then(|| turned_round(mesh))
}

fn turned_round(mesh: &Mesh) -> Mesh {
    Mesh { vertices: mesh.vertices.clone(), triangles: mesh.triangles.iter().map(|t| [t[0], t[2], t[1]]).collect() }
}

fn finish(
    original: &Mesh,
    prepared: &Prepared,
    (features, walls): (Features, Walls),
    health: Health,
    mut withheld: Vec<String>,
    options: &MeasureOptions,
) -> Survey {
    let mass = mass::measure(original, &health);
    let mut wanted = options.poses.clone();
    wanted.wanted.along.extend(features.holes.iter().take(32).map(|h| h.axis));
    wanted.wanted.along.extend(features.planes.iter().take(32).map(|p| p.normal));
    let told = match &options.pose {
        PoseChoice::AsPlaced => Some(Pose::as_placed()),
        PoseChoice::Best => None,
        PoseChoice::Up(up) => Some(Pose::new(*up).unwrap_or_else(Pose::as_placed)),
    };
    let (poses, extra) = prepared.poses_and(&wanted, told.as_ref());
    let best = || poses.first().map_or_else(Pose::as_placed, |p| p.pose.clone());
    let chosen = told.unwrap_or_else(best);
    let known = || poses.iter().find(|p| p.pose.up == chosen.up && p.regions.is_some()).cloned();
    let mut pose = extra.or_else(known).unwrap_or_else(|| prepared.facts_in_pose(&chosen, &wanted));
    pose.pose = chosen;
    let filling = if health.oriented { Filling::Winding } else { Filling::EvenOdd };
    let layer = wanted.limits.layer_mm;
    let view = prepared.view(&pose.pose);
    let first = first_layer(&view, filling, layer, pose.contact_mm2, pose.stability_mm, pose.centroid_height_mm);
    say_withheld(&health, &mut withheld);
    let measure = report(original, &health, &mass, &features, &walls, &pose, &poses, first, &wanted.limits, withheld);
    Survey { measure, health, features, walls, pose, poses }
}

fn say_withheld(health: &Health, withheld: &mut Vec<String>) {
    if !health.bounds_a_solid() {
        withheld.push("no volume and no centroid: the mesh does not bound a solid (see defects)".to_owned());
    }
    if !health.oriented {
        withheld.push(
            "no overhangs, regions, support and poses: facets are wound both ways, so which side is outside cannot be told"
                .to_owned(),
        );
    }
}

#[expect(clippy::too_many_arguments, reason = "the one place where all results meet")]
fn report(
    mesh: &Mesh,
    health: &Health,
    mass: &mass::Mass,
    features: &Features,
    walls: &Walls,
    pose: &PoseFacts,
    poses: &[PoseFacts],
    first_layer: FirstLayer,
    limits: &Limits,
    withheld: Vec<String>,
) -> Measure {
    let Bounds { min, max } = mesh.bounds();
    let told = health.oriented;
    let regions = pose.regions.as_ref().filter(|_| told);
    Measure {
        triangles: mesh.triangles.len(),
        closed: health.closed,
        shells: health.shells.len(),
        volume_mm3: mass.volume_mm3,
        area_mm2: mass.area_mm2,
        centroid_mm: mass.centroid_mm.map(plain),
        bounds_mm: BoundsReport { min: plain(min), max: plain(max) },
        defects: health.defects.iter().map(defect).collect(),
        cavities: cavity::find(health)
            .into_iter()
            .map(|c| CavityReport { volume_mm3: c.volume_mm3, sealed: c.sealed, at: plain(c.at) })
            .collect(),
        holes: features.holes.clone(),
        bosses: features.bosses.clone(),
        planes: features.planes.clone(),
        min_wall: walls.thinnest,
        min_gap: walls.narrowest,
        pose: PoseReport { up: plain(pose.pose.up), label: pose.pose.label.clone() },
        height_mm: pose.height_mm,
        footprint_mm: pose.footprint_mm,
        overhang_mm2: told.then_some(pose.overhang_mm2),
        contact_mm2: told.then_some(pose.contact_mm2),
        regions: regions.map(|r| r.list.clone()).unwrap_or_default(),
        unlisted_regions: regions.map_or(0, |r| r.unlisted),
        unlisted_mm2: regions.map_or(0.0, |r| r.unlisted_mm2),
        support_mm3: regions.map(|r| r.support_mm3),
        support_contact_mm2: regions.map(|r| r.support_contact_mm2),
        first_layer,
        poses: if told { poses.iter().map(ranked).collect() } else { Vec::new() },
        limits: limits.clone(),
        withheld,
        doubts: health.doubts.iter().map(|d| d.message.clone()).collect(),
    }
}

fn defect(d: &crate::health::Defect) -> DefectReport {
    DefectReport { kind: d.kind.name().to_owned(), count: d.count, at: plain(d.at), detail: d.detail.clone() }
}

fn ranked(p: &PoseFacts) -> RankedPose {
    RankedPose {
        up: plain(p.pose.up),
        label: p.pose.label.clone(),
        penalties: p.penalties.iter().map(|(name, value)| ((*name).to_owned(), *value + 0.0)).collect(),
        total: p.total(),
    }
}

/// A negative zero is a zero.
fn plain(p: Point) -> Point {
    p.map(|x| x + 0.0)
}
