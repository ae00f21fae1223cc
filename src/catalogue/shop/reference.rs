//! The reference page of the workshop's file: every key with type, unit, whether it must be there, and what it does, made from the
//! records that read it.

use std::fmt::Write as _;

use super::{Calibration, Insert, Now, Printer, Shop, ShopAgent, ShopNozzle, ShopSurface, Spool, Tools, Yield};
use crate::catalogue::decode::example_of;
use crate::catalogue::value::{Field, Shape};

/// A part of the file that holds keys: the path to it, what it is, its keys.
#[derive(Debug, Clone, Copy)]
pub struct Section {
    /// `printers.now`; empty for the file itself.
    pub path: &'static str,
    /// The heading on the page.
    pub title: &'static str,
    /// Its keys in the order of the page.
    pub fields: &'static [Field],
}

/// Every part of the file that holds keys, in the order of the page.
pub const SECTIONS: &[Section] = &[
    Section { path: "", title: "The file", fields: Shop::FIELDS },
    Section { path: "printers", title: "A printer", fields: Printer::FIELDS },
    Section { path: "printers.now", title: "What is in a printer now", fields: Now::FIELDS },
    Section { path: "nozzles", title: "A nozzle", fields: ShopNozzle::FIELDS },
    Section { path: "surfaces", title: "A build surface", fields: ShopSurface::FIELDS },
    Section { path: "agents", title: "An agent", fields: ShopAgent::FIELDS },
    Section { path: "spools", title: "A spool", fields: Spool::FIELDS },
    Section { path: "tools", title: "Tools", fields: Tools::FIELDS },
    Section { path: "tools.inserts", title: "Heat-set inserts of one kind", fields: Insert::FIELDS },
    Section { path: "yields", title: "A past run", fields: Yield::FIELDS },
    Section { path: "calibration", title: "A calibration record", fields: Calibration::FIELDS },
];

