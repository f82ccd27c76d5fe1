//! Lines at a distance from the cut edge: where leather is thinned, and where cement ends.

use super::ground::Ground;
use super::{Construction, LineKind};
use crate::geometry::BezPath;
use crate::pattern::{Letter, StepProblem, allowance};
use crate::units::Unit;

/// Skived width in turned widths, measured from the cut edge: so the skived part reaches to where the cut edge comes to
/// lie (The Manufacture of Boots and Shoes, early 20th century handbook).
pub(in crate::pattern) const SKIVE_TURNS: f64 = 2.0;

/// Cement ends so far short of where the cut edge comes to lie, millimetres: none is pressed out beside it (judgement).
pub(in crate::pattern) const GLUE_SHORT_MM: f64 = 1.0;

/// A line along edges at a distance from the cut edge.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::pattern) struct Guide {
    /// [`LineKind::Skive`] or [`LineKind::Glue`].
    pub(in crate::pattern) kind: LineKind,
    /// Its edges by the letters at which they begin, in order.
    pub(in crate::pattern) edges: Vec<Letter>,
    /// From the cut edge, millimetres; `None`: twice the allowance, less a little for cement.
    pub(in crate::pattern) width_mm: Option<f64>,
}

impl Guide {
    pub(super) fn draw(&self, ground: &Ground<'_>, out: &mut Construction) -> Result<(), StepProblem> {
        let edges = ground.edges(&self.edges)?;
        let short = if self.kind == LineKind::Glue { GLUE_SHORT_MM } else { 0.0 };
        for &edge in &edges {
            if self.width_mm.is_none() && ground.allowance_mm(edge) <= 0.0 {
                return Err(StepProblem::NoAllowance { edge: ground.piece.outline.spoken(edge) });
            }
        }
        let width = |edge| self.width_mm.unwrap_or(SKIVE_TURNS * ground.allowance_mm(edge) - short);
        for run in ground.runs(&edges) {
            let inside = |edge| width(edge) - ground.allowance_mm(edge);
            let lines = allowance::inset(&ground.piece.outline, &run, inside, |edge| ground.cut_run(edge))?;
            let says = format!("{} {}", self.kind.word(), Unit::Millimetre.show(width(run[0])));
            out.path(self.kind, &says, BezPath::from_path_segments(lines.concat().into_iter()));
        }
        Ok(())
    }
}
