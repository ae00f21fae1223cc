//! What was measured on the mesh, and the regions of the pose it is printed in.

use crate::catalogue::{Catalogue, Nozzle, figures};
use crate::geometry::cavity::{self, Cavity};
use crate::geometry::mesh::Point;
use crate::geometry::regions::Region;
use crate::geometry::regions::limits::Limits;
use crate::geometry::walls::Extreme;
use crate::recipe::{MeshFact, RegionRow};
use crate::resolve::facts::{hundredth, place};
use crate::resolve::part::Part;
use crate::resolve::world::{Partial, World, at};

/// Most corners named one by one.
const CORNERS: usize = 4;
/// Most regions and cavities shown one by one; the rest are summed up.
const ROWS: usize = 12;

/// Returns the facts of the mesh, each in words; a warning is something to look at before printing.
pub fn facts(world: &World<'_>) -> Vec<MeshFact> {
    let part = world.part;
    let [x, y, z] = part.size_mm();
    let mut result = vec![
        fact("triangles", part.mesh.triangles.len().to_string()),
        fact("size", format!("{x:.1} x {y:.1} x {z:.1} mm")),
    ];
    match part.volume_mm3 {
        Some(v) => result.push(fact("volume", format!("{:.2} cm³", v / 1000.0))),
        None => result.push(warning("volume", "withheld: the mesh is not a closed surface".to_owned())),
    }
    result.push(fact("surface", format!("{:.1} cm²", part.area_mm2 / 100.0)));
    result.push(fact("separate bodies", part.pieces.to_string()));
    result.extend(walls(part, &world.bench.nozzles));
    result.extend(gap(part, world.knowledge.catalogue));
    result.extend(cavities(part));
    for (text, look) in &part.notes {
        result.push(MeshFact { name: "note".to_owned(), value: text.clone(), warning: *look });
    }
    result.extend(part.defects.iter().map(|defect| warning("defect", defect.clone())));
    result
}

/// Returns what holds the part to the bed and what could pull it off, with what the recipe does about it.
pub fn first_layer(world: &World<'_>, choice: &Partial) -> Vec<MeshFact> {
    let Some(f) = choice[at::POSE].and_then(|pose| world.part.first_layer(pose)) else { return Vec::new() };
    if f.patches == 0 {
        return vec![warning("first layer", f.missing().to_owned())];
    }
    let counted = |n: usize, one: &str, more: &str| format!("{n} {}", if n == 1 { one } else { more });
    let corners = f.corners_at.iter().take(CORNERS).map(|&c| place(c)).collect::<Vec<_>>().join(", ");
    let corners = match f.sharp_corners {
        0 => "no sharp corners".to_owned(),
        n if n <= CORNERS => format!("{} that lift first, at {corners}", counted(n, "sharp corner", "sharp corners")),
        n => format!("{n} sharp corners that lift first, among them {corners}"),
    };
    let layer = format!(
        "{:.0} mm² in {}, {:.0} mm across; {corners}",
        f.area_mm2,
        counted(f.patches, "patch", "patches"),
        f.longest_mm
    );
    let stands = if f.tip_deg > 0.0 {
        fact("stands", format!("tips over at a lean of {:.0}°; {:.1} times as high as wide", f.tip_deg, f.slenderness))
    } else {
        warning("stands", "not by itself: what is on the bed has to hold it".to_owned())
    };
    vec![fact("first layer", layer), stands, fact("curl", curl(world, choice, f.warp_length_mm))]
}

/// The warp index: the shape's part, the material's, and the brim that is laid against it.
fn curl(world: &World<'_>, choice: &Partial, length_mm: f64) -> String {
    let warp = world.material(choice).map_or(String::new(), |m| format!(", of {} ({} warp)", m.name, m.warp.value));
    let brim = world.setting("brim", choice).and_then(|value| value.as_quantity()).and_then(|q| q.in_unit("mm"));
    let brim = match brim {
        Some(mm) if mm > 0.0 => format!("; a brim of {mm:.0} mm holds the corners"),
        Some(_) => "; no brim: neither material nor footing asks for one".to_owned(),
        None => String::new(),
    };
    format!("length over thickness above the bed {length_mm:.0} mm{warp}{brim}")
}

fn fact(name: &str, value: String) -> MeshFact {
    MeshFact { name: name.to_owned(), value, warning: false }
}

fn warning(name: &str, value: String) -> MeshFact {
    MeshFact { name: name.to_owned(), value, warning: true }
}

/// The thinnest place, and the thinnest wall that is more than a spot where that is another, each with the nozzles at
/// hand that can make it.
fn walls(part: &Part, nozzles: &[Nozzle]) -> Vec<MeshFact> {
    let Some((mm, at)) = part.min_wall_mm.zip(part.min_wall_at) else { return Vec::new() };
    let thinnest = wall("thinnest wall", mm, at, nozzles);
    // Told apart only where a nozzle could fail at the one and not at the other.
    let matters = |b: &Extreme| b.mm > 1.02 * mm && mm < 2.0 * widest(nozzles);
    let Some(broad) = part.broad_wall.filter(matters) else { return vec![thinnest] };
    let spot = MeshFact { value: format!("{}; a spot or a tapering edge", thinnest.value), ..thinnest };
    vec![spot, wall("thinnest wall beyond spots", broad.mm, broad.at, nozzles)]
}

