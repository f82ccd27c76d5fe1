//! What marks are drawn on: a piece and its cut line.

use super::{Construction, LineKind, WorkLine};
use crate::geometry::BezPath;
use crate::pattern::{CutLine, Kind, Piece};

/// A piece and its cut line.
pub(super) struct Ground<'a> {
    pub(super) piece: &'a Piece,
    pub(super) cut: Option<CutLine>,
}

impl Ground<'_> {
    /// The finished line is a fold line wherever something is turned or folded over there.
    pub(super) fn fold_lines(&self, out: &mut Construction) {
        let outline = &self.piece.outline;
        for edge in outline.edges() {
            if edge.allowance.is_some_and(|a| a.kind != Kind::Seam) {
                let path = BezPath::from_path_segments(edge.segments.iter().copied());
                out.lines.push(WorkLine { kind: LineKind::Fold, says: String::new(), path });
            }
        }
    }
}
