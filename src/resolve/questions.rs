//! What the spec leaves open: the answers there are, and what each would lead to, found by solving again.

use std::collections::BTreeSet;

use super::conflict::retry::Retry;
use super::conflict::{self, Freed, Judge, Way};
use super::elastic;
use super::heat;
use super::part::Part;
use super::places;
use super::world::World;
use crate::catalogue::{Catalogue, figures};
use crate::diag::Span;
use crate::geometry::mesh::Point;
use crate::geometry::patch;
use crate::geometry::vector::Vector;
use crate::quantity::{Duration, Length, Temperature};
use crate::semantics::spec::{
    Back, Consequence, Course, Direction, Face, Hold, Load, Place, Spec, Stage, Stated, Sun, SunExposure, Treatment,
    Where,
};

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
    /// How often a load comes.
    Cycles(usize),
    /// Where the part is held against a load.
    Hold(usize),
    /// Where a load acts.
    At(usize),
    /// Which way a load acts.
    Toward(usize),
    /// Whether air passes behind what the sun lights.
    Back,
    /// Which of several places a face is that a load acts on or is held by.
    Which(usize),
    /// How warm the part is while loads act that come for hours or less.
    Warm,
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
            // Where the part is held or loaded, and how often, decides how it lies as much as of what it is.
            let lies = matches!(self.about, Open::Which(_) | Open::Cycles(_));
            let pose = way.filter(|_| lies).map(|way| way.pose.clone());
            (way.map(|way| (way.material.clone(), way.fails())), pose, a.drawn.is_some())
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
    let mut open = open(world.spec, world.knowledge.catalogue);
    open.extend(places::unclear(world).into_iter().map(|(face, _)| Open::Which(face)));
    if open.is_empty() {
        return Vec::new();
    }
    let retry = Retry::new(world, judge);
    let mut asked: Vec<Asked> =
        retry.each(&open, |retry, about| Asked { about: *about, answers: answers(retry, *about) });
    asked.sort_by_key(|a| std::cmp::Reverse(a.outcomes()));
    asked
}

/// Returns what a spec leaves open that may decide. What only tries a fit need not last.
pub(crate) fn open(spec: &Spec, catalogue: &Catalogue) -> Vec<Open> {
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
    // Where a failure can hurt someone a refusal stands until somebody says of himself that air passes behind.
    let hurts = spec.consequence() == Consequence::Injury;
    if heat::is_sunlit(spec) && service.back.is_none() && service.peak.is_none() && !hurts {
        open.push(Open::Back);
    }
    // One at its hottest and a load that comes and goes need not meet.
    if (heat::is_sunlit(spec) || service.peak.is_some()) && !hurts && passing(spec, catalogue).next().is_some() {
        open.push(Open::Warm);
    }
    let steady = spec.loads.iter().enumerate().filter(|(_, l)| l.course.value == Course::Steady && l.held.is_none());
    open.extend(steady.map(|(load, _)| Open::Held(load)));
    let often = spec.loads.iter().enumerate().filter(|(_, l)| l.course.value == Course::Cyclic && l.cycles.is_none());
    open.extend(often.map(|(load, _)| Open::Cycles(load)));
    for (index, load) in spec.loads.iter().enumerate().filter(|(_, l)| l.pressure.is_none()) {
        let unsaid = [
            (load.holds.is_empty(), Open::Hold(index)),
            (load.at.is_none(), Open::At(index)),
            (load.direction.is_none(), Open::Toward(index)),
        ];
        open.extend(unsaid.into_iter().filter(|(open, _)| *open).map(|(_, about)| about));
    }
    open
}

