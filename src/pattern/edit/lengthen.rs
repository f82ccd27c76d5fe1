//! Length added or taken at a line across the piece.

use crate::geometry::{Affine, PathSeg, Point, Rect};
use crate::pattern::outline::{carried, cut_at_level_places};
use crate::pattern::{Level, Outline, Piece, StepProblem, StepText};
use crate::units::Length;
use kurbo::{ParamCurve, Shape};

/// A side that leans more than this many times its height where it is cut runs along the line rather than across
/// it (within 14 degrees); stretching it there would turn a hem into a side. Raising it cuts flatter edges.
const LEAN: f64 = 4.0;

/// The piece is cut on a level line and spread (or lapped, for a negative amount); the sides are trued.
///
/// Everything past the line moves along the fold by the amount. A straight side across the line is joined end to
/// end and stays straight; a curve across it is stretched between the level places above and below, so it has no
/// step and no kink. Holes move with their middle.
///
/// ```toml
/// [[step]]
/// do = "lengthen"
/// by = "90mm"
/// at = "40mm below C"    # left out: the middle of the side
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Lengthen {
    /// How much; negative to shorten.
    pub by: Length,
    /// Where the line lies.
    pub at: Level,
}

impl Lengthen {
    /// How it is written.
    pub const KIND: &str = "lengthen";

    pub(in crate::pattern) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only(&["by", "at"])?;
        let example = "by = \"90mm\" (or by = \"-90mm\" to shorten)";
        let by = text.length("by", example)?;
        let by =
            by.ok_or_else(|| StepProblem::Missing { key: "by".to_owned(), example: example.to_owned() })?;
        Ok(Self { by, at: text.level("at")? })
    }

    pub(in crate::pattern) fn text(&self) -> StepText {
        let text = StepText::new(Self::KIND).with("by", &self.by);
        match self.at.written() {
            Some(at) => text.with("at", at),
            None => text,
        }
    }

    pub(in crate::pattern) fn spoken(&self) -> String {
        format!("lengthen by {} at the line {}", self.by, self.at.spoken())
    }

    pub(in crate::pattern) fn apply(&self, piece: &mut Piece) -> Result<(), StepProblem> {
        let line = Cut { y: self.at.resolve(&piece.outline)?, by: self.by.mm(), level: self.at.spoken() };
        line.split(&mut piece.outline);
        let smooth = piece.outline.smooth_joints();
        for index in 0..piece.outline.edges().len() {
            let spoken = piece.outline.spoken(index);
            for segment in &mut piece.outline.edges_mut()[index].segments {
                *segment = line.stretch(*segment, &spoken)?;
            }
        }
        piece.outline.blend_joints(&smooth);
        for hole in &mut piece.holes {
            if line.is_past(hole.bounds().center().y) {
                *hole = hole.transformed(Affine::translate((0.0, line.by)));
            }
        }
        Ok(())
    }
}

/// The line and the amount.
struct Cut<'a> {
    y: f64,
    by: f64,
    level: &'a str,
}

impl Cut<'_> {
    fn is_past(&self, y: f64) -> bool {
        /// A point this little below the line counts as on it, millimetres: a line laid through a point leaves
        /// that point where it is, whatever rounding says.
        const ON_LINE_MM: f64 = 1e-6;
        y > self.y + ON_LINE_MM
    }

    /// Cuts curves across the line where they run level, so that each piece goes only down or only up.
    fn split(&self, outline: &mut Outline) {
        for edge in outline.edges_mut() {
            edge.segments = edge
                .segments
                .iter()
                .flat_map(|segment| match segment {
                    PathSeg::Cubic(c) if self.is_across(&segment.bounding_box()) => {
                        cut_at_level_places(*c).into_iter().map(PathSeg::Cubic).collect()
                    }
                    other => vec![*other],
                })
                .collect();
        }
    }

    fn is_across(&self, bounds: &Rect) -> bool {
        self.is_past(bounds.y1) && !self.is_past(bounds.y0)
    }

    /// One segment after the cut: where it was, moved whole, or stretched between its ends.
    fn stretch(&self, segment: PathSeg, edge: &str) -> Result<PathSeg, StepProblem> {
        let (start, end) = (segment.start(), segment.end());
        let (fixed, moving) = match (self.is_past(start.y), self.is_past(end.y)) {
            (false, false) => return Ok(segment),
            (true, true) => return Ok(carried(segment, |p| Point::new(p.x, p.y + self.by))),
            (true, false) => (end, start),
            (false, true) => (start, end),
        };
        let height = moving.y - fixed.y;
        if (moving.x - fixed.x).abs() > LEAN * height {
            return Err(StepProblem::AlongEdge { level: self.level.to_owned(), edge: edge.to_owned() });
        }
        if height + self.by <= 0.0 {
            let (level, edge) = (self.level.to_owned(), edge.to_owned());
            return Err(StepProblem::TooShort { level, edge, room_mm: height });
        }
        Ok(carried(segment, |p| Point::new(p.x, p.y + self.by * ((p.y - fixed.y) / height))))
    }
}
