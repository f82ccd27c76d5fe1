//! Skive lines and glue limits.

use super::Edit;
use crate::pattern::construction::{Guide as GuideMark, Mark};
use crate::pattern::{LineKind, Piece, StepProblem, StepText};
use crate::units::{Length, Unit};

/// A line inside the cut edge: to which the leather is thinned, or to which cement is put. Both follow the allowance
/// unless a width is said, measured from the cut edge: the skive is twice the turned width, cement ends a little short of
/// it.
///
/// ```toml
/// [[step]]
/// do = "skive"             # or "glue"
/// edges = ["armhole"]
/// width = "24mm"           # left out: twice the allowance
/// ```
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Guide {
    kind: LineKind,
    edges: Vec<String>,
    width: Option<Length>,
}

impl Guide {
    /// How the two are written.
    pub(super) const KINDS: [&str; 2] = ["skive", "glue"];

    pub(super) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only(&["edges", "width"])?;
        let kind = if text.kind == Self::KINDS[0] { LineKind::Skive } else { LineKind::Glue };
        Ok(Self { kind, edges: text.must_edges()?, width: text.size("width", "width = \"24mm\"")? })
    }
}

impl Edit for Guide {
    fn spoken(&self) -> String {
        let what = if self.kind == LineKind::Skive { "skive line" } else { "glue limit" };
        let width = self.width.as_ref().map_or_else(String::new, |w| format!(" {w} from the cut edge"));
        format!("{what}{width} along {}", self.edges.join(", "))
    }

    fn unit(&self) -> Option<Unit> {
        self.width.as_ref().map(Length::unit)
    }

    fn apply(&self, piece: &mut Piece) -> Result<(), StepProblem> {
        piece.marks.push(Mark::Guide(GuideMark {
            kind: self.kind,
            edges: super::letters(&piece.outline, &self.edges)?,
            width_mm: self.width.as_ref().map(Length::mm),
        }));
        Ok(())
    }
}
