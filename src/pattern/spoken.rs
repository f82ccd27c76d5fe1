//! Lengths as they stand on paper, where a maker may hold either tape.

use crate::units::Unit;

/// The unit of words that name one only.
pub const SPOKEN_UNIT: Unit = Unit::Millimetre;

/// Millimetres to a tenth and, in brackets, inches as on a tape: `873.4 mm (34 3/8 in)`.
#[must_use]
pub fn in_both_units(mm: f64) -> String {
    format!("{mm:.1} mm ({})", Unit::Inch.show(mm))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_tapes_are_served() {
        assert_eq!(in_both_units(165.1), "165.1 mm (6 1/2 in)");
    }
}
