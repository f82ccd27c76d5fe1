//! A stitch line.

use super::Edit;
use crate::pattern::construction::{Mark, StitchLine};
use crate::pattern::{Piece, StepProblem, StepText, Stitch as Kind};
use crate::units::{Length, Unit};

/// Distance from the finished edge when nobody says, millimetres: 1/8 in (common practice).
const USUAL_INSET_MM: f64 = 3.175;

/// Layers that are sewn through when nobody says.
const USUAL_LAYERS: f64 = 2.0;

/// Edges get a stitch line inside the finished line: a hole in every corner, the others evenly spaced between, with the
/// count and the thread.
///
/// ```toml
/// [[step]]
/// do = "stitch"
/// edges = ["side", "hem"]
/// pitch = "4mm"
/// inset = "5mm"            # left out: 1/8 in
/// stitch = "saddle"        # left out: saddle; or lockstitch
/// through = "4.2mm"        # thickness sewn through; left out: twice the thickness in the record
/// ```
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Stitch {
    edges: Vec<String>,
    pitch: Length,
    inset: Option<Length>,
    stitch: Kind,
    through: Option<Length>,
}

impl Stitch {
    /// How it is written.
    pub(super) const KIND: &str = "stitch";

    pub(super) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only(&["edges", "pitch", "inset", "stitch", "through"])?;
        let kinds = [("saddle", Kind::Saddle), ("lockstitch", Kind::Lockstitch)];
        Ok(Self {
            edges: text.must_edges()?,
            pitch: text.must_size("pitch", "pitch = \"4mm\"")?,
            inset: text.size("inset", "inset = \"5mm\"")?,
            stitch: text.choice("stitch", &kinds)?.unwrap_or_default(),
            through: text.size("through", "through = \"4mm\"")?,
        })
    }
}

impl Edit for Stitch {
    fn spoken(&self) -> String {
        let inset = self.inset.as_ref().map_or_else(|| Unit::Inch.show(USUAL_INSET_MM), ToString::to_string);
        let edges = self.edges.join(", ");
        let stitch = match self.stitch {
            Kind::Saddle => "saddle stitch",
            Kind::Lockstitch => "lockstitch",
        };
        format!("{stitch} line {inset} inside {edges}, pitch {}", self.pitch)
    }

    fn unit(&self) -> Option<Unit> {
        Some(self.pitch.unit())
    }

    fn apply(&self, piece: &mut Piece) -> Result<(), StepProblem> {
        let thickness = piece.record.thickness.as_ref().map(|t| USUAL_LAYERS * t.mm());
        let through = self.through.as_ref().map(Length::mm).or(thickness);
        let missing = || StepProblem::Missing {
            key: "through".to_owned(),
            example:
                "through = \"4mm\", the thickness sewn through, or the material's thickness to the record"
                    .to_owned(),
        };
        piece.marks.push(Mark::Stitch(StitchLine {
            edges: super::letters(&piece.outline, &self.edges)?,
            inset_mm: self.inset.as_ref().map_or(USUAL_INSET_MM, Length::mm),
            pitch_mm: self.pitch.mm(),
            stitch: self.stitch,
            through_mm: through.ok_or_else(missing)?,
        }));
        Ok(())
    }
}
