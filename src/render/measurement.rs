//! The facts of a mesh alone, as text and JSON.

use std::collections::BTreeMap;

use serde::Serialize;

use super::pages::{Table, table};
use crate::geometry::features::Hole;
use crate::geometry::regions::{Kind, Region, Verdict};

/// How many rows of a list the text form shows; JSON has them all.
const ROWS: usize = 12;

/// What `measure` found. The field names are the documented keys of the JSON form; lengths in mm, angles in degrees,
/// places and directions in the axes of the file.
#[derive(Debug, Clone, Serialize)]
pub struct Measurement {
    pub file: String,
    pub format: String,
    /// The unit the numbers of the file were taken to be in.
    pub unit: String,
    pub triangles: usize,
    pub closed: bool,
    pub shells: usize,
    /// `None` where the mesh encloses no volume that can be told.
    pub volume_mm3: Option<f64>,
    pub area_mm2: f64,
    pub centroid_mm: Option<[f64; 3]>,
    pub bounds_mm: MinMax,
    pub defects: Vec<Defect>,
    pub cavities: Vec<Cavity>,
    pub holes: Vec<Hole>,
    pub min_wall: Option<Thickness>,
    pub min_gap: Option<Thickness>,
    pub pose: PoseName,
    /// Facets steeper than the limit, those lying on the bed left out.
    pub overhang_mm2: f64,
    pub contact_mm2: f64,
    pub height_mm: f64,
    pub regions: Vec<Region>,
    pub support_mm3: f64,
    pub poses: Vec<Ranked>,
    /// Oddities of the file, doubts about its scale, and what was not looked for and why.
    pub notes: Vec<String>,
}

#[derive(Debug, Clone, Serialize)]
pub struct MinMax {
    pub min: [f64; 3],
    pub max: [f64; 3],
}

#[derive(Debug, Clone, Serialize)]
pub struct Defect {
    pub kind: &'static str,
    pub count: usize,
    pub at: [f64; 3],
    #[serde(skip_serializing_if = "String::is_empty")]
    pub detail: String,
}

#[derive(Debug, Clone, Serialize)]
pub struct Cavity {
    pub volume_mm3: f64,
    pub sealed: bool,
    pub at: [f64; 3],
}

/// A thickness or a gap, and where.
#[derive(Debug, Clone, Serialize)]
pub struct Thickness {
    pub mm: f64,
    pub at: [f64; 3],
}

#[derive(Debug, Clone, Serialize)]
pub struct PoseName {
    pub up: [f64; 3],
    pub label: String,
}

#[derive(Debug, Clone, Serialize)]
pub struct Ranked {
    pub up: [f64; 3],
    pub label: String,
    pub penalties: BTreeMap<&'static str, f64>,
    pub total: f64,
}

/// Returns the measurement for reading.
pub fn text(m: &Measurement) -> String {
    let mut out = format!("{} ({}, numbers in {})\n\n", m.file, m.format, m.unit);
    push_body(&mut out, m);
    push_notes(&mut out, m);
    push_defects(&mut out, m);
    push_holes(&mut out, m);
    push_pose(&mut out, m);
    push_poses(&mut out, m);
    out
}

fn push_body(out: &mut String, m: &Measurement) {
    let (low, high) = (m.bounds_mm.min, m.bounds_mm.max);
    let size = [0, 1, 2].map(|k| high[k] - low[k]);
    let closed = if m.closed { "closed" } else { "open" };
    let shells = if m.shells == 1 { "1 shell".to_owned() } else { format!("{} shells", m.shells) };
    let mut rows = vec![
        ["mesh".to_owned(), format!("{} triangles, {closed}, {shells}", m.triangles)],
        ["size".to_owned(), format!("{} x {} x {} mm", mm(size[0]), mm(size[1]), mm(size[2]))],
        ["from, to".to_owned(), format!("{} to {} mm", place(low), place(high))],
        ["area".to_owned(), format!("{} mm²", mm(m.area_mm2))],
    ];
    let volume =
        m.volume_mm3.map_or_else(|| "none: the mesh encloses no solid".to_owned(), |v| format!("{} mm³", mm(v)));
    rows.push(["volume".to_owned(), volume]);
    rows.extend(m.centroid_mm.map(|c| ["centroid".to_owned(), format!("{} mm", place(c))]));
    rows.extend(
        m.min_wall.as_ref().map(|w| ["thinnest wall".to_owned(), format!("{} mm at {}", mm(w.mm), place(w.at))]),
    );
    rows.extend(
        m.min_gap.as_ref().map(|g| ["narrowest gap".to_owned(), format!("{} mm at {}", mm(g.mm), place(g.at))]),
    );
    for c in &m.cavities {
        let sealed = if c.sealed { "sealed: nothing gets out" } else { "with a way out, perhaps" };
        rows.push(["cavity".to_owned(), format!("{} mm³ at {}, {sealed}", mm(c.volume_mm3), place(c.at))]);
    }
    for [what, value] in rows {
        out.push_str(&format!("{what:<14}  {value}\n"));
    }
}

