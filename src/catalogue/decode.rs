//! From YAML trees to typed records, collecting every finding on the way.

use super::node::{Content, Key, Node};
use super::sense;
use super::value::{Datum, Fact, Figure, Located, Plain, Provenance, Shape, SourceKind};
use crate::diag::renamed::renamed;
use crate::diag::{Diagnostic, Span, nearest};
use crate::quantity::{Dimension, Quantity, QuantityError};
use crate::word::Word;
use std::collections::BTreeMap;

/// A type that can be read from a YAML node, every problem going to `out`.
pub(crate) trait Decode: Sized {
    const SHAPE: Shape;
    /// Whether a key of this type must be there.
    const NEEDED: bool = true;
    fn decode(node: &Node, out: &mut Vec<Diagnostic>) -> Option<Self>;
    /// What an absent key means: nothing for what must be there.
    fn absent() -> Option<Self> {
        None
    }
    /// The quantities in it, which can be held against what can be.
    fn quantities(&self) -> [Option<Quantity>; 3] {
        [None; 3]
    }
    /// The uniform view of the value, where it has one.
    fn datum(&self) -> Option<Datum> {
        None
    }
}

/// A bare value inside a `Fact` or `Located`.
pub(crate) trait Bare: Sized + Clone {
    const SHAPE: Shape;
    fn bare(node: &Node, out: &mut Vec<Diagnostic>) -> Option<Self>;
    fn plain(&self) -> Plain;
    fn quantity(&self) -> Option<Quantity> {
        None
    }
}

impl<W: Word> Bare for W {
    const SHAPE: Shape = Shape::Word(W::WORDS);
    fn bare(node: &Node, out: &mut Vec<Diagnostic>) -> Option<Self> {
        let text = text_of(node, "a word", out)?;
        let found = W::from_word(text);
        if found.is_none() {
            out.push(unknown(node.at, "word", text, W::WORDS.iter().copied()));
        }
        found
    }
    fn plain(&self) -> Plain {
        Plain::Word(self.word().to_owned())
    }
}

impl Bare for bool {
    const SHAPE: Shape = Shape::Flag;
    fn bare(node: &Node, out: &mut Vec<Diagnostic>) -> Option<Self> {
        match node.text() {
            Some("yes" | "true") => Some(true),
            Some("no" | "false") => Some(false),
            _ => {
                let message = format!("expected `yes` or `no`, found {}", node.describe());
                out.push(Diagnostic::error("catalogue/yes-or-no", node.at, message));
                None
            }
        }
    }
    fn plain(&self) -> Plain {
        Plain::Flag(*self)
    }
}

impl Bare for String {
    const SHAPE: Shape = Shape::Text;
    fn bare(node: &Node, out: &mut Vec<Diagnostic>) -> Option<Self> {
        text_of(node, "a text", out).map(str::to_owned)
    }
    fn plain(&self) -> Plain {
        Plain::Text(self.clone())
    }
}

impl Bare for Vec<String> {
    const SHAPE: Shape = Shape::Words;
    fn bare(node: &Node, out: &mut Vec<Diagnostic>) -> Option<Self> {
        match &node.content {
            Content::List(items) => {
                let texts: Vec<Option<String>> = items.iter().map(|i| String::bare(i, out)).collect();
                texts.into_iter().collect()
            }
            Content::Empty => Some(Vec::new()),
            _ => String::bare(node, out).map(|one| vec![one]),
        }
    }
    fn plain(&self) -> Plain {
        Plain::Words(self.clone())
    }
}

/// Whole numbers: counts.
impl Bare for u32 {
    const SHAPE: Shape = Shape::Quantity(Dimension::NONE);
    fn bare(node: &Node, out: &mut Vec<Diagnostic>) -> Option<Self> {
        let text = text_of(node, "a whole number", out)?;
        let number = text.parse().ok();
        if number.is_none() {
            let message = format!("expected a whole number, found `{text}`");
            out.push(
                Diagnostic::error("catalogue/whole-number", node.at, message).hint("write digits only, such as `10`"),
            );
        }
        number
    }
    fn plain(&self) -> Plain {
        Plain::Quantity(Quantity::number(f64::from(*self)))
    }
}

