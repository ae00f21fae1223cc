//! What can stand where somebody types: statements, their words, units, and names of the spec, the workshop, the catalogue, the
//! rules and the mesh.

use lsp_types::{
    CompletionItem, CompletionItemKind, CompletionTextEdit, Documentation, MarkupContent, MarkupKind, TextEdit,
};

use super::cursor::Cursor;
use super::documents::{Document, Kind};
use super::hover;
use super::names::{Name, Of};
use super::positions::Encoding;
use super::reading::{Outcome, Reading};
use super::yaml;
use crate::cli::listing;
use crate::quantity::{Dimension, UNITS};
use crate::resolve::shop::Bench;
use crate::rulebook::Root;
use crate::semantics::form::{Body, Context, Entry, Item, Kind as Argument};
use crate::semantics::reference;
use crate::semantics::vocabulary::{self, DECISIONS, SETTINGS};

/// Most names that are offered at a place.
const MOST: usize = 400;

/// What is known where somebody types.
pub(super) struct Place<'a> {
    pub document: &'a Document,
    pub reading: &'a Reading,
    pub names: &'a [Name],
    pub outcome: Option<&'a Outcome>,
    pub offset: usize,
    pub encoding: Encoding,
}

/// Something that can stand there.
struct Offer {
    label: String,
    kind: CompletionItemKind,
    detail: String,
    help: String,
}

impl Offer {
    fn new(label: impl Into<String>, kind: CompletionItemKind, detail: impl Into<String>) -> Self {
        Self { label: label.into(), kind, detail: detail.into(), help: String::new() }
    }
}

