//! The marks of a piece: places on its line by letters, drawn anew after every edit.

use super::Construction;
use super::ground::Ground;
use super::guide::Guide;
use super::hole::Hole;
use super::notch::{MatchMark, Notch};
use super::place::Placement;
use super::plain::{Centre, PlainLine, Words};
use super::slits::Slits;
use super::stitch::StitchLine;
use crate::pattern::StepProblem;

/// One mark.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::pattern) enum Mark {
    Notch(Notch),
    Match(MatchMark),
    Stitch(StitchLine),
    Guide(Guide),
    Slits(Slits),
    Hole(Hole),
    Placement(Placement),
    Line(PlainLine),
    Centre(Centre),
    Words(Words),
}

impl Mark {
    /// Draws it.
    pub(super) fn draw(&self, ground: &Ground<'_>, out: &mut Construction) -> Result<(), StepProblem> {
        match self {
            Self::Notch(mark) => mark.draw(ground, out),
            Self::Match(mark) => mark.draw(ground, out),
            Self::Stitch(mark) => mark.draw(ground, out),
            Self::Guide(mark) => mark.draw(ground, out),
            Self::Slits(mark) => mark.draw(ground, out),
            Self::Hole(mark) => mark.draw(ground, out),
            Self::Placement(mark) => mark.draw(ground, out),
            Self::Line(mark) => mark.draw(ground, out),
            Self::Centre(mark) => mark.draw(ground, out),
            Self::Words(mark) => mark.draw(ground, out),
        }
    }

    /// What it is, for messages.
    pub(super) fn spoken(&self) -> String {
        match self {
            Self::Notch(_) => "a notch".to_owned(),
            Self::Match(_) => "a match mark".to_owned(),
            Self::Stitch(_) => "a stitch line".to_owned(),
            Self::Guide(guide) => format!("a {} line", guide.kind.word()),
            Self::Slits(_) => "slits".to_owned(),
            Self::Hole(_) => "a hole".to_owned(),
            Self::Placement(mark) => format!("the place of {}", mark.of),
            Self::Line(line) => format!("a {} line", line.kind.word()),
            Self::Centre(_) => "the centre line".to_owned(),
            Self::Words(words) => format!("the words `{}`", words.words),
        }
    }
}
