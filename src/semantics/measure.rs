//! Quantities, ranges, counts and plain numbers as arguments: dimension, sign and size checked.

use super::arguments::Arguments;
use super::checker::{Checker, Reported};
use super::evaluate::{Constant, likely_unit};
use super::form::Measure;
use super::values::Value;
use crate::diag::{Diagnostic, Span};
use crate::quantity::{Dimension, Quantity, significant, trim_number};
use crate::syntax::tree::{BinaryOp, Expr, ExprKind};

/// Standard acceleration of free fall, m/s² (standard: SI brochure 9th ed., conventional value g_n).
pub(super) const FREE_FALL: f64 = 9.806_65;

impl Checker<'_> {
    pub(crate) fn read_measure(&mut self, measure: &Measure, args: &mut Arguments<'_>) -> Result<Value, Reported> {
        let Some(expr) = args.peek() else { return Ok(Value::Seen) };
        self.refuse_other_shapes(measure.dimension.name().as_str(), expr, args)?;
        self.refuse_unknown_unit(expr, Some(measure.dimension), args)?;
        self.refuse_two_separators(measure, expr, args)?;
        let quantity = match self.evaluate(expr).ok_or(Reported)? {
            Constant::Quantity(q) => q,
            other => return self.wrong_noun(measure.dimension.name().as_str(), &other.noun(), expr, args),
        };
        self.hold_dimension(measure, quantity, expr, args)?;
        self.hold_limits(measure, quantity, expr.span, &args.keyword)?;
        args.next();
        Ok(Value::Quantity(quantity))
    }

    /// `1.000,5 mm` reads as two numbers; `1/8 in` as one over eight inches.
    fn refuse_two_separators(&mut self, measure: &Measure, expr: &Expr, args: &Arguments<'_>) -> Result<(), Reported> {
        if let ExprKind::Binary { op: BinaryOp::Divide, left, right } = &expr.kind
            && let (Some(over), ExprKind::Number { value, unit: Some(unit) }) = (bare_number(left), &right.kind)
            && crate::quantity::parse_unit(&unit.text).is_some_and(|u| u.dimension == measure.dimension)
        {
            let message = format!(
                "`{}` is {over} over {value} {}, which is not {}",
                self.sources.text(expr.span),
                unit.text,
                measure.dimension.name()
            );
            let hint = format!("write `{} {}`", trim_number(over / value, 6), unit.text);
            return self.refuse(Diagnostic::error("unit/dimension", expr.span, message).hint(hint));
        }
        let comma = args.peek_at(1).filter(|e| matches!(e.kind, ExprKind::Comma) && e.span.start == expr.span.end);
        let (Some(_), Some(tail), Some(_)) = (comma, args.peek_at(2), bare_number(expr)) else { return Ok(()) };
        let ExprKind::Number { .. } = &tail.kind else { return Ok(()) };
        let (whole, tail_text) = (self.sources.text(expr.span), self.sources.text(tail.span));
        let message = format!("`{whole},{tail_text}` has both a point and a comma");
        let hint = format!("write `{}.{tail_text}`, without marks between thousands", whole.replace('.', ""));
        self.refuse(Diagnostic::error("number/comma", expr.span.to(tail.span), message).hint(hint))
    }

    pub(crate) fn read_range(&mut self, measure: &Measure, args: &mut Arguments<'_>) -> Result<Value, Reported> {
        let Some(expr) = args.peek() else { return Ok(Value::Seen) };
        self.refuse_other_shapes("a range", expr, args)?;
        self.refuse_words_between(measure, expr, args)?;
        self.refuse_unknown_unit(expr, Some(measure.dimension), args)?;
        if let ExprKind::Binary { op: BinaryOp::Subtract, left, right } = &expr.kind {
            let (low, high) = (self.sources.text(left.span), self.sources.text(right.span));
            let message = format!("expected a range for `{}`, found a difference", args.keyword);
            let found = Diagnostic::error("range/minus", expr.span, message);
            return self.refuse(found.write(format!("{low} .. {high}")));
        }
        let (low, high) = match self.evaluate(expr).ok_or(Reported)? {
            Constant::Range(low, high) => (low, high),
            Constant::Quantity(q) => return self.one_end(measure, q, expr, args),
            other => return self.wrong_noun("a range", &other.noun(), expr, args),
        };
        self.hold_dimension(measure, low, expr, args)?;
        self.hold_limits(measure, low, expr.span, &args.keyword)?;
        self.hold_limits(measure, high, expr.span, &args.keyword)?;
        args.next();
        Ok(Value::Range(low, high))
    }

    /// `-10 to 30`: two bare numbers parted by a word.
    fn refuse_words_between(&mut self, measure: &Measure, expr: &Expr, args: &Arguments<'_>) -> Result<(), Reported> {
        let word = args.peek_at(1).and_then(Expr::as_word);
        if !matches!(word, Some("to" | "until" | "bis" | "and")) || bare_number(expr).is_none() {
            return Ok(());
        }
        let Some(high) = args.peek_at(2) else { return Ok(()) };
        let unit = measure.unit;
        let written = |e: &Expr| {
            let text = self.sources.text(e.span);
            if bare_number(e).is_some() { format!("{text} {unit}") } else { text.to_owned() }
        };
        let message = format!("expected a range for `{}`, found a bare number alone", args.keyword);
        let found = Diagnostic::error("range/one-end", expr.span.to(high.span), message);
        self.refuse(found.write(format!("{} .. {}", written(expr), written(high))))
    }

    /// A single quantity, or two parted by a word, where a range is needed.
    fn one_end(
        &mut self,
        measure: &Measure,
        q: Quantity,
        expr: &Expr,
        args: &Arguments<'_>,
    ) -> Result<Value, Reported> {
        self.hold_dimension(measure, q, expr, args)?;
        let written = self.sources.text(expr.span).to_owned();
        let message = format!("expected a range for `{}`, found {} alone", args.keyword, q.dimension.name());
        let other = args.peek_at(2).map(|e| self.sources.text(e.span).to_owned());
        let hint = match (args.peek_at(1).and_then(Expr::as_word), other) {
            (Some("to" | "until" | "bis" | "and"), Some(high)) => format!("write `{written} .. {high}`"),
            _ => format!(
                "give the lowest and the highest, as in `{}`; where it never changes, `{written} .. {written}`",
                args.example
            ),
        };
        self.refuse(Diagnostic::error("range/one-end", expr.span, message).hint(hint))
    }

    /// Texts, words and places where a quantity is needed.
    fn refuse_other_shapes(&mut self, wanted: &str, expr: &Expr, args: &Arguments<'_>) -> Result<(), Reported> {
        let strange = match &expr.kind {
            ExprKind::Name(words) => match words.as_slice() {
                // A let of this name, or a word that looks as if it were meant for one.
                [word] => !self.names.contains(&word.text) && self.is_vocabulary(&word.text),
                _ => false,
            },
            ExprKind::Text(_)
            | ExprKind::Direction { .. }
            | ExprKind::FitPair(_)
            | ExprKind::List(_)
            | ExprKind::Clock(_) => true,
            ExprKind::Tuple(_) | ExprKind::Assign | ExprKind::Comma => true,
            _ => false,
        };
        if !strange {
            return Ok(());
        }
        self.wrong_noun(wanted, &expr.noun(), expr, args).map(|_| ())
    }

    fn is_vocabulary(&self, word: &str) -> bool {
        super::vocabulary::VOCABULARY.iter().any(|entry| entry.keyword == word)
    }

    fn wrong_noun(&mut self, wanted: &str, found: &str, expr: &Expr, args: &Arguments<'_>) -> Result<Value, Reported> {
        let message = format!("expected {wanted} for `{}`, found {found}", args.keyword);
        let hint = match expr.as_text().map(crate::quantity::Quantity::parse) {
            Some(Ok(_)) => format!("write `{}`, without quotes", expr.as_text().unwrap_or_default().trim()),
            _ => format!("write `{}`", args.example),
        };
        self.refuse(Diagnostic::error("argument/kind", expr.span, message).hint(hint))
    }

    /// `8 mn` reads as a number and a word: say that the word is no unit.
    pub(crate) fn refuse_unknown_unit(
        &mut self,
        expr: &Expr,
        wanted: Option<Dimension>,
        args: &Arguments<'_>,
    ) -> Result<(), Reported> {
        let Some(value) = bare_number(expr) else { return Ok(()) };
        let Some((word, span)) = args.peek_at(1).and_then(leading_word) else { return Ok(()) };
        let gap = span.start.saturating_sub(expr.span.end);
        let known = self.names.contains(word) || self.is_vocabulary(word) || word == "x" || word == "times";
        if gap > 1 || known {
            return Ok(());
        }
        let message = format!("unknown unit `{word}` for `{}`", args.keyword);
        let hint = match (likely_unit(word, wanted), wanted) {
            (Some(unit), _) => format!("write `{} {unit}`", significant(value)),
            (None, Some(wanted)) => format!("write it in {}, as in `{}`", units_of(wanted), args.example),
            (None, None) => format!("write a unit, as in `{}`", args.example),
        };
        self.refuse(Diagnostic::error("unit/unknown", span, message).hint(hint))
    }

    fn hold_dimension(&mut self, m: &Measure, q: Quantity, expr: &Expr, args: &Arguments<'_>) -> Result<(), Reported> {
        if q.dimension == m.dimension {
            return Ok(());
        }
        let (keyword, wanted) = (args.keyword.as_str(), m.dimension.name());
        let written = self.sources.text(expr.span).to_owned();
        let found = if q.dimension == Dimension::NONE { "a bare number".to_owned() } else { q.dimension.name() };
        let error = |code, text: String| Diagnostic::error(code, expr.span, text);
        let usual = format!("expected {wanted} for `{keyword}`, found {found}");
        let diagnostic = match (m.dimension, q.dimension) {
            (_, Dimension::NONE) if written.trim_end().ends_with('%') => {
                error("unit/percent", format!("expected {wanted} for `{keyword}`, found a percentage"))
                    .hint(format!("write it in {}, as in `{}`", m.unit, args.example))
            }
            (Dimension::TIME, Dimension::NONE) if bare_number(expr).is_some() => error("unit/missing", usual)
                .hint(format!("write `{written} h`, `{written} days` or `{written} years`"))
                .in_place(format!("{written} years"))
                .in_place(format!("{written} days"))
                .in_place(format!("{written} h")),
            (Dimension::LENGTH, Dimension::NONE) if keyword == "size" || keyword == "magnet" => {
                error("unit/missing", usual).hint(format!("write a unit behind each number, as in `{}`", args.example))
            }
            (_, Dimension::NONE) if bare_number(expr).is_some() => {
                error("unit/missing", usual).write(format!("{written} {}", m.unit))
            }
            (_, Dimension::NONE) => {
                error("unit/missing", usual).hint(format!("give it a unit, as in `{}`", args.example))
            }
            (Dimension::FORCE, Dimension::MASS) => {
                let newton = significant((q.si * FREE_FALL * 10.0).round() / 10.0);
                let kilos = trim_number(q.si, 3);
                error("unit/mass-for-force", usual)
                    .hint(format!("write `{newton} N` (the weight of {q}) or `{kilos} kgf`"))
                    .in_place(format!("{newton} N"))
            }
            (Dimension::TEMPERATURE, Dimension::TEMPERATURE_DIFFERENCE) => {
                error("unit/difference-for-temperature", usual)
                    .hint(format!("write `{} °C`; K stands for differences only", trim_number(q.si, 2)))
                    .in_place(format!("{} °C", trim_number(q.si, 2)))
            }
            (Dimension::TEMPERATURE_DIFFERENCE, Dimension::TEMPERATURE) => {
                error("unit/temperature-for-difference", usual).hint("write a difference in K")
            }
            _ => error("unit/dimension", usual).hint(format!(
                "write it in {}, as in `{}`",
                units_of(m.dimension),
                args.example
            )),
        };
        self.refuse(diagnostic)
    }

    fn hold_limits(&mut self, m: &Measure, q: Quantity, span: Span, keyword: &str) -> Result<(), Reported> {
        let (Some(low), Some(high)) = (m.limit(m.low), m.limit(m.high)) else { return Ok(()) };
        let written = self.sources.text(span);
        let named = !written.starts_with(|c: char| c.is_ascii_digit() || "+-−–.".contains(c));
        let shown = if named { format!("`{written}` ({q})") } else { format!("`{written}`") };
        let show = |value: f64| format!("{} {}", trim_number(value, 3), m.unit);
        let refuse = |code, message: String, hint: String| Diagnostic::error(code, span, message).hint(hint);
        let diagnostic = if m.low == 0.0 && q.si < 0.0 && !q.dimension.point {
            let hint = if q.dimension == Dimension::FORCE {
                "write its size, and the way it pushes behind `toward`".to_owned()
            } else {
                format!("write a value above 0 {}", m.unit)
            };
            refuse("value/negative", format!("`{keyword}` is negative"), hint)
        } else if q.si == low.si && !m.low_allowed {
            refuse(
                "value/zero",
                format!("`{keyword}` is zero"),
                "leave the statement out, or give it a size".to_owned(),
            )
        } else if q.si < low.si {
            let text = format!("{shown} is less than `{keyword}` can mean (at least {})", show(m.low));
            refuse("value/too-small", text, "check the number and its unit".to_owned())
        } else if q.si > high.si * (1.0 + 1e-12) {
            let text = format!("{shown} is more than `{keyword}` can mean (at most {})", show(m.high));
            refuse("value/too-large", text, "check the number and its unit".to_owned())
        } else {
            return Ok(());
        };
        self.refuse(diagnostic)
    }

    pub(crate) fn read_number(&mut self, low: f64, high: f64, args: &mut Arguments<'_>) -> Result<Value, Reported> {
        let value = self.plain_number("a plain number", args)?;
        let span = args.peek().map_or(args.last(), |e| e.span);
        if value < low || value > high {
            let code = if value < low { "value/too-small" } else { "value/too-large" };
            let side = if value < low { format!("at least {low}") } else { format!("at most {}", significant(high)) };
            let message = format!("`{}` cannot be {}: {side}", args.keyword, significant(value));
            return self.refuse(Diagnostic::error(code, span, message).hint(format!("write `{}`", args.example)));
        }
        args.next();
        Ok(Value::Number(value))
    }

    pub(crate) fn read_count(&mut self, most: u32, args: &mut Arguments<'_>) -> Result<Value, Reported> {
        // Three digits behind a point: of a thousand somewhere, of one elsewhere. Of a count nobody means thousandths.
        if let Some(expr) = args.peek().filter(|e| bare_number(e).is_some())
            && let Some((whole, tail)) = self.sources.text(expr.span).split_once('.')
            && tail.len() == 3
            && (1..=3).contains(&whole.len())
            && (whole.bytes().chain(tail.bytes())).all(|b| b.is_ascii_digit())
        {
            let message = format!("`{whole}.{tail}` could be {whole}{tail} or {whole}");
            let found = Diagnostic::error("number/point", expr.span, message);
            let found = found.hint(format!("write `{whole}{tail}` or `{whole}`, as a whole number without a point"));
            return self.refuse(found.in_place(format!("{whole}{tail}")).in_place(whole));
        }
        let value = self.plain_number("a whole number", args)?;
        let keyword = args.keyword.clone();
        let span = args.peek().map_or(args.last(), |e| e.span);
        let refuse = |code, message: String, hint: String| Diagnostic::error(code, span, message).hint(hint);
        let diagnostic = if value < 0.0 {
            refuse("value/negative", format!("`{keyword}` is negative"), "write 1 or more".to_owned())
        } else if value == 0.0 {
            refuse("value/zero", format!("`{keyword}` is zero"), "write 1 or more".to_owned())
        } else if value.fract() != 0.0 {
            let (below, above) = (trim_number(value.floor().max(1.0), 0), trim_number(value.ceil(), 0));
            let either = if below == above { format!("`{above}`") } else { format!("`{below}` or `{above}`") };
            refuse("value/not-whole", format!("`{keyword}` must be a whole number"), format!("write {either}"))
        } else if value > f64::from(most) {
            let text = format!("{} is more than `{keyword}` can mean (at most {most})", significant(value));
            refuse("value/too-large", text, "check the number".to_owned())
        } else {
            args.next();
            return Ok(Value::Count(value as u32));
        };
        self.refuse(diagnostic)
    }

    fn plain_number(&mut self, wanted: &str, args: &Arguments<'_>) -> Result<f64, Reported> {
        let Some(expr) = args.peek() else { return Ok(0.0) };
        self.refuse_other_shapes(wanted, expr, args)?;
        let error = |code, message: String| Diagnostic::error(code, expr.span, message);
        if let Some((whole, tail)) = bare_number(expr).and_then(|_| self.thousands(expr.span)) {
            let message = format!("`{whole},{tail}` could be {whole}{tail} or {whole}.{tail}");
            return self.refuse(
                error("number/comma", message)
                    .hint(format!("write `{whole}{tail}` or `{whole}.{tail}`"))
                    .in_place(format!("{whole}{tail}"))
                    .in_place(format!("{whole}.{tail}")),
            );
        }
        if let ExprKind::Number { value, unit: Some(unit) } = &expr.kind
            && matches!(unit.text.as_str(), "%" | "ppm")
        {
            let message = format!("expected {wanted} for `{}`, found a percentage", args.keyword);
            let plain = significant(if unit.text == "%" { value / 100.0 } else { value / 1e6 });
            return self.refuse(
                error("unit/percent", message).hint(format!("write `{plain}`, if that was meant")).in_place(plain),
            );
        }
        match self.evaluate(expr).ok_or(Reported)? {
            Constant::Quantity(q) if q.dimension == Dimension::NONE => Ok(q.si),
            other => {
                let message = format!("expected {wanted} for `{}`, found {}", args.keyword, other.noun());
                let hint = match &expr.kind {
                    ExprKind::Number { value, unit: Some(_) } => {
                        format!("write `{}` without a unit", significant(*value))
                    }
                    _ => format!("write `{}`", args.example),
                };
                self.refuse(error("unit/unexpected", message).hint(hint))
            }
        }
    }
}

