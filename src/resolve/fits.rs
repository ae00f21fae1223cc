//! Each fit of the spec as a feature of this part on this printer, handed to the fits for its allowance line.

mod designation;
pub mod said;

pub use designation::designation;

use said::{Also, Checked, Dimension, GrooveWidth, OfBreaking, Pieces, Tool};

use crate::catalogue::figures;
use crate::fits::FitError;
use crate::fits::allowance::{AllowanceLine, Availability, ModelState, Route, Verdict, allowance};
use crate::fits::feature::{Compensation, FeatureAxis, FeatureContext, FeatureKind, Finishing, Second, SecondKind};
use crate::fits::function::{FinishKind, FitFunction as Function};
use crate::fits::groove::Seat;
use crate::fits::hardware::Series as Table;
use crate::fits::inspection::Check;
use crate::fits::living_hinge::Laid;
use crate::fits::practice::Practice;
use crate::fits::said::{Reason, Warning};
use crate::geometry::vector::dot;
use crate::quantity::{Area, Length};
use crate::rulebook::facts::{self as rules, Known, words};
use crate::rulebook::value::{Origin, Text};
use crate::semantics::spec::{Fit, FitFinish, FitFunction, GrooveSeat, Load, Series, Wet, Where};

use super::matching::{Lie, Place};
use super::strain;
use super::world::{Partial, World, at};

fn table(series: Series) -> Table {
    match series {
        Series::Fine => Table::Fine,
        Series::Medium => Table::Medium,
        Series::Coarse => Table::Coarse,
    }
}

/// Returns the function in the words of the fits, and whether the feature is a hole or an outside.
pub fn function(fit: &FitFunction) -> (Function, FeatureKind) {
    use FeatureKind::{Hole, Outside};
    let side = |inner: bool| if inner { Hole } else { Outside };
    match fit {
        FitFunction::Clearance { thread, series } => {
            (Function::Clearance { thread: thread.clone(), series: table(*series) }, Hole)
        }
        FitFunction::Sliding { size, inner, play } => (Function::Sliding { size: *size, play: *play }, side(*inner)),
        FitFunction::Press { size, inner, symbol: None } => {
            (Function::Press { size: *size, interference: None }, side(*inner))
        }
        FitFunction::Press { size, inner, symbol: Some(symbol) } => {
            (Function::Iso { size: *size, symbol: symbol.clone() }, side(*inner))
        }
        FitFunction::BearingSeat { designation } => (Function::BearingSeat { designation: designation.clone() }, Hole),
        FitFunction::Iso { size, own, partner, inner } => {
            let symbol = match (partner, inner) {
                (Some(partner), true) => format!("{own}/{partner}"),
                (Some(partner), false) => format!("{partner}/{own}"),
                (None, _) => own.clone(),
            };
            (Function::Iso { size: *size, symbol }, side(*inner))
        }
        FitFunction::Sized { size, inner, .. } => (Function::Sized { size: *size }, side(*inner)),
        FitFunction::Slot { size, own } => (Function::Slot { size: *size, symbol: own.clone() }, Hole),
        FitFunction::Square { size, own, inner } => {
            (Function::Flats { size: *size, length: None, symbol: own.clone() }, side(*inner))
        }
        FitFunction::Pocket { size: [width, length], own, inner } => {
            (Function::Flats { size: *width, length: Some(*length), symbol: own.clone() }, side(*inner))
        }
        FitFunction::Lid { size, length, inner } => (Function::Lid { size: *size, length: *length }, side(*inner)),
        FitFunction::Groove { seat, inside, section } => {
            let (seat, inner) = match seat {
                GrooveSeat::Face => (Seat::Face, true),
                GrooveSeat::Shaft => (Seat::Shaft, false),
                GrooveSeat::Bore => (Seat::Bore, true),
            };
            (Function::Groove { seat, inside: *inside, section: *section }, side(inner))
        }
        FitFunction::Keyway { shaft } => (Function::Keyway { shaft: *shaft }, Hole),
        FitFunction::Distance { size, .. } => (Function::Distance { size: *size }, Outside),
        FitFunction::Thread { designation } => (Function::Thread { designation: designation.clone() }, Hole),
        FitFunction::Insert { thread } => (Function::Insert { thread: thread.clone() }, Hole),
        FitFunction::Nut { thread } => (Function::Nut { thread: thread.clone() }, Hole),
        FitFunction::Dowel { size } => (Function::Dowel { size: *size }, Hole),
        FitFunction::Magnet { diameter, height } => {
            (Function::Magnet { diameter: *diameter, thickness: Some(*height) }, Hole)
        }
        FitFunction::Hinge { size, in_place, .. } => (Function::Hinge { pin: *size, in_place: *in_place }, Hole),
        FitFunction::Snap { thickness, .. } => (Function::Snap { size: *thickness }, Outside),
    }
}

