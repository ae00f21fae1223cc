//! How hot the part gets: air, sun, sky, glass and cabins, as a sum that can be read line by line.

use super::registry::{Function, apply, input, number};
use super::{Checked, SourceNote, finite, not_negative, positive, sound, within};
use crate::quantity::{Angle, Dimension, Irradiance, Quantity, SurfaceCoefficient, Temperature, TemperatureDifference};

const SOL_AIR: SourceNote =
    SourceNote::new("handbook", "ASHRAE Handbook, Fundamentals, load calculation chapter: sol-air temperature");
const HAURWITZ: SourceNote = SourceNote::new(
    "computed",
    "Haurwitz clear-sky formula, constants as coded in an open solar library; 0.057 in place of 0.059 is also in print",
);
const STEFAN_BOLTZMANN: f64 = 5.670_374_419e-8;

/// Sol-air temperature without the loss to the sky: `te = to + α E / h`.
///
/// Source: ASHRAE Fundamentals. Good for a thin surface insulated behind, in steady sun; a vertical surface has no sky
/// term, and for one facing up leaving it out errs hot by about 4 K. A thin sheet free on both faces stays cooler.
pub fn sol_air_temperature(
    air: Temperature,
    irradiance: Irradiance,
    absorptance: f64,
    coefficient: SurfaceCoefficient,
) -> Checked<Temperature> {
    sol_air_temperature_under_sky(air, irradiance, absorptance, coefficient, 0.0, Irradiance::w_per_m2(0.0))
}

/// Sol-air temperature with the loss to the sky: `te = to + α E / h - ε ΔR / h`.
///
/// Source: ASHRAE Fundamentals; ΔR = 63 W/m² facing a clear sky, 0 vertical. Validity as [`sol_air_temperature`].
pub fn sol_air_temperature_under_sky(
    air: Temperature,
    irradiance: Irradiance,
    absorptance: f64,
    coefficient: SurfaceCoefficient,
    emittance: f64,
    sky_loss: Irradiance,
) -> Checked<Temperature> {
    within("an absorptance", absorptance, 0.0, 1.0)?;
    within("an emittance", emittance, 0.0, 1.0)?;
    let sun = not_negative("an irradiance", irradiance.to_w_per_m2())?;
    let sky = not_negative("a sky loss", sky_loss.to_w_per_m2())?;
    let h = positive("a surface coefficient", coefficient.to_w_per_m2_k())?;
    let rise = absorptance * sun / h - emittance * sky / h;
    sound(Temperature::kelvin(finite("air temperature", air.to_kelvin())? + rise))
}

/// What a sunlit surface gives and takes besides conduction into the part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SunlitSurface {
    /// Of the air at the surface.
    pub air: Temperature,
    /// Mean radiant temperature of what the surface sees.
    pub surroundings: Temperature,
    /// Of the sun on the surface.
    pub irradiance: Irradiance,
    /// Share of the sun that the surface takes in, 0 to 1.
    pub absorptance: f64,
    /// Thermal emittance of the surface, 0 to 1.
    pub emittance: f64,
    /// Convection alone, without radiation.
    pub convection: SurfaceCoefficient,
}

impl SunlitSurface {
    fn check(&self) -> Checked<()> {
        within("an absorptance", self.absorptance, 0.0, 1.0)?;
        within("an emittance", self.emittance, 0.0, 1.0)?;
        not_negative("an irradiance", self.irradiance.to_w_per_m2())?;
        positive("a convection coefficient", self.convection.to_w_per_m2_k())?;
        not_negative("an absolute air temperature", self.air.to_kelvin())?;
        not_negative("an absolute temperature of the surroundings", self.surroundings.to_kelvin())?;
        Ok(())
    }

    /// Heat flowing from the surface into the body behind it, W/m²: `q = α E + h (Ta - Ts) + ε σ (Tsur⁴ - Ts⁴)`.
    ///
    /// Source: surface energy balance, e.g. Cengel, *Heat and Mass Transfer*, ch. 1 (handbook). Steady state only.
    fn net(&self, surface: f64) -> f64 {
        let radiation = self.surroundings.to_kelvin().powi(4) - surface.powi(4);
        self.absorptance * self.irradiance.to_w_per_m2()
            + self.convection.to_w_per_m2_k() * (self.air.to_kelvin() - surface)
            + self.emittance * STEFAN_BOLTZMANN * radiation
    }

