//! The relations over specs as they are written: those of the examples with every run of the tests, every spec there is in the
//! folders named by `MAKEREADY_SPECS` (else the examples and the case book) when asked for.

use std::fs;
use std::path::{Path, PathBuf};

use makeready::geometry::read;

use super::{Point, Told, Value, check_and_twice, dearer, differences, in_four, says_one_thing, shuffled, sources};
use crate::workshop::root;

/// Spec, relation, and why it does not hold yet. What holds must leave the list.
const WAITS: &[(&str, &str, &str)] = &[];

/// A spec of one part from one mesh, with all it reads.
struct Found {
    name: String,
    spec: String,
    /// The mesh statement up to its unit, as it is written.
    mesh: String,
    facets: Vec<[Point; 3]>,
    shop: Option<String>,
    used: Vec<(String, String)>,
}

/// Returns the text between quotes after a word.
fn quoted<'t>(text: &'t str, word: &str) -> Vec<&'t str> {
    let after = |(at, _): (usize, &str)| {
        let rest = text[at + word.len()..].trim_start();
        let begins = at == 0 || text[..at].ends_with([' ', '\n', ';', '{']);
        rest.strip_prefix('"').filter(|_| begins)?.split('"').next()
    };
    text.match_indices(word).filter_map(after).collect()
}

impl Found {
    /// Returns what a spec reads; `None` where it has several parts or meshes, or is none of one body.
    fn of(path: &Path) -> Option<Self> {
        let text = fs::read_to_string(path).ok()?;
        let folder = path.parent()?;
        let (parts, meshes) = (quoted(&text, "part"), quoted(&text, "mesh"));
        let ([_], [mesh]) = (parts.as_slice(), meshes.as_slice()) else { return None };
        let shop = folder.ancestors().map(|f| f.join("shop.yaml")).find(|f| f.is_file());
        let bytes = fs::read(folder.join(mesh)).ok()?;
        let body = read::read(&bytes, mesh, None).ok()?.into_merged()?;
        let facets = (0..body.triangles.len()).map(|t| body.corners(t)).collect();
        let mut spec = text.clone();
        let mut used = Vec::new();
        for (i, path) in quoted(&text, "use").into_iter().enumerate() {
            let name = format!("used-{i}.partspec");
            used.push((name.clone(), fs::read_to_string(folder.join(path)).ok()?));
            spec = spec.replace(&format!("\"{path}\""), &format!("\"{name}\""));
        }
        let written = format!("mesh \"{mesh}\"");
        let at = spec.replace(' ', "").contains(&format!("mesh\"{mesh}\"in"));
        // Of a mesh in another unit the facets would have to be written in that.
        let plain = spec.lines().find(|l| l.contains(&format!("\"{mesh}\"")))?;
        let mm = !at || plain.contains(" in mm") || plain.contains(" in in recipe");
        let line = plain.split("mesh").nth(1)?;
        let head = format!("mesh{}", &line[..line.find(&format!("\"{mesh}\""))? + mesh.len() + 2]);
        let head = if line.contains(" in mm") { format!("{head} in mm") } else { head };
        let found = Self {
            name: path.file_stem()?.to_string_lossy().into_owned(),
            mesh: if spec.contains(&head) { head } else { written },
            spec,
            facets,
            shop: shop.and_then(|f| fs::read_to_string(f).ok()),
            used,
        };
        (mm && found.spec.contains(&found.mesh)).then_some(found)
    }

    /// The spec as it is compiled: its facets in a unit, its text.
    fn told(&self, facets: Vec<[Point; 3]>, unit: &'static str, spec: &str) -> Told {
        let spec = spec.replace(&self.mesh, &format!("mesh \"job.stl\" in {unit}"));
        Told {
            facets,
            lines: Vec::new(),
            shop: self.shop.clone().unwrap_or_default(),
            unit,
            spec: Some((spec, self.used.clone())),
        }
    }

    fn plain(&self) -> Told {
        self.told(self.facets.clone(), "mm", &self.spec)
    }
}

/// Moves every point that is written in millimetres: `(1 mm, 2 mm, 3 mm)`.
fn shifted(text: &str, by: Point) -> String {
    let mut out = String::new();
    let mut rest = text;
    while let Some(open) = rest.find('(') {
        let Some(close) = rest[open..].find(')') else { break };
        let inside = &rest[open + 1..open + close];
        let numbers: Option<Vec<f64>> =
            inside.split(',').map(|c| c.trim().strip_suffix("mm")?.trim().parse().ok()).collect();
        out.push_str(&rest[..=open]);
        match numbers.as_deref() {
            Some([x, y, z]) => out.push_str(&format!("{} mm, {} mm, {} mm", x + by[0], y + by[1], z + by[2])),
            _ => out.push_str(inside),
        }
        rest = &rest[open + close..];
    }
    out + rest
}

