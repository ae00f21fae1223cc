//! The numbers that govern a requirement.

use super::Key;
use crate::diag::{Sources, Span};
use crate::quantity::{Dimension, Length, Quantity, Temperature};
use crate::semantics::spec::{ChoiceValue, FitFunction, Load, Spec, Stated};

/// Which number of a statement.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Which {
    /// The one the statement is about: the force of a load, the high end of the air.
    Main,
    /// The low end of the air.
    Low,
    /// How long a load is held.
    Held,
    /// The safety factor of a load.
    Factor,
    /// How far a snap arm must bend.
    Undercut,
    /// How long the arm is.
    Reach,
    /// How thick the arm is at its root.
    Thickness,
}

impl Which {
    /// Returns whether it is a size of the shape, to be changed in the model as well.
    pub fn is_of_the_shape(self) -> bool {
        matches!(self, Self::Undercut | Self::Reach | Self::Thickness)
    }
}

/// Which way a number asks for less.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Eases {
    /// The less the better, down to next to nothing.
    Down,
    /// The less the better, down to one.
    DownToOne,
    /// The same, in whole numbers.
    DownToOnePiece,
    /// The more the better.
    Up,
    /// Towards the temperature of a room, from wherever it is.
    ToRoom,
    /// Towards that temperature from below.
    UpToRoom,
}

/// The temperature of a room, at which a service asks for nothing: the end of a search, not a judgement.
const ROOM_K: f64 = 293.15;
/// How far numbers are eased at most, as a factor: beyond it nothing more is learnt.
const FARTHEST: f64 = 1e3;
/// The same for leave to give or to play, which turns absurd sooner.
const WIDEST: f64 = 1e2;

impl Eases {
    /// Returns the value at which a number asks for next to nothing; `None` where it does already.
    pub fn mildest(self, from: Quantity) -> Option<Quantity> {
        let to = match self {
            Self::Down => from.si / FARTHEST,
            Self::DownToOne | Self::DownToOnePiece => 1.0,
            Self::Up => from.si * WIDEST,
            Self::ToRoom | Self::UpToRoom => ROOM_K,
        };
        // What is no temperature eases downwards, whatever the statement: a pin may be of any dimension.
        let to = if self == Self::ToRoom && from.dimension != Dimension::TEMPERATURE { from.si / FARTHEST } else { to };
        let eases = if self == Self::UpToRoom { to > from.si } else { to != from.si };
        (eases && from.si > 0.0).then(|| Quantity::new(to, from.dimension))
    }

    /// Whether only whole numbers count.
    pub fn is_whole(self) -> bool {
        self == Self::DownToOnePiece
    }
}

/// One number of a kind of statement.
#[derive(Debug)]
pub struct Number {
    /// Which number of its statement.
    pub which: Which,
    /// What is said before the number where a person might not know which of a line is meant: `held for `.
    pub words: &'static str,
    /// Which way the requirement asks for less.
    pub eases: Eases,
    pub(super) get: fn(&Spec, &Key) -> Option<Quantity>,
    pub(super) set: fn(&mut Spec, &Key, Quantity) -> Option<()>,
    /// The head of the statement in which it is written, and its name in the vocabulary.
    at: fn(&Spec, &Key) -> Option<(Span, &'static str)>,
}

impl Number {
    pub(super) fn read(&self, spec: &Spec, key: &Key) -> Option<Quantity> {
        (self.get)(spec, key)
    }

    /// Returns where it is written: the number with its unit, or whatever stands for it.
    pub(super) fn place(&self, spec: &Spec, key: &Key, sources: &Sources) -> Option<Span> {
        let at = *spec.written.get(&(self.at)(spec, key)?)?;
        let text = sources.text(at);
        let Some((low, high)) = text.split_once("..") else { return Some(at) };
        let within = |part: &str, from: usize| {
            let start = from + part.len() - part.trim_start().len();
            let start = at.start as usize + start;
            Span::new(at.source, start, start + part.trim().len())
        };
        Some(if self.which == Which::Low { within(low, 0) } else { within(high, text.len() - high.len()) })
    }

