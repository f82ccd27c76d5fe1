//! Room `curve`: a traced line enters, a few lines and cubic Béziers leave, with the error reached.
//!
//! Enters a closed [`Trace`], about one point a millimetre, millimetres on the table (x right, y down),
//! each with its standard deviation. Leaves a closed [`Ring`] in the same frame.

use crate::geometry::{Ring, RingError};

/// How near a fitted ring must be to what was traced.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tolerance {
    /// Largest departure of the ring from the true line, millimetres, beyond what the trace's own noise
    /// hides. Raising it gives fewer pieces.
    pub depart_mm: f64,
    /// Least change of direction that makes a corner, degrees. A smaller bend is rounded within `depart_mm`.
    pub corner_deg: f64,
}

impl Default for Tolerance {
    fn default() -> Self {
        Self { depart_mm: 0.1, corner_deg: 15.0 }
    }
}

/// A ring fitted to a trace.
#[derive(Debug, Clone, PartialEq)]
pub struct Fitted {
    /// Lines and cubics, tangent-continuous but at the corners.
    pub ring: Ring,
    /// Indices of the segments that begin at a corner, ascending.
    pub corners: Vec<usize>,
    /// Largest distance from the traced points (stray ones left out) to the ring, millimetres.
    pub worst_mm: f64,
    /// Root mean square of those distances, millimetres.
    pub rms_mm: f64,
    /// Standard deviation of the ring's own place across the line, typical, millimetres.
    pub sigma_mm: f64,
    /// How many traced points were left out as strays.
    pub strays: usize,
}

/// Why a trace has no fitted ring.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CurveError {
    /// Too few points to be an outline.
    #[error(
        "the traced line has {points} points, at least {needed} are needed; trace it again at about one point a millimetre"
    )]
    TooFew {
        /// Points given.
        points: usize,
        /// Points needed.
        needed: usize,
    },
    /// A place or a standard deviation is not a usable number.
    #[error("point {index} of the traced line is not a usable number; trace it again")]
    NotFinite {
        /// Which point, from 0.
        index: usize,
    },
    /// The tolerance cannot be met by any curve.
    #[error("the tolerance of {depart_mm} mm is not usable; give a length above 0")]
    Tolerance {
        /// The departure asked for.
        depart_mm: f64,
    },
    /// No ring within the tolerance.
    #[error("the fitted line does not close: {0}")]
    Ring(#[from] RingError),
}
