//! The units that lengths are read and shown in.

/// Millimetres in an inch, exact.
const INCH_MM: f64 = 25.4;

/// Inches are shown to this part of an inch: the sixteenth is the finest line on a common tape. A larger
/// number shows finer, at the price of fractions nobody can find on the tape.
const TAPE_PARTS: u32 = 16;

/// A unit of length.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Unit {
    /// 1 mm.
    Millimetre,
    /// 10 mm.
    Centimetre,
    /// 1000 mm.
    Metre,
    /// 25.4 mm.
    Inch,
    /// 12 in.
    Foot,
    /// 36 in.
    Yard,
    /// The leather trade's ounce of thickness: 1/64 in.
    LeatherOunce,
}

impl Unit {
    /// How many millimetres one of it is.
    #[must_use]
    pub const fn mm(self) -> f64 {
        match self {
            Self::Millimetre => 1.0,
            Self::Centimetre => 10.0,
            Self::Metre => 1000.0,
            Self::Inch => INCH_MM,
            Self::Foot => 12.0 * INCH_MM,
            Self::Yard => 36.0 * INCH_MM,
            Self::LeatherOunce => INCH_MM / 64.0,
        }
    }

    /// The unit that a word or sign stands for, in any case of letters.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Self> {
        Some(match word.to_lowercase().as_str() {
            "mm" | "millimetre" | "millimetres" | "millimeter" | "millimeters" => Self::Millimetre,
            "cm" | "centimetre" | "centimetres" | "centimeter" | "centimeters" => Self::Centimetre,
            "m" | "metre" | "metres" | "meter" | "meters" => Self::Metre,
            "\"" | "in" | "inch" | "inches" => Self::Inch,
            "'" | "ft" | "foot" | "feet" => Self::Foot,
            "yd" | "yds" | "yard" | "yards" => Self::Yard,
            "oz" | "ounce" | "ounces" => Self::LeatherOunce,
            _ => return None,
        })
    }

    /// The length in this unit, for people: `165.3 mm`, `16.53 cm`, `1.653 m`, `3.5 oz`; inches, feet and yards as
    /// inches to the nearest sixteenth, `6 1/2 in`.
    #[must_use]
    pub fn show(self, mm: f64) -> String {
        match self {
            Self::Millimetre => format!("{} mm", decimal(mm, 1)),
            Self::Centimetre => format!("{} cm", decimal(mm / 10.0, 2)),
            Self::Metre => format!("{} m", decimal(mm / 1000.0, 3)),
            Self::Inch | Self::Foot | Self::Yard => show_inches(mm, TAPE_PARTS),
            Self::LeatherOunce => format!("{} oz", decimal(mm / self.mm(), 2)),
        }
    }

    /// The same with its sign always written: `+90 mm`, `-1/2 in`.
    #[must_use]
    pub fn show_change(self, mm: f64) -> String {
        let text = self.show(mm);
        if text.starts_with('-') { text } else { format!("+{text}") }
    }

    /// An area: `cm²` to whole ones for the metric units, `in²` to tenths for the others.
    #[must_use]
    pub fn show_area(self, mm2: f64) -> String {
        match self {
            Self::Millimetre | Self::Centimetre | Self::Metre => format!("{} cm²", decimal(mm2 / 100.0, 0)),
            _ => format!("{} in²", decimal(mm2 / (INCH_MM * INCH_MM), 1)),
        }
    }
}

/// Inches as a tape shows them: whole and fraction in lowest terms, to the nearest `1/parts` of an inch.
/// `parts` is a power of two, commonly 16 or 32.
#[must_use]
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "rounded, positive, far below 2^64"
)]
pub(super) fn show_inches(mm: f64, parts: u32) -> String {
    let parts = u64::from(parts.max(1));
    #[expect(clippy::cast_precision_loss, reason = "parts is small")]
    let count = (mm.abs() / INCH_MM * parts as f64).round() as u64;
    let sign = if mm < 0.0 && count > 0 { "-" } else { "" };
    let (whole, mut over, mut of) = (count / parts, count % parts, parts);
    while over > 0 && over.is_multiple_of(2) && of.is_multiple_of(2) {
        over /= 2;
        of /= 2;
    }
    match (whole, over) {
        (_, 0) => format!("{sign}{whole} in"),
        (0, _) => format!("{sign}{over}/{of} in"),
        _ => format!("{sign}{whole} {over}/{of} in"),
    }
}

/// A number with at most `places` decimals, without needless zeros, never `-0`.
fn decimal(value: f64, places: usize) -> String {
    let text = format!("{value:.places$}");
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn inches_are_shown_as_on_a_tape() {
        for (mm, shown) in [
            (165.1, "6 1/2 in"),
            (25.4, "1 in"),
            (9.525, "3/8 in"),
            (0.0, "0 in"),
            (-12.7, "-1/2 in"),
            (-0.1, "0 in"),
        ] {
            assert_eq!(Unit::Inch.show(mm), shown);
        }
        assert_eq!(show_inches(25.4 / 32.0, 32), "1/32 in");
        assert_eq!(show_inches(25.4 * 31.9 / 32.0, 16), "1 in", "rounds up to the whole");
    }

    #[test]
    fn metric_has_no_needless_zeros() {
        assert_eq!(Unit::Millimetre.show(90.0), "90 mm");
        assert_eq!(Unit::Millimetre.show(90.26), "90.3 mm");
        assert_eq!(Unit::Millimetre.show(-0.01), "0 mm");
        assert_eq!(Unit::Centimetre.show(165.0), "16.5 cm");
        assert_eq!(Unit::Millimetre.show_change(90.0), "+90 mm");
        assert_eq!(Unit::Inch.show_area(645.16), "1 in²");
        assert_eq!(Unit::Millimetre.show_area(10_000.0), "100 cm²");
    }

    #[test]
    fn leather_ounce_after_trade_table() {
        // TRADE.md check value 14: 3.5 oz leather is 1.389 mm (1 oz = 1/64 in; common practice, arithmetic).
        assert!((3.5 * Unit::LeatherOunce.mm() - 1.389).abs() < 5e-4);
    }
}
