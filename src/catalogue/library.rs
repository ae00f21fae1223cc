//! Puts the sections of all files together, the later overriding the earlier value by value, and checks what points
//! at what.

use super::Catalogue;
use super::bench::{Agent, Bore, NozzleMetal, Surface};
use super::bond::BondRow;
use super::chemical::{Chemical, ResistanceRow};
use super::decode::{Decode, refuse_duplicates, unknown};
use super::figures::{self, Figures};
use super::material::Material;
use super::node::{Content, Key, Node};
use super::surroundings::{BuildUp, Colour, Place};
use super::value::{Datum, Fact, Field, Provenance};
use crate::diag::{Diagnostic, Span};
use std::collections::BTreeMap;

/// The sections a catalogue file may have, and whether each is a list (else it is a map by name).
const SECTIONS: &[(&str, bool)] = &[
    ("materials", false),
    ("metals", false),
    ("bores", false),
    ("surfaces", false),
    ("agents", false),
    ("bonds", true),
    ("chemical_classes", false),
    ("chemicals", false),
    ("resistance", true),
    ("stress_cracking", true),
    ("colours", false),
    ("places", false),
    ("build_ups", false),
    ("figures", false),
    ("words", false),
    ("sources", false),
];

/// The entry of a section that is laid beneath all its others.
const DEFAULTS: &str = "defaults";

/// Longest chain of `like`.
const MAX_LIKE: usize = 8;

/// The merged trees of all files read so far.
#[derive(Debug, Clone, Default)]
pub(crate) struct Trees {
    maps: BTreeMap<&'static str, BTreeMap<String, (Span, Node)>>,
    lists: BTreeMap<&'static str, Vec<Node>>,
}

impl Trees {
    /// Lays a file over what is there; unknown sections and repeated names are reported.
    pub fn lay_over(&mut self, mut file: Node, out: &mut Vec<Diagnostic>) {
        refuse_duplicates(&mut file, out);
        let Content::Map(sections) = file.content else {
            let message = format!("expected sections such as `materials:`, found {}", file.describe());
            out.push(Diagnostic::error("catalogue/wrong-form", file.at, message));
            return;
        };
        for (key, node) in sections {
            match SECTIONS.iter().find(|(name, _)| *name == key.text) {
                Some((name, true)) => self.add_list(name, node, out),
                Some((name, false)) => self.add_map(name, node, out),
                None => out.push(unknown(key.at, "key", &key.text, SECTIONS.iter().map(|(n, _)| *n))),
            }
        }
    }

    fn add_list(&mut self, name: &'static str, node: Node, out: &mut Vec<Diagnostic>) {
        match node.content {
            Content::List(items) => self.lists.entry(name).or_default().extend(items),
            Content::Empty => {}
            _ => {
                let message = format!("expected `{name}` as a list, found {}", node.describe());
                out.push(
                    Diagnostic::error("catalogue/wrong-form", node.at, message).hint("begin each entry with `- `"),
                );
            }
        }
    }

    fn add_map(&mut self, name: &'static str, node: Node, out: &mut Vec<Diagnostic>) {
        let entries = match node.content {
            Content::Map(entries) => entries,
            Content::Empty => return,
            _ => {
                let message = format!("expected `{name}` as a map by name, found {}", node.describe());
                out.push(Diagnostic::error("catalogue/wrong-form", node.at, message));
                return;
            }
        };
        let known = self.maps.entry(name).or_default();
        for (key, value) in entries {
            if name == "figures" && !figures::may_stand(&key, &value, out) {
                continue;
            }
            match known.get_mut(&key.text) {
                Some((first, _)) if first.source == key.at.source => {
                    let message = format!("`{}` is given twice", key.text);
                    out.push(
                        Diagnostic::error("catalogue/duplicate-key", key.at, message)
                            .here("second time")
                            .label(*first, "first time")
                            .hint("keep one of the two"),
                    );
                }
                Some((at, base)) => {
                    *at = key.at;
                    overlay(base, value);
                }
                None => {
                    known.insert(key.text, (key.at, value));
                }
            }
        }
    }

