//! Strength of the printed part under each load, by pose and material: stresses of the field turned into layer axes,
//! strengths reduced by heat, time and repetition, and the margin between them.

mod at_once;
mod bearing;
mod cored;
pub mod hand;
pub mod said;
mod sums;
mod thicker;

pub use at_once::{Between, together};
pub use bearing::{Pressed, bearing};
pub use cored::{Across, Cored};
pub use said::Left;
pub use sums::{Ends, Sums, sums};
pub use thicker::Thick;

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::sync::Arc;

use crate::catalogue::words::Morphology;
use crate::catalogue::{Catalogue, Figure, Material, figures};
use crate::geometry::vector::{Vector, dot};
use crate::physics::Band;
use crate::physics::strength::{self as law, Factors, LoadCase, LoadHistory, Outlook, Strengths};
use crate::physics::sustained::Retention;
use crate::quantity::{Duration, Length, Quantity, Ratio, Stress, Temperature};
use crate::rulebook::value::{self, Origin};
use crate::semantics::spec::{Consequence, Course, Load, Spec};

use said::{Beam, Buckles, Fails, Gives, Governs, Stiffness};

use super::elastic::said::Of;
use super::elastic::solved::{self, ON_ITS_WAY, Solved, Spot};
use super::elastic::{Assumed, Figures, NotKnown, Taken};
use super::heat;
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
    Ok(LoadMargin {
        demand_mpa: low.demand.to_mpa(),
        capacity_mpa: low.capacity.to_mpa() / doubt,
        margin: low.margin / doubt,
        typical: typical.margin,
        across: Across::of(spot.at, &spot.judged()),
        slack: solved.slack(),
        apart: solved.apart,
        // A part drawn thicker is heavier: that law is none of a section's.
        thick: (low.margin < doubt && solved.open.is_none() && stated.acceleration.is_none())
            .then(|| thicker::thick(world, load, spot))
            .flatten(),
        working: Fails { at: spot.at, factor: asked },
        assumed,
    })
}

/// Returns the loads of which a material at its best way up, or a way up in its best material, is said to hold or not by how far
/// two grids are apart.
pub fn hanging_on_the_grid(world: &World<'_>) -> Vec<usize> {
    let loads = 0..world.part.fields.len();
    let hangs = |load: usize, doubt: f64| {
        let (materials, poses) = (0..world.bench.materials.len(), 0..world.part.poses.len());
        let of = |m: usize, pose: usize| margin(world, load, m, pose).map_or(0.0, |found| found.margin);
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
        moves: moves(world, load, material).map(|mm| [mm, unit]),
    })
}

