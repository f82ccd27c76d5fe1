//! Slits or V-cuts in a turned edge.

use super::Edit;
use crate::pattern::construction::{Mark, Slits as SlitMark};
use crate::pattern::{Piece, StepProblem, StepText};
use crate::units::{Length, Unit};

/// The straight bits between slits depart from the curve by at most this when nobody says, millimetres: what a hammer
/// takes down (judgement).
const USUAL_ERROR_MM: f64 = 0.5;

/// Thicknesses by which a slit ends short of the fold: 1 to 2, common practice.
const SHORT_THICKNESSES: f64 = 1.5;

/// By how much a slit ends short of the fold when the thickness is not in the record, millimetres.
const USUAL_SHORT_MM: f64 = 2.0;

/// A turned edge gets slits where it is hollow and V-cuts where it bulges, wherever it would stretch or crease by more
/// than a tenth; their spacing is √(8 r e), r the radius there.
///
/// ```toml
/// [[step]]
/// do = "slits"
/// edge = "armhole"
/// error = "0.5mm"          # how far the bits between may depart from the curve
/// ```
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Slits {
    edge: String,
    error: Option<Length>,
}

impl Slits {
    /// How it is written.
    pub(super) const KIND: &str = "slits";

    pub(super) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only(&["edge", "error"])?;
        Ok(Self {
            edge: text.must("edge", "edge = \"armhole\"")?.to_owned(),
            error: text.size("error", "error = \"0.5mm\"")?,
        })
    }
}

impl Edit for Slits {
    fn spoken(&self) -> String {
        format!("slits along {}", self.edge)
    }

    fn unit(&self) -> Option<Unit> {
        self.error.as_ref().map(Length::unit)
    }

    fn apply(&self, piece: &mut Piece) -> Result<(), StepProblem> {
        let edge = piece.outline.find_edge(&self.edge)?;
        let short = piece.record.thickness.as_ref().map_or(USUAL_SHORT_MM, |t| SHORT_THICKNESSES * t.mm());
        piece.marks.push(Mark::Slits(SlitMark {
            edge: piece.outline.edges()[edge].from,
            error_mm: self.error.as_ref().map_or(USUAL_ERROR_MM, Length::mm),
            short_mm: short,
        }));
        Ok(())
    }
}
