//! Strength of the printed part under each load, by pose and material: stresses of the field turned into layer axes,
//! strengths reduced by heat, time and repetition, and the margin between them.

mod at_once;
mod bearing;
mod cored;
pub mod hand;
mod lasting;
mod moves;
pub mod said;
mod sums;
mod thicker;
mod warmth;

pub use at_once::{Between, together};
pub use bearing::{Pressed, bearing};
pub use cored::{Across, Cored};
pub use lasting::{Lasting, cycles_open, held_open, lasting_across};
pub use moves::{Buckling, Moves, buckling, closes, deflection, may_buckle, moves};
pub use said::Left;
pub use sums::{Ends, Sums, sums};
pub use thicker::Thick;
pub use warmth::hangs_on_usual_heat;

use lasting::{Reduction, held, moist};
use warmth::Warmth;

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::sync::{Arc, OnceLock};

use rayon::prelude::*;

use crate::catalogue::words::Morphology;
use crate::catalogue::{Catalogue, Figure, Material, figures};
use crate::geometry::section::slicer::Slicer;
use crate::geometry::vector::{Vector, dot};
use crate::physics::Band;
use crate::physics::strength as law;
use crate::physics::strength::{Factors, LoadCase, Strengths};
use crate::physics::sustained::Retention;
use crate::quantity::{Length, Quantity, Ratio, Stress};
use crate::rulebook::value;
use crate::rulebook::value::Origin;
use crate::semantics::spec::{Course, Load, Spec};

use said::{Beam, Fails, Governs};

use super::elastic::said::Of;
use super::elastic::solved;
use super::elastic::solved::{Solved, Spot};
use super::elastic::{Assumed, Figures, NotKnown};
use super::mixing::Memo;
use super::part::Part;
use super::world::World;
use crate::field;
use crate::geometry::survey::PoseFacts;

/// A load that comes on suddenly stresses twice as much as the same load laid on gently (handbook: suddenly applied
/// load on an elastic bar, e.g. Gere, *Mechanics of Materials*, ch. 2).
const SUDDEN: f64 = 2.0;
/// A neutral material for comparing poses: half as strong across the layers as along them, pressed a little stronger than
/// pulled and hardly weaker across (as the low ends of the catalogue's `compression_to_tension` and `pressed_across_to_along`).
const NEUTRAL: [f64; 3] = [1.0, 0.5, 0.55];
const NEUTRAL_PRESSED: [f64; 2] = [1.1, 0.8];

/// The governing stress of a load in a pose.
#[derive(Debug, Clone)]
pub struct InPose {
    pub stress_mpa: f64,
    /// Angle between the greatest pull and the layer plane, radians; where nothing that counts is pulled, that of what presses.
    pub angle: f64,
    /// Whether anything that counts is pulled; what presses parts no layers.
    pub pulls: bool,
    pub working: Governs,
}

/// A load's margin in a material and pose.
#[derive(Debug, Clone)]
pub struct LoadMargin {
    pub demand_mpa: f64,
    pub capacity_mpa: f64,
    /// With the low end of the strengths: capacity over demand, the factor counted in the demand.
    pub margin: f64,
    /// With their typical values.
    pub typical: f64,
    /// The section through the place where it fails first.
    pub across: Across,
    /// How thick the part is where it fails first, where that has to be known.
    pub thick: Option<Thick>,
    /// How much larger the margin may be, where the stress still hangs on the grid.
    pub slack: f64,
    /// How far apart two grids are, as a part of the stress.
    pub apart: f64,
    /// In short; [`sums`] has all of it.
    pub working: Fails,
    pub assumed: Vec<Assumed>,
}

/// Returns the factor on a load the spec gives none for, by consequence of failure.
pub fn usual_factor(spec: &Spec, catalogue: &Catalogue) -> (f64, Origin) {
    let consequence = spec.consequence();
    let figure = catalogue.figure_for(figures::LOAD_FACTOR, consequence);
    let (factor, kind) = (figure.typ, figure.kind);
    (factor, Origin::Assumed(value::Assumed::LoadFactor { factor, consequence, kind }))
}

fn factor(spec: &Spec, load: &Load, catalogue: &Catalogue) -> f64 {
    load.factor.map_or_else(|| usual_factor(spec, catalogue).0, |f| f.value)
}

