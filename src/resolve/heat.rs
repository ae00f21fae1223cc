//! How hot the part gets in service, for a material (whose filler may fix its colour), with the sum in words.

use crate::catalogue::Catalogue;
use crate::physics::heat::{self, Facing, HeatResult, ServiceHeat};
use crate::quantity::{Quantity, Temperature};
use crate::semantics::spec::{Contact, ContactKind, Place, Spec, SunExposure, Treatment};

/// The result and what was assumed on the way.
#[derive(Debug, Clone)]
pub struct PartHeat {
    pub temperature: Temperature,
    /// With the unfavourable end of each constant.
    pub high: Temperature,
    pub low: Option<Temperature>,
    /// The sum, line by line.
    pub working: String,
    pub absorptance: f64,
    /// Where the colour counted is not the one asked for, what fixes it.
    pub instead: Option<String>,
    /// Whether the sun heats it, through glass or not.
    pub sunlit: bool,
    pub assumed: Vec<(String, String)>,
}

/// What gives a part in a material its colour, beside what the spec asks for.
#[derive(Debug, Clone, Copy, Default)]
pub struct Coat<'c> {
    /// Colours the material is sold in.
    pub sold: Option<&'c [String]>,
    /// Name and colour of the spool it would be printed from.
    pub spool: Option<(&'c str, &'c str)>,
}

/// Absorptance of a colour nobody stated: black, the hottest case (from memory).
const BLACK: f64 = 0.95;

/// Returns the part's service temperature in a material; `None` where the inputs make no sense.
pub fn part_heat(spec: &Spec, catalogue: &Catalogue, coat: Coat<'_>) -> Option<PartHeat> {
    let service = &spec.service;
    let mut assumed = Vec::new();
    let place = service.place.map_or(Place::Indoors, |p| p.value);
    let sun = service.sun.is_some_and(|s| s.value.exposure == SunExposure::Direct);
    let air_max = match service.air {
        Some(air) => air.value.1,
        None => {
            let air = usual_air(spec, catalogue)?;
            assumed.push((
                format!("highest air temperature not stated: {air} assumed"),
                "decides the heat limit asked of the material; state `service { air low .. high }`".to_owned(),
            ));
            air
        }
    };
    let sunlit = sun || matches!(place, Place::BehindGlass);
    let (absorptance, colour_word, instead) = absorptance(spec, catalogue, coat, sunlit, &mut assumed);
    let contact = hottest_contact(spec);
    let asked = ServiceHeat {
        air_max,
        place: physics_place(place, sun),
        sun,
        absorptance,
        emittance: heat::PLASTIC_EMITTANCE,
        facing: Facing::Up,
        irradiance: None,
        contact,
        own_rise: None,
    };
    let result = heat::service_temperature(&asked).ok()?;
    let mut working = words(&result, &colour_word);
    let (mut temperature, mut high) = (result.temperature, result.high);
    if let Some(peak) = service.peak
        && peak.value > temperature
    {
        working = format!("stated peak {} (above the sum: {working})", peak.value);
        temperature = peak.value;
        high = high.max(peak.value);
    }
    let low = service.air.map(|a| a.value.0);
    Some(PartHeat { temperature, high, low, working, absorptance, instead, sunlit, assumed })
}

/// Returns the highest air temperature of the place, from the catalogue, for a spec that says nothing of it.
fn usual_air(spec: &Spec, catalogue: &Catalogue) -> Option<Temperature> {
    let service = &spec.service;
    let sun = service.sun.is_some_and(|s| s.value.exposure == SunExposure::Direct);
    let place = match service.place.map_or(Place::Indoors, |p| p.value) {
        Place::BehindGlass => "behind-glass",
        // The sum for a vehicle begins from the air outside it.
        Place::Outdoors | Place::VehicleCabin | Place::Dashboard => "outdoors",
        Place::Indoors | Place::NearHeat if sun => "outdoors",
        Place::Indoors | Place::NearHeat => "indoors",
    };
    catalogue.place(place)?.air_peak.as_ref().map(|figure| figure.typ)
}

fn physics_place(place: Place, sun: bool) -> heat::Place {
    match place {
        Place::Outdoors => heat::Place::Outdoors,
        Place::BehindGlass => heat::Place::BehindGlass,
        Place::VehicleCabin => heat::Place::VehicleCabin,
        Place::Dashboard => heat::Place::Dashboard,
        // Direct sun on a part said to be indoors still heats it; without glass in between it is the outdoor sum.
        Place::Indoors | Place::NearHeat if sun => heat::Place::Outdoors,
        Place::Indoors | Place::NearHeat => heat::Place::Indoors,
    }
}

