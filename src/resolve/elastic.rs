//! A load of the spec as a problem of elasticity: where it acts and where the part is held, as parts of the surface.
//!
//! What the spec does not say is not guessed: without a stated hold there is no problem, and so no stress. What is taken
//! for granted (how large a patch a place means, which side the heads of screws are on) is told with the case.

mod alike;
pub mod at_once;
pub mod closing;
mod confined;
mod drawn;
mod mating;
pub mod said;
pub mod solved;

pub use at_once::{AtOnce, options, solve_all, solve_finer};
pub use drawn::{Growth, part_drawn};
pub use said::{Assumed, NotKnown, Taken, Unsaid};
pub use solved::Answer;

use crate::catalogue::{Catalogue, Material, figures};
use crate::field::{self, HoldKind, LoadKind, Region, Round, Surface};
use crate::fits::feature::FeatureKind;
use crate::fits::hardware;
use crate::geometry::bounds::Bounds;
use crate::geometry::vector::{Vector, dot, norm, normalise, scale, sub};
use crate::physics;
use crate::quantity::{Area, Density, Duration, Length, Quantity, trim_number};
use crate::semantics::spec::{Consequence, Course, Extent, Face, FitFunction, Hold, Load, Spec, Where};

use super::matching::{Feature, Place};
use super::part::Part;
use crate::geometry::patch::Patch;

/// A load, and what holds the part while it acts.
#[derive(Debug, Clone, PartialEq)]
pub struct Case {
    pub holds: Vec<field::Hold>,
    /// The load by the places it acts at: one, or as many as a fit has holes.
    pub loads: Vec<field::Load>,
    /// Patches of a size nobody stated that a load acts on or that hold the part: how it is pressed there is not known, and
    /// what that does is gone as far away as they are wide (Saint-Venant's principle).
    pub off: Vec<Region>,
    /// As far from them nothing is said, mm.
    pub off_mm: f64,
    /// Parts of the surface that something presses on, holds and loads, and how far beside each what presses is judged by the
    /// mean pressure on it, mm.
    pub beside: Vec<(Region, f64)>,
    /// By which its answer is judged.
    pub figures: Figures,
    /// Whether somebody said how far the part may move under it.
    pub moves_count: bool,
    /// A stress that no material at hand bears for as long, MPa, where the spec has so many loads that one that breaks the part
    /// whatever a finer grid says is looked at on none.
    pub hopeless_mpa: Option<f64>,
    /// Cells of the grids that may be looked at, each finer than the one before; what the last leaves open counts against the part.
    pub cells: &'static [usize],
    /// What was taken for granted.
    pub assumed: Vec<Assumed>,
}

/// What cases are made from.
#[derive(Clone, Copy)]
pub struct Asked<'a> {
    pub spec: &'a Spec,
    pub part: &'a Part,
    /// What the mesh holds of each fit, in the spec's order.
    pub fits: &'a [Place],
    pub figures: Figures,
}

/// What of the catalogue the answers hang on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Figures {
    /// How far across a place stands for that is given without a size, mm.
    pub spot_mm: f64,
    /// How far beside what is pressed on pressing is a matter of bearing at most, mm.
    pub beside_mm: f64,
    /// Poisson's ratio of what is printed.
    pub poisson: f64,
    /// How far apart stresses on two grids may be, as a share, to bound what a finer one adds.
    pub stress_apart: f64,
    /// The same of displacements.
    pub displacement_apart: f64,
    /// Of the densest material there is: a part's own mass is solved with it, and counts by what each material has of it.
    pub density: Density,
    /// What the strongest material at hand is counted to bear, by consequence of a failure, MPa: short-term, and held for years.
    pub bears_mpa: [[f64; 2]; 3],
    /// The factor on a load that states none, by consequence of a failure.
    pub load_factor: [f64; 3],
    /// What next to nothing on offer minds, MPa: of no finer grid is asked for its sake.
    pub light_mpa: f64,
}

