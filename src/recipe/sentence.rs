//! What a recipe says, as data: which sentence, and the values in it. `render::words` has the English of each.

mod detail;
mod open;
mod refused;

pub use detail::{Beads, Detail, Lay, Layers, MeshValue, Place, Spool};
pub use open::{Limits, Open, Use, Wanted, Work};
pub use refused::{Change, Does, LeadsTo, Oversize, Refused, Way};

use std::sync::Arc;

use crate::diag::Cite;
use crate::fits::Provenance;
use crate::fits::allowance::{Capability, Route, Verdict as Held};
use crate::fits::said as fits;
use crate::quantity::Length;
use crate::recipe::Weighed;
use crate::resolve::heat;
use crate::resolve::margin;
use crate::resolve::margin::said::OfMargin;
use crate::resolve::run;
use crate::rulebook::Filled;

/// A sentence, or a part of one.
#[derive(Debug, Clone, Default, PartialEq)]
pub enum Sentence {
    /// No words.
    #[default]
    Nothing,
    /// Words of a person (the reason given with a pin), or of an earlier phase: the working of a computation.
    Told(Arc<str>),
    /// What a rule says, and of which load, fit, face or contact where its words do not name it.
    Rule {
        /// `None` where the words name it.
        about: Option<About>,
        /// The rule's words, its values still values.
        text: Filled,
    },
    /// The first sentence of a page.
    Headline(Box<Headline>),
    /// Why a choice was taken, or not.
    Choice(Box<Choice>),
    /// What a run rests on.
    Run(Box<RunNote>),
    /// A margin that is to be watched.
    Margin(Box<MarginNote>),
    /// What a margin is called.
    Called(margin::Name),
    /// A part of what is said of a margin.
    OfMargin(OfMargin),
    /// What the spec leaves open.
    Open(Box<Open>),
    /// What became of a statement of the spec.
    Use(Box<Use>),
    /// A step that no rule gives.
    Step(Box<Work>),
    /// What is said of a fit.
    Fit(Box<FitNote>),
    /// Why nothing is left, or what would free it.
    Refused(Box<Refused>),
    /// What an answer leads to.
    LeadsTo(Box<LeadsTo>),
    /// Another one by itself among whole sentences: begun with a capital and ended with a full stop.
    Whole(Box<Sentence>),
}

/// The load, fit, face or contact a rule was asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct About {
    pub kind: &'static str,
    pub name: String,
}

/// The first sentence of a page.
#[derive(Debug, Clone, PartialEq)]
#[allow(clippy::large_enum_variant, reason = "there is one headline a recipe")]
pub enum Headline {
    Print {
        material: String,
        spool: Option<String>,
        printer: String,
        nozzle: String,
        surface: String,
        agent: Option<String>,
        pose: String,
        supports: bool,
        failing: Vec<Failing>,
        /// What is not shown and to be settled first.
        first: Vec<Unshown>,
        /// Questions to be settled first.
        asked: Vec<Sentence>,
        /// Uses it is not for.
        not_for: Vec<Sentence>,
    },
    /// It computes as broken, and a failure could hurt someone.
    Withheld(Vec<Failing>),
    /// Lines of the spec or the shop stand in the way: how many things, and where they stand.
    InTheWay {
        things: usize,
        places: Vec<Cite>,
        beside: Beside,
    },
    TooLarge(Beside),
    /// Nothing is chosen until a question is answered: as it is taken now, these lines stand in the way.
    Unanswered {
        places: Vec<Cite>,
        beside: Beside,
    },
    /// What stands in the way has no line.
    Bench(Beside),
}

/// What a page that refuses says besides.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Beside {
    /// What it is used for refuses it, whatever it is made of.
    pub by_use: bool,
    /// It touches people: codes and licensed practice decide.
    pub for_people: bool,
    /// Uses it would not be for even if it could be made.
    pub not_for: Vec<Sentence>,
    /// Questions to be settled all the same.
    pub asked: Vec<Sentence>,
}

/// A margin that is not shown, and why.
#[derive(Debug, Clone, PartialEq)]
pub struct Unshown {
    pub what: margin::Name,
    pub why: Sentence,
}

/// A margin that does not hold.
#[derive(Debug, Clone, PartialEq)]
pub struct Failing {
    pub what: margin::Name,
    pub demand: Sentence,
    pub capacity: Sentence,
}

/// Why a choice was taken, or not.
#[derive(Debug, Clone, PartialEq)]
pub enum Choice {
    /// The spec asks for it.
    Pinned {
        /// The reason given with the pin.
        because: String,
    },
    /// Values a rule refuses, for the reason it gives with the first of them, and why the rule is there.
    RuledOut {
        /// By their names on the bench.
        values: Vec<String>,
        /// What the rule says of the first.
        said: Sentence,
        /// The rule's own reason.
        because: String,
    },
    /// The bench has no other.
    OnlyOne,
    /// The only one that stands, with that material where it is not the material itself.
    OnlyStanding {
        /// `None` where it is the material itself.
        with: Option<String>,
    },
    /// The first by name of two that are equal.
    AsGoodAs {
        /// The other's name.
        other: String,
    },
    /// It costs less than the next.
    Better {
        /// The next.
        than: String,
        /// What would be otherwise with it.
        along: Vec<Along>,
        /// What separates them, heaviest first.
        by: Vec<Weighed>,
        /// What counts against the choice all the same.
        against: Vec<Against>,
    },
    /// The spec does not let it.
    ByTheSpec {
        /// Whether it is forbidden; else another is asked for.
        forbidden: bool,
        /// The reason given there.
        because: String,
    },
    /// Rules refuse it.
    Refused {
        /// What the decisive one says.
        said: Sentence,
        /// The same material in a colour that would do, where it hangs on that.
        colour: Option<OtherColour>,
        /// Names of the others that refuse it too.
        also: Vec<String>,
    },
    /// It would do, and costs more.
    Costlier {
        /// What separates it from the choice, heaviest first.
        by: Vec<Weighed>,
    },
}

