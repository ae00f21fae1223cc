//! What the statements of one part must agree on, once its profiles are laid beneath it.

use super::checker::Checker;
use super::merge::pinned;
use super::read::Found;
use super::spec::{Choice, ChoiceValue, Spec, Where};
use crate::diag::{Diagnostic, Span, nearest};

impl Checker<'_> {
    /// Checks names that refer to other statements, and pairs of statements that exclude one another.
    pub(crate) fn agreement(&mut self, spec: &Spec, found: &Found) {
        self.service_contradictions(&spec.service);
        self.sunless_years(&spec.service);
        self.faces_are_declared(spec, found);
        self.loads_are_declared(spec, found);
        self.pins_agree(spec);
        self.meshes_differ(spec);
    }

    fn faces_are_declared(&mut self, spec: &Spec, found: &Found) {
        // A `face` statement too broken to be kept still declares its name.
        let declared: Vec<&str> = names(spec.faces.iter().map(|f| f.name.value.as_str()), found, "face");
        let loads = spec.loads.iter().flat_map(|l| [&l.at, &l.fixed]).flatten();
        let mut wanted: Vec<(&str, Span)> = Vec::new();
        wanted.extend(loads.filter_map(|w| match &w.value {
            Where::Face(name) => Some((name.as_str(), w.span)),
            Where::Point(_) => None,
        }));
        wanted.extend(spec.pins.iter().chain(&spec.forbids).filter_map(|c| match &c.value.value {
            ChoiceValue::OnFace(name) => Some((name.as_str(), c.value.span)),
            _ => None,
        }));
        for (name, span) in wanted.into_iter().filter(|(name, _)| !declared.contains(name)) {
            let message = format!("there is no face \"{name}\"");
            let hint = match nearest(name, declared.iter().copied()) {
                Some(near) => format!("did you mean \"{near}\"?"),
                None => format!("declare it: `face \"{name}\" toward -x`"),
            };
            self.report(Diagnostic::error("face/undeclared", span, message).hint(hint));
        }
    }

    fn loads_are_declared(&mut self, spec: &Spec, found: &Found) {
        let Some(under) = spec.deflection.as_ref().and_then(|d| d.under.as_ref()) else { return };
        let declared: Vec<&str> = names(spec.loads.iter().map(|l| l.name.value.as_str()), found, "load");
        if declared.contains(&under.value.as_str()) {
            return;
        }
        let message = format!("there is no load \"{}\"", under.value);
        let hint = match nearest(&under.value, declared.iter().copied()) {
            Some(near) => format!("did you mean \"{near}\"?"),
            None => format!("write `load \"{}\" force 140 N toward -z`", under.value),
        };
        self.report(Diagnostic::error("load/undeclared", under.span, message).hint(hint));
    }

    fn pins_agree(&mut self, spec: &Spec) {
        for (i, pin) in spec.pins.iter().enumerate() {
            let earlier = spec.pins.iter().take(i).find(|p| pinned(p) == pinned(pin));
            if let Some(first) = earlier {
                let message = format!("`{}` is pinned twice", pinned(pin));
                self.both(pin, first, "choice/two-pins", message, "leave one of them out");
            }
            let forbidden = spec.forbids.iter().find(|f| pinned(f) == pinned(pin) && f.value.value == pin.value.value);
            if let Some(forbid) = forbidden {
                let message = format!("the same {} is pinned and forbidden", pinned(pin));
                self.both(pin, forbid, "choice/pinned-and-forbidden", message, "leave one of them out");
            }
        }
    }

    fn both(&mut self, here: &Choice, there: &Choice, code: &'static str, message: String, hint: &str) {
        let diagnostic = Diagnostic::error(code, here.span, message).here("here").label(there.span, "and here");
        self.report(diagnostic.hint(hint));
    }

    fn meshes_differ(&mut self, spec: &Spec) {
        for (i, mesh) in spec.meshes.iter().enumerate() {
            let object = |m: &super::spec::MeshUse| m.object.as_ref().map(|o| o.value.clone());
            let same =
                spec.meshes.iter().take(i).find(|m| m.path.value == mesh.path.value && object(m) == object(mesh));
            if let Some(first) = same {
                let message = format!("the mesh \"{}\" is named twice", mesh.path.value);
                self.report(
                    Diagnostic::error("mesh/repeated", mesh.span, message)
                        .here("again here")
                        .label(first.span, "first here")
                        .hint("write `count 2` for two of them, or `object` for another object of the file"),
                );
            }
        }
    }
}

/// Returns the names of a kind: those of the merged spec, and those of statements too broken to be in it.
fn names<'s>(kept: impl Iterator<Item = &'s str>, found: &'s Found, keyword: &str) -> Vec<&'s str> {
    let written = found.inner.iter().filter(|f| f.is(keyword)).filter_map(|f| f.values.text("name"));
    let mut all: Vec<&str> = kept.chain(written).collect();
    all.sort_unstable();
    all.dedup();
    all
}
