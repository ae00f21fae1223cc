//! The spools of the shop: which of them a material is printed from, whether it reaches, how dry it is.

use super::{Bench, Printer, Spool};
use crate::catalogue::words::{Level, Stored};
use crate::catalogue::{Material, figures};
use crate::day::days_between;
use crate::quantity::{Duration, Mass};
use crate::resolve::facts;
use crate::resolve::heat::{Coat, is_sunlit};
use crate::resolve::part::Part;
use crate::resolve::world::{Knowledge, Partial, at};
use crate::rulebook::facts as rules;
use crate::rulebook::value::{Assumed, Origin, Text};
use crate::semantics::spec::{ChoiceValue, Decision, Spec};

/// Filaments of one nominal diameter differ by less (the nominal ones are more than a millimetre apart).
const SAME_FILAMENT_MM: f64 = 0.3;

/// What a job asks of the stock.
#[derive(Clone, Copy)]
pub struct Job<'a> {
    pub spec: &'a Spec,
    pub part: &'a Part,
    pub knowledge: Knowledge<'a>,
}

/// The figure of how long a filament stays dry; none for one that hardly takes up water.
fn keeps_dry(stored: Stored, moisture: Level) -> Option<figures::Key<Duration>> {
    let [medium, high] = match stored {
        Stored::Open => [figures::KEEPS_DRY_OPEN_MEDIUM, figures::KEEPS_DRY_OPEN_HIGH],
        Stored::Bag => [figures::KEEPS_DRY_BAG_MEDIUM, figures::KEEPS_DRY_BAG_HIGH],
        Stored::DryBox => [figures::KEEPS_DRY_DRY_BOX_MEDIUM, figures::KEEPS_DRY_DRY_BOX_HIGH],
        Stored::Sealed => [figures::KEEPS_DRY_SEALED_MEDIUM, figures::KEEPS_DRY_SEALED_HIGH],
    };
    match moisture {
        Level::Low => None,
        Level::Medium => Some(medium),
        Level::High => Some(high),
    }
}

