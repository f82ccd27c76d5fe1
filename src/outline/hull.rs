//! The convex hull of places.

use crate::geometry::Point;

/// The convex hull of the visible corners.
pub(super) struct Hull {
    points: Vec<Point>,
}

impl Hull {
    pub(super) fn of(points: &[Point]) -> Self {
        #[expect(clippy::cast_possible_truncation, reason = "whole tenths of a millimetre on a table")]
        let whole: Vec<imageproc::point::Point<i32>> = points
            .iter()
            .map(|p| imageproc::point::Point::new((p.x * 10.0).round() as i32, (p.y * 10.0).round() as i32))
            .collect();
        let hull = imageproc::geometry::convex_hull(whole);
        Self {
            points: hull.iter().map(|p| Point::new(f64::from(p.x) / 10.0, f64::from(p.y) / 10.0)).collect(),
        }
    }

    pub(super) fn contains(&self, p: Point) -> bool {
        let n = self.points.len();
        let turns = (0..n).map(|i| (self.points[(i + 1) % n] - self.points[i]).cross(p - self.points[i]));
        let (mut left, mut right) = (false, false);
        for t in turns {
            left |= t < 0.0;
            right |= t > 0.0;
        }
        !(left && right)
    }
}
