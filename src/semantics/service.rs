//! `service`: where the part lives.

use super::checker::Checker;
use super::read::Found;
use super::spec::{Back, Contact, ContactKind, Place, Service, Sun, SunExposure, Wet};
use super::values::Value;
use crate::diag::Diagnostic;
use crate::quantity::Temperature;

impl Checker<'_> {
    pub(crate) fn service(&mut self, statements: &[&Found]) -> Service {
        let mut service = Service::default();
        for found in statements.iter().flat_map(|s| &s.inner).filter(|f| !f.broken) {
            match found.entry.keyword {
                "air" => service.air = air(found).map(|v| found.state(v)),
                "peak" => service.peak = found.values.measure("temperature").map(|v| found.state(v)),
                "usual" => service.usual = found.values.measure("temperature").map(|v| found.state(v)),
                "place" => service.place = found.values.word("place").and_then(Place::read).map(|v| found.state(v)),
                "sun" => service.sun = sun(found).map(|v| found.state(v)),
                "colour" => service.colour = found.values.text("colour").map(|v| found.state(v.to_owned())),
                "back" => service.back = found.values.word("back").and_then(Back::read).map(|v| found.state(v)),
                "wet" => service.wet = found.values.word("wet").and_then(Wet::read).map(|v| found.state(v)),
                "contact" => service.contacts.extend(contact(found)),
                _ => {}
            }
        }
        service
    }

    /// Two statements about the surroundings that cannot both be meant.
    pub(crate) fn service_contradictions(&mut self, service: &Service) {
        if let (Some(air), Some(peak)) = (&service.air, &service.peak)
            && peak.value < air.value.1
        {
            let message = format!("the peak ({}) is below the highest air temperature ({})", peak.value, air.value.1);
            self.report(
                Diagnostic::error("service/peak-below-air", peak.span, message)
                    .here("the peak")
                    .label(air.span, "the air")
                    .hint(format!("write a peak of {} or more, or leave it out", air.value.1)),
            );
        }
        let highest = service.peak.map(|p| p.value).or(service.air.map(|a| a.value.1));
        if let (Some(usual), Some(highest)) = (&service.usual, highest)
            && usual.value > highest
        {
            let message =
                format!("what is usual ({}) is above the highest temperature stated ({highest})", usual.value);
            self.report(
                Diagnostic::error("service/usual-above-peak", usual.span, message)
                    .here("what is usual")
                    .hint(format!("write `usual` for most of the time, {highest} or less, or state a higher peak")),
            );
        }
        let (Some(sun), Some(place)) = (&service.sun, &service.place) else { return };
        if sun.value.exposure == SunExposure::Direct && place.value == Place::Indoors {
            self.report(
                Diagnostic::warning("service/sun-indoors", sun.span, "direct sun on a part that stands indoors")
                    .here("direct sun")
                    .label(place.span, "indoors")
                    .hint("write `place behind glass` for a window sill, or leave one of them out"),
            );
        }
    }

    /// A stretch of time makes sense only where there is sun.
    pub(crate) fn sunless_years(&mut self, service: &Service) {
        if let Some(sun) = &service.sun
            && sun.value.exposure == SunExposure::None
            && sun.value.duration.is_some()
        {
            self.report(
                Diagnostic::warning("service/no-sun-for-years", sun.span, "no sun, but for how long")
                    .hint("write `sun none`, or `sun direct for ...`"),
            );
        }
    }
}

fn air(found: &Found) -> Option<(Temperature, Temperature)> {
    match found.values.get("range")? {
        Value::Range(low, high) => Some((Temperature::try_from(*low).ok()?, Temperature::try_from(*high).ok()?)),
        _ => None,
    }
}

fn sun(found: &Found) -> Option<Sun> {
    let exposure = SunExposure::read(found.values.word("exposure")?)?;
    Some(Sun { exposure, duration: found.values.measure("duration") })
}

fn contact(found: &Found) -> Option<Contact> {
    let kind = ContactKind::read(found.values.word("kind")?)?;
    let at = found.inside("at").filter(|f| !f.broken);
    Some(Contact {
        chemical: found.values.stated_text("chemical")?,
        kind,
        temperature: at.and_then(|f| Some(f.state(f.values.measure("temperature")?))),
        span: found.span,
    })
}