/// Makes the typed quantities readable as bare values.
macro_rules! bare_quantities {
    ($($name:ident),+ $(,)?) => { $(
        impl Bare for crate::quantity::$name {
            const SHAPE: Shape = Shape::Quantity(Self::DIMENSION);
            fn bare(node: &Node, out: &mut Vec<Diagnostic>) -> Option<Self> {
                quantity_of(node, Some(Self::DIMENSION), out).and_then(|q| Self::try_from(q).ok())
            }
            fn plain(&self) -> Plain { Plain::Quantity((*self).into()) }
            fn quantity(&self) -> Option<Quantity> { Some((*self).into()) }
        }
    )+ };
}
bare_quantities!(
    Length,
    Mass,
    Duration,
    Temperature,
    TemperatureDifference,
    Angle,
    Stress,
    Density,
    Speed,
    Flow,
    Expansion,
    Irradiance,
    Money,
    Ratio,
    Conductivity,
    MassPrice,
    TimePrice,
    Impact,
    Power,
    Acceleration,
    Volume,
    Torque,
    EnergyPrice,
);

impl Bare for Quantity {
    const SHAPE: Shape = Shape::Quantity(Dimension::NONE);
    fn bare(node: &Node, out: &mut Vec<Diagnostic>) -> Option<Self> {
        quantity_of(node, None, out)
    }
    fn plain(&self) -> Plain {
        Plain::Quantity(*self)
    }
    fn quantity(&self) -> Option<Quantity> {
        Some(*self)
    }
}

/// Returns what to write for a price in a currency, `22 EUR/kg`: which money it is stands once in the file.
fn in_money(text: &str, wanted: Dimension) -> Option<String> {
    let unit = text.trim_start_matches(|c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | ' '));
    let number = text.strip_suffix(unit)?.trim();
    let of = unit.find('/').unwrap_or(unit.len());
    let (currency, per) = unit.split_at_checked(of)?;
    let meant = format!("{number} money{per}");
    let sound = wanted.money > 0 && Quantity::parse(&meant).is_ok_and(|q| q.dimension == wanted);
    let currency = currency.trim();
    (sound && !currency.is_empty())
        .then(|| format!("write `{meant}`: which money it is stands once at the top, as `currency: {currency}`"))
}

/// Reads a quantity and checks its dimension.
pub(crate) fn quantity_of(node: &Node, wanted: Option<Dimension>, out: &mut Vec<Diagnostic>) -> Option<Quantity> {
    let text = text_of(node, &wanted.map_or_else(|| "a quantity".to_owned(), Dimension::name), out)?;
    match Quantity::parse(text) {
        Ok(found) if wanted.is_none_or(|w| w == found.dimension) => Some(found),
        Ok(found) => {
            out.push(wrong_dimension(node.at, text, wanted.unwrap_or(Dimension::NONE), found.dimension));
            None
        }
        Err(error) => {
            let code = match error {
                QuantityError::UnknownUnit { .. } => "unit/unknown",
                QuantityError::BelowAbsoluteZero => "unit/below-absolute-zero",
                _ => "catalogue/not-a-quantity",
            };
            let hint = wanted.and_then(|w| in_money(text, w)).unwrap_or_else(|| {
                let example = wanted.map_or("0.4 mm", example_of);
                format!("write for example `{example}`")
            });
            out.push(Diagnostic::error(code, node.at, error.to_string()).hint(hint));
            None
        }
    }
}

fn wrong_dimension(at: Span, text: &str, wanted: Dimension, found: Dimension) -> Diagnostic {
    if found == Dimension::NONE {
        let unit = example_of(wanted).split_once(' ').map_or("", |(_, unit)| unit);
        return Diagnostic::error(
            "unit/missing",
            at,
            format!("expected {}, found `{text}` without a unit", wanted.name()),
        )
        .hint(format!("write `{text} {unit}`, if that is the unit meant"))
        .in_place(format!("{text} {unit}"));
    }
    Diagnostic::error("unit/wrong-dimension", at, format!("expected {}, found {}", wanted.name(), found.name()))
        .hint(format!("write for example `{}`", example_of(wanted)))
}

