//! One rule, and what it says about a scope.

use std::collections::BTreeSet;
use std::fmt;
use std::sync::Arc;

use super::code::{Code, Context, Val};
use super::example::Example;
use super::facts::LIMITED;
use super::filled::Filled;
use super::functions::Functions;
use super::names::{Decision, Root, Touches, Type};
use super::scope::{Scope, Trace};
use super::template::Template;
use super::value::Value;
use crate::diag::Span;

/// A checked rule.
#[derive(Debug, Clone)]
pub struct Rule {
    /// Unique among the rules in force; other files replace or retire it by this name.
    pub name: String,
    /// The reason, one sentence, as recipes print it.
    pub because: String,
    /// Kind of source and its keys: `common-practice`, `paper SPOERK18`.
    pub source: String,
    /// The first word of `source`: `paper`, `common-practice`.
    pub source_kind: String,
    /// The keys or titles cited.
    pub citations: Vec<String>,
    /// `file:line`
    pub place: String,
    /// Where the rule stands, for messages.
    pub span: Span,
    /// The decisions its names touch, those of the settings it names included.
    pub touches: Touches,
    /// The root whose every instance it is judged for.
    pub each: Option<Root>,
    /// Every name it reads, in order.
    pub names: Vec<String>,
    /// Functions of the registry it calls.
    pub functions: Vec<String>,
    /// Names of the thresholds it reads, in order.
    pub thresholds: Vec<String>,
    /// What it does when it applies, in the order written.
    pub verdicts: Vec<Verdict>,
    /// Whether no waiver sets it aside.
    pub binding: bool,
    /// Whether it touches people: a page that refuses a job it speaks in defers to codes and licensed practice.
    pub defers: bool,
    /// Its own tests, in the order written.
    pub examples: Vec<Example>,
    /// The conditions as written, for the page.
    pub when_written: Vec<String>,
    /// All must hold for the rule to say anything.
    pub(super) when: Vec<Code>,
    pub(super) otherwise: Option<Template>,
    pub(super) redraw: Option<Template>,
    pub(super) settings_used: BTreeSet<String>,
}

/// What a rule does when it applies.
#[derive(Debug, Clone, PartialEq)]
pub enum Verdict {
    /// Refuses a candidate for which the condition does not hold.
    Require {
        /// What must hold.
        condition: Code,
        /// The condition as written, for the page.
        written: String,
    },
    /// Counts against a candidate.
    Prefer {
        /// A number; 1 is one weight.
        weight: Code,
        /// The measured expression and the amount of it that costs one weight; without it the penalty is flat.
        per: Option<(Code, f64)>,
    },
    /// Gives a setting its value.
    Derive {
        /// Without the root `settings`; what is judged of a margin stands in full: `margin.verdict`.
        setting: Arc<str>,
        /// The type all rules that derive it agree on.
        kind: Type,
        /// What gives the value.
        code: Code,
    },
    /// Adds a line to the checklist.
    Step {
        /// Where in the work it stands.
        phase: Phase,
        /// Place within the phase, rising.
        order: i32,
        /// What to do.
        text: Template,
        /// What the person is to write down, one label each.
        blanks: Vec<String>,
    },
    /// Adds a warning.
    Caution {
        /// What it protects.
        kind: CautionKind,
        /// What to heed.
        text: Template,
    },
    /// A question of the recipe; one that comes first is settled before printing.
    Question { first: bool, text: Template },
    /// A use the print is not for until what the text says is shown.
    Withhold { from: Template, text: Template },
}

impl Verdict {
    /// Returns the keyword it was written with.
    pub fn verb(&self) -> &'static str {
        match self {
            Verdict::Require { .. } => "require",
            Verdict::Prefer { .. } => "prefer",
            Verdict::Derive { .. } => "derive",
            Verdict::Step { .. } => "step",
            Verdict::Caution { .. } => "caution",
            Verdict::Question { .. } => "question",
            Verdict::Withhold { .. } => "withhold",
        }
    }
}

