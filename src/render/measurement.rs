//! The facts of a mesh alone, as text and JSON.

use serde::Serialize;

use super::pages::{Table, WIDTH, fold, push_text, table};
use crate::geometry::cavity;
use crate::geometry::features::{Boss, Hole};
use crate::geometry::mesh::Point;
use crate::geometry::survey::measure::{CavityReport, Measure, RankedPose};
use crate::resolve::loads::direction_words;

/// How many rows of a list the text form shows; JSON has them all.
const ROWS: usize = 12;

/// What `measure` found: the file, then the survey of its mesh. The field names are the documented keys of the JSON form.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Measurement {
    pub file: String,
    pub format: String,
    /// The unit the numbers of the file were taken to be in.
    pub unit: String,
    /// Oddities of the file.
    pub notes: Vec<String>,
    #[serde(flatten)]
    pub measure: Measure,
}

/// Returns the measurement for reading; a gap under `fuses_mm` may close.
pub fn text(m: &Measurement, fuses_mm: f64) -> String {
    let mut out = format!("{} ({}, numbers in {})\n\n", m.file, m.format, m.unit);
    let measure = &m.measure;
    push_body(&mut out, measure, fuses_mm);
    push_notes(&mut out, m);
    push_defects(&mut out, measure);
    push_features(&mut out, measure);
    push_pose(&mut out, measure);
    push_first_layer(&mut out, measure);
    push_regions(&mut out, measure);
    push_poses(&mut out, measure);
    out
}

fn push_body(out: &mut String, m: &Measure, fuses_mm: f64) {
    let (low, high) = (m.bounds_mm.min, m.bounds_mm.max);
    let size = [0, 1, 2].map(|k| high[k] - low[k]);
    let closed = if m.closed { "closed" } else { "open" };
    let mut rows = vec![
        ("mesh", format!("{}, {closed}, {}", counted(m.triangles, "triangle"), counted(m.shells, "shell"))),
        ("size", format!("{} x {} x {} mm", mm(size[0]), mm(size[1]), mm(size[2]))),
        ("from, to", format!("{} to {} mm", place(low), place(high))),
        ("area", format!("{} mm²", mm(m.area_mm2))),
        ("volume", m.volume_mm3.map_or_else(|| "none that can be told".to_owned(), |v| format!("{} mm³", mm(v)))),
    ];
    rows.extend(m.centroid_mm.map(|c| ("centroid", format!("{} mm", place(c)))));
    rows.extend(m.min_wall.map(|w| ("thinnest wall", format!("{} mm at {}", mm(w.mm), place(w.at)))));
    rows.extend(m.min_gap.map(|g| {
        let fuses = if g.mm < fuses_mm { format!(": under {fuses_mm} mm its sides may fuse") } else { String::new() };
        ("narrowest gap", format!("{} mm at {}{fuses}", mm(g.mm), place(g.at)))
    }));
    rows.extend(m.cavities.iter().take(ROWS).map(|c| ("cavity", cavity_words(c))));
    for (what, value) in rows {
        push_fact(out, what, &value);
    }
    push_more(out, m.cavities.len());
}

fn cavity_words(c: &CavityReport) -> String {
    format!("{} mm³ at {}, {}", mm(c.volume_mm3), place(c.at), cavity::way_out(c.sealed))
}

fn push_fact(out: &mut String, what: &str, value: &str) {
    for (i, line) in fold(value, WIDTH - 16).iter().enumerate() {
        out.push_str(&format!("{:<14}  {line}\n", if i == 0 { what } else { "" }));
    }
}

fn push_more(out: &mut String, count: usize) {
    if count > ROWS {
        out.push_str(&format!("and {} more; `--print json` has them all\n", count - ROWS));
    }
}

fn push_notes(out: &mut String, m: &Measurement) {
    m.notes.iter().for_each(|note| push_fact(out, "note", note));
    m.measure.doubts.iter().for_each(|doubt| push_fact(out, "doubt", doubt));
    m.measure.withheld.iter().for_each(|withheld| push_fact(out, "withheld", withheld));
}