/// The hand sum beside the field: beam statics at the section that is stressed most.
fn by_hand(world: &World<'_>, load: usize, raise: f64) -> Option<Beam> {
    let path = world.part.loads.get(load)?.as_ref()?;
    let worst = path.stations.iter().max_by(|a, b| a.tension_mpa.total_cmp(&b.tension_mpa))?;
    Some(Beam { stress: Stress::mpa(worst.tension_mpa * raise), area_mm2: worst.area_mm2, at: worst.centre })
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

/// Returns what the moisture of the air leaves of a dry figure; all where the material does not mind it.
fn moist(kept: Option<&Figure<Ratio>>, pick: Pick) -> f64 {
    kept.map_or(1.0, |k| Quantity::from(pick.of(k)).si)
}

/// How warm a part is under a load.
#[derive(Debug, Clone, Copy)]
struct Warmth {
    highest: Temperature,
    /// Most of the time, where the spec says so and the load says nothing else.
    usual: Option<Temperature>,
    /// It is the sun that heats it so.
    sunlit: bool,
    /// The warmest air, where the sun heats the part out of it and nothing says how warm it usually is: at night and under
    /// clouds it is no warmer. Who can be hurt is not left to what suns usually do.
    shade: Option<Temperature>,
}

impl Warmth {
    fn of(world: &World<'_>, load: &Load, material: usize) -> Option<Self> {
        match load.temperature {
            Some(stated) => Some(Self { highest: stated.value, usual: None, sunlit: false, shade: None }),
            None => Self::unstated(world, material),
        }
    }

    /// Of what states no temperature of its own.
    fn unstated(world: &World<'_>, material: usize) -> Option<Self> {
        let (usual, part) = (world.spec.service.usual.map(|u| u.value), Self::of_part(world, material)?);
        let open = part.sunlit && usual.is_none() && world.spec.consequence() != Consequence::Injury;
        let shade = open.then(|| heat::warmest_air(world.spec, world.knowledge.catalogue)).flatten();
        Some(Self { usual, shade: shade.filter(|air| *air < part.highest), ..part })
    }

    fn of_part(world: &World<'_>, material: usize) -> Option<Self> {
        world.heat(material).map(|h| Self {
            highest: h.temperature,
            usual: None,
            sunlit: h.sunlit && world.spec.service.peak.is_none(),
            shade: None,
        })
    }

    /// How warm it is while the sun shines on it as it mostly does, where nothing says so: halfway from the air to its hottest.
    fn in_plain_sun(self) -> Option<Temperature> {
        self.shade.map(|air| Temperature::kelvin(0.5 * (air.to_kelvin() + self.highest.to_kelvin())))
    }

    /// Returns the temperatures something is to be judged at, for how long and how often at each: as in the sum of damage over
    /// time or pulls, where all of it falls to the worse of the two (Robinson's rule of life fractions, 1952, and Miner's of
    /// cycles, 1945, from memory). A load of hours may well fall into the hottest ones whole.
    fn stretches(self, held: Duration, cycles: f64, catalogue: &Catalogue) -> Vec<Stretch> {
        let briefly = catalogue.value(figures::HELD_BRIEFLY).to_s().min(held.to_s());
        let part = |at: Temperature, share: f64| {
            let held = Duration::s((held.to_s() * share).max(briefly));
            Stretch { at, held, cycles: (cycles * share).max(1.0) }
        };
        let all = |at: Temperature| Stretch { at, held, cycles };
        let hottest = catalogue.value(if self.sunlit { figures::SUN_PEAK_SHARE } else { figures::PEAK_SHARE });
        match (self.usual.filter(|u| *u < self.highest), self.shade.zip(self.in_plain_sun())) {
            (Some(usual), _) => vec![part(self.highest, hottest), all(usual)],
            (None, Some((air, plain))) => {
                let sunny = catalogue.value(figures::SUN_PLAIN_SHARE);
                vec![part(self.highest, hottest), part(plain, sunny), all(air)]
            }
            (None, None) => vec![all(self.highest)],
        }
    }
}

/// How long and how often something is borne at a temperature.
#[derive(Debug, Clone, Copy)]
struct Stretch {
    at: Temperature,
    held: Duration,
    cycles: f64,
}

/// Returns whether a load that states no temperature would be judged otherwise if it were said how warm the part usually is.
pub fn hangs_on_usual_heat(world: &World<'_>, load: &Load, material: usize) -> bool {
    let catalogue = world.knowledge.catalogue;
    let cool = Load { temperature: None, ..load.clone() };
    let heat = Warmth::of(world, &cool, material).zip(world.bench.materials.get(material));
    heat.is_some_and(|(warmth, entry)| {
        let asked = (1.0, world.spec.consequence());
        let reduced = Reduction::each(&cool, entry, warmth, asked, catalogue, &mut Vec::new());
        reduced.is_ok_and(|all| all.first().is_some_and(|r| r.heat_open(&cool, warmth, catalogue).is_some()))
    })
}

/// What heat, time and repetition leave of a strength.
struct Reduction {
    low: Factors,
    typical: Factors,
    /// Of the worse stretch of time.
    held: Duration,
    /// All the time it is held, where the worse stretch is that of its warmest alone.
    of: Option<Duration>,
    temperature: Temperature,
    /// Of the worse stretch, and how many there are in all where that is of its warmest alone.
    cycles: f64,
    of_cycles: Option<f64>,
    /// How often was tested.
    tested: f64,
    /// Where strength is gone.
    softens: Temperature,
}

impl Reduction {
    /// Of each stretch of time that is judged for itself.
    fn each(
        load: &Load,
        material: &Material,
        warmth: Warmth,
        (asked, consequence): (f64, Consequence),
        catalogue: &Catalogue,
        assumed: &mut Vec<Assumed>,
    ) -> Result<Vec<Self>, NotKnown> {
        let course = load.course.value;
        let held = held(load, catalogue, assumed)?;
        let cycles = match load.cycles.filter(|_| course == Course::Cyclic) {
            Some(stated) => stated.value,
            None if course == Course::Cyclic => catalogue.value(figures::CYCLES_ASSUMED),
            None => 1.0,
        };
        let tested = catalogue.value(figures::CYCLES_TESTED);
        let retention = retention(catalogue, Some(material));
        let softens = softening(material, catalogue);
        let (whole, in_all) = (held, cycles);
        let at = |Stretch { at: temperature, held, cycles }: Stretch| -> Result<Self, NotKnown> {
            // A sudden load is doubled in its stresses, and nothing is known of notches.
            let history = LoadHistory { held, cycles, shock: false, factor: asked, concentration: 1.0 };
            let factors = |outlook, pick| -> Result<Factors, NotKnown> {
                let plain = Factors::for_load(&history, temperature, softens, outlook, &retention)?;
                let pressed = held_pressed(material, catalogue, pick).filter(|_| plain.sustained > 0.0);
                let long = pressed.map(|share| Band { low: share, typical: share, high: share });
                let lasts = |b: Band| Retention { hour: Some(b), days: b, years: b, ..retention }.held(held);
                let kept = long.map(lasts).transpose()?.map(|b| b.low.max(plain.sustained));
                Ok(Factors { sustained_pressed: kept, ..plain })
            };
            let (low, typical) = (factors(Outlook::Low, Pick::Low)?, factors(Outlook::Typical, Pick::Typical)?);
            let correlation = catalogue.value_for(figures::LOW_ENDS_CORRELATED, consequence);
            let low = Factors { relief: given_back(material, [&low, &typical], correlation, catalogue)?, ..low };
            let of = (held < whole).then_some(whole);
            let of_cycles = (cycles < in_all).then_some(in_all);
            Ok(Self { low, typical, held, of, temperature, cycles, of_cycles, tested, softens })
        };
        let all: Vec<Self> = warmth.stretches(held, cycles, catalogue).into_iter().map(at).collect::<Result<_, _>>()?;
        if let Some(said) = all.first().and_then(|r| r.heat_open(load, warmth, catalogue)) {
            assumed.push(said);
        }
        Ok(all)
    }

    /// Returns the one of them of which least is left, by what it leaves: for one it need not be asked.
    fn worst(mut all: Vec<Self>, left: impl Fn(&Factors) -> f64) -> Result<Self, NotKnown> {
        if all.len() > 1 {
            let ranked: Vec<f64> = all.iter().map(|r| left(&r.low)).collect();
            let worst = (0..all.len()).min_by(|a, b| ranked[*a].total_cmp(&ranked[*b]));
            return worst.map(|i| all.swap_remove(i)).ok_or(NotKnown::Warmth);
        }
        all.pop().ok_or(NotKnown::Warmth)
    }

    /// Says of a load held for long that the greatest heat was counted for all of that time, where heat takes something.
    fn heat_open(&self, load: &Load, warmth: Warmth, catalogue: &Catalogue) -> Option<Assumed> {
        let long = self.held > catalogue.value(figures::HELD_BRIEFLY);
        let open = load.course.value == Course::Steady && load.temperature.is_none() && warmth.usual.is_none();
        let warm = open && long && (self.low.hot < 1.0 || self.low.sustained <= 0.0);
        let taken = match warmth.shade.zip(warmth.in_plain_sun()) {
            Some((air, plain)) => Taken::InTheSun {
                hottest: (self.temperature, catalogue.value(figures::SUN_PEAK_SHARE)),
                plain: (plain, catalogue.value(figures::SUN_PLAIN_SHARE)),
                air,
            },
            None => Taken::WarmThroughout { at: self.temperature, held: self.held },
        };
        warm.then(|| Assumed { load: load.name.value.clone(), taken })
    }
}

/// Returns what is given back of a material's strength for not everything being at its low end at once: the least of what that
/// is along and across the layers, pulled and pressed.
fn given_back(
    material: &Material,
    [low, typical]: [&Factors; 2],
    correlation: f64,
    catalogue: &Catalogue,
) -> Result<f64, NotKnown> {
    let strength = |of: &Figure<Stress>| [Pick::Low, Pick::Typical].map(|pick| pick.of(of).to_mpa());
    let moist = [Pick::Low, Pick::Typical].map(|pick| moist(material.conditioned_strength.as_ref(), pick));
    let figure = |key| {
        let band = catalogue.band(key);
        [band.low, band.typical]
    };
    let (along, across) = (strength(&material.strength_along), strength(&material.strength_across));
    let hot = [low.hot, typical.hot];
    let (held, pressed) = ([low.sustained, typical.sustained], [low.pressed(), typical.pressed()]);
    let tired = [low.fatigue_pressed, typical.fatigue_pressed].map(|f| f.unwrap_or(1.0));
    let ways = [
        [along, moist, hot, held, [low.fatigue_along, typical.fatigue_along]],
        [across, moist, hot, held, [low.fatigue_across, typical.fatigue_across]],
        [along, moist, hot, pressed, tired],
    ];
    let of = |way: &[[f64; 2]; 5]| law::relief(way, correlation);
    let [_, _, last] = &ways;
    let crushed = [&last[..], &[figure(figures::COMPRESSION_TO_TENSION)]].concat();
    let found = ways.iter().map(of).chain([law::relief(&crushed, correlation)]).collect::<Result<Vec<_>, _>>()?;
    Ok(found.into_iter().fold(f64::INFINITY, f64::min))
}

/// Returns what heat, time and repetition leave of a material.
fn left(
    material: &Material,
    history: &LoadHistory,
    at: Temperature,
    pick: Pick,
    catalogue: &Catalogue,
) -> Result<Factors, NotKnown> {
    let outlook = if matches!(pick, Pick::Low) { Outlook::Low } else { Outlook::Typical };
    Ok(Factors::for_load(history, at, softening(material, catalogue), outlook, &retention(catalogue, Some(material)))?)
}

/// How long a load is held without a rest; only a steady one is.
fn held(load: &Load, catalogue: &Catalogue, assumed: &mut Vec<Assumed>) -> Result<Duration, NotKnown> {
    if load.course.value != Course::Steady {
        return Ok(Duration::s(0.0));
    }
    if let Some(stated) = load.held {
        return Ok(stated.value);
    }
    assumed.push(held_open(load, catalogue));
    Ok(catalogue.value(figures::HELD_ASSUMED))
}

/// Says of a load that it does not say how long it is held.
pub fn held_open(load: &Load, catalogue: &Catalogue) -> Assumed {
    Assumed { load: load.name.value.clone(), taken: Taken::Held(catalogue.value(figures::HELD_ASSUMED)) }
}

/// What is left of a strength across layers, held for years.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lasting {
    /// The low end of the strength.
    pub low: Stress,
    /// Shares left with the moisture of the air in it, at a temperature, and after years.
    pub kept: f64,
    pub at: Temperature,
    pub hot: f64,
    pub sustained: f64,
}

