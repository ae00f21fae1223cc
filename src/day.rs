//! Days of the calendar as they are written in specs, shop files and tables: `2026-11-05`, and in no other form, so that
//! the order of the texts is the order of the days. No clock is ever read.

use jiff::civil::Date;

/// Returns whether a text is a day of the (proleptic Gregorian) calendar in the extended form of ISO 8601, `2026-11-05`.
pub fn is_day(text: &str) -> bool {
    day(text).is_some()
}

/// Returns the days from one day to another, negative where the second is the earlier, or none where either is no day.
pub fn days_between(from: &str, to: &str) -> Option<i64> {
    Some(day(from)?.duration_until(day(to)?).as_hours() / 24)
}

/// Returns the day so many days before another, or none where that is no day or the calendar ends.
pub fn days_before(day_text: &str, days: i64) -> Option<String> {
    let span = jiff::Span::new().try_days(days).ok()?;
    day(day_text)?.checked_sub(span).ok().map(|before| before.to_string()).filter(|text| is_day(text))
}

/// Returns the days so many days after another, or none where that is no day or the calendar ends.
pub fn days_after(day_text: &str, days: i64) -> Option<String> {
    let span = jiff::Span::new().try_days(days).ok()?;
    day(day_text)?.checked_add(span).ok().map(|after| after.to_string()).filter(|text| is_day(text))
}

/// Returns the day of the week, monday = 0, or none where it is no day.
pub fn weekday(day_text: &str) -> Option<u8> {
    u8::try_from(day(day_text)?.weekday().to_monday_zero_offset()).ok()
}

/// The crate reads more forms than ours (`20261105`, a time after the day, years before the first): what is written back
/// must be what was read.
fn day(text: &str) -> Option<Date> {
    text.parse().ok().filter(|day: &Date| day.year() > 0 && day.to_string() == text)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_are_counted_across_leap_years() {
        assert_eq!(days_between("2024-02-28", "2024-03-01"), Some(2));
        assert_eq!(days_between("2026-11-05", "2027-11-05"), Some(365));
        assert_eq!(days_between("2027-11-05", "2026-11-05"), Some(-365));
        assert_eq!(days_between("2026-11-05", "2026-11-05"), Some(0));
        // 400 years of the Gregorian calendar have 146 097 days.
        assert_eq!(days_between("1600-03-01", "2000-03-01"), Some(146_097));
        assert_eq!(days_between("2026-11-05", "soon"), None);
        assert_eq!(days_between("", "2026-11-05"), None);
    }

    #[test]
    fn days_are_counted_back() {
        assert_eq!(days_before("2026-12-12", 2).as_deref(), Some("2026-12-10"));
        assert_eq!(days_before("2028-03-01", 1).as_deref(), Some("2028-02-29"));
        assert_eq!(days_before("2026-12-12", 0).as_deref(), Some("2026-12-12"));
        assert_eq!(days_before("0001-01-01", 1), None);
        assert_eq!(days_before("2026-12-12", i64::MAX), None);
        assert_eq!(days_before("soon", 1), None);
    }

    #[test]
    fn days_of_the_week_begin_with_monday() {
        // 1 January 2000 was a saturday.
        assert_eq!(weekday("2000-01-01"), Some(5));
        assert_eq!(weekday("2026-12-07"), Some(0));
        assert_eq!(weekday("soon"), None);
        assert_eq!(days_after("2026-12-30", 3).as_deref(), Some("2027-01-02"));
        assert_eq!(days_after("9999-12-31", 1), None);
    }

    #[test]
    fn only_days_that_exist_in_the_one_form_are_days() {
        for good in ["2026-11-05", "2028-02-29", "2000-02-29", "0001-01-01", "9999-12-31"] {
            assert!(is_day(good), "{good}");
        }
        for none in ["2026-02-31", "2026-02-29", "1900-02-29", "2026-04-31", "2026-13-01", "2026-00-10", "2026-11-00"] {
            assert!(!is_day(none), "{none}");
        }
        for form in
            ["2026-9-5", "26-09-05", "20260905", "2026-09-05T10:00", " 2026-09-05", "-000001-09-05", "5.9.2026", ""]
        {
            assert!(!is_day(form), "{form}");
        }
    }
}
