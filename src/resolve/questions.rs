//! What the spec leaves open: the answers there are, and what each would lead to, found by solving again.

use std::collections::BTreeSet;

use super::conflict::retry::Retry;
use super::conflict::{self, Freed, Judge, Way};
use super::world::World;
use crate::catalogue::figures;
use crate::quantity::Duration;
use crate::semantics::spec::{Course, Place, Spec, Stage, Stated, Sun, SunExposure, Treatment};

/// Something the spec does not say.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Open {
    /// Where the part lives.
    Place,
    /// Whether the sun reaches it outdoors.
    Sun,
    /// How long it is to live in the sun.
    SunTerm,
    /// How long a load is held, by its place in the spec.
    Held(usize),
}

/// A question, with what its answers would lead to.
#[derive(Debug, Clone)]
pub struct Asked {
    /// What is open.
    pub about: Open,
    /// Every answer tried; none where nothing more could be asked.
    pub answers: Vec<Answered>,
}

/// An answer and what it would lead to.
#[derive(Debug, Clone)]
pub struct Answered {
    /// What to write in the spec.
    pub write: String,
    /// What would be chosen; `None` where nothing at hand would do.
    pub way: Option<Way>,
    /// Where nothing would do as it is drawn: the section with which something would.
    pub drawn: Option<Freed>,
}

impl Asked {
    /// Returns how many different things its answers lead to.
    pub fn outcomes(&self) -> usize {
        let of = |a: &Answered| {
            let way = a.way.as_ref().or(a.drawn.as_ref().map(|d| &d.way));
            (way.map(|way| (way.material.clone(), way.fails())), a.drawn.is_some())
        };
        self.answers.iter().map(of).collect::<BTreeSet<_>>().len()
    }

    /// Returns whether the answer changes what is chosen, or whether anything is.
    pub fn decides(&self) -> bool {
        self.outcomes() > 1
    }
}

/// Asks what the spec leaves open, the question first that changes most.
pub(super) fn ask(world: &World<'_>, judge: &Judge<'_>) -> Vec<Asked> {
    let open = open(world.spec);
    if open.is_empty() {
        return Vec::new();
    }
    let retry = Retry::new(world, judge);
    let mut asked: Vec<Asked> =
        open.into_iter().map(|about| Asked { about, answers: answers(&retry, about) }).collect();
    asked.sort_by_key(|a| std::cmp::Reverse(a.outcomes()));
    asked
}

/// Returns what a spec leaves open that may decide. What only tries a fit need not last.
pub(crate) fn open(spec: &Spec) -> Vec<Open> {
    if spec.stage.is_some_and(|s| s.value == Stage::FitPrototype) {
        return Vec::new();
    }
    let service = &spec.service;
    let painted = spec.treatments.iter().any(|t| t.value == Treatment::Paint);
    let outdoors = service.place.is_some_and(|p| p.value == Place::Outdoors);
    let mut open = Vec::new();
    match service.sun {
        None if service.place.is_none() && service.peak.is_none() => open.push(Open::Place),
        None if outdoors && !painted => open.push(Open::Sun),
        Some(sun) if sun.value.exposure == SunExposure::Direct && sun.value.duration.is_none() && !painted => {
            open.push(Open::SunTerm);
        }
        _ => {}
    }
    let steady = spec.loads.iter().enumerate().filter(|(_, l)| l.course.value == Course::Steady && l.held.is_none());
    open.extend(steady.map(|(load, _)| Open::Held(load)));
    open
}

fn answers(retry: &Retry<'_, '_>, about: Open) -> Vec<Answered> {
    let spec = retry.world.spec;
    let catalogue = retry.world.knowledge.catalogue;
    let (briefly, long) = (catalogue.value(figures::HELD_BRIEFLY), catalogue.value(figures::HELD_ASSUMED));
    let tried: Vec<(String, Spec)> = match about {
        Open::Place => vec![
            ("service { place indoors }".to_owned(), placed(spec, Place::Indoors, None)),
            (
                format!("service {{ place outdoors; sun direct for {long} }}"),
                placed(spec, Place::Outdoors, Some(sun(SunExposure::Direct, Some(long)))),
            ),
            ("service { place vehicle cabin }".to_owned(), placed(spec, Place::VehicleCabin, None)),
        ],
        Open::Sun => vec![
            ("sun shaded".to_owned(), placed(spec, Place::Outdoors, Some(sun(SunExposure::Shaded, None)))),
            sunny(spec, long),
        ],
        Open::SunTerm => vec![sunny(spec, briefly), sunny(spec, long)],
        Open::Held(load) => [briefly, long].map(|time| held(spec, load, time)).into(),
    };
    let mut answers = Vec::new();
    for (write, spec) in tried {
        let Some(stands) = retry.stands(&spec) else { return Vec::new() };
        let way = stands.then(|| retry.solve(&spec)).flatten();
        let drawn = match about {
            Open::Held(load) if !stands => conflict::deeper(retry, &spec, load),
            _ => None,
        };
        answers.push(Answered { write, way, drawn });
    }
    answers
}

fn sun(exposure: SunExposure, duration: Option<Duration>) -> Sun {
    Sun { exposure, duration }
}

fn sunny(spec: &Spec, long: Duration) -> (String, Spec) {
    let place = spec.service.place.map_or(Place::Outdoors, |p| p.value);
    (format!("sun direct for {long}"), placed(spec, place, Some(sun(SunExposure::Direct, Some(long)))))
}

fn placed(spec: &Spec, place: Place, sun: Option<Sun>) -> Spec {
    let at = spec.name.span;
    let mut answered = spec.clone();
    answered.service.place = Some(Stated { value: place, span: at });
    answered.service.sun = sun.map(|value| Stated { value, span: at }).or(answered.service.sun);
    answered
}

fn held(spec: &Spec, load: usize, time: Duration) -> (String, Spec) {
    let mut answered = spec.clone();
    let mut name = String::new();
    if let Some(load) = answered.loads.get_mut(load) {
        load.held = Some(Stated { value: time, span: load.span });
        name.clone_from(&load.name.value);
    }
    (format!("load \"{name}\" {{ held {time} }}"), answered)
}
