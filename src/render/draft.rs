//! A first spec for a mesh: what was measured as statements, what it may mean as lines to take or strike.

use super::measurement::Measurement;
use crate::fits::hardware::{Likely, likely};
use crate::geometry::features::{Hole, Plane};
use crate::geometry::mesh::Point;
use crate::geometry::survey::measure::Measure;
use crate::quantity::{Length, trim_number};
use crate::resolve::loads::lean;

/// How many flat sides, groups of holes and guesses for one are written: more is not read.
const FACES: usize = 6;
const GROUPS: usize = 8;
const GUESSES: usize = 3;
/// A flat side smaller than this part of the largest is none to hold a part by.
const LEAST_SIDE: f64 = 0.04;
/// Holes are alike, and a direction is an axis, within this.
const ALIKE_MM: f64 = 0.02;
const LEVEL: f64 = 0.999;
/// Places and sizes are written so fine.
const DECIMALS: usize = 2;

/// What is asked of the draft.
pub struct Wish<'a> {
    /// The part's name.
    pub part: &'a str,
    /// The mesh's file as the spec names it.
    pub mesh: &'a str,
    /// Whether the file itself says its unit.
    pub unit_said: bool,
}

/// Returns the spec; `within` says how far a hole may be from a standard part's size.
pub fn text(found: &Measurement, wish: &Wish<'_>, within: impl Fn(Length) -> Length) -> String {
    let m = &found.measure;
    let size = [0, 1, 2].map(|k| m.bounds_mm.max[k] - m.bounds_mm.min[k]);
    let mut out = format!(
        "// A first spec for {}. What the mesh says was measured; what it is for was not: correct every line, and take\n\
         // (strike the two slashes of) or delete those that are only guessed.\n\n\
         part {} {{\n  // purpose   \"What it is for, in a sentence: the first line a reviewer reads\"\n  revision  \"A\"\n\n",
        wish.mesh,
        quoted(wish.part),
    );
    push_mesh(&mut out, found, wish, size);
    out.push_str("  quantity  1\n\n");
    push_service(&mut out);
    let holes = groups(&m.holes);
    let faces = faces(&m.planes);
    push_loads(&mut out, &faces, &holes);
    push_faces(&mut out, &faces);
    push_holes(&mut out, &holes, within);
    push_walls(&mut out, m);
    out.push_str("  // prefer    strength, then cost\n}\n");
    out
}

fn push_mesh(out: &mut String, found: &Measurement, wish: &Wish<'_>, size: Point) {
    let m = &found.measure;
    for told in &m.doubts {
        out.push_str(&format!("  // {told}\n"));
    }
    if wish.unit_said {
        out.push_str(&format!("  mesh      {}\n", quoted(wish.mesh)));
    } else {
        let unit = &found.unit;
        out.push_str(&format!(
            "  // The file does not say its unit; {unit} is taken. Hold the size below against the part.\n  mesh      {} in {unit}\n",
            quoted(wish.mesh)
        ));
    }
    out.push_str(&format!("  size      {} mm x {} mm x {} mm\n", number(size[0]), number(size[1]), number(size[2])));
    if m.shells > 1 {
        out.push_str(&format!("  // It is {} bodies apart: one part, or several to print by themselves?\n", m.shells));
    }
    for told in &m.withheld {
        out.push_str(&format!("  // {told}\n"));
    }
    for defect in &m.defects {
        out.push_str(&format!(
            "  // defect: {}, {} of them, the first at {}\n",
            defect.kind,
            defect.count,
            place(defect.at)
        ));
    }
}

fn push_service(out: &mut String) {
    out.push_str(
        "  // Where it lives decides the material before anything else: temperatures, sun, water, what touches it.\n  \
         // service { air 5 °C .. 30 °C; place indoors; wet dry }\n\n",
    );
}

