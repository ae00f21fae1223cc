//! How hot the part gets in service, for a material (whose filler may fix its colour), with its sum and what was assumed.

use std::sync::Arc;

use crate::catalogue::{Catalogue, Colour, Figure, figures};
use crate::physics::heat::{self, HeatTerm, ServiceHeat, Surroundings, Usual};
use crate::quantity::{Quantity, Ratio, SurfaceCoefficient, Temperature};
use crate::rulebook::value::Origin;
use crate::semantics::spec::{Back, Contact, ContactKind, Place, Spec, SunExposure, Treatment};

/// The result and what was assumed on the way.
#[derive(Debug, Clone)]
pub struct PartHeat {
    pub temperature: Temperature,
    /// With the unfavourable end of each constant.
    pub high: Temperature,
    pub low: Option<Temperature>,
    /// Without what touches it at a temperature of its own; none where nothing does.
    pub untouched: Option<Temperature>,
    pub working: Arc<Sum>,
    /// The same, as reasons cite it: worked out once for all who ask.
    pub origin: Origin,
    pub absorptance: f64,
    /// Where the colour counted is not the one asked for, what fixes it.
    pub instead: Option<Fixed>,
    /// Whether the sun heats it, through glass or not.
    pub sunlit: bool,
    pub assumed: Vec<Taken>,
}

/// The sum of a part's heat.
#[derive(Debug, Clone, PartialEq)]
pub struct Sum {
    pub terms: Vec<HeatTerm>,
    pub comes_to: Temperature,
    /// Of the part, where a term hangs on it.
    pub colour: Option<Look>,
    pub peak: Option<Peak>,
}

/// A peak that the spec states, beside the sum.
#[derive(Debug, Clone, PartialEq)]
pub enum Peak {
    /// It was measured at the spot, and goes before what such places usually have.
    Before {
        stated: Temperature,
        place: String,
    },
    Above(Temperature),
}

/// The colour that is counted.
#[derive(Debug, Clone, PartialEq)]
pub enum Look {
    Known(String),
    BlackAssumed,
}

/// What was taken for granted about a part's heat.
#[derive(Debug, Clone, PartialEq)]
pub enum Taken {
    /// The highest air temperature of such places.
    Air(Temperature),
    /// The colour that something fixes.
    Colour(Fixed),
    /// Black, for a colour the catalogue does not know (or none): its share of sunlight taken up.
    Black { asked: Option<String>, share: Ratio },
}

/// What fixes a colour that was not asked for.
#[derive(Debug, Clone, PartialEq)]
pub enum Fixed {
    Spool { name: String, colour: String },
    SoldOnly(String),
}

/// What gives a part in a material its colour, beside what the spec asks for.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Coat<'c> {
    /// Colours the material is sold in.
    pub sold: Option<&'c [String]>,
    /// Name and colour of the spool it would be printed from.
    pub spool: Option<(&'c str, &'c str)>,
}

/// The colour that stands in for one nobody stated, or one not in the catalogue: the hottest.
const BLACK: &str = "black";

