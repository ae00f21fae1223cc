//! A quick hash for keys made of small indices, which no input can choose to collide.

use std::hash::{BuildHasherDefault, Hasher};

/// A map keyed by choices; never walked in its own order where that could show.
pub type QuickMap<K, V> = std::collections::HashMap<K, V, BuildHasherDefault<Mixer>>;

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
        bytes.iter().for_each(|b| self.mix(u64::from(*b)));
    }

    fn write_u64(&mut self, word: u64) {
        self.mix(word);
    }

    fn write_usize(&mut self, word: usize) {
        self.mix(word as u64);
    }

    fn write_isize(&mut self, word: isize) {
        self.mix(word as u64);
    }
}