/// Returns a quantity of the given dimension as one would write it.
pub(crate) fn example_of(dimension: Dimension) -> &'static str {
    const EXAMPLES: &[(Dimension, &str)] = &[
        (Dimension::NONE, "0.5"),
        (Dimension::LENGTH, "0.4 mm"),
        (Dimension::MASS, "640 g"),
        (Dimension::TIME, "6 h"),
        (Dimension::TEMPERATURE, "60 °C"),
        (Dimension::TEMPERATURE_DIFFERENCE, "10 K"),
        (Dimension::ANGLE, "45 deg"),
        (Dimension::STRESS, "50 MPa"),
        (Dimension::DENSITY, "1.24 g/cm3"),
        (Dimension::SPEED, "60 mm/s"),
        (Dimension::FLOW, "11 mm3/s"),
        (Dimension::EXPANSION, "70e-6 1/K"),
        (Dimension::IRRADIANCE, "1000 W/m2"),
        (Dimension::MONEY, "24 money"),
        (crate::quantity::MassPrice::DIMENSION, "24 money/kg"),
        (crate::quantity::TimePrice::DIMENSION, "2 money/h"),
        (crate::quantity::EnergyPrice::DIMENSION, "0.35 money/kWh"),
        (crate::quantity::Acceleration::DIMENSION, "1500 mm/s2"),
        (crate::quantity::Power::DIMENSION, "120 W"),
        (crate::quantity::Torque::DIMENSION, "1.5 Nm"),
    ];
    EXAMPLES.iter().find(|(d, _)| *d == dimension).map_or("a number with its unit", |(_, e)| e)
}

/// Returns the text of a scalar, or reports that something else stands there.
pub(crate) fn text_of<'a>(node: &'a Node, wanted: &str, out: &mut Vec<Diagnostic>) -> Option<&'a str> {
    if node.text().is_none() {
        let message = format!("expected {wanted}, found {}", node.describe());
        out.push(Diagnostic::error("catalogue/wrong-form", node.at, message));
    }
    let text = node.text()?;
    if let Some((c, what)) = text.chars().find_map(|c| Some((c, crate::diag::unseen(c)?))) {
        let message = format!("the unseen character U+{:04X} {what}", u32::from(c));
        out.push(Diagnostic::error("catalogue/unseen", node.at, message).hint("delete it, and write the text anew"));
        return None;
    }
    Some(text)
}

/// Returns the finding for a name that is not known, with the nearest known one.
pub(crate) fn unknown<'a>(
    at: Span,
    what: &str,
    name: &str,
    known: impl Iterator<Item = &'a str> + Clone,
) -> Diagnostic {
    let code = if what == "key" { "catalogue/unknown-key" } else { "catalogue/unknown-name" };
    if let Some((message, write)) = renamed(name, known.clone()) {
        return Diagnostic::error(code, at, message).hint(write);
    }
    let found = Diagnostic::error(code, at, format!("unknown {what} `{name}`"));
    if let Some(near) = nearest(name, known.clone()) {
        return found.meant(near);
    }
    let all: Vec<&str> = known.take(24).collect();
    if all.is_empty() { found } else { found.hint(format!("known: {}", all.join(", "))) }
}

/// A map being read: knows which keys were asked for, so that the rest can be refused.
pub(crate) struct Reading<'a> {
    node: &'a Node,
    asked: Vec<&'static str>,
    missing: Vec<&'static str>,
}

impl<'a> Reading<'a> {
    /// Begins to read a map; `what` names it in messages ("a printer").
    pub fn of(node: &'a Node, what: &str, out: &mut Vec<Diagnostic>) -> Option<Self> {
        match &node.content {
            Content::Map(_) => Some(Self { node, asked: Vec::new(), missing: Vec::new() }),
            _ => {
                let message = format!("expected {what} as a map, found {}", node.describe());
                out.push(Diagnostic::error("catalogue/wrong-form", node.at, message).hint("write `{ key: value, … }`"));
                None
            }
        }
    }

    /// Reads one field; a missing one that must be there is reported at the end.
    pub fn take<T: Decode>(&mut self, key: &'static str, out: &mut Vec<Diagnostic>) -> Option<T> {
        self.asked.push(key);
        match self.node.get(key) {
            Some(Node { content: Content::Empty, .. }) | None => {
                let absent = T::absent();
                if absent.is_none() {
                    self.missing.push(key);
                }
                absent
            }
            Some(node) => {
                let read = T::decode(node, out)?;
                // The parts of a figure are looked at under the figure's own key.
                if !matches!(key, "is" | "typ" | "low" | "high") {
                    sense::check(key, node.at, read.quantities(), out);
                }
                Some(read)
            }
        }
    }

