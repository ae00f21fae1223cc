//! Digests of what was read in deciding a job, so that a recipe tells when it is to be made again: of the workshop's file the
//! entries that were looked at, whether they were taken or not, of the rules those that were judged with the thresholds they
//! read, of the catalogue all values. What only a person reads (comments, the way a text is written) is in none.

use std::collections::BTreeSet;

use blake3::{Hash, Hasher};

use super::knowledge::Loaded;
use crate::catalogue::Shop;
use crate::catalogue::node::{EntryName, values};
use crate::diag::{SourceId, Sources, Span};
use crate::recipe::Recipe;
use crate::resolve::shop::Unread;
use crate::resolve::world::World;
use crate::rulebook::Rulebook;

/// What a recipe calls everything that is part of the program.
pub(super) const BUILT_IN: &str = "built-in catalogue and rules";

/// Digests of a workshop's file, to be put together from what a job read of it.
#[derive(Debug, Clone)]
pub(super) struct ShopDigest {
    /// Of the sections that every job reads: each of their entries is a candidate or a price.
    rest: Hash,
    entries: Vec<(String, EntryName, Hash)>,
}

/// What no recipe reads: whether a machine may print alone, which is asked of a run.
const READ_BY_PLANS: Unread = Unread::Key("printers", "unattended");

/// Sections whose entries are read one by one.
const APART: &[&str] = &["tools", "yields", "calibration"];

impl ShopDigest {
    pub fn of(text: &str) -> Self {
        let hash = |text: &str| blake3::hash(text.as_bytes());
        let Some(values) = values(text, APART) else { return Self { rest: hash(text), entries: Vec::new() } };
        let entries = values.entries.into_iter().map(|(section, name, said)| (section, name, hash(&said)));
        Self { rest: hash(&values.rest), entries: entries.collect() }
    }

    /// Adds what the job read: all but what it left unread.
    fn add_read(&self, world: &World<'_>, to: &mut Hasher) {
        let unread = world.unread();
        let is_unread = |section: &str, name: &EntryName| {
            unread.iter().any(|unread| match (unread, name) {
                (Unread::Key(of, key), EntryName::Key(name)) => *of == section && key == name,
                (Unread::Item(of, at), EntryName::Item(item)) => *of == section && at == item,
                _ => false,
            })
        };
        to.update(self.rest.as_bytes());
        for (section, name, hash) in self.entries.iter().filter(|(section, name, _)| !is_unread(section, name)) {
            to.update(section.as_bytes());
            if let EntryName::Key(key) = name {
                to.update(key.as_bytes());
            }
            to.update(hash.as_bytes());
        }
        // How old a record is counts from the latest day the file states, whatever states it.
        to.update(world.bench.latest.as_deref().unwrap_or("").as_bytes());
    }
}

/// A digest of each rule and threshold of a rulebook, with the file it stands in.
#[derive(Debug)]
pub(super) struct RuleDigests {
    /// In the order of the rulebook.
    rules: Vec<(SourceId, Hash)>,
    /// By the name of the threshold, in order.
    thresholds: Vec<(String, SourceId, Hash)>,
}

impl RuleDigests {
    pub fn of(rulebook: &Rulebook, sources: &Sources) -> Self {
        let hash = |at: Span| blake3::hash(statement(sources, at).as_bytes());
        let thresholds = rulebook.names.values().map(|n| (n.name.clone(), n.span.source, hash(n.span)));
        Self {
            rules: rulebook.rules.iter().map(|r| (r.span.source, hash(r.span))).collect(),
            thresholds: thresholds.collect(),
        }
    }

    /// Adds the rules of those files that the job was judged by, and the thresholds they read.
    fn add_judged(&self, world: &World<'_>, of: impl Fn(SourceId) -> bool, to: &mut Hasher) {
        let mut read = BTreeSet::new();
        for (rule, (file, hash)) in world.knowledge.rulebook.rules.iter().zip(&self.rules) {
            if world.instances(rule.each) == 0 {
                continue;
            }
            read.extend(rule.thresholds.iter().map(String::as_str));
            if of(*file) {
                to.update(hash.as_bytes());
            }
        }
        for (name, file, hash) in &self.thresholds {
            if of(*file) && read.contains(name.as_str()) {
                to.update(hash.as_bytes());
            }
        }
    }
}

/// Of the values of the built-in catalogue, made with the program.
const CATALOGUE: &str = env!("MAKEREADY_CATALOGUE");

/// Fills in the digests of what a job that has been decided read of the workshop's file and rules and of what is built in.
pub(super) fn fill_in(recipe: &mut Recipe, loaded: &Loaded, world: &World<'_>) {
    recipe.unread = if loaded.assumed { Vec::new() } else { world.unread() };
    let alone = |shop: &Shop| shop.printers.iter().any(|p| p.unattended.is_some());
    if loaded.shop.as_ref().is_some_and(alone) {
        recipe.unread.push(READ_BY_PLANS);
        recipe.unread.sort_unstable();
    }
    let rules = loaded.rule_digests();
    for input in &mut recipe.inputs {
        let mut hasher = Hasher::new();
        if input.name == BUILT_IN {
            hasher.update(CATALOGUE.as_bytes());
            rules.add_judged(world, |file| !loaded.is_own(file), &mut hasher);
            if loaded.assumed {
                loaded.shop_digest.add_read(world, &mut hasher);
            }
        } else if loaded.shop_file.as_ref() == Some(&input.name) {
            loaded.shop_digest.add_read(world, &mut hasher);
        } else if let Some(file) = loaded.own_rules(&input.name) {
            rules.add_judged(world, |of| of == file, &mut hasher);
        } else {
            continue;
        }
        input.digest = short(&hasher.finalize());
    }
}

/// Sixteen digits tell any two files apart that a person would ever compare.
pub(super) fn short(digest: &Hash) -> String {
    digest.to_hex().as_str().get(..16).unwrap_or("").to_owned()
}

/// Returns a statement as written, from its keyword to the brace that closes it.
pub(super) fn statement(sources: &Sources, head: Span) -> &str {
    let Some(source) = sources.get(head.source) else { return "" };
    let rest = source.text.get(head.start as usize..).unwrap_or("");
    let (mut depth, mut in_text) = (0_usize, false);
    for (i, c) in rest.bytes().enumerate() {
        match c {
            b'"' => in_text = !in_text,
            b'{' if !in_text => depth += 1,
            b'}' if !in_text => {
                depth = depth.saturating_sub(1);
                if depth == 0 {
                    return rest.get(..=i).unwrap_or(rest);
                }
            }
            _ => {}
        }
    }
    rest
}
