//! The hand sum beside the field: what acts, what holds, the section at the worst place and a beam's stress on it, so that an
//! engineer can check the order of size. It decides nothing.

use std::sync::Arc;

use super::said::NoSection;
use super::{Factors, Pick, Reduction, Solved, Spot, Warmth, first_to_fail, solved, sound, sudden, weighs};
use crate::field::{self, LoadKind, Region};
use crate::geometry::mesh::Mesh;
use crate::geometry::section::cut;
use crate::geometry::section::slicer::Slicer;
use crate::geometry::vector::{Vector, add, cross, dot, norm, scale, sub};
use crate::resolve::elastic::said::Of;
use crate::resolve::elastic::{Asked, Case, Figures, NotKnown};
use crate::resolve::loads::Cut;
use crate::resolve::part::{Part, in_part_axes};
use crate::resolve::world::World;
use crate::semantics::spec::Load;

/// A force with its place, and a couple.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Acting {
    /// The middle of where it acts, mm.
    pub at: Vector,
    pub newtons: Vector,
    /// About that middle, N mm.
    pub newton_mm: Vector,
}

impl Acting {
    /// Returns its moment about a place, N mm.
    pub fn moment_about(&self, about: Vector) -> Vector {
        add(self.newton_mm, cross(sub(self.at, about), self.newtons))
    }
}

/// What a hold does to the part, by the field.
#[derive(Debug, Clone, PartialEq)]
pub struct Bears {
    pub hold: String,
    pub acting: Acting,
    /// Of the surface it holds.
    pub area_mm2: f64,
    pub corners: Vec<Vector>,
}

/// A section through the worst place, square to the stress that governs there.
#[derive(Debug, Clone, PartialEq)]
pub struct OnSection {
    pub centre: Vector,
    pub normal: Vector,
    pub area_mm2: f64,
    /// Second moments about its principal axes, and how far it reaches from them.
    pub inertia_mm4: [f64; 2],
    pub reach_mm: [f64; 2],
    /// Whether the same plane cuts the part elsewhere too: other limbs share what passes.
    pub shared: bool,
    /// Along the normal and across it, N; bending and twisting, N mm.
    pub newtons: [f64; 2],
    pub newton_mm: [f64; 2],
    /// N/A, M c/I and 1.5 V/A, MPa.
    pub direct_mpa: f64,
    pub bending_mpa: f64,
    pub shear_mpa: f64,
    /// What bends it, N mm, and the outlines of the section.
    pub(super) bends: Vector,
    cut: Cut,
}

impl OnSection {
    /// Returns the greatest stress of what bends it about one axis in its plane, MPa.
    pub fn bending_about(&self, axis: Vector) -> f64 {
        self.cut.bending(self.normal, scale(axis, dot(self.bends, axis)))
    }

    /// Returns how far the section reaches along a direction, mm.
    pub fn deep(&self, along: Vector) -> Option<f64> {
        self.cut.extent(along)
    }

    /// Returns the greatest direct stress of a beam on it, MPa.
    pub fn beam_mpa(&self) -> f64 {
        self.direct_mpa + self.bending_mpa
    }
}

/// The hand sum of a load.
#[derive(Debug, Clone, PartialEq)]
pub struct Hand {
    pub loads: Vec<Acting>,
    pub holds: Vec<Bears>,
    /// Where the material fails first, the largest direct stress there and about its direction, MPa (nothing counted for suddenness).
    pub at: Vector,
    pub field_mpa: f64,
    pub toward: Vector,
    pub sudden: f64,
    /// Why there is none, else.
    pub section: Result<OnSection, NoSection>,
}

impl Hand {
    /// Returns what acts in all.
    pub fn total(&self) -> Vector {
        self.loads.iter().fold([0.0; 3], |sum, l| add(sum, l.newtons))
    }

    /// Returns the moment of what acts about a place, N mm.
    pub fn moment_about(&self, about: Vector) -> Vector {
        self.loads.iter().fold([0.0; 3], |sum, l| add(sum, l.moment_about(about)))
    }

