//! What a workshop has and knows of itself: printers, nozzles, surfaces, spools, tools, yields and calibrations.
//!
//! A shop's statements need no source; they carry the place in the shop's file instead. Dates are plain text, checked
//! for form and never compared with a clock.

use super::decode::{Bare, Decode, Reading, quantity_of, record, text_of, unknown};
use super::node::{Content, Node};
use super::value::{Located, Plain, Shape};
use super::words::{Axis, Drive, Measured, MeltZone, Stored};
use crate::diag::{Diagnostic, Span};
use crate::quantity::{
    Acceleration, Angle, Dimension, EnergyPrice, Flow, Length, Mass, MassPrice, Power, Ratio, Speed, Temperature,
    TimePrice, Torque,
};

record! {
    /// A workshop as its `shop.yaml` describes it.
    pub struct Shop("a workshop") {
        /// Its name.
        name: Located<String>,
        /// What its prices are in.
        currency: Option<Located<String>>,
        /// Price of electrical energy.
        electricity: Option<Located<EnergyPrice>>,
        /// Price of a person's hour.
        labour: Option<Located<TimePrice>>,
        /// Whether fumes are drawn off.
        extraction: Option<Located<bool>>,
        /// Its printers.
        printers: Vec<Printer>,
        /// Its nozzles.
        nozzles: Vec<ShopNozzle>,
        /// Its build surfaces.
        surfaces: Vec<ShopSurface>,
        /// The agents it keeps.
        agents: Vec<ShopAgent>,
        /// The spools in stock; `none stated` and `an empty list` differ.
        spools: Option<Vec<Spool>>,
        /// Tools for drying, annealing and finishing.
        tools: Option<Tools>,
        /// How many pieces of past runs came out good.
        yields: Vec<Yield>,
        /// What its printers make of a modelled size.
        calibration: Vec<Calibration>,
        /// Catalogue sections of its own, laid over the built-in ones.
        catalogue: Option<Tree>,
    }
}

record! {
    /// A printer.
    pub struct Printer("a printer") {
        /// Its name.
        name: Located<String>,
        /// Build volume: width, depth, height.
        build: Build,
        /// Room to keep free at the bed's edge.
        edge: Option<Located<Length>>,
        /// Hottest nozzle it reaches.
        nozzle_limit: Located<Temperature>,
        /// Hottest bed it reaches.
        bed_limit: Located<Temperature>,
        /// Whether it is enclosed.
        enclosed: Located<bool>,
        /// Temperature the air round the part reaches.
        chamber: Option<Located<Temperature>>,
        /// How filament is driven.
        drive: Located<Drive>,
        /// Diameter of the filament; 1.75 mm where nothing is said.
        filament: Option<Located<Length>>,
        /// Length of the melt zone, which says how fast it melts.
        melt_zone: Option<Located<MeltZone>>,
        /// Measured melting rate with PLA through 0.4 mm brass, which outweighs `melt_zone`.
        flow: Option<Located<Flow>>,
        /// Fastest travel that still prints well.
        speed: Option<Located<Speed>>,
        /// Acceleration that still prints well.
        acceleration: Option<Located<Acceleration>>,
        /// Mean electrical power while printing.
        power: Option<Located<Power>>,
        /// Cost of an hour on it.
        hour_rate: Option<Located<TimePrice>>,
        /// Torque for the nozzle, from the hot end's documentation.
        nozzle_torque: Option<Located<Torque>>,
        /// Nozzles that fit it; all of the shop's where nothing is said.
        nozzles: Option<Located<Vec<String>>>,
        /// Surfaces that fit it; all of the shop's where nothing is said.
        surfaces: Option<Located<Vec<String>>>,
        /// Whether levelling is due for a reason of its own.
        level_due: Option<Located<bool>>,
        /// What is loaded and fitted at present.
        now: Option<Now>,
    }
}

