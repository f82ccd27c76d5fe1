//! What marks are drawn on: a piece and its cut line.

use super::{Construction, LineKind, WorkLine};
use crate::geometry::{BezPath, PathSeg, Point};
use crate::pattern::{CutLine, Kind, Letter, Piece, StepProblem, spot};
use kurbo::{Line, ParamCurveNearest, Shape};

/// A piece and its cut line.
pub(super) struct Ground<'a> {
    pub(super) piece: &'a Piece,
    pub(super) cut: Option<&'a CutLine>,
}

/// Distances to the cut edge are measured to this, millimetres.
const NEAR_MM: f64 = 1e-3;

impl Ground<'_> {
    /// The finished line is a fold line wherever something is turned or folded over there.
    pub(super) fn fold_lines(&self, out: &mut Construction) {
        let outline = &self.piece.outline;
        for (index, edge) in outline.edges().iter().enumerate() {
            if edge.allowance.is_some_and(|a| a.kind != Kind::Seam) {
                out.path(LineKind::Fold, "", BezPath::from_path_segments(edge.segments.iter().copied()));
                continue;
            }
            for tab in &edge.tabs {
                let (start, end) = tab.range_mm(edge.length_mm());
                let ends = [start, end].map(|mm| spot::found(outline, index, mm).at);
                out.line(LineKind::Fold, "fold the tab", &ends);
            }
        }
    }

    /// What is added outside an edge, millimetres; nothing for one without an allowance.
    pub(super) fn allowance_mm(&self, edge: usize) -> f64 {
        self.piece.outline.edges()[edge].allowance.map_or(0.0, |a| a.width_mm)
    }

    /// Edges by the letters at which they begin, in the order of the line.
    pub(super) fn edges(&self, letters: &[Letter]) -> Result<Vec<usize>, StepProblem> {
        let mut edges = letters
            .iter()
            .map(|letter| self.piece.outline.find_point(&letter.to_string()))
            .collect::<Result<Vec<_>, _>>()?;
        edges.sort_unstable();
        edges.dedup();
        Ok(edges)
    }

    /// Edges parted into runs that follow each other; a run may pass the first point of the line.
    pub(super) fn runs(&self, edges: &[usize]) -> Vec<Vec<usize>> {
        let mut runs: Vec<Vec<usize>> = Vec::new();
        for &edge in edges {
            match runs.last_mut().filter(|run| run.last().is_some_and(|last| last + 1 == edge)) {
                Some(run) => run.push(edge),
                None => runs.push(vec![edge]),
            }
        }
        let count = self.piece.outline.edges().len();
        let meets = runs.len() > 1
            && runs[0][0] == 0
            && runs.last().and_then(|run| run.last()).is_some_and(|last| last + 1 == count);
        if meets && let Some(mut last) = runs.pop() {
            last.append(&mut runs[0]);
            runs[0] = last;
        }
        runs
    }

    /// The cut line along an edge: the finished line where there is no other.
    pub(super) fn cut_run(&self, edge: usize) -> Vec<PathSeg> {
        match self.cut {
            Some(cut) => cut.edges[edge].clone(),
            None => self.piece.outline.edges()[edge].segments.clone(),
        }
    }

    /// From a point to the nearest place of the cut line; the fold is no edge.
    pub(super) fn to_cut_edge_mm(&self, at: Point) -> f64 {
        let outline = &self.piece.outline;
        let cut = (0..outline.edges().len()).filter(|&e| !outline.is_fold(e)).flat_map(|e| self.cut_run(e));
        let holes = self.piece.holes.iter().flat_map(|h| h.segments().to_vec());
        cut.chain(holes).map(|s| s.nearest(at, NEAR_MM).distance_sq.sqrt()).fold(f64::INFINITY, f64::min)
    }

    /// Whether a point lies within the cut line.
    pub(super) fn is_inside(&self, at: Point) -> bool {
        let ring = self.cut.map_or_else(|| self.piece.outline.ring(), |cut| cut.ring.clone());
        // A point on the fold lies inside.
        let inward = if self.piece.outline.on_fold() { at + kurbo::Vec2::new(NEAR_MM, 0.0) } else { at };
        ring.path().winding(inward) != 0
    }
}

impl Construction {
    /// Adds a line through points.
    pub(super) fn line(&mut self, kind: LineKind, says: &str, points: &[Point]) {
        let segments = points.windows(2).map(|w| PathSeg::Line(Line::new(w[0], w[1])));
        self.path(kind, says, BezPath::from_path_segments(segments));
    }

    /// Adds a line.
    pub(super) fn path(&mut self, kind: LineKind, says: &str, path: BezPath) {
        self.lines.push(WorkLine { kind, says: says.to_owned(), path });
    }
}