    pub(super) fn write(&self, spec: &mut Spec, key: &Key, to: Quantity) -> Option<()> {
        (self.set)(spec, key, to)
    }
}

const fn main(
    eases: Eases,
    at: fn(&Spec, &Key) -> Option<(Span, &'static str)>,
    get: fn(&Spec, &Key) -> Option<Quantity>,
    set: fn(&mut Spec, &Key, Quantity) -> Option<()>,
) -> Number {
    Number { which: Which::Main, words: "", eases, at, get, set }
}

pub(super) static AIR: [Number; 2] = [
    main(
        Eases::ToRoom,
        |s, _| Some((s.service.air?.span, "range")),
        |s, _| s.service.air.map(|a| a.value.1.into()),
        |s, _, to| {
            let air = s.service.air.as_mut()?;
            let high: Temperature = to.try_into().ok()?;
            air.value = (air.value.0.min(high), high);
            Some(())
        },
    ),
    Number {
        which: Which::Low,
        words: "",
        eases: Eases::UpToRoom,
        at: |s, _| Some((s.service.air?.span, "range")),
        get: |s, _| s.service.air.map(|a| a.value.0.into()),
        set: |s, _, to| {
            let air = s.service.air.as_mut()?;
            let low: Temperature = to.try_into().ok()?;
            air.value = (low, air.value.1.max(low));
            Some(())
        },
    },
];

pub(super) static PEAK: [Number; 1] = [main(
    Eases::ToRoom,
    |s, _| Some((s.service.peak?.span, "temperature")),
    |s, _| s.service.peak.map(|p| p.value.into()),
    |s, _, to| replace(&mut s.service.peak, to),
)];

pub(super) static USUAL: [Number; 1] = [main(
    Eases::ToRoom,
    |s, _| Some((s.service.usual?.span, "temperature")),
    |s, _| s.service.usual.map(|p| p.value.into()),
    |s, _, to| replace(&mut s.service.usual, to),
)];

pub(super) static SUN: [Number; 1] = [main(
    Eases::Down,
    |s, _| Some((s.service.sun?.span, "duration")),
    |s, _| s.service.sun.and_then(|sun| sun.value.duration).map(Into::into),
    |s, _, to| {
        s.service.sun.as_mut()?.value.duration = Some(to.try_into().ok()?);
        Some(())
    },
)];

pub(super) static CONTACT: [Number; 1] = [main(
    Eases::ToRoom,
    |s, key| {
        let contact = s.service.contacts.iter().find(|c| key.is(&c.chemical.value))?;
        Some((contact.temperature?.span, "temperature"))
    },
    |s, key| {
        let contact = s.service.contacts.iter().find(|c| key.is(&c.chemical.value))?;
        contact.temperature.map(|t| t.value.into())
    },
    |s, key, to| {
        let contact = s.service.contacts.iter_mut().find(|c| key.is(&c.chemical.value))?;
        replace(&mut contact.temperature, to)
    },
)];

pub(super) static QUANTITY: [Number; 1] = [main(
    Eases::DownToOnePiece,
    |s, _| Some((s.quantity?.span, "count")),
    |s, _| s.quantity.map(|q| Quantity::number(f64::from(q.value))),
    |s, _, to| {
        s.quantity.as_mut()?.value = whole(to)?;
        Some(())
    },
)];

pub(super) static WALL: [Number; 1] = [main(
    Eases::Down,
    |s, _| Some((s.wall?.span, "thickness")),
    |s, _| s.wall.map(|w| w.value.into()),
    |s, _, to| replace(&mut s.wall, to),
)];

pub(super) static PRESSURE: [Number; 1] = [main(
    Eases::Down,
    |s, _| Some((s.pressure.as_ref()?.pressure?.span, "pressure")),
    |s, _| s.pressure.as_ref().and_then(|p| p.pressure).map(|p| p.value.into()),
    |s, _, to| replace(&mut s.pressure.as_mut()?.pressure, to),
)];

pub(super) static DEFLECTION: [Number; 1] = [main(
    Eases::Up,
    |s, _| Some((s.deflection.as_ref()?.limit.span, "limit")),
    |s, _| s.deflection.as_ref().map(|d| d.limit.value.into()),
    |s, _, to| {
        s.deflection.as_mut()?.limit.value = to.try_into().ok()?;
        Some(())
    },
)];

/// A load comes down before it is held for less long, and only then with less in hand.
pub(super) static LOAD: [Number; 3] = [
    Number {
        which: Which::Main,
        words: "a load of ",
        eases: Eases::Down,
        at: |s, key| {
            let load = load(s, key)?;
            let force = load.force.map(|q| (q.span, "force")).or(load.torque.map(|q| (q.span, "torque")));
            let other = || load.acceleration.map(|q| (q.span, "acceleration"));
            force.or_else(other).or_else(|| load.pressure.map(|q| (q.span, "pressure")))
        },
        get: |s, key| load(s, key).filter(|load| !load.own_weight)?.size(),
        set: |s, key, to| {
            let load = load_mut(s, key)?;
            match (load.force.is_some(), load.torque.is_some()) {
                (true, _) => replace(&mut load.force, to),
                (_, true) => replace(&mut load.torque, to),
                _ if load.acceleration.is_some() => replace(&mut load.acceleration, to),
                _ => replace(&mut load.pressure, to),
            }
        },
    },
    Number {
        which: Which::Held,
        words: "held for ",
        eases: Eases::Down,
        at: |s, key| Some((load(s, key)?.held?.span, "duration")),
        get: |s, key| load(s, key)?.held.map(|h| h.value.into()),
        set: |s, key, to| replace(&mut load_mut(s, key)?.held, to),
    },
    Number {
        which: Which::Factor,
        words: "a factor of ",
        eases: Eases::DownToOne,
        at: |s, key| Some((load(s, key)?.factor?.span, "factor")),
        get: |s, key| load(s, key)?.factor.map(|f| Quantity::number(f.value)),
        set: |s, key, to| {
            load_mut(s, key)?.factor.as_mut()?.value = to.si;
            Some(())
        },
    },
];

/// An arm bends less, or bends more easily: longer before thinner, since a thin one holds less.
pub(super) static FIT: [Number; 4] = [
    main(
        Eases::Up,
        |s, key| Some((function(s, key)?, "play")),
        |s, key| match &fit(s, key)? {
            FitFunction::Sliding { play, .. } => play.map(Into::into),
            _ => None,
        },
        |s, key, to| match fit_mut(s, key)? {
            FitFunction::Sliding { play, .. } => {
                *play = Some(to.try_into().ok()?);
                Some(())
            }
            _ => None,
        },
    ),
    Number {
        which: Which::Undercut,
        words: "an undercut of ",
        eases: Eases::Down,
        at: |s, key| Some((function(s, key)?, "undercut")),
        get: |s, key| Some((*arm(fit(s, key)?)?[0]).into()),
        set: |s, key, to| set_length(arm_mut(fit_mut(s, key)?)?[0], to),
    },
    Number {
        which: Which::Reach,
        words: "a reach of ",
        eases: Eases::Up,
        at: |s, key| Some((function(s, key)?, "reach")),
        get: |s, key| Some((*arm(fit(s, key)?)?[1]).into()),
        set: |s, key, to| set_length(arm_mut(fit_mut(s, key)?)?[1], to),
    },
    Number {
        which: Which::Thickness,
        words: "an arm as thin as ",
        eases: Eases::Down,
        at: |s, key| Some((function(s, key)?, "thick")),
        get: |s, key| Some((*arm(fit(s, key)?)?[2]).into()),
        set: |s, key, to| set_length(arm_mut(fit_mut(s, key)?)?[2], to),
    },
];

fn fit<'s>(spec: &'s Spec, key: &Key) -> Option<&'s FitFunction> {
    spec.fits.iter().find(|f| key.is(&f.name.value)).map(|f| &f.function.value)
}

