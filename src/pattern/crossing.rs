//! Whether a finished line crosses itself or the fold.

use super::{Outline, StepProblem};
use crate::geometry::Point;
use kurbo::{BezPath, PathEl};

/// Chords of the check depart from the curve by at most this, millimetres: lines nearer than this to each other
/// may pass as one. Lowering it costs time.
const CHORD_MM: f64 = 0.02;

/// Farther left of the fold than this counts as across it, millimetres: above rounding, below any pen.
const ACROSS_MM: f64 = 1e-6;

/// A chord of the line and the edge that it belongs to.
struct Chord {
    edge: usize,
    index: usize,
    a: Point,
    b: Point,
}

/// Checks that the line touches itself nowhere and stays on its side of the fold.
///
/// Chords are sorted by their left ends and each is compared with those that begin before it ends (plane sweep;
/// M. I. Shamos and D. Hoey, "Geometric intersection problems", FOCS 1976, doi:10.1109/SFCS.1976.16, without
/// the status tree: a garment has few chords abreast).
///
/// # Errors
/// [`StepProblem::Crosses`] or [`StepProblem::CrossesFold`].
pub(super) fn check(outline: &Outline) -> Result<(), StepProblem> {
    let mut chords = chords(outline);
    let count = chords.len();
    if outline.on_fold()
        && let Some(over) = chords.iter().find(|c| c.a.x < -ACROSS_MM || c.b.x < -ACROSS_MM)
    {
        return Err(StepProblem::CrossesFold { edge: outline.spoken(over.edge) });
    }
    chords.sort_by(|p, q| p.a.x.min(p.b.x).total_cmp(&q.a.x.min(q.b.x)));
    for (i, p) in chords.iter().enumerate() {
        let right = p.a.x.max(p.b.x);
        for q in chords[i + 1..].iter().take_while(|q| q.a.x.min(q.b.x) <= right) {
            let apart = p.index.abs_diff(q.index);
            if apart > 1 && apart < count - 1 && meet(p, q) {
                let (first, second) = if p.index < q.index { (p, q) } else { (q, p) };
                return Err(StepProblem::Crosses {
                    first: outline.spoken(first.edge),
                    second: if first.edge == second.edge {
                        "itself".to_owned()
                    } else {
                        outline.spoken(second.edge)
                    },
                });
            }
        }
    }
    if outline.area_mm2() <= 0.0 {
        let edge = outline.spoken(0);
        return Err(StepProblem::Crosses { first: edge, second: "the rest of the piece".to_owned() });
    }
    Ok(())
}

fn chords(outline: &Outline) -> Vec<Chord> {
    let mut out = Vec::new();
    for (edge, e) in outline.edges().iter().enumerate() {
        let path = BezPath::from_path_segments(e.segments.iter().copied());
        let mut from = e.start();
        kurbo::flatten(path, CHORD_MM, |el| {
            if let PathEl::LineTo(to) = el {
                if to != from {
                    out.push(Chord { edge, index: out.len(), a: from, b: to });
                }
                from = to;
            }
        });
    }
    out
}

/// Whether two chords share a point.
fn meet(p: &Chord, q: &Chord) -> bool {
    let side = |a: Point, b: Point, c: Point| (b - a).cross(c - a);
    let (d1, d2) = (side(p.a, p.b, q.a), side(p.a, p.b, q.b));
    let (d3, d4) = (side(q.a, q.b, p.a), side(q.a, q.b, p.b));
    let boxes_meet = p.a.y.min(p.b.y) <= q.a.y.max(q.b.y) && q.a.y.min(q.b.y) <= p.a.y.max(p.b.y);
    boxes_meet && d1 * d2 <= 0.0 && d3 * d4 <= 0.0
}
