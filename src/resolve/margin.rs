//! Margins: what the part must bear, what it can bear, and how much lies between. A margin is a fact about a partial choice,
//! made before the choice like every other; the recipe only shows it.
//!
//! ```text
//! heat       heat and sunlight                 chemical   what touches the part
//! load       loads, loads together, blows      stiffness  deflection
//! pressure   the wall a pressure wants         wall       the smallest wall asked for
//! depth      of what inserts and threads want  boss       plastic round an insert
//! snap       strain of hooks and folds         gap        round a pin printed in its eye
//! press      bursting and grip of pressed pins
//! ```

mod boss;
mod chemical;
mod depth;
mod gap;
mod heat;
mod load;
mod press;
mod pressure;
mod snap;
mod source;
mod stiffness;
mod wall;

use crate::catalogue::Figure;
use crate::catalogue::words::Stands;
use crate::diag::Span;
use crate::fits::function::FitFunction as Function;
use crate::quantity::Quantity;
use crate::semantics::spec::{FitFunction, Impact, Spec, SunExposure};

pub use source::Source;

use super::world::{Partial, World};
use super::{fits, strain, together};

/// What a margin is about, in the order in which margins are told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum MarginKind {
    Heat,
    Sun,
    Contact,
    Load,
    LoadsTogether,
    Impact,
    Deflection,
    Pressure,
    Wall,
    Depth,
    Boss,
    Snap,
    LivingHinge,
    Gap,
    Press,
    Grip,
}

impl MarginKind {
    /// Returns the word of the kind in data.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Heat => "heat",
            Self::Sun => "sun",
            Self::Contact => "contact",
            Self::Load => "load",
            Self::LoadsTogether => "loads-together",
            Self::Impact => "impact",
            Self::Deflection => "deflection",
            Self::Pressure => "pressure",
            Self::Wall => "wall",
            Self::Depth => "depth",
            Self::Boss => "boss",
            Self::Snap => "snap",
            Self::LivingHinge => "living-hinge",
            Self::Gap => "gap",
            Self::Press => "press",
            Self::Grip => "grip",
        }
    }
}

/// Which margin of a job: its kind, and the contact, load or fit it speaks of (0 for what there is once).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct About {
    pub kind: MarginKind,
    pub index: usize,
}

/// A quantity with the ends it may have.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    pub low: Quantity,
    pub typical: Quantity,
    pub high: Quantity,
}

impl Band {
    pub fn of(figure: &Figure<impl Into<Quantity> + Copy>) -> Self {
        Self { low: figure.low().into(), typical: figure.typ.into(), high: figure.high().into() }
    }

    /// Returns the band of what is known to a point.
    pub fn exactly(quantity: impl Into<Quantity>) -> Self {
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
    /// Capacity less demand, of what is not a matter of multiples.
    pub spare: Option<Quantity>,
    /// How a material stands a chemical, where it is that.
    pub stands: Option<Stands>,
    /// Whether it may crack in the chemical where something pulls at it.
    pub cracks: bool,
    /// Whether the figure is that of the worst there can be, and something stands between (ribs that crush first).
    pub relieved: bool,
    /// Whether a place falls short that may be no more than an edge.
    pub spot: bool,
    pub verdict: Verdict,
    pub told: Option<Told>,
}

/// The verdict on a margin, worst first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Verdict {
    Broken,
    NotShown,
    Narrow,
    Holds,
}

impl Verdict {
    pub const ALL: [Verdict; 4] = [Verdict::Broken, Verdict::NotShown, Verdict::Narrow, Verdict::Holds];

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

/// A margin in words, made for the choice that is told and no other.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Told {
    pub demand: String,
    pub capacity: String,
    pub spare: String,
    /// What it rests on.
    pub basis: String,
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
            spare: None,
            stands: None,
            cracks: false,
            relieved: false,
            spot: false,
            verdict: Verdict::NotShown,
            told: None,
        }
    }

    /// Returns one of which nothing can be shown, with why.
    fn not_shown(about: About, told: impl FnOnce() -> Told, tell: bool) -> Self {
        Self { told: tell.then(told), ..Self::of(about) }
    }
}

