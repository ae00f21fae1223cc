//! Breaks the long lines of a Markdown page, so that it reads on paper and in a diff as it stands.

/// The widest a line of running text becomes, in characters.
const WIDTH: usize = 100;
/// A code span longer than this is broken like any text.
const LONGEST_CODE: usize = 72;

/// Returns the page with paragraphs and list items broken at blanks; tables, headings and code stay as they are.
///
/// A break never changes what a Markdown reader sees: it is not put before a word that would open a block, nor
/// between a number and its unit.
pub fn wrap(markdown: &str) -> String {
    let mut out = String::with_capacity(markdown.len() + markdown.len() / 32);
    let mut fenced = false;
    for line in markdown.lines() {
        let fence = line.trim_start().starts_with("```");
        fenced ^= fence;
        if fence || fenced || line.chars().count() <= WIDTH || stays_whole(line) {
            out.push_str(line);
        } else {
            break_line(line, &mut out);
        }
        out.push('\n');
    }
    out
}

fn stays_whole(line: &str) -> bool {
    let start = line.trim_start();
    start.starts_with('|') || start.starts_with('#') || start.starts_with("![") || line.starts_with("    ")
}

fn break_line(line: &str, out: &mut String) {
    let (head, indent) = hanging(line);
    out.push_str(&line[..head]);
    let mut column = line[..head].chars().count();
    for (i, piece) in pieces(&line[head..]).iter().enumerate() {
        let width = piece.chars().count();
        if i > 0 && column + 1 + width > WIDTH {
            out.push('\n');
            out.push_str(&" ".repeat(indent));
            column = indent;
        } else if i > 0 {
            out.push(' ');
            column += 1;
        }
        out.push_str(piece);
        column += width;
    }
}

/// Returns the text in pieces between which it may be broken: mostly words.
fn pieces(text: &str) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    // Whether the words stand in a code span, which is there to be copied whole, unless it fills more than a line.
    let mut in_code = false;
    let mut before = "";
    for word in text.split(' ') {
        match out.last_mut() {
            Some(last) if (in_code && last.len() < LONGEST_CODE) || !may_break(before, word) => {
                last.push(' ');
                last.push_str(word);
            }
            _ => out.push(word.to_owned()),
        }
        in_code ^= word.matches('`').count() % 2 == 1 && !word.contains("\\`");
        before = word;
    }
    out
}

/// Returns the bytes of the line's list mark (with its box), and how far continued lines are indented to belong to it.
fn hanging(line: &str) -> (usize, usize) {
    let blanks = line.len() - line.trim_start_matches(' ').len();
    let rest = &line[blanks..];
    let mark = if rest.starts_with("- ") {
        2
    } else {
        let digits = rest.len() - rest.trim_start_matches(|c: char| c.is_ascii_digit()).len();
        if digits > 0 && rest[digits..].starts_with(". ") { digits + 2 } else { 0 }
    };
    let boxed = if rest[mark..].starts_with("[ ] ") { 4 } else { 0 };
    (blanks + mark + boxed, blanks + mark)
}

fn may_break(before: &str, word: &str) -> bool {
    let opens_block = word.starts_with(['-', '+', '*', '#', '>', '|', '=', '_', '`', '~', '<', ':'])
        || (word.starts_with(|c: char| c.is_ascii_digit()) && word.ends_with(['.', ')']));
    // `rule` and the name behind it are one word to the eye.
    let names_rule = before.trim_start_matches(['*', '(']) == "rule";
    // A backslash at the end of a line would be a hard break.
    !opens_block
        && !names_rule
        && !word.is_empty()
        && !before.ends_with('\\')
        && !before.ends_with(|c: char| c.is_ascii_digit())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use pulldown_cmark::{Options, Parser, html};

    #[test]
    fn items_hang_and_tables_stay() {
        let long = "word ".repeat(30);
        let page = format!("- [ ] {long}\n| {long} |\n");
        let wrapped = wrap(&page);
        assert!(wrapped.lines().any(|l| l.starts_with("  word")));
        assert!(wrapped.lines().any(|l| l.starts_with('|') && l.chars().count() > WIDTH));
    }

    #[test]
    fn a_number_keeps_its_unit() {
        let page = format!("{} 250 °C and more\n", "x".repeat(95));
        assert!(wrap(&page).contains("250 °C"), "{}", wrap(&page));
    }

    fn as_html(markdown: &str) -> String {
        let mut out = String::new();
        html::push_html(&mut out, Parser::new_ext(markdown, Options::ENABLE_TABLES | Options::ENABLE_TASKLISTS));
        out.split_whitespace().collect::<Vec<_>>().join(" ")
    }

    proptest! {
        #[test]
        fn wrapping_changes_no_meaning(
            head in prop::sample::select(vec!["", "- ", "- [ ] ", "3. ", "  - "]),
            words in prop::collection::vec("[a-z0-9.)(*#>+_-]{1,12}", 8..60),
        ) {
            let text = words.iter().map(|w| super::super::inline::inline(w)).collect::<Vec<_>>().join(" ");
            let page = format!("- a\n\n{head}{text}\n");
            prop_assert_eq!(as_html(&wrap(&page)), as_html(&page));
        }
    }
}
