//! Places a spec names on a part: points that are not on it, and faces that several places answer to.

use super::world::World;
use crate::catalogue::figures;
use crate::diag::{Diagnostic, Span};
use crate::geometry::anchor::Anchor;
use crate::geometry::mesh::{Bounds, Mesh, Point};
use crate::geometry::patch::{self, Patch};
use crate::geometry::vector::{Vector, dot, norm, sub};
use crate::resolve::loads::direction_words;
use crate::semantics::spec::{Face, Load, Spec, Where};

/// A point may lie this far outside the part's box and still mean a place on it: a slip of rounding, mm.
const SLIP_MM: f64 = 1.0;
/// The same as a share of the longest side, for large parts.
const SLIP: f64 = 0.01;
/// `near` need only be near: this share of the longest side.
const NEAR: f64 = 0.1;
/// A place farther off than this from where it is said to be is told, mm.
const FAR_MM: f64 = 2.0;
/// The same as a share of the longest side: half of what `near` may be off the part.
const FAR: f64 = 0.5 * NEAR;
/// Patches whose middles differ by no more than this along the way they look lie in one plane, mm.
const ONE_PLANE_MM: f64 = 0.05;
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

/// Finds that the place taken for a face lies far from where the spec says it is near.
pub(super) fn far_from(face: &Face, taken: &Patch, mesh: &Mesh) -> Option<Diagnostic> {
    let near = face.near?;
    let meant = near.value.map(|l| l.to_mm());
    let on = Anchor::nearest(mesh, Some(&taken.facets), meant)?.point;
    let bounds = mesh.bounds();
    let longest = (0..3).map(|k| bounds.max[k] - bounds.min[k]).fold(0.0, f64::max);
    let far = norm(sub(on, meant));
    if far <= FAR_MM.max(FAR * longest) {
        return None;
    }
    let name = &face.name.value;
    let message = format!(
        "nothing of face \"{name}\" lies near there: the nearest place that looks so is {} mm off",
        figure(far)
    );
    let hint = format!(
        "if that is meant, write `near {}`; else say where it is: `makeready measure` lists faces and holes",
        point(on)
    );
    Some(Diagnostic::warning("face/far-from-near", near.span, message).hint(hint))
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
///
/// A rival has at least the share `rival` of its area, or lies outermost and has that share of the share. Patches in one plane, as the feet of a bow or a tray, are one place and
/// count together.
///
/// What the part `rests` on is the outermost of them: only that touches something flat.
pub fn ambiguous(face: &Face, rests: bool, mesh: &Mesh, rival: f64) -> Option<Diagnostic> {
    let toward = face.toward.filter(|_| face.near.is_none())?;
    let patches = patch::facing(mesh, toward.value.0);
    let taken = if rests { outermost(face, mesh, rival)? } else { patches.first()?.place(mesh) };
    let rivals = rivals(mesh, &patches, toward.value.0, rival);
    if rivals.len() < 2 {
        return None;
    }
    let mut listed: Vec<String> = rivals
        .iter()
        .take(LISTED)
        .map(|p| {
            let apart = if p.patches > 1 { format!(" in {} patches", p.patches) } else { String::new() };
            format!("{:.0} mm²{apart} around {}", p.area_mm2, point(p.centre))
        })
        .collect();
    if rivals.len() > LISTED {
        listed.push(format!("{} more", rivals.len() - LISTED));
    }
    let message = format!(
        "{} places look {}: face \"{}\" is taken to be {}: {}",
        rivals.len(),
        direction_words(toward.value.0),
        face.name.value,
        if rests { "the outermost, since the part rests on it" } else { "the largest" },
        listed.join("; ")
    );
    let other = rivals.iter().find(|p| p.centre != taken).map_or(taken, |p| p.centre);
    Some(Diagnostic::warning("face/ambiguous", toward.span, message).hint(format!(
        "say which is meant: `near {}` for this one, or `near {}`",
        point(taken),
        point(other)
    )))
}

/// Returns the middle of the outermost of the places that a face may mean, where no `near` tells which.
pub(super) fn outermost(face: &Face, mesh: &Mesh, rival: f64) -> Option<Point> {
    let toward = face.toward.filter(|_| face.near.is_none())?.value.0;
    let found = rivals(mesh, &patch::facing(mesh, toward), toward, rival);
    found.iter().map(|p| p.centre).max_by(|a, b| dot(*a, toward).total_cmp(&dot(*b, toward)))
}

/// Returns the faces that loads act on or are held by where it is unclear which of several places is meant, with what is said.
pub(crate) fn unclear(world: &World<'_>) -> Vec<(usize, Diagnostic)> {
    let (spec, rival) = (world.spec, world.knowledge.catalogue.value(figures::RIVAL_PLACE));
    let borne = |face: &Face| {
        let mut places = spec.loads.iter().flat_map(Load::places);
        places.any(|(place, _)| place.face() == Some(face.name.value.as_str()))
    };
    let of = |(i, face): (usize, &Face)| {
        Some((i, ambiguous(face, super::part::rests_on(spec, face), &world.part.mesh, rival)?))
    };
    spec.faces.iter().enumerate().filter(|(_, face)| borne(face)).filter_map(of).collect()
}

/// Returns a point on each of the places that a face may mean, the largest first, with what to write for it.
pub(super) fn readings(world: &World<'_>, face: &Face) -> Vec<(Point, String)> {
    let Some(toward) = face.toward.filter(|_| face.near.is_none()) else { return Vec::new() };
    let patches = patch::facing(&world.part.mesh, toward.value.0);
    let mesh = &world.part.mesh;
    let rivals = rivals(mesh, &patches, toward.value.0, world.knowledge.catalogue.value(figures::RIVAL_PLACE));
    let write = |at: Point| {
        format!("face \"{}\" toward {} near {}", face.name.value, direction_words(toward.value.0), point(at))
    };
    rivals.iter().take(LISTED).map(|p| (p.centre, write(p.centre))).collect()
}

/// Returns the places in different planes of which each may be meant, the largest first.
///
/// The outermost one is what a person sees first, and may be meant where it has but that share of the share: the mouth of a spout
/// under the collar of its rim.
fn rivals(mesh: &Mesh, patches: &[Patch], toward: Vector, rival: f64) -> Vec<Plane> {
    let mut planes = planes(mesh, patches, toward);
    let largest = planes.first().map_or(0.0, |p| p.area_mm2);
    let out = planes.iter().map(|p| dot(p.centre, toward)).fold(f64::NEG_INFINITY, f64::max);
    let outermost = |p: &Plane| dot(p.centre, toward) >= out - ONE_PLANE_MM && p.area_mm2 >= rival * rival * largest;
    planes.retain(|p| p.area_mm2 >= rival * largest || outermost(p));
    planes
}

/// Patches that lie in one plane.
struct Plane {
    area_mm2: f64,
    patches: usize,
    /// A place on the largest of them.
    centre: Point,
}

/// Returns patches by the plane they lie in, the largest plane first.
fn planes(mesh: &Mesh, patches: &[Patch], toward: Vector) -> Vec<Plane> {
    let mut found: Vec<(f64, Plane)> = Vec::new();
    for patch in patches {
        let level = dot(patch.centre, toward);
        match found.iter_mut().find(|(at, _)| (at - level).abs() <= ONE_PLANE_MM) {
            Some((_, plane)) => {
                plane.area_mm2 += patch.area_mm2;
                plane.patches += 1;
            }
            None => found.push((level, Plane { area_mm2: patch.area_mm2, patches: 1, centre: patch.place(mesh) })),
        }
    }
    found.sort_by(|(_, a), (_, b)| b.area_mm2.total_cmp(&a.area_mm2));
    found.into_iter().map(|(_, plane)| plane).collect()
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

    #[test]
    fn feet_in_one_plane_count_together() {
        let patch = |area_mm2: f64, centre: Point| Patch { facets: vec![], area_mm2, centre, normal: [0.0, 0.0, -1.0] };
        // The underside of a bow, and the two feet it stands on.
        let bow = [patch(1536.0, [60.0, 8.0, 22.0]), patch(192.0, [6.0, 8.0, 0.0]), patch(192.0, [114.0, 8.0, 0.0])];
        let planes = planes(&Mesh::default(), &bow, [0.0, 0.0, -1.0]);
        assert_eq!(planes.len(), 2);
        assert_eq!((planes[1].area_mm2, planes[1].patches), (384.0, 2));
    }

    #[test]
    fn the_outermost_face_may_be_meant_though_it_is_small() {
        let down = [0.0, 0.0, -1.0];
        let patch = |area_mm2: f64, z: f64| Patch { facets: vec![], area_mm2, centre: [0.0, 0.0, z], normal: down };
        let found = |patches: &[Patch]| rivals(&Mesh::default(), patches, down, 0.2).len();
        // The collar of a funnel's rim, and the mouth of its spout; a ledge as small as that within is none.
        assert_eq!(found(&[patch(1157.0, 110.0), patch(100.0, 0.0)]), 2);
        assert_eq!(found(&[patch(1157.0, 0.0), patch(100.0, 110.0)]), 1);
        // A burr is no face.
        assert_eq!(found(&[patch(1157.0, 110.0), patch(20.0, 0.0)]), 1);
    }
}
