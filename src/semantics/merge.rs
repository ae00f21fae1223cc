//! Profiles under parts: what a part says itself wins, a later profile wins over an earlier one.

use std::collections::BTreeMap;

use super::spec::{Ask, Choice, Pressure, Service, Spec, Stated};

impl Spec {
    /// Returns this spec laid over another: what it says replaces, what it leaves open is taken from below.
    pub(crate) fn over(mut self, below: Spec) -> Spec {
        let b = below;
        self.revision = self.revision.or(b.revision);
        self.purpose = self.purpose.or(b.purpose);
        self.stage = self.stage.or(b.stage);
        self.consequence = self.consequence.or(b.consequence);
        self.size = self.size.or(b.size);
        self.quantity = self.quantity.or(b.quantity);
        self.wanted_by = self.wanted_by.or(b.wanted_by);
        self.service = self.service.over(b.service);
        self.loads = by_name(b.loads, self.loads, |l| l.name.value.clone());
        self.fits = by_name(b.fits, self.fits, |f| f.name.value.clone());
        self.faces = by_name(b.faces, self.faces, |f| f.name.value.clone());
        self.wall = self.wall.or(b.wall);
        self.pressure = pressure_over(self.pressure, b.pressure);
        self.deflection = self.deflection.or(b.deflection);
        self.second_colour = self.second_colour.or(b.second_colour);
        self.wear = self.wear.or(b.wear);
        self.impact = self.impact.or(b.impact);
        self.treatments = union(b.treatments, self.treatments);
        // What the part denies goes before what its profile asks.
        let denied = |asked: &Stated<Ask>| self.denials.iter().any(|d| d.of == asked.value);
        self.asks = union(b.asks.into_iter().filter(|a| !denied(a)).collect(), self.asks);
        self.denials = by_name(b.denials, self.denials, |d| d.of.word().to_owned());
        if self.preferences.is_empty() {
            self.preferences = b.preferences;
        }
        self.pins = by_name(b.pins, self.pins, pinned);
        self.forbids = by_name(b.forbids, self.forbids, forbidden);
        self.waivers = by_name(b.waivers, self.waivers, |w| w.rule.value.clone());
        if self.meshes.is_empty() {
            self.meshes = b.meshes;
        }
        self
    }
}

impl Service {
    fn over(self, below: Service) -> Service {
        Service {
            air: self.air.or(below.air),
            peak: self.peak.or(below.peak),
            usual: self.usual.or(below.usual),
            place: self.place.or(below.place),
            sun: self.sun.or(below.sun),
            colour: self.colour.or(below.colour),
            back: self.back.or(below.back),
            wet: self.wet.or(below.wet),
            contacts: by_name(below.contacts, self.contacts, |c| c.chemical.value.clone()),
        }
    }
}

/// `tight` in the part and a pressure in its profile make one demand.
fn pressure_over(above: Option<Pressure>, below: Option<Pressure>) -> Option<Pressure> {
    let (Some(a), Some(b)) = (&above, &below) else { return above.or(below) };
    Some(Pressure {
        pressure: a.pressure.or(b.pressure),
        medium: a.medium.clone().or(b.medium.clone()),
        tight: a.tight || b.tight,
        bore: a.bore.or(b.bore),
        span: a.span,
    })
}

/// What a pin fixes: each decision and each setting once.
pub(crate) fn pinned(choice: &Choice) -> String {
    super::choice::decision_word(choice.decision.value, choice.setting.as_deref()).to_owned()
}

pub(crate) fn forbidden(choice: &Choice) -> String {
    format!("{} {:?}", pinned(choice), choice.value.value)
}

/// Returns the lower list with what the upper one names replaced in place, the rest of the upper one behind it.
fn by_name<T>(below: Vec<T>, above: Vec<T>, name: impl Fn(&T) -> String) -> Vec<T> {
    let places: BTreeMap<String, usize> = above.iter().enumerate().map(|(i, item)| (name(item), i)).collect();
    let mut rest: Vec<Option<T>> = above.into_iter().map(Some).collect();
    let mut result = Vec::new();
    for item in below {
        let same = places.get(&name(&item)).copied();
        match same.and_then(|i| rest.get_mut(i)).map(Option::take) {
            Some(Some(replacement)) => result.push(replacement),
            Some(None) => {}
            None => result.push(item),
        }
    }
    result.extend(rest.into_iter().flatten());
    result
}

fn union<T: PartialEq>(below: Vec<Stated<T>>, above: Vec<Stated<T>>) -> Vec<Stated<T>> {
    let mut result = below;
    for item in above {
        match result.iter_mut().find(|r| r.value == item.value) {
            Some(same) => *same = item,
            None => result.push(item),
        }
    }
    result
}
