//! What a printer can leave without support, each limit with the word of where it comes from.

use serde::Serialize;

/// A limit and its origin, so that every verdict can say what it was measured against.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Limit {
    /// Degrees or mm, as the field of [`Limits`] says.
    pub value: f64,
    /// Where it comes from, in words.
    pub origin: String,
    /// Key of the study or standard it is from, by which it is cited in full.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub source: Option<String>,
}

impl Limit {
    /// Returns a limit that cites no source.
    pub fn new(value: f64, origin: impl Into<String>) -> Self {
        Self { value, origin: origin.into(), source: None }
    }

    /// Adds the key by which its source is cited.
    pub fn cited(self, key: impl Into<String>) -> Self {
        Self { source: Some(key.into()), ..self }
    }
}

/// The limits one analysis works with. A shop's own records replace the named defaults.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Limits {
    /// Steepest slope from vertical that prints without support, degrees.
    pub overhang_deg: Limit,
    /// Longest span that bridges, mm.
    pub bridge_mm: Limit,
    /// Farthest reach of a ledge held on one side, mm.
    pub ledge_mm: Limit,
    /// Largest horizontal round hole whose crown holds itself, diameter, mm.
    pub crown_mm: Limit,
    /// Narrowest gap below a region that support can be put into, mm.
    pub gap_mm: Limit,
    /// Height of an analysis layer, mm.
    pub layer_mm: f64,
    /// Width of a printed line, mm.
    pub line_mm: f64,
}

/// Key of the study behind the defaults: Mazlan et al., JAITA 2020, 38-47.
const STUDY: &str = "MAZLAN20";

impl Default for Limits {
    /// Defaults for a 0.4 mm bore. "paper" cites a study, "common practice" the trade at large.
    fn default() -> Self {
        let study = "default: paper, Mazlan et al. 2020";
        let practice = "default: common practice";
        Self {
            overhang_deg: Limit::new(45.0, study).cited(STUDY),
            bridge_mm: Limit::new(10.0, practice),
            ledge_mm: Limit::new(1.0, "default: the middle of 0.5 to 1.5 mm, Mazlan et al. 2020").cited(STUDY),
            crown_mm: Limit::new(10.0, practice),
            gap_mm: Limit::new(0.3, practice),
            layer_mm: 0.2,
            line_mm: 0.44,
        }
    }
}

impl Limits {
    /// Returns every limit that is cited from somewhere.
    pub fn all(&self) -> [&Limit; 5] {
        [&self.overhang_deg, &self.bridge_mm, &self.ledge_mm, &self.crown_mm, &self.gap_mm]
    }

    /// Returns the overhang limit in radians.
    pub fn overhang(&self) -> f64 {
        self.overhang_deg.value.to_radians()
    }
}
