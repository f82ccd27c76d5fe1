//! Folding: a whole outline becomes a half pattern, true at the fold, with a report of wear.
//!
//! Enters a fitted whole outline with its holes, millimetres on the table. Leaves the half in its own
//! frame: the fold on x = 0, its top at the origin, cloth at x ≥ 0, y down.

use super::halves::{self, Pairing, Run};
use super::holes;
use super::nudge::Nudge;
use crate::curve::{self, CurveError, Fitted, Tolerance};
use crate::geometry::mirror::{self, Mirror, NoAxis};
use crate::geometry::{Affine, Point, Ring, RingError, Trace, TracePoint, Vec2};
use kurbo::ParamCurve;

/// Which half of a worn garment makes the pattern.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Keep {
    /// The mean of both halves.
    #[default]
    Mean,
    /// The left half as seen with the top up.
    Left,
    /// The right half as seen with the top up.
    Right,
}

/// The fold line in the traced frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Axis {
    /// A point of it: the fold's top.
    pub point: Point,
    /// Its direction from top to bottom, of length 1.
    pub direction: Vec2,
}

/// How well the fold line is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AxisSigma {
    /// Standard deviation of its place across itself at the middle of the garment, millimetres.
    pub across_mm: f64,
    /// Standard deviation of its direction, radians.
    pub turn_rad: f64,
}

/// How far left and right depart from each other at one place of the half.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WearSample {
    /// Place on the half, its frame, millimetres.
    pub at: Point,
    /// Outward direction of the outline there, of length 1.
    pub outward: Vec2,
    /// How far the right edge stands outside the mirrored left edge, millimetres; negative where the left
    /// edge stands outside.
    pub right_out_mm: f64,
}

/// How far left and right depart, for a person to read.
#[derive(Debug, Clone, PartialEq)]
pub struct WearReport {
    /// Along the half from the fold's top to its bottom.
    pub samples: Vec<WearSample>,
    /// Root mean square of the differences, millimetres.
    pub rms_mm: f64,
    /// The largest difference by size, signed as in [`WearSample`].
    pub worst: WearSample,
}

/// A half pattern folded from a traced whole.
#[derive(Debug, Clone, PartialEq)]
pub struct Folded {
    /// The half: begins at the fold's top (0, 0), clockwise, and ends with the straight fold line up to it.
    pub half: Ring,
    /// Indices of the half's segments that begin at a corner, ascending; 0 and the last are always there.
    pub corners: Vec<usize>,
    /// Its holes in the same frame, anticlockwise.
    pub holes: Vec<Ring>,
    /// The fold line in the traced frame.
    pub axis: Axis,
    /// How well it is known.
    pub axis_sigma: AxisSigma,
    /// How far left and right depart.
    pub wear: WearReport,
    /// Corners that only one side has, in the half's frame: they are not corners of the mean.
    pub lone_corners: Vec<Point>,
    /// The half's frame from the traced frame: a turn and a shift.
    pub half_from_traced: Affine,
}

/// Which end of the axis is the top.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Top {
    /// The end where the garment is narrower: a bib above a skirt, shoulders above a hem.
    #[default]
    Narrower,
    /// The other one.
    Wider,
}

/// How to fold.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct FoldOptions {
    /// Which half makes the pattern.
    pub keep: Keep,
    /// Which end is the top.
    pub top: Top,
    /// How the axis that is found is put right.
    pub nudge: Nudge,
    /// How near the half is to what was traced.
    pub tolerance: Tolerance,
}

