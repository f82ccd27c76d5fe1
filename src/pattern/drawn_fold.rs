//! The half of a paper pattern that is drawn as a half: its fold is one of its straight edges.
//!
//! Enters a fitted outline, millimetres on the table, and which edge is the fold. Leaves the half in its own frame, as
//! [`fold`](mod@super::fold) does for a whole garment: the fold on x = 0, its top at the origin, cloth at x ≥ 0, y down.

use super::fold::{Axis, AxisSigma, FoldError, FoldOptions, Folded, Top, WearReport, WearSample};
use crate::curve::Fitted;
use crate::geometry::{Affine, PathSeg, Point, Ring, Vec2};
use kurbo::{ParamCurve, ParamCurveArclen, ParamCurveNearest, Shape};

/// Places of a run that lie within this part of its length of its chord, and this much, make it straight.
const STRAIGHT_PART: f64 = 0.002;
const STRAIGHT_MM: f64 = 0.3;
/// A fold told by its ends is the edge whose ends lie within this of them, millimetres.
const NEAR_MM: f64 = 15.0;
/// An end of the curve beside the fold that is this near to square is made square, radians (0.5 degrees).
const TRUE_RAD: f64 = 0.5 * std::f64::consts::PI / 180.0;

/// A straight edge of an outline, from corner to corner.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StraightEdge {
    /// Where it begins and ends, in the outline's order, millimetres on the table.
    pub ends: [Point; 2],
    /// Its first segment and how many it has.
    first: usize,
    count: usize,
}

impl StraightEdge {
    /// Its length, millimetres.
    #[must_use]
    pub fn length_mm(&self) -> f64 {
        self.ends[0].distance(self.ends[1])
    }
}

/// The straight edges of an outline, the longest first.
#[must_use]
pub fn straight_edges(outer: &Fitted) -> Vec<StraightEdge> {
    let segments = outer.ring.segments();
    let n = segments.len();
    let mut out = Vec::new();
    let Some(start) = outer.corners.first() else { return out };
    let mut bounds = outer.corners.clone();
    bounds.push(start + n);
    for w in bounds.windows(2) {
        let run: Vec<PathSeg> = (w[0]..w[1]).map(|k| segments[k % n]).collect();
        let ends = [run[0].start(), run[run.len() - 1].end()];
        let chord = kurbo::Line::new(ends[0], ends[1]);
        let most = STRAIGHT_MM.max(STRAIGHT_PART * ends[0].distance(ends[1]));
        let near = |p: Point| chord.nearest(p, 1e-3).distance_sq.sqrt() <= most;
        let length: f64 = run.iter().map(|s| s.arclen(1e-3)).sum();
        let straight = run.iter().all(|s| (0..=8).all(|k| near(s.eval(f64::from(k) / 8.0))));
        if straight && length < 1.01 * ends[0].distance(ends[1]) {
            out.push(StraightEdge { ends, first: w[0], count: w[1] - w[0] });
        }
    }
    out.sort_by(|a, b| b.length_mm().total_cmp(&a.length_mm()));
    out
}

