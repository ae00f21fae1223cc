//! What could be drawn otherwise: a wall thicker, a section deeper. Sizes that a line of the spec states (the reach of a snap
//! arm) are numbers of that line.

use super::retry::Retry;
use super::{Change, Freed, Shape};
use crate::catalogue::figures;
use crate::quantity::{Length, Quantity};
use crate::resolve::elastic::{Asked, Figures, Growth, part_drawn};
use crate::resolve::hints;
use crate::resolve::problem::Rules;
use crate::resolve::strength::{self, Thick};
use crate::resolve::world::{World, at};
use crate::semantics::requirements::{Key, Kind, Requirement, Which};
use crate::semantics::spec::{Load, Spec};

/// Steps of the bisection: enough for a hundredth of the way.
const STEPS: usize = 8;
/// Steps of a tenth of a millimetre in a millimetre: what a person draws.
const TENTHS: f64 = 10.0;

/// Finds the least wall with which the job can be made, where walls are what stands in the way.
pub(super) fn wall(retry: &Retry<'_, '_>, all: &[Requirement]) -> Option<Freed> {
    let world = retry.world;
    let found = world.part.thinnest_wall()?;
    let drawn = |mm: f64| (retry.of(world.part.with_walls_of(mm)), asked_for(world.spec, mm));
    let stands = |mm: f64| {
        let (thicker, spec) = drawn(mm);
        thicker.stands(&spec)
    };
    let thickest = world.knowledge.catalogue.value(figures::REDRAWN_MOST) * found.mm;
    if !stands(thickest)? {
        return None;
    }
    let (mut thin, mut thick) = (found.mm, thickest);
    for _ in 0..STEPS {
        let middle = (thin * thick).sqrt();
        if stands(middle)? {
            thick = middle;
        } else {
            thin = middle;
        }
    }
    // The bisection ends within a hundredth or two; the figure a person draws may lie below it and do as well.
    let tenths = [(thin * TENTHS).ceil(), (thick * TENTHS).ceil()].map(|n| n / TENTHS);
    let to = tenths.into_iter().find(|mm| *mm > found.mm && stands(*mm) == Some(true))?;
    let (thicker, spec) = drawn(to);
    let way = thicker.freed(&spec)?;
    let asked = all.iter().find(|r| r.key.kind == Kind::Wall && asked_by(world.spec, r) != asked_by(&spec, r)).cloned();
    let (from, to) = (Length::mm(found.mm), Length::mm(to));
    Some(Freed::by(Change::Shape(Shape::Wall { from, to, at: found.at, asked }), way))
}

/// Returns the spec as it asks where walls are so thick: no margin counts on more wall than is asked for.
fn asked_for(spec: &Spec, mm: f64) -> Spec {
    let spec = spec.clone();
    let number = Key::of(Kind::Wall).numbers(&spec).into_iter().next();
    let less = number.filter(|n| n.value(&spec).is_some_and(|asked| asked.si < Quantity::from(Length::mm(mm)).si));
    less.and_then(|n| n.replaced(&spec, Length::mm(mm).into())).unwrap_or(spec)
}

fn asked_by(spec: &Spec, requirement: &Requirement) -> Option<Quantity> {
    requirement.key.numbers(spec).first()?.value(spec)
}

/// Loads of a spec up to which a thickness is solved for: each is solved again on the body drawn thicker.
const SOLVED_AGAIN: usize = 4;
/// Thicknesses tried: the law's, and what the body drawn so lacks.
const TRIED: usize = 2;
/// So much over what the law says is drawn, and at least so much more where a body still lacks something.
const THICKER: f64 = 1.05;

/// The same where a part bends too far.
const STIFFER: f64 = 1.02;

/// A body that bears less than this of its load though it is drawn as the law says is weak elsewhere: no thickness there helps.
const HELPED: f64 = 0.8;

