//! Answers kept by small indices: a quick hash for keys that no input can choose to collide.

use std::hash::{BuildHasherDefault, Hash, Hasher};
use std::sync::{Mutex, MutexGuard, PoisonError};

/// A map keyed by choices; never walked in its own order where that could show.
pub type QuickMap<K, V> = std::collections::HashMap<K, V, BuildHasherDefault<Mixer>>;

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

/// Multiplies and turns each word in: a tenth of the work of the standard hash, which guards against chosen keys.
#[derive(Debug, Clone, Copy, Default)]
pub struct Mixer(u64);

impl Mixer {
    fn mix(&mut self, word: u64) {
        // An odd constant from the golden ratio spreads neighbouring indices (Knuth, TAOCP vol. 3, 6.4).
        self.0 = (self.0 ^ word).wrapping_mul(0x9E37_79B9_7F4A_7C15).rotate_left(26);
    }
}

impl Hasher for Mixer {
    fn finish(&self) -> u64 {
        self.0
    }

    fn write(&mut self, bytes: &[u8]) {
        for chunk in bytes.chunks(8) {
            let mut word = [0; 8];
            word.iter_mut().zip(chunk).for_each(|(to, from)| *to = *from);
            self.mix(u64::from_le_bytes(word));
        }
    }

    fn write_u64(&mut self, word: u64) {
        self.mix(word);
    }

    fn write_usize(&mut self, word: usize) {
        self.mix(word as u64);
    }

    fn write_u128(&mut self, word: u128) {
        self.mix(word as u64);
        self.mix((word >> 64) as u64);
    }

    fn write_isize(&mut self, word: isize) {
        self.mix(word as u64);
    }
}