/// Returns the head of the statement that says what a fit is.
fn function(spec: &Spec, key: &Key) -> Option<Span> {
    spec.fits.iter().find(|f| key.is(&f.name.value)).map(|f| f.function.span)
}

fn fit_mut<'s>(spec: &'s mut Spec, key: &Key) -> Option<&'s mut FitFunction> {
    spec.fits.iter_mut().find(|f| key.is(&f.name.value)).map(|f| &mut f.function.value)
}

/// Undercut, reach and thickness of a snap arm.
fn arm(fit: &FitFunction) -> Option<[&Length; 3]> {
    match fit {
        FitFunction::Snap { undercut, reach, thickness } => Some([undercut, reach, thickness]),
        _ => None,
    }
}

fn arm_mut(fit: &mut FitFunction) -> Option<[&mut Length; 3]> {
    match fit {
        FitFunction::Snap { undercut, reach, thickness } => Some([undercut, reach, thickness]),
        _ => None,
    }
}

fn set_length(slot: &mut Length, to: Quantity) -> Option<()> {
    *slot = to.try_into().ok()?;
    Some(())
}

pub(super) static PIN: [Number; 1] = [main(
    Eases::ToRoom,
    |s, key| Some((s.pins.iter().find(|p| key.is(super::table::pinned(p)))?.span, "choice")),
    |s, key| choice_quantity(&s.pins.iter().find(|p| key.is(super::table::pinned(p)))?.value.value),
    |s, key, to| {
        let pin = s.pins.iter_mut().find(|p| key.is(super::table::pinned(p)))?;
        pin.value.value = with_quantity(&pin.value.value, to)?;
        Some(())
    },
)];

