//! The cut line: every edge moved out by its allowance, brought to meet at the corners.

use super::error::AllowanceError;
use super::flap::FoldLine;
use super::kind::{Allowance, Kind};
use super::meet::{self, SAME_MM};
use super::offset::{outward, tightest};
use super::turned::{Bend, EdgeTurn, Turned};
use crate::geometry::{PathSeg, Point, Ring};
use crate::pattern::joint::{SMOOTH_RAD, end_direction, start_direction};
use crate::pattern::{Outline, crossing};
use kurbo::{Line, ParamCurve, ParamCurveArclen};

/// Cut lines are carried on past their ends by up to this many times the wider allowance to find where they meet: enough
/// for a corner of 20 degrees. A sharper corner is cut off straight across.
const REACH: f64 = 6.0;

/// The line that the knife follows, and what turned edges ask of the material.
#[derive(Debug, Clone, PartialEq)]
pub struct CutLine {
    /// The line, clockwise; on a half its last part is the fold.
    pub ring: Ring,
    /// The same edge by edge, in the order of the outline's edges.
    pub edges: Vec<Vec<PathSeg>>,
    /// One entry for every turned edge.
    pub turned: Vec<EdgeTurn>,
}

/// Makes the cut line of an outline from the allowances of its edges; edges without one are cut on the finished line.
/// `None` when no edge has one.
///
/// Where two edges meet, their cut lines run on to meet: the full corner, a / sin(θ / 2) outside the finished one. An
/// allowance that is folded over whole ends in the mirror image of its neighbours, so that it lies on the piece edge to
/// edge. Where the line runs on smoothly but the allowance changes, it steps square across.
///
/// # Errors
/// [`AllowanceError`].
pub(in crate::pattern) fn cut_line(outline: &Outline) -> Result<Option<CutLine>, AllowanceError> {
    let count = outline.edges().len();
    if outline.edges().iter().all(|e| e.allowance.is_none()) {
        return Ok(None);
    }
    let allowance = |edge: usize| outline.edges()[edge].allowance;
    let mut runs = Vec::with_capacity(count);
    let mut turned = Vec::new();
    for edge in 0..count {
        let run = moved_out(outline, edge, allowance(edge))?;
        if let Some(Allowance { kind: Kind::Turned, width_mm }) = allowance(edge) {
            turned.push(edge_turn(outline, edge, width_mm, &run));
        }
        runs.push(run);
    }
    let width = |edge: usize| allowance(edge).map_or(0.0, |a| a.width_mm);
    let folded = |edge: usize| allowance(edge).is_some_and(|a| a.kind.is_folded());
    // Plain corners first: the mirrored ends of folded edges need their neighbours' finished cut lines.
    for next in 0..count {
        let before = outline.before(next);
        let is_flap_corner = folded(before) != folded(next) && !outline.is_on_fold(next);
        if !is_flap_corner {
            let corner = outline.edges()[next].start();
            let reach = REACH * width(before).max(width(next));
            let (a, b) = joined(&runs[before], &runs[next], corner, reach);
            runs[before] = a;
            runs[next] = b;
        }
    }
    for next in 0..count {
        let before = outline.before(next);
        if folded(before) == folded(next) || outline.is_on_fold(next) {
            continue;
        }
        let corner = outline.edges()[next].start();
        let missed =
            || AllowanceError::NeverMeet { first: outline.spoken(before), second: outline.spoken(next) };
        if folded(next) {
            let depth = width(next);
            let ended = flapped(&runs[before], &runs[next], fold_line(outline, next), depth, corner);
            (runs[before], runs[next]) = ended.ok_or_else(missed)?;
        } else {
            // The same the other way round.
            let depth = width(before);
            let (neighbour, flap) = (meet::reversed(&runs[next]), meet::reversed(&runs[before]));
            let ended = flapped(&neighbour, &flap, fold_line(outline, before), depth, corner);
            let (neighbour, flap) = ended.ok_or_else(missed)?;
            (runs[before], runs[next]) = (meet::reversed(&flap), meet::reversed(&neighbour));
        }
    }
    for next in 0..count {
        let Some(outside) = outline.edges()[next].mitre_mm else { continue };
        let before = outline.before(next);
        if let Some((a, b)) = mitred(outline, next, outside, [&runs[before], &runs[next]]) {
            (runs[before], runs[next]) = (a, b);
        }
    }
    if let Some((edge, _)) = crossing::first_crossing(&runs) {
        return Err(AllowanceError::Crosses { edge: outline.spoken(edge) });
    }
    let ring = Ring::new(runs.concat()).map_err(|_| AllowanceError::Crosses { edge: outline.spoken(0) })?;
    Ok(Some(CutLine { ring, edges: runs, turned }))
}

/// One edge moved out by its allowance.
fn moved_out(
    outline: &Outline,
    edge: usize,
    allowance: Option<Allowance>,
) -> Result<Vec<PathSeg>, AllowanceError> {
    let segments = &outline.edges()[edge].segments;
    let Some(Allowance { kind, width_mm }) = allowance else { return Ok(segments.clone()) };
    if kind.is_folded() && !outline.edges()[edge].is_straight() {
        return Err(AllowanceError::Curved { edge: outline.spoken(edge) });
    }
    if let Some(radius_mm) = tightest(segments).hollow_mm.filter(|r| *r <= width_mm) {
        return Err(AllowanceError::TooTight { edge: outline.spoken(edge), width_mm, radius_mm });
    }
    Ok(outward(segments, width_mm))
}

