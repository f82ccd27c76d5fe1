//! A piece slashed to a pivot and spread.

use super::Edit;
use crate::geometry::{Affine, BezPath, CubicBez, PathSeg, Point, Vec2};
use crate::pattern::joint::{end_direction, start_direction};
use crate::pattern::part::cut_at;
use crate::pattern::{Outline, Piece, StepProblem, StepText};
use crate::units::{Length, Unit};
use kurbo::{ParamCurve, Shape};

/// The piece is slashed from a place on an edge to a lettered point, and the part that does not hold the fold swings about
/// that point until the slash opens by an amount. The gap in the edge is bridged by a curve that runs on from both sides;
/// everything else keeps its shape.
///
/// The angle is 2 asin(d / 2R), d the opening and R the length of the slash.
///
/// ```toml
/// [[step]]
/// do = "spread"
/// pivot = "C"
/// edge = "hem"
/// by = "40mm"          # the opening, on each side of a half
/// at = "120mm"         # along the edge from its first point; left out: its middle
/// ```
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Spread {
    pivot: String,
    edge: String,
    by: Length,
    at: Option<Length>,
}

impl Spread {
    /// How it is written.
    pub(super) const KIND: &str = "spread";

    pub(super) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only(&["pivot", "edge", "by", "at"])?;
        let positive = |key: &str, value: &str| {
            Length::parse_positive(value)
                .map_err(|source| StepProblem::Length { key: key.to_owned(), source })
        };
        Ok(Self {
            pivot: text.must("pivot", "pivot = \"C\"")?.to_owned(),
            edge: text.must("edge", "edge = \"hem\"")?.to_owned(),
            by: positive("by", text.must("by", "by = \"40mm\"")?)?,
            at: text.one("at", "at = \"120mm\"")?.map(|at| positive("at", at)).transpose()?,
        })
    }
}

impl Edit for Spread {
    fn spoken(&self) -> String {
        let at = self.at.as_ref().map_or_else(|| "the middle".to_owned(), |at| format!("{at} along"));
        format!("spread {} at {at} by {} about {}", self.edge, self.by, self.pivot)
    }

    fn unit(&self) -> Option<Unit> {
        Some(self.by.unit())
    }

    fn apply(&self, piece: &mut Piece) -> Result<(), StepProblem> {
        let outline = &mut piece.outline;
        let (pivot, edge) = (outline.find_point(&self.pivot)?, outline.find_edge(&self.edge)?);
        if outline.is_fold(edge) {
            return Err(StepProblem::OnFold { what: outline.spoken(edge) });
        }
        let length_mm = outline.edges()[edge].length_mm();
        let along_mm = self.at.as_ref().map_or(length_mm / 2.0, Length::mm);
        if along_mm >= length_mm {
            return Err(StepProblem::PastEnd { edge: outline.spoken(edge), length_mm });
        }
        if pivot == edge || pivot == outline.after(edge) {
            let edge = outline.spoken(edge);
            return Err(StepProblem::PivotOnEdge { pivot: self.pivot.clone(), edge });
        }
        let [first, second] = cut_at(&outline.edges()[edge].segments, along_mm);
        let (centre, slash) = (outline.edges()[pivot].start(), first[first.len() - 1].end());
        let radius_mm = slash.distance(centre);
        let part = self.by.mm() / (2.0 * radius_mm);
        let onward = end_direction(&first[first.len() - 1]).unwrap_or(Vec2::ZERO);
        if part >= 1.0 {
            return Err(StepProblem::OpensTooFar { radius_mm });
        }
        // The part before the slash swings back along the edge, the part after it swings on.
        let before = pivot < edge;
        let turned = |angle: f64| Affine::rotate_about(angle, centre);
        let angle = 2.0 * part.asin();
        let back = (turned(angle) * slash - slash).dot(onward) < 0.0;
        let swing = turned(if back == before { angle } else { -angle });
        let inside = swung_region(outline, pivot, edge, [&first, &second], before);
        for index in if before { pivot..edge } else { edge + 1..pivot } {
            for segment in &mut outline.edges_mut()[index].segments {
                *segment = swing * *segment;
            }
        }
        let swung = |run: &[PathSeg]| run.iter().map(|s| swing * *s).collect::<Vec<_>>();
        let (first, second) = if before { (swung(&first), second) } else { (first, swung(&second)) };
        let bridge = bridge(&first[first.len() - 1], &second[0]);
        outline.edges_mut()[edge].segments = [first, vec![bridge], second].concat();
        for hole in &mut piece.holes {
            if inside.contains(hole.bounds().center()) {
                *hole = hole.transformed(swing);
            }
        }
        Ok(())
    }
}

/// The part of the piece that swings: along the outline between the pivot and the slash, and back across.
fn swung_region(
    outline: &Outline,
    pivot: usize,
    edge: usize,
    [first, second]: [&[PathSeg]; 2],
    before: bool,
) -> BezPath {
    let whole = |from: usize, to: usize| outline.edges()[from..to].iter().flat_map(|e| &e.segments).copied();
    let run: Vec<PathSeg> = if before {
        whole(pivot, edge).chain(first.iter().copied()).collect()
    } else {
        second.iter().copied().chain(whole(edge + 1, pivot)).collect()
    };
    let mut path = BezPath::from_path_segments(run.into_iter());
    path.close_path();
    path
}

/// A curve from the end of one segment to the start of another, running on from both.
fn bridge(before: &PathSeg, after: &PathSeg) -> PathSeg {
    let (start, end): (Point, Point) = (before.end(), after.start());
    let third = start.distance(end) / 3.0;
    let direction = |d: Option<Vec2>| d.unwrap_or(Vec2::ZERO) * third;
    let (leaving, arriving) = (direction(end_direction(before)), direction(start_direction(after)));
    PathSeg::Cubic(CubicBez::new(start, start + leaving, end - arriving, end))
}
