//! A traced line: dense points with what is known of their error.

use super::Point;

/// One traced place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TracePoint {
    /// Where, in millimetres on the table.
    pub at: Point,
    /// Standard deviation of the place across the line, millimetres.
    pub sigma_mm: f64,
    /// True where the photograph showed no edge and the neighbours' curve was carried across.
    pub bridged: bool,
}

/// A closed traced line, about one point a millimetre, in order round the ring
/// (clockwise as seen for an outer line, the other way for a hole).
///
/// Corners are not rounded: where `corners` names an index, that point is the corner itself.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Trace {
    /// The points in order; the last is not the first again.
    pub points: Vec<TracePoint>,
    /// Indices of points that the tracer knows to be corners (its hint to the curve fit), ascending.
    pub corners: Vec<usize>,
}

impl Trace {
    /// The points alone.
    #[must_use]
    pub fn polyline(&self) -> Vec<Point> {
        self.points.iter().map(|p| p.at).collect()
    }
}