impl Bench<'_> {
    /// Returns the spool to take for a material on a printer, where the printer is known: of filament it takes, in the colour asked
    /// for, with enough on it, and where it is: on the machine, on the shelf, in another machine; then the one with most left, then
    /// by name. One whose rest nobody states comes between those that reach and those that do not.
    ///
    /// In the sun the colour decides the heat, and that must not hang on the printer: there a material has one colour for all.
    pub fn spool(&self, printer: Option<usize>, material: usize, spec: &Spec, part: &Part) -> Option<&Spool> {
        let only = (self.printers.len() == 1).then_some(0);
        let ask = Ask {
            printer: printer.or(only),
            needed: self.needed(material, spec, part).map_or(0.0, Mass::to_g),
            wanted: spec.service.colour.as_ref().map(|c| c.value.as_str()),
            pinned: pinned(spec),
            of_colour: None,
        };
        if ask.printer.is_none() || !is_sunlit(spec) {
            return self.best(material, &ask);
        }
        let colour = self.best(material, &Ask { printer: only, ..ask })?.colour.as_deref();
        self.best(material, &Ask { of_colour: Some(colour), ..ask })
    }

    /// Returns the names that no spool of this shop makes known. Settings that read only these hang on bench and catalogue alone.
    pub fn never_known(&self) -> &'static [&'static str] {
        let labelled = |s: &Spool| s.print_temperature.is_some() || s.bed_temperature.is_some();
        match self.spools.iter().any(labelled) {
            true => &[],
            false => &["spool.print_temperature", "spool.bed_temperature"],
        }
    }

    fn best(&self, material: usize, ask: &Ask<'_>) -> Option<&Spool> {
        let left = |s: &Spool| s.left.map_or(f64::MAX, Mass::to_g);
        self.spools_of(material).filter(|s| ask.pinned.is_none_or(|p| s.name == p)).max_by(|a, b| {
            let rank = |s: &Spool| self.rank(s, ask);
            rank(a).cmp(&rank(b)).then(left(a).total_cmp(&left(b))).then_with(|| b.name.cmp(&a.name))
        })
    }

    /// How well a spool answers what is asked; the largest is taken.
    fn rank(&self, spool: &Spool, ask: &Ask<'_>) -> (bool, bool, bool, Reach, Where) {
        let same = |w: &str| spool.colour.as_ref().is_some_and(|c| self.catalogue.same_colour(c, w));
        let settled = ask.of_colour.is_none_or(|colour| spool.colour.as_deref() == colour);
        let reach = Reach::of(spool.left, ask.needed);
        (
            settled,
            self.takes(ask.printer, spool),
            ask.wanted.is_none_or(same),
            reach,
            self.whereabouts(ask.printer, spool),
        )
    }

    /// Returns whether a printer, or where it is open any printer, takes the filament of a spool.
    fn takes(&self, printer: Option<usize>, spool: &Spool) -> bool {
        let fits = |p: &Printer| (p.filament.to_mm() - spool.filament.to_mm()).abs() < SAME_FILAMENT_MM;
        match printer.and_then(|p| self.printers.get(p)) {
            Some(printer) => fits(printer),
            None => self.printers.is_empty() || self.printers.iter().any(fits),
        }
    }

    /// Whether two spools are of one colour; of none stated is a colour too.
    fn alike(&self, one: &Spool, other: &Spool) -> bool {
        match (one.colour.as_deref(), other.colour.as_deref()) {
            (Some(a), Some(b)) => self.catalogue.same_colour(a, b),
            (None, None) => true,
            _ => false,
        }
    }

    fn whereabouts(&self, printer: Option<usize>, spool: &Spool) -> Where {
        let on = |p: &Printer| p.loaded_spool.as_ref() == Some(&spool.name);
        match printer.and_then(|p| self.printers.get(p)) {
            Some(printer) if on(printer) => Where::OnTheMachine,
            // Where the printer is open, one that is loaded costs nothing on the machine it is in.
            None if self.printers.iter().any(on) => Where::OnTheMachine,
            _ if self.printers.iter().any(on) => Where::InAnother,
            _ => Where::OnTheShelf,
        }
    }

    /// Returns what gives a part in a material its colour.
    pub fn coat(&self, material: usize, spec: &Spec, part: &Part) -> Coat<'_> {
        let sold = self.materials.get(material).and_then(|m| m.colours.as_ref()).map(|c| c.value.as_slice());
        let spool = self.spool(None, material, spec, part).and_then(|s| Some((s.name.as_str(), s.colour.as_deref()?)));
        Coat { sold, spool }
    }

    /// Returns the spools a material is printed from, in the order of the shop file.
    pub fn spools_of(&self, material: usize) -> impl Iterator<Item = &Spool> {
        let names =
            self.materials.get(material).map(|m| (m.name.clone(), m.spool_of.as_ref().map(|s| s.value.clone())));
        self.spools.iter().filter(move |s| {
            names.as_ref().is_some_and(|(name, of)| s.material == *name || of.as_ref() == Some(&s.material))
        })
    }

    /// Returns the filament the whole run needs, solid parts and waste counted.
    pub fn needed(&self, material: usize, spec: &Spec, part: &Part) -> Option<Mass> {
        let density = self.materials.get(material)?.density.typ.to_g_per_cm3();
        let pieces = self.plate.or(spec.quantity.map(|q| q.value)).map_or(1.0, f64::from);
        Some(Mass::g(part.volume_mm3? / 1000.0 * density * pieces * self.catalogue.value(figures::FILAMENT_WASTE)))
    }

    /// Returns the facts of the spool a material would be printed from on a printer, in this job.
    pub fn spool_facts(&self, choice: &Partial, job: Job<'_>) -> Option<rules::Spool> {
        let Job { spec, part, knowledge } = job;
        let (printer, material) = (choice[at::PRINTER], choice[at::MATERIAL]?);
        let entry = self.materials.get(material)?;
        let needed = self.needed(material, spec, part);
        let spool = if self.stock_listed { self.spool(printer, material, spec, part) } else { None };
        let at = spool.map_or(Origin::None, |s| facts::stated(s.at));
        let wanted = spec.service.colour.as_ref().map(|c| c.value.as_str());
        // Where a colour is asked for, or the sun heats by it, a spool of another one does not go on.
        let one_colour = wanted.is_some() || is_sunlit(spec);
        let alike = |s: &Spool| spool.is_some_and(|taken| self.alike(taken, s));
        let taken = |s: &&Spool| self.takes(printer, s) && (!one_colour || alike(s));
        let total: Option<f64> = self.spools_of(material).filter(taken).map(|s| s.left.map(Mass::to_g)).sum();
        let total = spool.and(total);
        let colour = spool.and_then(|s| s.colour.as_deref());
        let keeping = spool.map(|s| self.keeping(s, entry, spec));
        // Whatever hangs on the printer.
        let on = printer.zip(spool);
        Some(rules::Spool {
            title: spool.map_or(&entry.name, |s| &s.name).clone(),
            in_stock: match self.stock_listed {
                true => at.of(spool.is_some()),
                false => Origin::Assumed(Assumed::EveryMaterial).of(true),
            },
            name: at.of(spool.map(|s| Text::shared(&s.name))),
            left: at.of(spool.and_then(|s| s.left)),
            left_in_all: at.of(total.map(Mass::g)),
            needed: Origin::Measured.of(needed),
            enough: at.of(total.zip(needed).map(|(total, needed)| total >= needed.to_g())),
            colour: at.of(colour.map(Text::shared)),
            colour_right: at.of(colour.zip(wanted).map(|(has, wanted)| self.catalogue.same_colour(has, wanted))),
            stored: at.of(keeping.as_ref().map(|k| k.stored)),
            since_dried: at.of(keeping.as_ref().and_then(|k| k.dried)),
            since_opened: at.of(keeping.as_ref().and_then(|k| k.opened)),
            keeps_dry: Origin::None.of(keeping.as_ref().and_then(|k| k.keeps)),
            dried: at.of(keeping.as_ref().map(|k| k.is_dry)),
            print_temperature: at.of(spool.and_then(|s| s.print_temperature)),
            bed_temperature: at.of(spool.and_then(|s| s.bed_temperature)),
            limit: at.of(spool.and_then(|s| s.limit)),
            filament: at.of(on.map(|(_, s)| s.filament)),
            suits: at.of(on.map(|(_, s)| self.takes(printer, s))),
            loaded: at.of(on.map(|(_, s)| self.whereabouts(printer, s) == Where::OnTheMachine)),
            holder: self.holder_facts(on.and_then(|(p, s)| self.spool_holder(p, &s.name)), knowledge),
            second: at.of(self.in_second_colour(printer, material, spec).map(|s| Text::shared(&s.name))),
        })
    }

    /// Returns the first spool of a material in the second colour that a spec asks for, which the printer takes.
    fn in_second_colour(&self, printer: Option<usize>, material: usize, spec: &Spec) -> Option<&Spool> {
        let wanted = &spec.second_colour.as_ref()?.value.colour;
        let alike = |s: &&Spool| s.colour.as_deref().is_some_and(|has| self.catalogue.same_colour(has, wanted));
        self.spools_of(material).filter(|s| self.takes(printer, s)).find(alike)
    }

    /// Returns how a spool was kept, how long ago it was dried, and whether it still counts as dry: counted to the day on which a
    /// run prints it, else the day the part is wanted, or the latest day the shop's file knows.
    fn keeping(&self, spool: &Spool, material: &Material, spec: &Spec) -> Keeping {
        let wanted = || spec.wanted_by.as_ref().map(|d| d.value.clone());
        let today = self.printed.clone().or_else(wanted).max(self.latest.clone());
        let since = |day: &Option<String>| {
            let days = days_between(day.as_deref()?, today.as_deref()?)?;
            Some(Duration::h(24.0 * days.max(0) as f64))
        };
        let (dried, opened) = (since(&spool.dried), since(&spool.opened));
        let keeps = |stored: Stored| keeps_dry(stored, material.moisture.value).map(|key| self.catalogue.value(key));
        // What comes out of a sealed bag dry enough to print counts from its opening as if it had been dried then.
        let sealed_is_dry = keeps(Stored::Sealed).is_some_and(|time| time.to_s() > 0.0);
        let stored = spool.stored.unwrap_or(Stored::Open);
        let keeps = keeps(stored);
        let from = match (dried, opened) {
            (None, Some(opened)) if sealed_is_dry => Some(opened),
            _ => dried,
        };
        let is_dry = match (stored, from, keeps) {
            (Stored::Sealed, None, _) => sealed_is_dry,
            (_, Some(since), Some(keeps)) => since.to_s() <= keeps.to_s(),
            _ => false,
        };
        Keeping { stored, dried, opened, keeps, is_dry }
    }
}

