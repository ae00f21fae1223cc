//! Margins: what the part must bear, what it can bear, and how much lies between. A margin is a fact about a partial choice,
//! made before the choice like every other; the recipe only shows it.
//!
//! ```text
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
mod load;
pub(super) mod press;
mod pressure;
pub mod said;
mod slit;
mod snap;
mod source;
mod stiffness;
pub mod wall;

use std::sync::LazyLock;

use crate::catalogue::Figure;
use crate::catalogue::words::Stands;
use crate::diag::Span;
use crate::fits::function::FitFunction as Function;
use crate::quantity::{Length, Quantity, TemperatureDifference};
pub use crate::rulebook::facts::words::MarginVerdict as Verdict;
use crate::rulebook::facts::words::Rating;
use crate::rulebook::facts::{self as rules, RootFacts};
use crate::rulebook::names::Root;
use crate::rulebook::value::{Origin, Record, Text};
pub use crate::semantics::requirements::MarginKind;
use crate::semantics::requirements::{Key, Kind, ROWS, Row};
use crate::semantics::spec::{FitFunction, Impact, Spec, SunExposure};

pub use said::Said;
use said::{NotShown, Presses, Thicker};
pub use source::Source;

use super::world::{Partial, World, at};
use super::{fits, strain, strength, together};

/// Which margin of a job: its kind, and the contact, load or fit it speaks of (0 for what there is once).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct About {
    pub kind: MarginKind,
    pub index: usize,
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

impl MarginKind {
    /// Returns how a margin of this kind is called, before the name of what it is of.
    const fn words(self) -> &'static str {
        match self {
            MarginKind::Cold => "knocks in the cold",
            MarginKind::Sun => "sunlight",
            MarginKind::LoadsTogether => "loads together",
            MarginKind::Buckling => "buckling under",
            MarginKind::Bearing => "bearing under",
            MarginKind::Slit => "narrowest gap",
            MarginKind::BedRoom => "room on the bed",
            MarginKind::LivingHinge => "living hinge",
            other => other.as_str(),
        }
    }
}

impl Verdict {
    /// Returns the word for a person.
    pub const fn words(self) -> &'static str {
        match self {
            Verdict::Broken => "broken",
            Verdict::NotShown => "not shown",
            Verdict::Narrow => "holds narrowly",
            Verdict::Holds => "holds",
        }
    }
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
        rules::Margin {
            shown: none.of(shown),
            ratio: none.of(self.ratio),
            ratio_at_best: none.of(self.ratio_at_best),
            would_hold: none.of(self.would_hold.map(|thicker| Text::shared(&thicker.to_string()))),
            presses: none.of(self.presses.as_ref().map(|at| Text::shared(&at.to_string()))),
            ratio_at_worst: none.of(self.ratio_at_worst),
            usual_ratio: none.of(usual),
            room: none.of(self.room),
            room_at_worst: none.of(self.room_at_worst),
            room_at_best: none.of(self.room_at_best),
            spare: none.of(self.spare.and_then(|q| Length::try_from(q).ok())),
            rating: none.of(self.stands.and_then(Rating::of)),
            cracks: none.of(self.cracks),
            stays: none.of(self.stays),
            ..rules::Margin::default()
        }
    }
}

impl MarginKind {
    /// Returns what of the spec a margin of this kind is made for each of.
    pub fn speaks_of(self) -> Option<Root> {
        match self.requirement()?.kind {
            Kind::Contact => Some(Root::Contact),
            Kind::Load => Some(Root::Load),
            Kind::Fit => Some(Root::Fit),
            _ => None,
        }
    }

    /// Returns the statement that asks for margins of this kind; `None` where several may, or none does.
    fn requirement(self) -> Option<&'static Row> {
        static ROW_OF: LazyLock<Vec<Option<&Row>>> = LazyLock::new(|| {
            let kinds = MarginKind::WORDS.iter().filter_map(|word| MarginKind::parse(word));
            kinds.map(|kind| ROWS.iter().find(|row| row.margins.contains(&kind))).collect()
        });
        *ROW_OF.get(self as usize)?
    }

    /// Returns the decisions a margin of this kind hangs on, and the settings it is made from.
    pub(super) const fn hangs_on(self) -> (&'static [usize], &'static [&'static str]) {
        use at::{MATERIAL, NOZZLE, POSE, PRINTER};
        match self {
            MarginKind::Wall | MarginKind::Depth => (&[], &[]),
            MarginKind::Slit => (&[NOZZLE], &[]),
            MarginKind::BedRoom => (&[PRINTER, POSE], &["brim"]),
            MarginKind::Boss => (&[], SHELL),
            MarginKind::Deflection | MarginKind::Buckling => (&[MATERIAL], &["infill"]),
            MarginKind::Heat
            | MarginKind::Cold
            | MarginKind::Sun
            | MarginKind::Contact
            | MarginKind::Impact
            | MarginKind::Pressure => (&[MATERIAL], &[]),
            MarginKind::Snap | MarginKind::LivingHinge => (&[MATERIAL, POSE], &[]),
            MarginKind::Load | MarginKind::Bearing => (&[MATERIAL, POSE], PRINTED),
            MarginKind::LoadsTogether => (&[MATERIAL, POSE], &["infill"]),
            MarginKind::Gap => (&[PRINTER, MATERIAL, NOZZLE, POSE], &["layer_height"]),
            MarginKind::Press | MarginKind::Grip => (&[PRINTER, MATERIAL, NOZZLE, POSE], SHELL),
        }
    }
}

