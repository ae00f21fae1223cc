//! Days and times as arguments: `2026-12-24 .. 2026-12-26`, `07:00 .. 19:00`, `monday .. friday`.

use super::arguments::Arguments;
use super::checker::{Checker, Reported};
use super::symbols::shown;
use super::values::Value;
use crate::day::is_day;
use crate::diag::{Diagnostic, nearest};
use crate::syntax::tree::{BinaryOp, Expr, ExprKind};

/// The days of the week as they are written, monday first as in ISO 8601.
pub const WEEKDAYS: [&str; 7] = ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"];

/// Minutes of a day; the end of its last hour, `24:00`.
const DAY: u16 = 24 * 60;

impl Checker<'_> {
    pub(crate) fn read_dates(&mut self, args: &mut Arguments<'_>) -> Result<Value, Reported> {
        let Some(expr) = args.peek() else { return Ok(Value::Seen) };
        let span = self.joined(args);
        let written = self.sources.text(span).to_owned();
        let (first, last) = written.split_once("..").unwrap_or((&written, &written));
        let (first, last) = (first.trim(), last.trim());
        if !is_day(first) || !is_day(last) {
            let message =
                format!("expected a date or a range of dates for `{}`, found {}", args.keyword, shown(&written, expr));
            let hint = "write year-month-day: `2026-12-24`, or `2026-12-24 .. 2026-12-26`";
            return self.refuse(Diagnostic::error("argument/date", span, message).hint(hint));
        }
        if last < first {
            let message = format!("the dates of `{}` run backwards", args.keyword);
            let hint = format!("write `{last} .. {first}`");
            return self.refuse(Diagnostic::error("range/backwards", span, message).hint(hint));
        }
        let value = Value::Dates(first.to_owned(), last.to_owned());
        self.skip_to(span, args);
        Ok(value)
    }

    pub(crate) fn read_clock(&mut self, args: &mut Arguments<'_>) -> Result<Value, Reported> {
        let Some(expr) = args.peek() else { return Ok(Value::Seen) };
        let minute = self.minute_of(expr, args, DAY - 1)?;
        args.next();
        Ok(Value::Clock(minute))
    }

    pub(crate) fn read_clocks(&mut self, args: &mut Arguments<'_>) -> Result<Value, Reported> {
        let Some(expr) = args.peek() else { return Ok(Value::Seen) };
        let ExprKind::Binary { op: BinaryOp::Range, left, right } = &expr.kind else {
            let message = format!("expected a range of times of day for `{}`, found {}", args.keyword, expr.noun());
            let hint = format!("write from and to, as in `{}`", args.example);
            return self.refuse(Diagnostic::error("argument/time", expr.span, message).hint(hint));
        };
        let (from, to) = (self.minute_of(left, args, DAY - 1)?, self.minute_of(right, args, DAY)?);
        if to <= from {
            let message = format!("the hours of `{}` end before they begin", args.keyword);
            let diagnostic = Diagnostic::error("range/backwards", expr.span, message);
            return self.refuse(
                diagnostic.hint("hours past midnight are two lines: up to `24:00`, and the next day from `00:00`"),
            );
        }
        args.next();
        Ok(Value::Clocks(from, to))
    }

    /// A time of day as minutes after midnight.
    fn minute_of(&mut self, expr: &Expr, args: &Arguments<'_>, most: u16) -> Result<u16, Reported> {
        let written = self.sources.text(expr.span).to_owned();
        let ExprKind::Clock(text) = &expr.kind else {
            let message = format!("expected a time of day for `{}`, found {}", args.keyword, shown(&written, expr));
            let diagnostic = Diagnostic::error("argument/time", expr.span, message);
            return self.refuse(diagnostic.hint("write hours and minutes: `07:00`"));
        };
        if let Some(minute) = minute(text).filter(|m| *m <= most) {
            return Ok(minute);
        }
        let message = format!("there is no time of day `{text}`");
        let hint = match most {
            DAY => "a day goes from `00:00` to `24:00`, two figures each: `07:05`",
            _ => "a day goes from `00:00` to `23:59`, two figures each: `07:05`",
        };
        self.refuse(Diagnostic::error("argument/time", expr.span, message).hint(hint))
    }

    pub(crate) fn read_weekdays(&mut self, args: &mut Arguments<'_>) -> Result<Value, Reported> {
        let Some(expr) = args.peek() else { return Ok(Value::Seen) };
        let (first, last) = match &expr.kind {
            ExprKind::Binary { op: BinaryOp::Range, left, right } => (left.as_ref(), right.as_ref()),
            _ => (expr, expr),
        };
        let first = self.weekday_of(first, args)?;
        let last = self.weekday_of(last, args)?;
        args.next();
        Ok(Value::Weekdays(first, last))
    }

    fn weekday_of(&mut self, expr: &Expr, args: &Arguments<'_>) -> Result<u8, Reported> {
        if let Some(day) = expr.as_word().and_then(|word| WEEKDAYS.iter().position(|d| *d == word)) {
            return Ok(day as u8);
        }
        let written = self.sources.text(expr.span).to_owned();
        let message = format!("expected a day of the week for `{}`, found {}", args.keyword, shown(&written, expr));
        let lower = written.to_lowercase();
        let begun = WEEKDAYS.iter().find(|day| lower.len() >= 2 && day.starts_with(&lower)).copied();
        let hint = match begun.or_else(|| nearest(&lower, WEEKDAYS)) {
            Some(day) => format!("did you mean `{day}`?"),
            None => format!("write `{}`", args.example),
        };
        self.refuse(Diagnostic::error("argument/weekday", expr.span, message).hint(hint))
    }
}

/// Reads `07:05`; two figures each, so that nobody reads `7:5` as half past seven.
fn minute(text: &str) -> Option<u16> {
    let (hours, minutes) = text.split_once(':')?;
    let two = |figures: &str| figures.parse::<u16>().ok().filter(|_| figures.len() == 2);
    let (hours, minutes) = (two(hours)?, two(minutes)?);
    (minutes < 60 && hours <= 24).then_some(hours * 60 + minutes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_of_day_have_two_figures_each() {
        assert_eq!([minute("00:00"), minute("07:05"), minute("24:00")], [Some(0), Some(425), Some(1440)]);
        for none in ["7:05", "07:5", "07:60", "25:00", "07:05:00", "07", ""] {
            assert_eq!(minute(none), None, "{none}");
        }
    }
}
