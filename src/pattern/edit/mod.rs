//! The edits of the finished line, one file each.
//!
//! To add one: a file here with a struct that reads itself from a [`StepText`] and is an [`Edit`], and a line for it in
//! [`KINDS`].

mod allow;
mod amount;
mod cut;
mod deepen;
mod lengthen;
mod mitre;
mod move_end;
mod move_point;
mod round;
mod slide;
mod smooth;
mod spread;
mod square;
mod straighten;
mod true_up;
mod widen;

pub(super) use cut::Way;

use super::{Piece, StepProblem, StepText, nearest};
use crate::units::Unit;

/// One step, read.
pub(super) trait Edit {
    /// What it does, as a person says it.
    fn spoken(&self) -> String;
    /// The unit its amount is written in; `None` for a step without an amount.
    fn unit(&self) -> Option<Unit>;
    /// Does it.
    fn apply(&self, piece: &mut Piece) -> Result<(), StepProblem>;
}

/// Reads a step of one kind from its words.
type Read = fn(&StepText) -> Result<Box<dyn Edit>, StepProblem>;

/// Every kind of step, as it is written, and its reader.
const KINDS: [(&str, Read); 13] = [
    (lengthen::Lengthen::KIND, |t| Ok(Box::new(lengthen::Lengthen::read(t)?))),
    (widen::Widen::KIND, |t| Ok(Box::new(widen::Widen::read(t)?))),
    (move_end::MoveEnd::KIND, |t| Ok(Box::new(move_end::MoveEnd::read(t)?))),
    (move_point::MovePoint::KIND, |t| Ok(Box::new(move_point::MovePoint::read(t)?))),
    (deepen::Deepen::KIND, |t| Ok(Box::new(deepen::Deepen::read(t)?))),
    (straighten::Straighten::KIND, |t| Ok(Box::new(straighten::Straighten::read(t)?))),
    (round::Round::KIND, |t| Ok(Box::new(round::Round::read(t)?))),
    (square::Square::KIND, |t| Ok(Box::new(square::Square::read(t)?))),
    (allow::Allow::KIND, |t| Ok(Box::new(allow::Allow::read(t)?))),
    (mitre::Mitre::KIND, |t| Ok(Box::new(mitre::Mitre::read(t)?))),
    (smooth::Smooth::KIND, |t| Ok(Box::new(smooth::Smooth::read(t)?))),
    (spread::Spread::KIND, |t| Ok(Box::new(spread::Spread::read(t)?))),
    (true_up::True::KIND, |t| Ok(Box::new(true_up::True::read(t)?))),
];

/// Reads a step from its words.
///
/// # Errors
/// [`StepProblem`] for an unknown kind or key, a missing one, a length that does not read.
pub(super) fn read(text: &StepText) -> Result<Box<dyn Edit>, StepProblem> {
    let kinds = || KINDS.iter().map(|(kind, _)| *kind);
    match KINDS.iter().find(|(kind, _)| *kind == text.kind) {
        Some((_, read)) => read(text),
        None => Err(StepProblem::UnknownStep {
            kind: text.kind.clone(),
            nearest: nearest(&text.kind, kinds()).map(str::to_owned),
            known: kinds().collect::<Vec<_>>().join(", "),
        }),
    }
}
