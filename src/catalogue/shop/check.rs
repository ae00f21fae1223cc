//! Whether what a shop file says can be so: names that lead somewhere, numbers that fit together.

use super::{Calibration, Printer, Shop, ShopNozzle, Spool, Yield};
use crate::catalogue::Catalogue;
use crate::catalogue::decode::unknown;
use crate::catalogue::node::{Content, Node};
use crate::catalogue::value::Located;
use crate::catalogue::words::Measured;
use crate::diag::{Diagnostic, Span};

impl Shop {
    /// Reports names that nothing in the shop or the catalogue answers to, names given twice, and numbers that cannot be.
    ///
    /// `tree` is the file: an entry that could not be read still lends its name, so that one finding stays one.
    pub(crate) fn check(&self, tree: &Node, catalogue: &Catalogue) -> Vec<Diagnostic> {
        let mut out = Vec::new();
        let names = Names::of(tree, catalogue);
        names.check_twice(self, &mut out);
        for printer in &self.printers {
            names.check_printer(printer, &mut out);
        }
        for nozzle in &self.nozzles {
            check_nozzle(nozzle, &names, &mut out);
        }
        for surface in &self.surfaces {
            one_of(&surface.kind, "surface", &names.surface_kinds, &mut out);
        }
        for agent in &self.agents {
            one_of(&agent.kind, "agent", &names.agent_kinds, &mut out);
        }
        for spool in self.spools.iter().flatten() {
            check_spool(spool, catalogue, &names, &mut out);
        }
        for record in &self.yields {
            check_yield(record, &names, &mut out);
        }
        for record in &self.calibration {
            names.check_calibration(record, &mut out);
        }
        out
    }
}

/// The names a shop file may use.
struct Names<'a> {
    printers: Vec<&'a str>,
    nozzles: Vec<&'a str>,
    surfaces: Vec<&'a str>,
    agents: Vec<&'a str>,
    spools: Vec<&'a str>,
    materials: Vec<&'a str>,
    metals: Vec<&'a str>,
    surface_kinds: Vec<&'a str>,
    agent_kinds: Vec<&'a str>,
}

impl<'a> Names<'a> {
    fn of(tree: &'a Node, catalogue: &'a Catalogue) -> Self {
        Self {
            printers: stated_names(tree, "printers"),
            nozzles: stated_names(tree, "nozzles"),
            surfaces: stated_names(tree, "surfaces"),
            agents: [vec!["none"], stated_names(tree, "agents")].concat(),
            spools: stated_names(tree, "spools"),
            materials: catalogue.materials.keys().map(String::as_str).collect(),
            metals: catalogue.metals.keys().map(String::as_str).collect(),
            surface_kinds: catalogue.surfaces.keys().map(String::as_str).collect(),
            agent_kinds: catalogue.agents.keys().map(String::as_str).collect(),
        }
    }

    fn check_twice(&self, shop: &Shop, out: &mut Vec<Diagnostic>) {
        twice("printer", shop.printers.iter().map(|p| &p.name), out);
        twice("nozzle", shop.nozzles.iter().map(|n| &n.name), out);
        twice("surface", shop.surfaces.iter().map(|s| &s.name), out);
        twice("agent", shop.agents.iter().map(|a| &a.name), out);
        twice("spool", shop.spools.iter().flatten().map(|s| &s.name), out);
    }

    fn check_printer(&self, printer: &Printer, out: &mut Vec<Diagnostic>) {
        for name in list(printer.nozzles.as_ref()) {
            one_of(&name, "nozzle", &self.nozzles, out);
        }
        for name in list(printer.surfaces.as_ref()) {
            one_of(&name, "surface", &self.surfaces, out);
        }
        let Some(now) = &printer.now else { return };
        let named = [
            (&now.material, "material", &self.materials),
            (&now.spool, "spool", &self.spools),
            (&now.nozzle, "nozzle", &self.nozzles),
            (&now.surface, "surface", &self.surfaces),
            (&now.agent, "agent", &self.agents),
        ];
        for (name, what, known) in named {
            if let Some(name) = name {
                one_of(name, what, known, out);
            }
        }
    }