/// Finds how thick the part would have to be where it breaks or bends too far, beside the number that would do instead.
pub(super) fn deeper(retry: &Retry<'_, '_>, eased: &Freed) -> Option<Freed> {
    let Change::Number { requirement, .. } = &eased.change else { return None };
    if requirement.key.kind == Kind::Deflection {
        return stiffer(retry, eased);
    }
    // A load that holds is none that a deeper section would help: what it bends stands in the way then.
    let load = retry.world.spec.loads.iter().position(|l| l.span == requirement.span);
    // What springs is bent by a way: a thicker arm is strained more by it.
    let spec = retry.world.spec;
    let springs = |l: &Load| hints::springs(spec, l, retry.world.knowledge.catalogue);
    if load.and_then(|l| spec.loads.get(l)).is_some_and(springs) {
        return None;
    }
    if load.and_then(|l| best_margin(retry.world, l, &eased.way.material)).is_some_and(|(margin, _)| margin >= 1.0) {
        return None;
    }
    match thicker(retry, eased) {
        Drawn::Holds(freed) => Some(*freed),
        Drawn::Elsewhere => None,
        Drawn::Unknown => section(retry, eased),
    }
}

/// What came of drawing a place thicker.
enum Drawn {
    Holds(Box<Freed>),
    /// The part then breaks elsewhere: no thickness there helps.
    Elsewhere,
    Unknown,
}

/// Finds how thick the place has to be where a load breaks the part that is all that stands in the way, and shows it on a body
/// drawn so.
fn thicker(retry: &Retry<'_, '_>, eased: &Freed) -> Drawn {
    drawn_thicker(retry, eased).unwrap_or(Drawn::Unknown)
}

fn drawn_thicker(retry: &Retry<'_, '_>, eased: &Freed) -> Option<Drawn> {
    let Change::Number { requirement, number, .. } = &eased.change else { return None };
    let (world, spec) = (retry.world, retry.world.spec);
    if requirement.key.kind != Kind::Load || number.number.which != Which::Main || spec.loads.len() > SOLVED_AGAIN {
        return None;
    }
    let load = spec.loads.iter().position(|l| l.span == requirement.span)?;
    let (margin, thick) = best_margin(world, load, &eased.way.material)?;
    let thick = thick?;
    let most = world.knowledge.catalogue.value(figures::REDRAWN_MOST) * thick.mm;
    let asked =
        Asked { spec, part: world.part, fits: &world.fit_places, figures: Figures::of(world.knowledge.catalogue) };
    // A little over the law at once: each body that is solved takes as long as the part itself.
    let mut to = up(thick.mm * thick.law.times(margin) * THICKER);
    for _ in 0..TRIED {
        if to > most {
            return None;
        }
        let grown = retry.of(part_drawn(asked, &Growth::of(thick.at, thick.inward, thick.mm, to)));
        if let Some(way) = grown.freed(spec) {
            let (from, to) = (Length::mm(thick.mm), Length::mm(to));
            let shape = Shape::Thick { requirement: requirement.clone(), from, to, at: thick.at };
            return Some(Drawn::Holds(Box::new(Freed::by(Change::Shape(shape), way))));
        }
        let (left, place) = grown.look(spec, |world| best_margin(world, load, &eased.way.material))?;
        if left < HELPED {
            return Some(Drawn::Elsewhere);
        }
        let law = place.map_or(thick.law, |place| place.law);
        to = up(to * law.times(left.min(1.0)).max(THICKER));
    }
    None
}