    fn map(&self, name: &str) -> impl Iterator<Item = (&String, &(Span, Node))> {
        self.maps.get(name).into_iter().flatten()
    }

    /// Decodes a section whose entries are records, filling from `like`.
    pub fn records<T: Decode>(&self, section: &str, out: &mut Vec<Diagnostic>) -> BTreeMap<String, T> {
        let mut records = BTreeMap::new();
        for (name, (at, node)) in self.map(section).filter(|(name, _)| *name != DEFAULTS) {
            let filled = self.filled(section, name, node, MAX_LIKE, out);
            if let Some(record) =
                filled.and_then(|node| T::decode(&named(node, name, *at, section == LIKENESS_TOLD), out))
            {
                records.insert(name.clone(), record);
            }
        }
        records
    }

    /// Returns the node with what its `like`, or else the section's `defaults`, gives laid beneath; nothing, and a
    /// finding, where `like` leads nowhere.
    fn filled(&self, section: &str, name: &str, node: &Node, left: usize, out: &mut Vec<Diagnostic>) -> Option<Node> {
        let Some(like) = node.get("like") else { return Some(self.on_defaults(section, node)) };
        let Some(base_name) = like.text() else { return Some(node.clone()) };
        let Some((_, base)) = self.maps.get(section).and_then(|m| m.get(base_name)) else {
            let known = self.map(section).map(|(n, _)| n.as_str()).filter(|n| *n != DEFAULTS).collect::<Vec<_>>();
            out.push(unknown(like.at, "name", base_name, known.into_iter()));
            return None;
        };
        if left == 0 || base_name == name {
            let message = format!("`like` leads from `{name}` in a circle, or too far");
            let hint = "let one of them give its own values";
            out.push(Diagnostic::error("catalogue/like-circle", like.at, message).hint(hint));
            return None;
        }
        let mut base = self.filled(section, base_name, base, left - 1, out)?;
        overlay(&mut base, node.clone());
        Some(base)
    }

    fn on_defaults(&self, section: &str, node: &Node) -> Node {
        match self.maps.get(section).and_then(|m| m.get(DEFAULTS)) {
            Some((_, defaults)) => {
                let mut base = defaults.clone();
                overlay(&mut base, node.clone());
                base
            }
            None => node.clone(),
        }
    }

    /// Decodes a section whose entries are single values.
    fn values<T: Decode>(&self, section: &str, out: &mut Vec<Diagnostic>) -> BTreeMap<String, T> {
        self.map(section).filter_map(|(name, (_, node))| T::decode(node, out).map(|v| (name.clone(), v))).collect()
    }

    fn list<T: Decode>(&self, section: &str, out: &mut Vec<Diagnostic>) -> Vec<T> {
        self.lists.get(section).into_iter().flatten().filter_map(|n| T::decode(n, out)).collect()
    }
}

/// Lays `over` on `base`: maps are merged, but a value with its kind is replaced as a whole, so that no override
/// borrows the source of what it overrides.
fn overlay(base: &mut Node, over: Node) {
    let mergeable = |n: &Node| matches!(n.content, Content::Map(_)) && n.get("kind").is_none();
    if !(mergeable(base) && mergeable(&over)) {
        *base = over;
        return;
    }
    base.at = over.at;
    let (Content::Map(entries), Content::Map(new)) = (&mut base.content, over.content) else { return };
    for (key, value) in new {
        match entries.iter_mut().find(|(k, _)| k.text == key.text) {
            Some((k, v)) => {
                *k = key;
                overlay(v, value);
            }
            None => entries.push((key, value)),
        }
    }
}

/// The section whose records keep what they are like: bonds and chemicals are looked up by it.
const LIKENESS_TOLD: &str = "materials";

/// Puts the entry's own key in as its `name`, and takes out what it is like, which has been laid beneath it, where the record
/// does not keep that.
fn named(mut node: Node, name: &str, at: Span, keeps_like: bool) -> Node {
    if let Content::Map(entries) = &mut node.content {
        entries.retain(|(k, _)| k.text != "name" && (keeps_like || k.text != "like"));
        entries.push((Key { text: "name".to_owned(), at }, Node { content: Content::Scalar(name.to_owned()), at }));
    }
    node
}

