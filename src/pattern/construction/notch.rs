//! Notches, and match marks across an allowance fold.

use super::ground::Ground;
use super::{Construction, LineKind};
use crate::pattern::StepProblem;
use crate::pattern::spot::Fixed;

/// The two lines of a double notch stand so far apart, millimetres (common practice: 1/4 in).
const DOUBLE_MM: f64 = 6.0;

/// Depth of a notch without an allowance when nobody says, millimetres: it is drawn, not cut.
const DRAWN_MM: f64 = 5.0;

/// A notch goes into an allowance by at most this part of it when nobody says: the rest holds the seam.
const PART: f64 = 0.5;

/// Length of a match mark, millimetres.
const MATCH_MM: f64 = 8.0;

/// A notch at a place on an edge, square to it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::pattern) struct Notch {
    pub(in crate::pattern) at: Fixed,
    pub(in crate::pattern) double: bool,
    /// From the cut edge inward; `None`: half the allowance.
    pub(in crate::pattern) depth_mm: Option<f64>,
}

impl Notch {
    pub(super) fn draw(self, ground: &Ground<'_>, out: &mut Construction) -> Result<(), StepProblem> {
        let found = self.at.find(&ground.piece.outline)?;
        let outside_mm = ground.allowance_mm(found.edge);
        let usual = if outside_mm > 0.0 { PART * outside_mm } else { DRAWN_MM };
        let depth_mm = self.depth_mm.unwrap_or(usual);
        let shifts = if self.double { vec![-DOUBLE_MM / 2.0, DOUBLE_MM / 2.0] } else { vec![0.0] };
        for shift in shifts {
            let at = found.at + found.way * shift;
            let (from, to) =
                (at + found.outward() * outside_mm, at + found.outward() * (outside_mm - depth_mm));
            out.line(LineKind::Notch, "", &[from, to]);
        }
        Ok(())
    }
}

/// Marks that meet when an allowance is folded in: one at the cut edge, one where it comes to lie, and one across the
/// fold.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::pattern) struct MatchMark {
    pub(in crate::pattern) at: Fixed,
}

impl MatchMark {
    pub(super) fn draw(self, ground: &Ground<'_>, out: &mut Construction) -> Result<(), StepProblem> {
        let found = self.at.find(&ground.piece.outline)?;
        let outside_mm = ground.allowance_mm(found.edge);
        if outside_mm <= 0.0 {
            return Err(StepProblem::NoAllowance { edge: ground.piece.outline.spoken(found.edge) });
        }
        let length = MATCH_MM.min(outside_mm);
        let outward = found.outward();
        for side in [1.0, -1.0] {
            let far = found.at + outward * (side * outside_mm);
            out.line(LineKind::Match, "", &[far, far - outward * (side * length)]);
        }
        let half = outward * (length / 4.0);
        out.line(LineKind::Match, "", &[found.at - half, found.at + half]);
        Ok(())
    }
}
