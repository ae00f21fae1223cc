//! What a drawing would dimension: holes, bosses, rounds and flat faces, found in the facets and given names.

pub(crate) mod cylinders;
pub(crate) mod faces;
mod joining;

use serde::Serialize;

use super::mesh::{Mesh, Point};
use super::patch::place_on;
use super::pose::facets::FacetTable;
use super::rays::Rays;
use super::vector::{Vector, add, cross, dot, norm, normalise, scale, sub};
use cylinders::{Cylinder, cylinders};
use faces::{Faces, NONE};

/// A round surface that goes this far about its axis is a hole or a boss, less is a rounding (degrees).
/// A keyway of a common size leaves about 315.
const WHOLE: f64 = 285.0;
/// At most this many flat faces are listed, the largest ones.
const MOST_PLANES: usize = 64;

/// A cylindrical hole.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Hole {
    /// Diameter of the circle through the facets' corners, mm: the size meant.
    pub diameter_mm: f64,
    /// Unit vector along it, in part axes; which of its two ways means nothing.
    pub axis: Vector,
    /// The point of the axis halfway down, mm.
    pub centre_mm: Point,
    /// Length of the round wall along the axis, mm.
    pub depth_mm: f64,
    /// Whether both ends are open.
    pub through: bool,
    /// Sides in a full turn.
    pub facets: usize,
    /// How much less than the diameter fits between two opposite sides: d (1 - cos(pi / n)), mm.
    pub chord_shortfall_mm: f64,
    /// Whether it is the wide end of a narrower hole on the same axis.
    pub counterbore: bool,
    /// Full angle and outer diameter (mm) of a conical mouth, where there is one.
    pub countersink: Option<Countersink>,
    #[serde(skip)]
    pub(crate) surface: Cylinder,
    /// Number, diameter, axis, kind and place: `hole 1: d 4.50, axis +z, through, at (0.0, 0.0, 5.0)`.
    pub name: String,
}

/// A conical mouth of a hole.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Countersink {
    /// Full angle of the cone, degrees.
    pub angle_deg: f64,
    /// Of its wide end, mm.
    pub diameter_mm: f64,
}

/// A cylindrical boss or pin.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Boss {
    /// Diameter of the circle through the facets' corners, mm.
    pub diameter_mm: f64,
    /// Unit vector along it, in part axes.
    pub axis: Vector,
    /// The point of the axis halfway up, mm.
    pub centre_mm: Point,
    /// Length of the round wall along the axis, mm.
    pub height_mm: f64,
    /// Sides in a full turn.
    pub facets: usize,
    /// How much narrower it is across two opposite sides than the diameter, mm.
    pub chord_shortfall_mm: f64,
    #[serde(skip)]
    pub(crate) surface: Cylinder,
    /// Number, diameter, axis and place: `boss 1: d 8.00, axis +z, at (0.0, 0.0, 5.0)`.
    pub name: String,
}

/// A rounding: part of a cylinder, such as a fillet.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Rounding {
    /// Of the circle through the facets' corners, mm.
    pub radius_mm: f64,
    /// Unit vector along it, in part axes.
    pub axis: Vector,
    /// The point of the axis halfway along it, mm.
    pub centre_mm: Point,
    /// Along the axis, mm.
    pub length_mm: f64,
    /// How far it goes about its axis, degrees; more is a hole or a boss.
    pub arc_deg: f64,
    /// A fillet in an inner corner (true) or a rounded outer edge (false).
    pub hollow: bool,
}

/// A flat face.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Plane {
    /// Unit vector out of the material, in part axes.
    pub normal: Vector,
    /// All its facets, mm².
    pub area_mm2: f64,
    /// Centroid of its area, mm, in part axes.
    pub centre_mm: Point,
    /// A place on it by which to name it: its centroid may lie in a hole.
    #[serde(skip)]
    pub place_mm: Point,
    /// Number, way it looks, area and place: `face 1: toward -z, 400.0 mm², at (0.0, 0.0, 0.0)`.
    pub name: String,
}

/// Every feature found, each list in a stable order of its own.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Features {
    /// The narrowest first, then by place.
    pub holes: Vec<Hole>,
    /// The narrowest first, then by place.
    pub bosses: Vec<Boss>,
    /// The narrowest first, then by place.
    pub roundings: Vec<Rounding>,
    /// The largest first; beyond a fixed number they are left out.
    pub planes: Vec<Plane>,
}

/// Finds the features; `twin` as [`super::adjacency::twins`] gives it, `rays` over the same mesh.
pub fn find(mesh: &Mesh, table: &FacetTable, twin: &[u32], rays: &Rays) -> Features {
    let faces = Faces::new(mesh, table, twin);
    let mut features = Features::default();
    let context = Context { mesh, twin, faces: &faces, rays };
    for surface in cylinders(mesh, &faces, twin) {
        context.place(surface, &mut features);
    }
    features.planes = planes(mesh, &faces);
    order(&mut features);
    features
}

struct Context<'a> {
    mesh: &'a Mesh,
    twin: &'a [u32],
    faces: &'a Faces,
    rays: &'a Rays<'a>,
}

