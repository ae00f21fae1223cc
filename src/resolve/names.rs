//! Names in the spec that only the catalogue can know: chemicals and colours.

use crate::catalogue::Catalogue;
use crate::diag::Diagnostic;
use crate::semantics::spec::Spec;

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
            if let Some(near) = catalogue.nearest_chemical(name) {
                diagnostic = diagnostic.hint(format!("did you mean \"{near}\"?"));
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