fn push_defects(out: &mut String, m: &Measure) {
    if m.defects.is_empty() {
        push_fact(out, "defects", "none");
        return;
    }
    let rows = m.defects.iter().map(|d| vec![d.kind.clone(), d.count.to_string(), place(d.at), d.detail.clone()]);
    push_table(out, "Defects", &["kind", "count", "first at, mm", "detail"], rows.collect());
}

fn push_features(out: &mut String, m: &Measure) {
    let hole = |h: &Hole| {
        let mouth = match (h.counterbore, h.countersink) {
            (true, _) => ", a counterbore".to_owned(),
            (_, Some(c)) => format!(", countersunk {:.0}° to {:.2} mm", c.angle_deg, c.diameter_mm),
            _ => String::new(),
        };
        vec![
            short(&h.name),
            format!("{:.3}", h.diameter_mm),
            axis(h.axis),
            place(h.centre_mm),
            mm(h.depth_mm),
            format!("{}{mouth}", if h.through { "through" } else { "blind" }),
            format!("{:.3}", h.chord_shortfall_mm),
            h.facets.to_string(),
        ]
    };
    let columns = ["hole", "diameter", "axis", "centre", "depth", "", "tighter", "flats"];
    push_table(out, "Holes, in mm; what their flats leave tighter", &columns, m.holes.iter().map(hole).collect());
    let boss = |b: &Boss| {
        vec![short(&b.name), format!("{:.3}", b.diameter_mm), axis(b.axis), place(b.centre_mm), mm(b.height_mm)]
    };
    let columns = ["boss", "diameter", "axis", "centre", "height"];
    push_table(out, "Bosses, in mm", &columns, m.bosses.iter().map(boss).collect());
}

/// `hole 3` of `hole 3: d 8.00, axis +x, ..`.
fn short(name: &str) -> String {
    name.split(':').next().unwrap_or("").to_owned()
}

fn push_pose(out: &mut String, m: &Measure) {
    let told =
        |value: Option<f64>, unit: &str| value.map_or_else(|| "not told".to_owned(), |v| format!("{} {unit}", mm(v)));
    out.push_str(&format!("\nPose: {}\n\n", m.pose.label));
    push_fact(out, "height", &format!("{} mm", mm(m.height_mm)));
    push_fact(out, "footprint", &format!("{} x {} mm", mm(m.footprint_mm[0]), mm(m.footprint_mm[1])));
    let limit = &m.limits.overhang_deg;
    let steeper = format!(" steeper than {:.0}° ({})", limit.value, limit.origin);
    let steeper = if m.overhang_mm2.is_some() { steeper } else { String::new() };
    push_fact(out, "overhang", &format!("{}{steeper}", told(m.overhang_mm2, "mm²")));
    push_fact(out, "bed contact", &told(m.contact_mm2, "mm²"));
    let touching = m.support_contact_mm2.map_or_else(String::new, |a| format!(", touching {} mm²", mm(a)));
    push_fact(out, "support", &format!("{}{touching}", told(m.support_mm3, "mm³")));
}

fn push_first_layer(out: &mut String, m: &Measure) {
    let f = &m.first_layer;
    if f.patches == 0 {
        push_fact(out, "first layer", f.missing());
        return;
    }
    let outline = format!(
        "{} mm² in {}, outline {} mm, longest {} mm, {}",
        mm(f.area_mm2),
        counted(f.patches, "patch"),
        mm(f.perimeter_mm),
        mm(f.longest_mm),
        counted(f.sharp_corners, "sharp corner")
    );
    push_fact(out, "first layer", &outline);
    let stands = if f.tip_deg > 0.0 {
        format!("tips over at a lean of {:.1}°", f.tip_deg)
    } else {
        "does not stand by itself: the bed has to hold it".to_owned()
    };
    push_fact(out, "stands", &format!("{stands}; {:.2} times as high as its foot is wide", f.slenderness));
    push_fact(out, "curl", &format!("length over thickness above the bed {:.1}", f.warp_length_mm));
}