/// The word of the rule language for a fit's function.
pub fn function_word(fit: &FitFunction) -> words::Function {
    match fit {
        FitFunction::Clearance { .. } => words::Function::Clearance,
        FitFunction::Sliding { .. } => words::Function::Sliding,
        FitFunction::Press { .. } => words::Function::Press,
        FitFunction::BearingSeat { .. } => words::Function::Bearing,
        FitFunction::Iso { .. } => words::Function::Iso,
        FitFunction::Sized { .. } => words::Function::Sized,
        FitFunction::Slot { .. } => words::Function::Slot,
        FitFunction::Square { .. } => words::Function::Square,
        FitFunction::Pocket { .. } => words::Function::Pocket,
        FitFunction::Lid { .. } => words::Function::Lid,
        FitFunction::Groove { .. } => words::Function::Groove,
        FitFunction::Keyway { .. } => words::Function::Keyway,
        FitFunction::Distance { .. } => words::Function::Distance,
        FitFunction::Thread { .. } => words::Function::Thread,
        FitFunction::Insert { .. } => words::Function::Insert,
        FitFunction::Nut { .. } => words::Function::Nut,
        FitFunction::Dowel { .. } => words::Function::Dowel,
        FitFunction::Magnet { .. } => words::Function::Magnet,
        FitFunction::Hinge { .. } => words::Function::Hinge,
        FitFunction::Snap { .. } => words::Function::Snap,
    }
}

/// Returns whether a fit asks for better than a printer's tenth.
pub fn is_tight(fit: &FitFunction, practice: &Practice) -> bool {
    match fit {
        FitFunction::Sized { within: [low, high], .. } => high.to_um() - low.to_um() <= practice.fine_tolerance.to_um(),
        FitFunction::Press { .. }
        | FitFunction::BearingSeat { .. }
        | FitFunction::Iso { .. }
        | FitFunction::Dowel { .. } => true,
        _ => false,
    }
}

/// Cosine within which two ways are taken as one: half a right angle apart.
pub(super) const ALIKE: f64 = 0.7;

/// Returns how a fit's features lie in a pose: as found on the mesh, else by the axis the spec states.
pub fn lie(world: &World<'_>, index: usize, pose: usize) -> Option<Lie> {
    let up = world.part.poses.get(pose)?.pose.up;
    let found = world.fit_places.get(index).and_then(|p| p.lie(up, world.part.lowest(up)));
    found.or_else(|| {
        let along = world.spec.fits.get(index)?.along?.value.0;
        let upright = dot(along, up).abs() > ALIKE;
        let axis = if upright { FeatureAxis::AcrossLayers } else { FeatureAxis::AlongLayers };
        Some(Lie { axis, mixed: false, leans: None, on_bed: false })
    })
}

/// Returns how the strip of a living hinge lies in a pose, by its axis and the wall of its thickness on the mesh; `None` where
/// they do not tell.
pub fn laid(world: &World<'_>, index: usize, pose: usize) -> Option<Laid> {
    let fit = world.spec.fits.get(index)?;
    let FitFunction::Hinge { size, living: true, .. } = &fit.function.value else { return None };
    let up = world.part.poses.get(pose)?.pose.up;
    let axis = fit.along.map(|along| along.value.0);
    if axis.is_some_and(|axis| dot(axis, up).abs() > ALIKE) {
        return Some(Laid::OnEdge);
    }
    let normal = world.part.across_wall(size.to_mm())?;
    if dot(normal, up).abs() > ALIKE {
        return Some(Laid::Flat);
    }
    // A strip that stands may have its fold upright or lying: only the axis tells.
    axis.map(|_| Laid::Across)
}

