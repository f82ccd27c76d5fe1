//! Lines inside the finished line: stitch, skive, glue and facing lines, at their distance, without loops.

use super::ends::{self, REACH};
use super::error::AllowanceError;
use super::meet::{self, SAME_MM};
use super::offset::{outward, tightest};
use crate::geometry::{PathSeg, Point};
use crate::pattern::Outline;
use kurbo::{ParamCurve, ParamCurveNearest};

/// A line may stand nearer than its distance by this, millimetres: what is promised of every moved line.
const WITHIN_MM: f64 = 0.02;

/// Loops cut off a moved curve at most; a garment's curves make one or two.
const LOOPS: usize = 32;

/// The finished line of some edges moved inward, each by its own distance (negative: outward), brought to meet at the
/// corners between them, and carried on or cut off at both ends where it meets `stop` (the neighbours' runs; the fold).
/// One run an edge. `edges` follow each other; when they go all round, the line is closed.
///
/// # Errors
/// [`AllowanceError::TooNarrow`] where nothing is left of an edge.
pub(in crate::pattern) fn inset(
    outline: &Outline,
    edges: &[usize],
    distance_mm: impl Fn(usize) -> f64,
    stop: impl Fn(usize) -> Vec<PathSeg>,
) -> Result<Vec<Vec<PathSeg>>, AllowanceError> {
    let mut runs = Vec::with_capacity(edges.len());
    for &edge in edges {
        runs.push(inside_run(outline, edge, distance_mm(edge))?);
    }
    let closed = edges.len() == outline.edges().len();
    let widest = edges.iter().map(|&e| distance_mm(e).abs()).fold(0.0, f64::max);
    let reach = REACH * widest + SAME_MM;
    let last = edges.len() - 1;
    for index in 0..if closed { edges.len() } else { last } {
        let next = (index + 1) % edges.len();
        let corner = outline.edges()[edges[next]].start();
        let (a, b) = ends::joined(&runs[index], &runs[next], corner, reach);
        runs[index] = a;
        runs[next] = b;
    }
    if !closed {
        let stops = stop(outline.before(edges[0]));
        runs[0] = meet::reversed(&ended(
            &meet::reversed(&runs[0]),
            &stops,
            outline.edges()[edges[0]].start(),
            reach,
        ));
        let end = outline.edges()[edges[last]].end();
        runs[last] = ended(&runs[last], &stop(outline.after(edges[last])), end, reach);
    }
    Ok(runs)
}

/// One edge moved inward (negative: outward), its loops cut off.
///
/// # Errors
/// [`AllowanceError::TooNarrow`] where nothing is left of it.
fn inside_run(outline: &Outline, edge: usize, distance_mm: f64) -> Result<Vec<PathSeg>, AllowanceError> {
    let segments = &outline.edges()[edge].segments;
    let moved = outward(segments, -distance_mm);
    let tight = tightest(segments);
    let radius_mm = if distance_mm > 0.0 { tight.bulge_mm } else { tight.hollow_mm };
    let Some(radius_mm) = radius_mm.filter(|r| *r <= distance_mm.abs()) else { return Ok(moved) };
    let cleaned = without_loops(moved);
    let none = || AllowanceError::TooNarrow {
        edge: outline.spoken(edge),
        distance_mm: distance_mm.abs(),
        radius_mm,
    };
    let least = distance_mm.abs() - WITHIN_MM;
    let too_near = |p: Point| segments.iter().any(|s| s.nearest(p, 1e-6).distance_sq.sqrt() < least);
    let near = cleaned.iter().any(|s| (1..8).any(|i| too_near(s.eval(f64::from(i) / 8.0))));
    if cleaned.is_empty() || near { Err(none()) } else { Ok(cleaned) }
}

/// The run without the parts between two passes through the same place.
fn without_loops(mut run: Vec<PathSeg>) -> Vec<PathSeg> {
    for _ in 0..LOOPS {
        let mut crossed = None;
        'search: for i in 0..run.len() {
            // The farthest first, so that a loop within a loop goes with it.
            for j in (i + 1..run.len()).rev() {
                let (a, b) = (&run[i..=i], &run[j..=j]);
                let Some((p, q, at)) = meet::crossing(a, b, run[i].end()) else { continue };
                let joint = j == i + 1 && at.distance(run[i].end()) < SAME_MM;
                if !joint {
                    crossed = Some((i, j, p, q, at));
                    break 'search;
                }
            }
        }
        let Some((i, j, p, q, at)) = crossed else { break };
        let mut out = run[..i].to_vec();
        out.extend(meet::up_to(&run[i..=i], p, at));
        out.extend(meet::from(&run[j..=j], q, at));
        out.extend_from_slice(&run[j + 1..]);
        run = out;
    }
    run
}

/// The run carried on or cut off where it meets the stopping line nearest to `corner`.
fn ended(run: &[PathSeg], stop: &[PathSeg], corner: Point, reach: f64) -> Vec<PathSeg> {
    let on = meet::carried_on(run, reach);
    match meet::crossing(&on, stop, corner) {
        Some((place, _, at)) => meet::up_to(&on, place, at),
        None => run.to_vec(),
    }
}
