//! Margins: what the part must bear, what it can bear, and how much lies between. A margin is a fact about a partial choice,
//! made before the choice like every other; the recipe only shows it.
//!
//! ```text
//! kinds      the table of them: where a job has one, what it hangs on, its maker
//! heat       heat and sunlight                 cold       knocks in the cold
//! chemical   what touches the part             load       loads, loads together, blows
//! stiffness  deflection                        pressure   the wall a pressure wants
//! wall       the smallest wall asked for       slit       the narrowest gap between its walls
//! depth      of what inserts and threads want  boss       plastic round an insert
//! snap       strain of hooks and folds         gap        round a pin printed in its eye
//! press      bursting and grip of pressed pins bed        room on the bed, brim counted
//! ```

mod bearing;
mod bed;
mod boss;
mod chemical;
mod cold;
mod depth;
mod gap;
mod heat;
mod kinds;
mod load;
pub(super) mod press;
mod pressure;
pub mod said;
mod slit;
mod snap;
mod source;
mod stiffness;
pub mod wall;

use crate::catalogue::Figure;
use crate::catalogue::words::Stands;
use crate::diag::Span;
use crate::geometry::mesh::Point;
use crate::quantity::{Length, Quantity, TemperatureDifference};
pub use crate::rulebook::facts::words::MarginVerdict as Verdict;
use crate::rulebook::facts::words::Rating;
use crate::rulebook::facts::{self as rules, RootFacts};
use crate::rulebook::value::{Origin, Record, Text};
use crate::semantics::requirements::Key;
pub use crate::semantics::requirements::MarginKind;
use crate::semantics::spec::Spec;

pub use kinds::all;
pub use said::Said;
use said::{NotShown, Presses, Thicker, Unlimited};
pub use source::Source;

use super::together;
use super::world::{Partial, World};

/// Which margin of a job: its kind, and the contact, load or fit it speaks of (0 for what there is once).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct About {
    pub kind: MarginKind,
    pub index: usize,
}

/// What a margin is called by; its words are made in `render`.
#[derive(Debug, Clone, PartialEq)]
pub struct Name {
    /// What it is about.
    pub kind: MarginKind,
    /// The load, fit or contact it is of, or all the loads together; none for what there is once.
    pub of: Vec<String>,
}

/// A quantity with the ends it may have.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// The least it may be.
    pub low: Quantity,
    /// What is told of it.
    pub typical: Quantity,
    /// The most it may be.
    pub high: Quantity,
}

impl Band {
    pub(crate) fn of(figure: &Figure<impl Into<Quantity> + Copy>) -> Self {
        Self { low: figure.low().into(), typical: figure.typ.into(), high: figure.high().into() }
    }

    /// Returns the band of what is known to a point.
    pub(crate) fn exactly(quantity: impl Into<Quantity>) -> Self {
        let q = quantity.into();
        Self { low: q, typical: q, high: q }
    }
}

/// A margin of a partial choice.
#[derive(Debug, Clone)]
pub struct Margin {
    pub about: About,
    /// What must be borne, kept or come free.
    pub demand: Option<Band>,
    /// What is usual beyond what must be; between the two it does, and no more.
    pub usual: Option<Quantity>,
    pub capacity: Option<Band>,
    /// Capacity over demand, the unfavourable end of both.
    pub ratio: Option<f64>,
    /// The same at best, where the truth lies between the two: of a filled part no more is known than foam and solid.
    pub ratio_at_best: Option<f64>,
    /// What would hold in place of what breaks, where that is known.
    pub would_hold: Option<Thicker>,
    /// How far a load moves the part, where nobody limited that.
    pub moves: Option<Unlimited>,
    /// The sharp inner corner beside the place that a load strains most.
    pub corner: Option<Point>,
    /// Where what presses does.
    pub presses: Option<Presses>,
    /// The same with the low end, where the ratio takes what is usual.
    pub ratio_at_worst: Option<f64>,
    /// Capacity less demand, of what is not a matter of multiples.
    pub spare: Option<Quantity>,
    /// Kelvins between what it gets and what it may get; the same with the unfavourable end of both.
    pub room: Option<TemperatureDifference>,
    pub room_at_worst: Option<TemperatureDifference>,
    /// The same with the favourable end of what the part may get.
    pub room_at_best: Option<TemperatureDifference>,
    /// How a material stands a chemical, where it is that.
    pub stands: Option<Stands>,
    /// Whether it may crack in the chemical where something pulls at it.
    pub cracks: bool,
    /// Whether a chemical stays on the part rather than splashing it.
    pub stays: bool,
    pub told: Option<Told>,
}

/// A margin as it is told, made for the choice that is told and no other.
#[derive(Debug, Clone, PartialEq)]
pub struct Told {
    pub said: Said,
    /// What it rests on.
    pub at: Vec<Span>,
    pub source: Vec<Source>,
}

impl Margin {
    fn of(about: About) -> Self {
        Self {
            about,
            demand: None,
            usual: None,
            capacity: None,
            ratio: None,
            ratio_at_best: None,
            would_hold: None,
            moves: None,
            corner: None,
            presses: None,
            ratio_at_worst: None,
            spare: None,
            room: None,
            room_at_worst: None,
            room_at_best: None,
            stands: None,
            cracks: false,
            stays: false,
            told: None,
        }
    }