/// Returns what the catalogue says of time and repetition: a polymer's own figures of strength where it has them.
fn retention(catalogue: &Catalogue, material: Option<&Material>) -> Retention {
    let own = |figure: &Option<Figure<Ratio>>| {
        let si = |r: Ratio| Quantity::from(r).si;
        figure.as_ref().map(|f| Band { low: si(f.low()), typical: si(f.typ), high: si(f.high()) })
    };
    let (along, across) = (catalogue.band(figures::FATIGUE_ALONG), catalogue.band(figures::FATIGUE_ACROSS));
    // Across the layers nobody measured a polymer's own: the usual share of what it keeps along them.
    let of_own = material.and_then(|m| own(&m.fatigue)).map(|f| {
        let across = Band {
            low: f.low * across.low / along.low,
            typical: f.typical * across.typical / along.typical,
            high: f.high * across.high / along.high,
        };
        (f, across)
    });
    let (along, across) = of_own.unwrap_or((along, across));
    // A polymer's own figure was measured within hours.
    let own_days = material.and_then(|m| own(&m.sustained_days));
    Retention {
        hour: own_days,
        days: own_days.unwrap_or_else(|| catalogue.band(figures::SUSTAINED_DAYS)),
        years: material.and_then(|m| own(&m.sustained)).unwrap_or_else(|| catalogue.band(figures::SUSTAINED_YEARS)),
        along,
        across,
        pressed: catalogue.band(figures::FATIGUE_PRESSED),
    }
}

/// Returns what a load strains the part more for coming on suddenly.
pub fn sudden(load: &Load) -> f64 {
    if load.course.value == Course::Shock { SUDDEN } else { 1.0 }
}

/// Returns what a load counts by in a material: a part's own mass by its density over the one it was solved with.
pub fn weighs(world: &World<'_>, load: usize, material: usize) -> f64 {
    let by_mass = world.spec.loads.get(load).is_some_and(|l| l.acceleration.is_some());
    let Some(entry) = world.bench.materials.get(material).filter(|_| by_mass) else { return 1.0 };
    entry.density.high().to_g_per_cm3() / Figures::of(world.knowledge.catalogue).density.to_g_per_cm3()
}

/// Returns the stress of a place in layer axes.
fn in_layers(spot: &Spot, up: Vector, raise: f64) -> law::LayerStress {
    let [along, across, shear] = spot.in_layers(up).map(|s| Stress::mpa(s * raise));
    law::LayerStress { along, across, shear }
}

/// Returns the angle between the direction of a stress and the layer plane, radians.
fn angle(way: Vector, up: Vector) -> f64 {
    dot(way, up).abs().clamp(0.0, 1.0).asin()
}

/// The stresses of a load's telling places in the layer axes of a pose, whatever the material.
#[derive(Debug)]
pub struct Stresses {
    /// With the index of the place they are at.
    turned: Vec<(law::LayerStress, usize)>,
    /// The place that governs for a neutral material.
    governing: Option<usize>,
    /// The direction of the pull that strains it most, where that counts beside what governs.
    pulled: Option<Vector>,
}

/// Turns the stresses of places into the layer axes of a pose.
fn turned(spots: &[Spot], up: Vector, raise: f64) -> Vec<(law::LayerStress, usize)> {
    spots.iter().enumerate().map(|(i, spot)| (in_layers(spot, up, raise), i)).collect()
}

/// Returns what a load does to the part; the error says why that is not known.
fn solved<'w>(world: &'w World<'_>, load: usize) -> Result<&'w Solved, NotKnown> {
    match world.part.fields.get(load) {
        Some(Ok(solved)) => Ok(solved),
        Some(Err(why)) => Err(why.clone()),
        None => Err(NotKnown::NotSolved),
    }
}

/// Returns a solution that may decide; the error says why another may not.
fn sound(solved: &Solved) -> Result<&Solved, NotKnown> {
    match &solved.unsolved {
        None => Ok(solved),
        Some(why) => {
            Err(NotKnown::OnGrid { cells: solved.cells, cell: Length::mm(solved.cell_mm), why: why.as_str().into() })
        }
    }
}

impl Solved {
    /// Returns how much smaller than counted the stresses may be, where the grids leave that open.
    fn slack(&self) -> f64 {
        match (&self.open, self.is_settled()) {
            (Some(_), _) => self.doubt * self.doubt,
            // What holds by the finest grid and not by all that the two leave open is not shown to break.
            (None, false) => self.doubt,
            (None, true) => 1.0,
        }
    }

