//! Expressions in a spec: constant arithmetic on quantities, with dimensions checked at the place they stand.

use super::checker::Checker;
use super::names::Lookup;
use crate::diag::{Diagnostic, Span, nearest};
use crate::quantity::{Dimension, Quantity, QuantityError, UNITS};
use crate::syntax::tree::{BinaryOp, Expr, ExprKind, Word, join};

/// The value of an expression in a spec.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Constant {
    Quantity(Quantity),
    Range(Quantity, Quantity),
    Text(String),
}

impl Constant {
    pub fn noun(&self) -> String {
        match self {
            Constant::Quantity(q) => q.dimension.name(),
            Constant::Range(..) => "a range".to_owned(),
            Constant::Text(_) => "a text".to_owned(),
        }
    }
}

/// How people name one end of a range.
const ENDS: &[&str] = &["min", "max", "minimum", "maximum", "from", "to", "least", "most", "below", "above"];

/// Units people write from habit, and ours.
const UNIT_HABITS: &[(&str, &str)] = &[
    ("C", "°C"),
    ("c", "°C"),
    ("Celsius", "°C"),
    ("celsius", "°C"),
    ("F", "°F"),
    ("Fahrenheit", "°F"),
    ("Kelvin", "K"),
    ("MM", "mm"),
    ("Kg", "kg"),
    ("KG", "kg"),
    ("kilo", "kg"),
    ("kilos", "kg"),
    ("kp", "kgf"),
    ("n", "N"),
    ("newton", "N"),
    ("newtons", "N"),
    ("nm", "Nm"),
    ("NM", "Nm"),
    ("Mpa", "MPa"),
    ("mpa", "MPa"),
    ("Bar", "bar"),
    ("inches", "in"),
    ("feet", "ft"),
    ("micron", "µm"),
    ("microns", "µm"),
    ("y", "years"),
    ("yr", "years"),
    ("yrs", "years"),
    ("a", "years"),
    ("d", "days"),
    ("hr", "h"),
    ("hrs", "h"),
    ("minutes", "min"),
    ("minute", "min"),
    ("mins", "min"),
    ("second", "s"),
    ("seconds", "s"),
    ("percent", "%"),
    ("degrees", "deg"),
    ("degree", "deg"),
];

/// Returns the unit that was probably meant; without a wanted dimension only the habits are sure enough.
pub(crate) fn likely_unit(written: &str, wanted: Option<Dimension>) -> Option<&'static str> {
    let fits = |symbol: &str| UNITS.iter().any(|u| u.symbol == symbol && wanted.is_none_or(|d| u.dimension == d));
    let habit = UNIT_HABITS.iter().find(|(habit, _)| *habit == written).map(|(_, unit)| *unit);
    if let Some(unit) = habit.filter(|unit| fits(unit)) {
        return Some(unit);
    }
    let known: Vec<&str> = UNITS.iter().filter(|u| Some(u.dimension) == wanted).map(|u| u.symbol).collect();
    // A slip seldom hits the first letter or the length: `mn` is `mm` rather than `m` or `in`.
    let start = |symbol: &str| symbol.chars().next() == written.chars().next();
    let length = |symbol: &str| symbol.chars().count() == written.chars().count();
    nearest(written, known.iter().copied().filter(|s| start(s) && length(s)))
        .or_else(|| nearest(written, known.iter().copied().filter(|s| start(s))))
        .or_else(|| nearest(written, known.iter().copied()))
}