/// Returns whether what a fit strains in use is strained across the layers: a snap arm along itself, a strip across its fold.
pub fn strained_across(world: &World<'_>, index: usize, pose: usize) -> Option<bool> {
    match &world.spec.fits.get(index)?.function.value {
        FitFunction::Snap { .. } => lie(world, index, pose).map(|l| l.axis == FeatureAxis::AcrossLayers),
        FitFunction::Hinge { living: true, .. } => laid(world, index, pose).map(|l| l == Laid::Across),
        _ => None,
    }
}

/// Returns the finish a spec insists on in the words of the fits.
pub fn finishing(finish: FitFinish) -> Finishing {
    match finish {
        FitFinish::AsPrinted => Finishing::AsPrinted,
        FitFinish::Reamed => Finishing::Reamed,
        FitFinish::Drilled => Finishing::Drilled,
        FitFinish::Tapped => Finishing::Tapped,
    }
}

/// Returns what the fits must know of a feature for a choice of printer, material, nozzle and pose.
pub fn context(world: &World<'_>, index: usize, choice: &Partial) -> Option<(Function, FeatureContext)> {
    let fit = world.spec.fits.get(index)?;
    // A fold is no hole: it has cautions and a strain, but no size to allow for.
    if matches!(fit.function.value, FitFunction::Hinge { living: true, .. }) {
        return None;
    }
    let material = world.material(choice)?;
    let nozzle = world.nozzle(choice)?;
    let catalogue = world.knowledge.catalogue;
    let (function, kind) = function(&fit.function.value);
    let lie = lie(world, index, choice[at::POSE]?);
    // An axis nobody knows is taken as upright; the recipe says so among its assumptions.
    let axis = lie.map_or(FeatureAxis::AcrossLayers, |l| l.axis);
    let layer = world.setting("layer_height", choice).and_then(|v| v.as_quantity()).and_then(|q| q.in_unit("mm"));
    let mut context = FeatureContext::new(kind, axis, catalogue.printed(&material.name), catalogue.practice());
    context.on_bed = lie.is_some_and(|l| l.on_bed && l.axis == FeatureAxis::AcrossLayers);
    context.nozzle_bore = nozzle.bore;
    context.layer_height = Length::mm(layer.unwrap_or(catalogue.value(figures::LAYER_TO_BORE) * nozzle.bore.to_mm()));
    let name = &fit.name.value;
    let on_it = |w: &Where| matches!(w, Where::Fit(of) if of == name);
    context.loaded = world.spec.loads.iter().flat_map(Load::places).any(|(place, _)| on_it(place));
    context.annealed = material.spool_of.is_some()
        || world.spec.treatments.iter().any(|t| t.value == crate::semantics::spec::Treatment::Anneal);
    context.flexible = material.flexible.value;
    context.moist = world.spec.service.wet.is_some_and(|w| w.value > Wet::Dry);
    context.compensation = match fit.compensated {
        Some(c) if c.value => Compensation::InModel,
        Some(_) => Compensation::InRecipe,
        None => Compensation::Undeclared,
    };
    if let Some(printer) = choice[at::PRINTER].and_then(|p| world.bench.printers.get(p)) {
        context.record = world.bench.record(&printer.name, &nozzle.name, material, kind, axis);
        let own = world.bench.shrinkage_recorded(&printer.name, &nozzle.name, material);
        context.polymer.shrinkage = own.unwrap_or(context.polymer.shrinkage);
    }
    context.between =
        matches!(fit.function.value, FitFunction::Distance { .. } | FitFunction::Groove { seat: GrooveSeat::Face, .. });
    context.wall = world.fit_places.get(index).and_then(|p| p.between.as_ref()?.wall);
    context.flat = matches!(
        fit.function.value,
        FitFunction::Slot { .. }
            | FitFunction::Keyway { .. }
            | FitFunction::Square { .. }
            | FitFunction::Pocket { .. }
            | FitFunction::Lid { length: Some(_), .. }
    );
    context.second = second(fit, world.fit_places.get(index));
    if context.between {
        // What was measured of holes or bosses says nothing of what lies between two of them.
        context.record = None;
    }
    context.within = fit.within.map(|w| w.value);
    context.finish = fit.finish.map(|f| finishing(f.value));
    context.tools = world.bench.fit_tools.clone();
    // No clock is read: a record is old by the day the part is wanted, or by the latest day the shop file knows.
    context.as_of = world.spec.wanted_by.as_ref().map(|d| d.value.clone()).max(world.bench.latest.clone());
    let found = function.demand(&context).ok().and_then(|d| world.fit_places.get(index)?.modelled(d.nominal));
    if let Some((modelled, facets)) = found {
        context.modelled = Some(modelled);
        context.facets = facets;
    }
    Some((function, context))
}

