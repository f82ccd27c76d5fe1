//! The recipe: names of edges, and steps in order.

use super::edit::{Lengthen, MoveEnd, Widen};
use super::{Outline, Piece, StepProblem, StepText, nearest};
use crate::units::Unit;

/// What is to be done to the half: replayed from the fold on, it always gives the same pieces.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Recipe {
    /// Names given to edges: name, and the edge's letters.
    pub names: Vec<(String, String)>,
    /// Steps in order, as they are written.
    pub steps: Vec<StepText>,
}

/// One step, read.
#[derive(Debug, Clone, PartialEq)]
pub enum Step {
    /// Added or taken length at a line across.
    Lengthen(Lengthen),
    /// Added or taken width at the side.
    Widen(Widen),
    /// One end of an edge moved out or in, its height kept.
    MoveEnd(MoveEnd),
}

/// Every kind of step, as it is written.
const KINDS: [&str; 3] = [Lengthen::KIND, Widen::KIND, MoveEnd::KIND];

impl Step {
    /// Reads a step from its words.
    ///
    /// # Errors
    /// [`StepProblem`] for an unknown kind or key, a missing one, a length that does not read.
    pub fn read(text: &StepText) -> Result<Self, StepProblem> {
        match text.kind.as_str() {
            Lengthen::KIND => Lengthen::read(text).map(Self::Lengthen),
            Widen::KIND => Widen::read(text).map(Self::Widen),
            MoveEnd::KIND => MoveEnd::read(text).map(Self::MoveEnd),
            other => Err(StepProblem::UnknownStep {
                kind: other.to_owned(),
                nearest: nearest(other, KINDS).map(str::to_owned),
                known: KINDS.join(", "),
            }),
        }
    }

    /// Its words, as it would be written.
    #[must_use]
    pub fn text(&self) -> StepText {
        match self {
            Self::Lengthen(s) => s.text(),
            Self::Widen(s) => s.text(),
            Self::MoveEnd(s) => s.text(),
        }
    }

    /// What it does, as a person says it.
    #[must_use]
    pub fn spoken(&self) -> String {
        match self {
            Self::Lengthen(s) => s.spoken(),
            Self::Widen(s) => s.spoken(),
            Self::MoveEnd(s) => s.spoken(),
        }
    }

    /// The unit its amount is written in.
    #[must_use]
    pub fn unit(&self) -> Unit {
        match self {
            Self::Lengthen(s) => s.by.unit(),
            Self::Widen(s) => s.amount.unit(),
            Self::MoveEnd(s) => s.amount.unit(),
        }
    }

    /// Does it.
    pub(super) fn apply(&self, piece: &mut Piece) -> Result<(), StepProblem> {
        match self {
            Self::Lengthen(s) => s.apply(piece),
            Self::Widen(s) => s.apply(piece),
            Self::MoveEnd(s) => s.apply(piece),
        }
    }
}

/// Gives an edge its name.
pub(super) fn name_edge(outline: &mut Outline, name: &str, edge: &str) -> Result<(), StepProblem> {
    let why_not = |why: String| Err(StepProblem::NotAName { why });
    if name.trim().is_empty() || name.contains('-') || super::Letter::parse(name).is_some() {
        return why_not("a name is a word of three letters or more without a dash".to_owned());
    }
    let index = outline.find_edge(edge)?;
    if let Some(other) =
        outline.edges().iter().find_map(|e| e.name.as_deref().filter(|n| n.eq_ignore_ascii_case(name)))
    {
        return why_not(format!("`{other}` is taken"));
    }
    if let Some(other) = &outline.edges()[index].name {
        return why_not(format!("{} is named `{other}` already", outline.label(index)));
    }
    outline.edges_mut()[index].name = Some(name.to_owned());
    Ok(())
}
