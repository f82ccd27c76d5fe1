//! A corner of the traced line made a curve.

use super::Correction;
use super::line::{self, Part, TracedLine};
use super::place::Place;
use super::problem::CorrectionProblem;
use crate::geometry::PathSeg;
use crate::pattern::{StepProblem, StepText, joint};
use crate::units::{Length, Unit};
use kurbo::CubicBez;

/// How far on either side of the corner the curve begins, if nothing is said, millimetres.
const REACH_MM: f64 = 10.0;

/// A corner becomes a curve that runs smoothly into the line on either side.
///
/// ```toml
/// [[step]]
/// do = "traced-curve"
/// at = "676.5 803.8"      # near a corner; millimetres right and down in the traced outline
/// reach = "10mm"          # how far from the corner the curve begins; left out, as here
/// ```
#[derive(Debug, Clone, PartialEq)]
pub(super) struct ToCurve {
    at: Place,
    reach: Option<Length>,
}

impl ToCurve {
    /// How it is written.
    pub(super) const KIND: &str = "traced-curve";

    pub(super) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only_without_piece(&["at", "reach"])?;
        Ok(Self { at: Place::must(text, "at")?, reach: text.size("reach", "reach = \"10mm\"")? })
    }
}

impl Correction for ToCurve {
    fn spoken(&self) -> String {
        format!("the traced corner at {} made a curve", self.at)
    }

    fn unit(&self) -> Option<Unit> {
        self.reach.as_ref().map(Length::unit)
    }

    fn apply(&self, line: &TracedLine) -> Result<TracedLine, CorrectionProblem> {
        let opened = line.opened(line.corner(&self.at)?);
        let corner = line::start(&opened);
        let reach_mm = self.reach.as_ref().map_or(REACH_MM, Length::mm);
        let [ahead_mm, behind_mm] = line::room_mm(&opened);
        let room_mm = ahead_mm.min(behind_mm);
        if reach_mm >= room_mm {
            return Err(CorrectionProblem::NoRoom { place: self.at.clone(), room_mm });
        }
        let [ahead, rest, behind] = line::in_three(opened, [reach_mm; 2]);
        let no_point = || CorrectionProblem::NoPoint { place: self.at.clone() };
        let (Some(into), Some(out_of)) =
            (joint::start_direction(&behind[0].path), joint::end_direction(&ahead[ahead.len() - 1].path))
        else {
            return Err(no_point());
        };
        let (p, q) = (line::start(&behind), line::end(&ahead));
        let k = handle(into.cross(out_of).atan2(into.dot(out_of)).abs());
        let curve =
            CubicBez::new(p, p + into * k * p.distance(corner), q - out_of * k * q.distance(corner), q);
        let curve = Part::smooth(PathSeg::Cubic(curve));
        Ok(TracedLine::closed(std::iter::once(curve).chain(rest)))
    }
}

/// The handle of a cubic whose middle lies on the arc of this turn, as a part of the arc's tangent: 4/3 tan(θ/4) / tan(θ/2).
fn handle(turn_rad: f64) -> f64 {
    /// Below this the limit of the formula is taken, radians.
    const FLAT_RAD: f64 = 1e-6;
    if turn_rad < FLAT_RAD { 2.0 / 3.0 } else { 4.0 / 3.0 * (turn_rad / 4.0).tan() / (turn_rad / 2.0).tan() }
}
