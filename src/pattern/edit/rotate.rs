//! Edges turned about a point.

use super::Edit;
use crate::geometry::{Affine, Point};
use crate::pattern::outline::carried;
use crate::pattern::{Piece, StepProblem, StepText};
use crate::units::{Length, Unit};

/// Edges that follow each other turn about a lettered point, one of their two ends, until the other end has moved by an
/// amount: as the sides of a dart do. They keep their shape and length; the edge beyond the moved end keeps its far end
/// and follows.
///
/// The angle is 2 asin(d / 2R), d the amount and R the distance of the moved end from the point.
///
/// ```toml
/// [[step]]
/// do = "rotate"
/// pivot = "B"
/// edges = ["armhole"]
/// by = "15mm"              # clockwise as seen; negative: anticlockwise
/// ```
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Rotate {
    pivot: String,
    edges: Vec<String>,
    by: Length,
}

impl Rotate {
    /// How it is written.
    pub(super) const KIND: &str = "rotate";

    pub(super) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only(&["pivot", "edges", "by"])?;
        Ok(Self {
            pivot: text.must("pivot", "pivot = \"B\"")?.to_owned(),
            edges: text.must_edges()?,
            by: text.must_length("by", "by = \"15mm\"")?,
        })
    }
}

impl Edit for Rotate {
    fn spoken(&self) -> String {
        format!("rotate {} about {} by {}", self.edges.join(", "), self.pivot, self.by)
    }

    fn unit(&self) -> Option<Unit> {
        Some(self.by.unit())
    }

    fn apply(&self, piece: &mut Piece) -> Result<(), StepProblem> {
        let outline = &mut piece.outline;
        let pivot = outline.find_point(&self.pivot)?;
        let mut run = self.edges.iter().map(|name| outline.find_edge(name)).collect::<Result<Vec<_>, _>>()?;
        run.sort_unstable();
        run.dedup();
        let follow = run.windows(2).all(|w| w[0] + 1 == w[1]) && run.len() + 1 < outline.edges().len();
        let (first, last) = (run[0], run[run.len() - 1]);
        let end = outline.after(last);
        if !follow || run.iter().any(|&e| outline.is_fold(e)) {
            return Err(StepProblem::NotARun { edges: self.edges.join(", ") });
        }
        if pivot != first && pivot != end {
            return Err(StepProblem::NotAnEnd {
                edge: self.edges.join(", "),
                point: self.pivot.clone(),
                ends: format!("{} and {}", outline.edges()[first].from, outline.edges()[end].from),
            });
        }
        let far = if pivot == first { end } else { first };
        if outline.is_on_fold(far) {
            return Err(StepProblem::OnFold { what: format!("point {}", outline.edges()[far].from) });
        }
        let smooth = outline.smooth_joints();
        let (centre, from) = (outline.edges()[pivot].start(), outline.edges()[far].start());
        let radius_mm = centre.distance(from);
        let part = self.by.mm() / (2.0 * radius_mm);
        if part.abs() >= 1.0 {
            return Err(StepProblem::OpensTooFar { radius_mm });
        }
        let turn = Affine::rotate_about(2.0 * part.asin(), centre);
        let to = turn * from;
        for &edge in &run {
            for segment in &mut outline.edges_mut()[edge].segments {
                *segment = turn * *segment;
            }
        }
        let beyond = if far == end { end } else { outline.before(first) };
        let edge = &mut outline.edges_mut()[beyond];
        let fixed = if far == end { edge.end() } else { edge.start() };
        let chord = from - fixed;
        let follows = |p: Point| p + (to - from) * ((p - fixed).dot(chord) / chord.hypot2());
        for segment in &mut edge.segments {
            *segment = carried(*segment, follows);
        }
        // Exactly where the turned run ends now.
        close_up(outline.edges_mut(), beyond, far == end, to);
        outline.blend_joints(&smooth);
        Ok(())
    }
}

/// Sets the end of an edge exactly.
fn close_up(edges: &mut [crate::pattern::Edge], edge: usize, at_start: bool, to: Point) {
    use crate::geometry::PathSeg;
    let segments = &mut edges[edge].segments;
    let last = segments.len() - 1;
    let segment = &mut segments[if at_start { 0 } else { last }];
    match (segment, at_start) {
        (PathSeg::Line(l), true) => l.p0 = to,
        (PathSeg::Line(l), false) => l.p1 = to,
        (PathSeg::Cubic(c), true) => c.p0 = to,
        (PathSeg::Cubic(c), false) => c.p3 = to,
        (PathSeg::Quad(q), true) => q.p0 = to,
        (PathSeg::Quad(q), false) => q.p2 = to,
    }
}
