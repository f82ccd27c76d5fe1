//! The marks of a piece: places on its line by name, drawn anew after every edit.

use super::Construction;
use super::ground::Ground;
use crate::pattern::StepProblem;

/// One mark.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::pattern) enum Mark {}

impl Mark {
    /// Draws it.
    pub(super) fn draw(&self, _ground: &Ground<'_>, _out: &mut Construction) -> Result<(), StepProblem> {
        match *self {}
    }
}
