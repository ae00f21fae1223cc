//! What the values of a YAML text are called: by the keys above them and the names of list items, never by their line.

/// One key or list item.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Key {
    start: u32,
    indent: usize,
    is_item: bool,
    name: Box<str>,
    /// The key it stands below.
    above: Option<usize>,
}

/// The keys of a text, in its order.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Keys {
    list: Vec<Key>,
}

impl Keys {
    /// Finds the keys of a text in block style; what stands in braces is found when it is asked for.
    pub fn of(text: &str) -> Self {
        let mut keys = Self::default();
        let (mut open, mut start, mut folded) = (Vec::new(), 0, None);
        for line in text.split_inclusive('\n') {
            let bare = line.trim_end();
            let content = bare.trim_start();
            let indent = bare.len() - content.len();
            // The text of a folded or literal value holds no keys.
            if folded.is_some_and(|outer| content.is_empty() || indent > outer) {
                start += line.len();
                continue;
            }
            folded = None;
            if !content.is_empty() && !content.starts_with('#') && keys.line(content, indent, start + indent, &mut open)
            {
                folded = Some(indent);
            }
            start += line.len();
        }
        keys
    }

    /// Takes in one line; returns whether a folded or literal text follows.
    fn line(&mut self, mut content: &str, mut indent: usize, mut start: usize, open: &mut Vec<usize>) -> bool {
        while let Some(rest) = content.strip_prefix("- ") {
            let inner = rest.trim_start();
            let name = flow_value(inner, "name").unwrap_or_default();
            self.push(start, indent, true, name, open);
            let step = content.len() - inner.len();
            (content, indent, start) = (inner, indent + step, start + step);
        }
        let Some((key, value)) = key_of(content) else { return false };
        let own = |&&i: &&usize| self.list.get(i).is_some_and(|k| k.is_item && k.indent < indent);
        let item = open.iter().rev().find(own).copied().filter(|_| key == "name");
        if let Some(item) = item.and_then(|i| self.list.get_mut(i)).filter(|item| item.name.is_empty()) {
            item.name = plain(value).into();
        }
        self.push(start, indent, false, key, open);
        value.starts_with(['>', '|'])
    }

    fn push(&mut self, start: usize, indent: usize, is_item: bool, name: &str, open: &mut Vec<usize>) {
        let closed = |key: &Key| key.indent > indent || key.indent == indent && (key.is_item || !is_item);
        while open.last().and_then(|&i| self.list.get(i)).is_some_and(closed) {
            open.pop();
        }
        let above = open.last().copied();
        open.push(self.list.len());
        self.list.push(Key { start: start as u32, indent, is_item, name: name.into(), above });
    }

    /// Returns the path of what stands at an offset, `printers/Loft/chamber`; `None` before the first key.
    pub fn path(&self, text: &str, offset: u32) -> Option<String> {
        let last = self.list.partition_point(|k| k.start <= offset).checked_sub(1)?;
        let mut names: Vec<String> = Vec::new();
        let mut at = Some(last);
        while let Some((i, key)) = at.and_then(|i| Some((i, self.list.get(i)?))) {
            names.push(if key.name.is_empty() { self.number(i) } else { key.name.to_string() });
            at = key.above;
        }
        names.reverse();
        let within = text.get(self.list.get(last)?.start as usize..offset as usize).unwrap_or("");
        names.extend(key_in_braces(within).map(str::to_owned));
        // An item's own name, and the typical value of a figure, say no more than what they are of.
        let own =
            self.list.get(last).is_some_and(|k| k.above.and_then(|i| self.list.get(i)).is_some_and(|a| a.is_item));
        if names.len() > 1 && names.last().is_some_and(|n| n == "typ" || own && n == "name") {
            names.pop();
        }
        Some(names.join("/"))
    }

    /// An item without a name is told by its number among its like.
    fn number(&self, item: usize) -> String {
        let above = self.list.get(item).and_then(|k| k.above);
        let before = self.list.iter().take(item).filter(|k| k.is_item && k.above == above).count();
        format!("[{}]", before + 1)
    }
}

/// Returns the key a line begins with, and what stands behind it.
fn key_of(content: &str) -> Option<(&str, &str)> {
    let (key, value) = content.split_once(':')?;
    let key = plain(key);
    let is_key = !key.is_empty() && !key.starts_with(['{', '[', '#']) && (value.is_empty() || value.starts_with(' '));
    is_key.then(|| (key, value.trim()))
}

/// Returns the value of a key between braces that open the line.
fn flow_value<'t>(content: &'t str, key: &str) -> Option<&'t str> {
    let inside = content.strip_prefix('{')?;
    inside
        .split(',')
        .find_map(|pair| key_of(pair.trim()).filter(|(k, _)| *k == key))
        .map(|(_, v)| plain(v.trim_end_matches('}').trim()))
}

/// Returns the key whose value begins where a text within braces ends.
fn key_in_braces(within: &str) -> Option<&str> {
    let before = within.trim_end().strip_suffix(':')?;
    let open = within.rfind('{')?;
    let key = before.rsplit(['{', ',']).next().map(plain)?;
    (before.len() > open && !key.is_empty()).then_some(key)
}

fn plain(text: &str) -> &str {
    text.trim().trim_matches(['"', '\''])
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "\
# a workshop
printers:
  - name: Bench
    bed_limit: 110 °C
  - name: \"Loft two\"
    chamber: 60 °C
    now: { spool: x-1, levelled: yes }
nozzles:
  - { name: brass-04, bore: 0.4 mm }
yields:
- started: 60
  good: 57
- started: 5
  good: 4
note: >-
  folded: text
  has no keys
surfaces: [glass]
";

    fn path(of: &str) -> Option<String> {
        Keys::of(TEXT).path(TEXT, TEXT.find(of).unwrap() as u32)
    }

    #[test]
    fn values_are_called_by_the_keys_above_them() {
        for (of, called) in [
            ("110 °C", "printers/Bench/bed_limit"),
            ("Bench", "printers/Bench"),
            ("60 °C", "printers/Loft two/chamber"),
            ("x-1", "printers/Loft two/now/spool"),
            ("yes }", "printers/Loft two/now/levelled"),
            ("{ name: brass", "nozzles/brass-04"),
            ("0.4 mm", "nozzles/brass-04/bore"),
            ("57", "yields/[1]/good"),
            ("4\nnote", "yields/[2]/good"),
            ("text\n", "note"),
            ("glass", "surfaces"),
        ] {
            assert_eq!(path(of).as_deref(), Some(called), "{of}");
        }
        assert_eq!(path("# a"), None);
    }
}
