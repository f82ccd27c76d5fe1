//! Line kinds after ISO 128-2: widths in the ratio 2 to 1, dashes as multiples of the line's width.
//!
//! Full thick for outlines, full thin for dimensions and notes, dashed for edges that lie behind, long-dash-dot for
//! lines of symmetry: a fold is one. Lengths of dashes (12, 24, 3 and 0.5 widths) are the standard's, from memory.

use crate::geometry::{Line, Paint};

/// Thick line, millimetres: seen at arm's length, and its half width (0.25 mm) is below what a knife keeps to.
pub(super) const THICK_MM: f64 = 0.5;
/// Thin line, millimetres.
pub(super) const THIN_MM: f64 = 0.25;
/// Grey of things that are not the pattern: the page's own marks.
pub(super) const QUIET: Paint = Paint::grey(0.45);

/// A full line.
pub(super) fn full(width_mm: f64) -> Line {
    Line { width_mm, dashes_mm: Vec::new(), paint: Paint::BLACK }
}

/// A dashed line.
pub(super) fn dashed(width_mm: f64) -> Line {
    Line { dashes_mm: vec![12.0 * width_mm, 3.0 * width_mm], ..full(width_mm) }
}

/// A long-dash-dot line.
pub(super) fn dash_dot(width_mm: f64) -> Line {
    Line { dashes_mm: [24.0, 3.0, 0.5, 3.0].map(|n| n * width_mm).to_vec(), ..full(width_mm) }
}

/// A long-dash-double-dot line.
pub(super) fn dash_two_dots(width_mm: f64) -> Line {
    Line { dashes_mm: [24.0, 3.0, 0.5, 3.0, 0.5, 3.0].map(|n| n * width_mm).to_vec(), ..full(width_mm) }
}

/// A dotted line.
pub(super) fn dotted(width_mm: f64) -> Line {
    Line { dashes_mm: vec![width_mm, 3.0 * width_mm], ..full(width_mm) }
}

/// A line of short dashes, as stitches look.
pub(super) fn short_dashed(width_mm: f64) -> Line {
    Line { dashes_mm: vec![6.0 * width_mm, 3.0 * width_mm], ..full(width_mm) }
}

/// The same in another colour.
pub(super) fn painted(line: Line, paint: Paint) -> Line {
    Line { paint, ..line }
}
