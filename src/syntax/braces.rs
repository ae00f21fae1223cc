//! Blocks whose closing brace was lost, found by how far lines are set in: a line no deeper than the one that opened a block
//! stands behind it. So the block that lost its brace is blamed, and what follows is read as it was meant.

use std::ops::Range;

/// A block that lost its closing brace.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Lost {
    /// Its opening brace.
    pub open: usize,
    /// Where the first statement behind it begins; the end of the text where none does.
    pub behind: usize,
    /// How its own line is set in.
    pub indent: String,
}

/// A text with the braces put in that it lost, and where it is longer for that.
#[derive(Debug, Default)]
pub(super) struct Mended {
    pub text: String,
    /// Where in the text as it was something was put in, and how many bytes.
    put_in: Vec<(usize, usize)>,
}

impl Mended {
    /// Returns the place in the text as it was that a place in this one stands for.
    pub(super) fn original(&self, at: usize) -> usize {
        let mut longer = 0;
        for (place, bytes) in &self.put_in {
            if at < place + longer {
                break;
            }
            if at < place + longer + bytes {
                return *place;
            }
            longer += bytes;
        }
        at - longer
    }
}

/// A block that is open while a text is looked over.
struct Open {
    brace: usize,
    line: usize,
    indent: Range<usize>,
    /// How far its first line is set in; unknown where it has none of its own.
    inside: Option<usize>,
}

/// Returns the blocks that lost their braces, in the order in which they end; none where lines are not set in so that it can be told.
pub(super) fn lost(text: &str) -> Vec<Lost> {
    let mut open: Vec<Open> = Vec::new();
    let mut lost: Vec<Lost> = Vec::new();
    let mut at = 0;
    for (number, line) in text.split_inclusive('\n').enumerate() {
        let start = at;
        at += line.len();
        let content = line.trim_start_matches([' ', '\t', '\u{FEFF}']);
        if content.trim().is_empty() || content.starts_with("//") {
            continue;
        }
        let indent = start..start + (line.len() - content.len());
        let depth = indent.len();
        let closes = content.starts_with('}');
        while let Some(top) = open.last().filter(|top| top.line < number) {
            // A brace belongs to the block whose line is set in as far; one that fits none is left to the parser.
            let fits_an_outer = open.iter().rev().skip(1).any(|outer| outer.indent.len() == depth);
            let behind = if closes { depth < top.indent.len() && fits_an_outer } else { depth <= top.indent.len() };
            if !behind {
                break;
            }
            if top.inside.is_none_or(|inside| inside <= top.indent.len()) {
                // Its lines are not set in: nothing can be told by that.
                return Vec::new();
            }
            let indent = text.get(top.indent.clone()).unwrap_or("").trim_start_matches('\u{FEFF}').to_owned();
            lost.push(Lost { open: top.brace, behind: start + depth, indent });
            open.pop();
        }
        if let Some(top) = open.last_mut().filter(|top| top.line < number && top.inside.is_none() && !closes) {
            top.inside = Some(depth);
        }
        for (brace, opens) in braces(content) {
            if opens {
                open.push(Open { brace: start + depth + brace, line: number, indent: indent.clone(), inside: None });
            } else {
                open.pop();
            }
        }
    }
    let end = text.len();
    lost.extend(open.iter().rev().map(|top| Lost { open: top.brace, behind: end, indent: String::new() }));
    lost
}

/// Returns the braces of a line, those in texts and comments left out, and whether each opens.
fn braces(line: &str) -> Vec<(usize, bool)> {
    let mut found = Vec::new();
    let (mut in_text, mut escaped) = (false, false);
    let mut chars = line.char_indices().peekable();
    while let Some((at, c)) = chars.next() {
        match c {
            _ if escaped => escaped = false,
            '\\' if in_text => escaped = true,
            '"' => in_text = !in_text,
            _ if in_text => {}
            '/' if chars.peek().is_some_and(|(_, next)| *next == '/') => break,
            '{' => found.push((at, true)),
            '}' => found.push((at, false)),
            _ => {}
        }
    }
    found
}

/// Puts in the braces that blocks lost.
pub(super) fn mended(text: &str, lost: &[Lost]) -> Mended {
    let mut mended = Mended { text: String::with_capacity(text.len() + 2 * lost.len()), put_in: Vec::new() };
    let mut from = 0;
    for group in lost.chunk_by(|a, b| a.behind == b.behind) {
        let Some(place) = group.first().map(|l| l.behind) else { continue };
        mended.text.push_str(text.get(from..place).unwrap_or(""));
        // At the end of the text a comment may stand before it.
        let braces = "}".repeat(group.len());
        let put_in = if place == text.len() { format!("\n{braces}") } else { format!("{braces};") };
        mended.text.push_str(&put_in);
        mended.put_in.push((place, put_in.len()));
        from = place;
    }
    mended.text.push_str(text.get(from..).unwrap_or(""));
    mended
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_inner_block_is_the_one_that_lost_its_brace() {
        let text = "part \"a\" {\n  service {\n    air 5 °C .. 30 °C\n  quantity 2 // {\n  load \"x\" { force 3 N toward -z\n    held 2 days\n  wall 2 mm\n}\n";
        let found = lost(text);
        let told: Vec<(&str, &str)> = found
            .iter()
            .map(|l| (text[..l.open].rsplit('\n').next().unwrap().trim(), text[l.behind..].split(' ').next().unwrap()))
            .collect();
        assert_eq!(told, [("service", "quantity"), ("load \"x\"", "wall")]);
        let mended = mended(text, &found);
        assert!(mended.text.contains("\n  };quantity 2"), "{}", mended.text);
        for word in ["air", "quantity", "held", "wall 2"] {
            let there = mended.text.find(word).unwrap();
            assert_eq!(mended.original(there), text.find(word).unwrap(), "{word}");
        }
    }

    #[test]
    fn a_brace_of_an_outer_block_closes_the_inner_one_with_it() {
        let text = "part \"a\" {\n  service {\n    sun none\n}\npart \"b\" { quantity 1 }\n";
        let found = lost(text);
        assert_eq!(found.len(), 1);
        assert_eq!(
            (&text[found[0].open - 8..found[0].open], found[0].behind),
            ("service ", text.find("}\npart").unwrap())
        );
        assert!(lost("part \"a\" {\n  wall 2 mm\n").len() == 1);
    }

    #[test]
    fn what_is_not_set_in_tells_nothing() {
        assert_eq!(lost("part \"a\" {\nservice {\nsun none\nquantity 2\n}\n"), []);
        assert_eq!(lost("part \"a\" { service { sun none }\n  quantity 2\n}\n"), []);
    }
}
