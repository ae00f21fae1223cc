//! One row for each statement that asks for something.

use super::number::{self, Number};
use super::{Key, MarginKind};
use crate::diag::Span;
use crate::semantics::choice::decision_word;
use crate::semantics::form::Context;
use crate::semantics::spec::{Choice, ChoiceValue, Load, Spec};

/// The kinds of statement that ask for something, in the order in which they are told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// `stage`
    Stage,
    /// `consequence`
    Consequence,
    /// `size`
    Size,
    /// `quantity`
    Quantity,
    /// `wanted by`
    Wanted,
    /// `air`, of the service
    Air,
    /// `peak`, of the service
    Peak,
    /// `usual`, of the service
    Usual,
    /// `place`, of the service
    Place,
    /// `sun`, of the service
    Sun,
    /// `colour`, of the service
    Colour,
    /// `back`, of the service
    Back,
    /// `wet`, of the service
    Wet,
    /// `wall`
    Wall,
    /// `pressure`, and `tight`
    Pressure,
    /// `deflection`
    Deflection,
    /// `colour` from a height
    SecondColour,
    /// `wear`
    Wear,
    /// `impact`
    Impact,
    /// `prefer`
    Prefer,
    /// `contact`, one for each chemical
    Contact,
    /// `load`, one for each name
    Load,
    /// `fit`, one for each name
    Fit,
    /// `face`, one for each name
    Face,
    /// `treat`, one for each treatment
    Treat,
    /// `ask`, one for each use
    Ask,
    /// `pin`, one for each decision or setting
    Pin,
    /// `forbid`, one for each choice of a decision
    Forbid,
    /// `waive`, one for each rule
    Waive,
    /// `no`
    Denial,
}

impl Kind {
    /// Returns what is known of the kind of statement.
    pub fn row(self) -> &'static Row {
        &ROWS[self as usize]
    }
}

/// What it means to give up a statement.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Gives {
    /// Somebody's choice among many: that the job can be made without it is worth knowing beside any number.
    Choice,
    /// Something the part must do or stand.
    Demand,
    /// A rule set aside: without it more stands in the way, never less.
    Aside,
    /// What the part is used for, and what hangs on it: to leave it out does not change the job but hides it.
    Use,
}

/// The names under which rules read what a statement says; `load.*` is every name of a load.
#[derive(Debug)]
enum Facts {
    All(&'static [&'static str]),
    /// By the subject of the statement.
    OfSubject(&'static [(&'static str, &'static [&'static str])]),
}

static TREATED: &[(&str, &[&str])] = &[
    ("anneal", &["part.anneal", "part.treated"]),
    ("seal", &["part.seal", "part.treated"]),
    ("paint", &["part.paint", "part.treated", "service.absorptance"]),
    ("condition", &["part.condition", "part.treated"]),
];

static ASKED: &[(&str, &[&str])] = &[
    ("electrical insulation", &["part.insulation"]),
    ("mains voltage", &["part.mains"]),
    ("static dissipation", &["part.static"]),
    ("flame retardance", &["part.flame"]),
    ("food contact", &["part.food", "part.food_inferred"]),
    ("skin contact", &["part.skin"]),
    ("toy", &["part.toy", "part.children"]),
    ("lifting", &["part.lifting"]),
    ("people beneath", &["part.people_beneath"]),
    ("medical", &["part.medical"]),
    ("vibration", &["part.vibration"]),
    ("softness", &["part.soft"]),
    ("clear inside", &["part.clear_inside", "part.inside_said"]),
];

/// One kind of statement: how it is read, which facts it makes, what governs it, how it is taken away.
#[derive(Debug)]
pub struct Row {
    /// Which statement.
    pub kind: Kind,
    /// Where its entry of the vocabulary stands.
    pub context: Context,
    /// The word the statement begins with.
    pub keyword: &'static str,
    facts: Facts,
    /// The margins it is held against.
    pub margins: &'static [MarginKind],
    /// Whether its subject is a name in quotes.
    pub quoted: bool,
    /// What it means to take it away.
    pub gives: Gives,
    /// The numbers that govern it, the one to ease first in front.
    pub numbers: &'static [Number],
    find: fn(&Spec) -> Vec<(Key, Span)>,
    remove: fn(&mut Spec, &Key),
}

