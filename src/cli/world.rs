//! The one input layer: every file that makeready reads comes through here.
//!
//! It knows files by names relative to the project folder, so that no machine path gets into any output; it keeps
//! specs from reaching outside that folder; and it refuses to read what is absurdly large.

use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::{ErrorKind, Read};
use std::path::{Component, Path, PathBuf};
use std::sync::Arc;

use crate::diag::{Diagnostic, Severity, Span, nearest};

/// Largest spec, rule file, shop file or template, bytes. A spec of this size would hold 100 000 lines.
pub const LARGEST_TEXT: u64 = 8 << 20;
/// Largest mesh file, bytes: a binary STL of 20 million triangles has 1 GB.
pub const LARGEST_MESH: u64 = 2 << 30;
/// How the names of meshes end.
const MESH_ENDINGS: [&str; 4] = ["3mf", "obj", "off", "stl"];
/// How many neighbours of a missing file are looked at for a name that may have been meant.
const NEIGHBOURS: usize = 2_000;
/// The file whose folder is a project, and which says what the workshop has.
pub const SHOP_FILE: &str = "shop.yaml";

/// A file of the project: where it is, and its name in every output.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Located {
    pub(super) path: PathBuf,
    /// As every output names it.
    pub name: String,
}

impl Located {
    /// The folder of the file, for writing a recipe beside it.
    pub fn folder(&self) -> &Path {
        self.path.parent().unwrap_or(Path::new("."))
    }
}

/// Texts that stand in place of what files hold: those open in an editor.
pub type Open = BTreeMap<PathBuf, Arc<str>>;

/// A project folder and what may be read from it.
#[derive(Debug, Clone)]
pub struct World {
    root: PathBuf,
    allow_outside: bool,
    open: Arc<Open>,
}

impl World {
    /// Finds the project around a file or folder: the nearest folder upward that holds `shop.yaml` or `.git`, else the
    /// folder of the file itself.
    ///
    /// # Errors
    ///
    /// `file/missing` or `file/unreadable` where there is no such file.
    pub fn around(path: &Path, allow_outside: bool) -> Result<Self, Diagnostic> {
        let whole = fs::canonicalize(path).map_err(|e| {
            if let Some(stream) = stream(path) {
                return stream;
            }
            let near = path.file_name().and_then(|name| neighbour(path.parent()?, &name.to_string_lossy()));
            hinted(unreadable(&shown(path), &e, None), near)
        })?;
        let home = if whole.is_dir() { whole } else { whole.parent().map(Path::to_path_buf).unwrap_or(whole) };
        let root = home
            .ancestors()
            .find(|folder| folder.join(SHOP_FILE).is_file() || folder.join(".git").exists())
            .unwrap_or(&home)
            .to_path_buf();
        Ok(Self { root, allow_outside, open: Arc::default() })
    }

    /// Reads these texts in place of what the files hold, whether or not there is such a file yet.
    #[must_use]
    pub fn with_open(self, open: Arc<Open>) -> Self {
        Self { open, ..self }
    }

    /// Returns the texts that are read in place of files.
    pub fn open_texts(&self) -> &Open {
        &self.open
    }

    /// Returns the whole path of a file that there is, or that is open.
    fn whole(&self, path: &Path) -> std::io::Result<PathBuf> {
        if self.open.contains_key(path) { Ok(path.to_path_buf()) } else { fs::canonicalize(path) }
    }

    /// The project folder.
    pub(super) fn root(&self) -> &Path {
        &self.root
    }

    /// Locates a file that was named on the command line; it may lie anywhere.
    ///
    /// # Errors
    ///
    /// `file/missing` or `file/unreadable`.
    pub fn asked_for(&self, path: &Path) -> Result<Located, Diagnostic> {
        let whole = self.whole(path).map_err(|e| {
            if let Some(stream) = stream(path) {
                return stream;
            }
            let hint = path.file_name().and_then(|name| neighbour(path.parent()?, &name.to_string_lossy()));
            hinted(unreadable(&shown(path), &e, None), hint)
        })?;
        Ok(Located { name: self.name_of(&whole), path: whole })
    }

