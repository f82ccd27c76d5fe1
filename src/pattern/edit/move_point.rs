//! A point moved, its two edges carried.

use super::Edit;
use super::slide::move_points;
use crate::geometry::Vec2;
use crate::pattern::{Piece, StepProblem, StepText};
use crate::units::{Length, Unit};

/// A point goes out or in, down or up; its two edges keep their far ends and follow.
///
/// ```toml
/// [[step]]
/// do = "move-point"
/// point = "C"
/// out = "10mm"     # away from the fold; negative: towards it
/// down = "5mm"     # negative: up
/// ```
#[derive(Debug, Clone, PartialEq)]
pub(super) struct MovePoint {
    /// The point's letter.
    point: String,
    /// Away from the fold.
    out: Option<Length>,
    /// Along the fold.
    down: Option<Length>,
}

impl MovePoint {
    /// How it is written.
    pub(super) const KIND: &str = "move-point";

    pub(super) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only(&["point", "out", "down"])?;
        let example = "out = \"10mm\", down = \"5mm\", or both";
        let (out, down) = (text.length("out", example)?, text.length("down", example)?);
        if out.is_none() && down.is_none() {
            return Err(StepProblem::Missing { key: "out".to_owned(), example: example.to_owned() });
        }
        Ok(Self { point: text.must("point", "point = \"C\"")?.to_owned(), out, down })
    }
}

impl Edit for MovePoint {
    fn spoken(&self) -> String {
        let way = |name: &str, length: &Option<Length>| length.as_ref().map(|l| format!("{l} {name}"));
        let ways: Vec<String> =
            [way("out", &self.out), way("down", &self.down)].into_iter().flatten().collect();
        format!("move the point {} by {}", self.point, ways.join(" and "))
    }

    fn unit(&self) -> Option<Unit> {
        self.out.as_ref().or(self.down.as_ref()).map(Length::unit)
    }

    fn apply(&self, piece: &mut Piece) -> Result<(), StepProblem> {
        let outline = &mut piece.outline;
        let mut moved = vec![false; outline.edges().len()];
        moved[outline.find_point(&self.point)?] = true;
        let mm = |length: &Option<Length>| length.as_ref().map_or(0.0, Length::mm);
        move_points(outline, &moved, Vec2::new(mm(&self.out), mm(&self.down)))
    }
}