    /// Returns the surface temperature at which `inward` flows into the body (0: insulated behind, the hottest case).
    ///
    /// The balance falls strictly with the surface temperature, so bisection finds the one root; to 1e-9 K.
    pub fn temperature(&self, inward: Irradiance) -> Checked<Temperature> {
        self.check()?;
        let wanted = finite("heat flow", inward.to_w_per_m2())?;
        let (mut low, mut high) = (0.0_f64, 10_000.0_f64);
        if self.net(low) < wanted || self.net(high) > wanted {
            return Err("the balance has no surface temperature below 10,000 K".to_owned());
        }
        for _ in 0..80 {
            let middle = 0.5 * (low + high);
            if self.net(middle) > wanted {
                low = middle;
            } else {
                high = middle;
            }
        }
        sound(Temperature::kelvin(0.5 * (low + high)))
    }
}

/// Surface temperature of a sunlit part insulated behind, from the full balance with radiation to the fourth power.
///
/// Source: surface energy balance (Cengel ch. 1, handbook).
pub fn sunlit_temperature(
    air: Temperature,
    surroundings: Temperature,
    irradiance: Irradiance,
    absorptance: f64,
    emittance: f64,
    convection: SurfaceCoefficient,
) -> Checked<Temperature> {
    SunlitSurface { air, surroundings, irradiance, absorptance, emittance, convection }
        .temperature(Irradiance::w_per_m2(0.0))
}

/// Global irradiance on a horizontal surface under a clear sky: `E = 1098 cos z exp(-0.059 / cos z)` W/m².
///
/// Source: Haurwitz. `z` is the angle of the sun from the zenith; at and below the horizon the answer is 0.
/// Sea-level formula: high mountains get up to some 15 % more (from memory).
pub fn clear_sky_irradiance(zenith: Angle) -> Checked<Irradiance> {
    let z = within("a zenith angle in degrees", zenith.to_deg(), 0.0, 180.0)?.to_radians().cos();
    let e = if z <= 0.0 { 0.0 } else { 1098.0 * z * (-0.059 / z).exp() };
    sound(Irradiance::w_per_m2(e))
}

/// A figure and the end of its range that makes the part hotter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Usual<T> {
    /// What is to be expected.
    pub typical: T,
    /// The unfavourable end.
    pub worst: T,
}

/// What heats the part besides the air.
#[derive(Debug, Clone, PartialEq)]
pub enum Surroundings {
    /// Nothing.
    Shade,
    /// The sun in the open, on a face turned up to it.
    OpenSun {
        /// On the part, usual and at the worst.
        sun: Usual<Irradiance>,
        /// Convection and radiation together, with the wind there usually is.
        film: SurfaceCoefficient,
        /// Long-wave loss to the clear sky.
        sky_loss: Irradiance,
    },
    /// The sun that a pane lets through.
    BehindGlass {
        /// Behind the pane.
        sun: Usual<Irradiance>,
    },
    /// A place whose temperature was measured as a whole.
    AsMeasured {
        /// The place in words.
        place: String,
        /// Of the surroundings, usual and at the worst.
        temperature: Usual<Temperature>,
        /// Rise above the air outside, which counts where it comes to more.
        rise: TemperatureDifference,
    },
}

/// What the part meets in service, as far as heat goes.
#[derive(Debug, Clone, PartialEq)]
pub struct ServiceHeat {
    /// The hottest air of the service.
    pub air_max: Temperature,
    /// What heats besides the air.
    pub surroundings: Surroundings,
    /// Share of the sun the surface absorbs, 0 to 1.
    pub absorptance: f64,
    /// Thermal emittance of the surface, 0 to 1.
    pub emittance: f64,
    /// Convection alone in still air; radiation is counted besides, since at 90 °C it carries more than the air does.
    pub still: Usual<SurfaceCoefficient>,
    /// Hot fluid or surface in contact, if any.
    pub contact: Option<Temperature>,
    /// What the body conducts from its lit side to a back that air passes, conductivity over thickness; `None` where the back
    /// loses nothing.
    pub free_behind: Option<SurfaceCoefficient>,
}

/// One line of the sum.
#[derive(Debug, Clone, PartialEq)]
pub struct HeatTerm {
    /// What heats, in words.
    pub label: String,
    /// How much: a temperature, or a difference.
    pub value: Quantity,
    /// Whether it is what the sun adds, so that it hangs on the colour.
    pub of_the_sun: bool,
    /// Where the figure or formula is from.
    pub source: SourceNote,
}