impl Checker<'_> {
    /// Returns the value of an expression; `None` after saying why there is none.
    pub(crate) fn evaluate(&mut self, expr: &Expr) -> Option<Constant> {
        match &expr.kind {
            ExprKind::Number { value, unit } => {
                self.warn_of_thousands(expr.span);
                self.quantity(*value, unit.as_ref(), expr.span).map(Constant::Quantity)
            }
            ExprKind::Negate(inner) => self.negate(inner, expr.span),
            ExprKind::Text(text) => Some(Constant::Text(text.clone())),
            ExprKind::Name(words) => self.name(words, expr.span),
            ExprKind::Binary { op, left, right } => self.binary(*op, left, right, expr.span),
            ExprKind::Call { name, arguments } => self.call(name, arguments, expr.span),
            _ => {
                let message = format!("expected a quantity, a range or a text, found {}", expr.noun());
                let diagnostic = Diagnostic::error("value/not-constant", expr.span, message);
                self.report(diagnostic.hint("write a quantity such as `2.4 mm`, or a name given by `let`"));
                None
            }
        }
    }

    fn quantity(&mut self, value: f64, unit: Option<&Word>, span: Span) -> Option<Quantity> {
        match Quantity::with_unit(value, unit.map_or("", |u| u.text.as_str())) {
            Ok(quantity) => Some(quantity),
            Err(error) => {
                self.report(unreadable(&error, value, span));
                None
            }
        }
    }

    /// `1,250 mm`: a decimal comma, or a thousand? It was read as a decimal comma; say so.
    fn warn_of_thousands(&mut self, span: Span) {
        if let Some((whole, tail)) = self.thousands(span) {
            let message = format!("`{whole},{tail}` is read as {whole}.{tail}");
            self.report(
                Diagnostic::warning("number/comma", span, message)
                    .hint(format!("write `{whole}.{tail}`, or `{whole}{tail}` if that was meant")),
            );
        }
    }

    /// Returns the digits before and after a comma that could part thousands.
    pub(crate) fn thousands(&self, span: Span) -> Option<(String, String)> {
        let (whole, rest) = self.sources.text(span).split_once(',')?;
        let tail: String = rest.chars().take_while(char::is_ascii_digit).collect();
        let doubtful = tail.len() == 3 && whole != "0" && !whole.is_empty() && whole.len() <= 3;
        doubtful.then(|| (whole.to_owned(), tail))
    }

    fn negate(&mut self, inner: &Expr, span: Span) -> Option<Constant> {
        if let ExprKind::Number { value, unit } = &inner.kind {
            self.warn_of_thousands(inner.span);
            // The sign belongs to the number, before the zero of the scale is added: -25 °C is not -(25 °C).
            return self.quantity(-value, unit.as_ref(), span).map(Constant::Quantity);
        }
        match self.evaluate(inner)? {
            Constant::Quantity(q) if !q.dimension.point => Some(Constant::Quantity(Quantity::new(-q.si, q.dimension))),
            other => {
                let message = format!("a minus before {} means nothing", other.noun());
                self.report(Diagnostic::error("unit/arithmetic", span, message).hint("put the sign before the number"));
                None
            }
        }
    }

    fn name(&mut self, words: &[Word], span: Span) -> Option<Constant> {
        let [word] = words else {
            let message = format!("`{}` is not known here", join(words));
            self.report(
                Diagnostic::error("name/unknown", span, message)
                    .hint("names with a dot stand for facts, in rules only; here a name is one given by `let`"),
            );
            return None;
        };
        match self.look_up(word) {
            Lookup::Value(value) => Some(value),
            Lookup::Broken => None,
            Lookup::Unknown => {
                self.unknown_name(word);
                None
            }
        }
    }

    pub(crate) fn unknown_name(&mut self, word: &Word) {
        let near = nearest(&word.text, self.names.all()).map(str::to_owned);
        let message = format!("nothing is named `{}`", word.text);
        let found = Diagnostic::error("name/unknown", word.span, message);
        if let Some(near) = near {
            return self.report(found.meant(&near));
        }
        let hint = match word.text.as_str() {
            end if ENDS.contains(&end) => {
                "write the lowest and the highest with two dots between, as in `5 °C .. 40 °C`".to_owned()
            }
            _ => format!("write the value itself, or name it first, as in `let {} = 140 N`", word.text),
        };
        self.report(found.hint(hint));
    }

    fn binary(&mut self, op: BinaryOp, left: &Expr, right: &Expr, span: Span) -> Option<Constant> {
        if op == BinaryOp::Range {
            return self.range(left, right, span);
        }
        if !matches!(op, BinaryOp::Add | BinaryOp::Subtract | BinaryOp::Multiply | BinaryOp::Divide) {
            let message = format!("expected a quantity, found a condition (`{}`)", op.symbol());
            self.report(
                Diagnostic::error("value/not-constant", span, message).hint("conditions stand in rules, behind `when`; a way in which something pushes or looks is written `toward -z`"),
            );
            return None;
        }
        // Both sides, so that two mistakes give two messages.
        let (a, b) = (self.evaluate(left), self.evaluate(right));
        let (a, b) = (a?, b?);
        let (Constant::Quantity(x), Constant::Quantity(y)) = (&a, &b) else {
            self.bad_arithmetic(op, &a, &b, span);
            return None;
        };
        if op == BinaryOp::Divide && y.si == 0.0 && !y.dimension.point {
            self.report(
                Diagnostic::error("value/division-by-zero", right.span, "a division by zero")
                    .hint("divide by something else"),
            );
            return None;
        }
        let result = match op {
            BinaryOp::Add => x.checked_add(*y),
            BinaryOp::Subtract => x.checked_sub(*y),
            BinaryOp::Multiply => x.checked_mul(*y),
            _ => x.checked_div(*y),
        };
        match result {
            Some(q) if q.si.is_finite() => Some(Constant::Quantity(q)),
            Some(_) => {
                self.report(unreadable(&QuantityError::NotFinite, 0.0, span));
                None
            }
            None => {
                self.bad_arithmetic(op, &a, &b, span);
                None
            }
        }
    }

    fn bad_arithmetic(&mut self, op: BinaryOp, a: &Constant, b: &Constant, span: Span) {
        let phrase = match op {
            BinaryOp::Add => format!("{} and {} cannot be added", a.noun(), b.noun()),
            BinaryOp::Subtract => format!("{} cannot be taken from {}", b.noun(), a.noun()),
            BinaryOp::Multiply => format!("{} and {} cannot be multiplied", a.noun(), b.noun()),
            _ => format!("{} cannot be divided by {}", a.noun(), b.noun()),
        };
        let mut diagnostic = Diagnostic::error("unit/arithmetic", span, phrase);
        let point = |c: &Constant| matches!(c, Constant::Quantity(q) if q.dimension.point);
        if point(a) && point(b) {
            diagnostic = diagnostic.hint("a temperature difference is written in K, as in `60 °C + 10 K`");
        } else if op == BinaryOp::Subtract {
            diagnostic = diagnostic.hint("a range is written with two dots, as in `-25 °C .. 30 °C`");
        } else {
            diagnostic = diagnostic.hint("give both sides units of one kind, or write the result");
        }
        self.report(diagnostic);
    }

    fn range(&mut self, left: &Expr, right: &Expr, span: Span) -> Option<Constant> {
        let (low, high) = (self.evaluate(left), self.evaluate(right));
        let (low, high) = (self.end_of_range(low?, left)?, self.end_of_range(high?, right)?);
        if low.dimension == high.dimension {
            return self.upright(low, high, left, right, span);
        }
        let (bare, other, expr) = if low.dimension == Dimension::NONE {
            (true, high, left)
        } else if high.dimension == Dimension::NONE {
            (true, low, right)
        } else {
            (false, low, right)
        };
        let written = self.sources.text(expr.span).to_owned();
        if bare {
            let partner = if expr.span == left.span { right } else { left };
            let unit = unit_of(partner).unwrap_or_else(|| usual_unit(other));
            let message = format!("expected {} at this end of the range, found a bare number", other.dimension.name());
            self.report(Diagnostic::error("unit/missing", expr.span, message).write(format!("{written} {unit}")));
        } else {
            let message = format!("a range from {} to {}", low.dimension.name(), high.dimension.name());
            self.report(Diagnostic::error("range/mixed", span, message).hint("give both ends in units of one kind"));
        }
        None
    }

    fn end_of_range(&mut self, value: Constant, expr: &Expr) -> Option<Quantity> {
        match value {
            Constant::Quantity(q) => Some(q),
            other => {
                let message = format!("expected a quantity at this end of the range, found {}", other.noun());
                let diagnostic = Diagnostic::error("range/end", expr.span, message);
                self.report(diagnostic.hint("write `-25 °C .. 30 °C`"));
                None
            }
        }
    }

    fn upright(&mut self, low: Quantity, high: Quantity, left: &Expr, right: &Expr, span: Span) -> Option<Constant> {
        if low.si <= high.si {
            return Some(Constant::Range(low, high));
        }
        let (a, b) = (self.sources.text(left.span), self.sources.text(right.span));
        let diagnostic =
            Diagnostic::error("range/upside-down", span, format!("the range runs downward, from {low} to {high}"))
                .write(format!("{b} .. {a}"));
        self.report(diagnostic);
        None
    }

    fn call(&mut self, name: &[Word], arguments: &[Expr], span: Span) -> Option<Constant> {
        let written = join(name);
        if !matches!(written.as_str(), "min" | "max") || arguments.is_empty() {
            let message = format!("`{written}(..)` cannot be worked out here");
            self.report(
                Diagnostic::error("value/function", span, message)
                    .hint("a spec knows `min(a, b)` and `max(a, b)`; other functions stand in rules"),
            );
            return None;
        }
        let values: Vec<Option<Constant>> = arguments.iter().map(|a| self.evaluate(a)).collect();
        let mut best: Option<Quantity> = None;
        for (value, expr) in values.into_iter().zip(arguments) {
            let Constant::Quantity(q) = value? else {
                let message = format!("expected a quantity in `{written}(..)`");
                self.report(
                    Diagnostic::error("unit/arithmetic", expr.span, message).hint("write a quantity with its unit"),
                );
                return None;
            };
            let Some(current) = best else {
                best = Some(q);
                continue;
            };
            if current.dimension != q.dimension {
                let (a, b) = (current.dimension.name(), q.dimension.name());
                let message = format!("{a} and {b} cannot be compared");
                let diagnostic = Diagnostic::error("unit/arithmetic", expr.span, message);
                self.report(diagnostic.hint("give all of them units of one kind"));
                return None;
            }
            let take = if written == "min" { q.si < current.si } else { q.si > current.si };
            best = Some(if take { q } else { current });
        }
        best.map(Constant::Quantity)
    }
}

