//! A corner rounded.

use super::Edit;
use crate::geometry::{PathSeg, Point, Vec2};
use crate::pattern::joint::{SMOOTH_RAD, turn_rad};
use crate::pattern::{Corner, Edge, Outline, Piece, StepProblem, StepText};
use crate::units::{Length, Unit};
use kurbo::{Arc, ParamCurve, ParamCurveArclen, ParamCurveDeriv, Shape};

/// The arc is written as cubics that depart from the circle by at most this, millimetres.
const ARC_MM: f64 = 1e-4;

/// The circle's centre is found to this, millimetres.
const CENTRE_MM: f64 = 1e-9;

/// Newton steps at most; from the straight-line start five are enough for any curve of a garment.
const STEPS: usize = 40;

/// A corner becomes an arc that leaves both of its edges in their own direction. The corner's letter goes; the two
/// ends of the arc have new ones.
///
/// The centre c of radius r touches both edges: c = P(u) + r n(u) = Q(v) + r m(v), n and m the normals towards the
/// inside of the turn; solved by Newton from the solution for straight edges, whose arc begins r tan(turn / 2) from the
/// corner.
///
/// ```toml
/// [[step]]
/// do = "round"
/// point = "D"
/// radius = "40mm"
/// ```
#[derive(Debug, Clone, PartialEq)]
pub(in crate::pattern) struct Round {
    point: String,
    radius: Length,
}

impl Round {
    /// How it is written.
    pub(super) const KIND: &str = "round";

    /// At a point.
    pub(in crate::pattern) fn of(point: &str, radius: &Length) -> Self {
        Self { point: point.to_owned(), radius: radius.clone() }
    }

    pub(super) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only(&["point", "radius"])?;
        let point = text.must("point", "point = \"D\"")?.to_owned();
        let radius = text.must("radius", "radius = \"40mm\"")?;
        let radius = Length::parse_positive(radius)
            .map_err(|source| StepProblem::Length { key: "radius".to_owned(), source })?;
        Ok(Self { point, radius })
    }
}

impl Edit for Round {
    fn spoken(&self) -> String {
        format!("round the corner {} with a radius of {}", self.point, self.radius)
    }

    fn unit(&self) -> Option<Unit> {
        Some(self.radius.unit())
    }

    fn apply(&self, piece: &mut Piece) -> Result<(), StepProblem> {
        let outline = &mut piece.outline;
        let index = outline.find_point(&self.point)?;
        if outline.is_on_fold(index) {
            return Err(StepProblem::OnFold { what: format!("point {}", self.point) });
        }
        let before = outline.before(index);
        let (incoming, outgoing) = (last(&outline.edges()[before]), outline.edges()[index].segments[0]);
        let turn = turn_rad(&incoming, &outgoing);
        if turn.abs() < SMOOTH_RAD {
            return Err(StepProblem::NoCorner { point: self.point.clone() });
        }
        let touch = touching(&incoming, &outgoing, turn, self.radius.mm());
        let (u, v, centre) = touch.ok_or_else(|| StepProblem::RadiusTooLarge {
            point: self.point.clone(),
            radius: self.radius.to_string(),
        })?;
        let (start, end) = (incoming.eval(u), outgoing.eval(v));
        let arc = arc(centre, start, end, turn);
        replace_corner(outline, index, incoming.subsegment(0.0..u), Some(arc), outgoing.subsegment(v..1.0));
        Ok(())
    }
}

fn last(edge: &Edge) -> PathSeg {
    edge.segments[edge.segments.len() - 1]
}

/// Puts the shortened segments in place of those that met at a corner, and `between`, if anything, as an edge of its
/// own; new points get new letters.
pub(super) fn replace_corner(
    outline: &mut Outline,
    corner: usize,
    incoming: PathSeg,
    between: Option<Vec<PathSeg>>,
    outgoing: PathSeg,
) {
    let before = outline.before(corner);
    let first = outline.new_letter();
    let second = if between.is_some() { outline.new_letter() } else { first };
    let edges = outline.edges_mut();
    if let Some(segment) = edges[before].segments.last_mut() {
        *segment = incoming;
    }
    edges[corner].segments[0] = outgoing;
    edges[corner].from = second;
    edges[corner].corner = Corner::Full;
    if let Some(segments) = between {
        // The new edge is cut as the one that runs into it.
        let allowance = edges[before].allowance;
        edges.insert(corner, Edge { allowance, ..Edge::new(first, segments) });
    }
}

/// Where a circle of this radius touches both segments: parameters, and its centre.
fn touching(incoming: &PathSeg, outgoing: &PathSeg, turn: f64, radius: f64) -> Option<(f64, f64, Point)> {
    let side = turn.signum() * radius;
    let reach = radius * (turn.abs() / 2.0).tan();
    let mut u = 1.0 - reach / incoming.arclen(1e-3);
    let mut v = reach / outgoing.arclen(1e-3);
    for _ in 0..STEPS {
        let (p, dp) = offset(incoming, u, side)?;
        let (q, dq) = offset(outgoing, v, side)?;
        let gap = p - q;
        if gap.hypot() < CENTRE_MM {
            return ((0.0..1.0).contains(&u) && v > 0.0 && v <= 1.0).then_some((u, v, p));
        }
        // Solve dp du - dq dv = -gap.
        let determinant = dp.cross(-dq);
        if determinant.abs() < f64::EPSILON {
            return None;
        }
        u += (-gap).cross(-dq) / determinant;
        v += dp.cross(-gap) / determinant;
        if !u.is_finite() || !v.is_finite() || u.abs() > 3.0 || v.abs() > 3.0 {
            return None;
        }
    }
    None
}

/// The point at a parameter moved along the normal (to the right of the way for a positive distance), and its
/// derivative by the parameter.
fn offset(segment: &PathSeg, t: f64, distance: f64) -> Option<(Point, Vec2)> {
    let (d1, d2) = match segment {
        PathSeg::Line(l) => (l.p1 - l.p0, Vec2::ZERO),
        PathSeg::Quad(q) => (q.deriv().eval(t).to_vec2(), q.deriv().deriv().eval(t).to_vec2()),
        PathSeg::Cubic(c) => (c.deriv().eval(t).to_vec2(), c.deriv().deriv().eval(t).to_vec2()),
    };
    let speed = d1.hypot();
    if speed < f64::EPSILON {
        return None;
    }
    let normal = Vec2::new(-d1.y, d1.x) / speed;
    let curvature = d1.cross(d2) / speed.powi(3);
    Some((segment.eval(t) + normal * distance, d1 * (1.0 - distance * curvature)))
}

/// The arc as cubics, beginning and ending exactly at the two points.
fn arc(centre: Point, start: Point, end: Point, turn: f64) -> Vec<PathSeg> {
    let (from, to) = ((start - centre).atan2(), (end - centre).atan2());
    let mut sweep = to - from;
    if sweep * turn < 0.0 {
        sweep += turn.signum() * 2.0 * std::f64::consts::PI;
    }
    let radius = (start - centre).hypot();
    let path = Arc::new(centre, (radius, radius), from, sweep, 0.0).path_segments(ARC_MM);
    let mut segments: Vec<PathSeg> = path.collect();
    if let Some(PathSeg::Cubic(c)) = segments.first_mut() {
        c.p0 = start;
    }
    if let Some(PathSeg::Cubic(c)) = segments.last_mut() {
        c.p3 = end;
    }
    segments
}