impl Row {
    /// Returns every requirement of the kind, with its place.
    pub fn find(&self, spec: &Spec) -> Vec<(Key, Span)> {
        (self.find)(spec)
    }

    /// Returns the names of facts, each with the subject it belongs to where that makes a difference.
    #[cfg(test)]
    pub(crate) fn facts(&self) -> Vec<(Option<&'static str>, &'static str)> {
        match &self.facts {
            Facts::All(names) => names.iter().map(|name| (None, *name)).collect(),
            Facts::OfSubject(table) => {
                table.iter().flat_map(|(word, names)| names.iter().map(|name| (Some(*word), *name))).collect()
            }
        }
    }

    /// Returns whether a name of a fact, `load.force`, is one that a statement of the kind makes.
    pub(super) fn makes(&self, subject: Option<&str>, fact: &str) -> bool {
        let names = match &self.facts {
            Facts::All(names) => names,
            Facts::OfSubject(table) => {
                let of = table.iter().find(|(word, _)| Some(*word) == subject);
                of.map_or(&[][..], |(_, names)| names)
            }
        };
        names.iter().any(|name| match name.strip_suffix('*') {
            Some(root) => fact.starts_with(root),
            None => fact == *name,
        })
    }

    pub(super) fn remove(&self, spec: &mut Spec, key: &Key) {
        (self.remove)(spec, key);
    }
}

fn one(kind: Kind, span: Option<Span>) -> Vec<(Key, Span)> {
    span.map(|span| (Key::of(kind), span)).into_iter().collect()
}

/// What tells a pin from others: the decision or the setting.
pub(super) fn pinned(choice: &Choice) -> &str {
    decision_word(choice.decision.value, choice.setting.as_deref())
}

/// What tells a forbidden choice from others: the decision and the choice.
fn forbidden(choice: &Choice) -> String {
    let word = pinned(choice);
    match &choice.value.value {
        ChoiceValue::Named(name) => format!("{word} \"{name}\""),
        ChoiceValue::OnFace(name) => format!("{word} face \"{name}\""),
        ChoiceValue::Up(d) => format!("{word} up {:?}", d.0),
        other => match number::choice_quantity(other) {
            Some(q) => format!("{word} {q}"),
            None => word.to_owned(),
        },
    }
}

/// Takes a face away, or where pins and loads speak of it, what is asked of it: its name they still need.
fn remove_face(spec: &mut Spec, key: &Key) {
    let chosen = |c: &Choice| matches!(&c.value.value, ChoiceValue::OnFace(name) if key.is(name));
    let loaded = spec.loads.iter().flat_map(Load::places).any(|(w, _)| w.face().is_some_and(|name| key.is(name)));
    if !loaded && !spec.pins.iter().chain(&spec.forbids).any(chosen) {
        spec.faces.retain(|f| !key.is(&f.name.value));
        return;
    }
    for face in spec.faces.iter_mut().filter(|f| key.is(&f.name.value)) {
        (face.cosmetic, face.no_support, face.no_seam, face.on_bed) = (false, false, false, false);
        face.marking = None;
    }
}