impl Figures {
    /// Counts only these materials as at hand.
    pub fn with_materials(self, catalogue: &Catalogue, at_hand: impl Fn(&str) -> bool) -> Self {
        Self { bears_mpa: strongest(catalogue, |m| at_hand(&m.name)), ..self }
    }

    /// Reads them.
    pub fn of(catalogue: &Catalogue) -> Self {
        Self {
            spot_mm: catalogue.value(figures::LOAD_SPOT).to_mm(),
            beside_mm: catalogue.value(figures::BEARING_REACH).to_mm(),
            poisson: catalogue.value(figures::POISSON),
            stress_apart: catalogue.value(figures::STRESS_APART),
            light_mpa: light(catalogue),
            density: densest(catalogue),
            bears_mpa: strongest(catalogue, |_| true),
            load_factor: CONSEQUENCES.map(|consequence| catalogue.value_for(figures::LOAD_FACTOR, consequence)),
            displacement_apart: catalogue.value(figures::DISPLACEMENT_APART),
        }
    }
}

/// Loads of a spec above which those that break the part beyond any doubt are not refined for the sake of what would free them:
/// then no single change does.
const MANY_LOADS: usize = 4;

/// In the order of the figures that hang on them.
const CONSEQUENCES: [Consequence; 3] = [Consequence::Nuisance, Consequence::Damage, Consequence::Injury];

/// Returns a stress that no material at hand bears under a load times its factor, MPa: neither heat nor moisture nor layers are
/// counted, and of time only what is stated.
fn hopeless(figures: Figures, spec: &Spec, load: &Load) -> f64 {
    let long = load.held.is_some_and(|held| held.value >= Duration::years(1.0)) && load.course.value == Course::Steady;
    let consequence = spec.consequence() as usize;
    let [brief, years] = figures.bears_mpa[consequence];
    (if long { years } else { brief }) / load.factor.map_or(figures.load_factor[consequence], |f| f.value)
}

/// Returns by consequence what the strongest of some materials is counted to bear, pulled or pressed, MPa: short-term, and after
/// years. Its low ends, and what is given back for their not all being low at once: what else is counted takes more than its own
/// low end gives back.
fn strongest(catalogue: &Catalogue, at_hand: impl Fn(&Material) -> bool) -> [[f64; 2]; 3] {
    let pressed = catalogue.band(figures::COMPRESSION_TO_TENSION).low.max(1.0);
    let usual = catalogue.band(figures::SUSTAINED_YEARS);
    let at_hand: Vec<&Material> = catalogue.materials.values().filter(|m| at_hand(m)).collect();
    CONSEQUENCES.map(|consequence| {
        let correlation = catalogue.value_for(figures::LOW_ENDS_CORRELATED, consequence);
        at_hand.iter().fold([0.0; 2], |[brief, years]: [f64; 2], m| {
            let strength = [m.strength_along.low().to_mpa(), m.strength_along.typ.to_mpa()];
            let left = m
                .sustained
                .as_ref()
                .map_or([usual.low, usual.typical], |of| [of.low(), of.typ].map(|share| Quantity::from(share).si));
            let bears = strength[0] * pressed;
            // What is given back cannot be told of figures out of order: then nothing is hopeless.
            let back = physics::strength::relief(&[strength, left], correlation).unwrap_or(f64::INFINITY);
            // How far rubber may be pressed together is no matter of its strength.
            let lasting = if m.flexible.value { bears } else { bears * left[0] * back };
            [brief.max(bears), years.max(lasting)]
        })
    })
}

fn densest(catalogue: &Catalogue) -> Density {
    let all = catalogue.materials.values().map(|m| m.density.high());
    all.max_by(|a, b| a.to_g_per_cm3().total_cmp(&b.to_g_per_cm3())).unwrap_or(Density::g_per_cm3(0.0))
}

/// What of a patch of a stated size the part must have there for nothing to be said.
const MOST_OF_PATCH: f64 = 0.8;

/// How many times as wide as a hole a place may be said to be for the hole to be meant, and not the face about it.
const FILLS: f64 = 1.5;
/// Of an axis, what a direction across it has of it at most.
const ACROSS: f64 = 0.5;

