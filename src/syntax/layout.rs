//! The canonical layout of specs, profiles and rules: what `makeready fmt` writes.
//!
//! Only space between words changes, so that a file says the same before and after; [`layout`] reads its own result
//! once more to be sure. Words, quantities, texts and comments stay as they were written:
//!
//! - two spaces for each block a statement lies in, one statement a line;
//! - within a block arguments begin ten columns after their keyword, so that a line more changes no other line;
//! - a block that was written on one line stays on one while the line is no longer than `WIDEST` columns;
//! - at most one empty line, none at the ends of a block; a comment behind a statement stays behind it.

use super::tree::{Block, Statement, Tree};
use crate::diag::{Report, SourceId};

/// Longest line that a block written on one line may make, columns.
const WIDEST: usize = 120;
/// Where arguments begin, columns from the keyword's first letter.
const ARGUMENTS: usize = 10;
/// Columns a block is set in by.
const STEP: usize = 2;

/// Returns a source text in its canonical layout; none with what is wrong if the text cannot be read whole.
pub fn layout(source: SourceId, text: &str) -> Report<String> {
    let read = super::parse(source, text);
    let Some(tree) = read.value.as_ref().filter(|_| !read.has_errors()) else {
        return Report { value: None, diagnostics: read.diagnostics };
    };
    let mut page = Page { text, out: String::with_capacity(text.len()) };
    let from = text.len() - text.trim_start_matches('\u{FEFF}').len();
    page.statements(&tree.statements, from..text.len(), 0);
    // A layout that said something else would be a fault of ours, and the text as it stands is then the better one.
    let same = super::parse(source, &page.out).value.is_some_and(|again| says_the_same(tree, &again));
    let laid_out = if same { page.out } else { text.to_owned() };
    Report { value: Some(laid_out), diagnostics: read.diagnostics }
}

/// Returns whether two trees say the same, wherever their words stand.
pub fn says_the_same(one: &Tree, other: &Tree) -> bool {
    one.without_places() == other.without_places()
}

/// A text being laid out: every line of `out` is ended.
struct Page<'t> {
    text: &'t str,
    out: String,
}

