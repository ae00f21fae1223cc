//! What was measured on the mesh, and the regions of the pose it is printed in.

use crate::catalogue::{Catalogue, Nozzle, figures};
use crate::geometry::cavity::{self, Cavity};
use crate::geometry::pose::facets::leaning;
use crate::geometry::regions::judge::{judge, limits_of};
use crate::geometry::regions::limits::Limits;
use crate::geometry::regions::{Region, Verdict};
use crate::geometry::walls::Extreme;
use crate::quantity::{Area, Length, Volume};
use crate::recipe::{Beads, MeshFact, MeshValue, Place, RegionRow, Unlisted};
use crate::resolve::facts::hundredth;
use crate::resolve::part::Part;
use crate::resolve::world::{Partial, World, at};

/// Most corners named one by one.
const CORNERS: usize = 4;
/// Most regions and cavities shown one by one; the rest are summed up.
const ROWS: usize = 12;

/// Returns the facts of the mesh; a warning is something to look at before printing.
pub fn facts(world: &World<'_>) -> Vec<MeshFact> {
    let part = world.part;
    let mut result = vec![
        fact("triangles", MeshValue::Count(part.mesh.triangles.len())),
        fact("size", MeshValue::Size(part.size_mm().map(Length::mm))),
    ];
    result.push(match part.volume_mm3 {
        Some(v) => fact("volume", MeshValue::Volume(Volume::mm3(v))),
        None => warning("volume", MeshValue::NotClosed),
    });
    result.push(fact("surface", MeshValue::Area(Area::mm2(part.area_mm2))));
    result.push(fact("separate bodies", MeshValue::Count(part.pieces)));
    result.extend(faces(world));
    result.extend(walls(part, &world.bench.nozzles));
    result.extend(gap(part, world.knowledge.catalogue));
    result.extend(cavities(part));
    for (text, look) in &part.notes {
        result.push(MeshFact { name: "note", value: MeshValue::Told(text.clone()), warning: *look });
    }
    result.extend(part.defects.iter().map(|defect| warning("defect", MeshValue::Told(defect.clone()))));
    result
}

/// Returns where each face that the spec names was found.
fn faces(world: &World<'_>) -> impl Iterator<Item = MeshFact> {
    let found = world.spec.faces.iter().zip(&world.part.faces);
    found.filter_map(|(face, patch)| {
        let patch = patch.as_ref()?;
        let at = patch.place(&world.part.mesh);
        Some(fact("face", MeshValue::Face { name: face.name.value.clone(), area: Area::mm2(patch.area_mm2), at }))
    })
}

/// Returns what holds the part to the bed and what could pull it off, with what the recipe does about it.
pub fn first_layer(world: &World<'_>, choice: &Partial) -> Vec<MeshFact> {
    let Some(f) = choice[at::POSE].and_then(|pose| world.part.first_layer(pose)) else { return Vec::new() };
    if f.patches == 0 {
        return vec![warning("first layer", MeshValue::Told(f.missing().to_owned()))];
    }
    let layer = MeshValue::FirstLayer {
        area: Area::mm2(f.area_mm2),
        patches: f.patches,
        across: Length::mm(f.longest_mm),
        corners: f.sharp_corners,
        corners_at: f.corners_at.iter().take(CORNERS).copied().collect(),
    };
    let stands = if f.tip_deg > 0.0 {
        fact("stands", MeshValue::Stands { lean_deg: f.tip_deg, slenderness: f.slenderness })
    } else {
        warning("stands", MeshValue::StandsNot)
    };
    let mut found = vec![fact("first layer", layer), stands, fact("curl", curl(world, choice, f.warp_length_mm))];
    found.extend(at_limit(world, choice));
    found
}

/// Says what leans a little less than the limit: it is printed without support, and is the first to come out rough.
fn at_limit(world: &World<'_>, choice: &Partial) -> Option<MeshFact> {
    let (limits, catalogue) = (world.limits(choice), world.knowledge.catalogue);
    let up = world.part.poses.get(choice[at::POSE]?)?.pose.up;
    let limit = &limits.overhang_deg;
    let (mm2, angle_deg) =
        leaning(&world.part.mesh, up, [limit.value - catalogue.value(figures::ROUGH_BELOW).to_deg(), limit.value])?;
    let printed = as_printed(world, choice, &limits);
    let value = MeshValue::AtLimit {
        area: Area::mm2(mm2),
        angle_deg,
        limit_deg: limit.value,
        origin: limit.origin.clone(),
        step: Length::mm(printed.layer_mm * angle_deg.to_radians().tan()),
        line: Length::mm(printed.line_mm),
    };
    (mm2 >= catalogue.value(figures::ROUGH_AREA).to_mm2()).then(|| fact("slope at the limit", value))
}

/// The warp index: the shape's part, the material's, and the brim that is laid against it.
fn curl(world: &World<'_>, choice: &Partial, length_mm: f64) -> MeshValue {
    let material = world.material(choice).map(|m| (m.name.clone(), m.warp.value.to_string()));
    let brim = world.setting("brim", choice).and_then(|value| value.as_quantity());
    let brim = brim.and_then(|q| Length::try_from(q).ok());
    MeshValue::Curl { length: Length::mm(length_mm), material, brim }
}

fn fact(name: &'static str, value: MeshValue) -> MeshFact {
    MeshFact { name, value, warning: false }
}

fn warning(name: &'static str, value: MeshValue) -> MeshFact {
    MeshFact { name, value, warning: true }
}

