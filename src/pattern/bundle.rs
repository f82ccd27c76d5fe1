//! The pieces of a pattern, by name, and which of their edges are sewn to each other.

use super::construction::{Mark, from_top_middle};
use super::{Piece, StepProblem, nearest};
use crate::geometry::PathSeg;

/// All pieces, the traced body first, while a recipe is replayed.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Bundle {
    pub(super) pieces: Vec<Piece>,
    pub(super) sewn: Vec<Sewn>,
}

/// An edge of a piece.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PieceEdge {
    /// The piece's name.
    pub piece: String,
    /// The edge's name or letters.
    pub edge: String,
}

impl std::fmt::Display for PieceEdge {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} of {}", self.edge, self.piece)
    }
}

/// Two edges, each of one or more pieces' runs, that are sewn to each other.
#[derive(Debug, Clone, PartialEq)]
pub struct Sewn {
    /// One edge.
    pub first: PieceEdge,
    /// The other.
    pub second: PieceEdge,
    /// How much longer the first is meant to be than the second, eased in, millimetres.
    pub ease_mm: f64,
    /// What is asked of the corners at its ends.
    pub corners: SeamCorners,
}

/// What the corners at the ends of a seam are to each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum SeamCorners {
    /// The neighbours run on into each other: angles that sum to 180 degrees.
    RunOn,
    /// One of the two that fits better: they run on, or one piece is laid on the other and its corners are the same.
    #[default]
    Either,
    /// Anything: not looked at.
    Free,
}

impl Bundle {
    /// The piece of this name.
    ///
    /// # Errors
    /// [`StepProblem::NoPiece`] with the nearest one and the list of all.
    pub(super) fn find(&self, name: &str) -> Result<usize, StepProblem> {
        let names = || self.pieces.iter().map(|p| p.record.piece.as_str());
        names().position(|known| known.eq_ignore_ascii_case(name.trim())).ok_or_else(|| {
            StepProblem::NoPiece {
                name: name.trim().to_owned(),
                nearest: nearest(name.trim(), names()).map(str::to_owned),
                known: names().collect::<Vec<_>>().join(", "),
            }
        })
    }

    /// Adds a piece whose name is not taken.
    ///
    /// # Errors
    /// [`StepProblem::NotAPiece`].
    pub(super) fn add(&mut self, piece: Piece) -> Result<(), StepProblem> {
        let name = piece.record.piece.trim();
        let why = if name.is_empty() || name.contains(':') {
            Some("a piece's name is a word or two without a colon".to_owned())
        } else {
            self.find(name).is_ok().then(|| format!("there is a piece `{name}` already"))
        };
        match why {
            Some(why) => Err(StepProblem::NotAPiece { why }),
            None => {
                self.pieces.push(piece);
                Ok(())
            }
        }
    }

    /// Draws every laid piece's line anew where it is laid.
    pub(super) fn lay(&mut self) {
        let laid: Vec<String> = self
            .pieces
            .iter()
            .flat_map(|p| &p.marks)
            .filter_map(|m| if let Mark::Placement(laid) = m { Some(laid.of.clone()) } else { None })
            .collect();
        let lines: Vec<(String, Vec<PathSeg>)> = self
            .pieces
            .iter()
            .filter(|p| laid.contains(&p.record.piece))
            .map(|p| (p.record.piece.clone(), from_top_middle(&p.outline.whole_segments())))
            .collect();
        for mark in self.pieces.iter_mut().flat_map(|p| &mut p.marks) {
            if let Mark::Placement(placement) = mark
                && let Some((_, line)) = lines.iter().find(|(name, _)| *name == placement.of)
            {
                placement.line.clone_from(line);
            }
        }
    }

    /// Numbers the pieces whose record has the default number: `2 of 5`.
    pub(super) fn number(&mut self) {
        let of = self.pieces.len();
        if of > 1 {
            for (index, piece) in self.pieces.iter_mut().enumerate() {
                if piece.record.number.is_empty() || piece.record.number == "1 of 1" {
                    piece.record.number = format!("{} of {of}", index + 1);
                }
            }
        }
    }
}
