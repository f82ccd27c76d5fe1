//! An allowance given to edges.

use super::Edit;
use crate::pattern::{Allowance, Kind, Piece, StepProblem, StepText};
use crate::units::{Length, Unit};

/// Edges get an allowance, outside the finished line. The cut line is made anew after every step, so the order of this
/// step among the edits does not matter; a second one for the same edge takes the place of the first.
///
/// ```toml
/// [[step]]
/// do = "allowance"
/// edges = ["side", "armhole"]
/// seam = "15mm"      # or turned = (rolled over), hem = or turn-down = (folded over whole, straight edges)
/// ```
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Allow {
    edges: Vec<String>,
    kind: Kind,
    width: Length,
}

const EXAMPLE: &str =
    "seam = \"15mm\", turned = \"12mm\", hem = \"40mm\" or turn-down = \"50mm\", one of them";

impl Allow {
    /// How it is written.
    pub(super) const KIND: &str = "allowance";

    pub(super) fn read(text: &StepText) -> Result<Self, StepProblem> {
        let words = Kind::ALL.map(Kind::word);
        let known: Vec<&str> = std::iter::once("edges").chain(words).collect();
        text.only(&known)?;
        let edges = text.must_edges()?;
        let mut given = None;
        for kind in Kind::ALL {
            let Some(width) = text.one(kind.word(), EXAMPLE)? else { continue };
            let key = kind.word().to_owned();
            let width = Length::parse_positive(width)
                .map_err(|source| StepProblem::Length { key: key.clone(), source })?;
            if given.replace((kind, width)).is_some() {
                let found = "given together with another kind".to_owned();
                return Err(StepProblem::BadValue { key, found, example: EXAMPLE.to_owned() });
            }
        }
        let missing = || StepProblem::Missing { key: "seam".to_owned(), example: EXAMPLE.to_owned() };
        let (kind, width) = given.ok_or_else(missing)?;
        Ok(Self { edges, kind, width })
    }
}

impl Edit for Allow {
    fn spoken(&self) -> String {
        format!("{} allowance of {} at {}", self.kind.word(), self.width, self.edges.join(", "))
    }

    fn unit(&self) -> Option<Unit> {
        Some(self.width.unit())
    }

    fn apply(&self, piece: &mut Piece) -> Result<(), StepProblem> {
        let outline = &mut piece.outline;
        for name in &self.edges {
            let edge = outline.find_edge(name)?;
            if outline.is_fold(edge) {
                return Err(StepProblem::OnFold { what: outline.spoken(edge) });
            }
            outline.edges_mut()[edge].allowance =
                Some(Allowance { kind: self.kind, width_mm: self.width.mm() });
        }
        Ok(())
    }
}
