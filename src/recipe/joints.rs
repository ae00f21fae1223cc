//! Margins of fits that strain the plastic: pressed pins, snap hooks, folds.

use crate::fits::allowance::allowance;
use crate::fits::feature::{FeatureAxis, FeatureKind};
use crate::fits::function::{FinishKind, FitFunction as Function, Limits};
use crate::fits::iso286::{self, Zone};
use crate::fits::living_hinge;
use crate::fits::mating::{GapRecord, GapVerdict, in_place_gap};
use crate::fits::press::Interference;
use crate::geometry::vector::{Vector, add, cross, dot, normalise, scale};
use crate::physics::press_fit::{Elastic, PressFit, hold_force, hold_torque};
use crate::quantity::{Duration, Expansion, Length, Quantity, Stress, Temperature, TemperatureDifference, trim_number};
use crate::recipe::{Margin, Reason};
use crate::resolve::fits;
use crate::resolve::matching::Feature;
use crate::resolve::strain::{self, OFTEN, ONCE};
use crate::resolve::world::{Partial, World, at};
use crate::semantics::spec::{Fit, FitFunction};

use super::margins::{HOLDS, NARROWLY, sourced, times, word};

/// A steel pin (handbook values, any machine element book): modulus, Poisson ratio, expansion.
const STEEL_MPA: f64 = 206_000.0;
const STEEL_POISSON: f64 = 0.3;
const STEEL_PER_K: f64 = 11.5e-6;
/// Poisson ratio of a printed thermoplastic (from memory: 0.35 to 0.42).
const PLASTIC_POISSON: f64 = 0.38;
/// Temperature at which parts are measured and put together.
const ROOM_C: f64 = 20.0;

/// Builds the margins of the fits that strain the part.
pub(super) fn margins(world: &World<'_>, choice: &Partial) -> Vec<Margin> {
    let mut result = Vec::new();
    for (index, fit) in world.spec.fits.iter().enumerate() {
        result.extend(super::depths::margin(world, index));
        result.extend(super::bosses::margin(world, index));
        if let Some((strain, mut working)) = strain::asked(&fit.function.value) {
            let mut what = "snap";
            if let FitFunction::Hinge { size, .. } = &fit.function.value {
                what = "living hinge";
                for caution in fold_cautions(world, choice, index, *size) {
                    working = format!("{working}; {caution}");
                }
            }
            result.push(strained(world, choice, fit, what, strain, working));
            continue;
        }
        match &fit.function.value {
            FitFunction::Hinge { size, in_place: true, .. } => result.extend(in_place(world, choice, index, *size)),
            _ => result.extend(pressed(world, choice, index).unwrap_or_default()),
        }
    }
    result
}

fn fold_cautions(world: &World<'_>, choice: &Partial, index: usize, thickness: Length) -> Vec<String> {
    let (Some(material), Some(nozzle)) = (world.material(choice), world.nozzle(choice)) else { return Vec::new() };
    let lie = choice[at::POSE].and_then(|pose| fits::lie(world, index, pose));
    let axis = lie.map_or(FeatureAxis::AlongLayers, |l| l.axis);
    living_hinge::cautions(&material.name, thickness, axis, Length::mm(0.5 * nozzle.bore.to_mm()))
}

fn strained(
    world: &World<'_>,
    choice: &Partial,
    fit: &Fit,
    what: &str,
    strain: Option<f64>,
    working: String,
) -> Margin {
    let percent = |share: f64| format!("{} %", trim_number(share * 100.0, 1));
    let elongation = world.material(choice).and_then(strain::elongation);
    let places = vec![world.knowledge.sources.place(fit.span)];
    let what = format!("{what} \"{}\"", fit.name.value);
    let Some((strain, figure)) = strain.zip(elongation) else {
        let because = Reason { text: format!("{working}; no elongation is known"), places, ..Reason::default() };
        let not_known = "not known".to_owned();
        return Margin {
            what,
            demand: strain.map_or(String::new(), percent),
            capacity: not_known,
            margin: String::new(),
            verdict: "not shown".to_owned(),
            because,
        };
    };
    let breaks = Quantity::from(figure.low()).si;
    let ratio = breaks * ONCE / strain.max(1e-9);
    let often = if breaks * OFTEN < strain { "not for one that is opened often" } else { "may be opened often" };
    let source = sourced(figure.kind.as_str(), figure.source.as_ref(), world.knowledge.sources.place(figure.at));
    Margin {
        what,
        demand: format!("{} strain", percent(strain)),
        capacity: format!("{} once ({} at break)", percent(breaks * ONCE), percent(breaks)),
        margin: times(ratio),
        verdict: word(ratio, 1.0).to_owned(),
        because: Reason {
            text: format!(
                "{working}; half the elongation at break may be used once, {OFTEN} of it often (common practice): {often}; \
                 across the layers it bears far less: lay the arm flat"
            ),
            places,
            source: Some(format!("{source}; strain computed")),
            ..Reason::default()
        },
    }
}