macro_rules! closed {
    ($(#[$doc:meta])* $name:ident { $($(#[$what:meta])* $member:ident = $word:literal),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $name { $($(#[$what])* $member),+ }

        impl $name {
            /// Every one, in the order above.
            pub const ALL: &'static [$name] = &[$($name::$member),+];

            /// Returns the word as it stands in rules.
            pub const fn word(self) -> &'static str {
                match self { $($name::$member => $word),+ }
            }

            /// Returns the one a rule means by a word.
            pub fn parse(word: &str) -> Option<Self> {
                Self::ALL.iter().copied().find(|x| x.word() == word)
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result { f.write_str(self.word()) }
        }
    };
}

closed!(
    /// The phases of the checklist, in order of work.
    Phase {
        /// What takes hours or days, or must be in the house, before anything else can begin: drying, buying, borrowing.
        Ahead = "ahead",
        /// What is changed in the model before it goes to the machine.
        Model = "model",
        /// What is to be had ready: job, plate, room.
        Prepare = "prepare",
        /// Nozzle, surface and material are brought onto the printer, and the chamber to heat.
        ChangeOver = "change-over",
        /// From the start until the first layer lies.
        FirstLayer = "first-layer",
        /// While it prints.
        During = "during",
        /// From the last layer until the part is off the surface.
        Removal = "removal",
        /// Work on the part itself: supports, annealing, inserts.
        Finish = "finish",
        /// What is measured or looked at before the part is used.
        Inspect = "inspect",
    }
);
closed!(
    /// Kinds of caution, in order of consequence.
    CautionKind {
        /// Of a person, by heat, edges or what the part does when it fails.
        Injury = "injury",
        /// Unattended heat, and what burns.
        Fire = "fire",
        /// Fumes, particles, dust, contact with food or skin.
        Health = "health",
        /// What the part carries, and for how long.
        Load = "load",
        /// To printer, surface or what the part touches.
        Damage = "damage",
        /// The part comes out worse.
        Quality = "quality",
        /// What goes with every such job and is known to whoever works here: told last, and short.
        Usual = "usual",
    }
);

/// One thing a rule says.
#[derive(Debug, Clone, PartialEq)]
pub enum Judgement {
    /// A requirement does not hold.
    Broken {
        /// Why not, in the rule's words.
        text: Filled,
        /// How the part could be drawn so that it does, where the rule says so.
        redraw: Option<Filled>,
    },
    /// A preference counts against the candidate.
    Penalty {
        /// Name of the rule.
        name: String,
        /// In weights, never negative.
        amount: f64,
        /// Why it counts, in the rule's words.
        text: Filled,
    },
    /// A setting has this value.
    Setting {
        /// Without the root `settings`; what is judged of a margin stands in full: `margin.verdict`.
        name: String,
        /// Known, and of the setting's type.
        value: Value,
    },
    /// The checklist has this line.
    Step {
        /// Where in the work it stands.
        phase: Phase,
        /// Place within the phase, rising.
        order: i32,
        /// What to do.
        text: Filled,
        /// What the person is to write down, one label each.
        blanks: Vec<String>,
    },
    /// The recipe has this warning.
    Caution {
        /// What it protects.
        kind: CautionKind,
        /// What to heed.
        text: Filled,
    },
    /// A question of the recipe.
    Question {
        /// Whether it is to be settled before printing.
        first: bool,
        /// The question.
        text: Filled,
    },
    /// A use the print is not for.
    Withhold {
        /// The use.
        from: Filled,
        /// What would establish it, who decides, the other ways.
        text: Filled,
    },
    /// A requirement (or a value) that cannot be known from what is given.
    Undetermined {
        /// Full names of the facts that are unknown, or a function and why it has no value.
        missing: Vec<String>,
    },
}

impl Rule {
    /// Returns the decisions it touches where no workshop's record tells one printer or nozzle from another in what prints
    /// without support: see [`LIMITED`].
    pub(crate) fn touches_without_records(&self) -> Touches {
        if !self.settings_used.is_empty() {
            return self.touches;
        }
        let of = |name: &String| {
            let mut words = name.split('.');
            let root = words.next().and_then(Root::parse)?;
            let also = words.next().and_then(|word| root.field(word)).map_or(Touches::NONE, |field| field.also);
            // A fact that hangs on the limits hangs on all that [`LIMITED`] names; of those the material is left.
            let limited = LIMITED.iter().all(|d| also.contains(d)) && matches!(root, Root::Pose | Root::Face);
            let counts = |d: &Decision| !limited || !matches!(d, Decision::Printer | Decision::Nozzle);
            Some(also.iter().filter(counts).fold(root.touches(), |sum, d| sum.union(Touches::of(&[d]))))
        };
        // A name of no root would be one this does not understand: all that the rule touches counts then.
        let found = self.names.iter().try_fold(Touches::NONE, |sum, name| Some(sum.union(of(name)?)));
        found.unwrap_or(self.touches)
    }

    /// Returns the settings it names.
    pub fn settings_used(&self) -> impl Iterator<Item = &str> {
        self.settings_used.iter().map(String::as_str)
    }

    /// Returns what the rule says about the scope; nothing if it does not apply.
    ///
    /// A `when` that is unknown does not apply. A `require`, a penalty or a value that is unknown is undetermined, with
    /// the names that were missing. `trace` receives what was read, if the rule said anything.
    pub fn judge(&self, scope: &Scope<'_>, functions: &dyn Functions, trace: Option<&mut Trace>) -> Vec<Judgement> {
        let mut cx = Context { scope, functions, trace, missing: None };
        if !self.applies(&mut cx) {
            return Vec::new();
        }
        let mut said = Vec::new();
        for verdict in &self.verdicts {
            said.extend(self.say(verdict, &mut cx));
        }
        said
    }

    /// Returns whether the rule has anything to say: all its conditions hold. Nothing is noted of what it read.
    pub fn speaks(&self, scope: &Scope<'_>, functions: &dyn Functions) -> bool {
        self.applies(&mut Context { scope, functions, trace: None, missing: None })
    }

    /// Returns whether every requirement holds: `Some(true)` also where the rule does not apply or requires nothing,
    /// `None` where it cannot be known. Builds no text, for solvers that ask often.
    pub fn holds(&self, scope: &Scope<'_>, functions: &dyn Functions) -> Option<bool> {
        let mut cx = Context { scope, functions, trace: None, missing: None };
        if !self.applies(&mut cx) {
            return Some(true);
        }
        let mut result = Some(true);
        for verdict in &self.verdicts {
            if let Verdict::Require { condition, .. } = verdict {
                match condition.eval(&mut cx) {
                    Val::Bool(true) => {}
                    Val::Bool(false) => return Some(false),
                    _ => result = None,
                }
            }
        }
        result
    }

    /// Returns whether one of its requirements does not hold, and the sum of its penalties, unknown
    /// ones counted as nothing. The conditions are looked at once, and no text is built.
    pub fn ruling(&self, scope: &Scope<'_>, functions: &dyn Functions) -> (bool, f64) {
        let mut cx = Context { scope, functions, trace: None, missing: None };
        if !self.applies(&mut cx) {
            return (false, 0.0);
        }
        let (mut broken, mut penalty) = (false, 0.0);
        for verdict in &self.verdicts {
            match verdict {
                Verdict::Require { condition, .. } if !broken => {
                    broken = matches!(condition.eval(&mut cx), Val::Bool(false));
                }
                Verdict::Prefer { .. } => penalty += amount(verdict, &mut cx).unwrap_or(0.0),
                _ => {}
            }
        }
        (broken, penalty)
    }

    /// Returns whether the rule is silent whatever is decided: one of its conditions, or of what one joins by `and`, hangs on no
    /// decision and does not hold.
    pub fn is_silent(&self, scope: &Scope<'_>, functions: &dyn Functions) -> bool {
        let mut cx = Context { scope, functions, trace: None, missing: None };
        self.when.iter().any(|code| fails_before_decisions(code, &mut cx))
    }

    /// Returns whether the rule requires anything, and so can refuse a candidate.
    pub fn can_refuse(&self) -> bool {
        self.verdicts.iter().any(|v| matches!(v, Verdict::Require { .. }))
    }

    /// Returns whether the rule can add a penalty.
    pub fn can_penalise(&self) -> bool {
        self.verdicts.iter().any(|v| matches!(v, Verdict::Prefer { .. }))
    }

    pub(super) fn applies<'s>(&'s self, cx: &mut Context<'s, '_>) -> bool {
        if self.each.is_some_and(|root| cx.scope.get(root).is_none()) {
            return false;
        }
        self.when.iter().all(|code| matches!(code.eval(cx), Val::Bool(true)))
    }

    fn say<'s>(&'s self, verdict: &'s Verdict, cx: &mut Context<'s, '_>) -> Option<Judgement> {
        match verdict {
            Verdict::Require { condition, written } => match condition.eval(cx) {
                Val::Bool(true) => None,
                Val::Bool(false) => Some(Judgement::Broken {
                    text: self.complaint(written, cx),
                    redraw: self.redraw.as_ref().map(|template| template.fill(cx)),
                }),
                _ => Some(Judgement::Undetermined { missing: missing(condition, cx) }),
            },
            Verdict::Prefer { weight, per } => match amount(verdict, cx) {
                Some(amount) if amount > 0.0 => Some(Judgement::Penalty {
                    name: self.name.clone(),
                    amount,
                    text: self.complaint(&self.because, cx),
                }),
                Some(_) => None,
                None => {
                    let mut names = missing(weight, cx);
                    names.extend(per.iter().flat_map(|(code, _)| missing(code, cx)));
                    Some(Judgement::Undetermined { missing: names })
                }
            },
            Verdict::Derive { setting, kind, code } => match code.eval(cx) {
                Val::Unknown => Some(Judgement::Undetermined { missing: missing(code, cx) }),
                value => Some(Judgement::Setting { name: setting.to_string(), value: value.to_value(*kind) }),
            },
            Verdict::Step { phase, order, text, blanks } => {
                Some(Judgement::Step { phase: *phase, order: *order, text: text.fill(cx), blanks: blanks.clone() })
            }
            Verdict::Caution { kind, text } => Some(Judgement::Caution { kind: *kind, text: text.fill(cx) }),
            Verdict::Question { first, text } => Some(Judgement::Question { first: *first, text: text.fill(cx) }),
            Verdict::Withhold { from, text } => Some(Judgement::Withhold { from: from.fill(cx), text: text.fill(cx) }),
        }
    }

    fn complaint<'s>(&'s self, fallback: &str, cx: &mut Context<'s, '_>) -> Filled {
        match &self.otherwise {
            Some(template) => template.fill(cx),
            None => Filled::plain(fallback),
        }
    }
}

/// Returns whether a condition hangs on no decision and does not hold; of conditions joined by `and` one such is enough.
fn fails_before_decisions<'s>(code: &'s Code, cx: &mut Context<'s, '_>) -> bool {
    match code {
        Code::And(all) => all.iter().any(|one| fails_before_decisions(one, cx)),
        one => one.stands_before_decisions() && !matches!(one.eval(cx), Val::Bool(true)),
    }
}

fn amount<'s>(verdict: &'s Verdict, cx: &mut Context<'s, '_>) -> Option<f64> {
    let Verdict::Prefer { weight, per } = verdict else { return None };
    let Val::Number(weight) = weight.eval(cx) else { return None };
    let amount = match per {
        None => weight,
        Some((code, unit)) => match code.eval(cx) {
            Val::Number(n) => weight * n / unit,
            _ => return None,
        },
    };
    amount.is_finite().then_some(amount.max(0.0))
}

/// Evaluates once more, this time noting what was unknown.
fn missing<'s>(code: &'s Code, cx: &mut Context<'s, '_>) -> Vec<String> {
    let mut again = Context { scope: cx.scope, functions: cx.functions, trace: None, missing: Some(Vec::new()) };
    let _ = code.eval(&mut again);
    again.missing.unwrap_or_default()
}
