//! Width added or taken at the side.

use super::amount::{self, Amount};
use super::slide::slide_points;
use crate::pattern::{Piece, StepProblem, StepText};

/// The side slides out square to the fold; the fold does not move, and the edges between the fold and the side
/// stretch with it.
///
/// ```toml
/// [[step]]
/// do = "widen"
/// total = "2in"          # on the whole garment; each = "1in" says the same
/// edges = ["side"]       # left out: every edge that does not touch the fold
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Widen {
    /// How much; negative to take width away.
    pub amount: Amount,
    /// The edges that slide; empty for the whole side.
    pub edges: Vec<String>,
}

impl Widen {
    /// How it is written.
    pub const KIND: &str = "widen";

    pub(in crate::pattern) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only(&[amount::KEYS[0], amount::KEYS[1], "edges"])?;
        Ok(Self { amount: Amount::read(text)?, edges: text.list("edges").unwrap_or_default().to_vec() })
    }

    pub(in crate::pattern) fn text(&self) -> StepText {
        let text = self.amount.write(StepText::new(Self::KIND));
        if self.edges.is_empty() { text } else { text.with_list("edges", &self.edges) }
    }

    pub(in crate::pattern) fn spoken(&self) -> String {
        let what = if self.edges.is_empty() { "the whole side".to_owned() } else { self.edges.join(", ") };
        format!("widen by {} at {what}", self.amount)
    }

    pub(in crate::pattern) fn apply(&self, piece: &mut Piece) -> Result<(), StepProblem> {
        let outline = &mut piece.outline;
        let count = outline.edges().len();
        let mut moved: Vec<bool> = vec![self.edges.is_empty(); count];
        for point in (0..count).filter(|&p| outline.is_on_fold(p)) {
            moved[point] = false;
        }
        for name in &self.edges {
            let edge = outline.find_edge(name)?;
            for point in [edge, (edge + 1) % count] {
                if outline.is_on_fold(point) {
                    return Err(StepProblem::OnFold { what: format!("one end of {}", outline.spoken(edge)) });
                }
                moved[point] = true;
            }
        }
        slide_points(outline, &moved, self.amount.each_mm());
        Ok(())
    }
}
