//! Names in the spec that only the catalogue can know: chemicals and colours.

use crate::catalogue::Catalogue;
use crate::diag::{Diagnostic, Span};
use crate::semantics::spec::{Contact, ContactKind, Implied, ImpliedBy, Spec, Stated, Wet};

/// What a part lies in that is said to be immersed and no more.
const WATER: &str = "water";

/// Says what a name stands for that is a word of another trade or language, or a chemical with its warmth before it.
fn meant(name: &str, catalogue: &Catalogue) -> Option<String> {
    let plain = name.trim().to_lowercase();
    if let Some((how, what)) = plain.split_once(' ').filter(|(how, _)| catalogue.is_warmth(how)) {
        let known = catalogue.chemical(what).or_else(|| Some(catalogue.chemical_meant(what)?.0))?.name.as_str();
        return Some(format!(
            "write \"{known}\", and how {how} it is behind it: `contact \"{known}\" immersed at 80 °C`"
        ));
    }
    let (known, only_near) = catalogue.chemical_meant(&plain)?;
    Some(match only_near {
        true => format!("the nearest the catalogue has is \"{}\"", known.name),
        false => format!("did you mean \"{}\"?", known.name),
    })
}

/// Returns whether a chemical does to plastic what water does.
pub fn acts_as_water(name: &str, catalogue: &Catalogue) -> bool {
    let classes = |name: &str| catalogue.chemical(name).map(|c| c.classes.value.as_slice()).unwrap_or_default();
    classes(name).iter().any(|class| classes(WATER).contains(class))
}

/// Returns what reaches the part by other lines than its contacts: the water it lies in, the fluid it is to keep in or out.
///
/// One truth of a thing said in several ways: `wet immersed`, `tight against "water"` and `contact "water" immersed` all stand
/// for water that stays on the plastic. A stated contact of the same kind goes before.
pub fn implied(spec: &Spec, catalogue: &Catalogue) -> Vec<Implied> {
    let classes = |name: &str| catalogue.chemical(name).map(|c| c.classes.value.as_slice());
    let of = |name: &str, span: Span, by: ImpliedBy| {
        let acts_as = classes(name)?;
        let covers = |c: &&Contact| {
            let same =
                catalogue.chemical(name).map(|k| &k.name) == catalogue.chemical(&c.chemical.value).map(|k| &k.name);
            let stays = c.kind == ContactKind::Immersed;
            same || stays
                && classes(&c.chemical.value).is_some_and(|all| acts_as.iter().all(|class| all.contains(class)))
        };
        let unless = spec.service.contacts.iter().filter(covers).map(|c| c.chemical.value.clone()).collect();
        let chemical = Stated { value: name.to_owned(), span };
        let contact = Contact { chemical, kind: ContactKind::Immersed, temperature: None, span };
        Some(Implied { contact, by, unless })
    };
    let lies = spec.service.wet.filter(|w| w.value == Wet::Immersed);
    let water = lies.and_then(|w| of(WATER, w.span, ImpliedBy::Wet));
    let fluid = spec.pressure.as_ref().and_then(|p| Some((p.medium.as_ref()?, p.span)));
    let fluid = fluid.and_then(|(medium, span)| of(&medium.value, span, ImpliedBy::Fluid));
    // Where a contact speaks of the fluid it is about that contact, should it be taken away. Said of water twice, it is one water.
    let fluid = fluid.filter(|f| f.unless.is_empty());
    let same = |f: &Implied| {
        water.as_ref().is_some_and(|w| classes(&f.contact.chemical.value) == classes(&w.contact.chemical.value))
    };
    let fluid = fluid.filter(|f| !same(f));
    water.into_iter().chain(fluid).collect()
}

/// Finds chemicals and colours the catalogue does not know.
///
/// A chemical that is not known cannot be shown to be harmless, so it is an error; an unknown colour is only assumed to
/// be black, so it is a warning.
pub fn check(spec: &Spec, catalogue: &Catalogue) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    for contact in &spec.service.contacts {
        let name = &contact.chemical.value;
        if catalogue.chemical(name).is_none() {
            let message = format!("the catalogue knows no chemical \"{name}\"");
            let mut diagnostic = Diagnostic::error("contact/unknown-chemical", contact.chemical.span, message);
            match meant(name, catalogue) {
                Some(hint) => diagnostic = diagnostic.hint(hint),
                None => {
                    if let Some(near) = catalogue.nearest_chemical(name) {
                        diagnostic = diagnostic.meant_text(near);
                    }
                }
            }
            found.push(diagnostic.hint("`makeready catalogue chemicals` lists them; a shop file can add one"));
        }
    }
    if let Some(colour) = &spec.service.colour
        && catalogue.colour(&colour.value).is_none()
    {
        let message =
            format!("the catalogue knows no colour \"{}\": black is assumed where the sun matters", colour.value);
        let mut diagnostic = Diagnostic::warning("service/unknown-colour", colour.span, message);
        if let Some(near) = crate::diag::nearest(&colour.value, catalogue.colours.keys().map(String::as_str)) {
            diagnostic = diagnostic.meant_text(near);
        }
        found.push(diagnostic.hint("`makeready catalogue colours` lists the known ones"));
    }
    found
}
