//! `use "file"`: reads a spec and what it imports, by way of a loader that knows where files are.
//!
//! Nothing here touches a file system. The loader decides what a path means and whether it may be read; this module
//! says so at the place of the `use`, reads each file once, and tells a circle by the way round it.

use crate::diag::{Diagnostic, Report, Source, Sources, Span};
use crate::syntax;
use crate::syntax::tree::{Expr, Tree};

/// More imported files than this are refused: nobody writes them, and loading recurses.
const MOST_FILES: usize = 100;

/// Why a file could not be loaded.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum LoadError {
    /// No file is there.
    NotFound,
    /// It lies outside the project root, and nobody allowed that.
    Outside,
    /// It is no UTF-8 text.
    NotText,
    /// Anything else, in the words of the system: "permission denied".
    Other(String),
}

/// Finds and reads imported files.
pub trait Loader {
    /// Loads `path` as written in the file called `from`. The name of the source is the file's project-relative name:
    /// the same file must get the same name, or circles are not seen.
    fn load(&mut self, from: &str, path: &str) -> Result<Source, LoadError>;
}

/// Reads a spec and all it imports, directly and by way of others.
///
/// The spec's tree comes first, then the imported ones in the order in which they are first named; a name of an
/// earlier tree wins over that of a later one. Files that could not be loaded or read are left out and reported.
pub fn load(main: Source, loader: &mut dyn Loader, sources: &mut Sources) -> Report<Vec<Tree>> {
    let mut reader =
        Reader { loader, sources, trees: Vec::new(), way: Vec::new(), seen: Vec::new(), diagnostics: Vec::new() };
    reader.read(main);
    Report { value: Some(reader.trees), diagnostics: reader.diagnostics }
}

struct Reader<'a> {
    loader: &'a mut dyn Loader,
    sources: &'a mut Sources,
    trees: Vec<Tree>,
    /// The files being read, from the spec inward, each with the `use` that led on from it.
    way: Vec<(String, Option<Span>)>,
    seen: Vec<String>,
    diagnostics: Vec<Diagnostic>,
}

impl Reader<'_> {
    fn read(&mut self, source: Source) {
        let name = source.name.clone();
        self.seen.push(name.clone());
        let id = self.sources.add(source);
        let text = self.sources.get(id).map(|s| s.text.clone()).unwrap_or_default();
        let report = syntax::parse(id, &text);
        self.diagnostics.extend(report.diagnostics);
        let Some(tree) = report.value else { return };
        let uses: Vec<(String, Span)> = tree.statements.iter().filter_map(used_file).collect();
        self.trees.push(tree);
        self.way.push((name, None));
        for (path, span) in uses {
            if let Some(last) = self.way.last_mut() {
                last.1 = Some(span);
            }
            self.follow(&path, span);
        }
        self.way.pop();
    }

    fn follow(&mut self, path: &str, span: Span) {
        let from = self.way.last().map(|(name, _)| name.clone()).unwrap_or_default();
        let source = match self.loader.load(&from, path) {
            Ok(source) => source,
            Err(error) => return self.diagnostics.push(not_loaded(&error, path, span)),
        };
        if let Some(start) = self.way.iter().position(|(name, _)| *name == source.name) {
            let circle = self.circle(start, &source.name, span);
            return self.diagnostics.push(circle);
        }
        if self.seen.contains(&source.name) {
            return;
        }
        if self.seen.len() > MOST_FILES {
            // Said once: what else is imported is too many for the same reason.
            if self.diagnostics.iter().any(|d| d.code == "import/too-many") {
                return;
            }
            let message = format!("more than {MOST_FILES} files are imported");
            return self.diagnostics.push(
                Diagnostic::error("import/too-many", span, message).hint("gather what belongs together in one file"),
            );
        }
        self.read(source);
    }

    fn circle(&self, start: usize, back: &str, span: Span) -> Diagnostic {
        let mut names: Vec<&str> = self.way.iter().skip(start).map(|(name, _)| name.as_str()).collect();
        names.push(back);
        let message = format!("files import one another in a circle: {}", names.join(" uses "));
        let mut diagnostic = Diagnostic::error("import/cycle", span, message).here("this closes the circle");
        for (name, led_on) in self.way.iter().skip(start) {
            if let Some(place) = led_on.filter(|place| *place != span) {
                diagnostic = diagnostic.label(place, format!("`{name}` goes on here"));
            }
        }
        diagnostic.hint("move what both need into a third file")
    }
}

fn used_file(statement: &syntax::tree::Statement) -> Option<(String, Span)> {
    if statement.keyword.text != "use" {
        return None;
    }
    let argument: &Expr = statement.arguments.first()?;
    Some((argument.as_text()?.to_owned(), argument.span))
}

fn not_loaded(error: &LoadError, path: &str, span: Span) -> Diagnostic {
    let error_at = |code, message: String| Diagnostic::error(code, span, message);
    match error {
        LoadError::NotFound => error_at("import/not-found", format!("there is no file `{path}`"))
            .hint("the path starts at the folder of the file that says `use`"),
        LoadError::Outside => error_at("import/outside", format!("`{path}` lies outside the project"))
            .hint("move it into the project, or allow files from outside on the command line"),
        LoadError::NotText => error_at("import/not-text", format!("`{path}` is no text in UTF-8"))
            .hint("save it as UTF-8, or name another file"),
        LoadError::Other(why) => error_at("import/unreadable", format!("`{path}` cannot be read: {why}"))
            .hint("check the file and its permissions"),
    }
}

