//! How large the sheets came out of the printer.

use super::layout;
use crate::geometry::Point;

/// Print scale: true millimetres for each nominal one, across and down the sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    /// Across the sheet (x).
    pub across: f64,
    /// Down the sheet (y).
    pub down: f64,
}

impl Scale {
    /// Printed at exactly 100 %.
    pub const TRUE: Self = Self { across: 1.0, down: 1.0 };

    /// From what the ruler says of the checked block (nominally 180 x 240 mm).
    #[must_use]
    pub fn measured(width_mm: f64, height_mm: f64) -> Self {
        Self { across: width_mm / layout::BOARD_WIDTH_MM, down: height_mm / layout::BOARD_HEIGHT_MM }
    }

    /// True place on the sheet of a nominal one.
    #[must_use]
    pub fn true_from_nominal(self, p: Point) -> Point {
        Point::new(p.x * self.across, p.y * self.down)
    }

    /// Nominal place on the sheet of a true one.
    #[must_use]
    pub fn nominal_from_true(self, p: Point) -> Point {
        Point::new(p.x / self.across, p.y / self.down)
    }
}
