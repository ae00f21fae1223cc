//! How hot the part gets: air, sun, sky, glass and cabins, as a sum that can be read line by line.

use super::registry::{Function, apply, input, number};
use super::{Checked, SourceNote, finite, not_negative, positive, sound, within};
use crate::quantity::{
    Angle, Dimension, Duration, Irradiance, Quantity, SurfaceCoefficient, Temperature, TemperatureDifference,
};

const SOL_AIR: SourceNote =
    SourceNote::new("handbook", "ASHRAE Handbook, Fundamentals, load calculation chapter: sol-air temperature");
const HAURWITZ: SourceNote = SourceNote::new(
    "computed",
    "Haurwitz clear-sky formula, constants as coded in an open solar library; 0.057 in place of 0.059 is also in print",
);
const CABIN_RISE: SourceNote = SourceNote::new(
    "paper",
    "Grundstein et al., Bull. AMS 2010, doi 10.1175/2010BAMS2912.1: largest rates of 14 clear days",
);

/// Heat given off by a building-like surface in the open, summer, convection and radiation together (W/m²K).
pub const OUTDOOR_COEFFICIENT: SurfaceCoefficient = SurfaceCoefficient::w_per_m2_k(17.0);
/// Convection alone in still air, and its low end (from memory: 2 to 10 W/m²K for free convection in air); radiation is
/// counted besides, since at 90 °C it carries more than the air does.
pub const STILL_CONVECTION: SurfaceCoefficient = SurfaceCoefficient::w_per_m2_k(5.0);
const STILLEST_CONVECTION: SurfaceCoefficient = SurfaceCoefficient::w_per_m2_k(3.0);
/// Long-wave loss to the clear sky of a surface facing up (W/m²); zero for a vertical one. ASHRAE Fundamentals.
pub const SKY_LOSS_FACING_UP: Irradiance = Irradiance::w_per_m2(63.0);
/// "One sun", the reference irradiance of IEC 60904-3 (standard).
pub const ONE_SUN: Irradiance = Irradiance::w_per_m2(1000.0);
/// Hot-dry peak of MIL-STD-810 Method 505 and of IEC 60068-2-5 (from memory).
pub const PEAK_SUN: Irradiance = Irradiance::w_per_m2(1120.0);
/// Peak on a west wall, 40° N, 21 July, albedo 0.2 (computed with an open solar library).
pub const VERTICAL_SUN: Irradiance = Irradiance::w_per_m2(752.0);
/// Share of the sun that clear single glass lets through (from memory).
pub const GLASS_TRANSMITTANCE: f64 = 0.87;
/// Emittance of non-metallic surfaces (from memory; handbook rows for paints 0.90 to 0.95).
pub const PLASTIC_EMITTANCE: f64 = 0.9;
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
    pub air: Temperature,
    /// Mean radiant temperature of what the surface sees.
    pub surroundings: Temperature,
    pub irradiance: Irradiance,
    pub absorptance: f64,
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

    fn net(&self, surface: f64) -> f64 {
        let radiation = self.surroundings.to_kelvin().powi(4) - surface.powi(4);
        self.absorptance * self.irradiance.to_w_per_m2()
            + self.convection.to_w_per_m2_k() * (self.air.to_kelvin() - surface)
            + self.emittance * STEFAN_BOLTZMANN * radiation
    }

    /// Returns the heat flowing from the surface into the body behind it:
    /// `q = α E + h (Ta - Ts) + ε σ (Tsur⁴ - Ts⁴)`.
    ///
    /// Source: surface energy balance, e.g. Cengel, *Heat and Mass Transfer*, ch. 1 (handbook). Steady state only.
    pub fn heat_inward(&self, surface: Temperature) -> Checked<Irradiance> {
        self.check()?;
        let ts = not_negative("an absolute surface temperature", surface.to_kelvin())?;
        sound(Irradiance::w_per_m2(self.net(ts)))
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

/// Highest measured rise of the air in a closed parked car in the sun.
///
/// Source: Grundstein et al. 2010: 4, 7, 16, 26 K after 5, 10, 30, 60 min; linear between. Held at 26 K beyond an hour:
/// all-day maxima of 68 to 76 °C were measured too, for which [`service_temperature`] uses a design figure.
pub fn parked_cabin_rise(time: Duration) -> Checked<TemperatureDifference> {
    const MEASURED: [(f64, f64); 5] = [(0.0, 0.0), (5.0, 4.0), (10.0, 7.0), (30.0, 16.0), (60.0, 26.0)];
    let minutes = not_negative("a time", time.to_min())?;
    sound(TemperatureDifference::k(super::interpolate(&MEASURED, minutes)))
}

/// Where the part serves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    Indoors,
    Outdoors,
    /// Indoors, in the sun behind a window.
    BehindGlass,
    /// In a parked vehicle, not on the dashboard.
    VehicleCabin,
    /// On the dashboard or at the windscreen.
    Dashboard,
}

