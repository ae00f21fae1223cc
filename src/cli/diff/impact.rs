//! `makeready impact`: what a changed workshop file, rule, catalogue or mesh would do to every recipe, before the change is made.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use super::page::{PartChange, What};
use super::{Pair, report};
use crate::cli::args::{ImpactArgs, InputArgs};
use crate::cli::check;
use crate::cli::exit::Exit;
use crate::cli::terminal::Terminal;
use crate::cli::world::{SHOP_FILE, World, shown};
use crate::diag::{Diagnostic, Severity, Sources};
use crate::recipe::Status;

/// Folders that hold no input of a recipe, however large they are.
const LEFT_OUT: [&str; 2] = [".git", "target"];

pub(in crate::cli) fn run(args: &ImpactArgs, terminal: &Terminal) -> Result<Exit, Exit> {
    let fail = |found: Diagnostic| {
        terminal.findings(&[found], &Sources::default());
        Exit::Misuse
    };
    let changes = changes(args).map_err(fail)?;
    let specs: Vec<PathBuf> = args.paths.iter().flat_map(|path| specs(path)).collect();
    if specs.is_empty() {
        return Err(fail(misuse("there is no part spec to look at".to_owned()).hint("specs end in .partspec")));
    }
    let mut laid_out = Copies::default();
    let pairs: Vec<Pair> =
        specs.into_iter().map(|spec| laid_out.pair(spec, &changes)).collect::<Result<_, _>>().map_err(fail)?;
    if let Some(unused) = changes.iter().find(|change| !laid_out.took(change)) {
        let message = format!("no spec here is in a project with the file `{}`", shown(&unused.of));
        return Err(fail(misuse(message).hint("name the file as it lies in the project, then what takes its place")));
    }
    let inputs = InputArgs { no_cache: args.no_cache, ..InputArgs::default() };
    report(&pairs, &inputs, args.print, &consequence, terminal)
}

/// The worst first: what can no longer be printed, then what wants an answer, what is made of something else, the rest.
fn consequence(change: &PartChange) -> (u8, usize) {
    let printable = |slug: &str| Status::of(slug).is_some_and(Status::may_print);
    match &change.what {
        Some(What::Changed { before, now, differences, .. }) => {
            let made = differences.iter().filter(|d| d.group.is_choice()).count();
            let class = match (printable(before), printable(now)) {
                (true, false) => 0,
                (false, true) => 1,
                _ if before != now => 2,
                _ if made > 0 => 3,
                _ => 4,
            };
            (class, usize::MAX - differences.len())
        }
        Some(What::Gone { .. } | What::New { .. }) => (1, 0),
        None => (5, 0),
    }
}

/// A file that takes the place of another.
struct Change {
    /// Of the project; for a workshop file that of each project.
    of: PathBuf,
    bytes: Vec<u8>,
    /// Where no project has such a file, it is new there.
    may_be_new: bool,
}

fn changes(args: &ImpactArgs) -> Result<Vec<Change>, Diagnostic> {
    let read = |path: &Path| {
        std::fs::read(path).map_err(|e| {
            let message = format!("`{}` can't be read: {}", shown(path), e.kind());
            Diagnostic::new(Severity::Error, "file/unreadable", message)
        })
    };
    let mut all = Vec::new();
    if let Some(shop) = &args.shop {
        all.push(Change { of: PathBuf::from(SHOP_FILE), bytes: read(shop)?, may_be_new: true });
    }
    for pair in &args.file {
        let Some((old, new)) = pair.split_once('=') else {
            return Err(misuse(format!("expected OLD=NEW for `--file`, found `{pair}`"))
                .hint("write `--file workshop/own.rules=draft.rules`"));
        };
        let of = std::fs::canonicalize(old).map_err(|e| misuse(format!("`{old}` can't be read: {}", e.kind())))?;
        all.push(Change { of, bytes: read(Path::new(new))?, may_be_new: false });
    }
    if all.is_empty() {
        return Err(misuse("`impact` wants to know what would change".to_owned()).hint(
            "write `--shop new-shop.yaml`, or `--file OLD=NEW` for a rule, a catalogue, a shared spec or a mesh",
        ));
    }
    Ok(all)
}

fn misuse(message: String) -> Diagnostic {
    Diagnostic::new(Severity::Error, "usage/impact", message)
}

fn specs(path: &Path) -> Vec<PathBuf> {
    if !path.is_dir() {
        return vec![path.to_path_buf()];
    }
    check::below(path).into_iter().filter(|p| p.extension().is_some_and(|e| e == "partspec")).collect()
}

/// Projects laid out with the changes made, each once.
#[derive(Default)]
struct Copies {
    of: BTreeMap<PathBuf, tempfile::TempDir>,
    /// Which of the changes found their place.
    taken: Vec<PathBuf>,
}

impl Copies {
    fn took(&self, change: &Change) -> bool {
        change.may_be_new || self.taken.contains(&change.of)
    }

    fn pair(&mut self, spec: PathBuf, changes: &[Change]) -> Result<Pair, Diagnostic> {
        let world = World::around(&spec, false)?;
        let root = world.root().to_path_buf();
        let whole = std::fs::canonicalize(&spec)
            .map_err(|e| misuse(format!("`{}` can't be read: {}", shown(&spec), e.kind())))?;
        if !self.of.contains_key(&root) {
            let folder =
                self.lay_out(&root, changes).map_err(|why| misuse(format!("the project can't be laid out: {why}")))?;
            self.of.insert(root.clone(), folder);
        }
        let inner = whole.strip_prefix(&root).map(Path::to_path_buf).unwrap_or_default();
        let now = self.of.get(&root).map(|folder| folder.path().join(inner));
        Ok(Pair { name: shown(&spec), before: Some(spec), now })
    }

    fn lay_out(&mut self, root: &Path, changes: &[Change]) -> Result<tempfile::TempDir, String> {
        let told = |path: &Path, e: &std::io::Error| format!("`{}`: {}", shown(path), e.kind());
        let folder = tempfile::tempdir().map_err(|e| e.kind().to_string())?;
        // The project's root is where the repository's is.
        std::fs::create_dir(folder.path().join(".git")).map_err(|e| told(root, &e))?;
        let kept = |entry: &ignore::DirEntry| !LEFT_OUT.iter().any(|name| entry.file_name() == *name);
        let walk = ignore::WalkBuilder::new(root).standard_filters(false).filter_entry(kept).build();
        for entry in walk.filter_map(Result::ok) {
            let from = entry.path();
            let Ok(inner) = from.strip_prefix(root) else { continue };
            let to = folder.path().join(inner);
            if from.is_dir() {
                std::fs::create_dir_all(&to).map_err(|e| told(from, &e))?;
            } else if from.is_file() {
                // A link costs nothing, where both lie on one disk.
                std::fs::hard_link(from, &to)
                    .or_else(|_| std::fs::copy(from, &to).map(|_| ()))
                    .map_err(|e| told(from, &e))?;
            }
        }
        for change in changes {
            let inner = if change.may_be_new { Some(change.of.as_path()) } else { change.of.strip_prefix(root).ok() };
            let Some(inner) = inner else { continue };
            let to = folder.path().join(inner);
            // Never through a link into the project itself.
            let _ = std::fs::remove_file(&to);
            std::fs::write(&to, &change.bytes).map_err(|e| told(inner, &e))?;
            self.taken.push(change.of.clone());
        }
        Ok(folder)
    }
}