/// What each key does to a recipe, and what stands in where it is left out.
const EFFECTS: &[(&str, &str)] = &[
    ("name", "the name on the recipe"),
    ("currency", "the word behind every price; `money` where nothing is said"),
    (
        "electricity",
        "with a printer's `power` the cost of electricity in the run's cost; not counted, and said so, without",
    ),
    (
        "labour",
        "the cost of a person's time at each plate (`work_per_plate` of the catalogue); not counted, and said so, without",
    ),
    ("extraction", "materials with fumes weigh less; the step that switches it on, else airing and a caution"),
    ("printers", "among these a printer is chosen"),
    ("nozzles", "among these a nozzle is chosen"),
    ("surfaces", "among these a build surface is chosen"),
    ("agents", "among these an agent is chosen, or none"),
    ("spools", "a material without a spool is refused; where the list is left out every material counts as at hand"),
    ("tools", "which fits can be finished, and how; where it is left out nothing is said to be missing"),
    ("yields", "how many pieces to start; the catalogue's `yield_assumed` without"),
    ("calibration", "sizes to model, limits of overhang and bridge, flow, shrinkage, gaps; named defaults without"),
    ("catalogue", "replaces or adds entries of the catalogue for this workshop; see below"),
    ("printers.name", "what recipes, pins and records call it"),
    ("printers.build", "poses that do not fit are refused; pieces on a plate"),
    ("printers.edge", "taken off the build volume on every side; the catalogue's `plate_edge` (5 mm) without"),
    ("printers.nozzle_limit", "materials that print hotter are refused; caps nozzle temperatures"),
    ("printers.bed_limit", "materials that want a hotter bed are refused; caps bed temperatures"),
    ("printers.enclosed", "what needs an enclosure is refused in the open; doors open for what softens in the warm"),
    ("printers.chamber", "what needs a warmer chamber is refused or weighs more; the setting of the chamber"),
    ("printers.drive", "rubbery filament is refused through a guide tube; retraction"),
    ("printers.filament", "spools of another diameter are refused; 1.75 mm without"),
    ("printers.melt_zone", "flow of the hot end, and with it speed and time; short without"),
    ("printers.flow", "the same as measured, in place of `melt_zone`"),
    ("printers.speed", "caps the printing speed; 80 mm/s, 120 mm/s where speed is preferred, without"),
    ("printers.acceleration", "lines are started and stopped, which lengthens the time; not counted without"),
    (
        "printers.pace",
        "printing times are multiplied by it; `makeready record RUN --into-shop` tells it from a run's records; 1 without",
    ),
    ("printers.power", "with `electricity` the cost of electricity"),
    ("printers.hour_rate", "machine hours in the cost; not counted, and said so, without"),
    ("printers.nozzle_torque", "the torque of a nozzle change; the hot end's documentation is referred to without"),
    ("printers.nozzles", "all others are refused in it; all fit without"),
    ("printers.surfaces", "all others are refused on it; all fit without"),
    ("printers.level_due", "the levelling step; no without"),
    (
        "printers.unattended",
        "a run may print on it while nobody is there, where the run says so and no caution of fire stands; no without",
    ),
    (
        "printers.free_from",
        "weighs against it, a step to wait for it, and refused where the run would not be done by the day of `wanted by`; free without",
    ),
    ("printers.now", "the change-over begins from it; every step says to look first without"),
    ("printers.now.material", "unloading and purging; that of `spool` without"),
    ("printers.now.spool", "loading another spool, and for the other printers: it has to be taken from this one"),
    ("printers.now.nozzle", "a nozzle change, and for the other printers: it has to be taken from this one"),
    ("printers.now.surface", "a change of surface, and for the other printers: it has to be taken from this one"),
    ("printers.now.agent", "what is on the surface is washed off first"),
    ("printers.now.levelled", "the levelling step where it says no; yes without"),
    ("nozzles.name", "what recipes, pins and records call it"),
    ("nozzles.bore", "layer height, bead width, flow; clogging fillers are refused"),
    ("nozzles.metal", "abrasive fillers are refused in soft ones; flow and temperature; food"),
    ("nozzles.worn", "weighs against it, and a caution to measure it; no without"),
    ("nozzles.count", "how many printers can have it before it has to be taken from one; 1 without"),
    ("surfaces.name", "what recipes and pins call it; its kind without"),
    ("surfaces.kind", "how materials hold on it, with which agent, cleaning, removal"),
    (
        "surfaces.limit",
        "caps bed temperatures; materials that want a hotter bed are refused; the catalogue's figure without",
    ),
    ("surfaces.count", "how many printers can have it before it has to be taken from one; as many as have it without"),
    ("agents.name", "what recipes and pins call it; its kind without"),
    ("agents.kind", "what it does on which surface, how it is laid on and washed off"),
    ("spools.name", "what recipes and pins call it"),
    ("spools.material", "which material is in stock"),
    ("spools.colour", "the colour asked for, the heat in the sun; not known without"),
    ("spools.left", "a spool that reaches is taken first, one that does not is told; not known without"),
    ("spools.price", "filament in the cost; the catalogue's price of the material without"),
    ("spools.filament", "refused in printers of another diameter; 1.75 mm without"),
    ("spools.opened", "whether it counts as dry, with `stored`"),
    ("spools.dried", "whether it counts as dry, with `stored`; the drying step"),
    ("spools.stored", "how long it stays dry; open without"),
    ("spools.print_temperature", "the nozzle temperature; the catalogue's for the material without"),
    ("spools.bed_temperature", "the bed temperature; the catalogue's for material and surface without"),
    ("spools.spool_limit", "caps the drying temperature; not known without"),
    ("tools.dryer_limit", "the drying step; no dryer without"),
    ("tools.oven_limit", "annealing is refused above it; no oven without"),
    ("tools.reamers", "fits that are reamed; those of another zone than H7 are not counted"),
    ("tools.drills", "fits that are drilled"),
    ("tools.taps", "threads that are cut"),
    ("tools.inserts", "threads with inserts, and the size of their holes"),
    ("tools.gauges", "a fit that none of them measures is a caution; nothing is said where the list is left out"),
    ("tools.lathe", "fits turned to size; no without"),
    ("tools.iron", "inserts without one are a caution; nothing is said without"),
    ("tools.scale", "the spool's rest is weighed, drying is judged by weight; nothing is said without"),
    ("tools.drill_press", "reaming and drilling in it, a caution where it says no; nothing is said without"),
    ("tools.inserts.thread", "which fits it serves"),
    ("tools.inserts.hole", "the hole to model; the usual one of its thread without"),
    ("tools.inserts.outside", "how much wall its boss needs; the usual one without"),
    ("tools.inserts.length", "how deep its hole must be; the usual one without"),
    ("tools.inserts.count", "a run that needs more is a caution; not known without"),
    ("yields.printer", "the record counts for this printer; any without"),
    ("yields.material", "the record counts for this material; any without"),
    ("yields.part", "runs of a part of this name count alone for it; any without"),
    ("yields.run", "named where the record counts; a plan of that run does not count its pieces twice; none without"),
    ("yields.started", "the share of good pieces, and how sure it is"),
    ("yields.good", "the share of good pieces"),
    ("yields.on", "the latest day the file knows, to which ages are counted"),
    ("calibration.printer", "the record counts for this printer"),
    ("calibration.nozzle", "the record counts for this nozzle"),
    ("calibration.material", "the record counts for this material"),
    ("calibration.what", "which of the keys below it needs"),
    ("calibration.axis", "hole, outside, gap: along-layers or across-layers; shrinkage: x or y"),
    ("calibration.offset", "hole, outside: the size to model"),
    ("calibration.scale", "hole, outside: the size to model, 1 without; shrinkage: how much a part comes out short"),
    ("calibration.spread", "hole, outside: whether printing holds the fit"),
    ("calibration.angle", "overhang: what is supported"),
    ("calibration.span", "bridge: what is supported"),
    ("calibration.flow", "flow: speed and time with this nozzle and material, in place of the printer's flow"),
    ("calibration.gap", "gap: what is printed in place"),
    ("calibration.from", "hole, outside: the smallest size the record counts for; any without"),
    ("calibration.to", "hole, outside: the largest size the record counts for; any without"),
    ("calibration.count", "how sure the record is; of two of one day the larger counts"),
    ("calibration.on", "of two records the later counts; an old one is told"),
];

