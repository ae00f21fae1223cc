//! The planner against instances whose best answer is proven, and relations that hold of every answer.

mod order;
mod plates;
mod run;
mod sampling;
mod spools;
mod start;

use proptest::test_runner::Config;
use serde_json::Value;

/// So many cases, none of them written down.
fn cases(n: u32) -> Config {
    Config { cases: n, failure_persistence: None, ..Config::default() }
}

/// The instances of a file of truths (`truths/README.md` says what each means and how it was proven).
fn instances(text: &str) -> Vec<Value> {
    serde_json::from_str(text).unwrap()
}

/// Reads a number that stands as one, as a decimal or as a fraction.
fn number(value: &Value) -> f64 {
    match value {
        Value::String(text) => match text.split_once('/') {
            Some((over, under)) => over.parse::<f64>().unwrap() / under.parse::<f64>().unwrap(),
            None => text.parse().unwrap(),
        },
        other => other.as_f64().unwrap_or_else(|| panic!("{other}")),
    }
}

fn whole(value: &Value) -> u64 {
    value.as_u64().unwrap_or_else(|| panic!("{value}"))
}
