//! Two runs of the cut line brought to meet at a corner.

use crate::geometry::{PathSeg, Point, Vec2};
use crate::pattern::joint::{end_direction, start_direction};
use kurbo::{CubicBez, Line, ParamCurve, ParamCurveDeriv};

/// Chords of a curve when crossings are looked for. A cut line's curves are gentle between its joints.
const CHORDS: u32 = 32;

/// A crossing is found to this, millimetres.
const CROSSING_MM: f64 = 1e-9;

/// Newton steps at most; from a chord's crossing four are enough.
const STEPS: usize = 20;

/// Ends nearer than this meet already, millimetres: rounding of smooth joints.
pub(super) const SAME_MM: f64 = 1e-3;

/// A place on a run: which segment, and its parameter there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Place {
    segment: usize,
    t: f64,
}

/// The run with its last segment carried straight on by `length_mm`: a line grows, a curve gets a line after it.
pub(super) fn carried_on(run: &[PathSeg], length_mm: f64) -> Vec<PathSeg> {
    let mut out = run.to_vec();
    let Some(last) = out.last_mut() else { return out };
    let Some(direction) = end_direction(last) else { return out };
    let end = last.end() + direction * length_mm;
    match last {
        PathSeg::Line(l) => l.p1 = end,
        other => {
            let line = Line::new(other.end(), end);
            out.push(PathSeg::Line(line));
        }
    }
    out
}

/// The run with its first segment carried straight back by `length_mm`.
pub(super) fn carried_back(run: &[PathSeg], length_mm: f64) -> Vec<PathSeg> {
    reversed(&carried_on(&reversed(run), length_mm))
}

/// The run the other way round.
pub(super) fn reversed(run: &[PathSeg]) -> Vec<PathSeg> {
    run.iter().rev().map(PathSeg::reverse).collect()
}

/// The place where two runs cross, nearest to `corner`: on each run, and where it is.
pub(super) fn crossing(a: &[PathSeg], b: &[PathSeg], corner: Point) -> Option<(Place, Place, Point)> {
    let mut best: Option<(Place, Place, Point)> = None;
    for (i, p) in a.iter().enumerate() {
        for (j, q) in b.iter().enumerate() {
            for (t, u) in chord_crossings(p, q) {
                let Some((t, u, at)) = refined(p, q, t, u) else { continue };
                if best.is_none_or(|(.., known)| at.distance(corner) < known.distance(corner)) {
                    best = Some((Place { segment: i, t }, Place { segment: j, t: u }, at));
                }
            }
        }
    }
    best
}

/// The run up to a place.
pub(super) fn up_to(run: &[PathSeg], place: Place, at: Point) -> Vec<PathSeg> {
    let mut out = run[..place.segment].to_vec();
    let part = run[place.segment].subsegment(0.0..place.t);
    out.push(ending_at(part, at));
    out.retain(|s| s.start().distance(s.end()) > CROSSING_MM);
    out
}

/// The run from a place on.
pub(super) fn from(run: &[PathSeg], place: Place, at: Point) -> Vec<PathSeg> {
    let back = Place { segment: run.len() - 1 - place.segment, t: 1.0 - place.t };
    reversed(&up_to(&reversed(run), back, at))
}

/// The segment with its end set exactly.
pub(super) fn ending_at(segment: PathSeg, end: Point) -> PathSeg {
    match segment {
        PathSeg::Line(l) => PathSeg::Line(Line::new(l.p0, end)),
        PathSeg::Quad(q) => ending_at(PathSeg::Cubic(q.raise()), end),
        PathSeg::Cubic(c) => PathSeg::Cubic(CubicBez::new(c.p0, c.p1, c.p2, end)),
    }
}

/// Whether two runs leave their meeting without a corner.
pub(super) fn is_smooth(a: &[PathSeg], b: &[PathSeg], within_rad: f64) -> bool {
    match (a.last().and_then(end_direction), b.first().and_then(start_direction)) {
        (Some(a), Some(b)) => a.cross(b).atan2(a.dot(b)).abs() < within_rad,
        _ => true,
    }
}

/// Parameters at which chords of the two segments cross.
fn chord_crossings(p: &PathSeg, q: &PathSeg) -> Vec<(f64, f64)> {
    let count = |s: &PathSeg| if matches!(s, PathSeg::Line(_)) { 1 } else { CHORDS };
    let (n, m) = (count(p), count(q));
    let part = |i: u32, n: u32| f64::from(i) / f64::from(n);
    let mut out = Vec::new();
    for i in 0..n {
        let (a, b) = (p.eval(part(i, n)), p.eval(part(i + 1, n)));
        for j in 0..m {
            let (c, d) = (q.eval(part(j, m)), q.eval(part(j + 1, m)));
            let (ab, cd, ac) = (b - a, d - c, c - a);
            let determinant = ab.cross(cd);
            if determinant == 0.0 {
                continue;
            }
            let (x, y) = (ac.cross(cd) / determinant, ac.cross(ab) / determinant);
            if (0.0..=1.0).contains(&x) && (0.0..=1.0).contains(&y) {
                out.push(((f64::from(i) + x) / f64::from(n), (f64::from(j) + y) / f64::from(m)));
            }
        }
    }
    out
}

/// Newton from the chords' crossing to the curves'.
fn refined(p: &PathSeg, q: &PathSeg, mut t: f64, mut u: f64) -> Option<(f64, f64, Point)> {
    for _ in 0..STEPS {
        let gap = p.eval(t) - q.eval(u);
        if gap.hypot() < CROSSING_MM {
            return Some((t.clamp(0.0, 1.0), u.clamp(0.0, 1.0), p.eval(t)));
        }
        let (dp, dq) = (derivative(p, t), derivative(q, u));
        let determinant = dp.cross(-dq);
        if determinant == 0.0 {
            return None;
        }
        t += (-gap).cross(-dq) / determinant;
        u += dp.cross(-gap) / determinant;
    }
    None
}

fn derivative(segment: &PathSeg, t: f64) -> Vec2 {
    match segment {
        PathSeg::Line(l) => l.p1 - l.p0,
        PathSeg::Quad(q) => q.deriv().eval(t).to_vec2(),
        PathSeg::Cubic(c) => c.deriv().eval(t).to_vec2(),
    }
}