record! {
    /// What is in a printer at present.
    pub struct Now("what is in the printer") {
        /// The material in the hot end.
        material: Option<Located<String>>,
        /// The spool on it.
        spool: Option<Located<String>>,
        /// The nozzle in it.
        nozzle: Option<Located<String>>,
        /// The surface on it.
        surface: Option<Located<String>>,
        /// What is on the surface.
        agent: Option<Located<String>>,
        /// Whether it is levelled as it stands.
        levelled: Option<Located<bool>>,
    }
}

record! {
    /// A nozzle in the drawer or in a printer.
    pub struct ShopNozzle("a nozzle") {
        /// Its name.
        name: Located<String>,
        /// Its bore.
        bore: Located<Length>,
        /// What it is made of, by the catalogue's name.
        metal: Located<String>,
        /// Whether it is known to be worn.
        worn: Option<Located<bool>>,
    }
}

/// A build surface the shop has: `smooth-pei`, or `{ name: plate-2, kind: smooth-pei }`.
#[derive(Debug, Clone, PartialEq)]
pub struct ShopSurface {
    pub name: Located<String>,
    /// The catalogue's name of it.
    pub kind: Located<String>,
    pub at: Span,
}

/// An agent the shop keeps: `pva-glue`, or `{ name: glue stick, kind: pva-glue }`.
#[derive(Debug, Clone, PartialEq)]
pub struct ShopAgent {
    pub name: Located<String>,
    /// The catalogue's name of it.
    pub kind: Located<String>,
    pub at: Span,
}

record! {
    /// A spool in stock.
    pub struct Spool("a spool") {
        /// Its name.
        name: Located<String>,
        /// Its material, by the catalogue's name.
        material: Located<String>,
        /// Its colour.
        colour: Option<Located<String>>,
        /// Filament left on it.
        left: Option<Located<Mass>>,
        /// What its filament cost.
        price: Option<Located<MassPrice>>,
        /// Diameter of the filament; 1.75 mm where nothing is said.
        filament: Option<Located<Length>>,
        /// When it was opened.
        opened: Option<Located<Date>>,
        /// When it was last dried.
        dried: Option<Located<Date>>,
        /// How it is kept: open, bag or dry-box.
        stored: Option<Located<Stored>>,
        /// Hottest the spool body itself may be dried.
        spool_limit: Option<Located<Temperature>>,
    }
}

record! {
    /// Tools besides the printers.
    pub struct Tools("tools") {
        /// Hottest the filament dryer gets; no dryer where nothing is said.
        dryer_limit: Option<Located<Temperature>>,
        /// Hottest the annealing oven gets; no oven where nothing is said.
        oven_limit: Option<Located<Temperature>>,
        /// Reamers, each a size and perhaps its zone: `8 mm H7`.
        reamers: Option<Vec<Sized>>,
        /// Drills by diameter.
        drills: Option<Vec<Sized>>,
        /// Taps by thread.
        taps: Option<Located<Vec<String>>>,
        /// Heat-set inserts in the drawer.
        inserts: Option<Vec<Insert>>,
        /// Gauges: caliper, plug gauges and so on.
        gauges: Option<Located<Vec<String>>>,
        /// Whether there is a lathe or a boring head.
        lathe: Option<Located<bool>>,
    }
}

record! {
    /// Heat-set inserts of one kind; the hole is what their maker's drawing says.
    pub struct Insert("an insert") {
        /// Thread, such as M3.
        thread: Located<String>,
        /// Hole diameter by the maker's drawing.
        hole: Option<Located<Length>>,
        /// Largest outside diameter over the knurl.
        outside: Option<Located<Length>>,
        /// Length.
        length: Option<Located<Length>>,
        /// How many are in the drawer.
        count: Option<Located<u32>>,
    }
}

record! {
    /// A past run.
    pub struct Yield("a yield record") {
        /// The printer; any where nothing is said.
        printer: Option<Located<String>>,
        /// The material; any where nothing is said.
        material: Option<Located<String>>,
        /// What was printed.
        part: Option<Located<String>>,
        /// Pieces started.
        started: Located<u32>,
        /// Pieces that came out good.
        good: Located<u32>,
        /// When.
        on: Option<Located<Date>>,
    }
}

