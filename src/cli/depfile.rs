//! What files were made from, in the form that Make and Ninja read: `target: source source`.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use super::exit::Exit;
use super::terminal::Terminal;
use super::world::World;
use super::writing::Batch;

/// Returns the files behind the names of inputs, as seen from where the program was called; what is built in has none.
pub(super) fn files<'n>(world: &World, names: impl Iterator<Item = &'n str>) -> BTreeSet<PathBuf> {
    let here = std::env::current_dir().and_then(|d| d.canonicalize()).unwrap_or_default();
    let paths = names.map(|name| world.root().join(name)).filter(|path| path.is_file());
    paths.map(|path| path.strip_prefix(&here).map(Path::to_path_buf).unwrap_or(path)).collect()
}

/// Writes the file: each target with its sources.
pub(super) fn write(file: &Path, rules: &[(Vec<PathBuf>, BTreeSet<PathBuf>)], terminal: &Terminal) -> Result<(), Exit> {
    let mut batch = Batch::default();
    batch.add(file, &text(rules)).and_then(|()| batch.finish()).map_err(|message| {
        terminal.say(&format!("error[file/unwritable]: {message}"));
        Exit::Misuse
    })
}

fn text(rules: &[(Vec<PathBuf>, BTreeSet<PathBuf>)]) -> String {
    let escaped = |path: &Path| path.to_string_lossy().replace('$', "$$").replace('#', "\\#").replace(' ', "\\ ");
    let joined = |paths: &mut dyn Iterator<Item = &PathBuf>| paths.map(|p| escaped(p)).collect::<Vec<_>>().join(" ");
    rules
        .iter()
        .map(|(targets, sources)| format!("{}: {}\n", joined(&mut targets.iter()), joined(&mut sources.iter())))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn blanks_and_dollars_are_kept_apart() {
        let rule =
            (vec![PathBuf::from("a b.md")], BTreeSet::from([PathBuf::from("x$.stl"), PathBuf::from("c.partspec")]));
        assert_eq!(text(&[rule]), "a\\ b.md: c.partspec x$$.stl\n");
    }
}
