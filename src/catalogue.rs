//! The catalogue: what is known about materials, nozzles, surfaces, agents, chemicals, colours and places, and what
//! a workshop has.
//!
//! ```text
//! node      YAML text -> tree with places            (the only place that knows the YAML reader)
//! index     the built-in files' trees, read once when the program is built
//! decode    tree -> records, every finding collected
//! value     Figure, Fact, Located: values with range, kind, source and line
//! words     the closed sets of words
//! material, bench, bond, chemical, surroundings      the records
//! figures   the named numbers of judgement, by typed keys
//! library   sections of several files laid over each other, names checked
//! lookup    the questions one asks; practice, what fits ask
//! shop      what a workshop has
//! ```
//!
//! Every value carries the kind of its source. A shop's own file may override any single value; the override keeps
//! its own kind, source and line.

mod agree;
pub mod bench;
pub mod bond;
pub mod chemical;
pub(crate) mod decode;
pub mod edit;
pub mod figures;
#[allow(dead_code, reason = "its writing half serves the build script")]
pub(crate) mod index;
mod library;
mod lookup;
pub mod material;
pub(crate) mod node;
mod practice;
#[cfg(test)]
mod schema;
mod sense;
pub mod shop;
pub mod surroundings;
pub mod value;
pub mod words;

pub use bench::{Agent, Bore, Nozzle, NozzleMetal, Surface};
pub use bond::Bond;
pub use chemical::{Chemical, ChemicalClass, Rating, Resistance, StressCracking};
pub use lookup::COLD_CONTACT;
pub use material::Material;
pub use shop::Shop;
pub use surroundings::{BuildUp, Citation, Colour, Place};
pub use value::{Datum, Fact, Field, Figure, Located, Plain, Provenance, Shape, SourceKind};

use crate::diag::{Diagnostic, Report, Source, SourceId, Sources};
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::sync::Arc;

/// The files built into the program, by their project-relative names.
pub const BUILT_IN: &[(&str, &str)] = &[
    ("recipes/catalogue/sources.yaml", include_str!("../recipes/catalogue/sources.yaml")),
    ("recipes/catalogue/materials.yaml", include_str!("../recipes/catalogue/materials.yaml")),
    ("recipes/catalogue/materials-technical.yaml", include_str!("../recipes/catalogue/materials-technical.yaml")),
    ("recipes/catalogue/nozzles.yaml", include_str!("../recipes/catalogue/nozzles.yaml")),
    ("recipes/catalogue/surfaces.yaml", include_str!("../recipes/catalogue/surfaces.yaml")),
    ("recipes/catalogue/agents.yaml", include_str!("../recipes/catalogue/agents.yaml")),
    ("recipes/catalogue/bonds.yaml", include_str!("../recipes/catalogue/bonds.yaml")),
    ("recipes/catalogue/chemicals.yaml", include_str!("../recipes/catalogue/chemicals.yaml")),
    ("recipes/catalogue/colours.yaml", include_str!("../recipes/catalogue/colours.yaml")),
    ("recipes/catalogue/environments.yaml", include_str!("../recipes/catalogue/environments.yaml")),
    ("recipes/catalogue/build-ups.yaml", include_str!("../recipes/catalogue/build-ups.yaml")),
    ("recipes/catalogue/figures.yaml", include_str!("../recipes/catalogue/figures.yaml")),
    ("recipes/catalogue/words.yaml", include_str!("../recipes/catalogue/words.yaml")),
];

