//! A closed outline of exact segments: lines and cubic Béziers.

use super::{Affine, BezPath, PathSeg, Point};
use kurbo::{ParamCurve, ParamCurveArclen, ParamCurveArea, Shape};

/// Why segments do not make a ring.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum RingError {
    /// No segments at all.
    #[error("the outline has no segments")]
    Empty,
    /// A segment does not begin where the one before it ends.
    #[error("segment {index} begins {gap_mm:.3} mm from where the one before it ends")]
    Gap {
        /// Which segment, from 0.
        index: usize,
        /// How far apart, millimetres.
        gap_mm: f64,
    },
}

/// A closed run of line and cubic segments, each beginning where the one before ends, the last ending
/// where the first begins.
#[derive(Debug, Clone, PartialEq)]
pub struct Ring {
    segments: Vec<PathSeg>,
}

/// Ends closer than this are one point, millimetres: far below any printer, above rounding in files.
const JOIN_MM: f64 = 1e-3;

impl Ring {
    /// A ring of these segments; ends within a thousandth of a millimetre are taken as one point.
    ///
    /// # Errors
    /// [`RingError::Empty`] without segments, [`RingError::Gap`] where two do not meet.
    pub fn new(segments: Vec<PathSeg>) -> Result<Self, RingError> {
        if segments.is_empty() {
            return Err(RingError::Empty);
        }
        for index in 0..segments.len() {
            let before = segments[(index + segments.len() - 1) % segments.len()];
            let gap_mm = before.end().distance(segments[index].start());
            if gap_mm > JOIN_MM {
                return Err(RingError::Gap { index, gap_mm });
            }
        }
        Ok(Self { segments })
    }

    /// The segments in order.
    #[must_use]
    pub fn segments(&self) -> &[PathSeg] {
        &self.segments
    }

    /// The same ring carried by a map.
    #[must_use]
    pub fn transformed(&self, map: Affine) -> Self {
        Self { segments: self.segments.iter().map(|s| map * *s).collect() }
    }

    /// The same as a closed path.
    #[must_use]
    pub fn path(&self) -> BezPath {
        let mut path = BezPath::new();
        path.move_to(self.segments[0].start());
        for segment in &self.segments {
            path.push(segment.as_path_el());
        }
        path.close_path();
        path
    }

    /// Signed area in mm²: positive when clockwise as seen (y down).
    #[must_use]
    pub fn area_mm2(&self) -> f64 {
        self.segments.iter().map(ParamCurveArea::signed_area).sum()
    }

    /// Length round the ring in mm, good to a micrometre.
    #[must_use]
    pub fn length_mm(&self) -> f64 {
        self.segments.iter().map(|s| s.arclen(1e-4)).sum()
    }

    /// The smallest upright box round it.
    #[must_use]
    pub fn bounds(&self) -> kurbo::Rect {
        self.path().bounding_box()
    }

    /// Points along the ring whose chords depart from it by at most `tolerance_mm`, the first not repeated.
    #[must_use]
    pub fn flatten(&self, tolerance_mm: f64) -> Vec<Point> {
        let mut out = Vec::new();
        for segment in &self.segments {
            let n = match segment {
                PathSeg::Line(_) => 1,
                PathSeg::Quad(q) => chords(
                    2.0 * (q.p0.to_vec2() - 2.0 * q.p1.to_vec2() + q.p2.to_vec2()).hypot(),
                    tolerance_mm,
                ),
                PathSeg::Cubic(c) => {
                    let a = (c.p0.to_vec2() - 2.0 * c.p1.to_vec2() + c.p2.to_vec2()).hypot();
                    let b = (c.p1.to_vec2() - 2.0 * c.p2.to_vec2() + c.p3.to_vec2()).hypot();
                    chords(6.0 * a.max(b), tolerance_mm)
                }
            };
            for i in 0..n {
                #[expect(clippy::cast_precision_loss, reason = "chord counts are small")]
                out.push(segment.eval(i as f64 / n as f64));
            }
        }
        out
    }
}

/// Chords of equal parameter so that each departs by at most `tolerance`: with M the largest second
/// derivative over the unit interval, M / (8 n²) ≤ tolerance (linear interpolation error).
fn chords(second_derivative: f64, tolerance: f64) -> usize {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "positive and clamped")]
    let n = (second_derivative / (8.0 * tolerance)).sqrt().ceil().clamp(1.0, 10_000.0) as usize;
    n
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::Line;

    #[test]
    fn a_square_has_its_area_and_length() {
        let p = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)].map(Point::from);
        let ring =
            Ring::new((0..4).map(|i| PathSeg::Line(Line::new(p[i], p[(i + 1) % 4]))).collect()).unwrap();
        assert!((ring.area_mm2() - 100.0).abs() < 1e-9, "clockwise with y down is positive");
        assert!((ring.length_mm() - 40.0).abs() < 1e-9);
        assert_eq!(ring.flatten(0.01).len(), 4);
    }

    /// TRADE check value 21 [arithmetic]: six panels of 24 x 24 in are 24 ft² net; a foot is 304.8 mm exactly.
    #[test]
    fn six_panels_of_two_feet_square_are_24_square_feet() {
        let side = 24.0 * 25.4;
        let p = [(0.0, 0.0), (side, 0.0), (side, side), (0.0, side)].map(Point::from);
        let panel =
            Ring::new((0..4).map(|i| PathSeg::Line(Line::new(p[i], p[(i + 1) % 4]))).collect()).unwrap();
        assert!((6.0 * panel.area_mm2() / (304.8 * 304.8) - 24.0).abs() < 1e-9);
    }

    #[test]
    fn a_gap_is_named() {
        let a = PathSeg::Line(Line::new((0.0, 0.0), (1.0, 0.0)));
        assert!(matches!(Ring::new(vec![a]), Err(RingError::Gap { index: 0, .. })));
    }
}
