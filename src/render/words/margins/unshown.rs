//! Margins that are asked for and not shown.

use super::fits::interference;
use super::{bar, mm, mpa, one_of, percent};
use crate::quantity::{Quantity, trim_number};
use crate::resolve::margin::said::{Demand, NotShown, Part, Why};
use crate::semantics::spec::Impact;

pub(super) fn words(said: &NotShown, part: Part) -> String {
    let unknown = || "not known".to_owned();
    one_of(
        part,
        || demand(&said.demand),
        || said.allowed.map_or_else(unknown, |allowed| format!("{allowed} allowed")),
        String::new,
        || why(&said.why),
    )
}

fn demand(demand: &Demand) -> String {
    match demand {
        Demand::Unsaid => String::new(),
        Demand::Unknown => "not known".to_owned(),
        Demand::Size(size) => size.to_string(),
        Demand::Stress(stress) => mpa(*stress),
        Demand::Sun(time) => time.to_string(),
        Demand::Knocks(low) => format!("knocks at {low}"),
        Demand::Blow(Impact::Drop(height)) => format!("a drop of {height}"),
        Demand::Blow(Impact::Blow { mass, speed }) => {
            let (kg, m_s) = (Quantity::from(*mass).si, Quantity::from(*speed).si);
            format!("a blow of {mass} at {speed}, {} J", trim_number(0.5 * kg * m_s * m_s, 2))
        }
        Demand::Blow(Impact::Stated) => "blows or drops".to_owned(),
        Demand::Wall(wall) => format!("{wall} at the least"),
        Demand::Bar(pressure) => bar(*pressure),
        Demand::Strain(strain) => percent(*strain),
        Demand::Pressed(between) => interference(*between),
    }
}

fn why(why: &Why) -> String {
    let words = match why {
        Why::NotKnown(why) => return why.to_string(),
        Why::Unsolved(why) => why,
        Why::MovesFar { moves, most } => {
            return format!(
                "it moves {} where it acts; beyond {} of that the load no longer acts as stated, and what is computed for small displacements says little",
                mm(*moves, 1),
                mm(*most, 1)
            );
        }
        Why::Closes { gap, at, load, bears } => {
            return format!(
                "the gap of {} at {} closes first, at {load}; beyond that the part touches itself, which is not modelled; up to there it could be {} times as much",
                mm(*gap, 2),
                super::place(*at),
                trim_number(*bears, 2)
            );
        }
        Why::Together(why) => return format!("what they do together is not known: {why}"),
        Why::Blow { soft_unasked } => {
            let more = if *soft_unasked { "; must it be soft, write `ask softness`" } else { "" };
            return format!(
                "the energy a print takes up before it breaks is not computed: strike a trial piece first{more}"
            );
        }
        Why::HangsOnGrid(working) => return format!("where it buckles still hangs on the grid; {working}"),
        Why::NoElongation(bent, folds) => {
            return format!("{}; no elongation is known", super::fits::strained(*bent, folds));
        }
        Why::NoLoad => "there is no load, or no modulus is known",
        Why::NoWall => "no wall could be measured on the mesh: measure it in the model",
        Why::NoBore => "the bore or the wall is not stated: no stress can be computed",
        Why::NoEye => "no eye for this pin was found on the mesh: the gap is not known",
        Why::NoLife => "no figure for its life in the sun",
        Why::NoBrittlePoint => "no brittle point is known",
        Why::NoStiffness => "no modulus or no expansion is known of the material",
        Why::NoHole => "the hole was not found on the mesh: no wall to compute with",
    };
    words.to_owned()
}
