//! A line that was drawn on a paper pattern.

use super::Edit;
use crate::geometry::{BezPath, Point};
use crate::pattern::construction::{Drawn as DrawnMark, Mark};
use crate::pattern::{LineKind, Piece, StepProblem, StepText};
use crate::units::Unit;

/// A line as it stood on the paper. A capture writes these steps; `is` says what each line is and may be changed.
///
/// ```toml
/// [[step]]
/// do = "drawn"
/// is = "grain"                  # hem, fold, dart, placement, cross, inner, or nothing to leave it out
/// path = "M 60,80 L 60,360"     # SVG path data, millimetres out from the fold and down from its top
/// why = "straight, 280 mm, an arrowhead at both ends"
/// ```
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Drawn {
    is: &'static str,
    kind: Option<LineKind>,
    path: BezPath,
}

const KINDS: [(&str, (&str, Option<LineKind>)); 8] = [
    ("grain", ("grain", Some(LineKind::Match))),
    ("hem", ("hem", Some(LineKind::Fold))),
    ("fold", ("fold", Some(LineKind::Fold))),
    ("dart", ("dart", Some(LineKind::Stitch))),
    ("placement", ("placement", Some(LineKind::Placement))),
    ("cross", ("", Some(LineKind::Match))),
    ("inner", ("", Some(LineKind::Match))),
    ("nothing", ("", None)),
];

/// Numbers of a path beyond this are a slip of the finger, millimetres.
const MOST_MM: f64 = 1e5;

impl Drawn {
    /// How it is written.
    pub(super) const KIND: &str = "drawn";

    pub(super) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only(&["is", "path", "why"])?;
        let example = "path = \"M 60,80 L 60,360\"";
        let written = text.must("path", example)?;
        let bad = || StepProblem::BadValue {
            key: "path".to_owned(),
            found: format!("`{written}`"),
            example: example.to_owned(),
        };
        let path = BezPath::from_svg(written).map_err(|_| bad())?;
        let usable = |p: &Point| p.x.abs() < MOST_MM && p.y.abs() < MOST_MM;
        let points: Vec<Point> = path.elements().iter().filter_map(kurbo::PathEl::end_point).collect();
        if points.len() < 2 || !points.iter().all(usable) {
            return Err(bad());
        }
        let missing = || StepProblem::Missing { key: "is".to_owned(), example: "is = \"grain\"".to_owned() };
        let (is, kind) = text.choice("is", &KINDS)?.ok_or_else(missing)?;
        Ok(Self { is, kind, path })
    }
}

impl Edit for Drawn {
    fn spoken(&self) -> String {
        match (self.kind, self.is) {
            (None, _) => "a drawn line left out".to_owned(),
            (_, "") => "a drawn line".to_owned(),
            (_, is) => format!("a drawn {is} line"),
        }
    }

    fn unit(&self) -> Option<Unit> {
        None
    }

    fn apply(&self, piece: &mut Piece) -> Result<(), StepProblem> {
        if let Some(kind) = self.kind {
            let mark = DrawnMark::tied(kind, self.is.to_owned(), self.path.clone(), &piece.outline);
            piece.marks.push(Mark::Drawn(mark));
        }
        Ok(())
    }
}
