//! A load on the mesh as stresses: cut the part between where it is held and where the load acts, and ask each cut.
//!
//! Beam statics on the true sections of the mesh. It sees no notches, no infill and no redundancy (a part held at two
//! places is judged as if held at one, and a face as if held in its middle), which the recipe says. The cuts follow the
//! body (`route`), and at each place along it the plane is leant until the stress is greatest: whatever parts the hold
//! from the load must bear it, and the plane that has the hardest time of it is the one square to the limb.

use std::collections::BTreeMap;
use std::sync::{Arc, OnceLock};

use crate::geometry::anchor::{self, Anchor};
use crate::geometry::mesh::{Mesh, Point};
use crate::geometry::patch::{self, Patch};
use crate::geometry::section::Section;
use crate::geometry::section::torsion::{Torsion, torsion_on};
use crate::geometry::vector::{Vector, add, cross, dot, norm, normalise, scale, sub};

mod route;

use super::elastic::Taken;
use crate::quantity::Area;
use route::{Body, Stop};

/// Properties of one cut, as the statics needs them.
#[derive(Debug, Clone, PartialEq)]
pub struct Cut {
    pub area_mm2: f64,
    pub centroid: Point,
    /// Principal axes in part axes (unit vectors in the plane of the cut).
    pub axes: [Vector; 2],
    /// Second moments about those axes, mm⁴.
    pub inertia_mm4: [f64; 2],
    /// Largest distance of the section's outline from each axis, mm.
    pub reach_mm: [f64; 2],
    /// The outlines, from which torsion is solved where it counts.
    pub section: Option<Section>,
}

/// Stress at one cut, largest over the section.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Station {
    /// Share of the path from the hold (0) to the load (1).
    pub share: f64,
    pub centre: Point,
    /// Unit normal of the cut: the direction of the direct stress.
    pub normal: Vector,
    /// Largest tension on the cut: direct plus bending, MPa.
    pub tension_mpa: f64,
    /// Largest shear on the cut: transverse plus torsion, MPa.
    pub shear_mpa: f64,
    pub area_mm2: f64,
}

/// What cuts a part.
pub trait Cutter {
    /// Returns the region of a plane's section that the point lies in, or is nearest to.
    fn local(&self, at: Point, normal: Vector) -> Option<Cut>;
    /// Returns what of a plane's section parts two places of the part.
    fn between(&self, at: Point, normal: Vector, ends: &[Vec<Anchor>; 2]) -> Option<Cut>;
}

/// A load placed on the mesh, and the part cut along its way where somebody asks for that.
#[derive(Debug, Clone)]
pub struct LoadPath {
    action: Action,
    hold: Place,
    at: Option<Place>,
    /// The middle of the hold, and where the load acts.
    ends: [Point; 2],
    /// Where hold and point were not given by the spec, how they were chosen.
    pub assumed: Vec<Taken>,
    /// How many times as large the load is as the action.
    pub times: f64,
    /// Of the action, once for all that ask: only what is told asks.
    stations: Arc<OnceLock<Vec<Station>>>,
}

/// Where a load acts or the part is held, as the spec gives it.
#[derive(Debug, Clone)]
pub enum Place {
    Patch(Patch),
    Point(Point),
}

/// What acts: a force in newtons and a torque in newton-millimetres, both vectors in part axes.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Action {
    pub force_n: Vector,
    pub torque_nmm: Vector,
}

/// Cells along a section's longer side for its torsion: within a few percent (tested in `section::torsion`).
const TORSION_CELLS: usize = 24;
/// Torsion that adds less than this part to the other stresses, by an estimate on the safe side, is left at the estimate.
const SLIGHT: f64 = 0.02;

