//! Reads the built-in catalogue and rules once, so that the program need not at every start: see
//! `src/catalogue/index.rs` and `src/syntax/index.rs`.

#![allow(clippy::disallowed_methods, clippy::print_stdout, reason = "a build script reads files and talks to cargo")]

#[allow(dead_code, reason = "what the program alone needs of it")]
#[path = "diag.rs"]
mod diag;
#[allow(dead_code, reason = "what the program alone needs of it")]
#[path = "leb128.rs"]
mod leb128;
#[allow(dead_code, reason = "what the program alone needs of it")]
#[path = "number.rs"]
mod number;
#[allow(dead_code, reason = "what the program alone needs of it")]
#[path = "quantity.rs"]
mod quantity;

/// The program's own modules, under the paths by which they know each other.
#[path = "catalogue"]
mod catalogue {
    #[allow(dead_code, reason = "what the program alone needs of it")]
    pub mod index;
    #[allow(dead_code, reason = "what the program alone needs of it")]
    pub mod node;
}

#[path = "syntax"]
mod syntax {
    mod braces;
    #[allow(dead_code, reason = "what the program alone needs of it")]
    pub mod index;
    mod parse;
    #[allow(dead_code, reason = "what the program alone needs of it")]
    pub mod text;
    #[allow(dead_code, reason = "what the program alone needs of it")]
    pub mod tree;

    pub use parse::{parse, parse_expression};
}

use std::path::{Path, PathBuf};
use std::{env, fs, io};

use diag::SourceId;
use syntax::text::{Ready, expressions};
use syntax::tree::Statement;

const CATALOGUE: &str = "recipes/catalogue";
const RULES: &str = "recipes/rules";
const READ: &[&str] = &[
    "grammar/makeready.pest",
    "src/build.rs",
    "src/catalogue/index.rs",
    "src/catalogue/node.rs",
    "src/diag.rs",
    "src/leb128.rs",
    "src/number.rs",
    "src/quantity.rs",
    "src/syntax",
    CATALOGUE,
    RULES,
];
/// What the facts of a mesh hang on, beside the mesh: the code that finds them and the libraries it uses.
const GEOMETRY: [&str; 8] = [
    "src/geometry",
    "src/elasticity",
    "src/field.rs",
    "src/field",
    "src/resolve/elastic.rs",
    "src/resolve/elastic",
    "src/resolve/part.rs",
    "src/resolve/part",
];
const LIBRARIES: &str = "Cargo.lock";

fn main() -> io::Result<()> {
    for read in READ {
        println!("cargo::rerun-if-changed={read}");
    }
    let (mut index, mut values) = (Vec::new(), DIGEST);
    for (name, text) in files(CATALOGUE, "yaml")? {
        // What is assumed where there is no workshop counts there alone.
        if !name.ends_with("/bench.yaml") {
            let said = catalogue::node::values(&text, &[]).map_or_else(|| text.clone(), |values| values.rest);
            values = digest(values, said.bytes());
        }
        match catalogue::node::parse_text(&text, SourceId(0)) {
            Ok(tree) => catalogue::index::write(&mut index, &name, &text, &tree),
            // Left out of the index, the file is read at start, and its fault reported with its place.
            Err(fault) => println!("cargo::warning={name}: {}", fault.message),
        }
    }
    println!("cargo::rustc-env=MAKEREADY_CATALOGUE={values:016x}");
    leave("catalogue.index", &index)?;
    let mut index = Vec::new();
    for (name, text) in files(RULES, "rules")? {
        let report = syntax::parse(SourceId(0), &text);
        match (report.value, report.diagnostics.first()) {
            (Some(tree), None) => syntax::index::write(&mut index, &name, &text, &tree, &in_texts(&tree.statements)),
            (_, fault) => println!("cargo::warning={name}: {}", fault.map_or("unreadable", |f| f.message.as_str())),
        }
    }
    println!("cargo::rustc-env=MAKEREADY_GEOMETRY={:016x}", geometry()?);
    leave("rules.index", &index)
}

/// Returns the names and texts of a folder's files, by name.
fn files(folder: &str, ending: &str) -> io::Result<Vec<(String, String)>> {
    let mut paths: Vec<PathBuf> =
        fs::read_dir(folder)?.map(|entry| entry.map(|e| e.path())).collect::<Result<_, _>>()?;
    paths.retain(|path| path.extension().is_some_and(|e| e == ending));
    paths.sort();
    let named = |path: PathBuf| {
        let name = format!("{folder}/{}", path.file_name().unwrap_or_default().to_string_lossy());
        Ok((name, fs::read_to_string(&path)?))
    };
    paths.into_iter().map(named).collect()
}

fn leave(name: &str, bytes: &[u8]) -> io::Result<()> {
    let out = env::var_os("OUT_DIR").ok_or_else(|| io::Error::other("no OUT_DIR"))?;
    fs::write(Path::new(&out).join(name), bytes)
}

/// Returns the expressions in the texts of rules. A text that is none of the kind that has any is passed over.
fn in_texts(rules: &[Statement]) -> Ready {
    let said = rules.iter().filter_map(|rule| rule.block.as_ref()).flat_map(|block| &block.statements);
    let texts = said.flat_map(|statement| &statement.arguments);
    texts.filter_map(|a| expressions(a.as_text()?, a.span).ok()).flatten().collect()
}

/// Returns a digest of the geometry's source: facts kept by another version of it are not to be used. Not a secure one;
/// nobody is kept out by it.
fn geometry() -> io::Result<u64> {
    let mut files = Vec::new();
    for place in GEOMETRY.iter().chain([&LIBRARIES]).map(Path::new).filter(|p| p.exists()) {
        println!("cargo::rerun-if-changed={}", place.display());
        below(place, &mut files)?;
    }
    files.sort();
    let mut all = DIGEST;
    for file in files {
        let name = file.to_string_lossy().replace('\\', "/");
        all = digest(all, name.bytes().chain(fs::read(&file)?));
    }
    Ok(all)
}

/// The digest of nothing: FNV-1a (G. Fowler, L. Noll, K.-P. Vo), 64 bits.
const DIGEST: u64 = 0xcbf2_9ce4_8422_2325;

fn digest(of_those_before: u64, bytes: impl Iterator<Item = u8>) -> u64 {
    bytes.fold(of_those_before, |all, byte| (all ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3))
}

fn below(place: &Path, files: &mut Vec<PathBuf>) -> io::Result<()> {
    if place.is_file() {
        files.push(place.to_path_buf());
        return Ok(());
    }
    for entry in fs::read_dir(place)? {
        below(&entry?.path(), files)?;
    }
    Ok(())
}
