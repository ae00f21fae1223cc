//! Where nothing is left: the smallest sets of requirements that cannot stand together, the nearest misses, and the
//! smallest changes that free it, each verified by solving again and looked at for what would then be weak.
//!
//! ```text
//! retry      the job asked again under other conditions
//! sets       the smallest sets of requirements in conflict     misses    what came nearest
//! ways       what frees the job, alone or together              numbers   other numbers in lines of the spec
//! bench      what the bench could be given                      shape     what could be drawn otherwise
//! colour     a lighter one in the sun                           rank      which way is the better one
//! ```

mod bench;
mod colour;
mod misses;
mod numbers;
mod rank;
pub(in crate::resolve) mod retry;
mod sets;
mod shape;
mod ways;

use std::sync::Arc;

use crate::diag::Cite;
use crate::geometry::mesh::Point;
use crate::quantity::{Length, Quantity};
use crate::semantics::requirements::{Kind, NumberOf, Requirement, requirements, without};
use crate::semantics::spec::Spec;

use super::equip::Lack;
use super::margin::{self, Verdict, said};
use super::problem::{Rules, Said};
use super::questions::{self, Asked};
use super::search::Solution;
use super::world::{COUNT, World};
use retry::Retry;

pub use misses::nearest_with;

/// Everything to say about a refusal.
#[derive(Debug, Clone)]
pub struct Refusal {
    /// Rules broken by the spec alone, whatever is chosen.
    pub from_the_start: Vec<Said>,
    pub sets: Vec<Vec<Requirement>>,
    /// Requirements stand by themselves; the bench is what is short.
    pub bench_only: bool,
    /// The nearest misses: choice, and what it breaks.
    pub nearest: Vec<(Solution, Vec<Said>)>,
    pub relaxations: Vec<Freed>,
    /// Where no single change frees the job, or only a purchase does: changes that do it together.
    pub together: Vec<Together>,
    /// What the spec leaves open, with what each answer would lead to.
    pub questions: Vec<Asked>,
    /// The search for ways out ended because enough had been asked, not because there was nothing more to ask.
    pub cut_short: bool,
}

/// Changes that free the job if all are made.
#[derive(Debug, Clone)]
pub struct Together {
    pub changes: Vec<Change>,
    /// Most of what a line asks for would be given up.
    pub hollow: bool,
    /// What would then be chosen.
    pub way: Way,
}

impl Together {
    fn does(&self) -> bool {
        self.changes.iter().all(|change| change.does(&self.way))
    }
}

/// A change that frees the job.
#[derive(Debug, Clone)]
pub struct Freed {
    pub change: Change,
    /// Most of what a line asks for would be given up.
    pub hollow: bool,
    /// What would then be chosen.
    pub way: Way,
}

/// What would be chosen, and what of it would be weak.
#[derive(Debug, Clone)]
pub struct Way {
    pub material: String,
    pub printer: String,
    /// Whether it takes a machine of the size of that printer, equipped as none here is.
    pub equipped: bool,
    /// How the part lies.
    pub pose: String,
    pub weak: Vec<Weakness>,
}

impl Way {
    /// Returns whether something of it would not hold.
    pub fn fails(&self) -> bool {
        self.weak.iter().any(|w| w.fails)
    }

    /// Returns whether the part would lie on no face, held by supports.
    fn hangs(&self) -> bool {
        self.weak.iter().any(|w| matches!(w.what, Weak::OnNoFace { .. }))
    }

    /// Returns whether it is not known to stand the heat.
    fn leaves_the_heat_open(&self) -> bool {
        let open = |w: &Weakness| matches!(&w.what, Weak::Margin { said, verdict: Verdict::NotShown, .. } if matches!(**said, said::Said::Heat { .. }));
        self.weak.iter().any(open)
    }

    /// Returns whether it is not known that it holds what this line asks.
    fn leaves_open(&self, requirement: &Requirement) -> bool {
        self.weak.iter().flat_map(|w| &w.open).any(|place| requirement.holds(place))
    }
}

/// A weak point of a choice that no rule refuses.
#[derive(Debug, Clone, PartialEq)]
pub struct Weakness {
    pub what: Weak,
    /// It does not hold, rather than narrowly.
    pub fails: bool,
    /// It is not known whether it holds: the places that ask for it.
    pub open: Vec<Cite>,
}

/// What is weak.
#[derive(Debug, Clone, PartialEq)]
pub enum Weak {
    /// A margin that does not plainly hold: its name, what is said of it, its verdict.
    Margin { what: margin::Name, said: Arc<said::Said>, verdict: Verdict },
    /// It holds, and may crack all the same where it is under load.
    Cracks { what: margin::Name, said: Arc<said::Said> },
    /// A setting above what the material is printed at.
    TooHot { setting: &'static str, set: Quantity, most: Quantity, material: String },
    /// It would lie on no face, held by supports; the best pose on a face, and why that is worse, in the rule's words.
    OnNoFace { pose: String, on_a_face: Option<(String, String)> },
}

/// Finds the weak points of a choice; margins are the business of whoever writes the recipe.
pub type Judge<'j> = dyn Fn(&Rules<'_, '_>, &[usize; COUNT]) -> Vec<Weakness> + Sync + 'j;

impl Freed {
    fn by(change: Change, way: Way) -> Self {
        Self { change, hollow: false, way }
    }

