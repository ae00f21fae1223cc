//! The harness of the tests that run the program: a workshop in a folder of its own, in which specs are compiled
//! ([`Workshop::compile`], in this process) and commands are run ([`Workshop::run`], the program as a user has it).
//!
//! Nothing of whoever runs the tests gets in: the cache is off, colour and width are the program's own, and nobody types.

pub mod read;
pub mod reading;
pub mod shapes;

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::LazyLock;

use makeready::cli::cache::Cache;
use makeready::cli::pipeline::{Compiled, Options, compile_one};
use makeready::cli::world::World;
use read::Recipe;
use serde_json::Value;

use crate::schema;

/// A temporary folder with what a job needs. It goes when this goes.
pub struct Workshop {
    folder: tempfile::TempDir,
}

impl Workshop {
    pub fn empty() -> Self {
        Self { folder: tempfile::tempdir().unwrap() }
    }

    /// The mountain hut's workshop: the examples, without the recipes committed beside them.
    pub fn hut() -> Self {
        let made = Self::empty();
        copy(&root().join("examples"), made.folder());
        made
    }

    /// What `makeready new NAME` leaves: a folder NAME with a spec, its mesh and a shop file.
    pub fn starter(name: &str) -> Self {
        let made = Self::empty();
        let run = made.run(&["new", name]);
        assert_eq!(run.code, 0, "{}", run.stderr);
        made
    }

    pub fn folder(&self) -> &Path {
        self.folder.path()
    }

    pub fn path(&self, file: &str) -> PathBuf {
        self.folder().join(file)
    }

    /// Writes a file, and the folders it lies in.
    pub fn write(&self, file: &str, content: impl AsRef<[u8]>) {
        let path = self.path(file);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, content).unwrap();
    }

    pub fn read(&self, file: &str) -> String {
        let path = self.path(file);
        fs::read_to_string(&path).unwrap_or_else(|e| panic!("{file}: {e}"))
    }

    /// The names in a folder, in order.
    pub fn names(&self, folder: &str) -> Vec<String> {
        let entries = fs::read_dir(self.path(folder)).unwrap();
        let mut names: Vec<String> = entries.map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        names
    }

    /// The workshop with a file more, or another one in its place.
    pub fn with(self, file: &str, content: impl AsRef<[u8]>) -> Self {
        self.write(file, content);
        self
    }

    /// The workshop with a mesh of `tests/meshes` or `tests/meshes/layers` under a name of its own.
    pub fn with_mesh(self, mesh: &str, file: &str) -> Self {
        let bytes = fs::read(shapes::stored(mesh)).unwrap();
        self.with(file, bytes)
    }

    /// Replaces a piece of a file, which must be there.
    pub fn change(self, file: &str, from: &str, to: &str) -> Self {
        let text = self.read(file);
        assert!(text.contains(from), "{file} does not hold `{from}`");
        self.with(file, text.replace(from, to))
    }

    /// Compiles a spec in this process.
    pub fn compile(&self, spec: &str) -> Compiled {
        self.compile_by(spec, &Options::default())
    }

    pub fn compile_by(&self, spec: &str, options: &Options) -> Compiled {
        compile(&self.path(spec), options)
    }

    /// The recipe of a spec's first part. A spec with errors fails the test.
    pub fn recipe(&self, spec: &str) -> Recipe {
        first(self.compile(spec))
    }

    /// Runs the program here.
    pub fn run(&self, args: &[&str]) -> Run {
        makeready(self.folder(), args)
    }

    /// The recipe as the program prints it for other programs.
    pub fn json(&self, spec: &str) -> Value {
        let printed = self.run(&["compile", spec, "--print", "json"]).json();
        let parts = printed.as_array().map_or(std::slice::from_ref(&printed), Vec::as_slice);
        parts.iter().for_each(hold_against_the_schema);
        printed
    }
}

/// The repository.
pub fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap().map(Result::unwrap) {
        let (path, target) = (entry.path(), to.join(entry.file_name()));
        if path.is_dir() {
            copy(&path, &target);
        } else if !path.to_string_lossy().contains(".recipe.") {
            fs::copy(path, target).unwrap();
        }
    }
}

/// Compiles the spec at a path, in this process.
pub fn compile(path: &Path, options: &Options) -> Compiled {
    let world = World::around(path, false).unwrap();
    static KEPT: LazyLock<Cache> = LazyLock::new(|| Cache::at(cache_folder()));
    let kept = !options.afresh && options.cache.is_none();
    let cache = if kept { Some(KEPT.clone()) } else { options.cache.clone() };
    compile_one(&world, path, &Options { cache, ..options.clone() })
}

/// The recipe of the first part. Errors fail the test.
pub fn first(mut compiled: Compiled) -> Recipe {
    assert!(!compiled.parts.is_empty(), "{:#?}", compiled.diagnostics);
    let recipe = compiled.parts.remove(0).recipe;
    hold_against_the_schema(&serde_json::to_value(&recipe).unwrap());
    Recipe::from(&recipe)
}

