//! Which edges are sewn to each other.

use crate::pattern::bundle::{Bundle, PieceEdge, SeamCorners, Sewn};
use crate::pattern::edit::Make;
use crate::pattern::{StepProblem, StepText};
use crate::units::{Length, Unit};

/// Two edges are sewn to each other: `onfold check` walks them and compares their lengths, notches and corners.
///
/// ```toml
/// [[step]]
/// do = "sew"
/// first = "top"            # an edge of the piece that `piece` names
/// to = "top facing: top"   # piece and edge
/// ease = "3mm"             # how much longer the first is; left out: none
/// corners = "run on"       # their neighbours run on into each other: 180 degrees; left out: they do, or one piece is laid
///                          # on the other with the same corners; "free": not looked at
/// ```
#[derive(Debug, Clone, PartialEq)]
pub(in crate::pattern) struct Sew {
    first: String,
    to: (String, String),
    ease: Option<Length>,
    corners: SeamCorners,
}

const CORNERS: [(&str, SeamCorners); 2] = [("run on", SeamCorners::RunOn), ("free", SeamCorners::Free)];

impl Sew {
    /// How it is written.
    pub(in crate::pattern) const KIND: &str = "sew";

    pub(in crate::pattern) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only(&["first", "to", "ease", "corners"])?;
        let example = "to = \"top facing: top\", piece and edge";
        let to = text.must("to", example)?;
        let (piece, edge) = to.split_once(':').ok_or_else(|| StepProblem::BadValue {
            key: "to".to_owned(),
            found: format!("`{to}`"),
            example: example.to_owned(),
        })?;
        Ok(Self {
            first: text.must("first", "first = \"top\"")?.to_owned(),
            to: (piece.trim().to_owned(), edge.trim().to_owned()),
            ease: text.length("ease", "ease = \"3mm\"")?,
            corners: text.choice("corners", &CORNERS)?.unwrap_or_default(),
        })
    }
}

impl Make for Sew {
    fn spoken(&self) -> String {
        format!("sew {} to {} of {}", self.first, self.to.1, self.to.0)
    }

    fn unit(&self) -> Option<Unit> {
        self.ease.as_ref().map(Length::unit)
    }

    fn make(&self, bundle: &mut Bundle, at: usize) -> Result<(), StepProblem> {
        let other = bundle.find(&self.to.0)?;
        bundle.pieces[at].outline.find_edge(&self.first)?;
        bundle.pieces[other].outline.find_edge(&self.to.1)?;
        let name = |index: usize| bundle.pieces[index].record.piece.clone();
        let first = PieceEdge { piece: name(at), edge: self.first.clone() };
        let second = PieceEdge { piece: name(other), edge: self.to.1.clone() };
        let ease_mm = self.ease.as_ref().map_or(0.0, Length::mm);
        bundle.sewn.push(Sewn { first, second, ease_mm, corners: self.corners });
        Ok(())
    }
}
