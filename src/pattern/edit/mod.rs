//! The edits of the finished line, one file each.
//!
//! To add one: a file here with a struct that reads itself from a [`StepText`] and is an [`Edit`] (or, for a step that
//! makes pieces, a [`Make`]), and a line for it in [`KINDS`].

mod allow;
mod amount;
mod centre;
mod corner;
mod cut;
mod deepen;
mod drawn;
mod grain;
mod guide;
mod hole;
mod lengthen;
mod line;
mod match_mark;
mod mitre;
mod move_end;
mod move_point;
mod name;
mod notch;
mod open;
mod place;
mod rotate;
mod round;
mod shrinkage;
mod slide;
mod slits;
mod smooth;
mod spread;
mod square;
mod stitch;
mod straighten;
mod tab;
mod text;
mod true_up;
mod widen;

pub(super) use cut::Way;
pub(super) use round::Round;

use super::bundle::Bundle;
use super::{Letter, Outline, Piece, StepProblem, StepText, correct, make};
use crate::units::Unit;

/// One step, read.
pub(super) enum Step {
    /// Changes one piece.
    Edit(Box<dyn Edit>),
    /// Makes pieces, or ties several together.
    Make(Box<dyn Make>),
}

impl Step {
    /// What it does, as a person says it.
    pub(super) fn spoken(&self) -> String {
        match self {
            Self::Edit(edit) => edit.spoken(),
            Self::Make(make) => make.spoken(),
        }
    }

    /// The unit its amount is written in; `None` for a step without an amount.
    pub(super) fn unit(&self) -> Option<Unit> {
        match self {
            Self::Edit(edit) => edit.unit(),
            Self::Make(make) => make.unit(),
        }
    }

    /// Does it.
    pub(super) fn apply(&self, bundle: &mut Bundle, at: usize) -> Result<(), StepProblem> {
        match self {
            Self::Edit(edit) => edit.apply(&mut bundle.pieces[at]),
            Self::Make(make) => make.make(bundle, at),
        }
    }
}

/// A step that makes pieces or ties several together.
pub(super) trait Make {
    /// What it does, as a person says it.
    fn spoken(&self) -> String;
    /// The unit its amount is written in; `None` for a step without an amount.
    fn unit(&self) -> Option<Unit>;
    /// Does it; `at` is the piece that the step names.
    fn make(&self, bundle: &mut Bundle, at: usize) -> Result<(), StepProblem>;
}

/// A step that changes one piece.
pub(super) trait Edit {
    /// What it does, as a person says it.
    fn spoken(&self) -> String;
    /// The unit its amount is written in; `None` for a step without an amount.
    fn unit(&self) -> Option<Unit>;
    /// Does it.
    fn apply(&self, piece: &mut Piece) -> Result<(), StepProblem>;
}

/// Reads a step of one kind from its words.
type Read = fn(&StepText) -> Result<Step, StepProblem>;

