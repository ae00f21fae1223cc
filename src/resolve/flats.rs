//! Slots, keyways, sockets, pockets, tongues and pockets of nuts in the mesh: flats that lie as far apart as a fit asks for.

use crate::catalogue::{Catalogue, figures};
use crate::fits::feature::{FeatureAxis, FeatureContext, FeatureKind, Tools};
use crate::geometry::mesh::Mesh;
use crate::geometry::rays::Rays;
use crate::geometry::vector::{Vector, add, cross, dot, norm, scale, sub};
use crate::quantity::{Length, trim_number};
use crate::semantics::spec::{Fit, FitFunction, Spec};

use super::matching::{Arm, Between, Place};
use super::part::Part;

/// Part of two walls that face one another: a facet of the one, seen from its middle.
#[derive(Debug, Clone)]
pub struct Facing {
    width: f64,
    /// From wall to wall.
    normal: Vector,
    /// Half-way between.
    middle: Vector,
    area: f64,
    facet: u32,
}

/// Widths within this of one another are one, mm: rounding of a file.
const ALIKE_MM: f64 = 0.02;
/// Cosine of the angle up to which two directions are one.
const ALONG: f64 = 0.999;
/// Sine of the least angle between two pairs of flats of one hexagon; they stand at 60°.
const APART: f64 = 0.5;
/// Sine from which two pairs of flats stand square to each other.
const SQUARE: f64 = 0.995;

/// Share of the walls of an arm that look one way, or square to one, from which the arm is taken to run so: fillets and holes are
/// little of it.
const MOST: f64 = 0.9;
/// Cosine under which two directions are square: that of some six degrees, as a draft leaves walls.
const UNLIKE: f64 = 0.1;
/// Share of its reach under which a wall is shorter than an arm: a fillet at the root is left to it.
const NEARLY: f64 = 0.9;

/// What is looked for.
struct Looked {
    width: Length,
    /// Of a second pair of flats, square to the first.
    second: Option<Length>,
    /// Of six flats.
    nut: bool,
    /// With air between the flats, not material.
    inner: bool,
}

/// What was found.
struct Chosen {
    between: Between,
    /// How far the flats square to the first are apart.
    second: Option<Length>,
    /// Facets of all of them, ascending.
    walls: Vec<u32>,
}

/// Looks for the walls of every fit that lies between flats, and says of each what was found, or that nothing was.
pub fn find(spec: &Spec, part: &Part, tools: &Tools, catalogue: &Catalogue, places: &mut [Place]) {
    for (fit, place) in spec.fits.iter().zip(places) {
        let Some(looked) = looked(fit, tools, catalogue) else { continue };
        let arm = matches!(fit.function.value, FitFunction::Snap { .. });
        let along = fit.along.map(|d| d.value.0);
        let square = |f: &&Facing| along.filter(|_| !arm).is_none_or(|a| dot(a, f.normal).abs() < APART);
        let (wanted, lip) = ([Some(looked.width), looked.second], is_lip(fit));
        // A lip is a rim of its own: the flats that fit lie on its two far sides, with air between.
        let outer: Vec<Facing> = match lip {
            true => wanted.iter().flatten().flat_map(|w| far_sides(part, room(*w, false, catalogue))).collect(),
            false => Vec::new(),
        };
        let all = match (lip, looked.inner) {
            (true, _) => &outer,
            (_, true) => part.facing(),
            _ => part.opposing(),
        };
        let of = |wanted: Length| -> Vec<&Facing> {
            let [least, most] = room(wanted, looked.inner, catalogue);
            all.iter().filter(|f| f.width >= least && f.width <= most).filter(square).collect()
        };
        let (seen, crossing) = (of(looked.width), looked.second.map(of));
        match chosen(&seen, crossing.as_deref(), fit, &looked) {
            // An arm may be bent: that no flats are seen says nothing.
            found if arm => {
                place.thick = found.map(|found| found.between.apart);
                place.arm = way_of(&seen, fit, &part.mesh).filter(|_| along.is_none());
            }
            Some(found) => {
                (place.between, place.facets) = (Some(found.between), found.walls);
                place.second = found.second.filter(|_| is_oblong(fit));
            }
            None => place.problem = Some(unseen(fit, &looked)),
        }
    }
}