    /// Reports what is missing, in one finding, and refuses every key that was not asked for.
    pub fn finish(self, out: &mut Vec<Diagnostic>) {
        if let Some(finding) = self.missing_finding() {
            out.push(finding);
        }
        for (key, _) in self.node.entries() {
            let known = self.asked.iter().copied();
            if !known.clone().any(|k| k == key.text) {
                out.push(unknown(key.at, "key", &key.text, known));
            }
        }
    }

    fn missing_finding(&self) -> Option<Diagnostic> {
        /// More than this many are counted, not named.
        const NAMED: usize = 5;
        let first = self.missing.first()?;
        let named: Vec<String> = self.missing.iter().take(NAMED).map(|key| format!("`{key}`")).collect();
        let more = match self.missing.len().saturating_sub(NAMED) {
            0 => String::new(),
            n => format!(" and {n} more"),
        };
        let verb = if self.missing.len() == 1 { "is" } else { "are" };
        let message = format!("{}{more} {verb} missing", named.join(", "));
        let found = Diagnostic::error("catalogue/missing-key", self.node.at, message).hint(format!("add `{first}: …`"));
        let can_be_like = self.asked.contains(&"like") && self.node.get("like").is_none();
        Some(if can_be_like { found.hint("or name an entry it resembles: `like: NAME`") } else { found })
    }
}

/// Reports every key given twice in one map, anywhere in the tree, and keeps the first.
pub(crate) fn refuse_duplicates(node: &mut Node, out: &mut Vec<Diagnostic>) {
    match &mut node.content {
        Content::List(items) => items.iter_mut().for_each(|item| refuse_duplicates(item, out)),
        Content::Map(entries) => {
            if has_duplicates(entries) {
                keep_first(entries, out);
            }
            entries.iter_mut().for_each(|(_, value)| refuse_duplicates(value, out));
        }
        Content::Scalar(_) | Content::Empty => {}
    }
}

fn has_duplicates(entries: &[(Key, Node)]) -> bool {
    /// Up to this many, comparing each with each is quicker than a set.
    const FEW: usize = 12;
    if entries.len() <= FEW {
        return entries.iter().enumerate().any(|(i, (a, _))| entries.iter().skip(i + 1).any(|(b, _)| a.text == b.text));
    }
    let mut seen = std::collections::BTreeSet::new();
    !entries.iter().all(|(key, _)| seen.insert(key.text.as_str()))
}

fn keep_first(entries: &mut Vec<(Key, Node)>, out: &mut Vec<Diagnostic>) {
    let mut seen: BTreeMap<String, Span> = BTreeMap::new();
    entries.retain(|(key, _)| match seen.get(&key.text) {
        None => {
            seen.insert(key.text.clone(), key.at);
            true
        }
        Some(first) => {
            let found = Diagnostic::error("catalogue/duplicate-key", key.at, format!("`{}` is given twice", key.text));
            out.push(found.here("second time").label(*first, "first time").hint("keep one of the two"));
            false
        }
    });
}

impl<T: Decode> Decode for Option<T> {
    const SHAPE: Shape = T::SHAPE;
    const NEEDED: bool = false;
    fn decode(node: &Node, out: &mut Vec<Diagnostic>) -> Option<Self> {
        T::decode(node, out).map(Some)
    }
    fn absent() -> Option<Self> {
        Some(None)
    }
    fn quantities(&self) -> [Option<Quantity>; 3] {
        self.as_ref().map_or([None; 3], T::quantities)
    }
    fn datum(&self) -> Option<Datum> {
        self.as_ref().and_then(T::datum)
    }
}

/// A list of records; a bad one is reported and left out, its neighbours stay.
impl<T: Decode> Decode for Vec<T> {
    const SHAPE: Shape = Shape::Block;
    const NEEDED: bool = false;
    fn decode(node: &Node, out: &mut Vec<Diagnostic>) -> Option<Self> {
        match &node.content {
            Content::List(items) => Some(items.iter().filter_map(|i| T::decode(i, out)).collect()),
            _ => {
                let message = format!("expected a list, found {}", node.describe());
                out.push(
                    Diagnostic::error("catalogue/wrong-form", node.at, message).hint("begin each entry with `- `"),
                );
                None
            }
        }
    }
    fn absent() -> Option<Self> {
        Some(Vec::new())
    }
}

