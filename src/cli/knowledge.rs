//! What the program knows before any job: catalogue, rulebook, physics. Loaded once a run.

use std::sync::{Arc, LazyLock, OnceLock};

use super::digest::{RuleDigests, ShopDigest};
use crate::catalogue::{self, Catalogue, Shop};
use crate::diag::{Diagnostic, Source, SourceId, Sources};
use crate::resolve::facts;
use crate::rulebook::facts::RootFacts;
use crate::rulebook::{self, ExampleOutcome, Registry, Root, Rulebook};
use crate::syntax;
use crate::syntax::text::Ready;
use crate::syntax::tree::Tree;

/// The rule files built into the program, by their project-relative names.
const RULES: &[(&str, &str)] = &[
    ("recipes/rules/material.rules", include_str!("../../recipes/rules/material.rules")),
    ("recipes/rules/build-up.rules", include_str!("../../recipes/rules/build-up.rules")),
    ("recipes/rules/margins.rules", include_str!("../../recipes/rules/margins.rules")),
    ("recipes/rules/nozzle.rules", include_str!("../../recipes/rules/nozzle.rules")),
    ("recipes/rules/surface.rules", include_str!("../../recipes/rules/surface.rules")),
    ("recipes/rules/pose.rules", include_str!("../../recipes/rules/pose.rules")),
    ("recipes/rules/support.rules", include_str!("../../recipes/rules/support.rules")),
    ("recipes/rules/settings.rules", include_str!("../../recipes/rules/settings.rules")),
    ("recipes/rules/changeover.rules", include_str!("../../recipes/rules/changeover.rules")),
    ("recipes/rules/checklist.rules", include_str!("../../recipes/rules/checklist.rules")),
    ("recipes/rules/uses.rules", include_str!("../../recipes/rules/uses.rules")),
    ("recipes/rules/cautions.rules", include_str!("../../recipes/rules/cautions.rules")),
];

/// Catalogue and rulebook with the texts they came from.
#[derive(Debug, Clone)]
pub(super) struct Loaded {
    /// Of the workshop's file, or of the bench that is assumed.
    pub shop_digest: ShopDigest,
    /// The name of the workshop's file.
    pub shop_file: Option<String>,
    rule_digests: OnceLock<Arc<RuleDigests>>,
    /// Shared by all workshops that change nothing in it.
    pub catalogue: Arc<Catalogue>,
    /// Shared by all workshops without rules of their own.
    pub rulebook: Arc<Rulebook>,
    pub sources: Sources,
    pub findings: Vec<Diagnostic>,
    /// The workshop, or the bench that is assumed where there is none.
    pub shop: Option<Shop>,
    pub assumed: bool,
}

static BUILT_IN: LazyLock<Arc<Loaded>> = LazyLock::new(|| {
    let mut sources = Sources::default();
    let catalogue_files = add_all(&mut sources, catalogue::BUILT_IN);
    let bench = sources.add(Source::new(catalogue::BUILT_IN_BENCH.0, catalogue::BUILT_IN_BENCH.1));
    let rule_files = add_all(&mut sources, RULES);
    let ((catalogue, shop), (rulebook, findings)) = rayon::join(
        || {
            let mut catalogue = Arc::new(Catalogue::default());
            // A test keeps the built-in files free of findings.
            let found = Arc::make_mut(&mut catalogue).extend(&sources, &catalogue_files);
            debug_assert!(found.is_empty(), "{found:#?}");
            let shop = catalogue::load_shop_over(&sources, bench, &mut catalogue).value;
            (catalogue, shop)
        },
        || read_rules(&sources, &rule_files, false),
    );
    Arc::new(Loaded {
        catalogue,
        rulebook: Arc::new(rulebook),
        sources,
        findings,
        shop,
        shop_digest: ShopDigest::of(catalogue::BUILT_IN_BENCH.1),
        shop_file: None,
        rule_digests: OnceLock::new(),
        assumed: true,
    })
});

fn add_all(sources: &mut Sources, files: &[(&str, &str)]) -> Vec<SourceId> {
    files.iter().map(|(name, text)| sources.add(Source::new(*name, *text))).collect()
}

/// Returns what is built in.
///
/// The first call must not come from a worker of a pool that has more to do: it waits for other workers.
pub(super) fn built_in() -> &'static Arc<Loaded> {
    &BUILT_IN
}

impl Loaded {
    /// Returns what is known with some entries laid over the catalogue.
    pub fn with_entries(&self, text: &str) -> Self {
        let mut own = self.clone();
        let id = own.sources.add(Source::new("other entries", text));
        own.findings.extend(Arc::make_mut(&mut own.catalogue).extend(&own.sources, &[id]));
        own
    }

    /// Returns the digests of the rules; those of the built-in ones are made once.
    pub fn rule_digests(&self) -> &RuleDigests {
        let built_in = built_in();
        let of = if Arc::ptr_eq(&self.rulebook, &built_in.rulebook) { built_in } else { self };
        of.rule_digests.get_or_init(|| RuleDigests::of(&of.rulebook, &of.sources).into())
    }

