//! The allowance: from the limits a finished feature must keep to the size to model, and the way to get there honestly.

use super::FitError;
use super::behaviour::{Behaviour, TermUse, behaviour};
use super::cutters;
use super::feature::{Compensation, FeatureContext, FeatureKind, Second, SecondKind};
use super::function::{Demand, FinishKind, FitFunction, Limits};
use super::hardware::{self, Dimension};
use super::inspection::{self, Inspection};
use super::iso286::Grade;
use super::practice::Practice;
use super::said::{Caution, Named, Reason, Ribs, Warning, Work};
use crate::quantity::Length;

pub use super::behaviour::{Cause, Origin, Term, TermUse as Use};

pub mod asked;

/// Whether printing alone can keep the limits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// Cpk 1.33 and more: sample.
    Holds,
    /// Cpk 0.67 to 1.33: gauge every piece, some will be out.
    Marginal,
    /// Below, or an ISO grade of IT10 and finer: not printed to size.
    CannotHold,
}

impl Verdict {
    /// Returns the word that recipes write.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Holds => "holds",
            Self::Marginal => "marginal",
            Self::CannotHold => "cannot hold",
        }
    }
}

/// Spread against tolerance.
#[derive(Debug, Clone, PartialEq)]
pub struct Capability {
    /// Width of the limits, on the diameter.
    pub tolerance: Length,
    /// Two-sided 95 % deviation of one piece; its half is taken as sigma.
    pub spread: Length,
    /// (high - low) / 6 sigma.
    pub cp: f64,
    /// Smaller distance from the aim to a limit / 3 sigma.
    pub cpk: f64,
    /// What the numbers say of printing alone.
    pub verdict: Verdict,
    /// The ISO grade asked for, if one was.
    pub grade: Option<Grade>,
}

/// Whether the shop has a tool.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Availability {
    /// It is in the list of tools.
    InShop,
    /// The shop stated its tools, and this is not among them.
    NotInShop,
    /// The shop did not state its tools.
    Unstated,
}

/// One finishing operation.
#[derive(Debug, Clone, PartialEq)]
pub struct Finish {
    /// Which operation.
    pub kind: FinishKind,
    /// The work step, with sizes.
    pub step: Work,
    /// Size of the drill or reamer that cuts it, where one does.
    pub cutter: Option<Length>,
    /// Whether the shop has what it takes.
    pub tool: Availability,
}

/// The way to the finished size.
#[derive(Debug, Clone, PartialEq)]
pub enum Route {
    /// Printed to size; nothing follows but the gauge.
    PrintToSize,
    /// Printed to size, then one operation that belongs to the fit (an insert is set).
    PrintThen {
        /// The operation.
        then: Finish,
    },
    /// Printed with material left (a hole smaller, an outside feature larger, by `stock` on the diameter), then cut.
    PrintUnder {
        /// What cuts it to size.
        then: Finish,
        /// Material left, on the diameter.
        stock: Length,
    },
    /// Printed with room, then joined: clamped, bonded, pressed on ribs.
    PrintOver {
        /// How the two are joined.
        then: Finish,
        /// Room left, on the diameter.
        room: Length,
    },
    /// The feature is not printed: a bought pin or bush takes its place, and the model changes.
    Replace {
        /// What is set in its place.
        then: Finish,
    },
}

impl Route {
    /// Returns the operation after printing, if there is one.
    pub fn finish(&self) -> Option<&Finish> {
        match self {
            Self::PrintToSize => None,
            Self::PrintThen { then }
            | Self::PrintUnder { then, .. }
            | Self::PrintOver { then, .. }
            | Self::Replace { then } => Some(then),
        }
    }
}

/// What the mesh was found to hold.
#[derive(Debug, Clone, PartialEq)]
pub enum ModelState {
    /// No size was found to compare.
    Unknown,
    /// The mesh is nominal: model the size given.
    Nominal {
        /// What to add to the mesh's diameter.
        change: Length,
    },
    /// The mesh already carries the allowance: change nothing.
    Compensated,
    /// The mesh carries an allowance and the recipe is asked to add it again.
    Twice,
    /// Neither nominal nor compensated.
    Other {
        /// What to add to the mesh's diameter.
        change: Length,
    },
}