impl LoadPath {
    /// Places a load; `None` where the mesh gives no place.
    pub fn place(mesh: &Mesh, action: Action, hold: Option<Place>, at: Option<Place>) -> Option<Self> {
        let mut assumed = Vec::new();
        let hold = match hold {
            Some(place) => place,
            None => {
                let flat = patch::largest_flat(mesh)?;
                assumed.push(Taken::HeldAtLargest { area: Area::mm2(flat.area_mm2), facing: flat.normal });
                Place::Patch(flat)
            }
        };
        let (hold_at, hold_normal) = match &hold {
            Place::Patch(p) => (p.centre, Some(p.normal)),
            Place::Point(p) => (*p, None),
        };
        let point = match &at {
            Some(Place::Patch(p)) => p.centre,
            Some(Place::Point(p)) => *p,
            None => {
                let far = farthest(mesh, hold_at, hold_normal)?;
                assumed.push(Taken::AtFarthest(far));
                far
            }
        };
        Some(Self { action, hold, at, ends: [hold_at, point], assumed, times: 1.0, stations: Arc::default() })
    }

    /// Returns where it acts.
    pub fn point(&self) -> Point {
        let [_, point] = self.ends;
        point
    }

    /// Returns what is stressed along the way, for the action as it was placed; nothing where the mesh gives no cut.
    pub fn stations(&self, mesh: &Mesh, cutter: impl Cutter) -> &[Station] {
        self.stations.get_or_init(|| {
            let point = self.point();
            let at = self.at.clone().unwrap_or(Place::Point(point));
            let ends = [anchors(mesh, &self.hold, [0.0; 3]), anchors(mesh, &at, self.action.force_n)];
            let body = Body { mesh, ends, places: self.ends, cutter };
            let mut solved = Solved::default();
            let judged = Judged { action: &self.action, point };
            let stops = body.stops(&self.hold, point).unwrap_or_default();
            stops.iter().filter_map(|stop| judged.worst(stop, &mut solved)).collect()
        })
    }
}

/// Returns where on the surface a load or a hold meets the part.
fn anchors(mesh: &Mesh, place: &Place, force: Vector) -> Vec<Anchor> {
    match place {
        Place::Patch(patch) => Anchor::nearest(mesh, Some(&patch.facets), patch.centre).into_iter().collect(),
        Place::Point(p) => anchor::meeting(mesh, *p, normalise(force)),
    }
}

/// A load as the cuts are asked about it.
struct Judged<'a> {
    action: &'a Action,
    point: Point,
}

impl Judged<'_> {
    /// Judges the cut of a stop across the path or across the limb, whichever is stressed more.
    fn worst(&self, stop: &Stop, solved: &mut Solved) -> Option<Station> {
        let most = |normal: Vector, cut: &Cut| {
            let [tension, sheared, twist] = self.stresses(normal, cut);
            tension.max(sheared + twist * cut.rough_shear_per_torque())
        };
        match &stop.limb {
            Some((normal, cut)) if most(*normal, cut) > most(stop.normal, &stop.cut) => {
                self.station(stop, *normal, cut, solved)
            }
            _ => self.station(stop, stop.normal, &stop.cut, solved),
        }
    }

    /// Returns the stresses on a cut but for an exact torsion: tension, transverse shear, torque.
    fn stresses(&self, normal: Vector, cut: &Cut) -> [f64; 3] {
        let force = self.action.force_n;
        let moment = add(cross(sub(self.point, cut.centroid), force), self.action.torque_nmm);
        let direct = dot(force, normal).abs() / cut.area_mm2;
        let bending = cut.bending(normal, moment);
        let across = sub(force, scale(normal, dot(force, normal)));
        [direct + bending, 1.5 * norm(across) / cut.area_mm2, dot(moment, normal).abs()]
    }

    /// Returns the largest stresses on one cut from the action at `point`: `N/A + M1 c1/I1 + M2 c2/I2`, and
    /// `1.5 V/A` with the shear stress of torsion.
    ///
    /// Bending and direct stress: beam theory (handbook, e.g. Gere, *Mechanics of Materials*, ch. 5). The factor 1.5 on the
    /// mean transverse shear is that of a rectangle. Torsion: Saint-Venant's, solved on the section itself.
    fn station(&self, stop: &Stop, normal: Vector, cut: &Cut, solved: &mut Solved) -> Option<Station> {
        if !cut.is_whole() {
            return None;
        }
        let [tension_mpa, sheared, twist] = self.stresses(normal, cut);
        let estimate = twist * cut.rough_shear_per_torque();
        let slight = estimate <= SLIGHT * (tension_mpa + sheared);
        let exact = cut.section.as_ref().filter(|_| !slight).and_then(|section| solved.torsion(section));
        let torsion = exact.map_or(estimate, |t| twist * t.slope_mm / t.j_mm4);
        Some(Station {
            share: stop.share,
            centre: cut.centroid,
            normal,
            tension_mpa,
            shear_mpa: sheared + torsion,
            area_mm2: cut.area_mm2,
        })
    }
}

