//! Where two segments meet: their directions there, whether they run on smoothly, and blending them again after
//! an edit.

use crate::geometry::{PathSeg, Point, Vec2};

/// Segments that turn by less than this where they meet run on smoothly, radians (half a degree: the trade's
/// bound for "square at the fold", common practice). Raising it blends real, faint corners away.
pub(super) const SMOOTH_RAD: f64 = 0.5 * std::f64::consts::PI / 180.0;

/// Points closer than this are the same, millimetres: below it a direction is rounding noise.
const SAME_MM: f64 = 1e-9;

/// Direction in which the segment leaves its start, of length 1; `None` for a segment of no length.
pub(super) fn start_direction(segment: &PathSeg) -> Option<Vec2> {
    let p = controls(segment);
    p[1..].iter().map(|q| *q - p[0]).find(|v| v.hypot() > SAME_MM).map(Vec2::normalize)
}

/// Direction in which the segment arrives at its end, of length 1; `None` for a segment of no length.
pub(super) fn end_direction(segment: &PathSeg) -> Option<Vec2> {
    start_direction(&segment.reverse()).map(|v| -v)
}

fn controls(segment: &PathSeg) -> Vec<Point> {
    match segment {
        PathSeg::Line(l) => vec![l.p0, l.p1],
        PathSeg::Quad(q) => vec![q.p0, q.p1, q.p2],
        PathSeg::Cubic(c) => vec![c.p0, c.p1, c.p2, c.p3],
    }
}

/// Turn from `before` into `after` where they meet, radians, in (-π, π].
pub(super) fn turn_rad(before: &PathSeg, after: &PathSeg) -> f64 {
    match (end_direction(before), start_direction(after)) {
        (Some(a), Some(b)) => a.cross(b).atan2(a.dot(b)),
        _ => 0.0,
    }
}

/// Makes `before` run on into `after` without a kink, moving only handles of curves: a straight line keeps its
/// direction and the curve takes it; two curves meet in the mean of their directions. Two lines are left alone.
pub(super) fn blend(before: &mut PathSeg, after: &mut PathSeg) {
    let (Some(a), Some(b)) = (end_direction(before), start_direction(after)) else { return };
    let along = match (&before, &after) {
        (PathSeg::Line(_), PathSeg::Line(_)) => return,
        (PathSeg::Line(_), _) => a,
        (_, PathSeg::Line(_)) => b,
        _ => (a + b).normalize(),
    };
    if let PathSeg::Cubic(c) = before {
        c.p2 = c.p3 - along * (c.p3 - c.p2).hypot();
    }
    if let PathSeg::Cubic(c) = after {
        c.p1 = c.p0 + along * (c.p1 - c.p0).hypot();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::{CubicBez, Line};

    #[test]
    fn the_curve_gives_way_to_the_line() {
        let mut line = PathSeg::Line(Line::new((0.0, 0.0), (10.0, 1.0)));
        let kept = line;
        let mut curve = PathSeg::Cubic(CubicBez::new((10.0, 1.0), (14.0, 1.0), (20.0, 5.0), (20.0, 10.0)));
        assert!(turn_rad(&line, &curve).abs() > 0.09);
        blend(&mut line, &mut curve);
        assert!(turn_rad(&line, &curve).abs() < 1e-12);
        assert_eq!(line, kept);
    }
}
