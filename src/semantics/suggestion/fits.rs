//! Fits as fitters write them: `h9 for hole H11`, `8 mm H7/g6`, `hole M5`, given back as the statement to write.

use super::super::checker::Checker;
use super::super::form::Context;
use super::super::read::Found;
use super::super::symbols::{is_thread, looks_like_zone, zone_fault};
use super::super::vocabulary;
use crate::diag::{Diagnostic, Span};
use crate::quantity::{Dimension, parse_unit, trim_number};
use crate::syntax::tree::{Expr, ExprKind, Statement};

/// What the words of a fit give, in whatever order they stand.
#[derive(Debug, Default)]
struct Intent {
    /// As it is to be written, with its unit.
    size: Option<String>,
    holes: Vec<String>,
    shafts: Vec<String>,
    /// `Some(true)` where the part has the hole: what is named first is the part's own.
    inner: Option<bool>,
    thread: Option<String>,
    /// `4x` or `x4`.
    count: Option<String>,
    /// `screw`, `tapped`: what is said beside sizes and zones, in small letters.
    words: Vec<String>,
    /// The size is a bare number.
    unitless: bool,
    /// Something stands there that no fit is made of.
    strange: bool,
}

/// Messages that say only that a word cannot stand where it does.
const WORD_BY_WORD: &[&str] = &[
    "argument/unexpected",
    "argument/missing",
    "argument/kind",
    "name/unknown",
    "unit/unknown",
    "unit/missing",
    "fit/zone",
];

/// The size in hints where none is stated.
const STANDS_FOR: &str = "8 mm";

impl Checker<'_> {
    /// Returns the message for a `fit` whose line could not be read, or that is both bore and shaft.
    /// `faulted`: something was said of it already.
    pub(super) fn suggest_fit(&self, statement: &Statement, found: &Found, faulted: bool) -> Option<Diagnostic> {
        let broken = faulted || found.broken || found.inner.iter().any(|f| f.broken);
        let both = ["bore", "shaft"].iter().all(|k| found.inside(k).is_some());
        let name = statement.arguments.first()?;
        if !(broken || both) || name.as_text().is_none() {
            return None;
        }
        let function = statement.arguments.iter().skip(1).take_while(|a| !is_clause(a)).last()?;
        // What is wrong behind the function, in `count four`, has its own message.
        let behind = |d: &Diagnostic| d.labels.first().is_some_and(|l| l.span.start > function.span.end);
        if !both && (!self.only_told_word_by_word() || self.diagnostics.last().is_some_and(behind)) {
            return None;
        }
        let head = format!("{} {} ", statement.keyword.text, self.sources.text(name.span));
        self.told(&head, None, statement.arguments.get(1..)?)
    }

    /// Returns the message for a `bore` or `shaft` in the block of a fit that could not be read.
    pub(super) fn suggest_fit_clause(&self, statement: &Statement) -> Option<Diagnostic> {
        if self.only_told_word_by_word() { self.suggest_fit_statement(statement) } else { None }
    }

    fn only_told_word_by_word(&self) -> bool {
        let Some(told) = self.diagnostics.last() else { return false };
        let written = told.labels.first().map_or("", |l| self.sources.text(l.span));
        // A zone that is none has a better message, and so has a pair the wrong way round.
        let of_zone =
            told.code == "fit/zone" && (written.contains('/') || written.len() < 2 || looks_like_zone(written));
        WORD_BY_WORD.contains(&told.code) && !of_zone
    }

    /// Returns the message for a statement within the block of a fit: `hole 8 mm H9`.
    pub(super) fn suggest_fit_statement(&self, statement: &Statement) -> Option<Diagnostic> {
        self.told("", Some((statement.keyword.text.as_str(), statement.keyword.span)), &statement.arguments)
    }

    fn told(&self, head: &str, keyword: Option<(&str, Span)>, arguments: &[Expr]) -> Option<Diagnostic> {
        let own = arguments.iter().take_while(|a| !is_clause(a)).count();
        let (function, clauses) = arguments.split_at(own);
        let mut intent = Intent::default();
        if let Some((word, _)) = keyword {
            intent.take_word(word);
        }
        for argument in function {
            intent.take(argument, self.sources.text(argument.span));
        }
        let tail = match (clauses.first(), clauses.last()) {
            (Some(first), Some(last)) => format!(" {}", self.sources.text(first.span.to(last.span))),
            _ => String::new(),
        };
        let (message, hint) = intent.told(head, &tail)?;
        let begin = keyword.map(|(_, span)| span).or(function.first().map(|a| a.span))?;
        let span = begin.to(function.last().map_or(begin, |a| a.span));
        Some(Diagnostic::error("fit/written", span, message).hint(hint))
    }
}