/// What a load's line could look like on this part.
fn push_loads(out: &mut String, faces: &[(String, &Plane)], holes: &[Vec<&Hole>]) {
    let held = holes.iter().position(|g| g.len() > 1 && g.iter().all(|h| h.through));
    let by = match (held, faces.first()) {
        (Some(at), _) => format!("fit \"{}\"", name_of(at)),
        (None, Some((name, _))) => format!("face \"{name}\""),
        (None, None) => "face \"back\"".to_owned(),
    };
    let acts = faces.get(1).or(faces.first()).map_or("top", |(name, _)| name.as_str());
    out.push_str(&format!(
        "  // What pulls or presses on it, where, and where it is held. A part that bears nothing needs no such line.\n  \
         // load \"weight\" {{ force 10 N toward -z at face \"{acts}\"; fixed at {by}; held 5 years; factor 2 }}\n\n"
    ));
}

fn push_faces(out: &mut String, faces: &[(String, &Plane)]) {
    if faces.is_empty() {
        return;
    }
    out.push_str(
        "  // Its largest flat sides, named by where they look; rename them by what they do (\"back\", \"seat\").\n",
    );
    for (name, plane) in faces {
        out.push_str(&format!("  {}   // {} mm²\n", face_line(name, plane), number(plane.area_mm2.round())));
    }
    out.push('\n');
}

fn push_holes(out: &mut String, holes: &[Vec<&Hole>], within: impl Fn(Length) -> Length) {
    if holes.is_empty() {
        return;
    }
    out.push_str(
        "  // Its round holes, and what they could be for: take one line for each, or none where nothing has to fit.\n",
    );
    for (at, group) in holes.iter().take(GROUPS).enumerate() {
        let Some(first) = group.first() else { continue };
        out.push_str(&format!("  // {}\n", hole_words(group)));
        for (line, words) in fits_of(&name_of(at), group, first, &within) {
            out.push_str(&format!("  //   {line}   // {words}\n"));
        }
    }
    if holes.len() > GROUPS {
        out.push_str(&format!(
            "  // and {} more sizes of holes: `makeready measure` lists them\n",
            holes.len() - GROUPS
        ));
    }
    out.push('\n');
}

/// Returns the lines that a group of holes could be a fit by, each with what it would be for.
fn fits_of(name: &str, group: &[&Hole], first: &Hole, within: impl Fn(Length) -> Length) -> Vec<(String, String)> {
    let guesses = likely(Length::mm(first.diameter_mm), within);
    let count = if group.len() > 1 { format!(" count {}", group.len()) } else { String::new() };
    let along = along(first.axis).map_or_else(String::new, |axis| format!(" along {axis}"));
    let at_place = if group.len() > 1 { String::new() } else { format!(" at {}", place(first.centre_mm)) };
    // The wide end of a narrower hole seats something: nothing passes through it alone.
    let seats = |guess: &&Likely| !first.counterbore || !guess.passes;
    let line = |function: &str| format!("fit \"{name}\" {function}{count}{along}{at_place}");
    let mut lines: Vec<(String, String)> =
        guesses.iter().filter(seats).take(GUESSES).map(|g| (line(&g.write), g.words.clone())).collect();
    let bore = format!("bore {} mm H9 for shaft h9", number(first.diameter_mm));
    lines.push((line(&bore), "something turns or slides in it".to_owned()));
    lines
}

/// Returns lines that a spec could say of the holes and flat sides of a mesh, each with what it would be.
pub fn lines(holes: &[Hole], planes: &[Plane], within: impl Fn(Length) -> Length) -> Vec<(String, String)> {
    let holes = groups(holes);
    let fits = holes.iter().take(GROUPS).enumerate().filter_map(|(at, group)| {
        let lines = fits_of(&name_of(at), group, group.first()?, &within);
        Some(lines.into_iter().map(|(line, words)| (line, format!("{}: {words}", hole_words(group)))))
    });
    let faces = faces(planes)
        .into_iter()
        .map(|(name, plane)| (face_line(&name, plane), format!("{} mm²", number(plane.area_mm2.round()))));
    fits.flatten().chain(faces).collect()
}

/// Returns the line that names a flat side.
fn face_line(name: &str, plane: &Plane) -> String {
    let near = format!("near {}", place(plane.place_mm));
    let (axis, tilt) = lean(plane.normal);
    let toward = if tilt.is_empty() { format!("toward {axis} {near}") } else { near };
    format!("face {:<12} {toward}", quoted(name))
}