/// Every kind of requirement, in the order of [`Kind`].
pub static ROWS: [Row; 30] = [
    Row {
        kind: Kind::Stage,
        facts: Facts::All(&["part.stage"]),
        margins: &[],
        context: Context::Part,
        keyword: "stage",
        quoted: false,
        gives: Gives::Demand,
        numbers: &[],
        find: |s| one(Kind::Stage, s.stage.as_ref().map(|v| v.span)),
        remove: |s, _| s.stage = None,
    },
    Row {
        kind: Kind::Consequence,
        facts: Facts::All(&["part.consequence"]),
        margins: &[],
        context: Context::Part,
        keyword: "consequence",
        quoted: false,
        gives: Gives::Use,
        numbers: &[],
        find: |s| one(Kind::Consequence, s.consequence.as_ref().map(|v| v.span)),
        remove: |s, _| s.consequence = None,
    },
    Row {
        kind: Kind::Size,
        facts: Facts::All(&[]),
        margins: &[],
        context: Context::Part,
        keyword: "size",
        quoted: false,
        gives: Gives::Demand,
        numbers: &[],
        find: |s| one(Kind::Size, s.size.as_ref().map(|v| v.span)),
        remove: |s, _| s.size = None,
    },
    Row {
        kind: Kind::Quantity,
        facts: Facts::All(&["part.quantity"]),
        margins: &[],
        context: Context::Part,
        keyword: "quantity",
        quoted: false,
        gives: Gives::Demand,
        numbers: &number::QUANTITY,
        find: |s| one(Kind::Quantity, s.quantity.as_ref().map(|v| v.span)),
        remove: |s, _| s.quantity = None,
    },
    Row {
        kind: Kind::Wanted,
        facts: Facts::All(&["part.wanted_by", "run.time_left"]),
        margins: &[],
        context: Context::Part,
        keyword: "wanted",
        quoted: false,
        gives: Gives::Demand,
        numbers: &[],
        find: |s| one(Kind::Wanted, s.wanted_by.as_ref().map(|v| v.span)),
        remove: |s, _| s.wanted_by = None,
    },
    Row {
        kind: Kind::Air,
        facts: Facts::All(&["service.air_low", "service.air_high"]),
        margins: &[MarginKind::Heat],
        context: Context::Service,
        keyword: "air",
        quoted: false,
        gives: Gives::Demand,
        numbers: &number::AIR,
        find: |s| one(Kind::Air, s.service.air.as_ref().map(|v| v.span)),
        remove: |s, _| s.service.air = None,
    },
    Row {
        kind: Kind::Peak,
        facts: Facts::All(&["service.peak"]),
        margins: &[],
        context: Context::Service,
        keyword: "peak",
        quoted: false,
        gives: Gives::Demand,
        numbers: &number::PEAK,
        find: |s| one(Kind::Peak, s.service.peak.as_ref().map(|v| v.span)),
        remove: |s, _| s.service.peak = None,
    },
    Row {
        kind: Kind::Usual,
        facts: Facts::All(&["service.usual"]),
        margins: &[],
        context: Context::Service,
        keyword: "usual",
        quoted: false,
        gives: Gives::Demand,
        numbers: &number::USUAL,
        find: |s| one(Kind::Usual, s.service.usual.as_ref().map(|v| v.span)),
        remove: |s, _| s.service.usual = None,
    },
    Row {
        kind: Kind::Place,
        facts: Facts::All(&["service.place"]),
        margins: &[],
        context: Context::Service,
        keyword: "place",
        quoted: false,
        gives: Gives::Demand,
        numbers: &[],
        find: |s| one(Kind::Place, s.service.place.as_ref().map(|v| v.span)),
        remove: |s, _| s.service.place = None,
    },
    Row {
        kind: Kind::Sun,
        facts: Facts::All(&["service.sun", "service.sun_duration"]),
        margins: &[MarginKind::Sun],
        context: Context::Service,
        keyword: "sun",
        quoted: false,
        gives: Gives::Demand,
        numbers: &number::SUN,
        find: |s| one(Kind::Sun, s.service.sun.as_ref().map(|v| v.span)),
        remove: |s, _| s.service.sun = None,
    },
    Row {
        kind: Kind::Colour,
        facts: Facts::All(&["service.colour", "service.absorptance"]),
        margins: &[],
        context: Context::Service,
        keyword: "colour",
        quoted: false,
        gives: Gives::Demand,
        numbers: &[],
        find: |s| one(Kind::Colour, s.service.colour.as_ref().map(|v| v.span)),
        remove: |s, _| s.service.colour = None,
    },
    Row {
        kind: Kind::Back,
        facts: Facts::All(&["service.back"]),
        margins: &[],
        context: Context::Service,
        keyword: "back",
        quoted: false,
        gives: Gives::Demand,
        numbers: &[],
        find: |s| one(Kind::Back, s.service.back.as_ref().map(|v| v.span)),
        remove: |s, _| s.service.back = None,
    },
    Row {
        kind: Kind::Wet,
        facts: Facts::All(&["service.wet"]),
        margins: &[],
        context: Context::Service,
        keyword: "wet",
        quoted: false,
        gives: Gives::Demand,
        numbers: &[],
        find: |s| one(Kind::Wet, s.service.wet.as_ref().map(|v| v.span)),
        remove: |s, _| s.service.wet = None,
    },
    Row {
        kind: Kind::Wall,
        facts: Facts::All(&["part.wall"]),
        margins: &[MarginKind::Wall],
        context: Context::Part,
        keyword: "wall",
        quoted: false,
        gives: Gives::Demand,
        numbers: &number::WALL,
        find: |s| one(Kind::Wall, s.wall.as_ref().map(|v| v.span)),
        remove: |s, _| s.wall = None,
    },
    Row {
        kind: Kind::Pressure,
        facts: Facts::All(&["part.pressure", "part.pressure_bore", "part.pressure_gas", "part.tight"]),
        margins: &[MarginKind::Pressure],
        context: Context::Part,
        keyword: "pressure",
        quoted: false,
        gives: Gives::Demand,
        numbers: &number::PRESSURE,
        find: |s| one(Kind::Pressure, s.pressure.as_ref().map(|v| v.span)),
        remove: |s, _| s.pressure = None,
    },
    Row {
        kind: Kind::Deflection,
        facts: Facts::All(&["part.deflection_limit"]),
        margins: &[MarginKind::Deflection],
        context: Context::Part,
        keyword: "deflection",
        quoted: false,
        gives: Gives::Demand,
        numbers: &number::DEFLECTION,
        find: |s| one(Kind::Deflection, s.deflection.as_ref().map(|v| v.limit.span)),
        remove: |s, _| s.deflection = None,
    },
    Row {
        kind: Kind::SecondColour,
        facts: Facts::All(&["part.second_colour", "part.second_colour_from", "spool.second"]),
        margins: &[],
        context: Context::Part,
        keyword: "colour",
        quoted: false,
        gives: Gives::Demand,
        numbers: &[],
        find: |s| one(Kind::SecondColour, s.second_colour.as_ref().map(|v| v.span)),
        remove: |s, _| s.second_colour = None,
    },
    Row {
        kind: Kind::Wear,
        facts: Facts::All(&["part.wear"]),
        margins: &[],
        context: Context::Part,
        keyword: "wear",
        quoted: false,
        gives: Gives::Demand,
        numbers: &[],
        find: |s| one(Kind::Wear, s.wear.as_ref().map(|v| v.span)),
        remove: |s, _| s.wear = None,
    },
    Row {
        kind: Kind::Impact,
        facts: Facts::All(&["part.impact"]),
        margins: &[MarginKind::Impact],
        context: Context::Part,
        keyword: "impact",
        quoted: false,
        gives: Gives::Demand,
        numbers: &[],
        find: |s| one(Kind::Impact, s.impact.as_ref().map(|v| v.span)),
        remove: |s, _| s.impact = None,
    },
    Row {
        kind: Kind::Prefer,
        facts: Facts::All(&["part.prefers_strength", "part.prefers_finish", "part.prefers_speed", "part.prefers_cost"]),
        margins: &[],
        context: Context::Part,
        keyword: "prefer",
        quoted: false,
        gives: Gives::Demand,
        numbers: &[],
        find: |s| one(Kind::Prefer, s.preferences.iter().map(|p| p.span).reduce(Span::to)),
        remove: |s, _| s.preferences.clear(),
    },
    Row {
        kind: Kind::Contact,
        facts: Facts::All(&["contact.*", "service.has_contacts", "service.wet", "part.food", "part.food_inferred"]),
        margins: &[MarginKind::Contact],
        context: Context::Service,
        keyword: "contact",
        quoted: true,
        gives: Gives::Demand,
        numbers: &number::CONTACT,
        find: |s| s.service.contacts.iter().map(|x| (Key::named(Kind::Contact, &x.chemical.value), x.span)).collect(),
        remove: |s, key| s.service.contacts.retain(|x| !key.is(&x.chemical.value)),
    },
    Row {
        kind: Kind::Load,
        facts: Facts::All(&["load.*", "part.loaded", "part.pulled_often"]),
        margins: &[MarginKind::Load, MarginKind::LoadsTogether, MarginKind::Buckling, MarginKind::Bearing],
        context: Context::Part,
        keyword: "load",
        quoted: true,
        gives: Gives::Demand,
        numbers: &number::LOAD,
        find: |s| s.loads.iter().map(|x| (Key::named(Kind::Load, &x.name.value), x.span)).collect(),
        remove: |s, key| s.loads.retain(|x| !key.is(&x.name.value)),
    },
    Row {
        kind: Kind::Fit,
        facts: Facts::All(&[
            "fit.*",
            "part.has_fits",
            "part.has_lid",
            "part.has_ring",
            "part.tight_fits",
            "part.strained",
        ]),
        margins: &[
            MarginKind::Depth,
            MarginKind::Boss,
            MarginKind::Snap,
            MarginKind::LivingHinge,
            MarginKind::Gap,
            MarginKind::Press,
            MarginKind::Grip,
        ],
        context: Context::Part,
        keyword: "fit",
        quoted: true,
        gives: Gives::Demand,
        numbers: &number::FIT,
        find: |s| s.fits.iter().map(|x| (Key::named(Kind::Fit, &x.name.value), x.span)).collect(),
        remove: |s, key| s.fits.retain(|x| !key.is(&x.name.value)),
    },
    Row {
        kind: Kind::Face,
        facts: Facts::All(&["face.*", "part.has_cosmetic"]),
        margins: &[],
        context: Context::Part,
        keyword: "face",
        quoted: true,
        gives: Gives::Demand,
        numbers: &[],
        find: |s| s.faces.iter().map(|x| (Key::named(Kind::Face, &x.name.value), x.span)).collect(),
        remove: remove_face,
    },
    Row {
        kind: Kind::Treat,
        facts: Facts::OfSubject(TREATED),
        margins: &[],
        context: Context::Part,
        keyword: "treat",
        quoted: false,
        gives: Gives::Demand,
        numbers: &[],
        find: |s| s.treatments.iter().map(|x| (Key::named(Kind::Treat, x.value.word()), x.span)).collect(),
        remove: |s, key| s.treatments.retain(|x| !key.is(x.value.word())),
    },
    Row {
        kind: Kind::Ask,
        facts: Facts::OfSubject(ASKED),
        margins: &[],
        context: Context::Part,
        keyword: "ask",
        quoted: false,
        gives: Gives::Use,
        numbers: &[],
        find: |s| s.asks.iter().map(|x| (Key::named(Kind::Ask, x.value.word()), x.span)).collect(),
        remove: |s, key| s.asks.retain(|x| !key.is(x.value.word())),
    },
    Row {
        kind: Kind::Pin,
        facts: Facts::All(&[]),
        margins: &[],
        context: Context::Part,
        keyword: "pin",
        quoted: false,
        gives: Gives::Choice,
        numbers: &number::PIN,
        find: |s| s.pins.iter().map(|x| (Key::named(Kind::Pin, pinned(x)), x.span)).collect(),
        remove: |s, key| s.pins.retain(|x| !key.is(pinned(x))),
    },
    Row {
        kind: Kind::Forbid,
        facts: Facts::All(&[]),
        margins: &[],
        context: Context::Part,
        keyword: "forbid",
        quoted: false,
        gives: Gives::Choice,
        numbers: &[],
        find: |s| s.forbids.iter().map(|x| (Key::named(Kind::Forbid, &forbidden(x)), x.span)).collect(),
        remove: |s, key| s.forbids.retain(|x| !key.is(&forbidden(x))),
    },
    Row {
        kind: Kind::Waive,
        facts: Facts::All(&[]),
        margins: &[],
        context: Context::Part,
        keyword: "waive",
        quoted: true,
        gives: Gives::Aside,
        numbers: &[],
        find: |s| s.waivers.iter().map(|x| (Key::named(Kind::Waive, &x.rule.value), x.span)).collect(),
        remove: |s, key| s.waivers.retain(|x| !key.is(&x.rule.value)),
    },
    Row {
        kind: Kind::Denial,
        facts: Facts::All(&["hint.settled", "part.inside_said", "part.food", "part.food_inferred", "part.children"]),
        margins: &[],
        context: Context::Part,
        keyword: "no",
        quoted: false,
        gives: Gives::Aside,
        numbers: &[],
        find: |s| s.denials.iter().map(|x| (Key::named(Kind::Denial, x.of.word()), x.span)).collect(),
        remove: |s, key| s.denials.retain(|x| !key.is(x.of.word())),
    },
];