    /// Whether two grids say the same of its stresses, as near as anything is judged.
    pub fn is_settled(&self) -> bool {
        self.apart <= field::SETTLED_STRESS
    }
}

/// What loads do to a part, kept for all worlds that ask of the same loads whatever the size they give them: stresses and the
/// place where a material fails first are those of the size stated first, and grow with it.
#[derive(Debug, Default)]
pub struct LoadFacts {
    /// By load and pose.
    stresses: Memo<(usize, usize), Option<Arc<Stresses>>>,
    weakest: Memo<Weakest, Option<usize>>,
    together: Memo<at_once::Sum, Option<at_once::Worst>>,
    /// Of a load's stresses where it is added to others, by load and pose.
    sizes: Memo<(usize, usize), at_once::Sizes>,
    /// How thick the part is by load and place, and by which law that counts: the mesh is one for every variant.
    thickness: Memo<(usize, [u64; 3]), Option<Thick>>,
    /// What acts and what holds, by load.
    balances: Memo<usize, Option<Arc<hand::Balance>>>,
    /// The sharp inner corners of the part, and the one beside a place.
    corners: OnceLock<field::Corners>,
    beside_a_corner: Memo<[u64; 3], Option<Vector>>,
    /// How far from what holds the part a load acts, by load.
    levers: Memo<usize, Option<f64>>,
    /// Sections of the part by place and direction, as bits.
    sections: Memo<[u64; 6], Option<Arc<Cored>>>,
    /// Whether a load can buckle the part before it crushes it, in any material and of any size.
    buckles: Memo<usize, bool>,
}

/// What the place where a material fails first hangs on; heat and factors count for all places alike, and time but for rubber.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
struct Weakest {
    load: usize,
    pose: usize,
    material: usize,
    pick: Pick,
    /// What of the reductions counts for one place more than for another, as bits.
    reduced: [u64; 5],
}

/// The factors that differ by place, as a key.
fn bits(by_place: &Factors) -> [u64; 5] {
    let tired = by_place.fatigue_pressed.unwrap_or(0.0);
    [by_place.sustained, by_place.pressed(), by_place.fatigue_along, by_place.fatigue_across, tired].map(f64::to_bits)
}

/// A load as a world and its variants know it.
#[derive(Debug, Clone, Copy)]
pub struct Known {
    /// Its place in the spec that was asked first.
    pub load: usize,
    /// Its size over the size it had there.
    pub ratio: f64,
}

impl Known {
    /// Returns the loads of the spec that is asked first.
    pub fn first(spec: &Spec) -> Vec<Self> {
        (0..spec.loads.len()).map(|load| Known { load, ratio: 1.0 }).collect()
    }

    /// Returns the loads of a spec beside another: the same by name, perhaps of another size.
    pub fn for_variant(spec: &Spec, other: &Spec, known: &[Known]) -> Option<Vec<Self>> {
        let places: BTreeMap<&str, usize> =
            other.loads.iter().enumerate().map(|(i, l)| (l.name.value.as_str(), i)).collect();
        let of = |load: &Load| {
            let at = *places.get(load.name.value.as_str())?;
            let ratio = size(load)? / size(other.loads.get(at)?)?;
            let first = known.get(at)?;
            (ratio.is_finite() && ratio > 0.0).then_some(Known { load: first.load, ratio: first.ratio * ratio })
        };
        spec.loads.iter().map(of).collect()
    }
}

/// The size of a load, N or Nm.
fn size(load: &Load) -> Option<f64> {
    load.size().map(|q| q.si)
}

/// Returns the stresses of a load in a pose, worked out once for all materials and sizes.
fn stresses(world: &World<'_>, load: usize, pose: usize) -> Option<Arc<Stresses>> {
    let known = world.loads.get(load)?;
    world.load_facts.stresses.of((known.load, pose), || turned_into(world, load, known.ratio, pose).map(Arc::new))
}

