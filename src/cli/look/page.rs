//! What can be asked of the page's server, and the answers.

use super::state::Shown;

/// An answer as it is sent.
pub(super) struct Answer {
    pub code: u16,
    pub kind: &'static str,
    pub body: Vec<u8>,
}

impl Answer {
    fn of(kind: &'static str, body: impl Into<Vec<u8>>) -> Self {
        Self { code: 200, kind, body: body.into() }
    }

    /// Returns an answer that says nothing but that there is none.
    pub(super) fn refused(code: u16) -> Self {
        Self { code, kind: "text/plain; charset=utf-8", body: Vec::new() }
    }
}

const PAGE: &str = include_str!("../../../recipes/templates/look.html");
const SCRIPT: &str = include_str!("../../../recipes/templates/look.js");
const STYLE: &str = include_str!("../../../recipes/templates/look.css");

/// Answers an address; whatever is not in this list is not there.
pub(super) fn answer(address: &str, shown: &Shown) -> Answer {
    let (path, query) = address.split_once('?').unwrap_or((address, ""));
    let json = |value: &serde_json::Value| Answer::of("application/json; charset=utf-8", value.to_string());
    let number = |name: &str| value_of(query, name).and_then(|v| v.parse::<f64>().ok());
    match path {
        "/" => Answer::of("text/html; charset=utf-8", PAGE),
        "/look.js" => Answer::of("text/javascript; charset=utf-8", SCRIPT),
        "/look.css" => Answer::of("text/css; charset=utf-8", STYLE),
        "/state" => json(&shown.state()),
        "/wait" => json(&shown.wait(number("since").unwrap_or(0.0) as u64)),
        "/numbers" => json(&shown.numbers()),
        "/mesh" => match shown.mesh(number("part").unwrap_or(0.0) as usize) {
            Some(bytes) => Answer::of("application/octet-stream", bytes),
            None => Answer::refused(404),
        },
        "/suppose" => match number("number").zip(number("value")) {
            Some((which, value)) => json(&shown.suppose(which as usize, value)),
            None => Answer::refused(400),
        },
        _ => Answer::refused(404),
    }
}

/// Returns a value of a query; numbers alone are asked for, so that nothing needs decoding.
fn value_of<'q>(query: &'q str, name: &str) -> Option<&'q str> {
    query.split('&').filter_map(|pair| pair.split_once('=')).find(|(n, _)| *n == name).map(|(_, v)| v)
}