/// Returns the second measure of a fit that is not round all about, with what the mesh has of it.
fn second(fit: &Fit, place: Option<&Place>) -> Option<Second> {
    let (what, size) = match (&fit.function.value, fit.flat) {
        (FitFunction::Pocket { size: [_, length], .. } | FitFunction::Lid { length: Some(length), .. }, _) => {
            (SecondKind::Length, *length)
        }
        (_, Some(flat)) if fit.two_flats => (SecondKind::Flats, flat.value),
        (_, Some(flat)) => (SecondKind::Flat, flat.value),
        _ => return None,
    };
    Some(Second { what, size, modelled: place.and_then(|p| p.second) })
}

/// Returns a fit's allowance line for a choice of printer, material, nozzle and pose.
pub fn line(world: &World<'_>, index: usize, choice: &Partial) -> Option<Result<AllowanceLine, FitError>> {
    let (function, context) = context(world, index, choice)?;
    let mut line = allowance(&function, &context);
    if let Ok(line) = &mut line {
        line.warnings.extend(lie_warnings(world, index, choice));
        line.warnings.extend(record_of_the_other_axis(world, &context, choice));
    }
    Some(line)
}

/// Says that the shop measured the other lie: a record of holes that stand says little of holes that lie.
fn record_of_the_other_axis(world: &World<'_>, context: &FeatureContext, choice: &Partial) -> Option<Warning> {
    if context.record.is_some() {
        return None;
    }
    let other = match context.axis {
        FeatureAxis::AlongLayers => FeatureAxis::AcrossLayers,
        FeatureAxis::AcrossLayers => FeatureAxis::AlongLayers,
    };
    let printer = world.bench.printers.get(choice[at::PRINTER]?)?;
    let (nozzle, material) = (world.nozzle(choice)?, world.material(choice)?);
    let record = world.bench.record(&printer.name, &nozzle.name, material, context.kind, other)?;
    Some(Warning::OtherAxis { axis: other, offset: record.offset, on: record.on })
}

/// What is odd about how the features of a fit lie or measure.
fn lie_warnings(world: &World<'_>, index: usize, choice: &Partial) -> Vec<Warning> {
    let mut warnings = Vec::new();
    if let Some(lie) = choice[at::POSE].and_then(|pose| lie(world, index, pose)) {
        if lie.mixed {
            warnings.push(Warning::Mixed);
        }
        warnings.extend(lie.leans.map(Warning::Leans));
    }
    warnings.extend(world.fit_places.get(index).and_then(|p| p.uneven()).map(Warning::Uneven));
    warnings
}

/// Returns how many features a fit has: as stated, else as found on the mesh, and one at least.
pub fn count(world: &World<'_>, index: usize) -> f64 {
    let found = world.fit_places.get(index).map_or(0, |p| p.features.len()).max(1) as f64;
    let stated = world.spec.fits.get(index).and_then(|fit| fit.count);
    stated.map_or(found, |count| f64::from(count.value))
}

