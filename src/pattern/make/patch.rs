//! A reinforcement patch.

use super::said::Said;
use crate::geometry::PathSeg;
use crate::pattern::bundle::Bundle;
use crate::pattern::edit::{Edit as _, Make, Round};
use crate::pattern::{Outline, StepProblem, StepText};
use crate::units::{Length, Unit};
use kurbo::{Arc, Shape};

/// A patch that is sewn on where something pulls or rubs: a rectangle with square or rounded corners, or a round one.
///
/// Edges of a rectangle: top, right, bottom, left.
///
/// ```toml
/// [[step]]
/// do = "patch"
/// name = "corner patch"
/// width = "60mm"
/// height = "60mm"
/// radius = "12mm"          # left out: square corners. Or, in place of all three: diameter = "60mm"
/// ```
#[derive(Debug, Clone, PartialEq)]
pub(in crate::pattern) struct Patch {
    said: Said,
    shape: Form,
}

#[derive(Debug, Clone, PartialEq)]
enum Form {
    Sheet { width: Length, height: Length, radius: Option<Length> },
    Round { diameter: Length },
}

/// The arc of a round patch departs from the circle by at most this, millimetres.
const ARC_MM: f64 = 1e-3;

impl Patch {
    /// How it is written.
    pub(in crate::pattern) const KIND: &str = "patch";

    pub(in crate::pattern) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only(&[&Said::KEYS[..], &["width", "height", "radius", "diameter"]].concat())?;
        let said = Said::read(text, "patch")?;
        let shape = match text.size("diameter", "diameter = \"60mm\"")? {
            Some(diameter) => {
                text.only(&[&Said::KEYS[..], &["diameter"]].concat())?;
                Form::Round { diameter }
            }
            None => Form::Sheet {
                width: text.must_size("width", "width = \"60mm\", or diameter = \"60mm\"")?,
                height: text.must_size("height", "height = \"60mm\"")?,
                radius: text.size("radius", "radius = \"12mm\"")?,
            },
        };
        Ok(Self { said, shape })
    }
}

impl Make for Patch {
    fn spoken(&self) -> String {
        let size = match &self.shape {
            Form::Sheet { width, height, .. } => format!("{width} wide, {height} high"),
            Form::Round { diameter } => format!("{diameter} across"),
        };
        format!("{}: {size}", self.said.spoken())
    }

    fn unit(&self) -> Option<Unit> {
        Some(match &self.shape {
            Form::Sheet { width, .. } => width.unit(),
            Form::Round { diameter } => diameter.unit(),
        })
    }

    fn make(&self, bundle: &mut Bundle, _at: usize) -> Result<(), StepProblem> {
        let body = bundle.pieces[0].record.clone();
        let grain = "as the piece it is sewn to";
        let patch = match &self.shape {
            Form::Sheet { width, height, radius } => {
                let (w, h) = (width.mm(), height.mm());
                let corners = [(0.0, 0.0, "top"), (w, 0.0, "right"), (w, h, "bottom"), (0.0, h, "left")];
                let mut patch = self.said.piece_as_cut(Outline::drafted(&corners), &body, grain);
                if let Some(radius) = radius {
                    for point in ["A", "B", "C", "D"] {
                        Round::of(point, radius).apply(&mut patch)?;
                    }
                }
                patch
            }
            Form::Round { diameter } => {
                let r = diameter.mm() / 2.0;
                // Two halves, so that each edge has two ends.
                let mut outline = Outline::drafted(&[(0.0, r, "upper"), (2.0 * r, r, "lower")]);
                for (edge, from) in [(0, std::f64::consts::PI), (1, 0.0)] {
                    let arc = Arc::new((r, r), (r, r), from, std::f64::consts::PI, 0.0);
                    let mut segments: Vec<PathSeg> = arc.path_segments(ARC_MM).collect();
                    let ends = [outline.edges()[edge].start(), outline.edges()[edge].end()];
                    if let Some(PathSeg::Cubic(c)) = segments.first_mut() {
                        c.p0 = ends[0];
                    }
                    if let Some(PathSeg::Cubic(c)) = segments.last_mut() {
                        c.p3 = ends[1];
                    }
                    outline.edges_mut()[edge].segments = segments;
                }
                self.said.piece_as_cut(outline, &body, grain)
            }
        };
        bundle.add(patch)
    }
}
