//! What is known for a spec: built in, and of its workshop; read once for all specs of one workshop.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::{Arc, LazyLock, Mutex};

use super::super::cache::Key;
use super::super::knowledge;
use super::super::knowledge::Loaded;
use super::super::world::{Located, World};
use super::memory::digest_of;
use super::{Compiled, Options};
use crate::diag::{Diagnostic, Source, Sources};
use crate::recipe::Input;

/// Knowledge by the digest of all it is made from, so that a thousand specs of one workshop load it once.
pub(super) type Workshops = BTreeMap<Key, Arc<Loaded>>;

/// Most workshops that are kept at a time.
pub(super) const MOST_WORKSHOPS: usize = 64;

pub(super) static WORKSHOPS: LazyLock<Mutex<Workshops>> = LazyLock::new(Mutex::default);

/// Loads what is built in, if it is not loaded yet.
pub fn load_knowledge() {
    knowledge::built_in();
}

/// Returns what is known for a spec: built in, with the nearest (or the given) workshop and its rules on top.
pub(in crate::cli) fn knowledge_for(
    world: &World,
    spec: &Located,
    options: &Options,
) -> Result<(Arc<Loaded>, Vec<Input>), Diagnostic> {
    let found = match &options.shop {
        Some(path) => Some(world.asked_for(path)?),
        None => world.shop_near(spec),
    };
    let Some(file) = found else { return Ok((Arc::clone(knowledge::built_in()), Vec::new())) };
    let text = match &options.shop_text {
        Some(text) => text.clone(),
        None => world.text(&file, None)?,
    };
    let (name, mut inputs) = (file.name.clone(), Vec::new());
    let mut rules = Vec::new();
    for own in world.rules_beside(&file)? {
        let text = world.text(&own, None)?;
        inputs.push(Input { name: own.name.clone(), digest: String::new() });
        rules.push(Source::new(own.name, text));
    }
    // The names count as well as the texts: places and reasons cite them.
    let made_of: Vec<&[u8]> = [file.name.as_bytes(), text.as_bytes()]
        .into_iter()
        .chain(rules.iter().flat_map(|rule: &Source| [rule.name.as_bytes(), rule.text.as_bytes()]))
        .collect();
    let key = digest_of(&made_of);
    let mut known = WORKSHOPS.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
    // A workshop file that is being written is another one at each keystroke.
    if known.len() >= MOST_WORKSHOPS && !known.contains_key(&key) {
        known.clear();
    }
    let loaded =
        known.entry(key).or_insert_with(|| Arc::new(knowledge::with_shop(Source::new(file.name, text), rules)));
    inputs.insert(0, Input { name, digest: String::new() });
    Ok((Arc::clone(loaded), inputs))
}

/// Checks a workshop file, with the catalogue values and the rules of its own.
pub(super) fn check_shop(world: &World, path: &Path) -> Compiled {
    let loaded = world.asked_for(path).and_then(|file| {
        let text = world.text(&file, None)?;
        let mut rules = Vec::new();
        for own in world.rules_beside(&file)? {
            let text = world.text(&own, None)?;
            rules.push(Source::new(own.name, text));
        }
        Ok(knowledge::with_shop(Source::new(file.name, text), rules))
    });
    match loaded {
        Ok(loaded) => Compiled { parts: Vec::new(), diagnostics: loaded.findings, sources: loaded.sources },
        Err(found) => Compiled::failed(found, Sources::default()),
    }
}

/// Reads a workshop file by itself: what it lists, and what is wrong with it.
pub(in crate::cli) fn workshop(name: &str, text: &str) -> Loaded {
    knowledge::with_shop(Source::new(name, text), Vec::new())
}

/// Checks a rule file together with the built-in rules, and runs its examples.
pub(super) fn check_rules(world: &World, path: &Path) -> Compiled {
    let read = world.asked_for(path).and_then(|file| Ok((world.text(&file, None)?, file)));
    let (text, file) = match read {
        Ok(read) => read,
        Err(found) => return Compiled::failed(found, Sources::default()),
    };
    let name = file.name.clone();
    let loaded = knowledge::with_rules(vec![Source::new(file.name, text)]);
    let mut diagnostics = loaded.findings.clone();
    let of_file = |place: &str| place.starts_with(&format!("{name}:"));
    for outcome in knowledge::run_examples(&loaded) {
        if of_file(&outcome.place) && !outcome.passed {
            let message = format!("rule \"{}\": {}", outcome.rule, outcome.text);
            diagnostics.push(Diagnostic::error("rule/example-fails", outcome.span, message));
        }
    }
    Compiled { parts: Vec::new(), diagnostics, sources: loaded.sources }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Knowledge is kept for the next spec of a workshop, and made anew as soon as any text it is made from differs.
    #[test]
    fn a_changed_rule_beside_an_unchanged_workshop_file_counts() {
        let home = tempfile::tempdir().unwrap();
        let write = |name: &str, text: &str| std::fs::write(home.path().join(name), text).unwrap();
        write("shop.yaml", include_str!("../../../recipes/templates/starter.shop.yaml"));
        write("a.partspec", "part \"a\" { mesh \"a.stl\" in mm }\n");
        let rule = |says: &str| {
            format!("rule \"own\" {{ step prepare 10 \"{says}\"; because \"x\"; source common-practice }}\n")
        };
        let known = || {
            let world = World::around(&home.path().join("a.partspec"), false).unwrap();
            let spec = world.asked_for(&home.path().join("a.partspec")).unwrap();
            knowledge_for(&world, &spec, &Options::default()).unwrap().0
        };
        let has = |loaded: &Loaded, says: &str| loaded.sources.iter().any(|(_, s)| s.text.contains(says));
        write("own.rules", &rule("Sweep the bench."));
        let first = known();
        assert!(has(&first, "Sweep the bench.") && first.rulebook.get("own").is_some());
        assert!(Arc::ptr_eq(&first, &known()), "unchanged, it is loaded once");
        write("own.rules", &rule("Warm the loft."));
        assert!(has(&known(), "Warm the loft."));
        std::fs::rename(home.path().join("own.rules"), home.path().join("other.rules")).unwrap();
        assert!(known().sources.iter().any(|(_, s)| s.name == "other.rules"));
        std::fs::remove_file(home.path().join("other.rules")).unwrap();
        assert!(known().rulebook.get("own").is_none());
    }
}
