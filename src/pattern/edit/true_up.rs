//! A join made true: square at the fold, running on smoothly elsewhere.

use super::Edit;
use crate::geometry::{CubicBez, PathSeg, Vec2};
use crate::pattern::joint;
use crate::pattern::{Outline, Piece, StepProblem, StepText};
use crate::units::Unit;

/// At an end of the fold the line is bent to meet it square, so that the opened piece has neither V nor peak; at any
/// other point the two edges run on into each other. No point moves; straight edges give way only at the fold.
///
/// ```toml
/// [[step]]
/// do = "true"
/// point = "A"
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct True {
    point: String,
}

impl True {
    /// How it is written.
    pub(super) const KIND: &str = "true";

    pub(super) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only(&["point"])?;
        Ok(Self { point: text.must("point", "point = \"A\"")?.to_owned() })
    }
}

impl Edit for True {
    fn spoken(&self) -> String {
        format!("true the line at {}", self.point)
    }

    fn unit(&self) -> Option<Unit> {
        None
    }

    fn apply(&self, piece: &mut Piece) -> Result<(), StepProblem> {
        let outline = &mut piece.outline;
        let index = outline.find_point(&self.point)?;
        if outline.is_on_fold(index) {
            square_at_fold(outline, index);
            return Ok(());
        }
        let before = outline.before(index);
        let (Some(mut incoming), mut outgoing) =
            (outline.edges()[before].segments.last().copied(), outline.edges()[index].segments[0])
        else {
            return Ok(());
        };
        if matches!((incoming, outgoing), (PathSeg::Line(_), PathSeg::Line(_))) {
            return Err(StepProblem::BothStraight { point: self.point.clone() });
        }
        joint::blend(&mut incoming, &mut outgoing);
        let edges = outline.edges_mut();
        if let Some(segment) = edges[before].segments.last_mut() {
            *segment = incoming;
        }
        edges[index].segments[0] = outgoing;
        Ok(())
    }
}

/// Bends the segment that meets the fold at this point: it leaves square to the fold and arrives as it did before.
fn square_at_fold(outline: &mut Outline, point: usize) {
    const OUT: Vec2 = Vec2::new(1.0, 0.0);
    if point == 0 {
        let segment = &mut outline.edges_mut()[0].segments[0];
        *segment = leaving(*segment, OUT);
    } else if let Some(segment) = outline.edges_mut()[point - 1].segments.last_mut() {
        *segment = leaving(segment.reverse(), OUT).reverse();
    }
}

/// The segment leaving its start in this direction; a straight one becomes a curve with handles of a third.
fn leaving(segment: PathSeg, direction: Vec2) -> PathSeg {
    match segment {
        PathSeg::Line(l) => {
            let third = (l.p1 - l.p0) / 3.0;
            PathSeg::Cubic(CubicBez::new(l.p0, l.p0 + direction * third.hypot(), l.p1 - third, l.p1))
        }
        PathSeg::Quad(q) => leaving(PathSeg::Cubic(q.raise()), direction),
        PathSeg::Cubic(c) => {
            let handle = (c.p1 - c.p0).hypot();
            PathSeg::Cubic(CubicBez::new(c.p0, c.p0 + direction * handle, c.p2, c.p3))
        }
    }
}