/// A gram in a cubic centimetre, kg/mm³.
const GRAMS_PER_CM3: f64 = 1e-6;

/// Returns a stress that every rigid polymer bears for years, though it be larger by all that grids leave open, hot, and
/// counted with a factor. It decides how much is computed, and no verdict.
fn light(catalogue: &Catalogue) -> f64 {
    let rigid = catalogue.materials.values().filter(|m| !m.flexible.value);
    let least = rigid.map(|m| m.strength_along.low().to_mpa()).fold(f64::INFINITY, f64::min);
    let years = catalogue.band(figures::SUSTAINED_YEARS).low;
    if least.is_finite() { LIGHT * least * years } else { 0.0 }
}

/// What heat, a factor and the grid leave of it.
const LIGHT: f64 = 0.05;

/// Where a fit sits in the mesh.
struct Seat<'a> {
    name: &'a str,
    function: &'a FitFunction,
    features: &'a [Feature],
}

impl Case {
    /// Returns the problem a load makes.
    ///
    /// # Errors
    /// What the spec leaves open, or names and the mesh has not.
    pub fn of(asked: Asked<'_>, load: &Load) -> Result<Self, Unsaid> {
        let name = &load.name.value;
        if load.holds.is_empty() {
            return Err(Unsaid::Hold { load: name.clone() });
        }
        let making =
            Making { asked, surface: Surface { mesh: &asked.part.mesh, features: &asked.part.features }, load };
        let mut case = Self {
            holds: Vec::new(),
            loads: Vec::new(),
            off: Vec::new(),
            off_mm: asked.figures.spot_mm,
            beside: Vec::new(),
            figures: asked.figures,
            moves_count: asked.spec.deflection.as_ref().is_some_and(|d| d.is_under(name)),
            cells: &field::JUDGED_CELLS,
            hopeless_mpa: (asked.spec.loads.len() > MANY_LOADS).then(|| hopeless(asked.figures, asked.spec, load)),
            assumed: Vec::new(),
        };
        for hold in &load.holds {
            making.hold(&hold.value, &mut case)?;
        }
        making.acts(&mut case)?;
        let on = case.holds.iter().map(|h| &h.on).chain(case.loads.iter().filter_map(|l| l.kind.region()));
        case.beside = on.flat_map(|on| beside(on, &asked)).collect();
        Ok(case)
    }
}

struct Making<'a> {
    asked: Asked<'a>,
    surface: Surface<'a>,
    load: &'a Load,
}

impl<'a> Making<'a> {
    fn assume(&self, case: &mut Case, taken: Taken) {
        let said = Assumed { load: self.load.name.value.clone(), taken };
        if !case.assumed.contains(&said) {
            case.assumed.push(said);
        }
    }

    /// Says that a place given lies in a hole, and stands for that; not of a hole that the spec names by a fit.
    fn assume_bore(&self, case: &mut Case, held: bool, hole: &Round) {
        let is_it = |f: &Feature| norm(sub(f.centre, hole.centre)) < hole.radius;
        if self.asked.fits.iter().flat_map(|place| &place.features).any(is_it) {
            return;
        }
        self.assume(case, Taken::InHole { held, across: hundredths(2.0 * hole.radius) });
    }

    /// Returns how far across a place stands for, mm.
    fn spot(&self, case: &mut Case) -> f64 {
        self.assume(case, Taken::Spot(Length::mm(self.asked.figures.spot_mm)));
        self.asked.figures.spot_mm
    }

    fn patch_on(&self, patch: &Patch, near: Vector, extent: field::Extent, case: &mut Case) -> Result<Region, Unsaid> {
        let on = self.surface.patch_on(patch, near, extent).ok_or(Unsaid::OffThePart)?;
        self.tell_area(&on, extent, case);
        Ok(on)
    }

