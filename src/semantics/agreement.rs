//! What the statements of one part must agree on, once its profiles are laid beneath it.

use std::collections::BTreeMap;

use super::checker::Checker;
use super::merge::{forbidden, pinned};
use super::read::Found;
use super::spec::{Ask, ChoiceValue, Fit, FitFunction, Load, MeshUse, Spec, Where};
use crate::diag::{Diagnostic, Edit, Span, nearest};

impl Checker<'_> {
    /// Checks names that refer to other statements, and pairs of statements that exclude one another.
    pub(crate) fn agreement(&mut self, spec: &Spec, found: &Found) {
        self.service_contradictions(&spec.service);
        self.sunless_years(&spec.service);
        self.faces_are_declared(spec, found);
        self.fits_are_declared(spec, found);
        self.loads_are_declared(spec, found);
        self.pins_agree(spec);
    }

    fn faces_are_declared(&mut self, spec: &Spec, found: &Found) {
        // A `face` statement too broken to be kept still declares its name.
        let declared: Vec<&str> = names(spec.faces.iter().map(|f| f.name.value.as_str()), found, "face");
        let mut wanted: Vec<(&str, Span)> = Vec::new();
        wanted.extend(spec.loads.iter().flat_map(Load::places).filter_map(|(w, span)| Some((w.face()?, span))));
        wanted.extend(spec.pins.iter().chain(&spec.forbids).filter_map(|c| match &c.value.value {
            ChoiceValue::OnFace(name) => Some((name.as_str(), c.value.span)),
            _ => None,
        }));
        for (name, span) in wanted.into_iter().filter(|(name, _)| !declared.contains(name)) {
            let message = format!("there is no face \"{name}\"");
            let found = Diagnostic::error("face/undeclared", span, message);
            self.report(match nearest(name, declared.iter().copied()) {
                Some(near) => self.renamed(found.hint(format!("did you mean \"{near}\"?")), name, near),
                None => found.hint(format!("declare it: `face \"{name}\" toward -x`")),
            });
        }
    }

    fn fits_are_declared(&mut self, spec: &Spec, found: &Found) {
        let declared: Vec<&str> = names(spec.fits.iter().map(|f| f.name.value.as_str()), found, "fit");
        let of_fits = |(w, span): (&Where, Span)| match w {
            Where::Fit(name) if !declared.contains(&name.as_str()) => Some((name.clone(), span)),
            _ => None,
        };
        let missing: Vec<(String, Span)> = spec.loads.iter().flat_map(Load::places).filter_map(of_fits).collect();
        let declared = &declared;
        let of_ends = |f: &Fit| -> Vec<(String, Span)> {
            let FitFunction::Distance { from, to, .. } = &f.function.value else { return Vec::new() };
            let faces = |name: &String| spec.faces.iter().any(|f| f.name.value == *name);
            let ends: Vec<&String> = std::iter::once(from).chain(to).collect();
            // Of a face and a fit the axis of the fit is measured from the face; two faces have no axis.
            let one_axis = ends.len() > 1 && ends.iter().any(|name| declared.contains(&name.as_str()));
            let ends =
                ends.into_iter().filter(move |name| !(declared.contains(&name.as_str()) || one_axis && faces(name)));
            ends.map(|name| (name.clone(), f.function.span)).collect()
        };
        let ends = spec.fits.iter().flat_map(of_ends);
        for (name, span) in missing.into_iter().chain(ends) {
            let message = format!("there is no fit \"{name}\"");
            let found = Diagnostic::error("fit/undeclared", span, message);
            self.report(match nearest(&name, declared.iter().copied()) {
                Some(near) => self.renamed(found.hint(format!("did you mean \"{near}\"?")), &name, near),
                None if spec.faces.iter().any(|f| f.name.value == name) => found.hint(format!(
                    "\"{name}\" is a face: a distance runs from it to the axis of a fit, or from axis to axis, as in `distance 37 mm +-0.2 mm from \"{name}\" to \"holes\"`"
                )),
                None => found.hint(format!("declare it: `fit \"{name}\" clearance M5 medium count 2`")),
            });
        }
    }

    fn loads_are_declared(&mut self, spec: &Spec, found: &Found) {
        let Some(under) = spec.deflection.as_ref().and_then(|d| d.under.as_ref()) else { return };
        let declared: Vec<&str> = names(spec.loads.iter().map(|l| l.name.value.as_str()), found, "load");
        if declared.contains(&under.value.as_str()) {
            return;
        }
        let message = format!("there is no load \"{}\"", under.value);
        let found = Diagnostic::error("load/undeclared", under.span, message);
        self.report(match nearest(&under.value, declared.iter().copied()) {
            Some(near) => self.renamed(found.hint(format!("did you mean \"{near}\"?")), &under.value, near),
            None => found.hint(format!("write `load \"{}\" force 140 N toward -z`", under.value)),
        });
    }

    /// Adds the edit that puts a name in place of another within the text a finding underlines.
    fn renamed(&self, found: Diagnostic, name: &str, near: &str) -> Diagnostic {
        let Some(whole) = found.labels.first().map(|label| label.span) else { return found };
        let quoted = format!("\"{name}\"");
        let Some(at) = self.sources.text(whole).find(&quoted) else { return found };
        let start = whole.start as usize + at;
        let edit = Edit { span: Span::new(whole.source, start, start + quoted.len()), text: format!("\"{near}\"") };
        found.fix(format!("write `\"{near}\"`"), vec![edit])
    }

    fn pins_agree(&mut self, spec: &Spec) {
        let banned: BTreeMap<String, Span> = spec.forbids.iter().map(|f| (forbidden(f), f.span)).collect();
        for pin in &spec.pins {
            if let Some(there) = banned.get(&forbidden(pin)) {
                let message = format!("the same {} is pinned and forbidden", pinned(pin));
                let diagnostic = Diagnostic::error("choice/pinned-and-forbidden", pin.span, message);
                self.report(diagnostic.here("pinned").label(*there, "forbidden").hint("leave one of them out"));
            }
        }
    }

    /// Choices, treatments and meshes that one block names twice.
    pub(crate) fn refuse_twice(&mut self, spec: &Spec) {
        self.twice("choice/two-pins", spec.pins.iter().map(|p| (pinned(p), p.span)), |n| {
            format!("`{n}` is pinned twice")
        });
        self.twice("choice/forbidden-twice", spec.forbids.iter().map(|f| (forbidden(f), f.span)), |_| {
            "the same choice is forbidden twice".to_owned()
        });
        self.twice("choice/waived-twice", spec.waivers.iter().map(|w| (w.rule.value.clone(), w.span)), |n| {
            format!("the rule \"{n}\" is waived twice")
        });
        self.twice("statement/repeated", spec.treatments.iter().map(|t| (t.value.word().to_owned(), t.span)), |n| {
            format!("`treat {n}` stands twice")
        });
        self.twice("statement/repeated", spec.asks.iter().map(|a| (a.value.word().to_owned(), a.span)), |n| {
            format!("`ask {n}` stands twice")
        });
        let said = |of: Ask, span| (of.word().to_owned(), span);
        let denied = spec.denials.iter().map(|d| said(d.of, d.span));
        let asked = spec.asks.iter().filter(|a| spec.denials.iter().any(|d| d.of == a.value));
        self.twice("ask/and-denied", denied.chain(asked.map(|a| said(a.value, a.span))), |n| {
            format!("`{n}` is asked and denied, or denied twice")
        });
        let object = |m: &MeshUse| m.object.as_ref().map(|o| o.value.clone()).unwrap_or_default();
        let meshes = spec.meshes.iter().map(|m| (format!("{}\n{}", m.path.value, object(m)), m.span));
        self.twice("mesh/repeated", meshes, |n| {
            format!("the mesh \"{}\" is named twice", n.lines().next().unwrap_or_default())
        });
    }

    fn twice(
        &mut self,
        code: &'static str,
        items: impl Iterator<Item = (String, Span)>,
        message: impl Fn(&str) -> String,
    ) {
        let mut seen: BTreeMap<String, Span> = BTreeMap::new();
        for (key, span) in items {
            let Some(first) = seen.get(&key) else {
                seen.insert(key, span);
                continue;
            };
            let hint = if code == "mesh/repeated" {
                "write `count 2` for two of them, or `object` for another object of the file"
            } else {
                "leave one of them out"
            };
            let diagnostic = Diagnostic::error(code, span, message(&key));
            self.report(diagnostic.here("again here").label(*first, "first here").hint(hint));
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
