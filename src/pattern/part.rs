//! An outline parted by a line or a curve between two of its places.

use super::joint::{end_direction, start_direction};
use super::spot::{Found, From};
use super::{Edge, Outline, StepProblem, Tab};
use crate::geometry::{Affine, CubicBez, PathSeg, Point, Vec2};
use kurbo::{Line, ParamCurve, ParamCurveArclen};

/// Lengths along edges are measured to this, millimetres.
const ARC_MM: f64 = 1e-6;

/// A cut nearer to a point than this goes through it, millimetres.
const AT_POINT_MM: f64 = 1e-3;

/// Name of the new edge on both parts.
pub(super) const CUT: &str = "cut";

/// Parts an outline by a line from one place to another, bowed to its left by so much at its middle. The first part is the
/// line from the first place on to the second and back along the cut; the second is the rest. Letters and names stay; on
/// both parts the cut is named [`CUT`] where that name is free.
///
/// # Errors
/// [`StepProblem::NotParted`] where the two places are one or both lie on the fold.
pub(super) fn part(outline: &Outline, [a, b]: [Found; 2], bow_mm: f64) -> Result<[Outline; 2], StepProblem> {
    let mut whole = outline.clone();
    let backwards = (a.edge, a.along_mm) > (b.edge, b.along_mm);
    let (early, late) = if backwards { (b, a) } else { (a, b) };
    // The later place first, so that the number of the earlier one stays true.
    let later = insert_point(&mut whole, late)?;
    let before = whole.edges().len();
    let earlier = insert_point(&mut whole, early)?;
    let later = if later == 0 { 0 } else { later + whole.edges().len() - before };
    let (p, q) = if backwards { (later, earlier) } else { (earlier, later) };
    let count = whole.edges().len();
    let fold = |i: usize| outline.on_fold() && whole.edges()[i].name.as_deref() == Some(super::FOLD);
    if p == q || (fold((p + count - 1) % count) && fold((q + count - 1) % count)) {
        return Err(StepProblem::NotParted);
    }
    let run = |from: usize, to: usize| {
        let length = (to + count - from - 1) % count + 1;
        (0..length).map(|k| whole.edges()[(from + k) % count].clone()).collect::<Vec<Edge>>()
    };
    let (start, end) = (whole.edges()[p].start(), whole.edges()[q].start());
    let first = closed(run(p, q), whole.edges()[q].from, cut(end, start, -bow_mm), &whole);
    let second = closed(run(q, p), whole.edges()[p].from, cut(start, end, bow_mm), &whole);
    Ok([first, second])
}

/// The cut from one place to another, its middle bowed to the left of the way.
fn cut(from: Point, to: Point, bow_mm: f64) -> PathSeg {
    let third = (to - from) / 3.0;
    if bow_mm == 0.0 {
        return PathSeg::Line(Line::new(from, to));
    }
    // A cubic is three quarters as deep as its handles stand off.
    let off = Vec2::new(third.y, -third.x).normalize() * (bow_mm * 4.0 / 3.0);
    PathSeg::Cubic(CubicBez::new(from, from + third + off, to - third + off, to))
}

/// A part closed by its cut. A part that holds the fold has it last.
fn closed(mut edges: Vec<Edge>, letter: super::Letter, cut: PathSeg, whole: &Outline) -> Outline {
    let mut edge = Edge::new(letter, vec![cut]);
    if edges.iter().all(|e| e.name.as_deref() != Some(CUT)) {
        edge.name = Some(CUT.to_owned());
    }
    edges[0].corner = super::Corner::Full;
    edges.push(edge);
    let fold = edges.iter().position(|e| whole.on_fold() && e.name.as_deref() == Some(super::FOLD));
    if let Some(fold) = fold {
        edges.rotate_left(fold + 1);
    }
    Outline::from_edges(edges, fold.is_some(), whole.unused())
}

/// Puts a lettered point at a place; the index of the edge that begins there.
pub(super) fn insert_point(outline: &mut Outline, at: Found) -> Result<usize, StepProblem> {
    let edge = &outline.edges()[at.edge];
    let length_mm = edge.length_mm();
    if at.along_mm < AT_POINT_MM {
        return Ok(at.edge);
    }
    if at.along_mm > length_mm - AT_POINT_MM {
        return Ok(outline.after(at.edge));
    }
    let [first, second] = cut_at(&edge.segments, at.along_mm);
    let (mut before, mut after) = (edge.clone(), edge.clone());
    (before.tabs, after.tabs) = (Vec::new(), Vec::new());
    for tab in &edge.tabs {
        let (start, end) = tab.range_mm(length_mm);
        if end <= at.along_mm {
            before.tabs.push(Tab { from: From::Start(start), ..tab.clone() });
        } else if start >= at.along_mm {
            after.tabs.push(Tab { from: From::Start(start - at.along_mm), ..tab.clone() });
        } else {
            return Err(StepProblem::ThroughTab { edge: outline.spoken(at.edge) });
        }
    }
    before.segments = first;
    after.segments = second;
    after.from = outline.new_letter();
    after.corner = super::Corner::Full;
    let edges = outline.edges_mut();
    edges[at.edge] = before;
    edges.insert(at.edge + 1, after);
    Ok(at.edge + 1)
}

/// A run in two, so far along it; both parts have at least one segment.
pub(super) fn cut_at(run: &[PathSeg], along_mm: f64) -> [Vec<PathSeg>; 2] {
    let mut left_mm = along_mm;
    for (index, segment) in run.iter().enumerate() {
        let length = segment.arclen(ARC_MM);
        if left_mm < length || index + 1 == run.len() {
            let t = segment.inv_arclen(left_mm.min(length), ARC_MM);
            let first = run[..index].iter().copied().chain([segment.subsegment(0.0..t)]).collect();
            let second =
                [segment.subsegment(t..1.0)].into_iter().chain(run[index + 1..].iter().copied()).collect();
            return [first, second];
        }
        left_mm -= length;
    }
    [run.to_vec(), Vec::new()]
}

/// Moves an outline into its own frame: the fold's top at the origin, or the top-left corner of its box.
pub(super) fn own_frame(outline: &Outline) -> Affine {
    let ring = outline.ring();
    let origin = if outline.on_fold() {
        Point::new(0.0, outline.edges()[0].start().y)
    } else {
        Point::new(ring.bounds().x0, ring.bounds().y0)
    };
    Affine::translate(-origin.to_vec2())
}

/// The interior angle at a point, radians.
pub(super) fn interior_rad(outline: &Outline, point: usize) -> Option<f64> {
    let before = &outline.edges()[outline.before(point)].segments;
    let (u, v) = (end_direction(before.last()?)?, start_direction(outline.edges()[point].segments.first()?)?);
    Some(std::f64::consts::PI - u.cross(v).atan2(u.dot(v)))
}
