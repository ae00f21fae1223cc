//! `profile`: named sets of requirements, and the parts laid over them.

use std::collections::BTreeMap;

use super::checker::Checker;
use super::spec::{Spec, Stated};
use crate::diag::{Diagnostic, Span, nearest};

/// Ladders of profiles higher than this are refused: nobody writes them, and merging recurses.
const DEEPEST: usize = 32;

/// One profile: its own statements, and the profiles it is laid over.
#[derive(Debug)]
pub(crate) struct Profile {
    pub spec: Spec,
    pub bases: Vec<Stated<String>>,
    /// The two together, once worked out.
    pub merged: Option<Spec>,
    pub name: Span,
    pub used: bool,
    /// Whether an unused one is worth a warning (those of imported files are not).
    pub own: bool,
}

pub(crate) type Profiles = BTreeMap<String, Profile>;

impl Checker<'_> {
    /// Lays a spec over its profiles, the later ones on top.
    pub(crate) fn lay_over(&mut self, spec: Spec, bases: &[Stated<String>], profiles: &mut Profiles) -> Spec {
        let mut merged = self.merge(spec, bases, profiles, &mut Vec::new());
        merged.profiles = bases.to_vec();
        merged
    }

    fn merge(&mut self, spec: Spec, bases: &[Stated<String>], profiles: &mut Profiles, way: &mut Vec<String>) -> Spec {
        let mut result = spec;
        for base in bases.iter().rev() {
            if let Some(below) = self.merged(base, profiles, way) {
                result = result.over(below);
            }
        }
        result
    }

    /// Returns a profile laid over its own profiles; each is worked out once, so that a ladder of them stays cheap.
    fn merged(&mut self, base: &Stated<String>, profiles: &mut Profiles, way: &mut Vec<String>) -> Option<Spec> {
        let Some(profile) = profiles.get_mut(&base.value) else {
            self.unknown_profile(base, profiles);
            return None;
        };
        profile.used = true;
        if way.contains(&base.value) {
            self.profile_cycle(base, way);
            return None;
        }
        if let Some(done) = &profile.merged {
            return Some(done.clone());
        }
        if way.len() >= DEEPEST {
            let message = format!("profiles stand on one another more than {DEEPEST} deep");
            self.report(Diagnostic::error("profile/too-deep", base.span, message).hint("put some of them together"));
            return None;
        }
        let (own, deeper) = (profile.spec.clone(), profile.bases.clone());
        way.push(base.value.clone());
        let merged = self.merge(own, &deeper, profiles, way);
        way.pop();
        if let Some(profile) = profiles.get_mut(&base.value) {
            profile.merged = Some(merged.clone());
        }
        Some(merged)
    }

    fn unknown_profile(&mut self, base: &Stated<String>, profiles: &Profiles) {
        let mut diagnostic =
            Diagnostic::error("profile/unknown", base.span, format!("there is no profile `{}`", base.value));
        diagnostic = match nearest(&base.value, profiles.keys().map(String::as_str)) {
            Some(near) => diagnostic.meant(near),
            None => diagnostic.hint(format!("write `profile {} {{ ... }}`, or `use` the file that has it", base.value)),
        };
        self.report(diagnostic);
    }

    fn profile_cycle(&mut self, base: &Stated<String>, way: &[String]) {
        let start = way.iter().position(|w| *w == base.value).unwrap_or(0);
        let mut circle: Vec<&str> = way.iter().skip(start).map(String::as_str).collect();
        circle.push(&base.value);
        let message = format!("profiles stand on one another in a circle: {}", circle.join(" is "));
        self.report(Diagnostic::error("profile/cycle", base.span, message).hint("take one of them out of the circle"));
    }

    pub(crate) fn warn_unused_profiles(&mut self, profiles: &Profiles) {
        for (name, profile) in profiles.iter().filter(|(_, p)| p.own && !p.used) {
            if self.mentions(name, profile.name) {
                continue;
            }
            self.report(
                Diagnostic::warning("profile/unused", profile.name, format!("no part uses the profile `{name}`"))
                    .hint(format!("write `part \"name\" is {name} {{ ... }}`, or remove it")),
            );
        }
    }
}