    /// Whether the job could be made so, and what the changed line asks would be known to hold.
    fn does(&self) -> bool {
        self.change.does(&self.way)
    }
}

impl Change {
    /// Whether with this change a way holds, and is known to hold what the changed line asks.
    fn does(&self, way: &Way) -> bool {
        let line = match self {
            Change::Number { requirement, .. }
            | Change::Shape(Shape::Section { requirement, .. } | Shape::Thick { requirement, .. }) => Some(requirement),
            _ => None,
        };
        // Another number for a pin is one that the material is printed at.
        let pinned = matches!(self, Change::Number { requirement, .. } if requirement.key.kind == Kind::Pin);
        let too_hot = || way.weak.iter().any(|w| matches!(w.what, Weak::TooHot { .. }));
        let open = line.is_some_and(|line| way.leaves_open(line));
        !(way.fails() || open || pinned && too_hot())
    }

    /// Whether it takes something that is not there: it is bought first, and waited for.
    fn buys(&self) -> bool {
        match self {
            Change::Bench { .. } => true,
            Change::Colour(colour) => colour.listed && colour.spool.is_none(),
            _ => false,
        }
    }

    /// Whether it takes away a line of this kind.
    fn drops(&self, kind: Kind) -> bool {
        matches!(self, Change::Drop { requirement, .. } if requirement.key.kind == kind)
    }
}

#[derive(Debug, Clone)]
pub enum Change {
    /// Another number in a line of the spec.
    Number { requirement: Requirement, number: NumberOf, from: Quantity, to: Quantity },
    /// Another colour, where the sun heats the part.
    Colour(Colour),
    /// Without a line of the spec; `no_less` where it has a number, and none was found with which the line could stay.
    Drop { requirement: Requirement, no_less: bool },
    /// Another shape, drawn in the model.
    Shape(Shape),
    /// Something the bench lacks.
    Bench { lends: Lends, what: Lack },
}

/// A colour that heats less in the sun.
#[derive(Debug, Clone)]
pub struct Colour {
    /// The line that asks for another one.
    pub asked: Option<Requirement>,
    /// The colour asked for or counted until now.
    pub from: Option<String>,
    pub to: String,
    /// The spool of it that is there; `None` where it is to be bought, or spools are not listed.
    pub spool: Option<String>,
    /// Whether the workshop lists its spools.
    pub listed: bool,
}

/// A shape changed in the model.
#[derive(Debug, Clone)]
pub enum Shape {
    /// No wall thinner than this, and the line of the spec that asks for a wall, where it has to say so too.
    Wall { from: Length, to: Length, at: Point, asked: Option<Requirement> },
    /// The place thicker where a load breaks the part: solved again on a body drawn so.
    Thick { requirement: Requirement, from: Length, to: Length, at: Point },
    /// A section deeper where a load strains it most. Reckoned from the load that does hold, not solved again: `bent` where
    /// the load bends the section, `pulled` where it pulls at it.
    Section { requirement: Requirement, bent: f64, pulled: f64 },
}

/// What kind of thing a bench is given.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Lends {
    Spool,
    Agent,
    Nozzle,
    Surface,
    /// A box round an open printer.
    Enclosure,
    /// A few kelvin more in a chamber there is.
    Warmth,
    /// Another machine, with all that goes with it.
    Machine,
}

/// Works out why nothing is left and what would free it.
pub fn refuse(world: &World<'_>, rules: &Rules<'_, '_>, judge: &Judge<'_>) -> Refusal {
    let retry = Retry::new(world, judge);
    let open = [None; COUNT];
    let from_the_start: Vec<Said> =
        rules.broken_from_the_start().into_iter().map(|c| rules.explain(c, &open)).collect();
    let all = requirements(world.spec, world.knowledge.sources);
    let nothing_stands = retry.stands(&keep(world.spec, &all, &[])) == Some(false);
    let sets = if nothing_stands { Vec::new() } else { sets::conflict_sets(&retry, &all) };
    // What words of the purpose refuse stays refused without a single requirement, and is no fault of the bench.
    let bench_only = nothing_stands && from_the_start.is_empty();
    let (ways, (nearest, questions)) = rayon::join(
        || ways::find(&retry, &all, &sets),
        || (misses::misses(rules, world), questions::ask(world, judge)),
    );
    let cut_short = retry.is_cut_short();
    let (relaxations, together) = (ways.single, ways.together);
    Refusal { from_the_start, sets, bench_only, nearest, relaxations, together, questions, cut_short }
}

/// Finds the section with which a load of a spec that does not stand would hold, and in what.
pub(super) fn deeper(retry: &Retry<'_, '_>, spec: &Spec, load: usize) -> Option<Freed> {
    let at = spec.loads.get(load)?.span;
    let all = requirements(spec, retry.world.knowledge.sources);
    let line = all.iter().find(|r| r.key.kind == Kind::Load && r.span == at)?;
    let eased = numbers::by_number(retry, spec, line);
    eased.iter().filter(|f| f.does()).find_map(|f| shape::section(retry, f))
}

/// Returns the spec with only these requirements left, and with rules set aside as they are: without that more would break.
fn keep(spec: &Spec, all: &[Requirement], kept: &[&Requirement]) -> Spec {
    let goes = |r: &&Requirement| !kept.iter().any(|k| k.key == r.key);
    without(spec, sets::in_question(all).into_iter().filter(goes).map(|r| &r.key))
}
