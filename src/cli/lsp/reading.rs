//! What a document says, read at each change without its mesh; and what its parts come to, made in the background.

use std::path::Path;
use std::sync::Arc;

use super::documents::{Document, Kind};
use crate::cli::draft::within as near_a_standard_size;
use crate::cli::knowledge::Loaded;
use crate::cli::pipeline::{self, Compiled, Options};
use crate::cli::world::{LARGEST_TEXT, Open, World};
use crate::diag::{Diagnostic, Severity, Source, SourceId, Sources};
use crate::recipe::{Conflict, Recipe};
use crate::render::draft;
use crate::semantics::{self, Found};
use crate::syntax;
use crate::syntax::tree::Tree;

/// A version of a document as it reads.
#[derive(Debug)]
pub(super) struct Reading {
    pub version: i32,
    pub diagnostics: Vec<Diagnostic>,
    pub sources: Sources,
    /// The document's own text among the sources.
    pub own: SourceId,
    /// The document itself, then what it imports; none of a file that is not in our language.
    pub trees: Vec<Tree>,
    /// What each tree says.
    pub found: Vec<Vec<Found>>,
    /// What is known of materials, workshop and rules.
    pub loaded: Option<Arc<Loaded>>,
    /// Names of files within the project begin here.
    pub root: std::path::PathBuf,
}

/// What a spec comes to.
#[derive(Debug)]
pub(super) struct Outcome {
    pub version: i32,
    pub compiled: Compiled,
    /// The document's own text among the sources.
    pub own: SourceId,
    /// What is to be said of it, its refusals at the lines that stand in the way.
    pub findings: Vec<Diagnostic>,
    /// Lines a spec could say of its mesh, each with what it would be.
    pub lines: Vec<(String, String)>,
}

/// Returns the project around a document, with the open texts in place of its files.
pub(super) fn world(path: &Path, open: &Arc<Open>) -> Option<World> {
    // A text that is not saved yet is in the project of the folder it is to lie in.
    let there = path.ancestors().find(|p| p.exists())?;
    World::around(there, false).ok().map(|world| world.with_open(Arc::clone(open)))
}

/// Reads a document.
pub(super) fn read(document: &Document, open: &Arc<Open>, options: &Options) -> Reading {
    let mut reading = Reading {
        version: document.version,
        diagnostics: Vec::new(),
        sources: Sources::default(),
        own: SourceId(0),
        trees: Vec::new(),
        found: Vec::new(),
        loaded: None,
        root: document.path.parent().unwrap_or(Path::new("")).to_path_buf(),
    };
    let Some(world) = world(&document.path, open) else { return reading };
    reading.root = world.root().to_path_buf();
    let checked = match document.kind {
        Kind::Other => return reading,
        Kind::Spec => {
            let glance = pipeline::glance(&world, &document.path, options);
            reading.loaded = glance.loaded;
            (reading.trees, reading.found) = (glance.trees, glance.said);
            Compiled { diagnostics: glance.diagnostics, sources: glance.sources, parts: Vec::new() }
        }
        _ => pipeline::check_one(&world, &document.path, options),
    };
    (reading.diagnostics, reading.sources) = (checked.diagnostics, checked.sources);
    let name = world.asked_for(&document.path).map(|file| file.name).unwrap_or_default();
    let own =
        reading.sources.iter().filter(|(_, s)| s.name == name && s.text == *document.text).map(|(id, _)| id).last();
    // Where nothing of it was read the text is still there to be looked at, unless it is too large for that.
    let fits = document.text.len() as u64 <= LARGEST_TEXT;
    reading.own =
        own.unwrap_or_else(|| reading.sources.add(Source::new(name, if fits { &*document.text } else { "" })));
    if document.kind.is_language() && fits && reading.trees.is_empty() {
        reading.parse();
    }
    if reading.loaded.is_none() {
        let near = world.asked_for(&document.path).and_then(|file| pipeline::knowledge_for(&world, &file, options));
        reading.loaded = near.ok().map(|(loaded, _)| loaded);
    }
    reading
}

impl Reading {
    /// Reads the trees of the document and of what it imports: all texts among the sources that came with it.
    fn parse(&mut self) {
        let own = self.own;
        let imported = self.sources.iter().filter(|(id, s)| *id > own && s.name.ends_with(".partspec"));
        let ids: Vec<SourceId> = std::iter::once(own).chain(imported.map(|(id, _)| id)).collect();
        let parse = |id: SourceId| {
            let text = self.sources.get(id).map_or("", |s| s.text.as_str());
            syntax::parse(id, text).value.unwrap_or(Tree { source: id, statements: Vec::new() })
        };
        self.trees = ids.into_iter().map(parse).collect();
        self.found = semantics::check_keeping(&self.trees, &self.sources).1;
    }

    /// Returns the document's own text.
    pub(super) fn text(&self) -> &str {
        self.sources.get(self.own).map_or("", |s| s.text.as_str())
    }

    /// Returns the document's own statements, as far as they could be read.
    pub(super) fn statements(&self) -> &[Found] {
        self.found.first().map_or(&[], Vec::as_slice)
    }

    /// Returns the document's own tree.
    pub(super) fn tree(&self) -> Option<&Tree> {
        self.trees.first()
    }
}

/// Compiles a spec to its end.
pub(super) fn compile(document: &Document, open: &Arc<Open>, options: &Options) -> Option<Outcome> {
    let world = world(&document.path, open)?;
    let name = world.asked_for(&document.path).ok()?.name;
    let mut lines = Vec::new();
    let compiled = pipeline::compile_visiting(&world, &document.path, options, &mut |rules, _, _| {
        let features = &rules.world.part.features;
        lines = draft::lines(&features.holes, &features.planes, near_a_standard_size);
    });
    let is_own = |s: &Source| s.name == name && s.text == *document.text;
    let own = compiled.sources.iter().filter(|(_, s)| is_own(s)).map(|(id, _)| id).last()?;
    let mut findings = compiled.diagnostics.clone();
    findings.extend(compiled.parts.iter().flat_map(|part| in_the_way(&part.recipe)));
    Some(Outcome { version: document.version, compiled, own, findings, lines })
}

/// Says of each set of lines that cannot stand together that it cannot, and what would free it.
fn in_the_way(recipe: &Recipe) -> Vec<Diagnostic> {
    let ways = recipe.relaxations.iter().map(|way| way.text.to_string());
    let told = |conflict: &Conflict| {
        let message = format!("{}: {}", recipe.part, conflict.text);
        let mut found = Diagnostic::new(Severity::Error, "spec/cannot-be-made", message);
        for line in &conflict.requirements {
            if let Some(at) = line.place.at {
                found = found.label(at, "stands in the way");
            }
        }
        ways.clone().fold(found, Diagnostic::hint)
    };
    recipe.conflicts.iter().map(told).collect()
}
