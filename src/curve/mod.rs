//! Room `curve`: a traced line enters, a few lines and cubic Béziers leave, with the error reached.
//!
//! Enters a closed [`Trace`], about one point a millimetre, millimetres on the table (x right, y down),
//! each with its standard deviation. Leaves a closed [`Ring`] in the same frame.

mod corner;
mod half;
mod joined;
mod piece;
mod samples;
mod spike;
mod split;

use crate::geometry::{Ring, RingError, Trace, Vec2};
use corner::Corner;
pub use half::fit_half;
use joined::{Feet, Joined, Joint, Piece};
use piece::Limit;
use samples::Samples;
use split::{Kind, Run};

/// How near a fitted ring must be to what was traced.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tolerance {
    /// Largest departure of the ring from the true line, millimetres, beyond what the trace's own noise
    /// hides. Raising it gives fewer pieces.
    pub depart_mm: f64,
    /// Least change of direction that makes a corner, degrees. A smaller bend is rounded within `depart_mm`.
    pub corner_deg: f64,
}

impl Default for Tolerance {
    fn default() -> Self {
        Self { depart_mm: 0.1, corner_deg: 15.0 }
    }
}

/// A ring fitted to a trace.
#[derive(Debug, Clone, PartialEq)]
pub struct Fitted {
    /// Lines and cubics, tangent-continuous but at the corners.
    pub ring: Ring,
    /// Indices of the segments that begin at a corner, ascending.
    pub corners: Vec<usize>,
    /// Largest distance from the traced points (stray ones left out) to the ring, millimetres.
    pub worst_mm: f64,
    /// Root mean square of those distances, millimetres.
    pub rms_mm: f64,
    /// Standard deviation of the ring's own place across the line, typical, millimetres.
    pub sigma_mm: f64,
    /// How many traced points were left out as strays.
    pub strays: usize,
}

/// Why a trace has no fitted ring.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CurveError {
    /// Too few points to be an outline.
    #[error(
        "the traced line has {points} points, at least {needed} are needed; trace it again at about one point a millimetre"
    )]
    TooFew {
        /// Points given.
        points: usize,
        /// Points needed.
        needed: usize,
    },
    /// A place or a standard deviation is not a usable number.
    #[error("point {index} of the traced line is not a usable number; trace it again")]
    NotFinite {
        /// Which point, from 0.
        index: usize,
    },
    /// The tolerance cannot be met by any curve.
    #[error("the tolerance of {depart_mm} mm is not usable; give a length above 0")]
    Tolerance {
        /// The departure asked for.
        depart_mm: f64,
    },
    /// No ring within the tolerance.
    #[error("the fitted line does not close: {0}")]
    Ring(#[from] RingError),
}

/// The search uses this part of the tolerance, so that joining with one tangent has room.
const SEARCH_PART: f64 = 0.8;
/// Rounds of mending where the joined pieces miss.
const MENDING_ROUNDS: usize = 10;
/// A piece over fewer points is not cut.
const LEAST_CUT_POINTS: usize = 8;
/// While pieces are still being cut, points this many times further off than in the end have a say.
const FIRST_SCALE: f64 = 50.0;
/// Least-squares rounds after a change, and at the end.
const SETTLE_ROUNDS: usize = 8;

/// Fits lines and cubics to a closed trace.
///
/// # Errors
/// [`CurveError`] if the trace is too short or not finite, or the tolerance is not a length above 0.
pub fn fit(trace: &Trace, tolerance: &Tolerance) -> Result<Fitted, CurveError> {
    if !(tolerance.depart_mm.is_finite() && tolerance.depart_mm > 0.0) {
        return Err(CurveError::Tolerance { depart_mm: tolerance.depart_mm });
    }
    let samples = Samples::new(trace)?;
    let corners = corner::find(&samples, tolerance);
    let search = Limit { depart_mm: SEARCH_PART * tolerance.depart_mm };
    let indices: Vec<usize> = corners.iter().map(|c| c.index).collect();
    let runs = split::split(&samples, &indices, search);
    let mut joined = join(&samples, &runs, &corners);
    settle(&mut joined, &samples, tolerance)
}

/// Settles, mends and finishes what the split found. Spikes are taken out if the line comes no worse of it.
fn settle(joined: &mut Joined, samples: &Samples, tolerance: &Tolerance) -> Result<Fitted, CurveError> {
    let limit = Limit { depart_mm: tolerance.depart_mm };
    let mut feet = mended(joined, samples, limit);
    let mut blunt = joined.clone();
    if blunt.blunted(samples) {
        let again = mended(&mut blunt, samples, limit);
        let worst_mm = |feet: &Feet| live(samples).map(|i| feet.off[i].abs()).fold(0.0, f64::max);
        if !blunt.spiked(samples) && worst_mm(&again) <= worst_mm(&feet).max(limit.depart_mm) {
            (*joined, feet) = (blunt, again);
        }
    }
    finish(joined, &feet, samples)
}