    fn patch_at(&self, p: Vector, pressed: Vector, extent: field::Extent, case: &mut Case) -> Result<Region, Unsaid> {
        let on = self.surface.patch_at(p, pressed, extent).ok_or(Unsaid::OffThePart)?;
        self.tell_area(&on, extent, case);
        Ok(on)
    }

    /// Says where a patch of a stated size finds less of the part than it is large.
    fn tell_area(&self, on: &Region, extent: field::Extent, case: &mut Case) {
        let (found, asked) = (on.area(&self.asked.part.mesh), extent.area());
        if found < MOST_OF_PATCH * asked {
            let [asked, found] = [asked, found].map(Area::mm2);
            self.assume(case, Taken::LessThere { asked, found });
        }
    }

    fn face(&self, name: &str) -> Result<(&'a Face, usize), Unsaid> {
        let at = self.asked.spec.faces.iter().position(|f| f.name.value == name);
        at.and_then(|i| Some((self.asked.spec.faces.get(i)?, i)))
            .ok_or_else(|| Unsaid::NoFace { face: name.to_owned() })
    }

    fn round_face(&self, face: &Face) -> Result<Round, Unsaid> {
        let near = face.near.map(|p| p.value.map(Length::to_mm));
        near.and_then(|p| self.surface.round_at(p)).ok_or_else(|| Unsaid::NoRound { face: face.name.value.clone() })
    }

