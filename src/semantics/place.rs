//! Directions, points and places on the part, in the axes and coordinates of the mesh.

use super::arguments::Arguments;
use super::checker::{Checker, Reported};
use super::evaluate::Constant;
use super::spec::{Direction, Where};
use super::values::Value;
use crate::diag::{Diagnostic, Span};
use crate::quantity::{Dimension, Length};
use crate::syntax::tree::{Axis, Expr, ExprKind};

/// Farther from the origin than this, a coordinate is a slip (m).
const FARTHEST: f64 = 100.0;

impl Checker<'_> {
    pub(crate) fn read_direction(&mut self, args: &mut Arguments<'_>) -> Result<Direction, Reported> {
        let Some(expr) = args.next() else { return self.missing_direction(args) };
        if let Some(axis) = axis_of(expr) {
            return Ok(axis);
        }
        if let ExprKind::Tuple(items) = &expr.kind {
            return self.vector(items, expr);
        }
        let mut diagnostic = Diagnostic::error(
            "place/direction",
            expr.span,
            format!("expected a direction for `{}`, found {}", args.keyword, expr.noun()),
        );
        let word = expr.as_word().unwrap_or_default();
        diagnostic = if matches!(word, "up" | "down" | "left" | "right" | "front" | "back" | "top" | "bottom") {
            diagnostic.hint("a part has no up or down before it is posed: write the axis of the mesh, as in `-z`")
        } else {
            diagnostic.hint("write an axis of the mesh, `+x` to `-z`, or a vector such as `(1, 0, -1)`")
        };
        self.refuse(diagnostic)
    }

    fn missing_direction(&mut self, args: &Arguments<'_>) -> Result<Direction, Reported> {
        let message = format!("`{}` needs a direction", args.keyword);
        self.refuse(
            Diagnostic::error("argument/missing", args.last(), message).hint(format!("write `{}`", args.example)),
        )
    }

    fn vector(&mut self, items: &[Expr], whole: &Expr) -> Result<Direction, Reported> {
        let mut parts = [0.0; 3];
        if items.len() != 3 {
            let message = format!("a direction has three parts, found {}", items.len());
            return self.refuse(Diagnostic::error("place/direction", whole.span, message).hint("write `(1, 0, -1)`"));
        }
        for (part, item) in parts.iter_mut().zip(items) {
            match self.evaluate(item).ok_or(Reported)? {
                Constant::Quantity(q) if q.dimension == Dimension::NONE && q.si.abs() < 1e9 => *part = q.si,
                other => {
                    let message = format!("expected a plain number in a direction, found {}", other.noun());
                    let diagnostic = Diagnostic::error("place/direction", item.span, message);
                    return self.refuse(diagnostic.hint("a direction has no unit: write `(1, 0, -1)`"));
                }
            }
        }
        let [x, y, z] = parts;
        let length = (x * x + y * y + z * z).sqrt();
        if length < 1e-9 {
            let diagnostic = Diagnostic::error("place/direction", whole.span, "a direction of no length");
            return self.refuse(diagnostic.hint("write `(1, 0, -1)`"));
        }
        Ok(Direction([x / length, y / length, z / length]))
    }

    pub(crate) fn read_point(&mut self, args: &mut Arguments<'_>) -> Result<[Length; 3], Reported> {
        let keyword = args.keyword.clone();
        let Some(expr) = args.next() else { return Err(Reported) };
        let items: &[Expr] = match &expr.kind {
            ExprKind::Tuple(items) => items,
            _ => {
                let message = format!("expected a place (x, y, z) for `{keyword}`, found {}", expr.noun());
                let diagnostic = Diagnostic::error("place/point", expr.span, message);
                let bare = three_in_a_row(expr, args).map(|whole| format!("({})", self.sources.text(whole)));
                let place = bare.unwrap_or_else(|| "(170 mm, 30 mm, 40 mm)".to_owned());
                return self.refuse(diagnostic.hint(format!("write `{place}`, in the coordinates of the mesh")));
            }
        };
        let [x, y, z] = items else {
            let message = format!("a place has three coordinates, found {}", items.len());
            let diagnostic = Diagnostic::error("place/point", expr.span, message);
            return self.refuse(diagnostic.hint("write `(170 mm, 30 mm, 40 mm)`"));
        };
        let (x, y, z) = (self.coordinate(x), self.coordinate(y), self.coordinate(z));
        Ok([x?, y?, z?])
    }

    fn coordinate(&mut self, expr: &Expr) -> Result<Length, Reported> {
        let Constant::Quantity(q) = self.evaluate(expr).ok_or(Reported)? else {
            let message = format!("expected a length for a coordinate, found {}", expr.noun());
            return self.refuse(Diagnostic::error("unit/dimension", expr.span, message).hint("write it in mm"));
        };
        if q.dimension == Dimension::NONE {
            let written = self.sources.text(expr.span).to_owned();
            let message = "expected a length for a coordinate, found a bare number";
            return self.refuse(Diagnostic::error("unit/missing", expr.span, message).write(format!("{written} mm")));
        }
        if q.dimension == Dimension::LENGTH && q.si.abs() > FARTHEST {
            let message = format!("a coordinate of {q} is far outside any part");
            return self.refuse(
                Diagnostic::error("value/too-large", expr.span, message).hint("check the number and its unit"),
            );
        }
        match Length::try_from(q) {
            Ok(length) => Ok(length),
            Err(found) => {
                let message = format!("expected a length for a coordinate, found {}", found.name());
                self.refuse(Diagnostic::error("unit/dimension", expr.span, message).hint("write it in mm"))
            }
        }
    }

    pub(crate) fn read_where(&mut self, args: &mut Arguments<'_>) -> Result<Value, Reported> {
        if args.phrase("inside") == 1 {
            args.skip(1);
            return Ok(Value::Where(Where::Inside));
        }
        if args.phrase("fit") == 1 {
            return self.read_name_of("fit", args).map(|name| Value::Where(Where::Fit(name)));
        }
        if args.phrase("face") == 0 {
            let Some(expr) = args.peek() else { return Ok(Value::Seen) };
            if matches!(expr.kind, ExprKind::Tuple(_)) {
                return self.read_point(args).map(|p| Value::Where(Where::Point(p)));
            }
            let message = format!("expected a face or a place for `{}`, found {}", args.keyword, expr.noun());
            let hint = match expr.as_text().or(expr.as_word()) {
                Some(name) => format!("write `face \"{name}\"`"),
                None => "write `face \"seat\"` or `(170 mm, 30 mm, 40 mm)`".to_owned(),
            };
            return self.refuse(Diagnostic::error("place/where", expr.span, message).hint(hint));
        }
        self.read_name_of("face", args).map(|name| Value::Where(Where::Face(name)))
    }

    /// Reads the word and the name of a face or a fit.
    fn read_name_of(&mut self, word: &str, args: &mut Arguments<'_>) -> Result<String, Reported> {
        let at = args.skip(1);
        let Some(expr) = args.next() else {
            let message = format!("`{word}` needs the name of a {word}");
            let hint = format!("write `{word} \"{}\"`", if word == "fit" { "screws" } else { "seat" });
            return self.refuse(Diagnostic::error("argument/missing", at, message).hint(hint));
        };
        match expr.as_text() {
            Some(name) => Ok(name.to_owned()),
            None => {
                let message = format!("expected the name of a {word} in double quotes, found {}", expr.noun());
                let written = self.sources.text(expr.span).to_owned();
                let hint = format!("write `{word} \"{}\"`", written.replace('"', ""));
                self.refuse(Diagnostic::error("argument/text", expr.span, message).hint(hint))
            }
        }
    }
}

