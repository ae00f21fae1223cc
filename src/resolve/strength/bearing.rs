//! What holds and loads press on the part with, against what the printed material bears pressed: bodies on one another, beside
//! which the field within the part is no measure (a head beds in by a hundredth, and breaks nothing).

use super::said::BearsPressed;
use super::{Pick, Reduction, Warmth, factor, held_pressed, solved, sound, strengths, sudden, weighs};
use crate::catalogue::figures;
use crate::field::Bearing;
use crate::geometry::vector::{Vector, dot, norm};
use crate::quantity::Stress;
use crate::resolve::elastic::said::{NotKnown, Of};
use crate::resolve::together;
use crate::resolve::world::World;
use crate::semantics::spec::{Load, Where};

/// The place that loads press hardest on, for what it bears.
#[derive(Debug, Clone, PartialEq)]
pub struct Pressed {
    /// The hold, or the load where it acts.
    pub of: String,
    /// What the load itself presses there with, N, and on how much, mm².
    pub newtons: f64,
    pub area_mm2: f64,
    /// Whether the edges of flats are pressed, and counted.
    pub edge: bool,
    /// The mean pressure of all that acts at once, factors counted, and what a solid bears: at its low end, and typically.
    pub demand: Stress,
    pub bears: Stress,
    pub typical: Stress,
    /// How many times as much a solid bears there for what lies round it.
    pub confined: f64,
    /// Shear strength over that pressed.
    pub shear: f64,
    pub working: BearsPressed,
}

impl Pressed {
    /// Returns how many times as large what presses could be on a solid, at the low end and typically.
    pub fn ratios(&self) -> [f64; 2] {
        [self.bears, self.typical].map(|b| b.to_mpa() / self.demand.to_mpa().max(f64::MIN_POSITIVE))
    }
}

/// From this cosine on what presses is said to press across the layers.
const ACROSS: f64 = 0.5;

/// What a load presses on a place with by itself.
struct By {
    demand_mpa: f64,
    bears_mpa: [f64; 2],
    confined: f64,
    shear: f64,
    working: BearsPressed,
}

impl By {
    fn of(
        world: &World<'_>,
        load: usize,
        material: usize,
        up: Vector,
        (pressed, wide): (&Bearing, f64),
    ) -> Result<Self, NotKnown> {
        let stated = world.spec.loads.get(load).ok_or(NotKnown::NoSuch(Of::Load))?;
        let entry = *world.bench.materials.get(material).ok_or(NotKnown::NoSuch(Of::Material))?;
        let catalogue = world.knowledge.catalogue;
        let asked = factor(world.spec, stated, catalogue);
        let warmth = Warmth::of(world, stated, material).ok_or(NotKnown::Warmth)?;
        let all =
            Reduction::each(stated, entry, warmth, (asked, world.spec.consequence()), catalogue, &mut Vec::new())?;
        let reduced = Reduction::worst(all, |f| f.hot * f.pressed() * f.fatigue_pressed.unwrap_or(1.0))?;
        let across = dot(pressed.newtons, up).abs() >= ACROSS * norm(pressed.newtons);
        // Rubber is held to how far it may be pressed together, whatever holds it up.
        let rubber = held_pressed(entry, catalogue, Pick::Low).is_some();
        let most = if rubber { 1.0 } else { catalogue.value(figures::BEARING_SHARE) };
        let share = wide.min(most).max(1.0);
        let there = Stress::mpa(-1.0);
        let of = |pick: Pick| {
            let s = strengths(entry, catalogue, pick);
            let bears = if across { s.across_compression } else { s.along_compression };
            let factors = if pick == Pick::Low { &reduced.low } else { &reduced.typical };
            let tired = factors.cycled(there, there)[usize::from(across)];
            let left = [factors.hot, factors.pressed(), tired, factors.relief];
            let bears = bears.unwrap_or(s.along).to_mpa();
            (bears, left, share * bears * left.iter().product::<f64>(), s.shear.to_mpa() / bears.max(f64::MIN_POSITIVE))
        };
        let ((strength, [hot, long, tired, relief], low, shear), (.., typical, _)) = (of(Pick::Low), of(Pick::Typical));
        let working = BearsPressed {
            material: entry.name.as_str().into(),
            strength: Stress::mpa(strength),
            across,
            hot: (hot, reduced.temperature),
            held: (long, reduced.held),
            repeated: tired,
            relief,
            confined: share,
            factor: asked,
        };
        let demand_mpa = pressed.mpa() * asked * sudden(stated) * weighs(world, load, material);
        Ok(Self { demand_mpa, bears_mpa: [low, typical], confined: share, shear, working })
    }
}

