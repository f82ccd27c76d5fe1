//! A wavering curve made fair.

use super::Edit;
use crate::geometry::{BezPath, PathSeg};
use crate::pattern::{Piece, StepProblem, StepText};
use crate::units::{Length, Unit};
use kurbo::simplify::SimplifyBezPath;

/// How far a curve may be moved when nobody says, millimetres: what hand tracing is good to (1/16 in, the trade's
/// tolerance of a paper pattern, common practice).
const USUAL_MM: f64 = 1.6;

/// A curved edge is drawn anew with as few curves as stay within a distance of the old ones; its ends and its
/// directions there stay (R. Levien's curve fit, kurbo's `simplify`).
///
/// ```toml
/// [[step]]
/// do = "smooth"
/// edge = "armhole"
/// within = "1mm"       # left out: 1/16 in
/// ```
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Smooth {
    edge: String,
    within: Option<Length>,
}

impl Smooth {
    /// How it is written.
    pub(super) const KIND: &str = "smooth";

    pub(super) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only(&["edge", "within"])?;
        let within = text.one("within", "within = \"1mm\"")?.map(Length::parse_positive).transpose();
        Ok(Self {
            edge: text.must("edge", "edge = \"armhole\"")?.to_owned(),
            within: within.map_err(|source| StepProblem::Length { key: "within".to_owned(), source })?,
        })
    }
}

impl Edit for Smooth {
    fn spoken(&self) -> String {
        let within = self.within.as_ref().map_or_else(|| Unit::Inch.show(USUAL_MM), ToString::to_string);
        format!("smooth {} within {within}", self.edge)
    }

    fn unit(&self) -> Option<Unit> {
        self.within.as_ref().map(Length::unit)
    }

    fn apply(&self, piece: &mut Piece) -> Result<(), StepProblem> {
        let outline = &mut piece.outline;
        let index = outline.find_edge(&self.edge)?;
        let spoken = outline.spoken(index);
        let edge = &mut outline.edges_mut()[index];
        if edge.segments.iter().all(|s| matches!(s, PathSeg::Line(_))) {
            return Err(StepProblem::NotCurved { edge: spoken });
        }
        let (start, end) = (edge.start(), edge.end());
        let fair = SimplifyBezPath::new(BezPath::from_path_segments(edge.segments.iter().copied()));
        let within = self.within.as_ref().map_or(USUAL_MM, Length::mm);
        let path = kurbo::fit_to_bezpath_opt(&fair, within);
        let mut segments: Vec<PathSeg> = path.segments().collect();
        if segments.len() >= edge.segments.len() {
            return Ok(());
        }
        // Exactly where they were: rounding must not open the outline.
        if let Some(PathSeg::Cubic(c)) = segments.first_mut() {
            c.p0 = start;
        }
        if let Some(PathSeg::Cubic(c)) = segments.last_mut() {
            c.p3 = end;
        }
        edge.segments = segments;
        Ok(())
    }
}