/// One fit's line in a recipe.
#[derive(Debug, Clone, PartialEq)]
pub struct AllowanceLine {
    /// What the fit is, with its size.
    pub function: Named,
    /// Diameter or width the fit is named by.
    pub nominal: Length,
    /// Limits of the finished feature and their source.
    pub target: Limits,
    /// Where the limits come from.
    pub target_source: super::Provenance,
    /// What the printed feature should measure before any finishing.
    pub printed: Limits,
    /// By the shop's own record or by a default.
    pub origin: Origin,
    /// The record, or the source of the default.
    pub origin_source: super::Provenance,
    /// Named effects on the printed diameter; those `InSum` add up from the size to model to the printed aim.
    pub terms: Vec<Term>,
    /// Diameter or width the mesh should have.
    pub size_to_model: Length,
    /// Two-sided 95 % deviation of one printed piece.
    pub spread: Length,
    /// Whether printing alone keeps the limits.
    pub capability: Capability,
    /// How it gets to its size.
    pub route: Route,
    /// Other finishes that reach the limits, the best first.
    pub alternatives: Vec<Finish>,
    /// What the whole model is scaled by for a length to come out, where it shrinks: the same for every length of a part.
    pub scale: Option<f64>,
    /// A second measure of the feature, as it is to be drawn.
    pub second: Option<(SecondKind, Length)>,
    /// What the mesh carries already.
    pub model: ModelState,
    /// Depths, bosses, drills and the like that belong to the fit.
    pub companions: Vec<Dimension>,
    /// Why it is so.
    pub reasons: Vec<Reason>,
    /// What was assumed, or may go wrong.
    pub warnings: Vec<Warning>,
    /// The one of them that says the mesh is not of the size to model.
    pub model_warning: Option<Warning>,
    /// Where somebody or the part could come to harm.
    pub cautions: Vec<Caution>,
    /// What is gauged, when and with what.
    pub inspection: Inspection,
}

impl AllowanceLine {
    /// Returns the difference between the size to model and the nominal, which a recipe's settings carry if the model
    /// stays nominal.
    pub fn correction(&self) -> Length {
        Length::um(self.size_to_model.to_um() - self.nominal.to_um())
    }

    /// Returns by how much the first layer is pressed wide at the rim of the feature, where that lies on the bed.
    pub fn first_layer_bulge(&self) -> Option<Length> {
        let of = self.terms.iter().find(|t| t.cause == Cause::FirstLayerBulge)?;
        Some(Length::um(of.value.to_um().abs()))
    }
}

