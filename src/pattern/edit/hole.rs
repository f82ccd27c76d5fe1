//! Holes to punch or drill.

use super::Edit;
use crate::pattern::construction::{Hole as HoleMark, Mark};
use crate::pattern::inside::Inside;
use crate::pattern::{Piece, StepProblem, StepText};
use crate::units::{Length, Unit};

/// A hole: punched for a rivet, a stud or a lace, or drilled as a mark through all layers.
///
/// ```toml
/// [[step]]
/// do = "hole"
/// at = "20mm along top"    # or out =, down =, from =
/// inset = "15mm"
/// diameter = "4mm"
/// how = "punch"            # left out: punch; or drill
/// holds = "rivet 9 mm"     # what goes in, for the list of hardware
/// ```
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Hole {
    place: Inside,
    diameter: Length,
    drilled: bool,
    holds: String,
}

impl Hole {
    /// How it is written.
    pub(super) const KIND: &str = "hole";

    pub(super) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only(&[&Inside::KEYS[..], &["diameter", "how", "holds"]].concat())?;
        Ok(Self {
            place: Inside::read(text)?,
            diameter: text.must_size("diameter", "diameter = \"4mm\"")?,
            drilled: text.choice("how", &[("punch", false), ("drill", true)])?.unwrap_or(false),
            holds: text.one("holds", "holds = \"rivet 9 mm\"")?.unwrap_or_default().trim().to_owned(),
        })
    }
}

impl Edit for Hole {
    fn spoken(&self) -> String {
        let how = if self.drilled { "drill" } else { "punch" };
        format!("{how} a hole of {} {}", self.diameter, self.place.spoken())
    }

    fn unit(&self) -> Option<Unit> {
        Some(self.diameter.unit())
    }

    fn apply(&self, piece: &mut Piece) -> Result<(), StepProblem> {
        piece.marks.push(Mark::Hole(HoleMark {
            at: self.place.fix(&piece.outline)?,
            diameter_mm: self.diameter.mm(),
            drilled: self.drilled,
            holds: self.holds.clone(),
        }));
        Ok(())
    }
}
