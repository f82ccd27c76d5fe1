//! A curved edge made deeper or flatter, its ends fixed.

use super::Edit;
use crate::geometry::{Point, Vec2};
use crate::pattern::outline::carried;
use crate::pattern::{Piece, StepProblem, StepText};
use crate::units::{Length, Unit};
use kurbo::{BezPath, PathEl};

/// A curve less deep than this is straight for this step, millimetres: what a pen line hides.
const STRAIGHT_MM: f64 = 0.2;

/// The deepest place of a curved edge goes farther from the straight line between its ends; the ends stay.
///
/// Every point of the edge keeps its place along the chord, and its distance from the chord grows in the ratio
/// (depth + amount) / depth: affine, so the curve stays as fair as it was.
///
/// ```toml
/// [[step]]
/// do = "deepen"
/// edge = "armhole"
/// by = "10mm"        # negative: flatten
/// ```
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Deepen {
    /// The edge.
    edge: String,
    /// How much deeper; negative for flatter.
    by: Length,
}

impl Deepen {
    /// How it is written.
    pub(super) const KIND: &str = "deepen";

    pub(super) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only(&["edge", "by"])?;
        Ok(Self {
            edge: text.must("edge", "edge = \"armhole\"")?.to_owned(),
            by: text.must_length("by", "by = \"10mm\" (or by = \"-10mm\" to flatten)")?,
        })
    }
}

impl Edit for Deepen {
    fn spoken(&self) -> String {
        format!("deepen {} by {}", self.edge, self.by)
    }

    fn unit(&self) -> Option<Unit> {
        Some(self.by.unit())
    }

    fn apply(&self, piece: &mut Piece) -> Result<(), StepProblem> {
        let outline = &mut piece.outline;
        let index = outline.find_edge(&self.edge)?;
        let spoken = outline.spoken(index);
        let edge = &outline.edges()[index];
        let (start, chord) = (edge.start(), edge.end() - edge.start());
        let across = Vec2::new(-chord.y, chord.x).normalize();
        let depth = depth_mm(&edge.segments, start, across);
        if depth < STRAIGHT_MM {
            return Err(StepProblem::NotCurved { edge: spoken });
        }
        if depth + self.by.mm() <= 0.0 {
            return Err(StepProblem::TooFlat { edge: spoken, depth_mm: depth });
        }
        let more = self.by.mm() / depth;
        let smooth = outline.smooth_joints();
        for segment in &mut outline.edges_mut()[index].segments {
            *segment = carried(*segment, |p| p + across * (more * (p - start).dot(across)));
        }
        outline.blend_joints(&smooth);
        Ok(())
    }
}

/// The greatest distance of the edge from its chord, millimetres.
fn depth_mm(segments: &[kurbo::PathSeg], start: Point, across: Vec2) -> f64 {
    /// Chords of the measure depart from the curve by at most this, millimetres.
    const CHORD_MM: f64 = 1e-3;
    let mut depth = 0.0_f64;
    kurbo::flatten(BezPath::from_path_segments(segments.iter().copied()), CHORD_MM, |el| {
        if let PathEl::LineTo(p) = el {
            depth = depth.max((p - start).dot(across).abs());
        }
    });
    depth
}
