//! A run of segments moved outward by a distance.

use crate::geometry::{PathSeg, Point, Vec2};
use kurbo::{BezPath, CubicBez, Line, ParamCurve, ParamCurveDeriv, Shape};

/// The moved curve departs from its true distance by at most this, millimetres: half of what is promised.
const TOLERANCE_MM: f64 = 0.01;

/// Places along each curve where its bend is measured. A garment's curves bend slowly; more finds sharper bends.
const BEND_SAMPLES: u32 = 64;

/// Bends of a larger radius are straight, millimetres.
const STRAIGHT_RADIUS_MM: f64 = 100_000.0;

/// The tightest hollow and the tightest bulge of a run, radii in millimetres.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Tightest {
    pub(super) hollow_mm: Option<f64>,
    pub(super) bulge_mm: Option<f64>,
}

/// Measures how tightly a run bends. The cloth lies to the right of the way.
pub(super) fn tightest(run: &[PathSeg]) -> Tightest {
    let mut out = Tightest::default();
    for cubic in run.iter().filter_map(|s| if let PathSeg::Cubic(c) = s { Some(c) } else { None }) {
        for i in 0..=BEND_SAMPLES {
            let t = f64::from(i) / f64::from(BEND_SAMPLES);
            let (d1, d2) = (cubic.deriv().eval(t).to_vec2(), cubic.deriv().deriv().eval(t).to_vec2());
            let radius = d1.hypot().powi(3) / d1.cross(d2);
            if radius.is_nan() || radius.abs() > STRAIGHT_RADIUS_MM {
                continue;
            }
            // Turning right, towards the cloth, is a bulge.
            let tightest = if radius > 0.0 { &mut out.bulge_mm } else { &mut out.hollow_mm };
            *tightest = Some(tightest.map_or(radius.abs(), |r| r.min(radius.abs())));
        }
    }
    out
}

/// The run moved to the left of its way (outward, for a clockwise line) by `distance_mm`; negative moves it inward.
/// Cubics after R. Levien's method (kurbo's `offset_cubic`), within [`TOLERANCE_MM`].
pub(super) fn outward(run: &[PathSeg], distance_mm: f64) -> Vec<PathSeg> {
    let mut out: Vec<PathSeg> = Vec::new();
    for segment in run {
        let moved: Vec<PathSeg> = match segment {
            PathSeg::Line(l) => {
                let across = left(l.p1 - l.p0) * distance_mm;
                vec![PathSeg::Line(Line::new(l.p0 + across, l.p1 + across))]
            }
            PathSeg::Quad(q) => cubic(q.raise(), distance_mm),
            PathSeg::Cubic(c) => cubic(*c, distance_mm),
        };
        for piece in moved {
            let piece = match out.last() {
                Some(last) => beginning_at(piece, last.end()),
                None => piece,
            };
            out.push(piece);
        }
    }
    out
}

fn cubic(c: CubicBez, distance_mm: f64) -> Vec<PathSeg> {
    let mut path = BezPath::new();
    kurbo::offset::offset_cubic(c, -distance_mm, TOLERANCE_MM, &mut path);
    path.path_segments(TOLERANCE_MM).collect()
}

/// The unit vector to the left of a direction (y down: outward of a clockwise line).
fn left(direction: Vec2) -> Vec2 {
    Vec2::new(direction.y, -direction.x).normalize()
}

/// The same segment beginning exactly where the one before ends: smooth joints of the finished line leave gaps of
/// rounding, no more.
fn beginning_at(segment: PathSeg, start: Point) -> PathSeg {
    match segment {
        PathSeg::Line(l) => PathSeg::Line(Line::new(start, l.p1)),
        PathSeg::Quad(q) => beginning_at(PathSeg::Cubic(q.raise()), start),
        PathSeg::Cubic(c) => PathSeg::Cubic(CubicBez::new(start, c.p1, c.p2, c.p3)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::ParamCurveNearest;

    #[test]
    fn every_place_lies_at_the_distance() {
        let run =
            [PathSeg::Cubic(CubicBez::new((125.0, -6.0), (135.0, 126.5), (195.0, 240.45), (305.0, 259.0)))];
        for distance in [12.7, -12.7, 40.0] {
            let moved = outward(&run, distance);
            let mut seen = 0;
            for i in 0..=20 {
                for segment in &moved {
                    let p = segment.eval(f64::from(i) / 20.0);
                    let away = run[0].nearest(p, 1e-9).distance_sq.sqrt();
                    assert!((away - distance.abs()).abs() <= 2.0 * TOLERANCE_MM, "{away} for {distance}");
                    seen += 1;
                }
            }
            assert!(seen >= 21);
            // The armhole is hollow: outward is shorter, inward longer.
            let length =
                |s: &[PathSeg]| s.iter().map(|s| kurbo::ParamCurveArclen::arclen(s, 1e-4)).sum::<f64>();
            assert_eq!(length(&moved) < length(&run), distance > 0.0, "{distance}");
        }
        assert!(tightest(&run).hollow_mm.is_some_and(|r| r > 50.0));
        assert_eq!(tightest(&run).bulge_mm, None);
    }
}