/// Returns the facts of a fit for rules.
pub fn facts(world: &World<'_>, index: usize, choice: &Partial) -> Option<rules::Fit> {
    let fit = world.spec.fits.get(index)?;
    let (none, at, found) = (Origin::None, super::facts::stated(fit.span), Origin::Measured);
    let place = world.fit_places.get(index);
    let count = count(world, index);
    let (function, kind) = function(&fit.function.value);
    let nominal = function.nominal(kind, &world.knowledge.catalogue.practice()).ok();
    let modelled = place.zip(nominal).and_then(|(p, n)| p.modelled(n));
    let thread = thread(fit);
    let upright = |pose| lie(world, index, pose).map(|l| l.axis == FeatureAxis::AcrossLayers);
    let chosen = line(world, index, choice).and_then(Result::ok);
    // The limits of the finished feature do not hang on the candidate; any will do.
    let any = if chosen.is_some() { None } else { line(world, index, &some_candidate(choice)).and_then(Result::ok) };
    let target = chosen.as_ref().or(any.as_ref()).map(|line| line.target);
    let line = chosen.as_ref();
    let finish = line.and_then(|l| l.route.finish());
    let checks = Checks::of(line, world.spec.quantity.map_or(1, |q| q.value));
    let (strain, strain_limit) = strains(world, index, fit, choice);
    Some(rules::Fit {
        title: format!("fit \"{}\"", fit.name.value),
        name: at.of(Text::shared(&fit.name.value)),
        function: at.of(function_word(&fit.function.value)),
        size: at.of(nominal),
        outside: at.of(kind == FeatureKind::Outside),
        vertical: found.of(choice[at::POSE].and_then(upright)),
        tolerance: none.of(target.map(|t| Length::mm(t.width().to_mm()))),
        spread: none.of(line.map(|l| Length::mm(l.spread.to_mm()))),
        as_printed: at.of(fit.finish.is_some_and(|f| f.value == FitFinish::AsPrinted)),
        cut: at.of(is_cut(fit)),
        holds: none.of(line.map(|l| l.capability.verdict != Verdict::CannotHold)),
        route: none.of(line.map(|l| route_word(&l.route))),
        cutter: none.of(finish.and_then(|f| f.cutter)),
        step: none.of(finish.map(|f| Text::shared(&f.step.to_string()))),
        strain,
        strain_limit,
        reach: at.of(match &fit.function.value {
            FitFunction::Snap { reach, .. } => Some(*reach),
            _ => None,
        }),
        opened: at.of(fit.opened.as_ref().map(|o| o.value)),
        drawn: found.of(strain::drawn_thicker(world, &fit.function.value)),
        living: at.of(matches!(fit.function.value, FitFunction::Hinge { living: true, .. })),
        strained_across: found.of(choice[at::POSE].and_then(|pose| strained_across(world, index, pose))),
        count: at.of(count),
        thread: at.of(thread.map(Text::shared)),
        designation: at.of(Text::shared(&designation(fit))),
        target: none.of(target.map(|t| Text::shared(&limits(t.low, t.high)))),
        model_size: none.of(line.map(|l| Text::shared(&shown(l.size_to_model)))),
        hanging: found.of(hanging(world, index, choice).map(Area::mm2)),
        dimension: at.of(Text::shared(&dimension(fit).to_string())),
        tool: none.of(line.and_then(|l| tool(fit, l)).map(|t| Text::shared(&t.to_string()))),
        also: none.of(line.map(also)),
        correction: none.of(line.map(|l| Text::shared(&format!("{:+.3} mm", l.correction().to_mm())))),
        modelled: found.of(line.map(|l| modelled_word(&l.model))),
        shoulder: found.of(place.and_then(super::matching::Place::has_shoulder)),
        opening: found.of(place.and_then(|p| p.opening(&super::matching::round_features(&world.part.features)))),
        opening_least: at.of(opening_least(&function)),
        found: found.of(modelled.map(|(size, _)| Text::shared(&found_size(size, place.and_then(|p| p.second))))),
        settings_carry: at.of(fit.compensated.is_some_and(|c| !c.value)),
        printed: none.of(checks.printed),
        printed_gauge: none.of(checks.printed_gauge),
        scale: none.of(line.and_then(|l| l.scale).map(|s| Text::shared(&crate::quantity::trim_number(s, 4)))),
        stock: none.of(line.and_then(|l| match l.route {
            Route::PrintUnder { stock, .. } => Some(Length::mm(stock.to_mm())),
            _ => None,
        })),
        bulge: none.of(line.and_then(AllowanceLine::first_layer_bulge)),
        gauge: none.of(checks.gauge),
        trial: none.of(checks.trial),
        gauge_present: none.of(line.and_then(|l| gauge_present(world, l))),
        inserts_left: none.of(thread.and_then(|t| inserts_left(world, t))),
        tool_present: none.of(finish.and_then(|f| match (f.kind, f.tool) {
            // The tool is the iron; inserts that the shop does not list are bought.
            (FinishKind::SetInsert, _) => world.bench.tools.iron.filter(|there| *there),
            (_, Availability::InShop) => Some(true),
            (_, Availability::NotInShop) => Some(false),
            (_, Availability::Unstated) => None,
        })),
        calibrated: none.of(line.map(|l| l.origin == crate::fits::allowance::Origin::Record)),
        beyond_record: none.of(line.and_then(beyond_record)),
        measured_nozzle: none.of(measured_nozzle(world, index, choice).map(Text::shared)),
    })
}

