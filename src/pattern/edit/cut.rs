//! A piece cut on a straight line and spread or lapped, its sides trued.

use crate::geometry::{Affine, PathSeg, Point, Rect, Vec2};
use crate::pattern::outline::{carried, cut_at_turns};
use crate::pattern::{Outline, Piece, StepProblem};
use kurbo::{ParamCurve, Shape};

/// A side that leans more than this many times its extent across the cut runs along the line rather than across it
/// (within 14 degrees); stretching it there would turn a hem into a side. Raising it cuts flatter edges.
const LEAN: f64 = 4.0;

/// A point this little past the line counts as on it, millimetres: a line laid through a point leaves that point
/// where it is, whatever rounding says.
const ON_LINE_MM: f64 = 1e-6;

/// Which way a cut is spread.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::pattern) enum Way {
    /// Away from the fold: x grows. The line runs along the fold.
    Out,
    /// Down the fold: y grows. The line is square to the fold.
    Down,
}

impl Way {
    /// The coordinate that grows.
    pub(in crate::pattern) fn of(self, p: Point) -> f64 {
        match self {
            Self::Out => p.x,
            Self::Down => p.y,
        }
    }

    fn range(self, bounds: &Rect) -> (f64, f64) {
        match self {
            Self::Out => (bounds.x0, bounds.x1),
            Self::Down => (bounds.y0, bounds.y1),
        }
    }

    fn step(self, mm: f64) -> Vec2 {
        match self {
            Self::Out => Vec2::new(mm, 0.0),
            Self::Down => Vec2::new(0.0, mm),
        }
    }
}

/// The line and the amount.
#[derive(Debug, Clone, Copy)]
pub(super) struct Cut<'a> {
    /// Which way the cut is spread.
    pub(super) way: Way,
    /// Where the line lies, millimetres from the frame's origin.
    pub(super) at_mm: f64,
    /// How far it is spread; negative laps it.
    pub(super) by_mm: f64,
    /// The line, as a person says it.
    pub(super) spoken: &'a str,
}

impl Cut<'_> {
    /// Everything past the line moves by the amount. A straight side across the line is joined end to end and stays
    /// straight; a curve across it is stretched between the places above and below where it turns round, so it has
    /// no step and no kink. Holes move with their middle.
    pub(super) fn spread(&self, piece: &mut Piece) -> Result<(), StepProblem> {
        self.split(&mut piece.outline);
        let smooth = piece.outline.smooth_joints();
        for index in 0..piece.outline.edges().len() {
            let spoken = piece.outline.spoken(index);
            for segment in &mut piece.outline.edges_mut()[index].segments {
                *segment = self.stretch(*segment, &spoken)?;
            }
        }
        piece.outline.blend_joints(&smooth);
        for hole in &mut piece.holes {
            if self.is_past(hole.bounds().center()) {
                *hole = hole.transformed(Affine::translate(self.way.step(self.by_mm)));
            }
        }
        Ok(())
    }

    fn is_past(&self, p: Point) -> bool {
        self.way.of(p) > self.at_mm + ON_LINE_MM
    }

    /// Cuts curves across the line where they turn round, so that each piece only goes one way.
    fn split(&self, outline: &mut Outline) {
        let across = |bounds: &Rect| {
            let (low, high) = self.way.range(bounds);
            high > self.at_mm + ON_LINE_MM && low <= self.at_mm + ON_LINE_MM
        };
        for edge in outline.edges_mut() {
            let pieces = edge.segments.iter().flat_map(|segment| match segment {
                PathSeg::Cubic(c) if across(&segment.bounding_box()) => {
                    cut_at_turns(*c, self.way).into_iter().map(PathSeg::Cubic).collect()
                }
                other => vec![*other],
            });
            edge.segments = pieces.collect();
        }
    }

    /// One segment after the cut: where it was, moved whole, or stretched between its ends.
    fn stretch(&self, segment: PathSeg, edge: &str) -> Result<PathSeg, StepProblem> {
        let (start, end) = (segment.start(), segment.end());
        let (fixed, moving) = match (self.is_past(start), self.is_past(end)) {
            (false, false) => return Ok(segment),
            (true, true) => return Ok(carried(segment, |p| p + self.way.step(self.by_mm))),
            (true, false) => (end, start),
            (false, true) => (start, end),
        };
        let room_mm = self.way.of(moving) - self.way.of(fixed);
        let along = (moving - fixed) - self.way.step(room_mm);
        let (line, edge) = (self.spoken.to_owned(), edge.to_owned());
        if along.hypot() > LEAN * room_mm {
            return Err(StepProblem::AlongEdge { line, edge });
        }
        if room_mm + self.by_mm <= 0.0 {
            return Err(StepProblem::TooShort { line, edge, room_mm });
        }
        let part = |p: Point| (self.way.of(p) - self.way.of(fixed)) / room_mm;
        Ok(carried(segment, |p| p + self.way.step(self.by_mm * part(p))))
    }
}
