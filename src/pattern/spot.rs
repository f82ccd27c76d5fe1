//! A place on a piece's line, as a person says it: `120mm along side`, `40mm back along B-C`, `middle of hem`, `C`.

use super::joint::{end_direction, start_direction};
use super::{Letter, Outline, StepProblem};
use crate::geometry::{Point, Vec2};
use crate::units::Length;
use kurbo::{ParamCurve, ParamCurveArclen};

/// A place on the line, by edge names; the text is kept for messages.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Spot {
    written: String,
    place: Place,
}

#[derive(Debug, Clone, PartialEq)]
enum Place {
    Point(String),
    On { edge: String, from: From },
}

/// From where a distance along an edge is taken.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum From {
    /// From its first point.
    Start(f64),
    /// From its last point, back.
    End(f64),
    /// Half its length.
    Middle,
}

impl From {
    /// The same seen from the other end.
    pub(super) fn mirrored(self) -> Self {
        match self {
            Self::Start(mm) => Self::End(mm),
            Self::End(mm) => Self::Start(mm),
            Self::Middle => Self::Middle,
        }
    }
}

/// A place that follows edits: the edge by the letter at which it begins.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Fixed {
    pub(super) edge: Letter,
    pub(super) from: From,
}

/// A place found on a line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Found {
    /// Index of its edge.
    pub(super) edge: usize,
    /// How far along the edge, millimetres.
    pub(super) along_mm: f64,
    /// Where it is.
    pub(super) at: Point,
    /// The way of the line there, of length 1.
    pub(super) way: Vec2,
}

impl Found {
    /// Away from the cloth, of length 1.
    pub(super) fn outward(&self) -> Vec2 {
        Vec2::new(self.way.y, -self.way.x)
    }
}

/// Lengths along edges are measured to this, millimetres.
const ARC_MM: f64 = 1e-6;

/// A place this little past the end of an edge is its end, millimetres.
const PAST_MM: f64 = 1e-3;

const EXAMPLE: &str =
    "\"120mm along side\", \"40mm back along B-C\" (from its end), \"middle of hem\" or \"C\"";

impl Spot {
    /// Reads a place.
    ///
    /// # Errors
    /// [`StepProblem::Length`] when its length does not read, [`StepProblem::BadValue`] when nothing does.
    pub(super) fn parse(key: &str, text: &str) -> Result<Self, StepProblem> {
        let written = text.trim().to_owned();
        let length = |part: &str| {
            Length::parse(part)
                .map(|l| l.mm())
                .map_err(|source| StepProblem::Length { key: key.to_owned(), source })
        };
        let on = |edge: &str, from| Place::On { edge: edge.trim().to_owned(), from };
        let place = if let Some(edge) = written.strip_prefix("middle of ") {
            on(edge, From::Middle)
        } else if let Some((mm, edge)) = written.split_once(" back along ") {
            on(edge, From::End(length(mm)?))
        } else if let Some((mm, edge)) = written.split_once(" along ") {
            on(edge, From::Start(length(mm)?))
        } else if Letter::parse(&written).is_some() {
            Place::Point(written.clone())
        } else {
            return Err(StepProblem::BadValue {
                key: key.to_owned(),
                found: format!("`{written}`"),
                example: format!("{key} = {EXAMPLE}"),
            });
        };
        Ok(Self { written, place })
    }

    /// As it was written.
    pub(super) fn spoken(&self) -> &str {
        &self.written
    }

    /// The same by the letter of its edge.
    ///
    /// # Errors
    /// [`StepProblem::NoEdge`], [`StepProblem::NoPoint`], [`StepProblem::PastEnd`].
    pub(super) fn fix(&self, outline: &Outline) -> Result<Fixed, StepProblem> {
        let (edge, from) = match &self.place {
            Place::Point(letter) => (outline.find_point(letter)?, From::Start(0.0)),
            Place::On { edge, from } => (outline.find_edge(edge)?, *from),
        };
        let fixed = Fixed { edge: outline.edges()[edge].from, from };
        fixed.find(outline)?;
        Ok(fixed)
    }

    /// Where it is.
    ///
    /// # Errors
    /// As [`Spot::fix`].
    pub(super) fn find(&self, outline: &Outline) -> Result<Found, StepProblem> {
        self.fix(outline)?.find(outline)
    }
}

impl Fixed {
    /// Where it is now.
    ///
    /// # Errors
    /// [`StepProblem::NoPoint`] when its edge is gone, [`StepProblem::PastEnd`] when the edge has become too short.
    pub(super) fn find(self, outline: &Outline) -> Result<Found, StepProblem> {
        let edge = outline.find_point(&self.edge.to_string())?;
        let length_mm = outline.edges()[edge].length_mm();
        let along_mm = match self.from {
            From::Start(mm) => mm,
            From::End(mm) => length_mm - mm,
            From::Middle => length_mm / 2.0,
        };
        if !(-PAST_MM..=length_mm + PAST_MM).contains(&along_mm) {
            return Err(StepProblem::PastEnd { edge: outline.spoken(edge), length_mm });
        }
        Ok(found(outline, edge, along_mm.clamp(0.0, length_mm)))
    }
}

/// The place so far along an edge.
pub(super) fn found(outline: &Outline, edge: usize, along_mm: f64) -> Found {
    let segments = &outline.edges()[edge].segments;
    let mut left_mm = along_mm;
    for (index, segment) in segments.iter().enumerate() {
        let length = segment.arclen(ARC_MM);
        if left_mm <= length || index + 1 == segments.len() {
            let t = if left_mm >= length { 1.0 } else { segment.inv_arclen(left_mm, ARC_MM) };
            let way = if t < 0.5 {
                start_direction(&segment.subsegment(t..1.0))
            } else {
                end_direction(&segment.subsegment(0.0..t))
            };
            return Found { edge, along_mm, at: segment.eval(t), way: way.unwrap_or(Vec2::new(1.0, 0.0)) };
        }
        left_mm -= length;
    }
    let at = outline.edges()[edge].end();
    Found { edge, along_mm, at, way: Vec2::new(1.0, 0.0) }
}
