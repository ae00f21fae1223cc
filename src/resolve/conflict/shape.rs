//! What could be drawn otherwise: a wall thicker, a section deeper. Sizes that a line of the spec states (the reach of a snap
//! arm) are numbers of that line.

use super::retry::Retry;
use super::{Change, Freed, Shape};
use crate::catalogue::figures;
use crate::quantity::{Length, Quantity};
use crate::semantics::requirements::{Kind, Requirement, Which};
use crate::semantics::spec::Spec;

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
    let says_more = spec.wall.map(|w| w.value) != world.spec.wall.map(|w| w.value);
    let asked = all.iter().find(|r| says_more && r.key.kind == Kind::Wall).cloned();
    let (from, to) = (Length::mm(found.mm), Length::mm(to));
    Some(Freed::by(Change::Shape(Shape::Wall { from, to, at: found.at, asked }), way))
}

/// Returns the spec as it asks where walls are so thick: no margin counts on more wall than is asked for.
fn asked_for(spec: &Spec, mm: f64) -> Spec {
    let mut spec = spec.clone();
    if let Some(wall) = spec.wall.as_mut().filter(|wall| wall.value.to_mm() < mm) {
        wall.value = Length::mm(mm);
    }
    spec
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