/// Returns the project-relative name of `path` as written in the file called `from`, with `/` between folders and
/// without `.` and `..`; `None` if it leads out of the project or is absolute.
pub fn project_name(from: &str, path: &str) -> Option<String> {
    let path = path.replace('\\', "/");
    let absolute = path.starts_with('/') || path.as_bytes().get(1) == Some(&b':');
    if absolute {
        return None;
    }
    let folder = from.rsplit_once('/').map_or("", |(folder, _)| folder);
    let mut parts: Vec<&str> = Vec::new();
    for part in folder.split('/').chain(path.split('/')) {
        match part {
            "" | "." => {}
            ".." => {
                parts.pop()?;
            }
            other => parts.push(other),
        }
    }
    Some(parts.join("/"))
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use super::*;

    struct Shelf(BTreeMap<&'static str, &'static str>);

    impl Loader for Shelf {
        fn load(&mut self, from: &str, path: &str) -> Result<Source, LoadError> {
            let name = project_name(from, path).ok_or(LoadError::Outside)?;
            let text = self.0.get(name.as_str()).ok_or(LoadError::NotFound)?;
            Ok(Source::new(name, *text))
        }
    }

    fn load_all(files: &[(&'static str, &'static str)]) -> (Vec<String>, Vec<Diagnostic>, Sources) {
        let mut shelf = Shelf(files.iter().copied().collect());
        let mut sources = Sources::default();
        let report = load(Source::new(files[0].0, files[0].1), &mut shelf, &mut sources);
        let trees = report.value.unwrap();
        let mut all = report.diagnostics;
        all.extend(crate::semantics::check(&trees, &sources).diagnostics);
        let names = trees.iter().map(|t| sources.get(t.source).unwrap().name.clone()).collect();
        (names, all, sources)
    }

    #[test]
    fn imports_come_in_order_and_once() {
        let (names, diagnostics, _) = load_all(&[
            ("a.partspec", "use \"lib/b.partspec\"\nuse \"lib/c.partspec\"\npart \"p\" is q { wall thick }"),
            ("lib/b.partspec", "use \"c.partspec\"\nlet thick = 2 mm"),
            ("lib/c.partspec", "profile q { consequence damage }"),
        ]);
        assert_eq!(names, ["a.partspec", "lib/b.partspec", "lib/c.partspec"]);
        assert_eq!(diagnostics, vec![]);
    }

    #[test]
    fn a_circle_is_told_by_the_way_round_it() {
        let (_, diagnostics, _) = load_all(&[
            ("a.partspec", "use \"b.partspec\""),
            ("b.partspec", "use \"c.partspec\""),
            ("c.partspec", "use \"b.partspec\""),
        ]);
        assert_eq!(diagnostics.len(), 1, "{diagnostics:?}");
        assert_eq!(diagnostics[0].code, "import/cycle");
        assert!(diagnostics[0].message.ends_with("b.partspec uses c.partspec uses b.partspec"));
        assert_eq!(diagnostics[0].labels.len(), 2);
        let (_, diagnostics, _) = load_all(&[("a.partspec", "use \"a.partspec\"")]);
        assert!(diagnostics[0].message.ends_with("a.partspec uses a.partspec"));
    }

    #[test]
    fn what_cannot_be_loaded_is_said_at_its_use() {
        let (_, diagnostics, sources) =
            load_all(&[("x/a.partspec", "use \"no.partspec\"\nuse \"../../etc\"\nuse \"/etc\"")]);
        let found: Vec<(&str, String)> =
            diagnostics.iter().map(|d| (d.code, sources.place(d.labels[0].span))).collect();
        assert_eq!(
            found,
            [
                ("import/not-found", "x/a.partspec:1".to_owned()),
                ("import/outside", "x/a.partspec:2".to_owned()),
                ("import/outside", "x/a.partspec:3".to_owned()),
            ]
        );
    }

    #[test]
    fn a_long_chain_of_files_comes_back() {
        struct Endless(usize);
        impl Loader for Endless {
            fn load(&mut self, _: &str, _: &str) -> Result<Source, LoadError> {
                self.0 += 1;
                Ok(Source::new(format!("{}.partspec", self.0), "use \"next\""))
            }
        }
        let mut sources = Sources::default();
        let report = load(Source::new("a.partspec", "use \"next\""), &mut Endless(0), &mut sources);
        assert_eq!(report.diagnostics.iter().map(|d| d.code).collect::<Vec<_>>(), ["import/too-many"]);
    }

    #[test]
    fn names_of_imports_are_shadowed_by_the_spec() {
        let (_, diagnostics, sources) = load_all(&[
            ("a.partspec", "use \"b.partspec\"\nlet thick = 2 mm\npart \"p\" { wall thick }"),
            ("b.partspec", "let thick = 3 mm\nlet spare = 1 mm"),
        ]);
        assert_eq!(diagnostics.iter().map(|d| d.code).collect::<Vec<_>>(), ["name/shadowed"]);
        assert_eq!(sources.place(diagnostics[0].labels[0].span), "a.partspec:2");
        assert_eq!(sources.place(diagnostics[0].labels[1].span), "b.partspec:1");
    }
}