    fn seat(&self, name: &str) -> Result<Seat<'a>, Unsaid> {
        let at = self.asked.spec.fits.iter().position(|f| f.name.value == name);
        let found = at.and_then(|i| Some((self.asked.spec.fits.get(i)?, self.asked.fits.get(i)?)));
        match found {
            Some((fit, place)) if !place.features.is_empty() => {
                Ok(Seat { name: &fit.name.value, function: &fit.function.value, features: &place.features })
            }
            _ => Err(Unsaid::NoSeat { fit: name.to_owned() }),
        }
    }

    fn hold(&self, hold: &Hold, case: &mut Case) -> Result<(), Unsaid> {
        let kind = if hold.rests { HoldKind::Resting } else { HoldKind::Bonded };
        let (name, on, kind) = match &hold.at {
            Where::Inside | Where::Throughout => {
                return Err(Unsaid::HeldWithin);
            }
            Where::Face(name) if !hold.rests && self.flat_of(name).is_some() => {
                let fit = self.flat_of(name).unwrap_or_default();
                self.assume(case, Taken::NotGlued { face: name.clone(), fit: fit.to_owned() });
                return self.held_by_flats(fit, case);
            }
            Where::Face(name) => (format!("face \"{name}\""), self.held_face(name, hold, case)?, kind),
            Where::Point(p) => {
                let p = p.map(Length::to_mm);
                let words = p.map(|c| trim_number(c, 2)).join(", ");
                (format!("({words}) mm"), self.held_place(p, hold, case)?, kind)
            }
            Where::Fit(name) if self.flats(name).is_some() => return self.held_by_flats(name, case),
            Where::Fit(name) => {
                let seat = self.seat(name)?;
                let (on, slides) = self.held_fit(&seat, hold, case)?;
                (format!("fit \"{name}\""), on, if slides { HoldKind::Resting } else { kind })
            }
        };
        case.holds.push(field::Hold { name, on, kind });
        Ok(())
    }

    /// Holds the part by what sits between the flats of a fit; once, though several of them are named.
    fn held_by_flats(&self, fit: &str, case: &mut Case) -> Result<(), Unsaid> {
        let flats = self.flats(fit).ok_or_else(|| missing(fit))?;
        let held = field::Hold { name: format!("fit \"{fit}\""), on: flats.on, kind: HoldKind::Mating };
        if !case.holds.contains(&held) {
            case.holds.push(held);
        }
        Ok(())
    }

    /// Returns the surface held at a place: a patch of the size stated, or the bore it is the middle of.
    fn held_place(&self, p: Vector, hold: &Hold, case: &mut Case) -> Result<Region, Unsaid> {
        if let Some(extent) = hold.extent {
            return self.patch_at(p, [0.0; 3], in_mm(extent), case);
        }
        if let Some(round) = self.surface.bore_about(p) {
            self.assume_bore(case, true, &round);
            return Ok(round.region());
        }
        let spot = field::Extent::Across(self.spot(case));
        let region = self.patch_at(p, [0.0; 3], spot, case)?;
        case.off.push(region.clone());
        Ok(region)
    }

    /// Returns the surface held by a face: all of the plane it is the outermost of, since what it stands against does not
    /// stop between its feet.
    fn held_face(&self, name: &str, hold: &Hold, case: &mut Case) -> Result<Region, Unsaid> {
        let (face, index) = self.face(name)?;
        if face.round {
            return Ok(self.round_face(face)?.region());
        }
        let patch = self.asked.part.faces.get(index).and_then(Option::as_ref).ok_or_else(|| missing(name))?;
        if let Some(extent) = hold.extent {
            let near = face.near.map_or(patch.centre, |p| p.value.map(Length::to_mm));
            return self.patch_on(patch, near, in_mm(extent), case);
        }
        let (region, places) = self.surface.outermost(patch);
        if places > 1 {
            self.assume(case, Taken::AllPlaces { face: name.to_owned(), places });
        }
        Ok(region)
    }

    /// Returns the surface held by a fit, and whether what sits in it only pushes.
    fn held_fit(&self, seat: &Seat<'_>, hold: &Hold, case: &mut Case) -> Result<(Region, bool), Unsaid> {
        match seat.function {
            FitFunction::Clearance { thread, .. } => {
                self.assume(case, Taken::Tightened { thread: thread.clone() });
                if hold.extent.is_none()
                    && let Some(on) = self.in_cones(seat, hold.heads.map(|d| d.0))
                {
                    self.assume(case, Taken::InCone { thread: thread.clone() });
                    return Ok((on, false));
                }
                let across = match hold.extent {
                    Some(Extent::Across(across)) => across.to_mm(),
                    _ => self.head(thread, case)?,
                };
                self.under_heads(seat, hold.heads.map(|d| d.0), across, case).map(|on| (on, false))
            }
            // What has play, or may have, only pushes: nothing glues it in.
            FitFunction::Sliding { .. }
            | FitFunction::Iso { .. }
            | FitFunction::Hinge { .. }
            | FitFunction::Sized { .. } => {
                Ok((Region::Several(seat.rounds().iter().map(Round::region).collect()), true))
            }
            _ => {
                self.assume(case, Taken::Squeezed { fit: seat.name.to_owned() });
                Ok((Region::Several(seat.rounds().iter().map(Round::region).collect()), false))
            }
        }
    }

    fn head(&self, thread: &str, case: &mut Case) -> Result<f64, Unsaid> {
        let head = hardware::socket_head(thread).ok().and_then(|h| h.get("head_diameter_mm"));
        let across = head.ok_or_else(|| Unsaid::NoHead { thread: thread.to_owned() })?;
        self.assume(case, Taken::UnderHead { thread: thread.to_owned(), across: Length::mm(across) });
        Ok(across)
    }

    /// Returns the cones that countersunk heads sit in, where every hole of a fit has one.
    fn in_cones(&self, seat: &Seat<'_>, heads: Option<Vector>) -> Option<Region> {
        let cone = |f: &Feature| match heads {
            Some(d) => self.surface.cone(&round(f), dot(f.axis, d).signum()),
            None => [1.0, -1.0].into_iter().find_map(|side| self.surface.cone(&round(f), side)),
        };
        let all: Option<Vec<Region>> = seat.features.iter().map(cone).collect();
        all.map(Region::Several)
    }

    fn under_heads(
        &self,
        seat: &Seat<'_>,
        heads: Option<Vector>,
        across: f64,
        case: &mut Case,
    ) -> Result<Region, Unsaid> {
        let mut rings = Vec::new();
        for f in seat.features {
            let side = match heads {
                Some(d) => dot(f.axis, d).signum(),
                None => self.side_of_heads(f, seat, case),
            };
            let none = || Unsaid::NoRing { hole: f.words(), across: Length::mm(across) };
            rings.push(self.surface.ring(&round(f), side, across).ok_or_else(none)?);
        }
        Ok(Region::Several(rings))
    }

    /// Heads are away from what the part rests on; else on the side the part reaches out to from the hole.
    fn side_of_heads(&self, f: &Feature, seat: &Seat<'_>, case: &mut Case) -> f64 {
        let rests = self.load.holds.iter().filter(|h| h.value.rests).find_map(|h| {
            let (_, index) = self.face(h.value.at.face()?).ok()?;
            Some(self.asked.part.faces.get(index)?.as_ref()?.normal)
        });
        let away = match rests {
            Some(normal) => -dot(f.axis, normal),
            None => dot(f.axis, sub(self.asked.part.bounds.centre(), f.centre)),
        };
        let side = if away < 0.0 { -1.0 } else { 1.0 };
        if rests.is_none() {
            self.assume(case, Taken::HeadsToward { fit: seat.name.to_owned(), toward: scale(f.axis, side) });
        }
        side
    }

    fn acts(&self, case: &mut Case) -> Result<(), Unsaid> {
        let load = self.load.name.value.clone();
        let Some(at) = &self.load.at else { return Err(Unsaid::At { load }) };
        if self.load.pressure.is_some() {
            return self.presses(&at.value, case);
        }
        if self.load.direction.is_none() {
            return Err(match self.load.torque {
                Some(_) => Unsaid::Axis { load },
                None => Unsaid::Toward { load },
            });
        }
        match &at.value {
            Where::Throughout => {
                self.pulls_throughout(case);
                Ok(())
            }
            Where::Inside => Err(Unsaid::Inside { load }),
            Where::Face(face) => self.on_face(face, case),
            Where::Point(p) => self.at_point(p.map(Length::to_mm), case),
            Where::Fit(fit) => self.in_fit(fit, case),
        }
    }

    fn direction(&self) -> Vector {
        self.load.direction.map_or([0.0; 3], |d| d.value.0)
    }

    fn newtons(&self) -> Vector {
        scale(self.direction(), self.load.force.map_or(0.0, |f| f.value.to_n()))
    }

    fn newton_mm(&self) -> f64 {
        self.load.torque.map_or(0.0, |t| t.value.to_nm() * 1e3)
    }

    fn push(&self, case: &mut Case, kind: LoadKind) {
        case.loads.push(field::Load { name: self.load.name.value.clone(), kind });
    }

    /// Lays a share of the load on a region.
    fn lay(&self, case: &mut Case, on: Region, share: f64) {
        let kind = match self.load.torque {
            Some(_) => LoadKind::Torque { on, axis: self.direction(), newton_mm: share * self.newton_mm() },
            None => LoadKind::Force { on, newtons: scale(self.newtons(), share) },
        };
        self.push(case, kind);
    }

    /// Lays on what the part's own mass does, at the reference density.
    fn pulls_throughout(&self, case: &mut Case) {
        let accelerated = self.load.acceleration.map_or(0.0, |a| a.value.to_m_per_s2());
        let newtons_per_mm3 = accelerated * self.asked.figures.density.to_g_per_cm3() * GRAMS_PER_CM3;
        self.push(case, LoadKind::Body { newtons_per_mm3: scale(self.direction(), newtons_per_mm3) });
    }

    fn on_face(&self, name: &str, case: &mut Case) -> Result<(), Unsaid> {
        let (face, index) = self.face(name)?;
        if face.round {
            let round = self.round_face(face)?;
            self.in_round(&round, 1.0, case);
            return Ok(());
        }
        let patch = self.asked.part.faces.get(index).and_then(Option::as_ref).ok_or_else(|| missing(name))?;
        let near = face.near.map(|p| p.value.map(Length::to_mm));
        let region = match (self.load.extent, near) {
            (Some(extent), _) => self.patch_on(patch, near.unwrap_or(patch.centre), in_mm(extent), case)?,
            // A face said to be near a place well off its middle is loaded there.
            (None, Some(p)) if self.load.torque.is_none() && self.surface.is_off_middle(patch, p) => {
                let spot = field::Extent::Across(self.spot(case));
                let found = self.surface.patch_on(patch, p, spot).ok_or(Unsaid::OffThePart)?;
                // Over a hole in the face, all of the face about it.
                if found.area(&self.asked.part.mesh) < MOST_OF_PATCH * spot.area() {
                    Region::Facets(patch.facets.clone())
                } else {
                    case.off.push(found.clone());
                    found
                }
            }
            _ => Region::Facets(patch.facets.clone()),
        };
        self.lay(case, region, 1.0);
        Ok(())
    }

    fn at_point(&self, p: Vector, case: &mut Case) -> Result<(), Unsaid> {
        // A place as large as the hole it lies in, pushed across it, is what sits there.
        let sits = |round: &Round| {
            let across = dot(normalise(self.direction()), round.axis).abs() < ACROSS;
            let fills = |reach: f64| reach >= round.radius && reach <= FILLS * round.radius;
            self.load.extent.is_none_or(|extent| across && fills(field::reach(in_mm(extent))))
        };
        if let Some(round) = self.surface.bore_about(p).filter(sits) {
            self.assume_bore(case, false, &round);
            self.in_round(&round, 1.0, case);
            return Ok(());
        }
        if self.load.torque.is_some()
            && let Some(walls) =
                self.surface.walls_about(p, normalise(self.direction()), self.load.extent.map(lengthwise))
        {
            self.lay(case, walls, 1.0);
            return Ok(());
        }
        let extent = match self.load.extent {
            Some(extent) => in_mm(extent),
            None => field::Extent::Across(self.spot(case)),
        };
        // What lies over a hole acts on the face about it, not on the wall it would meet within.
        let over = self.load.extent.is_some() && self.surface.is_over_a_mouth(p, extent);
        let places = if over { vec![p] } else { self.surface.meeting(p, self.direction()) };
        // What acts between two walls, as a pin in a fork, meets both; what meets one only stands in the air.
        if places.len() < 2
            && !over
            && let Some((off, nearest)) = self.surface.off_by(p, extent)
        {
            return Err(Unsaid::InTheAir { load: self.load.name.value.clone(), off: hundredths(off), nearest });
        }
        let share = 1.0 / places.len().max(1) as f64;
        for place in places {
            let region = self.patch_at(place, self.direction(), extent, case)?;
            if self.load.extent.is_none() {
                case.off.push(region.clone());
            }
            self.lay(case, region, share);
        }
        Ok(())
    }

    fn in_fit(&self, name: &str, case: &mut Case) -> Result<(), Unsaid> {
        if let Some(flats) = self.flats(name) {
            let kind = self.on_flats(flats)?;
            self.push(case, kind);
            return Ok(());
        }
        let seat = self.seat(name)?;
        let share = 1.0 / seat.features.len() as f64;
        for f in seat.features {
            let round = round(f);
            match seat.function {
                // A head is pulled against the side it sits on.
                FitFunction::Clearance { thread, .. }
                    if self.load.torque.is_none() && round.is_along(self.direction()) =>
                {
                    let one = Seat { features: std::slice::from_ref(f), ..seat };
                    let against = scale(self.direction(), -1.0);
                    if self.load.extent.is_none()
                        && let Some(cone) = self.in_cones(&one, Some(against))
                    {
                        self.assume(case, Taken::InCone { thread: thread.clone() });
                        self.lay(case, cone, share);
                        continue;
                    }
                    let across = match self.load.extent {
                        Some(Extent::Across(across)) => across.to_mm(),
                        _ => self.head(thread, case)?,
                    };
                    let ring = self.under_heads(&one, Some(against), across, case)?;
                    self.lay(case, ring, share);
                }
                _ => self.in_round(&round, share, case),
            }
        }
        Ok(())
    }

    /// What sits in a bore (or lies in a hook, or holds a pin) bears on the half it is pressed against; what pulls along it
    /// pulls at all of it.
    fn in_round(&self, round: &Round, share: f64, case: &mut Case) {
        if self.load.torque.is_some() || round.is_along(self.direction()) {
            self.lay(case, round.region(), share);
            return;
        }
        let newtons = scale(self.newtons(), share);
        self.push(case, LoadKind::Pin { on: round.region(), axis: round.axis, centre: round.centre, newtons });
    }

    fn presses(&self, at: &Where, case: &mut Case) -> Result<(), Unsaid> {
        let mpa = self.load.pressure.map_or(0.0, |p| p.value.to_mpa());
        let on = match at {
            Where::Inside => self.surface.enclosed().ok_or(Unsaid::EnclosesNothing)?,
            Where::Face(name) => {
                let (face, index) = self.face(name)?;
                if face.round {
                    self.round_face(face)?.region()
                } else {
                    let patch =
                        self.asked.part.faces.get(index).and_then(Option::as_ref).ok_or_else(|| missing(name))?;
                    match self.load.extent {
                        Some(extent) => {
                            let near = face.near.map_or(patch.centre, |p| p.value.map(Length::to_mm));
                            self.patch_on(patch, near, in_mm(extent), case)?
                        }
                        None => Region::Facets(patch.facets.clone()),
                    }
                }
            }
            Where::Point(p) => {
                let extent = self.load.extent.ok_or(Unsaid::PressureExtent)?;
                self.patch_at(p.map(Length::to_mm), [0.0; 3], in_mm(extent), case)?
            }
            Where::Fit(name) => Region::Several(self.seat(name)?.rounds().iter().map(Round::region).collect()),
            Where::Throughout => return Err(Unsaid::PressureThroughout),
        };
        self.push(case, LoadKind::Pressure { on, mpa });
        Ok(())
    }
}