/// What lies beyond one end of a cylinder.
#[derive(Debug, Clone, Copy, Default)]
struct End {
    /// Edge length whose far side leads away from the axis, towards it, and on smoothly, mm.
    outward: f64,
    inward: f64,
    smooth: f64,
    total: f64,
    /// Length-weighted slope of the outward faces against the axis, its square (radians), and the farthest they reach.
    slope: f64,
    slope_squared: f64,
    reach: f64,
}

impl Context<'_> {
    fn place(&self, surface: Cylinder, features: &mut Features) {
        let ends = self.ends(&surface);
        let smooth = ends.iter().all(|e| e.smooth > 0.5 * e.total);
        // The girdle of a ball and the piece of a bent tube look like short cylinders, but run on smoothly at both ends;
        // so does a hole with rounded rims, which widens there.
        let widening = surface.hollow && ends.iter().all(|e| e.outward > 0.9 * e.total);
        if smooth && !widening && (surface.hollow || surface.length_mm < surface.radius_mm) {
            return;
        }
        let d = 2.0 * surface.radius_mm;
        let shortfall = d * (1.0 - (std::f64::consts::PI / surface.sides as f64).cos());
        if surface.arc_deg < WHOLE {
            features.roundings.push(Rounding {
                radius_mm: surface.radius_mm,
                axis: surface.axis,
                centre_mm: surface.centre,
                length_mm: surface.length_mm,
                arc_deg: surface.arc_deg,
                hollow: surface.hollow,
            });
        } else if surface.hollow {
            let open = [self.open(&surface, -1.0, &ends[0]), self.open(&surface, 1.0, &ends[1])];
            // Closed at both ends, it is a void, which is no hole.
            if open[0] || open[1] {
                features.holes.push(Hole {
                    diameter_mm: d,
                    axis: surface.axis,
                    centre_mm: surface.centre,
                    depth_mm: surface.length_mm,
                    through: open[0] && open[1],
                    facets: surface.sides,
                    chord_shortfall_mm: shortfall,
                    counterbore: false,
                    countersink: countersink(&surface, &ends),
                    surface,
                    name: String::new(),
                });
            }
        } else {
            features.bosses.push(Boss {
                diameter_mm: d,
                axis: surface.axis,
                centre_mm: surface.centre,
                height_mm: surface.length_mm,
                facets: surface.sides,
                chord_shortfall_mm: shortfall,
                surface,
                name: String::new(),
            });
        }
    }

    /// Looks across the rim of the cylinder at its lower and upper end.
    fn ends(&self, surface: &Cylinder) -> [End; 2] {
        let mut ends = [End::default(); 2];
        for &strip in &surface.strips {
            for &t in self.faces.facets(strip as usize) {
                for k in 0..3 {
                    self.look_across(surface, t as usize, k, &mut ends);
                }
            }
        }
        ends
    }

    fn look_across(&self, surface: &Cylinder, t: usize, k: usize, ends: &mut [End; 2]) {
        let across = self.twin[3 * t + k];
        if across == NONE {
            return;
        }
        let o = across as usize / 3;
        if surface.strips.binary_search(&self.faces.of_facet[o]).is_ok() {
            return;
        }
        let corner = |i: usize| self.mesh.vertices[self.mesh.triangles[t][i % 3] as usize];
        let run = sub(corner(k + 1), corner(k));
        // An edge along the axis is a side of a slot, not an end.
        if dot(normalise(run), surface.axis).abs() > 0.9 {
            return;
        }
        let middle = scale(add(corner(k), corner(k + 1)), 0.5);
        // The mouth of a crossing hole further in is no end; a saddle or a drill's point lies within the radius or so.
        if 0.5 * surface.length_mm - surface.along(middle).abs() > 1.2 * surface.radius_mm {
            return;
        }
        let length = norm(run);
        let (normal, _) = self.mesh.normal_area(o);
        let into = cross(normal, normalise(scale(run, -1.0)));
        let from_axis = sub(middle, add(surface.centre, scale(surface.axis, surface.along(middle))));
        let side = surface.along(middle) > 0.0;
        let end = &mut ends[usize::from(side)];
        end.total += length;
        if dot(self.mesh.normal_area(t).0, normal) > 0.978 {
            end.smooth += length;
        }
        let away = dot(into, normalise(from_axis));
        if away > 0.05 {
            end.outward += length;
            let rise = dot(into, surface.axis) * if side { 1.0 } else { -1.0 };
            let slope = away.atan2(rise);
            end.slope += length * slope;
            end.slope_squared += length * slope * slope;
            let far = self.mesh.corners(o).iter().map(|&p| surface.off(p)).fold(0.0, f64::max);
            end.reach = end.reach.max(far);
        } else {
            end.inward += length;
        }
    }

    /// Whether one can leave a hole by this end: past a rim that opens outward, or through a hole in its floor.
    fn open(&self, surface: &Cylinder, side: f64, end: &End) -> bool {
        if end.outward >= end.inward {
            return true;
        }
        let out = scale(surface.axis, side);
        let from = add(surface.centre, scale(out, 0.45 * surface.length_mm));
        // A drill's point closes a hole within 0.6 of its radius (118 degrees) beyond the end.
        let blocked = 0.05 * surface.length_mm + 1.2 * surface.radius_mm;
        self.rays.hit(from, out, blocked).is_none()
    }
}