/// Returns the path of every key of the file, `printers.now.spool`, in the order of the page.
pub fn keys() -> Vec<String> {
    let path = |section: &Section, field: &Field| match section.path {
        "" => field.name.to_owned(),
        of => format!("{of}.{}", field.name),
    };
    SECTIONS.iter().flat_map(|section| section.fields.iter().map(move |field| path(section, field))).collect()
}

/// Returns the field of a key, by its path.
pub fn field(key: &str) -> Option<&'static Field> {
    let (section, name) = key.rsplit_once('.').unwrap_or(("", key));
    SECTIONS.iter().find(|s| s.path == section)?.fields.iter().find(|f| f.name == name)
}

/// Returns what a key does, by its path.
pub fn effect(key: &str) -> Option<&'static str> {
    EFFECTS.iter().find(|(of, _)| *of == key).map(|(_, effect)| *effect)
}

/// Returns the keys that [`effect`] speaks of.
pub fn described() -> impl Iterator<Item = &'static str> {
    EFFECTS.iter().map(|(key, _)| *key)
}

/// Returns the page in Markdown.
pub fn page() -> String {
    let mut page = HEAD.to_owned();
    for section in SECTIONS {
        let place = if section.path.is_empty() { String::new() } else { format!(": `{}`", section.path) };
        let _ = write!(page, "\n## {}{place}\n\n", section.title);
        page.push_str("| key | what is written | what it is | what it does; without it |\n|---|---|---|---|\n");
        for field in section.fields {
            page.push_str(&row(section, field));
        }
    }
    page.push_str(CATALOGUE);
    page
}

fn row(section: &Section, field: &Field) -> String {
    let key = if section.path.is_empty() { field.name.to_owned() } else { format!("{}.{}", section.path, field.name) };
    let must = if field.needed { " (must be there)" } else { "" };
    let help = field.help.trim().trim_end_matches('.');
    let effect = effect(&key).unwrap_or_default();
    format!("| `{}`{must} | {} | {help} | {effect} |\n", field.name, written(&key, field.shape))
}