/// Everything known, checked, ready to be asked.
#[derive(Debug, Clone, Default)]
pub struct Catalogue {
    /// Printable materials by name; a shop's own are among them.
    pub materials: BTreeMap<String, Material>,
    /// Metals nozzles are made of, by name.
    pub metals: BTreeMap<String, NozzleMetal>,
    /// By the bore as written, `0.4 mm`.
    pub bores: BTreeMap<String, Bore>,
    /// Build surfaces by name.
    pub surfaces: BTreeMap<String, Surface>,
    /// Adhesives and release agents for the build surface, by name; `none` is one of them.
    pub agents: BTreeMap<String, Agent>,
    /// Sorted by material, surface, agent; ask with [`Catalogue::bond`].
    pub bonds: Vec<Bond>,
    /// Chemicals that act alike, by the name ratings are given under.
    pub chemical_classes: BTreeMap<String, ChemicalClass>,
    /// Single chemicals by name, each with the class it belongs to.
    pub chemicals: BTreeMap<String, Chemical>,
    /// Sorted by material and class; ask with [`Catalogue::chemical_rating`].
    pub resistance: Vec<Resistance>,
    /// Which liquids crack which material under stress.
    pub stress_cracking: Vec<StressCracking>,
    /// Colours by name, for how much sun they take up.
    pub colours: BTreeMap<String, Colour>,
    /// Kinds of surroundings by name, with what they are assumed to hold.
    pub places: BTreeMap<String, Place>,
    /// How the inside of a part may be built.
    pub build_ups: BTreeMap<String, BuildUp>,
    /// Ask with [`Catalogue::value`] and its like.
    pub figures: figures::Figures,
    /// Words by what they stand for.
    pub words: BTreeMap<String, Fact<Vec<String>>>,
    /// What is cited, by the key that values name.
    pub sources: BTreeMap<String, Citation>,
    trees: library::Trees,
}

/// Returns the built-in catalogue and the texts it came from, to which the caller adds its own.
///
/// A test keeps the built-in files free of findings.
pub fn built_in() -> (Catalogue, Sources) {
    let mut sources = Sources::default();
    let report = load(&mut sources, BUILT_IN.iter().map(|(name, text)| Source::new(*name, *text)));
    debug_assert!(!report.has_errors(), "{:#?}", report.diagnostics);
    (report.value.unwrap_or_default(), sources)
}

/// Reads catalogue files, the later overriding the earlier, and reports everything found wrong.
///
/// The value is always there: what could not be read is left out of it.
pub fn load(sources: &mut Sources, files: impl IntoIterator<Item = Source>) -> Report<Catalogue> {
    let ids: Vec<SourceId> = files.into_iter().map(|file| sources.add(file)).collect();
    let mut catalogue = Catalogue::default();
    let diagnostics = catalogue.extend(sources, &ids);
    Report { value: Some(catalogue), diagnostics }
}

/// The well-equipped bench that is assumed where a spec finds no shop.
pub const BUILT_IN_BENCH: (&str, &str) =
    ("recipes/catalogue/bench.yaml", include_str!("../recipes/catalogue/bench.yaml"));

/// Returns the assumed bench, its text added to the sources.
pub fn built_in_bench(sources: &mut Sources, catalogue: &mut Catalogue) -> Option<Shop> {
    let id = sources.add(Source::new(BUILT_IN_BENCH.0, BUILT_IN_BENCH.1));
    load_shop(sources, id, catalogue).value
}

/// Reads a `shop.yaml` that is already among the sources, lays its own `catalogue:` block over the catalogue, and checks
/// every name in it.
///
/// The value is there unless the file cannot be read as a shop at all; what could not be read is left out of it.
pub fn load_shop(sources: &Sources, id: SourceId, catalogue: &mut Catalogue) -> Report<Shop> {
    let mut shared = Arc::new(std::mem::take(catalogue));
    let report = load_shop_over(sources, id, &mut shared);
    *catalogue = Arc::unwrap_or_clone(shared);
    report
}

/// As [`load_shop`]; the catalogue is copied only where the shop changes it.
pub fn load_shop_over(sources: &Sources, id: SourceId, catalogue: &mut Arc<Catalogue>) -> Report<Shop> {
    let mut diagnostics = Vec::new();
    let mut tree = match tree_of(sources, id) {
        Ok(tree) => tree,
        Err(error) => return Report { value: None, diagnostics: vec![error] },
    };
    decode::refuse_duplicates(&mut tree, &mut diagnostics);
    let shop = <Shop as decode::Decode>::decode(&tree, &mut diagnostics);
    // What could not be read hides nothing of the rest.
    let unread = Shop::unread(&diagnostics);
    let rest = (!unread.is_empty()).then(|| Shop::of_the_rest(&tree, &unread)).flatten();
    let looked_at = rest.as_ref().or(shop.as_ref());
    if let Some(own) = looked_at.and_then(|s| s.catalogue.clone()) {
        diagnostics.extend(Arc::make_mut(catalogue).extend_with(own.0));
    }
    if let Some(shop) = looked_at {
        diagnostics.extend(shop.check(&tree, &unread, catalogue));
    }
    in_order(&mut diagnostics);
    Report { value: shop, diagnostics }
}

