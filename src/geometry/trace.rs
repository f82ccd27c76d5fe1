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

    /// Length of the closed line, millimetres.
    #[must_use]
    pub fn length_mm(&self) -> f64 {
        let n = self.points.len();
        (0..n).map(|i| self.points[i].at.distance(self.points[(i + 1) % n].at)).sum()
    }

    /// Length of it over which no edge is seen, millimetres.
    #[must_use]
    pub fn bridged_mm(&self) -> f64 {
        let n = self.points.len();
        let steps = (0..n).filter(|&i| self.points[i].bridged);
        steps.map(|i| self.points[i].at.distance(self.points[(i + 1) % n].at)).sum()
    }

    /// The longest stretch of points of which something holds: its middle and its length, millimetres.
    #[must_use]
    pub fn longest(&self, holds: impl Fn(&TracePoint) -> bool) -> Option<(Point, f64)> {
        let points = &self.points;
        let n = points.len();
        let first = (0..n).find(|&i| !holds(&points[i]))?;
        let mut best: Option<(usize, f64)> = None;
        let (mut start, mut length) = (first, 0.0);
        for i in 1..=n {
            let k = (first + i) % n;
            if holds(&points[k]) {
                length += points[k].at.distance(points[(k + n - 1) % n].at);
                if best.is_none_or(|b| length > b.1) {
                    best = Some((start + (k + n - start) % n / 2, length));
                }
            } else {
                start = k;
                length = 0.0;
            }
        }
        best.map(|(k, length)| (points[k % n].at, length))
    }
}
