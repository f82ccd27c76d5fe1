//! Marks that meet when an allowance is folded in.

use super::Edit;
use crate::pattern::construction::{Mark, MatchMark};
use crate::pattern::spot::Spot;
use crate::pattern::{Piece, StepProblem, StepText};
use crate::units::Unit;

/// Match marks across an allowance fold: one at the cut edge, one where it comes to lie, one across the fold. Folded right,
/// they meet.
///
/// ```toml
/// [[step]]
/// do = "match"
/// at = "middle of hem"
/// ```
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Match {
    at: Spot,
}

impl Match {
    /// How it is written.
    pub(super) const KIND: &str = "match";

    pub(super) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only(&["at"])?;
        Ok(Self { at: text.must_spot("at", "at = \"middle of hem\"")? })
    }
}

impl Edit for Match {
    fn spoken(&self) -> String {
        format!("match marks across the fold at {}", self.at.spoken())
    }

    fn unit(&self) -> Option<Unit> {
        None
    }

    fn apply(&self, piece: &mut Piece) -> Result<(), StepProblem> {
        let at = self.at.fix(&piece.outline)?;
        piece.marks.push(Mark::Match(MatchMark { at }));
        Ok(())
    }
}