/// A name, whose place is the record's.
impl Decode for String {
    const SHAPE: Shape = Shape::Text;
    fn decode(node: &Node, out: &mut Vec<Diagnostic>) -> Option<Self> {
        String::bare(node, out)
    }
}

impl<T: Bare> Decode for Located<T> {
    const SHAPE: Shape = T::SHAPE;
    fn decode(node: &Node, out: &mut Vec<Diagnostic>) -> Option<Self> {
        T::bare(node, out).map(|value| Self { value, at: node.at })
    }
    fn quantities(&self) -> [Option<Quantity>; 3] {
        [self.value.quantity(), None, None]
    }
    fn datum(&self) -> Option<Datum> {
        Some(Datum { value: self.value.plain(), low: None, high: None, from: None, at: self.at })
    }
}

impl<T: Bare> Decode for Fact<T> {
    const SHAPE: Shape = T::SHAPE;
    fn decode(node: &Node, out: &mut Vec<Diagnostic>) -> Option<Self> {
        if bare_value_without_kind(node, "is", out) {
            return None;
        }
        let mut map = Reading::of(node, "a value with its kind", out)?;
        let value = map.take::<Located<T>>("is", out);
        let backing = Backing::take(&mut map, out);
        map.finish(out);
        let (value, backing) = (value?, backing?);
        let Backing { kind, source, note } = backing;
        Some(Self { value: value.value, kind, source, note, at: value.at })
    }
    fn quantities(&self) -> [Option<Quantity>; 3] {
        [self.value.quantity(), None, None]
    }
    fn datum(&self) -> Option<Datum> {
        Some(Datum { value: self.value.plain(), low: None, high: None, from: Some(self.provenance()), at: self.at })
    }
}

impl<T: Bare + Copy> Decode for Figure<T> {
    const SHAPE: Shape = T::SHAPE;
    fn decode(node: &Node, out: &mut Vec<Diagnostic>) -> Option<Self> {
        if bare_value_without_kind(node, "typ", out) {
            return None;
        }
        let mut map = Reading::of(node, "a figure with its kind", out)?;
        let ends = ["typ", "low", "high"].map(|key| {
            let given = node.get(key).is_some();
            let read = map.take::<Option<Located<T>>>(key, out).flatten();
            (read, given)
        });
        let backing = Backing::take(&mut map, out);
        map.finish(out);
        if ends.iter().any(|(read, given)| read.is_none() && *given) {
            return None;
        }
        let [typ, low, high] = ends.map(|(read, _)| read);
        let backing = backing?;
        figure_from(node.at, [typ, low, high], backing, out)
    }
    fn quantities(&self) -> [Option<Quantity>; 3] {
        [self.typ.quantity(), self.low.and_then(|v| v.quantity()), self.high.and_then(|v| v.quantity())]
    }
    fn datum(&self) -> Option<Datum> {
        let end = |v: Option<T>| v.and_then(|v| v.quantity());
        Some(Datum {
            value: self.typ.plain(),
            low: end(self.low),
            high: end(self.high),
            from: Some(self.provenance()),
            at: self.at,
        })
    }
}

/// Checks the order of the range and fills a typical value that the source does not give with the middle.
fn figure_from<T: Bare + Copy>(
    at: Span,
    [typ, low, high]: [Option<Located<T>>; 3],
    backing: Backing,
    out: &mut Vec<Diagnostic>,
) -> Option<Figure<T>> {
    let at = typ.as_ref().or(low.as_ref()).map_or(at, |first| first.at);
    let Backing { kind, source, note } = backing;
    let Some(typ) = typ else {
        out.push(
            Diagnostic::error("catalogue/missing-key", at, "`typ` is missing").hint(
                "give the typical value; where the source has only a range, write its middle and say so in `note`",
            ),
        );
        return None;
    };
    let order = [low.as_ref(), Some(&typ), high.as_ref()];
    let known: Vec<&Located<T>> = order.into_iter().flatten().collect();
    let upside_down = known.windows(2).find(|pair| match (pair[0].value.quantity(), pair[1].value.quantity()) {
        (Some(a), Some(b)) => b.compare(a).is_none_or(std::cmp::Ordering::is_lt),
        _ => false,
    });
    if let Some(pair) = upside_down {
        out.push(
            Diagnostic::error("catalogue/range-order", pair[1].at, "the range is upside down")
                .label(pair[0].at, "this must not be the larger")
                .hint("write low <= typ <= high"),
        );
        return None;
    }
    Some(Figure { typ: typ.value, low: low.map(|l| l.value), high: high.map(|h| h.value), kind, source, note, at })
}