/// Returns the unit vector of `+x`, `-z`, `x`.
fn axis_of(expr: &Expr) -> Option<Direction> {
    let unit = |axis: usize, sign: f64| {
        let mut parts = [0.0; 3];
        parts[axis] = sign;
        Direction(parts)
    };
    match &expr.kind {
        ExprKind::Direction { axis, positive } => {
            let sign = if *positive { 1.0 } else { -1.0 };
            Some(match axis {
                Axis::X => unit(0, sign),
                Axis::Y => unit(1, sign),
                Axis::Z => unit(2, sign),
            })
        }
        _ => match expr.as_word()? {
            "x" | "X" => Some(unit(0, 1.0)),
            "y" | "Y" => Some(unit(1, 1.0)),
            "z" | "Z" => Some(unit(2, 1.0)),
            _ => None,
        },
    }
}

/// Returns where three quantities stand in a row with commas between: a place without its parentheses.
fn three_in_a_row(first: &Expr, args: &Arguments<'_>) -> Option<Span> {
    let comma = |ahead: usize| args.peek_at(ahead).is_some_and(|e| matches!(e.kind, ExprKind::Comma));
    let quantity = |e: &Expr| matches!(e.kind, ExprKind::Number { .. } | ExprKind::Negate(_));
    let last = args.peek_at(3).filter(|e| quantity(e))?;
    (quantity(first) && comma(0) && args.peek_at(1).is_some_and(quantity) && comma(2)).then(|| first.span.to(last.span))
}
