//! Regions in words, the same wherever they are shown.

use super::{Kind, Region, Verdict};

impl Kind {
    /// Returns the noun for a person.
    pub fn words(self) -> &'static str {
        match self {
            Kind::Island => "island",
            Kind::Bridge => "bridge",
            Kind::Ledge => "ledge",
            Kind::Steep => "steep overhang",
            Kind::HoleCrown => "hole crown",
        }
    }
}

impl Verdict {
    /// Returns what a person is told to do.
    pub fn words(self) -> &'static str {
        match self {
            Verdict::None => "no support",
            Verdict::Bridge => "no support, it bridges",
            Verdict::Support => "support",
            Verdict::Trapped => "support that could not be taken out",
            Verdict::Redesign => "redesign",
            Verdict::Left => "left without support, rough",
        }
    }
}

impl Region {
    /// Returns the measure that its verdict hangs on; empty for what begins in the air.
    pub fn extent(&self) -> String {
        let reach = self.reach_mm.map_or_else(String::new, |r| format!("reach {r:.2} mm"));
        match (self.kind, self.span_mm, self.diameter_mm) {
            (Kind::HoleCrown, _, Some(d)) => format!("diameter {d:.2} mm"),
            (Kind::Bridge | Kind::HoleCrown, Some(span), _) => format!("span {span:.2} mm"),
            (Kind::Ledge, ..) => reach,
            (Kind::Steep, ..) if reach.is_empty() => format!("{:.1}°", self.angle_deg),
            (Kind::Steep, ..) => format!("{:.1}°, {reach}", self.angle_deg),
            _ => String::new(),
        }
    }

    /// Returns why, and whether support could be taken out where its verdict alone does not say so.
    pub fn why(&self) -> String {
        let told = matches!(self.verdict, Verdict::Trapped | Verdict::Redesign);
        let inside = if self.removable || told { "" } else { "; support in here could not be taken out" };
        format!("{}{inside}", self.because)
    }
}