/// Returns the least opening of the shoulder behind a bearing's seat.
fn opening_least(function: &Function) -> Option<Length> {
    let Function::BearingSeat { designation } = function else { return None };
    let bearing = crate::fits::hardware::bearing(designation).ok()?;
    bearing.dimensions.iter().find(|d| d.key == "shoulder_opening_mm").map(|d| Length::mm(d.value))
}

/// Returns the sizes a fit's record was measured on, where its own lies beyond them.
fn beyond_record(line: &AllowanceLine) -> Option<Text> {
    line.warnings.iter().find_map(|warning| match warning {
        Warning::OtherSizes { measured: [from, to], .. } => Some(Text::shared(&limits(*from, *to))),
        _ => None,
    })
}

/// Returns the nozzle with which this shop measured on this printer, in this material, how such features come out, where the
/// chosen one was not measured: the first that fits the printer and is not worn.
fn measured_nozzle<'w>(world: &'w World<'_>, index: usize, choice: &Partial) -> Option<&'w str> {
    let (_, context) = context(world, index, choice)?;
    if context.record.is_some() || context.between {
        return None;
    }
    let printer = choice[at::PRINTER]?;
    let (machine, material) = (world.bench.printers.get(printer)?, world.material(choice)?);
    let suits = |name: &String| machine.nozzles.as_ref().is_none_or(|list| list.contains(name));
    let measured = |name: &str| world.bench.record(&machine.name, name, material, context.kind, context.axis).is_some();
    let others = world.bench.nozzles.iter().filter(|n| n.worn != Some(true) && suits(&n.name));
    others.map(|n| n.name.as_str()).find(|name| measured(name))
}

/// Returns the area of a fit's features that support would touch, mm².
fn hanging(world: &World<'_>, index: usize, choice: &Partial) -> Option<f64> {
    let (place, pose) = (world.fit_places.get(index)?, choice[at::POSE]?);
    match choice[at::SUPPORTS]? {
        0 => Some(0.0),
        _ if place.facets.is_empty() => None,
        _ => world.part.hanging_mm2(&place.facets, pose, &world.limits(choice)),
    }
}

/// Returns the thread of a fit that has one.
fn thread(fit: &Fit) -> Option<&str> {
    match &fit.function.value {
        FitFunction::Clearance { thread, .. } | FitFunction::Insert { thread } | FitFunction::Nut { thread } => {
            Some(thread)
        }
        FitFunction::Thread { designation } => Some(designation),
        _ => None,
    }
}

/// Returns of what the size of a fit is the size.
fn dimension(fit: &Fit) -> Dimension {
    match &fit.function.value {
        FitFunction::Snap { .. } => Dimension::ThicknessOfArms,
        FitFunction::Slot { .. } | FitFunction::Keyway { .. } => Dimension::Width,
        FitFunction::Pocket { .. } | FitFunction::Lid { length: Some(_), .. } => Dimension::Width,
        FitFunction::Square { .. } | FitFunction::Nut { .. } => Dimension::AcrossFlats,
        FitFunction::Groove { seat: GrooveSeat::Face, .. } => Dimension::Depth,
        FitFunction::Groove { .. } => Dimension::FloorDiameter,
        FitFunction::Distance { .. } => Dimension::Length,
        _ => Dimension::Diameter,
    }
}

