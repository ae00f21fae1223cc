//! Text from outside (names, reasons, notes) made fit to stand anywhere in a Markdown page.

/// Returns the text on one line with everything escaped that Markdown would read as a mark of its own: also the bar,
/// so that the same text stands in a table cell or in a sentence.
///
/// Words between backticks, as our own messages have them, become code spans: within those Markdown reads no marks.
///
/// A line-leading mark (`#`, `-`, `1.` ...) is escaped too, because a text may stand first in a list item.
pub fn inline(text: &str) -> String {
    let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let pieces: Vec<&str> = flat.split('`').collect();
    // Pairs alone, each around something, and no bar within (a table would need it escaped, a sentence would not).
    let code = |i: usize| i % 2 == 1;
    let paired = pieces.len() % 2 == 1
        && pieces.iter().enumerate().all(|(i, p)| !code(i) || !(p.trim().is_empty() || p.contains('|')))
        && pieces.iter().enumerate().all(|(i, p)| code(i) || !p.is_empty() || i == 0 || i + 1 == pieces.len());
    if !paired {
        return escaped(&flat);
    }
    let span = |p: &str| format!("`{}`", p.replace(char::is_control, "\u{fffd}"));
    pieces.iter().enumerate().map(|(i, p)| if code(i) { span(p) } else { escaped(p) }).collect()
}

fn escaped(flat: &str) -> String {
    let mut out = String::with_capacity(flat.len() + 8);
    let mut before: Option<char> = None;
    let mut rest = flat.chars().peekable();
    let leading = leading_mark(flat);
    let mut at = 0;
    while let Some(c) = rest.next() {
        let next = rest.peek().copied();
        if leading == Some(at) || is_mark(c, before, next) {
            out.push('\\');
        }
        // Control characters have no place on paper.
        out.push(if c.is_control() { '\u{fffd}' } else { c });
        before = Some(c);
        at += 1;
    }
    out
}

/// Returns whether Markdown could take the character for a mark where it stands.
fn is_mark(c: char, before: Option<char>, next: Option<char>) -> bool {
    match c {
        '\\' | '`' | '*' | '[' | ']' | '<' | '|' | '~' => true,
        // An underscore inside a word is left alone by CommonMark; escaping it would only make names hard to read.
        '_' => !(before.is_some_and(char::is_alphanumeric) && next.is_some_and(char::is_alphanumeric)),
        '&' => next.is_some_and(|n| n.is_ascii_alphabetic() || n == '#'),
        _ => false,
    }
}

/// Returns the index (in characters) of a mark that would open a block at the start of a line.
fn leading_mark(text: &str) -> Option<usize> {
    match text.chars().next()? {
        // `-5 °C` is no list item.
        '-' | '+' if text.chars().nth(1).is_some_and(char::is_alphanumeric) => None,
        '#' | '>' | '+' | '-' | '=' => Some(0),
        c if c.is_ascii_digit() => {
            let digits = text.chars().take_while(char::is_ascii_digit).count();
            matches!(text.chars().nth(digits), Some('.' | ')')).then_some(digits)
        }
        _ => None,
    }
    // `5.5 mm` opens no list: the mark needs a blank, or the end, behind it.
    .filter(|&i| i == 0 || text.chars().nth(i + 1).is_none_or(char::is_whitespace))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use pulldown_cmark::{Event, Options, Parser, Tag};

    #[test]
    fn ordinary_text_stays_as_it_is() {
        for text in
            ["-5 °C", "the part reaches 71 °C", "5.5 mm clearance", "asa-black-1", "wall_plate", "A & B", "8 mm H9/h6"]
        {
            assert_eq!(inline(text), text);
        }
    }

    #[test]
    fn marks_are_escaped() {
        assert_eq!(inline("a | b\nc"), r"a \| b c");
        assert_eq!(inline("# not a head"), r"\# not a head");
        assert_eq!(inline("- 5 °C"), r"\- 5 °C");
        assert_eq!(inline("3. then"), r"3\. then");
        assert_eq!(inline("<b>&lt;"), r"\<b>\&lt;");
        assert_eq!(inline("![x](y)"), r"!\[x\](y)");
    }

    #[test]
    fn words_between_backticks_are_code() {
        assert_eq!(inline("write `size 3 mm x *` or `a<b`, then"), "write `size 3 mm x *` or `a<b`, then");
        assert_eq!(inline("a ` b"), r"a \` b");
        assert_eq!(inline("`a|b`"), r"\`a\|b\`");
        assert_eq!(inline("``"), r"\`\`");
    }

    /// Returns the plain text a Markdown reader sees, or `None` where it sees anything but plain text.
    fn read_back(markdown: &str, options: Options) -> Option<String> {
        let mut text = String::new();
        for event in Parser::new_ext(markdown, options) {
            match event {
                Event::Text(t) => text.push_str(&t),
                Event::Start(
                    Tag::Paragraph | Tag::List(_) | Tag::Item | Tag::Table(_) | Tag::TableHead | Tag::TableRow,
                )
                | Event::Start(Tag::TableCell)
                | Event::End(_) => {}
                _ => return None,
            }
        }
        Some(text)
    }

    proptest! {
        /// CommonMark with the common extensions reads back exactly the words that went in: as a paragraph, as a list
        /// item, and in a table cell.
        #[test]
        fn a_reader_sees_the_words_and_nothing_else(text in "[a-c0-2 #>+=|*_~<>&;!\\[\\]()\\\\.:/\"'$^{}-]{1,24}") {
            let options = Options::ENABLE_TABLES | Options::ENABLE_TASKLISTS | Options::ENABLE_STRIKETHROUGH;
            let plain = text.split_whitespace().collect::<Vec<_>>().join(" ");
            prop_assume!(!plain.is_empty());
            let out = inline(&text);
            prop_assert_eq!(read_back(&out, options), Some(plain.clone()));
            prop_assert_eq!(read_back(&format!("- {out}\n"), options), Some(plain.clone()));
            // Code is code, whatever stands in it; and it stands where it stood.
            let spanned = format!("x `{plain}` y `z");
            let alone = inline(&format!("x `{plain}` y"));
            prop_assert!(plain.contains('|') || Parser::new(&alone).any(|e| e == Event::Code(plain.as_str().into())));
            prop_assert_eq!(read_back(&inline(&spanned), options), Some(spanned));
            prop_assert_eq!(read_back(&format!("| h |\n|---|\n| {out} |\n"), options), Some(format!("h{plain}")));
        }
    }
}
