//! Values that remember whether they were read, so that a digest covers what was read and nothing else.

use std::ops::Deref;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering::Relaxed};

/// A value that remembers whether it was read. Copies share that memory: what one of them is read for, all are.
#[derive(Debug, Clone, Default)]
pub struct Seen<T> {
    value: T,
    mark: Mark,
}

/// Whether a value was read.
#[derive(Debug, Clone, Default)]
pub struct Mark(Arc<AtomicBool>);

impl<T> Seen<T> {
    /// Returns the value without counting as a reader: to find by it whether it concerns the job at all.
    pub fn peek(&self) -> &T {
        &self.value
    }

    /// Returns what tells later whether the value was read.
    pub fn mark(&self) -> Mark {
        self.mark.clone()
    }
}

impl Mark {
    /// Returns whether the value, or a copy of it, was read.
    pub fn is_set(&self) -> bool {
        self.0.load(Relaxed)
    }
}

impl<T> From<T> for Seen<T> {
    fn from(value: T) -> Self {
        Self { value, mark: Mark::default() }
    }
}

/// Whoever looks at the value reads it.
impl<T> Deref for Seen<T> {
    type Target = T;

    fn deref(&self) -> &T {
        self.mark.0.store(true, Relaxed);
        &self.value
    }
}

/// By the values alone.
impl<T: PartialEq> PartialEq for Seen<T> {
    fn eq(&self, other: &Self) -> bool {
        self.value == other.value
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_who_reads_leaves_a_mark() {
        let seen: Seen<Vec<u8>> = vec![1, 2].into();
        let (mark, copy) = (seen.mark(), seen.clone());
        assert_eq!(seen.peek().len(), 2);
        assert!(seen == copy && !mark.is_set());
        assert_eq!(copy.len(), 2);
        assert!(mark.is_set(), "a copy shares it");
    }
}