/// Every kind of step, as it is written, and its reader.
const KINDS: &[(&str, Read)] = &[
    (lengthen::Lengthen::KIND, |t| Ok(Step::Edit(Box::new(lengthen::Lengthen::read(t)?)))),
    (widen::Widen::KIND, |t| Ok(Step::Edit(Box::new(widen::Widen::read(t)?)))),
    (move_end::MoveEnd::KIND, |t| Ok(Step::Edit(Box::new(move_end::MoveEnd::read(t)?)))),
    (move_point::MovePoint::KIND, |t| Ok(Step::Edit(Box::new(move_point::MovePoint::read(t)?)))),
    (deepen::Deepen::KIND, |t| Ok(Step::Edit(Box::new(deepen::Deepen::read(t)?)))),
    (straighten::Straighten::KIND, |t| Ok(Step::Edit(Box::new(straighten::Straighten::read(t)?)))),
    (Round::KIND, |t| Ok(Step::Edit(Box::new(Round::read(t)?)))),
    (square::Square::KIND, |t| Ok(Step::Edit(Box::new(square::Square::read(t)?)))),
    (smooth::Smooth::KIND, |t| Ok(Step::Edit(Box::new(smooth::Smooth::read(t)?)))),
    (spread::Spread::KIND, |t| Ok(Step::Edit(Box::new(spread::Spread::read(t)?)))),
    (true_up::True::KIND, |t| Ok(Step::Edit(Box::new(true_up::True::read(t)?)))),
    (shrinkage::Shrinkage::KIND, |t| Ok(Step::Edit(Box::new(shrinkage::Shrinkage::read(t)?)))),
    (rotate::Rotate::KIND, |t| Ok(Step::Edit(Box::new(rotate::Rotate::read(t)?)))),
    (open::Open::KIND, |t| Ok(Step::Edit(Box::new(open::Open::read(t)?)))),
    (name::Name::KIND, |t| Ok(Step::Edit(Box::new(name::Name::read(t)?)))),
    (allow::Allow::KIND, |t| Ok(Step::Edit(Box::new(allow::Allow::read(t)?)))),
    (tab::Tab::KIND, |t| Ok(Step::Edit(Box::new(tab::Tab::read(t)?)))),
    (mitre::Mitre::KIND, |t| Ok(Step::Edit(Box::new(mitre::Mitre::read(t)?)))),
    (corner::Corner::KIND, |t| Ok(Step::Edit(Box::new(corner::Corner::read(t)?)))),
    (notch::Notch::KIND, |t| Ok(Step::Edit(Box::new(notch::Notch::read(t)?)))),
    (match_mark::Match::KIND, |t| Ok(Step::Edit(Box::new(match_mark::Match::read(t)?)))),
    (stitch::Stitch::KIND, |t| Ok(Step::Edit(Box::new(stitch::Stitch::read(t)?)))),
    (slits::Slits::KIND, |t| Ok(Step::Edit(Box::new(slits::Slits::read(t)?)))),
    (hole::Hole::KIND, |t| Ok(Step::Edit(Box::new(hole::Hole::read(t)?)))),
    (line::Line::KIND, |t| Ok(Step::Edit(Box::new(line::Line::read(t)?)))),
    (drawn::Drawn::KIND, |t| Ok(Step::Edit(Box::new(drawn::Drawn::read(t)?)))),
    (centre::Centre::KIND, |t| Ok(Step::Edit(Box::new(centre::Centre::read(t)?)))),
    (grain::Grain::KIND, |t| Ok(Step::Edit(Box::new(grain::Grain::read(t)?)))),
    (text::Text::KIND, |t| Ok(Step::Edit(Box::new(text::Text::read(t)?)))),
    (guide::Guide::KINDS[0], |t| Ok(Step::Edit(Box::new(guide::Guide::read(t)?)))),
    (guide::Guide::KINDS[1], |t| Ok(Step::Edit(Box::new(guide::Guide::read(t)?)))),
    (make::Pocket::KIND, |t| Ok(Step::Make(Box::new(make::Pocket::read(t)?)))),
    (make::Strap::KIND, |t| Ok(Step::Make(Box::new(make::Strap::read(t)?)))),
    (make::RingTab::KIND, |t| Ok(Step::Make(Box::new(make::RingTab::read(t)?)))),
    (make::Patch::KIND, |t| Ok(Step::Make(Box::new(make::Patch::read(t)?)))),
    (make::Binding::KIND, |t| Ok(Step::Make(Box::new(make::Binding::read(t)?)))),
    (make::Facing::KIND, |t| Ok(Step::Make(Box::new(make::Facing::read(t)?)))),
    (make::Split::KINDS[0], |t| Ok(Step::Make(Box::new(make::Split::read(t)?)))),
    (make::Split::KINDS[1], |t| Ok(Step::Make(Box::new(make::Split::read(t)?)))),
    (make::Sew::KIND, |t| Ok(Step::Make(Box::new(make::Sew::read(t)?)))),
    (place::Place::KIND, |t| Ok(Step::Make(Box::new(place::Place::read(t)?)))),
];

/// Every kind of step that a recipe may hold but the corrections of the traced line, as it is written.
pub fn step_kinds() -> impl Iterator<Item = &'static str> {
    KINDS.iter().map(|(kind, _)| *kind)
}

/// Edges by name as the letters at which they begin, which an edit never changes.
pub(super) fn letters(outline: &Outline, edges: &[String]) -> Result<Vec<Letter>, StepProblem> {
    edges.iter().map(|name| Ok(outline.edges()[outline.find_edge(name)?].from)).collect()
}

/// Reads a step from its words.
///
/// # Errors
/// [`StepProblem`] for an unknown kind or key, a missing one, a length that does not read.
pub(super) fn read(text: &StepText) -> Result<Step, StepProblem> {
    match KINDS.iter().find(|(kind, _)| *kind == text.kind) {
        Some((_, read)) => read(text),
        None => Err(StepProblem::unknown_step(&text.kind, correct::kinds().chain(step_kinds()))),
    }
}