fn widest(nozzles: &[Nozzle]) -> f64 {
    nozzles.iter().map(|n| n.bore.to_mm()).fold(0.0, f64::max)
}

fn wall(name: &str, mm: f64, at: Point, nozzles: &[Nozzle]) -> MeshFact {
    let mm = hundredth(mm);
    let measured = format!("{mm:.2} mm at {}", place(at));
    // Where every nozzle lays two lines side by side there is nothing to choose between.
    if mm >= 2.0 * widest(nozzles) {
        return fact(name, measured);
    }
    let named = |fits: &dyn Fn(f64) -> bool| -> Vec<&str> {
        nozzles.iter().filter(|n| fits(n.bore.to_mm())).map(|n| n.name.as_str()).collect()
    };
    let two = named(&|bore| mm >= 2.0 * bore);
    let one = named(&|bore| (bore..2.0 * bore).contains(&mm));
    let none = named(&|bore| mm < bore);
    let mut parts = Vec::new();
    for (what, names) in [("two lines or more of", &two), ("a single line of", &one), ("thinner than a line of", &none)]
    {
        if !names.is_empty() {
            parts.push(format!("{what} {}", names.join(", ")));
        }
    }
    MeshFact {
        name: name.to_owned(),
        value: format!("{measured}: {}", parts.join("; ")),
        warning: two.is_empty() && one.is_empty(),
    }
}

fn gap(part: &Part, catalogue: &Catalogue) -> Option<MeshFact> {
    let (mm, at) = (part.min_gap_mm?, part.min_gap_at?);
    let (measured, fuses) = (format!("{mm:.2} mm at {}", place(at)), catalogue.value(figures::GAP_FUSES));
    Some(if mm < fuses.to_mm() {
        warning("narrowest gap", format!("{measured}: under {fuses} its sides may fuse"))
    } else {
        fact("narrowest gap", measured)
    })
}

fn cavities(part: &Part) -> Vec<MeshFact> {
    let one = |c: &Cavity| {
        let volume = format!("{:.2} cm³ at {}", c.volume_mm3 / 1000.0, place(c.at));
        let way = cavity::way_out(c.sealed);
        warning("cavity", format!("{volume}, {way}"))
    };
    let mut result: Vec<MeshFact> = part.cavities.iter().take(ROWS).map(one).collect();
    if part.cavities.len() > ROWS {
        result.push(warning("cavity", format!("and {} more", part.cavities.len() - ROWS)));
    }
    result
}

/// Returns the regions of the part in a pose, those with work to do first, then by area.
pub fn regions(world: &World<'_>, choice: &Partial) -> Vec<RegionRow> {
    let limits = world.limits(choice);
    let Some(found) = choice[at::POSE].and_then(|pose| world.part.regions(pose, &limits)) else { return Vec::new() };
    let mut list: Vec<&Region> = found.list.iter().collect();
    // Stable: within both halves the list keeps its order, largest first.
    list.sort_by_key(|r| !r.needs_support());
    let mut rows: Vec<RegionRow> = list.iter().take(ROWS).map(|r| row(r, &limits)).collect();
    let rest = list.get(ROWS..).unwrap_or_default();
    let more = rest.len() + found.unlisted;
    if more > 0 {
        let area: f64 = rest.iter().map(|r| r.area_mm2).sum::<f64>() + found.unlisted_mm2;
        rows.push(RegionRow {
            kind: format!("{more} more"),
            height: String::new(),
            area: format!("{area:.1} mm² in all"),
            extent: String::new(),
            at: String::new(),
            verdict: String::new(),
            because: "smaller, or too small to tell from the grain of the layers; `measure` lists them".to_owned(),
            sources: Vec::new(),
        });
    }
    rows
}

fn row(r: &Region, limits: &Limits) -> RegionRow {
    let [low, high] = r.z_mm;
    RegionRow {
        kind: r.kind.words().to_owned(),
        height: if high - low < 0.005 { format!("{low:.2} mm") } else { format!("{low:.2} to {high:.2} mm") },
        area: format!("{:.1} mm²", r.area_mm2),
        extent: r.extent(),
        at: place(r.at),
        verdict: r.verdict.words().to_owned(),
        because: r.why(),
        // Those of the limits its reason names, each of which says where it is from.
        sources: limits
            .all()
            .into_iter()
            .filter(|l| r.because.contains(&l.origin))
            .filter_map(|l| l.source.clone())
            .collect::<std::collections::BTreeSet<_>>()
            .into_iter()
            .collect(),
    }
}