/// Returns how the arm of a snap runs, by the walls that lie back to back as far apart as it is thick; `None` where there are none
/// or they do not tell.
fn way_of(seen: &[&Facing], fit: &Fit, mesh: &Mesh) -> Option<Arm> {
    let FitFunction::Snap { reach, .. } = &fit.function.value else { return None };
    let first = seen.iter().max_by(|a, b| a.area.total_cmp(&b.area))?;
    let all: f64 = seen.iter().map(|f| f.area).sum();
    let share = |of: &dyn Fn(&Facing) -> bool| seen.iter().filter(|f| of(f)).map(|f| f.area).sum::<f64>() / all;
    let aside = |f: &Facing| f.area * norm(cross(f.normal, first.normal));
    let walls = |of: &dyn Fn(&Facing) -> bool| -> Vec<[Vector; 3]> {
        seen.iter().filter(|f| of(f)).map(|f| mesh.corners(f.facet as usize)).collect()
    };
    let extent = |triangles: &[[Vector; 3]], normal: Vector| {
        let along = || triangles.iter().flatten().map(|p| dot(*p, normal));
        along().fold(f64::NEG_INFINITY, f64::max) - along().fold(f64::INFINITY, f64::min)
    };
    // No arm runs where its walls are shorter than it reaches.
    let too_short = |length: f64| length < NEARLY * reach.to_mm();
    let alike = |f: &Facing| dot(f.normal, first.normal).abs() > ALONG;
    if share(&alike) < MOST {
        // Its walls look every way but one.
        let other = seen.iter().max_by(|a, b| aside(a).total_cmp(&aside(b)))?;
        let about = cross(first.normal, other.normal);
        let about = scale(about, 1.0 / norm(about));
        let square = |f: &Facing| dot(f.normal, about).abs() < UNLIKE;
        let bends = share(&square) >= MOST && too_short(extent(&walls(&square), about));
        return bends.then_some(Arm::SquareTo(about));
    }
    // The rectangle about its wall, along an edge of it: of all such the smallest.
    let triangles = walls(&alike);
    let edges = triangles.iter().flat_map(|[a, b, c]| [sub(*b, *a), sub(*c, *b), sub(*a, *c)]);
    let sides = edges.filter(|e| norm(*e) > 0.0).map(|edge| {
        let normal = scale(edge, 1.0 / norm(edge));
        [normal, cross(first.normal, normal)].map(|normal| (normal, extent(&triangles, normal)))
    });
    let size = |[one, two]: &[(Vector, f64); 2]| one.1 * two.1;
    let [one, two] = sides.min_by(|a, b| size(a).total_cmp(&size(b)))?;
    match (too_short(one.1), too_short(two.1)) {
        (true, false) => Some(Arm::Along(two.0)),
        (false, true) => Some(Arm::Along(one.0)),
        _ => None,
    }
}

/// How wide what a fit asks for may be drawn.
fn room(wanted: Length, inner: bool, catalogue: &Catalogue) -> [f64; 2] {
    let room = catalogue.value(figures::MATCH_SHARE) * wanted.to_mm();
    let bounds = catalogue.figure(figures::MATCH_ROOM);
    let room = room.min(bounds.high().to_mm()).max(bounds.low().to_mm());
    // Drawn as the recipe says, a gap is wider than asked and what goes into it narrower.
    let beyond = bounds.low().to_mm() + catalogue.value(figures::MATCH_BEYOND) * wanted.to_mm();
    let (under, over) = if inner { (0.0, beyond) } else { (beyond, 0.0) };
    [wanted.to_mm() - room - under, wanted.to_mm() + room + over]
}

fn is_lip(fit: &Fit) -> bool {
    matches!(fit.function.value, FitFunction::Lid { inner: false, .. })
}

fn is_oblong(fit: &Fit) -> bool {
    matches!(fit.function.value, FitFunction::Pocket { .. } | FitFunction::Lid { .. })
}