impl About {
    /// Returns the name of the load, contact or fit it is of; none for what there is once.
    pub fn of(self, spec: &Spec) -> Option<String> {
        match self.kind {
            MarginKind::Contact => spec.service.contacts.get(self.index).map(|c| c.chemical.value.clone()),
            MarginKind::Load | MarginKind::LoadsTogether => spec.loads.get(self.index).map(|l| l.name.value.clone()),
            MarginKind::Heat
            | MarginKind::Sun
            | MarginKind::Impact
            | MarginKind::Deflection
            | MarginKind::Pressure
            | MarginKind::Wall => None,
            _ => spec.fits.get(self.index).map(|f| f.name.value.clone()),
        }
    }

    /// Returns how the margin is called: `heat`, `load "gust"`.
    pub fn words(self, spec: &Spec) -> String {
        let fit = |word: &str| match spec.fits.get(self.index) {
            Some(fit) => format!("{word} \"{}\"", fit.name.value),
            None => word.to_owned(),
        };
        match self.kind {
            MarginKind::Heat => "heat".to_owned(),
            MarginKind::Sun => "sunlight".to_owned(),
            MarginKind::Contact => {
                let contact = spec.service.contacts.get(self.index);
                contact.map_or_else(String::new, |c| format!("contact \"{}\"", c.chemical.value))
            }
            MarginKind::Load => {
                spec.loads.get(self.index).map_or_else(String::new, |l| format!("load \"{}\"", l.name.value))
            }
            MarginKind::LoadsTogether => {
                let all = together::combination(spec, self.index).unwrap_or_default();
                format!("loads {} together", together::names(spec, &all))
            }
            MarginKind::Impact => "impact".to_owned(),
            MarginKind::Deflection => "deflection".to_owned(),
            MarginKind::Pressure => "pressure".to_owned(),
            MarginKind::Wall => "wall".to_owned(),
            MarginKind::Depth => fit("depth"),
            MarginKind::Boss => fit("boss"),
            MarginKind::Snap => fit("snap"),
            MarginKind::LivingHinge => fit("living hinge"),
            MarginKind::Gap => fit("gap"),
            MarginKind::Press => fit("press"),
            MarginKind::Grip => fit("grip"),
        }
    }
}

/// Returns every margin a job may have, whatever is chosen.
pub fn all(spec: &Spec) -> Vec<About> {
    let mut list = Vec::new();
    let mut add = |kind, index| list.push(About { kind, index });
    add(MarginKind::Heat, 0);
    if spec.service.sun.is_some_and(|s| s.value.exposure == SunExposure::Direct && s.value.duration.is_some()) {
        add(MarginKind::Sun, 0);
    }
    (0..spec.service.contacts.len()).for_each(|i| add(MarginKind::Contact, i));
    (0..spec.loads.len()).for_each(|i| add(MarginKind::Load, i));
    let combinations = (0..spec.loads.len()).filter(|&i| together::combination(spec, i).is_some());
    combinations.for_each(|i| add(MarginKind::LoadsTogether, i));
    let strikes = |i: Impact| !matches!(i, Impact::Drop(height) if height.to_mm() <= 0.0);
    for (there, kind) in [
        (spec.impact.is_some_and(|i| strikes(i.value)), MarginKind::Impact),
        (spec.deflection.is_some(), MarginKind::Deflection),
        (spec.pressure.as_ref().is_some_and(|p| p.pressure.is_some()), MarginKind::Pressure),
        (spec.wall.is_some(), MarginKind::Wall),
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
        fit if strain::asked(fit).is_some() => kinds.push(MarginKind::Snap),
        _ => {}
    }
    kinds
}

