//! A place along the fold, as a person says it: `40mm below C`, `300mm below top`, `middle of side`, `C`.

use super::{Outline, StepProblem};
use crate::units::Length;

/// A level line square to the fold.
#[derive(Debug, Clone, PartialEq)]
pub struct Level {
    written: String,
    place: Place,
}

#[derive(Debug, Clone, PartialEq)]
enum Place {
    /// Millimetres below a lettered point; `None` is the fold's top.
    Below { point: Option<String>, mm: f64 },
    /// Half the height of an edge.
    MiddleOf { edge: String },
    /// Nobody has said: the middle of the tallest straight side, or of the fold where no side is straight.
    Usual,
}

/// What a level may look like, for messages.
const EXAMPLE: &str = "at = \"40mm below C\", at = \"300mm below top\" or at = \"middle of C-D\"";

impl Level {
    /// The level taken when nobody has said: the middle of the tallest straight side.
    #[must_use]
    pub fn usual() -> Self {
        Self { written: "in the middle of the side".to_owned(), place: Place::Usual }
    }

    /// Reads a level. A length alone is taken from the fold's top.
    ///
    /// # Errors
    /// [`StepProblem::Length`] when its length does not read, [`StepProblem::BadValue`] when nothing does.
    pub fn parse(key: &str, text: &str) -> Result<Self, StepProblem> {
        let written = text.trim().to_owned();
        let length = |part: &str| {
            Length::parse(part)
                .map(|l| l.mm())
                .map_err(|source| StepProblem::Length { key: key.to_owned(), source })
        };
        let point = |part: &str| (!part.trim().eq_ignore_ascii_case("top")).then(|| part.trim().to_owned());
        let place = if let Some(edge) = written.strip_prefix("middle of ") {
            Place::MiddleOf { edge: edge.trim().to_owned() }
        } else if let Some((by, from)) = written.split_once(" below ") {
            Place::Below { point: point(from), mm: length(by)? }
        } else if let Some((by, from)) = written.split_once(" above ") {
            Place::Below { point: point(from), mm: -length(by)? }
        } else if written.chars().all(|c| c.is_ascii_alphabetic()) && !written.is_empty() {
            Place::Below { point: point(&written), mm: 0.0 }
        } else if written.chars().any(|c| c.is_ascii_digit()) {
            Place::Below { point: None, mm: length(&written)? }
        } else {
            return Err(StepProblem::BadValue {
                key: key.to_owned(),
                found: format!("`{written}`"),
                example: EXAMPLE.to_owned(),
            });
        };
        Ok(Self { written, place })
    }

    /// For messages and reports.
    #[must_use]
    pub fn spoken(&self) -> &str {
        &self.written
    }

    /// Its y in the piece's frame, millimetres.
    ///
    /// # Errors
    /// [`StepProblem::NoPoint`] and [`StepProblem::NoEdge`] for what is not there, [`StepProblem::OffPiece`] when
    /// the line misses the piece.
    pub fn resolve(&self, outline: &Outline) -> Result<f64, StepProblem> {
        let middle =
            |edge: usize| f64::midpoint(outline.edges()[edge].start().y, outline.edges()[edge].end().y);
        let y = match &self.place {
            Place::Below { point: None, mm } => outline.edges()[0].start().y + mm,
            Place::Below { point: Some(letter), mm } => {
                outline.edges()[outline.find_point(letter)?].start().y + mm
            }
            Place::MiddleOf { edge } => middle(outline.find_edge(edge)?),
            Place::Usual => middle(tallest_straight_side(outline)),
        };
        let bounds = outline.ring().bounds();
        if y < bounds.y0 || y >= bounds.y1 {
            return Err(StepProblem::OffPiece {
                level: self.written.clone(),
                where_mm: y,
                top_mm: bounds.y0,
                bottom_mm: bounds.y1,
            });
        }
        Ok(y)
    }
}

/// The straight edge that covers the most height, the fold only when there is no other.
fn tallest_straight_side(outline: &Outline) -> usize {
    let last = outline.edges().len() - 1;
    let sides = 0..if outline.on_fold() { last } else { last + 1 };
    let height = |i: &usize| (outline.edges()[*i].end().y - outline.edges()[*i].start().y).abs();
    sides
        .filter(|&i| outline.edges()[i].is_straight() && height(&i) > 0.0)
        .max_by(|a, b| height(a).total_cmp(&height(b)))
        .unwrap_or(last)
}
