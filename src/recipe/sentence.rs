//! What a recipe says, as data: which sentence, and the values in it. `render::words` has the English of each.

use std::sync::Arc;

use crate::catalogue::words::Role;
use crate::diag::Cite;
use crate::fits::Provenance;
use crate::fits::allowance::{Capability, Route, Verdict as Held};
use crate::fits::said as fits;
use crate::geometry::mesh::Point;
use crate::quantity::{Area, Duration, Length, Mass, Temperature, Volume};
use crate::recipe::Weighed;
use crate::resolve::conflict::Weak;
use crate::resolve::elastic::{Assumed, Taken};
use crate::resolve::equip::Lack;
use crate::resolve::heat;
use crate::resolve::margin;
use crate::resolve::margin::said::OfMargin;
use crate::resolve::run;
use crate::rulebook::{Filled, value};

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
        first: Vec<Failing>,
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

/// What was taken for granted, and what hangs on it.
#[derive(Debug, Clone, PartialEq)]
pub enum Open {
    NoShop,
    NoShopEffect,
    /// What is assumed of the job.
    Assumed(value::Assumed),
    NoSpoolsEffect,
    OnePieceEffect,
    DamageEffect,
    Millimetres,
    MillimetresEffect,
    NoSize,
    NoSizeEffect,
    UsedByRule(String),
    /// A use the spec denies, and why.
    Denied {
        of: String,
        because: String,
    },
    DeniedEffect,
    /// Nothing is open but uses that are withheld: who answers for them.
    WhoAnswers {
        uses: Vec<Sentence>,
    },
    /// Support that cannot be taken out, and on how much of the part.
    SupportStays(Area),
    SupportStaysEffect,
    PlaceUnsaid,
    PlaceOpenEffect,
    SunUnsaid,
    SunOpenEffect,
    BackUnsaid,
    BackOpenEffect,
    /// Loads that come and go, and the heat they are counted at.
    WarmUnsaid {
        loads: Vec<String>,
        counted: Temperature,
    },
    WarmOpenEffect,
    SunTermUnsaid,
    SunTermOpenEffect,
    /// What is taken for granted about the part's heat.
    Heat(heat::Taken),
    HeatEffect(heat::Taken),
    /// What is taken of a load.
    OfLoad(Assumed),
    /// What is taken alike of each of some loads.
    OfLoads {
        /// Their names.
        loads: Vec<String>,
        /// What is taken.
        taken: Taken,
    },
    OfLoadEffect(Taken),
    /// A margin that is not shown, and why.
    NotShown {
        what: margin::Name,
        why: Sentence,
    },
    NotShownEffect,
    RuleNotAsked {
        about: Option<About>,
        rule: String,
        missing: Vec<String>,
    },
    AxisAssumed {
        fit: String,
    },
    AxisEffect,
    OfFit {
        fit: String,
        told: Sentence,
    },
    ModelledOff {
        model: Length,
    },
    /// Several features are of a fit's size, and how many it means is not stated.
    FewFound {
        fit: String,
        found: usize,
    },
    CountAssumed,
    Steady {
        load: String,
    },
    SteadyEffect,
    HeldApart {
        loads: String,
    },
    HeldApartEffect,
    /// The search for conflicts and ways out.
    CutShort,
    CutShortEffect,
}

/// What became of a statement of the spec, and why that is so.
#[derive(Debug, Clone, PartialEq)]
pub enum Use {
    /// Statements that nothing rests on, as written.
    Unused(Vec<String>),
    UnusedEffect,
    InPart(String),
    /// Statements that rules ask after and were content with.
    Quiet(Vec<String>),
    QuietEffect,
    /// A line within a load that changes nothing: its words, and the load.
    UnusedOfLoad {
        written: String,
        load: String,
    },
    /// A line within a fit that is checked and no more.
    InPartOfFit {
        written: String,
        fit: String,
    },
    ReachedAnyway(Temperature),
    NoCompany,
    FluidAsGasOrNone {
        chemical: Option<String>,
    },
    NoWall,
    NoBore,
    Depth {
        found: bool,
    },
    NotLookedFor,
    NotMeasured,
    Wanted {
        time: Duration,
        printer: String,
        rounds: u32,
        /// The latest day on which it can begin, running day and night.
        begin: Option<String>,
    },
    OnlyStruck,
    NoPeak,
    NoLoadPlaced,
    NothingSetAside,
}

/// Work no rule tells.
#[derive(Debug, Clone, PartialEq)]
pub enum Work {
    SeamElsewhere {
        face: String,
    },
    SeamBecause,
    ReadMarking {
        face: String,
        marking: String,
    },
    MarkingBecause,
    FirstArticle,
    FirstArticleBecause,
    /// A line of the first-article form.
    Check {
        fit: String,
        what: fits::Looked,
        wanted: Wanted,
    },
}

/// What a gauge must show.
#[derive(Debug, Clone, PartialEq)]
pub enum Wanted {
    Limits(Limits),
    Gauge(fits::Gauge),
}

/// Two ends of a size.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// The least it may be.
    pub low: Length,
    /// The most it may be.
    pub high: Length,
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