/// Works out one fit's line.
///
/// Errors name the part of the input at fault; nothing is guessed silently, and what was assumed stands in `warnings`.
pub fn allowance(fit: &FitFunction, context: &FeatureContext) -> Result<AllowanceLine, FitError> {
    check_context(context)?;
    let mut demand = fit.demand(context)?;
    let behaviour = behaviour(context, demand.aim);
    if demand.finishes.first() == Some(&FinishKind::OpenWhereTight) {
        demand.aim = least_doubtful(&demand, behaviour.spread, &context.practice);
    }
    if demand.stretches {
        demand.aim = clear_of_the_spread(&demand, context.kind, behaviour.spread);
    }
    let between = between_width_and_height(&demand, &behaviour, &context.practice);
    let off = behaviour.effects.iter().filter(|e| e.used == TermUse::AtTheWall);
    let off = off.fold(Length::um(0.0), |sum, e| more(sum, e.constant));
    let capability = judge(demand.limits, more(between, off), behaviour.spread, demand.grade, &context.practice);
    // A tool that opens the hole makes it round: it is chosen by the middle.
    if capability.verdict != Verdict::CannotHold {
        demand.aim = between;
    }
    asked::possible(fit, &demand, context)?;
    let (mut route, alternatives) = route(fit, &demand, context, &behaviour, &capability);
    let aim = printed_aim(&demand, context, &route);
    let (size_to_model, terms) =
        solve(aim, &behaviour, to_the_good(&route, context.kind)).ok_or_else(nothing_to_print)?;
    // The size is drawn to what the spread makes sense of; what is printed follows from what is drawn.
    let aim =
        more(size_to_model, terms.iter().filter(|t| t.used == TermUse::InSum).fold(off, |sum, t| more(sum, t.value)));
    if let Route::PrintOver { then, .. } = &mut route
        && then.kind == FinishKind::CrushRibs
    {
        // The ribs print as much under size as the hole they stand in.
        let tips = less(demand.limits.middle(), behaviour.spread);
        let tips = more(tips, less(size_to_model, aim));
        then.step =
            Work::CrushRibs(Some(Ribs { width: context.practice.rib_width, tips: drawn(tips, behaviour.spread) }));
    }
    let printed = Limits::new(less(aim, behaviour.spread), more(aim, behaviour.spread));
    let inspection = inspection::plan(&demand, context, &capability, &route, gauged(printed, behaviour.spread));
    let mut reasons = demand.reasons;
    if route.finish().is_some_and(|f| f.kind == FinishKind::SetOut) {
        // Its route says it.
        reasons.retain(|r| !matches!(r, Reason::DistanceOtherwise | Reason::FaceOtherwise));
    }
    reasons.extend(demand.stretches.then(|| stretch(demand.nominal, aim, behaviour.spread)));
    reasons.push(Reason::Capability(capability.clone()));
    let mut warnings = behaviour.warnings;
    if let Some(finish) = context.finish {
        reasons.push(Reason::AskedFor(finish));
        warnings.extend(asked::not_held(finish, &capability).then_some(Warning::AsPrinted));
    }
    let second = context.second.map(|s| (s, second_to_model(context, &s, aim, demand.nominal, size_to_model)));
    reasons.extend(second.map(|(s, to_model)| Reason::Second { what: s.what, size: s.size, to_model }));
    let mut model = model_state(context.modelled, context, [demand.nominal, size_to_model], behaviour.spread);
    if model == ModelState::Compensated
        && let Some((s, to_model)) = second
    {
        // Both measures must be as they are to be.
        model = match model_state(s.modelled, context, [s.size, to_model], behaviour.spread) {
            ModelState::Unknown => ModelState::Compensated,
            other => other,
        };
    }
    if model == ModelState::Compensated {
        reasons.push(Reason::Carried);
    }
    let model_warning = model_warning(&model, context, size_to_model);
    warnings.extend(model_warning.clone());
    warnings.extend(tool_warning(&route));
    warnings.extend(small_hole_warning(context, aim));
    Ok(AllowanceLine {
        function: demand.named,
        nominal: demand.nominal,
        target: demand.limits,
        target_source: demand.source,
        printed,
        origin: behaviour.origin,
        origin_source: behaviour.source,
        terms,
        size_to_model,
        spread: behaviour.spread,
        capability,
        route,
        alternatives,
        scale: context.between.then(|| scale(&behaviour.effects)).flatten(),
        second: second.map(|(s, to_model)| (s.what, to_model)),
        model,
        companions: demand.companions,
        reasons,
        warnings,
        model_warning,
        cautions: demand.cautions,
        inspection,
    })
}

/// A flat takes what its round takes; a length beside a width is a size of its own and shrinks by its own measure.
fn second_to_model(
    context: &FeatureContext,
    second: &Second,
    aim: Length,
    nominal: Length,
    to_model: Length,
) -> Length {
    let taken = more(second.size, less(to_model, nominal));
    match second.what {
        SecondKind::Flat | SecondKind::Flats => taken,
        SecondKind::Length => {
            let aim = more(second.size, less(aim, nominal));
            solve(aim, &behaviour(context, aim), f64::round).map_or(taken, |(model, _)| model)
        }
    }
}

