//! `makeready check`: findings, without a recipe.

use std::collections::{BTreeMap, HashSet};
use std::path::{Path, PathBuf};

use rayon::prelude::*;

use super::args::{CheckArgs, FindingForm};
use super::compile::{LINES_UP_TO, options};
use super::exit::Exit;
use super::pipeline::{self, Compiled};
use super::terminal::Terminal;
use super::world::{SHOP_FILE, World, shown};
use crate::diag::{Diagnostic, Severity, Source, SourceId, Sources};
use crate::render::diagnostics::tally;

/// Folders are followed so deep and no deeper.
const DEEPEST: usize = 24;

pub(super) fn run(args: &CheckArgs, terminal: &Terminal) -> Result<Exit, Exit> {
    if args.locked {
        return super::locked::run(args, terminal);
    }
    let (files, nothing) = files(&args.paths);
    let options = options(&args.inputs, args.strict);
    let bar = super::compile::bar(files.len(), terminal);
    let one = |file: &PathBuf| match World::around(file, args.inputs.allow_outside) {
        Ok(world) => pipeline::check_keeping(&world, file, &options, &mut |part, _| {
            let recipe = &part.recipe;
            (recipe.status.may_print(), format!("{}: {}", recipe.part, recipe.status_line()))
        }),
        Err(failed) => Compiled { diagnostics: vec![failed], ..Compiled::default() },
    };
    let done: Vec<Compiled<(bool, String)>> = files.par_iter().map(one).inspect(|_| bar.inc(1)).collect();
    bar.finish_and_clear();
    let unmet = done.iter().flat_map(|c| &c.parts).any(|(may_print, _)| !may_print);
    let lines: Vec<String> = done.iter().flat_map(|c| &c.parts).map(|(_, line)| line.clone()).collect();
    let mut told = Told { found: nothing, ..Told::default() };
    done.into_iter().for_each(|compiled| told.join(compiled));
    let Told { mut found, sources, .. } = told;
    if args.strict {
        found.iter_mut().filter(|d| d.severity == Severity::Warning).for_each(|d| d.severity = Severity::Error);
    }
    let text = terminal.form(&found, &sources, args.print);
    terminal.result(&text)?;
    if args.print == FindingForm::Text {
        if lines.len() <= LINES_UP_TO {
            lines.iter().for_each(|line| terminal.say(line));
        }
        terminal.say(&summary(files.len(), &found));
    }
    Ok(Exit::of(&found).max(if unmet { Exit::Wrong } else { Exit::Done }))
}

fn summary(files: usize, found: &[Diagnostic]) -> String {
    let told = tally(found);
    let files = if files == 1 { "1 file".to_owned() } else { format!("{files} files") };
    format!("{files} checked: {}", if told.is_empty() { "nothing found" } else { told.as_str() })
}

/// The findings and texts of all files. What several specs import is told of once.
#[derive(Default)]
pub(super) struct Told {
    pub found: Vec<Diagnostic>,
    pub sources: Sources,
    /// All that was found, to ask whether something is.
    known: HashSet<Diagnostic>,
    by_name: BTreeMap<String, Vec<SourceId>>,
}

impl Told {
    /// Adds what one file brought.
    pub(super) fn join<T>(&mut self, compiled: Compiled<T>) {
        let ids: Vec<SourceId> = compiled.sources.iter().map(|(_, source)| self.known_or_added(source)).collect();
        for mut d in compiled.diagnostics {
            for label in &mut d.labels {
                if let Some(id) = ids.get(label.span.source.0 as usize) {
                    label.span.source = *id;
                }
            }
            if self.known.insert(d.clone()) {
                self.found.push(d);
            }
        }
    }

    fn known_or_added(&mut self, source: &Source) -> SourceId {
        let named = self.by_name.entry(source.name.clone()).or_default();
        let is =
            |id: &&SourceId| self.sources.get(**id).is_some_and(|s| std::ptr::eq(s, source) || s.text == source.text);
        if let Some(id) = named.iter().find(is) {
            return *id;
        }
        let id = self.sources.add(source.clone());
        named.push(id);
        id
    }
}

/// Returns the files to check, in order, each once, and what is wrong with the paths themselves.
pub(super) fn files(paths: &[PathBuf]) -> (Vec<PathBuf>, Vec<Diagnostic>) {
    let mut files: Vec<PathBuf> = Vec::new();
    let mut found = Vec::new();
    for path in paths {
        if path.is_dir() {
            let inside = below(path);
            if inside.is_empty() {
                let told = format!("there is nothing to check in `{}`", shown(path));
                found.push(
                    Diagnostic::new(Severity::Warning, "file/nothing", told)
                        .hint("specs end in .partspec, runs in .runspec, rules in .rules, and a workshop file is called shop.yaml"),
                );
            }
            files.extend(inside);
        } else {
            files.push(path.clone());
        }
    }
    let mut seen = std::collections::BTreeSet::new();
    files.retain(|f| seen.insert(std::fs::canonicalize(f).unwrap_or_else(|_| f.clone())));
    (files, found)
}

/// Returns the files below a folder that makeready reads, sorted; what version control ignores is left out.
pub(super) fn below(folder: &Path) -> Vec<PathBuf> {
    let mut files: Vec<PathBuf> = ignore::WalkBuilder::new(folder)
        .max_depth(Some(DEEPEST))
        .require_git(false)
        .build()
        .filter_map(Result::ok)
        .map(ignore::DirEntry::into_path)
        .filter(|path| is_ours(path))
        .collect();
    files.sort();
    files
}

fn is_ours(path: &Path) -> bool {
    let ours = path.extension().is_some_and(|e| e == "partspec" || e == "rules" || e == super::runs::ENDING);
    (ours || path.file_name().is_some_and(|n| n == SHOP_FILE)) && path.is_file()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diag::Span;
    use std::fs;

    #[test]
    fn folders_are_searched_in_order_and_each_file_comes_once() {
        let home = tempfile::tempdir().unwrap();
        fs::create_dir_all(home.path().join("b/c")).unwrap();
        for name in ["b/c/z.partspec", "a.rules", "b/shop.yaml", "b/notes.txt", "a.partspec", "a.runspec"] {
            fs::write(home.path().join(name), "").unwrap();
        }
        let (files, found) = files(&[home.path().to_path_buf(), home.path().join("a.rules")]);
        let names: Vec<_> = files.iter().map(|f| f.strip_prefix(home.path()).unwrap().to_str().unwrap()).collect();
        assert_eq!(names, ["a.partspec", "a.rules", "a.runspec", "b/c/z.partspec", "b/shop.yaml"]);
        assert!(found.is_empty());
    }

    #[test]
    fn a_finding_in_a_shared_file_is_told_once() {
        let one = || {
            let mut sources = Sources::default();
            sources.add(Source::new("spec.partspec", "x"));
            let id = sources.add(Source::new("common.partspec", "yy"));
            let d = Diagnostic::error("unit/missing", Span::new(id, 0, 1), "m");
            Compiled::<()> { parts: Vec::new(), diagnostics: vec![d], sources }
        };
        let mut told = Told::default();
        told.join(one());
        told.join(one());
        assert_eq!(told.found.len(), 1);
        assert_eq!(told.sources.place(told.found[0].labels[0].span), "common.partspec:1");
    }
}