fn load<'s>(spec: &'s Spec, key: &Key) -> Option<&'s Load> {
    spec.loads.iter().find(|l| key.is(&l.name.value))
}

fn load_mut<'s>(spec: &'s mut Spec, key: &Key) -> Option<&'s mut Load> {
    spec.loads.iter_mut().find(|l| key.is(&l.name.value))
}

fn replace<T: TryFrom<Quantity>>(slot: &mut Option<Stated<T>>, to: Quantity) -> Option<()> {
    slot.as_mut()?.value = to.try_into().ok()?;
    Some(())
}

fn whole(q: Quantity) -> Option<u32> {
    (q.si.fract() == 0.0 && q.si >= 1.0 && q.si <= f64::from(u32::MAX)).then_some(q.si as u32)
}

pub(super) fn choice_quantity(value: &ChoiceValue) -> Option<Quantity> {
    Some(match value {
        ChoiceValue::Length(v) => (*v).into(),
        ChoiceValue::Temperature(v) => (*v).into(),
        ChoiceValue::TemperatureDifference(v) => (*v).into(),
        ChoiceValue::Area(v) => (*v).into(),
        ChoiceValue::Angle(v) => (*v).into(),
        ChoiceValue::Speed(v) => (*v).into(),
        ChoiceValue::Number(v) => Quantity::number(*v),
        ChoiceValue::Named(_) | ChoiceValue::Up(_) | ChoiceValue::OnFace(_) => return None,
    })
}

fn with_quantity(value: &ChoiceValue, to: Quantity) -> Option<ChoiceValue> {
    Some(match value {
        ChoiceValue::Length(_) => ChoiceValue::Length(to.try_into().ok()?),
        ChoiceValue::Temperature(_) => ChoiceValue::Temperature(to.try_into().ok()?),
        ChoiceValue::TemperatureDifference(_) => ChoiceValue::TemperatureDifference(to.try_into().ok()?),
        ChoiceValue::Area(_) => ChoiceValue::Area(to.try_into().ok()?),
        ChoiceValue::Angle(_) => ChoiceValue::Angle(to.try_into().ok()?),
        ChoiceValue::Speed(_) => ChoiceValue::Speed(to.try_into().ok()?),
        ChoiceValue::Number(_) => ChoiceValue::Number(to.si),
        ChoiceValue::Named(_) | ChoiceValue::Up(_) | ChoiceValue::OnFace(_) => return None,
    })
}