/// The service temperature and how it came about.
#[derive(Debug, Clone, PartialEq)]
pub struct HeatResult {
    /// What the part reaches.
    pub temperature: Temperature,
    /// The same sum with the unfavourable end of each constant (still air, peak sun).
    pub high: Temperature,
    /// What `temperature` is the sum of, in order.
    pub terms: Vec<HeatTerm>,
}

/// Returns the highest temperature the part reaches in service, with every term of the sum and its source.
///
/// In the open sun: sol-air temperature. Behind glass: the balance of a surface in still air with the sun a pane lets
/// through. Vehicles: design figures made from measured cabins. A part thin and free on both faces stays cooler than this.
pub fn service_temperature(service: &ServiceHeat) -> Checked<HeatResult> {
    within("an absorptance", service.absorptance, 0.0, 1.0)?;
    within("an emittance", service.emittance, 0.0, 1.0)?;
    let mut sum = HeatSum::starting(service.air_max)?;
    match &service.surroundings {
        Surroundings::Shade => {}
        Surroundings::OpenSun { sun, film, sky_loss } => sum.add_open_sun(service, *sun, *film, *sky_loss)?,
        Surroundings::BehindGlass { sun } => sum.add_glass_sun(service, *sun)?,
        Surroundings::AsMeasured { place, temperature, rise } => sum.raise_to(place, *temperature, *rise)?,
    }
    sum.add_contact(service.contact)?;
    Ok(HeatResult {
        temperature: sound(Temperature::kelvin(sum.kelvin))?,
        high: sound(Temperature::kelvin(sum.high))?,
        terms: sum.terms,
    })
}

/// Returns by how many kelvin a sunlit surface insulated behind is warmer than the still air and the surroundings, by the
/// full balance.
fn still_rise(air_kelvin: f64, sun: Irradiance, service: &ServiceHeat, convection: SurfaceCoefficient) -> Checked<f64> {
    let air = Temperature::kelvin(air_kelvin);
    let lit = SunlitSurface {
        air,
        surroundings: air,
        irradiance: sun,
        absorptance: service.absorptance,
        emittance: service.emittance,
        convection,
    };
    let surface = match service.free_behind {
        Some(through) => free_plate_temperature(&lit, through)?,
        None => lit.temperature(Irradiance::w_per_m2(0.0))?,
    };
    Ok(surface.to_kelvin() - air_kelvin)
}

/// Lit side of a plate that loses heat from both sides: what flows through it, `(k/t) (T - Tb)`, is what the back loses.
///
/// Source: surface energy balance on either side (Cengel ch. 1, handbook). Between the half of the rise of a thin sheet and the
/// whole of one insulated behind.
pub fn free_plate_temperature(lit: &SunlitSurface, through: SurfaceCoefficient) -> Checked<Temperature> {
    let k = positive("what the body conducts", through.to_w_per_m2_k())?;
    let back = SunlitSurface { absorptance: 0.0, ..*lit };
    let taken = lit.absorptance * lit.irradiance.to_w_per_m2();
    let (mut low, mut high) = (0.0_f64, taken);
    for _ in 0..60 {
        let flow = 0.5 * (low + high);
        let front = lit.temperature(Irradiance::w_per_m2(flow))?.to_kelvin();
        let behind = back.temperature(Irradiance::w_per_m2(-flow))?.to_kelvin();
        // More flows than the difference drives: less does.
        if flow > k * (front - behind) {
            high = flow;
        } else {
            low = flow;
        }
    }
    lit.temperature(Irradiance::w_per_m2(0.5 * (low + high)))
}

/// Share of the rise of a surface insulated behind that is left where air passes behind as well: `(1 + Bi) / (2 + Bi)`, Bi = h t / k.
fn share_of_the_rise(film: f64, through: Option<SurfaceCoefficient>) -> Checked<f64> {
    let Some(through) = through else { return Ok(1.0) };
    let biot = film / positive("what the body conducts", through.to_w_per_m2_k())?;
    sound((1.0 + biot) / (2.0 + biot))
}

struct HeatSum {
    kelvin: f64,
    high: f64,
    terms: Vec<HeatTerm>,
}

