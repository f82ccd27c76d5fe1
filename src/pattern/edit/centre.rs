//! The centre line of a piece that has no fold.

use super::Edit;
use crate::pattern::construction::{Centre as CentreMark, Mark};
use crate::pattern::{Piece, StepProblem, StepText};
use crate::units::Unit;

/// A line down (or across) the middle of a piece. The fold is the centre of a half.
///
/// ```toml
/// [[step]]
/// do = "centre"
/// piece = "pocket"
/// way = "down"             # left out: down; or across
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Centre {
    across: bool,
}

impl Centre {
    /// How it is written.
    pub(super) const KIND: &str = "centre";

    pub(super) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only(&["way"])?;
        Ok(Self { across: text.choice("way", &[("down", false), ("across", true)])?.unwrap_or(false) })
    }
}

impl Edit for Centre {
    fn spoken(&self) -> String {
        format!("a centre line {}", if self.across { "across" } else { "down" })
    }

    fn unit(&self) -> Option<Unit> {
        None
    }

    fn apply(&self, piece: &mut Piece) -> Result<(), StepProblem> {
        piece.marks.push(Mark::Centre(CentreMark { across: self.across }));
        Ok(())
    }
}