    /// Locates a file that another one names (`use`, `mesh`, `shop`): relative to the folder of that other one.
    ///
    /// # Errors
    ///
    /// At `span`: `file/name` where it is no relative path, `file/outside-project` where it leads out of the project
    /// folder and that is not allowed, `file/missing` with the nearest name there is, `file/unreadable`.
    pub fn named_by(&self, from: &Located, target: &str, span: Span) -> Result<Located, Diagnostic> {
        let relative = plain_relative(target).map_err(|(message, hint)| {
            Diagnostic::error("file/name", span, format!("`{target}` {message}")).hint(hint)
        })?;
        let lexical = tidy(&from.folder().join(relative));
        if !self.may_read(&lexical) {
            return Err(outside(target, span));
        }
        let whole = self.whole(&lexical).map_err(|e| {
            let name = lexical.file_name().map(|n| n.to_string_lossy().into_owned());
            let hint = name.and_then(|name| neighbour(lexical.parent()?, &name));
            let missing = e.kind() == ErrorKind::NotFound;
            let found = hinted(unreadable(target, &e, Some(span)), hint);
            if missing { found.here(format!("looked for as `{}`", self.name_of(&lexical))) } else { found }
        })?;
        // Asked again: a link may lead out where the words of the path do not.
        if !self.may_read(&whole) {
            return Err(outside(target, span));
        }
        Ok(Located { name: self.name_of(&whole), path: whole })
    }

    /// Reads a text file: UTF-8, at most [`LARGEST_TEXT`]. `span` is where the file was asked for, if in a file.
    ///
    /// # Errors
    ///
    /// `file/unreadable`, `file/too-large`, or `file/not-text` with the offset of the first wrong byte.
    pub fn text(&self, file: &Located, span: Option<Span>) -> Result<String, Diagnostic> {
        let bytes = self.bytes(file, LARGEST_TEXT, span)?;
        String::from_utf8(bytes).map_err(|e| {
            let (at, bytes) = (e.utf8_error().valid_up_to(), e.as_bytes());
            let before = bytes.get(..at).unwrap_or_default();
            let line = 1 + before.iter().filter(|b| **b == b'\n').count();
            let hint = match bytes {
                [0xff, 0xfe, ..] | [0xfe, 0xff, ..] => "it is UTF-16: save it as UTF-8 text",
                _ if bytes.contains(&0) => "it does not look like a text at all: is it the right file?",
                _ => "save it as UTF-8 text: a letter such as `ä` or `°` is stored otherwise there",
            };
            let message = format!("`{}` is not UTF-8 text: wrong byte at offset {at}, in line {line}", file.name);
            trouble("file/not-text", message, span).hint(hint)
        })
    }

    /// Reads a mesh file, at most [`LARGEST_MESH`].
    ///
    /// # Errors
    ///
    /// `file/unreadable`, `file/too-large`.
    pub fn mesh(&self, file: &Located, span: Option<Span>) -> Result<Vec<u8>, Diagnostic> {
        self.bytes(file, LARGEST_MESH, span)
    }

    /// Returns the workshop file nearest to a file of the project: in its folder or upward, up to the project folder.
    pub fn shop_near(&self, file: &Located) -> Option<Located> {
        file.folder()
            .ancestors()
            .take_while(|folder| folder.starts_with(&self.root))
            .map(|folder| folder.join(SHOP_FILE))
            .find(|path| path.is_file())
            .and_then(|path| fs::canonicalize(path).ok())
            .filter(|path| self.may_read(path))
            .map(|path| Located { name: self.name_of(&path), path })
    }