/// Finds how thick the part has to be where a load bends it most, so that it gives way no farther than allowed, and shows it on a
/// body drawn so. What bends gives way by the cube of its depth (bending of beams; Euler and Bernoulli).
fn stiffer(retry: &Retry<'_, '_>, eased: &Freed) -> Option<Freed> {
    let Change::Number { requirement, .. } = &eased.change else { return None };
    let (world, spec) = (retry.world, retry.world.spec);
    let allowed = world.stated().deflection_limit.as_ref()?.value.to_mm();
    if spec.loads.len() > SOLVED_AGAIN || allowed <= 0.0 {
        return None;
    }
    let (moves, thick) = most_bent(world, &eased.way.material)?;
    let most = world.knowledge.catalogue.value(figures::REDRAWN_MOST) * thick.mm;
    let asked =
        Asked { spec, part: world.part, fits: &world.fit_places, figures: Figures::of(world.knowledge.catalogue) };
    let mut to = up(thick.mm * (moves / allowed).cbrt() * STIFFER);
    for _ in 0..TRIED {
        if to > most || to <= thick.mm {
            return None;
        }
        let grown = retry.of(part_drawn(asked, &Growth::of(thick.at, thick.inward, thick.mm, to)));
        if let Some(way) = grown.freed(spec) {
            let (from, to) = (Length::mm(thick.mm), Length::mm(to));
            let shape = Shape::Thick { requirement: requirement.clone(), from, to, at: thick.at };
            return Some(Freed::by(Change::Shape(shape), way));
        }
        let (left, _) = grown.look(spec, |world| most_bent(world, &eased.way.material))?;
        to = up(to * (left / allowed).cbrt().max(1.0) * STIFFER);
    }
    None
}

/// Returns how far the load that bends the part farthest under a limit moves it in a material, mm, and how thick the part is where
/// that load strains it most.
fn most_bent(world: &World<'_>, material: &str) -> Option<(f64, Thick)> {
    let limit = world.spec.deflection.as_ref()?;
    let material = world.bench.materials.iter().position(|m| m.name == material)?;
    let under = world.spec.loads.iter().enumerate().filter(|(_, l)| limit.is_under(&l.name.value));
    let moved = under.filter_map(|(load, _)| Some((strength::moves(world, load, material)?.0, load)));
    let (_, load) = moved.max_by(|a, b| a.0.total_cmp(&b.0))?;
    let allowed = Rules::refusing(world).allowed();
    let pose = (0..world.part.poses.len()).find(|&pose| allowed[at::POSE].get(pose) == Some(&true))?;
    Some((strength::deflection(world, material)?.mm, strength::thick_where_strained(world, load, material, pose)?))
}

/// Returns the margin a load leaves in a material in the best of the ways up that may be chosen, and how thick the part is where
/// it fails.
fn best_margin(world: &World<'_>, load: usize, material: &str) -> Option<(f64, Option<Thick>)> {
    let material = world.bench.materials.iter().position(|m| m.name == material)?;
    let allowed = Rules::refusing(world).allowed();
    let poses = (0..world.part.poses.len()).filter(|&pose| allowed[at::POSE].get(pose) == Some(&true));
    let margins = poses.filter_map(|pose| strength::margin(world, load, material, pose).ok());
    let best = margins.max_by(|a, b| a.margin.total_cmp(&b.margin))?;
    Some((best.margin, best.thick))
}

/// Reckons from a load that would hold how much deeper the section would have to be for the load as it is: bending stress
/// falls with the square of the depth of a section, a pull with its area (bending of beams; Euler and Bernoulli). The mesh is
/// not changed, so nothing can be solved again.
pub(super) fn section(retry: &Retry<'_, '_>, eased: &Freed) -> Option<Freed> {
    let Change::Number { requirement, number, from, to } = &eased.change else { return None };
    if requirement.key.kind != Kind::Load || number.number.which != Which::Main {
        return None;
    }
    let most = retry.world.knowledge.catalogue.value(figures::REDRAWN_MOST);
    let pulled = times(*from, *to).filter(|times| *times <= most)?;
    let shape = Shape::Section { requirement: requirement.clone(), bent: up(pulled.sqrt()), pulled: up(pulled) };
    Some(Freed::by(Change::Shape(shape), eased.way.clone()))
}

fn times(from: Quantity, to: Quantity) -> Option<f64> {
    let times = from.si / to.si;
    (times.is_finite() && times > 1.0).then_some(times)
}

/// Rounds up to a tenth.
fn up(times: f64) -> f64 {
    (times * TENTHS).ceil() / TENTHS
}