fn edge_turn(outline: &Outline, edge: usize, width_mm: f64, cut: &[PathSeg]) -> EdgeTurn {
    let finished_mm = outline.edges()[edge].length_mm();
    let cut_mm = cut.iter().map(|s| s.arclen(1e-4)).sum::<f64>();
    let bends = tightest(&outline.edges()[edge].segments);
    let turn = |bend, radius: Option<f64>| radius.and_then(|r| Turned::new(bend, r, width_mm));
    EdgeTurn {
        edge: outline.spoken(edge),
        finished_mm,
        cut_mm,
        // Both lie a from the finished line, so their lengths differ from it by aφ, one up and one down.
        landing_mm: 2.0 * finished_mm - cut_mm,
        hollow: turn(Bend::Hollow, bends.hollow_mm),
        bulge: turn(Bend::Bulge, bends.bulge_mm),
    }
}

/// Two runs brought to meet at a plain corner.
fn joined(a: &[PathSeg], b: &[PathSeg], corner: Point, reach: f64) -> (Vec<PathSeg>, Vec<PathSeg>) {
    let (Some(end), Some(start)) = (a.last().map(PathSeg::end), b.first().map(PathSeg::start)) else {
        return (a.to_vec(), b.to_vec());
    };
    let mut a = a.to_vec();
    if end.distance(start) < SAME_MM {
        if let Some(last) = a.last_mut() {
            *last = meet::ending_at(*last, start);
        }
        return (a, b.to_vec());
    }
    if !meet::is_smooth(&a, b, SMOOTH_RAD) {
        let (on, back) = (meet::carried_on(&a, reach), meet::carried_back(b, reach));
        if let Some((on_place, back_place, at)) = meet::crossing(&on, &back, corner) {
            return (meet::up_to(&on, on_place, at), meet::from(&back, back_place, at));
        }
    }
    a.push(PathSeg::Line(Line::new(end, start)));
    (a, b.to_vec())
}

/// The line on which a straight edge is folded.
fn fold_line(outline: &Outline, edge: usize) -> FoldLine {
    let edge = &outline.edges()[edge];
    let along = (edge.end() - edge.start()).normalize();
    FoldLine { at: edge.start(), outward: kurbo::Vec2::new(along.y, -along.x) }
}

/// A neighbour's run that ends at the corner, and the flap's run that begins there: the neighbour ends on the fold line,
/// and the flap begins with the neighbour's mirror image. `None` where the neighbour does not reach the fold line.
fn flapped(
    neighbour: &[PathSeg],
    flap: &[PathSeg],
    fold: FoldLine,
    depth: f64,
    corner: Point,
) -> Option<(Vec<PathSeg>, Vec<PathSeg>)> {
    let along = kurbo::Vec2::new(-fold.outward.y, fold.outward.x);
    let reach = REACH * depth + neighbour.last()?.end().distance(corner);
    let line_at = |inside: f64| {
        let middle = corner - fold.outward * inside;
        [PathSeg::Line(Line::new(middle - along * reach, middle + along * reach))]
    };
    let on = meet::carried_on(neighbour, reach);
    let (place, _, at) = meet::crossing(&on, &line_at(0.0), corner)?;
    let neighbour = meet::up_to(&on, place, at);
    // The part of the neighbour that lies within the depth of the flap, or all of it and straight on.
    let back = meet::carried_back(&neighbour, reach);
    let (place, _, inner) = meet::crossing(&back, &line_at(depth), corner - fold.outward * depth)?;
    let within = meet::from(&back, place, inner);
    let mut run: Vec<PathSeg> =
        meet::reversed(&within).into_iter().map(|s| fold.mirrored_segment(s)).collect();
    let outer = run.last()?.end();
    let mut flap = flap.to_vec();
    let first = flap.first_mut()?;
    *first = meet::ending_at(first.reverse(), outer).reverse();
    run.append(&mut flap);
    Some((neighbour, run))
}

/// Two runs that meet in a full corner, cut off along a line square to the halving line of the corner, `outside` from its
/// point. `None` where the corner does not reach that far, and nothing is to be cut off.
fn mitred(
    outline: &Outline,
    point: usize,
    outside: f64,
    [a, b]: [&[PathSeg]; 2],
) -> Option<(Vec<PathSeg>, Vec<PathSeg>)> {
    let (arriving, leaving) = (&outline.edges()[outline.before(point)], &outline.edges()[point]);
    let on = end_direction(arriving.segments.last()?)?;
    let back = -start_direction(leaving.segments.first()?)?;
    let (halving, corner) = ((on + back).normalize(), leaving.start());
    let across = kurbo::Vec2::new(-halving.y, halving.x);
    let reach = a.last()?.end().distance(corner) * REACH;
    let middle = corner + halving * outside;
    let line = [PathSeg::Line(Line::new(middle - across * reach, middle + across * reach))];
    let (a_place, _, a_end) = meet::crossing(a, &line, middle)?;
    let (b_place, _, b_start) = meet::crossing(b, &line, middle)?;
    let mut a = meet::up_to(a, a_place, a_end);
    a.push(PathSeg::Line(Line::new(a_end, b_start)));
    Some((a, meet::from(b, b_place, b_start)))
}