/// Makes the half of an outline whose fold is the straight edge between these two places, either way round.
///
/// # Errors
/// [`FoldError::NoEdge`] where no straight edge lies there, [`FoldError::Ring`] where the half does not close.
pub fn fold_drawn(outer: &Fitted, ends: [Point; 2], options: &FoldOptions) -> Result<Folded, FoldError> {
    let off = |e: &StraightEdge, a: Point, b: Point| e.ends[0].distance(a).max(e.ends[1].distance(b));
    let edge = straight_edges(outer)
        .into_iter()
        .map(|e| (off(&e, ends[0], ends[1]).min(off(&e, ends[1], ends[0])), e))
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .filter(|(off, _)| *off <= NEAR_MM)
        .map(|(_, e)| e)
        .ok_or(FoldError::NoEdge)?;
    let segments = outer.ring.segments();
    let n = segments.len();
    // The run from the fold's end round to its beginning.
    let run: Vec<PathSeg> = (edge.first + edge.count..edge.first + n).map(|k| segments[k % n]).collect();
    let corner = |k: usize| outer.corners.contains(&((edge.first + edge.count + k) % n));
    let corners: Vec<usize> = (0..run.len()).filter(|k| *k == 0 || corner(*k)).collect();
    let [begin, end] = [run[0].start(), run[run.len() - 1].end()];
    let up = top_first(&run, begin, end, options.top);
    let (top, bottom) = if up { (begin, end) } else { (end, begin) };
    let down = (bottom - top).normalize();
    // Clockwise with the cloth at x ≥ 0 the run goes from the top to the bottom; else the half is seen mirrored.
    let to_half = |side: f64| {
        Affine::new([side * down.y, down.x, -side * down.x, down.y, 0.0, 0.0])
            * Affine::translate(-top.to_vec2())
    };
    let mass = run.iter().map(|s| s.eval(0.5).to_vec2()).fold(Vec2::ZERO, |a, b| a + b) / run.len() as f64;
    let side = if (to_half(1.0) * mass.to_point()).x >= 0.0 { 1.0 } else { -1.0 };
    let half_from_traced = to_half(side);
    let mut half: Vec<PathSeg> = run.iter().map(|s| half_from_traced * *s).collect();
    let mut corners = corners;
    if !up {
        half = half.iter().rev().map(PathSeg::reverse).collect();
        corners = corners.iter().filter(|k| **k > 0).map(|k| half.len() - k).chain([0]).collect();
        corners.sort_unstable();
    }
    set_on_fold(&mut half);
    let (from, to) = (half[half.len() - 1].end(), half[0].start());
    corners.push(half.len());
    half.push(PathSeg::Line(kurbo::Line::new(from, to)));
    let none = WearSample { at: Point::ORIGIN, outward: Vec2::new(0.0, -1.0), right_out_mm: 0.0 };
    let length = top.distance(bottom).max(1.0);
    Ok(Folded {
        half: Ring::new(half)?,
        corners,
        holes: Vec::new(),
        axis: Axis { point: top, direction: down },
        axis_sigma: AxisSigma { across_mm: outer.sigma_mm, turn_rad: outer.sigma_mm / length },
        wear: WearReport { samples: vec![none], rms_mm: 0.0, worst: none },
        lone_corners: Vec::new(),
        half_from_traced,
    })
}

/// Part of the fold's length, from either end, whose width tells the top.
const END_PART: f64 = 0.15;

/// Whether the fold's top is where the run begins.
fn top_first(run: &[PathSeg], begin: Point, end: Point, top: Top) -> bool {
    let down = (end - begin).normalize();
    let length = begin.distance(end);
    let (mut first, mut last) = ((0.0, 0.0), (0.0, 0.0));
    for s in run {
        for k in 0..16 {
            let p = s.eval(f64::from(k) / 16.0) - begin;
            let (along, away) = (p.dot(down), p.cross(down).abs());
            let sum = if along < END_PART * length {
                &mut first
            } else if along > (1.0 - END_PART) * length {
                &mut last
            } else {
                continue;
            };
            *sum = (f64::max(sum.0, away), sum.1 + 1.0);
        }
    }
    (first.0 <= last.0) == (top == Top::Narrower)
}

/// Sets the half's two ends on x = 0 to the last digit, square where they nearly are.
fn set_on_fold(half: &mut [PathSeg]) {
    let last = half.len() - 1;
    if let PathSeg::Cubic(c) = &mut half[0] {
        c.p0 = Point::ORIGIN;
        if (c.p1.y / c.p1.x.max(1e-9)).atan().abs() < TRUE_RAD {
            c.p1.y = 0.0;
        }
    } else if let PathSeg::Line(l) = &mut half[0] {
        l.p0 = Point::ORIGIN;
    }
    if let PathSeg::Cubic(c) = &mut half[last] {
        c.p3.x = 0.0;
        if ((c.p2.y - c.p3.y) / c.p2.x.max(1e-9)).atan().abs() < TRUE_RAD {
            c.p2.y = c.p3.y;
        }
    } else if let PathSeg::Line(l) = &mut half[last] {
        l.p1.x = 0.0;
    }
}

/// Whether an outline is as good as a plain rectangle: four straight edges and no other.
#[must_use]
pub fn is_rectangle(outer: &Fitted) -> bool {
    let edges = straight_edges(outer);
    let sum: f64 = edges.iter().map(StraightEdge::length_mm).sum();
    let bounds = outer.ring.path().bounding_box();
    edges.len() == 4 && sum > 0.98 * outer.ring.length_mm() && bounds.area() > 0.0
}
