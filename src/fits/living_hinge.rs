//! Living hinges: a thin strip that bends instead of a joint. What to watch, by polymer, thickness and lie of the layers.

use super::practice::Practice;
use super::said::Caution;
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
) -> Vec<Caution> {
    let mut cautions = Vec::new();
    let polymer = polymer.to_owned();
    match bears {
        Bears::Few => {
            let better = better.iter().map(|&name| name.to_owned()).collect();
            cautions.push(Caution::FoldBreaks { polymer, better });
        }
        Bears::Some => cautions.push(Caution::FoldTires { polymer }),
        Bears::Many => {}
    }
    if laid == Some(Laid::Across) {
        cautions.push(Caution::FoldPeels);
    }
    let t = thickness.to_mm();
    if laid != Some(Laid::OnEdge) && t < practice.hinge_layers * layer_height.to_mm() {
        cautions.push(Caution::FoldThin(thickness));
    }
    if t > practice.hinge_thick.to_mm() {
        cautions.push(Caution::FoldThick { thickness, better: practice.hinge_strip });
    }
    cautions.push(Caution::FoldLines);
    cautions
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cautions_follow_polymer_and_lie() {
        let of = |p: &str, t: f64, laid| {
            let practice = Practice::usual();
            let said = cautions((p, Bears::usual(p)), &["PP"], Length::mm(t), Some(laid), Length::mm(0.2), &practice);
            said.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
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
