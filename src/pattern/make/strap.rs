//! A strap.

use super::said::Said;
use crate::geometry::PathSeg;
use crate::pattern::bundle::Bundle;
use crate::pattern::edit::Make;
use crate::pattern::{Outline, StepProblem, StepText};
use crate::units::{Length, Unit};
use kurbo::{Arc, Shape};

/// A strap of finished length and width, one end square, pointed or round.
///
/// Edges: top (the square end), right, tip (two of them where pointed), left.
///
/// ```toml
/// [[step]]
/// do = "strap"
/// name = "neck strap"
/// length = "700mm"
/// width = "30mm"
/// end = "pointed"          # left out: square; or round
/// ```
#[derive(Debug, Clone, PartialEq)]
pub(in crate::pattern) struct Strap {
    said: Said,
    length: Length,
    width: Length,
    end: End,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum End {
    Square,
    Pointed,
    Round,
}

/// A point is as long as this part of the strap's width (common practice).
const POINT: f64 = 0.5;

/// The arc of a round end departs from the circle by at most this, millimetres.
const ARC_MM: f64 = 1e-3;

impl Strap {
    /// How it is written.
    pub(in crate::pattern) const KIND: &str = "strap";

    pub(in crate::pattern) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only(&[&Said::KEYS[..], &["length", "width", "end"]].concat())?;
        let ends = [("square", End::Square), ("pointed", End::Pointed), ("round", End::Round)];
        let strap = Self {
            said: Said::read(text, "strap")?,
            length: text.must_size("length", "length = \"700mm\"")?,
            width: text.must_size("width", "width = \"30mm\"")?,
            end: text.choice("end", &ends)?.unwrap_or(End::Square),
        };
        if strap.length.mm() <= strap.width.mm() {
            return Err(StepProblem::BadValue {
                key: "length".to_owned(),
                found: format!("`{}`, no longer than the strap is wide", strap.length),
                example: "length = \"700mm\"".to_owned(),
            });
        }
        Ok(strap)
    }
}

impl Make for Strap {
    fn spoken(&self) -> String {
        format!("{}: {} long, {} wide", self.said.spoken(), self.length, self.width)
    }

    fn unit(&self) -> Option<Unit> {
        Some(self.length.unit())
    }

    fn make(&self, bundle: &mut Bundle, _at: usize) -> Result<(), StepProblem> {
        let (long, wide) = (self.length.mm(), self.width.mm());
        let outline = match self.end {
            End::Square => Outline::drafted(&[
                (0.0, 0.0, "top"),
                (wide, 0.0, "right"),
                (wide, long, "tip"),
                (0.0, long, "left"),
            ]),
            End::Pointed => Outline::drafted(&[
                (0.0, 0.0, "top"),
                (wide, 0.0, "right"),
                (wide, long - POINT * wide, "right tip"),
                (wide / 2.0, long, "left tip"),
                (0.0, long - POINT * wide, "left"),
            ]),
            End::Round => {
                let radius = wide / 2.0;
                let foot = long - radius;
                let mut outline = Outline::drafted(&[
                    (0.0, 0.0, "top"),
                    (wide, 0.0, "right"),
                    (wide, foot, "tip"),
                    (0.0, foot, "left"),
                ]);
                let arc = Arc::new((radius, foot), (radius, radius), 0.0, std::f64::consts::PI, 0.0);
                let mut segments: Vec<PathSeg> = arc.path_segments(ARC_MM).collect();
                // Exactly where the sides end.
                if let Some(PathSeg::Cubic(c)) = segments.first_mut() {
                    c.p0 = (wide, foot).into();
                }
                if let Some(PathSeg::Cubic(c)) = segments.last_mut() {
                    c.p3 = (0.0, foot).into();
                }
                outline.edges_mut()[2].segments = segments;
                outline
            }
        };
        let body = bundle.pieces[0].record.clone();
        bundle.add(self.said.piece_as_cut(outline, &body, "down the piece"))
    }
}
