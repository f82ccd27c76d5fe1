//! Where another piece is laid.

use super::ground::Ground;
use super::{Construction, LineKind};
use crate::geometry::{Affine, BezPath, PathSeg, Vec2};
use crate::pattern::StepProblem;
use crate::pattern::inside::FixedInside;
use kurbo::{Line, ParamCurve};

/// Another piece's finished line, laid on this one with the middle of its top at a place.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::pattern) struct Placement {
    /// The other piece's name.
    pub(in crate::pattern) of: String,
    /// Where the middle of its top lies.
    pub(in crate::pattern) at: FixedInside,
    /// Turned by this about the middle of its top, degrees clockwise as seen.
    pub(in crate::pattern) turn_deg: f64,
    /// Its finished line, opened out, the middle of its top at the origin; kept up to date while a recipe is replayed.
    pub(in crate::pattern) line: Vec<PathSeg>,
}

/// Nearer than this to the fold is on it, millimetres.
const ON_FOLD_MM: f64 = 1e-6;

impl Placement {
    pub(super) fn draw(&self, ground: &Ground<'_>, out: &mut Construction) -> Result<(), StepProblem> {
        let at = self.at.find(&ground.piece.outline)?;
        let place = Affine::translate(at.to_vec2()) * Affine::rotate(self.turn_deg.to_radians());
        let placed = self.line.iter().map(|s| place * *s);
        let kept: Vec<PathSeg> = if ground.piece.outline.on_fold() {
            placed.flat_map(right_of_fold).collect()
        } else {
            placed.collect()
        };
        if kept.is_empty() {
            return Err(StepProblem::OffHalf { what: self.of.clone() });
        }
        out.path(LineKind::Placement, &self.of, BezPath::from_path_segments(kept.into_iter()));
        Ok(())
    }
}

/// The parts of a segment on the right of x = 0.
fn right_of_fold(segment: PathSeg) -> Vec<PathSeg> {
    let fold = Line::new((0.0, -1e5), (0.0, 1e5));
    let mut cuts: Vec<f64> = segment.intersect_line(fold).iter().map(|hit| hit.segment_t).collect();
    cuts.extend([0.0, 1.0]);
    cuts.sort_by(f64::total_cmp);
    let parts = cuts.windows(2).filter(|w| w[1] - w[0] > 1e-9).map(|w| segment.subsegment(w[0]..w[1]));
    parts.filter(|part| part.eval(0.5).x > ON_FOLD_MM).collect()
}

/// A finished line moved so that the middle of its top is the origin, for [`Placement::line`].
pub(in crate::pattern) fn from_top_middle(line: &[PathSeg]) -> Vec<PathSeg> {
    let bounds = kurbo::Shape::bounding_box(&BezPath::from_path_segments(line.iter().copied()));
    let shift = Affine::translate(-Vec2::new(bounds.center().x, bounds.y0));
    line.iter().map(|s| shift * *s).collect()
}
