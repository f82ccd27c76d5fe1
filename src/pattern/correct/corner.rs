//! A rounding of the trace, or a joint of two curves, made a corner.

use super::Correction;
use super::line::{self, Part, TracedLine};
use super::place::Place;
use super::problem::CorrectionProblem;
use crate::geometry::PathSeg;
use crate::pattern::{StepProblem, StepText, joint};
use crate::units::{Length, Unit};
use kurbo::Line;

/// How far on either side the line is taken away, if nothing is said, millimetres: more than a trace rounds a corner.
const REACH_MM: f64 = 10.0;
/// A line that turns by less than this over its reach has nothing rounded off: the corner is made where it stands, radians.
const STANDS_RAD: f64 = 10.0 * std::f64::consts::PI / 180.0;
/// The point may lie this many reaches away: farther, the two sides hardly meet.
const REACHES_MOST: f64 = 3.0;

/// The line on either side of a place runs straight on until it comes to a point. Where it hardly turns, it becomes a corner
/// as it is, to be moved then.
///
/// ```toml
/// [[step]]
/// do = "traced-corner"
/// at = "694.9 329.7"      # millimetres right and down in the traced outline
/// reach = "10mm"          # how much of the line on either side is a rounding; left out, as here
/// ```
#[derive(Debug, Clone, PartialEq)]
pub(super) struct ToCorner {
    at: Place,
    reach: Option<Length>,
}

impl ToCorner {
    /// How it is written.
    pub(super) const KIND: &str = "traced-corner";

    pub(super) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only_without_piece(&["at", "reach"])?;
        Ok(Self { at: Place::must(text, "at")?, reach: text.size("reach", "reach = \"10mm\"")? })
    }
}

impl Correction for ToCorner {
    fn spoken(&self) -> String {
        format!("a corner of the traced line at {}", self.at)
    }

    fn unit(&self) -> Option<Unit> {
        self.reach.as_ref().map(Length::unit)
    }

    fn apply(&self, line: &TracedLine) -> Result<TracedLine, CorrectionProblem> {
        let mut opened = line.opened(line.foot(&self.at)?);
        if opened[0].corner {
            return Err(CorrectionProblem::CornerAlready { place: self.at.clone() });
        }
        let reach_mm = self.reach.as_ref().map_or(REACH_MM, Length::mm);
        let far = line::room_mm(&opened).map(|room| room.min(reach_mm));
        let [ahead, rest, behind] = line::in_three(opened.clone(), far);
        let no_point = || CorrectionProblem::NoPoint { place: self.at.clone() };
        let (Some(first), Some(last)) = (behind.first(), ahead.last()) else { return Err(no_point()) };
        let (Some(d1), Some(d2)) = (joint::start_direction(&first.path), joint::end_direction(&last.path))
        else {
            return Err(no_point());
        };
        if d1.cross(d2).atan2(d1.dot(d2)).abs() < STANDS_RAD {
            opened[0].corner = true;
            return Ok(TracedLine::closed(opened));
        }
        let (p, q) = (line::start(&behind), line::end(&ahead));
        // p + s d1 = q − t d2.
        let s = (q - p).cross(d2) / d1.cross(d2);
        let t = d1.cross(q - p) / d1.cross(d2);
        if !(s > 0.0 && t > 0.0 && s.max(t) < REACHES_MOST * reach_mm) {
            return Err(no_point());
        }
        let point = p + d1 * s;
        let to = Part { path: PathSeg::Line(Line::new(p, point)), corner: first.corner };
        let on = Part { path: PathSeg::Line(Line::new(point, q)), corner: true };
        Ok(TracedLine::closed([to, on].into_iter().chain(rest)))
    }
}