impl About {
    /// Returns what is known of a margin before any choice.
    pub(super) fn named(self, spec: &Spec) -> Record {
        let title = self.words(spec);
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
        let name = match self.kind.speaks_of()? {
            Root::Contact => &spec.touching().nth(self.index)?.chemical,
            Root::Load => &spec.loads.get(self.index)?.name,
            _ => &spec.fits.get(self.index)?.name,
        };
        Some(&name.value)
    }

    /// Returns how the margin is called: `heat`, `load "gust"`.
    pub fn words(self, spec: &Spec) -> String {
        let word = self.kind.words();
        match (self.kind, self.of(spec)) {
            (MarginKind::LoadsTogether, _) => {
                let all = together::combination(spec, self.index).unwrap_or_default();
                format!("loads {} together", together::names(spec, &all))
            }
            (_, Some(name)) => format!("{word} \"{name}\""),
            (_, None) => word.to_owned(),
        }
    }
}

/// Returns every margin a job may have, whatever is chosen.
pub fn all(world: &World<'_>) -> Vec<About> {
    let spec = world.spec;
    let mut list = Vec::new();
    let mut add = |kind, index| list.push(About { kind, index });
    add(MarginKind::Heat, 0);
    if cold::stated(spec).is_some() {
        add(MarginKind::Cold, 0);
    }
    if spec.service.sun.is_some_and(|s| s.value.exposure == SunExposure::Direct && s.value.duration.is_some()) {
        add(MarginKind::Sun, 0);
    }
    (0..spec.touching().count()).for_each(|i| add(MarginKind::Contact, i));
    (0..spec.loads.len()).for_each(|i| add(MarginKind::Load, i));
    (0..spec.loads.len()).filter(|&i| strength::may_buckle(world, i)).for_each(|i| add(MarginKind::Buckling, i));
    (0..spec.loads.len()).for_each(|i| add(MarginKind::Bearing, i));
    let combinations = (0..spec.loads.len()).filter(|&i| together::combination(spec, i).is_some());
    combinations.for_each(|i| add(MarginKind::LoadsTogether, i));
    let stands = |kind: MarginKind| kind.requirement().is_some_and(|row| !row.find(spec).is_empty());
    for (there, kind) in [
        (spec.impact.is_some_and(|i| strikes(i.value)), MarginKind::Impact),
        (stands(MarginKind::Deflection), MarginKind::Deflection),
        (spec.pressure.as_ref().is_some_and(|p| p.pressure.is_some()), MarginKind::Pressure),
        (stands(MarginKind::Wall), MarginKind::Wall),
        (slit::may_close(world), MarginKind::Slit),
        (bed::is_near_its_edge(world), MarginKind::BedRoom),
    ] {
        if there {
            add(kind, 0);
        }
    }
    for (index, fit) in spec.fits.iter().enumerate() {
        of_fit(&fit.function.value).into_iter().for_each(|kind| add(kind, index));
    }
    list
}

/// Whether a blow is one at all: a drop from no height is none.
fn strikes(impact: Impact) -> bool {
    !matches!(impact, Impact::Drop(height) if height.to_mm() <= 0.0)
}

/// Returns the margins a fit may have.
fn of_fit(fit: &FitFunction) -> Vec<MarginKind> {
    let mut kinds = match fits::function(fit).0 {
        Function::Insert { .. } => vec![MarginKind::Depth, MarginKind::Boss],
        Function::Thread { .. } | Function::Magnet { .. } => vec![MarginKind::Depth],
        _ => Vec::new(),
    };
    match fit {
        FitFunction::Hinge { living: true, .. } => kinds.push(MarginKind::LivingHinge),
        FitFunction::Hinge { in_place: true, .. } => kinds.push(MarginKind::Gap),
        FitFunction::Press { .. } | FitFunction::Dowel { .. } | FitFunction::Iso { inner: true, .. } => {
            kinds.extend([MarginKind::Press, MarginKind::Grip]);
        }
        fit if strain::is_strained(fit) => kinds.push(MarginKind::Snap),
        _ => {}
    }
    kinds
}

/// Returns a margin of a partial choice; `None` where there is none for that choice, or where what it hangs on is open.
///
/// Words are made only where they are to be told, with the verdict: most margins are made for choices that are looked at and
/// left.
pub fn of(world: &World<'_>, about: About, choice: &Partial, tell: Option<Verdict>) -> Option<Margin> {
    let asked = Asked { world, about, choice, tell };
    match about.kind {
        MarginKind::Heat => heat::heat(&asked),
        MarginKind::Cold => cold::cold(&asked),
        MarginKind::Sun => heat::sun(&asked),
        MarginKind::Contact => chemical::contact(&asked),
        MarginKind::Load => load::load(&asked),
        MarginKind::LoadsTogether => load::together(&asked),
        MarginKind::Buckling => stiffness::buckling(&asked),
        MarginKind::Bearing => bearing::bearing(&asked),
        MarginKind::Impact => load::impact(&asked),
        MarginKind::Deflection => stiffness::deflection(&asked),
        MarginKind::Pressure => pressure::pressure(&asked),
        MarginKind::Wall => wall::wall(&asked),
        MarginKind::Slit => slit::slit(&asked),
        MarginKind::BedRoom => bed::room(&asked),
        MarginKind::Depth => depth::depth(&asked),
        MarginKind::Boss => boss::boss(&asked),
        MarginKind::Snap | MarginKind::LivingHinge => snap::strained(&asked),
        MarginKind::Gap => gap::gap(&asked),
        MarginKind::Press => press::press(&asked),
        MarginKind::Grip => press::grip(&asked),
    }
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

/// The settings that say how much of a wall is plastic.
const PRINTED: &[&str] = &["infill", "wall_beads", "bead_width", "layer_height", "closed_above", "closed_below"];
const SHELL: &[&str] = &["infill", "wall_beads", "bead_width", "layer_height"];

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
