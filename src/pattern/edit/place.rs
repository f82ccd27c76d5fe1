//! Where another piece is laid.

use super::Make;
use crate::pattern::bundle::Bundle;
use crate::pattern::construction::{Mark, Placement};
use crate::pattern::inside::Inside;
use crate::pattern::{StepProblem, StepText};
use crate::units::Unit;

/// The line on which another piece is laid and sewn: the middle of that piece's top lies at the place.
///
/// ```toml
/// [[step]]
/// do = "place"
/// what = "pocket"
/// out = "110mm"
/// down = "420mm"
/// turn = "0"               # degrees, clockwise; left out: none
/// ```
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Place {
    what: String,
    at: Inside,
    turn_deg: f64,
}

impl Place {
    /// How it is written.
    pub(super) const KIND: &str = "place";

    pub(super) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only(&[&Inside::KEYS[..], &["what", "turn"]].concat())?;
        Ok(Self {
            what: text.must("what", "what = \"pocket\"")?.to_owned(),
            at: Inside::read(text)?,
            turn_deg: text.degrees("turn")?.unwrap_or(0.0),
        })
    }
}

impl Make for Place {
    fn spoken(&self) -> String {
        format!("lay {} {}", self.what, self.at.spoken())
    }

    fn unit(&self) -> Option<Unit> {
        None
    }

    fn make(&self, bundle: &mut Bundle, at: usize) -> Result<(), StepProblem> {
        let other = bundle.find(&self.what)?;
        if other == at {
            return Err(StepProblem::NotAPiece { why: format!("`{}` cannot be laid on itself", self.what) });
        }
        let of = bundle.pieces[other].record.piece.clone();
        let place = self.at.fix(&bundle.pieces[at].outline)?;
        let mark = Placement { of, at: place, turn_deg: self.turn_deg, line: Vec::new() };
        bundle.pieces[at].marks.push(Mark::Placement(mark));
        Ok(())
    }
}