/// Returns the tool that brings a fit to its size; `None` where a hand or its mate does.
pub fn tool(fit: &Fit, line: &AllowanceLine) -> Option<Tool> {
    let then = line.route.finish()?;
    Some(match then.kind {
        FinishKind::Ream => Tool::Reamer(then.cutter),
        FinishKind::Drill | FinishKind::DrillAndSetInsert => Tool::Drill(then.cutter),
        FinishKind::Tap => Tool::Tap { thread: thread(fit).unwrap_or_default().to_owned(), drill: then.cutter },
        FinishKind::SetInsert => Tool::Iron,
        FinishKind::ClampOrBond => Tool::Adhesive,
        FinishKind::Turn => Tool::Abrasive,
        FinishKind::File => Tool::File,
        FinishKind::MetalPin => Tool::Pin,
        FinishKind::Bush => Tool::Bush,
        FinishKind::CrushRibs
        | FinishKind::TryAndFit
        | FinishKind::OpenWhereTight
        | FinishKind::TryTheArm
        | FinishKind::SetOut
        | FinishKind::PrintThread => {
            return None;
        }
    })
}

/// The second measure as it is to be drawn, in words that follow the first; none where there is but one.
fn also(line: &AllowanceLine) -> Text {
    let width = line.reasons.iter().find_map(|reason| match reason {
        Reason::Groove { groove, .. } => Some(GrooveWidth(groove.width).to_string()),
        _ => None,
    });
    let second = || line.second.map_or_else(String::new, |(what, size)| Also(what, size).to_string());
    Text::shared(&width.unwrap_or_else(second))
}

/// What the mesh has, with its second measure.
fn found_size(size: Length, second: Option<Length>) -> String {
    match second {
        Some(second) => format!("{} and {}", shown(size), shown(second)),
        None => shown(size),
    }
}

/// Returns whether the spec has an edge go at a fit.
fn is_cut(fit: &Fit) -> bool {
    let asked = fit.finish.map(|f| f.value != FitFinish::AsPrinted);
    asked.unwrap_or(matches!(fit.function.value, FitFunction::Thread { .. }))
}

/// What a snap arm or a fold asks of the material, and what the material bears of it.
fn strains(world: &World<'_>, index: usize, fit: &Fit, choice: &Partial) -> (Option<Known<f64>>, Option<Known<f64>>) {
    let Some((Some(asked), bent)) = strain::asked(&fit.function.value) else { return (None, None) };
    let across = choice[at::POSE].and_then(|pose| strained_across(world, index, pose)).unwrap_or(false);
    let limit = world.material(choice).and_then(strain::breaks_at).and_then(|breaks| {
        let share = strain::counted(strain::shares(world.knowledge.catalogue, across), fit);
        let working = OfBreaking { share, breaks };
        Origin::Computed { working: working.to_string().into() }.of(breaks * share)
    });
    (Origin::Computed { working: bent.to_string().into() }.of(asked), limit)
}

/// Returns whether the size of a fit in the mesh is to be changed before printing with this choice.
pub fn to_model(world: &World<'_>, index: usize, choice: &Partial) -> bool {
    let in_settings = world.spec.fits.get(index).and_then(|f| f.compensated).is_some_and(|c| !c.value);
    let Some(Ok(line)) = line(world, index, choice) else { return false };
    let replaced = matches!(line.route, Route::Replace { .. });
    replaced || (!in_settings && line.model != ModelState::Compensated)
}

fn some_candidate(choice: &Partial) -> Partial {
    let mut filled = *choice;
    for d in [at::PRINTER, at::MATERIAL, at::NOZZLE, at::POSE] {
        filled[d] = filled[d].or(Some(0));
    }
    filled
}

/// The check before finishing and the one of the finished feature, in words: never two that measure the same.
#[derive(Default)]
struct Checks {
    printed: Option<Text>,
    printed_gauge: Option<Text>,
    gauge: Option<Text>,
    trial: Option<Text>,
}

