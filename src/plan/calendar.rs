//! The run's calendar: minutes from its start to days and times of day, and the hours in which somebody is there.

use planner::order::Span;

use crate::day::{days_after, days_between, weekday};
use crate::semantics::run::{Moment, Run};

/// Minutes of a day.
const DAY: i64 = 24 * 60;

/// Minutes counted from the start of a run.
#[derive(Debug, Clone, PartialEq)]
pub struct Calendar {
    from: Moment,
    /// When somebody is there, in order, from the start on.
    pub hours: Vec<Span>,
}

impl Calendar {
    /// Returns the calendar of a run over so many days.
    pub fn of(run: &Run, days: i64) -> Self {
        let from = run.from.value.clone();
        let mut hours: Vec<Span> = Vec::new();
        for ahead in 0..days {
            let Some(day) = days_after(&from.day, ahead) else { break };
            let closed = run.closed.iter().any(|c| (&c.value.0..=&c.value.1).contains(&&day));
            let Some(weekday) = weekday(&day).filter(|_| !closed) else { continue };
            let midnight = ahead * DAY - i64::from(from.minute);
            let mut of_day: Vec<Span> = run
                .hours
                .iter()
                .filter(|h| h.value.on(weekday))
                .map(|h| h.value.times)
                .map(|(a, b)| Span { from_min: midnight + i64::from(a), to_min: midnight + i64::from(b) })
                .collect();
            of_day.sort();
            of_day.into_iter().for_each(|span| push(&mut hours, span));
        }
        Self { from, hours }
    }

    /// Returns the minutes from the start to a moment; negative before it.
    pub fn minutes(&self, day: &str, minute: u16) -> Option<i64> {
        Some(days_between(&self.from.day, day)? * DAY + i64::from(minute) - i64::from(self.from.minute))
    }

    /// Returns the minutes to the end of the last hours of a day, or of the day itself where nobody is there.
    pub fn end_of(&self, day: &str) -> Option<i64> {
        let (begin, end) = (self.minutes(day, 0)?, self.minutes(day, 0)? + DAY);
        let last = self.hours.iter().rev().find(|h| h.from_min < end && h.to_min > begin);
        Some(last.map_or(end, |h| h.to_min.min(end)))
    }

    /// Returns the moment so many minutes from the start.
    pub fn moment(&self, minutes: i64) -> Moment {
        let all = i64::from(self.from.minute) + minutes;
        let day = days_after(&self.from.day, all.div_euclid(DAY)).unwrap_or_else(|| self.from.day.clone());
        Moment { day, minute: u16::try_from(all.rem_euclid(DAY)).unwrap_or(0) }
    }
}

/// Adds a span behind the others; what begins where the last one ends is one with it, and what is over is left out.
fn push(hours: &mut Vec<Span>, span: Span) {
    let span = Span { from_min: span.from_min.max(0), ..span };
    if span.to_min <= span.from_min {
        return;
    }
    match hours.last_mut() {
        Some(last) if last.to_min >= span.from_min => last.to_min = last.to_min.max(span.to_min),
        _ => hours.push(span),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diag::{Source, Sources};

    fn run(text: &str) -> Run {
        let mut sources = Sources::default();
        let id = sources.add(Source::new("a.runspec", text));
        let tree = crate::syntax::parse(id, text).value.unwrap();
        crate::semantics::check(&[tree], &sources).value.unwrap().runs.remove(0)
    }

    #[test]
    fn hours_are_counted_from_the_start_and_days_off_left_out() {
        // 7 December 2026 is a monday.
        let run = run(
            "run \"a\" { from 2026-12-07 09:00; hours monday .. tuesday 07:00 .. 12:00; hours monday 12:00 .. 15:00; hours saturday 08:00 .. 09:00; closed 2026-12-08; build \"a.partspec\" }",
        );
        let calendar = Calendar::of(&run, 9);
        let spans: Vec<(i64, i64)> = calendar.hours.iter().map(|h| (h.from_min, h.to_min)).collect();
        // What is over is left out, what touches is one; the tuesday is closed; the saturday, and the monday after.
        let day = 24 * 60;
        assert_eq!(
            spans,
            [(0, 360), (5 * day - 60, 5 * day), (7 * day - 120, 7 * day + 360), (8 * day - 120, 8 * day + 180)]
        );
        assert_eq!(calendar.moment(360).to_string(), "2026-12-07 15:00");
        assert_eq!(calendar.moment(-600).to_string(), "2026-12-06 23:00");
        assert_eq!(calendar.minutes("2026-12-08", 0), Some(15 * 60));
        assert_eq!(calendar.end_of("2026-12-07"), Some(360));
        assert_eq!(calendar.end_of("2026-12-08"), Some(day + 15 * 60));
    }
}