fn push_notes(out: &mut String, m: &Measurement) {
    for note in &m.notes {
        out.push_str(&format!("note            {note}\n"));
    }
}

fn push_defects(out: &mut String, m: &Measurement) {
    if m.defects.is_empty() {
        out.push_str("defects         none\n");
        return;
    }
    let rows = m.defects.iter().map(|d| vec![d.kind.to_owned(), d.count.to_string(), place(d.at), d.detail.clone()]);
    push_table(out, "Defects", &["kind", "count", "first at, mm", "detail"], rows.collect());
}

fn push_holes(out: &mut String, m: &Measurement) {
    let row = |h: &Hole| {
        vec![
            h.name.split(':').next().unwrap_or("").to_owned(),
            format!("{:.3}", h.diameter_mm),
            place(h.axis),
            place(h.centre_mm),
            mm(h.depth_mm),
            if h.through { "through" } else { "blind" }.to_owned(),
            format!("{:.3} ({} facets)", h.chord_shortfall_mm, h.facets),
        ]
    };
    let columns = ["hole", "diameter, mm", "axis", "centre, mm", "depth, mm", "", "tighter by, mm"];
    push_table(out, "Holes", &columns, m.holes.iter().map(row).collect());
}

fn push_pose(out: &mut String, m: &Measurement) {
    out.push_str(&format!("\nPose: {}, {} mm high\n", m.pose.label, mm(m.height_mm)));
    let (overhang, contact, support) = (mm(m.overhang_mm2), mm(m.contact_mm2), mm(m.support_mm3));
    out.push_str(&format!("overhang {overhang} mm², bed contact {contact} mm², support {support} mm³\n"));
    let row = |r: &Region| {
        vec![
            kind(r.kind).to_owned(),
            format!("{} to {}", mm(r.z_mm[0]), mm(r.z_mm[1])),
            mm(r.area_mm2),
            r.span_mm.map_or_else(String::new, mm),
            r.reach_mm.map_or_else(String::new, mm),
            place(r.at),
            verdict(r.verdict).to_owned(),
            r.because.clone(),
        ]
    };
    let columns = ["region", "height, mm", "area, mm²", "span, mm", "reach, mm", "at, mm", "verdict", "because"];
    push_table(out, "", &columns, m.regions.iter().map(row).collect());
}

fn push_poses(out: &mut String, m: &Measurement) {
    let row = |p: &Ranked| {
        let parts: Vec<String> =
            p.penalties.iter().filter(|(_, v)| **v >= 0.005).map(|(name, v)| format!("{name} {v:.2}")).collect();
        vec![p.label.clone(), format!("{:.2}", p.total), parts.join(", ")]
    };
    push_table(out, "Poses, best first", &["pose", "total", "penalties"], m.poses.iter().map(row).collect());
}

fn push_table(out: &mut String, title: &str, columns: &[&str], mut rows: Vec<Vec<String>>) {
    if rows.is_empty() {
        return;
    }
    let more = rows.len().saturating_sub(ROWS);
    rows.truncate(ROWS);
    let columns = columns.iter().map(|c| (*c).to_owned()).collect();
    out.push('\n');
    out.push_str(&table(&Table { title: title.to_owned(), columns, rows }));
    if more > 0 {
        out.push_str(&format!("and {more} more; `--print json` has them all\n"));
    }
}

fn kind(kind: Kind) -> &'static str {
    match kind {
        Kind::Island => "island",
        Kind::Bridge => "bridge",
        Kind::Ledge => "ledge",
        Kind::Steep => "steep",
        Kind::HoleCrown => "hole crown",
    }
}

fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::None => "nothing",
        Verdict::Bridge => "bridge",
        Verdict::Support => "support",
        Verdict::Trapped => "support cannot come out",
        Verdict::Redesign => "redesign",
    }
}

/// Two decimals for ordinary sizes, more digits where the size itself is small.
fn mm(value: f64) -> String {
    let value = value + 0.0;
    if value == 0.0 || (0.01..1e7).contains(&value.abs()) { format!("{value:.2}") } else { format!("{value:.3e}") }
}

fn place(p: [f64; 3]) -> String {
    format!("({}, {}, {})", mm(p[0]), mm(p[1]), mm(p[2]))
}
