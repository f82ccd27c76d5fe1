//! A piece made larger for a material that shrinks.

use super::Edit;
use crate::geometry::Affine;
use crate::pattern::{Piece, StepProblem, StepText};
use crate::units::Unit;

/// The piece grows so that it is right after the material has shrunk: cut = finished / (1 - s), not finished × (1 + s)
/// (geometry). Done after the other edits and before marks are looked at; allowances keep their width.
///
/// ```toml
/// [[step]]
/// do = "shrinkage"
/// down = "5"               # percent, along the fold
/// across = "2"             # percent; either may be left out
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Shrinkage {
    down: f64,
    across: f64,
}

/// More than this is no shrinkage but a slip of the finger, percent.
const MOST: f64 = 50.0;

impl Shrinkage {
    /// How it is written.
    pub(super) const KIND: &str = "shrinkage";

    pub(super) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only(&["down", "across"])?;
        let percent = |key: &str| -> Result<f64, StepProblem> {
            let example = format!("{key} = \"5\", in percent");
            let Some(text) = text.one(key, &example)? else { return Ok(0.0) };
            match text.trim().trim_end_matches('%').trim_end().parse::<f64>() {
                Ok(percent) if (0.0..MOST).contains(&percent) => Ok(percent),
                _ => Err(StepProblem::BadValue { key: key.to_owned(), found: format!("`{text}`"), example }),
            }
        };
        let step = Self { down: percent("down")?, across: percent("across")? };
        if step.down + step.across <= 0.0 {
            let example = "down = \"5\" or across = \"2\", in percent".to_owned();
            return Err(StepProblem::Missing { key: "down".to_owned(), example });
        }
        Ok(step)
    }
}

impl Edit for Shrinkage {
    fn spoken(&self) -> String {
        format!("larger for a shrinkage of {} % down and {} % across", self.down, self.across)
    }

    fn unit(&self) -> Option<Unit> {
        None
    }

    fn apply(&self, piece: &mut Piece) -> Result<(), StepProblem> {
        let grown = |percent: f64| 1.0 / (1.0 - percent / 100.0);
        let map = Affine::scale_non_uniform(grown(self.across), grown(self.down));
        piece.outline.transform(map);
        for hole in &mut piece.holes {
            *hole = hole.transformed(map);
        }
        Ok(())
    }
}
