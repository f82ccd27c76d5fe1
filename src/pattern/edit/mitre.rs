//! A corner of the cut line mitred.

use super::Edit;
use crate::pattern::{Corner, Piece, StepProblem, StepText};
use crate::units::{Length, Unit};

/// Thicknesses of the material that a mitre is left outside the corner when nobody says: so that the folded edges close
/// over it (1 to 1.5, common practice).
const THICKNESSES: f64 = 1.25;

/// Where two folded or turned edges meet, their allowances are cut off along one straight line across the corner, so
/// that they meet edge to edge when they are folded in. At a right angle that is a cut of 45 degrees.
///
/// ```toml
/// [[step]]
/// do = "mitre"
/// point = "D"
/// outside = "2mm"      # left out: 1.25 times the thickness in the record
/// ```
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Mitre {
    point: String,
    outside: Option<Length>,
}

impl Mitre {
    /// How it is written.
    pub(super) const KIND: &str = "mitre";

    /// At a corner, as far outside it as the material's thickness asks.
    pub(super) fn at(point: &str) -> Self {
        Self { point: point.to_owned(), outside: None }
    }

    pub(super) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only(&["point", "outside"])?;
        let outside = text.one("outside", "outside = \"2mm\"")?.map(Length::parse_positive).transpose();
        Ok(Self {
            point: text.must("point", "point = \"D\"")?.to_owned(),
            outside: outside.map_err(|source| StepProblem::Length { key: "outside".to_owned(), source })?,
        })
    }
}

impl Edit for Mitre {
    fn spoken(&self) -> String {
        let outside = self.outside.as_ref().map_or_else(String::new, |l| format!(", {l} outside it"));
        format!("mitre the allowances at {}{outside}", self.point)
    }

    fn unit(&self) -> Option<Unit> {
        self.outside.as_ref().map(Length::unit)
    }

    fn apply(&self, piece: &mut Piece) -> Result<(), StepProblem> {
        let index = piece.outline.find_point(&self.point)?;
        if piece.outline.is_on_fold(index) {
            return Err(StepProblem::OnFold { what: format!("point {}", self.point) });
        }
        let thickness = piece.record.thickness.as_ref().map(|t| THICKNESSES * t.mm());
        let outside = self.outside.as_ref().map(Length::mm).or(thickness);
        let missing = || StepProblem::Missing {
            key: "outside".to_owned(),
            example: "outside = \"2mm\", or the material's thickness to the record".to_owned(),
        };
        piece.outline.edges_mut()[index].corner = Corner::Mitred { outside_mm: outside.ok_or_else(missing)? };
        Ok(())
    }
}