/// Tells whether a statement of a fit that is none of its functions begins here.
fn is_clause(expr: &Expr) -> bool {
    let clause = |w: &str| vocabulary::find(Context::Fit, w).is_some() && !super::super::fits::FUNCTIONS.contains(&w);
    expr.as_word().is_some_and(clause)
}

/// Words between sizes and zones that say nothing more.
const NOISE: &[&str] = &["for", "in", "with", "on", "to", "fit", "iso", "and", "a", "the"];
const SCREWS: &[&str] = &["screw", "screws", "bolt", "bolts", "through"];
const TAPPED: &[&str] = &["tapped", "tap", "threaded", "threads"];
const PINS: &[&str] = &["pin", "pins", "peg"];
const HOT_SET: &[&str] = &["heat-set", "heatset", "hot-set", "melt-in", "inserts"];
const SQUARES: &[&str] = &["square", "squares", "four-sided"];
const SOCKETS: &[&str] = &["socket", "drive", "hole", "spindle", "pocket"];
const RINGS: &[&str] = &["o-ring", "oring", "o-rings", "ring", "gland", "gasket", "seal", "groove"];
const LIDS: &[&str] = &["lid", "cap", "cover", "x"];
const D_SHAPES: &[&str] = &["d-bore", "d-shaft", "d-hole", "d-shaped", "d-cut", "d", "flatted"];
const DOUBLE: &[&str] = &["double-d", "double", "two-flats", "dd"];
const IN_PLACE: &[&str] = &["in-place", "print-in-place", "printed-in-place", "place"];

impl Intent {
    fn take(&mut self, expr: &Expr, written: &str) {
        match &expr.kind {
            ExprKind::FitPair(pair) => {
                for zone in pair.split('/') {
                    self.take_zone(zone);
                }
            }
            ExprKind::Number { value, unit } if self.size.is_none() => {
                let length = |u: &str| parse_unit(u).is_some_and(|u| u.dimension == Dimension::LENGTH);
                match unit {
                    Some(unit) if length(&unit.text) => self.size = Some(written.to_owned()),
                    Some(_) => self.strange = true,
                    None => {
                        self.size = Some(format!("{} mm", trim_number(*value, 4)));
                        self.unitless = true;
                    }
                }
            }
            ExprKind::Name(_) => match expr.as_word() {
                Some(word) => self.take_word(word),
                None => self.strange = true,
            },
            ExprKind::Text(text) => text.split_whitespace().for_each(|word| self.take_word(word)),
            _ => self.strange = true,
        }
    }

