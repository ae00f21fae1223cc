//! What several specs of one run have in common, kept in memory within bounds.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// Values by key, of which those longest unused go when there is no room for more.
///
/// The lock is held for the look-up alone, never while a value is worked out: a worker that waits for other workers
/// could take up a job that asks here again. Two jobs may therefore work out the same value at once.
pub(super) struct Shared<K, V> {
    room: usize,
    held: Mutex<Held<K, V>>,
}

struct Held<K, V> {
    /// Counts the uses.
    now: u64,
    size: usize,
    entries: BTreeMap<K, Entry<V>>,
}

struct Entry<V> {
    used: u64,
    size: usize,
    value: Arc<V>,
}

impl<K: Ord + Clone, V> Shared<K, V> {
    /// Returns an empty store with room for so much, in whatever unit `put` tells sizes.
    pub(super) const fn new(room: usize) -> Self {
        Self { room, held: Mutex::new(Held { now: 0, size: 0, entries: BTreeMap::new() }) }
    }

    fn lock(&self) -> MutexGuard<'_, Held<K, V>> {
        self.held.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Returns the value kept under a key.
    pub(super) fn get(&self, key: &K) -> Option<Arc<V>> {
        let mut held = self.lock();
        held.now += 1;
        let now = held.now;
        let entry = held.entries.get_mut(key)?;
        entry.used = now;
        Some(Arc::clone(&entry.value))
    }

    /// Keeps a value of this size, unless it is larger than all the room there is.
    pub(super) fn put(&self, key: K, value: &Arc<V>, size: usize) {
        // Nothing is free: many empty values must not fill the memory either.
        let size = size.max(self.room / MOST_ENTRIES).max(1);
        if size > self.room {
            return;
        }
        let mut held = self.lock();
        held.now += 1;
        let entry = Entry { used: held.now, size, value: Arc::clone(value) };
        held.size += size;
        if let Some(before) = held.entries.insert(key, entry) {
            held.size -= before.size;
        }
        while held.size > self.room {
            let Some(oldest) = held.entries.iter().min_by_key(|(_, e)| e.used).map(|(k, _)| k.clone()) else { return };
            if let Some(gone) = held.entries.remove(&oldest) {
                held.size -= gone.size;
            }
        }
    }
}

/// Entries there can be at most.
const MOST_ENTRIES: usize = 1000;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_longest_unused_goes_first() {
        let store: Shared<u8, u8> = Shared::new(10);
        for key in 0..3 {
            store.put(key, &Arc::new(key), 3);
        }
        assert_eq!(store.get(&0).as_deref(), Some(&0));
        store.put(3, &Arc::new(3), 3);
        assert_eq!([0, 1, 2, 3].map(|key| store.get(&key).is_some()), [true, false, true, true]);
        store.put(4, &Arc::new(4), 11);
        assert!(store.get(&4).is_none() && store.get(&3).is_some());
    }

    #[test]
    fn a_value_put_again_takes_its_room_once() {
        let store: Shared<u8, u8> = Shared::new(10);
        for value in 0..20 {
            store.put(1, &Arc::new(value), 5);
            store.put(2, &Arc::new(value), 5);
        }
        assert_eq!((store.get(&1).as_deref(), store.get(&2).as_deref()), (Some(&19), Some(&19)));
    }

    #[test]
    fn small_values_are_counted_too() {
        let store: Shared<usize, ()> = Shared::new(1_000_000);
        for key in 0..MOST_ENTRIES + 10 {
            store.put(key, &Arc::new(()), 0);
        }
        assert!(store.get(&0).is_none() && store.get(&10).is_some());
    }
}