    /// Whether a text is the workshop's own.
    pub fn is_own(&self, id: SourceId) -> bool {
        id.0 as usize >= built_in_count()
    }

    /// Returns the rule file of the workshop of that name.
    pub fn own_rules(&self, name: &str) -> Option<SourceId> {
        let own =
            |(id, source): &(SourceId, &Source)| self.is_own(*id) && source.name == name && name.ends_with(".rules");
        self.sources.iter().find(own).map(|(id, _)| id)
    }
}

/// Returns what is built in with a workshop's file and its own rules on top.
pub(super) fn with_shop(file: Source, rules: Vec<Source>) -> Loaded {
    let built_in = built_in();
    let (mut catalogue, mut sources) = (Arc::clone(&built_in.catalogue), built_in.sources.clone());
    let (shop_digest, shop_file) = (ShopDigest::of(&file.text), Some(file.name.clone()));
    let id = sources.add(file);
    let report = catalogue::load_shop_over(&sources, id, &mut catalogue);
    let mut findings = built_in.findings.clone();
    findings.extend(report.diagnostics);
    let mut rulebook = Arc::clone(&built_in.rulebook);
    if !rules.is_empty() {
        let mut files = of_rules(&sources, |_| true);
        files.extend(rules.into_iter().map(|r| sources.add(r)));
        let (own, found) = read_rules(&sources, &files, false);
        rulebook = Arc::new(own);
        findings.extend(found);
    }
    let rule_digests = OnceLock::new();
    let shop = report.value;
    Loaded { catalogue, rulebook, sources, findings, shop, shop_digest, shop_file, rule_digests, assumed: false }
}

/// Returns what is built in with further rule files, without a workshop.
pub(super) fn with_rules(files: Vec<Source>) -> Loaded {
    let mut loaded = Loaded::clone(built_in());
    // A built-in file that is being worked on stands for itself, not beside itself.
    let same = |name: &str| files.iter().any(|f| f.name == name || f.name.ends_with(&format!("/{name}")));
    let mut ids = of_rules(&loaded.sources, |name| !same(name));
    ids.extend(files.into_iter().map(|f| loaded.sources.add(f)));
    let (rulebook, findings) = read_rules(&loaded.sources, &ids, true);
    (loaded.rulebook, loaded.findings) = (Arc::new(rulebook), findings);
    loaded.rule_digests = OnceLock::new();
    loaded
}

/// Returns the built-in rule files whose name will do, among the sources.
fn of_rules(sources: &Sources, will_do: impl Fn(&str) -> bool) -> Vec<SourceId> {
    let built_in = |s: &Source| RULES.iter().any(|(name, _)| s.name == *name && will_do(name));
    sources.iter().take(built_in_count()).filter(|(_, s)| built_in(s)).map(|(id, _)| id).collect()
}

fn built_in_count() -> usize {
    catalogue::BUILT_IN.len() + 1 + RULES.len()
}

/// Runs the examples of every rule against the catalogue.
pub(super) fn run_examples(loaded: &Loaded) -> Vec<ExampleOutcome> {
    let entries = |root: Root, name: &str| match root {
        Root::Material => loaded.catalogue.material(name).map(|m| facts::material(m, &loaded.catalogue).record()),
        Root::Figure => Some(facts::figures(&loaded.catalogue)),
        _ => None,
    };
    rulebook::run_examples(&loaded.rulebook, &Registry, &entries)
}

/// Reads and checks rules; `examples` says whether theirs are wanted too.
///
/// No parallel work: whoever loads a workshop holds the others up, and must not take up another spec meanwhile.
fn read_rules(sources: &Sources, files: &[SourceId], examples: bool) -> (Rulebook, Vec<Diagnostic>) {
    let (mut findings, mut statements, mut ready) = (Vec::new(), Vec::new(), Ready::new());
    for source in files {
        let skipped = if examples { None } else { Some(EXAMPLE) };
        match indexed(sources, *source, skipped) {
            Some((tree, expressions)) => {
                statements.extend(tree.statements);
                ready.extend(expressions);
            }
            None => {
                let report = syntax::parse(*source, sources.get(*source).map_or("", |s| s.text.as_str()));
                findings.extend(report.diagnostics);
                statements.extend(report.value.map(|t| t.statements).unwrap_or_default());
            }
        }
    }
    let report = rulebook::build_with(&statements, &ready, sources, &Registry);
    findings.extend(report.diagnostics);
    (report.value.unwrap_or_default(), findings)
}

/// Where everything lies in the built-in rule files, found out when the program was built.
const INDEX: &[u8] = include_bytes!(concat!(env!("OUT_DIR"), "/rules.index"));

/// The statement of a rule that only `check` and `explain` look at.
const EXAMPLE: &str = "example";