/// Why an outline cannot be folded.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum FoldError {
    /// The outline is not its own mirror image about any line.
    #[error(
        "no mirror axis: at the best line a quarter of the outline lies more than {residual_mm:.1} mm from its mirror image, and {limit_mm:.1} mm is the most that wear explains; this piece has no fold, keep the whole outline"
    )]
    NoAxis {
        /// At the best axis a quarter of the outline lies further than this from its mirror image, millimetres.
        residual_mm: f64,
        /// What would still be an axis, millimetres.
        limit_mm: f64,
    },
    /// The outline meets its axis more or less often than at a top and a bottom.
    #[error(
        "the outline meets the fold line {count} times, not at one top and one bottom; a slit on the fold must be left out of the tracing"
    )]
    Crossings {
        /// How often.
        count: usize,
    },
    /// No straight edge where the fold was told.
    #[error(
        "no straight edge of the drawn outline lies where [fold] drawn says; take its ends from the traced outline"
    )]
    NoEdge,
    /// The half cannot be fitted.
    #[error("the half cannot be fitted: {0}")]
    Curve(#[from] CurveError),
    /// The half does not close.
    #[error("the half does not close: {0}; trace the garment again")]
    Ring(#[from] RingError),
}

/// Curves that meet the fold within this of a right angle are trued to it, radians: 0.5° [common practice, no source].
const TRUE_RAD: f64 = 0.5 * std::f64::consts::PI / 180.0;
/// The angle at the fold is taken from a parabola over this much of the line, mm.
const ARM_MM: f64 = 20.0;
/// Part of the height, from either end, whose width tells the top.
const END_PART: f64 = 0.15;
/// Spacing of the report of wear, mm.
const WEAR_STEP_MM: f64 = 5.0;
/// Spacing of the points that the half is fitted to, in points of the sides.
const FIT_STRIDE: usize = 2;

/// Folds a whole outline: finds its mirror axis, reports how far the two sides depart, and gives the half.
///
/// `outer` and `holes` are fitted rings in the traced frame, millimetres, either way round.
///
/// # Errors
/// [`FoldError`] where there is no axis, or the half cannot be made.
pub fn fold(outer: &Fitted, holes: &[Fitted], options: &FoldOptions) -> Result<Folded, FoldError> {
    let ring = halves::sample(&outer.ring, &outer.corners);
    let mirror = mirror::find(&even(&ring, MIRROR_STEP_MM), MIRROR_STEP_MM, outer.sigma_mm)
        .map_err(|NoAxis { residual_mm, limit_mm }| FoldError::NoAxis { residual_mm, limit_mm })?;
    let (axis, half_from_traced) = upright(&ring, &mirror, options)?;
    let [right, left] = halves::sides(&moved(&ring, half_from_traced))?;
    let pairing = halves::pair(right.clone(), &left);
    let wear = wear(&pairing);
    let lone_corners = pairing.lone_corners.clone();
    let run = match options.keep {
        Keep::Mean => mean(&pairing),
        Keep::Right => right,
        Keep::Left => left,
    };
    let square = [trued(&run, true), trued(&run, false)];
    let half = curve::fit_half(&trace(&run, outer.sigma_mm), square, &options.tolerance)?;
    // The mean's top stands where both sides' tops meet; the frame begins there.
    let top = half.ring.segments()[0].start();
    let to_top = Affine::translate(-top.to_vec2());
    let half_from_traced = to_top * half_from_traced;
    let holes = holes::fold(holes, half_from_traced, options)?;
    Ok(Folded {
        half: shifted(&half.ring, to_top)?,
        corners: half.corners,
        holes,
        axis: Axis { point: axis.point + axis.direction * top.y, direction: axis.direction },
        axis_sigma: AxisSigma { across_mm: mirror.across_mm, turn_rad: mirror.turn_rad },
        wear: wear.shifted(to_top),
        lone_corners: lone_corners.into_iter().map(|p| to_top * p).collect(),
        half_from_traced,
    })
}

/// Spacing of the points that the axis is found from, mm.
const MIRROR_STEP_MM: f64 = 2.0;

/// Points at even ways along a closed run.
fn even(run: &Run, step: f64) -> Vec<Point> {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a positive count")]
    let n = (run.length() / step).round().max(16.0) as usize;
    (0..n).map(|k| run.at(run.length() * k as f64 / n as f64)).collect()
}

fn moved(run: &Run, by: Affine) -> Run {
    Run::new(run.points.iter().map(|p| by * *p).collect(), run.corners.clone())
}

fn shifted(ring: &Ring, by: Affine) -> Result<Ring, RingError> {
    Ring::new(ring.segments().iter().map(|s| by * *s).collect())
}

/// The axis from top to bottom, and the half's frame.
fn upright(ring: &Run, mirror: &Mirror, options: &FoldOptions) -> Result<(Axis, Affine), FoldError> {
    let frame = |u: Vec2, origin: Point| {
        // Rows: x' = (u.y, -u.x) · (p - origin), y' = u · (p - origin).
        Affine::new([u.y, u.x, -u.x, u.y, 0.0, 0.0]) * Affine::translate(-origin.to_vec2())
    };
    let mut u = mirror.direction;
    let points: Vec<Point> = ring.points.iter().map(|p| frame(u, mirror.point) * *p).collect();
    let (low, high) =
        points.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), p| (l.min(p.y), h.max(p.y)));
    let part = END_PART * (high - low);
    let width = |inside: &dyn Fn(f64) -> bool| {
        let (sum, count) =
            points.iter().filter(|p| inside(p.y)).fold((0.0, 0.0), |(s, c), p| (s + p.x.abs(), c + 1.0));
        sum / f64::max(count, 1.0)
    };
    let narrower_first = width(&|y| y < low + part) <= width(&|y| y > high - part);
    let middle = mirror.point + u * low.midpoint(high);
    if narrower_first != (options.top == Top::Narrower) {
        u = -u;
    }
    // A turn from x to y is clockwise, y being down.
    let point = middle + Vec2::new(u.y, -u.x) * options.nudge.right_mm;
    let u = Affine::rotate(options.nudge.clockwise_rad) * u.to_point();
    let u = u.to_vec2();
    let [right, _] = halves::sides(&moved(ring, frame(u, point)))?;
    let origin = point + u * right.points[0].y;
    Ok((Axis { point: origin, direction: u }, frame(u, origin)))
}

