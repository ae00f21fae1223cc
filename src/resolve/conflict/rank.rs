//! Which way out is the better one.

use super::{Change, Lends, Shape};
use crate::quantity::Dimension;
use crate::semantics::requirements::{Gives, Requirement};

/// Kinds of change, the better first: what is bought or borrowed, and what is asked for a little less, comes before the
/// model is drawn anew; that comes before another machine, and before a requirement is given up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Rank {
    /// What is on the shelf costs nothing but the look of it.
    Look,
    Spool,
    Agent,
    Nozzle,
    Surface,
    Warmth,
    Enclosure,
    /// A pin or a wish was somebody's choice among many.
    Choice,
    Number,
    Shape,
    /// What is reckoned comes after what was solved.
    Reckoned,
    Machine,
    GivenUp,
}

impl Rank {
    /// Orders what is changed together: the worst of the changes decides, then the next.
    pub(super) fn of_all(ranks: impl Iterator<Item = Self>) -> Vec<Self> {
        let mut all: Vec<Self> = ranks.collect();
        all.sort_unstable_by(|a, b| b.cmp(a));
        all
    }
}

impl Lends {
    pub(super) fn rank(self) -> Rank {
        match self {
            Lends::Spool => Rank::Spool,
            Lends::Agent => Rank::Agent,
            Lends::Nozzle => Rank::Nozzle,
            Lends::Surface => Rank::Surface,
            Lends::Warmth => Rank::Warmth,
            Lends::Enclosure => Rank::Enclosure,
            Lends::Machine => Rank::Machine,
        }
    }
}

/// Returns the rank of letting a line give way.
pub(super) fn of_line(requirement: &Requirement) -> Rank {
    match requirement.key.row().gives {
        Gives::Choice => Rank::Choice,
        _ if !requirement.key.row().numbers.is_empty() => Rank::Number,
        _ => Rank::GivenUp,
    }
}

impl Change {
    pub(super) fn rank(&self) -> Rank {
        match self {
            Change::Colour(colour) if colour.listed && colour.spool.is_none() => Rank::Spool,
            Change::Colour(_) => Rank::Look,
            Change::Bench { lends, .. } => lends.rank(),
            Change::Number { number, .. } if number.number.which.is_of_the_shape() => Rank::Shape,
            Change::Number { requirement, .. } => of_line(requirement),
            Change::Shape(Shape::Wall { .. } | Shape::Thick { .. }) => Rank::Shape,
            Change::Shape(Shape::Section { .. }) => Rank::Reckoned,
            Change::Drop { requirement, .. } if requirement.key.row().gives == Gives::Choice => of_line(requirement),
            Change::Drop { .. } => Rank::GivenUp,
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
            Change::Drop { requirement, .. } if requirement.key.row().gives != Gives::Choice => 1.0,
            Change::Number { .. }
            | Change::Drop { .. }
            | Change::Colour(_)
            | Change::Shape(_)
            | Change::Bench { .. } => 0.0,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_worst_of_what_is_changed_together_decides() {
        let of = |ranks: &[Rank]| Rank::of_all(ranks.iter().copied());
        assert!(of(&[Rank::Shape, Rank::Reckoned]) < of(&[Rank::GivenUp, Rank::Spool]));
        assert!(of(&[Rank::Nozzle, Rank::Number]) < of(&[Rank::Number, Rank::Surface]));
        assert!(of(&[Rank::Spool, Rank::Agent, Rank::Machine]) > of(&[Rank::Shape, Rank::Shape]));
    }

    #[test]
    fn half_of_the_way_to_where_a_temperature_asks_for_nothing_gives_up_half() {
        use crate::diag::{Source, Sources};
        let text = "part \"p\" { mesh \"p.stl\" in mm; service { air 5 °C .. 60 °C } }";
        let mut sources = Sources::default();
        let id = sources.add(Source::new("p.partspec", text));
        let tree = crate::syntax::parse(id, text).value.unwrap();
        let spec = crate::semantics::check(&[tree], &sources).value.unwrap().parts.remove(0);
        let lines = crate::semantics::requirements::requirements(&spec, &sources);
        let (requirement, number, mild) = lines
            .iter()
            .flat_map(|line| line.key.numbers(&spec).into_iter().map(move |number| (line, number)))
            .find_map(|(line, number)| {
                let from = number.value(&spec).filter(|from| from.dimension == Dimension::TEMPERATURE)?;
                let mild = number.number.eases.mildest(from)?;
                Some((line.clone(), number, mild))
            })
            .unwrap();
        let from = number.value(&spec).unwrap();
        let to = crate::quantity::Quantity::new(0.5 * (from.si + mild.si), Dimension::TEMPERATURE);
        let half = Change::Number { requirement, number, from, to };
        assert!((half.given_up() - 0.5).abs() < 1e-9, "{}", half.given_up());
    }
}