    fn take_word(&mut self, word: &str) {
        let plain = word.trim_start_matches(['Ø', 'ø', '⌀']);
        if plain.len() < word.len()
            && let Ok(value) = plain.replace(',', ".").parse::<f64>()
        {
            self.size = Some(format!("{} mm", trim_number(value, 4)));
            return;
        }
        let times =
            plain.strip_prefix('x').or(plain.strip_suffix('x')).filter(|n| n.parse::<u16>().is_ok_and(|n| n > 0));
        if let Some(count) = times {
            self.count = Some(count.to_owned());
            return;
        }
        match plain {
            "x" if self.unitless => {
                // `4x` reads as a number and an `x`.
                self.count = self.size.take().and_then(|s| s.strip_suffix(" mm").map(str::to_owned));
                self.unitless = false;
            }
            "hole" | "bore" | "housing" => _ = self.inner.get_or_insert(true),
            "shaft" | "axle" | "spigot" => _ = self.inner.get_or_insert(false),
            _ if is_thread(plain) => self.thread = Some(plain.to_owned()),
            _ if looks_like_zone(plain) => {
                self.inner.get_or_insert(is_hole(plain));
                self.take_zone(plain);
            }
            _ => self.words.push(plain.to_lowercase()),
        }
    }

    fn take_zone(&mut self, zone: &str) {
        let side = if is_hole(zone) { &mut self.holes } else { &mut self.shafts };
        side.push(zone.to_owned());
    }

    fn has(&self, words: &[&str]) -> bool {
        self.words.iter().any(|w| words.contains(&w.as_str()))
    }

    /// `m5` reads as the zone of a shaft where nothing speaks of a screw.
    fn settle_threads(&mut self) {
        let screw = self.has(SCREWS) || self.has(TAPPED) || self.has(&["clearance", "thread", "insert", "nut"]);
        if screw && self.thread.is_none() && self.size.is_none() {
            self.thread = self.shafts.pop().map(|z| z.to_uppercase()).filter(|t| is_thread(t));
        }
        // `8 mm H7 M6`: with a size it is a zone.
        if self.size.is_some() && !screw {
            self.holes.extend(self.thread.take());
        }
    }

    /// `M6 x 1` is a fine thread in three words, and what is set hot is an insert.
    fn settle_spellings(&mut self) {
        if let (Some(thread), Some(pitch)) = (&self.thread, self.size.as_ref().filter(|_| self.unitless)) {
            let fine = format!("{thread}x{}", pitch.trim_end_matches(" mm"));
            if self.has(&["x"]) && is_thread(&fine) {
                (self.thread, self.size) = (Some(fine), None);
                self.words.retain(|w| w != "x");
            }
        }
        if self.has(HOT_SET) {
            self.words.retain(|w| !HOT_SET.contains(&w.as_str()) && w != "insert");
            self.words.push("insert".to_owned());
        }
    }

    /// Hinges by the words people have for them: `living hinge`, `print in place`, `pin hinge`.
    fn of_hinge(&self, whole: &impl Fn(&str) -> String) -> Option<(String, String)> {
        let (living, in_place) = (self.has(&["living", "film"]), self.has(IN_PLACE));
        let known = |w: &String| {
            let others = ["hinge", "hinges", "living", "film", "printed", "print"];
            [NOISE, PINS, IN_PLACE, &others].iter().any(|l| l.contains(&w.as_str()))
        };
        if !(living || in_place || self.has(&["hinge", "hinges"])) || !self.words.iter().all(known) {
            return None;
        }
        let (kind, usual) = match (living, in_place) {
            (true, _) => ("living ", "0.5 mm"),
            (false, true) => ("in-place ", "4 mm"),
            _ => ("", "4 mm"),
        };
        let what = if living { "the thickness of its strip" } else { "the diameter of its pin" };
        let size = self.size.as_deref().unwrap_or(usual);
        let stands = if self.size.is_none() { format!(", with {what} for {usual}") } else { String::new() };
        let hint = format!("write {}{stands}", whole(&format!("hinge {kind}{size}")));
        Some((format!("expected `hinge`, its kind (`living`, `in-place` or none) and {what}"), hint))
    }