/// The thinnest place, and the thinnest wall that is more than a spot where that is another, each with the nozzles at
/// hand that can make it.
fn walls(part: &Part, nozzles: &[Nozzle]) -> Vec<MeshFact> {
    let Some((mm, at)) = part.min_wall_mm.zip(part.min_wall_at) else { return Vec::new() };
    // Told apart only where a nozzle could fail at the one and not at the other.
    let matters = |b: &Extreme| b.mm > 1.02 * mm && mm < 2.0 * widest(nozzles);
    let broad = part.broad_wall.filter(matters);
    let mut found = vec![wall("thinnest wall", Place::of(mm, at), nozzles, broad.is_some())];
    found.extend(broad.map(|b| wall("thinnest wall beyond spots", Place::of(b.mm, b.at), nozzles, false)));
    found
}

fn widest(nozzles: &[Nozzle]) -> f64 {
    nozzles.iter().map(|n| n.bore.to_mm()).fold(0.0, f64::max)
}

fn wall(name: &'static str, at: Place, nozzles: &[Nozzle], spot: bool) -> MeshFact {
    let mm = at.size.to_mm();
    // Where every nozzle lays two lines side by side there is nothing to choose between.
    if mm >= 2.0 * widest(nozzles) {
        return fact(name, MeshValue::Wall { at, nozzles: Vec::new(), spot });
    }
    let beads = |bore: f64| match mm / bore {
        lines if lines >= 2.0 => Beads::TwoOrMore,
        lines if lines >= 1.0 => Beads::One,
        _ => Beads::None,
    };
    let named = |asked: Beads| -> Vec<String> {
        nozzles.iter().filter(|n| beads(n.bore.to_mm()) == asked).map(|n| n.name.clone()).collect()
    };
    let by_beads: Vec<(Beads, Vec<String>)> =
        Beads::ALL.into_iter().map(|b| (b, named(b))).filter(|(_, names)| !names.is_empty()).collect();
    let none_does = by_beads.iter().all(|(b, _)| *b == Beads::None);
    MeshFact { name, value: MeshValue::Wall { at, nozzles: by_beads, spot }, warning: none_does }
}

fn gap(part: &Part, catalogue: &Catalogue) -> Option<MeshFact> {
    let (mm, at) = (part.min_gap_mm?, part.min_gap_at?);
    let least = catalogue.value(figures::GAP_FUSES);
    let fuses = mm < least.to_mm();
    let fuses_below = fuses.then_some(least);
    Some(MeshFact {
        name: "narrowest gap",
        value: MeshValue::Gap { at: Place { size: Length::mm(mm), at }, fuses_below },
        warning: fuses,
    })
}

fn cavities(part: &Part) -> Vec<MeshFact> {
    let one = |c: &Cavity| {
        let way = cavity::way_out(c.sealed);
        warning("cavity", MeshValue::Cavity { volume: Volume::mm3(c.volume_mm3), at: c.at, way })
    };
    let mut result: Vec<MeshFact> = part.cavities.iter().take(ROWS).map(one).collect();
    if part.cavities.len() > ROWS {
        result.push(warning("cavity", MeshValue::More(part.cavities.len() - ROWS)));
    }
    result
}

impl Place {
    /// Rounds a size as it is shown, so that what is shown is what is judged.
    fn of(mm: f64, at: crate::geometry::mesh::Point) -> Self {
        Self { size: Length::mm(hundredth(mm)), at }
    }
}

/// Returns the regions of the part in a pose, those with work to do first, then by area, and what is not listed of them.
pub fn regions(world: &World<'_>, choice: &Partial) -> (Vec<RegionRow>, Option<Unlisted>) {
    let limits = world.limits(choice);
    let Some(found) = choice[at::POSE].and_then(|pose| world.part.regions(pose, &limits)) else {
        return (Vec::new(), None);
    };
    let supported = choice[at::SUPPORTS] != Some(0);
    let drawn = as_printed(world, choice, &limits);
    let mut list: Vec<&Region> = found.list.iter().collect();
    // Stable: within both halves the list keeps its order, largest first.
    list.sort_by_key(|r| !r.needs_support());
    let rows = list.iter().take(ROWS).map(|r| row(r, &limits, &drawn, supported)).collect();
    let rest = list.get(ROWS..).unwrap_or_default();
    let count = rest.len() + found.unlisted;
    let area: f64 = rest.iter().map(|r| r.area_mm2).sum::<f64>() + found.unlisted_mm2;
    (rows, (count > 0).then_some(Unlisted { count, area: Area::mm2(area) }))
}

/// The limits with the layer and the line of this recipe, by which steps are told.
fn as_printed(world: &World<'_>, choice: &Partial, limits: &Limits) -> Limits {
    let set = |name: &str| world.setting(name, choice)?.as_quantity()?.in_unit("mm");
    let (layer, line) = (set("layer_height"), set("bead_width"));
    Limits { layer_mm: layer.unwrap_or(limits.layer_mm), line_mm: line.unwrap_or(limits.line_mm), ..limits.clone() }
}

/// A region as it is told: by the layer it is printed in, and with nothing said of support where none is put.
fn row(r: &Region, limits: &Limits, printed: &Limits, supported: bool) -> RegionRow {
    let mut told = r.clone();
    judge(&mut told, printed);
    // What was decided stands, whatever the layer in which it is told.
    let mut r = if told.verdict == r.verdict { told } else { r.clone() };
    if !supported && r.needs_support() {
        r.verdict = Verdict::Left;
    }
    let r = &r;
    let named = limits_of(r, limits).into_iter().filter_map(|l| l.source.clone());
    RegionRow {
        kind: r.kind,
        height: r.z_mm.map(Length::mm),
        area: Area::mm2(r.area_mm2),
        extent: r.extent(),
        at: r.at,
        verdict: r.verdict,
        because: r.why(),
        sources: named.collect::<std::collections::BTreeSet<_>>().into_iter().collect(),
    }
}
