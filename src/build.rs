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
/// What the facts of a mesh hang on, beside the mesh: the code that finds them and the libraries it uses.
const GEOMETRY: [&str; 4] = ["src/geometry.rs", "src/geometry", "src/resolve/part.rs", "src/resolve/part"];
const LIBRARIES: &str = "Cargo.lock";

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
    println!("cargo::rustc-env=MAKEREADY_GEOMETRY={:016x}", geometry()?);
    let out = env::var_os("OUT_DIR").ok_or_else(|| io::Error::other("no OUT_DIR"))?;
    fs::write(Path::new(&out).join("catalogue.index"), index)
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
    // FNV-1a (G. Fowler, L. Noll, K.-P. Vo), 64 bits.
    let mut digest = 0xcbf2_9ce4_8422_2325_u64;
    for file in files {
        let name = file.to_string_lossy().replace('\\', "/");
        for byte in name.bytes().chain(fs::read(&file)?) {
            digest = (digest ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3);
        }
    }
    Ok(digest)
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
