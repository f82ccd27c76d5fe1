//! Words written on a piece.

use super::Edit;
use crate::pattern::construction::{Mark, Words};
use crate::pattern::inside::Inside;
use crate::pattern::{Piece, StepProblem, StepText};
use crate::units::{Length, Unit};

/// Size of letters when nobody says, millimetres: read at a cutting table.
const USUAL_SIZE_MM: f64 = 5.0;

/// Words at a place.
///
/// ```toml
/// [[step]]
/// do = "text"
/// words = "ring here"
/// out = "20mm"
/// down = "30mm"
/// size = "5mm"             # height of the letters
/// turn = "-90"             # degrees, clockwise
/// ```
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Text {
    words: String,
    at: Inside,
    size: Option<Length>,
    turn_deg: f64,
}

impl Text {
    /// How it is written.
    pub(super) const KIND: &str = "text";

    pub(super) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only(&[&Inside::KEYS[..], &["words", "size", "turn"]].concat())?;
        Ok(Self {
            words: text.must("words", "words = \"ring here\"")?.trim().to_owned(),
            at: Inside::read(text)?,
            size: text.size("size", "size = \"5mm\"")?,
            turn_deg: text.degrees("turn")?.unwrap_or(0.0),
        })
    }
}

impl Edit for Text {
    fn spoken(&self) -> String {
        format!("write `{}` {}", self.words, self.at.spoken())
    }

    fn unit(&self) -> Option<Unit> {
        self.size.as_ref().map(Length::unit)
    }

    fn apply(&self, piece: &mut Piece) -> Result<(), StepProblem> {
        piece.marks.push(Mark::Words(Words {
            at: self.at.fix(&piece.outline)?,
            words: self.words.clone(),
            size_mm: self.size.as_ref().map_or(USUAL_SIZE_MM, Length::mm),
            turn_deg: self.turn_deg,
        }));
        Ok(())
    }
}