/// The gap all round a pin printed in its eye, as the mesh has it, against what comes free on this printer.
fn in_place(world: &World<'_>, choice: &Partial, index: usize, pin: Length) -> Option<Margin> {
    let fit = world.spec.fits.get(index)?;
    let (_, context) = fits::context(world, index, choice)?;
    let places = vec![world.knowledge.sources.place(fit.span)];
    let what = format!("gap \"{}\"", fit.name.value);
    let eyes = world.fit_places.get(index).map_or(&[][..], |p| p.features.as_slice());
    let Some(eye) = eyes.iter().map(|f| f.diameter).min_by(|a, b| a.to_um().total_cmp(&b.to_um())) else {
        let text = "no eye for this pin was found on the mesh: the gap is not known".to_owned();
        let because = Reason { text, places, ..Reason::default() };
        let (verdict, none) = ("not shown".to_owned(), String::new());
        return Some(Margin { what, demand: none.clone(), capacity: none.clone(), margin: none, verdict, because });
    };
    let (printer, nozzle) = (world.bench.printers.get(choice[at::PRINTER]?)?, world.nozzle(choice)?);
    let own = world.bench.gap(&printer.name, &nozzle.name, world.material(choice)?, context.axis);
    let record = own.map(|g| GapRecord {
        sideways: g.gap,
        upward: g.gap,
        citation: format!("shop record: {} with {}, {}, {} pieces, {}", g.printer, g.nozzle, g.material, g.count, g.on),
    });
    // Below a lying pin the layers sag into the gap: there it must hold upward too.
    let upward = context.axis == FeatureAxis::AlongLayers;
    let gap = Length::um(0.5 * (eye.to_um() - pin.to_um()));
    let found = in_place_gap(gap, upward, &context, record.as_ref());
    let verdict = match found.verdict {
        GapVerdict::Free => "holds",
        GapVerdict::Doubtful => "holds narrowly",
        GapVerdict::Fuses => "broken",
    };
    let mm = |l: Length| format!("{} mm", trim_number(l.to_mm(), 2));
    let unproven = if record.is_some() { "" } else { "; print a gap test and record it in shop.yaml (`what: gap`)" };
    Some(Margin {
        what,
        demand: format!("{} all round to come free", mm(found.wanted)),
        capacity: format!("{} in the mesh", mm(gap)),
        margin: format!("x {:.1}", gap.to_um() / found.wanted.to_um().max(1e-9)),
        verdict: verdict.to_owned(),
        because: Reason {
            text: format!(
                "half of eye {} less pin {}; printed together they part only where no line or sag bridges the gap{unproven}",
                mm(eye),
                mm(pin)
            ),
            places,
            source: Some(found.source.to_string()),
            ..Reason::default()
        },
    })
}

/// A pin in a printed hole, ready to be computed.
struct Pressed<'a> {
    fit: &'a Fit,
    interference: Interference,
    ring: PressFit,
    expansion: Expansion,
    length: Length,
    axis: FeatureAxis,
    wall: String,
}

