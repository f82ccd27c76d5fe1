//! Holes of a folded piece.
//!
//! Enters the holes of the whole, fitted, in the traced frame. Leaves those of the half: two that mirror each other
//! become their mean (or the one on the kept side), one that only one side has stays on the half, one across the fold
//! is cut at the fold.

use super::fold::{FoldError, FoldOptions, Keep};
use super::halves::{self, Run};
use crate::curve::{self, Fitted};
use crate::geometry::{Affine, Point, Ring, Trace, TracePoint, Vec2};
use kurbo::Shape;

/// Holes belong together if their middles lie within this, mm, once mirrored.
const PAIR_MM: f64 = 15.0;
/// Points round a hole.
const ROUND: usize = 180;

/// One hole in the half's frame, mirrored to x ≥ 0 if it lay on the left.
struct Hole {
    run: Run,
    ring: Ring,
    middle: Point,
    sigma_mm: f64,
}

/// The holes of the half.
pub(super) fn fold(
    holes: &[Fitted],
    half_from_traced: Affine,
    options: &FoldOptions,
) -> Result<Vec<Ring>, FoldError> {
    let mut out = Vec::new();
    let (mut right, mut left) = (Vec::new(), Vec::new());
    for fitted in holes {
        let ring = Ring::new(fitted.ring.segments().iter().map(|s| half_from_traced * *s).collect())?;
        let bounds = ring.bounds();
        if bounds.x0 < 0.0 && bounds.x1 > 0.0 {
            out.push(across(&ring, fitted, options)?);
            continue;
        }
        let on_right = bounds.x0 >= 0.0;
        let flip = if on_right { Affine::IDENTITY } else { Affine::scale_non_uniform(-1.0, 1.0) };
        let ring = Ring::new(ring.segments().iter().map(|s| flip * *s).collect())?;
        let hole = Hole {
            run: halves::sample(&ring, &fitted.corners),
            middle: ring.path().bounding_box().center(),
            sigma_mm: fitted.sigma_mm,
            ring,
        };
        if on_right { right.push(hole) } else { left.push(hole) }
    }
    for hole in right {
        let near =
            (0..left.len()).filter(|&k| left[k].middle.distance(hole.middle) < PAIR_MM).min_by(|&a, &b| {
                left[a].middle.distance(hole.middle).total_cmp(&left[b].middle.distance(hole.middle))
            });
        match near {
            Some(k) => {
                let other = left.swap_remove(k);
                out.push(match options.keep {
                    Keep::Right => anticlockwise(&hole.ring)?,
                    Keep::Left => anticlockwise(&other.ring)?,
                    Keep::Mean => mean(&hole, &other, options)?,
                });
            }
            None if options.keep != Keep::Left => out.push(anticlockwise(&hole.ring)?),
            None => {}
        }
    }
    for hole in left {
        if options.keep != Keep::Right {
            out.push(anticlockwise(&hole.ring)?);
        }
    }
    out.sort_by(|a, b| a.bounds().y0.total_cmp(&b.bounds().y0));
    Ok(out)
}

/// A hole across the fold, cut there: the side that is kept, closed along the fold.
fn across(ring: &Ring, fitted: &Fitted, options: &FoldOptions) -> Result<Ring, FoldError> {
    let [right, left] = halves::sides(&halves::sample(ring, &fitted.corners))?;
    let pairing = halves::pair(right.clone(), &left);
    let run = match options.keep {
        Keep::Right => right,
        Keep::Left => left,
        Keep::Mean => super::fold::mean(&pairing),
    };
    let half = curve::fit_half(&super::fold::trace(&run, fitted.sigma_mm), [true; 2], &options.tolerance)?;
    anticlockwise(&half.ring)
}

/// The mean of two holes, place by place round their middles.
fn mean(a: &Hole, b: &Hole, options: &FoldOptions) -> Result<Ring, FoldError> {
    let along = |hole: &Hole, part: f64| hole.run.at(hole.run.length() * part) - hole.middle;
    let parts: Vec<f64> = (0..ROUND).map(|k| k as f64 / ROUND as f64).collect();
    // Where the other begins so that the two run along each other.
    let apart =
        |turn: f64| parts.iter().map(|p| (along(a, *p) - along(b, (p + turn).fract())).hypot2()).sum::<f64>();
    let turn = parts.iter().copied().min_by(|s, t| apart(*s).total_cmp(&apart(*t))).unwrap_or(0.0);
    let middle: Vec2 = (a.middle.to_vec2() + b.middle.to_vec2()) / 2.0;
    let sigma_mm = 0.5 * (a.sigma_mm + b.sigma_mm);
    let points = parts
        .iter()
        .map(|p| TracePoint {
            at: ((along(a, *p) + along(b, (p + turn).fract())) / 2.0 + middle).to_point(),
            sigma_mm,
            bridged: false,
        })
        .collect();
    let fitted = curve::fit(&Trace { points, corners: Vec::new() }, &options.tolerance)?;
    anticlockwise(&fitted.ring)
}

fn anticlockwise(ring: &Ring) -> Result<Ring, FoldError> {
    if ring.area_mm2() < 0.0 {
        return Ok(ring.clone());
    }
    Ok(Ring::new(ring.segments().iter().rev().map(|s| s.reverse()).collect())?)
}
