//! Reads the built-in catalogue once, so that the program need not at every start: see `src/catalogue/index.rs`.

#[allow(dead_code)]
#[path = "diag.rs"]
mod diag;

/// The program's own modules, under the paths by which they know each other.
#[path = "catalogue"]
mod catalogue {
    #[allow(dead_code)]
    pub mod index;
    #[allow(dead_code)]
    pub mod node;
}

use std::path::{Path, PathBuf};
use std::{env, fs, io};

const CATALOGUE: &str = "recipes/catalogue";

fn main() -> io::Result<()> {
    for shared in ["src/diag.rs", "src/catalogue/index.rs", "src/catalogue/node.rs", CATALOGUE] {
        println!("cargo::rerun-if-changed={shared}");
    }
    let mut files: Vec<PathBuf> =
        fs::read_dir(CATALOGUE)?.map(|entry| entry.map(|e| e.path())).collect::<Result<_, _>>()?;
    files.retain(|path| path.extension().is_some_and(|e| e == "yaml"));
    files.sort();
    let mut index = Vec::new();
    for path in files {
        let name = format!("{CATALOGUE}/{}", path.file_name().unwrap_or_default().to_string_lossy());
        let text = fs::read_to_string(&path)?;
        match catalogue::node::parse_text(&text, diag::SourceId(0)) {
            Ok(tree) => catalogue::index::write(&mut index, &name, &text, &tree),
            // Left out of the index, the file is read at start, and its fault reported with its place.
            Err(fault) => println!("cargo::warning={name}: {}", fault.message),
        }
    }
    let out = env::var_os("OUT_DIR").ok_or_else(|| io::Error::other("no OUT_DIR"))?;
    fs::write(Path::new(&out).join("catalogue.index"), index)
}