    fn bytes(&self, file: &Located, limit: u64, span: Option<Span>) -> Result<Vec<u8>, Diagnostic> {
        let too_large = || {
            let message = format!("`{}` is larger than {} MB", file.name, limit >> 20);
            trouble("file/too-large", message, span)
        };
        if let Some(text) = self.open.get(&file.path) {
            return if text.len() as u64 > limit { Err(too_large()) } else { Ok(text.as_bytes().to_vec()) };
        }
        let failed = |e: std::io::Error| unreadable(&file.name, &e, span);
        let about = fs::metadata(&file.path).map_err(failed)?;
        // A folder can't be read, and a pipe or device might never end.
        if !about.is_file() {
            let name = if file.name.is_empty() { "." } else { file.name.as_str() };
            let what = if about.is_dir() { "is a folder, not a file" } else { "is not a file" };
            return Err(trouble("file/unreadable", format!("`{name}` {what}"), span).hint("name the file itself"));
        }
        if about.len() > limit {
            return Err(too_large());
        }
        let mut bytes = Vec::with_capacity(usize::try_from(about.len()).unwrap_or(0));
        File::open(&file.path).and_then(|f| f.take(limit + 1).read_to_end(&mut bytes)).map_err(failed)?;
        if bytes.len() as u64 > limit { Err(too_large()) } else { Ok(bytes) }
    }

    fn may_read(&self, path: &Path) -> bool {
        self.allow_outside || path.starts_with(&self.root)
    }

    /// Returns the names of the meshes that lie beside a file, by name.
    pub fn meshes_beside(&self, file: &Located) -> Vec<String> {
        let Ok(entries) = fs::read_dir(file.folder()) else { return Vec::new() };
        let is_mesh = |path: &Path| {
            let ending = path.extension().map(|e| e.to_string_lossy().to_lowercase());
            path.is_file() && ending.is_some_and(|e| MESH_ENDINGS.contains(&e.as_str()))
        };
        let named = |path: PathBuf| path.file_name().map(|name| name.to_string_lossy().into_owned());
        let paths = entries.take(NEIGHBOURS).flatten().map(|entry| entry.path());
        let mut names: Vec<String> = paths.filter(|path| is_mesh(path)).filter_map(named).collect();
        names.sort();
        names
    }

    /// Returns the rule files that stand in the folder of a workshop file, by name: the workshop's own rules.
    ///
    /// # Errors
    ///
    /// `file/unreadable` where the folder cannot be listed.
    pub fn rules_beside(&self, shop: &Located) -> Result<Vec<Located>, Diagnostic> {
        let folder = shop.folder();
        let entries = match std::fs::read_dir(folder) {
            Ok(entries) => entries,
            Err(_) => return Ok(Vec::new()),
        };
        let mut paths: Vec<PathBuf> =
            entries.flatten().map(|e| e.path()).filter(|p| p.extension().is_some_and(|e| e == "rules")).collect();
        paths.sort();
        paths.iter().map(|p| self.asked_for(p)).collect()
    }

    /// Returns the name of a file in outputs: relative to the project folder, with `/`. A file outside gets no folders:
    /// they would be those of this machine.
    fn name_of(&self, path: &Path) -> String {
        let (head, tail) = match path.strip_prefix(&self.root) {
            Ok(tail) => ("", tail.to_path_buf()),
            Err(_) => ("outside/", path.file_name().map(PathBuf::from).unwrap_or_default()),
        };
        let parts: Vec<_> = tail.components().map(|c| c.as_os_str().to_string_lossy().into_owned()).collect();
        format!("{head}{}", parts.join("/"))
    }
}