    /// Returns what rules may judge it by.
    pub(super) fn facts(&self) -> rules::Margin {
        let none = Origin::None;
        let shown = match self.stands {
            Some(stands) => stands != Stands::Unknown,
            None => self.ratio.is_some() || self.spare.is_some() || self.room.is_some(),
        };
        let usual = self.usual.zip(self.capacity);
        let usual = usual.map(|(usual, there)| there.typical.si / usual.si.max(f64::MIN_POSITIVE));
        let softer = |c: &Band| TemperatureDifference::k(c.typical.si - c.low.si);
        let low = self
            .room
            .zip(self.capacity.as_ref())
            .map(|(room, c)| TemperatureDifference::k(room.to_k() - softer(c).to_k()));
        rules::Margin {
            shown: none.of(shown),
            ratio: none.of(self.ratio),
            ratio_at_best: none.of(self.ratio_at_best),
            would_hold: none.of(self.would_hold.map(|thicker| Text::shared(&thicker.to_string()))),
            moves: none.of(self.moves.map(|of| of.moves)),
            moves_usually: none.of(self.moves.map(|of| of.usual)),
            corner: none.of(self.corner.map(|at| Text::shared(&super::facts::place(at)))),
            presses: none.of(self.presses.as_ref().map(|at| Text::shared(&at.to_string()))),
            ratio_at_worst: none.of(self.ratio_at_worst),
            usual_ratio: none.of(usual),
            room: none.of(self.room),
            room_at_worst: none.of(self.room_at_worst),
            room_at_best: none.of(self.room_at_best),
            room_at_low: none.of(low),
            spare: none.of(self.spare.and_then(|q| Length::try_from(q).ok())),
            rating: none.of(self.stands.and_then(Rating::of)),
            cracks: none.of(self.cracks),
            stays: none.of(self.stays),
            ..rules::Margin::default()
        }
    }
}

impl About {
    /// Returns what is known of a margin before any choice.
    pub(super) fn named(self, spec: &Spec) -> Record {
        let title = self.name(spec).to_string();
        let at = self.stated(spec).map_or(Origin::None, |at| Origin::Stated { at });
        let (kind, name) = (Origin::None.of(self.kind), at.of(Text::shared(&title)));
        rules::Margin { title, kind, name, ..rules::Margin::default() }.record()
    }

    /// Returns the line of the spec that asks for it, where one does: heat has no line of its own, each of the service counts.
    fn stated(self, spec: &Spec) -> Option<Span> {
        if self.kind == MarginKind::Contact {
            return spec.touching().nth(self.index).map(|c| c.span);
        }
        let key = self.asked_by(spec).filter(|_| self.kind != MarginKind::Heat)?;
        key.row().find(spec).into_iter().find_map(|(found, span)| (found == key).then_some(span))
    }

    /// Returns the requirement of the spec that asks for it; `None` where none does.
    pub fn asked_by(self, spec: &Spec) -> Option<Key> {
        if let Some(row) = self.kind.requirement() {
            return match row.quoted {
                false => Some(Key::of(row.kind)),
                true => Some(Key::named(row.kind, self.of(spec)?)),
            };
        }
        (self.kind == MarginKind::Cold).then(|| cold::asked_by(spec))?
    }

    /// Returns the name of the load, contact or fit it is of; none for what there is once.
    pub fn of(self, spec: &Spec) -> Option<&str> {
        self.kind.row().there.name(spec, self.index)
    }

    /// Returns what the margin is called by.
    pub fn name(self, spec: &Spec) -> Name {
        let of = match self.kind {
            MarginKind::LoadsTogether => {
                let all = together::combination(spec, self.index).unwrap_or_default();
                all.into_iter().filter_map(|i| spec.loads.get(i)).map(|l| l.name.value.clone()).collect()
            }
            _ => self.of(spec).map(str::to_owned).into_iter().collect(),
        };
        Name { kind: self.kind, of }
    }
}

/// Returns a margin of a partial choice; `None` where there is none for that choice, or where what it hangs on is open.
///
/// Words are made only where they are to be told, with the verdict: most margins are made for choices that are looked at and
/// left.
pub fn of(world: &World<'_>, about: About, choice: &Partial, tell: Option<Verdict>) -> Option<Margin> {
    let asked = Asked { world, about, choice, tell };
    (about.kind.row().make)(&asked)
}

/// A margin asked for.
struct Asked<'q, 'w> {
    world: &'q World<'w>,
    about: About,
    choice: &'q Partial,
    /// The verdict to be told, where words are wanted.
    tell: Option<Verdict>,
}

impl Asked<'_, '_> {
    fn margin(&self) -> Margin {
        Margin::of(self.about)
    }

    /// Returns a margin that cannot be shown, with why.
    fn not_shown(&self, said: impl FnOnce() -> NotShown, at: Vec<Span>) -> Margin {
        let told = || Told { said: said().into(), at, source: Vec::new() };
        Margin { told: self.words(told), ..self.margin() }
    }

    fn words(&self, told: impl FnOnce() -> Told) -> Option<Told> {
        self.tell.map(|_| told())
    }
}

/// Cites a figure of the catalogue: its kind, its source, its place.
fn sourced<T>(figure: &Figure<T>) -> Source {
    Source::figure(figure.kind, figure.source.as_ref(), figure.at)
}

/// Returns how much of a wall between two surfaces is solid plastic next to one of them, mm: all of it where the part is solid
/// or the beads along both surfaces meet; else those along the one.
fn solid_of(world: &World<'_>, choice: &Partial, wall_mm: f64) -> Option<f64> {
    let number = |name: &str| world.setting(name, choice).and_then(|v| v.as_quantity()).map(|q| q.si);
    if number("infill")? > SOLID {
        return Some(wall_mm);
    }
    let beads = number("wall_beads")? * number("bead_width")? * 1e3;
    Some(if wall_mm <= 2.0 * beads { wall_mm } else { beads })
}

/// From here on an infill counts as solid; less differs by rounding only.
const SOLID: f64 = 0.999;
