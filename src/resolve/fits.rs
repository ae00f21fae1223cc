//! Each fit of the spec as a feature of this part on this printer, handed to the fits for its allowance line.

use crate::fits::FitError;
use crate::fits::allowance::{AllowanceLine, Availability, ModelState, Route, Verdict, allowance};
use crate::fits::feature::{Compensation, FeatureAxis, FeatureContext, FeatureKind, Finishing};
use crate::fits::function::{FinishKind, FitFunction as Function};
use crate::fits::hardware::Series as Table;
use crate::fits::inspection::Check;
use crate::geometry::vector::dot;
use crate::quantity::{Length, Quantity};
use crate::rulebook::value::{Origin, Record, Value};
use crate::semantics::spec::{Fit, FitFinish, FitFunction, Series, Wet};

use super::facts::mm;
use super::matching::Lie;
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
pub fn function_word(fit: &FitFunction) -> &'static str {
    match fit {
        FitFunction::Clearance { .. } => "clearance",
        FitFunction::Sliding { .. } => "sliding",
        FitFunction::Press { .. } => "press",
        FitFunction::BearingSeat { .. } => "bearing",
        FitFunction::Iso { .. } => "iso",
        FitFunction::Thread { .. } => "thread",
        FitFunction::Insert { .. } => "insert",
        FitFunction::Nut { .. } => "nut",
        FitFunction::Dowel { .. } => "dowel",
        FitFunction::Magnet { .. } => "magnet",
        FitFunction::Hinge { .. } => "hinge",
        FitFunction::Snap { .. } => "snap",
    }
}

/// Returns whether a fit asks for better than a printer's tenth.
pub fn is_tight(fit: &FitFunction) -> bool {
    matches!(
        fit,
        FitFunction::Press { .. }
            | FitFunction::BearingSeat { .. }
            | FitFunction::Iso { .. }
            | FitFunction::Dowel { .. }
    )
}

/// Returns the fit as the spec calls it.
pub fn designation(fit: &Fit) -> String {
    match &fit.function.value {
        FitFunction::Clearance { thread, series } => {
            format!("clearance {thread} {}", table(*series).as_str())
        }
        FitFunction::Sliding { size, inner, .. } => {
            format!("sliding {} {}", if *inner { "bore" } else { "shaft" }, size)
        }
        FitFunction::Press { size, .. } => format!("press {size}"),
        FitFunction::BearingSeat { designation } => format!("bearing {designation}"),
        FitFunction::Iso { size, own, partner, inner } => {
            let kind = if *inner { "bore" } else { "shaft" };
            let partner = partner.as_ref().map_or(String::new(), |p| format!(" for {p}"));
            format!("{kind} {size} {own}{partner}")
        }
        FitFunction::Thread { designation } => format!("thread {designation}"),
        FitFunction::Insert { thread } => format!("insert {thread}"),
        FitFunction::Nut { thread } => format!("nut {thread}"),
        FitFunction::Dowel { size } => format!("dowel {size}"),
        FitFunction::Magnet { diameter, height } => format!("magnet {diameter} x {height}"),
        FitFunction::Hinge { size, living: true, .. } => format!("living hinge {size}"),
        FitFunction::Hinge { size, in_place: true, .. } => format!("hinge {size} printed in place"),
        FitFunction::Hinge { size, .. } => format!("hinge {size}"),
        FitFunction::Snap { undercut, .. } => format!("snap {undercut}"),
    }
}

