//! The index of the case book, a row a job.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

/// One job and what is expected of its recipe.
pub struct Row {
    pub id: String,
    pub spec: String,
    pub part: String,
    pub shop: String,
    fields: BTreeMap<String, String>,
}

impl Row {
    /// The alternatives of a column; none where it is empty.
    pub fn any_of(&self, column: &str) -> Vec<&str> {
        self.fields[column].split('|').filter(|w| !w.is_empty()).collect()
    }

    /// The further checks.
    pub fn checks(&self) -> impl Iterator<Item = &str> {
        self.fields["checks"].split(" ; ").map(str::trim).filter(|c| !c.is_empty())
    }
}

/// Reads `index.csv` of a folder.
pub fn rows(folder: &Path) -> Vec<Row> {
    let text = fs::read_to_string(folder.join("index.csv")).unwrap();
    let mut lines = text.lines();
    let head = fields(lines.next().unwrap());
    let row = |line: &str| {
        let fields: BTreeMap<String, String> = head.iter().cloned().zip(fields(line)).collect();
        assert_eq!(fields.len(), head.len(), "{line}");
        let of = |column: &str| fields[column].clone();
        Row { id: of("id"), spec: of("spec"), part: of("part"), shop: of("shop"), fields }
    };
    lines.filter(|l| !l.is_empty()).map(row).collect()
}

/// The fields of a line of comma-separated values; a quoted one may hold commas.
fn fields(line: &str) -> Vec<String> {
    let mut all = vec![String::new()];
    let mut quoted = false;
    for c in line.chars() {
        match c {
            '"' => quoted = !quoted,
            ',' if !quoted => all.push(String::new()),
            c => all.last_mut().unwrap().push(c),
        }
    }
    all
}