impl Cut {
    /// Returns whether it has an area and bends in finite measure.
    fn is_whole(&self) -> bool {
        self.area_mm2 > 0.0 && self.inertia_mm4.iter().all(|i| *i > 0.0)
    }

    /// Returns the largest bending stress from a moment, MPa for newtons and millimetres: `M1 r1 / I1 + M2 r2 / I2` at the
    /// point of the outline where the sum is greatest; where there is no outline, as if a corner were farthest from both axes.
    pub fn bending(&self, normal: Vector, moment: Vector) -> f64 {
        let about = [0, 1].map(|k| dot(moment, self.axes[k]) / self.inertia_mm4[k]);
        let Some((section, p)) = self.section.as_ref().and_then(|s| Some((s, s.properties?))) else {
            return (0..2).map(|k| about[k].abs() * self.reach_mm[k]).sum();
        };
        // The stress grows along a direction in the plane: `(M × r) · n = (n × M) · r`.
        let slope = cross(normal, add(scale(self.axes[0], about[0]), scale(self.axes[1], about[1])));
        let slope = [dot(slope, section.frame.u), dot(slope, section.frame.v)];
        let at = |q: &[f64; 2]| (slope[0] * (q[0] - p.centroid[0]) + slope[1] * (q[1] - p.centroid[1])).abs();
        section.outlines().flatten().map(at).fold(0.0, f64::max)
    }

    /// Returns how far the section reaches along a direction, mm; `None` where its outlines are not known.
    pub fn extent(&self, along: Vector) -> Option<f64> {
        let section = self.section.as_ref()?;
        let way = [dot(along, section.frame.u), dot(along, section.frame.v)];
        let at = |q: &[f64; 2]| way[0] * q[0] + way[1] * q[1];
        let (low, high) = section
            .outlines()
            .flatten()
            .map(at)
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), x| (a.min(x), b.max(x)));
        (high > low).then_some(high - low)
    }

    /// Returns shear stress over torque by Saint-Venant's rule of thumb for solid sections, `J = A⁴ / (40 Ip)` (handbook,
    /// Timoshenko and Goodier, ch. 10), and the farthest corner: on the safe side, and far so for hollow sections.
    fn rough_shear_per_torque(&self) -> f64 {
        self.reach_mm[0].hypot(self.reach_mm[1]) / self.rough_torsion_constant()
    }

    fn rough_torsion_constant(&self) -> f64 {
        let polar = self.inertia_mm4[0] + self.inertia_mm4[1];
        self.area_mm2.powi(4) / (40.0 * polar)
    }
}

/// Sections whose torsion was solved: a straight bar shows the same one at every cut.
#[derive(Default)]
struct Solved(BTreeMap<Vec<i64>, Option<Torsion>>);

impl Solved {
    /// Returns how a section takes torque; `None` where it cannot be solved.
    fn torsion(&mut self, section: &Section) -> Option<Torsion> {
        *self.0.entry(shape(section)).or_insert_with(|| torsion_on(section, TORSION_CELLS))
    }
}

/// The outlines in steps of 0.1 µm from the section's centroid: the same shape gives the same numbers.
fn shape(section: &Section) -> Vec<i64> {
    let [u, v] = section.properties.map_or([0.0; 2], |p| p.centroid);
    let steps = |x: f64| (x * 1e4).round() as i64;
    section
        .outlines()
        .flat_map(|outline| {
            let points = outline.iter().flat_map(move |p| [steps(p[0] - u), steps(p[1] - v)]);
            std::iter::once(outline.len() as i64).chain(points)
        })
        .collect()
}

