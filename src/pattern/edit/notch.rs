//! A notch.

use super::Edit;
use crate::pattern::construction::{Mark, Notch as NotchMark};
use crate::pattern::spot::Spot;
use crate::pattern::{Piece, StepProblem, StepText};
use crate::units::{Length, Unit};

/// A notch at a place on an edge, from the cut edge inward, square to it.
///
/// ```toml
/// [[step]]
/// do = "notch"
/// at = "120mm along side"
/// style = "double"        # left out: single
/// depth = "5mm"           # left out: half the allowance
/// ```
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Notch {
    at: Spot,
    double: bool,
    depth: Option<Length>,
}

impl Notch {
    /// How it is written.
    pub(super) const KIND: &str = "notch";

    pub(super) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only(&["at", "style", "depth"])?;
        Ok(Self {
            at: text.must_spot("at", "at = \"120mm along side\"")?,
            double: text.choice("style", &[("single", false), ("double", true)])?.unwrap_or(false),
            depth: text.size("depth", "depth = \"5mm\"")?,
        })
    }
}

impl Edit for Notch {
    fn spoken(&self) -> String {
        format!("a {} notch at {}", if self.double { "double" } else { "single" }, self.at.spoken())
    }

    fn unit(&self) -> Option<Unit> {
        self.depth.as_ref().map(Length::unit)
    }

    fn apply(&self, piece: &mut Piece) -> Result<(), StepProblem> {
        let at = self.at.fix(&piece.outline)?;
        let depth_mm = self.depth.as_ref().map(Length::mm);
        piece.marks.push(Mark::Notch(NotchMark { at, double: self.double, depth_mm }));
        Ok(())
    }
}
