//! Plain lines, the centre line, and words.

use super::ground::Ground;
use super::{Construction, LineKind, WorkWords};
use crate::geometry::Point;
use crate::pattern::StepProblem;
use crate::pattern::inside::FixedInside;

/// A straight line between two places.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::pattern) struct PlainLine {
    pub(in crate::pattern) kind: LineKind,
    pub(in crate::pattern) from: FixedInside,
    pub(in crate::pattern) to: FixedInside,
    pub(in crate::pattern) says: String,
}

impl PlainLine {
    pub(super) fn draw(&self, ground: &Ground<'_>, out: &mut Construction) -> Result<(), StepProblem> {
        let outline = &ground.piece.outline;
        out.line(self.kind, &self.says, &[self.from.find(outline)?, self.to.find(outline)?]);
        Ok(())
    }
}

/// The middle of a piece that has no fold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::pattern) struct Centre {
    /// Across the piece instead of down it.
    pub(in crate::pattern) across: bool,
}

impl Centre {
    pub(super) fn draw(self, ground: &Ground<'_>, out: &mut Construction) -> Result<(), StepProblem> {
        let outline = &ground.piece.outline;
        if outline.on_fold() && !self.across {
            return Err(StepProblem::OnFold { what: "the centre of a half".to_owned() });
        }
        let bounds = outline.ring().bounds();
        let middle = bounds.center();
        let ends = if self.across {
            [Point::new(bounds.x0, middle.y), Point::new(bounds.x1, middle.y)]
        } else {
            [Point::new(middle.x, bounds.y0), Point::new(middle.x, bounds.y1)]
        };
        out.line(LineKind::Centre, "centre", &ends);
        Ok(())
    }
}

/// Words that the maker asked for.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::pattern) struct Words {
    pub(in crate::pattern) at: FixedInside,
    pub(in crate::pattern) words: String,
    pub(in crate::pattern) size_mm: f64,
    pub(in crate::pattern) turn_deg: f64,
}

impl Words {
    pub(super) fn draw(&self, ground: &Ground<'_>, out: &mut Construction) -> Result<(), StepProblem> {
        let at = self.at.find(&ground.piece.outline)?;
        let Self { words, size_mm, turn_deg, .. } = self.clone();
        out.words.push(WorkWords { at, words, size_mm, turn_deg });
        Ok(())
    }
}
