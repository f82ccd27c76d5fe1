//! Length added or taken at a line across the piece, or at an edge.

use super::Edit;
use super::cut::{Cut, Way};
use super::slide::move_points;
use crate::geometry::Vec2;
use crate::pattern::{Level, Piece, StepProblem, StepText};
use crate::units::{Length, Unit};

/// The piece is cut on a level line and spread (or lapped, for a negative amount), and the sides are trued: everything
/// past the line moves along the fold, straight sides stay straight, curves are stretched without a step.
///
/// With `edge`, that edge moves whole, away from the middle of the piece, and its neighbours stretch.
///
/// ```toml
/// [[step]]
/// do = "lengthen"
/// by = "90mm"
/// at = "40mm below C"    # or edge = "hem"; both left out: the middle of the side
/// ```
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Lengthen {
    /// How much; negative to shorten.
    by: Length,
    /// Where.
    place: LengthenAt,
}

/// Where length is added.
#[derive(Debug, Clone, PartialEq)]
enum LengthenAt {
    /// At a level line.
    Line(Level),
    /// At an edge.
    Edge(String),
}

impl Lengthen {
    /// How it is written.
    pub(super) const KIND: &str = "lengthen";

    pub(super) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only(&["by", "at", "edge"])?;
        let by = text.must_length("by", "by = \"90mm\" (or by = \"-90mm\" to shorten)")?;
        let place = match text.one("edge", "edge = \"hem\"")? {
            Some(_) if text.list("at").is_some() => {
                return Err(StepProblem::BadValue {
                    key: "edge".to_owned(),
                    found: "given together with `at`".to_owned(),
                    example: "edge = \"hem\" or at = \"40mm below C\", one of them".to_owned(),
                });
            }
            Some(edge) => LengthenAt::Edge(edge.to_owned()),
            None => LengthenAt::Line(text.level("at")?),
        };
        Ok(Self { by, place })
    }
}

impl Edit for Lengthen {
    fn spoken(&self) -> String {
        match &self.place {
            LengthenAt::Edge(edge) => format!("lengthen by {} at {edge}", self.by),
            LengthenAt::Line(level) => format!("lengthen by {} at the line {}", self.by, level.spoken()),
        }
    }

    fn unit(&self) -> Option<Unit> {
        Some(self.by.unit())
    }

    fn apply(&self, piece: &mut Piece) -> Result<(), StepProblem> {
        let outline = &mut piece.outline;
        match &self.place {
            LengthenAt::Line(level) => {
                let at_mm = level.resolve(outline)?;
                Cut { way: Way::Down, at_mm, by_mm: self.by.mm(), spoken: level.spoken() }.spread(piece)
            }
            LengthenAt::Edge(name) => {
                let edge = outline.find_edge(name)?;
                if outline.is_fold(edge) {
                    return Err(StepProblem::OnFold { what: outline.spoken(edge) });
                }
                let (start, end) = (outline.edges()[edge].start().y, outline.edges()[edge].end().y);
                let below = f64::midpoint(start, end) >= outline.ring().bounds().center().y;
                let by = if below { self.by.mm() } else { -self.by.mm() };
                let mut moved = vec![false; outline.edges().len()];
                moved[edge] = true;
                moved[outline.after(edge)] = true;
                move_points(outline, &moved, Vec2::new(0.0, by))
            }
        }
    }
}