const BALANCE: SourceNote =
    SourceNote::new("handbook", "surface energy balance, Cengel, Heat and Mass Transfer, ch. 1");
const DESIGN: SourceNote = SourceNote::new("from-memory", "measured cabins plus margin");
const STATED: SourceNote = SourceNote::new("computed", "as stated for the part");

impl HeatSum {
    fn starting(air: Temperature) -> Checked<Self> {
        let kelvin = not_negative("an absolute air temperature", air.to_kelvin())?;
        let mut sum = Self { kelvin, high: kelvin, terms: Vec::new() };
        sum.note("highest air temperature", air, STATED);
        Ok(sum)
    }

    fn note(&mut self, label: impl Into<String>, value: impl Into<Quantity>, source: SourceNote) {
        self.terms.push(HeatTerm { label: label.into(), value: value.into(), of_the_sun: false, source });
    }

    /// Marks the last term as the sun's.
    fn mark_sun(&mut self) {
        if let Some(term) = self.terms.last_mut() {
            term.of_the_sun = true;
        }
    }

    fn add_rise(&mut self, label: String, typical: f64, high: f64, source: SourceNote) {
        self.kelvin += typical;
        self.high += high;
        self.note(label, TemperatureDifference::k(typical), source);
    }

    fn add_open_sun(
        &mut self,
        service: &ServiceHeat,
        sun: Usual<Irradiance>,
        film: SurfaceCoefficient,
        sky_loss: Irradiance,
    ) -> Checked<()> {
        let e = not_negative("an irradiance", sun.typical.to_w_per_m2())?;
        let h = positive("a surface coefficient", film.to_w_per_m2_k())?;
        let sky = not_negative("a sky loss", sky_loss.to_w_per_m2())?;
        let (a, emittance) = (service.absorptance, service.emittance);
        // At its hottest no wind blows and no clear sky cools it.
        let still = still_rise(self.kelvin, sun.worst, service, service.still.typical)?;
        let share = share_of_the_rise(h, service.free_behind)?;
        let free = if share < 1.0 { format!(", x {share:.2} with its back free") } else { String::new() };
        self.add_rise(format!("sun: {a} x {e} W/m² / {h} W/m²K{free}"), share * a * e / h, still, SOL_AIR);
        self.mark_sun();
        let label = format!("clear sky: -{emittance} x {sky} W/m² / {h} W/m²K");
        self.add_rise(label, -emittance * sky / h, 0.0, SOL_AIR);
        Ok(())
    }

    fn add_glass_sun(&mut self, service: &ServiceHeat, sun: Usual<Irradiance>) -> Checked<()> {
        let label = format!(
            "sun through glass: {} x {} W/m² against {} W/m²K of still air and radiation",
            service.absorptance,
            sun.typical.to_w_per_m2(),
            service.still.typical.to_w_per_m2_k()
        );
        let label = if service.free_behind.is_some() { format!("{label}, its back free") } else { label };
        let typical = still_rise(self.kelvin, sun.typical, service, service.still.typical)?;
        let worst = still_rise(self.kelvin, sun.worst, service, service.still.worst)?;
        self.add_rise(label, typical, worst, BALANCE);
        self.mark_sun();
        Ok(())
    }

    /// Raises the sum to what was measured, or by the measured rise above the air where that is hotter.
    fn raise_to(&mut self, place: &str, temperature: Usual<Temperature>, rise: TemperatureDifference) -> Checked<()> {
        let rise = finite("rise above the air", rise.to_k())?;
        let air = self.kelvin;
        self.kelvin = finite("temperature", temperature.typical.to_kelvin())?.max(air + rise);
        self.high = finite("temperature", temperature.worst.to_kelvin())?.max(air + rise);
        let label = format!(
            "design figure {place} ({} to {}), or air + {rise} K if more",
            temperature.typical, temperature.worst
        );
        self.note(label, Temperature::kelvin(self.kelvin), DESIGN);
        Ok(())
    }