impl Trees {
    /// Decodes every section, collecting every finding.
    pub fn decode(&self, out: &mut Vec<Diagnostic>) -> Catalogue {
        let bond_rows: Vec<BondRow> = self.list("bonds", out);
        let resistance_rows: Vec<ResistanceRow> = self.list("resistance", out);
        let records = Catalogue {
            materials: self.records("materials", out),
            metals: self.records("metals", out),
            bores: self.records("bores", out),
            surfaces: self.records("surfaces", out),
            agents: self.records("agents", out),
            bonds: latest(bond_rows.iter().flat_map(BondRow::expand), |b| (owned(b.key()), b.at), "bond", out),
            chemical_classes: self.records("chemical_classes", out),
            chemicals: self.records("chemicals", out),
            resistance: latest(
                resistance_rows.iter().flat_map(ResistanceRow::expand),
                |r| ((r.material.clone(), r.class.clone(), String::new()), r.from.at),
                "rating",
                out,
            ),
            stress_cracking: self.list("stress_cracking", out),
            colours: self.records("colours", out),
            places: self.records("places", out),
            build_ups: self.records("build_ups", out),
            figures: Figures::of(self.maps.get("figures"), out),
            words: self.values("words", out),
            sources: self.records("sources", out),
            trees: Trees::default(),
        };
        self.check_bond_rows(&bond_rows, out);
        self.check_ratings(&records, &resistance_rows, out);
        self.check_names(&records, out);
        records
    }
}

type Key3 = (String, String, String);

fn owned((a, b, c): (&str, &str, &str)) -> Key3 {
    (a.to_owned(), b.to_owned(), c.to_owned())
}

/// Sorts by key; of two entries with the same key the later file's counts, and within one file that is an error.
fn latest<T>(
    items: impl Iterator<Item = T>,
    key: impl Fn(&T) -> (Key3, Span),
    what: &str,
    out: &mut Vec<Diagnostic>,
) -> Vec<T> {
    let mut by_key: BTreeMap<Key3, (Span, T)> = BTreeMap::new();
    for item in items {
        let (key, at) = key(&item);
        if let Some((first, _)) = by_key.get(&key)
            && first.source == at.source
        {
            let name: Vec<&str> =
                [&key.0, &key.1, &key.2].into_iter().map(String::as_str).filter(|p| !p.is_empty()).collect();
            let found = Diagnostic::error(
                "catalogue/duplicate-key",
                at,
                format!("the {what} of {} is given twice", name.join(", ")),
            );
            out.push(found.here("second time").label(*first, "first time").hint("keep one of the two"));
            continue;
        }
        by_key.insert(key, (at, item));
    }
    by_key.into_values().map(|(_, item)| item).collect()
}

/// Names are looked up among the entries as written, not among those that could be read: one bad entry must not draw a
/// tail of findings behind it.
impl Trees {
    fn check_bond_rows(&self, rows: &[BondRow], out: &mut Vec<Diagnostic>) {
        for row in rows {
            self.check_name("surfaces", "surface", &row.surface.value, row.surface.at, out);
            self.check_name("agents", "agent", &row.agent.value, row.agent.at, out);
            self.check_all("materials", "material", &row.materials.value, row.materials.at, out);
        }
    }

    fn check_ratings(&self, records: &Catalogue, rows: &[ResistanceRow], out: &mut Vec<Diagnostic>) {
        const CLASS: &str = "class of chemicals";
        for row in rows {
            self.check_all("materials", "material", &row.materials.value, row.materials.at, out);
            for (class, at, ..) in &row.ratings {
                self.check_name("chemical_classes", CLASS, class, *at, out);
            }
        }
        for row in &records.stress_cracking {
            self.check_all("materials", "material", &row.materials.value, row.materials.at, out);
            self.check_all("chemical_classes", CLASS, &row.classes.value, row.classes.at, out);
        }
        for chemical in records.chemicals.values() {
            self.check_all("chemical_classes", CLASS, &chemical.classes.value, chemical.classes.at, out);
        }
    }

