//! Why a text is no length.

/// Why a text is no length, with the text and with what would be right.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum LengthError {
    /// Nothing is written.
    #[error("no length is given; write for example 165mm, 16.5cm or 6 1/2in")]
    Empty,
    /// A number without a unit.
    #[error("`{text}` has no unit; add one, for example {number}mm, {number}cm or {number}in")]
    NoUnit {
        /// As written.
        text: String,
        /// The number that lacks it.
        number: String,
    },
    /// A word that is no unit.
    #[error(
        "`{text}`: `{word}` is not a unit of length; use mm, cm, m, in (or \"), ft (or '), yd, or oz for leather"
    )]
    UnknownUnit {
        /// As written.
        text: String,
        /// The word.
        word: String,
    },
    /// It does not read as numbers and units in turn.
    #[error("`{text}` does not read as a length; write for example 165mm, 16,5cm, 6 1/2in or 1' 6\"")]
    Unreadable {
        /// As written.
        text: String,
    },
    /// A fraction with nothing or too much above or below the line.
    #[error("`{text}`: `{fraction}` is not a fraction of an inch or other unit; write for example 6 1/2in")]
    BadFraction {
        /// As written.
        text: String,
        /// The fraction.
        fraction: String,
    },
    /// A comma before three figures: thousands for some people, decimals for others.
    #[error(
        "`{text}` can be read in two ways, as {thousands} or as {decimal}; write the one you mean with its unit"
    )]
    AmbiguousComma {
        /// As written.
        text: String,
        /// Read as thousands.
        thousands: String,
        /// Read as decimals.
        decimal: String,
    },
    /// A range of anything but leather ounces.
    #[error(
        "`{text}` is a range; only leather ounces are given so (3-4oz); write one length, or 6 1/2in for a fraction"
    )]
    Range {
        /// As written.
        text: String,
    },
    /// Nothing or less where something must be.
    #[error("`{text}` is not above zero; give a length above zero, for example 165mm")]
    NotPositive {
        /// As written.
        text: String,
    },
    /// Longer than any garment, sheet or roll.
    #[error("`{text}` is more than {limit_m} m; check the unit")]
    TooLong {
        /// As written.
        text: String,
        /// The limit, metres.
        limit_m: f64,
    },
}