/// Returns the unit a number is written with.
fn unit_of(expr: &Expr) -> Option<String> {
    match &expr.kind {
        ExprKind::Number { unit, .. } => unit.as_ref().map(|u| u.text.clone()),
        ExprKind::Negate(inner) => unit_of(inner),
        _ => None,
    }
}

/// Returns the unit a quantity is printed in.
fn usual_unit(q: Quantity) -> String {
    q.to_string().split(' ').next_back().unwrap_or_default().to_owned()
}

/// Says why a number with its unit is no quantity.
fn unreadable(error: &QuantityError, value: f64, span: Span) -> Diagnostic {
    match error {
        QuantityError::BelowAbsoluteZero => {
            Diagnostic::error("value/below-absolute-zero", span, "a temperature below absolute zero (-273.15 °C)")
                .hint("check the sign and the unit")
        }
        QuantityError::UnknownUnit { found, .. } => {
            let diagnostic = Diagnostic::error("unit/unknown", span, format!("unknown unit `{found}`"));
            match likely_unit(found, None) {
                Some(near) => diagnostic.write(format!("{} {near}", crate::quantity::significant(value))),
                None => diagnostic.hint("write mm, °C, N, MPa, years ..."),
            }
        }
        QuantityError::NotFinite | QuantityError::NotANumber(_) => {
            Diagnostic::error("value/too-large", span, "a number too large to mean anything").hint("check the exponent")
        }
    }
}