fn turned_into(world: &World<'_>, load: usize, ratio: f64, pose: usize) -> Option<Stresses> {
    let solved = solved(world, load).ok()?;
    let up = world.part.poses.get(pose)?.pose.up;
    let turned = turned(&solved.spots, up, sudden(world.spec.loads.get(load)?) / ratio);
    let governing = least(&turned, &neutral(), &Factors::NONE);
    let counts = world.knowledge.catalogue.value(figures::PULLED_COUNTS);
    let pulled = governing.as_ref().and_then(|(worst, _)| {
        let (margin, way) = most_pulled(&solved.spots, up, sudden(world.spec.loads.get(load)?) / ratio)?;
        (counts * margin <= worst.margin).then_some(way)
    });
    Some(Stresses { turned, governing: governing.map(|(_, at)| at), pulled })
}

/// Returns the margin and the direction of the pull that strains a neutral material most, whatever presses beside it.
fn most_pulled(spots: &[Spot], up: Vector, raise: f64) -> Option<(f64, Vector)> {
    let pulls = spots.iter().filter_map(|spot| {
        let (value, way) = Some(field::most_pulled(&spot.judged())).filter(|(value, _)| *value > 0.0)?;
        let sine = dot(way, up);
        let [along, across, shear] = [1.0 - sine * sine, sine * sine, sine.abs() * (1.0 - sine * sine).max(0.0).sqrt()]
            .map(|share| Stress::mpa(value * raise * share));
        let stress = law::LayerStress { along, across, shear };
        Some((law::assess(&LoadCase { stress }, &neutral(), &Factors::NONE).ok()?.margin, way))
    });
    pulls.min_by(|a, b| a.0.total_cmp(&b.0))
}

/// Returns the margin of a load at the place where a material fails first, and the cut it is at.
fn first_to_fail(
    world: &World<'_>,
    load: usize,
    pose: usize,
    material: usize,
    pick: Pick,
    factors: &Factors,
) -> Option<(law::Margin, usize)> {
    let known = world.loads.get(load)?;
    let cuts = stresses(world, load, pose)?;
    let strengths = strengths(world.bench.materials.get(material)?, world.knowledge.catalogue, pick);
    let by_place = factors.by_place();
    let key = Weakest { load: known.load, pose, material, pick, reduced: bits(&by_place) };
    let at = world.load_facts.weakest.of(key, || weakest(&cuts.turned, &strengths, &by_place))?;
    let (stress, cut) = cuts.turned.get(at)?;
    let times = known.ratio * weighs(world, load, material);
    let scale = |s: Stress| Stress::mpa(s.to_mpa() * times);
    let stress =
        law::LayerStress { along: scale(stress.along), across: scale(stress.across), shear: scale(stress.shear) };
    Some((law::assess(&LoadCase { stress }, &strengths, factors).ok()?, *cut))
}

/// Returns the least margin over the cuts, and the cut it is at.
fn least(cuts: &[(law::LayerStress, usize)], strengths: &Strengths, factors: &Factors) -> Option<(law::Margin, usize)> {
    let &(stress, cut) = cuts.get(weakest(cuts, strengths, factors)?)?;
    Some((law::assess(&LoadCase { stress }, strengths, factors).ok()?, cut))
}

/// Returns where in a list of cuts the margin is least.
fn weakest(cuts: &[(law::LayerStress, usize)], strengths: &Strengths, factors: &Factors) -> Option<usize> {
    let mut worst: Option<(f64, usize)> = None;
    for (place, &(stress, _)) in cuts.iter().enumerate() {
        let Ok(margin) = law::assess(&LoadCase { stress }, strengths, factors) else { continue };
        if worst.is_none_or(|(least, _)| margin.margin < least) {
            worst = Some((margin.margin, place));
        }
    }
    worst.map(|(_, place)| place)
}

fn neutral() -> Strengths {
    let [x, y, s] = NEUTRAL.map(Stress::mpa);
    let [along, across] = NEUTRAL_PRESSED.map(|p| Some(Stress::mpa(p)));
    Strengths { along_compression: along, across_compression: across, ..Strengths::tensile(x, y, s) }
}

/// Returns the governing stress of a load in a pose, judged by a neutral material.
pub fn in_pose(world: &World<'_>, load: usize, pose: usize) -> Option<InPose> {
    let solved = solved(world, load).ok()?;
    let up = world.part.poses.get(pose)?.pose.up;
    let raise = sudden(world.spec.loads.get(load)?);
    let stresses = stresses(world, load, pose)?;
    let spot = solved.spots.get(stresses.governing?)?;
    let (value, way) = field::governing(&spot.judged());
    // Where what presses is left out, shear between the layers may be all that is left.
    let [.., between] = spot.in_layers(up);
    let sheared = between > value.abs();
    let value = if sheared { between } else { value };
    Some(InPose {
        stress_mpa: value.abs() * raise,
        angle: angle(stresses.pulled.unwrap_or(way), up),
        pulls: stresses.pulled.is_some(),
        working: Governs { stress: Stress::mpa(value * raise), at: spot.at, sudden: raise > 1.0, sheared },
    })
}

