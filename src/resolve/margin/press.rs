//! What a pin pressed into a printed hole does to it: the ring must not burst, and the pin must stay held.

use crate::catalogue::{Material, figures};
use crate::fits::SourceKind;
use crate::fits::allowance::allowance;
use crate::fits::feature::{FeatureAxis, FeatureKind};
use crate::fits::function::{FinishKind, FitFunction as Function, Limits};
use crate::fits::iso286::{self, Zone};
use crate::fits::press::Interference;
use crate::geometry::vector::{Vector, add, cross, dot, normalise, scale};
use crate::physics::press_fit::{Elastic, PressFit, hold_force, hold_torque};
use crate::quantity::{
    Duration, Expansion, Force, Length, Quantity, Stress, Temperature, TemperatureDifference, Torque,
};
use crate::resolve::fits;
use crate::resolve::matching::Feature;
use crate::resolve::world::{World, at};
use crate::semantics::spec::{Fit, FitFunction};

use super::depth;

use super::said::{self, Demand, NotShown, RingLies, Said, Why};
use super::{Asked, Band, Margin, Source, Told, sourced};

/// Thick rings under pressure.
const SHIGLEY: &str = "Shigley 9th ed. Eq. 3-56";

/// A pin in a printed hole, ready to be computed.
struct Pressed<'a> {
    fit: &'a Fit,
    interference: Interference,
    ring: PressFit,
    expansion: Expansion,
    length: Length,
    axis: FeatureAxis,
    wall: f64,
    /// Whether ribs stand between the pin and the ring.
    ribbed: bool,
}

/// What keeps a pressed pin from being computed.
struct Missing<'a> {
    fit: &'a Fit,
    interference: Interference,
    why: Why,
}

/// Returns the pin of a fit, or what is missing of it; `None` where nothing is pressed.
fn pressed<'a>(asked: &Asked<'a, '_>) -> Option<Result<Pressed<'a>, Missing<'a>>> {
    let (world, choice, index) = (asked.world, asked.choice, asked.about.index);
    let fit = world.spec.fits.get(index)?;
    let (function, context) = fits::context(world, index, choice)?;
    if context.kind != FeatureKind::Hole {
        return None;
    }
    let demand = function.demand(&context).ok()?;
    let line = allowance(&function, &context).ok()?;
    let interference = match demand.stretches {
        // What grips by stretch is not cut to any limits: it is what the printer makes of it.
        true => Interference::between(line.printed, Limits::new(demand.nominal, demand.nominal)),
        false => Interference::between(demand.limits, pin_limits(&fit.function.value, &function, &demand)?),
    };
    if interference.largest.to_um() <= 0.0 {
        return None;
    }
    let material = world.material(choice)?;
    let missing = |why| Some(Err(Missing { fit, interference, why }));
    let (Some(modulus), Some(expansion)) = (&material.modulus, &material.expansion) else {
        return missing(Why::NoStiffness);
    };
    let Some((modelled, length)) = world.round_wall(index).zip(depth::that_counts(world, index, fit)) else {
        return missing(Why::NoHole);
    };
    let wall = super::solid_of(world, choice, modelled)?;
    let diameter = demand.nominal;
    let catalogue = world.knowledge.catalogue;
    let ring = PressFit {
        diameter,
        hub_outer: Length::mm(diameter.to_mm() + 2.0 * wall),
        shaft_bore: Length::mm(0.0),
        hub: Elastic { modulus: modulus.typ, poisson: catalogue.value(figures::POISSON) },
        shaft: Elastic {
            modulus: catalogue.value(figures::STEEL_MODULUS),
            poisson: catalogue.value(figures::STEEL_POISSON),
        },
    };
    let finish = line.route.finish().map(|f| f.kind);
    // What is bonded or clamped is printed with room, and presses on nothing.
    if finish == Some(FinishKind::ClampOrBond) {
        return None;
    }
    let ribbed = finish == Some(FinishKind::CrushRibs);
    Some(Ok(Pressed { fit, interference, ring, expansion: expansion.typ, length, axis: context.axis, wall, ribbed }))
}

/// Whether a fit squeezes the plastic about it.
pub(super) fn is_pressed(fit: &FitFunction) -> bool {
    matches!(fit, FitFunction::Press { .. } | FitFunction::Dowel { .. } | FitFunction::Iso { inner: true, .. })
}