impl Catalogue {
    /// Lays further catalogue files, already among the sources, over this catalogue.
    ///
    /// Any single value may be overridden; the override keeps its own kind, source and line.
    pub fn extend(&mut self, sources: &Sources, files: &[SourceId]) -> Vec<Diagnostic> {
        let mut diagnostics = Vec::new();
        let trees: Vec<_> = files.par_iter().map(|id| tree_of(sources, *id)).collect();
        for tree in trees {
            match tree {
                Ok(tree) => self.trees.lay_over(tree, &mut diagnostics),
                Err(error) => diagnostics.push(error),
            }
        }
        self.refresh(&mut diagnostics);
        diagnostics
    }

    /// Lays a tree that stands inside another file (a shop's own `catalogue:` block) over this catalogue.
    pub(crate) fn extend_with(&mut self, tree: node::Node) -> Vec<Diagnostic> {
        let mut diagnostics = Vec::new();
        self.trees.lay_over(tree, &mut diagnostics);
        self.refresh(&mut diagnostics);
        diagnostics
    }

    fn refresh(&mut self, out: &mut Vec<Diagnostic>) {
        let trees = std::mem::take(&mut self.trees);
        *self = trees.decode(out);
        self.trees = trees;
        in_order(out);
    }
}

/// Where everything lies in the built-in files, found out when the program was built.
const INDEX: &[u8] = include_bytes!(concat!(env!("OUT_DIR"), "/catalogue.index"));

/// Returns a file's tree: a built-in one by the index, any other by reading it.
fn tree_of(sources: &Sources, id: SourceId) -> Result<node::Node, Diagnostic> {
    let built_in = |s: &&Source| BUILT_IN.iter().chain([&BUILT_IN_BENCH]).any(|(n, t)| s.name == *n && s.text == *t);
    let indexed = sources.get(id).filter(built_in).and_then(|s| index::read(INDEX, &s.name, &s.text, id));
    indexed.map_or_else(|| node::parse(sources, id), Ok)
}

/// Sorts findings by place and drops repeats, which a faulty value that others inherit would cause.
fn in_order(findings: &mut Vec<Diagnostic>) {
    findings.sort_by(|a, b| {
        let key = |d: &Diagnostic| d.labels.first().map(|l| l.span);
        key(a).cmp(&key(b)).then_with(|| a.code.cmp(b.code)).then_with(|| a.message.cmp(&b.message))
    });
    findings.dedup();
}

/// Returns the built-in catalogue, read once for all unit tests.
#[cfg(test)]
pub(crate) fn known() -> &'static Catalogue {
    static KNOWN: std::sync::LazyLock<Catalogue> = std::sync::LazyLock::new(|| built_in().0);
    &KNOWN
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_index_of_the_built_in_files_says_what_the_files_say() {
        for (name, text) in BUILT_IN {
            let read = node::parse_text(text, SourceId(7)).unwrap();
            assert_eq!(index::read(INDEX, name, text, SourceId(7)).as_ref(), Some(&read), "{name}");
        }
    }

    #[test]
    fn the_built_in_files_have_no_findings() {
        let mut sources = Sources::default();
        let report = load(&mut sources, BUILT_IN.iter().map(|(name, text)| Source::new(*name, *text)));
        let findings: Vec<String> = report
            .diagnostics
            .iter()
            .map(|d| {
                let place = d.labels.first().map(|l| sources.place(l.span)).unwrap_or_default();
                format!("{place}: {}: {} {:?}", d.code, d.message, d.hints)
            })
            .collect();
        assert!(findings.is_empty(), "{}", findings.join("\n"));
    }
}