/// Returns the places of a part of the surface that is pressed on, and how far beside each its pressing reaches: as far as it is
/// wide (Saint-Venant's principle), a ring under a head as its head.
fn beside(on: &Region, asked: &Asked<'_>) -> Vec<(Region, f64)> {
    let wide = match on {
        Region::Several(all) => return all.iter().flat_map(|one| beside(one, asked)).collect(),
        Region::Disc { radius, .. } | Region::Annulus { outer: radius, .. } | Region::Cylinder { radius, .. } => {
            2.0 * radius
        }
        _ => {
            let corners = on.corners(&asked.part.mesh);
            let longest = Bounds::of(corners).size().into_iter().fold(0.0, f64::max);
            if longest > 0.0 { on.area(&asked.part.mesh) / longest } else { 0.0 }
        }
    };
    vec![(on.clone(), wide.min(asked.figures.beside_mm))]
}

/// Returns a length that is told to the hundredth: two that are told alike are one.
fn hundredths(mm: f64) -> Length {
    Length::mm((100.0 * mm).round() / 100.0)
}

/// Returns how far along an opening a stated size reaches, mm.
fn lengthwise(extent: Extent) -> f64 {
    match in_mm(extent) {
        field::Extent::Across(d) => d,
        field::Extent::Over([a, b]) => a.max(b),
    }
}

fn in_mm(extent: Extent) -> field::Extent {
    match extent {
        Extent::Across(d) => field::Extent::Across(d.to_mm()),
        Extent::Over(sides) => field::Extent::Over(sides.map(Length::to_mm)),
    }
}

fn round(f: &Feature) -> Round {
    Round {
        axis: f.axis,
        centre: f.centre,
        radius: 0.5 * f.diameter.to_mm(),
        length: f.length.to_mm(),
        hollow: f.kind == FeatureKind::Hole,
    }
}

fn missing(face: &str) -> Unsaid {
    Unsaid::FaceNotFound { face: face.to_owned() }
}

impl Seat<'_> {
    /// Returns its bores or pins, those in one line once.
    fn rounds(&self) -> Vec<Round> {
        self.features.iter().map(round).collect()
    }
}
