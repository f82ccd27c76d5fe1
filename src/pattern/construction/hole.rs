//! Holes to punch or drill.

use super::ground::Ground;
use super::{Construction, WorkHole};
use crate::pattern::StepProblem;
use crate::pattern::inside::FixedInside;

/// A hole.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::pattern) struct Hole {
    pub(in crate::pattern) at: FixedInside,
    pub(in crate::pattern) diameter_mm: f64,
    pub(in crate::pattern) drilled: bool,
    pub(in crate::pattern) holds: String,
}

/// Nearer to the fold than this a hole lies on it, millimetres.
const ON_FOLD_MM: f64 = 0.05;

impl Hole {
    pub(super) fn draw(&self, ground: &Ground<'_>, out: &mut Construction) -> Result<(), StepProblem> {
        let outline = &ground.piece.outline;
        let at = self.at.find(outline)?;
        let to_edge_mm = ground.to_cut_edge_mm(at);
        if to_edge_mm < self.diameter_mm / 2.0 || !ground.is_inside(at) {
            return Err(StepProblem::HoleOffPiece { across_mm: at.x, down_mm: at.y });
        }
        let twice = outline.on_fold() && at.x.abs() > ON_FOLD_MM;
        out.holes.push(WorkHole {
            at,
            diameter_mm: self.diameter_mm,
            drilled: self.drilled,
            holds: self.holds.clone(),
            to_edge_mm,
            count: if twice { 2 } else { 1 },
        });
        Ok(())
    }
}
