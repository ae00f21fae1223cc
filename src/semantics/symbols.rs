//! Designations: ISO 286 zones, metric threads, part numbers, dates.
//!
//! Only their form is checked; whether a size has such a zone, or a thread is a standard one, the tables of fits know.

use super::arguments::Arguments;
use super::checker::{Checker, Reported};
use super::form::Kind;
use super::values::Value;
use crate::day::is_day;
use crate::diag::{Diagnostic, Span};
use crate::syntax::tree::{Expr, ExprKind};

/// Zones of ISO 286-2: these letters (shafts in lower case); I, L, O, Q and W are not used.
const ZONES: &[&str] = &[
    "A", "B", "C", "CD", "D", "E", "EF", "F", "FG", "G", "H", "JS", "J", "K", "M", "N", "P", "R", "S", "T", "U", "V",
    "X", "Y", "Z", "ZA", "ZB", "ZC",
];

/// Tells whether a word has the form of an ISO 286 zone: one or two letters, one or two digits.
pub(crate) fn looks_like_zone(word: &str) -> bool {
    let (letters, grade) = split_zone(word);
    (1..=2).contains(&letters.len()) && (1..=2).contains(&grade.len()) && grade.bytes().all(|b| b.is_ascii_digit())
}

fn split_zone(word: &str) -> (&str, &str) {
    let end = word.find(|c: char| !c.is_ascii_alphabetic()).unwrap_or(word.len());
    word.split_at(end)
}

/// Returns what is wrong with a zone, if anything, and the nearest sound one.
pub(crate) fn zone_fault(word: &str, hole: bool) -> Option<(String, String)> {
    let (letters, grade) = split_zone(word);
    let side = if hole { "hole" } else { "shaft" };
    let cased = if hole { letters.to_uppercase() } else { letters.to_lowercase() };
    let number: Option<u8> = grade.parse().ok();
    let example = if hole { "H7" } else { "h6" };
    if !looks_like_zone(word) {
        return Some((
            format!("`{word}` is no ISO 286 tolerance zone"),
            format!("write `{example}`: letters, then the grade"),
        ));
    }
    if !ZONES.contains(&letters.to_uppercase().as_str()) {
        return Some((format!("ISO 286 has no zone `{letters}`"), format!("write `{example}`, say")));
    }
    if !number.is_some_and(|n| (1..=18).contains(&n)) {
        return Some((
            format!("ISO 286 has no grade {grade}"),
            format!("write a grade from 1 to 18, as in `{cased}9`"),
        ));
    }
    if cased != letters {
        let other = if hole { "a shaft" } else { "a hole" };
        return Some((
            format!("`{word}` is a zone of {other}, not of a {side}"),
            format!("write `{cased}{grade}`: holes have capitals, shafts small letters"),
        ));
    }
    None
}

/// What to do about a pipe thread, which no table here holds.
fn pipe_thread(tidy: &str) -> Option<String> {
    let pipe = ["G", "R", "RP", "RC", "NPT", "BSP"].iter().any(|w| {
        tidy.strip_prefix(w).is_some_and(|rest| rest.is_empty() || rest.starts_with(|c: char| c.is_ascii_digit()))
    });
    pipe.then(|| {
        "pipe threads (G, R, NPT) are not in the tables: bond or clamp in a bought metal fitting that has the thread, and write \
         the seat for it, as `bore 24 mm H11`"
            .to_owned()
    })
}

