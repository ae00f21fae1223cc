//! What heat, time, repetition and moisture leave of a strength.

use super::super::elastic::{Assumed, NotKnown, Taken};
use super::super::world::World;
use super::warmth::{Stretch, Warmth};
use super::{Pick, held_pressed, retention};
use crate::catalogue::words::Morphology;
use crate::catalogue::{Catalogue, Figure, Material, figures};
use crate::physics::strength::{Factors, LoadHistory, Outlook};
use crate::physics::sustained::Retention;
use crate::physics::{Band, strength as law};
use crate::quantity::{Duration, Quantity, Ratio, Stress, Temperature};
use crate::semantics::spec::{Consequence, Course, Load};

/// Returns what the moisture of the air leaves of a dry figure; all where the material does not mind it.
pub(super) fn moist(kept: Option<&Figure<Ratio>>, pick: Pick) -> f64 {
    kept.map_or(1.0, |k| Quantity::from(pick.of(k)).si)
}

/// What heat, time and repetition leave of a strength.
pub(super) struct Reduction {
    pub(super) low: Factors,
    pub(super) typical: Factors,
    /// Of the worse stretch of time.
    pub(super) held: Duration,
    /// All the time it is held, where the worse stretch is that of its warmest alone.
    pub(super) of: Option<Duration>,
    pub(super) temperature: Temperature,
    /// Of the worse stretch, and how many there are in all where that is of its warmest alone.
    pub(super) cycles: f64,
    pub(super) of_cycles: Option<f64>,
    /// How often was tested.
    pub(super) tested: f64,
    /// Where strength is gone.
    pub(super) softens: Temperature,
}

impl Reduction {
    /// Of each stretch of time that is judged for itself.
    pub(super) fn each(
        load: &Load,
        material: &Material,
        warmth: Warmth,
        (asked, consequence): (f64, Consequence),
        catalogue: &Catalogue,
        assumed: &mut Vec<Assumed>,
    ) -> Result<Vec<Self>, NotKnown> {
        let course = load.course.value;
        let held = held(load, catalogue, assumed)?;
        let cycles = match load.cycles.filter(|_| course == Course::Cyclic) {
            Some(stated) => stated.value,
            None if course == Course::Cyclic => {
                assumed.push(cycles_open(load, catalogue));
                catalogue.value(figures::CYCLES_ASSUMED)
            }
            None => 1.0,
        };
        let tested = catalogue.value(figures::CYCLES_TESTED);
        let retention = retention(catalogue, Some(material));
        let softens = softening(material, catalogue);
        let (whole, in_all) = (held, cycles);
        let at = |Stretch { at: temperature, held, cycles }: Stretch| -> Result<Self, NotKnown> {
            // A sudden load is doubled in its stresses, and nothing is known of notches.
            let history = LoadHistory { held, cycles, shock: false, factor: asked, concentration: 1.0 };
            let factors = |outlook, pick| -> Result<Factors, NotKnown> {
                let plain = Factors::for_load(&history, temperature, softens, outlook, &retention)?;
                let pressed = held_pressed(material, catalogue, pick).filter(|_| plain.sustained > 0.0);
                let long = pressed.map(|share| Band { low: share, typical: share, high: share });
                let lasts = |b: Band| Retention { hour: Some(b), days: b, years: b, ..retention }.held(held);
                let kept = long.map(lasts).transpose()?.map(|b| b.low.max(plain.sustained));
                Ok(Factors { sustained_pressed: kept, ..plain })
            };
            let (low, typical) = (factors(Outlook::Low, Pick::Low)?, factors(Outlook::Typical, Pick::Typical)?);
            let correlation = catalogue.value_for(figures::LOW_ENDS_CORRELATED, consequence);
            let low = Factors { relief: given_back(material, [&low, &typical], correlation, catalogue)?, ..low };
            let of = (held < whole).then_some(whole);
            let of_cycles = (cycles < in_all).then_some(in_all);
            Ok(Self { low, typical, held, of, temperature, cycles, of_cycles, tested, softens })
        };
        let all: Vec<Self> = warmth.stretches(held, cycles, catalogue).into_iter().map(at).collect::<Result<_, _>>()?;
        if let Some(said) = all.first().and_then(|r| r.heat_open(load, warmth, catalogue)) {
            assumed.push(said);
        }
        Ok(all)
    }

    /// Returns the one of them of which least is left, by what it leaves: for one it need not be asked.
    pub(super) fn worst(mut all: Vec<Self>, left: impl Fn(&Factors) -> f64) -> Result<Self, NotKnown> {
        if all.len() > 1 {
            let ranked: Vec<f64> = all.iter().map(|r| left(&r.low)).collect();
            let worst = (0..all.len()).min_by(|a, b| ranked[*a].total_cmp(&ranked[*b]));
            return worst.map(|i| all.swap_remove(i)).ok_or(NotKnown::Warmth);
        }
        all.pop().ok_or(NotKnown::Warmth)
    }

    /// Says of a load held for long that the greatest heat was counted for all of that time, where heat takes something.
    pub(super) fn heat_open(&self, load: &Load, warmth: Warmth, catalogue: &Catalogue) -> Option<Assumed> {
        let long = self.held > catalogue.value(figures::HELD_BRIEFLY);
        let open = load.course.value == Course::Steady && load.temperature.is_none() && warmth.usual.is_none();
        let warm = open && long && (self.low.hot < 1.0 || self.low.sustained <= 0.0);
        let taken = match warmth.shade.zip(warmth.in_plain_sun()) {
            Some((air, plain)) => Taken::InTheSun {
                hottest: (self.temperature, catalogue.value(figures::SUN_PEAK_SHARE)),
                plain: (plain, catalogue.value(figures::SUN_PLAIN_SHARE)),
                air,
            },
            None => Taken::WarmThroughout { at: self.temperature, held: self.held },
        };
        warm.then(|| Assumed { load: load.name.value.clone(), taken })
    }
}

