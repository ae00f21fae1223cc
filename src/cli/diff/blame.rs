//! Which change of the inputs made which difference: by solving the earlier state again with each change alone, then
//! with two of them.

use std::collections::BTreeMap;
use std::path::Path;

use super::State;
use super::entries::{Difference, Entries, entries};
use super::inputs::{Edit, Files, edits, with};
use crate::cli::pipeline::{self, Options};
use crate::cli::world::World;

/// Most changes that are tried in pairs: a dozen make 66 of them.
const PAIRS_UP_TO: usize = 12;
/// Most changes that are tried alone; of more, files are tried whole.
const ALONE_UP_TO: usize = 60;

/// What made each difference, in the order of the differences.
#[derive(Debug, Default)]
pub(super) struct Blamed {
    /// The changes in words; empty where none and no two of them do it.
    pub by: Vec<Vec<String>>,
    /// All changes of the inputs in words.
    pub inputs: Vec<String>,
}

/// Puts differences down to changes of inputs.
pub(super) fn blame(
    part: &str,
    before: (&State, &Entries),
    now: (&State, &Entries),
    differences: &[Difference],
    options: &Options,
) -> Blamed {
    let files = files(before.0, part);
    let spec = name_of(before.0);
    let now =
        self::files(now.0, part).into_iter().map(|(name, bytes)| (named_as(&name, &name_of(now.0), &spec), bytes));
    let edits = edits(&files, &now.collect());
    let inputs: Vec<String> = edits.iter().map(Edit::words).collect();
    let tried = |some: &[usize]| {
        let some: Vec<&Edit> = some.iter().filter_map(|&i| edits.get(i)).collect();
        solve(part, &spec, &with(&files, &some), options)
    };
    Blamed { by: settled(&inputs, differences, &tried), inputs }
}

/// Returns for each difference the change that makes it by itself, else the two that do; `solve` decides with some of them.
pub(super) fn settled(
    changes: &[String],
    differences: &[Difference],
    solve: &dyn Fn(&[usize]) -> Option<Entries>,
) -> Vec<Vec<String>> {
    let mut by: Vec<Vec<String>> = vec![Vec::new(); differences.len()];
    if let [only] = changes {
        by.iter_mut().for_each(|b| b.push(only.clone()));
        return by;
    }
    let mut settle = |some: &[usize]| {
        let Some(found) = solve(some) else { return };
        for (difference, by) in differences.iter().zip(&mut by).filter(|(_, by)| by.is_empty()) {
            if found.get(difference.group, &difference.name) == difference.now.as_deref() {
                *by = some.iter().filter_map(|&i| changes.get(i)).cloned().collect();
            }
        }
    };
    let all = 0..changes.len();
    if changes.len() <= ALONE_UP_TO {
        all.clone().for_each(|one| settle(&[one]));
    }
    if changes.len() <= PAIRS_UP_TO {
        for one in all.clone() {
            (one + 1..changes.len()).for_each(|other| settle(&[one, other]));
        }
    }
    by
}

/// Returns the files a part's recipe was made from, by name.
fn files(state: &State, part: &str) -> Files {
    let inputs = state.parts.get(part).and_then(|r| r.get("inputs")).and_then(|i| i.as_array());
    let names = inputs.into_iter().flatten().filter_map(|i| i.get("name")?.as_str());
    let mut files: Files =
        names.filter_map(|name| Some((name.to_owned(), std::fs::read(state.root.join(name)).ok()?))).collect();
    // What stood in a workshop file unread may be what is read now.
    let beside = state.spec.ancestors().skip(1).take_while(|f| in_root(f, &state.root));
    for folder in beside {
        for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
            let path = entry.path();
            let counts = path.file_name().is_some_and(|n| n == crate::cli::world::SHOP_FILE)
                || path.extension().is_some_and(|e| e == "rules");
            let name = path.canonicalize().ok().and_then(|p| Some(p.strip_prefix(&state.root).ok()?.to_path_buf()));
            if let Some((name, bytes)) = name.filter(|_| counts).zip(std::fs::read(&path).ok()) {
                files.insert(name.to_string_lossy().replace('\\', "/"), bytes);
            }
        }
    }
    files
}

fn in_root(folder: &Path, root: &Path) -> bool {
    let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
    folder.canonicalize().is_ok_and(|f| f.starts_with(root))
}

/// The spec's name within its project.
fn name_of(state: &State) -> String {
    let whole = state.spec.canonicalize().unwrap_or_else(|_| state.spec.clone());
    whole.strip_prefix(&state.root).unwrap_or(&whole).to_string_lossy().replace('\\', "/")
}

/// Returns how a file of one state is called in the other, whose spec has another name or lies in another folder: two folders side by
/// side hold the same files under other names.
fn named_as(name: &str, spec: &str, other: &str) -> String {
    if name == spec {
        return other.to_owned();
    }
    let folder = |path: &str| path.rsplit_once('/').map_or(String::new(), |(folder, _)| folder.to_owned());
    let (mut here, mut there) = (folder(spec), folder(other));
    // What both end in lies within the folders that are compared.
    while !here.is_empty() && !there.is_empty() && here.rsplit('/').next() == there.rsplit('/').next() {
        (here, there) = (folder(&here), folder(&there));
    }
    let within = if here.is_empty() { Some(name) } else { name.strip_prefix(&format!("{here}/")) };
    match within {
        Some(inner) if here != there && !here.is_empty() => {
            if there.is_empty() {
                inner.to_owned()
            } else {
                format!("{there}/{inner}")
            }
        }
        _ => name.to_owned(),
    }
}

/// Compiles a part from files laid out in a passing folder; none where they make no recipe.
fn solve(part: &str, spec: &str, files: &Files, options: &Options) -> Option<Entries> {
    let folder = tempfile::tempdir().ok()?;
    // So that the folder is a project with or without a workshop file.
    std::fs::create_dir(folder.path().join(".git")).ok()?;
    for (name, bytes) in files {
        let path = folder.path().join(name);
        std::fs::create_dir_all(path.parent()?).ok()?;
        std::fs::write(path, bytes).ok()?;
    }
    let spec = folder.path().join(spec);
    let world = World::around(&spec, options.shop.is_some()).ok()?;
    let compiled = pipeline::compile_one(&world, &spec, options);
    let recipes: BTreeMap<&str, _> = compiled.parts.iter().map(|p| (p.recipe.part.as_str(), &p.recipe)).collect();
    super::data(recipes.get(part)?).map(|recipe| entries(&recipe))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn files_of_two_folders_side_by_side_are_the_same_files() {
        let as_before = |name: &str| named_as(name, "v/e2/box/box.partspec", "v/e1/box/box.partspec");
        assert_eq!(as_before("v/e2/box/box.stl"), "v/e1/box/box.stl");
        assert_eq!(as_before("v/e2/box/box.partspec"), "v/e1/box/box.partspec");
        assert_eq!(as_before("v/e2/shop.yaml"), "v/e1/shop.yaml");
        assert_eq!(as_before("shop.yaml"), "shop.yaml");
        // Two specs of one folder, and two projects.
        assert_eq!(named_as("box.stl", "new.partspec", "old.partspec"), "box.stl");
        assert_eq!(named_as("new.partspec", "new.partspec", "old.partspec"), "old.partspec");
        assert_eq!(named_as("parts/box.stl", "parts/box.partspec", "box.partspec"), "box.stl");
    }
}