impl Place<'_> {
    /// Returns what can stand there, the likeliest first.
    pub(super) fn offers(&self) -> Vec<CompletionItem> {
        let text: &str = &self.document.text;
        if self.document.kind == Kind::Shop {
            let words = yaml::words(self.reading, self.offset);
            let offers = words.into_iter().map(|(word, help)| Offer::new(word, CompletionItemKind::PROPERTY, help));
            return self.items(offers.collect(), begun(text, self.offset));
        }
        let cursor = Cursor::at(text, self.offset);
        if cursor.in_comment {
            return Vec::new();
        }
        if cursor.in_text {
            let length = cursor.words.last().map_or(0, String::len);
            return self.items(self.in_text(&cursor), length);
        }
        let length = if cursor.partial { cursor.words.last().map_or(0, String::len) } else { 0 };
        let offers = match cursor.context() {
            Some(Context::Rule) if !cursor.done().is_empty() => self.facts(&cursor),
            Some(context) if cursor.done().is_empty() => self.statements(context),
            Some(_) => self.behind(&cursor),
            None => Vec::new(),
        };
        self.items(offers, length)
    }

    /// Puts offers into the protocol's form; each takes the place of what is begun, so many bytes of it.
    fn items(&self, offers: Vec<Offer>, begun: usize) -> Vec<CompletionItem> {
        let range = self.offset.saturating_sub(begun)..self.offset;
        let range = self.document.lines.range(&self.document.text, range, self.encoding);
        let item = |(nth, offer): (usize, Offer)| CompletionItem {
            kind: Some(offer.kind),
            detail: (!offer.detail.is_empty()).then_some(offer.detail),
            documentation: (!offer.help.is_empty()).then_some(Documentation::MarkupContent(MarkupContent {
                kind: MarkupKind::Markdown,
                value: offer.help,
            })),
            sort_text: Some(format!("{nth:04}")),
            filter_text: Some(offer.label.clone()),
            text_edit: Some(CompletionTextEdit::Edit(TextEdit::new(range, offer.label.clone()))),
            label: offer.label,
            ..CompletionItem::default()
        };
        offers.into_iter().take(MOST).enumerate().map(item).collect()
    }

    /// Statements that may stand in a block; in a part those that speak of the mesh's own holes and sides as well.
    fn statements(&self, context: Context) -> Vec<Offer> {
        let mut offers: Vec<Offer> = vocabulary::statements_of(context)
            .filter(|entry| context != Context::File || self.belongs(entry))
            .map(|entry| Offer {
                help: hover::statement(entry),
                ..Offer::new(entry.keyword, CompletionItemKind::KEYWORD, entry.help)
            })
            .collect();
        if context == Context::Part {
            let lines = self.outcome.map_or(&[][..], |o| o.lines.as_slice());
            offers.extend(
                lines
                    .iter()
                    .map(|(line, words)| Offer::new(line.as_str(), CompletionItemKind::SNIPPET, words.as_str())),
            );
        }
        offers
    }

    /// Whether a statement of the file belongs into a file of this kind.
    fn belongs(&self, entry: &Entry) -> bool {
        match self.document.kind {
            Kind::Run => matches!(entry.keyword, "run" | "let"),
            Kind::Rules => matches!(entry.keyword, "rule" | "let"),
            _ => !matches!(entry.keyword, "run" | "rule"),
        }
    }

    /// What may stand behind the words of a statement.
    fn behind(&self, cursor: &Cursor) -> Vec<Offer> {
        let Some((entry, last)) = cursor.entries() else { return Vec::new() };
        let done = cursor.done();
        let before = done.last().map_or("", String::as_str);
        if is_number(before) {
            return units(last);
        }
        if before == "is" && matches!(entry.keyword, "part" | "profile") {
            return self.given(Of::Profile, "");
        }
        if matches!(entry.keyword, "pin" | "forbid") && done.len() == 1 {
            return decisions(entry.keyword == "pin");
        }
        if matches!(entry.keyword, "printers" | "without") {
            return self.bench(Of::Printer);
        }
        let mut words: Vec<&'static str> = Vec::new();
        words_of(last.form, &mut words);
        let unsaid = |word: &&str| !done.iter().any(|d| d == word);
        let mut offers: Vec<Offer> = words
            .into_iter()
            .filter(unsaid)
            .map(|word| Offer::new(word, CompletionItemKind::ENUM_MEMBER, reference::pattern(last)))
            .collect();
        if wants_quantity(last.form) {
            offers.extend(self.given(Of::Constant, cursor.block()));
        }
        if wants_place(last.form) {
            offers.extend(["face", "fit"].map(|w| Offer::new(w, CompletionItemKind::KEYWORD, "a place on the part")));
        }
        let shared = match entry.body {
            Body::InlineOrBlock(inner) => Some(inner),
            _ => cursor.context().filter(|c| c.shares_lines()),
        };
        let beside = shared.into_iter().flat_map(vocabulary::statements_of).filter(|e| unsaid(&e.keyword));
        offers.extend(beside.map(|entry| Offer {
            help: hover::statement(entry),
            ..Offer::new(entry.keyword, CompletionItemKind::KEYWORD, entry.help)
        }));
        offers
    }

    /// Names that may stand in the quotes that are open.
    fn in_text(&self, cursor: &Cursor) -> Vec<Offer> {
        let done = cursor.done();
        let before = done.last().map_or("", String::as_str);
        let Some((entry, last)) = cursor.entries() else { return Vec::new() };
        let block = cursor.block();
        match (entry.keyword, before) {
            ("pin" | "forbid", decision) => self.choices(decision),
            ("waive", _) => self.rules(),
            ("contact", "contact") | (_, "of" | "against") if last.keyword != "wear" => self.entries("chemicals"),
            (_, "colour") => self.entries("colours"),
            ("mesh", "mesh") => self.files(&["stl", "3mf", "obj", "off"]),
            ("use", _) => self.files(&["partspec", "rules"]),
            ("build", "build") => self.files(&["partspec"]),
            ("mate", "mate" | "with") | ("build", "part") => self.given(Of::Part, ""),
            ("mate", "fit") => {
                let part = done.iter().rev().nth(1).map_or("", String::as_str);
                self.given(Of::Fit, part)
            }
            ("deflection", "under") => self.given(Of::Load, block),
            (_, "from" | "to") if last.keyword == "distance" => self.given(Of::Fit, block),
            (_, "face") => self.given(Of::Face, block),
            (_, "fit") => self.given(Of::Fit, block),
            _ => Vec::new(),
        }
    }

    /// Names given in the document and what it imports: those of a block, and of the profiles it may stand on.
    fn given(&self, of: Of, block: &str) -> Vec<Offer> {
        let profiles: Vec<&str> =
            self.names.iter().filter(|n| n.given && n.of == Of::Profile).map(|n| n.name.as_str()).collect();
        let in_sight = |n: &&Name| {
            n.given && n.of == of && (of == Of::Constant || n.block == block || profiles.contains(&n.block.as_str()))
        };
        let mut offers: Vec<Offer> = Vec::new();
        for name in self.names.iter().filter(in_sight) {
            if !offers.iter().any(|o| o.label == name.name) {
                let place = self.reading.sources.place(name.span);
                offers.push(Offer::new(&*name.name, CompletionItemKind::REFERENCE, place));
            }
        }
        offers
    }

    /// Values a decision may take.
    fn choices(&self, decision: &str) -> Vec<Offer> {
        let of = match decision {
            "printer" => Of::Printer,
            "material" => Of::Material,
            "spool" => Of::Spool,
            "nozzle" => Of::Nozzle,
            "surface" => Of::Surface,
            "agent" => Of::Agent,
            _ => return Vec::new(),
        };
        self.bench(of)
    }

    fn bench(&self, of: Of) -> Vec<Offer> {
        let Some(loaded) = &self.reading.loaded else { return Vec::new() };
        let Some(shop) = &loaded.shop else { return Vec::new() };
        let bench = Bench::of(shop, &loaded.catalogue, loaded.assumed);
        let names: Vec<(String, String)> = match of {
            Of::Printer => bench.printers.iter().map(|p| (p.name.clone(), String::new())).collect(),
            Of::Material => bench.materials.iter().map(|m| (m.name.clone(), m.title.value.clone())).collect(),
            Of::Spool => bench.spools.iter().map(|s| (s.name.clone(), s.material.clone())).collect(),
            Of::Nozzle => bench.nozzles.iter().map(|n| (n.name.clone(), n.metal.title.value.clone())).collect(),
            Of::Surface => bench.surfaces.iter().map(|s| (s.name.clone(), s.kind.title.value.clone())).collect(),
            Of::Agent => bench.agents.iter().map(|a| (a.name.clone(), String::new())).collect(),
            _ => Vec::new(),
        };
        names.into_iter().map(|(name, what)| Offer::new(name, CompletionItemKind::VALUE, what)).collect()
    }

    fn rules(&self) -> Vec<Offer> {
        let rules = self.reading.loaded.iter().flat_map(|l| &l.rulebook.rules);
        let refuses = rules
            .filter(|r| !r.binding && r.verdicts.iter().any(|v| matches!(v, crate::rulebook::Verdict::Require { .. })));
        refuses.map(|r| Offer::new(&*r.name, CompletionItemKind::VALUE, &*r.because)).collect()
    }

    fn entries(&self, kind: &str) -> Vec<Offer> {
        let table = self.reading.loaded.as_ref().and_then(|l| listing::table(l, Some(kind)).ok());
        let rows = table.map(|t| t.rows).unwrap_or_default();
        let offer = |row: Vec<String>| {
            let mut cells = row.into_iter();
            Some(Offer::new(cells.next()?, CompletionItemKind::VALUE, cells.collect::<Vec<_>>().join("; ")))
        };
        rows.into_iter().filter_map(offer).collect()
    }

    /// Files of some endings beside the document, by their names.
    fn files(&self, endings: &[&str]) -> Vec<Offer> {
        let folder = self.document.path.parent().and_then(|folder| std::fs::read_dir(folder).ok());
        let ends = |name: &String| endings.iter().any(|end| name.to_lowercase().ends_with(&format!(".{end}")));
        let names = folder.into_iter().flatten().flatten().take(MOST);
        let mut names: Vec<String> =
            names.map(|e| e.file_name().to_string_lossy().into_owned()).filter(|n| ends(n)).collect();
        names.sort();
        names.into_iter().map(|name| Offer::new(name, CompletionItemKind::FILE, "")).collect()
    }

    /// Facts, functions and thresholds that a rule may read.
    fn facts(&self, cursor: &Cursor) -> Vec<Offer> {
        let begun = cursor.words.last().filter(|_| cursor.partial).map_or("", String::as_str);
        if let Some((root, _)) = begun.split_once('.') {
            let fields = Root::parse(root).map(Root::fields).unwrap_or_default();
            let offer = |f: &crate::rulebook::FactField| Offer {
                help: f.help.to_owned(),
                ..Offer::new(format!("{root}.{}", f.name), CompletionItemKind::FIELD, f.kind.noun())
            };
            return fields.iter().map(offer).collect();
        }
        let roots = Root::ALL.iter().map(|r| Offer::new(r.word(), CompletionItemKind::MODULE, "facts"));
        let functions = crate::physics::registry::functions().iter().map(|f| Offer {
            help: f.help.to_owned(),
            ..Offer::new(f.name, CompletionItemKind::FUNCTION, f.signature())
        });
        let thresholds = self.reading.loaded.iter().flat_map(|l| l.rulebook.names.values());
        let thresholds = thresholds.map(|t| Offer::new(&*t.name, CompletionItemKind::CONSTANT, &*t.written));
        roots.chain(functions).chain(thresholds).collect()
    }
}

