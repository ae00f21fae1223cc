//! From trees to the spec file: the files' names, the profiles, the parts laid over them, what must agree.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::checker::Checker;
use super::form::Context;
use super::outline;
use super::profiles::{Profile, Profiles};
use super::read::Found;
use super::spec::{Assembly, FitFunction, Mate, Spec, SpecFile, Stated, Written};
use crate::diag::{Diagnostic, Report, Sources, nearest};
use crate::quantity::Length;
use crate::syntax::tree::{Statement, Tree};

/// Checks a spec file (the first tree) with what it imports (the others, those that win over later ones first).
///
/// The value holds what could be understood even where the report has errors; nothing may be compiled from it then.
pub fn check(trees: &[Tree], sources: &Sources) -> Report<SpecFile> {
    check_keeping(trees, sources).0
}

/// The same, with what each tree says, statement by statement, whatever is wrong with the rest: for an editor.
pub(crate) fn check_keeping(trees: &[Tree], sources: &Sources) -> (Report<SpecFile>, Vec<Vec<Found>>) {
    let mut checker = Checker::new(sources);
    let layers: Vec<(&[Statement], bool)> =
        trees.iter().enumerate().map(|(i, tree)| (tree.statements.as_slice(), i == 0 && wants_use(tree))).collect();
    checker.open_names(&layers);
    let mut profiles = Profiles::new();
    let mut files = Vec::new();
    for (i, tree) in trees.iter().enumerate() {
        let found = checker.file(tree);
        checker.profiles(&found, &mut profiles, i == 0 && wants_use(tree));
        files.push(found);
    }
    let mut file = SpecFile::default();
    let mut plays = Plays::new();
    for (i, found) in files.iter().enumerate() {
        let parts = checker.parts(found, &mut profiles);
        parts.iter().for_each(|part| add_plays(part, &mut plays));
        // The parts of imported files are known to assemblies, but not compiled with this one.
        if i == 0 {
            file.parts = parts;
        }
    }
    let mut written = Written::new();
    files.iter().flatten().for_each(|found| add_written(found, &mut written));
    let written = Arc::new(written);
    file.parts.iter_mut().for_each(|part| part.written = Arc::clone(&written));
    let known = fits_by_part(&files);
    file.assemblies = files.first().map(|found| checker.assemblies(found, &known, &plays)).unwrap_or_default();
    file.runs = files.first().map(|found| checker.runs(found)).unwrap_or_default();
    file.outlines = trees.iter().zip(&files).map(|(tree, found)| (tree.source, outline::of(found, sources))).collect();
    checker.warn_unused_profiles(&profiles);
    checker.close_names();
    (Report { value: Some(file), diagnostics: checker.finish() }, files)
}

/// Adds where the numbers of a statement and of those within it stand.
fn add_written(found: &Found, written: &mut Written) {
    let numbers = found.values.iter().filter(|(_, value, _)| value.is_a_number());
    written.extend(numbers.map(|(name, _, at)| ((found.head, name), at)));
    found.inner.iter().for_each(|inner| add_written(inner, written));
}

/// Returns the rules of the trees, untouched, in their order; the rulebook checks them.
pub fn rules(trees: &[Tree]) -> Vec<&Statement> {
    trees.iter().flat_map(|tree| &tree.statements).filter(|s| s.keyword.text == "rule").collect()
}

/// Tells whether unused names of a file are worth a warning: not in a library of names, nor where rules may use them.
fn wants_use(tree: &Tree) -> bool {
    let has = |keyword: &str| tree.statements.iter().any(|s| s.keyword.text == keyword);
    has("part") && !has("rule")
}

/// The play each sliding fit states, by part and fit, with the place of the line.
type Plays = BTreeMap<(String, String), Stated<Length>>;

fn add_plays(part: &Spec, plays: &mut Plays) {
    for fit in &part.fits {
        if let FitFunction::Sliding { play: Some(play), .. } = &fit.function.value {
            let stated = Stated { value: *play, span: fit.span };
            plays.insert((part.name.value.clone(), fit.name.value.clone()), stated);
        }
    }
}

/// Names of the fits of each part, as far as they could be read.
type FitsByPart = BTreeMap<String, Vec<String>>;

fn fits_by_part(files: &[Vec<Found>]) -> FitsByPart {
    let all = || files.iter().flatten();
    let parts = all().filter(|f| f.is("part"));
    let profiles = all().filter(|f| f.is("profile"));
    let profiles = profiles.rev().filter_map(|f| Some((f.values.text("name")?, f))).collect();
    parts.filter_map(|p| Some((p.values.text("name")?.to_owned(), fits_of(p, &profiles)))).collect()
}

/// Names of the fits of a part, with those of the profiles beneath it; each profile is gone into once, however long their chain.
fn fits_of<'f>(block: &'f Found, profiles: &BTreeMap<&str, &'f Found>) -> Vec<String> {
    let (mut fits, mut seen, mut beneath) = (Vec::new(), BTreeSet::new(), vec![block]);
    while let Some(block) = beneath.pop() {
        let own = block.inner.iter().filter(|f| f.is("fit"));
        fits.extend(own.filter_map(|f| f.values.text("name").map(str::to_owned)));
        let bases = block.values.names("profiles").iter().map(|base| base.value.as_str());
        beneath.extend(bases.filter(|base| seen.insert(*base)).filter_map(|base| profiles.get(base)));
    }
    fits
}

