//! A point of the line moved, its surroundings with it.

use super::Correction;
use super::line::{self, Part, TracedLine};
use super::place::Place;
use super::problem::CorrectionProblem;
use crate::geometry::{PathSeg, Vec2};
use crate::pattern::{StepProblem, StepText, joint};
use crate::units::{Length, Unit};
use kurbo::{CubicBez, Line};

/// How far along the line a moved point takes it along on either side, if nothing is said, millimetres: a hand's breadth
/// in all, so that a slip of the trace is taken out and the armhole it lies in stays.
const REACH_MM: f64 = 40.0;

/// A corner or another place of the line goes somewhere else. A straight edge at a moved corner stays straight and turns
/// about its other end; a curve follows over its reach, and what lies further stays where it is.
///
/// ```toml
/// [[step]]
/// do = "traced-move"
/// at = "282.99 37.11"     # millimetres right and down in the traced outline
/// to = "284 38.5"         # or right = "1mm", down = "1.4mm"
/// reach = "40mm"          # how far along a curve; left out, as here
/// ```
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Pull {
    at: Place,
    to: To,
    reach: Option<Length>,
}

#[derive(Debug, Clone, PartialEq)]
enum To {
    Place(Place),
    By { right: Option<Length>, down: Option<Length> },
}

impl Pull {
    /// How it is written.
    pub(super) const KIND: &str = "traced-move";

    pub(super) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only_without_piece(&["at", "to", "right", "down", "reach"])?;
        let at = Place::must(text, "at")?;
        let right = text.length("right", "right = \"1mm\"")?;
        let down = text.length("down", "down = \"1mm\"")?;
        let to = match (Place::maybe(text, "to")?, right, down) {
            (Some(place), None, None) => To::Place(place),
            (None, right, down) if right.is_some() || down.is_some() => To::By { right, down },
            (None, ..) => {
                let example = "to = \"122 -33\", or right = \"1mm\", down = \"1mm\"".to_owned();
                return Err(StepProblem::Missing { key: "to".to_owned(), example });
            }
            (Some(_), ..) => {
                let known = ["at", "to", "reach"];
                let key = if text.list("right").is_some() { "right" } else { "down" };
                return Err(StepProblem::unknown_key(key, &known));
            }
        };
        Ok(Self { at, to, reach: text.size("reach", "reach = \"40mm\"")? })
    }
}

impl Correction for Pull {
    fn spoken(&self) -> String {
        match &self.to {
            To::Place(to) => format!("the traced line at {} moved to {to}", self.at),
            To::By { right, down } => {
                let words = [(right, "right"), (down, "down")];
                let words = words.map(|(by, way)| by.as_ref().map(|by| format!("{by} {way}")));
                let words: Vec<String> = words.into_iter().flatten().collect();
                format!("the traced line at {} moved {}", self.at, words.join(" and "))
            }
        }
    }

    fn unit(&self) -> Option<Unit> {
        match &self.to {
            To::Place(_) => self.reach.as_ref().map(Length::unit),
            To::By { right, down } => right.as_ref().or(down.as_ref()).map(Length::unit),
        }
    }

    fn apply(&self, line: &TracedLine) -> Result<TracedLine, CorrectionProblem> {
        let opened = line.opened(line.foot(&self.at)?);
        let by = match &self.to {
            To::Place(to) => to.at - line::start(&opened),
            To::By { right, down } => {
                let mm = |by: &Option<Length>| by.as_ref().map_or(0.0, Length::mm);
                Vec2::new(mm(right), mm(down))
            }
        };
        let corner = opened[0].corner;
        let is_straight = |part: &Part| corner && matches!(part.path, PathSeg::Line(_));
        let straight = [is_straight(&opened[0]), is_straight(&opened[opened.len() - 1])];
        let reach_mm = self.reach.as_ref().map_or(REACH_MM, Length::mm);
        let [room_ahead, room_behind] = line::room_mm(&opened);
        let far = |straight: bool, room: f64, part: &Part| {
            if straight { part.length_mm() } else { reach_mm.min(room) }
        };
        let far = [
            far(straight[0], room_ahead, &opened[0]),
            far(straight[1], room_behind, &opened[opened.len() - 1]),
        ];
        let [ahead, mut rest, behind] = line::in_three(opened, far);
        let mut ahead = pulled(&ahead, by, corner, straight[0]);
        ahead[0].corner = corner;
        let first = behind.first().is_some_and(|part| part.corner);
        let turned: Vec<Part> = reversed(&behind);
        let mut behind = reversed(&pulled(&turned, by, corner, straight[1]));
        behind[0].corner = first;
        // A curve that ran smoothly into an edge that has turned takes its direction.
        if straight[0] && rest.first().is_some_and(|part| !part.corner) {
            joint::blend(&mut ahead[0].path, &mut rest[0].path);
        }
        if straight[1] && !first && !rest.is_empty() {
            let last = rest.len() - 1;
            joint::blend(&mut rest[last].path, &mut behind[0].path);
        }
        Ok(TracedLine::closed(ahead.into_iter().chain(rest).chain(behind)))
    }
}

/// A run gone through the other way; its corners are told by whoever has turned it.
fn reversed(run: &[Part]) -> Vec<Part> {
    run.iter().rev().map(|part| Part::smooth(part.path.reverse())).collect()
}

/// A run whose beginning goes by `by` while its end stays, its inner joints smooth as they were.
///
/// Its place at the part u of its way goes by w(u) of it: for a smooth place w = 1 − 3u² + 2u³, which leaves both ends'
/// directions alone; for a corner w = (1 − u)², which is gentler and leaves the far end's alone. Both are polynomials of
/// degree 3 at most, so that a cubic stays a cubic exactly.
fn pulled(run: &[Part], by: Vec2, corner: bool, straight: bool) -> Vec<Part> {
    if straight && let [Part { path: PathSeg::Line(l), .. }] = run {
        return vec![Part::smooth(PathSeg::Line(Line::new(l.p0 + by, l.p1)))];
    }
    let whole = line::length_mm(run);
    let weight = |u: f64| if corner { (1.0 - u).powi(2) } else { 1.0 - 3.0 * u * u + 2.0 * u.powi(3) };
    let slope = |u: f64| if corner { -2.0 * (1.0 - u) } else { 6.0 * u * (u - 1.0) };
    let mut from = 0.0;
    let mut out = Vec::with_capacity(run.len());
    for part in run {
        let to = from + part.length_mm() / whole;
        let third = (to - from) / 3.0;
        let c = part.path.to_cubic();
        let weights =
            [weight(from), weight(from) + third * slope(from), weight(to) - third * slope(to), weight(to)];
        let cubic = CubicBez::new(
            c.p0 + by * weights[0],
            c.p1 + by * weights[1],
            c.p2 + by * weights[2],
            c.p3 + by * weights[3],
        );
        out.push(Part::smooth(PathSeg::Cubic(cubic)));
        from = to;
    }
    for k in 1..out.len() {
        let (before, after) = out.split_at_mut(k);
        joint::blend(&mut before[k - 1].path, &mut after[0].path);
    }
    out
}
