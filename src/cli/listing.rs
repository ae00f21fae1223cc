//! The catalogue as tables and entries: what is known, with values, ranges and sources.

use super::knowledge::Loaded;
use crate::catalogue::{Bond, Datum, Field, Material, Plain};
use crate::diag::{Diagnostic, Severity, Sources, nearest};
use crate::physics::registry;
use crate::render::pages::{Entry, EntryValue, Table};

/// Kinds that can be listed, with what each holds.
const KINDS: &[(&str, &str)] = &[
    ("agents", "what is put on a surface so that a part holds, or lets go"),
    ("bonds", "how a material holds on a surface with an agent"),
    ("chemicals", "named chemicals and their classes"),
    ("colours", "colours as the sun sees them"),
    ("functions", "computations that rules may call"),
    ("materials", "generic printing materials"),
    ("nozzles", "nozzle metals"),
    ("places", "places a part may serve in"),
    ("rules", "the rulebook"),
    ("sources", "the works that values point to"),
    ("surfaces", "build surfaces"),
];

/// Returns the entries of a kind, or the kinds.
pub(super) fn table(loaded: &Loaded, kind: Option<&str>) -> Result<Table, Diagnostic> {
    let Some(kind) = kind else {
        let rows = KINDS.iter().map(|(name, help)| vec![(*name).to_owned(), (*help).to_owned()]).collect();
        return Ok(Table { title: "Kinds".to_owned(), columns: words(&["kind", "what it holds"]), rows });
    };
    let kind = known_kind(kind)?;
    let c = &loaded.catalogue;
    let (columns, rows): (&[&str], Vec<Vec<String>>) = match kind {
        "materials" => (
            &["material", "in full", "heat limit", "print", "bed", "uv", "dry"],
            c.materials.values().map(|m| material_row(m)).collect(),
        ),
        "nozzles" => (
            &["metal", "in full", "hardness", "limit"],
            c.metals
                .values()
                .map(|m| {
                    vec![
                        m.name.clone(),
                        m.title.value.clone(),
                        m.hardness.value.to_string(),
                        m.temperature_limit.typ.to_string(),
                    ]
                })
                .collect(),
        ),
        "surfaces" => (
            &["surface", "in full", "limit"],
            c.surfaces
                .values()
                .map(|s| vec![s.name.clone(), s.title.value.clone(), s.temperature_limit.typ.to_string()])
                .collect(),
        ),
        "agents" => {
            (&["agent", "in full"], c.agents.values().map(|a| vec![a.name.clone(), a.title.value.clone()]).collect())
        }
        "bonds" => (&["material", "surface", "agent", "bond", "role"], c.bonds.iter().map(bond_row).collect()),
        "chemicals" => (
            &["chemical", "classes", "other names"],
            c.chemicals
                .values()
                .map(|x| {
                    let aliases = x.aliases.as_ref().map_or(String::new(), |a| a.value.join(", "));
                    vec![x.name.clone(), x.classes.value.join(", "), aliases]
                })
                .collect(),
        ),
        "colours" => (
            &["colour", "absorptance"],
            c.colours
                .values()
                .map(|x| vec![x.name.clone(), crate::quantity::Quantity::from(x.absorptance.typ).to_string()])
                .collect(),
        ),
        "places" => {
            (&["place", "in full"], c.places.values().map(|p| vec![p.name.clone(), p.title.value.clone()]).collect())
        }
        "sources" => (
            &["key", "citation", "read"],
            c.sources
                .values()
                .map(|s| vec![s.name.clone(), s.citation.value.clone(), s.status.value.to_string()])
                .collect(),
        ),
        "functions" => (
            &["function", "what it gives"],
            registry::functions().iter().map(|f| vec![f.signature(), f.help.to_owned()]).collect(),
        ),
        _ => (
            &["rule", "because", "source"],
            loaded.rulebook.rules.iter().map(|r| vec![r.name.clone(), r.because.clone(), r.source.clone()]).collect(),
        ),
    };
    Ok(Table { title: capital(kind), columns: words(columns), rows })
}

fn words(list: &[&str]) -> Vec<String> {
    list.iter().map(|w| (*w).to_owned()).collect()
}

fn capital(word: &str) -> String {
    let mut chars = word.chars();
    chars.next().map_or(String::new(), |c| c.to_uppercase().collect::<String>() + chars.as_str())
}

fn known_kind(asked: &str) -> Result<&'static str, Diagnostic> {
    let plain = asked.to_lowercase();
    let found = KINDS.iter().find(|(k, _)| *k == plain || k.strip_suffix('s') == Some(plain.as_str()));
    found.map(|(k, _)| *k).ok_or_else(|| {
        let message = format!("the catalogue has no kind `{asked}`");
        let found = Diagnostic::new(Severity::Error, "catalogue/unknown-kind", message);
        match nearest(asked, KINDS.iter().map(|(k, _)| *k)) {
            Some(near) => found.hint(format!("did you mean `{near}`?")),
            None => found.hint("`makeready catalogue` lists the kinds"),
        }
    })
}

