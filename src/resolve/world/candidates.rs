//! What there is to choose from: the decisions, and the values of each.

use super::World;
use crate::rulebook::facts::words::SupportKind;
use crate::rulebook::names::Decision;

/// The decisions the search makes, in the order in which ties are broken. The spool goes with the material.
pub const DECISIONS: [Decision; COUNT] = [
    Decision::Printer,
    Decision::Material,
    Decision::Nozzle,
    Decision::Surface,
    Decision::Agent,
    Decision::Pose,
    Decision::Supports,
    Decision::BuildUp,
];

/// How many decisions there are.
pub const COUNT: usize = 8;

/// Index of each decision in a choice.
pub mod at {
    pub const PRINTER: usize = 0;
    pub const MATERIAL: usize = 1;
    pub const NOZZLE: usize = 2;
    pub const SURFACE: usize = 3;
    pub const AGENT: usize = 4;
    pub const POSE: usize = 5;
    pub const SUPPORTS: usize = 6;
    pub const BUILD_UP: usize = 7;
}

/// A choice of which some decisions may be open.
pub type Partial = [Option<usize>; COUNT];

/// Support policies.
pub const SUPPORTS: &[SupportKind] = &[SupportKind::None, SupportKind::WhereNeeded];

impl World<'_> {
    /// Returns how many values each decision has.
    pub fn domains(&self) -> [usize; COUNT] {
        let b = &self.bench;
        [
            b.printers.len(),
            b.materials.len(),
            b.nozzles.len(),
            b.surfaces.len(),
            b.agents.len(),
            self.part.poses.len(),
            SUPPORTS.len(),
            b.build_ups.len(),
        ]
    }
}