    fn add_contact(&mut self, contact: Option<Temperature>) -> Checked<()> {
        let Some(contact) = contact else { return Ok(()) };
        let k = not_negative("an absolute contact temperature", contact.to_kelvin())?;
        if k > self.kelvin {
            self.kelvin = k;
            self.note("contact with something hotter governs", contact, STATED);
        }
        self.high = self.high.max(k);
        Ok(())
    }
}

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        name: "sol_air_temperature",
        inputs: &[
            input("air", Dimension::TEMPERATURE, "outdoor air temperature"),
            input("irradiance", Dimension::IRRADIANCE, "sun on the surface; 1000 W/m2 is one sun"),
            number("absorptance", "share of the sun absorbed, 0 to 1"),
            input("surface_coefficient", Dimension::SURFACE_COEFFICIENT, "about 17 W/m2/K in the open"),
        ],
        output: Dimension::TEMPERATURE,
        formula: "te = to + alpha E / h",
        source: SOL_AIR,
        help: "temperature of a sunlit surface insulated behind, loss to the sky left out (errs hot)",
        example: &["35 °C", "1000 W/m2", "0.9", "17 W/m2/K"],
        evaluate: apply!(sol_air_temperature; 0 1 2 3),
    },
    Function {
        name: "sol_air_temperature_under_sky",
        inputs: &[
            input("air", Dimension::TEMPERATURE, "outdoor air temperature"),
            input("irradiance", Dimension::IRRADIANCE, "sun on the surface"),
            number("absorptance", "share of the sun absorbed, 0 to 1"),
            input("surface_coefficient", Dimension::SURFACE_COEFFICIENT, "about 17 W/m2/K in the open"),
            number("emittance", "long-wave emittance, 0 to 1; about 0.9 for plastics"),
            input("sky_loss", Dimension::IRRADIANCE, "63 W/m2 facing up, 0 vertical"),
        ],
        output: Dimension::TEMPERATURE,
        formula: "te = to + alpha E / h - epsilon dR / h",
        source: SOL_AIR,
        help: "temperature of a sunlit surface insulated behind, with the loss to the clear sky",
        example: &["35 °C", "1000 W/m2", "0.9", "17 W/m2/K", "0.9", "63 W/m2"],
        evaluate: apply!(sol_air_temperature_under_sky; 0 1 2 3 4 5),
    },
    Function {
        name: "sunlit_temperature",
        inputs: &[
            input("air", Dimension::TEMPERATURE, "air temperature"),
            input("surroundings", Dimension::TEMPERATURE, "mean temperature of what the surface sees"),
            input("irradiance", Dimension::IRRADIANCE, "sun on the surface"),
            number("absorptance", "share of the sun absorbed, 0 to 1"),
            number("emittance", "long-wave emittance, 0 to 1"),
            input("convection_coefficient", Dimension::SURFACE_COEFFICIENT, "convection alone"),
        ],
        output: Dimension::TEMPERATURE,
        formula: "alpha E = h (Ts - Ta) + epsilon sigma (Ts^4 - Tsur^4), solved for Ts",
        source: SourceNote::new("handbook", "surface energy balance, Cengel, Heat and Mass Transfer, ch. 1"),
        help: "temperature of a sunlit surface insulated behind, from the full balance",
        example: &["30 °C", "20 °C", "1000 W/m2", "0.9", "0.9", "8 W/m2/K"],
        evaluate: apply!(sunlit_temperature; 0 1 2 3 4 5),
    },
    Function {
        name: "clear_sky_irradiance",
        inputs: &[input("zenith", Dimension::ANGLE, "angle of the sun from overhead")],
        output: Dimension::IRRADIANCE,
        formula: "E = 1098 cos z exp(-0.059 / cos z) W/m2; 0 below the horizon",
        source: HAURWITZ,
        help: "sun on level ground under a clear sky, near sea level",
        example: &["30 deg"],
        evaluate: apply!(clear_sky_irradiance; 0),
    },
];

#[cfg(test)]
mod tests {
    use super::*;

    fn open_sun() -> Surroundings {
        let w = Irradiance::w_per_m2;
        Surroundings::OpenSun {
            sun: Usual { typical: w(1000.0), worst: w(1120.0) },
            film: SurfaceCoefficient::w_per_m2_k(17.0),
            sky_loss: w(63.0),
        }
    }

    fn glass() -> Surroundings {
        let w = Irradiance::w_per_m2;
        Surroundings::BehindGlass { sun: Usual { typical: w(650.0), worst: w(850.0) } }
    }

    fn service(surroundings: Surroundings) -> ServiceHeat {
        let h = SurfaceCoefficient::w_per_m2_k;
        ServiceHeat {
            air_max: Temperature::celsius(30.0),
            surroundings,
            absorptance: 0.94,
            emittance: 0.9,
            still: Usual { typical: h(5.0), worst: h(3.0) },
            contact: None,
            free_behind: None,
        }
    }