impl Page<'_> {
    /// Writes statements and the comments between them, which lie in `within`.
    fn statements(&mut self, statements: &[Statement], within: std::ops::Range<usize>, depth: usize) {
        let mut from = within.start;
        for statement in statements {
            let start = statement.keyword.span.start as usize;
            self.between(from..start, depth, false);
            self.statement(statement, depth);
            from = end(statement);
        }
        self.between(from..within.end, depth, true);
    }

    /// Writes what stands between two statements: comments, and where one was, an empty line.
    fn between(&mut self, gap: std::ops::Range<usize>, depth: usize, last: bool) {
        let gap = &self.text[gap];
        let mut line_ends = 0;
        let mut rest = gap;
        while let Some(c) = rest.chars().next() {
            if rest.starts_with("//") {
                let comment = &rest[..rest.find(['\n', '\r']).unwrap_or(rest.len())];
                self.comment(comment.trim_end(), line_ends, depth);
                rest = &rest[comment.len()..];
                line_ends = 0;
                continue;
            }
            if rest.starts_with("\r\n") {
                rest = &rest[1..];
                continue;
            }
            line_ends += usize::from(c == '\n' || c == '\r');
            rest = &rest[c.len_utf8()..];
        }
        if line_ends > 1 && !last {
            self.empty_line();
        }
    }

    fn comment(&mut self, comment: &str, line_ends: usize, depth: usize) {
        if line_ends == 0 && self.out.ends_with('\n') {
            self.out.pop();
            self.out.push_str("  ");
        } else {
            if line_ends > 1 {
                self.empty_line();
            }
            self.set_in(depth);
        }
        self.out.push_str(comment);
        self.out.push('\n');
    }

    /// An empty line, but none at the top of the file or of a block, and never two.
    fn empty_line(&mut self) {
        let opened = self.out.lines().last().is_none_or(|line| line.is_empty() || opens(line));
        if !opened {
            self.out.push('\n');
        }
    }

    fn set_in(&mut self, depth: usize) {
        self.out.extend(std::iter::repeat_n(' ', depth * STEP));
    }

    fn statement(&mut self, statement: &Statement, depth: usize) {
        let column = if depth == 0 { 0 } else { ARGUMENTS };
        if let Some(line) = self.on_one_line(statement, depth, column) {
            self.set_in(depth);
            self.out.push_str(&line);
            self.out.push('\n');
            return;
        }
        self.set_in(depth);
        // What is long is its block: behind a keyword that opens one, arguments follow at once.
        let head = self.head(statement, depth, 0);
        self.out.push_str(&head);
        if let Some(block) = &statement.block {
            self.out.push_str(" {\n");
            self.statements(&block.statements, inside(block), depth + 1);
            self.set_in(depth);
            self.out.push('}');
        }
        self.out.push('\n');
    }

    /// Returns a statement as one line, if it has no block or one that was written on one line and still fits.
    fn on_one_line(&self, statement: &Statement, depth: usize, column: usize) -> Option<String> {
        let head = self.head(statement, depth, column);
        let Some(block) = &statement.block else { return Some(head) };
        if self.text[inside(block)].contains(['\n', '\r']) {
            return None;
        }
        let mut line = head;
        let padding = column.saturating_sub(line.chars().count() + 1);
        if statement.arguments.is_empty() {
            line.extend(std::iter::repeat_n(' ', padding));
        }
        let within: Vec<String> =
            block.statements.iter().map(|inner| self.on_one_line(inner, depth, 0)).collect::<Option<_>>()?;
        line.push_str(&if within.is_empty() { " { }".to_owned() } else { format!(" {{ {} }}", within.join("; ")) });
        (line.chars().count() + depth * STEP <= WIDEST).then_some(line)
    }

    /// Returns keyword and arguments; the arguments begin at `column` or one space behind the keyword.
    fn head(&self, statement: &Statement, depth: usize, column: usize) -> String {
        let keyword = &statement.keyword;
        let arguments =
            self.text[keyword.span.end as usize..statement.head.end as usize].trim_start_matches([' ', '\t']);
        if arguments.is_empty() {
            return keyword.text.clone();
        }
        let mut line = keyword.text.clone();
        let padding = column.saturating_sub(line.chars().count()).max(1);
        line.extend(std::iter::repeat_n(' ', padding));
        // An argument that goes on in the next line goes on below the first.
        line.push_str(&spaced(arguments, depth * STEP + ARGUMENTS));
        line
    }
}

/// Returns whether a line ends with the brace that opens a block, a comment behind it or not.
fn opens(line: &str) -> bool {
    let code = line.split("  //").next().unwrap_or(line);
    code.trim_end().ends_with('{') && !code.trim_start().starts_with("//")
}

fn end(statement: &Statement) -> usize {
    statement.block.as_ref().map_or(statement.head.end, |block| block.span.end) as usize
}

/// Where the statements of a block stand: between its braces.
fn inside(block: &Block) -> std::ops::Range<usize> {
    block.span.start as usize + 1..(block.span.end as usize).saturating_sub(1).max(block.span.start as usize + 1)
}

/// Returns arguments with one space where there were several and lines set in by `continued` columns. Texts and
/// comments stay as they are; other kinds of space than blank and tab mean something to the grammar, and stay too.
fn spaced(arguments: &str, continued: usize) -> String {
    let mut out = String::with_capacity(arguments.len());
    let mut rest = arguments;
    while let Some(c) = rest.chars().next() {
        let taken = match c {
            '"' | '“' => text_length(rest, c),
            '/' if rest.starts_with("//") => rest.find(['\n', '\r']).unwrap_or(rest.len()),
            ' ' | '\t' => {
                let blank = rest.len() - rest.trim_start_matches([' ', '\t']).len();
                out.push(' ');
                rest = &rest[blank..];
                continue;
            }
            '\n' | '\r' => {
                out.truncate(out.trim_end_matches([' ', '\t']).len());
                out.push('\n');
                out.extend(std::iter::repeat_n(' ', continued));
                rest = rest.trim_start_matches([' ', '\t', '\n', '\r']);
                continue;
            }
            other => other.len_utf8(),
        };
        out.push_str(&rest[..taken]);
        rest = &rest[taken..];
    }
    out
}

