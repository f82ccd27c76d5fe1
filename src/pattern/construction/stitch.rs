//! Stitch lines: a hole in every corner, holes evenly spaced between, thread.
//!
//! Between two corners a length L gets n = round(L / p) spaces of L / n; an open line has one hole more than spaces, a
//! closed one as many (common practice). On a half a line that meets the fold goes on beyond it: the length counts twice
//! and the spaces are laid out over the whole. Thread: [`saddle_thread`], [`lockstitch_thread`].

use super::ground::Ground;
use super::measure::Stitching;
use super::{Construction, LineKind};
use crate::geometry::{BezPath, PathSeg, Point};
use crate::pattern::joint::turn_rad;
use crate::pattern::{Letter, StepProblem, Stitch, allowance};
use kurbo::{ParamCurve, ParamCurveArclen};

/// A stitch line along edges.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::pattern) struct StitchLine {
    /// Its edges by the letters at which they begin.
    pub(in crate::pattern) edges: Vec<Letter>,
    /// How far inside the finished line, millimetres.
    pub(in crate::pattern) inset_mm: f64,
    /// Hole to hole, millimetres.
    pub(in crate::pattern) pitch_mm: f64,
    /// Which stitch.
    pub(in crate::pattern) stitch: Stitch,
    /// Thickness of everything that is sewn through, millimetres.
    pub(in crate::pattern) through_mm: f64,
}

/// A line that turns by more than this has a corner, and a hole in it, radians (10 degrees: below, the needle does not
/// see it).
const CORNER_RAD: f64 = 10.0 * std::f64::consts::PI / 180.0;

/// Tails of a line sewn by hand, millimetres: 150 to 200, common practice.
const TAILS_MM: f64 = 200.0;

/// Lengths are measured to this, millimetres.
const ARC_MM: f64 = 1e-6;

/// Nearer to the fold than this is on it, millimetres.
const ON_FOLD_MM: f64 = 1e-3;

/// Thread of a saddle stitch for a length of line, tails left out: 2 (1 + T / p) times the length, T the thickness sewn
/// through and p the pitch (geometry: two threads, each once through at every hole).
#[must_use]
pub fn saddle_thread(length_mm: f64, through_mm: f64, pitch_mm: f64) -> f64 {
    2.0 * (1.0 + through_mm / pitch_mm) * length_mm
}

/// Thread of a lockstitch (ISO 4915, 301) for a length of seam: 2 + 2 T S times the length, S stitches to a unit of length
/// (textile engineering texts).
#[must_use]
pub fn lockstitch_thread(length_mm: f64, through_mm: f64, pitch_mm: f64) -> f64 {
    (2.0 + 2.0 * through_mm / pitch_mm) * length_mm
}

/// Spaces and pitch for a length between two corners: n = round(L / p), at least one, and L / n.
#[must_use]
pub fn respaced(length_mm: f64, pitch_mm: f64) -> (usize, f64) {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a positive count")]
    let spaces = (length_mm / pitch_mm).round().max(1.0) as usize;
    #[expect(clippy::cast_precision_loss, reason = "a small count")]
    let pitch = length_mm / spaces as f64;
    (spaces, pitch)
}

impl StitchLine {
    pub(super) fn draw(&self, ground: &Ground<'_>, out: &mut Construction) -> Result<(), StepProblem> {
        let outline = &ground.piece.outline;
        for run in ground.runs(&ground.edges(&self.edges)?) {
            let stop = |edge: usize| outline.edges()[edge].segments.clone();
            let line = allowance::inset(outline, &run, |_| self.inset_mm, stop)?.concat();
            let edges = run.iter().map(|&e| outline.spoken(e)).collect::<Vec<_>>().join(", ");
            let closed = run.len() == outline.edges().len();
            out.path(LineKind::Stitch, "", BezPath::from_path_segments(line.iter().copied()));
            out.stitching.push(self.laid_out(edges, &line, closed, outline.on_fold()));
        }
        Ok(())
    }

