//! Names in the spec that only the catalogue can know: chemicals and colours.

use crate::catalogue::Catalogue;
use crate::diag::Diagnostic;
use crate::semantics::spec::Spec;

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
                        diagnostic = diagnostic.hint(format!("did you mean \"{near}\"?"));
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
            diagnostic = diagnostic.hint(format!("did you mean \"{near}\"?"));
        }
        found.push(diagnostic.hint("`makeready catalogue colours` lists the known ones"));
    }
    found
}
