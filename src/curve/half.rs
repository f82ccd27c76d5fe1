//! A half that meets its fold: the run from the fold's top to its bottom is fitted, the fold is the straight line back.
//!
//! Enters the run in the half's frame, millimetres: its first and last points on x = 0, cloth at x ≥ 0, y down.
//! The run is looked at together with its mirror image, so that nothing happens at the fold that would not happen
//! elsewhere; where it is to meet the fold square it does so by construction.

use super::corner::Corner;
use super::piece::Limit;
use super::samples::Samples;
use super::split::{self, Kind, Run};
use super::{CurveError, Fitted, SEARCH_PART, Tolerance, join, settle};
use crate::geometry::{Point, Trace, TracePoint};

/// Points nearer than this to the one before are left out, mm.
const APART_MM: f64 = 1e-3;

/// Fits a half: `run` leads from the fold's top to its bottom with the corners that it names; at the top and the
/// bottom it meets the fold at a right angle where `square` says so. The ring's last segment is the fold, going up;
/// it and the first begin at corners.
///
/// # Errors
/// [`CurveError`] if the run is too short or not finite, or the tolerance is not a length above 0.
pub fn fit_half(run: &Trace, square: [bool; 2], tolerance: &Tolerance) -> Result<Fitted, CurveError> {
    if !(tolerance.depart_mm.is_finite() && tolerance.depart_mm > 0.0) {
        return Err(CurveError::Tolerance { depart_mm: tolerance.depart_mm });
    }
    let mut points: Vec<TracePoint> = Vec::with_capacity(2 * run.points.len());
    let mut corners: Vec<usize> = Vec::new();
    for (index, p) in run.points.iter().enumerate() {
        let corner = run.corners.binary_search(&index).is_ok();
        if points.last().is_some_and(|q| q.at.distance(p.at) < APART_MM) {
            // The last point and a corner stay, the one before goes.
            if !(corner || index + 1 == run.points.len()) || points.len() < 2 {
                continue;
            }
            points.pop();
        }
        if corner {
            corners.push(points.len());
        }
        points.push(*p);
    }
    let last = points.len().saturating_sub(1);
    corners.retain(|&c| c > 0 && c < last);
    corners.dedup();
    for k in (1..last).rev() {
        let p = points[k];
        points.push(TracePoint { at: Point::new(-p.at.x, p.at.y), ..p });
    }
    let mut samples = Samples::new(&Trace { points, corners: Vec::new() })?;
    samples.silence(last + 1);
    let mut known = vec![0];
    known.extend(corners);
    known.push(last);
    for &k in &known {
        samples.stray[k] = false;
    }
    let search = Limit { depart_mm: SEARCH_PART * tolerance.depart_mm };
    let mut runs: Vec<Run> =
        known.windows(2).flat_map(|w| split::between(&samples, w[0], w[1], search)).collect();
    runs.push(Run { kind: Kind::Line, from: last, to: samples.len(), curve: None });
    let corners: Vec<Corner> =
        known.iter().map(|&index| Corner { index, at: samples.at[index], told: false }).collect();
    let mut joined = join(&samples, &runs, &corners);
    joined.fold = Some(square);
    let mut fitted = settle(&mut joined, &samples, tolerance)?;
    // Those of the mirror image are no strays.
    fitted.strays -= samples.len() - last - 1;
    Ok(fitted)
}