/// Returns what is left for a year of a material's strength across the layers, its low end, at the part's temperature and
/// that of everything it is in contact with, and how that was worked out.
pub fn lasting_across(world: &World<'_>, material: usize) -> Option<(Stress, Lasting)> {
    let entry = *world.bench.materials.get(material)?;
    let contacts = world.spec.touching().filter_map(|c| world.contact_temperature(c, Some(material)));
    let part = world.heat(material).map(|h| h.temperature);
    let hottest = contacts.chain(part).max_by(|a, b| a.to_kelvin().total_cmp(&b.to_kelvin()));
    let t = hottest?;
    let history =
        LoadHistory { held: Duration::years(1.0), cycles: 1.0, shock: false, factor: 1.0, concentration: 1.0 };
    let factors = left(entry, &history, t, Pick::Low, world.knowledge.catalogue).ok()?;
    let low = entry.strength_across.low();
    let kept = moist(entry.conditioned_strength.as_ref(), Pick::Low);
    let of = Lasting { low, kept, at: t, hot: factors.hot, sustained: factors.sustained };
    Some((Stress::mpa(low.to_mpa() * kept * factors.hot * factors.sustained), of))
}

/// Where strength is gone: the glass transition of an amorphous polymer; a little above the light-load limit otherwise, where
/// creep has made it useless, whatever its melting point.
fn softening(material: &Material, catalogue: &Catalogue) -> Temperature {
    match (material.morphology.value, &material.glass_transition) {
        (Morphology::Amorphous, Some(tg)) => tg.typ,
        _ => {
            let above = Quantity::from(catalogue.value(figures::SOFTENS_ABOVE)).si;
            Temperature::kelvin(material.heat_limit.high().to_kelvin() + above)
        }
    }
}

