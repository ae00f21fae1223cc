//! Which way out is the better one.

use super::{Change, Lends, Shape};
use crate::quantity::Dimension;
use crate::semantics::requirements::{Gives, Requirement};

/// What is bought or borrowed, and what is asked for a little less, comes before the model is drawn anew; that comes before
/// another machine, and before a requirement is given up.
const SHAPE: u32 = 20;

impl Lends {
    pub(super) fn rank(self) -> u32 {
        match self {
            Lends::Spool => 1,
            Lends::Agent => 2,
            Lends::Nozzle => 3,
            Lends::Surface => 4,
            Lends::Warmth => 5,
            Lends::Enclosure => 6,
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
            // What is on the shelf costs nothing but the look of it.
            Change::Colour(colour) => u32::from(colour.listed && colour.spool.is_none()),
            Change::Bench { lends, .. } => lends.rank(),
            Change::Number { number, .. } if number.number.which.is_of_the_shape() => SHAPE,
            Change::Number { requirement, .. } => of_line(requirement),
            Change::Shape(Shape::Wall { .. }) => SHAPE,
            // What is reckoned comes after what was solved.
            Change::Shape(Shape::Section { .. }) => SHAPE + 1,
            Change::Drop { requirement } if requirement.key.row().gives == Gives::Choice => of_line(requirement),
            Change::Drop { .. } => 40,
        }
    }

    /// Returns how much of what a line asks for is given up: from 0 to 1, where nothing of it is left. What is bought, drawn
    /// or chosen otherwise gives up nothing.
    pub(super) fn given_up(&self) -> f64 {
        match self {
            Change::Number { number, from, to, .. } if !number.number.which.is_of_the_shape() => {
                let mild = number.number.eases.mildest(*from).filter(|_| from.dimension == Dimension::TEMPERATURE);
                let share = match mild {
                    // A temperature has no zero that asks for nothing.
                    Some(mild) => (from.si - to.si) / (from.si - mild.si),
                    None => 1.0 - (to.si / from.si).min(from.si / to.si),
                };
                if share.is_finite() { share.clamp(0.0, 1.0) } else { 1.0 }
            }
            Change::Drop { requirement } if requirement.key.row().gives != Gives::Choice => 1.0,
            Change::Number { .. }
            | Change::Drop { .. }
            | Change::Colour(_)
            | Change::Shape(_)
            | Change::Bench { .. } => 0.0,
        }
    }
}
