//! The recipe page as one HTML file that needs nothing beside it, and that prints well in black on white.

use pulldown_cmark::{CowStr, Event, Options, Parser, Tag, TagEnd, TextMergeStream, html};

use super::sheet::BLANK;

/// One recipe page: its Markdown, and the SVG picture that takes the place of the linked one.
#[derive(Debug, Clone)]
pub struct Sheet {
    /// As [`super::markdown::markdown`] gives it.
    pub markdown: String,
    /// `None` keeps what the Markdown links to.
    pub picture: Option<String>,
    /// Part and revision, for the foot of every sheet of paper.
    pub running: String,
}

const STYLE: &str = include_str!("../../recipes/templates/recipe.css");

/// Some sheets of paper: Markdown, and the pictures that take the places of those it links to.
#[derive(Debug, Clone, Default)]
pub struct Leaf {
    /// As a template gives it.
    pub markdown: String,
    /// By link: the class it is shown in, and the SVG.
    pub pictures: Vec<(String, &'static str, String)>,
}

/// Returns one page for all leaves, laid out as the sheet is and further by `style`.
pub fn leaves(title: &str, style: &str, leaves: &[Leaf]) -> String {
    let mut body = String::new();
    for leaf in leaves {
        body.push_str("<article>\n");
        push(&mut body, &leaf.markdown, &|link| {
            let (_, class, svg) = leaf.pictures.iter().find(|(of, ..)| of == link)?;
            Some((*class, svg.as_str()))
        });
        body.push_str("</article>\n");
    }
    whole(title, style, &body)
}

/// Returns one page for all the sheets, each beginning on a new leaf when printed.
pub fn page(title: &str, sheets: &[Sheet]) -> String {
    let mut body = String::new();
    let mut style = String::new();
    for (i, sheet) in sheets.iter().enumerate() {
        style.push_str(&foot(i, &sheet.running));
        body.push_str(&format!("<article class=\"part-{i}\">\n"));
        push_sheet(&mut body, sheet);
        body.push_str("</article>\n");
    }
    whole(title, &style, &body)
}

/// The foot of one part's sheets: its name and the number of the page. Letters and figures alone, for it stands in a style.
fn foot(i: usize, running: &str) -> String {
    let plain: String = running.chars().filter(|c| c.is_alphanumeric() || " -.,_".contains(*c)).collect();
    format!(
        "@page part-{i} {{ @bottom-left {{ content: \"{plain}\"; font: 8pt sans-serif; }}\n  \
         @bottom-right {{ content: \"page \" counter(page) \" of \" counter(pages); font: 8pt sans-serif; }} }}\n\
         .part-{i} {{ page: part-{i}; }}\n"
    )
}

/// Returns a sheet as a piece of a page, without head and style.
pub fn fragment(sheet: &Sheet) -> String {
    let mut out = String::new();
    push_sheet(&mut out, sheet);
    out
}

fn whole(title: &str, style: &str, body: &str) -> String {
    let title = escaped(title);
    format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <title>{title}</title>\n<style>\n{STYLE}{style}</style>\n</head>\n<body>\n{body}</body>\n</html>\n"
    )
}

fn push_sheet(out: &mut String, sheet: &Sheet) {
    push(out, &sheet.markdown, &|_| sheet.picture.as_deref().map(|svg| ("", svg)));
}

