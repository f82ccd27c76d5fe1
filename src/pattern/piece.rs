//! A piece of the pattern.

use super::{Folded, Outline, Record};
use crate::geometry::Ring;

/// A piece: its finished line, its holes, and what is written on it.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// The finished line.
    pub outline: Outline,
    /// Holes, anticlockwise.
    pub holes: Vec<Ring>,
    /// What is written on it.
    pub record: Record,
}

impl Piece {
    /// The half as it was folded, lettered, before any step.
    #[must_use]
    pub fn from_folded(folded: &Folded, record: Record) -> Self {
        Self {
            outline: Outline::from_half(&folded.half, &folded.corners),
            holes: folded.holes.clone(),
            record,
        }
    }

    /// Its sizes.
    #[must_use]
    pub fn measures(&self) -> Measures {
        let bounds = self.outline.ring().bounds();
        // A half is opened out at the fold: across, everything counts twice.
        let times = if self.outline.on_fold() { 2.0 } else { 1.0 };
        let left = if self.outline.on_fold() { 0.0 } else { bounds.x0 };
        let fold_mm = if self.outline.on_fold() {
            self.outline.edges().last().map_or(0.0, |e| e.length_mm())
        } else {
            0.0
        };
        let holes: f64 = self.holes.iter().map(|h| h.area_mm2().abs()).sum();
        Measures {
            height_mm: bounds.height(),
            width_mm: times * (bounds.x1 - left),
            area_mm2: times * (self.outline.area_mm2() - holes),
            perimeter_mm: times * (self.outline.ring().length_mm() - fold_mm),
        }
    }
}

/// Sizes of the whole piece, opened out at the fold.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measures {
    /// From the highest to the lowest place, millimetres.
    pub height_mm: f64,
    /// From the leftmost to the rightmost place, millimetres.
    pub width_mm: f64,
    /// Area without the holes, mm².
    pub area_mm2: f64,
    /// Length of the outer line, mm.
    pub perimeter_mm: f64,
}
