//! `makeready measure`: the facts of a mesh alone.

use super::args::{MeasureArgs, ResultForm};
use super::exit::Exit;
use super::terminal::Terminal;
use super::world::World;
use crate::diag::{Diagnostic, Severity, Sources};
use crate::geometry::features::{self, Features};
use crate::geometry::health::{self, Health};
use crate::geometry::mesh::Mesh;
use crate::geometry::pose::Pose;
use crate::geometry::pose::candidates::Wanted;
use crate::geometry::read::{self, LengthUnit, ReadMesh};
use crate::geometry::regions::limits::{Limit, Limits};
use crate::geometry::survey::{PoseFacts, PoseOptions, Prepared};
use crate::geometry::{cavity, mass};
use crate::quantity::Quantity;
use crate::render::measurement::{self, Cavity, Defect, Measurement, MinMax, PoseName, Ranked};
use crate::render::yaml;

/// Directions of faces and holes that are tried as ways up, beside those of the hull.
const FROM_FEATURES: usize = 48;

pub(super) fn run(args: &MeasureArgs, terminal: &Terminal) -> Result<Exit, Exit> {
    let tell = |found: Diagnostic| {
        terminal.findings(std::slice::from_ref(&found), &Sources::default());
        Exit::of(&[found])
    };
    let wish = Wish::of(args).map_err(tell)?;
    // The person names the mesh; there is no project it could lead out of.
    let world = World::around(&args.mesh, true).map_err(tell)?;
    let file = world.asked_for(&args.mesh).map_err(tell)?;
    let name = file.name.rsplit('/').next().unwrap_or("").to_owned();
    let bytes = world.mesh(&file, None).map_err(tell)?;
    let found = measure(&bytes, &name, &wish).map_err(tell)?;
    let text = match args.print {
        ResultForm::Text => measurement::text(&found),
        ResultForm::Json => yaml::json(&found).map_err(|e| {
            terminal.say(&format!("internal error: the result can't be put into text: {e}"));
            Exit::OurBug
        })?,
    };
    terminal.result(&text)?;
    Ok(Exit::Done)
}

/// What was asked, understood.
struct Wish {
    unit: Option<LengthUnit>,
    pose: WayUp,
    limits: Limits,
}

enum WayUp {
    AsPlaced,
    Best,
    Axis([f64; 3]),
}

impl Wish {
    fn of(args: &MeasureArgs) -> Result<Self, Diagnostic> {
        let unit = args.unit.as_deref().map(unit).transpose()?;
        let mut limits = Limits::default();
        if let Some(text) = &args.limit {
            let degrees = number(text, "deg", (5.0, 85.0), "--limit", "an angle from 5deg to 85deg")?;
            limits.overhang_deg = Limit::new(degrees, "asked for");
        }
        if let Some(text) = &args.layer {
            limits.layer_mm = number(text, "mm", (0.01, 5.0), "--layer", "a length from 0.01mm to 5mm")?;
        }
        Ok(Self { unit, pose: way_up(&args.pose)?, limits })
    }
}

fn unit(text: &str) -> Result<LengthUnit, Diagnostic> {
    LengthUnit::from_symbol(text).ok_or_else(|| {
        let known: Vec<&str> = LengthUnit::ALL.iter().map(|u| u.symbol()).collect();
        misuse(format!("expected a unit of length for `--unit`, found `{text}`"))
            .hint(format!("write one of {}", known.join(", ")))
    })
}

fn way_up(text: &str) -> Result<WayUp, Diagnostic> {
    Ok(match text {
        "as-placed" => WayUp::AsPlaced,
        "best" => WayUp::Best,
        "+x" | "x" => WayUp::Axis([1.0, 0.0, 0.0]),
        "-x" => WayUp::Axis([-1.0, 0.0, 0.0]),
        "+y" | "y" => WayUp::Axis([0.0, 1.0, 0.0]),
        "-y" => WayUp::Axis([0.0, -1.0, 0.0]),
        "+z" | "z" => WayUp::Axis([0.0, 0.0, 1.0]),
        "-z" => WayUp::Axis([0.0, 0.0, -1.0]),
        _ => {
            return Err(misuse(format!("expected a way up for `--pose`, found `{text}`"))
                .hint("write as-placed, best, or the axis of the file that is to point up: +x, -x, +y, -y, +z, -z"));
        }
    })
}