/// The crown of a lying hole hangs down: its height is less than its width by that. Both have to lie between the limits, so that
/// the height is aimed as far below the middle as the width then lies above it: where it is held as well so, and in any case
/// where the width would otherwise lie beyond its limit.
fn between_width_and_height(demand: &Demand, behaviour: &Behaviour, practice: &Practice) -> Length {
    let sags = behaviour.effects.iter().filter(|e| e.cause == Cause::CrownSag && e.used == TermUse::InSum);
    let sag: f64 = sags.map(|e| -e.constant.to_um()).sum();
    let both = Length::um((demand.limits.middle().to_um() - 0.5 * sag).max(demand.limits.low.to_um()));
    // What only lets a screw through is spoilt by too tight, not by too wide.
    let passes = demand.finishes.first() == Some(&FinishKind::OpenWhereTight);
    if passes || sag <= 0.0 || both.to_um() >= demand.aim.to_um() {
        return demand.aim;
    }
    let judged = |aim| judge(demand.limits, aim, behaviour.spread, demand.grade, practice).verdict;
    let too_wide = demand.aim.to_um() + sag > demand.limits.high.to_um();
    if too_wide || judged(both) == judged(demand.aim) { both } else { demand.aim }
}

/// A hole that a screw only passes through is aimed at the middle of what serves, where its own size leaves some too tight.
fn least_doubtful(demand: &Demand, spread: Length, practice: &Practice) -> Length {
    let judged = |aim| judge(demand.limits, aim, spread, demand.grade, practice);
    let middle = demand.limits.middle();
    let doubtful = judged(demand.aim).verdict != Verdict::Holds;
    if doubtful && judged(middle).cpk > judged(demand.aim).cpk { middle } else { demand.aim }
}

/// The loosest piece of a stretched fit must still grip: it is aimed so far beyond the least stretch as the print spreads, where
/// the limits leave as much.
fn clear_of_the_spread(demand: &Demand, kind: FeatureKind, spread: Length) -> Length {
    let (limits, middle) = (demand.limits, demand.limits.middle());
    match kind {
        FeatureKind::Hole => demand.aim.min(less(limits.high, spread).max(middle)),
        FeatureKind::Outside => demand.aim.max(more(limits.low, spread).min(middle)),
    }
}

/// What of its mate's size a rubbery print is stretched or squeezed by.
fn stretch(size: Length, aim: Length, spread: Length) -> Reason {
    let by = |off: f64| (size.to_um() - aim.to_um()).abs() / size.to_um() + off * spread.to_um() / size.to_um();
    Reason::Stretch { size, shares: [by(0.0), by(-1.0), by(1.0)] }
}

fn check_context(context: &FeatureContext) -> Result<(), FitError> {
    for (name, value) in [("nozzle bore", context.nozzle_bore), ("layer height", context.layer_height)] {
        if !(value.to_mm().is_finite() && value.to_mm() > 0.0) {
            return Err(FitError::new("", format!("the {name} must be a length greater than zero"), "such as 0.4 mm"));
        }
    }
    let Some(record) = &context.record else { return Ok(()) };
    let sound = record.offset.to_mm().is_finite()
        && record.offset.to_mm().abs() <= 5.0
        && (0.5..=2.0).contains(&record.scale)
        && record.spread.to_mm().is_finite()
        && (0.0..=5.0).contains(&record.spread.to_mm());
    if sound {
        return Ok(());
    }
    Err(FitError::new(
        record.citation(),
        "the calibration record's numbers cannot be right",
        "an offset within 5 mm, a scale from 0.5 to 2 and a spread from 0 to 5 mm are expected",
    ))
}

fn less(a: Length, b: Length) -> Length {
    Length::um(a.to_um() - b.to_um())
}

fn more(a: Length, b: Length) -> Length {
    Length::um(a.to_um() + b.to_um())
}

/// A spread from here on, µm, leaves no sense in a third decimal of a millimetre.
const ROUGH: f64 = 50.0;

/// Returns the size as it is drawn: to a hundredth where the spread is that of a print, to a thousandth below.
pub(crate) fn drawn(size: Length, spread: Length) -> Length {
    let step = grain(spread);
    Length::um((size.to_um() / step).round() * step)
}

/// What sizes are drawn to, µm.
fn grain(spread: Length) -> f64 {
    if spread.to_um() < ROUGH { 1.0 } else { 10.0 }
}

