//! Answers kept by small indices: a quick hash for keys that no input can choose to collide.

use std::hash::Hash;
use std::sync::{Mutex, MutexGuard, PoisonError};

use rustc_hash::FxHashMap;

/// A map keyed by choices; never walked in its own order where that could show. Its hash takes a tenth of the work of the
/// standard one, which guards against chosen keys.
pub type QuickMap<K, V> = FxHashMap<K, V>;

/// Takes a lock; what it guards is whole even where another thread gave up meanwhile, since each change is one step.
pub(super) fn lock<T>(of: &Mutex<T>) -> MutexGuard<'_, T> {
    of.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Answers kept by their question. Two threads that ask the same at once both work it out; the answers are equal.
#[derive(Debug)]
pub(super) struct Memo<K, V>(Mutex<QuickMap<K, V>>);

impl<K, V> Default for Memo<K, V> {
    fn default() -> Self {
        Self(Mutex::default())
    }
}

impl<K: Eq + Hash, V: Clone> Memo<K, V> {
    pub fn holding(known: QuickMap<K, V>) -> Self {
        Self(Mutex::new(known))
    }

    /// Returns the answer kept for a key, or makes and keeps it; making it may ask for other keys.
    pub fn of(&self, key: K, make: impl FnOnce() -> V) -> V {
        match self.known(&key) {
            Some(found) => found,
            None => {
                let made = make();
                lock(&self.0).insert(key, made.clone());
                made
            }
        }
    }

    /// Returns what `read` takes from the answer kept for a key, or from the one made and kept.
    pub fn read<R>(&self, key: K, make: impl FnOnce() -> V, read: impl FnOnce(&V) -> R) -> R {
        if let Some(found) = lock(&self.0).get(&key) {
            return read(found);
        }
        let made = make();
        let result = read(&made);
        lock(&self.0).insert(key, made);
        result
    }

    pub fn known(&self, key: &K) -> Option<V> {
        lock(&self.0).get(key).cloned()
    }

    pub fn keep(&self, key: K, answer: V) {
        lock(&self.0).insert(key, answer);
    }

    /// Gives away all that is kept.
    pub fn take(&self) -> QuickMap<K, V> {
        std::mem::take(&mut *lock(&self.0))
    }

    /// Returns what is kept of those keys that count.
    pub fn those(&self, counts: impl Fn(&K) -> bool) -> QuickMap<K, V>
    where
        K: Clone,
    {
        lock(&self.0).iter().filter(|(k, _)| counts(k)).map(|(k, v)| (k.clone(), v.clone())).collect()
    }
}