fn material_row(m: &Material) -> Vec<String> {
    vec![
        m.name.clone(),
        m.title.value.clone(),
        m.heat_limit.typ.to_string(),
        m.print_temperature.typ.to_string(),
        m.bed_temperature.typ.to_string(),
        m.uv.value.to_string(),
        m.moisture.value.to_string(),
    ]
}

fn bond_row(b: &Bond) -> Vec<String> {
    let word = |name: &str| b.datum(name).map_or(String::new(), |d| plain(&d.value));
    let first = |names: [&str; 2]| names.iter().map(|n| word(n)).find(|w| !w.is_empty()).unwrap_or_default();
    vec![b.material.clone(), b.surface.clone(), b.agent.clone(), first(["strength", "hold"]), word("role")]
}

/// Returns everything known of one entry.
pub(super) fn entry(loaded: &Loaded, kind: &str, name: &str) -> Result<Entry, Diagnostic> {
    let kind = known_kind(kind)?;
    let c = &loaded.catalogue;
    let values = |fields: &[Field], datum: &dyn Fn(&str) -> Option<Datum>| of_fields(fields, datum, &loaded.sources);
    use crate::catalogue::{Agent, Chemical, Colour, NozzleMetal, Place, Surface};
    let found = match kind {
        "materials" => c.material(name).map(|m| (m.name.clone(), values(Material::FIELDS, &|f| m.datum(f)))),
        "nozzles" => by_name(&c.metals, name).map(|m| (m.name.clone(), values(NozzleMetal::FIELDS, &|f| m.datum(f)))),
        "surfaces" => by_name(&c.surfaces, name).map(|s| (s.name.clone(), values(Surface::FIELDS, &|f| s.datum(f)))),
        "agents" => by_name(&c.agents, name).map(|a| (a.name.clone(), values(Agent::FIELDS, &|f| a.datum(f)))),
        "chemicals" => c.chemical(name).map(|x| (x.name.clone(), values(Chemical::FIELDS, &|f| x.datum(f)))),
        "colours" => c.colour(name).map(|x| (x.name.clone(), values(Colour::FIELDS, &|f| x.datum(f)))),
        "places" => c.place(name).map(|p| (p.name.clone(), values(Place::FIELDS, &|f| p.datum(f)))),
        "sources" => by_name(&c.sources, name)
            .map(|s| (s.name.clone(), values(crate::catalogue::Citation::FIELDS, &|f| s.datum(f)))),
        "functions" => registry::function(name).map(|f| (f.name.to_owned(), function(f))),
        _ => None,
    };
    let Some((name, values)) = found else {
        let hint = if kind == "rules" {
            format!("`makeready explain --rule {name}` shows a rule")
        } else {
            let table = table(loaded, Some(kind))?;
            let names: Vec<&str> = table.rows.iter().filter_map(|r| r.first().map(String::as_str)).collect();
            match nearest(name, names.iter().copied()) {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!("`makeready catalogue {kind}` lists them"),
            }
        };
        let message = format!("there is nothing called `{name}` among the {kind}");
        return Err(Diagnostic::new(Severity::Error, "catalogue/unknown-name", message).hint(hint));
    };
    Ok(Entry { kind: kind.trim_end_matches('s').to_owned(), name, notes: Vec::new(), values })
}

fn by_name<'a, T>(map: &'a std::collections::BTreeMap<String, T>, name: &str) -> Option<&'a T> {
    map.iter().find(|(k, _)| k.eq_ignore_ascii_case(name)).map(|(_, v)| v)
}

fn function(f: &registry::Function) -> Vec<EntryValue> {
    let row = |name: &str, value: String| EntryValue { name: name.to_owned(), value, ..EntryValue::default() };
    let mut rows = vec![row("gives", f.help.to_owned()), row("formula", f.formula.to_owned())];
    rows.extend(f.inputs.iter().map(|i| row(i.name, format!("{}: {}", i.dimension.name(), i.help))));
    rows.push(EntryValue {
        name: "source".to_owned(),
        value: f.output.name(),
        kind: f.source.kind.to_owned(),
        source: f.source.citation.to_owned(),
        ..EntryValue::default()
    });
    rows
}

fn of_fields(fields: &[Field], datum: &dyn Fn(&str) -> Option<Datum>, sources: &Sources) -> Vec<EntryValue> {
    fields
        .iter()
        .filter_map(|field| {
            let d = datum(field.name)?;
            let range = match (d.low, d.high) {
                (Some(low), Some(high)) => format!("{low} .. {high}"),
                _ => String::new(),
            };
            let (kind, source) = match &d.from {
                Some(from) => (from.kind.as_str().to_owned(), from.source.clone().unwrap_or_default()),
                None => (String::new(), sources.place(d.at)),
            };
            Some(EntryValue { name: field.name.replace('_', " "), value: plain(&d.value), range, kind, source })
        })
        .collect()
}

fn plain(value: &Plain) -> String {
    match value {
        Plain::Quantity(q) => q.to_string(),
        Plain::Word(w) | Plain::Text(w) => w.clone(),
        Plain::Flag(true) => "yes".to_owned(),
        Plain::Flag(false) => "no".to_owned(),
        Plain::Words(words) => words.join(", "),
    }
}