impl Checker<'_> {
    pub(crate) fn read_symbol(&mut self, kind: Kind, args: &mut Arguments<'_>) -> Result<Value, Reported> {
        let hole = matches!(kind, Kind::HoleSymbol | Kind::HoleSymbolOrPair);
        let pair_allowed = matches!(kind, Kind::HoleSymbolOrPair | Kind::ShaftSymbolOrPair);
        let Some(expr) = args.peek() else { return Ok(Value::Seen) };
        if let ExprKind::FitPair(pair) = &expr.kind {
            return self.read_pair(pair, pair_allowed, expr.span, args);
        }
        let word = expr.as_word().or(expr.as_text());
        let Some(word) = word else {
            let message = format!("expected {} for `{}`, found {}", kind.noun(), args.keyword, expr.noun());
            return self
                .refuse(Diagnostic::error("fit/zone", expr.span, message).hint(format!("write `{}`", args.example)));
        };
        if let Some((message, hint)) = zone_fault(word, hole) {
            return self.refuse(Diagnostic::error("fit/zone", expr.span, message).hint(hint));
        }
        args.next();
        Ok(Value::Symbol(word.to_owned()))
    }

    fn read_pair(
        &mut self,
        pair: &str,
        allowed: bool,
        span: Span,
        args: &mut Arguments<'_>,
    ) -> Result<Value, Reported> {
        let (hole, shaft) = pair.split_once('/').unwrap_or((pair, ""));
        if !allowed {
            let message = format!("expected one tolerance zone here, found the pair `{pair}`");
            return self.refuse(Diagnostic::error("fit/zone", span, message).hint(format!("write `{}`", args.example)));
        }
        // `h6/H7` is the right pair the wrong way round.
        if zone_fault(shaft, true).is_none() && zone_fault(hole, false).is_none() {
            let message = format!("the pair `{pair}` names the shaft first");
            return self.refuse(
                Diagnostic::error("fit/zone", span, message)
                    .hint(format!("write `{shaft}/{hole}`: the hole first"))
                    .in_place(format!("{shaft}/{hole}")),
            );
        }
        if let Some((message, hint)) = zone_fault(hole, true).or_else(|| zone_fault(shaft, false)) {
            return self.refuse(Diagnostic::error("fit/zone", span, message).hint(hint));
        }
        args.next();
        Ok(Value::Symbol(pair.to_owned()))
    }

    pub(crate) fn read_thread(&mut self, args: &mut Arguments<'_>) -> Result<Value, Reported> {
        let Some(expr) = args.peek() else { return Ok(Value::Seen) };
        let span = self.joined(args);
        let written = self.sources.text(span).trim_matches('"').to_owned();
        if let Some(meant) = self.pitch_with_a_comma(span) {
            let message = format!("the pitch of a thread takes a point: found `{}`", meant.replace('.', ","));
            return self.refuse(Diagnostic::error("fit/thread", span, message).hint(format!("write `{meant}`")));
        }
        if is_thread(&written) {
            self.skip_to(span, args);
            return Ok(Value::Text(written));
        }
        let tidy = written.to_uppercase().replace(['×', '*', 'X'], "x").replace(',', ".").replace(' ', "");
        let message = format!("expected a metric thread for `{}`, found {}", args.keyword, shown(&written, expr));
        let certain = is_thread(&tidy).then(|| tidy.clone());
        let hint = if is_thread(&tidy) {
            format!("write `{tidy}`")
        } else if let ExprKind::Number { value, unit } = &expr.kind
            && unit.as_ref().is_none_or(|u| u.text == "mm")
        {
            format!("write `M{}`", crate::quantity::trim_number(*value, 2))
        } else if let Some((size, _)) = tidy.split_once('x').filter(|(size, _)| is_thread(size)) {
            format!("write `{size}`: behind the `x` stands a fine pitch in mm, as in `M10x1`, and no length")
        } else {
            pipe_thread(&tidy)
                .unwrap_or_else(|| "write `M5`, or with a fine pitch `M10x1`; other threads are not known".to_owned())
        };
        let found = Diagnostic::error("fit/thread", span, message).hint(hint);
        self.refuse(match certain {
            Some(thread) => found.in_place(thread),
            None => found,
        })
    }

    /// Returns what `M30x3,5` was meant to be: the comma ends the word, and what is behind it belongs to it.
    fn pitch_with_a_comma(&self, span: Span) -> Option<String> {
        let head = self.sources.text(span);
        let rest = self.sources.get(span.source)?.text.get(span.end as usize..)?.strip_prefix(',')?;
        let digits: String = rest.chars().take_while(char::is_ascii_digit).take(3).collect();
        let meant = format!("{head}.{digits}");
        (head.contains('x') && !digits.is_empty() && is_thread(&meant)).then_some(meant)
    }

    pub(crate) fn read_designation(&mut self, args: &mut Arguments<'_>) -> Result<Value, Reported> {
        let Some(expr) = args.peek() else { return Ok(Value::Seen) };
        let span = self.joined(args);
        let written = self.sources.text(span).trim_matches('"').trim().to_owned();
        let sound = written.bytes().any(|b| b.is_ascii_digit())
            && written.bytes().all(|b| b.is_ascii_alphanumeric() || b"-./ ".contains(&b))
            && written.len() <= 24
            && !matches!(expr.kind, ExprKind::Number { unit: Some(_), .. });
        if sound {
            self.skip_to(span, args);
            return Ok(Value::Text(written));
        }
        let message =
            format!("expected the part number of a bearing for `{}`, found {}", args.keyword, shown(&written, expr));
        self.refuse(Diagnostic::error("fit/designation", span, message).hint("write `608`, or in quotes `\"608-2RS\"`"))
    }

    pub(crate) fn read_date(&mut self, args: &mut Arguments<'_>) -> Result<Value, Reported> {
        let Some(expr) = args.peek() else { return Ok(Value::Seen) };
        let span = self.joined(args);
        let written = self.sources.text(span).trim_matches('"').to_owned();
        if is_day(&written) {
            self.skip_to(span, args);
            return Ok(Value::Text(written));
        }
        let message = format!("expected a date for `{}`, found {}", args.keyword, shown(&written, expr));
        self.refuse(Diagnostic::error("argument/date", span, message).hint("write year-month-day: `2026-12-01`"))
    }

    /// Returns the span of the arguments that stand here without a gap: `6000-2RS` reads as three.
    pub(super) fn joined(&self, args: &Arguments<'_>) -> Span {
        let mut span = args.peek().map_or(args.end(), |e| e.span);
        let mut ahead = 1;
        let joins = |e: &&Expr| !matches!(e.kind, ExprKind::Comma | ExprKind::Assign);
        while let Some(next) = args.peek_at(ahead).filter(|e| e.span.start == span.end).filter(joins) {
            span = span.to(next.span);
            ahead += 1;
        }
        span
    }

    pub(super) fn skip_to(&self, span: Span, args: &mut Arguments<'_>) {
        while args.peek().is_some_and(|e| e.span.end <= span.end) {
            args.next();
        }
    }
}