/// Returns the part's service temperature in a material; `None` where the inputs make no sense. `stout_mm` is how thick the part
/// counts for heat that goes through it.
pub fn part_heat(spec: &Spec, catalogue: &Catalogue, coat: Coat<'_>, stout_mm: Option<f64>) -> Option<PartHeat> {
    let service = &spec.service;
    let mut assumed = Vec::new();
    let air_max = match service.air {
        Some(air) => air.value.1,
        None => {
            let air = usual_air(spec, catalogue)?;
            assumed.push(Taken::Air(air));
            air
        }
    };
    let sunlit = is_sunlit(spec);
    let look = look(spec, catalogue, coat, sunlit, &mut assumed)?;
    let still = catalogue.figure(figures::STILL_CONVECTION);
    let absorptance = Quantity::from(look.colour.absorptance.typ).si;
    let asked = ServiceHeat {
        air_max,
        surroundings: surroundings(spec, catalogue)?,
        absorptance,
        emittance: Quantity::from(look.colour.emittance.typ).si,
        still: Usual { typical: still.typ, worst: still.low() },
        contact: hottest_contact(spec),
        free_behind: stout_mm.filter(|_| spec.service.back.is_some_and(|b| b.value == Back::Free)).map(|mm| {
            let conductivity = catalogue.value(figures::CONDUCTIVITY);
            SurfaceCoefficient::w_per_m2_k(conductivity / (mm * 1e-3))
        }),
    };
    let result = heat::service_temperature(&asked).ok()?;
    let mut told = None;
    let (mut temperature, mut high) = (result.temperature, result.high);
    let around = surroundings_usually(&asked.surroundings);
    if let (Some(peak), Some(place)) = (service.peak, around)
        && peak.value < temperature
    {
        // What was measured at the spot goes before what such places usually have.
        let stated = asked.contact.into_iter().fold(peak.value.max(air_max), Temperature::max);
        if stated < temperature {
            told = Some(Peak::Before { stated: peak.value, place: place.to_owned() });
            (temperature, high) = (stated, stated);
        }
    } else if let Some(peak) = service.peak
        && peak.value > temperature
    {
        told = Some(Peak::Above(peak.value));
        temperature = peak.value;
        high = high.max(peak.value);
    }
    let low = service.air.map(|a| a.value.0);
    let colour = result.terms.iter().any(|t| t.of_the_sun).then_some(look.word);
    let sum = Sum { terms: result.terms, comes_to: result.temperature, colour, peak: told };
    let origin = Origin::Computed { working: sum.to_string().into() };
    let (working, instead) = (Arc::new(sum), look.instead);
    let untouched = asked.contact.and_then(|_| {
        let mut untouched = spec.clone();
        untouched.service.contacts.iter_mut().for_each(|c| c.temperature = None);
        // What it carries is stated elsewhere and stays.
        let free = hottest_contact(&untouched).is_none();
        free.then(|| part_heat(&untouched, catalogue, coat, stout_mm))?.map(|heat| heat.temperature)
    });
    Some(PartHeat { temperature, high, low, untouched, working, origin, absorptance, instead, sunlit, assumed })
}

/// Returns whether the sun heats the part, through glass or not.
pub fn is_sunlit(spec: &Spec) -> bool {
    in_direct_sun(spec) || spec.service.place.is_some_and(|p| p.value == Place::BehindGlass)
}

/// Whether what heats the part is the sun out of the air, and not a place that is hot itself.
fn service_is_open(spec: &Spec) -> bool {
    spec.service.peak.is_none()
        && spec.service.place.is_none_or(|p| matches!(p.value, Place::Outdoors | Place::Indoors))
}

fn in_direct_sun(spec: &Spec) -> bool {
    spec.service.sun.is_some_and(|s| s.value.exposure == SunExposure::Direct)
}

/// Returns the place as far as the air around the part goes, by its name in the catalogue.
fn air_of(spec: &Spec) -> &'static str {
    match spec.service.place.map_or(Place::Indoors, |p| p.value) {
        Place::BehindGlass => "behind-glass",
        // The sum for a vehicle begins from the air outside it.
        Place::Outdoors | Place::VehicleCabin | Place::Dashboard => "outdoors",
        Place::Indoors | Place::NearHeat if in_direct_sun(spec) => "outdoors",
        Place::Indoors | Place::NearHeat => "indoors",
    }
}

/// Returns the highest air temperature of the place, from the catalogue, for a spec that says nothing of it.
fn usual_air(spec: &Spec, catalogue: &Catalogue) -> Option<Temperature> {
    catalogue.place(air_of(spec))?.air_peak.as_ref().map(|figure| figure.typ)
}

/// Returns how warm the air gets: as stated, else as such places usually have it.
pub fn warmest_air(spec: &Spec, catalogue: &Catalogue) -> Option<Temperature> {
    spec.service.air.map(|air| air.value.1).or_else(|| usual_air(spec, catalogue))
}