/// How far the part moves, mm.
#[derive(Debug, Clone)]
pub struct Moves {
    /// What is counted, and the least it may be where that still hangs on the grid.
    pub mm: f64,
    pub least_mm: f64,
    pub working: Gives,
}

/// Returns the deflection at the load named by the spec's limit (or the greatest of all).
pub fn deflection(world: &World<'_>, material: usize) -> Option<Moves> {
    let limit = world.spec.deflection.as_ref()?;
    let entry = *world.bench.materials.get(material)?;
    let mut worst: Option<Moves> = None;
    for (index, load) in world.spec.loads.iter().enumerate() {
        if !limit.is_under(&load.name.value) {
            continue;
        }
        let solved = sound(solved(world, index).ok()?).ok()?;
        let warmth = Warmth::of(world, load, material);
        let stiffness = stiffness(load, entry, warmth, world.knowledge.catalogue)?;
        let modulus = stiffness.mpa();
        let weighs = weighs(world, index, material);
        let [fine, coarse] = solved.displacement.map(|d| d.abs() * weighs);
        // What has no stiffness left is said to give way by ten times its length, a number rules can compare.
        let length = world.part.longest_mm();
        let given = |moved: f64| (moved * sudden(load) / modulus.max(1e-9)).min(10.0 * length);
        // What is held ideally moves less than it does: a finer grid only adds.
        let apart = (fine - coarse).abs();
        let open = solved.unsettled_displacement.as_ref().map(|why| (Arc::from(why.as_str()), ON_ITS_WAY));
        let mm = given(fine + open.as_ref().map_or(1.0, |(_, times)| *times) * apart);
        if worst.as_ref().is_none_or(|w| mm > w.mm) {
            let least_mm = if open.is_none() { mm } else { given(fine) };
            let working = Gives {
                load: load.name.value.as_str().into(),
                cells: solved.cells,
                most: load.acceleration.is_some(),
                stiffness,
                open,
            };
            worst = Some(Moves { mm, least_mm, working });
        }
    }
    worst
}

