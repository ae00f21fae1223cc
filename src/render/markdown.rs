//! The recipe as a Markdown page, through a Handlebars template that a shop may replace.

use handlebars::{Handlebars, no_escape};

use super::sheet::Sheet;
use super::wrap::wrap;
use crate::recipe::Recipe;

/// The template that makeready brings along.
pub const DEFAULT_TEMPLATE: &str = include_str!("../../recipes/templates/recipe.md.hbs");

/// A template larger than this is a mistake.
const LARGEST: usize = 256 * 1024;
/// Blocks in blocks deeper than this are a mistake; the template reader recurses.
const DEEPEST: usize = 32;
const NAME: &str = "recipe";

/// A recipe template, read and checked.
pub struct Template {
    registry: Handlebars<'static>,
}

/// What is wrong with a template, and where (line and column from 1, where known).
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TemplateFault {
    /// From 1; `None` where it concerns the whole template.
    pub line: Option<usize>,
    /// From 1.
    pub column: Option<usize>,
    /// What is wrong, one line.
    pub message: String,
}

impl TemplateFault {
    fn anywhere(message: impl Into<String>) -> Self {
        Self { line: None, column: None, message: message.into() }
    }
}

impl Template {
    /// Returns the template that makeready brings along.
    ///
    /// # Errors
    ///
    /// None: a test reads it.
    pub fn built_in() -> Result<Self, TemplateFault> {
        Self::parse(DEFAULT_TEMPLATE)
    }

    /// Reads a template. It may use the fields of `sheet::Sheet`; another name is a fault when a recipe is rendered.
    ///
    /// # Errors
    ///
    /// Returns the first fault: Handlebars syntax, a template too large or too deep, or one that calls templates.
    pub fn parse(text: &str) -> Result<Self, TemplateFault> {
        check_bounds(text)?;
        let mut registry = Handlebars::new();
        registry.set_strict_mode(true);
        // The sheet's strings are Markdown already; HTML escapes would only spoil them.
        registry.register_escape_fn(no_escape);
        registry.register_template_string(NAME, text).map_err(|e| {
            let (line, column) = e.pos().unzip();
            TemplateFault { line, column, message: e.reason().to_string() }
        })?;
        Ok(Self { registry })
    }

    /// Returns the page for one recipe, its long lines broken, with one line end at the end.
    ///
    /// # Errors
    ///
    /// Returns a fault where the template names something that a sheet does not have.
    pub fn render(&self, recipe: &Recipe, figure: Option<&str>) -> Result<String, TemplateFault> {
        self.page(&Sheet::of(recipe, figure))
    }

    /// Returns the page for any data, as [`Template::render`] does.
    pub(super) fn page<T: serde::Serialize>(&self, data: &T) -> Result<String, TemplateFault> {
        let page = self.registry.render(NAME, data).map_err(|e| TemplateFault {
            line: e.line_no,
            column: e.column_no,
            message: e.reason().to_string(),
        })?;
        Ok(settle(&wrap(&page)))
    }
}

/// Returns the recipe as Markdown through the built-in template.
///
/// # Errors
///
/// As [`Template::render`].
pub fn markdown(recipe: &Recipe, figure: Option<&str>) -> Result<String, TemplateFault> {
    Template::built_in()?.render(recipe, figure)
}

fn check_bounds(text: &str) -> Result<(), TemplateFault> {
    if text.len() > LARGEST {
        return Err(TemplateFault::anywhere(format!("the template is larger than {} kB", LARGEST / 1024)));
    }
    let mut depth = 0usize;
    for (at, _) in text.match_indices("{{") {
        let inside = text[at + 2..].trim_start_matches(['{', '~', ' ', '\t', '\n', '\r', '&']);
        if inside.starts_with('/') {
            depth = depth.saturating_sub(1);
        }
        let Some(opened) = inside.strip_prefix('#') else {
            refuse_partial(inside, text, at)?;
            continue;
        };
        refuse_partial(opened.trim_start(), text, at)?;
        depth += 1;
        if depth > DEEPEST {
            return Err(fault_at(text, at, format!("blocks are nested deeper than {DEEPEST}")));
        }
    }
    Ok(())
}

/// A template that calls templates could call itself for ever; a recipe page needs none.
fn refuse_partial(inside: &str, text: &str, at: usize) -> Result<(), TemplateFault> {
    let expression = inside.split("}}").next().unwrap_or("");
    if inside.starts_with(['>', '*']) {
        return Err(fault_at(text, at, "a recipe template can't call or define other templates".to_owned()));
    }
    if expression.matches('(').count() > DEEPEST {
        return Err(fault_at(text, at, format!("an expression has more than {DEEPEST} brackets")));
    }
    Ok(())
}

fn fault_at(text: &str, at: usize, message: String) -> TemplateFault {
    let before = &text[..at];
    let line = before.matches('\n').count() + 1;
    let column = before.rsplit('\n').next().unwrap_or("").chars().count() + 1;
    TemplateFault { line: Some(line), column: Some(column), message }
}

/// Removes blanks at line ends and repeated empty lines, which a template full of conditions leaves behind.
fn settle(page: &str) -> String {
    let mut out = String::with_capacity(page.len());
    let mut empty = true;
    for line in page.lines().map(str::trim_end) {
        if line.is_empty() && empty {
            continue;
        }
        empty = line.is_empty();
        out.push_str(line);
        out.push('\n');
    }
    while out.ends_with("\n\n") {
        out.pop();
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_built_in_template_is_read() {
        assert!(Template::built_in().is_ok());
    }

    #[test]
    fn faults_of_a_template_have_their_place() {
        let fault = |text: &str| Template::parse(text).err().unwrap();
        assert!(fault("a\n {{#if part}}\nb").line.is_some());
        let endless = fault("x\n{{#*inline \"a\"}}{{> a}}{{/inline}}{{> a}}");
        assert_eq!((endless.line, endless.column), (Some(2), Some(1)));
        assert!(fault(&"{{#if part}}".repeat(40)).message.contains("deeper"));
        assert!(fault(&"x".repeat(LARGEST + 1)).message.contains("larger"));
        assert!(fault(&format!("{{{{a {}}}}}", "(".repeat(400))).message.contains("brackets"));
    }

    #[test]
    fn settling_keeps_one_empty_line() {
        assert_eq!(settle("\n\na  \n\n\n\nb\n\n\n"), "a\n\nb\n");
    }
}
