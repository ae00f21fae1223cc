//! Whether what a shop file says can be so: names that lead somewhere, numbers that fit together.

use super::{Calibration, Printer, Shop, ShopNozzle, Spool, Tools, Yield};
use crate::catalogue::Catalogue;
use crate::catalogue::decode::unknown;
use crate::catalogue::figures::{self, Key};
use crate::catalogue::node::{Content, Node};
use crate::catalogue::value::Located;
use crate::catalogue::words::{Axis, Measured};
use crate::diag::{Diagnostic, Span};
use crate::quantity::Temperature;

impl Shop {
    /// Reports names that nothing in the shop or the catalogue answers to, names given twice, and numbers that cannot be.
    ///
    /// `tree` is the file: an entry that could not be read still lends its name, so that one finding stays one. What stands at
    /// `unread` could not be read, and is not missing.
    pub(crate) fn check(&self, tree: &Node, unread: &[Span], catalogue: &Catalogue) -> Vec<Diagnostic> {
        let mut out = Vec::new();
        let names = Names::of(tree, catalogue);
        names.check_twice(self, &mut out);
        check_places(self, &mut out);
        if let Some(tools) = &self.tools {
            check_tools(tools, catalogue, &mut out);
        }
        for printer in &self.printers {
            names.check_printer(printer, &mut out);
            check_reach(printer, catalogue, &mut out);
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
            let item = entries(tree, "calibration").iter().find(|item| item.at == record.at);
            if !item.is_some_and(|item| unread.iter().any(|at| item.holds(*at))) {
                check_needed(record, &mut out);
            }
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
        check_axis(record, out);
        if let (Some(from), Some(to)) = (&record.from, &record.to)
            && from.value.to_mm() > to.value.to_mm()
        {
            let found = Diagnostic::error("shop/range", to.at, "the largest size measured is below the smallest");
            out.push(found.label(from.at, "the smallest").hint("give the smaller as `from`"));
        }
        check_unused(record, out);
    }
}

/// Reports, in one finding, which keys a record of its kind lacks.
fn check_needed(record: &Calibration, out: &mut Vec<Diagnostic>) {
    let axis = ("axis", record.axis.is_some());
    let needed: &[(&str, bool)] = match record.what.value {
        Measured::Hole | Measured::Outside => {
            &[("offset", record.offset.is_some()), axis, ("spread", record.spread.is_some())]
        }
        Measured::Overhang => &[("angle", record.angle.is_some())],
        Measured::Bridge => &[("span", record.span.is_some())],
        Measured::Flow => &[("flow", record.flow.is_some())],
        Measured::Shrinkage => &[("scale", record.scale.is_some()), axis],
        Measured::Gap => &[("gap", record.gap.is_some()), axis],
    };
    let lacking: Vec<String> = needed.iter().filter(|(_, given)| !given).map(|(key, _)| format!("`{key}`")).collect();
    if let Some(first) = lacking.first() {
        let message = format!("a record of `{}` needs {}", record.what.value, lacking.join(", "));
        let hint = format!("add `{}: …`", first.trim_matches('`'));
        out.push(Diagnostic::error("catalogue/missing-key", record.what.at, message).hint(hint));
    }
}

fn entries<'a>(tree: &'a Node, section: &str) -> &'a [Node] {
    match tree.get(section).map(|n| &n.content) {
        Some(Content::List(items)) => items,
        _ => &[],
    }
}

/// Returns the names that the entries of a list go by, whether or not they can be read.
fn stated_names<'a>(tree: &'a Node, section: &str) -> Vec<&'a str> {
    let name = |item: &'a Node| item.text().or_else(|| item.get("name")?.text()).or_else(|| item.get("kind")?.text());
    entries(tree, section).iter().filter_map(name).collect()
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

/// Reports what a printer cannot be: hotter than any there is, warm inside and open, with no room left between its edges.
fn check_reach(printer: &Printer, catalogue: &Catalogue, out: &mut Vec<Diagnostic>) {
    hotter_than_any(Some(&printer.nozzle_limit), figures::RICHEST_NOZZLE, "nozzle", catalogue, out);
    hotter_than_any(Some(&printer.bed_limit), figures::RICHEST_BED, "bed", catalogue, out);
    hotter_than_any(printer.chamber.as_ref(), figures::RICHEST_CHAMBER, "chamber", catalogue, out);
    if let Some(chamber) = printer.chamber.as_ref().filter(|_| !printer.enclosed.value) {
        let message = format!("`chamber` counts for nothing: {} is not enclosed", printer.name.value);
        let found =
            Diagnostic::warning("shop/open-chamber", chamber.at, message).label(printer.enclosed.at, "said here");
        out.push(found.hint("write `enclosed: yes`, or leave `chamber` out"));
    }
    if let Some(pace) = &printer.pace {
        let most: f64 = catalogue.value(figures::DOUBTFUL_PACE);
        let (stated, least) = (pace.value.value(), 1.0 / most);
        if stated <= 0.0 {
            let message = format!("a pace of {stated} is none");
            let hint = "write hours taken over hours reckoned, such as `1.1`, or leave `pace` out";
            out.push(Diagnostic::error("shop/pace", pace.at, message).hint(hint));
        } else if stated > most || stated < least {
            let message = format!("plates of {} would take {stated} times what is reckoned", printer.name.value);
            let hint = "more than a pace is wrong there: `flow`, `speed` or `acceleration` of the machine";
            out.push(Diagnostic::warning("shop/pace", pace.at, message).hint(hint));
        }
    }
    let [width, depth, _] = printer.build.size;
    if let Some(edge) = printer.edge.as_ref().filter(|e| 2.0 * e.value.to_mm() >= width.to_mm().min(depth.to_mm())) {
        let message = format!("an edge of {} on every side leaves no bed of {width} by {depth}", edge.value);
        out.push(
            Diagnostic::error("shop/edge", edge.at, message)
                .hint("write the room to keep free at one side, such as `5 mm`"),
        );
    }
}