/// Which way the sunlit face looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Facing {
    Up,
    Vertical,
}

/// What the part meets in service, as far as heat goes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ServiceHeat {
    pub air_max: Temperature,
    pub place: Place,
    /// Direct sun reaches the part.
    pub sun: bool,
    /// Share of the sun the surface absorbs, 0 to 1.
    pub absorptance: f64,
    pub emittance: f64,
    pub facing: Facing,
    /// Stated irradiance; without one the default for the place is used.
    pub irradiance: Option<Irradiance>,
    /// Hot fluid or surface in contact, if any.
    pub contact: Option<Temperature>,
    /// Heating by what the part holds or does (a lamp, a motor), if any.
    pub own_rise: Option<TemperatureDifference>,
}

/// One line of the sum.
#[derive(Debug, Clone, PartialEq)]
pub struct HeatTerm {
    pub label: String,
    pub value: Quantity,
    pub source: SourceNote,
}

/// The service temperature and how it came about.
#[derive(Debug, Clone, PartialEq)]
pub struct HeatResult {
    pub temperature: Temperature,
    /// The same sum with the unfavourable end of each constant (still air, peak sun).
    pub high: Temperature,
    pub terms: Vec<HeatTerm>,
}

/// Returns the highest temperature the part reaches in service, with every term of the sum and its source.
///
/// Outdoors: sol-air temperature. Behind glass: the balance of a surface in still air with the sun a pane lets through.
/// Vehicles: design figures made from measured cabins. A part thin and free on both faces stays cooler than this.
pub fn service_temperature(service: &ServiceHeat) -> Checked<HeatResult> {
    within("an absorptance", service.absorptance, 0.0, 1.0)?;
    within("an emittance", service.emittance, 0.0, 1.0)?;
    let mut sum = HeatSum::starting(service.air_max)?;
    match service.place {
        Place::Outdoors if service.sun => sum.add_open_sun(service)?,
        Place::BehindGlass => sum.add_glass_sun(service)?,
        Place::VehicleCabin => sum.raise_to(75.0, 80.0, 26.0, "design figure for a parked cabin (70 to 80 °C)"),
        Place::Dashboard => sum.raise_to(95.0, 105.0, 36.0, "design figure for a dashboard (90 to 105 °C)"),
        Place::Indoors | Place::Outdoors => {}
    }
    sum.add_own_rise(service.own_rise)?;
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
    let surface = sunlit_temperature(air, air, sun, service.absorptance, service.emittance, convection)?;
    Ok(surface.to_kelvin() - air_kelvin)
}

struct HeatSum {
    kelvin: f64,
    high: f64,
    terms: Vec<HeatTerm>,
}

const STATED: SourceNote = SourceNote::new("computed", "as stated for the part");