/// What a person at the machine needs beside a decision's name.
#[derive(Debug, Clone, Default, PartialEq)]
pub enum Detail {
    /// Nothing more to say.
    #[default]
    Nothing,
    /// What is on the machine now.
    Printer {
        /// The shop's name, where it is not the built-in bench.
        shop: Option<String>,
        /// Spool on it, or the material where no spool is named; `None` where the shop says neither.
        loaded: Option<String>,
        /// Nozzle in it.
        fitted: Option<String>,
        /// Surface on it.
        mounted: Option<String>,
    },
    /// What the material is and where it comes from.
    Material {
        /// The polymer in full.
        title: String,
        /// `None` where the shop lists no spools.
        spool: Option<Spool>,
    },
    /// What tells one nozzle from another.
    Nozzle {
        /// What it is made of.
        metal: String,
        /// Diameter of its opening.
        bore: Length,
        /// The other machine that has it now.
        held: Option<String>,
    },
    /// What the surface is.
    Surface {
        /// In full.
        title: String,
        /// The other machine that has it now.
        held: Option<String>,
    },
    /// What an agent is there for.
    Bond {
        /// Whether it helps the part hold or come off.
        role: Option<Role>,
        /// How material and surface hold on to each other with it.
        strength: String,
    },
    /// How to lay the part.
    Pose {
        /// What it lies on.
        lay: Lay,
        /// How the layers lie to the loads.
        layers: Layers,
        /// In the terms of ISO 17295.
        notation: Option<String>,
        /// About the vertical from where the file has it, degrees.
        turned: Option<f64>,
        /// Where it fits the bed only askew: the turn from the bed's long side, from and to which it fits, degrees, and the
        /// room then left.
        askew: Option<(f64, [f64; 2], Length)>,
        /// Longer and shorter side on the bed.
        footprint: [Length; 2],
        /// Above the bed.
        height: Length,
    },
    /// What a build-up comes to in settings, where they are known.
    BuildUp {
        /// Lines of each wall.
        beads: Option<f64>,
        /// Closed layers on top.
        above: Option<f64>,
        /// Closed layers at the bottom.
        below: Option<f64>,
        /// Share of the inside that is filled, 0 to 1.
        infill: Option<f64>,
    },
    /// In words.
    Told(String),
}

#[derive(Debug, Clone, PartialEq)]
pub struct Spool {
    pub name: String,
    pub colour: Option<String>,
    pub left: Option<Mass>,
    /// How it is kept, where the shop's file says so and no machine has it.
    pub kept: Option<&'static str>,
    /// The other machine that has it now.
    pub held: Option<String>,
}

/// What the part lies on.
#[derive(Debug, Clone, PartialEq)]
pub enum Lay {
    Face { name: String, upright: bool },
    Edge { down: [f64; 3] },
    End { down: [f64; 3] },
    Part { down: [f64; 3] },
    Flat { down: [f64; 3] },
}

/// How the layers lie to the loads.
#[derive(Debug, Clone, PartialEq)]
pub enum Layers {
    Nothing,
    /// Loads that pull them apart.
    Across(Vec<String>),
    /// They run with the stress of one load, or of every one.
    AlongOne(String),
    AlongAll,
}

/// A fact of the mesh.
#[derive(Debug, Clone, PartialEq)]
pub enum MeshValue {
    /// How many.
    Count(usize),
    /// Along x, y and z of the file.
    Size([Length; 3]),
    /// Of a surface.
    Area(Area),
    /// Of the material, or a hollow.
    Volume(Volume),
    /// A mesh that is no closed surface has no volume.
    NotClosed,
    /// The thinnest wall.
    Wall {
        /// How thin, and where.
        at: Place,
        /// Nozzles of the bench by how many lines they lay in it.
        nozzles: Vec<(Beads, Vec<String>)>,
        /// Whether it is no more than a spot.
        spot: bool,
    },
    /// The narrowest gap.
    Gap {
        /// How narrow, and where.
        at: Place,
        /// The width below which it fuses, where it is narrower.
        fuses_below: Option<Length>,
    },
    /// A hollow wholly inside.
    Cavity {
        /// Its free volume.
        volume: Volume,
        /// The middle of it, in the axes of the file, mm.
        at: Point,
        /// What could get out, in words.
        way: &'static str,
    },
    /// So many more of the kind.
    More(usize),
    /// What lies on the bed.
    FirstLayer {
        /// Of its outline.
        area: Area,
        /// Separate pieces of it.
        patches: usize,
        /// Longest distance across it.
        across: Length,
        /// Sharp outer corners, which lift first.
        corners: usize,
        /// Where those are, in the axes of the file, mm.
        corners_at: Vec<Point>,
    },
    /// The part stands by itself.
    Stands {
        /// How far it may lean before it tips, degrees.
        lean_deg: f64,
        /// Height over the shorter side of its foot.
        slenderness: f64,
    },
    /// The part would tip over, standing loose.
    StandsNot,
    /// A slope that prints, a little below the limit.
    AtLimit {
        /// How much of the part leans so.
        area: Area,
        /// Degrees from vertical: the steepest.
        angle_deg: f64,
        /// Degrees from vertical: the limit.
        limit_deg: f64,
        /// Whose limit that is.
        origin: String,
        /// How far each layer steps out.
        step: Length,
        /// Over what width of line.
        line: Length,
    },
    /// What lifts the ends of a long and low part.
    Curl {
        /// Longest distance over thickness.
        length: Length,
        /// Its name, and how much it warps.
        material: Option<(String, String)>,
        /// Laid against it; `None` where the settings have none.
        brim: Option<Length>,
    },
    /// In the words of the mesh reader.
    Told(String),
}

/// A size at a place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    pub size: Length,
    pub at: Point,
}

/// How many lines of a nozzle a wall takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Beads {
    TwoOrMore,
    One,
    None,
}

impl Beads {
    pub const ALL: [Self; 3] = [Self::TwoOrMore, Self::One, Self::None];
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
