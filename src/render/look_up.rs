//! What a look-up by hand found, as plain text.

use crate::fits::iso286::{self, Clearance, Deviations, Member, Zone};
use crate::fits::lookup::{Answer, LookUp, at};
use crate::quantity::{Length, trim_number};

/// Returns the answer as plain text, its sources below.
pub fn text(found: &LookUp) -> String {
    let mut lines = Vec::new();
    match &found.answer {
        Answer::Pair { size, hole, shaft, limits } => {
            lines.push(format!("{}: {} fit", found.title, character(limits.character)));
            lines.push(member_line("hole", *size, hole, &limits.hole));
            lines.push(member_line("shaft", *size, shaft, &limits.shaft));
            lines.push(format!("  {}", clearance_text(&limits.clearance)));
        }
        Answer::Single { size, zone, deviations } => {
            lines.push(found.title.clone());
            let name = if zone.member == Member::Hole { "hole" } else { "shaft" };
            lines.push(member_line(name, *size, zone, deviations));
        }
        Answer::Dimensions(dimensions) => {
            lines.push(found.title.clone());
            let width = dimensions.iter().map(|d| d.label.chars().count()).max().unwrap_or(0);
            let sources = found.sources();
            for d in dimensions {
                let unit = if d.key.ends_with("_mm2") {
                    "mm²"
                } else if d.key.ends_with("_um") {
                    "µm"
                } else {
                    "mm"
                };
                let mark = sources.iter().position(|s| *s == d.source).map_or(0, |i| i + 1);
                lines.push(format!("  {:width$}  {:>8} {unit:3} [{mark}]", d.label, trim_number(d.value, 3)));
            }
        }
    }
    lines.extend(found.notes.iter().map(|note| format!("  note: {note}")));
    for (i, source) in found.sources().iter().enumerate() {
        lines.push(format!("  [{}] {source}", i + 1));
    }
    lines.join("\n") + "\n"
}

fn character(character: iso286::Character) -> &'static str {
    match character {
        iso286::Character::Clearance => "clearance",
        iso286::Character::Transition => "transition",
        iso286::Character::Interference => "interference",
    }
}

fn signed(um: f64) -> String {
    let number = trim_number(um, 1);
    if um > 0.0 { format!("+{number}") } else { number }
}

fn member_line(name: &str, size: Length, zone: &Zone, d: &Deviations) -> String {
    let how = match d.how {
        iso286::How::Table => "table",
        iso286::How::Rule => "rule",
    };
    format!(
        "  {name:5} {:5} {:>6} / {:>6} µm   {:.4} .. {:.4} mm   ({how})",
        zone.to_string(),
        signed(d.upper_um),
        signed(d.lower_um),
        at(size, d.lower_um),
        at(size, d.upper_um)
    )
}

fn clearance_text(clearance: &Clearance) -> String {
    let number = |um: f64| trim_number(um.abs(), 1);
    let (min, max) = (clearance.min_um, clearance.max_um);
    match clearance.character() {
        iso286::Character::Clearance => format!("clearance {} .. {} µm", number(min), number(max)),
        iso286::Character::Interference => format!("interference {} .. {} µm", number(max), number(min)),
        iso286::Character::Transition => {
            format!("clearance up to {} µm, interference up to {} µm", number(max), number(min))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fits::lookup::look_up;

    #[test]
    fn text_shows_numbers_and_sources() {
        let shown = text(&look_up("25 mm H7/r6", &crate::fits::practice::Practice::usual()).unwrap());
        assert!(shown.contains("interference 7 .. 41 µm"), "{shown}");
        assert!(shown.contains("ISO 286-1"));
        let shown = text(&look_up("thread M3", &crate::fits::practice::Practice::usual()).unwrap());
        assert!(shown.contains("[1]") && shown.contains("common-practice"), "{shown}");
    }
}