/// Returns what heats the part besides the air, with the catalogue's figures; `None` where it lacks one.
fn surroundings(spec: &Spec, catalogue: &Catalogue) -> Option<Surroundings> {
    let sun_of = |place: &str| catalogue.place(place)?.irradiance.as_ref().map(hotter);
    let measured = |place: &str| {
        let place = catalogue.place(place)?;
        Some(Surroundings::AsMeasured {
            place: place.title.value.clone(),
            temperature: hotter(place.service_temperature.as_ref()?),
            rise: place.rise_over_outdoors.as_ref()?.typ,
        })
    };
    match spec.service.place.map_or(Place::Indoors, |p| p.value) {
        Place::BehindGlass => Some(Surroundings::BehindGlass { sun: sun_of("behind-glass")? }),
        Place::VehicleCabin => measured("vehicle-cabin"),
        Place::Dashboard => measured("dashboard"),
        // Direct sun on a part said to be indoors still heats it; without glass in between it is the outdoor sum.
        Place::Outdoors | Place::Indoors | Place::NearHeat if in_direct_sun(spec) => Some(Surroundings::OpenSun {
            sun: sun_of("outdoors")?,
            film: catalogue.value(figures::SUN_FILM_COEFFICIENT),
            sky_loss: catalogue.value(figures::SKY_LOSS),
        }),
        Place::Outdoors | Place::Indoors | Place::NearHeat => Some(Surroundings::Shade),
    }
}

/// Returns what a place is called of which the usual temperature was measured, rather than summed from air and sun.
fn surroundings_usually(surroundings: &Surroundings) -> Option<&str> {
    match surroundings {
        Surroundings::AsMeasured { place, .. } => Some(place),
        _ => None,
    }
}

fn hotter<T: Copy>(figure: &Figure<T>) -> Usual<T> {
    Usual { typical: figure.typ, worst: figure.high() }
}

/// A part takes the temperature of what it lies in or carries, not of what splashes it.
fn hottest_contact(spec: &Spec) -> Option<Temperature> {
    spec.touching()
        .filter(|c| matches!(c.kind, ContactKind::Immersed | ContactKind::Wiped | ContactKind::Vapour))
        .filter_map(|c| c.temperature.map(|t| t.value))
        .fold(None, |hottest: Option<Temperature>, t| Some(hottest.map_or(t, |h| h.max(t))))
}

/// The colour a part has, or is taken to have.
struct Seen<'c> {
    colour: &'c Colour,
    word: Look,
    /// What fixes a colour that was not asked for.
    instead: Option<Fixed>,
}

/// Returns the colour that counts; `None` only where the catalogue does not even know black.
fn look<'c>(
    spec: &Spec,
    catalogue: &'c Catalogue,
    coat: Coat<'_>,
    sunlit: bool,
    assumed: &mut Vec<Taken>,
) -> Option<Seen<'c>> {
    let wished = spec.service.colour.as_ref().map(|c| c.value.as_str());
    let painted = spec.treatments.iter().any(|t| t.value == Treatment::Paint);
    // A grade sold in one colour only (black carbon fibre) is that colour, whatever was wished for; so is what is on a spool.
    // Paint covers either.
    let fixed = match (coat.spool, coat.sold) {
        _ if painted && wished.is_some() => None,
        // Whoever asks for a darker colour gets it sooner or later: the hotter of the two counts.
        (Some((_, colour)), _) if wished.is_some_and(|wished| is_darker(catalogue, wished, colour)) => None,
        (Some((name, colour)), _) => Some((colour, Fixed::Spool { name: name.to_owned(), colour: colour.to_owned() })),
        (None, Some([only])) => Some((only.as_str(), Fixed::SoldOnly(only.clone()))),
        _ => None,
    };
    let (colour, instead) = match fixed {
        Some((colour, why)) => {
            let other = wished.is_none_or(|w| !catalogue.same_colour(w, colour));
            (Some(colour), Some(why).filter(|_| other))
        }
        None => (wished, None),
    };
    let known = colour.and_then(|c| Some((c, catalogue.colour(c)?)));
    if let Some((word, colour)) = known {
        if let (true, None, Some(why)) = (sunlit, wished, &instead) {
            assumed.push(Taken::Colour(why.clone()));
        }
        return Some(Seen { colour, word: Look::Known(word.to_owned()), instead });
    }
    let black = catalogue.colour(BLACK)?;
    if sunlit {
        assumed.push(Taken::Black { asked: colour.map(str::to_owned), share: black.absorptance.typ });
    }
    Some(Seen { colour: black, word: Look::BlackAssumed, instead })
}

