//! A text of a rule with the values of a job in its places: data, until a person is to read it.

use std::fmt;
use std::sync::Arc;

use super::code::{percent_words, show};
use super::value::Value;
use crate::quantity::Dimension;

/// A rule's words, its values still values.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Filled {
    /// In reading order; empty for no text at all.
    pub parts: Vec<FilledPart>,
}

/// A stretch of a [`Filled`].
#[derive(Debug, Clone, PartialEq)]
pub enum FilledPart {
    /// Words as the rule has them.
    Plain(Arc<str>),
    /// A value; `name` is that of the fact where it stands there by itself.
    Value {
        /// Full name of the fact; `None` for the result of an expression.
        name: Option<Arc<str>>,
        /// May be unknown: the text is then printed with a word for that.
        value: Value,
    },
    /// A share, told in per cent.
    Percent(Value),
    /// A price, and what the shop counts in, where it says.
    Price {
        /// Money, money by mass or money by time.
        value: Value,
        /// As the shop writes it; `None` where no shop says.
        currency: Option<Arc<str>>,
    },
}

impl Filled {
    /// Returns a text without values.
    pub fn plain(text: &str) -> Self {
        Self { parts: vec![FilledPart::Plain(Arc::from(text))] }
    }

    /// Returns whether there is nothing to say.
    pub fn is_empty(&self) -> bool {
        self.parts.is_empty()
    }

    /// Returns the text for several things at once, with every name where they differ: `diesel and petrol`.
    ///
    /// None where they are not the same text but for such names.
    pub fn of_several(all: &[&Self]) -> Option<Self> {
        let first = all.first()?;
        if all.iter().any(|other| other.parts.len() != first.parts.len()) {
            return None;
        }
        let mut parts = Vec::new();
        for (i, part) in first.parts.iter().enumerate() {
            let mut here: Vec<&FilledPart> = Vec::new();
            for other in all.iter().filter_map(|filled| filled.parts.get(i)) {
                if !here.contains(&other) {
                    here.push(other);
                }
            }
            let named = |other: &FilledPart| match (part, other) {
                (FilledPart::Value { name: Some(a), .. }, FilledPart::Value { name: Some(b), .. }) => a == b,
                _ => false,
            };
            if here.len() > 1 && !here.iter().all(|other| named(other)) {
                return None;
            }
            let last = here.len().saturating_sub(1);
            for (nth, one) in here.into_iter().enumerate() {
                if nth > 0 {
                    parts.push(FilledPart::Plain(Arc::from(if nth == last { " and " } else { ", " })));
                }
                parts.push(one.clone());
            }
        }
        Some(Self { parts })
    }

    /// Returns the text for several things at once that differ in their name and their number only: the names as `names` puts
    /// them together, the numbers added up.
    ///
    /// None where anything else differs, or where two of them are of one name.
    pub fn of_alike(all: &[&Self], name: &str, count: &str, names: impl Fn(&[&str]) -> String) -> Option<Self> {
        let first = all.first()?;
        if all.iter().any(|other| other.parts.len() != first.parts.len()) {
            return None;
        }
        let mut parts = Vec::new();
        let mut differs = false;
        for (i, part) in first.parts.iter().enumerate() {
            let here: Vec<&FilledPart> = all.iter().filter_map(|filled| filled.parts.get(i)).collect();
            let of = |wanted: &str| {
                let is = |p: &&FilledPart| matches!(p, FilledPart::Value { name: Some(n), .. } if &**n == wanted);
                here.iter().all(is)
            };
            let value = |p: &FilledPart| match p {
                FilledPart::Value { value, .. } => value.clone(),
                _ => Value::Unknown,
            };
            if of(name) {
                let shown: Vec<String> = here.iter().map(|p| show(&value(p))).collect();
                let shown: Vec<&str> = shown.iter().map(String::as_str).collect();
                differs = (1..shown.len()).all(|k| !shown.iter().take(k).any(|s| Some(s) == shown.get(k)));
                parts.push(FilledPart::Plain(Arc::from(names(&shown))));
            } else if of(count) {
                let numbers: Option<Vec<_>> = here.iter().map(|p| value(p).as_quantity()).collect();
                let sum = numbers?.into_iter().reduce(|a, b| crate::quantity::Quantity { si: a.si + b.si, ..a })?;
                parts.push(FilledPart::Value { name: Some(Arc::from(count)), value: Value::Quantity(sum) });
            } else if here.iter().all(|other| *other == part) {
                parts.push(part.clone());
            } else {
                return None;
            }
        }
        differs.then_some(Self { parts })
    }

    /// Returns whether the thing of that root, or its name, is said.
    pub fn names(&self, root: &str) -> bool {
        self.parts.iter().any(|part| Self::is_name(part, root))
    }

    /// Puts a word in place of the values that are or name the thing of that root.
    pub fn call(&mut self, root: &str, word: &str) {
        for part in &mut self.parts {
            if Self::is_name(part, root) {
                *part = FilledPart::Plain(Arc::from(word));
            }
        }
    }