    /// Returns what loads and holds leave over, as a part of the load: of the force, where there is any, else of the moment.
    pub fn left_over(&self) -> f64 {
        let all = || self.loads.iter().chain(self.holds.iter().map(|h| &h.acting));
        let force = all().fold([0.0; 3], |sum, a| add(sum, a.newtons));
        let moment = all().fold([0.0; 3], |sum, a| add(sum, a.moment_about([0.0; 3])));
        match norm(self.total()) {
            f if f > 0.0 => norm(force) / f,
            _ => norm(moment) / norm(self.moment_about([0.0; 3])).max(f64::MIN_POSITIVE),
        }
    }
}

/// Returns the hand sum of a load in a material and pose; the error says what is missing.
pub fn hand(world: &World<'_>, load: usize, material: usize, pose: usize) -> Result<Hand, NotKnown> {
    let stated = world.spec.loads.get(load).ok_or(NotKnown::NoSuch(Of::Load))?;
    let solved = sound(solved(world, load)?)?;
    let catalogue = world.knowledge.catalogue;
    let entry = *world.bench.materials.get(material).ok_or(NotKnown::NoSuch(Of::Material))?;
    let weighs = weighs(world, load, material);
    let (loads, holds) = balance(world, stated, solved, weighs)?;
    let warmth = Warmth::of(world, stated, material).ok_or(NotKnown::Warmth)?;
    let all = Reduction::each(stated, entry, warmth, (1.0, world.spec.consequence()), catalogue, &mut Vec::new())?;
    let at = |factors: &Factors| first_to_fail(world, load, pose, material, Pick::Low, factors);
    let reduced = Reduction::worst(all, |factors| at(factors).map_or(0.0, |(low, _)| low.margin))?;
    let (_, spot) = at(&reduced.low).ok_or(NotKnown::Unstressed)?;
    let spot = solved.spots.get(spot).ok_or(NotKnown::Unstressed)?;
    let (field_mpa, toward) = field::governing(&spot.judged());
    let (field_mpa, toward) = (field_mpa * weighs, by_the_file(toward));
    let section = section_of(world, spot, &loads, &holds);
    Ok(Hand { loads, holds, at: spot.at, field_mpa, toward, sudden: sudden(stated), section })
}

/// Returns what acts and what holds, by the field.
fn balance(world: &World<'_>, load: &Load, solved: &Solved, weighs: f64) -> Result<Balance, NotKnown> {
    let figures = Figures::of(world.knowledge.catalogue);
    let asked = Asked { spec: world.spec, part: world.part, fits: &world.fit_places, figures };
    let case = Case::of(asked, load)?;
    let mesh = &world.part.mesh;
    let times = |a: Acting| Acting { newtons: scale(a.newtons, weighs), newton_mm: scale(a.newton_mm, weighs), ..a };
    let loads = case.loads.iter().filter_map(|l| acting(&l.kind, mesh, world.part.volume_mm3)).map(times).collect();
    let bears = |(hold, r): (&field::Hold, &[f64; 6])| {
        let [fx, fy, fz, mx, my, mz] = *r;
        let (at, newtons) = (middle(&hold.on, mesh)?, [fx, fy, fz]);
        let acting = Acting { at, newtons, newton_mm: sub([mx, my, mz], cross(at, newtons)) };
        Some(Bears {
            hold: hold.name.clone(),
            acting: times(acting),
            area_mm2: hold.on.area(mesh),
            corners: hold.on.corners(mesh),
        })
    };
    Ok((loads, case.holds.iter().zip(&solved.reactions).filter_map(bears).collect()))
}

/// Returns a beam's stress on the section through a place of a load of the size it was first asked of, square to the stress that
/// governs there: of the section what does not hang on that size.
pub(super) fn section_at(world: &World<'_>, load: usize, spot: &Spot) -> Option<OnSection> {
    let known = world.loads.get(load)?.load;
    let balance = world.load_facts.balances.of(known, || {
        let stated = world.spec.loads.get(load)?;
        balance(world, stated, solved(world, load).ok()?, 1.0).ok().map(Arc::new)
    })?;
    let (loads, holds) = &*balance;
    section_of(world, spot, loads, holds).ok()
}

/// What acts on a part, and what holds it.
pub type Balance = (Vec<Acting>, Vec<Bears>);

