//! The cut line: every edge moved out by its allowance, brought to meet at the corners.

use super::corner::Corner;
use super::ends::{self, REACH};
use super::error::AllowanceError;
use super::kind::{Allowance, Kind};
use super::meet;
use super::offset::{outward, tightest};
use super::turned::{Bend, EdgeTurn, Turned};
use crate::geometry::{PathSeg, Ring};
use crate::pattern::{Outline, crossing};
use kurbo::ParamCurveArclen;

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

/// The rim that a butted corner keeps of the other allowance when nobody says: wide enough for cement to hold, narrow
/// enough to lie under the hammer as an edge and not as a third layer (judgement).
const USUAL_RIM: f64 = 1.0 / 3.0;

/// Makes the cut line of an outline from the allowances of its edges; edges without one are cut on the finished line.
/// `None` when no edge has one, nor a tab.
///
/// Where two edges meet, their cut lines run on to meet: the full corner, a / sin(θ / 2) outside the finished one. An
/// allowance that is folded over whole ends in the mirror image of its neighbours, so that it lies on the piece edge to
/// edge. Where the line runs on smoothly but the allowance changes, it steps square across.
///
/// # Errors
/// [`AllowanceError`].
pub(in crate::pattern) fn cut_line(outline: &Outline) -> Result<Option<CutLine>, AllowanceError> {
    let count = outline.edges().len();
    if outline.edges().iter().all(|e| e.allowance.is_none() && e.tabs.is_empty()) {
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
    finish_corners(outline, &mut runs)?;
    for edge in 0..count {
        for tab in &outline.edges()[edge].tabs {
            runs[edge] = tab.cut_into(outline, edge, &runs[edge])?;
        }
    }
    if let Some((edge, ..)) = crossing::first_crossing(&runs) {
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

/// Brings the runs of all edges to meet at their corners.
fn finish_corners(outline: &Outline, runs: &mut [Vec<PathSeg>]) -> Result<(), AllowanceError> {
    let count = runs.len();
    let width = |edge: usize| outline.edges()[edge].allowance.map_or(0.0, |a| a.width_mm);
    // Plain corners first: the mirrored ends of folded edges need their neighbours' finished cut lines.
    for next in 0..count {
        let before = outline.before(next);
        if flap_side(outline, next).is_some() {
            continue;
        }
        let corner = outline.edges()[next].start();
        let styled = match outline.edges()[next].corner {
            Corner::Square if ends::is_convex(outline, next) => {
                ends::squared(corner, &runs[before], &runs[next])
            }
            Corner::Butted { first_through, rim_mm } if ends::is_convex(outline, next) => {
                butted(outline, next, [&runs[before], &runs[next]], (first_through, rim_mm))
            }
            _ => None,
        };
        let reach = REACH * width(before).max(width(next));
        let (a, b) = styled.unwrap_or_else(|| ends::joined(&runs[before], &runs[next], corner, reach));
        runs[before] = a;
        runs[next] = b;
    }
    for next in 0..count {
        let before = outline.before(next);
        let Some(side) = flap_side(outline, next) else { continue };
        let corner = outline.edges()[next].start();
        let missed =
            || AllowanceError::NeverMeet { first: outline.spoken(before), second: outline.spoken(next) };
        if side == Side::After {
            let ended = ends::flapped(
                &runs[before],
                &runs[next],
                ends::fold_line(outline, next),
                width(next),
                corner,
            );
            (runs[before], runs[next]) = ended.ok_or_else(missed)?;
        } else {
            // The same the other way round.
            let (neighbour, flap) = (meet::reversed(&runs[next]), meet::reversed(&runs[before]));
            let fold = ends::fold_line(outline, before);
            let ended = ends::flapped(&neighbour, &flap, fold, width(before), corner);
            let (neighbour, flap) = ended.ok_or_else(missed)?;
            (runs[before], runs[next]) = (meet::reversed(&flap), meet::reversed(&neighbour));
        }
    }
    for next in 0..count {
        let Corner::Mitred { outside_mm } = outline.edges()[next].corner else { continue };
        let before = outline.before(next);
        if let Some((a, b)) = ends::mitred(outline, next, outside_mm, [&runs[before], &runs[next]]) {
            (runs[before], runs[next]) = (a, b);
        }
    }
    Ok(())
}

/// Which of the two edges at a point ends in its neighbour's mirror image.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Side {
    Before,
    After,
}

/// Which edge, if any, ends in its neighbour's mirror image: one that is folded over whole beside one that is not, or the
/// one that the corner folds back.
fn flap_side(outline: &Outline, next: usize) -> Option<Side> {
    let before = outline.before(next);
    if outline.is_on_fold(next) {
        return None;
    }
    let folded = |edge: usize| outline.edges()[edge].allowance.is_some_and(|a| a.kind.is_folded());
    let side = |first: bool| if first { Side::Before } else { Side::After };
    match outline.edges()[next].corner {
        Corner::FoldedBack { first_back } => {
            let edge = &outline.edges()[if first_back { before } else { next }];
            (edge.allowance.is_some() && edge.is_straight()).then(|| side(first_back))
        }
        Corner::Square | Corner::Butted { .. } => None,
        _ => (folded(before) != folded(next)).then(|| side(folded(before))),
    }
}

/// The corner butted, whichever edge runs through; `None` where one of them has no allowance.
fn butted(
    outline: &Outline,
    next: usize,
    [a, b]: [&[PathSeg]; 2],
    (first_through, rim_mm): (bool, Option<f64>),
) -> Option<ends::Runs> {
    let before = outline.before(next);
    let width = |edge: usize| outline.edges()[edge].allowance.map(|a| a.width_mm);
    let [arriving, leaving] = [before, next].map(|edge| outline.edges()[edge].segments.as_slice());
    let (a_mm, b_mm) = (width(before)?, width(next)?);
    let other_mm = if first_through { b_mm } else { a_mm };
    let rim_mm = rim_mm.unwrap_or(USUAL_RIM * other_mm).min(other_mm);
    if first_through {
        return ends::butted([arriving, leaving], [a, b], (a_mm, b_mm), rim_mm, 1.0);
    }
    let back = [leaving, arriving].map(meet::reversed);
    let runs = [b, a].map(meet::reversed);
    let (b, a) = ends::butted([&back[0], &back[1]], [&runs[0], &runs[1]], (b_mm, a_mm), rim_mm, -1.0)?;
    Some((meet::reversed(&a), meet::reversed(&b)))
}
