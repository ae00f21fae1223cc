//! Whole numbers in as few bytes as they need (LEB128), and reading them back from bytes that are not trusted.
//!
//! Shared by the indexes that the build script writes, hence nothing here but the format.

/// Appends a number.
pub fn put(out: &mut Vec<u8>, mut number: u64) {
    while number >= 0x80 {
        out.push((number as u8) | 0x80);
        number >>= 7;
    }
    out.push(number as u8);
}

/// Appends a number that may be negative; small ones of either sign take one byte.
pub fn put_signed(out: &mut Vec<u8>, number: i64) {
    put(out, ((number << 1) ^ (number >> 63)) as u64);
}

/// Appends bytes behind their count.
pub fn put_bytes(out: &mut Vec<u8>, bytes: &[u8]) {
    put(out, bytes.len() as u64);
    out.extend_from_slice(bytes);
}

/// Bytes still to be read. Whatever is asked for beyond their end is nothing.
#[derive(Clone, Copy)]
pub struct Bytes<'a>(pub &'a [u8]);

impl<'a> Bytes<'a> {
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    pub fn byte(&mut self) -> Option<u8> {
        let (byte, rest) = self.0.split_first()?;
        self.0 = rest;
        Some(*byte)
    }

    pub fn take(&mut self, length: usize) -> Option<&'a [u8]> {
        let (taken, rest) = self.0.split_at_checked(length)?;
        self.0 = rest;
        Some(taken)
    }

    /// Returns the bytes that stand behind their count.
    pub fn counted(&mut self) -> Option<&'a [u8]> {
        let length = self.length()?;
        self.take(length)
    }

    pub fn length(&mut self) -> Option<usize> {
        usize::try_from(self.number()?).ok()
    }

    pub fn signed(&mut self) -> Option<i64> {
        let zigzag = self.number()?;
        Some((zigzag >> 1) as i64 ^ -((zigzag & 1) as i64))
    }

    pub fn number(&mut self) -> Option<u64> {
        let mut number = 0;
        for shift in (0..63).step_by(7) {
            let byte = self.byte()?;
            number |= u64::from(byte & 0x7f) << shift;
            if byte & 0x80 == 0 {
                return Some(number);
            }
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_come_back() {
        let mut out = Vec::new();
        for n in [0, 1, 127, 128, 300, u64::from(u32::MAX)] {
            put(&mut out, n);
        }
        for n in [0, -1, 1, 63, -64, 64, i64::from(i32::MIN)] {
            put_signed(&mut out, n);
        }
        put_bytes(&mut out, b"abc");
        let mut bytes = Bytes(&out);
        for n in [0, 1, 127, 128, 300, u64::from(u32::MAX)] {
            assert_eq!(bytes.number(), Some(n));
        }
        for n in [0, -1, 1, 63, -64, 64, i64::from(i32::MIN)] {
            assert_eq!(bytes.signed(), Some(n));
        }
        assert_eq!(bytes.counted(), Some(&b"abc"[..]));
        assert!(bytes.is_empty() && bytes.number().is_none());
        assert_eq!(Bytes(&[0xff; 20]).number(), None);
        assert_eq!(Bytes(&[5, 1]).counted(), None);
    }
}
