//! Slots, keyways and pockets of nuts in the mesh: flat walls that face one another across the width a fit asks for.

use crate::catalogue::{Catalogue, figures};
use crate::fits::feature::{FeatureAxis, FeatureContext, Tools};
use crate::geometry::mesh::Mesh;
use crate::geometry::rays::Rays;
use crate::geometry::vector::{Vector, add, cross, dot, norm, scale, sub};
use crate::quantity::{Length, trim_number};
use crate::semantics::spec::{Fit, FitFunction, Spec};

use super::matching::{Between, Place};
use super::part::Part;

/// Part of two walls that face one another: a facet of the one, seen from its middle.
#[derive(Debug, Clone)]
pub struct Facing {
    width: f64,
    /// From wall to wall.
    way: Vector,
    /// Half-way between.
    middle: Vector,
    area: f64,
}

/// Widths within this of one another are one, mm: rounding of a file.
const ALIKE_MM: f64 = 0.02;
/// Cosine of the angle up to which two directions are one.
const ALONG: f64 = 0.999;
/// Sine of the least angle between two pairs of flats of one hexagon; they stand at 60°.
const APART: f64 = 0.5;

/// Looks for the walls of every fit that lies between flats, and says of each what was found, or that nothing was.
pub fn find(spec: &Spec, part: &Part, tools: &Tools, catalogue: &Catalogue, places: &mut [Place]) {
    for (fit, place) in spec.fits.iter().zip(places) {
        let Some(wanted) = width(fit, tools, catalogue) else { continue };
        let room = catalogue.value(figures::MATCH_SHARE) * wanted.to_mm();
        let bounds = catalogue.figure(figures::MATCH_ROOM);
        let room = room.min(bounds.high().to_mm()).max(bounds.low().to_mm());
        // Drawn as the recipe says, it is wider than asked.
        let wider = bounds.low().to_mm() + catalogue.value(figures::MATCH_BEYOND) * wanted.to_mm();
        let [least, most] = [wanted.to_mm() - room, wanted.to_mm() + room + wider];
        let along = fit.along.map(|d| d.value.0);
        let square = |f: &&Facing| along.is_none_or(|a| dot(a, f.way).abs() < APART);
        let seen = part.facing().iter().filter(|f| f.width >= least && f.width <= most).filter(square);
        let seen: Vec<&Facing> = seen.collect();
        match (chosen(&seen, fit, wanted.to_mm()), matches!(fit.function.value, FitFunction::Nut { .. })) {
            (Some(found), _) => place.between = Some(found),
            (None, nut) => place.problem = Some(unseen(fit, wanted, nut)),
        }
    }
}

/// The width a fit is named by; none of a fit that is not between flats.
fn width(fit: &Fit, tools: &Tools, catalogue: &Catalogue) -> Option<Length> {
    let flat =
        matches!(fit.function.value, FitFunction::Slot { .. } | FitFunction::Keyway { .. } | FitFunction::Nut { .. });
    let (function, kind) = super::fits::function(&fit.function.value);
    let mut context = FeatureContext::new(kind, FeatureAxis::AcrossLayers, catalogue.printed(""), catalogue.practice());
    context.tools = tools.clone();
    context.within = fit.within.map(|w| w.value);
    flat.then(|| function.demand(&context).ok().map(|d| d.nominal)).flatten()
}

/// Returns where flats of a mesh face one another across air.
pub fn facing(mesh: &Mesh, rays: &Rays<'_>) -> Vec<Facing> {
    let mut all = Vec::new();
    for facet in 0..mesh.triangles.len() {
        let (way, area) = mesh.normal_area(facet);
        if !area.is_finite() || area <= 0.0 {
            continue;
        }
        let [a, b, c] = mesh.corners(facet);
        let from = scale(add(add(a, b), c), 1.0 / 3.0);
        let off = add(from, scale(way, ALIKE_MM));
        let hit = rays.hit_where(off, way, f64::INFINITY, |t| t as usize != facet);
        let Some(hit) = hit.filter(|h| dot(rays.normal(h.facet), way) < -ALONG) else { continue };
        let width = hit.distance + ALIKE_MM;
        all.push(Facing { width, way, middle: add(from, scale(way, 0.5 * width)), area });
    }
    all
}

/// Returns the width that is meant: the nearest to the point the fit states, else the only one, else the one asked for.
fn chosen(seen: &[&Facing], fit: &Fit, wanted: f64) -> Option<Between> {
    let near = fit.at.map(|p| p.value.map(|l| l.to_mm()));
    // A nut stands between three pairs of flats about one axis; two of them tell it from a slot.
    let nut = matches!(fit.function.value, FitFunction::Nut { .. });
    let like = |f: &Facing| {
        let turned = |o: &&Facing| {
            (o.width - f.width).abs() <= ALIKE_MM
                && norm(cross(o.way, f.way)) > APART
                && norm(sub(o.middle, f.middle)) < f.width
        };
        !nut || seen.iter().any(turned)
    };
    let fits: Vec<&Facing> = seen.iter().copied().filter(|f| like(f)).collect();
    let mut widths: Vec<f64> = Vec::new();
    for f in &fits {
        if !widths.iter().any(|w| (w - f.width).abs() <= ALIKE_MM) {
            widths.push(f.width);
        }
    }
    let far = |f: &&Facing| near.map_or(0.0, |p| norm(sub(f.middle, p)));
    let best = match (near, widths.as_slice()) {
        (Some(_), _) => fits.iter().copied().min_by(|a, b| far(a).total_cmp(&far(b))),
        (None, [_]) => fits.iter().copied().max_by(|a, b| a.area.total_cmp(&b.area)),
        // Of several widths only one that is drawn just as asked is beyond doubt.
        (None, _) => fits.iter().copied().find(|f| (f.width - wanted).abs() <= ALIKE_MM),
    }?;
    let words = format!(
        "flats {} mm apart at {}",
        trim_number(best.width, 2),
        best.middle.map(|c| trim_number(c, 1)).join(", ")
    );
    Some(Between { apart: Length::mm(best.width), way: best.way, words })
}

fn unseen(fit: &Fit, wanted: Length, nut: bool) -> (String, String, bool) {
    let what = if nut { "six flats" } else { "two flat walls" };
    let message = format!(
        "fit \"{}\": the mesh shows no {what} {} apart, or more than one such width",
        fit.name.value,
        super::fits::shown(wanted)
    );
    let hint =
        "say where it is (`at (20 mm, 0 mm, 5 mm)`), or put the size right; the size told is taken from the spec alone";
    (message, hint.to_owned(), false)
}