impl<'t> Checker<'t> {
    fn file(&mut self, tree: &'t Tree) -> Vec<Found> {
        let mut found = Vec::new();
        for statement in tree.statements.iter().filter(|s| s.keyword.text != "rule") {
            found.extend(self.read_statement(statement, Context::File));
        }
        self.refuse_repeats(&found);
        found
    }

    fn profiles(&mut self, file: &[Found], profiles: &mut Profiles, own: bool) {
        for found in file.iter().filter(|f| f.is("profile")) {
            let Some(name) = found.values.stated_text("name") else { continue };
            let bases = found.values.names("profiles").to_vec();
            if let Some(first) = profiles.get(&name.value) {
                if first.name.source != name.span.source {
                    let diagnostic = Diagnostic::warning(
                        "name/shadowed",
                        first.name,
                        format!("the profile `{}` of an imported file is shadowed", name.value),
                    );
                    self.report(
                        diagnostic
                            .here("this one is used")
                            .label(name.span, "this one is not")
                            .hint("give one of them another name"),
                    );
                }
                continue;
            }
            let spec = self.part(name.clone(), &found.inner);
            profiles
                .insert(name.value.clone(), Profile { spec, bases, merged: None, name: name.span, used: false, own });
        }
    }

    fn parts(&mut self, file: &[Found], profiles: &mut Profiles) -> Vec<Spec> {
        let mut parts: Vec<Spec> = Vec::new();
        for found in file.iter().filter(|f| f.is("part")) {
            let Some(name) = found.values.stated_text("name") else { continue };
            let own = self.part(name, &found.inner);
            let merged = self.lay_over(own, found.values.names("profiles"), profiles);
            self.agreement(&merged, found);
            parts.push(merged);
        }
        parts
    }

    fn assemblies(&mut self, file: &[Found], known: &FitsByPart, plays: &Plays) -> Vec<Assembly> {
        let mut assemblies = Vec::new();
        for found in file.iter().filter(|f| f.is("assembly")) {
            let Some(name) = found.values.stated_text("name") else { continue };
            let mates: Vec<Mate> = found.inner.iter().filter(|f| !f.broken).filter_map(mate).collect();
            for mate in &mates {
                self.one_play(mate, plays);
                self.mate_is_known(&mate.first, known);
                self.mate_is_known(&mate.second, known);
                if mate.first.value == mate.second.value {
                    self.report(
                        Diagnostic::error("assembly/itself", mate.span, "a fit cannot mate with itself")
                            .hint("name the fit of the other part behind `with`"),
                    );
                }
            }
            assemblies.push(Assembly { name, mates });
        }
        assemblies
    }

    /// The play is that between the two: it has one size, whichever of them states it.
    fn one_play(&mut self, mate: &Mate, plays: &Plays) {
        let (Some(a), Some(b)) = (plays.get(&mate.first.value), plays.get(&mate.second.value)) else { return };
        if (a.value.to_um() - b.value.to_um()).abs() < 1e-3 {
            return;
        }
        for (here, there) in [(a, b), (b, a)] {
            let message = format!("the two of a mate state two plays: {} here and {}", here.value, there.value);
            let diagnostic = Diagnostic::error("assembly/two-plays", here.span, message).here("this play");
            self.report(
                diagnostic
                    .label(there.span, "and that")
                    .label(mate.span, "of one mate")
                    .hint("the play is that between the two, on the diameter: write it once, or the same in both"),
            );
        }
    }

    fn mate_is_known(&mut self, end: &Stated<(String, String)>, known: &FitsByPart) {
        let (part, fit) = &end.value;
        let Some(fits) = known.get(part) else {
            let message = format!("there is no part \"{part}\" here");
            let diagnostic = Diagnostic::error("assembly/part", end.span, message);
            let hint = match nearest(part, known.keys().map(String::as_str)) {
                Some(near) => format!("did you mean \"{near}\"?"),
                None => "write the part in this file, or `use` the file that has it".to_owned(),
            };
            self.report(diagnostic.hint(hint));
            return;
        };
        if !fits.contains(fit) {
            let message = format!("part \"{part}\" has no fit \"{fit}\"");
            let hint = match nearest(fit, fits.iter().map(String::as_str)) {
                Some(near) => format!("did you mean \"{near}\"?"),
                None => format!("write `fit \"{fit}\" ...` in that part"),
            };
            self.report(Diagnostic::error("assembly/fit", end.span, message).hint(hint));
        }
    }
}

fn mate(found: &Found) -> Option<Mate> {
    let v = &found.values;
    let end = |part: &str, fit: &str| {
        let value = (v.text(part)?.to_owned(), v.text(fit)?.to_owned());
        Some(Stated { value, span: v.span(part)?.to(v.span(fit)?) })
    };
    Some(Mate { first: end("part", "fit")?, second: end("other part", "other fit")?, span: found.span })
}