/// Returns, for each pose, the least margin of any load over that of the best pose, for a neutral material.
pub fn relative_margins(part: &Part) -> Vec<Option<f64>> {
    let of = |pose: &PoseFacts| -> Option<f64> {
        let margins = part.fields.iter().flatten().filter_map(|solved| {
            least(&turned(&solved.spots, pose.pose.up, 1.0), &neutral(), &Factors::NONE).map(|(m, _)| m.margin)
        });
        margins.fold(None, |least: Option<f64>, m| Some(least.map_or(m, |l| l.min(m))))
    };
    let margins: Vec<Option<f64>> = part.poses.iter().map(of).collect();
    let best = margins.iter().flatten().copied().fold(0.0, f64::max);
    margins.into_iter().map(|m| m.filter(|_| best > 0.0).map(|m| m / best)).collect()
}

/// Returns the margin of a load in a material and pose; the error says what is missing.
pub fn margin(world: &World<'_>, load: usize, material: usize, pose: usize) -> Result<LoadMargin, NotKnown> {
    let (margin, spot) = bare_margin(world, load, material, pose)?;
    let stated = world.spec.loads.get(load).ok_or(NotKnown::NoSuch(Of::Load))?;
    let solved = solved(world, load)?;
    // A part drawn thicker is heavier: that law is none of a section's.
    let breaks = margin.margin < 1.0 && solved.open.is_none() && stated.acceleration.is_none();
    let thick = breaks.then(|| thicker::thick(world, load, spot)).flatten();
    Ok(LoadMargin { thick, ..margin })
}

/// Returns the same without how thick the part is where it breaks, and the place where that is.
fn bare_margin<'w>(
    world: &'w World<'_>,
    load: usize,
    material: usize,
    pose: usize,
) -> Result<(LoadMargin, &'w Spot), NotKnown> {
    let stated = world.spec.loads.get(load).ok_or(NotKnown::NoSuch(Of::Load))?;
    let solved = sound(solved(world, load)?)?;
    let entry = *world.bench.materials.get(material).ok_or(NotKnown::NoSuch(Of::Material))?;
    let mut assumed = solved.assumed.clone();
    let catalogue = world.knowledge.catalogue;
    let asked = factor(world.spec, stated, catalogue);
    let warmth = Warmth::of(world, stated, material).ok_or(NotKnown::Warmth)?;
    let consequence = world.spec.consequence();
    let all = Reduction::each(stated, entry, warmth, (asked, consequence), catalogue, &mut assumed)?;
    let at = |pick: Pick, factors: &Factors| first_to_fail(world, load, pose, material, pick, factors);
    let reduced = Reduction::worst(all, |factors| at(Pick::Low, factors).map_or(0.0, |(low, _)| low.margin))?;
    let (low, spot) = at(Pick::Low, &reduced.low).ok_or(NotKnown::Unstressed)?;
    let spot = solved.spots.get(spot).ok_or(NotKnown::Unstressed)?;
    let (typical, _) = at(Pick::Typical, &reduced.typical).ok_or(NotKnown::Unstressed)?;
    // What the coarser grid says otherwise counts against the part.
    let doubt = solved.doubt;
    let margin = LoadMargin {
        demand_mpa: low.demand.to_mpa(),
        capacity_mpa: low.capacity.to_mpa() / doubt,
        margin: low.margin / doubt,
        typical: typical.margin,
        across: Across::of(spot.at, &spot.judged()),
        slack: solved.slack(),
        apart: solved.apart,
        thick: None,
        working: Fails { at: spot.at, factor: asked },
        assumed,
    };
    Ok((margin, spot))
}

/// Returns the sharp inner corner that a place of the part lies beside, if it does.
pub fn corner(world: &World<'_>, at: Vector) -> Option<Vector> {
    let facts = &world.load_facts;
    let corners = || facts.corners.get_or_init(|| field::Corners::of(&world.part.mesh));
    facts.beside_a_corner.of(at.map(f64::to_bits), || corners().beside(at))
}