/// A cone at the mouth whose angle is one of a countersink's.
fn countersink(surface: &Cylinder, ends: &[End; 2]) -> Option<Countersink> {
    ends.iter().filter(|e| e.outward > 0.9 * e.total && e.outward > 0.0).find_map(|e| {
        let half = e.slope / e.outward;
        let angle_deg = 2.0 * half.to_degrees();
        // Another bore's saddle has all slopes; a cone has one.
        let even = e.slope_squared / e.outward - half * half < 0.06 * 0.06;
        let sunk = even && (50.0..=130.0).contains(&angle_deg) && e.reach > 1.2 * surface.radius_mm;
        sunk.then_some(Countersink { angle_deg, diameter_mm: 2.0 * e.reach })
    })
}

fn planes(mesh: &Mesh, faces: &Faces) -> Vec<Plane> {
    let total: f64 = faces.faces.iter().map(|f| f.area_mm2).sum();
    let mut planes: Vec<Plane> = faces
        .faces
        .iter()
        .enumerate()
        .filter(|(_, f)| f.area_mm2 >= 2e-3 * total && f.area_mm2 > 0.0)
        .map(|(i, f)| Plane {
            normal: f.normal.map(|c| c + 0.0),
            area_mm2: f.area_mm2,
            centre_mm: f.centre,
            place_mm: place_on(mesh, faces.facets(i), f.centre),
            name: String::new(),
        })
        .collect();
    // Areas equal but for rounding are told apart by place, so that names do not depend on the order of facets.
    planes.sort_by(|a, b| key(b.area_mm2).total_cmp(&key(a.area_mm2)).then_with(|| place(a.centre_mm, b.centre_mm)));
    planes.truncate(MOST_PLANES);
    planes
}

/// Four significant digits or so: enough to tell sizes apart, too few to see rounding.
fn key(value: f64) -> f64 {
    (value * 1e3).round()
}

fn place(a: Point, b: Point) -> std::cmp::Ordering {
    (0..3).map(|k| key(a[k]).total_cmp(&key(b[k]))).find(|o| o.is_ne()).unwrap_or(std::cmp::Ordering::Equal)
}

/// Sorts holes and bosses by size, then place, marks counterbores, and gives every feature its name.
fn order(features: &mut Features) {
    features.holes.sort_by(|a, b| {
        key(a.diameter_mm).total_cmp(&key(b.diameter_mm)).then_with(|| place(a.centre_mm, b.centre_mm))
    });
    features.bosses.sort_by(|a, b| {
        key(a.diameter_mm).total_cmp(&key(b.diameter_mm)).then_with(|| place(a.centre_mm, b.centre_mm))
    });
    features
        .roundings
        .sort_by(|a, b| key(a.radius_mm).total_cmp(&key(b.radius_mm)).then_with(|| place(a.centre_mm, b.centre_mm)));
    for i in 0..features.holes.len() {
        features.holes[i].counterbore = (0..i).any(|k| widens(&features.holes[i], &features.holes[k]));
    }
    for (i, hole) in features.holes.iter_mut().enumerate() {
        let kind = if hole.through { "through" } else { "blind" };
        let bore = if hole.counterbore { ", counterbore" } else { "" };
        let axis = axis_name(hole.axis);
        hole.name =
            format!("hole {}: d {:.2}, axis {axis}, {kind}{bore}, at {}", i + 1, hole.diameter_mm, at(hole.centre_mm));
    }
    for (i, boss) in features.bosses.iter_mut().enumerate() {
        boss.name = format!(
            "boss {}: d {:.2}, axis {}, at {}",
            i + 1,
            boss.diameter_mm,
            axis_name(boss.axis),
            at(boss.centre_mm)
        );
    }
    for (i, plane) in features.planes.iter_mut().enumerate() {
        plane.name = format!(
            "face {}: toward {}, {:.1} mm², at {}",
            i + 1,
            axis_name(plane.normal),
            plane.area_mm2,
            at(plane.centre_mm)
        );
    }
}

fn widens(wide: &Hole, narrow: &Hole) -> bool {
    let apart = wide.surface.along(narrow.centre_mm).abs();
    narrow.diameter_mm < 0.98 * wide.diameter_mm
        && norm(cross(wide.axis, narrow.axis)) < 0.02
        && wide.surface.off(narrow.centre_mm) < 0.02 * wide.diameter_mm
        && apart < 0.5 * (wide.depth_mm + narrow.depth_mm) + 0.6 * wide.diameter_mm
}

/// Returns `+x` and the like, or the components where the direction is no axis.
pub fn axis_name(axis: Vector) -> String {
    super::pose::Pose::new(axis).map_or_else(|| "none".to_owned(), |p| super::pose::label(p.up))
}

fn at(p: Point) -> String {
    let p = p.map(|c| (c * 10.0).round() / 10.0 + 0.0);
    format!("({:.1}, {:.1}, {:.1})", p[0], p[1], p[2])
}
