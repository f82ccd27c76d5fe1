//! Construction: every line, hole and word that the knife, the skiving knife, the fold, the punch and the needle follow.
//!
//! A drafted piece enters: its finished line with allowances, corners and tabs on its edges, and its [`Mark`]s, which name
//! places on that line and so follow every edit. A [`Construction`] leaves, in the piece's own frame, millimetres, y down;
//! nothing in it is edited: it is made anew from the piece. On a half only the half is drawn; counts and lengths of thread
//! are those of the whole, opened out.

mod drawn;
mod ground;
mod guide;
mod hole;
mod line;
mod mark;
mod measure;
mod notch;
mod place;
mod plain;
mod slits;
mod stitch;

pub(super) use drawn::Drawn;
pub(super) use guide::Guide;
pub(super) use hole::Hole;
pub use line::{LineKind, WorkHole, WorkLine, WorkWords};
pub(super) use mark::Mark;
pub use measure::{EdgeMeasure, Stitching, WidthMeasure};
pub(super) use notch::{MatchMark, Notch};
pub(super) use place::{Placement, from_top_middle};
pub(super) use plain::{Centre, PlainLine, Words};
pub(super) use slits::Slits;
pub(super) use stitch::StitchLine;
pub use stitch::{lockstitch_thread, respaced, saddle_thread};

use super::{CutLine, Piece, StepProblem};
use ground::Ground;

/// Everything that is drawn of a piece besides its finished line and its holes.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Construction {
    /// The line that the knife follows; `None` where that is the finished line.
    pub cut: Option<CutLine>,
    /// Lines, in drawing order.
    pub lines: Vec<WorkLine>,
    /// Holes to punch or drill; stitch holes are in [`Construction::stitching`].
    pub holes: Vec<WorkHole>,
    /// Words that the maker asked for.
    pub words: Vec<WorkWords>,
    /// Stitch lines with their holes; each has its line among [`Construction::lines`] too.
    pub stitching: Vec<Stitching>,
}

impl Piece {
    /// Makes everything that is drawn of the piece.
    ///
    /// # Errors
    /// [`StepProblem`], where a mark's edge or point is gone or a line cannot be made; never for a piece that
    /// [`super::draft()`] made, which checks it after every step.
    pub fn construction(&self) -> Result<Construction, StepProblem> {
        let cut = self.cut_line()?;
        let ground = Ground { piece: self, cut: cut.as_ref() };
        let mut out = Construction::default();
        ground.fold_lines(&mut out);
        draw(&self.marks, &ground, &mut out)?;
        Ok(Construction { cut, ..out })
    }

    /// Whether its marks from number `first` on can be drawn, the cut line being known.
    ///
    /// # Errors
    /// As [`Piece::construction`].
    pub(super) fn try_marks(&self, first: usize, cut: Option<&CutLine>) -> Result<(), StepProblem> {
        draw(&self.marks[first..], &Ground { piece: self, cut }, &mut Construction::default())
    }
}

fn draw(marks: &[Mark], ground: &Ground<'_>, out: &mut Construction) -> Result<(), StepProblem> {
    for mark in marks {
        mark.draw(ground, out)
            .map_err(|problem| StepProblem::Mark { mark: mark.spoken(), problem: Box::new(problem) })?;
    }
    Ok(())
}