/// Returns how a size to model is rounded, so that stock stays for the tool and room for the joint.
fn to_the_good(route: &Route, kind: FeatureKind) -> fn(f64) -> f64 {
    match (route, kind) {
        (Route::PrintUnder { .. }, FeatureKind::Hole) | (Route::PrintOver { .. }, FeatureKind::Outside) => f64::floor,
        (Route::PrintUnder { .. }, FeatureKind::Outside) | (Route::PrintOver { .. }, FeatureKind::Hole) => f64::ceil,
        _ => f64::round,
    }
}

/// Limits of the printed feature as they are gauged: no finer than the spread.
fn gauged(printed: Limits, spread: Length) -> Limits {
    Limits::new(drawn(printed.low, spread), drawn(printed.high, spread))
}

/// Solves model (1 + sum of factors) + sum of constants = aim, and returns the size as drawn with the terms at it.
fn solve(aim: Length, behaviour: &Behaviour, round: fn(f64) -> f64) -> Option<(Length, Vec<Term>)> {
    let effects = &behaviour.effects;
    let counted = || effects.iter().filter(|e| e.used == TermUse::InSum);
    let factor: f64 = 1.0 + counted().map(|e| e.factor).sum::<f64>();
    let constant: f64 = counted().map(|e| e.constant.to_um()).sum();
    if factor <= 0.1 {
        return None;
    }
    let step = grain(behaviour.spread);
    let model = Length::um(round((aim.to_um() - constant) / factor / step) * step);
    let sound = model.to_um().is_finite() && model.to_um() > 0.0;
    sound.then(|| (model, effects.iter().map(|e| e.at(model)).collect()))
}

/// What a length is drawn larger by to come out, where it shrinks or grows in proportion.
fn scale(effects: &[super::behaviour::Effect]) -> Option<f64> {
    let share: f64 = effects.iter().filter(|e| e.used == TermUse::InSum).map(|e| e.factor).sum();
    (share != 0.0).then(|| 1.0 / (1.0 + share))
}

/// Grades so fine are never printed to size, whatever a small sample promises.
fn too_fine(grade: Grade, practice: &Practice) -> bool {
    f64::from(grade.number()) < practice.finest_grade
}

/// Judges limits against a spread about an aim; a fine ISO grade is refused whatever the spread.
pub(crate) fn judge(
    limits: Limits,
    aim: Length,
    spread: Length,
    grade: Option<Grade>,
    practice: &Practice,
) -> Capability {
    let tolerance = limits.width();
    let sigma = (spread.to_um() / 2.0).max(1e-3);
    let nearest = (limits.high.to_um() - aim.to_um()).min(aim.to_um() - limits.low.to_um());
    let (cp, cpk) = (tolerance.to_um() / (6.0 * sigma), nearest / (3.0 * sigma));
    let too_fine = grade.is_some_and(|g| too_fine(g, practice));
    let verdict = if too_fine || cpk < practice.capability_least - 1e-9 {
        Verdict::CannotHold
    } else if cpk < practice.capability_holds - 1e-9 {
        Verdict::Marginal
    } else {
        Verdict::Holds
    };
    Capability { tolerance, spread, cp, cpk, verdict, grade }
}

/// Returns the size to model for a printed aim, with the terms and the behaviour behind it.
pub fn size_to_model(context: &FeatureContext, aim: Length) -> Result<(Length, Vec<Term>, Behaviour), FitError> {
    check_context(context)?;
    let behaviour = behaviour(context, aim);
    let (model, terms) = solve(aim, &behaviour, f64::round).ok_or_else(nothing_to_print)?;
    Ok((model, terms, behaviour))
}

fn nothing_to_print() -> FitError {
    FitError::new(
        "",
        "the allowance leaves nothing to print",
        "check the size and the calibration record's offset and scale",
    )
}

