//! A rounded or cut-off corner made a plain one again.

use super::Edit;
use super::round::replace_corner;
use crate::geometry::{PathSeg, Point, Vec2};
use crate::pattern::joint::{end_direction, start_direction};
use crate::pattern::{Piece, StepProblem, StepText};
use crate::units::Unit;
use kurbo::{Line, ParamCurve};

/// Edges whose directions differ by less than this never meet, radians (a tenth of a degree).
const PARALLEL_RAD: f64 = 0.1 * std::f64::consts::PI / 180.0;

/// The short edge across a corner goes; its two neighbours run straight on until they meet in a new point.
///
/// ```toml
/// [[step]]
/// do = "square"
/// edge = "D-E"
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Square {
    edge: String,
}

impl Square {
    /// How it is written.
    pub(super) const KIND: &str = "square";

    pub(super) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only(&["edge"])?;
        Ok(Self { edge: text.must("edge", "edge = \"D-E\", the edge across the corner")?.to_owned() })
    }
}

impl Edit for Square {
    fn spoken(&self) -> String {
        format!("square the corner at {}", self.edge)
    }

    fn unit(&self) -> Option<Unit> {
        None
    }

    fn apply(&self, piece: &mut Piece) -> Result<(), StepProblem> {
        let outline = &mut piece.outline;
        let index = outline.find_edge(&self.edge)?;
        let after = outline.after(index);
        if outline.is_on_fold(index) || outline.is_on_fold(after) {
            return Err(StepProblem::OnFold { what: format!("one end of {}", outline.spoken(index)) });
        }
        let before = outline.before(index);
        let incoming = outline.edges()[before].segments[outline.edges()[before].segments.len() - 1];
        let outgoing = outline.edges()[after].segments[0];
        let never =
            || StepProblem::NeverMeet { first: outline.spoken(before), second: outline.spoken(after) };
        let corner = meeting(&incoming, &outgoing).ok_or_else(never)?;
        let edges = outline.edges_mut();
        if let PathSeg::Cubic(c) = incoming {
            edges[before].segments.push(PathSeg::Line(Line::new(c.p3, corner)));
        }
        if let PathSeg::Cubic(c) = outgoing {
            edges[after].segments.insert(0, PathSeg::Line(Line::new(corner, c.p0)));
        }
        edges.remove(index);
        // The edge after has taken the place of the one removed.
        let after = if after > index { after - 1 } else { after };
        let before = outline.before(after);
        let start = |s: &PathSeg| s.start();
        let incoming = outline.edges()[before].segments.last().map_or(corner, start);
        let outgoing = outline.edges()[after].segments[0].end();
        let (incoming, outgoing) = (Line::new(incoming, corner), Line::new(corner, outgoing));
        replace_corner(outline, after, PathSeg::Line(incoming), None, PathSeg::Line(outgoing));
        Ok(())
    }
}

/// Where the two run on to meet; `None` when they never do.
fn meeting(incoming: &PathSeg, outgoing: &PathSeg) -> Option<Point> {
    let (a, b) = (end_direction(incoming)?, start_direction(outgoing)?);
    let (p, q) = (incoming.end(), outgoing.start());
    let sine: f64 = a.cross(b);
    if sine.abs() < PARALLEL_RAD {
        return None;
    }
    let gap: Vec2 = q - p;
    let (on, back) = (gap.cross(b) / sine, gap.cross(a) / sine);
    (on >= 0.0 && back <= 0.0).then(|| p + a * on)
}
