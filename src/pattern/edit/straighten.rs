//! An edge made straight.

use super::Edit;
use crate::geometry::PathSeg;
use crate::pattern::{Piece, StepProblem, StepText};
use crate::units::Unit;
use kurbo::Line;

/// An edge becomes the straight line between its ends; a curve that ran smoothly into it follows its direction.
///
/// ```toml
/// [[step]]
/// do = "straighten"
/// edge = "side"
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Straighten {
    /// The edge.
    edge: String,
}

impl Straighten {
    /// How it is written.
    pub(super) const KIND: &str = "straighten";

    pub(super) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only(&["edge"])?;
        Ok(Self { edge: text.must("edge", "edge = \"side\"")?.to_owned() })
    }
}

impl Edit for Straighten {
    fn spoken(&self) -> String {
        format!("straighten {}", self.edge)
    }

    fn unit(&self) -> Option<Unit> {
        None
    }

    fn apply(&self, piece: &mut Piece) -> Result<(), StepProblem> {
        let outline = &mut piece.outline;
        let index = outline.find_edge(&self.edge)?;
        // The joints at the two ends, by the number of the segment that begins there, while the count still holds.
        let before: usize = outline.edges()[..index].iter().map(|e| e.segments.len()).sum();
        let count: usize = outline.edges().iter().map(|e| e.segments.len()).sum();
        let old = outline.edges()[index].segments.len();
        let was_smooth = outline.smooth_joints();
        let edge = &mut outline.edges_mut()[index];
        edge.segments = vec![PathSeg::Line(Line::new(edge.start(), edge.end()))];
        let mut smooth = vec![false; count + 1 - old];
        smooth[before] = was_smooth[before];
        let after = smooth.len();
        smooth[(before + 1) % after] = was_smooth[(before + old) % count];
        outline.blend_joints(&smooth);
        Ok(())
    }
}
