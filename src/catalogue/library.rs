//! Puts the sections of all files together, the later overriding the earlier value by value, and checks what points
//! at what.

use super::bench::{Agent, Bore, NozzleMetal, Surface};
use super::bond::{Bond, BondRow};
use super::chemical::{Chemical, ChemicalClass, Resistance, ResistanceRow, StressCracking};
use super::decode::{Decode, refuse_duplicates, unknown};
use super::material::Material;
use super::node::{Content, Key, Node};
use super::surroundings::{Citation, Colour, Place};
use super::value::{Datum, Fact, Field, Figure, Provenance};
use crate::diag::{Diagnostic, Span};
use crate::quantity::Quantity;
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
    ("process", false),
    ("safety", false),
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
            let record = T::decode(&named(filled, name, *at), out);
            if let Some(record) = record {
                records.insert(name.clone(), record);
            }
        }
        records
    }

    /// Returns the node with what its `like`, or else the section's `defaults`, gives laid beneath.
    fn filled(&self, section: &str, name: &str, node: &Node, left: usize, out: &mut Vec<Diagnostic>) -> Node {
        let Some(like) = node.get("like") else { return self.on_defaults(section, node) };
        let Some(base_name) = like.text() else { return node.clone() };
        let Some((_, base)) = self.maps.get(section).and_then(|m| m.get(base_name)) else {
            let known = self.map(section).map(|(n, _)| n.as_str()).collect::<Vec<_>>();
            out.push(unknown(like.at, "name", base_name, known.into_iter()));
            return node.clone();
        };
        if left == 0 || base_name == name {
            let message = format!("`like` leads in a circle from `{name}`");
            out.push(
                Diagnostic::error("catalogue/like-circle", like.at, message)
                    .hint("let one of them give its own values"),
            );
            return node.clone();
        }
        let mut base = self.filled(section, base_name, base, left - 1, out);
        overlay(&mut base, node.clone());
        base
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

/// Puts the entry's own key in as its `name`.
fn named(mut node: Node, name: &str, at: Span) -> Node {
    if let Content::Map(entries) = &mut node.content {
        entries.retain(|(k, _)| k.text != "name");
        entries.push((Key { text: "name".to_owned(), at }, Node { content: Content::Scalar(name.to_owned()), at }));
    }
    node
}

/// Everything decoded from the trees, before the lists are turned into look-ups.
pub(crate) struct Records {
    pub materials: BTreeMap<String, Material>,
    pub metals: BTreeMap<String, NozzleMetal>,
    pub bores: BTreeMap<String, Bore>,
    pub surfaces: BTreeMap<String, Surface>,
    pub agents: BTreeMap<String, Agent>,
    pub bonds: Vec<Bond>,
    pub chemical_classes: BTreeMap<String, ChemicalClass>,
    pub chemicals: BTreeMap<String, Chemical>,
    pub resistance: Vec<Resistance>,
    pub stress_cracking: Vec<StressCracking>,
    pub colours: BTreeMap<String, Colour>,
    pub places: BTreeMap<String, Place>,
    pub process: BTreeMap<String, Figure<Quantity>>,
    pub safety: BTreeMap<String, Fact<String>>,
    pub sources: BTreeMap<String, Citation>,
}

impl Trees {
    /// Decodes every section, collecting every finding.
    pub fn decode(&self, out: &mut Vec<Diagnostic>) -> Records {
        let bond_rows: Vec<BondRow> = self.list("bonds", out);
        let resistance_rows: Vec<ResistanceRow> = self.list("resistance", out);
        let records = Records {
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
            process: self.values("process", out),
            safety: self.values("safety", out),
            sources: self.records("sources", out),
        };
        records.check_bond_rows(&bond_rows, out);
        records.check_ratings(&resistance_rows, out);
        records.check_names(out);
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

impl Records {
    fn check_bond_rows(&self, rows: &[BondRow], out: &mut Vec<Diagnostic>) {
        for row in rows {
            check_name(&row.surface.value, row.surface.at, "surface", &self.surfaces, out);
            check_name(&row.agent.value, row.agent.at, "agent", &self.agents, out);
            check_all(&row.materials.value, row.materials.at, "material", &self.materials, out);
        }
    }

    fn check_ratings(&self, rows: &[ResistanceRow], out: &mut Vec<Diagnostic>) {
        for row in rows {
            check_all(&row.materials.value, row.materials.at, "material", &self.materials, out);
            for (class, at, ..) in &row.ratings {
                check_name(class, *at, "class of chemicals", &self.chemical_classes, out);
            }
        }
        for row in &self.stress_cracking {
            check_all(&row.materials.value, row.materials.at, "material", &self.materials, out);
            check_all(&row.classes.value, row.classes.at, "class of chemicals", &self.chemical_classes, out);
        }
        for chemical in self.chemicals.values() {
            check_all(&chemical.classes.value, chemical.classes.at, "class of chemicals", &self.chemical_classes, out);
        }
    }

    fn check_names(&self, out: &mut Vec<Diagnostic>) {
        for material in self.materials.values() {
            if let Some(from) = &material.spool_of {
                check_name(&from.value, from.at, "material", &self.materials, out);
            }
            if let Some(fact) = &material.supports {
                check_all(&fact.value, fact.at, "material", &self.materials, out);
            }
        }
        for provenance in self.provenances() {
            if let Some(source) = &provenance.source {
                check_name(source, provenance.at, "source", &self.sources, out);
            }
        }
    }

    /// Returns where every value comes from.
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
        all.extend(self.bonds.iter().map(|b| b.from.clone()));
        all.extend(self.resistance.iter().map(|r| r.from.clone()));
        all.extend(self.stress_cracking.iter().map(|s| s.classes.provenance()));
        all.extend(self.process.values().map(Figure::provenance));
        all.extend(self.safety.values().map(Fact::provenance));
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

fn check_name<T>(name: &str, at: Span, what: &str, known: &BTreeMap<String, T>, out: &mut Vec<Diagnostic>) {
    if !known.contains_key(name) {
        out.push(unknown(at, what, name, known.keys().map(String::as_str)));
    }
}

fn check_all<T>(names: &[String], at: Span, what: &str, known: &BTreeMap<String, T>, out: &mut Vec<Diagnostic>) {
    for name in names {
        check_name(name, at, what, known, out);
    }
}