pub(super) fn shown(written: &str, expr: &Expr) -> String {
    if written.is_empty() || written.contains('\n') { expr.noun() } else { format!("`{written}`") }
}

/// `M5`, `M2.5`, `M10x1`, `M10x1.25`
pub(crate) fn is_thread(text: &str) -> bool {
    let Some(rest) = text.strip_prefix('M') else { return false };
    let (size, pitch) = rest.split_once('x').map_or((rest, None), |(s, p)| (s, Some(p)));
    let plain =
        |t: &str| t.bytes().all(|b| b.is_ascii_digit() || b == b'.') && t.starts_with(|c: char| c.is_ascii_digit());
    let value = |t: &str| t.parse::<f64>().ok().filter(|_| plain(t));
    let Some(size) = value(size) else { return false };
    let pitch_sound = match pitch {
        None => true,
        Some(p) => value(p).is_some_and(|p| p > 0.0 && p < size),
    };
    (1.0..=150.0).contains(&size) && pitch_sound
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn threads_have_a_form() {
        for good in ["M5", "M2.5", "M10x1", "M10x1.25"] {
            assert!(is_thread(good), "{good}");
        }
        for bad in ["M", "m5", "M5x", "M5x9", "Mx1", "M10x1.2.5", "M900", "M-3"] {
            assert!(!is_thread(bad), "{bad}");
        }
    }

    #[test]
    fn zones_of_holes_have_capitals() {
        assert_eq!(zone_fault("H7", true), None);
        assert_eq!(zone_fault("js6", false), None);
        assert!(zone_fault("h7", true).is_some_and(|(_, hint)| hint.contains("`H7`")));
        assert!(zone_fault("H19", true).is_some());
        assert!(zone_fault("Q7", true).is_some());
        assert!(zone_fault("H", true).is_some());
    }
}