/// Returns a built-in file's tree, and the expressions in its texts, by the index; nothing for any other file.
fn indexed(sources: &Sources, id: SourceId, skipped: Option<&str>) -> Option<(Tree, Ready)> {
    let source = sources.get(id)?;
    RULES.iter().find(|(name, text)| source.name == *name && source.text == *text)?;
    syntax::index::read(INDEX, &source.name, &source.text, id, skipped)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::syntax::text::expressions;

    /// With the catalogue's materials and the rest behind them, as `check` runs them.
    #[test]
    fn every_example_of_the_built_in_rules_passes_beside_the_catalogue() {
        let failed: Vec<String> = run_examples(built_in())
            .into_iter()
            .filter(|outcome| !outcome.passed)
            .map(|outcome| format!("{}: {}", outcome.rule, outcome.text))
            .collect();
        assert!(failed.is_empty(), "{failed:#?}");
    }

    /// What is short is never called held: whatever else is known of a margin, the worst that the built-in rules derive of one
    /// whose demand is not met is broken or not shown. Only facets of a round may make up for a wall.
    #[test]
    fn no_kind_of_margin_that_is_short_is_called_narrow() {
        use crate::quantity::TemperatureDifference;
        use crate::resolve::margin::{MarginKind, Verdict};
        use crate::rulebook::facts::words::Rating;
        use crate::rulebook::facts::{Kind, Margin, Part, RootFacts};
        use crate::rulebook::value::{Fact, Origin};
        use crate::rulebook::{Scope, VERDICT};
        use crate::semantics::spec::Consequence;

        let loaded = built_in();
        let figures = facts::figures(&loaded.catalogue);
        let none = Origin::None;
        let mut tried = 0;
        for kind in MarginKind::WORDS.iter().filter_map(|word| MarginKind::parse(word)) {
            for ((best, worst), usual) in [(None, None), (Some(0.9), Some(0.2)), (Some(1.2), Some(0.2))]
                .into_iter()
                .flat_map(|x| [(x, None), (x, Some(0.5))])
            {
                for (room, rating) in [(None, None), (Some(TemperatureDifference::k(30.0)), Some(Rating::Good))] {
                    for (consequence, paint) in [Consequence::Nuisance, Consequence::Damage, Consequence::Injury]
                        .into_iter()
                        .flat_map(|c| [(c, false), (c, true)])
                    {
                        let margin = Margin {
                            kind: none.of(kind),
                            shown: none.of(true),
                            ratio: none.of(0.8),
                            ratio_at_best: none.of(best),
                            ratio_at_worst: none.of(worst),
                            usual_ratio: none.of(usual),
                            room: none.of(room),
                            room_at_worst: none.of(room),
                            rating: none.of(rating),
                            ..Margin::default()
                        }
                        .record();
                        let part = Part { consequence: none.of(consequence), paint: none.of(paint), ..Part::default() }
                            .record();
                        let scope = Scope::new()
                            .with(Root::Figure, &figures)
                            .with(Root::Part, &part)
                            .with(Root::Margin, &margin);
                        let derived = |(index, _)| loaded.rulebook.derived(index, VERDICT, &scope, &Registry);
                        let said = loaded.rulebook.deriving(VERDICT).filter_map(derived);
                        let worst = said.filter_map(|fact: Fact| Verdict::read(&fact.value)).min();
                        let short = matches!(worst, None | Some(Verdict::Broken | Verdict::NotShown));
                        let facets = kind == MarginKind::Wall && best.is_some_and(|best| best >= 1.0);
                        assert!(
                            short || facets,
                            "{kind:?} {best:?} {usual:?} {room:?} {rating:?} {consequence:?} {paint}: {worst:?}"
                        );
                        tried += 1;
                    }
                }
            }
        }
        assert_eq!(tried, MarginKind::WORDS.len() * 6 * 2 * 6);
    }

    #[test]
    fn the_index_of_the_built_in_rules_says_what_the_files_say() {
        for (name, text) in RULES {
            let id = SourceId(7);
            let read = syntax::parse(id, text);
            assert_eq!(read.diagnostics, vec![], "{name}");
            let (tree, ready) = syntax::index::read(INDEX, name, text, id, None).unwrap();
            assert_eq!(tree, read.value.unwrap(), "{name}");
            let said = tree.statements.iter().flat_map(|rule| &rule.block.as_ref().unwrap().statements);
            let texts = said.flat_map(|s| &s.arguments).filter_map(|a| Some((a.as_text()?, a.span)));
            let read: Vec<_> = texts.filter_map(|(text, at)| expressions(text, at).ok()).flatten().collect();
            assert_eq!(read.len(), ready.len(), "{name}: no two expressions share a place");
            assert_eq!(read.into_iter().collect::<Ready>(), ready, "{name}");
        }
    }

    #[test]
    fn a_workshop_that_changes_nothing_shares_what_is_built_in() {
        let plain = with_shop(Source::new("shop.yaml", "name: hut\n"), Vec::new());
        assert!(Arc::ptr_eq(&plain.catalogue, &built_in().catalogue));
        assert!(Arc::ptr_eq(&plain.rulebook, &built_in().rulebook));
        let rule = "rule \"own\" { require part.quantity < 9\nbecause \"x\"\nsource common-practice }";
        let own = with_shop(Source::new("shop.yaml", "name: hut\n"), vec![Source::new("own.rules", rule)]);
        assert_eq!(own.rulebook.rules.len(), built_in().rulebook.rules.len() + 1);
    }
}
