//! Lengths as people write them, to and from millimetres.
//!
//! Text enters (`6 1/2in`, `6½"`, `16,5 cm`, `165mm`, `1' 6"`, leather ounces `3-4 oz`); a [`Length`] leaves,
//! which is millimetres and the text as it was written. The other way round, [`Unit::show`] writes millimetres
//! in the unit a person thinks in: decimals of a millimetre or centimetre, fractions of an inch.
//!
//! Definitions: 1 in = 25.4 mm exactly (international yard and pound agreement, 1959); one ounce of leather is
//! 1/64 in (common practice of the trade).

mod error;
mod length;
mod parse;
mod unit;

pub use error::LengthError;
pub use length::Length;
pub use unit::Unit;
