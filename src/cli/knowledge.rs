//! What the program knows before any job: catalogue, rulebook, physics. Loaded once a run.

use std::sync::LazyLock;

use crate::catalogue::{self, Catalogue, Shop};
use crate::diag::{Diagnostic, Source, Sources};
use crate::physics::registry;
use crate::quantity::{Dimension, Quantity};
use crate::resolve::facts::Lower;
use crate::rulebook::{self, ExampleOutcome, Functions, Root, Rulebook};
use crate::syntax;

/// The rule files built into the program, by their project-relative names.
const RULES: &[(&str, &str)] = &[
    ("recipes/rules/material.rules", include_str!("../../recipes/rules/material.rules")),
    ("recipes/rules/nozzle.rules", include_str!("../../recipes/rules/nozzle.rules")),
    ("recipes/rules/surface.rules", include_str!("../../recipes/rules/surface.rules")),
    ("recipes/rules/pose.rules", include_str!("../../recipes/rules/pose.rules")),
    ("recipes/rules/support.rules", include_str!("../../recipes/rules/support.rules")),
    ("recipes/rules/settings.rules", include_str!("../../recipes/rules/settings.rules")),
    ("recipes/rules/changeover.rules", include_str!("../../recipes/rules/changeover.rules")),
    ("recipes/rules/checklist.rules", include_str!("../../recipes/rules/checklist.rules")),
    ("recipes/rules/cautions.rules", include_str!("../../recipes/rules/cautions.rules")),
];

/// Catalogue and rulebook with the texts they came from.
#[derive(Debug, Clone)]
pub(super) struct Loaded {
    pub catalogue: Catalogue,
    pub rulebook: Rulebook,
    pub sources: Sources,
    pub findings: Vec<Diagnostic>,
    /// The workshop, or the bench that is assumed where there is none.
    pub shop: Option<Shop>,
    pub assumed: bool,
}

/// The registry of physics, as rules see it.
pub(super) struct Physics;

impl Functions for Physics {
    fn signature(&self, name: &str) -> Option<(Vec<Dimension>, Dimension)> {
        registry::function(name).map(|f| (f.inputs.iter().map(|i| i.dimension).collect(), f.output))
    }

    fn call(&self, name: &str, arguments: &[Quantity]) -> Result<Quantity, String> {
        registry::function(name).ok_or_else(|| format!("no function `{name}`"))?.call(arguments)
    }

    fn names(&self) -> Vec<&'static str> {
        registry::functions().iter().map(|f| f.name).collect()
    }
}

static BUILT_IN: LazyLock<Loaded> = LazyLock::new(|| {
    let (mut catalogue, mut sources) = catalogue::built_in();
    let shop = catalogue::built_in_bench(&mut sources, &mut catalogue);
    let files: Vec<Source> = RULES.iter().map(|(name, text)| Source::new(*name, *text)).collect();
    let (rulebook, findings) = read_rules(&mut sources, files);
    Loaded { catalogue, rulebook, sources, findings, shop, assumed: true }
});

/// Returns what is built in.
pub(super) fn built_in() -> &'static Loaded {
    &BUILT_IN
}

/// Returns what is built in with a workshop's file and its own rules on top.
pub(super) fn with_shop(file: Source, rules: Vec<Source>) -> Loaded {
    let mut loaded = built_in().clone();
    let id = loaded.sources.add(file);
    let report = catalogue::load_shop(&loaded.sources, id, &mut loaded.catalogue);
    loaded.findings.extend(report.diagnostics);
    loaded.shop = report.value;
    loaded.assumed = false;
    if !rules.is_empty() {
        let own = RULES.iter().map(|(name, text)| Source::new(*name, *text)).chain(rules).collect();
        let (rulebook, findings) = read_rules(&mut loaded.sources, own);
        loaded.rulebook = rulebook;
        loaded.findings.extend(findings);
    }
    loaded
}

/// Returns what is built in with further rule files, without a workshop.
pub(super) fn with_rules(files: Vec<Source>) -> Loaded {
    let mut loaded = built_in().clone();
    let own = RULES.iter().map(|(name, text)| Source::new(*name, *text)).chain(files).collect();
    (loaded.rulebook, loaded.findings) = read_rules(&mut loaded.sources, own);
    loaded
}

/// Runs the examples of every rule against the catalogue.
pub(super) fn run_examples(loaded: &Loaded) -> Vec<ExampleOutcome> {
    let lower = Lower { sources: &loaded.sources };
    let entries = |root: Root, name: &str| match root {
        Root::Material => loaded.catalogue.material(name).map(|m| lower.material(m)),
        _ => None,
    };
    rulebook::run_examples(&loaded.rulebook, &Physics, &entries)
}

fn read_rules(sources: &mut Sources, files: Vec<Source>) -> (Rulebook, Vec<Diagnostic>) {
    let mut findings = Vec::new();
    let mut statements = Vec::new();
    for file in files {
        let text = file.text.clone();
        let id = sources.add(file);
        let report = syntax::parse(id, &text);
        findings.extend(report.diagnostics);
        statements.extend(report.value.map(|t| t.statements).unwrap_or_default());
    }
    let report = rulebook::build(&statements, sources, &Physics);
    findings.extend(report.diagnostics);
    (report.value.unwrap_or_default(), findings)
}