/// Returns how many bytes of a word stand before a place.
fn begun(text: &str, offset: usize) -> usize {
    yaml::word_at(text, offset).map_or(0, |word| offset.saturating_sub(word.start))
}

fn is_number(word: &str) -> bool {
    word.chars().any(|c| c.is_ascii_digit())
        && word.chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '+' | '−' | 'e'))
}

/// Units of the quantities in a pattern; where it has none, the usual ones are no help.
fn units(entry: &Entry) -> Vec<Offer> {
    let mut dimensions: Vec<Dimension> = Vec::new();
    dimensions_of(entry.form, &mut dimensions);
    let fits = |unit: &&crate::quantity::Unit| dimensions.contains(&unit.dimension);
    UNITS.iter().filter(fits).map(|u| Offer::new(u.symbol, CompletionItemKind::UNIT, u.dimension.name())).collect()
}

fn dimensions_of(form: &[Item], found: &mut Vec<Dimension>) {
    for item in form {
        match item {
            Item::Value(_, Argument::Measure(m) | Argument::Range(m)) => found.push(m.dimension),
            Item::Value(_, Argument::Point | Argument::Where) => found.push(Dimension::LENGTH),
            Item::Maybe(inner) => dimensions_of(inner, found),
            _ => {}
        }
    }
}

