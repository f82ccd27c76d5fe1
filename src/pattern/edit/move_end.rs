//! One end of an edge moved square to the fold, its height kept.

use super::Edit;
use super::amount::{self, Amount};
use super::slide::move_points;
use crate::geometry::Vec2;
use crate::pattern::{Piece, StepProblem, StepText, nearest};
use crate::units::Unit;

/// One end of an edge goes out (or in), its height kept: an armhole's lower end, say. The other end stays.
///
/// ```toml
/// [[step]]
/// do = "move-end"
/// edge = "armhole"
/// point = "C"
/// each = "25mm"             # or total = "50mm"
/// neighbour = "stretches"   # the edge on the point's other side keeps its far end; "slides": goes along whole
/// ```
#[derive(Debug, Clone, PartialEq)]
pub(super) struct MoveEnd {
    /// The edge that is reshaped.
    edge: String,
    /// The end that moves.
    point: String,
    /// How far; negative moves towards the fold.
    amount: Amount,
    /// What the edge on the other side of the point does.
    neighbour: Neighbour,
}

/// What the edge on the other side of a moved point does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
enum Neighbour {
    /// It keeps its far end and stretches or shortens.
    #[default]
    Stretches,
    /// It goes along whole; the edge after it stretches.
    Slides,
}

const NEIGHBOUR_EXAMPLE: &str =
    "neighbour = \"stretches\" (it keeps its far end) or neighbour = \"slides\" (it goes along whole)";

impl MoveEnd {
    /// How it is written.
    pub(super) const KIND: &str = "move-end";

    pub(super) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only(&["edge", "point", amount::KEYS[0], amount::KEYS[1], "neighbour"])?;
        let neighbour = match text.one("neighbour", NEIGHBOUR_EXAMPLE)? {
            None | Some("stretches") => Neighbour::Stretches,
            Some("slides") => Neighbour::Slides,
            Some(other) => {
                let meant =
                    nearest(other, ["stretches", "slides"]).map(|n| format!(", perhaps {n} is meant"));
                return Err(StepProblem::BadValue {
                    key: "neighbour".to_owned(),
                    found: format!("`{other}`{}", meant.unwrap_or_default()),
                    example: NEIGHBOUR_EXAMPLE.to_owned(),
                });
            }
        };
        Ok(Self {
            edge: text.must("edge", "edge = \"armhole\" or edge = \"B-C\"")?.to_owned(),
            point: text.must("point", "point = \"C\", the end that moves")?.to_owned(),
            amount: Amount::read(text)?,
            neighbour,
        })
    }
}

impl Edit for MoveEnd {
    fn spoken(&self) -> String {
        format!("move the end {} of {} out by {}, its height kept", self.point, self.edge, self.amount)
    }

    fn unit(&self) -> Option<Unit> {
        Some(self.amount.unit())
    }

    fn apply(&self, piece: &mut Piece) -> Result<(), StepProblem> {
        let outline = &mut piece.outline;
        let count = outline.edges().len();
        let edge = outline.find_edge(&self.edge)?;
        let point = outline.find_point(&self.point)?;
        let (start, end) = (edge, (edge + 1) % count);
        // The far end of the edge on the other side of the point.
        let beyond = if point == end {
            (point + 1) % count
        } else if point == start {
            (point + count - 1) % count
        } else {
            return Err(StepProblem::NotAnEnd {
                edge: outline.spoken(edge),
                point: self.point.clone(),
                ends: format!("{} and {}", outline.edges()[start].from, outline.edges()[end].from),
            });
        };
        let mut moved = vec![false; count];
        moved[point] = true;
        if self.neighbour == Neighbour::Slides {
            moved[beyond] = true;
        }
        move_points(outline, &moved, Vec2::new(self.amount.each_mm(), 0.0))
    }
}