    /// What is not round, by the words people have for it: `square 9 mm`, `D-bore 6 mm`.
    fn of_flats(&self, whole: &impl Fn(&str) -> String) -> Option<(String, String)> {
        let known = |w: &String| {
            [NOISE, SQUARES, D_SHAPES, DOUBLE, SOCKETS, RINGS, LIDS].iter().any(|l| l.contains(&w.as_str()))
        };
        let size = self.size.as_deref().unwrap_or("6 mm");
        if !self.words.iter().all(known) {
            return None;
        }
        let own = |zones: &[String]| zones.first().map_or_else(String::new, |zone| format!(" {zone}"));
        if self.has(RINGS) {
            let hint = format!(
                "write {} with the ring's inside and section; `face` for one in a flat face, `bore` for one in a bore",
                whole("groove shaft for ring 20 mm x 2.5 mm")
            );
            return Some(("the groove of an O-ring goes by its ring".to_owned(), hint));
        }
        if self.has(LIDS) {
            let hint = format!(
                "write {} for the box, `lip 60 mm x 40 mm` for the lid, with your width and length",
                whole("rim 60 mm x 40 mm")
            );
            return Some(("a lid has a `lip` that goes into the `rim` of its box".to_owned(), hint));
        }
        if self.strange {
            return None;
        }
        if self.has(SQUARES) {
            let hint = format!(
                "write {} where this part has the socket, {} where it has the square",
                whole(&format!("bore square {size}{}", own(&self.holes))),
                whole(&format!("shaft square {size}{}", own(&self.shafts)))
            );
            return Some(("a square is a `bore square` or a `shaft square`".to_owned(), hint));
        }
        if self.has(DOUBLE) {
            let hint = format!(
                "write {}, with the size across both flats for 5 mm; `shaft` where this part has the shaft",
                whole(&format!("bore {size} H11 flats 5 mm"))
            );
            return Some(("a double D says how far its two flats are apart".to_owned(), hint));
        }
        self.has(D_SHAPES).then(|| {
            let hint = format!(
                "write {}, with the size over round and flat for 5.5 mm; `shaft` where this part has the shaft",
                whole(&format!("bore {size} H11 flat 5.5 mm"))
            );
            ("a bore or a shaft with a flat says how far the flat is from the far side".to_owned(), hint)
        })
    }

    /// Returns message and hint, where it is known how the fit is written.
    fn told(mut self, head: &str, tail: &str) -> Option<(String, String)> {
        self.settle_spellings();
        self.settle_threads();
        let times = self.count.as_ref().map_or(String::new(), |n| format!(" count {n}"));
        let whole = |function: &str| format!("`{head}{function}{times}{tail}`");
        let plain = !self.strange && self.thread.is_none() && self.holes.is_empty() && self.shafts.is_empty();
        if plain && let Some(told) = self.of_hinge(&whole) {
            return Some(told);
        }
        if self.thread.is_none()
            && let Some(told) = self.of_flats(&whole)
        {
            return Some(told);
        }
        let known = |w: &String| {
            [NOISE, SCREWS, TAPPED, PINS, &["clearance", "thread", "insert", "nut", "dowel"]]
                .iter()
                .any(|l| l.contains(&w.as_str()))
        };
        let sound = self.holes.iter().all(|z| zone_fault(z, true).is_none())
            && self.shafts.iter().all(|z| zone_fault(z, false).is_none());
        if self.strange || !sound || self.holes.len() > 1 || self.shafts.len() > 1 || !self.words.iter().all(known) {
            return None;
        }
        if let Some(thread) = &self.thread {
            let said = ["thread", "insert", "nut", "clearance"].into_iter().find(|w| self.has(&[w]));
            let message = match said {
                Some(keyword) => format!("expected `{keyword}` and its thread, then clauses such as `count 4`"),
                None => format!("`{thread}` alone does not say what the hole is for"),
            };
            return Some((message, self.of_thread(thread, whole)));
        }
        // The pin of a dowel is m6 and its hole H7 without being said.
        let usual = self.holes.iter().chain(&self.shafts).all(|z| matches!(z.as_str(), "m6" | "H7"));
        if (self.has(PINS) || self.has(&["dowel"])) && usual {
            return self.of_size(whole);
        }
        if self.holes.is_empty() && self.shafts.is_empty() { self.of_size(whole) } else { self.of_zones(whole) }
    }