fn wants_quantity(form: &[Item]) -> bool {
    let mut dimensions = Vec::new();
    dimensions_of(form, &mut dimensions);
    !dimensions.is_empty()
}

fn wants_place(form: &[Item]) -> bool {
    form.iter().any(|item| matches!(item, Item::Value(_, Argument::Where)))
}

/// Words of a pattern, those of optional groups among them.
fn words_of(form: &'static [Item], found: &mut Vec<&'static str>) {
    for item in form {
        match item {
            Item::Word(word) | Item::Noise(word) => found.push(word),
            Item::OneOf(_, words) | Item::Value(_, Argument::Words(words)) => found.extend(words.iter().copied()),
            Item::Value(_, Argument::Direction) => found.extend(["+x", "-x", "+y", "-y", "+z", "-z"]),
            Item::Maybe(inner) => words_of(inner, found),
            Item::Value(..) => {}
        }
    }
}

/// Decisions, and where they may be pinned the settings.
fn decisions(settings: bool) -> Vec<Offer> {
    let decisions = DECISIONS.iter().map(|d| Offer::new(*d, CompletionItemKind::PROPERTY, "a decision"));
    let settings = SETTINGS.iter().filter(|_| settings);
    let settings = settings.map(|(name, dimension, unit)| {
        let what = if unit.is_empty() { dimension.name() } else { format!("a setting, in {unit}") };
        Offer::new(*name, CompletionItemKind::PROPERTY, what)
    });
    decisions.chain(settings).collect()
}