record! {
    /// A calibration record: printed size = scale × modelled size + offset, or a limit that was found.
    pub struct Calibration("a calibration record") {
        /// The printer.
        printer: Located<String>,
        /// The nozzle.
        nozzle: Located<String>,
        /// The material.
        material: Located<String>,
        /// What was measured: hole, outside, overhang, bridge, flow or shrinkage.
        what: Located<Measured>,
        /// How the feature lay: along-layers (axis in the layers), across-layers (axis upright), or x, y, z.
        axis: Option<Located<Axis>>,
        /// Printed minus modelled size; negative for a hole that comes out small.
        offset: Option<Located<Length>>,
        /// Slope of printed over modelled size; 1 where nothing is said.
        scale: Option<Located<Ratio>>,
        /// Standard deviation of single pieces.
        spread: Option<Located<Length>>,
        /// Steepest overhang from vertical that came out well.
        angle: Option<Located<Angle>>,
        /// Longest bridge that came out well.
        span: Option<Located<Length>>,
        /// Flow through the hot end at which the line still came out full.
        flow: Option<Located<Flow>>,
        /// Smallest modelled size measured.
        from: Option<Located<Length>>,
        /// Largest modelled size measured.
        to: Option<Located<Length>>,
        /// How many pieces were measured.
        count: Located<u32>,
        /// When.
        on: Located<Date>,
    }
}

/// Width, depth and height of a build volume.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Build {
    pub size: [Length; 3],
    pub at: Span,
}

impl Decode for Build {
    const SHAPE: Shape = Shape::Block;
    fn decode(node: &Node, out: &mut Vec<Diagnostic>) -> Option<Self> {
        let sides = match &node.content {
            Content::List(sides) if sides.len() == 3 => sides,
            _ => {
                let message = format!("expected width, depth and height, found {}", node.describe());
                out.push(
                    Diagnostic::error("shop/build-volume", node.at, message)
                        .hint("write `build: [250 mm, 210 mm, 210 mm]`"),
                );
                return None;
            }
        };
        let read: Vec<Option<Length>> = sides.iter().map(|side| positive_length(side, out)).collect();
        match read.as_slice() {
            [Some(x), Some(y), Some(z)] => Some(Self { size: [*x, *y, *z], at: node.at }),
            _ => None,
        }
    }
}

fn positive_length(node: &Node, out: &mut Vec<Diagnostic>) -> Option<Length> {
    let length = Length::bare(node, out)?;
    if length.to_mm() <= 0.0 {
        let message = format!("a length above zero is needed here, found `{length}`");
        out.push(Diagnostic::error("shop/not-positive", node.at, message));
        return None;
    }
    Some(length)
}

/// A tool's size and perhaps its tolerance zone: `8 mm`, `8 mm H7`.
#[derive(Debug, Clone, PartialEq)]
pub struct Sized {
    pub size: Length,
    pub zone: Option<String>,
    pub at: Span,
}

impl Decode for Sized {
    const SHAPE: Shape = Shape::Text;
    fn decode(node: &Node, out: &mut Vec<Diagnostic>) -> Option<Self> {
        let text = text_of(node, "a size such as `8 mm H7`", out)?;
        let (size, zone) = match text.rsplit_once(char::is_whitespace) {
            Some((size, zone)) if is_zone(zone) => (size, Some(zone.to_owned())),
            _ => (text, None),
        };
        let bare = Node { content: Content::Scalar(size.to_owned()), at: node.at };
        let size = quantity_of(&bare, Some(Dimension::LENGTH), out).and_then(|q| Length::try_from(q).ok())?;
        Some(Self { size, zone, at: node.at })
    }
}

/// Returns whether a word looks like an ISO 286 zone: one or two letters, then a grade.
fn is_zone(word: &str) -> bool {
    let letters = word.chars().take_while(char::is_ascii_alphabetic).count();
    let rest = word.get(letters..).unwrap_or("");
    (1..=2).contains(&letters) && !rest.is_empty() && rest.chars().all(|c| c.is_ascii_digit())
}

/// A date as written, `2026-10-02`; the order of the texts is the order of the days.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Date(pub String);