/// The hub is stressed most by the tightest pair on the coldest day.
pub(super) fn press(asked: &Asked<'_, '_>) -> Option<Margin> {
    let p = match pressed(asked)? {
        Ok(p) => p,
        Err(missing) => {
            let at = vec![missing.fit.span];
            return Some(asked.not_shown(|| NotShown::new(Demand::Pressed(missing.interference), missing.why), at));
        }
    };
    let material = asked.world.material(asked.choice)?;
    let lowest = lowest(asked.world);
    let steel = asked.world.knowledge.catalogue.value(figures::STEEL_EXPANSION);
    let tight = p.ring.interference_at(p.interference.largest, steel, p.expansion, rise(asked.world, lowest)).ok()?;
    let full = p.ring.pressure(tight).ok()?;
    let ribs = ribs(asked.world, material, p.ring.diameter);
    let pressure = if p.ribbed { Stress::mpa(full.to_mpa().min(ribs.to_mpa())) } else { full };
    let hoop = p.ring.hub_hoop(pressure).ok()?;
    let between = if p.ribbed { asked.world.knowledge.catalogue.value(figures::RING_BETWEEN_RIBS) } else { 1.0 };
    let hoop = Stress::mpa(between * hoop.to_mpa());
    // The ring of an upright hole lies in the layers; that of a lying one is pulled across them.
    let (strength, lies) = match p.axis {
        FeatureAxis::AcrossLayers => (&material.strength_along, RingLies::InLayers),
        FeatureAxis::AlongLayers => (&material.strength_across, RingLies::AcrossLayers),
    };
    let ratio = strength.low().to_mpa() / hoop.to_mpa().max(1e-9);
    let said = || said::Press {
        hoop,
        strength: strength.low(),
        ratio,
        coldest: lowest,
        interference: p.interference,
        tight,
        pressure,
        full: p.ribbed.then_some(full),
        lies,
        wall: Length::mm(p.wall),
        diameter: p.ring.diameter,
    };
    Some(Margin {
        demand: Some(Band::exactly(hoop)),
        capacity: Some(Band::of(strength)),
        ratio: Some(ratio),
        told: asked.words(|| Told {
            said: Said::Press(Box::new(said())),
            at: vec![p.fit.span],
            source: vec![
                sourced(strength),
                Source::cited(SourceKind::Handbook, SHIGLEY),
                Source::of(SourceKind::FromMemory, "pin and Poisson ratio"),
            ],
        }),
        ..asked.margin()
    })
}

/// Returns the mean pressure at which ribs between a pin and its hole crush: they bear on their width only. The strength is that
/// of the ring it is held against: a print that is stronger crushes later and bears more.
fn ribs(world: &World<'_>, material: &Material, diameter: Length) -> Stress {
    let catalogue = world.knowledge.catalogue;
    let (width, crush) = (catalogue.figure(figures::CRUSH_RIB_WIDTH), catalogue.figure(figures::CRUSH_TO_STRENGTH));
    let ribs = catalogue.value(figures::CRUSH_RIBS);
    let share = ribs * width.high().to_mm() / (std::f64::consts::PI * diameter.to_mm());
    Stress::mpa(share.min(1.0) * crush.high() * material.strength_along.low().to_mpa())
}

/// The grip is least in the loosest pair on the hottest day, after years.
///
/// A transition fit locates; that its loosest pair does not grip is no failure, and no margin is made of it.
pub(super) fn grip(asked: &Asked<'_, '_>) -> Option<Margin> {
    let p = pressed(asked)?.ok()?;
    if p.interference.smallest.to_um() <= 0.0 {
        return None;
    }
    let world = asked.world;
    let highest = world.heat(asked.choice[at::MATERIAL]?).map_or_else(|| measured_at(world), |h| h.temperature);
    let (time, stated) = held(world)?;
    let steel = asked.world.knowledge.catalogue.value(figures::STEEL_EXPANSION);
    let loose = p.ring.interference_at(p.interference.smallest, steel, p.expansion, rise(world, highest)).ok()?;
    let pressure = p.ring.pressure_after(loose, time, true, false).ok()?;
    let fresh = p.ring.pressure(p.interference.smallest).ok()?;
    let friction = world.knowledge.catalogue.band(figures::FRICTION_ON_PLASTIC).low;
    let force = |pressure: Stress| hold_force(p.ring.diameter, p.length, pressure, friction).map(|f| f.to_n());
    let (left, first) = (force(pressure).ok()?, force(fresh).ok()?);
    let torque = hold_torque(p.ring.diameter, p.length, pressure, friction).ok()?.to_nm();
    let said = || said::Grip {
        time,
        time_stated: stated,
        hottest: highest,
        left: Force::n(left),
        torque: Torque::nm(torque),
        first: Force::n(first),
        fresh: p.interference.smallest,
        loose,
        steel,
        plastic: p.expansion,
        friction,
        length: p.length,
    };
    Some(Margin {
        capacity: Some(Band::exactly(Force::n(left))),
        spare: Some(Quantity::from(loose)),
        told: asked.words(|| Told {
            said: Said::Grip(Box::new(said())),
            at: vec![p.fit.span],
            source: vec![
                Source::cited(SourceKind::Handbook, SHIGLEY),
                Source::of(SourceKind::FromMemory, "relaxation and friction"),
            ],
        }),
        ..asked.margin()
    })
}