impl Checks {
    fn of(line: Option<&AllowanceLine>, pieces: u32) -> Self {
        let Some((last, before)) = line.and_then(|l| l.inspection.checks.split_last()) else { return Self::default() };
        let with = |check: &Check| {
            let checked = Checked { check, pieces: Pieces::of(check.sample, pieces) };
            Text::shared(&checked.to_string())
        };
        let first = before.first().and_then(|c| Some((c, c.limits?)));
        Self {
            printed: first.map(|(_, found)| Text::shared(&limits(found.low, found.high))),
            printed_gauge: first.map(|(check, _)| with(check)),
            gauge: last.limits.map(|_| with(last)),
            trial: if last.limits.is_none() { Some(Text::shared(&last.gauge.to_string())) } else { None },
        }
    }
}

/// Returns whether the shop lists an instrument for the finished feature, where it lists any.
fn gauge_present(world: &World<'_>, line: &AllowanceLine) -> Option<bool> {
    let gauges = world.bench.tools.gauges.as_ref()?;
    let instruments = line.inspection.finished()?.instruments;
    let drills = !world.bench.fit_tools.drills.is_empty();
    let there = |word: &&str| {
        (*word == "drill shank" && drills) || gauges.iter().any(|g| names_instrument(g, word, line.nominal))
    };
    (!instruments.is_empty()).then(|| instruments.iter().any(there))
}

/// Returns how many heat-set inserts of a thread the shop has left, where it says so.
fn inserts_left(world: &World<'_>, thread: &str) -> Option<f64> {
    let own = world.bench.tools.inserts.iter().find(|(own, _)| own == thread);
    own.map(|(_, count)| f64::from(*count))
}

/// Returns whether a gauge as the shop names it is such an instrument; one that names a size serves that size alone.
fn names_instrument(gauge: &str, word: &str, size: Length) -> bool {
    let named = gauge.to_lowercase().contains(word);
    let mut sizes = gauge.split_whitespace().filter_map(|w| w.trim_end_matches("mm").parse::<f64>().ok()).peekable();
    named && (sizes.peek().is_none() || sizes.any(|s| (s - size.to_mm()).abs() < 1e-3))
}

fn modelled_word(model: &ModelState) -> words::Modelled {
    match model {
        ModelState::Unknown => words::Modelled::Unknown,
        ModelState::Nominal { .. } => words::Modelled::Nominal,
        ModelState::Compensated => words::Modelled::Compensated,
        ModelState::Twice => words::Modelled::Twice,
        ModelState::Other { .. } => words::Modelled::Other,
    }
}

/// The word of the rule language for a route.
fn route_word(route: &Route) -> words::Route {
    match route.finish().map(|f| f.kind) {
        None => words::Route::Print,
        Some(FinishKind::Ream) => words::Route::Ream,
        Some(FinishKind::Drill) => words::Route::Drill,
        Some(FinishKind::Tap) => words::Route::Tap,
        Some(FinishKind::SetInsert | FinishKind::DrillAndSetInsert) => words::Route::Insert,
        Some(FinishKind::ClampOrBond) => words::Route::Glue,
        Some(FinishKind::CrushRibs) => words::Route::Ribs,
        Some(FinishKind::TryAndFit) => words::Route::Try,
        Some(FinishKind::OpenWhereTight) => words::Route::OpenWhereTight,
        Some(FinishKind::PrintThread) => words::Route::PrintThread,
        Some(FinishKind::TryTheArm) => words::Route::TryTheArm,
        Some(FinishKind::SetOut) => words::Route::SetOut,
        Some(FinishKind::Turn) => words::Route::Turn,
        Some(FinishKind::File) => words::Route::File,
        Some(FinishKind::Bush | FinishKind::MetalPin) => words::Route::Buy,
    }
}

/// Limits as a fitter writes them.
pub fn limits(low: Length, high: Length) -> String {
    format!("{} to {} mm", crate::quantity::trim_number(low.to_mm(), 3), crate::quantity::trim_number(high.to_mm(), 3))
}

/// A size in millimetres with three decimals at most.
pub fn shown(size: Length) -> String {
    format!("{} mm", crate::quantity::trim_number(size.to_mm(), 3))
}