    fn celsius(service: &ServiceHeat) -> f64 {
        service_temperature(service).unwrap().temperature.to_celsius()
    }

    /// The terms are the sum: whatever is printed line by line adds up to the answer.
    #[test]
    fn the_terms_add_up() {
        for surroundings in [open_sun(), glass()] {
            let result = service_temperature(&service(surroundings)).unwrap();
            let sum: f64 = result.terms.iter().map(|t| t.value.si).sum();
            assert!((sum - result.temperature.to_kelvin()).abs() < 1e-9, "{:?}", result.terms);
            assert!(result.high.to_kelvin() > result.temperature.to_kelvin());
            assert!(result.terms.iter().all(|t| !t.label.is_empty() && !t.source.citation.is_empty()));
        }
    }

    #[test]
    fn each_place_has_its_own_heat() {
        assert!((celsius(&service(Surroundings::Shade)) - 30.0).abs() < 1e-9);
        let outdoors = celsius(&service(open_sun()));
        assert!((outdoors - (30.0 + (0.94 * 1000.0 - 0.9 * 63.0) / 17.0)).abs() < 1e-9);
        assert!(celsius(&service(glass())) > 30.0 + 30.0, "a dark part behind glass");
        let cabin = |air: f64| {
            let temperature = Usual { typical: Temperature::celsius(75.0), worst: Temperature::celsius(80.0) };
            let rise = TemperatureDifference::k(26.0);
            let cabin = Surroundings::AsMeasured { place: "in a cabin".to_owned(), temperature, rise };
            celsius(&ServiceHeat { air_max: Temperature::celsius(air), ..service(cabin) })
        };
        assert!((cabin(30.0) - 75.0).abs() < 1e-9 && (cabin(52.0) - 78.0).abs() < 1e-9);
        let contact = ServiceHeat { contact: Some(Temperature::celsius(140.0)), ..service(open_sun()) };
        let result = service_temperature(&contact).unwrap();
        assert!((result.temperature.to_celsius() - 140.0).abs() < 1e-9);
        assert!(result.terms.iter().any(|t| t.label.contains("governs")));
    }

    /// A sheet free on both sides rises half as much as one insulated behind, a thick body nearly as much.
    #[test]
    fn a_back_that_is_free_takes_up_to_half_of_the_rise() {
        let air = Temperature::celsius(30.0);
        let lit = SunlitSurface {
            air,
            surroundings: air,
            irradiance: Irradiance::w_per_m2(650.0),
            absorptance: 0.95,
            emittance: 0.9,
            convection: SurfaceCoefficient::w_per_m2_k(5.0),
        };
        let covered = lit.temperature(Irradiance::w_per_m2(0.0)).unwrap().to_celsius() - 30.0;
        let free = |through: f64| {
            free_plate_temperature(&lit, SurfaceCoefficient::w_per_m2_k(through)).unwrap().to_celsius() - 30.0
        };
        let (sheet, bar, block) = (free(1e5), free(0.2 / 0.01), free(0.2 / 0.5));
        // Of a sheet each side loses half of what is taken in: the balance for half the sun.
        let half = SunlitSurface { absorptance: 0.475, ..lit }.temperature(Irradiance::w_per_m2(0.0)).unwrap();
        assert!((sheet - (half.to_celsius() - 30.0)).abs() < 0.05, "{sheet}");
        assert!(sheet < bar && bar < block && block < covered, "{sheet} {bar} {block} {covered}");
        assert!(
            (share_of_the_rise(17.0, Some(SurfaceCoefficient::w_per_m2_k(17.0))).unwrap() - 2.0 / 3.0).abs() < 1e-12
        );
    }

    #[test]
    fn nonsense_is_refused() {
        assert!(service_temperature(&ServiceHeat { absorptance: 1.2, ..service(open_sun()) }).is_err());
        assert!(service_temperature(&ServiceHeat { absorptance: f64::NAN, ..service(Surroundings::Shade) }).is_err());
        let sun = Irradiance::w_per_m2(f64::INFINITY);
        let endless = Surroundings::BehindGlass { sun: Usual { typical: sun, worst: sun } };
        assert!(service_temperature(&service(endless)).is_err());
    }
}
