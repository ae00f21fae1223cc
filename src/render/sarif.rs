//! Findings in the Static Analysis Results Interchange Format, OASIS SARIF 2.1.0, for what shows findings beside changed lines.

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;

use super::diagnostics::fitting;
use crate::diag::{Diagnostic, Label, Severity, Sources};

/// Where the standard's schema is to be found (OASIS SARIF 2.1.0, 3.13.3).
const SCHEMA: &str = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json";
/// The base that consumers put in place of the project's folder.
const ROOT: &str = "%SRCROOT%";
/// Digits of the mark by which a finding is known again when lines move.
const MARK: usize = 16;

/// Returns a SARIF log of one run: a rule for each code, a result for each finding, its first place as the location and the
/// others as related ones, hints after the message.
///
/// Paths are those of the project, lines and columns count from 1, columns in characters.
pub fn sarif(diagnostics: &[Diagnostic], sources: &Sources) -> String {
    let rules: Vec<&str> = diagnostics.iter().map(|d| d.code).collect::<BTreeSet<_>>().into_iter().collect();
    let mut alike = BTreeMap::new();
    let results = diagnostics.iter().map(|d| {
        let at = rules.binary_search(&d.code).unwrap_or_default();
        Finding::of(d, at, sources, &mut alike)
    });
    let log = Log {
        schema: SCHEMA,
        version: "2.1.0",
        runs: [Run {
            results: results.collect(),
            tool: Tool {
                driver: Driver {
                    name: "makeready",
                    semantic_version: env!("CARGO_PKG_VERSION"),
                    rules: rules.iter().map(|id| Rule { id }).collect(),
                },
            },
            column_kind: "unicodeCodePoints",
        }],
    };
    // Strings and numbers alone: serialising them cannot fail.
    serde_json::to_string_pretty(&log).unwrap_or_default() + "\n"
}

#[derive(Serialize)]
struct Log<'a> {
    #[serde(rename = "$schema")]
    schema: &'static str,
    version: &'static str,
    runs: [Run<'a>; 1],
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Run<'a> {
    tool: Tool<'a>,
    column_kind: &'static str,
    results: Vec<Finding<'a>>,
}

#[derive(Serialize)]
struct Tool<'a> {
    driver: Driver<'a>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Driver<'a> {
    name: &'static str,
    semantic_version: &'static str,
    rules: Vec<Rule<'a>>,
}

#[derive(Serialize)]
struct Rule<'a> {
    id: &'a &'a str,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Finding<'a> {
    rule_id: &'a str,
    rule_index: usize,
    level: &'static str,
    message: Text,
    locations: Vec<Location>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    related_locations: Vec<Location>,
    partial_fingerprints: BTreeMap<&'static str, String>,
}

#[derive(Serialize)]
struct Text {
    text: String,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Location {
    physical_location: Physical,
    #[serde(skip_serializing_if = "Option::is_none")]
    message: Option<Text>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Physical {
    artifact_location: Artifact,
    region: Region,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Artifact {
    uri: String,
    uri_base_id: &'static str,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Region {
    start_line: usize,
    start_column: usize,
    end_line: usize,
    end_column: usize,
}

impl<'a> Finding<'a> {
    fn of(d: &'a Diagnostic, rule_index: usize, sources: &Sources, alike: &mut BTreeMap<String, usize>) -> Self {
        let level = match d.severity {
            Severity::Error => "error",
            Severity::Warning => "warning",
            Severity::Note => "note",
        };
        let hints: String = d.hints.iter().map(|hint| format!("\nHint: {hint}")).collect();
        let mut places = d.labels.iter().filter_map(|label| Location::of(label, sources));
        let first = places.next();
        let mark = known_by(d, sources);
        let nth = alike.entry(mark.clone()).and_modify(|n| *n += 1).or_insert(1);
        Self {
            rule_id: d.code,
            rule_index,
            level,
            message: Text { text: format!("{}{hints}", d.message) },
            locations: first.into_iter().collect(),
            related_locations: places.collect(),
            partial_fingerprints: BTreeMap::from([("codeFileAndLine/v1", format!("{mark}:{nth}"))]),
        }
    }
}

/// The same for a finding whose line has only moved.
fn known_by(d: &Diagnostic, sources: &Sources) -> String {
    let mut told = blake3::Hasher::new();
    told.update(d.code.as_bytes());
    if let Some((label, source)) = d.labels.first().and_then(|label| Some((label, sources.get(label.span.source)?))) {
        let at = fitting(label.span, &source.text).start;
        let begin = source.text.get(..at).and_then(|before| before.rfind('\n')).map_or(0, |line| line + 1);
        let line = source.text.get(begin..).and_then(|rest| rest.lines().next()).unwrap_or_default();
        for part in ["\n", &source.name, "\n", line.trim()] {
            told.update(part.as_bytes());
        }
    } else {
        told.update(d.message.as_bytes());
    }
    told.finalize().to_hex().chars().take(MARK).collect()
}

impl Location {
    fn of(label: &Label, sources: &Sources) -> Option<Self> {
        let source = sources.get(label.span.source)?;
        let range = fitting(label.span, &source.text);
        let (start_line, start_column) = source.line_column(range.start as u32);
        let (end_line, end_column) = source.line_column(range.end as u32);
        let message = (!label.text.is_empty()).then(|| Text { text: label.text.clone() });
        Some(Self {
            physical_location: Physical {
                artifact_location: Artifact { uri: uri(&source.name), uri_base_id: ROOT },
                region: Region { start_line, start_column, end_line, end_column },
            },
            message,
        })
    }
}

/// A path as a relative reference (RFC 3986, 4.2): all but unreserved characters and `/` by their bytes.
fn uri(path: &str) -> String {
    let kept = |byte: u8| byte.is_ascii_alphanumeric() || b"-._~/".contains(&byte);
    path.bytes().map(|byte| if kept(byte) { char::from(byte).to_string() } else { format!("%{byte:02X}") }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn paths_are_references() {
        assert_eq!(uri("jobs/hut 1/größe.partspec"), "jobs/hut%201/gr%C3%B6%C3%9Fe.partspec");
    }
}
