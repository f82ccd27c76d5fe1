//! Width added or taken at the side, or at a line along the fold.

use super::Edit;
use super::amount::{self, Amount};
use super::cut::{Cut, Way};
use super::slide::move_points;
use crate::geometry::Vec2;
use crate::pattern::{FOLD, Piece, StepProblem, StepText};
use crate::units::{Length, Unit};

/// The side slides out square to the fold; the fold does not move, and the edges between the fold and the side
/// stretch with it.
///
/// With `at`, the piece is cut on a line along the fold and spread instead: `at = "fold"`, or a distance from it.
///
/// ```toml
/// [[step]]
/// do = "widen"
/// total = "2in"          # on the whole garment; each = "1in" says the same
/// edges = ["side"]       # or at = "fold"; both left out: every edge that does not touch the fold slides
/// ```
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Widen {
    /// How much; negative to take width away.
    amount: Amount,
    /// Where.
    place: WidenAt,
}

/// Where width is added.
#[derive(Debug, Clone, PartialEq)]
enum WidenAt {
    /// Every edge that does not touch the fold slides.
    Side,
    /// These edges slide.
    Edges(Vec<String>),
    /// At the fold.
    Fold,
    /// At a line along the fold, this far from it.
    Line(Length),
}

impl Widen {
    /// How it is written.
    pub(super) const KIND: &str = "widen";

    pub(super) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only(&[amount::KEYS[0], amount::KEYS[1], "edges", "at"])?;
        let example = "at = \"fold\", at = \"60mm\" (from the fold) or edges = [\"side\"], one of them";
        let place = match (text.list("edges"), text.one("at", example)?) {
            (None, None) => WidenAt::Side,
            (Some(edges), None) => WidenAt::Edges(edges.to_vec()),
            (None, Some(at)) if at.trim() == FOLD => WidenAt::Fold,
            (None, Some(at)) => {
                let read = Length::parse_positive(at);
                WidenAt::Line(read.map_err(|source| StepProblem::Length { key: "at".to_owned(), source })?)
            }
            (Some(_), Some(_)) => {
                return Err(StepProblem::BadValue {
                    key: "at".to_owned(),
                    found: "given together with `edges`".to_owned(),
                    example: example.to_owned(),
                });
            }
        };
        Ok(Self { amount: Amount::read(text)?, place })
    }
}

impl Edit for Widen {
    fn spoken(&self) -> String {
        let place = match &self.place {
            WidenAt::Side => "the whole side".to_owned(),
            WidenAt::Edges(edges) => edges.join(", "),
            WidenAt::Fold => "the fold".to_owned(),
            WidenAt::Line(from) => format!("a line {from} from the fold"),
        };
        format!("widen by {} at {place}", self.amount)
    }

    fn unit(&self) -> Option<Unit> {
        Some(self.amount.unit())
    }

    fn apply(&self, piece: &mut Piece) -> Result<(), StepProblem> {
        let by_mm = self.amount.each_mm();
        let outline = &mut piece.outline;
        let mut moved: Vec<bool> = (0..outline.edges().len()).map(|p| !outline.is_on_fold(p)).collect();
        match &self.place {
            WidenAt::Side => {}
            WidenAt::Edges(names) => {
                moved.fill(false);
                for name in names {
                    let edge = outline.find_edge(name)?;
                    if outline.is_on_fold(edge) || outline.is_on_fold(outline.after(edge)) {
                        return Err(StepProblem::OnFold {
                            what: format!("one end of {}", outline.spoken(edge)),
                        });
                    }
                    moved[edge] = true;
                    moved[outline.after(edge)] = true;
                }
            }
            WidenAt::Fold => {
                return Cut { way: Way::Out, at_mm: 0.0, by_mm, spoken: "at the fold" }.spread(piece);
            }
            WidenAt::Line(from) => {
                let spoken = format!("{from} from the fold");
                let wide_mm = outline.ring().bounds().x1;
                if from.mm() >= wide_mm {
                    return Err(StepProblem::TooWide { line: spoken, wide_mm });
                }
                return Cut { way: Way::Out, at_mm: from.mm(), by_mm, spoken: &spoken }.spread(piece);
            }
        }
        move_points(outline, &moved, Vec2::new(by_mm, 0.0))
    }
}