impl HeatSum {
    fn starting(air: Temperature) -> Checked<Self> {
        let kelvin = not_negative("an absolute air temperature", air.to_kelvin())?;
        let mut sum = Self { kelvin, high: kelvin, terms: Vec::new() };
        sum.note("highest air temperature", air, STATED);
        Ok(sum)
    }

    fn note(&mut self, label: impl Into<String>, value: impl Into<Quantity>, source: SourceNote) {
        self.terms.push(HeatTerm { label: label.into(), value: value.into(), source });
    }

    fn add_rise(&mut self, label: String, typical: f64, high: f64, source: SourceNote) {
        self.kelvin += typical;
        self.high += high;
        self.note(label, TemperatureDifference::k(typical), source);
    }

    fn add_open_sun(&mut self, service: &ServiceHeat) -> Checked<()> {
        let usual = if service.facing == Facing::Up { ONE_SUN } else { VERTICAL_SUN };
        let sun = service.irradiance.unwrap_or(usual);
        let sun_high = service.irradiance.unwrap_or(if service.facing == Facing::Up { PEAK_SUN } else { VERTICAL_SUN });
        let e = not_negative("an irradiance", sun.to_w_per_m2())?;
        let h = OUTDOOR_COEFFICIENT.to_w_per_m2_k();
        let a = service.absorptance;
        let label = format!("sun: {a} x {e} W/m² / {h} W/m²K");
        // At its hottest no wind blows and no clear sky cools it.
        let still = still_rise(self.kelvin, sun_high, service, STILL_CONVECTION)?;
        self.add_rise(label, a * e / h, still, SOL_AIR);
        if service.facing == Facing::Up {
            let loss = service.emittance * SKY_LOSS_FACING_UP.to_w_per_m2();
            let label =
                format!("clear sky: -{} x {} W/m² / {h} W/m²K", service.emittance, SKY_LOSS_FACING_UP.to_w_per_m2());
            self.add_rise(label, -loss / h, 0.0, SOL_AIR);
        }
        Ok(())
    }

    fn add_glass_sun(&mut self, service: &ServiceHeat) -> Checked<()> {
        const SOURCE: SourceNote = SourceNote::new(
            "from-memory",
            "surface energy balance (Cengel ch. 1) with 0.87 of the sun through clear single glass and 5 (3 to 10) W/m²K of still air",
        );
        let e = not_negative("an irradiance", service.irradiance.unwrap_or(VERTICAL_SUN).to_w_per_m2())?;
        let through = Irradiance::w_per_m2(GLASS_TRANSMITTANCE * e);
        let label = format!(
            "sun through glass: {} x {GLASS_TRANSMITTANCE} x {e} W/m² against {} W/m²K of still air and radiation",
            service.absorptance,
            STILL_CONVECTION.to_w_per_m2_k()
        );
        let typical = still_rise(self.kelvin, through, service, STILL_CONVECTION)?;
        let high = still_rise(self.kelvin, through, service, STILLEST_CONVECTION)?;
        self.add_rise(label, typical, high, SOURCE);
        Ok(())
    }

    /// Raises the sum to a design figure, or by the measured rise above the air where that is hotter.
    fn raise_to(&mut self, typical: f64, high: f64, rise: f64, label: &str) {
        const SOURCE: SourceNote = SourceNote::new(
            "from-memory",
            "from measured cabins: air to 76 °C (Grundstein 2009), dashboard 69 °C after one hour (Vanos 2018), plus margin",
        );
        let air = self.kelvin;
        let (mild, hot) = (Temperature::celsius(typical), Temperature::celsius(high));
        self.kelvin = mild.to_kelvin().max(air + rise);
        self.high = hot.to_kelvin().max(air + rise);
        let result = Temperature::kelvin(self.kelvin);
        self.note(format!("{label}, or air + {rise} K if more"), result, SOURCE);
    }