/// Returns the loads that come for hours or less and do not say how warm the part is then, by their places in the spec.
pub fn passing<'s>(spec: &'s Spec, catalogue: &Catalogue) -> impl Iterator<Item = usize> + use<'s> {
    let briefly = catalogue.value(figures::HELD_BRIEFLY);
    let comes_and_goes = move |l: &Load| match l.course.value {
        Course::Steady => l.held.is_some_and(|held| held.value <= briefly),
        Course::Cyclic | Course::Shock => true,
    };
    let open = move |l: &Load| l.temperature.is_none() && l.pressure.is_none() && comes_and_goes(l);
    spec.loads.iter().enumerate().filter(move |(_, l)| open(l)).map(|(index, _)| index)
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
        Open::Back => [("back covered", Back::Covered), ("back free", Back::Free)]
            .map(|(write, back)| {
                let mut answered = spec.clone();
                answered.service.back = Some(Stated { value: back, span: spec.name.span });
                (format!("service {{ {write} }}"), answered)
            })
            .into(),
        Open::Warm => warmths(retry.world).into_iter().map(|at| met_at(retry.world, at)).collect(),
        Open::SunTerm => vec![sunny(spec, briefly), sunny(spec, long)],
        Open::Held(load) => [briefly, long].map(|time| held(spec, load, time)).into(),
        Open::Cycles(load) => {
            [figures::CYCLES_FEW, figures::CYCLES_ASSUMED].map(|key| comes(spec, load, catalogue.value(key))).into()
        }
        Open::Hold(load) => placements(retry.world, load, "fixed at", |load, at, span| {
            let hold = Hold { at, extent: None, heads: None, rests: false };
            load.holds.push(Stated { value: hold, span });
        }),
        Open::At(load) => {
            placements(retry.world, load, "at", |load, at, span| load.at = Some(Stated { value: at, span }))
        }
        Open::Toward(load) => ways(spec, load),
        Open::Which(face) => readings(retry.world, face),
    };
    let answer = |retry: &Retry<'_, '_>, (write, spec): &(String, Spec)| {
        let elsewhere = match about {
            Open::Hold(load) | Open::At(load) | Open::Toward(load) => {
                Some(retry.of(solved_for(retry.world, spec, retry.world.part.with_load(spec, load)?)))
            }
            Open::Which(face) => Some(retry.of(with_face(retry.world, spec, face))),
            _ => None,
        };
        let retry = elsewhere.as_ref().unwrap_or(retry);
        let stands = retry.stands(spec)?;
        let way = stands.then(|| retry.solve(spec)).flatten();
        let drawn = match about {
            Open::Held(load) if !stands => conflict::deeper(retry, spec, load),
            _ => None,
        };
        Some(Answered { write: write.clone(), way, drawn })
    };
    // Where one can no longer be asked, the others say too little.
    let all = |tried: &[(String, Spec)]| retry.each(tried, answer).into_iter().collect::<Option<Vec<_>>>();
    let Some(mut found) = all(&tried) else { return Vec::new() };
    // A grip of a moment bears several times what a day does: where nothing else would do, it may be what was meant.
    if let Open::Held(load) = about
        && found.iter().all(|a| a.way.as_ref().is_none_or(Way::fails))
        && let Some(moment) = all(&[held(spec, load, catalogue.value(figures::HELD_MOMENT))])
    {
        found.splice(0..0, moment);
    }
    found
}

/// Most places a load or a hold is tried at: the largest flat sides.
const PLACES: usize = 4;
const AXES: [(&str, Vector); 6] = [
    ("-z", [0.0, 0.0, -1.0]),
    ("+z", [0.0, 0.0, 1.0]),
    ("-y", [0.0, -1.0, 0.0]),
    ("+y", [0.0, 1.0, 0.0]),
    ("-x", [-1.0, 0.0, 0.0]),
    ("+x", [1.0, 0.0, 0.0]),
];

/// Returns the spec with a load placed on each face it names, then on each of the part's large flat sides, or held by it.
fn placements(world: &World<'_>, load: usize, word: &str, put: impl Fn(&mut Load, Where, Span)) -> Vec<(String, Spec)> {
    let (spec, span) = (world.spec, world.spec.name.span);
    let Some(name) = spec.loads.get(load).map(|l| l.name.value.as_str()) else { return Vec::new() };
    let mut sides: Vec<(f64, &str, Vector)> = AXES
        .into_iter()
        .filter_map(|(axis, toward)| Some((patch::find(&world.part.mesh, toward, None)?.area_mm2, axis, toward)))
        .collect();
    sides.sort_by(|a, b| b.0.total_cmp(&a.0));
    let least = world.knowledge.catalogue.value(figures::RIVAL_PLACE) * sides.first().map_or(0.0, |s| s.0);
    let named = spec.faces.iter().filter(|face| {
        let places = spec.loads.get(load).into_iter().flat_map(Load::places);
        !places.into_iter().any(|(w, _)| w.face() == Some(face.name.value.as_str()))
    });
    let at_named = named.filter_map(|face| {
        let mut spec = spec.clone();
        put(spec.loads.get_mut(load)?, Where::Face(face.name.value.clone()), span);
        Some((format!("load \"{name}\" {{ {word} face \"{}\" }}", face.name.value), spec))
    });
    let stated = |toward: Vector| spec.faces.iter().any(|f| f.toward.is_some_and(|t| t.value.0 == toward));
    let worth = sides.into_iter().filter(|(area, _, toward)| *area >= least && !stated(*toward));
    let answered = |(_, axis, toward): (f64, &str, Vector)| {
        let mut spec = spec.clone();
        let side = format!("side {axis}");
        let toward = Some(Stated { value: Direction(toward), span });
        spec.faces.push(Face { name: Stated { value: side.clone(), span }, toward, ..Face::plain(span) });
        put(spec.loads.get_mut(load)?, Where::Face(side.clone()), span);
        Some((format!("load \"{name}\" {{ {word} face \"{side}\" }}; face \"{side}\" toward {axis}"), spec))
    };
    at_named.chain(worth.filter_map(answered)).take(PLACES).collect()
}