/// Says how the value of a key is written.
pub(crate) fn written(key: &str, shape: Shape) -> String {
    match (key, shape) {
        ("printers.build", _) => "three lengths: `[250 mm, 210 mm, 210 mm]`".to_owned(),
        ("tools.reamers" | "tools.drills", _) => "a list of sizes: `[6 mm H7, 8 mm]`".to_owned(),
        ("yields.on" | "calibration.on" | "spools.opened" | "spools.dried" | "printers.free_from", _) => {
            "a day: `2026-10-02`".to_owned()
        }
        ("surfaces" | "agents", _) => "a list of names or of blocks, below".to_owned(),
        ("printers.now" | "tools" | "catalogue", _) => "a block, below".to_owned(),
        ("printers" | "nozzles" | "spools" | "yields" | "calibration" | "tools.inserts", _) => {
            "a list of blocks, below".to_owned()
        }
        (
            "nozzles.count"
            | "surfaces.count"
            | "tools.inserts.count"
            | "yields.started"
            | "yields.good"
            | "calibration.count",
            _,
        ) => "a whole number".to_owned(),
        ("printers.nozzle_limit", _) => "a temperature: `290 °C`".to_owned(),
        ("printers.bed_limit", _) => "a temperature: `110 °C`".to_owned(),
        ("printers.edge" | "calibration.from", _) => "a length: `5 mm`".to_owned(),
        ("printers.filament" | "spools.filament", _) => "a length: `1.75 mm`".to_owned(),
        ("spools.print_temperature", _) => "a temperature: `245 °C`".to_owned(),
        ("tools.oven_limit", _) => "a temperature: `150 °C`".to_owned(),
        ("tools.inserts.hole" | "tools.inserts.outside", _) => "a length: `4.6 mm`".to_owned(),
        ("tools.inserts.length", _) => "a length: `5.7 mm`".to_owned(),
        ("calibration.span" | "calibration.to", _) => "a length: `24 mm`".to_owned(),
        ("calibration.offset", _) => "a length: `-0.16 mm`".to_owned(),
        ("calibration.spread", _) => "a length: `0.05 mm`".to_owned(),
        ("calibration.scale", _) => "a plain number: `0.998`".to_owned(),
        ("surfaces.kind" | "printers.now.surface", _) => "a name: `smooth-pei`".to_owned(),
        ("agents.kind" | "printers.now.agent", _) => "a name: `pva-glue`".to_owned(),
        ("nozzles.metal", _) => "a name: `hardened-steel`".to_owned(),
        ("spools.material" | "printers.now.material", _) => {
            "a name that `makeready catalogue materials` lists".to_owned()
        }
        ("spools.colour", _) => "a name: `dark grey`".to_owned(),
        ("tools.taps", _) => "a list of threads: `[M3, M5]`".to_owned(),
        ("tools.gauges", _) => "a list of names: `[caliper, plug gauge 6 H7]`".to_owned(),
        (_, Shape::Quantity(dimension)) => format!("{}: `{}`", dimension.name(), example_of(dimension)),
        (_, Shape::Word(words)) => words.iter().map(|w| format!("`{w}`")).collect::<Vec<_>>().join(", "),
        (_, Shape::Flag) => "`yes` or `no`".to_owned(),
        (_, Shape::Words) => "a list of names: `[a, b]`".to_owned(),
        (_, Shape::Text | Shape::Block) => "a text".to_owned(),
    }
}

const HEAD: &str = "# The workshop's file: `shop.yaml`

What a workshop has and knows of itself. The nearest `shop.yaml` upward from a spec counts; `--shop FILE` names another. It is YAML:
`key: value` on lines of their own, lists by `- ` or in brackets, blocks by indenting or in braces, comments after `#`. A quantity
carries its unit; prices are in `money`, whatever the currency. Names given to printers, nozzles, surfaces, agents and spools are what
specs pin, records name and recipes print. Only `name` and what is marked below must be there: the least file is a printer, a nozzle
and a surface.

```yaml
name: Least
printers:
  - { name: One, build: [220 mm, 220 mm, 250 mm], nozzle_limit: 260 °C, bed_limit: 100 °C, enclosed: no, drive: direct }
nozzles:
  - { name: brass-04, bore: 0.4 mm, metal: brass }
surfaces: [textured-pei]
```

Names of the catalogue (materials, kinds of surface and agent, metals of nozzles, colours) are listed by `makeready catalogue`, `makeready catalogue
surfaces` and so on. Inside `{ }` and `[ ]` a comma separates, so that a decimal is written with a point.

What is not stated is not assumed to be there: it is asked for at the machine, or said to be left out. Mistakes are told all at once,
each at its line (`makeready check SPEC` reads the shop file too). Made from the program's records; not edited by hand.
";

const CATALOGUE: &str = include_str!("../../../recipes/templates/own-catalogue.md");