fn number(text: &str, unit: &str, (low, high): (f64, f64), option: &str, form: &str) -> Result<f64, Diagnostic> {
    let value = Quantity::parse(text).ok().and_then(|q| q.in_unit(unit));
    value.filter(|v| (low..=high).contains(v)).ok_or_else(|| {
        misuse(format!("expected {form} for `{option}`, found `{text}`")).hint("give the number with its unit")
    })
}

fn misuse(message: String) -> Diagnostic {
    Diagnostic::new(Severity::Error, "usage/option", message)
}

/// Measures what the bytes of a mesh file hold.
///
/// # Errors
///
/// `mesh/unreadable` with place and remedy, `mesh/empty`, `mesh/too-large`.
fn measure(bytes: &[u8], name: &str, wish: &Wish) -> Result<Measurement, Diagnostic> {
    let refused = |code, message: String| Diagnostic::new(Severity::Error, code, message);
    let read = read::read(bytes, name, wish.unit).map_err(|e| {
        let place = if e.place.is_empty() { String::new() } else { format!(" ({})", e.place) };
        refused("mesh/unreadable", format!("{name}: {}{place}", e.message)).hint(e.hint)
    })?;
    let mesh = read
        .merged()
        .ok_or_else(|| refused("mesh/too-large", format!("{name}: its objects are too large to be taken together")))?;
    if mesh.triangles.is_empty() {
        return Err(
            refused("mesh/empty", format!("{name} holds no triangles")).hint("export the part again, as a mesh")
        );
    }
    Ok(survey(&read, &mesh, name, wish))
}

fn survey(read: &ReadMesh, mesh: &Mesh, name: &str, wish: &Wish) -> Measurement {
    let health = health::examine(mesh);
    let mass = mass::measure(mesh, &health);
    let prepared = Prepared::new(mesh);
    let features = features::find(mesh, prepared.twins(), prepared.rays());
    let options = PoseOptions { limits: wish.limits.clone(), wanted: wanted(&features), ..PoseOptions::default() };
    let poses = prepared.poses(&options);
    let chosen = match wish.pose {
        WayUp::Best => poses.first().filter(|p| p.regions.is_some()).cloned(),
        WayUp::AsPlaced => None,
        WayUp::Axis(up) => Pose::new(up).map(|pose| prepared.facts_in_pose(&pose, &options)),
    };
    let facts = chosen.unwrap_or_else(|| prepared.facts_in_pose(&Pose::as_placed(), &options));
    let bounds = mesh.bounds();
    Measurement {
        file: name.to_owned(),
        format: read.format.to_string(),
        unit: read.unit.to_string(),
        triangles: mesh.triangles.len(),
        closed: health.closed,
        shells: health.shells.len(),
        volume_mm3: mass.volume_mm3,
        area_mm2: mass.area_mm2,
        centroid_mm: mass.centroid_mm.map(plain),
        bounds_mm: MinMax { min: plain(bounds.min), max: plain(bounds.max) },
        defects: defects(&health),
        cavities: cavities(&health),
        holes: features.holes,
        min_wall: None,
        min_gap: None,
        pose: PoseName { up: plain(facts.pose.up), label: facts.pose.label.clone() },
        overhang_mm2: facts.overhang_mm2,
        contact_mm2: facts.contact_mm2,
        height_mm: facts.height_mm,
        support_mm3: facts.support_mm3,
        regions: facts.regions.map_or_else(Vec::new, |r| r.list),
        poses: poses.iter().map(ranked).collect(),
        notes: notes(read, &health),
    }
}

/// Holes want to stand upright and flat faces to lie on the bed, so their directions are worth a try.
fn wanted(features: &Features) -> Wanted {
    let holes = features.holes.iter().map(|h| h.axis);
    let planes = features.planes.iter().map(|p| p.normal);
    Wanted { along: holes.chain(planes).take(FROM_FEATURES).collect(), ..Wanted::default() }
}

fn defects(health: &Health) -> Vec<Defect> {
    let of =
        |d: &health::Defect| Defect { kind: d.kind.name(), count: d.count, at: plain(d.at), detail: d.detail.clone() };
    health.defects.iter().map(of).collect()
}

fn cavities(health: &Health) -> Vec<Cavity> {
    cavity::find(health)
        .iter()
        .map(|c| Cavity { volume_mm3: c.volume_mm3, sealed: c.sealed, at: plain(c.at) })
        .collect()
}