    fn of_thread(&self, thread: &str, whole: impl Fn(&str) -> String) -> String {
        let word = [("thread", TAPPED), ("clearance", SCREWS)].into_iter().find(|(_, words)| self.has(words));
        let said = ["thread", "insert", "nut", "clearance"].into_iter().find(|w| self.has(&[w]));
        match said.or(word.map(|(keyword, _)| keyword)) {
            Some(keyword) => format!("write {}", whole(&format!("{keyword} {thread}"))),
            None => format!(
                "write {} where a screw passes through, `thread {thread}` where it is screwed into the part itself, `insert {thread}` or `nut {thread}`",
                whole(&format!("clearance {thread}"))
            ),
        }
    }

    fn of_size(&self, whole: impl Fn(&str) -> String) -> Option<(String, String)> {
        let size = self.size.as_ref()?;
        if self.has(PINS) || self.has(&["dowel"]) {
            let message = "a fit on a pin is called `dowel`".to_owned();
            return Some((message, format!("write {}", whole(&format!("dowel {size}")))));
        }
        if self.words.iter().any(|w| !NOISE.contains(&w.as_str())) {
            return None;
        }
        let (side, zone) = if self.inner == Some(false) { ("shaft", "h9") } else { ("bore", "H9") };
        let message = format!("a fit of {size} needs its tolerance zone");
        let hint = format!(
            "write {}, with the zone of your drawing for {zone}; or {} for what only slides or turns on a bought part",
            whole(&format!("{side} {size} {zone}")),
            whole(&format!("sliding {side} {size}"))
        );
        Some((message, hint))
    }

    fn of_zones(&self, whole: impl Fn(&str) -> String) -> Option<(String, String)> {
        let size = self.size.as_deref().unwrap_or(STANDS_FOR);
        let (hole, shaft) = (self.holes.first(), self.shafts.first());
        let partnered = self.words.iter().any(|w| w == "for" || w == "in");
        let own = |zone: Option<&String>, usual: &str| match zone {
            Some(zone) => Some(zone.clone()),
            // `bore 8 mm h9` is the wrong letter, not a bore without a zone; that is said elsewhere.
            None => partnered.then(|| usual.to_owned()),
        };
        let bore = |hole: String| match shaft {
            Some(shaft) => format!("bore {size} {hole} for shaft {shaft}"),
            None => format!("bore {size} {hole}"),
        };
        let pin = |shaft: String| match hole {
            Some(hole) => format!("shaft {size} {shaft} in bore {hole}"),
            None => format!("shaft {size} {shaft}"),
        };
        let mut hint = match self.inner {
            Some(true) => format!("write {}", whole(&bore(own(hole, "H7")?))),
            Some(false) => format!("write {}", whole(&pin(own(shaft, "h6")?))),
            None => format!(
                "write {} where this part has the hole, {} where it has the shaft",
                whole(&bore(hole?.clone())),
                whole(&pin(shaft?.clone()))
            ),
        };
        let missing = (self.inner == Some(true) && hole.is_none()) || (self.inner == Some(false) && shaft.is_none());
        if missing {
            hint.push_str(if self.inner == Some(true) {
                ", with the bore's own zone for H7"
            } else {
                ", with the shaft's own zone for h6"
            });
        }
        if self.size.is_some() {
            return Some(("expected `bore` or `shaft`, then its size and its zone".to_owned(), hint));
        }
        hint.push_str(", with your size for 8 mm");
        Some(("a tolerance zone means nothing without the size it belongs to".to_owned(), hint))
    }
}

fn is_hole(zone: &str) -> bool {
    zone.starts_with(|c: char| c.is_ascii_uppercase())
}
