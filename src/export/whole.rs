//! A half opened out at its fold: exact mirror images of the same lines and cubics, the fold itself dropped.

use super::ExportError;
use crate::geometry::{Affine, PathSeg, Ring};
use kurbo::ParamCurve;

/// The whole piece of a half whose last segment is the fold on x = 0. Holes come twice, each a ring of its own.
///
/// # Errors
/// [`ExportError::NotHalf`] when the last segment does not lie on the fold.
pub fn open_out(half: &Ring, holes: &[Ring]) -> Result<Vec<Ring>, ExportError> {
    /// A fold departs from x = 0 by rounding only, millimetres.
    const ON_FOLD_MM: f64 = 1e-6;
    let (fold, right) = half.segments().split_last().ok_or(ExportError::Nothing)?;
    let ends = [fold.start(), fold.end()];
    if right.is_empty() || !matches!(fold, PathSeg::Line(_)) || ends.iter().any(|p| p.x.abs() > ON_FOLD_MM) {
        return Err(ExportError::NotHalf);
    }
    let mut segments = right.to_vec();
    segments.extend(mirrored(right));
    let mut rings = vec![Ring::new(segments).map_err(|_| ExportError::NotHalf)?];
    for hole in holes {
        rings.push(hole.clone());
        rings.push(Ring::new(mirrored(hole.segments())).map_err(|_| ExportError::NotHalf)?);
    }
    Ok(rings)
}

/// Mirrored in x = 0 and run backwards, so that the winding stays.
fn mirrored(segments: &[PathSeg]) -> Vec<PathSeg> {
    segments.iter().rev().map(|s| Affine::FLIP_X * s.reverse()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Point;
    use kurbo::{CubicBez, Line};

    fn half() -> Ring {
        let corners = [(0.0, 0.0), (30.0, 0.0), (80.0, 120.0), (0.0, 120.0)].map(Point::from);
        Ring::new(vec![
            PathSeg::Line(Line::new(corners[0], corners[1])),
            PathSeg::Cubic(CubicBez::new(
                corners[1],
                Point::new(32.0, 60.0),
                Point::new(60.0, 70.0),
                corners[2],
            )),
            PathSeg::Line(Line::new(corners[2], corners[3])),
            PathSeg::Line(Line::new(corners[3], corners[0])),
        ])
        .unwrap()
    }

    #[test]
    fn the_whole_is_symmetric_and_twice_the_half() {
        let rings = open_out(&half(), &[]).unwrap();
        assert_eq!(rings.len(), 1);
        assert!((rings[0].area_mm2() - 2.0 * half().area_mm2()).abs() < 1e-9, "and clockwise like the half");
        assert!((rings[0].length_mm() - 2.0 * (half().length_mm() - 120.0)).abs() < 1e-6);
        let mirror = Ring::new(mirrored(rings[0].segments())).unwrap();
        for (a, b) in mirror.flatten(0.1).iter().zip(rings[0].flatten(0.1)) {
            assert!(a.distance(b) < 1e-12);
        }
    }

    #[test]
    fn a_ring_without_a_fold_is_refused() {
        let whole = open_out(&half(), &[]).unwrap().remove(0);
        assert_eq!(open_out(&whole, &[]), Err(ExportError::NotHalf));
    }
}
