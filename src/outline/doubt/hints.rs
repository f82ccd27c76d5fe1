//! What was settled of doubtful stretches, for the passes that follow.

use crate::geometry::Point;

/// What was settled, for the passes that follow.
#[derive(Debug, Default)]
pub(in crate::outline) struct Hints {
    /// Corners that are to stand.
    pub(super) corners: Vec<Point>,
    /// Corners that are not.
    pub(super) denied: Vec<Point>,
    /// Stretches near which alone their edge is to be looked for.
    pub(super) held: Vec<Point>,
}

/// Distance within which a corner found is the one meant, millimetres.
pub(super) const ABOUT_MM: f64 = 4.0;
/// Distance within which a corner is denied, millimetres.
pub(super) const DENIED_MM: f64 = 9.0;
/// A station this near a held place is held, millimetres.
const HELD_MM: f64 = 0.8;

impl Hints {
    /// Corners that have stood so far are to stand.
    pub(in crate::outline) fn settle(&mut self, corners: impl Iterator<Item = Point>) {
        self.corners.extend(corners);
    }

    /// Whether a corner here was settled.
    pub(in crate::outline) fn corner(&self, at: Point) -> bool {
        self.corners.iter().any(|c| c.distance(at) < ABOUT_MM)
    }

    /// Whether a corner here was found to be none.
    pub(in crate::outline) fn denies(&self, at: Point) -> bool {
        !self.corner(at) && self.denied.iter().any(|c| c.distance(at) < DENIED_MM)
    }

    /// Whether the edge is to be looked for near the line alone.
    pub(in crate::outline) fn holds(&self, at: Point) -> bool {
        self.held.iter().any(|p| p.distance(at) < HELD_MM)
    }

    /// With what was settled after it: where the two speak of one corner, the later is right.
    pub(in crate::outline) fn and_then(mut self, later: Self) -> Self {
        let near = |list: &[Point], p: &Point, most: f64| list.iter().any(|q| q.distance(*p) < most);
        self.corners.retain(|c| !near(&later.denied, c, DENIED_MM));
        self.denied.retain(|c| !near(&later.corners, c, DENIED_MM));
        self.corners.extend(later.corners);
        self.denied.extend(later.denied);
        self.held.extend(later.held);
        self
    }
}
