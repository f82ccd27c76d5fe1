//! How two runs of the cut line end where they meet: run on, mirrored, cut off, cut out, butted.

use super::flap::FoldLine;
use super::meet::{self, SAME_MM};
use super::offset::outward;
use crate::geometry::{PathSeg, Point, Vec2};
use crate::pattern::Outline;
use crate::pattern::joint::{SMOOTH_RAD, end_direction, start_direction};
use kurbo::{Line, ParamCurve};
use std::f64::consts::{FRAC_PI_2, TAU};

/// Cut lines are carried on past their ends by up to this many times the wider allowance to find where they meet: enough
/// for a corner of 20 degrees. A sharper corner is cut off straight across.
pub(super) const REACH: f64 = 6.0;

/// Two runs of the cut line: the one that arrives at a corner and the one that leaves it.
pub(super) type Runs = (Vec<PathSeg>, Vec<PathSeg>);

/// Two runs brought to meet at a plain corner.
pub(super) fn joined(a: &[PathSeg], b: &[PathSeg], corner: Point, reach: f64) -> Runs {
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
pub(super) fn fold_line(outline: &Outline, edge: usize) -> FoldLine {
    let edge = &outline.edges()[edge];
    let along = (edge.end() - edge.start()).normalize();
    FoldLine { at: edge.start(), outward: Vec2::new(along.y, -along.x) }
}

/// A neighbour's run that ends at the corner, and the flap's run that begins there: the neighbour ends on the fold line,
/// and the flap begins with the neighbour's mirror image. `None` where the neighbour does not reach the fold line.
pub(super) fn flapped(
    neighbour: &[PathSeg],
    flap: &[PathSeg],
    fold: FoldLine,
    depth: f64,
    corner: Point,
) -> Option<Runs> {
    let along = Vec2::new(-fold.outward.y, fold.outward.x);
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
pub(super) fn mitred(outline: &Outline, point: usize, outside: f64, [a, b]: [&[PathSeg]; 2]) -> Option<Runs> {
    let (arriving, leaving) = (&outline.edges()[outline.before(point)], &outline.edges()[point]);
    let on = end_direction(arriving.segments.last()?)?;
    let back = -start_direction(leaving.segments.first()?)?;
    let (halving, corner) = ((on + back).normalize(), leaving.start());
    let across = Vec2::new(-halving.y, halving.x);
    let reach = a.last()?.end().distance(corner) * REACH;
    let middle = corner + halving * outside;
    let line = [PathSeg::Line(Line::new(middle - across * reach, middle + across * reach))];
    let (a_place, _, a_end) = meet::crossing(a, &line, middle)?;
    let (b_place, _, b_start) = meet::crossing(b, &line, middle)?;
    let mut a = meet::up_to(a, a_place, a_end);
    a.push(PathSeg::Line(Line::new(a_end, b_start)));
    Some((a, meet::from(b, b_place, b_start)))
}

/// Whether the cloth fills less than half the corner: only there do allowances lie on each other.
pub(super) fn is_convex(outline: &Outline, point: usize) -> bool {
    let before = &outline.edges()[outline.before(point)].segments;
    crate::pattern::joint::turn_rad(&before[before.len() - 1], &outline.edges()[point].segments[0])
        > SMOOTH_RAD
}

/// The corner between two moved-out runs cut out square to both edges: the knife goes in to the corner and out again.
pub(super) fn squared(corner: Point, a: &[PathSeg], b: &[PathSeg]) -> Option<Runs> {
    let mut out = a.to_vec();
    out.extend(line(a.last()?.end(), corner));
    let mut after: Vec<PathSeg> = line(corner, b.first()?.start()).into_iter().collect();
    after.extend_from_slice(b);
    Some((out, after))
}

/// One run goes through, the other begins where it comes to lie. `through` and `other` are the finished edges, the first
/// arriving at the corner and the second leaving it; `a` and `b` are their runs, moved out by the depths; `side` is 1 where
/// outside lies to the left of the way. The through flap ends in the mirror image of the other edge; the other begins with
/// the mirror image of the line on which the first one lies, and before that with a rim so wide over the first one's end.
pub(super) fn butted(
    [through, other]: [&[PathSeg]; 2],
    [a, b]: [&[PathSeg]; 2],
    depths_mm: (f64, f64),
    rim_mm: f64,
    side: f64,
) -> Option<Runs> {
    let corner = other.first()?.start();
    let (u, v) = (end_direction(through.last()?)?, start_direction(other.first()?)?);
    let fold_a = FoldLine { at: corner, outward: Vec2::new(u.y, -u.x) * side };
    let fold_b = FoldLine { at: corner, outward: Vec2::new(v.y, -v.x) * side };
    let reach = REACH * depths_mm.0.max(depths_mm.1);
    let mirrored = [PathSeg::Line(Line::new(corner, fold_a.mirrored(corner + v * reach)))];
    let on = meet::carried_on(a, reach);
    let (place, _, end) = meet::crossing(&on, &mirrored, corner)?;
    let mut out = meet::up_to(&on, place, end);
    out.extend(line(end, corner));
    // Where the first allowance comes to lie, and its image on the other side of the other edge.
    let landing = |along: f64| fold_b.mirrored(corner - fold_a.outward * depths_mm.0 + u * along);
    let lies = [PathSeg::Line(Line::new(landing(-reach), landing(reach)))];
    let (place, _, foot) = meet::crossing(other, &lies, corner)?;
    let back = meet::carried_back(b, reach);
    let (from, _, start) = meet::crossing(&back, &lies, corner)?;
    let mut after = rim([through, other], &lies, rim_mm * side, fold_b)
        .unwrap_or_else(|| meet::up_to(other, place, foot));
    after.extend(line(after.last()?.end(), start));
    after.extend(meet::from(&back, from, start));
    Some((out, after))
}

/// The narrow rim of the other edge of a butted corner, from the corner to the line `lies` at which the full allowance
/// begins. It ends square at the corner, or so that it lies within the piece when it is folded in, or short of the first
/// one's end. `None` where there is none, or no room.
fn rim(
    [through, other]: [&[PathSeg]; 2],
    lies: &[PathSeg],
    moved_mm: f64,
    fold: FoldLine,
) -> Option<Vec<PathSeg>> {
    /// Of the angle left between the first flap's end and the other fold, the rim leaves a tenth free.
    const LEFT: f64 = 0.9;
    if moved_mm.abs() < SAME_MM {
        return None;
    }
    let (u, v) = (end_direction(through.last()?)?, start_direction(other.first()?)?);
    let interior = (-u).dot(v).clamp(-1.0, 1.0).acos();
    let angle = interior.min(FRAC_PI_2).min(LEFT * (TAU - 2.0 * interior));
    let reach = REACH * moved_mm.abs();
    let way = (v * angle.cos() + fold.outward * angle.sin()) * reach;
    let end = [PathSeg::Line(Line::new(fold.at, fold.at + way))];
    let run = meet::carried_back(&outward(other, moved_mm), reach);
    let (place, _, first) = meet::crossing(&run, &end, fold.at)?;
    let run = meet::from(&run, place, first);
    let (place, _, last) = meet::crossing(&run, lies, fold.at)?;
    let mut out: Vec<PathSeg> = line(fold.at, first).into_iter().collect();
    out.extend(meet::up_to(&run, place, last));
    Some(out)
}

fn line(a: Point, b: Point) -> Option<PathSeg> {
    (a.distance(b) > SAME_MM).then(|| PathSeg::Line(Line::new(a, b)))
}
