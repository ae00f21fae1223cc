//! Which way out is the better one.

use super::{Change, Lends};
use crate::semantics::requirements::{Gives, Requirement};

impl Lends {
    pub(super) fn rank(self) -> u32 {
        match self {
            Lends::Spool => 1,
            Lends::Agent => 2,
            Lends::Nozzle => 3,
            Lends::Surface => 4,
            Lends::Machine => 30,
        }
    }
}

/// Returns the rank of letting a line give way.
pub(super) fn of_line(requirement: &Requirement) -> u32 {
    match requirement.key.row().gives {
        Gives::Choice => 8,
        _ if !requirement.key.row().numbers.is_empty() => 10,
        _ => 40,
    }
}

impl Change {
    pub(super) fn rank(&self) -> u32 {
        match self {
            Change::Bench { lends, .. } => lends.rank(),
            Change::Number { requirement, .. } => of_line(requirement),
            Change::Drop { requirement } if requirement.key.row().gives == Gives::Choice => of_line(requirement),
            Change::Drop { .. } => 40,
        }
    }
}