fn route(
    fit: &FitFunction,
    demand: &Demand,
    context: &FeatureContext,
    behaviour: &Behaviour,
    capability: &Capability,
) -> (Route, Vec<Finish>) {
    if let Some(route) = context.finish.and_then(|asked| asked::route(asked, fit, demand, context, behaviour.spread)) {
        return (route, Vec::new());
    }
    let cannot = capability.verdict == Verdict::CannotHold;
    let mut finishes: Vec<Finish> =
        demand.finishes.iter().filter_map(|kind| describe(*kind, fit, demand, context)).collect();
    if finishes.is_empty() && !demand.finishes.is_empty() {
        // No tool that can be bought cuts to these limits: what is left is the mate itself.
        finishes.extend(describe(FinishKind::TryAndFit, fit, demand, context));
    }
    if finishes.is_empty() || !demand.always && !cannot {
        return (Route::PrintToSize, finishes);
    }
    let then = finishes.remove(chosen(&finishes, demand.always, cannot));
    (in_route(then, behaviour.spread, &context.practice), finishes)
}

/// Returns the route to a finish: how the piece is printed for it.
fn in_route(then: Finish, spread: Length, practice: &Practice) -> Route {
    let spread = spread.to_mm();
    match then.kind {
        FinishKind::Ream | FinishKind::Drill | FinishKind::Tap | FinishKind::Turn | FinishKind::DrillAndSetInsert => {
            Route::PrintUnder { then, stock: Length::mm(practice.cutting_stock.to_mm() + spread) }
        }
        // So much too tight that next to none comes out too wide: a file only opens.
        FinishKind::File => Route::PrintUnder { then, stock: Length::mm(spread) },
        FinishKind::SetInsert
        | FinishKind::TryAndFit
        | FinishKind::PrintThread
        | FinishKind::OpenWhereTight
        | FinishKind::SetOut
        | FinishKind::TryTheArm => Route::PrintThen { then },
        FinishKind::ClampOrBond | FinishKind::CrushRibs => {
            Route::PrintOver { then, room: Length::mm(practice.bonding_room.to_mm() + spread) }
        }
        FinishKind::Bush | FinishKind::MetalPin => Route::Replace { then },
    }
}

/// What belongs to the fit in any case comes first; else what the shop has, a replacement of the feature only where it heads
/// the list; else the best way, whose missing tool is then a warning.
fn chosen(finishes: &[Finish], always: bool, cannot: bool) -> usize {
    if always {
        let drilled = finishes.iter().position(|f| f.kind == FinishKind::DrillAndSetInsert);
        return drilled.filter(|_| cannot).unwrap_or(0);
    }
    let replaces = |f: &Finish| matches!(f.kind, FinishKind::Bush | FinishKind::MetalPin);
    let usable = |(i, f): (usize, &Finish)| f.tool != Availability::NotInShop && (i == 0 || !replaces(f));
    finishes.iter().enumerate().position(usable).unwrap_or(0)
}

/// Describes a finish, or returns `None` where no tool that can be had reaches the limits that way.
fn describe(kind: FinishKind, fit: &FitFunction, demand: &Demand, context: &FeatureContext) -> Option<Finish> {
    let cutter = match kind {
        kind if context.flexible && cuts(kind) => return None,
        FinishKind::Ream => Some(cutters::reamer(&context.tools.reamers, demand.limits, demand.aim)?),
        FinishKind::Drill | FinishKind::DrillAndSetInsert | FinishKind::OpenWhereTight => {
            Some(cutters::drill(&context.tools.drills, demand.limits, demand.aim)?)
        }
        FinishKind::Tap => Some(demand.aim),
        FinishKind::Bush if !takes_a_bush(demand, &context.practice) => return None,
        _ => None,
    };
    let (limits, practice) = (demand.limits, &context.practice);
    let cut = cutter.unwrap_or(demand.aim);
    let step = match kind {
        FinishKind::Ream => Work::Ream { cut, limits },
        FinishKind::Drill if cut.to_um() > practice.drill_grabs.to_um() => Work::Open { cut, limits },
        FinishKind::Drill => Work::Drill { cut, limits },
        FinishKind::Tap => Work::Tap { drill: cut, thread: thread_of(fit) },
        FinishKind::SetInsert => Work::SetInsert { drill: None },
        FinishKind::DrillAndSetInsert => Work::SetInsert { drill: Some(cut) },
        FinishKind::ClampOrBond => Work::ClampOrBond,
        FinishKind::CrushRibs => Work::CrushRibs(None),
        FinishKind::Bush => Work::Bush(limits),
        FinishKind::Turn => Work::Turn { limits, fine: demand.grade.is_some_and(|g| too_fine(g, practice)) },
        FinishKind::File => Work::File(limits),
        FinishKind::MetalPin if bought_pin(demand, practice) => Work::BoughtPin { size: demand.nominal, limits },
        FinishKind::MetalPin => Work::TurnedPin(limits),
        FinishKind::TryAndFit | FinishKind::TryTheArm if context.flexible => {
            Work::TryAndReprint { by: context.polymer.spread }
        }
        FinishKind::PrintThread => Work::PrintThread { thread: thread_of(fit) },
        FinishKind::TryTheArm => Work::TryTheArm,
        FinishKind::SetOut if context.wall.is_some() => Work::FileFromPin,
        FinishKind::SetOut => Work::DrillByMate,
        FinishKind::OpenWhereTight => Work::OpenWhereTight { cut },
        FinishKind::TryAndFit if is_flatted(fit, context) => Work::FileFlats,
        FinishKind::TryAndFit => Work::TryAndFit,
    };
    Some(Finish { kind, step, cutter, tool: tool_for(kind, fit, cutter, context) })
}