fn section_of(world: &World<'_>, spot: &Spot, loads: &[Acting], holds: &[Bears]) -> Result<OnSection, NoSection> {
    let (_, toward) = field::governing(&spot.judged());
    let all: Vec<Acting> = loads.iter().copied().chain(holds.iter().map(|h| h.acting)).collect();
    on_section(&world.part.mesh, spot.at, by_the_file(toward), &all)
}

/// Returns the axis of the file along which a case is best seen: the one its loads turn the part about, seen from its hold; where
/// they turn nothing, the one along which the part is least.
pub fn seen_along(case: &Case, part: &Part) -> usize {
    let mesh = &part.mesh;
    let held = case.holds.first().and_then(|h| middle(&h.on, mesh)).unwrap_or_else(|| part.bounds.centre());
    let acts = || case.loads.iter().filter_map(|l| acting(&l.kind, mesh, part.volume_mm3));
    let moment = acts().fold([0.0; 3], |sum, a| add(sum, a.moment_about(held)));
    let force = acts().fold([0.0; 3], |sum, a| add(sum, a.newtons));
    let size = part.size_mm();
    let least = (0..3).min_by(|&a, &b| size[a].total_cmp(&size[b])).unwrap_or(0);
    let most = (0..3).max_by(|&a, &b| moment[a].abs().total_cmp(&moment[b].abs())).unwrap_or(0);
    if norm(moment) > TURNS * norm(force) * part.longest_mm() { most } else { least }
}

/// A moment of less than this of the force times the part's length turns nothing.
const TURNS: f64 = 0.02;

/// Returns how far the middle of where a load acts is from the nearest middle of what holds the part, mm; from the nearest of it
/// where that is farther, as in the middle of a plate that screws hold all round.
pub fn lever_mm(world: &World<'_>, load: usize) -> Option<f64> {
    let known = world.loads.get(load)?.load;
    world.load_facts.levers.of(known, || measured_lever_mm(world, world.spec.loads.get(load)?))
}

fn measured_lever_mm(world: &World<'_>, load: &Load) -> Option<f64> {
    let figures = Figures::of(world.knowledge.catalogue);
    let asked = Asked { spec: world.spec, part: world.part, fits: &world.fit_places, figures };
    let case = Case::of(asked, load).ok()?;
    let mesh = &world.part.mesh;
    let far = |at: Vector| {
        let of = |h: &field::Hold| {
            let nearest = h.on.spread(mesh).into_iter().map(|(p, _)| norm(sub(at, p))).min_by(f64::total_cmp);
            let (middle, nearest) = (norm(sub(at, middle(&h.on, mesh)?)), nearest?);
            // Of a large face the triangles' middles lie off its own.
            Some(if nearest > 2.0 * middle { nearest } else { middle })
        };
        case.holds.iter().filter_map(of).min_by(f64::total_cmp)
    };
    let acts = case.loads.iter().filter_map(|l| acting(&l.kind, mesh, world.part.volume_mm3));
    acts.filter_map(|a| far(a.at)).max_by(f64::total_cmp).filter(|far| *far > 0.0)
}

/// Returns the axis of the file that a direction is about along, which is the one a person measures along; else the direction.
pub(super) fn by_the_file(toward: Vector) -> Vector {
    let axis = |k: usize| std::array::from_fn(|i| if i == k { toward[k].signum() } else { 0.0 });
    (0..3).find(|&k| toward[k].abs() > ABOUT_ALONG).map_or(toward, axis)
}

/// Cosine of the angle within which a section is laid along the file's axes: its area is not a hundredth larger.
const ABOUT_ALONG: f64 = 0.99;

