//! What each piece of a source text is called: by the words and names of its blocks, never by its line.

use std::collections::BTreeMap;

use super::Span;

/// The named places of one source text.
///
/// A comment or an empty line more changes none of its paths.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Outline {
    /// By where they start, an outer place before those within it.
    places: Vec<Place>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
struct Place {
    start: u32,
    end: u32,
    path: String,
    /// The place it lies in.
    outer: Option<usize>,
}

impl Outline {
    /// Makes an outline of places, each with its scope and its path there.
    ///
    /// Places of one scope with equal paths are numbered from 1: `mesh "set.3mf" [2]`.
    pub fn of(mut named: Vec<(Span, String, String)>) -> Self {
        named.sort_by_key(|(span, ..)| (span.start, std::cmp::Reverse(span.end)));
        let mut equals: BTreeMap<(&str, &str), usize> = BTreeMap::new();
        for (_, scope, path) in &named {
            *equals.entry((scope, path)).or_default() += 1;
        }
        let mut count: BTreeMap<(&str, &str), usize> = BTreeMap::new();
        let mut places: Vec<Place> = Vec::with_capacity(named.len());
        let mut open: Vec<usize> = Vec::new();
        for (span, scope, path) in &named {
            while open.last().is_some_and(|&o| places.get(o).is_none_or(|p| p.end < span.end)) {
                open.pop();
            }
            let key = (scope.as_str(), path.as_str());
            let nth = count.entry(key).or_default();
            *nth += 1;
            let alone = path.is_empty() || equals.get(&key) == Some(&1);
            let path = if alone { path.clone() } else { format!("{path} [{nth}]") };
            let outer = open.last().copied();
            open.push(places.len());
            places.push(Place { start: span.start, end: span.end, path, outer });
        }
        Self { places }
    }

    /// Returns the path of the innermost place that holds a range of bytes.
    pub fn path(&self, start: u32, end: u32) -> Option<&str> {
        let behind = self.places.partition_point(|p| p.start <= start);
        let mut at = behind.checked_sub(1);
        while let Some(place) = at.and_then(|i| self.places.get(i)) {
            if place.end >= end && place.end > start {
                return Some(&place.path);
            }
            at = place.outer;
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diag::SourceId;

    #[test]
    fn the_innermost_place_names_a_range_and_equals_are_numbered() {
        let named = |start: usize, end: usize, path: &str| {
            (Span::new(SourceId(0), start, end), "part".to_owned(), path.to_owned())
        };
        let outline = Outline::of(vec![
            named(30, 60, "load \"gust\""),
            named(40, 50, "load \"gust\"/force"),
            named(0, 10, "mesh \"a\""),
            named(12, 20, "mesh \"a\""),
        ]);
        assert_eq!(outline.path(42, 44), Some("load \"gust\"/force"));
        assert_eq!(outline.path(30, 60), Some("load \"gust\""));
        // Behind an inner place it is the outer one again.
        assert_eq!(outline.path(52, 55), Some("load \"gust\""));
        assert_eq!(outline.path(45, 55), Some("load \"gust\""));
        assert_eq!(outline.path(0, 10), Some("mesh \"a\" [1]"));
        assert_eq!(outline.path(13, 14), Some("mesh \"a\" [2]"));
        assert_eq!(outline.path(22, 25), None);
        assert_eq!(outline.path(70, 71), None);
    }
}