/// The mean of both sides, point by point; corners that both have stay corners.
pub(super) fn mean(pairing: &Pairing) -> Run {
    let points = pairing.right.points.iter().zip(&pairing.partner).map(|(a, b)| a.midpoint(*b)).collect();
    Run::new(points, pairing.corners.clone())
}

/// Whether a run meets the fold squarely enough to be trued, at its top or its bottom.
fn trued(run: &Run, top: bool) -> bool {
    let n = run.points.len();
    let end = run.points[if top { 0 } else { n - 1 }];
    // y = a x + b x² from the fold, to the first corner or over the arm.
    let (mut xx, mut xxx, mut xxxx, mut xy, mut xxy) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for k in 1..n {
        let k = if top { k } else { n - 1 - k };
        let d = run.points[k] - end;
        if d.hypot() > ARM_MM || (run.corners.binary_search(&k).is_ok() && d.hypot() > 2.0) {
            break;
        }
        xx += d.x.powi(2);
        xxx += d.x.powi(3);
        xxxx += d.x.powi(4);
        xy += d.x * d.y;
        xxy += d.x.powi(2) * d.y;
    }
    let slope = (xy * xxxx - xxy * xxx) / (xx * xxxx - xxx * xxx).max(1e-12);
    slope.atan().abs() <= TRUE_RAD
}

/// A run as a trace for the fit.
pub(super) fn trace(run: &Run, sigma_mm: f64) -> Trace {
    let mut out = Trace::default();
    let last = run.points.len() - 1;
    for (k, at) in run.points.iter().enumerate() {
        let corner = run.corners.binary_search(&k).is_ok();
        if corner || k % FIT_STRIDE == 0 || k == last {
            if corner {
                out.corners.push(out.points.len());
            }
            out.points.push(TracePoint { at: *at, sigma_mm, bridged: false });
        }
    }
    out
}

/// How far the sides depart, along their mean.
fn wear(pairing: &Pairing) -> WearReport {
    let right = &pairing.right;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a small count")]
    let stride = (WEAR_STEP_MM / halves::STEP_MM) as usize;
    let mut samples: Vec<WearSample> = Vec::new();
    let last = right.points.len() - 1;
    for k in (0..=last).step_by(stride) {
        let along = right.heading(k);
        // Clockwise with y down, outside is to the left of the way.
        let outward = Vec2::new(along.y, -along.x);
        let (r, l) = (right.points[k], pairing.partner[k]);
        samples.push(WearSample { at: r.midpoint(l), outward, right_out_mm: (r - l).dot(outward) });
    }
    let rms_mm = (samples.iter().map(|s| s.right_out_mm.powi(2)).sum::<f64>() / samples.len() as f64).sqrt();
    let mut worst = samples[0];
    for s in &samples {
        if s.right_out_mm.abs() > worst.right_out_mm.abs() {
            worst = *s;
        }
    }
    WearReport { samples, rms_mm, worst }
}

impl WearReport {
    fn shifted(mut self, by: Affine) -> Self {
        for s in self.samples.iter_mut().chain([&mut self.worst]) {
            s.at = by * s.at;
        }
        self
    }
}