impl Bare for Date {
    const SHAPE: Shape = Shape::Text;
    fn bare(node: &Node, out: &mut Vec<Diagnostic>) -> Option<Self> {
        let text = text_of(node, "a date", out)?;
        if is_date(text) {
            return Some(Self(text.to_owned()));
        }
        let message = format!("expected a date, found `{text}`");
        out.push(Diagnostic::error("shop/date", node.at, message).hint("write year, month, day: `2026-10-02`"));
        None
    }
    fn plain(&self) -> Plain {
        Plain::Text(self.0.clone())
    }
}

/// Returns whether a text is a day of the (proleptic Gregorian) calendar in the form of ISO 8601, `2026-10-02`.
fn is_date(text: &str) -> bool {
    let digits = |t: &str| t.bytes().all(|b| b.is_ascii_digit()).then(|| t.parse::<u32>().ok()).flatten();
    let parts: Vec<&str> = text.split('-').collect();
    let [year, month, day] = parts.as_slice() else { return false };
    if (year.len(), month.len(), day.len()) != (4, 2, 2) {
        return false;
    }
    let (Some(year), Some(month), Some(day)) = (digits(year), digits(month), digits(day)) else { return false };
    let leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    let days = match month {
        4 | 6 | 9 | 11 => 30,
        2 if leap => 29,
        2 => 28,
        1..=12 => 31,
        _ => return false,
    };
    (1..=days).contains(&day)
}

/// A part of the file kept as a tree, for the catalogue to read.
#[derive(Debug, Clone, PartialEq)]
pub struct Tree(pub(crate) Node);

impl Decode for Tree {
    const SHAPE: Shape = Shape::Block;
    fn decode(node: &Node, _: &mut Vec<Diagnostic>) -> Option<Self> {
        Some(Self(node.clone()))
    }
}

/// Reads `kind`, or `{ name: …, kind: … }`.
fn named_kind(node: &Node, what: &str, out: &mut Vec<Diagnostic>) -> Option<(Located<String>, Located<String>)> {
    if let Some(text) = node.text() {
        let name = Located { value: text.to_owned(), at: node.at };
        return Some((name.clone(), name));
    }
    let mut map = Reading::of(node, what, out)?;
    let name = map.take::<Option<Located<String>>>("name", out);
    let kind = map.take::<Located<String>>("kind", out);
    map.finish(out);
    let kind = kind?;
    Some((name?.unwrap_or_else(|| kind.clone()), kind))
}

impl Decode for ShopSurface {
    const SHAPE: Shape = Shape::Block;
    fn decode(node: &Node, out: &mut Vec<Diagnostic>) -> Option<Self> {
        named_kind(node, "a build surface", out).map(|(name, kind)| Self { at: name.at, name, kind })
    }
}

impl Decode for ShopAgent {
    const SHAPE: Shape = Shape::Block;
    fn decode(node: &Node, out: &mut Vec<Diagnostic>) -> Option<Self> {
        named_kind(node, "an agent", out).map(|(name, kind)| Self { at: name.at, name, kind })
    }
}

impl Shop {
    /// Returns the printer of that name.
    pub fn printer(&self, name: &str) -> Option<&Printer> {
        self.printers.iter().find(|p| p.name.value == name)
    }

    /// Returns the nozzle of that name.
    pub fn nozzle(&self, name: &str) -> Option<&ShopNozzle> {
        self.nozzles.iter().find(|n| n.name.value == name)
    }

    /// Returns the spool of that name.
    pub fn spool(&self, name: &str) -> Option<&Spool> {
        self.spools.iter().flatten().find(|s| s.name.value == name)
    }

    /// Reports names that nothing in the shop or the catalogue answers to, names given twice, and numbers that cannot be.
    ///
    /// `tree` is the file: an entry that could not be read still lends its name, so that one finding stays one.
    pub(crate) fn check(&self, tree: &Node, catalogue: &super::Catalogue) -> Vec<Diagnostic> {
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
    fn of(tree: &'a Node, catalogue: &'a super::Catalogue) -> Self {
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

fn check_spool(spool: &Spool, catalogue: &super::Catalogue, names: &Names<'_>, out: &mut Vec<Diagnostic>) {
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
