//! Numbers as text, as every recipe and message writes them.

/// Formats a number with at most `decimals` decimals, without trailing zeros and without a negative zero.
pub fn trim_number(value: f64, decimals: usize) -> String {
    // Most numbers of a recipe are whole, and finding their exact decimals is the slow way to say so.
    if value.fract() == 0.0 && value.abs() < 1e15 {
        return (value as i64).to_string();
    }
    let mut text = format!("{value:.decimals$}");
    if text.contains('.') {
        text.truncate(text.trim_end_matches('0').trim_end_matches('.').len());
    }
    if text == "-0" { "0".to_owned() } else { text }
}

/// Formats to about four significant figures, the house precision of reasons.
pub fn significant(value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        return if value == 0.0 { "0".to_owned() } else { value.to_string() };
    }
    let magnitude = value.abs().log10().floor();
    if magnitude >= 7.0 || magnitude <= -5.0 {
        return format!("{value:.3e}");
    }
    trim_number(value, (3.0 - magnitude).max(0.0) as usize)
}
