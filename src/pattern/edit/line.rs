//! A line drawn between two places.

use super::Edit;
use crate::pattern::construction::{Mark, PlainLine};
use crate::pattern::inside::Inside;
use crate::pattern::{LineKind, Piece, StepProblem, StepText};
use crate::units::Unit;

/// A straight line: a fold, a place where something is laid, a stitch line without holes.
///
/// ```toml
/// [[step]]
/// do = "line"
/// kind = "fold"            # or placement, stitch, skive, glue
/// at = "70mm along left"   # one end; or out =, down =, from =
/// to = "70mm back along right"
/// says = "fold the flap"   # written beside it
/// ```
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Line {
    kind: LineKind,
    from: Inside,
    to: Inside,
    says: String,
}

const KINDS: [(&str, LineKind); 5] = [
    ("fold", LineKind::Fold),
    ("placement", LineKind::Placement),
    ("stitch", LineKind::Stitch),
    ("skive", LineKind::Skive),
    ("glue", LineKind::Glue),
];

impl Line {
    /// How it is written.
    pub(super) const KIND: &str = "line";

    pub(super) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only(&[&Inside::KEYS[..], &["kind", "to", "says"]].concat())?;
        let example = "to = \"70mm back along right\", the other end";
        let missing =
            || StepProblem::Missing { key: "kind".to_owned(), example: "kind = \"fold\"".to_owned() };
        Ok(Self {
            kind: text.choice("kind", &KINDS)?.ok_or_else(missing)?,
            from: Inside::read(text)?,
            to: Inside::At { spot: text.must_spot("to", example)?, inset: text.length("inset", example)? },
            says: text.one("says", "says = \"fold the flap\"")?.unwrap_or_default().to_owned(),
        })
    }
}

impl Edit for Line {
    fn spoken(&self) -> String {
        format!("a {} line from {} to {}", self.kind.word(), self.from.spoken(), self.to.spoken())
    }

    fn unit(&self) -> Option<Unit> {
        None
    }

    fn apply(&self, piece: &mut Piece) -> Result<(), StepProblem> {
        let [from, to] = [&self.from, &self.to].map(|place| place.fix(&piece.outline));
        piece.marks.push(Mark::Line(PlainLine {
            kind: self.kind,
            from: from?,
            to: to?,
            says: self.says.clone(),
        }));
        Ok(())
    }
}