/// Returns how far a load moves where it acts, mm, in what of a material's modulus is left under it.
pub fn moves(world: &World<'_>, load: usize, material: usize) -> Option<f64> {
    let stated = world.spec.loads.get(load)?;
    let entry = *world.bench.materials.get(material)?;
    let warmth = Warmth::of(world, stated, material);
    let modulus = stiffness(stated, entry, warmth, world.knowledge.catalogue)?.mpa();
    let weighs = weighs(world, load, material);
    let [fine, coarse] = solved(world, load).ok()?.displacement.map(|d| d.abs() * weighs);
    Some((fine + (fine - coarse).abs()) * sudden(stated) / modulus.max(f64::MIN_POSITIVE))
}

/// The gap that a load closes first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Closes {
    pub gap_mm: f64,
    pub at: Vector,
    /// The share of the load, with no factor, at which a solid does so; below 1 only.
    pub share: f64,
}

/// Returns the gap of the part that a load closes before all of it acts, if it does: beyond that the part touches itself.
pub fn closes(world: &World<'_>, load: usize, material: usize, stiff: f64) -> Option<Closes> {
    let stated = world.spec.loads.get(load)?;
    let entry = *world.bench.materials.get(material)?;
    let closing = solved(world, load).ok()?.closing?;
    let warmth = Warmth::of(world, stated, material);
    let modulus = stiffness(stated, entry, warmth, world.knowledge.catalogue)?.mpa();
    let share = modulus * stiff / (closing.modulus_mpa * sudden(stated) * weighs(world, load, material));
    (share < 1.0).then_some(Closes { gap_mm: closing.gap_mm, at: closing.at, share })
}