/// The three keys that say where a value comes from.
pub(crate) struct Backing {
    pub kind: SourceKind,
    pub source: Option<String>,
    pub note: Option<String>,
}

impl Backing {
    pub fn take(map: &mut Reading<'_>, out: &mut Vec<Diagnostic>) -> Option<Self> {
        let kind = map.take::<Located<SourceKind>>("kind", out);
        let source = map.take::<Option<Located<String>>>("source", out)?;
        let note = map.take::<Option<Located<String>>>("note", out)?;
        let kind = kind?;
        if kind.value.needs_source() && source.is_none() {
            let message = format!("a value of kind `{}` must name its source", kind.value);
            out.push(
                Diagnostic::error("catalogue/source-missing", kind.at, message).hint(
                    "add `source: KEY` with a key of the sources list, or be honest and write `kind: from-memory`",
                ),
            );
            return None;
        }
        Some(Self { kind: kind.value, source: source.map(|s| s.value), note: note.map(|n| n.value) })
    }

    pub fn provenance(self, at: Span) -> Provenance {
        Provenance { kind: self.kind, source: self.source, note: self.note, at }
    }
}

/// Reports `density: 1.24 g/cm3`: in the catalogue no value stands alone.
fn bare_value_without_kind(node: &Node, key: &str, out: &mut Vec<Diagnostic>) -> bool {
    let Some(text) = node.text() else { return false };
    out.push(
        Diagnostic::error("catalogue/kind-missing", node.at, "a value needs the kind of its source")
            .hint(format!("write `{{ {key}: {text}, kind: from-memory }}`, or a better kind with its `source`")),
    );
    true
}

/// A record whose fields are listed once: struct, reader, field table and uniform access come from the list.
macro_rules! record {
    (
        $(#[doc = $doc:literal])*
        pub struct $name:ident ($what:literal) {
            $( $(#[doc = $help:literal])+ $field:ident: $type:ty, )*
        }
    ) => {
        $(#[doc = $doc])*
        #[derive(Debug, Clone, PartialEq)]
        pub struct $name {
            $( $(#[doc = $help])+ pub $field: $type, )*
            /// Where the record stands.
            pub at: $crate::diag::Span,
        }

        impl $name {
            /// Name, shape and help of every field.
            pub const FIELDS: &'static [$crate::catalogue::value::Field] = &[
                $( $crate::catalogue::value::Field {
                    name: stringify!($field),
                    shape: <$type as $crate::catalogue::decode::Decode>::SHAPE,
                    needed: <$type as $crate::catalogue::decode::Decode>::NEEDED,
                    help: concat!($($help),+).trim_ascii_start(),
                }, )*
            ];

            /// Returns the value of a field by its name, seen uniformly; nothing where it is unknown.
            pub fn datum(&self, name: &str) -> Option<$crate::catalogue::value::Datum> {
                match name {
                    $( stringify!($field) => $crate::catalogue::decode::Decode::datum(&self.$field), )*
                    _ => None,
                }
            }
        }

        impl $crate::catalogue::decode::Decode for $name {
            const SHAPE: $crate::catalogue::value::Shape = $crate::catalogue::value::Shape::Block;
            fn decode(node: &$crate::catalogue::node::Node, out: &mut Vec<$crate::diag::Diagnostic>) -> Option<Self> {
                let mut map = $crate::catalogue::decode::Reading::of(node, $what, out)?;
                $( let $field = map.take::<$type>(stringify!($field), out); )*
                map.finish(out);
                Some(Self { at: node.at, $( $field: $field?, )* })
            }
        }
    };
}
pub(crate) use record;