/// Returns how a fit's features lie in a pose: as found on the mesh, else by the axis the spec states.
pub fn lie(world: &World<'_>, index: usize, pose: usize) -> Option<Lie> {
    let up = world.part.poses.get(pose)?.pose.up;
    let found = world.fit_places.get(index).and_then(|p| p.lie(up, world.part.lowest(up)));
    found.or_else(|| {
        let along = world.spec.fits.get(index)?.along?.value.0;
        let upright = dot(along, up).abs() > 0.7;
        let axis = if upright { FeatureAxis::AcrossLayers } else { FeatureAxis::AlongLayers };
        Some(Lie { axis, mixed: false, leans: None, on_bed: false })
    })
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
    let (function, kind) = function(&fit.function.value);
    let lie = lie(world, index, choice[at::POSE]?);
    // An axis nobody knows is taken as upright; the recipe says so among its assumptions.
    let axis = lie.map_or(FeatureAxis::AcrossLayers, |l| l.axis);
    let layer = world.setting("layer_height", choice).and_then(|v| v.as_quantity()).and_then(|q| q.in_unit("mm"));
    let mut context = FeatureContext::new(kind, axis, material.name.clone());
    context.on_bed = lie.is_some_and(|l| l.on_bed && l.axis == FeatureAxis::AcrossLayers);
    context.nozzle_bore = nozzle.bore;
    context.layer_height = Length::mm(layer.unwrap_or(0.5 * nozzle.bore.to_mm()));
    context.annealed = material.spool_of.is_some()
        || world.spec.treatments.iter().any(|t| t.value == crate::semantics::spec::Treatment::Anneal);
    context.flexible = material.flexible.value;
    context.moist = world.spec.service.wet.is_some_and(|w| w.value > Wet::Dry);
    context.shrinkage = Some(Quantity::from(material.shrinkage.typ).si);
    context.compensation = match fit.compensated {
        Some(c) if c.value => Compensation::InModel,
        Some(_) => Compensation::InRecipe,
        None => Compensation::Undeclared,
    };
    if let Some(printer) = choice[at::PRINTER].and_then(|p| world.bench.printers.get(p)) {
        context.record = world.bench.record(&printer.name, &nozzle.name, material, kind, axis);
    }
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
fn record_of_the_other_axis(world: &World<'_>, context: &FeatureContext, choice: &Partial) -> Option<String> {
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
    Some(format!(
        "there is a record for the other axis ({}, {} mm, {}): it is not taken for this one",
        other.in_words(),
        crate::quantity::trim_number(record.offset.to_mm(), 3),
        record.on
    ))
}

/// What is odd about how the features of a fit lie or measure.
fn lie_warnings(world: &World<'_>, index: usize, choice: &Partial) -> Vec<String> {
    let mut warnings = Vec::new();
    if let Some(lie) = choice[at::POSE].and_then(|pose| lie(world, index, pose)) {
        if lie.mixed {
            warnings.push(
                "some of its features stand and some lie: the worse, axis along the layers, counts for all".to_owned(),
            );
        }
        if let Some(lean) = lie.leans {
            warnings
                .push(format!("an axis leans {lean:.0}° from upright: its layers are ellipses, expect more spread"));
        }
    }
    warnings.extend(world.fit_places.get(index).and_then(|p| p.uneven()));
    warnings
}

/// Returns the facts of a fit for rules.
pub fn record(world: &World<'_>, index: usize, choice: &Partial) -> Option<Record> {
    let fit = world.spec.fits.get(index)?;
    let at_line = super::facts::stated(fit.span);
    let mut record = Record::new(format!("fit \"{}\"", fit.name.value));
    record.set("name", Value::text(&fit.name.value), at_line.clone());
    record.set("function", Value::word(function_word(&fit.function.value)), at_line.clone());
    record.set("designation", Value::text(&designation(fit)), at_line.clone());
    let place = world.fit_places.get(index);
    let found = place.map_or(0, |p| p.features.len()).max(1);
    let count = fit.count.map_or(found as f64, |c| f64::from(c.value));
    record.set("count", Quantity::number(count), at_line.clone());
    let (function, kind) = function(&fit.function.value);
    let nominal = function.nominal(kind).ok();
    record.set("size", nominal.map(Quantity::from), at_line.clone());
    record.set("outside", kind == FeatureKind::Outside, at_line.clone());
    let as_printed = fit.finish.is_some_and(|f| f.value == FitFinish::AsPrinted);
    record.set("as_printed", as_printed, at_line.clone());
    record.set("settings_carry", fit.compensated.is_some_and(|c| !c.value), at_line.clone());
    let modelled = place.zip(nominal).and_then(|(p, n)| p.modelled(n));
    record.set("found", modelled.map(|(size, _)| Value::text(&shown(size))), Origin::Measured);
    record.set("shoulder", place.and_then(super::matching::Place::has_shoulder).map(Value::Bool), Origin::Measured);
    if let FitFunction::Clearance { thread, .. } | FitFunction::Insert { thread } | FitFunction::Nut { thread } =
        &fit.function.value
    {
        record.set("thread", Value::text(thread), at_line.clone());
    }
    if let FitFunction::Thread { designation } = &fit.function.value {
        record.set("thread", Value::text(designation), at_line);
    }
    add_strain(&mut record, world, fit, choice);
    if let Some(pose) = choice[at::POSE] {
        let upright = lie(world, index, pose).map(|l| Value::Bool(l.axis == FeatureAxis::AcrossLayers));
        record.set("vertical", upright, Origin::Measured);
    }
    if let Some(Ok(line)) = line(world, index, choice) {
        add_line(&mut record, &line, world.spec.quantity.map_or(1, |q| q.value));
    } else if let Some(Ok(line)) = line(world, index, &some_candidate(choice)) {
        // The limits of the finished feature do not hang on the candidate; any will do.
        add_target(&mut record, &line);
    }
    Some(record)
}

/// What a snap arm or a fold asks of the material, and what the material bears of it.
fn add_strain(record: &mut Record, world: &World<'_>, fit: &Fit, choice: &Partial) {
    let Some((Some(asked), working)) = strain::asked(&fit.function.value) else { return };
    record.set("strain", Quantity::number(asked), Origin::Computed { working: working.into() });
    if let Some(breaks) = world.material(choice).and_then(strain::breaks_at) {
        let share = crate::quantity::trim_number(strain::ONCE, 2);
        let working =
            format!("{share} x the {} % at which a print breaks", crate::quantity::trim_number(breaks * 100.0, 1));
        let limit = Quantity::number(breaks * strain::ONCE);
        record.set("strain_limit", limit, Origin::Computed { working: working.into() });
    }
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

fn add_target(record: &mut Record, line: &AllowanceLine) {
    record.set("target", Value::text(&limits(line.target.low, line.target.high)), Origin::None);
    record.set("tolerance", mm(line.target.width().to_mm()), Origin::None);
}

fn add_line(record: &mut Record, line: &AllowanceLine, pieces: u32) {
    add_target(record, line);
    record.set("route", Value::word(route_word(&line.route)), Origin::None);
    record.set("spread", mm(line.spread.to_mm()), Origin::None);
    record.set("holds", line.capability.verdict != Verdict::CannotHold, Origin::None);
    record.set("model_size", Value::text(&shown(line.size_to_model)), Origin::None);
    let correction = format!("{:+.3} mm", line.correction().to_mm());
    record.set("correction", Value::text(&correction), Origin::None);
    record.set("modelled", Value::word(modelled_word(&line.model)), Origin::Measured);
    record.set("calibrated", line.origin == crate::fits::allowance::Origin::Record, Origin::None);
    if let Some(finish) = line.route.finish() {
        record.set("step", Value::text(&finish.step), Origin::None);
        record.set("cutter", finish.cutter.map(Quantity::from), Origin::None);
        match finish.tool {
            Availability::InShop => record.set("tool_present", true, Origin::None),
            Availability::NotInShop => record.set("tool_present", false, Origin::None),
            Availability::Unstated => {}
        }
    }
    add_checks(record, line, pieces);
}

/// The check before finishing and the one of the finished feature: never two that measure the same.
fn add_checks(record: &mut Record, line: &AllowanceLine, pieces: u32) {
    let Some((last, before)) = line.inspection.checks.split_last() else { return };
    let with = |check: &Check| {
        let sample = match pieces {
            1 => String::new(),
            n if check.sample.of(n) == n => "; every piece".to_owned(),
            // So few that there is no tenth.
            n if check.sample.of(n) == 2 => "; the first and the last piece".to_owned(),
            _ => format!("; {}", check.sample.in_words()),
        };
        Value::text(&format!("{}; {}{sample}", check.gauge, check.when))
    };
    if let Some((check, found)) = before.first().and_then(|c| Some((c, c.limits?))) {
        record.set("printed", Value::text(&limits(found.low, found.high)), Origin::None);
        record.set("printed_gauge", with(check), Origin::None);
    }
    match last.limits {
        Some(_) => record.set("gauge", with(last), Origin::None),
        None => record.set("trial", Value::text(&last.gauge), Origin::None),
    }
}

fn modelled_word(model: &ModelState) -> &'static str {
    match model {
        ModelState::Unknown => "unknown",
        ModelState::Nominal { .. } => "nominal",
        ModelState::Compensated => "compensated",
        ModelState::Twice => "twice",
        ModelState::Other { .. } => "other",
    }
}

/// The word of the rule language for a route.
fn route_word(route: &Route) -> &'static str {
    match route.finish().map(|f| f.kind) {
        None => "print",
        Some(FinishKind::Ream) => "ream",
        Some(FinishKind::Drill) => "drill",
        Some(FinishKind::Tap) => "tap",
        Some(FinishKind::SetInsert | FinishKind::DrillAndSetInsert) => "insert",
        Some(FinishKind::ClampOrBond) => "glue",
        Some(FinishKind::CrushRibs) => "ribs",
        Some(FinishKind::TryAndFit) => "try",
        Some(FinishKind::Turn) => "turn",
        Some(FinishKind::Bush | FinishKind::MetalPin) => "buy",
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