/// How many times a load could grow before the part buckles, its factor counted.
pub struct Buckling {
    /// What the grids are apart counts against it.
    pub times: f64,
    pub working: Buckles,
    /// Whether the two grids are near enough to say so.
    pub settled: bool,
}

/// Whether a load can buckle the part before it is crushed, whatever it is made of: the strain at which it would is that of the
/// shape alone.
pub fn may_buckle(world: &World<'_>, load: usize) -> bool {
    let can = || {
        let solved = solved(world, load).ok()?;
        let [fine, coarse] = solved.buckling?;
        let stress = solved.spots.iter().map(|s| field::governing(&s.stress).0.abs()).fold(0.0, f64::max);
        Some(fine.min(coarse) * stress <= world.knowledge.catalogue.value(figures::BUCKLING_STRAIN))
    };
    let Some(known) = world.loads.get(load) else { return false };
    world.load_facts.buckles.of(known.load, || can().unwrap_or(false))
}

/// Returns how far a load is from buckling the part; `None` where it presses nothing, or that is not known.
pub fn buckling(world: &World<'_>, load: usize, material: usize) -> Option<Buckling> {
    let stated = world.spec.loads.get(load)?;
    let solved = solved(world, load).ok()?;
    let weighs = weighs(world, load, material);
    let [fine, coarse] = solved.buckling?.map(|factor| factor / weighs);
    if !may_buckle(world, load) {
        return None;
    }
    let catalogue = world.knowledge.catalogue;
    let settled = |apart: f64| apart <= catalogue.value(figures::DISPLACEMENT_APART);
    let entry = *world.bench.materials.get(material)?;
    let warmth = Warmth::of(world, stated, material);
    let stiffness = stiffness(stated, entry, warmth, catalogue)?;
    let asked = factor(world.spec, stated, catalogue);
    let apart = (fine - coarse).abs() / fine.max(coarse).max(f64::MIN_POSITIVE);
    Some(Buckling {
        times: fine.min(coarse) / (1.0 + apart) * stiffness.mpa() / (sudden(stated) * asked),
        working: Buckles { apart, stiffness, factor: asked },
        settled: settled(apart),
    })
}

/// Returns the modulus a material shows under a load, and how it was worked out: the low end of the figure, less what
/// moisture, heat and time take. Heat is taken to soften it as it weakens it (from memory, on the safe side).
fn stiffness(load: &Load, material: &Material, warmth: Option<Warmth>, catalogue: &Catalogue) -> Option<Stiffness> {
    let low = material.modulus.as_ref()?.low();
    let moist = moist(material.conditioned_modulus.as_ref(), Pick::Low);
    let held = held(load, catalogue, &mut Vec::new()).ok()?;
    let softens = softening(material, catalogue);
    let stretches = warmth.map_or_else(
        || vec![(None, held)],
        |w| w.stretches(held, 1.0, catalogue).into_iter().map(|s| (Some(s.at), s.held)).collect(),
    );
    let at = |(temperature, held): (Option<Temperature>, Duration)| {
        let hot = temperature.map_or(Some(1.0), |t| law::hot_strength_factor(t, softens).ok())?;
        // What time leaves of a modulus is taken to be what it leaves of a usual strength, as in `relaxed_modulus`.
        let left = if held.to_s() > 0.0 { retention(catalogue, None).held(held).ok()?.typical } else { 1.0 };
        let hot = temperature.map(|t| (hot, t));
        Some(Stiffness { low, moist, hot, held: (held.to_s() > 0.0).then_some((left, held)) })
    };
    let all: Vec<Stiffness> = stretches.into_iter().map(at).collect::<Option<_>>()?;
    all.into_iter().min_by(|a, b| a.mpa().total_cmp(&b.mpa()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diag::{Source, Sources};
    use crate::resolve::elastic::Figures;

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