    fn laid_out(&self, edges: String, line: &[PathSeg], closed: bool, half: bool) -> Stitching {
        let legs = legs(line, closed);
        let on_fold = |p: Point| half && p.x.abs() < ON_FOLD_MM;
        let mut holes: Vec<Point> = Vec::new();
        let (mut least, mut most, mut length_mm) = (f64::INFINITY, 0.0_f64, 0.0);
        for leg in &legs {
            let leg_mm: f64 = leg.iter().map(|s| s.arclen(ARC_MM)).sum();
            length_mm += leg_mm;
            let (starts, ends) = (on_fold(leg[0].start()), on_fold(leg[leg.len() - 1].end()));
            // A leg from fold to fold would be a line across the half and back: it has no corner, and no such line exists
            // inside a piece that has an outer edge.
            let whole_mm = if starts != ends { 2.0 * leg_mm } else { leg_mm };
            let (spaces, pitch) = respaced(whole_mm, self.pitch_mm);
            least = least.min(pitch);
            most = most.max(pitch);
            #[expect(clippy::cast_precision_loss, reason = "a small count")]
            let from_corner = (0..=spaces).map(|k| k as f64 * pitch);
            let mut along: Vec<f64> = from_corner.filter(|mm| *mm <= leg_mm + ARC_MM).collect();
            if starts && !ends {
                along.iter_mut().for_each(|mm| *mm = leg_mm - *mm);
                along.reverse();
            }
            holes.extend(along.into_iter().map(|mm| along_run(leg, mm)));
        }
        // The hole in a corner belongs to two legs, one after the other; a closed line ends where it began.
        let mut kept = holes;
        kept.dedup_by(|a, b| a.distance(*b) <= ON_FOLD_MM);
        if closed && kept.len() > 1 && kept[0].distance(kept[kept.len() - 1]) <= ON_FOLD_MM {
            kept.pop();
        }
        let twice = kept.iter().filter(|p| !on_fold(**p)).count();
        let count = if half { kept.len() + twice } else { kept.len() };
        if half {
            length_mm *= 2.0;
        }
        let mean_mm = f64::midpoint(least, most);
        let thread_mm = match self.stitch {
            Stitch::Saddle => saddle_thread(length_mm, self.through_mm, mean_mm) + TAILS_MM,
            Stitch::Lockstitch => lockstitch_thread(length_mm, self.through_mm, mean_mm),
        };
        let by_hand = self.stitch == Stitch::Saddle;
        Stitching {
            edges,
            stitch: self.stitch,
            inset_mm: self.inset_mm,
            holes: if by_hand { kept } else { Vec::new() },
            count: if by_hand { count } else { 0 },
            length_mm,
            asked_pitch_mm: self.pitch_mm,
            pitch_mm: (least, most),
            thread_mm,
        }
    }
}

/// The line parted at its corners. A closed line begins at its first corner.
fn legs(line: &[PathSeg], closed: bool) -> Vec<Vec<PathSeg>> {
    let count = line.len();
    let corner = |i: usize| turn_rad(&line[(i + count - 1) % count], &line[i]).abs() > CORNER_RAD;
    let first = if closed { (0..count).find(|&i| corner(i)).unwrap_or(0) } else { 0 };
    let mut legs: Vec<Vec<PathSeg>> = Vec::new();
    for k in 0..count {
        let i = (first + k) % count;
        if k == 0 || corner(i) {
            legs.push(Vec::new());
        }
        if let Some(leg) = legs.last_mut() {
            leg.push(line[i]);
        }
    }
    legs
}

fn along_run(run: &[PathSeg], along_mm: f64) -> Point {
    let mut left = along_mm.max(0.0);
    for (index, segment) in run.iter().enumerate() {
        let length = segment.arclen(ARC_MM);
        if left < length || index + 1 == run.len() {
            return segment.eval(segment.inv_arclen(left.min(length), ARC_MM));
        }
        left -= length;
    }
    Point::ZERO
}
