//! A line as it was drawn on a paper pattern.

use super::ground::Ground;
use super::{Construction, LineKind};
use crate::geometry::{BezPath, Point, Vec2};
use crate::pattern::inside::FixedInside;
use crate::pattern::{Letter, Outline, StepProblem};
use kurbo::PathEl;

/// A drawn line; its two ends keep their way from the lettered point nearest to each, and what lies between follows
/// in proportion.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::pattern) struct Drawn {
    pub(in crate::pattern) kind: LineKind,
    pub(in crate::pattern) says: String,
    pub(in crate::pattern) path: BezPath,
    pub(in crate::pattern) ends: [(Point, FixedInside); 2],
}

impl Drawn {
    /// Ties a path, in the piece's frame now, to the piece's points.
    pub(in crate::pattern) fn tied(kind: LineKind, says: String, path: BezPath, outline: &Outline) -> Self {
        let points: Vec<Point> = path.elements().iter().filter_map(PathEl::end_point).collect();
        let tie = |at: Point| {
            let near = |a: &(Letter, Point)| a.1.distance(at);
            let first = (outline.edges()[0].from, outline.edges()[0].start());
            let nearest = outline.points().min_by(|a, b| near(a).total_cmp(&near(b)));
            let (point, from) = nearest.unwrap_or(first);
            (at, FixedInside::From { point, away: at - from })
        };
        let [first, last] = [points.first(), points.last()].map(|p| tie(p.copied().unwrap_or_default()));
        Self { kind, says, path, ends: [first, last] }
    }

    pub(super) fn draw(&self, ground: &Ground<'_>, out: &mut Construction) -> Result<(), StepProblem> {
        let outline = &ground.piece.outline;
        let [(a, first), (b, last)] = self.ends;
        let shifts = [first.find(outline)? - a, last.find(outline)? - b];
        let chord = b - a;
        let moved = |p: Point| {
            let t = if chord.hypot2() < 1e-9 { 0.0 } else { (p - a).dot(chord) / chord.hypot2() };
            p + Vec2::lerp(shifts[0], shifts[1], t.clamp(0.0, 1.0))
        };
        let path = self.path.iter().map(|el| match el {
            PathEl::MoveTo(p) => PathEl::MoveTo(moved(p)),
            PathEl::LineTo(p) => PathEl::LineTo(moved(p)),
            PathEl::QuadTo(p, q) => PathEl::QuadTo(moved(p), moved(q)),
            PathEl::CurveTo(p, q, r) => PathEl::CurveTo(moved(p), moved(q), moved(r)),
            PathEl::ClosePath => PathEl::ClosePath,
        });
        out.path(self.kind, &self.says, path.collect());
        Ok(())
    }
}