    fn is_name(part: &FilledPart, root: &str) -> bool {
        let of = |name: &str| name.strip_prefix(root).is_some_and(|rest| matches!(rest, "" | ".name"));
        matches!(part, FilledPart::Value { name: Some(name), .. } if of(name))
    }

    /// Returns the text without the values that are or name the thing of that root.
    #[must_use]
    pub fn without(&self, root: &str) -> Self {
        Self { parts: self.parts.iter().filter(|part| !Self::is_name(part, root)).cloned().collect() }
    }

    /// Returns the text with the shop's currency at every price.
    #[must_use]
    pub fn priced_in(mut self, currency: Option<&Arc<str>>) -> Self {
        for part in &mut self.parts {
            if let FilledPart::Value { value, .. } = part
                && let Some(q) = value.as_quantity()
                && [Dimension::MONEY, Dimension::MONEY_PER_MASS, Dimension::MONEY_PER_TIME].contains(&q.dimension)
            {
                *part = FilledPart::Price { value: value.clone(), currency: currency.cloned() };
            }
        }
        self
    }

    /// Puts a value in place of that of every fact for which `anew` has one.
    pub fn replace(&mut self, anew: impl Fn(&str) -> Option<Value>) {
        for part in &mut self.parts {
            if let FilledPart::Value { name: Some(name), value } = part
                && let Some(new) = anew(name)
            {
                *value = new;
            }
        }
    }
}

impl fmt::Display for Filled {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.parts.iter().try_for_each(|part| match part {
            FilledPart::Plain(text) => f.write_str(text),
            FilledPart::Value { value, .. } => f.write_str(&show(value)),
            FilledPart::Percent(value) => f.write_str(&percent_words(value)),
            FilledPart::Price { value, currency } => f.write_str(&price_words(value, currency.as_deref())),
        })
    }
}

/// An amount of money shows its number alone, a price by mass or time its own unit.
fn price_words(value: &Value, currency: Option<&str>) -> String {
    let shown = show(value);
    let Some(currency) = currency else { return shown };
    match value.as_quantity().map(|q| q.dimension) {
        Some(Dimension::MONEY_PER_MASS) => format!("{} {currency}/kg", number_of(value, "money/kg", &shown)),
        Some(Dimension::MONEY_PER_TIME) => format!("{} {currency}/h", number_of(value, "money/h", &shown)),
        _ => format!("{shown} {currency}"),
    }
}

fn number_of(value: &Value, unit: &str, otherwise: &str) -> String {
    let amount = value.as_quantity().and_then(|q| q.in_unit(unit));
    amount.map_or_else(|| otherwise.to_owned(), |amount| crate::quantity::trim_number(amount, 2))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Quantity;

    fn price(amount: f64, unit: &str, currency: Option<&str>) -> String {
        let value = Value::Quantity(Quantity::with_unit(amount, unit).unwrap());
        let text = Filled { parts: vec![FilledPart::Value { name: None, value }] };
        text.priced_in(currency.map(Arc::from).as_ref()).to_string()
    }

    #[test]
    fn money_is_in_the_currency_of_the_shop() {
        assert_eq!(price(0.35, "money", Some("EUR")), "0.35 EUR");
        assert_eq!(price(22.0, "money/kg", Some("EUR")), "22 EUR/kg");
        assert_eq!(price(0.35, "money", None), "0.35");
    }

    #[test]
    fn what_differs_in_name_and_number_stands_once() {
        let named = |name: &str, value| FilledPart::Value { name: Some(Arc::from(name)), value };
        let number = |n| Value::Quantity(Quantity::number(n));
        let text = |name: &str, n: f64, size: &str| Filled {
            parts: vec![
                FilledPart::Plain(Arc::from("Ream \"")),
                named("fit.name", Value::text(name)),
                FilledPart::Plain(Arc::from("\" to ")),
                named("fit.model_size", Value::text(size)),
                FilledPart::Plain(Arc::from(", in all ")),
                named("fit.count", number(n)),
            ],
        };
        let join = |names: &[&str]| names.join("+");
        let (a, b, c) = (text("a", 1.0, "9 mm"), text("b", 4.0, "9 mm"), text("c", 1.0, "8 mm"));
        let both = Filled::of_alike(&[&a, &b], "fit.name", "fit.count", join).unwrap();
        assert_eq!(both.to_string(), "Ream \"a+b\" to 9 mm, in all 5");
        assert!(Filled::of_alike(&[&a, &c], "fit.name", "fit.count", join).is_none(), "another size");
        assert!(Filled::of_alike(&[&a, &a], "fit.name", "fit.count", join).is_none(), "one name twice");
    }

    #[test]
    fn what_is_named_is_known_and_put_anew() {
        let value = |text: &str| Value::text(text);
        let part = |name: &str, text: &str| FilledPart::Value { name: Some(Arc::from(name)), value: value(text) };
        let mut text =
            Filled { parts: vec![part("fit.name", "a"), FilledPart::Plain(Arc::from(" to ")), part("fit.model", "2")] };
        assert!(text.names("fit") && !text.names("load") && !text.names("fi"));
        text.replace(|name| (name == "fit.model").then(|| value("3")));
        assert_eq!(text.to_string(), "a to 3");
    }
}
