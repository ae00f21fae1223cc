//! A fit as a line of the spec calls it.

use crate::fits::groove::Seat;
use crate::quantity::{Length, trim_number};
use crate::semantics::spec::{Fit, FitFunction, GrooveSeat};

use super::table;

/// Returns the fit as the spec calls it.
pub fn designation(fit: &Fit) -> String {
    let word = if fit.two_flats { "flats" } else { "flat" };
    let flat = fit.flat.map_or_else(String::new, |flat| format!(", {word} {}", flat.value));
    format!("{}{flat}", round_designation(fit))
}

/// The class of what lies between flats, or its limits; neither where it has the usual play.
fn class_or_limits(fit: &Fit, own: Option<&String>) -> String {
    let limits = fit.within.as_ref().map(|w| deviations(&w.value));
    own.cloned().or(limits).map_or_else(String::new, |words| format!(" {words}"))
}

fn round_designation(fit: &Fit) -> String {
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
        FitFunction::Sized { size, within, inner } => {
            format!("{} {size} {}", if *inner { "bore" } else { "shaft" }, deviations(within))
        }
        FitFunction::Slot { size, own } => {
            let limits = fit.within.as_ref().map_or_else(String::new, |w| deviations(&w.value));
            format!("slot {size} {}", own.as_deref().unwrap_or(&limits))
        }
        FitFunction::Square { size, own, inner } => {
            let kind = if *inner { "bore" } else { "shaft" };
            format!("{kind} square {size}{}", class_or_limits(fit, own.as_ref()))
        }
        FitFunction::Pocket { size: [width, length], own, inner } => {
            let kind = if *inner { "pocket" } else { "tongue" };
            format!("{kind} {width} x {length}{}", class_or_limits(fit, own.as_ref()))
        }
        FitFunction::Lid { size, length, inner } => {
            let (kind, limits) = (if *inner { "rim" } else { "lip" }, class_or_limits(fit, None));
            length
                .map_or_else(|| format!("{kind} {size}{limits}"), |length| format!("{kind} {size} x {length}{limits}"))
        }
        FitFunction::Groove { seat, inside, section } => {
            let seat = match seat {
                GrooveSeat::Face => Seat::Face,
                GrooveSeat::Shaft => Seat::Shaft,
                GrooveSeat::Bore => Seat::Bore,
            };
            format!("groove {} for ring {inside} x {section}", seat.as_str())
        }
        FitFunction::Keyway { shaft } => format!("keyway for shaft {shaft}"),
        FitFunction::Distance { size, from, to } => {
            let limits = fit.within.as_ref().map_or_else(String::new, |w| deviations(&w.value));
            let to = to.as_ref().map_or_else(|| " to its neighbour".to_owned(), |to| format!(" to \"{to}\""));
            format!("distance {size} {limits} from \"{from}\"{to}")
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

/// How far a finished size may be off, as a drawing has it: `+-0.1 mm`, `+0.2 mm -0.05 mm`.
fn deviations([low, high]: &[Length; 2]) -> String {
    let signed =
        |l: &Length| format!("{}{} mm", if l.to_um() < 0.0 { "-" } else { "+" }, trim_number(l.to_mm().abs(), 3));
    if (low.to_um() + high.to_um()).abs() < 1e-6 {
        format!("+-{}", &signed(high)[1..])
    } else {
        format!("{} {}", signed(high), signed(low))
    }
}
