//! A name for an edge.

use super::Edit;
use crate::pattern::recipe::name_edge;
use crate::pattern::{Piece, StepProblem, StepText};
use crate::units::Unit;

/// An edge gets a name: one that a step made, or one of another piece. The body's own are named under `[edges]`.
///
/// ```toml
/// [[step]]
/// do = "name"
/// edge = "F-G"
/// as = "hem curve"
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Name {
    edge: String,
    name: String,
}

impl Name {
    /// How it is written.
    pub(super) const KIND: &str = "name";

    pub(super) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only(&["edge", "as"])?;
        Ok(Self {
            edge: text.must("edge", "edge = \"F-G\"")?.to_owned(),
            name: text.must("as", "as = \"hem curve\"")?.trim().to_owned(),
        })
    }
}

impl Edit for Name {
    fn spoken(&self) -> String {
        format!("call {} {}", self.edge, self.name)
    }

    fn unit(&self) -> Option<Unit> {
        None
    }

    fn apply(&self, piece: &mut Piece) -> Result<(), StepProblem> {
        name_edge(&mut piece.outline, &self.name, &self.edge)
    }
}
