//! A stretch of the line made straight, or a strap cut off.

use super::Correction;
use super::line::{self, Part, TracedLine};
use super::place::Place;
use super::problem::CorrectionProblem;
use crate::geometry::PathSeg;
use crate::pattern::{StepProblem, StepText};
use crate::units::Unit;
use kurbo::{Line, ParamCurveArea};

/// The straight line between two places of the traced line takes the place of the shorter way between them
/// (`traced-straight`), or cuts off the smaller part of the piece (`traced-cut`).
///
/// ```toml
/// [[step]]
/// do = "traced-cut"
/// from = "283 37"         # the one side of the strap; millimetres right and down in the traced outline
/// to = "322 40"           # the other
/// ```
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Replace {
    from: Place,
    to: Place,
    cuts: bool,
}

impl Replace {
    /// How they are written.
    pub(super) const KINDS: [&str; 2] = ["traced-straight", "traced-cut"];

    pub(super) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only_without_piece(&["from", "to"])?;
        Ok(Self {
            from: Place::must(text, "from")?,
            to: Place::must(text, "to")?,
            cuts: text.kind == Self::KINDS[1],
        })
    }
}

impl Correction for Replace {
    fn spoken(&self) -> String {
        let what = if self.cuts { "cut off" } else { "made straight" };
        format!("the traced line {what} from {} to {}", self.from, self.to)
    }

    fn unit(&self) -> Option<Unit> {
        None
    }

    fn apply(&self, line: &TracedLine) -> Result<TracedLine, CorrectionProblem> {
        let [one, other] = line.parted(&self.from, &self.to)?;
        let amount = if self.cuts { enclosed_mm2 } else { line::length_mm };
        let (goes, kept) = if amount(&one) <= amount(&other) { (one, other) } else { (other, one) };
        let straight = Line::new(line::start(&goes), line::end(&goes));
        Ok(line::joined(vec![Part::smooth(PathSeg::Line(straight))], kept))
    }
}

/// What a run and the straight line between its ends enclose, mm².
fn enclosed_mm2(run: &[Part]) -> f64 {
    let back = Line::new(line::end(run), line::start(run));
    (line::area_mm2(run) + back.signed_area()).abs()
}