/// Holds every relation for a spec; returns what is violated, after the name of the relation.
/// Returns what is violated; `None` where the spec as it stands makes no recipe.
fn violated(found: &Found) -> Option<Vec<(&'static str, String)>> {
    let plain = found.plain();
    let run = plain.run();
    let made = serde_json::from_str::<Value>(&run.stdout).ok().filter(Value::is_object)?;
    let mut wrong: Vec<(&'static str, String)> = Vec::new();
    let mut say = |relation: &'static str, of: Vec<String>| wrong.extend(of.into_iter().map(|f| (relation, f)));
    let by = [37.5, -120.25, 8.125];
    let moved = |p: Point| [0, 1, 2].map(|k| p[k] + by[k]);
    let inch = |p: Point| p.map(|c| c / 25.4);
    let told = |facets: Vec<[Point; 3]>| found.told(facets, "mm", &found.spec);
    let each = |of: &dyn Fn(Point) -> Point| found.facets.iter().map(|f| f.map(of)).collect::<Vec<_>>();
    let others = [
        ("shuffled", told(shuffled(&found.facets))),
        ("in four", told(in_four(&found.facets))),
        ("inches", found.told(each(&inch), "in", &found.spec)),
        ("moved", found.told(each(&moved), "mm", &shifted(&found.spec, by))),
    ];
    for (relation, other) in others {
        let run = other.run();
        match serde_json::from_str::<Value>(&run.stdout) {
            Ok(other) => say(relation, differences(&made, &other)),
            Err(_) => {
                say(relation, vec![format!("no recipe any more: {}", run.stderr.lines().next().unwrap_or_default())])
            }
        }
    }
    if !plain.shop.is_empty() {
        let mut other = found.plain();
        other.shop = dearer(&other.shop);
        say("prices", differences(&made, &other.made()));
    }
    say("one recipe", says_one_thing(&made, run.code));
    say("check, twice", check_and_twice(&plain, &run));
    Some(wrong)
}

fn hold_all(specs: &[PathBuf]) -> usize {
    let (mut wrong, mut looked_at) = (Vec::new(), 0);
    for path in specs {
        let Some(found) = Found::of(path) else { continue };
        let Some(violations) = violated(&found) else { continue };
        looked_at += 1;
        let waits = |relation: &str| WAITS.iter().any(|(spec, r, _)| *spec == found.name && *r == relation);
        wrong.extend(violations.iter().filter(|(r, _)| !waits(r)).map(|(r, f)| format!("{r}: {}: {f}", found.name)));
        let held = WAITS.iter().filter(|(spec, r, _)| *spec == found.name && !violations.iter().any(|(v, _)| v == r));
        wrong.extend(held.map(|(spec, r, _)| format!("{r}: {spec} holds: take it from the list")));
    }
    assert!(wrong.is_empty(), "of {looked_at} specs\n{}", wrong.join("\n"));
    looked_at
}

/// Returns every spec below a folder, in order.
fn specs_below(folder: &Path) -> Vec<PathBuf> {
    let Ok(entries) = fs::read_dir(folder) else { return Vec::new() };
    let mut paths: Vec<PathBuf> = entries.flatten().map(|e| e.path()).collect();
    paths.sort();
    let of = |path: PathBuf| match path.is_dir() {
        true => specs_below(&path),
        false if path.extension().is_some_and(|e| e == "partspec") => vec![path],
        false => Vec::new(),
    };
    paths.into_iter().flat_map(of).collect()
}

#[test]
fn relations_hold_for_specs_as_they_are_written() {
    let small = ["vane-bracket/vane-bracket", "peg-tags/peg-tag", "coolant-elbow/coolant-elbow"];
    let specs: Vec<PathBuf> = small.iter().map(|s| root().join(format!("examples/{s}.partspec"))).collect();
    assert_eq!(hold_all(&specs), 3);
}

/// Where a block lies in its file decided whether it is filled: what slants governs there, and was measured along the nearer axis.
/// It stays as it is filled by so little that no single reason was told for it, and none had a source.
#[test]
fn a_block_is_filled_alike_wherever_it_lies_and_says_why() {
    let path = root().join("examples/spindle-block/spindle-block.partspec");
    let found = Found::of(&path).unwrap();
    let made = found.plain().made();
    let by = [37.5, -120.25, 8.125];
    let facets = found.facets.iter().map(|f| f.map(|p| [0, 1, 2].map(|k| p[k] + by[k]))).collect();
    let moved = found.told(facets, "mm", &shifted(&found.spec, by)).made();
    assert_eq!(differences(&made, &moved), Vec::<String>::new());
    assert_eq!(sources(&made), Vec::<String>::new());
}

#[test]
#[ignore = "minutes: every spec in the folders of MAKEREADY_SPECS, parted by colons"]
fn relations_hold_for_every_spec_there_is() {
    let folders = std::env::var("MAKEREADY_SPECS").unwrap_or_default();
    let named: Vec<PathBuf> = folders.split(':').filter(|f| !f.is_empty()).map(PathBuf::from).collect();
    let folders = if named.is_empty() { vec![root().join("examples"), root().join("tests/cases")] } else { named };
    let specs: Vec<PathBuf> = folders.iter().flat_map(|f| specs_below(f)).collect();
    assert!(hold_all(&specs) > 0, "no spec of one part in {folders:?}");
}
