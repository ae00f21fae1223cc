//! `makeready measure`: the facts of a mesh alone.

use super::args::{MeasureArgs, ResultForm};
use super::cache::Cache;
use super::exit::Exit;
use super::knowledge;
use super::terminal::Terminal;
use super::world::World;
use crate::catalogue::figures;
use crate::diag::{Diagnostic, Severity, Sources};
use crate::geometry::read::{self, LengthUnit, Note};
use crate::geometry::regions::limits::Limit;
use crate::geometry::survey::measure::{self as survey, MeasureOptions, PoseChoice};
use crate::quantity::Quantity;
use crate::render::measurement::{self, Measurement};
use crate::render::yaml;

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
    let cache = Cache::of_the_user(args.no_cache);
    let forms = forms(bytes, &name, &wish, cache.as_ref()).map_err(tell)?;
    terminal.result(match args.print {
        ResultForm::Text => &forms.text,
        ResultForm::Json => &forms.json,
    })?;
    Ok(Exit::Done)
}

/// A measurement in both its forms, as they are kept: to keep and to print the same bytes leaves nothing to go wrong.
#[derive(Debug, PartialEq)]
struct Forms {
    text: String,
    json: String,
}

impl Forms {
    fn encoded(&self) -> Vec<u8> {
        let mut kept = (self.text.len() as u64).to_le_bytes().to_vec();
        kept.extend_from_slice(self.text.as_bytes());
        kept.extend_from_slice(self.json.as_bytes());
        kept
    }

    fn of_kept(kept: Vec<u8>) -> Option<Self> {
        let length = kept.get(..8)?.try_into().ok().map(u64::from_le_bytes)?;
        let both = String::from_utf8(kept.get(8..)?.to_vec()).ok()?;
        let (text, json) = both.split_at_checked(usize::try_from(length).ok()?)?;
        Some(Self { text: text.to_owned(), json: json.to_owned() })
    }
}

/// Measures, or finds what was measured of the same bytes before.
/// The gap that may close, without a workshop's own figures: a mesh is measured by itself.
fn fuses_mm() -> f64 {
    knowledge::built_in().catalogue.value(figures::GAP_FUSES).to_mm()
}

fn forms(bytes: impl AsRef<[u8]>, name: &str, wish: &Wish, cache: Option<&Cache>) -> Result<Forms, Diagnostic> {
    // The form for debugging names every field, and every number to its last bit.
    let key = cache.map(|c| c.key("measure", &[name.as_bytes(), format!("{wish:?}").as_bytes(), bytes.as_ref()]));
    if let Some(known) = cache.zip(key).and_then(|(c, key)| c.get(&key)).and_then(Forms::of_kept) {
        return Ok(known);
    }
    let found = measure(bytes, name, wish)?;
    let json = yaml::json(&found).map_err(|e| {
        let message = format!("the result can't be put into text: {e}");
        Diagnostic::new(Severity::Error, "internal/measurement", message)
    })?;
    let forms = Forms { text: measurement::text(&found, fuses_mm()), json };
    if let Some((cache, key)) = cache.zip(key) {
        cache.put(&key, &forms.encoded());
    }
    Ok(forms)
}

/// What was asked, understood.
#[derive(Debug)]
struct Wish {
    unit: Option<LengthUnit>,
    options: MeasureOptions,
}

impl Wish {
    fn of(args: &MeasureArgs) -> Result<Self, Diagnostic> {
        let unit = args.unit.as_deref().map(unit).transpose()?;
        let mut options = MeasureOptions { pose: way_up(&args.pose)?, ..MeasureOptions::default() };
        let limits = &mut options.poses.limits;
        if let Some(text) = &args.limit {
            let degrees = number(text, "deg", (5.0, 85.0), "--limit", "an angle from 5deg to 85deg")?;
            limits.overhang_deg = Limit::new(degrees, "asked for");
        }
        if let Some(text) = &args.layer {
            limits.layer_mm = number(text, "mm", (0.01, 5.0), "--layer", "a length from 0.01mm to 5mm")?;
        }
        Ok(Self { unit, options })
    }
}

