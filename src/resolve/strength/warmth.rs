//! How warm a part is while a load acts: at most, and of that how long.

use super::super::heat;
use super::super::world::World;
use super::lasting::Reduction;
use crate::catalogue::{Catalogue, figures};
use crate::quantity::{Duration, Temperature};
use crate::semantics::spec::{Consequence, Load};

/// How warm a part is under a load.
#[derive(Debug, Clone, Copy)]
pub(super) struct Warmth {
    pub(super) highest: Temperature,
    /// Most of the time, where the spec says so and the load says nothing else.
    pub(super) usual: Option<Temperature>,
    /// It is the sun that heats it so.
    pub(super) sunlit: bool,
    /// The warmest air, where the sun heats the part out of it and nothing says how warm it usually is: at night and under
    /// clouds it is no warmer. Who can be hurt is not left to what suns usually do.
    pub(super) shade: Option<Temperature>,
}

impl Warmth {
    pub(super) fn of(world: &World<'_>, load: &Load, material: usize) -> Option<Self> {
        match load.temperature {
            Some(stated) => Some(Self { highest: stated.value, usual: None, sunlit: false, shade: None }),
            None => Self::unstated(world, material),
        }
    }

    /// Of what states no temperature of its own.
    pub(super) fn unstated(world: &World<'_>, material: usize) -> Option<Self> {
        let (usual, part) = (world.spec.service.usual.map(|u| u.value), Self::of_part(world, material)?);
        let open = part.sunlit && usual.is_none() && world.spec.consequence() != Consequence::Injury;
        let shade = open.then(|| heat::warmest_air(world.spec, world.knowledge.catalogue)).flatten();
        Some(Self { usual, shade: shade.filter(|air| *air < part.highest), ..part })
    }

    pub(super) fn of_part(world: &World<'_>, material: usize) -> Option<Self> {
        world.heat(material).map(|h| Self {
            highest: h.temperature,
            usual: None,
            sunlit: h.sunlit && world.spec.service.peak.is_none(),
            shade: None,
        })
    }

    /// How warm it is while the sun shines on it as it mostly does, where nothing says so: halfway from the air to its hottest.
    pub(super) fn in_plain_sun(self) -> Option<Temperature> {
        self.shade.map(|air| Temperature::kelvin(0.5 * (air.to_kelvin() + self.highest.to_kelvin())))
    }

    /// Returns the temperatures something is to be judged at, for how long and how often at each: as in the sum of damage over
    /// time or pulls, where all of it falls to the worse of the two (Robinson's rule of life fractions, 1952, and Miner's of
    /// cycles, 1945, from memory). A load of hours may well fall into the hottest ones whole.
    pub(super) fn stretches(self, held: Duration, cycles: f64, catalogue: &Catalogue) -> Vec<Stretch> {
        let briefly = catalogue.value(figures::HELD_BRIEFLY).to_s().min(held.to_s());
        let part = |at: Temperature, share: f64| {
            let held = Duration::s((held.to_s() * share).max(briefly));
            Stretch { at, held, cycles: (cycles * share).max(1.0) }
        };
        let all = |at: Temperature| Stretch { at, held, cycles };
        let hottest = catalogue.value(if self.sunlit { figures::SUN_PEAK_SHARE } else { figures::PEAK_SHARE });
        match (self.usual.filter(|u| *u < self.highest), self.shade.zip(self.in_plain_sun())) {
            (Some(usual), _) => vec![part(self.highest, hottest), all(usual)],
            (None, Some((air, plain))) => {
                let sunny = catalogue.value(figures::SUN_PLAIN_SHARE);
                vec![part(self.highest, hottest), part(plain, sunny), all(air)]
            }
            (None, None) => vec![all(self.highest)],
        }
    }
}

/// How long and how often something is borne at a temperature.
#[derive(Debug, Clone, Copy)]
pub(super) struct Stretch {
    pub(super) at: Temperature,
    pub(super) held: Duration,
    pub(super) cycles: f64,
}

/// Returns whether a load that states no temperature would be judged otherwise if it were said how warm the part usually is.
pub fn hangs_on_usual_heat(world: &World<'_>, load: &Load, material: usize) -> bool {
    let catalogue = world.knowledge.catalogue;
    let cool = Load { temperature: None, ..load.clone() };
    let heat = Warmth::of(world, &cool, material).zip(world.bench.materials.get(material));
    heat.is_some_and(|(warmth, entry)| {
        let asked = (1.0, world.spec.consequence());
        let reduced = Reduction::each(&cool, entry, warmth, asked, catalogue, &mut Vec::new());
        reduced.is_ok_and(|all| all.first().is_some_and(|r| r.heat_open(&cool, warmth, catalogue).is_some()))
    })
}