    fn check_calibration(&self, record: &Calibration, out: &mut Vec<Diagnostic>) {
        one_of(&record.printer, "printer", &self.printers, out);
        one_of(&record.nozzle, "nozzle", &self.nozzles, out);
        one_of(&record.material, "material", &self.materials, out);
        let (needs, given) = match record.what.value {
            Measured::Hole | Measured::Outside => ("offset", record.offset.is_some()),
            Measured::Overhang => ("angle", record.angle.is_some()),
            Measured::Bridge => ("span", record.span.is_some()),
            Measured::Flow => ("flow", record.flow.is_some()),
            Measured::Shrinkage => ("scale", record.scale.is_some()),
            Measured::Gap => ("gap", record.gap.is_some()),
        };
        if !given {
            let message = format!("a record of `{}` needs `{needs}`", record.what.value);
            out.push(
                Diagnostic::error("catalogue/missing-key", record.what.at, message).hint(format!("add `{needs}: …`")),
            );
        }
    }
}

/// Returns the names that the entries of a list go by, whether or not they can be read.
fn stated_names<'a>(tree: &'a Node, section: &str) -> Vec<&'a str> {
    let items = match tree.get(section).map(|n| &n.content) {
        Some(Content::List(items)) => items.as_slice(),
        _ => &[],
    };
    let name = |item: &'a Node| item.text().or_else(|| item.get("name")?.text()).or_else(|| item.get("kind")?.text());
    items.iter().filter_map(name).collect()
}

fn list(names: Option<&Located<Vec<String>>>) -> Vec<Located<String>> {
    names.map_or_else(Vec::new, |l| l.value.iter().map(|v| Located { value: v.clone(), at: l.at }).collect())
}

fn one_of(name: &Located<String>, what: &str, known: &[&str], out: &mut Vec<Diagnostic>) {
    if !known.contains(&name.value.as_str()) {
        out.push(unknown(name.at, what, &name.value, known.iter().copied()));
    }
}

fn twice<'a>(what: &str, names: impl Iterator<Item = &'a Located<String>>, out: &mut Vec<Diagnostic>) {
    let mut seen: std::collections::BTreeMap<&str, Span> = std::collections::BTreeMap::new();
    for name in names {
        if let Some(first) = seen.insert(&name.value, name.at) {
            let found =
                Diagnostic::error("shop/name-twice", name.at, format!("two {what}s are called `{}`", name.value));
            out.push(found.here("second").label(first, "first").hint("give one of them another name"));
        }
    }
}

fn check_nozzle(nozzle: &ShopNozzle, names: &Names<'_>, out: &mut Vec<Diagnostic>) {
    one_of(&nozzle.metal, "nozzle metal", &names.metals, out);
    let bore = nozzle.bore.value.to_mm();
    if !(0.05..=3.0).contains(&bore) {
        let message = format!("no nozzle has a bore of {}", nozzle.bore.value);
        out.push(
            Diagnostic::error("shop/bore", nozzle.bore.at, message).hint("write it in millimetres, such as `0.4 mm`"),
        );
    }
}

fn check_spool(spool: &Spool, catalogue: &Catalogue, names: &Names<'_>, out: &mut Vec<Diagnostic>) {
    one_of(&spool.material, "material", &names.materials, out);
    if let Some(of) = catalogue.materials.get(&spool.material.value).and_then(|m| m.spool_of.as_ref()) {
        let message = format!(
            "`{}` is what `{}` becomes after a treatment, not what is on a spool",
            spool.material.value, of.value
        );
        out.push(
            Diagnostic::error("shop/spool-material", spool.material.at, message)
                .hint(format!("write `material: {}`", of.value)),
        );
    }
    if let (Some(opened), Some(dried)) = (&spool.opened, &spool.dried)
        && dried.value < opened.value
    {
        let found = Diagnostic::warning("shop/date-order", dried.at, "dried before it was opened");
        out.push(found.label(opened.at, "opened here").hint("if it was dried since, give the later date"));
    }
}

fn check_yield(record: &Yield, names: &Names<'_>, out: &mut Vec<Diagnostic>) {
    if let Some(printer) = &record.printer {
        one_of(printer, "printer", &names.printers, out);
    }
    if let Some(material) = &record.material {
        one_of(material, "material", &names.materials, out);
    }
    if record.good.value > record.started.value {
        let message = format!("{} good pieces of {} started", record.good.value, record.started.value);
        out.push(Diagnostic::error("shop/yield", record.good.at, message).label(record.started.at, "started"));
    }
}