/// Reports a temperature beyond what any machine to be bought reaches: a slip of the pen, or a figure to be raised.
fn hotter_than_any(
    limit: Option<&Located<Temperature>>,
    any: Key<Temperature>,
    what: &str,
    catalogue: &Catalogue,
    out: &mut Vec<Diagnostic>,
) {
    let most = catalogue.value(any);
    if let Some(limit) = limit.filter(|limit| limit.value > most) {
        let message = format!("no {what} there is reaches {}: the hottest known get to {most}", limit.value);
        let hint = format!("mend the number; if yours does, say so under `catalogue: figures: {}`", any.name());
        out.push(Diagnostic::warning("shop/hotter-than-any", limit.at, message).hint(hint));
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
    check_label(spool, catalogue, out);
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

/// Reports one thing in more machines than there are of it.
fn check_places(shop: &Shop, out: &mut Vec<Diagnostic>) {
    let nozzle_count = |name: &str| shop.nozzle(name).and_then(|n| n.count.as_ref()).map_or(1, |c| c.value);
    let surface_count = |name: &str| {
        let found = shop.surfaces.iter().find(|s| s.name.value == name);
        found.and_then(|s| s.count.as_ref()).map_or(u32::MAX, |c| c.value)
    };
    let nows = || shop.printers.iter().filter_map(|p| p.now.as_ref());
    crowded("nozzle", nows().filter_map(|n| n.nozzle.as_ref()), nozzle_count, out);
    crowded("surface", nows().filter_map(|n| n.surface.as_ref()), surface_count, out);
    crowded("spool", nows().filter_map(|n| n.spool.as_ref()), |_| 1, out);
    for printer in &shop.printers {
        check_now(shop, printer, out);
    }
}

fn crowded<'a>(
    what: &str,
    names: impl Iterator<Item = &'a Located<String>>,
    count: impl Fn(&str) -> u32,
    out: &mut Vec<Diagnostic>,
) {
    let mut seen: std::collections::BTreeMap<&str, Vec<Span>> = std::collections::BTreeMap::new();
    for name in names {
        let places = seen.entry(&name.value).or_default();
        places.push(name.at);
        if let Some(first) = places.first().filter(|_| places.len() as u64 > u64::from(count(&name.value))) {
            let message = format!("the {what} `{}` cannot be in {} printers at once", name.value, places.len());
            let more = if what == "spool" {
                String::new()
            } else {
                format!(", or say how many there are: `count: {}`", places.len())
            };
            let found = Diagnostic::error("shop/in-two-places", name.at, message).label(*first, "here too");
            out.push(found.hint(format!("name what is really in each{more}")));
        }
    }
}

/// Reports what a printer holds that does not fit it, or does not agree with itself.
fn check_now(shop: &Shop, printer: &Printer, out: &mut Vec<Diagnostic>) {
    let Some(now) = &printer.now else { return };
    for (name, fitting, what) in
        [(&now.nozzle, &printer.nozzles, "nozzles"), (&now.surface, &printer.surfaces, "surfaces")]
    {
        if let (Some(name), Some(fitting)) = (name, fitting)
            && !fitting.value.contains(&name.value)
        {
            let message =
                format!("`{}` is in {}, but not among the {what} that fit it", name.value, printer.name.value);
            let found = Diagnostic::error("shop/does-not-fit", name.at, message).label(fitting.at, "these fit");
            out.push(found.hint(format!("add it to `{what}`, or mend `now`")));
        }
    }
    let spool = now.spool.as_ref().and_then(|name| Some((name, shop.spool(&name.value)?)));
    if let (Some(material), Some((name, spool))) = (&now.material, spool)
        && material.value != spool.material.value
    {
        let message = format!("the spool `{}` is {}, not {}", name.value, spool.material.value, material.value);
        let found = Diagnostic::error("shop/spool-and-material", material.at, message).label(spool.material.at, "here");
        out.push(found.hint("leave `material` out: the spool says it"));
    }
}

/// Reports tools that are written so that they cannot count.
fn check_tools(tools: &Tools, catalogue: &Catalogue, out: &mut Vec<Diagnostic>) {
    hotter_than_any(tools.dryer_limit.as_ref(), figures::RICHEST_DRYER, "dryer", catalogue, out);
    hotter_than_any(tools.oven_limit.as_ref(), figures::RICHEST_OVEN, "oven", catalogue, out);
    for insert in tools.inserts.iter().flatten() {
        if let (Some(hole), Some(outside)) = (&insert.hole, &insert.outside)
            && hole.value.to_mm() >= outside.value.to_mm()
        {
            let message = format!("a hole of {} holds no insert of {} over the knurl", hole.value, outside.value);
            let found = Diagnostic::error("shop/insert", hole.at, message).label(outside.at, "over the knurl");
            out.push(found.hint("the hole is the smaller of the two: both are on the maker's drawing"));
        }
    }
    for reamer in tools.reamers.iter().flatten() {
        if let Some(zone) = reamer.zone.as_ref().filter(|zone| *zone != "H7") {
            let message = format!("a reamer for {zone} is not used: which fits it makes is counted for H7 alone");
            out.push(Diagnostic::warning("shop/reamer-zone", reamer.at, message));
        }
    }
    for drill in tools.drills.iter().flatten() {
        if let Some(zone) = &drill.zone {
            let message = format!("a drill keeps no tolerance zone: {zone} is not used");
            out.push(Diagnostic::warning("shop/drill-zone", drill.at, message).hint("write the diameter alone"));
        }
    }
}

fn check_axis(record: &Calibration, out: &mut Vec<Diagnostic>) {
    let what = record.what.value;
    let fitting: &[Axis] = match what {
        Measured::Hole | Measured::Outside | Measured::Gap => &[Axis::AlongLayers, Axis::AcrossLayers],
        Measured::Shrinkage => &[Axis::X, Axis::Y],
        Measured::Overhang | Measured::Bridge | Measured::Flow => return,
    };
    let words: Vec<&str> = fitting.iter().map(|a| a.as_str()).collect();
    match &record.axis {
        Some(axis) if !fitting.contains(&axis.value) => {
            let message = format!("a record of `{what}` is not used with the axis `{}`", axis.value);
            out.push(
                Diagnostic::error("shop/axis", axis.at, message)
                    .hint(format!("write `axis: {}`", words.join("` or `axis: "))),
            );
        }
        _ => {}
    }
}

/// Says which keys of a record count for nothing with what it measured.
fn check_unused(record: &Calibration, out: &mut Vec<Diagnostic>) {
    let what = record.what.value;
    let sizes = matches!(what, Measured::Hole | Measured::Outside);
    let axis = sizes || matches!(what, Measured::Gap | Measured::Shrinkage);
    let keys = [
        ("axis", record.axis.as_ref().map(|v| v.at), axis),
        ("offset", record.offset.as_ref().map(|v| v.at), sizes),
        ("scale", record.scale.as_ref().map(|v| v.at), sizes || what == Measured::Shrinkage),
        ("spread", record.spread.as_ref().map(|v| v.at), sizes),
        ("angle", record.angle.as_ref().map(|v| v.at), what == Measured::Overhang),
        ("span", record.span.as_ref().map(|v| v.at), what == Measured::Bridge),
        ("flow", record.flow.as_ref().map(|v| v.at), what == Measured::Flow),
        ("gap", record.gap.as_ref().map(|v| v.at), what == Measured::Gap),
        ("from", record.from.as_ref().map(|v| v.at), sizes),
        ("to", record.to.as_ref().map(|v| v.at), sizes),
    ];
    for (key, at, used) in keys {
        if let Some(at) = at.filter(|_| !used) {
            out.push(Diagnostic::warning(
                "shop/unused-key",
                at,
                format!("`{key}` is not used in a record of `{what}`"),
            ));
        }
    }
}

/// Reports a label far outside what the material prints at: most likely a slip of the pen.
fn check_label(spool: &Spool, catalogue: &Catalogue, out: &mut Vec<Diagnostic>) {
    let Some(material) = catalogue.materials.get(&spool.material.value) else { return };
    let labels = [
        (&spool.print_temperature, &material.print_temperature, "prints at"),
        (&spool.bed_temperature, &material.bed_temperature, "wants a bed of"),
    ];
    for (label, usual, verb) in labels {
        let Some(label) = label else { continue };
        let off = catalogue.value(figures::LABEL_OFF).to_k();
        let (low, high) = (usual.low().to_kelvin() - off, usual.high().to_kelvin() + off);
        let label_k = label.value.to_kelvin();
        if label_k < low || label_k > high {
            let name = &spool.material.value;
            let message = format!("{name} {verb} {} to {}; this says {}", usual.low(), usual.high(), label.value);
            let found = Diagnostic::error("shop/label", label.at, message);
            out.push(found.hint(format!("copy it from the spool again; another blend is an entry of its own: `catalogue: {{ materials: {{ MY-{name}: {{ like: {name}, … }} }} }}`")));
        }
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
