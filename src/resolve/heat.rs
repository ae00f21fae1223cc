//! How hot the part gets in service, for a material (whose filler may fix its colour), with the sum in words.

use crate::catalogue::Catalogue;
use crate::physics::heat::{self, Facing, HeatResult, ServiceHeat};
use crate::quantity::{Quantity, Temperature};
use crate::semantics::spec::{ContactKind, Place, Spec, SunExposure};

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
    /// Whether the sun heats it, through glass or not.
    pub sunlit: bool,
    pub assumed: Vec<(String, String)>,
}

/// Air assumed where a spec says nothing: the upper end of a heated room in summer (common practice).
const ROOM_HIGH: f64 = 30.0;
/// Air assumed outdoors where a spec says nothing: a hot summer day (common practice).
const OUTDOOR_HIGH: f64 = 40.0;
/// Absorptance of a colour nobody stated: black, the hottest case (from memory).
const BLACK: f64 = 0.95;

/// Returns the part's service temperature in a material; `None` where the inputs make no sense.
pub fn part_heat(spec: &Spec, catalogue: &Catalogue, colours: Option<&[String]>) -> Option<PartHeat> {
    let service = &spec.service;
    let mut assumed = Vec::new();
    let place = service.place.map_or(Place::Indoors, |p| p.value);
    let sun = service.sun.is_some_and(|s| s.value.exposure == SunExposure::Direct);
    let air_max = match service.air {
        Some(air) => air.value.1,
        None => {
            let outdoors = matches!(place, Place::Outdoors) || sun;
            let air = Temperature::celsius(if outdoors { OUTDOOR_HIGH } else { ROOM_HIGH });
            assumed.push((
                format!("highest air temperature not stated: {air} assumed"),
                "decides the heat limit asked of the material; state `service { air low .. high }`".to_owned(),
            ));
            air
        }
    };
    let sunlit = sun || matches!(place, Place::BehindGlass);
    let (absorptance, colour_word) = absorptance(spec, catalogue, colours, sunlit, &mut assumed);
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
    Some(PartHeat { temperature, high, low: service.air.map(|a| a.value.0), working, absorptance, sunlit, assumed })
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

fn absorptance(
    spec: &Spec,
    catalogue: &Catalogue,
    colours: Option<&[String]>,
    sunlit: bool,
    assumed: &mut Vec<(String, String)>,
) -> (f64, String) {
    // A grade sold in one colour only (black carbon fibre) is that colour, whatever was wished for.
    let only =
        colours.filter(|c| c.len() == 1).and_then(|c| c.first()).and_then(|c| catalogue.colour(c).map(|k| (k, c)));
    let stated = spec.service.colour.as_ref().and_then(|c| catalogue.colour(&c.value).map(|k| (k, &c.value)));
    match (only, stated, &spec.service.colour) {
        (Some((colour, name)), _, _) | (None, Some((colour, name)), _) => {
            (Quantity::from(colour.absorptance.typ).si, name.clone())
        }
        (None, None, Some(unknown)) => {
            if sunlit {
                assumed.push((
                    format!("colour \"{}\" is not in the catalogue: black assumed", unknown.value),
                    format!("absorptance {BLACK}, the hottest case in the sun; `makeready catalogue colours` lists the known ones"),
                ));
            }
            (BLACK, "black assumed".to_owned())
        }
        (None, None, None) => {
            if sunlit {
                assumed.push((
                    "colour not stated: black assumed".to_owned(),
                    format!(
                        "absorptance {BLACK}, the hottest case in the sun; a light colour runs tens of kelvin cooler"
                    ),
                ));
            }
            (BLACK, "black assumed".to_owned())
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

/// Returns the temperature at which a chemical meets the part: its own, else that of the part's air.
pub fn contact_temperature(spec: &Spec, contact: &crate::semantics::spec::Contact) -> Temperature {
    let air = || spec.service.air.map_or(Temperature::celsius(ROOM_HIGH), |a| a.value.1);
    contact.temperature.map_or_else(air, |t| t.value)
}