fn pressed(world: &World<'_>, choice: &Partial, index: usize) -> Option<Vec<Margin>> {
    let fit = world.spec.fits.get(index)?;
    let (function, context) = fits::context(world, index, choice)?;
    if context.kind != FeatureKind::Hole {
        return None;
    }
    let demand = function.demand(&context).ok()?;
    let interference = Interference::between(demand.limits, pin_limits(&fit.function.value, &function, &demand)?);
    if interference.largest.to_um() <= 0.0 {
        return None;
    }
    let material = world.material(choice)?;
    let missing = |text: &str| {
        let because = Reason {
            text: text.to_owned(),
            places: vec![world.knowledge.sources.place(fit.span)],
            ..Reason::default()
        };
        Some(vec![Margin {
            what: format!("press \"{}\"", fit.name.value),
            demand: interference_words(interference),
            capacity: "not known".to_owned(),
            margin: String::new(),
            verdict: "not shown".to_owned(),
            because,
        }])
    };
    let (Some(modulus), Some(expansion)) = (&material.modulus, &material.expansion) else {
        return missing("no modulus or no expansion is known of the material");
    };
    let features = world.fit_places.get(index).map_or(&[][..], |p| p.features.as_slice());
    let Some((wall, length)) = thinnest_wall(world, features).zip(super::depths::depth(world, index, fit)) else {
        return missing("the hole was not found on the mesh: no wall to compute with");
    };
    let diameter = demand.nominal;
    let ring = PressFit {
        diameter,
        hub_outer: Length::mm(diameter.to_mm() + 2.0 * wall),
        shaft_bore: Length::mm(0.0),
        hub: Elastic { modulus: modulus.typ, poisson: PLASTIC_POISSON },
        shaft: Elastic { modulus: Stress::mpa(STEEL_MPA), poisson: STEEL_POISSON },
    };
    let wall = format!("least wall {} mm round {} mm", trim_number(wall, 1), trim_number(diameter.to_mm(), 2));
    let pressed = Pressed { fit, interference, ring, expansion: expansion.typ, length, axis: context.axis, wall };
    let finish = allowance(&function, &context).ok().and_then(|line| line.route.finish().map(|f| f.kind));
    let spared = match finish {
        Some(FinishKind::CrushRibs) => Some("the ribs crush first"),
        Some(FinishKind::ClampOrBond) => Some("it is bonded, not pressed"),
        _ => None,
    };
    let mut first = bursting(world, choice, &pressed);
    if let Some((margin, spared)) = first.as_mut().filter(|m| m.verdict != HOLDS).zip(spared) {
        // The figure is that of a full ring pressed to these limits: the worst there can be.
        margin.verdict = NARROWLY.to_owned();
        margin.capacity = format!("{} in a full ring; {spared}", margin.capacity);
        margin
            .because
            .text
            .push_str("; pressed to these limits without that, this wall would not bear it: stop where it resists");
    }
    Some([first, holding(world, choice, &pressed)].into_iter().flatten().collect())
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
pub(super) fn thinnest_wall(world: &World<'_>, features: &[Feature]) -> Option<f64> {
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

fn interference_words(i: Interference) -> String {
    format!("{} to {} mm interference", trim_number(i.smallest.to_mm(), 3), trim_number(i.largest.to_mm(), 3))
}

fn rise(to: Temperature) -> TemperatureDifference {
    TemperatureDifference::k(to.to_celsius() - ROOM_C)
}

/// The hub is stressed most by the tightest pair on the coldest day.
fn bursting(world: &World<'_>, choice: &Partial, p: &Pressed<'_>) -> Option<Margin> {
    let material = world.material(choice)?;
    let lowest = lowest(world);
    let steel = Expansion::per_k(STEEL_PER_K);
    let tight = p.ring.interference_at(p.interference.largest, steel, p.expansion, rise(lowest)).ok()?;
    let pressure = p.ring.pressure(tight).ok()?;
    let hoop = p.ring.hub_hoop(pressure).ok()?;
    // The ring of an upright hole lies in the layers; that of a lying one is pulled across them.
    let (strength, lie) = match p.axis {
        FeatureAxis::AcrossLayers => (&material.strength_along, "hoop in the layers"),
        FeatureAxis::AlongLayers => (&material.strength_across, "hoop across the layers"),
    };
    let ratio = strength.low().to_mpa() / hoop.to_mpa().max(1e-9);
    let source = sourced(strength.kind.as_str(), strength.source.as_ref(), world.knowledge.sources.place(strength.at));
    Some(Margin {
        what: format!("press \"{}\"", p.fit.name.value),
        demand: format!("{:.1} MPa hoop at {lowest}", hoop.to_mpa()),
        capacity: format!("{:.1} MPa", strength.low().to_mpa()),
        margin: times(ratio),
        verdict: word(ratio, 1.0).to_owned(),
        because: Reason {
            text: format!(
                "steel pin, {}; largest {:.3} mm at {lowest}, pressure {:.1} MPa by Lame, {lie}; {}; the ring bears {:.3} mm",
                interference_words(p.interference),
                tight.to_mm(),
                pressure.to_mpa(),
                p.wall,
                tight.to_mm() * ratio
            ),
            places: vec![world.knowledge.sources.place(p.fit.span)],
            source: Some(format!("{source}; handbook Shigley 9th ed. Eq. 3-56; pin and Poisson ratio from-memory")),
            ..Reason::default()
        },
    })
}

/// The grip is least in the loosest pair on the hottest day, after years.
///
/// A transition fit locates; that its loosest pair does not grip is no failure, and no margin is made of it.
fn holding(world: &World<'_>, choice: &Partial, p: &Pressed<'_>) -> Option<Margin> {
    if p.interference.smallest.to_um() <= 0.0 {
        return None;
    }
    let highest = world.heat(choice[at::MATERIAL]?).map_or(Temperature::celsius(ROOM_C), |h| h.temperature);
    let (time, stated) = held(world)?;
    let steel = Expansion::per_k(STEEL_PER_K);
    let loose = p.ring.interference_at(p.interference.smallest, steel, p.expansion, rise(highest)).ok()?;
    let pressure = p.ring.pressure_after(loose, time, true, false).ok()?;
    let fresh = p.ring.pressure(p.interference.smallest).ok()?;
    let friction = world.knowledge.catalogue.process_band("friction_on_plastic")?.low;
    let force = |pressure: Stress| hold_force(p.ring.diameter, p.length, pressure, friction).map(|f| f.to_n());
    let (left, first) = (force(pressure).ok()?, force(fresh).ok()?);
    let torque = hold_torque(p.ring.diameter, p.length, pressure, friction).ok()?.to_nm();
    let gone = loose.to_um() <= 0.0;
    let verdict = if gone { "broken" } else { "holds narrowly" };
    let margin = if gone {
        format!("loose by {:.3} mm", -loose.to_mm())
    } else {
        format!("{:.0} % of the first grip", 100.0 * left / first.max(1e-9))
    };
    Some(Margin {
        what: format!("grip \"{}\"", p.fit.name.value),
        demand: format!("to hold for {time} at {highest}"),
        capacity: format!("{left:.0} N, {torque:.2} Nm left ({first:.0} N when new, at room temperature)"),
        margin,
        verdict: verdict.to_owned(),
        because: Reason {
            text: format!(
                "loosest pair: {:.3} mm at room temperature, {:.3} mm at {highest} (steel {:.1}, plastic {:.0} x 1e-6/K); \
                 relaxed over {time}{}; friction {friction} over {} mm; what must hold needs a positive lock",
                p.interference.smallest.to_mm(),
                loose.to_mm(),
                STEEL_PER_K * 1e6,
                p.expansion.to_per_k() * 1e6,
                if stated { "" } else { " (assumed)" },
                trim_number(p.length.to_mm(), 1)
            ),
            places: vec![world.knowledge.sources.place(p.fit.span)],
            source: Some("handbook Shigley 9th ed. Eq. 3-56; relaxation and friction from-memory".to_owned()),
            ..Reason::default()
        },
    })
}

/// The lowest service temperature, room temperature where none lower is stated.
fn lowest(world: &World<'_>) -> Temperature {
    let room = Temperature::celsius(ROOM_C);
    let stated = world.spec.service.air.map(|air| air.value.0);
    stated.filter(|t| t.to_kelvin() < room.to_kelvin()).unwrap_or(room)
}

/// The longest time a load of the spec is held, and whether it says one.
fn held(world: &World<'_>) -> Option<(Duration, bool)> {
    let times = world.spec.loads.iter().filter_map(|l| l.held).map(|held| held.value);
    Some(match times.max_by(|a, b| a.to_s().total_cmp(&b.to_s())) {
        Some(time) => (time, true),
        None => (world.knowledge.catalogue.process_value("held_assumed")?, false),
    })
}