/// Writes Markdown as HTML; `picture` gives the class and the SVG for a link, or nothing where the link is kept.
fn push<'s>(out: &mut String, markdown: &str, picture: &dyn Fn(&str) -> Option<(&'static str, &'s str)>) {
    // Merged, because the reader hands over a run of underscores apart from the words around it.
    let options = Options::ENABLE_TABLES | Options::ENABLE_TASKLISTS;
    let parser = TextMergeStream::new(Parser::new_ext(markdown, options));
    let mut in_picture = false;
    let events = parser.filter_map(|event| match event {
        Event::Start(Tag::Image { dest_url, .. }) if picture(&dest_url).is_some() => {
            in_picture = true;
            let (class, svg) = picture(&dest_url).unwrap_or_default();
            let class = format!("picture {class}");
            Some(Event::Html(CowStr::from(format!("<span class=\"{}\">{}</span>", class.trim(), bare(svg)))))
        }
        Event::End(TagEnd::Image) if in_picture => {
            in_picture = false;
            None
        }
        // The picture's other text: the SVG has a title of its own.
        _ if in_picture => None,
        // A box that can be ticked on a screen and with a pen.
        Event::TaskListMarker(_) => Some(Event::InlineHtml(CowStr::from("<input type=\"checkbox\"> "))),
        Event::Text(text) => Some(Event::InlineHtml(CowStr::from(blanks(&with_units(&text))))),
        // A page is made from people's words; markup among them is shown, never obeyed.
        Event::Html(raw) | Event::InlineHtml(raw) => Some(Event::Text(raw)),
        other => Some(other),
    });
    html::push_html(out, events);
}

/// Returns the SVG without the declaration that only a file of its own may have.
fn bare(svg: &str) -> &str {
    svg.find("<svg").and_then(|i| svg.get(i..)).unwrap_or("")
}

/// A number and its unit never stand on two lines: the blank between them becomes one that does not break.
fn with_units(text: &str) -> String {
    let mut before = None;
    text.chars()
        .map(|c| {
            let tied = c == ' ' && before.is_some_and(|b: char| b.is_ascii_digit() || b == '±');
            before = Some(c);
            if tied { '\u{a0}' } else { c }
        })
        .collect()
}

fn blanks(text: &str) -> String {
    escaped(text).replace(BLANK, "<span class=\"blank\"></span>")
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(markdown: &str, picture: Option<&str>) -> String {
        page(
            "a \"b\"",
            &[Sheet {
                markdown: markdown.to_owned(),
                picture: picture.map(str::to_owned),
                running: "hook, revision B".to_owned(),
            }],
        )
    }

    #[test]
    fn every_sheet_of_paper_names_its_part_and_its_number() {
        let sheet = |running: &str| Sheet { markdown: "x\n".to_owned(), picture: None, running: running.to_owned() };
        let page = page("two", &[sheet("hook, revision B"), sheet("peg\"; } body { color: red")]);
        assert!(page.contains("@page part-0 { @bottom-left { content: \"hook, revision B\";"), "{page}");
        assert!(page.contains("counter(page) \" of \" counter(pages)"), "{page}");
        assert!(page.contains("<article class=\"part-1\">") && page.contains(".part-1 { page: part-1; }"), "{page}");
        assert!(!page.contains("color: red\""), "what is not a letter or figure ends no style: {page}");
    }

    #[test]
    fn boxes_and_blanks_can_be_filled_in() {
        let page = of("- [ ] Bore: measured ______, by ______ & co\n", None);
        let blank = "<span class=\"blank\"></span>";
        let item = format!("<li><input type=\"checkbox\"> Bore: measured {blank}, by {blank} &amp; co</li>");
        assert!(page.contains(&item), "{page}");
    }

    #[test]
    fn markup_in_peoples_words_is_shown_not_obeyed() {
        let page = of("a <script>alert(1)</script>\n\n<div>b</div>\n", None);
        assert!(!page.contains("<script>") && !page.contains("<div>"), "{page}");
        assert!(page.contains("<title>a &quot;b&quot;</title>"));
    }

    #[test]
    fn the_picture_stands_in_the_page() {
        let page = of("![hook](hook.svg)\n", Some("<?xml version=\"1.0\"?>\n<svg><title>t</title></svg>\n"));
        assert!(page.contains("<span class=\"picture\"><svg><title>t</title></svg>"), "{page}");
        assert!(!page.contains("hook.svg") && !page.contains("<?xml"));
        assert!(of("![hook](hook.svg)\n", None).contains("<img src=\"hook.svg\" alt=\"hook\""));
    }
}
