//! A smooth line through places: the cubic spline over the chords' lengths.
//!
//! Directions and curvature run on at every inner place. With p the places, h the chords and m the derivatives sought,
//! h₊ m₋ + 2 (h₋ + h₊) m + h₋ m₊ = 3 (h₊ (p − p₋) / h₋ + h₋ (p₊ − p) / h₊); at an end either m is given, or the curvature is
//! nothing there: 2 m + m₊ = 3 (p₊ − p) / h₊ (C. de Boor, "A Practical Guide to Splines", Springer 1978, chapter IV).

use crate::geometry::{CubicBez, PathSeg, Point, Vec2};

/// Places nearer to each other than this are one, millimetres.
pub(super) const APART_MM: f64 = 0.5;

/// Cubics through two places or more that lie apart, with the directions at the two ends where they are given (length 1).
pub(super) fn through(places: &[Point], into: Option<Vec2>, on: Option<Vec2>) -> Vec<PathSeg> {
    let last = places.len() - 1;
    let chord: Vec<Vec2> = places.windows(2).map(|w| w[1] - w[0]).collect();
    let h: Vec<f64> = chord.iter().map(|c| c.hypot()).collect();
    // Rows (below, on, above the diagonal; right side), swept down and up again.
    let row = |k: usize| match k {
        0 => into.map_or((0.0, 2.0, 1.0, chord[0] * (3.0 / h[0])), |d| (0.0, 1.0, 0.0, d)),
        k if k == last => on.map_or((1.0, 2.0, 0.0, chord[k - 1] * (3.0 / h[k - 1])), |d| (0.0, 1.0, 0.0, d)),
        k => {
            let right = (chord[k - 1] * (h[k] / h[k - 1]) + chord[k] * (h[k - 1] / h[k])) * 3.0;
            (h[k], 2.0 * (h[k - 1] + h[k]), h[k - 1], right)
        }
    };
    let mut above = vec![0.0; places.len()];
    let mut m = vec![Vec2::ZERO; places.len()];
    for k in 0..=last {
        let (a, b, c, right) = row(k);
        let (before, carried) = if k == 0 { (0.0, Vec2::ZERO) } else { (above[k - 1], m[k - 1]) };
        let pivot = b - a * before;
        above[k] = c / pivot;
        m[k] = (right - carried * a) / pivot;
    }
    for k in (0..last).rev() {
        let next = m[k + 1];
        m[k] -= next * above[k];
    }
    let cubic = |k: usize| {
        let third = h[k] / 3.0;
        CubicBez::new(places[k], places[k] + m[k] * third, places[k + 1] - m[k + 1] * third, places[k + 1])
    };
    (0..last).map(|k| PathSeg::Cubic(cubic(k))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::{ParamCurve, ParamCurveDeriv};

    /// A natural spline through places of a straight line is the line; curvature runs on at inner places.
    #[test]
    fn it_passes_every_place_smoothly() {
        let places = [(0.0, 0.0), (30.0, 12.0), (55.0, 8.0), (90.0, 40.0)].map(Point::from);
        let given = Vec2::new(0.6, 0.8);
        let line = through(&places, Some(given), None);
        assert_eq!(line.len(), 3);
        for (k, segment) in line.iter().enumerate() {
            assert!(segment.start().distance(places[k]) < 1e-12);
            assert!(segment.end().distance(places[k + 1]) < 1e-12);
        }
        let cubic = |k: usize| line[k].to_cubic();
        let h = |k: usize| places[k].distance(places[k + 1]);
        for k in 0..2 {
            let first = |c: CubicBez, t: f64, h: f64| c.deriv().eval(t).to_vec2() / h;
            let second = |c: CubicBez, t: f64, h: f64| c.deriv().deriv().eval(t).to_vec2() / (h * h);
            assert!((first(cubic(k), 1.0, h(k)) - first(cubic(k + 1), 0.0, h(k + 1))).hypot() < 1e-12);
            assert!((second(cubic(k), 1.0, h(k)) - second(cubic(k + 1), 0.0, h(k + 1))).hypot() < 1e-12);
        }
        let start = cubic(0).p1 - cubic(0).p0;
        assert!(start.normalize().cross(given).abs() < 1e-12);
        let end = cubic(2);
        assert!(((end.p3 - end.p2) - (end.p2 - end.p1)).hypot() < 1e-9, "no curvature at a free end");
        let straight = through(&[(0.0, 0.0), (7.0, 7.0), (20.0, 20.0)].map(Point::from), None, None);
        assert!(straight.iter().all(|s| (s.eval(0.37).x - s.eval(0.37).y).abs() < 1e-12));
    }
}