/// Every recipe a test looks at is as the schema of the machine form says.
#[track_caller]
fn hold_against_the_schema(recipe: &Value) {
    static STRICT: LazyLock<jsonschema::Validator> = LazyLock::new(schema::strict);
    assert_eq!(schema::faults(&STRICT, recipe), Vec::<String>::new());
}

/// What a call of the program left behind.
pub struct Run {
    pub code: i32,
    pub stdout: String,
    pub stderr: String,
}

impl Run {
    fn of(out: std::process::Output) -> Self {
        Self {
            code: out.status.code().unwrap(),
            stdout: String::from_utf8(out.stdout).unwrap(),
            stderr: String::from_utf8(out.stderr).unwrap(),
        }
    }

    /// What was printed, as JSON.
    pub fn json(&self) -> Value {
        serde_json::from_str(&self.stdout).unwrap_or_else(|e| panic!("{e}: {}{}", self.stdout, self.stderr))
    }
}

/// Runs the program in a folder.
pub fn makeready(folder: &Path, args: &[&str]) -> Run {
    Run::of(program(folder).args(args).output().unwrap())
}

/// Runs the program in a folder with a cache there.
pub fn makeready_with_cache(folder: &Path, cache: &Path, args: &[&str]) -> Run {
    Run::of(program(folder).env("MAKEREADY_CACHE", cache).args(args).output().unwrap())
}

/// Runs the program in a folder on so many cores.
pub fn makeready_on_cores(folder: &Path, cores: usize, args: &[&str]) -> Run {
    Run::of(program(folder).env("RAYON_NUM_THREADS", cores.to_string()).args(args).output().unwrap())
}

/// Runs the program with nobody to read what it prints.
pub fn makeready_into_closed_pipe(folder: &Path, args: &[&str]) -> Run {
    let mut child = program(folder).args(args).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    drop(child.stdout.take());
    Run::of(child.wait_with_output().unwrap())
}

fn program(folder: &Path) -> Command {
    let mut program = Command::new(env!("CARGO_BIN_EXE_makeready"));
    program.current_dir(folder).stdin(Stdio::null());
    for of_the_user in ["NO_COLOR", "CLICOLOR", "CLICOLOR_FORCE", "COLUMNS"] {
        program.env_remove(of_the_user);
    }
    program.env("MAKEREADY_CACHE", cache_folder());
    program
}

/// Where all tests keep facts and fields of meshes, from one run to the next: most of their time went into solving the same
/// few bodies again. An entry is found by the text of the code that makes it, so a change of that code finds none.
pub fn cache_folder() -> &'static Path {
    Path::new(concat!(env!("CARGO_TARGET_TMPDIR"), "/kept-by-tests"))
}

/// Counts what a test that goes over data has looked at, so that it does not pass by having looked at nothing.
#[derive(Default)]
pub struct Seen(BTreeMap<&'static str, usize>);

impl Seen {
    pub fn one(&mut self, what: &'static str) {
        *self.0.entry(what).or_default() += 1;
    }

    /// Each of these was met at least once.
    #[track_caller]
    pub fn each(&self, what: &[&str]) {
        let never: Vec<_> = what.iter().filter(|w| !self.0.contains_key(**w)).collect();
        assert!(never.is_empty(), "{never:?} never came up; seen: {:?}", self.0);
    }
}

/// The shop file of one machine, with one spool of a material in it.
pub fn one_spool(material: &str, colour: &str) -> String {
    ONE_SPOOL.replace("MATERIAL", material).replace("COLOUR", colour)
}

const ONE_SPOOL: &str = "name: Hut
printers:
  - name: Bench
    build: [220 mm, 220 mm, 250 mm]
    nozzle_limit: 290 °C
    bed_limit: 110 °C
    enclosed: yes
    drive: direct
    now: { material: MATERIAL, spool: one, nozzle: brass-04, surface: textured-pei, levelled: yes }
nozzles:
  - { name: brass-04, bore: 0.4 mm, metal: brass }
surfaces: [textured-pei]
agents: [pva-glue]
spools:
  - { name: one, material: MATERIAL, colour: COLOUR, left: 900 g }
";

/// The recipe of a bar with its faces `root` toward -x and `end` toward +x named, and these lines in its spec.
pub fn bar(shop: Option<&str>, size: [f64; 3], lines: &str) -> Recipe {
    let mut made = Workshop::empty().with("bar.stl", shapes::block(size));
    if let Some(shop) = shop {
        made = made.with("shop.yaml", shop);
    }
    let spec = format!(
        "part \"bar\" {{\n  mesh \"bar.stl\" in mm\n  face \"root\" toward -x\n  face \"end\" toward +x\n{lines}\n}}\n"
    );
    made.with("bar.partspec", spec).recipe("bar.partspec")
}