/// A part takes the temperature of what it lies in or carries, not of what splashes it.
fn hottest_contact(spec: &Spec) -> Option<Temperature> {
    spec.service
        .contacts
        .iter()
        .filter(|c| matches!(c.kind, ContactKind::Immersed | ContactKind::Wiped | ContactKind::Vapour))
        .filter_map(|c| c.temperature.map(|t| t.value))
        .fold(None, |hottest: Option<Temperature>, t| Some(hottest.map_or(t, |h| h.max(t))))
}

/// Returns the share of the sun that the part takes up, the word for its colour, and what fixes a colour not asked for.
fn absorptance(
    spec: &Spec,
    catalogue: &Catalogue,
    coat: Coat<'_>,
    sunlit: bool,
    assumed: &mut Vec<(String, String)>,
) -> (f64, String, Option<String>) {
    let of = |name: &str| catalogue.colour(name).map(|c| Quantity::from(c.absorptance.typ).si);
    let wished = spec.service.colour.as_ref().map(|c| c.value.as_str());
    let painted = spec.treatments.iter().any(|t| t.value == Treatment::Paint);
    // A grade sold in one colour only (black carbon fibre) is that colour, whatever was wished for; so is what is on a spool.
    // Paint covers either.
    let fixed = match (coat.spool, coat.sold) {
        _ if painted && wished.is_some() => None,
        (Some((name, colour)), _) => Some((colour, format!("the spool {name} is {colour}"))),
        (None, Some([only])) => Some((only.as_str(), format!("it comes in {only} only"))),
        _ => None,
    };
    let other = |colour: &str| wished.is_none_or(|w| !w.eq_ignore_ascii_case(colour));
    let (colour, instead) = match (fixed, wished) {
        (Some((colour, why)), _) => (Some(colour), Some(why).filter(|_| other(colour))),
        (None, wished) => (wished, None),
    };
    match (colour, colour.and_then(of)) {
        (Some(colour), Some(share)) => {
            if let (true, None, Some(why)) = (sunlit, wished, &instead) {
                assumed.push((
                    format!("colour not stated: {why}, and its heat in the sun is counted"),
                    "another spool may run tens of kelvin hotter; state `service { colour .. }`".to_owned(),
                ));
            }
            (share, colour.to_owned(), instead)
        }
        (Some(colour), None) => {
            if sunlit {
                assumed.push((
                    format!("colour \"{colour}\" is not in the catalogue: black assumed"),
                    format!("absorptance {BLACK}, the hottest case in the sun; `makeready catalogue colours` lists the known ones"),
                ));
            }
            (BLACK, "black assumed".to_owned(), instead)
        }
        (None, _) => {
            if sunlit {
                assumed.push((
                    "colour not stated: black assumed".to_owned(),
                    format!(
                        "absorptance {BLACK}, the hottest case in the sun; a light colour runs tens of kelvin cooler"
                    ),
                ));
            }
            (BLACK, "black assumed".to_owned(), None)
        }
    }
}

fn words(result: &HeatResult, colour: &str) -> String {
    let terms: Vec<String> = result
        .terms
        .iter()
        .map(|t| {
            let label = if t.label.starts_with("sun") { format!("{} ({colour})", t.label) } else { t.label.clone() };
            format!("{label} {}", t.value)
        })
        .collect();
    match terms.as_slice() {
        // A sum of one is no sum.
        [only] => only.clone(),
        many => format!("{} = {}", many.join("; "), result.temperature),
    }
}

/// Returns the temperature at which a chemical meets the part: its own, else that of the part, the sun counted, where that
/// is known, else that of the air.
pub fn contact_temperature(
    spec: &Spec,
    catalogue: &Catalogue,
    contact: &Contact,
    part: Option<&PartHeat>,
) -> Temperature {
    let air = || spec.service.air.map(|a| a.value.1).or_else(|| usual_air(spec, catalogue));
    let met = || part.map(|heat| heat.temperature).or_else(air);
    contact.temperature.map(|t| t.value).or_else(met).unwrap_or(Temperature::celsius(WARM))
}

/// Where even the catalogue has nothing to say of the air.
const WARM: f64 = 40.0;
