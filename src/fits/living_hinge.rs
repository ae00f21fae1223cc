//! Living hinges: a thin strip that bends instead of a joint. What to watch, by polymer, thickness and lie of the layers.

use super::function::mm;
use super::practice::Practice;
use super::{Provenance, SourceKind};
use crate::quantity::Length;

/// Source of the cautions.
pub const SOURCE: Provenance =
    Provenance::new(SourceKind::CommonPractice, "living hinges are a matter of polymers that yield without breaking");

/// What a polymer bears as a living hinge.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Bears {
    /// A few bends, or nobody knows.
    Few,
    /// Tens of bends.
    Some,
    /// A hinge in daily use.
    Many,
}

/// How the strip of a living hinge lies in the printed pose.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Laid {
    /// Flat: its thickness is layers, and its strain runs in them.
    Flat,
    /// On edge, the axis of its fold upright: its thickness is beads that run across the fold, and its strain runs in the layers.
    OnEdge,
    /// Upright, the axis of its fold lying: its strain pulls layer from layer.
    Across,
}

/// Returns the cautions for a printed living hinge; `laid` is how its strip lies, where that is known, `better` names polymers
/// that bear many bends.
pub fn cautions(
    (polymer, bears): (&str, Bears),
    better: &[&str],
    thickness: Length,
    laid: Option<Laid>,
    layer_height: Length,
    practice: &Practice,
) -> Vec<String> {
    let mut cautions = Vec::new();
    match bears {
        Bears::Few if better.is_empty() => {
            cautions.push(format!("{polymer} breaks after a few bends: use a hinge on a pin"));
        }
        Bears::Few => {
            let list = better.join(" or ");
            cautions.push(format!("{polymer} breaks after a few bends: use {list}, or a hinge on a pin"));
        }
        Bears::Some => cautions.push(format!("{polymer} bears some tens of bends: not for a lid in daily use")),
        Bears::Many => {}
    }
    if laid == Some(Laid::Across) {
        cautions.push("the fold peels the layers apart: lay the strip flat, or stand it on edge".to_owned());
    }
    let t = thickness.to_mm();
    if laid != Some(Laid::OnEdge) && t < 2.0 * layer_height.to_mm() {
        cautions.push(format!("{} is less than two layers: one poor layer is the whole hinge", mm(thickness)));
    }
    if t > practice.hinge_thick.to_mm() {
        let strip = practice.hinge_strip.in_words();
        cautions.push(format!("{} is thick for a fold: {strip} strains the skin less", mm(thickness)));
    }
    cautions.push("lines run across the fold, not along it; bend it fully a few times while still warm".to_owned());
    cautions
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cautions_follow_polymer_and_lie() {
        let of = |p: &str, t: f64, laid| {
            let practice = Practice::usual();
            cautions((p, Bears::usual(p)), &["PP"], Length::mm(t), Some(laid), Length::mm(0.2), &practice).join("\n")
        };
        assert!(!of("PP", 0.4, Laid::Flat).contains("breaks"));
        assert!(of("PLA", 0.4, Laid::Flat).contains("breaks"));
        // They begin like polyethylene and are nothing like it.
        assert!(of("PEI", 0.4, Laid::Flat).contains("breaks"));
        assert!(of("PEEK", 0.4, Laid::Flat).contains("use PP, or a hinge"));
        assert!(of("PA6-GF", 0.4, Laid::Flat).contains("breaks"));
        assert!(of("PETG", 0.4, Laid::Flat).contains("some tens"));
        assert!(of("PP", 0.3, Laid::Across).contains("peels"));
        assert!(!of("PP", 0.3, Laid::OnEdge).contains("peels") && !of("PP", 0.3, Laid::OnEdge).contains("two layers"));
        assert!(of("PP", 0.3, Laid::Flat).contains("less than two layers"));
        assert!(of("PP", 0.9, Laid::Flat).contains("0.4 to 0.6 mm"));
    }
}
