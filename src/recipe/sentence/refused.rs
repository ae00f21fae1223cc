//! Why nothing is left, what would free it, and what an answer leads to.

use super::Failing;
use crate::diag::Cite;
use crate::quantity::Length;
use crate::resolve::conflict::Weak;
use crate::resolve::equip::Lack;
use crate::rulebook::Filled;

/// Why nothing is left, and what would free it.
#[derive(Debug, Clone, PartialEq)]
pub enum Refused {
    /// That many lines cannot stand together.
    Together(usize),
    BenchAlone,
    Margin(Failing),
    Oversize(Oversize),
    /// `hollow`: most of what a line asks for would be given up.
    Changes {
        each: Vec<(Change, Vec<Cite>)>,
        does: Does,
        hollow: bool,
        way: Way,
    },
    /// The model drawn otherwise, in the words of the rules that refuse it, for a material on a machine.
    Redrawn {
        so: Vec<Filled>,
        material: String,
        printer: String,
    },
}

/// What changes do that free a job.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Does {
    /// One by itself.
    Alone,
    /// All of them, where no single one does.
    OnlyTogether,
    /// All of them with what is there, where a single one takes a purchase.
    WithoutPurchase,
}

/// A part that no machine here holds.
#[derive(Debug, Clone, PartialEq)]
pub struct Oversize {
    pub part: [Length; 3],
    pub printer: String,
    pub build: [Length; 3],
    pub edge: Length,
    /// The sides that are too long.
    pub long: Vec<Length>,
    /// Into how many pieces along each axis, and the size of one.
    pub counts: [usize; 3],
    pub piece: [Length; 3],
}

/// A change that frees a job.
#[derive(Debug, Clone, PartialEq)]
pub enum Change {
    /// Another number; `of` stands before it ("a load of "), both as they are written in the line; `held` is how long.
    Number {
        of: String,
        held: bool,
        /// It is a size of the shape: the model changes with the line.
        model: bool,
        from: String,
        to: String,
    },
    /// A wall drawn thicker; `asked` where the line that asks for a wall has to say so too.
    Wall {
        from: Length,
        to: Length,
        at: [f64; 3],
        asked: bool,
    },
    /// A place drawn thicker where a load breaks it (or bends it too far), solved again so.
    Thick {
        load: String,
        bends: bool,
        from: Length,
        to: Length,
        at: [f64; 3],
    },
    /// A section drawn deeper where a load strains it, as multiples of what it is.
    Section {
        load: String,
        bent: f64,
        pulled: f64,
    },
    /// Another colour, with the spool of it on the shelf or one to buy; neither where spools are not listed.
    Colour {
        from: Option<String>,
        to: String,
        spool: Option<String>,
        buy: Option<String>,
    },
    /// `no_less`: the line has a number, and no milder one was found to do.
    Without {
        line: String,
        no_less: bool,
    },
    With(Lack),
}

/// What would then be chosen, and what of it would be weak, the worst first.
#[derive(Debug, Clone, PartialEq)]
pub struct Way {
    pub material: String,
    pub printer: String,
    /// Whether it takes a machine of the size of that printer, equipped as none here is.
    pub equipped: bool,
    pub fails: bool,
    pub weak: Vec<Weak>,
}

/// What an answer to a question leads to.
#[derive(Debug, Clone, Default, PartialEq)]
pub enum LeadsTo {
    /// Nothing at hand would do.
    #[default]
    Nothing,
    As(Way),
    /// Nothing as it is drawn; with a section so many times as deep.
    Redrawn {
        way: Way,
        /// Where it is bent, and where it is pulled.
        bent: f64,
        pulled: f64,
    },
}
