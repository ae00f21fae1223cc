//! Living hinges: a thin strip that bends instead of a joint. What to watch, by polymer, thickness and lie of the layers.

use super::feature::FeatureAxis;
use super::function::mm;
use super::{Provenance, SourceKind};
use crate::quantity::Length;

/// Source of the cautions.
pub const SOURCE: Provenance =
    Provenance::new(SourceKind::CommonPractice, "living hinges are a matter of polymers that yield without breaking");

/// Polymers that bend many times (by the beginning of their name), and those that bend some times.
const MANY: [&str; 4] = ["PP", "PE", "TPU", "TPE"];
const SOME: [&str; 2] = ["PA", "PETG"];

/// Returns the cautions for a printed living hinge; `axis` is the fold's axis in the printed pose.
pub fn cautions(polymer: &str, thickness: Length, axis: FeatureAxis, layer_height: Length) -> Vec<String> {
    let plain: String = polymer.chars().filter(char::is_ascii_alphanumeric).map(|c| c.to_ascii_uppercase()).collect();
    let filled = plain.ends_with("CF") || plain.ends_with("GF");
    let starts = |list: &[&str]| list.iter().any(|p| plain.starts_with(p));
    let mut cautions = Vec::new();
    // PEI and PEEK begin like polyethylene and are nothing like it.
    let stiff_pe = plain.starts_with("PEI") || plain.starts_with("PEEK") || plain.starts_with("PETG") || plain == "PET";
    if filled || !(starts(&MANY) && !stiff_pe || starts(&SOME)) {
        cautions.push(format!("{polymer} breaks after a few bends: use PP, PE or TPU, or a hinge on a pin"));
    } else if starts(&SOME) && (!starts(&MANY) || stiff_pe) {
        cautions.push(format!("{polymer} bears some tens of bends: not for a lid in daily use"));
    }
    if axis == FeatureAxis::AcrossLayers {
        cautions.push("the fold peels the layers apart: lay the strip flat on the bed".to_owned());
    }
    let t = thickness.to_mm();
    if t < 2.0 * layer_height.to_mm() {
        cautions.push(format!("{} is less than two layers: one poor layer is the whole hinge", mm(thickness)));
    }
    if t > 0.8 {
        cautions.push(format!("{} is thick for a fold: 0.4 to 0.6 mm strains the skin less", mm(thickness)));
    }
    cautions.push("lines run across the fold, not along it; bend it fully a few times while still warm".to_owned());
    cautions
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cautions_follow_polymer_and_lie() {
        let of = |p: &str, t: f64, axis| cautions(p, Length::mm(t), axis, Length::mm(0.2)).join("\n");
        assert!(!of("PP", 0.4, FeatureAxis::AlongLayers).contains("breaks"));
        assert!(of("PLA", 0.4, FeatureAxis::AlongLayers).contains("breaks"));
        assert!(of("PEI", 0.4, FeatureAxis::AlongLayers).contains("breaks"));
        assert!(of("PP-GF", 0.4, FeatureAxis::AlongLayers).contains("breaks"));
        assert!(of("PETG", 0.4, FeatureAxis::AlongLayers).contains("some tens"));
        assert!(of("PP", 0.3, FeatureAxis::AcrossLayers).contains("peels"));
        assert!(of("PP", 0.3, FeatureAxis::AlongLayers).contains("less than two layers"));
    }
}