/// Returns what a load of the field adds up to.
fn acting(load: &LoadKind, mesh: &Mesh, volume_mm3: Option<f64>) -> Option<Acting> {
    let none = [0.0; 3];
    Some(match load {
        LoadKind::Force { on, newtons } => Acting { at: middle(on, mesh)?, newtons: *newtons, newton_mm: none },
        LoadKind::Pin { centre, newtons, .. } => Acting { at: *centre, newtons: *newtons, newton_mm: none },
        LoadKind::Mate { centre, newtons, newton_mm, .. } => {
            Acting { at: *centre, newtons: *newtons, newton_mm: *newton_mm }
        }
        LoadKind::Torque { on, axis, newton_mm } => {
            let axis = scale(*axis, newton_mm / norm(*axis).max(f64::MIN_POSITIVE));
            Acting { at: middle(on, mesh)?, newtons: none, newton_mm: axis }
        }
        LoadKind::Pressure { on, mpa } => {
            let at = middle(on, mesh)?;
            let mut all = Acting { at, newtons: none, newton_mm: none };
            for (centre, vector) in on.spread(mesh) {
                let newtons = scale(vector, -mpa);
                all.newtons = add(all.newtons, newtons);
                all.newton_mm = add(all.newton_mm, cross(sub(centre, at), newtons));
            }
            all
        }
        LoadKind::Body { newtons_per_mm3 } => {
            Acting { at: heart(mesh)?, newtons: scale(*newtons_per_mm3, volume_mm3?), newton_mm: none }
        }
    })
}

/// Returns the middle of a region's surface.
fn middle(on: &Region, mesh: &Mesh) -> Option<Vector> {
    let (mut sum, mut area) = ([0.0; 3], 0.0);
    for (centre, vector) in on.spread(mesh) {
        (sum, area) = (add(sum, scale(centre, norm(vector))), area + norm(vector));
    }
    (area > 0.0).then(|| scale(sum, 1.0 / area))
}

/// Returns the centre of a closed body's volume.
fn heart(mesh: &Mesh) -> Option<Vector> {
    let (mut sum, mut volume) = ([0.0; 3], 0.0);
    for t in 0..mesh.triangles.len() {
        let [a, b, c] = mesh.corners(t);
        let six = dot(a, cross(b, c));
        (sum, volume) = (add(sum, scale(add(a, add(b, c)), 0.25 * six)), volume + six);
    }
    (volume != 0.0).then(|| scale(sum, 1.0 / volume))
}

/// Returns a beam's stress on the section through a place across a direction, from all that acts on one side of it.
fn on_section(mesh: &Mesh, at: Vector, normal: Vector, all: &[Acting]) -> Result<OnSection, NoSection> {
    let local = Slicer::new(mesh).local(at, normal).and_then(in_part_axes);
    let found = local.ok_or(NoSection::Unmeasured)?;
    let side = |a: &&Acting| dot(sub(a.at, found.centroid), normal) > 0.0;
    let (one, other): (Vec<&Acting>, Vec<&Acting>) = all.iter().partition(side);
    if one.is_empty() || other.is_empty() {
        return Err(NoSection::PartsNothing);
    }
    let newtons = one.iter().fold([0.0; 3], |sum, a| add(sum, a.newtons));
    let moment = one.iter().fold([0.0; 3], |sum, a| add(sum, a.moment_about(found.centroid)));
    let whole = cut(mesh, at, normal).and_then(in_part_axes).map_or(found.area_mm2, |c| c.area_mm2);
    Ok(stressed(&found, normal, newtons, moment, whole > MORE * found.area_mm2))
}

/// A plane whose section is larger by this cuts the part at more than one place.
const MORE: f64 = 1.01;

fn stressed(found: &Cut, normal: Vector, newtons: Vector, moment: Vector, shared: bool) -> OnSection {
    let along = dot(newtons, normal);
    let across = norm(sub(newtons, scale(normal, along)));
    let twist = dot(moment, normal);
    let bends = sub(moment, scale(normal, twist));
    OnSection {
        centre: found.centroid,
        normal,
        area_mm2: found.area_mm2,
        inertia_mm4: found.inertia_mm4,
        reach_mm: found.reach_mm,
        shared,
        newtons: [along.abs(), across],
        newton_mm: [norm(bends), twist.abs()],
        direct_mpa: along.abs() / found.area_mm2,
        bending_mpa: found.bending(normal, bends),
        shear_mpa: SHEAR * across / found.area_mm2,
        bends,
        cut: found.clone(),
    }
}

/// The greatest shear stress of a rectangle over its mean (handbook: Gere, *Mechanics of Materials*, ch. 5).
const SHEAR: f64 = 1.5;