/// Returns whether it is known on how much of the part a load presses where it acts: a torque is a couple that nobody says how it
/// is brought in unless flats carry it, and a place without a size stands for one that is assumed.
fn presses(load: &Load, pressed: &Bearing) -> bool {
    let assumed = load.extent.is_none() && matches!(load.at.as_ref().map(|at| &at.value), Some(Where::Point(..)));
    (load.torque.is_none() || pressed.edge) && !assumed
}

/// Returns the place a load presses hardest on, with the steady loads that act with it; `None` where it presses on none. The
/// error says why that is not known.
pub fn bearing(world: &World<'_>, load: usize, material: usize, pose: usize) -> Result<Option<Pressed>, NotKnown> {
    let up = world.part.poses.get(pose).ok_or(NotKnown::NoSuch(Of::Pose))?.pose.up;
    let own = sound(solved(world, load)?)?;
    let with: Vec<usize> = together::combination(world.spec, load).unwrap_or_default();
    let others: Vec<(usize, &crate::resolve::elastic::solved::Solved)> = (with.into_iter())
        .filter(|&other| other != load)
        .filter_map(|other| Some((other, sound(solved(world, other).ok()?).ok()?)))
        .filter(|(_, other)| other.holds == own.holds)
        .collect();
    let stated = world.spec.loads.get(load).ok_or(NotKnown::NoSuch(Of::Load))?;
    let mut worst: Option<Pressed> = None;
    // Holds are named in the order they are stated in.
    let hold = |b: &Bearing| stated.holds.get(own.holds.iter().position(|name| *name == b.of)?);
    let of_a_size = |b: &Bearing| {
        b.edge
            || match hold(b) {
                Some(hold) => hold.value.extent.is_some() || !matches!(hold.value.at, Where::Point(..)),
                None => presses(stated, b),
            }
    };
    let judged = |b: &&Bearing| b.mpa() > 0.0 && of_a_size(b);
    for (place, pressed) in own.bearings.iter().enumerate().filter(|(_, pressed)| judged(pressed)) {
        let wide = own.widths.get(place).copied().unwrap_or(1.0);
        let by = By::of(world, load, material, up, (pressed, wide))?;
        let bears = by.bears_mpa[0].max(f64::MIN_POSITIVE);
        let mut demand = by.demand_mpa;
        // Places of holds are in the same order for all loads that are held alike; where a load acts only itself presses.
        for (other, field) in others.iter().filter(|_| own.holds.contains(&pressed.of)) {
            let Some(pressed) = field.bearings.get(place).filter(|b| b.of == pressed.of && b.mpa() > 0.0) else {
                continue;
            };
            let more = By::of(world, *other, material, up, (pressed, wide))?;
            // What it takes of what is borne for as long as it acts.
            demand += more.demand_mpa * bears / more.bears_mpa[0].max(f64::MIN_POSITIVE);
        }
        let found = Pressed {
            of: pressed.of.clone(),
            newtons: norm(pressed.newtons),
            area_mm2: pressed.area_mm2,
            edge: pressed.edge,
            demand: Stress::mpa(demand),
            bears: Stress::mpa(by.bears_mpa[0]),
            typical: Stress::mpa(by.bears_mpa[1]),
            confined: by.confined,
            shear: by.shear,
            working: by.working,
        };
        if worst.as_ref().is_none_or(|w| found.ratios()[0] < w.ratios()[0]) {
            worst = Some(found);
        }
    }
    Ok(worst)
}
