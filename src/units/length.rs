//! A length that remembers how it was written.

use super::{LengthError, Unit, parse};
use serde::{Deserialize, Deserializer, Serialize, Serializer, de};
use std::{fmt, str::FromStr};

/// A length: millimetres, and the text as a person wrote it.
///
/// It is written back as it was typed, so a file keeps `6 1/2in` and never turns it into `165.1 mm`.
///
/// ```
/// use onfold::units::Length;
/// let length = Length::parse("6 1/2in")?;
/// assert_eq!(length.mm(), 6.5 * 25.4);
/// assert_eq!(length.to_string(), "6 1/2in");
/// # Ok::<(), onfold::units::LengthError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Length {
    mm: f64,
    unit: Unit,
    written: String,
}

impl Length {
    /// Reads a length with its unit; it may be negative or nothing.
    ///
    /// # Errors
    /// [`LengthError`], which names the text and says what would be right.
    pub fn parse(text: &str) -> Result<Self, LengthError> {
        Self::read(text, None)
    }

    /// The same, but a plain number is taken in `unit`.
    ///
    /// # Errors
    /// As [`Length::parse`].
    pub fn parse_or(text: &str, unit: Unit) -> Result<Self, LengthError> {
        Self::read(text, Some(unit))
    }

    /// Reads a length with its unit that must be above zero: a thickness, a width of paper.
    ///
    /// # Errors
    /// As [`Length::parse`], and [`LengthError::NotPositive`].
    pub fn parse_positive(text: &str) -> Result<Self, LengthError> {
        let length = match Self::parse(text) {
            // `-3` as a thickness lacks its unit too, but that it is below zero is what the person must hear first.
            Err(LengthError::NoUnit { text, number }) if number.starts_with('-') => {
                return Err(LengthError::NotPositive { text });
            }
            other => other?,
        };
        if length.mm > 0.0 { Ok(length) } else { Err(LengthError::NotPositive { text: length.written }) }
    }

    fn read(text: &str, default: Option<Unit>) -> Result<Self, LengthError> {
        let (mm, unit) = parse::parse(text, default)?;
        Ok(Self { mm, unit, written: text.trim().to_owned() })
    }

    /// A length that nobody has typed, written in `unit` as [`Unit::show`] does.
    #[must_use]
    pub fn new(mm: f64, unit: Unit) -> Self {
        Self { mm, unit, written: unit.show(mm) }
    }

    /// Its millimetres.
    #[must_use]
    pub fn mm(&self) -> f64 {
        self.mm
    }

    /// The unit it was written in; the first one where it has several (`1' 6"`: feet).
    #[must_use]
    pub fn unit(&self) -> Unit {
        self.unit
    }
}

/// As it was written.
impl fmt::Display for Length {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.written)
    }
}

impl FromStr for Length {
    type Err = LengthError;
    fn from_str(text: &str) -> Result<Self, LengthError> {
        Self::parse(text)
    }
}

impl Serialize for Length {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.written)
    }
}

impl<'de> Deserialize<'de> for Length {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = String::deserialize(deserializer)?;
        Self::parse(&text).map_err(de::Error::custom)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_text_is_kept_as_written() {
        for text in ["6 1/2in", "6.5\"", "16,5cm", "3-4 oz"] {
            let length = Length::parse(text).unwrap();
            let json = serde_json::to_string(&length).unwrap();
            let back: Length = serde_json::from_str(&json).unwrap();
            assert_eq!(back, length);
            assert_eq!(back.to_string(), text);
        }
    }

    #[test]
    fn a_size_must_be_above_zero() {
        for text in ["-3", "-3mm", "0in"] {
            let error = Length::parse_positive(text).unwrap_err();
            assert_eq!(error, LengthError::NotPositive { text: text.to_owned() });
            assert!(error.to_string().contains("above zero"));
        }
        assert!(Length::parse_positive("2mm").is_ok());
    }
}
