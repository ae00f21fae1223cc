//! How far a load moves the part, and how far it is from buckling it.

use std::sync::Arc;

use super::super::elastic::solved::ON_ITS_WAY;
use super::super::world::World;
use super::lasting::{held, moist, softening};
use super::said::{Buckles, Gives, Stiffness};
use super::warmth::Warmth;
use super::{Pick, factor, retention, solved, sound, sudden, weighs};
use crate::catalogue::{Catalogue, Material, figures};
use crate::field;
use crate::geometry::vector::Vector;
use crate::physics::strength as law;
use crate::quantity::{Duration, Temperature};
use crate::semantics::spec::Load;

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

/// Returns how far a load moves where it acts, mm, and what of the material's modulus is left under it.
pub fn moves(world: &World<'_>, load: usize, material: usize) -> Option<(f64, Stiffness)> {
    let stated = world.spec.loads.get(load)?;
    let entry = *world.bench.materials.get(material)?;
    let warmth = Warmth::of(world, stated, material);
    let stiffness = stiffness(stated, entry, warmth, world.knowledge.catalogue)?;
    let weighs = weighs(world, load, material);
    let [fine, coarse] = solved(world, load).ok()?.displacement.map(|d| d.abs() * weighs);
    let moved = (fine + (fine - coarse).abs()) * sudden(stated) / stiffness.mpa().max(f64::MIN_POSITIVE);
    Some((moved, stiffness))
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
pub(super) fn stiffness(
    load: &Load,
    material: &Material,
    warmth: Option<Warmth>,
    catalogue: &Catalogue,
) -> Option<Stiffness> {
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