fn push_regions(out: &mut String, m: &Measure) {
    if m.regions.is_empty() && m.unlisted_regions == 0 {
        return;
    }
    out.push_str("\nRegions, with their height above the bed\n\n");
    for r in m.regions.iter().take(ROWS) {
        let what = format!(
            "{}: {}. {} to {} mm, {} mm² at {}, {}",
            r.kind.words(),
            r.verdict.words(),
            mm(r.z_mm[0]),
            mm(r.z_mm[1]),
            mm(r.area_mm2),
            place(r.at),
            r.extent()
        );
        push_text(out, &what, "");
        push_text(out, &r.why(), "    ");
    }
    push_more(out, m.regions.len());
    if m.unlisted_regions > 0 {
        let regions = counted(m.unlisted_regions, "region");
        out.push_str(&format!("left out as too small: {regions}, {} mm² in all\n", mm(m.unlisted_mm2)));
    }
}

fn push_poses(out: &mut String, m: &Measure) {
    let row = |p: &RankedPose| {
        let parts: Vec<String> =
            p.penalties.iter().filter(|(_, v)| **v >= 0.005).map(|(name, v)| format!("{name} {v:.2}")).collect();
        vec![p.label.clone(), format!("{:.2}", p.total), parts.join(", ")]
    };
    push_table(out, "Poses, best first", &["pose", "total", "penalties"], m.poses.iter().map(row).collect());
}

fn counted(count: usize, what: &str) -> String {
    let plural = if what.ends_with("ch") { "es" } else { "s" };
    format!("{count} {what}{}", if count == 1 { "" } else { plural })
}

fn push_table(out: &mut String, title: &str, columns: &[&str], mut rows: Vec<Vec<String>>) {
    if rows.is_empty() {
        return;
    }
    let count = rows.len();
    rows.truncate(ROWS);
    let columns = columns.iter().map(|c| (*c).to_owned()).collect();
    out.push('\n');
    out.push_str(&table(&Table { title: title.to_owned(), columns, rows }));
    push_more(out, count);
}

/// Two decimals for ordinary sizes, more digits where the size itself is small.
fn mm(value: f64) -> String {
    let value = value + 0.0;
    if value == 0.0 || (0.01..1e7).contains(&value.abs()) { format!("{value:.2}") } else { format!("{value:.3e}") }
}

/// A place or a direction. What is nothing beside its largest number, or of rounding's own size, is shown as nothing.
fn place(p: [f64; 3]) -> String {
    let slight = p.iter().fold(0.0_f64, |most, c| most.max(c.abs())).mul_add(1e-3, 1e-12);
    let [x, y, z] = p.map(|c| mm(if c.abs() < slight && c.abs() < 0.01 { 0.0 } else { c }));
    format!("({x}, {y}, {z})")
}

/// An axis has no head: `z` where it stands, a direction where it leans.
fn axis(a: Point) -> String {
    let words = direction_words(a);
    if words.contains(' ') { words } else { words.trim_start_matches(['+', '-']).to_owned() }
}

#[cfg(test)]
mod tests {
    use super::{axis, place};

    #[test]
    fn rounding_is_not_shown_as_a_place() {
        assert_eq!(place([-8.882e-16, 4.0, 5.0]), "(0.00, 4.00, 5.00)");
        assert_eq!(place([8.211e-5, 1.0, -1.367e-5]), "(0.00, 1.00, 0.00)");
        assert_eq!(place([0.0, 2.22e-16, -3e-16]), "(0.00, 0.00, 0.00)");
        assert_eq!(place([0.004, -0.5, 0.001]), "(4.000e-3, -0.50, 1.000e-3)");
        assert_eq!(place([0.02, 30_000.0, 0.0]), "(0.02, 30000.00, 0.00)");
    }

    #[test]
    fn an_axis_has_no_head() {
        assert_eq!((axis([0.0, 0.0, -1.0]), axis([1.0, 0.0, 0.0])), ("z".to_owned(), "x".to_owned()));
    }
}
