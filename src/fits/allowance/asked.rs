//! A finish the spec insists on: the route it asks for, or why it cannot lead to the limits.

use super::{Capability, Finish, FitError, Route, Verdict, describe, in_route};
use crate::fits::cutters;
use crate::fits::feature::{FeatureContext, FeatureKind, Finishing};
use crate::fits::function::{Demand, FinishKind, FitFunction, mm};
use crate::fits::practice::Practice;
use crate::quantity::Length;

/// Tells whether the finish asked for can lead to the limits at all; whether a printer holds them is not asked here.
///
/// # Errors
///
/// Says why not, and what to write instead.
pub fn possible(fit: &FitFunction, demand: &Demand, context: &FeatureContext) -> Result<(), FitError> {
    let Some(asked) = context.finish else { return Ok(()) };
    if context.flexible && asked != Finishing::AsPrinted {
        let why = format!("{} is rubbery and gives way before an edge", context.polymer.name);
        let hint = "leave `finish` out: it is printed to size and tried on its mate";
        return Err(refused(asked, why, hint));
    }
    match asked {
        Finishing::AsPrinted => as_printed(fit, demand, &context.practice),
        Finishing::Tapped => match fit {
            FitFunction::Thread { .. } => Ok(()),
            _ => Err(refused(
                asked,
                "only a thread is tapped",
                "write `thread M5` for a thread in the part, or leave `finish` out",
            )),
        },
        Finishing::Reamed | Finishing::Drilled => cut(fit, demand, context, asked),
    }
}

fn refused(asked: Finishing, why: impl Into<String>, hint: impl Into<String>) -> FitError {
    FitError::new(format!("finish {}", asked.as_str()), why, hint)
}

fn as_printed(fit: &FitFunction, demand: &Demand, practice: &Practice) -> Result<(), FitError> {
    let asked = Finishing::AsPrinted;
    if let FitFunction::Thread { .. } = fit {
        if demand.finishes == [FinishKind::PrintThread] {
            return Ok(());
        }
        let least = mm(practice.printed_thread);
        let why = format!(
            "a thread here is cut with a tap: printed are those from {least} on that stand upright, bear no load of this spec, and \
             whose pitch is {} bores of the nozzle or more",
            crate::quantity::trim_number(practice.printed_thread_bores, 1)
        );
        return Err(refused(asked, why, "write `finish tapped`, or `insert` for a thread of metal"));
    }
    let fine = demand.grade.filter(|g| super::too_fine(*g, practice));
    fine.map_or(Ok(()), |grade| {
        let limits = format!("{} to {}", mm(demand.limits.low), mm(demand.limits.high));
        let why = format!("no printer holds IT{grade} as printed: {limits} is finer than its layers and lines");
        let hint = match fit {
            FitFunction::Dowel { .. } | FitFunction::BearingSeat { .. } => {
                "leave `finish` out: the route that reaches it is then worked out"
            }
            _ => "write a coarser zone, or leave `finish` out: the route that reaches it is then worked out",
        };
        Err(refused(asked, why, hint))
    })
}

/// Reaming and drilling: of a round hole, by a tool that can be had, within the limits.
fn cut(fit: &FitFunction, demand: &Demand, context: &FeatureContext, asked: Finishing) -> Result<(), FitError> {
    let done = asked.as_str();
    let leave = "leave `finish` out: the route that reaches it is then worked out";
    if context.kind == FeatureKind::Outside {
        return Err(refused(asked, format!("only a hole is {done}, and this is an outside feature"), leave));
    }
    match fit {
        FitFunction::Thread { .. } => {
            return Err(refused(
                asked,
                format!("a {done} hole has no thread"),
                "write `finish tapped`, or `clearance` for a plain hole",
            ));
        }
        FitFunction::Nut { .. } | FitFunction::Magnet { .. } | FitFunction::Head { .. } | FitFunction::Snap { .. } => {
            return Err(refused(asked, format!("its flat sides or floor cannot be {done}"), leave));
        }
        FitFunction::Flats { .. } | FitFunction::Slot { .. } | FitFunction::Keyway { .. } => {
            return Err(refused(asked, format!("its flat sides cannot be {done}"), leave));
        }
        _ if context.second.is_some() => {
            return Err(refused(asked, format!("what is {done} loses its flat"), leave));
        }
        FitFunction::Hinge { in_place: true, .. } => {
            return Err(refused(
                asked,
                format!("a hinge printed in place cannot be {done}: its pin stands in it"),
                leave,
            ));
        }
        FitFunction::Insert { .. } if asked == Finishing::Reamed => {
            return Err(refused(
                asked,
                "an insert is set into a hole that is printed or drilled",
                "write `finish drilled` or `finish as printed`",
            ));
        }
        _ => {}
    }
    let fine = demand.grade.filter(|g| super::too_fine(*g, &context.practice));
    if let (Finishing::Drilled, Some(grade)) = (asked, fine) {
        let why = format!("a drill does not hold IT{grade}: its holes wander and come out wide");
        return Err(refused(asked, why, "write `finish reamed`, or a zone of grade 11 or coarser"));
    }
    let tools = &context.tools;
    let (tool, cutter) = match asked {
        Finishing::Reamed => ("reamer", cutters::reamer(&tools.reamers, demand.limits, demand.aim)),
        _ => ("drill", cutters::drill(&tools.drills, demand.limits, demand.aim)),
    };
    if cutter.is_some() {
        return Ok(());
    }
    let why =
        format!("no {tool} that can be bought cuts within {} to {}", mm(demand.limits.low), mm(demand.limits.high));
    Err(refused(asked, why, format!("{leave}; or list your own {tool} in shop.yaml")))
}

/// Returns the route that is asked for; [`possible`] has agreed to it.
pub(super) fn route(
    asked: Finishing,
    fit: &FitFunction,
    demand: &Demand,
    context: &FeatureContext,
    spread: Length,
) -> Option<Route> {
    let insert = matches!(fit, FitFunction::Insert { .. });
    let kind = match asked {
        Finishing::AsPrinted if insert => FinishKind::SetInsert,
        Finishing::AsPrinted if demand.finishes == [FinishKind::PrintThread] => FinishKind::PrintThread,
        Finishing::AsPrinted => return Some(Route::PrintToSize),
        Finishing::Reamed => FinishKind::Ream,
        Finishing::Drilled if insert => FinishKind::DrillAndSetInsert,
        Finishing::Drilled => FinishKind::Drill,
        Finishing::Tapped => FinishKind::Tap,
    };
    let then: Finish = describe(kind, fit, demand, context)?;
    Some(in_route(then, spread, &context.practice))
}

/// Returns whether it is to stay as printed, and printing does not hold it.
pub(super) fn not_held(asked: Finishing, capability: &Capability) -> bool {
    asked == Finishing::AsPrinted && capability.verdict == Verdict::CannotHold
}
