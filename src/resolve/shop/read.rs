//! What of the workshop's file a job read: its digest covers that and no more.
//!
//! Every printer, nozzle, surface, agent and spool is a candidate, and looked at whether it is taken or not. Records of past runs
//! and tools are looked at where a job has to do with them: those remember it ([`Seen`]), and what only rules read of them
//! counts where a rule that names it is judged.

use crate::seen::{Mark, Seen};

use super::{Bench, Tools};

/// An entry of the file that remembers whether it was read.
#[derive(Debug, Clone)]
pub(super) struct Entry {
    at: Unread,
    mark: Mark,
}

/// Where in the file an entry stands that a job did not read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Unread {
    /// The entry of that number in the list of a section.
    Item(&'static str, usize),
    /// The entry of that name in a section.
    Key(&'static str, &'static str),
}

/// Tools that rules alone read, by their key, with the fact they read.
const READ_BY_RULES: [(&str, &str); 3] =
    [("iron", "shop.has_iron"), ("scale", "shop.has_scale"), ("drill_press", "shop.has_drill_press")];

const TOOLS: &str = "tools";

/// Collects entries while a bench is made.
#[derive(Debug, Default)]
pub(super) struct Entries(Vec<Entry>);

impl Entries {
    /// Makes what a bench keeps of the entries of a list; nothing of those that `make` leaves to others.
    pub fn each<I, T>(&mut self, section: &'static str, all: &[I], make: impl Fn(&I) -> Option<T>) -> Vec<Seen<T>> {
        let made = all.iter().enumerate().filter_map(|(i, item)| {
            let seen = Seen::from(make(item)?);
            self.0.push(Entry { at: Unread::Item(section, i), mark: seen.mark() });
            Some(seen)
        });
        made.collect()
    }

    /// Takes note of the tools for fits.
    pub fn of_tools(&mut self, tools: &Tools, for_fits: &crate::fits::feature::Tools) {
        let marks = [
            ("reamers", for_fits.reamers.mark()),
            ("drills", for_fits.drills.mark()),
            ("taps", for_fits.taps.mark()),
            ("inserts", for_fits.inserts.mark()),
            ("inserts", tools.inserts.mark()),
            ("lathe", for_fits.lathe.mark()),
            ("gauges", tools.gauges.mark()),
        ];
        self.0.extend(marks.map(|(key, mark)| Entry { at: Unread::Key(TOOLS, key), mark }));
    }

    pub fn done(self) -> Vec<Entry> {
        self.0
    }
}

impl Bench<'_> {
    /// Returns the entries that nothing has read so far; `named` says of a fact whether a rule that is judged reads it.
    pub fn unread(&self, named: impl Fn(&str) -> bool) -> Vec<Unread> {
        let read = |at: Unread| self.entries.iter().any(|e| e.at == at && e.mark.is_set());
        let mut unread: Vec<Unread> = self.entries.iter().map(|e| e.at).filter(|at| !read(*at)).collect();
        unread.extend(READ_BY_RULES.iter().filter(|(_, fact)| !named(fact)).map(|(key, _)| Unread::Key(TOOLS, key)));
        unread.sort_unstable();
        unread.dedup();
        unread
    }
}
