//! The direction of the grain or the backbone.

use super::Edit;
use crate::pattern::{Piece, StepProblem, StepText};
use crate::units::Unit;

/// Which way the piece lies on the cloth or the hide; its arrow is drawn.
///
/// ```toml
/// [[step]]
/// do = "grain"
/// piece = "strap"
/// way = "backbone"         # down, across, bias or backbone
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Grain {
    words: &'static str,
}

/// Words for the ways, and what is written on the piece.
const WAYS: [(&str, &str); 4] = [
    ("down", "down the piece"),
    ("across", "across the piece"),
    ("bias", "on the bias, 45 degrees"),
    ("backbone", "along the backbone"),
];

impl Grain {
    /// How it is written.
    pub(super) const KIND: &str = "grain";

    pub(super) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only(&["way"])?;
        let missing =
            || StepProblem::Missing { key: "way".to_owned(), example: "way = \"backbone\"".to_owned() };
        Ok(Self { words: text.choice("way", &WAYS)?.ok_or_else(missing)? })
    }
}

impl Edit for Grain {
    fn spoken(&self) -> String {
        format!("grain {}", self.words)
    }

    fn unit(&self) -> Option<Unit> {
        None
    }

    fn apply(&self, piece: &mut Piece) -> Result<(), StepProblem> {
        self.words.clone_into(&mut piece.record.grain);
        Ok(())
    }
}
