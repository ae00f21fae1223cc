//! Pages that no longer stand: those of a spec that turned bad are taken out of the way, and those that somebody wrote into
//! are kept aside before another takes their place.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use super::compile::with_end;
use super::terminal::Terminal;
use super::world::shown;

/// What the names of a recipe's files end with.
const ENDS: [&str; 3] = ["recipe.md", "recipe.yaml", "recipe.svg"];
/// What is put behind the name of a file that no longer stands.
const WITHDRAWN: &str = "withdrawn";
/// What is put behind the name of a page that somebody wrote into.
const EDITED: &str = "edited";
/// Pages kept aside of one recipe; beyond so many the oldest names are taken again.
const MOST_KEPT: usize = 99;
/// How the last line of a page begins, which holds the digest of all before it.
const SEAL: &str = "<!-- page ";

/// Returns the page with a last line by which it can be told later whether somebody wrote into it.
pub(super) fn sealed(page: &str) -> String {
    format!("{page}\n{SEAL}{} -->\n", digest(page))
}

/// Line ends differ between systems, and a page that went through version control may have others than it was written with.
fn digest(page: &str) -> String {
    let lines: Vec<&str> = page.lines().collect();
    blake3::hash(lines.join("\n").as_bytes()).to_hex().chars().take(16).collect()
}

/// Whether a page with a seal no longer says what it was sealed for.
fn is_edited(page: &str) -> bool {
    let Some(at) = page.rfind(SEAL) else { return false };
    let (body, seal) = page.split_at(at);
    let body = body.strip_suffix('\n').map_or(body, |b| b.strip_suffix('\r').unwrap_or(b));
    let same = seal.trim_end() == format!("{SEAL}{} -->", digest(body));
    !same
}

/// Puts a page that somebody wrote into aside, and says so. Nothing is done where it is as it was written, or is none.
pub(super) fn keep_aside(page: &Path, terminal: &Terminal) {
    if !std::fs::read_to_string(page).is_ok_and(|text| is_edited(&text)) {
        return;
    }
    let names =
        (1..=MOST_KEPT).map(|n| if n == 1 { with_end(page, EDITED) } else { with_end(page, &format!("{EDITED}-{n}")) });
    let free = names.clone().find(|name| !name.exists()).or_else(|| names.clone().next());
    let Some(aside) = free.filter(|aside| std::fs::rename(page, aside).is_ok()) else { return };
    terminal.say(&format!(
        "note[page/edited]: `{}` was written into by hand: kept as `{}`\n  hint: what was noted there belongs into the \
         records or the spec; the new page does not hold it",
        shown(page),
        shown(&aside)
    ));
}

/// Takes the picture of an earlier recipe away where the new one has none.
pub(super) fn without_picture(head: &Path, terminal: &Terminal) {
    withdraw(head, &["recipe.svg"], "the recipe holds nothing to print from any more", terminal);
}

/// A part's recipe is written anew: what of it was withdrawn before is of no more use.
pub(super) fn stands_again(head: &Path) {
    for end in ENDS {
        // It is there or not; that it cannot be taken away harms nobody.
        let _ = std::fs::remove_file(with_end(&with_end(head, end), WITHDRAWN));
    }
}

/// Takes the recipes of a spec out of the way that are not among those written now: it has errors, or its part has another
/// name.
pub(super) fn of_spec(spec: &Path, folder: &Path, written: &BTreeSet<PathBuf>, terminal: &Terminal) {
    let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
    let Ok(spec) = std::fs::canonicalize(spec) else { return };
    let names = std::fs::read_dir(folder).into_iter().flatten().filter_map(Result::ok).map(|e| e.file_name());
    let mut heads: Vec<PathBuf> = names
        .filter_map(|name| Some(folder.join(name.to_str()?.strip_suffix(".recipe.yaml")?)))
        .filter(|head| !written.contains(&bare(head)) && is_of(head, &spec))
        .collect();
    heads.sort();
    for head in heads {
        withdraw(&head, &ENDS, "its spec has errors, or its part is called otherwise now", terminal);
    }
}

/// A path without the dot it may begin with.
pub(super) fn bare(path: &Path) -> PathBuf {
    path.strip_prefix("./").unwrap_or(path).to_path_buf()
}

/// Whether a recipe says that it was made from this spec.
fn is_of(head: &Path, spec: &Path) -> bool {
    let data = std::fs::read_to_string(with_end(head, "recipe.yaml")).unwrap_or_default();
    let named = data.lines().find_map(|line| line.strip_prefix("spec: "));
    named.is_some_and(|name| spec.ends_with(name.trim().trim_matches(['"', '\''])))
}

fn withdraw(head: &Path, ends: &[&str], why: &str, terminal: &Terminal) {
    let mut gone = Vec::new();
    for end in ends {
        let file = with_end(head, end);
        if file.is_file() && std::fs::rename(&file, with_end(&file, WITHDRAWN)).is_ok() {
            gone.push(format!("`{}`", shown(&file)));
        }
    }
    if !gone.is_empty() {
        terminal.say(&format!(
            "note[recipe/withdrawn]: {} from before no longer stands, for {why}: renamed to end in .{WITHDRAWN}",
            gone.join(", ")
        ));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_page_that_was_written_into_is_told_from_one_that_was_not() {
        let page = sealed("# hook\n\n- [ ] Dry it.\n");
        assert!(!is_edited(&page), "{page}");
        assert!(!is_edited(&page.replace('\n', "\r\n")), "line ends are no writing");
        assert!(is_edited(&page.replace("[ ]", "[x]")), "a tick is");
        assert!(is_edited(&format!("{page}\nby hand: 8.02\n")), "so is a line at the end");
        assert!(!is_edited("# a page of before, without a seal\n"));
    }
}
