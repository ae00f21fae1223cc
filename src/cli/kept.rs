//! Texts that are made long before they are written: few in memory, many on the disk.

use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::sync::{Mutex, PoisonError};

/// Bytes kept in memory; what comes after them goes to a file without a name, which is gone with the program.
const IN_MEMORY: usize = 64 << 20;

/// A place for texts.
#[derive(Debug, Default)]
pub(super) struct Kept(Mutex<Store>);

#[derive(Debug, Default)]
struct Store {
    in_memory: usize,
    file: Option<File>,
    /// Bytes in the file.
    long: u64,
}

/// A text put into a [`Kept`].
#[derive(Debug)]
pub(super) enum Text {
    /// In memory.
    Here(String),
    /// In the file, from a byte, so many of them.
    There(u64, usize),
}

impl Default for Text {
    fn default() -> Self {
        Self::Here(String::new())
    }
}

impl Kept {
    /// Puts a text away. Where the disk takes no more it stays in memory.
    pub(super) fn put(&self, text: String) -> Text {
        let mut store = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if store.in_memory + text.len() <= IN_MEMORY {
            store.in_memory += text.len();
            // A text that grew as it was written may have room for as much again, and an allocator need not take it back.
            return Text::Here(text.as_str().to_owned());
        }
        match store.append(text.as_bytes()) {
            Ok(at) => Text::There(at, text.len()),
            Err(_) => Text::Here(text),
        }
    }

    /// Returns a text that was put away here.
    ///
    /// # Errors
    ///
    /// Why it cannot be read back.
    pub(super) fn get(&self, text: &Text) -> Result<String, String> {
        match text {
            Text::Here(text) => Ok(text.clone()),
            Text::There(at, long) => {
                let mut store = self.0.lock().unwrap_or_else(PoisonError::into_inner);
                store
                    .read(*at, *long)
                    .map_err(|e| format!("a text put away on the disk can't be read back: {}", e.kind()))
            }
        }
    }
}

impl Store {
    fn append(&mut self, bytes: &[u8]) -> io::Result<u64> {
        let at = self.long;
        let file = match &mut self.file {
            Some(file) => file,
            none => none.insert(tempfile::tempfile()?),
        };
        file.seek(SeekFrom::Start(at))?;
        file.write_all(bytes)?;
        self.long = at + bytes.len() as u64;
        Ok(at)
    }

    fn read(&mut self, at: u64, long: usize) -> io::Result<String> {
        let file = self.file.as_mut().ok_or(io::ErrorKind::NotFound)?;
        let mut bytes = vec![0; long];
        file.seek(SeekFrom::Start(at))?;
        file.read_exact(&mut bytes)?;
        String::from_utf8(bytes).map_err(|_| io::ErrorKind::InvalidData.into())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_put_away_comes_back_whether_here_or_there() {
        let kept = Kept::default();
        let long = |k: usize| format!("{k} ").repeat(IN_MEMORY / 8);
        let texts: Vec<Text> = (0..6).map(|k| kept.put(long(k))).collect();
        let there = texts.iter().filter(|t| matches!(t, Text::There(..))).count();
        assert!(there > 0 && there < texts.len(), "{there} of {} on the disk", texts.len());
        for k in [5, 0, 3, 4, 1, 2] {
            assert_eq!(kept.get(&texts[k]).unwrap(), long(k));
        }
    }
}
