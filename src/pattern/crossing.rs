//! Whether a finished line crosses itself or the fold.

use super::{Outline, StepProblem};
use crate::geometry::{BezPath, PathSeg, Point};
use kurbo::PathEl;

/// Chords of the check depart from the curve by at most this, millimetres: lines nearer than this to each other
/// may pass as one. Lowering it costs time.
const CHORD_MM: f64 = 0.02;

/// Farther left of the fold than this counts as across it, millimetres: above rounding, below any pen.
const ACROSS_MM: f64 = 1e-6;

/// Places nearer to each other than this are one, millimetres: a curve's last chord may be all rounding, and then those on
/// either side of it touch without crossing.
const SAME_MM: f64 = 1e-6;

/// A chord of the line and the run that it belongs to.
struct Chord {
    run: usize,
    index: usize,
    a: Point,
    b: Point,
}

/// Checks that the line touches itself nowhere and stays on its side of the fold.
///
/// # Errors
/// [`StepProblem::Crosses`] or [`StepProblem::CrossesFold`].
pub(super) fn check(outline: &Outline) -> Result<(), StepProblem> {
    let runs: Vec<&[PathSeg]> = outline.edges().iter().map(|e| e.segments.as_slice()).collect();
    if outline.on_fold()
        && let Some(over) = chords(&runs).iter().find(|c| c.a.x < -ACROSS_MM || c.b.x < -ACROSS_MM)
    {
        return Err(StepProblem::CrossesFold { edge: outline.spoken(over.run) });
    }
    if let Some((first, second, _)) = first_crossing(&runs) {
        let second = if first == second { "itself".to_owned() } else { outline.spoken(second) };
        return Err(StepProblem::Crosses { first: outline.spoken(first), second });
    }
    if outline.area_mm2() <= 0.0 {
        let second = "the rest of the piece".to_owned();
        return Err(StepProblem::Crosses { first: outline.spoken(0), second });
    }
    Ok(())
}

/// The first two runs of a closed line that cross, by their numbers (the same twice for a run that crosses itself), and where.
///
/// Chords are sorted by their left ends and each is compared with those that begin before it ends (plane sweep;
/// M. I. Shamos and D. Hoey, "Geometric intersection problems", FOCS 1976, doi:10.1109/SFCS.1976.16, without
/// the status tree: a garment has few chords abreast).
pub(super) fn first_crossing<R: AsRef<[PathSeg]>>(runs: &[R]) -> Option<(usize, usize, Point)> {
    let mut chords = chords(runs);
    let count = chords.len();
    chords.sort_by(|p, q| p.a.x.min(p.b.x).total_cmp(&q.a.x.min(q.b.x)));
    for (i, p) in chords.iter().enumerate() {
        let right = p.a.x.max(p.b.x);
        for q in chords[i + 1..].iter().take_while(|q| q.a.x.min(q.b.x) <= right) {
            let apart = p.index.abs_diff(q.index);
            if apart > 1 && apart < count - 1 && meet(p, q) {
                return Some((p.run.min(q.run), p.run.max(q.run), meeting(p, q)));
            }
        }
    }
    None
}

fn chords<R: AsRef<[PathSeg]>>(runs: &[R]) -> Vec<Chord> {
    let mut out = Vec::new();
    for (run, segments) in runs.iter().enumerate() {
        let path = BezPath::from_path_segments(segments.as_ref().iter().copied());
        let mut from = Point::ZERO;
        kurbo::flatten(path, CHORD_MM, |el| match el {
            PathEl::LineTo(to) if to.distance(from) > SAME_MM => {
                out.push(Chord { run, index: out.len(), a: from, b: to });
                from = to;
            }
            PathEl::MoveTo(to) => from = to,
            _ => {}
        });
    }
    out
}

/// A point that two chords share.
fn meeting(p: &Chord, q: &Chord) -> Point {
    let (along, across) = (p.b - p.a, q.b - q.a);
    let turn = along.cross(across);
    // Chords that lie on each other share the end of one of them.
    let part = if turn == 0.0 { 0.0 } else { ((q.a - p.a).cross(across) / turn).clamp(0.0, 1.0) };
    p.a + along * part
}

/// Whether two chords share a point.
fn meet(p: &Chord, q: &Chord) -> bool {
    let side = |a: Point, b: Point, c: Point| (b - a).cross(c - a);
    let (d1, d2) = (side(p.a, p.b, q.a), side(p.a, p.b, q.b));
    let (d3, d4) = (side(q.a, q.b, p.a), side(q.a, q.b, p.b));
    let boxes_meet = p.a.y.min(p.b.y) <= q.a.y.max(q.b.y) && q.a.y.min(q.b.y) <= p.a.y.max(p.b.y);
    boxes_meet && d1 * d2 <= 0.0 && d3 * d4 <= 0.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::Line;

    #[test]
    fn a_run_that_ends_in_rounding_crosses_nothing() {
        let line = |a: (f64, f64), b: (f64, f64)| PathSeg::Line(Line::new(a, b));
        // It comes to its end from above, oversteps it by rounding alone, and the next run leaves the other way.
        let runs = [
            vec![
                line((0.0, 0.0), (50.0, 0.0)),
                line((50.0, 0.0), (50.0 - 1e-10, 60.0)),
                line((50.0 - 1e-10, 60.0), (50.0, 60.0)),
            ],
            vec![line((50.0, 60.0), (0.0, 60.0))],
            vec![line((0.0, 60.0), (0.0, 0.0))],
        ];
        assert!(first_crossing(&runs).is_none());
        let crossed = [
            vec![line((0.0, 0.0), (50.0, 60.0))],
            vec![line((50.0, 60.0), (0.0, 60.0))],
            vec![line((0.0, 60.0), (50.0, 0.0))],
            vec![line((50.0, 0.0), (0.0, 0.0))],
        ];
        assert!(first_crossing(&crossed).is_some());
    }
}
