//! Room `curve`.
//!
//! A traced line enters, a few lines and cubic Béziers leave, with the error reached.

use crate::geometry::Ring;

/// A ring fitted to a trace.
#[derive(Debug, Clone, PartialEq)]
pub struct Fitted {
    /// Lines and cubics, tangent-continuous but at the corners.
    pub ring: Ring,
    /// Indices of the segments that begin at a corner, ascending.
    pub corners: Vec<usize>,
    /// Largest distance from the traced points to the ring, millimetres.
    pub worst_mm: f64,
    /// Root mean square of those distances, millimetres.
    pub rms_mm: f64,
}