/// Returns the vertex farthest from the hold: from its plane where it is a face, else in a straight line.
fn farthest(mesh: &Mesh, from: Point, normal: Option<Vector>) -> Option<Point> {
    let reach = |p: &Point| match normal {
        Some(n) => dot(sub(*p, from), n).abs(),
        None => norm(sub(*p, from)),
    };
    // Ties (a flat end) are averaged, so that the answer does not hang on the order of vertices.
    let most = mesh.vertices.iter().map(reach).fold(0.0, f64::max);
    let ends: Vec<&Point> = mesh.vertices.iter().filter(|p| reach(p) >= most - 1e-3 * most.max(1e-9)).collect();
    let count = ends.len() as f64;
    (!ends.is_empty()).then(|| scale(ends.iter().fold([0.0; 3], |sum, p| add(sum, **p)), 1.0 / count))
}

/// Says a direction in words: an axis, or the nearest one and by how much it leans away from it.
pub fn direction_words(d: Vector) -> String {
    match lean(d) {
        (axis, tilt) if tilt.is_empty() => axis,
        (axis, tilt) => format!("{axis} leaning {tilt}"),
    }
}

/// Returns the axis nearest to a direction, and how far it leans: `45° toward +x and 10° toward -y`, empty where it does not.
pub fn lean(d: Vector) -> (String, String) {
    let mut axes: Vec<usize> = vec![0, 1, 2];
    axes.sort_by(|a, b| d[*b].abs().total_cmp(&d[*a].abs()));
    let signed = |axis: usize| format!("{}{}", if d[axis] > 0.0 { "+" } else { "-" }, ["x", "y", "z"][axis]);
    let near = axes[0];
    if d[near].abs() > 0.999 {
        return (signed(near), String::new());
    }
    // Seen along the third axis, the angle between the direction and the nearest axis.
    let toward = |axis: usize| {
        let angle = d[axis].abs().atan2(d[near].abs()).to_degrees();
        (angle >= 0.5).then(|| format!("{angle:.0}° toward {}", signed(axis)))
    };
    let tilts: Vec<String> = axes[1..].iter().filter_map(|&axis| toward(axis)).collect();
    (signed(near), tilts.join(" and "))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::samples::block;

    #[test]
    fn directions_are_said_by_axis_and_lean() {
        let r = std::f64::consts::FRAC_1_SQRT_2;
        assert_eq!(direction_words([0.0, -1.0, 0.0]), "-y");
        assert_eq!(direction_words([0.0, r, r]), "+y leaning 45° toward +z");
        assert_eq!(direction_words([-0.21, 0.71, 0.672]), "+y leaning 43° toward +z and 16° toward -x");
        assert_eq!(lean([0.12, 0.0, -0.9928]), ("-z".to_owned(), "7° toward +x".to_owned()));
    }

    /// The cuts made up here are across x alone.
    fn square(normal: Vector) -> bool {
        normal[0].abs() > 0.999_999
    }

    /// Sections made up here.
    struct MadeUp<F>(F);

    impl<F: Fn(Point, Vector) -> Option<Cut>> Cutter for MadeUp<F> {
        fn local(&self, at: Point, normal: Vector) -> Option<Cut> {
            (self.0)(at, normal)
        }

        fn between(&self, at: Point, normal: Vector, _: &[Vec<Anchor>; 2]) -> Option<Cut> {
            (self.0)(at, normal)
        }
    }

    /// The exact cut of a 100 x 10 x 20 bar across x.
    fn bar_cut(at: Point, normal: Vector) -> Option<Cut> {
        square(normal).then_some(Cut {
            area_mm2: 200.0,
            centroid: [at[0], 5.0, 10.0],
            axes: [[0.0, 1.0, 0.0], [0.0, 0.0, 1.0]],
            inertia_mm4: [10.0 * 8000.0 / 12.0, 20.0 * 1000.0 / 12.0],
            reach_mm: [10.0, 5.0],
            section: None,
        })
    }

    #[test]
    fn a_cantilever_is_stressed_most_at_its_hold() {
        let bar = block([100.0, 10.0, 20.0]);
        let hold = patch::find(&bar, [-1.0, 0.0, 0.0], None).map(Place::Patch);
        let at = patch::find(&bar, [1.0, 0.0, 0.0], None).map(Place::Patch);
        let action = Action { force_n: [0.0, 0.0, -30.0], ..Action::default() };
        let path = LoadPath::place(&bar, action, hold, at).unwrap();
        let stations = path.stations(&bar, MadeUp(bar_cut));
        let root = &stations[0];
        // sigma = F L c / I = 30 x 99.9 x 10 / 6666.7 (textbook cantilever, Gere ch. 5), at the first cut, just off the hold.
        let arm = 99.9;
        assert!((root.tension_mpa - 30.0 * arm * 10.0 / (20_000.0 / 3.0)).abs() < 1e-6, "{root:?}");
        assert!((root.shear_mpa - 1.5 * 30.0 / 200.0).abs() < 1e-9);
        assert!(stations.windows(2).all(|w| w[0].tension_mpa > w[1].tension_mpa));
        assert!(path.assumed.is_empty());
    }

    /// A 100 x 20 x 3 plate held at one end, loaded flat and on edge; F L³ / (3 E I) plus the shear 1.2 F L / (G A) (Gere,
    /// ch. 9 and 10, handbook).
    #[test]
    fn what_the_spec_leaves_out_is_chosen_and_said() {
        let bar = block([100.0, 10.0, 20.0]);
        let action = Action { force_n: [0.0, -10.0, 0.0], ..Action::default() };
        let path = LoadPath::place(&bar, action, None, None).unwrap();
        assert_eq!(path.assumed.len(), 2, "{:?}", path.assumed);
    }

    /// A square tube of 20 x 20 mm with a wall of 2 mm, as a section across x.
    fn tube() -> Section {
        let square = |h: f64| vec![[-h, -h], [h, -h], [h, h], [-h, h]];
        let mut hole = square(8.0);
        hole.reverse();
        let frame = crate::geometry::section::Frame::new([0.0; 3], [1.0, 0.0, 0.0]).unwrap();
        let regions = vec![crate::geometry::section::Region { outer: square(10.0), holes: vec![hole] }];
        Section { frame, regions, open_outlines: 0, uneven: false, properties: None }
    }

    /// Bredt (Timoshenko and Goodier, ch. 10, handbook): stress = T / (2 A t) along the walls of a closed thin tube, A the
    /// area within the middle of the wall. The inward corners see more, a few times as much where they are sharp.
    #[test]
    fn a_hollow_shaft_under_torque_is_judged_as_a_tube() {
        let bar = block([100.0, 20.0, 20.0]);
        let section = tube();
        let inertia = (20.0_f64.powi(4) - 16.0_f64.powi(4)) / 12.0;
        let cut = |at: Point, normal: Vector| {
            square(normal).then(|| Cut {
                area_mm2: 144.0,
                centroid: [at[0], 10.0, 10.0],
                axes: [[0.0, 1.0, 0.0], [0.0, 0.0, 1.0]],
                inertia_mm4: [inertia; 2],
                reach_mm: [10.0; 2],
                section: Some(section.clone()),
            })
        };
        let hold = patch::find(&bar, [-1.0, 0.0, 0.0], None).map(Place::Patch);
        let at = patch::find(&bar, [1.0, 0.0, 0.0], None).map(Place::Patch);
        let torque = 5000.0;
        let action = Action { torque_nmm: [torque, 0.0, 0.0], ..Action::default() };
        let path = LoadPath::place(&bar, action, hold, at).unwrap();
        let stations = path.stations(&bar, MadeUp(&cut));
        let bredt = torque / (2.0 * 18.0 * 18.0 * 2.0);
        let found = stations[0].shear_mpa;
        assert!((bredt..2.5 * bredt).contains(&found), "{found}, along the walls {bredt}");
        // The rule of thumb for solid sections would have said several times as much.
        let solid = torque * 14.142 * 40.0 * 2.0 * inertia / 144.0_f64.powi(4);
        assert!(solid > 3.0 * found, "{solid}");
        assert!(stations.iter().all(|s| (s.shear_mpa - found).abs() < 1e-9 && s.tension_mpa == 0.0));
    }
}