/// Settles, and cuts pieces where they miss.
fn mended(joined: &mut Joined, samples: &Samples, limit: Limit) -> Feet {
    let mut feet = joined.settle(samples, FIRST_SCALE * limit.depart_mm, SETTLE_ROUNDS);
    for _ in 0..MENDING_ROUNDS {
        if !mend(joined, &feet, samples, limit) {
            break;
        }
        feet = joined.settle(samples, FIRST_SCALE * limit.depart_mm, SETTLE_ROUNDS);
    }
    joined.settle(samples, limit.depart_mm, SETTLE_ROUNDS)
}

/// Points that are no strays.
fn live(samples: &Samples) -> impl Iterator<Item = usize> {
    (0..samples.len()).filter(|&i| !samples.stray[i])
}

/// Pieces joined as the split found them.
fn join(samples: &Samples, runs: &[Run], corners: &[Corner]) -> Joined {
    let n = samples.len();
    let near = samples.count(2.0);
    let joints = runs
        .iter()
        .map(|run| {
            let corner = corners.iter().find(|c| c.index == run.from % n);
            let from = (run.from + n - near) % n;
            let mean = samples.mean(from, from + 2 * near + 1).map_or(samples.place(run.from), |b| b.at);
            Joint {
                at: corner.map_or(mean, |c| c.at),
                corner: corner.is_some(),
                told: corner.filter(|c| c.told).map(|c| c.at),
                index: run.from,
            }
        })
        .collect();
    let half = split::heading_points(samples);
    let pieces = runs
        .iter()
        .map(|run| {
            // Directions from the points where two cubics meet: each alone may curl at its end.
            let (mut u, mut v) = run.curve.map_or((Vec2::ZERO, Vec2::ZERO), |c| (c.p1 - c.p0, c.p3 - c.p2));
            for (d, at) in [(&mut u, run.from), (&mut v, run.to)] {
                if corners.iter().all(|c| c.index != at % n) {
                    let along = split::heading(samples, at % n, half);
                    *d = along * (d.hypot() / along.hypot().max(1e-9));
                }
            }
            Piece { kind: run.kind, heading: [u.atan2(), v.atan2()], handle: [u.hypot(), v.hypot()] }
        })
        .collect();
    Joined { joints, pieces, fold: None }
}

/// Cuts or loosens the pieces that miss their points; false if none does.
fn mend(joined: &mut Joined, feet: &Feet, samples: &Samples, limit: Limit) -> bool {
    let mut missing: Vec<(f64, usize, usize)> = (0..joined.count())
        .filter_map(|k| {
            let (ratio, index) = joined.miss(k, feet, samples, limit);
            (ratio > 1.0 && joined.points(k, samples.len()) >= LEAST_CUT_POINTS).then_some((ratio, k, index))
        })
        .collect();
    missing.sort_by(|a, b| b.0.total_cmp(&a.0));
    let count = joined.count();
    let mut chosen: Vec<(usize, usize)> = Vec::new();
    for (_, k, index) in missing {
        if chosen.iter().all(|&(j, _)| (j + 1) % count != k && (k + 1) % count != j) {
            chosen.push((k, index));
        }
    }
    chosen.sort_unstable();
    for &(k, index) in chosen.iter().rev() {
        if joined.pieces[k].kind == Kind::Line {
            joined.loosen(k);
        } else {
            joined.cut(k, feet, index, samples.len());
        }
    }
    !chosen.is_empty()
}

fn finish(joined: &Joined, feet: &Feet, samples: &Samples) -> Result<Fitted, CurveError> {
    let live = || live(samples);
    let strays = samples.len() - live().count();
    let worst_mm = live().map(|i| feet.off[i].abs()).fold(0.0, f64::max);
    let count = live().count().max(1) as f64;
    let rms_mm = (live().map(|i| feet.off[i].powi(2)).sum::<f64>() / count).sqrt();
    let variance = live().map(|i| samples.sigma[i].powi(2)).sum::<f64>() / count;
    // Mean variance of a least-squares fit: unknowns over independent points, times the points' own.
    let sigma_mm = (variance * joined.unknowns() as f64 * samples.reach / count).sqrt();
    let corners = (0..joined.count()).filter(|&k| joined.joints[k].corner).collect();
    Ok(Fitted { ring: Ring::new(joined.segments())?, corners, worst_mm, rms_mm, sigma_mm, strays })
}