/// Limits of the mate: a dowel is m6, a partner its own class, anything else its nominal size.
fn pin_limits(fit: &FitFunction, function: &Function, demand: &crate::fits::function::Demand) -> Option<Limits> {
    let size = demand.nominal;
    let zone = match fit {
        FitFunction::Press { symbol: None, .. } => return Some(Limits::new(size, size)),
        FitFunction::Dowel { .. } => Zone::parse("m6").ok()?,
        FitFunction::Iso { partner: Some(partner), inner: true, .. } => Zone::parse(partner).ok()?,
        FitFunction::Press { symbol: Some(_), .. } => match function {
            Function::Iso { symbol, .. } => match iso286::parse_pair(symbol) {
                Ok((_, shaft)) => shaft,
                Err(_) => return Some(Limits::new(size, size)),
            },
            _ => return None,
        },
        _ => return None,
    };
    let off = iso286::limits(size, &zone).ok()?;
    Some(Limits::new(Length::um(size.to_um() + off.lower_um), Length::um(size.to_um() + off.upper_um)))
}

/// Returns the least material round the features, looked for from their axes at three depths in 24 directions, mm.
pub(in crate::resolve) fn thinnest_wall(world: &World<'_>, features: &[Feature]) -> Option<f64> {
    if features.is_empty() {
        return None;
    }
    let rays = world.part.rays();
    let mut least: Option<f64> = None;
    for f in features {
        let side = perpendicular(f.axis);
        let other = cross(f.axis, side);
        let radius = 0.5 * f.diameter.to_mm();
        for depth in [-0.3, 0.0, 0.3] {
            let from = add(f.centre, scale(f.axis, depth * f.length.to_mm()));
            for step in 0..24 {
                let (sin, cos) = (f64::from(step) * std::f64::consts::TAU / 24.0).sin_cos();
                let out = add(scale(side, cos), scale(other, sin));
                let start = add(from, scale(out, radius * 1.002 + 0.01));
                if let Some(hit) = rays.hit(start, out, world.part.longest_mm() * 2.0) {
                    least = Some(least.map_or(hit.distance, |l: f64| l.min(hit.distance)));
                }
            }
        }
    }
    least.filter(|w| *w > 0.05)
}

fn perpendicular(axis: Vector) -> Vector {
    let pick = if dot(axis, [1.0, 0.0, 0.0]).abs() < 0.8 { [1.0, 0.0, 0.0] } else { [0.0, 1.0, 0.0] };
    normalise(cross(axis, pick))
}

fn rise(world: &World<'_>, to: Temperature) -> TemperatureDifference {
    TemperatureDifference::k(to.to_kelvin() - measured_at(world).to_kelvin())
}

fn measured_at(world: &World<'_>) -> Temperature {
    world.knowledge.catalogue.value(figures::MEASURED_AT)
}

/// The lowest service temperature, room temperature where none lower is stated.
fn lowest(world: &World<'_>) -> Temperature {
    let room = measured_at(world);
    let stated = world.spec.service.air.map(|air| air.value.0);
    stated.filter(|t| t.to_kelvin() < room.to_kelvin()).unwrap_or(room)
}

/// The longest time a load of the spec is held, and whether it says one.
fn held(world: &World<'_>) -> Option<(Duration, bool)> {
    let times = world.spec.loads.iter().filter_map(|l| l.held).map(|held| held.value);
    Some(match times.max_by(|a, b| a.to_s().total_cmp(&b.to_s())) {
        Some(time) => (time, true),
        None => (world.knowledge.catalogue.value(figures::HELD_ASSUMED), false),
    })
}