/// Whether one colour takes up more of the sun than another; `false` where the catalogue lacks one of them.
fn is_darker(catalogue: &Catalogue, one: &str, other: &str) -> bool {
    let takes_up = |name| catalogue.colour(name).map(|c| c.absorptance.typ);
    matches!((takes_up(one), takes_up(other)), (Some(one), Some(other)) if one > other)
}

/// Returns the temperature at which a chemical meets the part: its own, else that of the part, the sun counted but no other
/// chemical's own temperature, where that is known, else that of the air; nothing where not even that is known. What is mostly
/// water keeps what it wets in the sun as cool as the air, or has dried up (a wet thermometer in the sun shows less than a dry one).
pub fn contact_temperature(
    spec: &Spec,
    catalogue: &Catalogue,
    contact: &Contact,
    part: Option<&PartHeat>,
) -> Option<Temperature> {
    let air = || warmest_air(spec, catalogue);
    let met = || part.map(|heat| heat.untouched.unwrap_or(heat.temperature)).or_else(air);
    let wet = is_sunlit(spec) && service_is_open(spec) && catalogue.is_watery(&contact.chemical.value);
    contact.temperature.map(|t| t.value).or_else(|| if wet { air() } else { met() })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diag::{SourceId, Span};
    use crate::semantics::spec::Stated;

    fn touched(kind: ContactKind, at: Option<f64>) -> Spec {
        let span = Span::new(SourceId(0), 0, 0);
        let stated = |text: &str| Stated { value: text.to_owned(), span };
        let mut spec = Spec::empty(stated("p"));
        let temperature = at.map(|at| Stated { value: Temperature::celsius(at), span });
        spec.service.contacts.push(Contact { chemical: stated("water"), kind, temperature, span });
        spec.service.air = Some(Stated { value: (Temperature::celsius(5.0), Temperature::celsius(25.0)), span });
        spec
    }

    fn reached(spec: &Spec) -> f64 {
        let (catalogue, _) = crate::catalogue::built_in();
        part_heat(spec, &catalogue, Coat::default(), None).unwrap().temperature.to_celsius()
    }

    /// Hot water does not make the spirit hot that wipes it off.
    #[test]
    fn a_contact_without_a_temperature_has_not_that_of_another() {
        let (catalogue, _) = crate::catalogue::built_in();
        let mut spec = touched(ContactKind::Immersed, Some(60.0));
        let mut second = spec.service.contacts[0].clone();
        second.temperature = None;
        spec.service.contacts.push(second);
        let heat = part_heat(&spec, &catalogue, Coat::default(), None).unwrap();
        let met =
            |contact: &Contact| contact_temperature(&spec, &catalogue, contact, Some(&heat)).unwrap().to_celsius();
        let [first, second] = [0, 1].map(|i| met(&spec.service.contacts[i]).round());
        assert_eq!((first, second), (60.0, 25.0));
    }

    #[test]
    fn a_part_takes_the_temperature_of_what_it_lies_in_or_is_steamed_by_and_not_of_a_splash() {
        for kind in [ContactKind::Vapour, ContactKind::Immersed, ContactKind::Wiped] {
            assert!((reached(&touched(kind, Some(70.0))) - 70.0).abs() < 1e-9, "{kind:?}");
        }
        assert!((reached(&touched(ContactKind::Splash, Some(70.0))) - 25.0).abs() < 1e-9);
        // Of what is not said how warm it is nothing is known but the air.
        assert!((reached(&touched(ContactKind::Vapour, None)) - 25.0).abs() < 1e-9);
    }
}
