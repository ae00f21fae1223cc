//! What the program knows before any job: catalogue, rulebook, physics. Loaded once a run.

use std::sync::LazyLock;

use rayon::prelude::*;

use crate::catalogue::{self, Catalogue, Shop};
use crate::diag::{Diagnostic, Source, SourceId, Sources};
use crate::resolve::facts::Lower;
use crate::rulebook::{self, ExampleOutcome, Registry, Root, Rulebook};
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

static BUILT_IN: LazyLock<Loaded> = LazyLock::new(|| {
    let (mut catalogue, mut sources) = catalogue::built_in();
    let shop = catalogue::built_in_bench(&mut sources, &mut catalogue);
    let files: Vec<Source> = RULES.iter().map(|(name, text)| Source::new(*name, *text)).collect();
    let (rulebook, findings) = read_rules(&mut sources, files, false);
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
        let (rulebook, findings) = read_rules(&mut loaded.sources, own, false);
        loaded.rulebook = rulebook;
        loaded.findings.extend(findings);
    }
    loaded
}

/// Returns what is built in with further rule files, without a workshop.
pub(super) fn with_rules(files: Vec<Source>) -> Loaded {
    let mut loaded = built_in().clone();
    // A built-in file that is being worked on stands for itself, not beside itself.
    let same = |name: &str| files.iter().any(|f| f.name == name || f.name.ends_with(&format!("/{name}")));
    let built_in = RULES.iter().filter(|(name, _)| !same(name)).map(|(name, text)| Source::new(*name, *text));
    let own = built_in.chain(files.iter().cloned()).collect();
    (loaded.rulebook, loaded.findings) = read_rules(&mut loaded.sources, own, true);
    loaded
}

/// Runs the examples of every rule against the catalogue.
pub(super) fn run_examples(loaded: &Loaded) -> Vec<ExampleOutcome> {
    let lower = Lower { sources: &loaded.sources };
    let entries = |root: Root, name: &str| match root {
        Root::Material => loaded.catalogue.material(name).map(|m| lower.material(m)),
        _ => None,
    };
    rulebook::run_examples(&loaded.rulebook, &Registry, &entries)
}

/// Reads and checks rules; `examples` says whether theirs are wanted too, which takes twice as long.
fn read_rules(sources: &mut Sources, files: Vec<Source>, examples: bool) -> (Rulebook, Vec<Diagnostic>) {
    let texts: Vec<(SourceId, String)> = files
        .into_iter()
        .map(|file| {
            let text = if examples { file.text.clone() } else { rulebook::without_examples(&file.text) };
            (sources.add(file), text)
        })
        .collect();
    let mut findings = Vec::new();
    let mut statements = Vec::new();
    let reports: Vec<_> = texts.par_iter().map(|(id, text)| syntax::parse(*id, text)).collect();
    for report in reports {
        findings.extend(report.diagnostics);
        statements.extend(report.value.map(|t| t.statements).unwrap_or_default());
    }
    let report = rulebook::build(&statements, sources, &Registry);
    findings.extend(report.diagnostics);
    (report.value.unwrap_or_default(), findings)
}