/// Returns the loads of which a material at its best way up, or a way up in its best material, is said to hold or not by how far
/// two grids are apart.
pub fn hanging_on_the_grid(world: &World<'_>) -> Vec<usize> {
    let loads = (0..world.part.fields.len()).into_par_iter();
    let hangs = |load: usize, doubt: f64| {
        let (materials, poses) = (0..world.bench.materials.len(), 0..world.part.poses.len());
        let of = |m: usize, pose: usize| bare_margin(world, load, m, pose).map_or(0.0, |(found, _)| found.margin);
        let all: Vec<Vec<f64>> = materials.map(|m| poses.clone().map(|pose| of(m, pose)).collect()).collect();
        let by_material = all.iter().map(|ways| ways.iter().copied().fold(0.0, f64::max));
        let by_pose = poses.map(|pose| all.iter().filter_map(|ways| ways.get(pose)).copied().fold(0.0, f64::max));
        by_material.chain(by_pose).any(|best| best < 1.0 && best * doubt >= 1.0)
    };
    let unsettled = |load: &usize| {
        let solved = world.part.fields.get(*load).and_then(|found| found.as_ref().ok());
        solved.is_some_and(|s| s.unsolved.is_none() && !s.spent && !s.is_settled() && hangs(*load, s.doubt))
    };
    loads.filter(unsettled).collect()
}

/// Returns how thick the part is where a load strains a material most in a pose, whether it breaks there or not.
pub fn thick_where_strained(world: &World<'_>, load: usize, material: usize, pose: usize) -> Option<Thick> {
    let (_, spot) = first_to_fail(world, load, pose, material, Pick::Low, &Factors::NONE)?;
    thicker::thick(world, load, solved(world, load).ok()?.spots.get(spot)?)
}

/// A load as it is drawn: the one that comes nearest to breaking the part.
pub struct Shown<'w> {
    pub load: String,
    pub size: String,
    pub up: Vector,
    pub view: Cow<'w, solved::View>,
    pub sums: Sums,
    pub hand: hand::Hand,
    /// How far it moves where it acts, mm, and the same times the modulus of `view`.
    pub moves: Option<[f64; 2]>,
}

/// Returns the load to be drawn; `None` where none was solved.
pub fn shown<'w>(world: &'w World<'_>, material: usize, pose: usize) -> Option<Shown<'w>> {
    let ratio = |load: usize| margin(world, load, material, pose).ok().map(|m| (load, m.margin));
    let all = (0..world.spec.loads.len()).filter_map(ratio);
    let (load, _) = all.min_by(|a, b| a.1.total_cmp(&b.1))?;
    let stated = world.spec.loads.get(load)?;
    let solved = solved(world, load).ok()?;
    let unit = solved.displacement[0].abs() * sudden(stated) * weighs(world, load, material);
    Some(Shown {
        load: stated.name.value.clone(),
        size: stated.size().map_or(String::new(), |s| s.to_string()),
        up: world.part.poses.get(pose)?.pose.up,
        view: match solved.view_times * weighs(world, load, material) {
            1.0 => Cow::Borrowed(&solved.view),
            times => Cow::Owned(solved.view.times(times)),
        },
        sums: sums(world, load, material, pose).ok()?,
        hand: hand::hand(world, load, material, pose).ok()?,
        moves: moves(world, load, material).map(|(mm, _)| [mm, unit]),
    })
}

/// The hand sum beside the field: beam statics at the section that is stressed most.
fn by_hand(world: &World<'_>, load: usize, raise: f64) -> Option<Beam> {
    let path = world.part.loads.get(load)?.as_ref()?;
    let mesh = &world.part.mesh;
    let stations = path.stations(mesh, &Slicer::new(mesh));
    let worst = stations.iter().max_by(|a, b| a.tension_mpa.total_cmp(&b.tension_mpa))?;
    Some(Beam {
        stress: Stress::mpa(worst.tension_mpa * path.times * raise),
        area_mm2: worst.area_mm2,
        at: worst.centre,
    })
}