/// Returns whether flats are what binds, filed from the corners on; a lid's lip is sanded all round.
fn is_flatted(fit: &FitFunction, context: &FeatureContext) -> bool {
    let flat = |s: &Second| matches!(s.what, SecondKind::Flat | SecondKind::Flats);
    matches!(fit, FitFunction::Flats { .. }) || context.second.as_ref().is_some_and(flat)
}

/// Returns whether a finish takes an edge, or crushes: rubber gives way before both.
const fn cuts(kind: FinishKind) -> bool {
    match kind {
        FinishKind::Ream
        | FinishKind::Drill
        | FinishKind::Tap
        | FinishKind::DrillAndSetInsert
        | FinishKind::Turn
        | FinishKind::File
        | FinishKind::OpenWhereTight
        | FinishKind::SetOut
        | FinishKind::CrushRibs => true,
        FinishKind::SetInsert
        | FinishKind::ClampOrBond
        | FinishKind::Bush
        | FinishKind::MetalPin
        | FinishKind::PrintThread
        | FinishKind::TryTheArm
        | FinishKind::TryAndFit => false,
    }
}

/// Bushes are bored for a shaft of nominal size, at it or a little above it (as F7 at the largest: ISO 286-1), up to a size.
fn takes_a_bush(demand: &Demand, practice: &Practice) -> bool {
    let over = demand.limits.low.to_um() - demand.nominal.to_um();
    demand.nominal.to_um() <= practice.largest_bush.to_um() && (-0.5..=120.0).contains(&over)
}

/// Pins and rods are sold h (bright or ground) and m6 (dowels); anything else has to be turned.
fn bought_pin(demand: &Demand, practice: &Practice) -> bool {
    let at_nominal = (demand.limits.high.to_um() - demand.nominal.to_um()).abs() < 0.5;
    let dowel = matches!(demand.named, Named::Dowel(_));
    demand.nominal.to_um() <= practice.largest_pin.to_um() && (at_nominal || dowel)
}

fn thread_of(fit: &FitFunction) -> String {
    match fit {
        FitFunction::Thread { designation } => hardware::normal_thread(designation),
        FitFunction::Insert { thread } | FitFunction::Clearance { thread, .. } => hardware::normal_thread(thread),
        _ => String::new(),
    }
}

