//! The letters of a piece's points.

use std::fmt;

/// A point's letter: A to Z, then AA, AB and so on. Given once when the half is made; an edit never re-letters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Letter(u32);

impl Letter {
    /// The letter at this place in the row, 0 for A.
    #[must_use]
    pub const fn nth(index: u32) -> Self {
        Self(index)
    }

    /// The one after it.
    #[must_use]
    pub const fn next(self) -> Self {
        Self(self.0 + 1)
    }

    /// Reads `A`, `b`, `AA`; `None` when the text is anything but letters of the alphabet, or longer than two.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        if text.is_empty() || text.len() > 2 {
            return None;
        }
        let mut index = 0;
        for b in text.bytes() {
            if !b.is_ascii_alphabetic() {
                return None;
            }
            index = index * 26 + u32::from(b.to_ascii_uppercase() - b'A') + 1;
        }
        Some(Self(index - 1))
    }
}

impl fmt::Display for Letter {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut left = self.0 + 1;
        let mut text = String::new();
        while left > 0 {
            left -= 1;
            text.insert(0, char::from(b'A' + u8::try_from(left % 26).unwrap_or(0)));
            left /= 26;
        }
        f.write_str(&text)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_read_back() {
        for index in 0..26 * 27 {
            assert_eq!(Letter::parse(&Letter::nth(index).to_string()), Some(Letter::nth(index)));
        }
        assert_eq!(Letter::nth(0).to_string(), "A");
        assert_eq!(Letter::nth(25).next().to_string(), "AA");
        assert_eq!(Letter::parse("A1"), None);
        assert_eq!(Letter::parse(""), None);
    }
}