fn push_walls(out: &mut String, m: &Measure) {
    if let Some(wall) = &m.min_wall {
        out.push_str(&format!("  // The thinnest wall measures {} mm, at {}.\n", number(wall.mm), place(wall.at)));
        out.push_str("  // wall      at least 2 mm\n\n");
    }
}

/// Holes of one size and direction, each group in the mesh's order; the groups with most holes first.
fn groups(holes: &[Hole]) -> Vec<Vec<&Hole>> {
    let mut groups: Vec<Vec<&Hole>> = Vec::new();
    for hole in holes {
        let alike = |first: &Hole| {
            let parallel: f64 = (0..3).map(|k| first.axis[k] * hole.axis[k]).sum();
            (first.diameter_mm - hole.diameter_mm).abs() < ALIKE_MM
                && parallel.abs() > LEVEL
                && first.counterbore == hole.counterbore
        };
        match groups.iter_mut().find(|g| g.first().is_some_and(|first| alike(first))) {
            Some(group) => group.push(hole),
            None => groups.push(vec![hole]),
        }
    }
    groups.sort_by_key(|g| std::cmp::Reverse(g.len()));
    groups
}

fn hole_words(group: &[&Hole]) -> String {
    let Some(first) = group.first() else { return String::new() };
    let through = group.iter().filter(|h| h.through).count();
    let ends = match through {
        0 => "blind".to_owned(),
        n if n == group.len() => "through".to_owned(),
        n => format!("{n} of them through"),
    };
    let many = if group.len() > 1 { format!("{} holes", group.len()) } else { "a hole".to_owned() };
    let wide = if first.counterbore { ", the wide end of a narrower hole" } else { "" };
    let sunk = if first.countersink.is_some() { ", countersunk" } else { "" };
    let apart = match group {
        [a, b] => format!(", {} mm apart", number(distance(a.centre_mm, b.centre_mm))),
        [_] => format!(", at {}", place(first.centre_mm)),
        _ => String::new(),
    };
    let axis = along(first.axis).unwrap_or_else(|| "askew".to_owned());
    format!(
        "{many} of {} mm along {axis}, {ends}, {} mm deep{sunk}{wide}{apart}",
        number(first.diameter_mm),
        number(first.depth_mm)
    )
}

/// Flat sides worth a name, the largest first; two that look one way are told apart by number.
fn faces(planes: &[Plane]) -> Vec<(String, &Plane)> {
    let largest = planes.first().map_or(0.0, |p| p.area_mm2);
    let mut named: Vec<(String, &Plane)> = Vec::new();
    for plane in planes.iter().filter(|p| p.area_mm2 >= LEAST_SIDE * largest).take(FACES) {
        let (axis, tilt) = lean(plane.normal);
        let way = if tilt.is_empty() { format!("side {axis}") } else { format!("slope {axis}") };
        let alike = named.iter().filter(|(name, _)| *name == way || name.starts_with(&format!("{way}, "))).count();
        named.push((if alike == 0 { way } else { format!("{way}, {}", alike + 1) }, plane));
    }
    named
}

/// An axis as specs write it, where it is one.
fn along(axis: Point) -> Option<String> {
    let words = ["x", "y", "z"];
    (0..3).find(|&k| axis[k].abs() > LEVEL).and_then(|k| words.get(k)).map(|word| (*word).to_owned())
}

fn name_of(group: usize) -> String {
    format!("holes {}", group + 1)
}

fn distance(a: Point, b: Point) -> f64 {
    (0..3).map(|k| (a[k] - b[k]).powi(2)).sum::<f64>().sqrt()
}

fn number(value: f64) -> String {
    trim_number(value + 0.0, DECIMALS)
}

fn place(at: Point) -> String {
    let [x, y, z] = at.map(|c| number(if c.abs() < ALIKE_MM { 0.0 } else { c }));
    format!("({x} mm, {y} mm, {z} mm)")
}

fn quoted(text: &str) -> String {
    format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\""))
}