fn tool_for(kind: FinishKind, fit: &FitFunction, cutter: Option<Length>, context: &FeatureContext) -> Availability {
    let tools = &context.tools;
    let wanted = thread_of(fit);
    let owned = |list: &[Length]| cutter.is_some_and(|c| cutters::owned(list, c));
    let have = match kind {
        FinishKind::Ream => owned(&tools.reamers),
        FinishKind::Drill | FinishKind::DrillAndSetInsert => owned(&tools.drills),
        FinishKind::Tap => tools.taps.iter().any(|t| hardware::normal_thread(t) == wanted),
        FinishKind::SetInsert => tools.inserts.iter().any(|i| hardware::normal_thread(&i.thread) == wanted),
        FinishKind::Turn => *tools.lathe,
        FinishKind::ClampOrBond
        | FinishKind::CrushRibs
        | FinishKind::Bush
        | FinishKind::MetalPin
        | FinishKind::File
        // With what a hole is drilled is that hole's own matter.
        | FinishKind::SetOut
        // Whether a drill is wanted at all is known when the first piece is there.
        | FinishKind::OpenWhereTight
        | FinishKind::PrintThread
        | FinishKind::TryTheArm
        | FinishKind::TryAndFit => return Availability::Unstated,
    };
    match (have, tools.known) {
        (true, _) => Availability::InShop,
        (false, true) => Availability::NotInShop,
        (false, false) => Availability::Unstated,
    }
}

/// Where the printed piece is aimed before finishing.
fn printed_aim(demand: &Demand, context: &FeatureContext, route: &Route) -> Length {
    match (route, context.kind) {
        (Route::PrintToSize | Route::PrintThen { .. } | Route::Replace { .. }, _) => demand.aim,
        (Route::PrintUnder { then, stock }, FeatureKind::Hole) => {
            // A reamer is aimed at its own size; a drill or tap drill likewise: the printed hole must lie below it.
            let cut = if then.kind == FinishKind::Ream { demand.limits.low.min(demand.nominal) } else { demand.aim };
            less(cut, *stock)
        }
        (Route::PrintUnder { stock, .. }, FeatureKind::Outside) => more(demand.limits.high, *stock),
        (Route::PrintOver { room, .. }, FeatureKind::Hole) => more(demand.nominal, *room),
        (Route::PrintOver { room, .. }, FeatureKind::Outside) => less(demand.nominal, *room),
    }
}

/// Small printed holes close up, the sooner the wider the bore.
fn small_hole_warning(context: &FeatureContext, aim: Length) -> Option<Warning> {
    let wide = (context.nozzle_bore.to_mm() / context.practice.usual_bore.to_mm()).max(1.0);
    let least = Length::mm(context.practice.smallest_hole.to_mm() * wide);
    (context.kind == FeatureKind::Hole && aim.to_um() < least.to_um()).then_some(Warning::SmallHole(aim))
}

/// Compares the mesh with nominal and compensated sizes; they must lie further apart than the eye of a CAD rounding.
fn model_state(
    found: Option<Length>,
    context: &FeatureContext,
    [nominal, to_model]: [Length; 2],
    spread: Length,
) -> ModelState {
    let Some(found) = found else { return ModelState::Unknown };
    let eye = {
        let rounding = context.practice.cad_rounding;
        (spread.to_um() / 4.0).max(rounding.least.to_um()).min(rounding.most.to_um())
    };
    let apart = |a: Length| (found.to_um() - a.to_um()).abs();
    let change = less(to_model, found);
    let compensated = apart(to_model) <= eye && apart(to_model) <= apart(nominal);
    match (compensated, context.compensation) {
        (true, Compensation::InRecipe) if apart(nominal) > eye => ModelState::Twice,
        (true, _) => ModelState::Compensated,
        (false, _) if apart(nominal) <= eye => ModelState::Nominal { change },
        (false, _) => ModelState::Other { change },
    }
}

fn model_warning(state: &ModelState, context: &FeatureContext, to_model: Length) -> Option<Warning> {
    let found = context.modelled?;
    match (state, context.compensation) {
        (ModelState::Twice, _) => Some(Warning::CarriedTwice { found }),
        (ModelState::Nominal { .. }, Compensation::InModel) => Some(Warning::NotCarried { found, to_model }),
        (ModelState::Other { .. }, _) => Some(Warning::NeitherSize { found, to_model }),
        _ => None,
    }
}

fn tool_warning(route: &Route) -> Option<Warning> {
    let then = route.finish()?;
    (then.tool == Availability::NotInShop).then(|| Warning::NoTool(Box::new(then.step.clone())))
}

#[cfg(test)]
mod tests;