/// What else would be otherwise with another choice.
#[derive(Debug, Clone, PartialEq)]
pub enum Along {
    Value(String),
    BuildUp(String),
    NoAgent,
    Supports(bool),
}

/// What speaks against a runner-up.
#[derive(Debug, Clone, PartialEq)]
pub struct Against {
    pub said: Sentence,
    pub points: crate::recipe::Points,
    /// Whether the decision itself brings it, rather than what comes along.
    pub own: bool,
}

/// Why a refused material would get warmer or cooler in the sun: shares of sunlight taken up.
#[derive(Debug, Clone, PartialEq)]
pub struct OtherColour {
    pub why: heat::Fixed,
    pub theirs: f64,
    pub ours: f64,
}

/// What stands under the plan of the run.
#[derive(Debug, Clone, PartialEq)]
pub enum RunNote {
    /// `pace`: what the workshop has recorded of the machine's times; none where it has not.
    Estimate {
        basis: &'static str,
        pace: Option<f64>,
    },
    /// What the cost is made of; what the shop states no price for is none. `no_power`: the printer's is not stated.
    Costs {
        filament: f64,
        machine: Option<f64>,
        electricity: Option<f64>,
        labour: Option<f64>,
        no_power: bool,
    },
    NoShare,
    Shared(run::Shared),
    /// What the number to start rests on.
    Started(run::said::Started),
    /// How the pieces of a plate lie.
    Beside(run::said::Beside),
}

/// A margin that is to be watched.
#[derive(Debug, Clone, PartialEq)]
pub struct MarginNote {
    pub what: margin::Name,
    pub demand: Sentence,
    pub capacity: Sentence,
    pub verdict: crate::recipe::Verdict,
    /// Asked and not answered: why, and what to do about it, is all there is to say.
    pub why: Option<Sentence>,
}

/// What is said of a fit.
#[derive(Debug, Clone, PartialEq)]
pub enum FitNote {
    /// Why a fit is as it is, and what to heed.
    Why {
        reasons: Vec<fits::Reason>,
        warnings: Vec<fits::Warning>,
        cautions: Vec<fits::Caution>,
    },
    Warning(fits::Warning),
    /// What an effect on a size is, and where the number is from, unless that is said beside it.
    Effect {
        note: fits::Note,
        source: Option<Provenance>,
    },
    /// How a feature comes to its size.
    Route(Route),
    /// How a mated pair comes together, by whether any two fit.
    Pair(Held),
    /// The share of a clearance two printed parts have between them.
    Shared {
        wanted: Limits,
        aim: Length,
        expected: Limits,
        capability: Capability,
        warnings: Vec<fits::Warning>,
    },
    PairByTrying {
        fit: String,
        half: Length,
        spread: Length,
    },
    PairBecause,
}

impl crate::recipe::Shown {
    /// Returns whether it is an amount of nothing.
    pub fn is_zero(&self) -> bool {
        match self {
            Self::Value(value) => value.as_quantity().is_some_and(|q| q.si == 0.0),
            Self::Percent(share) => *share == 0.0,
        }
    }
}

impl Sentence {
    /// Returns the text of a rule, where it is one, within what a choice says too.
    fn rule_text(&mut self) -> Option<&mut Filled> {
        match self {
            Sentence::Rule { text, .. } => Some(text),
            Sentence::Choice(choice) => match choice.as_mut() {
                Choice::Refused { said, .. } => said.rule_text(),
                _ => None,
            },
            _ => None,
        }
    }

    /// Returns the sentence with a word in place of the name of the thing of that root.
    #[must_use]
    pub fn calling(mut self, root: &str, word: &str) -> Self {
        if let Some(text) = self.rule_text() {
            text.call(root, word);
        }
        self
    }

    /// Returns whether a rule's words name the thing of that root.
    pub fn names(&self, root: &str) -> bool {
        matches!(self, Sentence::Rule { text, .. } if text.names(root))
    }

    /// Returns whether there are no words.
    pub fn is_nothing(&self) -> bool {
        match self {
            Sentence::Nothing => true,
            Sentence::Told(text) => text.is_empty(),
            Sentence::Rule { text, .. } => text.is_empty(),
            _ => false,
        }
    }

    /// Returns it as it stands by itself among whole sentences.
    #[must_use]
    pub fn whole(self) -> Self {
        Self::Whole(Box::new(self))
    }

    /// Returns words of a person or of an earlier phase.
    pub fn told(text: &str) -> Self {
        Self::Told(Arc::from(text))
    }
}

impl From<&str> for Sentence {
    fn from(text: &str) -> Self {
        Self::told(text)
    }
}

impl From<String> for Sentence {
    fn from(text: String) -> Self {
        Self::Told(Arc::from(text))
    }
}

/// Puts what is said of a topic into a sentence.
macro_rules! said {
    ($($topic:ident in $variant:ident),+ $(,)?) => {
        $(impl From<$topic> for Sentence {
            fn from(said: $topic) -> Self {
                Self::$variant(Box::new(said))
            }
        })+
    };
}

said!(Headline in Headline, Choice in Choice, RunNote in Run, MarginNote in Margin, Open in Open, Use in Use, Work in Step, FitNote in Fit, Refused in Refused, LeadsTo in LeadsTo);
