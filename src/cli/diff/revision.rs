//! An earlier state of a repository, laid out in a folder that passes: by `git`, which whoever names a revision has.

use std::path::{Path, PathBuf};
use std::process::Command;

use crate::cli::world::shown;
use crate::diag::{Diagnostic, Severity};

/// The files of a revision in a folder of their own, which goes when this goes.
pub(super) struct Revision {
    folder: tempfile::TempDir,
    /// The top of the repository as it lies on disk.
    top: PathBuf,
}

impl Revision {
    /// Lays out the revision `asked` of the repository around a path. The repository, its index and what is checked out
    /// in it are left as they are.
    ///
    /// # Errors
    ///
    /// `usage/revision` where there is no `git`, no repository or no such revision.
    pub(super) fn check_out(asked: &str, around: &Path) -> Result<Self, Diagnostic> {
        let home = if around.is_dir() { around } else { around.parent().unwrap_or(Path::new("")) };
        let home = if home.as_os_str().is_empty() { Path::new(".") } else { home };
        let failed = |message: String| Diagnostic::new(Severity::Error, "usage/revision", message);
        if asked.starts_with('-') {
            return Err(failed(format!("`{asked}` is no revision")).hint("name a commit, branch or tag, as `HEAD~1`"));
        }
        let top = git(home, &["rev-parse", "--show-toplevel"], None)
            .map_err(|why| failed(format!("no git repository around `{}`: {why}", shown(home))))?;
        let top = PathBuf::from(top.trim_end());
        let commit = format!("{asked}^{{commit}}");
        let hint = "`git log --oneline` lists commits; a branch, a tag or `HEAD~1` will do";
        let commit = git(&top, &["rev-parse", "--verify", "--quiet", &commit], None)
            .map_err(|_| failed(format!("the repository knows no revision `{asked}`")).hint(hint))?;
        let folder = tempfile::tempdir().map_err(|e| failed(format!("no passing folder: {}", e.kind())))?;
        // The project's root is where the repository's is.
        std::fs::create_dir(folder.path().join(".git"))
            .map_err(|e| failed(format!("no passing folder: {}", e.kind())))?;
        let index = folder.path().join(".git/index");
        let prefix = format!("--prefix={}/", folder.path().display());
        git(&top, &["read-tree", commit.trim_end()], Some(&index))
            .and_then(|_| git(&top, &["checkout-index", "--all", &prefix], Some(&index)))
            .map_err(|why| failed(format!("`{asked}` can't be laid out: {why}")))?;
        Ok(Self { folder, top })
    }

    /// Returns where a path of today lies in the earlier state.
    ///
    /// # Errors
    ///
    /// `usage/revision` where the path lies outside the repository.
    pub(super) fn path_of(&self, today: &Path) -> Result<PathBuf, Diagnostic> {
        let outside = || {
            let message = format!("`{}` does not lie in the repository `{}`", shown(today), shown(&self.top));
            Diagnostic::new(Severity::Error, "usage/revision", message)
        };
        // What is gone today may still be named: its folder is there.
        let whole = std::fs::canonicalize(today)
            .or_else(|_| {
                let folder = today.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
                std::fs::canonicalize(folder).map(|f| f.join(today.file_name().unwrap_or_default()))
            })
            .map_err(|_| outside())?;
        let top = std::fs::canonicalize(&self.top).map_err(|_| outside())?;
        let within = whole.strip_prefix(&top).map_err(|_| outside())?;
        Ok(self.folder.path().join(within))
    }
}

/// Runs git in a folder; with `index` it works on that index file.
fn git(folder: &Path, words: &[&str], index: Option<&Path>) -> Result<String, String> {
    let mut command = Command::new("git");
    command.arg("-C").arg(folder).args(words);
    if let Some(index) = index {
        command.env("GIT_INDEX_FILE", index);
    }
    let out = command.output().map_err(|e| format!("`git` can't be run: {}", e.kind()))?;
    if out.status.success() {
        return Ok(String::from_utf8_lossy(&out.stdout).into_owned());
    }
    Err(String::from_utf8_lossy(&out.stderr).lines().next().unwrap_or("`git` failed").to_owned())
}