/// Returns the length of the text in quotes that `rest` begins with.
fn text_length(rest: &str, opened: char) -> usize {
    let mut skipped = false;
    for (at, c) in rest.char_indices().skip(1) {
        if skipped {
            skipped = false;
        } else if opened == '"' && c == '\\' {
            skipped = true;
        } else if c == if opened == '"' { '"' } else { '”' } {
            return at + c.len_utf8();
        }
    }
    rest.len()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn laid(text: &str) -> String {
        let report = layout(SourceId(0), text);
        assert!(!report.has_errors(), "{:?}", report.diagnostics);
        report.value.unwrap()
    }

    #[test]
    fn a_crammed_spec_gets_a_line_a_statement() {
        let text =
            "part   \"a\"{mesh \"a.stl\" in mm;quantity 2 // two\n\n\n\n load \"x\" {force 5 N toward -z\n}\n\n}";
        let wanted = "part \"a\" {\n  mesh      \"a.stl\" in mm\n  quantity  2  // two\n\n  load \"x\" {\n    \
                      force     5 N toward -z\n  }\n}\n";
        assert_eq!(laid(text), wanted);
        assert_eq!(laid(wanted), wanted);
    }

    #[test]
    fn a_block_on_one_line_stays_there_while_it_fits() {
        let short = "part \"a\" {\n  service   { air 5 °C .. 30 °C; wet damp }\n}\n";
        assert_eq!(laid("part \"a\" {\nservice{air 5 °C .. 30 °C;wet damp;}\n}"), short);
        let long = format!("part \"a\" {{\n  service {{ air 5 °C .. 30 °C; colour \"{}\" }}\n}}\n", "x".repeat(100));
        let wanted = format!(
            "part \"a\" {{\n  service {{\n    air       5 °C .. 30 °C\n    colour    \"{}\"\n  }}\n}}\n",
            "x".repeat(100)
        );
        assert_eq!(laid(&long), wanted);
    }

    #[test]
    fn comments_stay_where_they_belong() {
        let text = "// top\n\n\n// second\nuse \"a.partspec\"\npart \"a\" {   // behind the brace\n\n  // own line\n  \
                    wall  at least   2 mm\n  // last\n\n}\n// end";
        let wanted = "// top\n\n// second\nuse \"a.partspec\"\npart \"a\" {  // behind the brace\n  // own line\n  \
                      wall      at least 2 mm\n  // last\n}\n// end\n";
        assert_eq!(laid(text), wanted);
    }

    #[test]
    fn texts_keep_their_spaces_and_arguments_go_on_below_the_first() {
        let text =
            "part \"a\" {\n purpose   \"two  spaces // no comment \\\" {\"\n prefer strength,   // first\n\n cost\n}";
        let wanted = "part \"a\" {\n  purpose   \"two  spaces // no comment \\\" {\"\n  prefer    strength, // first\n            \
                      cost\n}\n";
        assert_eq!(laid(text), wanted);
        assert_eq!(laid(wanted), wanted);
    }

    #[test]
    fn line_ends_and_the_mark_at_the_start_are_made_alike() {
        assert_eq!(laid("\u{FEFF}part \"a\" {\r\n\r\n\r\n wall 2 mm\r\n}\r\n"), "part \"a\" {\n  wall      2 mm\n}\n");
        assert_eq!(laid(""), "");
        assert_eq!(laid("part \"a\" { }"), "part \"a\" { }\n");
    }

    #[test]
    fn what_cannot_be_read_is_not_laid_out() {
        let report = layout(SourceId(0), "part \"a\" {\n wall 2 mm\n");
        assert!(report.value.is_none() && report.has_errors());
    }
}