/// Returns the target as a path if it is a plain relative one; else what is wrong and what to write instead.
fn plain_relative(target: &str) -> Result<&Path, (&'static str, String)> {
    if target.is_empty() {
        return Err(("names no file", "write a path relative to this file, such as \"part.stl\"".to_owned()));
    }
    if target.contains("://") {
        return Err(("is an address, not a file", "save it beside this file and name it there".to_owned()));
    }
    if target.contains('\\') {
        return Err(("has backslashes", format!("write \"{}\"", target.replace('\\', "/"))));
    }
    if target.contains(char::is_control) {
        let hint = "write a path relative to this file, with `/` between folders".to_owned();
        return Err(("holds a character that cannot be seen", hint));
    }
    let path = Path::new(target);
    let drive = target.chars().nth(1) == Some(':');
    if path.is_absolute() || drive || path.components().any(|c| matches!(c, Component::Prefix(_))) {
        let hint = "write a path relative to this file, so that the project works on another machine".to_owned();
        return Err(("is a path of one machine", hint));
    }
    Ok(path)
}

/// Returns the path without `.` and `..`, by its words alone.
fn tidy(path: &Path) -> PathBuf {
    let mut out = PathBuf::new();
    for part in path.components() {
        match part {
            Component::CurDir => {}
            Component::ParentDir => {
                out.pop();
            }
            other => out.push(other),
        }
    }
    out
}

/// Says of a pipe or device that it is none of a project's files: what it holds lies in no folder, so that nothing can lie beside it.
fn stream(path: &Path) -> Option<Diagnostic> {
    let there = fs::metadata(path).is_ok_and(|about| !about.is_file() && !about.is_dir());
    there.then(|| {
        let message = format!("`{}` is a pipe or a device, not a file", shown(path));
        Diagnostic::new(Severity::Error, "file/unreadable", message)
            .hint("save it as a file of the project: what a spec names, and its recipe, lie beside it")
    })
}

fn outside(target: &str, span: Span) -> Diagnostic {
    Diagnostic::error("file/outside-project", span, format!("`{target}` lies outside the project folder"))
        .hint("move the file into the project folder, or run with `--allow-outside`")
}

fn trouble(code: &'static str, message: String, span: Option<Span>) -> Diagnostic {
    match span {
        Some(span) => Diagnostic::error(code, span, message),
        None => Diagnostic::new(Severity::Error, code, message),
    }
}

fn unreadable(name: &str, e: &std::io::Error, span: Option<Span>) -> Diagnostic {
    match e.kind() {
        ErrorKind::NotFound => trouble("file/missing", format!("there is no file `{name}`"), span),
        ErrorKind::PermissionDenied => trouble("file/unreadable", format!("`{name}` may not be read"), span),
        kind => trouble("file/unreadable", format!("`{name}` can't be read: {kind}"), span),
    }
}

fn hinted(found: Diagnostic, neighbour: Option<String>) -> Diagnostic {
    match neighbour {
        Some(name) if found.code == "file/missing" => found.hint(format!("there is a `{name}` in that folder")),
        None if found.code == "file/missing" => {
            found.hint("check the name and the folder; nothing there is called alike")
        }
        _ if found.code == "file/unreadable" => found.hint("check what it is and who may read it"),
        _ => found,
    }
}

/// Returns the name in a folder that is nearest to the one asked for.
fn neighbour(folder: &Path, name: &str) -> Option<String> {
    let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
    let mut names: Vec<String> = fs::read_dir(folder)
        .ok()?
        .take(NEIGHBOURS)
        .filter_map(|entry| Some(entry.ok()?.file_name().to_string_lossy().into_owned()))
        .collect();
    names.sort();
    nearest(name, names.iter().map(String::as_str)).map(str::to_owned)
}

