//! A pocket, with or without a flap.

use super::said::Said;
use crate::pattern::bundle::Bundle;
use crate::pattern::edit::{Edit as _, Make, Round};
use crate::pattern::{Outline, StepProblem, StepText};
use crate::units::{Length, Unit};

/// A pocket of finished width and height, its lower corners square or rounded; with `flap`, a flap of that depth as a
/// piece of its own, named after it.
///
/// Edges: top, right, bottom, left (with rounded corners, two arcs between).
///
/// ```toml
/// [[step]]
/// do = "pocket"
/// name = "pocket"
/// width = "180mm"
/// height = "200mm"
/// radius = "25mm"          # left out: square corners
/// flap = "60mm"            # left out: none
/// cut = "2"                # or pairs = "1"; material =, thickness =
/// ```
#[derive(Debug, Clone, PartialEq)]
pub(in crate::pattern) struct Pocket {
    said: Said,
    width: Length,
    height: Length,
    radius: Option<Length>,
    flap: Option<Length>,
}

/// A flap is wider than its pocket by this in all, millimetres, so that it covers the pocket's edges (judgement).
const FLAP_WIDER_MM: f64 = 3.0;

impl Pocket {
    /// How it is written.
    pub(in crate::pattern) const KIND: &str = "pocket";

    pub(in crate::pattern) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only(&[&Said::KEYS[..], &["width", "height", "radius", "flap"]].concat())?;
        Ok(Self {
            said: Said::read(text, "pocket")?,
            width: text.must_size("width", "width = \"180mm\"")?,
            height: text.must_size("height", "height = \"200mm\"")?,
            radius: text.size("radius", "radius = \"25mm\"")?,
            flap: text.size("flap", "flap = \"60mm\"")?,
        })
    }
}

impl Make for Pocket {
    fn spoken(&self) -> String {
        let flap = self.flap.as_ref().map_or_else(String::new, |f| format!(", with a flap of {f}"));
        format!("{}: {} wide, {} high{flap}", self.said.spoken(), self.width, self.height)
    }

    fn unit(&self) -> Option<Unit> {
        Some(self.width.unit())
    }

    fn make(&self, bundle: &mut Bundle, _at: usize) -> Result<(), StepProblem> {
        let body = bundle.pieces[0].record.clone();
        let sheet = |width: f64, height: f64| {
            Outline::drafted(&[
                (0.0, 0.0, "top"),
                (width, 0.0, "right"),
                (width, height, "bottom"),
                (0.0, height, "left"),
            ])
        };
        let grain = "down the piece";
        let mut pocket = self.said.piece(sheet(self.width.mm(), self.height.mm()), &body, grain);
        if let Some(radius) = &self.radius {
            for point in ["C", "D"] {
                Round::of(point, radius).apply(&mut pocket)?;
            }
        }
        bundle.add(pocket)?;
        if let Some(flap) = &self.flap {
            let line = sheet(self.width.mm() + FLAP_WIDER_MM, flap.mm());
            let mut flap = self.said.piece(line, &body, grain);
            flap.record.piece = format!("{} flap", self.said.name());
            bundle.add(flap)?;
        }
        Ok(())
    }
}
