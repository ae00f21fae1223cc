//! Writing results: whole files or none.

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;

/// Files that belong together: all of them are complete on disk before the first takes its name.
#[derive(Default)]
pub(super) struct Batch {
    ready: Vec<(NamedTempFile, PathBuf)>,
}

impl Batch {
    /// Writes a file under a passing name beside its place. A file that already holds just this text is left alone,
    /// so that its date goes on saying when the recipe last changed.
    ///
    /// # Errors
    ///
    /// Says which file could not be written, and why.
    pub(super) fn add(&mut self, path: &Path, text: &str) -> Result<(), String> {
        self.add_bytes(path, text.as_bytes())
    }

    /// As [`Batch::add`], for a file that is no text.
    ///
    /// # Errors
    ///
    /// Says which file could not be written, and why.
    pub(super) fn add_bytes(&mut self, path: &Path, bytes: &[u8]) -> Result<(), String> {
        if fs::read(path).is_ok_and(|old| old == bytes) {
            return Ok(());
        }
        let failed = |e: std::io::Error| format!("`{}` can't be written: {}", path.display(), e.kind());
        // Told before any other file of the batch takes its name.
        if path.is_dir() {
            return Err(failed(std::io::ErrorKind::IsADirectory.into()));
        }
        let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
        let mut file = in_folder(folder).map_err(failed)?;
        file.write_all(bytes).and_then(|()| file.flush()).map_err(failed)?;
        self.ready.push((file, path.to_path_buf()));
        Ok(())
    }

    /// As [`Batch::finish`], for what is written once and cannot be made again: on the disk before it takes its name, so that
    /// a power cut leaves what was there or what is new.
    ///
    /// # Errors
    ///
    /// Says which file could not be written, and why.
    pub(super) fn finish_on_disk(self) -> Result<(), String> {
        for (file, path) in &self.ready {
            file.as_file().sync_all().map_err(|e| format!("`{}` can't be written: {}", path.display(), e.kind()))?;
        }
        self.finish()
    }

    /// Gives every file its name.
    ///
    /// # Errors
    ///
    /// Says which file could not take its name.
    pub(super) fn finish(self) -> Result<(), String> {
        for (file, path) in self.ready {
            file.persist(&path).map_err(|e| format!("`{}` can't be written: {}", path.display(), e.error.kind()))?;
        }
        Ok(())
    }
}

/// A new file with the usual permissions; by itself a passing file would be readable by its owner only.
fn in_folder(folder: &Path) -> std::io::Result<NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".makeready-");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    builder.tempfile_in(folder)
}

/// Longest head of a file name, bytes.
const LONGEST_STEM: usize = 120;

/// Returns the part's name as the head of a file name: letters, digits, `-`, `_` and `.` stay, anything else becomes
/// a hyphen. A name that would be hidden, empty or a device of some system gets `part-` in front.
pub(super) fn file_stem(part: &str) -> String {
    let mut kept = String::new();
    for c in part.chars().map(|c| if c.is_alphanumeric() || "-_.".contains(c) { c } else { '-' }) {
        // Systems allow 255 bytes for a name, and letters beyond the Latin ones take up to four each.
        if kept.len() + c.len_utf8() > LONGEST_STEM {
            break;
        }
        kept.push(c);
    }
    let device = ["con", "prn", "aux", "nul"].contains(&kept.split('.').next().unwrap_or("").to_lowercase().as_str());
    if kept.is_empty() || kept.starts_with('.') || device { format!("part-{kept}") } else { kept }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_batch_writes_all_or_nothing() {
        let home = tempfile::tempdir().unwrap();
        let (a, b) = (home.path().join("a.recipe.md"), home.path().join("no-folder/b.recipe.yaml"));
        let mut batch = Batch::default();
        batch.add(&a, "page\n").unwrap();
        assert!(batch.add(&b, "data\n").unwrap_err().contains("can't be written"));
        drop(batch);
        assert_eq!(fs::read_dir(home.path()).unwrap().count(), 0);

        let folder = home.path().join("b.recipe.yaml");
        fs::create_dir(&folder).unwrap();
        let mut batch = Batch::default();
        batch.add(&a, "page\n").unwrap();
        assert!(batch.add(&folder, "data\n").unwrap_err().contains("can't be written"));
        drop(batch);
        assert!(!a.exists(), "a page without its data is half a recipe");

        let mut batch = Batch::default();
        batch.add(&a, "page\n").unwrap();
        batch.finish().unwrap();
        assert_eq!(fs::read_to_string(&a).unwrap(), "page\n");
    }

    #[cfg(unix)]
    #[test]
    fn recipes_can_be_read_by_others() {
        use std::os::unix::fs::PermissionsExt;
        let home = tempfile::tempdir().unwrap();
        let path = home.path().join("a.md");
        let mut batch = Batch::default();
        batch.add(&path, "x").unwrap();
        batch.finish().unwrap();
        let plain = home.path().join("plain");
        fs::write(&plain, "x").unwrap();
        let mode = |p: &Path| fs::metadata(p).unwrap().permissions().mode() & 0o777;
        assert_eq!(mode(&path), mode(&plain));
    }

    #[test]
    fn stems_of_any_script_fit_into_a_name() {
        let stem = file_stem(&"鉤".repeat(500));
        assert!(stem.len() <= 120 && stem.chars().all(|c| c == '鉤'), "{stem}");
    }

    #[test]
    fn stems_are_names_of_files() {
        for (part, stem) in [
            ("vane-bracket", "vane-bracket"),
            ("a/../b c", "a-..-b-c"),
            ("../x", "part-..-x"),
            ("", "part-"),
            ("Türgriff 2", "Türgriff-2"),
            ("nul", "part-nul"),
        ] {
            assert_eq!(file_stem(part), stem);
        }
    }
}