/// Returns what is looked for of a fit; none of a fit that is not between flats.
fn looked(fit: &Fit, tools: &Tools, catalogue: &Catalogue) -> Option<Looked> {
    let (function, kind) = super::fits::function(&fit.function.value);
    let second = match &fit.function.value {
        FitFunction::Slot { .. } | FitFunction::Keyway { .. } | FitFunction::Nut { .. } | FitFunction::Snap { .. } => {
            None
        }
        FitFunction::Lid { length: Some(length), .. } => Some(*length),
        FitFunction::Square { size, .. } => Some(*size),
        FitFunction::Pocket { size: [_, length], .. } => Some(*length),
        _ => return None,
    };
    let mut context = FeatureContext::new(kind, FeatureAxis::AcrossLayers, catalogue.printed(""), catalogue.practice());
    context.tools = tools.clone();
    context.within = fit.within.map(|w| w.value);
    let width = function.demand(&context).ok()?.nominal;
    let nut = matches!(fit.function.value, FitFunction::Nut { .. });
    Some(Looked { width, second, nut, inner: kind == FeatureKind::Hole })
}

/// Returns where flats of a mesh lie back to back across material.
pub fn opposing(mesh: &Mesh, rays: &Rays<'_>) -> Vec<Facing> {
    across(mesh, rays, -1.0)
}

/// Returns where flats of a mesh face one another across air.
pub fn facing(mesh: &Mesh, rays: &Rays<'_>) -> Vec<Facing> {
    across(mesh, rays, 1.0)
}

/// Returns where flats of a part look away from one another so far apart, whatever lies between them.
fn far_sides(part: &Part, [least, most]: [f64; 2]) -> Vec<Facing> {
    let (mesh, rays) = (&part.mesh, part.rays());
    let mut all = Vec::new();
    for facet in 0..mesh.triangles.len() {
        let (normal, area) = mesh.normal_area(facet);
        if !area.is_finite() || area <= 0.0 {
            continue;
        }
        let normal = scale(normal, -1.0);
        let [a, b, c] = mesh.corners(facet);
        let from = scale(add(add(a, b), c), 1.0 / 3.0);
        let looks_away = |t: u32| dot(rays.normal(t), normal) > ALONG;
        let Some(hit) = rays.hit_where(add(from, scale(normal, least)), normal, most - least, looks_away) else {
            continue;
        };
        let width = least + hit.distance;
        let Ok(facet) = u32::try_from(facet) else { continue };
        all.push(Facing { width, normal, middle: add(from, scale(normal, 0.5 * width)), area, facet });
    }
    all
}

/// Flats that a straight look out of one (`side` 1) or into one (`side` -1) meets square.
fn across(mesh: &Mesh, rays: &Rays<'_>, side: f64) -> Vec<Facing> {
    let mut all = Vec::new();
    for facet in 0..mesh.triangles.len() {
        let (normal, area) = mesh.normal_area(facet);
        if !area.is_finite() || area <= 0.0 {
            continue;
        }
        let normal = scale(normal, side);
        let [a, b, c] = mesh.corners(facet);
        let from = scale(add(add(a, b), c), 1.0 / 3.0);
        let off = add(from, scale(normal, ALIKE_MM));
        let hit = rays.hit_where(off, normal, f64::INFINITY, |t| t as usize != facet);
        let Some(hit) = hit.filter(|h| side * dot(rays.normal(h.facet), normal) < -ALONG) else { continue };
        let width = hit.distance + ALIKE_MM;
        let Ok(facet) = u32::try_from(facet) else { continue };
        all.push(Facing { width, normal, middle: add(from, scale(normal, 0.5 * width)), area, facet });
    }
    all
}