/// Returns what is given back of a material's strength for not everything being at its low end at once: the least of what that
/// is along and across the layers, pulled and pressed.
pub(super) fn given_back(
    material: &Material,
    [low, typical]: [&Factors; 2],
    correlation: f64,
    catalogue: &Catalogue,
) -> Result<f64, NotKnown> {
    let strength = |of: &Figure<Stress>| [Pick::Low, Pick::Typical].map(|pick| pick.of(of).to_mpa());
    let moist = [Pick::Low, Pick::Typical].map(|pick| moist(material.conditioned_strength.as_ref(), pick));
    let figure = |key| {
        let band = catalogue.band(key);
        [band.low, band.typical]
    };
    let (along, across) = (strength(&material.strength_along), strength(&material.strength_across));
    let hot = [low.hot, typical.hot];
    let (held, pressed) = ([low.sustained, typical.sustained], [low.pressed(), typical.pressed()]);
    let tired = [low.fatigue_pressed, typical.fatigue_pressed].map(|f| f.unwrap_or(1.0));
    let ways = [
        [along, moist, hot, held, [low.fatigue_along, typical.fatigue_along]],
        [across, moist, hot, held, [low.fatigue_across, typical.fatigue_across]],
        [along, moist, hot, pressed, tired],
    ];
    let of = |way: &[[f64; 2]; 5]| law::relief(way, correlation);
    let [_, _, last] = &ways;
    let crushed = [&last[..], &[figure(figures::COMPRESSION_TO_TENSION)]].concat();
    let found = ways.iter().map(of).chain([law::relief(&crushed, correlation)]).collect::<Result<Vec<_>, _>>()?;
    Ok(found.into_iter().fold(f64::INFINITY, f64::min))
}

/// Returns what heat, time and repetition leave of a material.
pub(super) fn left(
    material: &Material,
    history: &LoadHistory,
    at: Temperature,
    pick: Pick,
    catalogue: &Catalogue,
) -> Result<Factors, NotKnown> {
    let outlook = if matches!(pick, Pick::Low) { Outlook::Low } else { Outlook::Typical };
    Ok(Factors::for_load(history, at, softening(material, catalogue), outlook, &retention(catalogue, Some(material)))?)
}

/// How long a load is held without a rest; only a steady one is.
pub(super) fn held(load: &Load, catalogue: &Catalogue, assumed: &mut Vec<Assumed>) -> Result<Duration, NotKnown> {
    if load.course.value != Course::Steady {
        return Ok(Duration::s(0.0));
    }
    if let Some(stated) = load.held {
        return Ok(stated.value);
    }
    assumed.push(held_open(load, catalogue));
    Ok(catalogue.value(figures::HELD_ASSUMED))
}

/// Says of a load that it does not say how long it is held.
pub fn held_open(load: &Load, catalogue: &Catalogue) -> Assumed {
    Assumed { load: load.name.value.clone(), taken: Taken::Held(catalogue.value(figures::HELD_ASSUMED)) }
}

/// Says of a load that comes again and again that it does not say how often.
pub fn cycles_open(load: &Load, catalogue: &Catalogue) -> Assumed {
    Assumed { load: load.name.value.clone(), taken: Taken::Comes(catalogue.value(figures::CYCLES_ASSUMED)) }
}

/// What is left of a strength across layers, held for years.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lasting {
    /// The low end of the strength.
    pub low: Stress,
    /// Shares left with the moisture of the air in it, at a temperature, and after years.
    pub kept: f64,
    pub at: Temperature,
    pub hot: f64,
    pub sustained: f64,
}

/// Returns what is left for a year of a material's strength across the layers, its low end, at the part's temperature and
/// that of everything it is in contact with, and how that was worked out.
pub fn lasting_across(world: &World<'_>, material: usize) -> Option<(Stress, Lasting)> {
    let entry = *world.bench.materials.get(material)?;
    let contacts = world.spec.touching().filter_map(|c| world.contact_temperature(c, Some(material)));
    let part = world.heat(material).map(|h| h.temperature);
    let hottest = contacts.chain(part).max_by(|a, b| a.to_kelvin().total_cmp(&b.to_kelvin()));
    let t = hottest?;
    let history =
        LoadHistory { held: Duration::years(1.0), cycles: 1.0, shock: false, factor: 1.0, concentration: 1.0 };
    let factors = left(entry, &history, t, Pick::Low, world.knowledge.catalogue).ok()?;
    let low = entry.strength_across.low();
    let kept = moist(entry.conditioned_strength.as_ref(), Pick::Low);
    let of = Lasting { low, kept, at: t, hot: factors.hot, sustained: factors.sustained };
    Some((Stress::mpa(low.to_mpa() * kept * factors.hot * factors.sustained), of))
}

/// Where strength is gone: the glass transition of an amorphous polymer; a little above the light-load limit otherwise, where
/// creep has made it useless, whatever its melting point.
pub(super) fn softening(material: &Material, catalogue: &Catalogue) -> Temperature {
    match (material.morphology.value, &material.glass_transition) {
        (Morphology::Amorphous, Some(tg)) => tg.typ,
        _ => {
            let above = Quantity::from(catalogue.value(figures::SOFTENS_ABOVE)).si;
            Temperature::kelvin(material.heat_limit.high().to_kelvin() + above)
        }
    }
}