fn ranked(facts: &PoseFacts) -> Ranked {
    Ranked {
        up: plain(facts.pose.up),
        label: facts.pose.label.clone(),
        penalties: facts.penalties.iter().map(|(name, value)| (*name, value + 0.0)).collect(),
        total: facts.total(),
    }
}

fn notes(read: &ReadMesh, health: &Health) -> Vec<String> {
    let of_file = read
        .notes
        .iter()
        .map(|n| if n.place.is_empty() { n.message.clone() } else { format!("{} ({})", n.message, n.place) });
    let doubts = health.doubts.iter().map(|d| d.message.clone());
    of_file.chain(doubts).chain(health.not_searched.iter().cloned()).collect()
}

/// A negative zero is a zero.
fn plain(p: [f64; 3]) -> [f64; 3] {
    p.map(|x| x + 0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wish(pose: WayUp) -> Wish {
        Wish { unit: Some(LengthUnit::Millimetre), pose, limits: Limits::default() }
    }

    /// The starter's peg: closed forms for what it is made from.
    #[test]
    fn the_starters_mesh_measures_as_it_was_made() {
        let stl = super::super::new::peg::stl("peg");
        let found = measure(stl.as_bytes(), "peg.stl", &wish(WayUp::AsPlaced)).unwrap();
        assert!(found.closed && found.defects.is_empty(), "{:?}", found.defects);
        assert_eq!((found.bounds_mm.min, found.bounds_mm.max), ([0.0; 3], [60.0, 20.0, 40.0]));
        assert_eq!(found.holes.len(), 2);
        for hole in &found.holes {
            assert!((hole.diameter_mm - 4.5).abs() < 1e-3 && hole.through, "{hole:?}");
        }
        // 60 x 20 less two circles lies on the bed, and nothing hangs over.
        assert!((found.contact_mm2 - (1200.0 - 2.0 * 15.86)).abs() < 0.1, "{}", found.contact_mm2);
        assert_eq!((found.overhang_mm2, found.support_mm3), (0.0, 0.0));
    }

    #[test]
    fn the_pose_asked_for_is_the_pose_measured() {
        let stl = super::super::new::peg::stl("peg");
        let over = measure(stl.as_bytes(), "peg.stl", &wish(WayUp::Axis([0.0, 0.0, -1.0]))).unwrap();
        assert_eq!(over.pose.up, [0.0, 0.0, -1.0]);
        assert!(over.overhang_mm2 > 800.0 && over.support_mm3 > 0.0);
        let best = measure(stl.as_bytes(), "peg.stl", &wish(WayUp::Best)).unwrap();
        assert_eq!(best.pose.up, best.poses[0].up);
        assert!(measurement::text(&best).contains("Poses, best first"));
    }

    #[test]
    fn what_cannot_be_measured_is_refused() {
        let code = |bytes: &[u8], name: &str| measure(bytes, name, &wish(WayUp::AsPlaced)).unwrap_err().code;
        assert_eq!(code(b"", "a.stl"), "mesh/unreadable");
        assert_eq!(code(b"solid a\nendsolid a\n", "a.stl"), "mesh/empty");
        assert_eq!(code(b"hello", "a.txt"), "mesh/unreadable");
    }

    #[test]
    fn an_open_mesh_has_no_volume() {
        let stl = super::super::new::peg::stl("peg");
        let cut = stl.find("facet").and_then(|_| stl.find("endfacet\n")).map(|i| i + 9).unwrap();
        let open = format!("solid peg\n{}", &stl[cut..]);
        let found = measure(open.as_bytes(), "peg.stl", &wish(WayUp::AsPlaced)).unwrap();
        assert!(!found.closed && found.volume_mm3.is_none());
        assert!(found.defects.iter().any(|d| d.kind == "open-edge" && d.count == 3), "{:?}", found.defects);
        assert!(yaml::json(&found).unwrap().contains("\"volume_mm3\": null"));
    }

    #[test]
    fn options_are_checked() {
        assert!(number("45deg", "deg", (5.0, 85.0), "--limit", "").is_ok());
        for wrong in ["45", "45mm", "0deg", "NaN deg", ""] {
            assert!(number(wrong, "deg", (5.0, 85.0), "--limit", "").is_err(), "{wrong}");
        }
        assert!(unit("in").is_ok() && unit("parsec").is_err() && way_up("up").is_err());
    }
}
