//! `makeready new`: a starter folder whose spec compiles and teaches.

pub(super) mod peg;

use std::fs;
use std::path::Path;

use super::args::NewArgs;
use super::exit::Exit;
use super::terminal::Terminal;
use super::world::SHOP_FILE;
use super::writing::Batch;
use crate::diag::{Diagnostic, Severity, Sources};

const SPEC: &str = include_str!("../../recipes/templates/starter.partspec");
const SHOP: &str = include_str!("../../recipes/templates/starter.shop.yaml");
const LONGEST: usize = 60;

pub(super) fn run(args: &NewArgs, terminal: &Terminal) -> Result<Exit, Exit> {
    let name = args.name.as_str();
    make(Path::new(""), name).map_err(|found| {
        terminal.findings(std::slice::from_ref(&found), &Sources::default());
        Exit::of(&[found])
    })?;
    terminal.say(&format!(
        "{name}/ holds a part spec, its mesh and a workshop file. Read the spec, then:\n\n  \
         makeready compile {name}/{name}.partspec\n"
    ));
    Ok(Exit::Done)
}

/// Makes the folder within `home` and fills it; an existing one is never touched.
fn make(home: &Path, name: &str) -> Result<(), Diagnostic> {
    check_name(name)?;
    let folder = home.join(name);
    fs::create_dir(&folder).map_err(|e| match e.kind() {
        std::io::ErrorKind::AlreadyExists => {
            misuse("usage/exists", format!("there is a `{name}` already")).hint("choose another name")
        }
        kind => misuse("file/unwritable", format!("the folder `{name}` can't be made: {kind}")),
    })?;
    let mut batch = Batch::default();
    batch
        .add(&folder.join(format!("{name}.partspec")), &SPEC.replace("NAME", name))
        .and_then(|()| batch.add(&folder.join(format!("{name}.stl")), &peg::stl(name)))
        .and_then(|()| batch.add(&folder.join(SHOP_FILE), SHOP))
        .and_then(|()| batch.finish())
        .map_err(|message| misuse("file/unwritable", message))
}

fn check_name(name: &str) -> Result<(), Diagnostic> {
    let fits = |c: char| c.is_alphanumeric() || c == '-' || c == '_';
    if name.chars().all(fits) && name.starts_with(char::is_alphanumeric) && name.chars().count() <= LONGEST {
        return Ok(());
    }
    let kept: String = name.chars().map(|c| if fits(c) { c } else { '-' }).take(LONGEST).collect();
    let kept = kept.trim_matches(['-', '_']);
    let found = misuse("usage/name", format!("expected a name of letters, digits and hyphens, found `{name}`"));
    Err(found.hint(format!("write `{}`", if kept.is_empty() { "coat-hook" } else { kept })))
}

fn misuse(code: &'static str, message: String) -> Diagnostic {
    Diagnostic::new(Severity::Error, code, message)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diag::SourceId;

    #[test]
    fn the_folder_is_complete_and_its_spec_is_read_without_a_finding() {
        let home = tempfile::tempdir().unwrap();
        make(home.path(), "coat-hook").unwrap();
        let mut names: Vec<_> =
            fs::read_dir(home.path().join("coat-hook")).unwrap().map(|e| e.unwrap().file_name()).collect();
        names.sort();
        assert_eq!(names, ["coat-hook.partspec", "coat-hook.stl", "shop.yaml"]);
        let spec = fs::read_to_string(home.path().join("coat-hook/coat-hook.partspec")).unwrap();
        assert!(!spec.contains("NAME"));
        let report = crate::syntax::parse(SourceId(0), &spec);
        assert!(report.diagnostics.is_empty(), "{:?}", report.diagnostics);
        assert_eq!(make(home.path(), "coat-hook").unwrap_err().code, "usage/exists");
    }

    #[test]
    fn names_that_would_lead_elsewhere_are_refused() {
        for (name, hint) in
            [("../x", "write `x`"), ("a/b", "write `a-b`"), ("", "write `coat-hook`"), (".", "write `coat-hook`")]
        {
            let found = check_name(name).unwrap_err();
            assert_eq!(found.hints, [hint], "{name:?}");
        }
    }
}