pub(super) fn unit(text: &str) -> Result<LengthUnit, Diagnostic> {
    LengthUnit::from_symbol(text).ok_or_else(|| {
        let known: Vec<&str> = LengthUnit::ALL.iter().map(|u| u.symbol()).collect();
        misuse(format!("expected a unit of length for `--unit`, found `{text}`"))
            .hint(format!("write one of {}", known.join(", ")))
    })
}

pub(super) fn way_up(text: &str) -> Result<PoseChoice, Diagnostic> {
    if let Some(up) = crate::geometry::pose::read(text.trim()) {
        return Ok(PoseChoice::Up(up));
    }
    Ok(match text {
        "as-placed" => PoseChoice::AsPlaced,
        "best" => PoseChoice::Best,
        "+x" | "x" => PoseChoice::Up([1.0, 0.0, 0.0]),
        "-x" => PoseChoice::Up([-1.0, 0.0, 0.0]),
        "+y" | "y" => PoseChoice::Up([0.0, 1.0, 0.0]),
        "-y" => PoseChoice::Up([0.0, -1.0, 0.0]),
        "+z" | "z" => PoseChoice::Up([0.0, 0.0, 1.0]),
        "-z" => PoseChoice::Up([0.0, 0.0, -1.0]),
        _ => {
            return Err(misuse(format!("expected a way up for `--pose`, found `{text}`"))
                .hint("write as-placed, best, the axis of the file that is to point up (+x, -x, +y, -y, +z, -z), or a pose by its name, as `-z down`"));
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

/// Measures a mesh as a draft wants it, and says whether its file names its unit.
///
/// # Errors
///
/// As `measure`.
pub(super) fn for_draft(
    bytes: impl AsRef<[u8]>,
    name: &str,
    unit: Option<LengthUnit>,
) -> Result<(Measurement, bool), Diagnostic> {
    let said = read::read(bytes.as_ref(), name, unit).is_ok_and(|read| read.unit_stated.is_some());
    let options = MeasureOptions { pose: PoseChoice::AsPlaced, ..MeasureOptions::default() };
    Ok((measure(bytes, name, &Wish { unit, options })?, said))
}

/// Measures what the bytes of a mesh file hold.
///
/// # Errors
///
/// `mesh/unreadable` with place and remedy, `mesh/empty`, `mesh/too-large`, `mesh/no-surface`.
fn measure(bytes: impl AsRef<[u8]>, name: &str, wish: &Wish) -> Result<Measurement, Diagnostic> {
    let refused = |code, message: String| Diagnostic::new(Severity::Error, code, message);
    let read = read::read(bytes.as_ref(), name, wish.unit).map_err(|e| {
        let place = if e.place.is_empty() { String::new() } else { format!(" ({})", e.place) };
        refused("mesh/unreadable", format!("{name}: {}{place}", e.message)).hint(e.hint)
    })?;
    // Measuring takes much memory: what is no longer needed goes first.
    drop(bytes);
    let (format, unit) = (read.format.to_string(), read.unit.to_string());
    let notes = read.notes.iter().map(Note::to_string).collect();
    let mesh = read
        .into_merged()
        .ok_or_else(|| refused("mesh/too-large", format!("{name}: its objects are too large to be taken together")))?;
    let export = "export the part again, as a mesh";
    if mesh.triangles.is_empty() {
        return Err(refused("mesh/empty", format!("{name} holds no triangles")).hint(export));
    }
    if (0..mesh.triangles.len()).all(|t| mesh.normal_area(t).1 <= 0.0) {
        let message = format!("no triangle of {name} has an area: each is a point or a line");
        return Err(refused("mesh/no-surface", message).hint(export));
    }
    Ok(Measurement { file: name.to_owned(), format, unit, notes, measure: survey::measure(&mesh, &wish.options) })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::survey::measure::Measure;

    fn wish(pose: PoseChoice) -> Wish {
        let options = MeasureOptions { pose, ..MeasureOptions::default() };
        Wish { unit: Some(LengthUnit::Millimetre), options }
    }

    fn measured(mesh: &str, pose: PoseChoice) -> Measure {
        measure(mesh.as_bytes(), "peg.stl", &wish(pose)).unwrap().measure
    }

    /// The starter's peg: closed forms for what it is made from.
    #[test]
    fn the_starters_mesh_measures_as_it_was_made() {
        let stl = super::super::new::peg::stl("peg");
        let found = measured(&stl, PoseChoice::AsPlaced);
        assert!(found.closed && found.defects.is_empty(), "{:?}", found.defects);
        assert_eq!((found.bounds_mm.min, found.bounds_mm.max), ([0.0; 3], [60.0, 20.0, 40.0]));
        assert_eq!(found.holes.len(), 2);
        for hole in &found.holes {
            assert!((hole.diameter_mm - 4.5).abs() < 1e-3 && hole.through, "{hole:?}");
        }
        // 60 x 20 less two circles lies on the bed, and nothing hangs over.
        let contact = found.contact_mm2.unwrap();
        assert!((contact - (1200.0 - 2.0 * 15.86)).abs() < 0.1, "{contact}");
        assert_eq!((found.overhang_mm2, found.support_mm3), (Some(0.0), Some(0.0)));
        // Outlines are laid on a grid of micrometres: over 188 mm of outline that may come to 0.1 mm².
        assert!((found.first_layer.area_mm2 - contact).abs() < 0.1 && found.first_layer.patches == 1);
    }

    #[test]
    fn the_pose_asked_for_is_the_pose_measured() {
        let stl = super::super::new::peg::stl("peg");
        let over = measured(&stl, PoseChoice::Up([0.0, 0.0, -1.0]));
        assert_eq!(over.pose.up, [0.0, 0.0, -1.0]);
        assert!(over.overhang_mm2 > Some(800.0) && over.support_mm3 > Some(0.0));
        let best = measured(&stl, PoseChoice::Best);
        assert_eq!(best.pose.up, best.poses[0].up);
    }

    #[test]
    fn what_cannot_be_measured_is_refused() {
        let code = |bytes: &[u8], name: &str| measure(bytes, name, &wish(PoseChoice::AsPlaced)).unwrap_err().code;
        assert_eq!(code(b"", "a.stl"), "mesh/unreadable");
        assert_eq!(code(b"solid a\nendsolid a\n", "a.stl"), "mesh/empty");
        assert_eq!(code(b"hello", "a.txt"), "mesh/unreadable");
        let line = "facet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 1 0 0\nvertex 2 0 0\nendloop\nendfacet\n";
        assert_eq!(code(format!("solid a\n{line}endsolid a\n").as_bytes(), "a.stl"), "mesh/no-surface");
    }

    #[test]
    fn an_open_mesh_has_no_volume() {
        let stl = super::super::new::peg::stl("peg");
        let cut = stl.find("facet").and_then(|_| stl.find("endfacet\n")).map(|i| i + 9).unwrap();
        let open = format!("solid peg\n{}", &stl[cut..]);
        let found = measured(&open, PoseChoice::AsPlaced);
        assert!(!found.closed && found.volume_mm3.is_none());
        assert!(found.defects.iter().any(|d| d.kind == "open-edge" && d.count == 3), "{:?}", found.defects);
        assert!(found.withheld.iter().any(|w| w.starts_with("no volume")), "{:?}", found.withheld);
    }

    #[test]
    fn the_file_comes_first_then_the_documented_keys() {
        let bytes = include_bytes!("../../tests/meshes/thin_walls.stl");
        let found = measure(bytes, "thin_walls.stl", &wish(PoseChoice::AsPlaced)).unwrap();
        let json = yaml::json(&found).unwrap();
        let order =
            ["file", "format", "unit", "notes", "triangles", "min_wall", "min_gap", "regions", "poses", "withheld"];
        let at: Vec<usize> = order.iter().map(|k| json.find(&format!("\n  \"{k}\": ")).unwrap()).collect();
        assert!(at.is_sorted(), "{at:?}");
        // The manifest of the mesh collection: a first wall of 0.3 mm, standing from x = 4 mm.
        let text = measurement::text(&found, fuses_mm());
        assert!(text.contains("thinnest wall   0.30 mm at (4.15, "), "{text}");
        assert!(text.contains("first layer") && text.contains("Poses, best first"), "{text}");
    }

    #[test]
    fn every_key_is_documented() {
        let keys = |value: &serde_json::Value| -> Vec<String> {
            value.as_object().map(|o| o.keys().cloned().collect()).unwrap_or_default()
        };
        let page = include_str!("../../grammar/measure.md");
        let bytes = include_bytes!("../../tests/meshes/thin_walls.stl");
        let found = measure(bytes, "thin_walls.stl", &wish(PoseChoice::Up([0.0, 1.0, 0.0]))).unwrap();
        let json: serde_json::Value = serde_json::from_str(&yaml::json(&found).unwrap()).unwrap();
        let lists = ["holes", "bosses", "planes", "regions", "poses", "first_layer", "min_wall", "pose"];
        let parts = lists.iter().flat_map(|list| keys(json[list].get(0).unwrap_or(&json[list])));
        let told: Vec<String> = keys(&json).into_iter().chain(parts).collect();
        assert!(told.len() > 60, "{}", told.len());
        for key in told {
            assert!(page.contains(&format!("`{key}`")), "{key} is not in grammar/measure.md");
        }
    }

    #[test]
    fn the_second_time_it_is_known_and_the_same_to_the_byte() {
        let home = tempfile::tempdir().unwrap();
        let cache = Cache::at(home.path());
        let bytes = include_bytes!("../../tests/meshes/thin_walls.stl");
        let wish = wish(PoseChoice::Best);
        let bare = forms(bytes, "thin.stl", &wish, None).unwrap();
        let entries = || std::fs::read_dir(home.path()).unwrap().count();
        assert_eq!(entries(), 0);
        assert_eq!(forms(bytes, "thin.stl", &wish, Some(&cache)).unwrap(), bare);
        assert_eq!(entries(), 1);
        assert_eq!(forms(bytes, "thin.stl", &wish, Some(&cache)).unwrap(), bare);
        assert_eq!(entries(), 1);
        // What is kept is what is printed: an entry put there by hand is taken as it stands.
        let key = cache.key("measure", &[b"thin.stl", format!("{wish:?}").as_bytes(), bytes]);
        let mark = Forms { text: "kept".to_owned(), json: "{}".to_owned() };
        cache.put(&key, &mark.encoded());
        assert_eq!(forms(bytes, "thin.stl", &wish, Some(&cache)).unwrap(), mark);
        // Content that is whole but makes no sense is measured anew, and written over.
        for nonsense in [&b""[..], b"1234567", &u64::MAX.to_le_bytes(), b"\x01\0\0\0\0\0\0\0\xff"] {
            cache.put(&key, nonsense);
            assert_eq!(forms(bytes, "thin.stl", &wish, Some(&cache)).unwrap(), bare);
            assert_eq!(cache.get(&key).unwrap(), bare.encoded());
        }
    }

    #[test]
    fn another_question_or_mesh_is_another_entry() {
        let home = tempfile::tempdir().unwrap();
        let cache = Cache::at(home.path());
        let stl = super::super::new::peg::stl("peg");
        let ask = |bytes: &[u8], name: &str, wish: &Wish| forms(bytes, name, wish, Some(&cache)).unwrap();
        let plain = ask(stl.as_bytes(), "peg.stl", &wish(PoseChoice::AsPlaced));
        let inch = Wish { unit: Some(LengthUnit::Inch), ..wish(PoseChoice::AsPlaced) };
        assert_ne!(ask(stl.as_bytes(), "peg.stl", &inch), plain);
        assert_ne!(ask(stl.as_bytes(), "peg.stl", &wish(PoseChoice::Up([0.0, 0.0, -1.0]))), plain);
        let mut thick = wish(PoseChoice::AsPlaced);
        thick.options.poses.limits.layer_mm = 0.3;
        ask(stl.as_bytes(), "peg.stl", &thick);
        ask(stl.as_bytes(), "other.stl", &wish(PoseChoice::AsPlaced));
        ask(stl.replace("60", "61").as_bytes(), "peg.stl", &wish(PoseChoice::AsPlaced));
        assert_eq!(std::fs::read_dir(home.path()).unwrap().count(), 6);
        // A mesh that cannot be measured is refused each time, and nothing is kept of it.
        assert!(forms(b"hello", "a.stl", &wish(PoseChoice::AsPlaced), Some(&cache)).is_err());
        assert_eq!(std::fs::read_dir(home.path()).unwrap().count(), 6);
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