/// Returns the value of a number without a unit, with its sign.
pub(crate) fn bare_number(expr: &Expr) -> Option<f64> {
    match &expr.kind {
        ExprKind::Number { value, unit: None } => Some(*value),
        ExprKind::Negate(inner) => bare_number(inner).map(|v| -v),
        _ => None,
    }
}

/// Returns the word an argument begins with: `C` in `C .. 30 °C`.
fn leading_word(expr: &Expr) -> Option<(&str, Span)> {
    match &expr.kind {
        ExprKind::Name(words) => words.first().filter(|_| words.len() == 1).map(|w| (w.text.as_str(), w.span)),
        ExprKind::Binary { op: BinaryOp::Range, left, .. } => leading_word(left),
        _ => None,
    }
}

/// Returns the units of a dimension as people write them.
fn units_of(dimension: Dimension) -> &'static str {
    match dimension {
        Dimension::LENGTH => "mm, cm, m, µm or in",
        Dimension::FORCE => "N, kN, kgf or lbf",
        Dimension::TORQUE => "Nm or Ncm",
        Dimension::TIME => "s, min, h, days or years",
        Dimension::TEMPERATURE => "°C or °F",
        Dimension::TEMPERATURE_DIFFERENCE => "K",
        Dimension::STRESS => "bar, MPa, kPa or psi",
        Dimension::MASS => "g, kg or lb",
        Dimension::SPEED => "m/s or mm/s",
        Dimension::ACCELERATION => "m/s²",
        Dimension::ANGLE => "deg",
        _ => "its unit",
    }
}