/// Returns a margin of a partial choice; `None` where there is none for that choice, or where what it hangs on is open.
///
/// Words are made only where they are to be told: most margins are made for choices that are looked at and left.
pub fn of(world: &World<'_>, about: About, choice: &Partial, tell: bool) -> Option<Margin> {
    let asked = Asked { world, about, choice, tell };
    let mut margin = match about.kind {
        MarginKind::Heat => heat::heat(&asked),
        MarginKind::Sun => heat::sun(&asked),
        MarginKind::Contact => chemical::contact(&asked),
        MarginKind::Load => load::load(&asked),
        MarginKind::LoadsTogether => load::together(&asked),
        MarginKind::Impact => load::impact(&asked),
        MarginKind::Deflection => stiffness::deflection(&asked),
        MarginKind::Pressure => pressure::pressure(&asked),
        MarginKind::Wall => wall::wall(&asked),
        MarginKind::Depth => depth::depth(&asked),
        MarginKind::Boss => boss::boss(&asked),
        MarginKind::Snap | MarginKind::LivingHinge => snap::strained(&asked),
        MarginKind::Gap => gap::gap(&asked),
        MarginKind::Press => press::press(&asked),
        MarginKind::Grip => press::grip(&asked),
    }?;
    margin.verdict = verdict(&margin);
    Some(margin)
}

/// A margin asked for.
struct Asked<'q, 'w> {
    world: &'q World<'w>,
    about: About,
    choice: &'q Partial,
    tell: bool,
}

impl Asked<'_, '_> {
    fn margin(&self) -> Margin {
        Margin::of(self.about)
    }

    /// Returns a margin that cannot be shown, with why.
    fn not_shown(&self, told: impl FnOnce() -> Told) -> Margin {
        Margin::not_shown(self.about, told, self.tell)
    }

    fn words(&self, told: impl FnOnce() -> Told) -> Option<Told> {
        self.tell.then(told)
    }
}

/// Cites a figure of the catalogue: its kind, its source, its place.
fn sourced<T>(figure: &Figure<T>) -> Source {
    Source::figure(figure.kind, figure.source.as_ref(), figure.at)
}

/// A margin below this part of what is asked is called narrow.
const NARROW: f64 = 1.25;
/// Kelvin between part and limit below which heat is called narrow.
const NARROW_K: f64 = 10.0;

/// Judges a margin.
fn verdict(margin: &Margin) -> Verdict {
    if let Some(stands) = margin.stands {
        return match stands {
            Stands::Unknown => Verdict::NotShown,
            Stands::Poor => Verdict::Broken,
            Stands::Limited => Verdict::Narrow,
            _ if margin.cracks => Verdict::Narrow,
            _ => Verdict::Holds,
        };
    }
    if margin.about.kind == MarginKind::Heat {
        return match margin.spare.map(|q| q.si) {
            None => Verdict::NotShown,
            Some(k) if k < 0.0 => Verdict::Broken,
            Some(k) if k < NARROW_K => Verdict::Narrow,
            Some(_) => Verdict::Holds,
        };
    }
    if margin.about.kind == MarginKind::Grip {
        // Force is left, and how much the pin wants nobody said.
        return if margin.spare.is_some_and(|q| q.si > 0.0) { Verdict::Narrow } else { Verdict::Broken };
    }
    let Some(ratio) = margin.ratio else { return Verdict::NotShown };
    let found = match margin.usual.zip(margin.capacity) {
        _ if ratio < 1.0 => match margin.ratio_at_best {
            Some(best) if best >= 1.0 => Verdict::NotShown,
            _ => Verdict::Broken,
        },
        Some((usual, capacity)) if capacity.typical.si < usual.si => Verdict::Narrow,
        Some(_) => Verdict::Holds,
        None if ratio < NARROW => Verdict::Narrow,
        None => Verdict::Holds,
    };
    match found {
        Verdict::Holds if margin.spot => Verdict::Narrow,
        Verdict::Broken if margin.relieved => Verdict::Narrow,
        other => other,
    }
}

/// Tells a margin as a multiple; beyond a hundred the figure says nothing more.
fn times(ratio: f64) -> String {
    if ratio > 100.0 { "over x 100".to_owned() } else { format!("x {ratio:.1}") }
}

#[cfg(test)]
mod tests {
    use super::times;

    #[test]
    fn a_margin_is_no_string_of_digits() {
        assert_eq!(times(1.54), "x 1.5");
        assert_eq!(times(2.2e10), "over x 100");
    }
}