/// How a spool was kept.
struct Keeping {
    stored: Stored,
    /// Time since it was dried, and since it was opened.
    dried: Option<Duration>,
    opened: Option<Duration>,
    /// How long filament of its material stays dry enough, kept so.
    keeps: Option<Duration>,
    is_dry: bool,
}

/// What a spool is chosen by.
#[derive(Clone, Copy)]
struct Ask<'a> {
    printer: Option<usize>,
    /// Grams of the whole run.
    needed: f64,
    wanted: Option<&'a str>,
    pinned: Option<&'a str>,
    /// The colour that is settled for the material, none being one too.
    of_colour: Option<Option<&'a str>>,
}

/// Whether a spool reaches for the run; the best is the last.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Reach {
    Short,
    Unknown,
    Enough,
}

impl Reach {
    fn of(left: Option<Mass>, needed: f64) -> Self {
        match left.map(Mass::to_g) {
            None => Self::Unknown,
            Some(left) if left >= needed => Self::Enough,
            Some(_) => Self::Short,
        }
    }
}

/// Where a spool is; the best is the last.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Where {
    InAnother,
    OnTheShelf,
    OnTheMachine,
}

fn pinned(spec: &Spec) -> Option<&str> {
    let pin = spec.pins.iter().find(|p| p.decision.value == Decision::Spool)?;
    match &pin.value.value {
        ChoiceValue::Named(name) => Some(name),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_spool_reaches_only_with_as_much_as_is_needed() {
        let of = |left: Option<f64>| Reach::of(left.map(Mass::g), 400.0);
        assert_eq!(of(Some(400.0)), Reach::Enough);
        assert_eq!(of(Some(399.9)), Reach::Short);
        assert_eq!(of(None), Reach::Unknown);
        assert!(Reach::Enough > Reach::Unknown && Reach::Unknown > Reach::Short);
        assert!(Where::OnTheMachine > Where::OnTheShelf && Where::OnTheShelf > Where::InAnother);
    }
}
