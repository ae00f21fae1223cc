//! Uses the recipe must speak of (`ask food contact`) and chemicals, written as statements of their own.

use super::super::checker::Checker;
use super::super::form::{Context, list};
use super::super::vocabulary::{ASKS, CONTACTS};
use super::words_of;
use crate::diag::Diagnostic;
use crate::syntax::tree::Statement;

/// Returns the use that words name: `food contact` for `food`, `Food contact` and `food-contact`.
fn ask_of(written: &str) -> Option<&'static str> {
    let written = written.trim().to_lowercase().replace(['-', '_'], " ");
    let first = written.split(' ').next().filter(|w| !w.is_empty())?;
    // `contact` alone names no use, and `food safe` names one.
    let exact = ASKS.iter().find(|ask| **ask == written);
    exact.or_else(|| ASKS.iter().find(|ask| ask.split(' ').next() == Some(first))).copied()
}

/// Returns what to write for a property that people ask for by the word of a class or a promise, none of which a print can be
/// given here.
fn promised(written: &str, context: Context) -> Option<String> {
    let word = written.trim().to_lowercase().replace(['-', '_', ' '], "");
    let outside = if context == Context::Service { " in the part, outside of `service`" } else { "" };
    let class = word.strip_prefix("ip").is_some_and(|n| n.len() >= 2 && n.chars().all(|c| c.is_ascii_alphanumeric()));
    if class || matches!(word.as_str(), "waterproof" | "watertight" | "waterresistant" | "splashproof" | "leakproof") {
        return Some(format!(
            "write `tight against \"water\"`{outside} for a wall that is to keep water in or out, `service {{ wet rain }}` for a part that \
             stands in it; no class of protection can be promised"
        ));
    }
    if word.starts_with("ul94") || matches!(word.as_str(), "fireproof" | "flameproof" | "fireresistant" | "v0" | "v2") {
        return Some(format!("{}; no class can be promised", right_place("flame retardance", context)));
    }
    if matches!(word.as_str(), "electrical" | "insulating" | "insulator" | "mains") {
        return Some(right_place("electrical insulation", context));
    }
    None
}

impl Checker<'_> {
    /// `food contact`, `toy`, `flame retardance` where a statement stands.
    pub(super) fn suggest_use(&self, statement: &Statement, context: Context) -> Option<Diagnostic> {
        if let Some(hint) = promised(&statement.keyword.text, context) {
            let message = format!("unknown statement `{}` in {}", statement.keyword.text, context.name());
            return Some(Diagnostic::error("keyword/unknown", statement.head, message).hint(hint));
        }
        let ask = ask_of(&statement.keyword.text)?;
        let message = format!("unknown statement `{}` in {}", statement.keyword.text, context.name());
        Some(Diagnostic::error("keyword/unknown", statement.head, message).hint(right_place(ask, context)))
    }

    /// `contact "food"`, `contact food` and a contact without its kind, within `service` or not.
    pub(crate) fn suggest_contact(&self, statement: &Statement, context: Context) -> Option<Diagnostic> {
        let mut words = statement.arguments.iter().filter_map(words_of);
        let chemical = words.next().filter(|w| !CONTACTS.contains(w))?;
        let rest: Vec<&str> = words.collect();
        let kind = CONTACTS.iter().find(|k| rest.contains(*k)).copied();
        if rest.iter().any(|w| !CONTACTS.contains(w) && !matches!(*w, "at" | "vapor" | "splashed" | "spray")) {
            return None;
        }
        if statement.arguments.len() > rest.len() + 1 && kind.is_some() && context == Context::Service {
            return None;
        }
        let inside =
            format!("contact \"{chemical}\" {}", kind.unwrap_or(if is_food(chemical) { "wiped" } else { "splash" }));
        let whole = if context == Context::Service { inside } else { format!("service {{ {inside} }}") };
        let others = if kind.is_none() {
            format!(
                ", or {} instead",
                list(&CONTACTS.iter().copied().filter(|k| !whole.contains(k)).collect::<Vec<_>>())
            )
        } else {
            String::new()
        };
        let (code, message) = if context == Context::Service {
            let quoted = statement.arguments.first().is_some_and(|a| a.as_text().is_some());
            let missing =
                if quoted { "how it reaches the part" } else { "its chemical in quotes and how it reaches the part" };
            ("contact/incomplete", format!("`contact` needs {missing}"))
        } else {
            ("keyword/misplaced", format!("`contact` belongs into `service`, not into {}", context.name()))
        };
        let diagnostic = Diagnostic::error(code, statement.head, message);
        Some(if is_food(chemical) {
            let ask = right_place("food contact", context);
            diagnostic.hint(format!("{ask}; what fat and water do to the plastic is asked by `{whole}`"))
        } else {
            diagnostic.hint(format!("write `{whole}`{others}"))
        })
    }
}

fn is_food(chemical: &str) -> bool {
    ask_of(chemical) == Some("food contact")
}

fn right_place(ask: &str, context: Context) -> String {
    let outside = if context == Context::Service { " in the part, outside of `service`" } else { "" };
    format!("write `ask {ask}`{outside}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn uses_are_known_by_their_first_word() {
        assert_eq!(ask_of("Food"), Some("food contact"));
        assert_eq!(ask_of("skin-contact"), Some("skin contact"));
        assert_eq!(ask_of("people beneath"), Some("people beneath"));
        assert_eq!(ask_of("contact"), None);
        assert_eq!(ask_of(""), None);
    }
}
