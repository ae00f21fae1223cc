//! What a workshop has and knows of itself: printers, nozzles, surfaces, spools, tools, yields and calibrations.
//!
//! A shop's statements need no source; they carry the place in the shop's file instead. Dates are plain text, checked
//! for form and never compared with a clock.

mod check;
pub mod reference;

use super::decode::{Bare, Decode, Reading, quantity_of, record, text_of};
use super::node::{Content, Key, Node};
use super::value::{Field, Located, Plain, Shape};
use super::words::{Axis, Drive, Measured, MeltZone, Stored};
use crate::day::is_day;
use crate::diag::{Diagnostic, Span};
use crate::quantity::{
    Acceleration, Angle, Dimension, EnergyPrice, Flow, Length, Mass, MassPrice, Power, Ratio, Speed, Temperature,
    TimePrice, Torque,
};

/// A record that is written as the name of its kind alone, or in full with a name of its own.
macro_rules! named_kind {
    (
        $(#[doc = $doc:literal])*
        pub struct $record:ident ($what:literal) {
            $(#[doc = $name_help:literal])+
            name: String,
            $(#[doc = $kind_help:literal])+
            kind: String,
            $( $(#[doc = $help:literal])+ $field:ident: $type:ty, )*
        }
    ) => {
        $(#[doc = $doc])*
        #[derive(Debug, Clone, PartialEq)]
        pub struct $record {
            $(#[doc = $name_help])+
            pub name: Located<String>,
            $(#[doc = $kind_help])+
            pub kind: Located<String>,
            $( $(#[doc = $help])+ pub $field: $type, )*
            /// Where it stands.
            pub at: Span,
        }

        impl $record {
            /// Name, shape and help of every field.
            pub const FIELDS: &'static [Field] = &[
                Field { name: "name", shape: Shape::Text, needed: false, help: concat!($($name_help),+).trim_ascii_start() },
                Field { name: "kind", shape: Shape::Text, needed: true, help: concat!($($kind_help),+).trim_ascii_start() },
                $( Field {
                    name: stringify!($field),
                    shape: <$type as Decode>::SHAPE,
                    needed: <$type as Decode>::NEEDED,
                    help: concat!($($help),+).trim_ascii_start(),
                }, )*
            ];
        }

        impl Decode for $record {
            const SHAPE: Shape = Shape::Block;
            fn decode(node: &Node, out: &mut Vec<Diagnostic>) -> Option<Self> {
                if let Some(text) = node.text() {
                    let name = Located { value: text.to_owned(), at: node.at };
                    return Some(Self { kind: name.clone(), name, $( $field: <$type>::absent()?, )* at: node.at });
                }
                let mut map = Reading::of(node, $what, out)?;
                let name = map.take::<Option<Located<String>>>("name", out);
                let kind = map.take::<Located<String>>("kind", out);
                $( let $field = map.take::<$type>(stringify!($field), out); )*
                map.finish(out);
                let kind = kind?;
                let name = name?.unwrap_or_else(|| kind.clone());
                Some(Self { at: name.at, name, kind, $( $field: $field?, )* })
            }
        }
    };
}

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
        /// Hours its plates took over the hours reckoned for them, in the middle; 1 where nothing is said.
        pace: Option<Located<Ratio>>,
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
        /// Whether it may print with nobody there, by night or day; no where nothing is said.
        unattended: Option<Located<bool>>,
        /// Day from which it is free for new work; free now where nothing is said.
        free_from: Option<Located<Date>>,
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
        /// How many of it there are; one where nothing is said.
        count: Option<Located<u32>>,
    }
}

named_kind! {
    /// A build surface the shop has: `smooth-pei`, or `{ name: plate-2, kind: smooth-pei }`.
    pub struct ShopSurface("a build surface") {
        /// Its name; that of its kind where nothing is said.
        name: String,
        /// What it is, by the catalogue's name.
        kind: String,
        /// Hottest bed it stands, where its maker says so; the catalogue's figure of its kind where nothing is said.
        limit: Option<Located<Temperature>>,
        /// How many of it there are; as many as are mounted, but at least one, where nothing is said.
        count: Option<Located<u32>>,
    }
}

named_kind! {
    /// An agent the shop keeps: `pva-glue`, or `{ name: glue stick, kind: pva-glue }`.
    pub struct ShopAgent("an agent") {
        /// Its name; that of its kind where nothing is said.
        name: String,
        /// What it is, by the catalogue's name.
        kind: String,
    }
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
        /// How it is kept: open, bag, dry-box or sealed (as it came); open where nothing is said.
        stored: Option<Located<Stored>>,
        /// Nozzle temperature its label gives, which outweighs the catalogue's.
        print_temperature: Option<Located<Temperature>>,
        /// Bed temperature its label gives, which outweighs the catalogue's.
        bed_temperature: Option<Located<Temperature>>,
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
        /// Whether there is an iron with tips for heat-set inserts.
        iron: Option<Located<bool>>,
        /// Whether there is a scale that weighs to a gram.
        scale: Option<Located<bool>>,
        /// Whether there is a drill press.
        drill_press: Option<Located<bool>>,
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
        /// The run it was learned from; what is learned of that run again takes its place.
        run: Option<Located<String>>,
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
        /// What was measured: hole, outside, overhang, bridge, flow, shrinkage or gap.
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
        /// Smallest gap all round at which two pieces printed in place still came free.
        gap: Option<Located<Length>>,
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
    /// Width (x), depth (y) and height (z), as the machine reaches.
    pub size: [Length; 3],
    /// Where the shop file says so.
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
    /// The diameter it cuts.
    pub size: Length,
    /// An ISO 286 zone, `H7`; none where the file gives only the size.
    pub zone: Option<String>,
    /// Where the shop file says so.
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
        if is_day(text) {
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

/// A part of the file kept as a tree, for the catalogue to read.
#[derive(Debug, Clone, PartialEq)]
pub struct Tree(pub(crate) Node);

impl Decode for Tree {
    const SHAPE: Shape = Shape::Block;
    fn decode(node: &Node, _: &mut Vec<Diagnostic>) -> Option<Self> {
        Some(Self(node.clone()))
    }
}

impl Shop {
    /// Returns where values stand that could not be read.
    pub(super) fn unread(found: &[Diagnostic]) -> Vec<Span> {
        let read = |d: &&Diagnostic| d.is_error() && d.code != super::sense::SENSELESS;
        found.iter().filter(read).filter_map(|d| d.labels.first().map(|l| l.span)).collect()
    }

    /// Reads a file again without the values that could not be read, so that all the rest can be looked at.
    pub(super) fn of_the_rest(tree: &Node, unread: &[Span]) -> Option<Self> {
        let mut rest = tree.clone();
        rest.leave_out(unread);
        if let (Content::Map(entries), None) = (&mut rest.content, tree.get("name").filter(|n| !unread.contains(&n.at)))
        {
            let name = Node { content: Content::Scalar("the workshop".to_owned()), at: tree.at };
            entries.push((Key { text: "name".to_owned(), at: tree.at }, name));
        }
        Self::decode(&rest, &mut Vec::new())
    }

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
}