/// Returns the spec with a face at each of the places it may mean.
fn readings(world: &World<'_>, face: usize) -> Vec<(String, Spec)> {
    let Some(meant) = world.spec.faces.get(face) else { return Vec::new() };
    let answered = |(at, write): (Point, String)| {
        let mut spec = world.spec.clone();
        let near = Stated { value: at.map(Length::mm), span: meant.span };
        spec.faces.get_mut(face)?.near = Some(near);
        Some((write, spec))
    };
    places::readings(world, meant).into_iter().filter_map(answered).collect()
}

/// Returns the part with a face where the spec says it is, and what that does to the loads that act there or are held there.
fn with_face(world: &World<'_>, spec: &Spec, face: usize) -> Part {
    let name = spec.faces.get(face).map(|f| f.name.value.as_str());
    let here = |load: &Load| load.places().any(|(place, _)| place.face() == name);
    let moved = spec.loads.iter().enumerate().filter(|(_, load)| here(load));
    let part = moved.fold(world.part.clone(), |part, (load, _)| part.with_load(spec, load).unwrap_or(part));
    solved_for(world, spec, part)
}

/// Returns the part with its loads solved as the answer has them: what an answer leads to hangs on the stress it makes.
fn solved_for(world: &World<'_>, spec: &Spec, mut part: Part) -> Part {
    let figures = elastic::Figures::of(world.knowledge.catalogue);
    let asked = elastic::Asked { spec, part: &part, fits: &world.fit_places, figures };
    let fields = elastic::solve_all(asked, None);
    (part.fields, part.at_once) = (fields.each, fields.at_once);
    part
}

/// Returns how warm the part may be while a load acts: as the warmest air, and as it ever gets.
fn warmths(world: &World<'_>) -> Vec<Temperature> {
    let air = heat::warmest_air(world.spec, world.knowledge.catalogue);
    air.into_iter().chain(hottest(world)).collect()
}

/// Returns how warm the part ever gets, in whichever of the materials takes up most of the sun.
pub fn hottest(world: &World<'_>) -> Option<Temperature> {
    let of = |material: usize| world.heat(material).map(|heat| heat.temperature);
    (0..world.bench.materials.len()).filter_map(of).reduce(Temperature::max)
}

/// Returns the spec with each load that comes and goes meeting the part at a temperature.
fn met_at(world: &World<'_>, at: Temperature) -> (String, Spec) {
    let mut spec = world.spec.clone();
    let mut write = Vec::new();
    for index in passing(world.spec, world.knowledge.catalogue) {
        let Some(load) = spec.loads.get_mut(index) else { continue };
        load.temperature = Some(Stated { value: at, span: load.span });
        write.push(format!("load \"{}\" {{ temperature {at} }}", load.name.value));
    }
    (write.join("; "), spec)
}

/// Returns the spec with a load along each axis.
fn ways(spec: &Spec, load: usize) -> Vec<(String, Spec)> {
    let answered = |(axis, toward): (&str, Vector)| {
        let mut spec = spec.clone();
        let span = spec.name.span;
        let load = spec.loads.get_mut(load)?;
        load.direction = Some(Stated { value: Direction(toward), span });
        let word = if load.torque.is_some() { "about" } else { "toward" };
        Some((format!("load \"{}\" {{ {word} {axis} }}", load.name.value), spec))
    };
    AXES.into_iter().filter_map(answered).collect()
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

fn comes(spec: &Spec, load: usize, times: f64) -> (String, Spec) {
    said(spec, load, &format!("cyclic {times} times"), |load, at| load.cycles = Some(Stated { value: times, span: at }))
}

fn held(spec: &Spec, load: usize, time: Duration) -> (String, Spec) {
    said(spec, load, &format!("held {time}"), |load, at| load.held = Some(Stated { value: time, span: at }))
}

/// Returns what to write for a load to say this too, and the spec with that said.
fn said(spec: &Spec, load: usize, written: &str, put: impl Fn(&mut Load, Span)) -> (String, Spec) {
    let mut answered = spec.clone();
    let mut name = String::new();
    if let Some(load) = answered.loads.get_mut(load) {
        let at = load.span;
        put(load, at);
        name.clone_from(&load.name.value);
    }
    (format!("load \"{name}\" {{ {written} }}"), answered)
}