/// A path as it was typed: the person knows it, so it may be shown to them.
pub(super) fn shown(path: &Path) -> String {
    path.to_string_lossy().into_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diag::SourceId;

    fn project() -> (tempfile::TempDir, World, Located) {
        let home = tempfile::tempdir().unwrap();
        let jobs = home.path().join("hut/jobs");
        fs::create_dir_all(&jobs).unwrap();
        fs::write(home.path().join("hut/shop.yaml"), "name: Hut workshop\n").unwrap();
        fs::write(home.path().join("hut/common.partspec"), "").unwrap();
        fs::write(home.path().join("secret.partspec"), "").unwrap();
        fs::write(jobs.join("hook.stl"), "solid").unwrap();
        fs::write(jobs.join("hook.partspec"), "part \"hook\" {}\n").unwrap();
        let world = World::around(&jobs.join("hook.partspec"), false).unwrap();
        let spec = world.asked_for(&jobs.join("hook.partspec")).unwrap();
        (home, world, spec)
    }

    fn at() -> Span {
        Span::new(SourceId(0), 0, 1)
    }

    fn code(found: Result<Located, Diagnostic>) -> &'static str {
        found.map_or_else(|d| d.code, |_| "found")
    }

    #[test]
    fn names_are_relative_to_the_nearest_workshop_file() {
        let (_home, world, spec) = project();
        assert_eq!(spec.name, "jobs/hook.partspec");
        assert_eq!(world.named_by(&spec, "hook.stl", at()).unwrap().name, "jobs/hook.stl");
        assert_eq!(world.named_by(&spec, "./../common.partspec", at()).unwrap().name, "common.partspec");
        assert_eq!(world.shop_near(&spec).unwrap().name, "shop.yaml");
        assert_eq!(world.text(&spec, None).unwrap(), "part \"hook\" {}\n");
    }

    #[test]
    fn a_spec_cannot_reach_outside_the_project() {
        let (_home, world, spec) = project();
        assert_eq!(code(world.named_by(&spec, "../../secret.partspec", at())), "file/outside-project");
        // The answer is the same whether or not there is such a file: nothing outside is probed.
        assert_eq!(code(world.named_by(&spec, "../../no-such.partspec", at())), "file/outside-project");
        for target in ["/etc/hosts", "C:/x.stl", "http://x.example/a.stl", "a\\b.stl", "", "a\0b"] {
            assert_eq!(code(world.named_by(&spec, target, at())), "file/name", "{target:?}");
        }
    }

    #[cfg(unix)]
    #[test]
    fn a_link_cannot_lead_outside() {
        let (home, world, spec) = project();
        let link = home.path().join("hut/jobs/link.partspec");
        std::os::unix::fs::symlink(home.path().join("secret.partspec"), link).unwrap();
        assert_eq!(code(world.named_by(&spec, "link.partspec", at())), "file/outside-project");
    }

    #[test]
    fn outside_files_when_allowed_carry_no_machine_path() {
        let (home, _, _) = project();
        let path = home.path().join("hut/jobs/hook.partspec");
        let world = World::around(&path, true).unwrap();
        let spec = world.asked_for(&path).unwrap();
        assert_eq!(world.named_by(&spec, "../../secret.partspec", at()).unwrap().name, "outside/secret.partspec");
    }

    #[test]
    fn a_missing_file_gets_the_nearest_name() {
        let (home, world, spec) = project();
        let missing = world.named_by(&spec, "hok.stl", at()).unwrap_err();
        assert_eq!((missing.code, missing.labels.len()), ("file/missing", 1));
        assert_eq!(missing.hints, ["there is a `hook.stl` in that folder"]);
        let asked = world.asked_for(&home.path().join("hut/jobs/hook.partspek")).unwrap_err();
        assert!(asked.labels.is_empty() && asked.hints.len() == 1, "{asked:?}");
    }

    #[test]
    fn wrong_bytes_and_folders_are_told_apart() {
        let (home, world, _) = project();
        fs::write(home.path().join("hut/bad.partspec"), b"part \xff").unwrap();
        let bad = world.asked_for(&home.path().join("hut/bad.partspec")).unwrap();
        let told = world.text(&bad, None).unwrap_err();
        assert_eq!(told.code, "file/not-text");
        assert!(told.message.contains("offset 5"), "{}", told.message);
        let folder = world.asked_for(&home.path().join("hut/jobs")).unwrap();
        assert_eq!(world.text(&folder, None).unwrap_err().message, "`jobs` is a folder, not a file");
    }
}
