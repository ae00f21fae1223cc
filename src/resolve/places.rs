//! Places a spec names on a part: points that are not on it, and faces that several places answer to.

use crate::diag::{Diagnostic, Span};
use crate::geometry::mesh::{Bounds, Mesh, Point};
use crate::geometry::patch::{self, Patch};
use crate::resolve::loads::direction_words;
use crate::semantics::spec::{Face, Spec, Where};

/// A point may lie this far outside the part's box and still mean a place on it: a slip of rounding, mm.
const SLIP_MM: f64 = 1.0;
/// The same as a share of the longest side, for large parts.
const SLIP: f64 = 0.01;
/// `near` need only be near: this share of the longest side.
const NEAR: f64 = 0.1;
/// A further place is a rival of the largest if it has at least this share of its area (own judgement).
const RIVAL: f64 = 0.2;
/// Most places listed.
const LISTED: usize = 4;

/// Finds the points of a spec that are not on the part.
pub fn off_the_part(spec: &Spec, bounds: &Bounds) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    let mut look = |what: String, at: Point, span: Span, slip: f64| found.extend(off(&what, at, span, bounds, slip));
    for load in &spec.loads {
        let acts = load.at.iter().map(|w| ("at", &w.value, w.span));
        let held =
            load.holds.iter().map(|h| (if h.value.rests { "rests on" } else { "fixed at" }, &h.value.at, h.span));
        for (word, place, span) in acts.chain(held) {
            if let Where::Point(p) = place {
                let what = format!("`{word}` of load \"{}\"", load.name.value);
                look(what, p.map(|l| l.to_mm()), span, SLIP);
            }
        }
    }
    for face in &spec.faces {
        if let Some(near) = face.near {
            look(format!("`near` of face \"{}\"", face.name.value), near.value.map(|l| l.to_mm()), near.span, NEAR);
        }
    }
    for fit in &spec.fits {
        if let Some(at) = fit.at {
            look(format!("`at` of fit \"{}\"", fit.name.value), at.value.map(|l| l.to_mm()), at.span, SLIP);
        }
    }
    found
}

fn off(what: &str, at: Point, span: Span, bounds: &Bounds, slip: f64) -> Option<Diagnostic> {
    let longest = (0..3).map(|k| bounds.max[k] - bounds.min[k]).fold(0.0, f64::max);
    let slip = SLIP_MM.max(slip * longest);
    let over = |k: usize| (bounds.min[k] - at[k]).max(at[k] - bounds.max[k]).max(0.0);
    let worst = (0..3).max_by(|&a, &b| over(a).total_cmp(&over(b)))?;
    if over(worst) <= slip {
        return None;
    }
    let axis = ["x", "y", "z"][worst];
    let message = format!("{what} is not on the part: it lies {} mm beyond it in {axis}", figure(over(worst)));
    let ranges: Vec<String> = (0..3)
        .map(|k| format!("{} {} to {}", ["x", "y", "z"][k], figure(bounds.min[k]), figure(bounds.max[k])))
        .collect();
    let hint = format!(
        "points are in the coordinates of the mesh file, where the part spans {} mm; `makeready measure` lists its faces and holes",
        ranges.join(", ")
    );
    Some(Diagnostic::error("place/off-the-part", span, message).hint(hint))
}

/// A coordinate to a hundredth of a millimetre, without needless zeros.
fn figure(mm: f64) -> String {
    crate::quantity::trim_number(mm, 2)
}

fn point(p: Point) -> String {
    format!("({} mm, {} mm, {} mm)", figure(p[0]), figure(p[1]), figure(p[2]))
}

/// Finds what rivals the largest place that faces the way a face is said to look, where no `near` tells which is meant.
pub fn ambiguous(face: &Face, mesh: &Mesh) -> Option<Diagnostic> {
    let toward = face.toward.filter(|_| face.near.is_none())?;
    let patches = patch::facing(mesh, toward.value.0);
    let largest = patches.first()?;
    let rivals: Vec<&Patch> = patches.iter().filter(|p| p.area_mm2 >= RIVAL * largest.area_mm2).collect();
    if rivals.len() < 2 {
        return None;
    }
    let mut listed: Vec<String> =
        rivals.iter().take(LISTED).map(|p| format!("{:.0} mm² around {}", p.area_mm2, point(p.centre))).collect();
    if rivals.len() > LISTED {
        listed.push(format!("{} more", rivals.len() - LISTED));
    }
    let message = format!(
        "{} places look {}: face \"{}\" is taken to be the largest: {}",
        rivals.len(),
        direction_words(toward.value.0),
        face.name.value,
        listed.join("; ")
    );
    let other = rivals.get(1).map_or_else(|| point(largest.centre), |p| point(p.centre));
    Some(
        Diagnostic::warning("face/ambiguous", toward.span, message)
            .hint(format!("say which is meant: `near {}` for this one, or `near {other}`", point(largest.centre))),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diag::SourceId;

    #[test]
    fn a_point_beyond_the_box_is_told_with_the_box() {
        let bounds = Bounds { min: [0.0; 3], max: [60.0, 20.0, 40.0] };
        let span = Span::new(SourceId(0), 0, 1);
        assert!(off("x", [60.5, 10.0, 40.0], span, &bounds, SLIP).is_none());
        let found = off("`at`", [300.0, 10.0, 40.0], span, &bounds, SLIP).unwrap();
        assert_eq!(found.message, "`at` is not on the part: it lies 240 mm beyond it in x");
        assert!(found.hints[0].contains("x 0 to 60, y 0 to 20, z 0 to 40 mm"), "{:?}", found.hints);
    }
}