/// Returns the flats that are meant, and how far those square to them are apart: the nearest to the point the fit states, else the
/// only ones, else those as wide as asked for.
fn chosen(seen: &[&Facing], crossing: Option<&[&Facing]>, fit: &Fit, looked: &Looked) -> Option<Chosen> {
    let near = fit.at.map(|p| p.value.map(|l| l.to_mm()));
    let sine = |f: &Facing, o: &Facing| norm(cross(o.normal, f.normal));
    let reach = looked.second.map_or(looked.width, |s| s.max(looked.width)).to_mm();
    let about = |f: &Facing, o: &Facing| norm(sub(o.middle, f.middle)) < reach;
    // A nut stands between three pairs of flats about one axis, a socket between two square to each other: what tells both from a
    // slot.
    let partner = |f: &Facing| match crossing {
        Some(crossing) => crossing.iter().copied().find(|o| sine(f, o) > SQUARE && about(f, o)),
        None => seen
            .iter()
            .copied()
            .find(|o| (o.width - f.width).abs() <= ALIKE_MM && (APART..SQUARE).contains(&sine(f, o)) && about(f, o)),
    };
    let alone = !looked.nut && crossing.is_none();
    let fits: Vec<(&Facing, Option<&Facing>)> =
        seen.iter().copied().map(|f| (f, partner(f))).filter(|(_, p)| alone || p.is_some()).collect();
    let mut widths: Vec<f64> = Vec::new();
    for (f, _) in &fits {
        if !widths.iter().any(|w| (w - f.width).abs() <= ALIKE_MM) {
            widths.push(f.width);
        }
    }
    let far = |f: &Facing| near.map_or(0.0, |p| norm(sub(f.middle, p)));
    let (best, other) = match (near, widths.as_slice()) {
        (Some(_), _) => fits.iter().copied().min_by(|a, b| far(a.0).total_cmp(&far(b.0))),
        (None, [_]) => fits.iter().copied().max_by(|a, b| a.0.area.total_cmp(&b.0.area)),
        // Of several widths only one that is drawn just as asked is beyond doubt.
        (None, _) => fits.iter().copied().find(|(f, _)| (f.width - looked.width.to_mm()).abs() <= ALIKE_MM),
    }?;
    let second = other.filter(|_| crossing.is_some()).map(|o| o.width);
    let by = second.map_or_else(String::new, |s| format!(" x {}", trim_number(s, 2)));
    let words = format!(
        "flats {}{by} mm apart at {}",
        trim_number(best.width, 2),
        best.middle.map(|c| trim_number(c, 1)).join(", ")
    );
    let axis = other.map(|o| cross(best.normal, o.normal)).filter(|a| norm(*a) > 0.0).map(|a| scale(a, 1.0 / norm(a)));
    let alike = |f: &&&Facing, one: &Facing| (f.width - one.width).abs() <= ALIKE_MM && about(f, best);
    let across = |f: &&&Facing| dot(f.normal, best.normal).abs() > ALONG && alike(f, best);
    let square = |f: &&&Facing| other.is_some_and(|o| dot(f.normal, o.normal).abs() > ALONG && alike(f, o));
    // Of a nut all three pairs stand about its axis.
    let about_axis =
        |f: &&&Facing| looked.nut && axis.is_some_and(|a| dot(a, f.normal).abs() < APART) && alike(f, best);
    let crossing = crossing.unwrap_or_default();
    let mut walls: Vec<u32> = seen
        .iter()
        .filter(|f| across(f) || about_axis(f))
        .chain(crossing.iter().filter(square))
        .map(|f| f.facet)
        .collect();
    walls.sort_unstable();
    walls.dedup();
    let between = Between { apart: Length::mm(best.width), toward: best.normal, axis, wall: None, words };
    Some(Chosen { between, second: second.map(Length::mm), walls })
}

fn unseen(fit: &Fit, looked: &Looked) -> (String, String, bool) {
    let width = super::fits::shown(looked.width);
    let what = match (looked.nut, looked.second) {
        (true, _) => format!("six flats {width} apart"),
        (false, None) => format!("two flat walls {width} apart"),
        (false, Some(second)) => {
            let what = if looked.inner { "walls" } else { "flats back to back" };
            format!("four {what}, {width} and {} apart", super::fits::shown(second))
        }
    };
    let message = format!("fit \"{}\": the mesh shows no {what}, or more than one such width", fit.name.value);
    let hint =
        "say where it is (`at (20 mm, 0 mm, 5 mm)`), or put the size right; the size told is taken from the spec alone";
    (message, hint.to_owned(), false)
}