    fn check_names(&self, records: &Catalogue, out: &mut Vec<Diagnostic>) {
        for material in records.materials.values() {
            super::agree::check(material, out);
            if let Some(from) = &material.spool_of {
                self.check_name("materials", "material", &from.value, from.at, out);
            }
            if let Some(fact) = &material.supports {
                self.check_all("materials", "material", &fact.value, fact.at, out);
            }
        }
        let maps = self.maps.values().flat_map(|section| section.values().map(|(_, node)| node));
        for node in maps.chain(self.lists.values().flatten()) {
            self.check_sources(node, out);
        }
    }

    /// Checks every `source:` beneath a node.
    fn check_sources(&self, node: &Node, out: &mut Vec<Diagnostic>) {
        match &node.content {
            Content::List(items) => items.iter().for_each(|item| self.check_sources(item, out)),
            Content::Map(entries) => {
                for (key, value) in entries {
                    match value.text() {
                        Some(source) if key.text == "source" => {
                            self.check_name("sources", "source", source, value.at, out)
                        }
                        _ => self.check_sources(value, out),
                    }
                }
            }
            Content::Scalar(_) | Content::Empty => {}
        }
    }

    fn check_name(&self, section: &str, what: &str, name: &str, at: Span, out: &mut Vec<Diagnostic>) {
        let known = self.maps.get(section);
        if name == DEFAULTS || !known.is_some_and(|m| m.contains_key(name)) {
            let names = known.into_iter().flatten().map(|(n, _)| n.as_str()).filter(|n| *n != DEFAULTS);
            out.push(unknown(at, what, name, names));
        }
    }

    fn check_all(&self, section: &str, what: &str, names: &[String], at: Span, out: &mut Vec<Diagnostic>) {
        for name in names {
            self.check_name(section, what, name, at, out);
        }
    }
}

impl Catalogue {
    /// Returns where every value comes from, for whoever lists sources or audits kinds.
    pub fn provenances(&self) -> Vec<Provenance> {
        let mut all = Vec::new();
        all.extend(fields_of(&self.materials, Material::FIELDS, Material::datum));
        all.extend(fields_of(&self.metals, NozzleMetal::FIELDS, NozzleMetal::datum));
        all.extend(fields_of(&self.bores, Bore::FIELDS, Bore::datum));
        all.extend(fields_of(&self.surfaces, Surface::FIELDS, Surface::datum));
        all.extend(fields_of(&self.agents, Agent::FIELDS, Agent::datum));
        all.extend(fields_of(&self.chemicals, Chemical::FIELDS, Chemical::datum));
        all.extend(fields_of(&self.colours, Colour::FIELDS, Colour::datum));
        all.extend(fields_of(&self.places, Place::FIELDS, Place::datum));
        all.extend(fields_of(&self.build_ups, BuildUp::FIELDS, BuildUp::datum));
        all.extend(self.bonds.iter().map(|b| b.from.clone()));
        all.extend(self.resistance.iter().map(|r| r.from.clone()));
        all.extend(self.stress_cracking.iter().map(|s| s.classes.provenance()));
        all.extend(self.figures.provenances());
        all.extend(self.words.values().map(Fact::provenance));
        all
    }
}

fn fields_of<T>(
    records: &BTreeMap<String, T>,
    fields: &'static [Field],
    datum: fn(&T, &str) -> Option<Datum>,
) -> Vec<Provenance> {
    records.values().flat_map(|r| fields.iter().filter_map(move |f| datum(r, f.name)?.from)).collect()
}

#[cfg(test)]
mod tests {
    use super::SECTIONS;

    #[test]
    fn the_page_of_the_shop_file_names_every_section() {
        let page = include_str!("../../recipes/templates/own-catalogue.md");
        let missing: Vec<&str> =
            SECTIONS.iter().map(|(name, _)| *name).filter(|name| !page.contains(&format!("`{name}`"))).collect();
        assert_eq!(missing, Vec::<&str>::new());
    }
}
