//! Folding: a whole outline becomes a half pattern, true at the fold, with a report of wear.
//!
//! Enters a fitted whole outline with its holes, millimetres on the table. Leaves the half in its own
//! frame: the fold on x = 0, its top at the origin, cloth at x ≥ 0, y down.

use crate::geometry::{Affine, Point, Ring, Vec2};

/// Which half of a worn garment makes the pattern.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Keep {
    /// The mean of both halves.
    #[default]
    Mean,
    /// The left half as seen with the top up.
    Left,
    /// The right half as seen with the top up.
    Right,
}

/// The fold line in the traced frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Axis {
    /// A point of it: the fold's top.
    pub point: Point,
    /// Its direction from top to bottom, of length 1.
    pub direction: Vec2,
}

/// How well the fold line is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AxisSigma {
    /// Standard deviation of its place across itself at the middle of the garment, millimetres.
    pub across_mm: f64,
    /// Standard deviation of its direction, radians.
    pub turn_rad: f64,
}

/// How far left and right depart from each other at one place of the half.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WearSample {
    /// Place on the half, its frame, millimetres.
    pub at: Point,
    /// Outward direction of the outline there, of length 1.
    pub outward: Vec2,
    /// How far the right edge stands outside the mirrored left edge, millimetres; negative where the left
    /// edge stands outside.
    pub right_out_mm: f64,
}

/// How far left and right depart, for a person to read.
#[derive(Debug, Clone, PartialEq)]
pub struct WearReport {
    /// Along the half from the fold's top to its bottom.
    pub samples: Vec<WearSample>,
    /// Root mean square of the differences, millimetres.
    pub rms_mm: f64,
    /// The largest difference by size, signed as in [`WearSample`].
    pub worst: WearSample,
}

/// A half pattern folded from a traced whole.
#[derive(Debug, Clone, PartialEq)]
pub struct Folded {
    /// The half: begins at the fold's top (0, 0), clockwise, and ends with the straight fold line up to it.
    pub half: Ring,
    /// Indices of the half's segments that begin at a corner, ascending; 0 and the last are always there.
    pub corners: Vec<usize>,
    /// Its holes in the same frame, anticlockwise.
    pub holes: Vec<Ring>,
    /// The fold line in the traced frame.
    pub axis: Axis,
    /// How well it is known.
    pub axis_sigma: AxisSigma,
    /// How far left and right depart.
    pub wear: WearReport,
    /// The half's frame from the traced frame: a turn and a shift.
    pub half_from_traced: Affine,
}
