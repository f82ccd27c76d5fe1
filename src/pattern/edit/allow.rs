//! An allowance given to edges.

use super::Edit;
use crate::pattern::{Allowance, Kind, Piece, StepProblem, StepText, turn_of_cloth_mm};
use crate::units::{Length, Unit};

/// Edges get an allowance, outside the finished line. The cut line is made anew after every step, so the order of this
/// step among the edits does not matter; a second one for the same edge takes the place of the first.
///
/// ```toml
/// [[step]]
/// do = "allowance"
/// edges = ["side", "armhole"]
/// seam = "15mm"      # or turned = (rolled over), hem = or turn-down = (folded over whole, straight edges)
/// turn = "added"     # what the fold itself takes, π t / 2 of the record's thickness t, is added; left out: not
/// ```
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Allow {
    edges: Vec<String>,
    kind: Kind,
    width: Length,
    turn_added: bool,
}

const EXAMPLE: &str =
    "seam = \"15mm\", turned = \"12mm\", hem = \"40mm\" or turn-down = \"50mm\", one of them";

impl Allow {
    /// How it is written.
    pub(super) const KIND: &str = "allowance";

    pub(super) fn read(text: &StepText) -> Result<Self, StepProblem> {
        let words = Kind::ALL.map(Kind::word);
        let known: Vec<&str> = ["edges", "turn"].into_iter().chain(words).collect();
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
        let turn_added = text.choice("turn", &[("added", true), ("none", false)])?.unwrap_or(false);
        Ok(Self { edges, kind, width, turn_added })
    }
}

impl Edit for Allow {
    fn spoken(&self) -> String {
        let turn = if self.turn_added { " and the turn of cloth" } else { "" };
        format!("{} allowance of {}{turn} at {}", self.kind.word(), self.width, self.edges.join(", "))
    }

    fn unit(&self) -> Option<Unit> {
        Some(self.width.unit())
    }

    fn apply(&self, piece: &mut Piece) -> Result<(), StepProblem> {
        let thickness = piece.record.thickness.as_ref().map(Length::mm);
        let turn_mm = match (self.turn_added, thickness) {
            (false, _) => 0.0,
            (true, Some(thickness)) => turn_of_cloth_mm(thickness),
            (true, None) => {
                let example = "the material's thickness to the record".to_owned();
                return Err(StepProblem::Missing { key: "thickness".to_owned(), example });
            }
        };
        let outline = &mut piece.outline;
        for name in &self.edges {
            let edge = outline.find_edge(name)?;
            if outline.is_fold(edge) {
                return Err(StepProblem::OnFold { what: outline.spoken(edge) });
            }
            outline.edges_mut()[edge].allowance =
                Some(Allowance { kind: self.kind, width_mm: self.width.mm() + turn_mm });
        }
        Ok(())
    }
}