    fn add_own_rise(&mut self, rise: Option<TemperatureDifference>) -> Checked<()> {
        let Some(rise) = rise else { return Ok(()) };
        let k = not_negative("the part's own heating", rise.to_k())?;
        self.add_rise("heating by what the part holds or does".to_owned(), k, k, STATED);
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
            input("surface_coefficient", Dimension::SURFACE_COEFFICIENT, "17 W/m2/K in the open, 8 to 12 in still air"),
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
            input("surface_coefficient", Dimension::SURFACE_COEFFICIENT, "17 W/m2/K in the open, 8 to 12 in still air"),
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
    Function {
        name: "parked_cabin_rise",
        inputs: &[input("time", Dimension::TIME, "time the closed car stands in the sun")],
        output: Dimension::TEMPERATURE_DIFFERENCE,
        formula: "4, 7, 16, 26 K after 5, 10, 30, 60 min; linear between, level after",
        source: CABIN_RISE,
        help: "largest measured rise of the cabin air above the outdoor air within an hour",
        example: &["20 min"],
        evaluate: apply!(parked_cabin_rise; 0),
    },
];

#[cfg(test)]
mod tests {
    use super::*;

    fn service(place: Place) -> ServiceHeat {
        ServiceHeat {
            air_max: Temperature::celsius(30.0),
            place,
            sun: true,
            absorptance: 0.94,
            emittance: PLASTIC_EMITTANCE,
            facing: Facing::Vertical,
            irradiance: None,
            contact: None,
            own_rise: None,
        }
    }

    fn celsius(service: &ServiceHeat) -> f64 {
        service_temperature(service).unwrap().temperature.to_celsius()
    }

    /// The terms are the sum: whatever is printed line by line adds up to the answer.
    #[test]
    fn the_terms_add_up() {
        for facing in [Facing::Up, Facing::Vertical] {
            let s = ServiceHeat { facing, own_rise: Some(TemperatureDifference::k(7.0)), ..service(Place::Outdoors) };
            let result = service_temperature(&s).unwrap();
            let sum: f64 = result.terms.iter().map(|t| t.value.si).sum();
            assert!((sum - result.temperature.to_kelvin()).abs() < 1e-9, "{:?}", result.terms);
            assert!(result.high.to_kelvin() > result.temperature.to_kelvin());
            assert!(result.terms.iter().all(|t| !t.label.is_empty() && !t.source.citation.is_empty()));
        }
    }

    #[test]
    fn each_place_has_its_own_heat() {
        assert!((celsius(&service(Place::Indoors)) - 30.0).abs() < 1e-9);
        assert!((celsius(&ServiceHeat { sun: false, ..service(Place::Outdoors) }) - 30.0).abs() < 1e-9);
        let outdoors = celsius(&service(Place::Outdoors));
        assert!((outdoors - (30.0 + 0.94 * 752.0 / 17.0)).abs() < 1e-9);
        assert!(celsius(&service(Place::BehindGlass)) > outdoors, "still air behind glass is hotter than wind outside");
        assert!((celsius(&service(Place::VehicleCabin)) - 75.0).abs() < 1e-9);
        let contact = ServiceHeat { contact: Some(Temperature::celsius(140.0)), ..service(Place::Outdoors) };
        let result = service_temperature(&contact).unwrap();
        assert!((result.temperature.to_celsius() - 140.0).abs() < 1e-9);
        assert!(result.terms.iter().any(|t| t.label.contains("governs")));
    }

    #[test]
    fn nonsense_is_refused() {
        assert!(service_temperature(&ServiceHeat { absorptance: 1.2, ..service(Place::Outdoors) }).is_err());
        assert!(service_temperature(&ServiceHeat { absorptance: f64::NAN, ..service(Place::Indoors) }).is_err());
        let sun = Some(Irradiance::w_per_m2(f64::INFINITY));
        assert!(service_temperature(&ServiceHeat { irradiance: sun, ..service(Place::Outdoors) }).is_err());
    }
}