/// Returns the strengths of a material as printed, with what the moisture of the air leaves of them. Pressed layers do not
/// part: the strength across them is then near that along.
fn strengths(material: &Material, catalogue: &Catalogue, pick: Pick) -> Strengths {
    let kept = moist(material.conditioned_strength.as_ref(), pick);
    let share = |figure: &Figure<Stress>, share: f64| Stress::mpa(pick.of(figure).to_mpa() * kept * share);
    let of = |key| {
        let band = catalogue.band(key);
        if matches!(pick, Pick::Low) { band.low } else { band.typical }
    };
    let along = &material.strength_along;
    // Rubber is not crushed from bead to bead: what it bears pressed is how far it may be pressed together, any way.
    let rubber = material.morphology.value == Morphology::Elastomer;
    let pressed = of(figures::COMPRESSION_TO_TENSION);
    let across = if rubber { 1.0 } else { of(figures::PRESSED_ACROSS_TO_ALONG) };
    Strengths {
        along_compression: Some(share(along, pressed)),
        across_compression: Some(share(along, pressed * across)),
        ..Strengths::tensile(
            share(along, 1.0),
            share(&material.strength_across, 1.0),
            share(along, catalogue.value(figures::SHEAR_TO_ALONG)),
        )
    }
}

/// Returns the share of its strength when pressed that rubber may be held pressed with for long, by pick: up to the strain
/// that pads of rubber are designed by. `None` for what is no rubber.
fn held_pressed(material: &Material, catalogue: &Catalogue, pick: Pick) -> Option<f64> {
    let rubber = material.modulus.as_ref().filter(|_| material.morphology.value == Morphology::Elastomer)?;
    let of = |key| {
        let band = catalogue.band(key);
        if matches!(pick, Pick::Low) { band.low } else { band.typical }
    };
    let bears = pick.of(&material.strength_along).to_mpa() * of(figures::COMPRESSION_TO_TENSION);
    (bears > 0.0).then(|| (pick.of(rubber).to_mpa() * of(figures::RUBBER_PRESSED_STRAIN) / bears).min(1.0))
}

/// Which end of a figure counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
enum Pick {
    Low,
    Typical,
}

impl Pick {
    fn of<T: Copy>(self, figure: &Figure<T>) -> T {
        match self {
            Self::Low => figure.low(),
            Self::Typical => figure.typ,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diag::{Source, Sources};
    use crate::quantity::Temperature;
    use crate::resolve::elastic::Figures;
    use crate::semantics::spec::Consequence;

    fn held(time: &str) -> Load {
        let text = format!(
            "part \"p\" {{ mesh \"p.stl\" in mm; load \"a\" {{ force 1 N toward -z; held {time}; factor 1 }} }}"
        );
        let mut sources = Sources::default();
        let id = sources.add(Source::new("p.partspec", text.as_str()));
        let tree = crate::syntax::parse(id, &text).value.unwrap();
        crate::semantics::check(&[tree], &sources).value.unwrap().parts.remove(0).loads.remove(0)
    }

    /// Else a load that it bears would be refused without a closer look.
    #[test]
    fn no_material_is_counted_to_bear_what_it_is_hopeless_at() {
        let (catalogue, _) = crate::catalogue::built_in();
        let all = [Consequence::Nuisance, Consequence::Damage, Consequence::Injury];
        let warmth = Warmth { highest: Temperature::celsius(20.0), usual: None, sunlit: false, shade: None };
        let mut nearest: f64 = 0.0;
        for (load, long) in [(held("1 min"), 0), (held("1 year"), 1), (held("10 years"), 1)] {
            for (material, consequence) in catalogue.materials.values().flat_map(|m| all.map(|c| (m, c))) {
                let asked = (1.0, consequence);
                let left = Reduction::each(&load, material, warmth, asked, &catalogue, &mut Vec::new());
                let left = left.unwrap().remove(0).low;
                let strengths = strengths(material, &catalogue, Pick::Low);
                let pulled = strengths.along.to_mpa() * left.sustained;
                let pressed = strengths.along_compression.unwrap().to_mpa() * left.pressed();
                let bears = pulled.max(pressed) * left.hot * left.relief;
                let figures = Figures::of(&catalogue).with_materials(&catalogue, |name| name == material.name);
                let hopeless = figures.bears_mpa[consequence as usize][long];
                assert!(bears <= hopeless * (1.0 + 1e-9), "{} {bears} {hopeless}", material.name);
                nearest = nearest.max(bears / hopeless);
            }
        }
        assert!(nearest > 0.9, "the bound is not idle: {nearest}");
    }
}
