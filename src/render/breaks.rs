//! Where numbers of a spec turn the choice, a line for each: `air (26 °C as stated): PLA until 44 °C, PETG until 63 °C`.

use super::pages::push_text;
use crate::resolve::breaks::{Breaks, Made, Stretch};
use crate::semantics::requirements::Which;

/// Returns the lines of a part.
pub fn text(part: &str, found: &[Breaks]) -> String {
    let mut out = String::new();
    push_text(&mut out, &format!("{part}: what would be chosen along each number of its spec, all else as stated"), "");
    let (turning, steady): (Vec<&Breaks>, Vec<&Breaks>) = found.iter().partition(|b| b.stretches.len() > 1);
    for breaks in &turning {
        push_text(&mut out, &format!("- {}: {}", title(breaks), stretches(breaks)), "");
    }
    if turning.is_empty() {
        push_text(&mut out, "No number of the spec turns the choice as far as was looked.", "");
    }
    if !steady.is_empty() {
        let names: Vec<String> = steady
            .iter()
            .map(|b| format!("{} (up to {})", title(b), b.stretches.first().map_or(b.stated, |s| s.to)))
            .collect();
        push_text(&mut out, &format!("These turn nothing as far as was looked: {}.", names.join("; ")), "");
    }
    out
}

/// Returns which number it is, with its value as stated.
pub fn title(breaks: &Breaks) -> String {
    let which = match breaks.number.number.which {
        Which::Main | Which::Undercut => "",
        Which::Low => " lowest",
        Which::Held => " held",
        Which::Factor => " factor",
        Which::Reach => " reach",
        Which::Thickness => " thick",
    };
    format!("{}{which} ({} as stated)", breaks.requirement.key, breaks.stated)
}

fn stretches(breaks: &Breaks) -> String {
    let made: Vec<&Made> = breaks.stretches.iter().filter_map(|s| s.made.as_ref()).collect();
    let differs = |d: usize| made.iter().any(|m| m.get(d) != made.first().and_then(|f| f.get(d)));
    let shown: Vec<usize> = (0..made.first().map_or(0, |m| m.len())).filter(|d| differs(*d)).collect();
    let name = |stretch: &Stretch| match &stretch.made {
        None => "nothing".to_owned(),
        // Where all that differs is whether anything stands, it is told by what stands.
        Some(made) if shown.is_empty() => made.iter().take(2).cloned().collect::<Vec<_>>().join(", "),
        Some(made) => shown.iter().filter_map(|d| made.get(*d)).cloned().collect::<Vec<_>>().join(", "),
    };
    let last = breaks.stretches.len().saturating_sub(1);
    let told = breaks.stretches.iter().enumerate().map(|(nth, stretch)| match nth == last {
        true => format!("then {}", name(stretch)),
        false => format!("{} until {}", name(stretch), stretch.to),
    });
    told.collect::<Vec<_>>().join("; ")
}
